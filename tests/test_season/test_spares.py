"""Spares: what one is worth by hand, what is asked of the box against the Poisson formulas, and how a box is filled.

By hand: the show of two nights and a third race of `test_waiting`, where springs break on the first night and take two
days to come, so that without spares the second night is missed.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Iterator
from dataclasses import replace
from decimal import Decimal
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from costplan.formulas.spares import expected_backorders, probability_of_more
from costplan.scenario import read_scenario
from costplan.season import Season, machine
from costplan.season.arrays import as_drawn
from costplan.season.deciding.asked import asked_in, asked_in_these, reading_stage
from costplan.season.deciding.spares import spares_for
from costplan.season.deciding.spares_answer import Spares
from costplan.season.deciding.spares_box import with_stock
from costplan.season.deciding.spares_search import SCREEN
from costplan.season.drawn.comparing import burden_of
from costplan.season.drawn.drawing import ONE_BY_ONE, Quiet, draw, drawn_season
from costplan.season.drawn.figures import error_of
from tests.test_season.test_risk_by_hand import ENGINE, ages, damage

SeasonOf = Callable[..., Season]
DEMOS = Path(__file__).parents[2] / "scenarios"
#: Springs of two at 40.00; valves of four at 10.00, mended by a piece; 200 laps each. Both take two days.
SHOW: dict[str, Any] = {
    **ENGINE,
    "slots": "slot,part,pieces\nsprings,spring,2\nvalves,valve,4\nblock,block,1\n",
    "calendar": "event,date,kind,show,laps,purse\nnight one,2027-05-01,race,show,30,100\n"
    "night two,2027-05-02,race,show,40,200\nthree,2027-05-08,race,,50,100\n",
    "parts": "part,price,core_charge,resale,lead_days\nspring,40,0,4,2\nvalve,10,0,1,2\nblock,900,150,90,0\n",
    "lives": "part,measure,replace_at\nspring,laps,200\nvalve,laps,400\nblock,laps,1000\n",
    "positions": "slot,level,carrier,stops,renew_as\n"
    "springs,quick,engine,yes,set\nvalves,quick,engine,yes,piece\nblock,full,engine,yes,set\n",
    "levels": "level,rank,carrier,hours,labour\nquick,1,engine,8,25\nfull,2,engine,100,200\n",
}
#: Running night two wears 40 laps off what is above the resale of springs, valves and block: 72.00 * 40/200,
#: 36.00 * 40/400, 810.00 * 40/1000.
WEAR = Decimal("14.40") + Decimal("3.60") + Decimal("32.40")


def show(season_of: SeasonOf, fails: dict[str, list[float]], **tables: Any) -> Season:
    """The show, with the ages at which sets break, in every season that is drawn."""
    found = season_of(**{**SHOW, **tables})
    return replace(found, problem=found.problem._replace(fails_at=ages(found, fails)))


def by_hand(found: Season, money: str = "500", **more: Any) -> Spares:
    return spares_for(found, Decimal(money), 3, compiled=False, **more)


def added(found: Spares) -> list[tuple[tuple[str, int], ...]]:
    """Parts and packs of every step."""
    return [tuple((one.part, one.packs) for one in step.parts) for step in found.steps]


@pytest.fixture(scope="module")
def kart() -> Season:
    scenario, _ = read_scenario(DEMOS / "kart-single")
    assert scenario is not None
    assert scenario.compiled is not None
    return scenario.compiled


# --- by hand


def test_a_spare_is_worth_the_purse_of_the_night_that_it_saves_less_what_that_night_wears(season_of: SeasonOf) -> None:
    found = by_hand(show(season_of, {"springs": [20]}))
    assert added(found) == [(("spring", 2),)]
    (step,) = found.steps
    assert step.gain.saves == Decimal(200) - WEAR
    assert step.gain.error == 0
    assert step.gain.missed.mean == -1
    assert step.gain.used is not None
    assert step.gain.used.share == 1
    assert (step.price, step.at_risk, found.rest) == (Decimal("80.00"), Decimal("72.00"), Decimal("420.00"))
    assert found.whole is not None
    assert found.whole.saves == step.gain.saves


def test_a_result_counts_what_the_policy_says_it_is_worth(season_of: SeasonOf) -> None:
    policy = '[policy]\nearly = "off"\nresult_worth = 30\n'
    (step,) = by_hand(show(season_of, {"springs": [20]}, scenario=policy)).steps
    assert step.gain.saves == Decimal(200) + 30 - WEAR


def test_where_a_missed_night_costs_less_than_it_brings_no_spare_pays(season_of: SeasonOf) -> None:
    found = by_hand(show(season_of, {"springs": [20]}, calendar=SHOW["calendar"].replace(",40,200", ",40,50")))
    assert added(found) == []
    (spring,) = (one for one in found.others if [part.part for part in one.parts] == ["spring"])
    assert spring.gain.saves == Decimal(50) - WEAR
    assert spring.gain.missed.mean == -1
    assert found.at_best is not None
    assert found.at_best.saves == Decimal(50) - WEAR


def test_what_cannot_be_bought_for_the_sum_is_not_and_what_it_would_bring_is_shown(season_of: SeasonOf) -> None:
    found = by_hand(show(season_of, {"springs": [20]}), "79.99")
    assert (added(found), found.rest, found.whole) == ([], Decimal("79.99"), None)
    assert found.others[0].gain.saves == Decimal(200) - WEAR


def test_a_deposit_must_be_paid_but_is_the_same_deposit_later(season_of: SeasonOf) -> None:
    found = show(season_of, {"springs": [20]}, parts=SHOW["parts"].replace("spring,40,0,", "spring,40,10,"))
    (step,) = by_hand(found, "100").steps
    assert (step.price, step.deposit, step.gain.saves) == (Decimal("80.00"), Decimal("20.00"), Decimal(200) - WEAR)
    assert by_hand(found, "99").steps == ()


def test_what_a_set_is_mended_by_is_carried_by_the_piece(season_of: SeasonOf) -> None:
    found = by_hand(show(season_of, {"valves": [20]}))
    assert added(found) == [(("valve", 1),)]
    assert found.steps[0].price == Decimal("10.00")


def test_only_whole_packs_are_bought(season_of: SeasonOf) -> None:
    parts = "part,price,pack,lead_days\nspring,200,6,2\nvalve,10,1,2\nblock,900,1,0\n"
    (step,) = by_hand(show(season_of, {"springs": [20]}, parts=parts)).steps
    assert [(one.packs, one.pieces) for one in step.parts] == [(1, 6)]
    assert step.price == Decimal("200.00")


def test_parts_that_are_waited_for_together_are_taken_together(season_of: SeasonOf) -> None:
    """Springs that break take the valves along: with either of them in the box, the other is still waited for."""
    rows = damage("springs,chain of it,1,valves,,,,,,")
    found = by_hand(show(season_of, {"springs": [20]}, damage=rows))
    assert added(found) == [(("spring", 2), ("valve", 1))]
    assert found.steps[0].gain.saves == Decimal(200) - WEAR
    assert found.boxes is not None
    assert not found.boxes.better
    alone = {
        part: by_hand(with_stock(show(season_of, {"springs": [20]}, damage=rows), {part: 2}), "0")
        for part in ("spring", "valve")
    }
    assert [one.box[0].gain.saves for one in alone.values()] == [0, 0]


def test_what_lies_in_the_box_is_worth_what_the_season_saves_with_it(season_of: SeasonOf) -> None:
    garage = "piece,part,count,laps\nbox,spring,2,0\nold,block,1,15\n"
    found = by_hand(show(season_of, {"springs": [20]}, garage=garage))
    box = {one.part: one for one in found.box}
    assert (box["spring"].pieces, box["spring"].value) == (2, Decimal("80.00"))
    assert box["spring"].gain.saves == Decimal(200) - WEAR
    assert box["block"].used_sets == 1
    assert [box["block"].value, box["block"].gain.saves] == [0, 0]
    assert added(found) == []


def test_more_in_the_box_is_valued_at_what_it_costs_and_the_season_is_left_alone(kart: Season) -> None:
    item = [one.name for one in kart.items].index("KS-SP1")
    before = int(kart.start.stock[item]), int(kart.start.stock_value[item])
    found = with_stock(kart, {"KS-SP1": 4})
    assert (found.start.stock[item], found.start.stock_value[item]) == (before[0] + 4, before[1] + 4400)
    assert (kart.start.stock[item], kart.start.stock_value[item]) == before
    assert with_stock(found, {"KS-SP1": -7}).start.stock_value[item] == 0


# --- what is kept in the box


def boxed(season_of: SeasonOf, kept: str, laps: int = 0, **tables: Any) -> Season:
    """The show with two springs in the box, kept or not, and springs in the engine that have run so many laps."""
    garage = f"piece,part,engine,slot,count,laps,spare\nbox,spring,,,2,0,{kept}\nold,spring,engine,springs,,{laps},\n"
    return season_of(**{**SHOW, "garage": garage, **tables})


def springs_of(found: Season, fails: dict[str, list[float]] = {}) -> tuple[list[tuple[int, int, int]], int, list[int]]:  # noqa: B006
    """Renewals of springs (run, cause, packs bought), springs left in the box at the end, and what ran."""
    found = replace(found, problem=found.problem._replace(fails_at=ages(found, fails)))
    state, spring = drawn_season(found, 0), [item.name for item in found.items].index("spring")
    rows = [row for row in state.renewals[: state.n_renewals[0]].tolist() if row[11] == spring]
    return [(row[0], row[3], row[5]) for row in rows], int(state.stock[spring]), state.ran.tolist()


@pytest.mark.parametrize(("kept", "bought", "left"), [("yes", 2, 2), ("", 0, 0)])
def test_planned_work_leaves_a_spare_and_buys(season_of: SeasonOf, kept: str, bought: int, left: int) -> None:
    """With 190 of 200 laps run, springs are due before the first night of 30."""
    assert springs_of(boxed(season_of, kept, 190)) == ([(0, machine.PLANNED, bought)], left, [0, 0, 0])


def test_what_breaks_takes_the_spare_and_the_night_is_run(season_of: SeasonOf) -> None:
    """Broken on the first night: there are the 8 hours of the level, but not the two days of a part."""
    assert springs_of(boxed(season_of, "yes"), {"springs": [20]}) == ([(1, machine.FAILURE, 0)], 0, [0, 0, 0])
    found = season_of(**SHOW)
    assert springs_of(found, {"springs": [20]})[2] == [0, -1, 0]


def test_what_is_planned_beside_something_broken_takes_the_spare_too(season_of: SeasonOf) -> None:
    """A valve breaks on the first night; springs with 150 laps are due before the second, and are to be there."""
    found = boxed(season_of, "yes", 150)
    assert springs_of(found, {"valves": [20]}) == ([(1, machine.PLANNED, 0)], 0, [0, -1, 0])


def test_what_a_check_finds_takes_the_spare(season_of: SeasonOf) -> None:
    """Springs end at 100 laps, and from 70 on it can be seen: before the last run they have run as many."""
    found = boxed(
        season_of,
        "yes",
        lives="part,measure,replace_at,warning\nspring,laps,200,0.3\nvalve,laps,400,\nblock,laps,1000,\n",
        levels="level,rank,carrier,hours,labour,dates,checks,sees\nquick,1,engine,8,25,2027-05-06,springs,1\n"
        "full,2,engine,100,200,,,\n",
    )
    assert springs_of(found, {"springs": [100]}) == ([(2, machine.FOUND, 0)], 0, [0, 0, 0])


@pytest.mark.parametrize(("kept", "kits"), [("yes", 1), ("", 0)])
def test_a_kit_is_judged_beside_what_is_kept(season_of: SeasonOf, kept: str, kits: int) -> None:
    """A kit of two springs for 70.00 saves 10.00 against packs, where planned work may not take those in the box."""
    found = boxed(
        season_of,
        kept,
        190,
        catalog={
            "kits": "kit,supplier,price,price_date\nset,shop,70,2027-01-01\n",
            "kit_contains": "kit,part,pieces\nset,spring,2\n",
        },
    )
    state, spring = drawn_season(found, 0), [item.name for item in found.items].index("spring")
    assert int(state.n_kits[0]) == kits
    assert int(state.stock[spring]) == 2 * kits


def test_what_is_added_is_kept_beside_what_was(season_of: SeasonOf) -> None:
    found = with_stock(boxed(season_of, "", 190), {"spring": 2})
    spring = [item.name for item in found.items].index("spring")
    assert (found.start.stock[spring], found.problem.keep[spring]) == (4, 2)
    assert springs_of(found) == ([(0, machine.PLANNED, 0)], 2, [0, 0, 0])


# --- what is asked for, against the formulas


@pytest.mark.parametrize("stock", [0, 1, 2])
def test_demand_at_a_steady_rate_runs_short_as_poisson_has_it(season_of: SeasonOf, stock: int) -> None:
    """One position without memory (shape 1) that is never renewed unless it breaks, over a hundred runs of ten laps.

    A new set and an old one break alike, in each run with p = 1 - exp(-10 / scale), and no more than once in it: what
    breaks is put right in the gap after it, at once, since the part takes no time. So the needs N of a season are
    binomial of 100 and p, within p of Poisson with the same mean (Le Cam: the sum of p^2, here 0.0003 in all, bounds
    half the distance), and the box of s runs short if N > s, by N - s sets, which are bought.
    """
    days = (f"e{n},{2027 + n // 50}-{1 + n % 50 // 25:02d}-{1 + n % 25:02d},10" for n in range(100))
    found = season_of(
        calendar="\n".join(["event,date,laps", *days]) + "\n",
        slots="slot,part,pieces\nsprings,spring,2\n",
        parts="part,price,lead_days\nspring,40,0\n",
        lives="part,measure,replace_at,risk,shape\nspring,laps,500,0.5,1\n",
        levels="level,rank,carrier,hours,labour\nquick,1,engine,1,0\n",
        positions="slot,level,carrier,renewal,stops,renew_as\nsprings,quick,engine,run to failure,no,set\n",
    )
    (scale,) = found.problem.scale
    mean = 100 * (1 - math.exp(-10 / float(scale)))
    asked = asked_in(with_stock(found, {"spring": 2 * stock}), 4000, 5)
    wanted, short = asked.wanted[:, 0] / 2, asked.short[:, 0] / 2
    assert abs(wanted.mean() - mean) < 4 * error_of(wanted)
    ran_short = (short > 0).astype(float)
    assert abs(ran_short.mean() - probability_of_more(mean, stock)) < 4 * error_of(ran_short)
    assert abs(short.mean() - expected_backorders(mean, stock)) < 4 * error_of(short)
    assert (short == np.maximum(0, wanted - stock)).all()


def test_the_log_is_read_alike_compiled_and_plain(kart: Season) -> None:
    plain, made = (asked_in(kart, 30, 3, compiled=compiled) for compiled in (False, True))
    for name in ("wanted", "short", "planned", "opened", "late", "stock", "used", "bound"):
        assert (getattr(plain, name) == getattr(made, name)).all(), name
    assert plain.together == made.together
    assert plain.wanted.any()


# --- what holds of every season


def first_missed(season: Season, number: int) -> int:
    """The first run for which no engine was ready; the number of runs if there is none."""
    state = drawn_season(season, number)
    missed = np.flatnonzero(state.ran == -1)
    return int(missed[0]) if missed.size else len(season.runs)


def test_with_more_in_the_box_the_first_missed_race_never_comes_earlier(kart: Season) -> None:
    """Up to it both seasons are the same but for the box. From then on they are not: who runs more wears more."""
    waits = replace(kart, problem=kart.problem._replace(lead_hours=np.full_like(kart.problem.lead_hours, 500.0)))
    full = with_stock(waits, {item.name: 2 * item.pack for item in kart.items if item.offers})
    pairs = [(first_missed(waits, number), first_missed(full, number)) for number in range(60)]
    assert all(having >= without for without, having in pairs)
    assert any(having > without for without, having in pairs)


def test_what_is_never_needed_is_worth_nothing_to_the_last_cent(season_of: SeasonOf) -> None:
    found = show(season_of, {"springs": [20]})
    having = with_stock(found, {"block": 1})
    states = [drawn_season(one, 0) for one in (found, having)]
    left = [machine.seasons.worth_left(as_drawn(found, 1), state) for state in states]
    assert left[1] - left[0] == 90000
    assert states[0].tally_cause.tolist() == states[1].tally_cause.tolist()
    assert "block" not in {part.part for one in by_hand(found).others for part in one.parts}


def test_only_seasons_that_wait_for_a_part_are_another_with_it(kart: Season) -> None:
    """Pieces of the kart that come in no kit cost the same all year: what is not played anew is the same."""
    waits = replace(kart, problem=kart.problem._replace(lead_hours=np.full_like(kart.problem.lead_hours, 500.0)))
    asked, plain = asked_in(waits, 200, 3), draw(waits, 200, 3)
    in_kits, other = waits.problem.kit_pieces.sum(axis=0), 0
    assert 0 < np.count_nonzero(in_kits) < len(waits.items)
    for number, item in enumerate(waits.items):
        if item.offers and item.pack == 1 and not in_kits[number]:
            having = draw(with_stock(waits, {item.name: 1}), 200, 3)
            deposits = (having.cause - plain.cause)[:, machine.CAUSES.index("deposit")]
            saved = burden_of(plain) - burden_of(having) + deposits - item.prices[0]
            in_time = ~asked.late[:, number]
            assert abs(saved[in_time]).max(initial=0) < 1e-6, item.name
            assert (having.misses == plain.misses)[in_time].all()
            other += int((saved != 0).sum())
    assert other


def test_a_log_of_some_seasons_takes_their_place_in_another(kart: Season) -> None:
    stage, numbers = reading_stage(kart), np.array([1, 4, 5])
    whole, some = asked_in(kart, 8, 3), asked_in_these(kart, np.array([1, 4, 5]), 3, stage)
    other = asked_in(kart, 8, 4).with_these(numbers, some)
    assert (other.wanted[numbers] == whole.wanted[numbers]).all()
    assert [other.together[n] for n in numbers] == [whole.together[n] for n in numbers]


# --- the search


def test_a_seed_gives_the_same_answer_again_and_compiled_too(kart: Season) -> None:
    worth = replace(kart, result_worth=300_000)
    first = spares_for(worth, Decimal(300), 750, 4)
    assert first == spares_for(worth, Decimal(300), 750, 4)
    assert first.steps
    assert first.price + first.rest == 300
    plain = spares_for(worth, Decimal(300), 20, 4, compiled=False)
    assert plain == spares_for(worth, Decimal(300), 20, 4)


def test_what_is_chosen_is_judged_on_other_seasons(kart: Season) -> None:
    found = spares_for(replace(kart, result_worth=300_000), Decimal(300), 750, 4)
    assert found.whole is not None
    assert found.fresh == 4 + 2**31
    assert found.whole.saves != sum(step.gain.saves for step in found.steps)


def test_it_stops_when_nothing_that_is_left_pays_or_the_sum_is_used_up(kart: Season) -> None:
    found = spares_for(replace(kart, result_worth=300_000), Decimal(300), SCREEN, 4)
    assert found.steps
    assert all(step.gain.pays for step in found.steps)
    assert [one for one in found.others if one.gain.pays and one.price <= found.rest] == []


def test_a_season_without_parts_has_nothing_to_carry(season_of: SeasonOf) -> None:
    found = by_hand(
        season_of(
            calendar="event,date,laps\none,2027-05-01,30\n", services="service,measure,every,price\noil,events,2,40\n"
        )
    )
    assert (found.box, found.steps, found.others, found.demand) == ((), (), (), ())


def test_stopped_it_tells_what_was_found_until_then(season_of: SeasonOf) -> None:
    def stopped(items: Iterable[Any], words: str) -> Iterator[Any]:
        if "not taken" in words:
            raise KeyboardInterrupt
        return iter(items)

    found = by_hand(show(season_of, {"springs": [20]}), each=stopped)
    assert found.interrupted
    assert added(found) == [(("spring", 2),)]
    assert found.others == ()


def test_stopped_while_the_first_seasons_are_drawn_nothing_else_is(kart: Season) -> None:
    class Stopped(Quiet):
        def drawing(self, blocks: Iterator[Any], seasons: int) -> Iterator[Any]:  # noqa: ARG002
            yield next(blocks)
            raise KeyboardInterrupt

    found = spares_for(kart, Decimal(300), 600, compiled=False, watch=Stopped())
    assert (found.interrupted, found.seasons, found.asked, found.steps) == (True, 250, 600, ())


@pytest.mark.parametrize("seasons", [0, ONE_BY_ONE + 1])
def test_no_more_seasons_than_are_kept_one_by_one(kart: Season, seasons: int) -> None:
    with pytest.raises(ValueError, match="seasons are drawn"):
        spares_for(kart, Decimal(300), seasons)
