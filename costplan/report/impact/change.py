"""One change in full: who pays and why, how sure that is, how it may come, what is put out, what must be bought."""

from __future__ import annotations

from collections.abc import Iterator

from costplan.impact.answers import OnceLine, Swap
from costplan.impact.figures import ChangeImpact, GroupImpact, Impact, Power
from costplan.report.figures import signed
from costplan.report.impact.words import mean, unanswered
from costplan.report.tables import Passage, Table, day, listed, number, percent, plural, whole

ALIKE = "as it is"
PHASES = (
    "In brackets: the share of the season's races over by then. Put out: what the parts put out are worth by then. "
    "Nobody stops buying old parts before, but as they wear out."
)
#: What the lines of an answer are, in words.
WHAT = {
    "bought": "buys",
    "work": "has done",
    "level": "opens for",
    "deposit": "core deposit on",
    "charge": "charge of the book for",
    "sold": "sells",
    "spared": "does not buy",
    "anyway": "renews anyway, with",
}
#: Lines of the yearly difference that are told of each group.
DRIVERS = 5
#: Levels that are done so many times, and such a share, more or less often are told.
SHOWN_TIMES, SHOWN_SHARE = 0.05, 0.03


def proposal(one: ChangeImpact) -> Passage:
    """Whose change it is, and why."""
    words = [one.file]
    words += [f"by {one.author}"] if one.author else []
    words += [one.source] if one.source else []
    words += [f"dated {one.date}"] if one.date and str(one.date) not in one.source else []
    lines = [(0, ", ".join(words) + ".")]
    lines += [(0, f"Why: {one.reason}")] if one.reason else []
    lines += (
        [(0, f"Written to hold {one.written}; costed as if from opening day, and by date below.")]
        if one.written
        else []
    )
    lines.append((0, f"Clauses: {listed(one.enforcement.clauses) or 'none'}."))
    if one.enforcement.conduct:
        lines.append((0, f"Not costed, since it only says how to behave: {listed(one.enforcement.conduct)}."))
    return Passage(one.name, tuple(lines))


def answers(one: ChangeImpact) -> Table:
    """How each group stands to the book, and what it would do."""
    rows = tuple((group.group, group.now, group.after, does(group), power_words(group.power)) for group in one.groups)
    note = (
        "Today, Changed: how the parts that they have stand to the book now and to the changed one; papers and "
        "inspections are owed as ever. Does: the cheapest parts, from what they own, that let it meet the book over "
        "the years of the study, proved."
    )
    if not all(group.proved for group in one.groups):
        note += " Not all are proved to be the cheapest: the search was cut short."
    return Table("What each would do", ("Group", "Today", "Changed", "Does", "Power"), rows, (), note)


def does(group: GroupImpact) -> str:
    if not group.answered:
        return f"{unanswered(group)}: {listed(group.against)}"
    return "; ".join(_swap(swap) for swap in group.swaps) or "nothing"


def _swap(swap: Swap) -> str:
    """A swap in words."""
    if swap.turn:
        return f"{swap.slot}: {swap.before} for some set-ups out"
    words = f"{swap.slot}: {swap.before or 'none'} -> {swap.after or 'none'}"
    return f"{words} (from the shelf)" if swap.piece else f"{words} (renewed anyway)" if swap.anyway else words


def power_words(power: Power | None) -> str:
    """Power before and after; a difference within the error is told as that."""
    if power is None:
        return ""
    if abs(power.more) < 0.5:
        return ALIKE
    within = "" if power.shown else ", within the error"
    return f"{power.more:+.0f} {power.unit}{within}"


def how_sure(found: Impact, one: ChangeImpact) -> Table:
    """The total over the years with its ranges."""
    total, roll, years = one.total, one.total.roll, found.study.years
    rows = (
        ("low, likely, high", f"{signed(roll.range.low)}, {signed(roll.range.likely)}, {signed(roll.range.high)}"),
        ("mean, and what 10 and 90% are at most", f"{signed(roll.mean)}; {signed(roll.p10)}, {signed(roll.p90)}"),
        (f"at {number(100 * found.study.discount_other)}% instead", mean(total.over_other)),
        ("an entrant: 10, 50 and 90% at most", f"{signed(total.p10)}, {signed(total.p50)}, {signed(total.p90)}"),
        ("used up a year, whenever it is paid", mean(total.wear)),
        (f"with lost results, {whole(found.result_worth)} a whole event's", mean(total.burden)),
        ("of it for price rises of sole sellers", signed(total.risen)),
    )
    note = (
        "Low and high: every group's number, the haircut and the price rises at their cheap and at their dear ends. "
        f"Mean and spread: each group as triangular, at a correlation of {number(found.study.correlation)}."
    )
    return Table(f"How sure: the field over {years} years", ("", found.currency), rows, (1,), note)


def losers(found: Impact, one: ChangeImpact) -> Iterator[str]:
    """How many lose, how many might leave, what is missed."""
    total = one.total
    yield (
        f"Of {plural(total.entrants, 'entrant')} {total.losers} lose more than {whole(found.loss)} over the years, "
        f"{total.losers_first} in the first year alone; {total.winners} gain more than that."
    )
    if total.leaving is not None:
        yield (
            f"Would stop racing: {total.leaving or 'nobody'}, by the stated guesses of what each group bears in the "
            "first year; who stops is still in the totals."
        )
    if total.stranded:
        yield (
            f"Parts put out are worth {whole(total.stranded)} to who has them and bring {whole(total.brings)}, "
            f"{percent(found.study.haircut)} less than one by one, since all sell at once. Their loss is in the "
            "figures: what replaces them is bought."
        )


