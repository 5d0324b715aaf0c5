"""A drawn season told: what it tells is what the machine noted."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from costplan.season import Season
from costplan.season.drawn.drawing import draw, drawn_season
from costplan.season.drawn.stories import story_at

SeasonOf = Callable[..., Season]

#: Every race is rained on or not by a coin, and a stone always strikes at the first race that is run.
CALENDAR = """\
event,date,kind,laps,rain
first,2027-05-01,race,10,0
second,2027-05-08,race,10,50 %
third,2027-05-15,race,10,50 %
"""
HAZARDS = "hazard,carrier,chance,per\nstone,engine,99.999999 %,laps\n"
DAMAGE = "slot,case,chance,cost,stops\nstone,hole in the radiator,1,80,yes\n"
SERVICES = "service,price,every,measure\noil,20,1,events\n"


def test_a_story_tells_what_struck_and_what_rain_took(season_of: SeasonOf) -> None:
    season = season_of(calendar=CALENDAR, hazards=HAZARDS, damage=DAMAGE, services=SERVICES)
    draws = draw(season, 64, 3, compiled=False)
    story = story_at(draws, 0.9)
    assert float(story.cash) * 100 == draws.cash[story.number]
    assert (draws.cash <= draws.cash[story.number]).mean() >= 0.9
    struck = [(one.event, one.carrier, one.what, one.case, one.stopped) for one in story.mishaps]
    assert struck[0] == ("first", "engine", "stone", "hole in the radiator", True)
    state = drawn_season(season, story.number, 3)
    lost = {season.runs[int(g)].event.event for g in np.flatnonzero(state.lost)}
    assert set(story.rained) == lost
    assert {one.event for one in story.mishaps} == {"first", "second", "third"} - lost
    assert (story.found, story.missed) == ((), ())


def test_the_cheapest_and_the_dearest_season_stand_at_the_ends(season_of: SeasonOf) -> None:
    draws = draw(season_of(calendar=CALENDAR, hazards=HAZARDS, damage=DAMAGE, services=SERVICES), 64, 3, compiled=False)
    ends = [story_at(draws, share).number for share in (0.0, 1.0)]
    assert [draws.cash[n] for n in ends] == [draws.cash.min(), draws.cash.max()]
