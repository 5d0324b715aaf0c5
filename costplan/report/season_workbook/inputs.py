"""What a plan rests on, as one sheet: each figure with its unit, whose word it is, its file, and what is a guess."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from decimal import Decimal

from costplan.life import Life
from costplan.money import from_minor
from costplan.report.tables import grouped, listed
from costplan.report.workbook.sheets import DATE, PLAIN, WHOLE_SHARE, Book, Cell, Column, Sheet, Value
from costplan.scenario import Scenario
from costplan.season import Season
from costplan.season.names import Spot
from costplan.season.records import Engine, Level, Policy, Service

GUESS = "guess"


@dataclass(frozen=True, slots=True)
class Input:
    """A figure or word that counts: of what, what it is, its unit, whose word it is, and its row in a file."""

    of: str
    what: str
    value: Value
    unit: str = ""
    source: str = ""
    place: str = ""
    form: str = ""


def write_inputs(book: Book, scenario: Scenario, season: Season) -> None:
    """Everything by theme; what is a guess is marked, and what of it. A guess that no row is of has one of its own."""
    columns = [
        Column("of", "Of", 30),
        Column("what", "What", 32),
        Column("value", "Value", 16, PLAIN),
        Column("unit", "Unit", 12),
        Column("guess", "Guess", 8),
        Column("guessed", "What of it is assumed", 32),
        Column("source", "Whose word", 30),
        Column("place", "File and row", 36),
    ]
    sheet = book.table("Inputs", "what the plan rests on", columns, landscape=True)
    guesses = grouped((entry.place, entry.what) for entry in season.assumed)
    shown: set[str] = set()
    for theme, rows in _themes(scenario, season, book.rounding.money):
        _write_theme(sheet, theme, rows, guesses, shown)
    rest = [Input(one.of, one.what, "", place=one.place) for one in season.assumed if one.place not in shown]
    _write_theme(sheet, "Other guesses", rest, guesses, shown)
    sheet.foot("Changed here, nothing follows: change the files, or use --set, and make the workbook anew.")


def _write_theme(
    sheet: Sheet, theme: str, rows: Iterable[Input], guesses: dict[str, list[str]], shown: set[str]
) -> None:
    """The rows of a theme; what is assumed in a row of a file stands beside the first figure of it."""
    found = list(rows)
    if found:
        sheet.across(theme, "heading")
    for one in found:
        assumed = guesses.get(one.place, []) if one.place and one.place not in shown else []
        shown |= {one.place} if one.place else set()
        sheet.put(
            {
                "of": one.of,
                "what": one.what,
                "value": Cell(one.value, one.form),
                "unit": one.unit,
                "guess": Cell(GUESS if assumed else "", look="odd"),
                "guessed": listed(dict.fromkeys(assumed)),
                "source": one.source,
                "place": one.place,
            }
        )


def _themes(scenario: Scenario, season: Season, money: str) -> Iterator[tuple[str, Iterable[Input]]]:
    """The inputs by theme."""
    code, files = season.rates.currency, season.files
    yield "The scenario", _scenario(scenario, season)
    yield "Engines", (row for engine in scenario.engines for row in _engine(engine, code, money))
    yield "Policies", _policies(scenario.header.policy, code, money)
    yield "Service levels", (row for level in files.levels for row in _level(level, code, money))
    yield "Prices", _prices(season, money)
    yield "Lives", (row for spot in season.spots for row in _spot(spot))
    yield "Service steps", _steps(season, money)
    yield "Services", (row for service in files.services for row in _service(service, code, money))
    yield "Costs and income", _costs(season, money)
    yield "What may go wrong (added risk of one more race; else it does not count in a plan)", _dangers(season, money)


def _scenario(scenario: Scenario, season: Season) -> Iterator[Input]:
    header = scenario.header
    yield Input("scenario", "books open", season.opening, form=DATE)
    tax = "as listed" if header.with_tax is None else "with tax" if header.with_tax else "without tax"
    yield Input("prices", "counted", tax)
    for rate in season.rates.rates:
        unit = f"{season.rates.currency} each"
        yield Input(rate.currency, f"worth from {rate.since}", rate.rate, unit, rate.source)
    yield Input("gaps", "between sessions", header.gaps.between_sessions, "h")
    yield Input("gaps", "between nights", header.gaps.between_nights, "h")
    yield Input("car", "levels last done before", _counts(header.car.since))


def _counts(by_name: dict[str, float] | dict[str, int]) -> str:
    return listed(f"{name} {value:g}" for name, value in by_name.items()) or "not given"


def _engine(engine: Engine, code: str, money: str) -> Iterator[Input]:
    place = str(engine.place)
    yield Input(engine.name, "in this season", "yes" if engine.owned else "no", place=place)
    if engine.owned:
        yield Input(engine.name, "use since each level", _counts(engine.since), place=place)
        if engine.price:
            yield Input(engine.name, "bought for", engine.price, code, place=place, form=money)
    elif engine.sold:
        yield Input(engine.name, "sold for", engine.sold, code, place=place, form=money)


def _policies(policy: Policy, code: str, money: str) -> Iterator[Input]:
    yield Input("early renewal", "where", policy.early)
    yield Input("engine that runs", "chosen", policy.who_runs)
    yield Input("engine swap", "takes", policy.swap_hours, "h")
    days = "lead of each" if policy.fetch_days is None else policy.fetch_days
    yield Input("what broke", "can be had in", days, "d")
    yield Input("a result of weight 1", "is worth beside its purse", policy.result_worth, code, form=money)
    yield Input("what the book bars", "then", policy.when_barred)


def _level(level: Level, code: str, money: str) -> Iterator[Input]:
    name, place = f"{level.level}, {level.carrier}{f', {level.shop}' if level.shop else ''}", str(level.place)
    if level.interval is not None and level.measure is not None:
        yield Input(name, "interval", level.interval, unit_of(level.measure.name, level.measure.unit), place=place)
    yield Input(name, "takes", level.hours, "h", place=place)
    yield Input(name, "labour", level.labour, code, place=place, form=money)
    yield Input(name, "supplies", level.supplies, code, place=place, form=money)
    for what, slots in (("always renews", level.renews), ("looks at", level.checks)):
        if slots:
            yield Input(name, f"{what} {listed(slots)}", "", place=place)


def unit_of(measure: str, unit: str) -> str:
    """
    >>> unit_of("events", "1"), unit_of("fuel", "gal"), unit_of("hours", "h")
    ('events', 'gal', 'h')
    """
    return measure if unit == "1" else unit


def _prices(season: Season, money: str) -> Iterator[Input]:
    """What is bought at which price on opening day, each once, with what comes with it."""
    code = season.rates.currency
    for item in season.items:
        offer = item.offers[0] if item.offers else None
        if offer is None:
            continue
        place, unit = str(offer.place), code if item.pack == 1 else f"{code} for {item.pack}"
        source = listed(filter(None, (offer.supplier, offer.source, f"price of {offer.since}")))
        name = f"{item.name} {item.title}".strip()
        yield Input(name, "price", from_minor(item.pack_price, code), unit, source, place, money)
        for what, amount in (("deposit on the old", item.core_charge), ("resale of one", item.resale)):
            if amount:
                yield Input(name, what, from_minor(amount, code), code, place=str(item.place), form=money)


def _spot(spot: Spot) -> Iterator[Input]:
    for life in spot.lives:
        yield from _life(spot, life)


def _life(spot: Spot, life: Life) -> Iterator[Input]:
    """When it is renewed, how surely it lasts until then, and what must not be passed."""
    row, place = life.row, str(life.row.place)
    unit, kept = unit_of(row.measure.name, row.measure.unit), row.measure.from_kept
    name = f"{spot.slot} ({row.part or row.role})"
    at: Value = kept(life.replace_at) if math.isfinite(life.replace_at) else "when it breaks"
    yield Input(name, "renewed after", at, unit, row.source, place)
    if not math.isclose(spot.factor, 1.0):
        times: Value = spot.factor if math.isfinite(spot.factor) else "run to failure"
        yield Input(name, "times the policy's factor", times, place=str(spot.place))
    yield Input(name, "Weibull shape", life.weibull.shape, place=place)
    if math.isfinite(life.weibull.scale):
        yield Input(name, "Weibull scale", kept(life.weibull.scale), unit, place=place)
    if math.isfinite(life.limit):
        yield Input(name, "never past", kept(life.limit), unit, row.source, place)
    if life.rated_rpm and life.rpm_exponent:
        yield Input(name, "true at", life.rated_rpm, "rpm", place=place)
        yield Input(name, "exponent of speed", life.rpm_exponent, place=place)


def _steps(season: Season, money: str) -> Iterator[Input]:
    for spot in season.spots:
        for step in spot.path:
            name, place, cost = f"{spot.slot}: {step.operation}", str(step.place), _money(season, step.cost)
            yield Input(name, "costs", cost, season.rates.currency, place=place, form=money)
            yield Input(name, "life after it", step.factor, place=str(step.row), form=WHOLE_SHARE)


def _service(service: Service, code: str, money: str) -> Iterator[Input]:
    place, measure = str(service.place), service.measure
    yield Input(service.service, "price", service.price, code, service.source, place, money)
    yield Input(service.service, "every", service.every, unit_of(measure.name, measure.unit), place=place)
    if service.used:
        yield Input(service.service, "used before", service.used, unit_of(measure.name, measure.unit), place=place)


def _costs(season: Season, money: str) -> Iterator[Input]:
    for cost in season.files.costs:
        unit = f"{season.rates.currency} per {cost.per}"
        yield Input(
            cost.cost, "costs" if cost.amount >= 0 else "brings", cost.amount, unit, cost.note, str(cost.place), money
        )
    for supplier in season.files.suppliers:
        place = str(supplier.place)
        yield Input(supplier.supplier, "paid with the order", supplier.deposit, "", supplier.source, place, WHOLE_SHARE)
        yield Input(supplier.supplier, "queue", supplier.queue_days, "d", place=place)


def _dangers(season: Season, money: str) -> Iterator[Input]:
    for hazard in season.files.hazards:
        unit = f"in one of {hazard.per}"
        yield Input(hazard.hazard, "chance", hazard.chance, unit, hazard.source, str(hazard.place))
    for case in season.cases:
        name, row, place = f"{case.of}: {case.case}", case.row, str(case.place)
        yield Input(name, "share of its failures", row.chance, "", row.source, place, WHOLE_SHARE)
        if case.cost:
            yield Input(
                name, "costs beside parts", _money(season, case.cost), season.rates.currency, place=place, form=money
            )


def _money(season: Season, minor: int) -> Decimal:
    return from_minor(minor, season.rates.currency)
