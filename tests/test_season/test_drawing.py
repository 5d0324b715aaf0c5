"""Drawing seasons: numbers by name, the same figures however they are drawn, and a tally that is the ledger's sum."""

from __future__ import annotations

import copy
import math
from collections.abc import Callable
from dataclasses import replace
from datetime import date
from decimal import Decimal
from pathlib import Path
from typing import Any, get_args

import numpy as np
import pytest
from scipy import stats  # type: ignore[import-untyped]

from costplan.money import to_minor
from costplan.problems import Place
from costplan.rules.book import BarredWork, Book, Charge, Clause, DatedPart, EngineCap, LevelCap, PieceCap
from costplan.scenario import read_scenario
from costplan.season import Season, compile_season, machine
from costplan.season.arrays import as_drawn
from costplan.season.drawn import drawing
from costplan.season.drawn.drawing import Draws, draw, drawn_season, fixed_costs
from costplan.season.ledger import Cause, Ledger, Row, write_ledger
from costplan.season.machine import gap, running
from costplan.season.machine.draws import CASE, HAZARD, LIFE, RAIN, life_given, named, philox, uniform
from costplan.season.machine.play import begin
from costplan.season.machine.renewing import draw_lives

SeasonOf = Callable[..., Season]

DEMOS = Path(__file__).parents[2] / "scenarios"

# --- Philox4x32-10


@pytest.mark.parametrize(
    ("counter", "key", "words"),
    [
        # Known answers of the generator's authors, Random123, kat_vectors, philox4x32 10; from memory.
        ((0, 0, 0, 0), (0, 0), "6627e8d5 e169c58d bc57ac4c 9b00dbd8"),
        ((0xFFFFFFFF,) * 4, (0xFFFFFFFF,) * 2, "408f276d 41c83b0e a20bc7c6 6d5451fd"),
        (
            (0x243F6A88, 0x85A308D3, 0x13198A2E, 0x03707344),
            (0xA4093822, 0x299F31D0),
            "d16cfe09 94fdcceb 5001e420 24126ea1",
        ),
    ],
)
def test_philox_gives_its_known_answers(counter: tuple[int, ...], key: tuple[int, ...], words: str) -> None:
    assert " ".join(f"{word:08x}" for word in philox(*counter, *key)) == words


def by_the_book(counter: list[int], key: list[int]) -> tuple[int, ...]:
    """Philox4x32-10 in integers without bound, as Salmon and others (SC '11) describe it: ten rounds, each two wide
    products whose halves change places, the key raised by its Weyl constants between rounds.
    """
    a, b, c, d = counter
    for number in range(10):
        left, right = divmod(a * 0xD2511F53, 2**32), divmod(c * 0xCD9E8D57, 2**32)
        keys = [(word + number * step) % 2**32 for word, step in zip(key, (0x9E3779B9, 0xBB67AE85), strict=True)]
        a, b, c, d = right[0] ^ b ^ keys[0], right[1], left[0] ^ d ^ keys[1], left[1]
    return a, b, c, d


def test_philox_is_what_plain_integers_give() -> None:
    words = np.random.default_rng(5).integers(0, 2**32, size=(500, 6)).tolist()
    for row in words:
        assert philox(*row) == by_the_book(row[:4], row[4:])


# --- numbers by name


def numbers(stream: int, name: tuple[int, int], seasons: int = 4000, seed: int = 1, n: int = 0) -> machine.Floats:
    return np.array([uniform(seed, stream, season, *name, n) for season in range(seasons)])


def test_a_name_is_told_apart_by_each_of_its_parts() -> None:
    assert named("blue", "springs", "", "laps") != named("blue", "springs", "laps", "")
    assert named("ab", "c") != named("a", "bc")
    assert all(0 <= word < 2**32 for word in named("blue"))


@pytest.mark.parametrize("stream", [LIFE, RAIN, CASE, HAZARD])
def test_numbers_are_spread_evenly(stream: int) -> None:
    drawn = numbers(stream, named("blue", "springs"))
    assert 0 < drawn.min() <= drawn.max() < 1
    assert stats.kstest(drawn, "uniform").pvalue > 0.001
    assert stats.chisquare(np.histogram(drawn, bins=64, range=(0, 1))[0]).pvalue > 0.001


