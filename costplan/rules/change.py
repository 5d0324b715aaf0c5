"""A change of a rule pack: a small file over a named baseline, worked into the pack as written, and taken back.

It is worked in before any clause is read, so that a clause of a change is checked like one of the pack, and told at its
own place.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import date
from pathlib import Path
from typing import Any, TypeAlias

from pydantic import BaseModel, ConfigDict, Field, ValidationError

from costplan.problems import Place, Problem, Problems, nearest
from costplan.reading import Document, Record, Setting, read_head, read_parts, read_toml
from costplan.reading.fields import Count, Day, Name, Text, Words, YesNo
from costplan.reading.records import validate
from costplan.rules.clause import ALWAYS, Phase
from costplan.rules.entries import Entry, entries_of
from costplan.rules.evidence import PartList

#: The keys of a pack's header that a change may give anew; the others are tables, or say which files are read.
HEADER_KEYS = (
    "name",
    "edition",
    "date",
    "default",
    "tolerance",
    "rounding",
    "ties",
    "gauges",
    "prevails",
    "invented",
)
#: The keys by which a file is known as a change.
MARKS = frozenset({"baseline", "withdraw", "replace", "add"})

#: What stands for a needed name that is missing or at fault.
UNKNOWN = "?"

#: What tells the editions of lists apart: the list, and the first day.
EditionKey: TypeAlias = tuple[str, date | None]


class ChangeHeader(Record):
    """change-*.toml

    A clause that is replaced or withdrawn stays in force until the change takes effect, by `effective`, `from_round` or
    the later of both; where neither is given it is gone at once. "Until it is worn out" is no date: it is
    `kept = {...}` on the new clause, which lets the older parts stay, with or without a last day.
    """

    name: Name = Field(description="what the change is called")
    author: Text = Field(default="", description="who proposes it or has made it")
    source: Text = Field(default="", description="where it is published: bulletin, minutes, letter")
    date: Day | None = Field(default=None, description="day it is dated")
    baseline: Name = Field(description="file name of the rule pack that it changes")
    edition: Text = Field(default="", description="edition of that pack that it was written for; any where empty")
    reason: Text = Field(default="", description="why, in the author's words")
    effective: Day | None = Field(
        default=None,
        description="first day of every clause in it that gives no day or round itself; at once if neither",
    )
    from_round: Count | None = Field(
        default=None, description="first round of the season of every clause in it that gives none itself"
    )
    invented: YesNo = Field(default=False, description="whether it is made up, as in a demo")
    withdraw: Words = Field(default=(), description="clauses of the pack that fall away")
    header: dict[str, Any] = Field(
        default={}, description=f"new values for keys at the top of the pack: {', '.join(HEADER_KEYS)}"
    )
    replace: tuple[Any, ...] = Field(
        default=(),
        description="clauses that take the place of those of the same id, each a whole table [[replace]] with the keys "
        "of a [[rule]]; older parts stay until they are worn out by kept = {bought_before = ..., until = ...}",
    )
    add: tuple[Any, ...] = Field(
        default=(), description="new clauses, each a table [[add]] with the keys of a [[rule]]"
    )
    list: tuple[Any, ...] = Field(
        default=(), description="new editions of lists, each a table [[list]]; since is the change's day where empty"
    )

    @property
    def phase(self) -> Phase:
        """From when it holds."""
        return Phase(self.effective, self.from_round)


class Addition(Record):
    """[[add]] of a change: what it has beside the keys of a [[rule]]"""

    after: Text | None = Field(
        default=None, description='clause that it stands behind; "" puts it first; last where not given'
    )


class _Dates(BaseModel):
    """What of a clause must be known before it is read, and is read again with it."""

    model_config = ConfigDict(frozen=True)
    effective: Day | None = None
    from_round: Count | None = None
    frozen_until: Day | None = None


@dataclass(frozen=True, slots=True)
class Withdrawn:
    """A clause that falls away, and where that is written."""

    id: str
    place: Place


@dataclass(frozen=True, slots=True)
class Added:
    """A new clause, and the one that it stands behind: '' puts it first, None last."""

    entry: Entry
    after: str | None = None


@dataclass(frozen=True, slots=True)
class Change:
    """A change as read. `head` holds the new values of the pack's header, as if they stood at the top of a file.

    The last three are what only a change that is taken back needs: keys of the header and editions of lists that were
    not there before, and that it touches clauses whatever their dates and freezes say.
    """

    header: ChangeHeader
    document: Document
    withdrawn: tuple[Withdrawn, ...] = ()
    replaced: tuple[Entry, ...] = ()
    added: tuple[Added, ...] = ()
    lists: tuple[PartList, ...] = ()
    head: Document = field(default_factory=lambda: Document("", "", {}, {}))
    unset: tuple[str, ...] = ()
    unlisted: tuple[EditionKey, ...] = ()
    undoes: bool = False

    @property
    def file(self) -> str:
        return self.document.file


@dataclass(frozen=True, slots=True)
class Written:
    """A rule pack as written: the document of its header, its lists, its clauses.

    `edition`: as its own file has it; `touched`: the clauses that changes have replaced, withdrawn or added, and where.
    """

    document: Document
    lists: tuple[PartList, ...] = ()
    entries: tuple[Entry, ...] = ()
    edition: str = ""
    touched: Mapping[str, Place] = field(default_factory=dict)


def written_of(document: Document, lists: Iterable[PartList]) -> Written:
    """A pack as its file has it."""
    edition = str(document.values.get("edition", ""))
    return Written(document, tuple(lists), tuple(entries_of(document, "rule")), edition)


def is_change(path: Path) -> bool:
    """Whether a file is a change and no pack: by its keys, or by its name where it cannot be read."""
    document, _ = read_toml(path, path.stem)
    return path.name.startswith("change-") if document is None else bool(MARKS & document.values.keys())


def read_change(path: Path, settings: tuple[Setting, ...] = ()) -> tuple[Change | None, tuple[Problem, ...]]:
    """The change in a TOML file. What of it does not suit its baseline shows when it is worked in."""
    document, faults = read_toml(path, path.stem, settings)
    problems = Problems(list(faults))
    if document is None:
        return None, faults
    header, faults = read_head(document, ChangeHeader, name=UNKNOWN, baseline=UNKNOWN)
    problems.extend(faults)
    if header is None:
        return None, tuple(problems.found)
    change = Change(
        header,
        document,
        tuple(Withdrawn(name, document.place(("withdraw", at))) for at, name in enumerate(header.withdraw)),
        tuple(replace(entry, phase=header.phase) for entry in entries_of(document, "replace")),
        _read_additions(document, header, problems),
        _read_lists(document, header, problems),
        _read_head_of_pack(document, header, problems),
    )
    return change, tuple(problems.found)


def _read_additions(document: Document, header: ChangeHeader, problems: Problems) -> tuple[Added, ...]:
    """The clauses added, the key that says where they stand taken off."""
    rows = header.add
    bare = [{key: row[key] for key in row if key != "after"} if isinstance(row, dict) else row for row in rows]
    without = replace(document, values={**document.values, "add": bare})
    return tuple(
        Added(replace(entry, phase=header.phase), _after(document, row, entry, problems))
        for entry, row in zip(entries_of(without, "add"), rows, strict=True)
    )


def _after(document: Document, row: Any, entry: Entry, problems: Problems) -> str | None:
    """The clause that a new one stands behind."""
    own = {"after": row["after"]} if isinstance(row, dict) and "after" in row else {}
    path = (*entry.path, "after")
    found, faults = validate(Addition, own, lambda _: (document.place(path), document.shown(path)), {})
    problems.extend(faults)
    return " ".join(found.after.split()) if found is not None and found.after is not None else None


def _read_lists(document: Document, header: ChangeHeader, problems: Problems) -> tuple[PartList, ...]:
    """The new editions of lists, from the change's day where they give none."""
    rows, faults = read_parts(document, "list", PartList)
    problems.extend(faults)
    found: dict[EditionKey, PartList] = {}
    for row in rows:
        if row.since is None and header.from_round is not None:
            advice = "give its first day; a list does not begin with a round"
            problems.add("REA016", row.place, "since", "", f"list {row.list} from a round on, without a day", advice)
        dated = row.model_copy(update={"since": row.since or header.effective})
        first = found.setdefault(_key(dated), dated)
        if first is not dated:
            advice = f"keep one; the first is in {first.place}"
            problems.add("REA023", row.place, "list", row.list, "a second edition from the same day of", advice)
    return tuple(found.values())


