"""A log as it stands in its file: read with its units and order, and one more row behind it that moves nothing."""

from __future__ import annotations

from collections.abc import Callable
from decimal import Decimal
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from costplan.garage.appending import header_end, new_file, other_units, with_row
from costplan.garage.log import read_log
from costplan.problems import Problem
from costplan.reading import parse_settings, read_sheet

Write = Callable[[str, str | bytes], Path]

LOG = """\
date,what,engine,event,slot,count,amount,fuel [gal],note
2027-05-08,ran,blue,two,,,,,
2027-05-01,ran,blue,one,,,,10,half of it
2027-05-01,failed,blue,one,springs locks,1,-12.50,,
"""


def seen(problems: tuple[Problem, ...]) -> list[tuple[str, str, str]]:
    return [(p.code, str(p.place).rpartition("/")[2], p.field) for p in problems]


def test_rows_come_in_time_order_and_those_of_a_day_as_they_stand(write: Write) -> None:
    entries, problems = read_log(write("log.csv", LOG))
    assert problems == ()
    assert [(entry.place.line, entry.what) for entry in entries] == [(3, "ran"), (4, "failed"), (2, "ran")]
    assert entries[0].use == {"fuel": pytest.approx(37.854, abs=1e-3)}  # 10 US gallons in litres
    assert (entries[1].slot, entries[1].count, entries[1].paid) == (("springs", "locks"), 1, Decimal("-12.50"))


def test_without_a_file_nothing_happened(tmp_path: Path) -> None:
    assert read_log(tmp_path / "log.csv") == ((), ())


def test_a_row_is_set_by_its_line(write: Write) -> None:
    path = write("log.csv", LOG)
    entries, problems = read_log(path, parse_settings(["log/2/laps=12"])[0])
    assert (problems, entries[-1].use) == ((), {"laps": 12.0})


@pytest.mark.parametrize(
    ("row", "fault"),
    [
        ("2027-05-01,exploded,blue,,,,,,", ("REA020", "log.csv:5", "what")),
        ("1.5.2027,ran,blue,one,,,,,", ("REA019", "log.csv:5", "date")),
        ("2027-05-01,failed,blue,,springs,0,,,", ("REA018", "log.csv:5", "count")),
        ("2027-05-01,ran,blue,one,,,,-3,", ("REA018", "log.csv:5", "fuel [gal]")),
    ],
)
def test_a_faulty_cell_is_told_at_its_line(write: Write, row: str, fault: tuple[str, str, str]) -> None:
    entries, problems = read_log(write("log.csv", f"{LOG}{row}\n"))
    assert (len(entries), seen(problems)) == (3, [fault])


def appended(path: Path, **cells: str) -> str:
    sheet, problems = read_sheet(path)
    assert sheet is not None, problems
    return with_row(path.read_bytes().decode("utf-8"), sheet, cells)


def test_a_row_goes_behind_the_others_in_the_columns_of_the_file(write: Write) -> None:
    path = write("log.csv", "event;what;date\r\none;ran;2027-05-01\r\n")
    text = appended(path, date="2027-05-08", what="ran", event="two; at night")
    assert text == 'event;what;date\r\none;ran;2027-05-01\r\n"two; at night";ran;2027-05-08\r\n'


def test_a_last_line_without_an_end_gets_one(write: Write) -> None:
    assert appended(write("log.csv", "date\twhat\na\tb"), date="c") == "date\twhat\na\tb\nc\t\n"


def test_a_missing_column_stands_behind_the_others_and_touches_no_cell(write: Write) -> None:
    path = write("log.csv", 'sep=,\n\n"date",what,"no\nte"\n2027-05-01,ran,"a, b"\n')
    text = appended(path, date="2027-05-02", laps="30")
    assert text == 'sep=,\n\n"date",what,"no\nte",laps\n2027-05-01,ran,"a, b"\n2027-05-02,,,30\n'


def test_a_byte_order_mark_stays(write: Write) -> None:
    text = appended(write("log.csv", "\ufeffdate,what\n"), date="x", rpm="7600")
    assert text == "\ufeffdate,what,rpm\nx,,7600\n"


def test_a_measure_is_found_under_its_unit_and_not_in_another(write: Write) -> None:
    path = write("log.csv", "date,fuel [gal]\n")
    assert appended(path, date="x", fuel="9") == "date,fuel [gal]\nx,9\n"
    sheet, _ = read_sheet(path)
    assert sheet is not None
    assert list(other_units(sheet, {"fuel [L]": "9"})) == [("fuel [L]", "fuel [gal]")]
    assert list(other_units(sheet, {"fuel": "9", "fuel [gal]": "9", "laps": "1"})) == []


def test_a_new_file_has_all_columns_and_those_that_its_row_needs() -> None:
    assert new_file(("date", "what", "note"), {"what": "ran", "laps": "3"}) == "date,what,note,laps\n,ran,,3\n"


CELLS = st.text(alphabet='ab",;\n\r é', max_size=6)


@given(rows=st.lists(st.tuples(CELLS, CELLS), max_size=4), cell=CELLS, line_end=st.sampled_from(["\n", "\r\n"]))
def test_what_was_in_the_file_is_a_part_of_what_is_written(
    tmp_path_factory: pytest.TempPathFactory, rows: list[tuple[str, str]], cell: str, line_end: str
) -> None:
    path = tmp_path_factory.mktemp("log") / "log.csv"
    before = "date,note" + line_end
    for first, second in rows:
        quoted = [f'"{text.replace(chr(34), chr(34) * 2)}"' for text in (first, second)]
        before += ",".join(quoted) + line_end
    path.write_bytes(before.encode())
    text = appended(path, date="2027-05-01", note=cell)
    assert text.startswith(before)
    wider = appended(path, laps="3")
    end = header_end(before, 1)
    assert (wider[:end], wider[end : end + 5]) == (before[:end], ",laps")
    assert wider[end + 5 :].startswith(before[end:])
