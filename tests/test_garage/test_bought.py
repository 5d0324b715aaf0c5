"""Pieces with their serial and the day they were bought."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date
from decimal import Decimal
from pathlib import Path

import pytest

from costplan.catalog import Catalog, Part
from costplan.garage import Piece, read_garage
from costplan.reading import parse_settings

Write = Callable[[str, str | bytes], Path]

CRANK = Part(part="K-1", role="crank", supplier="x", price=Decimal(1), price_date=date(2027, 1, 1))
CATALOG = Catalog(parts={"K-1": CRANK}, written=frozenset({"K-1"}))


def garage(path: Path, *settings: str) -> tuple[tuple[Piece, ...], list[tuple[str, str, str]]]:
    pieces, problems = read_garage(path, CATALOG, ("A", "car"), parse_settings(settings)[0])
    return pieces, [(p.code, str(p.place).rpartition("/")[2], p.field) for p in problems]


def test_a_piece_with_its_serial_and_the_day_it_was_bought(write: Write) -> None:
    text = "piece,serial,part,engine,slot,bought,installed\none,00417,K-1,A,crank,2026-02-28,2027-01-15\n"
    (piece,), problems = garage(write("garage.csv", text))
    assert problems == []
    assert (piece.serial, piece.bought, piece.installed) == ("00417", date(2026, 2, 28), date(2027, 1, 15))


def test_both_may_be_left_out(write: Write) -> None:
    (piece,), problems = garage(write("garage.csv", "piece,part\none,K-1\n"))
    assert (problems, piece.serial, piece.bought) == ([], "", None)


def test_a_piece_that_was_only_bought_is_as_new(write: Write) -> None:
    (piece,), problems = garage(write("garage.csv", "piece,part,bought\none,K-1,2026-02-28\n"))
    assert (problems, piece.is_used) == ([], False)


def test_the_day_in_a_file_with_semicolons_and_decimal_commas(write: Write) -> None:
    (piece,), problems = garage(write("garage.csv", "piece;part;bought;hours\none;K-1;2026-02-28;1,5\n"))
    assert (problems, piece.bought, piece.use) == ([], date(2026, 2, 28), {"hours": 1.5})


@pytest.mark.parametrize(
    ("bought", "wrong"),
    [
        ("2027-01-14", []),
        ("2027-01-15", []),
        ("2027-01-16", [("GAR007", "garage.csv:2", "bought")]),
        ("last year", [("REA019", "garage.csv:2", "bought")]),
    ],
)
def test_a_piece_is_bought_on_the_day_it_is_installed_or_before(
    write: Write, bought: str, wrong: list[tuple[str, str, str]]
) -> None:
    text = f"piece,part,engine,slot,installed,bought\none,K-1,A,crank,2027-01-15,{bought}\n"
    assert garage(write("garage.csv", text))[1] == wrong


def test_a_setting_writes_the_day(write: Write) -> None:
    path = write("garage.csv", "piece,part,engine,slot,installed\none,K-1,A,crank,2027-01-15\n")
    (piece,), problems = garage(path, "garage/one/bought=2026-02-28")
    assert (piece.bought, problems) == (date(2026, 2, 28), [])
    assert garage(path, "garage/one/bought=2027-02-28")[1] == [("GAR007", "--set 1", "bought")]
