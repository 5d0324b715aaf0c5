"""The column dictionary of all files, gathered from the records that read them: one source for checks and reference."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Literal

from costplan.build import COUNT, INPUTS, MEANINGS, MEASURES_OF_BUILD, Fit, Line, PatternHeader, Slot
from costplan.build.pattern import Airflow
from costplan.catalog import (
    ATTRIBUTES,
    FlowRow,
    Header,
    Kit,
    KitContent,
    LifeRow,
    LiftRow,
    Operation,
    Part,
    PriceRow,
    Role,
    ServiceStep,
)
from costplan.catalog.attributes import WITHIN
from costplan.catalog.sheets import ColumnsMap, SheetMap
from costplan.garage import Bench, Inspected, Paper, Piece, Pull
from costplan.garage.log import Entry as LogEntry
from costplan.impact.records import Group, Study, Supplied, Told
from costplan.quantity import dimension
from costplan.quote.job.rows import JobRow
from costplan.quote.request import ExtraRow, OptionRow, Request, SuppliedRow
from costplan.quote.request import PriceRow as AgreedPrice
from costplan.quote.shop import (
    AllowanceRow,
    Charges,
    LabourRate,
    Markup,
    ShopHeader,
    SupplierTerms,
    TaxRow,
    TermRow,
    Work,
)
from costplan.reading import Record, columns
from costplan.rules import KINDS, Heading, Kept, PackHeader, PartList, Recognition
from costplan.rules.change import Addition, ChangeHeader
from costplan.rules.inspecting import Entrant, Result
from costplan.scenario import Header as ScenarioHeader
from costplan.scenario import RateRow, Variant
from costplan.season import Car, Cost, Engine, Event, Gaps, Level, Policy, Position, Service, Session
from costplan.season.records import Case, Hazard, Supplier


@dataclass(frozen=True, slots=True)
class Entry:
    """A column or key: its file (and table of it), name, what may stand there, and what it means."""

    file: str
    table: str
    name: str
    kind: str
    dimension: str
    needed: bool
    default: str
    meaning: str


FILES: tuple[tuple[str, str, type[Record]], ...] = (
    ("scenario.toml", "", ScenarioHeader),
    ("scenario.toml", "[gaps]", Gaps),
    ("scenario.toml", "[policy]", Policy),
    ("scenario.toml", "[car]", Car),
    ("scenario.toml", "[[engine]]", Engine),
    ("scenario.toml", "[[rate]]", RateRow),
    ("scenario.toml", "[[variant]]", Variant),
    ("calendar.csv", "", Event),
    ("sessions.csv", "", Session),
    ("services.csv", "", Service),
    ("costs.csv", "", Cost),
    ("levels.csv", "", Level),
    ("suppliers.csv", "", Supplier),
    ("positions.csv", "", Position),
    ("hazards.csv", "", Hazard),
    ("damage.csv", "", Case),
    ("garage.csv", "", Piece),
    ("log.csv", "", LogEntry),
    ("bench.csv", "", Bench),
    ("dyno.csv", "", Pull),
    ("papers.csv", "", Paper),
    ("inspections.csv", "", Inspected),
    ("entries.csv", "", Entrant),
    ("results", "sheet of rules inspect", Result),
    ("pattern.toml", "", PatternHeader),
    ("pattern.toml", "[[slot]]", Slot),
    ("pattern.toml", "[[fit]]", Fit),
    ("pattern.toml", "[airflow]", Airflow),
    ("build.csv", "", Line),
    ("catalog.toml", "", Header),
    ("roles.csv", "", Role),
    ("lives.csv", "", LifeRow),
    ("prices.csv", "", PriceRow),
    ("kits.csv", "", Kit),
    ("kit_contains.csv", "", KitContent),
    ("service_steps.csv", "", ServiceStep),
    ("operations.csv", "", Operation),
    ("flow.csv", "", FlowRow),
    ("lift_curves.csv", "", LiftRow),
    ("parts", "any other CSV of a catalog", Part),
    ("columns-map.toml", "", ColumnsMap),
    ("columns-map.toml", "[[sheet]]", SheetMap),
    ("rules.toml", "", PackHeader),
    ("rules.toml", "[[list]]", PartList),
    ("rules.toml", "[[recognises]]", Recognition),
    ("rules.toml", "[[rule]]", Heading),
    ("rules.toml", "[[rule]] kept", Kept),
    ("change.toml", "", ChangeHeader),
    ("change.toml", "[[add]]", Addition),
    ("impact.toml", "", Study),
    ("field.csv", "", Group),
    ("survey.csv", "", Told),
    ("supply.csv", "", Supplied),
    ("shop.toml", "", ShopHeader),
    ("shop.toml", "[markup]", Markup),
    ("shop.toml", "[charges]", Charges),
    ("shop.toml", "[[labour]]", LabourRate),
    ("shop.toml", "[[tax]]", TaxRow),
    ("shop.toml", "[[supplier]]", SupplierTerms),
    ("shop.toml", "[[allowance]]", AllowanceRow),
    ("shop.toml", "[[term]]", TermRow),
    ("work.csv", "", Work),
    ("jobs.csv", "", JobRow),
    ("quote.toml", "", Request),
    ("quote.toml", "[[supplied]]", SuppliedRow),
    ("quote.toml", "[[option]]", OptionRow),
    ("quote.toml", "[[line]]", ExtraRow),
    ("quote.toml", "[[price]]", AgreedPrice),
)

Home = Literal["scenario", "catalog"]


@dataclass(frozen=True, slots=True)
class About:
    """What a file is for, in which kind of folder it lies, and under what name, where it may have another."""

    home: Home
    meaning: str
    written: str = ""


#: Each file of the dictionary.
ABOUT: Mapping[str, About] = MappingProxyType(
    {
        "scenario.toml": About("scenario", "names the class, currency, engines and policy, and the files beside it"),
        "calendar.csv": About("scenario", "events in order of their days, and what is run at each; service rows too"),
        "sessions.csv": About("scenario", "the sessions of an event by format: practice, heats, feature"),
        "services.csv": About("scenario", "what is bought every so much use: the whole simple form stands here"),
        "costs.csv": About("scenario", "costs that do not hang on use: licence, insurance, trailer"),
        "levels.csv": About("scenario", "service levels: how deep an engine is opened, how often, at what cost"),
        "suppliers.csv": About("scenario", "terms of suppliers and shops: what is paid with an order, the queue"),
        "positions.csv": About("scenario", "how each slot with a life is renewed, and at which level it is reached"),
        "hazards.csv": About("scenario", "what strikes from outside: an over-rev, debris, a claim"),
        "damage.csv": About("scenario", "what a failure or a hazard turns out to be, with chances and bills"),
        "garage.csv": About("scenario", "pieces on hand, in engines and on the shelf, with the use on them"),
        "log.csv": About("scenario", "what happened: runs, services, changes, failures, payments"),
        "bench.csv": About("scenario", "what was measured on an engine, with what, and how uncertain it is"),
        "dyno.csv": About("scenario", "dyno pulls, which calibrate the airflow estimate"),
        "papers.csv": About("scenario", "seals, receipts, certificates and other papers of an engine"),
        "inspections.csv": About("scenario", "what inspectors found, clause by clause"),
        "entries.csv": About("scenario", "entered cars, for the choice of inspections"),
        "results": About("scenario", "a filled-in sheet that `rules inspect` wrote", "any CSV"),
        "pattern.toml": About("scenario", "the slots of an engine, what must fit what, and what measures rest on"),
        "build.csv": About("scenario", "which part stands in which slot"),
        "catalog.toml": About("catalog", "name, currency and tax basis of a parts catalog"),
        "roles.csv": About("catalog", "the roles that parts have, with the shape of their lives"),
        "lives.csv": About("catalog", "how long parts last, and how they fail"),
        "prices.csv": About("catalog", "prices by date, supplier, pack and quantity, where one a part is not enough"),
        "kits.csv": About("catalog", "kits: one price for several parts"),
        "kit_contains.csv": About("catalog", "what is in each kit"),
        "service_steps.csv": About("catalog", "the steps that a worn piece goes through before it is scrap"),
        "operations.csv": About("catalog", "shop work, its price, and what it adds to a dimension"),
        "flow.csv": About("catalog", "flow bench figures of parts"),
        "lift_curves.csv": About("catalog", "lift of a cam over the turn of the crank"),
        "parts": About("catalog", "parts with price, pack, supplier and attributes", "any other CSV"),
        "columns-map.toml": About("catalog", "how to read a supplier's own sheet as it is"),
        "rules.toml": About("scenario", "a rule pack: the clauses of a book", "rules-*.toml"),
        "change.toml": About("scenario", "a proposed change of a rule pack", "change-*.toml"),
        "impact.toml": About("scenario", "a study of what changes cost a field"),
        "field.csv": About("scenario", "groups of entrants: how many, and how they differ"),
        "survey.csv": About("scenario", "what was asked of the groups: low, likely and high"),
        "supply.csv": About("scenario", "how many pieces of a part can be had, and how fast"),
        "shop.toml": About("scenario", "the shop's book: rates, mark-up, tax, deposit, terms"),
        "work.csv": About("scenario", "the shop's operations: hours or price, and when each is done"),
        "jobs.csv": About("scenario", "what happened to accepted quotes"),
        "quote.toml": About("scenario", "a customer's request", "quote-*.toml"),
    }
)


def dictionary() -> tuple[Entry, ...]:
    """Every column and key of every file, those that a kind of rule adds, and the attributes of parts."""
    kinds = [("rules.toml", f'[[rule]] kind = "{name}"', kind.record) for name, kind in KINDS.items()]
    entries = [
        Entry(file, table, column.name, column.kind, column.dimension, column.required, column.default, column.meaning)
        for file, table, record in (*FILES, *kinds)
        for column in columns(record)
    ]
    entries += [
        Entry("parts", "attributes", name, f"{what.what}, unit in the heading", what.what, False, "", what.meaning)
        for name, what in ATTRIBUTES.items()
    ]
    entries.append(
        Entry(
            "parts",
            "tolerances",
            f"ATTRIBUTE{WITHIN}",
            "number, unit in the heading",
            "",
            False,
            "",
            f"how far a piece may be off the attribute either way, by its maker's word: bore{WITHIN} [in]",
        )
    )
    entries += [
        Entry("pattern.toml", "[inputs]", name, "number or slot.attribute", what, False, "", MEANINGS[name])
        for name, what in INPUTS.items()
    ]
    return (*entries, *_measures())


def _measures() -> tuple[Entry, ...]:
    """What limits, fits, [units] and the bench may name beside attributes; the default is the unit it is kept in."""
    measures = [
        Entry(
            "measures",
            "of a build",
            measure.name,
            "measure",
            dimension(measure.unit) or "money",
            False,
            measure.unit,
            f"{measure.meaning}: {measure.formula} ({measure.source})",
        )
        for measure in MEASURES_OF_BUILD.values()
    ]
    meaning = "pieces of a role in the engine: sum of the quantities of its filled slots"
    return (*measures, Entry("measures", "of a build", f"{COUNT}.role", "measure", "number", False, "1", meaning))
