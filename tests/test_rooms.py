"""The rooms stand in one order: data walks one way through them, and only the outermost ones speak to the user."""

from __future__ import annotations

import ast
from collections.abc import Iterator
from pathlib import Path

import pytest

import costplan

#: From the top down: a room may import itself and the rooms after it.
ROOMS = (
    "cli",
    "writing",
    "report",
    "reference",
    "templates",
    "guide",
    "impact",
    "quote",
    "choose",
    "scenario",
    "season",
    "rules",
    "build",
    "garage",
    "life",
    "catalog",
    "reading",
    "formulas",
    "quantity",
    "money",
    "problems",
)
HOME = Path(costplan.__file__).parent
MODULES = sorted(HOME.rglob("*.py"))


def name_of(path: Path) -> str:
    return path.relative_to(HOME).as_posix()


def room_of(path: Path) -> str:
    """The room a module stands in; '' for the package itself."""
    first = path.relative_to(HOME).parts[0].removesuffix(".py")
    return "" if first == "__init__" else first


def imported_rooms(path: Path) -> Iterator[tuple[int, str]]:
    """Each room of costplan that a module imports, with the line; also inside functions and by relative import."""
    package = ("costplan", *path.relative_to(HOME).parent.parts)
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        names: list[tuple[str, ...]] = []
        if isinstance(node, ast.Import):
            names = [tuple(alias.name.split(".")) for alias in node.names]
        elif isinstance(node, ast.ImportFrom):
            start = package[: len(package) - node.level + 1] if node.level else ()
            origin = (*start, *(node.module.split(".") if node.module else ()))
            names = [(*origin, alias.name) for alias in node.names]
        for name in names:
            if name[0] == "costplan" and len(name) > 1:
                yield getattr(node, "lineno", 0), name[1]


@pytest.mark.parametrize("path", MODULES, ids=name_of)
def test_a_module_imports_only_its_own_room_and_lower_ones(path: Path) -> None:
    room = room_of(path)
    allowed = ROOMS[ROOMS.index(room) :] if room else ()
    wrong = [(line, other) for line, other in imported_rooms(path) if other not in (*allowed, "__version__")]
    assert wrong == []


@pytest.mark.parametrize(
    ("source", "rooms"),
    [
        ("from costplan.money import split", ["money"]),
        ("import costplan.cli.main", ["cli"]),
        ("from costplan import season", ["season"]),
        ("from ..rules import check", ["rules"]),
        ("from . import bill", ["build"]),
        ("def f() -> None:\n    from costplan import report", ["report"]),
        ("import json", []),
    ],
)
def test_every_form_of_import_is_seen(source: str, rooms: list[str], monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(Path, "read_text", lambda *_, **__: source)
    assert [room for _, room in imported_rooms(HOME / "build" / "some.py")] == rooms


@pytest.mark.parametrize("path", [path for path in MODULES if room_of(path) not in ("cli", "report")], ids=name_of)
def test_only_cli_and_report_print(path: Path) -> None:
    names = [node for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))) if isinstance(node, ast.Name)]
    assert [name.lineno for name in names if name.id == "print"] == []
