"""The standard formulas as pages and as data."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from typing import Any

from costplan.formulas import Method, Value
from costplan.report.data import to_csv
from costplan.report.tables import Page, Table

#: What is shown of a formula; its function is for Python.
FIELDS = ("name", "subject", "meaning", "formula", "inputs", "unit", "source")


def methods_page(methods: Iterable[Method]) -> Page:
    """All formulas by subject, each with its meaning and below it the formula."""
    subjects: dict[str, list[tuple[str, str]]] = {}
    for method in methods:
        subjects.setdefault(method.subject, []).append((method.name, f"{method.meaning}\n{method.formula}"))
    header = ("Name", "Meaning and formula")
    tables = tuple(Table(subject.capitalize(), header, tuple(rows)) for subject, rows in subjects.items())
    lines = (
        "costplan methods NAME shows one with its inputs, source and an example;",
        "costplan methods NAME INPUT=VALUE ... computes it, a list as 1,2,3.",
    )
    return Page("Standard formulas", lines, tables)


def method_page(method: Method, inputs: Mapping[str, Value], result: Value, *, invented: bool) -> Page:
    """One formula worked out; `invented` where the figures are its example's."""
    rows = tuple(
        (given.name, _unit(given.unit), _meaning(method, given.name, given.meaning), figures(inputs[given.name]))
        for given in method.inputs
    )
    last = ("result", _unit(method.unit), method.meaning, figures(result))
    heading = "Example" if invented else "Value"
    table = Table("", ("Input", "Unit", "Meaning", heading), (*rows, last), right=(3,))
    words = " ".join(f"{name}={figures(value, ',')}" for name, value in inputs.items())
    foot = ("The example's figures are invented.", f"costplan methods {method.name} {words}") if invented else ()
    lines = (
        f"{method.meaning[:1].upper()}{method.meaning[1:]}.",
        f"Formula: {method.formula}",
        f"Source: {method.source}",
        f"In Python: costplan.formulas.{method.function.__name__}",
    )
    return Page(f"{method.name} ({method.subject})", lines, (table,), foot)


def figures(value: Value, comma: str = ", ") -> str:
    """A number, or a list of them, to ten digits.

    >>> figures(0.1168295449), figures((900.0, 1400)), figures(1e-12)
    ('0.1168295449', '900, 1400', '1e-12')
    """
    return comma.join(f"{one:.10g}" for one in (value if isinstance(value, Sequence) else (value,)))


def _unit(unit: str) -> str:
    return "" if unit == "1" else unit


def _meaning(method: Method, name: str, meaning: str) -> str:
    left_out = method.defaults.get(name)
    return meaning if left_out is None else f"{meaning}; {figures(left_out)} if left out"


def method_data(method: Method) -> dict[str, Any]:
    """A formula as JSON gives it."""
    return {name: getattr(method, name) for name in FIELDS}


def methods_csv(methods: Iterable[Method]) -> str:
    """All formulas as CSV, their inputs with units in one cell."""
    data = [method_data(method) for method in methods]
    return to_csv(FIELDS, ({**row, "inputs": " | ".join(map(str, row["inputs"]))}.values() for row in data))


def method_csv(method: Method, inputs: Mapping[str, Value], result: Value) -> str:
    """One formula worked out as CSV: an input a row, the result last."""
    rows = [(given.name, given.unit, figures(inputs[given.name])) for given in method.inputs]
    return to_csv(("name", "unit", "value"), (*rows, ("result", method.unit, figures(result))))
