"""Comparing seasons under different inputs, season by season on the same draws, so that a difference is no noise."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from decimal import Decimal

import numpy as np

from costplan.money import from_minor
from costplan.season import machine
from costplan.season.arrays import as_drawn
from costplan.season.drawn.drawing import QUIET, Draws, Watch, draw
from costplan.season.drawn.figures import (
    Chance,
    Count,
    CountDifference,
    Paired,
    Spread,
    chance_of,
    count_of,
    difference_of,
    error_of,
    paired,
    spread_of,
    spread_per,
)
from costplan.season.drawn.stage import Stage
from costplan.season.names import Season


@dataclass(frozen=True, slots=True)
class Side:
    """One of the seasons compared. `net`: cash less what is left on hand at the end; `per_race`: cash by race held."""

    name: str
    cash: Spread
    wear: Spread
    net: Spread
    missed: Count
    dnfs: Count
    results_lost: Count
    any_missed: Chance
    per_race: Spread


@dataclass(frozen=True, slots=True)
class CauseDifference:
    """What a cause costs more (or less) in cash, with its standard error."""

    cause: str
    mean: Decimal
    error: Decimal


@dataclass(frozen=True, slots=True)
class Difference:
    """How one side differs from the base, on the same seasons: `name` less `base`."""

    base: str
    name: str
    cash: Paired
    wear: Paired
    net: Paired
    causes: tuple[CauseDifference, ...]
    missed: CountDifference
    dnfs: CountDifference
    results_lost: CountDifference


@dataclass(frozen=True, slots=True)
class Comparison:
    """Seasons compared with the first of them, which is the base."""

    currency: str
    seasons: int
    asked: int
    seed: int
    sides: tuple[Side, ...]
    differences: tuple[Difference, ...]

    @property
    def interrupted(self) -> bool:
        return self.seasons < self.asked


def compare(drawn: Sequence[tuple[str, Draws]]) -> Comparison:
    """Compares drawn seasons of one currency, seed and number with the first; where one was interrupted, fewer."""
    n = min(draws.seasons for _, draws in drawn)
    first = drawn[0][1]
    currency = first.season.rates.currency
    if len({(draws.season.rates.currency, draws.seed) for _, draws in drawn}) > 1:
        raise ValueError("seasons of one currency and one seed can be compared")
    return Comparison(
        currency,
        n,
        first.asked,
        first.seed,
        tuple(_side(name, draws, n) for name, draws in drawn),
        tuple(_difference(drawn[0], other, n) for other in drawn[1:]),
    )


def _side(name: str, draws: Draws, n: int) -> Side:
    currency = draws.season.rates.currency
    return Side(
        name,
        spread_of(draws.cash[:n], currency),
        spread_of(draws.wear[:n], currency),
        spread_of(net_of(draws)[:n], currency),
        count_of(draws.misses[:n]),
        count_of(draws.dnfs[:n]),
        count_of(draws.lost[:n]),
        chance_of(int((draws.misses[:n] > 0).sum()), n),
        spread_per(draws.cash[:n], draws.races[:n], currency),
    )


def net_of(draws: Draws) -> machine.Ints:
    """Cash less what is left on hand at the end."""
    return draws.cash - draws.left


def burden_of(draws: Draws) -> machine.Floats:
    """What each season costs in the end: cash less what is left on hand, and what its lost results are worth.

    In minor units. It is what is made least wherever something is decided.
    """
    burden: machine.Floats = net_of(draws) + draws.season.result_worth * draws.lost
    return burden


def _difference(base: tuple[str, Draws], other: tuple[str, Draws], n: int) -> Difference:
    (name, a), (other_name, b) = base, other
    currency = a.season.rates.currency
    causes = b.cause[:n] - a.cause[:n]
    counts = ((b.misses, a.misses), (b.dnfs, a.dnfs), (b.lost, a.lost))
    return Difference(
        name,
        other_name,
        paired(b.cash[:n] - a.cash[:n], currency),
        paired(b.wear[:n] - a.wear[:n], currency),
        paired(net_of(b)[:n] - net_of(a)[:n], currency),
        tuple(_causes(causes, currency)),
        *(difference_of(mine[:n] - theirs[:n]) for mine, theirs in counts),
    )


def _causes(differences: machine.Ints, currency: str) -> Iterator[CauseDifference]:
    """The causes that differ at all, the largest difference first."""
    means = differences.mean(axis=0)
    for c in np.argsort(-np.abs(means), kind="stable"):
        if differences[:, c].any():
            mean, error = round(float(means[c])), round(error_of(differences[:, c]))
            yield CauseDifference(machine.CAUSES[c], from_minor(mean, currency), from_minor(error, currency))


@dataclass(frozen=True, slots=True)
class Tried:
    """A value that was tried on the way to break even, and what the second side then costs more."""

    value: float
    net: Paired


@dataclass(frozen=True, slots=True)
class BreakEven:
    """The value of an input at which two sides cost the same, cash less what is left, and the values tried.

    `value` is none where the sides do not change places between `low` and `high`. `error`: how far the standard error
    of the difference moves the value. `steady`: whether the difference at the value is within its error of zero; it is
    not where the cost jumps, as it does where a part is just or just not renewed once more.
    """

    low: float
    high: float
    value: float | None
    error: float
    steady: bool
    tried: tuple[Tried, ...]


#: Values tried between the ends before a break-even is given as found.
STEPS = 12


def break_even(
    difference: Callable[[float], Paired], low: float, high: float, each: Callable[[range], Sequence[int]] = list
) -> BreakEven:
    """Finds by halving and drawing lines where a difference of net costs crosses zero between two values.

    `difference` gives it at a value, on the same draws each time; `each` sees the steps go by.
    """
    tried = [Tried(value, difference(value)) for value in (low, high)]
    left, right = tried
    for end in tried:
        if not end.net.mean:
            return BreakEven(low, high, end.value, 0.0, True, tuple(tried))
    if (left.net.mean > 0) == (right.net.mean > 0):
        return BreakEven(low, high, None, 0.0, True, tuple(tried))
    for step in each(range(STEPS)):
        value = _between(left, right, halve=step % 2 == 1)
        found = Tried(value, difference(value))
        tried.append(found)
        left, right = (found, right) if (found.net.mean > 0) == (left.net.mean > 0) else (left, found)
        if not found.net.mean or abs(right.value - left.value) <= 1e-3 * abs(high - low):
            break
    best = min(left, right, key=lambda one: abs(one.net.mean))
    slope = float(right.net.mean - left.net.mean) / (right.value - left.value)
    error = float(best.net.error) / abs(slope) if slope else 0.0
    return BreakEven(low, high, best.value, error, not best.net.shown, tuple(sorted(tried, key=lambda one: one.value)))


def _between(left: Tried, right: Tried, *, halve: bool) -> float:
    """A value between two, where the line through their differences crosses zero, or in the middle."""
    if halve:
        return (left.value + right.value) / 2
    a, b = float(left.net.mean), float(right.net.mean)
    return left.value + (right.value - left.value) * a / (a - b)


@dataclass(frozen=True, slots=True)
class InputEffect:
    """What the season's cash does on average when an input is a fifth lower, and a fifth higher, on the same draws."""

    input: str
    lower: Decimal
    lower_error: Decimal
    higher: Decimal
    higher_error: Decimal

    @property
    def swing(self) -> Decimal:
        """The larger of the two effects, whatever its sign."""
        return max(abs(self.lower), abs(self.higher))


