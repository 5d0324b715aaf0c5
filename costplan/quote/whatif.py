"""What becomes of a quote if suppliers' prices rise before the order, or if tear-down shows slots to be bad."""

from __future__ import annotations

from dataclasses import dataclass, replace
from decimal import ROUND_CEILING, Decimal

from costplan.money import minor_digits
from costplan.problems import Problem
from costplan.quote.asking import Asking
from costplan.quote.margin import price_for_margin
from costplan.quote.quoting import make_quote
from costplan.quote.records import Quote
from costplan.quote.revisions import Difference, difference


@dataclass(frozen=True, slots=True)
class Risen:
    """A quote whose price is held while all prices of parts and kits are up by a share.

    `cost` and `margin` are those then; `keeps`: the net price that would keep the margin as quoted, None where that is
    the whole price or none; `repriced`: the net at the shop's own mark-up on the new costs, with what it earns then.
    `breaks_even`: the rise at which nothing is left, None where no part is bought.
    """

    rise: Decimal
    cost: Decimal
    more_cost: Decimal
    earned: Decimal
    margin: Decimal | None
    keeps: Decimal | None
    repriced: Decimal
    repriced_gross: Decimal
    breaks_even: Decimal | None

    @property
    def repriced_earned(self) -> Decimal:
        return self.repriced - self.cost

    @property
    def repriced_margin(self) -> Decimal | None:
        return self.repriced_earned / self.repriced if self.repriced else None


def if_prices_rise(asking: Asking, quote: Quote, rise: Decimal) -> tuple[Risen | None, tuple[Problem, ...]]:
    """What becomes of a quote if all prices of parts and kits rise by a share before the order."""
    up, problems = make_quote(replace(asking, rise=rise))
    if up is None:
        return None, problems
    held, now = quote.margin, up.margin
    earned = held.net - now.cost
    more = now.cost - held.cost
    keeps = None
    if held.margin is not None and held.margin < 1:
        step = Decimal(1).scaleb(-minor_digits(quote.currency))
        keeps = price_for_margin(now.cost, held.margin).quantize(step, rounding=ROUND_CEILING)
    margin = earned / held.net if held.net else None
    even = held.earned / more * rise if more > 0 else None
    return Risen(rise, now.cost, more, earned, margin, keeps, now.net, up.totals.gross, even), ()


@dataclass(frozen=True, slots=True)
class IfBad:
    """A quote with slots found bad, against the one without: what the customer would pay more, and what the shop keeps.

    `held`: what the shop earns if the price is not raised, as where it is fixed.
    """

    found: Difference
    held: Decimal
    held_margin: Decimal | None


def if_bad(asking: Asking, quote: Quote) -> tuple[IfBad | None, tuple[Problem, ...]]:
    """What the slots change that were found bad beyond the request; `quote` is the one with them."""
    before, problems = make_quote(replace(asking, bad=()))
    if before is None:
        return None, problems
    net = before.margin.net
    held = net - quote.margin.cost
    return IfBad(difference(before, quote), held, held / net if net else None), ()
