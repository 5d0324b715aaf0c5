"""columns-map.toml: suppliers' sheets become parts and prices as they came, each fault at the sheet's own line.

All suppliers, parts and prices are invented.
"""

from __future__ import annotations

import random
import shutil
from collections.abc import Callable, Iterable
from datetime import date
from decimal import Decimal
from pathlib import Path

import pytest

from costplan.catalog import Catalog, read_catalogs
from costplan.problems import Problem, in_order
from costplan.quantity import Quantity
from costplan.reading import parse_settings
from costplan.scenario import read_scenario

BASE = Path(__file__).parents[1] / "bad_inputs" / "base"

Write = Callable[[str, str | bytes], Path]
Fault = tuple[str, str, int | None, str]

HEADER = 'name = "Shop"\ncurrency = "EUR"\ninvented = true\n'
ROLES = "role\npiston\nring-set\ngasket\n"


def shop(write: Write, **files: str | bytes) -> Path:
    """A catalog folder; `map` is columns-map.toml, `sheet` the file sheet.csv, every other name a CSV file."""
    for name, content in {"catalog": HEADER, "roles": ROLES, **files}.items():
        file = {"catalog": "catalog.toml", "map": "columns-map.toml"}.get(name, f"{name}.csv")
        write(f"shop/{file}", content)
    return write("shop/README", "").parent


def seen(problems: Iterable[Problem]) -> list[Fault]:
    return [(p.code, Path(p.place.file).name, p.place.line, p.field) for p in in_order(problems)]


def faults(folder: Path, *settings: str) -> list[Fault]:
    return seen(read_catalogs([folder], parse_settings(settings)[0])[1])


def catalog_of(folder: Path, *settings: str) -> Catalog:
    catalog, problems = read_catalogs([folder], parse_settings(settings)[0])
    assert [str(problem) for problem in problems] == []
    return catalog


# Sheets as they come -------------------------------------------------------------------------------------------------

GERMAN = """\
Quolmeck Motorteile;;;;;;;;
Preisliste "2027, erfunden;;;;;;;;

Artikel-Nr.;Bezeichnung;Warengruppe;Preis
netto;gültig ab;VPE;Bohrung;Gewicht;Lagerbestand
;Kolben und Ringe;;;;;;;
K-100;Kolben geschmiedet, groß;Kolben;1.234,50 €;08.01.2027;8 Stk;94,0;412,5;12
K-101;Kolben gegossen;Kolben;89,90;8.1.2027;1;93,98;;0
R-7;Ringsatz;Kolbenringe;1.020;15.02.2027;1 Stk;;38;3

;Dichtungen;;;;;;;
D-1;Kopfdichtung;Dichtung;auf Anfrage;08.01.2027;1;95,5;;1
;Summe;;=SUM(D5:D9);;;;;
""".replace("Preis\nnetto", '"Preis\nnetto"')

GERMAN_MAP = """\
[[sheet]]
file = "sheet.csv"
encoding = "windows-1252"
header_line = 4
decimal = ","
thousands = "."
strip = ["€", "Stk"]
dates = "day.month.year"
skip_without = ["part", "price"]
leave_out = ["Lagerbestand"]
[sheet.columns]
part = "Artikel-Nr."
name = "Bezeichnung"
role = "Warengruppe"
price = "Preis netto"
price_date = "gültig ab"
pack = "VPE"
"bore [mm]" = "Bohrung"
"mass [g]" = "Gewicht"
[sheet.fixed]
supplier = "Quolmeck"
lead_days = 14
[sheet.words.role]
Kolben = "piston"
Kolbenringe = "ring-set"
Dichtung = "gasket"
[sheet.words.price]
"auf Anfrage" = ""
"""


def german(write: Write, *changes: tuple[str, str], sheet: str = GERMAN) -> Path:
    """The German-like sheet with its map, in which some texts are changed."""
    text = GERMAN_MAP
    for old, new in changes:
        assert text.count(old) == 1
        text = text.replace(old, new)
    return shop(write, map=text, sheet=sheet.replace("\n", "\r\n").encode("windows-1252"))


