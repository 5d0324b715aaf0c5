"""What a change costs the whole field: groups added up, and the parts that it puts out."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from decimal import Decimal

from costplan.impact.adding import Books, GroupCost, added, count_difference, sold_lines
from costplan.impact.figures import GroupImpact, Stranded, Total
from costplan.money import round_money


def total_of_field(books: Books, there: Sequence[GroupCost], groups: Sequence[GroupImpact], loss: Decimal) -> Total:
    """The whole field, without who cannot comply."""
    costs = [cost for group in there for cost in group.costs]
    spending = [cost for group in there for cost in (group.spending or group.costs)]
    leaving = [one.leaving for one in groups if one.leaving is not None]
    over = [one.over[0] for one in costs]
    return Total(
        sum(one.count for one in groups),
        books.money(sum(one.once for one in costs)),
        books.total([one.first for one in costs]),
        books.total([one.yearly for one in costs]),
        books.total([one.used for one in costs]),
        books.total(over),
        books.total([one.over[1] for one in costs]),
        books.total([one.burden for one in costs]),
        books.payback(costs) if costs else None,
        books.money(sum(sum(added(group.stranded).values()) for group in there)),
        sum((one.brings * one.count for one in groups if one.answered), Decimal(0)),
        sum(one.losers for one in groups),
        sum(one.losers_first for one in groups),
        sum(one.mean < -books.minor(loss) for one in over),
        sum(leaving) if leaving else None,
        sum(one.count for one in groups if not one.answered),
        count_difference([one.missed for one in costs], 1),
        count_difference([one.stopped for one in costs], 1),
        books.roll([books.range_of(group) for group in there]),
        books.money(sum(_risen(books, group) for group in there)),
        books.total([one.over[0] for one in spending]) if any(group.spending for group in there) else None,
        *books.percentiles([one.over[0].mean for one in costs] or [0.0]),
    )


def _risen(books: Books, group: GroupCost) -> float:
    """What a group pays more than today's prices for parts whose price rises, at once: a transfer to who sells them."""
    way = group.under.complying
    return (books.once(way) - books.once(way, None, {})) * len(group.costs) if way else 0.0


def stranded_parts(books: Books, there: Sequence[GroupCost]) -> Iterator[Stranded]:
    """The parts that are put out, those of which most is lost first."""
    left: dict[str, int] = {}
    owners: dict[str, int] = {}
    brings: dict[str, Decimal] = {}
    for group in there:
        count, values = len(group.costs), added(group.stranded)
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
