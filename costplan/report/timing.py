"""When to renew what: the dates, what moving them costs, how fresh the big events are met, as a page."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence

from costplan.report.data import tame, to_csv
from costplan.report.figures import count_cells, counted, errors, seasons_of, signed
from costplan.report.tables import Page, Passage, Table, day, listed, number, plural, share, whole
from costplan.season.deciding.timing_answer import (
    AgeAt,
    FreshFor,
    LevelRow,
    Move,
    OverYears,
    Paste,
    ServiceDate,
    Side,
    Timing,
)
from costplan.season.deciding.timing_theory import RenewalUse
from costplan.season.drawn.figures import Paired

CAUTIONS = (
    "All of it follows from assumed lives, rain and damage, and is no better than those: where a life is guessed too "
    "long, renewing later looks cheaper than it is. Limits stay as they are, and what may not be stretched is never "
    "renewed later than the files say. Nothing here is a safety decision: parts can fail new. Inspect; follow maker "
    "and builder. Officials decide what may race.",
)
NOTHING_FAILS = (
    "Nothing in these files can fail: no part has a life that ends. Then later is always cheaper, up to a limit or "
    "the interval that whoever set it trusts, and no date can be better than another. Give parts lives (the full form "
    "of a scenario has them) to have dates judged."
)
WAYS = {
    "fixed": "as the files have it",
    "uses": "other renewal uses",
    "dates": "on dates",
}


COMPARED = (
    "'costplan compare' of the folders then shows more or less than this page: what a level owes at the season's end "
    "hangs on its interval, and without one it owes nothing. Here both owe by the files' intervals; take these figures."
)


def timing_page(found: Timing, title: str, invented: bool) -> Page:
    """Everything that `costplan timing` answers."""
    heading = f"When to renew what: {title}{' (invented data)' if invented else ''}"
    if found.certain:
        return Page(heading, (NOTHING_FAILS,), (), CAUTIONS)
    lines = (
        *(_asked_lines(found.asked) if found.asked else ()),
        *_answer_lines(found),
        *_past_lines(found.ages),
        _kept_line(found.kept),
        f"Money in {found.currency}. A season's cost in the end is cash less what is left on hand, and what lost "
        f"results are worth. {errors(found.judged)}",
    )
    passages = (*_date_passages(found), *(_paste_passages(found, found.paste) if found.paste else ()))
    tables = (
        _sides_table(found),
        _moves_table(found.services),
        _ages_table(found.ages),
        _uses_table(found.factors, found.ages),
        _intervals_table(found),
    )
    return Page(heading, lines, tuple(table for table in tables if table.rows), CAUTIONS, passages)


def _kept_line(kept: Sequence[str]) -> str:
    """What is not stretched, or that nothing is kept from it."""
    if kept:
        return f"Never renewed later than the files say: {listed(kept)}."
    return (
        "Nothing is kept from being stretched: give springs, rod bolts, dampers and what has an expiry date stretch = "
        "no in positions.csv."
    )


def _asked_lines(asked: FreshFor) -> Iterator[str]:
    """How fresh the event asked for finds what is short-lived, and what it costs to have it fresher."""
    for part in asked.parts:
        by = f"renewed at the {part.level} before {part.before}" if part.level else "in since the season opened"
        yield (
            f"{asked.event}, {day(asked.date)}: when it begins, {_used(part.chosen)} of the assumed life of "
            f"{part.slot} is used, {by} ({_used(part.fixed)} as the files have it)."
        )
    fresh = f"no more than half of the assumed life of {listed(part.slot for part in asked.parts)}"
    if not asked.met:
        yield f"No plan was found in which {fresh} is used by then."
    elif asked.extra is None:
        yield f"That is the plan that costs least, and {fresh} is used by then."
    else:
        dates = listed(f"{level} before {before}" for level, before in asked.plan)
        how = [f"every opening at their level renewing {listed(asked.always)}"] if asked.always else []
        how += [f"{listed(asked.sooner)} renewed at half of their use"] if asked.sooner else []
        yield (
            f"With {fresh} used by then, the cheapest plan found costs {_more(asked.extra)}: "
            f"{'; '.join([dates, *how])}."
        )


def _used(value: float) -> str:
    return "an unknown share" if math.isnan(value) else share(value)


def _more(found: Paired) -> str:
    """A difference in words.

    >>> from decimal import Decimal as D
    >>> from costplan.season.drawn.figures import Chance
    >>> no = Chance(0, 0)
    >>> _more(Paired(D(12), D(2), D(8), D(16), D(0), D(0), D(0), no, no))
    '12 more (+/- 2)'
    """
    error = f" (+/- {whole(found.error)})" if found.error else ""
    if not round(found.mean):
        return f"the same{error}"
    return f"{whole(abs(found.mean))} {'more' if found.mean > 0 else 'less'}{error}"


def _answer_lines(found: Timing) -> Iterator[str]:
    """What is best, by how much, and on what that rests."""
    gains = {"uses": found.uses_gain, "dates": found.dates_gain}
    if _no_date_pays(found):
        yield "No date of its own pays: open it when what may not be stretched is due."
    if found.best == "fixed":
        yield "Neither dates nor other renewal uses beat the files' fixed intervals beyond the error: keep those."
    for name, gain in gains.items():
        if gain is not None:
            best = " This is the cheapest way found." if name == found.best else ""
            than = " than" if round(gain.mean) else ""
            way = "With other renewal uses and intervals" if name == "uses" else "On dates"
            way = "Opened so" if name == "dates" and _no_date_pays(found) else way
            yield f"{way} a season costs {_more(gain)} on average{than} as the files have it.{best}"
            if name == found.best and found.over_years is not None:
                yield _over_years(found.over_years)
    if found.lost_more is not None and found.pays_below is not None:
        yield (
            f"It loses more results: {counted(found.lost_more)} a season by weight, which is counted in. It pays while "
            f"one of weight 1 is worth less than {whole(found.pays_below)} beyond its purse (result_worth)."
        )
    stopped = "Stopped: the best so far is shown. " if found.stopped else ""
    yield (
        f"{stopped}Found among {plural(found.tried, 'choice')}, each judged on up to {found.seasons:,} seasons of seed "
        f"{found.seed}; the figures are from {seasons_of(found.judged)} of seed {found.judged_seed}, which the search "
        "has not seen."
    )


def _no_date_pays(found: Timing) -> bool:
    """Whether the cheapest way is to have no dates: everything is opened as it is due."""
    return found.best == "dates" and not any(one.own for one in found.services)


def _over_years(found: OverYears) -> str:
    """What the best way comes to over some seasons, and what that says of its gain in one."""
    later = "" if found.followed == found.years else ", the later ones as the files have them"
    each = " a season" if found.followed > 1 else " in all"
    begins = f"Over {plural(found.years, 'season')}, the garage carried over{later},"
    cost = f"{_more(found.gain)}{each}"
    if not found.gain.shown:
        return f"{begins} no difference is shown ({cost}): the gain is the season's end alone."
    if found.gain.mean > 0:
        return f"{begins} it costs {cost}: the gain is the season's end alone. Keep what the files have."
    return f"{begins} it costs {cost}. Trust this figure: that of one season hangs on what is left at its end."


def _past_lines(ages: Sequence[AgeAt]) -> Iterator[str]:
    """What begins a big event past its assumed life."""
    past = dict.fromkeys(age.slot for age in ages if age.chosen > 1)
    if past:
        yield f"Past its assumed life at a big event (! below): {listed(past)}. Inspect before it runs."


def _date_passages(found: Timing) -> Iterator[Passage]:
    """What is opened when; what moving a date costs stands in a table of its own."""
    if not found.services:
        return
    marked = any(one.own for one in found.services)
    lines = tuple((0, _service(one, marked=marked)) for one in found.services)
    rest = (
        f" If a level was done for another reason within {number(found.rest)} events before its date, the date is "
        "skipped."
        if found.rest
        else ""
    )
    always = f" Every opening at their level renews {listed(found.always)}." if found.always else ""
    yield Passage(f"{_when(found)}{rest}{always}", lines)


def _when(found: Timing) -> str:
    if any(one.own for one in found.services):
        return "On dates: what is done when."
    ways = {"fixed": "As the files have it", "uses": "With other renewal uses", "dates": "Opened when it is due"}
    return f"{ways[found.best]}: when that is, where nothing fails."


def _service(one: ServiceDate, *, marked: bool) -> str:
    """An opening; beside dates, one that is none is marked."""
    due = "" if one.own or not marked else "; no date: due by then, or owed"
    return f"{one.level} before {one.before}, from {day(one.date)} on{due}"


#: The moves that have a column: events later, or, where it is less than none, earlier.
COLUMNS = (-2, -1, 1, 2)
#: What names the reasons for which a date cannot be moved.
LETTERS = "abcdefghijklmnopqrstuvwxyz"


def _moves_table(services: Sequence[ServiceDate]) -> Table:
    """What moving each date costs; a letter where it cannot be, which the note explains."""
    moved = [service for service in services if service.moves]
    shown = [move for one in moved for move in one.moves if move.events in COLUMNS]
    reasons = dict.fromkeys(move.reason for move in shown if move.cost is None)
    letters = {reason: _letter(n) for n, reason in enumerate(reasons)}
    rows = tuple(
        (one.level, one.before, *(_in_column(one.moves, events, letters) for events in COLUMNS)) for one in moved
    )
    header = ("Level", "Before", *(f"{abs(n)} {'later' if n > 0 else 'earlier'}" for n in COLUMNS))
    note = _moves_note(moved, letters)
    return Table("What moving a date by one or two events costs", header, rows, (2, 3, 4, 5), note)


def _letter(n: int) -> str:
    """The name of the n-th reason.

    >>> _letter(0), _letter(25), _letter(26)
    ('a', 'z', 'aa')
    """
    return LETTERS[n % len(LETTERS)] * (n // len(LETTERS) + 1)


def _in_column(moves: Sequence[Move], events: int, letters: Mapping[str, str]) -> str:
    return next((_cost(move) if move.cost else letters[move.reason] for move in moves if move.events == events), "")


def _moves_note(moved: Sequence[ServiceDate], letters: Mapping[str, str]) -> str:
    """What the cells say, the moves that have no column, and why the others cannot be."""
    words = ["More (+) or less (-) than on the date; =: the same in every season."]
    if any(move.cost and _unsure(move.cost) for one in moved for move in one.moves):
        words.append("(In brackets): no difference shown.")
    for service in moved:
        for move in service.moves:
            if move.events not in COLUMNS:
                found = _cost(move, " ") if move.cost else f"cannot be ({move.reason})"
                words.append(f"{service.level} before {service.before}, {_moved(move)}: {found}.")
    cannot = "; ".join(f"{letter}) {reason}" for reason, letter in letters.items())
    return " ".join([*words, f"Cannot be: {cannot}."] if cannot else words)


def _moved(move: Move) -> str:
    """A move in words."""
    steps = plural(abs(move.events), "event")
    where = f", before {move.before}" if move.before else ""
    return f"{steps} {'later' if move.events > 0 else 'earlier'}{where}"


def _cost(move: Move, between: str = "\n") -> str:
    """What a move costs, its error in a line of its own; in brackets where no difference is shown."""
    if move.cost is None or move.cost.alike.share == 1:
        return "="
    shown = f"{signed(move.cost.mean)}{between}+/- {whole(move.cost.error)}"
    return f"({shown})" if _unsure(move.cost) else shown


def _unsure(cost: Paired) -> bool:
    return cost.alike.share < 1 and not cost.shown


def _sides_table(found: Timing) -> Table:
    sides = [side for side in (found.fixed, found.uses, found.dates) if side is not None]
    note = (
        "In the end: cash less what is left on hand, and what lost results are worth; means. What is left is valued by "
        "the files' own lives and intervals, whatever is chosen."
    )
    header = ("A season", "In the end", "+/-", "Cash", "Results lost", "Missed")
    return Table("What it costs", header, tuple(_side_row(side) for side in sides), (1, 2, 3, 4, 5), note)


def _side_row(side: Side) -> tuple[str, ...]:
    lost, missed = (count_cells(count)[3] for count in (side.results_lost, side.missed))
    return WAYS[side.name], whole(side.burden.mean), whole(side.burden.error), whole(side.cash.mean), lost, missed


#: Slots whose age is shown, of those that the answer has: so many fit beside the names of events.
AGES = 4


def _ages_table(ages: Sequence[AgeAt]) -> Table:
    """How old what matters is at each big event, a row for each."""
    slots = list(dict.fromkeys(age.slot for age in ages))[:AGES]
    events = list(dict.fromkeys(age.event for age in ages))
    cells = {(age.event, age.slot): age for age in ages}
    rows = tuple((event, *(_pair(cells[event, slot]) for slot in slots)) for event in events if slots)
    past = " !: past its assumed life; inspect." if any(age.chosen > 1 for age in ages) else ""
    note = (
        "Percent of the assumed life used when it begins, as found / as the files have it, where nothing fails and it "
        f"does not rain.{past}"
    )
    return Table("How old it is at the big events", ("Event", *slots), rows, tuple(range(1, len(slots) + 1)), note)


def _pair(age: AgeAt) -> str:
    """A share of an age as found, marked where it is past its end, and as the files have it."""
    return f"{_percent(age.chosen)}{'!' if age.chosen > 1 else ''}/{_percent(age.fixed)}"


def _percent(value: float) -> str:
    return "-" if math.isnan(value) else f"{100 * value:.0f}"


def _oldest(factors: Sequence[RenewalUse], ages: Sequence[AgeAt]) -> str:
    """How old what is renewed later than the files say is at the big event that finds it oldest."""
    found = []
    for one in factors:
        here = [age for age in ages if age.slot == one.slot and not math.isnan(age.chosen)]
        if one.found > one.now and here:
            age = max(here, key=lambda age: age.chosen)
            found.append(f"{one.slot} {share(age.chosen)}{'!' if age.chosen > 1 else ''} before {age.event}")
    return f" Renewed later than now, of its assumed life used at most: {listed(found)}." if found else ""


def _uses_table(factors: Sequence[RenewalUse], ages: Sequence[AgeAt]) -> Table:
    rows = tuple(
        (
            f"{one.slot}{'' if one.stretch else ' *'}",
            one.measure,
            *(_use(value) for value in (one.now, one.found, one.theory)),
            one.policy,
            whole(one.planned_cost),
            whole(one.failure_cost),
            share(one.ratio),
        )
        for one in factors
    )
    note = (
        "Renewed after so much use: as the files have it, as found by playing, and as theory would by itself (Barlow & "
        "Hunter 1960: I renewed whole, II mended by a piece until then), at what a planned renewal and a failure "
        "cost. Cost: theory's as a share of that of running to failure (II: of renewing as now). * may not be "
        f"stretched. Theory knows one part for ever; the dates know the calendar and what else is open."
        f"{_oldest(factors, ages)}"
    )
    header = ("Slot", "In", "Now", "Found", "Theory", "", "Plan", "Fail", "Cost")
    return Table("Renewal uses and theory", header, rows, (2, 3, 4, 6, 7, 8), note)


def _use(value: float) -> str:
    return number(value, 3) if math.isfinite(value) else "fails"


def _intervals_table(found: Timing) -> Table:
    rows = tuple(
        (one.level, one.measure, number(one.now, 3), number(one.found, 3))
        for one in found.intervals
        if one.now != one.found
    )
    return Table("Intervals with other renewal uses", ("Level", "In", "Now", "Found"), rows, (2, 3))


def _paste_passages(found: Timing, paste: Paste) -> Iterator[Passage]:
    """What to write into the files to follow the way that costs least."""
    parts = (
        (
            "At the end of calendar.csv, in the columns of yours" if paste.calendar else "In calendar.csv:",
            _in_calendar(paste),
        ),
        ("In levels.csv:", _in_levels(paste)),
        ("In positions.csv:", _in_positions(paste)),
    )
    begins = f"To follow {'the other renewal uses' if found.best == 'uses' else 'it'}. "
    for title, lines in parts:
        if lines:
            yield Passage(f"{begins}{title}", tuple((1, line) for line in lines))
            begins = ""
    if paste.levels:
        yield Passage(COMPARED)


def _in_calendar(paste: Paste) -> list[str]:
    rows = [f"{tame(row.event)},{row.date},service,{tame(row.level)}" for row in paste.calendar]
    return [*(["event,date,kind,level", *rows] if rows else []), *(_dropped(row, paste) for row in paste.dropped)]


def _dropped(row: str, paste: Paste) -> str:
    """What becomes of a row whose work is not to be done; a log that names it must find it there."""
    if paste.instead:
        return f"level = {paste.instead} in the row {row}"
    return f"Take out the row {row}; where log.csv names it, leave its event empty there."


def _in_levels(paste: Paste) -> list[str]:
    rests = [f"rest = {number(row.rest)} in the rows of {row.level}" for row in paste.levels if row.rest]
    more = [f"renews = {' '.join(row.renews)} in the rows of {row.level}" for row in paste.levels if row.more]
    return [*map(_interval, paste.levels), *rests, *more]


def _in_positions(paste: Paste) -> list[str]:
    waiting = [row.slot for row in paste.positions if row.waits]
    others = [row for row in paste.positions if row.renewal != "at interval" or row.factor != 1]
    lines = [f"{row.slot}: {_written(row.renewal, row.factor)}" for row in others]
    return [*lines, *([f"waits = yes: {' '.join(waiting)}"] if waiting else [])]


def _interval(row: LevelRow) -> str:
    """What becomes of the interval of a level."""
    if row.interval is None:
        return f"interval, measure and dates left empty in the rows of {row.level}"
    return f"interval = {number(row.interval)} in the rows of {row.level}"


def _written(renewal: str, factor: float) -> str:
    return "renewal = run to failure" if renewal != "at interval" else f"factor = {number(factor)}"


def timing_csv(found: Timing) -> str:
    """The dates with their moves as CSV; without moves a row for the date alone."""
    header = ("level", "before", "date", "events", "moved_before", "mean", "error", "low", "high", "reason")
    rows: list[tuple[object, ...]] = []
    for service in found.services:
        date = (service.level, service.before, service.date)
        rows += [(*date, *_move_cells(move)) for move in service.moves] or [(*date, *("",) * 7)]
    return to_csv(header, rows)


def _move_cells(move: Move) -> tuple[object, ...]:
    cost = move.cost
    figures = (cost.mean, cost.error, cost.low, cost.high) if cost else ("",) * 4
    return (move.events, move.before, *figures, move.reason)
