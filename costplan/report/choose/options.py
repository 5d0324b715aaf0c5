"""Which other parts meet the book, what they cost and buy, as a page."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from decimal import Decimal

from costplan.choose import Change, Ground, Option, Swap, Swaps, Told
from costplan.quantity import convert
from costplan.report.choose.shared import (
    A_SEASON,
    PACKS,
    About,
    cautions,
    cheapened,
    estimated,
    heading,
    hundredth,
    kept_line,
    may_be_cheaper,
    more_power,
    says,
    signed,
    slot_name,
    swap,
    tenth,
    wished,
)
from costplan.report.data import to_csv
from costplan.report.tables import Page, Table, listed, money, plural

#: A gain of so many events is one.
EVENTS = 0.05


def options_page(about: About, found: Swaps, told: Told) -> Page:
    """Everything that `costplan choose options` answers; `told` of the bill that one starts from."""
    begin = (start_line(found.start, told.changes), estimated(about, told.breathing))
    asked = cheapened(about, told.changes, found.start.on_hand) or may_be_cheaper(about)
    lines = (wished(about), asked, *begin, *_answer(about, found), kept_line(told.kept), *unproved_lines(found))
    tables = (_swaps_table(about, found), out_table(about, found))
    shown = tuple(table for table in tables if table.rows)
    known = any(one.less_a_season is not None for one in found.swaps)
    foot = cautions(about, power_shown=found.start.power is not None, seasons_shown=known)
    said = tuple(line for line in lines if line)
    return Page(heading("Other parts that meet fits and book", about), said, shown, foot)


def start_line(start: Option, changes: Sequence[Change]) -> str:
    """What one starts from."""
    if not changes:
        return f"From the build as planned, which meets them: {money(start.price)} all new."
    words = "; ".join(swap(one.slot, one.planned, one.part) for one in changes)
    return (
        f"From the build as planned with the fewest changes that meet fits, book and wishes ({words}): "
        f"{money(start.price)}."
    )


def unproved_lines(found: Swaps) -> Iterator[str]:
    """What the time did not reach."""
    if found.interrupted:
        yield "Stopped before all parts were tried: what is shown is whole, others are missing."
    if found.unproved:
        yield f"Not proved in the time, a better way may be there: {listed(found.unproved)} (--seconds)."


def _answer(about: About, found: Swaps) -> Iterator[str]:
    """How many options there are, and which pay in what."""
    swaps = found.swaps
    if not swaps:
        yield "No other part meets them."
        return
    cheaper, dearer = (len([one for one in swaps if sign * one.costs > 0]) for sign in (-1, 1))
    be = "makes" if cheaper == 1 else "make"
    yield f"{plural(len(swaps), 'other part')} can be had: {cheaper} {be} the bill cheaper, {dearer} dearer."
    if found.start.power is not None:
        yield _power_bought(about, swaps)
    pays = [one for one in swaps if one.costs > 0 and one.less_a_season is not None and one.less_a_season > 0]
    if pays:
        most = max(pays, key=_saves)
        yield (
            f"{plural(len(pays), 'dearer part')} {'costs' if len(pays) == 1 else 'cost'} less a season; most saves "
            f"{most.part} in {most.slot}: {money(most.costs)} more now, {money(_saves(most))} less a season."
        )
        yield A_SEASON


def _saves(one: Swap) -> Decimal:
    return one.less_a_season or Decimal(0)


def _power_bought(about: About, swaps: Sequence[Swap]) -> str:
    more = [one for one in swaps if one.buys == "more power"]
    if not more:
        return "None gives more power than the estimate's error: as the intake is, dearer parts buy none for certain."
    words = listed(f"{one.part} in {one.slot} ({more_power(one.more_power, about.unit)} {about.unit})" for one in more)
    return f"More power than the estimate's error: {words}."


def _swaps_table(about: About, found: Swaps) -> Table:
    """A row for the part of each slot that one starts from, and below it those that could stand there."""
    now, powered = dict(found.start.parts), has_power(found)
    rows = list[tuple[str, ...]]()
    for slot in dict.fromkeys(one.slot for one in found.swaps):
        rows.append((f"{slot_name(slot)}: {now.get(slot, 'nothing')}", *("",) * (5 if powered else 4)))
        rows += [(f"  {one.part}{along(one)}", *_cells(about, one, powered)) for one in found.swaps if one.slot == slot]
    header = ("Slot: part", "Costs", *power_heading(about, powered), "A season", "Events", "Better in")
    estimate = f" Power: estimated{_error(about, found.swaps)}." if powered else ""
    note = (
        "Against the bill that one starts from, whose parts stand beside their slots. Costs: of the whole bill; "
        f"{PACKS}.{estimate} A season: cost of parts. Events: of the interval. +: must change with it."
    )
    return Table("What each would change", header, tuple(rows), tuple(range(1, len(header) - 1)), note)


def has_power(found: Swaps) -> bool:
    """Whether the power of any bill is estimated."""
    return found.start.power is not None or any(one.power is not None for one in found.swaps)


def power_heading(about: About, powered: bool) -> tuple[str, ...]:
    """The heading of a column of power, where there is one."""
    return (f"Power {about.unit}",) if powered else ()


def _cells(about: About, one: Swap, powered: bool) -> tuple[str, ...]:
    return (signed(one.costs), *figures(about, one, powered), better_in(one))


def figures(about: About, one: Swap, powered: bool) -> tuple[str, ...]:
    """What a part changes in power, cost a season and interval; nothing where it is not known."""
    season = signed(None if one.less_a_season is None else -one.less_a_season)
    return (*((more_power(one.more_power, about.unit),) if powered else ()), season, more_events(one))


def _error(about: About, swaps: Sequence[Swap]) -> str:
    """The error of the estimate, from the least to the largest of all bills."""
    errors = sorted(convert(one.error, "kW", about.unit) for one in swaps if one.error is not None)
    if not errors:
        return ""
    low, high = f"{errors[0]:.1f}", f"{errors[-1]:.1f}"
    return f", with an error of {low if low == high else f'{low} to {high}'} {about.unit} either way"


def along(one: Swap) -> str:
    """What must change with a part, two lines for each slot, since they stand in a narrow column."""
    return "".join(f"\n  + {slot_name(slot)}:\n    {after or 'nothing'}" for slot, _, after in one.along)


def more_events(one: Swap) -> str:
    """The change of the interval, where there is one."""
    return "" if one.more_events is None else f"{one.more_events:+.1f}" if abs(one.more_events) >= EVENTS else "0"


def better_in(one: Swap) -> str:
    """What a part is better in, in words: power beyond the error, the season's cost, the interval, the price."""
    words = ["power"] if one.buys == "more power" else []
    words += ["price"] if one.costs < 0 else []
    words += ["season"] if one.less_a_season is not None and one.less_a_season > 0 else []
    words += ["interval"] if one.more_events is not None and one.more_events >= EVENTS else []
    if one.buys == "less power":
        words.append("less power" if not words else "but less power")
    if words:
        return listed(words)
    return "nothing certain" if one.buys == "nothing certain" and one.more_power else "nothing"


