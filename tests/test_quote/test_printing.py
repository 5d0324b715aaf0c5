"""What is printed of a quote: all of it for the shop, and for the customer nothing that the shop keeps to itself."""

from __future__ import annotations

import io
from collections.abc import Iterator
from dataclasses import replace
from datetime import date
from decimal import Decimal
from functools import cache
from typing import Any

import pytest
from pypdf import PdfReader
from pypdf.generic import DictionaryObject, StreamObject

from costplan.money import round_money
from costplan.problems import Place
from costplan.quote.copies import customer_copy
from costplan.quote.records import (
    KINDS,
    AfterTearDown,
    Change,
    Choice,
    KindMargin,
    Line,
    Margin,
    Party,
    Quote,
    Supplied,
    Term,
)
from costplan.quote.totals import Adjustment, Tax, totals_of
from costplan.report.paper import Paper
from costplan.report.quote.printing import customer_pdf, shop_pdf
from costplan.report.quote.wording import CAUTIONS, TAX_DUTY
from tests.test_quote.small_quote import FREE, QUOTE, TAXED, money

FONTS = {"IBMPlexSans-Regular", "IBMPlexSans-SemiBold"}
GOODS = Tax("S", Decimal("8.875"))
SHOP_ONLY = "For the shop only: do not hand over"

