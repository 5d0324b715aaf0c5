"""problems.md: what is told of a file that is not in order."""

from __future__ import annotations

from costplan.problems import CODES, THEMES, Place, Problem
from costplan.writing.markdown import code, fenced, page, section, table

EXAMPLE = Problem("REA018", Place("catalogs/x/rods.csv", 7), "price", "-1", "negative number:", "give at least 0")


def problems_text() -> str:
    """The codes by theme."""
    return page(
        "Problems",
        "The codes of the problems that files can have, and what each means.",
        "Every command reads all files first and tells every problem that it finds, one a line: file, line or cell, "
        "column or key, code, the value, and what to write instead. Then it ends with status 2 and has calculated "
        "nothing. With `--json` the problems are data.",
        fenced(str(EXAMPLE)),
        "Codes are stable: new ones are added, none is ever used again for something else.",
        *(
            section(theme, table(("Code", "Meaning"), ((code(name), CODES[name]) for name in _codes_of(letters))))
            for letters, theme in THEMES.items()
        ),
    )


def _codes_of(letters: str) -> list[str]:
    return sorted(name for name in CODES if name.startswith(letters))
