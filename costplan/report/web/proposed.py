"""One proposed change on the official's page: what it says, who pays, how sure that is, how it may come."""

from __future__ import annotations

import textwrap
from collections.abc import Iterator
from dataclasses import replace

from costplan.impact.figures import ChangeImpact, GroupImpact, Impact
from costplan.impact.flipping import Flips
from costplan.report.figures import signed
from costplan.report.impact import change, overview
from costplan.report.impact.page import flips_table
from costplan.report.impact.words import mean
from costplan.report.tables import Passage, Table, plural, whole
from costplan.report.web import charts
from costplan.report.web.blocks import Block, Cards, Cell, Chart, Sheet, Words, cells, sheet_of
from costplan.report.web.drawing import BLUE, OCHRE, SLATE
from costplan.report.web.official_whys import (
    OfficialAnswers,
    by_group,
    each,
    group_why,
    once_why,
    over_why,
    supply_why,
    year_why,
)
from costplan.report.web.whys import near_place

#: Bars of the longest charts: what is beyond stands in their tables.
BARS = 12
TODAY, CHANGED = "today", "changed"
IN_FIRST = "in the first year"


def blocks_of(answers: OfficialAnswers, number: int) -> Iterator[Block]:
    """Everything about one change, in the order in which a meeting asks."""
    found = answers.found
    one = found.changes[number]
    yield _words(change.proposal(one), "What is proposed")
    yield Cards(tuple(_cards(found, one)))
    yield from _who_pays(answers, one)
    yield Words(tuple(change.losers(found, one)), title="Who loses, who gains")
    yield _answers(answers, one)
    yield from _before_and_after(found, one)
    yield from _put_out(one)
    yield from _coming(found, one)
    yield from _bought(answers, one)
    yield from _service(one)
    yield _words(change.officials(found, one))
    yield _how_sure(found, one)
    yield from (_flips(found, turns) for turns in answers.flips[number : number + 1])
    yield from _spending(one)
    yield _once(found, one)


def _words(passage: Passage, title: str = "") -> Words:
    return Words(tuple(line for _, line in passage.lines), title=title or passage.title)


def _service(one: ChangeImpact) -> Iterator[Sheet]:
    """What lasts longer or less long; where many groups differ, it is shown when it is asked for."""
    table = change.intervals(one)
    if table is not None:
        yield sheet_of(table, folded=len(table.rows) > BARS)


def _spending(one: ChangeImpact) -> Iterator[Sheet]:
    table = change.spending(one)
    if table is not None:
        yield sheet_of(_with_arrows(table))


def _once(found: Impact, one: ChangeImpact) -> Sheet:
    """Every line that is paid or got once, with its row by its file's own name."""
    table = change.why_once(found, one)
    rows = tuple((*row[:-1], near_place(row[-1])) for row in table.rows)
    return sheet_of(replace(table, rows=rows), folded=True)


def _with_arrows(table: Table) -> Table:
    """A table whose arrows no line breaks."""
    return replace(table, rows=tuple(tuple(text.replace("->", "→") for text in row) for row in table.rows))


def _cards(found: Impact, one: ChangeImpact) -> Iterator[tuple[str, Cell, str]]:
    total, years = one.total, found.study.years
    once = Cell(signed(total.once), by_group(one, each(lambda group: group.once)))
    yield "Paid once", once, "the whole field; below zero it is got"
    first = Cell(signed(total.first.mean), by_group(one, lambda group: f"{mean(group.first)} each"))
    yield "In the first year", first, f"with what is paid once; +/- {whole(total.first.error)}"
    later = Cell(signed(total.yearly.mean), by_group(one, lambda group: f"{mean(group.yearly)} each"))
    yield "In each later year", later, f"+/- {whole(total.yearly.error)}"
    over = Cell(signed(total.over.mean), by_group(one, lambda group: f"{mean(group.over)} each"))
    yield f"Over {years} years", over, f"+/- {whole(total.over.error)}"
    lose = Cell(f"{total.losers} of {total.entrants}", by_group(one, lambda group: f"{group.losers} lose"))
    yield f"Lose more than {whole(found.loss)}", lose, f"{total.winners} gain more than that"
    worst = next((group for group in one.by_worst() if round(group.over.mean)), None)
    if worst is not None:
        title = "Worst hit" if worst.over.mean > 0 else "Least helped"
        yield title, Cell(signed(worst.over.mean), over_why(found, worst)), f"each of {worst.count} {worst.group}"


