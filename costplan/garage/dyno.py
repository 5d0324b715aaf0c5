"""dyno.csv: what an engine gave on a brake, speed by speed, and the air that it was pulled in."""

from __future__ import annotations

import math
from collections.abc import Collection, Iterable, Mapping
from decimal import Decimal
from pathlib import Path
from types import MappingProxyType
from typing import Annotated, Any, ClassVar, Literal

from pydantic import Field, ValidationInfo, ValidatorFunctionWrapHandler, field_validator, model_validator

from costplan.catalog.flows import Pressure
from costplan.formulas import dry_pressure
from costplan.problems import Problem, Problems, nearest
from costplan.quantity import Quantity
from costplan.reading import Record, Setting, is_there, read_records, read_table
from costplan.reading.fields import (
    Day,
    Kind,
    Rpm,
    Share,
    Text,
    decimal_comma,
    number_type,
    quantity_type,
    refuse,
    to_decimal,
)

_NUMBER = "number, unit in the heading"
Torque = Annotated[Quantity, quantity_type("torque"), Kind(_NUMBER, "torque", "number")]
Power = Annotated[Quantity, quantity_type("power"), Kind(_NUMBER, "power", "number")]
Celsius = Annotated[
    float, number_type(Decimal(-40), high=Decimal(50), kept_as=float), Kind("number, -40 to 50", form="number")
]
Fahrenheit = Annotated[
    float, number_type(Decimal(-40), high=Decimal(122), kept_as=float), Kind("number, -40 to 122", form="number")
]
#: Barometers that engines run under, kPa.
PRESSURES = (50.0, 120.0)
#: The word for a figure that nobody corrected.
OBSERVED = "observed"
#: What the words in the corner of a brake's sheet most often stand for; common practice, no source.
SHEET_WORDS: Mapping[str, str] = MappingProxyType(
    {
        **dict.fromkeys(("sae", "sae net", "j1349", "sae j 1349"), "SAE J1349"),
        **dict.fromkeys(("stp", "std", "std.", "standard", "j607", "sae j 607"), "SAE J607"),
        **dict.fromkeys(("iso", "iso1585"), "ISO 1585"),
        **dict.fromkeys(("none", "no", "raw", "obs", "uncorrected", "actual"), OBSERVED),
    }
)


class Pull(Record):
    """dyno.csv"""

    AIR: ClassVar[str] = "give pressure, celsius or fahrenheit, and humidity"
    engine: Text = Field(default="", description="engine that was on the brake; empty: one built as planned")
    rpm: Rpm = Field(description="speed of the crank")
    torque: Torque | None = Field(default=None, description="torque at this speed, or give power")
    power: Power | None = Field(default=None, description="power at this speed, or give torque")
    corrected: Literal["observed", "SAE J1349", "SAE J607", "ISO 1585"] = Field(
        description="the standard that the figure was brought to already, or observed; most sheets mean SAE J1349 by "
        "SAE and SAE J607 by STP or STD: common practice, no source"
    )
    pressure: Pressure | None = Field(
        default=None, description="of the barometer, as it stood there; needed to correct what was observed"
    )
    celsius: Celsius | None = Field(default=None, description="temperature of the air drawn in, in C")
    fahrenheit: Fahrenheit | None = Field(default=None, description="the same in F; give one of them")
    humidity: Share | None = Field(default=None, description="relative humidity of that air, 45 %; 0 for dry air")
    date: Day = Field(description="day of the pull")
    source: Text = Field(default="", description="whose brake it was")
    note: Text = Field(default="", description="anything worth keeping")

    @field_validator("corrected", mode="before")
    @classmethod
    def _in_our_words(cls, value: Any) -> Any:
        meant = SHEET_WORDS.get(" ".join(value.lower().split())) if isinstance(value, str) else None
        if meant is None or meant == value:
            return value
        advice = f"sheets mostly mean '{meant}' by it; see that yours does and write that"
        raise refuse("REA020", "not among the words allowed:", advice)

    @field_validator("humidity", mode="wrap")
    @classmethod
    def _ends_too(cls, value: Any, share: ValidatorFunctionWrapHandler, info: ValidationInfo) -> Any:
        """Dry and saturated air: 0, and 100 % with its mark, since a bare 1 may be meant as one in a hundred."""
        percent = isinstance(value, str) and value.endswith("%")
        number = to_decimal(value.rstrip("% ") if percent else value, comma=decimal_comma(info))
        return 0.0 if number == 0 else 1.0 if percent and number == 100 else share(value)

    @model_validator(mode="after")
    def _whole(self) -> Pull:
        if (self.torque is None) == (self.power is None):
            what = "neither torque nor power" if self.torque is None else "torque and power both"
            raise refuse("DYN002", what, "give one of them", "torque")
        if self.celsius is not None and self.fahrenheit is not None:
            raise refuse("DYN003", "a temperature given twice:", "give celsius or fahrenheit", "fahrenheit")
        if self.pressure is not None and not PRESSURES[0] <= self.pressure.to("kPa") <= PRESSURES[1]:
            raise refuse(
                "REA018", "no pressure of outside air:", "give the barometer's, about 85 to 105 kPa", "pressure"
            )
        if self.corrected == OBSERVED and not self.has_air:
            raise refuse("DYN003", "observed, without the air to correct it by", self.AIR, "corrected")
        return self

    @property
    def temperature(self) -> float | None:
        """Of the air drawn in, in C."""
        return (self.fahrenheit - 32) / 1.8 if self.fahrenheit is not None else self.celsius

    @property
    def has_air(self) -> bool:
        """Whether the air is known well enough to correct by."""
        return None not in (self.pressure, self.temperature, self.humidity)

    @property
    def air(self) -> tuple[float, float]:
        """Pressure of the dry air, kPa, and temperature, C; where they are not known a bug."""
        if self.pressure is None or self.temperature is None or self.humidity is None:
            raise ValueError("a pull without its air")
        return dry_pressure(self.pressure.to("kPa"), self.temperature, self.humidity), self.temperature

    @property
    def kilowatts(self) -> float:
        """The power as the sheet gives it."""
        if self.power is not None:
            return self.power.to("kW")
        return (self.torque.to("N.m") if self.torque else 0.0) * 2 * math.pi * self.rpm / 60_000


def read_dyno(path: Path, settings: tuple[Setting, ...] = ()) -> tuple[tuple[Pull, ...], tuple[Problem, ...]]:
    """The pulls of a sheet, none where there is no file. Whether their engines exist: `check_pulls`."""
    if not is_there(path):
        return (), ()
    table, faults = read_table(path, "dyno")
    if table is None:
        return (), faults
    pulls, more = read_records(table, Pull, settings)
    return pulls, (*faults, *more)


def check_pulls(rows: Iterable[Pull], engines: Collection[str], standard: str) -> tuple[Problem, ...]:
    """A problem for each pull of an unknown engine, or in the air of another standard without its own.

    `standard`: the one that figures are brought to, '' where none is asked.
    """
    problems = Problems()
    for row in rows:
        if row.engine and row.engine not in engines:
            problems.add("DYN001", row.place, "engine", row.engine, "an unknown engine", nearest(row.engine, engines))
        if standard and row.corrected not in (OBSERVED, standard) and not row.has_air:
            what = f"not {standard}, which the pattern's estimate is for, and without its air:"
            problems.add("DYN003", row.place, "corrected", row.corrected, what, Pull.AIR)
    return tuple(problems.found)
