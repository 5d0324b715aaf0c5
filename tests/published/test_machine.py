"""The drawn season machine against published and closed values. Each source stands beside its value.

Every check fixes its seed, states how many seasons it draws, and allows four standard errors. A run is at most a
thousandth of a life's scale; what that coarseness does is bounded, and added to the allowance.

Lives are written as `replace_at` = the scale at a risk of 1 - 1/e, the share that has failed by the scale.
"""

from __future__ import annotations

import copy
import math
from collections.abc import Callable
from typing import Any

import numpy as np
import pytest
from pytest import approx

from costplan.season import Season, machine
from costplan.season.arrays import as_drawn
from costplan.season.drawn.drawing import Draws, draw

SeasonOf = Callable[..., Season]

BY_SCALE = repr(1 - math.exp(-1))
#: A shop that gives nothing back within the season.
NEVER = "level,rank,hours\nshop,1,10000000\n"
AT_ONCE = "level,rank\nshop,1\n"


def runs_of(
    season_of: SeasonOf,
    lives: dict[str, tuple[float, float]],
    runs: int,
    hours: float,
    *,
    levels: str = AT_ONCE,
    renewal: str = "run to failure",
    **more: Any,
) -> Season:
    """One event of so many runs of so many hours, a gap of an hour between them.

    `lives`: scale and shape of the part in each slot, each part at 1.00. A failure does not stop the run.
    """
    sessions = "".join(f"long,{n},{hours!r}\n" for n in range(runs))
    tables = {
        "calendar": "event,date,format\nonly,2027-05-01,long\n",
        "sessions": "format,session,hours\n" + sessions,
        "slots": "slot,part,pieces\n" + "".join(f"{slot},{slot},1\n" for slot in lives),
        "parts": "part,price\n" + "".join(f"{slot},1\n" for slot in lives),
        "lives": "part,measure,replace_at,risk,shape\n"
        + "".join(f"{slot},hours,{scale!r},{BY_SCALE},{shape!r}\n" for slot, (scale, shape) in lives.items()),
        "levels": levels,
        "positions": "slot,level,renewal,stops\n" + "".join(f"{slot},shop,{renewal},no\n" for slot in lives),
    }
    found = season_of(**{**tables, **more})
    assert found.problem.scale.tolist() == approx([scale for scale, _ in lives.values()], rel=1e-12)
    assert found.problem.shape.tolist() == [shape for _, shape in lives.values()]
    return found


def failures(draws: Draws) -> machine.Ints:
    """Failures of each season: a part costs 1.00, and nothing else is paid for."""
    counts: machine.Ints = draws.cause[:, machine.FAILURE] // 100
    assert counts.sum() == draws.failures.sum()
    return counts


def four_errors(values: machine.Floats | machine.Ints) -> float:
    return 4 * float(np.std(values, ddof=1)) / math.sqrt(len(values))


def four_errors_of_share(share: float, n: int) -> float:
    return 4 * math.sqrt(share * (1 - share) / n)


def ends(scale: float, shape: float, runs: int) -> machine.Floats:
    """The chance that a new part breaks in run 1, 2 ... of one unit each: its life rounded up to whole runs."""
    survival = np.exp(-((np.arange(runs + 1) / scale) ** shape))
    chances: machine.Floats = survival[:-1] - survival[1:]
    return chances


def renewed(chances: machine.Floats) -> machine.Floats:
    """The chance of a renewal in each run, where `chances` is that of the first in run 1, 2 ...: u = p + p * u."""
    found = np.zeros(len(chances))
    for g in range(len(chances)):
        found[g] = chances[g] + float(chances[:g] @ found[:g][::-1])
    return found


def rounded_up(scale: float, shape: float, runs: int) -> tuple[float, float]:
    """Mean and variance of the failures in so many runs of one unit, of lives that are rounded up to whole runs.

    By the renewal equation in steps: E N = M, E N(N - 1) = 2 * sum of u(i) M(t - i).
    """
    each = renewed(ends(scale, shape, runs))
    mean = np.cumsum(each)
    pairs = 2 * float(each[:-1] @ mean[:-1][::-1])
    return float(mean[-1]), pairs + float(mean[-1]) - float(mean[-1]) ** 2


def late(counts: machine.Ints, scale: float) -> float:
    """How many failures at most are missed on average because a part is mended only before the next run.

    A part that breaks within a run of one unit is renewed up to one unit later: the k-th failure comes less than k
    units late. So a failure is missed at the end only if it falls into the last K units, K being the most failures of
    any season. The density of failures is nowhere above 1.5 / scale for shapes up to 3 (by differences of R03's
    renewal function; in the long run it is 1 / mean, 1.13 / scale at most).
    """
    return 1.5 * int(counts.max()) / scale


# --- failures of one position


