"""A puzzle as a model of CP-SAT.

One worker and a fixed seed, so that the same puzzle has the same answer each time. A table is written with one literal
for each of its rows, tied to the classes by sums, which gives the linear relaxation the convex hull of the table.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from concurrent.futures import ThreadPoolExecutor, wait
from dataclasses import dataclass
from math import prod
from typing import Any, Literal

from costplan.choose.puzzle import Allowed, Amount, Bounded, Held, Pick, Puzzle, Valued, Within

Status = Literal["optimal", "best found", "impossible", "nothing found"]
SEED = 1
#: The share of tuples below which a table of two slots counts as sparse.
SPARSE = 0.4


@dataclass(frozen=True, slots=True)
class Goal:
    """An amount that should be as small as possible, or with `most` as large."""

    amount: str
    most: bool = False


class Model:
    """A puzzle as variables and constraints. `guarded`: every ground has a literal and binds only while that holds."""

    def __init__(self, puzzle: Puzzle, *, guarded: bool = False) -> None:
        from ortools.sat.python import cp_model

        self.puzzle, self.cp = puzzle, cp_model
        self.model = cp_model.CpModel()
        self.picked = [
            [self.model.new_bool_var(f"x{slot}.{one}") for one in range(size)] for slot, size in enumerate(puzzle.sizes)
        ]
        self.kept = (
            [self.model.new_bool_var(f"ground{number}") for number in range(len(puzzle.grounds))] if guarded else []
        )
        self._classed: dict[tuple[int, tuple[int, ...]], dict[int, Any]] = {}
        self._valued: dict[str, Any] = {}
        self._bought: dict[int, Any] = {}
        for row in self.picked:
            self.model.add_exactly_one(row)
        self.kits = [self._kit(number) for number in range(len(puzzle.kits))]
        self.lots = [self._lot(number) for number in range(len(puzzle.lots))]
        self.restrict(puzzle.restrictions)
        for within in puzzle.within:
            self.bound(within)

    def run(self, goal: Goal | None, seconds: float, hint: Pick | None) -> tuple[Status, Pick | None, int | None]:
        """The best pick by one goal, and the bound that is proved for it."""
        solver = solver_of(self.cp, seconds)
        if goal is not None:
            of = self.amount(goal.amount)
            self.model.maximize(of) if goal.most else self.model.minimize(of)
        self.model.clear_hints()  # type: ignore[no-untyped-call]
        for slot, one in enumerate(hint or ()):
            for number, literal in enumerate(self.picked[slot]):
                self.model.add_hint(literal, number == one)
        found = search(solver, self.model)
        if found == self.cp.INFEASIBLE:
            return "impossible", None, None
        if found not in (self.cp.OPTIMAL, self.cp.FEASIBLE):
            return "nothing found", None, None
        pick = self.pick_of(solver)
        bound = round(solver.best_objective_bound) if goal is not None else None
        return ("optimal" if found == self.cp.OPTIMAL else "best found"), pick, bound

    def restrict(self, restrictions: Iterable[Allowed | Bounded]) -> None:
        """Asks for more."""
        for one in restrictions:
            self._restrict(one)

    def pick_of(self, solver: Any) -> Pick:
        """The pick that a solver has found."""
        return tuple(
            next(one for one, literal in enumerate(row) if solver.boolean_value(literal)) for row in self.picked
        )

    def bound(self, within: Within) -> None:
        """Keeps an amount within bounds."""
        guard = [self.kept[within.ground]] if self.kept and within.ground >= 0 else []
        self._between(self.amount(within.amount), within.low, within.high, guard)

    def _between(self, what: Any, low: int | None, high: int | None, guards: Sequence[Any]) -> None:
        """Keeps an expression within bounds, while all guards hold."""
        if low is not None:
            self.model.add(what >= low).only_enforce_if(guards)
        if high is not None:
            self.model.add(what <= high).only_enforce_if(guards)

    def amount(self, name: str) -> Any:
        """An amount as an expression."""
        amount = self.puzzle.amounts[name]
        if amount.least:
            return self._least(amount)
        total = self._sum(amount.weights)
        if amount.market is not None:
            total = total + self._market(amount.market)
        return total + self._value(amount.name, amount.valued) if amount.valued is not None else total

    def _sum(self, weights: Any) -> Any:
        literals = [literal for slot in weights for literal in self.picked[slot]]
        factors = [weight for slot in weights for weight in weights[slot]]
        return self.cp.LinearExpr.weighted_sum(literals, factors)

    def _least(self, amount: Amount) -> Any:
        """The smallest of the weights that are picked: as large as all of them let it be."""
        if amount.name not in self._valued:
            weights = {slot: of for slot, of in amount.weights.items() if of}  # a slot without candidates has none
            high = min((max(of) for of in weights.values()), default=0)
            low = min((min(of) for of in weights.values()), default=0)
            least = self.model.new_int_var(low, high, amount.name)
            for slot, of in weights.items():
                self.model.add(least <= self._sum({slot: of}))
            self._valued[amount.name] = least
        return self._valued[amount.name]

    def _market(self, market: int) -> Any:
        if market not in self._bought:
            costs = [kit.costs[market] for kit in self.puzzle.kits] + [lot.costs[market] for lot in self.puzzle.lots]
            chosen = [*self.kits, *self.lots]
            pairs = [
                (one[number], cost) for one, by in zip(chosen, costs, strict=True) for number, cost in _numbered(by)
            ]
            self._bought[market] = self.cp.LinearExpr.weighted_sum(
                [one for one, _ in pairs], [cost for _, cost in pairs]
            )
        return self._bought[market]

    def _kit(self, number: int) -> dict[int, Any]:
        """A literal for each number of a kit that may be bought: enough for what is taken out of it, and not one more.

        More might bring parts that are wanted apart for less, but a bill buys no kit for those.
        """
        kit = self.puzzle.kits[number]
        counts = {count: self.model.new_bool_var(f"kit{number}x{count}") for count in range(kit.most + 1)}
        self.model.add_exactly_one(list(counts.values()))
        for held in kit.held:
            self.model.add(self._sum(held.taken) <= held.holds * _count(self.cp, counts))
        for count in range(1, kit.most + 1):
            needed = [self._takes_more(held, count - 1) for held in kit.held]
            self.model.add_bool_or([counts[count].negated(), *needed])
        return counts

    def _takes_more(self, held: Held, kits: int) -> Any:
        """A literal that is true only where more is taken than so many kits hold."""
        more = self.model.new_bool_var("more")
        self.model.add(self._sum(held.taken) >= held.holds * kits + 1).only_enforce_if(more)
        return more

    def _lot(self, number: int) -> dict[int, Any]:
        """A literal for each number of pieces of a lot that may be bought, enough for what is wanted apart."""
        lot = self.puzzle.lots[number]
        pieces = {count: self.model.new_bool_var(f"lot{number}x{count}") for count in lot.costs[0]}
        self.model.add_exactly_one(list(pieces.values()))
        left = [self._left_over(kit, part) for kit, part in lot.over]
        self.model.add(self._sum(lot.wanted) <= _count(self.cp, pieces) + sum(left))
        return pieces

    def _left_over(self, number: int, part: int) -> Any:
        """The pieces of a part that the kits leave over, none where no candidate takes any out of them."""
        kit, held = self.puzzle.kits[number], self.puzzle.kits[number].held[part]
        left = self.model.new_int_var(0, kit.most * held.holds, f"left{number}.{part}")
        takers = [self.picked[slot][one] for slot, of in held.taken.items() for one, take in enumerate(of) if take]
        self.model.add(left <= held.holds * _count(self.cp, self.kits[number]) - self._sum(held.taken))
        self.model.add(left <= kit.most * held.holds * sum(takers))
        return left

    def _value(self, name: str, valued: Valued) -> Any:
        """The value of the tuple that is picked; only tuples with a value can be."""
        if name not in self._valued:
            there = [set(of) for of in valued.classes]
            values = {
                row: value
                for row, value in valued.values.items()
                if all(one in of for one, of in zip(row, there, strict=True))
            }
            rows = self._rows(valued.scope, valued.classes, tuple(values), None)
            self._valued[name] = self.cp.LinearExpr.weighted_sum(rows, list(values.values()))
        return self._valued[name]

    def _restrict(self, restriction: Allowed | Bounded) -> None:
        guard = self.kept[restriction.ground] if self.kept and restriction.ground >= 0 else None
        if isinstance(restriction, Bounded):
            self._bounded(restriction, guard)
        elif len(restriction.scope) == 1:
            self._alone(restriction, guard)
        elif len(restriction.scope) == 2 and not _is_sparse(restriction):
            self._pairs(restriction, guard)
        else:
            self._rows(restriction.scope, restriction.classes, _there(restriction), guard)

    def _bounded(self, bounded: Bounded, guard: Any) -> None:
        if not bounded.weights:
            if not (bounded.low or 0) <= 0 <= (bounded.high or 0):
                self.model.add_bool_or([guard.negated()] if guard is not None else [])
            return
        guards = [] if bounded.where is None else [self._asked(bounded.where)]
        guards += [guard] if guard is not None else []
        self._between(self._sum(bounded.weights), bounded.low, bounded.high, guards)

    def _asked(self, where: Allowed) -> Any:
        """A literal that is true at least where one of the tuples is picked."""
        asked = self.model.new_bool_var("asked")
        classes = [self._classes(slot, of) for slot, of in zip(where.scope, where.classes, strict=True)]
        for row in _there(where):
            self.model.add_bool_or([*(by[one].negated() for by, one in zip(classes, row, strict=True)), asked])
        return asked

    def _alone(self, allowed: Allowed, guard: Any) -> None:
        may = [(one,) in allowed.tuples for one in allowed.classes[0]]
        literals = [literal for literal, good in zip(self.picked[allowed.scope[0]], may, strict=True) if not good]
        for literal in literals:
            self.model.add_bool_or([literal.negated(), *([guard.negated()] if guard is not None else [])])

    def _pairs(self, allowed: Allowed, guard: Any) -> None:
        """Each candidate of one slot needs one of the other that it goes with; both ways, which helps the solver."""
        for near, far in ((0, 1), (1, 0)):
            partners: dict[int, set[int]] = {}
            for row in _there(allowed):
                partners.setdefault(row[near], set()).add(row[far])
            others = self._classes(allowed.scope[far], allowed.classes[far])
            for literal, one in zip(self.picked[allowed.scope[near]], allowed.classes[near], strict=True):
                with_it = partners.get(one, set())
                if len(with_it) < len(others):
                    support = [others[other] for other in sorted(with_it)]
                    clause = [literal.negated(), *support, *([guard.negated()] if guard is not None else [])]
                    self.model.add_bool_or(clause)

    def _rows(
        self,
        scope: tuple[int, ...],
        classes: tuple[tuple[int, ...], ...],
        tuples: Sequence[tuple[int, ...]],
        guard: Any,
    ) -> list[Any]:
        """A literal for each row of a table: those of a class add up to whether it is picked."""
        rows = [self.model.new_bool_var("row") for _ in tuples]
        for position, (slot, of) in enumerate(zip(scope, classes, strict=True)):
            by_class: dict[int, list[Any]] = {one: [] for one in set(of)}
            for row, literal in zip(tuples, rows, strict=True):
                by_class[row[position]].append(literal)
            for one, literal in self._classes(slot, of).items():
                tie = self.model.add(self.cp.LinearExpr.sum(by_class[one]) == literal)
                tie.only_enforce_if([guard] if guard is not None else [])
        return rows

    def _classes(self, slot: int, of: tuple[int, ...]) -> dict[int, Any]:
        """A literal for each class of a slot's candidates; a candidate's own where it is alone in its class."""
        key = (slot, of)
        if key not in self._classed:
            members: dict[int, list[Any]] = {}
            for literal, one in zip(self.picked[slot], of, strict=True):
                members.setdefault(one, []).append(literal)
            self._classed[key] = {one: self._any_of(literals) for one, literals in sorted(members.items())}
        return self._classed[key]

    def _any_of(self, literals: list[Any]) -> Any:
        if len(literals) == 1:
            return literals[0]
        either = self.model.new_bool_var("class")
        self.model.add(self.cp.LinearExpr.sum(literals) == either)
        return either


def solver_of(cp: Any, seconds: float) -> Any:
    """A solver that answers alike each time: one worker, a fixed seed; all that can be is in its linear relaxation.

    The presolve of CP-SAT 9.15 that looks for constraints inside others now and then cuts off picks that hold, once
    weights reach some 2^29 (found against scipy's milp and by trying all), so it has no time to.
    """
    solver = cp.CpSolver()
    solver.parameters.num_workers = 1
    solver.parameters.random_seed = SEED
    solver.parameters.linearization_level = 2
    solver.parameters.presolve_inclusion_work_limit = 0
    solver.parameters.max_time_in_seconds = seconds
    solver.parameters.catch_sigint_signal = False
    return solver


def search(solver: Any, model: Any) -> Any:
    """The solver's status for a model. It works in a thread of its own, so that Ctrl-C is heard while it does: it ends
    the search, and is raised."""
    with ThreadPoolExecutor(1) as pool:
        going = pool.submit(solver.solve, model)
        try:
            return going.result()
        except KeyboardInterrupt:
            while not going.done():
                solver.stop_search()
                wait((going,), 0.05)
            raise


def _is_sparse(allowed: Allowed) -> bool:
    """Whether few of a table's tuples may stand: row by row it is tighter then, and else clauses are quicker."""
    return len(_there(allowed)) < SPARSE * prod(len(set(of)) for of in allowed.classes)


def _there(allowed: Allowed) -> tuple[tuple[int, ...], ...]:
    """The tuples of classes that some candidates have, in order."""
    there = [set(of) for of in allowed.classes]
    return tuple(sorted(row for row in allowed.tuples if all(one in of for one, of in zip(row, there, strict=True))))


def _count(cp: Any, literals: dict[int, Any]) -> Any:
    """The number whose literal is true."""
    return cp.LinearExpr.weighted_sum(list(literals.values()), list(literals))


def _numbered(costs: Any) -> Iterable[tuple[int, int]]:
    return costs.items() if hasattr(costs, "items") else enumerate(costs)
