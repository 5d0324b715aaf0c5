"""What a used engine is worth, by hand and in the demos."""

from __future__ import annotations

import copy
from collections.abc import Callable
from dataclasses import replace
from decimal import Decimal
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from pytest import approx

from costplan.money import to_minor
from costplan.scenario import Scenario, read_scenario
from costplan.season import Season, compile_season, machine
from costplan.season.deciding.horizon import Ahead, NewEngine, new_engine
from costplan.season.deciding.worth import Worth, as_new, as_unknown, draws_of, in_place, parts_of, worth_of
from costplan.season.drawn.figures import Mean
from costplan.season.machine.years import UNUSED

SeasonOf = Callable[..., Season]

DEMOS = Path(__file__).parents[2] / "scenarios"
SURE = "1e-9,50"
#: A block at 300.00 for six events, three of which are behind it, and springs of 40.00 for four, used up by two.
ENGINE: dict[str, Any] = {
    "calendar": "event,date,laps\none,2027-03-01,40\ntwo,2027-06-09,40\n",
    "slots": "slot,part,pieces\nblock,block,1\nsprings,spring,2\npump,pump,1\n",
    "parts": "part,price,core_charge,resale\nblock,300,50,60\nspring,20,0,1\npump,90,0,0\n",
    "lives": f"part,measure,replace_at,risk,shape\nblock,events,6,{SURE}\nspring,events,4,{SURE}\n"
    f"pump,events,90,{SURE}\n",
    "levels": "level,rank,carrier,interval,measure,labour,supplies\nquick,1,engine,,,5,\nfull,2,engine,10,events,36,4\n"
    "side,1,car,,,,\n",
    "positions": "slot,level,carrier\nblock,full,engine\nsprings,quick,engine\npump,side,car\n",
    "garage": "piece,part,engine,slot,events\nblock of A,block,A,block,3\nsprings of A,spring,A,springs,2\n"
    "pump,pump,car,pump,3\n",
    "scenario": '[policy]\nearly = "off"\n[[engine]]\nname = "A"\nsince = { full = 3 }\n',
}


def judged(season: Season, new: str, years: int = 1, rate: float = 0.0, seasons: int = 1) -> Worth:
    ahead = Ahead(season, season, years, rate)
    return worth_of(ahead, NewEngine(Decimal(new), "by hand"), draws_of(ahead, seasons), seasons)


def test_by_its_parts_and_broken_up(season_of: SeasonOf) -> None:
    found = judged(season_of(**ENGINE), "400")
    parts = [
        (part.slot, str(part.new), part.worn, str(part.left), str(part.resale), str(part.core)) for part in found.parts
    ]
    # Half of 300.00 less the resale of 60.00; half of 40.00 less 2.00; nothing of the car.
    assert parts == [
        ("block", "300.00", 0.5, "120.00", "60.00", "50.00"),
        ("springs", "40.00", 0.5, "19.00", "2.00", "0.00"),
    ]
    assert [(level.level, level.share, str(level.owed)) for level in found.work] == [("full", 0.3, "12.00")]
    assert str(found.by_parts) == "189.00"
    # The block sold, and not its core handed in too; the springs.
    assert str(found.broken_up) == "62.00"


def test_of_what_a_part_brings_broken_up_the_dearer_counts(season_of: SeasonOf) -> None:
    parts = ENGINE["parts"].replace("block,300,50,60", "block,300,75,60")
    assert str(judged(season_of(**{**ENGINE, "parts": parts}), "400").broken_up) == "77.00"


def test_what_wears_in_no_measure_is_no_part_of_the_worth(season_of: SeasonOf) -> None:
    tables = {
        **ENGINE,
        "slots": ENGINE["slots"] + "gaskets,gasket,1\n",
        "parts": ENGINE["parts"] + "gasket,12,0,0\n",
        "positions": ENGINE["positions"] + "gaskets,quick,engine\n",
    }
    found = judged(season_of(**tables), "400")
    assert [part.slot for part in found.parts] == ["block", "springs"]
    assert str(found.by_parts) == "189.00"


def test_to_its_owner_it_is_worth_what_a_new_one_costs_less_what_that_saves(season_of: SeasonOf) -> None:
    # One year of two events, not discounted. With it, nothing is paid, and left are 240/6 + 60 of the block, 2.00 of
    # springs, less half of 40.00 owed: 82.00. With a new one 160 + 60, 19 + 2, less 8.00: 233.00. So 400 - 151.
    found = judged(season_of(**ENGINE), "400")
    assert found.to_owner == Mean(Decimal("249.00"), Decimal("0.00"))
    # Unknown: the full level at 40.00 before it runs, a block at 300.00 and springs at 40.00; deposit 50.00 less 50.00
    # and resale 62.00 back: 318.00 paid, and left as with a new one. So 400 - 318, and the log is worth 249 - 82.
    assert found.unknown == Mean(Decimal("82.00"), Decimal("0.00"))
    assert found.of_log == Mean(Decimal("167.00"), Decimal("0.00"))
    assert (found.misses, found.misses_new) == (0, 0)


