"""Formulas of a workbook, which give our own figures to the last digit.

A spreadsheet reckons in binary, where 1.005 x 100 comes out below the half that it is, and 2.675 is none. A product is
therefore counted in minor units, in which a half is exact; there it is first rounded to as many decimals as are surely
right, which takes the binary noise away and leaves the digits of a price, and only then to whole units. So an amount
worked out anew is ours to the last digit, whatever a program's own rounding does with numbers a hair off. Beyond
ten thousand million minor units binary numbers have no digits left for that.
"""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal

#: Significant digits that a product of three numbers has surely right in binary; decimals of a minor unit that suffice.
SURE_DIGITS, ENOUGH_DECIMALS = 14, 8


@dataclass(frozen=True, slots=True)
class Formula:
    """A formula and what it gives."""

    says: str
    gives: Decimal | float | str | None


@dataclass(frozen=True, slots=True)
class Rounding:
    """How amounts of a currency are rounded and shown: the decimals of its minor unit."""

    digits: int

    def of(self, product: str, size: Decimal, function: str = "ROUND") -> str:
        """A product in a formula, which is about `size`, rounded to the minor unit, or rounded up by ROUNDUP.

        >>> Rounding(2).of("B2*C2", Decimal("1234.5")), Rounding(0).of("B2*C2", Decimal(70_000_000))
        ('ROUND(ROUND(B2*C2*100,8),0)/100', 'ROUND(ROUND(B2*C2,6),0)')
        """
        times, per = (f"*{10**self.digits}", f"/{10**self.digits}") if self.digits else ("", "")
        return f"{function}(ROUND({product}{times},{self._sure(size)}),0){per}"

    def half_up(self, amount: str, size: Decimal) -> str:
        """An amount in a formula, about `size`, rounded to the minor unit, halves towards more as `Books.money` does.

        >>> Rounding(2).half_up("B2", Decimal(12))
        'INT(ROUND((B2)*100,8)+0.5)/100'
        """
        times, per = (f"*{10**self.digits}", f"/{10**self.digits}") if self.digits else ("", "")
        return f"INT(ROUND(({amount}){times},{self._sure(size)})+0.5){per}"

    def total(self, amount: str) -> str:
        """A sum of rounded amounts in a formula, without the noise of binary numbers.

        >>> Rounding(2).total("SUM(B2:B4)")
        'ROUND(SUM(B2:B4),2)'
        """
        return f"ROUND({amount},{self.digits})"

    def _sure(self, size: Decimal) -> int:
        """Decimals of a minor unit that binary numbers of a size have surely right."""
        whole = len(str(int(abs(size.scaleb(self.digits)))))
        return min(ENOUGH_DECIMALS, max(1, SURE_DIGITS - whole))

    @property
    def money(self) -> str:
        """The form of an amount."""
        return f"#,##0.{'0' * self.digits}" if self.digits else "#,##0"

    def price(self, price: Decimal) -> str:
        """The form of a price, which may be finer than the minor unit."""
        finer = price != round(price, self.digits)
        return f"{self.money if self.digits else '#,##0.0'}####" if finer else self.money

    @property
    def signed(self) -> str:
        """The form of an amount that is a difference."""
        return f"+{self.money};-{self.money};{self.money}"


def share_of(part: str, whole: str, gives: Decimal | None) -> Formula:
    """One cell as a share of another, empty where that is not above zero."""
    return Formula(f'IF({whole}>0,{part}/{whole},"")', gives)
