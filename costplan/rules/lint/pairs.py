"""Two clauses held against each other: how that is done for clauses of any kind, and that one asks what another does.

It is done only where one is asked whenever the other is, so that an exception under a condition is no contradiction.
"""

from __future__ import annotations

from collections.abc import Callable, Hashable, Iterable, Iterator
from itertools import combinations

from costplan.rules.clause import Rule
from costplan.rules.kinds import proofs_of
from costplan.rules.lint.desk import Desk, Found, Span, T, on, own_tests, words_of

#: Kinds of which two clauses may have the same keys and ask different things, as their words alone say.
STATED = ("inspection", "conduct", "charge")


def groups_of(desk: Desk, kind: type[T], keys: Callable[[T], Iterable[Hashable]]) -> list[list[tuple[Rule, T]]]:
    """The clauses of a kind that have a key in common."""
    groups: dict[Hashable, list[tuple[Rule, T]]] = {}
    for rule, test in own_tests(desk, kind):
        for key in keys(test):
            groups.setdefault(key, []).append((rule, test))
    return list(groups.values())


def first_against(
    groups: list[list[tuple[Rule, T]]],
    against: Callable[[tuple[Rule, T], tuple[Rule, T]], bool],
    *,
    mutual: bool = False,
) -> Iterator[tuple[Rule, Rule]]:
    """Each clause that another of its group speaks against, with the first that does; the later ones are asked first.

    One that is spoken against speaks against nothing itself: of two alike the later is told, and once. `mutual`: what
    one has against the other, the other has against it, so that only earlier ones need be asked.
    """
    told = set[int]()
    for group in groups:
        for number, other in reversed(tuple(enumerate(group))):
            if id(other[0]) in told:
                continue
            rivals = (
                one for one in (group[:number] if mutual else group) if one is not other and id(one[0]) not in told
            )
            found = next((one for one in rivals if against(one, other)), None)
            if found is not None:
                told.add(id(other[0]))
                yield found[0], other[0]


def _conditions_of(rule: Rule) -> frozenset[tuple[bool, str]]:
    """Its conditions, comparable: the representation of a test leaves out where it stands."""
    when, unless = ([repr(one.test) for one in rows] for rows in (rule.when, rule.unless))
    return frozenset((*((True, word) for word in when), *((False, word) for word in unless)))


def shared_days(desk: Desk, one: Rule, other: Rule) -> Span | None:
    """The days on which both clauses are asked of some engine, as far as one is asked whenever the other is."""
    spans, held = (desk.span(one), desk.span(other)), (_conditions_of(one), _conditions_of(other))
    first, last = max(span[0] for span in spans), min(span[1] for span in spans)
    return (first, last) if first <= last and (held[0] <= held[1] or held[1] <= held[0]) else None


def _covers(desk: Desk, one: Rule, other: Rule) -> bool:
    """Whether one clause is asked whenever the other is."""
    return shared_days(desk, one, other) == desk.span(other) and _conditions_of(one) <= _conditions_of(other)


def outdoes(desk: Desk, one: Rule, other: Rule) -> bool:
    """Whether a clause that asks more leaves nothing to another: asked whenever that is, as binding, as well proved."""
    mine, its = one.heading, other.heading
    return (
        _covers(desk, one, other)
        and repr(one.test) != repr(other.test)
        and (mine.severity == "must" or its.severity == "should")
        and (mine.kept is None or repr(mine.kept) == repr(its.kept))
        and set(proofs_of(other)) <= set(proofs_of(one))
    )


def said_twice(desk: Desk) -> Iterator[Found]:
    """Two clauses of one kind with the same keys."""
    groups: dict[tuple[str, str], list[Rule]] = {}
    for rule in desk.pack.rules:
        says = rule.heading.says if rule.kind in STATED else ""
        groups.setdefault((repr(rule.test), says), []).append(rule)
    for one, other in (pair for group in groups.values() for pair in combinations(group, 2)):
        if _covers(desk, one, other) or _covers(desk, other, one):
            yield on(other, f"asks the same as {one.id}: {words_of(one)}", "keep one of them", one.id)
