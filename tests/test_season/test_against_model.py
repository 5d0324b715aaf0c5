"""The machine against the model in SimPy that was written from its description: plans to the cent, drawn seasons too.

The model knows nothing but the JSON of the season. It draws by the published streams, so that season by season the
same numbers fall: a difference is a difference. It also draws by a generator of numpy, and then means are compared.
"""

from __future__ import annotations

import copy
import json
from collections.abc import Callable
from dataclasses import replace
from datetime import date
from decimal import Decimal
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from costplan.catalog import Operation
from costplan.problems import Place
from costplan.quantity import MEASURES
from costplan.rules.book import NO_BOOK, BarredWork, Book, Charge, Clause, DatedPart, EngineCap, LevelCap, PieceCap
from costplan.scenario import read_scenario
from costplan.season import Season, compile_season, machine, play_plan
from costplan.season.arrays import as_drawn
from costplan.season.drawn.drawing import Draws, draw, drawn_season, fixed_costs
from costplan.season.names import LADDERS
from costplan.season.work import work_of
from tests.season_model import Books, Generated, Streams, Work, play, read_work

SeasonOf = Callable[..., Season]
DEMOS = Path(__file__).parents[2] / "scenarios"

#: Eighteen events of all kinds in which everything breaks often, for two engines and a car.
CALENDAR = """\
event,date,kind,show,format,setup,engine,entry,travel,purse,level,gap_hours,rain,rain_from,weight
winter,2027-02-01,service,,,,,,,,full,900,,,
dyno,2027-03-01,test,,yard,,,50,0,0,,,,,
open,2027-03-13,race,,night,,,75,120,300,,,0.3,,
two,2027-03-20,race,,night,wet,,75,90,300,,,0.4,feature,
three,2027-03-27,race,,night,,B,75,90,301,,,0.2,,
show one,2027-04-02,race,show,night,,,130,300,250,,,0.1,,
show two,2027-04-03,race,show,night,wet,,0,50,250,,,0.3,heat,
show three,2027-04-04,race,show,night,,,0,50,900,,,0.2,feature,3
four,2027-04-17,race,,night,,,75,90,300,,,0.2,,
five,2027-04-18,practice,,yard,,,20,0,0,,,,,
break,2027-04-25,service,,,,,,,,quick,60,,,
six,2027-05-01,race,,night,,,75,90,300,,,0.2,,
seven,2027-05-08,race,,night,,A,75,90,300,,,0.2,,
eight,2027-05-15,race,,night,wet,,75,90,300,,,0.4,,
final one,2027-06-05,race,final,night,,,150,200,500,,,0.1,,2
final two,2027-06-06,race,final,night,,,0,50,1500,,,0.1,feature,2
last,2027-06-19,race,,night,,,75,90,300,,,0.1,,
"""
STRESS: dict[str, Any] = {
    "calendar": CALENDAR,
    "sessions": "format,session,laps,hours,rpm,fuel_per_lap [gal],starts,duty,result\n"
    "night,hot laps,8,0.1,6000,0.2,1,0.8,0\nnight,heat,12,0.2,6500,0.25,1,1,0.3\n"
    "night,feature,30,0.5,6800,0.27,2,1.1,0.7\nbench,warm,6,0.2,3000,0.1,1,0.5,\n"
    "yard,laps,25,0.4,6000,0.2,1,0.9,\n",
    "levels": "level,rank,carrier,interval,measure,dates,hours,labour,supplies,renews,checks,sees,run_in\n"
    "quick,1,engine,,,,3,15,2,,springs plugs,0.6,\n"
    "top,2,engine,180,laps,2027-05-08,20,90,11,gaskets,lifters springs cam,0.8,\n"
    "full,3,engine,420,laps,,150,400,60,rings,block bolts cam,0.9,bench\n"
    "side,1,car,,,,2,0,0,,pump,0.5,\n"
    "deep,2,car,9,events,,40,70,5,clutch,,,\n",
    "slots": "slot,part,pieces,alternate,serves\nblock,block,1,,\npistons,piston,4,,\nrings,ring,1,,\ncam,cam,1,,\n"
    "lifters,lifter,8,,\nsprings,spring,8,dry,\nsprings,spring,8,soft,wet\nbolts,bolt,10,,\ndamper,damper,1,,\n"
    "gaskets,gasket,1,,\nplugs,plug,4,,\npump,pump,1,,\nclutch,disc,2,,\ncoil,coil,1,,\n",
    "parts": "part,price,pack,core_charge,resale\nblock,900,1,150,120\npiston,61.25,2,0,3\nring,48,1,0,0\n"
    "cam,210,1,40,10\nlifter,9.5,3,1.5,0.25\nspring,11,4,0,1\nbolt,2.4,5,0,0\ndamper,180,1,0,25\n"
    "gasket,33,1,0,0\nplug,4.2,4,0,0\npump,95,1,20,5\ndisc,70,1,0,0\ncoil,55,1,0,0\n",
    "lives": "part,measure,replace_at,risk,low,likely,shape,warning,limit,rated_rpm,rpm_exponent\n"
    "block,laps,700,25 %,,,2,0.3,,,\npiston,laps,420,25 %,,,2.5,0.2,,6500,2\nring,laps,260,,,,2,,,,\n"
    "cam,laps,,,150,320,,0.3,,,\nlifter,laps,330,60 %,,,1.8,0.3,,,\nspring,laps,150,20 %,,,2.2,0.3,,6500,3\n"
    "bolt,openings,3,,,,2,,5,,\nbolt,laps,400,,,,3,0.5,,,\ndamper,days,,,,,,,75,,\n"
    "gasket,laps,500,50 %,,,1.5,,,,\nplug,starts,22,10 %,,,2,0.4,,,\npump,days,90,15 %,,,1.6,0.3,,,\n"
    "pump,hours,6,15 %,,,1.6,0.3,,,\ndisc,starts,40,10 %,,,2,,,,\ncoil,laps,600,15 %,,,1.2,,,,\n",
    "positions": "slot,level,carrier,renewal,factor,stops,renew_as,renew_with\nblock,full,engine,,,yes,set,\n"
    "pistons,full,engine,,,yes,set,rings\nrings,top,engine,,0.9,no,set,\n"
    "cam,top,engine,run to failure,,yes,set,lifters\nlifters,top,engine,,1.5,yes,piece,\n"
    "springs,quick,engine,,,yes,piece,\nbolts,full,engine,,,yes,set,\ndamper,top,engine,,,yes,set,\n"
    "gaskets,quick,engine,,,no,set,\nplugs,quick,engine,,,no,set,\npump,side,car,,,yes,set,\n"
    "clutch,deep,car,,,no,set,\ncoil,side,car,run to failure,,yes,set,\n",
    "services": "service,price,every,measure,used,hours,carrier,whole\nfuel,5.2,1,fuel [gal],0,0,engine,no\n"
    "tape,1.25,7,laps,0,0,car,no\noil,41,2,events,1,1,engine,yes\nfilter,12.5,130,laps,20,2,engine,yes\n"
    "tyres,220,2,events,0,0.5,car,yes\n",
    "hazards": "hazard,carrier,chance,per,kinds\nover-rev,engine,0.002,laps,\nclaim,engine,0.04,events,race\n"
    "fence,car,0.08,hours,\n",
    "damage": "slot,case,chance,hits,operations,cost,hours,engine,paid,stops\n"
    "springs,dropped,0.3,pistons lifters gaskets,hone,35.5,30,,,\nsprings,one alone,0.3,,,4,,,,no\n"
    "block,cracked,0.2,,,250,240,scrapped,,\ncam,metal,0.5,lifters block pump,,20,9,,,\n"
    "lifters,cam too,0.3,cam springs,,0,0,,,\nplugs,fouled,0.5,,,3,,,,yes\npump,hot,0.4,gaskets rings,,15,5,,,\n"
    "clutch,slips,0.4,,,5,0,,,yes\nover-rev,bent,0.5,springs lifters,,40,2,,,yes\nover-rev,looked at,0.3,,,9,4,,,\n"
    "claim,gone,0.6,,,0,120,gone,750,\nfence,bent,0.7,clutch coil,,60,3,,,yes\n",
    "garage": "piece,part,engine,slot,alternate,step,count,installed,laps,hours,openings,starts\n"
    "a-block,block,A,block,,1,,2026-03-01,310,4,2,20\na-cam,cam,A,cam,,,,2026-03-01,120,2,1,9\n"
    "b-block,block,B,block,,,,2026-06-01,420,6,3,31\nb-damper,damper,B,damper,,,,2027-01-10,90,1,1,9\n"
    "b-bolts,bolt,B,bolts,,,,2026-06-01,100,2,2,9\ncar-pump,pump,car,pump,,,,2026-11-01,200,3,0,12\n"
    "box,spring,,,,,6,,0,0,0,0\nolder,cam,,,,,1,,80,1,1,4\nspare-block,block,,,,1,1,,60,1,1,4\n"
    "spare-pump,pump,,,,,1,2026-12-01,30,1,0,2\nlifter-box,lifter,,,,,5,,0,0,0,0\n",
    "catalog": {
        "operations": "operation,role,price,price_date\nhone,block,15,2027-01-01\nbore,block,85,2027-01-01\n",
        "service_steps": "role,step,operation,factor,renew_with,parts,mends\nblock,1,hone,0.9,ring,,no\n"
        "block,2,bore,0.8,piston ring,big-piston,yes\n",
        "big": "part,role,supplier,price,price_date,pack\nbig-piston,piston,shop,66.66,2027-01-01,2\n",
        "kits": "kit,supplier,price,price_date\ntop kit,shop,77.77,2027-01-01\nfull kit,shop,390,2027-01-01\n",
        "kit_contains": "kit,part,pieces\ntop kit,ring,1\ntop kit,gasket,1\ntop kit,plug,4\n"
        "full kit,ring,1\nfull kit,piston,4\nfull kit,lifter,8\nfull kit,bolt,10\n",
        "prices": "part,supplier,date,price,least\nspring,rival,2027-04-10,9.5,3\nring,shop,2027-05-01,55,\n",
    },
}
POLICY = '[policy]\nearly = {early}\nwho_runs = "{who}"\nswap_hours = 1.5\nwhen_barred = "{barred}"\n'
ENGINES = (
    '[[engine]]\nname = "A"\nsince = {{ top = 100, full = 200 }}\ndone = {{ top = 1 }}\n[[engine]]\nname = "B"\n'
    "since = {{ top = 20, full = 300 }}\n[car]\nsince = {{ deep = 4 }}\n"
)


