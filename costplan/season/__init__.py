"""The season: calendar to runs and use, service levels, the machine, the plan and its ledger."""

from costplan.season.acted import ClauseActed
from costplan.season.clauses import BookCost, ClauseCost, cost_of_clauses
from costplan.season.compiling import compile_season
from costplan.season.due import Due, due_before
from costplan.season.inputs import SeasonFiles, check_files, read_season_files
from costplan.season.names import Season, Sources
from costplan.season.plan import Plan, make_plan, play_plan
from costplan.season.records import CAR, Car, Cost, Engine, Event, Gaps, Level, Policy, Position, Service, Session

__all__ = [
    "CAR",
    "BookCost",
    "Car",
    "ClauseActed",
    "ClauseCost",
    "Cost",
    "Due",
    "Engine",
    "Event",
    "Gaps",
    "Level",
    "Plan",
    "Policy",
    "Position",
    "Season",
    "SeasonFiles",
    "Service",
    "Session",
    "Sources",
    "check_files",
    "compile_season",
    "cost_of_clauses",
    "due_before",
    "make_plan",
    "play_plan",
    "read_season_files",
]
