"""scenario.toml: what a scenario is, what it names, and how it counts."""

from __future__ import annotations

from typing import Annotated, Any, ClassVar

from pydantic import BeforeValidator, Field, field_validator

from costplan.reading import Record, parse_settings
from costplan.reading.fields import Count, Day, Kind, Name, Positive, Text, Words, YesNo, refuse, to_text
from costplan.season import Car, Gaps, Policy


class RateRow(Record):
    """[[rate]] of scenario.toml"""

    currency: Name = Field(description="another currency, by ISO 4217")
    rate: Positive = Field(description="what one unit of it is worth in the scenario's currency")
    since: Day = Field(description="day from which this holds")
    source: Text = Field(default="", description="whose word it is")


def to_what_if(value: Any) -> str:
    """A text that `--set` takes; whether its path leads anywhere shows only when it is set."""
    text = to_text(value)
    for problem in parse_settings([text])[1]:
        raise refuse(problem.code, problem.what, problem.advice)
    return text


WhatIf = Annotated[str, BeforeValidator(to_what_if), Kind("path=value")]


class Variant(Record):
    """[[variant]] of scenario.toml"""

    KEY: ClassVar[str] = "name"
    name: Name = Field(description="what the variant is called")
    set: tuple[WhatIf, ...] = Field(
        description='what it changes, each as --set does: ["scenario/policy/early=off", "calendar/opener/laps=40"]'
    )
    note: Text = Field(default="", description="what a reader should know of it")

    @field_validator("set")
    @classmethod
    def _changes_something(cls, value: tuple[str, ...]) -> tuple[str, ...]:
        if not value:
            raise refuse("REA016", "a variant that changes nothing", 'give what it sets: ["scenario/policy/early=off"]')
        return value


class Header(Record):
    """scenario.toml"""

    title: Name = Field(description="what the scenario is")
    class_name: Text = Field(default="", description="the racing class")
    invented: YesNo = Field(default=False, description="whether its data is made up, as in a demo")
    note: Text = Field(default="", description="what a reader should know of it")
    currency: Name = Field(description="currency of all answers, by ISO 4217")
    with_tax: YesNo | None = Field(
        default=None, description="whether prices count with tax; as they are listed where empty"
    )
    stale_after_days: Count = Field(default=180, description="age at which a price is marked as old; assumed")
    opening: Day | None = Field(default=None, description="day the books open; the first calendar row where empty")
    catalogs: tuple[Name, ...] = Field(default=(), description="catalog folders, from the scenario's folder")
    pattern: Text = Field(default="", description="file of the engine pattern")
    build: Text = Field(default="", description="file of the build")
    rules: Words = Field(default=(), description="files of the rule packs that the season is run under")
    neighbours: Words = Field(default=(), description="files of other rule packs, to see where the engine may run")
    changes: Words = Field(default=(), description="files of changes that are worked into their baseline packs")
    logs: Words = Field(
        default=(),
        description="files of more logs, of any engines, from the scenario's folder: only lives are learned from them",
    )
    gaps: Gaps = Field(default=Gaps(), description="hours between runs")
    policy: Policy = Field(default=Policy(), description="how the season is run")
    car: Car = Field(default=Car(), description="what is true of the car's shared positions when the books open")
    rate: tuple[Any, ...] = Field(default=(), description="exchange rates, each [[rate]]")
    engine: tuple[Any, ...] = Field(default=(), description="engines, each [[engine]]; one called 'engine' if none")
    variant: tuple[Any, ...] = Field(default=(), description="what-ifs that have a name, each [[variant]]")

    @property
    def variants(self) -> tuple[Variant, ...]:
        """The what-ifs that have a name, once they are read."""
        return tuple(variant for variant in self.variant if isinstance(variant, Variant))
