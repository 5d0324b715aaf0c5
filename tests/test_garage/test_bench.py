"""The bench: what was measured, in which unit, and each fault at its place."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest

from costplan.garage import Bench, read_bench
from costplan.quantity import Quantity
from costplan.reading import parse_settings

Write = Callable[[str, str | bytes], Path]
Seen = list[tuple[str, str, str]]

ATTRIBUTES = {"bore": "length", "dish_volume": "volume", "rocker_ratio": "number", "mark": "text"}
MEASURES = {"displacement": "volume", "deck_clearance": "length", "cylinders": "number"}
HEADER = "engine,slot,attribute,value,unit,date,by,instrument,note\n"


def bench(path: Path, *settings: str) -> tuple[tuple[Bench, ...], Seen]:
    rows, problems = read_bench(path, ATTRIBUTES, MEASURES, parse_settings(settings)[0])
    return rows, [(p.code, str(p.place).rpartition("/")[2], p.field) for p in problems]


def test_without_a_file_nothing_was_measured(tmp_path: Path) -> None:
    assert bench(tmp_path / "bench.csv") == ((), [])


def test_a_row_with_all_that_may_be_said(write: Write) -> None:
    text = HEADER + "blue,block,bore,4.0012,in,2027-02-03,A. Builder,bore gauge,warm shop\n"
    (row,), problems = bench(write("bench.csv", text))
    assert problems == []
    assert (row.engine, row.slot, row.attribute, row.found) == ("blue", "block", "bore", Quantity(4.0012, "in"))
    words = str(row).replace(row.place.file, "bench.csv")
    assert words == "measured 4.0012 in on 2027-02-03 by A. Builder with bore gauge (bench.csv:2)"


def test_who_and_with_what_may_be_left_out(write: Write) -> None:
    (row,), _ = bench(write("bench.csv", "slot,attribute,value,unit,date\nblock,bore,101.6,mm,2027-02-03\n"))
    assert str(row).startswith("measured 101.6 mm on 2027-02-03 (")
    assert row.engine == ""


@pytest.mark.parametrize(
    ("cells", "found"),
    [
        ("head,mark,H 58,", "H 58"),
        ("head,mark,58,", "58"),
        ("rockers,rocker_ratio,1.52,", Quantity(1.52)),
        ("pistons,dish_volume,-3.5,cm3", Quantity(-3.5, "cm3")),
        (",displacement,4.94,L", Quantity(4.94, "L")),
        (",deck_clearance,-0.1,mm", Quantity(-0.1, "mm")),
        (",cylinders,8,", Quantity(8.0)),
    ],
)
def test_a_value_is_a_word_or_a_number_by_what_is_measured(write: Write, cells: str, found: Quantity | str) -> None:
    (row,), problems = bench(write("bench.csv", f"slot,attribute,value,unit,date\n{cells},2027-02-03\n"))
    assert (problems, row.found) == ([], found)


def test_an_uncertainty_is_in_the_unit_of_its_value(write: Write) -> None:
    text = "slot,attribute,value,unit,uncertainty,date\nblock,bore,4.0012,in,0.0002,2027-02-03\n"
    text += "rockers,rocker_ratio,1.52,,0,2027-02-03\nhead,dish_volume,5,cm3,,2027-02-03\n"
    (bore, ratio, dish), problems = bench(write("bench.csv", text))
    assert problems == []
    assert [row.spread for row in (bore, ratio, dish)] == [Quantity(0.0002, "in"), Quantity(0.0), None]
    assert str(bore).startswith("measured 4.0012 in ± 0.0002 in on 2027-02-03 (")
    assert str(dish).startswith("measured 5 cm3 on 2027-02-03 (")


@pytest.mark.parametrize(
    ("cells", "problem"),
    [
        ("block,bore,4,in,-0.001", "REA018"),
        ("block,bore,4,in,nan", "REA018"),
        ("block,bore,4,in,0.001 in", "REA017"),
        ("block,mark,B,,0.001", "REA017"),
        ("block,mark,B,,0", "REA017"),
    ],
)
def test_an_uncertainty_at_fault_stands_at_its_cell(write: Write, cells: str, problem: str) -> None:
    text = f"slot,attribute,value,unit,uncertainty,date\n{cells},2027-02-03\n"
    assert bench(write("bench.csv", text))[1] == [(problem, "bench.csv:2", "uncertainty")]


def test_a_decimal_comma_in_a_file_with_semicolons(write: Write) -> None:
    text = "slot;attribute;value;unit;uncertainty;date\nblock;bore;101,62;mm;0,005;2027-02-03\n"
    (row,), problems = bench(write("bench.csv", text))
    assert (problems, row.found, row.spread) == ([], Quantity(101.62, "mm"), Quantity(0.005, "mm"))


@pytest.mark.parametrize(
    ("row", "problem"),
    [
        (",block,bore,4,,2027-02-03", ("REA021", "bench.csv:2", "unit")),
        (",block,bore,4,kg,2027-02-03", ("REA021", "bench.csv:2", "unit")),
        (",block,bore,4,inch,2027-02-03", ("REA021", "bench.csv:2", "unit")),
        (",block,mark,B,in,2027-02-03", ("REA021", "bench.csv:2", "unit")),
        (",block,bore,wide,in,2027-02-03", ("REA017", "bench.csv:2", "value")),
        (",block,bore,nan,in,2027-02-03", ("REA018", "bench.csv:2", "value")),
        (",block,bore,0,in,2027-02-03", ("REA018", "bench.csv:2", "value")),
        (",block,bore,-4,in,2027-02-03", ("REA018", "bench.csv:2", "value")),
        (",block,bore,4,in,yesterday", ("REA019", "bench.csv:2", "date")),
        (",block,bore,4,in,", ("REA016", "bench.csv:2", "date")),
        (",block,bore,,in,2027-02-03", ("REA016", "bench.csv:2", "value")),
        (",block,,4,in,2027-02-03", ("REA016", "bench.csv:2", "attribute")),
        (",,displacement,300,in2,2027-02-03", ("REA021", "bench.csv:2", "unit")),
    ],
)
def test_a_fault_stands_at_its_cell(write: Write, row: str, problem: tuple[str, str, str]) -> None:
    assert bench(write("bench.csv", f"{HEADER}{row},,,\n"))[1] == [problem]


def test_one_value_is_measured_once_for_each_engine(write: Write) -> None:
    rows = [
        f"{engine},block,bore,4,in,2027-02-0{day},,,\n" for day, engine in enumerate(("", "blue", "red", "blue"), 1)
    ]
    assert bench(write("bench.csv", HEADER + "".join(rows)))[1] == [("BEN003", "bench.csv:5", "attribute")]


def test_an_attribute_that_nobody_knows_is_left_to_the_check_of_the_build(write: Write) -> None:
    (row,), problems = bench(write("bench.csv", f"{HEADER},block,boer,4,in,2027-02-03,,,\n"))
    assert (problems, row.found) == ([], "4")


def test_a_setting_writes_a_value(write: Write) -> None:
    path = write("bench.csv", f"{HEADER},block,bore,4,in,2027-02-03,,,\n")
    assert bench(path, "bench/2/value=4.1")[0][0].found == Quantity(4.1, "in")
    assert bench(path, "bench/2/unit=kg")[1] == [("REA021", "--set 1", "unit")]
