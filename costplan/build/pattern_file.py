"""Reading pattern.toml: slots, inputs of the measures, units to show them in, and fits."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from pathlib import Path
from typing import Any

from costplan.build.airflow_file import read_airflow
from costplan.build.fit_file import read_fits
from costplan.build.measures import INPUTS, MEASURES_OF_BUILD
from costplan.build.pattern import Airflow, Pattern, PatternHeader, Reference, Slot
from costplan.catalog import ATTRIBUTES, Catalog
from costplan.problems import Place, Problem, Problems, nearest
from costplan.quantity import Quantity, dimension, nearest_unit
from costplan.reading import Document, Setting, read_head, read_parts, read_toml
from costplan.reading.fields import number_and_unit, to_decimal, units_of


def read_pattern(
    path: Path, catalog: Catalog, settings: tuple[Setting, ...] = ()
) -> tuple[Pattern | None, tuple[Problem, ...]]:
    """The pattern in a TOML file, checked against the roles of the catalogs."""
    document, faults = read_toml(path, "pattern", settings)
    problems = Problems(list(faults))
    if document is None:
        return None, faults
    header, faults = read_head(document, PatternHeader, name="?")
    problems.extend(faults)
    slots, faults = read_parts(document, "slot", Slot)
    problems.extend(faults)
    for slot in slots:
        if slot.role not in catalog.roles:
            advice = f"add it to roles.csv; {nearest(slot.role, catalog.roles)}"
            problems.add("CAT002", slot.place, "role", slot.role, "an unknown role", advice)
        elif catalog.whole and not catalog.of_role(slot.role):
            advice = "add a part with this role to a catalog, or give the slot another"
            problems.add("BLD004", slot.place, "role", slot.role, "a role that no part has:", advice)
    if header is None:
        return None, tuple(problems.found)
    by_name = {slot.slot: slot for slot in slots}
    numbers, words = attributes_of(catalog)
    inputs = {}
    for name, value in header.inputs.items():
        found = _read_input(name, value, by_name, numbers, document, problems)
        if found is not None:
            inputs[name] = (found, document.place(("inputs", name)))
    _check_units(header, document, problems)
    roles = frozenset(catalog.roles)
    pattern = Pattern(header.name, by_name, inputs, document.file, numbers, header.units, words, roles)
    fits, faults = read_fits(document, pattern)
    problems.extend(faults)
    airflow, faults = read_airflow(document, pattern)
    problems.extend(faults)
    limiter = _limiter(header, airflow, document, by_name, problems)
    return replace(pattern, fits=fits, airflow=airflow, limiter=limiter), tuple(problems.found)


def _limiter(
    header: PatternHeader,
    airflow: Airflow | None,
    document: Document,
    slots: Mapping[str, Slot],
    problems: Problems,
) -> str:
    """The slot whose part may cut out: the pattern's own word, for engines without valves too, else its airflow's."""
    if header.limiter and header.limiter not in slots:
        place, advice = document.place(("limiter",)), nearest(header.limiter, slots)
        problems.add("BLD001", place, "limiter", header.limiter, "a slot that the pattern lacks:", advice)
        return ""
    return header.limiter or (airflow.limiter if airflow is not None else "")


def attributes_of(catalog: Catalog) -> tuple[dict[str, str], frozenset[str]]:
    """The attributes that are numbers, with what each measures, and those that are words: all that parts may have."""
    numbers = {name: attribute.what for name, attribute in ATTRIBUTES.items() if attribute.what != "text"}
    words = [name for name, attribute in ATTRIBUTES.items() if attribute.what == "text"]
    words += [name for name, what in catalog.declared.items() if what == "text"]
    given = [
        name for part in catalog.parts.values() for name, found in part.attributes.items() if isinstance(found, str)
    ]
    return {**numbers, **catalog.measured()}, frozenset((*words, *given))


def _check_units(header: PatternHeader, document: Document, problems: Problems) -> None:
    """Each measure is shown in a unit of what it measures."""
    for name, unit in header.units.items():
        place, key = document.place(("units", name)), f"units.{name}"
        if name not in MEASURES_OF_BUILD or not MEASURES_OF_BUILD[name].unit:
            problems.add("REA015", place, key, unit, "an unknown measure", nearest(name, MEASURES_OF_BUILD))
            continue
        what = dimension(MEASURES_OF_BUILD[name].unit) or ""
        if dimension(unit) != what:
            problems.add("REA021", place, key, unit, f"not a unit of {what}:", nearest_unit(unit, units_of(what)))


def _read_input(
    name: str, value: Any, slots: Mapping[str, Slot], known: Mapping[str, str], document: Document, problems: Problems
) -> Quantity | Reference | None:
    """One input: a number, "7400 rpm" or "crank.stroke"."""
    place, key = document.place(("inputs", name)), f"inputs.{name}"
    if name not in INPUTS:
        problems.add("REA015", place, key, value, "an unknown input", nearest(name, INPUTS))
        return None
    if isinstance(value, str) and value.count(".") == 1 and value[:1].isalpha():
        slot, attribute = value.split(".")
        if slot not in slots:
            problems.add("BLD006", place, key, value, "an input from an unknown slot", nearest(slot, slots))
            return None
        if attribute not in known:
            problems.add("BLD006", place, key, value, "an input from an unknown attribute", nearest(attribute, known))
            return None
        if known[attribute] != INPUTS[name]:
            what = f"an input from a {known[attribute]}, not a {INPUTS[name]}:"
            problems.add("BLD006", place, key, value, what, f"give an attribute that is a {INPUTS[name]}")
            return None
        return Reference(slot, attribute)
    return _plain_input(INPUTS[name], value, place, key, problems)


def _plain_input(what: str, value: Any, place: Place, key: str, problems: Problems) -> Quantity | None:
    number, unit = number_and_unit(value)
    unit = unit or "1"
    if dimension(unit) != what:
        advice = f'give a number with a unit of {what} in quotes, or "slot.attribute"'
        problems.add("REA021", place, key, value, f"not a {what}:", advice)
        return None
    try:
        quantity = Quantity(float(to_decimal(number)), unit)
    except (ValueError, ArithmeticError, TypeError):
        problems.add("BLD006", place, key, value, "an input that is no number:", 'give a number or "slot.attribute"')
        return None
    attribute = ATTRIBUTES.get(key.removeprefix("inputs."))
    if quantity.value <= 0 and (attribute is None or attribute.positive):
        problems.add("REA018", place, key, value, "not above zero:", "give more than 0")
        return None
    return quantity
