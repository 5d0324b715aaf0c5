"""Roll-up, discounting, burden and contents of an impact study against published values, each with its source."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from decimal import Decimal
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from pytest import approx

from costplan.formulas.economics import administrative_burden
from costplan.impact.adding import Books, Ends, GroupCost
from costplan.impact.costing import Priced, cost_of, factors_of
from costplan.impact.drawing import play_field
from costplan.impact.enforcing import enforcement_of
from costplan.impact.figures import Roll
from costplan.impact.records import Study
from costplan.season.drawn.years import YearDraws
from tests.command_line import answer, run
from tests.test_impact.small_field import change, desk, field_of, parts_rule, written

#: GAO-20-195G Cost Estimating and Assessment Guide (2020), Table 12: minimum, most likely, maximum of a unit, $K.
ELEMENTS = (
    ("17955", "19645", "21785"),
    ("8500", "10553", "13000"),
    ("4000", "4306", "5100"),
    ("4100", "4305", "4650"),
    ("550", "600", "650"),
    ("32300", "35547", "52500"),
    ("1950", "2136", "2600"),
)
UNITS = 32


def roll_of(folder: Path, correlation: float, *elements: tuple[str, str, str], units: int = 1) -> Roll:
    """The roll-up of groups of one entrant that are each an element, so many units of it."""
    field = replace(
        field_of(written(folder, field="group,entrants\none,1\n"), "springs"), study=Study(correlation=correlation)
    )
    made = desk(field)
    books = Books(field)
    group = books.group(play_field(made.groups, made.asked)[0], 0)
    assert group is not None
    return books.roll([as_element(group, *(100.0 * units * float(end) for end in element)) for element in elements])


def as_element(group: GroupCost, low: float, likely: float, high: float) -> GroupCost:
    """A group that costs so much over the years, minor units."""
    over = Priced(likely, 0.0)
    (cost,) = group.costs.each
    return replace(
        group,
        costs=replace(group.costs, each=(replace(cost, over=(over, over)),)),
        ends=Ends(low - likely, high - likely),
    )


def test_c01_roll_up_of_likely_costs(tmp_path: Path) -> None:
    # GAO-20-195G, Table 12: $77 M a unit and, for 32 units, $2.47 billion
    a_unit = roll_of(tmp_path, 0.0, *ELEMENTS).range.likely
    assert a_unit == 77092
    assert round(a_unit / 1000) == 77
    assert roll_of(tmp_path, 0.0, *ELEMENTS, units=UNITS).range.likely == Decimal(2466944)
    assert roll_of(tmp_path, 0.0, *ELEMENTS).range.low == 69355
    assert roll_of(tmp_path, 0.0, *ELEMENTS).range.high == 100285


@pytest.mark.parametrize(
    ("correlation", "deviation"),
    [(0.0, "4599.61"), (0.2, "5072.20"), (0.3, "5292.70"), (0.5, "5708.20"), (1.0, "6634.06")],
)
def test_c03_roll_up_with_correlation(tmp_path: Path, correlation: float, deviation: str) -> None:
    # Algebra of variances over GAO-20-195G, Table 12; correlation as GAO and the Joint Agency Cost Schedule Risk and
    # Uncertainty Handbook advise
    found = roll_of(tmp_path, correlation, *ELEMENTS)
    assert found.deviation == Decimal(deviation)
    # the mean of triangular elements is a third of their three ends: 246732 / 3
    assert found.mean == Decimal("82244.00")
    # a tenth lies beyond 1.281552 deviations of a normal (NIST/SEMATECH e-Handbook 1.3.6.7.1)
    assert float(found.p90 - found.mean) == approx(1.281552 * float(deviation), abs=0.02)
    assert float(found.mean - found.p10) == approx(1.281552 * float(deviation), abs=0.02)


def test_c03_what_is_sure_adds_nothing_to_the_spread(tmp_path: Path) -> None:
    plain = roll_of(tmp_path, 0.3, *ELEMENTS)
    with_sure = roll_of(tmp_path, 0.3, *ELEMENTS, ("500", "500", "500"))
    assert with_sure.mean - plain.mean == 500
    assert with_sure.deviation == plain.deviation


@pytest.mark.parametrize("correlation", [0.0, 0.5, 1.0])
def test_c05_one_triangular_element(tmp_path: Path, correlation: float) -> None:
    # Triangular distribution, closed form
    found = roll_of(tmp_path, correlation, ("9000", "10000", "12000"))
    assert (found.mean, found.deviation) == (Decimal("10333.33"), Decimal("623.61"))


#: OMB Circular A-94 (1992), Appendix B, at 7 %; the rate as an EPA memo on that circular has it.
FACTORS = (0.9346, 0.8734, 0.8163, 0.7629, 0.7130, 0.6663, 0.6227, 0.5820, 0.5439, 0.5083)


def test_c07_discount_factors() -> None:
    assert factors_of(0.07, 10).tolist() == approx(FACTORS, abs=5e-5)


@pytest.mark.parametrize("year", range(1, 11))
def test_c07_a_cost_of_one_year_counts_by_its_factor(year: int) -> None:
    # OMB Circular A-94, Appendix B: what is paid in a year counts at its end; what is left at the end of the last
    none = np.zeros((2, 10), dtype=np.int64)
    paid, left = none.copy(), none.copy()
    paid[:, year - 1] = 100000
    left[:, -1] = 100000
    before, after, kept = (draws(cash, end) for cash, end in ((none, none), (paid, none), (none, left)))
    assert cost_of(before, after, 0.0, (0.07,)).over[0].mean / 100000 == approx(FACTORS[year - 1], abs=5e-5)
    assert cost_of(before, kept, 0.0, (0.07,)).over[0].mean / 100000 == approx(-FACTORS[-1], abs=5e-5)
    assert cost_of(before, before, 5.0, (0.07,)).over[0].mean == 5  # what is paid once is paid today


def draws(cash: Any, left: Any) -> YearDraws:
    none = np.zeros((2, 10), dtype=np.int64)
    flat = np.zeros((10, 1))
    return YearDraws(cash, none, left, none, none.astype(float), none, none, none, flat, flat[:, None], 0, 2)


def test_c09_burden_is_price_by_quantity() -> None:
    # UK Standard Cost Model Manual (2005), section 2.2, and SEC(2005)1329, core equation: 3 h at 10 an hour, 100000
    # businesses twice a year (documents located, passages not read)
    assert administrative_burden(3, 10, 1, 1) == 30
    assert administrative_burden(1, 1, 100000, 2) == 200000
    assert administrative_burden(3, 10, 100000, 2) == 6000000


def test_c09_inspection_is_price_by_quantity(tmp_path: Path) -> None:
    # The same figures as an inspection of 180 minutes, 200000 times: 1000 cars at 200 rounds
    text = '[[add]]\nid = "ports"\nkind = "inspection"\nsays = "as cast"\nslot = "head"\nminutes = 180\n'
    field = field_of(written(tmp_path, change_springs=change("look", text)), "springs")
    study = Study(cars_inspected=1000, inspector_rate=Decimal(10))
    found = enforcement_of(field.packs, field.proposals[0].packs, study, 200, "USD")
    assert found.minutes_before == 0
    assert found.minutes_after == 180
    assert found.a_season == 6000000


STUDY = """\
need = "Springs cost more than the rest."
meets = "One spring that lasts."
changes = ["change-springs.toml"]
not_studied = ["a claim rule", "a price cap"]
years = 4
discount = 0.07
discount_other = 0.03
haircut = 0.4
haircut_low = 0.2
haircut_high = 0.6
inspector_rate = 30
source = "board minutes of 12 January"
"""
SURVEY = "group,asks,low,likely,high,answers,date,source\nlocals,entrants,2,3,5,9,2027-01-05,club survey\n"


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return written(
        tmp_path_factory.mktemp("contents"),
        impact=STUDY,
        survey=SURVEY,
        field="group,entrants,joins\nlocals,3,\nnew,1,yes\n",
        change_box=change("slow box", parts_rule("box", "BOX-6")),
    )


@pytest.fixture(scope="module")
def page(folder: Path) -> str:
    status, out, err = run("impact", folder, "--seasons", 40, "--flips")
    assert (status, err) == (0, "")
    return " ".join(out.split())


@pytest.fixture(scope="module")
def told(folder: Path) -> dict[str, Any]:
    return answer("impact", folder, "--seasons", 40, "--flips")


#: What the OIRA Agency Checklist: Regulatory Impact Analysis, OMB Circular A-94 (sections 5c, 6, 8 to 10, 12) and the
#: EU Better Regulation Toolbox (chapters 2, 3, 8) ask for, with the words of the page that answer it.
ASKED: Mapping[str, tuple[str, ...]] = {
    "need for the change, and how it meets the need (OIRA)": (
        "Need, and how it is to be met",
        "Springs cost more than the rest.",
        "One spring that lasts.",
    ),
    "baseline: the world without the change (OIRA; A-94, 5c)": ("Against what", "The baseline is the field as it is"),
    "alternatives, doing nothing among them (OIRA; Toolbox, 2)": ("nothing done", "Studied: B springs."),
    "alternatives that are not studied (Toolbox, 2)": ("Not studied: a claim rule; a price cap.",),
    "method, so that others can do it again (OIRA; A-94, 12)": ("Method", "seed 1", "seasons for each entrant"),
    "data, each with its date (OIRA)": ("Data", "club survey", "2027-01-05", "board minutes of 12 January"),
    "who bears it (A-94, 10)": ("Who pays for B springs", "locals", "new"),
    "transfers (A-94, 10)": ("price rises of sole sellers",),
    "one-off apart from recurring cost (Toolbox, 8)": ("Once", "First year"),
    "rates of discount (A-94, 8)": ("Discounted at 7% and, beside it, 3% a year, real", "at 3% instead"),
    "ranges and expected values (A-94, 9)": ("How sure", "low, likely, high", "mean, and what 10 and 90% are at most"),
    "sensitivity (A-94, 9)": ("Which assumption turns B springs about", "20% lower", "20% higher"),
    "what it costs to enforce (Toolbox, 8)": ("What it takes to enforce it",),
    "limits (OIRA)": ("Limits", "Lives are assumptions"),
    "transition (Toolbox, 8)": ("By when it comes", "at once", "next season", "when worn out"),
}


@pytest.mark.parametrize("asked", ASKED)
def test_c10_the_page_has_what_is_asked(page: str, asked: str) -> None:
    for words in ASKED[asked]:
        assert words in page


@pytest.mark.parametrize(
    ("asked", "keys"),
    [
        ("need (OIRA)", ("study.need", "study.meets")),
        ("baseline (OIRA; A-94, 5c)", ("as_it_is.first", "as_it_is.yearly", "as_it_is.wear")),
        ("alternatives (OIRA)", ("study.changes", "study.not_studied")),
        ("method and data (OIRA; A-94, 12)", ("seasons", "seed", "sources", "told", "assumed", "on")),
        ("rates of discount (A-94, 8)", ("study.discount", "study.discount_other", "study.years")),
        ("limits (OIRA)", ("limits",)),
    ],
)
def test_c10_the_data_have_what_is_asked(told: dict[str, Any], asked: str, keys: tuple[str, ...]) -> None:
    assert asked
    for key in keys:
        value: Any = told["impact"]
        for word in key.split("."):
            value = value[word]
        assert value not in ("", [], None), key


def test_c10_each_change_has_cost_once_and_recurring_by_who_bears_it_with_ranges(told: dict[str, Any]) -> None:
    # A-94, 6, 9 and 10; Toolbox, 8
    (found,) = told["impact"]["changes"]
    assert {"name", "author", "source", "date", "reason", "phases", "supply", "enforcement", "stranded"} <= found.keys()
    for one in (found["total"], *found["groups"]):
        assert {"once", "first", "yearly", "over", "over_other", "payback"} <= one.keys()
        assert {"mean", "error"} <= one["over"].keys()
    assert {"range", "mean", "deviation", "p10", "p90"} <= found["total"]["roll"].keys()
    assert found["total"]["risen"] is not None
    assert [one["group"] for one in found["groups"]] == ["locals", "new"]
    assert told["flips"][0]["assumptions"]


def test_c10_a_date_stands_with_every_source_that_has_one(told: dict[str, Any]) -> None:
    dated = {one["what"]: one["date"] for one in told["impact"]["sources"] if one["date"]}
    assert "2027-01-05" in dated.values()


def test_c10_doing_nothing_stands_beside_several_changes(folder: Path) -> None:
    # OIRA: alternatives, with that of not acting
    _, out, _ = run("impact", folder, "--change", "change-springs.toml", "--change", "change-box.toml", "--seasons", 40)
    beside = out.partition("The changes side by side")[2].partition("Who pays")[0]
    for words in ("nothing done", "B springs", "slow box"):
        assert words in beside


def test_c10_what_is_not_stated_is_said_to_be_missing(tmp_path: Path) -> None:
    bare = written(tmp_path, impact='changes = ["change-springs.toml"]\nyears = 4\n')
    out = " ".join(run("impact", bare, "--seasons", 40)[1].split())
    for words in ("Need: not stated", "How: not stated", "Not studied: not stated", "Nobody stands for"):
        assert words in out
