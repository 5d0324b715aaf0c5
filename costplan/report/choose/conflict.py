"""Why nothing is possible, as a page: the smallest conflict in the user's words."""

from __future__ import annotations

from collections.abc import Iterator

from costplan.choose import Conflict, Culprit
from costplan.report.choose.shared import LIST, About, heading, wished
from costplan.report.tables import Page, Passage, listed, money, number, plural

#: So many slots are named; of more, those with the fewest parts left.
NAMED = 6


def conflict_page(about: About, conflict: Conflict, what: str) -> Page:
    """The members of a conflict, what each leaves by itself, and what there is without it; `what` is not possible."""
    passage = Passage(
        "", tuple(line for place, one in enumerate(conflict.culprits, 1) for line in _culprit(place, one))
    )
    return Page(heading(what, about), (wished(about), *_lines(conflict)), (), (LIST,), (passage,))


def _lines(conflict: Conflict) -> Iterator[str]:
    count = len(conflict.culprits)
    if count == 1:
        yield "No bill keeps this, whatever else gives way."
        return
    yield (
        f"No bill keeps {_all(count)} of these. Any one of them left out, the others can be kept together; what there "
        "is then, with everything else that was asked, stands beside it."
    )
    yield (
        "It is proved that no fewer things are at odds."
        if conflict.smallest
        else "In the time it was not proved that no fewer things are at odds."
    )


def _all(count: int) -> str:
    return "both" if count == 2 else f"all {count}"


def _culprit(place: int, one: Culprit) -> Iterator[tuple[int, str]]:
    ground = one.ground
    yield 0, f"{place}. {_KINDS[ground.kind]}{ground.name if ground.kind in ('clause', 'fit') else ''}: {ground.says}"
    where = "; ".join(word for word in (ground.book, ground.place) if word)
    if where:
        yield 1, f"({where})"
    left = _left(one)
    if left:
        yield 1, left
    if one.possible and one.price is not None:
        yield 1, f"Without it: the cheapest bill is {money(one.price)}."
    else:
        yield 1, "Without it alone: still nothing; something else is at odds too."


_KINDS = {
    "clause": "Clause ",
    "fit": "Fit ",
    "pinned": "Wish",
    "banned": "Wish",
    "supplier": "Wish",
    "lead": "Wish",
    "budget": "Wish",
    "hand": "On hand",
    "critical": "By positions.csv",
}


def _left(one: Culprit) -> str:
    """How many parts it lets stand by itself in each slot that it is about."""
    told = sorted(one.candidates, key=lambda entry: entry[1])
    if not told:
        return f"About {listed(one.slots)}, together." if 0 < len(one.slots) <= NAMED else ""
    words = listed(f"{slot}: {may} of {of}" for slot, may, of in told[:NAMED])
    rest = f", and fewer than all in {plural(len(told) - NAMED, 'slot')} more" if len(told) > NAMED else ""
    return f"By itself it leaves {words}{rest}."


def unfound_page(about: About, seconds: float) -> Page:
    """That no bill was found in time, and none is proved impossible."""
    line = (
        f"In {number(seconds, 3)} s no bill was found that meets everything, nor is it proved that there is none. Give "
        "more --seconds, or pin some slots."
    )
    return Page(heading("No answer in the time", about), (wished(about), line), (), (LIST,))
