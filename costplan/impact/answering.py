"""How a group answers a book: the cheapest parts by which its engines meet it, from what it owns, proved.

What stands in an engine stays there for nothing; another part costs its packs, the work planned for its slot, and the
level that reaches it (once for each engine, not where a service row of the opening gap reaches it anyway), less what
the part that it replaces sells for once a whole field sells; and it costs or saves what `choose.lasting` says of it a
season, over the years of the study. Of answers that cost the same, the one that changes least.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace
from decimal import Decimal
from functools import cached_property
from itertools import product

from costplan.build import Alternate, Build
from costplan.build.airflow import Estimator
from costplan.choose import SHELF, Aimed, Encoded, Goal, Pick, Wishes, encode
from costplan.choose.aims import POWER, SEASON, WATTS, aim
from costplan.choose.candidates import Candidate
from costplan.choose.conflict import explain
from costplan.choose.encoded import CHANGES, ORDER, lazily_barred, with_restrictions
from costplan.choose.lasting import Seasons
from costplan.choose.puzzle import Within, amount_of, fits, is_known
from costplan.choose.settling import Settled, settle
from costplan.garage import CAR
from costplan.impact.answers import UNDECIDED, Answer
from costplan.impact.billing import lines_of, renewed_with, shelf_lines, shelf_values, swaps_of
from costplan.impact.counting import ANSWER, EXACT, ONCE, Counter
from costplan.impact.field import Crowd
from costplan.impact.on_hand import as_kept, barred_parts, garage_after
from costplan.impact.paying import Purse
from costplan.impact.records import Study
from costplan.money import round_money, to_minor
from costplan.rules import Pack
from costplan.scenario import Scenario

#: A choice among the parts of one engine takes a fraction of a second; one that takes longer is given as far as proved.
SECONDS = 20.0


class Answerer:
    """Answers books for one group; made once, since encoding and estimating take a while."""

    def __init__(self, crowd: Crowd, study: Study) -> None:
        self.crowd, self.study = crowd, study
        garage = () if crowd.row.joins else tuple(as_kept(crowd.scenario, ()))
        self.scenario: Scenario = replace(crowd.scenario, garage=garage, log=())
        self.day = self.scenario.opening
        self._purse = Purse(crowd)
        self._known: dict[tuple[int, frozenset[str]], tuple[tuple[Pack, ...], Aimed, Counter]] = {}

    @cached_property
    def estimator(self) -> Estimator | None:
        return self.crowd.scenario.estimator()

    @cached_property
    def _seasons(self) -> Seasons | None:
        season, _ = self.crowd.scenario.season()
        return Seasons(self.crowd.scenario, season) if season and self.scenario.files.positions else None

    @property
    def build(self) -> Build:
        """What each engine has now."""
        return self.crowd.scenario.built()

    def power_of(self, build: Build) -> float | None:
        """The estimated power of a build, kW."""
        return self.estimator.power(build.fills) if self.estimator else None

    def comply(self, packs: tuple[Pack, ...]) -> Answer:
        """The cheapest answer to a book: what stands there already, if that meets it.

        What takes turns in a slot goes on doing so wherever the book lets it, even where one part alone would be
        cheaper: nobody gives up a set-up to save its part. But nothing takes turns with its like.
        """
        found = self._as_it_is(packs) or self._cheapest(packs, self._alone)
        if found is None:
            return self._impossible(packs)
        twice = self._twice(found)
        other = self._cheapest(packs, (twice,)) if twice else None
        return min((one for one in (other, found) if one is not None), key=self._sold_at)

    def _cheapest(self, packs: tuple[Pack, ...], alones: Iterable[frozenset[str]]) -> Answer | None:
        goals = (Goal(ANSWER), Goal(CHANGES), Goal(SEASON), Goal(ORDER))
        return self._answer(packs, goals, alones=alones, cheapen=True)

    def _twice(self, answer: Answer) -> frozenset[str]:
        """The slots in which an answer lets a part take turns with its like: one of them would do alone."""
        return frozenset(
            swap.slot
            for swap in answer.swaps
            for turn in answer.build.alternates.get(swap.slot, ())
            if turn.serves and turn.fill.part.part == swap.after
        )

    def _as_it_is(self, packs: tuple[Pack, ...]) -> Answer | None:
        """The answer that nothing is changed, where that meets the book: no other costs nothing."""
        aimed, counter = self._aimed(packs, self._alone[0])
        encoded, pick = aimed.encoded, counter.kept_pick()
        if pick is None or not fits(encoded.puzzle, pick) or any(lazily_barred(encoded, pick)):
            return None
        return self._told(aimed, pick, counter, proved=True)

    def spend(self, packs: tuple[Pack, ...], complied: Answer) -> Answer:
        """The answer with most estimated power for no more once than the cheapest and the group's budget.

        The cheapest itself where nothing buys power, or no estimate can be made.
        """
        budget = self.crowd.budget
        if not budget or complied.power is None or not complied.possible:
            return complied
        once = to_minor(round_money(self._sold_at(complied) + budget, self._currency), self._currency)
        goals = (Goal(POWER, most=True), Goal(ANSWER), Goal(CHANGES), Goal(ORDER))
        found = self._answer(packs, goals, (Within(-1, ONCE, None, once),), alones=self._alone)
        better = found is not None and found.power is not None and found.power > complied.power
        return found if found is not None and better else complied

    def sellers(self, packs: tuple[Pack, ...]) -> dict[str, frozenset[str]]:
        """Who sells what a book lets stand in each slot, as far as each slot's parts decide that alone."""
        aimed, _ = self._aimed(packs, self._alone[0])
        catalog, found = self.scenario.catalog, {}
        for slot, its in aimed.encoded.candidates.items():
            parts = {one.part for one in its if one.source in ("apart", "kit")}
            offers = (offer for part in parts for offer in (catalog.offers_of(part) if catalog else ()))
            found[slot] = frozenset(offer.supplier for offer in offers)
        return found

    @property
    def _currency(self) -> str:
        return self.scenario.header.currency

    def _sold_at(self, answer: Answer) -> Decimal:
        return answer.once(self.study.haircut, {})

    def _answer(
        self,
        packs: tuple[Pack, ...],
        goals: Sequence[Goal],
        within: Iterable[Within] = (),
        *,
        alones: Iterable[frozenset[str]],
        cheapen: bool = False,
    ) -> Answer | None:
        """The best answer by goals, of the first of `alones` with which there is one: the slots in which one part
        stands alone where several take turns; with `cheapen`, else with anything in slots that are not to be stretched.
        """
        bounds = tuple(within)
        for alone, free in product(alones, (False, True) if cheapen else (False,)):
            aimed, counter = self._aimed(packs, alone)
            encoded = aimed.encoded if free else with_restrictions(aimed.encoded, counter.careful())
            settled = settle(encoded, goals, SECONDS, bounds)
            if settled.solved.pick is not None:
                if cheapen:
                    settled = _as_it_is_worth(settled, counter)
                proved = settled.solved.status == "optimal"
                return self._told(aimed, settled.solved.pick, counter, proved=proved) if settled.solved.pick else None
        return None

    @cached_property
    def _alone(self) -> tuple[frozenset[str], ...]:
        """The slots in which nothing takes turns any more, in the order in which that is tried."""
        slots = sorted(self.build.alternates)
        found = [frozenset[str](), *(frozenset({slot}) for slot in slots), frozenset(slots)]
        return tuple(dict.fromkeys(found))

    def _impossible(self, packs: tuple[Pack, ...]) -> Answer:
        conflict = explain(encode(self.scenario, self._wishes, packs, whole=True), SECONDS)
        names = tuple(one.ground.name for one in conflict.culprits) or (UNDECIDED,)
        return Answer(self.build, against=names, power=self.power_of(self.build))

    @property
    def _wishes(self) -> Wishes:
        """What is on hand may be used. Where nothing is to be stretched `Counter.careful` keeps what is cheaper out."""
        shelf = (SHELF,) if len(self.crowd.engines) == 1 else ()
        hand = () if self.crowd.row.joins else (*self.crowd.engines[:1], CAR, *shelf)
        kept = tuple(row.slot for row in self.scenario.files.positions if not row.stretch)
        return Wishes(self.day, hand=hand, cheapen=kept)

    def _aimed(self, packs: tuple[Pack, ...], alone: frozenset[str]) -> tuple[Aimed, Counter]:
        """The choice with what answers cost; `alone`: slots in which nothing takes turns any more."""
        key = (id(packs), alone)
        if key not in self._known:
            aimed = aim(encode(self._standing(alone), self._wishes, packs), self._seasons, self.estimator)
            counter = Counter(aimed, self._purse, self.study, alone)
            self._known[key] = (packs, replace(aimed, encoded=counter.counted()), counter)
        _, aimed, counter = self._known[key]
        return aimed, counter

    def _standing(self, alone: frozenset[str]) -> Scenario:
        """The group's scenario as a choice sees it."""
        if not alone:
            return self.scenario
        others = {slot: rows for slot, rows in self.build.alternates.items() if slot not in alone}
        garage = () if self.crowd.row.joins else tuple(as_kept(self.crowd.scenario, alone))
        return replace(self.scenario, build=replace(self.build, alternates=others), garage=garage)

    def _told(self, aimed: Aimed, pick: Pick, counter: Counter, *, proved: bool) -> Answer:
        """A pick as an answer."""
        may, purse = _may_stand(aimed.encoded), self._purse
        swapped = {slot: one for slot, one in aimed.encoded.chosen(pick).items() if not counter.is_kept(one)}
        new = _with_swapped(self.build, swapped, aimed.encoded.scenario.built().alternates)
        known = is_known(aimed.encoded.puzzle, POWER, pick)
        power = amount_of(aimed.encoded.puzzle, POWER, pick) / WATTS if known else self.power_of(new)
        swaps = tuple(sorted(swaps_of(purse, swapped, counter.alone), key=lambda one: (one.slot, one.turn)))
        barred, renewed = barred_parts(self.crowd, may), renewed_with(purse, swapped)
        moved = [slot for slot in swapped if not purse.anyway(slot)]
        return Answer(
            new,
            swaps,
            (*lines_of(purse, swapped, swaps, new), *shelf_lines(purse, barred)),
            power,
            self.estimator.error(power) if self.estimator and power is not None else None,
            proved=proved,
            garage=tuple(garage_after(self.crowd, swaps, may, [slot for _, slot in renewed])),
            shelf=shelf_values(purse, barred),
            renewed=renewed,
            opened=tuple((row.carrier, row.rank) for row, _ in purse.opened_for(moved)),
        )


