"""The tables of a catalog: parts, roles, life rows, and the header in catalog.toml."""

from __future__ import annotations

from decimal import Decimal
from itertools import pairwise
from typing import Any, ClassVar, Literal, TypeVar

from pydantic import Field, ValidationInfo, ValidatorFunctionWrapHandler, field_validator, model_validator

from costplan.catalog.attributes import ATTRIBUTES, KINDS, WITHIN, Attribute
from costplan.problems import nearest
from costplan.quantity import Quantity, dimension
from costplan.reading import Record
from costplan.reading.fields import (
    Count,
    Day,
    Exponent,
    LifeShare,
    Measure,
    Measured,
    Money,
    Name,
    Positive,
    Rpm,
    Shape,
    Share,
    Text,
    Whole,
    Words,
    YesNo,
    decimal_comma,
    refuse,
    to_decimal,
    units_of,
)

#: likely / low of a life: less or more is a slip, and its Weibull shape would leave the range of `Shape`.
SPREAD = (1.02, 1e6)


class Header(Record):
    """catalog.toml"""

    name: Name = Field(description="name of the catalog")
    currency: Name = Field(description="currency of its prices, by ISO 4217")
    tax_included: YesNo = Field(default=False, description="whether its prices hold sales or value added tax")
    tax_rate: Share | None = Field(
        default=None, description="rate of that tax, 6.5 %; needed where a scenario counts the other way"
    )
    invented: YesNo = Field(default=False, description="whether its data is made up, as in a demo")
    note: Text = Field(default="", description="what a reader should know of it")
    includes: tuple[Name, ...] = Field(default=(), description="folders of other catalogs that come with this one")
    attributes: dict[str, str] = Field(
        default={}, description="columns of its own: each name with what it measures (text, length, mass ...)"
    )

    @field_validator("attributes")
    @classmethod
    def _known_kinds(cls, value: dict[str, str]) -> dict[str, str]:
        for name, what in value.items():
            known = ATTRIBUTES.get(name)
            if known is not None and known.what != what:
                raise refuse("REA020", f"{name} is known as a {known.what}", "give your column another name")
            if what not in KINDS:
                raise refuse("REA020", f"{name} cannot measure '{what}'", nearest(what, KINDS))
            if name.endswith(WITHIN):
                raise refuse("REA020", f"{name} would be a tolerance", "give your column another name")
        return value


class Part(Record):
    """A table of parts: any CSV of a catalog without a meaning of its own"""

    KEY: ClassVar[str] = "part"
    REPEATED: ClassVar[str] = "CAT001"
    REST: ClassVar[str] = "attributes"
    part: Name = Field(description="the part's number or name, once in all catalogs")
    name: Text = Field(default="", description="what it is, in words")
    role: Name = Field(description="what it does in an engine, one of roles.csv")
    supplier: Name = Field(description="who sells it")
    price: Money | None = Field(default=None, description="price of one pack; empty: prices.csv gives it")
    price_date: Day | None = Field(default=None, description="day the price was given")
    pack: Count = Field(default=1, description="pieces that one price buys")
    lead_days: Whole = Field(default=0, description="days from order to delivery")
    core_charge: Money = Field(
        default=Decimal(0), description="deposit on a pack, back when the old pieces return unbroken"
    )
    resale: Money = Field(default=Decimal(0), description="what one used, unbroken piece sells for")
    source: Text = Field(default="", description="where price and figures come from")
    currency: Name = Field(default="", description="currency of this price, where not the catalog's")
    attributes: dict[str, Quantity | str] = Field(
        default={}, description="any attribute, its unit in the heading: bore [in], mass [g], material"
    )
    tolerances: dict[str, Quantity] = Field(
        default_factory=dict,
        description="how far a piece may be off an attribute either way, by the maker's word, each in a column of its "
        f"own: bore{WITHIN} [in], mass{WITHIN} [g]",
    )

    @model_validator(mode="before")
    @classmethod
    def _tolerances_apart(cls, data: dict[str, Any]) -> dict[str, Any]:
        cells: dict[str, Measured] = data.get("attributes", {})
        if WITHIN not in "".join(cells):  # much faster than a look at each name, and most tables have none
            return data
        apart = {name: cell for name, cell in cells.items() if name.endswith(WITHIN)}
        rest = {name: cell for name, cell in cells.items() if name not in apart}
        return {"tolerances": apart, **data, "attributes": rest}

    @model_validator(mode="after")
    def _whole_price(self) -> Part:
        return dated(self)

    @field_validator("attributes", mode="plain")
    @classmethod
    def _attributes(cls, cells: dict[str, Measured], info: ValidationInfo) -> dict[str, Quantity | str]:
        if not cells:
            return {}
        known: dict[str, Attribute] = (info.context or {}).get("attributes", ATTRIBUTES)
        comma = decimal_comma(info)
        return {name: attribute_value(name, cell, known, comma=comma) for name, cell in cells.items()}

    @field_validator("tolerances", mode="before")
    @classmethod
    def _tolerances(cls, cells: dict[str, Measured] | str, info: ValidationInfo) -> dict[str, Quantity]:
        if isinstance(cells, str):
            raise refuse("REA009", "no column by itself:", f"write the tolerance of bore as bore{WITHIN} [in]")
        known: dict[str, Attribute] = (info.context or {}).get("attributes", ATTRIBUTES)
        comma, beside = decimal_comma(info), info.data.get("attributes")
        return {
            name.removesuffix(WITHIN): tolerance_value(name, cell, known, beside, comma=comma)
            for name, cell in cells.items()
        }


