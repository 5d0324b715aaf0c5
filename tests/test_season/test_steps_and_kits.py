"""Service steps, companions, alternates, kits and dated prices in the season, worked by hand to the cent.

Three events a week apart run 30, 40 and 50 laps; a gap of 158 hours lies between them. B is the balance of a set,
(cost - resale) * (1 - worn share).
"""

from __future__ import annotations

import copy
from collections.abc import Callable
from decimal import Decimal

import numpy as np
import pytest

from costplan.season import Season, machine, make_plan, play_plan
from costplan.season.jobs import jobs_of
from costplan.season.ledger import Account, Ledger, write_ledger

SeasonOf = Callable[..., Season]

CALENDAR = """\
event,date,laps
one,2027-05-01,30
two,2027-05-08,40
three,2027-05-15,50
"""
OFF = '[policy]\nearly = "off"\n'
BLOCK = "slot,part,pieces\nblock,block,1\npistons,piston,4\n"
LEVELS = "level,rank,hours\nrebuild,1,100\n"
REACHED = "slot,level\nblock,rebuild\npistons,rebuild\n"
PARTS = "part,price,resale,core_charge\nblock,200,20,7\npiston,10,0,0\n"
OPERATIONS = "operation,role,price,price_date\nhone,block,15,2027-01-01\nbore,block,25,2027-01-01\n"
STEPS = "role,step,operation,factor,renew_with,mends\nblock,1,hone,0.8,,no\nblock,2,bore,0.6,piston,yes\n"
PATH = {"operations": OPERATIONS, "service_steps": STEPS}


def cash(season: Season, state: machine.State | None = None) -> list[tuple[str, str, str, str, str]]:
    """Event, slot, part, cause and amount of every cash row, in the order of the season."""
    ledger = write_ledger(season, state or play_plan(season))
    return [(row.event, row.slot, row.part, row.cause, str(row.amount)) for row in ledger.of("cash")]


def wear(ledger: Ledger, slot: str) -> list[tuple[str, str, str]]:
    """Event, cause and amount of a slot's wear rows, in the order of the season, what is unused first."""
    rows = [row for row in ledger.of("wear") if row.slot == slot]
    rows.sort(key=lambda row: (row.date, row.cause != "unused life"))
    return [(row.event, row.cause, str(row.amount)) for row in rows]


def account(ledger: Ledger, slot: str) -> Account:
    (found,) = [one for one in ledger.accounts if one.slot == slot]
    assert found.opening + found.paid - found.used - found.unused == found.closing
    return found


def blocks(season_of: SeasonOf, lives: str = "part,measure,replace_at\nblock,laps,60\n", **more: str) -> Season:
    return season_of(
        calendar=CALENDAR,
        levels=LEVELS,
        slots=BLOCK,
        parts=PARTS,
        lives=lives,
        positions=REACHED,
        catalog=PATH,
        scenario=OFF,
        **more,
    )


def test_a_worn_set_goes_through_its_steps_before_another_is_bought(season_of: SeasonOf) -> None:
    season = blocks(season_of)
    # before two 30 + 40 > 60: hone; its life is 48 then: before three 40 + 50 > 48: bore, with new pistons
    assert cash(season) == [
        ("two", "block", "block", "planned", "15.00"),
        ("three", "block", "block", "planned", "25.00"),
        ("three", "pistons", "piston", "planned", "40.00"),
    ]
    ledger = write_ledger(season, play_plan(season))
    # The 180 above resale are spread over 1 + 0.8 + 0.6 = 2.4 lives, the work of a step over the life after it.
    # one: 180 * 0.5 / 2.4. Before two half a life is left and lost; then 40/48 of 180 * 0.8 / 2.4 + 15 are used.
    # Before three a sixth of that is lost; 50 laps are more than 0.6 * 60 = 36: all of 180 * 0.6 / 2.4 + 25.
    assert wear(ledger, "block") == [
        ("one", "life used", "37.50"),
        ("two", "unused life", "37.50"),
        ("two", "life used", "62.50"),
        ("three", "unused life", "12.50"),
        ("three", "life used", "70.00"),
    ]
    found = account(ledger, "block")
    assert (found.opening, found.paid, found.closing) == (Decimal(180), Decimal(40), Decimal(0))


