"""What two editions of a book say differently, clause by clause, and whether that is tighter or looser.

Tighter is what an engine that met the book may break now; looser, what one that broke it may meet now. Where that rests
on more than the clause says (another measure, another list), neither is claimed.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from decimal import Decimal
from pathlib import Path
from types import MappingProxyType
from typing import Any, Literal, TypeAlias

from costplan.problems import Place, Problem, Problems, in_order
from costplan.quantity import Quantity, dimension, round_figures
from costplan.reading import Record, Setting, astray, read_toml, shown
from costplan.rules.change import UNKNOWN, Change, is_change, read_change
from costplan.rules.clause import Condition, Kept, Phase, Rule
from costplan.rules.evidence import PartList
from costplan.rules.kinds import KINDS, Known, Limit, Option, Parts
from costplan.rules.kinds.bounds import Bound
from costplan.rules.kinds.counted import ChargeTest
from costplan.rules.kinds.stated import Conduct, Seen
from costplan.rules.pack import Pack, read_pack

How = Literal[
    "tightened", "loosened", "tightened and loosened", "replaced", "added", "withdrawn", "from when", "reworded"
]
#: What one thing that differs does; `changed`: neither is tighter than the other, or it cannot be told.
Way = Literal["tightened", "loosened", "changed", "when", "words"]

#: Figures to which bounds in two units are compared; what is beyond them is the noise of conversions.
_TRUSTED = 12


@dataclass(frozen=True, slots=True)
class Shift:
    """One thing that differs, in plain words."""

    way: Way
    words: str


@dataclass(frozen=True, slots=True)
class Difference:
    """How one clause, one list of parts or one key of the header differs.

    `name`: the clause's id, the list's name or the key; `since`: from when, where the old one stays until then;
    `says`: what the clause says now, or said; `clause`: its chapter and page; `before`, `after`: where they stand.
    """

    what: Literal["clause", "list", "header"]
    name: str
    how: How
    words: tuple[str, ...]
    since: str = ""
    says: str = ""
    clause: str = ""
    before: Place | None = None
    after: Place | None = None


@dataclass(frozen=True, slots=True)
class Side:
    """One of two books that are compared; `changes`: what was worked into it."""

    name: str
    edition: str
    date: date | None
    file: str
    invented: bool
    changes: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Proposal:
    """A change as it introduces itself."""

    name: str
    author: str
    source: str
    date: date | None
    reason: str
    since: str
    invented: bool
    file: str


@dataclass(frozen=True, slots=True)
class Pair:
    """Two packs to compare, and the change that leads from the one to the other, if one does."""

    before: Pack
    after: Pack
    change: Change | None = None

    @property
    def sides(self) -> tuple[Side, Side]:
        return side_of(self.before), side_of(self.after)

    @property
    def proposal(self) -> Proposal | None:
        if self.change is None:
            return None
        head, since = self.change.header, _phase_words(self.change.header.phase)
        return Proposal(
            head.name, head.author, head.source, head.date, head.reason, since, head.invented, self.change.file
        )


def side_of(pack: Pack) -> Side:
    """How a pack introduces itself."""
    header, changes = pack.header, [change.header for change in pack.changes]
    invented = header.invented or any(change.invented for change in changes)
    names = tuple(change.name for change in changes)
    return Side(header.name, header.edition, header.date, pack.file, invented, names)


@dataclass(frozen=True, slots=True)
class _Volume:
    """A pack's file, and the change that is worked into it."""

    path: Path
    change: Change | None = None


def read_pair(
    first: Path, second: Path | None = None, settings: tuple[Setting, ...] = ()
) -> tuple[Pair | None, tuple[Problem, ...]]:
    """Two packs to compare, each by itself or as a change over a pack that lies beside it.

    With a pack before it, a change is worked into that one; a change alone is compared with its baseline.
    """
    problems = Problems()
    volumes = _volumes(first, second, settings, problems)
    packs = [pack for one in volumes if (pack := _read(one, settings, problems)) is not None]
    if len(packs) == 2 and not problems:
        problems.extend(astray(settings, dict.fromkeys(_addresses(volumes, packs))))
    if problems or len(packs) < 2:
        return None, in_order(problems.found)
    return Pair(packs[0], packs[1], volumes[1].change if volumes[0].change is None else None), ()