def _key(row: PartList) -> EditionKey:
    return row.list, row.since


def _read_head_of_pack(document: Document, header: ChangeHeader, problems: Problems) -> Document:
    """The table [header] as if its keys stood at the top of a file, with their places."""
    for key in header.header:
        if key not in HEADER_KEYS:
            path, advice = ("header", key), nearest(key, HEADER_KEYS)
            problems.add("REA015", document.place(path), document.shown(path), "", "a key that no change gives", advice)
    values = {key: value for key, value in header.header.items() if key in HEADER_KEYS}
    places = {path[1:]: place for path, place in document.places.items() if path[0] == "header" and len(path) > 1}
    return _of_keys(replace(document, values=values, places=places), values)


def _of_keys(document: Document, keys: Iterable[str]) -> Document:
    """A document's top keys, some of them."""
    wanted = [key for key in keys if key in document.values]
    places = {path: place for path, place in document.places.items() if path[0] in wanted}
    return replace(document, values={key: document.values[key] for key in wanted}, places=places)


def apply_change(written: Written, change: Change, problems: Problems) -> Written:
    """A pack with a change worked in; what of the change does not suit the pack is a problem and left out.

    New clauses go in first, so that one may stand behind a clause that the same change withdraws.
    """
    sound = change if change.undoes else _sound(written, change, problems)
    entries = list(written.entries)
    for one in sound.added:
        entries.insert(_behind(entries, one.after), one.entry)
    return Written(
        _with_head(written.document, sound),
        _with_lists(written.lists, sound),
        tuple(_exchanged(entries, sound)),
        written.edition,
        _touched(written, sound),
    )


