"""quote-*.toml: what a customer asks for, and what the shop says of it beyond its book."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping
from dataclasses import dataclass, field
from decimal import Decimal
from pathlib import Path
from typing import Annotated, Any, ClassVar, Literal, TypeVar

from pydantic import Field, field_validator, model_validator

from costplan.problems import NOWHERE, Place, Problem, Problems, nearest
from costplan.quote.fields import Portion
from costplan.quote.records import Basis
from costplan.quote.shop import BUILD
from costplan.reading import Document, Record, Setting, read_head, read_parts, read_toml
from costplan.reading.fields import Count, Day, Kind, Money, Name, Text, Words, YesNo, number_type, refuse
from costplan.season import CAR

R = TypeVar("R", bound=Record)
#: The way of a bad slot that gets a new part.
NEW = "new"
#: What the file of a request is called before its name, and what saved revisions are kept in.
BEFORE, SAVED = "quote-", "quotes"

Quantity = Annotated[
    Decimal,
    number_type(Decimal(-10_000), high=Decimal(10_000)),
    Kind("number; negative for a credit", form="number"),
]


class SuppliedRow(Record):
    """[[supplied]] of quote-*.toml"""

    KEY: ClassVar[str] = "slot"
    slot: Name = Field(description="slot that it goes into; the shop buys nothing for it")
    part: Text = Field(default="", description="part that it is; the build's where empty")
    whose: Literal["customer's", "used again"] = Field(
        default="customer's", description="customer's, or used again: out of the same engine"
    )
    condition: Name = Field(description="its condition as received, in words: crack-tested, journals at 1.9994 in")
    note: Text = Field(default="", description="what the customer may read of it beside that")


class OptionRow(Record):
    """[[option]] of quote-*.toml"""

    KEY: ClassVar[str] = "name"
    name: Name = Field(description="what it is called")
    says: Text = Field(default="", description="what the customer gets for it")
    slot: Text = Field(default="", description="slot that gets another part")
    part: Text = Field(default="", description="the part that it gets")
    work: Words = Field(default=(), description="work of work.csv that is done for it")
    take: YesNo = Field(default=False, description="whether the customer takes it")

    @model_validator(mode="after")
    def _of_something(self) -> OptionRow:
        if bool(self.slot) != bool(self.part):
            raise refuse("REA016", "half a change of part", "give slot and part", "part" if self.slot else "slot")
        if not self.slot and not self.work:
            raise refuse("REA016", "an option of nothing", "give slot and part, or work", "slot")
        return self


class ExtraRow(Record):
    """[[line]] of quote-*.toml"""

    KEY: ClassVar[str] = "name"
    name: Name = Field(description="what it is")
    heading: Name = Field(default="Other", description="heading that it stands under")
    kind: Literal["parts", "labour", "sublet", "supplies", "freight", "fees", "credit"] = Field(
        description="what it is of; mark-up is in its price, tax goes by it"
    )
    quantity: Quantity = Field(default=Decimal(1), description="how many; negative for a credit, such as a trade-in")
    unit: Name = Field(default="piece", description="of what: piece, h, lb")
    price: Money = Field(description="price of one, before tax; a credit has a negative quantity")
    cost: Money = Field(default=Decimal(0), description="what one costs the shop")
    discount: Portion = Field(default=Decimal(0), description="taken off it: 10 %")

    @field_validator("quantity")
    @classmethod
    def _some(cls, value: Decimal) -> Decimal:
        if not value:
            raise refuse("REA018", "zero:", "give how many, or take the line out")
        return value


class PriceRow(Record):
    """[[price]] of quote-*.toml"""

    KEY: ClassVar[str] = "line"
    line: Name = Field(description="line of the quote, by the key that the shop's page shows: part/SP-1, work/assembly")
    price: Money | None = Field(default=None, description="price of one, in place of the worked out one")
    discount: Portion = Field(default=Decimal(0), description="taken off it: 10 %")

    @model_validator(mode="after")
    def _of_something(self) -> PriceRow:
        if self.price is None and not self.discount:
            raise refuse("REA016", "neither price nor discount", "give one of them, or both", "price")
        return self


class Request(Record):
    """quote-*.toml"""

    number: Name = Field(description="the quote's number, once in the shop")
    title: Name = Field(description="what it is for, in words")
    customer: Name = Field(description="who asks")
    address: tuple[Name, ...] = Field(default=(), description="lines of their address")
    date: Day | None = Field(default=None, description="day of the quote and of its prices; today where empty")
    basis: Basis = Field(default="estimate", description="fixed: the price holds whatever tear-down shows; or estimate")
    engine: Text = Field(default="", description="engine of the garage that is worked on; empty: a new one is built")
    level: Text = Field(default="", description="service level that is asked for")
    before: Text = Field(
        default="",
        description="event or service row before which the work is done; empty: the plan's next of the level",
    )
    without: Words = Field(default=(), description="slots that a new engine comes without")
    renew: Words = Field(default=(), description="slots renewed beyond what the level and the plan renew")
    keep: Words = Field(default=(), description="slots left as they are though the plan would renew them")
    broken: Words = Field(default=(), description="slots whose parts are broken")
    pieces: dict[str, Count] = Field(
        default={}, description="pieces of a set that are renewed, where not all: { rockers = 2 }"
    )
    case: Text = Field(default="", description="case of damage.csv that happened, with of")
    of: Text = Field(default="", description="slot or hazard whose case it is")
    bad: Words = Field(
        default=(),
        description="slots that tear-down showed to be bad: crank by its next step, crank=grind-010, crank=new",
    )
    torn_down: YesNo = Field(
        default=False, description="whether the engine is torn down and all of it seen: nothing is left to chance then"
    )
    work: Words = Field(default=(), description="work of work.csv that is asked for")
    discount: Portion = Field(default=Decimal(0), description="taken off all but cores and credits: 2 %")
    excluded: tuple[Name, ...] = Field(default=(), description="what it does not include")
    notes: tuple[Name, ...] = Field(default=(), description="what the customer should know")
    supplied: tuple[Any, ...] = Field(default=(), description="pieces that are not sold, each [[supplied]]")
    option: tuple[Any, ...] = Field(default=(), description="options, each [[option]]")
    line: tuple[Any, ...] = Field(default=(), description="further lines, each [[line]]")
    price: tuple[Any, ...] = Field(default=(), description="prices and discounts of single lines, each [[price]]")

    @model_validator(mode="after")
    def _job(self) -> Request:
        if bool(self.engine) != bool(self.level):
            field = "level" if self.engine else "engine"
            raise refuse("REA016", "half a service", "give engine and level, or neither for a new engine", field)
        if bool(self.case) != bool(self.of):
            raise refuse("REA016", "half a case", "give case and of", "of" if self.case else "case")
        for name in ("before", "renew", "keep", "broken", "pieces", "case"):
            if not self.engine and getattr(self, name):
                raise refuse("QUO006", "no word for a new engine:", "give engine and level, or take it out", name)
        if self.engine and self.without:
            raise refuse("QUO006", "no word for a service:", "name them in keep", "without")
        return self

    @property
    def job(self) -> str:
        """What is done: a service level, or the word for a new engine."""
        return self.level or BUILD


@dataclass(frozen=True, slots=True)
class Asked:
    """A request read whole: its head and its tables. `name`: that of its file, without `quote-`.

    `places`: where each key of its head stands, '' for the file; they are not kept with a saved revision.
    """

    name: str
    head: Request
    supplied: tuple[SuppliedRow, ...]
    options: tuple[OptionRow, ...]
    extras: tuple[ExtraRow, ...]
    prices: tuple[PriceRow, ...]
    places: Annotated[Mapping[str, Place], Field(exclude=True)] = field(default_factory=dict, compare=False)

    def place(self, key: str) -> Place:
        """Where a key of its head stands, or its file."""
        return self.places.get(key, self.places.get("", NOWHERE))

    def kept_in(self, place: Place) -> Asked:
        """It, as read from the file of a saved revision: all of it stands there."""

        def moved(rows: tuple[R, ...]) -> tuple[R, ...]:
            return tuple(row.model_copy(update={"place": place}) for row in rows)

        tables = (moved(self.supplied), moved(self.options), moved(self.extras), moved(self.prices))
        return Asked(self.name, self.head, *tables, {"": place})


@dataclass(frozen=True, slots=True)
class Names:
    """What a request may name: slots and parts with their roles, levels with their carriers, and the rest by name."""

    engines: Collection[str]
    levels: Mapping[str, str]
    events: Collection[str]
    slots: Mapping[str, str]
    parts: Mapping[str, str]
    work: Collection[str]
    cases: Collection[tuple[str, str]]


def requests_in(folder: Path) -> tuple[str, ...]:
    """The names of the requests in a scenario's folder."""
    return tuple(sorted(path.stem.removeprefix(BEFORE) for path in folder.glob(f"{BEFORE}*.toml")))


