"""How a clause is to be shown: by figures that nobody gives, papers that nobody has, inspections without a plan."""

from __future__ import annotations

from collections.abc import Iterator

from costplan.build import PRICE
from costplan.build.measures import COUNT, MASS_OF_PARTS, MEASURES_OF_BUILD
from costplan.build.names import given_name, slot_as_made, split_name
from costplan.build.pattern import Pattern, Reference
from costplan.problems import nearest
from costplan.rules.clause import Rule
from costplan.rules.kinds import Limit, Papers, Parts, Word, proofs_of
from costplan.rules.lint.desk import Desk, Found, on, tests_of

#: Proofs for which somebody looks at the engine.
LOOKED_AT = frozenset({"measurement", "inspection"})


def _behind(name: str, pattern: Pattern, valve: str = "") -> Iterator[tuple[str, str]]:
    """The slots and attributes that a name rests on; an input that the pattern leads nowhere has no slot."""
    slot, last = split_name(name)
    if slot == COUNT or name.partition(".")[0] == PRICE:
        return
    if slot:
        yield slot, last
    elif name == MASS_OF_PARTS:
        yield from ((one.slot, "mass") for one in pattern.slots.values() if one.weighed and not one.optional)
    elif (given := given_name(name, pattern, valve)) in pattern.inputs:
        source, _ = pattern.inputs[given]
        if isinstance(source, Reference):
            yield source.slot, source.attribute
    elif name in MEASURES_OF_BUILD and MEASURES_OF_BUILD[name].needs:
        measure = MEASURES_OF_BUILD[name]
        yield from (pair for need, _ in measure.needs for pair in _behind(need, pattern, measure.valve))
    else:
        yield "", name


def _ungiven(desk: Desk, name: str, pattern: Pattern) -> Iterator[str]:
    """Why a name cannot be shown from what is for sale and what was measured."""
    if name in desk.facts.measured:
        return
    for slot, attribute in dict.fromkeys(_behind(name, pattern)):
        parts = desk.parts_for(slot_as_made(slot) or slot)
        if f"{slot}.{attribute}".lstrip(".") in desk.facts.measured:
            continue
        if not slot:
            yield f"the pattern gives no {attribute}"
        elif parts and all(attribute not in part.attributes for part in parts):
            yield f"no part for sale for {slot_as_made(slot) or slot} gives {attribute}"


def attribute_nobody_gives(desk: Desk) -> Iterator[Found]:
    """A limit or word that no part for sale shows and that nobody is asked to measure."""
    pattern = desk.known.pattern
    named = [(rule, test, (test.of,)) for rule, test in tests_of(desk, Word)]
    asked = [*named, *((rule, test, test.names) for rule, test in tests_of(desk, Limit))]
    for rule, test, names in asked:
        looked = test is rule.test and not LOOKED_AT.isdisjoint(proofs_of(rule))
        wanted = [name for name in names if not (looked and not slot_as_made(split_name(name)[0]))]
        why = [word for name in wanted if pattern for word in _ungiven(desk, name, pattern)]
        if why:
            what = f"{' '.join(names)} cannot be shown: {'; '.join(dict.fromkeys(why))}"
            advice = "ask for a proof by measurement or inspection, or have a catalog or the pattern give it"
            yield on(rule, what, advice, place=test.place)


def paper_nobody_has(desk: Desk) -> Iterator[Found]:
    """A paper asked for of a kind that is not among the papers on hand, where there are any."""
    for rule in desk.pack.rules:
        tests = [one.test for one in (*rule.when, *rule.unless)] + [rule.test]
        asked = [rule.heading.document, *(getattr(test, key, "") for test in tests for key in ("paper", "declared"))]
        for kind in dict.fromkeys(asked):
            if kind and desk.facts.papers and kind not in desk.facts.papers:
                advice = nearest(kind, sorted(desk.facts.papers))
                yield on(rule, f"asks for the paper {kind}, of which papers.csv has none", advice)


def document_unnamed(desk: Desk) -> Iterator[Found]:
    """A proof by document that does not say which, so that no paper settles it."""
    for rule in desk.pack.rules:
        if "document" in rule.heading.proof and not rule.heading.document and not isinstance(rule.test, Papers):
            yield on(rule, "to be shown by a document, but not by which", "name it as papers.csv does: document = ...")


def document_unasked(desk: Desk) -> Iterator[Found]:
    """A document that is named and not asked for."""
    for rule in desk.pack.rules:
        if rule.heading.document and "document" not in rule.heading.proof:
            what = f"names the document {rule.heading.document}, but does not ask for it"
            yield on(rule, what, 'add "document" to proof')


def _is_looked_at(rule: Rule) -> bool:
    """Whether a clause needs somebody who looks or measures: by its proofs, for a mark or for a reading."""
    mark = rule.test.mark if isinstance(rule.test, Parts) else ""
    reads = rule.test.reads if isinstance(rule.test, Limit) else ""
    return bool(LOOKED_AT.intersection(proofs_of(rule)) or mark or reads)


def inspection_unplanned(desk: Desk) -> Iterator[Found]:
    """A clause that somebody must look at, without the minutes it takes or the risk by which it is chosen."""
    for rule in desk.pack.rules:
        lacking = [] if rule.heading.minutes else ["minutes"]
        lacking += ["risk"] if rule.heading.risk is None else []
        if lacking and _is_looked_at(rule):
            what = f"to be looked at, without {' and '.join(lacking)}"
            yield on(rule, what, "give them, so that checks can be planned")
