"""Inspecting at an event: cars read, checks chosen (proven by trying all), shared out, and their results taken back."""

from __future__ import annotations

import csv
import io
import json
import random
import shutil
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import replace
from itertools import combinations
from pathlib import Path

import pytest
from pytest import approx
from typer.testing import CliRunner, Result

from costplan.cli import app
from costplan.problems import Problem
from costplan.quantity import Quantity
from costplan.rules import Pack, Sheet
from costplan.rules.checklist import CheckLine
from costplan.rules.inspecting import (
    LOOK,
    OPENING,
    RISK,
    Entrant,
    Outcome,
    Plan,
    Terms,
    by_car,
    check_entrants,
    choose_inspections,
    loads_of,
    openings_of,
    outcomes,
    read_entrants,
    read_results,
    share_out,
)

Write = Callable[[str, str | bytes], Path]
Seen = list[tuple[str, str, str]]

ROOT = Path(__file__).parents[2]


def seen(problems: Iterable[Problem]) -> Seen:
    return [(p.code, str(p.place).rpartition("/")[2], p.field) for p in problems]


# Cars


def test_the_cars_of_an_event_with_what_nobody_stated(write: Write) -> None:
    text = "car,engine,risk,seals,finish,note\n12,blue,2 %,0411 0412,1,\n7B,,,,,borrowed\n"
    cars, problems = read_entrants(write("entries.csv", text))
    assert problems == ()
    assert [(car.car, car.engine, car.risk, car.assumed, car.seals, car.finish) for car in cars] == [
        ("12", "blue", 0.02, False, "0411 0412", 1),
        ("7B", "", 0.05, True, "", None),
    ]


def test_without_a_file_there_is_no_car(tmp_path: Path) -> None:
    assert read_entrants(tmp_path / "entries.csv") == ((), ())


def test_each_bad_cell_is_told(write: Write) -> None:
    text = "car,risk,finish\n12,2,1\n12,2 %,0\n,,\n12,,2\n12,,3\n"
    _, problems = read_entrants(write("entries.csv", text))
    assert seen(problems) == [
        ("REA018", "entries.csv:2", "risk"),
        ("REA018", "entries.csv:3", "finish"),
        ("REA023", "entries.csv:6", "car"),
    ]


def test_an_engine_is_known_and_in_one_car(write: Write) -> None:
    cars, _ = read_entrants(write("entries.csv", "car,engine\n1,blue\n2,\n3,\n4,red\n5,blue\n"))
    assert seen(check_entrants(cars, ["blue"])) == [
        ("ENT001", "entries.csv:5", "engine"),
        ("ENT002", "entries.csv:6", "engine"),
    ]


# Checks chosen

BLANK = CheckLine(
    pack="rules",
    rule="",
    kind="inspection",
    says="",
    look="look",
    clause="",
    severity="must",
    stage="outside",
    level="",
    carrier="",
    rank=0,
    cost=None,
    hours=None,
    slots=(),
    unplaced=(),
    tool="",
    limit="",
    minutes=0,
    pays="",
    penalty="",
    asked=True,
    verdict="cannot be shown",
    on_paper="meets",
    value=None,
    at_fault=(),
    owed=("inspection",),
    shown_by=(),
    measured_by=(),
    inspected=False,
    risk=None,
    why=(),
    place="rules.toml:1",
)


def line(rule: str, minutes: float, risk: float | None, rank: int = 0, carrier: str = "engine") -> CheckLine:
    """A clause; with a rank at the depth called after it: E1, E2 of the engine, C1 of the car."""
    if not rank:
        return replace(BLANK, rule=rule, minutes=minutes, risk=risk)
    level = f"{carrier[0].upper()}{rank}"
    return replace(
        BLANK, rule=rule, minutes=minutes, risk=risk, stage="opened", level=level, carrier=carrier, rank=rank
    )


def cars(*risks: float) -> tuple[Entrant, ...]:
    return tuple(Entrant(car=str(number), risk=risk) for number, risk in enumerate(risks, start=1))


def picked(plan: Plan) -> dict[str, list[str]]:
    return {visit.car: [check.rule for check in visit.checks] for visit in plan.visits}


