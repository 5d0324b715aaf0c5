"""The theory of lives: what holds for every life, limits, independent references, and what is refused."""

from __future__ import annotations

import math
import subprocess
import sys
from collections.abc import Callable
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from pytest import approx
from scipy import integrate, optimize, stats  # type: ignore[import-untyped]

from costplan.formulas import InputError
from costplan.life import Weibull
from costplan.life.theory import (
    FirstOf,
    Lifetime,
    age_replacement_rate,
    best_age,
    best_age_in_steps,
    best_block,
    best_minimal_repair,
    block_replacement_rate,
    compare_policies,
    damage_by_load,
    distribution_of,
    first_of,
    mean_remaining_life,
    minimal_repair_rate,
    ratio_to_failure,
    remaining_life,
    renewal_asymptote,
    renewals,
    repeats_to_failure,
    run_to_failure_rate,
    survival_given,
)

SCALES = st.floats(0.01, 1e5)
#: Lives that wear out: their hazard increases.
WEARING = st.one_of(
    st.builds(lambda shape, scale: stats.weibull_min(shape, scale=scale), st.floats(1.2, 12), SCALES),
    st.builds(lambda shape, scale: stats.gamma(shape, scale=scale), st.floats(1.3, 30), SCALES),
    st.builds(lambda least, width: stats.uniform(least, width), st.floats(0, 100), st.floats(1, 100)),
)
#: And lives that do not.
SINGLE = st.one_of(
    WEARING,
    st.builds(lambda shape, scale: stats.weibull_min(shape, scale=scale), st.floats(0.5, 1.2), SCALES),
    st.builds(lambda sigma, scale: stats.lognorm(sigma, scale=scale), st.floats(0.1, 1), SCALES),
)
LIVES = st.one_of(SINGLE, st.builds(first_of, SINGLE, SINGLE))
SHARES = st.floats(0.001, 0.999)
COSTS = st.floats(1.05, 200)

some = settings(max_examples=40, deadline=None)
few = settings(max_examples=15, deadline=None)


# Renewal


@few
@given(LIVES, st.lists(st.floats(0.01, 4), min_size=2, max_size=4, unique=True))
def test_expected_failures_lie_between_their_bounds(life: Lifetime, shares: list[float]) -> None:
    times = [share * life.mean() for share in sorted(shares)]
    found = renewals(life, times, tolerance=1e-5)
    slack = found.error + 1e-9
    for time, expected in zip(times, found.expected, strict=True):
        failed, survived = float(life.cdf(time)), float(life.sf(time))
        assert failed - slack <= expected
        assert expected <= (failed / survived if survived else math.inf) + slack
        assert expected >= time / life.mean() - 1 - slack
    assert all(later >= earlier - slack for earlier, later in pairwise(found.expected))
    assert min(found.variance) >= 0


@few
@given(st.floats(0.01, 1e4), st.floats(0.01, 20))
def test_an_exponential_life_fails_at_a_steady_rate(mean: float, lives: float) -> None:
    found = renewals(stats.expon(scale=mean), (0, lives * mean))
    assert found.expected == approx((0, lives), abs=1e-7)
    assert found.variance == approx((0, lives), abs=1e-7)
    assert renewal_asymptote(stats.expon(scale=mean), lives * mean) == approx(lives)


@pytest.mark.parametrize("shape", [0.5, 0.8, 1.5, 3, 10, 50])
def test_gamma_lives_add_up_to_gamma_lives(shape: float) -> None:
    # The n-th failure of gamma lives is a gamma life of n times the shape: M = sum of F_n, P = sum of n * F_n.
    times = tuple(part * shape for part in (0.1, 0.37, 1, 3, 10))
    found = renewals(stats.gamma(shape), times)
    number = np.arange(1, 2000)
    failed = [stats.gamma.cdf(time, shape * number) for time in times]
    expected = [float(np.sum(shares)) for shares in failed]
    squares = [float(np.sum((2 * number - 1) * shares)) for shares in failed]
    assert found.expected == approx(expected, abs=found.error)
    assert found.variance == approx([a - b * b for a, b in zip(squares, expected, strict=True)], abs=found.error)
    assert found.error < (1e-4 if shape < 1 else 1e-7)


