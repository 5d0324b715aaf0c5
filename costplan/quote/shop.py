"""The shop book: shop.toml (rates, mark-up, tax, terms) and work.csv (what the shop does, when, in how many hours)."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator, Mapping
from dataclasses import dataclass
from decimal import Decimal
from pathlib import Path
from typing import Annotated, Any, ClassVar, Literal, TypeVar

from pydantic import BeforeValidator, Field, field_validator, model_validator

from costplan.build.pattern import to_quantity
from costplan.problems import Place, Problem, Problems, nearest
from costplan.quantity import dimension
from costplan.quote.fields import MarginShare, OnTop, Portion
from costplan.quote.records import KINDS, Kind
from costplan.quote.totals import Tax
from costplan.reading import (
    Document,
    Record,
    Setting,
    is_there,
    read_head,
    read_parts,
    read_records,
    read_table,
    read_toml,
    shown,
)
from costplan.reading.fields import (
    Count,
    Day,
    Money,
    Name,
    NotNegative,
    Text,
    Whole,
    Words,
    YesNo,
    number_type,
    refuse,
    units_of,
)
from costplan.reading.fields import Kind as Form
from costplan.season.records import Chance

R = TypeVar("R", bound=Record)
#: The word for a job that is no service: a whole new engine.
BUILD = "build"
#: Categories of UNCL 5305 that stand for a rate above zero, or for one that may be (Canary Islands, Ceuta and Melilla).
TAXED, MAY_BE_TAXED = ("S",), ("L", "M")

Hours = Annotated[Decimal, number_type(Decimal(0), high=Decimal(10_000)), Form("hours, 0 or more", form="number")]
Limit = Annotated[Any, BeforeValidator(to_quantity), Form("number with its unit: 0.004 in")]


class LabourRate(Record):
    """[[labour]] of shop.toml"""

    KEY: ClassVar[str] = "name"
    name: Name = Field(description="what the rate is for: bench, machine, dyno")
    per_hour: Money = Field(description="what the customer pays for an hour, before tax")
    cost_per_hour: Money = Field(
        description="what an hour costs the shop: wage, its burden, and the overhead that you want it to carry"
    )


class TaxRow(Record):
    """[[tax]] of shop.toml"""

    KEY: ClassVar[str] = "name"
    name: Name = Field(description="what it is called: goods, repair labour")
    kinds: Words = Field(description=f"kinds of lines it is for: {' '.join(KINDS)}")
    percent: OnTop = Field(description="its rate: 6.5 %; 0 where none is due")
    code: Literal["S", "Z", "E", "AE", "K", "G", "O", "L", "M"] = Field(
        default="S", description="category by UNCL 5305: S taxed, Z at zero, E exempt, O outside the scope of tax"
    )
    jobs: Words = Field(
        default=(),
        description=f"only for these jobs, service levels or '{BUILD}'; the first row that fits a line holds",
    )
    note: Text = Field(default="", description="why it is so, in words for the customer")

    @model_validator(mode="after")
    def _as_its_code(self) -> TaxRow:
        if self.code in TAXED and not self.percent:
            raise refuse("QUO002", "a standard rate of nothing:", "give its percent, or code Z, E or O", "percent")
        if self.code not in (*TAXED, *MAY_BE_TAXED) and self.percent:
            raise refuse("QUO002", f"a rate under code {self.code}, which has none:", "give 0, or code S", "percent")
        return self

    @field_validator("kinds")
    @classmethod
    def _known(cls, value: tuple[str, ...]) -> tuple[str, ...]:
        for kind in value:
            if kind not in KINDS:
                raise refuse("REA020", f"no kind of line, '{kind}':", nearest(kind, KINDS))
        return value

    @property
    def tax(self) -> Tax:
        return Tax(self.code, (self.percent * 100).normalize() + 0)


class SupplierTerms(Record):
    """[[supplier]] of shop.toml"""

    KEY: ClassVar[str] = "name"
    name: Name = Field(description="a supplier of the catalogs")
    discount: Portion = Field(default=Decimal(0), description="the shop's discount on its list prices: 12 %")
    freight: Money = Field(default=Decimal(0), description="what one delivery costs the shop")
    free_from: Money | None = Field(default=None, description="sum of an order from which it delivers free")


class AllowanceRow(Record):
    """[[allowance]] of shop.toml"""

    slot: Name = Field(
        description="slot whose part tear-down may show to be bad; of several rows the first that fits the job holds"
    )
    chance: Chance = Field(description="chance of it, in place of the one that follows from its assumed life")
    way: Text = Field(
        default="",
        description="how it is likely put right: a step of its path, or new; its next step where empty or that one is "
        "done; in a new engine it is new",
    )
    jobs: Words = Field(default=(), description=f"only in these jobs, service levels or '{BUILD}'; in any where empty")
    source: Text = Field(default="", description="whose word it is, and how many jobs it rests on; else assumed")


class TermRow(Record):
    """[[term]] of shop.toml"""

    KEY: ClassVar[str] = "heading"
    heading: Name = Field(description="a word or two: Warranty, Old parts")
    says: Name = Field(description="the term, in the shop's own words")


class Charges(Record):
    """[charges] of shop.toml"""

    storage_a_day: Money = Field(default=Decimal(0), description="storage of what is finished and not fetched")
    storage_after_days: Whole = Field(default=30, description="days after it is ready from which storage runs")
    restocking: Portion = Field(default=Decimal(0), description="share kept of parts that are taken back")
    late_a_month: Portion = Field(default=Decimal(0), description="interest a month on what is overdue: 1.5 %")
    late_after_days: Whole = Field(default=0, description="days after it is ready from which the balance is overdue")


class Markup(Record):
    """[markup] of shop.toml"""

    parts: OnTop = Field(description="on parts and kits, as bought: 25 %")
    sublet: OnTop = Field(default=Decimal(0), description="on work done elsewhere")
    supplies: OnTop = Field(default=Decimal(0), description="on supplies with a cost in work.csv")
    freight: OnTop = Field(default=Decimal(0), description="on freight")
    fees: OnTop = Field(default=Decimal(0), description="on fees that the shop lays out")

    def on(self, kind: Kind) -> Decimal:
        """What is put on the cost of a kind of line; nothing on labour, cores and credits."""
        return getattr(self, kind) if kind in type(self).model_fields else Decimal(0)


class ShopHeader(Record):
    """shop.toml"""

    shop: Name = Field(description="who quotes; where levels.csv and suppliers.csv name it, by the same name")
    address: tuple[Name, ...] = Field(default=(), description="lines of its address, as on a letter")
    invented: YesNo = Field(default=False, description="whether its data is made up, as in a demo")
    note: Text = Field(default="", description="what a reader should know of it")
    currency: Text = Field(default="", description="the currency of its rates, the scenario's; to be sure of it")
    rates_date: Day | None = Field(default=None, description="day its rates were set; old ones are marked")
    deposit: Portion | None = Field(
        default=None, description="share that is due with the order; as suppliers.csv has it where empty"
    )
    deposit_of: Literal["total", "parts"] = Field(default="total", description="what the share is of, both with tax")
    valid_days: Count = Field(default=30, description="days a quote is valid")
    target: MarginShare = Field(description="margin that the shop wants on what it sells: 30 %")
    supplies: OnTop = Field(default=Decimal(0), description="shop supplies, as a share of labour: 4 %")
    queue_days: Whole | None = Field(
        default=None, description="days until the bench is free; as suppliers.csv has it where empty"
    )
    hours_a_day: NotNegative = Field(default=8, description="hours of one job that the bench does in a day")
    workdays: Literal[5, 6, 7] = Field(default=5, description="days of a week on which it works, from Monday on")
    core_days: Whole = Field(default=60, description="days in which an old piece must be back for its deposit")
    excluded: tuple[Name, ...] = Field(default=(), description="what no quote of the shop includes")
    markup: Markup = Field(description="what is put on the cost, by kind of line: [markup]")
    charges: Charges = Field(default=Charges(), description="what is charged when something goes on too long")
    labour: tuple[Any, ...] = Field(default=(), description="labour rates, each [[labour]]")
    tax: tuple[Any, ...] = Field(default=(), description="tax by kind of line, each [[tax]]")
    supplier: tuple[Any, ...] = Field(default=(), description="terms of suppliers, each [[supplier]]")
    allowance: tuple[Any, ...] = Field(default=(), description="chances of what tear-down shows, each [[allowance]]")
    term: tuple[Any, ...] = Field(default=(), description="further terms, each [[term]]")

    @field_validator("hours_a_day")
    @classmethod
    def _some(cls, value: float) -> float:
        if not value:
            raise refuse("REA018", "no hours in a day:", "give the hours that a job gets on the bench in a day")
        return value


class Work(Record):
    """work.csv"""

    KEY: ClassVar[str] = "work"
    work: Name = Field(description="name of the operation, without blanks: assembly")
    name: Text = Field(default="", description="what is done, in words for the customer")
    heading: Name = Field(default="Work", description="heading of the quote that it stands under: Assembly, Dyno")
    kind: Literal["labour", "sublet", "supplies", "fees"] = Field(
        default="labour", description="labour; sub-let: done elsewhere; supplies; fees: seals, certificates"
    )
    rate: Text = Field(default="", description="labour rate of shop.toml; the first of it where empty")
    hours: Hours = Field(default=Decimal(0), description="hours for each job, or for each piece")
    price: Money | None = Field(
        default=None, description="price for each; empty: by hours and rate, or cost and mark-up"
    )
    cost: Money | None = Field(default=None, description="what it costs the shop for each; empty: by hours and rate")
    per: Literal["job", "piece"] = Field(
        default="job", description="job, or piece: for each piece of the slots or the operation it is done to"
    )
    supplier: Text = Field(default="", description="who does it, for what is sub-let")
    jobs: Words = Field(default=(), description=f"jobs it belongs to: service levels, or '{BUILD}'; any where empty")
    slots: Words = Field(default=(), description="done where one of these slots gets a new part or is machined")
    operations: Words = Field(
        default=(),
        description="operations of the catalog that it is: the shop does them at this price, not the catalog's",
    )
    measure: Text = Field(default="", description="measure of the engine that decides, with below or above")
    below: Limit = Field(default=None, description="done where the measure is below this: 0.004 in")
    above: Limit = Field(default=None, description="done where the measure is above this")
    asked: YesNo = Field(default=False, description="done only where a quote asks for it")
    if_stopped: YesNo = Field(default=False, description="charged even where the job stops after tear-down")
    price_date: Day | None = Field(default=None, description="day its price or cost was given, for what is sub-let")
    source: Text = Field(default="", description="whose word the hours are, and how many jobs they rest on")
    note: Text = Field(default="", description="anything worth keeping")

    @model_validator(mode="after")
    def _whole(self) -> Work:
        if " " in self.work:
            raise refuse("REA017", "a name with a blank:", "join its words with '-'", "work")
        if not self.hours and self.price is None and self.cost is None:
            raise refuse("QUO003", "work without hours, price and cost", "give one of them", "hours")
        if self.kind == "labour" and not self.hours and self.cost is None:
            raise refuse("QUO003", "labour without hours", "give hours, or its cost beside the price", "hours")
        if bool(self.measure) != (self.below is not None or self.above is not None):
            raise refuse("QUO003", "half a condition", "give measure, and below or above", "measure")
        if self.per == "piece" and not self.slots and not self.operations:
            raise refuse("QUO003", "pieces of what?", "name slots or operations, or give job", "per")
        return self

    @property
    def title(self) -> str:
        return self.name or self.work


@dataclass(frozen=True, slots=True)
class ShopBook:
    """A shop's book, read whole. `place` is that of shop.toml."""

    header: ShopHeader
    labour: tuple[LabourRate, ...]
    taxes: tuple[TaxRow, ...]
    suppliers: tuple[SupplierTerms, ...]
    allowances: tuple[AllowanceRow, ...]
    terms: tuple[TermRow, ...]
    work: tuple[Work, ...]
    place: Place

    def rate(self, name: str) -> LabourRate:
        """The labour rate of a name, the first of all where none is named."""
        return next(row for row in self.labour if not name or row.name == name)

    def tax_row(self, kind: Kind, job: str) -> TaxRow:
        """How a kind of line is taxed in a job: the first row that fits."""
        return next(row for row in self.taxes if kind in row.kinds and (not row.jobs or job in row.jobs))

    def supplier(self, name: str) -> SupplierTerms:
        """The shop's terms with a supplier; one without a row gives no discount and asks no freight."""
        return next((row for row in self.suppliers if row.name == name), SupplierTerms(name=name))


