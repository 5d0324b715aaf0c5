"""Questions are asked at the root of the project, where the demo is."""

from __future__ import annotations

import os

import pytest

from tests.test_questions import asking
from tests.test_questions.asking import ROOT


@pytest.fixture(autouse=True, scope="session")
def shared_by_processes(tmp_path_factory: pytest.TempPathFactory) -> None:
    """The folder beside those of the processes that run tests side by side, if there are several."""
    if "PYTEST_XDIST_WORKER" in os.environ:
        asking.KEPT = tmp_path_factory.getbasetemp().parent / "answers"


@pytest.fixture(autouse=True)
def at_the_root(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(ROOT)
