"""Lint of a rule pack: where a book contradicts itself, can never bind or be shown, or says nothing.

Each check is one function and one line in `CHECKS`; the files part them by theme. A doubt is *wrong* where a clause
cannot do what it says, and a *hint* where its author may have meant something else. What is for sale is what the
scenario's catalogs list.
"""

from __future__ import annotations

from types import MappingProxyType

from costplan.rules.kinds import Known
from costplan.rules.lint.desk import Check, Desk
from costplan.rules.lint.editions import edition_gap, editions_overlap, list_unnamed
from costplan.rules.lint.facts import Doubt, Facts, Linted, opened_levels
from costplan.rules.lint.headings import (
    advice_with_penalty,
    ends_before_it_begins,
    keeps_everything,
    over_before_the_season,
    round_that_never_comes,
)
from costplan.rules.lint.limits import limit_idle, limits_contradict
from costplan.rules.lint.names import (
    level_never_opened,
    operation_of_another_role,
    part_in_no_catalog,
    part_of_another_role,
    role_without_slot,
    slot_unwritten,
    word_nobody_has,
)
from costplan.rules.lint.pairs import said_twice
from costplan.rules.lint.parts import choice_nobody_can_build, part_of_two_choices, parts_contradict, parts_idle
from costplan.rules.lint.sale import bars_nothing, condition_never_holds, nothing_meets_it
from costplan.rules.lint.shown import (
    attribute_nobody_gives,
    document_unasked,
    document_unnamed,
    inspection_unplanned,
    paper_nobody_has,
)
from costplan.rules.pack import Pack

CHECKS = MappingProxyType(
    {
        check.code: check
        for check in (
            Check("limits-contradict", "wrong", limits_contradict),
            Check("limit-idle", "hint", limit_idle),
            Check("parts-contradict", "wrong", parts_contradict),
            Check("parts-idle", "hint", parts_idle),
            Check("said-twice", "hint", said_twice),
            Check("ends-before-it-begins", "wrong", ends_before_it_begins),
            Check("over-before-the-season", "hint", over_before_the_season),
            Check("round-that-never-comes", "wrong", round_that_never_comes),
            Check("condition-never-holds", "hint", condition_never_holds),
            Check("nothing-meets-it", "wrong", nothing_meets_it),
            Check("bars-nothing", "hint", bars_nothing),
            Check("part-in-no-catalog", "hint", part_in_no_catalog),
            Check("part-of-another-role", "wrong", part_of_another_role),
            Check("attribute-nobody-gives", "wrong", attribute_nobody_gives),
            Check("word-nobody-has", "hint", word_nobody_has),
            Check("role-without-slot", "wrong", role_without_slot),
            Check("list-unnamed", "hint", list_unnamed),
            Check("editions-overlap", "wrong", editions_overlap),
            Check("edition-gap", "wrong", edition_gap),
            Check("level-never-opened", "hint", level_never_opened),
            Check("paper-nobody-has", "hint", paper_nobody_has),
            Check("operation-of-another-role", "wrong", operation_of_another_role),
            Check("advice-with-penalty", "wrong", advice_with_penalty),
            Check("document-unnamed", "wrong", document_unnamed),
            Check("document-unasked", "hint", document_unasked),
            Check("keeps-everything", "wrong", keeps_everything),
            Check("choice-nobody-can-build", "hint", choice_nobody_can_build),
            Check("part-of-two-choices", "hint", part_of_two_choices),
            Check("slot-unwritten", "hint", slot_unwritten),
            Check("inspection-unplanned", "hint", inspection_unplanned),
        )
    }
)


def lint(pack: Pack, known: Known, facts: Facts) -> tuple[Doubt, ...]:
    """All doubts about a pack that was read without problems: clause by clause, then lists, then the rest."""
    desk = Desk(pack, known, facts)
    doubts = [
        Doubt(found.rule, check.code, check.severity, found.place, found.what, found.advice, found.against)
        for check in CHECKS.values()
        for found in check.find(desk)
    ]
    names = (*(rule.id for rule in pack.rules), *desk.editions)
    order = {name: number for number, name in reversed(tuple(enumerate(names)))}
    return tuple(sorted(doubts, key=lambda doubt: order.get(doubt.rule, len(names))))


__all__ = ["CHECKS", "Check", "Doubt", "Facts", "Linted", "lint", "opened_levels"]