NEIGHBOURS = {
    "engine": ((1, LIFE, named("blue", "springs", "", "laps"), 0), (1, LIFE, named("red", "springs", "", "laps"), 0)),
    "slot": ((1, LIFE, named("blue", "springs"), 0), (1, LIFE, named("blue", "springt"), 0)),
    "measure": ((1, LIFE, named("a", "b", "", "laps"), 0), (1, LIFE, named("a", "b", "", "hours"), 0)),
    "seed": ((1, LIFE, named("blue", "springs"), 0), (2, LIFE, named("blue", "springs"), 0)),
    "stream": ((1, LIFE, named("blue", "springs"), 0), (1, CASE, named("blue", "springs"), 0)),
    "installation": ((1, LIFE, named("blue", "springs"), 0), (1, LIFE, named("blue", "springs"), 1)),
}


@pytest.mark.parametrize("what", NEIGHBOURS)
def test_numbers_of_neighbours_have_nothing_to_do_with_each_other(what: str) -> None:
    one, other = (numbers(stream, name, seed=seed, n=n) for seed, stream, name, n in NEIGHBOURS[what])
    assert stats.spearmanr(one, other).pvalue > 0.001
    # Counts in a table of 8 x 8: neither the sum nor any corner is favoured.
    table = np.histogram2d(one, other, bins=8, range=((0, 1), (0, 1)))[0]
    assert stats.chi2_contingency(table).pvalue > 0.001


def test_one_season_tells_nothing_of_the_next() -> None:
    drawn = numbers(LIFE, named("blue", "springs"))
    assert stats.spearmanr(drawn[:-1], drawn[1:]).pvalue > 0.001


def test_a_life_drawn_for_an_age_is_never_shorter_than_it() -> None:
    # scale * ((age / scale)^shape - ln u)^(1 / shape); by hand (0.25 + ln 4)^0.5 * 100 = 127.918.
    assert life_given(100, 2, 50, 0.25) == pytest.approx(127.9177, abs=1e-4)
    assert life_given(100, 2, 0, math.exp(-1)) == pytest.approx(100)
    assert life_given(100, 0.5, 1e6, 1 - 1e-16) >= 1e6
    assert life_given(math.inf, 2, 50, 0.25) == math.inf


# --- a season with everything

