"""What can go wrong in a season, as its files say it and as the machine is given it: each array by hand."""

from __future__ import annotations

import math
import shutil
from collections.abc import Callable
from dataclasses import replace
from datetime import date
from decimal import Decimal
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from costplan.life import Weibull
from costplan.problems import Place
from costplan.rules.book import Book, Clause, DatedPart
from costplan.scenario import Scenario, Variant, read_scenario
from costplan.season import Season, compile_season, machine
from costplan.season.arrays import as_drawn
from costplan.season.machine.draws import named
from costplan.season.opening import empty_state

SeasonOf = Callable[..., Season]

CALENDAR = """\
event,date,laps,setup
one,2027-05-01,30,
two,2027-05-08,40,wet
three,2027-05-15,50,
"""
#: Positions 0 block, 1 springs, 2 springs' alternate for the wet, 3 pump on the car.
ENGINE: dict[str, Any] = {
    "calendar": CALENDAR,
    "slots": "slot,part,pieces,alternate,serves\n"
    "block,block,1,,\nsprings,spring,2,dry,\nsprings,spring,2,soft,wet\npump,pump,1,,\n",
    "parts": "part,price,core_charge,resale\nblock,900,150,300\nspring,30,0,0\npump,80,20,5\n",
    "lives": "part,measure,replace_at,risk,low,likely,shape,warning\n"
    "block,laps,200,5 %,,,2,0.25\nspring,laps,,,20,40,,10 %\npump,days,400,5 %,,,1,0\npump,laps,500,5 %,,,2,\n",
    "levels": "level,rank,carrier,labour,supplies,checks,sees,renews\n"
    "quick,1,engine,25,5,springs,0.5,\nfull,2,engine,100,20,block springs,0.3,springs\nside,1,car,10,0,,,\n",
    "positions": "slot,level,carrier,renewal,factor,stops\n"
    "block,full,engine,run to failure,,yes\nsprings,quick,engine,,0.5,yes\npump,side,car,,,no\n",
}


def season(season_of: SeasonOf, **tables: Any) -> Season:
    return season_of(**{**ENGINE, **tables})


def scenario_with(found: Season, *sets: str) -> Scenario:
    """The scenario that a season was compiled from, with what-ifs."""
    scenario, problems = read_scenario(found.files.folder, sets)
    assert scenario is not None, problems
    return scenario


# --- lives


def test_lives_have_the_weibull_of_their_rows_and_their_warning(season_of: SeasonOf) -> None:
    problem = season(season_of).problem
    block = 200 / math.sqrt(-math.log(0.95))
    springs = math.log(math.log(0.5) / math.log(0.9)) / math.log(2)
    assert problem.scale[:2] == pytest.approx([block, 40 / math.log(2) ** (1 / springs)])
    assert problem.shape[:2] == pytest.approx([2, springs])
    assert problem.warning.tolist() == [0.25, 0.1, 0.1, 0, 0]


def test_the_plan_renews_at_the_mean_at_the_latest_and_drawn_lives_at_their_renewal_use(season_of: SeasonOf) -> None:
    found = season(season_of)
    mean = Weibull(float(found.problem.scale[0]), 2).mean
    assert found.problem.due_at.tolist() == pytest.approx([mean, 10, 10, 400, 500])
    assert found.problem.drawn == 0
    drawn = as_drawn(found, seed=7)
    assert drawn.due_at.tolist() == [math.inf, 10, 10, 400, 500]
    assert drawn.worn_at.tolist() == found.problem.worn_at.tolist()
    assert (drawn.drawn, drawn.seed, drawn.fails_at.shape) == (1, 7, (2, 5, 0))


def test_a_renewal_beyond_the_mean_counts_where_lives_are_drawn(season_of: SeasonOf) -> None:
    lives = "part,measure,replace_at,low,likely\nblock,laps,90,20,40\n"
    positions = "slot,level\nblock,full\nsprings,quick\n"
    found = season(season_of, lives=lives, positions=positions)
    assert found.problem.due_at[0] < 50
    assert as_drawn(found, 1).due_at.tolist() == [90]


