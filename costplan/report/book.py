"""Rule books as one reads them, and the doubts of lint: clauses in plain words, as data and as pages."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from types import MappingProxyType
from typing import Any

from costplan.problems import Place
from costplan.report.tables import Page, Passage, listed, number, percent, plural
from costplan.rules import KINDS, Condition, Pack, PartList, Rule
from costplan.rules.book import (
    BarredWork,
    Charge,
    Clause,
    DatedPart,
    EngineCap,
    LevelCap,
    ListedShops,
    PieceCap,
)
from costplan.rules.evidence import edition_on
from costplan.rules.kinds import Limit, Option, Papers, Parts, proofs_of
from costplan.rules.kinds.common import either
from costplan.rules.kinds.stated import Conduct, Seen
from costplan.rules.lint import CHECKS, Doubt, Linted

#: What stands before the words of a kind, so that they read as a sentence.
LEADS = MappingProxyType(
    {
        "parts": "Parts in ",
        "word": "Attribute ",
        "limit": "Limit on ",
        "option": "Parts in ",
        "choice": "The choice under ",
        "work": "Work on ",
        "paper": "Paper: ",
        "charge": "To pay: ",
    }
)
#: How each bond holds the season.
BINDS: MappingProxyType[type[Any], str] = MappingProxyType(
    {
        LevelCap: "caps openings",
        EngineCap: "caps engines",
        PieceCap: "caps pieces",
        Charge: "fee",
        BarredWork: "bars shop work",
        DatedPart: "renews a part by its date",
        ListedShops: "listed shops only",
    }
)
SEEN = MappingProxyType(
    {"papers": "among the papers", "running": "while it runs", "outside": "from outside", "opened": "once opened"}
)
COMPARED = MappingProxyType(
    {
        "absolute": "as they were found, unrounded (absolute method of ASTM E29)",
        "rounded": "rounded to the last place of the limit (ASTM E29)",
    }
)
TIES = MappingProxyType({"even": ", a tie to the even digit", "away": ", a tie away from zero"})
INSPECTED = ("Officials and their gauges decide, from the printed book in force that day.",)


@dataclass(frozen=True, slots=True)
class ClauseText:
    """One clause in plain words.

    `checked`: what is checked, '' where only `says` tells; `where` and `unless`: its conditions; `holds`: from when
    until when it is in force, '' where always, as `since` and `until` say, the first and the last day; `kept`: which
    older parts stay; `shown_by`: its proofs; `binds`: how it holds the season. `in_force`: on the day asked about, None
    where none is.
    """

    id: str
    kind: str
    chapter: str
    page: str
    severity: str
    says: str
    checked: str
    where: tuple[str, ...]
    unless: tuple[str, ...]
    since: date | None
    until: date | None
    from_round: int | None
    holds: str
    frozen_until: date | None
    kept: str
    shown_by: tuple[str, ...]
    tool: str
    minutes: float
    stage: str
    pays: str
    risk: float | None
    penalty: str
    binds: tuple[str, ...]
    in_force: bool | None
    place: Place


@dataclass(frozen=True, slots=True)
class EditionText:
    """One edition of a list of parts; `in_force`: on the day asked about, None where none is."""

    list: str
    edition: str
    since: date | None
    until: date | None
    parts: tuple[str, ...]
    in_force: bool | None
    place: Place


@dataclass(frozen=True, slots=True)
class BookText:
    """A pack in plain words: how it counts, its clauses, and its lists.

    `recognises`: the packs that count in its place, each with the clauses of this one that are asked all the same.
    """

    pack: str
    name: str
    edition: str
    date: date | None
    file: str
    invented: bool
    default: str
    tolerance: str
    compared: str
    gauges: tuple[str, ...]
    supplements: str
    prevails: str
    recognises: tuple[tuple[str, tuple[str, ...]], ...]
    clauses: tuple[ClauseText, ...]
    lists: tuple[EditionText, ...]

    @property
    def chapters(self) -> tuple[str, ...]:
        """In the order in which they are first mentioned."""
        return tuple(dict.fromkeys(clause.chapter for clause in self.clauses))


def book_text(pack: Pack, rounds: tuple[date, ...] = (), on: date | None = None) -> BookText:
    """A pack in plain words; `rounds`: the days of the season's rounds, `on`: the day asked about."""
    header = pack.header
    return BookText(
        pack.stem,
        header.name,
        header.edition,
        header.date,
        pack.file,
        header.invented,
        header.default,
        header.tolerance,
        COMPARED[header.rounding] + (TIES[header.ties] if header.rounding == "rounded" else ""),
        header.gauges,
        header.supplements,
        header.prevails,
        tuple((other.header.name, pack.still_asked(other)) for other in pack.recognised),
        tuple(clause_text(rule, rounds, on) for rule in pack.rules),
        tuple(_edition_text(row, pack.lists, on) for row in pack.lists),
    )


