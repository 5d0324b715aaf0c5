"""The chances of what tear-down may show, against their definition integrated and drawn, from the demo's own files.

A check sees a piece when its age is within the last share `w` of its life T, so when T < age / (1 - w); that it has
lasted so far, T > age, is known. Of several lives any will do; a look then sees it with the chance `sees`.
"""

from __future__ import annotations

import csv
import json
import math
import tomllib
from collections.abc import Callable
from dataclasses import dataclass, replace
from datetime import date
from functools import cache
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from scipy.integrate import quad  # type: ignore[import-untyped]

from costplan.life import Weibull
from costplan.quote import Asking, make_quote
from costplan.quote.desk import open_desk
from costplan.quote.opened import chance_in_warning
from costplan.quote.records import Quote
from tests.command_line import answer, run

DEMO = Path(__file__).parents[2] / "scenarios/oval-v8"
CATALOG = DEMO / "../../catalogs/oval-v8"
#: The demo's services and their days.
SERVICES = {"freshen-blue": date(2027, 1, 11), "rebuild-blue": date(2027, 6, 1)}
DAYS = SERVICES | {"new-engine": date(2027, 2, 1)}
#: Chances below this have no line.
LEAST = 0.01
DRAWS = 400_000


# One life -------------------------------------------------------------------------------------------------------------

LIVES = [
    (100.0, 2.0, 50.0, 0.5),
    (64.3, 1.8, 30.0, 0.15),
    (18.4, 3.0, 8.0, 0.2),
    (9.1, 0.7, 20.0, 0.35),
    (2.5, 3.5, 2.4, 0.1),
]


def density(scale: float, shape: float) -> Callable[[float], float]:
    """Of a Weibull life, by its definition."""
    return lambda t: shape / scale * (t / scale) ** (shape - 1) * math.exp(-((t / scale) ** shape))


@pytest.mark.parametrize(("scale", "shape", "age", "warning"), LIVES)
def test_the_chance_is_the_share_of_lives_so_long_that_end_in_the_warning(
    scale: float, shape: float, age: float, warning: float
) -> None:
    life = density(scale, shape)
    seen, _ = quad(life, age, age / (1 - warning), epsabs=0, epsrel=1e-11)
    still, _ = quad(life, age, math.inf, epsabs=0, epsrel=1e-11, limit=500)
    assert chance_in_warning(Weibull(scale, shape), age, warning) == pytest.approx(seen / still, rel=1e-9)


@pytest.mark.parametrize(("scale", "shape", "age", "warning"), LIVES)
def test_as_many_drawn_lives_end_in_the_warning(scale: float, shape: float, age: float, warning: float) -> None:
    lives = lasted(np.random.default_rng(1), scale, shape, age)
    share = float(np.mean(age > (1 - warning) * lives))
    error = math.sqrt(share * (1 - share) / DRAWS)
    assert chance_in_warning(Weibull(scale, shape), age, warning) == pytest.approx(share, abs=4 * error)


def lasted(random: np.random.Generator, scale: float, shape: float, age: float) -> Any:
    """Lives drawn anew until they have lasted to an age, without a formula for what is left."""
    lives = np.empty(0)
    while lives.size < DRAWS:
        drawn = scale * random.weibull(shape, 4 * DRAWS)
        lives = np.concatenate([lives, drawn[drawn > age]])
    return lives[:DRAWS]


def test_nothing_is_seen_of_a_new_piece_nor_without_a_warning() -> None:
    assert chance_in_warning(Weibull(40.0, 2.0), 0.0, 0.2) == chance_in_warning(Weibull(40.0, 2.0), 30.0, 0.0) == 0


@pytest.mark.parametrize("shape", [1.5, 2.0, 3.0])
def test_the_older_a_piece_and_the_longer_the_warning_the_likelier_it_is_seen(shape: float) -> None:
    life, ages, warnings = Weibull(40.0, shape), [4.0, 10.0, 25.0, 60.0], [0.05, 0.1, 0.3, 0.6]
    by_age = [chance_in_warning(life, age, 0.2) for age in ages]
    by_warning = [chance_in_warning(life, 20.0, warning) for warning in warnings]
    assert by_age == sorted(by_age)
    assert by_warning == sorted(by_warning)
    assert 0 < min(by_age + by_warning) < max(by_age + by_warning) < 1