def test_a_life_is_named_by_carrier_slot_alternate_and_measure(season_of: SeasonOf) -> None:
    problem = season(season_of, scenario='[[engine]]\nname = "blue"\n[[engine]]\nname = "red"\n').problem
    assert problem.life_key.shape == (3, 5, 2)
    assert problem.life_key[0, 1].tolist() == list(named("blue", "springs", "", "laps"))
    assert problem.life_key[1, 2].tolist() == list(named("red", "springs", "soft", "laps"))
    assert problem.life_key[2, 3].tolist() == list(named("car", "pump", "", "days"))
    assert problem.position_key[1, 2].tolist() == list(named("red", "springs", "soft"))
    assert len({tuple(key) for key in problem.life_key.reshape(-1, 2).tolist()}) == 15


def test_use_before_each_run_stands_in_rows_of_runs(season_of: SeasonOf) -> None:
    problem = season(season_of).problem
    assert problem.raw.tolist() == [
        [0, 0, 0, 0, 0],
        [30, 30, 0, 7, 30],
        [70, 30, 40, 14, 70],
        [120, 80, 40, 14, 120],
    ]
    assert problem.duty.flags.c_contiguous
    assert problem.serves.tolist() == [[True] * 3, [True, False, True], [False, True, False], [True] * 3]


# --- levels


def test_a_higher_level_looks_as_well_as_the_best_of_those_below_it(season_of: SeasonOf) -> None:
    problem = season(season_of).problem
    assert problem.sees[0].tolist() == [[0, 0.5, 0.5, 0], [0.3, 0.5, 0.5, 0]]
    assert problem.sees[2].tolist() == [[0, 0, 0, 0], [0, 0, 0, 0]]


def test_labour_stands_apart_from_supplies(season_of: SeasonOf) -> None:
    problem = season(season_of).problem
    assert problem.labour.tolist() == [[2500, 10000], [0, 0], [1000, 0], [0, 0]]
    assert problem.cost.tolist() == [[3000, 12000], [0, 0], [1000, 0], [0, 0]]
    assert problem.core.tolist() == [15000, 0, 2000]


RUN_IN: dict[str, Any] = {
    "calendar": "event,date,laps,rpm\none,2027-05-01,30,8000\n",
    "sessions": "format,session,laps,hours,rpm,duty\nbench,warm,10,0.25,4000,0.5\nbench,pulls,4,0.1,8000,1\n",
    "lives": "part,measure,replace_at,rated_rpm,rpm_exponent\nblock,laps,200,8000,2\nblock,hours,90,,\n"
    "spring,laps,60,,\n",
    "slots": "slot,part,pieces\nblock,block,1\nsprings,spring,2\npump,pump,1\n",
    "levels": "level,rank,carrier,run_in\nquick,1,engine,\nfull,2,engine,bench\nrebuild,3,engine,\nside,1,car,\n",
    "positions": "slot,level\nblock,full\nsprings,quick\n",
}


def test_a_run_in_ages_what_a_level_assembled_by_its_sessions(season_of: SeasonOf) -> None:
    calendar = "event,date,laps,hours,rpm\none,2027-05-01,30,1,8000\n"
    problem = season(season_of, **{**RUN_IN, "calendar": calendar}).problem
    # 10 laps at duty 0.5 and half the rated speed, squared, and 4 at full; by the hour only duty counts.
    assert problem.run_in_duty[0].tolist() == [[0, 0, 0], [5.25, 0.225, 9], [5.25, 0.225, 9]]
    assert problem.run_in_raw[0].tolist() == [[0, 0, 0], [14, 0.35, 14], [14, 0.35, 14]]
    assert not problem.run_in_duty[1:].any()


def test_the_run_in_of_the_highest_level_done_counts_alone(season_of: SeasonOf) -> None:
    tables = {
        **RUN_IN,
        "lives": "part,measure,replace_at\nspring,laps,60\n",
        "sessions": "format,session,laps\nbench,warm,10\nyard,idle,3\n",
        "levels": "level,rank,run_in\nquick,1,yard\nfull,2,bench\n",
    }
    problem = season(season_of, **tables).problem
    assert problem.run_in_raw[0].tolist() == [[3], [10]]


