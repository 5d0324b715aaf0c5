"""The season as JSON: plain values that its published schema describes, and that say what the machine is given."""

from __future__ import annotations

import copy
import json
from collections.abc import Callable, Iterator
from dataclasses import replace
from pathlib import Path
from typing import Any

import jsonschema
import pytest

from costplan.quantity import MEASURES
from costplan.scenario import read_scenario
from costplan.season import Season
from costplan.season.arrays import as_drawn
from costplan.season.machine import draws
from costplan.season.work import schema, work_of
from tests.season_model import Streams

SeasonOf = Callable[..., Season]
Json = dict[str, Any]
DEMOS = Path(__file__).parents[2] / "scenarios"
VALIDATOR = jsonschema.Draft202012Validator(schema(), format_checker=jsonschema.FormatChecker())

CALENDAR = """\
event,date,format,setup,entry,travel,purse,rain,rain_from,weight
one,2027-05-01,night,,75,20,300,0.25,feature,
two,2027-05-02,night,wet,75,20,300,,,2
"""
ENGINE: Json = {
    "calendar": CALENDAR,
    "sessions": "format,session,laps,fuel_per_lap [L],duty,result\nnight,heat,10,0.5,1,0.25\n"
    "night,feature,30,0.5,1.5,0.75\n",
    "slots": "slot,part,pieces,alternate,serves\nblock,block,1,,\nsprings,spring,4,dry,\nsprings,spring,4,soft,wet\n",
    "parts": "part,price,pack,core_charge,resale\nblock,900,1,150,300\nspring,10.50,2,0,1\n",
    "lives": "part,measure,replace_at,risk,shape,warning,limit\nblock,laps,200,5 %,2,0.25,\nspring,laps,60,,3,,90\n",
    "levels": "level,rank,interval,measure,hours,labour,supplies,checks,sees,renews\n"
    "quick,1,,,3,25,5,springs,0.5,\nfull,2,100,laps,20,100,20,block,0.3,springs\n",
    "positions": "slot,level,renewal,stops,renew_as\nblock,full,run to failure,yes,\nsprings,quick,,no,piece\n",
    "services": "service,price,every,measure,whole\nfuel,2,1,fuel [L],no\noil,41,2,events,yes\n",
    "hazards": "hazard,carrier,chance,per\nclaim,engine,0.1,events\n",
    "damage": "slot,case,chance,hits,cost,hours,engine,paid,stops\nsprings,dropped,0.25,block,35.5,30,,,\n"
    "claim,gone,0.5,,10,0,gone,750,yes\n",
    "costs": "cost,amount,per,date\nlicence,225,season,2027-04-02\n",
    "garage": "piece,part,engine,slot,count,step,laps\nold,block,engine,block,,1,50\nbox,spring,,,6,,0\n"
    "spare,block,,,1,,40\n",
    "scenario": '[[engine]]\nname = "engine"\nsince = { full = 30 }\n',
    "catalog": {
        "operations": "operation,role,price,price_date\nhone,block,15,2027-01-01\nbore,block,85,2027-01-01\n",
        "service_steps": "role,step,operation,factor,renew_with,mends\nblock,1,hone,0.9,,no\n"
        "block,2,bore,0.8,spring,yes\n",
        "kits": "kit,supplier,price,price_date\nspring kit,shop,37,2027-01-01\n",
        "kit_contains": "kit,part,pieces\nspring kit,spring,4\n",
    },
}


def demo(name: str) -> Season:
    scenario, problems = read_scenario(DEMOS / name)
    assert scenario is not None, problems
    season, problems = scenario.season()
    assert season is not None, problems
    return season


def plain(work: Json) -> Json:
    """Through text and back; NaN, infinities and numbers that are not Python's own do not pass."""
    back: Json = json.loads(json.dumps(work, allow_nan=False))
    return back


def one(rows: list[Json], **where: Any) -> Json:
    (found,) = [row for row in rows if all(row[name] == value for name, value in where.items())]
    return found


