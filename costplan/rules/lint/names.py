"""What clauses name: parts, work, words, roles and levels that are not there; and slots that none names."""

from __future__ import annotations

from collections.abc import Iterator

from costplan.build.measures import COUNT
from costplan.build.names import slot_as_made, split_name
from costplan.problems import Place, nearest
from costplan.rules.kinds import KINDS, Limit, Option, Papers, Parts, Word
from costplan.rules.kinds.common import either
from costplan.rules.kinds.counted import ChargeTest, Quota
from costplan.rules.kinds.work import Work
from costplan.rules.lint.desk import Desk, Found, on, own_tests, roles_of, tests_of


def _named_parts(desk: Desk) -> Iterator[tuple[str, Place, tuple[str, ...], frozenset[str]]]:
    """All parts that the pack names: by whom and where, and the roles of the slots that they are named for."""
    for rule in desk.pack.rules:
        slots = KINDS[rule.kind].slots(rule.test, desk.known.pattern) if desk.known.pattern else ()
        if rule.heading.kept is not None:
            yield rule.id, rule.place, rule.heading.kept.parts, roles_of(desk, slots)
    for rule, test in tests_of(desk, Parts):
        yield rule.id, test.place, (*test.allowed, *test.banned), roles_of(desk, test.slot)
    for rule, option in own_tests(desk, Option):
        parts = (part for listed in option.choices.values() for part in listed)
        yield rule.id, option.place, tuple(dict.fromkeys(parts)), roles_of(desk, option.slot)
    for row in desk.pack.lists:
        slots = tuple(slot for _, test in desk.naming.get(row.list, ()) for slot in test.slot)
        yield row.list, row.place, row.parts, roles_of(desk, slots)


def part_in_no_catalog(desk: Desk) -> Iterator[Found]:
    """A part named that no catalog has."""
    catalog = desk.facts.catalog
    for name, place, parts, roles in _named_parts(desk):
        strange = [part for part in parts if catalog.parts and not catalog.knows(part)]
        if strange:
            advice = nearest(strange[0], [part.part for role in sorted(roles) for part in catalog.of_role(role)])
            yield Found(name, place, f"names {', '.join(strange)}, which no catalog has", f"{strange[0]}: {advice}")


def part_of_another_role(desk: Desk) -> Iterator[Found]:
    """A part named for slots that it can never be in."""
    catalog = desk.facts.catalog
    for name, place, parts, roles in _named_parts(desk):
        wrong = [part for part in parts if part in catalog.parts and catalog.parts[part].role not in roles]
        if wrong and roles:
            words = ", ".join(f"{part} (a {catalog.parts[part].role})" for part in wrong)
            advice = f"name parts with the role {either(sorted(roles))}"
            yield Found(name, place, f"names {words} for slots that it cannot be in", advice)


def operation_of_another_role(desk: Desk) -> Iterator[Found]:
    """Work that no part in its slots can have; work that must be done is asked of the part in every slot."""
    known = desk.known.operations or {}
    for rule, test in tests_of(desk, Work):
        roles = roles_of(desk, test.slot)
        never = [word for word in (*test.may, *test.must_not) if word in known and known[word].role not in roles]
        never += [word for word in test.must if word in known and roles != {known[word].role}]
        if never and roles:
            words = ", ".join(f"{word} (for a {known[word].role})" for word in dict.fromkeys(never))
            advice = f"name work on {either(sorted(roles))}, and ask work that must be done of one role a clause"
            yield on(rule, f"names {words}, which not every part in {either(test.slot)} can have", advice)


def word_nobody_has(desk: Desk) -> Iterator[Found]:
    """A word asked for or barred that no part for sale has, where others have one."""
    for rule, test in tests_of(desk, Word):
        slot, attribute = split_name(test.of)
        had = {part.attributes.get(attribute) for part in desk.parts_for(slot_as_made(slot) or slot)} - {None, ""}
        words = sorted(word for word in had if isinstance(word, str))
        strange = [word for word in (*test.one_of, *test.none_of) if word not in had]
        if words and strange:
            what = f"{test.of}: no part for sale has {either(strange)}"
            yield on(rule, what, nearest(strange[0], words), place=test.place)


def role_without_slot(desk: Desk) -> Iterator[Found]:
    """A count of a role that no slot has: always none."""
    for rule, test in tests_of(desk, Limit):
        for slot, role in map(split_name, test.names):
            if slot == COUNT and desk.roles and role not in desk.roles.values():
                what = f"counts {role}, a role that no slot has"
                yield on(rule, what, nearest(role, sorted(set(desk.roles.values()))), place=test.place)


def level_never_opened(desk: Desk) -> Iterator[Found]:
    """A cap, fee or paper of openings at a level at or above which nothing is ever done."""
    opened = desk.facts.opened
    for rule in desk.pack.rules:
        level = rule.test.level if isinstance(rule.test, Quota | ChargeTest | Papers) else ""
        if level and opened is not None and level not in opened:
            what = f"speaks of openings at {level}: no interval, date or slot calls for it or a level above it"
            yield on(rule, what, nearest(level, sorted(opened)))


def slot_unwritten(desk: Desk) -> Iterator[Found]:
    """Slots of which no clause speaks, in a book that forbids what is not written."""
    pattern, header = desk.known.pattern, desk.pack.header
    if pattern is None or header.default != "forbid":
        return
    spoken = [KINDS[rule.kind].slots(rule.test, pattern) for rule in desk.pack.rules]
    written = {slot for slots in spoken if len(slots) < len(pattern.slots) for slot in slots}
    bare = [slot for slot in pattern.slots if slot not in written]
    if bare:
        what = f"what is not written is forbidden, and no clause speaks of {', '.join(bare)}"
        yield Found("", Place(desk.pack.file), what, 'write clauses for them, or default = "allow"')
