"""Two bills side by side: what differs, and whether the power of one is estimated to be more by more than the error."""

from __future__ import annotations

from collections.abc import Iterator
from decimal import Decimal
from typing import Literal, TypeVar

from costplan.choose.choosing import Option

Buys = Literal["more power", "less power", "nothing certain", "not known"]

Number = TypeVar("Number", Decimal, float)


def differences(first: Option, other: Option) -> Iterator[tuple[str, str, str]]:
    """The slots in which two bills differ, with the part of each; '' for none."""
    before, after = dict(first.parts), dict(other.parts)
    for slot in sorted({*before, *after}):
        if before.get(slot, "") != after.get(slot, ""):
            yield slot, before.get(slot, ""), after.get(slot, "")


def more(after: Number | None, before: Number | None) -> Number | None:
    """How much more one is than the other; None where either is not known."""
    return None if after is None or before is None else after - before


def what_it_buys(before: Option, after: Option) -> Buys:
    """Whether one bill is estimated to give more power than the other: by more than the error of either."""
    gain = more(after.power, before.power)
    if gain is None or before.error is None or after.error is None:
        return "not known"
    if abs(gain) <= max(before.error, after.error):
        return "nothing certain"
    return "more power" if gain > 0 else "less power"
