"""Which assumption turns an answer about: each moved by a fifth must give what a study with it so moved gives.

Parts hold as long as is stated, so that all entrants of a group are alike and a study is exact.
"""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path

import pytest
from pytest import approx

from costplan.impact.flipping import Flip, Flips, zero_at
from tests.test_impact.small_field import FILES, SPRINGS_ALONE, SURE, desk, field_of, written

LEVELS = FILES["levels.csv"]


def parts(price: float, by: float = 1.0) -> str:
    """The parts with springs B at a price, and all prices so many times what they are."""
    header, *rows = FILES["catalog/parts.csv"].replace("SP-B,spring,Dale,30", f"SP-B,spring,Dale,{price}").splitlines()
    cells = [row.split(",") for row in rows]
    return (
        "\n".join([header, *(",".join([*row[:3], str(round(float(row[3]) * by, 2)), *row[4:]]) for row in cells)])
        + "\n"
    )


def flips_of(folder: Path, name: str = "springs", **files: str) -> Flips:
    made = desk(field_of(written(folder, **files), name))
    (found,) = made.flips(made.impact().changes)
    return found


def over(folder: Path, name: str = "springs", **files: str) -> float:
    """What the field's cost over the years is in a study of its own."""
    return float(desk(field_of(written(folder, **files), name)).impact().changes[0].total.over.mean)


def named(found: Flips, word: str) -> Flip:
    return next(one for one in found.assumptions if one.assumption.startswith(word))


@pytest.mark.parametrize(
    ("lower", "plain", "higher", "at"),
    [
        (10.0, 5.0, -5.0, 1.1),
        (-5.0, 5.0, 15.0, 0.9),
        (-15.0, 5.0, -5.0, 0.95),  # of two the nearer
        (-2.0, -4.0, 4.0, 1.1),
        (10.0, 5.0, 1.0, None),
        (-10.0, -5.0, -1.0, None),
    ],
)
def test_where_a_cost_is_zero(lower: float, plain: float, higher: float, at: float | None) -> None:
    assert zero_at(lower, plain, higher) == (None if at is None else approx(at))


@pytest.fixture(scope="module")
def found(tmp_path_factory: pytest.TempPathFactory) -> Flips:
    return flips_of(tmp_path_factory.mktemp("flips"), lives=SPRINGS_ALONE, parts=parts(48))


def moved(by: float) -> Mapping[str, dict[str, str]]:
    """Studies with one assumption so many times what it is."""
    return {
        "labour": {"levels": LEVELS.replace("2,40,0,", f"2,{40 * by},0,"), "parts": parts(48)},
        "prices of parts": {"parts": parts(48, by)},
        "rate of discount": {"impact": f"years = 4\ndiscount = {0.07 * by}\n", "parts": parts(48)},
        "what parts sell for": {"impact": f"years = 4\nhaircut = {1 - 0.6 * by}\n", "parts": parts(48)},
    }


@pytest.mark.parametrize("word", moved(1.0))
def test_an_assumption_a_fifth_wrong_is_a_study_with_it(found: Flips, tmp_path: Path, word: str) -> None:
    flip = named(found, word)
    for end, by in ((flip.lower, 0.8), (flip.higher, 1.2)):
        assert float(end) == approx(over(tmp_path, lives=SPRINGS_ALONE, **moved(by)[word]), abs=0.03)


def test_a_fifth_more_of_a_group_costs_a_fifth_more(found: Flips) -> None:
    flip = named(found, "number of locals")
    assert float(flip.lower) == approx(0.8 * float(found.over), abs=0.02)
    assert float(flip.higher) == approx(1.2 * float(found.over), abs=0.02)
    assert not flip.flips  # a number of entrants changes no sign


def test_how_far_speeds_follow(tmp_path: Path) -> None:
    flip = named(flips_of(tmp_path, "box", lives=SURE), "how far speeds")
    less = over(tmp_path, "box", lives=SURE, impact="years = 4\nrpm_follows = 0.8\n")
    assert float(flip.lower) == approx(less, abs=0.03)


def test_ages_of_what_is_on_hand(tmp_path: Path) -> None:
    def field(age: float) -> str:
        return f"group,entrants,age_low,age_high\nlocals,3,{age},{age}\n"

    flip = named(flips_of(tmp_path, lives=SPRINGS_ALONE, field=field(0.5)), "ages")
    for end, age in ((flip.lower, 0.4), (flip.higher, 0.6)):
        assert float(end) == approx(over(tmp_path, lives=SPRINGS_ALONE, field=field(age)), abs=0.03)


def test_an_assumption_that_flips_the_answer_comes_first_and_says_where(tmp_path: Path) -> None:
    found = flips_of(tmp_path, lives=SPRINGS_ALONE, parts=parts(52))  # near nothing: what saves work costs springs
    first = found.assumptions[0]
    assert first.flips
    assert (first.lower > 0) != (first.higher > 0)
    plain = float(found.over)
    end, by = (first.lower, -0.2) if (first.lower > 0) != (found.over > 0) else (first.higher, 0.2)
    assert first.at == approx(1 + by * plain / (plain - float(end)))
    assert [one.flips for one in found.assumptions] == sorted((one.flips for one in found.assumptions), reverse=True)
    # and where it says so, a study finds about nothing
    labour = named(found, "labour")
    assert labour.at is not None
    levels = LEVELS.replace("2,40,0,", f"2,{40 * labour.at:.4f},0,")
    assert over(tmp_path, lives=SPRINGS_ALONE, parts=parts(52), levels=levels) == approx(0, abs=0.1)


def test_who_cannot_comply_flips_nothing(tmp_path: Path) -> None:
    assert flips_of(tmp_path, "never", lives=SPRINGS_ALONE).assumptions == ()
