"""The cheapest answer against all builds there are, each asked of the public checkers and priced by code of its own.

A part that stays costs nothing. Another costs packs, deposit and work, the highest level that the swaps need, less what
the old one sells for at the haircut, and what it wears more a season than the old one, over the years of the study.
"""

from __future__ import annotations

import csv
import math
from collections.abc import Collection, Iterator, Mapping
from dataclasses import replace
from datetime import date
from itertools import product
from pathlib import Path

import pytest
from scipy.integrate import quad  # type: ignore[import-untyped]

from costplan.build import Build, check_fits, with_part
from costplan.catalog import Part
from costplan.garage import Piece
from costplan.impact.answering import Answerer
from costplan.impact.field import Crowd
from costplan.impact.records import Study
from costplan.rules import Pack, check
from tests.test_impact.small_field import CALENDAR, LIVES, PARTS, change, field_of, parts_rule, written

SLOTS: Mapping[str, tuple[str, int]] = {
    "head": ("head", 1),
    "springs": ("spring", 4),
    "cam": ("cam", 1),
    "box": ("box", 1),
}
#: Parts in the order of SLOTS.
Parts = tuple[str, ...]
Shop = Mapping[str, Mapping[str, str]]
WORK = {"cam": 25.0}
LEVELS = {"springs": 40.0, "cam": 120.0, "box": 15.0}
#: Each race is a heat of half an hour at 6000 and a final of an hour at 7000 rpm; half an hour at 6500 on the dyno.
HOURS_AT_6000 = 6 * (0.5 + (7 / 6) ** 3) + 0.5 * (6.5 / 6) ** 3
EVENTS = CALENDAR.count("\n") - 1


def rows(text: str) -> dict[str, dict[str, str]]:
    return {row["part"]: row for row in csv.DictReader(text.splitlines())}


def a_season(shop: Shop, part: str) -> float:
    """Cp / (integral of R from 0 to T), a failure costing a set as a renewal does."""
    life, sold = rows(LIVES)[part], shop[part]
    until, shape = float(life["replace_at"]), float(life["shape"])
    scale = until / (-math.log(1 - float(life["risk"]))) ** (1 / shape)
    use = HOURS_AT_6000 if life["measure"] == "hours" else EVENTS
    mean, _ = quad(lambda age: math.exp(-((age / scale) ** shape)), 0, until)
    pieces = next(number for role, number in SLOTS.values() if role == sold["role"])
    return float(sold["price"]) * pieces / int(sold["pack"]) * use / float(mean)


def bought(shop: Shop, slot: str, part: str, times: int) -> float:
    row = shop[part]
    packs = math.ceil(SLOTS[slot][1] * times / int(row["pack"]))
    return packs * (float(row["price"]) + float(row["core_charge"])) + WORK.get(slot, 0.0) * times


def cost_of(shop: Shop, parts: Parts, now: Parts, study: Study, times: int, *, joins: bool) -> float:
    """What a build costs who has another now."""
    years = sum((1 + study.discount) ** -year for year in range(1, study.years + 1))
    total, opened = 0.0, {"engine": 0.0, "car": 0.0}
    for slot, part, old in zip(SLOTS, parts, now, strict=True):
        if part == old:
            continue
        by = 1 if slot == "box" else times
        carrier = "car" if slot == "box" else "engine"
        total += bought(shop, slot, part, by)
        if joins:
            total -= bought(shop, slot, old, by)
        else:
            total -= (1 - study.haircut) * float(shop[old]["resale"]) * SLOTS[slot][1] * by
            opened[carrier] = max(opened[carrier], LEVELS[slot] * by)
        total += (a_season(shop, part) - a_season(shop, old)) * by * years
    return total + sum(opened.values())


def all_builds(build: Build, parts: Mapping[str, Part]) -> Iterator[tuple[Parts, Build]]:
    """Every choice of parts, by the order of SLOTS."""
    its = [[part for part, row in rows(PARTS).items() if row["role"] == role] for role, _ in SLOTS.values()]
    for names in product(*its):
        found = build
        for slot, name in zip(SLOTS, names, strict=True):
            found = with_part(found, slot, parts[name])
        yield names, found


def stands(crowd: Crowd, build: Build, packs: tuple[Pack, ...]) -> bool:
    """Whether no fit and no clause is broken, by the public checkers."""
    scenario, day = crowd.scenario, date(2027, 3, 1)
    there = replace(scenario, build=build, garage=())
    pieces = tuple(
        Piece.model_construct(piece=slot, part=fill.part.part, slot=slot, bought=day)
        for slot, fill in build.fills.items()
    )
    sheet = replace(there.sheet(build=build, on=day), pieces=pieces)
    fits = check_fits(there.figures(build, day))
    findings = [one for pack in packs for one in check(pack, sheet, day).findings]
    return all(one.verdict == "meets" for one in fits) and not any(one.verdict == "breaks" for one in findings)