def test_a_job_names_the_step_and_what_changes_with_it(season_of: SeasonOf) -> None:
    season = blocks(season_of)
    jobs = jobs_of(season, play_plan(season))
    assert [[(done.slot, done.operation, done.why) for done in job.renewals] for job in jobs] == [
        [("block", "hone", "50% of 60 laps")],
        [("block", "bore", "83% of 48 laps"), ("pistons", "", "with block")],
    ]


def test_at_the_end_of_the_path_another_set_is_bought(season_of: SeasonOf) -> None:
    garage = "piece,part,engine,slot,laps,step\nold,block,engine,block,0,2\n"
    season = blocks(season_of, garage=garage)
    # its life is 0.6 * 60 = 36: before two 30 + 40 > 36 a new block, whose life is 60: before three hone it
    assert cash(season) == [
        ("two", "block", "block", "planned", "200.00"),
        ("two", "block", "block", "deposit", "7.00"),
        ("two", "block", "block", "refund", "-7.00"),
        ("two", "block", "block", "income", "-20.00"),
        ("three", "block", "block", "planned", "15.00"),
    ]


def test_no_step_takes_a_set_past_its_hard_limit(season_of: SeasonOf) -> None:
    lives = "part,measure,replace_at,limit\nblock,laps,60,80\n"
    # before two hone: 30 laps, 70 after two, within 80; before three 70 + 50 > 80, and boring would not help
    assert [row[1:] for row in cash(blocks(season_of, lives)) if row[3] == "planned"] == [
        ("block", "block", "planned", "15.00"),
        ("block", "block", "planned", "200.00"),
    ]


@pytest.mark.parametrize(
    ("step", "bought"),
    [
        (0, [("failure", "200.00"), ("deposit", "7.00")]),  # honing does not mend
        (1, [("failure", "25.00")]),  # boring does
    ],
)
def test_a_failure_is_mended_by_a_step_only_where_the_step_mends(
    season_of: SeasonOf, step: int, bought: list[tuple[str, str]]
) -> None:
    garage = f"piece,part,engine,slot,laps,step\nold,block,engine,block,0,{step}\n"
    season = blocks(season_of, "part,measure,replace_at\nblock,laps,400\n", garage=garage)
    fails_at = np.full((*season.start.age.shape, 2), np.inf)
    fails_at[0, season.lives(0)[0], 0] = 20 / (1.0, 0.8)[step]  # an age as new: a step ages it by its factor
    state = copy.deepcopy(season.start)
    machine.play(season.problem._replace(fails_at=fails_at), state)
    assert [row[3:] for row in cash(season, state) if row[1] == "block"] == bought
    # what changes with the step changes here too, and was whole
    pistons = [row[3:] for row in cash(season, state) if row[1] == "pistons"]
    assert pistons == ([("failure", "40.00")] if step else [])


BORED = {
    "operations": OPERATIONS,
    "service_steps": "role,step,operation,factor,renew_with,parts\nblock,1,bore,0.6,piston,big-piston\n",
    "big": "part,role,supplier,price,price_date\nbig-piston,piston,shop,12,2027-01-01\n",
}


def bored(season_of: SeasonOf, **more: str) -> Season:
    lives = "part,measure,replace_at\nblock,laps,60\n"
    fixed = {"levels": LEVELS, "slots": BLOCK, "parts": PARTS, "lives": lives, "positions": REACHED, "scenario": OFF}
    return season_of(calendar=CALENDAR, **fixed, catalog=BORED, **more)


