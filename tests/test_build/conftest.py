"""The small engine, read once for all tests of a file."""

from __future__ import annotations

import pytest

from costplan.build import Build, Pattern
from costplan.build.airflow import Estimator
from costplan.catalog import Catalog
from tests.test_build.small_four import read


@pytest.fixture(scope="module")
def small(tmp_path_factory: pytest.TempPathFactory) -> tuple[Catalog, Pattern, Build]:
    return read(tmp_path_factory.mktemp("small"))


@pytest.fixture
def estimator(small: tuple[Catalog, Pattern, Build]) -> Estimator:
    return Estimator(small[1], small[0])


@pytest.fixture
def build(small: tuple[Catalog, Pattern, Build]) -> Build:
    return small[2]
