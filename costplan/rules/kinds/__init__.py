"""The kinds of clause, in one table: what a clause of each kind asks, and how an engine answers it.

They are few and each does one thing; `when`, `unless`, dates, `kept` and proofs go with all of them. What a book says
in other ways is one of these with other numbers, or two of them: `costplan rules forms` shows which.
"""

from types import MappingProxyType

from costplan.rules.clause import Rule
from costplan.rules.kinds.common import Kind, Known, Where
from costplan.rules.kinds.counted import CHARGE, QUOTA
from costplan.rules.kinds.limit import LIMIT, Limit
from costplan.rules.kinds.papers import PAPER, Papers, counted_from
from costplan.rules.kinds.parts import CHOICE, OPTION, PARTS, WORD, Choice, Option, Parts, Word
from costplan.rules.kinds.stated import CONDUCT, INSPECTION
from costplan.rules.kinds.work import WORK

KINDS = MappingProxyType(
    {kind.name: kind for kind in (PARTS, WORD, LIMIT, OPTION, CHOICE, WORK, PAPER, INSPECTION, QUOTA, CHARGE, CONDUCT)}
)


def proofs_of(rule: Rule) -> tuple[str, ...]:
    """The proofs that a clause asks for: those of its kind where it names none."""
    return rule.heading.proof or KINDS[rule.kind].owes


__all__ = [
    "KINDS",
    "Choice",
    "Kind",
    "Known",
    "Limit",
    "Option",
    "Papers",
    "Parts",
    "Where",
    "Word",
    "counted_from",
    "proofs_of",
]