def test_a_step_puts_in_another_part_and_a_new_set_the_planned_one_again(season_of: SeasonOf) -> None:
    season = bored(season_of)
    # before two the block is bored and takes big pistons, 4 * 12; its life is 36 then: before three 40 + 50 > 36, a
    # new block, into which the big pistons do not go
    assert [row for row in cash(season) if row[3] == "planned"] == [
        ("two", "block", "block", "planned", "25.00"),
        ("two", "pistons", "big-piston", "planned", "48.00"),
        ("three", "block", "block", "planned", "200.00"),
        ("three", "pistons", "piston", "planned", "40.00"),
    ]
    plan = make_plan(season, season.opening)
    assert [(bought.part, bought.packs) for bought in plan.purchases] == [
        ("big-piston", 4),
        ("block", 1),
        ("piston", 4),
    ]
    assert [line.part for line in plan.life_used] == ["block"]
    assert "big-piston lives as long as the part it follows" in {entry.what for entry in plan.assumed}


@pytest.mark.parametrize(
    ("row", "value"),
    [
        ("", "48.00"),  # nothing said: what goes with a block that has been bored
        ("in it,big-piston,engine,pistons,0,0\n", "48.00"),
        ("in it,piston,engine,pistons,0,0\n", "40.00"),  # the garage knows better
    ],
)
def test_an_engine_opens_with_the_parts_that_go_with_its_steps(season_of: SeasonOf, row: str, value: str) -> None:
    garage = f"piece,part,engine,slot,laps,step\nold,block,engine,block,0,1\n{row}"
    found = account(write_ledger(*opened(bored(season_of, garage=garage))), "pistons")
    assert found.opening == Decimal(value)


def opened(season: Season) -> tuple[Season, machine.State]:
    return season, play_plan(season)


def test_what_is_renewed_takes_its_companions_along(season_of: SeasonOf) -> None:
    season = season_of(
        calendar=CALENDAR,
        levels="level,rank,hours\nfreshen,1,100\n",
        slots="slot,part,pieces\ncam,cam,1\nlifters,lifter,2\npushrods,pushrod,2\nrings,ring,1\n",
        parts="part,price\ncam,90\nlifter,10\npushrod,4\nring,7\n",
        lives="part,measure,replace_at\ncam,laps,100\n",
        positions="slot,level,renew_with\ncam,freshen,lifters\nlifters,freshen,pushrods\n"
        "pushrods,freshen,\nrings,freshen,cam\n",
        scenario=OFF,
    )
    # before three 30 + 40 + 50 > 100: the cam, its lifters, and their pushrods; rings draw the cam, not the reverse
    assert cash(season) == [
        ("three", "cam", "cam", "planned", "90.00"),
        ("three", "lifters", "lifter", "planned", "20.00"),
        ("three", "pushrods", "pushrod", "planned", "8.00"),
    ]
    (job,) = jobs_of(season, play_plan(season))
    assert [done.why for done in job.renewals] == ["70% of 100 laps", "with cam", "with lifters"]


def test_alternates_age_in_the_runs_that_they_serve(season_of: SeasonOf) -> None:
    season = season_of(
        calendar="event,date,laps,setup\none,2027-05-01,30,\ntwo,2027-05-08,40,tight\nthree,2027-05-15,50,\n",
        levels="level,rank\nbench,1\n",
        slots="slot,part,pieces,alternate,serves\ncarb,carb,1,big,\ncarb,carb,1,small,tight\n",
        parts="part,price\ncarb,100\n",
        lives="part,measure,replace_at\ncarb,laps,75\n",
        positions="slot,level\ncarb,bench\n",
        garage="piece,part,engine,slot,alternate,laps\nolder,carb,engine,carb,small,50\n",
        scenario=OFF,
    )
    # small: before two 50 + 40 > 75; big: before three 30 + 50 > 75
    assert cash(season) == [
        ("two", "carb/small", "carb", "planned", "100.00"),
        ("three", "carb", "carb", "planned", "100.00"),
    ]
    ledger = write_ledger(season, play_plan(season))
    assert [row[:2] for row in wear(ledger, "carb")] == [
        ("one", "life used"),
        ("three", "unused life"),
        ("three", "life used"),
    ]
    assert [row[:2] for row in wear(ledger, "carb/small")] == [("two", "unused life"), ("two", "life used")]


