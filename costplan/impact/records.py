"""The files of an impact study: the groups of the field, the survey of them, what can be supplied, and the study."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from typing import Annotated, Any, ClassVar, Literal

from pydantic import BeforeValidator, Field, ValidationInfo, field_validator, model_validator

from costplan.reading import Record
from costplan.reading.fields import (
    Count,
    Day,
    Kind,
    Money,
    Name,
    NotNegative,
    Text,
    Whole,
    YesNo,
    decimal_comma,
    number_type,
    refuse,
    to_decimal,
)
from costplan.season.records import Portion

#: No price rises to more than eleven times itself.
RISE_MOST = Decimal(10)


def to_fraction(value: Any, info: ValidationInfo) -> float:
    """A share of what was, 0 or more: `15 %` is read as 0.15."""
    percent = isinstance(value, str) and value.endswith("%")
    number = to_decimal(value.rstrip("% ") if percent else value, comma=decimal_comma(info))
    number = number / 100 if percent else number
    if not 0 <= number <= RISE_MOST:
        raise refuse("REA018", "not a rise:", "give 0.15 or 15 % for fifteen in a hundred more")
    return float(number)


Rise = Annotated[float, BeforeValidator(to_fraction), Kind("share, 0.15 or 15 %", form="number")]


def to_swaps(value: Any) -> dict[str, str]:
    """Parts by slot, as they stand in one cell: `springs=TV-S165P ignition-box=DW-IG70`."""
    found: dict[str, str] = {}
    for word in str(value).split():
        slot, sign, part = word.partition("=")
        if not (slot and sign and part):
            raise refuse("REA017", "not slot=part:", "write springs=TV-S165P, several with blanks between")
        if slot in found:
            raise refuse("REA023", f"two parts for {slot}:", "keep one")
        found[slot] = part
    return found


Swaps = Annotated[dict[str, str], BeforeValidator(to_swaps), Kind("slot=part, several with blanks between")]


class Group(Record):
    """field.csv"""

    KEY: ClassVar[str] = "group"
    group: Name = Field(description="name of the group, once in a field; no entrant is named anywhere")
    entrants: Count = Field(description="how many entrants it has")
    scenario: Text = Field(
        default="", description="folder of the scenario that its entrants are like, from this one's; this one if empty"
    )
    variant: Text = Field(default="", description="[[variant]] of that scenario that they are like")
    parts: Swaps = Field(default={}, description="parts that they have in some slots instead")
    calendar: Text = Field(
        default="", description="file of their calendar, in that scenario's folder, like calendar.csv"
    )
    age_low: Portion | None = Field(
        default=None,
        description="share of its renewal use that each thing on hand has run when the books open: it is drawn for "
        "each entrant and thing from age_low to age_high; as garage.csv has it where both are empty",
    )
    age_high: Portion | None = Field(default=None, description="the most of it")
    budget: Money = Field(default=Decimal(0), description="what one of them would spend on power, once, if it buys any")
    leaves_above: Money | None = Field(
        default=None, description="first-year cost of a change above which one of them stops racing: a stated guess"
    )
    joins: YesNo = Field(default=False, description="whether they are new: they own nothing and buy a whole engine")
    note: Text = Field(default="", description="what a reader should know of them")
    source: Text = Field(default="", description="whose word it is; without one it counts as assumed")

    @model_validator(mode="after")
    def _a_range(self) -> Group:
        if (self.age_low is None) != (self.age_high is None):
            missing = "age_low" if self.age_low is None else "age_high"
            raise refuse("IMP001", "half a range of ages", "give age_low and age_high, or neither", missing)
        if self.age_low is not None and self.age_high is not None and self.age_low > self.age_high:
            raise refuse("IMP001", "ages that end before they begin:", "give the lower one as age_low", "age_high")
        if self.joins and self.age_low is not None:
            raise refuse("IMP001", "ages of who owns nothing:", "leave them empty, or joins", "age_low")
        return self


#: What a survey may ask of a group, each a column of field.csv.
ASKED = ("entrants", "age", "budget", "leaves_above")


def to_figure(value: Any, info: ValidationInfo) -> Decimal:
    """A number, or a share with a percent sign."""
    percent = isinstance(value, str) and value.endswith("%")
    number = to_decimal(value.rstrip("% ") if percent else value, comma=decimal_comma(info))
    number = number / 100 if percent else number
    if number < 0:
        raise refuse("REA018", "negative number:", "give 0 or more")
    return number


Figure = Annotated[Decimal, BeforeValidator(to_figure), Kind("number, or share as 0.4 or 40 %", form="number")]


class Told(Record):
    """survey.csv"""

    group: Name = Field(description="group of field.csv")
    asks: Literal["entrants", "age", "budget", "leaves_above"] = Field(
        description="what was asked, as a column of field.csv; age: share of its renewal use that a thing has run"
    )
    low: Figure = Field(description="the lowest that was told or is thought possible")
    likely: Figure = Field(description="the likely one")
    high: Figure = Field(description="the highest")
    answers: Whole = Field(default=0, description="how many answered")
    date: Day | None = Field(default=None, description="when they were asked")
    source: Text = Field(default="", description="who asked whom; without one it counts as assumed")

    @model_validator(mode="after")
    def _in_order(self) -> Told:
        if not self.low <= self.likely <= self.high:
            raise refuse("IMP002", "not in rising order", "let low <= likely <= high", "likely")
        if self.asks == "age" and self.high > 1:
            raise refuse("REA018", "more than a whole life:", "give shares up to 1 or 100 %", "high")
        if self.asks == "entrants" and any(value != int(value) for value in (self.low, self.likely, self.high)):
            raise refuse("REA017", "not whole entrants", "give whole numbers", "likely")
        if self.asks == "entrants" and self.likely < 1:
            raise refuse("REA018", "a group of nobody:", "give 1 or more, or take its row out of field.csv", "likely")
        return self


class Supplied(Record):
    """supply.csv"""

    KEY: ClassVar[str] = "part"
    part: Name = Field(description="part of a catalog that a change may make scarce")
    ready: Whole = Field(default=0, description="pieces that lie ready with all who sell it")
    a_week: NotNegative = Field(default=0, description="pieces made in a week from then on")
    rise: Rise = Field(default=0, description="rise of its price once nobody else sells what the book lets in the slot")
    rise_low: Rise | None = Field(default=None, description="the least of it; rise where empty")
    rise_high: Rise | None = Field(default=None, description="the most of it; rise where empty")
    source: Text = Field(default="", description="whose word it is; without one it counts as assumed")

    @model_validator(mode="after")
    def _rising(self) -> Supplied:
        low, _, high = self.rises
        if not low <= self.rise <= high:
            raise refuse("IMP002", "not in rising order", "let rise_low <= rise <= rise_high", "rise")
        return self

    @property
    def rises(self) -> tuple[float, float, float]:
        """The least, the likely and the most rise."""
        low = self.rise if self.rise_low is None else self.rise_low
        return low, self.rise, self.rise if self.rise_high is None else self.rise_high


Years = Annotated[
    int, number_type(Decimal(2), high=Decimal(15), whole=True, kept_as=int), Kind("2, 3 ... 15", form="number")
]


class Study(Record):
    """impact.toml"""

    need: Text = Field(default="", description="why anything should change, in the words of who proposes it")
    meets: Text = Field(default="", description="how the changes are to meet that need")
    changes: tuple[Name, ...] = Field(default=(), description="files of the changes that are studied")
    not_studied: tuple[Name, ...] = Field(default=(), description="alternatives that are not studied, each in words")
    years: Years = Field(default=5, description="seasons that are looked ahead")
    discount: Portion = Field(default=0.07, description="real rate of discount a year: 0.07 or 7 %")
    discount_other: Portion = Field(default=0.03, description="a second rate, for comparison")
    haircut: Portion = Field(
        default=0.4, description="share of the resale that is lost where a whole field sells at once; assumed"
    )
    haircut_low: Portion | None = Field(default=None, description="the least of it; haircut where empty")
    haircut_high: Portion | None = Field(default=None, description="the most of it; haircut where empty")
    rpm_follows: Portion = Field(
        default=1.0,
        description="how far the mean speed of sessions follows where the ignition cuts out: 1 in proportion, 0 not",
    )
    loss: Money = Field(
        default=Decimal(0), description="cost over all the years above which an entrant counts as a loser"
    )
    correlation: Portion = Field(
        default=0.3, description="between the groups' errors, for the spread of the field's total; assumed"
    )
    cars_inspected: Count = Field(default=1, description="cars looked at by the changed clauses at each round")
    inspector_rate: Money = Field(default=Decimal(0), description="cost of an inspector's hour")
    inspection_setup: Money = Field(
        default=Decimal(0), description="gauges and masters that the officials must buy once"
    )
    source: Text = Field(default="", description="whose words these figures are")
    invented: YesNo = Field(default=False, description="whether it is made up, as in a demo")

    @field_validator("discount", "discount_other")
    @classmethod
    def _below_one(cls, value: float) -> float:
        if value >= 1:
            raise refuse("REA018", "not a rate:", "give 0.07 or 7 % a year")
        return value

    @model_validator(mode="after")
    def _rising(self) -> Study:
        low, likely, high = self.haircuts
        if not low <= likely <= high:
            raise refuse("IMP002", "not in rising order", "let haircut_low <= haircut <= haircut_high", "haircut")
        return self

    @property
    def haircuts(self) -> tuple[float, float, float]:
        """The least, the likely and the most of it."""
        low = self.haircut if self.haircut_low is None else self.haircut_low
        return low, self.haircut, self.haircut if self.haircut_high is None else self.haircut_high

    @property
    def assumed(self) -> tuple[str, ...]:
        """The keys that count in the answer and that nobody has given."""
        counted = ("years", "discount", "haircut", "rpm_follows", "loss", "correlation")
        return tuple(key for key in counted if key not in self.model_fields_set)


@dataclass(frozen=True, slots=True)
class Range:
    """A figure with the lowest and the highest that it may be."""

    low: Decimal
    likely: Decimal
    high: Decimal