def test_a_measure_that_a_run_in_does_not_give_is_told_as_assumed(season_of: SeasonOf) -> None:
    tables = {
        **RUN_IN,
        "calendar": "event,date,laps,lap_length [km]\none,2027-05-01,30,1\n",
        "lives": "part,measure,replace_at\nspring,laps,60\nblock,distance,900\n",
    }
    found = season(season_of, **tables)
    assert found.problem.run_in_raw[0].tolist() == [[0, 0], [0, 14], [0, 14]]
    told = [(one.of, one.what) for one in found.assumed if "run-in" in one.what]
    assert told == [("full", "its run-in adds no distance: its sessions do not give it")]


# --- what changes together


def test_those_that_may_follow_a_position_stand_in_the_order_of_their_names(season_of: SeasonOf) -> None:
    problem = season(
        season_of,
        slots="slot,part,pieces\nrings,ring,1\nblock,block,1\npiston,piston,1\nbolts,bolt,4\n",
        parts="part,price\nring,5\nblock,900\npiston,60\npiston-os,66\nbolt,1\n",
        lives="part,measure,replace_at\nblock,laps,200\n",
        catalog={
            "operations": "operation,role,name,price\nbore,block,bored,50\n",
            "service_steps": "part,step,operation,renew_with\nblock,1,bore,piston\n",
        },
        levels="level,rank\nall,1\n",
        positions="slot,level,renew_with\nrings,all,\nblock,all,rings bolts\npiston,all,rings\nbolts,all,\n",
    ).problem
    # Positions: rings 0, block 1, piston 2, bolts 3; the piston changes with the block's step.
    assert problem.along_from.tolist() == [0, 0, 3, 4, 4]
    assert problem.along.tolist() == [3, 2, 0, 0]


# --- cases of damage

HAZARDS = "hazard,carrier,chance,per\nover-rev,engine,0.01,laps\nfence,car,0.02,events\n"
DAMAGE = """\
slot,case,chance,hits,operations,cost,hours,engine,paid,stops,source
springs,dropped,0.25,block,hone press,12.50,30,,,,
springs,in two,0.5,pump,,,,,,no,
over-rev,bent,0.4,springs,,,,,,,
over-rev,gone,0.1,,,,,gone,750,yes,
fence,hose,1,pump,,8,1,,,,
"""
OPERATIONS = {"operations": "operation,role,name,price\nhone,block,,30\npress,spring,,4.25\n"}


def test_cases_are_numbered_by_position_then_by_hazard(season_of: SeasonOf) -> None:
    found = season(season_of, hazards=HAZARDS, damage=DAMAGE, catalog=OPERATIONS)
    problem = found.problem
    assert [(case.of, case.case) for case in found.cases] == [
        ("springs", "dropped"),
        ("springs", "in two"),
        ("springs/soft", "dropped"),
        ("springs/soft", "in two"),
        ("over-rev", "bent"),
        ("over-rev", "gone"),
        ("fence", "hose"),
    ]
    assert problem.case_from.tolist() == [0, 0, 2, 4, 4, 6, 7]
    assert problem.case_up_to.tolist() == pytest.approx([0.25, 0.75, 0.25, 0.75, 0.4, 0.5, 1])


def test_a_case_hits_every_alternate_and_a_lost_engine_all_that_is_in_it(season_of: SeasonOf) -> None:
    problem = season(season_of, hazards=HAZARDS, damage=DAMAGE, catalog=OPERATIONS).problem
    block, dry, soft, pump = np.eye(4, dtype=bool)
    springs_cases = [block, pump, block, pump]
    expected = [*springs_cases, dry | soft, block | dry | soft, pump]
    assert problem.case_hits.tolist() == [row.tolist() for row in expected]
    assert problem.case_wrecks.tolist() == [False] * 5 + [True, False]


def test_a_case_costs_its_operations_once_and_what_else_it_costs(season_of: SeasonOf) -> None:
    problem = season(season_of, hazards=HAZARDS, damage=DAMAGE, catalog=OPERATIONS).problem
    assert problem.case_cost.tolist() == [4675, 0, 4675, 0, 0, 0, 800]
    assert problem.case_paid.tolist() == [0, 0, 0, 0, 0, 75000, 0]
    assert problem.case_hours.tolist() == [30, 0, 30, 0, 0, 0, 1]