#: Heading, kind, name, part number, supplier, quantity, unit, price, cost.
LONG = """
Parts|parts|Cylinder block, cast iron, four-bolt main caps, 4.125 in finished bore, align honed|DB-4125-4B|Dorrow Castings|1|piece|3,280.00|2,640.00
Parts|parts|Crankshaft, forged 4340, 3.750 in stroke, 2.100 in rod journals, internal balance|CR-3750-21|Marl & Hensley Cranks|1|piece|1,895.00|1,512.00
Parts|parts|Connecting rod set, H-beam, 6.000 in, 7/16 in cap screws|RD-6000-H8|Marl & Hensley Cranks|1|set of 8|1,120.00|880.00
Parts|parts|Piston set, forged, flat top with two valve reliefs, 1.2/1.5/3.0 mm ring pack|PS-4125-FT|Dorrow Castings|1|set of 8|1,045.00|812.00
Parts|parts|Piston ring set, gas nitrided steel top ring, Napier second ring|RG-4125-12|Pell Ring Works|1|set of 8|312.00|238.00
Parts|parts|Main bearing set, tri-metal, 0.001 in extra clearance|MB-350X-H|Ostrander Bearings|1|set of 5|118.50|88.20
Parts|parts|Rod bearing set, tri-metal, narrowed for fillet radius|RB-210-HN|Ostrander Bearings|1|set of 8|129.00|96.00
Parts|parts|Cam bearing set, coated, for raised cam tunnel|CB-55-C|Ostrander Bearings|1|set of 5|84.00|61.50
Parts|parts|Camshaft, flat tappet, 254/260 at 0.050 in, 106 lobe separation, nitrided|CS-FT-254|Quill Camshaft Grinding|1|piece|389.00|291.00
Parts|parts|Lifter set, flat tappet, oil hole in the face|LF-842-EDM|Quill Camshaft Grinding|1|set of 16|276.00|204.00
Parts|parts|Timing chain set, billet gears, nine keyways|TC-9K-B|Quill Camshaft Grinding|1|set|164.00|119.00
Parts|parts|Cylinder head, aluminum, 23 degree, 195 cc intake runner, bare|HD-23-195|Ellery Heads|2|piece|1,180.00|940.00
Parts|parts|Intake valve, stainless, 2.055 in, undercut stem|VI-2055-U|Ellery Heads|8|piece|24.50|17.10
Parts|parts|Exhaust valve, stainless, 1.600 in, swirl polished|VE-1600-S|Ellery Heads|8|piece|26.25|18.40
Parts|parts|Valve spring, dual, 1.437 in, 150 lb at 1.850 in|SP-1437-D|Quill Camshaft Grinding|4|pack of 4|88.50|64.00
Parts|parts|Titanium retainer, 10 degree|RT-10-TI|Quill Camshaft Grinding|16|piece|14.75|10.60
Parts|parts|Rocker arm set, 1.6 ratio, roller tip, 7/16 in stud|RA-16-716|Quill Camshaft Grinding|1|set of 16|418.00|322.00
Parts|parts|Pushrod, 5/16 in, one piece, measured to length|PR-516-M|Quill Camshaft Grinding|16|piece|9.80|6.45
Parts|parts|Oil pump, standard volume, blueprinted, welded pickup|OP-SV-BP|Dorrow Castings|1|piece|214.00|158.00
Parts|parts|Oil pan, claimer style, kicked out, with windage tray|PN-KO-7|Sandry Pans|1|piece|386.00|297.00
Parts|parts|Harmonic damper, steel hub, elastomer, 6.400 in, SFI tag|HB-64-SFI|Sandry Pans|1|piece|342.00|268.00
Parts|parts|Flexplate, SFI tag, 168 teeth|FX-168|Sandry Pans|1|piece|129.00|94.00
Parts|parts|Intake manifold, dual plane, as cast by the book|IM-DP-CAST|Ellery Heads|1|piece|259.00|198.00
Parts|parts|Head bolt set, 190 ksi, with hardened washers|HB-190-34|Marl & Hensley Cranks|1|set|112.00|79.00
Parts|parts|Main stud kit, four bolt, splayed outer|MS-4B-SP|Marl & Hensley Cranks|1|set|148.00|106.00
Parts|parts|Gasket set, full, composition head gaskets 0.039 in|GS-FULL-39|Pell Ring Works|1|set|198.00|142.00
Machine work|labour|Block: deck to 9.000 in, square to the crank, both banks||own bench|3.5|h|110.00|192.50
Machine work|labour|Block: bore and hone with torque plates, finish to a profilometer reading||own bench|4.25|h|110.00|233.75
Machine work|labour|Block: align hone mains, check with a dial bore gauge||own bench|2|h|110.00|110.00
Machine work|labour|Rods: weigh, size big ends, hone pin bushings||own bench|2.5|h|110.00|137.50
Machine work|labour|Heads: guides honed, three angle seats, set up springs to height||own bench|5|h|110.00|275.00
Machine work|labour|Heads: surface, chambers checked with a burette, matched to 62 cc||own bench|3|h|110.00|165.00
Sub-let work|sublet|Balance rotating assembly, heavy metal where needed|BAL-V8|Trimline Balancing|1|piece|295.00|250.00
Sub-let work|sublet|Crack test of crank and rods, wet magnetic particle, with paper|MPI-2|Trimline Balancing|1|piece|140.00|115.00
Sub-let work|sublet|Crank polish and check of straightness|POL-V8|Trimline Balancing|1|piece|85.00|70.00
Assembly|labour|Measure, file-fit rings, set clearances and write them into the build sheet||own bench|6|h|95.00|312.00
Assembly|labour|Assemble short block||own bench|7.5|h|95.00|390.00
Assembly|labour|Assemble heads and valve train, check geometry and clearance to the piston||own bench|6.5|h|95.00|338.00
Assembly|labour|Degree the camshaft, dial in at 104||own bench|1.5|h|95.00|78.00
Assembly|labour|Prime, leak-down and compression test||own bench|1.25|h|95.00|65.00
Dyno|labour|Run in with zinc oil, 30 minutes, change filter and cut it open||own bench|2|h|165.00|180.00
Dyno|labour|Power pulls, jetting and timing, sheet handed over||own bench|3|h|165.00|270.00
Supplies|supplies|Oil, break-in, 15W-40|OIL-BI-15|Corner Parts House|7|qt|8.95|6.10
Supplies|supplies|Oil filter, long|FIL-L|Corner Parts House|2|piece|11.40|7.85
Supplies|supplies|Race fuel, 100 octane, for the dyno|FU-100|Corner Parts House|12.5|gal|11.85|9.90
Supplies|supplies|Cleaning, sealers, assembly lube, thread locker||own bench|1|lot|85.00|52.00
Freight|freight|Freight in: block and crank by truck||Trimline Haulage|1|piece|310.00|285.00
Freight|freight|Crate, strapping and a fill of nitrogen||own bench|1|piece|95.00|61.00
Fees|fees|Tear-down and inspection, owed even if the work stops||own bench|1|piece|480.00|350.00
Fees|fees|Class seal and the sanctioning body's certificate|SEAL-CR|Tri-Oval Sanctioning|1|piece|60.00|60.00
Fees|fees|Storage of the old engine to the end of the season||own bench|3|month|25.00|0.00
Deposits on old pieces|core|Deposit on Cylinder block|DB-4125-4B|Dorrow Castings|1|piece|250.00|250.00
Deposits on old pieces|core|Deposit on Crankshaft|CR-3750-21|Marl & Hensley Cranks|1|piece|120.00|120.00
Deposits on old pieces|core|Deposit on Cylinder head|HD-23-195|Ellery Heads|2|piece|75.00|75.00
Deposits on old pieces|core|Deposit on Camshaft|CS-FT-254|Quill Camshaft Grinding|1|piece|30.00|30.00
Taken off and in trade|credit|Old short block taken in trade, seen and measured||own bench|-1|piece|650.00|-400.00
Taken off and in trade|credit|Goodwill for the late rings of last spring||own bench|-1|piece|45.00|0.00
"""  # noqa: E501
ALLOWANCES = """
Cylinder block|0.18|hone and rings one size over|468.00|a new block, machined|4,912.35
Crankshaft|0.22|grind and polish 0.010 in under, bearings to suit|352.40|a new crankshaft, balanced|2,411.60
Connecting rods|0.09|two rods resized, new cap screws|148.00|a new set|1,192.80
Cylinder heads|0.35|eight exhaust guides|236.40|two bare castings, machined|3,186.00
Camshaft tunnel|0.04|one bearing bore sleeved|189.00|align bore of the tunnel|640.00
Lifter bores|0.0625|two bores bushed|96.00|all sixteen bushed|768.00
Oil pump drive|0.12|new drive shaft|38.25|pump, drive and distributor gear|312.90
Harmonic damper|0.5|hub sleeved|44.00|a new damper|364.23
"""
OPTIONS = """
Coated pistons|crowns with a thermal barrier, skirts with dry film|298.20|no
Roller rocker upgrade|shaft-mounted, where the class book allows it|1,164.00|no
Second dyno day|alcohol carburetor of the customer, jetted on the same pulls|742.50|yes
Spare valve springs|one set, matched, in the box|188.50|no
Composition gaskets instead of steel|a little less sealing, a little less money|-64.00|no
"""
TERMS = """
Deposit|Half with the order; the balance before the engine leaves the shop. Parts are ordered once the deposit is here.
Validity|Prices hold until the day named above. After that suppliers are asked anew and a revision is written.
Tear-down|What is found is measured, photographed and told to the customer, who says in writing how the work goes on.
Changes|Each change has a number, a price and a day of its own, and counts once both have signed it.
Returns|Fifteen percent is kept for stock parts that come back unopened. Machined and special-order parts stay sold.
Customer's parts|They are measured on receipt. What does not meet its size is told; to fit it is the customer's choice.
Storage|Thirty days after the engine is ready are free; then 75 a month is charged.
Warranty|None on parts in racing use, expressed or implied, but what their makers give.
"""


