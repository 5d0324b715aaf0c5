"""Reading a catalog: a folder with catalog.toml, roles.csv, lives.csv and any number of part tables."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from costplan.catalog.attributes import ATTRIBUTES, Attribute
from costplan.catalog.records import Header, LifeRow, Part, Role
from costplan.money import NO_CURRENCY, is_currency
from costplan.problems import NOWHERE, Problem, Problems, nearest
from costplan.quantity import Quantity, dimension
from costplan.reading import (
    Document,
    Setting,
    is_folder,
    read_head,
    read_records,
    read_table,
    read_toml,
    repeated,
)


@dataclass(frozen=True, slots=True)
class Catalog:
    """Parts by number, roles by name and the life rows of one or several catalogs.

    `written` holds the names of all parts, of rows at fault too, and `whole` says that no row of parts is at fault;
    `addresses` are the files read.
    """

    parts: dict[str, Part] = field(default_factory=dict)
    roles: dict[str, Role] = field(default_factory=dict)
    lives: tuple[LifeRow, ...] = ()
    names: tuple[str, ...] = ()
    invented: bool = False
    written: frozenset[str] = frozenset()
    whole: bool = True
    addresses: tuple[str, ...] = ()

    def of_role(self, role: str) -> tuple[Part, ...]:
        return tuple(part for part in self.parts.values() if part.role == role)

    def measured(self) -> dict[str, str]:
        """The attributes that some part gives as a number, each with what it measures; all known, where parts lack."""
        known = {} if self.whole else {name: what.what for name, what in ATTRIBUTES.items() if what.what != "text"}
        return known | {
            name: dimension(value.unit) or ""
            for part in self.parts.values()
            for name, value in part.attributes.items()
            if isinstance(value, Quantity)
        }

    def by_role(self) -> tuple[tuple[str, tuple[Part, ...], str], ...]:
        """Each role that has parts, with them and the measures that their lives count."""
        return tuple((role, self.of_role(role), self._measures(role)) for role in self.roles if self.of_role(role))

    def _measures(self, role: str) -> str:
        rows = (row for part in self.of_role(role) for row in self.lives_of(part))
        return ", ".join(dict.fromkeys(row.measure.name for row in rows))

    def summary(self) -> dict[str, object]:
        """What the catalog holds, as data: its names, and each role with its parts."""
        roles = [
            {"role": role, "parts": [part.part for part in parts], "lives": lives}
            for role, parts, lives in self.by_role()
        ]
        return {"names": self.names, "invented": self.invented, "parts": len(self.parts), "roles": roles}

    def lives_of(self, part: Part) -> tuple[LifeRow, ...]:
        """The life rows of a part: its own, and its role's for the measures in which it has none."""
        own = [row for row in self.lives if row.part == part.part]
        measures = {row.measure.name for row in own}
        return (*own, *(row for row in self.lives if row.role == part.role and row.measure.name not in measures))


@dataclass(slots=True)
class _Gathering:
    """What the folders read so far hold, before it is checked as a whole."""

    settings: tuple[Setting, ...]
    problems: Problems = field(default_factory=Problems)
    seen: list[Path] = field(default_factory=list)
    parts: list[Part] = field(default_factory=list)
    roles: list[Role] = field(default_factory=list)
    lives: list[LifeRow] = field(default_factory=list)
    headers: list[Header] = field(default_factory=list)
    written: set[str] = field(default_factory=set)
    whole: bool = True
    addresses: list[str] = field(default_factory=list)


def read_catalogs(folders: Iterable[Path], settings: tuple[Setting, ...] = ()) -> tuple[Catalog, tuple[Problem, ...]]:
    """All parts, roles and lives of some catalog folders and of those they include."""
    gathering = _Gathering(settings)
    for folder in folders:
        _gather(folder, (), gathering)
    problems = gathering.problems
    problems.extend(repeated(gathering.parts, "part", "CAT001"))
    problems.extend(repeated(gathering.roles, "role"))
    catalog = Catalog(
        _first_of_each(gathering.parts),
        {role.role: role for role in gathering.roles},
        tuple(gathering.lives),
        tuple(header.name for header in gathering.headers),
        any(header.invented for header in gathering.headers),
        frozenset(gathering.written),
        gathering.whole,
        tuple(gathering.addresses),
    )
    _check_whole(catalog, gathering.parts, problems)
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
    gathering.seen.append(here)
    document, header = _read_header(folder, gathering)
    known = {**ATTRIBUTES, **{name: Attribute(what, "", False) for name, what in header.attributes.items()}}
    for path in sorted(folder.glob("*.csv")):
        _read_file(path, f"{here.name}/{path.stem}", header, known, gathering)
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
    if not is_currency(header.currency):
        advice = "give a code of ISO 4217, such as USD or EUR"
        gathering.problems.add(
            "MON001", document.place(("currency",)), "currency", header.currency, "no currency:", advice
        )
        header = header.model_copy(update={"currency": NO_CURRENCY})
    gathering.headers.append(header)
    return document, header


def _read_file(path: Path, address: str, header: Header, known: dict[str, Attribute], gathering: _Gathering) -> None:
    table, faults = read_table(path, address)
    gathering.problems.extend(faults)
    gathering.addresses.append(address)
    record: Any = {"roles": Role, "lives": LifeRow}.get(path.stem, Part)
    gathering.whole &= record is not Part or not faults
    if table is None:
        return
    free = known if record is Part else {}
    found, faults = read_records(table, record, gathering.settings, free=free, context={"attributes": known})
    gathering.problems.extend(faults)
    if record is Part:
        gathering.whole &= not faults
        gathering.written |= table.cells(Part.KEY)
        found = tuple(
            part if part.currency else part.model_copy(update={"currency": header.currency}) for part in found
        )
    target: Any = {Role: gathering.roles, LifeRow: gathering.lives}.get(record, gathering.parts)
    target.extend(found)


def _check_whole(catalog: Catalog, parts: list[Part], problems: Problems) -> None:
    """What only shows when all tables are read: roles and parts that nobody declares, currencies, lives twice over."""
    for part in parts:
        if part.role not in catalog.roles:
            advice = f"add it to roles.csv; {nearest(part.role, catalog.roles)}"
            problems.add("CAT002", part.place, "role", part.role, "an unknown role", advice)
        if not is_currency(part.currency):
            advice = "give a code of ISO 4217, such as USD or EUR"
            problems.add("MON001", part.place, "currency", part.currency, "no currency:", advice)
    first: dict[tuple[str, str, str], LifeRow] = {}
    for row in catalog.lives:
        _check_life(row, catalog, problems)
        key = (row.part, row.role, row.measure.name)
        if key in first:
            advice = f"keep one; the first is in {first[key].place}"
            problems.add("CAT006", row.place, "measure", str(row.measure), "a second life in this measure", advice)
        first.setdefault(key, row)


def _check_life(row: LifeRow, catalog: Catalog, problems: Problems) -> None:
    if row.part and row.part not in catalog.written:
        problems.add(
            "CAT004", row.place, "part", row.part, "a life of an unknown part", nearest(row.part, catalog.parts)
        )
    if row.role and row.role not in catalog.roles:
        advice = f"add it to roles.csv; {nearest(row.role, catalog.roles)}"
        problems.add("CAT002", row.place, "role", row.role, "an unknown role", advice)
