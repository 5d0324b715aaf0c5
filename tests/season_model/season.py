"""A season as processes: the calendar goes from run to run, and engines stand in the workshop until they are ready."""

from __future__ import annotations

import math
from collections.abc import Generator, Iterator
from typing import Any

import simpy

from tests.season_model.bonds import Bonds
from tests.season_model.books import Books
from tests.season_model.carriers import Carrier, Installed, carriers_at_opening, half_up, use_to_strike
from tests.season_model.draws import CASE, RAIN, Draws
from tests.season_model.reading import Case, Work
from tests.season_model.shelf import Shelf
from tests.season_model.workshop import Workshop

Process = Generator[simpy.Event, Any, None]
#: An engine that is ready in the very hour of a run runs: the workshop hands it over this many hours before.
BEFORE = 1e-9
#: What sums of floats may lack to a half, in minor units.
HAIR = 1e-7


def play(work: Work, draws: Draws | None = None) -> Books:
    """One season: as planned without draws, else with lives, rain, hazards and cases drawn."""
    return Season(work, draws).play()


class Season:
    """One season of the machine. Hours of the environment count from the first run."""

    def __init__(self, work: Work, draws: Draws | None) -> None:
        self.work, self.draws = work, draws
        self.env = simpy.Environment()
        self.books = Books(work)
        self.shelf, self.bonds = Shelf.at_opening(work), Bonds.at_opening(work)
        self.shop = Workshop(work, self.shelf, self.bonds, self.books, draws)
        self.carriers = carriers_at_opening(work, draws)
        self.engines = [self.carriers[name] for name in work.engines]
        self.car = self.carriers[work.car]
        self.in_shop = {
            carrier.name: self.env.process(self._in_shop(carrier.ready_at))
            for carrier in self.carriers.values()
            if carrier.ready_at > BEFORE
        }

    def play(self) -> Books:
        before = self._on_hand()
        self.env.process(self._calendar())
        self.env.run()
        for carrier in self.carriers.values():
            self.shop.put_right(carrier)
        self._pay_events()
        lasting = self.books.pay_fixed()
        used = before + self.books.put_in - self._on_hand()
        self.books.wear = self.books.total - lasting - self.books.parts + used
        return self.books

    def _on_hand(self) -> int:
        """Balances of what is installed, less the work that is owed."""
        sets = sum(found.balance(self.work.items) for one in self.carriers.values() for found in one.sets.values())
        owed = 0
        for carrier in self.carriers.values():
            for ladder, since in carrier.since.items():
                for level, use in zip(self.work.ladders[ladder], since, strict=True):
                    owed += half_up(level.cost * min(1.0, use / level.interval))
        return sets - owed

    # The calendar

    def _calendar(self) -> Process:
        """Goes from run to run; days pass for everything from one run to the next."""
        last: Carrier | None = None
        rain = self._draw_rain()
        for g, run in list(enumerate(self.work.runs))[self.work.begin :]:
            yield self.env.timeout(run.clock - self.env.now)
            if run.first:
                last = None
                self._new_event()
            engine = self._who_runs(g, last)
            wet = run.lost or rain[run.event] <= g
            if wet:
                self.books.rained.add(g)
            if engine is None:
                if not wet:
                    self.books.missed.add(g)
            else:
                self.books.there.add(run.event)
                if last is not None and engine is not last:
                    self.books.pay(g, "fee", run.swap_fee)
                if not wet:
                    self._run(engine, g)
                last = engine
            self._pass_days(g)

    def _draw_rain(self) -> list[float]:
        """For each event the run from which rain stops it; infinite if it stays dry."""
        return [
            event.rain_from
            if self.draws is not None and self.draws.uniform(RAIN, (event.name,)) < event.rain
            else math.inf
            for event in self.work.events
        ]

    def _new_event(self) -> None:
        self.bonds.new_event()
        for carrier in self.carriers.values():
            carrier.held = carrier.held_if_other = False

    # Who runs

    def _who_runs(self, g: int, last: Carrier | None) -> Carrier | None:
        """The first engine that is ready; none if there is none, or the car is not."""
        if not self._ready(self.car, g):
            return None
        for engine in self._asked(g, last):
            if self._ready(engine, g):
                return engine
        for engine in self._asked(g, last):
            if engine.held_if_other and self._ready(engine, g, though_other=True):
                return engine
        return None

    def _asked(self, g: int, last: Carrier | None) -> Iterator[Carrier]:
        """The engines that may run, in the order in which they are asked."""
        run = self.work.runs[g]
        engines = [engine for engine in self._by_policy(g) if run.engine in (None, engine.name)]
        if last is not None and last in engines:
            yield last
            engines.remove(last)
            if run.clock - last.idle_since < self.work.policies["swap_hours"]:
                return
        yield from engines

    def _by_policy(self, g: int) -> list[Carrier]:
        policy = self.work.policies["who_runs"]
        if policy == "least used":
            return sorted(self.engines, key=lambda engine: engine.used)
        if policy == "best saved" and self.work.events[self.work.runs[g].event].weight < self.work.policies["save_for"]:
            return [*self.engines[1:], self.engines[0]]
        return list(self.engines)

    def _ready(self, carrier: Carrier, g: int, *, though_other: bool = False) -> bool:
        """Serves a carrier in the gap before a run, and says whether it is ready for the run."""
        if carrier.held or (not carrier.on_car and not self.bonds.may_start(carrier.name, g)):
            return False
        if self._is_in_shop(carrier) or (carrier.held_if_other and not though_other):
            return False
        hours = self.shop.serve(carrier, g, though_other=though_other)
        if carrier.held or (carrier.held_if_other and not though_other):
            return False
        left = carrier.idle_since + hours - self.env.now
        if left > BEFORE:
            self.in_shop[carrier.name] = self.env.process(self._in_shop(left))
        return not self._is_in_shop(carrier)

    def _is_in_shop(self, carrier: Carrier) -> bool:
        return carrier.name in self.in_shop and self.in_shop[carrier.name].is_alive

    def _in_shop(self, hours: float) -> Process:
        """Stands in the workshop."""
        yield self.env.timeout(hours - BEFORE)

    # Runs

    def _run(self, engine: Carrier, g: int) -> None:
        """A run: the first failure on the way acts, everything ages as far as the run went."""
        self.books.ran[g] = engine.name
        self.bonds.count_start(engine.name, g)
        both = (engine, self.car)
        fraction, what = min(self._failures(both, g), key=lambda pair: pair[0], default=(1.0, None))
        stops = what is not None and self._fail(both, what, g)
        went = max(0.0, fraction) if stops else 1.0
        if stops:
            self.books.stopped.add(g)
        for carrier in both:
            self._age(carrier, g, went, what)
            carrier.idle_since = self.env.now
        engine.used += went

    def _failures(
        self, both: tuple[Carrier, Carrier], g: int
    ) -> Iterator[tuple[float, tuple[Carrier, Installed | int]]]:
        """Everything that fails in a run if nothing does before it, with the share of the run until then.

        It is below 0 for what is past its end since it ran on: it fails at once, what is furthest past it first.
        """
        if self.draws is None:
            return
        for carrier in both:
            for found in carrier.sets.values():
                for life, age, end in zip(found.position.lives, found.ages, found.ends, strict=True):
                    duty = life.duty[g + 1] - life.duty[g]
                    if duty > 0 and end <= age + duty and found.position.serves[g]:
                        yield (end - age) / duty, (carrier, found)
            for h, left in enumerate(carrier.strikes_in):
                use = self.work.hazards[h].use[g]
                if use > 0 and left <= use:
                    yield left / use, (carrier, h)

    def _fail(self, both: tuple[Carrier, Carrier], what: tuple[Carrier, Installed | int], g: int) -> bool:
        """Breaks what fails and what its case hits, and says whether that ends the run."""
        carrier, failed = what
        names: tuple[str, ...]
        if isinstance(failed, Installed):
            name, cases, stops = failed.position.name, failed.position.cases, failed.position.stops
            names, n = failed.position.names, failed.number
            failed.broken = True
        else:
            hazard = self.work.hazards[failed]
            name, cases, stops = hazard.name, hazard.cases, False
            names, n = (hazard.name,), carrier.strikes[failed]
        self.books.failures[name] += 1
        case = self._draw_case(cases, (carrier.name, *names), n)
        if case is None:
            return stops
        self._hit(both, case, g)
        carrier.more_hours += case.hours
        self.books.pay(g, "damage", case.cost)
        self.books.pay(g, "income", -case.paid)
        return case.stops

    def _draw_case(self, cases: tuple[Case, ...], name: tuple[str, ...], n: int) -> Case | None:
        assert self.draws is not None
        u = self.draws.uniform(CASE, name, n) if cases else 1.0
        return next((case for case in cases if u < case.up_to), None)

    def _hit(self, both: tuple[Carrier, Carrier], case: Case, g: int) -> None:
        for carrier in both:
            for name in case.hits:
                found = carrier.sets.get(name)
                if found is None or not (case.wrecks or found.position.serves[g]):
                    continue
                found.wrecked = found.wrecked or case.wrecks
                if not found.broken:
                    found.broken = found.damaged = True
                    self.books.hits[name] += 1

    def _age(self, carrier: Carrier, g: int, went: float, what: tuple[Carrier, Installed | int] | None) -> None:
        """Ages what a run ages, and what counts from an opening; days pass by the calendar."""
        for found in carrier.sets.values():
            for n, life in enumerate(found.position.lives):
                if not life.by_days:
                    found.ages[n] += went * (life.duty[g + 1] - life.duty[g])
                    found.raw[n] += went * (life.raw[g + 1] - life.raw[g])
        for ladder, since in carrier.since.items():
            for k, level in enumerate(self.work.ladders[ladder]):
                if not level.by_days:
                    since[k] += went * (level.use[g + 1] - level.use[g])
        for h, left in enumerate(carrier.strikes_in):
            if what is not None and what[0] is carrier and what[1] == h and not isinstance(what[1], Installed):
                assert self.draws is not None
                carrier.strikes[h] += 1
                carrier.strikes_in[h] = use_to_strike(
                    self.work.hazards[h], carrier.name, carrier.strikes[h], self.draws
                )
            else:
                carrier.strikes_in[h] = left - went * self.work.hazards[h].use[g]

    def _pass_days(self, g: int) -> None:
        """The days from a run to the next, for every carrier."""
        for carrier in self.carriers.values():
            for found in carrier.sets.values():
                for n, life in enumerate(found.position.lives):
                    if life.by_days:
                        found.ages[n] += life.duty[g + 1] - life.duty[g]
                        found.raw[n] += life.raw[g + 1] - life.raw[g]
            for ladder, since in carrier.since.items():
                for k, level in enumerate(self.work.ladders[ladder]):
                    if level.by_days:
                        since[k] += level.use[g + 1] - level.use[g]

    # Money of events

    def _pay_events(self) -> None:
        """Entry, travel, fees, what flows with use, and the purse, of the events that an engine was there for."""
        flows = self.work.json["flows"]
        for e, event in enumerate(self.work.events):
            if e not in self.books.there:
                continue
            g = event.runs[0]
            self.books.pay(g, "fixed", event.cost)
            self.books.pay(g, "fee", event.fee)
            done = [h for h in event.runs if h in self.books.ran and h not in self.books.stopped]
            self.books.pay(g, "income", -self._purse(e, done))
            ran = [h for h in event.runs if h in self.books.ran]
            for flow in flows:
                whole = len(ran) == len(event.runs)
                cost = flow["by_event"][e] if whole else half_up(sum(flow["by_run"][h] for h in ran), HAIR)
                self.books.pay(g, "consumable", cost)

    def _purse(self, e: int, done: list[int]) -> int:
        event = self.work.events[e]
        if len(done) == len(event.runs):
            return event.purse
        return half_up(event.purse * sum(self.work.runs[h].result for h in done), HAIR)