def _volumes(first: Path, second: Path | None, settings: tuple[Setting, ...], problems: Problems) -> list[_Volume]:
    """What is compared with what; nothing where that cannot be told."""
    after = _volume(second or first, settings, problems)
    if after is None:
        return []
    if second is None:
        return _with_baseline(after, problems)
    before = _volume(first, settings, problems)
    if before is not None and before.change is None and after.change is not None:
        after = replace(after, path=first)
        _check_baseline(after.change, first.name, problems)
    return [] if before is None else [before, after]


def _with_baseline(after: _Volume, problems: Problems) -> list[_Volume]:
    """A change behind its baseline; of a baseline that is not there the change tells when it is read."""
    if after.change is not None:
        return [_Volume(after.path), after] if after.path.exists() else [after]
    _, faults = read_toml(after.path, after.path.stem)
    advice = "name the pack or the change to compare it with; only a change stands alone"
    alone = Problem("REA016", Place(shown(after.path)), "", "", "a pack without another", advice)
    problems.extend(faults or (alone,))
    return []


def _volume(path: Path, settings: tuple[Setting, ...], problems: Problems) -> _Volume | None:
    if not is_change(path):
        return _Volume(path)
    change, faults = read_change(path, settings)
    problems.extend(faults)
    if change is None or change.header.baseline == UNKNOWN:
        return None
    return _Volume(path.parent / change.header.baseline, change)


def _check_baseline(change: Change | None, name: str, problems: Problems) -> None:
    if change is not None and change.header.baseline != name:
        place, advice = change.document.place(("baseline",)), f"compare it with its baseline, or give {name} here"
        problems.add("RUL010", place, "baseline", change.header.baseline, f"no change of {name} but of", advice)


def _read(volume: _Volume, settings: tuple[Setting, ...], problems: Problems) -> Pack | None:
    """A pack by itself: which slots, operations and levels there are is not known and not asked."""
    changes = () if volume.change is None else (volume.change,)
    if volume.change is not None and not volume.path.exists():
        place, what = volume.change.document.place(("baseline",)), "a change over a pack that is not there:"
        advice = "put the change beside its baseline, or name the pack first"
        problems.add("RUL010", place, "baseline", volume.change.header.baseline, what, advice)
        return None
    pack, faults = read_pack(volume.path, Known(), settings, changes)
    problems.extend(faults)
    return pack


def _addresses(volumes: Iterable[_Volume], packs: Iterable[Pack]) -> Iterator[str]:
    """The files that a `--set` may lead into."""
    for volume in volumes:
        yield volume.path.stem
        yield from () if volume.change is None else (Path(volume.change.file).stem,)
    for pack in packs:
        names = (pack.header.supplements, *(other.file for other in pack.recognised))
        yield from (Path(name).stem for name in names if name)


def differences(a: Pack, b: Pack) -> tuple[Difference, ...]:
    """All that differs between two packs: the header, the lists, the clauses in their order, new ones last.

    Of clauses that follow each other under one id the last is compared; what it follows only tells from when it holds.
    """
    return (*_header_differences(a, b), *_list_differences(a.lists, b.lists), *_clause_differences(a.rules, b.rules))


def how_of(shifts: Sequence[Shift]) -> How:
    """What several things that differ come to together."""
    ways = {shift.way for shift in shifts}
    if "changed" in ways:
        return "replaced"
    if {"tightened", "loosened"} <= ways:
        return "tightened and loosened"
    simple: tuple[tuple[Way, How], ...] = (
        ("tightened", "tightened"),
        ("loosened", "loosened"),
        ("when", "from when"),
    )
    return next((how for way, how in simple if way in ways), "reworded")


