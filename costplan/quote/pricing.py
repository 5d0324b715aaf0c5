"""From a list of work to lines with cost and price: parts as bought, operations, labour, supplies, freight, cores."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field, replace
from datetime import date
from decimal import Decimal
from functools import cached_property

from costplan.build import Bill, BillLine, Figures, Fill, bill_for, kit_deposits
from costplan.catalog import Buying, Catalog, Offer, Operation
from costplan.catalog.prices import Terms
from costplan.money import round_money, with_minor_digits
from costplan.quote.records import Kind, Line
from costplan.quote.request import Asked, ExtraRow, PriceRow
from costplan.quote.shop import BUILD, ShopBook, Work
from costplan.quote.stated import percent
from costplan.quote.totals import line_net
from costplan.quote.worklist import WorkList
from costplan.scenario import Scenario
from costplan.season import CAR

ONE, NOTHING = Decimal(1), Decimal(0)
PARTS, SUBLET, SUPPLIES, FREIGHT = "Parts", "Work done elsewhere", "Supplies", "Freight"
CORES = "Deposits on old pieces"


@dataclass(frozen=True, slots=True)
class ShopBuying(Buying):
    """How a shop buys: without tax, at its own discounts (`factors` on list prices by supplier, `rise` on all)."""

    factors: Mapping[str, Decimal] = field(default_factory=dict)
    rise: Decimal = NOTHING

    def priced(self, amount: Decimal, currency: str, taxed: Terms | Offer, on: date) -> Decimal:
        """An amount in the scenario's currency without tax, unrounded; that of an offer as the shop pays it."""
        listed = Buying.priced(self, amount, currency, taxed, on)
        if not isinstance(taxed, Offer):
            return listed
        return listed * self.factors.get(taxed.supplier, ONE) * (ONE + self.rise)


@dataclass(frozen=True)
class Counter:
    """Where lines are priced: a scenario with its shop book on a day.

    `rise`: by which share suppliers' prices are up; `held`: lines, by key, whose price and discount were agreed before.
    """

    scenario: Scenario
    book: ShopBook
    on: date
    rise: Decimal = NOTHING
    held: Mapping[str, Line] = field(default_factory=dict)

    @property
    def currency(self) -> str:
        return self.scenario.header.currency

    @property
    def catalog(self) -> Catalog:
        """The catalog; a scenario without one is a bug here, a problem at the door."""
        if self.scenario.catalog is None:
            raise ValueError("a scenario without a catalog has nothing to quote")
        return self.scenario.catalog

    @cached_property
    def buying(self) -> ShopBuying:
        factors = {row.name: ONE - row.discount for row in self.book.suppliers}
        return ShopBuying(self.scenario.rates, with_tax=False, factors=factors, rise=self.rise)

    def bill(self, work: WorkList) -> Bill:
        """What is bought and what is done to what stays; of a service, with the kits that save."""
        bought = [task.fill for task in work.tasks if task.bought]
        worked = [task.fill for task in work.tasks if not task.bought]
        worked += [_once(work, repair.slot, repair.operation) for repair in work.repairs]
        bill = self._billed(bought, worked)
        while not work.kits_named and bill.savings:
            best = max(bill.savings, key=lambda one: (one.saves, one.kit))
            bought = [replace(fill, kit=best.kit) if fill.part.part in best.holds else fill for fill in bought]
            bill = self._billed(bought, worked)
        return bill

    def _billed(self, bought: list[Fill], worked: list[Fill]) -> Bill:
        days = self.scenario.header.stale_after_days
        return bill_for(bought, self.catalog, self.buying, self.on, days, worked)

    def stale(self, priced: date | None) -> bool:
        """Whether a price of a day is old."""
        return priced is not None and (self.on - priced).days > self.scenario.header.stale_after_days


def _once(work: WorkList, slot: str, operation: Operation) -> Fill:
    """A fill of a slot with one operation on one piece."""
    fill = work.build.fills[slot.partition("/")[0]]
    single = fill.slot.model_copy(update={"quantity": 1})
    return replace(fill, slot=single, operations=(operation,), kit="")


