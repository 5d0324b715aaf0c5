"""How the clauses of two books differ: those of one id against each other, the last on either side."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence

from costplan.problems import Place
from costplan.rules.clause import Condition, Kept, Rule
from costplan.rules.differences.compare import asks, same, set_shifts
from costplan.rules.differences.difference import Difference, How, Shift, Way, how_of
from costplan.rules.differences.tables import BEGINNINGS, COMPARISONS, DATES, KEPT, WORDS
from costplan.rules.differences.words import (
    asked,
    asks_of,
    condition_words,
    phase_words,
    proofs_beside_list,
    since_words,
)
from costplan.rules.kinds.stated import Conduct, Seen


def clause_differences(a: Sequence[Rule], b: Sequence[Rule]) -> Iterator[Difference]:
    """How the clauses differ, in the order of the first book, new ones last."""
    before, after = _by_id(a), _by_id(b)
    for name in (*before, *(name for name in after if name not in before)):
        yield from _clause_difference(before.get(name, ()), after.get(name, ()))


def _by_id(rules: Iterable[Rule]) -> dict[str, tuple[Rule, ...]]:
    groups: dict[str, tuple[Rule, ...]] = {}
    for rule in rules:
        groups[rule.id] = (*groups.get(rule.id, ()), rule)
    return groups


def _clause_difference(before: tuple[Rule, ...], after: tuple[Rule, ...]) -> Iterator[Difference]:
    """How the clauses of one id differ, the last on either side."""
    old, new = before[-1] if before else None, after[-1] if after else None
    stood, stands = old is not None and old.ended is None, new is not None and new.ended is None
    if new is not None and stands and not stood:
        yield _of_clause(new, "added", asks_of(new), since_words(new), None, new.place)
    elif old is not None and stood and not stands:
        since = "" if new is None or new.ended is None else phase_words(new.ended)
        yield _of_clause(old, "withdrawn", asks_of(old), since, old.place, None)
    elif old is not None and new is not None:
        yield from _altered(old, new, phased=len(after) > len(before))


def _altered(old: Rule, new: Rule, *, phased: bool) -> Iterator[Difference]:
    """How a clause differs that stands in both books; `phased`: the old one stays until the new one begins."""
    shifts = tuple(_rule_shifts(old, new, phased=phased))
    if shifts:
        words = tuple(shift.words for shift in shifts)
        yield _of_clause(new, how_of(shifts), words, since_words(new) if phased else "", old.place, new.place)


def _of_clause(
    rule: Rule, how: How, words: tuple[str, ...], since: str, before: Place | None, after: Place | None
) -> Difference:
    return Difference("clause", rule.id, how, words, since, rule.heading.says, rule.clause, before, after)


def _rule_shifts(old: Rule, new: Rule, *, phased: bool) -> Iterator[Shift]:
    """All that differs between two clauses; `phased`: that the new one begins later is told elsewhere."""
    yield from _test_shifts(old, new)
    yield from _severity(old, new)
    yield from set_shifts(proofs_beside_list(old), proofs_beside_list(new), "now also shown by", "no longer shown by")
    yield from asks("document", "the paper must be", "it need not be the paper")(old.heading, new.heading)
    yield from _kept_shifts(old.heading.kept, new.heading.kept)
    yield from _condition_shifts(old.when, new.when, "asked only where", "asked also where it is not so that")
    yield from _condition_shifts(old.unless, new.unless, "not asked where", "asked also where")
    yield from _date_shifts(old, new, phased=phased)
    yield from (shift for compare in WORDS for shift in compare(old.heading, new.heading))
    yield from _says(old, new)


def _test_shifts(old: Rule, new: Rule) -> Iterator[Shift]:
    """What differs between two tests: key by key where they ask of the same thing, else both in words."""
    if old.kind == new.kind and same(old.test, new.test):
        return
    comparison = COMPARISONS[old.kind]
    alike = old.kind == new.kind and (not comparison.same or same(old.test, new.test, comparison.same))
    found = [shift for compare in comparison.keys for shift in compare(old.test, new.test)] if alike else []
    yield from found or (Shift("changed", f"before: {asked(old)}"), Shift("changed", f"now: {asked(new)}"))


def _severity(old: Rule, new: Rule) -> Iterator[Shift]:
    if old.heading.severity != new.heading.severity:
        must = new.heading.severity == "must"
        yield Shift(
            "tightened" if must else "loosened", "must be met; before, advice" if must else "advice; before, a must"
        )


def _kept_shifts(old: Kept | None, new: Kept | None) -> Iterator[Shift]:
    """What differs in which older parts stay: the more of them and the longer, the looser."""
    if old is not None and new is not None:
        yield from (shift for compare in KEPT for shift in compare(old, new))
    elif new is not None:
        yield Shift("loosened", f"older parts stay: {new.words}")
    elif old is not None:
        yield Shift("tightened", f"older parts no longer stay: {old.words}")


def _condition_shifts(old: Sequence[Condition], new: Sequence[Condition], came: str, went: str) -> Iterator[Shift]:
    """What differs in the conditions: with each more a clause is asked in fewer cases; with others, in other ones."""
    gone = [one for one in old if not any(_same_condition(one, two) for two in new)]
    more = [one for one in new if not any(_same_condition(one, two) for two in old)]
    both = bool(gone and more)
    yield from (Shift("changed" if both else "loosened", f"{came} {condition_words(one)}") for one in more)
    yield from (Shift("changed" if both else "tightened", f"{went} {condition_words(one)}") for one in gone)


def _same_condition(one: Condition, two: Condition) -> bool:
    return one.kind == two.kind and same(one.test, two.test)


def _date_shifts(old: Rule, new: Rule, *, phased: bool) -> Iterator[Shift]:
    compares = DATES[len(BEGINNINGS) :] if phased else DATES
    yield from (shift for compare in compares for shift in compare(old.heading, new.heading))
    if old.ended != new.ended:
        before, after = (phase_words(rule.ended) if rule.ended else "" for rule in (old, new))
        yield Shift("when", f"falls away {before or 'at no time'} -> {after or 'at no time'}")


def _says(old: Rule, new: Rule) -> Iterator[Shift]:
    """What the words of a clause were; of a kind that is words alone they are what it asks."""
    if old.heading.says != new.heading.says:
        way: Way = "changed" if isinstance(new.test, Seen | Conduct) else "words"
        yield Shift(way, f"before, it said: {old.heading.says}")
