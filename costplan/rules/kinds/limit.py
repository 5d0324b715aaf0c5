"""The kind that compares a number with bounds: measures, attributes, counts, sums and differences of them, prices, and
what only a gauge gives."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from decimal import Decimal
from typing import Annotated, Literal

from pydantic import BeforeValidator, Field

from costplan.build import PRICE, Figure, Pattern, Source, attributes_behind, slots_behind, what_is_wrong, what_of
from costplan.garage import Inspected
from costplan.problems import Problem, nearest
from costplan.quantity import Method, Quantity, Ties, as_compared, dimension, round_figures
from costplan.reading.fields import Day, Text, Words
from costplan.reading.fields import Kind as Form
from costplan.rules.answers import Answer
from costplan.rules.clause import Test
from costplan.rules.evidence import Evidence
from costplan.rules.kinds.bounds import Bound, to_bound, to_width
from costplan.rules.kinds.common import Kind, Known, Where, currency_faults, either, empty_fault, no_part, slot_faults

#: Of more sources than these the sum is named that is to be measured.
FEW = 4

#: Figures to which a bound worked out from two units is kept; what is noise of conversions, of a unit or of a value.
TRUSTED, NOISE = 12, 1e-9

#: The keys that are numbers with a unit.
BOUNDS = ("min", "max", "nominal", "within", "tolerance")

_BOUND = Form("number, its unit or currency in quotes")


class Limit(Test):
    """kind = "limit": a number not below min, not above max: a measure, attribute, count or price, or a sum of them"""

    of: Words = Field(
        default=(),
        description="a measure (displacement), slot.attribute (crank.stroke), made.slot.attribute (as the catalog has "
        "it), count.role (count.rocker), price or price.slot; several are added up",
    )
    reads: Text = Field(
        default="",
        description="in place of `of`: what only a gauge gives, in words (idle vacuum at 900 rpm); the value that "
        "inspections.csv notes on the clause is compared",
    )
    less: Words = Field(default=(), description="what is taken off: made.block.bore for what a bore has grown")
    min: Annotated[Bound | None, BeforeValidator(to_bound), _BOUND] = Field(
        default=None, description='least value, its unit in quotes: "300 in3"'
    )
    max: Annotated[Bound | None, BeforeValidator(to_bound), _BOUND] = Field(
        default=None, description='greatest value, its unit in quotes: "330 in3", "9000 USD"'
    )
    nominal: Annotated[Bound | None, BeforeValidator(to_bound), _BOUND] = Field(
        default=None, description="the value it should have, beside within"
    )
    within: Annotated[Bound | None, BeforeValidator(to_width), _BOUND] = Field(
        default=None, description="how far from nominal it may be"
    )
    tolerance: Annotated[Bound | None, BeforeValidator(to_width), _BOUND] = Field(
        default=None, description="how far past its bounds still meets; nothing where empty"
    )
    rounding: Literal["absolute", "rounded"] | None = Field(
        default=None,
        description="as the pack says where empty; rounded: to the last place the bound is written with, then compared",
    )
    measured: Words = Field(
        default=(), description="what must be measured for a proof by measurement; all that it rests on where empty"
    )
    method: Text = Field(default="", description="how it is measured, in words: with fluid, piston at the top")
    prices_on: Day | None = Field(default=None, description="day whose prices count; the day asked about where empty")
    without: Words = Field(default=(), description="slots whose price does not count")

    @property
    def least(self) -> Bound | None:
        """The lower bound, also of nominal and within."""
        return _shifted(self.nominal, self.within, -1) if self.nominal else self.min

    @property
    def greatest(self) -> Bound | None:
        return _shifted(self.nominal, self.within, 1) if self.nominal else self.max

    @property
    def unit(self) -> str:
        return next(bound.unit for bound in (self.greatest, self.least) if bound)

    @property
    def names(self) -> tuple[str, ...]:
        return (*self.of, *self.less)

    @property
    def prices_float(self) -> bool:
        """Whether it limits prices of the day asked about."""
        return self.prices_on is None and any(_is_price(word) for word in self.names)


@dataclass(frozen=True, slots=True)
class Span:
    """What is compared: a total of names, those of `less` taken off, between bounds in one unit."""

    of: tuple[str, ...]
    less: tuple[str, ...]
    unit: str
    low: float | None
    high: float | None

    @property
    def names(self) -> tuple[str, ...]:
        return (*self.of, *self.less)


def span_of(test: Limit, method: Method) -> Span | None:
    """What a limit compares, its bounds as wide as tolerance and rounding let a value be; None where it is prices."""
    if not test.of or any(_is_price(word) for word in test.names):
        return None
    room = _room(test) + (_half_place(test) if (test.rounding or method) == "rounded" else 0.0)
    low = test.least.quantity.to(test.unit) - room if test.least else None
    high = test.greatest.quantity.to(test.unit) + room if test.greatest else None
    return Span(test.of, test.less, test.unit, low, high)


def _room(test: Limit) -> float:
    """The tolerance in the limit's unit, with twice the noise that is left out of account beside one; 0 without."""
    if not test.tolerance:
        return 0.0
    bounds = (bound.quantity.to(test.unit) for bound in (test.least, test.greatest, test.tolerance) if bound)
    return _width(test.tolerance, test.unit) + 2 * NOISE * max(1.0, *(abs(bound) for bound in bounds))


