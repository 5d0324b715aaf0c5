"""What a cell or a TOML value may be: the types that records are made of.

Each type reads text as it stands in a file and refuses what is in doubt, with a code and what to write instead; the
words that the column reference shows for it stand beside it (`Kind`).
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from datetime import date, datetime
from decimal import Decimal, InvalidOperation
from typing import Annotated, Any

from pydantic import BeforeValidator, ValidationInfo
from pydantic_core import PydanticCustomError

from costplan.problems import nearest
from costplan.quantity import MEASURES, UNITS, Quantity, convert, dimension, split_header

#: No number that a race engine needs is larger; what is, is a slip of the keyboard.
LARGEST = Decimal("1e12")
#: Nor smaller, unless it is zero.
SMALLEST = Decimal("1e-9")
#: No pack, rank, lead time or spare is counted in more.
MOST = Decimal(10_000)
#: Years that a season, a price or a piece on hand can be of.
YEARS = range(1950, 2150)


@dataclass(frozen=True, slots=True)
class Kind:
    """What the column reference says of a type, and the dimension its unit must have ('' for none)."""

    words: str
    dimension: str = ""


@dataclass(frozen=True, slots=True)
class Measured:
    """A cell together with the unit in its heading."""

    text: Any
    unit: str


@dataclass(frozen=True, slots=True)
class MeasureName:
    """A measure of use and the unit it is given in: `laps`, `fuel [gal]`."""

    name: str
    unit: str

    def to_kept(self, value: float) -> float:
        """A figure in this unit, in the unit that the measure is kept in."""
        return convert(value, self.unit, MEASURES[self.name][1])

    def from_kept(self, value: float) -> float:
        return convert(value, MEASURES[self.name][1], self.unit)

    def amount(self, kept: float) -> str:
        """A figure in the kept unit in words: `40 events`, `317 gal of fuel`."""
        number = f"{self.from_kept(kept):.4g}"
        return f"{number} {self.name}" if self.unit in ("1", "h", "d") else f"{number} {self.unit} of {self.name}"

    def __str__(self) -> str:
        return self.name if self.unit in ("1", "h", "d") else f"{self.name} [{self.unit}]"


def refuse(code: str, what: str, advice: str, field: str = "") -> PydanticCustomError:
    """An error that the record reader turns into a problem; `field`: the one at fault, in a check of many."""
    return PydanticCustomError("costplan", "{what}", {"code": code, "what": what, "advice": advice, "field": field})


def decimal_comma(info: ValidationInfo) -> bool:
    return bool(info.context and info.context.get("decimal_comma"))


def to_text(value: Any) -> str:
    if not isinstance(value, str):
        raise refuse("REA017", "not a text:", "put it in quotes")
    return value


def to_name(value: Any) -> str:
    name = " ".join(to_text(value).split())
    if not name:
        raise refuse("REA016", "an empty name", "give a name")
    if not name.isprintable():
        raise refuse("REA017", "a name with a control character:", "write it without")
    return name


def to_words(value: Any) -> tuple[str, ...]:
    if isinstance(value, list | tuple):
        return tuple(to_name(item) for item in value)
    return tuple(to_text(value).split())


def to_decimal(value: Any, *, comma: bool = False, field: str = "") -> Decimal:
    """A finite number, or why not. `comma`: the file writes 12,5 for twelve and a half; `field`: as in `refuse`."""
    if isinstance(value, bool) or not isinstance(value, str | int | float | Decimal):
        raise refuse("REA017", "not a number:", "give a number", field)
    try:
        number = Decimal(_plain(value, comma, field) if isinstance(value, str) else str(value))
    except InvalidOperation:
        raise refuse("REA017", "not a number:", "give a number, its unit in the heading", field) from None
    if not number.is_finite():
        raise refuse("REA018", "not a finite number:", "give a plain number", field)
    if abs(number) > LARGEST:
        raise refuse("REA018", "too large a number:", "check its digits", field)
    if 0 < abs(number) < SMALLEST:
        raise refuse("REA018", "too small a number:", "check its digits", field)
    return number


def _plain(text: str, comma: bool, field: str) -> str:
    """A number's text with a decimal point, unless it could be meant in two ways."""
    text = text.strip().replace("\u00a0", "").replace("\u2212", "-")
    if "_" in text:
        raise refuse("REA017", "not a number:", "write it without underscores", field)
    if "," in text and "." in text:
        raise refuse("REA024", "a number with comma and point:", "write it without separators of thousands", field)
    if comma:
        if re.fullmatch(r"[+-]?[1-9]\d{0,2}(\.\d{3})+", text):
            raise refuse("REA024", "thousands or decimals?", "write 1234 or, in a file with ';', 1,234", field)
        return text.replace(",", ".")
    if "," in text:
        raise refuse("REA024", "thousands or decimals?", "write 1234, or 1.5 with a point", field)
    return text


