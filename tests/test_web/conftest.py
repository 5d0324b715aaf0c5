"""What the tests of web pages share: pages of the demos, written once."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests import command_line
from tests.test_web.reading import Read, read

#: A day in the middle of the season, and seasons enough for a spread.
DAYS = {"oval-v8": "2027-07-01", "kart-single": "2027-03-01", "road-four": "2027-07-01"}


@pytest.fixture(scope="session")
def racer_files(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Path]:
    """The racer's page of each demo, by scenario."""
    folder = tmp_path_factory.mktemp("pages")
    return {name: page_file(folder, f"scenarios/{name}", "racer", day) for name, day in DAYS.items()}


def page_file(folder: Path, scenario: str, reader: str, day: str) -> Path:
    """A page as the command writes it."""
    status, _, err = command_line.run(
        "report", scenario, "--for", reader, "--on", day, "--seasons", 250, "--out", folder
    )
    assert (status, err) == (0, "")
    return folder / f"{Path(scenario).name}-{reader}-{day}.html"


@pytest.fixture(scope="session")
def racer_pages(racer_files: dict[str, Path]) -> dict[str, Read]:
    return {name: read(path.read_text("utf-8")) for name, path in racer_files.items()}
