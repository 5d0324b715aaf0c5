"""Rules: class rule packs, the kinds of clause, how an engine answers them, and how they bind a season."""

from costplan.rules.answers import Ahead, Answer, Finding, Recognised
from costplan.rules.binding import book_of
from costplan.rules.book import Book
from costplan.rules.check import Verdicts, ahead, check, condition_of, evidence_of, find, reads_of
from costplan.rules.clause import PROOFS, STAGES, Condition, Heading, Kept, Phase, Rule
from costplan.rules.evidence import Evidence, PartList, Sheet, Verdict
from costplan.rules.kinds import KINDS, Kind, Known
from costplan.rules.pack import Pack, PackHeader, Recognition, read_pack

__all__ = [
    "KINDS",
    "PROOFS",
    "STAGES",
    "Ahead",
    "Answer",
    "Book",
    "Condition",
    "Evidence",
    "Finding",
    "Heading",
    "Kept",
    "Kind",
    "Known",
    "Pack",
    "PackHeader",
    "PartList",
    "Phase",
    "Recognised",
    "Recognition",
    "Rule",
    "Sheet",
    "Verdict",
    "Verdicts",
    "ahead",
    "book_of",
    "check",
    "condition_of",
    "evidence_of",
    "find",
    "read_pack",
    "reads_of",
]