def _behind(entries: Sequence[Entry], after: str | None) -> int:
    """Where a clause is put in: behind the last of an id, '' first, None last."""
    places = [index for index, entry in enumerate(entries) if id_of(entry) == after]
    return len(entries) if after is None else places[-1] + 1 if places else 0


def _exchanged(entries: Iterable[Entry], change: Change) -> Iterator[Entry]:
    """Clauses without those withdrawn, and with others in the place of those replaced; both stay as long as need be."""
    gone, new = {one.id for one in change.withdrawn}, {id_of(entry): entry for entry in change.replaced}
    waiting = dict(new)
    for entry in entries:
        name = id_of(entry)
        other = waiting.pop(name, None)
        if other is not None:
            yield from _until(entry, _start(other, change))
            yield other
        elif name in gone:
            yield from _until(entry, change.header.phase)
        elif name not in new:
            yield entry
    yield from waiting.values()


def _until(entry: Entry, phase: Phase) -> Iterator[Entry]:
    """A clause for as long as it stays."""
    if phase != ALWAYS:
        yield replace(entry, ended=phase)


def _start(entry: Entry, change: Change) -> Phase:
    """From when a clause of a change takes another's place."""
    own = _dates(entry)
    given = Phase(own.effective, own.from_round)
    return ALWAYS if change.undoes else given if given != ALWAYS else entry.phase


def _dates(entry: Entry) -> _Dates:
    """The dates of a clause; none while one of them is at fault, which is told when the clause is read."""
    try:
        return _Dates.model_validate({key: entry.values[key] for key in _Dates.model_fields if key in entry.values})
    except ValidationError:
        return _Dates()


