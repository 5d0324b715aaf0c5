"""What a season came to: its money by event and cause, and how often what happened."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, field

from tests.season_model.reading import Work


@dataclass(slots=True)
class Books:
    """Money in minor units. `cash` is by event with the gap before it, the last entry after the last run.

    `parts` of it are paid for what is put in, whose balances are `put_in`. Openings are by ladder and level; runs are
    stopped, missed, rained; an engine was `there` at events. `happened` counts, in words, what a test wants to have
    seen.
    """

    work: Work
    cash: list[int] = field(default_factory=list)
    causes: Counter[str] = field(default_factory=Counter)
    openings: Counter[tuple[str, str]] = field(default_factory=Counter)
    failures: Counter[str] = field(default_factory=Counter)
    hits: Counter[str] = field(default_factory=Counter)
    finds: Counter[str] = field(default_factory=Counter)
    happened: Counter[str] = field(default_factory=Counter)
    stopped: set[int] = field(default_factory=set)
    missed: set[int] = field(default_factory=set)
    rained: set[int] = field(default_factory=set)
    ran: dict[int, str] = field(default_factory=dict)
    there: set[int] = field(default_factory=set)
    parts: int = 0
    put_in: int = 0
    wear: int = 0

    def __post_init__(self) -> None:
        self.cash = [0] * (len(self.work.events) + 1)

    def pay(self, g: int, cause: str, amount: int) -> None:
        """Pays in the gap before a run, in the run, or after the last."""
        runs = self.work.runs
        self.cash[runs[g].event if g < len(runs) else -1] += amount
        self.causes[cause] += amount

    def pay_for_parts(self, g: int, cause: str, amount: int) -> None:
        """Pays for what is put in, with deposits and what comes back for what is taken out."""
        self.pay(g, cause, amount)
        self.parts += amount

    def pay_fixed(self) -> int:
        """Pays what costs the same however the season goes, and gives what of it is in cash alone."""
        names = [row["event"] for row in self.work.json["events"]]
        rows = self.work.json["fixed"]
        for row in rows:
            self.cash[names.index(row["event"]) if row["event"] else -1] += row["amount"]
            self.causes[row["cause"]] += row["amount"]
        return sum(row["amount"] for row in rows if row["cash_only"])

    @property
    def total(self) -> int:
        return sum(self.cash)

    def events(self, runs: set[int]) -> set[int]:
        """The events of some runs."""
        return {self.work.runs[g].event for g in runs}

    def results_lost(self) -> float:
        """Results lost to failures and missed runs, by the weights of runs and events."""
        runs, events = self.work.runs, self.work.events
        return sum(events[runs[g].event].weight * runs[g].result for g in self.stopped | self.missed)