def clause_text(rule: Rule, rounds: tuple[date, ...] = (), on: date | None = None) -> ClauseText:
    """A clause in plain words."""
    heading = rule.heading
    return ClauseText(
        rule.id,
        rule.kind,
        heading.book,
        heading.page,
        heading.severity,
        heading.says,
        _checked(rule),
        _conditions(rule.when),
        _conditions(rule.unless),
        *_span(rule, rounds),
        heading.from_round,
        _holds(rule, rounds),
        heading.frozen_until,
        heading.kept.words if heading.kept else "",
        _proofs(rule),
        heading.tool,
        heading.minutes,
        heading.stage,
        heading.pays,
        heading.risk,
        heading.penalty,
        _binds(rule),
        None if on is None else rule.holds_on(on, rounds),
        rule.place,
    )


def _edition_text(row: PartList, rows: Iterable[PartList], on: date | None) -> EditionText:
    in_force = None if on is None else edition_on((one for one in rows if one.list == row.list), on) is row
    return EditionText(row.list, row.edition, row.since, row.until, row.parts, in_force, row.place)


def sentence(words: str) -> str:
    """With a capital in front and a point behind.

    >>> sentence("at most 2 engines in a season")
    'At most 2 engines in a season.'
    """
    return f"{words[:1].upper()}{words[1:].rstrip('.')}."


def _checked(rule: Rule) -> str:
    """What is checked, in plain words; '' where the clause's own words say it all."""
    test = rule.test
    if isinstance(test, Seen | Conduct) and not test.slot:
        return ""
    words = sentence(f"{LEADS.get(rule.kind, '')}{KINDS[rule.kind].words(test)}")
    if not isinstance(test, Option):
        return words
    choices = "; ".join(f"{name}: {either(parts) or 'no part'}" for name, parts in test.choices.items())
    return f"{words} {choices}.{f' Declared by {test.declared}.' if test.declared else ''}"


def _span(rule: Rule, rounds: tuple[date, ...]) -> tuple[date | None, date | None]:
    """The first and the last day, those at the end of all days left out."""
    since, until = rule.since(rounds), rule.last(rounds)
    return None if since == date.max else since, None if until == date.min else until


def _holds(rule: Rule, rounds: tuple[date, ...]) -> str:
    """From when until when a clause is in force, in words; '' where always. Without a calendar rounds have no days."""
    (since, until), turn = _span(rule, rounds), rule.heading.from_round
    if rule.last(rounds) == date.min:
        return "no longer in force"
    if turn and rounds and turn > len(rounds):
        return f"never in force: the calendar lacks round {turn}"
    words = [f"from {since}"] if since else []
    words += [f"(round {turn} on)" if since else f"from round {turn}"] if turn else []
    words += [f"until {until}"] if until else []
    return f"in force {' '.join(words)}" if words else ""


def _conditions(rows: Iterable[Condition]) -> tuple[str, ...]:
    return tuple(KINDS[one.kind].words(one.test) for one in rows)


def _proofs(rule: Rule) -> tuple[str, ...]:
    """What shows a clause: its proofs, else its kind's, else a reading, the paper that it asks for, or the list."""
    heading, test = rule.heading, rule.test
    named = {"document": f"document ({heading.document})"} if heading.document else {}
    itself = "a reading" if isinstance(test, Limit) and test.reads else "the paper" if isinstance(test, Papers) else ""
    proofs = proofs_of(rule) or (itself or "parts list",)
    mark = isinstance(test, Parts) and test.mark
    return (*(named.get(word, word) for word in proofs), *(("inspection of the mark",) if mark else ()))


def _binds(rule: Rule) -> tuple[str, ...]:
    """How a clause holds the season; advice does not."""
    if rule.heading.severity != "must":
        return ()
    bonds = KINDS[rule.kind].bonds(rule.test, Clause("", rule.id, rule.heading.says, rule.place))
    return tuple(dict.fromkeys(BINDS[type(bond)] for bond in bonds))


def show_page(books: Sequence[BookText], title: str, invented: bool, on: date | None = None) -> Page:
    """Rule books to be read: how each counts, then its clauses by chapter, then its lists."""
    none = () if books else ("The scenario names no rule pack.",)
    passages = tuple(passage for book in books for passage in _book_passages(book, on))
    foot = INSPECTED if books else ()
    return Page(f"{title} (invented data)" if invented else title, none, (), foot, passages)


def _book_passages(book: BookText, on: date | None) -> Iterable[Passage]:
    lines = tuple((0, line) for line in (*_counts(book), *_idle(book, on)))
    yield Passage(f"{book.name} (invented)" if book.invented else book.name, lines)
    for chapter in book.chapters:
        yield Passage(chapter.upper() or "WITHOUT A CHAPTER")
        yield from (_clause_passage(one, on) for one in book.clauses if one.chapter == chapter)
    if book.lists:
        yield Passage("LISTS", tuple(line for row in book.lists for line in _list_lines(row, on)))