def test_the_checks_that_find_most_for_their_minutes_go_first() -> None:
    lines = {"": (line("long", 30, 0.10), line("short", 10, 0.05), line("also", 20, 0.06))}
    plan = choose_inspections(lines, cars(0.05), Terms(30))
    assert picked(plan) == {"1": ["short", "also"]}
    assert plan.used == 30
    assert plan.expected == plan.bound == approx(0.11)


def test_a_car_with_twice_the_risk_of_the_others_finds_twice_as_much() -> None:
    lines = {"": (line("one", 10, 0.03),)}
    plan = choose_inspections(lines, cars(0.04, 0.08, 0.12), Terms(20))
    assert {visit.car: visit.chance for visit in plan.visits} == approx({"2": 0.03, "3": 0.045})
    assert plan.passed == ("1",)


def test_no_chance_is_above_one() -> None:
    plan = choose_inspections({"": (line("one", 1, 0.9),)}, cars(0.01, 0.03), Terms(2))
    assert [visit.chance for visit in plan.visits] == [approx(0.45), 1.0]


def test_opening_a_car_is_paid_once_and_only_where_it_pays() -> None:
    lines = {"": (line("outside", 10, 0.02), line("valve", 5, 0.05, 1), line("spring", 5, 0.05, 1))}
    terms = Terms(40, opening={"E1": 20})
    assert picked(choose_inspections(lines, cars(0.05), terms)) == {"1": ["outside", "valve", "spring"]}
    assert picked(choose_inspections(lines, cars(0.05), replace(terms, minutes=24))) == {"1": ["outside"]}
    (visit,) = choose_inspections(lines, cars(0.05), terms).visits
    assert (visit.opened, visit.opening, visit.minutes) == (("E1",), 20, 40)


def test_a_deeper_level_lays_bare_what_lies_above_it() -> None:
    lines = {"": (line("valve", 5, 0.05, 1), line("crank", 5, 0.05, 2), line("carburetor", 5, 0.01, 1, "car"))}
    terms = Terms(50, opening={"E1": 10, "E2": 30, "C1": 5})
    (visit,) = choose_inspections(lines, cars(0.05), terms).visits
    assert [check.rule for check in visit.checks] == ["valve", "crank", "carburetor"]
    assert (visit.opened, visit.opening, visit.minutes) == (("C1", "E2"), 35, 50)


def test_the_minutes_of_opening_are_stated_or_assumed_and_deeper_never_takes_less() -> None:
    lines = (line("a", 1, None, 1), line("b", 1, None, 2), line("c", 1, None, 3), line("d", 1, None, 1, "car"))
    found = openings_of(lines, {"E1": 70.5, "C1": 0})
    assert {name: (one.minutes, one.assumed) for name, one in found.items()} == {
        "C1": (0, False),
        "E1": (71, False),
        "E2": (71, True),
        "E3": (3 * OPENING, True),
    }


def test_what_lies_at_no_known_depth_takes_an_opening_of_its_own() -> None:
    plate = replace(line("plate", 4, 0.05), stage="opened")
    (visit,) = choose_inspections({"": (plate,)}, cars(0.05), Terms(60)).visits
    assert (visit.minutes, visit.checks[0].assumed) == (4 + OPENING, ("minutes",))


def test_what_a_car_takes_by_itself_is_paid_once_for_each() -> None:
    lines = {"": (line("a", 5, 0.05), line("b", 5, 0.04))}
    assert len(choose_inspections(lines, cars(0.05, 0.05), Terms(20)).visits) == 2
    plan = choose_inspections(lines, cars(0.05, 0.05), Terms(20, each_car=10))
    assert (picked(plan), plan.used) == ({"1": ["a", "b"]}, 20)


def test_what_nobody_states_is_assumed_and_marked() -> None:
    (visit,) = choose_inspections({"": (line("one", 0, None),)}, (Entrant(car="7"),), Terms(60)).visits
    (check,) = visit.checks
    assert (check.minutes, check.risk, check.assumed) == (LOOK, RISK, ("minutes", "risk"))
    assert check.chance == approx(RISK)


def test_begun_minutes_count_whole() -> None:
    lines = {"": (line("a", 4.2, 0.05), line("b", 5, 0.05))}
    assert len(picked(choose_inspections(lines, cars(0.05), Terms(9)))["1"]) == 1
    assert len(picked(choose_inspections(lines, cars(0.05), Terms(10)))["1"]) == 2


OTHER = line("other", 5, 0.5)


