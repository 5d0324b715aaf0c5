"""Reading a study: its field, what can be supplied, and the changes, each worked into the books."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import replace
from pathlib import Path

from costplan.impact.crowds import Reader, read_crowds
from costplan.impact.field import FieldOfEntrants, Proposal
from costplan.impact.records import Study, Supplied
from costplan.problems import Place, Problem, in_order, nearest
from costplan.reading import read_head, read_toml
from costplan.rules.change import Change, read_change
from costplan.rules.clause import ALWAYS
from costplan.rules.pack import read_packs, unused_changes
from costplan.scenario import Scenario, read_scenario

#: The files of a study beside a scenario's own, by their addresses.
FILES = ("field", "survey", "supply", "impact")


def addresses_in(folder: Path) -> tuple[str, ...]:
    """The addresses of a study's files in a folder, into which what-ifs may lead."""
    return _addresses(_read_study(Reader(folder, ())).changes)


def _addresses(changes: Iterable[str]) -> tuple[str, ...]:
    return (*FILES, *(Path(name).stem for name in changes))


def read_field(
    folder: Path, names: Iterable[str] = (), texts: Iterable[str] = (), beside: Iterable[str] = ()
) -> tuple[FieldOfEntrants | None, tuple[Problem, ...]]:
    """The field of a scenario's folder and the changes to be studied; None where there are problems, with all of them.

    `names`: files of changes in the folder; those of impact.toml where there are none. `texts`: what-ifs (`--set`);
    `beside`: addresses of files that others read in the folder.
    """
    given, asked = tuple(texts), tuple(names)
    reader = Reader(folder, given)
    study = _read_study(reader)
    files = asked or study.changes
    reader.beside = (*_addresses(files), *beside)
    base, faults = read_scenario(folder, given, beside=reader.beside)
    reader.problems.extend(faults)
    if base is None:
        return None, in_order(reader.problems.found)
    if base.build is None:
        return None, in_order([*reader.problems.found, base.without("build")])
    crowds = tuple(read_crowds(reader, base, given, study.rpm_follows))
    supplies = _read_supplies(reader, base)
    proposals = tuple(_read_proposals(reader, base, files, option=bool(asked)))
    at_fault = any(problem.place.file == reader.place("impact.toml").file for problem in reader.problems.found)
    if not files and not at_fault:
        advice = "name them there as changes = [...], or with --change FILE"
        reader.problems.add("REA016", reader.place("impact.toml"), "changes", "", "no change to study", advice)
    if reader.problems:
        return None, in_order(reader.problems.found)
    return FieldOfEntrants(base, study, crowds, supplies, base.packs, proposals), ()


def _read_study(reader: Reader) -> Study:
    """impact.toml; all as assumed where it is not there."""
    path = reader.folder / "impact.toml"
    if not path.exists():
        return Study()
    document, faults = read_toml(path, "impact", reader.settings)
    reader.problems.extend(faults)
    if document is None:
        return Study()
    reader.document = document
    study, faults = read_head(document, Study)
    reader.problems.extend(faults)
    return study or Study()


def _read_supplies(reader: Reader, base: Scenario) -> dict[str, Supplied]:
    rows = [row for row in reader.rows("supply", Supplied) if isinstance(row, Supplied)]
    known = base.catalog.parts if base.catalog else {}
    for row in rows:
        if row.part not in known:
            advice = nearest(row.part, known)
            reader.problems.add("IMP003", row.place, "part", row.part, "a part that is in no catalog:", advice)
    return {row.part: row for row in rows}


def _read_proposals(reader: Reader, base: Scenario, files: Sequence[str], *, option: bool) -> Iterator[Proposal]:
    """The changes, each worked into the books as if it held from opening day on."""
    paths = [reader.folder / name for name in base.header.rules]
    standing = [read_change(reader.folder / name, reader.settings)[0] for name in base.header.changes]
    for number, name in enumerate(dict.fromkeys(files), start=1):
        path = reader.folder / name
        if not path.is_file():
            place, key = (Place(f"--change {number}"), "") if option else reader.named_in_study(name)
            names = sorted(one.name for one in reader.folder.glob("change-*.toml"))
            reader.problems.add("IMP005", place, key, name, "no such file:", nearest(name, names))
            continue
        change, faults = read_change(path, reader.settings)
        reader.problems.extend(faults)
        if change is None:
            continue
        plain = at_once(change)
        changes = [*(one for one in standing if one is not None), plain]
        packs, faults = read_packs(paths, base.known, reader.settings, changes)
        reader.problems.extend(faults)
        there = tuple(pack for pack in packs if pack is not None)
        reader.problems.extend(unused_changes([plain], there, base.header.rules))
        yield Proposal(plain, change.header.phase, there)


def at_once(change: Change) -> Change:
    """A change without the dates that it gives to all of its clauses; those of single clauses stay."""
    header = change.header.model_copy(update={"effective": None, "from_round": None})
    replaced = tuple(replace(entry, phase=ALWAYS) for entry in change.replaced)
    added = tuple(replace(one, entry=replace(one.entry, phase=ALWAYS)) for one in change.added)
    return replace(change, header=header, replaced=replaced, added=added)