def rows_of(text: str) -> list[list[str]]:
    return [row.split("|") for row in text.strip().splitlines()]


def amount(text: str) -> Decimal:
    return Decimal(text.replace(",", ""))


def long_line(row: list[str], at: int) -> Line:
    """A line of the long quote; every seventh price is old, every ninth line has a discount."""
    heading, word, name, part, supplier, quantity, unit, price, cost = row
    kind = next(kind for kind in KINDS if kind == word)
    discount = Decimal("0.075") if at % 9 == 8 and kind != "core" else Decimal(0)
    net = round_money(amount(quantity) * amount(price) * (1 - discount), "USD")
    return replace(
        QUOTE.lines[0],
        key=f"{kind}/{at}", heading=heading, kind=kind, name=name, part=part, supplier=supplier,
        quantity=amount(quantity), unit=unit, price=amount(price), discount=discount, net=net,
        tax=FREE if kind in ("labour", "core", "fees") else GOODS,
        cost=amount(cost) * (amount(quantity) if unit == "piece" and amount(quantity) > 1 else 1),
        hours=amount(quantity) if unit == "h" else Decimal(0), spare=1 if at == 6 else 0,
        priced=date(2027, 1, 4) if part else None, price_age_days=28 if part else None,
        stale=bool(part) and at % 7 == 3, why=f"line {at} of the request, from the build",
    )  # fmt: skip


