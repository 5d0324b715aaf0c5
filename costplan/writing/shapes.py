"""The shape of a record in an answer as a JSON Schema: type by type what `report.data.plain` writes."""

from __future__ import annotations

import dataclasses
import types
from collections.abc import Mapping
from datetime import date
from decimal import Decimal
from typing import Annotated, Any, Literal, Union, get_args, get_origin, get_type_hints

from costplan.problems import Place
from costplan.quantity import Quantity
from costplan.reading import Record
from costplan.report.data import names_of

Schema = dict[str, Any]
DRAFT = "https://json-schema.org/draft/2020-12/schema"
#: Amounts and other exact numbers, which are written as text.
DECIMAL = r"^-?\d+(\.\d+)?(E[+-]?\d+)?$"
PLAIN: Mapping[object, Schema] = types.MappingProxyType(
    {
        str: {"type": "string"},
        bool: {"type": "boolean"},
        int: {"type": "integer"},
        float: {"type": ["number", "null"]},  # null: infinite, or not known
        Decimal: {"type": "string", "pattern": DECIMAL},
        date: {"type": "string", "format": "date"},
        Place: {"type": "string", "description": "file:line"},
        type(None): {"type": "null"},
        Any: {},
        object: {},
    }
)
QUANTITY: Schema = {
    "type": "object",
    "description": "a number with its unit",
    "properties": {"value": {"type": ["number", "null"]}, "unit": {"type": "string"}},
    "required": ["value", "unit"],
}


@dataclasses.dataclass(slots=True)
class Shapes:
    """The schemas of records met so far, by name, to be named by whatever holds one.

    `closed`: whether an object may have no other keys than those described. What is published is open, since keys may
    be added; tests close it, so that nothing that is answered is left undescribed.
    """

    closed: bool = False
    records: dict[str, Schema] = dataclasses.field(default_factory=dict)
    names: dict[type[Any], str] = dataclasses.field(default_factory=dict)

    def of(self, what: Any) -> Schema:
        """The schema of a type."""
        origin, inner = get_origin(what), get_args(what)
        if what in PLAIN:
            return dict(PLAIN[what])
        if origin is Annotated:
            return self.of(inner[0])
        if origin is Literal:
            return {"enum": list(inner)}
        if origin in (Union, types.UnionType):
            return self._either(inner)
        if origin is tuple or origin is list or (isinstance(origin, type) and not issubclass(origin, Mapping)):
            return self._list(inner)
        if origin is not None:
            return {"type": "object", "additionalProperties": self.of(inner[1])}
        if what is Quantity:
            return self._named(what, lambda: QUANTITY | self._closing())
        return self._named(what, lambda: self._object(what))

    def answer(self, keys: Mapping[str, Any]) -> Schema:
        """The schema of an object with these keys, and of all that it holds."""
        made = {name: self.of(what) for name, what in keys.items()}
        return {"type": "object", "properties": made, "required": list(made), **self._closing(), "$defs": self.records}

    def _either(self, options: tuple[Any, ...]) -> Schema:
        """One of several types; types that are written alike once."""
        found: list[Schema] = []
        for option in options:
            schema = self.of(option)
            if schema not in found:
                found.append(schema)
        return found[0] if len(found) == 1 else {"anyOf": found}

    def _list(self, inner: tuple[Any, ...]) -> Schema:
        if len(inner) == 1 or inner[1:] == (...,):
            return {"type": "array", "items": self.of(inner[0])}
        made = [self.of(one) for one in inner]
        return {"type": "array", "prefixItems": made, "minItems": len(made), "maxItems": len(made)}

    def _named(self, what: type[Any], make: Any) -> Schema:
        """A reference to the schema of a record, which is made where it is met first; it may hold itself."""
        if what not in self.names:
            taken = set(self.names.values())
            self.names[what] = name = what.__name__ if what.__name__ not in taken else _whole_name(what)
            self.records[name] = {}
            self.records[name] = make()
        return {"$ref": f"#/$defs/{self.names[what]}"}

    def _object(self, what: type[Any]) -> Schema:
        made = {name: self.of(hint) for name, hint in _fields(what).items()}
        if issubclass(what, Record):
            for name, info in what.model_fields.items():
                made[name] |= {"description": info.description} if info.description else {}
        said = {"description": " ".join(what.__doc__.split())} if what.__doc__ else {}
        return {"type": "object", **said, "properties": made, "required": list(made), **self._closing()}

    def _closing(self) -> Schema:
        return {"additionalProperties": False} if self.closed else {}


def _whole_name(what: type[Any]) -> str:
    """A name by the room too: quote.records.Line."""
    return f"{what.__module__.removeprefix('costplan.')}.{what.__name__}"


def _fields(what: type[Any]) -> dict[str, Any]:
    """What a record is written as: its fields with their types, and what it derives from them."""
    if issubclass(what, Record):
        return {name: info.annotation for name, info in what.model_fields.items()}
    if not dataclasses.is_dataclass(what):
        raise TypeError(what)
    hints = get_type_hints(what)
    return {name: hints[name] if name in hints else _derived(what, name) for name in names_of(what)}


def _derived(what: type[Any], name: str) -> Any:
    found = vars(what)[name]
    return get_type_hints(found.fget)["return"]
