"""The workbooks of a quote: figures that are the quote's, also when they are worked out anew, and nothing handed over
that the shop keeps to itself.
"""

from __future__ import annotations

import hashlib
import io
import re
import subprocess
import sys
import zipfile
from collections.abc import Callable, Sequence
from dataclasses import replace
from datetime import date
from decimal import Decimal
from pathlib import Path
from typing import Any
from xml.sax.saxutils import unescape

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st
from openpyxl import Workbook, load_workbook
from openpyxl.worksheet.worksheet import Worksheet

from costplan.money import minor_digits, round_money
from costplan.problems import Place
from costplan.quote.copies import customer_copy
from costplan.quote.records import Kind, KindMargin, Line, Margin, Party, Quote, Term
from costplan.quote.totals import Adjustment, Tax, Totals, line_net, tax_on, totals_of
from costplan.report.quote.wording import CAUTIONS, FIXED, INVENTED
from costplan.report.quote.workbook import customer_xlsx, shop_xlsx
from costplan.report.quote.workbook.shared import AS_QUOTED, LIVE
from costplan.report.quote.workbook.shop import SHOP_ONLY
from costplan.report.workbook.formulas import Formula, Rounding
from costplan.report.workbook.texts import cut
from tests.test_quote.small_quote import FREE, LINES, QUOTE, TAXED, money
from tests.workbooks import (
    WITH_SOFFICE,
    as_recomputed,
    assert_recomputes,
    changeable,
    column_of,
    figure,
    parts,
    read,
    recalculated,
    row_of,
    texts,
)
from tests.workbooks.recomputing import Recomputed, Seen, as_it_is, to_15_digits

COPY = customer_copy(QUOTE)
ROUNDINGS = pytest.mark.parametrize("seen", [as_it_is, to_15_digits])
TOTALS = ("Net, before tax", "Total with tax, ", "Deposit with the order", "Balance before the engine leaves")


def amounts(page: Worksheet) -> list[Decimal]:
    """Net, total, deposit and balance."""
    return [Decimal(repr(figure(page, words, "Amount"))) for words in TOTALS]


def quote_of(*lines: Line, currency: str = "USD", adjustments: tuple[Adjustment, ...] = (), **more: Any) -> Quote:
    """The small quote with other lines, and all that follows from them."""
    totals = totals_of(((line.net, line.tax) for line in lines), currency, adjustments)
    deposit = round_money(totals.gross / 2, currency)
    off = totals.charges - totals.allowances
    notes = tuple((group.tax, "") for group in totals.groups)
    made = replace(QUOTE, lines=lines, totals=totals, currency=currency, tax_notes=notes, discount=totals.allowances)
    margin = margin_of(lines, off)
    return replace(made, deposit=deposit, balance=totals.due - deposit, margin=margin, core=money("0"), **more)


def margin_of(lines: tuple[Line, ...], off: Decimal) -> Margin:
    """Margin with no target; what is taken off the whole is a credit."""
    sold = [line for line in lines if line.kind != "core"]
    kinds: dict[Kind, None] = dict.fromkeys(line.kind for line in sold)
    if off:
        kinds["credit"] = None
    rows = []
    for kind in kinds:
        net = sum((line.net for line in sold if line.kind == kind), money("0"))
        cost = sum((line.cost for line in sold if line.kind == kind), money("0"))
        rows.append(KindMargin(kind, net + off if kind == "credit" else net, cost))
    net, cost = sum((row.net for row in rows), money("0")), sum((row.cost for row in rows), money("0"))
    earned = net - cost
    return Margin(
        net, cost, earned / net if net else None, earned / cost if cost else None, money("0"), cost, tuple(rows)
    )


def line_of(
    quantity: str, price: str, discount: str = "0", tax: Tax = TAXED, currency: str = "USD", **more: Any
) -> Line:
    """A line as the quote makes them."""
    q, p, d = Decimal(quantity), Decimal(price), Decimal(discount)
    net = line_net(q, p, currency, allowances=[q * p * d])
    made = replace(LINES[0], quantity=q, price=p, discount=d, net=net, tax=tax, cost=money("0"))
    return replace(made, **more)


