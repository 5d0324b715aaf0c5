"""The official's page: what proposed changes of the book cost whom, for a meeting that votes on them."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from dataclasses import replace
from decimal import Decimal

from costplan.impact.figures import ChangeImpact, Impact
from costplan.report.figures import counted, signed
from costplan.report.impact import method, overview
from costplan.report.impact.words import CAUTIONS, costs_or_saves, mean, verb_of
from costplan.report.tables import listed, plural, whole
from costplan.report.web import charts
from costplan.report.web.blocks import Cards, Cell, Chart, Items, Section, Sheet, WebPage, Words, cells, sheet_of
from costplan.report.web.drawing import BLUE, OCHRE, SLATE
from costplan.report.web.official_whys import ASKS, OfficialAnswers, by_group, each, range_of, supply_why
from costplan.report.web.proposed import blocks_of
from costplan.report.web.whys import near_place

__all__ = ["OfficialAnswers", "official_page"]

ONCE, FIRST, LATER = "once", "first year", "later"


def official_page(answers: OfficialAnswers) -> WebPage:
    found = _by_file_names(answers.found)
    answers = replace(answers, found=found)
    names = names_of(found)
    sections = (
        Section("In short", tuple(_in_short(found, names))),
        Section("The changes side by side", tuple(_side_by_side(answers, names))),
        Section("Need, and against what", tuple(_need(found))),
        *(Section(f"{name} in full", tuple(blocks_of(answers, number))) for number, name in enumerate(names)),
        Section("How it was reckoned", tuple(_method(found))),
        Section("Whose word it rests on", tuple(_data(answers))),
    )
    lead = tuple(overview.opening_lines(found))
    return WebPage("official", found.title, found.invented, answers.on, lead, sections, CAUTIONS)


def _by_file_names(found: Impact) -> Impact:
    """Changes by their files' own names, wherever the folder is."""
    return replace(found, changes=tuple(replace(one, file=near_place(one.file)) for one in found.changes))


def names_of(found: Impact) -> tuple[str, ...]:
    """The changes' names; with their files where two are called alike."""
    times = Counter(one.name for one in found.changes)
    return tuple(one.name if times[one.name] == 1 else f"{one.name} ({one.file})" for one in found.changes)


def _in_short(found: Impact, names: tuple[str, ...]) -> Iterator[Words | Cards | Items]:
    yield Items(tuple(overview.verdict(found, one) for one in found.changes))
    yield Cards((*(_card(found, one, name) for one, name in zip(found.changes, names, strict=True)), _today(found)))


def _card(found: Impact, one: ChangeImpact, name: str) -> tuple[str, Cell, str]:
    doubt = "" if one.total.over.shown else ", which is within the error of the drawing"
    word = f"{verb_of(one.total.over.mean)} the field over {found.study.years} years{doubt}"
    return name, Cell(whole(abs(one.total.over.mean)), _over_why(one)), word


def _over_why(one: ChangeImpact) -> tuple[str, ...]:
    """What the field's total over the years is the sum of, and how sure it is."""
    total, ends = one.total, one.total.roll.range
    return (
        f"{mean(total.over)}: one standard error, of luck and of ages drawn",
        f"{signed(total.once)} once, {mean(total.yearly)} in each later year",
        f"low {signed(ends.low)}, likely {signed(ends.likely)}, high {signed(ends.high)}",
        *by_group(one, each(lambda group: group.over.mean)),
    )


def _today(found: Impact) -> tuple[str, Cell, str]:
    today = found.as_it_is
    why = (
        f"{whole(today.first)} in the first year",
        f"{whole(today.yearly)} in each later one",
        f"{whole(today.wear)} used up a year, whenever it is paid",
        f"{plural(found.entrants, 'entrant')}, entries and fuel included, winnings taken off",
    )
    return "Nothing done, the field pays", Cell(whole(today.yearly), why), "a year, from the second on"


def _side_by_side(answers: OfficialAnswers, names: tuple[str, ...]) -> Iterator[Chart | Sheet]:
    found = answers.found
    yield _ranges(found, names)
    yield _by_when(found, names)
    table = overview.side_by_side(found)
    whys = {
        (row, 2 + number): why
        for number, one in enumerate(found.changes)
        for row, why in enumerate(_column_whys(answers, one))
        if why
    }
    yield sheet_of(table, whys)


