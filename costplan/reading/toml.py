"""TOML with the place of every value.

`tomllib` reads the values; a small scanner walks the same text for the line of every key. Whatever the scanner sees
otherwise than `tomllib` (other keys, another order) is refused, so that no message can point at the wrong line.
"""

from __future__ import annotations

import re
import tomllib
from bisect import bisect_left
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from decimal import Decimal
from functools import lru_cache
from pathlib import Path
from types import MappingProxyType
from typing import Any, TypeAlias

from costplan.problems import Place, Problem
from costplan.reading.settings import Setting
from costplan.reading.source import read_text, shown

#: The keys that name an item of a list.
NAMES = ("name", "id", "slot", "fit")

KeyPath: TypeAlias = tuple[str | int, ...]


@dataclass(frozen=True, slots=True)
class Document:
    """The values of a TOML file (Decimal for numbers with a point) and the place of every one, by key path."""

    file: str
    address: str
    values: dict[str, Any]
    places: dict[KeyPath, Place]

    def place(self, path: KeyPath) -> Place:
        """Where a value stands, or the nearest table around it."""
        while path and path not in self.places:
            path = path[:-1]
        return self.places.get(path, Place(self.file))

    def shown(self, path: KeyPath) -> str:
        """A key path as messages show it, items counted from 1: `rate.1.since`."""
        return ".".join(str(key + 1) if isinstance(key, int) else key for key in path)


def read_toml(
    path: Path, address: str, settings: tuple[Setting, ...] = ()
) -> tuple[Document | None, tuple[Problem, ...]]:
    """The values of a TOML file with `--set` written in; None where it cannot be read."""
    text, problems = read_text(path)
    if text is None:
        return None, problems
    document, problems = parse(text, shown(path), address)
    if document is None:
        return None, problems
    return document, _write_in(document, settings)


def parse(text: str, file: str = "", address: str = "") -> tuple[Document | None, tuple[Problem, ...]]:
    """TOML text as a document, or why not."""
    text = text.replace("\r\n", "\n")
    try:
        values = tomllib.loads(text, parse_float=Decimal)
    except (ValueError, ArithmeticError, RecursionError) as error:
        return None, (_syntax_problem(error, file),)
    try:
        lines, leaves = _scanned(text)
        followed = leaves == tuple(_leaves(values))
    except (IndexError, KeyError, TypeError, AttributeError, RecursionError):
        lines, followed = {}, False
    if not followed:
        advice = "write one key a line and one [table] a part"
        return None, (Problem("REA014", Place(file), "", "", "the layout of this TOML cannot be followed", advice),)
    return Document(file, address, values, {path: Place(file, line) for path, line in lines.items()}), ()


@lru_cache(maxsize=64)
def _scanned(text: str) -> tuple[Mapping[KeyPath, int], tuple[KeyPath, ...]]:
    """The lines of a text's keys, and the paths of its values; kept, since a break-even reads its files many times."""
    tree, lines = _Scanner(text).document()
    return MappingProxyType(lines), tuple(_leaves(tree))


def _syntax_problem(error: BaseException, file: str) -> Problem:
    if isinstance(error, RecursionError):
        return Problem("REA013", Place(file), "", "", "nested too deeply", "use plain tables")
    found = re.search(r"line (\d+)", str(error))
    what = re.sub(r"\s*\(at .*\)", "", str(error)) or "a number that cannot be read"
    line = int(found.group(1)) if found else None
    return Problem(
        "REA013", Place(file, line), "", "", f"not TOML: {what}", "mend this line; a key stands once in a table"
    )


def _leaves(value: Any, path: KeyPath = ()) -> Iterator[KeyPath]:
    """The path of every value that is not a filled table or array, in order."""
    if isinstance(value, dict) and value:
        for key, inner in value.items():
            yield from _leaves(inner, (*path, key))
    elif isinstance(value, list) and value:
        for index, inner in enumerate(value):
            yield from _leaves(inner, (*path, index))
    else:
        yield path


def _write_in(document: Document, settings: tuple[Setting, ...]) -> tuple[Problem, ...]:
    problems = []
    for setting in settings:
        rest = setting.within(document.address)
        if rest is not None and not _write(document, rest, setting):
            what = "this path leads to no key:"
            advice = "name each table and key, list items by their name, id, slot, fit or number from 1"
            problems.append(Problem("REA022", setting.place, "", "/".join(setting.path), what, advice))
    return tuple(problems)


def _write(document: Document, keys: tuple[str, ...], setting: Setting) -> bool:
    """Writes one setting; False if the path does not lead to a key that a value can stand at."""
    where: Any = document.values
    path: list[str | int] = []
    for key in keys[:-1]:
        step: Any = _item(where, key) if isinstance(where, list) else key
        if step is None or not isinstance(where, dict | list):
            return False
        path.append(step)
        if isinstance(where, dict) and key not in where:
            where[key] = {}
            document.places[tuple(path)] = setting.place
        where = where[step]
    if not keys or not isinstance(where, dict) or isinstance(where.get(keys[-1]), dict):
        return False
    where[keys[-1]] = _value(setting.text)
    full = (*path, keys[-1])
    for inside in [other for other in document.places if other[: len(full)] == full]:
        del document.places[inside]
    document.places[full] = setting.place
    return True


