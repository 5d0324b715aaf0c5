"""Choosing parts against published optima of multiple-choice and multidimensional knapsacks, each source by its value.

Every instance is written as files and goes the whole way: a group is a slot, an item a part with what it uses of each
resource as its attributes, a resource a clause of kind limit over the sum of the slots. The choice seeks the lowest
price, so a part is priced at what its value falls short of a number that is above them all.
"""

from __future__ import annotations

import json
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest

from costplan.choose import AIMS, Wishes, best, prepare
from costplan.scenario import read_scenario

DATA = Path(__file__).parent / "data"
#: Above the value of every item.
ABOVE = Decimal(10_000)


@dataclass(frozen=True)
class Item:
    value: Decimal
    uses: tuple[Decimal, ...]


@dataclass(frozen=True)
class Best:
    """The most value, and the item of each group by its number, the first being 1."""

    value: Decimal
    items: tuple[int, ...]


def groups_of(instance: dict[str, Any]) -> list[list[Item]]:
    """The groups of an instance: of each item its value, then what it uses."""
    rows = ((tuple(Decimal(str(one)) for one in item) for item in group) for group in instance["classes"])
    return [[Item(row[0], row[1:]) for row in group] for group in rows]


def choose(folder: Path, groups: Sequence[Sequence[Item]], caps: Iterable[float]) -> Best:
    """The best item of each group within the caps, by the choice of parts; an optimum without proof is refused."""
    limits = tuple(caps)
    slots = [f"g{number}" for number in range(1, len(groups) + 1)]
    names = [f"w{number}" for number in range(1, len(limits) + 1)]
    parts = [
        f"{slot}-{number:02},{slot},x,{ABOVE - item.value},2027-01-01,{','.join(map(str, item.uses))}"
        for slot, group in zip(slots, groups, strict=True)
        for number, item in enumerate(group, start=1)
    ]
    rules = (
        f'[[rule]]\nid = "{name}"\nkind = "limit"\nsays = "no more than there is"\n'
        f'of = "{" ".join(f"{slot}.{name}" for slot in slots)}"\nmax = {limit}\n'
        for name, limit in zip(names, limits, strict=True)
    )
    declared = "".join(f'{name} = "number"\n' for name in names)
    for path, text in {
        "c/catalog.toml": f'name = "items"\ncurrency = "USD"\n[attributes]\n{declared}',
        "c/roles.csv": "role\n" + "\n".join(slots) + "\n",
        "c/parts.csv": f"part,role,supplier,price,price_date,{','.join(names)}\n" + "\n".join(parts) + "\n",
        "s/pattern.toml": 'name = "groups"\n' + "".join(f'[[slot]]\nslot = "{one}"\nrole = "{one}"\n' for one in slots),
        "s/build.csv": "slot,part\n" + "".join(f"{slot},{slot}-01\n" for slot in slots),
        "s/rules.toml": 'name = "resources"\n' + "".join(rules),
        "s/calendar.csv": "event,date,laps\none,2027-05-01,30\n",
        "s/scenario.toml": 'title = "knapsack"\ncurrency = "USD"\ncatalogs = ["../c"]\npattern = "pattern.toml"\n'
        'build = "build.csv"\nrules = ["rules.toml"]\n',
    }.items():
        (folder / path).parent.mkdir(exist_ok=True)
        (folder / path).write_text(text)
    scenario, problems = read_scenario(folder / "s")
    assert scenario is not None, problems
    chosen, _ = best(prepare(scenario, Wishes(date(2027, 1, 1))), AIMS["price"])
    assert chosen.proof.status == "optimal"
    assert chosen.option is not None
    picked = tuple(int(dict(chosen.option.parts)[slot].rpartition("-")[2]) for slot in slots)
    used = [
        sum(one) for one in zip(*(group[one - 1].uses for group, one in zip(groups, picked, strict=True)), strict=True)
    ]
    assert all(one <= limit for one, limit in zip(used, limits, strict=True))
    return Best(len(slots) * ABOVE - chosen.option.price, picked)


def choose_some(folder: Path, items: Sequence[Item], caps: Iterable[float]) -> Best:
    """The items to take of a 0-1 knapsack: each a group of its own, taken as the second of two."""
    nothing = Item(Decimal(0), tuple(Decimal(0) for _ in items[0].uses))
    found = choose(folder, [(nothing, item) for item in items], caps)
    return Best(found.value, tuple(number for number, one in enumerate(found.items, start=1) if one == 2))


def test_b01_one_part_of_each_group_under_five_resources(tmp_path: Path) -> None:
    # I01 of the OR-Library style set by Khan et al.: 173 is the optimum, unique by trying all 3,125; published
    # heuristics stop at 167 and 151.
    instance = json.loads((DATA / "mmkp_orlib_I01.json").read_text())
    assert choose(tmp_path, groups_of(instance), instance["caps"]) == Best(Decimal(173), (4, 5, 2, 3, 4))


