"""How a sheet writes numbers and dates, and the same text in our form: `1.234,50 €` is 1234.50.

A workbook does not write them but holds them; their texts are in our form from the start.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass
from functools import lru_cache
from typing import TypeAlias


class InOurForm(str):
    """The text of a cell that a workbook holds as a number, a date or yes and no: in our form, whatever a map says."""

    __slots__ = ()


class ANumber(InOurForm):
    """A cell that holds a number."""

    __slots__ = ()


class ADate(InOurForm):
    """A cell that holds a date or a time."""

    __slots__ = ()


#: A text in our form, or why not: code, what is wrong, advice.
Reading: TypeAlias = str | tuple[str, str, str]
#: Puts the text of a cell into our form.
Form: TypeAlias = Callable[[str], Reading]

#: Texts that a form remembers with what they are in ours: most columns hold few different ones.
REMEMBERED = 4096
#: What may group digits by threes, each with the characters that stand for it.
GROUPS = {".": ".", ",": ",", "'": "'\u2019", " ": " \u00a0\u2009\u202f"}
#: The parts of a date with their digits; a year of two digits is of this century.
PARTS = {"year": r"\d{4}", "yy": r"\d{2}", "month": r"\d{1,2}", "day": r"\d{1,2}"}
#: How dates are written where nothing else is said.
OUR_DATES = "year-month-day"


@dataclass(frozen=True, slots=True)
class Numbers:
    """Numbers with a decimal mark, thousands grouped ('': not), and words around them.

    Without a decimal mark only the words are taken off.
    """

    decimal: str = ""
    thousands: str = ""
    strip: tuple[str, ...] = ()

    def form(self) -> Form:
        """
        >>> Numbers(",", ".", ("€",)).form()("1.234,50 €")
        '1234.50'
        """
        group = f"[{GROUPS[self.thousands]}]" if self.thousands else ""
        whole = rf"\d+|[1-9]\d{{0,2}}(?:{group}\d{{3}})+" if group else r"\d+"
        number = re.compile(rf"([+\u2212-]?)({whole})(?:{re.escape(self.decimal)}(\d+))?(\s*%)?")

        @lru_cache(REMEMBERED)
        def ours(text: str) -> Reading:
            bare = self._bare(text)
            if not self.decimal or not bare:
                return bare
            found = number.fullmatch(bare)
            if found is None:
                return self._fault(bare)
            sign, digits, decimals, percent = found.groups("")
            digits = digits if digits.isdigit() else re.sub(r"\D", "", digits)
            point = "." if decimals else ""
            return f"{sign}{digits}{point}{decimals}{percent}".replace("\u2212", "-")

        return ours

    def _bare(self, text: str) -> str:
        """The text without the words around it."""
        before = ""
        while text != before:
            before = text
            for word in self.strip:
                text = text.removeprefix(word).removesuffix(word).strip()
        return text

    def _fault(self, bare: str) -> tuple[str, str, str]:
        if re.search(r"[^\d\s.,'\u2019+\u2212%-]", bare):
            return "REA017", "not a number:", "name what stands around numbers in strip, other texts in words"
        example = f"1{self.thousands}234{self.decimal}5"
        return "REA024", "a number in another form:", f"the map says {example}; correct its decimal and thousands"


def date_form(parts: str) -> Form | None:
    """The form of dates in which these parts follow each other, `day.month.year`; None where they make no date.

    >>> date_form("day.month.year")("8.1.2027")
    '2027-01-08'
    """
    names = re.split(r"[./ -]", parts)
    marks = set(re.findall(r"[./ -]", parts))
    if sorted(names) not in (["day", "month", "year"], ["day", "month", "yy"]) or len(marks) != 1:
        return None
    pattern = re.compile(re.escape(marks.pop()).join(f"(?P<{name}>{PARTS[name]})" for name in names))

    @lru_cache(REMEMBERED)
    def ours(text: str) -> Reading:
        found = pattern.fullmatch(text)
        if found is None:
            return "REA019", f"not a date in the form {parts}:", "correct it, or dates in the map"
        given = found.groupdict()
        year = given["year"] if "year" in given else f"20{given['yy']}"
        return f"{year}-{given['month']:0>2}-{given['day']:0>2}"

    return ours
