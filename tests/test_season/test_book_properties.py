"""What holds under every rule book: accounts close, no cap is passed, no date is stretched, and no fee is a gain."""

from __future__ import annotations

import copy
from collections.abc import Callable
from dataclasses import dataclass, replace
from datetime import date, timedelta
from decimal import Decimal
from typing import Any

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st

from costplan.catalog import Operation
from costplan.money import from_minor
from costplan.problems import Place
from costplan.rules.book import (
    BarredWork,
    Book,
    Charge,
    Clause,
    DatedPart,
    EngineCap,
    LevelCap,
    ListedShops,
    PieceCap,
)
from costplan.scenario import read_scenario
from costplan.season import Season, Sources, compile_season, cost_of_clauses, machine, make_plan, play_plan
from costplan.season.ledger import Ledger, write_ledger

SeasonOf = Callable[..., Season]

modest = settings(max_examples=30, deadline=None)

OPENING = date(2027, 5, 1)


@dataclass(frozen=True)
class Drawn:
    """A small season: (days to the next, laps) of each event, its engines, policies, and lives in laps."""

    events: tuple[tuple[int, int], ...]
    engines: int
    early: str
    when_barred: str
    who_runs: str
    interval: int | None
    springs: tuple[int, int | None]
    block: int

    def tables(self) -> dict[str, Any]:
        day, rows = OPENING, []
        for number, (days, laps) in enumerate(self.events):
            rows.append(f"event {number},{day},{laps}")
            day += timedelta(days=days)
        return {
            "scenario": f'[policy]\nearly = {self.early}\nwhen_barred = "{self.when_barred}"\n'
            f'who_runs = "{self.who_runs}"\n'
            + "".join(f'[[engine]]\nname = "{n}"\ndone = {{ rebuild = {n} }}\n' for n in range(self.engines)),
            "calendar": "\n".join(["event,date,laps", *rows]),
            "levels": "level,rank,interval,measure,hours,labour,shop\nfront,1,,,8,20,Hill\n"
            f"rebuild,2,{self.interval or ''},{'laps' if self.interval else ''},100,300,Hill\n"
            f"rebuild,2,{self.interval or ''},{'laps' if self.interval else ''},30,400,Dale\n",
            "slots": "slot,part,pieces\nsprings,spring,2\nblock,block,1\npistons,piston,4\n",
            "parts": "part,price,resale,core_charge\nspring,30,0,0\nblock,200,20,7\npiston,10,0,0\n",
            "lives": "part,measure,replace_at,limit\n"
            f"spring,laps,{self.springs[0]},{self.springs[1] or ''}\nblock,laps,{self.block},\n",
            "positions": "slot,level\nsprings,front\nblock,rebuild\npistons,rebuild\n",
            "garage": "piece,part,engine,slot,count,laps,installed\nspare,spring,,,2,20,2027-04-20\n",
            "catalog": {
                "operations": "operation,role,price,price_date\nhone,block,15,2027-01-01\nbore,block,25,2027-01-01\n",
                "service_steps": "role,step,operation,factor,renew_with\nblock,1,hone,0.8,\nblock,2,bore,0.6,piston\n",
            },
        }


@st.composite
def seasons(draw: st.DrawFn, early: tuple[str, ...] = ('"off"', '"worth"', "0.7")) -> Drawn:
    return Drawn(
        tuple(draw(st.lists(st.tuples(st.integers(1, 10), st.integers(5, 60)), min_size=2, max_size=7))),
        draw(st.integers(1, 3)),
        draw(st.sampled_from(early)),
        draw(st.sampled_from(["run on", "change engine", "stop"])),
        draw(st.sampled_from(["first ready", "least used"])),
        draw(st.none() | st.integers(40, 160)),
        (draw(st.integers(15, 150)), draw(st.none() | st.integers(15, 150))),
        draw(st.integers(15, 150)),
    )


days = st.none() | st.integers(-5, 40).map(lambda number: OPENING + timedelta(days=number))


@st.composite
def clauses(draw: st.DrawFn) -> Clause:
    return Clause("Lantern Cup", f"T{draw(st.integers(1, 99))}", "", Place("rules.toml", 1), draw(days), draw(days))


def never_hone(operation: Operation) -> bool:
    return operation.operation == "hone"


def never_bore(operation: Operation) -> bool:
    return operation.operation == "bore"