CALENDAR = """\
event,date,kind,format,setup,engine,entry,travel,purse,rain,rain_from,weight,level
bench day,2027-04-03,test,pulls,,,120,10,,,,,
gate cup,2027-05-01,race,night,,,80,60,400,0.4,heat,1,
gate cup two,2027-05-02,race,night,wet,,80,,300,0.2,feature,1,
hill nights,2027-05-15,race,night,,B,95,140,500,,,3,
hill finale,2027-05-16,race,night,,,95,,900,0.3,,3,
overhaul,2027-05-20,service,,,,,,,,,,freshen
lake open,2027-06-12,race,night,wet,,70,90,350,0.6,heat,1,
lake trial,2027-06-13,practice,night,,,20,,,,,,
bay race,2027-06-26,race,night,,,70,90,350,0.1,feature,1,
bay final,2027-06-27,race,night,,,70,,800,,,2.5,
"""
SESSIONS = """\
format,session,laps,hours,fuel_per_lap [gal],duty,result
pulls,warm,4,0.2,0.5,0.5,
pulls,pull,3,0.1,0.6,1.2,
night,laps,6,0.05,0.4,0.8,0
night,heat,12,0.1,0.5,1,0.3
night,feature,25,0.2,0.5,1.1,0.7
shop,idle,3,0.2,0.3,0.4,
"""
PARTS = """\
part,price,pack,core_charge,resale
block,640,1,150,90
piston,31.45,4,0,0
ring,17.20,1,0,0
spring,9.35,3,0,0.40
valve,14.15,8,0,1.05
jet,3.33,1,0,0
carb,410,1,60,35
clutch,155.55,1,0,10
"""
SLOTS = """\
slot,part,pieces,alternate,serves
block,block,1,,
pistons,piston,4,,
rings,ring,4,,
springs,spring,8,,
valves,valve,8,,
carburetor,carb,1,dry,
carburetor,carb,1,soft,wet
jets,jet,2,,
clutch,clutch,1,,
"""
LIVES = """\
part,measure,replace_at,risk,shape,low,likely,warning,limit
block,laps,420,0.15,2.5,,,0.25,
piston,laps,160,0.3,2.2,,,0.3,
ring,laps,90,0.25,1.8,,,,
ring,openings,3,0.1,2,,,,
spring,laps,,,,60,150,0.2,
valve,hours,1.6,0.3,2,,,0.4,
jet,days,25,0.2,3,,,,60
carb,laps,200,0.3,1.6,,,0.3,260
clutch,starts,14,0.2,2,,,,
"""
LEVELS = """\
level,rank,carrier,interval,measure,dates,hours,labour,supplies,renews,checks,sees,run_in
trackside,1,engine,,,,0.5,15,2.50,,,,
springs,2,engine,,,,8,60.05,4,,springs valves,0.7,
freshen,3,engine,150,laps,,100,410,33.33,rings,valves,0.8,shop
rebuild,4,engine,,,2027-06-01,200,900,70,pistons,block pistons,0.9,shop
car-side,1,car,,,,2,12,1,,clutch,0.5,
bench,2,car,240,laps,,30,85,11,,carburetor,0.8,
"""
POSITIONS = """\
slot,level,carrier,renewal,factor,stops,renew_as,renew_with
block,rebuild,engine,,1,yes,set,
pistons,rebuild,engine,,1,yes,piece,rings
rings,freshen,engine,,1,no,set,
springs,springs,engine,,0.7,yes,piece,
valves,springs,engine,run to failure,,yes,set,springs
carburetor,bench,car,,1.1,no,set,jets
jets,car-side,car,,1,no,set,
clutch,car-side,car,run to failure,,yes,set,
"""
GARAGE = """\
piece,part,engine,slot,alternate,count,step,laps,hours,starts,openings,installed
block of A,block,A,block,,,1,210,3,9,2,2026-05-01
springs of A,spring,A,springs,,,,35,,2,,2027-01-01
springs of B,spring,B,springs,,,,10,,1,,2027-01-01
carburetor on car,carb,car,carburetor,dry,,,120,,8,,2026-09-01
new springs,spring,,,,5,,0,0,0,0,
used springs,spring,,,,8,,15,0,1,0,
older springs,spring,,,,8,,30,0,2,0,
used rings,ring,,,,4,,20,0.3,1,0,
spare carburetor,carb,,,,1,,60,0,4,1,
"""
CATALOG = {
    "operations": "operation,role,name,price\n"
    "hone,block,honed,48.75\nbore,block,bored,133.33\nhot-tank,block,cleaned,22\nreface,valve,refaced,2.15\n",
    "service_steps": "role,step,operation,factor,renew_with,mends\n"
    "block,1,hone,0.8,ring,no\nblock,2,bore,0.7,piston,yes\nvalve,1,reface,0.6,,no\n",
    "kits": "kit,supplier,price,price_date\ntop end,shop,88,2027-01-01\n",
    "kit_contains": "kit,part,pieces\ntop end,ring,4\ntop end,spring,8\n",
}
HAZARDS = """\
hazard,carrier,chance,per,kinds
over-rev,engine,0.01,laps,race
stone,car,0.2,events,
claim,engine,0.06,events,race
"""
DAMAGE = """\
slot,case,chance,hits,operations,cost,hours,engine,paid,stops
springs,dropped,0.4,valves pistons,hot-tank,12.34,30,,,
springs,two of them,0.3,,,3,,,,no
valves,into the piston,0.6,pistons springs carburetor,,40,20,,,
pistons,rod out,0.3,,,150,240,scrapped,,
carburetor,floods,0.5,jets,,,2,,,yes
clutch,bell housing,0.3,valves,,75,4,,,
over-rev,touched,0.5,valves springs,hot-tank,,3,,,yes
over-rev,seen in time,0.4,,,5,,,,no
stone,through,0.5,carburetor clutch,,30,1,,,yes
claim,claimed,1,,,,200,gone,1500,
"""
SERVICES = """\
service,price,every,measure,used,carrier,hours,whole
oil,47.11,70,laps,20,engine,1,yes
tyres,130,45,laps,5,car,3,yes
fuel,4.19,1,fuel [gal],0,engine,,no
"""
COSTS = """\
cost,amount,per,date
licence,210,season,
insurance,33.33,month,
sponsor,-45.67,race,
pit pass,12.5,event,
dinner,80,season,2027-08-01
"""
SCENARIO = """\
opening = 2027-03-20
[policy]
who_runs = "best saved"
save_for = 2
swap_hours = 0.75
when_barred = "change engine"
[[engine]]
name = "A"
since = { freshen = 60 }
sold = 0
[[engine]]
name = "B"
price = 2500
[[engine]]
name = "C"
owned = false
sold = 1800
"""
TABLES: dict[str, Any] = {
    "calendar": CALENDAR,
    "sessions": SESSIONS,
    "parts": PARTS,
    "slots": SLOTS,
    "lives": LIVES,
    "levels": LEVELS,
    "positions": POSITIONS,
    "garage": GARAGE,
    "catalog": CATALOG,
    "hazards": HAZARDS,
    "damage": DAMAGE,
    "services": SERVICES,
    "costs": COSTS,
    "scenario": SCENARIO,
}
PLACE = Place("rules-cup.toml", 7)


