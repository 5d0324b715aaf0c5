"""What is done in the gap before a run: what is due, which level is opened, what is renewed, and what it costs."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field
from functools import partial

from tests.season_model.bonds import Bonds
from tests.season_model.books import Books
from tests.season_model.carriers import Carrier, Installed, share
from tests.season_model.draws import CHECK, Draws
from tests.season_model.reading import Level, Work
from tests.season_model.shelf import STRENGTH, Pay, Shelf, UsedSet

#: What is renewed, by position, with the cause.
Renewals = dict[str, str]
PIECE, STEP, SET = "piece", "step", "set"


@dataclass(slots=True)
class Call:
    """What a gap asks of a ladder: the level to be opened, and whether the book keeps the carrier from running."""

    level: int | None = None
    kept: bool = False
    kept_if_other: bool = False


@dataclass(slots=True)
class Workshop:
    """Serves carriers. `draws` are none in a plan."""

    work: Work
    shelf: Shelf
    bonds: Bonds
    books: Books
    draws: Draws | None

    # What a gap asks for

    def serve(self, carrier: Carrier, g: int, *, though_other: bool = False) -> float:
        """Opens a carrier where anything calls for it, and gives the hours from its last run until it is ready.

        `though_other`: it is to run though the policy would have another engine.
        """
        room = self.work.runs[g].clock - carrier.idle_since
        calls = {ladder: self._call(carrier, ladder, g, room) for ladder in self.work.ladders_of[carrier.on_car]}
        carrier.held = carrier.held or any(call.kept for call in calls.values())
        if any(call.kept_if_other for call in calls.values()) and not though_other:
            carrier.held_if_other = True
        if carrier.held or (carrier.held_if_other and not though_other):
            return 0.0
        hours = 0.0
        for ladder, call in calls.items():
            if call.level is not None:
                waited = self._open(carrier, ladder, call.level, g)
                hours = max(hours, self.work.ladders[ladder][call.level].hours, waited)
        carrier.held = any(self._cannot_run(found, g) for found in carrier.sets.values())
        hours, carrier.more_hours = hours + carrier.more_hours, 0.0
        return hours

    def _cannot_run(self, found: Installed, g: int) -> bool:
        return found.broken or found.barred_by_limit(g, self.work.slack)

    def _call(self, carrier: Carrier, ladder: str, g: int, room: float) -> Call:
        """The highest level that is called for and open, and what is due at a level that the book bars."""
        levels = self.work.ladders[ladder]
        barred = [self.bonds.barred(ladder, k, carrier.name, g) for k in range(len(levels))]
        call = Call()
        open_to = [k for k in range(len(levels)) if not barred[k] and self._level_due(carrier, ladder, k, g, room)]
        for found in carrier.sets_on(ladder):
            k = found.position.level
            urgent = found.broken or found.at_limit(g, g + 1, self.work.slack)
            if not urgent and not self._planned(found, levels, g, room):
                continue
            if not self._obtainable(carrier, found, g):
                call.kept = call.kept or self._cannot_run(found, g)
            elif not barred[k]:
                open_to.append(k)
        call.level = max(open_to, default=None)
        self._keep(carrier, ladder, barred, g, call)
        return call

    def _level_due(self, carrier: Carrier, ladder: str, k: int, g: int, room: float) -> bool:
        level, since = self.work.ladders[ladder][k], carrier.since[ladder][k]
        if level.hours > room:
            return False
        called = self._dated(level, since, g) or (ladder, k) in carrier.overdue
        return called or self._passed(level, since, g, level.next_fit[g])

    def _dated(self, level: Level, since: float, g: int) -> bool:
        """Whether a date calls for a level; soon after it was done, it is passed over."""
        rested = since >= level.rest * (1 - self.work.slack)
        if g in level.called and not rested:
            self.books.happened["a date is passed over"] += 1
        return g in level.called and rested

    def _passed(self, level: Level, since: float, g: int, h: int) -> bool:
        return since > 0 and since + level.use[h] - level.use[g] > level.interval * (1 + self.work.slack)

    def _planned(self, found: Installed, levels: tuple[Level, ...], g: int, room: float, opened: int = 0) -> bool:
        """Whether a position falls due by the next gap that its level fits, and it fits now.

        One that does not call is only in time for its limit.
        """
        level, slack = levels[found.position.level], self.work.slack
        due, limit = (falls(g, level.next_fit[g], slack, opened) for falls in (found.due, found.at_limit))
        if level.hours <= room and due and not limit and not found.position.calls:
            self.books.happened["what is due does not call"] += 1
        return level.hours <= room and (due if found.position.calls else limit)

    def _keep(self, carrier: Carrier, ladder: str, barred: list[bool], g: int, call: Call) -> None:
        """What the policy makes of work that is due at a barred level above the one that is opened."""
        levels, due, slack = self.work.ladders[ladder], False, self.work.slack
        for k in range(len(levels)):
            if not barred[k] or (call.level is not None and k <= call.level):
                continue
            if self._dated(levels[k], carrier.since[ladder][k], g):
                carrier.overdue.add((ladder, k))
            due = due or (ladder, k) in carrier.overdue
            due = due or self._passed(levels[k], carrier.since[ladder][k], g, g + 1)
            for found in carrier.sets_on(ladder):
                if found.position.level == k:
                    call.kept = call.kept or self._cannot_run(found, g)
                    due = due or (found.position.calls and found.worn_by(g, g + 1, slack))
        policy = self.work.policies["when_barred"]
        call.kept = call.kept or (due and policy == "stop")
        call.kept_if_other = due and policy == "change engine" and not carrier.on_car

    def _obtainable(self, carrier: Carrier, found: Installed, g: int) -> bool:
        """Whether the book lets the pieces be put in that its renewal takes."""
        job = Job(self, carrier, found.position.ladder, found.position.level, g)
        return self.bonds.allows(job.pieces(job.closed({found.position.name: "failure"}, {})), g)

    # Openings

    def _open(self, carrier: Carrier, ladder: str, k: int, g: int) -> float:
        """Opens a level, and gives the hours until all is there that nobody had ordered ahead."""
        job, levels = Job(self, carrier, ladder, k, g), self.work.ladders[ladder]
        wanted: Renewals = {}
        for found in job.reached():
            name = found.position.name
            if name in levels[k].renews or found.due(g, job.horizon(found), self.work.slack, opened=1):
                wanted[name] = "planned"
            if found.broken:
                if name in wanted and found.position.as_piece and not found.wrecked:
                    found.wrecked = True
                    found.wrecked = self._obtainable(carrier, found, g)
                wanted[name] = "damage" if found.damaged else "failure"
        wanted |= self._seen(job, wanted)
        must = job.rationed(wanted, {})
        early = dict.fromkeys(self._early(job, must), "early")
        job.do(job.rationed(early, must))
        return job.waited

    def put_right(self, carrier: Carrier) -> None:
        """After the last run: what is broken, with what its level always renews."""
        g = len(self.work.runs)
        for ladder in self.work.ladders_of[carrier.on_car]:
            broken = [found for found in carrier.sets_on(ladder) if found.broken]
            if not broken:
                continue
            k = max(found.position.level for found in broken)
            job = Job(self, carrier, ladder, k, g)
            wanted: Renewals = {name: "planned" for name in self.work.ladders[ladder][k].renews if name in carrier.sets}
            for found in broken:
                found.wrecked = found.wrecked or (found.position.as_piece and found.position.name in wanted)
            wanted |= {found.position.name: "damage" if found.damaged else "failure" for found in broken}
            job.do(job.rationed(wanted, {}))

    def _seen(self, job: Job, wanted: Renewals) -> Renewals:
        """What a look at the level sees coming of what is not wanted for its own sake."""
        if self.draws is None:
            return {}
        found: Renewals = {}
        for one in job.reached():
            name, sees = one.position.name, job.level.sees.get(one.position.name, 0.0)
            if not sees or name in wanted or not one.soon_seen():
                continue
            u = self.draws.uniform(CHECK, (job.carrier.name, *one.position.names), 256 * one.number + one.looks)
            one.looks += 1
            if u < sees:
                found[name] = "found"
                self.books.finds[name] += 1
        return found

    def _early(self, job: Job, must: Renewals) -> Iterable[str]:
        """The positions that are renewed before they are due, since they are within reach."""
        policy = self.work.policies["early"]
        if policy == "off":
            return
        for found in job.reached():
            name = found.position.name
            if name in must:
                continue
            if policy == "share":
                if found.worn_share() >= self.work.policies["early_share"]:
                    yield name
            elif (last := self._used_up_in(job, found)) is not None and (
                self._none_to_wait_for(job, found, last) or self._worth(job, name, must, last)
            ):
                yield name

    def _worth(self, job: Job, name: str, must: Renewals, last: int) -> bool:
        """Whether an opening for it alone would cost more than what is lost by renewing it now."""
        level = self.work.ladders[job.ladder][job.carrier.sets[name].position.level]
        return job.lost(job.closed({name: "early"}, must), must) < level.cost + level.fees[last]

    def _used_up_in(self, job: Job, found: Installed) -> int | None:
        """The run before the next expected opening in which a position is used up."""
        runs = range(job.g, self._next_opening(job, found))
        return next((h for h in runs if found.due(job.g, h + 1, self.work.slack)), None)

    def _next_opening(self, job: Job, found: Installed) -> int:
        """The gap in which a level that reaches a position is expected next; the season's end if none is."""
        levels, runs = self.work.ladders[job.ladder], len(self.work.runs)
        for h in range(job.g + 1, runs):
            for k in range(found.position.level, len(levels)):
                since = 0.0 if k <= job.k else job.carrier.since[job.ladder][k]
                passed = since + levels[k].use[h + 1] - levels[k].use[job.g] > levels[k].interval * (
                    1 + self.work.slack
                )
                till_then = since + levels[k].use[h] - levels[k].use[job.g]
                dated = h in levels[k].called and till_then >= levels[k].rest * (1 - self.work.slack)
                if (dated or passed) and not self._barred_later(job, k, h):
                    return h
        return runs

    def _barred_later(self, job: Job, k: int, h: int) -> bool:
        return self.bonds.barred_after(job.ladder, k, job.carrier.name, h, (job.k, job.g))

    def _none_to_wait_for(self, job: Job, found: Installed, last: int) -> bool:
        """Whether the book bars its level in every later gap that fits, up to the run that uses it up."""
        k = found.position.level
        hours = self.work.ladders[job.ladder][k].hours
        gaps = [h for h in range(job.g + 1, last + 1) if self.work.runs[h].gap >= hours]
        return bool(gaps) and all(self._barred_later(job, k, h) for h in gaps)


