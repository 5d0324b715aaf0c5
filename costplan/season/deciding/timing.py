"""At which event to renew what: the dates and renewal uses that cost least, and what moving each date costs.

What is made least is what a season costs in the end: cash less what is left on hand, and the worth of results lost. It
is found on seasons of one seed and judged on seasons of another, so that no figure is the luck of the search. Lives are
assumptions, and so is all that follows from them.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from decimal import Decimal

from costplan.money import from_minor, round_money
from costplan.season.deciding.fresh import unseen
from costplan.season.deciding.timing_answer import Side, Spacing, Timing, Way
from costplan.season.deciding.timing_event import asked_start, fresh_for
from costplan.season.deciding.timing_moves import services_of
from costplan.season.deciding.timing_paste import paste_of
from costplan.season.deciding.timing_plan import ages_at_big_events, on_dates
from costplan.season.deciding.timing_policy import (
    ENGINE,
    Choice,
    Scope,
    as_filed,
    can_fail,
    carries_cost,
    done_long_ago,
    scope_of,
)
from costplan.season.deciding.timing_search import (
    TRIFLE,
    Bench,
    Tell,
    look_for_dates,
    look_for_uses,
    pruned,
    tell_nobody,
)
from costplan.season.deciding.timing_theory import renewal_uses, theory_factor
from costplan.season.deciding.timing_years import over_years
from costplan.season.drawn.comparing import burden_of
from costplan.season.drawn.drawing import QUIET, Draws, Watch
from costplan.season.drawn.figures import CountDifference, Paired, count_of, difference_of, paired, spread_of
from costplan.season.names import Season

#: Positions whose renewal use is moved: those that cost most.
VARIED = 12
#: What is found is judged on so many times as many seasons as a step of the search may take.
JUDGED = 4
#: The least multiple of a renewal use that theory is followed to.
LEAST = 0.05


@dataclass(slots=True)
class _Found:
    """The best choices so far."""

    fixed: Choice
    uses: Choice
    dates: Choice | None = None
    varied: list[int] = field(default_factory=list)

    @property
    def ways(self) -> dict[Way, Choice]:
        """The choices by their ways; without dates where no level can be given any."""
        ways: dict[Way, Choice] = {"fixed": self.fixed, "uses": self.uses}
        return {**ways, "dates": self.dates} if self.dates else ways


def timing_of(
    season: Season,
    seasons: int = 4000,
    seed: int = 1,
    *,
    event: str = "",
    later: Season | None = None,
    watch: Watch = QUIET,
    tell: Tell = tell_nobody,
) -> Timing:
    """Looks for what costs least and judges it. `event`: that which is to be met fresh, one that is still to come.

    `later`: the whole season, where a log has begun this one. Interrupted, it judges the best so far on few seasons;
    interrupted again, or before anything was found, it raises KeyboardInterrupt.
    """
    season = done_long_ago(season)
    scope, filed = scope_of(season), as_filed(season)
    if not any(can_fail(season, p) for p in range(len(season.spots))):
        return Timing(season.rates.currency, seasons, seed, 0, unseen(seed), 0, True, False, "fixed")
    found, stopped = _Found(filed, filed), False
    bench = Bench(scope, seed, seasons, watch, tell)
    try:
        _look(bench, found)
    except KeyboardInterrupt:
        if found.dates is None and found.uses == filed:
            raise
        stopped = True
    if not stopped:
        try:
            return _judged(bench, found, event, later, JUDGED * seasons, stopped=False)
        except KeyboardInterrupt:
            stopped = True
    return _judged(bench, found, event, later, min(seasons, 1000), stopped=True)


def _look(bench: Bench, found: _Found) -> None:
    """Looks for renewal uses, then for dates from where both leave off."""
    scope = bench.scope
    base = bench.draw(found.fixed, min(bench.cap, 1000))
    found.varied = _varied(scope, base)

    def told_uses(choice: Choice) -> None:
        found.uses = choice

    def told_dates(choice: Choice) -> None:
        found.dates = choice

    start = bench.better(found.fixed, [_by_theory(scope, found.fixed, found.varied)]) or found.fixed
    found.uses = pruned(bench, look_for_uses(bench, start, found.varied, told_uses), found.fixed)
    if scope.dated:
        starts = [on_dates(scope, choice) for choice in (found.fixed, found.uses)]
        dates = look_for_dates(bench, bench.cheapest(starts), found.varied, told_dates)
        found.dates = pruned(bench, dates, found.fixed)


def _varied(scope: Scope, base: Draws) -> list[int]:
    """The positions whose renewal use is moved: those that can fail by themselves and cost most."""
    season = scope.season
    able = [p for p in range(len(season.spots)) if can_fail(season, p) and scope.leading[p] >= 0]
    return sorted(able, key=lambda p: (-carries_cost(base, p), p))[:VARIED]


def _by_theory(scope: Scope, choice: Choice, varied: Sequence[int]) -> Choice:
    """Every position renewed where theory would, by itself; those that may not be stretched no later than filed."""
    for p in varied:
        use = max(LEAST, round(theory_factor(scope, p), 2))
        choice = choice.with_use(p, min(use, choice.uses[p]) if p in scope.kept else use)
    return choice


def _judged(bench: Bench, found: _Found, event: str, later: Season | None, seasons: int, *, stopped: bool) -> Timing:
    """What was found on seasons that the search has not seen; all but the costs is of the best way alone."""
    scope, season, before = bench.scope, bench.scope.season, bench.tried
    judge = Bench(scope, unseen(bench.seed), seasons, bench.watch, lambda count: bench.tell(before + count))
    drawn = {way: _drawn(judge, choice, seasons) for way, choice in found.ways.items()}
    currency, cap, seed, few = season.rates.currency, bench.cap, bench.seed, min(seasons, bench.cap)
    found_so = _compared(Timing(currency, cap, seed, seasons, judge.seed, before, False, stopped, "fixed"), drawn)
    chosen, starts = found.ways[found_so.best], sorted({*scope.big_starts(), asked_start(scope, event)})
    return replace(
        found_so,
        over_years=None if stopped else over_years(judge, chosen, found.fixed, later, seasons),
        services=services_of(judge, chosen, few, stopped=stopped),
        rest=chosen.rest,
        always=tuple(season.spots[p].slot for p in sorted(chosen.always)),
        intervals=_spacings(scope, chosen) if chosen.dates is None else (),
        factors=renewal_uses(scope, found.fixed, chosen, found.varied),
        ages=ages_at_big_events(scope, chosen, found.fixed, starts),
        asked=fresh_for(bench, judge, chosen, found.fixed, event, few, stopped=stopped),
        paste=None if found_so.best == "fixed" else paste_of(scope, chosen),
        kept=tuple(season.spots[p].slot for p in sorted(scope.kept)),
    )


def _compared(bare: Timing, drawn: Mapping[Way, Draws]) -> Timing:
    """An answer with what each way costs, and which is the best."""
    currency, season, fixed = bare.currency, drawn["fixed"].season, drawn["fixed"]
    gains = {way: paired(burden_of(draws) - burden_of(fixed), currency) for way, draws in drawn.items()}
    best = _best(drawn, gains)
    lost_more = difference_of(drawn[best].lost - fixed.lost)
    return replace(
        bare,
        best=best,
        fixed=_side("fixed", fixed),
        uses=_side("uses", drawn["uses"]),
        dates=_side("dates", drawn["dates"]) if "dates" in drawn else None,
        uses_gain=gains["uses"],
        dates_gain=gains.get("dates"),
        lost_more=lost_more,
        pays_below=_pays_below(season, gains[best], lost_more),
    )


def _drawn(judge: Bench, choice: Choice, seasons: int) -> Draws:
    draws = judge.draw(choice, seasons)
    judge.known[choice] = burden_of(draws)
    return draws


def _side(name: Way, draws: Draws) -> Side:
    currency = draws.season.rates.currency
    return Side(
        name,
        spread_of(burden_of(draws), currency),
        spread_of(draws.cash, currency),
        count_of(draws.lost),
        count_of(draws.misses),
    )


def _best(drawn: Mapping[Way, Draws], gains: Mapping[Way, Paired]) -> Way:
    """The way that costs least of those that are shown to beat the fixed intervals.

    Dates are preferred, since dates are asked for, unless other renewal uses cost less beyond the error and by more
    than a trifle of what a season costs: a cent is no reason to follow another plan.
    """
    clear = [name for name, gain in gains.items() if gain.shown and gain.mean < 0]
    if "dates" in clear and "uses" in clear:
        more = difference_of(burden_of(drawn["dates"]) - burden_of(drawn["uses"]))
        trifle = TRIFLE * abs(float(burden_of(drawn["fixed"]).mean()))
        return "uses" if more.shown and more.mean > trifle else "dates"
    return clear[0] if clear else "fixed"


def _pays_below(season: Season, gain: Paired, lost_more: CountDifference) -> Decimal | None:
    """The worth of a result at which a way costs as much as the files', all else as it is; None where it loses none."""
    if not lost_more.shown or lost_more.mean <= 0:
        return None
    worth = from_minor(season.result_worth, season.rates.currency)
    return round_money(worth - gain.mean / Decimal(repr(lost_more.mean)), season.rates.currency)


def _spacings(scope: Scope, choice: Choice) -> tuple[Spacing, ...]:
    """The intervals of levels as filed and as found."""
    rows = {k: scope.season.ladders[ENGINE][k].row for k in scope.dated}
    return tuple(
        Spacing(scope.level(k), str(row.measure), row.interval, row.interval * choice.intervals[k])
        for k, row in rows.items()
        if row is not None and row.interval is not None
    )
