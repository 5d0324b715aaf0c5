"""The best bill as a page: how far it is proved, what it changes, what is bought, and how the book stands with it."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from decimal import Decimal
from typing import NamedTuple

from costplan.choose import Aim, Change, Chosen, Line, OnHand, Open, Option, Proof, Ranked, Sizes, Told
from costplan.choose.hand import Left
from costplan.report.choose.shared import (
    A_SEASON,
    PACKS,
    About,
    apart,
    basis,
    cautions,
    cheapened,
    error_of,
    estimated,
    gap,
    heading,
    hundredth,
    kept_line,
    power,
    signed,
    signed_whole,
    slot_name,
    sums_of,
    swapped,
    wished,
)
from costplan.report.data import to_csv
from costplan.report.figures import errors
from costplan.report.tables import Page, Table, listed, money, number, plural, share, whole
from costplan.rules import Verdicts


class Drawn(NamedTuple):
    """How bills were ranked: seasons asked for, the seed, and whether they are proved to be the best by the sum."""

    seasons: int
    seed: int
    proved: bool


def best_page(
    about: About,
    aim: Aim,
    chosen: Chosen,
    told: Told,
    ranked: Sequence[Ranked],
    drawn: Drawn,
    left: Sequence[Left] = (),
) -> Page:
    """Everything that `costplan choose best` answers; `left`: what is on hand and may not be used."""
    option = chosen.option
    if option is None:
        raise ValueError("no bill, no page")
    tables = (
        *((_ranked_table(ranked, drawn.seasons),) if ranked else ()),
        _changes_table(told.changes),
        _hand_table(option.on_hand),
        _left_table(about, left),
        _season_table(option, aim, about),
        _bill_table(option),
        *(_book_table(pack) for pack in told.verdicts),
        _open_table(told.open),
    )
    lines = (
        wished(about),
        cheapened(about, told.changes, option.on_hand),
        *_proved(about, aim, chosen.proof, option),
        _beside(option, told),
        " ".join((*sums_of(option, about), A_SEASON if option.per_season is not None else "")).strip(),
        estimated(about, told.breathing),
        *_ranking(ranked, drawn),
        kept_line(told.kept),
        _searched(chosen.proof, told.sizes),
    )
    shown = tuple(table for table in tables if table.rows or table.note)
    foot = cautions(about, power_shown=option.power is not None, seasons_shown=option.per_season is not None)
    title = f"The best bill that meets fits and book, {aim.says}"
    return Page(heading(title, about), tuple(line for line in lines if line), shown, foot)


def _proved(about: About, aim: Aim, proof: Proof, option: Option) -> Iterator[str]:
    """What was found, and how far it is proved."""
    found = f"{aim.says[0].upper()}{aim.says[1:]}: {aimed_value(aim.name, option, about)}"
    if proof.status == "optimal":
        yield f"{found}, proved: no bill that meets them does better."
    else:
        yield (
            f"{found}, the best found in the time; not proved: the best there is may be up to {gap(proof)} better. "
            "--seconds gives the search more."
        )
    if proof.tie_proved:
        cheapest = "" if aim.name == "price" else "it is the cheapest, and of those "
        yield f"Of bills as good {cheapest}the one with the fewest changes to the build."


def aimed_value(aim: str, option: Option, about: About) -> str:
    """What was aimed at, of a bill."""
    if aim == "power":
        return f"estimated {power(option.power, option.error, about.unit)} {about.unit}"
    if aim == "season":
        return f"{money(option.per_season)} {about.currency}" if option.per_season is not None else ""
    if aim == "interval":
        return f"{number(option.events or 0, 3)} events"
    return f"{money(option.price)} {about.currency}"


def _beside(option: Option, told: Told) -> str:
    """What it comes to, beside the build as planned."""
    more = option.more_than(told.planned)
    words = f"{money(abs(more))} {'less' if more < 0 else 'more'}" if more else "the same"
    hand = f", {money(option.worth)} of it the worth of what is on hand" if option.on_hand else ""
    changes = f"{plural(len(told.changes), 'slot')} changed" if told.changes else "no slot changed"
    return (
        f"It comes to {money(option.price)}{hand}; the build as planned, all new, to {money(told.planned)}: {words}, "
        f"{changes}. Longest lead {plural(option.bill.longest_lead_days, 'day')}; core deposits on top "
        f"{money(option.bill.core_charges)}."
    )


def _searched(proof: Proof, sizes: Sizes) -> str:
    return (
        f"Searched{_lasted(proof.seconds)}: {plural(sizes.slots, 'slot')}, {sizes.candidates} ways to fill them, "
        f"{sizes.left} once what one slot answers alone is asked, {_bills(sizes.combinations)}; "
        f"{plural(sizes.tables, 'table')} and {plural(sizes.sums, 'sum')} of what goes together; "
        f"{plural(proof.judged, 'bill')} judged whole."
    )


def _bills(combinations: float) -> str:
    """How many bills there are to choose from, by their power of ten.

    >>> _bills(0.30103), _bills(0.0), _bills(3.2), _bills(22.7)
    ('2 bills', '1 bill', '1,585 bills', 'some 10^23 bills')
    """
    if combinations >= 4:
        return f"some 10^{combinations:.0f} bills"
    count = round(10**combinations)
    return "1 bill" if count == 1 else f"{count:,} bills"


def _lasted(seconds: float) -> str:
    """How long it took, where that is long enough to matter.

    >>> _lasted(0.4), _lasted(61.7)
    ('', ' for 62 s')
    """
    return "" if seconds < 10 else f" for {seconds:,.0f} s"


def _changes_table(changes: Sequence[Change]) -> Table:
    rows = tuple(
        (
            slot_name(one.slot),
            one.planned or "nothing",
            one.part or "nothing",
            "" if one.source in ("apart", "empty") else _SOURCES[one.source],
            money(one.before),
            money(one.after),
            signed(one.more),
        )
        for one in changes
    )
    header = ("Slot", "Planned", "Chosen", "", "Planned", "Chosen", "More")
    note = f"Each by itself, new, in whole packs, with the work planned for it; {PACKS}."
    return Table("What changes against the build as planned", header, rows, right=(4, 5, 6), note=note if rows else "")


_SOURCES = {"hand": "on hand", "kit": "in a kit"}


def _hand_table(used: Sequence[OnHand]) -> Table:
    rows = tuple((slot_name(one.slot), one.part, one.piece, _has_run(one), money(one.worth)) for one in used)
    untold = tuple(dict.fromkeys(word for one in used for word in one.assumed))
    note = (
        "Has run: of the life that it has used most of. Worth: what it would sell for, which is what using it costs. "
        "Season and interval above count every part as new: what these have run already is not in them."
        f"{' Assumed: ' if untold else ''}{'; '.join(untold)}{'.' if untold else ''}"
    )
    header = ("Slot", "Part", "Piece", "Has run", "Worth")
    return Table("Used from what is on hand", header, rows, (4,), note if rows else "")


def _has_run(one: OnHand) -> str:
    """What a piece has run, with its share of a life; of a new one that it is new."""
    return f"{share(one.share)}: {one.used}" if one.share else one.used


def _near(place: str) -> str:
    """A row by its file's own name.

    >>> _near("scenarios/oval-v8/log.csv:12")
    'log.csv:12'
    """
    return place.replace("\\", "/").rpartition("/")[2]


def _left_table(about: About, left: Sequence[Left]) -> Table:
    rows = tuple((f"{slot_name(one.slot)}: {one.piece}", f"{one.why} ({_near(one.place)})") for one in left)
    kept = any(one.slot in about.critical and one.slot not in about.wishes.cheapen for one in left)
    note = "A used piece goes into a slot that is not to be stretched only with --cheapen SLOT; ask its maker first."
    return Table("On hand, and left out", ("Slot: piece", "Why not"), rows, note=note if kept else "")


def _season_table(option: Option, aim: Aim, about: About) -> Table:
    """What the cost of parts a season is made of, where it is what was asked about."""
    header = ("Slot", "Part", "A season", "Events")
    title = "What the cost of parts a season is made of"
    if option.per_season is None or aim.name not in ("season", "interval"):
        return Table(title, header, ())
    rows = tuple(
        (slot_name(line.slot), line.part, money(line.per_season), number(line.events, 3) if line.events else "")
        for line in option.lines
        if line.per_season is not None
    )
    note = (
        f"Total {money(option.per_season)} {about.currency}. Events: how long the part lasts by its first life that is "
        "up, nothing where none is by age. Where nothing wears there is no row."
    )
    return Table(title, header, rows, (2, 3), note if rows else "")


def _bill_table(option: Option) -> Table:
    rows = tuple(
        (
            line.part,
            line.name or listed(line.slots),
            str(line.pieces),
            "" if line.kind == "operation" else f"{line.packs} x {line.pack}",
            "" if line.kind == "operation" else str(line.lead_days),
            money(line.cost),
        )
        for line in option.bill.lines
    )
    header = ("Part", "What", "Need", "Packs", "Lead", "Cost")
    total = f"Total {money(option.bill.total)} {option.bill.currency}. Lead: days."
    return Table("To buy, and to have done", header, rows, (2, 3, 4, 5), total)


def _book_table(pack: Verdicts) -> Table:
    """How one book stands with it: what breaks, and which clauses are still to be shown."""
    broken = [one for one in pack.findings if one.verdict == "breaks"]
    counts = f"{pack.count('meets')} met, {len(broken)} broken, {len(pack.to_bring)} to be shown"
    counts += f", {len(pack.by_record)} by the record of events" if pack.by_record else ""
    rows = tuple((one.rule, one.severity, one.says) for one in broken)
    owed = f"To be shown by gauges, papers and inspectors: {listed(pack.to_bring)}." if pack.to_bring else ""
    title = f"The book: {pack.name}, as in force on {pack.on}: {counts}"
    return Table(title, ("Breaks", "Counts as", "What it says"), rows, note=owed or "Nothing is left to be shown.")


def _open_table(found: Sequence[Open]) -> Table:
    rows = tuple((one.ground.name, f"{one.ground.says}\n{one.ground.book}".strip(), one.ground.place) for one in found)
    note = "The catalogs lack what these ask of parts: they were left out of the choice, and must be shown otherwise."
    title = "What no choice of parts can show"
    return Table(title, ("Clause or fit", "What it says", "Row"), rows, note=note if rows else "")


def _ranking(ranked: Sequence[Ranked], drawn: Drawn) -> Iterator[str]:
    """What the machine says of the best bills by the sum."""
    played = [one for one in ranked if one.replayed.played is not None]
    if not played:
        return
    rests = basis([one.replayed for one in played], drawn.seasons, drawn.seed)
    if len(ranked) == 1:
        yield f"Through the season machine as a new engine. {rests}"
        return
    first = min(played, key=lambda one: one.by_machine or 0)
    yield (
        f"The {plural(len(ranked), 'bill')} with the lowest sums, no two alike in what wears"
        f"{'' if drawn.proved else ' (not all proved)'}, through the season machine as new engines. {rests}"
    )
    if first.by_sum == 1:
        yield "The machine puts the same bill first."
    elif first.replayed.played is not None:
        more = first.replayed.played.more_cost
        apart = "" if more.shown or not drawn.seasons else "; not more than their errors separates the two"
        error = f" (+/- {whole(more.error)})" if more.error else ""
        yield f"By the machine number {first.by_sum} is cheapest, by {whole(-more.mean)}{error} a season{apart}."


def _ranked_table(ranked: Sequence[Ranked], seasons: int) -> Table:
    if len(ranked) == 1:
        return _only_table(ranked[0], seasons)
    rows = tuple(_ranked_row(one) for one in sorted(ranked, key=_by_machine))
    header = ("No.", "Sum", "Price", "Machine", "Parts", "More", "+/-", "Against number 1")
    note = (
        f"No.: place by the sum. {_MACHINE} More: than number 1, season by season on the same draws. "
        f"{errors(seasons) if seasons else ''}"
    )
    return Table("The best bills by the sum, ranked by the machine", header, rows, (0, 1, 2, 3, 4, 5, 6), note.strip())


def _only_table(one: Ranked, seasons: int) -> Table:
    """One bill by the sum and by the machine, with nothing to be ranked against."""
    played, option = one.replayed.played, one.option
    by_sum = whole(option.per_season) if option.per_season is not None else ""
    if played is None:
        rows = ((by_sum, whole(option.price), "", "", "", f"cannot be played: {'; '.join(_why(one))}"),)
    else:
        figures = (whole(played.cost.mean), error_of(played.cost), whole(played.parts.mean))
        rows = ((by_sum, whole(option.price), *figures, ""),)
    header = ("Sum", "Price", "Machine", "+/-", "Parts", "")
    note = f"{_MACHINE} {errors(seasons) if seasons else ''}"
    return Table("The bill by the sum and by the machine", header, rows, (0, 1, 2, 3, 4), note.strip())


_MACHINE = (
    "Sum: over slots, the cost of parts a season in the long run. Machine: one season of a new engine as the season "
    "machine counts it, with labour, services and events; parts: what of it parts use up."
)


def _why(one: Ranked) -> tuple[str, ...]:
    return tuple(map(str, one.replayed.problems[:1]))


def _by_machine(one: Ranked) -> tuple[bool, int]:
    return one.by_machine is None, one.by_machine or 0


def _ranked_row(one: Ranked) -> tuple[str, ...]:
    option, played = one.option, one.replayed.played
    by_sum = whole(option.per_season) if option.per_season is not None else ""
    head = (str(one.by_sum), by_sum, whole(option.price))
    if played is None:
        return (*head, "", "", "", "", f"cannot be played: {'; '.join(_why(one))}")
    figures = (whole(played.cost.mean), whole(played.parts.mean))
    if one.by_sum == 1:
        return (*head, *figures, "", "", "")
    words = "\n".join(word for word in (apart(one.replayed), swapped(one.changes)) if word)
    return (*head, *figures, signed_whole(played.more_cost.mean), error_of(played.more_cost), words)


#: The columns of a slot as CSV; events to a hundredth.
SLOT = (
    *("slot", "planned", "part", "changed", "name", "supplier", "source", "kit", "piece"),
    *("planned_price", "price", "per_season", "events", "why", "assumed", "place"),
)


def best_csv(option: Option, told: Told) -> str:
    """The slots as CSV, those that became empty at the end; prices as each slot's part costs by itself."""
    prices = {one.slot: one for one in told.slots}
    rows = [_slot_row(line, prices.get(line.slot)) for line in option.lines]
    emptied = (one for one in told.changes if not one.part)
    blank = ("",) * 4
    rows += [(one.slot, one.planned, "", True, *blank, "", one.before, one.after, *blank, "") for one in emptied]
    return to_csv(SLOT, rows)


def _slot_row(line: Line, prices: Change | None) -> tuple[object, ...]:
    of = (line.slot, line.planned, line.part, line.changed, line.name, line.supplier, line.source, line.kit, line.piece)
    costs: tuple[object, ...] = (prices.before, prices.after) if prices else ("", "")
    season: Decimal | str = "" if line.per_season is None else line.per_season
    events = "" if line.events is None else hundredth(line.events)
    return (*of, *costs, season, events, line.why, " | ".join(line.assumed), line.place)