def test_a_uniform_life_beyond_its_end() -> None:
    # Between 1 and 2 the renewal equation has e^t - 1 - (t - 1) e^(t - 1); the density jumps there.
    times = (1.37, 1.9)
    found = renewals(stats.uniform(), times)
    assert found.expected == approx([math.exp(t) - 1 - (t - 1) * math.exp(t - 1) for t in times], abs=1e-6)


def test_a_life_of_hardly_any_spread_fails_by_the_clock() -> None:
    found = renewals(stats.norm(10, 0.1), (9, 15, 25, 35))
    assert found.expected == approx((0, 1, 2, 3), abs=1e-6)
    assert found.variance == approx((0, 0, 0, 0), abs=1e-6)


def test_times_between_the_points_of_the_grid() -> None:
    # The longest time sets the grid, and the others lie anywhere between its points.
    times = (0.37, 1.2345, math.pi, 3.3)
    assert renewals(stats.expon(), times).expected == approx(times, abs=1e-8)


def test_times_may_come_in_any_order_and_twice() -> None:
    life = stats.weibull_min(2, scale=30)
    rising = renewals(life, (0, 10, 40)).expected
    assert renewals(life, (40, 10, 0, 40)).expected == (rising[2], rising[1], rising[0], rising[2])


def test_before_use_nothing_has_failed() -> None:
    found = renewals(stats.weibull_min(2), (0, 0))
    assert (found.expected, found.variance, found.error) == ((0, 0), (0, 0), 0)


def test_a_looser_tolerance_is_told_as_a_larger_error() -> None:
    life = stats.weibull_min(1.5)
    loose, close = renewals(life, (1, 5), tolerance=1e-3), renewals(life, (1, 5), tolerance=1e-7)
    assert close.error <= 1e-7 < loose.error <= 1e-3
    assert loose.expected == approx(close.expected, abs=loose.error)


# Replacement


@some
@given(LIVES, COSTS, st.lists(SHARES, min_size=1, max_size=5))
def test_no_age_is_better_than_the_best(life: Lifetime, failure_cost: float, shares: list[float]) -> None:
    best = best_age(life, 1, failure_cost)
    rate = age_replacement_rate(life, 1, failure_cost, best)
    assert rate <= run_to_failure_rate(life, failure_cost)
    for share in shares:
        assert rate <= age_replacement_rate(life, 1, failure_cost, float(life.ppf(share))) * (1 + 2e-9)


@few
@given(LIVES, COSTS, SHARES)
def test_no_interval_is_better_than_the_best_block(life: Lifetime, failure_cost: float, share: float) -> None:
    best = best_block(life, 1, failure_cost)
    other = float(life.ppf(share))
    rates = [block_replacement_rate(life, 1, failure_cost, at) for at in (best, other)]
    assert rates[0] <= run_to_failure_rate(life, failure_cost)
    assert rates[0] <= rates[1] * (1 + 1e-6)


@few
@given(WEARING, COSTS, SHARES)
def test_no_block_is_cheaper_than_the_best_age(life: Lifetime, failure_cost: float, share: float) -> None:
    # Age is all there is to know of a part, so nothing is cheaper than a policy that heeds it.
    by_age = age_replacement_rate(life, 1, failure_cost, best_age(life, 1, failure_cost))
    assert block_replacement_rate(life, 1, failure_cost, float(life.ppf(share))) >= by_age * (1 - 1e-5)


