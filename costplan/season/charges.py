"""What the rule book charges in a season as it was played: every fee, by its occasion."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from itertools import pairwise
from types import MappingProxyType

from costplan.money import from_minor
from costplan.rules.book import Charge
from costplan.season import machine
from costplan.season.bonds import amount_of, charged
from costplan.season.calendar import by_event, first_days, gap_before
from costplan.season.names import Season


@dataclass(frozen=True, slots=True)
class Fee:
    """One occasion on which a charge is due; `engine` and `level` where it is one engine's or one opening's."""

    charge: Charge
    date: date
    event: str
    engine: str
    level: str
    amount: Decimal


#: Day, event, engine and level of an occasion.
Occasion = tuple[date, str, str, str]


def fees_of(season: Season, state: machine.State) -> Iterator[Fee]:
    """Every fee of a season, charge by charge, in the scenario's currency at the rate of its day."""
    for charge in season.book.charges:
        for day, event, engine, level in _OCCASIONS[charge.per](season, state, charge):
            if charge.clause.holds_on(day):
                amount = from_minor(amount_of(charge, season.rates, day), season.rates.currency)
                yield Fee(charge, day, event, engine, level, amount)


def fees_at(season: Season, g: int, t: int, k: int) -> Decimal:
    """What one opening at level k of ladder t costs by the book in the gap before a run."""
    day, _ = gap_before(season.runs, g)
    due = (charge for charge in season.book.charges if charged(charge, t, k, season.ladders))
    amounts = (amount_of(charge, season.rates, day) for charge in due if charge.clause.holds_on(day))
    return from_minor(sum(amounts), season.rates.currency)


def _openings(season: Season, state: machine.State, charge: Charge) -> Iterator[Occasion]:
    for g, c, t, k in state.openings[: state.n_openings[0]].tolist():
        if charged(charge, t, k, season.ladders):
            yield *gap_before(season.runs, g), season.carriers[c], season.ladders[t][k].level


def _swaps(season: Season, state: machine.State, _charge: Charge) -> Iterator[Occasion]:
    """The runs in which another engine goes on than the one that last ran in the event."""
    for runs in by_event(season.runs):
        ran = [(run.event, int(state.ran[g])) for g, run in runs if state.ran[g] >= 0]
        for (_, before), (event, engine) in pairwise(ran):
            if engine != before:
                yield event.date, event.event, season.carriers[engine], ""


def _events(season: Season, state: machine.State, charge: Charge) -> Iterator[Occasion]:
    """The events at which an engine ran; of a charge per race those that are races."""
    for runs in by_event(season.runs):
        event = runs[0][1].event
        asked = charge.per == "event" or event.kind == "race"
        if asked and any(state.ran[g] >= 0 for g, _ in runs):
            yield event.date, event.event, "", ""


def _months(season: Season, _state: machine.State, charge: Charge) -> Iterator[Occasion]:
    for day in first_days(season.opening, season.runs):
        if season.is_ahead(day, charge.clause.rule):
            yield day, "", "", ""


def _season(season: Season, _state: machine.State, charge: Charge) -> Iterator[Occasion]:
    """When the books open, or on the day in the season from which the clause is in force."""
    day = max(season.opening, charge.clause.since or season.opening)
    if season.is_ahead(day, charge.clause.rule):
        yield day, "", "", ""


_OCCASIONS: Mapping[str, Callable[[Season, machine.State, Charge], Iterator[Occasion]]] = MappingProxyType(
    {"opening": _openings, "swap": _swaps, "event": _events, "race": _events, "month": _months, "season": _season}
)