# Figures


def test_written_figures_are_the_quotes() -> None:
    page = read(customer_xlsx(COPY))["Quote"]
    totals = QUOTE.totals
    assert amounts(page) == [totals.net, totals.gross, QUOTE.deposit, QUOTE.balance]
    assert figure(page, "S 6.5 %", "Price") == 1109.30
    assert figure(page, "S 6.5 %", "Amount") == 72.10
    assert figure(page, "of which deposits on old pieces", "Amount") == 40
    assert figure(page, "If the work stops", "Amount") == 480


def test_the_shop_sees_the_same_totals_and_its_margin() -> None:
    book = read(shop_xlsx(QUOTE))
    assert amounts(book["Lines"]) == [QUOTE.totals.net, QUOTE.totals.gross, QUOTE.deposit, QUOTE.balance]
    page = book["Margin"]
    assert [figure(page, "All that is sold", name) for name in ("Net", "Cost", "Earned")] == [2819.3, 1816, 1003.3]
    assert figure(page, "Floor", "Net") == 2793.85
    assert figure(page, "Above the floor", "Net") == 25.45


@ROUNDINGS
@pytest.mark.parametrize("data", [customer_xlsx(COPY), shop_xlsx(QUOTE)], ids=["customer", "shop"])
def test_worked_out_anew_nothing_changes(data: bytes, seen: Seen) -> None:
    # the margins of the small quote are written to five digits
    for place, anew, written in as_recomputed(data, seen):
        assert anew == pytest.approx(written, abs=1e-5), place


@ROUNDINGS
def test_a_changed_price_runs_through_to_the_balance(seen: Seen) -> None:
    book = load_workbook(io.BytesIO(customer_xlsx(COPY)))
    page = book["Quote"]
    page[f"{column_of(page, 'Price')}{row_of(page, 'Ring set')}"] = 1.005
    anew, row = Recomputed(book, seen), column_of(page, "Amount")
    found = [anew.value("Quote", f"{row}{row_of(page, words)}") for words in TOTALS]
    net, gross, deposit, balance = after_change()
    assert found == pytest.approx([float(net), float(gross), float(deposit), float(balance)], abs=1e-9)


def after_change() -> list[Decimal]:
    """Net, total, deposit and balance of the small quote with rings at 1.005; the deposit stays."""
    rings = line_of("2", "1.005", "0.1")
    totals = totals_of([(line.net, line.tax) for line in (LINES[0], rings, *LINES[2:])], "USD")
    return [totals.net, totals.gross, QUOTE.deposit, totals.gross - QUOTE.deposit]


@ROUNDINGS
def test_a_discount_on_the_whole_is_taxed_with_its_group(seen: Seen) -> None:
    off = (Adjustment("allowance", money("27.73"), TAXED), Adjustment("allowance", money("42.75"), FREE))
    quote = quote_of(*LINES, adjustments=off)
    page = read(customer_xlsx(customer_copy(quote)))["Quote"]
    assert figure(page, "Sum of lines", "Amount") == 2859.30
    assert figure(page, "Discount on the whole", "Amount") == -27.73
    assert figure(page, "S 6.5 %", "Price") == 1081.57
    assert_recomputes(customer_xlsx(customer_copy(quote)), seen)
    assert_recomputes(shop_xlsx(quote), seen)
    assert figure(read(shop_xlsx(quote))["Margin"], "credit", "Net") == -70.48


