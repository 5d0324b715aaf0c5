"""The demo seasons: their plans add up, and one change of the input changes exactly the rows that it should."""

from __future__ import annotations

import csv
from collections import Counter
from collections.abc import Iterable
from datetime import date
from decimal import Decimal
from pathlib import Path

import pytest

from costplan.scenario import read_scenario
from costplan.season import Plan, make_plan
from costplan.season.ledger import Account, Row

DEMOS = Path(__file__).parents[2] / "scenarios"

#: View, date, event, engine, slot, part, cause, amount.
Line = tuple[str, date, str, str, str, str, str, Decimal]


def plan_of(demo: str, *changes: str) -> Plan:
    scenario, problems = read_scenario(DEMOS / demo, changes)
    assert scenario is not None, problems
    season, problems = scenario.season()
    assert season is not None, problems
    return make_plan(season, scenario.opening)


def oval(*changes: str) -> Plan:
    return plan_of("oval-v8", *changes)


def line(row: Row) -> Line:
    return (row.view, row.date, row.event, row.engine, row.slot, row.part, row.cause, row.amount)


def difference(before: Plan, after: Plan) -> tuple[list[Line], list[Line]]:
    """The rows that a change took away and those that it brought."""
    old, new = Counter(map(line, before.ledger)), Counter(map(line, after.ledger))
    return sorted((old - new).elements()), sorted((new - old).elements())


def amounts(lines: Iterable[Line], view: str) -> Counter[tuple[str, Decimal]]:
    """How often each cause costs each amount in a view."""
    return Counter((line[6], line[7]) for line in lines if line[0] == view)


def account(plan: Plan, slot: str) -> Account:
    (found,) = [account for account in plan.accounts if account.slot == slot]
    return found


def rows_of(table: str) -> list[dict[str, str]]:
    with (DEMOS / "oval-v8" / table).open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


def money(text: str) -> Decimal:
    return Decimal(text)


def running_events() -> list[str]:
    """The events that run, in the order of the calendar, which is that of their dates."""
    return [row["event"] for row in rows_of("calendar.csv") if row["kind"] != "service"]


# What holds in both demos


@pytest.mark.parametrize("demo", ["oval-v8", "kart-single"])
def test_a_demo_season_is_run_to_the_end(demo: str) -> None:
    assert plan_of(demo).missed == ()


@pytest.mark.parametrize("demo", ["oval-v8", "kart-single"])
def test_totals_are_sums_of_rows(demo: str) -> None:
    plan = plan_of(demo)
    for view, causes, total in (("cash", plan.cash, plan.cash_total), ("wear", plan.wear, plan.wear_total)):
        rows = [row for row in plan.ledger if row.view == view]
        for cause in causes:
            assert cause.amount == sum(row.amount for row in rows if row.cause == cause.cause)
        assert {cause.cause for cause in causes} == {row.cause for row in rows}
        assert sum(cause.amount for cause in causes) == sum(row.amount for row in rows) == total


@pytest.mark.parametrize("demo", ["oval-v8", "kart-single"])
def test_months_add_up_to_the_cash_of_the_season(demo: str) -> None:
    plan = plan_of(demo)
    assert sum(month.net for month in plan.months) == plan.cash_total == plan.months[-1].so_far
    assert sum(month.paid for month in plan.months) == plan.cash_paid
    assert sum(month.received for month in plan.months) == plan.cash_received
    assert all(month.paid - month.received == month.net for month in plan.months)


@pytest.mark.parametrize("demo", ["oval-v8", "kart-single"])
def test_jobs_are_the_cash_of_their_openings(demo: str) -> None:
    plan = plan_of(demo)
    cash = [row for row in plan.ledger if row.view == "cash"]
    assert sum(job.parts for job in plan.jobs) == sum(
        row.amount for row in cash if row.cause in ("planned", "early", "failure")
    )
    assert sum(job.labour for job in plan.jobs) == sum(row.amount for row in cash if row.cause == "labour")


@pytest.mark.parametrize("demo", ["oval-v8", "kart-single"])
def test_cash_and_wear_differ_by_what_is_on_hand_and_what_work_is_owed(demo: str) -> None:
    """Cash less wear is what accounts and shelf hold more at the end than at first."""
    plan = plan_of(demo)
    more_on_hand = sum(account.closing - account.opening for account in plan.accounts)
    scenario, _ = read_scenario(DEMOS / demo)
    assert scenario is not None
    season, _ = scenario.season()
    assert season is not None
    more_on_shelf = plan.on_the_shelf - Decimal(int(season.start.stock_value.sum())) / 100
    # Deposits less refunds are paid but never used up: the core stays the class's, or the foundry's, and comes back.
    cores = sum(row.amount for row in plan.ledger if row.cause in ("deposit", "refund"))
    assert plan.cash_total - plan.wear_total == more_on_hand + more_on_shelf + cores


