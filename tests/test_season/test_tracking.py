"""Budget, actual and forecast with a log, worked by hand on the season of test_logged: what was paid and is to come."""

from __future__ import annotations

from datetime import date
from decimal import Decimal
from pathlib import Path

import pytest

from costplan.season import Season, make_plan, play_plan
from costplan.season.ledger import write_ledger
from costplan.season.logged import Around, check_log, season_on, show_log, track
from tests.test_season.test_logged import (
    COSTS,
    DAMAGE,
    HAZARDS,
    LEVELS,
    THREE,
    WITH_SHOP,
    SeasonOf,
    by_hand,
    left,
    rows_of,
)


@pytest.fixture(scope="module")
def season(season_of: SeasonOf) -> Season:
    return by_hand(season_of)


def test_budget_actual_and_forecast_to_the_cent(season: Season, tmp_path: Path) -> None:
    log = """\
2027-05-01,ran,engine,one
2027-05-01,paid,,one,,,,,,,,,entry,30
2027-05-01,paid,,one,,,,,,,,,purse,-50
2027-05-04,serviced,engine,,top,,,,,,,,,60
2027-05-04,changed,engine,,,springs,,,,,,,,84.50
2027-05-08,ran,engine,two
2027-05-08,paid,,two,,,,,,,,,entry,35
2027-05-08,checked,engine,,,piston
2027-05-08,changed,engine,,,rings
"""
    entries = rows_of(tmp_path, log.replace("2027-05-08,changed,engine,,,rings\n", ""))
    on = date(2027, 5, 8)
    now, problems = season_on(season, entries, on)
    assert problems == ()
    found = track(make_plan(season, on), make_plan(now, on), now, entries)
    # Budget: springs before five (55 + 80), rings at the full level before six (220 + 60), six entries of 30.
    # Forecast: springs 40 laps old now, 160 after five: before six with the rings, one opening; four entries.
    assert [
        (one.group, *map(str, (one.budget, one.to_day, one.actual, one.forecast, one.expected, one.difference)))
        for one in (*found.groups, found.total)
    ] == [
        ("parts", "140.00", "0.00", "84.50", "140.00", "224.50", "84.50"),
        ("work", "275.00", "0.00", "60.00", "220.00", "280.00", "5.00"),
        ("entry and travel", "180.00", "60.00", "65.00", "120.00", "185.00", "5.00"),
        ("income", "0.00", "0.00", "-50.00", "0.00", "-50.00", "-50.00"),
        ("total", "595.00", "60.00", "159.50", "480.00", "639.50", "44.50"),
    ]
    assert (found.events_due, found.events_run, found.missed, found.in_part) == (2, 2, (), ())
    assert found.without_amount == ()
    unpaid = track(make_plan(season, on), make_plan(now, on), now, rows_of(tmp_path, log))
    assert [(one.what, one.rows) for one in unpaid.without_amount] == [("changed", 1)]


def test_what_was_due_before_the_day_is_the_business_of_the_log(season_of: SeasonOf, tmp_path: Path) -> None:
    season = by_hand(season_of, costs=COSTS)
    now = left(season, tmp_path, "2027-05-08,ran,engine,two\n", "2027-05-08")
    cash = [row for row in write_ledger(now, play_plan(now)).rows if row.view == "cash"]
    costs = [
        (str(row.date), row.slot, str(row.amount)) for row in cash if row.slot in ("rent", "licence", "prize", "food")
    ]
    assert sorted(costs) == [
        ("2027-05-15", "food", "7.00"),
        ("2027-05-22", "food", "7.00"),
        ("2027-05-29", "food", "7.00"),
        ("2027-06-01", "prize", "-20.00"),
        ("2027-06-01", "rent", "10.00"),
        ("2027-06-05", "food", "7.00"),
    ]


