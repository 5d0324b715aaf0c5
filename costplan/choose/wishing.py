"""Wishes as restrictions of single slots: what is pinned, banned, sold by whom and by when, and not to be cheapened."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace
from datetime import date
from decimal import Decimal
from functools import partial

from costplan.catalog import Catalog, Offer
from costplan.choose.candidates import Candidate, buying_of, turn_on_hand
from costplan.choose.desk import Desk
from costplan.choose.hand import Hand
from costplan.choose.puzzle import Bounded, Ground
from costplan.choose.wishes import ChoosyBuying


def take_turns(desk: Desk, hand: Hand) -> None:
    """Parts that take turns with a main one: slots of their own with their planned part, which is only paid for."""
    for slot, others in desk.scenario.built().alternates.items():
        for one in others:
            if one.serves:
                bought = Candidate(slot, "kit" if one.fill.kit else "apart", one.fill, one.fill.kit)
                desk.candidates[f"{slot}/{one.name}"] = (bought, *turn_on_hand(desk.scenario, slot, one, hand))


def wish(desk: Desk) -> None:
    """What is pinned, banned, bought from whom and by when."""
    wishes, buying = desk.wishes, buying_of(desk.scenario, desk.wishes)
    for slot, part in wishes.pinned.items():
        ground = desk.ground(Ground("pinned", slot, f"{slot} is to be {part}"))
        desk.keep(ground, slot, [one.part == part for one in desk.candidates[slot]])
    for part in wishes.banned:
        ground = desk.ground(Ground("banned", part, f"{part} is not to be used"))
        for slot in desk.slots:
            desk.keep(ground, slot, [one.part != part for one in desk.candidates[slot]])
    _keep_critical(desk)
    anybody, any_day = replace(buying, suppliers=()), replace(buying, by=None)
    named = f"bought from {', '.join(wishes.suppliers)}"
    if wishes.suppliers:
        _buy(desk, Ground("supplier", "", named), lambda offers: bool(any_day.open_to(offers, wishes.on)))
    if wishes.by:
        says = f"here by {wishes.by}, ordered on {wishes.on}"
        says = f"{says}, {named}" if wishes.suppliers else says
        _buy(desk, Ground("lead", str(wishes.by), says), partial(_is_in_time, anybody, any_day, buying, wishes.on))


def _keep_critical(desk: Desk) -> None:
    """Nothing cheaper than planned where a part is not to be stretched: what holds an engine together is no saving."""
    build, wishes = desk.scenario.built(), desk.wishes
    kept = {row.slot: str(row.place) for row in desk.scenario.files.positions if not row.stretch}
    for slot, place in sorted(kept.items()):
        fill = build.fills.get(slot)
        if fill is None or slot in wishes.cheapen or slot in wishes.pinned:
            continue
        least = _cost_new(desk, slot, fill.part.part)
        says = f"nothing cheaper in {slot} than {fill.part.part}, which is not to be stretched to save money"
        may = [one.fill is None or _cost_new(desk, slot, one.part) >= least for one in desk.candidates[slot]]
        desk.keep(desk.ground(Ground("critical", slot, says, place)), slot, may)


def _cost_new(desk: Desk, slot: str, part: str) -> Decimal:
    """What the pieces of a slot cost new, whoever sells them."""
    catalog, scenario = desk.scenario.catalog or Catalog(), desk.scenario
    pieces = scenario.built().pattern.slots[slot].quantity
    return scenario.buying.cheapest(catalog.offers_of(part), pieces, desk.wishes.on).cost


def _is_in_time(
    anybody: ChoosyBuying, any_day: ChoosyBuying, buying: ChoosyBuying, on: date, offers: Sequence[Offer]
) -> bool:
    """Whether anybody has it here in time, and of those asked one, if they sell it at all."""
    late = bool(any_day.open_to(offers, on)) and not buying.open_to(offers, on)
    return bool(anybody.open_to(offers, on)) and not late


def _buy(desk: Desk, ground: Ground, may: Callable[[Sequence[Offer]], bool]) -> None:
    """Of what is bought only what may be by its offers."""
    number, catalog = desk.ground(ground), desk.scenario.catalog or Catalog()
    for slot in desk.slots:
        rows = [
            one.source in ("hand", "empty") or may(catalog.offers_of(one.kit or one.part))
            for one in desk.candidates[slot]
        ]
        desk.keep(number, slot, rows)


def use_pieces_once(desk: Desk) -> None:
    """A piece on the shelf goes into one slot."""
    takers: dict[str, dict[int, tuple[int, ...]]] = {}
    for number, slot in enumerate(desk.slots):
        for name in {one.piece.piece for one in desk.candidates[slot] if one.piece}:
            of = tuple(int(one.piece is not None and one.piece.piece == name) for one in desk.candidates[slot])
            takers.setdefault(name, {})[number] = of
    for name, weights in sorted(takers.items()):
        if len(weights) > 1:
            ground = desk.ground(Ground("hand", name, f"{name} is there once"))
            desk.restrictions.append(Bounded(ground, weights, None, 1))