def stress(
    season_of: SeasonOf,
    *,
    book: Book = NO_BOOK,
    early: str = '"worth"',
    who: str = "least used",
    barred: str = "run on",
    turn: Callable[[Season], Season] | None = None,
    **tables: Any,
) -> Season:
    """The season in which everything happens, by policies and under a book; `turn` makes another one of it."""
    scenario = (POLICY + ENGINES).format(early=early, who=who, barred=barred)
    season: Season | None = season_of(**{**STRESS, "scenario": scenario, **tables})
    assert season is not None
    if book is not NO_BOOK:
        read, problems = read_scenario(season.files.folder)
        assert read is not None, problems
        season, problems = compile_season(replace(read.sources, book=book))
        assert season is not None, problems
    return (turn or waiting)(season)


def waiting(season: Season) -> Season:
    """Parts and kits that nobody ordered are there at once, in hours or in days, and later in the year sooner."""
    runs = np.arange(len(season.runs) + 1)
    items = np.array([(0.0, 6.0, 30.0, 130.0, 400.0)[n % 5] for n in range(len(season.items))])
    kits = np.array([(200.0, 50.0)[n % 2] for n in range(len(season.kits))])
    sooner = np.where(runs < 30, 1.0, 0.5)
    leads, kit_leads = items[:, None] * sooner, kits[:, None] * sooner
    return replace(season, problem=season.problem._replace(lead_hours=leads, kit_lead=kit_leads))


