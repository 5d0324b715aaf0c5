"""What a cell or a TOML value may be: the types that records are made of.

Each type reads text as it stands in a file and refuses what is in doubt, with a code and what to write instead; the
words that the column reference shows for it stand beside it (`Kind`).
"""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass
from datetime import date, datetime
from decimal import Decimal, InvalidOperation
from functools import lru_cache
from typing import Annotated, Any, Literal, NamedTuple

from pydantic import BeforeValidator, ValidationInfo
from pydantic_core import PydanticCustomError

from costplan.problems import nearest
from costplan.quantity import MEASURES, UNITS, Quantity, convert, dimension, nearest_unit, split_header
from costplan.reading.forms import ADate, ANumber

#: No number that a race engine needs is larger; what is, is a slip of the keyboard.
LARGEST = Decimal("1e12")
#: Nor smaller, unless it is zero.
SMALLEST = Decimal("1e-9")
#: No pack, rank, lead time or spare is counted in more.
MOST = Decimal(10_000)
#: Years that a season, a price or a piece on hand can be of.
YEARS = range(1950, 2150)
#: Texts that a reader of cells remembers, with what they mean: most columns hold few different ones.
REMEMBERED = 4096


@dataclass(frozen=True, slots=True)
class Kind:
    """What the column reference says of a type, and the dimension its unit must have ('' for none).

    `form` is 'number' or 'date' where a sheet may write it in a form of its own, else ''.
    """

    words: str
    dimension: str = ""
    form: Literal["", "number", "date"] = ""


class Measured(NamedTuple):
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
        """A figure in the kept unit in words.

        >>> events, fuel = MeasureName("events", "1"), MeasureName("fuel", "gal")
        >>> events.amount(40.0), events.amount(1.0), events.amount(0.5), fuel.amount(1200.0)
        ('40 events', '1 event', '0.5 events', '317 gal of fuel')
        >>> MeasureName("revolutions", "1").amount(1234567.0)
        '1,234,567 revolutions'
        """
        value = self.from_kept(kept)
        number = f"{value:.4g}" if abs(value) < 9999.5 else f"{value:,.0f}"
        if self.unit not in ("1", "h", "d"):
            return f"{number} {self.unit} of {self.name}"
        return f"{number} {self.name.removesuffix('s') if number == '1' else self.name}"

    def __str__(self) -> str:
        return self.name if self.unit in ("1", "h", "d") else f"{self.name} [{self.unit}]"


def refuse(code: str, what: str, advice: str, field: str = "") -> PydanticCustomError:
    """An error that the record reader turns into a problem; `field`: the one at fault, in a check of many."""
    return PydanticCustomError("costplan", "{what}", {"code": code, "what": what, "advice": advice, "field": field})


def decimal_comma(info: ValidationInfo) -> bool:
    return bool((info.context or {}).get("decimal_comma"))


def to_text(value: Any) -> str:
    if not isinstance(value, str):
        raise refuse("REA017", "not a text:", "put it in quotes")
    return value


def to_name(value: Any) -> str:
    if isinstance(value, ADate):
        raise refuse("REA017", "a date where a name belongs:", "format the cell as text, then write the name again")
    return _to_name(to_text(value))


@lru_cache(REMEMBERED)
def _to_name(text: str) -> str:
    name = " ".join(text.split())
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
    if isinstance(value, str):
        return _known_decimal(value, comma, field)
    if isinstance(value, bool) or not isinstance(value, int | float | Decimal):
        raise refuse("REA017", "not a number:", "give a number", field)
    return _bounded(Decimal(str(value)), field)


def _read_decimal(text: str, comma: bool, field: str) -> Decimal:
    try:
        number = Decimal(_plain(text, comma, field))
    except InvalidOperation:
        raise refuse("REA017", "not a number:", "give the number alone, without a unit", field) from None
    return _bounded(number, field)


_known_decimal = lru_cache(REMEMBERED)(_read_decimal)


