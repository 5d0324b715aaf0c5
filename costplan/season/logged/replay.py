"""A log played on a compiled season: the state of the machine as the log leaves it on a day.

Runs age what is on the engine and on the car by the duty of their event, in the share of it that was run; work opens an
engine once for all rows of a day that nothing lies between; days pass for what counts days. Nothing is paid here: the
money of the past is what the log says.
"""

from __future__ import annotations

import copy
import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import date

import numpy as np

from costplan.garage.log import Entry, shares_of
from costplan.problems import Problem, Problems
from costplan.quantity import MEASURES
from costplan.reading.fields import MeasureName
from costplan.season import machine
from costplan.season.calendar import HOURS_A_DAY, Run, by_event, gap_before, season_use
from costplan.season.logged.inspections import Inspector
from costplan.season.logged.naming import Names
from costplan.season.logged.working import Bench
from costplan.season.names import Season
from costplan.season.standing import EventRun, Owed, Standing

#: The most of an event that is taken for a run of it: with a few laps behind the pace car, or an overtime.
MOST = 1.5


def season_on(season: Season, entries: Sequence[Entry], on: date) -> tuple[Season, tuple[Problem, ...]]:
    """A season as a log leaves it in the evening of a day, and what of the log cannot be.

    Rows dated later are not known yet. The machine then begins with the first event on or after the day that has not
    been run.
    """
    replay = _Replay(season, copy.deepcopy(season.start))
    replay.rewind(min((entry.date for entry in entries), default=season.opening))
    for entry in entries:
        if entry.date <= on:
            replay.take(entry)
    replay.paid = frozenset(entry.line for entry in entries if entry.date == on and entry.amount is not None)
    return replay.left(on), tuple(replay.problems.found)


