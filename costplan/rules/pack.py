"""A rule pack: the header of a class's rules, its lists and its clauses, with supplements and changes worked in."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Any, ClassVar, Literal, TypeAlias

from pydantic import Field

from costplan.problems import Place, Problem, Problems, nearest
from costplan.reading import Document, KeyPath, Record, Setting, read_head, read_parts, read_toml
from costplan.reading.fields import Day, Name, Text, Words, YesNo
from costplan.reading.records import validate
from costplan.rules.change import Change, Written, apply_change, written_of
from costplan.rules.clause import Condition, Heading, Rule, Test
from costplan.rules.entries import Entry
from costplan.rules.evidence import PartList
from costplan.rules.kinds import KINDS, Known, Where


class PackHeader(Record):
    """rules-*.toml"""

    name: Name = Field(description="the class and its rule book")
    edition: Text = Field(default="", description="edition of the book")
    date: Day | None = Field(default=None, description="day of the edition")
    default: Literal["forbid", "allow"] = Field(
        default="forbid", description="what is not written is forbidden, or allowed"
    )
    tolerance: Text = Field(
        default="", description="the book's clause on tolerance, wear and temperature, in its words"
    )
    rounding: Literal["absolute", "rounded"] = Field(
        default="absolute",
        description="how values are compared: as they are, or rounded to the last place of the limit (ASTM E29)",
    )
    ties: Literal["even", "away"] = Field(
        default="even", description="rounded: whether a tie goes to the even digit or away from zero (ISO 80000-1)"
    )
    gauges: tuple[Name, ...] = Field(
        default=(), description="whose measurements and inspections count as proof; anybody's where empty"
    )
    supplements: Name = Field(
        default="", description="file of the pack that this one adds to, and that speaks where this one is silent"
    )
    prevails: Literal["supplement", "base"] = Field(
        default="supplement", description="whose clause holds where both have one of the same id"
    )
    invented: YesNo = Field(default=False, description="whether the book is made up, as in a demo")
    recognises: tuple[Any, ...] = Field(
        default=(), description="packs that count in place of this one, each a table [[recognises]]"
    )
    list: tuple[Any, ...] = Field(default=(), description="lists of parts, each a table [[list]]")
    rule: tuple[Any, ...] = Field(default=(), description="the clauses, each a table [[rule]]")


class Recognition(Record):
    """[[recognises]] of a rule pack"""

    KEY: ClassVar[str] = "pack"
    pack: Name = Field(description="file of the pack that counts in place of this one")
    still: Words = Field(default=(), description="clauses of this pack that are asked all the same")


@dataclass(frozen=True, slots=True)
class Pack:
    """A rule pack as read; `file` is where, `changes` what was worked into it and into the pack that it supplements.

    `recognised`: the packs that count in place of it; `still`: for each file of those, the clauses asked all the same.
    `whole`: whether no clause had to be left out for its faults.
    """

    header: PackHeader
    rules: tuple[Rule, ...]
    file: str
    stem: str = ""
    lists: tuple[PartList, ...] = ()
    recognised: tuple[Pack, ...] = ()
    still: tuple[tuple[str, tuple[str, ...]], ...] = ()
    whole: bool = True
    changes: tuple[Change, ...] = ()

    @property
    def files(self) -> frozenset[str]:
        """The files that clauses of its own stand in: its own, and those of its own changes, not of its base's."""
        own = (change.file for change in self.changes if change.header.baseline == Path(self.file).name)
        return frozenset((self.file, *own))

    def still_asked(self, other: Pack) -> tuple[str, ...]:
        return dict(self.still).get(other.file, ())


#: What reading a file of TOML gives.
Read: TypeAlias = tuple[Document | None, tuple[Problem, ...]]


@dataclass(slots=True)
class _Shelf:
    """One way through the files of a pack: what it may name, the what-ifs, and the problems met.

    `open_files`: those that lead here by supplements; `inside`: whether another pack names the one that is read, so
    that what it recognises itself counts for nothing.
    """

    known: Known
    settings: tuple[Setting, ...]
    problems: Problems
    changes: tuple[Change, ...] = ()
    documents: dict[Path, Read] = field(default_factory=dict)
    open_files: tuple[Path, ...] = ()
    inside: bool = False

    def document(self, path: Path) -> Document | None:
        """The document in a file, read once however many packs rest on it; its problems are each one's."""
        if path not in self.documents:
            self.documents[path] = read_toml(path, path.stem, self.settings)
        document, faults = self.documents[path]
        self.problems.extend(faults)
        return document


def read_pack(
    path: Path, known: Known, settings: tuple[Setting, ...] = (), changes: Sequence[Change] = ()
) -> tuple[Pack | None, tuple[Problem, ...]]:
    """The pack in a TOML file with those it supplements and recognises, its clauses checked against what is known.

    Of `changes` those are worked in, in their order, whose baseline is one of these files.
    """
    (pack,), problems = read_packs((path,), known, settings, changes)
    return pack, problems


