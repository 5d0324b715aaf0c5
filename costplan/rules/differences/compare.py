"""How one key of two records of one class is compared: names, numbers, days or words; and whether more of it is tighter
or looser, or neither."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from datetime import date
from decimal import Decimal
from typing import Any, Literal, TypeAlias

from costplan.reading import Record
from costplan.rules.differences.difference import Shift, Way

#: Compares one key, or a few that go together, of two records of one class.
Compare: TypeAlias = Callable[[Any, Any], Iterator[Shift]]


def other(key: str, label: str, way: Way = "changed") -> Compare:
    """A key whose values are neither tighter nor looser than each other."""

    def compare(old: Any, new: Any) -> Iterator[Shift]:
        before, after = in_words(getattr(old, key)), in_words(getattr(new, key))
        if before != after:
            yield Shift(way, f"{label}: {before or 'none'} -> {after or 'none'}")

    return compare


def bars(key: str, came: str, went: str) -> Compare:
    """A key that asks the more, the more it names."""

    def compare(old: Any, new: Any) -> Iterator[Shift]:
        return set_shifts(getattr(old, key), getattr(new, key), came, went)

    return compare


def opens(key: str, came: str, went: str, everything: str) -> Compare:
    """A key that lets the more pass, the more it names, and everything where it names nothing."""

    def compare(old: Any, new: Any) -> Iterator[Shift]:
        before, after = getattr(old, key), getattr(new, key)
        if before and after:
            yield from set_shifts(before, after, came, went, more="loosened")
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
                yield Shift(way, f"{label}: {in_words(before) or 'none'} -> {in_words(after) or 'none'}{unit}: {way}")
        elif before != after:
            way = higher if after > before else lower
            step = abs(after - before)
            by = f"{step.days} d" if isinstance(after, date) else f"{in_words(step)}{unit}"
            yield Shift(way, f"{label} {in_words(before)} -> {in_words(after)}{unit}: {way} by {by}")

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


def set_shifts(
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


def same(old: Record, new: Record, keys: Iterable[str] = ()) -> bool:
    """Whether two records of a kind hold the same under some keys (all, where none is named): names in any order, and
    each number written alike."""
    names = tuple(keys) or tuple(name for name in type(old).model_fields if name != "place")
    return all(_sorted(getattr(old, name)) == _sorted(getattr(new, name)) for name in names)


def _sorted(value: Any) -> Any:
    """A value that is equal to others of the same meaning."""
    if isinstance(value, Mapping):
        return {name: _sorted(inner) for name, inner in value.items()}
    return sorted(value) if isinstance(value, tuple) else in_words(value)


def in_words(value: Any) -> str:
    """A value in words; '' for none."""
    if value is None:
        return ""
    if isinstance(value, tuple):
        return ", ".join(map(str, value))
    if isinstance(value, bool):
        return "yes" if value else "no"
    return f"{value:g}" if isinstance(value, float) else f"{value:f}" if isinstance(value, Decimal) else str(value)
