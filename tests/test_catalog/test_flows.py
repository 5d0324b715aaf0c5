"""What parts flow and how cams lift: rows by part, in units of their headings, each fault at its cell."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest

from costplan.catalog import Catalog, read_catalogs
from costplan.problems import in_order
from costplan.quantity import Quantity

Write = Callable[[str, str | bytes], Path]

PARTS = "part,role,supplier,price,price_date\nH,head,x,1,2027-01-15\nC,cam,x,1,2027-01-15\n"
FLOW = "part,side,lift [in],flow [cfm],pressure [inH2O],source\n"
LIFTS = "part,side,angle [deg],lift [in],source\n"


def shop(write: Write, **tables: str) -> tuple[Catalog, list[tuple[str, str, int | None, str]]]:
    """A catalog of a head and a cam with more tables, and its problems."""
    write("shop/catalog.toml", 'name = "Shop"\ncurrency = "USD"\n')
    write("shop/roles.csv", "role\nhead\ncam\n")
    path = write("shop/parts.csv", PARTS)
    for name, text in tables.items():
        write(f"shop/{name}.csv", text)
    catalog, problems = read_catalogs([path.parent])
    return catalog, [(p.code, Path(p.place.file).name, p.place.line, p.field) for p in in_order(problems)]


def test_the_flow_of_a_part_by_side(write: Write) -> None:
    catalog, problems = shop(write, flow=FLOW + "H,,0.1,60,28,bench\nH,exhaust,0.1,50,28,\nH,,0.2,110,28,bench\n")
    assert problems == []
    intake = catalog.flow_of("H")
    assert [row.lift for row in intake] == [Quantity(0.1, "in"), Quantity(0.2, "in")]
    assert [row.flow for row in intake] == [Quantity(60, "cfm"), Quantity(110, "cfm")]
    assert intake[0].pressure == Quantity(28, "inH2O")
    assert [row.flow.value for row in catalog.flow_of("H", "exhaust")] == [50]
    assert catalog.flow_of("C") == ()


def test_a_part_without_valves_has_one_row_without_lift(write: Write) -> None:
    catalog, problems = shop(write, flow="part,flow [L/s],pressure [kPa]\nH,350,5\n")
    assert problems == []
    assert catalog.flow_of("H")[0].lift is None


def test_the_lift_curve_of_a_cam(write: Write) -> None:
    catalog, problems = shop(write, lift_curves=LIFTS + "C,,-60,0,\nC,,0,0.3,\nC,,60,0,\nC,exhaust,0,0.2,\n")
    assert problems == []
    assert [row.angle.value for row in catalog.lift_curve_of("C")] == [-60, 0, 60]
    assert catalog.lift_curve_of("H") == ()


@pytest.mark.parametrize(
    ("tables", "fault"),
    [
        ({"flow": FLOW + "X,,0.1,60,28,\n"}, ("CAT014", "flow.csv", 2, "part")),
        ({"flow": FLOW + "H,,0.2,60,28,\nH,,0.1,50,28,\n"}, ("CAT015", "flow.csv", 3, "lift")),
        ({"flow": FLOW + "H,,,60,28,\nH,,0.1,50,28,\n"}, ("CAT015", "flow.csv", 3, "lift")),
        ({"flow": FLOW + "H,,0.1,60,28,\nH,,0.2,90,10,\n"}, ("CAT016", "flow.csv", 3, "pressure")),
        ({"flow": FLOW + "H,,0,60,28,\n"}, ("REA018", "flow.csv", 2, "lift [in]")),
        ({"flow": FLOW.replace(" [inH2O]", "") + "H,,0.1,60,28,\n"}, ("REA021", "flow.csv", 2, "pressure")),
        ({"lift_curves": LIFTS + "C,,10,0.1,\nC,,10,0.2,\n"}, ("CAT015", "lift_curves.csv", 3, "angle")),
        ({"lift_curves": LIFTS + "C,,10,-0.1,\n"}, ("REA018", "lift_curves.csv", 2, "lift [in]")),
        ({"lift_curves": LIFTS + "C,,10,0,\nC,,20,0,\n"}, ("CAT015", "lift_curves.csv", 2, "lift")),
    ],
)
def test_a_fault_is_told_at_its_row(write: Write, tables: dict[str, str], fault: tuple[str, str, int, str]) -> None:
    assert fault in shop(write, **tables)[1]


def test_pressures_that_are_one_in_two_units_are_one(write: Write) -> None:
    # each file has one unit in its heading; rows of one part may still stand in two catalogs
    write("other/catalog.toml", 'name = "Other"\ncurrency = "USD"\n')
    other = write("other/flow.csv", "part,lift [mm],flow [cfm],pressure [bar]\nH,9,90,0.07\n").parent
    write("shop/catalog.toml", 'name = "Shop"\ncurrency = "USD"\n')
    write("shop/roles.csv", "role\nhead\ncam\n")
    write("shop/flow.csv", "part,lift [mm],flow [cfm],pressure [kPa]\nH,5,60,7\n")
    shop_folder = write("shop/parts.csv", PARTS).parent
    catalog, problems = read_catalogs([shop_folder, other])
    assert [str(problem) for problem in problems] == []
    assert len(catalog.flow_of("H")) == 2
