"""What two editions of a book say differently, as a page."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence

from costplan.report.tables import Page, Passage, listed, plural
from costplan.rules.differences import Difference, Proposal, Side

#: The groups of a page in their order, each with its heading.
GROUPS = (
    ("tightened", "Tightened"),
    ("loosened", "Loosened"),
    ("tightened and loosened", "Tightened and loosened"),
    ("replaced", "Replaced: asks something else, or only its words tell"),
    ("added", "Added"),
    ("withdrawn", "Withdrawn"),
    ("from when", "From when it holds"),
    ("reworded", "Reworded: what is checked stays the same"),
)
FOOT = (
    "Tightened: what met the book may break it now; loosened: what broke it may meet it now. Only the words of the "
    "books are compared, no engine; costplan check shows how one stands to either.",
)


def differences_page(before: Side, after: Side, proposal: Proposal | None, found: Sequence[Difference]) -> Page:
    """All that differs, what is tighter first, each clause with what it says now."""
    invented = " (invented data)" if before.invented or after.invented else ""
    lines = (*_sides(before, after, proposal), _counts(found))
    header = [one for one in found if one.what == "header"]
    others = [one for one in found if one.what != "header"]
    passages = (
        *((Passage("The book as a whole", tuple(_told(header))),) if header else ()),
        *(
            Passage(title, tuple(_told(one for one in others if one.how == how)))
            for how, title in GROUPS
            if any(one.how == how for one in others)
        ),
    )
    return Page(f"{_title(before, after, proposal)}{invented}", lines, (), FOOT if found else (), passages)


def _title(before: Side, after: Side, proposal: Proposal | None) -> str:
    if proposal is not None:
        return f"{proposal.name}: what it changes"
    return f"{before.name}: what changes" if before.name == after.name else f"{before.name} -> {after.name}"


def _sides(before: Side, after: Side, proposal: Proposal | None) -> Iterator[str]:
    """Which books are compared, and whose change it is."""
    if proposal is None:
        yield f"Before: {_side(before)}"
        yield f"After:  {_side(after)}"
        return
    yield f"Over {_side(before)}."
    words = (proposal.author and f"by {proposal.author}", proposal.date, proposal.source)
    yield f"Proposed {listed(str(word) for word in words if word)} ({proposal.file})".replace("  ", " ")
    if proposal.reason:
        yield f"Why: {proposal.reason}"
    yield f"Holds {proposal.since or 'at once'}, where a clause does not say otherwise."


def _side(side: Side) -> str:
    changes = f" with {listed(side.changes)}" if side.changes else ""
    words = (side.name, side.edition, str(side.date or ""))
    return f"{listed(word for word in words if word)} ({side.file}){changes}"


def _counts(found: Sequence[Difference]) -> str:
    """How many clauses, lists and keys differ how."""
    if not found:
        return "Nothing differs."
    hows = [one.how for one in found]
    counted = listed(f"{hows.count(how)} {how}" for how, _ in GROUPS if how in hows)
    return f"{plural(len(found), 'difference')}: {counted}."


def _told(found: Iterable[Difference]) -> Iterator[tuple[int, str]]:
    """A line for each clause, and set in below it what differs."""
    for one in found:
        if one.what != "header":
            yield 0, _heading(one)
        yield from ((1 if one.what == "header" else 2, words) for words in one.words)
        if one.since:
            until = "stays in force until then" if one.how == "withdrawn" else "until then as before"
            yield 2, one.since if one.how == "added" else f"{one.since}; {until}"


def _heading(one: Difference) -> str:
    if one.what == "list":
        return f"list {one.name}"
    return f"{one.name} [{one.clause}]: {one.says}" if one.clause else f"{one.name}: {one.says}"
