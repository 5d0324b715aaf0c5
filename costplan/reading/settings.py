"""What-ifs: `--set path=value` writes one cell or one TOML key before anything is validated.

A path is `file/row-or-key/column` for a table (`calendar/opener/laps`, `calendar/7/laps` by line number) and
`file/key/key` for TOML (`scenario/policy/early`); a file of a catalog has the catalog's folder name before it
(`oval-v8/springs/SP-1/price`). Its place in messages is `--set 2` for the second one.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from costplan.problems import Place, Problem, nearest


@dataclass(frozen=True, slots=True)
class Setting:
    """One `--set`: its number on the command line (from 1), the segments of its path, and its text."""

    number: int
    path: tuple[str, ...]
    text: str

    @property
    def place(self) -> Place:
        return Place(f"--set {self.number}")

    def within(self, address: str) -> tuple[str, ...] | None:
        """The rest of the path behind a file's address; None if it leads elsewhere."""
        start = tuple(address.split("/"))
        return self.path[len(start) :] if self.path[: len(start)] == start else None


def parse_settings(texts: Iterable[str]) -> tuple[tuple[Setting, ...], tuple[Problem, ...]]:
    """The settings of a command line.

    >>> parse_settings(["calendar/opener/laps=40"])[0][0].path
    ('calendar', 'opener', 'laps')
    """
    settings, problems = [], []
    for number, text in enumerate(texts, start=1):
        path, equals, value = text.partition("=")
        segments = tuple(segment.strip() for segment in path.split("/"))
        if equals and len(segments) >= 2 and all(segments):
            settings.append(Setting(number, segments, value.strip()))
        else:
            advice = "write file/row/column=value or file/key=value"
            problems.append(Problem("REA022", Place(f"--set {number}"), "", text, "not a path and a value:", advice))
    return tuple(settings), tuple(problems)


def astray(settings: Iterable[Setting], addresses: Iterable[str]) -> tuple[Problem, ...]:
    """A problem for each setting that leads into none of the files that were read."""
    known = list(addresses)
    return tuple(
        Problem("REA022", setting.place, "", "/".join(setting.path), "no such file:", nearest(setting.path[0], known))
        for setting in settings
        if all(setting.within(address) is None for address in known)
    )