def test_the_actual_takes_each_row_to_its_group(season_of: SeasonOf, tmp_path: Path) -> None:
    season = by_hand(
        season_of,
        costs=COSTS,
        hazards=HAZARDS,
        damage=DAMAGE,
        services="service,price,every,measure,hours,whole\noil nine quarts,20,2,events,1,yes\nfuel,3,1,laps,0,no\n",
    )
    log = """\
2027-05-01,paid,,,,springs,,,,,,,,1
2027-05-01,paid,,,full,,,,,,,,,2
2027-05-01,changed,engine,,,oil nine quarts,,,,,,,,4
2027-05-01,paid,,,,,,,,,,,fuel,8
2027-05-01,paid,,one,,,,,,,,,gate,16
2027-05-01,paid,,,,,,,,,,,licence,32
2027-05-01,paid,,,,,,,,,,,prize,-64
2027-05-01,paid,,two,,,,,,,,,purse,-128
2027-05-01,paid,,,,,,,,,,,bent,256
2027-05-01,failed,engine,one,,springs,,,,,,,,512
2027-05-01,paid,,,,,,,,,,,a new trailer light,1024
"""
    entries = rows_of(tmp_path, log)
    now, problems = season_on(season, entries, date(2027, 5, 1))
    shown = show_log(now, entries)
    assert problems == ()
    assert {one.group: one.amount for one in shown.money} == {
        "parts": Decimal(1),
        "work": Decimal(2),
        "running": Decimal(12),
        "entry and travel": Decimal(16),
        "fixed costs": Decimal(32),
        "income": Decimal(-192),
        "damage": Decimal(768),
        "other": Decimal(1024),
    }
    assert shown.paid == sum(one.amount for one in shown.money)


def test_what_is_paid_on_the_day_is_not_forecast_again_and_what_is_paid_ahead_is_said(
    season_of: SeasonOf, tmp_path: Path
) -> None:
    season, on = by_hand(season_of, costs=COSTS), date(2027, 6, 1)
    log = "2027-06-01,paid,,,,,,,,,,,rent,11\n2027-05-30,paid,,six,,,,,,,,,entry,30\n"
    entries = rows_of(tmp_path, log)
    now, _ = season_on(season, entries, on)
    forecast = make_plan(now, on)
    assert [row.slot for row in forecast.ledger if row.view == "cash" and row.date == on] == ["prize"]
    found = track(make_plan(season, on), forecast, now, entries)
    assert found.paid_ahead == Decimal("30.00")
    (entries_of,) = (one for one in found.groups if one.group == "entry and travel")
    assert (str(entries_of.actual), str(entries_of.forecast)) == ("30.00", "0.00")
    # by then five entries, five meals, a rent, the licence, and springs with their opening
    assert found.total.to_day == 5 * 30 + 5 * 7 + 10 + 99 + 80 + 55


def test_what_was_paid_ahead_does_not_stand_twice(season_of: SeasonOf, tmp_path: Path) -> None:
    season, on = by_hand(season_of, costs=COSTS), date(2027, 5, 8)
    log = (
        "2027-05-01,ran,engine,one\n2027-05-08,ran,engine,two\n"
        "2027-05-08,paid,,three,,,,,,,,,entry,20\n2027-05-08,paid,,four,,,,,,,,,entry,45\n"
        "2027-05-08,paid,engine,five,,springs,,,,,,,,50\n2027-05-08,paid,,,,,,,,,,,prize,-15\n"
        "2027-05-08,paid,,,,,,,,,,,licence,99\n2027-05-08,paid,,six,,,,,,,,,purse,-70\n"
    )
    entries = rows_of(tmp_path, log)
    now, problems = season_on(season, entries, on)
    assert problems == ()
    found = track(make_plan(season, on), make_plan(now, on), now, entries)
    # Four entries of 30, less 20 and the 30 that the plan has for four; springs for 80 before five and rings for 60
    # before six, less 50; 15 of the prize of 20 has come. No purse is planned for six, and the licence was due before.
    assert {one.group: (str(one.actual), str(one.forecast)) for one in found.groups} == {
        "parts": ("50.00", "90.00"),
        "work": ("0.00", "275.00"),
        "entry and travel": ("65.00", "70.00"),
        "fixed costs": ("99.00", "38.00"),
        "income": ("-85.00", "-5.00"),
    }
    assert found.paid_ahead == 20 + 30 + 50 - 15
    assert found.total.forecast == make_plan(now, on).cash_total - found.paid_ahead


BOOKED = {
    "levels": LEVELS.replace("level,rank", "level,shop,rank").replace("top,", "top,,").replace("full,", "full,Bench,"),
    "suppliers": "supplier,deposit,queue_days\nBench,50 %,14\n",
}


def booked(season: Season, folder: Path, log: str, on: date) -> tuple[str, ...]:
    """Budget, its part to the day, actual, forecast and expected of work, and what was paid ahead."""
    entries = rows_of(folder, log)
    now, problems = season_on(season, entries, on)
    assert problems == ()
    found = track(make_plan(season, on), make_plan(now, on), now, entries)
    (work,) = (one for one in found.groups if one.group == "work")
    return (*map(str, (work.budget, work.to_day, work.actual, work.forecast, work.expected)), str(found.paid_ahead))