FIFTH = 0.2


def input_effects(season: Season, seasons: int, seed: int = 1, *, watch: Watch = QUIET) -> tuple[InputEffect, ...]:
    """Every input moved by a fifth either way, the largest effect on the mean cash of the season first."""
    base, stage = as_drawn(season, seed), Stage(season, track=watch.compiling)
    plain = draw(season, seasons, seed, stage=stage, watch=watch)
    effects = []
    for name, change in _inputs(plain):
        changed = (change(base, 1 + by) for by in (-FIFTH, FIFTH))
        moved = [draw(season, seasons, seed, problem=problem, stage=stage, watch=watch) for problem in changed]
        pairs = [paired(one.cash[: plain.seasons] - plain.cash[: one.seasons], season.rates.currency) for one in moved]
        effects.append(InputEffect(name, pairs[0].mean, pairs[0].error, pairs[1].mean, pairs[1].error))
    return tuple(sorted(effects, key=lambda effect: -effect.swing))


#: A problem with an input times a factor.
Change = Callable[[machine.Problem, float], machine.Problem]
#: Slots whose lives are moved one by one: those that cost most.
SLOTS = 6


def _inputs(plain: Draws) -> Iterator[tuple[str, Change]]:
    """The inputs that are moved. Where a season has none of one, it is left out."""
    season = plain.season
    yield from general_inputs(plain.problem)
    for p in np.argsort(-plain.line_mean[: len(season.spots)], kind="stable")[:SLOTS]:
        yield f"life of {season.spots[p].slot}", _lives([int(p)])


