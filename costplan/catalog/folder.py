"""Reading a catalog: a folder with catalog.toml, tables that mean something by their name, and tables of parts."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field
from pathlib import Path
from types import MappingProxyType
from typing import TypeVar

from costplan.catalog.attributes import ATTRIBUTES, Attribute, with_tolerances
from costplan.catalog.catalog import Catalog, folder_of
from costplan.catalog.checking import check_currency, check_whole
from costplan.catalog.flows import FlowRow, LiftRow
from costplan.catalog.operations import Operation
from costplan.catalog.prices import Terms
from costplan.catalog.records import Header, Kit, KitContent, LifeRow, Part, PriceRow, Role, ServiceStep
from costplan.catalog.sheets import MAP, MappedSheet, Sheets, read_map
from costplan.money import NO_CURRENCY
from costplan.problems import NOWHERE, Place, Problem, Problems
from costplan.reading import (
    Document,
    Record,
    Setting,
    Table,
    collector_at_rest,
    is_folder,
    read_head,
    read_records,
    read_table,
    read_toml,
    repeated,
    shown,
    tables_in,
    written_in,
)

#: What the rows of a file are, by its name; any other CSV is a table of parts.
TABLES: MappingProxyType[str, type[Record]] = MappingProxyType(
    {
        "roles": Role,
        "lives": LifeRow,
        "prices": PriceRow,
        "kits": Kit,
        "kit_contains": KitContent,
        "operations": Operation,
        "service_steps": ServiceStep,
        "flow": FlowRow,
        "lift_curves": LiftRow,
    }
)

#: The column that says what a row is about, where rows may be alike in it.
NAMES: dict[type[Record], str] = {PriceRow: "part", KitContent: "kit"}

R = TypeVar("R", bound=Record)


@dataclass(slots=True)
class _Gathering:
    """What the folders read so far hold, before it is checked as a whole.

    `rows` by the record they are, and by it too what is `written` in the column that names them, in rows at fault too.
    """

    settings: tuple[Setting, ...]
    problems: Problems = field(default_factory=Problems)
    seen: list[Path] = field(default_factory=list)
    rows: dict[type[Record], list[Record]] = field(default_factory=dict)
    headers: list[Header] = field(default_factory=list)
    terms: dict[str, Terms] = field(default_factory=dict)
    attributes: dict[str, str] = field(default_factory=dict)
    written: dict[type[Record], set[str]] = field(default_factory=dict)
    whole: bool = True
    unread: bool = False
    addresses: list[str] = field(default_factory=list)

    def of(self, record: type[R]) -> tuple[R, ...]:
        """The rows of one kind, in the order of the files."""
        return tuple(row for row in self.rows.get(record, ()) if isinstance(row, record))

    def named(self, *records: type[Record]) -> frozenset[str]:
        """What is written in the columns that name rows of these kinds."""
        return frozenset().union(*(self.written.get(record, ()) for record in records))


def read_catalogs(folders: Iterable[Path], settings: tuple[Setting, ...] = ()) -> tuple[Catalog, tuple[Problem, ...]]:
    """All tables of some catalog folders and of those they include."""
    gathering = _Gathering(settings)
    for folder in folders:
        _gather(folder, (), gathering)
    problems, parts = gathering.problems, gathering.of(Part)
    for record in (Part, Kit, Role, Operation):
        problems.extend(repeated(gathering.of(record), record.KEY, record.REPEATED))
    catalog = Catalog(
        _first_of_each(parts),
        {role.role: role for role in gathering.of(Role)},
        gathering.of(LifeRow),
        gathering.of(PriceRow),
        {kit.kit: kit for kit in gathering.of(Kit)},
        gathering.of(KitContent),
        {operation.operation: operation for operation in gathering.of(Operation)},
        gathering.of(ServiceStep),
        tuple(header.name for header in gathering.headers),
        any(header.invented for header in gathering.headers),
        gathering.named(Part),
        gathering.named(Kit),
        gathering.named(PriceRow),
        gathering.named(KitContent),
        gathering.named(Operation),
        gathering.whole,
        gathering.unread,
        tuple(gathering.addresses),
        gathering.terms,
        gathering.attributes,
        gathering.of(FlowRow),
        gathering.of(LiftRow),
    )
    check_whole(catalog, parts, problems)
    return catalog, tuple(problems.found)


def _first_of_each(parts: Iterable[Part]) -> dict[str, Part]:
    """Parts by name in the order of the files, the first of those with one name."""
    named: dict[str, Part] = {}
    for part in parts:
        named.setdefault(part.part, part)
    return named


def _gather(folder: Path, trail: tuple[Path, ...], gathering: _Gathering) -> None:
    """One folder and, after it, those it includes; each folder once."""
    there, faults = is_folder(folder)
    gathering.problems.extend(faults)
    here = folder.resolve()
    if not there or here in gathering.seen:
        return
    if not (folder / "catalog.toml").exists() and (folder / "scenario.toml").exists():
        what, advice = "no catalog but a scenario:", "give the folder of one of its catalogs, or ask costplan check"
        gathering.problems.add("REA001", Place(shown(folder / "catalog.toml")), "", folder.name, what, advice)
        return
    gathering.seen.append(here)
    document, header = _read_header(folder, gathering)
    here_in_places = folder_of(Place(shown(folder / "catalog.toml")))
    gathering.terms[here_in_places] = Terms(header.currency, header.tax_included, header.tax_rate)
    known = {**ATTRIBUTES, **{name: Attribute(what, "", False) for name, what in header.attributes.items()}}
    _note_attributes(header, document, gathering)
    sheets = _read_map(folder, here.name, gathering)
    for path in tables_in(folder):
        if sheets.leave(path, TABLES.get(path.stem, Part)):
            _read_file(path, f"{here.name}/{path.stem}", known, gathering)
    for sheet in sheets.mapped:
        _read_sheet(sheet, f"{here.name}/{sheet.name}", known, gathering)
    for index, name in enumerate(header.includes):
        other = folder / name
        if other.resolve() in (*trail, here):
            place = document.place(("includes", index)) if document else NOWHERE
            advice = "take one of the includes out"
            gathering.problems.add(
                "CAT005", place, "includes", name, "catalogs include each other in a circle:", advice
            )
        else:
            _gather(other, (*trail, here), gathering)


def _note_attributes(header: Header, document: Document | None, gathering: _Gathering) -> None:
    """A column that one catalog declares measures the same in all others that declare it."""
    for name, what in header.attributes.items():
        before = gathering.attributes.setdefault(name, what)
        if before != what and document is not None:
            advice = f"give the column another name, or call it a {before} here too"
            place = document.place(("attributes", name))
            gathering.problems.add("REA020", place, f"attributes.{name}", what, f"elsewhere a {before}, here", advice)


def _read_header(folder: Path, gathering: _Gathering) -> tuple[Document | None, Header]:
    """catalog.toml, or an empty header where it cannot be read."""
    address = f"{folder.resolve().name}/catalog"
    document, faults = read_toml(folder / "catalog.toml", address, gathering.settings)
    gathering.problems.extend(faults)
    gathering.addresses.append(address)
    nameless = Header(name=folder.resolve().name or "catalog", currency=NO_CURRENCY)
    if document is None:
        return None, nameless
    header, faults = read_head(document, Header, name=nameless.name, currency=NO_CURRENCY)
    gathering.problems.extend(faults)
    if header is None:
        return document, nameless
    given = document.values.get("currency") is not None or header.currency != NO_CURRENCY
    if given and not check_currency(header.currency, document.place(("currency",)), gathering.problems):
        header = header.model_copy(update={"currency": NO_CURRENCY})
    gathering.headers.append(header)
    return document, header


def _read_map(folder: Path, name: str, gathering: _Gathering) -> Sheets:
    """The sheets that a catalog's columns map names; the catalog is not whole where one of them cannot be read."""
    sheets, faults = read_map(folder, f"{name}/{MAP}", TABLES, gathering.settings)
    gathering.problems.extend(faults)
    gathering.whole &= sheets.whole
    gathering.unread |= not sheets.whole
    gathering.addresses += [f"{name}/{MAP}"] if sheets.files or not sheets.known else []
    return sheets


