"""The ways in which a group may go on under a book: it complies at least cost, or spends on power too, or lets the old
parts wear out first. Each is an answer with the season that comes of it."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field

from costplan.impact.answering import Answerer
from costplan.impact.answers import Answer
from costplan.impact.field import Crowd, FieldOfEntrants
from costplan.impact.playing import Rises
from costplan.impact.records import Supplied
from costplan.impact.sides import Side, side_of
from costplan.problems import Problem
from costplan.rules import Pack


@dataclass(frozen=True, slots=True)
class Way:
    """A way to go on under one book; `rises`: the parts whose prices rise, by what share."""

    side: Side
    rises: Rises

    @property
    def answer(self) -> Answer:
        return self.side.answer


@dataclass(frozen=True, slots=True)
class Ways:
    """The ways of one group under one book.

    `complying` is None where no parts of the catalogs let it comply; `answer` then says what is at odds. `spending`
    and `wearing` are `complying` itself where they are no other way. `soles`: by slot, who alone sells what may stand
    there.
    """

    answer: Answer
    complying: Way | None
    spending: Way | None
    wearing: Way | None
    soles: Mapping[str, str] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class GroupWays:
    """All ways of a group: under the book as it is, and under each proposal."""

    crowd: Crowd
    today: Ways
    changed: tuple[Ways, ...]


class Finder:
    """Finds the ways of a field's groups, and notes why there are none."""

    def __init__(self, field_: FieldOfEntrants) -> None:
        self.field = field_
        self.problems: list[Problem] = []

    def ways(self, crowd: Crowd) -> GroupWays | None:
        """The ways of a group; None where its season cannot be, with the problems noted."""
        answerer = Answerer(crowd, self.field.study)
        sellers = answerer.sellers(self.field.packs)
        today = self._under(crowd, answerer, self.field.packs, {})
        changed = []
        for proposal in self.field.proposals:
            soles = {
                slot: next(iter(names))
                for slot, names in answerer.sellers(proposal.packs).items()
                if len(names) == 1 and len(sellers.get(slot, names)) > 1
            }
            changed.append(self._under(crowd, answerer, proposal.packs, soles))
        return None if self.problems else GroupWays(crowd, today, tuple(changed))

    def every(self, crowds: Iterable[Crowd]) -> Iterator[GroupWays]:
        """The ways of groups, one by one, until one has none."""
        for crowd in crowds:
            found = self.ways(crowd)
            if found is None:
                return
            yield found

    def _under(self, crowd: Crowd, answerer: Answerer, packs: tuple[Pack, ...], soles: Mapping[str, str]) -> Ways:
        """The ways under one book, a sole seller's prices risen."""
        answer = answerer.comply(packs)
        if not answer.possible:
            return Ways(answer, None, None, None, soles)
        rises = rises_of(self.field.supplies, soles, crowd)
        complying = self._way(crowd, answer, packs, rises)
        more = answerer.spend(packs, answer)
        spending = complying if more is answer else self._way(crowd, more, packs, rises)
        wears = not crowd.row.joins and any(not swap.anyway and not swap.turn for swap in answer.swaps)
        wearing = self._way(crowd, answer, packs, rises, worn_out=True) if wears else complying
        return Ways(answer, complying, spending, wearing, soles)

    def _way(
        self, crowd: Crowd, answer: Answer, packs: tuple[Pack, ...], rises: Rises, *, worn_out: bool = False
    ) -> Way | None:
        side, problems = side_of(crowd, answer, packs, self.field.study.rpm_follows, worn_out=worn_out)
        self.problems.extend(problems)
        return Way(side, rises) if side is not None else None


def rises_of(
    supplies: Mapping[str, Supplied], soles: Mapping[str, str], crowd: Crowd, end: int = 1
) -> dict[str, float]:
    """The parts whose price rises since nobody else sells what may stand in their slot; `end` 0 to 2: low to high."""
    pattern = crowd.scenario.built().pattern
    roles = {pattern.slots[slot].role: seller for slot, seller in soles.items() if slot in pattern.slots}
    catalog = crowd.scenario.catalog
    found = {}
    for part, row in supplies.items():
        known = catalog.parts.get(part) if catalog else None
        if known is not None and known.role in roles and known.supplier == roles[known.role] and row.rises[end]:
            found[part] = row.rises[end]
    return found
