"""Choosing parts: what could stand in a slot and why the rest does not; the best bill that meets the book, proved; what
each step up buys; why nothing is possible; what would have to change for a book."""

from costplan.choose.aims import AIMS, Aim, Aimed, TooMany
from costplan.choose.alternatives import Alternative, alternatives, slots_with_choice, without_objection
from costplan.choose.choosing import Chosen, Line, OnHand, Option, Proof, best, option_of, seek
from costplan.choose.conflict import Conflict, Culprit, explain, why_never
from costplan.choose.encoded import Encoded, Open, Out
from costplan.choose.encoding import encode
from costplan.choose.frontier import Frontier, Point, Step, frontier
from costplan.choose.hand import Left, Used
from costplan.choose.lasting import Lasting, Seasons
from costplan.choose.modelling import Goal
from costplan.choose.nearest import Bound
from costplan.choose.preparing import prepare, wrong_wishes
from costplan.choose.puzzle import Ground, Pick, Puzzle
from costplan.choose.ranking import Ranked, best_by_season, build_of, rank
from costplan.choose.remedies import Remedy, Standing, remedies, where_it_may_run
from costplan.choose.replayed import Played, Replayed, replay
from costplan.choose.solving import Solved, solve
from costplan.choose.swapping import Never, Substitute, Swap, Swaps, start_from, substitutes, swaps_from
from costplan.choose.telling import Change, Sizes, Told, sizes_of, tell
from costplan.choose.wishes import NOTHING, SHELF, Wishes

__all__ = [
    "AIMS",
    "NOTHING",
    "SHELF",
    "Aim",
    "Aimed",
    "Alternative",
    "Bound",
    "Change",
    "Chosen",
    "Conflict",
    "Culprit",
    "Encoded",
    "Frontier",
    "Goal",
    "Ground",
    "Lasting",
    "Left",
    "Line",
    "Never",
    "OnHand",
    "Open",
    "Option",
    "Out",
    "Pick",
    "Played",
    "Point",
    "Proof",
    "Puzzle",
    "Ranked",
    "Remedy",
    "Replayed",
    "Seasons",
    "Sizes",
    "Solved",
    "Standing",
    "Step",
    "Substitute",
    "Swap",
    "Swaps",
    "Told",
    "TooMany",
    "Used",
    "Wishes",
    "alternatives",
    "best",
    "best_by_season",
    "build_of",
    "encode",
    "explain",
    "frontier",
    "option_of",
    "prepare",
    "rank",
    "remedies",
    "replay",
    "seek",
    "sizes_of",
    "slots_with_choice",
    "solve",
    "start_from",
    "substitutes",
    "swaps_from",
    "tell",
    "where_it_may_run",
    "why_never",
    "without_objection",
    "wrong_wishes",
]
