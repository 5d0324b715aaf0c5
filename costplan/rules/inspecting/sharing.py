"""Cars shared out whole among inspectors."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

#: Ways of sharing cars out that are tried before the plain one is taken.
TRIES = 20_000


def share_out(minutes: Sequence[int], inspectors: int, most: int) -> tuple[int, ...]:
    """Which inspector, from 0, takes each of some cars, so that nobody has more than `most` minutes if that is found.

    Longest first, each to whoever has least so far; where that gives somebody too many, other ways are searched,
    longest first again, up to `TRIES` steps: of few cars all ways, of many not all.

    >>> share_out([34, 33, 33, 50, 50], 2, 100)
    (1, 1, 1, 0, 0)
    """
    order = sorted(range(len(minutes)), key=lambda car: -minutes[car])
    sizes = [minutes[car] for car in order]
    level = _levelled(sizes, inspectors)
    over = max(loads_of(sizes, level, inspectors), default=0) > most
    who = (_fitted(sizes, inspectors, most) if over else None) or level
    return tuple(inspector for _, inspector in sorted(zip(order, who, strict=True)))


def loads_of(minutes: Iterable[int], who: Iterable[int], inspectors: int) -> tuple[int, ...]:
    """The minutes of each inspector."""
    loads = [0] * inspectors
    for size, inspector in zip(minutes, who, strict=True):
        loads[inspector] += size
    return tuple(loads)


def _levelled(sizes: Sequence[int], inspectors: int) -> list[int]:
    """Each to whoever has least so far; of those alike to whoever has fewest cars."""
    loads, cars, who = [0] * inspectors, [0] * inspectors, []
    for size in sizes:
        least = min(range(inspectors), key=lambda one: (loads[one], cars[one]))
        loads[least] += size
        cars[least] += 1
        who.append(least)
    return who


def _fitted(sizes: Sequence[int], inspectors: int, most: int) -> list[int] | None:
    """A way that gives nobody more than `most`; None where none is found in `TRIES` steps."""
    loads, who = [0] * inspectors, [-1] * len(sizes)
    car, tries = 0, 0
    while 0 <= car < len(sizes) and tries < TRIES:
        tries += 1
        if who[car] >= 0:
            loads[who[car]] -= sizes[car]
        at = _next_with_room(sizes[car], loads, who[car] + 1, most)
        who[car] = at
        if at < 0:
            car -= 1
        else:
            loads[at] += sizes[car]
            car += 1
    return who if car == len(sizes) else None


def _next_with_room(size: int, loads: Sequence[int], start: int, most: int) -> int:
    """The next inspector with room for a car, of several with the same load the first alone; -1 where there is none."""
    return next((at for at in range(start, len(loads)) if loads[at] + size <= most and loads[at] not in loads[:at]), -1)
