"""Bills and measures as pages."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from types import MappingProxyType

from costplan.build import MEASURES_OF_BUILD, Bill, BillLine, Build, Figure, Spread, Word
from costplan.report.rules import INSPECTION
from costplan.report.tables import Page, Table, days_old, listed, money, plural, quantity

#: Of nothing is known how far it may be off.
NO_SPREADS: Mapping[str, Spread] = MappingProxyType({})


def bill_page(
    bill: Bill,
    figures: Sequence[Figure],
    title: str,
    invented: bool,
    benched: Sequence[Figure | Word] = (),
    lines: Sequence[str] = (),
    spreads: Mapping[str, Spread] = NO_SPREADS,
) -> Page:
    """The bill of materials and the measures of a build, how far they may be off, and what the bench measured."""
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
        Table("Parts to buy, new", header, rows, right=(2, 3, 4, 5, 6), note=bill_totals(bill)),
        *kit_tables(bill),
        *bench_tables(benched),
        figures_table(figures, from_bench=bool(benched), spreads=spreads),
    )
    return Page(f"{title} (invented data)" if invented else title, tuple(lines), tables, (*_hints(bill), *INSPECTION))


def bill_totals(bill: Bill) -> str:
    tax = {None: "", True: " with tax", False: " without tax"}[bill.with_tax]
    return (
        f"Total {money(bill.total)} {bill.currency}{tax}; core deposits on top {money(bill.core_charges)}; "
        f"longest lead {plural(bill.longest_lead_days, 'day')}; oldest price of {bill.oldest_price or 'no day'}."
    )


def _hints(bill: Bill) -> tuple[str, ...]:
    """Prices that are old."""
    stale = [line for line in bill.lines if line.stale]
    return (f"Old prices, to be asked again: {listed(_dated(line) for line in stale)}.",) if stale else ()


def kit_tables(bill: Bill) -> tuple[Table, ...]:
    """The kits that would cost less than what they hold."""
    rows = tuple((saving.kit, listed(saving.holds), money(saving.saves)) for saving in bill.savings)
    note = "Each by itself; of two that hold one part only one can save. To buy one, name it under kit in the build."
    table = Table("Kits that would save", ("Kit", "Holds", "Saves"), rows, right=(2,), note=note)
    return (table,) if rows else ()


def _dated(line: BillLine) -> str:
    return f"{line.part} ({line.price_date})"


def bench_tables(benched: Sequence[Figure | Word]) -> tuple[Table, ...]:
    rows = tuple((figure.measured,) for figure in benched)
    return (Table("From the bench", ("What was measured, and what it goes before",), rows),) if rows else ()


def figures_table(
    figures: Sequence[Figure], *, from_bench: bool = False, spreads: Mapping[str, Spread] = NO_SPREADS
) -> Table:
    """The measures that the pattern asks for; the others by name in the note."""
    asked = [figure for figure in figures if figure.value or len(figure.ungiven) < len(figure.missing)]
    rows = tuple(
        (
            figure.name.replace("_", " "),
            quantity(figure.value) if figure.value else "unknown",
            f"{_how(figure)}{_off(spreads.get(figure.name))}",
        )
        for figure in asked
        if figure.name != "price"
    )
    unless = " unless measured" if from_bench else ", not measured"
    note = f"From catalog figures{unless}. Rows behind each: --json, under 'measures'."
    others = [figure.name.replace("_", " ") for figure in figures if figure not in asked]
    if others:
        note += f" Unknown, as the pattern lacks inputs for them (costplan columns pattern.toml): {listed(others)}."
    return Table("Measures", ("Measure", "Value", "How"), rows, right=(1,), note=note)


def _off(spread: Spread | None) -> str:
    """The worst case of the parts' tolerances, and the uncertainty of what was measured, where anything states them."""
    words = []
    if spread is not None and spread.low is not None and spread.high is not None:
        words.append(f"worst case {quantity(spread.low)} to {quantity(spread.high)}")
    if spread is not None and spread.uncertainty is not None:
        words.append(f"uncertainty {quantity(spread.uncertainty)}")
    return f"\n{listed(words)}" if words else ""


def _how(figure: Figure) -> str:
    if figure.measured:
        return f"measured, else {MEASURES_OF_BUILD[figure.name].formula}"
    return MEASURES_OF_BUILD[figure.name].formula if figure.value else f"missing: {listed(figure.missing[:3])}"


def standing_line(engine: str, build: Build) -> str:
    """Which engine a page speaks of, and what is known of it."""
    known = f"{plural(build.steps_done, 'service step')} done, {plural(len(build.bench), 'value')} from the bench"
    older = listed(f"{row.attribute} of {row.date}" for row in build.outdated)
    aside = f" Put aside, as parts went in later: {older}." if older else ""
    return f"Engine {engine} as it stands: {known}.{aside} Slots without a row in garage.csv are taken as planned."
