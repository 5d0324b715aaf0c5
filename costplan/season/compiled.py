"""The season machine compiled: the same source, through numba.

Problem and State hold more arrays than a compiled call can pass. They are *lent* to it instead, as the address of a
table of array headers, and a field is read from that table. Nothing in the machine asks for memory, so that nothing has
to be counted or freed.

Compiled whole, every function is optimised again in each of its callers. So the machine is compiled in *joints*, leaves
first, that call each other by name; what is not a joint is built into those that use it.

What is compiled is kept in the user's cache, beside a copy of the source that it was made of, under a number made of
that source and of the layout of the tables. This module alone imports numba.
"""

from __future__ import annotations

import atexit
import ctypes
import hashlib
import importlib.util
import os
import shutil
import sys
import tempfile
import threading
import time
from collections.abc import Callable, Iterable, Mapping
from contextlib import suppress
from functools import cache
from pathlib import Path
from types import FunctionType, ModuleType
from typing import Any, NamedTuple, cast

import numba
import numpy as np
from llvmlite import binding as ll
from llvmlite import ir
from numba.core import cgutils, types
from numba.core.datamodel import models
from numba.core.typing.templates import AttributeTemplate
from numba.extending import infer_getattr, lower_getattr_generic, register_model
from numba.np import numpy_support
from platformdirs import user_cache_path

from costplan.season.machine.records import Ints
from costplan.season.machine.years import empty_years

#: The modules of the machine.
MODULES = (
    "records",
    "draws",
    "wear",
    "tally",
    "book",
    "companions",
    "renewing",
    "opening",
    "gap",
    "running",
    "play",
    "seasons",
    "years",
)
#: Functions that are compiled by themselves, leaves first: they take tables and numbers, and give a number or nothing.
JOINTS = (
    "draw_lives",
    "goes_along",
    "is_barred",
    "obtainable",
    "ration",
    "renew",
    "buy_kits",
    "renew_all",
    "begin_opening",
    "cause_to_renew",
    "worth_renewing",
    "renew_early",
    "open_up",
    "must_open",
    "called_for",
    "kept_back",
    "serve",
    "who_runs",
    "fail",
    "wear_down",
    "run",
    "pass_days",
    "close_event",
    "begin",
    "put_right",
    "play",
    "keep",
    "play_block",
    "carry_over",
    "set_new",
    "play_year",
    "play_years",
)
OPTIONS = {"_nrt": False, "error_model": "numpy"}
Track = Callable[[Iterable[str]], Iterable[str]]


class Lent(types.Type):
    """A table of array headers and numbers, passed by its address; `fields`: names and types in order."""

    def __init__(self, name: str, fields: tuple[tuple[str, Any], ...]) -> None:
        self.fields = fields
        super().__init__(name=f"Lent({name})")

    @property
    def key(self) -> tuple[Any, ...]:
        """What tells it from others: a type of the same key is the same type."""
        return self.name, self.fields

    def find(self, attr: str) -> tuple[int, Any] | None:
        """The number of a field's first word, and its type."""
        at = 0
        for name, kind in self.fields:
            if name == attr:
                return at, kind
            at += 2 + 2 * kind.ndim if isinstance(kind, types.Array) else 1
        return None


register_model(Lent)(models.OpaqueModel)


@infer_getattr
class _Fields(AttributeTemplate):  # type: ignore[misc]
    key = Lent

    def generic_resolve(self, lent: Lent, attr: str) -> Any:
        found = lent.find(attr)
        return found[1] if found else None


@lower_getattr_generic(Lent)  # type: ignore[untyped-decorator]
def _read_field(context: Any, builder: Any, lent: Lent, value: Any, attr: str) -> Any:
    """Reads a field from the table: a number, or an array as its size, its data, its shape and its strides."""
    found = lent.find(attr)
    assert found is not None, attr  # noqa: S101 - a field that was resolved is there
    at, kind = found
    if not isinstance(kind, types.Array):
        return _word(builder, value, at, context.get_value_type(kind))
    array, whole = context.make_array(kind)(context, builder), ir.IntType(64)
    array.meminfo = cgutils.get_null_value(array.meminfo.type)
    array.parent = cgutils.get_null_value(array.parent.type)
    array.nitems = _word(builder, value, at, whole)
    array.data = _word(builder, value, at + 1, array.data.type)
    array.itemsize = ir.Constant(whole, context.get_abi_sizeof(context.get_data_type(kind.dtype)))
    first, second = at + 2, at + 2 + kind.ndim
    array.shape = cgutils.pack_array(builder, [_word(builder, value, first + n, whole) for n in range(kind.ndim)])
    array.strides = cgutils.pack_array(builder, [_word(builder, value, second + n, whole) for n in range(kind.ndim)])
    return array._getvalue()