def _who_pays(answers: OfficialAnswers, one: ChangeImpact) -> Iterator[Chart | Sheet]:
    found, groups = answers.found, one.by_worst()
    if groups:
        yield _costs(found, groups)
    whys = {
        (row, column): why
        for row, group in enumerate((*groups, *(group for group in one.groups if not group.answered)))
        for column, why in enumerate(_group_whys(answers, group))
        if why
    }
    hit = tuple(row for row, group in enumerate(groups[:1]) if group.over.mean > 0)
    yield sheet_of(overview.who_pays(found, one), whys, mark=hit)


def _group_whys(answers: OfficialAnswers, group: GroupImpact) -> Iterator[tuple[str, ...]]:
    """What stands behind each figure of a group's row, in their order."""
    yield group_why(answers, group.group)
    yield (f"{whole(group.entrants.low)} to {whole(group.entrants.high)}, likely {group.count}",)
    if not group.answered:
        yield group.against
        return
    yield once_why(group)
    yield (f"{mean(group.first)}: what is paid once and the difference of the first year", *once_why(group))
    yield year_why(group)
    yield over_why(answers.found, group)


def _costs(found: Impact, groups: tuple[GroupImpact, ...]) -> Chart:
    years = found.study.years
    rows = [
        {
            "name": group.group,
            "low": float(group.low),
            "middle": float(group.over.mean),
            "high": float(group.high),
            "first": float(group.first.mean),
            "why": "\n".join((f"{group.group}: {mean(group.first)} in the first year", *over_why(found, group))),
        }
        for group in groups
    ]
    table = Sheet(
        "By entrant of each group",
        ("Group", "First year", "+/-", f"{years} years", "+/-", "Low", "High", "10 %", "90 %"),
        tuple(
            cells(
                *(group.group, signed(group.first.mean), whole(group.first.error)),
                *(signed(group.over.mean), whole(group.over.error), signed(group.low), signed(group.high)),
                *(signed(group.p10), signed(group.p90)),
            )
            for group in groups
        ),
        right=tuple(range(1, 9)),
        note="Low, high: at the ends of what old parts bring and of price rises. 10, 90 %: what it costs so many of "
        "the group's entrants over the years at most.",
    )
    wide, narrow = charts.both(lambda width: charts.spans(rows, width, f"{found.currency} by entrant", "first"))
    says = (
        f"Dots: over {years} years, with the range from low to high; diamonds: in the first year. Right of zero one of "
        f"the group pays, left of it one saves. {groups[0].group}: {signed(groups[0].over.mean)}, "
        f"{groups[-1].group}: {signed(groups[-1].over.mean)}."
    )
    return Chart("Who pays, by entrant of each group", says, wide, narrow, table)


def _answers(answers: OfficialAnswers, one: ChangeImpact) -> Sheet:
    whys = {
        (row, column): why
        for row, group in enumerate(one.groups)
        for column, why in (
            (0, group_why(answers, group.group)),
            (1, tuple(f"breaks {clause}" for clause in group.now_broken)),
            (2, tuple(f"breaks {clause}" for clause in group.after_broken)),
            (3, once_why(group) if group.answered else group.against),
        )
        if why
    }
    return sheet_of(_with_arrows(change.answers(one)), whys)


def _before_and_after(found: Impact, one: ChangeImpact) -> Iterator[Chart | Sheet]:
    groups = one.by_worst()
    if not groups:
        return
    yield _years(found, groups)
    if one.drivers:
        yield _drivers(found, one)
    yield sheet_of(change.why_yearly(one), folded=True)


def _years(found: Impact, groups: tuple[GroupImpact, ...]) -> Chart:
    books = {TODAY: SLATE, CHANGED: BLUE}
    rows = [
        {"name": group.group, "group": book, "value": float(amount), "why": "\n".join((group.group, *year_why(group)))}
        for group in groups
        for book, amount in ((TODAY, group.year.before), (CHANGED, group.year.after))
    ]
    table = Sheet(
        "Cash a year by entrant, before and after",
        ("Group", "Before", "After", "More"),
        tuple(
            cells(
                *(group.group, whole(group.year.before), whole(group.year.after)),
                Cell(signed(group.year.more), year_why(group)),
            )
            for group in groups
        ),
        right=(1, 2, 3),
    )
    wide, narrow = charts.both(lambda width: charts.bars(rows, width, f"{found.currency} a year", by=books))
    says = (
        f"What one entrant pays in a year, on average over {found.study.years} years, winnings taken off and what is "
        "paid once left out."
    )
    return Chart("A year before and after", says, wide, narrow, table)


