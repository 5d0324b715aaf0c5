"""What a clause asks, where, from when and how it is shown, in plain words."""

from __future__ import annotations

from costplan.rules.clause import Condition, Phase, Rule
from costplan.rules.kinds import KINDS, proofs_of


def asks_of(rule: Rule) -> tuple[str, ...]:
    """What a clause asks, where it is asked, and how it is shown."""
    proofs = proofs_beside_list(rule)
    return (
        asked(rule),
        *(f"asked only where {condition_words(one)}" for one in rule.when),
        *(f"not asked where {condition_words(one)}" for one in rule.unless),
        *((f"shown by {', '.join(proofs)}",) if proofs else ()),
    )


def asked(rule: Rule) -> str:
    """What a clause asks; of a kind that is words alone, only that."""
    words = KINDS[rule.kind].words(rule.test)
    return f"{words} (advice)" if rule.heading.severity == "should" else words


def condition_words(condition: Condition) -> str:
    """What a condition holds for."""
    return KINDS[condition.kind].words(condition.test)


def proofs_beside_list(rule: Rule) -> tuple[str, ...]:
    """What shows a clause beside the parts list, which shows nothing by itself."""
    return tuple(proof for proof in proofs_of(rule) if proof != "list")


def since_words(rule: Rule) -> str:
    """From when a clause holds; '' if from the start."""
    return phase_words(Phase(rule.heading.effective, rule.heading.from_round))


def phase_words(phase: Phase) -> str:
    """From which day or round something holds; '' if it names neither."""
    if phase.from_round is not None:
        day = f", not before {phase.effective}" if phase.effective else ""
        return f"from round {phase.from_round}{day}"
    return f"from {phase.effective}" if phase.effective else ""
