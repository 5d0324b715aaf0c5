"""measures.md: what follows from a build, what it is worked out from, and in what use is counted."""

from __future__ import annotations

from costplan.build import COUNT, INPUTS, MEANINGS, MEASURES_OF_BUILD
from costplan.build.measures import PRICE, Measure
from costplan.quantity import MEASURES, USES, dimension
from costplan.writing.columns import heading_of
from costplan.writing.markdown import anchor, code, page, section, table


def measures_text() -> str:
    return page(
        "Measures",
        "What is worked out from a build, with unit, formula and source, and the measures in which use and lives are "
        "counted.",
        section(
            "Measures of a build",
            "`costplan bom` shows them; limits of a rule pack, fits of a pattern and the bench may name them. A "
            "missing input makes a measure *unknown*, never zero. The unit is the one it is kept in; `[units]` of "
            "the pattern says in which it is shown.",
            table(
                ("Measure", "Unit", "Meaning", "Formula", "Worked out from", "Source"),
                map(_of_build, MEASURES_OF_BUILD.values()),
            ),
            f"`{COUNT}.ROLE` is the number of pieces of a role in the engine, `{PRICE}.SLOT` what the part in a slot "
            "costs, `SLOT.ATTRIBUTE` an attribute of it, and `made.SLOT.ATTRIBUTE` the same as the catalog has it, "
            "before shop work and the bench.",
        ),
        section(
            "Inputs",
            "What a pattern may give under `[inputs]`: an attribute of a slot, or a number with its unit. The "
            f"attributes of parts stand in [columns.md](columns.md{anchor(heading_of('parts'))}).",
            table(
                ("Input", "Dimension", "Meaning"),
                ((code(name), what, MEANINGS[name]) for name, what in INPUTS.items()),
            ),
        ),
        section(
            "Measures of use",
            "What lives, intervals and services are counted in. Every run of a calendar gives those that its columns "
            "lead to; a life in one that the calendar does not give is a problem that is told.",
            table(("Measure", "Kept in", "Meaning"), map(_of_use, MEASURES)),
        ),
    )


def _of_build(measure: Measure) -> tuple[str, ...]:
    needs = ", ".join(code(name) if " " not in name else name for name, _ in measure.needs)
    unit = "currency" if dimension(measure.unit) is None else "" if measure.unit == "1" else measure.unit
    return code(measure.name), unit, measure.meaning, code(measure.formula), needs, measure.source


def _of_use(name: str) -> tuple[str, ...]:
    unit = MEASURES[name][1]
    return code(name), "number" if unit == "1" else unit, USES[name]
