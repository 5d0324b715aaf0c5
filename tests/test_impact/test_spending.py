"""Who also spends a budget on power buys as much of it as the book lets and the budget pays: against all builds
there are."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from decimal import Decimal
from itertools import product
from pathlib import Path

import pytest
from pytest import approx

from costplan.build import Build, with_part
from costplan.impact.answering import Answerer
from costplan.impact.drawing import Asked
from costplan.impact.field import Crowd, FieldOfEntrants
from costplan.impact.reading import read_field
from costplan.impact.studying import desk_of
from costplan.rules import Pack, check
from tests.test_build.small_four import FLOW, HEADER, LIFTS, OPTIONAL, PARTS, PATTERN, PLANNED, SLOTS, slots

PRICES = {"ported": 300, "large": 120, "twin": 90, "high-rocker": 80, "cam": 60}
RULES = """\
name = "book"
edition = "2027"
[[rule]]
id = "carburetor"
kind = "parts"
says = "no alcohol"
slot = "carburetor"
allowed = ["carburetor", "large", "twin"]
"""
CHANGE = """\
name = "one carburetor"
baseline = "rules.toml"
edition = "2027"
[[replace]]
id = "carburetor"
kind = "parts"
says = "the small one"
slot = "carburetor"
allowed = ["carburetor"]
"""


def parts() -> str:
    """The small four's parts, some of them dearer."""
    rows = [row.split(",") for row in PARTS.splitlines()]
    return "\n".join(",".join([*row[:3], str(PRICES.get(row[0], row[3])), *row[4:]]) for row in rows) + "\n"


def field_of(folder: Path, budget: int) -> FieldOfEntrants:
    """Two entrants with the small four, and so much to spend on it."""
    planned = (f"{one},{PLANNED.get(one, one)}\n" for one in SLOTS if one not in OPTIONAL)
    for name, text in {
        "shop/catalog.toml": HEADER,
        "shop/roles.csv": "role\n" + "\n".join(SLOTS) + "\n",
        "shop/parts.csv": parts(),
        "shop/flow.csv": FLOW,
        "shop/lift_curves.csv": LIFTS,
        "shop/lives.csv": "role,measure,replace_at\nrocker,events,10\n",
        "pattern.toml": PATTERN + slots(),
        "build.csv": "slot,part\n" + "".join(planned),
        "levels.csv": "level,rank,labour\ntop,1,30\n",
        "positions.csv": "slot,level\nrocker,top\n",
        "calendar.csv": "event,date,laps\none,2027-05-01,30\ntwo,2027-05-08,30\n",
        "rules.toml": RULES,
        "change-one.toml": CHANGE,
        "field.csv": f"group,entrants,budget\nlocals,2,{budget}\n",
        "impact.toml": 'changes = ["change-one.toml"]\nyears = 2\n',
        "scenario.toml": 'title = "small four"\ncurrency = "USD"\nopening = 2027-03-01\ncatalogs = ["shop"]\n'
        'pattern = "pattern.toml"\nbuild = "build.csv"\nrules = ["rules.toml"]\n',
    }.items():
        (folder / "shop").mkdir(exist_ok=True)
        (folder / name).write_text(text, encoding="utf-8")
    field, problems = read_field(folder)
    assert field is not None, problems
    return field


def stands(crowd: Crowd, build: Build, packs: tuple[Pack, ...]) -> bool:
    day = date(2027, 3, 1)
    sheet = replace(crowd.scenario, build=build).sheet(build=build, on=day)
    return not any(one.verdict == "breaks" for pack in packs for one in check(pack, sheet, day).findings)


def most(crowd: Crowd, packs: tuple[Pack, ...], budget: int) -> float:
    """The most power of any build that meets a book for so much, rockers at the level that reaches them."""
    estimator, catalog, now = crowd.scenario.estimator(), crowd.scenario.catalog, crowd.scenario.built()
    assert estimator is not None
    assert catalog is not None
    free = [slot for slot in SLOTS if slot not in OPTIONAL]
    found = 0.0
    for names in product(*(catalog.of_role(slot) for slot in free)):
        build, cost = now, 0
        for slot, part in zip(free, names, strict=True):
            if part.part != now.fills[slot].part.part:
                build = with_part(build, slot, part)
                cost += PRICES.get(part.part, 1) + (30 if slot == "rocker" else 0)
        power = estimator.power(build.fills)
        if cost <= budget and power is not None and stands(crowd, build, packs):
            found = max(found, power)
    return found


@pytest.mark.parametrize("budget", [0, 169, 170, 289, 290, 469, 470, 1000])
def test_a_budget_buys_the_most_power_that_it_pays_for(tmp_path: Path, budget: int) -> None:
    field = field_of(tmp_path, budget)
    (crowd,) = field.crowds
    answerer = Answerer(crowd, field.study)
    for packs in (field.packs, field.proposals[0].packs):
        complied = answerer.comply(packs)
        spent = answerer.spend(packs, complied)
        assert complied.swaps == ()
        assert spent.once(0.4, {}) <= budget
        assert spent.power == approx(most(crowd, packs, budget), rel=1e-4)
        assert stands(crowd, spent.build, packs)


def test_what_is_spent_is_told_under_both_books(tmp_path: Path) -> None:
    # a cam at 60 and high rockers at 80 and 30; today a large carburetor at 120 too, which the changed book bars
    field = field_of(tmp_path, 300)
    desk, problems = desk_of(field, Asked(20, 2, 1), field.base.opening)
    assert desk is not None, problems
    (change,) = desk.impact().changes
    (group,) = change.groups
    assert group.spent is not None
    (crowd,) = field.crowds
    then, now = (most(crowd, packs, 300) for packs in (field.proposals[0].packs, field.packs))
    assert group.spent.power is not None
    assert group.spent.power.before == approx(now, rel=1e-4)
    assert group.spent.power.after == approx(then, rel=1e-4)
    assert (group.spent.once, group.spent.once_today) == (Decimal(170), Decimal(290))
    assert then < now
    assert group.power is not None
    assert group.power.before == group.power.after