# One change each


def test_no_change_changes_nothing() -> None:
    assert difference(oval(), oval()) == ([], [])


def test_the_purse_of_one_event_changes_that_income_alone() -> None:
    gone, come = difference(oval(), oval("calendar/Pellundry two/purse=600"))
    there = (date(2027, 5, 1), "Pellundry two", "", "purse", "", "income")
    assert gone == [("cash", *there, money("-560")), ("wear", *there, money("-560"))]
    assert come == [("cash", *there, money("-600")), ("wear", *there, money("-600"))]


def test_a_date_of_the_sponsor_moves_one_income() -> None:
    gone, come = difference(oval(), oval("costs/sponsor/date=2027-03-18"))
    assert gone == [(view, date(2027, 3, 1), "", "", "sponsor", "", "income", money("-6500")) for view in VIEWS]
    assert come == [(view, date(2027, 3, 18), "", "", "sponsor", "", "income", money("-6500")) for view in VIEWS]


VIEWS = ("cash", "wear")


def test_the_price_of_fuel_changes_fuel_alone() -> None:
    gone, come = difference(oval(), oval("services/methanol/price=10.40"))
    assert {line[4] for line in (*gone, *come)} == {"methanol"}
    assert len(gone) == len(come) == 2 * len(running_events())
    # Twice the price; each event is rounded once.
    for old, new in zip(gone, come, strict=True):
        assert old[:7] == new[:7]
        assert abs(new[7] - 2 * old[7]) <= money("0.01")


def test_the_price_of_a_service_changes_that_service_alone() -> None:
    gone, come = difference(oval(), oval("services/tyres other three/price=600"))
    assert {line[4] for line in (*gone, *come)} == {"tyres other three"}
    # Every 5 events, 2 used when the books open: before events 4, 9, 14 ... of 32.
    # Each event uses 560 / 5 = 112.00, now 600 / 5 = 120.00; nothing is left when they come off.
    times = len(range(4, len(running_events()) + 1, 5))
    assert amounts(gone, "cash") == {("planned", money("560.00")): times}
    assert amounts(come, "cash") == {("planned", money("600.00")): times}
    assert amounts(gone, "wear") == {("life used", money("112.00")): len(running_events())}
    assert amounts(come, "wear") == {("life used", money("120.00")): len(running_events())}


def test_the_interval_of_a_service_changes_that_service_alone() -> None:
    gone, come = difference(oval(), oval("services/tyre right rear/every=4"))
    assert {line[4] for line in (*gone, *come)} == {"tyre right rear"}
    # New when the books open: before events 3, 5, 7 ..., now before 5, 9, 13 ...; where both, the row stays.
    events = running_events()
    every_two, every_four = set(range(3, len(events) + 1, 2)), set(range(5, len(events) + 1, 4))
    cash = [[line[2] for line in lines if line[0] == "cash"] for lines in (gone, come)]
    assert sorted(cash[0]) == sorted(events[n - 1] for n in every_two - every_four)
    assert cash[1] == []
    # 235 / 2 = 117.50 an event, now 235 / 4 = 58.75
    assert amounts(gone, "wear") == {("life used", money("117.50")): len(events)}
    assert amounts(come, "wear") == {("life used", money("58.75")): len(events)}


def test_the_price_of_a_part_changes_that_part_alone() -> None:
    before, after = oval(), oval("oval-v8/induction-ignition/DW-SK8/price=52")
    gone, come = difference(before, after)
    assert {line[5] for line in (*gone, *come)} == {"DW-SK8"}
    # Eight plugs live for 4 events: 44 / 4 = 11.00 an event, now 52 / 4 = 13.00. What is used or left is so many
    # events' worth: every amount is so many elevenths, now thirteenths, and both are rounded to the cent.
    assert {old[:7] for old in gone} == {new[:7] for new in come}
    for old, new in zip(gone, come, strict=True):
        assert old[:7] == new[:7]
        assert abs(new[7] - old[7] * 13 / 11) < Decimal("0.02")
    assert set(amounts(gone, "cash")) == {("planned", money("44.00"))}
    # The eight new plugs on the shelf are kept for what breaks: every change buys its own.
    changes = sum(renewal.slot == "plugs" for job in before.jobs for renewal in job.renewals)
    assert len([line for line in gone if line[0] == "cash"]) == changes


def lives_row(part: str, role: str) -> int:
    """The line of the catalog's lives.csv that gives a part or role its life."""
    with (DEMOS.parent / "catalogs" / "oval-v8" / "lives.csv").open(encoding="utf-8", newline="") as file:
        reader = csv.DictReader(file)
        return next(reader.line_num for row in reader if (row["part"], row["role"]) == (part, role))


