"""A standard formula as a record: what it is of, what it takes, where it is from, and the function that computes it."""

from __future__ import annotations

import inspect
import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from types import MappingProxyType
from typing import Literal, TypeAlias, get_type_hints

Value: TypeAlias = float | Sequence[float]
Kind = Literal["number", "whole number", "numbers"]
KINDS: Mapping[object, Kind] = MappingProxyType(
    {float: "number", int: "whole number", Sequence[float]: "numbers"},
)


@dataclass(frozen=True, slots=True)
class Input:
    """One input: `name` as the function calls it, `unit` ('1' for a pure number), and an invented `example`."""

    name: str
    unit: str
    meaning: str
    example: Value

    def __str__(self) -> str:
        return self.name if self.unit == "1" else f"{self.name} [{self.unit}]"


@dataclass(frozen=True, slots=True)
class Method:
    """One formula. `unit` is the result's; money, length, force, volume or time stand for any one unit of it, the same
    in all inputs and in the result."""

    name: str
    subject: str
    meaning: str
    formula: str
    inputs: tuple[Input, ...]
    unit: str
    source: str
    function: Callable[..., Value]

    @property
    def example(self) -> Mapping[str, Value]:
        return MappingProxyType({given.name: given.example for given in self.inputs})

    @property
    def kinds(self) -> Mapping[str, Kind]:
        """What each input must be, from the function itself."""
        hints = get_type_hints(self.function)
        return MappingProxyType({given.name: KINDS[hints[given.name]] for given in self.inputs})

    @property
    def defaults(self) -> Mapping[str, Value]:
        """The inputs that may be left out, with what is taken for them."""
        parameters = inspect.signature(self.function).parameters.values()
        return MappingProxyType({one.name: one.default for one in parameters if one.default is not one.empty})


def compute(method: Method, inputs: Mapping[str, Value]) -> Value:
    """A method's answer, every number of it finite.

    Raises ValueError where the formula has no answer for the inputs (`InputError` names the one at fault), and where
    the answer leaves the range of floating-point numbers.
    """
    try:
        answer = method.function(**inputs)
    except ArithmeticError as error:
        raise ValueError(_OUT_OF_RANGE) from error
    if not all(math.isfinite(value) for value in (answer if isinstance(answer, Sequence) else (answer,))):
        raise ValueError(_OUT_OF_RANGE)
    return answer


_OUT_OF_RANGE = "the answer is too large or too small a number"