level = st.sampled_from(["front", "rebuild"])
level_caps = st.builds(LevelCap, clauses(), level, st.integers(0, 3), st.booleans(), st.booleans())
engine_caps = st.builds(EngineCap, clauses(), st.integers(0, 2))
piece_caps = st.builds(
    PieceCap,
    clauses(),
    st.sampled_from([("springs",), ("pistons", "block"), ("springs", "pistons")]),
    st.integers(0, 8),
    st.booleans(),
)
amounts = st.integers(0, 5000).map(lambda cents: Decimal(cents) / 100)
per = st.sampled_from(["opening", "swap", "event", "race", "month", "season"])
charges = st.builds(Charge, clauses(), amounts, st.just("USD"), per, st.sampled_from(["", "front", "rebuild"]))
works = st.builds(
    BarredWork,
    clauses(),
    st.sampled_from([(), ("block",), ("springs",)]),
    st.sampled_from([never_hone, never_bore]),
)
dated = st.builds(DatedPart, clauses(), st.sampled_from(["springs", "block"]), st.integers(5, 30).map(float))
shops = st.builds(ListedShops, clauses(), level, st.sampled_from([("Hill",), ("Dale",), ("Moor",)]))
books = st.builds(
    Book,
    *(
        st.lists(bonds, max_size=2).map(tuple)
        for bonds in (level_caps, engine_caps, piece_caps, charges, works, dated, shops)
    ),
)


def sources_of(season_of: SeasonOf, drawn: Drawn, book: Book) -> Sources:
    scenario, problems = read_scenario(season_of(**drawn.tables()).files.folder)
    assert scenario is not None, problems
    header = scenario.header
    return Sources(
        scenario.files,
        scenario.engines,
        header.car,
        header.gaps,
        header.policy,
        scenario.buying,
        catalog=scenario.catalog,
        build=scenario.build,
        garage=scenario.garage,
        book=book,
    )


def compiled(sources: Sources) -> Season:
    season, problems = compile_season(sources)
    assert season is not None, problems
    return season


def bound(season_of: SeasonOf, drawn: Drawn, book: Book) -> Season:
    return compiled(sources_of(season_of, drawn, book))


def planned(season: Season) -> Ledger:
    return write_ledger(season, play_plan(season))


def with_failures(season: Season, ages: list[float]) -> machine.State:
    """The season in which the sets of every position break at these ages, one after the other."""
    fails_at = np.tile(np.array([*ages, np.inf]), (*season.start.age.shape, 1))
    state = copy.deepcopy(season.start)
    machine.play(season.problem._replace(fails_at=fails_at), state)
    return state


def check_accounts(season: Season, state: machine.State) -> None:
    """Every account closes on what is there by the state alone, and its rows are what it says."""
    ledger, currency = write_ledger(season, state), season.rates.currency
    slots = {spot.slot: p for p, spot in enumerate(season.spots)}
    for account in ledger.accounts:
        assert account.opening + account.paid - account.used - account.unused == account.closing
        rows = [row for row in ledger.of("wear") if (row.engine, row.slot) == (account.engine, account.slot)]
        if account.slot in slots:
            c, p = season.carriers.index(account.engine), slots[account.slot]
            assert account.closing == from_minor(machine.left_of(season.problem, state, c, p), currency)
            assert sum(row.amount for row in rows if row.cause == "life used") == account.used
            assert sum(row.amount for row in rows if row.cause == "unused life") == account.unused


@modest
@given(drawn=seasons(), book=books, ages=st.lists(st.integers(1, 90), max_size=3))
def test_every_account_closes_under_every_book(
    season_of: SeasonOf, drawn: Drawn, book: Book, ages: list[float]
) -> None:
    season = bound(season_of, drawn, book)
    check_accounts(season, play_plan(season))
    check_accounts(season, with_failures(season, ages))
    make_plan(season, OPENING)


@modest
@given(drawn=seasons(), clause=clauses())
def test_a_book_that_asks_for_nothing_changes_nothing(season_of: SeasonOf, drawn: Drawn, clause: Clause) -> None:
    wide = Book(
        level_caps=(LevelCap(clause, "front", 99, each_engine=False, in_life=True),),
        engine_caps=(EngineCap(clause, 3),),
        piece_caps=(PieceCap(clause, ("springs", "pistons"), 999, each_event=False),),
        charges=(Charge(clause, Decimal(0), "USD", "opening"),),
        barred=(BarredWork(clause, ("springs",), never_hone),),
        dated=(DatedPart(clause, "springs", 1e9),),
        shops=(ListedShops(clause, "front", ("Hill", "Dale")),),
    )
    sources = sources_of(season_of, drawn, wide)
    assert planned(compiled(sources)) == planned(compiled(replace(sources, book=Book())))