@dataclass(frozen=True, slots=True)
class Known:
    """The names that a shop book may speak of; `measures`: what each measures, by name."""

    currency: str
    levels: Collection[str]
    slots: Collection[str]
    operations: Collection[str]
    suppliers: Collection[str]
    measures: Mapping[str, str]


def read_shop(
    folder: Path, known: Known, settings: tuple[Setting, ...] = ()
) -> tuple[ShopBook | None, tuple[Problem, ...]]:
    """shop.toml and work.csv of a scenario's folder, with all their problems; None where they cannot be used."""
    problems = Problems()
    missing = [name for name in ("shop.toml", "work.csv") if not is_there(folder / name)]
    if missing:
        advice = f"write {' and '.join(missing)}; `costplan new FOLDER` writes both to start from"
        problems.add("QUO013", Place(shown(folder / missing[0])), "", "", "a quote needs the shop's book", advice)
        return None, tuple(problems.found)
    document, faults = read_toml(folder / "shop.toml", "shop", settings)
    problems.extend(faults)
    work = _read_work(folder / "work.csv", settings, problems)
    if document is None:
        return None, tuple(problems.found)
    book = _read_book(document, work, problems)
    if book is not None and not problems:
        _check(book, known, document, problems)
    return (None if problems else book), tuple(problems.found)


