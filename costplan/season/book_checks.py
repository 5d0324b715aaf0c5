"""What only shows when the rule book meets a season's levels, slots, services and currencies."""

from __future__ import annotations

from collections.abc import Sequence

from costplan.money import is_currency
from costplan.problems import Problems, nearest
from costplan.rules.book import Charge, DatedPart, PieceCap
from costplan.season.bonds import amount_of
from costplan.season.checking import LARGEST_SUM
from costplan.season.inputs import place_of
from costplan.season.names import Sources, Spot


def check_book(sources: Sources, spots: Sequence[Spot], problems: Problems) -> None:
    """Every bond that is in force in the season speaks of what the season has."""
    book = sources.book
    levels = list(dict.fromkeys(row.level for row in sources.files.levels))
    named = [(cap.level, cap.clause) for cap in book.level_caps]
    named += [(charge.level, charge.clause) for charge in book.charges]
    named += [(listed.level, listed.clause) for listed in book.shops]
    for level, clause in named:
        if level and level not in levels:
            problems.add("SEA001", clause.place, "level", level, "a clause on an unknown level", nearest(level, levels))
    for cap in book.piece_caps:
        _check_pieces(cap, sources, spots, problems)
    for part in book.dated:
        _check_dated(part, sources, spots, problems)
    for charge in book.charges:
        _check_charge(charge, sources, problems)


def _filled(sources: Sources) -> set[str]:
    """The slots with a part in them; what is asked of an empty one asks nothing."""
    return {slot for slot, _ in sources.build.fitted()} if sources.build else set()


def _empty(sources: Sources) -> set[str]:
    return set(sources.build.pattern.slots) - _filled(sources) if sources.build else set()


def _check_pieces(cap: PieceCap, sources: Sources, spots: Sequence[Spot], problems: Problems) -> None:
    """Pieces are counted where they are renewed: in a position, or as a whole service."""
    known = [name for spot in spots for name in dict.fromkeys((spot.base, spot.slot))]
    flowing = [service.service for service in sources.files.services if not service.whole]
    for name in cap.slots:
        if name not in known and name not in _empty(sources):
            what = "a clause caps the pieces of what is never put in:"
            advice = f"give it a row in positions.csv, or name a service; {nearest(name, known)}"
            if name in flowing:
                what, advice = "a clause caps the pieces of what flows:", "give the service as whole = yes"
            problems.add("SEA016", cap.clause.place, "slot", name, what, advice)


def _check_dated(part: DatedPart, sources: Sources, spots: Sequence[Spot], problems: Problems) -> None:
    if part.slot in _empty(sources) or any(spot.base == part.slot and not spot.service for spot in spots):
        return
    what = "a clause dates a part that the season never renews:"
    advice = f"add a row for the slot to {place_of(sources.files, 'positions')}: which level reaches it"
    if part.slot not in _filled(sources):
        advice = nearest(part.slot, sorted(_filled(sources)))
    problems.add("SEA017", part.clause.place, "slot", part.slot, what, advice)


def _check_charge(charge: Charge, sources: Sources, problems: Problems) -> None:
    """A charge needs a rate into the scenario's currency, and must be one that the season can add up."""
    rates, place, days = sources.rates, charge.clause.place, [event.date for event in sources.files.events]
    currency = charge.currency or rates.currency
    if rates.at(currency, days[0]) is None:
        known = is_currency(currency)
        what = "no exchange rate for" if known else "no currency:"
        advice = f"add a [[rate]] for {currency} to scenario.toml" if known else "give a code of ISO 4217"
        problems.add("MON002" if known else "MON001", place, "currency", currency, what, advice)
    elif max(amount_of(charge, rates, day) for day in days) > LARGEST_SUM:
        advice = "check it and its currency's rate"
        problems.add("REA018", place, "amount", charge.amount, "too large a sum:", advice)