def test_a_log_is_worth_nothing_where_the_engine_is_better_taken_apart_at_once(season_of: SeasonOf) -> None:
    garage = ENGINE["garage"].replace("springs,2", "springs,4").replace("block,3", "block,5")
    levels = ENGINE["levels"].replace(",,,5,", ",,,100,")
    found = judged(season_of(**{**ENGINE, "garage": garage, "levels": levels}), "400")
    # Run on: 100.00 and springs less 2.00 back before one, 40.00 and a block less 60.00 back before two: 418.00; left
    # are 200 + 60 of the block, 19 + 2 of the springs, less 4.00 owed: 277.00. A new one leaves 233.00, see above.
    assert found.run_on == Mean(Decimal("26.00"), Decimal("0.00"))
    # Whoever takes it apart at once pays the full level alone, as the one who knows nothing does.
    assert found.to_owner == found.unknown == Mean(Decimal("82.00"), Decimal("0.00"))
    assert (found.apart, found.more.mean, found.of_log.mean) == (True, Decimal("-56.00"), Decimal(0))


def test_what_is_broken_brings_nothing_nor_does_it_in_the_machine(season_of: SeasonOf) -> None:
    season = season_of(**ENGINE)
    start = copy.deepcopy(season.start)
    start.broken[0, 0] = True
    block, springs = parts_of(replace(season, start=start), 0)
    assert [str(amount) for amount in (block.left, block.resale, block.core)] == ["0.00"] * 3
    # 21.00 of the springs, less the 12.00 owed, as they are above.
    assert (springs.worth, machine.worth_of(season.problem, start, 0)) == (Decimal("21.00"), 900)


def test_what_it_pays_later_is_discounted(season_of: SeasonOf) -> None:
    # Two years at 10 %, all paid in the second: springs of four events before event 3, 5.00 and 40.00 less 2.00 back;
    # the block of six before event 4, 40.00 and 300.00 less 60.00 back, its deposit paid and refunded.
    found = judged(season_of(**ENGINE), "400", years=2, rate=0.1)
    block = 40 + 300 - 60
    # At the end the block has run one event of six, the springs two of four: 200 + 60 + 19 + 2 less 1/10 of 40.
    old = (43 + block) / 1.1**2 - (200 + 60 + 19 + 2 - 4) / 1.1**2
    # The new one's block has run four of six, its springs four of four: 80 + 60 + 0 + 2 less 4/10 of 40.
    new = -(80 + 60 + 2 - 16) / 1.1**2
    assert float(found.to_owner.mean) == approx(400 - (old - new), abs=0.006)


def test_a_new_engine_is_worth_its_price(season_of: SeasonOf) -> None:
    season = season_of(
        **{**ENGINE, "scenario": '[policy]\nearly = "off"\n[[engine]]\nname = "A"\n', "garage": "piece,part\n"}
    )
    found = judged(season, "400")
    assert found.to_owner == Mean(Decimal("400.00"), Decimal("0.00"))
    assert all(part.worn == 0 for part in found.parts)


def test_an_unknown_engine_is_at_its_renewal_uses_and_owes_its_highest_level(season_of: SeasonOf) -> None:
    season = season_of(**ENGINE)
    unknown, fresh = as_unknown(season, 0).start, as_new(season, 0).start
    ages = {spot.slot: season.lives(p)[0] for p, spot in enumerate(season.spots)}
    assert [unknown.age[0, ages["block"]], unknown.age[0, ages["springs"]]] == [6, 4]
    assert [fresh.age[0, ages["block"]], fresh.age[0, ages["springs"]]] == [0, 0]
    assert unknown.overdue[0].tolist()[0] == [False, True]
    # The car's own are known, and the season itself is left as it was.
    assert unknown.age[1, ages["pump"]] == fresh.age[1, ages["pump"]] == 3
    assert season.start.age[0, ages["block"]] == 3
    assert not season.start.overdue.any()


def test_of_several_engines_the_one_that_is_asked_about_is_unknown_or_new(season_of: SeasonOf) -> None:
    season = season_of(**{**ENGINE, "scenario": ENGINE["scenario"] + '[[engine]]\nname = "B"\nsince = { full = 4 }\n'})
    unknown, fresh = as_unknown(season, 1).start, as_new(season, 1).start
    assert unknown.overdue[:2, 0].tolist() == [[False, False], [False, True]]
    assert np.array_equal(unknown.age[0], season.start.age[0])
    assert np.array_equal(fresh.age[0], season.start.age[0])
    assert fresh.since[:2, 0, 1].tolist() == [3, UNUSED]