@pytest.mark.parametrize(
    ("runs", "mean", "variance", "seasons"),
    [
        # R07, by the renewal equation (computed): Weibull of shape 2.5 and scale 1000, over 500, 1000 and 3000 units.
        (500, 0.1647713, 0.1431262, 10_000),
        (1000, 0.7025071, 0.3541371, 10_000),
        (3000, 2.9727857, 0.7248144, 6_000),
    ],
)
def test_r07_mean_and_variance_of_failures(
    season_of: SeasonOf, runs: int, mean: float, variance: float, seasons: int
) -> None:
    counts = failures(draw(runs_of(season_of, {"part": (1000, 2.5)}, runs, 1), seasons, seed=11))
    coarse_mean, coarse_variance = rounded_up(1000, 2.5, runs)
    assert 0 <= mean - coarse_mean <= late(counts, 1000)
    assert counts.mean() == approx(coarse_mean, abs=four_errors(counts))
    assert counts.mean() == approx(mean, abs=four_errors(counts) + late(counts, 1000))
    squares = (counts - counts.mean()) ** 2
    assert counts.var() == approx(coarse_variance, abs=four_errors(squares))
    assert counts.var() == approx(variance, abs=four_errors(squares) + abs(variance - coarse_variance))
    assert abs(variance - coarse_variance) < 0.01


@pytest.mark.parametrize(
    ("shape", "runs", "expected"),
    [
        # R03, computed by midpoint sums (Xie 1989) with Richardson's extrapolation; the table of Smith & Leadbetter,
        # Technometrics 5 (1963), was not read. At once and twice the scale.
        (1.5, 1000, 0.8415781),
        (1.5, 2000, 1.9455008),
        (2.0, 1000, 0.7536913),
        (2.0, 2000, 1.8940393),
        (3.0, 1000, 0.6723291),
        (3.0, 2000, 1.8010753),
    ],
)
def test_r03_failures_of_other_shapes(season_of: SeasonOf, shape: float, runs: int, expected: float) -> None:
    counts = failures(draw(runs_of(season_of, {"part": (1000, shape)}, runs, 1), 6_000, seed=12))
    assert counts.mean() == approx(expected, abs=four_errors(counts) + late(counts, 1000))


# --- renewal at an age

# Documentation of the Python package reliability 0.9.0, Optimal replacement time: planned 1, failure 5, Weibull of
# scale 1000 and shape 2.5; the policy is Barlow & Hunter's, Operations Research 8 (1960). The exact values (first-order
# condition and a minimiser of SciPy 1.17.1 agree): best age 493.04696 at 0.003462042739 a unit, 0.00563530 without.
AGE, RATE, RATE_TO_FAILURE = 493, 0.003462042739, 0.00563530


def test_a01_cost_rate_of_age_replacement_by_what_a_cycle_costs_and_lasts(season_of: SeasonOf) -> None:
    n = 20_000
    draws = draw(runs_of(season_of, {"part": (1000, 2.5)}, AGE, 1, levels=NEVER), n, seed=13)
    # The engine never comes back: the hours run are min(life, age), rounded up to a whole run where it failed.
    lasted, failed = draws.hours, failures(draws)
    assert failed.max() == 1
    costs = 1 + 4 * failed
    rate = costs.mean() / lasted.mean()
    # A ratio of means: its error is that of (cost - rate * length) / mean length. Rounding up adds at most one unit to
    # a cycle, and the rate at 493 is the rate at 493.047 but for 1e-9.
    error = four_errors(costs - rate * lasted) / lasted.mean()
    assert rate == approx(RATE, abs=error + RATE / lasted.mean())


def test_a01_cost_rate_of_running_to_failure(season_of: SeasonOf) -> None:
    n = 6_000
    draws = draw(runs_of(season_of, {"part": (1000, 2.5)}, 3000, 1, levels=NEVER), n, seed=14)
    assert failures(draws).min() == 1  # one in six million lives longer than 3000
    lasted = draws.hours
    rate = 5 / lasted.mean()
    assert rate == approx(RATE_TO_FAILURE, abs=rate * (four_errors(lasted) + 1) / lasted.mean())


def test_a01_a_policy_of_renewal_at_an_age_on_the_machine(season_of: SeasonOf) -> None:
    """Four cycles of planned renewals at 1.00 and failures at 5.00, against the same by the renewal equation."""
    runs, n = 2000, 6_000
    tables = {
        "positions": f"slot,level,renewal,factor,stops\npart,shop,at interval,{AGE / 1000},no\n",
        "damage": "slot,case,chance,cost\npart,towed home,1,4\n",
    }
    season = runs_of(season_of, {"part": (1000, 2.5)}, runs, 1, **tables)
    costs = draw(season, n, seed=15).cash / 100
    assert costs.mean() == approx(_cost_at_age(runs), abs=four_errors(costs))


