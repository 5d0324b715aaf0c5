"""Rows of arrays as plain JSON values."""

from __future__ import annotations

import math
from collections.abc import Iterable
from itertools import pairwise
from typing import Any

#: Digits that a difference of added-up use is good for: what lies behind them is noise of the sums.
DIGITS = 12


def number(value: Any) -> float | None:
    """A number; None where it is infinite."""
    return float(value) if math.isfinite(value) else None


def whole(values: Iterable[Any]) -> list[int]:
    return [int(value) for value in values]


def yes_no(values: Iterable[Any]) -> list[bool]:
    return [bool(value) for value in values]


def sums(values: Iterable[Any]) -> list[float]:
    return [float(value) for value in values]


def steps_of(added_up: Iterable[Any]) -> list[float]:
    """What was added at each run, from the sums before every run and after the last.

    >>> steps_of([0.0, 0.1, 0.1 + 0.2])
    [0.1, 0.2]
    """
    return [float(f"{after - before:.{DIGITS}g}") for before, after in pairwise(sums(added_up))]