# The schema


def nodes(node: Any, path: str = "") -> Iterator[tuple[str, Json]]:
    """Every schema of a property inside a schema, with its path."""
    for name, child in node.get("properties", {}).items():
        yield f"{path}/{name}", child
        yield from nodes(child, f"{path}/{name}")
    if "items" in node:
        yield from nodes(node["items"], f"{path}/*")


def test_the_schema_is_one_and_describes_every_property() -> None:
    found = schema()
    jsonschema.Draft202012Validator.check_schema(found)
    assert found["properties"]["name"]["const"] == "costplan-season-work"
    parts = [("", found), *found["$defs"].items()]
    described = [(path, child.get("description", "")) for name, part in parts for path, child in nodes(part, name)]
    assert len(described) > 150
    assert [path for path, text in described if not text.strip()] == []


def test_the_schema_leaves_nothing_open_and_nothing_out() -> None:
    found = schema()
    parts = [found, *found["$defs"].values()]
    objects = [node for part in parts for node in (part, *(child for _, child in nodes(part)))]
    objects += [node["items"] for node in objects if node.get("type") == "array"]
    objects = [node for node in objects if node.get("type") == "object"]
    assert len(objects) > 30
    for node in objects:
        assert node["additionalProperties"] is False
        assert node["required"] == list(node["properties"])


@pytest.mark.parametrize("name", ["kart-single", "oval-v8"])
def test_the_demos_meet_the_schema_planned_and_drawn(name: str) -> None:
    season = demo(name)
    for work in (work_of(season), work_of(season, as_drawn(season, 5))):
        assert plain(work) == work
        VALIDATOR.validate(work)


@pytest.mark.parametrize(
    "tables",
    [
        ENGINE,
        {"calendar": "event,date,laps\none,2027-05-01,30\n"},
        {
            "calendar": "event,date,laps\none,2027-05-01,30\n",
            "services": "service,price,every,measure,carrier\noil,60,2,events,car\n",
        },
    ],
    ids=["engine", "nothing", "services"],
)
def test_small_seasons_meet_the_schema(season_of: SeasonOf, tables: Json) -> None:
    work = work_of(season_of(**tables))
    assert plain(work) == work
    VALIDATOR.validate(work)


@pytest.mark.parametrize(
    ("path", "value"),
    [
        (("events", 0, "purse"), 300.5),
        (("events", 0, "rain"), 1.5),
        (("items", 0, "prices", 0), "900"),
        (("positions", 0, "lives", 0, "ages_by"), "laps"),
        (("positions", 0, "lives", 0, "shape"), 0),
        (("runs", 0, "date"), "May 1"),
        (("version",), "2.0"),
        (("policies", "early"), 0),
        (("policies", "more"), 1),
    ],
)
def test_the_schema_refuses_what_is_something_else(season_of: SeasonOf, path: tuple[Any, ...], value: Any) -> None:
    work = copy.deepcopy(work_of(season_of(**ENGINE)))
    at: Any = work
    for name in path[:-1]:
        at = at[name]
    at[path[-1]] = value
    assert [list(fault.absolute_path) for fault in VALIDATOR.iter_errors(work)] in ([list(path)], [list(path[:-1])])


# What it says