def _clause_differences(a: Sequence[Rule], b: Sequence[Rule]) -> Iterator[Difference]:
    before, after = _by_id(a), _by_id(b)
    for name in (*before, *(name for name in after if name not in before)):
        yield from _clause_difference(before.get(name, ()), after.get(name, ()))


def _by_id(rules: Iterable[Rule]) -> dict[str, tuple[Rule, ...]]:
    groups: dict[str, tuple[Rule, ...]] = {}
    for rule in rules:
        groups[rule.id] = (*groups.get(rule.id, ()), rule)
    return groups


def _clause_difference(before: tuple[Rule, ...], after: tuple[Rule, ...]) -> Iterator[Difference]:
    """How the clauses of one id differ, the last on either side."""
    old, new = before[-1] if before else None, after[-1] if after else None
    stood, stands = old is not None and old.ended is None, new is not None and new.ended is None
    if new is not None and stands and not stood:
        yield _of_clause(new, "added", _asks(new), _since(new), None, new.place)
    elif old is not None and stood and not stands:
        since = "" if new is None or new.ended is None else _phase_words(new.ended)
        yield _of_clause(old, "withdrawn", _asks(old), since, old.place, None)
    elif old is not None and new is not None:
        yield from _altered(old, new, phased=len(after) > len(before))


def _altered(old: Rule, new: Rule, *, phased: bool) -> Iterator[Difference]:
    """How a clause differs that stands in both books; `phased`: the old one stays until the new one begins."""
    shifts = tuple(_rule_shifts(old, new, phased=phased))
    if shifts:
        words = tuple(shift.words for shift in shifts)
        yield _of_clause(new, how_of(shifts), words, _since(new) if phased else "", old.place, new.place)


def _of_clause(
    rule: Rule, how: How, words: tuple[str, ...], since: str, before: Place | None, after: Place | None
) -> Difference:
    return Difference("clause", rule.id, how, words, since, rule.heading.says, rule.clause, before, after)


def _asks(rule: Rule) -> tuple[str, ...]:
    """What a clause asks, where it is asked, and how it is shown."""
    proofs = _proofs(rule)
    return (
        _asked(rule),
        *(f"asked only where {_condition_words(one)}" for one in rule.when),
        *(f"not asked where {_condition_words(one)}" for one in rule.unless),
        *((f"shown by {', '.join(proofs)}",) if proofs else ()),
    )


def _asked(rule: Rule) -> str:
    """What a clause asks; of a kind that is words alone, only that."""
    words = KINDS[rule.kind].words(rule.test)
    return f"{words} (advice)" if rule.heading.severity == "should" else f"{words}"


def _condition_words(condition: Condition) -> str:
    return f"{KINDS[condition.kind].words(condition.test)}"


def _proofs(rule: Rule) -> tuple[str, ...]:
    """What shows a clause beside the parts list, which shows nothing by itself."""
    return tuple(proof for proof in rule.heading.proof or KINDS[rule.kind].owes if proof != "list")


def _since(rule: Rule) -> str:
    return _phase_words(Phase(rule.heading.effective, rule.heading.from_round))


def _phase_words(phase: Phase) -> str:
    if phase.from_round is not None:
        day = f", not before {phase.effective}" if phase.effective else ""
        return f"from round {phase.from_round}{day}"
    return f"from {phase.effective}" if phase.effective else ""


def _rule_shifts(old: Rule, new: Rule, *, phased: bool) -> Iterator[Shift]:
    """All that differs between two clauses; `phased`: that the new one begins later is told elsewhere."""
    yield from _test_shifts(old, new)
    yield from _severity(old, new)
    yield from _set_shifts(_proofs(old), _proofs(new), "now also shown by", "no longer shown by")
    yield from asks("document", "the paper must be", "it need not be the paper")(old.heading, new.heading)
    yield from _kept_shifts(old.heading.kept, new.heading.kept)
    yield from _condition_shifts(old.when, new.when, "asked only where", "asked also where it is not so that")
    yield from _condition_shifts(old.unless, new.unless, "not asked where", "asked also where")
    yield from _date_shifts(old, new, phased=phased)
    yield from (shift for compare in _WORDS for shift in compare(old.heading, new.heading))
    yield from _says(old, new)