def test_a_hard_limit_counts_as_reached_and_what_runs_to_failure_as_at_its_mean(season_of: SeasonOf) -> None:
    tables = {
        **ENGINE,
        "lives": "part,measure,replace_at,risk,shape,limit\nblock,events,6,0.1,2,5\nspring,events,4,0.1,2,\n"
        "pump,events,9,,,\n",
        "positions": "slot,level,carrier,renewal\nblock,full,engine,\nsprings,quick,engine,run to failure\n"
        "pump,side,car,\n",
    }
    season = season_of(**tables)
    state = as_unknown(season, 0).start
    block, springs = season.lives(0)[0], season.lives(1)[0]
    assert state.raw_age[0, block] == 5
    assert state.age[0, springs] == approx(season.problem.worn_at[springs])
    assert np.isinf(season.problem.due_at[springs]) or season.problem.due_at[springs] == state.age[0, springs]
    machine.play(season.problem, state)
    renewed = [(row[0], row[2]) for row in state.renewals[: state.n_renewals[0]].tolist() if row[1] == 0]
    assert (0, 0) in renewed


# --- in the demos


def scenario_of(name: str) -> Scenario:
    scenario, problems = read_scenario(DEMOS / name)
    assert scenario is not None, problems
    return scenario


def offered(scenario: Scenario, name: str) -> Season:
    engine = next(one for one in scenario.engines if one.name == name)
    season, problems = compile_season(in_place(scenario.sources, engine, scenario.garage))
    assert season is not None, problems
    return season


@pytest.mark.parametrize(
    ("name", "owned", "other"), [("oval-v8", "blue", "red"), ("kart-single", "kart-one", "kart-two")]
)
def test_an_engine_on_offer_takes_the_place_of_the_one_that_is_owned(name: str, owned: str, other: str) -> None:
    scenario = scenario_of(name)
    season = offered(scenario, other)
    assert season.carriers == (other, "car")
    assert season.purchases == ()
    own, _ = scenario.season()
    assert own is not None
    assert own.carriers == (owned, "car")
    car = [p for p, spot in enumerate(season.spots) if spot.on_car]
    assert np.array_equal(season.start.value[1, car], own.start.value[1, car])
    assert not np.array_equal(season.start.age[0], own.start.age[0])
    pieces = {piece.slot: piece for piece in scenario.garage if piece.engine == other}
    for p, spot in enumerate(season.spots):
        for life, j in zip(spot.lives, season.lives(p), strict=False):
            if not spot.on_car and life.measure.name == "hours":
                assert season.start.age[0, j] == pieces[spot.base].use["hours"]


def unworn(season: Season) -> list[int]:
    """The positions of an engine that wear in no measure."""
    return [p for p, spot in enumerate(season.spots) if not spot.on_car and not len(season.lives(p))]


def test_a_better_kept_engine_is_worth_more_and_a_log_of_one_pays() -> None:
    scenario = scenario_of("oval-v8")
    new = new_engine(scenario.engines, scenario.garage, scenario.sources)
    assert new is not None
    found = {}
    for name in ("blue", "red"):
        season = offered(scenario, name) if name == "red" else scenario.season()[0]
        assert season is not None
        ahead = Ahead(season, season, 2, 0.06)
        found[name] = worth_of(ahead, new, draws_of(ahead, 500), 500)
    blue, red = found["blue"], found["red"]
    season = offered(scenario, "red")
    worn = to_minor(red.by_parts, "USD")
    gaskets = sum(machine.left_of(season.problem, season.start, 0, p) for p in unworn(season))
    assert worn + gaskets == machine.worth_of(season.problem, season.start, 0)
    assert 0 < gaskets < 20000
    assert blue.by_parts < red.by_parts < new.price
    assert blue.to_owner.mean + 3 * blue.to_owner.error < red.to_owner.mean < new.price
    assert red.of_log.mean > 5 * red.of_log.error
    assert red.of_log.mean == approx(red.to_owner.mean - red.unknown.mean, abs=Decimal("0.02"))


def test_where_drawing_was_stopped_it_rests_on_what_there_is() -> None:
    scenario = scenario_of("kart-single")
    season, _ = scenario.season()
    assert season is not None
    ahead, new = Ahead(season, season, 2, 0.06), NewEngine(Decimal(1700), "by hand")
    one, two, three = draws_of(ahead, 40)
    short = ahead.draw(30)
    found = worth_of(ahead, new, (short, two, three), 40)
    assert (found.seasons, found.asked, found.interrupted) == (30, 40, True)
    assert found.to_owner != worth_of(ahead, new, (one, two, three), 40).to_owner


# --- what nothing else would miss


def test_an_engine_of_which_nothing_is_known_can_be_taken_apart_before_its_first_run(season_of: SeasonOf) -> None:
    season = season_of(**ENGINE)
    start = copy.deepcopy(season.start)
    start.idle_since[:] = start.ready_at[:] = -1.0  # it ran an hour before the first run
    unknown = as_unknown(replace(season, start=start), 0)
    assert (unknown.start.idle_since[0], unknown.start.ready_at[0]) == (-np.inf, -np.inf)


def test_what_is_broken_brings_no_core() -> None:
    season, _ = scenario_of("kart-single").season()
    assert season is not None
    start = copy.deepcopy(season.start)
    start.broken[0, [spot.slot for spot in season.spots].index("cylinder")] = True
    cores = [
        next(part.core for part in parts_of(one, 0) if part.slot == "cylinder")
        for one in (season, replace(season, start=start))
    ]
    assert cores == [Decimal(40), Decimal(0)]
