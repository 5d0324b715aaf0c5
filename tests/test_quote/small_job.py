"""A small job written by hand, for tests: a shop book, two revisions of a quote, and the rows of a jobs.csv.

Revision 1 sells, before tax, without the deposit on the old pistons:

    part/P-1 pistons    1 set     950.00   cost 760.00   10 %      work/strip    4 h x 90   360.00   cost 200.00
    part/R-2 rings      2 packs   177.00   cost 120.00   10 %      work/build   10 h x 90   900.00   cost 500.00
    freight             1 job      50.00   cost  50.00   10 %      work/seats    6 h x 100  600.00   cost 360.00
    extra/old carb     -1        -100.00   cost -80.00             work/balance  1 job      240.00   cost 200.00

3177.00 net for 2110.00, 1067.00 earned; with the deposit of 40.00 and 10 % of 1177.00 that is 3334.70 with tax.
Revision 2 adds bearings for 130.00 (cost 100.00, 10 %) and two hours of build: 3487.00 net for 2310.00, 1177.00 earned,
3657.70 with tax.
"""

from __future__ import annotations

import shutil
from dataclasses import replace
from datetime import date
from decimal import Decimal
from pathlib import Path

from costplan.problems import Place
from costplan.quote import Asked, Quote, ShopBook
from costplan.quote.job import Job, JobRow, Standing, stand
from costplan.quote.job.rows import read_rows
from costplan.quote.records import KindMargin, Line, Margin
from costplan.quote.request import Request
from costplan.quote.revisions import FORM, Revision, file_of, to_text
from costplan.quote.shop import Charges, LabourRate, Markup, ShopHeader, TaxRow, Work
from costplan.quote.totals import Tax, totals_of
from tests.test_quote.small_quote import QUOTE, money

GOODS, FREE = Tax("S", Decimal(10)), Tax("O", Decimal(0))
HEADER = "job,date,what,revision,slot,part,work,quantity,hours,cost,amount,by,note\n"

BOOK = ShopBook(
    ShopHeader(
        shop="Invented Engines",
        target=Decimal("0.3"),
        markup=Markup(parts=Decimal("0.25")),
        charges=Charges(
            storage_a_day=Decimal(5), storage_after_days=30, late_a_month=Decimal("0.015"), late_after_days=14
        ),
    ),
    (
        LabourRate(name="bench", per_hour=Decimal(90), cost_per_hour=Decimal(50)),
        LabourRate(name="machine", per_hour=Decimal(100), cost_per_hour=Decimal(60)),
    ),
    (
        TaxRow(name="goods", kinds=("parts", "supplies", "freight"), percent="10 %"),
        TaxRow(name="work", kinds=("labour", "sublet", "fees", "core", "credit"), percent=0, code="O"),
    ),
    (),
    (),
    (),
    (
        Work(work="strip", rate="bench", hours=Decimal(4), if_stopped=True),
        Work(work="build", rate="bench", hours=Decimal(10), source="a guess"),
        Work(work="seats", rate="machine", hours=Decimal(3), per="piece", operations=("seat-work",)),
        Work(work="balance", kind="sublet", cost=Decimal(200)),
        Work(work="wash", rate="bench", hours=Decimal(1)),
    ),
    Place("shop.toml"),
)


def sold(key: str, kind: str, quantity: str, price: str, cost: str, tax: Tax, hours: str = "0", part: str = "") -> Line:
    """A line without discount."""
    net, name = money(quantity) * money(price), key.partition("/")[2] or key
    return Line(
        key, "Parts", kind, name, part, (), "", money(quantity), "h" if money(hours) else "set", money(price),  # type: ignore[arg-type]
        money("0"), net, tax, money(cost), hours=money(hours),
    )  # fmt: skip


FIRST = (
    sold("part/P-1", "parts", "1", "950.00", "760.00", GOODS, part="P-1"),
    sold("part/R-2", "parts", "2", "88.50", "120.00", GOODS, part="R-2"),
    sold("work/strip", "labour", "4", "90.00", "200.00", FREE, "4"),
    sold("work/build", "labour", "10", "90.00", "500.00", FREE, "10"),
    sold("work/seats/seat-work/head", "labour", "6", "100.00", "360.00", FREE, "6"),
    sold("work/balance", "sublet", "1", "240.00", "200.00", FREE),
    sold("core/P-1", "core", "1", "40.00", "40.00", FREE, part="P-1"),
    sold("extra/old carb", "credit", "-1", "100.00", "-80.00", FREE),
    sold("freight", "freight", "1", "50.00", "50.00", GOODS),
)
SECOND = (
    *FIRST[:3],
    sold("work/build", "labour", "12", "90.00", "600.00", FREE, "12"),
    *FIRST[4:],
    sold("part/B-3", "parts", "1", "130.00", "100.00", GOODS, part="B-3"),
)


def quoted(number: int, lines: tuple[Line, ...], on: date, reason: str) -> Quote:
    """A revision of some lines, with what follows from them."""
    totals = totals_of(((line.net, line.tax) for line in lines), "USD")
    own = [line for line in lines if line.kind != "core"]
    net, cost = (sum((getattr(line, name) for line in own), Decimal(0)) for name in ("net", "cost"))
    margin = Margin(
        net, cost, (net - cost) / net, (net - cost) / cost, Decimal("0.3"), cost / Decimal("0.7"), _kinds(own)
    )
    return replace(
        QUOTE,
        request="top",
        revision=number,
        reason=reason,
        on=on,
        valid_until=date(2027, 4, 1),
        lines=lines,
        totals=totals,
        discount=money("0.00"),
        margin=margin,
        core=money("40.00"),
        core_by=date(2027, 5, 31),
        deposit=totals.gross / 2,
        balance=totals.gross - totals.gross / 2,
        if_stopped=money("360.00"),
    )