def clause(rule: str, since: date | None = None) -> Clause:
    return Clause("Lantern Cup", rule, f"what {rule} says", PLACE, since)


BOOK = Book(
    level_caps=(LevelCap(clause("T1"), "freshen", 2, each_engine=True, in_life=False),),
    engine_caps=(EngineCap(clause("T2"), 2),),
    piece_caps=(
        PieceCap(clause("T3"), ("springs",), 40, each_event=False),
        PieceCap(clause("T4"), ("valves", "pistons"), 12, each_event=True),
    ),
    charges=(
        Charge(clause("F1"), Decimal(25), "USD", "opening", "springs"),
        Charge(clause("F2"), Decimal("18.50"), "USD", "swap"),
        Charge(clause("F3"), Decimal(7), "USD", "event"),
        Charge(clause("F4"), Decimal("3.21"), "USD", "race"),
        Charge(clause("F5"), Decimal(5), "USD", "month"),
        Charge(clause("F6"), Decimal(40), "USD", "season"),
    ),
    barred=(BarredWork(clause("T5", date(2027, 6, 20)), ("block",), lambda operation: operation.operation == "bore"),),
    dated=(DatedPart(clause("T6"), "clutch", 300.0),),
)


@pytest.fixture(scope="module")
def everything(season_of: SeasonOf) -> Season:
    """Two engines, alternates, shared positions, steps, kits, stock, used sets, a book, and all that can go wrong."""
    scenario, problems = read_scenario(season_of(**TABLES).files.folder)
    assert scenario is not None, problems
    season, problems = compile_season(replace(scenario.sources, book=BOOK))
    assert season is not None, problems
    return season


@pytest.fixture(scope="module", params=["oval-v8", "kart-single", "everything"])
def season(request: pytest.FixtureRequest) -> Season:
    """Both demo scenarios, and the season with everything."""
    if request.param == "everything":
        found: Season = request.getfixturevalue("everything")
        return found
    scenario, problems = read_scenario(DEMOS / request.param)
    assert scenario is not None, problems
    compiled, problems = scenario.season()
    assert compiled is not None, problems
    return compiled


def test_the_season_with_everything_has_everything(everything: Season) -> None:
    """Whatever the machine may do is done in some season, so that what is compared below is not empty."""
    draws = draw(everything, 600)
    means = dict(zip(machine.CAUSES, draws.cause.mean(axis=0).tolist(), strict=True))
    assert all(means.values()), means
    for name in ("missed", "rained", "stopped", "failures", "finds", "hits", "opened"):
        assert getattr(draws, name).any(), name
    assert draws.failures[len(everything.spots) :].all()
    states = [drawn_season(everything, n) for n in range(60)]
    assert any(state.n_kits[0] for state in states)
    assert any((state.renewals[: state.n_renewals[0], 9] >= 0).any() for state in states)
    assert not all(state.used_left.all() for state in states)
    assert {int(engine) for state in states for engine in state.ran} == {-1, 0, 1}
    assert any(state.acted.any() for state in states)


# --- the same however it is drawn

ADDED = ("line_mean", "line_share")


