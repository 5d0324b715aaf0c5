"""Catalogs: parts, roles and lives from folders, each fault at its row."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from datetime import date
from decimal import Decimal
from pathlib import Path

import pytest

from costplan.build import attributes_of
from costplan.catalog import Catalog, read_catalogs
from costplan.problems import Problem, in_order
from costplan.quantity import Quantity
from costplan.reading import parse_settings

Write = Callable[[str, str | bytes], Path]

HEADER = 'name = "Shop"\ncurrency = "USD"\n'
ROLES = "role,meaning,shape\npiston,moves,3\nring,seals,\n"
PARTS = "part,role,supplier,price,price_date\nP-1,piston,Shop,100,2027-01-15\n"


def seen(problems: Iterable[Problem]) -> list[tuple[str, str, int | None, str]]:
    return [(p.code, Path(p.place.file).name, p.place.line, p.field) for p in in_order(problems)]


def shop(write: Write, folder: str = "shop", **files: str) -> Path:
    """A catalog folder; a file by keyword, `catalog` for catalog.toml."""
    for name, text in {"catalog": HEADER, "roles": ROLES, "parts": PARTS, **files}.items():
        write(f"{folder}/{name}.toml" if name == "catalog" else f"{folder}/{name}.csv", text)
    return write(f"{folder}/README", "").parent


def faults(folder: Path) -> list[tuple[str, str, int | None, str]]:
    return seen(read_catalogs([folder])[1])


def catalog_of(folder: Path, *settings: str) -> Catalog:
    catalog, problems = read_catalogs([folder], parse_settings(settings)[0])
    assert seen(problems) == []
    return catalog


def test_a_part_with_its_defaults(write: Write) -> None:
    catalog = catalog_of(shop(write))
    part = catalog.parts["P-1"]
    assert (part.role, part.supplier, part.price, part.price_date) == (
        "piston",
        "Shop",
        Decimal(100),
        date(2027, 1, 15),
    )
    assert (part.pack, part.lead_days, catalog.currency_of(part)) == (1, 0, "USD")
    assert part.core_charge == part.resale == Decimal(0)
    assert (Path(part.place.file).name, part.place.line) == ("parts.csv", 2)


def test_any_table_but_roles_and_lives_holds_parts(write: Write) -> None:
    catalog = catalog_of(shop(write, rings=PARTS.replace("P-1,piston", "R-1,ring")))
    assert set(catalog.parts) == {"P-1", "R-1"}
    assert [part.part for part in catalog.of_role("ring")] == ["R-1"]
    assert set(catalog.addresses) == {"shop/catalog", "shop/roles", "shop/parts", "shop/rings"}


def test_a_part_may_have_a_currency_of_its_own(write: Write) -> None:
    parts = "part,role,supplier,price,price_date,currency\nA,piston,x,1,2027-01-15,EUR\nB,piston,x,1,2027-01-15,\n"
    assert [part.currency for part in catalog_of(shop(write, parts=parts)).parts.values()].count("EUR") == 1


def test_attributes_have_their_units_in_the_heading(write: Write) -> None:
    parts = "part,role,supplier,price,price_date,mass [g],deck_clearance [in],rocker_ratio,material\n"
    parts += "A,piston,x,1,2027-01-15,550,-0.005,1.6,steel\n"
    assert catalog_of(shop(write, parts=parts)).parts["A"].attributes == {
        "mass": Quantity(550, "g"),
        "deck_clearance": Quantity(-0.005, "in"),
        "rocker_ratio": Quantity(1.6),
        "material": "steel",
    }


def test_an_empty_attribute_is_none(write: Write) -> None:
    parts = "part,role,supplier,price,price_date,mass [g]\nA,piston,x,1,2027-01-15,\n"
    assert catalog_of(shop(write, parts=parts)).parts["A"].attributes == {}


def test_a_catalog_may_declare_attributes(write: Write) -> None:
    header = HEADER + '[attributes]\nplay = "length"\ncolour = "text"\n'
    parts = "part,role,supplier,price,price_date,play [mm],colour\nA,piston,x,1,2027-01-15,-0.1,red\n"
    attributes = catalog_of(shop(write, catalog=header, parts=parts)).parts["A"].attributes
    assert attributes == {"play": Quantity(-0.1, "mm"), "colour": "red"}


def part_row(column: str, cell: str) -> str:
    return f"part,role,supplier,price,price_date,{column}\nA,piston,x,1,2027-01-15,{cell}\n"


@pytest.mark.parametrize(
    ("parts", "problem"),
    [
        (PARTS.replace("100", "-1"), ("REA018", 2, "price")),
        (PARTS.replace("100", ""), ("REA016", 2, "price")),
        (PARTS.replace("2027-01-15", "2027-02-30"), ("REA019", 2, "price_date")),
        (PARTS.replace("piston", "pistol"), ("CAT002", 2, "role")),
        (PARTS + PARTS.splitlines()[1] + "\n", ("CAT001", 3, "part")),
        (part_row("pack", "0"), ("REA018", 2, "pack")),
        (part_row("pack", "1.5"), ("REA017", 2, "pack")),
        (part_row("currency", "USDX"), ("MON001", 2, "currency")),
        (part_row("colour", "red"), ("REA009", 1, "colour")),
        (part_row("mass", "1"), ("REA021", 1, "mass")),
        (part_row("mass [in]", "1"), ("REA021", 1, "mass [in]")),
        (part_row("mass [g]", "0"), ("REA018", 2, "mass [g]")),
        (part_row("mass [g]", "-5"), ("REA018", 2, "mass [g]")),
        (part_row("mass [g]", "heavy"), ("REA017", 2, "mass [g]")),
        (part_row("mass [g]", "inf"), ("REA018", 2, "mass [g]")),
    ],
)
def test_a_fault_of_a_part_stands_at_its_row(write: Write, parts: str, problem: tuple[str, int, str]) -> None:
    assert faults(shop(write, parts=parts)) == [(problem[0], "parts.csv", *problem[1:])]


@pytest.mark.parametrize(
    ("header", "problem"),
    [
        ('name = "Shop"\n', ("REA016", "catalog.toml", None, "currency")),
        (HEADER.replace("USD", "dollars"), ("MON001", "catalog.toml", 2, "currency")),
        (HEADER + 'colour = "red"\n', ("REA015", "catalog.toml", 3, "colour")),
        (HEADER + 'includes = "other"\n', ("REA017", "catalog.toml", 3, "includes")),
        (HEADER + '[attributes]\nplay = "colour"\n', ("REA020", "catalog.toml", 3, "attributes")),
    ],
)
def test_a_fault_of_the_header_stands_at_its_key(
    write: Write, header: str, problem: tuple[str, str, int | None, str]
) -> None:
    assert problem in faults(shop(write, catalog=header))


def test_a_folder_that_is_not_there_or_no_folder(write: Write, tmp_path: Path) -> None:
    assert faults(tmp_path / "none") == [("REA001", "none", None, "")]
    assert faults(write("file", "x")) == [("REA002", "file", None, "")]
    (tmp_path / "bare").mkdir()
    assert faults(tmp_path / "bare") == [("REA001", "catalog.toml", None, "")]


def test_a_setting_writes_a_price(write: Write) -> None:
    catalog = catalog_of(shop(write), "shop/parts/P-1/price=7")
    assert catalog.parts["P-1"].price == 7


# Includes ------------------------------------------------------------------------------------------------------------


def including(*names: str) -> str:
    return HEADER + f"includes = [{', '.join(repr(name) for name in names)}]\n"


def named(name: str) -> str:
    return PARTS.replace("P-1", name)


def test_an_included_catalog_comes_along_once(write: Write) -> None:
    shop(write, "base", roles=ROLES, parts=named("BASE"))
    shop(write, "left", catalog=including("../base"), roles="role\nleft\n", parts=named("LEFT"))
    shop(write, "right", catalog=including("../base"), roles="role\nright\n", parts=named("RIGHT"))
    top = shop(write, "top", catalog=including("../left", "../right"), roles="role\ntop\n", parts=named("TOP"))
    assert set(catalog_of(top).parts) == {"BASE", "LEFT", "RIGHT", "TOP"}


def test_a_circle_of_includes_is_refused_at_the_include_that_closes_it(write: Write) -> None:
    shop(write, "b", catalog=including("../a"), roles="role\nb\n", parts=named("B"))
    a = shop(write, "a", catalog=including("../b"), parts=named("A"))
    catalog, problems = read_catalogs([a])
    assert [(p.code, Path(p.place.file).parts[-2:], p.place.line) for p in problems] == [
        ("CAT005", ("b", "catalog.toml"), 3)
    ]
    assert set(catalog.parts) == {"A", "B"}


def test_a_catalog_that_includes_itself_is_refused(write: Write) -> None:
    assert faults(shop(write, catalog=including("."))) == [("CAT005", "catalog.toml", 3, "includes")]


def test_one_part_in_two_catalogs_is_refused_and_the_first_stays(write: Write) -> None:
    first = shop(write, "first")
    second = shop(write, "second", roles="role\nother\n", parts=PARTS.replace("100", "200"))
    catalog, problems = read_catalogs([first, second])
    assert [(p.code, Path(p.place.file).parts[-2], p.place.line) for p in problems] == [("CAT001", "second", 2)]
    assert catalog.parts["P-1"].price == 100


def test_one_role_in_two_tables_is_refused(write: Write) -> None:
    assert faults(shop(write, roles=ROLES + "ring,again,\n"))[0] == ("REA023", "roles.csv", 4, "role")


# Life rows -----------------------------------------------------------------------------------------------------------


def test_a_parts_own_life_goes_before_its_roles_measure_by_measure(write: Write) -> None:
    lives = "part,role,measure,replace_at\n,piston,hours,40\n,piston,laps,900\n,ring,hours,9\nP-1,,hours,25\n"
    catalog = catalog_of(shop(write, lives=lives))
    rows = catalog.lives_of(catalog.parts["P-1"])
    assert {(row.measure.name, row.replace_at) for row in rows} == {("hours", 25), ("laps", 900)}


def test_a_part_without_a_row_of_its_own_has_its_roles_life(write: Write) -> None:
    parts = PARTS + "P-2,piston,Shop,1,2027-01-15\n"
    catalog = catalog_of(
        shop(write, parts=parts, lives="part,role,measure,replace_at\n,piston,hours,40\nP-1,,hours,25\n")
    )
    assert [row.replace_at for row in catalog.lives_of(catalog.parts["P-2"])] == [40]


LIFE = "part,role,measure,replace_at,risk,low,likely,high,shape,limit,rated_rpm,rpm_exponent,life_of\n"


@pytest.mark.parametrize(
    ("row", "problem"),
    [
        ("P-1,piston,hours,40,,,,,,,,,", ("CAT003", "part")),
        (",,hours,40,,,,,,,,,", ("CAT003", "part")),
        ("P-9,,hours,40,,,,,,,,,", ("CAT004", "part")),
        (",pistol,hours,40,,,,,,,,,", ("CAT002", "role")),
        ("P-1,,hours,,,,,,,,,,", ("LIF001", "replace_at")),
        ("P-1,,hours,,0.1,,,,2,,,,", ("LIF001", "replace_at")),
        ("P-1,,hours,,,20,,,,,,,", ("LIF001", "low")),
        ("P-1,,hours,,,,40,,,,,,", ("LIF001", "low")),
        ("P-1,,hours,,,40,20,,,,,,", ("LIF002", "low")),
        ("P-1,,hours,,,20,20,,,,,,", ("LIF002", "low")),
        ("P-1,,hours,,,20,40,30,,,,,", ("LIF002", "low")),
        ("P-1,,hours,,0.1,20,40,,,,,,", ("LIF003", "low")),
        ("P-1,,hours,,,20,40,,2,,,,", ("LIF003", "low")),
        ("P-1,,hours,40,,,,,,,7000,,", ("LIF004", "rated_rpm")),
        ("P-1,,hours,40,,,,,,,,4,", ("LIF004", "rated_rpm")),
        ("P-1,,hours,0,,,,,,,,,", ("REA018", "replace_at")),
        ("P-1,,hours,40,1.5,,,,,,,,", ("REA018", "risk")),
        ("P-1,,miles,40,,,,,,,,,", ("REA020", "measure")),
        ("P-1,,hours [km],40,,,,,,,,,", ("REA021", "measure")),
        ("P-1,,,40,,,,,,,,,", ("REA016", "measure")),
        ("P-1,,hours,40,,,,,,,,,pair", ("REA020", "life_of")),
    ],
)
def test_a_fault_of_a_life_stands_at_its_row(write: Write, row: str, problem: tuple[str, str]) -> None:
    assert faults(shop(write, lives=LIFE + row + "\n")) == [(problem[0], "lives.csv", 2, problem[1])]


def test_a_part_at_fault_is_not_unknown_to_its_life(write: Write) -> None:
    lives = "part,measure,replace_at\nP-1,hours,40\n"
    found = faults(shop(write, parts=PARTS.replace("100", "-1"), lives=lives))
    assert found == [("REA018", "parts.csv", 2, "price")]


@pytest.mark.parametrize("row", [",piston,hours,40", ",piston,hours,50", ",piston,hours [min],90"])
def test_two_lives_of_one_role_in_one_measure_are_refused(write: Write, row: str) -> None:
    lives = f"part,role,measure,replace_at\n,piston,hours,40\n,piston,laps,9\n{row}\n"
    assert faults(shop(write, lives=lives)) == [("CAT006", "lives.csv", 4, "measure")]


def test_a_scenario_is_no_catalog_and_is_told_so_once(tmp_path: Path) -> None:
    (tmp_path / "scenario.toml").write_text('title = "mine"\ncurrency = "USD"\n', encoding="utf-8")
    (tmp_path / "calendar.csv").write_text("event,date\nopener,2027-04-01\n", encoding="utf-8")
    _, problems = read_catalogs([tmp_path])
    assert [(problem.code, Path(problem.place.file).name) for problem in problems] == [("REA001", "catalog.toml")]


def test_a_declared_column_is_known_while_the_rows_that_give_it_are_at_fault(tmp_path: Path) -> None:
    head = 'name = "x"\ncurrency = "USD"\n[attributes]\nreach = "length"\nports = "text"\n'
    (tmp_path / "catalog.toml").write_text(head, encoding="utf-8")
    (tmp_path / "roles.csv").write_text("role\nhead\n", encoding="utf-8")
    rows = "part,role,supplier,price,price_date,reach [in],ports\nH-1,head,Hill,10,2027-01-01,long,raised\n"
    (tmp_path / "parts.csv").write_text(rows, encoding="utf-8")
    catalog, problems = read_catalogs([tmp_path])
    assert [problem.code for problem in problems] == ["REA017"]
    numbers, words = attributes_of(catalog)
    assert (numbers["reach"], "ports" in words) == ("length", True)