# The demo's services --------------------------------------------------------------------------------------------------


@dataclass(frozen=True)
class Life:
    scale: float
    shape: float
    age: float
    warning: float


def table(path: Path) -> list[dict[str, str]]:
    return list(csv.DictReader(path.read_text(encoding="utf-8").splitlines()))


@cache
def asking_for(name: str, *sets: str) -> Asking:
    desk, problems = open_desk(DEMO, sets)
    assert desk is not None, problems
    asked, problems = desk.request(name)
    assert asked is not None, problems
    asking, problems = desk.asking(asked, DAYS[name])
    assert asking is not None, problems
    return asking


@cache
def quoted(name: str) -> Quote:
    quote, problems = make_quote(asking_for(name))
    assert quote is not None, problems
    return quote


@cache
def work_of(name: str, folder: Path) -> dict[str, Any]:
    """All that the season is calculated from, as it tells it itself."""
    file = folder / f"{name}.json"
    status, _, error = run("season", DEMO, "--on", SERVICES[name], "--show-work", file)
    assert (status, error) == (0, "")
    work: dict[str, Any] = json.loads(file.read_text())
    return work


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return tmp_path_factory.mktemp("work")


def lives_of(work: dict[str, Any], slot: str) -> list[Life]:
    """The lives of what the blue engine has in a slot, by lives.csv and the ages that the plan starts from.

    The services are done before the first run that lies ahead, so those ages are the ones of the tear-down. An age is
    weighted use (`age`), not raw use; a service step shortens the life and begins it anew. Of a set of `pieces`, of
    which each has a life of its own, the first that ends counts.
    """
    at = next(row for row in work["opening"]["positions"] if (row["carrier"], row["position"]) == ("blue", slot))
    ages = {row["life"]: row["age"] for row in at["ages"]}
    where = next(row for row in pattern() if row["slot"] == slot)
    part, role, pieces, factor = at["item"], where["role"], where.get("quantity", 1), 1.0
    for step in table(CATALOG / "service_steps.csv"):
        if (step["part"] == part or (not step["part"] and step["role"] == role)) and int(step["step"]) == at[
            "steps_done"
        ]:
            factor = float(step["factor"])
    rows = table(CATALOG / "lives.csv")
    rows = [row for row in rows if row["part"] == part] or [
        row for row in rows if not row["part"] and row["role"] == role
    ]
    shape = next(float(row["shape"]) for row in table(CATALOG / "roles.csv") if row["role"] == role)
    return [life for row in rows if (life := _life(row, shape, factor, pieces, ages))]


def _life(row: dict[str, str], shape: float, factor: float, pieces: int, ages: dict[str, float]) -> Life | None:
    if not row["replace_at"] and not row["likely"]:
        return None
    if row["likely"]:
        shape = math.log(math.log(2) / -math.log(0.9)) / math.log(float(row["likely"]) / float(row["low"]))
        scale = float(row["likely"]) / math.log(2) ** (1 / shape)
    else:
        shape = float(row["shape"] or shape)
        scale = float(row["replace_at"]) / (-math.log(1 - float(row["risk"] or 0.05))) ** (1 / shape)
    if row["life_of"] == "piece":
        scale /= pieces ** (1 / shape)
    age = ages[row["measure"].partition(" ")[0]]
    return Life(scale * factor, shape, age, float(row["warning"] or 0))


def pattern() -> list[dict[str, Any]]:
    slots: list[dict[str, Any]] = tomllib.loads((DEMO / "pattern.toml").read_text(encoding="utf-8"))["slot"]
    return slots


def looks(level: str) -> dict[str, float]:
    """The slots that a level and those below it look at, and how surely a look sees."""
    rows = [row for row in table(DEMO / "levels.csv") if row["carrier"] == "engine"]
    rank = next(int(row["rank"]) for row in rows if row["level"] == level)
    seen: dict[str, float] = {}
    for row in (row for row in rows if int(row["rank"]) <= rank):
        seen |= {slot: max(seen.get(slot, 0), float(row["sees"])) for slot in row["checks"].split()}
    return seen


