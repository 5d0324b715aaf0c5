"""The garage: pieces on engines and on the shelf, with the use they have."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date
from decimal import Decimal
from pathlib import Path

import pytest
from pytest import approx

from costplan.catalog import Catalog, Part
from costplan.garage import Piece, read_garage
from costplan.reading import parse_settings

Write = Callable[[str, str | bytes], Path]

RING = Part(part="R-1", role="ring", supplier="x", price=Decimal(1), price_date=date(2027, 1, 1))
CATALOG = Catalog(parts={"R-1": RING}, written=frozenset({"R-1", "R-0"}))


def garage(path: Path, *settings: str) -> tuple[tuple[Piece, ...], list[tuple[str, str, str]]]:
    pieces, problems = read_garage(path, CATALOG, ("A", "B", "car"), parse_settings(settings)[0])
    return pieces, [(p.code, str(p.place).rpartition("/")[2], p.field) for p in problems]


def test_without_a_file_the_garage_is_empty(tmp_path: Path) -> None:
    assert garage(tmp_path / "garage.csv") == ((), [])


def test_a_piece_with_its_use(write: Write) -> None:
    text = "piece,part,engine,slot,hours,fuel [gal],installed\nno. 1,R-1,A,ring,12.5,10,2027-01-15\n"
    (piece,), problems = garage(write("garage.csv", text))
    assert problems == []
    assert (piece.engine, piece.slot, piece.on_shelf, piece.count) == ("A", "ring", False, None)
    assert piece.age("hours", date(2027, 3, 1)) == 12.5
    assert piece.age("fuel", date(2027, 3, 1)) == approx(37.85411784)
    assert piece.age("days", date(2027, 3, 1)) == 45
    assert piece.age("laps", date(2027, 3, 1)) is None


def test_days_are_unknown_without_the_day_of_installing(write: Write) -> None:
    (piece,), _ = garage(write("garage.csv", "piece,part\nno. 1,R-1\n"))
    assert piece.on_shelf
    assert piece.age("days", date(2027, 3, 1)) is None


def test_several_pieces_lie_on_the_shelf_and_slots_repeat_over_engines(write: Write) -> None:
    text = "piece,part,engine,slot\na,R-1,,\nb,R-1,,\nc,R-1,A,ring\nd,R-1,B,ring\ne,R-1,car,ring\n"
    assert garage(write("garage.csv", text))[1] == []


@pytest.mark.parametrize(
    ("text", "problem"),
    [
        ("piece,part\na,R-9\n", ("GAR001", "garage.csv:2", "part")),
        ("piece,part,engine,slot\na,R-1,C,ring\n", ("GAR002", "garage.csv:2", "engine")),
        ("piece,part,engine,slot\na,R-1,A,ring\nb,R-1,A,ring\n", ("GAR003", "garage.csv:3", "slot")),
        ("piece,part,engine,slot\na,R-1,A,\n", ("REA016", "garage.csv:2", "slot")),
        ("piece,part,engine,slot\na,R-1,,ring\n", ("REA016", "garage.csv:2", "slot")),
        ("piece,part\na,R-1\na,R-1\n", ("REA023", "garage.csv:3", "piece")),
        ("piece,part,count\na,R-1,0\n", ("REA018", "garage.csv:2", "count")),
        ("piece,part,hours\na,R-1,-1\n", ("REA018", "garage.csv:2", "hours")),
        ("piece,part,hours\na,R-1,long\n", ("REA017", "garage.csv:2", "hours")),
        ("piece,part,hours [km]\na,R-1,1\n", ("REA021", "garage.csv:1", "hours [km]")),
        ("piece,part,days\na,R-1,1\n", ("REA009", "garage.csv:1", "days")),
        ("piece,part,installed\na,R-1,soon\n", ("REA019", "garage.csv:2", "installed")),
        ("piece\na\n", ("REA008", "garage.csv:1", "part")),
    ],
)
def test_a_fault_of_a_piece_stands_at_its_row(write: Write, text: str, problem: tuple[str, str, str]) -> None:
    assert garage(write("garage.csv", text))[1] == [problem]


def test_a_piece_of_a_part_whose_row_is_at_fault_is_not_unknown(write: Write) -> None:
    assert garage(write("garage.csv", "piece,part\na,R-0\n"))[1] == []


def test_a_setting_writes_a_pieces_use(write: Write) -> None:
    (piece,), problems = garage(write("garage.csv", "piece,part,hours\na,R-1,1\n"), "garage/a/hours=4")
    assert (piece.use, problems) == ({"hours": 4}, [])
    assert garage(write("garage.csv", "piece,part,hours\na,R-1,1\n"), "garage/a/hours=-4")[1] == [
        ("REA018", "--set 1", "hours")
    ]