@ROUNDINGS
@pytest.mark.parametrize(
    ("currency", "lines"),
    [
        ("JPY", [line_of("3", "33.5", "0.1", currency="JPY"), line_of("0.5", "1235", tax=FREE, currency="JPY")]),
        ("KWD", [line_of("7", "0.1115", "0.05", currency="KWD"), line_of("1", "812.3455", currency="KWD")]),
        ("USD", [line_of("-2", "0.125", "0.4"), line_of("1", "2950", "1"), line_of("1000", "0.0088")]),
        ("EUR", [line_of("1.005", "100"), line_of("2.675", "1", tax=FREE), line_of("35", "0.145", "0.5")]),
        ("USD", []),
    ],
    ids=["no minor unit", "three digits", "credit, gift, fine price", "halves", "no line"],
)
def test_every_currency_and_sign(currency: str, lines: list[Line], seen: Seen) -> None:
    quote = quote_of(*lines, currency=currency)
    data = customer_xlsx(customer_copy(quote))
    found = amounts(read(data)["Quote"])
    assert found == [quote.totals.net, quote.totals.gross, quote.deposit, quote.balance]
    assert_recomputes(data, seen, minor_digits(currency))
    assert_recomputes(shop_xlsx(quote), seen, minor_digits(currency))


def test_amounts_have_their_currencys_digits() -> None:
    def forms(currency: str, price: str) -> tuple[str, ...]:
        quote = quote_of(line_of("1", price, currency=currency), currency=currency)
        page = read(customer_xlsx(customer_copy(quote)))["Quote"]
        row = row_of(page, "Piston set")
        return tuple(page[f"{column_of(page, name)}{row}"].number_format for name in ("Price", "Amount"))

    assert forms("USD", "1") == ("#,##0.00", "#,##0.00")
    assert forms("USD", "0.0088") == ("#,##0.00####", "#,##0.00")
    assert forms("JPY", "100") == ("#,##0", "#,##0")
    assert forms("JPY", "0.5") == ("#,##0.0####", "#,##0")
    assert forms("KWD", "1.2345") == ("#,##0.000####", "#,##0.000")


QUANTITIES = st.decimals(-1000, 1000, places=3)
PRICES = st.decimals(0, 20000, places=4)
SHARES = st.decimals(0, 1, places=4)


@settings(max_examples=150, deadline=None)
@given(QUANTITIES, PRICES, SHARES, st.sampled_from(["USD", "JPY", "KWD"]), st.sampled_from([as_it_is, to_15_digits]))
@example(Decimal("1.005"), Decimal(100), Decimal(0), "USD", as_it_is)
@example(Decimal("4.35"), Decimal("100.1"), Decimal("0.5"), "USD", as_it_is)
def test_the_formula_of_a_line_gives_its_net(
    quantity: Decimal, price: Decimal, discount: Decimal, currency: str, seen: Seen
) -> None:
    less = quantity * price * discount
    rounding, size = Rounding(minor_digits(currency)), quantity * price
    says = f"{rounding.of('A1*B1', size)}-{rounding.of('A1*B1*C1', size)}"
    found = worked_out(says, seen, quantity, price, discount)
    assert found == pytest.approx(float(line_net(quantity, price, currency, allowances=[less])), abs=1e-6)


def worked_out(says: str, seen: Seen, *cells: Decimal) -> float:
    """What a formula gives with some figures in A1, B1 ..."""
    book = Workbook()
    page = book.worksheets[0]
    page.append([float(cell) for cell in cells])
    page["A2"] = f"={says}"
    found = Recomputed(book, seen).value(page.title, "A2")
    assert isinstance(found, float)
    return found


def test_without_the_guard_a_half_would_be_lost() -> None:
    """Why products are rounded twice and in minor units: other formulas fail where numbers are taken as they are."""
    half = (Decimal("1.005"), Decimal(100), Decimal("0.01"))
    assert worked_out("ROUND(A1*B1*C1,2)", as_it_is, *half) == 1.0
    assert worked_out("ROUND(ROUND(A1*B1*C1,8),2)", as_it_is, *half) == 1.0
    assert worked_out(Rounding(2).of("A1*B1*C1", Decimal(1)), as_it_is, *half) == 1.01


