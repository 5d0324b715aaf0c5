"""What two editions of a book say differently, clause by clause, and whether that is tighter or looser.

Tighter is what an engine that met the book may break now; looser, what one that broke it may meet now. Where that rests
on more than the clause says (another measure, another list), neither is claimed.
"""

from __future__ import annotations

from costplan.rules.differences.clauses import clause_differences
from costplan.rules.differences.difference import Difference, How, Shift, how_of
from costplan.rules.differences.header import header_differences
from costplan.rules.differences.lists import list_differences
from costplan.rules.differences.pair import Pair, Proposal, Side, read_pair, side_of
from costplan.rules.differences.tables import COMPARISONS, Comparison
from costplan.rules.pack import Pack


def differences(a: Pack, b: Pack) -> tuple[Difference, ...]:
    """All that differs between two packs: the header, the lists, the clauses in their order, new ones last.

    Of clauses that follow each other under one id the last is compared; what it follows only tells from when it holds.
    """
    return (*header_differences(a, b), *list_differences(a.lists, b.lists), *clause_differences(a.rules, b.rules))


__all__ = [
    "COMPARISONS",
    "Comparison",
    "Difference",
    "How",
    "Pair",
    "Proposal",
    "Shift",
    "Side",
    "differences",
    "how_of",
    "read_pair",
    "side_of",
]