def change(more: str) -> Change:
    gross = amount(more)
    return Change(gross, gross, round_money(gross * Decimal("0.7"), "USD"))


@cache
def long_quote() -> Quote:
    """A quote as a shop writes them for a whole engine: eleven headings, allowances, options and terms."""
    lines = tuple(long_line(row, at) for at, row in enumerate(rows_of(LONG)))
    totals = totals_of(
        ((line.net, line.tax) for line in lines), "USD", [Adjustment("allowance", Decimal("250.00"), GOODS)]
    )
    half = round_money(totals.gross / 2, "USD")
    net, cost = Decimal("20534.95"), Decimal("15520.75")
    return replace(
        QUOTE,
        number="Q-27-118", revision=4, title="Crate-rule 350 for a dirt late model, 2027 season",
        reason="damper and heads of another maker, dyno day added after the call of 28 January",
        shop=Party("Hollow Creek Racing Engines (invented)",
                   ("4410 Old Mill Road, Unit C", "Inventown, ST 00000", "shop@example.com · 000-555-0100")),
        customer=Party("R. & J. Vandermolen Motorsport (invented)", ("c/o Jan Vandermolen", "77 Nowhere Road")),
        lines=lines, totals=totals, discount=totals.allowances,
        tax_notes=((GOODS, "parts, supplies, sub-let work and freight"), (FREE, "labour apart, fees, deposits")),
        supplied=(
            *QUOTE.supplied,
            Supplied("carburetor", "", "Carburetor, 4412", "customer's", "as received, not opened"),
            Supplied("distributor", "DI-77", "Distributor with mechanical advance and its own gear", "used again",
                     "0.003 in end play, bushing renewed last year", "gear to be watched with the new camshaft"),
        ),
        allowances=tuple(
            replace(QUOTE.allowances[0], part="", name=name, chance=float(chance), assumed=False, likely=likely,
                    chance_why="by the pieces opened so far", likely_more=change(more), worst=worst,
                    worst_more=change(most))
            for name, chance, likely, more, worst, most in rows_of(ALLOWANCES)
        ),
        options=tuple(Choice(name, says, take == "yes", change(more)) for name, says, more, take in rows_of(OPTIONS)),
        after=AfterTearDown(totals.net + 340, totals.gross + 370, totals.net + 13400, totals.gross + 14590,
                            cost + 230, cost + 9380, 0.0004),
        margin=Margin(net, cost, (net - cost) / net, (net - cost) / cost, Decimal("0.3"), Decimal("22172.50"),
                      (KindMargin("parts", Decimal("14490.36"), Decimal("11227.45")),
                       KindMargin("labour", Decimal("5142.12"), Decimal("2746.75")))),
        core=Decimal("550.00"), deposit=half, balance=totals.gross - half,
        terms=tuple(Term(heading, says) for heading, says in rows_of(TERMS)),
        excluded=("carburetor and its jetting for alcohol", "ignition box, leads and plugs", "headers"),
    )  # fmt: skip


def read(pdf: bytes) -> PdfReader:
    return PdfReader(io.BytesIO(pdf))


def about(pdf: bytes) -> dict[str, str]:
    """What a file says of itself."""
    found = read(pdf).metadata
    assert found is not None
    return {name: str(value) for name, value in found.items()}


def text_of(pdf: bytes) -> str:
    """The text of all pages as one line."""
    return " ".join(" ".join(page.extract_text() for page in read(pdf).pages).split())


def objects_of(pdf: bytes) -> Iterator[Any]:
    """All objects of a file, also those that nothing refers to."""
    reader = read(pdf)
    for number in range(1, int(str(reader.trailer["/Size"]))):
        found = reader.get_object(number)
        if found is not None:
            yield found


def all_bytes(pdf: bytes) -> bytes:
    """A file with every stream unpacked, in which whatever it carries could be found."""
    streams = [found.get_data() for found in objects_of(pdf) if isinstance(found, StreamObject)]
    return b"\n".join([pdf, *streams, *(str(found).encode() for found in objects_of(pdf))])


