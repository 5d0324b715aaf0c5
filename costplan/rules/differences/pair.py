"""The two books that are compared: each by itself, or a change over one of them."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from datetime import date
from pathlib import Path

from costplan.problems import Place, Problem, Problems, in_order
from costplan.reading import Setting, astray, read_toml, shown
from costplan.rules.change import UNKNOWN, Change, is_change, read_change
from costplan.rules.differences.words import phase_words
from costplan.rules.kinds import Known
from costplan.rules.pack import Pack, read_pack


@dataclass(frozen=True, slots=True)
class Side:
    """One of two books that are compared; `changes`: what was worked into it."""

    name: str
    edition: str
    date: date | None
    file: str
    invented: bool
    changes: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Proposal:
    """A change as it introduces itself."""

    name: str
    author: str
    source: str
    date: date | None
    reason: str
    since: str
    invented: bool
    file: str


@dataclass(frozen=True, slots=True)
class Pair:
    """Two packs to compare, and the change that leads from the one to the other, if one does."""

    before: Pack
    after: Pack
    change: Change | None = None

    @property
    def sides(self) -> tuple[Side, Side]:
        return side_of(self.before), side_of(self.after)

    @property
    def proposal(self) -> Proposal | None:
        if self.change is None:
            return None
        head, since = self.change.header, phase_words(self.change.header.phase)
        return Proposal(
            head.name, head.author, head.source, head.date, head.reason, since, head.invented, self.change.file
        )


def side_of(pack: Pack) -> Side:
    """How a pack introduces itself."""
    header, changes = pack.header, [change.header for change in pack.changes]
    invented = header.invented or any(change.invented for change in changes)
    names = tuple(change.name for change in changes)
    return Side(header.name, header.edition, header.date, pack.file, invented, names)


@dataclass(frozen=True, slots=True)
class _Volume:
    """A pack's file, and the change that is worked into it."""

    path: Path
    change: Change | None = None


def read_pair(
    first: Path, second: Path | None = None, settings: tuple[Setting, ...] = ()
) -> tuple[Pair | None, tuple[Problem, ...]]:
    """Two packs to compare, each by itself or as a change over a pack that lies beside it.

    With a pack before it, a change is worked into that one; a change alone is compared with its baseline.
    """
    problems = Problems()
    volumes = _volumes(first, second, settings, problems)
    packs = [pack for one in volumes if (pack := _read(one, settings, problems)) is not None]
    if len(packs) == 2 and not problems:
        problems.extend(astray(settings, dict.fromkeys(_addresses(volumes, packs))))
    if problems or len(packs) < 2:
        return None, in_order(problems.found)
    return Pair(packs[0], packs[1], volumes[1].change if volumes[0].change is None else None), ()


def _volumes(first: Path, second: Path | None, settings: tuple[Setting, ...], problems: Problems) -> list[_Volume]:
    """What is compared with what; nothing where that cannot be told."""
    after = _volume(second or first, settings, problems)
    if after is None:
        return []
    if second is None:
        return _with_baseline(after, problems)
    before = _volume(first, settings, problems)
    if before is not None and before.change is None and after.change is not None:
        after = replace(after, path=first)
        _check_baseline(after.change, first.name, problems)
    return [] if before is None else [before, after]


def _with_baseline(after: _Volume, problems: Problems) -> list[_Volume]:
    """A change behind its baseline; of a baseline that is not there the change tells when it is read."""
    if after.change is not None:
        return [_Volume(after.path), after] if _is_there(after.path) else [after]
    _, faults = read_toml(after.path, after.path.stem)
    advice = "name the pack or the change to compare it with; only a change stands alone"
    alone = Problem("REA016", Place(shown(after.path)), "", "", "a pack without another", advice)
    problems.extend(faults or (alone,))
    return []


def _volume(path: Path, settings: tuple[Setting, ...], problems: Problems) -> _Volume | None:
    if not is_change(path):
        return _Volume(path)
    change, faults = read_change(path, settings)
    problems.extend(faults)
    if change is None or change.header.baseline == UNKNOWN:
        return None
    return _Volume(path.parent / change.header.baseline, change)


def _is_there(path: Path) -> bool:
    """Whether a file is there; one by a name that no file can have is not."""
    try:
        return path.exists()
    except OSError:
        return False


def _check_baseline(change: Change | None, name: str, problems: Problems) -> None:
    if change is not None and change.header.baseline != name:
        place, advice = change.document.place(("baseline",)), f"compare it with its baseline, or give {name} here"
        problems.add("RUL010", place, "baseline", change.header.baseline, f"no change of {name} but of", advice)


def _read(volume: _Volume, settings: tuple[Setting, ...], problems: Problems) -> Pack | None:
    """A pack by itself: which slots, operations and levels there are is not known and not asked."""
    changes = () if volume.change is None else (volume.change,)
    if volume.change is not None and not _is_there(volume.path):
        place, what = volume.change.document.place(("baseline",)), "a change over a pack that is not there:"
        advice = "give its file's name with .toml and put the change beside it, or name the pack first"
        problems.add("RUL010", place, "baseline", volume.change.header.baseline, what, advice)
        return None
    pack, faults = read_pack(volume.path, Known(), settings, changes)
    problems.extend(faults)
    return pack


def _addresses(volumes: Iterable[_Volume], packs: Iterable[Pack]) -> Iterator[str]:
    """The files that a `--set` may lead into."""
    for volume in volumes:
        yield volume.path.stem
        yield from () if volume.change is None else (Path(volume.change.file).stem,)
    for pack in packs:
        names = (pack.header.supplements, *(other.file for other in pack.recognised))
        yield from (Path(name).stem for name in names if name)
