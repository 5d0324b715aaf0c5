"""TOML: every value has a place, and what TOML refuses is a problem."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from pathlib import Path
from typing import ClassVar

import pytest
from pydantic import Field

from costplan.problems import Problem
from costplan.reading import Document, Record, read_part, read_parts, read_toml
from costplan.reading.fields import Name, Positive
from costplan.reading.toml import parse

Write = Callable[[str, str | bytes], Path]


class Gauge(Record):
    KEY: ClassVar[str] = "name"
    name: Name = Field(description="its name")
    size: Positive = Field(default=1, description="its size")


def seen(problems: Iterable[Problem]) -> list[tuple[str, int | None, str]]:
    return [(problem.code, problem.place.line, problem.field) for problem in problems]


def document_of(text: str) -> Document:
    document, problems = parse(text, "some.toml", "some")
    assert problems == ()
    assert document is not None
    return document


TEXT = """\
# top
a = 1

[b]
c.d = '''
x
'''
e = [
  1,
  2, # two
]
[[f]]
[[f]]
g = {h = 1}
"""


def test_each_value_has_its_line() -> None:
    document = document_of(TEXT)
    lines = {".".join(map(str, path)): place.line for path, place in document.places.items()}
    assert lines == {
        "a": 2,
        "b": 4,
        "b.c": 5,
        "b.c.d": 5,
        "b.e": 8,
        "b.e.0": 9,
        "b.e.1": 10,
        "f": 12,
        "f.0": 12,
        "f.1": 13,
        "f.1.g": 14,
        "f.1.g.h": 14,
    }


def test_a_value_that_is_not_there_is_placed_at_the_table_around_it() -> None:
    document = document_of("a = 1\n[b]\nc = 1\n")
    assert document.place(("b", "x", "y")).line == 2
    assert str(document.place(("x",))) == "some.toml"


@pytest.mark.parametrize(
    ("text", "line"),
    [
        ("a = 1\na = 2\n", 2),
        ("[a]\nb = 1\n[a]\n", 3),
        ('a = "open\nb = 1\n', 1),
        ("a = 1\nb = \n", 2),
        ("a = 1\nb = 1 2\n", 2),
        ("a = 1\nb = {x = 1, x = 2}\n", 2),
        ("just words\n", 1),
    ],
)
def test_broken_toml_is_placed(text: str, line: int) -> None:
    document, problems = parse(text)
    assert document is None
    assert seen(problems) == [("REA013", line, "")]


@pytest.mark.parametrize(
    "text",
    ["a = " + "[" * 100_000, "a = " + "{x=" * 100_000, ".".join(["a"] * 5000) + " = 1", f"[{'.'.join(['a'] * 5000)}]"],
    ids=["arrays", "inline tables", "dotted key", "header"],
)
def test_toml_nested_without_end_is_refused(text: str) -> None:
    document, problems = parse(text)
    assert document is None
    assert problems[0].code in ("REA013", "REA014")


@pytest.mark.parametrize("number", ["1e99999999999999999999", "9" * 5000])
def test_a_number_beyond_all_bounds_is_refused(number: str) -> None:
    assert parse(f"a = {number}")[1][0].code == "REA013"


def test_a_file_that_is_no_text_is_refused(write: Write, tmp_path: Path) -> None:
    assert read_toml(write("some.toml", "a = 1\n".encode("utf-16")), "some")[1][0].code == "REA005"
    assert read_toml(tmp_path / "none.toml", "none")[1][0].code == "REA001"
    assert read_toml(tmp_path, "folder")[1][0].code == "REA002"


def test_a_record_of_a_table_with_its_place() -> None:
    document = document_of('title = "x"\n\n[gauge]\nname = "plug"\nsize = 2.5\n')
    gauge, problems = read_part(document, ("gauge",), Gauge)
    assert problems == ()
    assert gauge is not None
    assert (gauge.name, gauge.size, str(gauge.place)) == ("plug", 2.5, "some.toml:3")


@pytest.mark.parametrize(
    ("text", "problem"),
    [
        ('[gauge]\nname = "plug"\ncolour = "red"\n', ("REA015", 3, "gauge.colour")),
        ("[gauge]\nsize = 2\n", ("REA016", 1, "gauge.name")),
        ('[gauge]\nname = "plug"\nsize = -1\n', ("REA018", 3, "gauge.size")),
        ('[gauge]\nname = "plug"\nsize = true\n', ("REA017", 3, "gauge.size")),
        ('[gauge]\nname = "plug"\nsize = inf\n', ("REA018", 3, "gauge.size")),
        ("[gauge]\nname = 5\n", ("REA017", 2, "gauge.name")),
        ("gauge = 5\n", ("REA017", 1, "gauge")),
    ],
)
def test_a_fault_of_a_table_is_placed_at_its_key(text: str, problem: tuple[str, int, str]) -> None:
    gauge, problems = read_part(document_of(text), ("gauge",), Gauge)
    assert gauge is None
    assert seen(problems) == [problem]


def test_an_array_of_tables_counts_from_one_and_keeps_what_is_right() -> None:
    text = '[[gauge]]\nname = "a"\n[[gauge]]\nname = "b"\nsize = 0\n[[gauge]]\nname = "a"\n'
    gauges, problems = read_parts(document_of(text), "gauge", Gauge)
    assert [gauge.name for gauge in gauges] == ["a", "a"]
    assert seen(problems) == [("REA018", 5, "gauge.2.size"), ("REA023", 6, "name")]


def test_an_array_of_tables_may_be_absent_but_not_a_table() -> None:
    assert read_parts(document_of("a = 1"), "gauge", Gauge) == ((), ())
    assert seen(read_parts(document_of("\n[gauge]\n"), "gauge", Gauge)[1]) == [("REA017", 2, "gauge")]
    assert seen(read_parts(document_of("gauge = [1]\n"), "gauge", Gauge)[1]) == [("REA017", 1, "gauge.1")]