@pytest.mark.parametrize("name", SERVICES)
def test_a_slot_that_is_looked_at_has_the_chance_of_its_lives(name: str, folder: Path) -> None:
    opening, work = asking_for(name).opening, work_of(name, folder)
    assert opening is not None
    assert opening.looked_at() == looks(quoted(name).level)
    by_hand = {slot: near_its_end(lives_of(work, slot)) for slot in opening.looked_at()}
    assert {slot: opening.chance_of_wear(slot) for slot in by_hand} == pytest.approx(by_hand, rel=1e-9)


@pytest.mark.parametrize("name", SERVICES)
def test_what_is_looked_at_and_stays_has_a_line_where_it_is_likely_enough(name: str, folder: Path) -> None:
    quote, work = quoted(name), work_of(name, folder)
    own = {"crank", "rods"} if quote.level == "freshen" else set()  # the shop's own experience stands for these
    stays = looks(quote.level).keys() - own - {slot for line in quote.lines for slot in line.slots}
    stays -= {row.slot for row in quote.supplied if row.whose == "customer's"}  # nobody knows what these have done
    chances = {slot: near_its_end(lives_of(work, slot)) * looks(quote.level)[slot] for slot in stays}
    told = {each.slot: each.chance for each in quote.allowances if each.slot not in own}
    assert told == pytest.approx({slot: chance for slot, chance in chances.items() if chance >= LEAST}, rel=1e-9)
    assert 2 <= len(told) < len(stays)


def test_what_is_found_bad_is_in_doubt_no_more_and_after_the_tear_down_nothing_is() -> None:
    asking = asking_for("freshen-blue")
    torn_down = replace(asking.asked, head=asking.asked.head.model_copy(update={"torn_down": True}))
    in_doubt = {
        "at first": doubts(asking),
        "with the crank ground": doubts(replace(asking, bad=("crank=grind-010",))),
        "with new wires": doubts(replace(asking, bad=("wires",))),
        "torn down": doubts(replace(asking, torn_down=True)),
        "torn down by the request": doubts(replace(asking, asked=torn_down)),
    }
    assert in_doubt["at first"] == {"wires", "belts", "crank", "rods"}
    assert in_doubt["with the crank ground"] & {"crank", "wires"} == {"wires"}
    assert in_doubt["with new wires"] == {"belts", "crank", "rods"}
    assert in_doubt["torn down"] == in_doubt["torn down by the request"] == set()


def allowing(asking: Asking, **changes: object) -> Asking:
    """The shop with one allowance of its own, that of the crank with these changes."""
    row = asking.book.allowances[0].model_copy(update=changes)
    return replace(asking, book=replace(asking.book, allowances=(row,)))


def supplied(asking: Asking, **changes: object) -> Asking:
    rows = tuple(row.model_copy(update=changes) for row in asking.asked.supplied)
    return replace(asking, asked=replace(asking.asked, supplied=rows))


def test_the_shop_may_doubt_what_is_only_machined_and_what_is_found_bad_is_not_doubted_twice() -> None:
    """The seats of the heads are cut in a freshen, and the heads stay."""
    asking = allowing(asking_for("freshen-blue"), slot="heads", way="new")
    assert "heads" in doubts(asking)
    assert "heads" not in doubts(replace(asking, bad=("heads",)))
    assert "springs" not in doubts(allowing(asking, slot="springs", way="")), "new ones go in"


def test_of_what_the_customer_brings_nothing_is_known_and_of_what_is_used_again_its_life() -> None:
    asking = supplied(asking_for("freshen-blue"), slot="wires")
    assert "wires" in doubts(supplied(asking, whose="used again"))
    assert "wires" not in doubts(supplied(asking, whose="customer's"))


