"""What more money buys, on the builder's page: the frontier, and what else could stand in each slot."""

from __future__ import annotations

from collections.abc import Iterator
from decimal import Decimal

from costplan.choose import Frontier, Option, Point, Swap, Swaps
from costplan.quantity import convert
from costplan.report.choose.frontier import NOTHING, bought_lines, step_buys
from costplan.report.choose.options import better_in, figures, has_power, power_heading, start_line
from costplan.report.choose.shared import A_SEASON, PACKS, About, events, power, signed, slot_name, swap, swapped
from costplan.report.tables import listed, money, plural, whole
from costplan.report.web import charts
from costplan.report.web.blocks import Block, Cell, Chart, Section, Sheet, Words, cells
from costplan.report.web.builder.answers import Choices
from costplan.report.web.drawing import BLUE, OCHRE

#: Fewer points than this are no chart.
CHARTED = 2
CERTAIN = "more power"
COLOURS = {CERTAIN: BLUE, NOTHING: OCHRE}


def choice_sections(found: Choices | None) -> Iterator[Section]:
    if found is not None:
        yield Section("What more money buys", tuple(_frontier(found)))
        yield Section("Options in each slot", tuple(_options(found)))


def _frontier(found: Choices) -> Iterator[Block]:
    frontier, about = found.frontier, found.about
    if not frontier.points:
        yield Words((_nothing(frontier),), alert=True)
        return
    yield Words(tuple(_lines(found)))
    if len(frontier.points) < CHARTED:
        return
    yield _chart(found)
    yield Sheet(
        "Each step up",
        ("Bill", "Swap", "Price", "Costs more", *_buys_heading(about, frontier), "Buys"),
        tuple(_step(about, frontier, at, point) for at, point in enumerate(frontier.points, start=1)),
        right=(2, 3, 4),
        note=f"{_step_note(frontier)} {_proved(frontier)}",
    )


def _nothing(found: Frontier) -> str:
    if found.whole:
        return "No bill of the catalog's parts meets fits and book."
    return "No bill that meets fits and book was found in the time."


def _lines(found: Choices) -> Iterator[str]:
    frontier = found.frontier
    first, last = frontier.points[0].option, frontier.points[-1].option
    if frontier.interrupted or not frontier.whole:
        yield "Not all bills were found in the time: those shown are whole, others are missing."
    if len(frontier.points) > 1:
        yield (
            f"{plural(len(frontier.points), 'bill')} from {money(first.price)} to {money(last.price)}, each of parts "
            "that meet fits and book. None of them is both dearer and worse than another; more may lie between them."
        )
    elif frontier.whole:
        yield f"One bill, of {money(first.price)}, is both the cheapest and the best: there is no step up."
    if frontier.against == "power":
        yield from bought_lines(found.about, frontier)
    else:
        yield A_SEASON


def _chart(found: Choices) -> Chart:
    frontier, about = found.frontier, found.about
    rows = [_mark(about, frontier, point, at) for at, point in enumerate(frontier.points, start=1)]
    here = _here(found)
    powered = frontier.against == "power"
    title = f"estimated {about.unit}" if powered else f"parts a season, {about.currency}"
    colours = COLOURS if powered else None
    wide, narrow = charts.both(
        lambda width: charts.steps(rows, width, f"price of the bill, {about.currency}", title, colours, here)
    )
    what = (
        "Price of a bill and its estimated power" if powered else "Price of a bill and the cost of its parts a season"
    )
    return Chart(what, _says(found), wide, narrow, _points(found))


def _says(found: Choices) -> str:
    words = "Each dot is a complete bill; to the right they cost more"
    if found.frontier.against == "season":
        words += ", and further down their parts cost less a season."
    else:
        words += (
            ". The strokes are the error of the estimate: of what buys nothing certain it is not sure that it is any "
            "stronger than what comes before it."
        )
    return f"{words} The diamond is {_whose(found)}." if _here(found) else words


def _whose(found: Choices) -> str:
    if not found.changes:
        return "the build as planned"
    words = listed(swap(one.slot, one.planned, one.part) for one in found.changes)
    return f"the build as planned with the fewest changes that are shown to meet fits and book ({words})"


def _name(found: Choices) -> str:
    return "nearest to the plan" if found.changes else "as planned"


def _here(found: Choices) -> list[dict[str, object]]:
    """Where the build stands in the chart, if that is known."""
    start, powered = found.start, found.frontier.against == "power"
    known = start is not None and (start.power if powered else start.per_season) is not None
    if start is None or not known:
        return []
    why = f"{_whose(found)}: {money(start.price)}\n{_height_words(found.about, found.frontier, start)}"
    return [
        {
            "price": float(start.price),
            "gain": _height(found.about, found.frontier, start),
            "name": _name(found),
            "why": why,
        }
    ]


def _mark(about: About, frontier: Frontier, point: Point, at: int) -> dict[str, object]:
    option, step = point.option, point.step
    height = _height(about, frontier, option)
    between = option.between() if frontier.against == "power" else None
    low, high = (convert(one, "kW", about.unit) for one in between) if between else (height, height)
    swaps = (
        f"\n{swapped(step.swaps)}\n{money(step.costs)} more: {step_buys(about, frontier, point, step)[-1]}"
        if step
        else ""
    )
    return {
        "price": float(option.price),
        "gain": height,
        "low": low,
        "high": high,
        "name": str(at),
        "state": CERTAIN if step is None or step.certain else NOTHING,
        "why": f"bill {at}: {money(option.price)}\n{_height_words(about, frontier, option)}{swaps}",
    }


