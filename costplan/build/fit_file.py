"""Reading the fits of pattern.toml: names lead somewhere, sides can be compared, margins belong to what must be."""

from __future__ import annotations

from collections.abc import Iterator

from costplan.build.names import what_is_wrong, what_of
from costplan.build.pattern import Fit, Pattern
from costplan.problems import Problem, Problems
from costplan.quantity import Quantity, dimension
from costplan.reading import Document, read_part, repeated

#: What is wrong with one key of a fit: code, key, value, what and advice.
Fault = tuple[str, str, object, str, str]


def read_fits(document: Document, pattern: Pattern) -> tuple[tuple[Fit, ...], tuple[Problem, ...]]:
    """The fits that can be asked of builds of a pattern, with a problem for each that cannot."""
    values = document.values.get("fit", [])
    problems = Problems()
    read, asked = list[Fit](), list[Fit]()
    for index in range(len(values) if isinstance(values, list) else 0):
        fit, faults = read_part(document, ("fit", index), Fit)
        problems.extend(faults)
        if fit is None:
            continue
        read.append(fit)
        wrong = tuple(faults_of(fit, pattern))
        for code, key, value, what, advice in wrong:
            problems.add(code, document.place(("fit", index, key)), f"fit.{index + 1}.{key}", value, what, advice)
        asked += [] if wrong else [fit]
    problems.extend(repeated(read, Fit.KEY))
    return tuple(asked), tuple(problems.found)


def faults_of(fit: Fit, pattern: Pattern) -> Iterator[Fault]:
    """What is wrong with a fit: names that lead nowhere, else sides that cannot be compared, else its margins."""
    named = [("this", fit.this), *([("that", fit.that)] if isinstance(fit.that, str) else [])]
    nowhere = [(key, name) for key, name in named if not what_of(name, pattern)]
    for key, name in nowhere:
        yield "BLD007", key, name, *what_is_wrong(name, pattern)
    if nowhere:
        return
    what = what_of(fit.this, pattern)
    yield from _unlike(fit, what, pattern)
    allowed = ("equal", "one of") if what == "text" else ("equal", "at least", "at most")
    if fit.must not in allowed:
        yield "BLD008", "must", fit.must, f"what a {_kind(what)} cannot be:", f"give one of: {', '.join(allowed)}"
        return
    yield from _misplaced(fit, what)


def _unlike(fit: Fit, what: str, pattern: Pattern) -> Iterator[Fault]:
    """Sides of which one measures what the other does not."""
    advice = f"give an attribute that is a word, as {fit.this} is" if what == "text" else f"give a {what}"
    if isinstance(fit.that, str):
        other = what_of(fit.that, pattern)
        if other != what:
            yield "BLD008", "that", fit.that, f"a {_kind(other)} beside a {_kind(what)}:", advice
    elif what == "text":
        yield "BLD008", "that", fit.that, "a number beside a word:", advice
    elif dimension(fit.that.unit) != what:
        yield "REA021", "that", fit.that, f"not a {what}:", f"give a unit of {what} in quotes"


def _misplaced(fit: Fit, what: str) -> Iterator[Fault]:
    """Margins that do not belong to what must be, or measure something else."""
    margins: tuple[tuple[str, Quantity | None, tuple[str, ...]], ...] = (
        ("within", fit.within, ("equal",)),
        ("plus", fit.plus, ("at least", "at most")),
    )
    for key, margin, allowed in margins:
        if margin is None:
            continue
        if what == "text" or fit.must not in allowed:
            advice = f"leave it out; it goes with numbers that must be {' or '.join(allowed)}"
            yield "BLD008", key, margin, "a margin that does not belong here:", advice
        elif dimension(margin.unit) != what:
            yield "REA021", key, margin, f"not a {what}:", f"give a unit of {what} in quotes"


def _kind(what: str) -> str:
    return "word" if what == "text" else what
