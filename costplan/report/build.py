"""Bills, measures, fits and rule findings as pages."""

from __future__ import annotations

from collections.abc import Sequence

from costplan.build import MEASURES_OF_BUILD, Bill, BillLine, Build, Figure, FitFinding, Word
from costplan.quantity import Quantity
from costplan.report.tables import Page, Table, days_old, listed, money, number, plural, quantity
from costplan.rules import Finding, Verdicts

INSPECTION = (
    "Meeting a list is not passing inspection: officials and their gauges decide, from the book in force that day.",
)


def bill_page(
    bill: Bill,
    figures: Sequence[Figure],
    title: str,
    invented: bool,
    benched: Sequence[Figure | Word] = (),
    lines: Sequence[str] = (),
) -> Page:
    """The bill of materials and the measures of a build, and what was measured on the bench."""
    rows = tuple(
        (
            line.part,
            line.name or listed(line.slots),
            str(line.pieces),
            "" if line.kind == "operation" else f"{line.packs} x {line.pack}",
            str(line.left_over or ""),
            days_old(line.price_age_days),
            money(line.cost),
        )
        for line in bill.lines
    )
    header = ("Part", "What", "Need", "Packs", "Left", "Days old", "Cost")
    tables = (
        Table("Parts to buy, new", header, rows, right=(2, 3, 4, 5, 6), note=_totals(bill)),
        *_kit_tables(bill),
        *_bench_tables(benched),
        figures_table(figures, from_bench=bool(benched)),
    )
    return Page(f"{title} (invented data)" if invented else title, tuple(lines), tables, (*_hints(bill), *INSPECTION))


def _totals(bill: Bill) -> str:
    tax = {None: "", True: " with tax", False: " without tax"}[bill.with_tax]
    return (
        f"Total {money(bill.total)} {bill.currency}{tax}; core deposits on top {money(bill.core_charges)}; "
        f"longest lead {plural(bill.longest_lead_days, 'day')}; oldest price of {bill.oldest_price or 'no day'}."
    )


def _hints(bill: Bill) -> tuple[str, ...]:
    """Prices that are old."""
    stale = [line for line in bill.lines if line.stale]
    return (f"Old prices, to be asked again: {listed(_dated(line) for line in stale)}.",) if stale else ()


def _kit_tables(bill: Bill) -> tuple[Table, ...]:
    """The kits that would cost less than what they hold."""
    rows = tuple((saving.kit, listed(saving.holds), money(saving.saves)) for saving in bill.savings)
    note = "Each by itself; of two that hold one part only one can save. To buy one, name it under kit in the build."
    table = Table("Kits that would save", ("Kit", "Holds", "Saves"), rows, right=(2,), note=note)
    return (table,) if rows else ()


def _dated(line: BillLine) -> str:
    return f"{line.part} ({line.price_date})"


def _bench_tables(benched: Sequence[Figure | Word]) -> tuple[Table, ...]:
    rows = tuple((figure.measured,) for figure in benched)
    return (Table("From the bench", ("What was measured, and what it goes before",), rows),) if rows else ()


def figures_table(figures: Sequence[Figure], *, from_bench: bool = False) -> Table:
    """The measures that the pattern asks for; the others by name in the note."""
    asked = [figure for figure in figures if figure.value or len(figure.ungiven) < len(figure.missing)]
    rows = tuple(
        (figure.name.replace("_", " "), quantity(figure.value) if figure.value else "unknown", _how(figure))
        for figure in asked
        if figure.name != "price"
    )
    unless = " unless measured" if from_bench else ", not measured"
    note = f"From catalog figures{unless}. Rows behind each: --json, under 'measures'."
    others = [figure.name.replace("_", " ") for figure in figures if figure not in asked]
    if others:
        note += f" Unknown, as the pattern lacks inputs for them (costplan columns pattern.toml): {listed(others)}."
    return Table("Measures", ("Measure", "Value", "How"), rows, right=(1,), note=note)


