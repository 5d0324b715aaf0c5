"""A small quote written by hand, for tests of what is done with a finished one."""

from __future__ import annotations

from datetime import date
from decimal import Decimal

from costplan.quote.records import (
    AfterTearDown,
    Allowance,
    Change,
    Choice,
    KindMargin,
    Line,
    Margin,
    Party,
    Quote,
    Schedule,
    Supplied,
    Term,
)
from costplan.quote.totals import Tax, totals_of

TAXED, FREE = Tax("S", Decimal("6.5")), Tax("O", Decimal(0))


def money(text: str) -> Decimal:
    return Decimal(text)


LINES = (
    Line("part/P-1", "Parts", "parts", "Piston set", "P-1", ("pistons",), "Dorrow", money("1"), "set", money("950.00"),
         money("0"), money("950.00"), TAXED, money("760.00"), priced=date(2027, 1, 11), price_age_days=21,
         why="slot pistons of the build"),
    Line("part/R-2", "Parts", "parts", "Ring set", "R-2", ("rings",), "Dorrow", money("2"), "pack of 4", money("88.50"),
         money("0.1"), money("159.30"), TAXED, money("120.00"), spare=2, priced=date(2026, 2, 1), price_age_days=365,
         stale=True, why="slot rings of the build"),
    Line("work/assembly", "Assembly", "labour", "Long block assembled", "", (), "", money("18"), "h", money("95.00"),
         money("0"), money("1710.00"), FREE, money("936.00"), hours=money("18"), why="every new engine"),
    Line("core/P-1", "Deposits on old pieces", "core", "Deposit on Piston set", "P-1", ("pistons",), "Dorrow",
         money("1"), "piece", money("40.00"), money("0"), money("40.00"), FREE, money("40.00"),
         why="core charge of P-1"),
)  # fmt: skip
TOTALS = totals_of(((line.net, line.tax) for line in LINES), "USD")

QUOTE = Quote(
    number="Q-27-001",
    request="small",
    revision=2,
    reason="rings added",
    title="New small engine",
    of="new engine",
    engine="",
    level="",
    basis="estimate",
    on=date(2027, 2, 1),
    valid_until=date(2027, 3, 3),
    currency="USD",
    invented=True,
    shop=Party("Invented Engines", ("1 Nowhere Lane", "Inventown")),
    customer=Party("A. Racer (invented)", ("2 Nowhere Lane",)),
    lines=LINES,
    supplied=(Supplied("crank", "C-9", "Crank", "customer's", "grade B, polished once", "measured on receipt"),),
    allowances=(
        Allowance("block", "block", "B-1", "Block", 0.18, "by its assumed life", True, "hone, rings",
                  Change(money("240.00"), money("255.60"), money("180.00")), "a new block",
                  Change(money("2950.00"), money("3141.75"), money("2360.00"))),
    ),
    options=(
        Choice("coated pistons", "crowns coated", False, Change(money("280.00"), money("298.20"), money("224.00"))),
    ),
    totals=TOTALS,
    discount=money("0"),
    tax_notes=((TAXED, "goods"), (FREE, "labour stated apart")),
    after=AfterTearDown(money("2902.50"), money("2977.01"), money("5809.30"), money("6072.81"), money("1848.40"),
                        money("4176.00"), 0.18, money("40.00")),
    margin=Margin(money("2819.30"), money("1816.00"), money("0.35587"), money("0.55248"), money("0.35"),
                  money("2793.85"), (KindMargin("parts", money("1109.30"), money("880.00")),
                                     KindMargin("labour", money("1710.00"), money("936.00")))),
    core=money("40.00"),
    core_by=date(2027, 4, 2),
    deposit=money("1465.70"),
    balance=money("1465.70"),
    schedule=Schedule(date(2027, 2, 1), date(2027, 3, 1), "P-1", date(2027, 3, 1), date(2027, 3, 1), money("18"), 3,
                      date(2027, 3, 4)),
    terms=(
        Term("Deposit", "Half with the order; the balance before the engine leaves the shop."),
        Term("Warranty", "None on parts in racing use, expressed or implied."),
    ),
    excluded=("carburetor", "ignition"),
    notes=("Clearances and the build sheet come with the engine.",),
    if_stopped=money("480.00"),
    assumed=("block: life has no source",),
)  # fmt: skip