def _half_place(test: Limit) -> float:
    """Half of the last place that a bound is written with, in the limit's unit: as far as rounding lets a value be."""
    bounds = [bound for bound in (test.least, test.greatest) if bound]
    places = (Quantity(0.5 * 10.0 ** int(bound.number.as_tuple().exponent), bound.unit) for bound in bounds)
    return max(place.to(test.unit) for place in places)


def _shifted(nominal: Bound, within: Bound | None, sign: int) -> Bound:
    if within is None:
        return nominal
    if within.unit == nominal.unit:
        return Bound(nominal.number + sign * within.number, nominal.unit)
    step = Decimal(repr(within.quantity.to(nominal.unit)))
    return Bound(round_figures(nominal.number + sign * step, TRUSTED), nominal.unit)


def _is_price(name: str) -> bool:
    return name.partition(".")[0] == PRICE


def _limit_faults(test: Limit, known: Known, where: Where) -> Iterator[Problem]:
    """What is wrong with a limit: its form, what it speaks of, else its bounds."""
    form = _form_fault(test, where)
    if form is not None:
        yield form
        return
    faults = [*money_faults(test, known, where)]
    if known.pattern is not None:
        yield from slot_faults(test.without, known, where, "without")
        named = (("of", test.names), ("measured", test.measured))
        faults += [
            fault for key, words in named for word in words for fault in _name_faults(word, key, known.pattern, where)
        ]
    yield from faults or _bound_faults(test, known.pattern, where)


def _form_fault(test: Limit, where: Where) -> Problem | None:
    """A limit that asks nothing, or gives a thing twice over."""
    if not test.of and (test.less or not test.reads):
        return empty_fault(where, "of", "give what it limits, or under reads what is read")
    if test.of and test.reads:
        return where.problem("RUL004", "reads", test.reads, "a value given twice over:", "leave out of or reads")
    if test.nominal is None and test.min is None and test.max is None:
        return empty_fault(where, "max", "give min, max or both, or nominal and within")
    if test.nominal is not None and (test.min or test.max):
        return where.problem("RUL004", "nominal", str(test.nominal), "bounds twice over:", "leave out min and max")
    if test.within is not None and test.nominal is None:
        return where.problem("RUL004", "within", str(test.within), "a width around nothing:", "give nominal")
    return None


def money_faults(test: Limit, known: Known, where: Where) -> Iterator[Problem]:
    """Bounds in two currencies, or in one without a rate."""
    bounds = [(key, getattr(test, key)) for key in BOUNDS if getattr(test, key)]
    money = [(key, bound) for key, bound in bounds if bound.is_money]
    for key, bound in money:
        if bound.unit != money[0][1].unit:
            yield where.problem(
                "REA021", key, str(bound), "bounds in two currencies:", f"give it in {money[0][1].unit}"
            )
        else:
            yield from currency_faults(bound.unit, key, known, where)


