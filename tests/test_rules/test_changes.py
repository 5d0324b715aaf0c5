"""Changes of rule packs: worked in by day and round, taken back to the letter, and each fault at its place."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from datetime import date
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from costplan.problems import Place, Problem, Problems
from costplan.reading import parse_settings, read_parts, read_toml
from costplan.rules import Known, Pack, PackHeader, PartList, Rule, read_pack
from costplan.rules.change import (
    HEADER_KEYS,
    Change,
    Written,
    apply_change,
    is_change,
    read_change,
    reversed_change,
    written_of,
)
from costplan.rules.pack import unused_changes

Write = Callable[[str, str], Path]

ROOT = Path(__file__).parents[2]
BOOK = """\
name = "Club book"
edition = "first"
date = 2027-01-01

[[list]]
list = "cams"
edition = "one"
since = 2027-01-01
parts = "C1 C2"

[[rule]]
id = "speed"
kind = "limit"
says = "At most 7000."
of = "box.rpm_limit"
max = "7000 rpm"

[[rule]]
id = "cam"
kind = "parts"
says = "Cams are listed."
slot = "camshaft"
list = "cams"

[[rule]]
id = "head"
kind = "parts"
says = "One head."
slot = "heads"
allowed = "H1"
frozen_until = 2028-01-01
"""
#: The rounds of a season.
ROUNDS = (date(2027, 4, 3), date(2027, 5, 1), date(2027, 6, 5))


def change_text(body: str) -> str:
    """A change whose body begins on line 3."""
    return f'name = "Less"\nbaseline = "rules.toml"\n{body}\n'


def changed(write: Write, *bodies: str) -> Pack:
    """The book with changes worked in that suit it."""
    pack, problems = read_changed(write, *bodies)
    assert problems == []
    assert pack is not None
    return pack


def read_changed(write: Write, *bodies: str, book: str = BOOK) -> tuple[Pack | None, list[tuple[str, str, str]]]:
    """The book with changes worked in, and the problems: code, file and line, field."""
    changes: list[Change] = []
    found: list[Problem] = []
    for number, body in enumerate(bodies, start=1):
        change, problems = read_change(write(f"change-{number}.toml", change_text(body)))
        assert change is not None
        changes.append(change)
        found += problems
    pack, problems = read_pack(write("rules.toml", book), Known(), (), changes)
    found += problems
    places = [f"{Path(one.place.file).name}:{one.place.line}" for one in found]
    return pack, [(one.code, place, one.field) for one, place in zip(found, places, strict=True)]


def ids(pack: Pack) -> list[str]:
    return [rule.id for rule in pack.rules]


def in_force(pack: Pack, day: date) -> dict[str, str]:
    """What the clauses in force on a day say."""
    return {rule.id: rule.heading.says for rule in pack.rules if rule.holds_on(day, ROUNDS)}


SLOWER = """
[[replace]]
id = "speed"
kind = "limit"
says = "At most 6600."
of = "box.rpm_limit"
max = "6600 rpm"
"""
NOISE = '[[add]]\nid = "noise"\nkind = "inspection"\nsays = "At most 95 dB."\n'


def test_a_change_without_a_date_is_worked_in_at_once(write: Write) -> None:
    pack = changed(write, f'withdraw = "cam"\n{SLOWER}{NOISE}')
    assert [(rule.id, rule.heading.says) for rule in pack.rules] == [
        ("speed", "At most 6600."),
        ("head", "One head."),
        ("noise", "At most 95 dB."),
    ]
    assert [change.header.name for change in pack.changes] == ["Less"]


def test_until_a_change_takes_effect_the_old_clause_stays(write: Write) -> None:
    pack = changed(write, f'effective = 2027-06-01\nwithdraw = "cam"\n{SLOWER}{NOISE}')
    assert ids(pack) == ["speed", "speed", "cam", "head", "noise"]
    assert in_force(pack, date(2027, 5, 31)) == {
        "speed": "At most 7000.",
        "cam": "Cams are listed.",
        "head": "One head.",
    }
    assert in_force(pack, date(2027, 6, 1)) == {
        "speed": "At most 6600.",
        "head": "One head.",
        "noise": "At most 95 dB.",
    }


@pytest.mark.parametrize(
    ("phase", "last"),
    [
        ("from_round = 2", date(2027, 4, 30)),
        ("from_round = 2\neffective = 2027-05-15", date(2027, 5, 14)),
        ("from_round = 2\neffective = 2027-04-15", date(2027, 4, 30)),
    ],
)
def test_a_change_from_a_round_on_begins_with_it_but_on_no_day_before_its_own(
    write: Write, phase: str, last: date
) -> None:
    old, new = changed(write, f"{phase}\n{SLOWER}").rules[:2]
    assert old.last(ROUNDS) == last
    assert not new.holds_on(last, ROUNDS)
    assert new.since(ROUNDS) == date.fromordinal(last.toordinal() + 1)


def test_a_change_from_a_round_that_the_season_lacks_never_comes(write: Write) -> None:
    pack = changed(write, f"from_round = 4\n{SLOWER}")
    assert in_force(pack, date(2030, 1, 1))["speed"] == "At most 7000."


def test_a_clause_with_a_day_of_its_own_takes_over_on_it(write: Write) -> None:
    pack = changed(write, f"effective = 2027-06-01\n{SLOWER}from_round = 1\n")
    assert in_force(pack, date(2027, 4, 2))["speed"] == "At most 7000."
    assert in_force(pack, date(2027, 4, 3))["speed"] == "At most 6600."


def test_a_clause_with_a_day_of_its_own_is_phased_in_by_a_change_without(write: Write) -> None:
    pack = changed(write, f"{SLOWER}effective = 2027-06-01\n")
    assert ids(pack) == ["speed", "speed", "cam", "head"]
    assert in_force(pack, date(2027, 5, 31))["speed"] == "At most 7000."


def test_older_parts_stay_until_they_are_worn_out_where_the_new_clause_keeps_them(write: Write) -> None:
    pack = changed(write, f"{SLOWER}kept = {{bought_before = 2027-02-01, until = 2028-12-31}}\n")
    kept = pack.rules[0].heading.kept
    assert kept is not None
    assert (kept.bought_before, kept.until) == (date(2027, 2, 1), date(2028, 12, 31))


@pytest.mark.parametrize(
    ("after", "order"),
    [
        ("", ["speed", "cam", "head", "noise"]),
        ('after = "speed"', ["speed", "noise", "cam", "head"]),
        ('after = "head"', ["speed", "cam", "head", "noise"]),
        ('after = ""', ["noise", "speed", "cam", "head"]),
    ],
)
def test_a_new_clause_stands_where_it_says(write: Write, after: str, order: list[str]) -> None:
    assert ids(changed(write, f"{NOISE}{after}")) == order


def test_a_new_clause_may_stand_in_the_place_of_one_withdrawn_and_behind_one_added(write: Write) -> None:
    more = '[[add]]\nid = "mud"\nkind = "conduct"\nsays = "Mud is washed off."\nafter = "noise"\n'
    pack = changed(write, f'withdraw = "cam"\n{NOISE}after = "cam"\n{more}')
    assert ids(pack) == ["speed", "noise", "mud", "head"]


def test_a_new_clause_stands_behind_both_the_old_and_the_new_one_of_an_id(write: Write) -> None:
    pack = changed(write, f"effective = 2027-06-01\n{SLOWER}", f'{NOISE}after = "speed"')
    assert ids(pack) == ["speed", "speed", "noise", "cam", "head"]


def test_a_change_gives_keys_of_the_header_anew(write: Write) -> None:
    header = changed(write, '[header]\nedition = "second"\nrounding = "rounded"').header
    assert (header.name, header.edition, header.rounding) == ("Club book", "second", "rounded")


def test_every_key_of_the_header_that_is_no_table_and_names_no_file_may_be_given() -> None:
    others = {"place", "supplements", "recognises", "list", "rule"}
    assert set(HEADER_KEYS) == PackHeader.model_fields.keys() - others


def editions(pack: Pack) -> list[tuple[str, date | None, tuple[str, ...]]]:
    return [(row.edition, row.since, row.parts) for row in pack.lists]


def test_a_new_edition_of_a_list_begins_with_the_change(write: Write) -> None:
    pack = changed(write, 'effective = 2027-06-01\n[[list]]\nlist = "cams"\nedition = "two"\nparts = "C2 C3"')
    assert editions(pack) == [
        ("one", date(2027, 1, 1), ("C1", "C2")),
        ("two", date(2027, 6, 1), ("C2", "C3")),
    ]


def test_an_edition_from_the_same_day_takes_the_place_of_the_other(write: Write) -> None:
    pack = changed(write, '[[list]]\nlist = "cams"\nedition = "mended"\nsince = 2027-01-01\nparts = "C1"')
    assert editions(pack) == [("mended", date(2027, 1, 1), ("C1",))]


def test_a_list_without_a_day_gives_way_to_one_without_a_day(write: Write) -> None:
    book = BOOK.replace("since = 2027-01-01\n", "")
    pack, problems = read_changed(write, '[[list]]\nlist = "cams"\nedition = "two"\nparts = "C3"', book=book)
    assert pack is not None
    assert problems == []
    assert editions(pack) == [("two", None, ("C3",))]


def test_two_changes_are_worked_in_one_after_the_other(write: Write) -> None:
    first = f'[header]\nedition = "second"\n{SLOWER}{NOISE}'
    pack = changed(write, first, 'edition = "second"\nwithdraw = "cam"\n[header]\nedition = "third"')
    assert (ids(pack), pack.header.edition) == (["speed", "head", "noise"], "third")


def test_of_two_changes_that_were_both_written_for_the_first_edition_the_second_suits_it_too(write: Write) -> None:
    pack = changed(write, 'edition = "first"\n[header]\nedition = "second"', 'edition = "first"\nwithdraw = "cam"')
    assert (ids(pack), pack.header.edition) == (["speed", "head"], "second")


def test_a_change_of_another_pack_is_not_worked_in(write: Write) -> None:
    change, _ = read_change(write("change-1.toml", 'name = "x"\nbaseline = "others.toml"\nwithdraw = "speed"'))
    assert change is not None
    pack, problems = read_pack(write("rules.toml", BOOK), Known(), (), (change,))
    assert pack is not None
    assert (ids(pack), pack.changes, problems) == (["speed", "cam", "head"], (), ())


@pytest.mark.parametrize(
    ("prevails", "says"),
    [("supplement", ["At most 6000."]), ("base", ["At most 7000.", "At most 6600."])],
)
def test_a_change_of_a_base_goes_into_what_supplements_it(write: Write, prevails: str, says: list[str]) -> None:
    change, _ = read_change(write("change-1.toml", change_text(f"effective = 2027-06-01\n{SLOWER}")))
    assert change is not None
    write("rules.toml", BOOK)
    local = f'name = "Track"\nsupplements = "rules.toml"\nprevails = "{prevails}"\n' + (
        '[[rule]]\nid = "speed"\nkind = "limit"\nsays = "At most 6000."\nof = "box.rpm_limit"\nmax = "6000 rpm"\n'
    )
    pack, problems = read_pack(write("track.toml", local), Known(), (), (change,))
    assert pack is not None
    assert problems == ()
    assert [rule.heading.says for rule in pack.rules if rule.id == "speed"] == says
    assert ids(pack)[-2:] == ["cam", "head"]
    assert pack.changes == (change,)


def test_a_phased_change_of_a_supplement_keeps_both_clauses_at_the_place_of_the_base(write: Write) -> None:
    change, _ = read_change(write("change-1.toml", change_text(f"effective = 2027-06-01\n{SLOWER}")))
    assert change is not None
    write("wide.toml", BOOK.replace("7000", "9000"))
    pack, problems = read_pack(write("rules.toml", 'supplements = "wide.toml"\n' + BOOK), Known(), (), (change,))
    assert pack is not None
    assert problems == ()
    assert [rule.heading.says for rule in pack.rules][:3] == ["At most 7000.", "At most 6600.", "Cams are listed."]


def test_a_what_if_reaches_into_a_change(write: Write) -> None:
    path = write("change-1.toml", change_text(SLOWER))
    change, _ = read_change(path, parse_settings(["change-1/replace/speed/max=6500 rpm"])[0])
    assert change is not None
    assert change.replaced[0].values["max"] == "6500 rpm"


PLAIN = 'kind = "conduct"\nsays = "so"\n'


@pytest.mark.parametrize(
    ("body", "problem"),
    [
        ('withdraw = ["speed", "lift"]', ("RUL007", "change-1.toml:3", "withdraw")),
        (f'[[replace]]\nid = "lift"\n{PLAIN}', ("RUL007", "change-1.toml:4", "replace.1.id")),
        (f'[[add]]\nid = "lift"\nafter = "cams"\n{PLAIN}', ("RUL007", "change-1.toml:5", "add.1.after")),
        (f'[[add]]\nid = "cam"\n{PLAIN}', ("REA023", "change-1.toml:4", "add.1.id")),
        ('edition = "zeroth"', ("RUL011", "change-1.toml:3", "edition")),
        ('withdraw = "head"', ("RUL012", "change-1.toml:3", "withdraw")),
        ('date = 2027-03-01\nwithdraw = "head"', ("RUL012", "change-1.toml:4", "withdraw")),
        (
            'date = 2028-03-01\neffective = 2027-12-31\nwithdraw = "head"',
            ("RUL012", "change-1.toml:5", "withdraw"),
        ),
        (
            f'effective = 2028-01-01\n[[replace]]\nid = "head"\n{PLAIN}effective = 2027-06-01',
            ("RUL012", "change-1.toml:5", "replace.1.id"),
        ),
        (f'withdraw = "cam"\n[[replace]]\nid = "cam"\n{PLAIN}', ("RUL013", "change-1.toml:3", "withdraw")),
        (f'withdraw = "cam"\n[[add]]\nid = "cam"\n{PLAIN}', ("RUL013", "change-1.toml:5", "add.1.id")),
        ('withdraw = "cam cam"', ("RUL013", "change-1.toml:3", "withdraw")),
        (
            f'[[add]]\nid = "new"\n{PLAIN}[[add]]\nid = "new"\n{PLAIN}',
            ("RUL013", "change-1.toml:8", "add.2.id"),
        ),
        ('[header]\nrule = "x"', ("REA015", "change-1.toml:4", "header.rule")),
        ('[header]\nplace = "x"', ("REA015", "change-1.toml:4", "header.place")),
        ('[header]\ndefault = "perhaps"', ("REA020", "change-1.toml:4", "default")),
        ("header = 5", ("REA017", "change-1.toml:3", "header")),
        ('replaces = "cam"', ("REA015", "change-1.toml:3", "replaces")),
        ("add = 5", ("REA017", "change-1.toml:3", "add")),
        (f"[[replace]]\n{PLAIN}", ("REA016", "change-1.toml:3", "replace.1.id")),
        (f"[[add]]\n{PLAIN}", ("REA016", "change-1.toml:3", "add.1.id")),
        (f'[[add]]\nid = "lift"\nafter = 3\n{PLAIN}', ("REA017", "change-1.toml:5", "add.1.after")),
        ('[[add]]\nid = "lift"\nkind = "luck"\nsays = "so"', ("RUL001", "change-1.toml:5", "add.1.kind")),
        (
            '[[replace]]\nid = "speed"\nkind = "limit"\nsays = "so"\nof = "x"',
            ("RUL004", "change-1.toml:3", "speed.max"),
        ),
        ("from_round = 0", ("REA018", "change-1.toml:3", "from_round")),
        ('[[list]]\nlist = "cams"\nparts = "C3"', ("REA016", "change-1.toml:3", "since")),
        ('from_round = 2\n[[list]]\nlist = "rods"\nparts = "R3"', ("REA016", "change-1.toml:4", "since")),
        (
            '[[list]]\nlist = "rods"\nparts = "R3"\n[[list]]\nlist = "rods"\nparts = "R4"',
            ("REA023", "change-1.toml:6", "list"),
        ),
        (
            '[[replace]]\nid = "cam"\nkind = "option"\nsays = "so"\nslot = "camshaft"',
            ("REA016", "change-1.toml:3", "replace.1.choices"),
        ),
    ],
)
def test_a_fault_of_a_change_is_placed(write: Write, body: str, problem: tuple[str, str, str]) -> None:
    assert read_changed(write, body)[1] == [problem]


def test_a_clause_that_two_changes_touch_is_told_once_at_the_second(write: Write) -> None:
    _, problems = read_changed(write, f'withdraw = "cam"\n{SLOWER}', f'withdraw = "cam"\n{SLOWER}')
    assert problems == [
        ("RUL013", "change-2.toml:6", "replace.1.id"),
        ("RUL013", "change-2.toml:3", "withdraw"),
    ]


def test_a_replacement_of_nothing_tells_what_else_is_wrong_with_it(write: Write) -> None:
    _, problems = read_changed(write, '[[replace]]\nid = "lift"\nkind = "limit"\nsays = "so"\nof = "x"\nmax = "1 ell"')
    assert problems == [
        ("RUL007", "change-1.toml:4", "replace.1.id"),
        ("REA021", "change-1.toml:8", "replace.1.max"),
    ]


@pytest.mark.parametrize(
    "when",
    ["date = 2028-01-01", "effective = 2028-01-01", "date = 2027-03-01\neffective = 2028-02-01"],
)
def test_a_frozen_clause_may_be_touched_from_its_day_on(write: Write, when: str) -> None:
    assert read_changed(write, f'{when}\nwithdraw = "head"')[1] == []


def test_a_change_without_name_or_baseline_is_told_and_worked_into_nothing(write: Write) -> None:
    change, problems = read_change(write("change-1.toml", 'withdraw = "cam"'))
    assert change is not None
    assert [(one.code, one.field) for one in problems] == [("REA016", "name"), ("REA016", "baseline")]
    pack, _ = read_pack(write("rules.toml", BOOK), Known(), (), (change,))
    assert pack is not None
    assert ids(pack) == ["speed", "cam", "head"]


def test_a_change_over_a_pack_that_nobody_names_is_told(write: Write) -> None:
    path = write("change-1.toml", 'name = "x"\nbaseline = "rule.toml"\n')
    change, _ = read_change(path)
    pack, _ = read_pack(write("rules.toml", BOOK), Known())
    assert change is not None
    assert pack is not None
    (problem,) = unused_changes([change], [pack], ["rules.toml"])
    assert (problem.code, problem.place.line, problem.value) == ("RUL010", 2, "rule.toml")
    assert "rules.toml" in problem.advice


def test_a_change_of_a_base_or_of_a_pack_that_could_not_be_read_is_used(write: Write) -> None:
    of_base, _ = read_change(write("change-1.toml", change_text("")))
    assert of_base is not None
    write("rules.toml", BOOK)
    track, _ = read_pack(write("track.toml", 'name = "T"\nsupplements = "rules.toml"'), Known(), (), [of_base])
    assert track is not None
    assert list(unused_changes([of_base], [track], ["track.toml"])) == []
    assert list(unused_changes([of_base], [], ["../books/rules.toml"])) == []


@pytest.mark.parametrize(
    ("name", "text", "found"),
    [
        ("rules.toml", 'name = "x"\n[[rule]]\nid = "one"\n', False),
        ("other.toml", 'name = "x"\nbaseline = "rules.toml"\n', True),
        ("other.toml", 'withdraw = "x"\n', True),
        ("change-1.toml", "not toml", True),
        ("rules.toml", "not toml", False),
    ],
)
def test_a_change_is_known_by_its_keys_or_its_name(write: Write, name: str, text: str, found: bool) -> None:
    assert is_change(write(name, text)) == found


def test_a_change_taken_back_leaves_no_trace_whatever_its_dates(write: Write) -> None:
    body = f'effective = 2027-06-01\nwithdraw = "cam"\n{SLOWER}{NOISE}[header]\nties = "away"\nedition = "second"\n'
    more = '[[list]]\nlist = "cams"\nparts = "C9"\n[[list]]\nlist = "rods"\nparts = "R1"'
    path, book = write("change-1.toml", change_text(body + more)), write("rules.toml", BOOK)
    baseline, forth = as_written(book), worked_in(as_written(book), path)
    assert (forth.lists, forth.document.values["ties"]) != (baseline.lists, None)
    assert worked_back(forth, path, baseline) == baseline


def as_written(path: Path) -> Written:
    """A pack as its file has it."""
    document, problems = read_toml(path, path.stem)
    assert document is not None, problems
    lists, problems = read_parts(document, "list", PartList)
    assert problems == ()
    return written_of(document, lists)


def sound_change(path: Path) -> Change:
    change, problems = read_change(path)
    assert problems == ()
    assert change is not None
    return change


def worked_in(written: Written, path: Path) -> Written:
    """A pack with the change of a file worked in, without problems."""
    problems = Problems()
    found = apply_change(written, sound_change(path), problems)
    assert problems.found == []
    return found


def worked_back(written: Written, path: Path, baseline: Written) -> Written:
    """A pack with the change of a file taken back."""
    problems = Problems()
    found = apply_change(written, reversed_change(sound_change(path), baseline), problems)
    assert problems.found == []
    return found


NAMES = ("a", "b", "c", "d", "e", "f")
NEW = ("u", "v", "w")
HEADS = (
    'edition = "first"',
    'edition = "second"',
    'rounding = "rounded"',
    'ties = "away"',
    'tolerance = "none"',
    'gauges = ["g", "h"]',
)
DAYS = ("", "effective = 2027-03-01\n", "from_round = 2\n", "effective = 2027-03-01\nfrom_round = 2\n")
SINCE = ("", "since = 2026-01-01\n", "since = 2027-02-01\n", "since = 2027-09-01\n")

draws = st.sampled_from


def clause(array: str, name: str, number: int, more: str) -> str:
    return f'[[{array}]]\nid = "{name}"\nkind = "limit"\nsays = "so"\nof = "x"\nmax = {number}\n{more}'


def heads() -> st.SearchStrategy[str]:
    """Some keys of a header, each once."""
    return st.lists(draws(HEADS), max_size=3, unique_by=lambda line: line.partition(" ")[0]).map("\n".join)


def lists(of_change: bool) -> st.SearchStrategy[str]:
    """Some editions of lists; those of a change have days, each another."""
    rows = st.tuples(draws(("k", "l")), draws(SINCE[1:] if of_change else SINCE), draws(("P1", "P1 P2", "P3")))
    texts = st.lists(rows, max_size=4, unique_by=(lambda row: row[:2]) if of_change else None)
    return texts.map(lambda some: "".join(f'[[list]]\nlist = "{row[0]}"\n{row[1]}parts = "{row[2]}"\n' for row in some))


@st.composite
def books_and_changes(draw: Callable[[st.SearchStrategy[Any]], Any]) -> tuple[str, str]:
    """A pack of clauses in any order, and a change that leaves, withdraws or replaces each and adds others anywhere."""
    names = draw(st.permutations(NAMES))[: draw(st.integers(1, 6))]
    book = f'name = "x"\n{draw(heads())}\n{draw(lists(of_change=False))}'
    book += "".join(clause("rule", name, number, draw(draws(DAYS))) for number, name in enumerate(names))
    fates = {name: draw(draws(("stays", "goes", "changes"))) for name in names}
    gone = [name for name, fate in fates.items() if fate == "goes"]
    change = f'name = "y"\nbaseline = "rules.toml"\n{draw(draws(DAYS))}withdraw = {gone}\n'
    change += f"[header]\n{draw(heads())}\n{draw(lists(of_change=True))}"
    change += "".join(
        clause("replace", name, 90, draw(draws(DAYS)))
        for name in draw(st.permutations(names))
        if fates[name] == "changes"
    )
    behind = ("", 'after = ""\n', *(f'after = "{name}"\n' for name in names))
    change += "".join(clause("add", name, 80, draw(draws(behind))) for name in draw(draws((NEW[:0], NEW[:1], NEW))))
    return book, change


@given(texts=books_and_changes())
@settings(max_examples=250, deadline=None)
def test_any_change_and_its_reverse_give_the_baseline_back(
    texts: tuple[str, str], tmp_path_factory: pytest.TempPathFactory
) -> None:
    folder = tmp_path_factory.mktemp("books")
    book, path = folder / "rules.toml", folder / "change-1.toml"
    book.write_text(texts[0], encoding="utf-8")
    path.write_text(texts[1], encoding="utf-8")
    check_round_trip(book, path)


def check_round_trip(book: Path, path: Path) -> None:
    """A change and its reverse leave a pack as written, and as read; the change alone is to be seen in it."""
    baseline, change = as_written(book), sound_change(path)
    forth = worked_in(baseline, path)
    assert worked_back(forth, path, baseline) == baseline
    plain, problems = read_pack(book, Known())
    assert problems == ()
    there, problems = read_pack(book, Known(), (), [change])
    assert problems == ()
    back, problems = read_pack(book, Known(), (), [change, reversed_change(change, baseline)])
    assert problems == ()
    assert plain is not None
    assert there is not None
    assert back is not None
    assert replace(back, changes=()) == plain
    assert [rule.id for rule in standing(there)] == expected_order(plain, change)


def standing(pack: Pack) -> list[Rule]:
    """The clauses that nothing takes the place of."""
    return [rule for rule in pack.rules if rule.ended is None]


def expected_order(plain: Pack, change: Change) -> list[str]:
    """The ids of a changed pack, reckoned from the change's own words: the new ones put in, then the others out."""
    order = [rule.id for rule in plain.rules]
    for one in change.added:
        at = len(order) if one.after is None else order.index(one.after) + 1 if one.after else 0
        order.insert(at, one.entry.id)
    return [name for name in order if name not in change.header.withdraw]


@pytest.mark.parametrize(
    "path", sorted(ROOT.glob("scenarios/*/change-*.toml")), ids=lambda path: f"{path.parent.name}/{path.stem}"
)
def test_every_change_of_the_demo_and_its_reverse_give_the_baseline_back(path: Path) -> None:
    check_round_trip(path.parent / sound_change(path).header.baseline, path)


def test_a_withdrawn_clause_is_placed_where_the_change_names_it(write: Write) -> None:
    change = sound_change(write("change-1.toml", change_text('withdraw = [\n"speed",\n"cam",\n]')))
    assert [one.place.line for one in change.withdrawn] == [4, 5]
    assert Place(change.file, 4) == change.withdrawn[0].place