def _severity(old: Rule, new: Rule) -> Iterator[Shift]:
    if old.heading.severity != new.heading.severity:
        must = new.heading.severity == "must"
        yield Shift(
            "tightened" if must else "loosened", "must be met; before, advice" if must else "advice; before, a must"
        )


def _says(old: Rule, new: Rule) -> Iterator[Shift]:
    """What the words of a clause were; of a kind that is words alone they are what it asks."""
    if old.heading.says != new.heading.says:
        way: Way = "changed" if isinstance(new.test, Seen | Conduct) else "words"
        yield Shift(way, f"before, it said: {old.heading.says}")


def _kept_shifts(old: Kept | None, new: Kept | None) -> Iterator[Shift]:
    """What differs in which older parts stay: the more of them and the longer, the looser."""
    if old is not None and new is not None:
        yield from (shift for compare in _KEPT for shift in compare(old, new))
    elif new is not None:
        yield Shift("loosened", f"older parts stay: {_kept_words(new)}")
    elif old is not None:
        yield Shift("tightened", f"older parts no longer stay: {_kept_words(old)}")


def _kept_words(kept: Kept) -> str:
    words = [", ".join(kept.parts) or "all"]
    words += [f"bought before {kept.bought_before}"] if kept.bought_before else []
    words += [f"with the serial {' or '.join(kept.serials)}"] if kept.serials else []
    return f"{' '.join(words)}, {f'until {kept.until}' if kept.until else 'for good'}"


def _condition_shifts(old: Sequence[Condition], new: Sequence[Condition], came: str, went: str) -> Iterator[Shift]:
    """What differs in the conditions: with each more a clause is asked in fewer cases; with others, in other ones."""
    gone = [one for one in old if not any(_same_condition(one, two) for two in new)]
    more = [one for one in new if not any(_same_condition(one, two) for two in old)]
    both = bool(gone and more)
    yield from (Shift("changed" if both else "loosened", f"{came} {_condition_words(one)}") for one in more)
    yield from (Shift("changed" if both else "tightened", f"{went} {_condition_words(one)}") for one in gone)


def _same_condition(one: Condition, two: Condition) -> bool:
    return one.kind == two.kind and _same(one.test, two.test)


def _date_shifts(old: Rule, new: Rule, *, phased: bool) -> Iterator[Shift]:
    compares = _DATES[len(_BEGINNINGS) :] if phased else _DATES
    yield from (shift for compare in compares for shift in compare(old.heading, new.heading))
    if old.ended != new.ended:
        before, after = (_phase_words(rule.ended) if rule.ended else "" for rule in (old, new))
        yield Shift("when", f"falls away {before or 'at no time'} -> {after or 'at no time'}")


def _test_shifts(old: Rule, new: Rule) -> Iterator[Shift]:
    """What differs between two tests: key by key where they ask of the same thing, else both in words."""
    if old.kind == new.kind and _same(old.test, new.test):
        return
    comparison = COMPARISONS[old.kind]
    alike = old.kind == new.kind and (not comparison.same or _same(old.test, new.test, comparison.same))
    found = [shift for compare in comparison.keys for shift in compare(old.test, new.test)] if alike else []
    yield from found or (Shift("changed", f"before: {_asked(old)}"), Shift("changed", f"now: {_asked(new)}"))


def _same(old: Record, new: Record, keys: Iterable[str] = ()) -> bool:
    """Whether two records of a kind hold the same under some keys (all, where none is named): names in any order, and
    each number written alike."""
    names = tuple(keys) or tuple(name for name in type(old).model_fields if name != "place")
    return all(_sorted(getattr(old, name)) == _sorted(getattr(new, name)) for name in names)


def _sorted(value: Any) -> Any:
    """A value that is equal to others of the same meaning."""
    if isinstance(value, Mapping):
        return {name: _sorted(inner) for name, inner in value.items()}
    return sorted(value) if isinstance(value, tuple) else _shown(value)


