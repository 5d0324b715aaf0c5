"""A small engine of invented parts, before one book or two."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest

from costplan.scenario import Scenario, read_scenario

Write = Callable[[str, str | bytes], Path]

PARTS = """\
part,role,supplier,price,price_date,pack,lead_days,resale,bore [in],mass [g]
B-400,block,Hill,2000,2027-01-10,1,20,400,4.000,80000
B-403,block,Dale,1500,2027-01-10,1,10,0,4.030,80000
P-A,piston,Hill,600,2027-01-10,8,5,0,4.000,430
P-B,piston,Dale,480,2027-01-10,8,5,0,4.000,395
P-C,piston,Dale,500,2027-01-10,4,5,0,3.996,410
P-D,piston,Dale,450,2027-01-10,8,5,0,4.030,430
P-E,piston,Dale,300,2027-01-10,8,5,0,,430
"""
PATTERN = """\
name = "small"
[inputs]
cylinders = 8
bore = "block.bore"
stroke = "3 in"
[[slot]]
slot = "block"
role = "block"
[[slot]]
slot = "pistons"
role = "piston"
quantity = 8
[[fit]]
fit = "piston in bore"
this = "pistons.bore"
must = "equal"
that = "block.bore"
within = "0.005 in"
"""
RULES = """\
name = "book"
[[rule]]
id = "weight"
kind = "limit"
says = "a piston weighs at least 400 g"
of = "pistons.mass"
min = "400 g"
[[rule]]
id = "size"
kind = "limit"
says = "all cylinders sweep at most {most}"
of = "displacement"
max = "{most}"
"""


@pytest.fixture
def small(write: Write) -> Callable[..., Scenario]:
    """The scenario, its displacement limited to `most`; `neighbour`: the clauses of another book."""

    def read(most: str = "302 in3", neighbour: str = "") -> Scenario:
        write("c/catalog.toml", 'name = "invented"\ncurrency = "USD"\n')
        write("c/roles.csv", "role,shape\nblock,2.5\npiston,2.5\n")
        write("c/parts.csv", PARTS)
        write("c/lives.csv", "part,role,measure,replace_at\n,piston,events,40\nP-B,,events,30\n,block,events,100\n")
        write("s/pattern.toml", PATTERN)
        write("s/build.csv", "slot,part\nblock,B-400\npistons,P-A\n")
        write("s/rules.toml", RULES.format(most=most))
        write("s/levels.csv", "level,rank\nrebuild,1\n")
        write("s/positions.csv", "slot,level\nblock,rebuild\npistons,rebuild\n")
        write("s/calendar.csv", "event,date,laps\none,2027-05-01,30\n")
        if neighbour:
            write("s/other.toml", 'name = "other"\n' + neighbour)
        path = write(
            "s/scenario.toml",
            'title = "small"\ncurrency = "USD"\ncatalogs = ["../c"]\npattern = "pattern.toml"\nbuild = "build.csv"\n'
            'rules = ["rules.toml"]\n' + ('neighbours = ["other.toml"]\n' if neighbour else ""),
        )
        scenario, problems = read_scenario(path.parent)
        assert scenario is not None, problems
        return scenario

    return read
