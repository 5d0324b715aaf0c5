"""The share of its assumed life that each part has used after every event, worked by hand.

Four events run 30, 40, 50 and 20 laps. The block lasts 100 laps and stands at 20 when the books open: 50, 90, then it
is renewed before three: 50, 70. The plug lasts 200: 15, 35, 60, 70 %. The belt of the car lasts 70: 43 and 100 %, then
it is renewed before three: 71 and 100 %.
"""

from __future__ import annotations

import copy
from collections.abc import Callable
from dataclasses import replace
from datetime import date

import pytest

from costplan.report.used import strip, used_csv, used_page
from costplan.season import Season, make_plan, play_plan
from costplan.season.standing import Standing
from costplan.season.used import UsedAt, UsedLife, used_at_events

SeasonOf = Callable[..., Season]

CALENDAR = """\
event,date,laps
one,2027-05-01,30
two,2027-05-08,40
three,2027-05-15,50
four,2027-05-22,20
"""
NOW = date(2027, 5, 10)


def season(season_of: SeasonOf, **more: str) -> Season:
    tables = {
        "calendar": CALENDAR,
        "levels": "level,rank,carrier,hours\nrebuild,1,engine,100\nbelt work,1,car,1\n",
        "slots": "slot,part,pieces\nplugs,plug,1\nblock,block,1\nbelts,belt,1\nbracket,bracket,1\n",
        "parts": "part,price\nplug,10\nblock,200\nbelt,20\nbracket,5\n",
        "lives": "part,measure,replace_at,risk,shape,source\n"
        "plug,laps,200,,,\nblock,laps,100,0.05,3,maker\nbelt,laps,70,,,\n",
        "positions": "slot,level,carrier\nplugs,rebuild,engine\nblock,rebuild,engine\nbelts,belt work,car\n",
        "garage": "piece,part,engine,slot,laps\nold,block,engine,block,20\n",
        "scenario": '[policy]\nearly = "off"\n',
        **more,
    }
    return season_of(**tables)


def shares(line: UsedLife) -> list[float]:
    return [event.share for event in line.events]


def test_each_part_has_its_share_on_opening_day_after_each_event_and_at_the_end(season_of: SeasonOf) -> None:
    block, plugs, belts = used_at_events(season(season_of), NOW)
    assert (block.slot, block.engine, block.part) == ("block", "engine", "block")
    assert (block.opening, block.now, block.end) == pytest.approx((0.2, 0.9, 0.7))
    assert shares(block) == pytest.approx([0.5, 0.9, 0.5, 0.7])
    assert shares(plugs) == pytest.approx([0.15, 0.35, 0.6, 0.7])
    assert shares(belts) == pytest.approx([30 / 70, 1.0, 50 / 70, 1.0])
    assert [(event.event, str(event.date)) for event in block.events[:2]] == [
        ("one", "2027-05-01"),
        ("two", "2027-05-08"),
    ]


def test_what_is_renewed_is_marked_at_the_event_after_it(season_of: SeasonOf) -> None:
    block, plugs, belts = used_at_events(season(season_of), NOW)
    assert [event.renewed for event in block.events] == [False, False, True, False]
    assert not any(event.renewed for event in plugs.events)
    assert [event.renewed for event in belts.events] == [False, False, True, False]


def test_the_most_used_on_the_day_stands_first_within_its_engine(season_of: SeasonOf) -> None:
    found = season(season_of)
    assert [line.slot for line in used_at_events(found, NOW)] == ["block", "plugs", "belts"]
    # Before four the plugs stand at 60 %, the block at 50.
    assert [line.slot for line in used_at_events(found, date(2027, 5, 16))] == ["plugs", "block", "belts"]


def test_what_has_no_life_is_left_out_and_guesses_are_marked(season_of: SeasonOf) -> None:
    found = used_at_events(season(season_of), NOW)
    assert "bracket" not in {line.slot for line in found}
    assert {line.slot: line.assumed for line in found} == {"block": False, "plugs": True, "belts": True}
    assert [line.by for line in found] == ["100 laps", "200 laps", "70 laps"]