def lines_of(
    counter: Counter, work: WorkList, bill: Bill, asked: Asked, more_work: Iterable[str] = ()
) -> tuple[Line, ...]:
    """All lines of a list of work and its bill, in the order in which they stand.

    `more_work`: asked for beyond the request.
    """
    wanted = tuple(_wanted(counter, bill, work, asked, more_work))
    ours = {(one.operation, one.slots) for one in wanted if one.operation}
    bought_in = [line for line in bill.lines if line.kind == "operation" and (line.part, line.slots) not in ours]
    lines = [*_part_lines(counter, bill, work), *(one.line(counter, work.job) for one in wanted)]
    lines += (_operation_line(counter, line, work.job) for line in bought_in)
    lines += _cost_lines(counter, work)
    lines += (_extra_line(counter, work.job, row) for row in asked.extras)
    lines = [_as_agreed(counter, line, asked.prices) for line in _told_apart(lines)]
    fresh = replace(counter, held={})  # supplies and freight go by the other lines, whatever was agreed before
    lines += (_as_agreed(fresh, line, asked.prices) for line in _supply_lines(counter, lines, work.job))
    lines += (_as_agreed(fresh, line, asked.prices) for line in _freight_lines(counter, lines, work.job))
    lines += _told_apart(_core_lines(counter, bill, work))
    return by_heading(lines)


def _told_apart(lines: Iterable[Line]) -> Iterator[Line]:
    """Lines whose keys are told apart by a number, where an operation is done twice to one slot, as to alternates."""
    seen: dict[str, int] = {}
    for line in lines:
        seen[line.key] = seen.get(line.key, 0) + 1
        yield line if seen[line.key] == 1 else replace(line, key=f"{line.key}/{seen[line.key]}")


def by_heading(lines: Iterable[Line]) -> tuple[Line, ...]:
    """Lines with those of one heading together, headings in the order of their first line."""
    groups: dict[str, list[Line]] = {}
    for line in lines:
        groups.setdefault(line.heading, []).append(line)
    return tuple(line for group in groups.values() for line in group)


def _line(
    counter: Counter,
    job: str,
    key: str,
    heading: str,
    kind: Kind,
    name: str,
    quantity: Decimal,
    unit: str,
    price: Decimal,
    cost: Decimal,
) -> Line:
    """A line at a price for one, before tax; `cost` is that of all."""
    price = with_minor_digits(price, counter.currency)
    tax = counter.book.tax_row(kind, job).tax
    net = line_net(quantity, price, counter.currency)
    cost = round_money(cost, counter.currency)
    return Line(key, heading, kind, name, "", (), "", quantity, unit, price, NOTHING, net, tax, cost)


def _part_lines(counter: Counter, bill: Bill, work: WorkList) -> Iterator[Line]:
    """Parts and kits, in whole packs, at cost and mark-up."""
    why: dict[str, str] = {}
    for task in work.tasks:
        why.setdefault(task.slot.partition("/")[0], task.why)
    up = ONE + counter.book.header.markup.parts
    for line in bill.lines:
        if line.kind == "operation":
            continue
        price = round_money(line.cost / line.packs * up, counter.currency)
        unit = f"pack of {line.pack}" if line.pack > 1 else "kit" if line.kind == "kit" else "piece"
        key, packs = f"{line.kind}/{line.part}", Decimal(line.packs)
        made = _line(counter, work.job, key, PARTS, "parts", line.name or line.part, packs, unit, price, line.cost)
        reasons = "; ".join(f"{slot}: {why[slot]}" for slot in dict.fromkeys(line.slots) if slot in why)
        yield replace(_priced(made, line), part=line.part, why=reasons, spare=line.left_over)


def _priced(made: Line, line: BillLine) -> Line:
    """A line with where its price comes from."""
    return replace(
        made,
        slots=tuple(dict.fromkeys(line.slots)),
        supplier=line.supplier,
        priced=line.price_date,
        price_age_days=line.price_age_days,
        stale=line.stale,
        place=line.place,
    )


def _operation_line(counter: Counter, line: BillLine, job: str) -> Line:
    """An operation that no work of the shop is: done elsewhere, at the catalog's price and mark-up."""
    up, slot = ONE + counter.book.header.markup.sublet, ", ".join(line.slots)
    price, pieces = round_money(line.cost / line.pieces * up, counter.currency), Decimal(line.pieces)
    key, name = f"operation/{line.part}/{slot}", line.name or line.part
    made = _line(counter, job, key, SUBLET, "sublet", name, pieces, "piece", price, line.cost)
    return replace(_priced(made, line), why=f"{slot}: {line.part} of the catalog")


