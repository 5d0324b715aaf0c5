"""Inspections: what was found or read of a clause, which result counts, and each fault at its place."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date
from pathlib import Path

import pytest

from costplan.garage import Inspected, check_inspections, latest, read_inspections
from costplan.problems import Problem
from costplan.quantity import Quantity
from costplan.reading import parse_settings

Write = Callable[[str, str | bytes], Path]
Seen = list[tuple[str, str, str]]

HEADER = "engine,pack,rule,found,value,unit,uncertainty,date,by,instrument,note\n"
RULES = {"rules-tour": ("T1", "T2", "seal"), "rules-club": ("C1", "seal")}


def seen(problems: tuple[Problem, ...]) -> Seen:
    return [(p.code, str(p.place).rpartition("/")[2], p.field) for p in problems]


def inspections(path: Path, *settings: str) -> tuple[tuple[Inspected, ...], Seen]:
    rows, problems = read_inspections(path, parse_settings(settings)[0])
    return rows, seen(problems)


def test_without_a_file_nothing_was_inspected(tmp_path: Path) -> None:
    assert inspections(tmp_path / "inspections.csv") == ((), [])


def test_a_folder_in_its_place_is_told(tmp_path: Path) -> None:
    (tmp_path / "inspections.csv").mkdir()
    assert inspections(tmp_path / "inspections.csv") == ((), [("REA002", "inspections.csv", "")])


def test_a_result_with_all_that_may_be_said(write: Write) -> None:
    text = HEADER + "blue,rules-tour,T1,meets,61.8,cm3,0.4,2027-03-01,B. Official,burette,cold\n"
    (row,), problems = inspections(write("inspections.csv", text))
    assert problems == []
    assert (row.engine, row.pack, row.rule, row.found) == ("blue", "rules-tour", "T1", "meets")
    assert (row.reading, row.uncertainty, row.spread) == (Quantity(61.8, "cm3"), 0.4, Quantity(0.4, "cm3"))
    assert (row.date, row.by, row.instrument, row.note) == (date(2027, 3, 1), "B. Official", "burette", "cold")


def test_a_look_may_be_enough(write: Write) -> None:
    text = "engine,rule,found,date,by\n27,T1,breaks,2027-03-01,B. Official\n"
    (row,), problems = inspections(write("inspections.csv", text))
    assert problems == []
    assert (row.engine, row.found, row.reading, row.spread, row.pack) == ("27", "breaks", None, None, "")


@pytest.mark.parametrize(
    ("cells", "words"),
    [
        (
            "meets,61.8,cm3,B. Official,burette",
            "inspected: meets, 61.8 cm3 on 2027-03-01 by B. Official with burette (inspections.csv:2)",
        ),
        ("breaks,,,B. Official,", "inspected: breaks on 2027-03-01 by B. Official (inspections.csv:2)"),
        (",as cast,,B. Official,", "inspected: as cast on 2027-03-01 by B. Official (inspections.csv:2)"),
        (",0,,B. Official,", "inspected: 0 on 2027-03-01 by B. Official (inspections.csv:2)"),
    ],
)
def test_a_result_in_words(write: Write, cells: str, words: str) -> None:
    text = f"engine,rule,date,found,value,unit,by,instrument\nblue,T1,2027-03-01,{cells}\n"
    ((row,), _) = inspections(write("inspections.csv", text))
    assert str(row).replace(row.place.file, "inspections.csv") == words


@pytest.mark.parametrize(
    ("cells", "reading"),
    [
        ("61.8,cm3", Quantity(61.8, "cm3")),
        ("-0.1,mm", Quantity(-0.1, "mm")),
        ("\u22120.1,mm", Quantity(-0.1, "mm")),
        (".5,in", Quantity(0.5, "in")),
        ("0,in", Quantity(0.0, "in")),
        ("1.52,", Quantity(1.52)),
        ("58,", Quantity(58.0)),
        ("H 58,", "H 58"),
        ("058,", "058"),
        ("2.1.7,", "2.1.7"),
        ("1E3,", "1E3"),
        ("12 mile,", "12 mile"),
        ("NA,", "NA"),
        ('"worn, burred",', "worn, burred"),
    ],
)
def test_a_value_is_a_number_where_it_is_written_as_one(write: Write, cells: str, reading: Quantity | str) -> None:
    text = f"engine,rule,value,unit,date,by\nblue,T1,{cells},2027-03-01,B. Official\n"
    (row,), problems = inspections(write("inspections.csv", text))
    assert (problems, row.reading) == ([], reading)


def test_a_bare_number_can_be_had_as_it_was_written(write: Write) -> None:
    text = "engine,rule,value,date,by\nblue,T1,58.20,2027-03-01,B. Official\n"
    ((row,), _) = inspections(write("inspections.csv", text))
    assert str(row.value) == "58.20"


def test_a_decimal_comma_in_a_file_with_semicolons(write: Write) -> None:
    text = "engine;rule;value;unit;uncertainty;date;by\nblue;T1;61,8;cm3;0,4;2027-03-01;B. Official\n"
    (row,), problems = inspections(write("inspections.csv", text))
    assert (problems, row.reading, row.uncertainty) == ([], Quantity(61.8, "cm3"), 0.4)


def test_thousands_or_decimals_are_asked_with_semicolons_too(write: Write) -> None:
    text = "engine;rule;value;date;by\nblue;T1;1.234;2027-03-01;B. Official\n"
    assert inspections(write("inspections.csv", text)) == ((), [("REA024", "inspections.csv:2", "value")])


@pytest.mark.parametrize(
    ("row", "code", "field"),
    [
        ("blue,,T1,,,,,2027-03-01,B.,,", "INS001", "found"),
        ("blue,,T1,,,cm3,0.4,2027-03-01,B.,,", "INS001", "found"),
        ("blue,,T1,meets,,cm3,,2027-03-01,B.,,", "INS002", "unit"),
        ("blue,,T1,meets,,,0.4,2027-03-01,B.,,", "INS002", "uncertainty"),
        ("blue,,T1,,as cast,cm3,,2027-03-01,B.,,", "INS002", "unit"),
        ("blue,,T1,,as cast,,0,2027-03-01,B.,,", "INS002", "uncertainty"),
        ("blue,,T1,passes,,,,2027-03-01,B.,,", "REA020", "found"),
        ("blue,,T1,,61.8,cc,,2027-03-01,B.,,", "REA021", "unit"),
        ("blue,,T1,,61.8 cm3,,,2027-03-01,B.,,", "REA021", "value"),
        ("blue,,T1,,5 %,,,2027-03-01,B.,,", "REA021", "value"),
        ("blue,,T1,,nan,,,2027-03-01,B.,,", "REA018", "value"),
        ("blue,,T1,,-inf,mm,,2027-03-01,B.,,", "REA018", "value"),
        ("blue,,T1,,9999999999999,mm,,2027-03-01,B.,,", "REA018", "value"),
        ('blue,,T1,,"61,8",cm3,,2027-03-01,B.,,', "REA024", "value"),
        ('blue,,T1,,"1,061.8",cm3,,2027-03-01,B.,,', "REA024", "value"),
        ("blue,,T1,,61.8,cm3,-0.4,2027-03-01,B.,,", "REA018", "uncertainty"),
        ("blue,,T1,,61.8,cm3,little,2027-03-01,B.,,", "REA017", "uncertainty"),
        ("blue,,T1,meets,,,,,B.,,", "REA016", "date"),
        ("blue,,T1,meets,,,,1.3.2027,B.,,", "REA019", "date"),
        ("blue,,T1,meets,,,,2027-03-01,,,", "REA016", "by"),
        ("blue,,,meets,,,,2027-03-01,B.,,", "REA016", "rule"),
        (",,T1,meets,,,,2027-03-01,B.,,", "REA016", "engine"),
    ],
)
def test_a_fault_stands_at_its_cell(write: Write, row: str, code: str, field: str) -> None:
    path = write("inspections.csv", f"{HEADER}{row}\n")
    assert inspections(path) == ((), [(code, "inspections.csv:2", field)])


def test_all_faults_of_a_row_are_told(write: Write) -> None:
    path = write("inspections.csv", HEADER + "blue,,T1,good,inf,cc,-1,today,,,\n")
    assert [(code, field) for code, _, field in inspections(path)[1]] == [
        ("REA020", "found"),
        ("REA018", "value"),
        ("REA021", "unit"),
        ("REA018", "uncertainty"),
        ("REA019", "date"),
        ("REA016", "by"),
    ]


def test_a_setting_writes_a_value(write: Write) -> None:
    path = write("inspections.csv", HEADER + "blue,,T1,,61.8,cm3,0.4,2027-03-01,B. Official,,\n")
    assert inspections(path, "inspections/2/value=62.1")[0][0].reading == Quantity(62.1, "cm3")
    assert inspections(path, "inspections/2/unit=cc")[1] == [("REA021", "--set 1", "unit")]
    assert inspections(path, "inspections/2/value=as cast")[1] == [("INS002", "inspections.csv:2", "unit")]


def test_a_setting_reaches_an_officials_results_by_the_name_of_their_file(write: Write) -> None:
    path = write("round-3.csv", "engine,rule,found,date,by\n27,T1,meets,2027-03-01,B. Official\n")
    (row,), problems = inspections(path, "round-3/2/found=breaks")
    assert (row.found, problems) == ("breaks", [])


def rows_of(write: Write, *lines: str) -> tuple[Inspected, ...]:
    text = "engine,pack,rule,found,date,by,note\n" + "".join(f"{line}\n" for line in lines)
    rows, problems = inspections(write("inspections.csv", text))
    assert problems == []
    return rows


def note_of(row: Inspected | None) -> str:
    assert row is not None
    return row.note


def test_the_latest_day_counts_wherever_its_row_stands(write: Write) -> None:
    lines = ("blue,,T1,breaks,2027-03-08,B.,second look", "blue,,T1,meets,2027-03-01,B.,first look")
    assert note_of(latest(rows_of(write, *lines), "blue", "T1", "rules-tour")) == "second look"


def test_of_one_day_the_later_row_counts(write: Write) -> None:
    lines = ("blue,,T1,breaks,2027-03-01,B.,morning", "blue,,T1,meets,2027-03-01,B.,evening")
    assert note_of(latest(rows_of(write, *lines), "blue", "T1", "rules-tour")) == "evening"


def test_results_of_other_engines_and_rules_do_not_count(write: Write) -> None:
    rows = rows_of(write, "blue,,T1,meets,2027-03-01,B.,", "red,,T2,meets,2027-03-02,B.,")
    assert latest(rows, "red", "T1", "rules-tour") is None
    assert latest((), "red", "T1", "rules-tour") is None


def test_a_result_counts_for_its_own_pack_and_one_without_for_any(write: Write) -> None:
    rows = rows_of(
        write,
        "blue,rules-tour,seal,meets,2027-03-02,B.,tour",
        "blue,,seal,meets,2027-03-01,B.,either",
        "blue,rules-tour,T1,meets,2027-03-01,B.,tour alone",
    )
    assert note_of(latest(rows, "blue", "seal", "rules-tour")) == "tour"
    assert note_of(latest(rows, "blue", "seal", "rules-club")) == "either"
    assert latest(rows, "blue", "T1", "rules-club") is None


@pytest.mark.parametrize(
    ("line", "wrong"),
    [
        ("blue,,T1,meets", []),
        ("car,,C1,meets", []),
        ("blue,rules-tour,seal,meets", []),
        ("blue,rules-club,seal,meets", []),
        ("bleu,,T1,meets", [("INS003", "engine")]),
        ("blue,rules-tuor,T1,meets", [("INS004", "pack")]),
        ("blue,rules-club,T1,meets", [("INS005", "rule")]),
        ("blue,,T9,meets", [("INS005", "rule")]),
        ("blue,,seal,meets", [("INS006", "pack")]),
        ("bleu,,T9,meets", [("INS003", "engine"), ("INS005", "rule")]),
    ],
)
def test_engine_pack_and_rule_must_be_there_and_one_pack_be_meant(
    write: Write, line: str, wrong: list[tuple[str, str]]
) -> None:
    problems = check_inspections(rows_of(write, f"{line},2027-03-01,B.,"), ("blue", "car"), RULES)
    assert seen(problems) == [(code, "inspections.csv:2", field) for code, field in wrong]


def test_a_rule_of_another_pack_is_not_suggested_for_the_one_named(write: Write) -> None:
    rows = rows_of(write, "blue,rules-club,T1,meets,2027-03-01,B.,")
    (problem,) = check_inspections(rows, ("blue",), RULES)
    assert "T1" not in problem.advice
    assert "C1" in problem.advice


def test_a_rule_of_several_packs_is_answered_with_their_names(write: Write) -> None:
    (problem,) = check_inspections(rows_of(write, "blue,,seal,meets,2027-03-01,B.,"), ("blue",), RULES)
    assert problem.advice == "give its pack: rules-tour or rules-club"


def test_without_packs_every_rule_is_unknown(write: Write) -> None:
    problems = check_inspections(rows_of(write, "blue,,T1,meets,2027-03-01,B.,"), ("blue",), {})
    assert seen(problems) == [("INS005", "inspections.csv:2", "rule")]
