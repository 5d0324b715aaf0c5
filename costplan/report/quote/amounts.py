"""How figures of a quote are shown on a terminal."""

from __future__ import annotations

from decimal import Decimal

from costplan.report.tables import money


def share(value: Decimal | None) -> str:
    """A share to a tenth of a percent.

    >>> share(Decimal("0.28808")), share(None)
    ('28.8 %', 'none')
    """
    return "none" if value is None else f"{100 * value:.1f} %"


def signed(amount: Decimal) -> str:
    """An amount that is a difference.

    >>> signed(Decimal("12.50")), signed(Decimal("-3.00")), signed(Decimal("0.00"))
    ('+12.50', '-3.00', '0.00')
    """
    return money(amount) if amount <= 0 else f"+{money(amount)}"


def chance(value: float) -> str:
    """A chance in percent, as a rule whole.

    >>> chance(0.07), chance(0.011), chance(0.0004)
    ('7 %', '1.1 %', '0.04 %')
    """
    digits = 0 if value >= 0.02 else 1 if value >= 0.01 else 2
    return f"{100 * value:.{digits}f} %"