@settings(max_examples=15, deadline=None)
@given(
    st.lists(
        st.tuples(QUANTITIES, PRICES, SHARES, st.sampled_from([TAXED, FREE, Tax("S", Decimal("19"))])), max_size=12
    ),
    st.sampled_from(["USD", "JPY", "KWD"]),
    st.sampled_from([as_it_is, to_15_digits]),
)
def test_whole_quotes_recompute(rows: list[tuple[Decimal, Decimal, Decimal, Tax]], currency: str, seen: Seen) -> None:
    lines = [line_of(str(q), str(p), str(d), tax, currency) for q, p, d, tax in rows]
    assert_recomputes(customer_xlsx(customer_copy(quote_of(*lines, currency=currency))), seen, minor_digits(currency))


def test_an_amount_that_is_not_its_formulas_is_shown_as_it_stands() -> None:
    odd = replace(LINES[0], net=money("900.00"))
    quote = quote_of(odd, *LINES[1:])
    for data, sheet in ((customer_xlsx(customer_copy(quote)), "Quote"), (shop_xlsx(quote), "Lines")):
        page = load_workbook(io.BytesIO(data))[sheet]
        names = column_of(page, "Item")
        row = next(cell.row for cell in page[names] if cell.value == "Piston set")
        assert page[f"{column_of(page, 'Amount')}{row}"].value == 900
        assert AS_QUOTED in texts(data)
        assert_recomputes(data, as_it_is)
    assert AS_QUOTED not in texts(customer_xlsx(COPY))


def test_a_balance_that_is_not_the_rest_is_shown_as_it_stands() -> None:
    page = load_workbook(io.BytesIO(customer_xlsx(replace(COPY, balance=money("1.00")))))["Quote"]
    assert figure(page, "Balance", "Amount") == 1


def test_a_margin_that_is_not_that_of_the_lines_is_shown_as_it_stands() -> None:
    kinds = (KindMargin("parts", money("1000.00"), money("700.00")), QUOTE.margin.by_kind[1])
    odd = replace(QUOTE, margin=replace(QUOTE.margin, by_kind=kinds, net=money("2710.00"), cost=money("1636.00")))
    page = load_workbook(io.BytesIO(shop_xlsx(odd)))["Margin"]
    assert (figure(page, "parts", "Net"), figure(page, "parts", "Cost")) == (1000, 700)
    assert figure(page, "labour", "Net").startswith("=SUMIF")


def test_the_floor_is_rounded_up_and_not_by_noise() -> None:
    """650 / (1 - 0.35) is 1000, and a hair more in binary."""
    line = line_of("1", "1000", cost=money("650.00"))
    quote = quote_of(line)
    quote = replace(quote, margin=replace(quote.margin, target=money("0.35"), floor=money("1000.00")))
    for seen in (as_it_is, to_15_digits):
        assert_recomputes(shop_xlsx(quote), seen)


def test_2000_lines() -> None:
    rows = ((str(1 + i % 7), f"{i}.37", "0.125" if i % 3 else "0", TAXED if i % 2 else FREE) for i in range(2000))
    lines = [replace(line_of(*row), heading=f"Group {i // 100}") for i, row in enumerate(rows)]
    quote = quote_of(*lines)
    data = customer_xlsx(customer_copy(quote))
    found = Recomputed(data)
    page = found.book["Quote"]
    cell = f"{column_of(page, 'Amount')}{row_of(page, 'Total with tax')}"
    assert found.value("Quote", cell) == pytest.approx(float(quote.totals.gross), abs=1e-6)


# Another program's opinion


HALVES = quote_of(
    *(
        line_of(f"{i % 40 + 1}.005", f"{i * 37 % 9000}.{i % 100:02}5", f"0.{i % 9}5", TAXED if i % 2 else FREE)
        for i in range(1500)
    )
)


@pytest.fixture(scope="module")
def elsewhere(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Workbook]:
    """The small quote with another price, and one of many halves, as LibreOffice works them out."""
    book = changeable(customer_xlsx(COPY))
    page = book["Quote"]
    page[f"{column_of(page, 'Price')}{row_of(page, 'Ring set')}"] = 1.005
    books = {"changed": book, "halves": changeable(customer_xlsx(customer_copy(HALVES)))}
    return recalculated(books, tmp_path_factory.mktemp("elsewhere"))


