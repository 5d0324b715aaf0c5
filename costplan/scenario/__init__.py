"""A scenario: one folder that names everything a season needs, read as a whole with all its problems."""

from costplan.scenario.header import Header, RateRow, Variant
from costplan.scenario.reading import read_scenario
from costplan.scenario.scenario import Scenario, rounds_of

__all__ = ["Header", "RateRow", "Scenario", "Variant", "read_scenario", "rounds_of"]