def read_request(
    folder: Path, name: str, names: Names, settings: tuple[Setting, ...] = ()
) -> tuple[Asked | None, tuple[Problem, ...]]:
    """A request by its name, with all its problems; None where it cannot be used."""
    path = folder / f"{BEFORE}{name}.toml"
    document, faults = read_toml(path, path.stem, settings)
    problems = Problems(list(faults))
    if document is None:
        return None, tuple(problems.found)
    head, faults = read_head(document, Request, number="?", title="?", customer="?")
    problems.extend(faults)
    supplied = _rows(document, "supplied", SuppliedRow, problems)
    options = _rows(document, "option", OptionRow, problems)
    extras = _rows(document, "line", ExtraRow, problems)
    prices = _rows(document, "price", PriceRow, problems)
    if head is None:
        return None, tuple(problems.found)
    head = head.model_copy(update={"supplied": (), "option": (), "line": (), "price": ()})
    places = {"": Place(document.file), **{key: document.place((key,)) for key in document.values}}
    asked = Asked(name, head, supplied, options, extras, prices, places)
    problems.extend(check_names(asked, names))
    return (None if problems else asked), tuple(problems.found)


def _rows(document: Document, key: str, record: type[R], problems: Problems) -> tuple[R, ...]:
    rows, faults = read_parts(document, key, record)
    problems.extend(faults)
    return rows


