"""What an entrant's change costs from literal seasons: two of them, of two years each."""

from __future__ import annotations

import math

import numpy as np
import pytest
from pytest import approx

from costplan.impact.adding import added, without_once
from costplan.impact.costing import Priced, cost_of, factors_of, payback_of, priced, shifted, total_of
from costplan.season.drawn.years import YearDraws


def drawn(cash: list[list[int]], wear: list[list[int]] | None = None, left: list[list[int]] | None = None) -> YearDraws:
    """Draws of which only these tables are not zero."""
    paid = np.array(cash, dtype=np.int64)
    none = np.zeros_like(paid)
    used, rest = (none if one is None else np.array(one, dtype=np.int64) for one in (wear, left))
    return YearDraws(
        cash=paid,
        wear=used,
        left=rest,
        engine=none,
        lost=none.astype(float),
        races=none,
        missed=none,
        stopped=none,
        line=np.zeros((2, 3)),
        opened=np.zeros((2, 1, 1)),
        traded=0,
        asked=len(cash),
    )


BEFORE = drawn([[100, 100], [100, 100]], [[30, 30], [30, 30]], [[500, 40], [500, 40]])
AFTER = drawn([[150, 90], [170, 70]], [[34, 30], [40, 28]], [[700, 60], [300, 80]])
COST = cost_of(BEFORE, AFTER, 30.0, (0.1, 0.0))


def test_first_is_what_is_paid_once_with_the_first_year() -> None:
    assert COST.once == 30
    assert COST.cash.tolist() == [60, -20]  # means of 50, 70 and of -10, -30
    assert COST.first.mean == 90
    assert COST.first.error == approx(10)  # of 80 and 100: sd 14.142, over the root of 2


def test_yearly_is_what_each_later_year_costs() -> None:
    assert COST.yearly.mean == -20
    assert COST.yearly.error == approx(10)


def test_yearly_is_the_mean_over_all_later_years() -> None:
    before, after = drawn([[0, 0, 0], [0, 0, 0]]), drawn([[1, 10, 30], [1, 20, 40]])
    assert cost_of(before, after, 0.0, (0.0,)).yearly.mean == 25


def test_wear_is_a_mean_over_the_years() -> None:
    assert COST.used.mean == approx((4 + 0 + 10 - 2) / 4)


def test_over_the_years_takes_off_what_is_left_at_the_end_of_the_last() -> None:
    at_tenth = [30 + 50 / 1.1 - 10 / 1.21 - 20 / 1.21, 30 + 70 / 1.1 - 30 / 1.21 - 40 / 1.21]
    plain = [30.0 + 50 - 10 - 20, 30.0 + 70 - 30 - 40]
    for found, (one, other) in zip(COST.over, (at_tenth, plain), strict=True):
        assert found.mean == approx((one + other) / 2)
        assert found.error == approx(abs(one - other) / 2)


def test_more_seasons_of_one_side_are_left_out_since_they_have_no_fellow() -> None:
    more = drawn([[150, 90], [170, 70], [9000, 9000]], [[34, 30], [40, 28], [9, 9]], [[700, 60], [300, 80], [9, 9]])
    assert cost_of(BEFORE, more, 30.0, (0.1,)).over == COST.over[:1]


def test_the_same_seasons_cost_nothing() -> None:
    same = cost_of(AFTER, AFTER, 0.0, (0.1,))
    assert {same.first, same.yearly, same.used, *same.over} == {Priced(0.0, 0.0)}


@pytest.mark.parametrize(
    ("once", "cash", "rate", "years"),
    [
        (100.0, [-55.0, -121.0], 0.1, 1.5),  # 50 of today's money, then half of 100
        (100.0, [-220.0, 0.0], 0.1, 0.5),
        (100.0, [-55.0, -242.0], 0.1, 1.25),  # 50, then a quarter of 200
        (100.0, [11.0, -242.0], 0.1, 1.55),  # 110 owed after a year, of 200
        (100.0, [-55.0, -55.0], 0.1, None),  # 50 + 45.45
        (0.0, [-50.0], 0.1, 0.0),
        (0.0, [50.0], 0.1, None),  # nothing paid, and nothing ever saved
        (-50.0, [44.0], 0.1, 0.0),  # 50 got and 40 paid
        (-30.0, [44.0], 0.1, None),
    ],
)
def test_payback(once: float, cash: list[float], rate: float, years: float | None) -> None:
    found = payback_of(once, cash, rate)
    assert found == (None if years is None else approx(years))


@pytest.mark.parametrize(("share", "expected"), [(0.0, [10, 20, 30]), (0.25, [7.5, 17.5, 27.5]), (1.0, [0, 10, 20])])
def test_costs_that_begin_later_move_from_year_to_year(share: float, expected: list[float]) -> None:
    assert shifted(np.array([10.0, 20.0, 30.0]), share).tolist() == expected


def test_factors_count_from_the_end_of_each_year() -> None:
    assert factors_of(0.25, 3).tolist() == approx([0.8, 0.64, 0.512])
    assert factors_of(0.0, 2).tolist() == [1, 1]


def test_errors_of_independent_means_add_up_by_their_squares() -> None:
    assert total_of([Priced(1.0, 3.0), Priced(-5.0, 4.0)]) == Priced(-4.0, 5.0)
    assert total_of([]) == Priced(0.0, 0.0)


def test_what_was_drawn_too_has_an_error_no_smaller_than_its_spread() -> None:
    figures = [Priced(1.0, 0.3), Priced(5.0, 0.4), Priced(9.0, 0.0)]
    assert total_of(figures).error == approx(0.5)
    assert total_of(figures, drawn=True).error == approx(4 * math.sqrt(3))  # sd 4 between the three
    assert total_of([Priced(5.0, 3.0), Priced(5.0, 4.0)], drawn=True).error == approx(5)
    assert total_of(figures[:1], drawn=True) == figures[0]


def test_a_mean_has_the_error_of_its_sample() -> None:
    found = priced(np.array([1.0, 2.0, 3.0, 6.0]))
    assert found.mean == 3.0
    assert found.error == approx(math.sqrt(14 / 3) / 2)


def test_what_is_paid_once_can_be_taken_out() -> None:
    found = without_once(COST)
    assert (found.once, found.first.mean, found.yearly) == (0.0, 60.0, COST.yearly)
    assert [one.mean for one in found.over] == approx([one.mean - 30 for one in COST.over])


def test_amounts_by_name_are_added_up() -> None:
    assert added([{"a": 1, "b": 2}, {}, {"b": 5}]) == {"a": 1, "b": 7}
