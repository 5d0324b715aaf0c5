"""What the best way saves over several seasons: what one season gains hangs on what is left at its end.

A date that is left out in a season may only have been put off into the next one. So the years are played with the
garage carried over, where all but the last season pay for what they left behind.
"""

from __future__ import annotations

from costplan.season import machine
from costplan.season.deciding.timing_answer import OverYears
from costplan.season.deciding.timing_policy import Choice, under
from costplan.season.deciding.timing_search import Bench
from costplan.season.drawn.figures import paired
from costplan.season.drawn.years import Span, draw_years, repeats
from costplan.season.names import Season

#: Seasons in a row, and how often they are drawn at the most.
YEARS = 3
DRAWN = 2000


def over_years(judge: Bench, chosen: Choice, filed: Choice, later: Season | None, seasons: int) -> OverYears | None:
    """What a choice costs more than the files' over some seasons; None where a calendar of years cannot be repeated.

    `later`: the whole season, where a log has begun the one at hand. A choice made in the midst of one says nothing of
    the part of the next that was over by then: those are run as the files have them.
    """
    season, count = judge.scope.season, min(seasons, DRAWN)
    begun = season.problem.begin > 0
    if not repeats(later or season) or chosen == filed or (begun and later is None):
        return None
    then = later or season
    costs = [_burden(judge, one, filed if begun else one, then, count) for one in (chosen, filed)]
    followed = 1 if begun else YEARS
    return OverYears(YEARS, followed, count, paired((costs[0] - costs[1]) / followed, season.rates.currency))


def _burden(judge: Bench, choice: Choice, then: Choice, later: Season, count: int) -> machine.Floats:
    """[seasons] what all years cost under a choice, those after the first under another, or KeyboardInterrupt.

    Work owed at the end is valued by the files' intervals, also on levels that have none under the choice: it grows
    with use as it did.
    """
    season = judge.scope.season
    problem, again = (under(one, by, judge.seed, YEARS) for one, by in ((season, choice), (later, then)))
    span = Span(season, problem, again._replace(begin=0), YEARS)
    draws = draw_years(span, count, later, watch=judge.watch)
    if draws.seasons < count:
        raise KeyboardInterrupt
    lost = season.result_worth * draws.lost.sum(axis=1)
    burden: machine.Floats = draws.cash.sum(axis=1) - draws.left[:, -1] + lost
    return burden
