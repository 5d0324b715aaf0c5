"""What a change costs the field by when it comes: at once, with the dates it is written with, a season later, or as the
old parts wear out.

A change that comes later is the change at once, begun later: what was paid in the first year is paid in part of it and
of the next, and counts less. Until then everybody goes on as ever, and nobody stops buying what will be put out. As
things wear out, the new part goes in when the old one is renewed, at the price of that day; nothing is sold, nobody
opens an engine for it, and speeds stay what they were while the old limiter is in.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from datetime import date, timedelta

from costplan.impact.adding import Books, GroupCost, added, first, mean_path, over, sum_of
from costplan.impact.costing import Priced, factors_of, shifted
from costplan.impact.field import Proposal
from costplan.impact.figures import Phase
from costplan.impact.sides import shelf_values
from costplan.scenario import Scenario
from costplan.season.machine.years import DAYS_A_YEAR


def written_share(proposal: Proposal, scenario: Scenario) -> float | None:
    """How much of the season is over when a change holds by its own dates, 0 to 1; None where it has none.

    Counted in races, those of later days and of later seasons alike: a date past the season is the season's end.
    """
    phase = proposal.written
    since = phase.since(scenario.rounds)
    if since is None or since == date.min:
        return None
    races = [event.date for event in scenario.files.events if event.kind == "race"]
    return sum(day < since for day in races) / len(races)


def phases_of(books: Books, groups: Sequence[GroupCost], proposal: Proposal) -> Iterator[Phase]:
    """The ways to bring a change in, for the field."""
    base, header = books.field.base, proposal.change.header
    yield _moved(books, groups, "at once", f"from {base.opening}", 0.0)
    share = written_share(proposal, base)
    if share is not None and share > 0:
        round_ = proposal.written.from_round
        when = f"from round {round_}" if round_ else f"from {proposal.written.effective}"
        yield _moved(books, groups, "as written", f"{when} ({share:.0%})", share)
    later = base.opening + timedelta(days=DAYS_A_YEAR)
    yield _moved(books, groups, "next season", f"from {later.year}", 1.0)
    if header and any(group.under.wearing is not group.under.complying for group in groups):
        yield _worn(books, groups)


def _moved(books: Books, groups: Sequence[GroupCost], name: str, says: str, share: float) -> Phase:
    """The change so much of a season later."""
    costs, each = [group.costs for group in groups], [cost for group in groups for cost in group.costs.each]
    once = math.fsum(cost.once for cost in each)
    at_first, over_years = (sum_of(costs, pick) for pick in (first, over))
    if share > 0.0:
        cash, left = shifted(mean_path(each, "cash"), share), shifted(mean_path(each, "left"), share)
        factors = factors_of(books.study.discount, len(cash))
        paid = once * (1 + books.study.discount) ** -share
        at_first = Priced((once if share < 1 else 0.0) + float(cash[0]), at_first.error * (1 - share))
        over_years = Priced(paid + float(cash @ factors) - float(left[-1] * factors[-1]), over_years.error)
    stranded = [table for group in groups for table in (group.stranded_later(share) if share else group.stranded)]
    value = sum(added(stranded).values())
    return Phase(name, says, books.money(once), books.mean(at_first), books.mean(over_years), books.money(value))


def _worn(books: Books, groups: Sequence[GroupCost]) -> Phase:
    """The change as the old parts wear out; of who has none to wear out, at once."""
    costs = [group.wearing for group in groups if group.wearing is not None]
    once = math.fsum(cost.once for its in costs for cost in its.each)
    value = sum(_left_on_shelves(group) for group in groups)
    says = "each as its old one is renewed"
    at_first, over_years = books.total(costs, first), books.total(costs, over)
    return Phase("when worn out", says, books.money(once), at_first, over_years, books.money(value))


def _left_on_shelves(group: GroupCost) -> int:
    """What lies on the shelf for no use however slowly the change comes."""
    if group.under.wearing is group.under.complying:
        return sum(added(group.stranded).values())
    values = shelf_values(group.under.answer, group.played.ways.today.answer)
    return sum(values.values()) * len(group.costs.each)