@WITH_SOFFICE
def test_libreoffice_recomputes_a_changed_price(elsewhere: dict[str, Workbook]) -> None:
    assert amounts(elsewhere["changed"]["Quote"]) == after_change()


@WITH_SOFFICE
def test_libreoffice_rounds_every_half_as_we_do(elsewhere: dict[str, Workbook]) -> None:
    page = elsewhere["halves"]["Quote"]
    column, first = column_of(page, "Amount"), row_of(page, "Piston set")
    found = [page[f"{column}{first + i}"].value for i in range(len(HALVES.lines))]
    pairs = zip(HALVES.lines, found, strict=True)
    wrong = [(line, value) for line, value in pairs if round(value, 2) != float(line.net)]
    assert wrong == []
    assert round(figure(page, "Total with tax", "Amount"), 2) == float(HALVES.totals.gross)


# What is shown, and to whom


def test_sheets_stand_in_order_and_empty_ones_are_left_out() -> None:
    assert read(customer_xlsx(COPY)).sheetnames == ["Quote", "May be needed", "Options", "Terms"]
    bare = replace(QUOTE, allowances=(), options=(), terms=(), excluded=(), notes=(), assumed=())
    assert read(customer_xlsx(customer_copy(bare))).sheetnames == ["Quote", "Terms"]
    names = ["Lines", "Margin", "After tear-down", "Options", "Days and terms", "Assumed"]
    assert read(shop_xlsx(QUOTE)).sheetnames == names
    assert read(shop_xlsx(bare)).sheetnames == ["Lines", "Margin", "Days and terms"]


def test_each_sheet_of_the_shop_is_marked() -> None:
    book = read(shop_xlsx(QUOTE))
    assert {page["A1"].value for page in book.worksheets} == {SHOP_ONLY}
    assert {footer.split("&C")[1].split("&R")[0] for footer in footers(shop_xlsx(QUOTE))} == {SHOP_ONLY}
    assert SHOP_ONLY not in texts(customer_xlsx(COPY))


def test_the_head_the_cautions_and_what_is_live() -> None:
    shown = texts(customer_xlsx(COPY))
    assert shown[0] == "Quote Q-27-001, revision 2: New small engine"
    assert "From Invented Engines, 1 Nowhere Lane, Inventown" in shown
    assert "For A. Racer (invented), 2 Nowhere Lane" in shown
    assert any(text.startswith("1 February 2027, valid until 3 March 2027. Estimate") for text in shown)
    assert any("Revision 2: rings added." in text for text in shown)
    assert {INVENTED, LIVE, *CAUTIONS} <= set(shown)
    assert INVENTED not in texts(customer_xlsx(replace(COPY, invented=False)))
    assert texts(customer_xlsx(replace(COPY, revision=0)))[0] == "Quote Q-27-001, draft: New small engine"


def test_an_estimate_names_tear_down_only_where_it_may_show_something() -> None:
    for quote, words in (
        (QUOTE, "Estimate: tear-down may change it."),
        (replace(QUOTE, allowances=()), "Estimate: the price may still change."),
    ):
        for data in (customer_xlsx(customer_copy(quote)), shop_xlsx(quote)):
            said = [text for text in texts(data) if "Estimate: " in text]
            assert len(said) == 1
            assert words in said[0]


def test_a_fixed_price_names_what_tear_down_may_show_without_amounts() -> None:
    page = read(customer_xlsx(replace(COPY, basis="fixed")))["May be needed"]
    assert FIXED in [cell.value for row in page.iter_rows() for cell in row]
    assert all(not isinstance(cell.value, int | float) for row in page.iter_rows() for cell in row)


def test_tear_down_and_options_in_figures() -> None:
    book = read(customer_xlsx(COPY))
    needed = book["May be needed"]
    assert figure(needed, "Block", "Chance") == 0.18
    assert figure(needed, "Expected", "Dearest") is None
    last = [row[-1].value for row in needed.iter_rows() if row[-1].value]
    assert last[1:] == [3141.75, 2931.4, 2977.01, 6072.81]
    assert figure(book["Options"], "coated pistons", "Adds") == 298.2


