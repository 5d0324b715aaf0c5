"""Numbers with units, and the measures of use.

Conversions are exact where the definition is (inch, pound, US gallon): NIST SP 811 (2008), Appendix B.8. Rounding, and
whether a rounded value conforms: ISO 80000-1:2009, Annex B, and ASTM E29-13 (both from memory), NIST SP 811, B.7.1.
"""

from __future__ import annotations

import math
from collections.abc import Collection
from dataclasses import dataclass
from decimal import MAX_EMAX, MAX_PREC, MIN_EMIN, ROUND_HALF_EVEN, ROUND_HALF_UP, Context, Decimal
from types import MappingProxyType
from typing import Literal

from costplan.problems import nearest

_G = 9.80665
_INCH = 0.0254
_POUND = 0.45359237
_POUND_FORCE = _POUND * _G

#: What becomes of a value that stands midway between two: it goes to the even one, or to the one away from zero.
Ties = Literal["even", "away"]
#: How a value is compared with a limit: as it was found, or rounded to the limit's last place.
Method = Literal["absolute", "rounded"]
_MODES = {"even": ROUND_HALF_EVEN, "away": ROUND_HALF_UP}
#: Rounding never runs out of digits, however many a text has.
_ROUNDING = Context(prec=MAX_PREC, Emax=MAX_EMAX, Emin=MIN_EMIN)
#: Digits that a float is trusted for, and places behind a limit's last; beyond them is the noise of conversions.
_TRUSTED, _FINER = 12, 9

#: unit -> (what it measures, how much of the coherent SI unit it is)
UNITS = MappingProxyType(
    {
        "1": ("number", 1.0),
        "%": ("number", 0.01),
        "m": ("length", 1.0),
        "mm": ("length", 1e-3),
        "cm": ("length", 1e-2),
        "in": ("length", _INCH),
        "ft": ("length", 12 * _INCH),
        "km": ("length", 1e3),
        "mi": ("length", 5280 * 12 * _INCH),
        "mm2": ("area", 1e-6),
        "cm2": ("area", 1e-4),
        "in2": ("area", _INCH**2),
        "m3": ("volume", 1.0),
        "cm3": ("volume", 1e-6),
        "L": ("volume", 1e-3),
        "in3": ("volume", _INCH**3),
        "gal": ("volume", 231 * _INCH**3),
        "kg": ("mass", 1.0),
        "g": ("mass", 1e-3),
        "lb": ("mass", _POUND),
        "oz": ("mass", _POUND / 16),
        "s": ("time", 1.0),
        "min": ("time", 60.0),
        "h": ("time", 3600.0),
        "d": ("time", 86400.0),
        "m/s": ("speed", 1.0),
        "ft/min": ("speed", 12 * _INCH / 60),
        "rpm": ("rotation", 1 / 60),
        "N": ("force", 1.0),
        "lbf": ("force", _POUND_FORCE),
        "N/mm": ("stiffness", 1e3),
        "lbf/in": ("stiffness", _POUND_FORCE / _INCH),
        "N.m": ("torque", 1.0),
        "lbf.ft": ("torque", _POUND_FORCE * 12 * _INCH),
        "kPa": ("pressure", 1e3),
        "bar": ("pressure", 1e5),
        "psi": ("pressure", _POUND_FORCE / _INCH**2),
        "inHg": ("pressure", 13595.1 * _G * _INCH),
        "inH2O": ("pressure", 1000 * _G * _INCH),
        "W": ("power", 1.0),
        "kW": ("power", 1e3),
        "hp": ("power", 550 * 12 * _INCH * _POUND_FORCE),
        "PS": ("power", 75 * _G),
        "m3/s": ("flow", 1.0),
        "L/s": ("flow", 1e-3),
        "cfm": ("flow", (12 * _INCH) ** 3 / 60),
        "g/kWh": ("specific consumption", 1e-3 / 3.6e6),
        "lb/hph": ("specific consumption", _POUND / (550 * 12 * _INCH * _POUND_FORCE * 3600)),
        "MJ/kg": ("specific energy", 1e6),
        "deg": ("angle", math.pi / 180),
    }
)

#: How the trade writes a unit -> the units that may be meant.
SAID = MappingProxyType(
    {
        **dict.fromkeys(("cc", "ccm", "ml"), ("cm3",)),
        **dict.fromkeys(("cid", "ci", "cui", "cu.in", "cu in"), ("in3",)),
        **dict.fromkeys(("lb", "lbs", "pound", "pounds", "#"), ("lb", "lbf")),
        **dict.fromkeys(("inch", "inches", '"'), ("in",)),
        **dict.fromkeys(("\u00b0", "degree", "degrees"), ("deg",)),
        **dict.fromkeys(("ft-lb", "ft-lbs", "lb-ft", "ft.lbf"), ("lbf.ft",)),
        **dict.fromkeys(("inh2o", "in.h2o", "in h2o", "inwc", "in.wc", "in wc"), ("inH2O",)),
        **dict.fromkeys(("hr", "hrs", "hour", "hours"), ("h",)),
        **dict.fromkeys(("gallon", "gallons"), ("gal",)),
    }
)

