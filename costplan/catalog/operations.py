"""operations.csv of a catalog: what a shop does to a part, what it costs, and how much it changes which dimension."""

from __future__ import annotations

from decimal import Decimal
from typing import ClassVar

from pydantic import Field, ValidationInfo, field_validator

from costplan.catalog.attributes import ATTRIBUTES, Attribute
from costplan.problems import nearest
from costplan.quantity import Quantity, dimension
from costplan.reading import Record
from costplan.reading.fields import Day, Measured, Money, Name, Text, decimal_comma, refuse, to_decimal, units_of


class Operation(Record):
    """operations.csv of a catalog"""

    KEY: ClassVar[str] = "operation"
    REST: ClassVar[str] = "changes"
    operation: Name = Field(description="name of the operation, without blanks: deck-10")
    role: Name = Field(description="role of the parts it is done to, one of roles.csv")
    name: Text = Field(default="", description="what is done, in words")
    price: Money = Field(default=Decimal(0), description="price for one piece, in the catalog's currency")
    price_date: Day | None = Field(default=None, description="day the price was given")
    currency: Text = Field(default="", description="currency of this price, where not the catalog's")
    source: Text = Field(default="", description="where price and figures come from")
    changes: dict[str, Quantity] = Field(
        default={}, description="what it adds to an attribute of the part, negative where it takes: deck_height [in]"
    )

    @field_validator("operation")
    @classmethod
    def _one_word(cls, value: str) -> str:
        if " " in value:
            raise refuse("REA017", "an operation's name with a blank:", "join its words with '-'")
        return value

    @field_validator("changes", mode="before")
    @classmethod
    def _changes(cls, cells: dict[str, Measured], info: ValidationInfo) -> dict[str, Quantity]:
        known: dict[str, Attribute] = (info.context or {}).get("attributes", ATTRIBUTES)
        return {name: change_of(name, cell, known, comma=decimal_comma(info)) for name, cell in cells.items()}


def change_of(name: str, cell: Measured, known: dict[str, Attribute], *, comma: bool) -> Quantity:
    """A cell of an attribute column as what is added to the attribute; a word cannot be added to."""
    what = known[name].what
    if what == "text":
        numbers = [other for other, attribute in known.items() if attribute.what != "text"]
        raise refuse("REA020", f"{name} is a word, which nothing can be added to:", nearest(name, numbers), name)
    unit = cell.unit or ("1" if what == "number" else "")
    if dimension(unit) != what:
        problem = f"{name} without a unit of {what}:" if not unit else f"{name} in a unit not of {what}:"
        raise refuse("REA021", problem, f"write the heading as {name} [{units_of(what)[0]}]", name)
    return Quantity(float(to_decimal(cell.text, comma=comma, field=name)), unit)