FRESHEN = {
    "levels": "level,rank,interval,measure,hours,renews\nfreshen,1,60,laps,100,rings bearings\n",
    "slots": "slot,part,pieces\nrings,ring,1\nbearings,bearing,2\n",
    "parts": "part,price\nring,30\nbearing,10\n",
    "positions": "slot,level\nrings,freshen\nbearings,freshen\n",
    "calendar": CALENDAR,
    "scenario": OFF,
}


def kit(price: str, pieces: int = 2) -> dict[str, str]:
    return {
        "kits": f"kit,supplier,price,price_date\nfreshen kit,shop,{price},2027-01-01\n",
        "kit_contains": f"kit,part,pieces\nfreshen kit,ring,1\nfreshen kit,bearing,{pieces}\n",
    }


def test_a_kit_is_bought_where_it_saves_and_its_price_is_shared_out(season_of: SeasonOf) -> None:
    season = season_of(**FRESHEN, catalog=kit("45"))
    # before two 30 + 40 > 60, before three 40 + 50 > 60: 30 + 2 * 10 = 50 apart
    assert cash(season) == [
        ("two", "", "freshen kit", "planned", "45.00"),
        ("three", "", "freshen kit", "planned", "45.00"),
    ]
    ledger = write_ledger(season, play_plan(season))
    # 45 shared out as 30 to 20: 27 and 18
    assert [account(ledger, slot).paid for slot in ("rings", "bearings")] == [Decimal(54), Decimal(36)]
    plan = make_plan(season, season.opening)
    assert [(bought.part, bought.packs, bought.paid) for bought in plan.purchases] == [
        ("freshen kit", 2, Decimal("90.00"))
    ]
    assert [job.parts for job in plan.jobs] == [Decimal("45.00"), Decimal("45.00")]
    assert plan.on_the_shelf == 0


def test_a_kit_that_saves_nothing_is_not_bought(season_of: SeasonOf) -> None:
    season = season_of(**FRESHEN, catalog=kit("50"))
    assert {row[2] for row in cash(season)} == {"ring", "bearing"}


def test_what_a_kit_holds_too_many_goes_on_the_shelf_and_is_used_next(season_of: SeasonOf) -> None:
    season = season_of(**FRESHEN, catalog=kit("48", pieces=4))
    # two bearings are left before three: the ring alone costs 30
    assert cash(season) == [
        ("two", "", "freshen kit", "planned", "48.00"),
        ("three", "rings", "ring", "planned", "30.00"),
    ]


def test_each_renewal_is_paid_at_the_price_of_its_day(season_of: SeasonOf) -> None:
    prices = "part,supplier,date,price,least,tax_included\nring,shop,2027-05-10,33,,\nbearing,rival,2027-02-01,9,2,\n"
    season = season_of(**FRESHEN, catalog={"prices": prices})
    # rings rise on the tenth of May; the rival sells bearings from two on
    assert [(row[0], row[2], row[4]) for row in cash(season)] == [
        ("two", "ring", "30.00"),
        ("two", "bearing", "18.00"),
        ("three", "ring", "33.00"),
        ("three", "bearing", "18.00"),
    ]


# Offers, shelf and failures in the season


def springs(season_of: SeasonOf, prices: str, scenario: str = OFF) -> list[str]:
    """What a set of four springs, in packs of two at 10, costs when it is renewed before three."""
    season = season_of(
        calendar=CALENDAR,
        levels="level,rank\nsprings,1\n",
        slots="slot,part,pieces\nsprings,spring,4\n",
        parts="part,price,pack\nspring,10,2\n",
        lives="part,measure,replace_at\nspring,laps,100\n",
        positions="slot,level\nsprings,springs\n",
        scenario=scenario,
        catalog={"prices": f"part,supplier,date,price,least,pack\n{prices}"},
    )
    return [row[4] for row in cash(season)]


