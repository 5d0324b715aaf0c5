"""Dyno sheets: torque or power by speed, the air it was pulled in, each fault at its place."""

from __future__ import annotations

import math
from collections.abc import Callable
from pathlib import Path
from typing import get_args

import pytest
from pytest import approx

from costplan.garage import Pull, check_pulls, read_dyno
from costplan.garage.dyno import SHEET_WORDS
from costplan.quantity import Quantity, convert

Write = Callable[[str, str | bytes], Path]
HEADER = "engine,rpm,torque [N.m],corrected,pressure [kPa],celsius,fahrenheit,humidity,date\n"


def sheet(write: Write, rows: str, header: str = HEADER) -> tuple[tuple[Pull, ...], list[tuple[str, int | None, str]]]:
    pulls, problems = read_dyno(write("dyno.csv", header + rows))
    return pulls, [(p.code, p.place.line, p.field) for p in problems]


def test_without_a_file_nothing_was_pulled(tmp_path: Path) -> None:
    assert read_dyno(tmp_path / "dyno.csv") == ((), ())


def test_power_is_torque_times_speed(write: Write) -> None:
    (pull,), problems = sheet(write, "blue,6000,300,SAE J1349,,,,,2027-02-15\n")
    assert problems == []
    assert pull.kilowatts == approx(300 * 2 * math.pi * 100 / 1000)
    assert not pull.has_air


def test_power_in_its_own_unit(write: Write) -> None:
    (pull,), problems = sheet(write, "6000,400,ISO 1585,2027-02-15\n", "rpm,power [hp],corrected,date\n")
    assert problems == []
    assert (pull.engine, pull.power) == ("", Quantity(400, "hp"))
    assert pull.kilowatts == approx(convert(400, "hp", "kW"))


def test_the_air_in_either_degrees(write: Write) -> None:
    warm, hot = sheet(
        write, "blue,6000,300,observed,98.5,25,,0,2027-02-15\nblue,6000,300,observed,98.5,,77,40 %,2027-02-15\n"
    )[0]
    assert warm.air == (98.5, 25)
    # the vapour of 40 % at 25 C: 0.4 x 3.17 kPa
    assert list(hot.air) == approx([98.5 - 0.4 * 3.17, 25], abs=0.01)


def test_saturated_air(write: Write) -> None:
    (pull,), problems = sheet(write, "blue,6000,300,observed,98.5,25,,100 %,2027-02-15\n")
    assert problems == []
    assert list(pull.air) == approx([98.5 - 3.17, 25], abs=0.01)


def test_air_that_is_not_known_is_a_bug_to_ask_for(write: Write) -> None:
    (pull,), _ = sheet(write, "blue,6000,300,SAE J1349,98,25,,,2027-02-15\n")
    with pytest.raises(ValueError, match="without its air"):
        pull.air  # noqa: B018


@pytest.mark.parametrize(
    ("row", "fault"),
    [
        ("blue,6000,,SAE J1349,,,,,2027-02-15", ("DYN002", 2, "torque")),
        ("blue,6000,300,observed,98,25,,,2027-02-15", ("DYN003", 2, "corrected")),
        ("blue,6000,300,observed,98,,,40 %,2027-02-15", ("DYN003", 2, "corrected")),
        ("blue,6000,300,observed,,25,,40 %,2027-02-15", ("DYN003", 2, "corrected")),
        ("blue,6000,300,observed,98,25,77,40 %,2027-02-15", ("DYN003", 2, "fahrenheit")),
        ("blue,6000,300,observed,29,25,,40 %,2027-02-15", ("REA018", 2, "pressure [kPa]")),
        ("blue,6000,300,observed,98,77,,40 %,2027-02-15", ("REA018", 2, "celsius")),
        ("blue,6000,300,observed,98,25,,40,2027-02-15", ("REA018", 2, "humidity")),
        ("blue,0,300,SAE J1349,,,,,2027-02-15", ("REA018", 2, "rpm")),
        ("blue,6000,300,,,,,,2027-02-15", ("REA016", 2, "corrected")),
    ],
)
def test_a_fault_is_told_at_its_cell(write: Write, row: str, fault: tuple[str, int, str]) -> None:
    assert fault in sheet(write, f"{row}\n")[1]


@pytest.mark.parametrize(
    ("word", "meant"),
    [("STP", "SAE J607"), ("std", "SAE J607"), ("SAE", "SAE J1349"), ("J607", "SAE J607"), ("raw", "observed")],
)
def test_the_words_of_sheets_are_told_what_they_mostly_stand_for(write: Write, word: str, meant: str) -> None:
    _, (problem,) = read_dyno(write("dyno.csv", f"{HEADER}blue,6000,300,{word},,,,,2027-02-15\n"))
    assert (problem.code, problem.place.line, problem.field, problem.value) == ("REA020", 2, "corrected", word)
    assert f"'{meant}'" in problem.advice


def test_the_words_of_sheets_lead_to_words_that_are_allowed_and_are_none_of_them() -> None:
    allowed = set(get_args(Pull.model_fields["corrected"].annotation))
    assert set(SHEET_WORDS.values()) == allowed
    assert not set(SHEET_WORDS) & {word.lower() for word in allowed}


def test_a_wrong_unit_is_told_once_at_its_heading(write: Write) -> None:
    rows = "blue,6000,300,SAE J1349,,,,,2027-02-15\n" * 3
    assert sheet(write, rows, HEADER.replace("N.m", "N/m"))[1] == [("REA021", 1, "torque [N/m]")]


def test_engines_that_are_there_and_standards_that_can_be_reached(write: Write) -> None:
    rows = "blue,6000,300,SAE J607,,,,,2027-02-15\nblew,6000,300,SAE J1349,,,,,2027-02-15\n"
    pulls, _ = sheet(write, rows)
    found = check_pulls(pulls, ("blue", "red"), "SAE J1349")
    assert [(p.code, p.place.line, p.field) for p in found] == [("DYN003", 2, "corrected"), ("DYN001", 3, "engine")]
    assert check_pulls(pulls[:1], ("blue",), "SAE J607") == ()
    assert check_pulls(pulls[:1], ("blue",), "") == ()  # no estimate is asked