@pytest.mark.parametrize(
    "other",
    [
        replace(OTHER, asked=False),
        replace(OTHER, severity="should"),
        replace(OTHER, kind="conduct"),
        replace(OTHER, kind="charge"),
    ],
    ids=["not asked", "advice", "conduct", "charge"],
)
def test_what_no_car_can_break_is_not_looked_at(other: CheckLine) -> None:
    plan = choose_inspections({"": (line("one", 5, 0.5), other)}, cars(0.05), Terms(60))
    assert (picked(plan), plan.left_out) == ({"1": ["one"]}, ("other",))


def test_what_an_accepted_inspection_of_its_engine_has_shown_is_not_looked_at_again() -> None:
    known = (replace(line("one", 5, 0.1), inspected=True), line("two", 5, 0.01))
    lines = {"": (line("one", 5, 0.1), line("two", 5, 0.01)), "blue": known}
    both = (Entrant(car="7", engine="blue"), Entrant(car="8"))
    assert picked(choose_inspections(lines, both, Terms(15))) == {"7": ["two"], "8": ["one", "two"]}


def test_of_cars_alike_the_better_placed_goes_first_and_ties_are_settled() -> None:
    field = (Entrant(car="1", finish=3), Entrant(car="2"), Entrant(car="3", finish=1), Entrant(car="4", finish=2))
    lines = {"": (line("one", 10, 0.05), line("two", 10, 0.05))}
    plan = choose_inspections(lines, field, Terms(30))
    assert picked(plan) == {"3": ["one", "two"], "4": ["one"]}
    assert plan == choose_inspections(lines, field, Terms(30))


def test_no_car_takes_more_than_one_inspector_has() -> None:
    lines = {"": (line("long", 50, 0.9), line("short", 20, 0.1))}
    plan = choose_inspections(lines, cars(0.05), Terms(40, inspectors=2))
    assert picked(plan) == {"1": ["short"]}


def best_by_trying_all(lines: Sequence[CheckLine], risks: Sequence[float], terms: Terms) -> tuple[float, float]:
    """The highest sum of chances that any choice has in one pool, and the fewest minutes that give it."""
    mean = sum(risks) / len(risks)
    pairs = [(car, one) for car in range(len(risks)) for one in lines]
    found = (0.0, 0.0)
    for size in range(len(pairs) + 1):
        for choice in combinations(pairs, size):
            took = [minutes_on([one for at, one in choice if at == car], terms) for car in range(len(risks))]
            if sum(took) <= terms.pool and max(took) <= terms.minutes:
                worth = sum((one.risk or RISK) * risks[car] / mean for car, one in choice)
                found = max(found, (round(worth, 9), -sum(took)))
    return found[0], -found[1]


def minutes_on(lines: Sequence[CheckLine], terms: Terms) -> float:
    deepest = {one.carrier: max(lines, key=lambda other: (other.carrier == one.carrier, other.rank)) for one in lines}
    opening = sum(terms.opening[one.level] for one in deepest.values() if one.level)
    return terms.each_car + opening + sum(one.minutes for one in lines) if lines else 0


@pytest.mark.parametrize("seed", range(60))
def test_no_other_choice_finds_more_in_one_pool_or_as_much_in_fewer_minutes(seed: int) -> None:
    draw = random.Random(seed)  # noqa: S311 - not for secrets
    risks = [draw.choice((0.02, 0.05, 0.10)) for _ in range(draw.choice((1, 2, 3)))]
    depths = ((0, "engine"), (1, "engine"), (2, "engine"), (1, "car"))
    lines = tuple(
        line(f"R{number}", draw.randint(1, 9), draw.choice((0.01, 0.02, 0.03)), *draw.choice(depths))
        for number in range(6 if len(risks) < 2 else 4)
    )
    opening = {"E1": draw.randint(0, 6), "E2": draw.randint(6, 12), "C1": draw.randint(0, 6)}
    terms = Terms(draw.randint(5, 30), draw.choice((1, 2)), draw.choice((0, 3)), opening)
    plan = choose_inspections({"": lines}, cars(*risks), terms)
    worth, minutes = best_by_trying_all(lines, risks, terms)
    assert plan.bound == approx(worth, abs=1e-7)
    assert plan.expected <= plan.bound + 1e-9
    assert all(load <= terms.minutes for load in plan.loads)
    if terms.inspectors == 1:
        assert plan.expected == approx(worth, abs=1e-7)
        assert plan.used == minutes
    for visit in plan.visits:
        on_it = [one for one in lines if one.rule in [check.rule for check in visit.checks]]
        assert visit.minutes == minutes_on(on_it, terms)


