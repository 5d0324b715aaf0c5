"""Bills, measures and rule findings as pages."""

from __future__ import annotations

from collections.abc import Sequence

from costplan.build import MEASURES_OF_BUILD, Bill, Figure
from costplan.report.tables import Page, Table, listed, money, number, plural, quantity
from costplan.rules import Finding, Verdicts

INSPECTION = (
    "Meeting a list is not passing inspection: officials and their gauges decide, from the book in force that day.",
)


def bill_page(bill: Bill, figures: Sequence[Figure], title: str, invented: bool) -> Page:
    """The bill of materials and the measures of a build."""
    rows = tuple(
        (
            line.part,
            line.name or listed(line.slots),
            str(line.pieces),
            f"{line.packs} x {line.pack}",
            str(line.left_over or ""),
            money(line.cost),
        )
        for line in bill.lines
    )
    header = ("Part", "What", "Need", "Packs", "Left", "Cost")
    note = (
        f"Total {money(bill.total)} {bill.currency}; core deposits on top {money(bill.core_charges)}; "
        f"longest lead {plural(bill.longest_lead_days, 'day')}; oldest price of {bill.oldest_price or 'no day'}."
    )
    tables = (Table("Parts to buy, new", header, rows, right=(2, 3, 4, 5), note=note), figures_table(figures))
    return Page(f"{title} (invented data)" if invented else title, (), tables, INSPECTION)


def figures_table(figures: Sequence[Figure]) -> Table:
    rows = tuple(
        (
            figure.name.replace("_", " "),
            quantity(figure.value) if figure.value else "unknown",
            MEASURES_OF_BUILD[figure.name].formula if figure.value else f"missing: {listed(figure.missing[:3])}",
        )
        for figure in figures
        if figure.name != "price"
    )
    note = "From catalog figures, not measured. Rows behind each: --json, under 'measures'."
    return Table("Measures", ("Measure", "Value", "How"), rows, right=(1,), note=note)


def check_page(verdicts: Sequence[Verdicts], title: str, invented: bool) -> Page:
    """The findings of every pack."""
    lines = () if verdicts else ("The files are in order. The scenario names no rule pack.",)
    tables = tuple(table for pack in verdicts for table in _pack_tables(pack))
    return Page(f"{title} (invented data)" if invented else title, lines, tables, INSPECTION if verdicts else ())


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
