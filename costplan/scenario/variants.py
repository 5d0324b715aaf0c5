"""The sides of a comparison: several scenarios, and the variants that the first of them names."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import replace
from pathlib import Path

from costplan.problems import Place, Problem, in_order, nearest
from costplan.reading import shown
from costplan.scenario.header import Variant
from costplan.scenario.reading import read_scenario
from costplan.scenario.scenario import Scenario

#: What a scenario is called beside its own variants.
AS_IT_IS = "as it is"

#: A scenario under the name that it has in a comparison.
Named = tuple[str, Scenario]


def read_sides(
    folders: Sequence[Path], variants: Iterable[str] = (), sets: Iterable[str] = ()
) -> tuple[tuple[Named, ...], tuple[Problem, ...]]:
    """The scenarios as they are, then the variants of the first, all with the same what-ifs (`--set` texts).

    A variant's own texts are set after those. Two sides at least, of one currency; none where there are problems.
    """
    texts, names = tuple(sets), tuple(dict.fromkeys(variants))
    found = [(_name(folder, folders), *read_scenario(folder, texts)) for folder in folders]
    problems = [problem for _, _, faults in found for problem in faults]
    sides = [(name, scenario) for name, scenario, _ in found if scenario is not None]
    if problems or not sides:
        return (), in_order(problems)
    known = {variant.name: variant for variant in sides[0][1].header.variants}
    problems += _unknown(names, known)
    for name in (name for name in names if name in known):
        scenario, faults = _varied(folders[0], known[name], texts)
        problems += faults
        sides += [(name, scenario)] if scenario is not None else []
    problems += () if problems else (*_alone(sides, known), *_other_currencies(sides))
    return (() if problems else tuple(sides)), in_order(problems)


def with_base(sides: Sequence[Named], name: str) -> tuple[tuple[Named, ...], tuple[Problem, ...]]:
    """The sides with the one of a name first, as the base of the comparison; `name` '' leaves them as they are."""
    names = [one for one, _ in sides]
    if not name:
        return tuple(sides), ()
    if name not in names:
        return (), (Problem("REA020", Place("--against"), "", name, "no such side:", nearest(name, names)),)
    base = sides[names.index(name)]
    return (base, *(side for side in sides if side is not base)), ()


def _name(folder: Path, folders: Sequence[Path]) -> str:
    return AS_IT_IS if len(folders) == 1 else shown(folder)


def _varied(folder: Path, variant: Variant, texts: tuple[str, ...]) -> tuple[Scenario | None, Iterator[Problem]]:
    """A scenario with a variant's texts written in too, and what is wrong with it then."""
    scenario, problems = read_scenario(folder, (*texts, *variant.set))
    return scenario, (_of_variant(problem, variant, len(texts)) for problem in problems)


def _of_variant(problem: Problem, variant: Variant, before: int) -> Problem:
    """A problem that only a variant has: at the variant's own row where it is the variant's text that is at fault."""
    word, _, number = problem.place.file.partition(" ")
    if word == "--set" and int(number) > before:
        field = f"set.{int(number) - before}"
        return replace(problem, place=variant.place, field=f"{field} {problem.field}".rstrip())
    return replace(problem, what=f"with '{variant.name}': {problem.what}")


def _unknown(names: Sequence[str], known: Iterable[str]) -> Iterator[Problem]:
    for number, name in enumerate(names, start=1):
        if name not in known:
            what = "no such variant:"
            yield Problem("REA020", Place(f"--variant {number}"), "", name, what, nearest(name, known))


def _alone(sides: Sequence[Named], known: Iterable[str]) -> Iterator[Problem]:
    if len(sides) < 2:
        names = ", ".join(known) or "it has none; write a [[variant]] into scenario.toml"
        advice = f"name a second scenario, or a variant of this one: {names}"
        yield Problem("REA016", Place("--variant"), "", "", "one side alone is compared with nothing", advice)


def _other_currencies(sides: Sequence[Named]) -> Iterator[Problem]:
    """A problem for each side that counts in another currency than the first."""
    first = sides[0][1].header.currency
    for _, scenario in sides:
        currency, place = scenario.header.currency, Place(f"{scenario.folder}/scenario.toml")
        if currency != first:
            what, advice = "another currency than the first side's:", f"compare what counts in {first}"
            yield Problem("REA020", place, "currency", currency, what, advice)
