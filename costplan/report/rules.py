"""What goes together in a build, how an engine answers the rule books, and where it may run, as pages."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import date
from typing import TYPE_CHECKING

from costplan.build import FitFinding
from costplan.quantity import Quantity
from costplan.report.tables import Page, Table, listed, money, number, plural, quantity
from costplan.rules import Finding, Verdicts
from costplan.season import BookCost, ClauseCost

if TYPE_CHECKING:
    from costplan.choose import Remedy, Standing

INSPECTION = (
    "Meeting a list is not passing inspection: officials and their gauges decide, from the book in force that day.",
)


def check_page(
    verdicts: Sequence[Verdicts], title: str, invented: bool, fits: Sequence[FitFinding] = (), lines: Sequence[str] = ()
) -> Page:
    """The findings of the fits and of every pack."""
    packs = () if verdicts else ("The files are in order. The scenario names no rule pack.",)
    tables = (*fit_tables(fits), *(table for pack in verdicts for table in pack_tables(pack)))
    foot = INSPECTION if verdicts else ()
    return Page(f"{title} (invented data)" if invented else title, (*lines, *packs), tables, foot)


def fit_tables(fits: Sequence[FitFinding]) -> tuple[Table, ...]:
    """The fits that break or cannot be shown; of the others only how many there are."""
    if not fits:
        return ()
    rows = tuple((fit.fit, fit.verdict, _compared(fit), fit.for_what) for fit in fits if fit.verdict != "meets")
    return (Table(f"Fits: {fit_counts(fits)}", ("Fit", "Verdict", "Found / must be", "For"), rows),)


def fit_counts(fits: Sequence[FitFinding]) -> str:
    """How many fits are answered how: `14 meet, 1 breaks`."""
    verdicts = [fit.verdict for fit in fits]
    met, broken, unknown = (verdicts.count(verdict) for verdict in ("meets", "breaks", "cannot be shown"))
    words = [f"{met} {'meets' if met == 1 else 'meet'}"]
    words += [f"{broken} {'breaks' if broken == 1 else 'break'}"] if broken else []
    words += [f"{unknown} cannot be shown"] if unknown else []
    return listed(words)


def _compared(fit: FitFinding) -> str:
    """Both sides of a fit as they were found, or what is missing to find them."""
    if fit.missing:
        return f"missing: {listed(fit.missing[:3])}"
    found = f"{fit.this} {side(fit.value)} / {fit.must} {fit.that}"
    other = "" if fit.that.startswith(str(fit.other)) else f" ({side(fit.other)})"
    margin = f", margin {quantity(fit.margin)}" if fit.margin else ""
    return f"{found}{other}{margin}"


def side(value: Quantity | str | None) -> str:
    return quantity(value) if isinstance(value, Quantity) else value or ""


def pack_tables(pack: Verdicts) -> tuple[Table, ...]:
    """The findings of one pack: what is broken, close, owed, to come and met, each in a table of its own."""
    of = {verdict: [one for one in pack.findings if one.verdict == verdict] for verdict in VERDICTS}
    owed = [one for one in of["cannot be shown"] if one.rule in pack.to_bring]
    idle = [f"{one.rule} ({one.why[0] if one.why else 'its condition does not hold'})" for one in of["not asked"]]
    tables = (
        Table(pack_title(pack), (), (), note=pack_note(pack)),
        _broken_table(of["breaks"]),
        close_table(pack.findings),
        _owed_table(owed),
        _list_table("Shown only by the record of events", pack.by_record),
        ahead_table(pack),
        _met_table(of["meets"]),
        _list_table("Not asked", idle),
    )
    return tuple(table for table in tables if table.rows or table.note)


VERDICTS = ("breaks", "cannot be shown", "meets", "not asked")


def pack_title(pack: Verdicts) -> str:
    edition = f", {pack.edition}" if pack.edition else ""
    counts = f"{pack.count('meets')} met, {pack.count('breaks')} broken, {len(pack.to_bring)} to be shown"
    counts += f", {len(pack.by_record)} by the record of events" if pack.by_record else ""
    return f"{pack.name}{edition}, as in force on {pack.on} ({pack.file}): {counts}"


def pack_note(pack: Verdicts) -> str:
    default = "forbidden" if pack.default == "forbid" else "allowed"
    words = [f"What is not written is {default} in this book."]
    if pack.unwritten and pack.default == "forbid":
        words.append(f"No clause in force speaks of: {listed(pack.unwritten)}; ask the officials.")
    words += [f"In its place counts {one.name}: the engine {_stands(one.stands)}." for one in pack.recognised]
    return " ".join((*words, pack.tolerance)).strip()


def _broken_table(findings: Sequence[Finding]) -> Table:
    rows = tuple(
        (_clause(one), two_lines(two_lines(measured(one), one.says), listed(one.shown_by)), one.penalty)
        for one in findings
    )
    return Table("Broken", ("Clause", "Found / limit, and what it says", "Costs"), rows)


def close_table(findings: Iterable[Finding]) -> Table:
    """What a gauge could read either way, and what only the worst case breaks."""
    rows = [
        (one.rule, measured(one), f"uncertainty {quantity(one.uncertainty)}")
        for one in findings
        if one.close and one.uncertainty
    ]
    rows += [
        (one.rule, measured(one), "worst case past the limit")
        for one in findings
        if one.worst_breaks and one.verdict != "breaks"
    ]
    return Table(
        "Close: another gauge, or the worst case, may read otherwise", ("Clause", "Found / limit", "Why"), tuple(rows)
    )


def _owed_table(findings: Sequence[Finding]) -> Table:
    rows = tuple((one.rule, two_lines(listed(one.owed), how_shown(one)), on_paper(one)) for one in findings)
    return Table("To bring, before it can be shown", ("Clause", "Proof still owed; with what", "So far"), rows)


def on_paper(finding: Finding) -> str:
    if finding.on_paper != "meets":
        return "not known"
    return f"meets on paper: {measured(finding)}" if measured(finding) else "nothing against it"


def how_shown(finding: Finding) -> str:
    minutes = f"{number(finding.minutes)} min" if finding.minutes else ""
    return listed(word for word in (finding.tool, minutes) if word)


def ahead_table(pack: Verdicts) -> Table:
    rows = tuple((str(one.date), one.rule, f"{one.before} -> {one.after}") for one in pack.ahead)
    return Table("Ahead: what the calendar alone will change", ("From", "Clause", "Answer"), rows)


def _met_table(findings: Sequence[Finding]) -> Table:
    rows = tuple((one.rule, two_lines(measured(one), listed(one.shown_by))) for one in findings)
    return Table("Met, as far as list, bench and papers go", ("Clause", "Found / limit; what shows it"), rows)


def two_lines(first: str, second: str) -> str:
    """One thing, and another on the next line."""
    return "\n".join(word for word in (first, second) if word)


def _list_table(title: str, words: Sequence[str]) -> Table:
    return Table(title, (), (), note=listed(words)) if words else Table("", (), ())


def _clause(finding: Finding) -> str:
    advice = " (advice)" if finding.severity == "should" else ""
    return f"{finding.rule}{advice}\n{finding.clause}" if finding.clause else f"{finding.rule}{advice}"


def measured(finding: Finding) -> str:
    if finding.value is None or finding.value == "":
        return listed(finding.at_fault) + (f" / {finding.limit}" if finding.at_fault else finding.limit)
    margin = f", margin {quantity(finding.margin)}" if finding.margin else ""
    if finding.low is not None and finding.high is not None:
        margin += f", worst case {quantity(finding.low)} to {quantity(finding.high)}"
    fault = f" ({listed(finding.at_fault)})" if isinstance(finding.value, str) and finding.at_fault else ""
    return f"{side(finding.value)}{fault} / {finding.limit}{margin}"


def _stands(verdict: str) -> str:
    return {"meets": "meets it", "breaks": "breaks it"}.get(verdict, "cannot be shown to meet it")


def matrix_page(found: Sequence[Standing], title: str, engine: str, on: date, invented: bool) -> Page:
    """How an engine stands to every book, and what would have to change."""
    what = f"Engine {engine} as it stands" if engine else "The build as planned"
    lines = (f"{what}, before every book that the scenario names, as in force on {on}.",)
    tables = (_standings_table(found), *(_remedies_table(one) for one in found if one.broken))
    heading = f"Where it may run: {title}"
    return Page(f"{heading} (invented data)" if invented else heading, lines, tables, INSPECTION)


def _standings_table(found: Sequence[Standing]) -> Table:
    rows = tuple(
        (
            f"{one.name}{', this season' if one.season else ''}",
            _outlook(one),
            str(one.met),
            str(len(one.broken)),
            str(len(one.to_show)),
            _cost(one),
        )
        for one in found
    )
    header = ("Book", "The engine", "Met", "Broken", "To show", "Parts to change")
    return Table("", header, rows, right=(2, 3, 4, 5))


def _outlook(one: Standing) -> str:
    by = [other.name for other in one.recognised if other.stands != "breaks"]
    if one.broken and one.stands != "breaks":
        return f"breaks it, and {_stands(one.stands)} by {listed(by)}"
    return _stands(one.stands)


def _cost(one: Standing) -> str:
    if not one.broken:
        return "none"
    clean = all(remedy.clean for remedy in one.remedies)
    return f"{money(one.cost)} {one.currency}" if one.cost is not None and clean else "see below"


def _remedies_table(one: Standing) -> Table:
    """The best single part for each broken clause, or that there is none."""
    rows = [
        (cure.rule, f"{cure.slot}: {cure.instead_of} -> {cure.part}", _also(cure), money(cure.cost))
        for cure in one.remedies
    ]
    rows += [(rule, "no single part of the catalogs ends it", "", "") for rule in one.incurable]
    title = f"To run under {one.name}: {plural(len(one.broken), 'clause')} broken"
    note = (
        "One part at a time, of the catalogs; what two parts together would do is not looked for. Work is not counted."
    )
    return Table(title, ("Clause", "Change", "Then also", "Cost"), tuple(rows), right=(3,), note=note)


def _also(remedy: Remedy) -> str:
    words = [f"breaks {listed(remedy.breaks)}"] if remedy.breaks else []
    words += [f"does not fit: {listed(remedy.unfit)}"] if remedy.unfit else []
    return "; ".join(words) or "nothing against it"


def costs_page(found: BookCost, title: str, currency: str, invented: bool) -> Page:
    """What each clause that binds the season costs."""
    ordered = sorted(found.clauses, key=lambda one: -one.cash)
    acting = [one for one in ordered if one.cash or one.wear or one.missed_more]
    idle = tuple(dict.fromkeys(one.rule for one in ordered if one not in acting))
    rows = [_cost_row(one, f"{one.rule}\n{one.says}") for one in acting]
    if not found.clauses:
        return Page(f"What the book costs: {title}", ("No clause of the scenario's books binds the season.",), ())
    rows.append(_cost_row(found.whole, "the whole book against none"))
    lines = (
        f"Each clause: the season planned with the whole book less that without it; money in {currency}.",
        "Below zero it saves. The lines do not add up: of two clauses that bar one thing, each alone costs nothing.",
    )
    tables = (
        Table("", ("Clause", "Cash", "Wear", "Missed"), tuple(rows), right=(1, 2, 3)),
        _list_table("In force and costing nothing by itself", idle),
    )
    heading = f"What the book costs: {title}"
    shown = tuple(table for table in tables if table.rows or table.note)
    return Page(f"{heading} (invented data)" if invented else heading, lines, shown, COSTS)


COSTS = (
    "Planned with nothing breaking and no rain: caps on what breaks show their cost only there, and what a part risks "
    "that a cap lets run on past its life is not counted.",
)


def _cost_row(one: ClauseCost, name: str) -> tuple[str, ...]:
    return name, money(one.cash), money(one.wear), str(one.missed_more) if one.missed_more else ""
