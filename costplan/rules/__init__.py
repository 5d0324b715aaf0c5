"""Rules: a class's rule pack, its kinds of clause, and how a build answers them."""

from costplan.rules.check import Verdicts, check
from costplan.rules.kinds import KINDS, PROOFS, Finding, Rule, RuleKind, find, slots_of
from costplan.rules.pack import Pack, PackHeader, read_pack

__all__ = [
    "KINDS",
    "PROOFS",
    "Finding",
    "Pack",
    "PackHeader",
    "Rule",
    "RuleKind",
    "Verdicts",
    "check",
    "find",
    "read_pack",
    "slots_of",
]