def _bounded(number: Decimal, field: str) -> Decimal:
    """The number, if it is one and within the bounds of all numbers."""
    if not number.is_finite():
        raise refuse("REA018", "not a finite number:", "give a plain number", field)
    size = abs(number)
    if size > LARGEST:
        raise refuse("REA018", "too large a number:", "check its digits", field)
    if size < SMALLEST and size:
        raise refuse("REA018", "too small a number:", "check its digits", field)
    return number


def _plain(text: str, comma: bool, field: str) -> str:
    """A number's text with a decimal point, unless it could be meant in two ways."""
    if not text.isascii():
        text = text.replace("\u00a0", "").replace("\u2212", "-")
    if "_" in text:
        raise refuse("REA017", "not a number:", "write it without underscores", field)
    if "," in text and "." in text:
        raise refuse("REA024", "a number with comma and point:", "write it without separators of thousands", field)
    if comma:
        if re.fullmatch(r"[+-]?[1-9]\d{0,2}(\.\d{3})+", text.strip()):
            raise refuse("REA024", "thousands or decimals?", "write 1234 or, in a file with ';', 1,234", field)
        return text.replace(",", ".")
    if "," in text:
        raise refuse("REA024", "thousands or decimals?", "write 1234, or 1.5 with a point", field)
    return text


def number_type(
    low: Decimal | None,
    *,
    open_low: bool = False,
    high: Decimal | None = None,
    whole: bool = False,
    kept_as: Callable[[Decimal], Any] = Decimal,
) -> Any:
    """A validator for numbers within bounds (`open_low`: above `low`, not at it)."""

    def within(number: Decimal) -> Any:
        if whole and number != int(number):
            raise refuse("REA017", "not a whole number:", "give a whole number")
        if low is not None and (number < low or (open_low and number == low)):
            kind = "zero" if number == 0 else "negative number" if number < 0 else "too small a number"
            raise refuse("REA018", f"{kind}:", f"give {'more than' if open_low else 'at least'} {low}")
        if high is not None and number > high:
            raise refuse("REA018", "too large a number:", f"give at most {high}")
        return kept_as(number)

    @lru_cache(REMEMBERED)
    def read(text: str, comma: bool) -> Any:
        return within(_read_decimal(text, comma, ""))

    def check(value: Any, info: ValidationInfo) -> Any:
        return read(value, decimal_comma(info)) if isinstance(value, str) else within(to_decimal(value))

    return BeforeValidator(check)


def to_share(value: Any, info: ValidationInfo) -> float:
    """A share between 0 and 1, not at either end; `5 %` is read as 0.05."""
    percent = isinstance(value, str) and value.endswith("%")
    number = to_decimal(value.rstrip("% ") if percent else value, comma=decimal_comma(info))
    share = float(number / 100 if percent else number)
    if not 0 < share < 1:
        raise refuse("REA018", "not a share between 0 and 1:", "give 0.05 or 5 % for five in a hundred")
    return share


def to_date(value: Any) -> date:
    if isinstance(value, ANumber):
        raise refuse("REA019", "a number where a date belongs:", "format the cell as a date, or write it as 2027-05-14")
    if isinstance(value, str):
        return _to_day(value)
    if isinstance(value, date) and not isinstance(value, datetime):
        return _within_years(value)
    raise refuse("REA019", "not a date in the form year-month-day:", "write it as 2027-05-14")


@lru_cache(REMEMBERED)
def _to_day(text: str) -> date:
    if not re.fullmatch(r"\d{4}-\d{2}-\d{2}", text):
        raise refuse("REA019", "not a date in the form year-month-day:", "write it as 2027-05-14")
    try:
        day = date.fromisoformat(text)
    except ValueError:
        raise refuse("REA019", "no such day:", "check month and day") from None
    return _within_years(day)


