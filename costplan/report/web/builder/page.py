"""The builder's page, from its answers."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import islice

from costplan.quote.job import Standing
from costplan.report.airflow import CAUTIONS as AIRFLOW_CAUTIONS
from costplan.report.airflow import power_of
from costplan.report.choose.shared import cautions, decides
from costplan.report.quote.amounts import share
from costplan.report.quote.job import CAUTIONS as JOB_CAUTIONS
from costplan.report.quote.price import CAUTIONS as QUOTE_CAUTIONS
from costplan.report.rules import INSPECTION, measured
from costplan.report.tables import days_old, grouped, listed, money, plural, quantity
from costplan.report.web.blocks import Block, Cards, Cell, Section, Sheet, WebPage, Words, cells
from costplan.report.web.builder.answers import BuilderAnswers
from costplan.report.web.builder.choice import choice_sections
from costplan.report.web.builder.engine import bill_why, engine_sections, finding_why, quantity_or_word
from costplan.report.web.builder.shop import below_floor, gross_why, margin_why, shop_sections
from costplan.rules import Finding, Verdicts

#: Quotes, jobs and close measures with a card of their own; all of them stand below.
QUOTES, JOBS, CLOSE = 4, 2, 2
#: Guesses above which their table is folded.
MANY = 20
#: Lines that a total tells: the dearest.
DEAREST = 8


def builder_page(found: BuilderAnswers) -> WebPage:
    sections = (
        Section("In short", tuple(_in_short(found))),
        *shop_sections(found),
        *engine_sections(found),
        *choice_sections(found.choices),
        Section("Guesses", tuple(_guesses(found))),
    )
    filled = tuple(Section(one.title, tuple(block for block in one.blocks if not _empty(block))) for one in sections)
    lead = (
        f"Prices and rules of {found.day}. Money in {found.bill.currency}.",
        f"The shop's own page: it shows cost and margin. Quotes of {found.shop}." if found.quotes else "",
    )
    shown = tuple(line for line in lead if line)
    return WebPage("builder", found.title, found.invented, found.on, shown, filled, tuple(_cautions(found)))


def _empty(block: Block) -> bool:
    """Whether a table has no row, and is left out."""
    return isinstance(block, Sheet) and not block.rows


def _cautions(found: BuilderAnswers) -> Iterator[str]:
    choices = found.choices
    if choices is None:
        yield from INSPECTION
    else:
        powered = any(point.option.power is not None for point in choices.frontier.points)
        yield from cautions(choices.about, power_shown=powered, seasons_shown=True)
    if found.breathing is not None and found.breathing.peak is not None:
        yield from AIRFLOW_CAUTIONS
    if found.quotes:
        yield from QUOTE_CAUTIONS
    if found.jobs:
        yield from JOB_CAUTIONS


def _in_short(found: BuilderAnswers) -> Iterator[Words | Cards]:
    alerts = tuple(_alerts(found))
    if alerts:
        yield Words(alerts, alert=True)
    yield Cards(tuple(_cards(found)))


def _alerts(found: BuilderAnswers) -> Iterator[str]:
    for pack in found.verdicts:
        broken = [one.rule for one in pack.findings if one.verdict == "breaks"]
        if broken:
            yield f"Breaks {pack.name}: {listed(broken)}."
    unfit = [one.fit for one in found.fits if one.verdict == "breaks"]
    if unfit:
        yield f"Does not go together: {listed(unfit)}."
    low = [one.request for one in found.quotes if one.quote is not None and one.quote.margin.above_floor < 0]
    if low:
        yield f"Below the shop's floor: {listed(low)}."
    refused = [one.request for one in found.quotes if one.refused]
    if refused:
        yield f"Cannot be priced: {listed(refused)}."
    old = sum(line.stale for line in found.bill.lines)
    if old:
        yield f"{plural(old, 'price')} of the bill {'is' if old == 1 else 'are'} old and to be asked again."


def _cards(found: BuilderAnswers) -> Iterator[tuple[str, Cell, str]]:
    yield _price_card(found)
    for one in islice((one for one in found.quotes if one.quote is not None), QUOTES):
        quote = one.quote
        if quote is not None:
            words = f"with tax; a margin of {share(quote.margin.margin)}, {below_floor(quote)}"
            yield (
                f"Quote {one.request}",
                Cell(money(quote.totals.gross), (*gross_why(quote), *margin_why(quote))),
                words,
            )
    yield from map(_job_card, islice(found.jobs, JOBS))
    yield from map(_pack_card, found.verdicts)
    yield from map(_near_card, islice(found.near, CLOSE))
    yield from _power_cards(found)
    bill = found.bill
    if bill.oldest_price is not None:
        lines = [line for line in bill.lines if line.price_date == bill.oldest_price]
        why = tuple(f"{line.part}, {days_old(line.price_age_days)} days ({line.place})" for line in lines[:DEAREST])
        old = sum(line.stale for line in bill.lines)
        yield "Oldest price of the bill", Cell(str(bill.oldest_price), why), f"{plural(old, 'price')} too old"


def _price_card(found: BuilderAnswers) -> tuple[str, Cell, str]:
    bill = found.bill
    dear = sorted(bill.lines, key=lambda line: -line.cost)
    why = [
        f"{money(line.cost)}  {line.part} {line.name}: {bill_why(line)[0]} ({line.place})" for line in dear[:DEAREST]
    ]
    if len(dear) > DEAREST:
        why.append(f"and {plural(len(dear) - DEAREST, 'cheaper line')} of the bill below")
    tax = {None: "", True: "with tax; ", False: "without tax; "}[bill.with_tax]
    words = f"{tax}core deposits of {money(bill.core_charges)} on top"
    return "Parts of the build, new", Cell(money(bill.total), tuple(why)), words


def _job_card(found: Standing) -> tuple[str, Cell, str]:
    earnings = found.earnings
    if earnings is None:
        raise ValueError("a job that nobody signed earns nothing yet")
    last, word = (earnings.earned, "earned") if earnings.earned else (earnings.forecast, "to earn, forecast")
    why = (
        f"{word}: {money(last.net)} net less {money(last.cost)} cost",
        f"quoted: {money(earnings.quoted.net)} net less {money(earnings.quoted.cost)} cost",
    )
    quoted = f"{money(earnings.quoted.earned)} quoted; {found.state}"
    return f"Job {found.job}, {word}", Cell(money(last.earned), why), quoted


def _pack_card(pack: Verdicts) -> tuple[str, Cell, str]:
    broken, to_show = pack.count("breaks"), len(pack.to_bring) + len(pack.by_record)
    of = {verdict: [one.rule for one in pack.findings if one.verdict == verdict] for verdict in ("breaks", "meets")}
    why = (
        f"broken: {listed(of['breaks']) or 'none'}",
        f"proof to bring: {listed(pack.to_bring) or 'none'}",
        f"by the record of events: {listed(pack.by_record) or 'none'}",
        f"met: {listed(of['meets']) or 'none'}",
    )
    words = f"{pack.count('meets')} met, {to_show} not shown yet, {len(pack.to_bring)} of them by proof you can bring"
    return f"Clauses broken, {pack.name}", Cell(str(broken), why), words


def _near_card(one: Finding) -> tuple[str, Cell, str]:
    worst = f"; worst case {quantity(one.low)} to {quantity(one.high)}" if one.low and one.high else ""
    why = (*finding_why(one), measured(one))
    return f"Close to its limit: {one.rule}", Cell(quantity_or_word(one), why), f"{one.limit}{worst}"


def _power_cards(found: BuilderAnswers) -> Iterator[tuple[str, Cell, str]]:
    breathing, choices = found.breathing, found.choices
    if breathing is not None and breathing.peak is not None:
        why = (f"What decides: {decides(breathing)}", *breathing.why[:DEAREST])
        at = f"at {breathing.peak_rpm:,.0f} rpm; what decides: {breathing.decides}" if breathing.peak_rpm else ""
        yield "Power, an estimate with its error", Cell(power_of(breathing), why), at
    if choices is not None and choices.frontier.certain_until is not None:
        enough = choices.frontier.certain_until
        yield "More money buys no certain power from", Cell(money(enough)), "price of a bill that meets the book"


def _guesses(found: BuilderAnswers) -> Iterator[Words | Sheet]:
    """What nobody stands for, each with whose figures rest on it."""
    said = [(words, f"quote {one.request}") for one in found.quotes if one.quote for words in one.quote.assumed]
    if found.breathing is not None:
        said += [(words, "power") for words in (*found.breathing.assumed, *found.breathing.extrapolated)]
    start = found.choices.start if found.choices else None
    for line in start.lines if start else ():
        said += [(f"{line.slot}: {words}", "cost of parts a season") for words in line.assumed]
    rows = tuple(cells(Cell(words, guess=True), listed(dict.fromkeys(whose))) for words, whose in grouped(said).items())
    note = "Each can be settled by a source in its row, or by what was measured."
    title, header = f"Inputs that nobody stands for, {len(rows)}", ("Assumed", "What rests on it")
    if rows:
        yield Words((f"{plural(len(rows), 'input')} that no source and no measurement stands for.",))
    yield Sheet(title, header, rows, note=note, folded=len(rows) > MANY)