def _cost_at_age(runs: int) -> float:
    """Expected cost of so many runs: each cycle ends in a failure, at 5, or with run AGE, renewed at 1 before the next.

    What is due after the last run is not renewed.
    """
    fail = ends(1000, 2.5, AGE)
    survive = 1 - float(fail.sum())
    lengths = np.zeros(runs)
    lengths[:AGE] = fail
    lengths[AGE - 1] += survive
    begun = np.concatenate([[1.0], renewed(lengths)])  # the chance that a cycle begins after so many runs
    to_come = runs - np.arange(runs + 1)
    failed = np.concatenate([[0.0], np.cumsum(fail)])
    costs = 5 * failed[np.minimum(to_come, AGE)] + np.where(to_come > AGE, survive, 0.0)
    return float(begun @ costs)


# --- shares that have failed

# The clock of a position is the use added up over its runs, so that a share failed by a time has no coarseness.
SHARES = [
    # W01, NIST/SEMATECH e-Handbook 8.1.6.2 (2012), shape 1.5, scale 5000: F(1000) = 0.0855594 by its closed form; the
    # digits that the handbook prints, 0.08556, are from memory.
    (5000, 1.5, 1000, 0.0855594),
    # W02, the same life: B1, B10 and the median by the closed form, checked by SciPy 1.17.1.
    (5000, 1.5, 232.8576, 0.01),
    (5000, 1.5, 1115.3776, 0.1),
    (5000, 1.5, 3916.0988, 0.5),
    # W04, HELM Workbook 46.1, section 3.1, Example 4: R(8000) = 0.282, R(6000) = 0.335 (0.33439 exactly).
    (5000, 0.5, 8000, 1 - 0.282),
    (5000, 0.5, 6000, 1 - 0.33439),
    # W06, spreadsheet function reference of WEIBULL, worked example.
    (100, 20.0, 105, 0.929581),
]


@pytest.mark.parametrize(("scale", "shape", "by", "share"), SHARES)
def test_w01_w02_w04_w06_share_failed_by_a_time(
    season_of: SeasonOf, scale: float, shape: float, by: float, share: float
) -> None:
    runs, n = max(50, math.ceil(1000 * by / scale)), 10_000
    draws = draw(runs_of(season_of, {"part": (scale, shape)}, runs, by / runs), n, seed=16)
    # 5e-4: what HELM rounds off.
    assert draws.failed_in[0] / n == approx(share, abs=four_errors_of_share(share, n) + 5e-4)


def test_w04_mean_of_a_life_with_a_falling_hazard_by_its_quartiles(season_of: SeasonOf) -> None:
    # W04, shape 0.5 and scale 5000: a life is 5000 (ln U)^2, its quartiles 413.8, 2402.3 and 9609.1 by that form.
    n = 10_000
    draws = draw(runs_of(season_of, {"part": (5000, 0.5)}, 1922, 5, levels=NEVER), n, seed=17)
    lasted = np.sort(draws.hours)
    for share, life in ((0.25, 413.8), (0.5, 2402.3)):
        ranks = [int(n * share + sign * n * four_errors_of_share(share, n)) for sign in (-1, 1)]
        assert lasted[ranks[0]] - 5 <= life <= lasted[ranks[1]]
    assert (lasted < 9610).mean() == approx(0.75, abs=four_errors_of_share(0.75, n))


def test_w02_mean_life(season_of: SeasonOf) -> None:
    # W02, shape 1.5, scale 5000: mean 4513.7265, deviation 3064.6790 by the closed forms.
    n = 3_000
    draws = draw(runs_of(season_of, {"part": (5000, 1.5)}, 6000, 5, levels=NEVER), n, seed=18)
    assert failures(draws).min() == 1
    lasted = draws.hours
    assert lasted.mean() == approx(4513.7265, abs=4 * 3064.6790 / math.sqrt(n) + 5)
    assert lasted.std() == approx(3064.6790, abs=four_errors((lasted - lasted.mean()) ** 2) / (2 * 3064.679) + 5)


def test_w04_two_in_series(season_of: SeasonOf) -> None:
    # W04, HELM Workbook 46.1, section 3.1, Example 4: both bearings run 6000 h with 0.112 (0.111817 exactly).
    n = 10_000
    draws = draw(runs_of(season_of, {"front": (5000, 0.5), "rear": (5000, 0.5)}, 1200, 5), n, seed=19)
    survived = (draws.cause[:, machine.FAILURE] == 0).mean()
    assert survived == approx(0.111817, abs=four_errors_of_share(0.111817, n))


