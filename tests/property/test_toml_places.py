"""TOML written in every style keeps its values, their order and the line of every key; no text is too odd to refuse."""

from __future__ import annotations

import tomllib
from collections.abc import Callable
from dataclasses import dataclass, field
from decimal import Decimal
from typing import Any, TypeAlias

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from costplan.reading.toml import parse

Path: TypeAlias = tuple[str | int, ...]
Draw: TypeAlias = Callable[[st.SearchStrategy[Any]], Any]

#: Keys as they stand in the text, with what they mean.
KEYS = {
    "a": "a",
    "b-1": "b-1",
    "_c": "_c",
    "1234": "1234",
    '"quoted"': "quoted",
    "'literal'": "literal",
    '"point.inside"': "point.inside",
    '"# no comment"': "# no comment",
    '"a = b"': "a = b",
    "'[table]'": "[table]",
    "''": "",
    '"say \\"so\\""': 'say "so"',
    "'back\\slash'": "back\\slash",
    '"tab\\there"': "tab\there",
    "'\u00f6l'": "\u00f6l",
    '"]"': "]",
}
ONE_LINE = (
    "1",
    "-1_000",
    "0x1F",
    "1.5",
    "1e-3",
    "inf",
    "true",
    "2027-05-14",
    "2027-05-14 07:32:00",
    "2027-05-14T07:32:00Z",
    "07:32:00",
    '""',
    "''",
    '"a # b [c] = d, {e}"',
    "'a # \"b\" [c] = \\'",
    '"quote \\" and backslash \\\\"',
    '"""one line"""',
    "'''one line'''",
    '"""two quotes at the end"""""',
    "'''an apostrophe at the end''''",
)
#: Text in three quotes; what stands between may look like anything.
MANY_LINES = (
    '"""\na = 1\n[b]\n# c\n"""',
    "'''\n[[a]]\n'b' = {\n\\'''",
    '"""say "so" and ""so""\n\\"""\n""""',
    '"""joined \\\n\n   up"""',
    "'''\n\n\n]'''",
)
#: What may stand between the items of an array.
GAPS = ("", " ", "\n", "\t\n\n  ", " # , ] }\n", '\n# """\n')
ENDS = ("\n", "  \n", " # a comment = [1]\n", "\t# 'x'\n\n", "\n\n# alone\n")


@dataclass
class Writer:
    """Writes TOML by chance and notes, as it writes, on which line each key or item starts."""

    draw: Draw
    text: str = ""
    lines: dict[Path, int] = field(default_factory=dict)

    def choose(self, options: Any) -> Any:
        return self.draw(st.sampled_from(tuple(options)))

    def times(self, low: int, high: int) -> range:
        return range(self.draw(st.integers(low, high)))

    def note(self, path: Path) -> None:
        self.lines.setdefault(path, self.text.count("\n") + 1)

    def keys(self, low: int, high: int, taken: set[str]) -> list[str]:
        """Some keys that stand nowhere yet in a table."""
        free = [key for key, means in KEYS.items() if means not in taken]
        found: list[str] = self.draw(st.lists(st.sampled_from(free), min_size=low, max_size=high, unique_by=KEYS.get))
        taken.update(KEYS[key] for key in found)
        return found

    def document(self) -> None:
        taken: set[str] = set()
        self.text += self.choose(("", "# top\n", "\n\n"))
        self.pairs((), taken)
        for key in self.keys(0, 3, taken):
            self.choose((self.table, self.table_in_table, self.array_of_tables))(key)

    def table(self, key: str) -> None:
        self.header("[{}]", (key,), (KEYS[key],))
        self.pairs((KEYS[key],), set())

    def table_in_table(self, key: str) -> None:
        """[a.b] and, perhaps, [a] behind it."""
        taken: set[str] = set()
        (inner,) = self.keys(1, 1, taken)
        path: Path = (KEYS[key], KEYS[inner])
        self.header("[{}]", (key, inner), path)
        self.pairs(path, set())
        if self.draw(st.booleans()):
            self.header("[{}]", (key,), path[:1])
            self.pairs(path[:1], taken)

    def array_of_tables(self, key: str) -> None:
        for index in self.times(1, 3):
            item: Path = (KEYS[key], index)
            taken: set[str] = set()
            self.header("[[{}]]", (key,), item)
            self.pairs(item, taken)
            for inner in self.keys(0, 2, taken):
                if self.draw(st.booleans()):
                    self.header("[{}]", (key, inner), (*item, KEYS[inner]))
                    self.pairs((*item, KEYS[inner]), set())
                    continue
                for again in self.times(1, 2):
                    self.header("[[{}]]", (key, inner), (*item, KEYS[inner], again))
                    self.pairs((*item, KEYS[inner], again), set())

    def header(self, brackets: str, keys: tuple[str, ...], path: Path) -> None:
        for length in range(1, len(path) + 1):
            self.note(path[:length])
        blank = self.choose(("", " "))
        self.text += self.choose(("", "  "))
        self.text += brackets.format(blank + f"{blank}.{blank}".join(keys) + blank) + self.choose(ENDS)

    def pairs(self, path: Path, taken: set[str]) -> None:
        for key in self.keys(0, 3, taken):
            for keys in self.spread(key):
                self.text += self.choose(("", "  "))
                self.pair(path, keys, deep=0)
                self.text += self.choose(ENDS)

    def spread(self, key: str) -> list[tuple[str, ...]]:
        """One key by itself, or with some dotted ones behind it."""
        if self.draw(st.integers(0, 3)):
            return [(key,)]
        return [(key, inner) for inner in self.keys(1, 2, set())]

    def pair(self, path: Path, keys: tuple[str, ...], deep: int) -> None:
        for key in keys:
            path = (*path, KEYS[key])
            self.note(path)
        blank = self.choose(("", " ", "\t"))
        self.text += self.choose((".", " . ")).join(keys) + blank + "=" + blank
        self.value(path, deep)

    def value(self, path: Path, deep: int) -> None:
        self.note(path)
        write = self.choose((self.scalar, self.scalar, self.array, self.inline) if deep < 2 else (self.scalar,))
        write(path, deep)

    def scalar(self, path: Path, deep: int) -> None:
        del path, deep
        self.text += self.choose(ONE_LINE + MANY_LINES)

    def array(self, path: Path, deep: int) -> None:
        self.text += "[" + self.choose(GAPS)
        last = -1
        for last in self.times(0, 3):
            self.text += ("," + self.choose(GAPS)) if last else ""
            self.value((*path, last), deep + 1)
            self.text += self.choose(GAPS)
        self.text += self.choose(("", "," + self.choose(GAPS))) if last >= 0 else ""
        self.text += "]"

    def inline(self, path: Path, deep: int) -> None:
        self.text += "{" + self.choose(("", " "))
        for index, key in enumerate(self.keys(0, 2, set())):
            self.text += ", " if index else ""
            for number, keys in enumerate(self.spread(key)):
                self.text += "," if number else ""
                self.pair(path, keys, deep + 1)
        self.text += self.choose(("", " ")) + "}"