def test_a_case_stops_as_it_says_else_as_its_position_does(season_of: SeasonOf) -> None:
    damage = DAMAGE + "pump,leak,0.5,,,,,,,,\npump,burst,0.5,,,,,,,yes,\n"
    problem = season(season_of, hazards=HAZARDS, damage=damage, catalog=OPERATIONS).problem
    assert problem.case_stops.tolist() == [True, False, True, False, True, False, False, True, False]


def test_operations_are_in_the_scenarios_currency(season_of: SeasonOf) -> None:
    rate = '[[rate]]\ncurrency = "EUR"\nrate = 1.1\nsince = 2027-01-01\n'
    operations = {"operations": "operation,role,name,price,currency\nhone,block,,30,EUR\npress,spring,,4.25,\n"}
    found = season(season_of, hazards=HAZARDS, damage=DAMAGE, catalog=operations, scenario=rate)
    assert found.problem.case_cost[0] == 3300 + 425 + 1250


def test_a_case_of_a_slot_that_is_empty_asks_nothing(season_of: SeasonOf) -> None:
    found = season(season_of, damage="slot,case,chance,hits\nsprings,y,1,block\n")
    folder = found.files.folder
    with (folder / "pattern.toml").open("a", encoding="utf-8") as pattern:
        pattern.write('\n[[slot]]\nslot = "spare"\nrole = "spring"\noptional = true\n')
    with (folder / "positions.csv").open("a", encoding="utf-8") as positions:
        positions.write("spare,quick,engine,,,\n")
    (folder / "damage.csv").write_text(
        "slot,case,chance,hits\nspare,x,1,pump\npump,y,1,spare block\n", encoding="utf-8"
    )
    again = scenario_with(found).compiled
    assert again is not None
    assert [(case.of, case.case) for case in again.cases] == [("pump", "y")]
    assert again.problem.case_hits.tolist() == [[True, False, False, False]]


def test_inputs_without_a_source_are_assumed(season_of: SeasonOf) -> None:
    found = season(season_of, hazards=HAZARDS, damage=DAMAGE, catalog=OPERATIONS)
    told = {(one.of, one.what) for one in found.assumed}
    assert ("over-rev", "its chance has no source") in told
    assert ("springs: dropped", "its chance and bill have no source") in told
    sourced = season(season_of, hazards=HAZARDS.replace("per\n", "per,source\n").replace("laps\n", "laps,club\n"))
    assert [one.of for one in sourced.assumed if one.what == "its chance has no source"] == ["fence"]


# --- the simple form


def test_the_simple_form_has_hazards_and_rain_too(season_of: SeasonOf) -> None:
    found = season_of(
        calendar="event,date,laps,rain\none,2027-05-01,30,0.5\ntwo,2027-05-08,40,\n",
        services="service,price,every,measure,carrier\nfreshen,800,100,laps,engine\ntyres,90,50,laps,car\n",
        hazards="hazard,carrier,chance,per\nclaim,engine,0.1,events\nfence,car,0.02,laps\n",
        damage="slot,case,chance,hits,cost,engine,paid\n"
        "claim,claimed,1,,,gone,600\nfence,rim,0.5,tyres,45,,\nfence,bumper,0.5,,20,,\n",
    )
    problem = found.problem
    assert problem.rain.tolist() == [0.5, 0]
    assert problem.case_from.tolist() == [0, 0, 0, 1, 3]
    assert problem.case_hits.tolist() == [[True, False], [False, False], [False, True]]  # bumper before rim
    assert problem.case_cost.tolist() == [0, 2000, 4500]
    assert problem.hazard_use.tolist() == [[1, 30], [1, 40]]
    assert problem.scale.tolist() == [math.inf, math.inf]
    assert as_drawn(found, 1).due_at.tolist() == [100, 50]
    assert problem.life_key[0, 0].tolist() == list(named("engine", "freshen", "", "laps"))


# --- the state


