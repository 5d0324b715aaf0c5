"""An engine pattern lists slots, inputs of measures and fits between slots; a build fills the slots."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from decimal import Decimal
from typing import Annotated, Any, ClassVar, Literal

from pydantic import BeforeValidator, Field, field_validator

from costplan.build.measures import COUNT, MADE, PRICE
from costplan.catalog import Operation, Part
from costplan.formulas.airflow import HEAT_OF_AIR
from costplan.garage import Bench
from costplan.problems import Place
from costplan.quantity import UNITS, Quantity, nearest_unit
from costplan.reading import Record
from costplan.reading.fields import (
    Count,
    Kind,
    Name,
    Share,
    Text,
    Words,
    YesNo,
    number_and_unit,
    number_type,
    refuse,
    to_decimal,
    to_name,
)


class Slot(Record):
    """[[slot]] of pattern.toml"""

    KEY: ClassVar[str] = "slot"
    slot: Name = Field(description="name of the place in the engine, without blanks: intake-spring")
    role: Name = Field(description="role that a part here must have")
    quantity: Count = Field(default=1, description="pieces")
    optional: YesNo = Field(default=False, description="whether the engine runs without it")
    weighed: YesNo = Field(default=True, description="whether it counts in the engine's mass")

    @field_validator("slot")
    @classmethod
    def _one_word(cls, value: str) -> str:
        if any(mark in value for mark in " ./"):
            raise refuse("REA017", "a slot's name with a blank, point or stroke:", "join its words with '-'")
        if value == COUNT:
            raise refuse("REA017", "a slot with the name of a measure:", f"{COUNT}.role counts pieces; give another")
        if value == MADE:
            advice = f"{MADE}.slot.attribute is a part as made; give another"
            raise refuse("REA017", "a slot with the name of a word for parts:", advice)
        if value == PRICE:
            advice = f"{PRICE}.slot is what a part costs; give another"
            raise refuse("REA017", "a slot with the name of a word for parts:", advice)
        return value


def to_quantity(value: Any) -> Quantity:
    """A bare number, or number and unit in quotes."""
    number, unit = number_and_unit(value)
    if unit and unit not in UNITS:
        raise refuse("REA021", "an unknown unit:", nearest_unit(unit, UNITS))
    return Quantity(float(to_decimal(number)), unit or "1")


def to_margin(value: Any) -> Quantity:
    """How far two values may be apart."""
    margin = to_quantity(value)
    if margin.value < 0:
        raise refuse("REA018", "negative number:", "give 0 or more")
    return margin


def to_side(value: Any) -> Quantity | str:
    """What a fit compares with: a quantity, or the name of something."""
    if isinstance(value, str) and not value.strip().lstrip("+-.")[:1].isdigit():
        return to_name(value)
    return to_quantity(value)


class Fit(Record):
    """[[fit]] of pattern.toml"""

    KEY: ClassVar[str] = "fit"
    fit: Name = Field(description="name of the fit: piston in bore")
    this: Name = Field(description="slot.attribute (pistons.bore), a measure, or count.role")
    must: Literal["equal", "at least", "at most", "one of"] = Field(
        description="what it must be; a word: equal, or one of the words of `that`, parted by commas, else by blanks"
    )
    that: Annotated[Any, BeforeValidator(to_side), Kind("name, or number with its unit in quotes")] = Field(
        description='what it is compared with: slot.attribute, a measure, count.role, or a quantity: "0.060 in"'
    )
    within: Annotated[Any, BeforeValidator(to_margin), Kind("number, its unit in quotes")] = Field(
        default=None, description='equal: how far they may be apart: "0.006 in"; not at all where empty'
    )
    plus: Annotated[Any, BeforeValidator(to_quantity), Kind("number, its unit in quotes")] = Field(
        default=None, description="at least, at most: what is added to `that`; may be negative"
    )
    why: Text = Field(default="", description="what it is for, in words")


Full = Annotated[
    float, number_type(Decimal("0.1"), high=Decimal(2), kept_as=float), Kind("number, 0.1 to 2: 0.95", form="number")
]
HeatRatio = Annotated[
    float,
    number_type(Decimal(1), open_low=True, high=Decimal("1.67"), kept_as=float),
    Kind("number above 1, at most 1.67", form="number"),
]
_QUANTITY = Kind("number with its unit in quotes")


class Airflow(Record):
    """[airflow] of pattern.toml"""

    ports: Name = Field(
        description="slot whose part has the intake ports of a four-stroke engine: flow.csv has its flow by lift"
    )
    shared: tuple[Name, ...] = Field(
        default=(),
        description="slots with one opening that all cylinders share: carburetor, spacer; an empty one is none",
    )
    each: tuple[Name, ...] = Field(default=(), description="slots with an opening for each cylinder: manifold")
    duration: Annotated[Any, BeforeValidator(to_side), Kind("slot.attribute, or number with its unit in quotes")] = (
        Field(description="how long the cam holds the intake valve open, degrees of the crank; its slot is the cam's")
    )
    duration_lift: Annotated[Any, BeforeValidator(to_margin), _QUANTITY] = Field(
        default=Quantity(0.05, "in"), description="rise of the lobe above which the duration is stated"
    )
    limiter: Text = Field(default="", description="slot whose part may cut out below the red line, by its rpm_limit")
    fuel: Name = Field(default="gasoline", description=f"one of: {', '.join(HEAT_OF_AIR)}; or slot.attribute")
    heat: Annotated[Any, BeforeValidator(to_margin), _QUANTITY] = Field(
        default=None, description='heat for each kg of air: "3.0 MJ/kg"; by the fuel where it is not given'
    )
    full: Full = Field(default=0.95, description="volumetric efficiency at low speed")
    otto_share: Share = Field(
        default=0.75, description="indicated efficiency, as a share of the ideal constant-volume cycle's"
    )
    heat_ratio: HeatRatio = Field(default=1.35, description="ratio of the gas's specific heats in that cycle")
    error: Share = Field(default=0.1, description="error of the estimate either way while no dyno sheet sets it")
    standard: Literal["SAE J1349", "SAE J607", "ISO 1585"] = Field(
        default="SAE J1349", description="standard whose air the estimate is for, and dyno figures are brought to"
    )
    unit: Literal["kW", "hp", "PS"] = Field(default="kW", description="unit in which power is shown")
    source: Text = Field(default="", description="whose word these figures are; without one they count as assumed")


class PatternHeader(Record):
    """pattern.toml"""

    name: Name = Field(description="name of the engine pattern")
    note: Text = Field(default="", description="what a reader should know of it")
    inputs: dict[str, Any] = Field(
        default={}, description="inputs of the measures: a number (with its unit in quotes) or slot.attribute"
    )
    units: dict[str, Name] = Field(
        default={}, description='units in which measures are shown: {displacement = "in3"}; else their own'
    )
    limiter: Text = Field(
        default="", description="slot whose part may cut out, by its rpm_limit; that of [airflow] where empty"
    )
    slot: tuple[Any, ...] = Field(default=(), description="the slots, each a table [[slot]]")
    fit: tuple[Any, ...] = Field(default=(), description="what must go together, each a table [[fit]]")
    airflow: Any = Field(default=None, description="how it draws air, for an estimate of its power; a table [airflow]")


@dataclass(frozen=True, slots=True)
class Reference:
    """An input that is an attribute of the part in a slot."""

    slot: str
    attribute: str


@dataclass(frozen=True, slots=True)
class Pattern:
    """An engine's slots by name, and its inputs: each a quantity or a reference, with the place it is written.

    `attributes`: the attributes that parts may have, with what each measures; `words` those that are words, `roles` the
    roles of the catalogs. `limiter`: the slot whose part may cut out; '' where none does.
    """

    name: str
    slots: Mapping[str, Slot]
    inputs: Mapping[str, tuple[Quantity | Reference, Place]]
    file: str = ""
    attributes: Mapping[str, str] = field(default_factory=dict)
    units: Mapping[str, str] = field(default_factory=dict)
    words: frozenset[str] = frozenset()
    roles: frozenset[str] = frozenset()
    fits: tuple[Fit, ...] = ()
    airflow: Airflow | None = None
    limiter: str = ""


class Line(Record):
    """build.csv"""

    KEY: ClassVar[str] = "slot"
    REPEATED: ClassVar[str] = "BLD009"
    slot: Name = Field(description="slot of the engine pattern; several rows may be its alternates")
    part: Name = Field(description="part that fills it")
    operations: Words = Field(default=(), description="what a shop does to the parts, of operations.csv")
    kit: Text = Field(default="", description="kit that the part comes in, of kits.csv")
    alternate: Text = Field(default="", description="name of this part among several that take turns in the slot")
    serves: Words = Field(default=(), description="when an alternate is in; empty in the one that is in else")
    note: Text = Field(default="", description="anything worth keeping")


@dataclass(frozen=True, slots=True)
class Fill:
    """A filled slot: the part in it and the row of the build that says so.

    `operations` are planned; `steps` are those of service steps that a piece in the garage has been through.
    """

    slot: Slot
    part: Part
    place: Place
    operations: tuple[Operation, ...] = ()
    kit: str = ""
    steps: tuple[Operation, ...] = ()

    @property
    def done(self) -> tuple[Operation, ...]:
        """All that changed the part, in turn."""
        return (*self.operations, *self.steps)


@dataclass(frozen=True, slots=True)
class Alternate:
    """One of several fills that take turns in a slot; `serves` is empty in the main one."""

    name: str
    serves: tuple[str, ...]
    fill: Fill


@dataclass(frozen=True, slots=True)
class Build:
    """An engine as planned, or as it stands: its pattern, what fills each slot, and what was measured on the bench.

    `alternates`: for each slot that several parts take turns in, all of them; the main one is in `fills` too.
    `outdated`: what was measured on parts that others have replaced since, and does not count.
    """

    pattern: Pattern
    fills: Mapping[str, Fill]
    alternates: Mapping[str, tuple[Alternate, ...]] = field(default_factory=dict)
    bench: tuple[Bench, ...] = ()
    outdated: tuple[Bench, ...] = ()

    def everything(self) -> tuple[Fill, ...]:
        """All that fills it, alternates of a slot too."""
        return tuple(alternate.fill for _, alternate in self.fitted())

    def fitted(self) -> tuple[tuple[str, Alternate], ...]:
        """Every slot that is filled with each of its alternates; one without a name where there are no others."""
        return tuple(
            (slot, alternate)
            for slot, fill in self.fills.items()
            for alternate in self.alternates.get(slot) or (Alternate("", (), fill),)
        )

    @property
    def steps_done(self) -> int:
        """The service steps that its pieces have been through."""
        return sum(len(fill.steps) for fill in self.fills.values())

    def part(self, slot: str) -> Part | None:
        return self.fills[slot].part if slot in self.fills else None

    def measured(self, slot: str, attribute: str) -> Bench | None:
        """What the bench says of an attribute of a slot's part, or of a measure or an input (slot '')."""
        return next((row for row in self.bench if (row.slot, row.attribute) == (slot, attribute)), None)
