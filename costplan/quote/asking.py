"""A request on a day, with all that it is quoted from; its work and price, also where more is bad or chosen."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace
from datetime import date
from decimal import Decimal
from functools import cached_property

from costplan.build import Fill
from costplan.quote.opened import Opening, Played, open_for, service
from costplan.quote.priced import Priced, price
from costplan.quote.pricing import NOTHING, Counter
from costplan.quote.records import Line
from costplan.quote.request import Asked, OptionRow, bad_slot
from costplan.quote.shop import ShopBook
from costplan.quote.worklist import WorkList, new_engine, part_in
from costplan.scenario import Scenario


@dataclass(frozen=True)
class Asking:
    """A request to be quoted: scenario, shop book, the season's plan for a service, the day, and what was found `bad`.

    `torn_down`: all of it has been seen, beyond what the request says, so that nothing is left to chance.
    `rise`: by which share the suppliers' prices are up on those of the day. `held`: lines, by key, whose price and
    discount were agreed before; what they cost is as on the day. `gap`: a service in the gap before this run is meant,
    not before the event that the request names.
    """

    scenario: Scenario
    book: ShopBook
    plan: Played | None
    asked: Asked
    on: date
    bad: tuple[str, ...] = ()
    torn_down: bool = False
    rise: Decimal = NOTHING
    held: Mapping[str, Line] = field(default_factory=dict)
    gap: int | None = None

    @cached_property
    def counter(self) -> Counter:
        return Counter(self.scenario, self.book, self.on, self.rise, self.held)

    @cached_property
    def opening(self) -> Opening | None:
        """The engine as it is opened, for a service."""
        if self.plan is None or not self.asked.head.engine:
            return None
        return open_for(self.plan, self.scenario.built(), self.counter.catalog, self.asked, self.gap)

    @property
    def taken(self) -> tuple[OptionRow, ...]:
        return tuple(row for row in self.asked.options if row.take)

    def work(self, bad: Iterable[str] = (), options: Iterable[OptionRow] | None = None) -> WorkList:
        """All that is done, with these slots bad too and these options (else the taken ones) taken."""
        bad = (*self.bad, *bad)
        parts = self._parts(self.taken if options is None else options)
        if self.opening is not None:
            return service(self.opening, self.asked, bad, parts)
        work = new_engine(self.scenario.built(), self.asked)
        replaced = [(slot, part_in(work.build, slot)) for slot, _ in map(bad_slot, (*self.asked.head.bad, *bad))]
        for slot, fill in replaced:
            work = work.with_part(slot, fill, "found bad: a new one")
        for slot, (fill, why) in parts.items():
            work = work.with_part(slot, fill, why)
        return work

    def _parts(self, options: Iterable[OptionRow]) -> dict[str, tuple[Fill, str]]:
        """The parts that options put in, by slot, each with why."""
        found = {}
        for row in options:
            if row.slot:
                part, planned = self.counter.catalog.parts[row.part], part_in(self.scenario.built(), row.slot)
                found[row.slot] = (replace(planned, part=part, kit="", place=row.place), f"option {row.name}")
        return found

    def priced(self, bad: Iterable[str] = (), options: Iterable[OptionRow] | None = None) -> tuple[WorkList, Priced]:
        """The work and its price."""
        chosen = self.taken if options is None else tuple(options)
        work = self.work(bad, chosen)
        more = tuple(name for option in chosen for name in option.work)
        return work, price(self.counter, work, self.asked, more)
