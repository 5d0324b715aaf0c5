"""Linear damage: loads that each use up their own share of a life."""

from __future__ import annotations

import math
from collections.abc import Sequence

from costplan.formulas.checking import InputError, listed, need_at_least, need_finite


def damage_by_load(use: Sequence[float], lives: Sequence[float]) -> tuple[float, ...]:
    """What each load takes of a life in one repeat of a duty cycle: use / life under that load alone.

    Use at each load and the life under it are in one unit; the shares of damage have none and add up to the damage of
    a repeat, in whatever order the loads come. A load that is not used takes nothing; a life may be infinite.
    Source: Palmgren (1924) and Miner, Journal of Applied Mechanics 12 (1945), from memory.
    Errors: InputError where the lists differ in length or are empty, use is negative or a life is not above 0.

    >>> damage_by_load((1, 2), (10, 40))
    (0.1, 0.05)
    """
    if not use or len(use) != len(lives):
        raise InputError("use", listed(use), f"give one for each of {len(lives)} lives, at least one")
    for hours, life in zip(use, lives, strict=True):
        need_at_least(0, use=hours)
        if not life > 0:
            raise InputError("lives", life, "give lives above 0")
    return tuple(hours / life for hours, life in zip(use, lives, strict=True))


def repeats_to_failure(use: Sequence[float], lives: Sequence[float]) -> float:
    """How often a duty cycle can be repeated until its damage adds up to a life: 1 / sum of (use / life).

    Infinite where nothing does damage. With one load: life / use.
    Source and errors: as `damage_by_load`.

    >>> round(repeats_to_failure((1, 2), (10, 40)), 6)
    6.666667
    """
    damage = math.fsum(damage_by_load(use, lives))
    need_finite(damage=damage)
    return 1 / damage if damage else math.inf