def _read_work(path: Path, settings: tuple[Setting, ...], problems: Problems) -> tuple[Work, ...]:
    table, faults = read_table(path, "work")
    if table is None:
        problems.extend(faults)
        return ()
    rows, more = read_records(table, Work, settings)
    problems.extend(_told_once((*faults, *more), table.place))
    return rows


def _told_once(faults: Iterable[Problem], header: Place) -> Iterator[Problem]:
    """Problems but those of work that lacks what a heading or a cell at fault would have given."""
    found = list(faults)
    at_fault = {fault.place for fault in found if fault.code != "QUO003"}
    for fault in found:
        if fault.code != "QUO003" or not at_fault & {header, fault.place}:
            yield fault


def _read_book(document: Document, work: tuple[Work, ...], problems: Problems) -> ShopBook | None:
    header, faults = read_head(document, ShopHeader, shop="?")
    problems.extend(faults)
    labour = _rows(document, "labour", LabourRate, problems)
    taxes = _rows(document, "tax", TaxRow, problems)
    suppliers = _rows(document, "supplier", SupplierTerms, problems)
    allowances = _rows(document, "allowance", AllowanceRow, problems)
    terms = _rows(document, "term", TermRow, problems)
    if header is None:
        return None
    return ShopBook(header, labour, taxes, suppliers, allowances, terms, work, Place(document.file))


