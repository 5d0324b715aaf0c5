"""What each clause of the rule book costs: the season planned with the whole book less that without the clause."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal

from costplan.problems import NOWHERE, Place
from costplan.rules.book import NO_BOOK, Book, Clause
from costplan.season.compiling import compile_season
from costplan.season.ledger import write_ledger
from costplan.season.names import Season, Sources
from costplan.season.plan import missed, play_plan


@dataclass(frozen=True, slots=True)
class ClauseCost:
    """What a season costs more by a clause, in cash and in wear, and how many events more it misses.

    Below zero it costs less: a race missed saves its entry, and an opening that is barred its labour.
    """

    pack: str
    rule: str
    says: str
    cash: Decimal
    wear: Decimal
    missed_more: int
    place: Place


@dataclass(frozen=True, slots=True)
class BookCost:
    """What every clause in force costs by itself, and what the `whole` book costs against none.

    The clauses do not add up to the whole: of two that bar the same, each alone costs nothing.
    """

    clauses: tuple[ClauseCost, ...]
    whole: ClauseCost


@dataclass(frozen=True, slots=True)
class _Totals:
    cash: Decimal
    wear: Decimal
    missed: int


def cost_of_clauses(
    sources: Sources, season: Season | None = None, each: Callable[[Sequence[Clause]], Iterable[Clause]] = iter
) -> BookCost:
    """The cost of each clause and of the whole book; `season`: what `sources` compile to, where that is known.

    Every line plans the season again, with nothing breaking and no rain; `each` goes through the clauses, so that who
    waits can be shown how far it is. Sources with problems are a bug here.
    """
    compiled = season or _compiled(sources, sources.book)
    planned = _totals(compiled)
    costs = tuple(
        _cost(
            planned,
            _totals(_compiled(sources, compiled.book.without(clause))),
            clause.pack,
            clause.rule,
            clause.says,
            clause.place,
        )
        for clause in each(compiled.book.clauses())
    )
    whole = _cost(planned, _totals(_compiled(sources, NO_BOOK)), "", "", "the whole book", NOWHERE)
    return BookCost(costs, whole)


def _compiled(sources: Sources, book: Book) -> Season:
    """The season under another book: striking out clauses brings no problem that was not there before."""
    season, problems = compile_season(replace(sources, book=book))
    if season is None:
        raise ValueError(f"a season with problems has no cost: {problems[0]}")
    return season


def _totals(season: Season) -> _Totals:
    state = play_plan(season)
    ledger = write_ledger(season, state)
    return _Totals(ledger.total("cash"), ledger.total("wear"), len(missed(season, state)))


def _cost(planned: _Totals, without: _Totals, pack: str, rule: str, says: str, place: Place) -> ClauseCost:
    more = planned.missed - without.missed
    return ClauseCost(pack, rule, says, planned.cash - without.cash, planned.wear - without.wear, more, place)
