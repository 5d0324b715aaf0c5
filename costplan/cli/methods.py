"""`costplan methods`"""

from __future__ import annotations

from collections.abc import Iterable
from typing import TYPE_CHECKING, Annotated

import typer

from costplan.cli.common import Csv, Json, answer, stop

if TYPE_CHECKING:
    from costplan.formulas import Kind, Method, Value
    from costplan.problems import Problem


def methods(
    name: Annotated[str, typer.Argument(metavar="NAME", help="One formula only, such as loan-payment.")] = "",
    inputs: Annotated[
        list[str],
        typer.Argument(metavar="INPUT=VALUE", help="Compute it: rate=0.08; a list as 1,2,3.", show_default=False),
    ] = [],  # noqa: B006
    as_json: Json = False,
    as_csv: Csv = False,
) -> None:
    """The standard formulas: discount factors, depreciation, repair, engine, bearings, spares, estimates; what each is,
    its units and source, and what it gives for figures of your own."""
    from costplan.formulas import METHODS
    from costplan.report.methods import method_data, methods_csv, methods_page

    if name:
        _one(name, inputs, as_json=as_json, as_csv=as_csv)
        return
    answer(
        "methods",
        {"methods": [method_data(method) for method in METHODS.values()]},
        lambda: methods_csv(METHODS.values()),
        lambda: methods_page(METHODS.values()),
        as_json=as_json,
        as_csv=as_csv,
    )


def _one(name: str, words: list[str], *, as_json: bool, as_csv: bool) -> None:
    """One formula, worked out for the inputs given or for its example."""
    from costplan.formulas import METHODS
    from costplan.problems import Place, Problem, nearest

    if name not in METHODS:
        stop([Problem("REA020", Place("NAME"), "", name, "no such formula:", nearest(name, METHODS))], as_json=as_json)
    method = METHODS[name]
    inputs, problems = read_inputs(method, words) if words else (dict(method.example), ())
    if problems:
        stop(problems, as_json=as_json)
    result = _computed(method, inputs, as_json=as_json)
    from costplan.report.methods import method_csv, method_data, method_page

    answer(
        "method",
        {"method": method_data(method), "inputs": inputs, "result": result, "invented": not words},
        lambda: method_csv(method, inputs, result),
        lambda: method_page(method, inputs, result, invented=not words),
        as_json=as_json,
        as_csv=as_csv,
    )


def _computed(method: Method, inputs: dict[str, Value], *, as_json: bool) -> Value:
    from costplan.formulas import InputError, compute
    from costplan.problems import Place, Problem

    try:
        return compute(method, inputs)
    except InputError as error:
        refused = Problem("REA018", Place(error.name), "", error.value, "no answer for", error.advice)
        stop([refused], as_json=as_json)
    except ValueError as error:
        refused = Problem("REA018", Place("NAME"), "", method.name, f"{error}:", "check the digits of its inputs")
        stop([refused], as_json=as_json)


def read_inputs(method: Method, words: Iterable[str]) -> tuple[dict[str, Value], tuple[Problem, ...]]:
    """The inputs of a formula from `input=value` words, in its own order, those left out at their defaults."""
    from costplan.problems import Place, Problems, nearest

    values = dict(method.defaults)
    written: set[str] = set()
    problems = Problems()
    for word in words:
        name, equals, text = (part.strip() for part in word.partition("="))
        if not equals:
            problems.add("REA017", Place("INPUT=VALUE"), "", word, "not an input and its value:", "write rate=0.08")
        elif name not in method.kinds:
            problems.add("REA015", Place("INPUT=VALUE"), "", name, "no such input:", nearest(name, method.kinds))
        elif name in written:
            problems.add("REA023", Place(name), "", text, "given twice:", "give it once")
        else:
            written.add(name)
            problems.extend(_read_value(name, text, method.kinds[name], values))
    for given in method.inputs:
        if given.name not in written and given.name not in method.defaults:
            problems.add("REA016", Place(given.name), "", "", "no value", f"give {given.name}=NUMBER ({given.meaning})")
    return {given.name: values[given.name] for given in method.inputs if given.name in values}, tuple(problems.found)


def _read_value(name: str, text: str, kind: Kind, values: dict[str, Value]) -> tuple[Problem, ...]:
    """Notes the value of an input, or tells what is wrong with its text."""
    from pydantic_core import PydanticCustomError

    from costplan.problems import Place, Problem
    from costplan.reading.fields import to_decimal

    try:
        numbers = tuple(to_decimal(part) for part in (text.split(",") if kind == "numbers" else (text,)))
    except PydanticCustomError as error:
        context = error.context or {}
        advice = "give a plain number, 0.08 for 8 %" if context["code"] == "REA017" else context["advice"]
        return (Problem(context["code"], Place(name), "", text, context["what"], advice),)
    if kind == "whole number" and numbers[0] != int(numbers[0]):
        return (Problem("REA017", Place(name), "", text, "not a whole number:", "give a whole number"),)
    if kind == "numbers":
        values[name] = tuple(map(float, numbers))
    else:
        values[name] = int(numbers[0]) if kind == "whole number" else float(numbers[0])
    return ()