def test_a_state_begins_with_nothing_worn_struck_or_paid(season_of: SeasonOf) -> None:
    found = season(season_of, hazards=HAZARDS, damage=DAMAGE, catalog=OPERATIONS)
    state = empty_state(found.problem, 2, 3, 12, traced=False)
    assert state.fails_at.shape == (2, 5)
    assert np.isinf(state.fails_at).all()
    assert state.hazard_left.tolist() == [[0, 0], [0, 0]]
    assert state.failures.shape == (6,)
    assert state.tally_event.shape == (4,)
    assert state.tally_month.shape == (12,)
    assert state.tally_cause.shape == (len(machine.CAUSES),)
    assert state.tally_line.shape == (4 + 4 * 2 + 1,)
    assert state.acted.shape == (3, 2, 3)
    assert state.struck_cases.shape == (3, 5)
    assert state.trace_age.shape == (0, 2, 5)
    assert state.lost is not found.problem.lost


def test_every_field_of_problem_and_state_is_filled_with_rows_in_line(season_of: SeasonOf) -> None:
    found = season(season_of, hazards=HAZARDS, damage=DAMAGE, catalog=OPERATIONS)
    kinds = {"Floats": np.float64, "Ints": np.int64, "Bools": np.bool_}
    for record in (found.problem, found.start):
        for name, kind in type(record).__annotations__.items():
            value = getattr(record, name)
            wanted = str(getattr(kind, "__forward_arg__", kind))
            if wanted in kinds:
                assert value.dtype == kinds[wanted], name
                assert value.flags.c_contiguous, name
            else:
                assert type(value).__name__ == wanted, name


# --- engines that are not there

THREE = """\
[[engine]]
name = "blue"
price = 0
[[engine]]
name = "red"
owned = false
price = 1500
sold = 900.50
[[engine]]
name = "green"
price = 2000
"""
NAMED = "event,date,laps,engine\none,2027-05-01,30,red\ntwo,2027-05-08,40,green\n"


ONE_SET: dict[str, Any] = {
    "calendar": NAMED,
    "slots": "slot,part,pieces\nblock,block,1\n",
    "parts": "part,price\nblock,900\n",
    "lives": "part,measure,replace_at\nblock,laps,200\n",
    "levels": "level,rank\nfull,1\n",
    "positions": "slot,level\nblock,full\n",
}


def test_an_engine_that_is_not_owned_is_left_out_with_what_is_in_it(season_of: SeasonOf) -> None:
    garage = "piece,part,engine,slot,laps\nmine,block,red,block,99\nother,block,green,block,50\n"
    found = season_of(**{**ONE_SET, "scenario": THREE, "garage": garage})
    assert found.carriers == ("blue", "green", "car")
    assert found.problem.named.tolist() == [-1, 1]
    assert found.start.age[:, 0].tolist() == [0, 50, 0]


def test_engines_are_bought_and_sold_on_opening_day(season_of: SeasonOf) -> None:
    found = season_of(**{**ONE_SET, "scenario": "opening = 2027-03-05\n" + THREE})
    day = date(2027, 3, 5)
    trades = [(one.engine, one.what, one.amount, one.date, one.place.line) for one in found.purchases]
    assert trades == [("green", "bought", 200_000, day, 15), ("red", "sold", -90_050, day, 10)]


def test_a_what_if_brings_an_engine_back(season_of: SeasonOf) -> None:
    found = season_of(**{**ONE_SET, "scenario": THREE})
    back = scenario_with(found, "scenario/engine/red/owned=true").compiled
    assert back is not None
    assert back.carriers == ("blue", "red", "green", "car")
    assert back.problem.named.tolist() == [1, 2]
    assert [(one.engine, one.what, one.amount) for one in back.purchases] == [
        ("red", "bought", 150_000),
        ("green", "bought", 200_000),
    ]


def test_the_first_engine_is_saved_for_what_counts(season_of: SeasonOf) -> None:
    found = season(season_of, scenario='[policy]\nwho_runs = "best saved"\nsave_for = 3\n')
    assert (found.problem.who_runs, found.problem.save_for) == (machine.BEST_SAVED, 3.0)
    assert season(season_of).problem.save_for == 2.0


# --- what-ifs by name


def test_variants_are_read_with_what_they_set(season_of: SeasonOf) -> None:
    variants = (
        '[[variant]]\nname = "long"\nset = ["calendar/one/laps=60", "scenario/policy/early=off"]\nnote = "more"\n'
    )
    found = season(season_of, scenario=variants)
    texts = ("calendar/one/laps=60", "scenario/policy/early=off")
    (variant,) = scenario_with(found).header.variants
    assert variant == Variant(name="long", set=texts, note="more", place=variant.place)
    changed = scenario_with(found, *texts).compiled
    assert changed is not None
    assert changed.problem.raw[1, 0] == 60


