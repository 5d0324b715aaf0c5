"""Allowances "if needed": what tear-down may show, with its chance, and what the likely and the dearest way then cost.

The chance that a look finds a piece worn is that of its assumed lives: that the life, having lasted so far, ends within
the share of it in which a check can see the end coming (`warning`), times the chance that the look sees it (`sees`).
A row [[allowance]] of the shop's own experience stands in its place.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Collection, Iterable, Iterator, Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import TypeAlias

from costplan.money import round_money
from costplan.problems import NOWHERE, Place
from costplan.quote.opened import Opening
from costplan.quote.priced import Priced
from costplan.quote.records import AfterTearDown, Allowance, Change
from costplan.quote.request import NEW
from costplan.quote.shop import AllowanceRow, ShopBook
from costplan.quote.worklist import Task, WorkList

#: Chances below this are not worth a line.
LEAST = 0.01

#: So many things that go with a bad slot are named.
NAMED = 3

#: A list of work with some slots found to be bad, and its price.
Found: TypeAlias = Callable[[tuple[str, ...]], tuple[WorkList, Priced]]


@dataclass(frozen=True, slots=True)
class Doubt:
    """A slot that may turn out to be bad: its chance, why, and whether nobody stands for that.

    `word`: the slot with the way that it is likely put right, as `bad` names it.
    """

    slot: str
    word: str
    chance: float
    why: str
    assumed: bool
    place: Place = NOWHERE


def doubts_of_service(book: ShopBook, opening: Opening, work: WorkList, brought: Collection[str]) -> Iterator[Doubt]:
    """The slots that a service looks at and does not renew, and those that the shop allows for.

    Of what the customer has `brought` the lives are not known.
    """
    own = {row.slot: row for row in reversed(book.allowances) if not row.jobs or work.job in row.jobs}
    seen, touched = opening.looked_at(), work.touched
    for slot in dict.fromkeys((*seen, *own)):
        if slot not in opening.spots or (slot in touched and touched[slot].bought) or slot in work.on_shelf:
            continue
        if slot in own:
            row = own[slot]
            left = not row.way or row.way == NEW or opening.step_for(slot, row.way) is not None
            yield _by_the_shop(row if left else row.model_copy(update={"way": ""}))
        elif slot not in touched and slot not in brought:
            wear, (_, spot) = opening.chance_of_wear(slot), opening.spots[slot]
            why = f"{wear:.1%} near its end by its assumed life, seen by {seen[slot]:.0%} of looks"
            yield Doubt(slot, slot, wear * seen[slot], why, any(life.assumed for life in spot.lives), spot.place)


def doubts_of_build(book: ShopBook, supplied: Iterable[str], job: str) -> Iterator[Doubt]:
    """The pieces that others supply for a new engine and that the shop allows for."""
    slots = set(supplied)
    for row in book.allowances:
        if row.slot in slots and job in row.jobs:
            yield _by_the_shop(row.model_copy(update={"way": ""}))


def _by_the_shop(row: AllowanceRow) -> Doubt:
    word = f"{row.slot}={row.way}" if row.way else row.slot
    return Doubt(row.slot, word, row.chance, row.source or "the shop's guess", not row.source, row.place)


def allowances_of(base: tuple[WorkList, Priced], doubts: Iterable[Doubt], found: Found) -> tuple[Allowance, ...]:
    """Each doubt that is worth a line, priced alone; the dearest way is a new part, or the likely one where dearer."""
    return tuple(_allowance(base, doubt, found) for doubt in doubts if doubt.chance >= LEAST)


def _allowance(base: tuple[WorkList, Priced], doubt: Doubt, found: Found) -> Allowance:
    work, priced = base
    ways = [found((word,)) for word in (doubt.word, f"{doubt.slot}={NEW}")]
    likely, worst = ((way[0], way[1].less(priced)) for way in ways)
    if worst[1].net < likely[1].net:
        worst = likely
    task = ways[0][0].touched[doubt.slot]
    return Allowance(
        doubt.slot,
        doubt.word,
        task.fill.part.part,
        task.fill.part.name or task.fill.part.part,
        doubt.chance,
        doubt.why,
        doubt.assumed,
        in_words(work, likely[0], doubt.slot),
        likely[1],
        in_words(work, worst[0], doubt.slot),
        worst[1],
        doubt.place,
    )


def in_words(before: WorkList, after: WorkList, slot: str) -> str:
    """What is done to a bad slot, how far the engine is opened for it, and what goes with it."""
    known = before.touched
    more = [_done(one) for name, one in after.touched.items() if name != slot and _other(known.get(name), one)]
    words = _done(after.touched[slot])
    if after.level != before.level:
        words += f"; a {after.level} then"
    rest = [f"{len(more) - NAMED} more"] if len(more) > NAMED else []
    along = ", ".join(f"{one[:1].lower()}{one[1:]}" for one in (*more[:NAMED], *rest))
    return f"{words}, with {along}" if along else words


def _other(before: Task | None, after: Task) -> bool:
    return before is None or (before.fill.part.part, before.bought) != (after.fill.part.part, after.bought)


def _done(task: Task) -> str:
    part = task.fill.part
    if task.bought:
        return f"New {part.name or part.part}"
    return "; ".join(one.name or one.operation for one in task.fill.operations)


def after_tear_down(priced: Priced, allowances: tuple[Allowance, ...], found: Found, currency: str) -> AfterTearDown:
    """The price with what may be found: at its chances, each alone; and with all of it at the dearest, once each."""
    more, worst, totals = _expected(allowances, currency), priced, priced.totals
    if allowances:
        _, worst = found(tuple(_dearest(one) for one in allowances))
    return AfterTearDown(
        totals.net + more.net,
        totals.gross + more.gross,
        worst.totals.net,
        worst.totals.gross,
        priced.cost + more.cost,
        worst.cost,
        math.prod(one.chance for one in allowances) if allowances else 0.0,
        worst.net_of("core"),
    )


def _dearest(one: Allowance) -> str:
    return one.word if one.worst_more == one.likely_more else f"{one.slot}={NEW}"


def _expected(allowances: Sequence[Allowance], currency: str) -> Change:
    """The likely ways at their chances, each sum rounded once."""
    chances = [Decimal(repr(one.chance)) for one in allowances]
    columns = zip(
        *((one.likely_more.net, one.likely_more.gross, one.likely_more.cost) for one in allowances), strict=True
    )
    sums = [
        sum((chance * amount for chance, amount in zip(chances, column, strict=True)), Decimal(0)) for column in columns
    ]
    net, gross, cost = (round_money(total, currency) for total in sums or [Decimal(0)] * 3)
    return Change(net, gross, cost)
