"""What the officials spend: minutes of the clauses that differ, times cars, rounds and an inspector's hour."""

from __future__ import annotations

from decimal import Decimal
from pathlib import Path

from costplan.impact.enforcing import enforcement_of
from costplan.impact.figures import Enforcement
from tests.test_impact.small_field import HEADER, change, field_of, parts_rule, written

STUDY = "cars_inspected = 4\ninspector_rate = 30\ninspection_setup = 200\n"


def enforcement(folder: Path, text: str, head: str = "") -> Enforcement:
    """Of a change in these words."""
    written(folder, impact=STUDY, change_springs=change("x", text, head))
    field = field_of(folder, "springs")
    return enforcement_of(
        field.packs, field.proposals[0].packs, field.study, len(field.base.rounds), field.base.header.currency
    )


def test_two_minutes_more_at_six_rounds(tmp_path: Path) -> None:
    found = enforcement(tmp_path, parts_rule("springs", "SP-B", more='minutes = 5\ntool = "scale"\n'))
    assert found.clauses == ("springs",)
    assert (found.minutes_before, found.minutes_after, found.cars, found.rounds) == (3, 5, 4, 6)
    assert found.a_season == Decimal("24.00")  # 2 / 60 h * 30 * 4 * 6
    assert found.tools == ("scale",)
    assert found.once == 200


def test_a_clause_that_takes_less_saves(tmp_path: Path) -> None:
    found = enforcement(tmp_path, parts_rule("springs", "SP-B", more="minutes = 0.5\n"))
    assert found.a_season == Decimal("-30.00")  # 2.5 minutes less
    assert found.tools == ()
    assert found.once == 0


def test_a_clause_withdrawn_takes_no_minutes_any_more(tmp_path: Path) -> None:
    found = enforcement(tmp_path, "", 'withdraw = ["cam"]\n')
    assert (found.clauses, found.minutes_before, found.minutes_after) == (("cam",), 4, 0)
    assert found.a_season == Decimal("-48.00")


def test_a_clause_added_takes_its_own(tmp_path: Path) -> None:
    new = '[[add]]\nid = "ports"\nkind = "inspection"\nsays = "as cast"\nslot = "head"\nminutes = 10\ntool = "lamp"\n'
    found = enforcement(tmp_path, new)
    assert (found.clauses, found.minutes_before, found.minutes_after) == (("ports",), 0, 10)
    assert found.a_season == Decimal("120.00")


def test_clauses_that_stay_cost_nothing(tmp_path: Path) -> None:
    found = enforcement(tmp_path, "", 'header = { edition = "2027b" }\n')
    assert found.clauses == ()
    assert found.minutes_before == 0
    assert found.a_season == 0
    assert found.once == 0
    same = (
        '[[replace]]\nid = "springs"\nkind = "parts"\nsays = "Springs A, B or C."\nslot = "springs"\n'
        'allowed = ["SP-A", "SP-B", "SP-C"]\nminutes = 3\n'
    )
    assert enforcement(tmp_path, same).clauses == ()


def test_a_tool_that_the_clause_needed_before_is_there(tmp_path: Path) -> None:
    folder = written(tmp_path)
    rules = (folder / "rules.toml").read_text(encoding="utf-8").replace("minutes = 3", 'minutes = 3\ntool = "scale"')
    text = parts_rule("springs", "SP-B", more='minutes = 3\ntool = "scale"\n')
    written(folder, rules=rules, impact=STUDY, change_springs=f'name = "x"\n{HEADER}{text}')
    field = field_of(folder, "springs")
    found = enforcement_of(field.packs, field.proposals[0].packs, field.study, 6, "USD")
    assert found.clauses == ("springs",)
    assert found.tools == ()
    assert found.once == 0
    assert found.a_season == 0


def test_a_tool_that_another_clause_of_the_book_needs_is_there_too(tmp_path: Path) -> None:
    # the officials have the scale for cams already, whose clause stays as it is
    folder = written(tmp_path)
    rules = (folder / "rules.toml").read_text(encoding="utf-8").replace("minutes = 4", 'minutes = 4\ntool = "scale"')
    text = parts_rule("springs", "SP-B", more='minutes = 5\ntool = "scale"\n')
    written(folder, rules=rules, impact=STUDY, change_springs=f'name = "x"\n{HEADER}{text}')
    field = field_of(folder, "springs")
    found = enforcement_of(field.packs, field.proposals[0].packs, field.study, 6, "USD")
    assert found.tools == ()
    assert found.once == 0