def test_all_of_a_line_is_on_the_shops_sheet() -> None:
    line = replace(LINES[1], place=Place("parts.csv", 7))
    shown = set(texts(shop_xlsx(replace(QUOTE, lines=(LINES[0], line, *LINES[2:])))))
    assert {line.heading, "parts", line.name, line.part, "rings", "Dorrow", line.unit, "old", line.why} <= shown
    assert {"parts.csv:7", line.key, "block: life has no source", "by its assumed life (assumed)"} <= shown
    page = read(shop_xlsx(QUOTE))["Lines"]
    assert page[f"{column_of(page, 'Price of')}{row_of(page, 'Parts') + 1}"].value.date() == date(2026, 2, 1)


def test_nothing_is_called_what_it_must_not_be() -> None:
    for data in (customer_xlsx(COPY), shop_xlsx(QUOTE)):
        assert not re.search(r"\b(safe|legal)", " ".join(texts(data)), re.IGNORECASE)


# Nothing leaks


def footers(data: bytes) -> list[str]:
    pages = (text for name, text in parts(data).items() if name.startswith("xl/worksheets/sheet"))
    return [unescape(re.findall("<oddFooter>(.*)</oddFooter>", page)[0]) for page in pages]


def test_the_customers_workbook_holds_nothing_of_the_shop() -> None:
    secret = [
        replace(line, supplier="Xsupplierx", why="Xwhyx", place=Place("Xplacex", 4242), cost=Decimal(f"7{i}31.87"),
                slots=("Xslotx",), key=f"Xkeyx{i}")
        for i, line in enumerate(LINES)
    ]  # fmt: skip
    allowances = tuple(replace(one, chance_why="Xword", place=Place("Xplacex", 1)) for one in QUOTE.allowances)
    margin = replace(QUOTE.margin, cost=money("6161.61"), floor=money("7272.72"), target=money("0.4243"))
    quote = replace(QUOTE, lines=tuple(secret), allowances=allowances, margin=margin, assumed=("Xassumed",))
    quote = replace(quote, request="Xrequest", engine="Xengine", level="Xlevel")
    files = parts(customer_xlsx(customer_copy(quote)))
    assert "docProps/core.xml" in files
    for name, text in files.items():
        told = text.replace("pageMargins", "")
        assert not re.search(r"X(supplier|why|place|slot|key|word|assumed|request|engine|level)", told), name
        assert not re.search(r"7\d31\.87|6161|7272|4243|4242", told), name
        assert not re.search(r"supplier|cost|margin|mark-?up|profit|earned|floor", told, re.IGNORECASE), name


@pytest.mark.parametrize("data", [customer_xlsx(COPY), shop_xlsx(QUOTE)], ids=["customer", "shop"])
def test_nothing_is_hidden_noted_or_named(data: bytes) -> None:
    book = read(data)
    assert not book.defined_names
    for page in book.worksheets:
        assert page.sheet_state == "visible"
        assert set(page.defined_names) <= {"Print_Titles", "Print_Area"}
        assert not any(column.hidden for column in page.column_dimensions.values())
        assert not any(row.hidden for row in page.row_dimensions.values())
        assert not any(cell.comment or cell.hyperlink for row in page.iter_rows() for cell in row)
        assert not page.protection.sheet
    files = parts(data)
    assert not [name for name in files if re.search("comment|vml|custom|external|media", name)]
    assert 'hidden="1"' not in "".join(files.values())


@pytest.mark.parametrize("data", [customer_xlsx(COPY), shop_xlsx(QUOTE)], ids=["customer", "shop"])
def test_properties_are_title_and_author_alone(data: bytes) -> None:
    told = read(data).properties
    assert (told.title, told.creator, told.lastModifiedBy) == (
        "Quote Q-27-001, revision 2",
        "Invented Engines",
        "Invented Engines",
    )
    assert told.created and told.created.date() == QUOTE.on
    rest = (told.subject, told.description, told.keywords, told.category, told.contentStatus, told.identifier)
    assert not any(rest)