def read_packs(
    paths: Iterable[Path], known: Known, settings: tuple[Setting, ...] = (), changes: Sequence[Change] = ()
) -> tuple[tuple[Pack | None, ...], tuple[Problem, ...]]:
    """The packs in several files, as `read_pack` reads each; a file that several rest on is read once."""
    documents: dict[Path, Read] = {}
    packs, problems = list[Pack | None](), Problems()
    for path in paths:
        shelf = _Shelf(known, settings, Problems(), tuple(changes), documents)
        pack = _read(path, shelf)
        packs.append(replace(pack, whole=not shelf.problems) if pack else None)
        problems.extend(shelf.problems.found)
    return tuple(packs), tuple(problems.found)


def _read(path: Path, shelf: _Shelf) -> Pack | None:
    document = shelf.document(path)
    if document is None:
        return None
    lists, faults = read_parts(document, "list", PartList)
    shelf.problems.extend(faults)
    changes = tuple(change for change in shelf.changes if change.header.baseline == path.name)
    written = written_of(document, lists)
    for change in changes:
        written = apply_change(written, change, shelf.problems)
    header, faults = read_head(written.document, PackHeader, name="?")
    shelf.problems.extend(faults)
    if header is None:
        return None
    base = _named(header.supplements, ("supplements",), path, document, shelf)
    if base is not None:
        header = _inherited(header, base.header, written.document)
    pack = Pack(header, (), document.file, path.stem, (*(base.lists if base else ()), *written.lists))
    own = _clauses(written, pack, base, shelf)
    rules = own if base is None else _together(base.rules, own, header.prevails)
    pack = replace(pack, rules=rules, changes=(*(base.changes if base else ()), *changes))
    return _with_recognised(pack, path, document, shelf)


#: What a supplement takes from its base where it does not say it itself.
INHERITED = ("default", "tolerance", "rounding", "ties", "gauges")


def _inherited(header: PackHeader, base: PackHeader, document: Document) -> PackHeader:
    """The header of a supplement, its base's word holding where it has none."""
    return header.model_copy(update={key: getattr(base, key) for key in INHERITED if key not in document.values})


def _clauses(written: Written, pack: Pack, base: Pack | None, shelf: _Shelf) -> tuple[Rule, ...]:
    """The clauses of a pack as written, checked against the pattern, its lists, and each other."""
    read = read_clauses(written.entries, shelf.problems)
    rules = tuple(rule for _, rule in read)
    everything = {rule.id: rule for rule in (*(base.rules if base else ()), *rules)}
    lists = frozenset(row.list for row in pack.lists)
    check_clauses(read, replace(shelf.known, lists=lists, rules=everything), shelf.problems)
    return rules


def read_clauses(entries: Iterable[Entry], problems: Problems) -> tuple[tuple[Entry, Rule], ...]:
    """The clauses of entries, those at fault left out; two of one name are a problem unless one follows the other."""
    found = [(entry, rule) for entry in entries if (rule := _clause(entry, problems)) is not None]
    first: dict[str, Rule] = {}
    for _, rule in found:
        before = first.setdefault(rule.id, rule)
        if before is not rule and before.ended is None:
            advice = f"give another name; the first is in {before.place}"
            problems.add("REA023", rule.place, "id", rule.id, "a second row with the name", advice)
    return tuple(found)


def check_clauses(read: Iterable[tuple[Entry, Rule]], known: Known, problems: Problems) -> None:
    """What is wrong with the tests of clauses and of their conditions."""
    for entry, rule in read:
        for one in (Condition(rule.kind, rule.test), *rule.when, *rule.unless):
            where = Where(entry.document, (*entry.path, *one.path), rule.id)
            problems.extend(KINDS[one.kind].faults(one.test, known, where))


def _clause(entry: Entry, problems: Problems) -> Rule | None:
    """One clause: its heading, its test, and its conditions, each with its own problems."""
    values = entry.values
    test = _test(entry.document, entry.path, frozenset(Heading.model_fields), problems)
    own = {key: value for key, value in values.items() if key in Heading.model_fields}
    phase = {"effective": entry.phase.effective, "from_round": entry.phase.from_round}
    data = {**({} if own.keys() & phase else phase), **own, "place": entry.document.place(entry.path)}
    heading, faults = validate(Heading, data, _placing(entry.document, entry.path), {})
    told = entry.document.shown((*entry.path, "kind"))  # by its test, which knows the kinds
    problems.extend(fault for fault in faults if fault.field != told)
    when = _conditions(entry, "when", problems)
    unless = _conditions(entry, "unless", problems)
    if heading is None or test is None or when is None or unless is None:
        return None
    return Rule(heading, test, when, unless, entry.ended)