def test_a_german_like_sheet_with_titles_sub_headings_and_words(write: Write) -> None:
    parts = catalog_of(german(write)).parts
    assert [(part.part, part.role, part.price, part.pack, part.place.line) for part in parts.values()] == [
        ("K-100", "piston", Decimal("1234.50"), 8, 7),
        ("K-101", "piston", Decimal("89.90"), 1, 8),
        ("R-7", "ring-set", Decimal(1020), 1, 9),
    ]
    first = parts["K-100"]
    assert (first.name, first.supplier, first.lead_days) == ("Kolben geschmiedet, groß", "Quolmeck", 14)
    assert first.price_date == parts["K-101"].price_date == date(2027, 1, 8)
    assert first.attributes == {"bore": Quantity(94.0, "mm"), "mass": Quantity(412.5, "g")}
    assert first.place.file.endswith("sheet.csv")


FRENCH = """\
Référence;Désignation;Famille;P.U. HT;Tarif du;Alésage (mm);Délai
P 94-A;Piston forgé;Pistons;1\u202f234,50 €;08/01/2027;94,02;5
P 94-B;Piston coulé;Pistons;89,9 €;08/01/2027;93,98;
"""

FRENCH_MAP = """\
[[sheet]]
file = "sheet.csv"
decimal = ","
thousands = " "
strip = ["€"]
dates = "day/month/year"
[sheet.columns]
part = "Référence"
name = "Désignation"
role = "Famille"
price = "P.U. HT"
price_date = "Tarif du"
"bore [mm]" = "Alésage (mm)"
lead_days = "Délai"
[sheet.fixed]
supplier = "Brindelac"
[sheet.words.role]
Pistons = "piston"
"""


def test_a_french_like_sheet_with_blanks_between_thousands(write: Write) -> None:
    parts = catalog_of(shop(write, map=FRENCH_MAP, sheet=f"\ufeff{FRENCH}")).parts
    assert [(part.part, part.price, part.price_date, part.lead_days) for part in parts.values()] == [
        ("P 94-A", Decimal("1234.50"), date(2027, 1, 8), 5),
        ("P 94-B", Decimal("89.9"), date(2027, 1, 8), 0),
    ]
    assert parts["P 94-A"].attributes == {"bore": Quantity(94.02, "mm")}


AMERICAN = """\
Hobbleton Speed, invented price list
Part #\tDescription\tprice\tEffective\tQty/Box\tBore\tMSRP\t
FP-4030\tForged piston, set\t"$1,234.50"\t1/8/27\t8\t4.030"\t"$1,500.00"\tnew
CP-4030\tCast piston\t$89.90\t1/8/27\t1 ea\t4.030"\t$99.00\t
Prices FOB Hobbleton
"""

AMERICAN_MAP = """\
[[sheet]]
file = "sheet.csv"
encoding = "utf-16"
header_line = 2
delimiter = "tab"
decimal = "."
thousands = ","
strip = ["$", "ea", '"']
dates = "month/day/yy"
skip_without = ["name"]
leave_out = ["*"]
columns = { part = "Part #", name = "Description", price = "price", price_date = "Effective", "bore [in]" = "Bore" }
fixed = { role = "piston", supplier = "Hobbleton", currency = "USD" }
"""


def test_an_american_like_sheet_in_utf_16_with_tabs_and_dollars(write: Write) -> None:
    parts = catalog_of(shop(write, map=AMERICAN_MAP, sheet=AMERICAN.encode("utf-16"))).parts
    assert [(part.part, part.price, part.price_date, part.currency) for part in parts.values()] == [
        ("FP-4030", Decimal("1234.50"), date(2027, 1, 8), "USD"),
        ("CP-4030", Decimal("89.90"), date(2027, 1, 8), "USD"),
    ]
    assert parts["CP-4030"].attributes == {"bore": Quantity(4.03, "in")}


