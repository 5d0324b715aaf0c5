"""The field: the groups of entrants with what they run, the changes to be studied, and what can be supplied."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal

from costplan.impact.records import Group, Range, Study, Supplied, Told
from costplan.rules import Pack
from costplan.rules.change import Change
from costplan.rules.clause import Phase
from costplan.scenario import Scenario


@dataclass(frozen=True, slots=True)
class Crowd:
    """A group of entrants as it is studied: its row, the scenario that each of them is, and what was told of them.

    `ages`: share of its renewal use that a thing has run, None where garage.csv tells; `told`: the rows of the survey.
    """

    row: Group
    scenario: Scenario
    entrants: Range
    ages: Range | None
    budget: Decimal
    leaves_above: Decimal | None
    told: tuple[Told, ...] = ()

    @property
    def name(self) -> str:
        return self.row.group

    @property
    def count(self) -> int:
        """The likely number of its entrants."""
        return int(self.entrants.likely)

    @property
    def engines(self) -> tuple[str, ...]:
        """The engines that each of them owns."""
        return tuple(engine.name for engine in self.scenario.engines if engine.owned)

    @property
    def assumed(self) -> bool:
        """Whether nobody stands for what is said of it."""
        return not self.row.source and not any(row.source for row in self.told)


@dataclass(frozen=True, slots=True)
class Proposal:
    """A change that is studied: as if it held from opening day on, `written` with the dates that it has; its packs."""

    change: Change
    written: Phase
    packs: tuple[Pack, ...]

    @property
    def name(self) -> str:
        return self.change.header.name


@dataclass(frozen=True, slots=True)
class FieldOfEntrants:
    """All that a study is made from. `packs`: the books as they are, which are the baseline."""

    base: Scenario
    study: Study
    crowds: tuple[Crowd, ...]
    supplies: Mapping[str, Supplied]
    packs: tuple[Pack, ...]
    proposals: tuple[Proposal, ...]

    @property
    def entrants(self) -> int:
        return sum(crowd.count for crowd in self.crowds)

    @property
    def invented(self) -> bool:
        return self.base.invented or self.study.invented