def customer_text(quote: Quote) -> str:
    return text_of(customer_pdf(customer_copy(quote)))


def secretive(word: str, figure: str) -> Quote:
    """The small quote with everything that the shop keeps to itself put into words and figures of its own."""
    number = Decimal(figure)

    def changed(one: Change) -> Change:
        return replace(one, net=number, cost=number)

    return replace(
        QUOTE,
        request=word, of=word, engine=word, level=word, assumed=(word,), discount=QUOTE.discount,
        lines=tuple(
            replace(line, key=word, supplier=word, cost=number, why=word, slots=(word,), hours=number,
                    priced=date(1987, 6, 5), price_age_days=8765, stale=True, place=Place(word, 4321))
            for line in QUOTE.lines
        ),
        allowances=tuple(
            replace(one, slot=word, word=word, part=word, chance_why=word, place=Place(word, 4321),
                    likely_more=changed(one.likely_more), worst_more=changed(one.worst_more))
            for one in QUOTE.allowances
        ),
        options=tuple(replace(one, more=changed(one.more)) for one in QUOTE.options),
        after=replace(QUOTE.after, expected_net=number, worst_net=number, expected_cost=number, worst_cost=number,
                      unlikely=0.4321),
        margin=Margin(number, number, number, number, number, number, (KindMargin("parts", number, number),)),
        schedule=replace(QUOTE.schedule, longest=word, hours=number, days=4321, bench_free=date(1987, 6, 5),
                         begins=date(1987, 6, 5)),
    )  # fmt: skip


# The customer's document


def test_the_customer_reads_the_whole_offer() -> None:
    text = customer_text(QUOTE)
    for words in (
        "Estimate", "Q-27-001", "2: rings added", "1 February 2027", "3 March 2027", "Invented Engines", "A. Racer",
        "New small engine", "All amounts in USD", "Piston set P-1 1 set 950.00 6.5 % 950.00",
        "R-2 · 2 left over, yours", "2 pack of 4 88.50 10 % 6.5 % 159.30", "Sum of Parts 1,109.30",
        "Tax 6.5 % of 1,109.30, code S: goods 72.10", "Tax 0 % of 1,750.00, code O: labour stated apart 0.00",
        "Total with tax USD 2,931.40", "refunded if these are back unbroken by 2 April 2027 40.00",
        "Deposit with the order 1,465.70", "Balance before the engine leaves 1,465.70",
        "Crank (C-9) customer's grade B, polished once", "Block 18 % hone, rings +255.60 a new block +3,141.75",
        "expected with these: USD 2,977.01; at the worst: USD 6,072.81", "coated pistons crowns coated +298.20",
        "Parts here by 1 March 2027, ready by 4 March 2027", "USD 480.00 is owed", "carburetor", "ignition",
        "Clearances and the build sheet", "Warranty. None on parts in racing use", TAX_DUTY, *CAUTIONS,
        "Accepted: Q-27-001, revision 2", "For Invented Engines", "Signature", "Page 1 of 2",
    ):  # fmt: skip
        assert words in text


def test_a_discount_has_its_column_only_where_there_is_one() -> None:
    plain = replace(QUOTE, lines=tuple(replace(line, discount=Decimal(0)) for line in QUOTE.lines))
    assert "Discount" in customer_text(QUOTE)
    assert "Discount" not in customer_text(plain)


def test_taxes_of_one_rate_are_told_apart_by_their_codes() -> None:
    exempt = replace(QUOTE.lines[3], tax=Tax("E", Decimal(0)))
    lines = (*QUOTE.lines[:3], exempt)
    text = customer_text(replace(QUOTE, lines=lines, totals=totals_of(((one.net, one.tax) for one in lines), "USD")))
    assert "18 h 95.00 0 % O 1,710.00" in text
    assert "1 piece 40.00 0 % E 40.00" in text
    assert "88.50 10 % 6.5 % 159.30" in text


def test_an_option_that_is_taken_is_included() -> None:
    taken = replace(QUOTE, options=(replace(QUOTE.options[0], taken=True),))
    text = customer_text(taken)
    assert "crowns coated included" in text
    assert "298.20" not in text