def test_where_whole_cars_do_not_fit_checks_are_chosen_anew_within_the_minutes_of_each() -> None:
    lines = {"": (line("a", 7, 0.05), line("b", 3, 0.01))}
    plan = choose_inspections(lines, cars(0.05, 0.05, 0.05), Terms(12, inspectors=2))
    assert plan.bound == approx(0.15 + 0.01)
    assert plan.expected == approx(0.12)
    assert plan.loads == (10, 10)


def test_part_of_the_minutes_is_drawn_by_lot_and_the_same_seed_draws_the_same() -> None:
    lines = {"": tuple(line(f"R{number}", 5, 0.05 if number < 4 else 0.01) for number in range(12))}
    terms = Terms(40, inspectors=2, drawn=50, seed=3)
    plan = choose_inspections(lines, cars(0.05, 0.06), terms)
    by_lot = [(check.car, check.rule) for visit in plan.visits for check in visit.checks if check.drawn]
    assert (plan.used, len(by_lot), plan.expected < plan.bound) == (80, 8, True)
    assert plan == choose_inspections(lines, cars(0.05, 0.06), terms)
    others = [choose_inspections(lines, cars(0.05, 0.06), replace(terms, seed=seed)) for seed in range(3)]
    assert any(other.visits != plan.visits for other in others)


def test_all_may_be_drawn_by_lot_and_no_inspector_idles() -> None:
    plan = choose_inspections({"": (line("one", 5, 0.05),)}, cars(0.05, 0.05), Terms(5, inspectors=2, drawn=100))
    assert (plan.loads, [check.drawn for visit in plan.visits for check in visit.checks]) == ((5, 5), [True, True])


def test_no_car_no_check() -> None:
    plan = choose_inspections({"": (line("one", 5, 0.05),)}, (), Terms(60))
    assert (plan.visits, plan.expected, plan.loads) == ((), 0, (0,))


@pytest.mark.parametrize(
    ("minutes", "most"),
    [([50, 30, 30, 20, 20], 80), ([60, 50, 40, 30, 20], 100), ([34, 33, 33, 50, 50], 100), ([10], 10), ([], 10)],
)
def test_cars_are_shared_out_so_that_nobody_has_too_many_minutes(minutes: Sequence[int], most: int) -> None:
    who = share_out(minutes, 2, most)
    assert len(who) == len(minutes)
    assert max(loads_of(minutes, who, 2)) <= most


def test_cars_that_cannot_be_shared_out_are_levelled() -> None:
    who = share_out([60, 60, 60], 2, 90)
    assert sorted(loads_of([60, 60, 60], who, 2)) == [60, 120]


def test_a_large_field_is_chosen_for_in_a_moment() -> None:
    lines = {"": tuple(line(f"R{n}", 1 + n % 17, 0.001 * (1 + n % 29), n % 4) for n in range(100))}
    field = cars(*(0.01 + 0.001 * n for n in range(60)))
    plan = choose_inspections(lines, field, Terms(240, inspectors=4))
    assert plan.used > 0.98 * 960
    assert plan.expected > 0.98 * plan.bound


# Results

HEADER = "engine,pack,rule,found,value,unit,uncertainty,date,by,instrument,note\n"
CLAUSES = """
[[rule]]
id = "stroke"
kind = "limit"
says = "so"
of = "crank.stroke"
max = "3.260 in"
[[rule]]
id = "metal"
kind = "word"
says = "so"
of = "crank.material"
one_of = "steel"
[[rule]]
id = "ports"
kind = "inspection"
says = "so"
slot = "block"
[[rule]]
id = "cost"
kind = "limit"
says = "so"
of = "price"
max = "9000 USD"
[[rule]]
id = "old cranks"
kind = "limit"
says = "so"
of = "crank.mass"
max = "19 kg"
kept = {bought_before = 2026-01-01}
[[rule]]
id = "later"
kind = "inspection"
says = "so"
effective = 2028-01-01
[[rule]]
id = "advice"
kind = "inspection"
says = "so"
severity = "should"
"""


