"""columns.md: every file a user writes, with its columns and keys."""

from __future__ import annotations

from collections.abc import Sequence

from costplan.quantity import UNITS
from costplan.reference import ABOUT, Entry, dictionary
from costplan.writing.markdown import anchor, code, page, section, sentence, table

HOMES = {
    "scenario": (
        "Files of a scenario",
        "The folder that commands are given. Only `scenario.toml` and a calendar are "
        "needed; each other file adds what it says, and what is left out does not happen.",
    ),
    "catalog": ("Files of a catalog", "A folder that `catalogs` of `scenario.toml` names."),
}
BESIDE = ("measures", "Measures of a build", "What limits, fits, `[units]` of a pattern and `bench.csv` may name.")


def columns_text() -> str:
    """The column dictionary as a page: `costplan columns` with room to read."""
    entries: dict[str, list[Entry]] = {}
    for entry in dictionary():
        entries.setdefault(entry.file, []).append(entry)
    files = [(home, file) for home in HOMES for file in entries if file in ABOUT and ABOUT[file].home == home]
    contents = table(
        ("File", "In a", "What it is for"),
        ((f"[{heading_of(file)}]({anchor(heading_of(file))})", home, ABOUT[file].meaning) for home, file in files),
    )
    return page(
        "Files, columns and keys",
        "Every file that you may write: what may stand in each column or key, its unit, whether it is needed, its "
        "default and what it means.",
        "`costplan columns` shows the same in the terminal, `costplan columns calendar.csv` one file, `--json` and "
        "`--csv` as data. Tables may have commas, semicolons (with decimal commas) or tabs. An empty cell takes the "
        'default. A unit stands in the heading, in brackets: `bore [in]`; in TOML behind the number: `"4.125 in"`.',
        contents,
        *(section(*HOMES[home], *(_file(file, entries[file]) for at, file in files if at == home)) for home in HOMES),
        section(BESIDE[1], BESIDE[2], "They stand in [measures.md](measures.md), with formula and source."),
        section("Units", "What may stand in brackets, by what it measures.", _units()),
    )


def heading_of(file: str) -> str:
    """A file as the user writes its name, `rules-*.toml`, or in words where it may have any."""
    name = ABOUT[file].written or file
    return code(name) if "." in name else f"{file.capitalize()} ({name})"


def _file(file: str, entries: Sequence[Entry]) -> str:
    tables: dict[str, list[Entry]] = {}
    for entry in entries:
        tables.setdefault(entry.table, []).append(entry)
    parts = [sentence(ABOUT[file].meaning)]
    for name, found in tables.items():
        parts += [f"**{code(name) if '[' in name else name.capitalize()}**"] if len(parts) > 1 else []
        parts.append(table(("Name", "What may stand there", "Needed", "Default", "Meaning"), map(_row, found)))
    return section(heading_of(file), *parts, level=3)


def _row(entry: Entry) -> tuple[str, ...]:
    """An attribute's kind is what it measures, which its words say already."""
    unit = f" ({entry.dimension})" if entry.dimension and entry.table != "attributes" else ""
    return code(entry.name), f"{entry.kind}{unit}", "yes" if entry.needed else "", code(entry.default), entry.meaning


def _units() -> str:
    found: dict[str, list[str]] = {}
    for unit, (what, _) in UNITS.items():
        found.setdefault(what, []).append(code(unit))
    return table(("Measures", "Units"), ((what, " ".join(units)) for what, units in found.items()))