@pytest.mark.parametrize(
    ("prices", "paid"),
    [
        ("", "20.00"),
        ("spring,rival,2027-02-01,4,3,", "12.00"),  # three packs at 4 are less than two at 10
        ("spring,rival,2027-02-01,8,3,", "20.00"),
        ("spring,rival,2027-02-01,9,2,", "18.00"),
        ("spring,rival,2027-02-01,4,,1", "16.00"),  # singles
        ("spring,rival,2027-05-10,4,,1", "20.00"),  # singles that come up later are another pack
    ],
)
def test_a_season_buys_at_the_cheapest_offer_for_a_set_in_the_packs_it_began_with(
    season_of: SeasonOf, prices: str, paid: str
) -> None:
    assert springs(season_of, prices) == [paid]


def taxed(season_of: SeasonOf, with_tax: str) -> Season:
    """The season of a block in a catalog whose prices hold no tax, at a rate of 20 %."""
    header = 'name = "invented"\ncurrency = "USD"\ntax_rate = 0.2\n'
    lives = "part,measure,replace_at\nblock,laps,60\n"
    fixed = {"levels": LEVELS, "slots": BLOCK, "parts": PARTS, "lives": lives, "positions": REACHED}
    return season_of(calendar=CALENDAR, **fixed, catalog=PATH, header=header, scenario=f"{with_tax}{OFF}")


def test_shop_work_counts_with_tax_where_the_scenario_does(season_of: SeasonOf) -> None:
    assert [row[4] for row in cash(taxed(season_of, ""))] == ["15.00", "25.00", "40.00"]
    assert [row[4] for row in cash(taxed(season_of, "with_tax = true\n"))] == ["18.00", "30.00", "48.00"]


def test_a_set_that_has_been_through_steps_fails_at_its_share_of_a_life(season_of: SeasonOf) -> None:
    garage = "piece,part,engine,slot,laps,step\nold,block,engine,block,0,1\n"
    season = blocks(season_of, "part,measure,replace_at\nblock,laps,400\n", garage=garage)
    fails_at = np.full((*season.start.age.shape, 2), np.inf)
    fails_at[0, season.lives(0)[0], 0] = 35  # as new; after the hone 0.8 * 35 = 28, in the first run of 30
    state = copy.deepcopy(season.start)
    machine.play(season.problem._replace(fails_at=fails_at), state)
    assert {row[0] for row in cash(season, state) if row[1] == "block"} == {"two"}


def test_what_goes_along_with_a_failure_was_whole_and_brings_its_resale(season_of: SeasonOf) -> None:
    season = season_of(
        calendar=CALENDAR,
        levels="level,rank,hours\nfreshen,1,100\n",
        slots="slot,part,pieces\ncam,cam,1\nlifters,lifter,2\n",
        parts="part,price,resale,core_charge\ncam,90,9,8\nlifter,10,1,2\n",
        lives="part,measure,replace_at\ncam,laps,500\n",
        positions="slot,level,renew_with\ncam,freshen,lifters\nlifters,freshen,\n",
        scenario=OFF,
    )
    fails_at = np.full((*season.start.age.shape, 2), np.inf)
    fails_at[0, season.lives(0)[0], 0] = 20
    state = copy.deepcopy(season.start)
    machine.play(season.problem._replace(fails_at=fails_at), state)
    assert [row[1:2] + row[3:] for row in cash(season, state)] == [
        ("cam", "failure", "90.00"),
        ("cam", "deposit", "8.00"),
        ("lifters", "failure", "20.00"),
        ("lifters", "deposit", "4.00"),
        ("lifters", "refund", "-4.00"),
        ("lifters", "income", "-2.00"),
    ]


