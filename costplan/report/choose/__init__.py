"""What was chosen, what each step up buys, which options pay, and why nothing is possible, as pages."""

from costplan.report.choose.best import Drawn, best_csv, best_page
from costplan.report.choose.conflict import conflict_csv, conflict_page, unfound_page
from costplan.report.choose.frontier import Intakes, frontier_csv, frontier_page
from costplan.report.choose.instead import Asked, instead_csv, instead_page
from costplan.report.choose.options import options_csv, options_page
from costplan.report.choose.shared import About

__all__ = [
    "About",
    "Asked",
    "Drawn",
    "Intakes",
    "best_csv",
    "best_page",
    "conflict_csv",
    "conflict_page",
    "frontier_csv",
    "frontier_page",
    "instead_csv",
    "instead_page",
    "options_csv",
    "options_page",
    "unfound_page",
]
