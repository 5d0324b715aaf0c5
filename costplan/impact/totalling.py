"""What a change costs the whole field: groups added up, and the parts that it puts out."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from decimal import Decimal
from functools import partial

from costplan.impact.adding import (
    Books,
    GroupCost,
    added,
    burden,
    counted,
    first,
    missed,
    over,
    over_other,
    sold_lines,
    stopped,
    sum_of,
    used,
    yearly,
)
from costplan.impact.course import course_of
from costplan.impact.figures import GroupImpact, Stranded, Total
from costplan.money import round_money


def total_of_field(books: Books, there: Sequence[GroupCost], groups: Sequence[GroupImpact], loss: Decimal) -> Total:
    """The whole field, without who cannot comply."""
    costs, each = [group.costs for group in there], [cost for group in there for cost in group.costs.each]
    spending = [group.spending or group.costs for group in there]
    leaving = [one.leaving for one in groups if one.leaving is not None]
    total = partial(books.total, costs)
    return Total(
        sum(one.count for one in groups),
        books.money(sum(one.once for one in each)),
        total(first),
        total(yearly),
        total(used),
        total(over),
        total(over_other),
        total(burden),
        books.payback(each) if each else None,
        books.money(sum(sum(added(group.stranded).values()) for group in there)),
        sum((one.brings * one.count for one in groups if one.answered), Decimal(0)),
        sum(one.losers for one in groups),
        sum(one.losers_first for one in groups),
        sum(one.over[0].mean < -books.minor(loss) for one in each),
        sum(leaving) if leaving else None,
        sum(one.count for one in groups if not one.answered),
        counted(sum_of(costs, missed)),
        counted(sum_of(costs, stopped)),
        books.roll(there),
        books.money(sum(_risen(books, group) for group in there)),
        books.total(spending, over) if any(group.spending for group in there) else None,
        *books.percentiles([one.over[0].mean for one in each] or [0.0]),
        course_of(each, 1, books.study.years, books.currency),
    )


def _risen(books: Books, group: GroupCost) -> float:
    """What a group pays over the years for price rises alone: a transfer to who sells."""
    way = group.under.complying
    if way is None:
        return 0.0
    once = books.once(way) - books.once(way, None, {})
    return (once - books.later_purchases(group.played, way, {})) * len(group.costs.each)


def stranded_parts(books: Books, there: Sequence[GroupCost]) -> Iterator[Stranded]:
    """The parts that are put out, those of which most is lost first."""
    left: dict[str, int] = {}
    owners: dict[str, int] = {}
    brings: dict[str, Decimal] = {}
    for group in there:
        count, values = len(group.costs.each), added(group.stranded)
        sold = {line.name: Decimal(0) for line in sold_lines(group)}
        for line in sold_lines(group):
            sold[line.name] -= group.under.answer.amount(line, books.study.haircut, {}) * count
        for part in dict.fromkeys((*values, *sold)):
            left[part] = left.get(part, 0) + values.get(part, 0)
            owners[part] = owners.get(part, 0) + count
            brings[part] = brings.get(part, Decimal(0)) + sold.get(part, Decimal(0))
    catalog = books.field.base.catalog
    rows = []
    for part, value in left.items():
        known = catalog.parts.get(part) if catalog else None
        got = round_money(brings[part], books.currency)
        rows.append(Stranded(part, known.name if known else "", owners[part], books.money(value), got))
    yield from sorted(rows, key=lambda one: -one.lost)
