"""Builds on the season machine: what they use up, paired, as new engines whatever the garage holds."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from dataclasses import replace
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest

from costplan.build import Build, with_part
from costplan.choose.replayed import Played, Replayed, as_new, replay
from costplan.money import from_minor
from costplan.scenario import Scenario, read_scenario
from costplan.season import make_plan
from costplan.season.drawn.drawing import BLOCK, Quiet, draw, drawn_season
from costplan.season.ledger import write_ledger

DEMO = Path(__file__).parents[2] / "scenarios" / "oval-v8"
Write = Callable[[str, str | bytes], Path]

#: Three events a week apart; a block of 200 that is honed once, rings of 40 a set of four that sell for 3 each.
TABLES = {
    "c/catalog.toml": 'name = "invented"\ncurrency = "USD"\n',
    "c/roles.csv": "role\nblock\nring\n",
    "c/parts.csv": "part,role,supplier,price,price_date,pack,resale\nB,block,shop,200,2027-01-01,1,0\n"
    "R,ring,shop,40,2027-01-01,4,3\nS,ring,shop,90,2027-01-01,4,3\nX,ring,shop,10,2027-01-01,4,0\n",
    "c/operations.csv": "operation,role,price,price_date\nhone,block,15,2027-01-01\n",
    "c/service_steps.csv": "role,step,operation,factor\nblock,1,hone,0.8\n",
    "c/lives.csv": "part,measure,replace_at,risk\nB,laps,60,0.2\nR,laps,45,0.3\nS,laps,100,0.5\nX,fuel [L],50,\n",
    "s/pattern.toml": 'name = "by hand"\n[[slot]]\nslot = "block"\nrole = "block"\n'
    '[[slot]]\nslot = "rings"\nrole = "ring"\nquantity = 4\n',
    "s/build.csv": "slot,part\nblock,B\nrings,R\n",
    "s/positions.csv": "slot,level,renew_as\nblock,rebuild,\nrings,rebuild,piece\n",
    "s/levels.csv": "level,rank,interval,measure,labour\nrebuild,1,80,laps,70\n",
    "s/calendar.csv": "event,date,laps,entry,purse\none,2027-05-01,30,50,100\ntwo,2027-05-08,40,50,100\n"
    "three,2027-05-15,50,50,100\n",
    "s/damage.csv": "slot,case,chance,hits,cost\nrings,scored,0.5,block,11\nstone,radiator,0.5,,300\n",
    "s/hazards.csv": "hazard,chance,per\nstone,0.1,events\n",
    "s/services.csv": "service,price,every,measure\noil,9,40,laps\n",
    "s/costs.csv": "cost,amount,per\nlicence,120,season\n",
}
SCENARIO = 'title = "by hand"\ncurrency = "USD"\ncatalogs = ["../c"]\npattern = "pattern.toml"\nbuild = "build.csv"\n'


@pytest.fixture
def engine(write: Write) -> Callable[..., Scenario]:
    """The scenario of these tables, with more files."""

    def read(more: str = "", **files: str) -> Scenario:
        for name, text in (TABLES | {f"s/{name}.csv": text for name, text in files.items()}).items():
            write(name, text)
        found, problems = read_scenario(write("s/scenario.toml", SCENARIO + more).parent)
        assert found is not None, problems
        return found

    return read


def with_rings(scenario: Scenario, part: str) -> Build:
    assert scenario.build is not None
    assert scenario.catalog is not None
    return with_part(scenario.build, "rings", scenario.catalog.parts[part])


def played(found: Replayed) -> Played:
    assert found.played is not None, found.problems
    return found.played


def test_the_plan_uses_up_what_its_ledger_says(engine: Callable[..., Scenario]) -> None:
    scenario = engine()
    (found,) = (played(one) for one in replay(scenario, (with_rings(scenario, "R"),), 0))
    season, _ = as_new(scenario, with_rings(scenario, "R")).season()
    assert season is not None
    plan = make_plan(season, scenario.opening)
    causes = ("life used", "unused life")
    rows = [row for row in plan.ledger if row.view == "wear" and row.slot in ("block", "rings") and row.cause in causes]
    assert found.parts.mean == sum((row.amount for row in rows), Decimal(0)) > 0
    assert found.cost.mean == plan.wear_total
    assert found.parts.error == found.seasons == found.failures.mean == 0


def test_what_is_used_up_worked_by_hand(engine: Callable[..., Scenario]) -> None:
    # Rings S last 100 laps and cost 90 - 12 above their resale: 30 + 40 laps, then a new set before three, since 120
    # would pass 100, of which 50 laps are run: 78 + 78 - 39 = 117.
    # The block would pass 60 laps in two: it is honed for 15, for 48 laps, and a new one of 200 put in before three,
    # which has run 50 of its first 60 laps and has 1/6 + 0.8 of its 1.8 lives left, 107.41: 200 + 15 + 200 less that.
    scenario = engine()
    s_rings, r_rings = (played(one) for one in replay(scenario, [with_rings(scenario, part) for part in "SR"], 0))
    assert s_rings.parts.mean == Decimal("117.00") + Decimal("307.59")
    assert r_rings.more_parts.mean == r_rings.parts.mean - s_rings.parts.mean != 0


@pytest.mark.parametrize("seed", range(1, 13))
def test_a_drawn_season_uses_up_what_its_ledger_says(engine: Callable[..., Scenario], seed: int) -> None:
    # failures, pieces put in for pieces, and the 11 of a case that scored a cylinder; not what a stone costs
    scenario = engine()
    build = with_rings(scenario, "S")
    (found,) = (played(one) for one in replay(scenario, (build,), 1, seed))
    season, _ = as_new(scenario, build).season()
    assert season is not None
    rows = write_ledger(season, drawn_season(season, 0, seed)).of("wear")
    assert found.parts.mean == sum((row.amount for row in rows if row.slot in ("block", "rings")), Decimal(0))


def test_drawn_seasons_are_those_of_the_machine(engine: Callable[..., Scenario]) -> None:
    # what broke is in the shop for longer than from one event to the next, and half of the nights are rained out
    levels = "level,rank,interval,measure,labour,hours\nrebuild,1,80,laps,70,160\n"
    calendar = "event,date,laps,rain\none,2027-05-01,30,\ntwo,2027-05-08,40,0.5\nthree,2027-05-15,50,0.5\n"
    scenario = engine(levels=levels, calendar=calendar)
    build = with_rings(scenario, "R")
    (found,) = (played(one) for one in replay(scenario, (build,), 300, seed=7))
    season, _ = as_new(scenario, build).season()
    assert season is not None
    draws = draw(season, 300, 7)
    assert found.cost.mean == from_minor(round(draws.wear.mean()), "USD")
    assert found.missed.mean == draws.misses.mean() > 0.1
    assert found.failures.mean == draws.failures[:2].sum() / 300 > 0.1
    assert found.seasons == 300


def test_builds_share_their_draws(engine: Callable[..., Scenario]) -> None:
    scenario = engine()
    builds = [with_rings(scenario, part) for part in "RRS"]
    first, same, other = (played(one) for one in replay(scenario, builds, 300))
    assert same.more_parts.mean == same.more_parts.error == same.more_cost.error == 0
    assert other.more_parts.mean == pytest.approx(other.parts.mean - first.parts.mean, abs=Decimal("0.02"))
    assert other.more_parts.error < other.parts.error + first.parts.error


def test_what_is_owned_is_put_aside(engine: Callable[..., Scenario]) -> None:
    levels = "level,rank,carrier,interval,measure,labour\nrebuild,1,engine,80,laps,70\nbench,1,car,35,laps,90\n"
    scenario = engine('[[engine]]\nname = "blue"\n', levels=levels)
    used = engine(
        '[[engine]]\nname = "blue"\nprice = 5000\nsince = {rebuild = 30}\n[car]\nsince = {bench = 30}\n',
        levels=levels,
        garage="piece,part,engine,slot,laps,count\nold,R,blue,rings,30,\nspare,R,,,,8\n",
    )
    assert used.garage
    assert not scenario.garage
    fresh, aged = (played(replay(one, (with_rings(one, "S"),), 100)[0]) for one in (scenario, used))
    assert (fresh.parts, fresh.cost) == (aged.parts, aged.cost)


def test_a_build_whose_season_cannot_be_compiled_is_told_and_the_others_are_played(
    engine: Callable[..., Scenario],
) -> None:
    # the life of X counts fuel, which the calendar does not give
    scenario = engine()
    lacking, fine = replay(scenario, [with_rings(scenario, part) for part in "XR"], 50)
    assert (lacking.played, [problem.code for problem in lacking.problems]) == (None, ["SEA004"])
    assert played(fine).more_parts.mean == 0
    assert not fine.problems


class StopsAfterOneBlock(Quiet):
    """Ctrl-C in the middle of the first drawing."""

    def __init__(self) -> None:
        self.stopped = False

    def drawing(self, blocks: Iterator[Any], seasons: int) -> Iterable[Any]:  # noqa: ARG002 - as Watch has it
        yield next(blocks)
        if not self.stopped:
            self.stopped = True
            raise KeyboardInterrupt
        yield from blocks


def test_interrupted_all_builds_have_as_many_seasons(engine: Callable[..., Scenario]) -> None:
    scenario = engine()
    builds = [with_rings(scenario, part) for part in "RS"]
    found = [played(one) for one in replay(scenario, builds, BLOCK + 50, watch=StopsAfterOneBlock())]
    assert [one.seasons for one in found] == [BLOCK, BLOCK]
    whole = [played(one) for one in replay(scenario, builds, BLOCK)]
    assert found == whole


def test_the_demo_is_played_as_a_new_engine() -> None:
    scenario, problems = read_scenario(DEMO)
    assert scenario is not None, problems
    assert scenario.build is not None
    (found,) = (played(one) for one in replay(scenario, (scenario.build,), 50))
    assert found.seasons == 50
    assert 0 < found.parts.mean < found.cost.mean
    new = as_new(scenario, replace(scenario.build))
    assert [engine.name for engine in new.engines] == ["blue"]
    assert not new.garage
