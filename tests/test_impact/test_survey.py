"""What a survey says takes the place of its group's row; ages are drawn from it for each entrant and thing."""

from __future__ import annotations

from decimal import Decimal
from pathlib import Path

import numpy as np
from pytest import approx

from costplan.impact.ages import Entrant, as_it_is, entrants_of
from costplan.impact.field import Crowd
from costplan.impact.records import Range
from costplan.impact.sides import beginning
from costplan.season import Season
from tests.test_impact.small_field import desk, field_of, of, study, with_count, written

FIELD = "group,entrants,age_low,age_high,budget,leaves_above\nlocals,3,0.1,0.3,100,50\nothers,2,,,,\n"
SURVEY = "group,asks,low,likely,high,answers,date,source\n"
SPRINGS, CAM, BOX = ("blue", "springs"), ("blue", "cam"), ("car", "box")


def crowd_of(folder: Path, *rows: str) -> Crowd:
    return field_of(written(folder, field=FIELD, survey=SURVEY + "".join(f"{row}\n" for row in rows)), "cam").crowds[0]


def range_of(low: str, likely: str, high: str) -> Range:
    return Range(Decimal(low), Decimal(likely), Decimal(high))


def season_of(crowd: Crowd) -> Season:
    assert crowd.scenario.compiled is not None
    return crowd.scenario.compiled


def test_without_a_survey_the_row_holds(tmp_path: Path) -> None:
    crowd = crowd_of(tmp_path)
    assert (crowd.count, crowd.entrants, crowd.ages) == (3, range_of("3", "3", "3"), range_of("0.1", "0.2", "0.3"))
    assert crowd.budget == 100
    assert crowd.leaves_above == 50
    assert crowd.assumed


def test_answers_take_the_place_of_the_row(tmp_path: Path) -> None:
    crowd = crowd_of(
        tmp_path,
        "locals,entrants,4,6,9,12,2027-01-05,club",
        "locals,age,10 %,40 %,80 %,12,,",
        "locals,budget,0,250,900,12,,",
        "locals,leaves_above,200,300,400,12,,",
    )
    assert (crowd.count, crowd.entrants) == (6, range_of("4", "6", "9"))
    assert crowd.ages == range_of("0.1", "0.4", "0.8")
    assert crowd.budget == 250
    assert crowd.leaves_above == 300
    assert not crowd.assumed


def test_other_groups_keep_their_rows(tmp_path: Path) -> None:
    folder = written(tmp_path, field=FIELD, survey=SURVEY + "locals,entrants,4,6,9,,,\n")
    _, others = field_of(folder, "cam").crowds
    assert (others.count, others.told, others.ages) == (2, (), None)
    assert study(folder, "cam").entrants == 8


def test_who_would_leave_is_counted_by_the_survey(tmp_path: Path) -> None:
    base = written(tmp_path, field=FIELD, survey=SURVEY + "locals,leaves_above,0,100000,100000,,,\n")
    assert of(study(base, "cam"), "locals").leaving == 0
    low = written(tmp_path, field=FIELD, survey=SURVEY + "locals,leaves_above,0,0,1,,,\n")
    assert of(study(low, "cam"), "locals").leaving == of(study(low, "cam"), "locals").losers_first


def test_ages_lie_in_their_range_and_are_triangular(tmp_path: Path) -> None:
    crowd = with_count(crowd_of(tmp_path, "locals,age,0.1,0.4,0.8,12,,"), 4000)
    drawn = [one.shares[CAM] for one in entrants_of(crowd, season_of(crowd), 7) if one.shares]
    shares = np.array(drawn)
    low, likely, high = 0.1, 0.4, 0.8
    assert shares.min() >= low
    assert shares.max() <= high
    spread = ((low**2 + likely**2 + high**2 - low * likely - low * high - likely * high) / 18) ** 0.5
    assert shares.mean() == approx((low + likely + high) / 3, abs=4 * spread / len(shares) ** 0.5)
    assert shares.std() == approx(spread, rel=0.04)
    below = (likely - low) / (high - low)  # the share that lies below the likely one
    assert np.mean(shares < likely) == approx(below, abs=4 * (below * (1 - below) / len(shares)) ** 0.5)


def test_ages_of_a_few_are_spread_over_all_of_the_range(tmp_path: Path) -> None:
    # of eight entrants one in each eighth of what is likely, for every thing
    crowd = with_count(crowd_of(tmp_path, "locals,age,0,1,1,12,,"), 8)  # the chance to be at most x is x * x
    entrants = entrants_of(crowd, season_of(crowd), 3)
    orders = [[int(8 * (one.shares or {})[thing] ** 2) for one in entrants] for thing in (SPRINGS, CAM, BOX)]
    assert [sorted(order) for order in orders] == [list(range(8))] * 3
    assert len({tuple(order) for order in orders}) == 3


def test_each_thing_of_each_entrant_has_an_age_of_its_own_by_the_seed(tmp_path: Path) -> None:
    crowd = crowd_of(tmp_path)
    now = season_of(crowd)
    one, two, three = entrants_of(crowd, now, 1)
    shares = [each.shares or {} for each in (one, two, three)]
    assert len({each[thing] for each in shares for thing in (SPRINGS, CAM, BOX)}) == 9
    assert entrants_of(crowd, now, 1) == (one, two, three)
    assert entrants_of(crowd, now, 2)[0].shares != one.shares


def test_things_begin_at_their_share_of_their_renewal_use(tmp_path: Path) -> None:
    crowd = crowd_of(tmp_path)
    now = season_of(crowd)
    entrant = entrants_of(crowd, now, 1)[0]
    begun = as_it_is(now, entrant)
    uses = {"springs": 4, "cam": 8, "box": 60}
    for c, carrier, p, spot in begun.positions():
        (life,) = begun.lives(p)
        assert entrant.shares is not None
        assert begun.start.age[c, life] == approx(entrant.shares[carrier, spot.slot] * uses[spot.slot])
    assert now.start.age.tolist() != begun.start.age.tolist()  # what was compiled stays as it is


def test_ages_are_the_same_on_all_sides_but_for_what_is_new(tmp_path: Path) -> None:
    field = field_of(written(tmp_path, field=FIELD), "springs", "box")
    made = desk(field)
    group = made.groups[0]
    now = season_of(group.crowd)
    entrant = entrants_of(group.crowd, now, 1)[0]
    before = ages(as_it_is(now, entrant))
    assert group.today.complying is not None
    assert ages(beginning(group.today.complying.side, entrant, now)) == before
    for under, new in zip(group.changed, (SPRINGS, BOX), strict=True):
        assert under.complying is not None
        after = ages(beginning(under.complying.side, entrant, now))
        assert after == {**before, new: 0}


def ages(season: Season) -> dict[tuple[str, str], float]:
    return {
        (carrier, spot.slot): float(season.start.age[c, season.lives(p)[0]])
        for c, carrier, p, spot in season.positions()
    }


def test_without_a_range_of_ages_all_begin_as_the_garage_has_it(tmp_path: Path) -> None:
    _, others = field_of(written(tmp_path, field=FIELD), "cam").crowds
    now = season_of(others)
    assert entrants_of(others, now, 1) == (Entrant("others", 0, None), Entrant("others", 1, None))
    assert as_it_is(now, Entrant("others", 0, None)) is now
    assert ages(now) == {SPRINGS: 3, CAM: 4.5, BOX: 12}
