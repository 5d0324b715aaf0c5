"""Cells: numbers, dates and units are read or refused, never guessed."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date, datetime
from decimal import Decimal
from pathlib import Path
from typing import Annotated, Any

import pytest
from pydantic import BeforeValidator, Field

from costplan.problems import NOWHERE
from costplan.quantity import Quantity
from costplan.reading import Record, read_records, read_table
from costplan.reading.fields import (
    Count,
    Day,
    Days,
    Fuel,
    Length,
    Measure,
    MeasureName,
    Name,
    NotNegative,
    Positive,
    Share,
    Whole,
    Words,
    YesNo,
    number_type,
)
from costplan.reading.records import validate

Write = Callable[[str, str | bytes], Path]


#: A number of any sign.
Number = Annotated[float, BeforeValidator(float), number_type(None)]


class Cells(Record):
    number: Number | None = Field(default=None, description="")
    positive: Positive | None = Field(default=None, description="")
    not_negative: NotNegative | None = Field(default=None, description="")
    whole: Whole | None = Field(default=None, description="")
    count: Count | None = Field(default=None, description="")
    share: Share | None = Field(default=None, description="")
    day: Day | None = Field(default=None, description="")
    days: Days = Field(default=(), description="")
    yes: YesNo | None = Field(default=None, description="")
    name: Name | None = Field(default=None, description="")
    words: Words = Field(default=(), description="")
    measure: Measure | None = Field(default=None, description="")
    length: Length | None = Field(default=None, description="")
    fuel: Fuel | None = Field(default=None, description="")


def cell(field: str, value: Any) -> Any:
    """One value as a record reads it (as from TOML), or the code of its problem."""
    record, problems = validate(Cells, {field: value}, lambda loc: (NOWHERE, str(loc[-1])), {})
    if record is None:
        assert [problem.field for problem in problems] == [field]
        return problems[0].code
    return getattr(record, field)


@pytest.mark.parametrize(
    ("value", "read"),
    [
        ("12.5", 12.5),
        ("-3", -3),
        ("\u22123", -3),
        ("+1e3", 1000),
        ("1000000000000", 1e12),
        (7, 7),
        (Decimal("0.1"), 0.1),
        ("1e999", "REA018"),
        ("1e-999", "REA018"),
        ("1000000000001", "REA018"),
        ("inf", "REA018"),
        ("-Infinity", "REA018"),
        ("NaN", "REA018"),
        ("sNaN", "REA018"),
        (float("nan"), "REA018"),
        (True, "REA017"),
        ("1_000", "REA017"),
        ("12 mm", "REA017"),
        ("$12", "REA017"),
        ("twelve", "REA017"),
        ("0x10", "REA017"),
        ("1-2", "REA017"),
        ("1,234", "REA024"),
        ("1,5", "REA024"),
        ("1,234.5", "REA024"),
        ([1], "REA017"),
    ],
)
def test_a_number_is_finite_and_means_one_thing(value: Any, read: Any) -> None:
    assert cell("number", value) == read


@pytest.mark.parametrize(
    ("text", "read"),
    [
        ("12,5", 12.5),
        ("1,234", 1.234),
        ("12.5", 12.5),
        ("0.234", 0.234),
        ("1234.567", 1234.567),
        ("1.234", "REA024"),
        ("-12.345.678", "REA024"),
        ("1.234,5", "REA024"),
    ],
)
def test_a_number_in_a_file_with_semicolons(write: Write, text: str, read: float | str) -> None:
    table, _ = read_table(write("cells.csv", f"number;name\n{text};x\n"), "cells")
    assert table is not None
    records, problems = read_records(table, Cells)
    got = [(problem.code, problem.place.line, problem.field) for problem in problems]
    assert got == ([(read, 2, "number")] if isinstance(read, str) else [])
    assert [record.number for record in records] == ([] if isinstance(read, str) else [read])


@pytest.mark.parametrize(("text", "code"), [('"1,234"', "REA024"), ("1e999", "REA018"), ("TRUE", "REA017")])
def test_a_number_in_a_file_with_commas(write: Write, text: str, code: str) -> None:
    table, _ = read_table(write("cells.csv", f"number,name\n{text},x\n"), "cells")
    assert table is not None
    assert [(p.code, p.place.line, p.field) for p in read_records(table, Cells)[1]] == [(code, 2, "number")]


@pytest.mark.parametrize(
    ("field", "value", "read"),
    [
        ("positive", "0.001", 0.001),
        ("positive", "0", "REA018"),
        ("positive", "-1", "REA018"),
        ("positive", "1e-400", "REA018"),
        ("not_negative", "0", 0.0),
        ("not_negative", "-0.1", "REA018"),
        ("whole", "0", 0),
        ("whole", "1.0", 1),
        ("whole", "1.5", "REA017"),
        ("count", "1", 1),
        ("count", "0", "REA018"),
        ("share", "0.05", 0.05),
        ("share", "5 %", 0.05),
        ("share", "5%", 0.05),
        ("share", "0", "REA018"),
        ("share", "1", "REA018"),
        ("share", "100 %", "REA018"),
        ("share", "5", "REA018"),
    ],
)
def test_a_number_within_its_bounds(field: str, value: str, read: Any) -> None:
    assert cell(field, value) == read


@pytest.mark.parametrize(
    ("value", "read"),
    [
        ("2027-05-14", date(2027, 5, 14)),
        (date(2027, 5, 14), date(2027, 5, 14)),
        ("2028-02-29", date(2028, 2, 29)),
        ("2027-02-29", "REA019"),
        ("2027-13-01", "REA019"),
        ("2027-5-14", "REA019"),
        ("14.05.2027", "REA019"),
        ("05/14/27", "REA019"),
        ("20270514", "REA019"),
        ("2027-05-14T10:00", "REA019"),
        (datetime(2027, 5, 14), "REA019"),  # noqa: DTZ001 as tomllib gives a local date-time
        (20270514, "REA019"),
    ],
)
def test_a_date_has_one_form(value: Any, read: Any) -> None:
    assert cell("day", value) == read


def test_dates_stand_with_blanks_between() -> None:
    assert cell("days", "2027-05-14  2027-05-15") == (date(2027, 5, 14), date(2027, 5, 15))
    assert cell("days", "2027-05-14,2027-05-15") == "REA019"


@pytest.mark.parametrize(
    ("value", "read"), [("yes", True), ("No", False), (True, True), ("true", "REA020"), ("1", "REA020"), (1, "REA020")]
)
def test_yes_or_no(value: Any, read: Any) -> None:
    assert cell("yes", value) is read if isinstance(read, bool) else cell("yes", value) == read


@pytest.mark.parametrize(
    ("field", "value", "read"),
    [
        ("name", "  two \n words ", "two words"),
        ("name", "   ", "REA016"),
        ("name", "a\x07b", "REA017"),
        ("name", 5, "REA017"),
        ("words", "a  b", ("a", "b")),
        ("words", ["a b", "c"], ("a b", "c")),
    ],
)
def test_names(field: str, value: Any, read: Any) -> None:
    assert cell(field, value) == read


@pytest.mark.parametrize(
    ("value", "read"),
    [
        ("laps", MeasureName("laps", "1")),
        ("hours", MeasureName("hours", "h")),
        ("distance [mi]", MeasureName("distance", "mi")),
        ("fuel [gal]", MeasureName("fuel", "gal")),
        ("miles", "REA020"),
        ("distance [h]", "REA021"),
        ("laps [furlong]", "REA021"),
    ],
)
def test_a_measure_of_use_with_its_unit(value: str, read: Any) -> None:
    assert cell("measure", value) == read


def test_a_measure_is_kept_in_one_unit() -> None:
    miles = MeasureName("distance", "mi")
    assert miles.to_kept(2) == pytest.approx(3.218688, rel=1e-12)
    assert miles.from_kept(3.218688) == pytest.approx(2, rel=1e-12)


@pytest.mark.parametrize(
    ("field", "value", "read"),
    [
        ("length", "6.125 in", Quantity(6.125, "in")),
        ("length", "6.125", "REA021"),
        ("length", "6.125 kg", "REA021"),
        ("length", "6.125 cubit", "REA021"),
        ("length", "0 in", "REA018"),
        ("length", "-1 in", "REA018"),
        ("length", "long in", "REA017"),
        ("length", 6, "REA017"),
        ("fuel", "0 gal", Quantity(0, "gal")),
    ],
)
def test_a_quantity_in_toml_has_its_unit_behind_it(field: str, value: Any, read: Any) -> None:
    assert cell(field, value) == read


@pytest.mark.parametrize(
    ("content", "problems"),
    [
        ("length [in],name\n6.125,x\n", []),
        ("length[in],name\n6.125,x\n", []),
        ("length,name\n6.125,x\n", [("REA021", 1, "length")]),
        ("length [kg],name\n6.125,x\n", [("REA021", 1, "length [kg]")]),
        ("length [in],name\n6.125 in,x\n", [("REA017", 2, "length [in]")]),
        ("number [kg],name\n6,x\n", [("REA021", 1, "number [kg]")]),
    ],
)
def test_a_unit_stands_in_the_heading(write: Write, content: str, problems: list[tuple[str, int, str]]) -> None:
    table, _ = read_table(write("cells.csv", content), "cells")
    assert table is not None
    assert [(p.code, p.place.line, p.field) for p in read_records(table, Cells)[1]] == problems
