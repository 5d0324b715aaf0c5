"""Standard air: what a power is stated for, and how a dyno's figure is brought to it."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from types import MappingProxyType

from costplan.formulas import iso_1585_factor, sae_j607_factor, sae_j1349_factor

#: Of dry air, J/(kg K), and its ratio of specific heats.
GAS, HEAT_RATIO = 287.05, 1.4
KELVIN = 273.15


@dataclass(frozen=True, slots=True)
class Standard:
    """A standard's dry air, and `factor` of dry pressure [kPa] and temperature [C]: standard power for observed."""

    name: str
    pressure: float
    temperature: float
    factor: Callable[[float, float], float]
    source: str

    @property
    def density(self) -> float:
        """Of its air, kg/m3, as a perfect gas."""
        return 1000 * self.pressure / (GAS * (self.temperature + KELVIN))

    @property
    def sound_speed(self) -> float:
        """In its air, m/s, as a perfect gas."""
        return math.sqrt(HEAT_RATIO * GAS * (self.temperature + KELVIN))


STANDARDS: Mapping[str, Standard] = MappingProxyType(
    {
        one.name: one
        for one in (
            Standard("SAE J1349", 99.0, 25.0, sae_j1349_factor, "SAE J1349 (JUN90), quoted second-hand"),
            Standard("SAE J607", 101.32, 15.56, sae_j607_factor, "SAE J607 (from memory)"),
            Standard("ISO 1585", 99.0, 25.0, iso_1585_factor, "ISO 1585, clause 6 (from memory)"),
        )
    }
)