def test_two_tables_of_one_sheet(write: Write) -> None:
    """A price for one and a price for ten stand side by side: three tables, one of parts and two of prices."""
    text = """\
[[sheet]]
file = "list.csv"
leave_out = ["from 1", "from 10"]
columns = { part = "number", role = "group" }
fixed = { supplier = "Quolmeck" }
"""
    for least in (1, 10):
        text += f"""\
[[sheet]]
file = "list.csv"
name = "from {least}"
table = "prices"
leave_out = ["*"]
columns = {{ part = "number", price = "from {least}" }}
fixed = {{ date = 2027-01-08, least = {least} }}
"""
    sheet = "number,group,from 1,from 10\nK-1,piston,80,72.5\nK-2,piston,90,81\n"
    catalog = catalog_of(shop(write, map=text, list=sheet))
    assert [(part.part, part.price) for part in catalog.parts.values()] == [("K-1", None), ("K-2", None)]
    assert [(row.part, row.price, row.least, row.place.line) for row in catalog.prices] == [
        ("K-1", Decimal(80), 1, 2),
        ("K-2", Decimal(90), 1, 3),
        ("K-1", Decimal("72.5"), 10, 2),
        ("K-2", Decimal(81), 10, 3),
    ]
    assert {"shop/list", "shop/from 1", "shop/from 10", "shop/columns-map"} <= set(catalog.addresses)


PARTS = "part,role,supplier,price,price_date\nP-1,piston,Shop,100,2027-01-15\n"


def test_a_file_is_the_table_that_its_name_says_where_the_map_does_not(write: Write) -> None:
    text = '[[sheet]]\nfile = "lives.csv"\ncolumns = { role = "Gruppe", measure = "Maß", replace_at = "bis" }\n'
    text += 'words = { measure = { Stunden = "hours" } }\n'
    lives = catalog_of(shop(write, map=text, lives="Gruppe;Maß;bis\npiston;Stunden;12,5\n", parts=PARTS)).lives
    assert [(row.role, row.measure.name, row.replace_at) for row in lives] == [("piston", "hours", 12.5)]


def test_headings_that_are_ours_need_no_line_in_the_map(write: Write) -> None:
    text = '[[sheet]]\nfile = "sheet.csv"\ncolumns = { price = "net" }\nfixed = { supplier = "Shop" }\n'
    sheet = "part,role,net,price_date,mass [g]\nP-1,piston,7,2027-01-15,300\n"
    part = catalog_of(shop(write, map=text, sheet=sheet)).parts["P-1"]
    assert (part.price, part.attributes) == (Decimal(7), {"mass": Quantity(300, "g")})


def test_a_heading_that_is_ours_is_not_taken_where_the_map_fills_the_column_otherwise(write: Write) -> None:
    text = '[[sheet]]\nfile = "sheet.csv"\ncolumns = { price = "net" }\nfixed = { supplier = "Shop" }\n'
    sheet = "part,role,net,price,price_date\nP-1,piston,7,9,2027-01-15\n"
    assert faults(shop(write, map=text, sheet=sheet)) == [("REA009", "sheet.csv", 1, "price")]


def test_files_that_the_map_does_not_name_are_read_as_ever(write: Write) -> None:
    folder = german(write)
    write("shop/parts.csv", PARTS)
    assert list(catalog_of(folder).parts) == ["P-1", "K-100", "K-101", "R-7"]


def test_without_marks_in_the_map_numbers_are_read_as_the_delimiter_says(write: Write) -> None:
    text = '[[sheet]]\nfile = "sheet.csv"\ncolumns = { price = "net" }\nfixed = { supplier = "Shop", resale = 1.234 }\n'
    sheet = "part;role;net;price_date\nP-1;piston;1,5;2027-01-15\nP-2;piston;2.5;2027-01-15\n"
    folder = shop(write, map=text, sheet=sheet)
    assert [(part.price, part.resale) for part in catalog_of(folder).parts.values()] == [
        (Decimal("1.5"), Decimal("1.234")),
        (Decimal("2.5"), Decimal("1.234")),
    ]
    write("shop/sheet.csv", sheet.replace("2.5", "2.500"))
    assert faults(folder) == [("REA024", "sheet.csv", 3, "net (price)")]