class PriceRow(Record):
    """prices.csv of a catalog"""

    part: Name = Field(description="the part or kit that is sold")
    supplier: Text = Field(default="", description="who asks this price; the part's supplier where empty")
    date: Day = Field(description="day from which the price holds")
    price: Money = Field(description="price of one pack")
    least: Count = Field(default=1, description="packs from which it holds; no fewer are sold at it")
    pack: Count | None = Field(default=None, description="pieces in a pack; the part's where empty")
    tax_included: YesNo | None = Field(default=None, description="whether tax is in it; the catalog's where empty")
    currency: Text = Field(default="", description="its currency by ISO 4217; the part's where empty")
    core_charge: Money | None = Field(default=None, description="deposit on a pack; the part's where empty")
    lead_days: Whole | None = Field(default=None, description="days to delivery; the part's where empty")
    source: Text = Field(default="", description="where the price comes from; the part's source where empty")


class Kit(Record):
    """kits.csv of a catalog"""

    KEY: ClassVar[str] = "kit"
    REPEATED: ClassVar[str] = "CAT001"
    kit: Name = Field(description="the kit's number or name, once in all catalogs and no part's")
    name: Text = Field(default="", description="what it is, in words")
    supplier: Name = Field(description="who sells it")
    price: Money | None = Field(default=None, description="price of one kit; empty: prices.csv gives it")
    price_date: Day | None = Field(default=None, description="day the price was given")
    lead_days: Whole = Field(default=0, description="days from order to delivery")
    source: Text = Field(default="", description="where the price comes from")
    currency: Name = Field(default="", description="currency of this price, where not the catalog's")

    @model_validator(mode="after")
    def _whole_price(self) -> Kit:
        return dated(self)


class KitContent(Record):
    """kit_contains.csv of a catalog"""

    kit: Name = Field(description="a kit of kits.csv")
    part: Name = Field(description="a part that is in it")
    pieces: Count = Field(default=1, description="how many pieces of it")


class ServiceStep(Record):
    """service_steps.csv of a catalog"""

    part: Text = Field(default="", description="the part whose path this is, or give a role")
    role: Text = Field(default="", description="the role whose parts go this path, where they have none of their own")
    step: Count = Field(description="1, 2, 3 ... in the order in which a worn piece goes through them")
    operation: Name = Field(description="what is done, of operations.csv; a renewal costs that and no new piece")
    factor: LifeShare = Field(default=1, description="lives after it, as a share of a new piece's")
    renew_with: Words = Field(default=(), description="roles that must change with it: piston ring-set")
    parts: Words = Field(
        default=(), description="parts of those roles that go in then, such as oversize ones; their lives as planned"
    )
    mends: YesNo = Field(default=False, description="whether it also mends what broke; else a new piece is bought")
    source: Text = Field(default="", description="whose word it is; without one it counts as assumed")

    @model_validator(mode="after")
    def _of_one(self) -> ServiceStep:
        if bool(self.part) == bool(self.role):
            raise refuse("CAT003", "a step of nothing or of two things", "give a part or a role, not both", "part")
        return self


Sold = TypeVar("Sold", Part, Kit)


def dated(sold: Sold) -> Sold:
    """What is sold with a price and its day, or with neither."""
    if (sold.price is None) != (sold.price_date is None):
        lacking = "price" if sold.price is None else "price_date"
        raise refuse("REA016", "half a price", "give price and price_date, or neither and a row in prices.csv", lacking)
    return sold


def attribute_value(name: str, cell: Measured, known: dict[str, Attribute], *, comma: bool) -> Quantity | str:
    """A cell of an attribute column as a quantity or a word."""
    attribute = known[name]
    if attribute.what == "text":
        return str(cell.text)
    unit = _unit_of(name, cell, attribute.what)
    number = to_decimal(cell.text, comma=comma, field=name)
    if attribute.positive and number <= 0:
        raise refuse("REA018", "zero:" if number == 0 else "negative number:", "give more than 0", name)
    return Quantity(float(number), unit)


def _unit_of(name: str, cell: Measured, what: str) -> str:
    """The unit in a cell's heading, if it is one of what the column measures; a bare number needs none."""
    unit = cell.unit or ("1" if what == "number" else "")
    if dimension(unit) != what:
        fault = f"{name} without a unit of {what}:" if not unit else f"{name} in a unit not of {what}:"
        raise refuse("REA021", fault, f"write the heading as {name} [{units_of(what)[0]}]", name)
    return unit


