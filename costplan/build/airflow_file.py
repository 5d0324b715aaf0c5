"""Reading [airflow] of pattern.toml: its slots are there, each once, and its names lead to what they must be."""

from __future__ import annotations

from collections.abc import Iterator

from costplan.build.pattern import Airflow, Pattern
from costplan.formulas.airflow import HEAT_OF_AIR
from costplan.problems import Problem, Problems, nearest
from costplan.quantity import Quantity, dimension
from costplan.reading import Document, read_part
from costplan.reading.fields import units_of

#: What is wrong with one key: code, key, value, what and advice.
Fault = tuple[str, str, object, str, str]
#: The attribute of a limiter's part that bounds the speed.
RPM_LIMIT = "rpm_limit"


def read_airflow(document: Document, pattern: Pattern) -> tuple[Airflow | None, tuple[Problem, ...]]:
    """How a pattern draws air; None where it does not say or is at fault."""
    if document.values.get("airflow") is None:
        return None, ()
    airflow, faults = read_part(document, ("airflow",), Airflow)
    if airflow is None:
        return None, faults
    problems = Problems(list(faults))
    for code, key, value, what, advice in faults_of(airflow, pattern):
        problems.add(code, document.place(("airflow", key)), f"airflow.{key}", value, what, advice)
    return (None if problems else airflow), tuple(problems.found)


def faults_of(airflow: Airflow, pattern: Pattern) -> Iterator[Fault]:
    """What is wrong with the table, key by key."""
    yield from _slots(airflow, pattern)
    yield from _duration(airflow, pattern)
    yield from _fuel(airflow, pattern)
    if dimension(airflow.duration_lift.unit) != "length":
        yield "REA021", "duration_lift", airflow.duration_lift, "not a length:", _unit_advice("length")
    if airflow.heat is not None and dimension(airflow.heat.unit) != "specific energy":
        yield "REA021", "heat", airflow.heat, "not heat for a mass:", _unit_advice("specific energy")
    elif airflow.heat is not None and not airflow.heat.value:
        yield "REA018", "heat", airflow.heat, "zero:", "give more than 0"


def _slots(airflow: Airflow, pattern: Pattern) -> Iterator[Fault]:
    """Slots that the pattern lacks, and openings that stand twice."""
    openings = [("ports", airflow.ports), *(("each", one) for one in airflow.each)]
    openings += [("shared", one) for one in airflow.shared]
    seen = list[str]()
    for key, slot in (*openings, *([("limiter", airflow.limiter)] if airflow.limiter else [])):
        if slot not in pattern.slots:
            yield "AIR001", key, slot, "a slot that the pattern lacks:", nearest(slot, pattern.slots)
        elif key != "limiter" and slot in seen:
            yield "AIR001", key, slot, "an opening that stands twice:", "name it once"
        seen.append(slot)


def _duration(airflow: Airflow, pattern: Pattern) -> Iterator[Fault]:
    """A duration that is no angle, or leads to none."""
    given = airflow.duration
    if isinstance(given, Quantity):
        if dimension(given.unit) != "angle":
            yield "REA021", "duration", given, "not an angle:", _unit_advice("angle")
        elif not 0 < given.to("deg") <= 720:
            yield "REA018", "duration", given, "not within two turns of the crank:", "give about 200 to 320 deg"
        return
    slot, _, attribute = given.partition(".")
    if slot not in pattern.slots:
        yield "AIR001", "duration", given, "a slot that the pattern lacks:", nearest(slot, pattern.slots)
    elif pattern.attributes.get(attribute) != "angle":
        angles = [name for name, what in pattern.attributes.items() if what == "angle"]
        yield "AIR002", "duration", given, "not an attribute that is an angle:", nearest(attribute, angles)


def _fuel(airflow: Airflow, pattern: Pattern) -> Iterator[Fault]:
    """A fuel of unknown heat, or a name that leads to no word."""
    slot, point, attribute = airflow.fuel.partition(".")
    if not point:
        if airflow.fuel not in HEAT_OF_AIR and airflow.heat is None:
            yield "REA020", "fuel", airflow.fuel, "a fuel whose heat is not known:", "give heat beside it"
    elif slot not in pattern.slots:
        yield "AIR001", "fuel", airflow.fuel, "a slot that the pattern lacks:", nearest(slot, pattern.slots)
    elif attribute not in pattern.words:
        near = nearest(attribute, sorted(pattern.words))
        yield "AIR002", "fuel", airflow.fuel, "not an attribute that is a word:", near


def _unit_advice(what: str) -> str:
    return f"give a number with its unit in quotes: {', '.join(units_of(what))}"