def _height(about: About, frontier: Frontier, option: Option) -> float:
    if frontier.against == "power":
        return convert(option.power or 0.0, "kW", about.unit)
    return float(option.per_season or Decimal(0))


def _height_words(about: About, frontier: Frontier, option: Option) -> str:
    if frontier.against == "power":
        return f"estimate {power(option.power, option.error, about.unit)} {about.unit}"
    return f"parts a season {whole(option.per_season)}" if option.per_season is not None else ""


def _points(found: Choices) -> Sheet:
    """The bills, and the build among them."""
    about, start = found.about, found.start
    bills = [(str(at), point.option, point.proved) for at, point in enumerate(found.frontier.points, start=1)]
    rows = [(name, option, "yes" if proved else "no") for name, option, proved in bills]
    if start is not None:
        rows.append((_name(found), start, ""))
    return Sheet(
        "The bills",
        ("Bill", "Price", f"Estimated {about.unit}", "Parts a season", "Interval, events", "Proved"),
        tuple(
            cells(
                name,
                Cell(money(option.price), _bill_why(option)),
                power(option.power, option.error, about.unit),
                whole(option.per_season) if option.per_season is not None else "",
                events(option.events),
                proved,
            )
            for name, option, proved in rows
        ),
        right=(1, 2, 3, 4),
        note=A_SEASON,
    )


def _bill_why(option: Option) -> tuple[str, ...]:
    """The parts of a bill."""
    return (listed(f"{slot} {part}" for slot, part in option.parts),)


def _buys_heading(about: About, frontier: Frontier) -> tuple[str, ...]:
    return (f"More {about.unit}, estimated",) if frontier.against == "power" else ("Saves a season",)


def _step(about: About, frontier: Frontier, at: int, point: Point) -> tuple[Cell, ...]:
    step, price = point.step, Cell(money(point.option.price), _bill_why(point.option))
    if step is None:
        return cells(f"bill\u00a0{at}", "the cheapest", price, "", "", "")
    figure, *rest = step_buys(about, frontier, point, step)
    summed = (f"with the steps before it since the last certain one: {rest[0]} {about.unit}",) if rest else ()
    buys = rest[-1] if rest else "less a season"
    return cells(f"bill\u00a0{at}", swapped(step.swaps), price, money(step.costs), Cell(figure, summed), buys)


def _step_note(frontier: Frontier) -> str:
    if frontier.against == "season":
        return "Each row changes the bill above it."
    return (
        f"Each row changes the bill above it. A step buys {NOTHING} where neither its own figure nor the sum with the "
        "steps before it, since the last that was certain to bring more, is more than the error of the estimate."
    )


def _proved(frontier: Frontier) -> str:
    if all(point.proved for point in frontier.points):
        return "Proved: no bill is both cheaper and better than one of these."
    return "Some are not proved: in the time given a bill that is cheaper and better may have been missed."


def _unproved(found: Swaps) -> Iterator[str]:
    """What the time did not reach."""
    if found.interrupted:
        yield "Stopped before all parts were tried: what is shown is whole, others are missing."
    if found.unproved:
        yield f"Not proved in the time, a better way may be there: {listed(found.unproved)}."


def _options(found: Choices) -> Iterator[Block]:
    swaps = found.swaps
    if swaps is None or found.start is None:
        return
    begin = start_line(found.start, found.changes)
    yield Words((f"{begin} What one other part in a slot would change:", *_unproved(swaps)))
    better = [one for one in swaps.swaps if not _idle(one)]
    yield _swaps(found, "Other parts that are better in something", better)
    rest = [one for one in swaps.swaps if _idle(one)]
    yield _swaps(found, f"Other parts that are better in nothing certain, {len(rest)}", rest, folded=True)
    if found.about.critical:
        yield Words(
            (
                f"In {listed(found.about.critical)} nothing cheaper than planned is shown: what holds an engine "
                "together is no place to save.",
            )
        )


def _idle(one: Swap) -> bool:
    return better_in(one).startswith("nothing")


def _swaps(found: Choices, title: str, swaps: list[Swap], *, folded: bool = False) -> Sheet:
    about = found.about
    if found.swaps is None or found.start is None:
        return Sheet(title, (), ())
    powered, now = has_power(found.swaps), dict(found.start.parts)
    rows = tuple(
        cells(
            "\n".join((f"{slot_name(one.slot)}: {one.part}", *_along(one))),
            now.get(one.slot, "nothing"),
            Cell(signed(one.costs), tuple(_swap_why(one))),
            *figures(about, one, powered),
            better_in(one),
        )
        for one in swaps
    )
    header = ("Slot: part", "Instead of", "Costs", *power_heading(about, powered), "A season", "Events", "Better in")
    estimate = " Power: estimated; less than its error is nothing certain." if powered else ""
    said = f"Costs: of the whole bill; {PACKS}.{estimate} A season: cost of parts. Events: of the interval."
    note = f"{said} +: must change with it."
    return Sheet(title, header, rows, tuple(range(2, len(header) - 1)), note, folded=folded)


def _along(one: Swap) -> Iterator[str]:
    """What must change with a part."""
    for slot, _, after in one.along:
        yield f"+ {slot_name(slot)}: {after or 'nothing'}"


def _swap_why(one: Swap) -> Iterator[str]:
    """What the whole bill comes to with a part, what changes with it, and how long it takes."""
    yield one.name
    yield f"the whole bill with it: {money(one.price)}"
    for slot, before, after in one.along:
        yield f"with it {slot_name(slot)}: {before or 'nothing'} -> {after or 'nothing'}"
    if one.lead_days:
        yield f"{plural(one.lead_days, 'day')} until it is here"