def same(one: Draws, other: Draws, *, near: tuple[str, ...] = ()) -> None:
    """Every figure of two draws is the same; those that are sums of floats in other parts as near as can be."""
    for name in Draws.__dataclass_fields__:
        mine, theirs = getattr(one, name), getattr(other, name)
        if isinstance(mine, np.ndarray):
            equal = np.allclose(mine, theirs, rtol=1e-9, atol=1e-9) if name in near else np.array_equal(mine, theirs)
            assert equal, name
            assert mine.dtype == theirs.dtype, name


def test_compiled_and_plain_are_the_same(season: Season) -> None:
    same(draw(season, 24, 5), draw(season, 24, 5, compiled=False))


def test_one_worker_and_two_are_the_same(season: Season) -> None:
    same(draw(season, 900, 5, workers=1), draw(season, 900, 5, workers=2))


def test_what_is_not_looked_at_would_have_changed_nothing(season: Season, monkeypatch: pytest.MonkeyPatch) -> None:
    """The machine skips what cannot be due or fail yet; looking at everything before every run gives the same."""
    usual = draw(season, 12, 7)
    monkeypatch.setattr(gap, "look_again", _before_the_next_run)
    monkeypatch.setattr(running, "fails_again", _before_the_next_run)
    looked = draw(season, 12, 7, compiled=False)
    for name in ("cash", "wear", "left", "lost", "event", "cause", "opened_at"):
        assert np.array_equal(getattr(looked, name), getattr(usual, name)), name


def _before_the_next_run(_problem: machine.Problem, _state: machine.State, _carrier: int, _p: int, g: int) -> int:
    return g


@pytest.mark.parametrize("size", [1, 7, 64])
def test_blocks_of_any_size_are_the_same(season: Season, size: int, monkeypatch: pytest.MonkeyPatch) -> None:
    usual = draw(season, 150, 5)
    monkeypatch.setattr(drawing, "BLOCK", size)
    same(usual, draw(season, 150, 5, workers=2), near=ADDED)


def test_fewer_seasons_are_the_first_of_more(season: Season) -> None:
    few, many = draw(season, 40, 5), draw(season, 90, 5)
    for name in ("cash", "wear", "left", "lost", "dnfs", "event", "month", "cause", "laps", "opened_at"):
        assert np.array_equal(getattr(few, name), getattr(many, name)[:40]), name


def test_another_seed_draws_other_seasons(season: Season) -> None:
    assert not np.array_equal(draw(season, 40, 5).cash, draw(season, 40, 6).cash)


def test_seasons_differ_and_the_first_is_drawn_alike_after_others(season: Season) -> None:
    cash = draw(season, 40, 5).cash
    assert len(set(cash.tolist())) > 10
    state = drawn_season(season, 0, 5)
    assert int(state.tally_event.sum()) + fixed_costs(season, as_drawn(season, 5)).total == cash[0]


def test_beyond_those_kept_one_by_one_seasons_are_only_added_up(
    everything: Season, monkeypatch: pytest.MonkeyPatch
) -> None:
    whole = draw(everything, 30, 5)
    monkeypatch.setattr(drawing, "BLOCK", 10)
    monkeypatch.setattr(drawing, "ONE_BY_ONE", 15)
    part = draw(everything, 30, 5)
    assert len(part.event) == len(part.month) == len(part.cause) == 15
    assert np.array_equal(part.event, whole.event[:15])
    assert np.array_equal(part.cash, whole.cash)
    assert np.array_equal(part.failures, whole.failures)


class Impatient:
    """Interrupts after so many blocks."""

    def __init__(self, after: int) -> None:
        self.after = after

    def compiling(self, joints: Any) -> Any:
        return joints

    def drawing(self, blocks: Any, seasons: int) -> Any:  # noqa: ARG002 - as Watch has it
        for number, block in enumerate(blocks):
            if number == self.after:
                raise KeyboardInterrupt
            yield block


