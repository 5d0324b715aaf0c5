"""`--set`: one cell or key is written before anything is validated, and stands in messages as its own place."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from pathlib import Path
from typing import Any, ClassVar

import pytest
from pydantic import Field

from costplan.problems import Problem
from costplan.reading import (
    Document,
    Record,
    Setting,
    astray,
    parse_settings,
    read_part,
    read_records,
    read_table,
    read_toml,
)
from costplan.reading.fields import Length, Name, Positive

Write = Callable[[str, str | bytes], Path]


class Race(Record):
    KEY: ClassVar[str] = "name"
    name: Name = Field(description="its name")
    laps: Positive = Field(default=1, description="its laps")
    lap: Length | None = Field(default=None, description="length of a lap")


def seen(problems: Iterable[Problem]) -> list[tuple[str, str, str]]:
    return [(problem.code, str(problem.place), problem.field) for problem in problems]


def settings_of(*texts: str) -> tuple[Setting, ...]:
    settings, problems = parse_settings(texts)
    assert problems == ()
    return settings


def races(write: Write, content: str, *texts: str) -> tuple[list[tuple[str, float]], list[tuple[str, str, str]]]:
    table, faults = read_table(write("calendar.csv", content), "calendar")
    assert table is not None
    found, more = read_records(table, Race, settings_of(*texts))
    return [(race.name, race.laps) for race in found], seen((*faults, *more))


CALENDAR = "name,laps\nopener,30\nfinal,50\n"


@pytest.mark.parametrize(
    ("text", "result"),
    [
        ("calendar/final/laps=40", [("opener", 30), ("final", 40)]),
        (" calendar / final / laps = 40 ", [("opener", 30), ("final", 40)]),
        ("calendar/2/laps=40", [("opener", 40), ("final", 50)]),
        ("calendar/final/laps=", [("opener", 30), ("final", 1)]),
        ("calendar/final/name=finale", [("opener", 30), ("finale", 50)]),
        ("garage/final/laps=40", [("opener", 30), ("final", 50)]),
    ],
)
def test_a_setting_writes_one_cell(write: Write, text: str, result: list[tuple[str, float]]) -> None:
    assert races(write, CALENDAR, text) == (result, [])


def test_of_two_settings_of_one_cell_the_last_holds(write: Write) -> None:
    assert races(write, CALENDAR, "calendar/final/laps=40", "calendar/final/laps=41")[0][1] == ("final", 41)


def test_a_row_may_have_a_slash_in_its_name(write: Write) -> None:
    assert races(write, "name,laps\nnight/day,3\n", "calendar/night/day/laps=4")[0] == [("night/day", 4)]


def test_a_column_is_found_without_its_unit(write: Write) -> None:
    table, _ = read_table(write("calendar.csv", "name,lap [mi]\nopener,1\n"), "calendar")
    assert table is not None
    found, problems = read_records(table, Race, settings_of("calendar/opener/lap=0.5"))
    assert problems == ()
    assert str(found[0].lap) == "0.5 mi"


def test_a_column_that_the_table_lacks_may_be_set(write: Write) -> None:
    assert races(write, "name\nopener\nfinal\n", "calendar/final/laps=40") == ([("opener", 1), ("final", 40)], [])


@pytest.mark.parametrize(
    ("text", "problem"),
    [
        ("calendar/final/laps=-1", ("REA018", "--set 1", "laps")),
        ("calendar/final/laps=many", ("REA017", "--set 1", "laps")),
        ("calendar/final/colour=red", ("REA009", "--set 1", "colour")),
        ("calendar/semi/laps=40", ("REA022", "--set 1", "")),
        ("calendar/9/laps=40", ("REA022", "--set 1", "")),
        ("calendar/laps=40", ("REA022", "--set 1", "")),
    ],
)
def test_a_fault_of_a_setting_stands_at_the_setting(write: Write, text: str, problem: tuple[str, str, str]) -> None:
    assert races(write, CALENDAR, text)[1] == [problem]


def test_settings_are_counted(write: Write) -> None:
    problems = races(write, CALENDAR, "calendar/final/laps=40", "calendar/opener/laps=0")[1]
    assert problems == [("REA018", "--set 2", "laps")]


CONF = """\
title = "x"
tags = [1, 2]
[gaps]
hours = 3
[[engine]]
name = "A"
[[engine]]
name = "B"
since = 1
"""


def conf(write: Write, *texts: str) -> tuple[Document, list[tuple[str, str, str]]]:
    document, problems = read_toml(write("conf.toml", CONF), "conf", settings_of(*texts))
    assert document is not None
    return document, seen(problems)


@pytest.mark.parametrize(
    ("text", "path", "value"),
    [
        ("conf/title=plain words", ("title",), "plain words"),
        ('conf/title="quoted"', ("title",), "quoted"),
        ("conf/gaps/hours=4", ("gaps", "hours"), 4),
        ("conf/gaps/fresh=yes", ("gaps", "fresh"), "yes"),
        ("conf/policy/early=off", ("policy", "early"), "off"),
        ("conf/engine/B/since=5", ("engine", 1, "since"), 5),
        ("conf/engine/1/since=5", ("engine", 0, "since"), 5),
        ("conf/tags=[3]", ("tags",), [3]),
        ("conf/title=", ("title",), ""),
    ],
)
def test_a_setting_writes_one_key(write: Write, text: str, path: tuple[str | int, ...], value: Any) -> None:
    document, problems = conf(write, text)
    found: Any = document.values
    for key in path:
        found = found[key]
    assert (found, str(document.place(path)), problems) == (value, "--set 1", [])


@pytest.mark.parametrize(
    "text",
    [
        "conf/gaps=4",
        "conf/title/hours=4",
        "conf/title/hours/more=4",
        "conf/engine/C/since=4",
        "conf/engine/0/since=4",
        "conf/engine/3/since=4",
        "conf/engine/1=4",
        "conf/tags/1=4",
        "conf/tags/1/x=4",
    ],
)
def test_a_setting_that_leads_to_no_key_is_refused(write: Write, text: str) -> None:
    document, problems = conf(write, text)
    assert problems == [("REA022", "--set 1", "")]
    assert document.values["engine"] == [{"name": "A"}, {"name": "B", "since": 1}]


def test_what_stands_inside_a_value_that_was_set_has_the_settings_place(write: Write) -> None:
    assert str(conf(write, "conf/tags=[3, 4]")[0].place(("tags", 1))) == "--set 1"


def test_a_list_item_with_an_odd_name_is_passed_by(write: Write) -> None:
    path = write("conf.toml", '[[engine]]\nname = ["A"]\n[[engine]]\nname = "B"\n')
    document, problems = read_toml(path, "conf", settings_of("conf/engine/B/since=1"))
    assert problems == ()
    assert document is not None
    assert document.values["engine"][1]["since"] == 1


def test_a_fault_of_a_key_that_was_set_stands_at_the_setting(write: Write) -> None:
    document, _ = conf(write, "conf/engine/B/laps=0")
    assert seen(read_part(document, ("engine", 1), Race)[1])[0] == ("REA018", "--set 1", "engine.2.laps")


@pytest.mark.parametrize(
    "text", ["", "calendar", "calendar=1", "=1", "/a=1", "calendar//laps=1", "calendar/opener/laps"]
)
def test_what_is_no_path_and_value_is_refused(text: str) -> None:
    settings, problems = parse_settings(["calendar/opener/laps=1", text])
    assert [setting.path for setting in settings] == [("calendar", "opener", "laps")]
    assert seen(problems) == [("REA022", "--set 2", "")]


def test_a_value_may_hold_an_equals_sign() -> None:
    assert settings_of("conf/note=a=b")[0].text == "a=b"


def test_a_setting_that_leads_into_no_file_is_astray() -> None:
    settings = settings_of("calendar/opener/laps=1", "shop/parts/A/price=2", "calender/opener/laps=1", "shop/x=1")
    problems = astray(settings, ["calendar", "shop/parts"])
    assert seen(problems) == [("REA022", "--set 3", ""), ("REA022", "--set 4", "")]