def bad_slot(word: str) -> tuple[str, str]:
    """What `bad` names: a slot, and the way it is put right: '' by its next step, a step's operation, or a new part.

    >>> bad_slot("crank"), bad_slot("crank=grind-010"), bad_slot("rods=new")
    (('crank', ''), ('crank', 'grind-010'), ('rods', 'new'))
    """
    slot, _, way = word.partition("=")
    return slot, way


def check_names(asked: Asked, names: Names) -> Iterator[Problem]:
    """Names that lead nowhere."""
    head = asked.head
    for key, name, known in _named(head, names):
        if name not in known:
            advice = nearest(name, known)
            yield Problem("QUO005", asked.place(key), key, name, "an unknown name:", advice)
    if head.case and (head.of, head.case) not in names.cases:
        cases = [case for of, case in names.cases if of == head.of]
        yield Problem(
            "QUO005", asked.place("case"), "case", head.case, f"no case of {head.of}:", nearest(head.case, cases)
        )
    for row in asked.supplied:
        yield from _placed(row.place, row.slot, row.part, names)
    for option in asked.options:
        if option.slot:
            yield from _placed(option.place, option.slot, option.part, names)
        for work in option.work:
            if work not in names.work:
                yield Problem("QUO005", option.place, "work", work, "an unknown name:", nearest(work, names.work))


def _named(head: Request, names: Names) -> Iterator[tuple[str, str, Collection[str]]]:
    if head.engine:
        yield "engine", head.engine, names.engines
        carrier = CAR if head.engine == CAR else "engine"
        yield "level", head.level, [level for level, its in names.levels.items() if its == carrier]
    if head.before:
        yield "before", head.before, names.events
    for key in ("without", "renew", "keep", "broken"):
        yield from ((key, slot, names.slots) for slot in getattr(head, key))
    yield from (("pieces", slot, names.slots) for slot in head.pieces)
    yield from (("bad", bad_slot(word)[0], names.slots) for word in head.bad)
    yield from (("work", work, names.work) for work in head.work)


def _placed(place: Place, slot: str, part: str, names: Names) -> Iterator[Problem]:
    """What is wrong with a part in a slot."""
    role = names.slots.get(slot)
    if role is None:
        yield Problem("QUO005", place, "slot", slot, "an unknown slot:", nearest(slot, names.slots))
    elif part and part not in names.parts:
        yield Problem("QUO005", place, "part", part, "an unknown part:", nearest(part, names.parts))
    elif part and names.parts[part] != role:
        fitting = [name for name, its in names.parts.items() if its == role]
        yield Problem("QUO005", place, "part", part, f"no {role}:", nearest(part, fitting))