@dataclass(slots=True)
class Job:
    """One opening of a carrier at a level; `unplanned` if anything on it is broken when it begins."""

    shop: Workshop
    carrier: Carrier
    ladder: str
    k: int
    g: int
    chosen: dict[str, UsedSet | None] = field(default_factory=dict)
    unplanned: bool = False
    waited: float = 0.0

    def __post_init__(self) -> None:
        self.unplanned = any(found.broken for found in self.carrier.sets.values())

    def wait(self, what: str, cause: str, hours: float) -> None:
        """Waits for what is bought now unless it could be ordered ahead, as for what is only due."""
        if self.unplanned or cause == "found":
            self.waited = max(self.waited, hours)
            if hours > self.level.hours:
                self.shop.books.happened[f"{what} waits, {cause}"] += 1

    @property
    def level(self) -> Level:
        return self.shop.work.ladders[self.ladder][self.k]

    @property
    def after_all(self) -> bool:
        """Whether it is after the last run."""
        return self.g == len(self.shop.work.runs)

    def reached(self) -> list[Installed]:
        return [found for found in self.carrier.sets_on(self.ladder) if found.position.level <= self.k]

    # What is renewed, and how

    def way(self, found: Installed) -> str:
        """Whether one piece goes in, the next service step is done, or another set goes in."""
        at = found.position
        if found.broken and at.as_piece and at.pieces > 1 and not found.wrecked:
            return PIECE
        if found.wrecked or found.steps_done >= len(at.steps):
            return SET
        step = at.steps[found.steps_done]
        if (found.broken and not step.mends) or (self.g < len(step.barred) and step.barred[self.g]):
            return SET
        lasts = self.after_all or not found.at_limit(self.g, self.horizon(found), self.shop.work.slack, opened=1)
        return STEP if lasts else SET

    def horizon(self, found: Installed) -> int:
        """The run up to which what goes in now has to last."""
        fits = self.shop.work.ladders[found.position.ladder][found.position.level].next_fit
        return fits[self.g] if self.g < len(fits) else len(fits)

    def along(self, name: str) -> set[str]:
        """What is renewed when a position is: its companions, those of its step, and what does not suit a new set."""
        found = self.carrier.sets[name]
        names, way = set(found.position.renew_with), self.way(found)
        if way == STEP:
            names |= set(found.position.steps[found.steps_done].renews)
        if way == SET:
            names |= {other for other in found.position.leads if self._unlike(found, other)}
        return {other for other in names if other in self.carrier.sets} - {name}

    def _unlike(self, found: Installed, other: str) -> bool:
        """Whether another set takes another item than this one in some other position."""
        used = self.shop.shelf.best_used(found.position, found.item, self.g, self.horizon(found), [])
        after = used.steps_done if used else 0
        return found.position.item_after(after, other) != found.position.item_after(found.steps_done, other)

    def closed(self, wanted: Renewals, must: Renewals) -> Renewals:
        """What is wanted with all that goes along, on top of what must be.

        What goes along for no other reason takes the cause of what takes it, the strongest first.
        """
        result = wanted | must
        for cause in STRENGTH:
            waiting = [name for name, why in wanted.items() if why == cause]
            while waiting:
                for other in self.along(waiting.pop()) - result.keys():
                    result[other] = cause
                    waiting.append(other)
        return result

    def pieces(self, renewals: Renewals) -> dict[str, int]:
        """The pieces that are put in; a service step puts in none."""
        counts = {}
        for name in renewals:
            found = self.carrier.sets[name]
            counts[name] = {PIECE: 1, STEP: 0, SET: found.position.pieces}[self.way(found)]
        return counts

    def rationed(self, wanted: Renewals, must: Renewals) -> Renewals:
        """What is wanted, as far as the book allows the pieces: the strongest causes first, each with what it takes."""
        bonds, all_of_it = self.shop.bonds, self.closed(wanted, must)
        if bonds.allows(self.pieces(all_of_it), self.g):
            return all_of_it
        result = dict(must)
        for cause in STRENGTH:
            for name in sorted(name for name, why in wanted.items() if why == cause):
                more = self.closed({name: cause}, result)
                if bonds.allows(self.pieces(more), self.g):
                    result = more
        return result

    def lost(self, renewals: Renewals, must: Renewals) -> int:
        """The balance that goes with what is renewed beyond what must be; of a step only what is left before it."""
        total = 0
        for name in renewals.keys() - must.keys():
            found = self.carrier.sets[name]
            total += found.balance(self.shop.work.items)
            if self.way(found) == STEP:
                total -= found.balance(self.shop.work.items, worn=1.0)
        return total

    # Doing it

    def do(self, renewals: Renewals) -> None:
        """Opens the level, renews, and sets back what counts from an opening."""
        books, level = self.shop.books, self.level
        pay: Pay = partial(books.pay, self.g)
        buy: Pay = partial(books.pay_for_parts, self.g)
        books.openings[self.ladder, level.name] += 1
        pay("labour", level.labour)
        pay("consumable", level.cost - level.labour)
        pay("fee", level.fees[self.g])
        self.shop.bonds.count_pieces(self.pieces(renewals), self.g)
        ways = {name: self.way(self.carrier.sets[name]) for name in sorted(renewals)}
        items = self._items(ways)
        self.shop.shelf.box_open = self.unplanned or "found" in renewals.values()
        self._buy_kits(renewals, ways, items, buy)
        self._count_opening(ways)
        for name, way in ways.items():
            self._renew(name, way, items[name], renewals[name], buy)
        for k in range(self.k + 1):
            self.carrier.since[self.ladder][k] = 0.0
            self.carrier.overdue.discard((self.ladder, k))
        self.shop.bonds.count_opening(self.ladder, self.k, self.carrier.name, self.g)

    def _count_opening(self, ways: dict[str, str]) -> None:
        """What stays in, worked on or mended or not touched, is an opening older."""
        for found in self.reached():
            if ways.get(found.position.name) != SET and found.count_opening() and self.after_all:
                self.shop.books.happened["an opening older after the last run"] += 1

    def _items(self, ways: dict[str, str]) -> dict[str, str]:
        """The item that goes into each position: as before, or what goes with the steps of what is renewed too.

        Used sets are chosen on the way.
        """
        items: dict[str, str] = {}
        for name in ways:
            self._choose(name, ways, items)
        return items

    def _choose(self, name: str, ways: dict[str, str], items: dict[str, str]) -> None:
        if name in items:
            return
        found = self.carrier.sets[name]
        if ways[name] != SET:
            items[name] = found.item
            return
        item: str | None = None
        for leader in (self.carrier.sets[other] for other in found.position.led_by if other in ways):
            if leader is not found:
                self._choose(leader.position.name, ways, items)
                item = leader.position.item_after(self._done_after(leader, ways), name) or found.position.item
        items[name] = item or found.item
        taken = [one for one in self.chosen.values() if one is not None]
        best = self.shop.shelf.best_used
        self.chosen[name] = best(found.position, items[name], self.g, self.horizon(found), taken)

    def _done_after(self, leader: Installed, ways: dict[str, str]) -> int:
        """The service steps that a set will have been through after this opening."""
        way, used = ways.get(leader.position.name), self.chosen.get(leader.position.name)
        if way == SET:
            return used.steps_done if used else 0
        return leader.steps_done + (way == STEP)

    def _buy_kits(self, renewals: Renewals, ways: dict[str, str], items: dict[str, str], pay: Pay) -> None:
        needed: dict[str, int] = {}
        for name, way in ways.items():
            if way != STEP and self.chosen.get(name) is None:
                count = 1 if way == PIECE else self.carrier.sets[name].position.pieces
                needed[items[name]] = needed.get(items[name], 0) + count
        if needed:
            takes = [(renewals[name], items[name]) for name, way in ways.items() if way != STEP]
            self.shop.shelf.buy_kits(
                needed, sorted(takes, key=lambda one: STRENGTH.index(one[0])), self.g, pay, partial(self.wait, "a kit")
            )

    def _renew(self, name: str, way: str, item: str, cause: str, pay: Pay) -> None:
        found, shelf = self.carrier.sets[name], self.shop.shelf
        books = self.shop.books
        if way == PIECE:
            books.put_in += shelf.take(item, 1, self.g, cause, pay, partial(self.wait, "a pack"))
        elif way == STEP:
            found.worked = found.position.steps[found.steps_done].cost
            pay(cause, found.worked)
            books.put_in += found.worked
            found.steps_done += 1
            found.ages = [0.0] * len(found.ages)
        else:
            found = self._replace(found, item, cause, pay)
            books.put_in += found.balance(self.shop.work.items)
        found.mend()
        found.number, found.looks = found.number + 1, 0
        found.draw(self.carrier.name, self.shop.draws)
        self._run_in(found)

    def _replace(self, found: Installed, item: str, cause: str, pay: Pay) -> Installed:
        """Takes a set out and puts another in, used or new."""
        at, shelf, used = found.position, self.shop.shelf, self.chosen[found.position.name]
        if not found.broken:
            old = self.shop.work.items[found.item]
            pay("refund", -share(old.core, at.pieces, old.pack))
            pay("income", -old.resale * at.pieces)
        if used is not None:
            shelf.used.remove(used)
            new = used.installed_as(at, shelf.days(self.g))
        else:
            value = shelf.take(item, at.pieces, self.g, cause, pay, partial(self.wait, "a pack"))
            ages = [0.0] * len(at.lives)
            new = Installed(at, item, value, 0, 0, ages, list(ages), [float("inf")] * len(ages))
        new.number = found.number
        self.carrier.sets[at.name] = new
        return new

    def _run_in(self, found: Installed) -> None:
        for n, life in enumerate(found.position.lives):
            duty, raw = self.level.run_in.get((found.position.name, life.name), (0.0, 0.0))
            found.ages[n] += duty
            found.raw[n] += raw
            if duty and self.after_all:
                self.shop.books.happened["run in after the last run"] += 1