def _name_faults(word: str, key: str, pattern: Pattern, where: Where) -> Iterator[Problem]:
    """What is wrong with a name that a limit gives."""
    slot, point, rest = word.removeprefix("made.").partition(".")
    if _is_price(word):
        if point and rest not in pattern.slots:
            advice = nearest(rest, pattern.slots)
            yield where.problem("RUL002", key, word, "a slot that the pattern lacks:", advice)
        return
    what = what_of(word, pattern)
    if what == "text":
        advice = "give kind word, or an attribute that is a number"
        yield where.problem("RUL003", key, word, "an attribute that is a word:", advice)
    elif not what:
        unknown = point and slot not in (*pattern.slots, "count")
        yield where.problem("RUL002" if unknown else "RUL003", key, word, *what_is_wrong(word, pattern))


def _bound_faults(test: Limit, pattern: Pattern | None, where: Where) -> Iterator[Problem]:
    """What is wrong with the bounds of a limit, and with names that measure different things."""
    names = test.names if pattern is not None else ()
    kinds = list(dict.fromkeys("money" if _is_price(word) else what_of(word, pattern) for word in names if pattern))
    kinds = kinds or [_kind_of(bound) for bound in (test.nominal, test.min, test.max) if bound][:1]
    if len(kinds) > 1:
        what = f"a {kinds[0]} and a {kinds[1]} that are added up:"
        yield where.problem("RUL003", "of", " ".join(test.names), what, "add up things of one kind")
        return
    bounds = [(key, getattr(test, key)) for key in BOUNDS]
    wrong = [(key, bound) for key, bound in bounds if bound and _kind_of(bound) != kinds[0]]
    for key, bound in wrong:
        unit = "currency" if kinds[0] == "money" else f"unit of {kinds[0]}"
        what, advice = f"a bound that is no {kinds[0]}:", f"give a {unit} in quotes"
        yield where.problem("REA021", key, str(bound), what, advice)
    if not wrong and test.min and test.max and _width(test.min, test.max.unit) > test.max.quantity.value:
        advice = f"give at most {test.max}"
        yield where.problem("RUL004", "min", str(test.min), "a min above the max:", advice)


def _kind_of(bound: Bound) -> str:
    return "money" if bound.is_money else dimension(bound.unit) or ""


def _slots_of(test: Limit, pattern: Pattern) -> tuple[str, ...]:
    """The slots whose parts it rests on."""
    return tuple(dict.fromkeys(slot for slot, _ in _read_by(test, pattern)))


def _read_by(test: Limit, pattern: Pattern) -> tuple[tuple[str, str], ...]:
    """The attributes that it rests on, each with its slot; '' where the part itself is priced or counted."""
    found: list[tuple[str, str]] = []
    for word in test.names:
        if _is_price(word):
            slot = word.partition(".")[2]
            found += [(one, "") for one in ([slot] if slot else pattern.slots) if slot or one not in test.without]
        else:
            found += attributes_behind(word, pattern)
    return tuple(dict.fromkeys(found))


def _spoken_of(test: Limit, pattern: Pattern) -> tuple[str, ...]:
    """The slots it speaks of by themselves, not in the mass or the price of them all."""
    names = [word for word in test.names if not _is_price(word)]
    prices = [word.partition(".")[2] for word in test.names if _is_price(word) and "." in word]
    behind = (slot for word in names for slot in slots_behind(word, pattern, sums=word.startswith("count.")))
    return (*prices, *behind)


def _named_slots(test: Limit) -> tuple[str, ...]:
    """The slots that it names itself."""
    words = [word.removeprefix("made.") for word in test.names]
    return tuple(
        word.removeprefix("price.").partition(".")[0] for word in words if "." in word and not word.startswith("count.")
    )


