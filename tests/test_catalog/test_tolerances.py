"""Tolerances of parts: columns beside the attributes they belong to, each fault at its cell."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest

from costplan.catalog import Catalog, Condition, read_catalogs, read_condition
from costplan.problems import NOWHERE, in_order
from costplan.quantity import Quantity

Write = Callable[[str, str | bytes], Path]

HEADER = 'name = "Shop"\ncurrency = "USD"\n[attributes]\nplay = "length"\ncolour = "text"\n'
COMMON = "part,role,supplier,price,price_date"
FILES = {"catalog.toml": HEADER, "roles.csv": "role\nblock\n"}


def shop(write: Write, columns: str, cells: str, **more: str) -> Path:
    """A catalog of one part with some columns behind the common ones."""
    parts = f"{COMMON},{columns}\nA,block,x,1,2027-01-15,{cells}\n"
    for name, text in {**FILES, "parts.csv": parts, **more}.items():
        write(f"shop/{name}", text)
    return write("shop/README", "").parent


def catalog_of(folder: Path) -> Catalog:
    catalog, problems = read_catalogs([folder])
    assert [str(problem) for problem in problems] == []
    return catalog


def faults(folder: Path) -> list[tuple[str, str, int | None, str]]:
    return [(p.code, Path(p.place.file).name, p.place.line, p.field) for p in in_order(read_catalogs([folder])[1])]


def test_a_tolerance_stands_beside_its_attribute_and_is_none_itself(write: Write) -> None:
    columns = "bore [in],bore_within [in],mass [kg],mass_within [g],rocker_ratio,rocker_ratio_within"
    part = catalog_of(shop(write, columns, "4.000,0.0005,60,150,1.6,0.02")).parts["A"]
    assert part.attributes == {"bore": Quantity(4, "in"), "mass": Quantity(60, "kg"), "rocker_ratio": Quantity(1.6)}
    assert part.tolerances == {
        "bore": Quantity(0.0005, "in"),
        "mass": Quantity(150, "g"),
        "rocker_ratio": Quantity(0.02),
    }


def test_a_tolerance_may_be_nothing_or_left_out(write: Write) -> None:
    part = catalog_of(shop(write, "bore [in],bore_within [in],mass [g],mass_within [g]", "4,0,90,")).parts["A"]
    assert part.tolerances == {"bore": Quantity(0, "in")}
    assert catalog_of(shop(write, "bore [in]", "4")).parts["A"].tolerances == {}


def test_columns_may_stand_in_any_order(write: Write) -> None:
    part = catalog_of(shop(write, "bore_within [mm],bore [in]", "0.01,4")).parts["A"]
    assert (part.attributes, part.tolerances) == ({"bore": Quantity(4, "in")}, {"bore": Quantity(0.01, "mm")})


def test_an_attribute_of_the_catalogs_own_may_have_one_whatever_its_sign(write: Write) -> None:
    columns = "play [mm],play_within [mm],deck_clearance [in],deck_clearance_within [in]"
    part = catalog_of(shop(write, columns, "-0.1,0.2,-0.001,0.005")).parts["A"]
    assert part.tolerances == {"play": Quantity(0.2, "mm"), "deck_clearance": Quantity(0.005, "in")}


def test_a_suppliers_sheet_may_hold_tolerances(write: Write) -> None:
    sheet = "Nr;Bohrung;Toleranz\nA;101,60;0,013 mm\n"
    mapped = '[[sheet]]\nfile = "liste.txt"\ndecimal = ","\nstrip = ["mm"]\n[sheet.columns]\npart = "Nr"\n'
    mapped += '"bore [mm]" = "Bohrung"\n"bore_within [mm]" = "Toleranz"\n[sheet.fixed]\nrole = "block"\n'
    mapped += 'supplier = "x"\nprice = 1\nprice_date = 2027-01-15\n'
    for name, text in {**FILES, "liste.txt": sheet, "columns-map.toml": mapped}.items():
        write(f"shop/{name}", text)
    part = catalog_of(write("shop/README", "").parent).parts["A"]
    assert (part.attributes, part.tolerances) == ({"bore": Quantity(101.6, "mm")}, {"bore": Quantity(0.013, "mm")})


@pytest.mark.parametrize(
    ("columns", "cells", "problem"),
    [
        ("bore [in],bore_within [in]", ",0.001", ("REA016", 2, "bore_within [in]")),
        ("bore_within [in]", "0.001", ("REA016", 2, "bore_within [in]")),
        ("colour,colour_within", "red,1", ("REA020", 2, "colour_within")),
        ("material,material_within", "iron,1", ("REA020", 2, "material_within")),
        ("bore [in],bore_within", "4,0.001", ("REA021", 1, "bore_within")),
        ("bore [in],bore_within [g]", "4,0.001", ("REA021", 1, "bore_within [g]")),
        ("bore [in],bore_within [in]", "4,-0.001", ("REA018", 2, "bore_within [in]")),
        ("bore [in],bore_within [in]", "4,nan", ("REA018", 2, "bore_within [in]")),
        ("bore [in],bore_within [in]", "4,tight", ("REA017", 2, "bore_within [in]")),
        ("bore [in],bore_within [in]", "4,4", ("REA018", 2, "bore_within [in]")),
        ("bore [in],bore_within [mm]", "4,127", ("REA018", 2, "bore_within [mm]")),
        ("bore [in],bore_within [in]", "0,0.001", ("REA018", 2, "bore [in]")),
        ("bore [in],boer_within [in]", "4,0.001", ("REA009", 1, "boer_within [in]")),
        ("bore [in],bore_within [in],bore_within [mm]", "4,0.001,1", ("REA007", 1, "bore_within [mm]")),
        ("bore [in],tolerances", "4,0.001", ("REA009", 2, "tolerances")),
        ("bore [in],bore_within [in],tolerances", "4,0.001,1", ("REA009", 2, "tolerances")),
    ],
)
def test_a_fault_stands_at_its_cell(write: Write, columns: str, cells: str, problem: tuple[str, int, str]) -> None:
    assert faults(shop(write, columns, cells)) == [(problem[0], "parts.csv", *problem[1:])]


def test_a_declared_attribute_is_not_named_like_a_tolerance(write: Write) -> None:
    header = 'name = "Shop"\ncurrency = "USD"\n[attributes]\nplay_within = "length"\n'
    found = faults(shop(write, "bore [in]", "4", **{"catalog.toml": header}))
    assert found == [("REA020", "catalog.toml", 3, "attributes")]


def test_operations_change_attributes_and_no_tolerances(write: Write) -> None:
    operations = "operation,role,bore [in],bore_within [in]\nhone,block,0.01,0.001\n"
    found = faults(shop(write, "bore [in]", "4", **{"operations.csv": operations}))
    assert found == [("REA009", "operations.csv", 1, "bore_within [in]")]


def test_parts_are_looked_for_by_attributes_alone(write: Write) -> None:
    catalog = catalog_of(shop(write, "bore [in],bore_within [in]", "4,0.001"))
    assert isinstance(read_condition("bore<=4 in", catalog, NOWHERE)[0], Condition)
    assert [problem.code for problem in read_condition("bore_within<=1 in", catalog, NOWHERE)[1]] == ["REA020"]
