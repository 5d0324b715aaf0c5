"""The quoting desk: a scenario's folder with its shop book and requests, and the season's plan that services go by."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field
from datetime import date
from functools import cached_property
from pathlib import Path

from costplan.build import MEASURES_OF_BUILD
from costplan.catalog import Buying, check_prices
from costplan.problems import Place, Problem, Problems, in_order, nearest
from costplan.quantity import dimension
from costplan.quote.asking import Asking
from costplan.quote.opened import Played, played
from costplan.quote.request import BEFORE, Asked, Names, read_request, requests_in
from costplan.quote.shop import Known, ShopBook, read_shop
from costplan.reading import Setting, parse_settings
from costplan.scenario import Scenario, read_scenario
from costplan.season import CAR


@dataclass
class Desk:
    """A scenario with its shop's book. The plan is played when the first service is asked for, and kept."""

    folder: Path
    scenario: Scenario
    book: ShopBook
    settings: tuple[Setting, ...] = ()
    _plans: dict[date, tuple[Played | None, tuple[Problem, ...]]] = field(default_factory=dict)

    @cached_property
    def names(self) -> Names:
        """What its requests may name."""
        scenario = self.scenario
        catalog, files = scenario.catalog, scenario.files
        return Names(
            (*(engine.name for engine in scenario.engines if engine.owned), CAR),
            {row.level: row.carrier for row in files.levels},
            [event.event for event in files.events],
            {slot: fill.slot.role for slot, fill in scenario.built().fills.items()},
            {name: part.role for name, part in catalog.parts.items()} if catalog else {},
            [row.work for row in self.book.work],
            [(row.slot, row.case) for row in files.cases],
        )

    def request(self, name: str) -> tuple[Asked | None, tuple[Problem, ...]]:
        """A request of its folder by name."""
        known = requests_in(self.folder)
        if name not in known:
            what, place = "no such request:", Place(str(self.folder / f"{BEFORE}{name}.toml"))
            advice = nearest(name, known) if known else f"write it in a file {BEFORE}NAME.toml"
            return None, (Problem("QUO009", place, "", name, what, advice),)
        return read_request(self.folder, name, self.names, self.settings)

    def asking(self, asked: Asked, on: date) -> tuple[Asking | None, tuple[Problem, ...]]:
        """A request on a day, with the plan where it is for a service."""
        plan: Played | None = None
        if asked.head.engine:
            plan, problems = self.plan_on(on)
            if problems:
                return None, problems
        return Asking(self.scenario, self.book, plan, asked, on), ()

    def plan_on(self, day: date) -> tuple[Played | None, tuple[Problem, ...]]:
        """The season's plan as the log leaves it on a day; whole where the log says nothing by then."""
        if day not in self._plans:
            season, problems = self.scenario.season_on(day)
            self._plans[day] = (None if season is None else played(season), problems)
        return self._plans[day]


def addresses_in(folder: Path) -> tuple[str, ...]:
    """The addresses of a shop's files in a folder, into which what-ifs may lead."""
    return ("shop", "work", "jobs", *(f"{BEFORE}{name}" for name in requests_in(folder)))


def open_desk(
    folder: Path, texts: Iterable[str] = (), beside: Iterable[str] = ()
) -> tuple[Desk | None, tuple[Problem, ...]]:
    """The desk of a scenario's folder, with what-ifs written in and all problems; None where it cannot be used.

    `beside`: addresses of files that others read in the folder.
    """
    texts = tuple(texts)
    scenario, problems = read_scenario(folder, texts, beside=(*addresses_in(folder), *beside))
    if scenario is None:
        return None, problems
    if scenario.build is None or scenario.catalog is None:
        return None, (scenario.without("pattern"),)
    settings, _ = parse_settings(texts)
    book, faults = read_shop(folder, _known(scenario), settings)
    found = Problems([*problems, *faults])
    check_prices(scenario.catalog, Buying(scenario.rates, with_tax=False), (), found)
    desk = None if found or book is None else Desk(folder, scenario, book, settings)
    return desk, in_order(found.found)


def _known(scenario: Scenario) -> Known:
    """What a shop book may name."""
    catalog = scenario.catalog
    kits = [kit.supplier for kit in catalog.kits.values()] if catalog else []
    measures = {name: dimension(row.unit) or "" for name, row in MEASURES_OF_BUILD.items()}
    return Known(
        scenario.header.currency,
        [row.level for row in scenario.files.levels],
        list(scenario.built().pattern.slots),
        list(catalog.operations) if catalog else [],
        [*(catalog.suppliers() if catalog else ()), *kits],
        measures,
    )