def phases(one: ChangeImpact) -> Table:
    """The ways to bring it in."""
    rows = tuple(
        (phase.name, phase.says, signed(phase.once), signed(phase.first.mean), mean(phase.over), whole(phase.stranded))
        for phase in one.phases
    )
    header = ("When", "", "Once", "First year", "Over the years", "Put out")
    return Table("By when it comes", header, rows, (2, 3, 4, 5), PHASES)


def stranded(one: ChangeImpact) -> Table | None:
    """The parts that are put out."""
    rows = tuple(
        (row.part, row.name, str(row.entrants), whole(row.left), whole(row.brings), whole(row.lost))
        for row in one.stranded
    )
    header = ("Part", "", "Entrants", "Worth", "Brings", "Lost")
    return Table("Parts put out", header, rows, (2, 3, 4, 5)) if rows else None


def supply(found: Impact, one: ChangeImpact) -> Table | None:
    """What must be bought by the first round."""
    rows = tuple(
        (
            row.part,
            row.sole or listed(row.suppliers),
            str(row.wanted),
            "not stated" if row.there is None else str(row.there),
            day(row.here) if row.in_time else f"{day(row.here)}, late",
            "" if row.waiting is None else str(row.waiting),
            f"+{percent(float(row.rise.likely))}" if row.rise.likely else "",
        )
        for row in one.supply
    )
    header = ("Part", "From", "Wanted", "There", "Here by", "Without", "Price")
    note = (
        f"Pieces wanted by the first round on {found.first_round}, ordered on {found.on}; those that can be there by "
        "then; entrants without theirs. Price: its rise where one seller is left."
    )
    return Table("What must be bought at once", header, rows, (2, 3, 5, 6), note) if rows else None


def intervals(one: ChangeImpact) -> Table | None:
    """What lasts longer or less long, and how often engines are opened; of the groups for which that is most."""
    rows = [
        (group.group, line.slot, number(line.before, 3), number(line.after, 3))
        for group in one.groups
        for line in group.intervals
    ]
    rows += [
        (group.group, f"{line.level}, times a season", number(line.before, 3), number(line.after, 3))
        for group in one.groups
        for line in group.opened
        if abs(line.after - line.before) >= max(SHOWN_TIMES, SHOWN_SHARE * line.before)
    ]
    header = ("Group", "", "Before", "After")
    note = (
        "Slots: events until the part is used up by age. Levels: how often they are done, alone or within a higher one."
    )
    return Table("Service", header, tuple(rows), (2, 3), note) if rows else None


def spending(one: ChangeImpact) -> Table | None:
    """What comes of it where budgets go into power too."""
    rows = []
    for group in one.groups:
        spent = group.spent
        if spent is None:
            continue
        bought = "; ".join(_swap(swap) for swap in spent.swaps) or "nothing pays"
        rows.append((group.group, whole(spent.once), bought, power_words(spent.power), mean(spent.over)))
    if not rows:
        return None
    header = ("Group", "Spends", "On", "Power", "Over the years")
    total = f" The whole field: {mean(one.total.spent)}." if one.total.spent else ""
    note = (
        "Each also spends up to its budget on power, once, under today's book as under the changed one, wherever an "
        "estimate says that it buys any. Power: against what the same money buys today. Over the years: the cost of "
        f"the change then.{total}"
    )
    return Table("If budgets go into power", header, tuple(rows), (1, 4), note)


def officials(found: Impact, one: ChangeImpact) -> Passage:
    """What the officials spend."""
    work, more = one.enforcement, one.enforcement.minutes_more
    minutes = "as long as now" if not more else f"{abs(more):g} minutes {'longer' if more > 0 else 'less'}"
    lines = [
        (
            0,
            f"A car is looked at {minutes} by the clauses concerned ({work.minutes_before:g} -> "
            f"{work.minutes_after:g}), {plural(work.cars, 'car')} at each of {plural(work.rounds, 'round')}: "
            f"{signed(work.a_season)} {found.currency} a season, borne by the officials and not in the figures above.",
        )
    ]
    if work.tools:
        lines.append((0, f"Tools that no clause asked for before: {listed(work.tools)}; {whole(work.once)} once."))
    return Passage("What it takes to enforce it", tuple(lines))


def why_once(found: Impact, one: ChangeImpact) -> Table:
    """What is paid and got once, line by line, with the row that it is from."""
    rows = tuple(
        (group.group, f"{WHAT[line.what]} {line.name}", for_what(line), signed(amount), line.place)
        for group in one.groups
        for line, amount in zip(group.lines, group.amounts, strict=True)
    )
    note = "By entrant, for all its engines; what is sold less the haircut, what is bought with its rise."
    return Table("Why once", ("Group", "", "For", found.currency, "From"), rows, (3,), note)


def for_what(line: OnceLine) -> str:
    """What a line is for: pieces of slots, or the engines that are opened for them."""
    if line.what in ("level", "charge"):
        return f"{listed(line.slots)}, {plural(line.pieces, 'time')}"
    return f"{line.pieces} x {listed(line.slots) or 'from the shelf'}"


def why_yearly(one: ChangeImpact) -> Table:
    """What the difference of a year is made of."""
    rows = tuple(
        (group.group, row.what, whole(row.before), whole(row.after), signed(row.more))
        for group in one.groups
        for row in (*group.drivers[:-1][:DRIVERS], *group.drivers[-1:])
    )
    note = (
        "Cash a year by entrant, on average over the years: by slot, by level opened, and all else (entries, damage)."
    )
    return Table(
        f"Why a year: the {DRIVERS} that move most", ("Group", "", "Before", "After", "More"), rows, (2, 3, 4), note
    )