@pytest.fixture
def results_of(
    write: Write, pack_of: Callable[..., Pack], sheet_of: Callable[..., Sheet]
) -> Callable[..., tuple[tuple[Outcome, ...], Seen]]:
    """What became of each row of a results sheet of cars 7 and 8; rows are given behind the name of the car."""

    def results(*rows: str, head: str = "", **given: object) -> tuple[tuple[Outcome, ...], Seen]:
        pack = pack_of(head + CLAUSES)
        path = write("results.csv", HEADER + "".join(f"{row}\n" for row in rows))
        read, problems = read_results(path, ["7", "8"], [pack])
        return (() if problems else outcomes(read, [pack], sheet_of(**given))), seen(problems)

    return results


Results = Callable[..., tuple[tuple[Outcome, ...], Seen]]


@pytest.mark.parametrize(
    ("cells", "outcome"),
    [
        ("stroke,,3.259,in,,2027-05-01,A. Judge,,", "met"),
        ("stroke,,82.7,mm,,2027-05-01,A. Judge,,", "met"),
        ("stroke,,3.261,in,,2027-05-01,A. Judge,,", "broken"),
        ("stroke,,83,mm,,2027-05-01,A. Judge,,", "broken"),
        ("stroke,meets,,,,2027-05-01,A. Judge,,", "met"),
        ("stroke,breaks,,,,2027-05-01,A. Judge,,", "broken"),
        ("stroke,meets,3.261,in,,2027-05-01,A. Judge,,", "broken"),
        ("stroke,breaks,3.259,in,,2027-05-01,A. Judge,,", "broken"),
        ("stroke,,,,,2027-05-01,,,", "not looked at"),
        ("stroke,,,,,2027-05-01,A. Judge,dial,no time", "not looked at"),
        ("metal,,steel,,,2027-05-01,A. Judge,,", "met"),
        ("metal,,iron,,,2027-05-01,A. Judge,,", "broken"),
        ("ports,meets,,,,2027-05-01,A. Judge,,", "met"),
        ("ports,meets,as cast,,,2027-05-01,A. Judge,,", "met"),
        ("ports,breaks,,,,2027-05-01,A. Judge,,", "broken"),
        ("cost,meets,9400,,,2027-05-01,A. Judge,,", "met"),
        ("old cranks,,20,kg,,2027-05-01,A. Judge,,", "owed"),
        ("old cranks,breaks,20,kg,,2027-05-01,A. Judge,,", "broken"),
        ("old cranks,,18,kg,,2027-05-01,A. Judge,,", "met"),
        ("later,breaks,,,,2027-05-01,A. Judge,,", "not asked"),
        ("later,breaks,,,,2028-05-01,A. Judge,,", "broken"),
    ],
)
def test_each_row_is_met_broken_or_owed(results_of: Results, cells: str, outcome: str) -> None:
    (found,), problems = results_of(f"7,,{cells}")
    assert (problems, found.car, found.outcome) == ([], "7", outcome)


def test_a_value_is_told_with_limit_margin_and_how_close_it_is(results_of: Results) -> None:
    (found,), _ = results_of("7,rules,stroke,,3.259,in,0.002,2027-05-01,A. Judge,dial,")
    assert (found.value, found.limit, found.close) == (Quantity(3.259, "in"), "at most 3.260 in", True)
    assert found.margin is not None
    assert found.margin.value == approx(0.001)


def test_the_car_is_judged_by_its_own_value_and_not_by_the_parts_of_the_plan(results_of: Results) -> None:
    rows = ("7,,stroke,,3.2,in,,2027-05-01,A. Judge,,", "7,,ports,meets,,,,2027-05-01,A. Judge,,")
    found, _ = results_of(*rows, parts={"crank": "K-2"})
    assert [one.outcome for one in found] == ["met", "met"]


def test_word_and_value_that_contradict_each_other_are_told(results_of: Results) -> None:
    rows = ("7,,stroke,meets,3.261,in,,2027-05-01,A. Judge,,", "8,,stroke,breaks,3.2,in,,2027-05-01,A. Judge,,")
    found, _ = results_of(*rows)
    assert [len(one.why) for one in found] == [1, 1]


