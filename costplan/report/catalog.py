"""Catalogs and the column dictionary as pages."""

from __future__ import annotations

from collections.abc import Sequence

from costplan.catalog import Catalog
from costplan.reference import Entry
from costplan.report.tables import Page, Table, listed, plural


def catalog_page(catalog: Catalog) -> Page:
    """What a catalog holds, by role."""
    rows = tuple(
        (role, str(len(parts)), listed(dict.fromkeys(part.supplier for part in parts)), lives)
        for role, parts, lives in catalog.by_role()
    )
    title = f"{listed(catalog.names)}{' (invented data)' if catalog.invented else ''}: the files are in order"
    line = f"{plural(len(catalog.parts), 'part')} in {plural(len(rows), 'role')}."
    return Page(title, (line,), (Table("", ("Role", "Parts", "Suppliers", "Lives counted in"), rows, right=(1,)),))


def columns_page(entries: Sequence[Entry]) -> Page:
    """The column dictionary, a table for each file and part of it."""
    groups: dict[tuple[str, str], list[Entry]] = {}
    for entry in entries:
        groups.setdefault((entry.file, entry.table), []).append(entry)
    tables = tuple(
        Table(
            f"{file} {table}".strip(),
            ("Name", "What may stand there", "Needed", "Meaning"),
            tuple((entry.name, _kind(entry), _needed(entry), entry.meaning) for entry in found),
        )
        for (file, table), found in groups.items()
    )
    lines = ("Units stand in headings, as in bore [in]. An empty cell takes the default.",)
    return Page("Columns and keys", lines, tables)


def _kind(entry: Entry) -> str:
    return f"{entry.kind} ({entry.dimension})" if entry.dimension and entry.table != "attributes" else entry.kind


def _needed(entry: Entry) -> str:
    return "yes" if entry.needed else f"no: {entry.default}" if entry.default else "no"
