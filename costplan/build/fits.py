"""Fits: what must go together in an engine, and how a build answers: meets, breaks, or cannot be shown."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from costplan.build.figures import Figure, Figures, Word
from costplan.build.names import attributes_behind, split_name, what_of
from costplan.build.pattern import Fit, Pattern
from costplan.quantity import Quantity

Answer = Literal["meets", "breaks", "cannot be shown"]
#: Above rounding noise of floats, as a share of what is compared; far below anything a gauge reads.
NOISE = 1e-9


@dataclass(frozen=True, slots=True)
class FitFinding:
    """How a build answers a fit.

    `value` and `other` are both sides as they were found, `difference` is the first less the second, and `margin` how
    far inside the bound it is, negative outside. `slots` are those whose parts it rests on.
    """

    fit: str
    verdict: Answer
    this: str
    must: str
    that: str
    value: Quantity | str | None
    other: Quantity | str | None
    difference: Quantity | None
    margin: Quantity | None
    slots: tuple[str, ...]
    for_what: str
    why: tuple[str, ...]
    missing: tuple[str, ...]
    place: str


def check_fits(figures: Figures) -> tuple[FitFinding, ...]:
    """The findings of the fits that are asked: none that rests on an optional slot left empty."""
    return tuple(find_fit(fit, figures) for fit in figures.build.pattern.fits if is_asked(fit, figures))


def is_asked(fit: Fit, figures: Figures) -> bool:
    """Whether every optional slot is filled whose part's attributes the fit compares, also through measures."""
    build = figures.build
    empty = {slot.slot for slot in build.pattern.slots.values() if slot.optional and slot.slot not in build.fills}
    return empty.isdisjoint(slots_of(fit, build.pattern, sums=False))


def fits_of(slot: str, pattern: Pattern) -> tuple[Fit, ...]:
    """The fits that a slot takes part in, also through the inputs of measures."""
    return tuple(fit for fit in pattern.fits if slot in slots_of(fit, pattern))


def find_fit(fit: Fit, figures: Figures) -> FitFinding:
    """The finding of one fit, whether or not it is asked."""
    pattern = figures.build.pattern
    this = _found(fit.this, figures)
    that = _found(fit.that, figures) if isinstance(fit.that, str) else Figure("", fit.that, (_in_words(fit),))
    value, other = this.value, that.value
    missing = tuple(dict.fromkeys((*this.missing, *that.missing)))
    difference = margin = None
    meets = False
    if isinstance(value, Quantity) and isinstance(other, Quantity):
        difference, margin = _compare(fit, value, other)
        meets = margin.value >= -NOISE * max(abs(value.value), abs(other.to(value.unit)))
    elif isinstance(value, str) and isinstance(other, str):
        meets = value == other if fit.must == "equal" else value in words_of(other)
    verdict: Answer = "cannot be shown" if missing else "meets" if meets else "breaks"
    return FitFinding(
        fit.fit,
        verdict,
        fit.this,
        fit.must,
        f"{fit.that}{_margins_in_words(fit)}",
        value,
        other,
        difference,
        margin,
        slots_of(fit, pattern),
        fit.why,
        tuple(dict.fromkeys((*this.why, *that.why))),
        missing,
        str(fit.place),
    )


def words_of(text: str) -> tuple[str, ...]:
    """The words of a list: parted by commas where there are any, else by blanks.

    >>> words_of("iron steel"), words_of("iron, nodular iron")
    (('iron', 'steel'), ('iron', 'nodular iron'))
    """
    return tuple(word.strip() for word in text.split(",") if word.strip()) if "," in text else tuple(text.split())


def _compare(fit: Fit, value: Quantity, other: Quantity) -> tuple[Quantity, Quantity]:
    """Difference and margin of two values, in the unit of the first."""
    unit = value.unit
    difference = value.value - other.to(unit)
    if fit.must == "equal":
        margin = (fit.within.to(unit) if fit.within else 0.0) - abs(difference)
    else:
        over = difference - (fit.plus.to(unit) if fit.plus else 0.0)
        margin = over if fit.must == "at least" else -over
    return Quantity(difference, unit), Quantity(margin, unit)


def _found(name: str, figures: Figures) -> Figure | Word:
    """One side of a fit: a number, or a word."""
    if what_of(name, figures.build.pattern) == "text":
        return figures.word(*split_name(name))
    return figures.named(name)


def slots_of(fit: Fit, pattern: Pattern, *, sums: bool = True) -> tuple[str, ...]:
    """The slots that a fit rests on."""
    return tuple(dict.fromkeys(slot for slot, _ in reads_of(fit, pattern, sums=sums)))


def reads_of(fit: Fit, pattern: Pattern, *, sums: bool = True) -> tuple[tuple[str, str], ...]:
    """The slots that a fit rests on, each with the attribute that it compares, also through the inputs of measures."""
    names = (fit.this, fit.that) if isinstance(fit.that, str) else (fit.this,)
    return tuple(pair for name in names for pair in attributes_behind(name, pattern, sums=sums))


def _in_words(fit: Fit) -> str:
    return f"{fit.must} {fit.that} ({fit.place})"


def _margins_in_words(fit: Fit) -> str:
    if fit.within:
        return f" within {fit.within}"
    if fit.plus:
        return f" less {-fit.plus.value:g} {fit.plus.unit}" if fit.plus.value < 0 else f" plus {fit.plus}"
    return ""
