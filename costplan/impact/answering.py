"""How a group answers a book: the cheapest parts by which its engines meet it, from what it owns, proved.

What stands in an engine stays there for nothing; another part costs its packs, the work planned for its slot, and the
level that reaches it (once for each engine, not where a service row of the opening gap reaches it anyway), less what
the part that it replaces sells for once a whole field sells; and it costs or saves what `choose.lasting` says of it a
season, over the years of the study. Of answers that cost the same, the one that changes least.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import replace
from decimal import Decimal
from functools import cached_property

from costplan.build import Build
from costplan.build.airflow import Estimator
from costplan.choose import SHELF, Aimed, Encoded, Goal, Pick, Wishes, encode
from costplan.choose.aims import POWER, SEASON, WATTS, aim
from costplan.choose.conflict import explain
from costplan.choose.encoded import CHANGES, ORDER
from costplan.choose.lasting import Seasons
from costplan.choose.puzzle import Within, amount_of, is_known
from costplan.choose.settling import settle
from costplan.garage import CAR, Piece
from costplan.impact.answers import Answer, Swap
from costplan.impact.counting import ANSWER, ONCE, Counter
from costplan.impact.field import Crowd
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
        garage = () if crowd.row.joins else tuple(_as_kept(crowd.scenario))
        self.scenario: Scenario = replace(crowd.scenario, garage=garage, log=())
        self.day = self.scenario.opening
        self._known: dict[tuple[int, bool], tuple[tuple[Pack, ...], Aimed, Counter]] = {}

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
        """The cheapest answer to a book; where nothing meets it while parts take turns, with one part in their slot."""
        found = self._answer(packs, (Goal(ANSWER), Goal(CHANGES), Goal(SEASON), Goal(ORDER)))
        return found if found is not None else self._impossible(packs)

    def spend(self, packs: tuple[Pack, ...], complied: Answer) -> Answer:
        """The answer with most estimated power for no more once than the cheapest and the group's budget.

        The cheapest itself where nothing buys power, or no estimate can be made.
        """
        budget = self.crowd.budget
        if not budget or complied.power is None or not complied.possible:
            return complied
        once = to_minor(round_money(self._sold_at(complied) + budget, self._currency), self._currency)
        goals = (Goal(POWER, most=True), Goal(ANSWER), Goal(CHANGES), Goal(ORDER))
        found = self._answer(packs, goals, (Within(-1, ONCE, None, once),))
        better = found is not None and found.power is not None and found.power > complied.power
        return found if found is not None and better else complied

    def sellers(self, packs: tuple[Pack, ...]) -> dict[str, frozenset[str]]:
        """Who sells what a book lets stand in each slot, as far as each slot's parts decide that alone."""
        aimed, _ = self._aimed(packs, alone=False)
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

    def _answer(self, packs: tuple[Pack, ...], goals: Sequence[Goal], within: Iterable[Within] = ()) -> Answer | None:
        """The best answer by goals; with what takes turns in a slot taken out where there is none with it."""
        bounds = tuple(within)
        for alone in (False, True):
            aimed, counter = self._aimed(packs, alone=alone)
            settled = settle(aimed.encoded, goals, SECONDS, bounds)
            if settled.solved.pick is not None:
                proved = settled.solved.status == "optimal"
                return self._told(replace(aimed, encoded=settled.encoded), settled.solved.pick, counter, proved=proved)
            if not self.build.alternates:
                break
        return None

    def _impossible(self, packs: tuple[Pack, ...]) -> Answer:
        conflict = explain(encode(self.scenario, self._wishes, packs, whole=True), SECONDS)
        names = tuple(one.ground.name for one in conflict.culprits) or ("no choice of parts was found",)
        return Answer(self.build, against=names, power=self.power_of(self.build))

    @property
    def _wishes(self) -> Wishes:
        """What is on hand may be used; parts bought new may be cheaper than planned only where the book asks for it."""
        one_engine = len(self.crowd.engines) == 1
        hand = (*self.crowd.engines[:1], CAR, *((SHELF,) if one_engine else ()))
        used = {piece.engine or SHELF for piece in self.scenario.garage}
        kept = tuple(row.slot for row in self.scenario.files.positions if not row.stretch)
        return Wishes(self.day, hand=tuple(name for name in hand if name in used), cheapen=kept)

    def _aimed(self, packs: tuple[Pack, ...], *, alone: bool) -> tuple[Aimed, Counter]:
        """The choice with what answers cost; `alone`: nothing takes turns in a slot any more."""
        key = (id(packs), alone)
        if key not in self._known:
            scenario = replace(self.scenario, build=_alone(self.build)) if alone else self.scenario
            aimed = aim(encode(scenario, self._wishes, packs), self._seasons, self.estimator)
            counter = Counter(aimed, self.crowd, self.study)
            self._known[key] = (packs, replace(aimed, encoded=counter.counted()), counter)
        _, aimed, counter = self._known[key]
        return aimed, counter

    def _told(self, aimed: Aimed, pick: Pick, counter: Counter, *, proved: bool) -> Answer:
        """A pick as an answer."""
        chosen, build = aimed.encoded.chosen(pick), self.build
        swapped = {slot: one for slot, one in chosen.items() if not counter.is_kept(one)}
        fills = {slot: fill for slot, fill in build.fills.items() if slot not in swapped}
        fills |= {slot: one.fill for slot, one in swapped.items() if one.fill is not None}
        gone = {slot for slot in build.alternates if slot not in aimed.encoded.scenario.built().alternates}
        others = {slot: rows for slot, rows in build.alternates.items() if slot not in gone}
        new = replace(build, fills=fills, alternates=others)
        power = None
        if is_known(aimed.encoded.puzzle, POWER, pick):
            power = amount_of(aimed.encoded.puzzle, POWER, pick) / WATTS
        swaps = (*(counter.swap(slot, one) for slot, one in swapped.items()), *_turned_out(build, gone, counter))
        return Answer(
            new,
            tuple(sorted(swaps, key=lambda one: (one.slot, one.turn))),
            tuple(counter.lines(swapped, swaps)),
            power if power is not None else self.power_of(new),
            self.estimator.error(power) if self.estimator and power is not None else None,
            proved=proved,
            garage=tuple(self._garage(swaps, _may_stand(aimed.encoded))),
            barred=tuple(sorted(self._barred(_may_stand(aimed.encoded)))),
        )

    def _garage(self, swaps: Sequence[Swap], may: frozenset[str]) -> Iterator[Piece]:
        """What is on hand once an answer is given: without what is replaced, what was taken from the shelf in its slot,
        and no more of what may stand nowhere."""
        out = {(swap.slot, swap.turn) for swap in swaps}
        taken = {swap.piece: swap for swap in swaps if swap.piece}
        roles = {slot.role for slot in self.build.pattern.slots.values()}
        catalog = self.scenario.catalog
        for piece in self.crowd.scenario.garage:
            part = catalog.parts.get(piece.part) if catalog else None
            if piece.piece in taken:
                yield from _after_taking(piece, taken[piece.piece], self.crowd, self.build)
            elif piece.on_shelf:
                if part is None or part.role not in roles or piece.part in may:
                    yield piece
            elif not self._is_out(piece, out):
                yield piece

    def _is_out(self, piece: Piece, out: set[tuple[str, str]]) -> bool:
        turns = {one.name for one in self.build.alternates.get(piece.slot, ()) if one.serves}
        turn = piece.alternate if piece.alternate in turns else ""
        return (piece.slot, turn) in out

    def _barred(self, may: frozenset[str]) -> set[str]:
        """Parts on the shelf that may stand nowhere."""
        kept = {piece.piece for piece in self._garage((), may)}
        return {piece.part for piece in self.crowd.scenario.garage if piece.on_shelf and piece.piece not in kept}


