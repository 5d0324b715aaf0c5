"""The engine of the builder's page: how the build stands to the book, its measures, its bill and how it breathes."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence

from costplan.build import MEASURES_OF_BUILD, BillLine, Figure, FitFinding, Spread
from costplan.build.airflow import Breathing
from costplan.report.airflow import (
    airflow_lines,
    certainty,
    dyno_tables,
    marked_lines,
    power_of,
    speeds_table,
    turn_lines,
)
from costplan.report.build import bill_totals, kit_tables
from costplan.report.rules import (
    ahead_table,
    fit_counts,
    fit_tables,
    how_shown,
    measured,
    on_paper,
    pack_note,
    pack_title,
    two_lines,
)
from costplan.report.tables import days_old, listed, money, number, quantity, share
from costplan.report.web import charts
from costplan.report.web.blocks import Block, Cell, Chart, Section, Sheet, Words, cells, sheet_of
from costplan.report.web.builder.answers import BuilderAnswers
from costplan.rules import Finding, Verdicts

#: What an engine may answer a clause.
_ANSWERS = ("breaks", "cannot be shown", "meets", "not asked")
NOT_PULLED = "\nno pull on a dyno at such a speed"


def engine_sections(found: BuilderAnswers) -> Iterator[Section]:
    yield Section("How the build stands to the book", tuple(_book(found)))
    yield Section("Measures", (_measures(found.figures, found.spreads), _bench(found)))
    yield Section("Bill of materials", tuple(_bill(found)))
    if found.breathing is not None:
        yield Section("Airflow and power", tuple(_airflow(found, found.breathing)))


def finding_why(one: Finding) -> tuple[str, ...]:
    """What a clause says, what the answer rests on, and where it stands."""
    clause = f"{one.clause}: {one.says}" if one.clause else one.says
    return tuple(word for word in (clause, *one.why, one.place) if word)


def _book(found: BuilderAnswers) -> Iterator[Block]:
    if found.near:
        yield _near(found.near)
    for pack in found.verdicts:
        yield Words((pack_title(pack), pack_note(pack)))
        yield from _pack(pack)
    yield from _fits(found.fits)


def _near(findings: Sequence[Finding]) -> Sheet:
    rows = tuple(
        cells(
            Cell(one.rule, finding_why(one)),
            quantity_or_word(one),
            one.limit,
            quantity(one.margin) if one.margin else "",
            f"{quantity(one.low)} to {quantity(one.high)}" if one.low is not None and one.high is not None else "",
            _near_why(one),
        )
        for one in findings
    )
    header = ("Clause", "Found", "Limit", "Margin", "Worst case", "Why it is close")
    note = "Another gauge, or parts at the ends of their tolerances, may read otherwise. Measure before you build."
    return Sheet("Close to the limit", header, rows, (1, 3), note)


def quantity_or_word(one: Finding) -> str:
    """What was found, as a clause compares it."""
    return "" if one.value is None else one.value if isinstance(one.value, str) else quantity(one.value)


def _near_why(one: Finding) -> str:
    if one.close and one.uncertainty:
        return f"within the uncertainty of {quantity(one.uncertainty)}"
    return "the worst case is past the limit" if one.worst_breaks else "a gauge could read either way"


def _pack(pack: Verdicts) -> Iterator[Block]:
    """The clauses by their answer: broken ones first, those that are met folded."""
    of = {verdict: [one for one in pack.findings if one.verdict == verdict] for verdict in _ANSWERS}
    owed = [one for one in of["cannot be shown"] if one.rule in pack.to_bring]
    record = [one for one in of["cannot be shown"] if one.rule in pack.by_record]
    yield _broken(of["breaks"])
    yield sheet_of(ahead_table(pack))
    yield Sheet(
        "To bring, before it can be shown",
        ("Clause", "Proof still owed", "With what", "So far"),
        tuple(cells(Cell(one.rule, finding_why(one)), listed(one.owed), how_shown(one), on_paper(one)) for one in owed),
    )
    yield _plain("Shown only by the record of events", record)
    yield Sheet(
        "Met, as far as list, bench and papers go",
        ("Clause", "Found and limit; what shows it"),
        tuple(
            cells(Cell(one.rule, finding_why(one)), two_lines(measured(one), listed(one.shown_by)))
            for one in of["meets"]
        ),
        folded=True,
    )
    yield _plain("Not asked", of["not asked"])


def _broken(findings: Iterable[Finding]) -> Sheet:
    rows = tuple(
        cells(Cell(one.rule, finding_why(one)), one.says, two_lines(measured(one), listed(one.shown_by)), one.penalty)
        for one in findings
    )
    return Sheet("Broken", ("Clause", "Says", "Found and limit", "Costs"), rows, mark=tuple(range(len(rows))))


def _plain(title: str, findings: Iterable[Finding]) -> Sheet:
    rows = tuple(cells(Cell(one.rule, finding_why(one)), one.says, listed(one.why[:1])) for one in findings)
    return Sheet(title, ("Clause", "Says", "Why"), rows, folded=True)


def _fits(fits: Sequence[FitFinding]) -> Iterator[Block]:
    if fits:
        yield Words((f"What goes together, on catalog figures: {fit_counts(fits)}.",))
        yield from (sheet_of(table) for table in fit_tables(fits))


def _measures(figures: Sequence[Figure], spreads: Mapping[str, Spread]) -> Sheet:
    shown = [one for one in figures if one.value is not None and one.name != "price"]
    rows = tuple(
        cells(
            one.name.replace("_", " "),
            Cell(quantity(one.value) if one.value else "", measure_why(one)),
            "measured" if one.measured else "worked out",
            *_off(spreads.get(one.name)),
        )
        for one in shown
    )
    note = "Worked out from catalog figures, unless measured. The worst case has all tolerances stacked one way."
    header = ("Measure", "Value", "How", "Worst case", "Uncertainty")
    return Sheet("Measures of the build", header, rows, (1,), note)


def measure_why(one: Figure) -> tuple[str, ...]:
    """The formula of a measure with its source, and the rows that its inputs come from."""
    row = MEASURES_OF_BUILD[one.name]
    source = f"by {row.source}" if row.source else ""
    formula = listed(word for word in (row.formula, source) if word)
    return tuple(word for word in (formula, *one.why) if word)


def _off(spread: Spread | None) -> tuple[str, str]:
    """The worst case of the parts' tolerances, and the uncertainty of what was measured."""
    if spread is None:
        return "", ""
    both = spread.low is not None and spread.high is not None
    low, high = (quantity(one) if one is not None else "" for one in (spread.low, spread.high))
    return f"{low} to {high}" if both else "", quantity(spread.uncertainty) if spread.uncertainty is not None else ""


