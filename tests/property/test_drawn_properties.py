"""What holds in every drawn season: the tally is the ledger's sum, twice the prices cost twice, more is never less."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from datetime import date, timedelta
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from costplan.money import to_minor
from costplan.season import Season, machine
from costplan.season.drawn.drawing import Draws, draw, drawn_season
from costplan.season.ledger import write_ledger
from costplan.season.machine import gap, running

SeasonOf = Callable[..., Season]

modest = settings(max_examples=40, deadline=None)

#: Seasons drawn of each.
N = 12


@dataclass(frozen=True)
class Part:
    """The part in a slot, whole amounts of money, and what its position is like."""

    slot: str
    level: str
    carrier: str
    pieces: int
    price: int
    pack: int
    core: int
    resale: int
    replace_at: int
    risk: float
    shape: float
    warning: float
    to_failure: bool
    stops: bool
    as_piece: bool
    age: int
    new: int
    used: tuple[int, ...]


@dataclass(frozen=True)
class Event:
    """An event: days to the next, laps (none: a night of two runs, 12 and 24), chance of rain, weight, purse."""

    days: int
    laps: int | None
    rain: float
    weight: float
    purse: int


@dataclass(frozen=True)
class Case:
    """A case of a slot or hazard."""

    slot: str
    chance: float
    hits: str
    cost: int
    hours: int
    engine: str
    stops: str


@dataclass(frozen=True)
class Risky:
    """A small season in which much may go wrong. Money is whole, so that nothing is rounded but shares of balances."""

    events: tuple[Event, ...]
    parts: tuple[Part, ...]
    cases: tuple[Case, ...]
    engines: int
    early: str
    who_runs: str
    interval: int | None
    labour: tuple[int, int, int]
    renews: str
    stone: float
    claim: float
    kit: int | None

    def tables(self, times: int = 1, order: int = 1) -> dict[str, Any]:
        """The files of the season with every price so many times; `order` -1 turns the rows that have none."""
        quick, full, bench = (times * amount for amount in self.labour)
        parts = self.parts[::order]
        return {
            "calendar": self._calendar(times),
            "sessions": "format,session,laps,result\nnight,heat,12,1\nnight,feature,24,3\n",
            "scenario": f'[policy]\nearly = {self.early}\nwho_runs = "{self.who_runs}"\nswap_hours = 1\n'
            + "".join(f'[[engine]]\nname = "engine {n}"\nprice = {times * 100 * n}\n' for n in range(self.engines)),
            "slots": "slot,part,pieces\n" + "".join(f"{one.slot},p-{one.slot},{one.pieces}\n" for one in self.parts),
            "parts": "part,price,pack,core_charge,resale\n"
            + "".join(
                f"p-{one.slot},{times * one.price},{one.pack},{times * one.core},{times * one.resale}\n"
                for one in self.parts
            ),
            "lives": "part,measure,replace_at,risk,shape,warning\n"
            + "".join(f"p-{one.slot},laps,{one.replace_at},{one.risk},{one.shape},{one.warning}\n" for one in parts),
            "levels": _ordered(
                "level,rank,carrier,interval,measure,hours,labour,renews,checks,sees",
                [
                    f"quick,1,engine,,,8,{quick},,springs,0.5",
                    f"full,2,engine,{self.interval or ''},{'laps' if self.interval else ''},100,{full},{self.renews},,",
                    f"bench,1,car,,,40,{bench},,,",
                ],
                order,
            ),
            "positions": "slot,level,carrier,renewal,stops,renew_as\n"
            + "".join(
                f"{one.slot},{one.level},{one.carrier},{'run to failure' if one.to_failure else ''},"
                f"{'yes' if one.stops else 'no'},{'piece' if one.as_piece else 'set'}\n"
                for one in parts
            ),
            "garage": _ordered("piece,part,engine,slot,count,laps", self._garage(), order),
            "hazards": _ordered(
                "hazard,carrier,chance,per",
                [f"stone,car,{self.stone},events", f"claim,engine,{self.claim},events"],
                order,
            ),
            "damage": "slot,case,chance,hits,cost,hours,engine,paid,stops\n"
            + "".join(
                f"{case.slot},case {n},{case.chance},{case.hits},{times * case.cost},{case.hours},{case.engine},"
                f"{times * 500 if case.engine == 'gone' else ''},{case.stops}\n"
                for n, case in enumerate(self.cases)
            ),
            "services": "service,price,every,measure,whole\n"
            f"tape,{times * 3},1,laps,no\noil,{times * 20},70,laps,yes\n",
            "costs": "cost,amount,per\n"
            f"licence,{times * 90},season\nsponsor,{-times * 7},race\nshed,{times * 11},month\n",
            "catalog": self._catalog(times),
        }

    def _calendar(self, times: int) -> str:
        day, rows = date(2027, 5, 1), []
        for n, event in enumerate(self.events):
            use = ",night" if event.laps is None else f"{event.laps},"
            rows.append(
                f"event {n},{day},{use},{times * 40},{times * 15},{times * event.purse},{event.rain},{event.weight}"
            )
            day += timedelta(days=event.days)
        return "\n".join(["event,date,laps,format,entry,travel,purse,rain,weight", *rows])

    def _garage(self) -> list[str]:
        rows = []
        for part in self.parts:
            carriers = ["car"] if part.carrier == "car" else [f"engine {n}" for n in range(self.engines)]
            rows += [f"{part.slot} of {name},p-{part.slot},{name},{part.slot},,{part.age}" for name in carriers]
            if part.new:
                rows.append(f"new {part.slot},p-{part.slot},,,{part.new},0")
            rows += [f"{part.slot} used {n},p-{part.slot},,,{part.pieces},{age}" for n, age in enumerate(part.used)]
        return rows

    def _catalog(self, times: int) -> dict[str, str]:
        steps = {
            "operations": f"operation,role,price\nhone,p-rings,{times * 21}\n",
            "service_steps": "role,step,operation,factor,renew_with,mends\np-rings,1,hone,0.6,p-springs,no\n",
        }
        if self.kit is None:
            return steps
        return {
            **steps,
            "kits": f"kit,supplier,price,price_date\nboth,shop,{times * self.kit},2027-01-01\n",
            "kit_contains": "kit,part,pieces\nboth,p-springs,2\nboth,p-rings,1\n",
        }


def _ordered(header: str, rows: list[str], order: int) -> str:
    return "\n".join([header, *rows[::order]]) + "\n"


@st.composite
def parts(pick: st.DrawFn, slot: str, level: str, carrier: str, pieces: int) -> Part:
    price = pick(st.integers(1, 300))
    return Part(
        slot,
        level,
        carrier,
        pieces,
        price,
        pick(st.integers(1, 3)),
        6 * pick(st.integers(0, 6)),
        pick(st.integers(0, price // 6)),
        pick(st.integers(20, 150)),
        pick(st.sampled_from([0.05, 0.3, 0.6])),
        pick(st.sampled_from([0.8, 2.0, 4.0])),
        pick(st.sampled_from([0.0, 0.3])),
        pick(st.booleans()),
        pick(st.booleans()),
        pick(st.booleans()),
        pick(st.integers(0, 60)),
        pick(st.integers(0, 3)),
        tuple(pick(st.lists(st.integers(1, 60), max_size=2))),
    )


@st.composite
def events(pick: st.DrawFn) -> Event:
    return Event(
        pick(st.integers(1, 9)),
        pick(st.none() | st.integers(5, 60)),
        pick(st.sampled_from([0.0, 0.0, 0.3, 0.7])),
        pick(st.sampled_from([1.0, 1.0, 3.0])),
        pick(st.sampled_from([0, 400])),
    )


def cases(slot: str, hits: tuple[str, ...]) -> st.SearchStrategy[Case]:
    return st.builds(
        Case,
        st.just(slot),
        st.sampled_from([0.3, 1.0]),
        st.sampled_from(["", *hits]),
        st.integers(0, 90),
        st.sampled_from([0, 0, 30, 200]),
        st.just("") if slot == "stone" else st.sampled_from(["", "", "scrapped", "gone"]),
        st.sampled_from(["", "yes", "no"]),
    )


@st.composite
def seasons(pick: st.DrawFn, early: tuple[str, ...] = ('"off"', '"worth"', "0.7")) -> Risky:
    return Risky(
        tuple(pick(st.lists(events(), min_size=2, max_size=6))),
        (
            pick(parts("springs", "quick", "engine", 2)),
            pick(parts("rings", "full", "engine", 1)),
            pick(parts("carburetor", "bench", "car", 1)),
        ),
        (
            pick(cases("springs", ("rings", "carburetor rings"))),
            pick(cases("rings", ("springs",))),
            pick(cases("stone", ("springs", "carburetor"))),
            pick(cases("claim", ("rings",))),
        ),
        pick(st.integers(1, 2)),
        pick(st.sampled_from(early)),
        pick(st.sampled_from(["first ready", "least used", "best saved"])),
        pick(st.none() | st.integers(40, 160)),
        (pick(st.integers(0, 90)), pick(st.integers(0, 500)), pick(st.integers(0, 90))),
        pick(st.sampled_from(["", "springs", "rings"])),
        pick(st.sampled_from([0.001, 0.3])),
        pick(st.sampled_from([0.001, 0.2])),
        pick(st.none() | st.integers(1, 900)),
    )


FIGURES = ("cash", "wear", "left", "lost", "dnfs", "misses", "races", "laps", "event", "month", "cause", "opened_each")


def alike(one: Draws, other: Draws) -> None:
    for name in FIGURES:
        assert np.array_equal(getattr(one, name), getattr(other, name)), name


# --- one season, told in different ways


@modest
@given(drawn=seasons())
def test_compiled_and_plain_draw_the_same(season_of: SeasonOf, drawn: Risky) -> None:
    season = season_of(**drawn.tables())
    alike(draw(season, N), draw(season, N, compiled=False))


@modest
@given(drawn=seasons())
def test_the_order_of_rows_is_nothing(season_of: SeasonOf, drawn: Risky) -> None:
    alike(draw(season_of(**drawn.tables()), N), draw(season_of(**drawn.tables(order=-1)), N))


@modest
@given(drawn=seasons(), number=st.integers(0, N - 1))
def test_the_ledger_of_a_season_adds_up_to_its_tally_and_its_accounts_close(
    season_of: SeasonOf, drawn: Risky, number: int
) -> None:
    season = season_of(**drawn.tables())
    draws, state = draw(season, N), drawn_season(season, number)
    ledger = write_ledger(season, state)
    assert to_minor(ledger.total("cash"), "USD") == draws.cash[number]
    assert to_minor(ledger.total("wear"), "USD") == draws.wear[number]
    causes = [0] * len(machine.CAUSES)
    for row in ledger.of("cash"):
        causes[machine.CAUSES.index(row.cause)] += to_minor(row.amount, "USD")
    assert causes == draws.cause[number].tolist()
    closing = 0
    for account in ledger.accounts:
        assert account.opening + account.paid - account.used - account.unused == account.closing
        closing += to_minor(account.closing, "USD")
    assert closing == sum(
        int(machine.left_of(season.problem, state, c, p)) for c, _, p, _ in season.positions()
    ) - _owed(season, state)


def _owed(season: Season, state: machine.State) -> int:
    """Work owed on every level with an interval, and what those without one have left over: nothing."""
    problem, car = season.problem, len(season.carriers) - 1
    return sum(
        int(machine.owed(problem, state, c, t, k))
        for c in range(car + 1)
        for t, ladder in enumerate(season.ladders)
        for k in range(len(ladder))
        if bool(problem.ladder_on_car[t]) == (c == car)
    )


# --- prices


@modest
@given(drawn=seasons(early=('"off"', "0.7")))
def test_twice_the_prices_cost_twice_in_every_season(season_of: SeasonOf, drawn: Risky) -> None:
    """Not with early = "worth": a balance within a cent of the labour may round to either side of it."""
    once, twice = draw(season_of(**drawn.tables()), N), draw(season_of(**drawn.tables(times=2)), N)
    assert np.array_equal(twice.laps, once.laps)
    for name in ("cash", "event", "month", "cause"):
        assert np.array_equal(getattr(twice, name), 2 * getattr(once, name)), name
    # Balances are rounded to the cent: one for every position and level that stands in them, at the start, at the end
    # and at every removal.
    some = 3 + 2 * (once.opened_each.sum(axis=(1, 2)) + 1) * 12
    assert (np.abs(twice.wear - 2 * once.wear) <= some).all()
    assert (np.abs(twice.left - 2 * once.left) <= some).all()


def run_to_failure(part: Part) -> Part:
    return replace(part, to_failure=True)


@modest
@given(drawn=seasons(), which=st.integers(0, 2), dearer=st.integers(1, 200))
def test_a_dearer_part_that_is_run_to_failure_never_makes_a_season_cheaper(
    season_of: SeasonOf, drawn: Risky, which: int, dearer: int
) -> None:
    """What is run to failure is renewed when it breaks, whatever it costs: each season goes as it went.

    Without kits, and others that are renewed early for what they cost. The balances at the start and at the end, and
    those of two used sets put in, are rounded to the cent, so that wear may be so many cents less.
    """
    plain = replace(drawn, parts=tuple(map(run_to_failure, drawn.parts)), kit=None, early='"off"')
    changed = list(plain.parts)
    changed[which] = replace(changed[which], price=changed[which].price + dearer)
    before = draw(season_of(**plain.tables()), N)
    after = draw(season_of(**replace(plain, parts=tuple(changed)).tables()), N)
    assert (after.cash >= before.cash).all()
    assert (after.wear >= before.wear - (2 * plain.engines + 2)).all()
    assert np.array_equal(after.laps, before.laps)


@modest
@given(drawn=seasons(), which=st.sampled_from([0, 2]))
def test_a_part_that_never_fails_and_never_comes_due_costs_nothing(
    season_of: SeasonOf, drawn: Risky, which: int
) -> None:
    changed = list(drawn.parts)
    slot = changed[which].slot
    # The honed rings take springs along, and a share of 0.7 is never reached.
    changed[which] = replace(changed[which], replace_at=10**9, risk=1e-6, shape=4.0, to_failure=True, age=0)
    untouched = tuple(replace(case, hits="", engine="") for case in drawn.cases)
    season = season_of(**_without_steps(replace(drawn, parts=tuple(changed), cases=untouched, renews="", kit=None)))
    p = [spot.slot for spot in season.spots].index(slot)
    draws = draw(season, N)
    assert (draws.line_mean[p], draws.failures[p], draws.finds[p]) == (0, 0, 0)
    state = drawn_season(season, 0)
    assert not [row for row in write_ledger(season, state).of("cash") if row.slot == slot and row.part]


def _without_steps(drawn: Risky) -> dict[str, Any]:
    return {**drawn.tables(), "catalog": {}}


# --- more engines


def ready_car(drawn: Risky) -> Risky:
    """The season in single runs, with a car that never breaks and nothing used on the shelf."""
    springs, rings, carburetor = (replace(part, used=(), new=0) for part in drawn.parts)
    sound = replace(carburetor, replace_at=10**9, risk=1e-6, shape=4.0, to_failure=True, age=0)
    single = tuple(replace(event, laps=event.laps or 36) for event in drawn.events)
    kept = tuple(
        replace(case, hits=case.hits.replace("carburetor", "").strip(), hours=case.hours) for case in drawn.cases
    )
    return replace(drawn, parts=(springs, rings, sound), cases=kept, events=single, who_runs="first ready", stone=0.001)


@modest
@given(drawn=seasons())
def test_one_more_engine_in_the_last_row_never_misses_more(season_of: SeasonOf, drawn: Risky) -> None:
    """Where events are single runs, the first engine that is ready runs, and nothing that they share can break.

    The first engine then goes its way as if it were alone, and the other runs what it would have missed. Without the
    conditions this is not so: the car wears in what the other runs and may be in the shop later; a used set from the
    shelf that the other takes is not there for the first; and inside an event the engine that took over goes on.
    """
    alone = replace(ready_car(drawn), engines=1)
    one, two = (draw(_car_that_is_ready(season_of, replace(alone, engines=n)), N) for n in (1, 2))
    assert (two.misses <= one.misses).all()
    assert (two.laps >= one.laps).all()


def _car_that_is_ready(season_of: SeasonOf, drawn: Risky) -> Season:
    """Stones that hit the car are left out: what they stop and how long they keep it would be shared."""
    tables = drawn.tables()
    hazards = "\n".join(line for line in tables["hazards"].splitlines() if not line.startswith("stone"))
    damage = "\n".join(line for line in tables["damage"].splitlines() if not line.startswith("stone"))
    services = "service,price,every,measure,whole\ntape,3,1,laps,no\n"
    return season_of(**{**tables, "hazards": hazards, "damage": damage, "services": services})


# --- more rain


@modest
@given(drawn=seasons(), more=st.sampled_from([0.1, 0.4, 1.0]))
def test_a_higher_chance_of_rain_takes_every_run_that_a_lower_one_takes(
    season_of: SeasonOf, drawn: Risky, more: float
) -> None:
    wetter = replace(drawn, events=tuple(replace(one, rain=min(1.0, one.rain + more)) for one in drawn.events))
    dry, wet = season_of(**drawn.tables()), season_of(**wetter.tables())
    for number in range(N):
        before, after = drawn_season(dry, number).lost, drawn_season(wet, number).lost
        assert (after >= before).all()


def plain_engine(drawn: Risky) -> Risky:
    """Stopping positions of one engine that are run to failure, live by laps, and take nothing along."""
    parts = tuple(
        replace(part, to_failure=True, stops=True, as_piece=False, resale=0, core=0, used=(), new=0, pack=1)
        for part in drawn.parts
    )
    dry = tuple(replace(event, purse=0) for event in drawn.events)
    return replace(drawn, parts=parts, events=dry, engines=1, interval=None, renews="", early='"off"', kit=None)


@modest
@given(drawn=seasons(), more=st.sampled_from([0.1, 0.4, 1.0]))
def test_more_rain_never_adds_wear_to_what_is_run_to_failure(season_of: SeasonOf, drawn: Risky, more: float) -> None:
    """On the same draws, season by season, where the engine is always mended in the next gap.

    Let R be the laps run so far. A run of n laps brings R to R + n, or to where the next life ends if that comes
    first: in R that does not fall, and a run that rain takes leaves R behind. So R is never more with more rain, and
    wear, which is what has broken and the worn share of what is in, goes with R.

    Without the conditions it is not so. A part that breaks in a run keeps its engine from the next ones, so that rain
    may save more running than it takes; rain may move an opening in which things are renewed with life left in them;
    and what breaks without a stop wears on until the run is over.
    """
    plain = plain_engine(drawn)
    wetter = replace(plain, events=tuple(replace(one, rain=min(1.0, one.rain + more)) for one in plain.events))
    dry, wet = (draw(season_of(**_always_ready(one)), N) for one in (plain, wetter))
    assert (wet.wear <= dry.wear).all()
    assert (wet.cause[:, machine.FAILURE] <= dry.cause[:, machine.FAILURE]).all()


def _always_ready(drawn: Risky) -> dict[str, Any]:
    labour = drawn.labour
    return {
        **_without_steps(drawn),
        "levels": f"level,rank,carrier,labour\nquick,1,engine,{labour[0]}\nfull,2,engine,{labour[1]}\n"
        f"bench,1,car,{labour[2]}\n",
        "hazards": "hazard,chance,per\n",
        "damage": "slot,case,chance\n",
        "services": "service,price,every,measure,whole\ntape,3,1,laps,no\n",
    }


# --- what is not looked at


@modest
@given(drawn=seasons())
def test_what_the_machine_does_not_look_at_would_have_changed_nothing(season_of: SeasonOf, drawn: Risky) -> None:
    """It skips what cannot be due or fail yet; looking at everything before every run must give the same seasons."""
    season = season_of(**drawn.tables())
    usual = draw(season, N, compiled=False)
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(gap, "look_again", _before_the_next_run)
        patch.setattr(running, "fails_again", _before_the_next_run)
        alike(usual, draw(season, N, compiled=False))


def _before_the_next_run(_problem: machine.Problem, _state: machine.State, _carrier: int, _p: int, g: int) -> int:
    return g
