"""Catalogs, what stands in them, and the column dictionary as pages."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date

from costplan.catalog import Catalog, Found, PastPrice
from costplan.choose import Alternative, without_objection
from costplan.life import Compared
from costplan.quantity import Quantity
from costplan.reference import Entry
from costplan.report.tables import Page, Table, days_old, grouped, listed, money, number, plural, quantity

LIVES = ("Lives are assumptions unless their row names a source; a maker's word and an inspection come first.",)


def catalog_page(catalog: Catalog) -> Page:
    """What a catalog holds, by role."""
    rows = tuple(
        (role, str(len(parts)), listed(dict.fromkeys(part.supplier for part in parts)), lives)
        for role, parts, lives in catalog.by_role()
    )
    lines = [f"{plural(len(catalog.parts), 'part')} in {plural(len(rows), 'role')}."]
    if catalog.kits or catalog.operations or catalog.prices:
        lines.append(
            f"{plural(len(catalog.kits), 'kit')}, {plural(len(catalog.operations), 'shop operation')}, "
            f"{plural(len(catalog.prices), 'dated price')} beside the parts' own."
        )
    table = Table("", ("Role", "Parts", "Suppliers", "Lives counted in"), rows, right=(1,))
    return Page(_titled(catalog, "the files are in order"), tuple(lines), (table,))


def _titled(catalog: Catalog, what: str) -> str:
    return f"{listed(catalog.names)}{' (invented data)' if catalog.invented else ''}: {what}"


def list_page(catalog: Catalog, found: Sequence[Found], on: date) -> Page:
    """The parts that were looked for."""
    rows = tuple(
        (
            entry.part,
            entry.name,
            entry.role,
            entry.supplier,
            _pack(money(entry.price), entry.pack),
            days_old(entry.price_age_days),
        )
        for entry in found
    )
    header = ("Part", "What", "Role", "Supplier", "Price", "Days old")
    note = f"Prices in {found[0].currency} that hold on {on}; x8 is a pack of eight." if found else ""
    table = Table("", header, rows, right=(4, 5), note=note)
    return Page(_titled(catalog, plural(len(found), "part")), (), (table,))


def _pack(price: str, pack: int) -> str:
    return f"{price} x{pack}" if pack > 1 else price


def compare_page(catalog: Catalog, role: str, found: Sequence[Compared], on: date) -> Page:
    """The parts of a role by price per unit of life, and below it what their figures are."""
    measure, pieces = (found[0].measure, found[0].pieces) if found else ("", 1)
    rows = tuple(
        (
            entry.part,
            entry.supplier,
            money(entry.cost),
            number(entry.life) + (" *" if entry.assumed else "") if entry.life else "",
            money(entry.per_use) if entry.per_use is not None else "",
            str(entry.lead_days),
            days_old(entry.price_age_days),
        )
        for entry in found
    )
    header = ("Part", "Supplier", "Cost", f"Life, {measure}" if measure else "Life", "Per unit", "Lead", "Days old")
    note = (
        f"Cost of {plural(pieces, 'piece')} in whole packs on {on}, in {found[0].currency if found else ''}. "
        "Per unit: price of the pieces less resale, over the use at which they are renewed, at the rated speed. "
        "* assumed life."
    )
    tables = (Table("", header, rows, right=(2, 3, 4, 5, 6), note=note), _attributes_table(found))
    return Page(_titled(catalog, f"{role}, {plural(len(found), 'part')}"), (), tables, LIVES)


def _attributes_table(found: Sequence[Compared]) -> Table:
    """The figures in which parts differ, a row for each: every value with the parts that have it."""
    rows = []
    for name in dict.fromkeys(name for entry in found for name in entry.attributes):
        values = grouped((_shown(entry.attributes.get(name)), entry.part) for entry in found)
        if len(values) > 1:
            told = (f"{value or 'not given'}: {listed(parts)}" for value, parts in values.items())
            rows.append((name.replace("_", " "), "; ".join(told)))
    return Table("Where they differ", ("Figure", "Value: parts"), tuple(rows))


def _shown(value: Quantity | str | None) -> str:
    return "" if value is None else quantity(value) if isinstance(value, Quantity) else value


def prices_page(catalog: Catalog, name: str, found: Sequence[PastPrice], on: date) -> Page:
    """What a part or kit has cost when, and which price holds now."""
    rows = tuple(
        (
            f"{entry.date}",
            entry.supplier,
            f"{money(entry.price)} {entry.currency}",
            _terms(entry),
            f"{entry.change:+.1%}" if entry.change is not None else "",
            _holds(entry, on),
        )
        for entry in found
    )
    header = ("From", "Supplier", "Price", "Terms", "Change", f"On {on}")
    note = "Change is against the same supplier's price before it for as many packs, in the currency it is asked in."
    return Page(_titled(catalog, f"prices of {name}"), (), (Table("", header, rows, right=(2, 4), note=note),))


def _holds(entry: PastPrice, on: date) -> str:
    return "" if not entry.holds else "holds" if entry.date <= on else "to come; none older"


def _terms(entry: PastPrice) -> str:
    words = (
        f"pack of {entry.pack}" if entry.pack > 1 else "",
        f"from {entry.least} packs" if entry.least > 1 else "",
        "with tax" if entry.tax_included else "",
    )
    return listed(word for word in words if word)


def fits_page(title: str, groups: Sequence[Sequence[Alternative]], invented: bool) -> Page:
    """For each slot every part that could stand in it, and why the rest does not."""
    tables = tuple(_slot_table(found) for found in groups if found)
    foot = (
        "Fits are only those that the pattern states, on catalog figures; measure before you build.",
        "Breaking no clause on a list is not passing inspection: officials and their gauges decide.",
    )
    lines = (
        "> is the planned part; all others are tried in its place, the rest of the build as it is.",
        "More: than the planned part. Per event and so on: price less resale over the use at which it is renewed.",
    )
    return Page(f"{title} (invented data)" if invented else title, lines, tables, foot)


def _slot_table(found: Sequence[Alternative]) -> Table:
    measure = found[0].measure.rstrip("s") or "unit"
    rows = tuple(
        (
            ("> " if entry.planned else "  ") + entry.part,
            entry.fitting,
            money(entry.cost),
            f"{entry.more:+,f}" if entry.more else "",
            money(entry.per_use) if entry.per_use is not None else "",
            str(entry.lead_days),
        )
        for entry in found
    )
    title = f"{found[0].slot}: {plural(len(found), 'part')}, {without_objection(found)} fit and break no clause"
    header = ("Part", "Fit", "Cost", "More", f"Per {measure}", "Lead")
    note = "\n".join(line for entry in found for line in _against(entry))
    return Table(title, header, rows, right=(2, 3, 4, 5), note=note)


def _against(entry: Alternative) -> list[str]:
    """What speaks against a part, a line for each fit and one for the book."""
    book = [f"breaks {listed(entry.book)}"] if entry.book else []
    return [f"{entry.part}: {reason}" for reason in (*entry.reasons, *book)]


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