def _kinds(lines: list[Line]) -> tuple[KindMargin, ...]:
    """The lines by kind."""
    kinds = dict.fromkeys(line.kind for line in lines)
    own = [(kind, [line for line in lines if line.kind == kind]) for kind in kinds]
    zero = Decimal(0)
    return tuple(
        KindMargin(kind, sum((one.net for one in some), zero), sum((one.cost for one in some), zero))
        for kind, some in own
    )


R1 = quoted(1, FIRST, date(2027, 2, 20), "as asked")
R2 = quoted(2, SECOND, date(2027, 3, 4), "bearings")

#: The whole job; what it comes to is worked out in `test_job_by_hand.py`.
ROWS = """\
top,2027-03-01,accepted,1,,,,,,,,A. Racer,
top,2027-03-01,paid,,,,,,,,1667.35,A. Racer,half
top,2027-03-02,received,,,,,,,,,,complete
top,2027-03-03,worked,,,,strip,,4.5,,,Ilka,
top,2027-03-03,found,,pump,,,,,,,Ilka,copper shows
top,2027-03-03,stopped,,,,,,,,,Ilka,bearings beyond the quote
top,2027-03-05,agreed,2,,,,,,,,A. Racer,
top,2027-03-08,used,,,P-1,,1,,,,,
top,2027-03-08,used,,,R-2,,1,,,,,one pack did
top,2027-03-08,used,,,B-3,,1,,115,,,dearer by now
top,2027-03-09,worked,,,,build,,13.5,,,Ilka,
top,2027-03-09,worked,,,,seats,,5.5,,,Odo,
top,2027-03-10,bought,,,,balance,,,210,,,
top,2027-03-10,bought,,,,,,,12.50,,,solvent
top,2027-03-11,bought,,,,freight,,,48,,,
top,2027-03-12,finished,,,,,,,,,Ilka,
top,2027-04-10,paid,,,,,,,,1000,A. Racer,
top,2027-04-25,delivered,,,,,,,,,A. Racer,
top,2027-05-01,returned,,,P-1,,,,,40,,
"""


def rows_of(text: str, folder: Path) -> tuple[JobRow, ...]:
    """The rows of a jobs.csv of this text, below its header."""
    path = folder / "jobs.csv"
    path.write_text(HEADER + text, encoding="utf-8")
    rows, problems = read_rows(path)
    assert problems == ()
    return rows


def job_of(text: str, folder: Path, *quotes: Quote) -> Job:
    """The job `top` of some rows, with both revisions saved if none are given."""
    return Job("top", rows_of(text, folder), {quote.revision: quote for quote in quotes or (R1, R2)})


def standing(text: str, folder: Path, on: str, *quotes: Quote) -> Standing:
    """The job on a day."""
    return stand(job_of(text, folder, *quotes), BOOK, "USD", date.fromisoformat(on))


def until(day: str, text: str = ROWS) -> str:
    """The rows up to a day."""
    return "".join(line for line in text.splitlines(keepends=True) if line.split(",")[1] <= day)


def save(folder: Path, *quotes: Quote) -> None:
    """Saves revisions in a folder, as `costplan quote save` does."""
    asked = Asked("top", Request(number="Q-27-001", title="Top", customer="A. Racer"), (), (), (), ())
    (folder / "quotes").mkdir(exist_ok=True)
    for quote in quotes or (R1, R2):
        file_of(folder, quote.request, quote.revision).write_text(to_text(Revision(FORM, quote, asked)), "utf-8")


SHOP = """\
shop = "Invented Engines"
invented = true
target = "30 %"
[markup]
parts = "25 %"
[charges]
storage_a_day = 5
late_a_month = "1.5 %"
late_after_days = 14
[[labour]]
name = "bench"
per_hour = 90
cost_per_hour = 50
[[labour]]
name = "machine"
per_hour = 100
cost_per_hour = 60
[[tax]]
name = "goods"
kinds = ["parts", "supplies", "freight"]
percent = "10 %"
[[tax]]
name = "work"
kinds = ["labour", "sublet", "fees", "core", "credit"]
percent = 0
code = "O"
"""
WORK = """\
work,kind,rate,hours,cost,per,slots,if_stopped,source
strip,,bench,4,,,,yes,
build,,bench,10,,,,,a guess
seats,,machine,3,,piece,piston,,
balance,sublet,,,200,,,,
wash,,bench,1,,,,,
"""
BASE = Path(__file__).parents[1] / "bad_inputs" / "base"


def make_shop(folder: Path, text: str | None = ROWS) -> Path:
    """A scenario's folder with the small job's book, its request `top`, two revisions, and the rows of its jobs.csv."""
    shutil.copytree(BASE, folder)
    for path in folder.glob("quote-*.toml"):
        path.unlink()
    shutil.rmtree(folder / "quotes", ignore_errors=True)
    for name, content in (("shop.toml", SHOP), ("work.csv", WORK)):
        (folder / name).write_text(content, encoding="utf-8")
    head = 'number = "Q-27-001"\ntitle = "Top"\ncustomer = "A. Racer"\nengine = "amber"\nlevel = "top"\n'
    (folder / "quote-top.toml").write_text(head, encoding="utf-8")
    save(folder, *(replace(quote, currency="EUR") for quote in (R1, R2)))
    if text is not None:
        (folder / "jobs.csv").write_text(HEADER + text, encoding="utf-8")
    return folder
