"""The checklist of an inspection, who looks at what at an event, and what they found, as pages and sheets."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import date
from decimal import Decimal

from costplan.garage import Inspected
from costplan.quantity import Quantity
from costplan.reading import columns
from costplan.report.data import records_to_csv, to_csv
from costplan.report.tables import Page, Passage, Table, listed, money, number, percent, plural, quantity
from costplan.rules.checklist import CheckBook, CheckGroup, CheckLine
from costplan.rules.inspecting import LOOK, OPENING, RISK, CarResult, Check, Opening, Outcome, Plan, Visit
from costplan.rules.kinds.common import either

#: Room for a word by hand.
RESULT, BY = "_" * 8, "_" * 4
#: What a check says was measured on the bench; by whom is said otherwise.
ON_BENCH = "measured on the bench"
ROOM = "Beside a clause: minutes, room for a result and a name, its place in the book."
DECIDES = "What is found decides, with the officials' gauges and the book in force that day; this list does not."
#: The stages, and what is opened to no level.
STAGES = {
    "papers": "Papers",
    "running": "Running",
    "outside": "As it stands, nothing opened",
    "opened": "Opened, how deep nothing says: positions.csv has no row of these slots",
}


def checklist_page(books: Sequence[CheckBook], title: str, currency: str, invented: bool) -> Page:
    """Checklists to print and sign: a block for each clause, whose first line has the room to do it."""
    signed = (f"Inspected by {'_' * 18}   Entrant {'_' * 18}   Date {'_' * 10}", "", DECIDES)
    engines = tuple(
        f"{'Engine ' + engine if engine else 'The build as planned'}, by the clauses in force on {on}."
        for engine, on in dict.fromkeys((book.engine, book.on) for book in books)
    )
    passages = tuple(passage for book in books for passage in _book_passages(book, currency))
    heading = f"Inspection: {title}"
    return Page(f"{heading} (invented data)" if invented else heading, (*engines, ROOM), (), signed, passages)


def _book_passages(book: CheckBook, currency: str) -> tuple[Passage, ...]:
    edition = f", {book.edition}" if book.edition else ""
    words = [f"Results by {either(book.gauges)} count as proof."] if book.gauges else []
    words += [book.tolerance] if book.tolerance else []
    about = Passage(f"{book.name}{edition} ({book.file})", ((0, " ".join(words)),) if words else ())
    return about, *(_group_passage(group, currency) for group in book.groups)


def _group_passage(group: CheckGroup, currency: str) -> Passage:
    """One stage or depth, the first lines of its clauses in columns."""
    if not group.stage:
        rows = tuple(row for line in group.lines for row in _not_asked(line))
        return Passage("In force, but not asked of this engine as described", rows)
    wide = max(len(line.rule) for line in group.lines)
    far = max(len(_takes(line)) for line in group.lines)
    rows = tuple(row for line in group.lines for row in _block(line, wide, far))
    return Passage(f"{_group_title(group, currency)}. {_minutes(group)}", rows)


def _not_asked(line: CheckLine) -> tuple[tuple[int, str], ...]:
    return (0, f"{line.rule}  {_where(line)}".rstrip()), (1, line.says), (1, f"{listed(line.why[:1])}.")


def _block(line: CheckLine, wide: int, far: int) -> tuple[tuple[int, str], ...]:
    """A clause: its minutes and room to sign; what it says; what to look at and what is known, on the desk run on."""
    room = f"{line.rule:<{wide}}  {_takes(line):>{far}}  {RESULT} {BY}  {_where(line)}".rstrip()
    words = (f"{_sentence(line.says)} {_what(line)}",) if line.stage == "papers" else (line.says, _what(line))
    return (0, room), *((1, text) for text in words)


def _sentence(words: str) -> str:
    """Words that others follow.

    >>> _sentence("Two engines a season"), _sentence("Who pays?")
    ('Two engines a season.', 'Who pays?')
    """
    return words if words.endswith((".", "!", "?", ":")) else f"{words}."


def _takes(line: CheckLine) -> str:
    return f"{number(line.minutes)} min" if line.minutes else ""


def _where(line: CheckLine) -> str:
    """Where the book says it; advice is told."""
    return "; ".join(word for word in ("advice" if line.severity == "should" else "", line.clause) if word)


def _group_title(group: CheckGroup, currency: str) -> str:
    if not group.level:
        return STAGES[group.stage]
    hours = f", {number(group.hours)} h until ready" if group.hours else ""
    takes = f"opening and closing {money(group.cost or Decimal(0))} {currency}{hours}"
    return f"{'Car' if group.carrier == 'car' else 'Engine'} opened to {group.level}: {takes}"


def _minutes(group: CheckGroup) -> str:
    """The subtotal of a depth; a line without minutes is not one of none."""
    unstated = f", beside {plural(group.unstated, 'clause')} without stated minutes" if group.unstated else ""
    return f"Minutes here {number(group.minutes)}{unstated}; so far {number(group.so_far)}."


def _what(line: CheckLine) -> str:
    """What to look at and how; then what is known, and who pays."""
    how = [line.look]
    how += [f"with {line.tool}"] if line.tool else []
    how += [f"depth of {listed(line.unplaced)} not stated"] if line.unplaced and line.level else []
    words = [f"Check: {'; '.join(how)}."]
    words += [f"So far: {known}."] if (known := _known(line)) else []
    words += [f"Opening paid by {line.pays}."] if line.pays else []
    return " ".join(words)


def _known(line: CheckLine) -> str:
    """What speaks for or against it so far; '' where nothing does."""
    words = [f"{_value(line.value)}{' on hand' if line.kind == 'paper' else ''}"] if line.value else []
    if line.verdict != "cannot be shown":
        words.append(line.verdict)
    elif line.value:
        words.append("meets on paper" if line.on_paper == "meets" else "not shown")
    words += line.at_fault if line.verdict == "breaks" else ()
    words += [f"measured by {listed(line.measured_by)}"] if line.measured_by else []
    words += [shown.rpartition(" (")[0] or shown for shown in line.shown_by if shown != ON_BENCH]
    words += [f"owed {listed(line.owed)}"] if line.owed and line.on_paper != "meets" else []
    return ", ".join(words)


def _value(value: Quantity | str | None) -> str:
    return quantity(value) if isinstance(value, Quantity) else value or ""


def checklist_csv(books: Iterable[CheckBook]) -> str:
    """Checklists, a clause a row, with two empty columns to fill in."""
    names = ("pack", "rule", "says", "stage", "level", "carrier", "look", "tool", "limit", "minutes", "pays", "cost")
    header = (*names, "asked", "verdict", "value", "known", "result", "by")
    return to_csv(header, (_row(line, names) for book in books for line in book.lines()))


def _row(line: CheckLine, names: Sequence[str]) -> tuple[object, ...]:
    cells = ("" if (cell := getattr(line, name)) is None else cell for name in names)
    return (*cells, "yes" if line.asked else "no", line.verdict, _value(line.value), _known(line), "", "")


def plan_page(plan: Plan, title: str, lines: Sequence[str], invented: bool) -> Page:
    """Who looks at what on which car in which order, and how each check is done."""
    inspectors = range(1, plan.terms.inspectors + 1)
    tables = (
        *(_inspector_table(plan, inspector) for inspector in inspectors),
        *_how_tables(plan),
        *_openings_tables(plan.openings),
    )
    heading = f"Inspection: {title}"
    about = (*lines, _sums(plan))
    return Page(f"{heading} (invented data)" if invented else heading, about, tables, (*_notes(plan), DECIDES))


def _sums(plan: Plan) -> str:
    terms, found, most = plan.terms, number(plan.expected, 3), number(plan.bound, 3)
    bound = "no choice finds more" if found == most else f"no choice finds more than {most}"
    each = f", {terms.each_car} of them once for each car," if terms.each_car else ""
    return (
        f"{plural(terms.inspectors, 'inspector')} with {terms.minutes} minutes each: {plan.used} of {terms.pool}{each} "
        f"used on {plural(len(plan.visits), 'car')}. Breaches found on the average, if the stated chances hold: "
        f"{found}; {bound}."
    )


def _inspector_table(plan: Plan, inspector: int) -> Table:
    visits = [visit for visit in plan.visits if visit.inspector == inspector]
    rows = tuple(
        (visit.car, f"{_about(visit)}\n{listed(_marked(check) for check in visit.checks)}", *_figures(visit))
        for visit in visits
    )
    title = f"Inspector {inspector}: {plural(len(visits), 'car')}, {plan.loads[inspector - 1]} minutes"
    note = "" if rows else "Nothing to look at."
    return Table(title, ("Car", "Look at, in this order", "Min", "Breaches"), rows, right=(2, 3), note=note)


def _figures(visit: Visit) -> tuple[str, str]:
    return str(visit.minutes), number(visit.chance, 3)


def _about(visit: Visit) -> str:
    words = [f"place {visit.finish}"] if visit.finish else []
    words += [f"engine {visit.engine}"] if visit.engine else []
    words += [f"seals {visit.seals}"] if visit.seals else []
    opened = f"opened to {' and '.join(visit.opened)}, {visit.opening} min" if visit.opened else "nothing opened"
    return listed((*words, opened))


def _marked(check: Check) -> str:
    return f"{check.rule} (by lot)" if check.drawn else check.rule


def _how_tables(plan: Plan) -> tuple[Table, ...]:
    """How each check is done, once, in the order of the checklist; figures that nobody stated bear a star."""
    checks: dict[tuple[str, str], list[Check]] = {}
    for check in sorted((check for visit in plan.visits for check in visit.checks), key=lambda one: one.place):
        checks.setdefault((check.pack, check.rule), []).append(check)
    rows = tuple(_how_cells(its) for its in checks.values())
    header = ("Clause", "Look at", "Min", "Risk", "Cars")
    return (Table("How", header, rows, right=(2, 3, 4)),) if rows else ()


def _how_cells(checks: Sequence[Check]) -> tuple[str, ...]:
    first = checks[0]
    minutes, risk = (f"{'*' if name in first.assumed else ''}" for name in ("minutes", "risk"))
    tool = f"; with {first.tool}" if first.tool else ""
    figures = (f"{first.minutes}{minutes}", f"{percent(first.risk)}{risk}", str(len(checks)))
    return first.rule, f"{first.look}{tool}", *figures


def _openings_tables(openings: Sequence[Opening]) -> tuple[Table, ...]:
    rows = tuple((one.level, one.carrier, str(one.minutes), "assumed" if one.assumed else "stated") for one in openings)
    note = "Minutes that an inspector stands by; state them with --opening LEVEL=MINUTES."
    header = ("Opened to", "Of", "Minutes", "Whose word")
    return (Table("What opening takes", header, rows, right=(2,), note=note),) if rows else ()


def _notes(plan: Plan) -> tuple[str, ...]:
    """What the page rests on that nobody stated, and what it leaves out."""
    assumed = {word for visit in plan.visits for check in visit.checks for word in check.assumed}
    drawn, seed = plan.terms.drawn, plan.terms.seed
    notes = (
        (plan.passed, f"Nobody looks at car {listed(plan.passed)}."),
        (plan.left_out, f"Not looked at on cars (fees, conduct, advice, not asked): {listed(plan.left_out)}."),
        ("risk" in assumed, f"* assumed: {percent(RISK)}, where the book states no risk."),
        (
            "minutes" in assumed,
            f"* assumed: {LOOK} minutes, where the book states none, and {OPENING} to open what has no depth.",
        ),
        (plan.assumed_cars, f"Assumed, as nobody states it: the risk of car {listed(plan.assumed_cars)}."),
        (drawn, f"Kept for drawing by lot: {drawn}% of the minutes; seed {seed}."),
    )
    return tuple(note for asked, note in notes if asked)


def checks_csv(plan: Plan) -> str:
    """All checks, one a row."""
    return records_to_csv(Check, (check for visit in plan.visits for check in visit.checks))


def results_sheet(plan: Plan, on: date) -> str:
    """An empty results sheet in the form of inspections.csv, the rows in the order in which they are looked at."""
    header = [column.name for column in columns(Inspected)]
    rows = [
        {
            "engine": check.car,
            "pack": check.pack,
            "rule": check.rule,
            "date": on,
            "instrument": check.tool,
            "note": "; ".join(word for word in (f"inspector {check.inspector}", check.limit) if word),
        }
        for visit in plan.visits
        for check in visit.checks
    ]
    return to_csv(header, ([row.get(name, "") for name in header] for row in rows))


def results_page(cars: Sequence[CarResult], title: str, lines: Sequence[str], invented: bool) -> Page:
    """What became of the checks of a results sheet, by car."""
    counts = tuple((one.car, str(one.met), str(len(one.broken)), str(len(one.owed)), listed(one.owed)) for one in cars)
    header = ("Car", "Met", "Broken", "Owed", "Still to be looked at or shown")
    tables = (Table("", header, counts, right=(1, 2, 3)), *_outcome_tables(cars))
    heading = f"Results: {title}"
    foot = ("Clauses without a row on the sheet are not spoken of.", DECIDES)
    return Page(f"{heading} (invented data)" if invented else heading, tuple(lines), tables, foot)


def _outcome_tables(cars: Sequence[CarResult]) -> tuple[Table, ...]:
    """What is broken, what was looked at and is still owed, and what met its limit closely; with who found it."""
    found = [outcome for car in cars for outcome in car.outcomes]
    broken = [one for one in found if one.outcome == "broken"]
    owed = [one for one in found if one.outcome in ("owed", "not asked")]
    close = [one for one in found if one.close and one.outcome == "met"]
    groups = (
        ("Broken", broken),
        ("Looked at, and not shown by it", owed),
        ("Met, the limit within the uncertainty of the value", close),
    )
    header = ("Car", "Clause", "Found / limit, and what it says", "By")
    return tuple(Table(name, header, tuple(_outcome_cells(one) for one in its)) for name, its in groups if its)


def _outcome_cells(one: Outcome) -> tuple[str, ...]:
    advice = "\nadvice" if one.severity == "should" else ""
    found = _value(one.value) or one.found
    margin = f", margin {quantity(one.margin)}" if one.margin else ""
    words = [f"{found} / {one.limit}{margin}" if one.limit else found, *one.why, one.says]
    by = f"{one.by}\n{one.on}" if one.by else str(one.on)
    return one.car, f"{one.rule}{advice}", "\n".join(word for word in words if word), by