def _conditions(entry: Entry, key: str, problems: Problems) -> tuple[Condition, ...] | None:
    """The tests under `when` or `unless`; None where one is at fault."""
    rows = entry.values.get(key, [])
    if not isinstance(rows, list):
        return ()
    found = []
    for index, row in enumerate(rows):
        path = (*entry.path, key, index)
        if not isinstance(row, dict):
            place = entry.document.place(path)
            problems.add("REA017", place, entry.document.shown(path), row, "not a test:", 'write {kind = "...", ...}')
            continue
        test = _test(entry.document, path, frozenset({"kind"}), problems)
        if test is not None:
            found.append(Condition(row["kind"], test, (key, index)))
    return tuple(found) if len(found) == len(rows) else None


def _test(document: Document, path: KeyPath, others: frozenset[str], problems: Problems) -> Test | None:
    """The keys of a kind in a table, those of `others` left out."""
    table: Any = document.values
    for key in path:
        table = table[key]
    name = table.get("kind") if isinstance(table, dict) else None
    if not isinstance(name, str) or name not in KINDS:
        place, shown = document.place((*path, "kind")), document.shown((*path, "kind"))
        problems.add("RUL001", place, shown, name, "an unknown kind of rule", nearest(str(name), KINDS))
        return None
    if "place" in table:  # a key like another to the user, and none of the record's
        where = (*path, "place")
        what, advice = "an unknown key", "remove it or correct its name"
        problems.add("REA015", document.place(where), document.shown(where), "", what, advice)
    own = {key: value for key, value in table.items() if key not in others}
    data = {**own, "place": document.place(path)}
    test, faults = validate(KINDS[name].record, data, _placing(document, path), {})
    problems.extend(faults)
    return test


def _placing(document: Document, path: KeyPath) -> Any:
    def place_of(loc: KeyPath) -> tuple[Place, str]:
        full = (*path, *loc)
        return document.place(full), document.shown(full)

    return place_of


def _named(name: str, key: KeyPath, path: Path, document: Document, shelf: _Shelf) -> Pack | None:
    """Another pack that a pack names; one that supplements itself, or that recognises itself, is a problem."""
    if not name:
        return None
    other, supplements = path.parent / name, key == ("supplements",)
    if other.resolve() in (path.resolve(), *(shelf.open_files if supplements else ())):
        place, what = document.place(key), "packs that name each other in a circle:"
        shelf.problems.add("RUL009", place, document.shown(key), name, what, "take one of them out")
        return None
    before = (*shelf.open_files, path.resolve()) if supplements else ()
    return _read(other, replace(shelf, open_files=before, inside=True))


def _together(base: Sequence[Rule], own: Sequence[Rule], prevails: str) -> tuple[Rule, ...]:
    """The clauses of a base and its supplement: at the place of the base's where both have one.

    Of one id there may be several on either side, of which each but the last has ended.
    """
    ours = {rule.id: [one for one in own if one.id == rule.id] for rule in base}
    found: dict[str, Sequence[Rule]] = {}
    for rule in base:
        prevailing = ours[rule.id] if prevails == "supplement" else ()
        found[rule.id] = prevailing or (*found.get(rule.id, ()), rule)
    return (*(rule for rules in found.values() for rule in rules), *(rule for rule in own if rule.id not in ours))


def unused_changes(changes: Iterable[Change], packs: Iterable[Pack], names: Iterable[str]) -> Iterator[Problem]:
    """A problem for each change whose baseline is none of some packs, which were named so, nor of what they rest on."""
    there, files = [Path(name).name for name in names], {change.file for pack in packs for change in _worked_in(pack)}
    for change in changes:
        name = change.header.baseline
        if change.file not in files and name not in there:
            place, what = change.document.place(("baseline",)), "a change over a pack that is not there:"
            yield Problem("RUL010", place, "baseline", name, what, nearest(name, there))


def _worked_in(pack: Pack) -> Iterator[Change]:
    yield from pack.changes
    for other in pack.recognised:
        yield from _worked_in(other)


def _with_recognised(pack: Pack, path: Path, document: Document, shelf: _Shelf) -> Pack:
    """The pack with those that count in place of it; two may recognise each other."""
    if shelf.inside:
        return pack
    rows, faults = read_parts(document, "recognises", Recognition)
    shelf.problems.extend(faults)
    known = {rule.id for rule in pack.rules}
    items = range(len(document.values.get("recognises", ())) if rows else 0)
    paths: dict[Place, KeyPath] = {document.place(("recognises", item)): ("recognises", item) for item in items}
    for row in rows:
        key = (*paths[row.place], "still")
        for word in row.still:
            if word not in known:
                what, advice = "no clause of this pack:", nearest(word, known)
                shelf.problems.add("RUL007", document.place(key), document.shown(key), word, what, advice)
    found = [(row, _named(row.pack, (*paths[row.place], "pack"), path, document, shelf)) for row in rows]
    there = [(row, other) for row, other in found if other is not None]
    return replace(
        pack,
        recognised=tuple(other for _, other in there),
        still=tuple((other.file, row.still) for row, other in there),
    )