def test_a_fixed_price_says_that_it_holds_and_names_no_extra_amounts() -> None:
    text = customer_text(replace(QUOTE, basis="fixed"))
    assert "Quote" in text
    assert "Fixed price: what tear-down shows does not change it." in text
    assert "Estimate" not in text
    assert "3,141.75" not in text


def test_an_estimate_names_tear_down_only_where_it_may_show_something() -> None:
    assert "Estimate: tear-down may change it, see below." in customer_text(QUOTE)
    text = customer_text(replace(QUOTE, allowances=()))
    assert "Estimate: the price may still change." in text
    assert "tear-down may change" not in text
    assert "expected" not in text.lower()


def test_a_draft_is_marked_on_every_page_and_has_no_place_to_sign() -> None:
    draft = replace(long_quote(), revision=0)
    pages = [page.extract_text() for page in read(customer_pdf(customer_copy(draft))).pages]
    assert all("Draft, not yet issued" in page for page in pages)
    assert "Signature" not in pages[-1]
    assert "Draft" not in customer_text(QUOTE)


def test_invented_data_is_named_on_every_page() -> None:
    pages = [page.extract_text() for page in read(customer_pdf(customer_copy(long_quote()))).pages]
    assert all("All data is invented" in page for page in pages)
    assert "invented" not in customer_text(replace(QUOTE, invented=False, customer=Party("A. Racer")))


def test_a_page_that_follows_says_of_what_it_is() -> None:
    first, *others = [page.extract_text() for page in read(customer_pdf(customer_copy(long_quote()))).pages]
    assert "Estimate Q-27-118, revision 4" not in first
    assert all("Estimate Q-27-118, revision 4" in page for page in others)
    assert f"Page 2 of {len(others) + 1}" in others[0]


@pytest.mark.parametrize("quote", [QUOTE, replace(QUOTE, basis="fixed"), long_quote()], ids=["small", "fixed", "long"])
def test_nothing_is_called_safe_or_legal(quote: Quote) -> None:
    text = (customer_text(quote) + text_of(shop_pdf(quote))).lower()
    assert [word for word in ("safe", "legal") if word in text] == []


# What the customer must not see


def test_the_customers_document_does_not_change_with_what_the_shop_keeps_to_itself() -> None:
    assert customer_pdf(customer_copy(secretive("Zxqvwk", "8642.97"))) == customer_pdf(customer_copy(QUOTE))


def test_nothing_of_the_shop_is_anywhere_in_the_customers_file() -> None:
    pdf = customer_pdf(customer_copy(secretive("Zxqvwk", "8642.97")))
    text, raw = text_of(pdf), all_bytes(pdf)
    for secret in ("Zxqvwk", "8642.97", "8,642.97", "4,321", "1987"):
        assert secret not in text
        assert secret.encode() not in raw
        assert secret.encode("utf-16-be") not in raw
    assert [word for word in ("margin", "mark-up", "cost", "earned", "supplier", "floor") if word in text.lower()] == []


def test_the_shops_own_sheet_has_all_of_it() -> None:
    text = text_of(shop_pdf(secretive("Zxqvwk", "8642.97")))
    assert "Zxqvwk" in text
    assert "8,642.97" in text


def test_the_file_carries_its_title_and_the_shop_and_nothing_else() -> None:
    pdf = customer_pdf(customer_copy(QUOTE))
    said = about(pdf)
    assert said.pop("/Creator").startswith("Typst")
    assert said == {"/Title": "Quote Q-27-001, revision 2", "/Author": "Invented Engines"}
    assert read(pdf).attachments == {}


def test_nothing_in_the_file_runs_or_leads_elsewhere() -> None:
    raw = all_bytes(customer_pdf(customer_copy(long_quote())))
    doors = (b"/JavaScript", b"/OpenAction", b"/AA", b"/Launch", b"/EmbeddedFile", b"/URI", b"/tmp", b"/home", b".typ")
    assert [door for door in doors if door in raw] == []


# Texts and figures

HOSTILE = (
    '#panic("x")',
    "$ sum_(i=0)^n $",
    "*bold* _it_ `raw` ~ -- ...",
    "\\u{41} \\ \\n",
    "<script>alert(1)</script> &amp; <label> @ref",
    "\"quoted\" 'single' {x} [y] // z /* w */",
    "= head + item - item / term: x",
    '{"data": null}',
)