#: Column Exact of the solution workbook of Hiremath & Hill's MMKP test sets (papers of 2007 and 2013), set 1.
SET_1 = (
    *(401, 463, 487, 446, 430, 459, 437, 386, 466, 415, 461, 456, 474, 423, 438),
    *(442, 443, 394, 425, 471, 377, 461, 407, 415, 411, 448, 485, 477, 432, 443),
)


@pytest.mark.parametrize("number", range(30))
def test_b03_thirty_problems_of_five_groups_of_ten_under_five_resources(tmp_path: Path, number: int) -> None:
    instance = json.loads((DATA / "mmkp_hiremath_hill_set1.json").read_text())[number]
    assert choose(tmp_path, groups_of(instance), instance["caps"]).value == SET_1[number]


@pytest.mark.parametrize(
    ("name", "number", "value"),
    [("set2", 0, 876), ("set2", 1, 881), ("set2", 2, 924), ("set4", 0, 413), ("set4", 1, 418), ("set4", 2, 438)],
)
def test_b05_ten_groups_under_five_resources_and_five_under_ten(
    tmp_path: Path, name: str, number: int, value: int
) -> None:
    # Sets 2 and 4 of the same test sets, their first three problems each, with the values of the same column.
    instance = json.loads((DATA / f"mmkp_hiremath_hill_{name}.json").read_text())[number]
    assert choose(tmp_path, groups_of(instance), instance["caps"]).value == value


def items_of(values: str, rows: str) -> list[Item]:
    """Items from a line of values, and a line for each resource of what each item uses of it."""
    uses = zip(*(map(Decimal, line.split()) for line in rows.strip().splitlines()), strict=True)
    return [Item(Decimal(value), each) for value, each in zip(values.split(), uses, strict=True)]


def test_b07_ten_projects_under_ten_resources(tmp_path: Path) -> None:
    # mknap1 no. 2 of the OR-Library, after Petersen, Management Science 13 (1967). The figures are from memory; that
    # the published optimum and its items come out speaks for them.
    items = items_of(
        "600.1 310.5 1800 3850 18.6 198.7 882 4200 402.5 327",
        """
        20 5 100 200 2 4 60 150 80 40
        20 7 130 280 2 8 110 210 100 40
        60 3 50 100 4 2 20 40 6 12
        60 8 70 200 4 6 40 70 16 20
        60 13 70 250 4 10 60 90 20 24
        60 13 70 280 4 10 70 105 22 28
        5 2 20 100 2 5 10 60 0 0
        45 14 80 180 6 10 40 100 20 0
        55 14 80 200 6 10 50 140 30 40
        65 14 80 220 6 10 50 180 30 50
        """,
    )
    caps = (450, 540, 200, 360, 440, 480, 200, 360, 440, 480)
    assert choose_some(tmp_path, items, caps) == Best(Decimal("8706.1"), (2, 4, 5, 8, 10))


def test_b07_fifteen_projects_under_ten_resources(tmp_path: Path) -> None:
    # mknap1 no. 3, as above.
    items = items_of(
        "100 220 90 400 300 400 205 120 160 580 400 140 100 1300 650",
        """
        8 24 13 80 70 80 45 15 28 90 130 32 20 120 40
        8 44 13 100 100 90 75 25 28 120 130 32 40 160 40
        3 6 4 20 20 30 8 3 12 14 40 6 3 20 5
        5 9 6 40 30 40 16 5 18 24 60 16 11 30 25
        5 11 7 50 40 40 19 7 18 29 70 21 17 30 25
        5 11 7 55 40 40 21 9 18 29 70 21 17 35 25
        0 0 1 10 4 10 0 6 0 6 32 3 0 70 10
        3 4 5 20 14 20 6 12 10 18 42 9 12 100 20
        3 6 9 30 29 20 12 12 10 30 42 18 18 110 20
        3 8 9 35 29 20 16 15 10 30 42 20 18 120 20
        """,
    )
    caps = (550, 700, 130, 240, 280, 310, 110, 205, 260, 275)
    assert choose_some(tmp_path, items, caps) == Best(Decimal(4015), (1, 2, 4, 6, 7, 9, 10, 14, 15))


def test_b09_fifty_items_in_one_knapsack(tmp_path: Path) -> None:
    # The sample knapsack.py of OR-Tools: 7534 at a weight of 850.
    items = items_of(
        "360 83 59 130 431 67 230 52 93 125 670 892 600 38 48 147 78 256 63 17 120 164 432 35 92 110 22 42 50 323 514 "
        "28 87 73 78 15 26 78 210 36 85 189 274 43 33 10 19 389 276 312",
        "7 0 30 22 80 94 11 81 70 64 59 18 0 36 3 8 15 42 9 0 42 47 52 32 26 48 55 6 29 84 2 4 18 56 7 29 93 44 71 3 "
        "86 66 31 65 0 79 20 65 52 13",
    )
    found = choose_some(tmp_path, items, (850,))
    assert found.value == 7534
    assert sum(items[number - 1].uses[0] for number in found.items) == 850
