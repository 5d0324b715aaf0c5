"""What only shows when calendar, lives, levels and garage meet."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from costplan.garage import Piece
from costplan.life import Life
from costplan.money import from_minor, to_minor
from costplan.problems import Place, Problems, nearest
from costplan.season.calendar import Run, season_use, ungiven
from costplan.season.names import LADDERS, Damage, Item, KitItem, PathStep, Sources, Spot
from costplan.season.records import Service, Session

#: In minor units, and so small that a sum of it times any number of pieces is a whole number of 64 bits.
LARGEST_SUM = 10**14


def check_measures(sources: Sources, spots: Sequence[Spot], runs: Sequence[Run], problems: Problems) -> None:
    """Every measure that a life, level or service counts must be given by every run."""
    wanted: list[tuple[str, Place, str]] = []
    run_ins = {(row.run_in, row.carrier) for row in sources.files.levels}
    for spot in spots:
        sessions = [row for row in sources.files.sessions if (row.format, LADDERS[spot.ladder]) in run_ins]
        for life in spot.lives:
            wanted.append((life.measure.name, life.row.place, f"the life of {spot.slot}"))
            _check_rpm(life, spot, runs, sessions, problems)
    wanted += [(row.measure.name, row.place, f"the service {row.service}") for row in sources.files.services]
    wanted += [(row.measure.name, row.place, f"the level {row.level}") for row in sources.files.levels if row.measure]
    for measure, place, what in wanted:
        _check_given(measure, runs, place, "measure", what, problems)
    for hazard in sources.files.hazards:
        met = [run for run in runs if not hazard.kinds or run.event.kind in hazard.kinds]
        _check_given(hazard.per.name, met, hazard.place, "per", f"the hazard {hazard.hazard}", problems)


def _check_given(measure: str, runs: Sequence[Run], place: Place, column: str, what: str, problems: Problems) -> None:
    lacking = ungiven(runs, measure)
    if lacking:
        event = lacking[0].event
        advice = f"give it for {event.event} ({event.place}), or count in another measure"
        problems.add("SEA004", place, column, measure, f"{what} counts what the calendar lacks:", advice)


def check_service_rows(sources: Sources, runs: Sequence[Run], problems: Problems) -> None:
    """A level that a service row names must fit into the gap it stands in, whichever shop does it."""
    rows = sorted(sources.files.levels, key=lambda row: row.hours)
    hours = {row.level: row.hours for row in rows}
    for run in runs[1:]:
        for service in run.services:
            needed = hours.get(service.level, 0.0)
            if needed > run.gap_hours:
                what = f"level {service.level} takes {needed:g} h, the gap holds"
                advice = "give the hours there are as gap_hours, or move the row to a longer gap"
                problems.add("SEA012", service.place, "level", f"{run.gap_hours:g} h", what, advice)


def check_shelf(
    sources: Sources, spots: Sequence[Spot], items: Sequence[Item], runs: Sequence[Run], problems: Problems
) -> None:
    """A used set on the shelf must say its use in every measure that its lives count."""
    for piece in sources.garage:
        if not piece.on_shelf or not piece.is_used:
            continue
        holders = [spot for spot in spots if piece.part in parts_of(spot, spots, items)]
        asked = [(life.measure.name, life.row.place) for spot in holders for life in spot.lives]
        asked += [("days", part.clause.place) for spot in holders for part in spot.dated]
        for measure, place in dict(asked).items():
            if piece.age(measure, runs[0].event.date) is None:
                no_use(piece, measure, place, problems)


def check_companions(sources: Sources, spots: Sequence[Spot], problems: Problems) -> None:
    """What is renewed with a position or a step of it must be there, on its carrier, and laid bare by the opening."""
    known = {spot.base for spot in spots}
    build = sources.build
    for spot in spots:
        for slot in spot.renew_with:
            if slot not in known:
                there = build is not None and slot in build.pattern.slots
                advice = "give it a row in positions.csv" if there else nearest(slot, known)
                problems.add("SEA002", spot.place, "renew_with", slot, "a slot without a position:", advice)
        _check_reached(spot, (other for other in spots if other.base in spot.renew_with), spot.place, problems)
        for number, step in enumerate(spot.path):
            along = (other for other in spots if goes_along(spot, other, number))
            _check_reached(spot, along, step.row, problems)
            for slot in _without_position(step, known, sources):
                what, advice = f"{spot.slot} changes it in a service step:", "give it a row in positions.csv"
                problems.add("SEA014", step.row, "renew_with", slot, what, advice)


def _without_position(step: PathStep, known: set[str], sources: Sources) -> list[str]:
    """The filled slots that change with a step and that are no position."""
    fills = sources.build.everything() if sources.build else ()
    return sorted({fill.slot.slot for fill in fills if fill.slot.role in step.roles} - known)


def _check_reached(spot: Spot, along: Iterable[Spot], place: Place, problems: Problems) -> None:
    for other in along:
        if other.ladder != spot.ladder or other.level > spot.level:
            advice = f"{other.slot} is reached at a higher level or on another carrier; see {other.place}"
            what = f"{spot.slot} is renewed with a slot that its level does not reach:"
            problems.add("SEA014", place, "renew_with", other.slot, what, advice)


def goes_along(spot: Spot, other: Spot, step: int) -> bool:
    """Whether `other` is renewed with a service step of a position."""
    return other.role in spot.path[step].roles and other.base != spot.base


def check_setups(sources: Sources, spots: Sequence[Spot], problems: Problems) -> None:
    """A set-up that an alternate serves stands in the calendar, so that a slip of the pen does not idle it."""
    known = [event.setup for event in sources.files.events if event.setup]
    for spot in spots:
        for setup in spot.only:
            if setup not in known:
                what = "an alternate serves a set-up that no event has:"
                problems.add("SEA015", place_in_build(sources, spot), "serves", setup, what, nearest(setup, known))


def place_in_build(sources: Sources, spot: Spot) -> Place:
    """The row of the build that puts an alternate into its slot."""
    alternates = sources.build.alternates.get(spot.base, ()) if sources.build else ()
    name = spot.slot.partition("/")[2]
    return next((found.fill.place for found in alternates if found.name == name), spot.place)


def parts_of(spot: Spot, spots: Sequence[Spot], items: Sequence[Item]) -> set[str]:
    """The parts that a position may hold: its own, and those that go in with the steps of others."""
    follow = {number for other in spots for step in other.path for role, number in step.items if role == spot.role}
    return {items[number].name for number in (spot.item, *follow)}


def check_sums(
    sources: Sources,
    spots: Sequence[Spot],
    items: Sequence[Item],
    kits: Sequence[KitItem],
    flows: Sequence[Service],
    runs: Sequence[Run],
    problems: Problems,
) -> None:
    """No set, stock, kit, service step or season's flow may cost more than `LARGEST_SUM`."""
    pieces = {item.name: item.pack for item in items}
    counts = [(name, spot.pieces) for spot in spots for name in parts_of(spot, spots, items)]
    for name, count in (*counts, *((piece.part, piece.count or 1) for piece in sources.garage)):
        pieces[name] = max(pieces.get(name, 1), count)
    for item in items:
        if max(item.pack_price, *item.prices, item.core_charge, item.resale) * pieces[item.name] > LARGEST_SUM:
            advice = "check the price, its currency's rate and how many pieces there are"
            price = from_minor(item.pack_price, sources.rates.currency)
            problems.add("REA018", item.place, "price", price, "too large a sum, its price being", advice)
    steps = [(step.cost, step.place) for spot in spots for step in spot.path]
    for amount, place in (*steps, *((max(kit.prices), kit.place) for kit in kits)):
        if amount > LARGEST_SUM:
            sum_of = from_minor(amount, sources.rates.currency)
            problems.add(
                "REA018", place, "price", sum_of, "too large a sum:", "check the price and its currency's rate"
            )
    for row in flows:
        services = row.measure.from_kept(season_use(runs, row.measure.name)) / row.every
        if services * to_minor(row.price, sources.rates.currency) > LARGEST_SUM:
            advice = f"check it and the season's use; it would be paid {services:,.0f} times"
            problems.add("REA018", row.place, "every", row.every, "too large a sum, paid each", advice)


