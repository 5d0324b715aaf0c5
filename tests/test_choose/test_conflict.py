"""Why nothing is possible: the smallest conflict against trying all sets of clauses, fits and wishes."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import replace
from datetime import date, timedelta
from decimal import Decimal
from pathlib import Path

import pytest

from costplan.choose import Bound, Conflict, Culprit, Encoded, Goal, Ground, Wishes, encode, explain, questioning
from costplan.choose.nearest import CLOSE
from costplan.choose.settling import Settled, settle
from costplan.quantity import Quantity
from costplan.scenario import Scenario
from tests.test_choose.drawn_scenarios import draw
from tests.test_choose.every_build import Tried, against, every_build, fewest_in_conflict, price_of, standing
from tests.test_choose.small_shop import shop

#: Impossible scenarios among those drawn: of one member, of two and of three.
SEEDS = range(60)


def name_of(ground: Ground) -> str:
    """What `every_build` calls a ground."""
    names = {
        "pinned": f"pin {ground.name}",
        "banned": f"ban {ground.name}",
        "supplier": "offers",
        "lead": "offers",
        "hand": f"once {ground.name}",
    }
    return names.get(ground.kind, ground.name.rpartition(": ")[2])


@pytest.mark.parametrize("table_most", [20_000, 0])
def test_the_conflict_is_as_small_as_any_and_each_member_is_told_right(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, table_most: int
) -> None:
    monkeypatch.setattr(questioning, "TABLE_MOST", table_most)
    sizes = set()
    for seed in SEEDS:
        files, wishes = draw(seed)
        # Of two such wishes together a bill's price depends on both.
        if sum(map(bool, (wishes.suppliers, wishes.by, wishes.budget))) > 1:
            continue
        scenario = files.write(tmp_path / str(seed))
        tried = every_build(scenario, wishes)
        if standing(tried, wishes):
            continue
        found, sets = explain(encode(scenario, wishes, whole=True)), against(tried, wishes)
        names = {name_of(one.ground) for one in found.culprits}
        assert all(names & one for one in sets), seed
        assert (len(found.culprits), found.smallest) == (fewest_in_conflict(sets), True), seed
        assert_told(found, scenario, wishes, list(zip(tried, sets, strict=True)))
        sizes.add(len(names))
    assert sizes >= {1, 2}


def assert_told(
    found: Conflict, scenario: Scenario, wishes: Wishes, tried: Iterable[tuple[Tried, frozenset[str]]]
) -> None:
    """Each member: whether a bill is there without it, at what price, and in whose words and from which row."""
    pairs = list(tried)
    for one in found.culprits:
        name = name_of(one.ground)
        free = replace(wishes, suppliers=(), by=None) if name == "offers" else wishes
        prices = [price_of(scenario, free, each.ways) for each, names in pairs if names <= {name}]
        assert (one.possible, one.price) == (bool(prices), min(prices, default=None))
        assert one.ground.says
        near = [each for each, names in pairs if names <= {name}]
        if one.bound is not None and one.ground.kind == "clause" and near:
            assert_nearest(one.bound, [each.values[name] for each in near if name in each.values])
        if one.bound is not None and one.ground.kind == "lead" and near:
            assert_earliest(one.bound.nearest, scenario, wishes)
        if one.ground.kind in ("clause", "fit"):
            file, _, line = one.ground.place.rpartition(":")
            assert f'"{name}"' in "".join(_table_at(file, int(line)))


def assert_nearest(bound: Bound, values: Iterable[Quantity]) -> None:
    """What is told is the value of one of some, and of none of them nearer where that is proved; a sum by a share."""
    unit = bound.unit or "1"
    numbers = [value.value if value.unit == unit else value.to(unit) for value in values]
    if not numbers:  # whoever keeps all else leaves it unknown
        return
    past = [_past(bound, number) for number in numbers]
    assert isinstance(bound.nearest, float | Decimal)
    told = _past(bound, float(bound.nearest))
    assert any(told == pytest.approx(one, abs=0.006) for one in past)
    if bound.proved:
        ends = [abs(float(end)) for end in (bound.least, bound.greatest) if isinstance(end, float | Decimal)]
        assert told <= min(past) + CLOSE * max(ends) + 1e-6


def _past(bound: Bound, value: float) -> float:
    low, high = (float(end) if isinstance(end, float | Decimal) else None for end in (bound.least, bound.greatest))
    return max(0.0, low - value if low is not None else 0.0, value - high if high is not None else 0.0)


def assert_earliest(day: object, scenario: Scenario, wishes: Wishes) -> None:
    """Something stands by that day, and nothing by the day before."""
    assert isinstance(day, date)
    for by, good in ((day, True), (day - timedelta(days=1), False)):
        on_time = replace(wishes, by=by)
        assert bool(standing(every_build(scenario, on_time), on_time)) == good


def _table_at(file: str, line: int) -> list[str]:
    """The lines of a table of a TOML file from some line on."""
    return Path(file).read_text().splitlines()[line - 1 : line + 8]


def test_an_answer_that_is_there_is_no_conflict(tmp_path: Path) -> None:
    seed = next(seed for seed in range(99) if _stands(tmp_path, seed))
    files, wishes = draw(seed)
    found = explain(encode(files.write(tmp_path / "again"), wishes, whole=True))
    assert (found.culprits, found.gives, found.smallest) == ((), (), False)


def _stands(folder: Path, seed: int) -> bool:
    files, wishes = draw(seed)
    return bool(standing(every_build(files.write(folder / str(seed)), wishes), wishes))


def test_out_of_time_a_conflict_is_not_called_the_smallest(tmp_path: Path) -> None:
    seed = next(seed for seed in range(99) if not _stands(tmp_path, seed))
    files, wishes = draw(seed)
    scenario = files.write(tmp_path / "again")
    found = explain(encode(scenario, wishes, whole=True), seconds=0.0)
    sets = against(every_build(scenario, wishes), wishes)
    names = {name_of(one.ground) for one in found.culprits}
    assert not found.smallest
    assert all(names & one for one in sets)
    for name in names:  # and none of them can be left out
        assert not all((names - {name}) & one for one in sets)


DAY = date(2027, 2, 1)
PARTS = """\
R-A,rod,Hill,40,2027-01-10,1,2,0,450,
R-B,rod,Dale,20,2027-01-10,1,9,0,600,
R-C,rod,Dale,30,2027-01-10,1,20,0,520,
P-A,pin,Hill,7,2027-01-10,1,4,0,100,
P-B,pin,Dale,5,2027-01-10,1,15,0,200,
"""
HEAVY = '[[rule]]\nid = "heavy"\nkind = "limit"\nsays = "heavy"\nof = "{of}"\n{bound}\n'


def rods(folder: Path, rules: str = "", stretch: str = "") -> Scenario:
    """Rods at 40, 20 and 30, pins at 7 and 5: the cheapest bill is R-B with P-B, 25."""
    tables = {"s/positions.csv": f"slot,level,stretch\nrods,rebuild,{stretch}\npin,rebuild,"}
    return shop(folder, PARTS, {"rods": "rod", "pin": "pin"}, "rods,R-A pin,P-A", rules, tables=tables)


def why(scenario: Scenario, **wishes: object) -> Conflict:
    return explain(encode(scenario, Wishes(DAY, **wishes), whole=True))  # type: ignore[arg-type]


def names(culprits: Iterable[Culprit]) -> list[tuple[str, str]]:
    return [(one.ground.kind, one.ground.name) for one in culprits]


def test_of_wishes_that_each_could_give_way_all_are_told_the_cheapest_first(tmp_path: Path) -> None:
    # R-A with P-B is 45: one more cent than the budget. Without the pin R-B: 25; without the budget 45.
    found = why(rods(tmp_path), pinned={"rods": "R-A"}, budget=Decimal("44.99"))
    assert [(one.ground.kind, one.price) for one in found.gives] == [
        ("pinned", Decimal("25.00")),
        ("budget", Decimal("45.00")),
    ]
    budget = found.gives[1].bound
    assert budget is not None
    assert (budget.figure, budget.greatest, budget.unit) == ("price", Decimal("44.99"), "USD")
    assert (budget.nearest, budget.proved) == (Decimal("45.00"), True)
    assert not found.is_large


def test_a_budget_a_cent_short_is_told_before_all_that_it_is_at_odds_with(tmp_path: Path) -> None:
    # Thirteen rods at 40, as a clause each forbids those at 20: 520, and any one clause the less saves 20.
    slots = {f"rod-{number}": "rod" for number in range(13)}
    clause = '[[rule]]\nid = "{0}"\nkind = "parts"\nsays = "not that"\nslot = "{0}"\nbanned = "R-B"\n'
    parts = "R-A,rod,Hill,40,2027-01-10,1,2,0,450, R-B,rod,Hill,20,2027-01-10,1,2,0,600,"
    build = " ".join(f"{slot},R-A" for slot in slots)
    scenario = shop(tmp_path, parts, slots, build, "".join(clause.format(slot) for slot in slots))
    found = why(scenario, budget=Decimal("519.99"))
    assert [(one.ground.kind, one.price) for one in found.gives] == [("budget", Decimal("520.00"))]
    assert (len(found.culprits), found.smallest, found.is_large) == (14, True, True)
    assert {one.price for one in found.culprits} == {Decimal("500.00"), Decimal("520.00")}


def test_no_wish_gives_where_two_are_in_the_way(tmp_path: Path) -> None:
    # No bill is 1; and R-A cannot be both pinned and banned.
    found = why(rods(tmp_path), pinned={"rods": "R-A"}, banned=("R-A",), budget=Decimal(1))
    assert found.gives == ()
    (one,) = found.culprits
    assert (one.ground.kind, one.possible, one.price) == ("budget", False, None)
    assert {ground.kind for ground in one.also} == {"pinned", "banned"}


def test_what_holds_an_engine_together_is_no_place_to_give_while_anything_else_helps(tmp_path: Path) -> None:
    # Nothing below R-A: 45 with P-B at the least.
    scenario = rods(tmp_path / "1", stretch="no")
    found = why(scenario, budget=Decimal(44))
    assert names(found.gives) == [("budget", "budget")]
    assert {one.ground.kind: one.may_give for one in found.culprits} == {"critical": False, "budget": True}
    # R-B alone weighs 600 g: only what says that nothing cheaper may be there could give, and the book does not.
    book = HEAVY.format(of="rods.mass", bound='min = "600 g"')
    other = HEAVY.format(of="pin.mass", bound='max = "50 g"').replace('"heavy"', '"light"')
    found = why(rods(tmp_path / "2", book, stretch="no"))
    assert names(found.culprits) == [("critical", "rods"), ("clause", "heavy")]
    assert found.gives == ()
    assert [one.may_give for one in found.culprits] == [False, True]
    # And with a pin that may not be: no one thing helps.
    found = why(rods(tmp_path / "3", book + other, stretch="no"))
    assert names(found.culprits) == [("clause", "light")]
    assert {ground.name for ground in found.culprits[0].also} == {"rods", "heavy"}


def test_where_nothing_else_helps_what_holds_an_engine_together_is_told_too(tmp_path: Path) -> None:
    # R-A, the least that may be there, is too light, and from the wrong shop; R-B would be right in both.
    book = HEAVY.format(of="rods.mass", bound='min = "600 g"')
    book += '[[rule]]\nid = "shop"\nkind = "parts"\nsays = "from Dale"\nslot = "rods"\nsuppliers = "Dale"\n'
    found = why(rods(tmp_path, book, stretch="no"))
    assert [(one.ground.kind, one.price, one.may_give) for one in found.gives] == [("critical", Decimal("25.00"), True)]
    assert {one.ground.kind: one.possible for one in found.culprits} == {"critical": True, "clause": False}


def test_of_conflicts_as_small_one_without_what_holds_an_engine_together_is_told(tmp_path: Path) -> None:
    # R-A, which is not to be cheapened, is too light; so is P-A, which is pinned: two pairs are at odds.
    book = HEAVY.format(of="rods.mass", bound='min = "500 g"')
    book += HEAVY.format(of="pin.mass", bound='min = "150 g"').replace('"heavy"', '"heavy too"')
    found = why(rods(tmp_path, book, stretch="no"), pinned={"pin": "P-A"})
    assert {kind for kind, _ in names(found.culprits)} == {"pinned", "clause"}


@pytest.mark.parametrize("table_most", [20_000, 0])
def test_the_nearest_to_a_limit_is_that_of_what_all_else_lets_stand(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, table_most: int
) -> None:
    monkeypatch.setattr(questioning, "TABLE_MOST", table_most)
    # With R-B banned the heaviest pair is R-C with P-B: 520 + 200 = 720 g, and 800 are asked.
    book = HEAVY.format(of="rods.mass pin.mass", bound='min = "800 g"')
    found = why(rods(tmp_path / "1", book), banned=("R-B",))
    bound = next(one.bound for one in found.culprits if one.ground.kind == "clause")
    assert bound is not None
    assert (bound.figure, bound.least, bound.greatest, bound.unit) == ("rods.mass + pin.mass", 800.0, None, "g")
    assert (bound.nearest, bound.proved) == (720.0, True)
    # At most 500 g: the lightest is R-A with P-A, 550 g; and the cheapest bill, R-B with P-B, weighs 800.
    found = why(rods(tmp_path / "2", HEAVY.format(of="rods.mass pin.mass", bound='max = "500 g"')))
    (one,) = found.culprits
    assert one.bound is not None
    assert (one.bound.nearest, one.bound.proved, one.price) == (550.0, True, Decimal("25.00"))


def test_the_nearest_to_a_limit_on_the_price_is_in_its_own_currency(tmp_path: Path) -> None:
    found = why(rods(tmp_path, HEAVY.format(of="price", bound='max = "24 USD"')))
    (one,) = found.culprits
    assert one.bound is not None
    assert (one.bound.greatest, one.bound.unit) == (Decimal(24), "USD")
    assert (one.bound.nearest, one.bound.proved) == (Decimal("25.00"), True)
    # Rods at the most at 19, and the cheapest are R-B at 20.
    found = why(rods(tmp_path / "2", HEAVY.format(of="price.rods", bound='max = "19 USD"')))
    (one,) = found.culprits
    assert one.bound is not None
    assert (one.bound.figure, one.bound.nearest, one.bound.proved) == ("price.rods", Decimal("20.00"), True)


def test_the_earliest_day_counts_who_may_be_bought_from_and_what_it_may_cost(tmp_path: Path) -> None:
    scenario = rods(tmp_path)
    # R-A takes 2 days and P-A 4: by 5 February all is here, and by the 3rd nothing.
    (lead,) = why(scenario, by=date(2027, 2, 3)).gives
    assert lead.bound is not None
    assert (lead.bound.greatest, lead.bound.nearest, lead.bound.proved) == (date(2027, 2, 3), date(2027, 2, 5), True)
    assert lead.price == Decimal("25.00")
    # From Dale alone: R-B in 9 days and P-B in 15.
    (lead,) = [
        one for one in why(scenario, by=date(2027, 2, 3), suppliers=("Dale",)).gives if one.ground.kind == "lead"
    ]
    assert lead.bound is not None
    assert lead.bound.nearest == date(2027, 2, 16)
    # For 30 and no more R-B it must be, in 9 days, with P-A: 27.
    gives = why(scenario, by=date(2027, 2, 3), budget=Decimal(30)).gives
    (lead,) = [one for one in gives if one.ground.kind == "lead"]
    assert lead.bound is not None
    assert lead.bound.nearest == date(2027, 2, 10)


def test_the_earliest_day_is_one_on_which_the_price_holds_too(tmp_path: Path) -> None:
    # In 2 days at 30, or in 20 at 10; 15 are there.
    tables = {"c/prices.csv": "part,supplier,date,price,least,pack,lead_days\nR-A,Dale,2027-01-10,10,1,1,20"}
    part = "R-A,rod,Hill,30,2027-01-10,1,2,0,450,"
    scenario = shop(tmp_path, part, {"rods": "rod"}, "rods,R-A", tables=tables)
    gives = why(scenario, by=date(2027, 2, 5), budget=Decimal(15)).gives
    assert [(one.ground.kind, one.price) for one in gives] == [("lead", Decimal(10)), ("budget", Decimal(30))]
    assert gives[0].bound is not None
    assert gives[0].bound.nearest == date(2027, 2, 21)


def test_what_is_not_found_in_time_is_not_called_impossible(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    encoded = encode(rods(tmp_path), Wishes(DAY, pinned={"rods": "R-A"}, budget=Decimal(44)), whole=True)

    def late(asked: Encoded, goals: Sequence[Goal], seconds: float = 60.0) -> Settled:
        settled = settle(asked, goals, seconds)
        never = replace(settled.solved, status="nothing found", pick=None, value=None)
        return replace(settled, solved=never) if asked is not encoded else settled

    monkeypatch.setattr("costplan.choose.conflict.settle", late)
    found = explain(encoded)
    assert found.gives == ()
    assert [(one.possible, one.price, one.also) for one in found.culprits] == [(None, None, ())] * 2
    budget = next(one.bound for one in found.culprits if one.ground.kind == "budget")
    assert budget is not None
    assert (budget.greatest, budget.nearest, budget.proved) == (Decimal(44), None, False)
