"""A list of work priced whole: lines, what is taken off them all, totals; and what two of them differ by."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from decimal import Decimal

from costplan.build import Bill
from costplan.money import round_money
from costplan.quote.pricing import NOTHING, Counter, lines_of
from costplan.quote.records import Change, Line, net_of
from costplan.quote.request import Asked
from costplan.quote.totals import Adjustment, Tax, Totals, totals_of
from costplan.quote.worklist import WorkList

#: Lines that no discount on the whole is taken off.
UNDISCOUNTED = ("core", "credit")


@dataclass(frozen=True, slots=True)
class Priced:
    """Lines with the bill behind them, their totals, and the `discount` on the whole that is in them.

    `cost`: what the shop pays, without cores, which pass through.
    """

    bill: Bill
    lines: tuple[Line, ...]
    totals: Totals
    discount: Decimal

    @property
    def cost(self) -> Decimal:
        return sum((line.cost for line in self.lines if line.kind != "core"), NOTHING)

    def net_of(self, kind: str) -> Decimal:
        """What the lines of a kind come to."""
        return net_of(self.lines, kind)

    def cost_of(self, kind: str) -> Decimal:
        """What the lines of a kind cost the shop."""
        return sum((line.cost for line in self.lines if line.kind == kind), NOTHING)

    def less(self, other: Priced) -> Change:
        """What it comes to more than another."""
        net, gross = self.totals.net - other.totals.net, self.totals.gross - other.totals.gross
        return Change(net, gross, self.cost - other.cost)


def price(counter: Counter, work: WorkList, asked: Asked, more_work: Iterable[str] = ()) -> Priced:
    """A list of work at the prices of a day."""
    bill = counter.bill(work)
    return priced_lines(counter, bill, lines_of(counter, work, bill, asked, more_work), asked.head.discount)


def priced_lines(counter: Counter, bill: Bill, lines: tuple[Line, ...], discount: Decimal) -> Priced:
    """Lines with their totals; a discount on the whole is rounded for each group of tax by itself (EN 16931)."""
    sums: dict[Tax, Decimal] = {}
    for line in lines:
        if line.kind not in UNDISCOUNTED:
            sums[line.tax] = sums.get(line.tax, NOTHING) + line.net
    off = [
        Adjustment("allowance", round_money(discount * total, counter.currency), tax)
        for tax, total in sums.items()
        if discount
    ]
    totals = totals_of(((line.net, line.tax) for line in lines), counter.currency, off)
    return Priced(bill, lines, totals, totals.allowances)