def _shown(value: Any) -> str:
    """A value in words; '' for none."""
    if value is None:
        return ""
    if isinstance(value, tuple):
        return ", ".join(map(str, value))
    if isinstance(value, bool):
        return "yes" if value else "no"
    return f"{value:g}" if isinstance(value, float) else f"{value:f}" if isinstance(value, Decimal) else str(value)


#: Compares one key, or a few that go together, of two records of one class.
Compare: TypeAlias = Callable[[Any, Any], Iterator[Shift]]


def other(key: str, label: str, way: Way = "changed") -> Compare:
    """A key whose values are neither tighter nor looser than each other."""

    def compare(old: Any, new: Any) -> Iterator[Shift]:
        before, after = _shown(getattr(old, key)), _shown(getattr(new, key))
        if before != after:
            yield Shift(way, f"{label}: {before or 'none'} -> {after or 'none'}")

    return compare


def bars(key: str, came: str, went: str) -> Compare:
    """A key that asks the more, the more it names."""

    def compare(old: Any, new: Any) -> Iterator[Shift]:
        return _set_shifts(getattr(old, key), getattr(new, key), came, went)

    return compare


def _set_shifts(
    old: Iterable[str], new: Iterable[str], came: str, went: str, more: Literal["tightened", "loosened"] = "tightened"
) -> Iterator[Shift]:
    """What came and went among words; `more`: what each one more does."""
    less: Way = "loosened" if more == "tightened" else "tightened"
    before, after = tuple(old), tuple(new)
    yield from _listed(more, came, [word for word in after if word not in before])
    yield from _listed(less, went, [word for word in before if word not in after])


def _listed(way: Way, label: str, words: Sequence[str]) -> Iterator[Shift]:
    if words:
        yield Shift(way, f"{label} {', '.join(words)}")


def opens(key: str, came: str, went: str, everything: str) -> Compare:
    """A key that lets the more pass, the more it names, and everything where it names nothing."""

    def compare(old: Any, new: Any) -> Iterator[Shift]:
        before, after = getattr(old, key), getattr(new, key)
        if before and after:
            yield from _set_shifts(before, after, came, went, more="loosened")
        elif after:
            yield Shift("tightened", f"{came} only {', '.join(after)}; before, {everything}")
        elif before:
            yield Shift("loosened", f"{came} {everything}; before, only {', '.join(before)}")

    return compare


def least(key: str, label: str, unit: str = "") -> Compare:
    """A number or a day that is tighter the higher it is; None bounds nothing."""
    return _ranked(key, label, unit, higher="tightened", lower="loosened")


def most(key: str, label: str, unit: str = "") -> Compare:
    """A number or a day that is tighter the lower it is; None bounds nothing."""
    return _ranked(key, label, unit, higher="loosened", lower="tightened")


def _ranked(key: str, label: str, unit: str, higher: Way, lower: Way) -> Compare:
    def compare(old: Any, new: Any) -> Iterator[Shift]:
        before, after = getattr(old, key), getattr(new, key)
        if before is None or after is None:
            if before != after:
                way: Way = "loosened" if after is None else "tightened"
                yield Shift(way, f"{label}: {_shown(before) or 'none'} -> {_shown(after) or 'none'}{unit}: {way}")
        elif before != after:
            way = higher if after > before else lower
            step = abs(after - before)
            by = f"{step.days} d" if isinstance(after, date) else f"{_shown(step)}{unit}"
            yield Shift(way, f"{label} {_shown(before)} -> {_shown(after)}{unit}: {way} by {by}")

    return compare


def asks(key: str, yes: str, no: str) -> Compare:
    """A key that asks for something where it is filled, or yes."""

    def compare(old: Any, new: Any) -> Iterator[Shift]:
        before, after = getattr(old, key), getattr(new, key)
        if before and after and before != after:
            yield Shift("changed", f"{yes} {after}; before, {before}")
        elif bool(before) != bool(after):
            named = after or before
            words = (yes if after else no, *(() if isinstance(named, bool) else (str(named),)))
            yield Shift("tightened" if after else "loosened", " ".join(words))

    return compare