def _within_years(day: date) -> date:
    if day.year not in YEARS:
        raise refuse("REA019", "a day far off:", f"check its year; give one from {YEARS[0]} to {YEARS[-1]}")
    return day


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
        raise refuse("REA021", f"not a unit of {what}:", nearest_unit(unit, units_of(what)))
    return MeasureName(name, unit or kept)


def units_of(what: str) -> tuple[str, ...]:
    return tuple(unit for unit, (kind, _) in UNITS.items() if kind == what)


def quantity_type(what: str, *, positive: bool = True) -> Any:
    """A validator for a number whose unit is in its heading, or behind it in TOML ("62 cm3")."""

    def check(value: Any, info: ValidationInfo) -> Quantity:
        if isinstance(value, Quantity):
            return value
        text, unit = (value.text, value.unit) if isinstance(value, Measured) else number_and_unit(to_text(value))
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


def number_and_unit(value: Any) -> tuple[Any, str]:
    """A number in TOML, and the unit behind it where it is a text: 10.25, "0.540 in"."""
    if not isinstance(value, str):
        return value, ""
    number, _, unit = value.strip().partition(" ")
    return number, unit.strip()


_ZERO = Decimal(0)

Text = Annotated[str, BeforeValidator(to_text), Kind("text")]
Name = Annotated[str, BeforeValidator(to_name), Kind("name")]
Words = Annotated[tuple[str, ...], BeforeValidator(to_words), Kind("names, blanks between")]
Day = Annotated[date, BeforeValidator(to_date), Kind("date, 2027-05-14", form="date")]
Days = Annotated[tuple[date, ...], BeforeValidator(to_dates), Kind("dates, blanks between")]
YesNo = Annotated[bool, BeforeValidator(to_yes_no), Kind("yes or no")]
Share = Annotated[float, BeforeValidator(to_share), Kind("share, 0.05 or 5 %", form="number")]
NotNegative = Annotated[float, number_type(_ZERO, kept_as=float), Kind("number, 0 or more", form="number")]
Positive = Annotated[float, number_type(_ZERO, open_low=True, kept_as=float), Kind("number above 0", form="number")]
#: A life after a service step: a little more than a new one's at the most, so that 90 for 90 % is a slip.
LifeShare = Annotated[
    float,
    number_type(_ZERO, open_low=True, high=Decimal(2), kept_as=float),
    Kind("number above 0, at most 2: 0.9 for nine tenths", form="number"),
]
Whole = Annotated[int, number_type(_ZERO, high=MOST, whole=True, kept_as=int), Kind("whole number", form="number")]
Count = Annotated[int, number_type(Decimal(1), high=MOST, whole=True, kept_as=int), Kind("1, 2, 3 ...", form="number")]
# Beyond these bounds powers of them leave the range of floats.
Shape = Annotated[
    float, number_type(Decimal("0.1"), high=Decimal(100), kept_as=float), Kind("number, 0.1 to 100", form="number")
]
Exponent = Annotated[float, number_type(_ZERO, high=Decimal(20), kept_as=float), Kind("number, 0 to 20", form="number")]
Rpm = Annotated[
    float,
    number_type(Decimal(1), high=Decimal(1_000_000), kept_as=float),
    Kind("revolutions a minute", form="number"),
]
Money = Annotated[Decimal, number_type(_ZERO), Kind("amount of money", form="number")]
SignedMoney = Annotated[Decimal, number_type(None), Kind("amount of money, may be negative", form="number")]
Measure = Annotated[MeasureName, BeforeValidator(to_measure), Kind(f"measure of use: {', '.join(MEASURES)}")]
Length = Annotated[Quantity, quantity_type("length"), Kind("number, unit in the heading", "length", "number")]
Fuel = Annotated[
    Quantity, quantity_type("volume", positive=False), Kind("number, unit in the heading", "volume", "number")
]
Duration = Annotated[Quantity, quantity_type("time"), Kind("number, unit in the heading", "time", "number")]
Distance = Annotated[
    Quantity, quantity_type("length", positive=False), Kind("number, unit in the heading", "length", "number")
]