def test_an_attribute_that_the_catalog_declares_is_a_number_of_the_sheet(write: Write) -> None:
    header = HEADER + '[attributes]\nplay = "length"\nnote = "text"\n'
    text = '[[sheet]]\nfile = "sheet.csv"\ndecimal = ","\nstrip = ["mm"]\nskip_without = ["play"]\n'
    text += 'fixed = { role = "piston", supplier = "x", price = 1, price_date = 2027-01-15 }\n'
    text += 'columns = { part = "Nr", "play [mm]" = "Spiel", note = "Text" }\n'
    folder = shop(write, catalog=header, map=text, sheet="Nr;Spiel;Text\nA;0,05 mm;1,5 mm\nB;;weg\n")
    parts = catalog_of(folder).parts
    assert {name: part.attributes for name, part in parts.items()} == {
        "A": {"play": Quantity(0.05, "mm"), "note": "1,5 mm"}
    }


def test_a_setting_writes_our_columns_of_a_sheet_and_the_map(write: Write) -> None:
    folder = german(write)
    parts = catalog_of(folder, "shop/sheet/K-100/price=7.5", "shop/columns-map/sheet/1/fixed/supplier=Hill").parts
    assert (parts["K-100"].price, parts["K-101"].price, parts["R-7"].supplier) == (
        Decimal("7.5"),
        Decimal("89.90"),
        "Hill",
    )
    assert faults(folder, "shop/sheet/K-100/bore=0") == [("REA018", "--set 1", None, "Bohrung (bore [mm])")]


def test_a_sheet_makes_a_scenario_work(tmp_path: Path) -> None:
    """The small season of the bad inputs, its engine built with a part of the sheet."""
    folder = tmp_path / "scenario"
    shutil.copytree(BASE, folder)
    for file in ("build.csv", "garage.csv"):
        (folder / file).write_text((folder / file).read_text("utf-8").replace("P-54", "F-54"), encoding="utf-8")
    scenario, problems = read_scenario(folder)
    assert scenario is not None, [str(problem) for problem in problems]
    assert scenario.bill().lines[0].part == "F-54"
    assert scenario.bill().lines[0].cost == Decimal("1054.50")


# Faults --------------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("changes", "fault"),
    [
        ((('"VPE"', '"Packung"'), ('["Lagerbestand"]', '["Lagerbestand", "VPE"]')), ("MAP001", "columns-map.toml", 17)),
        ((('supplier = "Quolmeck"\n', ""),), ("REA008", "columns-map.toml", 1)),
        ((("lead_days = 14", "lead_days = 1.5"),), ("REA017", "columns-map.toml", 22)),
        ((('encoding = "windows-1252"\n', ""),), ("REA005", "sheet.csv", 5)),
        ((('"Bezeichnung"', '["Bezeichnung"]'),), ("REA017", "columns-map.toml", 13)),
        ((('Kolben = "piston"', "Kolben = 5"),), ("REA017", "columns-map.toml", 24)),
        ((('"auf Anfrage" = ""', '"Anfrage" = ""'),), ("REA017", "sheet.csv", 12)),
        ((('Kolbenringe = "ring-set"', 'Kolbenringe = "rings"'),), ("CAT002", "sheet.csv", 9)),
        ((('["part", "price"]', '["part"]'),), ("REA016", "sheet.csv", 12)),
    ],
)
def test_one_fault_of_a_map_is_one_problem(
    write: Write, changes: tuple[tuple[str, str], ...], fault: tuple[str, str, int]
) -> None:
    assert [found[:3] for found in faults(german(write, *changes))] == [fault]