def _check_limit(test: Limit, evidence: Evidence, seen: Inspected | None) -> Answer:
    """Where the value stands to its bounds; one that an inspector measured goes before what was worked out."""
    limit = _bounds_in_words(test)
    empty = no_part(_named_slots(test), evidence)
    if empty is not None:
        return Answer(empty.on_paper, limit=limit, owed=empty.owed, why=empty.why)
    figures = [_figure(word, test, evidence) for word in test.names]
    why = tuple(dict.fromkeys(line for figure in figures for line in figure.why))
    total = _total(figures, test) if figures else None
    found = _spread(total, test, evidence) if total is not None else None
    found = _as_read(test, evidence, seen, found) or found
    if found is None:
        missing = tuple(dict.fromkeys(word for figure in figures for word in figure.missing))
        missing = missing or (f"reading of {test.reads}",)
        return Answer("cannot be shown", limit=limit, owed=missing, why=why)
    return _compared(found, test, evidence, limit, why)


@dataclass(frozen=True, slots=True)
class _Found:
    """A value, its worst cases, its uncertainty, who says so, what of it was not measured, and what that settles."""

    value: Quantity
    low: Quantity | None
    high: Quantity | None
    uncertainty: Quantity | None
    says: str
    unmeasured: tuple[str, ...] | None
    settled: tuple[str, ...] = ()


def _as_read(test: Limit, evidence: Evidence, seen: Inspected | None, stated: _Found | None) -> _Found | None:
    """The value that an inspector noted; one by somebody whose gauge does not count goes behind a proof."""
    reading = seen.reading if seen is not None else None
    if seen is None or not isinstance(reading, Quantity) or dimension(reading.unit) != dimension(test.unit):
        return None
    if stated is not None and stated.unmeasured == () and not evidence.counts(seen):
        return None
    beside = f", else {stated.value.into(test.unit)}" if stated else ""
    return _Found(reading, None, None, seen.spread, f"{seen}{beside}", None, ("measurement", "inspection"))


def _figure(word: str, test: Limit, evidence: Evidence) -> Figure:
    if _is_price(word):
        slot, day = word.partition(".")[2], test.prices_on or evidence.on
        return evidence.sheet.price(evidence.figures.build, slot, test.without, day, test.unit)
    return evidence.figures.named(word)


def _total(figures: list[Figure], test: Limit) -> Quantity | None:
    """The sum of what is named, less what is taken off, in the unit of the bounds; None while one is unknown."""
    total = 0.0
    for number, figure in enumerate(figures):
        if figure.value is None:
            return None
        value = figure.value.value if figure.value.unit == test.unit else figure.value.to(test.unit)
        total += value if number < len(test.of) else -value
    return Quantity(total, test.unit)


def _compared(found: _Found, test: Limit, evidence: Evidence, limit: str, why: tuple[str, ...]) -> Answer:
    value = found.value if found.value.unit == test.unit else found.value.into(test.unit)
    margin, breaks = _margin(value, test, evidence), _is_past(value, test, evidence)
    spread = found.uncertainty.to(test.unit) if found.uncertainty else 0.0
    ends = [Quantity(value.value + step, test.unit) for step in (-spread, spread)]
    near = abs(margin + _width(test.tolerance, test.unit)) <= spread
    corners = [one.into(test.unit) for one in (found.low, found.high) if one]
    build = evidence.figures.build
    slots = _slots_of(test, build.pattern) if breaks else ()
    return Answer(
        "breaks" if breaks else "meets",
        tuple((slot, build.fills[slot].part.part) for slot in slots if slot in build.fills),
        (why or (found.says,)) if breaks else (),
        value,
        limit,
        Quantity(margin, test.unit),
        _in(found.low, test.unit),
        _in(found.high, test.unit),
        _in(found.uncertainty, test.unit),
        bool(spread) and (near or any(_is_past(end, test, evidence) != breaks for end in ends)),
        any(_is_past(corner, test, evidence) for corner in corners),
        unmeasured=found.unmeasured,
        settled=found.settled,
        why=(found.says, *why) if found.says else why,
    )