def test_what_the_plan_takes_out_of_the_customers_box_is_not_in_doubt() -> None:
    """Belts lie there, and worn ones are changed in the winter; a set that is left for what breaks is not put in."""
    worn = "garage/blue-belts/events=21"
    in_the_box, left_there = (
        asking_for("freshen-blue", worn, f"garage/spare-belts/spare={kept}") for kept in ("no", "yes")
    )
    for asking, known in ((in_the_box, True), (left_there, False)):
        asked = replace(asking.asked, options=(), supplied=())
        quote, problems = make_quote(replace(asking, asked=asked))
        assert quote is not None, problems
        assert ([row.slot for row in quote.supplied] == ["belts"]) == known
        assert ("part/DW-BT1" in [line.key for line in quote.lines]) != known
        assert "belts" not in {each.slot for each in quote.allowances}


def test_of_a_new_engine_the_shop_doubts_what_others_supply_where_it_says_so() -> None:
    asking = supplied(asking_for("new-engine"), slot="crank")
    assert doubts(allowing(asking, jobs=("build",))) == {"crank"}
    assert (
        doubts(allowing(asking, jobs=("freshen",))) == doubts(allowing(asking, jobs=("build",), slot="rods")) == set()
    )


def test_of_two_lives_either_may_be_near_its_end(folder: Path) -> None:
    """Wires have one by events and one by days; the latter with a warning here."""
    line = next(
        n
        for n, row in enumerate(table(CATALOG / "lives.csv"), 2)
        if (row["role"], row["measure"]) == ("wire-set", "days")
    )
    opening = asking_for("freshen-blue", f"oval-v8/lives/{line}/warning=0.3").opening
    by_events, by_days = lives_of(work_of("freshen-blue", folder), "wires")
    assert opening is not None
    chance = near_its_end([by_events, replace(by_days, warning=0.3)])
    assert opening.chance_of_wear("wires") == pytest.approx(chance, rel=1e-9)
    assert chance > max(map(_integrated, (by_events, replace(by_days, warning=0.3))))


def doubts(asking: Asking) -> set[str]:
    quote, problems = make_quote(asking)
    assert quote is not None, problems
    return {each.slot for each in quote.allowances}


def near_its_end(lives: list[Life]) -> float:
    """The chance that one of the lives is in its warning share."""
    return 1 - math.prod(1 - _integrated(life) for life in lives)


def _integrated(life: Life) -> float:
    end = life.age / (1 - life.warning)
    if end == life.age:
        return 0.0
    seen, _ = quad(density(life.scale, life.shape), life.age, end, epsabs=0, epsrel=1e-12)
    return float(seen) / math.exp(-((life.age / life.scale) ** life.shape))


@pytest.mark.parametrize("name", SERVICES)
def test_as_many_drawn_tear_downs_show_it(name: str, folder: Path) -> None:
    quote, work, random = quoted(name), work_of(name, folder), np.random.default_rng(2)
    sees = looks(quote.level)
    for each in (each for each in quote.allowances if "life" in each.chance_why):
        near = np.zeros(DRAWS, dtype=bool)
        for life in lives_of(work, each.slot):
            near |= life.age > (1 - life.warning) * lasted(random, life.scale, life.shape, life.age)
        share = float(np.mean(near & (random.random(DRAWS) < sees[each.slot])))
        assert each.chance == pytest.approx(share, abs=4 * math.sqrt(share * (1 - share) / DRAWS))


def test_the_share_used_that_the_racer_reads_is_the_age_in_the_chance(folder: Path) -> None:
    """`life used` tells the age of a life as a share of the use at which it is renewed: 75 % of 40 events are 30."""
    used = answer("life", "used", DEMO, "--on", SERVICES["freshen-blue"])["used"]
    now = {row["slot"]: (row["now"], row["by"]) for row in used if row["engine"] == "blue"}
    work = work_of("freshen-blue", folder)
    for slot, renewed_at, unit in (
        ("camshaft", 45.0, "events"),
        ("lifters", 22.0, "events"),
        ("fuel-pump", 16.0, "hours"),
    ):
        share, by = now[slot]
        assert by == f"{renewed_at:.0f} {unit}"
        assert lives_of(work, slot)[0].age == pytest.approx(share * renewed_at)