def _rows(document: Document, key: str, record: type[R], problems: Problems) -> tuple[R, ...]:
    rows, faults = read_parts(document, key, record)
    problems.extend(faults)
    return rows


def _check(book: ShopBook, known: Known, document: Document, problems: Problems) -> None:
    """What only shows beside the rest: names that lead nowhere, kinds of line without tax, another currency."""
    header = book.header
    if header.currency and header.currency != known.currency:
        what, advice = "not the scenario's currency:", f"quote in {known.currency}; give the rates in it"
        problems.add("QUO004", document.place(("currency",)), "currency", header.currency, what, advice)
    if not book.labour:
        advice = "give a table [[labour]] with name, per_hour and cost_per_hour"
        problems.add("QUO001", book.place, "labour", "", "no labour rate", advice)
    for kind in KINDS:
        if not any(kind in row.kinds and not row.jobs for row in book.taxes):
            advice = 'name it in the kinds of a [[tax]] that holds for all jobs, percent = 0 and code = "O" for none'
            problems.add("QUO001", book.place, "tax", kind, "nothing says how this kind of line is taxed:", advice)
    _check_bounds(book.work, known.measures, problems)
    for place, field, name, names, code in _names(book, known):
        if name not in names:
            problems.add(code, place, field, name, f"an unknown {field.removesuffix('s')}:", nearest(name, names))


def _check_bounds(work: Iterable[Work], measures: Mapping[str, str], problems: Problems) -> None:
    """Bounds are in a unit of what the measure measures."""
    for row in work:
        for field, bound in (("below", row.below), ("above", row.above)):
            what = measures.get(row.measure)
            if bound is not None and what is not None and dimension(bound.unit) != what:
                advice = f"give it as {bound.value:g} {units_of(what)[0]}" if what != "number" else "give a bare number"
                problems.add("REA021", row.place, field, bound, f"no unit of {what}:", advice)


def _names(book: ShopBook, known: Known) -> Iterator[tuple[Place, str, str, Collection[str], str]]:
    """Every name in the book that stands for something elsewhere: place, column, name, what there is, code."""
    jobs, rates = (*known.levels, BUILD), [row.name for row in book.labour]
    named: list[tuple[Place, tuple[str, ...]]] = [(row.place, row.jobs) for row in book.taxes]
    named += [(row.place, row.jobs) for row in book.allowances]
    named += [(row.place, row.jobs) for row in book.work]
    for place, found in named:
        yield from ((place, "jobs", name, jobs, "QUO005") for name in found)
    for supplier in book.suppliers:
        yield supplier.place, "name", supplier.name, known.suppliers, "QUO005"
    for allowance in book.allowances:
        yield allowance.place, "slot", allowance.slot, known.slots, "QUO005"
    for work in book.work:
        yield from ((work.place, "slots", name, known.slots, "QUO005") for name in work.slots)
        yield from ((work.place, "operations", name, known.operations, "QUO005") for name in work.operations)
        if work.measure:
            yield work.place, "measure", work.measure, known.measures, "QUO005"
        if work.rate and rates:
            yield work.place, "rate", work.rate, rates, "QUO001"