def test_interrupted_it_gives_what_has_been_drawn(everything: Season, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(drawing, "BLOCK", 10)
    draws = draw(everything, 100, 5, watch=Impatient(3))
    assert (draws.seasons, draws.asked, draws.interrupted) == (30, 100, True)
    assert np.array_equal(draws.cash, draw(everything, 30, 5).cash)
    with pytest.raises(KeyboardInterrupt):
        draw(everything, 100, 5, watch=Impatient(0))


# --- the ledger tells the tally row by row


def event_of(season: Season, row: Row) -> int:
    """The event that a cash row belongs to: its own, else the next on or after its day, else none."""
    events = [run.event for run in season.runs if run.first]
    names = {event.event: number for number, event in enumerate(events)}
    if row.event == "after the last event":
        return len(events)
    later = (number for number, event in enumerate(events) if event.date >= row.date)
    return names.get(row.event, next(later, len(events)))


def added(season: Season, ledger: Ledger, number_of: Callable[[Row], int], size: int) -> list[int]:
    sums = [0] * size
    for row in ledger.of("cash"):
        sums[number_of(row)] += to_minor(row.amount, season.rates.currency)
    return sums


@pytest.mark.parametrize("number", range(12))
def test_a_ledger_adds_up_to_the_tally(season: Season, number: int) -> None:
    draws = draw(season, 12, 9)
    state = drawn_season(season, number, 9)
    ledger = write_ledger(season, state)
    causes = added(season, ledger, lambda row: machine.CAUSES.index(row.cause), len(machine.CAUSES))
    months = added(season, ledger, lambda row: season.months.index(f"{row.date:%Y-%m}"), len(season.months))
    events = added(season, ledger, lambda row: event_of(season, row), draws.event.shape[1])
    assert causes == draws.cause[number].tolist()
    assert months == draws.month[number].tolist()
    assert events == draws.event[number].tolist()
    assert to_minor(ledger.total("cash"), season.rates.currency) == draws.cash[number]
    assert to_minor(ledger.total("wear"), season.rates.currency) == draws.wear[number]


@pytest.mark.parametrize("number", range(12))
def test_every_account_of_a_drawn_season_closes_on_what_is_there(season: Season, number: int) -> None:
    state = drawn_season(season, number, 9)
    ledger = write_ledger(season, state)
    balances = {
        (carrier, spot.slot): int(machine.left_of(season.problem, state, c, p))
        for c, carrier, p, spot in season.positions()
    }
    for account in ledger.accounts:
        assert account.opening + account.paid - account.used - account.unused == account.closing
        if not account.slot.startswith("work: "):
            left = balances.pop((account.engine, account.slot))
            assert to_minor(account.closing, season.rates.currency) == left
    assert not any(balances.values())


def test_the_lines_add_up_to_the_drawn_cash(season: Season) -> None:
    draws = draw(season, 500, 9)
    fixed = fixed_costs(season, draws.problem).total
    assert draws.line_mean.sum() == pytest.approx(draws.cash.mean() - fixed)
    assert draws.line_share.sum() == pytest.approx(1)
    assert np.array_equal(draws.event.sum(axis=1), draws.cash)
    assert np.array_equal(draws.month.sum(axis=1), draws.cash)
    assert np.array_equal(draws.cause.sum(axis=1), draws.cash)


def test_what_is_left_is_balances_less_work_owed_resale_and_the_shelf(season: Season) -> None:
    draws = draw(season, 8, 9)
    problem = draws.problem
    for number in range(8):
        state, total = drawn_season(season, number, 9), 0
        for c, _, p, spot in season.positions():
            total += machine.left_of(problem, state, c, p)
            total += spot.pieces * season.items[int(state.item[c, p])].resale
        for c in range(len(season.carriers)):
            for t, ladder in enumerate(season.ladders):
                if bool(problem.ladder_on_car[t]) == (c == len(season.carriers) - 1):
                    total -= sum(machine.owed(problem, state, c, t, k) for k in range(len(ladder)))
        assert draws.left[number] == total + int(state.stock_value.sum())


# --- draws hang on names alone


def failure_ages(season: Season, engine: str, slot: str, sets: int = 3) -> list[float]:
    """The ages at which the first sets of a slot break in season 4, each drawn as new."""
    problem, state = as_drawn(season, 3), copy.deepcopy(season.start)
    state.season[0] = 4
    begin(problem, state)
    c = season.carriers.index(engine)
    p = [spot.slot for spot in season.spots].index(slot)
    found: list[float] = []
    for n in range(sets):
        state.installed[c, p], state.step[c, p] = n, 0
        state.age[c, season.lives(p)] = 0
        draw_lives(problem, state, c, p)
        found += state.fails_at[c, season.lives(p)].tolist()
    return found


def turned(table: str) -> str:
    """A table with its rows in the opposite order."""
    head, *rows = table.splitlines()
    return "\n".join([head, *reversed(rows)]) + "\n"


WATCHED = [("A", "springs"), ("B", "springs"), ("A", "rings"), ("car", "carburetor"), ("car", "carburetor/soft")]


@pytest.mark.parametrize(
    "changed",
    [
        {"positions": turned(POSITIONS)},
        # Two lives in one measure would be told apart by their order; these are of different measures.
        {"lives": turned(LIVES)},
        {"damage": turned(DAMAGE)},
        {"hazards": turned(HAZARDS)},
        {"garage": turned(GARAGE)},
        {"levels": turned(LEVELS)},
        {"parts": turned(PARTS)},
    ],
    ids=lambda changed: next(iter(changed)),
)
def test_the_order_of_rows_changes_no_life(season_of: SeasonOf, changed: dict[str, str]) -> None:
    plain, other = season_of(**TABLES), season_of(**{**TABLES, **changed})
    for engine, slot in WATCHED:
        mine, theirs = failure_ages(plain, engine, slot), failure_ages(other, engine, slot)
        assert sorted(mine) == sorted(theirs)


def test_other_parts_and_more_slots_change_no_life(season_of: SeasonOf) -> None:
    plain = season_of(**TABLES)
    other = season_of(
        **{
            **TABLES,
            "slots": SLOTS.replace("springs,spring,8", "springs,wire,8") + "wires,lead,8,,\n",
            "parts": PARTS.replace("\nspring,", "\nwire,") + "lead,20,1,0,0\n",
            "lives": LIVES.replace("\nspring,", "\nwire,") + "lead,laps,80,0.2,2,,,,\n",
            "positions": POSITIONS.replace("\nblock,", "\nwires,trackside,engine,,1,no,set,\nblock,", 1),
            "garage": GARAGE.replace("spring,", "wire,"),
            "catalog": {**CATALOG, "kit_contains": "kit,part,pieces\ntop end,ring,4\n"},
        }
    )
    for engine, slot in WATCHED:
        assert failure_ages(plain, engine, slot) == failure_ages(other, engine, slot)


def test_another_engine_and_another_event_change_no_life_and_no_rain(season_of: SeasonOf) -> None:
    plain = season_of(**TABLES)
    more = {
        "scenario": SCENARIO + '[[engine]]\nname = "D"\n',
        "calendar": CALENDAR.replace("lake trial,", "mud night,2027-06-05,race,night,,,20,,,0.5,,,\nlake trial,"),
    }
    other = season_of(**{**TABLES, **more})
    for engine, slot in WATCHED:
        assert failure_ages(plain, engine, slot) == failure_ages(other, engine, slot)
    assert rained(plain) == {event: days for event, days in rained(other).items() if event != "mud night"}


def rained(season: Season) -> dict[str, list[bool]]:
    """In which of twenty seasons it rains at each event with a chance of it."""
    events = [run.event for run in season.runs if run.first]
    starts = [g for g, run in enumerate(season.runs) if run.first] + [len(season.runs)]
    found: dict[str, list[bool]] = {event.event: [] for event in events if event.rain}
    for number in range(20):
        lost = drawn_season(season, number, 3).lost
        for e, event in enumerate(events):
            if event.rain:
                found[event.event].append(bool(lost[starts[e] : starts[e + 1]].any()))
    assert any(any(days) for days in found.values())
    return found


@pytest.mark.parametrize(
    "table", ["positions", "garage", "levels", "lives", "parts", "hazards", "costs", "slots", "damage"]
)
def test_the_same_rows_in_another_order_draw_the_same_seasons(season_of: SeasonOf, table: str) -> None:
    rows = SLOTS.splitlines() if table == "slots" else []
    # The alternates of a slot keep their order: the first is its main one.
    other = "\n".join([rows[0], *rows[7:], *rows[1:7]]) if rows else turned(TABLES[table])
    plain, changed = draw(season_of(**TABLES), 60, 5), draw(season_of(**{**TABLES, table: other}), 60, 5)
    for name in ("cash", "wear", "left", "lost", "dnfs", "event", "month", "cause", "laps"):
        assert np.array_equal(getattr(plain, name), getattr(changed, name)), name


def test_the_tally_knows_the_causes_of_the_ledgers_cash_by_the_same_names() -> None:
    assert [cause for cause in get_args(Cause) if "life" not in cause] == list(machine.CAUSES)
