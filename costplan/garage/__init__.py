"""The garage: what is true of real engines and shelves, what was measured of them, and what is on paper."""

from costplan.garage.bench import Bench, read_bench
from costplan.garage.dyno import Pull, check_pulls, read_dyno
from costplan.garage.inspections import Inspected, check_inspections, latest, read_inspections
from costplan.garage.papers import Paper, check_papers, read_papers
from costplan.garage.pieces import CAR, Piece, read_garage

__all__ = [
    "CAR",
    "Bench",
    "Inspected",
    "Paper",
    "Piece",
    "Pull",
    "check_inspections",
    "check_papers",
    "check_pulls",
    "latest",
    "read_bench",
    "read_dyno",
    "read_garage",
    "read_inspections",
    "read_papers",
]