@dataclass(frozen=True, slots=True)
class _Wanted:
    """A row of work.csv that a job takes: for how many, on what and why; `key` tells it from others of its row."""

    row: Work
    count: Decimal
    why: str
    key: str
    slots: tuple[str, ...] = ()
    operation: str = ""

    def line(self, counter: Counter, job: str) -> Line:
        """Its line: by the hour where it has no price, else by the job or the piece."""
        row, rate = self.row, counter.book.rate(self.row.rate)
        hours = row.hours * self.count
        cost = row.hours * rate.cost_per_hour if row.cost is None else row.cost
        if row.price is None and row.kind == "labour":
            quantity, unit, price = hours, "h", rate.per_hour
        else:
            up = ONE + counter.book.header.markup.on(row.kind)
            quantity, unit = self.count, row.per
            price = round_money(cost * up, counter.currency) if row.price is None else row.price
        made = _line(counter, job, self.key, row.heading, row.kind, row.title, quantity, unit, price, cost * self.count)
        priced = row.price_date if row.kind == "sublet" else counter.book.header.rates_date
        return replace(
            made,
            slots=self.slots,
            supplier=row.supplier,
            hours=hours,
            priced=priced,
            price_age_days=(counter.on - priced).days if priced else None,
            stale=counter.stale(priced),
            why=self.why,
            place=row.place,
        )


def _wanted(counter: Counter, bill: Bill, work: WorkList, asked: Asked, more: Iterable[str]) -> Iterator[_Wanted]:
    """The rows of work.csv that a job takes, in their order."""
    names = {*asked.head.work, *more}
    engine = work.engine if work.engine != CAR else ""
    figures = Figures(counter.scenario.built(engine), bill)
    operations = [line for line in bill.lines if line.kind == "operation"]
    for row in counter.book.work:
        held = [line for line in operations if line.part in row.operations]
        slots = tuple(task.slot for task in work.tasks if task.slot.partition("/")[0] in row.slots)
        asks = row.work in names if row.asked else not row.jobs or work.job in row.jobs
        if not asks or (row.slots and not slots) or (row.operations and not held) or not _measured(row, figures):
            continue
        if row.operations:
            for line in held:
                yield _for_operation(row, line)
        else:
            count = sum(work.touched[slot].fill.slot.quantity for slot in slots) if row.per == "piece" else 1
            yield _Wanted(row, Decimal(count), _why(row, work, slots), f"work/{row.work}", slots)


def _for_operation(row: Work, line: BillLine) -> _Wanted:
    """A row for an operation of the catalog that the shop does itself."""
    count, slot = Decimal(line.pieces if row.per == "piece" else 1), ", ".join(line.slots)
    key = f"work/{row.work}/{line.part}/{slot}"
    return _Wanted(row, count, f"{slot}: {line.name or line.part}", key, line.slots, line.part)


def _measured(row: Work, figures: Figures) -> bool:
    """Whether the measure that a row asks about is where it asks; one that is not known is not."""
    if not row.measure:
        return True
    value = figures.measure(row.measure).value
    if value is None:
        return False
    low = row.below is None or value.value < row.below.to(value.unit)
    return low and (row.above is None or value.value > row.above.to(value.unit))


def _why(row: Work, work: WorkList, slots: tuple[str, ...]) -> str:
    """What a row of work is there for, in words."""
    if row.asked:
        return "asked for"
    words = [f"every {'new engine' if name == BUILD else name}" for name in row.jobs if name == work.job]
    words += [f"for {', '.join(slots)}"] if slots else []
    words += [f"{row.measure} {_bounds(row)}"] if row.measure else []
    return "; ".join(words) or "every job"


def _bounds(row: Work) -> str:
    low = [f"below {row.below}"] if row.below is not None else []
    return " and ".join([*low, *([f"above {row.above}"] if row.above is not None else [])])


def _cost_lines(counter: Counter, work: WorkList) -> Iterator[Line]:
    """What a damage costs beside parts and work, laid out by the shop."""
    up = ONE + counter.book.header.markup.sublet
    for cost in work.costs:
        price = round_money(cost.amount * up, counter.currency)
        key = f"damage/{cost.name}"
        made = _line(counter, work.job, key, SUBLET, "sublet", cost.name, ONE, "job", price, cost.amount)
        yield replace(made, why="damage.csv", place=cost.place)


