"""What keeps a request from being quoted, beyond what its file shows: gaps behind, slots out of reach, lost lines."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence

from costplan.problems import Place, Problem, nearest
from costplan.quote.asking import Asking
from costplan.quote.opened import Opening
from costplan.quote.pricing import NOTHING
from costplan.quote.records import Line
from costplan.quote.request import NEW, Asked, bad_slot
from costplan.quote.shop import ShopBook
from costplan.quote.worklist import part_in

#: Working days that no job takes; with more of them dates would come to an end.
LONGEST = 10_000


def unopened(asking: Asking) -> Iterator[Problem]:
    """What bars a service: nothing of the season is left, or a slot cannot be reached or put right in that way."""
    asked, opening = asking.asked, asking.opening
    if not asked.head.engine:
        yield from _no_way(asking)
        return
    if opening is None:
        before, advice = asked.head.before, "name an event or a service row that lies ahead"
        what = f"nothing of the season is left {'then:' if before else f'on {asking.on}'}"
        yield Problem("QUO007", asked.place("before"), "before", before, what, advice)
        return
    yield from _unreached(asking, opening)
    yield from _more_than_all(asked, opening)
    yield from _unknown_ways(asking.book, opening)
    for where, key, word in _bad_words(asking):
        slot, way = bad_slot(word)
        if slot not in opening.spots:
            yield _out_of_reach(where, key, slot, opening)
        elif way and way != NEW and opening.step_for(slot, way) is None:
            left = dict.fromkeys(step.operation for step in opening.steps_left(slot))
            what = f"no step that is left to {slot} of {opening.engine}:"
            yield Problem("QUO012", where, key, way, what, f"give {', '.join((*left, NEW))}")


def _bad_words(asking: Asking) -> Iterator[tuple[Place, str, str]]:
    """Every word for a slot that is bad, with where it stands and under which key."""
    yield from ((asking.asked.place("bad"), "bad", word) for word in asking.asked.head.bad)
    yield from ((Place("--bad"), "", word) for word in asking.bad)


def _no_way(asking: Asking) -> Iterator[Problem]:
    """Ways of a service, in a new engine: a bad piece that goes in has another in its place."""
    for where, key, word in _bad_words(asking):
        slot, way = bad_slot(word)
        if way not in ("", NEW):
            yield Problem("QUO012", where, key, way, "no way in a new engine:", f"write {slot}, or {slot}={NEW}")


def _unknown_ways(book: ShopBook, opening: Opening) -> Iterator[Problem]:
    """Allowances by a step that is none of the slot's path; one that is behind it gives way to the next."""
    for row in book.allowances:
        if row.slot in opening.spots and row.way:
            steps = dict.fromkeys((*(step.operation for step in opening.spots[row.slot][1].path), NEW))
            if row.way not in steps:
                what = f"no step of the path of {row.slot}:"
                yield Problem("QUO012", row.place, "way", row.way, what, f"give {', '.join(steps)}, or leave it empty")


def _unreached(asking: Asking, opening: Opening) -> Iterator[Problem]:
    """Slots of the request that no opening of its engine reaches."""
    head = asking.asked.head
    own = [head.of] if head.of in asking.scenario.built().fills else []
    for key, slots in [("of", own), *((key, getattr(head, key)) for key in ("renew", "keep", "broken", "pieces"))]:
        for slot in slots:
            if slot not in opening.spots:
                yield _out_of_reach(asking.asked.place(key), key, slot, opening)


def _more_than_all(asked: Asked, opening: Opening) -> Iterator[Problem]:
    """More pieces of a set than it has."""
    for slot, count in asked.head.pieces.items():
        most = part_in(opening.build, slot).slot.quantity
        if slot in opening.spots and count > most:
            what, advice = "more pieces than the set has:", f"give at most {most}"
            yield Problem("REA018", asked.place("pieces"), f"pieces.{slot}", str(count), what, advice)