def _bounds(old: Limit, new: Limit) -> Iterator[Shift]:
    """The bounds of a limit: how far each has moved."""
    derived = bool(old.nominal or new.nominal)
    yield from _bound("greatest" if derived else "max", old.greatest, new.greatest, higher="loosened")
    yield from _bound("least" if derived else "min", old.least, new.least, higher="tightened")


def _tolerance(old: Limit, new: Limit) -> Iterator[Shift]:
    """How far past its bounds still meets: none is the tightest."""
    if old.tolerance or new.tolerance:
        before, after = (test.tolerance or Bound(Decimal(0), test.unit) for test in (old, new))
        yield from _bound("tolerance", before, after, higher="loosened")


def _bound(label: str, old: Bound | None, new: Bound | None, higher: Way) -> Iterator[Shift]:
    """How one bound has moved, in the unit that it is given in now."""
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
            yield Shift("words", f"{label} written as {new}; before, as {old}")


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
    return round_figures(Decimal(repr(bound.quantity.to(unit))), _TRUSTED)


def _step_words(step: Decimal, old: Bound, new: Bound) -> str:
    """How far apart two bounds are: to the digit where both are in one unit."""
    return str(Bound(abs(step), new.unit) if old.unit == new.unit else Quantity(float(abs(step)), new.unit))


def _rounding(old: Any, new: Any) -> Iterator[Shift]:
    """Rounding to the last place lets values pass that are past the bound by less than half of it, and stops none."""
    before, after = old.rounding, new.rounding
    if before != after:
        ways: Mapping[tuple[str, str], Way] = {
            ("absolute", "rounded"): "loosened",
            ("rounded", "absolute"): "tightened",
        }
        words = f"compared {after or 'as the pack says'}; before, {before or 'as the pack says'}"
        yield Shift(ways.get((before, after), "changed"), words)


def _measured(old: Limit, new: Limit) -> Iterator[Shift]:
    """What must be measured: all that the value rests on where nothing is named."""
    if old.measured and new.measured:
        yield from _set_shifts(old.measured, new.measured, "to be measured too:", "no longer to be measured:")
    elif new.measured:
        yield Shift("loosened", f"to be measured only {', '.join(new.measured)}; before, all that it rests on")
    elif old.measured:
        yield Shift("tightened", f"to be measured all that it rests on; before, only {', '.join(old.measured)}")


def _allowed(old: Parts, new: Parts) -> Iterator[Shift]:
    """The parts allowed by name, list or supplier; any where none of the three is given."""
    before, after = _fence(old), _fence(new)
    if before and after:
        yield from _set_shifts(old.allowed, new.allowed, "now allowed:", "no longer allowed:", more="loosened")
        came, went = "parts now allowed of", "parts no longer allowed of"
        yield from _set_shifts(old.suppliers, new.suppliers, came, went, more="loosened")
        yield from other("list", "list of parts allowed")(old, new)
    elif after:
        yield Shift("tightened", f"now allowed: only {', '.join(after)}; before, any part")
    elif before:
        yield Shift("loosened", f"now allowed: any part; before, only {', '.join(before)}")


def _fence(test: Parts) -> tuple[str, ...]:
    """Which parts a clause lets in, in words."""
    listed = (f"the list {test.list}",) if test.list else ()
    return (*test.allowed, *listed, *(f"parts of {supplier}" for supplier in test.suppliers))


def _choices(old: Option, new: Option) -> Iterator[Shift]:
    """The choices of an option, and the parts of each: the more there are, the more can be built."""
    yield from _set_shifts(old.choices, new.choices, "new choice", "choice that falls away:", more="loosened")
    for name, parts in old.choices.items():
        if name in new.choices:
            came, went = f"choice {name}: now with", f"choice {name}: no longer with"
            yield from _set_shifts(parts, new.choices[name], came, went, more="loosened")


