"""Limits on one thing: that no value meets both, or that one leaves the other nothing to decide."""

from __future__ import annotations

from collections.abc import Hashable, Iterator
from math import isclose

from costplan.quantity import dimension
from costplan.rules.clause import Rule
from costplan.rules.kinds import Limit
from costplan.rules.lint.desk import Desk, Found, on, words_of
from costplan.rules.lint.pairs import first_against, groups_of, outdoes, shared_days
from costplan.rules.lint.reaches import in_order


def _thing(test: Limit) -> tuple[Hashable, ...]:
    """What a limit limits, measured how."""
    names = (tuple(sorted(words)) for words in (test.of, test.less, test.without))
    return *names, test.reads, test.prices_on, test.method, dimension(test.unit) or test.unit


def limits_contradict(desk: Desk) -> Iterator[Found]:
    """Two limits on one thing that no value meets."""

    def against(one: tuple[Rule, Limit], other: tuple[Rule, Limit]) -> bool:
        first, second = desk.reach(one[1]), desk.reach(other[1])
        low, high = max(first[0], second[0]), min(first[1], second[1])
        return low > high and not isclose(low, high) and shared_days(desk, one[0], other[0]) is not None

    for one, other in first_against(groups_of(desk, Limit, lambda test: [_thing(test)]), against, mutual=True):
        what = f"{words_of(other)}; but {one.id} asks {words_of(one)}: no value meets both"
        yield on(other, what, "change one, or part them by dates or conditions", one.id)


def limit_idle(desk: Desk) -> Iterator[Found]:
    """A limit that never decides, as a tighter one always does before."""

    def against(one: tuple[Rule, Limit], other: tuple[Rule, Limit]) -> bool:
        inner, outer = desk.reach(one[1]), desk.reach(other[1])
        return in_order(outer[0], *inner, outer[1]) and outdoes(desk, one[0], other[0])

    for one, other in first_against(groups_of(desk, Limit, lambda test: [_thing(test)]), against):
        what = f"{words_of(other)}: never decides, as {one.id} asks {words_of(one)}"
        yield on(other, what, f"leave it out, or loosen {one.id}", one.id)
