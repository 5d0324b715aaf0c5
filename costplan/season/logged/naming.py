"""The names of a log's rows as the machine numbers them: carriers and positions, with a problem for each that is none.

A whole service is named like a slot, and may have blanks in its name.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Sequence

from costplan.garage.log import Entry
from costplan.problems import Problems, nearest
from costplan.season.names import Season
from costplan.season.records import CAR


class Names:
    """What a season's log may speak of."""

    def __init__(self, season: Season) -> None:
        self.season = season
        self.carriers = {name: c for c, name in enumerate(season.carriers)}
        self.spots = {spot.slot: p for p, spot in enumerate(season.spots)}

    def rows_of(self, entry: Entry, problems: Problems) -> tuple[int, tuple[int, ...]] | None:
        """The number of a row's carrier (-1: none of this season) and those of its positions; None for wrong names.

        A slot of the pattern without a position is named rightly, and nothing is kept of it.
        """
        c, before = self.carriers.get(entry.engine, -1), len(problems.found)
        found, known = [], (*self.spots, *self.season.slots)
        for name in slots_in(entry.slot, known):
            p = self.spots.get(name)
            if name not in known:
                advice = "write blanks between names, no commas" if "," in name else nearest(name, known)
                problems.add("LOG006", entry.place, "slot", name, "an unknown slot or service", advice)
            elif p is not None and entry.engine and self.season.spots[p].on_car != (entry.engine == CAR):
                whose = CAR if self.season.spots[p].on_car else "an engine"
                advice = f"give {whose} as its engine" if whose == CAR else "name the engine"
                problems.add("LOG006", entry.place, "slot", name, f"a slot of {whose}:", advice)
            elif p is not None:
                found.append(p)
        return None if len(problems.found) > before else (c, tuple(found))


def slots_in(words: Sequence[str], known: Collection[str]) -> Iterator[str]:
    """The slots and services that a cell names, each name as long as one is known; what is not known as it stands.

    >>> list(slots_in(("springs", "oil", "nine", "quarts", "spring"), ("springs", "oil nine quarts")))
    ['springs', 'oil nine quarts', 'spring']
    """
    at = 0
    while at < len(words):
        ends = (end for end in range(len(words), at, -1) if " ".join(words[at:end]) in known)
        end = next(ends, at + 1)
        yield " ".join(words[at:end])
        at = end