def test_the_same_quote_gives_the_same_bytes_in_another_process_too() -> None:
    first = "from tests.test_quote.small_quote import QUOTE; from costplan.quote.copies import customer_copy; "
    first += "from costplan.report.quote.workbook import customer_xlsx; import hashlib; "
    first += "print(hashlib.sha256(customer_xlsx(customer_copy(QUOTE))).hexdigest())"
    root = Path(__file__).parents[2]
    told = subprocess.run([sys.executable, "-c", first], cwd=root, capture_output=True, text=True, check=True)  # noqa: S603
    assert customer_xlsx(COPY) == customer_xlsx(COPY)
    assert told.stdout.strip() == hashlib.sha256(customer_xlsx(COPY)).hexdigest()
    assert shop_xlsx(QUOTE) == shop_xlsx(QUOTE)


def test_its_font_is_not_left_to_a_theme() -> None:
    for data in (customer_xlsx(COPY), shop_xlsx(QUOTE)):
        styles = zipfile.ZipFile(io.BytesIO(data)).read("xl/styles.xml")
        assert b"<scheme" not in styles
        assert b'val="Arial"' in styles


@pytest.mark.parametrize(("currency", "paper"), [("USD", 1), ("CAD", 1), ("EUR", 9), ("JPY", 9)])
def test_set_up_to_print(currency: str, paper: int) -> None:
    for data in (customer_xlsx(replace(COPY, currency=currency)), shop_xlsx(replace(QUOTE, currency=currency))):
        assert all(footer.endswith("&RPage &P of &N") for footer in footers(data))
        for page in read(data).worksheets:
            setup, fits = page.page_setup, page.sheet_properties.pageSetUpPr
            assert (setup.paperSize, setup.fitToWidth or 1, setup.fitToHeight) == (paper, 1, 0)
            assert fits and fits.fitToPage
            assert page.print_title_rows
            assert page.freeze_panes == f"A{int(page.print_title_rows.split('$')[-1]) + 1}"
            assert int(page.freeze_panes[1:]) < 10


# Texts stay texts

HOSTILE = (
    "=1+1", "+1", "-1", "@SUM(A1)", "\tx", "\rx", "\nx", '=HYPERLINK("http://x.example")', "http://x.example",
    "mailto:a@b", "<b>bold</b>", "<r><t>rich</t></r>", "<si><t>&amp;", "]]>", "_x0041_", "12", "1e5", "TRUE", "{=1}",
    "'quoted", " blank ", "&G&P&L", "%", "2027-02-01", "a\x00b\x1fc\x7f", "\ud800", "\ufffe\uffff",
    "\U0001f3c1" * 3, "エンジン", "",
)  # fmt: skip


@pytest.mark.parametrize(
    "book", [lambda quote: customer_xlsx(customer_copy(quote)), shop_xlsx], ids=["customer", "shop"]
)
def test_no_text_of_a_list_is_taken_for_anything_else(book: Callable[[Quote], bytes]) -> None:
    found = cells_of(book(filled_with(HOSTILE)))
    assert not any(cell.hyperlink for cell in found)
    assert all(re.match(r"=(ROUND|SUM|IF\(|[A-Z]+\d+[-+])", str(cell.value)) for cell in found if cell.data_type == "f")
    plain = sum(cell.data_type == "f" for cell in cells_of(book(filled_with(list(map(str, range(len(HOSTILE))))))))
    assert sum(cell.data_type == "f" for cell in found) == plain
    for text in filter(None, HOSTILE):
        shown = as_shown(text)
        same = [cell for cell in found if cell.data_type == "s" and cell.value == shown]
        assert len(same) > 5, text
        typed = shown.startswith(("=", "+", "-", "@", "\t", "\n"))
        assert all(bool(cell.quotePrefix) == typed for cell in same), text


