"""The column dictionary: every field of every record, and every file that a scenario or a catalog has."""

from __future__ import annotations

import tomllib
from pathlib import Path

import pytest

from costplan.catalog import ATTRIBUTES
from costplan.catalog.attributes import WITHIN
from costplan.reading import Record, columns
from costplan.reference import FILES, dictionary
from costplan.rules import KINDS
from costplan.rules.clause import Test as Clause
from costplan.scenario import read_scenario

ROOT = Path(__file__).parents[2]
DEMOS = sorted((ROOT / "scenarios").iterdir())
CATALOGS = sorted((ROOT / "catalogs").iterdir())


def records(of: type[Record] = Record) -> list[type[Record]]:
    """All record classes of the package, however deep."""
    return [one for sub in of.__subclasses__() for one in (sub, *records(sub)) if one.__module__.startswith("costplan")]


@pytest.mark.parametrize("record", records(), ids=lambda record: f"{record.__module__}.{record.__name__}")
def test_every_field_of_every_record_is_in_the_dictionary(record: type[Record]) -> None:
    listed = {shown for _, _, shown in FILES} | {kind.record for kind in KINDS.values()}
    assert record in listed or record is Clause  # which the kinds' own records are made from
    names = {entry.name for entry in dictionary()}
    assert {column.name for column in columns(record)} <= names


def test_every_entry_says_what_may_stand_there_and_what_it_means() -> None:
    assert [entry for entry in dictionary() if not entry.kind or not entry.meaning] == []


@pytest.mark.parametrize(
    ("table", "name", "kind"),
    [
        ("", "gauges", "list of names"),
        ("", "rule", "table"),
        ('[[rule]] kind = "option"', "choices", "table"),
        ('[[rule]] kind = "parts"', "allowed", "names, blanks between"),
    ],
)
def test_a_list_and_a_table_are_not_called_by_what_they_hold(table: str, name: str, kind: str) -> None:
    assert [one.kind for one in dictionary() if (one.file, one.table, one.name) == ("rules.toml", table, name)] == [
        kind
    ]


def test_no_entry_stands_twice() -> None:
    keys = [(entry.file, entry.table, entry.name) for entry in dictionary()]
    assert len(keys) == len(set(keys))


def test_each_kind_of_rule_and_each_attribute_of_parts_is_listed() -> None:
    entries = dictionary()
    tables = {entry.table for entry in entries if entry.file == "rules.toml"}
    assert {f'[[rule]] kind = "{name}"' for name in KINDS} <= tables
    assert {entry.name for entry in entries if entry.table == "attributes"} == set(ATTRIBUTES)


@pytest.mark.parametrize("folder", DEMOS, ids=lambda folder: folder.name)
def test_every_file_of_a_scenario_is_in_the_dictionary(folder: Path) -> None:
    """A rule pack may have any name; all are described as rules.toml, changes as change.toml; so may logs, and the
    calendars of a field's groups."""
    scenario, problems = read_scenario(folder)
    assert scenario is not None, problems
    packs = {*scenario.header.rules, *scenario.header.neighbours}
    forms = {path.name: path.name for path in folder.iterdir() if path.is_file()} | dict.fromkeys(packs, "rules.toml")
    forms |= {name: "change.toml" for name in forms if name.startswith("change-")}
    forms |= {name: "quote.toml" for name in forms if name.startswith("quote-")}
    forms |= {name: "calendar.csv" for name in forms if name.startswith("calendar-")}
    forms |= dict.fromkeys(scenario.header.logs, "log.csv")
    names = set(forms.values())
    assert names <= {entry.file for entry in dictionary()}


@pytest.mark.parametrize("folder", CATALOGS, ids=lambda folder: folder.name)
def test_every_heading_of_a_catalog_is_in_the_dictionary_or_declared_by_it(folder: Path) -> None:
    named = {entry.file for entry in dictionary()}
    declared = set(tomllib.loads((folder / "catalog.toml").read_text(encoding="utf-8")).get("attributes", {}))
    sheets = folder / "columns-map.toml"
    mapped = tomllib.loads(sheets.read_text(encoding="utf-8"))["sheet"] if sheets.exists() else []
    for path in folder.glob("*.csv"):
        if any(sheet["file"] == path.name for sheet in mapped):
            continue
        file = path.name if path.name in named else "parts"
        known = {entry.name for entry in dictionary() if entry.file == file}
        free = set(ATTRIBUTES) if file == "operations.csv" else set()
        free |= {name + WITHIN for name in (*ATTRIBUTES, *declared)} if file == "parts" else set()
        headings = path.read_text(encoding="utf-8-sig").splitlines()[0].split(",")
        assert {heading.partition(" [")[0] for heading in headings} <= known | declared | free
    for sheet in mapped:
        columns_of_parts = {entry.name for entry in dictionary() if entry.file == "parts"}
        named_by_map = {column.partition(" [")[0] for column in (*sheet["columns"], *sheet.get("fixed", {}))}
        assert {name.removesuffix(WITHIN) for name in named_by_map} <= columns_of_parts | declared