def test_a_bench_that_was_booked_is_taken_off_the_forecast(season_of: SeasonOf, tmp_path: Path) -> None:
    """Full takes the Bench four days before six: it is booked by 18 May, with half of 220. Top before five is 55."""
    season, on, log = by_hand(season_of, **BOOKED), date(2027, 5, 22), THREE + "2027-05-22,ran,engine,four\n"
    paid = "2027-05-18,paid,,six,full,,,,,,,,booking,{}\n"
    assert booked(season, tmp_path, log, on) == ("275.00", "110.00", "0.00", "275.00", "275.00", "0.00")
    assert booked(season, tmp_path, log + paid.format(110), on) == (
        *("275.00", "110.00", "110.00", "165.00", "275.00"),
        "110.00",
    )
    # what is more than the plan has for it stays in the expected
    assert booked(season, tmp_path, log + paid.format(300), on)[2:] == ("300.00", "55.00", "355.00", "220.00")
    # of no event to come it may be for work that was done
    assert booked(season, tmp_path, log + paid.replace("six", "").format(110), on)[3:] == ("275.00", "385.00", "0.00")


@pytest.mark.parametrize(
    ("event", "on"), [("shop week", "2027-05-08"), ("three", "2027-05-08"), ("shop week", "2027-05-13")]
)
def test_so_is_one_for_a_service_row_by_its_name_or_its_events_and_when_it_is_owed(
    season_of: SeasonOf, tmp_path: Path, event: str, on: str
) -> None:
    season = by_hand(season_of, calendar=WITH_SHOP, **BOOKED)
    log = f"2027-05-01,ran,engine,one\n2027-05-08,ran,engine,two\n2027-05-08,paid,,{event},full,,,,,,,,booking,110\n"
    # full in the shop week, on the 13th before four; top with the springs before five
    assert booked(season, tmp_path, log, date.fromisoformat(on))[2:] == ("110.00", "165.00", "275.00", "110.00")


def test_what_was_due_and_has_no_row_is_named(season_of: SeasonOf, tmp_path: Path) -> None:
    season, on = by_hand(season_of, costs=COSTS), date(2027, 5, 16)
    log = "2027-05-01,ran,engine,one\n2027-05-15,ran,engine,three\n2027-05-15,paid,,three,,,,,,,,,gate,25\n"
    entries = rows_of(tmp_path, log + "2027-05-16,paid,,,,,,,,,,,licence,99\n")
    now, _ = season_on(season, entries, on)
    found = track(make_plan(season, on), make_plan(now, on), now, entries)
    # A rent on the first, three meals, two of them where it ran; two was not run, and three has a row.
    assert [(one.what, one.event, str(one.amount)) for one in found.not_logged] == [
        ("rent", "", "10.00"),
        ("food", "", "21.00"),
        ("entry and travel", "one", "30.00"),
    ]
    assert str(found.not_logged_at_events) == "30.00"


def test_what_was_paid_before_the_day_does_not_stand_for_what_is_due_on_it(season: Season, tmp_path: Path) -> None:
    log = "2027-05-01,paid,,,,,,,,,,,rent,10\n2027-05-08,paid,,,,,,,,,,,food,7\n"
    now = left(season, tmp_path, log, "2027-05-08")
    assert now.standing is not None
    assert {name.rpartition(":")[2] for name in map(str, now.standing.paid)} == {"food"}


@pytest.mark.parametrize(
    ("amount", "currency", "advice"),
    [
        ("2.815", "USD", "give 2815 for thousands, or two decimals"),
        ("2.810", "USD", "give 2810 for thousands, or two decimals"),
        ("-2.815", "USD", "give -2815 for thousands, or two decimals"),
        ("2.8155", "USD", "give two decimals"),
        ("2.815", "KWD", None),
        ("2.81", "USD", None),
        ("2.8100", "USD", None),
        ("2815.00", "JPY", None),
        ("2815.50", "JPY", "give no decimals"),
        ("2.815", "", None),
    ],
)
def test_an_amount_finer_than_its_currency_may_mean_thousands(
    season: Season, tmp_path: Path, amount: str, currency: str, advice: str | None
) -> None:
    rows = rows_of(tmp_path, f"2027-05-01,paid,,,,,,,,,,,gate,{amount}\n")
    found = check_log(rows, season.files, ("engine",), Around(currency=currency))
    assert [problem.advice for problem in found] == ([] if advice is None else [advice])
