"""What an engine draws and gives at a speed, from plain numbers; and the speed at which it gives most."""

from __future__ import annotations

import math
from dataclasses import dataclass

from costplan.formulas import friction_power, friction_pressure, indicated_power, volumetric_efficiency
from costplan.formulas.airflow import CHOKED, FRICTION, TURN

#: Halvings of the span in which the best speed lies: to a millionth of it.
HALVINGS = 20
#: So many times the speed of choked flow is as good as any more.
FAR = 1e60


@dataclass(frozen=True, slots=True)
class Breath:
    """An engine as the estimate sees it.

    `displacement` in cm3; `index_a_turn`: its inlet Mach index at 1 rpm, in proportion to the speed; `duration` in
    degrees of the crank; `full` as in `volumetric_efficiency`; `heat` in MJ a kg of air; `efficiency` the indicated
    one, a dyno sheet's factor included; `density` of the air in kg/m3; `limit` the highest speed, rpm.
    """

    displacement: float
    index_a_turn: float
    duration: float
    full: float
    heat: float
    efficiency: float
    density: float
    limit: float

    def index(self, rpm: float) -> float:
        return self.index_a_turn * rpm

    def filling(self, rpm: float) -> float:
        """The volumetric efficiency at a speed."""
        return volumetric_efficiency(self.index(rpm), self.duration, self.full)

    def indicated(self, rpm: float) -> float:
        """Power on the pistons, kW."""
        return indicated_power(self.displacement, rpm, self.filling(rpm), self.heat, self.efficiency, self.density)

    def friction(self, rpm: float) -> float:
        """Power that friction takes, kW."""
        return friction_power(self.displacement, rpm, friction_pressure(rpm))

    def power(self, rpm: float) -> float:
        """Power on the brake, kW."""
        return self.indicated(rpm) - self.friction(rpm)

    def best_speed(self) -> float:
        """The speed of most power at or below the limit, rpm.

        Power over speed is concave: what is drawn rises ever slower (its slope is full / (1 + (rpm / a)^4)^(5/4), where
        at the speed a choked flow would just give `full`), what friction takes ever faster. So its slope falls all the
        way, and where it is zero is found by halving.
        """
        choked = CHOKED * self.duration / (180 * self.index_a_turn * self.full)
        drawn = self.full * self.density * self.heat * self.efficiency * 10
        first, second, third = FRICTION[0], 2 * FRICTION[1] / 1000, 3 * FRICTION[2] / 1_000_000

        def rises(rpm: float) -> bool:
            slope = drawn * math.pow(1 + min(rpm / choked, FAR) ** TURN, -1 - 1 / TURN)
            return slope >= first + rpm * (second + rpm * third)

        if rises(self.limit):
            return self.limit
        low, high = 0.0, self.limit
        for _ in range(HALVINGS):
            middle = (low + high) / 2
            low, high = (middle, high) if rises(middle) else (low, middle)
        return low