def test_only_those_whom_the_book_names_can_show_that_a_clause_is_met(results_of: Results) -> None:
    rows = [f"{car},,ports,{word},,,,2027-05-01,{by},," for car, word, by in (("7", "meets", "a friend"),)]
    rows += ["8,,ports,meets,,,,2027-05-01,A. Judge,,", "7,,stroke,breaks,,,,2027-05-01,a friend,,"]
    found, _ = results_of(*rows, head='gauges = ["A. Judge"]\n')
    assert [(one.car, one.outcome) for one in found] == [("7", "owed"), ("8", "met"), ("7", "broken")]


def test_of_several_results_the_latest_counts_and_an_empty_row_never(results_of: Results) -> None:
    found, _ = results_of(
        "7,,ports,,,,,2027-05-09,,,",
        "7,,ports,breaks,,,,2027-05-02,A. Judge,,",
        "7,,ports,meets,,,,2027-05-03,A. Judge,,",
        "7,,ports,breaks,,,,2027-05-01,A. Judge,,",
    )
    assert [(one.outcome, one.on.day) for one in found] == [("met", 3)]


@pytest.mark.parametrize(
    ("row", "code", "field"),
    [
        ("9,,ports,meets,,,,2027-05-01,A. Judge,,", "INS003", "engine"),
        ("9,,ports,,,,,2027-05-01,,,", "INS003", "engine"),
        ("7,rules-x,ports,meets,,,,2027-05-01,A. Judge,,", "INS004", "pack"),
        ("7,,prots,meets,,,,2027-05-01,A. Judge,,", "INS005", "rule"),
        ("7,,ports,meats,,,,2027-05-01,A. Judge,,", "REA020", "found"),
        ("7,,ports,meets,,,,2027-05-01,,,", "REA016", "by"),
        ("7,,ports,meets,,,,,A. Judge,,", "REA016", "date"),
        ("7,,ports,meets,,in,,2027-05-01,A. Judge,,", "INS002", "unit"),
        ("7,,ports,,as cast,,,2027-05-01,A. Judge,,", "REA016", "found"),
        ("7,,cost,,9400,,,2027-05-01,A. Judge,,", "REA016", "found"),
        ("7,,stroke,,3.2,kg,,2027-05-01,A. Judge,,", "REA021", "unit"),
        ("7,,stroke,,3.2,,,2027-05-01,A. Judge,,", "REA021", "unit"),
        ("7,,stroke,,short,,,2027-05-01,A. Judge,,", "REA017", "value"),
        ("7,,stroke,meets,short,,,2027-05-01,A. Judge,,", "REA017", "value"),
    ],
)
def test_each_bad_cell_of_a_results_sheet_is_told(results_of: Results, row: str, code: str, field: str) -> None:
    _, problems = results_of("8,,ports,meets,,,,2027-05-01,A. Judge,,", row)
    assert problems == [(code, "results.csv:3", field)]


def test_all_faults_are_told_at_once(results_of: Results) -> None:
    _, problems = results_of("7,,stroke,,3.2,,,2027-05-01,A. Judge,,", "9,,ports,meets,,,,2027-05-01,A. Judge,,")
    assert sorted(problems) == [("INS003", "results.csv:3", "engine"), ("REA021", "results.csv:2", "unit")]


def test_each_car_has_what_is_met_broken_and_owed(results_of: Results) -> None:
    found, _ = results_of(
        "7,,stroke,,3.3,in,,2027-05-01,A. Judge,,",
        "8,,stroke,,,,,2027-05-01,,,",
        "7,,ports,meets,,,,2027-05-01,A. Judge,,",
        "7,,advice,breaks,,,,2027-05-01,A. Judge,,",
        "8,,old cranks,,20,kg,,2027-05-01,A. Judge,,",
    )
    assert [(car.car, car.met, car.broken, car.owed) for car in by_car(found)] == [
        ("7", 1, ("stroke",), ()),
        ("8", 0, (), ("stroke", "old cranks")),
    ]