@some
@given(st.floats(0.01, 1e5), COSTS)
def test_an_exponential_life_is_never_renewed_before_it_fails(mean: float, failure_cost: float) -> None:
    life = stats.expon(scale=mean)
    assert best_age(life, 1, failure_cost) == math.inf
    assert best_age_in_steps(life, 1, failure_cost, mean / 10) == math.inf
    assert best_minimal_repair(life, 1, failure_cost) == math.inf
    assert age_replacement_rate(life, 1, failure_cost, math.inf) == approx(failure_cost / mean)


@few
@given(st.floats(0.01, 1e4), COSTS)
def test_an_exponential_life_has_no_best_block(mean: float, failure_cost: float) -> None:
    life = stats.expon(scale=mean)
    assert best_block(life, 1, failure_cost) == math.inf
    assert block_replacement_rate(life, 1, failure_cost, math.inf) == approx(failure_cost / mean)


@some
@given(st.floats(1.2, 10), SCALES, st.floats(0.01, 100))
def test_minimal_repair_of_a_weibull_life(shape: float, scale: float, repair_cost: float) -> None:
    expected = scale * (1 / (repair_cost * (shape - 1))) ** (1 / shape)
    assert best_minimal_repair(stats.weibull_min(shape, scale=scale), 1, repair_cost) == approx(expected, rel=1e-5)


@some
@given(st.floats(1.5, 8), SCALES, COSTS, st.floats(0.02, 2))
def test_no_number_of_steps_is_better_than_the_best(
    shape: float, scale: float, failure_cost: float, part: float
) -> None:
    life, step = stats.weibull_min(shape, scale=scale), part * scale
    best = best_age_in_steps(life, 1, failure_cost, step)
    rate = age_replacement_rate(life, 1, failure_cost, best)
    assert math.isinf(best) or best / step == approx(round(best / step))
    for number in (1, 2, 3, 5, 10, 30, math.inf):
        assert rate <= age_replacement_rate(life, 1, failure_cost, number * step) * (1 + 1e-8)


def test_one_step_that_is_too_long_is_no_age() -> None:
    assert best_age_in_steps(stats.weibull_min(4, scale=10), 1, 5, step=50) == math.inf


@pytest.mark.parametrize("scale", [1e-3, 1, 1e6])
def test_ages_scale_with_the_unit_of_use(scale: float) -> None:
    life = stats.weibull_min(2.5, scale=scale)
    assert best_age(life, 1, 5) / scale == approx(0.493047, abs=1e-6)
    assert best_block(life, 1, 5) / scale == approx(0.478413, abs=1e-6)
    assert best_minimal_repair(life, 1, 5) / scale == approx(0.446658, abs=1e-6)


def test_best_block_meets_its_first_order_condition() -> None:
    # T * m(T) - M(T) = planned / failure, with the renewal density m by differences.
    life = stats.weibull_min(2.5, scale=1000)
    at = best_block(life, 1, 5)
    before, there, after = renewals(life, (at - 5, at, at + 5), tolerance=1e-10).expected
    assert at * (after - before) / 10 - there == approx(1 / 5, abs=1e-4)


@pytest.mark.parametrize("shape", [1.5, 2.5, 6])
def test_best_block_is_where_its_rate_is_least(shape: float) -> None:
    life = stats.weibull_min(shape)
    least = optimize.minimize_scalar(
        lambda at: block_replacement_rate(life, 1, 5, at),
        bounds=(0.4, 0.9),
        method="bounded",
        options={"xatol": 1e-9},
    )
    assert best_block(life, 1, 5) == approx(float(least.x), rel=1e-6)


def test_a_block_that_saves_next_to_nothing_is_none() -> None:
    # Best at four mean lives, where it would save 5e-6: the planned cost is within 1e-4 of (1 - cv^2) / 2 failures.
    life = stats.weibull_min(1.2)
    failure_cost = 2 / (1 - (life.std() / life.mean()) ** 2) / 0.9999
    assert block_replacement_rate(life, 1, failure_cost, 4 * life.mean()) < run_to_failure_rate(life, failure_cost)
    assert best_block(life, 1, failure_cost) == math.inf


