"""What is told of a bill slot by slot: what each part would cost by itself."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import pytest

from costplan.choose import AIMS, Wishes, best, prepare, tell
from tests.test_choose.small_shop import shop

DAY = date(2027, 2, 1)
PARTS = "S-A,stud,Hill,1,2027-01-10,1,2,0,10, P-A,pin,Hill,1,2027-01-10,1,2,0,10,"
KIT = {
    "c/kits.csv": "kit,name,supplier,price,price_date\nK,set,Dale,2,2027-01-10\n",
    "c/kit_contains.csv": "kit,part,pieces\nK,S-A,4\nK,P-A,1\n",
}


@pytest.mark.parametrize(
    ("suppliers", "after"),
    [
        ((), ("3.00", "1.00")),  # three studs and a pin, apart
        (("Dale",), ("2.00", "2.00")),  # Dale sells neither apart: each costs its kit
        (("Dale", "Hill"), ("3.00", "1.00")),
    ],
)
def test_a_part_that_nobody_asked_sells_apart_costs_its_kit(
    tmp_path: Path, suppliers: tuple[str, ...], after: tuple[str, ...]
) -> None:
    scenario = shop(tmp_path, PARTS, {"a": "stud quantity=3", "b": "pin"}, "a,S-A b,P-A", tables=KIT)
    chosen, aimed = best(prepare(scenario, Wishes(DAY, suppliers=suppliers)), AIMS["price"])
    assert chosen.pick is not None
    told = tell(aimed, chosen.pick)
    assert [(one.slot, one.source, str(one.before)) for one in told.slots] == [
        ("a", "kit", "3.00"),
        ("b", "kit", "1.00"),
    ]
    assert tuple(str(one.after) for one in told.slots) == after
    assert told.changes == ()
