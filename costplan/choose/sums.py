"""Limits as sums: what a bound on a mass, a difference of attributes or a compression ratio asks of each slot alone.

A measure that multiplies what two slots give is a sum once one of the two is fixed; `GIVEN` says by which inputs. The
sums are whole numbers, rounded so that nothing is lost that the limit lets pass; what they let pass beyond it, in the
last of some six digits, is found when the pick is judged.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import product
from types import MappingProxyType

from costplan.build import Figures, Reference
from costplan.choose.candidates import Candidate
from costplan.choose.judging import ClauseQuestion, FitQuestion, Judge, Question
from costplan.choose.puzzle import Allowed, Bounded
from costplan.quantity import Quantity
from costplan.rules.kinds.limit import Span
from costplan.rules.kinds.limit import span_of as span_of_limit

#: For measures that are no sums: the inputs that make them sums once they are fixed. Those of sums need none.
GIVEN: Mapping[str, tuple[str, ...]] = MappingProxyType(
    {
        "displacement": ("bore",),
        "swept_volume": ("bore",),
        "clearance_volume": ("bore",),
        "compression_ratio": ("bore",),
        "deck_clearance": (),
        "mass": (),
        "piston_speed": (),
        "bore": (),
        "stroke": (),
        **{
            f"{valve}_{name}": (own, "rocker_ratio")
            for valve in ("intake", "exhaust")
            for name in ("lift", "spring_margin")
            for own in (f"{valve}_rocker_ratio",)
        },
    }
)
#: What the largest weight of a sum is scaled to (`solver_of` says why no more), and how much wider a bound is than the
#: limit, as a share of it.
_SCALE, _WIDER = 2**20, 1e-9


def span_of(question: Question) -> Span | None:
    """What a question compares, where it is a sum of numbers, or becomes one once some slots are fixed."""
    span = _span_of_limit(question) if isinstance(question, ClauseQuestion) else _span_of_fit(question)
    if span is None or not span.names:
        return None
    plain = all("." in name for name in span.names)
    alone = len(span.names) == 1 and span.names[0] in GIVEN
    return span if plain or alone or set(span.names) == {"mass"} else None


def _span_of_fit(question: FitQuestion) -> Span | None:
    fit = question.fit
    if isinstance(fit.that, Quantity):
        unit, near = fit.that.unit, fit.that.value
        within, plus = (fit.within.to(unit) if fit.within else 0.0), (fit.plus.to(unit) if fit.plus else 0.0)
        low = near - within if fit.must == "equal" else near + plus if fit.must == "at least" else None
        high = near + within if fit.must == "equal" else near + plus if fit.must == "at most" else None
        return Span((fit.this,), (), unit, low, high)
    return None


def _span_of_limit(question: ClauseQuestion) -> Span | None:
    kept = question.limit is None or question.rule.heading.kept
    return None if kept or question.limit is None else span_of_limit(question.limit, question.evidence.rounding)


def sums_of(
    question: Question, ground: int, slots: Sequence[str], candidates: Mapping[str, Sequence[Candidate]], judge: Judge
) -> tuple[Bounded, ...] | None:
    """A question as sums over its slots, one for each way to fill those that must be fixed; None where it is none.

    A candidate of which an attribute is not known leaves the sum open: with it everything is let pass.
    """
    span = span_of(question)
    if span is None:
        return None
    adder = _Adder(span, question, judge, slots, candidates)
    if not adder.can_be_asked:
        return ()
    fixed = adder.fixed
    found = list[Bounded]()
    for classes in product(*(adder.alike(slot) for slot in fixed)):
        found += adder.sums(ground, dict(zip(fixed, classes, strict=True)))
    return tuple(found)


@dataclass(slots=True)
class _Adder:
    """Works out what each candidate adds to a span."""

    span: Span
    question: Question
    judge: Judge
    slots: Sequence[str]
    candidates: Mapping[str, Sequence[Candidate]]

    @property
    def scope(self) -> tuple[str, ...]:
        return tuple(dict.fromkeys(slot for slot, _ in self.question.reads if slot in self.candidates))

    @property
    def fixed(self) -> tuple[str, ...]:
        """The slots that must be fixed: those that the given inputs lead to."""
        if "." in self.span.names[0]:
            return ()
        inputs = self.judge.scenario.built().pattern.inputs
        found = (inputs[name][0] for name in GIVEN[self.span.names[0]] if name in inputs)
        return tuple(dict.fromkeys(one.slot for one in found if isinstance(one, Reference)))

    def alike(self, slot: str) -> tuple[tuple[int, ...], ...]:
        """The candidates of a slot that must be fixed, in groups that the span cannot tell apart by what is given."""
        groups: dict[object, list[int]] = {}
        for number, one in enumerate(self.candidates[slot]):
            groups.setdefault(self._given(one), []).append(number)
        return tuple(tuple(group) for group in groups.values())

    def _given(self, one: Candidate) -> object:
        figures = self.judge.figures_of(self.judge.build_of({one.slot: one}))
        names = GIVEN[self.span.names[0]]
        inputs = self.judge.scenario.built().pattern.inputs
        attributes = [inputs[name][0] for name in names if name in inputs]
        its = [each for each in attributes if isinstance(each, Reference) and each.slot == one.slot]
        return tuple(figures.attribute(each.slot, each.attribute).value for each in its)

    def sums(self, ground: int, fixed: Mapping[str, tuple[int, ...]]) -> Iterator[Bounded]:
        """The sums that bind while the fixed slots hold candidates of some groups."""
        where = self._where(ground, fixed)
        for bound, sign in ((self.span.high, 1.0), (self.span.low, -1.0)):
            if bound is None:
                continue
            parts = self._parts(bound, sign, fixed)
            if parts is not None:
                yield self._whole(ground, parts, where)

    def _where(self, ground: int, fixed: Mapping[str, tuple[int, ...]]) -> Allowed | None:
        """The tuples that the sum is asked of: those of the groups, where the conditions of a clause hold."""
        scope = [slot for slot in self.candidates if slot in fixed or slot in self._conditions]
        if not scope:
            return None
        numbers = [fixed.get(slot, tuple(range(len(self.candidates[slot])))) for slot in scope]
        tuples = frozenset(row for row in product(*numbers) if self._is_asked(scope, row))
        classes = tuple(tuple(range(len(self.candidates[slot]))) for slot in scope)
        return Allowed(ground, tuple(self.slots.index(slot) for slot in scope), classes, tuples)

    @property
    def can_be_asked(self) -> bool:
        """False where a clause has conditions that rest on no slot and do not hold."""
        conditional = isinstance(self.question, ClauseQuestion) and self.question.is_conditional
        return not conditional or bool(self._conditions) or self._holds({})

    @property
    def _conditions(self) -> frozenset[str]:
        """The slots that the conditions of a clause rest on."""
        return self.question.condition_slots if isinstance(self.question, ClauseQuestion) else frozenset()

    def _is_asked(self, scope: Sequence[str], row: Sequence[int]) -> bool:
        pairs = zip(scope, row, strict=True)
        return self._holds({slot: self.candidates[slot][one] for slot, one in pairs if slot in self._conditions})

    def _holds(self, chosen: Mapping[str, Candidate]) -> bool:
        """Whether the conditions of a clause are shown to hold for candidates of the slots that they rest on."""
        return not isinstance(self.question, ClauseQuestion) or self.judge.asks(self.question, chosen)

    def _parts(
        self, bound: float, sign: float, fixed: Mapping[str, tuple[int, ...]]
    ) -> tuple[float, dict[str, list[float | None]]] | None:
        """The value with the first known candidate of each slot, and what each other one adds to it; None: unknown.

        Signed so that a pick passes where the whole is at most zero.
        """
        if all("." in name for name in self.span.names) or self.span.names[0] == "mass":
            return -sign * bound, {slot: self._plain(slot, sign) for slot in self._added}
        base = self._base(fixed)
        if base is None:
            return None
        start = self._score(base, bound, sign)
        if start is None:
            return None
        added = {}
        for slot in self._added:
            row = list[float | None]()
            for number, one in enumerate(self.candidates[slot]):
                score = self._score({**base, slot: one}, bound, sign) if number in fixed.get(slot, (number,)) else start
                row.append(None if score is None else score - start)
            added[slot] = row
        return start, added

    @property
    def _added(self) -> tuple[str, ...]:
        """The slots that are added up: all it rests on but those of its conditions alone."""
        pairs = self.question.own_reads if isinstance(self.question, ClauseQuestion) else self.question.reads
        return tuple(dict.fromkeys(slot for slot, _ in pairs))

    def _plain(self, slot: str, sign: float) -> list[float | None]:
        """What each candidate of a slot adds to a sum of attributes, masses and counts."""
        return [self._added_by(one, sign) for one in self.candidates[slot]]

    def _added_by(self, one: Candidate, sign: float) -> float | None:
        if one.fill is None:
            return 0.0 if self.span.names[0] == "mass" or self.span.names[0].startswith("count.") else None
        figures = self.judge.figures_of(self.judge.build_of({one.slot: one}))
        total = 0.0
        for number, name in enumerate(self.span.names):
            factor = sign if number < len(self.span.of) else -sign
            slot, _, last = name.removeprefix("made.").partition(".")
            if name == "mass":
                value = (
                    figures.attribute(one.slot, "mass").value
                    if one.fill.slot.weighed
                    else Quantity(0.0, self.span.unit)
                )
                factor *= one.fill.slot.quantity
            elif slot == "count":
                value = Quantity(float(one.fill.slot.quantity) if one.fill.slot.role == last else 0.0)
            else:
                value = figures.named(name).value if slot == one.slot else Quantity(0.0, self.span.unit)
            if value is None:
                return None
            total += factor * value.to(self.span.unit)
        return total

    def _base(self, fixed: Mapping[str, tuple[int, ...]]) -> dict[str, Candidate] | None:
        """A candidate of each slot with all that is asked for; None where a slot has none."""
        found = {}
        for slot in self._added:
            numbers = fixed.get(slot, range(len(self.candidates[slot])))
            known = [self.candidates[slot][one] for one in numbers if self._is_known(slot, self.candidates[slot][one])]
            if not known:
                return None
            found[slot] = known[0]
        return found

    def _is_known(self, slot: str, one: Candidate) -> bool:
        figures = self.judge.figures_of(self.judge.build_of({slot: one}))
        needed = [attribute for other, attribute in self.question.reads if other == slot and attribute]
        return one.fill is not None and all(figures.attribute(slot, each).value is not None for each in needed)

    def _score(self, chosen: Mapping[str, Candidate], bound: float, sign: float) -> float | None:
        """How far past a bound candidates are, in what adds up; a ratio to 1 by swept - (bound - 1) * clearance."""
        figures = self.judge.figures_of(self.judge.build_of(chosen))
        if self.span.names[0] == "compression_ratio":
            swept, clear = (_value(figures, name, "cm3") for name in ("swept_volume", "clearance_volume"))
            return None if swept is None or clear is None else sign * (swept - (bound - 1) * clear)
        value = _value(figures, self.span.names[0], self.span.unit)
        return None if value is None else sign * (value - bound)

    def _whole(self, ground: int, parts: tuple[float, dict[str, list[float | None]]], where: Allowed | None) -> Bounded:
        """The sum in whole numbers: as many digits as fit, the bound a little wider than the limit."""
        start, added = parts
        largest = max((abs(one) for row in added.values() for one in row if one is not None), default=0.0)
        size = max(largest, abs(start)) or 1.0
        scale = _SCALE / size
        free = -int(scale * (abs(start) + sum(max(abs(one or 0.0) for one in row) for row in added.values()))) - 1
        weights = {
            self.slots.index(slot): tuple(free if one is None else round(one * scale) for one in row)
            for slot, row in added.items()
        }
        room = -start * scale + len(added) + 1 + _WIDER * scale * size * (len(added) + 1)
        return Bounded(ground, weights, None, int(room) + 1, where)


def _value(figures: Figures, name: str, unit: str) -> float | None:
    value = figures.measure(name).value
    return None if value is None else value.to(unit)
