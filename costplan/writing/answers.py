"""The answers of commands with `--json`: under which name, and with which keys of which records."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from types import MappingProxyType
from typing import Any

from costplan.build import Bill, Figure, FitFinding, Spread, Word
from costplan.build.airflow import Breathing, Turn
from costplan.choose import Standing as HowItStands
from costplan.impact.figures import Impact
from costplan.impact.flipping import Flips
from costplan.life.fitting.judged import FittedLife
from costplan.quote import Copy, Quote
from costplan.quote.job import HoursFound, JobListed
from costplan.quote.job.standing import Standing as JobStanding
from costplan.quote.offers import Offers
from costplan.quote.revisions import Difference
from costplan.quote.whatif import IfBad, Risen
from costplan.reference import Entry
from costplan.rules.check import Verdicts
from costplan.rules.lint import Linted
from costplan.season import BookCost, Due, Plan
from costplan.season.drawn.comparing import BreakEven, Comparison, InputEffect
from costplan.season.drawn.outlook import CaseOutlook, Outlook
from costplan.season.drawn.stories import Story
from costplan.season.logged import LogShown, Tracking
from costplan.season.names import Assumption
from costplan.season.orders import Orders
from costplan.season.standing import Inspection
from costplan.season.used import UsedLife
from costplan.writing.shapes import DRAFT, Schema, Shapes


@dataclass(frozen=True, slots=True)
class Answer:
    """One answer: the command that gives it, and the type of each key beside `answer` and `form`."""

    command: str
    keys: Mapping[str, Any]


@dataclass(frozen=True, slots=True)
class ProblemRow:
    """A problem as JSON has it, its place in three keys; a place without a line has null, and so has one without a
    cell, which only workbooks have."""

    code: str
    file: str
    line: int | None
    cell: str | None
    field: str
    value: str
    what: str
    advice: str


_OF: Mapping[str, Any] = {"scenario": str, "invented": bool}
_SHOP: Mapping[str, Any] = {"scenario": str, "shop": str, "currency": str}
_LOG: Mapping[str, Any] = {"inspections": tuple[Inspection, ...]}
_ASSUMED: Mapping[str, Any] = {"assumed": tuple[Assumption, ...]}

#: What keys mean that stand in many answers.
MEANINGS: Mapping[str, str] = MappingProxyType(
    {
        "answer": "the name of the answer",
        "form": "major and minor version of the form; within a major version keys are added and never renamed",
        "scenario": "title of the scenario",
        "invented": "whether its data is made up",
        "engine": "the engine asked about; empty: the build as planned",
        "on": "the day asked about",
        "currency": "currency of all amounts, by ISO 4217",
        "inspections": "what the log leaves to be inspected before anything runs",
        "assumed": "every input that is a guess, with its place",
        "rows_later": "rows of log.csv that are later than the day",
        "path": "what is moved to break even, as --set has it",
    }
)

#: Every answer that has a schema.
ANSWERS: Mapping[str, Answer] = MappingProxyType(
    {
        "season": Answer(
            "season SCENARIO", {**_OF, "plan": Plan, **_LOG, "tracking": Tracking | None, "rows_later": int}
        ),
        "due": Answer("due SCENARIO", {**_OF, "currency": str, "on": date, **_LOG, "due": tuple[Due, ...], **_ASSUMED}),
        "orders": Answer("orders SCENARIO", {**_OF, "currency": str, **_LOG, "orders": Orders, **_ASSUMED}),
        "life used": Answer(
            "life used SCENARIO", {**_OF, "on": date, **_LOG, "used": tuple[UsedLife, ...], **_ASSUMED}
        ),
        "log show": Answer("log show SCENARIO", {**_OF, "currency": str, "log": LogShown}),
        "outlook": Answer(
            "outlook SCENARIO",
            {
                **_OF,
                "outlook": Outlook,
                "bills": tuple[CaseOutlook, ...],
                "inputs": tuple[InputEffect, ...],
                "story": Story,
            },
        ),
        "compare": Answer(
            "compare SCENARIO ...", {**_OF, "comparison": Comparison, "path": str, "break_even": BreakEven | None}
        ),
        "check": Answer(
            "check SCENARIO",
            {**_OF, "engine": str, "on": date, "fits": tuple[FitFinding, ...], "packs": tuple[Verdicts, ...]},
        ),
        "bom": Answer(
            "bom SCENARIO",
            {
                **_OF,
                "engine": str,
                "bill": Bill,
                "measures": tuple[Figure, ...],
                "bench": tuple[Figure | Word, ...],
                "spreads": dict[str, Spread],
            },
        ),
        "airflow": Answer(
            "airflow SCENARIO", {**_OF, "engine": str, "airflow": Breathing, "alternates": tuple[Turn, ...]}
        ),
        "life fit": Answer(
            "life fit SCENARIO", {**_OF, "logs": tuple[str, ...], "lives": tuple[FittedLife, ...], "written": str}
        ),
        "rules matrix": Answer(
            "rules matrix SCENARIO", {**_OF, "engine": str, "on": date, "packs": tuple[HowItStands, ...]}
        ),
        "rules costs": Answer("rules costs SCENARIO", {**_OF, "currency": str, "book": BookCost}),
        "rules check": Answer("rules check SCENARIO", {**_OF, "packs": tuple[Linted, ...], "checks": dict[str, str]}),
        "quote": Answer(
            "quote price SCENARIO REQUEST",
            {"quote": Quote, "if_bad": IfBad | None, "if_prices_rise": Risen | None},
        ),
        "quote copy": Answer("quote price SCENARIO REQUEST --customer", {"copy": Copy}),
        "quote difference": Answer("quote diff SCENARIO REQUEST", {"difference": Difference}),
        "job show": Answer("job show SCENARIO JOB", {"scenario": str, "shop": str, "standing": JobStanding}),
        "quote offers": Answer("quote offers SCENARIO", {"offers": Offers}),
        "job list": Answer("job list SCENARIO", {**_SHOP, "on": date, "jobs": tuple[JobListed, ...]}),
        "job hours": Answer("job hours SCENARIO", {**_SHOP, "hours": HoursFound, "work": dict[str, dict[str, str]]}),
        "impact": Answer("impact SCENARIO", {"impact": Impact, "flips": tuple[Flips, ...]}),
        "columns": Answer("columns", {"columns": tuple[Entry, ...]}),
        "problems": Answer("COMMAND, where a file or an option is at fault,", {"problems": tuple[ProblemRow, ...]}),
    }
)


def answer_schema(name: str, *, closed: bool = False) -> Schema:
    """The schema of an answer. `closed`: one that lets no key pass which it does not describe, for tests."""
    answer = ANSWERS[name]
    schema = Shapes(closed).answer({"answer": str, "form": str, **answer.keys})
    for key, shape in schema["properties"].items():
        schema["properties"][key] = shape | ({"description": MEANINGS[key]} if key in MEANINGS else {})
    schema["properties"]["answer"]["const"] = name
    head = {
        "$schema": DRAFT,
        "title": f"Answer '{name}'",
        "description": f"What costplan {answer.command} --json writes. Amounts are text, days are year-month-day, what "
        "is infinite or unknown is null.",
    }
    return head | schema