def test_events_and_runs_stand_by_their_names(season_of: SeasonOf) -> None:
    work = work_of(season_of(**ENGINE))
    assert work["events"][0] == {
        "event": "one",
        "date": "2027-05-01",
        "kind": "race",
        "month": "2027-05",
        "weight": 1.0,
        "rain": 0.25,
        "rain_from": 1,
        "cost": 9500,
        "fee": 0,
        "purse": 30000,
    }
    # one hour between the sessions, fourteen between the nights
    assert [(run["event"], run["session"], run["gap_hours"], run["clock_hours"]) for run in work["runs"]] == [
        ("one", "heat", None, 0.0),
        ("one", "feature", 1.0, 1.0),
        ("two", "heat", 14.0, 15.0),
        ("two", "feature", 1.0, 16.0),
    ]
    assert [run["result"] for run in work["runs"]] == [0.25, 0.75, 0.25, 0.75]
    assert one(work["runs"][1]["use"], measure="laps")["use"] == 30.0
    assert one(work["measures"], measure="laps") == {"measure": "laps", "unit": "1", "use_before": [0, 10, 40, 50, 80]}
    # 5 and 15 litres at 2.00
    assert work["flows"] == [{"service": "fuel", "by_run": [1000, 3000, 1000, 3000], "by_event": [4000, 4000]}]
    assert one(work["fixed"], what="licence") == {
        "date": "2027-04-02",
        "month": "2027-04",
        "event": "one",
        "what": "licence",
        "cause": "fixed",
        "amount": 22500,
        "cash_only": False,
    }


def test_a_position_has_its_lives_path_and_cases(season_of: SeasonOf) -> None:
    work = work_of(season_of(**ENGINE))
    block = one(work["positions"], position="block")
    assert (block["level"], block["item"], block["stops"], block["as_piece"]) == ("full", "block", True, False)
    (life,) = block["lives"]
    assert (life["life"], life["ages_by"], life["renew_at"], life["limit"]) == ("laps", "runs", None, None)
    # the feature counts 1.5 laps a lap
    assert (life["duty_before"], life["raw_before"]) == ([0, 10, 55, 65, 110], [0, 10, 40, 50, 80])
    assert [(step["operation"], step["cost"], step["factor"], step["mends"]) for step in block["steps"]] == [
        ("hone", 1500, 0.9, False),
        ("bore", 8500, 0.8, True),
    ]
    assert block["steps"][1]["renews"] == ["springs", "springs/soft"]
    # one life, then 0.9 and 0.8 of it
    assert [(row["ahead"], row["whole"]) for row in block["worth"]] == [
        (pytest.approx(1.7), pytest.approx(2.7)),
        (pytest.approx(0.8), pytest.approx(2.7)),
        (0.0, pytest.approx(2.7)),
    ]
    soft = one(work["positions"], position="springs/soft")
    assert (soft["slot"], soft["alternate"], soft["serves"]) == ("springs", "soft", [False, False, True, True])
    assert soft["lives"][0]["limit"] == 90.0
    assert soft["lives"][0]["duty_before"] == [0, 0, 0, 10, 55]
    assert soft["cases"] == [
        {
            "case": "dropped",
            "up_to": 0.25,
            "hits": ["block"],
            "wrecks": False,
            "cost": 3550,
            "paid": 0,
            "hours": 30.0,
            "stops": False,
        }
    ]
    (claim,) = work["hazards"]
    assert (claim["carrier"], claim["use"], claim["cases"][0]["paid"]) == ("engine", [0, 1, 0, 1], 75000)


def test_levels_items_and_the_opening_state_are_told(season_of: SeasonOf) -> None:
    work = work_of(season_of(**ENGINE))
    quick, full = one(work["ladders"], ladder="engine")["levels"]
    assert (quick["interval"], quick["measure"], quick["cost"], quick["labour"]) == (None, None, 3000, 2500)
    assert (full["interval"], full["measure"], full["renews"]) == (100.0, "laps", ["springs", "springs/soft"])
    assert {seen["position"]: seen["chance"] for seen in full["sees"]} == {
        "block": 0.3,
        "springs": 0.5,
        "springs/soft": 0.5,
    }
    spring = one(work["items"], item="spring")
    assert (spring["pack"], spring["prices"], spring["resale"]) == (2, [1050] * 5, 100)
    assert work["kits"][0]["contains"] == [{"item": "spring", "pieces": 4}]
    opening = work["opening"]
    block = one(opening["positions"], position="block")
    assert (block["value"], block["steps_done"], block["worked"]) == (90000, 1, 1500)
    assert block["ages"] == [{"life": "laps", "age": 50.0, "raw": 50.0}]
    assert one(opening["levels"], level="full")["since"] == 30.0
    # six of ten at 10.50 for two
    assert opening["stock"] == [{"item": "spring", "pieces": 6, "value": 3150}]
    (used,) = opening["used_sets"]
    assert (used["item"], used["value"], used["steps_done"]) == ("block", 90000, 0)
    assert used["ages"] == [{"position": "block", "life": "laps", "age": 40.0}]


