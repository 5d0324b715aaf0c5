"""The rule book: levels that are barred, engines that may not start, pieces that may not be put in."""

from __future__ import annotations

from dataclasses import dataclass, field

from tests.season_model.reading import Json, Work


@dataclass(slots=True)
class Bar:
    """Bars the levels low to high of a ladder once so many openings have been counted."""

    ladder: str
    low: int
    high: int
    most: int
    each: bool
    in_life: bool
    holds: tuple[bool, ...]
    opened: dict[str, int]

    def bars(self, carrier: str, level: int, g: int, more: int = 0) -> bool:
        """Whether it bars a level of its ladder; `more` openings are counted that are about to be done."""
        if not (self.low <= level <= self.high and g < len(self.holds) and self.holds[g]):
            return False
        count = self.opened[carrier] if self.each else sum(self.opened.values())
        return count + more >= self.most

    def counts(self, level: int, g: int) -> bool:
        return level >= self.low and (self.in_life or (g < len(self.holds) and self.holds[g]))


@dataclass(slots=True)
class EngineCap:
    most: int
    holds: tuple[bool, ...]
    started: set[str] = field(default_factory=set)


@dataclass(slots=True)
class PieceCap:
    most: int
    each_event: bool
    positions: frozenset[str]
    holds: tuple[bool, ...]
    put_in: int = 0


@dataclass(slots=True)
class Bonds:
    """All bonds of a season, with what counts for them so far."""

    bars: list[Bar]
    engine_caps: list[EngineCap]
    piece_caps: list[PieceCap]

    @classmethod
    def at_opening(cls, work: Work) -> Bonds:
        book = work.json["book"]
        return cls(
            [_bar(row, work) for row in book["bars"]],
            [EngineCap(row["most"], tuple(row["holds"])) for row in book["engine_caps"]],
            [
                PieceCap(row["most"], row["each_event"], frozenset(row["positions"]), tuple(row["holds"]))
                for row in book["piece_caps"]
            ],
        )

    def barred(self, ladder: str, level: int, carrier: str, g: int) -> bool:
        return any(bar.ladder == ladder and bar.bars(carrier, level, g) for bar in self.bars)

    def barred_after(self, ladder: str, level: int, carrier: str, g: int, opening: tuple[int, int]) -> bool:
        """Whether a level will be barred in a later gap, once another opening (level and gap) has been counted."""
        done, at = opening
        return any(bar.ladder == ladder and bar.bars(carrier, level, g, int(bar.counts(done, at))) for bar in self.bars)

    def count_opening(self, ladder: str, level: int, carrier: str, g: int) -> None:
        for bar in self.bars:
            if bar.ladder == ladder and bar.counts(level, g):
                bar.opened[carrier] += 1

    def may_start(self, engine: str, g: int) -> bool:
        return all(not cap.holds[g] or engine in cap.started or len(cap.started) < cap.most for cap in self.engine_caps)

    def count_start(self, engine: str, g: int) -> None:
        for cap in self.engine_caps:
            if cap.holds[g]:
                cap.started.add(engine)

    def new_event(self) -> None:
        for cap in self.piece_caps:
            if cap.each_event:
                cap.put_in = 0

    def allows(self, pieces: dict[str, int], g: int) -> bool:
        """Whether so many pieces may be put into positions in the gap before a run."""
        return all(
            g >= len(cap.holds)
            or not cap.holds[g]
            or not (asked := _counted(cap, pieces))
            or cap.put_in + asked <= cap.most
            for cap in self.piece_caps
        )

    def count_pieces(self, pieces: dict[str, int], g: int) -> None:
        for cap in self.piece_caps:
            if g < len(cap.holds) and cap.holds[g]:
                cap.put_in += _counted(cap, pieces)


def _counted(cap: PieceCap, pieces: dict[str, int]) -> int:
    return sum(count for name, count in pieces.items() if name in cap.positions)


def _bar(row: Json, work: Work) -> Bar:
    names = [level.name for level in work.ladders[row["ladder"]]]
    return Bar(
        ladder=row["ladder"],
        low=names.index(row["low"]),
        high=names.index(row["high"]),
        most=row["most"],
        each=row["each"],
        in_life=row["in_life"],
        holds=tuple(row["holds"]),
        opened={one["carrier"]: one["openings"] for one in row["opened"]},
    )
