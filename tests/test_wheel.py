"""The built package: whole, with nothing of the checkout in it, and at work where the checkout is not."""

from __future__ import annotations

import os
import subprocess
import sys
import tarfile
import zipfile
from email import message_from_string
from pathlib import Path

import pytest

import costplan

pytest.importorskip("hatchling", reason="the build backend is not installed: pip install -e '.[dev]' has it")

ROOT = Path(__file__).parents[1]
#: Builds both distributions into a folder, as an installer does.
BUILD = "import sys; from hatchling.build import *; print(build_wheel(sys.argv[1])); print(build_sdist(sys.argv[1]))"
#: Runs commands one after another as the installed script does, a line of signs before each.
RUN = """
import sys
from costplan.cli import main
import costplan
print(costplan.__file__)
for words in sys.argv[1:]:
    print("==")
    sys.argv = ["costplan", *words.split()]
    try:
        main()
    except SystemExit as end:
        print("status", end.code or 0)
"""


@pytest.fixture(scope="module")
def built(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, Path]:
    """The wheel and the source distribution."""
    out = tmp_path_factory.mktemp("built")
    done = subprocess.run(  # noqa: S603 - our own code
        [sys.executable, "-c", BUILD, str(out)], cwd=ROOT, capture_output=True, text=True, check=True
    )
    wheel, source = done.stdout.split()[-2:]
    return out / wheel, out / source


def sources() -> set[str]:
    """The files of the package as the checkout has them."""
    files = (path for path in (ROOT / "costplan").rglob("*") if path.is_file() and "__pycache__" not in path.parts)
    return {path.relative_to(ROOT).as_posix() for path in files}


def test_the_wheel_holds_the_package_and_its_data_and_nothing_else(built: tuple[Path, Path]) -> None:
    with zipfile.ZipFile(built[0]) as archive:
        names = archive.namelist()
        info = {name.partition("/")[2]: archive.read(name).decode() for name in names if ".dist-info/" in name}
    assert {name for name in names if ".dist-info/" not in name} == sources()
    for kind in (
        "templates/simple/calendar.csv",
        "fonts/OFL.txt",
        "layout/shop.typ",
        "work.schema.json",
        "rules/pack.py",
    ):
        assert [name for name in names if name.endswith(kind)], kind
    assert "costplan = costplan.cli:main" in info["entry_points.txt"]
    assert {"licenses/LICENSE", "licenses/costplan/report/fonts/OFL.txt"} <= info.keys()
    metadata = message_from_string(info["METADATA"])
    assert metadata["Version"] == costplan.__version__
    needs = {need.partition(">")[0] for need in metadata.get_all("Requires-Dist", []) if "extra" not in need}
    assert {"openpyxl", "numpy", "typer"} <= needs
    assert not {"pytest", "hatchling"} & needs


def test_the_source_distribution_has_the_demo_and_the_tests(built: tuple[Path, Path]) -> None:
    with tarfile.open(built[1]) as archive:
        names = {name.partition("/")[2] for name in archive.getnames()}
    assert {
        "README.md",
        "scenarios/oval-v8/scenario.toml",
        "catalogs/oval-v8/catalog.toml",
        "tests/conftest.py",
    } <= names
    assert not [name for name in names if name.startswith((".ci/", ".venv/", ".git/"))]


def test_the_installed_package_works_from_another_folder(built: tuple[Path, Path], tmp_path: Path) -> None:
    site, here = tmp_path / "site", tmp_path / "here"
    here.mkdir()
    with zipfile.ZipFile(built[0]) as archive:  # as an installer does with plain Python
        archive.extractall(site)  # noqa: S202 - our own archive
    asked = ("--version", "new my --simple", "season my", "columns calendar.csv", "season scenarios/oval-v8")
    done = subprocess.run(  # noqa: S603 - our own code
        [sys.executable, "-c", RUN, *asked],
        cwd=here,
        env={**os.environ, "PYTHONPATH": str(site), "COLUMNS": "80"},
        capture_output=True,
        text=True,
        check=True,
    )
    where, *answers = done.stdout.split("==\n")
    assert where.strip() == str(site / "costplan" / "__init__.py")
    assert [answer.splitlines()[-1] for answer in answers] == ["status 0"] * 4 + ["status 2"], done.stdout + done.stderr
    version, new, season, columns, _ = answers
    assert costplan.__version__ in version
    assert "my is written" in new
    assert "per race" in season
    assert "lap_length" in columns
    assert "not with the installed package" in done.stderr
    assert sorted(path.name for path in here.iterdir()) == ["my"]
