"""The best bill against trying every build with the public checkers, on small scenarios drawn at random."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from datetime import date
from decimal import Decimal
from pathlib import Path
from random import Random
from typing import Any

import pytest

from costplan.choose import AIMS, NOTHING, Aimed, Chosen, Wishes, best, choosing, prepare, questioning
from costplan.choose.aims import FINE, FOREVER
from costplan.choose.modelling import Status
from costplan.choose.settling import Settled, settle
from costplan.money import to_minor
from costplan.scenario import Scenario
from tests.test_choose.drawn_scenarios import draw
from tests.test_choose.every_build import Tried, every_build, standing
from tests.test_choose.small_shop import shop

SEEDS = range(48)
DAY = date(2027, 2, 1)


@pytest.mark.parametrize("table_most", [20_000, 0, 1])
def test_the_lowest_price_is_that_of_all_builds(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, table_most: int
) -> None:
    # With no tables, or next to none, sums and questions asked of each pick carry it all.
    monkeypatch.setattr(questioning, "TABLE_MOST", table_most)
    possible = 0
    for seed in SEEDS:
        files, wishes = draw(seed)
        scenario = files.write(tmp_path / str(seed))
        wanted = min((one.price for one in standing(every_build(scenario, wishes), wishes)), default=None)
        chosen, _ = best(prepare(scenario, wishes), AIMS["price"])
        possible += wanted is not None
        assert chosen.proof.status == ("impossible" if wanted is None else "optimal"), seed
        assert (chosen.option.price if chosen.option else None) == wanted, seed
    assert len(SEEDS) / 4 < possible < len(SEEDS)


def test_what_is_bought_and_what_is_used_come_to_the_price(tmp_path: Path) -> None:
    used = 0
    for seed in SEEDS:
        files, wishes = draw(seed)
        chosen, _ = best(prepare(files.write(tmp_path / str(seed)), wishes), AIMS["price"])
        if chosen.option is not None:
            worth = sum((one.worth for one in chosen.option.on_hand), Decimal(0))
            used += len(chosen.option.on_hand)
            assert chosen.option.bill.total + worth == chosen.option.price, seed
            assert chosen.option.bill.total == sum(line.cost for line in chosen.option.bill.lines), seed
    assert used


def test_the_lines_add_up_to_the_cost_a_season_those_of_parts_that_take_turns_too(tmp_path: Path) -> None:
    turns = 0
    for seed in SEEDS:
        files, wishes = draw(seed)
        option = best(prepare(files.write(tmp_path / str(seed)), wishes), AIMS["season"])[0].option
        if option is None:
            continue
        turns += any("/" in line.slot for line in option.lines)
        assert option.per_season == sum(line.per_season for line in option.lines if line.per_season is not None), seed
        assert all("/" not in slot for slot, _ in option.parts)
    assert turns


def test_a_part_that_takes_turns_has_a_line_of_its_own(tmp_path: Path) -> None:
    # Two events a season, one of them in the rain. R-A is 40 and may stay 20 dry ones: 40 / 20 = 2.00;
    # R-B is 30 and may stay 10 wet ones: 3.00.
    parts = "R-A,rod,Hill,40,2027-01-10,1,2,0,450, R-B,rod,Hill,30,2027-01-10,1,2,0,450,"
    lives = "part,measure,limit\nR-A,events,20\nR-B,events,10"
    build = "rods,R-A,,,dry, rods,R-B,,,wet,rain"
    scenario = shop(tmp_path, parts, {"rods": "rod"}, build, tables={"c/lives.csv": lives})
    option = best(prepare(scenario, Wishes(DAY, pinned={"rods": "R-A"})), AIMS["price"])[0].option
    assert option is not None
    lines = [(line.slot, line.part, line.planned, line.changed, str(line.per_season)) for line in option.lines]
    assert lines == [("rods", "R-A", "R-A", False, "2.00"), ("rods/wet", "R-B", "R-B", False, "3.00")]
    assert (str(option.per_season), option.parts) == ("5.00", (("rods", "R-A"),))


def test_a_proof_speaks_in_the_units_of_its_page(tmp_path: Path) -> None:
    parts = "R-A,rod,Hill,40,2027-01-10,1,2,0,450, R-B,rod,Hill,30.50,2027-01-10,1,2,0,450,"
    lives = "part,measure,limit\nR-A,events,21\nR-B,events,10"
    scenario = shop(tmp_path, parts, {"rods": "rod"}, "rods,R-A", tables={"c/lives.csv": lives})
    aimed = prepare(scenario, Wishes(DAY))
    proofs = [best(aimed, AIMS[name])[0].proof for name in ("price", "season", "interval")]
    # Two events a season: 40 / 10.5 = 3.81 for R-A, 30.50 / 5 = 6.10 for R-B; R-A lasts 21 events.
    assert [(proof.value, proof.bound, proof.unit) for proof in proofs] == [
        (Decimal("30.50"), Decimal("30.50"), "USD"),
        (Decimal("3.81"), Decimal("3.81"), "USD"),
        (21.0, 21.0, "events"),
    ]


@pytest.mark.parametrize(
    ("status", "proved", "tie"),
    [
        ("optimal", 3, True),
        ("optimal", 2, False),
        ("optimal", 1, False),
        ("best found", 0, False),
        ("nothing found", 3, False),
    ],
)
def test_of_equal_bills_the_one_is_shown_only_where_every_goal_is_proved(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, status: Status, proved: int, tie: bool
) -> None:
    # The price, then the changes to the build, then the order of parts. A search that gives up keeps the count of its
    # last round.
    def early(*args: Any) -> Settled:
        settled = settle(*args)
        return replace(settled, solved=replace(settled.solved, status=status, goals_proved=proved))

    monkeypatch.setattr(choosing, "settle", early)
    scenario = shop(tmp_path, "R-A,rod,Hill,40,2027-01-10,1,2,0,450,", {"rods": "rod"}, "rods,R-A")
    proof = best(prepare(scenario, Wishes(DAY)), AIMS["price"])[0].proof
    assert (proof.status, proof.tie_proved) == (status, tie)


def test_each_aim_has_its_best_bill_then_the_cheapest_then_the_one_with_fewest_changes(tmp_path: Path) -> None:
    for seed in SEEDS[:24]:
        files, wishes = draw(seed)
        scenario = files.write(tmp_path / str(seed))
        aimed, good = prepare(scenario, wishes), standing(every_build(scenario, wishes), wishes)
        for name, aim in AIMS.items():
            if name == "power" or not good:
                continue
            chosen, _ = best(aimed, aim)
            assert chosen.proof.tie_proved, (seed, name)
            assert _found(chosen, scenario, name) == min(_wanted(one, aimed, scenario, name) for one in good), (
                seed,
                name,
            )


def planned(scenario: Scenario) -> dict[str, str]:
    build = scenario.built()
    return {slot: part.part if (part := build.part(slot)) else NOTHING for slot in build.pattern.slots}


def changes(scenario: Scenario, parts: Mapping[str, str]) -> int:
    return sum(parts.get(slot, NOTHING) != part for slot, part in planned(scenario).items())


def _wanted(one: Tried, aimed: Aimed, scenario: Scenario, name: str) -> tuple[Decimal | int, ...]:
    first = {"season": season(one, aimed), "interval": -events(one, aimed, scenario)}
    tail = (one.price, changes(scenario, one.parts))
    return (first[name], *tail) if name in first else tail


def _found(chosen: Chosen, scenario: Scenario, name: str) -> tuple[Decimal | int, ...]:
    option = chosen.option
    assert option is not None
    assert option.per_season is not None
    assert option.events is not None
    first = {"season": round(option.per_season * 100), "interval": -round(option.events * FINE)}
    tail = (option.price, changes(scenario, dict(option.parts)))
    return (first[name], *tail) if name in first else tail


def season(one: Tried, aimed: Aimed) -> int:
    """The cost of parts a season in cents, each slot's rounded half up."""
    lasting = (aimed.lasting.get((slot, way.part)) for slot, way in one.ways.items())
    return sum(to_minor(Decimal(repr(each.per_season)), "USD") for each in lasting if each)