def _extra_line(counter: Counter, job: str, row: ExtraRow) -> Line:
    """A line of the request."""
    cost = row.cost * row.quantity
    key = f"extra/{row.name}"
    made = _line(counter, job, key, row.heading, row.kind, row.name, row.quantity, row.unit, row.price, cost)
    hours = row.quantity if row.kind == "labour" and row.unit == "h" else NOTHING
    made = replace(made, hours=hours, why="line of the request", place=row.place)
    return _at(counter, made, row.price, row.discount)


def _supply_lines(counter: Counter, lines: Iterable[Line], job: str) -> Iterator[Line]:
    """Shop supplies as a share of labour."""
    share = counter.book.header.supplies
    price = round_money(share * sum((line.net for line in lines if line.kind == "labour"), NOTHING), counter.currency)
    if not price:
        return
    cost = price / (ONE + counter.book.header.markup.supplies)
    made = _line(counter, job, "supplies", SUPPLIES, "supplies", "Shop supplies", ONE, "job", price, cost)
    yield replace(made, why=f"{percent(share)} of labour", place=counter.book.place)


def _freight_lines(counter: Counter, lines: Iterable[Line], job: str) -> Iterator[Line]:
    """One delivery from each supplier, but for those whose order is large enough to come free."""
    sums: dict[str, Decimal] = {}
    for line in lines:
        if line.kind == "parts" and line.supplier:
            sums[line.supplier] = sums.get(line.supplier, NOTHING) + line.cost
    terms = [counter.book.supplier(name) for name in sums]
    paid = [row for row in terms if row.freight and (row.free_from is None or sums[row.name] < row.free_from)]
    cost = sum((row.freight for row in paid), NOTHING)
    if not paid:
        return
    price = round_money(cost * (ONE + counter.book.header.markup.freight), counter.currency)
    words = f"Freight, {len(paid)} deliver{'y' if len(paid) == 1 else 'ies'}"
    made = _line(counter, job, "freight", FREIGHT, "freight", words, ONE, "job", price, cost)
    yield replace(made, why=", ".join(f"{row.freight} from {row.name}" for row in paid), place=paid[0].place)


def _core_lines(counter: Counter, bill: Bill, work: WorkList) -> Iterator[Line]:
    """A deposit on each part whose old piece does not go back with the job, be it bought apart or in a kit."""
    touched = work.touched
    for line in bill.lines:
        tasks = [touched[slot] for slot in line.slots if slot in touched]
        for part, amount in _deposits(counter, line).items():
            own = [task for task in tasks if task.fill.part.part == part]
            if amount and not (own and all(task.core_back for task in own)):
                name = f"Deposit: {counter.catalog.parts[part].name or part}"
                made = _line(counter, work.job, f"core/{part}", CORES, "core", name, ONE, "deposit", amount, amount)
                yield replace(_priced(made, line), part=part, why="back when the old piece returns unbroken")


def _deposits(counter: Counter, line: BillLine) -> dict[str, Decimal]:
    """The core charges of a line of a bill by part, rounded."""
    if line.kind != "kit":
        return {line.part: line.core_charge}
    found = kit_deposits(line.part, line.packs, counter.catalog, counter.buying, counter.on)
    return {part: round_money(amount, counter.currency) for part, amount in found.items()}


def _as_agreed(counter: Counter, line: Line, prices: Iterable[PriceRow]) -> Line:
    """A line at the price and discount that were agreed before, or that the request gives it."""
    held, row = counter.held.get(line.key), next((row for row in prices if row.line == line.key), None)
    if row is not None:
        agreed = _at(counter, line, line.price if row.price is None else row.price, row.discount)
        return replace(agreed, why=f"{line.why}; price by the request ({row.place})")
    if held is not None and held.unit == line.unit:
        agreed = _at(counter, line, held.price, held.discount)
        return replace(agreed, why=f"{line.why}; price as agreed before")
    return line


def _at(counter: Counter, line: Line, price: Decimal, discount: Decimal) -> Line:
    """A line at a price and a discount; the discount is rounded by itself (EN 16931)."""
    price = with_minor_digits(price, counter.currency)
    less = line.quantity * price * discount
    net = line_net(line.quantity, price, counter.currency, allowances=[less] if less else [])
    return replace(line, price=price, discount=discount, net=net)