@collector_at_rest()
def _read_file(path: Path, address: str, known: dict[str, Attribute], gathering: _Gathering) -> None:
    """One table in our form."""
    table, faults = read_table(path, address)
    _take(table, faults, TABLES.get(path.stem, Part), known, gathering)
    gathering.addresses.append(address)


@collector_at_rest()
def _read_sheet(sheet: MappedSheet, address: str, known: dict[str, Attribute], gathering: _Gathering) -> None:
    """One table of which a columns map says how it is written."""
    record = TABLES.get(sheet.table, Part)
    table, faults = sheet.read(address, record, _free(record, known))
    _take(table, faults, record, known, gathering)
    gathering.addresses.append(address)


def _free(record: type[Record], known: dict[str, Attribute]) -> dict[str, Attribute]:
    """The attributes that may be columns of a table beside its own; parts have tolerances of them too."""
    return with_tolerances(known) if record is Part else known if record.REST else {}


def _take(
    table: Table | None,
    faults: Iterable[Problem],
    record: type[Record],
    known: dict[str, Attribute],
    gathering: _Gathering,
) -> None:
    """The rows of a table; a name that was written in it is not unknown elsewhere, even where its row is at fault."""
    gathering.problems.extend(faults)
    gathering.whole &= record is not Part or not faults
    gathering.unread |= record is Part and table is None
    if table is None:
        return
    table, astray = written_in(table, record, gathering.settings)
    found, faults = read_records(table, record, free=_free(record, known), context={"attributes": known})
    gathering.problems.extend((*astray, *faults))
    gathering.whole &= record is not Part or not faults
    gathering.written.setdefault(record, set()).update(table.cells(NAMES.get(record, record.KEY)))
    gathering.rows.setdefault(record, []).extend(found)
