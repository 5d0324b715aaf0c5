"""Reading and checking a table takes a small multiple of reading it bare; `tests/bench` measures it closely."""

from __future__ import annotations

import csv
import random
import sys
from collections.abc import Callable
from pathlib import Path
from time import process_time

import pytest

from costplan.catalog import read_catalogs

#: Twice what was measured (8 to 11, CPython 3.11 on x86-64), so that a slow machine passes and a slow reader does not.
AT_MOST = 20


def least(work: Callable[[], object]) -> float:
    """The least seconds of processor time of some runs: what else runs on the machine does not count."""
    found = []
    for _ in range(5):
        start = process_time()
        work()
        found.append(process_time() - start)
    return min(found)


@pytest.mark.skipif(sys.gettrace() is not None, reason="under a tracer only Python code is slow")
def test_a_catalog_of_5000_rows_is_read_in_a_small_multiple_of_the_bare_file(tmp_path: Path) -> None:
    draw = random.Random(1)  # noqa: S311 - not for secrets
    (tmp_path / "catalog.toml").write_text('name = "invented"\ncurrency = "USD"\n', encoding="utf-8")
    (tmp_path / "roles.csv").write_text("role\npiston\n", encoding="utf-8")
    rows = ["part,name,role,supplier,price,price_date,pack,lead_days,resale,mass [g],bore [in]"]
    for number in range(5_000):
        price, mass, day = draw.uniform(5, 2000), draw.uniform(20, 3000), 1 + number % 28
        rows.append(f"P-{number},part {number},piston,x,{price:.2f},2027-01-{day:02d},1,{number % 60},,{mass:.1f},4.03")
    path = tmp_path / "parts.csv"
    path.write_text("\n".join(rows), encoding="utf-8")

    def bare() -> None:
        with path.open(encoding="utf-8", newline="") as file:
            assert len(list(csv.DictReader(file))) == 5_000

    def whole() -> None:
        catalog, problems = read_catalogs([tmp_path])
        assert (len(catalog.parts), problems) == (5_000, ())

    assert least(whole) <= AT_MOST * least(bare)