def number_type(low: Decimal | None, *, open_low: bool, high: Decimal | None = None, whole: bool = False) -> Any:
    """A validator for numbers within bounds (`open_low`: above `low`, not at it)."""

    def check(value: Any, info: ValidationInfo) -> Decimal:
        number = to_decimal(value, comma=decimal_comma(info))
        if whole and number != int(number):
            raise refuse("REA017", "not a whole number:", "give a whole number")
        if low is not None and (number < low or (open_low and number == low)):
            kind = "zero" if number == 0 else "negative number" if number < 0 else "too small a number"
            raise refuse("REA018", f"{kind}:", f"give {'more than' if open_low else 'at least'} {low}")
        if high is not None and number > high:
            raise refuse("REA018", "too large a number:", f"give at most {high}")
        return number

    return BeforeValidator(check)


def to_share(value: Any, info: ValidationInfo) -> Decimal:
    """A share between 0 and 1, not at either end; `5 %` is read as 0.05."""
    percent = isinstance(value, str) and value.endswith("%")
    number = to_decimal(value.rstrip("% ") if percent else value, comma=decimal_comma(info))
    share = number / 100 if percent else number
    if not 0 < float(share) < 1:
        raise refuse("REA018", "not a share between 0 and 1:", "give 0.05 or 5 % for five in a hundred")
    return share


def to_date(value: Any) -> date:
    day = _day(value)
    if day.year not in YEARS:
        raise refuse("REA019", "a day far off:", f"check its year; give one from {YEARS[0]} to {YEARS[-1]}")
    return day


def _day(value: Any) -> date:
    if isinstance(value, date) and not isinstance(value, datetime):
        return value
    if isinstance(value, str) and re.fullmatch(r"\d{4}-\d{2}-\d{2}", value):
        try:
            return date.fromisoformat(value)
        except ValueError:
            raise refuse("REA019", "no such day:", "check month and day") from None
    raise refuse("REA019", "not a date in the form year-month-day:", "write it as 2027-05-14")


def to_dates(value: Any) -> tuple[date, ...]:
    return tuple(to_date(item) for item in (value if isinstance(value, list | tuple) else to_text(value).split()))


def to_yes_no(value: Any) -> bool:
    if isinstance(value, bool):
        return value
    if isinstance(value, str) and value.lower() in ("yes", "no"):
        return value.lower() == "yes"
    raise refuse("REA020", "neither yes nor no:", "write yes or no")


def to_measure(value: Any) -> MeasureName:
    name, unit = split_header(to_text(value))
    if name not in MEASURES:
        raise refuse("REA020", "not a measure of use:", nearest(name, MEASURES))
    what, kept = MEASURES[name]
    if unit and dimension(unit) != what:
        raise refuse("REA021", f"not a unit of {what}:", nearest(unit, units_of(what)))
    return MeasureName(name, unit or kept)


def units_of(what: str) -> tuple[str, ...]:
    return tuple(unit for unit, (kind, _) in UNITS.items() if kind == what)