def _drivers(found: Impact, one: ChangeImpact) -> Chart:
    rows = [
        {"name": what, "value": float(more), "why": f"{what}: {signed(more)} a year in the whole field"}
        for what, more in one.drivers[:BARS]
    ]
    lines = tuple(cells(what, signed(more)) for what, more in one.drivers)
    table = Sheet("What the difference of a year is made of", ("", "More a year"), lines, (1,))
    wide, narrow = charts.both(lambda width: charts.bars(rows, width, f"{found.currency} more a year"))
    most, amount = one.drivers[0]
    says = f"The whole field, by part, by level opened and all else. Most of it: {most}, {signed(amount)}."
    return Chart("What the difference of a year is made of", says, wide, narrow, table)


def _put_out(one: ChangeImpact) -> Iterator[Sheet]:
    table = change.stranded(one)
    if table is not None:
        sold = {
            row.part: tuple(
                f"{signed(amount)} from each of {group.count} {group.group}, {near_place(line.place)}"
                for group in one.groups
                for line, amount in zip(group.lines, group.amounts, strict=True)
                if line.what == "sold" and line.name == row.part
            )
            for row in one.stranded
        }
        whys = {(at, 4): sold[row.part] for at, row in enumerate(one.stranded) if sold[row.part]}
        note = "Worth: what is left of them to who has them. Brings: what they sell for when all sell at once."
        yield sheet_of(table, whys, note=note)


def _coming(found: Impact, one: ChangeImpact) -> Iterator[Chart | Sheet]:
    if not one.phases:
        return
    over = f"over {found.study.years} years"
    rows = [
        {
            "name": phase.name,
            "group": when,
            "value": float(amount.mean),
            "why": f"{phase.name}, {phase.says}\n{mean(phase.first)} {IN_FIRST}\n{mean(phase.over)} {over}\n"
            f"parts put out are worth {whole(phase.stranded)} by then",
        }
        for phase in one.phases
        for when, amount in ((IN_FIRST, phase.first), (over, phase.over))
    ]
    table = sheet_of(change.phases(one))
    wide, narrow = charts.both(lambda width: charts.bars(rows, width, found.currency, by={IN_FIRST: OCHRE, over: BLUE}))
    says = f"What the whole field pays by when the change comes; {plural(len(one.phases), 'way')} to bring it in."
    yield Chart("By when it comes", says, wide, narrow, table)
    yield table


def _bought(answers: OfficialAnswers, one: ChangeImpact) -> Iterator[Sheet]:
    table = change.supply(answers.found, one)
    if table is not None:
        whys = {(at, 0): supply_why(answers, row) for at, row in enumerate(one.supply)}
        late = tuple(at for at, row in enumerate(one.supply) if row.waiting or not row.in_time)
        yield sheet_of(table, whys, mark=late)


def _how_sure(found: Impact, one: ChangeImpact) -> Sheet:
    ends = by_group(
        one,
        lambda group: (
            f"{signed(group.low)} to {signed(group.high)} each of {whole(group.entrants.low)} to "
            f"{whole(group.entrants.high)}"
        ),
    )
    table = replace(change.how_sure(found, one), right=())  # several figures in a cell, which a phone must break
    return sheet_of(table, {(0, 1): ends})


def _flips(found: Impact, turns: Flips) -> Chart:
    rows = [
        {
            "name": one.assumption,
            "low": float(one.least),
            "middle": float(turns.over),
            "high": float(one.most),
            "why": f"{one.assumption}\na fifth lower: {signed(one.lower)} +/- {whole(one.lower_error)}\n"
            f"a fifth higher: {signed(one.higher)} +/- {whole(one.higher_error)}",
        }
        for one in turns.assumptions[:BARS]
    ]
    table = sheet_of(flips_table(turns), mark=tuple(at for at, one in enumerate(turns.assumptions) if one.flips))
    wide, narrow = charts.both(lambda width: charts.spans(_wrapped(rows, width), width, found.currency))
    flipping = [one.assumption for one in turns.assumptions if one.flips]
    told = f"What reaches over zero turns it about: {'; '.join(flipping)}." if flipping else "None reaches over zero."
    says = (
        f"The field over {found.study.years} years; the dot is the figure as studied, the bar what it moves by where "
        f"that alone is a fifth lower or higher; each move has an error, told in the table. {told}"
    )
    return Chart("Which assumption turns it about", says, wide, narrow, table)


def _wrapped(rows: charts.Rows, width: int) -> list[dict[str, object]]:
    """Rows whose long names take up to three lines."""
    room = charts.LETTERS[width]
    return [{**row, "name": textwrap.fill(str(row["name"]), room, max_lines=3, placeholder=" ...")} for row in rows]
