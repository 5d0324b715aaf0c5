"""Forms: numbers and dates of a sheet in our form, or refused; never guessed."""

from __future__ import annotations

from datetime import date
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from costplan.reading.forms import GROUPS, Numbers, date_form
from costplan.reading.source import is_encoding

GERMAN = Numbers(",", ".", ("EUR", "€", "Stk."))
FRENCH = Numbers(",", " ", ("€", "HT"))
SWISS = Numbers(".", "'", ("Fr.", ".-"))
AMERICAN = Numbers(".", ",", ("$", "ea", '"'))


@pytest.mark.parametrize(
    ("numbers", "text", "ours"),
    [
        (GERMAN, "1.234,50 €", "1234.50"),
        (GERMAN, "1234,5", "1234.5"),
        (GERMAN, "EUR 12.345.678", "12345678"),
        (GERMAN, "1.234", "1234"),
        (GERMAN, "1,234", "1.234"),
        (GERMAN, "8 Stk.", "8"),
        (GERMAN, "-0,5", "-0.5"),
        (GERMAN, "\u22120,5", "-0.5"),
        (GERMAN, "2,5 %", "2.5 %"),
        (GERMAN, "€", ""),
        (GERMAN, "12.34", "REA024"),
        (GERMAN, "1.234.5", "REA024"),
        (GERMAN, "0.234", "REA024"),
        (GERMAN, "EUR € 5 €€", "5"),
        (GERMAN, "1234.567", "REA024"),
        (GERMAN, "1,234,5", "REA024"),
        (GERMAN, "1'234", "REA024"),
        (GERMAN, "1,", "REA024"),
        (GERMAN, ",5", "REA024"),
        (GERMAN, "auf Anfrage", "REA017"),
        (GERMAN, "12,50 $", "REA017"),
        (GERMAN, "12 € 50", "REA017"),
        (FRENCH, "1\u202f234,50 €", "1234.50"),
        (FRENCH, "1\u00a0234,50\u00a0€ HT", "1234.50"),
        (FRENCH, "1 234", "1234"),
        (FRENCH, "1 23,4", "REA024"),
        (SWISS, "Fr. 1'234.50", "1234.50"),
        (SWISS, "1\u2019234.-", "1234"),
        (AMERICAN, "$1,234.50 ea", "1234.50"),
        (AMERICAN, '4.030"', "4.030"),
        (AMERICAN, "1,23", "REA024"),
        (AMERICAN, "4 1/2", "REA017"),
        (Numbers(strip=("€",)), "1.234,50 €", "1.234,50"),
    ],
)
def test_a_number_in_a_form(numbers: Numbers, text: str, ours: str) -> None:
    found = numbers.form()(text)
    assert (found if isinstance(found, str) else found[0]) == ours


@given(
    number=st.decimals(min_value=-(10**9), max_value=10**9, places=3),
    marks=st.sampled_from([(",", "."), (".", ","), (",", " "), (".", "'"), (",", ""), (".", "")]),
    word=st.sampled_from(["", "€", "EUR ", " Stk."]),
)
def test_what_is_written_in_a_form_is_read_back(number: Decimal, marks: tuple[str, str], word: str) -> None:
    decimal, thousands = marks
    written = f"{number:,}".translate({ord(","): thousands, ord("."): decimal})
    form = Numbers(decimal, thousands, ("€", "EUR", "Stk.")).form()
    for group in GROUPS.get(thousands, "-"):
        assert form(written.replace(thousands, group) + word if thousands else written + word) == str(number)


@pytest.mark.parametrize(
    ("order", "text", "ours"),
    [
        ("day.month.year", "08.01.2027", "2027-01-08"),
        ("day.month.year", "8.1.2027", "2027-01-08"),
        ("day/month/year", "08/01/2027", "2027-01-08"),
        ("month/day/year", "08/01/2027", "2027-08-01"),
        ("month/day/yy", "1/8/27", "2027-01-08"),
        ("year/month/day", "2027/1/8", "2027-01-08"),
        ("day month year", "8 1 2027", "2027-01-08"),
        ("day.month.year", "2027-01-08", "REA019"),
        ("day.month.year", "08.01.27", "REA019"),
        ("day.month.yy", "08.01.2027", "REA019"),
        ("day.month.year", "8. Januar 2027", "REA019"),
        ("day.month.year", "", "REA019"),
    ],
)
def test_a_date_in_a_form(order: str, text: str, ours: str) -> None:
    form = date_form(order)
    assert form is not None
    found = form(text)
    assert (found if isinstance(found, str) else found[0]) == ours


@given(day=st.dates(date(2000, 1, 1), date(2099, 12, 31)), order=st.permutations(["day", "month", "year"]))
def test_a_date_is_read_back_in_any_order(day: date, order: list[str]) -> None:
    form = date_form("/".join(order))
    assert form is not None
    given_parts = {"day": day.day, "month": day.month, "year": day.year}
    assert form("/".join(str(given_parts[part]) for part in order)) == day.isoformat()


@pytest.mark.parametrize(
    "order", ["", "day.month", "day.month/year", "day.day.year", "dd.mm.yyyy", "day.month.year.yy"]
)
def test_what_is_no_order_of_a_date(order: str) -> None:
    assert date_form(order) is None


@pytest.mark.parametrize(
    ("name", "known"),
    [
        ("windows-1252", True),
        ("ISO-8859-15", True),
        ("utf-16", True),
        ("windows-1", False),
        ("", False),
        ("base64", False),
        ("rot13", False),
        ("unicode_escape", False),
        ("undefined", False),
        ("a\0b", False),
    ],
)
def test_an_encoding_is_one_that_text_files_are_in(name: str, known: bool) -> None:
    assert is_encoding(name) is known