@st.composite
def documents(draw: Draw) -> tuple[str, dict[Path, int]]:
    """TOML text and the line of every key path in it."""
    writer = Writer(draw)
    writer.document()
    text = writer.text.replace("\n", "\r\n") if draw(st.booleans()) else writer.text
    return text, writer.lines


def paths_of(value: Any, path: Path = ()) -> list[Path]:
    """The path of every key and item."""
    pairs: Any = value.items() if isinstance(value, dict) else enumerate(value) if isinstance(value, list) else ()
    return [found for key, inner in pairs for found in ((*path, key), *paths_of(inner, (*path, key)))]


@given(documents())
@settings(max_examples=400, deadline=None)
def test_every_key_of_a_valid_document_is_placed_on_its_line(written: tuple[str, dict[Path, int]]) -> None:
    text, lines = written
    document, problems = parse(text, "some.toml")
    assert [problem.code for problem in problems] == []
    assert document is not None
    expected = tomllib.loads(text, parse_float=Decimal)
    assert repr(document.values) == repr(expected)
    assert {path: place.line for path, place in document.places.items()} == lines
    assert set(lines) == set(paths_of(expected))


def check_that_it_is_read_or_refused(text: str) -> None:
    document, problems = parse(text, "some.toml")
    if document is None:
        assert [problem.code for problem in problems] in (["REA013"], ["REA014"])
        return
    assert repr(document.values) == repr(tomllib.loads(text, parse_float=Decimal))
    assert set(document.places) >= set(paths_of(document.values))


@given(st.text())
@settings(deadline=None)
def test_no_text_makes_the_reader_fall(text: str) -> None:
    check_that_it_is_read_or_refused(text)


#: Pieces of TOML, to be shuffled.
PIECES = (*KEYS, *ONE_LINE, *MANY_LINES, *"[]{}=.,#'\"\\\n\t ", "[[", "]]", "\r\n")


@given(st.lists(st.sampled_from(PIECES)).map("".join))
@example("a = {b = '''''', c = [[],]}\n[d . 'e']\n[[f]]")
@settings(max_examples=400, deadline=None)
def test_no_shuffled_toml_makes_the_reader_fall(text: str) -> None:
    check_that_it_is_read_or_refused(text)


@pytest.mark.parametrize(
    "text",
    ["a = 1 # b", "[a]", "[[a]]\n[[a.b]]\n[a.b.c]\n[[a]]\n[a.b]", "a.b = 1\na.c = 1", "a = [{b.c = 1}, {b.c = 2}]", ""],
)
def test_plain_layouts_are_followed(text: str) -> None:
    document, problems = parse(text)
    assert problems == ()
    assert document is not None
