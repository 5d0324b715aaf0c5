"""What the officials spend on a change: minutes of inspection by car, over the rounds, and gauges once."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from decimal import Decimal

from costplan.formulas.economics import administrative_burden
from costplan.impact.figures import Enforcement
from costplan.impact.records import Study
from costplan.money import round_money
from costplan.rules import Pack, Rule


def enforcement_of(
    before: Sequence[Pack], after: Sequence[Pack], study: Study, rounds: int, currency: str
) -> Enforcement:
    """Minutes of the clauses that differ, by car, times cars, rounds and an inspector's hour.

    Clauses that state no minutes count as none; what opening an engine takes is the entrant's, or whoever pays for it.
    """
    old, new = (_differing(one, other) for one, other in ((before, after), (after, before)))
    minutes = [sum(rule.heading.minutes for rule in rules) for rules in (old, new)]
    hours = [number / 60 for number in minutes]
    rate = float(study.inspector_rate)
    costs = [administrative_burden(time, rate, study.cars_inspected, rounds) for time in hours]
    tools = {rule.heading.tool for pack in before for rule in pack.rules}
    more = dict.fromkeys(rule.heading.tool for rule in new if rule.heading.tool and rule.heading.tool not in tools)
    return Enforcement(
        tuple(dict.fromkeys(rule.id for rule in (*old, *new))),
        tuple(rule.id for rule in new if rule.kind == "conduct"),
        minutes[0],
        minutes[1],
        study.cars_inspected,
        rounds,
        round_money(Decimal(repr(costs[1])) - Decimal(repr(costs[0])), currency),
        study.inspection_setup if more else Decimal(0),
        tuple(more),
    )


def _differing(packs: Iterable[Pack], others: Iterable[Pack]) -> tuple[Rule, ...]:
    """The clauses of some books that others do not have alike."""
    known = {_said(rule) for pack in others for rule in pack.rules}
    return tuple(rule for pack in packs for rule in pack.rules if _said(rule) not in known)


def _said(rule: Rule) -> str:
    """A clause as its keys have it, wherever it stands."""
    conditions = [(one.kind, one.test) for one in (*rule.when, *rule.unless)]
    return f"{rule.heading!r} {rule.test!r} {conditions!r} {rule.ended!r}"
