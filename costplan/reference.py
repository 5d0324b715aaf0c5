"""The column dictionary of all files, gathered from the records that read them: one source for checks and reference."""

from __future__ import annotations

from dataclasses import dataclass

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
