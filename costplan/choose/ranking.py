"""The best bills by the cost of parts a season, one after the other, and how the season machine ranks them.

The sum over slots is proved, and leaves out labour, what is renewed together and what breaks what; the machine has all
of that, and cannot be searched through. So the first so many of the sum are played on it.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass, replace

from costplan.build import Build
from costplan.choose.aims import AIMS, SEASON, Aimed
from costplan.choose.choosing import Option, option_of
from costplan.choose.comparing import differences
from costplan.choose.encoded import other_parts_than, with_restrictions
from costplan.choose.puzzle import Pick
from costplan.choose.replayed import Replayed, replay
from costplan.choose.settling import settle
from costplan.season.drawn.drawing import QUIET, Watch


@dataclass(frozen=True, slots=True)
class Ranked:
    """A bill with its place by the sum over slots and by the machine, 1 the cheapest; None where it has no season.

    `changes`: the slots in which it differs from the first by the sum, with both parts.
    """

    option: Option
    by_sum: int
    by_machine: int | None
    replayed: Replayed
    changes: tuple[tuple[str, str, str], ...]


def best_by_season(
    aimed: Aimed, number: int, seconds: float, watch: Callable[[Iterable[int]], Iterable[int]] = iter
) -> tuple[tuple[Pick, ...], bool]:
    """The picks with the lowest cost of parts a season, no two alike in all that wears; whether each is proved."""
    encoded, found, proved = aimed.encoded, list[Pick](), True
    wearing = encoded.puzzle.amounts[SEASON].weights
    for _ in watch(range(number)):
        settled = settle(encoded, AIMS["season"].goals, seconds / number)
        if settled.solved.pick is None:
            return tuple(found), proved and settled.solved.status == "impossible"
        found.append(settled.solved.pick)
        proved = proved and settled.solved.status == "optimal"
        encoded = with_restrictions(settled.encoded, [other_parts_than(settled.encoded, settled.solved.pick, wearing)])
    return tuple(found), proved


def rank(aimed: Aimed, picks: tuple[Pick, ...], seasons: int, seed: int, watch: Watch = QUIET) -> tuple[Ranked, ...]:
    """Bills by what the machine says a season of each costs; `picks` are in the order of the sum."""
    options = [option_of(aimed, pick) for pick in picks]
    played = replay(aimed.encoded.scenario, [build_of(aimed, option.parts) for option in options], seasons, seed, watch)
    costs = [one.played.cost.mean if one.played else None for one in played]
    order = sorted(
        (place for place, cost in enumerate(costs) if cost is not None), key=lambda place: (costs[place], place)
    )
    return tuple(
        Ranked(
            option,
            place + 1,
            order.index(place) + 1 if place in order else None,
            played[place],
            tuple(differences(options[0], option)),
        )
        for place, option in enumerate(options)
    )


def build_of(aimed: Aimed, parts: Iterable[tuple[str, str]]) -> Build:
    """The build of parts by slot, all new, as a new engine is played."""
    encoded = aimed.encoded
    new = {}
    for slot, part in parts:
        one = next(one for one in encoded.candidates[slot] if one.part == part)
        new[slot] = replace(one, fill=replace(one.fill, kit="", steps=()) if one.fill else None, piece=None)
    return encoded.judge.build_of(new)
