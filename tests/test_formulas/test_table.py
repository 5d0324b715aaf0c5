"""The table of formulas: complete, true to the functions, and every answer a finite number or a refusal."""

from __future__ import annotations

import importlib
import inspect
import math
import pkgutil
from collections.abc import Callable, Iterator, Sequence

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from costplan import formulas
from costplan.formulas import METHODS, Input, InputError, Method, Value, compute

#: Modules of the room that hold no formulas.
WITHOUT = {"checking", "method"}


def public_functions() -> Iterator[Callable[..., Value]]:
    """Every public function that a module of formulas defines."""
    for module in pkgutil.iter_modules(formulas.__path__):
        if module.name not in WITHOUT:
            found = vars(importlib.import_module(f"costplan.formulas.{module.name}"))
            for name, value in found.items():
                if inspect.isfunction(value) and value.__module__.endswith(module.name) and name[0] != "_":
                    yield value


def numbers_in(value: Value) -> tuple[float, ...]:
    return tuple(value) if isinstance(value, Sequence) else (value,)


def words(text: str | None) -> str:
    return " ".join((text or "").split())


def test_every_public_function_stands_in_the_table_and_in_the_room() -> None:
    functions = list(public_functions())
    assert {method.function for method in METHODS.values()} == set(functions)
    assert len(METHODS) == len(functions)
    assert {function.__name__ for function in functions} <= set(formulas.__all__)


def test_the_table_cannot_be_changed() -> None:
    with pytest.raises(TypeError):
        METHODS["new"] = METHODS["displacement"]  # type: ignore[index]
    with pytest.raises(AttributeError):
        METHODS["displacement"].unit = "in3"  # type: ignore[misc]


def test_subjects_are_kept_together() -> None:
    subjects = [method.subject for method in METHODS.values()]
    assert subjects == sorted(subjects, key=list(dict.fromkeys(subjects)).index)


@pytest.mark.parametrize("name", METHODS)
def test_a_formula_is_named_after_its_function(name: str) -> None:
    method = METHODS[name]
    assert name == method.name == method.function.__name__.replace("_", "-")


@pytest.mark.parametrize("method", METHODS.values(), ids=METHODS)
def test_its_inputs_are_the_parameters_of_its_function_with_units_and_meanings(method: Method) -> None:
    assert [given.name for given in method.inputs] == list(inspect.signature(method.function).parameters)
    assert all(given.unit and given.meaning for given in method.inputs)
    assert method.unit
    assert method.meaning


@pytest.mark.parametrize("method", METHODS.values(), ids=METHODS)
def test_its_docstring_has_the_formula_the_source_and_an_example_that_runs(method: Method) -> None:
    told = words(method.function.__doc__)
    assert words(method.formula) in told
    assert f"Source: {method.source}." in told
    assert f"{method.function.__name__}(" in told.partition(">>>")[2]


@pytest.mark.parametrize("method", METHODS.values(), ids=METHODS)
def test_its_example_computes_and_is_of_the_right_kind(method: Method) -> None:
    assert all(math.isfinite(number) for number in numbers_in(compute(method, method.example)))
    types = {"number": float, "whole number": int, "numbers": tuple}
    assert {name: type(value) for name, value in method.example.items()} == {
        name: types[kind] for name, kind in method.kinds.items()
    }


@pytest.mark.parametrize("method", METHODS.values(), ids=METHODS)
@pytest.mark.parametrize("wrong", [math.nan, math.inf, -math.inf])
def test_what_is_no_number_is_refused_by_name(method: Method, wrong: float) -> None:
    for name, kind in method.kinds.items():
        if kind == "whole number":
            continue
        value = (*numbers_in(method.example[name]), wrong) if kind == "numbers" else wrong
        with pytest.raises(InputError) as refusal:
            method.function(**{**method.example, name: value})
        assert refusal.value.name in method.kinds
        assert refusal.value.advice


ANY = st.one_of(
    st.sampled_from((0.0, 1.0, -1.0, 0.5, 1e-300, -1e300, 1e12, 5e-324)),
    st.floats(allow_nan=False, allow_infinity=False),
    st.floats(-10, 10),
    st.floats(0, 1),
    st.floats(0, 1e5),
)
OF_KIND = {
    "number": ANY,
    "whole number": st.one_of(st.integers(0, 30), st.integers(-(10**12), 10**12)),
    "numbers": st.lists(ANY, max_size=6).map(tuple),
}


def near_example(given_input: Input, kind: str) -> st.SearchStrategy[Value]:
    """Any value of an input, often the example's, so that often just one is odd."""
    return st.one_of(st.just(given_input.example), OF_KIND[kind])


@pytest.mark.parametrize("method", METHODS.values(), ids=METHODS)
@given(data=st.data())
@settings(max_examples=60, deadline=None)
def test_whatever_it_is_given_it_answers_with_finite_numbers_or_refuses(method: Method, data: st.DataObject) -> None:
    inputs = {one.name: data.draw(near_example(one, method.kinds[one.name]), one.name) for one in method.inputs}
    try:
        answer = compute(method, inputs)
    except InputError as refusal:
        assert refusal.name in inputs
        assert refusal.advice
    except ValueError as error:
        assert "too large or too small" in str(error)
    else:
        assert all(math.isfinite(number) for number in numbers_in(answer))


def test_an_answer_out_of_range_is_a_value_error() -> None:
    with pytest.raises(ValueError, match="too large or too small"):
        compute(METHODS["future-value"], {"rate": 1e6, "periods": 1e6, "payment": -100.0})
    with pytest.raises(ValueError, match="too large or too small"):
        compute(METHODS["displacement"], {"bore": 1e200, "stroke": 1e200, "cylinders": 8.0})
