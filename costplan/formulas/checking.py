"""What a formula cannot answer: inputs that are refused, each by name with what to give instead."""

from __future__ import annotations

import math
from collections.abc import Sequence


class InputError(ValueError):
    """An input for which a formula has no answer: its `name` and `value`, and the `advice` what to give instead."""

    def __init__(self, name: str, value: float | str, advice: str) -> None:
        self.name, self.value, self.advice = name, value if isinstance(value, str) else f"{value:.10g}", advice
        super().__init__(f"{name} = {self.value}: {advice}")


def need_finite(**inputs: float) -> None:
    """Any number but inf and NaN."""
    for name, value in inputs.items():
        if not math.isfinite(value):
            raise InputError(name, value, "give a plain number")


def need_above(bound: float, **inputs: float) -> None:
    """Finite numbers above a bound, not at it.

    >>> need_above(0, periods=-2.0)
    Traceback (most recent call last):
    ...
    costplan.formulas.checking.InputError: periods = -2: give a number above 0
    """
    for name, value in inputs.items():
        if not bound < value < math.inf:
            raise InputError(name, value, f"give a number above {bound:g}")


def need_at_least(bound: float, **inputs: float) -> None:
    for name, value in inputs.items():
        if not bound <= value < math.inf:
            raise InputError(name, value, f"give a number of at least {bound:g}")


def need_at_most(bound: float, **inputs: float) -> None:
    for name, value in inputs.items():
        if not -math.inf < value <= bound:
            raise InputError(name, value, f"give a number of at most {bound:g}")


def need_share(**inputs: float) -> None:
    """Shares between 0 and 1, at neither end."""
    for name, value in inputs.items():
        if not 0 < value < 1:
            raise InputError(name, value, "give a number between 0 and 1, 0.05 for five in a hundred")


def need_numbers(least: int = 1, **inputs: Sequence[float]) -> None:
    """Lists of so many finite numbers at least."""
    for name, values in inputs.items():
        if len(values) < least or not all(math.isfinite(value) for value in values):
            raise InputError(name, listed(values), f"give a list of at least {least} plain number{'s'[: least - 1]}")


def listed(values: Sequence[float]) -> str:
    """
    >>> listed((-100, 39.5))
    '-100,39.5'
    """
    return ",".join(f"{value:g}" for value in values)