def _word(builder: Any, value: Any, at: int, kind: Any) -> Any:
    """One word of the table, as what it stands for. No word ever changes, so that a read may serve many times."""
    table = builder.bitcast(value, ir.IntType(64).as_pointer())
    place = builder.gep(table, [ir.Constant(ir.IntType(64), at)])
    word = builder.load(builder.bitcast(place, kind.as_pointer()))
    word.set_metadata("invariant.load", builder.module.add_metadata([]))
    return word


def layout(name: str, table: NamedTuple) -> Lent:
    """The type of a table."""
    return Lent(name, tuple((field, _kind(value)) for field, value in zip(table._fields, table, strict=True)))


def _kind(value: object) -> Any:
    """The type of a field, looked up once for all arrays that are alike."""
    if not isinstance(value, np.ndarray):
        return numba.typeof(value)
    return _kind_of_array(value.dtype, value.ndim, numpy_support.map_layout(value), value.flags.writeable)


@cache
def _kind_of_array(dtype: np.dtype[Any], axes: int, order: Any, writeable: bool) -> Any:
    return types.Array(numpy_support.from_dtype(dtype), axes, order, readonly=not writeable)


def layouts(tables: Mapping[str, NamedTuple]) -> dict[str, Lent]:
    return {name: layout(name, table) for name, table in tables.items()}


def words(table: NamedTuple) -> Ints:
    """A table as words; it must outlive them. Arrays must be whole and in order of rows."""
    found: list[int] = []
    for field, value in zip(table._fields, table, strict=True):
        if isinstance(value, np.ndarray):
            if not value.flags.c_contiguous:
                raise ValueError(f"{field} is not in order of rows")
            found += [value.size, value.ctypes.data, *value.shape, *value.strides]
        elif isinstance(value, float):
            found.append(int(np.float64(value).view(np.int64)))
        else:
            found.append(int(value))
    return np.array(found, dtype=np.int64)


def down(table: NamedTuple) -> Ints:
    """What to add to a table as words, for the same table without its first rows: their bytes, to every address."""
    found: list[int] = []
    for value in table:
        found += [0, value.strides[0], *[0] * (2 * value.ndim)] if isinstance(value, np.ndarray) else [0]
    return np.array(found, dtype=np.int64)


def machine_for(tables: Mapping[str, NamedTuple], track: Track = iter) -> Machine:
    """The machine for tables of a layout, made once in a process, by one thread. Years are laid out alike in all."""
    tables = {"Years": empty_years(1, -1, 0, 0), **tables}
    key = tuple((name, kind.fields) for name, kind in layouts(tables).items())
    with _making:
        if key not in _made:
            _made[key] = Machine(tables, track)
        return _made[key]