def out_table(about: About, found: Swaps) -> Table:
    """The parts that are in no bill, by what puts them out."""
    alone = [(one.slot, one.part, (one.ground,)) for one in found.out]
    others = [(one.slot, one.part, one.grounds) for one in found.never]
    groups: dict[str, dict[str, list[str]]] = {}
    for slot, part, grounds in sorted((*alone, *others), key=lambda one: one[:2]):
        why = "\n".join(_ground(about, one) for one in grounds)
        groups.setdefault(why, {}).setdefault(slot, []).append(part)
    rows = tuple(
        ("\n".join(f"{slot_name(slot)}: {listed(parts)}" for slot, parts in by_slot.items()), why)
        for why, by_slot in groups.items()
    )
    note = "By itself, or with what single clauses, fits and wishes leave in the other slots, whatever is chosen there."
    return Table("In no bill, and what puts them out", ("Slot: part", "Clause, fit or wish"), rows, note=note)


def _ground(about: About, ground: Ground) -> str:
    said = f"{ground.name}: {ground.says}" if ground.kind in ("clause", "fit") else says(about, ground)
    return f"{said} ({ground.place})" if ground.place else said


#: The columns of a swap as CSV; power in kW to a tenth, events to a hundredth.
SWAP = (
    *("slot", "part", "name", "instead_of", "along", "costs"),
    *("more_power_kW", "error_kW", "less_a_season", "more_events", "lead_days", "buys"),
)


def options_csv(found: Swaps) -> str:
    """The swaps as CSV."""
    return to_csv(SWAP, (swap_row(one) for one in found.swaps))


def swap_row(one: Swap) -> tuple[object, ...]:
    """A swap, flat."""
    along_ = " | ".join(f"{slot}: {before} > {after}" for slot, before, after in one.along)
    known = (tenth(one.more_power), tenth(one.error), one.less_a_season, hundredth(one.more_events))
    figures = tuple("" if value is None else value for value in known)
    return (one.slot, one.part, one.name, one.instead_of, along_, one.costs, *figures, one.lead_days, one.buys)
