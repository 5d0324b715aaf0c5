"""Draws by name: the same (seed, stream, season, name, n) always gives the same number, in whatever order it is asked.

Philox4x32-10, a counter-based generator: J. K. Salmon, M. A. Moraes, R. O. Dror, D. E. Shaw, "Parallel random numbers:
as easy as 1, 2, 3", SC '11. Words are held in wider signed integers, so that plain Python and compiled code agree.
"""

from __future__ import annotations

import hashlib
import math

# Streams: what a number is drawn for.
LIFE, RAIN, CASE, CHECK, HAZARD = 1, 2, 3, 4, 5

WORD = 0xFFFFFFFF
ROUNDS = 10
MULTIPLY_0, MULTIPLY_1 = 0xD2511F53, 0xCD9E8D57
ADD_0, ADD_1 = 0x9E3779B9, 0xBB67AE85


def named(*names: str) -> tuple[int, int]:
    """The two words of a name: BLAKE2b of its parts, eight bytes of it, as two 32-bit words, the lower first."""
    digest = hashlib.blake2b("\x1f".join(names).encode(), digest_size=8).digest()
    return int.from_bytes(digest[:4], "little"), int.from_bytes(digest[4:], "little")


def high(a: int, b: int) -> int:
    """The upper word of the product of two words, without leaving 63 bits."""
    return ((a >> 16) * b + (((a & 0xFFFF) * b) >> 16)) >> 16


def low(a: int, b: int) -> int:
    """The lower word of the product of two words."""
    return (((((a >> 16) * b) & 0xFFFF) << 16) + (a & 0xFFFF) * b) & WORD


def philox(c0: int, c1: int, c2: int, c3: int, k0: int, k1: int) -> tuple[int, int, int, int]:
    """Four words from a counter of four and a key of two.

    >>> [f"{word:08x}" for word in philox(0, 0, 0, 0, 0, 0)]
    ['6627e8d5', 'e169c58d', 'bc57ac4c', '9b00dbd8']
    """
    for _ in range(ROUNDS):
        h0, l0 = high(MULTIPLY_0, c0), low(MULTIPLY_0, c0)
        h1, l1 = high(MULTIPLY_1, c2), low(MULTIPLY_1, c2)
        c0, c1, c2, c3 = h1 ^ c1 ^ k0, l1, h0 ^ c3 ^ k1, l0
        k0, k1 = (k0 + ADD_0) & WORD, (k1 + ADD_1) & WORD
    return c0, c1, c2, c3


def uniform(seed: int, stream: int, season: int, name_0: int, name_1: int, n: int) -> float:
    """A number above 0 and below 1, evenly spread over 2^52 values.

    >>> 0 < uniform(1, LIFE, 0, *named("blue", "springs"), 0) < 1
    True
    """
    w0, w1, _, _ = philox(season & WORD, name_0, name_1, n, seed & WORD, stream)
    return (((w0 << 20) | (w1 >> 12)) + 0.5) / 4503599627370496.0


def life_given(scale: float, shape: float, age: float, u: float) -> float:
    """A Weibull life drawn for a piece that has come to an age: scale * ((age/scale)^shape - ln u)^(1/shape).

    From the survival of those that have lived so long, S(t)/S(age) = u. An infinite scale never fails.
    """
    if scale == math.inf:
        return math.inf
    drawn: float = scale * ((age / scale) ** shape - math.log(u)) ** (1.0 / shape)
    return max(drawn, age)