def test_w18_the_first_of_two(season_of: SeasonOf) -> None:
    # W18, HELM Workbook 46.1, section 1, Task: exponential lives of 6000 and 7000 h in series, 8000 h:
    # F1 = 0.7364, F2 = 0.6811, R = 0.0841 (0.0840629 exactly).
    n = 10_000
    draws = draw(runs_of(season_of, {"first": (6000, 1.0), "second": (7000, 1.0)}, 1600, 5), n, seed=20)
    survived = (draws.cause[:, machine.FAILURE] == 0).mean()
    assert survived == approx(0.0840629, abs=four_errors_of_share(0.0840629, n))
    # Of two that would fail in one run the second waits for the next: missed only in the last run, 2e-6.
    shares = draws.failed_in / n
    assert shares == approx([0.7364, 0.6811], abs=four_errors_of_share(0.7, n) + 1e-4)


def test_w18_mean_of_the_first_of_two(season_of: SeasonOf) -> None:
    # W18: the mean of the smaller is 3230.7692 (computed, 1 / (1/6000 + 1/7000)), an exponential life again.
    n = 4_000
    lives = {"first": (6000.0, 1.0), "second": (7000.0, 1.0)}
    draws = draw(runs_of(season_of, lives, 7000, 6, levels=NEVER), n, seed=21)
    lasted = draws.hours  # one in 400 000 lasts longer than 42 000 h
    assert lasted.mean() == approx(3230.7692, abs=four_errors(lasted) + 6)


@pytest.mark.parametrize("runs", [1, 200])
def test_w21_a_used_part_fails_as_one_that_has_come_so_far(season_of: SeasonOf, runs: int) -> None:
    # W21, closed form: shape 2.5, scale 1000, R(600) / R(400) = 0.8372254.
    n = 20_000
    garage = "piece,part,engine,slot,hours\nold,part,engine,part,400\n"
    season = runs_of(season_of, {"part": (1000, 2.5)}, runs, 200 / runs, garage=garage)
    failed = draw(season, n, seed=22).failed_in[0] / n
    assert 1 - failed == approx(0.8372254, abs=four_errors_of_share(0.8372254, n))


# --- damage at several loads

# W19, documentation of the Python package reliability, Palmgren-Miner example (Miner, J. Appl. Mech. 1945): rated lives
# of 50 000, 6500 and 1000 h at three loads, 40, 15 and 5 minutes a cycle: damage 1.3512821e-4 a cycle, 7400.37951
# cycles to the end, shares of the loads 9.86717, 28.463 and 61.66983 %.
MINUTES, RATED = (40, 15, 5), (50_000, 6500, 1000)


def cycles_of(season_of: SeasonOf, events: int, cycles: int) -> Season:
    """Events of so many cycles, all of a load together. A life is rated at the heaviest load, a duty of 1."""
    rows = "".join(
        f"cycles,load {n},{minutes * cycles / 60!r},{1000 / rated!r}\n"
        for n, (minutes, rated) in enumerate(zip(MINUTES, RATED, strict=True))
    )
    tables = {
        "calendar": "event,date,format\n" + "".join(f"{n},{2001 + n}-05-01,cycles\n" for n in range(events)),
        "sessions": "format,session,hours,duty\n" + rows,
    }
    return runs_of(season_of, {"part": (1000, 2.5)}, 1, 1, **tables)


def test_w19_damage_adds_up_over_loads(season_of: SeasonOf) -> None:
    season = cycles_of(season_of, 75, 100)
    age = season.problem.duty[:, 0] / 1000
    assert age[3] == approx(100 * 1.3512821e-4, rel=1e-7)
    assert np.diff(age[:4]) / age[3] == approx([0.0986717, 0.28463, 0.6166983], abs=1e-6)
    state = copy.deepcopy(season.start)
    stopping = as_drawn(season, 1)._replace(fails_at=np.full((2, 1, 1), 1000.0), stops=np.array([True]))
    machine.play(stopping, state)
    # The 7401st cycle is in the 75th event: its end comes at the lightest load, in the first session.
    assert [(int(g), int(failed)) for g, _, failed, _, _ in state.struck_cases[: state.n_cases[0]]] == [(222, 0)]
    assert state.trace_age[222, 0, 0] == approx(1000)
    before, here = age[222], age[223] - age[222]
    # Of the event's 100 cycles 0.37951 are run; all of the light load lies in front, 9.86717 % of the damage.
    assert (1 - before) / (here / 0.0986717) * 100 == approx(0.37951, abs=1e-4)


def test_w19_drawn_lives_end_by_the_damage_that_has_added_up(season_of: SeasonOf) -> None:
    n, damage = 10_000, 50 * 100 * 1.3512821e-4
    draws = draw(cycles_of(season_of, 50, 100), n, seed=23)
    # By the closed form, 1 - exp(-damage^2.5). A second failure needs another piece: seasons that failed are counted.
    share = 1 - math.exp(-(damage**2.5))
    assert draws.failed_in[0] / n == approx(share, abs=four_errors_of_share(share, n))
