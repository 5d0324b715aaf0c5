"""How a build answers the test of a clause, and the finding that comes of it."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date

from costplan.quantity import Quantity
from costplan.rules.evidence import Verdict


@dataclass(frozen=True, slots=True)
class Answer:
    """What a kind's own check finds on paper, and what it rests on.

    `faulty`: the slots and parts that break it; `unmeasured`: what a proof by measurement still lacks, None where the
    kind does not know; `low` and `high` the worst cases, `worst_breaks` one past the limit, `uncertainty` of what was
    measured, `close` whether the limit lies within it; `settled`: proofs that the answer itself rests on.
    """

    on_paper: Verdict
    faulty: tuple[tuple[str, str], ...] = ()
    at_fault: tuple[str, ...] = ()
    value: Quantity | str | None = None
    limit: str = ""
    margin: Quantity | None = None
    low: Quantity | None = None
    high: Quantity | None = None
    uncertainty: Quantity | None = None
    close: bool = False
    worst_breaks: bool = False
    owed: tuple[str, ...] = ()
    unmeasured: tuple[str, ...] | None = None
    settled: tuple[str, ...] = ()
    why: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Finding:
    """How an engine answers a clause on a day.

    `on_paper` is what the list and the bench say; the `verdict` is no more than *cannot be shown* while a proof is
    `owed`. `shown_by` are the proofs that were brought. `not asked`: out of force, or its condition does not hold.
    """

    rule: str
    kind: str
    says: str
    clause: str
    severity: str
    verdict: Verdict
    on_paper: Verdict
    at_fault: tuple[str, ...]
    value: Quantity | str | None
    limit: str
    margin: Quantity | None
    low: Quantity | None
    high: Quantity | None
    uncertainty: Quantity | None
    close: bool
    worst_breaks: bool
    owed: tuple[str, ...]
    shown_by: tuple[str, ...]
    tool: str
    minutes: float
    pays: str
    penalty: str
    slots: tuple[str, ...]
    why: tuple[str, ...]
    place: str


@dataclass(frozen=True, slots=True)
class Recognised:
    """A pack that counts in place of another, and how an engine stands to it."""

    pack: str
    name: str
    stands: Verdict


@dataclass(frozen=True, slots=True)
class Ahead:
    """A day on which a clause answers otherwise than the day before, for nothing but the calendar."""

    date: date
    rule: str
    before: Verdict
    after: Verdict


def worst(findings: Iterable[Finding]) -> Finding:
    """The finding that decides where all must hold: what breaks, else what cannot be shown, else the narrowest."""
    order: tuple[Verdict, ...] = ("breaks", "cannot be shown", "meets", "not asked")
    return min(findings, key=lambda one: (order.index(one.verdict), one.margin.value if one.margin else math.inf))