def events(one: Tried, aimed: Aimed, scenario: Scenario) -> int:
    """Thousandths of an event until the first part is due in a slot whose level is the second from below."""
    slots = [row.slot for row in scenario.files.positions if row.level == "rebuild"]
    its = [aimed.lasting.get((slot, way.part)) for slot, way in one.ways.items() if slot.partition("/")[0] in slots]
    return min((round(min(each.events, FOREVER) * FINE) if each else FOREVER * FINE for each in its), default=10**7)


def test_the_order_of_rows_makes_no_difference(tmp_path: Path) -> None:
    for seed in SEEDS[:16]:
        files, wishes = draw(seed)
        answers = []
        luck = Random(seed)  # noqa: S311 - not for secrets
        for number, its in enumerate((files, files, files.shuffled(luck), files.shuffled(luck))):
            aimed = prepare(its.write(tmp_path / f"{seed}-{number}"), wishes)
            for name in ("price", "season", "interval"):
                option = best(aimed, AIMS[name])[0].option
                found = option and [(line.slot, line.part, line.kit, line.piece) for line in option.lines]
                answers.append((name, found, option and option.price))
        assert answers[:3] == answers[3:6] == answers[6:9] == answers[9:], seed


def test_out_of_time_nothing_is_claimed(tmp_path: Path) -> None:
    for seed in SEEDS[:16]:
        files, wishes = draw(seed)
        aimed = prepare(files.write(tmp_path / str(seed)), wishes)
        whole, early = best(aimed, AIMS["price"])[0].proof, best(aimed, AIMS["price"], seconds=0.0)[0].proof
        assert early.status in (whole.status, "best found", "nothing found"), seed
        if early.value is not None and early.bound is not None and whole.value is not None:
            assert early.bound <= whole.value <= early.value, seed
            assert (early.status == "optimal") == (early.bound == early.value), seed