class Machine:
    """The machine compiled for tables of one layout. `track` sees the joints go by where they are not kept yet."""

    def __init__(self, tables: Mapping[str, NamedTuple], track: Track = iter) -> None:
        self.kinds = layouts(tables)
        self.folder = folder_of(self.kinds)
        self._space, self._own = self._load()
        kept = (self.folder / DONE).exists()
        self._joints = {name: self._compile(name) for name in (JOINTS if kept else track(JOINTS))}
        with suppress(OSError):
            _write(self.folder / DONE, "")
        self._play_block = self._entry("play_block", 5)
        self._play_years = self._entry("play_years", 7)

    def play_block(self, problem: Ints, state: Ints, now: Ints, start: Ints, out: Ints, first: int, count: int) -> None:
        """`play_block` of the machine on tables as words; other threads run meanwhile."""
        tables = (problem, state, now, start, out)
        self._play_block(*(table.ctypes.data for table in tables), first, count)

    def play_years(self, *tables: Ints, first: int, count: int) -> None:
        """`play_years` of the machine likewise: two problems, state, now, start, block and years."""
        self._play_years(*(table.ctypes.data for table in tables), first, count)

    def _entry(self, name: str, tables: int) -> Callable[..., None]:
        """A joint that is called from here, with so many tables, the first season and their number."""
        kind = ctypes.CFUNCTYPE(None, *[ctypes.c_void_p] * tables, *[ctypes.c_int64] * 2)
        return kind(self._joints[name].address)

    def _load(self) -> tuple[dict[str, Any], dict[str, FunctionType]]:
        """The modules of the machine in one namespace, and their functions by name."""
        name = f"{TWINS}.{self.folder.name}"
        space = sys.modules.setdefault(name, ModuleType(name)).__dict__
        own: dict[str, FunctionType] = {}
        for name, text in sources().items():
            path = str(self.folder / f"{name}.py")
            exec(compile(text, path, "exec"), space)  # noqa: S102 - the machine's own source
            own |= {name: thing for name, thing in space.items() if _defined_in(thing, path)}
        own["trace"] = cast(FunctionType, _no_trace)
        inner = numba.njit(no_cpython_wrapper=True, no_cfunc_wrapper=True, **OPTIONS)
        space.update({name: inner(function) for name, function in own.items()})
        return space, own

    def _compile(self, name: str) -> Any:
        """Compiles a joint, or takes it from the cache, and makes it known to those that call it."""
        signature, symbol = self._signature(self._own[name]), f"costplan.{self.folder.name}.{name}"
        joint = numba.cfunc(signature, cache=True, **OPTIONS)(self._own[name])
        ll.add_symbol(symbol, joint.address)
        self._space[name] = types.ExternalFunction(symbol, signature)
        return joint

    def _signature(self, function: FunctionType) -> Any:
        """The types of a function by its annotations. What is true or false passes as a number."""
        kinds = {"int": types.int64, "float": types.float64, "bool": types.int64, "None": types.void, **self.kinds}
        hints = dict(function.__annotations__)
        back = kinds[hints.pop("return")]
        return back(*(kinds[hint] for hint in hints.values()))


#: Machines by the layout of their tables: code that is loaded stays loaded, so it is kept for the process.
_made: dict[tuple[Any, ...], Machine] = {}
_making = threading.RLock()
TWINS = "costplan.season.machine.twins"
#: Files that say that all joints are kept, and when a machine was last used.
DONE, LAST_USED = "compiled", "last-used"
FORGET_AFTER = 90 * 24 * 3600.0


def _no_trace(_state: Any, _g: int) -> None:
    """Traces are for one season in plain Python, whose ledger is written."""


def _defined_in(thing: object, path: str) -> bool:
    """Whether something is a function that this namespace has from a file, not one that it imported."""
    return isinstance(thing, FunctionType) and thing.__code__.co_filename == path and thing.__module__.startswith(TWINS)


@cache
def sources() -> dict[str, str]:
    """What stands in the modules of the machine."""
    found = {}
    for name in MODULES:
        spec = importlib.util.find_spec(f"costplan.season.machine.{name}")
        if spec is None or spec.origin is None:
            raise ModuleNotFoundError(name)
        found[name] = Path(spec.origin).read_text(encoding="utf-8")
    return found


def folder_of(kinds: Mapping[str, Lent]) -> Path:
    """The folder of what is compiled of this source for tables of this layout, with a copy of the source.

    In the user's cache, or where that cannot be written for this time only.
    """
    text = "".join(sources().values()) + Path(__file__).read_text(encoding="utf-8")
    text += "".join(f"{name} {kind.fields}" for name, kind in kinds.items())
    name = f"machine-{hashlib.blake2b(text.encode(), digest_size=6).hexdigest()}"
    try:
        return _with_sources(user_cache_path("costplan") / name)
    except OSError:
        folder = tempfile.mkdtemp(prefix="costplan-")
        atexit.register(shutil.rmtree, folder, ignore_errors=True)
        return _with_sources(Path(folder) / name)


def _with_sources(folder: Path) -> Path:
    """A folder that can be written, with a copy of the machine's modules: numba keeps what it compiles beside them."""
    folder.mkdir(parents=True, exist_ok=True)
    for module, source in sources().items():
        path = folder / f"{module}.py"
        if not path.exists():
            _write(path, source)
    with suppress(OSError):
        _write(folder / LAST_USED, "")
    _forget(folder.parent)
    return folder


def _forget(cache: Path) -> None:
    """Removes what versions left behind that nobody has used for long."""
    for folder in cache.glob("machine-*"):
        used = folder / LAST_USED
        if used.exists() and time.time() - used.stat().st_mtime > FORGET_AFTER:
            shutil.rmtree(folder, ignore_errors=True)


def _write(path: Path, text: str) -> None:
    """Writes a file whole or not at all; what another process writes at the same time is the same."""
    draft = path.with_name(f".{path.name}.{os.getpid()}.{threading.get_ident()}")
    draft.write_text(text, encoding="utf-8")
    draft.replace(path)