def _alone(build: Build) -> Build:
    """A build in which nothing takes turns in any slot."""
    return replace(build, alternates={})


def _may_stand(encoded: Encoded) -> frozenset[str]:
    """The parts that what each slot asks alone lets stand somewhere, and those that take turns."""
    return frozenset(one.part for its in encoded.candidates.values() for one in its)


def _as_kept(scenario: Scenario) -> Iterator[Piece]:
    """What is on hand as a choice sees it: what is in an engine may stay there, however worn, since nobody asks it to
    be renewed; its age in days and serial, by which clauses keep older parts, stay."""
    for piece in scenario.garage:
        if piece.on_shelf:
            yield piece
        else:
            yield piece.model_copy(update={"use": {}, "installed": None, "step": 0, "count": None})


def _after_taking(piece: Piece, swap: Swap, crowd: Crowd, build: Build) -> Iterator[Piece]:
    """A box on the shelf after a slot's pieces are taken from it, and what was used there, in its slot."""
    number = build.pattern.slots[swap.slot].quantity
    if piece.is_used:
        carrier = CAR if swap.carrier == CAR else crowd.engines[0]
        yield piece.model_copy(update={"engine": carrier, "slot": swap.slot, "count": None, "spare": False})
    elif (piece.count or 1) > number:
        yield piece.model_copy(update={"count": (piece.count or 1) - number})


def _turned_out(build: Build, gone: Iterable[str], counter: Counter) -> Iterator[Swap]:
    """The parts that took turns in slots where one part stands alone now."""
    for slot in sorted(gone):
        for one in build.alternates[slot]:
            if one.serves:
                yield Swap(slot, counter.carrier(slot), one.fill.part.part, "", turn=one.name)