@pytest.mark.parametrize("group", ["plain", "pair", "new"])
@pytest.mark.parametrize("name", ["springs", "better", "cam", "both", "fast", "box", "all", "either"])
def test_the_answer_costs_least_of_all_builds_that_meet_the_book(tmp_path: Path, name: str, group: str) -> None:
    fields = {
        "plain": "group,entrants\nplain,1\n",
        "pair": "group,entrants,variant\npair,1,two engines\n",
        "new": "group,entrants,joins\nnew,1,yes\n",
    }
    folder = written(tmp_path, field=fields[group])
    every = parts_rule("springs", "SP-B", "SP-C") + parts_rule("box", "BOX-6") + parts_rule("cam", "CAM-B", "CAM-C")
    (folder / "change-all.toml").write_text(change("all", every), encoding="utf-8")
    either = parts_rule("cam", "CAM-B", "CAM-C")
    (folder / "change-either.toml").write_text(change("either", either), encoding="utf-8")
    assert_cheapest(folder, name, rows(PARTS))


@pytest.mark.parametrize(("b", "c"), [(30, 26), (25, 18), (20, 12), (18, 14), (20, 11.5)])
def test_what_is_dearer_once_and_lasts_longer_counts_over_all_years(tmp_path: Path, b: float, c: float) -> None:
    parts = PARTS.replace("SP-B,spring,Dale,30", f"SP-B,spring,Dale,{b}")
    parts = parts.replace("SP-C,spring,Hill,26", f"SP-C,spring,Hill,{c}")
    assert_cheapest(written(tmp_path, parts=parts, field="group,entrants\nplain,1\n"), "better", rows(parts))


def test_a_deposit_counts(tmp_path: Path) -> None:
    # cam B is 150 and 60 deposit for six hours, C 176 for seven: but for the deposit B would cost less
    parts = PARTS.replace("CAM-B,cam,Dale,150,2027-01-10,1,21,30", "CAM-B,cam,Dale,150,2027-01-10,1,21,60")
    parts = parts.replace("CAM-C,cam,Hill,120,2027-01-10,1,7,0,20,,13", "CAM-C,cam,Hill,176,2027-01-10,1,7,0,20,,10")
    folder = written(tmp_path, parts=parts, field="group,entrants\nplain,1\n")
    (folder / "change-either.toml").write_text(change("either", parts_rule("cam", "CAM-B", "CAM-C")), encoding="utf-8")
    assert_cheapest(folder, "either", rows(parts))


def test_the_one_that_saves_most_is_given_too_where_another_part_bars_the_old_one(tmp_path: Path) -> None:
    # cam C rises 13 mm; springs B and C bear that, A do not, though their own clause lets A in
    parts = PARTS.replace("SP-B,spring,Dale,30,2027-01-10,2,14,0,3,12", "SP-B,spring,Dale,20,2027-01-10,2,14,0,3,14")
    parts = parts.replace("SP-C,spring,Hill,26", "SP-C,spring,Hill,12")
    assert_cheapest(written(tmp_path, parts=parts, field="group,entrants\nplain,1\n"), "fast", rows(parts))


def assert_cheapest(folder: Path, name: str, shop: Shop) -> None:
    """That a group's answer to a change costs as little as any."""
    field = field_of(folder, name)
    (crowd,) = field.crowds
    assert crowd.scenario.catalog is not None
    packs, build = field.proposals[0].packs, crowd.scenario.built()
    now = parts_of(build)
    there = {names for names, one in all_builds(build, crowd.scenario.catalog.parts) if stands(crowd, one, packs)}
    times, joins = len(crowd.engines), crowd.row.joins
    costs = {
        names: cost_of(shop, names, now, field.study, times, joins=joins)
        for names in there
        if is_needed(names, now, there)
    }
    answer = Answerer(crowd, field.study).comply(packs)
    assert answer.proved
    assert costs[parts_of(answer.build)] == pytest.approx(min(costs.values()), abs=0.02)


def parts_of(build: Build) -> Parts:
    return tuple(build.fills[slot].part.part for slot in SLOTS)


def is_needed(parts: Parts, now: Parts, there: Collection[Parts]) -> bool:
    """Whether nothing is swapped that might as well stay."""
    kept = product(*({new, old} for new, old in zip(parts, now, strict=True)))
    return not any(one in there for one in kept if one != parts)
