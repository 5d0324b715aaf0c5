"""What the clauses of the rule book did to a season as it was played: what they barred, charged and kept back."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass
from decimal import Decimal
from types import MappingProxyType
from typing import Any

from costplan.money import from_minor
from costplan.problems import Place
from costplan.rules.book import (
    NO_BOOK,
    BarredWork,
    Bond,
    Charge,
    Clause,
    DatedPart,
    EngineCap,
    LevelCap,
    ListedShops,
    PieceCap,
)
from costplan.season import machine
from costplan.season.bonds import levels_taken, refuses
from costplan.season.calendar import gap_before
from costplan.season.charges import fees_of
from costplan.season.ledger import ages_after, openings_of, renewals_of, share_worn
from costplan.season.names import Season


@dataclass(frozen=True, slots=True)
class ClauseActed:
    """A clause that changed a season: how, what it charged, and the events missed while it kept a carrier back.

    A clause that acted in no gap is not listed, though the plan may have been made with it in view.
    """

    pack: str
    rule: str
    says: str
    how: str
    fees: Decimal
    missed: tuple[str, ...]
    place: Place


def what_acted(season: Season, state: machine.State) -> tuple[ClauseActed, ...]:
    """The clauses that acted, in the order of the book."""
    how: dict[Clause, list[str]] = {clause: [] for clause in season.book.clauses()}
    for bond in season.book.bonds():
        how[bond.clause] += _WORDS[type(bond)](season, state, bond)
    fees = list(fees_of(season, state))
    return tuple(
        ClauseActed(
            clause.pack,
            clause.rule,
            clause.says,
            "; ".join(dict.fromkeys(words)),
            sum((fee.amount for fee in fees if fee.charge.clause == clause), from_minor(0, season.rates.currency)),
            _missed(season, state, clause),
            clause.place,
        )
        for clause, words in how.items()
        if words
    )


def _missed(season: Season, state: machine.State, clause: Clause) -> tuple[str, ...]:
    """The events of which a run was missed while a bond of the clause kept a carrier from it."""
    runs = sorted({g for bond in season.bonds if bond.clause == clause for g, _ in _kept(season, state, bond)})
    return tuple(dict.fromkeys(season.runs[g].event.event for g in runs if state.ran[g] == machine.NOBODY))


def _acted(season: Season, state: machine.State, bond: Bond) -> list[tuple[int, int]]:
    """The runs before which a bond acted, each with the carrier, in time order."""
    found = state.acted[season.bonds.index(bond)].T.nonzero()
    return [(int(g), int(c)) for g, c in zip(*found, strict=True)]


def _kept(season: Season, state: machine.State, bond: Bond) -> list[tuple[int, int]]:
    """Those of them for which the bond kept the carrier back, and it did not run in the end."""
    table, car = state.acted[season.bonds.index(bond)], len(season.carriers) - 1

    def ran(g: int, c: int) -> bool:
        return bool(state.ran[g] == c or (c == car and state.ran[g] >= 0))

    return [(g, c) for g, c in _acted(season, state, bond) if table[c, g] == machine.KEPT and not ran(g, c)]


def _before(season: Season, runs: Iterable[int]) -> str:
    """How many events some runs are of, and the day of the first gap."""
    numbers = sorted(set(runs))
    events = {season.runs[g].event.event for g in numbers}
    return f"{_count(len(events), 'event')} from {gap_before(season.runs, numbers[0])[0]}"


def _count(number: int, word: str) -> str:
    return f"{number} {word}" if number == 1 else f"{number} {word}s"


def _kept_back(season: Season, state: machine.State, bond: Bond) -> Iterator[str]:
    kept = _kept(season, state, bond)
    if kept:
        names = ", ".join(dict.fromkeys(season.carriers[c] for _, c in kept))
        yield f"kept {names} from running at {_before(season, (g for g, _ in kept))}"


def _barred(season: Season, state: machine.State, bond: Bond, what: str) -> Iterator[str]:
    acted = _acted(season, state, bond)
    if acted:
        yield f"{what} before {_before(season, (g for g, _ in acted))}"
    yield from _kept_back(season, state, bond)


def _level_cap(season: Season, state: machine.State, cap: LevelCap) -> Iterator[str]:
    yield from _barred(season, state, cap, f"barred {cap.level or 'all levels'}")


def _engine_cap(season: Season, state: machine.State, cap: EngineCap) -> Iterator[str]:
    yield from _kept_back(season, state, cap)


def _piece_cap(season: Season, state: machine.State, cap: PieceCap) -> Iterator[str]:
    yield from _barred(season, state, cap, f"left {', '.join(cap.slots)} in")


def _charge(season: Season, state: machine.State, charge: Charge) -> Iterator[str]:
    count = sum(fee.charge == charge for fee in fees_of(season, state))
    if count:
        level = f" of {charge.level}" if charge.level else ""
        yield f"{_count(count, 'fee')} per {charge.per}{level}"


def _barred_work(season: Season, state: machine.State, work: BarredWork) -> Iterator[str]:
    """Sets that were put in because the step which was next may not be done."""
    done: dict[str, list[int]] = {}
    for g, c, p, _, pieces, *rest in renewals_of(state).tolist():
        spot, went_through = season.spots[p], rest[4] >= 0
        if g == len(season.runs) or went_through or pieces < spot.pieces:
            continue
        step = int(season.start.step[c, p] if g == 0 else state.trace_step[g - 1, c, p])
        if step < len(spot.path) and machine.step_bond(season.problem, p, step, g) == season.bonds.index(work):
            done.setdefault(f"{spot.path[step].operation} of {spot.slot}", []).append(g)
    for what, runs in done.items():
        yield f"another set instead of {what} before {_before(season, runs)}"


def _dated_part(season: Season, state: machine.State, part: DatedPart) -> Iterator[str]:
    """Renewals that the day of the paper called for."""
    runs = []
    for g, c, p, cause, *rest in renewals_of(state).tolist():
        own, spot = rest[6] < 0, season.spots[p]
        if g < len(season.runs) and own and part in spot.dated and _by_date(season, state, g, c, p, cause, part):
            runs.append(g)
    if runs:
        yield f"renewed {part.slot} for its {part.days:g} days before {_before(season, runs)}"


def _by_date(season: Season, state: machine.State, g: int, c: int, p: int, cause: int, part: DatedPart) -> bool:
    """Whether a dated part would pass its days before the next gap that fits; early, whether they wear it most."""
    spot = season.spots[p]
    j = season.lives(p)[len(spot.lives) + spot.dated.index(part)]
    age = float(ages_after(season, state, g - 1, c)[1][j])
    if cause == machine.EARLY:
        return age / part.days >= share_worn(season, state, g - 1, c, p)
    return machine.beyond(season.problem, j, age, g, int(season.problem.next_fit[spot.ladder, spot.level, g]), 0.0)


def _listed_shops(season: Season, state: machine.State, listed: ListedShops) -> Iterator[str]:
    """The levels that were done by another shop than the cheapest, and those that no shop of the list does."""
    cheapest = {row.level: row for row in levels_taken(season.files.levels, NO_BOOK)}
    opened = dict.fromkeys((t, k) for _, _, t, k in openings_of(state).tolist())
    for t, k in opened:
        taken = season.ladders[t][k].row
        if taken is None or not refuses(listed, cheapest[taken.level], season.files.levels):
            continue
        if taken.shop != cheapest[taken.level].shop:
            yield f"{taken.level} by {taken.shop} and not by {cheapest[taken.level].shop or 'a shop without a name'}"
    rows = [step.row for ladder in season.ladders for step in ladder if step.row is not None]
    refused = [row.level for row in rows if refuses(listed, row, rows)]
    yield from _barred(season, state, listed, f"barred {', '.join(refused)} for want of a listed shop")


_WORDS: Mapping[type, Callable[[Season, machine.State, Any], Iterator[str]]] = MappingProxyType(
    {
        LevelCap: _level_cap,
        EngineCap: _engine_cap,
        PieceCap: _piece_cap,
        Charge: _charge,
        BarredWork: _barred_work,
        DatedPart: _dated_part,
        ListedShops: _listed_shops,
    }
)
