"""Engine patterns and builds: slots, inputs, what fills them, each fault at its place."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest

from costplan.build import Build, Pattern, Reference, read_build, read_pattern
from costplan.catalog import Catalog, Part, Role
from costplan.quantity import Quantity
from costplan.reading import parse_settings

Write = Callable[[str, str | bytes], Path]
Seen = list[tuple[str, str, str]]


def part(name: str, role: str, **attributes: Quantity | str) -> Part:
    found = Part(part=name, role=role, supplier="x", price=Decimal(1), price_date=date(2027, 1, 1))
    return found.model_copy(update={"attributes": attributes})


CATALOG = Catalog(
    parts={
        "C-1": part("C-1", "crank", stroke=Quantity(3.25, "in")),
        "P-1": part("P-1", "piston", bore=Quantity(4, "in")),
        "P-2": part("P-2", "piston"),
    },
    written=frozenset({"C-1", "P-1", "P-2", "P-0"}),
    roles={role: Role(role=role) for role in ("crank", "piston", "plate")},
)

PATTERN = """\
name = "V8"
[inputs]
cylinders = 8
red_line = "7400 rpm"
stroke = "crank.stroke"
[[slot]]
slot = "crank"
role = "crank"
[[slot]]
slot = "piston"
role = "piston"
quantity = 8
[[slot]]
slot = "spare-piston"
role = "piston"
optional = true
weighed = false
"""


def pattern_of(write: Write, text: str, *settings: str) -> tuple[Pattern | None, Seen]:
    pattern, problems = read_pattern(write("pattern.toml", text), CATALOG, parse_settings(settings)[0])
    return pattern, [(p.code, str(p.place).rpartition("/")[2], p.field) for p in problems]


def build_of(write: Write, rows: str, *settings: str) -> tuple[Build, Seen]:
    pattern, problems = pattern_of(write, PATTERN)
    assert problems == []
    assert pattern is not None
    build, faults = read_build(write("build.csv", rows), pattern, CATALOG, parse_settings(settings)[0])
    return build, [(p.code, str(p.place).rpartition("/")[2], p.field) for p in faults]


def test_a_pattern_with_slots_and_inputs(write: Write) -> None:
    pattern, problems = pattern_of(write, PATTERN)
    assert problems == []
    assert pattern is not None
    assert [(slot.slot, slot.quantity, slot.optional, slot.weighed) for slot in pattern.slots.values()] == [
        ("crank", 1, False, True),
        ("piston", 8, False, True),
        ("spare-piston", 1, True, False),
    ]
    assert {name: value for name, (value, _) in pattern.inputs.items()} == {
        "cylinders": Quantity(8),
        "red_line": Quantity(7400, "rpm"),
        "stroke": Reference("crank", "stroke"),
    }
    assert pattern.inputs["red_line"][1].line == 4


@pytest.mark.parametrize(
    ("line", "value"),
    [
        ('deck_clearance = "-0.5 mm"', Quantity(-0.5, "mm")),
        ('dish_volume = "-3.5 cm3"', Quantity(-3.5, "cm3")),
        ('bore = ".5 in"', Quantity(0.5, "in")),
        ('bore = "4 in"', Quantity(4, "in")),
        ("rocker_ratio = 1.6", Quantity(1.6)),
        ('rocker_ratio = "1.6"', Quantity(1.6)),
    ],
)
def test_an_input_may_be_a_number(write: Write, line: str, value: Quantity) -> None:
    pattern, problems = pattern_of(write, f'name = "V8"\n[inputs]\n{line}\n')
    assert problems == []
    assert pattern is not None
    assert [found for found, _ in pattern.inputs.values()] == [value]


@pytest.mark.parametrize(
    ("line", "problem"),
    [
        ("colour = 1", ("REA015", "pattern.toml:3", "inputs.colour")),
        ('stroke = "shaft.stroke"', ("BLD006", "pattern.toml:3", "inputs.stroke")),
        ('stroke = "crank.strike"', ("BLD006", "pattern.toml:3", "inputs.stroke")),
        ('stroke = "3.25 kg"', ("REA021", "pattern.toml:3", "inputs.stroke")),
        ("stroke = 3.25", ("REA021", "pattern.toml:3", "inputs.stroke")),
        ('stroke = "long in"', ("BLD006", "pattern.toml:3", "inputs.stroke")),
        ("cylinders = true", ("BLD006", "pattern.toml:3", "inputs.cylinders")),
        ("cylinders = [8]", ("BLD006", "pattern.toml:3", "inputs.cylinders")),
        ("cylinders = nan", ("BLD006", "pattern.toml:3", "inputs.cylinders")),
    ],
)
def test_an_input_at_fault_is_left_out(write: Write, line: str, problem: tuple[str, str, str]) -> None:
    pattern, problems = pattern_of(write, PATTERN.splitlines()[0] + f"\n[inputs]\n{line}\n" + SLOTS)
    assert problems == [problem]
    assert pattern is not None
    assert pattern.inputs == {}


SLOTS = '[[slot]]\nslot = "crank"\nrole = "crank"\n'


@pytest.mark.parametrize(
    ("text", "problem"),
    [
        ('[[slot]]\nslot = "a"\nrole = "wheel"\n', ("CAT002", "pattern.toml:2", "role")),
        ('[[slot]]\nslot = "a"\nrole = "plate"\n', ("BLD004", "pattern.toml:2", "role")),
        ('[[slot]]\nslot = "a b"\nrole = "crank"\n', ("REA017", "pattern.toml:3", "slot.1.slot")),
        ('[[slot]]\nslot = "a.b"\nrole = "crank"\n', ("REA017", "pattern.toml:3", "slot.1.slot")),
        ('[[slot]]\nslot = "a"\nrole = "crank"\nquantity = 0\n', ("REA018", "pattern.toml:5", "slot.1.quantity")),
        ('[[slot]]\nslot = "a"\n', ("REA016", "pattern.toml:2", "slot.1.role")),
        (SLOTS + SLOTS, ("REA023", "pattern.toml:5", "slot")),
        ("colour = 1\n", ("REA015", "pattern.toml:2", "colour")),
    ],
)
def test_a_fault_of_a_slot_stands_at_its_key(write: Write, text: str, problem: tuple[str, str, str]) -> None:
    assert pattern_of(write, 'name = "V8"\n' + text)[1] == [problem]


def test_a_pattern_without_a_name_or_a_file(write: Write, tmp_path: Path) -> None:
    assert pattern_of(write, SLOTS)[1][0][0] == "REA016"
    assert [p.code for p in read_pattern(tmp_path / "none.toml", CATALOG)[1]] == ["REA001"]


def test_a_build_fills_the_slots(write: Write) -> None:
    build, problems = build_of(write, "slot,part\ncrank,C-1\npiston,P-1\n")
    assert problems == []
    found: Any = build.part("piston")
    assert (found.part, build.fills["piston"].place.line, build.part("spare-piston")) == ("P-1", 3, None)


@pytest.mark.parametrize(
    ("rows", "problem"),
    [
        ("crank,C-1\npiston,P-1\nvalve,P-1\n", ("BLD001", "build.csv:4", "slot")),
        ("crank,C-1\npiston,P-9\n", ("BLD002", "build.csv:3", "part")),
        ("crank,C-1\npiston,C-1\n", ("BLD003", "build.csv:3", "part")),
        ("crank,C-1\n", ("BLD005", "build.csv", "slot")),
        ("crank,C-1\npiston,P-1\npiston,P-2\n", ("BLD009", "build.csv:4", "slot")),
    ],
)
def test_a_fault_of_a_build_stands_at_its_row(write: Write, rows: str, problem: tuple[str, str, str]) -> None:
    assert build_of(write, "slot,part\n" + rows)[1] == [problem]


def test_a_part_whose_row_is_at_fault_is_not_unknown_to_the_build(write: Write) -> None:
    build, problems = build_of(write, "slot,part\ncrank,C-1\npiston,P-0\n")
    assert (problems, build.part("piston")) == ([], None)


def test_a_pattern_whose_head_is_at_fault_still_tells_of_its_slots(write: Write) -> None:
    problems = pattern_of(write, '[[slot]]\nslot = "a"\nrole = "wheel"\n')[1]
    assert [code for code, _, _ in problems] == ["REA016", "CAT002"]


def test_a_setting_puts_another_part_in_a_slot(write: Write) -> None:
    build, problems = build_of(write, "slot,part\ncrank,C-1\npiston,P-1\n", "build/piston/part=P-2")
    found: Any = build.part("piston")
    assert (found.part, problems) == ("P-2", [])
    assert build_of(write, "slot,part\ncrank,C-1\npiston,P-1\n", "build/piston/part=C-1")[1] == [
        ("BLD003", "build.csv:3", "part")
    ]


# Fits -----------------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("keys", "that", "within", "plus"),
    [
        ('must = "equal"\nthat = "crank.stroke"\nwithin = "0.006 in"', "crank.stroke", Quantity(0.006, "in"), None),
        ('must = "at most"\nthat = "4.06 in"', Quantity(4.06, "in"), None, None),
        ('must = "at least"\nthat = "-.5 mm"', Quantity(-0.5, "mm"), None, None),
        ('must = "at least"\nthat = "stroke"\nplus = "-1 mm"', "stroke", None, Quantity(-1, "mm")),
        ('must = "equal"\nthat = "deck_clearance"\nwithin = "0 in"', "deck_clearance", Quantity(0, "in"), None),
    ],
)
def test_a_fit_compares_with_a_name_or_a_quantity(
    write: Write, keys: str, that: Quantity | str, within: Quantity | None, plus: Quantity | None
) -> None:
    pattern, problems = pattern_of(write, f'{PATTERN}[[fit]]\nfit = "one"\nthis = "piston.bore"\n{keys}\n')
    assert problems == []
    assert pattern is not None
    (fit,) = pattern.fits
    assert (fit.that, fit.within, fit.plus, fit.place.line) == (that, within, plus, 18)


@pytest.mark.parametrize(
    "keys",
    [
        'this = "count.piston"\nmust = "equal"\nthat = 8',
        'this = "count.plate"\nmust = "at most"\nthat = 0',
        'this = "rod_ratio"\nmust = "at least"\nthat = "1.5"',
        'this = "piston.material"\nmust = "one of"\nthat = "crank.mark"',
        'this = "piston.pin_diameter"\nmust = "at least"\nthat = "20 mm"',
    ],
    ids=["a count", "a role without a slot", "a measure", "a word", "what no part of the catalogs gives yet"],
)
def test_what_a_fit_may_speak_of(write: Write, keys: str) -> None:
    pattern, problems = pattern_of(write, f'{PATTERN}[[fit]]\nfit = "one"\n{keys}\n')
    assert problems == []
    assert pattern is not None
    assert len(pattern.fits) == 1


@pytest.mark.parametrize(
    ("keys", "problem"),
    [
        ('this = "pistons.bore"\nmust = "equal"\nthat = "stroke"', ("BLD007", "pattern.toml:20", "fit.1.this")),
        ('this = "stroke"\nmust = "equal"\nthat = "piston.boar"', ("BLD007", "pattern.toml:22", "fit.1.that")),
        ('this = "count.rod"\nmust = "equal"\nthat = 8', ("BLD007", "pattern.toml:20", "fit.1.this")),
        ('this = "price"\nmust = "at most"\nthat = 8', ("BLD007", "pattern.toml:20", "fit.1.this")),
        ('this = "stroke"\nmust = "equal"\nthat = "mass"', ("BLD008", "pattern.toml:22", "fit.1.that")),
        ('this = "stroke"\nmust = "one of"\nthat = "bore"', ("BLD008", "pattern.toml:21", "fit.1.must")),
        ('this = "piston.mark"\nmust = "at most"\nthat = "crank.mark"', ("BLD008", "pattern.toml:21", "fit.1.must")),
        ('this = "piston.mark"\nmust = "equal"\nthat = 8', ("BLD008", "pattern.toml:22", "fit.1.that")),
        (
            'this = "stroke"\nmust = "at most"\nthat = "bore"\nwithin = "1 mm"',
            ("BLD008", "pattern.toml:23", "fit.1.within"),
        ),
        ('this = "stroke"\nmust = "equal"\nthat = "bore"\nplus = "1 mm"', ("BLD008", "pattern.toml:23", "fit.1.plus")),
        (
            'this = "stroke"\nmust = "equal"\nthat = "bore"\nwithin = "1 g"',
            ("REA021", "pattern.toml:23", "fit.1.within"),
        ),
        ('this = "stroke"\nmust = "equal"\nthat = 8', ("REA021", "pattern.toml:22", "fit.1.that")),
        ('this = "stroke"\nmust = "equal"\nthat = true', ("REA017", "pattern.toml:22", "fit.1.that")),
        ('this = "stroke"\nmust = "equal"\nthat = [8]', ("REA017", "pattern.toml:22", "fit.1.that")),
        ('this = "stroke"\nmust = "equal"\nthat = "8 yd"', ("REA021", "pattern.toml:22", "fit.1.that")),
        ('this = "stroke"\nmust = "equal"\nthat = ""', ("REA016", "pattern.toml:22", "fit.1.that")),
        ('this = "stroke"\nmust = "equal"\nthat = "bore"\ntight = 1', ("REA015", "pattern.toml:23", "fit.1.tight")),
    ],
)
def test_a_fit_at_fault_is_left_out(write: Write, keys: str, problem: tuple[str, str, str]) -> None:
    pattern, problems = pattern_of(write, f'{PATTERN}[[fit]]\nfit = "one"\n{keys}\n')
    assert problems == [problem]
    assert pattern is not None
    assert pattern.fits == ()


def test_fits_that_are_no_list_are_one_problem(write: Write) -> None:
    assert pattern_of(write, f"fit = 3\n{PATTERN}")[1] == [("REA017", "pattern.toml:1", "fit")]


@pytest.mark.parametrize("name", ["count", "made"])
def test_a_slot_may_not_be_called_like_a_word_of_names(write: Write, name: str) -> None:
    text = f'name = "V8"\n[[slot]]\nslot = "{name}"\nrole = "crank"\n'
    assert pattern_of(write, text)[1] == [("REA017", "pattern.toml:3", "slot.1.slot")]
