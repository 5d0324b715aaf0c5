"""What the pages of `costplan choose` say of what was found, from answers written by hand."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from decimal import Decimal

import pytest

from costplan.build import Bill
from costplan.build.airflow import Breathing, Calibration, Restriction
from costplan.choose import (
    AIMS,
    Bound,
    Change,
    Chosen,
    Conflict,
    Culprit,
    Frontier,
    Ground,
    Line,
    Never,
    OnHand,
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
from costplan.choose.comparing import Buys
from costplan.choose.hand import Left
from costplan.problems import Place
from costplan.quantity import Quantity
from costplan.report.choose import (
    About,
    Asked,
    Drawn,
    Intakes,
    best_csv,
    best_page,
    conflict_csv,
    conflict_page,
    frontier_csv,
    frontier_page,
    instead_csv,
    instead_page,
    options_csv,
    options_page,
    unfound_page,
)
from costplan.report.choose.shared import sheets
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


def line(slot: str, per_season: str | None, events: float | None = None, planned: str = "") -> Line:
    """A slot with part B, which costs so much a season."""
    season = None if per_season is None else Decimal(per_season)
    return Line(slot, "B", "Part", "Nobody", "apart", "", "", planned, season, events, "", ("a guess",), "parts.csv:3")


def best_text(
    proof: Proof, about: About = ABOUT, aim: str = "price", ranked: tuple[Ranked, ...] = (), seasons: int = 400
) -> str:
    chosen = Chosen(option("1000.00", 300.0), proof)
    change = Change("rods", "A-ROD", "B-ROD", "Rod", "apart", Decimal("300.00"), Decimal("200.00"))
    return text(best_page(about, AIMS[aim], chosen, told(change), ranked, Drawn(seasons, 1, True)))


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
    assert "packs and kits that slots share change the sum" in page


def test_the_day_of_the_dyno_sheets_that_count_is_on_the_page() -> None:
    days = (date(2027, 2, 15), date(2027, 2, 15), date(2027, 7, 2))
    every, early = replace(ABOUT, pulls=days), replace(ABOUT, pulls=days[:2], pulled_by=DAY)
    assert "set by 2 pulls on a dyno of 2027-02-15; those up to 2027-05-01 (--on) count" in best_text(PROVED, early)
    found = best_text(PROVED, every)
    assert "set by 3 pulls on a dyno of 2027-02-15 to 2027-07-02, 1 of them after 2027-05-01" in found
    assert "without --on those of any day count" in found
    assert "parts that were not pulled there, and steps to such parts, may be further off" in found
    sheet = Calibration(1.0, 0.1, "dry air", (), None, enough=False)
    assert "They are too few to set its error, which is as the pattern states it." in sheets(
        early, replace(HEADS, calibration=sheet)
    )
    assert "too few" not in sheets(early, replace(HEADS, calibration=replace(sheet, enough=True)))
    assert "No pull on a dyno up to 2027-05-01 sets it" in best_text(PROVED, replace(ABOUT, pulled_by=DAY))


def test_a_critical_slot_that_is_cheaper_as_somebody_asked_for_it_stands_on_top() -> None:
    asked = replace(ABOUT, critical=("rods",), wishes=Wishes(DAY, cheapen=("rods",)))
    line_ = "Cheaper than planned because you asked: rods: A-ROD -> B-ROD. positions.csv says not to stretch it: ask"
    assert line_ in best_text(PROVED, asked)
    assert line_ in best_text(PROVED, replace(asked, wishes=Wishes(DAY, {"rods": "B-ROD"})))
    assert "because you asked" not in best_text(PROVED, replace(asked, wishes=Wishes(DAY)))
    assert "because you asked" not in best_text(PROVED, replace(asked, critical=("block",)))


def test_what_a_season_costs_stands_slot_by_slot_and_comes_to_the_total() -> None:
    lines = (line("rods", "30.00", 40.25), line("carburetor/small", "20.00"), line("covers", None))
    chosen = Chosen(replace(option("1000.00"), lines=lines), PROVED)
    page = best_page(ABOUT, AIMS["season"], chosen, told(), (), Drawn(1, 1, True))
    table = next(one for one in page.tables if one.title == "What the cost of parts a season is made of")
    assert table.rows == (("rods", "B", "30.00", "40.2"), ("carburetor, in its turn small", "B", "20.00", ""))
    assert table.note.startswith("Total 50.00 EUR.")
    price = best_page(ABOUT, AIMS["price"], chosen, told(), (), Drawn(1, 1, True))
    assert table.title not in [one.title for one in price.tables]


def test_where_power_is_not_worked_out_for_all_bills_that_is_said() -> None:
    page = best_text(PROVED, replace(ABOUT, unvalued=("heads", "valves")))
    assert "Of other bills it is not worked out: heads, valves go together in too many ways." in page


def test_what_is_used_from_what_is_on_hand_has_its_share_of_life_and_what_is_left_out_its_reason() -> None:
    used = OnHand("carburetor", "B", "spare", Decimal("12.00"), "g.csv:3", "7 of 30 events", 0.233, ("its openings",))
    chosen = Chosen(replace(option("1000.00"), on_hand=(used,)), PROVED)
    left = (Left("old-rods", "rods", "R", "9 of 8 events: its hard limit", "scenarios/x/garage.csv:9"),)
    page = best_page(ABOUT, AIMS["price"], chosen, told(), (), Drawn(1, 1, True), left)
    tables = {one.title: one for one in page.tables}
    hand = tables["Used from what is on hand"]
    assert hand.rows == (("carburetor", "B", "spare", "23%: 7 of 30 events", "12.00"),)
    assert hand.note.endswith("Assumed: its openings.")
    gone = tables["On hand, and left out"]
    assert gone.rows == (("rods: old-rods", "9 of 8 events: its hard limit (garage.csv:9)"),)
    assert gone.note == ""
    strict = best_page(replace(ABOUT, critical=("rods",)), AIMS["price"], chosen, told(), (), Drawn(1, 1, True), left)
    assert "only with --cheapen SLOT; ask its maker first" in text(strict)


def test_the_slots_as_csv_have_prices_and_what_became_empty_at_the_end() -> None:
    rods = Change("rods", "A", "B", "Rod", "apart", Decimal("300.00"), Decimal("200.00"))
    emptied = Change("spacer", "S", "", "", "empty", Decimal("46.00"), Decimal(0))
    found = replace(option("1000.00"), lines=(line("rods", "30.00", 18.590662, "A"),))
    header, *rows = best_csv(found, replace(told(rods, emptied), slots=(rods, emptied))).splitlines()
    assert header.split(",")[:4] == ["slot", "planned", "part", "changed"]
    assert rows == [
        "rods,A,B,True,Part,Nobody,apart,,,300.00,200.00,30.00,18.59,,a guess,parts.csv:3",
        "spacer,S,,True,,,,,,46.00,0,,,,,",
    ]


@pytest.mark.parametrize(("seconds", "said"), [(0.4, "Searched: 4 slots"), (61.7, "Searched for 62 s: 4 slots")])
def test_the_search_says_how_many_bills_and_how_long_where_that_matters(seconds: float, said: str) -> None:
    page = best_text(replace(PROVED, seconds=seconds))
    assert said in page
    assert "251 bills" in page


@pytest.mark.parametrize(
    ("aim", "says"),
    [
        ("season", "Lowest cost of parts a season: 50.00 EUR"),
        ("power", "Most estimated power: estimated 300 +/- 4 kW"),
        ("interval", "Longest interval: 6 events"),
    ],
)
def test_each_aim_has_its_own_value(aim: str, says: str) -> None:
    assert says in best_text(PROVED, aim=aim)


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
    page = best_text(PROVED, aim="season", ranked=(ranked(1, 2, "0", "0"), ranked(2, 1, more, error)))
    assert f"By the machine number 2 is cheapest, by 30 (+/- {error}) a season" in page
    assert ("not more than their errors separates the two" in page) is apart
    assert ("not told apart" in page) is apart


def test_a_plan_alone_has_no_errors() -> None:
    page = best_text(PROVED, aim="season", ranked=(ranked(1, 1, "0", "0", 0), ranked(2, 2, "30", "0", 0)), seasons=0)
    assert "By the plan, in which nothing is drawn. The machine puts the same bill first." in page
    assert "not told apart" not in page
    assert "standard error" not in page


def test_a_bill_that_no_season_can_be_played_with_says_so() -> None:
    lost = Ranked(option("1000.00"), 2, None, Replayed(None, ()), ())
    assert "cannot be played" in best_text(PROVED, aim="season", ranked=(ranked(1, 1, "0", "0"), lost))
    assert "cannot be played" in best_text(PROVED, aim="season", ranked=(replace(lost, by_sum=1),))


def test_a_single_bill_is_ranked_against_nothing() -> None:
    page = best_text(PROVED, aim="season", ranked=(ranked(1, 1, "0", "0"),))
    assert "Through the season machine as a new engine. 400 seasons drawn, seed 1." in page
    assert "50 1,000 900 5 80" in page
    assert "same bill first" not in page
    assert "Against number 1" not in page


# Why nothing is possible

CLAUSE = Ground("clause", "T1", "Heads are as cast.", "rules.toml:7", "5 heads, page 15")
BUDGET = Ground("budget", "budget", "at most 900 EUR")


def test_a_conflict_names_clause_place_slots_and_what_there_is_without_each() -> None:
    members = (
        Culprit(CLAUSE, ("heads",), (("heads", 1, 4),), False, None),
        Culprit(BUDGET, (), (), True, Decimal("1000.00")),
    )
    page = text(conflict_page(ABOUT, Conflict(members, True, 1.0), "Why"))
    assert "No bill keeps both of what is listed below." in page
    assert "proved that no fewer" in page
    assert (
        "1. Clause T1: Heads are as cast. (5 heads, page 15; rules.toml:7) By itself it leaves heads: 1 of 4." in page
    )
    assert "Without it alone: still nothing" in page
    assert "2. Wish: at most 900 EUR Without it: the cheapest bill is 1,000.00." in page


def test_what_one_wish_alone_would_give_stands_first_with_how_much_more_it_is() -> None:
    budget = Culprit(
        BUDGET, (), (), True, Decimal("1000.00"), Bound("price", None, Decimal(900), "EUR", Decimal("1000.00"), True)
    )
    clause = Culprit(CLAUSE, ("heads",), (), False, None, also=(Ground("fit", "gear"), BUDGET))
    about = replace(ABOUT, wishes=Wishes(DAY, budget=Decimal("9000.50")))
    page = conflict_page(about, Conflict((clause, budget), True, 1.0, (budget,)), "Why")
    assert page.passages[0].title == "This alone, given up, makes a bill possible"
    said = "Wish: at most 9,000.50 EUR. Without it: the cheapest bill is 1,000.00, 100.00 more."
    assert page.passages[0].lines == ((1, said),)
    assert "Without it alone: still nothing; also at odds: fit gear; at most 9,000.50 EUR." in text(page)
    alone = conflict_page(about, Conflict((budget,), True, 1.0, (budget,)), "Why")
    assert [one.title for one in alone.passages] == ["What cannot be kept"]


@pytest.mark.parametrize(
    ("bound", "says"),
    [
        (
            Bound("displacement", None, 358.0, "in3", 360.25, True),
            "It asks of displacement at most 358 in3. The nearest in reach with all else kept: 360.25 in3.",
        ),
        (
            Bound("mass", 500.0, 900.0, "g", 1000.4, False),
            "at least 500 g and at most 900 g. The nearest found with all else kept: 1,000.4 g.",
        ),
        (Bound("price.heads", None, Decimal("1500.00"), "USD"), "It asks of price.heads at most 1,500.00 USD."),
    ],
)
def test_a_limit_shows_its_bound_and_the_nearest_in_reach(bound: Bound, says: str) -> None:
    limit = Culprit(CLAUSE, ("heads",), (), True, Decimal(1), bound)
    other = Culprit(BUDGET, (), (), True, Decimal(2))
    assert says in text(conflict_page(ABOUT, Conflict((limit, other), True, 1.0), "Why"))


def test_an_answer_that_is_there_after_all_is_no_conflict() -> None:
    page = conflict_page(ABOUT, Conflict((), False, 1.0), "Why")
    assert "there is a bill that keeps all of this: ask again" in text(page)
    assert page.passages == ()


def test_the_earliest_day_stands_beside_a_day_that_is_too_early() -> None:
    ground = Ground("lead", "2027-05-24", "here by 2027-05-24, ordered on 2027-05-14")
    late = Culprit(ground, (), (), True, Decimal(1), Bound("day", None, date(2027, 5, 24), "", date(2027, 6, 28), True))
    page = text(conflict_page(ABOUT, Conflict((late,), True, 1.0), "Why"))
    assert "The earliest day by which a bill is here: 2027-06-28." in page


def test_what_holds_the_engine_together_is_no_place_to_save() -> None:
    ground = Ground("critical", "rods", "nothing cheaper in rods than R1", "positions.csv:4")
    kept = Culprit(ground, ("rods",), (), True, Decimal("700.00"), may_give=False)
    budget = Culprit(BUDGET, (), (), True, Decimal("1000.00"))
    other = replace(kept, ground=replace(ground, name="bolts", place="positions.csv:5"))
    page = text(conflict_page(ABOUT, Conflict((kept, other, budget), True, 1.0, (budget,)), "Why"))
    assert "1. Wish: at most 900 EUR" in page
    assert "2 to 3. By positions.csv nothing cheaper than planned in rods, bolts" in page
    assert "(positions.csv:4, positions.csv:5) No place to save: it holds the engine together." in page
    assert "700.00" not in page
    clause = Culprit(CLAUSE, (), (), False, None, also=(other.ground, BUDGET))
    page = text(conflict_page(ABOUT, Conflict((clause, budget), True, 1.0), "Why"))
    assert "at odds: at most 900 EUR; by positions.csv nothing cheaper than planned in bolts." in page
    only = replace(kept, may_give=True)
    page = text(conflict_page(ABOUT, Conflict((only, replace(budget, possible=False)), True, 1.0, (only,)), "Why"))
    assert page.count("Without it: the cheapest bill is 700.00. But this is no place to save") == 2


def test_what_is_not_known_in_time_and_a_large_conflict_say_so() -> None:
    members = tuple(Culprit(replace(CLAUSE, name=f"T{one}"), (), (), None, None) for one in range(13))
    page = text(conflict_page(ABOUT, Conflict(members, False, 1.0), "Why"))
    assert "in the time neither a bill was found nor that there is none" in page
    assert "So many things at odds say little one by one" in page


def test_the_members_of_a_conflict_as_csv_have_a_column_for_each_figure() -> None:
    bound = Bound("displacement", None, 358.0, "in3", 360.2500001, True)
    limit = Culprit(CLAUSE, ("heads",), (("heads", 1, 4),), False, None, bound, (BUDGET,))
    header, row = conflict_csv(ABOUT, Conflict((limit,), True, 1.0)).splitlines()
    assert header.startswith("kind,name,says,slots,left_by_itself,possible,price,figure,least,greatest,unit,nearest,")
    asked = "heads: 1 of 4,False,,displacement,,358.0,in3,360.25,at most 900 EUR,rules.toml:7,"
    assert row == f'clause,T1,Heads are as cast.,heads,{asked}"5 heads, page 15"'
    assert conflict_csv(ABOUT, None).splitlines() == [header]


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
    return Step((("carburetor", "C1", "C2"),), Decimal(costs), more, since, since, Decimal("1.00"), certain)


def points(*steps: Step) -> tuple[Point, ...]:
    found, price, power = [Point(option("1000.00", 300.0), True, None)], Decimal(1000), 300.0
    for one in steps:
        price, power = price + one.costs, power + (one.more_power or 0.0)
        found.append(Point(option(f"{price}", power), True, one))
    return tuple(found)


def test_where_no_step_is_certain_nothing_certain_is_bought_beyond_the_cheapest() -> None:
    found = Frontier("power", points(step("50", 1.5, 1.5, certain=False)), True, 1.0, Decimal(1000))
    page = text(frontier_page(ABOUT, found, Intakes(HEADS, HEADS)))
    assert "decides the power at the last point: heads (H), 62% of the resistance of the intake. No pull" in page
    assert "No bill is sure to give more power than the cheapest" in page
    assert "estimated at +1.5 kW, with an error of 4 kW either way" in page
    assert "Other bills may lie between them (--points)." in page
    assert "nothing certain" in page


def test_what_decides_at_the_first_point_is_said_where_it_is_another() -> None:
    valves = replace(HEADS, decides="valves", restrictions=(replace(HEADS.restrictions[0], slot="valves", part="V"),))
    found = Frontier("power", points(step("50", 1.5, 1.5, certain=False)), True, 1.0, None)
    page = text(frontier_page(ABOUT, found, Intakes(valves, HEADS)))
    assert "at the last point: heads (H), 62% of the resistance of the intake; at the first: valves (V), 62%" in page


def test_from_the_last_certain_step_on_more_money_buys_nothing_certain() -> None:
    steps = (step("50", 9.0, 9.0, certain=True), step("70", 1.0, 10.0, certain=False))
    found = Frontier("power", points(*steps), True, 1.0, Decimal(1050))
    page = frontier_page(ABOUT, found, Intakes(HEADS, HEADS))
    assert "More money buys no power beyond the estimate's error from 1,050 on." in page.lines
    assert [row[-1] for row in page.tables[1].rows] == ["more power", "nothing certain"]
    assert page.passages[0].title.startswith("Estimated power kW over price")
    certain = Frontier("power", points(steps[0]), True, 1.0, Decimal(1050))
    page = frontier_page(ABOUT, certain, Intakes(HEADS, HEADS))
    assert "There is power to be bought beyond the estimate's error up to the last" in text(page)


def test_a_step_that_is_certain_with_those_before_it_shows_the_sum_that_decides() -> None:
    steps = (
        step("50", 3.0, 3.0, certain=False),
        step("50", 2.0, 5.0, certain=True),
        replace(step("50", 1.0, 6.0, certain=False), power_summed=1.0),
    )
    found = Frontier("power", points(*steps), True, 1.0, Decimal(1100))
    page = frontier_page(ABOUT, found, Intakes(HEADS, HEADS))
    assert [row[3:] for row in page.tables[1].rows] == [
        ("+3.0", "+3.0", "nothing certain"),
        ("+2.0", "+5.0", "more power, summed"),
        ("+1.0", "+1.0", "nothing certain"),
    ]


def test_what_was_not_searched_to_the_end_is_not_asserted() -> None:
    alone = Frontier("season", points(), False, 1.0, None)
    page = text(frontier_page(ABOUT, alone, None))
    assert "One bill is both" not in page
    assert "One point was found, 1,000.00: whether there is a step up from it is not known." in page
    steps = (step("50", 9.0, 9.0, certain=True), step("70", 1.0, 10.0, certain=False))
    some = Frontier("power", points(*steps), False, 1.0, Decimal(1050))
    page = text(frontier_page(ABOUT, some, Intakes(HEADS, HEADS)))
    assert "Among the 3 points found more money buys no power beyond the estimate's error from 1,050 on." in page
    assert "More money" not in page
    assert "may lie between" not in page
    to_the_last = replace(some, certain_until=some.points[-1].option.price)
    assert "Among the 3 points found there is power" in text(frontier_page(ABOUT, to_the_last, None))
    nowhere = text(frontier_page(ABOUT, replace(some, certain_until=Decimal(1000)), None))
    assert "Among the 3 points found no bill is sure" in nowhere
    unknown = text(frontier_page(ABOUT, replace(some, certain_until=None), None))
    assert "From which price on more money buys no power beyond the estimate's error was not found" in unknown


@pytest.mark.parametrize(("proved", "yes", "no"), [((True, True), 1, 0), ((True, False), 1, 1), ((False, False), 0, 1)])
def test_only_rows_that_are_proved_are_explained_as_such(proved: tuple[bool, bool], yes: int, no: int) -> None:
    both = points(step("50", 9.0, 9.0, certain=True))
    rows = tuple(replace(point, proved=one) for point, one in zip(both, proved, strict=True))
    note = frontier_page(ABOUT, Frontier("power", rows, False, 1.0, None), None).tables[0].note
    assert note.count("Proved: no bill is both cheaper and better.") == yes
    assert note.count("Not proved in the time") == no


def test_without_an_intake_there_is_no_column_of_power() -> None:
    bare = tuple(Point(option(price), True, None) for price in ("1000.00", "1100.00"))
    page = frontier_page(ABOUT, Frontier("season", bare, True, 1.0, None), None)
    assert page.tables[0].header == ("No.", "Price", "Parts a season", "Interval, events", "Proved")
    found = swaps(replace(swap("dear", "90", 0.0, "0"), more_power=None, error=None, buys="not known"))
    found = replace(found, start=replace(found.start, power=None), swaps=tuple(map(_powerless, found.swaps)))
    assert "Power kW" not in options_page(ABOUT, found, told()).tables[0].header
    asked, stands_in = Asked("camshaft", "C1", 0, 1), Substitute(found.swaps[0], ranked(2, 1, "0", "0").replayed)
    assert "Power kW" not in instead_page(ABOUT, asked, found, [stands_in], told()).tables[0].header


def _powerless(one: Swap) -> Swap:
    return replace(one, power=None)


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
    assert second.endswith("carburetor: C1 > C2,50,1.5,1.5,1.5,1.00,False")
    noisy = replace(step("50", 1.0, 1.0, certain=False), more_power=1.4499999)
    assert "C1 > C2,50,1.4," in frontier_csv(replace(found, points=points(noisy)))


# Options and substitutes


def swap(part: str, costs: str, more: float, less: str, events: float = 0.0, **other: str) -> Swap:
    """A camshaft in place of C1, its error of power 4 kW; `other`: what must change with it."""
    buys: Buys = "nothing certain" if abs(more) <= 4 else "more power" if more > 0 else "less power"
    along = tuple((slot, "X", after) for slot, after in other.items())
    money, power = (Decimal(1000) + Decimal(costs), Decimal(costs)), (300.0 + more, more, 4.0)
    return Swap("camshaft", part, "Cam", "C1", along, *money, *power, Decimal(less), events, 10, buys)


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
    assert "packs and kits that slots share change the sum" in page
    assert "None gives more power than the estimate's error" in page


def test_a_dearer_part_that_makes_the_season_cheaper_is_named() -> None:
    page = text(options_page(ABOUT, swaps(swap("dear", "90", 1.0, "12.50")), told()))
    assert "1 dearer part costs less a season; most saves dear in camshaft: 90 more now, 12.50 less a season." in page


def test_what_must_change_along_stands_below_the_part_and_what_puts_a_part_out_beside_it() -> None:
    never = (Never("camshaft", "gone", (CLAUSE, Ground("fit", "gear", "wears out", "pattern.toml:9"))),)
    page = options_page(ABOUT, swaps(swap("dear", "90", 1.0, "0", gear="G2"), never=never), told())
    assert page.tables[0].rows[1][0] == "  dear\n  + gear:\n    G2"
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