def _in(value: Quantity | None, unit: str) -> Quantity | None:
    return value.into(unit) if value is not None else None


def _is_past(value: Quantity, test: Limit, evidence: Evidence) -> bool:
    """Whether a value is past its bounds by more than their tolerance, the noise of conversions left out of account."""
    width = _width(test.tolerance, test.unit)
    noise = NOISE * max(1.0, abs(value.value)) if width else 0.0
    return _margin(value, test, evidence) < -width - noise


def _margin(value: Quantity, test: Limit, evidence: Evidence) -> float:
    """How far a value is inside its bounds, as it is compared with each; negative outside."""
    method, ties = test.rounding or evidence.rounding, evidence.ties
    below = math.inf if test.greatest is None else 0.0 - _past(value, test.greatest, method, ties)
    above = math.inf if test.least is None else _past(value, test.least, method, ties)
    return min(below, above)


def _past(value: Quantity, bound: Bound, method: Method, ties: Ties) -> float:
    """How far a value is above a bound, in its own unit, as it is compared (ASTM E29)."""
    number = value.value if value.unit == bound.unit else value.to(bound.unit)
    past = float(as_compared(number, bound.number, method, ties) - bound.number) + 0.0
    return past if value.unit == bound.unit else Quantity(past, bound.unit).to(value.unit)


def _width(bound: Bound | None, unit: str) -> float:
    if bound is None:
        return 0.0
    return bound.quantity.value if bound.unit == unit else bound.quantity.to(unit)


def _bounds_in_words(test: Limit) -> str:
    if test.nominal is not None:
        words = [f"{test.nominal} within {test.within}" if test.within else f"{test.nominal}"]
    else:
        words = [f"at least {test.min}"] if test.min else []
        words += [f"at most {test.max}"] if test.max else []
    words += [f"tolerance {test.tolerance}"] if test.tolerance and test.tolerance.number else []
    return ", ".join(words)


def _limit_words(test: Limit) -> str:
    what = test.reads or " + ".join(test.of) + "".join(f" - {word}" for word in test.less)
    on = f" at prices of {test.prices_on}" if test.prices_on else ""
    without = f" without {either(test.without)}" if test.without else ""
    method = f", {test.method}" if test.method else ""
    rounded = ", rounded to its last place" if test.rounding == "rounded" else ""
    return f"{what}{without}{on}: {_bounds_in_words(test)}{rounded}{method}"


def _spread(total: Quantity, test: Limit, evidence: Evidence) -> _Found:
    """How far a worked-out value may be off, and what of it is not measured; the bench measures no price."""
    if evidence.brief or any(_is_price(word) for word in test.names):
        return _Found(total, None, None, None, "", None)
    figures, asked = evidence.figures, test.measured or test.names
    spread = figures.spread(*test.of, less=test.less)
    sources = figures.sources(*test.measured) if test.measured else spread.sources
    done = [source for source in sources if _is_measured(source, evidence)]
    lacking = [source for source in sources if not source.fixed and source not in done]
    named = tuple(f"{source.slot}.{source.attribute}".lstrip(".") for source in lacking)
    # Numbers of the pattern need no gauge beside what was measured; alone they show nothing.
    unmeasured = asked if len(named) > FEW or not (named or done) else named
    return _Found(total, spread.low, spread.high, spread.uncertainty, "", unmeasured)


def _is_measured(source: Source, evidence: Evidence) -> bool:
    """Whether the bench had measured a source by the day asked about, by somebody whose gauge counts."""
    row = source.bench
    return row is not None and row.date <= evidence.on and (not evidence.gauges or row.by in evidence.gauges)


LIMIT = Kind(
    "limit",
    Limit,
    _limit_faults,
    _check_limit,
    _slots_of,
    _limit_words,
    speaks_of=_spoken_of,
    by_parts=lambda test: bool(test.of),
    reads=_read_by,
)