#: The measures of use, each with the dimension it is counted in and the unit it is kept in.
MEASURES = MappingProxyType(
    {
        "laps": ("number", "1"),
        "distance": ("length", "km"),
        "hours": ("time", "h"),
        "revolutions": ("number", "1"),
        "starts": ("number", "1"),
        "events": ("number", "1"),
        "openings": ("number", "1"),
        "fuel": ("volume", "L"),
        "days": ("time", "d"),
    }
)
#: What each of them is, and what a calendar must give for it.
USES = MappingProxyType(
    {
        "laps": "laps of a run, pace laps and practice included: laps of the calendar or of the sessions of a format",
        "distance": "way run: laps times the length of a lap (lap_length), or as the calendar gives it",
        "hours": "hours at work: as given, else laps times the time of a lap (lap_time)",
        "revolutions": "turns of the crank: hours times 60 times the mean speed (rpm)",
        "starts": "starts of the engine: as given, else one a run",
        "events": "events; one is shared out among its sessions by their hours, else by their laps, else evenly",
        "openings": "how often the engine was opened, or the part put back in",
        "fuel": "fuel burned: of the calendar, else fuel_per_lap or fuel_per_hour of a session times its laps or hours",
        "days": "days on the calendar, at work or not, from one run to the next",
    }
)


def dimension(unit: str) -> str | None:
    """What a unit measures; None for an unknown unit."""
    return UNITS[unit][0] if unit in UNITS else None


def nearest_unit(written: str, known: Collection[str]) -> str:
    """Advice that names the known unit that is meant by one as the trade writes it, else the one most like it.

    >>> nearest_unit("lbs", ["N", "lbf"]), nearest_unit("CC", UNITS)
    ("did you mean 'lbf'?", "did you mean 'cm3'?")
    """
    meant = next((unit for unit in SAID.get(written.lower(), ()) if unit in known), None)
    return f"did you mean '{meant}'?" if meant else nearest(written, known)


def convert(value: float, unit: str, to: str) -> float:
    """A value in another unit of the same dimension.

    >>> convert(1, "in", "mm"), round(convert(15, "inHg", "kPa"), 3)
    (25.4, 50.796)
    """
    if unit == to:
        return value
    (what, size), (other, other_size) = UNITS[unit], UNITS[to]
    if what != other:
        raise ValueError(f"{unit} measures {what}, {to} measures {other}")
    return value * (size / other_size)


@dataclass(frozen=True, slots=True)
class Quantity:
    """A number with its unit, as it was written."""

    value: float
    unit: str = "1"

    def to(self, unit: str) -> float:
        return convert(self.value, self.unit, unit)

    def into(self, unit: str) -> Quantity:
        """The same in another unit."""
        return self if unit == self.unit else Quantity(self.to(unit), unit)

    def __str__(self) -> str:
        number = format(round_figures(Decimal(repr(self.value)), 6).normalize(), "f")
        return number if self.unit == "1" else f"{number} {self.unit}"


def round_figures(value: Decimal, figures: int) -> Decimal:
    """A value to so many significant figures, a tie to the even digit (NIST SP 811, B.7.1).

    >>> round_figures(Decimal("6.9749515"), 3), round_figures(Decimal("1.625000"), 3)
    (Decimal('6.97'), Decimal('1.62'))
    """
    if value == 0:
        return Decimal(0)
    return round_to(value, figures - 1 - value.adjusted())


def round_to(value: Decimal, places: int, ties: Ties = "even") -> Decimal:
    """A value to so many decimal places; places below zero round to tens, hundreds and so on.

    To the nearest; a tie goes to the even last digit (ISO 80000-1:2009 Annex B rule A, ASTM E29-13 6.4, both from
    memory; NIST SP 811, B.7.1), or away from zero (rule B of the Annex). Rounding in stages is wrong: round once.

    >>> round_to(Decimal("12.25"), 1), round_to(Decimal("12.25"), 1, "away")
    (Decimal('12.2'), Decimal('12.3'))
    """
    return value.quantize(Decimal((0, (1,), -places)), rounding=_MODES[ties], context=_ROUNDING)


def places_of(written: str | Decimal) -> int:
    """The decimal places that a number, with or without its unit, is written with; below zero where it ends in tens.

    >>> places_of("0.540 in"), places_of("10.25"), places_of("310 in3"), places_of(Decimal("3.6E+3"))
    (3, 2, 0, -2)
    """
    number = Decimal(written.split()[0]) if isinstance(written, str) else written
    exponent = number.as_tuple().exponent
    if not isinstance(exponent, int):
        raise ValueError(f"{written} is not finite")
    return -exponent


def as_compared(value: float, limit: Decimal, method: Method, ties: Ties = "even") -> Decimal:
    """A value, in the limit's unit, as it is compared with the limit as that is written (ASTM E29-13, from memory).

    By the absolute method as it was found, by the rounding method rounded to the limit's last place. First the noise of
    binary conversions is taken off, far below anything a gauge reads: 13.7287 mm, which is 0.5405 in, must be a tie.

    >>> as_compared(13.7287 / 25.4, Decimal("0.540"), "rounded")
    Decimal('0.540')
    """
    found, places = Decimal(repr(value)), places_of(limit)
    clean = round_to(found, min(places + _FINER, _TRUSTED - 1 - found.adjusted()))
    return round_to(clean, places, ties) if method == "rounded" else clean


def split_header(header: str) -> tuple[str, str]:
    """A header or a measure into its name and unit: `bore [in]` -> ("bore", "in"), `laps` -> ("laps", "").

    >>> split_header(" fuel [gal] ")
    ('fuel', 'gal')
    """
    name, bracket, rest = header.partition("[")
    return name.strip(), rest.strip().removesuffix("]").strip() if bracket else ""
