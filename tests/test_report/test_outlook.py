"""Pages of drawn seasons: what a sentence says for which figures, and what a band looks like."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta
from decimal import Decimal

import pytest

from costplan.problems import NOWHERE
from costplan.report.chart import band_chart
from costplan.report.compare import compare_csv, compare_page, exact
from costplan.report.figures import (
    bare,
    chance,
    count_cells,
    counted,
    errors,
    rests_on,
    signed,
    spread_cells,
    three_cells,
)
from costplan.report.tables import Page
from costplan.report.whatif import affordable_page, struck_page
from costplan.season.bills import CaseBill
from costplan.season.drawn.comparing import (
    BreakEven,
    CauseDifference,
    Comparison,
    Difference,
    Side,
    Tried,
)
from costplan.season.drawn.figures import Chance, Count, CountDifference, Paired, Spread
from costplan.season.drawn.whatif import Affordable, CaseOutcome, Reached, Struck


def spread(p10: str, p50: str, p90: str) -> Spread:
    one = Decimal(1)
    return Spread(Decimal(p50), one, Decimal(p10), one, Decimal(p50), one, Decimal(p90), one)


def pair(mean: str, low: str, high: str, cheaper: float = 0.25, alike: float = 0.0) -> Paired:
    """A difference; its percentiles are the ends of its interval."""
    middle, lower, upper = (Decimal(text) for text in (mean, low, high))
    shares = Chance(cheaper, 0.01), Chance(alike, 0.0)
    return Paired(middle, Decimal(10), lower, upper, lower, middle, upper, *shares)


NONE, FEWER = CountDifference(0.0, 0.0), CountDifference(-0.625, 0.02)
COUNT = Count(1.0, 0.1, 0, 1, 2)
DEARER = pair("1234", "1100", "1368")


def side(name: str) -> Side:
    amounts = spread("900", "1000", "1100")
    return Side(name, amounts, amounts, amounts, COUNT, COUNT, COUNT, Chance(0.5, 0.02), amounts)


def comparison(cash: Paired = DEARER, net: Paired = DEARER) -> Comparison:
    causes = (CauseDifference("labour", Decimal("-40.00"), Decimal("3.00")),)
    difference = Difference("plain", "other", cash, DEARER, net, causes, FEWER, NONE, NONE)
    return Comparison("USD", 1000, 1000, 1, (side("plain"), side("other")), (difference,))


def words(page: Page) -> str:
    return " ".join(page.lines)


def page_of(found: Comparison, crossing: BreakEven | None = None) -> Page:
    return compare_page(found, crossing, "services/clutch/price", "Demo", True)


# Sentences


def test_a_difference_in_words() -> None:
    said = words(page_of(comparison()))
    assert "other against plain: 1,234 more on average (+1,100 to +1,368 with 95%), cheaper in 25% of seasons." in said
    assert "races missed: -0.62 +/- 0.02; stopped by a failure: none; results lost: none." in said


def test_a_saving_in_words() -> None:
    found = pair("-1234", "-1368", "-1100", cheaper=0.9, alike=0.05)
    said = words(page_of(comparison(found)))
    assert "1,234 less on average (-1,368 to -1,100 with 95%), cheaper in 90% of seasons, the same in 5%." in said


def test_a_net_difference_and_counts_are_shown_by_the_same_rule_as_cash() -> None:
    found = comparison(net=pair("10", "-10", "30"))
    unsure, sure = CountDifference(0.019, 0.01), CountDifference(0.02, 0.01)
    (difference,) = found.differences
    said = words(page_of(replace(found, differences=(replace(difference, missed=unsure, dnfs=sure),))))
    assert (
        "Net of what is left at the end: no difference in mean net cost shown by 1,000 seasons (95%: -10 to +30)"
        in said
    )
    assert "races missed: no difference shown (+0.019 +/- 0.01); stopped by a failure: +0.02 +/- 0.01;" in said
    assert "10 more on average" not in said


def test_one_season_has_neither_interval_nor_error() -> None:
    alone = replace(pair("-50", "-50", "-50", cheaper=1.0), error=Decimal(0))
    one = replace(comparison(alone, alone), seasons=1, asked=1)
    page = page_of(one)
    assert "1 season drawn, seed 1." in words(page)
    assert "other against plain: 50 less in the one season drawn. Net" in words(page)
    assert "One season has no error" in words(page)
    assert "standard error" not in words(page)
    assert page.tables[2].rows[0] == ("cash", "-50", "", "", "-50", "-50", "-50", "100%")


@pytest.mark.parametrize(
    ("cheaper", "said"),
    [
        (0.0, "cheaper in no season drawn."),
        (1.0, "cheaper in every season drawn."),
        (0.25, "cheaper in 25% of seasons."),
    ],
)
def test_how_often_a_side_is_cheaper(cheaper: float, said: str) -> None:
    assert said in words(page_of(comparison(pair("-5", "-9", "-1", cheaper=cheaper))))


@pytest.mark.parametrize(("low", "high"), [("-10", "30"), ("0", "30"), ("-10", "0")])
def test_an_interval_with_zero_in_it_shows_no_difference(low: str, high: str) -> None:
    said = words(page_of(comparison(pair("10", low, high))))
    assert "no difference in mean cash shown by 1,000 seasons" in said
    assert "10 more on average" not in said


def test_what_never_differs_is_the_same_and_not_merely_unshown() -> None:
    said = words(page_of(comparison(pair("0", "0", "0", 0.0, 1.0))))
    assert "other against plain: the same cash in every season." in said


@pytest.mark.parametrize(
    ("crossing", "said"),
    [
        (BreakEven(1.0, 9.0, None, 0.0, True, ()), "Between 1 and 9 of services/clutch/price nothing breaks even"),
        (BreakEven(1.0, 9.0, 4.25, 0.03, True, ()), "where services/clutch/price is 4.25 (+/- 0.03)"),
        (BreakEven(1.0, 9.0, 4.25, 0.03, False, ()), "The difference jumps there"),
        (BreakEven(1e3, 4e4, 10166.4, 0.0, True, ()), "where services/clutch/price is 10,166.4. "),
        (BreakEven(1e3, 4e4, None, 0.0, True, ()), "Between 1,000 and 40,000 of services/clutch/price"),
    ],
)
def test_a_break_even_in_words(crossing: BreakEven, said: str) -> None:
    assert said in words(page_of(comparison(), crossing))
    assert ("jumps" in words(page_of(comparison(), crossing))) == (not crossing.steady)


def test_values_that_are_written_alike_are_shown_once_and_the_one_found_is_marked() -> None:
    tried = tuple(Tried(value, DEARER) for value in (1.0, 4.2500001, 4.25, 9.0))
    table = page_of(comparison(), BreakEven(1.0, 9.0, 4.25, 0.03, True, tried)).tables[-1]
    assert [row[0] for row in table.rows] == ["1", "4.25 <-", "9"]


def test_a_value_tried_is_written_with_six_digits_and_no_exponent() -> None:
    texts = [exact(value) for value in (9475.540000000001, 123456789.0, 1e-7, -2.5, 0.0)]
    assert texts == ["9475.54", "123457000", "0.0000001", "-2.5", "0"]


def test_drawing_that_was_stopped_is_told() -> None:
    assert rests_on(500, 1000, 3) == "Stopped after 500 of 1,000 seasons; the figures rest on those. Seed 3."
    assert rests_on(1000, 1000, 3) == "1,000 seasons drawn, seed 3."
    stopped = replace(comparison(), asked=4000)
    assert "Stopped after 1,000 of 4,000 seasons" in words(page_of(stopped))


@pytest.mark.parametrize(
    ("found", "seasons", "said"),
    [
        # Of 1,000 seasons none: with 95 % rarer than 3 in 1,000.
        (Chance(0.0, 0.0), 1000, "<0.3%"),
        (Chance(0.0, 0.0), 3, "0%"),
        (Chance(0.9996, 0.0004), 10_000, ">99.9%"),
        (Chance(0.995, 0.002), 1000, "99.5% +/- 0.2%"),
        (Chance(1.0, 0.0), 1000, "100%"),
        (Chance(0.125, 0.12), 1, "12.5%"),
    ],
)
def test_chances_near_none_and_all(found: Chance, seasons: int, said: str) -> None:
    assert chance(found, seasons) == said
    assert bare(found, seasons) == said.partition(" ")[0]


def test_an_error_of_nothing_is_left_out() -> None:
    assert spread_cells(replace(spread("1", "2", "3"), error=Decimal(0)))[-2:] == ("2", "")
    assert spread_cells(spread("1", "2", "3"))[-2:] == ("2", "1")
    assert count_cells(replace(COUNT, error=0.0))[-2:] == ("1", "")
    assert counted(CountDifference(-2.0, 0.0)) == "-2"
    assert "standard error" in errors(2)


def test_figures_of_a_spread_in_whole_units() -> None:
    assert three_cells(spread("-1234.50", "0.40", "1e6")) == ("-1,234", "0", "1,000,000")
    assert [signed(Decimal(text)) for text in ("0.4", "-0.4", "1500", "-1500")] == ["0", "0", "+1,500", "-1,500"]


def test_differences_in_csv_have_the_whole_and_its_causes() -> None:
    lines = compare_csv(comparison()).splitlines()
    assert lines[0] == "base,side,view,cause,mean,error,low,high,cheaper"
    assert lines[1] == "plain,other,cash,,1234,10,1100,1368,0.25"
    assert lines[4:] == ["plain,other,cash,labour,-40.00,3.00,,,"]


# What if


def struck(*cases: CaseOutcome) -> Struck:
    amounts, day = spread("100", "200", "300"), date(2027, 5, 1)
    run = Chance(0.9, 0.01)
    return Struck("USD", 10, 10, 1, "springs", "opener", day, run, amounts, amounts, NONE, FEWER, cases)


def bill(case: str, parts: str) -> CaseBill:
    amounts = (Decimal(parts), Decimal("10.00"), Decimal("2.00"), Decimal("5.00"))
    return CaseBill("springs", case, 0.5, ("springs",), "full", *amounts, True, NOWHERE)


BILLS = (bill("dropped", "1000.00"), bill("", "100.00"))


def test_outcomes_are_shown_where_there_are_any_to_tell_apart() -> None:
    whole = CaseOutcome("", Chance(1.0, 0.0), Decimal(200), Decimal(5))
    half = replace(whole, share=Chance(0.5, 0.1))
    assert [table.title for table in struck_page(struck(whole), BILLS, "Demo", False, claimed=False).tables] == [
        "The bill"
    ]
    page = struck_page(struck(half, replace(half, case="dropped")), BILLS, "Demo", False, claimed=False)
    assert [(row[0], row[2]) for row in page.tables[1].rows] == [
        ("nothing more breaks", "107.00"),
        ("dropped", "1,007.00"),
    ]


def test_a_failure_and_a_claim_have_their_own_words() -> None:
    failed = struck_page(struck(), (), "Demo", True, claimed=False)
    claimed = struck_page(replace(struck(), what="the engine is claimed for 900"), (), "Demo", True, claimed=True)
    assert failed.title == "Failure of springs at opener, 2027-05-01: Demo (invented data)"
    assert claimed.title.startswith("What if the engine is claimed for 900 at opener")
    assert (failed.tables[0].title, claimed.tables[0].title) == ("The bill", "Loss (+) or gain (-)")


@pytest.mark.parametrize(
    ("cash", "net", "said"),
    [
        ("1200", "-300", "you lose 1,200 in cash; net of what is then on hand you gain 300."),
        ("-61", "0", "you gain 61 in cash; net of what is then on hand you neither lose nor gain."),
    ],
)
def test_a_claim_says_plainly_whether_it_is_a_loss(cash: str, net: str, said: str) -> None:
    found = replace(struck(), bill=spread("-5000", cash, "5000"), net=spread("-5000", net, "5000"))
    page = struck_page(found, (), "Demo", True, claimed=True, taken="Price as in damage.csv:4: case 'sold' of claim.")
    assert f"At the median {said}" in words(page)
    assert "Price as in damage.csv:4: case 'sold' of claim." in words(page)
    assert "At the median" not in words(struck_page(found, (), "Demo", True, claimed=False))


@pytest.mark.parametrize("claimed", [True, False])
def test_of_an_event_that_is_never_run_there_is_no_bill(claimed: bool) -> None:
    page = struck_page(replace(struck(), run=Chance(0.0, 0.0)), BILLS, "Demo", True, claimed=claimed)
    assert page.tables == ()
    assert "run in none of the seasons drawn, so that there is no bill" in words(page)
    assert "At the median" not in words(page)


def affordable(seasons: int) -> Affordable:
    reached = tuple(
        Reached(name, date(2027, 5, day), Chance(0.5, 0.1), spread("1", "2", "3")) for day, name in enumerate("abcd", 1)
    )
    events, races = Count(2.1, 0.2, 1, 2, 3), Count(1.25, 0.0, 0, 1, 2)
    return Affordable("USD", seasons, seasons, 1, Decimal(900), events, races, Chance(0.0, 0.0), reached, 2)


def test_how_far_a_sum_goes_in_nine_of_ten_seasons() -> None:
    said = words(affordable_page(affordable(1000), "Demo", True))
    lasts = "at least 1 in nine of ten seasons, at most 3 in nine of ten, at most 2 in half; on average 2.1 (+/- 0.2)."
    assert f"Of 4 events the money lasts through {lasts} As planned: 2." in said
    assert "at most 1 in half; on average 1.25." in said
    assert "put right at the end: <0.3% of seasons." in said
    assert "through 2.1 in the one season drawn." in words(affordable_page(affordable(1), "Demo", True))


# The band

FIRST = date(2027, 3, 20)


def bars(*ends: tuple[int, int, int]) -> list[tuple[date, Decimal, Decimal, Decimal]]:
    return [
        (FIRST + timedelta(days=14 * number), Decimal(low), Decimal(middle), Decimal(high))
        for number, (low, middle, high) in enumerate(ends)
    ]


def drawn(*ends: tuple[int, int, int]) -> list[str]:
    (passage,) = band_chart("band", bars(*ends))
    return [line for _, line in passage.lines]


def test_a_band_runs_from_its_lower_to_its_upper_end_with_its_middle_marked() -> None:
    lines = drawn((0, 0, 0), (100, 300, 500), (600, 800, 900))
    assert len(lines) == 11
    columns = ["".join(line[offset : offset + 1] or " " for line in lines[:10]) for offset in (5, 26, 47)]
    assert columns == ["         o", "    ::o:: ", ":o::      "]
    assert lines[0].startswith("900 |")
    assert lines[9].startswith("  0 |")
    assert lines[10].split() == ["Mar", "Apr"]


def test_a_band_that_dips_below_nothing_has_its_zero_on_the_way() -> None:
    lines = drawn((-900, -450, -100), (-100, 0, 100), (0, 450, 900))
    assert [line.split("|")[0].strip() for line in lines[:10] if line.split("|")[0].strip()] == ["900", "0", "-900"]


@pytest.mark.parametrize("count", [0, 1, 2, 65])
def test_too_few_or_too_many_dates_are_not_drawn(count: int) -> None:
    assert band_chart("band", bars(*[(0, 1, 2)] * count)) == ()


def test_what_never_moves_is_not_drawn() -> None:
    assert band_chart("band", bars((5, 5, 5), (5, 5, 5), (5, 5, 5))) == ()


def test_a_band_that_a_narrow_terminal_would_fold_is_left_out() -> None:
    ends = bars((0, 0, 0), (100, 300, 500), (600, 800, 900))
    longest = max(len(line) for line in drawn((0, 0, 0), (100, 300, 500), (600, 800, 900)))
    assert band_chart("band", ends, longest) != ()
    assert band_chart("band", ends, longest - 1) == ()
    assert band_chart("b" * longest + "b", ends, longest) == ()


@pytest.mark.parametrize("count", [3, 12, 33, 64])
def test_a_band_keeps_to_80_columns(count: int) -> None:
    lines = drawn(*[(n * 1000, n * 1500, n * 20000) for n in range(count)])
    assert max(len(line) for line in lines) <= 80