def test_sessions_of_an_event_are_one_step_and_a_renewal_between_them_is_marked(season_of: SeasonOf) -> None:
    found = season(
        season_of,
        calendar="event,date,format\none,2027-05-01,night\ntwo,2027-05-08,night\n",
        sessions="format,session,laps\nnight,heat,40\nnight,feature,60\n",
        levels="level,rank,carrier,hours\nrebuild,1,engine,1\nbelt work,1,car,1\n",
        lives="part,measure,replace_at\nbelt,laps,90\n",
        garage="piece,part,engine,slot,laps\nold,block,engine,block,20\n",
        positions="slot,level,carrier\nbelts,belt work,car\n",
    )
    (belts,) = used_at_events(found, NOW)
    # 40, then 60 more do not last to 90: renewed before the feature; 60 + 40 pass 90 too, and so does 40 + 60.
    assert shares(belts) == pytest.approx([60 / 90, 60 / 90])
    assert [event.renewed for event in belts.events] == [True, True]


def test_they_are_the_shares_of_the_season_page(season_of: SeasonOf) -> None:
    found = season(season_of)
    plan = {(line.engine, line.slot): line for line in make_plan(found, NOW).life_used}
    for line in used_at_events(found, NOW):
        of = plan[line.engine, line.slot]
        assert (line.opening, line.now, line.end) == (of.opening, of.now, of.end)
        assert line.events[-1].share == line.end
        assert line.events[1].share == line.now


def test_renewals_that_a_log_tells_of_are_marked_where_the_share_falls(season_of: SeasonOf) -> None:
    """The season of above as a log would leave it before four: its traces hold what the machine would have played."""
    found = season(season_of)
    played, start = play_plan(found), copy.deepcopy(found.start)
    for name in (name for name in played._fields if name.startswith("trace_")):
        getattr(start, name)[:3] = getattr(played, name)[:3]
    start.age[:], start.raw_age[:] = played.trace_age[2], played.trace_raw[2]
    standing = Standing(date(2027, 5, 20), found.start)
    later = replace(found, start=start, standing=standing, problem=found.problem._replace(begin=3))
    by_slot = {line.slot: line for line in used_at_events(later, standing.on)}
    assert shares(by_slot["block"]) == pytest.approx([0.5, 0.9, 0.5, 0.7])
    assert (by_slot["block"].opening, by_slot["block"].now) == pytest.approx((0.2, 0.5))
    assert [event.renewed for event in by_slot["block"].events] == [False, False, True, False]
    assert not any(event.renewed for event in by_slot["plugs"].events)


# The page


@pytest.mark.parametrize(
    ("share", "mark"),
    [
        (0, "▁"),
        (0.14, "▁"),
        (0.15, "▂"),
        (0.5, "▄"),
        (0.85, "▆"),
        (0.86, "▇"),
        (0.999, "▇"),
        (1 - 1e-12, "█"),
        (1.3, "█"),
    ],
)
def test_a_strip_has_seven_steps_and_one_for_a_life_that_is_used_up(share: float, mark: str) -> None:
    assert strip([UsedAt("one", NOW, share, renewed=False)]) == mark


def test_a_strip_marks_renewals_and_is_broken_where_a_terminal_ends() -> None:
    events = [UsedAt(str(number), NOW, 0.5, renewed=number == 1) for number in range(43)]
    assert strip(events) == f"▄*{'▄' * 38}\n▄▄▄"


def test_a_page_has_a_table_for_each_engine_and_names_every_fifth_event(season_of: SeasonOf) -> None:
    found = season(season_of)
    page = used_page(used_at_events(found, NOW), str(NOW), found.assumed, "by hand", invented=False)
    assert [[row[0] for row in table.rows] for table in page.tables] == [["block", "plugs ~"], ["belts ~"]]
    assert page.tables[0].rows[0][1:] == ("20%", "▄▇*▅", "90%", "70%")
    assert page.lines[-1] == "Events: 1 one (01 May)."


def test_the_table_in_csv_has_a_column_for_each_event(season_of: SeasonOf) -> None:
    head, first, *_ = used_csv(used_at_events(season(season_of), NOW)).splitlines()
    assert head == "engine,slot,part,opening,one,two,three,four,end,of"
    assert first.startswith("engine,block,block,0.2,0.5,0.9,0.5,0.7")
