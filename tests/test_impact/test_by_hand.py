"""A whole study by hand: three entrants whose springs wear and nothing else, and break never, over four years.

Springs A are renewed every 4 events, B every 8; a year has 7 of them, the dyno day one. A stand at 3 on opening day, so
that they are renewed before the events 2, 6, 10 and so on, at 40 for four and 40 for the level less 8 for the old ones:
144, 144, 72, 144 a year. With B from opening day on, before 9, 17 and 25, at 60 and 40 less 12: 0, 88, 88, 88. At the
end A have run 3 of 4: (40 - 8) / 4 + 8 = 16 are left; B 4 of 8: (60 - 12) / 2 + 12 = 36.
"""

from __future__ import annotations

from decimal import Decimal
from pathlib import Path

import pytest
from pytest import approx

from costplan.impact.figures import ChangeImpact, Impact, Phase
from tests.test_impact.small_field import FILES, SPRINGS_ALONE, SURE, of, only, study, written

RATE = 1.07
ONCE = 95.20  # 60 + 40 - 0.6 * 8
CASH = (-144, -56, 16, -56)
LEFT = 36 - 16


def over(cash: tuple[float, ...], left: float, once: float = 0.0, rate: float = RATE) -> float:
    """What years cost today, less what is left at their end."""
    return once + sum(one / rate ** (year + 1) for year, one in enumerate(cash)) - left / rate ** len(cash)


@pytest.fixture(scope="module")
def found(tmp_path_factory: pytest.TempPathFactory) -> Impact:
    folder = written(tmp_path_factory.mktemp("by-hand"), lives=SPRINGS_ALONE)
    return study(folder, "springs", "dated", "none")


@pytest.fixture(scope="module")
def springs(found: Impact) -> ChangeImpact:
    return found.changes[0]


def money(amount: Decimal) -> float:
    return float(amount)


def phase(change: ChangeImpact, name: str) -> Phase:
    return next(one for one in change.phases if one.name == name)


def test_nothing_done(found: Impact) -> None:
    # entries of 10 and six of 20, purses of six of 50: 170 got a year
    assert money(found.as_it_is.first) == 3 * (144 - 170)
    assert money(found.as_it_is.yearly) == approx(3 * ((144 + 72 + 144) / 3 - 170), abs=0.01)
    assert found.as_it_is.missed == 0


def test_each_of_the_group(springs: ChangeImpact) -> None:
    group = only(springs)
    assert money(group.once) == ONCE
    assert money(group.first.mean) == approx(ONCE - 144)
    assert money(group.yearly.mean) == approx((-56 + 16 - 56) / 3, abs=0.01)
    assert money(group.over.mean) == approx(over(CASH, LEFT, ONCE), abs=0.01)
    assert money(group.over_other.mean) == approx(over(CASH, LEFT, ONCE, 1.03), abs=0.01)
    assert group.payback == approx(ONCE / (144 / RATE))
    assert {money(one.error) for one in (group.first, group.yearly, group.wear, group.over)} == {0}
    assert {group.p10, group.p50, group.p90} == {group.over.mean}


def test_the_field_is_three_of_them(springs: ChangeImpact) -> None:
    total = springs.total
    assert total.entrants == 3
    assert money(total.once) == approx(3 * ONCE)
    assert money(total.over.mean) == approx(3 * over(CASH, LEFT, ONCE), abs=0.02)
    assert total.payback == approx(ONCE / (144 / RATE))
    assert (total.losers, total.winners, total.losers_first) == (0, 3, 0)


def test_what_is_put_out(springs: ChangeImpact) -> None:
    # A at 3 of 4: (40 - 8) / 4 + 8 = 16, and they sell for 0.6 * 8
    (part,) = springs.stranded
    assert (part.part, part.entrants, part.left, part.brings) == ("SP-A", 3, Decimal(48), Decimal("14.40"))
    assert part.lost == Decimal("33.60")
    assert (only(springs).stranded, only(springs).brings) == (Decimal(16), Decimal("4.80"))


def test_at_once(springs: ChangeImpact) -> None:
    there = phase(springs, "at once")
    assert (there.once, there.first, there.over) == (springs.total.once, springs.total.first, springs.total.over)


def test_a_season_later(springs: ChangeImpact) -> None:
    # once a year later; cash a year later; at the end of the third year A have run 4 of 4 and B 5 of 8
    there = phase(springs, "next season")
    left = (48 * 3 / 8 + 12) - 8
    assert money(there.over.mean) == approx(3 * (ONCE / RATE + over((0, *CASH[:3]), left)), abs=0.02)
    assert money(there.first.mean) == 0
    assert money(there.stranded) == 3 * (32 / 2 + 8)  # ten events: at 2 of 4 again


