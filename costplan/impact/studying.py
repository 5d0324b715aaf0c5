"""The study as a whole: what each change costs each group and the field."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import date
from decimal import Decimal

from costplan.impact.adding import Books
from costplan.impact.drawing import Asked, Played, play_field
from costplan.impact.enforcing import enforcement_of
from costplan.impact.field import Crowd, FieldOfEntrants, Proposal
from costplan.impact.figures import AsItIs, ChangeImpact, Impact, Source
from costplan.impact.flipping import Flipper, Flips, bare
from costplan.impact.grouping import Teller
from costplan.impact.phasing import phases_of
from costplan.impact.supplying import first_round, supply_of
from costplan.impact.totalling import stranded_parts, total_of_field
from costplan.impact.ways import Finder, GroupWays
from costplan.problems import Problem
from costplan.season.drawn.drawing import QUIET, Watch
from costplan.season.drawn.years import repeats

#: Of each of some entrants, one in so many seasons is drawn anew for every assumption.
FEWER = 10
#: What the method leaves out, each in words; they stand in every report.
LIMITS = (
    "Lives are assumptions, and so are ages, numbers and budgets that nobody stands for; what is planned from them "
    "is no forecast.",
    "Every entrant complies at least cost and none waits, borrows, cheats or leaves before the change; who leaves is a "
    "stated guess and is not taken out of the totals.",
    "Prices, calendar, purses and entries stay as they are but for the rises that supply.csv states; lap times and "
    "places do not change with speed.",
    "Parts are bought apart, at today's prices and in whole packs; kits that would save are not looked for. The same "
    "answer is given for all engines of an entrant.",
    "Where an old part stays until it is worn out it keeps its worn share and wears on as the new one would.",
    "In a field somebody else wins a race that is missed. Lost results are priced beside the figures, at what "
    "[policy] of scenario.toml says, and not in them: a rule that keeps cars at home seems to save.",
)
#: The same of an estimate of power, where the pattern lets one be made.
OF_POWER = (
    "Power is an estimate from airflow with a stated error; a lower one for everybody is no loss to anybody in it."
)


#: Watches groups go by.
Each = Callable[[Iterable[Crowd], str], Iterable[Crowd]]


def desk_of(
    field: FieldOfEntrants,
    asked: Asked,
    on: date,
    loss: Decimal | None = None,
    watch: Watch = QUIET,
    each: Each = lambda crowds, _: crowds,
) -> tuple[Desk | None, tuple[Problem, ...]]:
    """A study whose seasons are played, groups being played while others are still being asked; or why there is none.

    `on`: the day on which parts are ordered; `loss`: as in `Study`; `each` sees the groups go by. Interrupted, it
    raises KeyboardInterrupt.
    """
    problems = tuple(_too_long(field))
    if problems:
        return None, problems
    finder = Finder(field)
    played = play_field(finder.every(each(field.crowds, "Asking groups")), asked, watch)
    if finder.problems:
        return None, tuple(dict.fromkeys(finder.problems))
    return Desk(field, played, asked, on, field.study.loss if loss is None else loss), ()


def _too_long(field: FieldOfEntrants) -> Iterator[Problem]:
    """A problem for each group whose calendar cannot be repeated year after year."""
    for crowd in field.crowds:
        season = crowd.scenario.compiled
        if season is not None and not repeats(season):
            last = season.runs[-1].event
            what = f"more than a year after {crowd.name}'s first, so that it cannot be repeated:"
            yield Problem("REA018", last.place, "date", str(last.date), what, "give one year's events")


@dataclass(frozen=True)
class Desk:
    """A study under way: its field, its groups with their seasons, how much is drawn."""

    field: FieldOfEntrants
    played: tuple[Played, ...]
    asked: Asked
    on: date
    loss: Decimal

    @property
    def books(self) -> Books:
        return Books(self.field)

    @property
    def groups(self) -> tuple[GroupWays, ...]:
        """The ways of its groups."""
        return tuple(one.ways for one in self.played)

    def flips(self, changes: Sequence[ChangeImpact], watch: Watch = QUIET) -> tuple[Flips, ...]:
        """Which assumptions turn each change about. Interrupted, it raises KeyboardInterrupt."""
        short = replace(self.asked, seasons=self.asked.seasons // FEWER)
        return Flipper(self.field, tuple(bare(one) for one in self.groups), short).flips(changes, watch)

    def impact(self) -> Impact:
        """Everything that is asked."""
        field, base = self.field, self.field.base
        return Impact(
            base.header.title,
            field.invented,
            base.header.currency,
            self.on,
            first_round(field, self.on),
            field.study,
            field.entrants,
            self.asked.chains * self.asked.years,
            self.asked.short * self.asked.years,
            self.asked.seed,
            self.loss,
            base.header.policy.result_worth,
            self._as_it_is(),
            tuple(self._change(number, proposal) for number, proposal in enumerate(field.proposals)),
            tuple(row for crowd in field.crowds for row in crowd.told),
            tuple(self._sources()),
            tuple(self._assumed()),
            (*LIMITS, OF_POWER) if base.build and base.build.pattern.airflow else LIMITS,
        )

    def _as_it_is(self) -> AsItIs:
        """What the field pays if nothing is changed."""
        books, there = self.books, [(one.ways.today.complying, one.members) for one in self.played]
        complying = [(way, members) for way, members in there if way is not None]
        draws = [member.of(way) for way, members in complying for member in members]
        once = sum(books.once(way) * len(members) for way, members in complying)
        return AsItIs(
            books.money(once + sum(float(one.cash[:, 0].mean()) for one in draws)),
            books.money(sum(float(one.cash[:, 1:].mean()) for one in draws)),
            books.money(sum(float(one.wear.mean()) for one in draws)),
            sum(float(one.missed.mean()) for one in draws),
        )

    def _change(self, number: int, proposal: Proposal) -> ChangeImpact:
        """What one change costs whom."""
        field, books, header = self.field, self.books, proposal.change.header
        costs = [books.group(one, number) for one in self.played]
        there = [one for one in costs if one is not None]
        teller = Teller(books, self.loss)
        groups = tuple(teller.group(one, number, proposal, cost) for one, cost in zip(self.played, costs, strict=True))
        return ChangeImpact(
            proposal.change.file,
            header.name,
            header.author,
            header.source,
            header.date,
            header.reason,
            _written(proposal),
            total_of_field(books, there, groups, self.loss),
            groups,
            tuple(phases_of(books, there, proposal)) if there else (),
            tuple(stranded_parts(books, there)),
            tuple(supply_of(field, self.groups, number, self.on)),
            enforcement_of(field.packs, proposal.packs, field.study, len(field.base.rounds), books.currency),
        )

    def _sources(self) -> Iterator[Source]:
        """Whose word the inputs are."""
        field = self.field
        catalogs = ", ".join(field.base.header.catalogs)
        yield Source(
            "prices, resale and lives", f"the catalogs {catalogs}, on opening day", field.base.opening, assumed=False
        )
        for crowd in field.crowds:
            yield Source(f"group {crowd.name}", crowd.row.source, None, assumed=not crowd.row.source)
            for row in crowd.told:
                yield Source(f"{row.asks} of {row.group}", row.source, row.date, assumed=not row.source)
        for part, supplied in field.supplies.items():
            yield Source(f"supply of {part}", supplied.source, None, assumed=not supplied.source)
        yield Source("figures of impact.toml", field.study.source, None, assumed=not field.study.source)

    def _assumed(self) -> Iterator[str]:
        """What counts and nobody stands for."""
        study = self.field.study
        for key in study.assumed:
            yield f"{key} = {getattr(study, key)} (not given in impact.toml)"
        for source in self._sources():
            if source.assumed:
                yield source.what


def _written(proposal: Proposal) -> str:
    """The dates that a change is written with, in words."""
    phase = proposal.written
    words = [f"from {phase.effective}"] if phase.effective else []
    words += [f"from round {phase.from_round}"] if phase.from_round else []
    return ", ".join(words)