@pytest.mark.parametrize("text", HOSTILE)
def test_markup_in_a_name_is_shown_as_text(text: str) -> None:
    quote = everywhere(text)
    found = customer_text(quote)
    assert found.count(" ".join(text.split())) >= 12


def everywhere(text: str) -> Quote:
    """The small quote with a text in every place that takes one and is shown to the customer."""
    party, line = Party(text, (text,)), replace(QUOTE.lines[0], heading=text, name=text, part=text)
    return replace(
        QUOTE,
        number="Q", reason=text, title=text, shop=party, customer=party, lines=(line, *QUOTE.lines[1:]),
        supplied=(replace(QUOTE.supplied[0], name=text, part="", condition=text, note=text),),
        allowances=(replace(QUOTE.allowances[0], name=text, likely=text, worst=text),),
        options=(replace(QUOTE.options[0], name=text, says=text),),
        terms=(Term(text, text),), excluded=(text,), notes=(text,), tax_notes=((TAXED, text),),
    )  # fmt: skip


@pytest.mark.parametrize("sign", ["\x00", "\x1b", "\x7f", "\u202e", "\u200f", "\ufeff", "\ud800", "\uffff"])
def test_what_would_steer_the_text_unseen_is_shown_as_a_mark(sign: str) -> None:
    assert "Price 10\ufffd01 net" in customer_text(everywhere(f"Price 10{sign}01 net"))


def test_breaks_of_lines_in_a_name_are_spaces() -> None:
    assert "Piston kit with rings" in customer_text(everywhere("Piston kit\r\nwith\u2028rings\t"))


@pytest.mark.parametrize("text", ["x" * 4000, "word " * 800, "9" * 4000], ids=["one word", "words", "digits"])
def test_a_name_of_thousands_of_characters_goes_on_over_the_pages_and_hides_nothing(text: str) -> None:
    line = replace(QUOTE.lines[0], name=text)
    pdf = customer_pdf(customer_copy(replace(QUOTE, lines=(*QUOTE.lines[1:], line))))
    found = text_of(pdf)
    assert max(len(row) for page in read(pdf).pages for row in page.extract_text().splitlines()) < 130
    assert sum(found.count(sign) for sign in set(text) - {" "}) >= len(text.replace(" ", ""))
    assert "Total with tax USD 2,931.40" in found


def test_names_of_all_europe_are_set() -> None:
    assert "Łódź Ångström Ωmega Жук Đorđe ½ ⅞ ≥ µ" in customer_text(everywhere("Łódź Ångström Ωmega Жук Đorđe ½ ⅞ ≥ µ"))


def test_a_script_that_the_font_lacks_leaves_boxes_and_the_rest_stands() -> None:
    pdf = customer_pdf(customer_copy(everywhere("活塞 piston")))
    assert "\x00\x00 piston" in text_of(pdf)
    assert about(pdf)["/Author"] == "活塞 piston"


@pytest.mark.parametrize(
    ("currency", "width", "shown"), [("USD", 612, "950.00"), ("EUR", 595, "950.00"), ("JPY", 595, "950 ")]
)
def test_paper_and_digits_go_by_the_currency(currency: str, width: int, shown: str) -> None:
    pdf = customer_pdf(customer_copy(replace(QUOTE, currency=currency)))
    assert round(float(read(pdf).pages[0].mediabox.width)) == width
    assert shown in text_of(pdf)


@pytest.mark.parametrize(("paper", "width"), [("a4", 595), ("us-letter", 612)])
def test_paper_can_be_named(paper: Paper, width: int) -> None:
    assert round(float(read(customer_pdf(customer_copy(QUOTE), paper)).pages[0].mediabox.width)) == width
    assert round(float(read(shop_pdf(QUOTE, paper)).pages[0].mediabox.height)) == width


# The shop's sheet


