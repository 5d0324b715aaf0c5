"""Text and marks stand out from what is behind them, in light, in dark and on paper.

WCAG 2.2 (W3C Recommendation), success criteria 1.4.3 (text 4.5:1) and 1.4.11 (graphics 3:1), with the definitions of
contrast ratio and relative luminance there.
"""

from __future__ import annotations

import re
from itertools import product
from pathlib import Path

import pytest

CSS = Path("costplan/report/web/look/page.css").read_text("utf-8")
SCHEMES = dict(zip(("light", "dark", "print"), re.findall(r":root \{(.*?)\}", CSS, re.S), strict=True))
BEHIND_TEXT = ("paper", "sheet")
TEXT = ("ink", "faint", "blue", "ochre")
MARKS = ("blue", "ochre", "brick", "moss", "slate", "ink")


def colours(scheme: str) -> dict[str, str]:
    return dict(re.findall(r"--(\w+): (#[0-9a-f]{6});", SCHEMES[scheme]))


def luminance(colour: str) -> float:
    parts = (int(colour[at : at + 2], 16) / 255 for at in (1, 3, 5))
    red, green, blue = (part / 12.92 if part <= 0.04045 else ((part + 0.055) / 1.055) ** 2.4 for part in parts)
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def contrast(one: str, other: str) -> float:
    light, dark = sorted((luminance(one), luminance(other)), reverse=True)
    return (light + 0.05) / (dark + 0.05)


def test_the_ratio_is_that_of_the_standard() -> None:
    """21:1 for black on white, as the definition says; 4.48 for #777777 on white (WCAG's Understanding 1.4.3 rounds
    it up to no more than 4.5)."""
    assert contrast("#000000", "#ffffff") == pytest.approx(21)
    assert contrast("#777777", "#ffffff") == pytest.approx(4.48, abs=0.005)


@pytest.mark.parametrize(("scheme", "text", "behind"), [*product(SCHEMES, TEXT, BEHIND_TEXT)])
def test_text_can_be_read(scheme: str, text: str, behind: str) -> None:
    known = colours(scheme)
    assert contrast(known[text], known[behind]) >= 4.5


@pytest.mark.parametrize(("scheme", "behind"), [*product(SCHEMES, ("mark", "alert"))])
def test_text_can_be_read_where_it_is_pointed_out(scheme: str, behind: str) -> None:
    known = colours(scheme)
    assert min(contrast(known[text], known[behind]) for text in ("ink", "faint")) >= 4.5


@pytest.mark.parametrize(("scheme", "mark"), [*product(SCHEMES, MARKS)])
def test_marks_can_be_seen(scheme: str, mark: str) -> None:
    known = colours(scheme)
    assert contrast(known[mark], known["sheet"]) >= 3
