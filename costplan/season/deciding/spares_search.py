"""The search for a box of spares: step by step what saves most for its money, beside what was taken before."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field
from itertools import product
from typing import Protocol, TypeVar

import numpy as np

from costplan.season.arrays import as_drawn
from costplan.season.deciding.asked import Asked
from costplan.season.deciding.spares_answer import AllBoxes
from costplan.season.deciding.spares_box import Box, cost_of, in_packs, joined, outlay_of, pieces_in, with_box
from costplan.season.deciding.spares_trials import Drawn, Trials, comes_late, gain_of
from costplan.season.drawn.figures import Z95, error_of
from costplan.season.names import Season

T = TypeVar("T")

#: Seasons on which every candidate is looked at; those that may be the best are drawn on, twice as many each time.
SCREEN = 500
#: No more is drawn once every error is below this share of the largest gain.
SHARP = 0.1
#: Of those that may be the best so many are drawn on; what was not taken is shown on one in so many of the seasons.
CLOSEST, FEWER = 6, 4
#: How many sets of parts that are waited for together are tried.
TOGETHER = 12
#: All boxes are tried where no more parts than this come into question, so many of each at the most, and no more boxes
#: fit the sum.
FEW_PARTS, MOST_OF_ONE, FEW_BOXES = 12, 2, 100


class Each(Protocol):
    """Sees things go by that are worked on one by one, under some words."""

    def __call__(self, items: Iterable[T], words: str) -> Iterator[T]: ...


def unwatched(items: Iterable[T], words: str) -> Iterator[T]:  # noqa: ARG001 - as Each has it
    return iter(items)


@dataclass(slots=True)
class Search:
    """The search for a box: what it may hold, and what has been found so far."""

    trials: Trials
    most: int
    budget: int
    each: Each
    units: dict[int, int]
    singles: tuple[Box, ...] = ()
    together: tuple[Box, ...] = ()
    waited: dict[int, bool] = field(default_factory=dict)
    chosen: Box = ()
    hopeless: set[Box] = field(default_factory=set)
    taken: list[tuple[Box, Box]] = field(default_factory=list)

    @property
    def season(self) -> Season:
        return self.trials.season

    @property
    def left(self) -> int:
        return self.budget - outlay_of(self.season, self.chosen)

    def look(self, log: Asked) -> None:
        """What is waited for, alone and together, and what is needed unplanned but is never waited for.

        In other seasons than these it may be; but a spare of it would not show beyond the error.
        """
        wanted = [item for item in self.units if log.wanted[:, item].any()]
        sets = dict.fromkeys(tuple(item for item in items if item in self.units) for items in log.sets())
        several = [items for items in sets if len(items) > 1 and self.outlay_of(items) <= self.budget][:TOGETHER]
        shown = self.each([*((item,) for item in wanted), *several], "Looking what is waited for")
        waits = [items for items in shown if self.is_waited_for(items)]
        self.waited = {item: any(item in items for items in waits) for item in wanted}
        self.singles = tuple(self.set_of(item) for item, waited in self.waited.items() if waited)
        self.together = tuple(self.sets_of(items) for items in waits if len(items) > 1)

    def is_waited_for(self, items: Sequence[int]) -> bool:
        """Whether any season would be another if some items were never waited for."""
        return not never_waited(self, items, self.most).like(self.trials.take((), self.most))

    def sets_of(self, items: Iterable[int]) -> Box:
        return joined((), tuple(one for item in items for one in self.set_of(item)))

    def outlay_of(self, items: Iterable[int]) -> int:
        return outlay_of(self.season, self.sets_of(items))

    def set_of(self, item: int) -> Box:
        return ((item, in_packs(self.season, item, self.units[item])),)

    def options(self) -> list[Box]:
        """What can be added for what is left of the sum: parts, and what is waited for together."""
        have = dict(self.chosen)
        rest = (tuple(one for one in box if one[0] not in have) for box in self.together)
        found = dict.fromkeys([*self.singles, *(box for box in rest if len(box) > 1)])
        return [box for box in found if box not in self.hopeless and outlay_of(self.season, box) <= self.left]

    def step(self) -> bool:
        """Takes what saves most for its money beyond its error; whether there was any."""
        options = self.options()
        while options:
            best = self.best_of(options)
            if best is None:
                return False
            if self.trials.gain(self.chosen, best, self.most).pays:
                self.taken.append((self.chosen, best))
                self.chosen = joined(self.chosen, best)
                return True
            options = [box for box in options if box != best]
        return False

    def best_of(self, options: Sequence[Box]) -> Box | None:
        """What saves most for its money, those that may be it being drawn on; none where nothing may save.

        What surely saves nothing is not tried again; what is waited for together is tried as one all the same.
        """
        seasons, left = min(SCREEN, self.most), list(options)
        while True:
            shown = self.each(left, f"Step {len(self.taken) + 1}: trying spares in {seasons:,} seasons")
            found = {box: self.rate(box, seasons) for box in shown}
            surest = max(low for low, _, _ in found.values())
            self.hopeless |= {box for box, (_, _, high) in found.items() if high <= 0}
            left = [box for box, (_, _, high) in found.items() if high > 0 and high >= surest]
            left = sorted(left, key=lambda box: -found[box][1])[:CLOSEST]
            if not left:
                return None
            if seasons >= self.most or len(left) == 1 or self.is_sharp(left, seasons):
                return left[0]
            seasons = min(FEWER * seasons, self.most)

    def rate(self, box: Box, seasons: int) -> tuple[float, float, float]:
        """What a box saves for its money: the least that may be, as drawn, and the most."""
        saved, paid = self.trials.saved(self.chosen, box, seasons), max(1, outlay_of(self.season, box))
        mean, error = float(np.mean(saved)), Z95 * error_of(saved)
        return (mean - error) / paid, mean / paid, (mean + error) / paid

    def is_sharp(self, left: Sequence[Box], seasons: int) -> bool:
        """Whether every error is small against the largest gain."""
        saved = [self.trials.saved(self.chosen, box, seasons) for box in left]
        return max(error_of(one) for one in saved) < SHARP * max(float(np.mean(one)) for one in saved)

    def all_boxes(self) -> AllBoxes | None:
        """The best of all boxes within the sum, by what each saves; none where there are too many to try."""
        singles = [box for box in self.singles if outlay_of(self.season, box) <= self.budget]
        moved = [box for box in singles if any(self.trials.saved((), box, min(SCREEN, self.most)) != 0)]
        waited = {item for box in self.together for item, _ in box}
        parts = [box for box in singles if box in moved or box[0][0] in waited]
        if not 0 < len(parts) <= FEW_PARTS:
            return None
        boxes = list(self.within(parts))
        if len(boxes) > FEW_BOXES:
            return None
        seasons = min(SCREEN, self.most)
        shown = self.each(boxes, f"Trying all {len(boxes)} boxes")
        means = {box: float(np.mean(self.trials.saved((), box, seasons))) for box in shown}
        best = max(means, key=lambda box: means[box])
        saved, chosen = (self.trials.saved((), box, self.most) for box in (best, self.chosen))
        missed = self.trials.take(best, self.most).misses - self.trials.take(self.chosen, self.most).misses
        gain = gain_of(saved - chosen, missed, self.season.rates.currency)
        return AllBoxes(len(boxes), pieces_in(self.season, best), gain)

    def within(self, parts: Sequence[Box]) -> Iterator[Box]:
        """All boxes of some parts within the sum, one more than may be tried at the most."""
        found = 0
        for numbers in product(range(MOST_OF_ONE + 1), repeat=len(parts)):
            box = tuple((item, n * count) for ((item, count),), n in zip(parts, numbers, strict=True) if n)
            if box and outlay_of(self.season, box) <= self.budget:
                found += 1
                yield tuple(sorted(box))
            if found > FEW_BOXES:
                return


def never_waited(search: Search, items: Sequence[int], seasons: int) -> Drawn:
    """Seasons with the chosen box in which some items are never waited for."""
    trials = search.trials
    season, log = with_box(search.season, search.chosen), trials.log(search.chosen, search.most)
    problem = as_drawn(season, trials.seed)
    hours = problem.lead_hours.copy()
    hours[list(items)] = 0.0
    without, paid = trials.take(search.chosen, seasons), cost_of(search.season, search.chosen)
    waits = np.flatnonzero(comes_late(log, items)[:seasons])
    return trials.changed(season, without, waits, 0, paid, problem._replace(lead_hours=hours))
