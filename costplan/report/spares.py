"""Which spares pay back for a sum, as a page and as a list."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence

from costplan.report.data import to_csv
from costplan.report.figures import bare, rests_on, seasons_of, signed
from costplan.report.tables import Page, Table, listed, money, number, whole
from costplan.season.deciding.spares_answer import AllBoxes, Demand, Gain, InBox, Pieces, Spare, Spares, packs_in
from costplan.season.drawn.figures import CountDifference

CAUTIONS = (
    "What a spare saves rests on assumed lives, lead times and damage, and is no better than those. Carrying a part is "
    "no reason to run another longer: inspect; follow maker and builder. Officials decide what may race.",
)
SAVES = (
    "Saves: what the season costs without it less what it costs with it, its price and the results that are lost among "
    "it. What is not used lies in the box at the end at what it cost, so no spare is free: at risk is what is lost if "
    "it is never used and sold back at its resale. Missed: races, a season."
)
BOX_KEPT = (
    "A spare stays in the box until something breaks or is found worn: planned work leaves it there, and buys. It is "
    "not put back within the season. What is not kept (garage.csv, column spare) planned work uses first."
)


def spares_page(found: Spares, title: str, invented: bool) -> Page:
    """Everything that `costplan spares` answers."""
    heading = f"Spares for {whole(found.sum)} {found.currency}: {title}"
    tables = (
        _box_table(found.box),
        _steps_table(found.steps),
        _others_table(found.others, found.in_time),
        _demand_table([one for one in found.demand if one.box], found.seasons),
    )
    shown = tuple(table for table in tables if table.rows or table.note)
    return Page(f"{heading} (invented data)" if invented else heading, tuple(_lines(found)), shown, CAUTIONS)


def _lines(found: Spares) -> Iterator[str]:
    yield f"{rests_on(found.seasons, found.asked, found.seed)} Each box on the same draws. Money in {found.currency}."
    yield _answer(found)
    if found.whole:
        yield (
            f"All of it against none of it, on as many seasons that were not drawn to find it: saves "
            f"{_said(found.whole)}; races missed {_missed(found.whole.missed)} a season. At risk: "
            f"{whole(found.at_risk)}{_in_seasons(found.seasons_at_risk)}."
        )
    if found.steps:
        yield "Each step takes what saves most for its money beside what was taken before: a good rule, and no proof."
    if found.boxes:
        yield _all_boxes(found.boxes)
    if found.interrupted:
        yield "Stopped before all was tried: what is shown is whole, and what is missing was not tried."
    yield SAVES
    yield BOX_KEPT
    if found.at_best:
        yield from _at_best(found, found.at_best)


def _at_best(found: Spares, best: Gain) -> Iterator[str]:
    """What no box can much surpass, and why that may be less than nothing."""
    missed = f"{_missed(best.missed)} races missed a season"
    yield f"Were no part ever waited for, the season would save {_said(best)} ({missed}): no box can save much more."
    if best.missed.mean < 0 and not best.pays:
        yield (
            f"By these figures a race that is missed costs no more than it saves: a result counts "
            f"{money(found.result_worth)} beyond its purse ([policy] result_worth). Who races all the same values it "
            "higher: say how high there, and spares will pay."
        )


def _answer(found: Spares) -> str:
    """What to buy, in a sentence."""
    if not found.steps:
        done = "so far" if found.interrupted else f"for {whole(found.sum)}"
        return f"No spare that can be added {done} saves more than its error: nothing to buy."
    parts = listed(f"{packs} x {part}" if packs > 1 else part for part, packs in packs_in(found.steps).items())
    price, deposit = found.price, found.deposit
    also = f" and {money(deposit)} in deposits" if deposit else ""
    return f"To add: {parts}, for {money(price)}{also}; {money(found.rest)} is left of the sum."


def _in_seasons(seasons: float | None) -> str:
    return f", as much as it saves in {number(seasons, 2)} seasons" if seasons is not None else ""


def _said(gain: Gain) -> str:
    return f"{whole(gain.saves)} (+/- {whole(gain.error)})" if gain.error else whole(gain.saves)


def _all_boxes(boxes: AllBoxes) -> str:
    if boxes.better:
        return (
            f"Of all {boxes.tried} boxes within the sum another saves {_said(boxes.beats)} more: "
            f"{_names(boxes.best, packs=True)}."
        )
    return f"Of all {boxes.tried} boxes within the sum none saves more beyond its error."


def _names(parts: Sequence[Pieces], *, packs: bool = False) -> str:
    """Parts that belong together; how many packs of each where it is not one."""
    return " + ".join(f"{one.packs} x {one.part}" if packs and one.packs > 1 else one.part for one in parts)


def _slots(parts: Iterable[Pieces | InBox | Demand]) -> str:
    return " + ".join(listed(one.slots) for one in parts)


def _missed(found: CountDifference) -> str:
    """A change in the races missed."""
    if not found.mean and not found.error:
        return "0"
    return f"{'+' if found.mean > 0 else ''}{number(found.mean, 2)}"


def _gain_cells(gain: Gain) -> tuple[str, str, str]:
    return signed(gain.saves), whole(gain.error) if gain.error else "", _missed(gain.missed)


def _taken(gain: Gain) -> str:
    return bare(gain.used, gain.seasons) if gain.used else ""


def _box_table(box: Sequence[InBox]) -> Table:
    rows = tuple(
        (
            one.part,
            listed(one.slots),
            str(one.pieces or ""),
            str(one.kept or ""),
            str(one.used_sets or ""),
            whole(one.value),
            *_gain_cells(one.gain),
            _taken(one.gain),
        )
        for one in box
    )
    header = ("Part", "Slot", "New", "Kept", "Used", "Counts", "Saves", "+/-", "Missed", "Taken")
    note = (
        "New pieces, how many of them planned work leaves there, used sets, what they count for on hand (used ones "
        "nothing), and what the season saves with them beyond that. Taken: in so many seasons some of it is."
    )
    return Table("In the box", header, rows, tuple(range(2, 10)), note if rows else "")


def _steps_table(steps: Sequence[Spare]) -> Table:
    rows = tuple(
        (
            _names(one.parts),
            _slots(one.parts),
            " + ".join(f"{part.packs} of {part.pieces // part.packs}" for part in one.parts),
            whole(one.price),
            *_gain_cells(one.gain),
            _taken(one.gain),
            whole(one.at_risk),
        )
        for one in steps
    )
    header = ("Part", "Slot", "Packs", "Price", "Saves", "+/-", "Missed", "Taken", "At risk")
    note = "In the order of taking, each beside those above it. A part may come twice: the second saves less, or more."
    return Table("To add", header, rows, tuple(range(2, 9)), note if rows else "")


def _others_table(others: Sequence[Spare], in_time: Sequence[str]) -> Table:
    shown = [one for one in others if _does_anything(one)]
    rows = tuple(
        (_names(one.parts), _slots(one.parts), whole(one.price), *_gain_cells(one.gain), *_best_cells(one))
        for one in shown
    )
    seasons = f" on {seasons_of(others[0].gain.seasons)}" if others else ""
    notes = (
        f"What each would bring beside what was added{seasons}. At best: what is saved if it is never waited for, as "
        "if one were always put back."
        if rows
        else "",
        f"Needed unplanned, but waited for in no season, since the part comes within the gap or the work takes longer: "
        f"{listed(in_time)}."
        if in_time
        else "",
    )
    header = ("Part", "Slot", "Price", "Saves", "+/-", "Missed", "At best", "+/-")
    return Table("Not taken", header, rows, tuple(range(2, 8)), " ".join(note for note in notes if note))


def _does_anything(one: Spare) -> bool:
    best = one.at_best
    return bool(one.gain.saves or one.gain.error or (best and (best.saves or best.error)))


def _best_cells(one: Spare) -> tuple[str, str]:
    best = one.at_best
    return (signed(best.saves), whole(best.error) if best.error else "") if best else ("", "")


def _demand_table(demand: Sequence[Demand], seasons: int) -> Table:
    rows = tuple(
        (
            one.part,
            str(one.unit),
            str(one.box),
            number(one.needs.mean, 3),
            bare(one.short, seasons),
            f"{_small(100 * one.poisson_short)}%",
            _small(one.bought.mean),
            _small(one.poisson_bought),
        )
        for one in demand
    )
    header = ("Part", "Pieces", "Box", "Needs", "Short", "Poisson", "Bought", "Poisson")
    note = (
        "Pieces: of one need. Box: such sets at hand, added ones among them. Needs: how often a season asks for one "
        "that nobody ordered; short: seasons in which some had to be bought; bought: how many, a season. Poisson: the "
        "same if needs came at a steady rate and planned work took nothing: where short is far above it, needs come "
        "together, or planned work takes what is not kept."
    )
    return Table("What is asked for, and what the box meets", header, rows, tuple(range(1, 8)), note if rows else "")


def _small(value: float) -> str:
    """A number that may be too small to matter.

    >>> _small(0.0), _small(0.0004), _small(0.0123)
    ('0', '<0.001', '0.012')
    """
    return "<0.001" if 0 < value < 0.001 else number(value, 2)


def spares_csv(found: Spares) -> str:
    """The list as CSV: what lies in the box, what to add, and the rest."""
    header = ("what", "part", "slot", "packs", "pieces", "price", "deposit", "at_risk")
    figures = ("saves", "error", "missed", "missed_error", "used", "seasons", "at_best", "at_best_error")
    rows: list[tuple[object, ...]] = [
        ("box", one.part, listed(one.slots), "", one.pieces, one.value, "", "", *_figures(one.gain))
        for one in found.box
    ]
    for what, spares in (("add", found.steps), ("other", found.others)):
        rows += [_row(what, one) for one in spares]
    return to_csv((*header, *figures), rows)


def _row(what: str, one: Spare) -> tuple[object, ...]:
    packs, pieces = (" + ".join(str(getattr(part, name)) for part in one.parts) for name in ("packs", "pieces"))
    amounts = (one.price, one.deposit, one.at_risk)
    return (what, _names(one.parts), _slots(one.parts), packs, pieces, *amounts, *_figures(one.gain, one.at_best))


def _figures(gain: Gain, best: Gain | None = None) -> tuple[object, ...]:
    used = gain.used.share if gain.used else ""
    beyond = (best.saves, best.error) if best else ("", "")
    return gain.saves, gain.error, gain.missed.mean, gain.missed.error, used, gain.seasons, *beyond