def test_an_early_block_where_failures_cost_very_much() -> None:
    # For small T, M(T) is about F(T), and (T / scale)^2 the planned cost's share of the failure's.
    assert best_block(stats.weibull_min(2, scale=100), 1, 1e6) == approx(100 * 1e-3, rel=1e-4)


def test_a_part_that_cannot_fail_early_is_renewed_just_before_it_can() -> None:
    assert best_age(stats.uniform(5, 1), 1, 50) == approx(5, abs=1e-6)
    assert best_block(stats.uniform(5, 1), 1, 50) == 5


def test_a_life_from_hardly_above_zero_has_a_best_age() -> None:
    assert best_age(stats.uniform(5e-324, 1), 1, 5) == approx(best_age(stats.uniform(0, 1), 1, 5), abs=1e-6)


def test_policies_side_by_side() -> None:
    failure, age, block = compare_policies(stats.weibull_min(3, scale=40), 100, 900)
    assert [policy.kind for policy in (failure, age, block)] == ["failure", "age", "block"]
    assert (failure.at, failure.ratio) == (math.inf, 1)
    assert age.ratio < block.ratio < 1
    assert age.ratio == approx(age.rate / failure.rate)


def test_policies_that_all_run_to_failure() -> None:
    policies = compare_policies(stats.weibull_min(0.8, scale=40), 100, 900)
    assert [(policy.kind, policy.at, policy.ratio) for policy in policies] == [
        ("failure", math.inf, 1),
        ("age", math.inf, 1),
        ("block", math.inf, 1),
    ]


# The first of several modes


@some
@given(SINGLE, SHARES)
def test_the_first_of_one_is_itself(life: Lifetime, share: float) -> None:
    assert first_of(life) is life
    alone = FirstOf((life,))
    assert alone.mean() == approx(float(life.mean()), rel=1e-8)
    assert alone.std() == approx(float(life.std()), rel=1e-6)
    use = float(life.ppf(share))
    assert alone.ppf(share) == approx(use, rel=1e-9)
    assert alone.isf(1 - share) == approx(use, rel=1e-9)
    assert alone.pdf(use) == approx(float(life.pdf(use)))


@some
@given(SINGLE, SINGLE, SHARES)
def test_the_first_of_two_is_no_later_than_either(one: Lifetime, other: Lifetime, share: float) -> None:
    first = first_of(one, other)
    use = float(first.ppf(share))
    assert first.sf(use) == approx(1 - share, abs=1e-9)
    assert first.cdf(use) == approx(share, abs=1e-9)
    assert use <= min(float(one.ppf(share)), float(other.ppf(share)))
    assert first.mean() <= min(float(one.mean()), float(other.mean())) * (1 + 1e-9)
    assert first.logsf(use) == approx(float(one.logsf(use) + other.logsf(use)))
    assert isinstance(first, FirstOf)
    assert sum(first.shares()) == approx(1, abs=1e-6)


@some
@given(st.floats(0.5, 8), SCALES, st.integers(2, 6))
def test_the_first_of_like_weibull_lives_is_that_of_their_set(shape: float, scale: float, pieces: int) -> None:
    piece = Weibull(scale, shape)
    first, whole = first_of(*(distribution_of(piece) for _ in range(pieces))), piece.of_set(pieces)
    assert first.mean() == approx(whole.mean, rel=1e-7)
    assert first.std() == approx(whole.deviation, rel=1e-5)
    assert first.ppf([1e-9, 0.1, 0.9]) == approx([whole.use_at(share) for share in (1e-9, 0.1, 0.9)], rel=1e-9)
    assert first.pdf(scale) == approx(whole.density(scale), rel=1e-9)


def test_a_first_of_firsts_is_taken_apart() -> None:
    parts = stats.expon(scale=3), stats.expon(scale=4), stats.expon(scale=5)
    assert first_of(first_of(*parts[:2]), parts[2]) == FirstOf(parts)