def test_a_used_set_on_the_shelf_serves_for_what_its_steps_leave_of_its_life(season_of: SeasonOf) -> None:
    def found(step: int) -> list[str]:
        garage = f"piece,part,engine,slot,laps,step\nworn,block,engine,block,0,2\nspare,block,,,5,{step}\n"
        season = blocks(season_of, "part,measure,replace_at\nblock,laps,60\n", garage=garage)
        return [row[4] for row in cash(season) if row[0] == "two" and row[1] == "block" and row[3] == "planned"]

    # before two the worn block's 0.6 * 60 = 36 are up: the spare, 5 laps old, would do 40 more of 60 or of 48
    assert (found(0), found(1)) == ([], [])
    assert found(2) == ["200.00"]  # not of 36


def test_a_used_set_is_worth_the_rest_of_its_cost_and_of_its_last_step(season_of: SeasonOf) -> None:
    garage = "piece,part,engine,slot,laps,step\nworn,block,engine,block,0,2\nspare,block,,,0.001,1\n"
    season = blocks(season_of, "part,measure,replace_at\nblock,laps,60\n", garage=garage)
    ledger = write_ledger(season, play_plan(season))
    # 180 * (0.8 + 0.6) / 2.4 + 15 for the spare before two, then 25 for boring it before three
    assert account(ledger, "block").paid == Decimal("120.00") + Decimal("25.00")


def test_a_kit_is_not_bought_for_what_a_used_set_on_the_shelf_does(season_of: SeasonOf) -> None:
    garage = "piece,part,engine,slot,count,laps\nspare,ring,,,1,5\n"
    lives = "part,measure,replace_at\nring,laps,500\n"
    season = season_of(**FRESHEN, lives=lives, garage=garage, catalog=kit("45"))
    # before two the spare rings go in: bearings alone cost 20; before three a kit saves
    assert [(row[0], row[2], row[4]) for row in cash(season) if row[3] == "planned"] == [
        ("two", "bearing", "20.00"),
        ("three", "freshen kit", "45.00"),
    ]


def test_days_pass_for_an_alternate_that_does_not_run(season_of: SeasonOf) -> None:
    season = season_of(
        calendar="event,date,laps,setup\none,2027-05-01,30,\ntwo,2027-05-08,40,tight\nthree,2027-05-15,50,\n",
        levels="level,rank\nbench,1\n",
        slots="slot,part,pieces,alternate,serves\ncarb,carb,1,big,\ncarb,carb,1,small,tight\n",
        parts="part,price\ncarb,100\n",
        lives="part,measure,replace_at,limit\ncarb,days,,10\n",
        positions="slot,level\ncarb,bench\n",
        scenario=OFF,
    )
    # both are 7 days old before two and would be 14 before three
    assert [row[:2] for row in cash(season) if row[3] == "planned"] == [("two", "carb"), ("two", "carb/small")]


@pytest.mark.parametrize(("labour", "causes"), [(52, ["planned"]), (53, ["early", "planned"])])
def test_a_step_done_early_loses_only_what_is_left_of_the_life_before_it(
    season_of: SeasonOf, labour: int, causes: list[str]
) -> None:
    season = season_of(
        calendar=CALENDAR,
        levels=f"level,rank,dates,hours,labour\nrebuild,1,2027-05-08,100,{labour}\n",
        slots=BLOCK,
        parts=PARTS,
        lives="part,measure,replace_at\nblock,laps,100\n",
        positions=REACHED,
        catalog=PATH,
    )
    # Before two 30 of 100 laps are used and it would last to three, not to the season's end. Honing it now loses 0.7 of
    # its first life, 180 * 0.7 / 2.4 = 52.50, not what the lives after its steps are worth. Honed, it is due again.
    assert [row[3] for row in cash(season) if row[1] == "block"] == causes


