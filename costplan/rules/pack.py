"""A rule pack: the header of a class's rules and its clauses, each of one kind."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import Any, Literal

from pydantic import Field

from costplan.build import Pattern
from costplan.problems import Problem, Problems, nearest
from costplan.reading import Record, Setting, read_head, read_part, read_toml, repeated
from costplan.reading.fields import Day, Name, Text, YesNo
from costplan.rules.kinds import KINDS, Rule


class PackHeader(Record):
    """rules-*.toml"""

    name: Name = Field(description="the class and its rule book")
    edition: Text = Field(default="", description="edition of the book")
    date: Day | None = Field(default=None, description="day of the edition")
    default: Literal["forbid", "allow"] = Field(
        default="forbid", description="what is not written is forbidden, or allowed"
    )
    tolerance: Text = Field(default="", description="the book's clause on rounding, tolerance and whose gauge decides")
    invented: YesNo = Field(default=False, description="whether the book is made up, as in a demo")
    rule: tuple[Any, ...] = Field(default=(), description="the clauses, each a table [[rule]]")


@dataclass(frozen=True, slots=True)
class Pack:
    """A rule pack as read; `file` is where."""

    header: PackHeader
    rules: tuple[Rule, ...]
    file: str


def read_pack(
    path: Path, pattern: Pattern | None, settings: tuple[Setting, ...] = ()
) -> tuple[Pack | None, tuple[Problem, ...]]:
    """The pack in a TOML file, its clauses checked against the engine pattern."""
    document, faults = read_toml(path, path.stem, settings)
    problems = Problems(list(faults))
    if document is None:
        return None, faults
    header, faults = read_head(document, PackHeader, name="?")
    problems.extend(faults)
    rules: list[Rule] = []
    for index, value in enumerate(document.values.get("rule", ()) if header else ()):
        name = value.get("kind") if isinstance(value, dict) else None
        if not isinstance(name, str) or name not in KINDS:
            place = document.place(("rule", index, "kind"))
            problems.add(
                "RUL001", place, f"rule.{index + 1}.kind", name, "an unknown kind of rule", nearest(str(name), KINDS)
            )
            continue
        rule, faults = read_part(document, ("rule", index), KINDS[name].record)
        problems.extend(faults)
        if rule is not None:
            rules.append(rule)
            problems.extend(KINDS[name].faults(rule, pattern) if pattern else ())
    problems.extend(repeated(rules, "id"))
    return (Pack(header, tuple(rules), document.file) if header else None), tuple(problems.found)
