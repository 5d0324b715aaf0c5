"""schemas.md: which schemas there are, and of what."""

from __future__ import annotations

from costplan.guide import SCHEMAS, SUFFIX
from costplan.reference import ABOUT
from costplan.writing.answers import ANSWERS
from costplan.writing.files import FILE_NAMES
from costplan.writing.markdown import code, page, section, table


def schemas_text() -> str:
    return page(
        "Schemas",
        "JSON Schemas (draft 2020-12) of the files that you write and of the answers with `--json`, for editors and "
        "for programs of your own.",
        f"They lie in `{SCHEMAS}/` beside this page, and `costplan guide {SCHEMAS}/calendar.csv` prints one. They show "
        "the form of values and nothing of what hangs on other values or files: `costplan check` reads everything and "
        "tells what is wrong, with file and line.",
        section(
            "Files",
            "Of a TOML file the schema is of the whole file, dates as text, year-month-day. Of a CSV file it is of one "
            "row, as a reader of CSV gives it: heading to cell, every cell a text, numbers with a point. A unit "
            "stands in the heading, as in `lap_length [mi]`.",
            table(("Schema", "Of", "What the file is for"), map(_file, FILE_NAMES)),
        ),
        section(
            "Answers",
            "Within a major version of the form (`form`) keys may be added and are never renamed; the schemas let "
            'other keys pass. Amounts are text (`"1234.50"`), so that no program rounds them; dates are '
            "year-month-day; what is infinite or unknown is `null`. Problems have the answer `problems` in place of "
            "the one asked for.",
            table(("Schema", "Answer", "Command"), map(_answer, ANSWERS)),
        ),
        section(
            "What is calculated from",
            "`costplan season SCENARIO --show-work FILE` and `costplan outlook` write all that they are calculated "
            "from, with a schema of its own, `costplan/season/work.schema.json`.",
        ),
    )


def _link(name: str) -> str:
    return f"[{code(name)}]({SCHEMAS}/{name}{SUFFIX})"


def _file(name: str) -> tuple[str, ...]:
    about = ABOUT[FILE_NAMES[name]]
    of = about.written or FILE_NAMES[name]
    rows = "a row of " if name.endswith(".csv") else ""
    return _link(name), f"{rows}{code(of) if '.' in of else of}", about.meaning


def _answer(name: str) -> tuple[str, ...]:
    return _link(f"answer-{name.replace(' ', '-')}"), code(name), code(f"costplan {ANSWERS[name].command} --json")