def id_of(entry: Entry) -> str:
    """A clause's id as it will be read: blanks count once."""
    return " ".join(entry.id.split())


def _with_head(document: Document, change: Change) -> Document:
    """A pack's document with new values for keys of its header."""
    given = change.head.values
    kept = _of_keys(document, [key for key in document.values if key not in given and key not in change.unset])
    return replace(document, values={**kept.values, **given}, places={**kept.places, **change.head.places})


def _with_lists(lists: Iterable[PartList], change: Change) -> tuple[PartList, ...]:
    """Lists with new editions: one from the same day as another takes its place, else it stands behind them all."""
    found = [row for row in lists if _key(row) not in change.unlisted]
    for new in change.lists:
        at = next((index for index, row in enumerate(found) if _key(row) == _key(new)), len(found))
        found[at : at + 1] = [new]
    return tuple(found)


def _touched(written: Written, change: Change) -> dict[str, Place]:
    """The clauses that changes have touched, once one more is worked in or taken back."""
    own = dict(_touches(change))
    own |= {id_of(one.entry): _place(one.entry) for one in change.added if id_of(one.entry)}
    if not change.undoes:
        return {**written.touched, **own}
    return {name: place for name, place in written.touched.items() if name not in own}


def _touches(change: Change) -> Iterator[tuple[str, Place]]:
    """The clauses of the pack that a change replaces or withdraws, and where it says so."""
    yield from ((id_of(entry), _place(entry)) for entry in change.replaced if id_of(entry))
    yield from ((one.id, one.place) for one in change.withdrawn)


def _place(entry: Entry) -> Place:
    return entry.document.place((*entry.path, "id"))


def _sound(written: Written, change: Change, problems: Problems) -> Change:
    """What of a change suits a pack, with a problem for all else.

    A replacement of nothing stays, so that what else is wrong with it is told as well.
    """
    _check_edition(written, change, problems)
    found = _Clauses(written, change, problems, dict(written.touched), [id_of(entry) for entry in written.entries])
    return replace(
        change,
        replaced=tuple(entry for entry in change.replaced if found.may_replace(entry)),
        withdrawn=tuple(one for one in change.withdrawn if found.may_withdraw(one)),
        added=tuple(one for added in change.added for one in found.placed(added)),
        lists=tuple(row for row in change.lists if _may_list(row, written, problems)),
    )


def _check_edition(written: Written, change: Change, problems: Problems) -> None:
    """A change was written for the edition of the pack's file, or for the one that changes before it have made."""
    wanted, now = change.header.edition, str(written.document.values.get("edition", ""))
    if wanted and wanted not in (written.edition, now):
        place, what = change.document.place(("edition",)), "written for another edition of its baseline:"
        advice = f"the pack is of {now or 'no edition'}; see whether the change still suits it, then say so"
        problems.add("RUL011", place, "edition", wanted, what, advice)


def _may_list(row: PartList, written: Written, problems: Problems) -> bool:
    """Whether an edition says when it begins, where others of its list do."""
    if row.since is not None or all(one.since is None for one in written.lists if one.list == row.list):
        return True
    advice = "give its first day, or the change a day on which it takes effect"
    problems.add(
        "REA016", row.place, "since", "", f"an edition without a day, of a list with dated ones: {row.list}", advice
    )
    return False