def _out_of_reach(place: Place, key: str, slot: str, opening: Opening) -> Problem:
    what = f"no slot that opening {opening.engine} reaches:"
    return Problem("QUO012", place, key, slot, what, nearest(slot, opening.spots))


def unmatched(asked: Asked, lines: Sequence[Line]) -> Iterator[Problem]:
    """Prices of lines that the quote does not have."""
    keys = [line.key for line in lines if line.kind != "core"]
    for row in asked.prices:
        if row.line not in keys:
            yield Problem("QUO008", row.place, "line", row.line, "no such line:", nearest(row.line, keys))


def undone(asking: Asking, job: str, lines: Sequence[Line]) -> Iterator[Problem]:
    """Work that is asked for, by the request or an option, and that the job does not take."""
    done = {line.key.split("/")[1] for line in lines if line.key.startswith("work/")}
    rows = {row.work: row for row in asking.book.work}
    asked = asking.asked
    named = [(asked.place("work"), name, name in done) for name in asked.head.work]
    for option in asked.options:
        named += [(option.place, name, name in done or not option.take) for name in option.work]
    for place, name, there in named:
        row = rows[name]
        if row.jobs and job not in row.jobs:
            advice = f"it is work of {', '.join(row.jobs)} by {row.place}"
            yield Problem("QUO014", place, "work", name, f"no work of {job}:", advice)
        elif not there:
            advice = f"see its slots, operations and bounds in {row.place}"
            what = "work on what this job does not touch:"
            yield Problem("QUO014", place, "work", name, what, advice)


def contradicted(asking: Asking) -> Iterator[Problem]:
    """Two things that a request says of one slot, and a case after which there is no engine to work on."""
    asked, head = asking.asked, asking.asked.head
    yield from _kept_and_changed(asked)
    yield from (
        _both(row.place, "slot", row.slot, "is in without too") for row in asked.supplied if row.slot in head.without
    )
    yield from _options_at_odds(asked)
    for case in asking.scenario.files.cases:
        if (case.slot, case.case) == (head.of, head.case) and case.loses_engine:
            advice = "ask for a new engine: leave engine, level and case empty"
            yield Problem("QUO015", asked.place("case"), "case", head.case, "no engine is left then:", advice)


def _kept_and_changed(asked: Asked) -> Iterator[Problem]:
    head = asked.head
    bad = tuple(bad_slot(word)[0] for word in head.bad)
    changed = (("renew", head.renew), ("bad", bad), ("broken", head.broken))
    for other, kept in (("keep", head.keep), ("without", head.without)):
        for key, slots in changed:
            yield from (_both(asked.place(key), key, slot, f"is in {other} too") for slot in slots if slot in kept)


def _options_at_odds(asked: Asked) -> Iterator[Problem]:
    away = (*(row.slot for row in asked.supplied), *asked.head.without)
    taken = dict[str, str]()
    for option in asked.options:
        if option.slot in away:
            yield _both(option.place, "slot", option.slot, "is supplied, or left out")
        elif option.slot and option.take and taken.setdefault(option.slot, option.name) != option.name:
            yield _both(option.place, "slot", option.slot, f"has the option {taken[option.slot]} already")


def _both(place: Place, key: str, slot: str, what: str) -> Problem:
    return Problem("QUO015", place, key, slot, f"two things are said of a slot; it {what}:", "keep one of them")


def endless(book: ShopBook, lines: Iterable[Line]) -> Iterator[Problem]:
    """Hours that no bench works off in a lifetime."""
    hours, a_day = sum((line.hours for line in lines), NOTHING), book.header.hours_a_day
    if float(hours) > LONGEST * a_day:
        what = f"{hours:,} h of work take more than {LONGEST:,} days at"
        advice = "give more hours a day, or check the hours of work.csv and of the request"
        yield Problem("REA018", book.place, "hours_a_day", f"{a_day:g}", what, advice)
