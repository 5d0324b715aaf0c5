"""Seasons to judge on: what is chosen on some seasons looks better on those than it is."""

from __future__ import annotations


def unseen(seed: int) -> int:
    """The seed of seasons that a search with a seed has not seen: the one farthest from it, as seeds go round.

    So neither does a search with one of the seeds next to it, which are those that people try.

    >>> unseen(1), unseen(unseen(1))
    (2147483649, 1)
    """
    return (seed + 2**31) % 2**32
