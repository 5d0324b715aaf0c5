"""A scenario of a few literal tables: what a test needs, and nothing else."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from types import MappingProxyType

from costplan.scenario import Scenario
from tests.test_choose.drawn_scenarios import Files

NO_TABLES: Mapping[str, str] = MappingProxyType({})
HEAD = "part,role,supplier,price,price_date,pack,lead_days,resale,mass [g],material"


def shop(
    folder: Path,
    parts: str,
    slots: Mapping[str, str],
    build: str,
    rules: str = "",
    pattern: str = "",
    tables: Mapping[str, str] = NO_TABLES,
) -> Scenario:
    """A scenario. `parts`: rows by `HEAD`; `slots`: the role of each, then more keys (`piston quantity=4`).

    `build`: slot and part, row by row; `tables`: more files of the catalog (c/) or the scenario (s/), whole.
    """
    names = dict.fromkeys(words.split()[0] for words in slots.values())
    blocks = [_slot(slot, *words.split()) for slot, words in slots.items()]
    files = Files(
        {
            "c/roles.csv": ["role,shape", *(f"{role},2.5" for role in names)],
            "c/parts.csv": [HEAD, *parts.split()],
            "s/build.csv": ["slot,part,operations,kit,alternate,serves", *(_row(row) for row in build.split())],
            "s/calendar.csv": ["event,date,laps,setup", "one,2027-05-01,30,", "two,2027-06-01,30,rain"],
            "s/levels.csv": ["level,rank", "rebuild,1"],
            "s/positions.csv": ["slot,level", *(f"{slot},rebuild" for slot in slots)],
        },
        {
            "c/catalog.toml": ['name = "invented"\ncurrency = "USD"\n'],
            "s/pattern.toml": ['name = "small"\n[inputs]\ncylinders = 4', pattern, *blocks],
            "s/rules.toml": ['name = "book"', rules],
            "s/scenario.toml": [
                'title = "small"\ncurrency = "USD"\nopening = 2027-02-01\ncatalogs = ["../c"]\n'
                'pattern = "pattern.toml"\nbuild = "build.csv"\nrules = ["rules.toml"]\n[[engine]]\nname = "blue"\n'
            ],
        },
    )
    for name, text in tables.items():
        files.tables[name] = text.split("\n")
    return files.write(folder)


def _slot(slot: str, role: str, *more: str) -> str:
    return "\n".join((f'[[slot]]\nslot = "{slot}"\nrole = "{role}"', *(word.replace("=", " = ") for word in more)))


def _row(row: str) -> str:
    return row + "," * (5 - row.count(","))