def _how(figure: Figure) -> str:
    if figure.measured:
        return f"measured, else {MEASURES_OF_BUILD[figure.name].formula}"
    return MEASURES_OF_BUILD[figure.name].formula if figure.value else f"missing: {listed(figure.missing[:3])}"


def check_page(
    verdicts: Sequence[Verdicts], title: str, invented: bool, fits: Sequence[FitFinding] = (), lines: Sequence[str] = ()
) -> Page:
    """The findings of the fits and of every pack."""
    packs = () if verdicts else ("The files are in order. The scenario names no rule pack.",)
    tables = (*_fit_tables(fits), *(table for pack in verdicts for table in _pack_tables(pack)))
    foot = INSPECTION if verdicts else ()
    return Page(f"{title} (invented data)" if invented else title, (*lines, *packs), tables, foot)


def standing_line(engine: str, build: Build) -> str:
    """Which engine a page speaks of, and what is known of it."""
    known = f"{plural(build.steps_done, 'service step')} done, {plural(len(build.bench), 'value')} from the bench"
    return f"Engine {engine} as it stands: {known}. Slots without a row in garage.csv are taken as planned."


def _fit_tables(fits: Sequence[FitFinding]) -> tuple[Table, ...]:
    """The fits that break or cannot be shown; of the others only how many there are."""
    if not fits:
        return ()
    rows = tuple((fit.fit, fit.verdict, _compared(fit), fit.for_what) for fit in fits if fit.verdict != "meets")
    return (Table(f"Fits: {_counts(fits)}", ("Fit", "Verdict", "Found / must be", "For"), rows),)


def _counts(fits: Sequence[FitFinding]) -> str:
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
    found = f"{fit.this} {_side(fit.value)} / {fit.must} {fit.that}"
    other = "" if fit.that.startswith(str(fit.other)) else f" ({_side(fit.other)})"
    margin = f", margin {quantity(fit.margin)}" if fit.margin else ""
    return f"{found}{other}{margin}"


def _side(value: Quantity | str | None) -> str:
    return quantity(value) if isinstance(value, Quantity) else value or ""


def _pack_tables(pack: Verdicts) -> tuple[Table, ...]:
    edition = f", {pack.edition}" if pack.edition else ""
    counts = (
        f"{pack.count('meets')} met, {pack.count('breaks')} broken, {pack.count('cannot be shown')} cannot be shown"
    )
    rows = tuple((finding.rule, _verdict(finding), _measured(finding), _says(finding)) for finding in pack.findings)
    default = "forbidden" if pack.default == "forbid" else "allowed"
    tail = f"What is not written is {default} in this book. {pack.tolerance}".strip()
    title = f"{pack.pack}{edition} ({pack.file}): {counts}"
    table = Table(title, ("Clause", "Verdict", "Found / limit", "Says"), rows, note=tail)
    owed = tuple(
        (finding.rule, listed(finding.owed), finding.tool, number(finding.minutes) if finding.minutes else "")
        for finding in pack.findings
        if finding.owed
    )
    header = ("Clause", "Proof still owed", "Tool", "Minutes")
    return table, Table("To bring, before it can be shown", header, owed, right=(3,))


def _verdict(finding: Finding) -> str:
    if finding.verdict == "cannot be shown" and finding.on_paper == "meets":
        return "cannot be shown (on paper it meets)"
    return finding.verdict


def _measured(finding: Finding) -> str:
    if finding.value is None:
        return listed(finding.at_fault) + (f" / {finding.limit}" if finding.at_fault else finding.limit)
    margin = f", margin {quantity(finding.margin)}" if finding.margin else ""
    return f"{quantity(finding.value)} / {finding.limit}{margin}"


def _says(finding: Finding) -> str:
    return f"{finding.says} [{finding.clause}]" if finding.clause else finding.says