def test_the_shop_reads_what_each_line_costs_and_earns_and_why_it_is_there() -> None:
    text = text_of(shop_pdf(QUOTE))
    for words in (
        "P-1 · Dorrow · parts · price of 11 January 2027, 21 days old", "slot pistons of the build",
        "1 set 950.00 6.5 % 950.00 760.00 190.00 20.0 %", "365 days old · old price",
        "1 old price, to be asked for anew: R-2 (Dorrow).", "Margin, of the price 35.6 %",
        "Mark-up, on the cost 55.2 %", "a mark-up of 25 % is a margin of 20 %", "Target margin 35.0 %",
        "Floor: the net that has it 2,793.85", "Above the floor by 25.45", "labour 1,710.00 936.00 774.00 45.3 %",
        f"expected 2,902.50 {QUOTE.after.expected_cost:,}", f"at the worst 5,809.30 {QUOTE.after.worst_cost:,}",
        f"Earned at the worst: {QUOTE.left_at_worst:,}", "by its assumed life (assumed)",
        "hone, rings 240.00 180.00", "coated pistons crowns coated no +280.00 +298.20 +224.00", "Hours quoted 18 h",
        "1 March 2027, waiting longest for P-1", "18 h in 3 working days", "block: life has no source",
    ):  # fmt: skip
        assert words in text


def test_a_net_below_the_floor_is_said_so() -> None:
    low = replace(QUOTE, margin=replace(QUOTE.margin, floor=money("3000.00")))
    assert "Below the floor by 180.70" in text_of(shop_pdf(low))


def test_no_share_is_made_up_where_there_is_nothing_to_share() -> None:
    nothing = Decimal(0)
    free = replace(QUOTE, margin=Margin(nothing, nothing, None, None, money("0.35"), nothing, ()))
    assert "Margin, of the price none Mark-up, on the cost none" in text_of(shop_pdf(free))


def test_every_page_for_the_shop_says_so() -> None:
    for quote in (QUOTE, long_quote()):
        assert all(SHOP_ONLY in page.extract_text() for page in read(shop_pdf(quote)).pages)
    assert SHOP_ONLY not in customer_text(QUOTE)


# The file


@pytest.mark.parametrize("quote", [QUOTE, long_quote()], ids=["small", "long"])
def test_the_same_quote_gives_the_same_bytes(quote: Quote) -> None:
    assert customer_pdf(customer_copy(quote)) == customer_pdf(customer_copy(quote))
    assert shop_pdf(quote) == shop_pdf(quote)


def test_the_fonts_are_ours_alone_and_embedded() -> None:
    for pdf in (customer_pdf(customer_copy(everywhere("Ω Ж 活塞 \U0001f3c1"))), shop_pdf(QUOTE)):
        found = [one for one in objects_of(pdf) if isinstance(one, DictionaryObject)]
        fonts = [one for one in found if one.get("/Type") == "/FontDescriptor"]
        assert {str(one["/FontName"]).partition("+")[2] for one in fonts} == FONTS
        assert all({"/FontFile2", "/FontFile3"} & set(one) for one in fonts)


def test_a_quote_of_which_nothing_is_filled_in_is_printed() -> None:
    empty = replace(
        QUOTE, number="", reason="", title="", shop=Party(""), customer=Party(""), lines=(), supplied=(), allowances=(),
        options=(), totals=totals_of((), "USD"), tax_notes=(), core=Decimal(0), core_by=None, if_stopped=Decimal(0),
        terms=(), excluded=(), notes=(), assumed=(),
    )  # fmt: skip
    assert "Total with tax USD 0.00" in customer_text(empty)
    assert "Total with tax USD 0.00" in text_of(shop_pdf(empty))


def test_the_file_is_tagged_for_those_to_whom_it_is_read_out_and_says_its_language() -> None:
    pdf = customer_pdf(customer_copy(QUOTE))
    assert b"pdfuaid" in all_bytes(pdf)
    catalog: Any = read(pdf).trailer["/Root"]
    assert catalog["/Lang"] == "en"
    assert catalog["/MarkInfo"]["/Marked"]
    assert catalog["/ViewerPreferences"]["/DisplayDocTitle"]


def test_a_quote_of_two_thousand_lines_is_printed() -> None:
    lines = tuple(replace(QUOTE.lines[0], heading=f"Group {at // 200}", name=f"Piece {at}") for at in range(2000))
    pages = read(customer_pdf(customer_copy(replace(QUOTE, lines=lines)))).pages
    assert 40 < len(pages) < 100
    assert "Piece 1999" in "".join(page.extract_text() for page in pages[-3:])
