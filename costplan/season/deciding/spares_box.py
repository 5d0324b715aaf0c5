"""Boxes of spares: what is added to what lies in one, what it costs, and the season that begins with it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

from costplan.money import from_minor
from costplan.season import machine
from costplan.season.deciding.spares_answer import Pieces
from costplan.season.names import Season
from costplan.season.opening import items_of

#: Pieces by the number of their stock item, in the order of the numbers: what is added to the box.
Box = tuple[tuple[int, int], ...]


def with_stock(season: Season, pieces: Mapping[str, int]) -> Season:
    """A season that begins with so many more new pieces of some parts in the box, kept there, at what they cost then.

    What is paid for them is not in its cash; fewer than none take pieces out, with their share of what all cost.
    """
    numbers = {item.name: number for number, item in enumerate(season.items)}
    return with_box(season, tuple((numbers[part], count) for part, count in pieces.items()))


def with_box(season: Season, box: Box) -> Season:
    stock, value, keep = season.start.stock.copy(), season.start.stock_value.copy(), season.problem.keep.copy()
    for item, count in box:
        value[item] += price_of(season, item, count) if count >= 0 else count * int(value[item]) // int(stock[item])
        stock[item] += count
        keep[item] = max(0, keep[item] + count)
    problem, start = season.problem._replace(keep=keep), season.start._replace(stock=stock, stock_value=value)
    return replace(season, problem=problem, start=start)


def without_item(season: Season, item: int) -> Season:
    """A season that begins without anything of an item in the box, new or used."""
    start, keep = season.start, season.problem.keep.copy()
    stock, value = start.stock.copy(), start.stock_value.copy()
    stock[item] = value[item] = keep[item] = 0
    left = start.used_left & (season.problem.used_item != item)
    begins = start._replace(stock=stock, stock_value=value, used_left=left)
    return replace(season, problem=season.problem._replace(keep=keep), start=begins)


def price_of(season: Season, item: int, pieces: int) -> int:
    """What so many pieces cost at the price of the first gap that is played, their share of packs rounded half up."""
    problem = season.problem
    return machine.share_of(problem.pack_price[item, problem.begin], pieces, problem.pack[item])


def less(box: Box, other: Box) -> Box:
    """What a box holds more than another."""
    held = dict(other)
    return tuple((item, count - held.get(item, 0)) for item, count in box if count > held.get(item, 0))


def joined(box: Box, more: Box) -> Box:
    """What two boxes hold together."""
    pieces = dict(box)
    for item, count in more:
        pieces[item] = pieces.get(item, 0) + count
    return tuple(sorted(pieces.items()))


def cost_of(season: Season, box: Box) -> int:
    """What a box costs, in minor units, but for deposits."""
    return sum(price_of(season, item, count) for item, count in box)


def outlay_of(season: Season, box: Box) -> int:
    """What is paid for a box, deposits among it."""
    problem = season.problem
    return sum(
        price_of(season, item, count) + count // int(problem.pack[item]) * int(problem.core[item])
        for item, count in box
    )


def units_of(season: Season) -> dict[int, int]:
    """The stock items that can be carried as spares, and the pieces of each that one need takes at the least.

    That is one piece where a position mends its set by a piece, else its set. Services cannot be carried.
    """
    units: dict[int, int] = {}
    for p, spot in enumerate(season.spots):
        need = 1 if spot.as_piece else spot.pieces
        for item in items_of(season.problem, p):
            if season.items[item].offers:
                units[item] = min(need, units.get(item, need))
    return units


def in_packs(season: Season, item: int, pieces: int) -> int:
    """Pieces in whole packs, as many at the least as are sold at the price."""
    problem = season.problem
    return machine.packs_of(problem, item, pieces, problem.begin) * int(problem.pack[item])


def slots_of(season: Season, item: int) -> tuple[str, ...]:
    return tuple(spot.slot for p, spot in enumerate(season.spots) if item in items_of(season.problem, p))


def pieces_in(season: Season, box: Box) -> tuple[Pieces, ...]:
    return tuple(pieces_of(season, item, count) for item, count in box)


def pieces_of(season: Season, item: int, count: int) -> Pieces:
    problem, bought, currency = season.problem, season.items[item], season.rates.currency
    packs = count // int(problem.pack[item])
    amounts = (price_of(season, item, count), packs * int(problem.core[item]), count * int(problem.resale[item]))
    slots = slots_of(season, item)
    return Pieces(bought.name, bought.title, slots, packs, count, *(from_minor(value, currency) for value in amounts))
