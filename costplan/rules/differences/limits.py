"""How limits are compared: how far each bound has moved, how far past it still meets, how values are rounded, and what
must be measured."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from decimal import Decimal
from typing import Any

from costplan.quantity import Quantity, dimension, places_of, round_figures
from costplan.rules.differences.compare import set_shifts
from costplan.rules.differences.difference import Shift, Way
from costplan.rules.kinds import Limit
from costplan.rules.kinds.bounds import Bound
from costplan.rules.kinds.limit import TRUSTED


def bounds(old: Limit, new: Limit) -> Iterator[Shift]:
    """The bounds of a limit: how far each has moved."""
    derived, rounded = bool(old.nominal or new.nominal), old.rounding == new.rounding == "rounded"
    most, fewest = ("greatest", "least") if derived else ("max", "min")
    yield from _bound(most, old.greatest, new.greatest, higher="loosened", rounded=rounded)
    yield from _bound(fewest, old.least, new.least, higher="tightened", rounded=rounded)


def tolerance(old: Limit, new: Limit) -> Iterator[Shift]:
    """How far past its bounds still meets: none is the tightest."""
    if old.tolerance or new.tolerance:
        before, after = (test.tolerance or Bound(Decimal(0), test.unit) for test in (old, new))
        yield from _bound("tolerance", before, after, higher="loosened")


def _bound(label: str, old: Bound | None, new: Bound | None, higher: Way, *, rounded: bool = False) -> Iterator[Shift]:
    """How one bound has moved, in the unit that it is given in now; `rounded`: values are, to its last place."""
    if old is None or new is None:
        yield from _bound_or_none(label, old, new)
    elif not _comparable(old, new):
        yield Shift("changed", f"{label} {old} -> {new}")
    else:
        step = new.number - _number_in(old, new.unit)
        lower: Way = "tightened" if higher == "loosened" else "loosened"
        way = higher if step > 0 else lower
        if step:
            yield Shift(way, f"{label} {old} -> {new}: {way} by {_step_words(step, old, new)}")
        elif str(old) != str(new):
            way = _by_places(old, new) if rounded else "words"
            yield Shift(way, f"{label} written as {new}; before, as {old}")


def _by_places(old: Bound, new: Bound) -> Way:
    """What writing a bound with more places does where values are rounded to its last: it lets less slip past."""
    before, after = places_of(old.number), places_of(new.number)
    if old.unit != new.unit or before == after:
        return "words" if old.unit == new.unit else "changed"
    return "tightened" if after > before else "loosened"


def _bound_or_none(label: str, old: Bound | None, new: Bound | None) -> Iterator[Shift]:
    if new is not None:
        yield Shift("tightened", f"{label} {new}; before, none: tightened")
    elif old is not None:
        yield Shift("loosened", f"no {label}; before, {old}: loosened")


def _comparable(old: Bound, new: Bound) -> bool:
    return old.unit == new.unit or (dimension(old.unit) is not None and dimension(old.unit) == dimension(new.unit))


def _number_in(bound: Bound, unit: str) -> Decimal:
    if bound.unit == unit:
        return bound.number
    return round_figures(Decimal(repr(bound.quantity.to(unit))), TRUSTED)


def _step_words(step: Decimal, old: Bound, new: Bound) -> str:
    """How far apart two bounds are: to the digit where both are in one unit."""
    return str(Bound(abs(step), new.unit) if old.unit == new.unit else Quantity(float(abs(step)), new.unit))


def rounding(old: Any, new: Any) -> Iterator[Shift]:
    """Rounding to the last place lets values pass that are past the bound by less than half of it, and stops none."""
    before, after = old.rounding, new.rounding
    if before != after:
        ways: Mapping[tuple[str, str], Way] = {
            ("absolute", "rounded"): "loosened",
            ("rounded", "absolute"): "tightened",
        }
        words = f"compared {after or 'as the pack says'}; before, {before or 'as the pack says'}"
        yield Shift(ways.get((before, after), "changed"), words)


def measured(old: Limit, new: Limit) -> Iterator[Shift]:
    """What must be measured: all that the value rests on where nothing is named."""
    if old.measured and new.measured:
        yield from set_shifts(old.measured, new.measured, "to be measured too:", "no longer to be measured:")
    elif new.measured:
        yield Shift("loosened", f"to be measured only {', '.join(new.measured)}; before, all that it rests on")
    elif old.measured:
        yield Shift("tightened", f"to be measured all that it rests on; before, only {', '.join(old.measured)}")
