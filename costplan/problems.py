"""A user's mistake is a value: a `Problem` says where it is, what was written and what to write instead.

Readers return what they could read together with all their problems; a command prints them all, in the order of the
files, and ends with exit status 2. A bug is an exception and is never caught here.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from types import MappingProxyType

#: Every code a reader may give, with what it means. Codes are stable: they may be added, never re-used.
CODES = MappingProxyType(
    {
        "REA001": "a file or folder that is named does not exist",
        "REA002": "a folder stands where a file is needed, or a file where a folder is",
        "REA003": "a file is empty",
        "REA004": "a file is not text",
        "REA005": "a file is not in UTF-8, or not in the encoding that a map names",
        "REA006": "the quotes of a CSV file do not close",
        "REA007": "a column stands twice in a header",
        "REA008": "a needed column is missing",
        "REA009": "a column is not known",
        "REA010": "a row has more cells than the header",
        "REA011": "a cell is too long",
        "REA012": "a cell holds a formula, or one of a workbook whose value was not saved",
        "REA013": "a TOML file breaks the rules of TOML (a key given twice, a quote left open)",
        "REA014": "a TOML file is laid out so that its values cannot be placed",
        "REA015": "a key is not known",
        "REA016": "a needed value is missing",
        "REA017": "a value is of the wrong kind",
        "REA018": "a number is out of its range",
        "REA019": "a date does not exist or is written in another form",
        "REA020": "a word is not among those allowed",
        "REA021": "a unit is missing, unknown or measures something else",
        "REA022": "a --set path leads nowhere",
        "REA023": "two rows have one name",
        "REA024": "a number can be read in two ways",
        "REA025": "a table is there twice, as CSV and as a workbook",
        "REA026": "a workbook cannot be read, or is in a form that is not read",
        "REA027": "a cell of a workbook shows an error",
        "REA028": "cells of a workbook are merged",
        "MON001": "a currency is not in ISO 4217",
        "MON002": "a currency has no exchange rate",
        "MON003": "prices with and without tax meet, and nothing says how the scenario counts",
        "MON004": "a price must be counted with or without tax, and its catalog gives no rate of tax",
        "CAT001": "two parts or kits have one name",
        "CAT002": "a role is not known",
        "CAT003": "a life or a service step names neither one part nor one role",
        "CAT004": "a life or a service step names a part that is in no catalog",
        "CAT005": "catalogs include each other in a circle",
        "CAT006": "two life rows speak of the same measure of the same part or role",
        "CAT007": "nothing gives the price of a part or kit",
        "CAT008": "a price is of a part or kit that is in no catalog",
        "CAT009": "two rows give one price, or two lines one content of a kit",
        "CAT010": "a kit is unknown, empty, or holds an unknown part",
        "CAT011": "a service step names an operation that is unknown or done to another role",
        "CAT012": "the steps of a path do not run 1, 2, 3",
        "MAP001": "columns-map.toml names a heading that its sheet does not have",
        "MAP002": "columns-map.toml speaks of a column that nothing in the sheet gives",
        "MAP003": "the marks and words of numbers in columns-map.toml cannot be told from digits or each other",
        "MAP004": "columns-map.toml names a heading and leaves it out",
        "MAP005": "a sheet ends before the line of its headings",
        "CAT013": "a service step puts in a part that is unknown or of a role that it does not renew",
        "CAT014": "a row of flow or of a lift curve is of a part that is in no catalog",
        "CAT015": "the rows of flow or of a lift curve of a part do not rise, or cannot be told apart",
        "CAT016": "the flow of one part is given at two test pressures",
        "CAT017": "a lift curve rises to something else than the lobe lift of its cam",
        "CAT018": "the flow of a part falls with lift by more than a third",
        "LIF001": "a life gives neither replace_at nor low and likely",
        "LIF002": "the figures of a life are not in rising order",
        "LIF003": "a life is given twice over: by low and likely, and by risk or shape",
        "LIF004": "a life has an rpm exponent without the rpm it is rated at, or the reverse",
        "BLD001": "a slot is not in the engine pattern",
        "BLD002": "a part is in no catalog",
        "BLD003": "a part does not have the role of its slot",
        "BLD004": "no part in the catalogs has the role of a slot",
        "BLD005": "a slot that must be filled is empty",
        "BLD006": "a measure's input leads to no slot or to no number",
        "BLD007": "a fit speaks of something that is neither a measure nor an attribute of a slot",
        "BLD008": "a fit compares what cannot be compared",
        "BLD009": "a slot has several rows that are not told apart as alternates",
        "BLD010": "not exactly one of a slot's alternates is the main one, or two serve one set-up",
        "BLD011": "an operation is in no catalog",
        "BLD012": "an operation is not for the role of its slot",
        "BLD013": "an operation takes more of a dimension than the part has",
        "BLD020": "a slot names a kit that is unknown or does not hold its part",
        "AIR001": "the airflow table names a slot twice or one that is not in the pattern",
        "AIR002": "the airflow table leads to an attribute that is unknown or of another kind",
        "DYN001": "a row of a dyno sheet is of an engine that the scenario does not name",
        "DYN002": "a row of a dyno sheet gives neither torque nor power, or both",
        "DYN003": "a row of a dyno sheet lacks the air that its correction needs, or gives it twice",
        "DYN004": "the rows of a dyno sheet are so far off the estimate that they calibrate nothing",
        "CHO001": "a choice has more combinations than can be valued one by one",
        "QUO001": "a labour rate is missing or unknown, or nothing says how a kind of line is taxed",
        "QUO002": "a rate of tax and its category contradict each other",
        "QUO003": "a row of work has no hours, price or cost, or half a condition",
        "QUO004": "a shop book is in another currency than the scenario",
        "QUO005": "a shop book or a request names something that is not there",
        "QUO006": "a request for a new engine speaks of a service, or the reverse",
        "QUO007": "a request is for an event after which nothing of the season is left",
        "QUO008": "a request gives a price for a line that the quote does not have",
        "QUO009": "a request is not there",
        "QUO010": "a revision is not there",
        "QUO013": "a scenario has no shop book",
        "QUO014": "work is asked for that the job does not take",
        "QUO015": "a request says two things of one slot",
        "QUO012": "a slot is out of reach of a service, or cannot be put right in the way that is named",
        "QUO011": "a saved revision was changed by hand, or is of another form",
        "JOB001": "a row of jobs.csv lacks what its word needs",
        "JOB002": "a row of jobs.csv has a cell that its word has no use for",
        "JOB003": "a job is accepted or agreed whose request is not there",
        "JOB004": "a customer signed a revision that is not saved",
        "JOB005": "a row of jobs.csv names work that neither work.csv nor a revision of the job has",
        "JOB006": "a row of jobs.csv names a slot that the engine does not have",
        "JOB007": "a row of jobs.csv uses a part that neither the catalogs nor a revision of the job have",
        "JOB008": "something happened to a job before what it comes after",
        "JOB009": "something that happens once to a job is told twice",
        "JOB010": "something happened to a job after its end",
        "JOB011": "a customer agreed to a revision that is no later one",
        "JOB012": "a deposit on an old piece is given back that was not charged, or more of it",
        "JOB013": "a customer signed a revision before it was quoted",
        "JOB014": "a customer signed a revision in another currency than the scenario's",
        "RUL001": "a rule is of an unknown kind",
        "RUL002": "a rule speaks of a slot that the engine pattern does not have",
        "RUL003": "a rule speaks of something that is neither a measure nor a slot's attribute, or not of its kind",
        "RUL004": "a rule asks nothing, or two things that cannot both be",
        "RUL005": "a rule names a list that its pack does not have",
        "RUL006": "a rule names a service level that the scenario does not have",
        "RUL007": "a rule, a change or a recognition names a clause that is not there or of another kind",
        "RUL008": "a rule names an operation that is in no catalog",
        "RUL009": "a pack supplements or recognises itself, or packs supplement each other in a circle",
        "RUL010": "a change is over a pack that is not there",
        "RUL011": "a change was written for another edition of its baseline",
        "RUL012": "a change touches a clause that is frozen",
        "RUL013": "a clause is changed twice, by one change or by two",
        "GAR001": "a piece is of a part that is in no catalog",
        "GAR002": "a piece is on an engine that the scenario does not name",
        "GAR003": "two pieces are in one slot of one engine",
        "GAR004": "a piece does not say how much use it has in a measure that its life counts",
        "GAR005": "a piece installed is not the part that the build has in its slot",
        "GAR006": "a piece is past the last of its service steps",
        "GAR007": "a piece is bought after it was installed",
        "GAR008": "a piece that is installed or used is to be kept as a spare",
        "BEN001": "a bench row measures what the build does not have",
        "BEN002": "a bench row is of an engine that the scenario does not name",
        "BEN003": "two bench rows give one value",
        "IMP001": "a group gives half a range of ages, or ages of who owns nothing",
        "IMP002": "a range is not in rising order",
        "IMP003": "supply.csv speaks of a part that is in no catalog",
        "IMP004": "survey.csv speaks of a group that field.csv lacks",
        "IMP005": "a change to be studied is not there",
        "IMP006": "a group is like a scenario in another currency, or of an engine with other slots",
        "LOG001": "a row of the log lacks what its word needs",
        "LOG002": "a row of the log has a cell that its word has no use for",
        "LOG003": "a row of the log names an engine that the scenario does not, or the car where an engine is meant",
        "LOG004": "a row of the log names an event that the calendar does not have, or at which nothing runs",
        "LOG005": "a row of the log names a service level that its carrier does not have",
        "LOG006": "a row of the log names a slot that the engine does not have, or of another carrier",
        "LOG007": "a row of the log puts a part in that its position does not hold",
        "LOG008": "a row of the log has an event on a day far from the calendar's",
        "LOG009": "two rows of the log tell one run",
        "LOG010": "a row of the log counts more pieces or service steps than there are",
        "LOG011": "a row of the log takes a piece that is not on the shelf",
        "LOG012": "an event was run before one that the calendar has first and that is still to come",
        "LOG013": "a row of the log puts a used set in without its use",
        "LOG014": "a row of the log runs far more than its event has",
        "LOG015": "a row of the log is dated before the books open",
        "LOG016": "a row of the log runs an engine that is not in the season",
        "PAP001": "a paper expires before its date",
        "PAP002": "a paper gives neither number nor date, issuer or word",
        "PAP003": "two rows of papers.csv are the same",
        "PAP004": "a paper is of an engine that the scenario does not name",
        "INS001": "an inspection gives neither what was found nor a value",
        "INS002": "an inspection gives a unit or an uncertainty without a number",
        "INS003": "an inspection is of an engine or car that is not known",
        "INS004": "an inspection names a rule pack that is not read",
        "INS005": "an inspection names a rule that its pack, or any pack, does not have",
        "INS006": "an inspection names a rule that several packs have, and no pack",
        "ENT001": "a car is entered with an engine that the scenario does not name",
        "ENT002": "two cars are entered with one engine",
        "SEA001": "a service level is not known",
        "SEA002": "a slot is not in the build",
        "SEA003": "a slot with a life has no row in positions.csv",
        "SEA004": "a life counts something that the calendar does not give",
        "SEA005": "the calendar holds no race",
        "SEA006": "a calendar row lacks what its kind needs",
        "SEA007": "a session format is not known",
        "SEA008": "an event names an engine that the scenario does not",
        "SEA009": "a service level has an interval without a measure, or the reverse",
        "SEA010": "the ranks of the service levels do not run 1, 2, 3",
        "SEA011": "a life is aged by rpm, and a session gives none",
        "SEA012": "a service row names a level that its gap does not hold",
        "SEA013": "a service row stands behind the last run",
        "SEA014": "a slot is renewed with one that its level does not reach, or that has no position",
        "SEA015": "an alternate serves a set-up that no event has",
        "SEA016": "a clause caps the pieces of what is neither a slot with a position nor a whole service",
        "SEA017": "a clause dates a part whose slot has no row in positions.csv",
        "SEA018": "two rows that offer one service level do not mean the same",
        "SEA019": "rain stops an event from a session that its format does not have",
        "SEA020": "a hazard has the name of a slot or a service",
        "SEA021": "a service level checks slots without a chance to see anything",
        "SEA022": "a case of damage is of neither a slot with a position nor a hazard",
        "SEA023": "the chances of the cases of a slot or a hazard come to more than 1",
        "SEA024": "something is paid for an engine that is not gone",
        "SEA025": "a case loses the engine, and is of the car",
        "SEA026": "none of the engines is owned",
        "SUP001": "terms are of neither a supplier of the catalogs nor a shop",
    }
)

#: What the first three letters of a code speak of.
THEMES = MappingProxyType(
    {
        "REA": "Reading files",
        "MON": "Money",
        "CAT": "Catalogs",
        "MAP": "Suppliers' own sheets",
        "LIF": "Lives",
        "BLD": "Patterns and builds",
        "AIR": "Airflow",
        "DYN": "Dyno sheets",
        "RUL": "Rule packs and changes",
        "GAR": "The garage",
        "BEN": "The bench",
        "PAP": "Papers",
        "INS": "Inspections",
        "ENT": "Entries",
        "SEA": "The season",
        "SUP": "Suppliers",
        "LOG": "The log",
        "CHO": "Choosing parts",
        "QUO": "Quotes",
        "JOB": "Jobs",
        "IMP": "Studies of a change",
    }
)


@dataclass(frozen=True, slots=True)
class Grid:
    """A sheet of a workbook: its name, the letter of its first column, and letters by what a column is called."""

    sheet: str
    first: str
    letters: Mapping[str, str] = field(default_factory=dict)

    def cell(self, line: int, column: str = "") -> str:
        """A cell as spreadsheets name it, the first of its line where the column has no letter.

        >>> Grid("May's", "A", {"laps": "C"}).cell(7, "laps")
        "'May''s'!C7"
        """
        quoted = "'{}'".format(self.sheet.replace("'", "''"))
        name = self.sheet if self.sheet.replace("_", "a").isalnum() else quoted
        return f"{name}!{self.letters.get(column, self.first)}{line}"


@dataclass(frozen=True, slots=True)
class Place:
    """Where a value stands: a file, and a line of it if it has one (counted from 1, as an editor does).

    `grid`: the sheet, where the file is a workbook.
    """

    file: str
    line: int | None = None
    grid: Grid | None = field(default=None, compare=False, repr=False)

    def cell(self, column: str = "") -> str:
        """A cell of a workbook on this line; '' where the file is none."""
        return "" if self.grid is None or self.line is None else self.grid.cell(self.line, column)

    def at(self, column: str = "") -> str:
        """The place in words; in a workbook, the cell under a heading.

        >>> Place("calendar.csv", 7).at("laps"), Place("calendar.xlsx", 7, Grid("May", "A", {"laps": "C"})).at("laps")
        ('calendar.csv:7', 'calendar.xlsx: May!C7')
        """
        cell = self.cell(column)
        if cell:
            return f"{self.file}: {cell}"
        return self.file if self.line is None else f"{self.file}:{self.line}"

    def __str__(self) -> str:
        return self.at()


#: The place of what nobody wrote: a default.
NOWHERE = Place("")


@dataclass(frozen=True, slots=True)
class Problem:
    """One mistake: `code`, `place`, `field` (column, key path or ''), the offending `value`, and what to do about it.

    >>> str(Problem("REA018", Place("catalogs/x/rods.csv", 7), "price", "-1", "negative price", "give 0 or more"))
    "catalogs/x/rods.csv:7: price: REA018 negative price '-1'; give 0 or more"
    """

    code: str
    place: Place
    field: str
    value: str
    what: str
    advice: str

    def __str__(self) -> str:
        where = f"{self.place.at(self.field)}: {self.field}: " if self.field else f"{self.place}: "
        value = f" '{shorten(self.value)}'" if self.value else ""
        return shorten(f"{where}{self.code} {self.what}{value}; {self.advice}", 2000)


@dataclass(slots=True)
class Problems:
    """The problems met so far on one way through the files; each reader returns one and its caller adds them up."""

    found: list[Problem] = field(default_factory=list)

    def add(self, code: str, place: Place, field_name: str, value: object, what: str, advice: str) -> None:
        """Note one problem; an unknown code is a bug."""
        if code not in CODES:
            raise KeyError(code)
        self.found.append(Problem(code, place, field_name, "" if value is None else str(value), what, advice))

    def extend(self, others: Iterable[Problem]) -> None:
        self.found.extend(others)

    def __bool__(self) -> bool:
        return bool(self.found)


def in_order(problems: Iterable[Problem]) -> tuple[Problem, ...]:
    """Without repeats, by file in the order first met, then by line: as one would walk through them in an editor."""
    unique = list(dict.fromkeys(problems))
    files = list(dict.fromkeys(problem.place.file for problem in unique))
    return tuple(sorted(unique, key=lambda problem: (files.index(problem.place.file), problem.place.line or 0)))


def shorten(text: str, longest: int = 60) -> str:
    """The text on one line, its middle left out where it is long.

    >>> shorten("a" * 100, 9)
    'aaaa…aaaa'
    """
    line = "".join(char if char.isprintable() else "·" for char in text)
    half = longest // 2
    return line if len(line) <= longest else f"{line[:half]}…{line[-half:]}"


def nearest(word: str, known: Iterable[str]) -> str:
    """Advice that names the known word most like the one written, else one that it begins, else the first of them.

    >>> nearest("T27", ["T26-suppliers", "T27-bore"])
    "did you mean 'T27-bore'?"
    """
    import difflib

    words = list(known)
    close = difflib.get_close_matches(word, words, n=1, cutoff=0.6)
    close += [one for one in words if word and one.startswith(word)]
    if close:
        return f"did you mean '{close[0]}'?"
    if not words:
        return "none is known here"
    return f"give one of: {', '.join(words[:12])}{' ...' if len(words) > 12 else ''}"