def by_dates(season: Season) -> Season:
    """Engines are opened at dates alone, unless the date is too soon after an opening; the car as ever."""
    season = waiting(season)
    calls = np.array([spot.on_car for spot in season.spots])
    rest, called, measure = (getattr(season.problem, name).copy() for name in ("rest", "called", "measure"))
    rest[0, :3] = 3, 90, 200  # starts of the quick level, which has no interval, and laps
    measure[0, 0] = list(MEASURES).index("starts")
    for k, every in enumerate((4, 7, 15)):
        called[0, k, every::every] = True
    return replace(season, problem=season.problem._replace(calls=calls, rest=rest, called=called, measure=measure))


def later(season: Season) -> Season:
    """The books open before the first show, with something broken, overdue and in the workshop."""
    season = by_dates(season)
    begin = next(g for g, run in enumerate(season.runs) if run.event.event == "show one")
    clock, start = season.problem.clock, copy.deepcopy(season.start)
    slots = [spot.slot for spot in season.spots]
    a, b, car = range(3)
    for slot in ("springs", "gaskets"):
        start.broken[a, slots.index(slot)] = True
        start.n_broken[a] += 1
    start.installed[a, slots.index("springs")], start.installed[b, slots.index("plugs")] = 3, 1
    start.overdue[a, 0, 1] = start.overdue[car, LADDERS.index("car"), 1] = True
    start.idle_since[:] = clock[begin] - 160, clock[begin] - 30, clock[begin] - 158
    start.ready_at[:] = clock[begin] - 150, clock[begin + 3] + 1, -np.inf
    start.total_use[:] = 5.5, 3, 8.5
    for name in ("age", "since", "step", "item", "value", "worked"):
        getattr(start, f"trace_{name}")[begin - 1] = getattr(start, name)
    start.trace_raw[begin - 1] = start.raw_age
    return replace(season, problem=season.problem._replace(begin=begin), start=start)


