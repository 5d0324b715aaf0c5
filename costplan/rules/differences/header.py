"""How the headers of two books differ, and which packs count in place of either."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Any

from costplan.rules.differences.compare import Compare, opens, other, set_shifts
from costplan.rules.differences.difference import Difference, Shift, how_of
from costplan.rules.differences.limits import rounding
from costplan.rules.pack import Pack


def header_differences(a: Pack, b: Pack) -> Iterator[Difference]:
    """How the headers differ, key by key, and then the packs that are recognised."""
    for key, compare in HEADS:
        yield from _of_header(key, tuple(compare(a.header, b.header)))
    yield from _of_header("recognises", tuple(_recognition_shifts(a, b)))


def _of_header(key: str, shifts: tuple[Shift, ...]) -> Iterator[Difference]:
    if shifts:
        yield Difference("header", key, how_of(shifts), tuple(shift.words for shift in shifts))


def _recognition_shifts(a: Pack, b: Pack) -> Iterator[Shift]:
    """Which packs count in place of this one, and which clauses are asked all the same."""
    before, after = ({Path(file).name: still for file, still in pack.still} for pack in (a, b))
    yield from set_shifts(before, after, "now counts in its place:", "no longer counts in its place:", more="loosened")
    for name in [one for one in before if one in after]:
        came, went = f"with {name}, asked all the same:", f"with {name}, no longer asked:"
        yield from set_shifts(before[name], after[name], came, went)


def _default(old: Any, new: Any) -> Iterator[Shift]:
    if old.default != new.default:
        forbids = new.default == "forbid"
        words = "forbidden; before, allowed" if forbids else "allowed; before, forbidden"
        yield Shift("tightened" if forbids else "loosened", f"what is not written is {words}")


#: How the headers of two packs are compared, by key.
HEADS: tuple[tuple[str, Compare], ...] = (
    ("name", other("name", "name", "words")),
    ("edition", other("edition", "edition", "words")),
    ("date", other("date", "day of the edition", "when")),
    ("default", _default),
    ("tolerance", other("tolerance", "tolerance", "words")),
    ("rounding", rounding),
    ("ties", other("ties", "a tie is rounded")),
    ("gauges", opens("gauges", "whose gauge counts now:", "whose gauge no longer counts:", "anybody's")),
    ("supplements", other("supplements", "adds to")),
    ("prevails", other("prevails", "whose clause holds")),
)
