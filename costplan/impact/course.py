"""What a change costs year by year, not rounded, so that what is added up from it is what a study adds up."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal

import numpy as np

from costplan.formulas.economics import single_present_value_factor
from costplan.impact.costing import EntrantCost
from costplan.money import minor_digits


@dataclass(frozen=True, slots=True)
class Course:
    """By entrant of a group, or of the whole field: paid `once`, `cash` of each year, and what is `left` more on hand
    at the end of the last. Not rounded, so that sums and present values come out as the study's own do."""

    once: Decimal
    cash: tuple[Decimal, ...]
    left: Decimal

    def so_far(self, rate: float) -> tuple[Decimal, ...]:
        """What was paid by the end of each year, worth on opening day; the first is what was paid once.

        >>> Course(Decimal(100), (Decimal(-55), Decimal(-121)), Decimal(0)).so_far(0.1)
        (Decimal('100.0'), Decimal('50.0'), Decimal('-50.0'))
        """
        worth = [float(self.once)]
        worth += [float(paid) * single_present_value_factor(rate, year) for year, paid in enumerate(self.cash, start=1)]
        return tuple(Decimal(repr(round(math.fsum(worth[: year + 1]), 9))) for year in range(len(worth)))


def course_of(costs: Sequence[EntrantCost], number: int, years: int, currency: str) -> Course:
    """The costs of some entrants by a number of them: by 1 their sum, by all their mean; nobody's are 0 in `years`."""

    def money(amount: float) -> Decimal:
        return Decimal(repr(float(amount))).scaleb(-minor_digits(currency))

    cash = sum((one.cash for one in costs[1:]), costs[0].cash) if costs else np.zeros(years)
    left = sum(one.left[-1] for one in costs)
    once = math.fsum(one.once for one in costs)
    return Course(money(once / number), tuple(money(amount / number) for amount in cash), money(left / number))