def clause(rule: str, since: date | None = None, until: date | None = None) -> Clause:
    return Clause("cup", rule, f"what {rule} says", Place("rules-cup.toml", 7), since, until)


def hones(operation: Operation) -> bool:
    return operation.operation == "hone"


def charge(per: Any, amount: str, level: str = "") -> Charge:
    return Charge(clause(f"fee per {per}"), Decimal(amount), "USD", per, level)


#: A book with every bond that the machine knows.
BOOK = Book(
    level_caps=(
        LevelCap(clause("seals"), "top", 2, each_engine=True, in_life=True),
        LevelCap(clause("rebuilds", since=date(2027, 4, 1)), "full", 2, each_engine=False, in_life=False),
    ),
    engine_caps=(EngineCap(clause("engines", since=date(2027, 4, 10)), 1),),
    piece_caps=(
        PieceCap(clause("tyres"), ("tyres",), 1, each_event=True),
        PieceCap(clause("valve gear"), ("springs", "lifters"), 60, each_event=False),
        PieceCap(clause("rings", since=date(2027, 5, 1)), ("rings",), 2, each_event=False),
    ),
    charges=(
        charge("opening", "12.5", "top"),
        charge("swap", "40"),
        charge("event", "7"),
        charge("race", "3"),
        charge("month", "2"),
        charge("season", "30"),
    ),
    barred=(BarredWork(clause("no honing", until=date(2027, 4, 20)), ("block",), hones),),
    dated=(DatedPart(clause("coils", since=date(2027, 4, 1)), "coil", 70.0),),
)
VARIANTS: dict[str, dict[str, Any]] = {
    "worth, least used": {},
    "off": {"early": '"off"'},
    "share, best saved": {"early": "0.7", "who": "best saved"},
    "first ready": {"who": "first ready"},
    "book, run on": {"book": BOOK},
    "book, change engine": {"book": BOOK, "barred": "change engine", "who": "first ready"},
    "book, stop": {"book": BOOK, "barred": "stop", "who": "best saved"},
    "book, share": {"book": BOOK, "early": "0.6", "barred": "change engine"},
    "dates": {"turn": by_dates},
    "dates, off, first ready": {"turn": by_dates, "early": '"off"', "who": "first ready"},
    "dates, book, stop": {"turn": by_dates, "book": BOOK, "barred": "stop"},
    "dates, book, change engine": {"turn": by_dates, "book": BOOK, "barred": "change engine"},
    "later": {"turn": later},
    "later, best saved": {"turn": later, "who": "best saved"},
    "later, book, run on": {"turn": later, "book": BOOK},
    "later, book, stop": {"turn": later, "book": BOOK, "barred": "stop", "early": "0.7"},
}


def demo(name: str) -> Season:
    scenario, problems = read_scenario(DEMOS / name)
    assert scenario is not None, problems
    season, problems = scenario.season()
    assert season is not None, problems
    return season


def work(season: Season, problem: machine.Problem | None = None) -> Work:
    """What an outside program reads: the JSON as text and back."""
    return read_work(json.loads(json.dumps(work_of(season, problem), allow_nan=False)))


def told_by_machine(season: Season, state: machine.State) -> dict[str, Any]:
    """What a season of the machine came to, in the words of the model; money in minor units."""
    fixed, spots = fixed_costs(season, season.problem), [spot.slot for spot in season.spots]
    names = [*spots, *(hazard.hazard for hazard in season.hazards)]
    cash = state.tally_event + fixed.event
    return {
        "cash": cash.tolist(),
        "causes": dict(zip(machine.CAUSES, (state.tally_cause + fixed.cause).tolist(), strict=True)),
        "wear": int(cash.sum()) - fixed.lasting + int(state.used_up[0]),
        "ran": {g: season.carriers[c] for g, c in enumerate(state.ran) if c >= 0 and not state.lost[g]},
        "missed": {g for g, c in enumerate(state.ran) if c == -1 and not state.lost[g]},
        "stopped": set(np.flatnonzero(state.stopped).tolist()),
        "rained": {g for g, c in enumerate(state.ran) if c != machine.OVER and state.lost[g]},
        "failures": dict(zip(names, state.failures.tolist(), strict=True)),
        "hits": dict(zip(spots, state.hits.tolist(), strict=True)),
        "finds": dict(zip(spots, state.finds.tolist(), strict=True)),
    }


