"""How the lists of parts of two books differ, each in all its editions."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import date

from costplan.rules.differences.compare import other, set_shifts
from costplan.rules.differences.difference import Difference, Shift, how_of
from costplan.rules.evidence import PartList


def list_differences(a: Sequence[PartList], b: Sequence[PartList]) -> Iterator[Difference]:
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
        yield from set_shifts(before.parts if before else (), row.parts, "comes:", "goes:", more="loosened")
    kept = {row.since for row in new}
    yield from (Shift("changed", f"falls away: {_edition_words(row)}") for row in old if row.since not in kept)


def _edition_words(row: PartList) -> str:
    since = f" from {row.since}" if row.since else ""
    return f"edition {row.edition}{since}" if row.edition else f"edition{since or ' without a day'}"
