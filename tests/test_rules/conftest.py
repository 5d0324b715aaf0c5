"""A small engine that the tests of rules ask: two blocks, four cranks, rods, carburetors by turns, a plate or none."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace
from datetime import date
from pathlib import Path
from types import MappingProxyType

import pytest

from costplan.build import with_part
from costplan.garage import Bench, Inspected, Paper, Piece
from costplan.rules import Finding, Known, Pack, Sheet, Verdicts, check, read_pack
from costplan.scenario import Scenario, read_scenario

FILES = MappingProxyType(
    {
        "scenario.toml": """
title = "small engine"
currency = "USD"
opening = 2027-01-01
catalogs = ["catalog"]
pattern = "pattern.toml"
build = "build.csv"
[[rate]]
currency = "EUR"
rate = 1.25
since = 2026-01-01
[[rate]]
currency = "GBP"
rate = 1.37
since = 2026-01-01
[[engine]]
name = "blue"
""",
        "calendar.csv": """
event,date,kind,show,laps,setup
one,2027-04-03,race,,10,
two,2027-04-10,race,long weekend,10,tight
two again,2027-04-11,race,long weekend,10,
three,2027-05-01,race,,10,
""",
        "levels.csv": """
level,rank,carrier,hours,labour
freshen,1,engine,20,100
rebuild,2,engine,40,200
""",
        "services.csv": "service,price,every,measure\ntyre,200,1,events\n",
        "pattern.toml": """
name = "four cylinders"
[inputs]
cylinders = 4
bore = "block.bore"
stroke = "crank.stroke"
rod_length = "rods.rod_length"
[units]
displacement = "in3"
stroke = "in"
[[slot]]
slot = "block"
role = "block"
[[slot]]
slot = "crank"
role = "crank"
[[slot]]
slot = "rods"
role = "rod"
quantity = 4
[[slot]]
slot = "carburetor"
role = "carburetor"
[[slot]]
slot = "plate"
role = "plate"
optional = true
""",
        "build.csv": """
slot,part,alternate,serves
block,B-1,,
crank,K-1,,
rods,R-1,,
carburetor,C-5,large,
carburetor,C-4,small,tight
""",
        "catalog/catalog.toml": 'name = "invented"\ncurrency = "USD"\ntax_included = false\ninvented = true\n',
        "catalog/roles.csv": "role\nblock\ncrank\nrod\ncarburetor\nplate\n",
        "catalog/parts.csv": """
part,role,supplier,price,price_date,mass [g],mass_within [g],bore [in],stroke [in],rod_length [in],material
B-1,block,Hill,1000,2027-01-01,80000,,4.000,,,iron
B-2,block,Dale,2000,2027-01-01,50000,,4.000,,,aluminium
K-1,crank,Hill,400,2027-01-01,20000,500,,3.250,,steel
K-2,crank,Dale,300,2027-01-01,18000,,,3.500,,steel
K-3,crank,Dale,250,2027-01-01,,,,3.250,,
K-4,crank,Nagg Works,350,2027-01-01,21000,,,3.250,,iron
R-1,rod,Hill,50,2027-01-01,600,,,,5.900,steel
R-2,rod,Dale,90,2027-01-01,400,,,,6.000,titanium
C-5,carburetor,Hill,500,2027-01-01,3000,,,,,zinc
C-4,carburetor,Hill,450,2027-01-01,2900,,,,,zinc
P-1,plate,Hill,20,2027-01-01,50,,,,,steel
""",
        "catalog/prices.csv": "part,supplier,date,price\nP-1,Hill,2027-05-01,30\n",
        "catalog/operations.csv": """
operation,role,price,price_date,bore [in],mass [g]
bore-020,block,100,2027-01-01,0.020,
balance,crank,80,2027-01-01,,-300
grind,crank,60,2027-01-01,,
""",
    }
)


@pytest.fixture(scope="session")
def small(tmp_path_factory: pytest.TempPathFactory) -> Scenario:
    """The small engine as planned: 163.36 cubic inches, crank K-1 in block B-1."""
    folder = tmp_path_factory.mktemp("small")
    (folder / "catalog").mkdir()
    for name, text in FILES.items():
        (folder / name).write_text(text.lstrip("\n"), encoding="utf-8")
    scenario, problems = read_scenario(folder)
    assert scenario is not None, problems
    return scenario


@pytest.fixture(scope="session")
def known(small: Scenario) -> Known:
    """What a pack may speak of that is written for the small engine."""
    assert small.build is not None
    assert small.catalog is not None
    return Known(
        small.build.pattern,
        small.catalog.operations,
        levels=[row.level for row in small.files.levels],
        services=[row.service for row in small.files.services],
        rates=small.rates,
    )


@pytest.fixture
def pack_of(write: Callable[[str, str | bytes], Path], known: Known) -> Callable[..., Pack]:
    """A pack from its text behind the name, without faults; other packs by the names of their files."""

    def read(text: str, **others: str) -> Pack:
        for name, other in others.items():
            write(f"{name}.toml", f'name = "{name}"\n{other}')
        pack, problems = read_pack(write("rules.toml", f'name = "Club"\n{text}'), known)
        assert problems == ()
        assert pack is not None
        return pack

    return read


@pytest.fixture
def sheet_of(small: Scenario) -> Callable[..., Sheet]:
    """The sheet of engine blue: other parts in some slots, some empty, work done, and what was brought for it."""

    def known_of(
        *,
        parts: Mapping[str, str] = MappingProxyType({}),
        done: Mapping[str, Sequence[str]] = MappingProxyType({}),
        bench: Sequence[Bench] = (),
        papers: Sequence[Paper] = (),
        inspections: Sequence[Inspected] = (),
        pieces: Sequence[Piece] = (),
        empty: Sequence[str] = (),
    ) -> Sheet:
        build, catalog = small.build, small.catalog
        assert build is not None
        assert catalog is not None
        for slot, part in parts.items():
            build = with_part(build, slot, catalog.parts[part])
        for slot, names in done.items():
            fill = replace(build.fills[slot], operations=tuple(catalog.operations[name] for name in names))
            build = replace(build, fills={**build.fills, slot: fill})
        build = replace(build, fills={slot: fill for slot, fill in build.fills.items() if slot not in empty})
        told = replace(
            small,
            build=build,
            bench=tuple(bench),
            papers=tuple(papers),
            inspections=tuple(inspections),
            garage=tuple(pieces),
        )
        return told.sheet("blue")

    return known_of


@pytest.fixture
def verdicts_of(pack_of: Callable[..., Pack], sheet_of: Callable[..., Sheet]) -> Callable[..., Verdicts]:
    """How engine blue answers a pack on a day, its text given; what else is given goes into its sheet."""

    def answered(
        text: str, *, on: date = date(2027, 4, 5), others: Mapping[str, str] = MappingProxyType({}), **given: object
    ) -> Verdicts:
        return check(pack_of(text, **others), sheet_of(**given), on)

    return answered


@pytest.fixture
def ask(verdicts_of: Callable[..., Verdicts]) -> Callable[..., Finding]:
    """How engine blue answers one clause, called `one`, of a kind and keys; `head`: what stands before it."""

    def answered(kind: str, keys: str, *, head: str = "", **given: object) -> Finding:
        clause = f'[[rule]]\nid = "one"\nkind = "{kind}"\nsays = "so"\n{keys}\n'
        return next(one for one in verdicts_of(f"{head}\n{clause}", **given).findings if one.rule == "one")

    return answered