def _item(items: list[Any], key: str) -> int | None:
    """The index of a list's item: by its name, id, slot or fit, or by its number from 1."""
    for index, item in enumerate(items):
        if isinstance(item, dict) and key in (item.get(name) for name in NAMES):
            return index
    return int(key) - 1 if key.isdecimal() and 0 < int(key) <= len(items) else None


def _value(text: str) -> Any:
    """A `--set` text as TOML where it is TOML, else as a plain string."""
    document, _ = parse(f"value = {text}")
    return text if document is None else document.values["value"]


_BARE, _VALUE = re.compile(r"[A-Za-z0-9_-]+"), re.compile(r"[^,\]}#\n]+")
_BLANKS, _BLANK_LINES = re.compile(r"[ \t]*"), re.compile(r"(?:[ \t\n]|#[^\n]*)*")
#: Strings by their quotes.
_STRINGS = {
    '"': re.compile(r'"(?:[^"\\]|\\.)*"'),
    "'": re.compile(r"'[^']*'"),
    '"""': re.compile(r'(?s)"""(?:[^\\]|\\.)*?""""{0,2}'),
    "'''": re.compile(r"(?s)'''.*?''''{0,2}"),
}


@dataclass(slots=True)
class _Scanner:
    """Walks text that `tomllib` has accepted and notes the line of every key; knows only as much TOML as that takes."""

    text: str
    at: int = 0
    lines: dict[KeyPath, int] = field(default_factory=dict)
    line_ends: list[int] = field(default_factory=list)

    def __post_init__(self) -> None:
        self.line_ends = [found.start() for found in re.finditer("\n", self.text)]

    def document(self) -> tuple[dict[str, Any], dict[KeyPath, int]]:
        """The tree of keys (values left out) and the line of each key path."""
        root: dict[str, Any] = {}
        table: dict[str, Any] = root
        path: KeyPath = ()
        while self._skip_blank(newlines=True):
            if self._take("[["):
                table, path = self._enter(root, self._keys(), again=True)
                self._take("]]")
            elif self._take("["):
                table, path = self._enter(root, self._keys(), again=False)
                self._take("]")
            else:
                self._pair(table, path)
        return root, self.lines

    def _enter(self, root: dict[str, Any], keys: list[str], *, again: bool) -> tuple[dict[str, Any], KeyPath]:
        """The table that a header opens; `again`: one more table of an array."""
        where, path = self._descend(root, (), keys[:-1])
        key = keys[-1]
        self._note((*path, key))
        if not again:
            return self._descend(where, path, [key])
        items = where.setdefault(key, [])
        items.append({})
        self._note((*path, key, len(items) - 1))
        return items[-1], (*path, key, len(items) - 1)

    def _descend(self, where: dict[str, Any], path: KeyPath, keys: list[str]) -> tuple[dict[str, Any], KeyPath]:
        """Steps down by keys, into the last table of an array, and makes the tables that are not there yet."""
        for key in keys:
            inner = where.setdefault(key, {})
            path = (*path, key)
            self._note(path)
            if isinstance(inner, list):
                path = (*path, len(inner) - 1)
                inner = inner[-1]
            where = inner
        return where, path

    def _pair(self, table: dict[str, Any], path: KeyPath) -> None:
        keys = self._keys()
        where, path = self._descend(table, path, keys[:-1])
        path = (*path, keys[-1])
        self._note(path)
        self._take("=")
        where[keys[-1]] = self._any(path)

    def _keys(self) -> list[str]:
        keys = [self._key()]
        while self._take("."):
            keys.append(self._key())
        return keys

    def _key(self) -> str:
        self._skip_blank()
        if self.text[self.at] in "\"'":
            raw = self._string()
            key: str = tomllib.loads(f"k = {raw}")["k"]
        else:
            key = self._match(_BARE)
        self._skip_blank()
        return key

    def _any(self, path: KeyPath) -> Any:
        self._skip_blank()
        self._note(path)
        char = self.text[self.at]
        if char == "[":
            return self._array(path)
        if char == "{":
            return self._inline(path)
        if char in "\"'":
            return self._string()
        return self._match(_VALUE)

    def _array(self, path: KeyPath) -> list[Any]:
        items: list[Any] = []
        self.at += 1
        while self._skip_blank(newlines=True) and not self._take("]"):
            items.append(self._any((*path, len(items))))
            self._skip_blank(newlines=True)
            self._take(",")
        return items

    def _inline(self, path: KeyPath) -> dict[str, Any]:
        table: dict[str, Any] = {}
        self.at += 1
        while self._skip_blank(newlines=True) and not self._take("}"):
            self._pair(table, path)
            self._skip_blank(newlines=True)
            self._take(",")
        return table

    def _string(self) -> str:
        quote = self.text[self.at]
        long = self.text.startswith(quote * 3, self.at)
        return self._match(_STRINGS[quote * 3 if long else quote])

    def _match(self, pattern: re.Pattern[str]) -> str:
        found = pattern.match(self.text, self.at)
        if found is None:
            raise IndexError(self.at)
        self.at = found.end()
        return found.group()

    def _take(self, token: str) -> bool:
        self._skip_blank()
        if not self.text.startswith(token, self.at):
            return False
        self.at += len(token)
        return True

    def _skip_blank(self, *, newlines: bool = False) -> bool:
        """Past blanks, and on request past line ends and comments; False at the end of the text."""
        self._match(_BLANK_LINES if newlines else _BLANKS)
        return self.at < len(self.text)

    def _note(self, path: KeyPath) -> None:
        self.lines.setdefault(path, bisect_left(self.line_ends, self.at) + 1)