def told_by_model(books: Books) -> dict[str, Any]:
    """The same of a season of the model."""
    spots = [row["position"] for row in books.work.json["positions"]]
    names = [*spots, *(hazard.name for hazard in books.work.hazards)]
    return {
        "cash": books.cash,
        "causes": {cause: books.causes[cause] for cause in machine.CAUSES},
        "wear": books.wear,
        "ran": books.ran,
        "missed": books.missed,
        "stopped": books.stopped,
        "rained": books.rained,
        "failures": {name: books.failures[name] for name in names},
        "hits": {name: books.hits[name] for name in spots},
        "finds": {name: books.finds[name] for name in spots},
    }


# Plans


@pytest.mark.parametrize("name", ["kart-single", "oval-v8"])
def test_the_plan_of_a_demo_is_the_models_to_the_cent(name: str) -> None:
    season = demo(name)
    assert told_by_machine(season, play_plan(season)) == told_by_model(play(work(season)))


@pytest.mark.parametrize("variant", VARIANTS)
def test_the_plan_of_a_season_of_everything_is_the_models_to_the_cent(season_of: SeasonOf, variant: str) -> None:
    season = stress(season_of, **VARIANTS[variant])
    assert told_by_machine(season, play_plan(season)) == told_by_model(play(work(season)))


# Drawn seasons, one by one


def paired(season: Season, seasons: int, seed: int = 1) -> list[Books]:
    """Seasons of the model, each of which the machine came to as well with the same numbers drawn."""
    drawn = as_drawn(season, seed)
    read, found = work(season, drawn), []
    for number in range(seasons):
        books = play(read, Streams(seed, number))
        assert told_by_model(books) == told_by_machine(season, drawn_season(season, number, seed)), number
        found.append(books)
    return found


@pytest.mark.parametrize(("name", "seasons"), [("kart-single", 40), ("oval-v8", 15)])
def test_drawn_seasons_of_a_demo_are_the_models_to_the_cent(name: str, seasons: int) -> None:
    paired(demo(name), seasons)


@pytest.mark.parametrize("variant", VARIANTS)
def test_drawn_seasons_of_everything_are_the_models_to_the_cent(season_of: SeasonOf, variant: str) -> None:
    paired(stress(season_of, **VARIANTS[variant]), 40)


def test_in_the_season_of_everything_everything_happens(season_of: SeasonOf) -> None:
    seasons = paired(stress(season_of), 40, seed=2)

    def ever(counts: str) -> set[str]:
        return {name for books in seasons for name, count in getattr(books, counts).items() if count}

    positions = {*work(stress(season_of)).positions} - {"oil", "filter", "tyres"}
    assert ever("failures") == positions - {"damper"} | {"over-rev", "claim", "fence"}
    assert ever("finds") >= {"springs", "lifters", "plugs", "cam", "pump"}
    assert ever("hits") >= {"block", "pistons", "rings", "lifters", "gaskets", "clutch", "coil"}
    assert ever("causes") >= {*machine.CAUSES} - {"fee"}
    for runs in ("missed", "stopped", "rained"):
        assert any(getattr(books, runs) for books in seasons)
    assert all({"A", "B"} <= {*books.ran.values()} for books in seasons)
    waits = [f"{what} waits, {cause}" for what in ("a pack", "a kit") for cause in ("failure", "damage", "found")]
    assert ever("happened") >= {*waits, "an opening older after the last run", "run in after the last run"}


def test_in_a_season_by_dates_they_alone_open_and_some_are_passed_over(season_of: SeasonOf) -> None:
    seasons = paired(stress(season_of, turn=by_dates), 10, seed=2)
    for what in ("a date is passed over", "what is due does not call"):
        assert all(books.happened[what] for books in seasons)


