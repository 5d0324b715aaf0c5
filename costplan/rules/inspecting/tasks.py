"""What could be looked at on a car, and what that takes: the pieces that a choice is made of."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from costplan.rules.checklist import CARRIERS, CheckLine
from costplan.rules.inspecting.entrants import RISK
from costplan.rules.inspecting.terms import OPENING, Opening, whole_minutes

#: Minutes to look at what the book states no minutes for; a guess.
LOOK = 5
#: Chances are compared as whole billionths, so that ties are ties on every machine.
BILLION = 1_000_000_000
#: Nothing on a car shows what is paid or done at events.
NOT_ON_A_CAR = ("charge", "conduct")


@dataclass(frozen=True, slots=True)
class Task:
    """A line as it could be looked at on one car: minutes, chance and what it is worth; `turn` in the checklist."""

    turn: int
    line: CheckLine
    minutes: int
    chance: float

    @property
    def worth(self) -> int:
        return round(self.chance * BILLION)


@dataclass(frozen=True, slots=True)
class Takes:
    """What a car takes beside its checks: minutes once for `each_car`, and those of opening it, by level."""

    openings: Mapping[str, Opening]
    each_car: int = 0

    def deepest(self, tasks: Iterable[Task]) -> tuple[Opening, ...]:
        """The levels to which some tasks open a car: of each carrier the deepest."""
        found: dict[str, Opening] = {}
        needed = (self.openings[task.line.level] for task in tasks if task.line.level)
        for opening in sorted(needed, key=lambda one: one.rank):
            found[opening.carrier] = opening
        return tuple(found[carrier] for carrier in CARRIERS if carrier in found)

    def minutes(self, tasks: Sequence[Task]) -> int:
        """What some tasks on one car take with all that; none take nothing."""
        opening = sum(one.minutes for one in self.deepest(tasks))
        return self.each_car + opening + sum(task.minutes for task in tasks) if tasks else 0


def tasks_on(lines: Sequence[CheckLine], share: float) -> tuple[Task, ...]:
    """What could be looked at on a car, whose risk is `share` times the mean of all."""
    return tuple(
        Task(turn, line, whole_minutes(line.minutes or LOOK) + own_opening(line), min(1.0, (line.risk or RISK) * share))
        for turn, line in enumerate(lines)
        if is_on_a_car(line) and not line.inspected
    )


def is_on_a_car(line: CheckLine) -> bool:
    """Whether a line can find a breach on a car: it is asked, counts, and is not what is done at events."""
    return line.asked and line.severity == "must" and line.kind not in NOT_ON_A_CAR


def own_opening(line: CheckLine) -> int:
    """Minutes of opening for one line alone, where nothing says how deep it lies."""
    return OPENING if line.stage == "opened" and not line.level else 0
