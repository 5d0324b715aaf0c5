"""The outlook as a page: what a season may cost, what may go wrong, and what drives it."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from decimal import Decimal

from costplan.report.chart import band_chart
from costplan.report.data import to_csv
from costplan.report.figures import (
    chance,
    count_cells,
    errors,
    fine_cells,
    rests_on,
    seasons_of,
    signed,
    spread_cells,
    three_cells,
)
from costplan.report.log import ahead_page
from costplan.report.tables import Page, Table, day, listed, money, number, plural, share, whole
from costplan.season.bills import CaseBill
from costplan.season.drawn.comparing import InputEffect
from costplan.season.drawn.figures import Chance
from costplan.season.drawn.outlook import CaseOutlook, EventOutlook, LevelOutlook, LineOutlook, Outlook
from costplan.season.drawn.stories import Mishap, Story
from costplan.season.standing import Standing

CAUTIONS = (
    "Chances follow from assumed lives, rain and damage, and are no better than those. An outlook is not a safety "
    "decision: parts can fail new. Inspect; follow maker and builder; stop on metal, low oil pressure, overheating or "
    "over-rev. Officials decide what may race.",
)
#: Lines of the longest tables; what is beyond is in the JSON.
LINES, CASES = 16, 14
FIGURES = ("10%", "50%", "90%", "Mean", "+/-")


def outlook_page(
    found: Outlook,
    bills: Sequence[CaseOutlook],
    inputs: Sequence[InputEffect],
    story: Story,
    title: str,
    invented: bool,
    moved_over: int = 0,
    width: int = 80,
    standing: Standing | None = None,
) -> Page:
    """Everything that `costplan outlook` answers; `moved_over`: the seasons that the effects of inputs rest on.

    `width`: the columns there are for the chart, which is left out where they are too few.
    """
    tables = (
        costs_table(found),
        wrong_table(found),
        _events_table(found),
        _months_table(found),
        _causes_table(found),
        levels_table(found),
        _openings_table(found),
        lines_table(found),
        bills_table(bills),
        story_table(story, found.seasons),
        hazards_table(found),
        inputs_table(inputs, moved_over, found.seed),
    )
    heading = f"Outlook: {title}"
    shown = tuple(table for table in tables if table.rows)
    bars = [(one.date, one.so_far.p10, one.so_far.p50, one.so_far.p90) for one in found.events]
    chart = band_chart("Cash so far, event by event: 10 to 90% of seasons (:), half of them up to o", bars, width)
    page = Page(f"{heading} (invented data)" if invented else heading, _lines(found), shown, CAUTIONS, chart)
    return ahead_page(page, standing)


def _lines(found: Outlook) -> tuple[str, ...]:
    """The season in a few sentences."""
    drawn = rests_on(found.seasons, found.asked, found.seed)
    first = f"{drawn} Money in {found.currency}, winnings and other income taken off."
    if found.certain:
        return (
            first,
            f"Every season costs {whole(found.cash.mean)}: nothing in these files is left to chance. Lives with a "
            "risk, chances of rain, hazards and damage would be.",
        )
    return (
        first,
        _cost(found),
        f"Of starts in races {chance(found.retirements, found.seasons)} end with a failure. {_dearest(found)}",
        f"{plural(found.assumed, 'input')} assumed; costplan season lists them. {errors(found.seasons)}",
    )


def _dearest(found: Outlook) -> str:
    month = whole(found.worst_month.p90)
    if found.seasons == 1:
        return f"Its dearest month costs {month}."
    return f"In nine of ten seasons the dearest month costs at most {month}."


def _cost(found: Outlook) -> str:
    """What the season costs, in a sentence. The shares of lines add up to 1 where seasons differ, and are 0 else."""
    cash, planned = found.cash, f"as planned {whole(found.planned_cash)}"
    if found.seasons == 1:
        return f"The season drawn costs {whole(cash.mean)}, {planned}."
    if not any(line.share for line in found.lines):
        return f"All {seasons_of(found.seasons)} drawn cost the same: {whole(cash.mean)}, {planned}."
    return (
        f"In nine of ten seasons it costs at most {whole(cash.p90)}, in half at most {whole(cash.p50)}, in one of ten "
        f"at most {whole(cash.p10)}; on average {whole(cash.mean)} (+/- {whole(cash.error)}), {planned}."
    )


def costs_table(found: Outlook) -> Table:
    rows = (
        ("cash", *spread_cells(found.cash), whole(found.planned_cash)),
        ("wear", *spread_cells(found.wear), whole(found.planned_wear)),
        ("cash less what is left at the end", *spread_cells(found.net), ""),
        ("dearest month", *spread_cells(found.worst_month), ""),
        *(
            (f"cash per {unit}", *fine_cells(spread), "")
            for unit, spread in (("race", found.per_race), ("lap", found.per_lap), ("hour", found.per_hour))
            if spread.mean
        ),
    )
    of_cash = listed(whole(error) for error in (found.cash.p10_error, found.cash.p50_error, found.cash.p90_error))
    of_cash = f"; those of cash +/- {of_cash}" if found.cash.error else ""
    note = (
        f"10, 50, 90%: what so many seasons stay at or below{of_cash}. Per race, lap and hour: of those that were "
        "held. Cash and wear are two views and never added."
    )
    return Table("What the season costs", ("", *FIGURES, "Plan"), rows, right=tuple(range(1, 7)), note=note)


def wrong_table(found: Outlook) -> Table:
    rows = (
        ("races that a failure stops", *count_cells(found.dnfs)),
        ("races missed, no engine being ready", *count_cells(found.missed)),
        (f"results lost, of {number(found.results)}", *count_cells(found.results_lost)),
    )
    note = "Results: the weights of sessions and events that are lost to failures and to missed runs."
    return Table("What goes wrong in a season", ("", *FIGURES), rows, right=tuple(range(1, 6)), note=note)


def _events_table(found: Outlook) -> Table:
    rows = tuple((day(event.date), event.event, *_chances(event), *three_cells(event.so_far)) for event in found.events)
    chances = (one for event in found.events for one in (event.rained, event.stopped, event.missed))
    largest = max((one.error for one in chances), default=0.0)
    note = (
        "Chances that rain takes of it, that a failure stops a run, that no engine is ready for a run"
        f"{f': +/- {number(100 * largest, 2)}% at most' if largest else ''}. Money: cash so far, the event and its gap "
        "included, which 10, 50 and 90% of seasons stay at or below."
    )
    header = ("Date", "Event", "Rain", "Fail", "Miss", "10%", "50%", "90%")
    return Table("By event", header, rows, right=tuple(range(2, 8)), note=note)


def _chances(event: EventOutlook) -> tuple[str, ...]:
    return tuple(some(one) for one in (event.rained, event.stopped, event.missed))


def some(found: Chance) -> str:
    """A chance in whole per cent; nothing where there is none."""
    if 0 < found.share < 0.01:
        return "<1%"
    if 0.99 < found.share < 1:
        return ">99%"
    return share(found.share) if found.share else ""


def _months_table(found: Outlook) -> Table:
    rows = tuple((one.month, *spread_cells(one.cash), whole(one.planned), some(one.worst)) for one in found.months)
    header = ("Month", *FIGURES, "Plan", "Dearest")
    note = "Dearest: the share of seasons in which it is the month that costs most."
    return Table("Cash by month", header, rows, right=tuple(range(1, 8)), note=note)


def _causes_table(found: Outlook) -> Table:
    rows = tuple(
        (one.cause, money(one.mean), money(one.error) if one.error else "", money(one.planned)) for one in found.causes
    )
    note = "Found: seen by a check and renewed before it broke. Damage: what cases take along."
    return Table("Cash by cause", ("Cause", "Mean", "+/-", "Plan"), rows, right=(1, 2, 3), note=note)


def levels_table(found: Outlook) -> Table:
    rows = tuple(
        (f"{one.level} {one.nth}, {one.carrier}", _when(one), *(some(move) for move in _moves(one)))
        for one in found.levels
    )
    note = (
        "Done by itself or in a higher level, for the first, second ... time: before the event as planned, and before "
        "which at the latest it is done in 10, 50 and 90% of the seasons that get there. Never: not so often. Rain and "
        "failures move what is due by use."
    )
    header = ("Level", "Before", "Earlier", "Later", "Never")
    return Table("When levels are done", header, rows, right=(2, 3, 4), note=note)


def _moves(one: LevelOutlook) -> tuple[Chance, Chance, Chance]:
    return one.earlier, one.later, one.never


def _when(one: LevelOutlook) -> str:
    if {one.p10, one.p50, one.p90} == {one.planned}:
        return f"as planned  {one.planned}"
    shown = (("as planned", one.planned), ("10%", one.p10), ("50%", one.p50), ("90%", one.p90))
    return "\n".join(f"{name:<10}  {event or '-'}" for name, event in shown)


def _openings_table(found: Outlook) -> Table:
    rows = tuple((f"{one.level}, {one.carrier}", str(one.planned), *count_cells(one.opened)) for one in found.openings)
    header = ("Level", "Plan", *FIGURES)
    return Table("How often levels are opened", header, rows, right=tuple(range(1, 7)))


def lines_table(found: Outlook) -> Table:
    shown = found.lines[:LINES] if any(line.share for line in found.lines) else ()
    rows = tuple(
        (
            line_name(one),
            share(one.share),
            whole(one.mean),
            whole(one.planned),
            *(number(value, 2) if value else "" for value in (one.failures, one.found, one.hit)),
            some(one.fails),
        )
        for one in shown
    )
    note = (
        "Share: of the variance of the season's cash; below zero, cheap when the season is dear. Failed, found by a "
        "check, hit by another's failure: times a season. Fails: chance that it does at all."
        f"{_rest(len(found.lines) - LINES)}"
    )
    header = ("What", "Share", "Mean", "Plan", "Failed", "Found", "Hit", "Fails")
    return Table("What drives the spread", header, rows, right=tuple(range(1, 8)), note=note)


def line_name(line: LineOutlook) -> str:
    if line.kind == "rest":
        return "winnings, fees and the rest"
    return f"{line.name}, work" if line.kind == "level" else line.name


def _rest(more: int) -> str:
    return f" {more} more: --json." if more > 0 else ""


def bills_table(bills: Sequence[CaseOutlook]) -> Table:
    """The cases with the largest part in what failures cost."""
    rows = tuple(
        (
            f"{one.bill.of}\n{one.bill.case or 'nothing more'}",
            number(one.times, 2),
            whole(one.bill.total),
            whole(one.a_season),
            _breaks(one.bill),
        )
        for one in bills[:CASES]
    )
    note = (
        "Times a season that it comes to this; the bill of parts, work and other costs at the season's last prices, "
        "with what the level always renews, less what is paid for the engine; times x bill. The dearest a season."
        f"{_rest(len(bills) - len(rows))}"
    )
    header = ("What fails; what then", "Times", "Bill", "A season", "Goes with it")
    return Table("What may break, and the bill", header, rows, right=(1, 2, 3), note=note)


def story_table(story: Story, seasons: int) -> Table:
    """What went wrong in one of the seasons drawn."""
    rows = tuple((day(one.date), f"{one.event}\n{one.session}".strip(), _mishap(one)) for one in story.mishaps)
    missed = f" Missed, no engine being ready: {listed(story.missed)}." if story.missed else ""
    rained = f" Rain: {listed(story.rained)}." if story.rained else ""
    found = f" Found in time: {listed(story.found)}." if story.found else ""
    which = f"Season {story.number} of those drawn; {share(story.share)} are no dearer."
    note = f"{'The season drawn.' if seasons == 1 else which}{found}{missed}{rained}"
    return Table(f"A season that costs {whole(story.cash)}: what fails", ("Date", "Event", "What"), rows, note=note)


def _mishap(one: Mishap) -> str:
    ends = "the run ends" if one.stopped else "runs on"
    return f"{one.what} of {one.carrier}{f': {one.case}' if one.case else ''}; {ends}"


def _breaks(bill: CaseBill) -> str:
    """The other slots that a case breaks, the first of many."""
    others = [slot for slot in bill.breaks if slot != bill.of]
    return listed(others) if len(others) <= 4 else f"{listed(others[:3])} and {len(others) - 3} more"


def hazards_table(found: Outlook) -> Table:
    rows = tuple((one.hazard, number(one.strikes, 2), chance(one.chance, found.seasons)) for one in found.hazards)
    header = ("Hazard", "Times", "Chance in a season")
    return Table("Hazards", header, rows, right=(1, 2))


def inputs_table(inputs: Sequence[InputEffect], seasons: int, seed: int) -> Table:
    """What the mean does when an input is 20 % off, the largest effect first."""
    rows = tuple(
        (one.input, signed(one.lower), _error(one.lower_error), signed(one.higher), _error(one.higher_error))
        for one in inputs
    )
    note = f"Mean cash of the season, on the same {seasons_of(seasons)} each time (seed {seed})."
    header = ("Input", "20% less", "+/-", "20% more", "+/-")
    return Table("What moves the mean when an input is wrong", header, rows, right=(1, 2, 3, 4), note=note)


def _error(error: Decimal) -> str:
    return whole(error) if error else ""


#: The figures of a spread, as columns of a CSV.
SPREAD = ("mean", "error", "p10", "p10_error", "p50", "p50_error", "p90", "p90_error")


def outlook_csv(events: Iterable[EventOutlook]) -> str:
    """The outlook by event as CSV, a column for each figure."""
    chances = [f"{name}{end}" for name in ("rained", "stopped", "missed") for end in ("", "_error")]
    amounts = [f"{name}_{figure}" for name in ("cash", "so_far") for figure in SPREAD]
    header = ("event", "date", *chances, *amounts, "planned", "planned_so_far")
    return to_csv(header, (_csv_row(event) for event in events))


def _csv_row(event: EventOutlook) -> tuple[object, ...]:
    chances = [part for one in (event.rained, event.stopped, event.missed) for part in (one.share, one.error)]
    amounts = [getattr(spread, name) for spread in (event.cash, event.so_far) for name in SPREAD]
    return (event.event, event.date, *chances, *amounts, event.planned, event.planned_so_far)
