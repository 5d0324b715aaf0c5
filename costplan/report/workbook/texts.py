"""Texts as a cell takes them: what it can hold, and how many lines it needs."""

from __future__ import annotations

import re
from math import ceil
from unicodedata import east_asian_width

#: How wide signs are in digits, on the wide side: East Asian ones, capitals, all others.
WIDE, CAPITAL, NARROW = 2.0, 1.25, 0.84
#: By how much more a long word is that is broken at its strokes and hyphens, into lines that are not full.
UNEVEN = 1.3
#: What a cell can hold, in the 16-bit units that a workbook counts in.
LONGEST_TEXT = 32_767
#: Controls but tab and line feed, halves of pairs, and what is no character: XML has none of them.
UNPRINTABLE = re.compile("[\x00-\x08\x0b-\x1f\x7f-\x9f\ud800-\udfff\ufffe\uffff]")


def clean(words: str) -> str:
    """A text that a file can hold: what is no printable character is shown as a mark.

    A text that would be taken for markup of a cell ends in a blank.

    >>> clean("a\\x00b\\r\\nc"), clean("<r>x</r>")
    ('a\ufffdb\\nc', '<r>x</r> ')
    """
    words = UNPRINTABLE.sub("\ufffd", words.replace("\r\n", "\n").replace("\r", "\n"))
    return f"{words} " if words.startswith("<r>") and words.endswith("</r>") else words


def cut(words: str, most: int) -> str:
    """A text of at most so many 16-bit units, with dots where it was cut.

    >>> cut("as it is", 8), cut("a long text", 8)
    ('as it is', 'a lon...')
    """
    units = words.encode("utf-16-le")
    return words if len(units) <= 2 * most else units[: 2 * most - 6].decode("utf-16-le", "ignore") + "..."


def lines_of(words: str, width: float) -> int:
    """The lines that a text takes in a column of so many digits, words being kept whole where they can be.

    >>> lines_of("", 10), lines_of("a word and another", 10), lines_of("one\\ntwo", 10), lines_of("VERY WIDE", 10)
    (1, 2, 2, 2)
    """
    return sum(_lines_of_one(line, width) for line in clean(words[:LONGEST_TEXT]).split("\n"))


def _lines_of_one(line: str, width: float) -> int:
    """The lines that a text without breaks takes."""
    count, left = 1, width
    for word in line.split(" "):
        wide = _width_of(word)
        if wide > left < width:
            count, left = count + 1, width
        more = ceil(UNEVEN * wide / width) - 1 if wide > width else 0
        count, left = count + more, left - wide + more * width - NARROW
    return count


def _width_of(word: str) -> float:
    """How wide a word is, in digits."""
    capitals = sum(map(str.isupper, word))
    wide = 0 if word.isascii() else sum(east_asian_width(sign) in "WF" for sign in word)
    return NARROW * (len(word) - capitals - wide) + CAPITAL * capitals + WIDE * wide