@modest
@given(drawn=seasons(early=('"off"',)), book=books, charge=charges)
def test_one_more_fee_never_lowers_the_total(season_of: SeasonOf, drawn: Drawn, book: Book, charge: Charge) -> None:
    before = planned(bound(season_of, drawn, book))
    after = planned(bound(season_of, drawn, replace(book, charges=(*book.charges, charge))))
    fees = [sum(row.amount for row in ledger.of("cash") if row.cause == "fee") for ledger in (before, after)]
    assert after.total("cash") - before.total("cash") == fees[1] - fees[0] >= 0
    assert after.total("wear") - before.total("wear") == fees[1] - fees[0]


@modest
@given(drawn=seasons(), book=books, ages=st.lists(st.integers(1, 90), max_size=3))
def test_no_cap_is_passed(season_of: SeasonOf, drawn: Drawn, book: Book, ages: list[float]) -> None:
    season = bound(season_of, drawn, book)
    state = with_failures(season, ages)
    gaps = [run.service.date if run.service else run.event.date for run in season.runs]
    openings = [row for row in state.openings[: state.n_openings[0]].tolist() if row[0] < len(gaps)]
    for cap in book.level_caps:
        low = ["front", "rebuild"].index(cap.level)
        for engine in range(drawn.engines):
            mine = [g for g, c, t, k in openings if t == 0 and k >= low and (c == engine or not cap.each_engine)]
            in_force = [g for g in mine if cap.clause.holds_on(gaps[g])]
            life = engine if cap.each_engine else sum(range(drawn.engines))
            for g in in_force:
                counted = life + sum(h <= g for h in mine) if cap.in_life else sum(h <= g for h in in_force)
                assert counted <= cap.most
    for pieces in book.piece_caps:
        put_in: dict[str, int] = {}
        for g, _, p, _, count, _, _, _, _, step, *_ in state.renewals[: state.n_renewals[0]].tolist():
            if g < len(gaps) and step < 0 and season.spots[p].slot in pieces.slots and pieces.clause.holds_on(gaps[g]):
                event = season.runs[g].event.event if pieces.each_event else ""
                put_in[event] = put_in.get(event, 0) + count
        assert all(count <= pieces.most for count in put_in.values())
    for engines in book.engine_caps:
        ran = {int(state.ran[g]) for g, day in enumerate(gaps) if engines.clause.holds_on(day)} - {-1}
        assert len(ran) <= engines.most


@modest
@given(drawn=seasons(), book=books)
def test_no_dated_part_runs_past_its_days(season_of: SeasonOf, drawn: Drawn, book: Book) -> None:
    season = bound(season_of, drawn, book)
    state = play_plan(season)
    for part in season.book.dated:
        p = next(p for p, spot in enumerate(season.spots) if spot.slot == part.slot)
        j = season.lives(p)[len(season.spots[p].lives) + season.spots[p].dated.index(part)]
        for g, run in enumerate(season.runs):
            if state.ran[g] >= 0 and part.clause.holds_on(run.event.date):
                following = run.use["days"]
                assert state.trace_raw[g, state.ran[g], j] - following <= part.days


@modest
@given(drawn=seasons(), book=books)
def test_what_the_whole_book_costs_is_what_it_is_planned_at(season_of: SeasonOf, drawn: Drawn, book: Book) -> None:
    sources = sources_of(season_of, drawn, book)
    costs = cost_of_clauses(sources)
    with_book, without = compiled(sources), compiled(replace(sources, book=Book()))
    for view, cost in (("cash", costs.whole.cash), ("wear", costs.whole.wear)):
        assert cost == planned(with_book).total(view) - planned(without).total(view)  # type: ignore[arg-type]
    missed = [len(make_plan(season, OPENING).missed) for season in (with_book, without)]
    assert costs.whole.missed_more == missed[0] - missed[1]
    assert [cost.rule for cost in costs.clauses] == [clause.rule for clause in with_book.book.clauses()]