def _as_it_is_worth(settled: Settled, counter: Counter) -> Settled:
    """The best answer with the same slots swapped, by what each part costs and saves.

    In the first place nothing counts less than what stands there, so that nothing is changed only to save; among parts
    that all save, that cannot tell the best.
    """
    if settled.solved.pick is None:
        return settled
    chosen = settled.encoded.chosen(settled.solved.pick)
    swapped = {slot for slot, one in chosen.items() if not counter.is_kept(one)}
    fixed = with_restrictions(settled.encoded, counter.kept_but_in(swapped))
    found = settle(fixed, (Goal(EXACT), Goal(CHANGES), Goal(ORDER)), SECONDS)
    return found if found.solved.pick is not None else settled


def _with_swapped(
    build: Build, swapped: Mapping[str, Candidate], alternates: Mapping[str, tuple[Alternate, ...]]
) -> Build:
    """A build with candidates in their slots, the main part of a slot where several take turns among them."""
    fills = {slot: fill for slot, fill in build.fills.items() if slot not in swapped}
    fills |= {slot: one.fill for slot, one in swapped.items() if one.fill is not None}
    turns = {
        slot: tuple(one if one.serves or slot not in fills else replace(one, fill=fills[slot]) for one in rows)
        for slot, rows in alternates.items()
    }
    return replace(build, fills=fills, alternates=turns)


def _may_stand(encoded: Encoded) -> frozenset[str]:
    """The parts that what each slot asks alone lets stand somewhere, and those that take turns."""
    return frozenset(one.part for its in encoded.candidates.values() for one in its)