def test_as_written_from_the_fourth_race_on(found: Impact) -> None:
    # from 20 April: three of six races are over, so half of a year's cost, and half of the year before's
    dated = found.changes[1]
    there = phase(dated, "as written")
    cash = tuple((now + before) / 2 for now, before in zip(CASH, (0, *CASH), strict=False))
    left = ((48 * 3 / 8 + 12) - 8 + LEFT) / 2
    assert money(there.once) == approx(3 * ONCE)
    assert money(there.first.mean) == approx(3 * (ONCE + cash[0]), abs=0.02)
    assert money(there.over.mean) == approx(3 * (ONCE / RATE**0.5 + over(cash, left)), abs=0.02)
    assert dated.total == found.changes[0].total  # costed as if from opening day


def test_as_the_old_ones_wear_out(springs: ChangeImpact) -> None:
    # A stay, three quarters worn, and wear on as B would: renewed before the events 3, 11, 19 and 27, 88 in each year
    # but the first; at the end B have run 2 of 8
    there = phase(springs, "when worn out")
    assert there.once == 0
    assert there.stranded == 0
    later = money(there.over.mean) - money(there.first.mean) / RATE
    assert later == approx(3 * over((0, -56, 16, -56), 48 * 6 / 8 + 12 - 16), abs=0.02)


def test_old_parts_that_wear_out_bring_no_more_than_they_sell_for(springs: ChangeImpact) -> None:
    # 60 and 40 less at most 8 for the old A, against 144
    assert money(phase(springs, "when worn out").first.mean) >= 3 * (60 + 40 - 8 - 144)


def test_how_often_the_engine_is_opened(springs: ChangeImpact) -> None:
    opened = {one.level: (one.before, one.after) for one in only(springs).opened}
    assert opened["springs"] == (7 / 4, 3 / 4)
    assert [(one.slot, one.before, one.after) for one in only(springs).intervals] == [("springs", 4, 8)]


def test_what_the_difference_is_made_of(springs: ChangeImpact) -> None:
    # seven renewals against three in four years: 40 - 8 and 60 - 12 for springs, 40 each for the level
    *rows, rest = only(springs).drivers
    assert {row.what: (row.before, row.after) for row in rows} == {
        "springs": (Decimal(32 * 7) / 4, Decimal(48 * 3) / 4),
        "level springs": (Decimal(40 * 7) / 4, Decimal(40 * 3) / 4),
    }
    assert (rest.before, rest.more) == (Decimal(-170), Decimal(0))


def test_nothing_changed(found: Impact) -> None:
    assert money(found.changes[2].total.over.mean) == 0


def test_a_box_on_the_shelf_is_put_out_at_its_price(tmp_path: Path) -> None:
    garage = FILES["garage.csv"] + "more-a,SP-A,,,4,2027-01-02,,\n"
    change = study(written(tmp_path, lives=SPRINGS_ALONE, garage=garage), "springs").changes[0]
    assert of_part(change, "SP-A") == (Decimal(3 * (16 + 40)), Decimal("86.40"))  # 0.6 * (8 + 40), of three


def of_part(change: ChangeImpact, part: str) -> tuple[Decimal, Decimal]:
    return next((one.left, one.brings) for one in change.stranded if one.part == part)


def test_ranges_from_numbers_haircuts_and_rises(tmp_path: Path) -> None:
    # Boxes never wear out in four years: 120 * (1 + rise) + 15 - 100 * (1 - haircut), of two to five
    folder = written(
        tmp_path,
        lives=FILES["catalog/lives.csv"].splitlines()[0] + "\n",
        survey="group,asks,low,likely,high\nlocals,entrants,2,3,5\n",
        supply="part,rise_low,rise,rise_high\nBOX-6,10 %,20 %,50 %\n",
        impact="years = 4\nhaircut = 0.4\nhaircut_low = 0.2\nhaircut_high = 0.6\ncorrelation = 0.5\nrpm_follows = 0\n",
    )
    impact = study(folder, "box")
    group, roll = of(impact, "locals"), impact.changes[0].total.roll
    end = float(only(impact.changes[0]).over.mean) - 99  # what is on hand at the end, the same at all ends
    assert money(group.once) == 120 * 1.2 + 15 - 60
    assert money(group.low) == approx(67 + end, abs=0.01)  # 132 + 15 - 80
    assert money(group.high) == approx(155 + end, abs=0.01)  # 180 + 15 - 40
    ends = (2 * (67 + end), 3 * (99 + end), 5 * (155 + end))
    assert [money(one) for one in (roll.range.low, roll.range.likely, roll.range.high)] == approx(ends, abs=0.03)
    mean = sum(ends) / 3
    low, likely, high = ends
    spread = ((low**2 + likely**2 + high**2 - low * likely - low * high - likely * high) / 18) ** 0.5
    assert money(roll.mean) == approx(mean, abs=0.02)
    assert money(roll.deviation) == approx(spread, abs=0.02)
    assert money(roll.p90) == approx(mean + 1.281552 * spread, abs=0.02)
    assert impact.changes[0].total.entrants == 3


def test_what_is_paid_for_a_price_rise(tmp_path: Path) -> None:
    # Springs B are 60 for four and a fifth more of a sole seller: at once, and in the years 2, 3 and 4
    folder = written(tmp_path, lives=SPRINGS_ALONE, supply="part,ready,rise\nSP-B,100,0.2\n")
    total = study(folder, "springs").changes[0].total
    assert money(total.risen) == approx(3 * (12 + sum(12 / RATE**year for year in (2, 3, 4))), abs=0.02)