def _bench(found: BuilderAnswers) -> Sheet:
    rows = tuple(cells(one.measured) for one in found.benched)
    return Sheet("From the bench", ("What was measured, and what it goes before",), rows)


def _bill(found: BuilderAnswers) -> Iterator[Block]:
    bill = found.bill
    yield Words((f"{bill_totals(bill)} At the prices of {bill.on}, all new.",))
    old = [line for line in bill.lines if line.stale]
    if old:
        names = listed(f"{line.part} ({line.price_date})" for line in old)
        yield Words((f"Old prices, to be asked again: {names}.",), alert=True)
    yield Sheet(
        "Parts to buy, new",
        ("Part", "Packs", "Cost, price of"),
        tuple(map(_bill_row, bill.lines)),
        right=(1, 2),
        note="Left: pieces of a pack that are over. Days: the age of the price. Marked: it is old, ask again.",
        mark=tuple(at for at, line in enumerate(bill.lines) if line.stale),
    )
    yield from (sheet_of(table) for table in kit_tables(bill))


def _bill_row(line: BillLine) -> tuple[Cell, ...]:
    return cells(
        f"{line.part}\n{line.name or listed(line.slots)}",
        _packs(line),
        Cell(f"{money(line.cost)}\n{_dated(line)}", bill_why(line)),
    )


def _packs(line: BillLine) -> str:
    """How many pieces, in which packs, and what is left of them."""
    if line.kind == "operation":
        return f"{line.pieces} done"
    left = f"\n{line.left_over} left" if line.left_over else ""
    return f"{line.packs} x {line.pack}{left}"