def test_what_waits_goes_by_dates_and_begins_later_is_told(season_of: SeasonOf) -> None:
    parts = "part,price,pack,core_charge,resale,lead_days\nblock,900,1,150,300,30\nspring,10.50,2,0,1,2\n"
    kits = {**ENGINE["catalog"], "kits": "kit,supplier,price,price_date,lead_days\nspring kit,shop,37,2027-01-01,5\n"}
    fetched = "[policy]\nfetch_days = 3\n" + ENGINE["scenario"]
    found = season_of(**{**ENGINE, "parts": parts, "catalog": kits, "scenario": fetched})
    work = work_of(found)
    # Two days from the supplier; thirty, and five, but three by express.
    assert one(work["items"], item="spring")["lead_hours"] == [48.0] * 5
    assert one(work["items"], item="block")["lead_hours"] == [72.0] * 5
    assert work["kits"][0]["lead_hours"] == [72.0] * 5
    assert work["begin"] == 0
    assert work["opening"]["carriers"] == [
        {"carrier": name, "idle_since": None, "ready_at": None, "total_use": 0.0} for name in ("engine", "car")
    ]
    state, rest, calls = copy.deepcopy(found.start), found.problem.rest.copy(), found.problem.calls.copy()
    measure = found.problem.measure.copy()
    rest[0, 0], measure[0, 0], calls[0] = 2, list(MEASURES).index("events"), False
    state.broken[0, 0], state.n_broken[0], state.installed[0, 0], state.overdue[0, 0, 1] = True, 1, 2, True
    state.idle_since[0], state.ready_at[0], state.total_use[0] = 1, 30, 1.5
    problem = found.problem._replace(begin=2, rest=rest, calls=calls, measure=measure)
    later = work_of(replace(found, problem=problem, start=state))
    VALIDATOR.validate(later)
    quick, full = one(later["ladders"], ladder="engine")["levels"]
    assert (quick["interval"], quick["measure"], quick["rest"]) == (None, "events", 2.0)
    assert (full["measure"], full["rest"]) == ("laps", 0.0)
    assert {position["position"] for position in later["positions"] if not position["calls"]} == {"block"}
    assert later["begin"] == 2
    first, *_ = later["opening"]["carriers"]
    assert first == {"carrier": "engine", "idle_since": 1.0, "ready_at": 30.0, "total_use": 1.5}
    block = one(later["opening"]["positions"], position="block")
    assert (block["broken"], block["installed"]) == (True, 2)
    assert {level["level"] for level in later["opening"]["levels"] if level["overdue"]} == {"full"}
    # The licence of April stands before what is ahead.
    assert one(later["fixed"], what="licence")["event"] == "two"


def test_a_plan_and_a_drawn_season_differ_in_what_is_said_of_the_draws_alone(season_of: SeasonOf) -> None:
    season = season_of(**ENGINE)
    planned, drawn = work_of(season), work_of(season, as_drawn(season, 9))
    assert (planned.pop("drawn"), planned.pop("seed")) == (False, 0)
    assert (drawn.pop("drawn"), drawn.pop("seed")) == (True, 9)
    assert planned == drawn


def test_the_numbers_are_drawn_as_the_json_says() -> None:
    """The model's own generator, written from the text of `draws`, against the machine's."""
    names = [("blue", "springs", "soft", "laps"), ("blue", "springs", ""), ("open",), ("car", "fence")]
    for number, name in enumerate(names, start=1):
        for n in (0, 3, 512):
            expected = draws.uniform(11, number, 42, *draws.named(*name), n)
            assert Streams(11, 42).uniform(number, name, n) == expected