@pytest.mark.parametrize(
    ("path", "value", "field", "expected"),
    [
        ("calendar/one/rain", "30 %", "rain", [0.3, 0, 0]),
        ("calendar/one/weight", "2.5", "weight", [2.5, 1, 1]),
        ("levels/quick/sees", "1", "sees", None),
        ("hazards/fence/chance", "50 %", "hazard_mean", [-1 / math.log(0.99), -1 / math.log(0.5)]),
        ("damage/2/cost", "20", "case_cost", [5425, 0, 5425, 0, 0, 0, 800]),
        ("catalog/lives/2/warning", "0", "warning", [0, 0.1, 0.1, 0, 0]),
    ],
)
def test_a_what_if_reaches_every_new_column(
    season_of: SeasonOf, path: str, value: str, field: str, expected: list[float] | None
) -> None:
    found = season(season_of, hazards=HAZARDS, damage=DAMAGE, catalog=OPERATIONS)
    changed = scenario_with(found, f"{path}={value}").compiled
    assert changed is not None
    array = getattr(changed.problem, field)
    if expected is None:
        assert array[0, 0].tolist() == [0, 1, 1, 0]
    else:
        assert array.tolist() == pytest.approx(expected)


def test_two_problems_of_one_folder_are_alike_to_the_bit(season_of: SeasonOf, tmp_path: Path) -> None:
    found = season(season_of, hazards=HAZARDS, damage=DAMAGE, catalog=OPERATIONS)
    shutil.copytree(found.files.folder, tmp_path / "again")
    again, problems = read_scenario(tmp_path / "again")
    assert again is not None and again.compiled is not None, problems
    for name, value in found.problem._asdict().items():
        assert np.array_equal(value, getattr(again.compiled.problem, name)), name


def test_money_of_a_case_is_rounded_half_up_to_the_minor_unit(season_of: SeasonOf) -> None:
    damage = "slot,case,chance,cost\npump,leak,1,12.345\n"
    found = season(season_of, damage=damage)
    assert found.problem.case_cost.tolist() == [1235]
    assert found.cases[0].row.cost == Decimal("12.345")


def test_a_second_life_in_one_measure_has_a_name_of_its_own(season_of: SeasonOf) -> None:
    scenario = scenario_with(season(season_of))
    clause = Clause("cup", "T4", "pumps are dated", Place("rules-cup.toml", 7))
    sources = replace(scenario.sources, book=Book(dated=(DatedPart(clause, "pump", 90), DatedPart(clause, "pump", 60))))
    found, problems = compile_season(sources)
    assert found is not None, problems
    measures = ("days", "laps", "days 2", "days 3")
    assert found.problem.life_key[1, 3:].tolist() == [list(named("car", "pump", "", measure)) for measure in measures]
    assert as_drawn(found, 1).due_at[3:].tolist() == [400, 500, math.inf, math.inf]
    assert found.problem.scale[5:].tolist() == [math.inf, math.inf]


# --- one fault, one problem


@pytest.mark.parametrize(
    ("text", "code"),
    [
        ("scenario/engine/kart-two/price=cheap", "REA017"),  # garage.csv names the engine seven times
        ("levels/top-end/interval=-4", "REA018"),  # the rule book names the level
        ("services/tyres/price=dear", "REA017"),
    ],
)
def test_what_names_a_row_at_fault_is_no_second_problem(text: str, code: str) -> None:
    _, problems = read_scenario(Path("scenarios/kart-single"), [text])
    assert [(problem.code, problem.place.file) for problem in problems] == [(code, "--set 1")]


def test_a_flow_is_as_large_a_sum_as_any_other(season_of: SeasonOf) -> None:
    """Paid ten thousand million times over, it passes what the machine's whole numbers are to hold."""
    with pytest.raises(AssertionError, match="REA018"):
        season_of(
            calendar="event,date,laps\none,2027-05-01,100\n",
            services="service,price,every,measure,whole\nfuel,20000000000,1,laps,no\noil,1,1,laps,yes\n",
        )