def _dearer(old: ChargeTest, new: ChargeTest) -> Iterator[Shift]:
    step = new.amount - old.amount
    if step:
        way: Way = "tightened" if step > 0 else "loosened"
        what = "dearer" if step > 0 else "cheaper"
        by = f"{abs(step):f} {new.currency}".rstrip()
        yield Shift(way, f"{old.amount:f} -> {new.amount:f} {new.currency}".rstrip() + f": {what} by {by}")


@dataclass(frozen=True, slots=True)
class Comparison:
    """How two clauses of one kind are compared: the keys that must be the same for it, and how the others are."""

    same: tuple[str, ...]
    keys: tuple[Compare, ...]


_SLOTS = bars("slot", "now asked also of", "no longer asked of")

#: How two clauses are compared, by kind.
COMPARISONS: Mapping[str, Comparison] = MappingProxyType(
    {
        "parts": Comparison(
            (),
            (
                _SLOTS,
                _allowed,
                bars("banned", "now barred:", "no longer barred:"),
                asks("mark", "must be marked", "need not be marked"),
            ),
        ),
        "word": Comparison(
            ("of",),
            (
                opens("one_of", "now allowed:", "no longer allowed:", "any word"),
                bars("none_of", "now barred:", "no longer barred:"),
            ),
        ),
        "limit": Comparison(
            ("of", "reads", "less"),
            (
                _bounds,
                _tolerance,
                _rounding,
                _measured,
                other("method", "measured"),
                other("prices_on", "prices of"),
                other("without", "without the price of"),
            ),
        ),
        "option": Comparison(
            (), (_SLOTS, _choices, asks("declared", "must be declared by", "need not be declared by"))
        ),
        "choice": Comparison(("rule",), (opens("one_of", "now meant too:", "no longer meant:", "any choice"),)),
        "work": Comparison(
            (),
            (
                _SLOTS,
                bars("must", "must now be done:", "need no longer be done:"),
                opens("may", "may now be done:", "may no longer be done:", "all that is not forbidden"),
                bars("must_not", "may no longer be done:", "no longer forbidden:"),
                bars("keeps", "may no longer be changed:", "may now be changed:"),
            ),
        ),
        "paper": Comparison(
            ("paper", "slot"),
            (
                least("at_least", "how many"),
                opens("by", "may now be by", "may no longer be by", "anybody"),
                opens("numbers", "numbers now accepted:", "numbers no longer accepted:", "any"),
                opens("declares", "may now say", "may no longer say", "anything"),
                least("dated_from", "dated from"),
                most("dated_to", "dated up to"),
                most("valid", "holds for", " d"),
                asks("serial", "must have the serial of the piece", "need not have the serial of the piece"),
                asks("level", "now needed after each", "no longer needed after each"),
            ),
        ),
        "inspection": Comparison((), (_SLOTS,)),
        "quota": Comparison(
            ("of", "per", "level"),
            (
                most("most", "most"),
                bars("slot", "now counted too:", "no longer counted:"),
                asks("together", "all engines of an entrant count as one", "each engine counts by itself"),
            ),
        ),
        "charge": Comparison(("per", "level", "currency"), (_dearer,)),
        "conduct": Comparison((), (_SLOTS,)),
    }
)
_KEPT: tuple[Compare, ...] = (
    opens("parts", "older parts that may now stay:", "older parts that may no longer stay:", "all"),
    opens("serials", "serials that may now stay:", "serials that may no longer stay:", "all"),
    most("bought_before", "stay if bought before"),
    most("until", "stay until"),
)
_BEGINNINGS: tuple[Compare, ...] = (
    other("effective", "first day", "when"),
    other("from_round", "first round", "when"),
)
_DATES: tuple[Compare, ...] = (
    *_BEGINNINGS,
    other("sunset", "last day", "when"),
    other("frozen_until", "frozen until", "when"),
)
_WORDS: tuple[Compare, ...] = (
    other("penalty", "penalty", "words"),
    other("minutes", "minutes to inspect", "words"),
    other("tool", "tool", "words"),
    other("stage", "looked at", "words"),
    other("pays", "who pays", "words"),
    other("risk", "stated risk", "words"),
    other("book", "chapter", "words"),
    other("page", "page", "words"),
)