def quantity_type(what: str, *, positive: bool = True) -> Any:
    """A validator for a number whose unit is in its heading, or behind it in TOML ("62 cm3")."""

    def check(value: Any, info: ValidationInfo) -> Quantity:
        if isinstance(value, Quantity):
            return value
        text, unit = (value.text, value.unit) if isinstance(value, Measured) else _number_and_unit(value)
        if dimension(unit) != what:
            raise refuse(
                "REA021",
                f"no unit of {what}:" if unit == "" else f"not a unit of {what}:",
                _unit_advice(
                    what, "in the heading, in brackets" if isinstance(value, Measured) else "behind the number"
                ),
            )
        number = to_decimal(text, comma=decimal_comma(info))
        if positive and number <= 0:
            raise refuse("REA018", "zero:" if number == 0 else "negative number:", "give more than 0")
        return Quantity(float(number), unit)

    return BeforeValidator(check)


def _unit_advice(what: str, where: str) -> str:
    return f"write one {where}: {', '.join(units_of(what))}"


def _number_and_unit(value: Any) -> tuple[Any, str]:
    number, _, unit = to_text(value).strip().partition(" ")
    return number, unit.strip()


def _float(value: Any) -> float:
    return float(value)


def _int(value: Any) -> int:
    return int(value)


_ZERO = Decimal(0)
_not_negative = number_type(_ZERO, open_low=False)
_positive = number_type(_ZERO, open_low=True)

Text = Annotated[str, BeforeValidator(to_text), Kind("text")]
Name = Annotated[str, BeforeValidator(to_name), Kind("name")]
Words = Annotated[tuple[str, ...], BeforeValidator(to_words), Kind("names, blanks between")]
Day = Annotated[date, BeforeValidator(to_date), Kind("date, 2027-05-14")]
Days = Annotated[tuple[date, ...], BeforeValidator(to_dates), Kind("dates, blanks between")]
YesNo = Annotated[bool, BeforeValidator(to_yes_no), Kind("yes or no")]
Share = Annotated[float, BeforeValidator(_float), BeforeValidator(to_share), Kind("share, 0.05 or 5 %")]
NotNegative = Annotated[float, BeforeValidator(_float), _not_negative, Kind("number, 0 or more")]
Positive = Annotated[float, BeforeValidator(_float), _positive, Kind("number above 0")]
Whole = Annotated[
    int, BeforeValidator(_int), number_type(_ZERO, open_low=False, high=MOST, whole=True), Kind("whole number")
]
Count = Annotated[
    int, BeforeValidator(_int), number_type(Decimal(1), open_low=False, high=MOST, whole=True), Kind("1, 2, 3 ...")
]
# Beyond these bounds powers of them leave the range of floats.
Shape = Annotated[
    float,
    BeforeValidator(_float),
    number_type(Decimal("0.1"), open_low=False, high=Decimal(100)),
    Kind("number, 0.1 to 100"),
]
Exponent = Annotated[
    float, BeforeValidator(_float), number_type(_ZERO, open_low=False, high=Decimal(20)), Kind("number, 0 to 20")
]
Rpm = Annotated[
    float,
    BeforeValidator(_float),
    number_type(Decimal(1), open_low=False, high=Decimal(1_000_000)),
    Kind("revolutions a minute"),
]
Money = Annotated[Decimal, _not_negative, Kind("amount of money")]
SignedMoney = Annotated[Decimal, number_type(None, open_low=False), Kind("amount of money, may be negative")]
Measure = Annotated[MeasureName, BeforeValidator(to_measure), Kind(f"measure of use: {', '.join(MEASURES)}")]
Length = Annotated[Quantity, quantity_type("length"), Kind("number, unit in the heading", "length")]
Fuel = Annotated[Quantity, quantity_type("volume", positive=False), Kind("number, unit in the heading", "volume")]
Duration = Annotated[Quantity, quantity_type("time"), Kind("number, unit in the heading", "time")]
Distance = Annotated[Quantity, quantity_type("length", positive=False), Kind("number, unit in the heading", "length")]