def test_a_season_begun_later_plays_what_is_left_of_it(season_of: SeasonOf) -> None:
    season = stress(season_of, turn=later)
    begin, slots = season.problem.begin, [spot.slot for spot in season.spots]
    state = drawn_season(season, 0)
    assert begin > 0
    assert state.ran[:begin].tolist() == [machine.OVER] * begin
    # The levels that were overdue are done, on the car first, and what was broken is put right; B is in the workshop.
    opened = state.openings[state.openings[:, 0] == begin].tolist()
    assert [(season.carriers[c], season.ladders[t][k].level) for _, c, t, k in opened] == [
        ("car", "deep"),
        ("A", "top"),
    ]
    renewed = state.renewals[: state.n_renewals[0]]
    first = {(row[1], slots[row[2]]): machine.CAUSES[row[3]] for row in renewed[renewed[:, 0] == begin].tolist()}
    assert first[0, "springs"] == first[0, "gaskets"] == "failure"
    for books in paired(season, 10, seed=2):
        out = season.problem.clock < season.start.ready_at[1]
        assert all(books.ran.get(g) != "B" for g in np.flatnonzero(out).tolist())
        assert min(books.ran) >= begin
        assert not any(books.cash[: season.problem.event[begin]])


# Drawn seasons in the mean

#: Seasons of the model, and of the machine.
MODEL, MACHINE = 200, 4000
#: How many standard errors of their difference two means may lie apart.
ERRORS = 4.0


def means(columns: np.ndarray[Any, np.dtype[np.float64]]) -> tuple[Any, Any]:
    """Means and their standard errors, [n, k] to [k] each; what was rare counts as a Poisson number at the least."""
    mean = columns.mean(axis=0)
    return mean, np.sqrt(np.maximum(columns.var(axis=0, ddof=1), np.abs(mean)) / len(columns))


def each_of(found: list[Books], draws: Draws) -> dict[str, tuple[Any, Any]]:
    """By figure: what each season of the model came to, [n, k], and the mean of the machine, [k]."""
    read, seasons = found[0].work, draws.seasons
    spots = [row["position"] for row in read.json["positions"]]
    names = [*spots, *(hazard.name for hazard in read.hazards)]
    events = range(len(read.events))
    return {
        "cash": ([[books.total] for books in found], draws.cash.mean(keepdims=True)),
        "DNFs": ([[e in books.events(books.stopped) for e in events] for books in found], draws.stopped / seasons),
        "missed": ([[e in books.events(books.missed) for e in events] for books in found], draws.missed / seasons),
        "rained": ([[e in books.events(books.rained) for e in events] for books in found], draws.rained / seasons),
        "lost": ([[books.results_lost()] for books in found], draws.lost.mean(keepdims=True)),
        "failures": ([[books.failures[name] for name in names] for books in found], draws.failures / seasons),
        "hits": ([[books.hits[name] for name in spots] for books in found], draws.hits / seasons),
        "finds": ([[books.finds[name] for name in spots] for books in found], draws.finds / seasons),
    }


def apart(found: list[Books], draws: Draws) -> list[tuple[str, int, float, float]]:
    """The figures whose means lie too far apart, with both."""
    far = []
    for figure, (columns, machines) in each_of(found, draws).items():
        mean, error = means(np.array(columns, dtype=np.float64))
        error = np.maximum(error, np.sqrt(np.abs(machines) / len(found)) if figure != "cash" else 0)
        bound = ERRORS * error * np.sqrt(1 + len(found) / draws.seasons) + 1e-12
        far += [(figure, k, mean[k], machines[k]) for k in np.flatnonzero(np.abs(mean - machines) > bound).tolist()]
    return far


@pytest.mark.parametrize("name", ["kart-single", "oval-v8", "everything"])
def test_with_numbers_of_its_own_the_model_comes_to_the_same_means(season_of: SeasonOf, name: str) -> None:
    season = stress(season_of) if name == "everything" else demo(name)
    read = work(season, as_drawn(season, 1))
    found = [play(read, Generated(np.random.default_rng([7, number]))) for number in range(MODEL)]
    assert apart(found, draw(season, MACHINE, seed=1)) == []


def test_a_model_of_another_season_lies_apart(season_of: SeasonOf) -> None:
    season, other = stress(season_of), stress(season_of, hazards=STRESS["hazards"].replace("0.04", "0.4"))
    read = work(other, as_drawn(other, 1))
    found = [play(read, Generated(np.random.default_rng([7, number]))) for number in range(MODEL)]
    assert {"cash", "failures"} <= {row[0] for row in apart(found, draw(season, MACHINE, seed=1))}