def _column_whys(answers: OfficialAnswers, one: ChangeImpact) -> Iterator[tuple[str, ...]]:
    """What stands behind each row of a change's column, in their order."""
    total = one.total
    yield by_group(one, each(lambda group: group.once))
    yield (mean(total.first), *by_group(one, lambda group: f"{mean(group.first)} each"))
    yield (mean(total.yearly), *by_group(one, lambda group: f"{mean(group.yearly)} each"))
    yield _over_why(one)
    yield ()
    yield (mean(total.burden), *by_group(one, lambda group: f"{mean(group.burden)} each"))
    yield ()
    yield by_group(one, lambda group: f"{group.losers} lose")
    yield ()
    yield (counted(total.missed), *by_group(one, lambda group: f"{counted(group.missed)} each"))
    yield (counted(total.stopped), *by_group(one, lambda group: f"{counted(group.stopped)} each"))
    yield tuple(f"{whole(row.left)}  {row.part} {row.name} of {row.entrants}" for row in one.stranded)
    yield tuple(line for row in one.supply for line in supply_why(answers, row))


def _ranges(found: Impact, names: tuple[str, ...]) -> Chart:
    years = found.study.years
    both = tuple(zip(names, found.changes, strict=True))
    rows = [
        {
            "name": name,
            "low": float(one.total.roll.range.low),
            "middle": float(one.total.over.mean),
            "high": float(one.total.roll.range.high),
            "why": "\n".join((name, *_over_why(one))),
        }
        for name, one in both
    ]
    table = Sheet(
        f"The whole field over {years} years",
        ("Change", "Low", "Mean", "+/-", "High", "10 %", "90 %"),
        tuple(
            cells(
                name,
                *(signed(one.total.roll.range.low), signed(one.total.over.mean), whole(one.total.over.error)),
                *(signed(one.total.roll.range.high), signed(one.total.roll.p10), signed(one.total.roll.p90)),
            )
            for name, one in both
        ),
        right=tuple(range(1, 7)),
        note="10 and 90 %: what the total stays at or below, each group's numbers and prices being uncertain.",
    )
    wide, narrow = charts.both(lambda width: charts.spans(rows, width, found.currency))
    says = (
        f"The dot is the mean, the bar reaches from all at its cheap to all at its dear end. Left of zero the field "
        f"saves over {years} years. {_told_totals(found, names)}"
    )
    return Chart(f"What each costs the field over {years} years", says, wide, narrow, table)


def _told_totals(found: Impact, names: tuple[str, ...]) -> str:
    said = (f"{name} {costs_or_saves(one.total.over.mean)}" for name, one in zip(names, found.changes, strict=True))
    return f"{listed(said)}."


def _by_when(found: Impact, names: tuple[str, ...]) -> Chart:
    whens = {ONCE: OCHRE, FIRST: SLATE, LATER: BLUE}
    rows, lines = [], []
    for name, one in zip(names, found.changes, strict=True):
        total = one.total
        figures: dict[str, tuple[Decimal, str]] = {
            ONCE: (total.once, signed(total.once)),
            FIRST: (total.first.mean, mean(total.first)),
            LATER: (total.yearly.mean, mean(total.yearly)),
        }
        lines.append(cells(name, *(text for _, text in figures.values())))
        rows += [
            {"name": name, "group": when, "value": float(amount), "why": f"{name}, {when}: {text}"}
            for when, (amount, text) in figures.items()
        ]
    table = Sheet("When it is paid", ("Change", "Once", "First year", "Each later year"), tuple(lines), (1, 2, 3))
    wide, narrow = charts.both(lambda width: charts.bars(rows, width, found.currency, by=whens))
    says = "The whole field; left of zero it saves. The first year holds what is paid once; later: each year after it."
    return Chart("When it is paid", says, wide, narrow, table)


def _need(found: Impact) -> Iterator[Words]:
    """Need, how it is met, baseline, what was and was not studied."""
    for passage in tuple(method.passages(found))[:2]:
        yield Words(tuple(line for _, line in passage.lines), title=passage.title)


def _method(found: Impact) -> Iterator[Words | Items]:
    yield Words(tuple(method.method_lines(found)))
    yield Items(found.limits, title="What it leaves out")


def _data(answers: OfficialAnswers) -> Iterator[Sheet | Items]:
    found = answers.found
    asked = {f"{row.asks} of {row.group}" for row in found.told}
    yield Sheet(
        "Whose word the inputs are",
        ("Input", "Whose word", "Of"),
        tuple(
            cells(Cell(one.what, guess=one.assumed), one.source or "nobody's", str(one.date or ""))
            for one in found.sources
            if one.what not in asked
        ),
    )
    yield _survey(found)
    if found.assumed:
        yield Items(found.assumed, title="What counts and nobody stands for")


def _survey(found: Impact) -> Sheet:
    """What each group was asked, and what it said."""
    return Sheet(
        "What the groups were asked",
        ("Group", "Asked", "Low / likely / high", "Answers", "Day", "Source"),
        tuple(
            cells(
                *(row.group, ASKS[row.asks]),
                Cell(range_of(row), (near_place(str(row.place)),), guess=not row.source),
                *(str(row.answers or ""), str(row.date or ""), row.source),
            )
            for row in found.told
        ),
        right=(3,),
    )