def test_the_ends_of_a_first() -> None:
    first = first_of(stats.uniform(2, 5), stats.uniform(3, 1))
    assert first.ppf([0, 1]) == approx([2, 4])
    assert first.isf([0, 1]) == approx([4, 2])
    assert np.isnan(first.ppf(1.5))


def test_a_first_is_replaced_by_age_where_its_modes_are_integrated_otherwise() -> None:
    first = first_of(stats.weibull_min(3, scale=50), stats.expon(scale=200))
    got = integrate.quad(lambda use: first.sf(use), 0, 30, epsabs=1e-12)[0]
    expected = (1 * first.sf(30) + 9 * first.cdf(30)) / got
    assert age_replacement_rate(first, 1, 9, 30) == approx(expected, rel=1e-10)
    assert 0 < best_age(first, 1, 9) < best_age(stats.weibull_min(3, scale=50), 1, 9) * 1.5


def test_a_life_of_infinite_mean_stays_infinite() -> None:
    life = stats.halfcauchy()
    assert mean_remaining_life(life, 3) == math.inf
    assert run_to_failure_rate(life, 5) == 0
    assert best_age(life, 1, 5) == math.inf


# Parts with use on them


@some
@given(LIVES, st.lists(st.floats(0.001, 0.99), min_size=3, max_size=3))
def test_surviving_in_stages_is_surviving_all_of_them(life: Lifetime, shares: list[float]) -> None:
    first, second, third = (float(life.ppf(share)) for share in sorted(shares))
    stages = survival_given(life, first, second) * survival_given(life, second, third)
    assert stages == approx(survival_given(life, first, third), rel=1e-9)
    assert survival_given(life, 0, third) == approx(float(life.sf(third)), rel=1e-9)
    assert survival_given(life, first, first) == 1


@some
@given(LIVES, st.floats(0.001, 0.99), SHARES)
def test_what_is_left_is_the_quantile_of_those_alive(life: Lifetime, aged: float, share: float) -> None:
    age = float(life.ppf(aged))
    left = remaining_life(life, age, share)
    assert survival_given(life, age, age + left) == approx(1 - share, abs=1e-6)


@some
@given(SINGLE, st.floats(0.001, 0.99))
def test_the_mean_is_what_is_got_before_an_age_and_after(life: Lifetime, aged: float) -> None:
    age = float(life.ppf(aged))
    corners = [float(life.ppf(share)) for share in (0, 1e-6, 1e-3, aged / 2)]
    before = integrate.quad(life.sf, 0, age, points=corners, limit=200)[0]
    after = mean_remaining_life(life, age) * float(life.sf(age))
    assert before + after == approx(float(life.mean()), rel=1e-6)


def test_a_mean_that_a_long_tail_makes() -> None:
    # Pareto of exponent 1.2: the mean is 6, of which a share of 2^-12 lies beyond a use of 2^60.
    assert mean_remaining_life(stats.pareto(1.2), 0) == approx(6, rel=1e-9)


def test_what_is_left_at_ages_that_hardly_any_part_reaches() -> None:
    life = stats.expon()
    assert mean_remaining_life(life, 300) == approx(1, rel=1e-9)
    assert remaining_life(life, 300, 0.5) == approx(math.log(2), rel=1e-9)
    assert survival_given(life, 300, 301) == approx(math.exp(-1), rel=1e-9)


def test_what_wears_out_has_less_left_with_age() -> None:
    left = [mean_remaining_life(stats.weibull_min(2.5, scale=40), age) for age in (0, 20, 60, 120)]
    assert left == sorted(left, reverse=True)


@given(SCALES, st.floats(0.5, 8), st.floats(0.01, 3))
def test_the_distribution_of_a_weibull_life_is_that_life(scale: float, shape: float, part: float) -> None:
    weibull, use = Weibull(scale, shape), part * scale
    life = distribution_of(weibull)
    assert life.sf(use) == approx(weibull.survival(use), rel=1e-9)
    assert life.pdf(use) == approx(weibull.density(use), rel=1e-9)
    assert (life.mean(), life.std()) == approx((weibull.mean, weibull.deviation), rel=1e-6)


