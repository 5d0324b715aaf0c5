"""Swapping one part: what else must change with it, and what that costs and buys.

Each other part of a slot is put into the bill that one starts from, with as few other changes as fits and book allow,
at the lowest price. `options` asks of every slot what still pays; `substitutes` of one slot what stands in for a part
that cannot be had or has failed.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal

from costplan.choose.aims import Aimed
from costplan.choose.choosing import Option, option_of
from costplan.choose.comparing import Buys, differences, more, what_it_buys
from costplan.choose.conflict import why_never
from costplan.choose.encoded import CHANGES, ORDER, Out, with_restrictions
from costplan.choose.modelling import Goal
from costplan.choose.purchases import PRICE
from costplan.choose.puzzle import Allowed, Amount, Ground, Pick
from costplan.choose.ranking import build_of
from costplan.choose.replayed import Replayed, replay
from costplan.choose.settling import settle
from costplan.season.drawn.drawing import QUIET, Watch

#: How many slots hold other parts than the bill that one starts from.
SWAPS = "swaps"


@dataclass(frozen=True, slots=True)
class Swap:
    """A part in place of another in a slot, and `along`, what must change with it: slot, part before, part after.

    `price` of the whole bill, `costs` more than the one that one starts from; `power` in kW, `more_power` than there,
    with its `error`; `less_a_season`: cost of parts
    saved a season; `more_events`: by how much the interval grows. `buys`: whether the power is more than the error.
    """

    slot: str
    part: str
    name: str
    instead_of: str
    along: tuple[tuple[str, str, str], ...]
    price: Decimal
    costs: Decimal
    power: float | None
    more_power: float | None
    error: float | None
    less_a_season: Decimal | None
    more_events: float | None
    lead_days: int
    buys: Buys

    def after(self, start: Option) -> tuple[tuple[str, str], ...]:
        """The parts by slot of its bill; a slot that is left empty has none."""
        changed = {**dict(start.parts), self.slot: self.part, **{slot: part for slot, _, part in self.along}}
        return tuple((slot, part) for slot, part in changed.items() if part)


@dataclass(frozen=True, slots=True)
class Never:
    """A part that nothing puts out by itself and yet is in no bill: a smallest set of what cannot be kept with it.

    No `grounds` where nobody asked for them.
    """

    slot: str
    part: str
    grounds: tuple[Ground, ...]


@dataclass(frozen=True, slots=True)
class Swaps:
    """The bill that one starts from, all swaps, those parts that cannot be had in any bill, and why.

    `out`: by what is asked of their slot alone; `never`: by what is asked of several.

    `unproved`: swaps that are not shown to be the ones with the fewest changes at the lowest price, or to be in no
    bill at all. `interrupted`: Ctrl-C came before all were tried.
    """

    start: Option
    swaps: tuple[Swap, ...]
    out: tuple[Out, ...]
    never: tuple[Never, ...]
    unproved: tuple[str, ...]
    interrupted: bool = False


def start_from(aimed: Aimed, seconds: float = 30.0, slot: str = "", part: str = "") -> tuple[Pick | None, Aimed]:
    """The build as planned, with the fewest changes that fits and book ask for, at the lowest price.

    `part`: this one in a slot, whatever the build has there.
    """
    asked = _with(aimed, slot, part) if part else aimed
    settled = settle(asked.encoded, (Goal(CHANGES), Goal(PRICE), Goal(ORDER)), seconds)
    return settled.solved.pick, aimed if part else replace(aimed, encoded=settled.encoded)


def swaps_from(
    aimed: Aimed,
    start: Pick,
    slots: Iterable[str],
    seconds: float,
    watch: Callable[[Iterable[tuple[str, str]]], Iterable[tuple[str, str]]] = iter,
    *,
    grounds: bool = True,
) -> Swaps:
    """Every other part of some slots, of all where none is named; `seconds` for each of them. Interrupted, it gives
    what was found by then, and raises KeyboardInterrupt only if that is nothing.

    `grounds`: whether it is asked why a part is in no bill, which takes longer than all the rest.
    """
    aimed = _counting_from(aimed, start)
    first, encoded = option_of(aimed, start), aimed.encoded
    wanted = tuple(dict.fromkeys(slots)) or tuple(slot for slot in encoded.slots if "/" not in slot)
    asked = [(slot, part) for slot in wanted for part in _others(aimed, slot, start)]
    found, never, unproved = list[Swap](), list[Never](), list[str]()
    out = [one for one in encoded.out if one.slot in wanted]
    interrupted = False
    try:
        for slot, part in watch(asked):
            settled = settle(_with(aimed, slot, part).encoded, (Goal(SWAPS), Goal(PRICE), Goal(ORDER)), seconds)
            if settled.solved.pick is not None:
                found.append(_swap(first, slot, part, option_of(aimed, settled.solved.pick)))
            if settled.solved.status == "impossible":
                never.append(Never(slot, part, why_never(settled.encoded, slot, part) if grounds else ()))
            elif settled.solved.status != "optimal":
                unproved.append(f"{slot}: {part}")
    except KeyboardInterrupt:
        interrupted = True
        if not found:
            raise
    return Swaps(first, tuple(found), tuple(_once(out)), tuple(never), tuple(unproved), interrupted)


def _counting_from(aimed: Aimed, start: Pick) -> Aimed:
    encoded = aimed.encoded
    weights = {
        number: tuple(int(one.part != encoded.candidates[slot][start[number]].part) for one in encoded.candidates[slot])
        for number, slot in enumerate(encoded.slots)
        if "/" not in slot
    }
    amounts = {**encoded.puzzle.amounts, SWAPS: Amount(SWAPS, weights)}
    return replace(aimed, encoded=replace(encoded, puzzle=replace(encoded.puzzle, amounts=amounts, hint=start)))


def _others(aimed: Aimed, slot: str, start: Pick) -> tuple[str, ...]:
    """The other parts of a slot that are still there."""
    encoded = aimed.encoded
    now = encoded.candidates[slot][start[encoded.slots.index(slot)]].part
    return tuple(dict.fromkeys(one.part for one in encoded.candidates[slot] if one.part != now and one.fill))


def _with(aimed: Aimed, slot: str, part: str) -> Aimed:
    encoded = aimed.encoded
    classes = (tuple(int(one.part == part) for one in encoded.candidates[slot]),)
    pinned = Allowed(-1, (encoded.slots.index(slot),), classes, frozenset({(1,)}))
    return replace(aimed, encoded=with_restrictions(encoded, [pinned]))


def _swap(first: Option, slot: str, part: str, option: Option) -> Swap:
    changes = tuple(differences(first, option))
    line = next(one for one in option.lines if one.slot == slot)
    lead = max((one.lead_days for one in option.bill.lines if slot in one.slots), default=0)
    return Swap(
        slot,
        part,
        line.name,
        next(before for name, before, _ in changes if name == slot),
        tuple(change for change in changes if change[0] != slot),
        option.price,
        option.price - first.price,
        option.power,
        more(option.power, first.power),
        option.error,
        more(first.per_season, option.per_season),
        more(option.events, first.events),
        lead,
        what_it_buys(first, option),
    )


def _once(out: Sequence[Out]) -> Iterator[Out]:
    """Each part once, with the first reason."""
    seen = set[tuple[str, str]]()
    for one in out:
        key = (one.slot, one.part)
        if key not in seen:
            seen.add(key)
            yield one


@dataclass(frozen=True, slots=True)
class Substitute:
    """A swap with what a season of its engine costs on the machine; None where it has no season."""

    swap: Swap
    replayed: Replayed


def substitutes(
    aimed: Aimed, start: Pick, slot: str, seconds: float, seasons: int, seed: int, watch: Watch = QUIET
) -> tuple[Swaps, tuple[Substitute, ...]]:
    """What stands in for the part of a slot, the cheapest over the season first, by the machine's own seasons;
    `seconds` for each part that is tried."""
    found = swaps_from(aimed, start, [slot], seconds)
    bills = [found.start.parts, *(swap.after(found.start) for swap in found.swaps)]
    builds = [build_of(aimed, parts) for parts in bills]
    played = replay(aimed.encoded.scenario, builds, seasons, seed, watch)[1:]
    pairs = [Substitute(swap, one) for swap, one in zip(found.swaps, played, strict=True)]
    return found, tuple(sorted(pairs, key=_cost))


def _cost(one: Substitute) -> tuple[bool, Decimal]:
    played = one.replayed.played
    return played is None, played.cost.mean if played else Decimal(0)