#: The inputs of the machine that are prices, of parts and of work.
PRICES, WORK = "prices of parts and kits", "labour and supplies of the levels"


def general_inputs(problem: machine.Problem) -> Iterator[tuple[str, Change]]:
    """The inputs that any season may have, but for single lives, each with what moves it by a factor."""
    yield PRICES, _prices
    yield WORK, _labour
    yield "lives of all parts: renewed and failing later", _all_lives
    yield "lives at which parts fail, renewed as before", _strength
    for name, has, change in (
        ("chance of rain", problem.rain.any(), _rain),
        ("how often hazards strike", problem.hazard_mean.size > 0, _hazards),
        ("what damage costs beyond parts and levels", problem.case_cost.any(), _damage),
        ("chance that a check sees wear", problem.sees.any(), _sees),
        ("entry and travel", problem.event_cost.any(), _entry),
        ("purses", problem.purse.any(), _purses),
        ("what flows with use, as fuel", problem.event_flow.any(), _flows),
    ):
        if has:
            yield name, change


def _times(values: machine.Ints, factor: float) -> machine.Ints:
    """Whole amounts times a factor, rounded half up."""
    scaled: machine.Ints = np.floor(values * factor + 0.5).astype(np.int64)
    return scaled


def _prices(problem: machine.Problem, factor: float) -> machine.Problem:
    pack, kit, step = (_times(values, factor) for values in (problem.pack_price, problem.kit_price, problem.step_cost))
    return problem._replace(pack_price=pack, kit_price=kit, step_cost=step)


def _labour(problem: machine.Problem, factor: float) -> machine.Problem:
    return problem._replace(cost=_times(problem.cost, factor), labour=_times(problem.labour, factor))


def _lives(positions: Sequence[int]) -> Change:
    """Everything that is measured by the lives of some positions, hard limits left as they are."""

    def change(problem: machine.Problem, factor: float) -> machine.Problem:
        factors = np.ones(len(problem.limit))
        for p in positions:
            factors[problem.life_from[p] : problem.life_from[p + 1]] = factor
        due_at, worn_at, scale = (values * factors for values in (problem.due_at, problem.worn_at, problem.scale))
        return problem._replace(due_at=due_at, worn_at=worn_at, scale=scale)

    return change


def _all_lives(problem: machine.Problem, factor: float) -> machine.Problem:
    return _lives(range(len(problem.level)))(problem, factor)


def _strength(problem: machine.Problem, factor: float) -> machine.Problem:
    return problem._replace(scale=problem.scale * factor)


def _rain(problem: machine.Problem, factor: float) -> machine.Problem:
    return problem._replace(rain=np.minimum(1.0, problem.rain * factor))


def _hazards(problem: machine.Problem, factor: float) -> machine.Problem:
    return problem._replace(hazard_mean=problem.hazard_mean / factor)


def _damage(problem: machine.Problem, factor: float) -> machine.Problem:
    return problem._replace(case_cost=_times(problem.case_cost, factor))


def _sees(problem: machine.Problem, factor: float) -> machine.Problem:
    return problem._replace(sees=np.minimum(1.0, problem.sees * factor))


def _entry(problem: machine.Problem, factor: float) -> machine.Problem:
    return problem._replace(event_cost=_times(problem.event_cost, factor))


def _purses(problem: machine.Problem, factor: float) -> machine.Problem:
    return problem._replace(purse=_times(problem.purse, factor))


def _flows(problem: machine.Problem, factor: float) -> machine.Problem:
    return problem._replace(flow=problem.flow * factor, event_flow=_times(problem.event_flow, factor))
