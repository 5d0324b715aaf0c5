"""Questions are asked at the root of the project, where the demo is."""

from __future__ import annotations

import pytest

from tests.test_questions.asking import ROOT


@pytest.fixture(autouse=True)
def at_the_root(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(ROOT)
