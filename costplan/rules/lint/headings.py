"""What the heading of a clause says: its dates, its penalty, the older parts that stay."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date

from costplan.rules.lint.desk import Desk, Found, on


def ends_before_it_begins(desk: Desk) -> Iterator[Found]:
    """A clause whose last day lies before its first."""
    for rule in desk.pack.rules:
        since, sunset = rule.since(desk.facts.rounds), rule.heading.sunset
        if since is not None and sunset is not None and sunset < since != date.max:
            yield on(rule, f"ends on {sunset}, before it begins on {since}", "give a later sunset")


def over_before_the_season(desk: Desk) -> Iterator[Found]:
    """A clause that has ended when the books open; one that another took the place of is meant to."""
    for rule in desk.pack.rules:
        sunset, since = rule.heading.sunset, desk.span(rule)[0]
        if desk.facts.opens and sunset and since <= sunset < desk.facts.opens:
            yield on(rule, f"ended on {sunset}, before the season opens on {desk.facts.opens}", "leave it out")


def round_that_never_comes(desk: Desk) -> Iterator[Found]:
    """A clause from a round that the calendar lacks."""
    rounds = len(desk.facts.rounds)
    for rule in desk.pack.rules:
        if rounds and (rule.heading.from_round or 0) > rounds:
            what = f"in force from round {rule.heading.from_round}; the calendar has {rounds}"
            yield on(rule, what, f"give a round up to {rounds}, or a day")


def advice_with_penalty(desk: Desk) -> Iterator[Found]:
    """Advice that costs something to break."""
    for rule in desk.pack.rules:
        if rule.heading.severity == "should" and rule.heading.penalty:
            what = f"only advice, and yet a penalty: {rule.heading.penalty}"
            yield on(rule, what, 'make it severity = "must", or leave the penalty out')


def keeps_everything(desk: Desk) -> Iterator[Found]:
    """A clause that lets all older parts stay for good, whenever they were bought."""
    for rule in desk.pack.rules:
        kept = rule.heading.kept
        if kept is not None and not (kept.parts or kept.serials or kept.bought_before or kept.until):
            yield on(rule, "all older parts may stay for good", "give parts, bought_before, serials or until")
