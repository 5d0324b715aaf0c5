"""What the builder's page shows."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date

from costplan.build import Bill, Figure, FitFinding, Spread, Word
from costplan.build.airflow import Breathing, Turn
from costplan.choose import Change, Frontier, Option, Swaps
from costplan.quote import Quote
from costplan.quote.job import JobListed, Standing
from costplan.quote.revisions import Difference
from costplan.report.choose.shared import About
from costplan.rules import Finding, Verdicts


@dataclass(frozen=True, slots=True)
class Quoted:
    """A request priced now, the revisions that are saved of it, and what each has otherwise than the one before.

    `since`: what the price of now has otherwise than the last revision, None where none is saved. `quote` is None where
    `refused` says why it cannot be priced.
    """

    request: str
    quote: Quote | None
    refused: tuple[str, ...] = ()
    revisions: tuple[Quote, ...] = ()
    differences: tuple[Difference, ...] = ()
    since: Difference | None = None


@dataclass(frozen=True, slots=True)
class Choices:
    """What more money buys; `start`: the bill of `swaps`, None where no bill meets fits and book.

    It is the build as planned but for `changes`, the fewest that meet them.
    """

    about: About
    frontier: Frontier
    start: Option | None = None
    changes: tuple[Change, ...] = ()
    swaps: Swaps | None = None


@dataclass(frozen=True, slots=True)
class BuilderAnswers:
    """What the page shows. `day`: whose prices and rules count; parts that cannot be answered are empty or None."""

    title: str
    invented: bool
    on: date
    day: date
    bill: Bill
    figures: tuple[Figure, ...]
    spreads: Mapping[str, Spread]
    benched: tuple[Figure | Word, ...]
    fits: tuple[FitFinding, ...]
    verdicts: tuple[Verdicts, ...]
    breathing: Breathing | None = None
    turns: tuple[Turn, ...] = ()
    choices: Choices | None = None
    shop: str = ""
    quotes: tuple[Quoted, ...] = ()
    jobs: tuple[Standing, ...] = ()
    older: tuple[JobListed, ...] = ()

    @property
    def near(self) -> tuple[Finding, ...]:
        """The clauses that a gauge could read either way, or that the worst case breaks, each once."""
        found = (one for pack in self.verdicts for one in pack.findings)
        return tuple(one for one in found if one.close or (one.worst_breaks and one.verdict != "breaks"))