@pytest.mark.parametrize(
    ("old", "new", "fault"),
    [
        ("1.234,50 €", "12.34 €", ("REA024", "sheet.csv", 7, "Preis netto (price)")),
        ("1.234,50 €", "-1,00 €", ("REA018", "sheet.csv", 7, "Preis netto (price)")),
        ("89,90", "=89+1", ("REA012", "sheet.csv", 8, "Preis netto (price)")),
        ("94,0", "94,0 mm", ("REA017", "sheet.csv", 7, "Bohrung (bore [mm])")),
        ("93,98", "0", ("REA018", "sheet.csv", 8, "Bohrung (bore [mm])")),
        ("15.02.2027", "15/02/2027", ("REA019", "sheet.csv", 9, "gültig ab (price_date)")),
        ("15.02.2027", "30.02.2027", ("REA019", "sheet.csv", 9, "gültig ab (price_date)")),
        ("15.02.2027", "", ("REA016", "sheet.csv", 9, "gültig ab (price_date)")),
        ("8 Stk", "0 Stk", ("REA018", "sheet.csv", 7, "VPE (pack)")),
        ("Kolbenringe", "", ("REA016", "sheet.csv", 9, "Warengruppe (role)")),
        ("Kolben gegossen;Kolben", "x" * 40_000 + ";Kolben", ("REA011", "sheet.csv", 8, "Bezeichnung (name)")),
        ("38;3", "38;3;9", ("REA010", "sheet.csv", 9, "")),
        ("Ringsatz", '"Ringsatz', ("REA006", "sheet.csv", 9, "")),
    ],
)
def test_a_fault_of_a_cell_stands_at_the_sheets_line_and_heading(
    write: Write, old: str, new: str, fault: Fault
) -> None:
    assert GERMAN.count(old) == 1
    assert faults(german(write, sheet=GERMAN.replace(old, new))) == [fault]


@pytest.mark.parametrize(
    "row", [";Summe;;=SUM(D5:D9);;;;;", ";Alle Preise; zuzüglich; Steuer;;;;;;;x;", ";Kolben;;-1;x;0;;;"]
)
def test_what_stands_in_a_row_that_is_none_is_no_fault(write: Write, row: str) -> None:
    assert faults(german(write, sheet=GERMAN + row + "\n")) == []


def test_what_stands_in_a_column_that_is_left_out_is_no_fault(write: Write) -> None:
    assert faults(german(write, sheet=GERMAN.replace("412,5;12", "412,5;=A1"))) == []


def test_a_heading_twice_matters_only_where_it_is_wanted(write: Write) -> None:
    sheet = GERMAN.replace("Gewicht;Lagerbestand", "Gewicht;Lagerbestand;Lagerbestand")
    assert faults(german(write, sheet=sheet)) == []
    sheet = GERMAN.replace("Gewicht;Lagerbestand", "Gewicht;Bohrung;Lagerbestand")
    assert ("REA007", "sheet.csv", 4, "Bohrung") in faults(german(write, sheet=sheet))


def test_a_column_without_a_heading_is_left_out_by_an_empty_name(write: Write) -> None:
    sheet = GERMAN.replace("412,5;12", "412,5;12;x").replace("Lagerbestand", "Lagerbestand;")
    assert faults(german(write, sheet=sheet)) == [("REA009", "sheet.csv", 4, "")]
    assert faults(german(write, ('["Lagerbestand"]', '["Lagerbestand", ""]'), sheet=sheet)) == []


def test_a_value_for_all_rows_is_at_fault_once(write: Write) -> None:
    assert faults(german(write, ("lead_days = 14", "lead_days = -1"))) == [
        ("REA018", "columns-map.toml", 22, "lead_days")
    ]


def test_while_the_map_cannot_be_read_files_in_our_form_are(write: Write) -> None:
    folder = german(write, ('"VPE"', '"VPE'))
    write("shop/parts.csv", PARTS + "P-2,piston,Shop,-1,2027-01-15\n")
    catalog, problems = read_catalogs([folder])
    assert [found[:3] for found in seen(problems)] == [("REA013", "columns-map.toml", 17), ("REA018", "parts.csv", 3)]
    assert (list(catalog.parts), list(catalog.roles)) == (["P-1"], ["piston", "ring-set", "gasket"])
    assert not catalog.whole


