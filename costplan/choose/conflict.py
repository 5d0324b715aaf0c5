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

from costplan.choose.encoding import Encoded, encode, lazily_barred, without_grounds
from costplan.choose.modelling import Goal, Model, Status, search, solver_of
from costplan.choose.purchases import PRICE
from costplan.choose.puzzle import Allowed, Bounded, Ground, Pick
from costplan.choose.settling import settle
from costplan.money import from_minor

#: A step that has no answer by then ends the search; what is known so far is then shrunk one by one.
STEP_SECONDS = 10.0


@dataclass(frozen=True, slots=True)
class Culprit:
    """One member of a conflict: its ground, the slots that it is about, and what comes of leaving it out.

    `candidates`: how many candidates of each slot it lets stand by itself, of how many; `possible`: whether a bill is
    there without it, and `price` the lowest of them.
    """

    ground: Ground
    slots: tuple[str, ...]
    candidates: tuple[tuple[str, int, int], ...]
    possible: bool
    price: Decimal | None


@dataclass(frozen=True, slots=True)
class Conflict:
    """Why nothing is possible. `smallest`: whether it is proved that no conflict has fewer members; else it is shown
    only that none of its members can be left out of it.
    """

    culprits: tuple[Culprit, ...]
    smallest: bool
    seconds: float


def explain(
    encoded: Encoded, seconds: float = 60.0, watch: Callable[[Iterable[int]], Iterable[int]] = iter
) -> Conflict:
    """A smallest conflict of a choice that has no answer, encoded `whole`."""
    began = monotonic()
    encoded = settle(encoded, (Goal(PRICE),), seconds).encoded
    conflict, smallest = _smallest(encoded, began + seconds)
    culprits = tuple(_culprit(encoded, one) for one in watch(sorted(conflict)))
    return Conflict(culprits, smallest, monotonic() - began)


def _smallest(encoded: Encoded, deadline: float) -> tuple[frozenset[int], bool]:
    """A smallest set of grounds that no pick keeps to, and whether that is proved."""
    trial = _Trial(encoded, deadline)
    sets: list[frozenset[int]] = []
    while monotonic() < deadline:
        held = _hitting(sets, encoded.puzzle.grounds)
        found, left_out = trial.left_out(held)
        if found == "impossible":
            return held, True
        if found == "nothing found":
            break
        if not left_out:
            raise ValueError("a choice that has an answer is in no conflict")
        sets.append(left_out)
    return _shrunk(encoded, trial.asked), False


def _hitting(sets: list[frozenset[int]], grounds: Sequence[Ground]) -> frozenset[int]:
    """A smallest set with a member in each of some sets; of equal ones one with few fits, which cannot give way."""
    from ortools.sat.python import cp_model

    model = cp_model.CpModel()
    members = sorted(frozenset().union(*sets)) if sets else []
    taken = {one: model.new_bool_var(str(one)) for one in members}
    for each in sets:
        model.add_bool_or([taken[one] for one in sorted(each)])
    most, named = len(members) + 1, sorted((grounds[one].kind, grounds[one].name, one) for one in members)
    place = {one: number for number, (_, _, one) in enumerate(named)}  # whatever the order of rows
    weights = [most**3 + most**2 * (grounds[one].kind == "fit") + place[one] for one in members]
    model.minimize(sum(weight * taken[one] for weight, one in zip(weights, members, strict=True)))
    solver = solver_of(cp_model, STEP_SECONDS)
    search(solver, model)
    return frozenset(one for one in members if solver.boolean_value(taken[one]))


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


def _culprit(encoded: Encoded, ground: int) -> Culprit:
    """A member, and the lowest price there is without it."""
    its = [one for one in encoded.puzzle.restrictions if one.ground == ground]
    asked = (slot for number, one in encoded.lazy if number == ground for slot, _ in one.reads)
    slots = tuple(dict.fromkeys((*(encoded.slots[slot] for one in its for slot in _scope(one)), *asked)))
    found = settle(_without(encoded, ground), (Goal(PRICE),), STEP_SECONDS).solved
    price = None if found.value is None else from_minor(found.value, encoded.scenario.header.currency)
    left = tuple(_left(encoded, one) for one in its if isinstance(one, Allowed) and len(one.scope) == 1)
    return Culprit(encoded.puzzle.grounds[ground], slots, left, found.pick is not None, price)


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