# Damage


def test_one_load_lasts_its_own_life() -> None:
    assert repeats_to_failure([2], [100]) == approx(50)
    assert repeats_to_failure([2, 0], [100, 1]) == approx(50)
    assert repeats_to_failure([0], [100]) == math.inf
    assert damage_by_load([3], [math.inf]) == (0,)


# What is refused

PART = stats.weibull_min(2, scale=10)


@pytest.mark.parametrize(
    ("compute", "name"),
    [
        (lambda: renewals(PART, ()), "times"),
        (lambda: renewals(PART, (1, -1)), "times"),
        (lambda: renewals(PART, (math.inf,)), "times"),
        (lambda: renewals(PART, (1e6,)), "times"),
        (lambda: renewals(PART, (1,), tolerance=0), "tolerance"),
        (lambda: renewals(stats.norm(1, 1), (1,)), "life"),
        (lambda: renewal_asymptote(stats.lomax(1.5), 1), "life"),
        (lambda: renewal_asymptote(PART, -1), "time"),
        (lambda: run_to_failure_rate(PART, 0), "failure_cost"),
        (lambda: ratio_to_failure(PART, 1, 0), "rate"),
        (lambda: age_replacement_rate(PART, 1, 5, 0), "at"),
        (lambda: age_replacement_rate(PART, 1, 5, math.nan), "at"),
        (lambda: age_replacement_rate(PART, 0, 5, 1), "planned_cost"),
        (lambda: age_replacement_rate(stats.norm(1, 1), 1, 5, 1), "life"),
        (lambda: best_age(PART, -1, 5), "planned_cost"),
        (lambda: best_age(PART, 1, math.inf), "failure_cost"),
        (lambda: best_age_in_steps(PART, 1, 5, 0), "step"),
        (lambda: block_replacement_rate(PART, 1, 5, -2), "at"),
        (lambda: best_block(stats.halfcauchy(), 1, 5), "life"),
        (lambda: best_block(PART, 1, 0), "failure_cost"),
        (lambda: minimal_repair_rate(PART, 1, 5, math.inf), "at"),
        (lambda: minimal_repair_rate(stats.uniform(), 1, 5, 2), "at"),
        (lambda: minimal_repair_rate(PART, 1, 0, 2), "repair_cost"),
        (lambda: best_minimal_repair(PART, 0, 5), "planned_cost"),
        (lambda: first_of(), "lives"),
        (lambda: first_of(PART, stats.norm(0, 1)), "life"),
        (lambda: distribution_of(Weibull(math.inf, 1)), "scale"),
        (lambda: survival_given(PART, 5, 4), "to"),
        (lambda: survival_given(PART, -1, 4), "age"),
        (lambda: survival_given(stats.uniform(), 1, 2), "age"),
        (lambda: remaining_life(PART, 1, 1), "share"),
        (lambda: mean_remaining_life(stats.uniform(), 2), "age"),
        (lambda: damage_by_load((), ()), "use"),
        (lambda: damage_by_load((1, 2), (1,)), "use"),
        (lambda: damage_by_load((-1,), (1,)), "use"),
        (lambda: damage_by_load((1,), (0,)), "lives"),
        (lambda: repeats_to_failure((1,), (math.nan,)), "lives"),
    ],
)
def test_an_input_without_an_answer_is_named(compute: Callable[[], object], name: str) -> None:
    with pytest.raises(InputError) as refused:
        compute()
    assert refused.value.name == name


def test_lives_are_had_without_loading_scipy() -> None:
    code = "import sys, costplan.life; print('scipy' in sys.modules)"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)  # noqa: S603
    assert done.stdout.strip() == "False"