@pytest.mark.parametrize("text", ["=1+1", "<r><t>rich</t></r>", "&G&P&L", "a\x00b", "\ud800", ""], ids=ascii)
def test_no_name_is_taken_for_anything_else(text: str) -> None:
    party = Party(text, (text,))
    quote = replace(QUOTE, number=text, title=text, reason=text, shop=party, customer=party, engine=text, level=text)
    for data in (customer_xlsx(customer_copy(quote)), shop_xlsx(quote)):
        assert read(data).properties.title == f"Quote {as_shown(text)}, revision 2".replace("</r> ,", "</r>,")
        assert all("&G" not in footer for footer in footers(data))


def cells_of(data: bytes) -> list[Any]:
    return [cell for page in load_workbook(io.BytesIO(data)).worksheets for row in page.iter_rows() for cell in row]


def as_shown(text: str) -> str:
    shown = re.sub(r"[\x00-\x08\x0b-\x1f\x7f\ud800-\udfff\ufffe\uffff]", "\ufffd", text.replace("\r", "\n"))
    return f"{shown} " if shown.startswith("<r>") else shown


def filled_with(words: Sequence[str]) -> Quote:
    """The small quote with each text wherever there is a list: of lines, allowances, options, terms and notes."""
    line, allowance, option = LINES[0], QUOTE.allowances[0], QUOTE.options[0]
    rows = [dict.fromkeys(("heading", "name", "part", "unit", "supplier", "why", "key"), text) for text in words]
    return replace(
        quote_of(*(replace(line, slots=(one["name"],), **one) for one in rows)),  # type: ignore[arg-type]
        terms=tuple(Term(text, text) for text in words), excluded=tuple(words), notes=tuple(words),
        assumed=tuple(words),
        allowances=tuple(replace(allowance, name=text, likely=text, worst=text, slot=text) for text in words),
        options=tuple(replace(option, name=text, says=text) for text in words),
        supplied=tuple(replace(QUOTE.supplied[0], name=text, part="", condition=text) for text in words),
        tax_notes=tuple((TAXED, text) for text in words),
    )  # fmt: skip


def test_long_texts_are_cut_where_one_sees_it() -> None:
    long = "word " * 20_000
    quote = replace(
        QUOTE, number="N" * 500, shop=Party("S" * 500), notes=(long, "\U0001f3c1" * 40_000), title=long,
        lines=tuple(replace(line, name=long) for line in LINES),
    )  # fmt: skip
    for data in (customer_xlsx(customer_copy(quote)), shop_xlsx(quote)):
        book = read(data)
        found = [text for text in texts(data) if len(text) > 10_000]
        assert found and all(text.endswith("...") for text in found)
        assert max(len(text.encode("utf-16-le")) // 2 for text in found) <= 32_767
        told = (book.properties.title or "", book.properties.creator or "")
        assert all(len(text) <= 255 and text.endswith("...") for text in told)
        assert all(len(footer) <= 255 for footer in footers(data))
        assert all((row.height or 0) <= 409 for page in book.worksheets for row in page.row_dimensions.values())


def test_a_pair_of_halves_is_not_cut_in_two() -> None:
    assert cut("\U0001f3c1" * 5, 8) == "\U0001f3c1\U0001f3c1..."


def test_a_formula_that_is_not_understood_is_no_silent_zero() -> None:
    """The evaluator of these tests refuses what it does not know."""
    with pytest.raises((AssertionError, KeyError)):
        worked_out("VLOOKUP(A1,A1:A1,1)", as_it_is, Decimal(1))
    assert Formula("A1", None).gives is None


def test_tax_is_that_of_the_rules() -> None:
    """A group's tax, rounded once from its sum, as `tax_on` does it."""
    lines = [line_of("1", "0.05", tax=Tax("S", Decimal("10"))) for _ in range(3)]
    totals: Totals = quote_of(*lines).totals
    page = read(customer_xlsx(customer_copy(quote_of(*lines))))["Quote"]
    assert figure(page, "S 10 %", "Amount") == float(tax_on(totals.lines, Tax("S", Decimal(10)), "USD")) == 0.02