@dataclass(slots=True)
class _Replay:
    """One way through a log: the state so far, the day it is at, and what is kept of what happened."""

    season: Season
    state: machine.State
    problems: Problems = field(default_factory=Problems)
    today: date = date.min
    ran: dict[str, EventRun] = field(default_factory=dict)
    first: dict[str, Entry] = field(default_factory=dict)
    traced: int = 0
    last: int = 0
    names: Names = field(init=False)
    bench: Bench = field(init=False)
    inspector: Inspector = field(init=False)
    measures: tuple[str, ...] = ()
    paid: frozenset[str] = frozenset()

    def __post_init__(self) -> None:
        self.names = Names(self.season)
        self.bench = Bench(self.season, self.state, self.names, self.problems)
        self.inspector = Inspector(self.season, self.names)
        self.measures = tuple(self.season.measure_of(j).name for j in range(self.season.problem.life_from[-1]))

    def rewind(self, first: date) -> None:
        """Back from the day of the first run, up to which ages in days are counted, to the day of the first row."""
        start = self.season.runs[0].event.date
        self.today = start
        self._pass_to(min(first, self.season.opening, start))

    def take(self, entry: Entry) -> None:
        """One row of the log."""
        if entry.date != self.today:
            self._work()
            self._pass_to(entry.date)
        rows = self.names.rows_of(entry, self.problems)
        if rows is None:
            return
        c, spots = rows
        if entry.what == "ran":
            self._work()
            self._run(entry, c)
        elif entry.what == "failed" and c >= 0:
            self.bench.fail(entry, c, spots, self._gap())
        elif entry.what in ("serviced", "changed", "mended") and c >= 0:
            self.bench.bring(entry, c, spots)
        self.inspector.take(entry, spots)

    def _work(self) -> None:
        """What has been brought to the bench is done."""
        for c in range(len(self.season.carriers)):
            self.bench.work_on(c, self._gap())

    def _gap(self) -> int:
        """The run before which it is now: the first that is neither over nor dated before today."""
        runs = self.season.runs
        ahead = (g for g in range(self.last, len(runs)) if runs[g].event.date >= self.today)
        return next(ahead, len(runs))

    def _pass_to(self, day: date) -> None:
        """Days pass for all that counts them, on every carrier."""
        days, problem, state = float((day - self.today).days), self.season.problem, self.state
        self.today = day
        self.bench.today = day
        for c in range(len(self.season.carriers)):
            lasting = problem.lasting[problem.lasting_from[self._side(c)] : problem.lasting_from[self._side(c) + 1]]
            state.age[c, lasting] += days
            state.raw_age[c, lasting] += days
            state.since[c][self._counters(c) & problem.interval_in_days] += days

    def _side(self, c: int) -> int:
        """How the machine numbers kinds of carriers: 0 an engine, 1 the car."""
        return 1 if c == len(self.season.carriers) - 1 else 0

    def _ladders(self, c: int) -> machine.Bools:
        """[T] the ladders of a carrier."""
        found: machine.Bools = self.season.problem.ladder_on_car == (self._side(c) == 1)
        return found

    def _counters(self, c: int) -> machine.Bools:
        """[T, K] the levels that a carrier has."""
        levels = self.season.problem.levels[:, None]
        depth = np.arange(self.season.problem.hours.shape[1])
        found: machine.Bools = (depth < levels) & self._ladders(c)[:, None]
        return found

    def _run(self, entry: Entry, c: int) -> None:
        """An engine and the car run an event or a part of it; the car alone, where the engine is not in the season."""
        car = len(self.season.carriers) - 1
        on = [one for one in (c, car) if one >= 0]
        if not entry.event:
            self._run_by_itself(entry, on)
            return
        runs = [(g, run) for g, run in enumerate(self.season.runs) if run.event.event == entry.event]
        planned = {measure: math.fsum(run.use.get(measure, 0.0) for _, run in runs) for measure in entry.use}
        factors, share = shares_of(entry, planned)
        self._too_much(entry, factors)
        self._trace(runs[0][0])
        for g, _ in runs:
            if share > 0:
                self._age(on, g, factors, share)
            self._keep(g)
        self.traced = self.last = max(self.last, runs[-1][0] + 1)
        self._note(entry, [run for _, run in runs], factors, share)

    def _too_much(self, entry: Entry, factors: Mapping[str, float]) -> None:
        """A problem where more was run of an event than can be one."""
        for measure, share in factors.items():
            if share > MOST:
                what = f"{100 * share:.0f} % of the {measure} of {entry.event} in calendar.csv:"
                advice = "give what was run, or leave event empty for another run"
                unit = MeasureName(measure, MEASURES[measure][1])
                self.problems.add("LOG014", entry.place, measure, unit.amount(entry.use[measure]), what, advice)
                return

    def _age(self, on: Sequence[int], g: int, factors: dict[str, float], share: float) -> None:
        """One run of an event, in the share of it by each measure, as the machine ages what is on a carrier."""
        problem, state, names = self.season.problem, self.state, tuple(MEASURES)
        by_life = np.array([factors.get(measure, share) for measure in self.measures])
        by_measure = np.array([factors.get(measure, share) for measure in names])
        for c in on:
            running = problem.running[problem.running_from[self._side(c)] : problem.running_from[self._side(c) + 1]]
            state.age[c, running] += (problem.duty[g + 1, running] - problem.duty[g, running]) * by_life[running]
            state.raw_age[c, running] += (problem.raw[g + 1, running] - problem.raw[g, running]) * by_life[running]
            use = (problem.use[:, g + 1] - problem.use[:, g]) * by_measure
            counted = self._counters(c) & ~problem.interval_in_days
            state.since[c][counted] += use[problem.measure][counted]
            state.total_use[c] += share
            state.idle_since[c] = problem.clock[g]
            if self._side(c) == 0:
                state.started[problem.engines_hold[:, g], c] = True

    def _run_by_itself(self, entry: Entry, on: Sequence[int]) -> None:
        """A run that is no event of the calendar: as much as its row says, at no engine speed, of what always runs."""
        problem, state, names = self.season.problem, self.state, tuple(MEASURES)
        for c in on:
            for p, spot in enumerate(self.season.spots):
                if spot.on_car == (self._side(c) == 1) and spot.runs_in(""):
                    for j in self.season.lives(p):
                        use = 0.0 if self.measures[j] == "days" else entry.use.get(self.measures[j], 0.0)
                        state.age[c, j] += use
                        state.raw_age[c, j] += use
            use_of = np.array([entry.use.get(measure, 0.0) for measure in names])
            counted = self._counters(c) & ~problem.interval_in_days
            state.since[c][counted] += use_of[problem.measure][counted]
            state.total_use[c] += 1.0

    def _note(self, entry: Entry, runs: Sequence[Run], factors: dict[str, float], share: float) -> None:
        """What is kept of an event that was run: by whom, how much, and its use."""
        before = self.ran.get(entry.event)
        self.first.setdefault(entry.event, entry)
        use = {
            measure: season_use(runs, measure) * factors.get(measure, share)
            for measure in ("laps", "hours", "distance", "fuel", "revolutions", "starts", "events")
        }
        now = EventRun(entry.event, entry.date, (entry.engine,), share, use)
        if before is not None:
            both = {measure: amount + before.use[measure] for measure, amount in use.items()}
            now = replace(before, engines=(*before.engines, entry.engine), share=before.share + share, use=both)
        self.ran[entry.event] = now

    def _keep(self, g: int) -> None:
        """Writes down the state after a run, as the machine does."""
        state = self.state
        if g < len(state.trace_age):
            state.trace_age[g], state.trace_raw[g], state.trace_since[g] = state.age, state.raw_age, state.since
            state.trace_step[g], state.trace_item[g] = state.step, state.item
            state.trace_value[g], state.trace_worked[g] = state.value, state.worked

    def _trace(self, until: int) -> None:
        """Runs that nobody ran leave everything as it was."""
        for g in range(self.traced, until):
            self._keep(g)

    def left(self, on: date) -> Season:
        """The season as it stands in the evening of a day."""
        self._work()
        begin, runs = self._begin(on), self.season.runs
        self._pass_to(max(on, self.today))
        shown = copy.deepcopy(self.state)
        self._pass_to(max(on, runs[begin].event.date) if begin < len(runs) else self.today)
        owed, called = self._owed(on, begin)
        self._rest(on, begin)
        self._leave_behind(begin)
        standing = self._standing(on, tuple(owed), shown)
        problem = self.season.problem._replace(begin=begin, called=called)
        if begin < len(runs) and runs[begin].services:
            kept = tuple(service for service in runs[begin].services if service.date >= on)
            runs = (*runs[:begin], replace(runs[begin], services=kept), *runs[begin + 1 :])
            problem = self._dated(problem, runs, begin)
        return replace(self.season, problem=problem, start=self.state, runs=runs, standing=standing)

    def _leave_behind(self, begin: int) -> None:
        """The runs before the first that lies ahead are over, and the history ends with the state as it is now."""
        self._trace(begin)
        if begin:
            self._keep(begin - 1)
        self.state.ran[:begin] = machine.OVER

    def _standing(self, on: date, owed: tuple[Owed, ...], shown: machine.State) -> Standing:
        """What the answers must know of the log; inspections that are owed are called on the way."""
        return Standing(
            on,
            self.season.start,
            tuple(one for one in self.ran.values() if one.share > 0),
            self.inspector.open(self.state),
            owed,
            self._broken(),
            dict(self.bench.since),
            shown,
            self.paid,
        )

    def _begin(self, on: date) -> int:
        """The first run of the first event on or after a day that has not been run; what lies behind it has not.

        What stands before an event of the day that was run is over too.
        """
        stretches, begin = by_event(self.season.runs), len(self.season.runs)
        firsts = [(stretch[0][0], stretch[0][1].event) for stretch in stretches]
        past = max((g for g, event in firsts if event.event in self.ran and event.date <= on), default=-1)
        for g, event in firsts:
            over = event.event in self.ran
            if begin == len(self.season.runs) and event.date >= on and g > past and not over:
                begin = g
            elif begin < g and over:
                ahead, row = self.season.runs[begin].event, self.first[event.event]
                what = f"run before {ahead.event}, which calendar.csv has first and which is to come ({ahead.place}):"
                advice = f"correct event and date of this row, or give both their days in calendar.csv ({event.place})"
                self.problems.add("LOG012", row.place, "event", event.event, what, advice)
        return begin

    def _dated(self, problem: machine.Problem, runs: tuple[Run, ...], begin: int) -> machine.Problem:
        """The problem with the money of the gap at hand in its month."""
        months = problem.gap_month.copy()
        months[begin] = self.season.months.index(f"{gap_before(runs, begin)[0]:%Y-%m}")
        return problem._replace(gap_month=months)

    def _owed(self, on: date, begin: int) -> tuple[list[Owed], machine.Bools]:
        """What was called for by a day that is past and was not done since the run before, and the calls that remain.

        What was passed over because the level had been done shortly before is not owed.
        """
        problem, state = self.season.problem, self.state
        called, owed = problem.called.copy(), []
        for t, k, g in zip(*problem.called[:, :, : begin + 1].nonzero(), strict=True):
            day, what = self._call_of(int(t), int(k), int(g))
            on_it = [c for c in range(len(self.season.carriers)) if self._ladders(c)[t]]
            undone = [c for c in on_it if not self.bench.done(c, int(t), int(k), int(g))]
            if g == begin and day >= on and undone == on_it:
                continue
            called[t, k, g] = False
            for c in undone:
                if state.since[c, t, k] >= problem.rest[t, k]:
                    state.overdue[c, t, k] = True
                    owed.append(Owed(self.season.carriers[c], self.season.ladders[t][k].level, day, what))
        return owed, called

    def _before(self, g: int) -> date:
        """The day of the run before a gap; what was done since then was done in it."""
        return self.season.runs[g - 1].event.date if g > 0 else date.min

    def _call_of(self, t: int, k: int, g: int) -> tuple[date, str]:
        """The day of a call for a level in the gap before a run, and whose it is."""
        step, run = self.season.ladders[t][k], self.season.runs[g]
        for service in run.services:
            if service.level == step.level:
                return service.date, service.event
        dates = [day for day in (step.row.dates if step.row else ()) if day >= self._before(g)]
        day = min(dates, default=run.event.date)
        return day, f"the date of {step.level}"

    def _rest(self, on: date, begin: int) -> None:
        """The hours that are left for work before the next run begin on the day; before the books open all are."""
        problem, state, runs = self.season.problem, self.state, self.season.runs
        if begin < len(runs) and on > self.season.opening:
            gaps, days = self.season.gaps, (runs[begin].event.date - on).days
            hours = gaps.between_nights + (days - 1) * HOURS_A_DAY if days else gaps.between_sessions
            state.idle_since[:] = np.maximum(state.idle_since, problem.clock[begin] - hours)
        state.ready_at[:] = state.idle_since

    def _broken(self) -> tuple[tuple[str, str], ...]:
        return tuple((carrier, spot.slot) for c, carrier, p, spot in self.season.positions() if self.state.broken[c, p])