def _list_differences(a: Sequence[PartList], b: Sequence[PartList]) -> Iterator[Difference]:
    """How the lists of parts differ, each in all its editions."""
    for name in dict.fromkeys(row.list for row in (*a, *b)):
        old, new = ([row for row in rows if row.list == name] for rows in (a, b))
        before, after = (rows[0].place if rows else None for rows in (old, new))
        if old and new:
            shifts = tuple(_edition_shifts(old, new))
            how, words = how_of(shifts), tuple(shift.words for shift in shifts)
        else:
            how = "added" if new else "withdrawn"
            words = tuple(f"{_edition_words(row)}: {', '.join(row.parts)}" for row in old or new)
        if words:
            yield Difference("list", name, how, words, before=before, after=after)


def _edition_shifts(old: Sequence[PartList], new: Sequence[PartList]) -> Iterator[Shift]:
    """What differs in the editions of a list: one from the same day is compared, else the one that it follows."""
    had = {row.since: row for row in reversed(old)}
    for row in new:
        before = had.get(row.since)
        if before is None:
            earlier = [one for one in old if (one.since or date.min) < (row.since or date.min)]
            before = max(earlier, key=lambda one: one.since or date.min, default=None)
            yield Shift("when", f"new: {_edition_words(row)}")
        else:
            yield from other("edition", "edition", "words")(before, row)
            yield from other("until", f"{_edition_words(row)}, last day", "when")(before, row)
        yield from _set_shifts(before.parts if before else (), row.parts, "comes:", "goes:", more="loosened")
    kept = {row.since for row in new}
    yield from (Shift("changed", f"falls away: {_edition_words(row)}") for row in old if row.since not in kept)


def _edition_words(row: PartList) -> str:
    since = f" from {row.since}" if row.since else ""
    return f"edition {row.edition}{since}" if row.edition else f"edition{since or ' without a day'}"


def _header_differences(a: Pack, b: Pack) -> Iterator[Difference]:
    for key, compare in _HEADS:
        yield from _of_header(key, tuple(compare(a.header, b.header)))
    yield from _of_header("recognises", tuple(_recognition_shifts(a, b)))


def _of_header(key: str, shifts: tuple[Shift, ...]) -> Iterator[Difference]:
    if shifts:
        yield Difference("header", key, how_of(shifts), tuple(shift.words for shift in shifts))


def _default(old: Any, new: Any) -> Iterator[Shift]:
    if old.default != new.default:
        forbids = new.default == "forbid"
        words = "forbidden; before, allowed" if forbids else "allowed; before, forbidden"
        yield Shift("tightened" if forbids else "loosened", f"what is not written is {words}")


def _recognition_shifts(a: Pack, b: Pack) -> Iterator[Shift]:
    """Which packs count in place of this one, and which clauses are asked all the same."""
    before, after = ({Path(file).name: still for file, still in pack.still} for pack in (a, b))
    yield from _set_shifts(before, after, "now counts in its place:", "no longer counts in its place:", more="loosened")
    for name in [one for one in before if one in after]:
        came, went = f"with {name}, asked all the same:", f"with {name}, no longer asked:"
        yield from _set_shifts(before[name], after[name], came, went)


#: How the headers of two packs are compared, by key.
_HEADS: tuple[tuple[str, Compare], ...] = (
    ("name", other("name", "name", "words")),
    ("edition", other("edition", "edition", "words")),
    ("date", other("date", "day of the edition", "when")),
    ("default", _default),
    ("tolerance", other("tolerance", "tolerance", "words")),
    ("rounding", _rounding),
    ("ties", other("ties", "a tie is rounded")),
    ("gauges", opens("gauges", "whose gauge counts now:", "whose gauge no longer counts:", "anybody's")),
    ("supplements", other("supplements", "adds to")),
    ("prevails", other("prevails", "whose clause holds")),
)
