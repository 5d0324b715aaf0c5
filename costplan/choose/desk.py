"""One encoding under way: what is asked so far, and of whom."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

from costplan.choose.candidates import Candidate
from costplan.choose.encoded import Open, Out
from costplan.choose.judging import Judge, Question
from costplan.choose.purchases import Cap
from costplan.choose.puzzle import Allowed, Ground, Restriction
from costplan.choose.wishes import Wishes
from costplan.scenario import Scenario


@dataclass(slots=True)
class Desk:
    """One encoding under way."""

    scenario: Scenario
    wishes: Wishes
    judge: Judge
    candidates: dict[str, tuple[Candidate, ...]]
    whole: bool
    grounds: list[Ground] = field(default_factory=list)
    restrictions: list[Restriction] = field(default_factory=list)
    caps: list[tuple[int, Cap, float]] = field(default_factory=list)
    lazy: list[tuple[int, Question]] = field(default_factory=list)
    out: list[Out] = field(default_factory=list)
    open: list[Open] = field(default_factory=list)
    unshown: list[Question] = field(default_factory=list)
    every: Mapping[str, tuple[Candidate, ...]] = field(default_factory=dict)
    tables: int = 0
    sums: int = 0

    @property
    def slots(self) -> tuple[str, ...]:
        return tuple(self.candidates)

    def ground(self, ground: Ground) -> int:
        """The number of a ground: one for a clause of which several slots answer each for itself."""
        if ground not in self.grounds:
            self.grounds.append(ground)
        return self.grounds.index(ground)

    def keep(self, ground: int, slot: str, may: Sequence[bool]) -> None:
        """Takes candidates out of a slot; leaves them in for somebody who wants to know why nothing is left."""
        if all(may):
            return
        if self.whole:
            self.bar(ground, slot, may)
            return
        pairs = list(zip(self.candidates[slot], may, strict=True))
        for one in (one for one, good in pairs if not good):
            piece = one.piece.piece if one.piece else ""
            self.out.append(Out(slot, one.part, one.kit, piece, self.grounds[ground]))
        self.candidates[slot] = tuple(one for one, good in pairs if good)

    def bar(self, ground: int, slot: str, may: Sequence[bool]) -> None:
        """Leaves candidates in their slot and forbids them: others already count on their numbers."""
        classes = tuple(int(one) for one in may)
        self.restrictions.append(Allowed(ground, (self.slots.index(slot),), (classes,), frozenset({(1,)})))