def check_operations(sources: Sources, problems: Problems) -> None:
    """What a case of damage takes is an operation of a catalog."""
    known = sources.catalog.operations if sources.catalog else {}
    written = sources.catalog.named_operations if sources.catalog else frozenset()
    for case in sources.files.cases:
        for name in case.operations:
            if name not in known and name not in written:
                problems.add("BLD011", case.place, "operations", name, "an unknown operation", nearest(name, known))


def check_bills(sources: Sources, cases: Sequence[Sequence[Damage]], problems: Problems) -> None:
    """No case may cost more than `LARGEST_SUM`, its operations counted in."""
    for case in (case for one in cases for case in one):
        if case.cost > LARGEST_SUM:
            bill = from_minor(case.cost, sources.rates.currency)
            advice = "check it, the prices of its operations, and their currency's rate"
            problems.add("REA018", case.place, "cost", bill, "too large a sum:", advice)


def no_use(piece: Piece, measure: str, place: Place, problems: Problems) -> None:
    """The problem of a piece that does not say its use in a measure; `place`: of the life or clause that counts it."""
    column = "installed" if measure == "days" else measure
    by_date = column == "installed"
    what = "when it was installed" if by_date else f"its {column}"
    advice = f"give {'that day' if by_date else 'its use so far, 0 if new'}; it is asked in {place}"
    problems.add("GAR004", piece.place, column, "", f"{piece.piece} does not say {what}", advice)


def _check_rpm(life: Life, spot: Spot, runs: Sequence[Run], run_ins: Sequence[Session], problems: Problems) -> None:
    """A life that ages by rpm needs them of every run, and of the sessions in which its carrier is run in."""
    if life.rated_rpm is None:
        return
    lacking = [(f"{run.event.event} {run.session}".strip(), run.event.place) for run in runs if run.rpm is None]
    lacking += [(f"the run-in's {row.session}", row.place) for row in run_ins if row.rpm is None]
    for what, where in lacking[:1]:
        problems.add(
            "SEA011",
            life.row.place,
            "rated_rpm",
            f"{life.rated_rpm:g}",
            f"the life of {spot.slot} ages by rpm",
            f"give rpm for {what} ({where})",
        )