@dataclass(slots=True)
class _Clauses:
    """One way through the clauses of a change: which of the pack's are known, and which were touched already."""

    written: Written
    change: Change
    problems: Problems
    touched: dict[str, Place]
    known: list[str]

    def may_replace(self, entry: Entry) -> bool:
        """Whether a clause may take the place of the one of its id; one without an id is told when it is read."""
        name = id_of(entry)
        if not name:
            return True
        path = (*entry.path, "id")
        own = _start(entry, self.change).effective
        return self._may_touch(name, _place(entry), entry.document.shown(path), own, unknown=True)

    def may_withdraw(self, one: Withdrawn) -> bool:
        return self._may_touch(one.id, one.place, "withdraw", self.change.header.effective, unknown=False)

    def _may_touch(self, name: str, place: Place, key: str, day: date | None, *, unknown: bool) -> bool:
        """Whether a clause is touched by nothing else; its freeze is told. `unknown`: the answer if it is not there."""
        if self._is_touched(name, place, key):
            return False
        if name not in self.known:
            advice = nearest(name, self.known)
            self.problems.add("RUL007", place, key, name, "no clause of the baseline:", advice)
            return unknown
        self._check_freeze(name, place, key, day or self.change.header.date)
        return True

    def _is_touched(self, name: str, place: Place, key: str) -> bool:
        """Whether a clause was touched before; if not, it is now."""
        if name not in self.touched:
            self.touched[name] = place
            return False
        advice = f"change it in one place; the other is {self.touched[name]}"
        self.problems.add("RUL013", place, key, name, "a clause that is changed twice:", advice)
        return True

    def _check_freeze(self, name: str, place: Place, key: str, day: date | None) -> None:
        until = next(_dates(entry).frozen_until for entry in self.written.entries if id_of(entry) == name)
        if until is not None and (day is None or day < until):
            when = f"it takes effect on {day}" if day else "it does not say from when it holds"
            what, advice = f"a clause that is frozen until {until}:", f"let it be effective from then on; {when}"
            self.problems.add("RUL012", place, key, name, what, advice)

    def placed(self, added: Added) -> Iterator[Added]:
        """A new clause; nothing where its id is taken, so that it is not told again as the second of its name."""
        name, entry = id_of(added.entry), added.entry
        place, key = _place(entry), entry.document.shown((*entry.path, "id"))
        if name in self.known and name not in self.touched:
            first = next(_place(one) for one in self.written.entries if id_of(one) == name)
            advice = f"give another name, or replace it; the first is in {first}"
            self.problems.add("REA023", place, key, name, "a clause that is there already:", advice)
        elif not name or not self._is_touched(name, place, key):
            after = self._known_after(added)
            self.known.append(name)
            yield replace(added, after=after)

    def _known_after(self, added: Added) -> str | None:
        """What a new clause stands behind; nothing where it is unknown."""
        if not added.after or added.after in self.known:
            return added.after
        document, path = added.entry.document, (*added.entry.path, "after")
        place, advice = document.place(path), nearest(added.after, self.known)
        self.problems.add("RUL007", place, document.shown(path), added.after, "no clause to stand behind:", advice)
        return None


def reversed_change(change: Change, baseline: Written) -> Change:
    """The change that takes a change back: worked in after it, it gives its baseline back, whatever dates both have."""
    at_once = change.header.phase == ALWAYS
    touched = {name for name, _ in _touches(change)}
    lost = {one.id for one in change.withdrawn if at_once}
    there = {_key(row): row for row in reversed(baseline.lists)}
    new_keys = change.head.values
    return replace(
        change,
        header=change.header.model_copy(
            update={"name": f"{change.header.name}, taken back", "effective": None, "from_round": None}
        ),
        withdrawn=tuple(Withdrawn(id_of(one.entry), _place(one.entry)) for one in change.added),
        replaced=tuple(entry for entry in baseline.entries if id_of(entry) in touched - lost),
        added=tuple(_put_back(baseline.entries, lost)),
        lists=tuple(there[_key(row)] for row in change.lists if _key(row) in there),
        head=_of_keys(baseline.document, new_keys),
        unset=tuple(key for key in new_keys if key not in baseline.document.values),
        unlisted=tuple(_key(row) for row in change.lists if _key(row) not in there),
        undoes=True,
    )


def _put_back(entries: Sequence[Entry], lost: Iterable[str]) -> Iterator[Added]:
    """The clauses that are gone, each behind the one that it stood behind."""
    for index, entry in enumerate(entries):
        if id_of(entry) in lost:
            yield Added(entry, id_of(entries[index - 1]) if index else "")
