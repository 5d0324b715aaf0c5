"""What only a process of its own can show: start-up, the exit status a shell sees, and a reader that goes away."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
ENTRY = (sys.executable, "-c", "from costplan.cli import main; main()")
HEAVY = ("numpy", "pydantic", "rich", "babel", "pandas", "scipy", "numba", "openpyxl", "ortools")


def run(*words: str, **environment: str) -> subprocess.CompletedProcess[str]:
    return subprocess.run(  # noqa: S603 - our own command
        [*ENTRY, *words],
        cwd=ROOT,
        env={**os.environ, "COLUMNS": "80", "PYTHONWARNINGS": "error", **environment},
        capture_output=True,
        text=True,
        encoding="utf-8",
        check=False,
    )


def test_what_reads_workbooks_is_loaded_with_the_first_of_them() -> None:
    code = (
        "import sys, pathlib\nfrom costplan.scenario import read_scenario\n"
        "scenario, problems = read_scenario(pathlib.Path('scenarios/kart-single'))\n"
        "print(scenario is not None, *sys.modules)"
    )
    done = subprocess.run(  # noqa: S603 - our own code
        [sys.executable, "-c", code], cwd=ROOT, capture_output=True, text=True, check=True
    )
    read, *loaded = done.stdout.split()
    assert read == "True"
    assert not {"openpyxl", "costplan.reading.workbook"} & set(loaded)


@pytest.mark.parametrize(
    ("words", "allowed"),
    [
        (["--help"], []),
        # Where a command line has words to be read, typer itself brings pydantic in.
        (["season", "--help"], ["pydantic"]),
        (["outlook", "--help"], ["pydantic"]),
        (["compare", "--help"], ["pydantic"]),
        (["whatif", "--help"], ["pydantic"]),
        (["--version"], ["pydantic"]),
        (["season"], ["pydantic"]),
    ],
    ids=str,
)
def test_help_comes_without_any_heavy_module(words: list[str], allowed: list[str]) -> None:
    code = (
        "import sys\nfrom costplan.cli import app\n"
        "try:\n    app(sys.argv[1:])\nexcept SystemExit:\n    pass\n"
        f"print('loaded:', *[name for name in {HEAVY} if name in sys.modules])"
    )
    done = subprocess.run(  # noqa: S603 - our own command
        [sys.executable, "-c", code, *words], capture_output=True, text=True, check=True
    )
    assert set(done.stdout.splitlines()[-1].split()[1:]) <= set(allowed)


@pytest.mark.parametrize(
    ("words", "status"),
    [
        (("season", "scenarios/oval-v8"), 0),
        (("check", "scenarios/oval-v8", "--set", "rules-tour/rule/T7-displacement/max=300 in3"), 1),
        (("season", "nowhere"), 2),
    ],
)
def test_a_shell_sees_the_status_and_no_traceback(words: tuple[str, ...], status: int) -> None:
    done = run(*words)
    assert done.returncode == status
    assert "Traceback" not in done.stderr
    assert (done.stderr == "") == (status != 2)
    assert "\x1b" not in done.stdout


def test_a_locale_without_signs_beyond_ascii_is_no_obstacle() -> None:
    done = run("season", "scenarios/kart-single", LC_ALL="C", LANG="C", PYTHONUTF8="0", PYTHONCOERCECLOCALE="0")
    assert (done.returncode, done.stderr) == (0, "")


@pytest.mark.skipif(os.name == "nt", reason="no such signal there")
@pytest.mark.parametrize("form", [(), ("--json",), ("--csv",)], ids=str)
def test_a_reader_that_goes_away_is_met_without_a_word(form: tuple[str, ...]) -> None:
    """As `costplan season ... | head -1`: no traceback, and not status 1, which would be an answer."""
    reader, writer = os.pipe()
    os.close(reader)
    try:
        done = subprocess.run(  # noqa: S603 - our own command
            [*ENTRY, "season", "scenarios/oval-v8", *form],
            cwd=ROOT,
            stdout=writer,
            stderr=subprocess.PIPE,
            text=True,
            check=False,
        )
    finally:
        os.close(writer)
    assert done.stderr == ""
    assert done.returncode not in (1, 2)


@pytest.mark.skipif(os.name == "nt", reason="no such shell there")
def test_the_first_line_through_head() -> None:
    line = f"'{ENTRY[0]}' -c '{ENTRY[2]}' season scenarios/oval-v8 --json | head -1"
    done = subprocess.run(line, shell=True, cwd=ROOT, capture_output=True, text=True, check=True)  # noqa: S602 - ours
    assert (done.stdout, done.stderr) == ("{\n", "")


def test_without_the_compiler_the_page_is_the_same() -> None:
    words = ("outlook", "scenarios/kart-single", "--seasons", "20", "--json")
    code = "import sys; sys.modules['numba'] = None\nfrom costplan.cli import main; main()"
    plain = subprocess.run(  # noqa: S603 - our own command
        [sys.executable, "-c", code, *words], cwd=ROOT, capture_output=True, text=True, check=True
    )
    assert (plain.stdout, plain.stderr) == (run(*words).stdout, "")