def test_openings_go_on_counting_against_a_hard_limit_through_every_step(season_of: SeasonOf) -> None:
    season = season_of(
        calendar=CALENDAR + "four,2027-05-22,50\n",
        levels="level,rank,dates,hours,renews\nrebuild,1,2027-05-01 2027-05-08 2027-05-15 2027-05-22,1,block\n",
        slots=BLOCK,
        parts=PARTS,
        lives="part,measure,limit\nblock,openings,2\n",
        positions=REACHED,
        garage="piece,part,engine,slot,openings\nold,block,engine,block,0\n",
        catalog={**PATH, "service_steps": STEPS + "block,3,bore,0.5,,no\n"},
        scenario=OFF,
    )
    # honed at the first opening, bored at the second; a third would pass the limit of two
    assert [row[4] for row in cash(season) if row[1] == "block" and row[3] == "planned"] == [
        "15.00",
        "25.00",
        "200.00",
        "15.00",
    ]


def test_many_kits_of_one_opening_are_one_row(season_of: SeasonOf) -> None:
    many = {**FRESHEN, "slots": "slot,part,pieces\nrings,ring,30\nbearings,bearing,30\n"}
    season = season_of(**many, catalog=kit("35", pieces=1))
    assert cash(season) == [
        ("two", "", "freshen kit", "planned", "1050.00"),
        ("three", "", "freshen kit", "planned", "1050.00"),
    ]
    assert [(bought.part, bought.packs) for bought in make_plan(season, season.opening).purchases] == [
        ("freshen kit", 60)
    ]


def test_a_deposit_on_a_kit_is_that_on_what_it_holds_and_comes_back(season_of: SeasonOf) -> None:
    parts = "part,price,core_charge\nring,30,6\nbearing,10,2\n"
    season = season_of(**{**FRESHEN, "parts": parts}, catalog=kit("45"))
    # 6 for the ring and 2 * 2 for the bearings, paid and back at each freshen
    deposits = [(row[0], row[3], row[4]) for row in cash(season) if row[3] in ("deposit", "refund")]
    assert deposits == [
        (event, *money)
        for event in ("two", "three")
        for money in (("refund", "-6.00"), ("refund", "-4.00"), ("deposit", "10.00"))
    ]


def test_early_counts_what_would_be_taken_along(season_of: SeasonOf) -> None:
    def early(companion: str) -> list[str]:
        season = season_of(
            calendar=CALENDAR,
            levels="level,rank,dates,hours,labour\nfreshen,1,2027-05-08,100,50\n",
            slots="slot,part,pieces\ncam,cam,1\nlifters,lifter,1\n",
            parts="part,price\ncam,10\nlifter,500\n",
            lives="part,measure,replace_at\ncam,laps,100\nlifter,laps,5000\n",
            positions=f"slot,level,renew_with\ncam,freshen,{companion}\nlifters,freshen,\n",
        )
        return [row[1] for row in cash(season) if row[3] == "early"]

    assert early("") == ["cam"]  # 7 of its life against 50 of labour
    assert early("lifters") == []  # nearly 500 more would go with it


def test_what_is_taken_out_brings_back_its_own_deposit_and_resale(season_of: SeasonOf) -> None:
    parts = "part,price,resale,core_charge\nblock,200,20,7\npiston,10,1,2\n"
    big = "part,role,supplier,price,price_date,resale,core_charge\nbig-piston,piston,shop,12,2027-01-01,3,5\n"
    lives = "part,measure,replace_at\nblock,laps,60\n"
    fixed = {"levels": LEVELS, "slots": BLOCK, "parts": parts, "lives": lives, "positions": REACHED, "scenario": OFF}
    season = season_of(calendar=CALENDAR, **fixed, catalog={**BORED, "big": big})
    told = [(row[0], *row[2:]) for row in cash(season) if row[1] == "pistons"]
    assert told == [
        ("two", "big-piston", "planned", "48.00"),
        ("two", "big-piston", "deposit", "20.00"),
        ("two", "piston", "refund", "-8.00"),
        ("two", "piston", "income", "-4.00"),
        ("three", "piston", "planned", "40.00"),
        ("three", "piston", "deposit", "8.00"),
        ("three", "big-piston", "refund", "-20.00"),
        ("three", "big-piston", "income", "-12.00"),
    ]
