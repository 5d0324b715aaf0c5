"""What the pages of `costplan choose` say of what was found, from answers written by hand."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from decimal import Decimal

import pytest

from costplan.build import Bill
from costplan.build.airflow import Breathing, Restriction
from costplan.choose import (
    AIMS,
    Change,
    Chosen,
    Conflict,
    Culprit,
    Frontier,
    Ground,
    Never,
    Option,
    Played,
    Point,
    Proof,
    Ranked,
    Replayed,
    Sizes,
    Step,
    Substitute,
    Swap,
    Swaps,
    Told,
    Wishes,
)
from costplan.choose.swapping import Buys
from costplan.problems import Place
from costplan.quantity import Quantity
from costplan.report.choose import (
    About,
    Asked,
    Drawn,
    best_page,
    conflict_page,
    frontier_csv,
    frontier_page,
    instead_csv,
    instead_page,
    options_csv,
    options_page,
    unfound_page,
)
from costplan.report.tables import Page
from costplan.season.drawn.figures import Count, Mean

DAY = date(2027, 5, 1)
ABOUT = About("by hand", False, "EUR", "kW", Wishes(DAY))
PLACE = Place("parts.csv", 3)
SIZES = Sizes(4, 20, 12, 2.4, 3, 1)
PROVED = Proof("optimal", 100_000, 100_000, 0.0, True, 1, 0.4)


#: An intake of which the heads decide.
HEADS = Breathing(
    "dry air",
    "kW",
    0.02,
    (Restriction("heads", "H", Quantity(4.0, "cm2"), 0.62, Quantity(1.0, "kW"), False, PLACE),),
    "heads",
    peak=Quantity(300.0, "kW"),
    error=Quantity(4.0, "kW"),
)


def bill_at(price: str) -> Bill:
    return Bill((), "EUR", DAY, None, Decimal(price), Decimal("40.00"), 14, DAY)


def option(price: str, power: float | None = None, per_season: str | None = "50.00", events: float = 6.0) -> Option:
    """A bill without lines, its error of power 4 kW."""
    season, error = (None if per_season is None else Decimal(per_season)), None if power is None else 4.0
    return Option((), bill_at(price), (), Decimal(price), season, power, error, events)


def told(*changes: Change) -> Told:
    return Told(Decimal("1100.00"), changes, (), HEADS, (), (), (), SIZES)


def text(page: Page) -> str:
    """All that stands on a page, its lines joined."""
    passages = [line for one in page.passages for _, line in one.lines]
    cells = [" ".join(cell for row in table.rows for cell in row) for table in page.tables]
    titles = [f"{table.title} {table.note}" for table in page.tables]
    return " ".join((page.title, *page.lines, *passages, *cells, *titles, *page.foot))


def best_text(proof: Proof, aim: str = "price", ranked: tuple[Ranked, ...] = (), seasons: int = 400) -> str:
    chosen = Chosen(option("1000.00", 300.0), proof)
    change = Change("rods", "A-ROD", "B-ROD", "Rod", "apart", Decimal("300.00"), Decimal("200.00"))
    return text(best_page(ABOUT, AIMS[aim], chosen, told(change), ranked, Drawn(seasons, 1, True)))


# The best bill


def test_what_is_proved_is_said_to_be_and_what_is_not_has_its_gap() -> None:
    proved = best_text(PROVED)
    assert "Lowest price: 1,000.00 EUR, proved: no bill that meets them does better." in proved
    found = best_text(replace(PROVED, status="best found", bound=90_000, gap=0.1, tie_proved=False))
    assert "not proved: the best there is may be up to 10% better" in found
    assert "proved: no bill" not in found
    assert "Of bills as good" in proved
    assert "Of bills as good" not in found


def test_a_bill_stands_beside_the_build_as_planned() -> None:
    page = best_text(PROVED)
    assert "It comes to 1,000.00; the build as planned, all new, to 1,100.00: 100.00 less, 1 slot changed." in page
    assert "rods A-ROD B-ROD" in page
    assert "300.00 200.00 -100.00" in page


@pytest.mark.parametrize(
    ("aim", "says"),
    [
        ("season", "Lowest cost of parts a season: 50.00 EUR"),
        ("power", "Most estimated power: estimated 300 +/- 4 kW"),
        ("interval", "Longest interval: 6 events"),
    ],
)
def test_each_aim_has_its_own_value(aim: str, says: str) -> None:
    assert says in best_text(PROVED, aim)


def mean(value: str, error: str) -> Mean:
    return Mean(Decimal(value), Decimal(error))


def ranked(by_sum: int, by_machine: int, more: str, error: str, seasons: int = 400) -> Ranked:
    nothing = Count(0.0, 0.0, 0.0, 0.0, 0.0)
    played = Played(mean("80", "1"), mean("900", "5"), mean(more, error), mean(more, error), nothing, nothing, seasons)
    return Ranked(option("1000.00"), by_sum, by_machine, Replayed(played), (("rods", "A", "B"),) * (by_sum > 1))


@pytest.mark.parametrize(
    ("more", "error", "apart"),
    [("-30", "5", False), ("-30", "20", True)],
)
def test_the_machine_tells_two_bills_apart_only_beyond_the_error_of_their_difference(
    more: str, error: str, apart: bool
) -> None:
    page = best_text(PROVED, "season", (ranked(1, 2, "0", "0"), ranked(2, 1, more, error)))
    assert f"By the machine number 2 is cheapest, by 30 (+/- {error}) a season" in page
    assert ("not more than their errors separates the two" in page) is apart
    assert ("not told apart" in page) is apart


def test_a_plan_alone_has_no_errors() -> None:
    page = best_text(PROVED, "season", (ranked(1, 1, "0", "0", 0), ranked(2, 2, "30", "0", 0)), seasons=0)
    assert "By the plan, in which nothing is drawn. The machine puts the same bill first." in page
    assert "not told apart" not in page
    assert "standard error" not in page


def test_a_bill_that_no_season_can_be_played_with_says_so() -> None:
    lost = Ranked(option("1000.00"), 2, None, Replayed(None, ()), ())
    assert "cannot be played" in best_text(PROVED, "season", (ranked(1, 1, "0", "0"), lost))


# Why nothing is possible

CLAUSE = Ground("clause", "T1", "Heads are as cast.", "rules.toml:7", "5 heads, page 15")
BUDGET = Ground("budget", "budget", "at most 900 EUR")


def test_a_conflict_names_clause_place_slots_and_what_there_is_without_each() -> None:
    members = (
        Culprit(CLAUSE, ("heads",), (("heads", 1, 4),), False, None),
        Culprit(BUDGET, (), (), True, Decimal("1000.00")),
    )
    page = text(conflict_page(ABOUT, Conflict(members, True, 1.0), "Why"))
    assert "No bill keeps both of these." in page
    assert "proved that no fewer" in page
    assert (
        "1. Clause T1: Heads are as cast. (5 heads, page 15; rules.toml:7) By itself it leaves heads: 1 of 4." in page
    )
    assert "Without it alone: still nothing" in page
    assert "2. Wish: at most 900 EUR Without it: the cheapest bill is 1,000.00." in page


def test_a_conflict_that_is_not_proved_smallest_says_so() -> None:
    members = (Culprit(CLAUSE, ("heads",), (), True, Decimal(1)), Culprit(BUDGET, (), (), True, Decimal(2)))
    assert "it was not proved that no fewer" in text(conflict_page(ABOUT, Conflict(members, False, 1.0), "Why"))


def test_of_many_slots_those_are_named_that_have_least_left() -> None:
    left = tuple((f"slot{number}", number, 9) for number in range(8))
    late = Culprit(Ground("lead", "", "here by then"), (), left, True, Decimal(1))
    page = text(conflict_page(ABOUT, Conflict((late,), True, 1.0), "Why"))
    assert "No bill keeps this, whatever else gives way." in page
    assert "slot0: 0 of 9" in page
    assert "slot7" not in page
    assert "and fewer than all in 2 slots more" in page


def test_what_was_not_found_in_time_is_not_said_to_be_impossible() -> None:
    page = text(unfound_page(ABOUT, 2.0))
    assert "In 2 s no bill was found that meets everything, nor is it proved that there is none." in page


# The frontier


def step(costs: str, more: float, since: float, *, certain: bool) -> Step:
    return Step((("carburetor", "C1", "C2"),), Decimal(costs), more, since, Decimal("1.00"), certain)


def points(*steps: Step) -> tuple[Point, ...]:
    found, price, power = [Point(option("1000.00", 300.0), True, None)], Decimal(1000), 300.0
    for one in steps:
        price, power = price + one.costs, power + (one.more_power or 0.0)
        found.append(Point(option(f"{price}", power), True, one))
    return tuple(found)


def test_where_no_step_is_certain_nothing_certain_is_bought_beyond_the_cheapest() -> None:
    found = Frontier("power", points(step("50", 1.5, 1.5, certain=False)), True, 1.0, None)
    page = text(frontier_page(ABOUT, found, HEADS))
    assert "What decides it: heads (H), 62% of the resistance of the intake." in page
    assert "No bill here is sure to give more power than the cheapest" in page
    assert "estimated at +1.5 kW, with an error of 4 kW either way" in page
    assert "nothing certain" in page


def test_from_the_last_certain_step_on_more_money_buys_nothing_certain() -> None:
    steps = (step("50", 9.0, 9.0, certain=True), step("70", 1.0, 10.0, certain=False))
    found = Frontier("power", points(*steps), True, 1.0, Decimal(1050))
    page = frontier_page(ABOUT, found, HEADS)
    assert "From 1,050 on, more money buys no power beyond the estimate's error." in page.lines
    assert [row[-1] for row in page.tables[1].rows] == ["more power", "nothing certain"]
    assert page.passages[0].title.startswith("Estimated power kW over price")
    certain = Frontier("power", points(steps[0]), True, 1.0, Decimal(1050))
    assert "Up to the last point there is power to be bought" in text(frontier_page(ABOUT, certain, HEADS))


def test_a_frontier_of_one_bill_and_one_that_was_stopped_say_so() -> None:
    alone = Frontier("season", points(), True, 1.0, None)
    assert "One bill is both the cheapest and the best" in text(frontier_page(ABOUT, alone, None))
    stopped = Frontier("season", points(step("50", 1.0, 1.0, certain=True)), False, 1.0, None, interrupted=True)
    assert "Stopped before all points were found" in text(frontier_page(ABOUT, stopped, None))
    late = replace(stopped, interrupted=False)
    assert "Not all points were found in the time" in text(frontier_page(ABOUT, late, None))


def test_the_points_as_csv_have_a_row_each_with_the_step_that_leads_there() -> None:
    found = Frontier("power", points(step("50", 1.5, 1.5, certain=False)), True, 1.0, None)
    header, first, second = frontier_csv(found).splitlines()
    assert header.split(",")[:2] == ["price", "power_kW"]
    assert first.startswith("1000.00,300.0,4.0,50.00,6.0,True,,")
    assert second.endswith("carburetor: C1 > C2,50,1.5,1.5,1.00,False")


# Options and substitutes


def swap(part: str, costs: str, more: float, less: str, events: float = 0.0, **other: str) -> Swap:
    """A camshaft in place of C1, its error of power 4 kW; `other`: what must change with it."""
    buys: Buys = "nothing certain" if abs(more) <= 4 else "more power" if more > 0 else "less power"
    along = tuple((slot, "X", after) for slot, after in other.items())
    bill = option("1", 300.0)
    return Swap("camshaft", part, "Cam", "C1", along, Decimal(costs), more, 4.0, Decimal(less), events, 10, buys, bill)


def swaps(*found: Swap, never: tuple[Never, ...] = ()) -> Swaps:
    start = replace(option("1000.00", 300.0), lines=())
    return Swaps(start, found, (), never, ())


def better(page: Page) -> dict[str, str]:
    return {row[0].split("\n")[0].strip(): row[-1] for row in page.tables[0].rows if row[-1]}


def test_each_option_says_what_it_is_better_in_and_power_only_beyond_the_error() -> None:
    found = swaps(
        swap("dear", "90", 1.0, "0"),
        swap("strong", "90", 9.0, "0"),
        swap("cheap", "-20", -9.0, "3.00"),
        swap("lasting", "30", 0.0, "-1.00", 2.0),
        swap("bad", "30", 0.0, "-1.00"),
    )
    page = options_page(ABOUT, found, told())
    assert better(page) == {
        "dear": "nothing certain",
        "strong": "power",
        "cheap": "price, season, but less power",
        "lasting": "interval",
        "bad": "nothing",
    }
    assert "From the build as planned, which meets them: 1,000.00 all new." in page.lines
    assert "5 other parts can be had: 1 makes the bill cheaper, 4 dearer." in page.lines
    assert "More power than the estimate's error: strong in camshaft (+9.0 kW)." in page.lines


def test_where_none_gives_more_power_that_is_the_answer() -> None:
    page = text(options_page(ABOUT, swaps(swap("dear", "90", 1.0, "0")), told()))
    assert "None gives more power than the estimate's error" in page


def test_a_dearer_part_that_makes_the_season_cheaper_is_named() -> None:
    page = text(options_page(ABOUT, swaps(swap("dear", "90", 1.0, "12.50")), told()))
    assert "1 dearer part costs less a season; most saves dear in camshaft: 90 more now, 12.50 less a season." in page


def test_what_must_change_along_stands_below_the_part_and_what_puts_a_part_out_beside_it() -> None:
    never = (Never("camshaft", "gone", (CLAUSE, Ground("fit", "gear", "wears out", "pattern.toml:9"))),)
    page = options_page(ABOUT, swaps(swap("dear", "90", 1.0, "0", gear="G2"), never=never), told())
    assert page.tables[0].rows[1][0] == "  dear\n  + gear: G2"
    why = "T1: Heads are as cast. (rules.toml:7)\ngear: wears out (pattern.toml:9)"
    assert page.tables[1].rows == (("camshaft: gone", why),)


def test_what_was_changed_to_begin_with_and_what_was_not_reached_is_said() -> None:
    change = Change("rods", "A", "B", "Rod", "apart", Decimal(3), Decimal(2))
    found = replace(swaps(swap("dear", "90", 1.0, "0")), unproved=("camshaft: dear",), interrupted=True)
    page = text(options_page(ABOUT, found, replace(told(change), breathing=None, kept=("rods",))))
    assert "with the fewest changes that meet fits, book and wishes (rods: A -> B): 1,000.00." in page
    assert "Not proved in the time, a better way may be there: camshaft: dear" in page
    assert "Stopped before all parts were tried" in page
    assert "Power is not estimated: the pattern has no [airflow]." in page
    assert "Nothing cheaper than planned in rods: positions.csv has them not stretched" in page
    assert options_csv(found).splitlines()[1].startswith("camshaft,dear,Cam,C1,,90,1.0,4.0,0,0.0,10,")


def test_substitutes_stand_in_the_order_of_their_seasons_with_the_error_of_the_difference() -> None:
    rows = (("near", ranked(2, 1, "3", "5")), ("dear", ranked(2, 2, "90", "5")))
    found = [Substitute(swap(name, "40", 0.0, "0"), one.replayed) for name, one in rows]
    asked = Asked("camshaft", "C1", 400, 1)
    page = instead_page(ABOUT, asked, swaps(*(one.swap for one in found)), found, told())
    assert page.title == "In place of C1 in camshaft: by hand"
    assert [row[0] for row in page.tables[0].rows] == ["near", "dear"]
    assert [row[3:] for row in page.tables[1].rows] == [("+3", "5", "not told apart"), ("+90", "5", "")]
    assert instead_csv(found).splitlines()[2].endswith(",900,5,90,5")
    assert "C1 is in no bill that meets them, with it or without: nothing stands there" in text(page)