def test_a_sheet_at_fault_in_the_map_does_not_keep_others_from_being_read(write: Write) -> None:
    folder = german(write)
    write("shop/other.csv", "Nr;Gruppe\nX;y\n")
    text = (folder / "columns-map.toml").read_text(
        "utf-8"
    ) + '[[sheet]]\nfile = "other.csv"\ncolumn = { part = "Nr" }\n'
    write("shop/columns-map.toml", text)
    catalog, problems = read_catalogs([folder])
    assert [(problem.code, problem.field) for problem in problems] == [("REA015", "sheet.2.column")]
    assert (len(catalog.parts), catalog.whole) == (3, False)


def test_two_tables_need_two_names(write: Write) -> None:
    folder = german(write)
    second = '[[sheet]]\nfile = "sheet.csv"\nname = "roles"\ntable = "prices"\n'
    write("shop/columns-map.toml", (folder / "columns-map.toml").read_text("utf-8") + second)
    assert faults(folder) == [("REA023", "columns-map.toml", 31, "sheet.2.name")]


CELLS = ("", "x", "-1", "0", "1e999", "NaN", "=1", "1.2.3,4,5", "32.13.2027", "\u20ac", '"', "a;b", "\u0661", "²", "%")


@pytest.mark.parametrize("seed", range(60))
def test_whatever_stands_in_a_sheet_nothing_is_raised(write: Write, seed: int) -> None:
    """Five cells of the sheet written over at random; every problem stands at a line of the sheet or the map."""
    draw = random.Random(seed)  # noqa: S311 - not for secrets
    lines = [line.split(";") for line in GERMAN.splitlines()]
    for _ in range(5):
        line = draw.choice(lines)
        line[draw.randrange(len(line))] = draw.choice(CELLS)
    text = GERMAN_MAP.replace("windows-1252", "utf-8")
    folder = shop(write, map=text, sheet="\n".join(";".join(line) for line in lines))
    for problem in read_catalogs([folder])[1]:
        assert Path(problem.place.file).name in ("sheet.csv", "columns-map.toml"), problem
        assert problem.place.line, problem


@pytest.mark.parametrize("seed", range(60))
def test_whatever_stands_in_a_map_nothing_is_raised(write: Write, seed: int) -> None:
    """A line of the map left out, doubled, cut or given another value."""
    draw = random.Random(seed)  # noqa: S311 - not for secrets
    lines = GERMAN_MAP.splitlines()
    at = draw.randrange(len(lines))
    key, _, _ = lines[at].partition(" =")
    values = ("5", "[5]", '""', '"x"', "{}", "{ a = 1 }", "1979-05-27", "true", "-1", '[""]', '["*"]', '"\\u0000"')
    lines[at] = draw.choice(["", lines[at] * 2, lines[at][:-2], *(f"{key} = {value}" for value in values)])
    read_catalogs([shop(write, map="\n".join(lines), sheet=GERMAN.encode("windows-1252"))])


# The guide -----------------------------------------------------------------------------------------------------------


def test_the_map_that_the_readme_shows_reads_such_a_sheet(write: Write) -> None:
    readme = (Path(__file__).parents[2] / "README.md").read_text(encoding="utf-8")
    shown = readme.partition("```toml\n")[2].partition("```")[0]
    sheet = (
        "Preisliste 2027, erfunden\n\nArtikel;Bezeichnung;Warengruppe;VE;Preis;gültig ab;Bohrung mm\n"
        "Kolben und Ringe;;;;;;\nTV-1;Kolben flach;Kolben;8;1.040,50;15.01.2027;101,6\n"
    )
    folder = shop(write, map=shown)
    write("shop/preisliste-2027.csv", sheet.encode("windows-1252"))
    catalog = catalog_of(folder)
    (offer,) = catalog.offers_of("TV-1")
    assert (catalog.parts["TV-1"].role, catalog.parts["TV-1"].attributes) == ("piston", {"bore": Quantity(101.6, "mm")})
    assert (offer.supplier, offer.price, offer.currency) == ("Tevrosk", Decimal("1040.50"), "EUR")
    assert (offer.since, offer.pack) == (date(2027, 1, 15), 8)