def test_the_life_of_a_part_changes_that_part_and_its_opening_alone() -> None:
    """A clutch that lasts the season: nothing but the clutch is reached by the driveline level alone."""
    before, after = oval(), oval(f"oval-v8/lives/{lives_row('', 'clutch')}/replace_at=4000")
    gone, come = difference(before, after)
    assert {line[4] for line in (*gone, *come)} == {"clutch", "driveline"}
    # It had 1344 laps of 2300 and was renewed once: 690.00, a fifth of it with the order, 180.00 back for the old,
    # 160.00 and 20.00 for the work.
    assert Counter((line[4], line[6], line[7]) for line in gone if line[0] == "cash") == {
        ("clutch", "planned", money("138.00")): 1,
        ("clutch", "planned", money("552.00")): 1,
        ("clutch", "income", money("-180.00")): 1,
        ("driveline", "labour", money("160.00")): 1,
        ("driveline", "consumable", money("20.00")): 1,
    }
    assert not [line for line in come if line[0] == "cash"]
    assert before.cash_total - after.cash_total == money("690.00")  # 690 - 180 + 160 + 20
    # Weighted by the duty of its sessions a weekly night is 8 * 0.85 + 4 * 1.1 + 12 + 35 = 58.2 laps, a night of a show
    # 51.5, its final 81.0, a short night 40.1, a practice 37.25, the dyno 40 * 0.3 + 30 = 42:
    # 17 * 58.2 + 5 * 51.5 + 3 * 81.0 + 4 * 40.1 + 2 * 37.25 + 42 = 1766.8 laps.
    # B = 510.00 * (1 - laps / 4000): 338.64 at 1344 laps, 510 * (1 - 3110.8 / 4000) = 113.37 at the end.
    clutch = account(after, "clutch")
    assert (clutch.opening, clutch.paid, clutch.used, clutch.unused, clutch.closing) == (
        money("338.64"),
        money("0.00"),
        money("225.27"),
        money("0.00"),
        money("113.37"),
    )


def test_the_laps_of_the_season_are_those_of_its_sessions() -> None:
    # 17 weekly nights of 59 laps, 5 of shows of 52, 3 finals of 79, 4 short nights of 41, 2 practices of 45, the dyno
    assert oval().laps == 17 * 59 + 5 * 52 + 3 * 79 + 4 * 41 + 2 * 45 + 70 == 1824


def test_the_last_event_a_day_earlier_moves_its_rows_and_the_days_before_it() -> None:
    """The gap before it, 14 + 5 * 24 = 134 hours, holds the levels that 158 hours held: all but freshen and rebuild."""
    gone, come = difference(oval(), oval("calendar/Drasketh closer/date=2027-10-15"))

    def undated(lines: Iterable[Line], view: str) -> list[tuple[object, ...]]:
        return sorted((line[0], *line[2:]) for line in lines if line[0] == view and line[2] == "Drasketh closer")

    assert {line[1] for line in gone if line[2] == "Drasketh closer"} == {date(2027, 10, 16)}
    assert {line[1] for line in come if line[2] == "Drasketh closer"} == {date(2027, 10, 15)}
    assert {line[2] for line in (*gone, *come) if line[0] == "cash"} == {"Drasketh closer"}
    assert undated(gone, "cash") == undated(come, "cash")
    assert undated(gone, "wear") == undated(come, "wear")
    # In the wear of the event before it a life in days is a day shorter.
    others = [line for line in (*gone, *come) if line[2] != "Drasketh closer"]
    assert {line[2] for line in others} == {"Last Ember final"}
    assert {line[4] for line in others} <= {"ignition-box", "coil", "wires", "belts", "damper"}


def test_entry_of_one_event_changes_the_cost_by_race_by_its_share() -> None:
    before, after = oval(), oval("calendar/Drasketh closer/entry=365")  # 75 before: 290 more over 29 races
    old, new = (next(rate for rate in plan.rates if rate.per == "race") for plan in (before, after))
    assert old.units == new.units == 29
    assert (new.cash - old.cash, new.wear - old.wear) == (money("10.00"), money("10.00"))
    assert after.cash_total - before.cash_total == money("290")


def test_a_row_of_the_garage_changes_that_position_alone() -> None:
    """A clutch with 44 laps more: 24 * 56 = 1344 before, 510.00 * 44 / 2300 less of it."""
    gone, come = difference(before := oval(), after := oval("garage/car-clutch/laps=1388"))
    assert {line[4] for line in (*gone, *come)} <= {"clutch", "driveline"}
    # 510 * (1 - 1344 / 2300) = 211.98, 510 * (1 - 1388 / 2300) = 202.23
    assert (account(before, "clutch").opening, account(after, "clutch").opening) == (money("211.98"), money("202.23"))
