"""How a group answers a book: what is swapped for what, and what that costs and brings once."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from decimal import Decimal

from costplan.build import Build
from costplan.garage import Piece

#: Why a book is not answered where the search ran out of time.
UNDECIDED = "no parts were found in the time there was, and none are shown to be impossible"


@dataclass(frozen=True, slots=True)
class Swap:
    """Another part in a slot, '' for none. `anyway`: the old one is renewed in the opening gap whatever the book says,
    so that only its price differs; `turn`: what stood there for some set-ups alone and goes too."""

    slot: str
    carrier: str
    before: str
    after: str
    piece: str = ""
    anyway: bool = False
    turn: str = ""


@dataclass(frozen=True, slots=True)
class OnceLine:
    """What is paid or got once, for all engines of one entrant; what is got is negative.

    `what`: bought, work, level, deposit, charge of the book, sold, spared by who has not bought it yet, or anyway:
    renewed in the opening gap whatever the book says, so that it must be there and costs nothing more once. `pieces`
    for `slots`, there after `lead_days`; a line of the shelf has no slots.
    """

    what: str
    name: str
    slots: tuple[str, ...]
    pieces: int
    amount: Decimal
    lead_days: int = 0
    place: str = ""


@dataclass(frozen=True, slots=True)
class Answer:
    """How an entrant of a group meets a book. `build` is then in each of its engines.

    `lines` are at today's prices, what is sold at its full resale: haircut and rise are the study's. `power` is
    estimated, kW, with its `error`; None where it is not known. `against`: where nothing meets the book, the clauses
    and fits that are at odds. `proved`: whether no other answer costs less. `garage`: what is on hand then; `shelf`: by
    part, what boxes that may stand nowhere any more cost, minor units. `opened`: for which level, of engine or car, by
    its rank, they are opened on opening day; `renewed`: the slots that this always renews.
    """

    build: Build
    swaps: tuple[Swap, ...] = ()
    lines: tuple[OnceLine, ...] = ()
    power: float | None = None
    error: float | None = None
    against: tuple[str, ...] = ()
    proved: bool = True
    garage: tuple[Piece, ...] = ()
    shelf: Mapping[str, int] = field(default_factory=dict)
    renewed: tuple[tuple[str, str], ...] = ()
    opened: tuple[tuple[str, int], ...] = ()

    @property
    def possible(self) -> bool:
        return not self.against

    def once(self, haircut: float, rises: Mapping[str, float]) -> Decimal:
        """What it costs once: bought at its price with its rise, sold at its resale less the haircut."""
        return sum((self.amount(line, haircut, rises) for line in self.lines), Decimal(0))

    @staticmethod
    def amount(line: OnceLine, haircut: float, rises: Mapping[str, float]) -> Decimal:
        """A line with haircut and rise, unrounded."""
        if line.what == "sold":
            return line.amount * (1 - Decimal(repr(haircut)))
        return line.amount * (1 + Decimal(repr(rises.get(line.name, 0.0)))) if line.what == "bought" else line.amount