def _counts(book: BookText) -> Iterable[str]:
    """What a reader must know before the first clause."""
    edition = f"Edition {book.edition}" if book.edition else "No edition"
    yield f"{edition}{f', of {book.date}' if book.date else ''}; {book.file}"
    yield f"{plural(len(book.clauses), 'clause')} in {plural(len(book.chapters), 'chapter')}."
    yield f"What is not written is {'forbidden' if book.default == 'forbid' else 'allowed'}."
    if book.tolerance:
        yield f"Tolerance: {book.tolerance}"
    yield f"Values are compared {book.compared}."
    yield f"Measurements and inspections count as proof if made by {either(book.gauges) or 'anybody'}."
    if book.supplements:
        whose = "this book's" if book.prevails == "supplement" else "that book's"
        yield f"It adds to {book.supplements}; where both have a clause of one name, {whose} holds."
    for name, still in book.recognises:
        asked = f"; asked all the same: {listed(still)}" if still else ""
        yield f"An engine that meets {name} counts in its place{asked}."


def _idle(book: BookText, on: date | None) -> Iterable[str]:
    """The clauses that are not in force on the day asked about."""
    idle = [clause.id for clause in book.clauses if clause.in_force is False]
    if on is not None:
        yield f"Not in force on {on}{', and marked' if idle else ''}: {listed(idle) or 'no clause'}."


def _marked(in_force: bool | None, on: date | None) -> str:
    return f" -- NOT IN FORCE on {on}" if in_force is False else ""


def _clause_passage(clause: ClauseText, on: date | None) -> Passage:
    page = f", page {clause.page}" if clause.page else ""
    title = f"{clause.id}{page}{_marked(clause.in_force, on)}"
    return Passage(title, ((1, clause.says), *((2, line) for line in _clause_lines(clause))))


def _clause_lines(clause: ClauseText) -> Iterable[str]:
    """What is known of a clause beside what it says."""
    lines = (
        clause.checked,
        clause.where and sentence(f"only where {'; and '.join(clause.where)}"),
        clause.unless and sentence(f"not where {'; or '.join(clause.unless)}"),
        clause.holds and sentence(clause.holds),
        clause.frozen_until and f"No change may touch it before {clause.frozen_until}.",
        clause.kept and sentence(f"older parts that stay: {clause.kept}"),
        sentence("; ".join(_shown(clause))),
        clause.pays and sentence(f"opening for it is paid by {clause.pays}"),
        "Advice: breaking it does not count." if clause.severity == "should" else "",
        clause.penalty and sentence(f"penalty: {clause.penalty}"),
        clause.binds and sentence(f"binds the season: {listed(clause.binds)}"),
    )
    return (line for line in lines if line)


def _shown(clause: ClauseText) -> Iterable[str]:
    """How a clause is shown, with what, in how long, and when."""
    yield f"shown by {' and '.join(clause.shown_by)}"
    if clause.tool:
        yield f"with {clause.tool}"
    if clause.minutes:
        yield f"{number(clause.minutes)} min"
    if clause.stage:
        yield SEEN[clause.stage]
    if clause.risk is not None:
        yield f"stated risk {percent(clause.risk)}"


def _list_lines(row: EditionText, on: date | None) -> Iterable[tuple[int, str]]:
    edition = f", edition {row.edition}" if row.edition else ""
    days = f"{f', from {row.since}' if row.since else ''}{f', until {row.until}' if row.until else ''}"
    yield 0, f"{row.list}{edition}{days}{_marked(row.in_force, on)}"
    yield 1, listed(row.parts)


def lint_page(packs: Sequence[Linted], title: str, invented: bool) -> Page:
    """The doubts about packs: what is wrong first, then hints, each with what to do."""
    passages = tuple(passage for pack in packs for passage in _lint_passages(pack))
    none = () if packs else ("The scenario names no rule pack.",)
    about = ("Wrong: a clause cannot do what it says. Hint: its author may have meant something else.",)
    return Page(f"{title} (invented data)" if invented else title, none or about, (), (), passages)


def _lint_passages(pack: Linted) -> Iterable[Passage]:
    found = f"{pack.wrong} wrong, {plural(pack.hints, 'hint')}" if pack.doubts else f"no doubts by {len(CHECKS)} checks"
    yield Passage(f"{pack.name} ({pack.file}): {plural(pack.clauses, 'clause')}, {found}")
    for severity in ("wrong", "hint"):
        lines = [line for doubt in pack.doubts if doubt.severity == severity for line in _doubt_lines(doubt)]
        if lines:
            yield Passage("Wrong" if severity == "wrong" else "Hints", tuple(lines))


def _doubt_lines(doubt: Doubt) -> Iterable[tuple[int, str]]:
    against = f" against {doubt.against}" if doubt.against else ""
    yield 0, f"{doubt.rule or 'The whole book'}{against}: {doubt.code.replace('-', ' ')} ({doubt.place})"
    yield 1, doubt.what
    yield 1, f"Advice: {doubt.advice}"
