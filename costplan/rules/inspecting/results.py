"""What inspectors found: a filled-in results sheet, and what became of each clause on each car."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import date
from pathlib import Path
from typing import Literal, TypeAlias

from pydantic import Field, model_validator

from costplan.garage import Inspected, check_inspections, latest
from costplan.problems import Problem, Problems
from costplan.quantity import Quantity, dimension
from costplan.reading import read_records, read_table
from costplan.reading.fields import Text, refuse, units_of
from costplan.rules.answers import Answer
from costplan.rules.check import evidence_of
from costplan.rules.clause import Rule
from costplan.rules.evidence import Sheet
from costplan.rules.kinds import KINDS, Limit, Word
from costplan.rules.pack import Pack

#: What becomes of a clause on a car; owed: it was looked at, but that does not show it.
Became: TypeAlias = Literal["met", "broken", "owed", "not looked at", "not asked"]


class Result(Inspected):
    """A row of a results sheet: of inspections.csv, or one that nobody has looked at yet"""

    by: Text = Field(default="", description="who inspected it")

    @property
    def looked_at(self) -> bool:
        return self.found is not None or self.value is not None

    @model_validator(mode="after")
    def _finds_something(self) -> Result:
        """In place of the check of inspections.csv, which is asked once there is something in the row."""
        if self.looked_at:
            vars(Inspected)["_finds_something"](self)
            if not self.by:
                raise refuse("REA016", "an empty name", "give who inspected it", "by")
        return self


def read_results(
    path: Path, cars: Collection[str], packs: Sequence[Pack]
) -> tuple[tuple[Result, ...], tuple[Problem, ...]]:
    """The rows of a filled-in results sheet, with a problem for each of nothing known, or that answers nothing."""
    table, faults = read_table(path, path.stem)
    if table is None:
        return (), faults
    rows, more = read_records(table, Result)
    problems = Problems([*faults, *more])
    problems.extend(check_inspections(rows, cars, {pack.stem: [rule.id for rule in pack.rules] for pack in packs}))
    problems.extend(check_values(rows, packs))
    return rows, tuple(problems.found)


def check_values(rows: Iterable[Inspected], packs: Sequence[Pack]) -> Iterator[Problem]:
    """A problem for each value that cannot answer its clause, in inspections.csv or on a results sheet."""
    for row in rows:
        rule = next((rule for pack in _packs_of(row, packs) for rule in pack.rules if rule.id == row.rule), None)
        if rule is not None:
            yield from _value_faults(row, rule)


def _packs_of(row: Inspected, packs: Iterable[Pack]) -> Iterator[Pack]:
    """The packs that a row may mean: the one it names, else those with its rule."""
    for pack in packs:
        if row.pack == pack.stem or (not row.pack and any(rule.id == row.rule for rule in pack.rules)):
            yield pack


def _value_faults(row: Inspected, rule: Rule) -> Iterator[Problem]:
    """What keeps a value from answering its clause: another unit, a word for a number, nothing that it could answer."""
    if row.value is None:
        return
    if isinstance(rule.test, Limit) and _tells(rule):
        yield from _number_faults(row, rule.test)
    elif row.found is None and not _tells(rule):
        advice = "give meets or breaks; no value by itself answers this clause"
        yield Problem("REA016", row.place, "found", "", "nothing says what was found", advice)


def _number_faults(row: Inspected, test: Limit) -> Iterator[Problem]:
    what = dimension(test.unit) or ""
    if isinstance(row.value, str):
        yield Problem("REA017", row.place, "value", row.value, "not a number:", f"give a number of {what}")
    elif dimension(row.unit or "1") != what:
        fault = f"not a unit of {what}:" if row.unit else f"a {what} without a unit"
        yield Problem("REA021", row.place, "unit", row.unit, fault, f"give one: {', '.join(units_of(what))}")


def _tells(rule: Rule) -> bool:
    """Whether a value by itself answers a clause: of a word or a number, but nobody reads a price off a car."""
    test = rule.test
    return isinstance(test, Word) or (isinstance(test, Limit) and dimension(test.unit) is not None)


@dataclass(frozen=True, slots=True)
class Outcome:
    """What became of one clause on one car.

    `value` was read; where it answers the clause by itself, `margin` and `close` (the limit lies within its
    uncertainty) are known. `found` is what the inspector said, `why` what must be said to that.
    """

    car: str
    pack: str
    rule: str
    says: str
    severity: str
    outcome: Became
    value: Quantity | str | None
    limit: str
    margin: Quantity | None
    close: bool
    found: str
    on: date
    by: str
    why: tuple[str, ...]
    place: str


def outcomes(rows: Sequence[Result], packs: Sequence[Pack], sheet: Sheet) -> tuple[Outcome, ...]:
    """What became of each clause on each car, in the order of the sheet; of several results on one the latest counts.

    `sheet`: the build as planned. Of it only its pattern counts: a value goes before what the plan says, and of a car
    nothing else is known here. Clauses without a row are not spoken of.
    """
    bare = replace(sheet, papers=(), inspections=(), pieces=(), turns=())
    found: dict[tuple[str, str, str], Outcome] = {}
    for row in rows:
        pack = next(_packs_of(row, packs))
        key = row.engine, pack.stem, row.rule
        if key not in found:
            found[key] = _outcome(_that_counts(row, rows, pack), pack, replace(bare, engine=row.engine))
    return tuple(found.values())


def _that_counts(row: Result, rows: Sequence[Result], pack: Pack) -> Result:
    """Of all rows on the clause and car of one, the latest with a result; the row itself where none has one."""
    last = latest([one for one in rows if one.looked_at], row.engine, row.rule, pack.stem)
    return last if isinstance(last, Result) else row


def _outcome(row: Result, pack: Pack, sheet: Sheet) -> Outcome:
    """What became of the clause of one row."""
    evidence = evidence_of(pack, sheet, row.date)
    rule = evidence.rules.get(row.rule)
    if rule is None:
        ended = next(one for one in pack.rules if one.id == row.rule)
        return _as_outcome(row, pack, ended, "not asked", Answer("not asked", why=(f"not in force on {row.date}",)))
    answer = KINDS[rule.kind].answer(rule.test, evidence, row)
    if not row.looked_at:
        return _as_outcome(row, pack, rule, "not looked at", Answer("cannot be shown", limit=answer.limit))
    if not _tells(rule) or row.value is None:
        answer = Answer("cannot be shown", limit=answer.limit)
    name, why = _judged(row, rule, answer, evidence.gauges)
    return _as_outcome(row, pack, rule, name, replace(answer, why=why))


def _judged(row: Result, rule: Rule, answer: Answer, gauges: tuple[str, ...]) -> tuple[Became, tuple[str, ...]]:
    """What a result makes of its clause, and why where that does not go without saying: the worse of word and value."""
    said = {row.found, answer.on_paper}
    if row.found is None and answer.on_paper == "breaks" and rule.heading.kept is not None:
        return "owed", ("older parts may stay under this clause: ask what shows that it is one",)
    if "breaks" in said:
        return "broken", _contradicts(row, answer)
    if gauges and row.by not in gauges:
        return "owed", (f"{row.by} is not among those whose results count: {' or '.join(gauges)}",)
    return ("met", ()) if "meets" in said else ("owed", answer.why or ("its value does not answer the clause",))


def _contradicts(row: Result, answer: Answer) -> tuple[str, ...]:
    """Where the inspector says one thing and the value another."""
    if row.found == "meets":
        return ("noted as meets, but its value breaks the limit",)
    return ("noted as breaks, but its value meets the limit",) if answer.on_paper == "meets" else ()


def _as_outcome(row: Result, pack: Pack, rule: Rule, outcome: Became, answer: Answer) -> Outcome:
    return Outcome(
        row.engine,
        pack.stem,
        rule.id,
        rule.heading.says,
        rule.heading.severity,
        outcome,
        row.reading,
        answer.limit,
        answer.margin,
        answer.close,
        row.found or "",
        row.date,
        row.by,
        answer.why,
        str(row.place),
    )


@dataclass(frozen=True, slots=True)
class CarResult:
    """What became of all clauses of a results sheet on one car."""

    car: str
    outcomes: tuple[Outcome, ...]

    def of(self, *names: str) -> tuple[Outcome, ...]:
        return tuple(one for one in self.outcomes if one.outcome in names)

    @property
    def met(self) -> int:
        return len(self.of("met"))

    @property
    def broken(self) -> tuple[str, ...]:
        """The clauses that count and are broken."""
        return tuple(one.rule for one in self.of("broken") if one.severity == "must")

    @property
    def owed(self) -> tuple[str, ...]:
        """The clauses that are still to be looked at, or to be shown otherwise."""
        return tuple(one.rule for one in self.of("owed", "not looked at"))


def by_car(found: Iterable[Outcome]) -> tuple[CarResult, ...]:
    """The outcomes of each car, in the order in which the sheet names them."""
    cars: dict[str, list[Outcome]] = {}
    for one in found:
        cars.setdefault(one.car, []).append(one)
    return tuple(CarResult(car, tuple(its)) for car, its in cars.items())
