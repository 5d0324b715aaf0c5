"""Mark-up and margin: one profit as a share of what a thing costs, and as a share of what it sells for.

Shares, 0.25 for 25 %, unrounded; a price that is to be billed is rounded by `costplan.money`. Below zero is a loss.
"""

from __future__ import annotations

from decimal import Decimal


def margin_on(net: Decimal, cost: Decimal) -> Decimal | None:
    """The share of a price that is left of it; None where nothing is sold.

    >>> margin_on(Decimal(10), Decimal(8)), margin_on(Decimal(0), Decimal(8))
    (Decimal('0.2'), None)
    """
    return (net - cost) / net if net > 0 else None


def markup_on(net: Decimal, cost: Decimal) -> Decimal | None:
    """What is left of a price as a share of the cost; None where it costs nothing.

    >>> markup_on(Decimal(10), Decimal(8)), markup_on(Decimal(10), Decimal(0))
    (Decimal('0.25'), None)
    """
    return (net - cost) / cost if cost > 0 else None


def margin_of_markup(markup: Decimal) -> Decimal:
    """The share of the price that is profit where `markup` is put on the cost: markup / (1 + markup).

    0 for no mark-up, and never quite 1. A mark-up of -1 or below, a thing given away, has no margin: ValueError.

    >>> margin_of_markup(Decimal("0.25"))
    Decimal('0.2')
    """
    if not markup > -1:
        raise ValueError(f"a mark-up is above -1, not {markup}")
    return markup / (1 + markup)


def markup_of_margin(margin: Decimal) -> Decimal:
    """The share of the cost to put on it so that `margin` of the price is profit: margin / (1 - margin).

    The inverse of `margin_of_markup`, without bound as the margin nears 1. A margin of 1 or above: ValueError.

    >>> markup_of_margin(Decimal("0.2"))
    Decimal('0.25')
    """
    _need_margin(margin)
    return margin / (1 - margin)


def price_for_margin(cost: Decimal, margin: Decimal) -> Decimal:
    """What a thing sells for so that `margin` of the price is profit: cost / (1 - margin), in the money of the cost.

    The cost itself for no margin. A margin of 1 or above: ValueError.

    >>> price_for_margin(Decimal(10), Decimal("0.2"))
    Decimal('12.5')
    """
    _need_margin(margin)
    return cost / (1 - margin)


def _need_margin(margin: Decimal) -> None:
    if not margin < 1:
        raise ValueError(f"a margin is below 1, not {margin}")