def test_price_rises_count_in_what_is_bought_later_too(tmp_path: Path) -> None:
    # The same where springs B bring nothing when they are renewed: 60 at once and in the years 2, 3 and 4
    parts = FILES["catalog/parts.csv"].replace(
        "SP-B,spring,Dale,30,2027-01-10,2,14,0,3", "SP-B,spring,Dale,30,2027-01-10,2,14,0,0"
    )
    supply = "part,ready,rise_low,rise,rise_high\nSP-B,100,0,0.2,0.5\n"
    change = study(written(tmp_path, lives=SPRINGS_ALONE, parts=parts, supply=supply), "springs").changes[0]
    group, bought = only(change), 60 + sum(60 / RATE**year for year in (2, 3, 4))
    assert money(change.total.risen) == approx(3 * 0.2 * bought, abs=0.02)
    assert money(group.over.mean) - money(group.low) == approx(0.2 * bought, abs=0.02)
    assert money(group.high) - money(group.over.mean) == approx(0.3 * bought, abs=0.02)


@pytest.mark.parametrize(("loss", "winners"), [(0, 3), (130, 3), (135, 0)])
def test_who_gains_less_than_the_stated_sum_is_no_winner(tmp_path: Path, loss: int, winners: int) -> None:
    # each saves some 133 over the years
    folder = written(tmp_path, lives=SPRINGS_ALONE, impact=f"years = 4\nloss = {loss}\n")
    assert study(folder, "springs").changes[0].total.winners == winners


WINTER = "group,entrants,calendar\nlocals,3,calendar-winter.csv\n"


def test_what_the_winter_renews_anyway_differs_by_its_price_alone(tmp_path: Path) -> None:
    # Every winter the springs are renewed. A again before the fifth event of a year, B never: in later years 60 - 12
    # against 40 - 8 and 40 + 40 - 8; at the end A have run 3 of 4 and B 7 of 8
    group = only(study(written(tmp_path, lives=SPRINGS_ALONE, field=WINTER), "springs").changes[0])
    assert money(group.once) == 0
    assert money(group.yearly.mean) == (60 - 12) - (40 - 8) - (40 + 40 - 8)
    later = money(group.over.mean) - money(group.first.mean) / RATE
    assert later == approx(over((0, -56, -56, -56), 48 / 8 + 12 - 16), abs=0.01)


def test_in_the_first_winter_the_old_ones_are_sold_for_what_they_bring(tmp_path: Path) -> None:
    group = only(study(written(tmp_path, lives=SPRINGS_ALONE, field=WINTER), "springs").changes[0])
    assert money(group.first.mean) == (60 - 8) - (40 - 8) - (40 + 40 - 8)


def test_who_breaks_todays_book_pays_for_the_change_only_what_is_more(tmp_path: Path) -> None:
    # Springs A are out today already: 60 + 40 - 0.6 * 8. With the cam it is 60 + 150 + 30 + 25 + 120 - 0.6 * (80 + 8)
    rules = FILES["rules.toml"].replace('["SP-A", "SP-B", "SP-C"]', '["SP-B"]')
    impact = study(written(tmp_path, rules=rules, impact="years = 4\nhaircut_low = 0.1\n"), "springs", "both")
    springs, both = (only(change) for change in impact.changes)
    assert springs.once == 0
    assert springs.over.mean == 0
    assert springs.stranded == 0
    assert springs.brings == 0
    assert (springs.low, springs.high) == (springs.over.mean, springs.over.mean)
    assert money(both.once) == approx(332.20 - 95.20)
    assert (springs.now, springs.now_broken, both.after_broken) == ("breaks", ("springs",), ("springs", "cam"))
    assert money(both.over.mean) - money(both.low) == approx(0.3 * 80, abs=0.01)  # of the cam alone
    assert [part.part for part in impact.changes[1].stranded] == ["CAM-A"]
    assert money(impact.changes[1].stranded[0].left) == approx(3 * ((200 - 80) * 3.5 / 8 + 80))  # 4.5 of 8 hours


def test_a_quota_keeps_engines_shut(tmp_path: Path) -> None:
    change = study(written(tmp_path, lives=SPRINGS_ALONE), "quota").changes[0]
    opened = {one.level: (one.before, one.after) for one in only(change).opened}
    assert opened["springs"] == (7 / 4, 1)
    assert (only(change).swaps, money(only(change).once)) == ((), 0)


def test_an_old_part_that_outlasts_the_study_costs_nothing_as_it_wears_out(tmp_path: Path) -> None:
    # the box has 48 events left of 60, more than four years have; it stays at what it cost, and so does what is left
    lives = "".join(line for line in SURE.splitlines(keepends=True) if not line.startswith(("CAM", "SP")))
    (box,) = study(written(tmp_path, lives=lives), "box").changes
    there = phase(box, "when worn out")
    assert box.total.over.mean
    assert [float(one) for one in (there.once, there.first.mean, there.over.mean)] == [0.0, 0.0, 0.0]
