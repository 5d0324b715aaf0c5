"""Where a drawn season takes its numbers from: a generator in the order of asking, or the published streams by name."""

from __future__ import annotations

import hashlib
from collections.abc import Sequence
from typing import Protocol

import numpy as np

WORD = 0xFFFFFFFF
LIFE, RAIN, CASE, CHECK, HAZARD = 1, 2, 3, 4, 5


class Draws(Protocol):
    def uniform(self, stream: int, name: Sequence[str], n: int = 0) -> float:
        """A number above 0 and below 1 for the n-th time that something is drawn for a name."""


class Generated:
    """Numbers in the order in which they are asked for."""

    def __init__(self, generator: np.random.Generator) -> None:
        self.generator = generator

    def uniform(self, stream: int, name: Sequence[str], n: int = 0) -> float:  # noqa: ARG002 - as Draws has it
        return 1.0 - self.generator.random()


class Streams:
    """The numbers that the machine draws in a season, from its description in the JSON alone."""

    def __init__(self, seed: int, season: int) -> None:
        self.seed, self.season = seed, season

    def uniform(self, stream: int, name: Sequence[str], n: int = 0) -> float:
        digest = hashlib.blake2b("\x1f".join(name).encode(), digest_size=8).digest()
        words = int.from_bytes(digest[:4], "little"), int.from_bytes(digest[4:], "little")
        w0, w1 = philox((self.season & WORD, *words, n), (self.seed & WORD, stream))
        return ((w0 << 20 | w1 >> 12) + 0.5) / 2**52


def philox(counter: tuple[int, int, int, int], key: tuple[int, int]) -> tuple[int, int]:
    """The first two words of Philox4x32-10."""
    (c0, c1, c2, c3), (k0, k1) = counter, key
    for _ in range(10):
        first, second = 0xD2511F53 * c0, 0xCD9E8D57 * c2
        c0, c1, c2, c3 = second >> 32 ^ c1 ^ k0, second & WORD, first >> 32 ^ c3 ^ k1, first & WORD
        k0, k1 = (k0 + 0x9E3779B9) & WORD, (k1 + 0xBB67AE85) & WORD
    return c0, c1
