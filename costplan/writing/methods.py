"""methods.md: the standard formulas."""

from __future__ import annotations

from costplan.formulas import METHODS, Method
from costplan.report.methods import figures
from costplan.writing.markdown import code, page, section, sentence, table


def methods_text() -> str:
    subjects: dict[str, list[Method]] = {}
    for method in METHODS.values():
        subjects.setdefault(method.subject, []).append(method)
    return page(
        "Standard formulas",
        "Formulas that one may want alone, each with its inputs, units and source: discounting, depreciation, engine, "
        "power, airflow, bearings, spares, estimates.",
        "`costplan methods NAME INPUT=VALUE ...` computes one, a list as `1,2,3`; from Python it is the function "
        "named, in `costplan.formulas`. A unit such as money, length or force stands for any one unit of it, the "
        "same in all inputs and in the result. The figures of the examples are invented. *From memory* beside a "
        "source: written down without the text at hand.",
        *(section(subject.capitalize(), *map(_method, found)) for subject, found in subjects.items()),
    )


def _method(method: Method) -> str:
    typed = f"costplan methods {method.name} " + " ".join(
        f"{name}={figures(value, ',')}" for name, value in method.example.items()
    )
    rows = (
        (code(given.name), "" if given.unit == "1" else given.unit, given.meaning, _left_out(method, given.name))
        for given in method.inputs
    )
    result = f"Gives: {'a number' if method.unit == '1' else method.unit}. Source: {sentence(method.source)}"
    return section(
        code(method.name),
        sentence(method.meaning),
        f"> {code(method.formula)}",
        table(("Input", "Unit", "Meaning", "If left out"), rows),
        f"{result} Python: {code(method.function.__name__)}. Example: {code(typed)}",
        level=3,
    )


def _left_out(method: Method, name: str) -> str:
    default = method.defaults.get(name)
    return "" if default is None else figures(default)