def _dated(line: BillLine) -> str:
    """The day of a price, its age, and whether that is too old."""
    age = days_old(line.price_age_days)
    words = (f"{age} days" if age.isdigit() else age, "old" if line.stale else "")
    return "\n".join(
        part for part in (str(line.price_date or "no day"), listed(word for word in words if word)) if part
    )


def bill_why(line: BillLine) -> tuple[str, ...]:
    """Where a line's price comes from, and what it is for."""
    tax = {None: "", True: ", tax in it", False: ", tax not in it"}[line.tax_included]
    supplier = f" from {line.supplier}" if line.supplier else ""
    day = f", price of {line.price_date}" if line.price_date else ""
    lead = f"{line.lead_days} days until it is here" if line.lead_days else ""
    core = f"core deposit on top: {money(line.core_charge)}" if line.core_charge else ""
    words = (
        f"{line.packs} x {money(line.price)} {line.currency}{supplier}{day}{tax}",
        f"for {listed(line.slots)}",
        lead,
        core,
        str(line.place),
    )
    return tuple(word for word in words if word)


def _airflow(found: BuilderAnswers, breathing: Breathing) -> Iterator[Block]:
    yield Words((*airflow_lines(breathing), *turn_lines(found.turns)))
    if breathing.peak is None:
        return
    yield _restrictions(breathing)
    yield _curve(breathing)
    yield from (sheet_of(table, folded=True) for table in dyno_tables(breathing))
    yield Words(tuple(marked_lines(breathing)))
    yield Sheet("Rows behind the estimate", ("Row",), tuple(cells(line) for line in breathing.why), folded=True)


def _restrictions(found: Breathing) -> Chart:
    shown = sorted(found.restrictions, key=lambda one: -one.share)
    rows = [
        {
            "name": f"{one.slot}, {one.part}",
            "value": one.share,
            "why": f"{one.slot} ({one.part}): {share(one.share)} of the resistance\n{number(one.area.value, 3)} cm2\n"
            f"a tenth more of it: {one.gain.value:+.1f} {one.gain.unit}, estimated {certainty(one)}\n{one.place}",
        }
        for one in shown
    ]
    table = Sheet(
        "Restrictions between air and cylinder",
        ("Restriction", "Part", "Area cm2", "Share", f"+10 % buys, estimated {found.unit}", "Certain"),
        tuple(
            cells(
                one.slot,
                one.part,
                Cell(number(one.area.value, 3), (str(one.place),)),
                share(one.share),
                f"{one.gain.value:+.1f}",
                certainty(one) or "more power",
            )
            for one in shown
        ),
        right=(2, 3, 4),
        note="Area: effective, what one cylinder has of it while it draws. Share: of the resistance, by 1 / area^2.",
    )
    wide, narrow = charts.both(lambda width: charts.bars(rows, width, "share of the resistance", "%"))
    says = f"What decides: {shown[0].slot}, with {share(shown[0].share)} of the resistance between air and cylinder."
    return Chart("What restricts the intake", says, wide, narrow, table)


def _curve(found: Breathing) -> Chart:
    rows = [
        {
            "at": one.rpm,
            "value": one.power.value,
            "low": one.between()[0],
            "high": one.between()[1],
            "why": f"{one.rpm:,.0f} rpm: estimate {one.power.value:,.0f} +/- {one.error.value:,.0f} {found.unit}\n"
            f"torque {one.torque.value:,.0f} {one.torque.unit}, filling {one.volumetric_efficiency:.2f}"
            f"{NOT_PULLED if one.beyond else ''}",
        }
        for one in found.speeds
    ]
    wide, narrow = charts.both(lambda width: charts.curve(rows, width, "rpm", f"estimated {found.unit}"))
    at = f" at {found.peak_rpm:,.0f} rpm" if found.peak_rpm else ""
    says = f"The most is an estimated {power_of(found)}{at}. The band is the error of the estimate, either way."
    return Chart("Estimated power over speed", says, wide, narrow, sheet_of(speeds_table(found)))