def tolerance_value(
    name: str, cell: Measured, known: dict[str, Attribute], beside: dict[str, Quantity | str] | None, *, comma: bool
) -> Quantity:
    """A cell of a column of tolerances; `beside`: the row's attributes, None where one of them is at fault."""
    of = name.removesuffix(WITHIN)
    if known[of].what == "text":
        raise refuse("REA020", f"{of} is a word, which has no tolerance:", "take the column out", name)
    unit = _unit_of(name, cell, known[of].what)
    number = to_decimal(cell.text, comma=comma, field=name)
    if number < 0:
        raise refuse("REA018", "negative number:", "give 0 or more; it counts either way", name)
    found, figure = Quantity(float(number), unit), (beside or {}).get(of)
    if beside is not None and figure is None:
        raise refuse("REA016", f"{of} is missing beside its tolerance", f"give {of}, or take this out", name)
    if isinstance(figure, Quantity) and known[of].positive and found.to(figure.unit) >= figure.value:
        raise refuse("REA018", f"as much as {of} itself, {figure}:", "give less; check its digits", name)
    return found


class Role(Record):
    """roles.csv of a catalog"""

    KEY: ClassVar[str] = "role"
    role: Name = Field(description="what a part does in an engine: piston, valve-spring")
    meaning: Text = Field(default="", description="the role in words")
    shape: Shape | None = Field(default=None, description="Weibull shape of lives whose row gives none; assumed")


class LifeRow(Record):
    """lives.csv of a catalog"""

    part: Text = Field(default="", description="the part this life is of, or give a role")
    role: Text = Field(
        default="", description="the role whose parts have this life, where they have no row of their own"
    )
    measure: Measure = Field(description="what the life is counted in")
    replace_at: Positive | None = Field(default=None, description="use at which the trade renews")
    risk: Share | None = Field(default=None, description="share broken by replace_at if all are run to it; 5 % assumed")
    low: Positive | None = Field(default=None, description="use by which one in ten has broken (B10)")
    likely: Positive | None = Field(default=None, description="use by which half have broken (B50)")
    high: Positive | None = Field(default=None, description="use by which nine in ten have broken; only a check")
    shape: Shape | None = Field(default=None, description="Weibull shape; the role's is assumed")
    limit: Positive | None = Field(
        default=None, description="hard limit, never passed: maker's, rule's or a safety date"
    )
    rated_rpm: Rpm | None = Field(default=None, description="speed at which the life is true")
    rpm_exponent: Exponent | None = Field(default=None, description="a run ages the part by (rpm / rated_rpm)^this")
    life_of: Literal["set", "piece"] = Field(
        default="set", description="whether the life is the whole set's or one piece's"
    )
    warning: Share = Field(
        default=0, description="share of a life, at its end, in which a check can see the end coming; 0: none can"
    )
    source: Text = Field(default="", description="whose word the life is; without one it counts as assumed")

    @field_validator("warning", mode="wrap")
    @classmethod
    def _zero_too(cls, value: Any, share: ValidatorFunctionWrapHandler, info: ValidationInfo) -> Any:
        number = value.rstrip("% ") if isinstance(value, str) else value
        return 0.0 if to_decimal(number, comma=decimal_comma(info)) == 0 else share(value)

    @model_validator(mode="after")
    def _consistent(self) -> LifeRow:
        if bool(self.part) == bool(self.role):
            raise refuse("CAT003", "a life of nothing or of two things", "give a part or a role, not both", "part")
        by_failures = self.low is not None or self.likely is not None
        if by_failures and (self.low is None or self.likely is None):
            raise refuse("LIF001", "half a life", "give low and likely together", "low")
        if not by_failures and self.replace_at is None and self.limit is None:
            raise refuse("LIF001", "no life", "give replace_at, or low and likely, or a limit", "replace_at")
        if self.high is not None and not by_failures:
            raise refuse("LIF001", "half a life", "give low and likely beside high", "low")
        curve = self.risk is not None or self.shape is not None
        if curve and by_failures:
            raise refuse("LIF003", "a life given twice over", "leave risk and shape empty beside low and likely", "low")
        if curve and self.replace_at is None:
            raise refuse("LIF001", "half a life", "give replace_at beside risk and shape", "replace_at")
        figures = [figure for figure in (self.low, self.likely, self.high) if figure is not None]
        if any(first >= second for first, second in pairwise(figures)):
            raise refuse("LIF002", "not in rising order:", "give low < likely < high", "low")
        if self.low is not None and self.likely is not None and not SPREAD[0] <= self.likely / self.low <= SPREAD[1]:
            bounds = f"give {SPREAD[0]:g} to {SPREAD[1]:,.0f} times low"
            raise refuse("REA018", "a likely life too near low or too far from it:", bounds, "likely")
        if (self.rated_rpm is None) != (self.rpm_exponent is None):
            raise refuse("LIF004", "half an rpm rating", "give rated_rpm and rpm_exponent together", "rated_rpm")
        return self
