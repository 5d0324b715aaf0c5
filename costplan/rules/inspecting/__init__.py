"""Inspecting at an event: which checks on which cars find most within the inspectors' minutes, and what they found.

Read `plan.choose_inspections` first: it says what is chosen, and how far the choice is the best there is.
"""

from costplan.rules.inspecting.entrants import RISK, Entrant, check_entrants, no_entrants, read_entrants
from costplan.rules.inspecting.plan import Check, Plan, Visit, choose_inspections
from costplan.rules.inspecting.results import CarResult, Outcome, Result, by_car, check_values, outcomes, read_results
from costplan.rules.inspecting.sharing import loads_of, share_out
from costplan.rules.inspecting.tasks import LOOK
from costplan.rules.inspecting.terms import OPENING, Opening, Terms, openings_of

__all__ = [
    "LOOK",
    "OPENING",
    "RISK",
    "CarResult",
    "Check",
    "Entrant",
    "Opening",
    "Outcome",
    "Plan",
    "Result",
    "Terms",
    "Visit",
    "by_car",
    "check_entrants",
    "check_values",
    "choose_inspections",
    "loads_of",
    "no_entrants",
    "openings_of",
    "outcomes",
    "read_entrants",
    "read_results",
    "share_out",
]
