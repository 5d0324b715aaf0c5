"""Orders with their latest days and deposits, worked by hand to the cent.

The pistons last 60 laps: they are renewed before two (30 + 40 laps) and before three (40 + 50). The opening takes the
Bench 100 hours, four whole days: it begins on 04 May and 01 June. The books open with the first event.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from datetime import date
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest

from costplan.garage.log import Entry
from costplan.problems import Place
from costplan.report.orders import orders_csv, orders_page
from costplan.scenario import read_scenario
from costplan.season import Level, Season, SeasonFiles, due_before, make_plan, play_plan
from costplan.season.inputs import check_suppliers
from costplan.season.ledger import Row, write_ledger
from costplan.season.orders import Orders, orders_of
from costplan.season.records import Supplier
from costplan.season.standing import Standing

SeasonOf = Callable[..., Season]

CALENDAR = "event,date,laps\none,2027-05-01,30\ntwo,2027-05-08,40\nthree,2027-06-05,50\n"
TERMS = "supplier,deposit,queue_days\nshop,12.5 %,2\nBench,50 %,14\n"
DEMO = Path(__file__).parents[2] / "scenarios/oval-v8"


def season(season_of: SeasonOf, suppliers: str = TERMS, **more: str) -> Season:
    tables = {
        "calendar": CALENDAR,
        "levels": "level,rank,hours,labour,supplies,shop\nrebuild,1,100,200,33.33,Bench\n",
        "slots": "slot,part,pieces\npistons,piston,4\n",
        "parts": "part,price,lead_days,core_charge\npiston,10.01,5,2\n",
        "lives": "part,measure,replace_at\npiston,laps,60\n",
        "positions": "slot,level\npistons,rebuild\n",
        "scenario": '[policy]\nearly = "off"\n',
        **({"suppliers": suppliers} if suppliers else {}),
        **more,
    }
    return season_of(**tables)


def ordered(found: Season, on: date) -> Orders:
    return orders_of(found, make_plan(found, on).jobs, on)


def cash(found: Season) -> list[tuple[str, str, str, str]]:
    """Day, slot, cause and amount of the cash rows of a plan."""
    rows = make_plan(found, found.opening).ledger
    return [(f"{row.date:%d %b}", row.slot, row.cause, str(row.amount)) for row in rows if row.view == "cash"]


def test_what_is_paid_with_the_order_is_dated_by_it_to_the_cent(season_of: SeasonOf) -> None:
    # Pistons: 40.04, an eighth is 5.005, half up 5.01. They take 5 + 2 days: 27 April, when the books are not open yet,
    # and 25 May. The bench is booked by 20 April, as early, and by 18 May.
    # Half of 200 is 100, half of 33.33 is 16.67 and 16.66. Core charges are paid with the parts and come back.
    assert cash(season(season_of)) == [
        ("01 May", "rebuild", "labour", "100.00"),
        ("01 May", "rebuild", "consumable", "16.67"),
        ("01 May", "pistons", "planned", "5.01"),
        ("08 May", "rebuild", "labour", "100.00"),
        ("08 May", "rebuild", "consumable", "16.66"),
        ("08 May", "pistons", "planned", "35.03"),
        ("08 May", "pistons", "deposit", "8.00"),
        ("08 May", "pistons", "refund", "-8.00"),
        ("18 May", "rebuild", "labour", "100.00"),
        ("18 May", "rebuild", "consumable", "16.67"),
        ("25 May", "pistons", "planned", "5.01"),
        ("05 Jun", "rebuild", "labour", "100.00"),
        ("05 Jun", "rebuild", "consumable", "16.66"),
        ("05 Jun", "pistons", "planned", "35.03"),
        ("05 Jun", "pistons", "deposit", "8.00"),
        ("05 Jun", "pistons", "refund", "-8.00"),
    ]


def test_months_follow_the_deposits_and_totals_do_not_move(season_of: SeasonOf) -> None:
    # Each opening costs 200 + 33.33 + 40.04 = 273.37; of June's 100 + 16.67 + 5.01 = 121.68 is paid in May.
    with_terms, without = (make_plan(one, one.opening) for one in (season(season_of), season(season_of, "")))
    assert [(month.month, str(month.net)) for month in without.months] == [("2027-05", "273.37"), ("2027-06", "273.37")]
    assert [(month.month, str(month.net), str(month.so_far)) for month in with_terms.months] == [
        ("2027-05", "395.05", "395.05"),
        ("2027-06", "151.69", "546.74"),
    ]
    assert (without.worst_month, with_terms.worst_month) == ("2027-05", "2027-05")
    assert (with_terms.cash, with_terms.wear, with_terms.rates) == (without.cash, without.wear, without.rates)
    assert (with_terms.cash_total, with_terms.accounts) == (without.cash_total, without.accounts)


def test_the_worst_month_can_be_the_one_of_the_bookings(season_of: SeasonOf) -> None:
    late = "event,date,laps\none,2027-05-01,30\ntwo,2027-06-05,40\n"
    terms = "supplier,deposit,queue_days\nBench,80 %,14\n"
    assert make_plan(season(season_of, "", calendar=late), date(2027, 5, 1)).worst_month == "2027-06"
    assert make_plan(season(season_of, terms, calendar=late), date(2027, 5, 1)).worst_month == "2027-05"


def test_a_row_says_what_of_it_was_paid_when_and_by_whose_terms(season_of: SeasonOf) -> None:
    found = season(season_of)
    places = [str(row.place) for row in found.files.suppliers]
    rows = [row for row in make_plan(found, found.opening).ledger if row.cause == "planned"]
    assert rows[0].why.endswith(f"; 12.5 % of 40.04 with the order ({places[0]})")
    assert rows[1].why.endswith(f"; the rest of 40.04 ({places[0]})")


def test_a_price_paid_whole_with_the_order_leaves_no_row_for_the_rest(season_of: SeasonOf) -> None:
    found = season(season_of, "supplier,deposit\nshop,1\n")
    assert [row[::3] for row in cash(found) if row[2] == "planned"] == [("01 May", "40.04"), ("27 May", "40.04")]


@pytest.mark.parametrize("suppliers", ["", "supplier,queue_days\nshop,2\nBench,14\n"])
def test_without_deposits_the_ledger_is_as_it_was(season_of: SeasonOf, suppliers: str) -> None:
    found = season(season_of, suppliers)
    assert make_plan(found, found.opening).ledger == write_ledger(found, play_plan(found)).rows


def test_nothing_is_paid_before_the_day_a_log_stands_at(season_of: SeasonOf) -> None:
    dates = "event,date,laps\none,2027-05-01,30\ntwo,2027-06-01,40\nthree,2027-06-12,50\n"
    found = season(season_of, calendar=dates)
    standing = replace(found, standing=Standing(date(2027, 5, 20), found.start))
    # For two the bench is booked by 14 May, which is before the log's day, and pistons are there on 28 May, when it
    # begins. For three it begins on 08 June: the bench is booked by 25 May, pistons are ordered by 01 June.
    assert [row for row in cash(standing) if row[0].endswith("May")] == [
        ("20 May", "rebuild", "labour", "100.00"),
        ("20 May", "rebuild", "consumable", "16.67"),
        ("21 May", "pistons", "planned", "5.01"),
        ("25 May", "rebuild", "labour", "100.00"),
        ("25 May", "rebuild", "consumable", "16.67"),
    ]


# The list


def test_every_purchase_and_every_booking_stands_by_its_latest_day(season_of: SeasonOf) -> None:
    found = ordered(season(season_of), date(2027, 4, 1))
    assert [
        (one.kind, one.supplier, one.name, one.count, one.before, str(one.needed), str(one.order_by))
        for one in found.orders
    ] == [
        ("bench", "Bench", "rebuild", 1, "two", "2027-05-04", "2027-04-20"),
        ("part", "shop", "piston", 4, "two", "2027-05-04", "2027-04-27"),
        ("bench", "Bench", "rebuild", 1, "three", "2027-06-01", "2027-05-18"),
        ("part", "shop", "piston", 4, "three", "2027-06-01", "2027-05-25"),
    ]
    assert [(one.lead_days, one.queue_days) for one in found.orders[:2]] == [(0, 14), (5, 2)]
    assert [(str(one.with_order), str(one.on_delivery), str(one.total)) for one in found.orders[:2]] == [
        ("116.67", "116.66", "233.33"),
        ("5.01", "35.03", "40.04"),
    ]
    assert (str(found.with_order), str(found.on_delivery)) == ("243.36", "303.38")
    assert "levels.csv:2" in found.orders[0].why
    assert "suppliers.csv:3" in found.orders[0].why
    assert "parts.csv:2" in found.orders[1].why


def test_without_a_shop_parts_are_needed_on_the_day_of_the_event(season_of: SeasonOf) -> None:
    levels = "level,rank,hours,labour,supplies\nrebuild,1,100,200,33.33\n"
    found = season(season_of, "supplier,queue_days\nshop,2\n", levels=levels)
    assert [(str(one.needed), str(one.order_by)) for one in ordered(found, date(2027, 4, 1)).orders] == [
        ("2027-05-08", "2027-05-01"),
        ("2027-06-05", "2027-05-29"),
    ]
    assert [job.begins for job in make_plan(found, date(2027, 4, 1)).jobs] == [date(2027, 5, 8), date(2027, 6, 5)]


def test_what_a_service_row_wants_is_counted_from_the_row(season_of: SeasonOf) -> None:
    rows = CALENDAR.replace("laps", "laps,kind,level").replace(
        ",30\n", ",30,race,\nwinter,2027-05-03,,service,rebuild\n"
    )
    calendar = rows.replace(",40\n", ",40,race,\n").replace(",50\n", ",50,race,\n")
    (first, second, *_) = ordered(season(season_of, calendar=calendar), date(2027, 4, 1)).orders
    assert (first.before, str(first.needed), str(first.order_by)) == ("winter", "2027-05-03", "2027-04-19")
    assert (second.name, str(second.needed), str(second.order_by)) == ("piston", "2027-05-03", "2027-04-26")


def test_what_is_late_says_by_how_much_and_for_which_event_it_would_be_there(season_of: SeasonOf) -> None:
    def seen(on: date) -> list[tuple[str, str, int, str]]:
        return [(one.name, one.state, one.days_late, one.there_for) for one in ordered(season(season_of), on).orders]

    # On 26 April the bench is 6 days late: free on 10 May, done on 14 May. 27 April is near, 18 May is not.
    assert seen(date(2027, 4, 26)) == [
        ("rebuild", "late", 6, "three"),
        ("piston", "soon", 0, ""),
        ("rebuild", "later", 0, ""),
        ("piston", "later", 0, ""),
    ]
    # Pistons of 28 April are there on 05 May and built in by the 9th: for three, a day after two.
    assert seen(date(2027, 4, 28))[1] == ("piston", "late", 1, "three")
    # On 30 May both are late for three on 05 June, and no event is left when they come.
    assert seen(date(2027, 5, 30)) == [
        ("rebuild", "past", 0, ""),
        ("piston", "past", 0, ""),
        ("rebuild", "late", 12, ""),
        ("piston", "late", 5, ""),
    ]


def test_the_last_day_itself_is_not_late_and_the_day_of_the_event_is_not_past(season_of: SeasonOf) -> None:
    found = season(season_of)
    assert [one.state for one in ordered(found, date(2027, 4, 27)).orders[:2]] == ["late", "soon"]
    assert [one.state for one in ordered(found, date(2027, 4, 28)).orders[:2]] == ["late", "late"]
    assert [one.state for one in ordered(found, date(2027, 5, 8)).orders[:2]] == ["late", "late"]
    assert [one.state for one in ordered(found, date(2027, 5, 9)).orders[:2]] == ["past", "past"]


def test_each_purchase_stands_by_itself_and_a_part_has_its_total(season_of: SeasonOf) -> None:
    found = ordered(season(season_of), date(2027, 4, 1))
    (total,) = found.parts
    assert (total.name, total.orders, total.count, str(total.total)) == ("piston", 2, 8, "80.08")
    assert total.first_by == date(2027, 4, 27)
    assert ordered(season(season_of), date(2027, 5, 9)).parts[0].count == 4


def test_what_goes_to_one_supplier_in_one_week_is_summed_and_what_is_late_goes_now(season_of: SeasonOf) -> None:
    found = ordered(season(season_of), date(2027, 5, 29))
    # 29 May is a Saturday: the bench, late since 18 May, and the pistons both go in the week of the 24th.
    assert [(one.supplier, str(one.week), one.names, str(one.with_order)) for one in found.together] == [
        ("Bench", "2027-05-24", ("rebuild",), "116.67"),
        ("shop", "2027-05-24", ("piston",), "5.01"),
    ]


def test_what_lies_in_stock_is_not_ordered(season_of: SeasonOf) -> None:
    boxes = "piece,part,engine,slot,count\nbox,piston,,,4\n"
    found = ordered(season(season_of, garage=boxes), date(2027, 4, 1))
    assert [one.before for one in found.orders if one.kind == "part"] == ["three"]


def test_kits_are_ordered_as_kits_with_the_deposit_of_who_sells_them(season_of: SeasonOf) -> None:
    catalog = {
        "kits": "kit,supplier,price,price_date,lead_days\nset of four,kit house,33.33,2027-01-01,3\n",
        "kit_contains": "kit,part,pieces\nset of four,piston,4\n",
    }
    terms = "supplier,deposit,queue_days\nkit house,0.5,1\n"
    found = season(season_of, terms, catalog=catalog)  # type: ignore[arg-type]
    bought = [one for one in ordered(found, date(2027, 4, 1)).orders if one.kind == "kit"]
    assert [(one.name, str(one.order_by), str(one.with_order), str(one.on_delivery)) for one in bought] == [
        ("set of four", "2027-04-30", "16.67", "16.66"),
        ("set of four", "2027-05-28", "16.67", "16.66"),
    ]
    assert [row for row in cash(found) if row[2] == "planned"] == [
        ("01 May", "", "planned", "16.67"),
        ("08 May", "", "planned", "16.66"),
        ("28 May", "", "planned", "16.67"),
        ("05 Jun", "", "planned", "16.66"),
    ]


def test_what_nobody_ordered_waits_as_long_as_an_order_takes_or_is_fetched(season_of: SeasonOf) -> None:
    catalog = {
        "kits": "kit,supplier,price,price_date,lead_days\nset of four,kit house,33.33,2027-01-01,3\n",
        "kit_contains": "kit,part,pieces\nset of four,piston,4\n",
    }
    terms, fetched = "supplier,queue_days\nshop,2\nkit house,1\n", '[policy]\nearly = "off"\nfetch_days = {}\n'
    waits = {}
    for name, more in {"": {}, "6": {"scenario": fetched.format(6)}, "3": {"scenario": fetched.format(3)}}.items():
        problem = season(season_of, terms, catalog=catalog, **more).problem  # type: ignore[arg-type]
        waits[name] = (set(problem.lead_hours[0].tolist()), set(problem.kit_lead[0].tolist()))
    # five days and two in the queue; three and one
    assert waits == {"": ({168.0}, {96.0}), "6": ({144.0}, {96.0}), "3": ({72.0}, {72.0})}


def test_service_steps_are_paid_when_they_are_done(season_of: SeasonOf) -> None:
    catalog = {
        "operations": "operation,role,price,price_date\nhone,piston,10.01,2027-01-01\n",
        "service_steps": "part,step,operation\npiston,1,hone\n",
    }
    found = season(season_of, catalog=catalog)  # type: ignore[arg-type]
    # before two a hone for 4 * 10.01, the same sum as new pistons; before three new ones
    assert [row[::3] for row in cash(found) if row[2] == "planned"] == [
        ("08 May", "40.04"),
        ("25 May", "5.01"),
        ("05 Jun", "35.03"),
    ]
    assert [one.before for one in ordered(found, date(2027, 4, 1)).orders if one.kind == "part"] == ["three"]


def test_plan_and_due_list_order_by_the_same_days(season_of: SeasonOf) -> None:
    found = season(season_of)
    by = {one.before: one.order_by for one in ordered(found, date(2027, 4, 1)).orders if one.kind == "part"}
    jobs = [job for entry in due_before(found, date(2027, 4, 1), 3) for job in entry.jobs]
    assert {job.before: part.order_by for job in jobs for part in job.renewals} == by
    assert make_plan(found, date(2027, 4, 1)).purchases[0].order_by == by["two"]


def test_a_name_is_not_unknown_while_its_file_is_at_fault() -> None:
    files = SeasonFiles((), levels=(Level(level="freshen", rank=1, shop="Bench"),), suppliers=(Supplier(supplier="X"),))
    assert [problem.code for problem in check_suppliers(files, frozenset({"shop"}))] == ["SUP001"]
    assert check_suppliers(files, frozenset({"X"})) == ()
    assert check_suppliers(files, None) == ()
    assert check_suppliers(replace(files, unread=frozenset({"levels"})), frozenset()) == ()
    assert check_suppliers(replace(files, at_fault={"levels": frozenset({"rebuild"})}), frozenset()) == ()


# The demo


def demo(*texts: str) -> Season:
    scenario, problems = read_scenario(DEMO, texts)
    assert scenario is not None, problems
    found, problems = scenario.season()
    assert found is not None, problems
    return found


def key(row: Row) -> tuple[str, str, str, str, str]:
    """What a row is of, without its day, its amount and why."""
    return row.view, row.event, row.engine, row.slot, row.part


def test_the_demos_deposits_are_those_of_its_list_and_no_money_is_lost() -> None:
    found = demo()
    whole, rows = write_ledger(found, play_plan(found)).rows, make_plan(found, found.opening).ledger
    for of in {(*key(row), row.cause) for row in whole}:
        sums = [sum(row.amount for row in side if (*key(row), row.cause) == of) for side in (whole, rows)]
        assert sums[0] == sums[1]
    # What is ordered for the day the books open is paid whole on it, deposit or not.
    orders = [order for order in ordered(found, found.opening).orders if order.before != "winter work"]
    first = sum((row.amount for row in rows if " with the order (" in row.why), Decimal(0))
    assert first == sum((order.with_order for order in orders), Decimal(0)) > 4000
    assert all(row.date >= found.opening for row in rows)


def test_half_of_the_demos_rebuild_is_paid_four_weeks_before_its_work_begins() -> None:
    orders = [one for one in ordered(demo(), date(2027, 3, 1)).orders if one.name == "rebuild"]
    # 4312 + 440 for 360 hours, 15 days, before 10 July: work from 25 June, booked 28 days before.
    assert [(one.supplier, str(one.needed), str(one.order_by), str(one.with_order)) for one in orders] == [
        ("Orrenby Engines", "2027-06-25", "2027-05-28", "2376.00")
    ]


# What the log says is booked


def paid(**cells: Any) -> Entry:
    row = Entry(date=date(2027, 4, 16), what="paid", event="three", amount=Decimal(100), **cells)
    return row.model_copy(update={"place": Place("log.csv", 7)})


@pytest.mark.parametrize(
    ("row", "booked"),
    [
        (paid(level="rebuild"), ["bench"]),
        (paid(level="rebuild", engine="engine"), ["bench"]),
        (paid(level="rebuild", engine="other"), []),
        (paid(slot=("pistons",)), ["part"]),
        (paid(slot=("pistons",), part="piston"), ["part"]),
        (paid(part="piston"), ["part"]),
        (paid(slot=("rods",)), []),
        (paid(slot=("pistons",), part="dearer"), []),
        (paid(line="tow"), []),
        (paid(level="rebuild").model_copy(update={"event": "one"}), []),
        (paid(level="rebuild").model_copy(update={"amount": Decimal(-100)}), []),
    ],
)
def test_what_a_row_paid_for_is_booked_and_no_longer_late(season_of: SeasonOf, row: Entry, booked: list[str]) -> None:
    found, on = season(season_of), date(2027, 5, 30)
    orders = orders_of(found, make_plan(found, on).jobs, on, (row,))
    here = [order for order in orders.orders if order.state == "booked"]
    assert [order.kind for order in here] == booked
    assert [(order.before, order.booked, str(order.booked_at), order.paid, order.days_late) for order in here] == [
        ("three", date(2027, 4, 16), "log.csv:7", Decimal(100), 0) for _ in booked
    ]
    late = [order for order in orders.orders if order.state == "late"]
    assert len(late) == 2 - len(booked)
    assert orders.with_order + orders.on_delivery == sum(order.total for order in late)


def test_what_was_paid_of_one_bench_adds_up_from_the_first_row_on(season_of: SeasonOf) -> None:
    found, on = season(season_of), date(2027, 5, 30)
    rest = paid(level="rebuild").model_copy(update={"date": date(2027, 5, 3), "place": Place("log.csv", 9)})
    orders = orders_of(found, make_plan(found, on).jobs, on, (paid(level="rebuild"), rest))
    (bench,) = [order for order in orders.orders if order.state == "booked"]
    assert (bench.booked, str(bench.booked_at), bench.paid) == (date(2027, 4, 16), "log.csv:7", Decimal(200))
    text = orders_csv(orders).splitlines()
    assert [line.rpartition(",2027-04-16,")[2] for line in text[1:] if ",booked," in line] == ["log.csv:7,200.00"]
    page = orders_page(orders, "by hand", "EUR", invented=False)
    (table,) = [one for one in page.tables if one.title == "Booked or ordered, by the log"]
    assert table.rows == (("bench: rebuild, engine\nBench", "three", "2027-04-16\n(log.csv:7)", "200.00", "233.33"),)


def test_a_bench_for_a_service_row_is_booked_by_its_name_or_its_events(season_of: SeasonOf) -> None:
    calendar = CALENDAR.replace("event,date,laps", "event,date,laps,kind,level") + "shop,2027-05-20,,service,rebuild\n"
    found, on = season(season_of, calendar=calendar), date(2027, 5, 10)
    for event in ("shop", "three"):
        row = paid(level="rebuild").model_copy(update={"event": event})
        orders = orders_of(found, make_plan(found, on).jobs, on, (row,))
        assert [(order.before, order.kind) for order in orders.orders if order.state == "booked"] == [("shop", "bench")]
