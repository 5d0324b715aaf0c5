"""Limits as sums: whatever the checkers let stand the sums let stand, and they put out most of what breaks."""

from __future__ import annotations

from itertools import product
from pathlib import Path

import pytest

from costplan.choose import AIMS, Wishes, best, encode, prepare, questioning
from costplan.choose.encoded import lazily_barred
from costplan.choose.puzzle import Bounded
from tests.test_choose.drawn_scenarios import DAY, draw
from tests.test_choose.small_shop import shop


def test_no_sum_puts_out_what_its_question_lets_stand(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(questioning, "TABLE_MOST", 0)
    put_out = left = 0
    for seed in range(100):
        files, wishes = draw(seed)
        encoded = encode(files.write(tmp_path / str(seed)), wishes, whole=True)
        questions = dict(encoded.lazy)
        sums = [one for one in encoded.puzzle.restrictions if isinstance(one, Bounded) and one.ground in questions]
        if not sums:
            continue
        for pick in product(*(range(size) for size in encoded.puzzle.sizes)):
            barred = {one.ground for one in lazily_barred(encoded, pick)}
            by_sums = {one.ground for one in sums if not one.holds(pick)}
            assert by_sums <= barred, (seed, pick, [encoded.puzzle.grounds[one].name for one in by_sums - barred])
            put_out += len(by_sums)
            left += len(barred & {one.ground for one in sums} - by_sums)
    assert put_out > 400
    assert left < put_out / 4


PARTS = "R-A,rod,Hill,40,2027-01-10,1,2,0,450.4,steel P-A,pin,Hill,7,2027-01-10,1,2,0,200,"


@pytest.mark.parametrize(
    ("bound", "meets"),
    [
        ('max = "650 g"', False),
        ('max = "650 g"\nrounding = "rounded"', True),
        ('max = "650.0 g"\nrounding = "rounded"', False),
        ('max = "640 g"\ntolerance = "10.4 g"', True),
        ('max = "640 g"\ntolerance = "10.3 g"', False),
        ('max = "640 g"\ntolerance = "10 g"\nrounding = "rounded"', True),
        ('min = "651 g"\nrounding = "rounded"', False),
        ('min = "660 g"\ntolerance = "9.6 g"', True),
        ('nominal = "655 g"\nwithin = "4.6 g"', True),
        ('nominal = "655 g"\nwithin = "4.5 g"', False),
        ('max = "1.4339 lb"', True),  # 650.4 g are 1.433887 lb
        ('max = "1.4338 lb"', False),
        ('max = "0.6504 kg"', True),
    ],
)
def test_a_sum_is_as_wide_as_rounding_tolerance_and_units_make_it(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, bound: str, meets: bool
) -> None:
    monkeypatch.setattr(questioning, "TABLE_MOST", 0)
    rule = f'[[rule]]\nid = "sum"\nkind = "limit"\nsays = "sum"\nof = "rods.mass pin.mass"\n{bound}\n'
    scenario = shop(tmp_path, PARTS, {"rods": "rod", "pin": "pin"}, "rods,R-A pin,P-A", rule)
    aimed = prepare(scenario, Wishes(DAY))
    assert aimed.encoded.sums
    assert best(aimed, AIMS["price"])[0].proof.status == ("optimal" if meets else "impossible")