# The command


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A copy of a demo with three cars."""
    monkeypatch.setenv("COLUMNS", "80")
    for name in ("scenarios", "catalogs"):
        shutil.copytree(ROOT / name, tmp_path / name)
    scenario = tmp_path / "scenarios/oval-v8"
    (scenario / "entries.csv").write_text("car,engine,risk,finish\n7,,,2\n12,blue,2 %,1\n48,,20 %,\n", encoding="utf-8")
    return scenario


def run(folder: Path, *words: str) -> Result:
    return CliRunner().invoke(app, ["rules", "inspect", str(folder), "--on", "2027-05-14", *words])


def test_the_page_says_who_looks_at_what_on_which_car_and_fits(folder: Path) -> None:
    found = run(folder, "--minutes", "40", "--inspectors", "2", "--opening", "springs=20")
    assert found.exit_code == 0
    assert max(map(len, found.output.splitlines())) <= 80
    assert [found.output.count(f"Inspector {number}:") for number in (1, 2, 3)] == [1, 1, 0]
    assert not {"legal", "safe"} & set(found.output.lower().split())


def test_json_and_csv_have_the_same_checks(folder: Path) -> None:
    answer = json.loads(run(folder, "--minutes", "60", "--json").output)
    checks = [check for visit in answer["plan"]["visits"] for check in visit["checks"]]
    rows = list(csv.DictReader(io.StringIO(run(folder, "--minutes", "60", "--csv").output)))
    assert [(row["car"], row["rule"]) for row in rows] == [(check["car"], check["rule"]) for check in checks]
    assert len(rows) > 3


def test_a_results_sheet_is_written_filled_in_and_taken_back(folder: Path, tmp_path: Path) -> None:
    sheet = tmp_path / "sheet.csv"
    assert run(folder, "--minutes", "60", "--out", str(sheet)).exit_code == 0
    rows = list(csv.DictReader(io.StringIO(sheet.read_text("utf-8"))))
    assert {(row["found"], row["value"], row["by"], row["date"]) for row in rows} == {("", "", "", "2027-05-14")}

    empty = run(folder, "--results", str(sheet), "--json")
    assert empty.exit_code == 0
    outcomes = [one["outcome"] for car in json.loads(empty.output)["cars"] for one in car["outcomes"]]
    assert outcomes == ["not looked at"] * len(rows)

    filled = [{**row, "found": "meets", "by": "technical steward"} for row in rows]
    assert back(folder, sheet, filled).exit_code == 0
    broken = back(folder, sheet, [{**filled[0], "found": "breaks"}, *filled[1:]])
    assert (broken.exit_code, "Broken" in broken.output) == (1, True)
    assert max(map(len, broken.output.splitlines())) <= 80
    wrong = back(folder, sheet, [{**filled[0], "engine": "99"}, *filled[1:]])
    assert (wrong.exit_code, "sheet.csv:2: engine: INS003" in wrong.output) == (2, True)


def back(folder: Path, sheet: Path, rows: Sequence[Mapping[str, str]]) -> Result:
    """What the command makes of a sheet with these rows."""
    with sheet.open("w", encoding="utf-8", newline="") as file:
        writer = csv.DictWriter(file, list(rows[0]))
        writer.writeheader()
        writer.writerows(rows)
    return run(folder, "--results", str(sheet))


def test_no_file_is_written_over_and_none_is_left_in_part(folder: Path, tmp_path: Path) -> None:
    there = tmp_path / "there.csv"
    there.write_text("mine", encoding="utf-8")
    before = sorted(tmp_path.iterdir())
    found = run(folder, "--minutes", "60", "--out", str(there))
    assert (found.exit_code, there.read_text("utf-8")) == (2, "mine")
    assert run(folder, "--minutes", "60", "--out", str(tmp_path / "no" / "where.csv")).exit_code == 2
    assert sorted(tmp_path.iterdir()) == before


@pytest.mark.parametrize(
    ("words", "problem"),
    [
        ((), "--minutes: REA016"),
        (("--minutes", "60", "--opening", "spring=4"), "--opening 1: REA020"),
        (("--minutes", "60", "--opening", "springs=4", "--opening", "springs"), "--opening 2: REA017"),
        (("--minutes", "60", "--opening", "springs=-4"), "--opening 1: REA018"),
        (("--minutes", "60", "--pack", "rules-tor"), "--pack: REA020"),
        (("--results", "nowhere.csv"), "nowhere.csv: REA001"),
    ],
)
def test_what_is_asked_wrongly_is_told(folder: Path, words: Sequence[str], problem: str) -> None:
    found = run(folder, *words)
    assert (found.exit_code, problem in found.output) == (2, True)


def test_without_entries_there_is_no_car_to_inspect(folder: Path) -> None:
    (folder / "entries.csv").unlink()
    found = run(folder, "--minutes", "60")
    assert (found.exit_code, "entries.csv: REA001" in found.output) == (2, True)
