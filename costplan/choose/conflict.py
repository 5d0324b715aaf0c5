"""Why nothing meets the book: a smallest set of clauses, fits and wishes that no engine can keep together.

A set of grounds is in conflict if no pick keeps to all of them. The smallest such set is found between its two faces:
every conflict must hold one ground of each set whose giving way would make things possible. So a smallest set that
holds one of each such set known so far is tried; if a pick keeps to it, the grounds that this pick (made to keep to as
many as it can) leaves out are one more set to be held; if none does, it is a smallest conflict. Both steps are solved
exactly (the implicit hitting-set method; Ignatiev, Previti, Liffiton and Marques-Silva 2015, from memory).
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal
from time import monotonic

from costplan.choose.encoded import Encoded, lazily_barred, without_grounds
from costplan.choose.encoding import encode
from costplan.choose.modelling import Goal, Model, Status, search, solver_of
from costplan.choose.nearest import Bound, bound_of
from costplan.choose.purchases import PRICE
from costplan.choose.puzzle import Allowed, Bounded, Ground, Pick
from costplan.choose.settling import Settled, settle
from costplan.money import from_minor

#: A step that has no answer by then ends the search; what is known so far is then shrunk one by one.
STEP_SECONDS = 10.0


#: Wishes, of which one alone may give way.
WISHES = ("pinned", "banned", "supplier", "lead", "budget")
#: A conflict of more members than these says little by itself.
LARGE = 12


@dataclass(frozen=True, slots=True)
class Culprit:
    """One member of a conflict: its ground, the slots that it is about, and what comes of leaving it out.

    `candidates`: how many candidates of each slot it lets stand by itself, of how many. `possible`: whether a bill is
    there without it, None where that was not found in time, and `price` the lowest of them. `bound`: what it limits,
    and the nearest that is in reach; of a budget that is the price. `also`: where nothing is possible without it, a
    smallest set of what else is at odds; not asked in a large conflict. `may_give`: not what holds an engine together
    while anything else helps.
    """

    ground: Ground
    slots: tuple[str, ...]
    candidates: tuple[tuple[str, int, int], ...]
    possible: bool | None
    price: Decimal | None
    bound: Bound | None = None
    also: tuple[Ground, ...] = ()
    may_give: bool = True


@dataclass(frozen=True, slots=True)
class Conflict:
    """Why nothing is possible. `smallest`: whether it is proved that no conflict has fewer members; else it is shown
    only that none of its members can be left out of it.

    `gives`: every wish (and what is not to be stretched, where nothing else helps) that alone makes a bill possible
    once it is left out, the lowest price first.
    """

    culprits: tuple[Culprit, ...]
    smallest: bool
    seconds: float
    gives: tuple[Culprit, ...] = ()

    @property
    def is_large(self) -> bool:
        return len(self.culprits) > LARGE


def explain(
    encoded: Encoded, seconds: float = 60.0, watch: Callable[[Iterable[int]], Iterable[int]] = iter
) -> Conflict:
    """Which wish alone could give way, and a smallest conflict, of a choice encoded `whole`; without culprits where it
    has an answer after all."""
    began = monotonic()
    settled = settle(encoded, (Goal(PRICE),), seconds)
    if settled.solved.pick is not None:
        return Conflict((), False, monotonic() - began)
    encoded = settled.encoded
    told = _Told(encoded, began + seconds)
    wished = [one for one, ground in enumerate(encoded.puzzle.grounds) if ground.kind in WISHES]
    gives = [one for one in map(told.culprit, wished) if one.possible]
    conflict, smallest = _smallest(encoded, began + seconds)
    few = len(conflict) <= LARGE
    culprits = [told.member(one) if few else told.culprit(one) for one in watch(sorted(conflict))]
    if not any(one.possible and one.ground.kind != "critical" for one in (*gives, *culprits)):
        kept = (one for one, ground in enumerate(encoded.puzzle.grounds) if ground.kind == "critical")
        gives = [one for one in map(told.culprit, kept) if one.possible]
    else:
        culprits = [replace(one, may_give=one.ground.kind != "critical") for one in culprits]
    return Conflict(tuple(culprits), smallest, monotonic() - began, tuple(sorted(gives, key=_price)))


def _price(one: Culprit) -> tuple[Decimal, str, str]:
    return one.price or Decimal(0), one.ground.kind, one.ground.name


def _smallest(encoded: Encoded, deadline: float, *, shrunk: bool = True) -> tuple[frozenset[int], bool]:
    """A smallest set of grounds that no pick keeps to, and whether that is proved.

    Out of time it is one of which no member can be left out, or none at all unless that is `shrunk` to.
    """
    trial = _Trial(encoded, deadline)
    sets: list[frozenset[int]] = []
    while monotonic() < deadline:
        held, smallest = _hitting(sets, encoded.puzzle.grounds)
        found, left_out = trial.left_out(held)
        if found == "impossible":
            return held, smallest
        if found == "nothing found":
            break
        if not left_out:
            raise ValueError("what has an answer is in no conflict")
        sets.append(left_out)
    return _shrunk(encoded, trial.asked) if shrunk else frozenset(), False


def _hitting(sets: list[frozenset[int]], grounds: Sequence[Ground]) -> tuple[frozenset[int], bool]:
    """A smallest set with a member in each of some sets; of equal ones one with few that should not give way: fits,
    and what holds an engine together. Whether it is proved to be smallest."""
    from ortools.sat.python import cp_model

    model = cp_model.CpModel()
    members = sorted(frozenset().union(*sets)) if sets else []
    taken = {one: model.new_bool_var(str(one)) for one in members}
    for each in sets:
        model.add_bool_or([taken[one] for one in sorted(each)])
    most, named = len(members) + 1, sorted((grounds[one].kind, grounds[one].name, one) for one in members)
    place = {one: number for number, (_, _, one) in enumerate(named)}  # whatever the order of rows
    weights = [most**3 + most**2 * (grounds[one].kind in ("fit", "critical")) + place[one] for one in members]
    model.minimize(sum(weight * taken[one] for weight, one in zip(weights, members, strict=True)))
    solver = solver_of(cp_model, STEP_SECONDS)
    found = search(solver, model)
    return frozenset(one for one in members if solver.boolean_value(taken[one])), found == cp_model.OPTIMAL


class _Trial:
    """Tries sets of grounds. What questions that are asked of each pick say of one stays known to all that follow."""

    def __init__(self, encoded: Encoded, deadline: float) -> None:
        puzzle = encoded.puzzle
        of = (*puzzle.restrictions, *puzzle.within)
        self.encoded, self.deadline = encoded, deadline
        self.asked = frozenset((*(one.ground for one in of), *(ground for ground, _ in encoded.lazy)))
        self.model = Model(puzzle, guarded=True)
        self.model.model.maximize(sum(self.model.kept[one] for one in sorted(self.asked)))

    def left_out(self, held: frozenset[int]) -> tuple[Status, frozenset[int]]:
        """What a pick leaves out that keeps to some grounds and to as many others as it can; whether there is one."""
        while True:
            found, pick, kept = self._pick(held)
            failing = tuple(lazily_barred(self.encoded, pick)) if pick is not None else ()
            if kept.isdisjoint(one.ground for one in failing):
                return found, self.asked - kept
            self.model.restrict(failing)

    def _pick(self, held: frozenset[int]) -> tuple[Status, Pick | None, frozenset[int]]:
        """A pick, and the grounds that it is made to keep to."""
        model, cp = self.model, self.model.cp
        solver = solver_of(cp, max(0.1, self.deadline - monotonic()))
        model.model.clear_assumptions()
        model.model.add_assumptions([model.kept[one] for one in sorted(held)])
        found = search(solver, model.model)
        if found == cp.INFEASIBLE:
            return "impossible", None, frozenset()
        if found not in (cp.OPTIMAL, cp.FEASIBLE) or monotonic() > self.deadline:
            return "nothing found", None, frozenset()
        kept = frozenset(one for one in self.asked if solver.boolean_value(model.kept[one]))
        return "best found", model.pick_of(solver), kept


def _shrunk(encoded: Encoded, asked: frozenset[int]) -> frozenset[int]:
    """A conflict of which no member can be left out, as far as each step has an answer in time."""
    held = set(asked)
    for one in sorted(asked):
        left = without_grounds(encoded, asked - (held - {one}))
        if settle(left, (Goal(PRICE),), STEP_SECONDS).solved.status == "impossible":
            held.discard(one)
    return frozenset(held)


class _Told:
    """What is told of each ground, once."""

    def __init__(self, encoded: Encoded, deadline: float) -> None:
        self.encoded, self.deadline = encoded, deadline
        self._culprits: dict[int, Culprit] = {}

    @property
    def step(self) -> float:
        """The seconds of one step: what is left of the time, and a little where nothing is."""
        return min(STEP_SECONDS, max(1.0, self.deadline - monotonic()))

    def culprit(self, ground: int) -> Culprit:
        if ground not in self._culprits:
            self._culprits[ground] = self._worked_out(ground)
        return self._culprits[ground]

    def member(self, ground: int) -> Culprit:
        """A member of a conflict: where nothing is possible without it, what else is at odds too."""
        one = self.culprit(ground)
        return replace(one, also=self._also(ground)) if one.possible is False else one

    def _worked_out(self, ground: int) -> Culprit:
        """A ground, the lowest price there is without it, and how near its limit one comes."""
        encoded = self.encoded
        its = [one for one in encoded.puzzle.restrictions if one.ground == ground]
        asked = (slot for number, one in encoded.lazy if number == ground for slot, _ in one.reads)
        slots = tuple(dict.fromkeys((*(encoded.slots[slot] for one in its for slot in _scope(one)), *asked)))
        left = tuple(_left(encoded, one) for one in its if isinstance(one, Allowed) and len(one.scope) == 1)
        settled = settle(_without(encoded, ground), (Goal(PRICE),), self.step)
        found = settled.solved
        price = None if found.value is None else from_minor(found.value, encoded.scenario.header.currency)
        possible = found.pick is not None or (False if found.status == "impossible" else None)
        bound = self._bound(ground, settled, price)
        return Culprit(encoded.puzzle.grounds[ground], slots, left, possible, price, bound)

    def _bound(self, ground: int, settled: Settled, price: Decimal | None) -> Bound | None:
        """What it limits; the price itself where that is a budget."""
        wishes, currency = self.encoded.wishes, self.encoded.scenario.header.currency
        if self.encoded.puzzle.grounds[ground].kind == "budget":
            return Bound(PRICE, None, wishes.budget, currency, price, settled.solved.status == "optimal")
        return bound_of(self.encoded, ground, settled.encoded, settled.solved.pick, self.step)

    def _also(self, ground: int) -> tuple[Ground, ...]:
        """A smallest set of what is at odds without a ground; none where it was not found in time."""
        rest = _without(self.encoded, ground)
        conflict, _ = _smallest(rest, monotonic() + self.step, shrunk=False)
        return tuple(rest.puzzle.grounds[one] for one in sorted(conflict))


def _without(encoded: Encoded, ground: int) -> Encoded:
    """The same with a member left out; whom nobody names and no day bars sells at his price again."""
    kind, wishes = encoded.puzzle.grounds[ground].kind, encoded.wishes
    if kind not in ("supplier", "lead"):
        return without_grounds(encoded, {ground})
    wishes = replace(wishes, suppliers=()) if kind == "supplier" else replace(wishes, by=None)
    return encode(encoded.scenario, wishes, encoded.packs, whole=True)


def _scope(one: Allowed | Bounded) -> tuple[int, ...]:
    return one.scope if isinstance(one, Allowed) else tuple(one.weights)


def _left(encoded: Encoded, one: Allowed) -> tuple[str, int, int]:
    """A slot, how many of its parts a member lets stand by itself, and how many there are."""
    slot, (of,) = encoded.slots[one.scope[0]], one.classes
    parts = [candidate.part for candidate in encoded.candidates[slot]]
    may = {part for part, each in zip(parts, of, strict=True) if (each,) in one.tuples}
    return slot, len(may), len(set(parts))


def why_never(encoded: Encoded, slot: str, part: str, seconds: float = STEP_SECONDS) -> tuple[Ground, ...]:
    """Why a part is in no bill though nothing puts it out by itself: a smallest set of what cannot be kept with it."""
    pin = len(encoded.puzzle.grounds)
    may = tuple(int(one.part == part) for one in encoded.candidates[slot])
    pinned = Allowed(pin, (encoded.slots.index(slot),), (may,), frozenset({(1,)}))
    grounds = (*encoded.puzzle.grounds, Ground("pinned", slot, f"{slot} is to be {part}"))
    kept = (one for one in encoded.puzzle.restrictions if one.ground >= 0)
    puzzle = replace(encoded.puzzle, grounds=grounds, restrictions=(*kept, pinned))
    conflict, _ = _smallest(replace(encoded, puzzle=puzzle), monotonic() + seconds)
    return tuple(grounds[one] for one in sorted(conflict) if one != pin)
