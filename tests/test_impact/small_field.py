"""A small class and its field that can be worked by hand: a head, four springs, a cam, and a box of the car.

Six races a week apart, two sessions each. Springs are reached by level `springs` (40 labour), the cam by `top` (100
labour and 20 supplies), which renews the springs every time; the box by the car's level `bench` (15), and it cuts out.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from datetime import date
from pathlib import Path

from costplan.impact.answering import Answerer
from costplan.impact.answers import Answer, OnceLine
from costplan.impact.drawing import Asked
from costplan.impact.field import Crowd, FieldOfEntrants
from costplan.impact.figures import ChangeImpact, GroupImpact, Impact
from costplan.impact.reading import read_field
from costplan.impact.studying import Desk, desk_of

CATALOG = """\
name = "invented"
currency = "USD"
[attributes]
most_lift = "length"
rise = "length"
"""
PARTS = """\
part,role,supplier,price,price_date,pack,lead_days,core_charge,resale,most_lift [mm],rise [mm],rpm_limit [rpm]
HEAD,head,Hill,500,2027-01-10,1,0,0,0,,,
SP-A,spring,Hill,10,2027-01-10,1,5,0,2,12,,
SP-B,spring,Dale,30,2027-01-10,2,14,0,3,12,,
SP-C,spring,Hill,26,2027-01-10,1,5,0,0,14,,
CAM-A,cam,Hill,200,2027-01-10,1,7,0,80,,10,
CAM-B,cam,Dale,150,2027-01-10,1,21,30,50,,10,
CAM-C,cam,Hill,120,2027-01-10,1,7,0,20,,13,
BOX-9,box,Hill,300,2027-01-10,1,3,0,100,,,9000
BOX-6,box,Dale,120,2027-01-10,1,3,0,40,,,6000
"""
OPERATIONS = "operation,role,price,price_date\ndegree,cam,25,2027-01-10\n"
LIVES = """\
part,role,measure,replace_at,risk,shape,rated_rpm,rpm_exponent
SP-A,,events,4,0.05,3,,
SP-B,,events,8,0.05,3,,
SP-C,,events,10,0.05,3,,
CAM-A,,hours,8,0.05,3,6000,3
CAM-B,,hours,6,0.05,3,6000,3
CAM-C,,hours,7,0.05,3,6000,3
BOX-9,,events,60,0.05,2,,
BOX-6,,events,60,0.05,2,,
"""
PATTERN = """\
name = "small"
[inputs]
cylinders = 4
[airflow]
ports = "head"
duration = "240 deg"
limiter = "box"
[[slot]]
slot = "head"
role = "head"
[[slot]]
slot = "springs"
role = "spring"
quantity = 4
[[slot]]
slot = "cam"
role = "cam"
[[slot]]
slot = "box"
role = "box"
[[fit]]
fit = "springs bear the lift"
this = "springs.most_lift"
must = "at least"
that = "cam.rise"
"""
RULES = """\
name = "book"
edition = "2027"
[[rule]]
id = "springs"
kind = "parts"
says = "Springs A, B or C."
slot = "springs"
allowed = ["SP-A", "SP-B", "SP-C"]
minutes = 3
[[rule]]
id = "cam"
kind = "parts"
says = "Any of the three cams."
slot = "cam"
allowed = ["CAM-A", "CAM-B", "CAM-C"]
minutes = 4
[[rule]]
id = "box"
kind = "parts"
says = "Either box."
slot = "box"
allowed = ["BOX-9", "BOX-6"]
[[rule]]
id = "openings"
kind = "quota"
says = "An engine is opened for its springs nine times at most."
of = "openings"
level = "springs"
most = 9
"""
CALENDAR = """\
event,date,kind,format,level,entry,purse
dyno day,2027-03-20,test,dyno,,10,
one,2027-04-03,race,night,,20,50
two,2027-04-10,race,night,,20,50
three,2027-04-17,race,night,,20,50
four,2027-04-24,race,night,,20,50
five,2027-05-01,race,night,,20,50
six,2027-05-08,race,night,,20,50
"""
SCENARIO = """\
title = "small field"
class_name = "small class"
invented = true
currency = "USD"
opening = 2027-03-01
catalogs = ["catalog"]
pattern = "pattern.toml"
build = "build.csv"
rules = ["rules.toml"]
[[engine]]
name = "blue"
[[engine]]
name = "red"
owned = false
[[variant]]
name = "two engines"
set = ["scenario/engine/red/owned=true"]
"""
HEADER = 'baseline = "rules.toml"\nedition = "2027"\nauthor = "a member"\nsource = "letter 7"\ndate = 2027-01-20\n'


def change(name: str, text: str = "", head: str = "") -> str:
    """A change of the book."""
    return f'name = "{name}"\n{HEADER}reason = "to save money"\n{head}{text}'


def parts_rule(slot: str, *allowed: str, more: str = "") -> str:
    """A clause of the book with other parts allowed."""
    listed = ", ".join(f'"{part}"' for part in allowed)
    return (
        f'[[replace]]\nid = "{slot}"\nkind = "parts"\nsays = "only some"\nslot = "{slot}"\nallowed = [{listed}]\n{more}'
    )


QUOTA = (
    '[[replace]]\nid = "openings"\nkind = "quota"\nsays = "most {0}"\nof = "openings"\nlevel = "springs"\nmost = {0}\n'
)
FILES: Mapping[str, str] = {
    "catalog/catalog.toml": CATALOG,
    "catalog/roles.csv": "role\nhead\nspring\ncam\nbox\n",
    "catalog/parts.csv": PARTS,
    "catalog/operations.csv": OPERATIONS,
    "catalog/lives.csv": LIVES,
    "pattern.toml": PATTERN,
    "build.csv": "slot,part,operations\nhead,HEAD,\nsprings,SP-A,\ncam,CAM-A,degree\nbox,BOX-9,\n",
    "rules.toml": RULES,
    "levels.csv": (
        "level,rank,carrier,hours,labour,supplies,renews\n"
        "springs,1,engine,2,40,0,\ntop,2,engine,40,100,20,springs\nbench,1,car,1,15,0,\n"
    ),
    "positions.csv": "slot,level,carrier\nsprings,springs,engine\ncam,top,engine\nbox,bench,car\n",
    "sessions.csv": (
        "format,session,hours,rpm,result\nnight,heat,0.5,6000,0.3\nnight,final,1,7000,0.7\ndyno,pulls,0.5,6500,0\n"
    ),
    "calendar.csv": CALENDAR,
    "calendar-winter.csv": CALENDAR.replace("dyno day", "winter work,2027-03-05,service,,top,,\ndyno day"),
    "garage.csv": (
        "piece,part,engine,slot,count,bought,events,hours\n"
        "blue-springs,SP-A,blue,springs,,2026-08-01,3,4.5\nblue-cam,CAM-A,blue,cam,,2026-01-01,3,4.5\n"
        "car-box,BOX-9,car,box,,2025-01-01,12,18\n"
    ),
    "scenario.toml": SCENARIO,
    "field.csv": "group,entrants,source\nlocals,3,letter\n",
    "impact.toml": 'changes = ["change-springs.toml"]\nyears = 4\nsource = "the board"\n',
    "change-springs.toml": change("B springs", parts_rule("springs", "SP-B")),
    "change-better.toml": change("no A springs", parts_rule("springs", "SP-B", "SP-C")),
    "change-cam.toml": change("B cam", parts_rule("cam", "CAM-B")),
    "change-both.toml": change("B both", parts_rule("springs", "SP-B") + parts_rule("cam", "CAM-B")),
    "change-fast.toml": change("C cam", parts_rule("cam", "CAM-C")),
    "change-box.toml": change("slow box", parts_rule("box", "BOX-6")),
    "change-quota.toml": change("one opening", QUOTA.format(1)),
    "change-none.toml": change("nothing", "", 'header = { edition = "2027b" }\n'),
    "change-dated.toml": change("B springs later", parts_rule("springs", "SP-B"), "effective = 2027-04-20\n"),
    "change-never.toml": change("at odds", parts_rule("springs", "SP-B") + parts_rule("cam", "CAM-C")),
}
ENGINES = "two engines"
#: Lives that hold as long as they are stated: next to nothing fails before.
SURE = LIVES.replace("0.05", "0.000000001")
#: The same for springs, where nothing else wears.
SPRINGS_ALONE = "".join(line for line in SURE.splitlines(keepends=True) if not line.startswith(("CAM", "BOX")))


def written(folder: Path, **files: str) -> Path:
    """The folder of the small field; `files` by their names without ending replace those there or are added."""
    names = {name.rpartition("/")[2].partition(".")[0]: name for name in FILES}
    names |= {"scenario": "scenario.toml", "supply": "supply.csv", "survey": "survey.csv"}
    given = {names[key.replace("_", "-")]: text for key, text in files.items()}
    for name, text in {**FILES, **given}.items():
        path = folder / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(text, encoding="utf-8")
    return folder


def field_of(folder: Path, *changes: str) -> FieldOfEntrants:
    """The field as read; changes by the words behind `change-`."""
    field, problems = read_field(folder, [f"change-{name}.toml" for name in changes])
    assert field is not None, problems
    return field


def answer_of(folder: Path, name: str, group: int = 0) -> Answer:
    """How a group answers a change."""
    field = field_of(folder, name)
    return Answerer(field.crowds[group], field.study).comply(field.proposals[0].packs)


def desk(field: FieldOfEntrants, seasons: int = 40, on: date | None = None) -> Desk:
    """A study made ready."""
    found, problems = desk_of(field, Asked(seasons, field.study.years, 1), on or field.base.opening)
    assert found is not None, problems
    return found


def study(folder: Path, *changes: str, seasons: int = 40, on: date | None = None) -> Impact:
    """The study of some changes, few seasons drawn."""
    return desk(field_of(folder, *changes), seasons, on).impact()


def lines(answer: Answer) -> list[tuple[str, str, tuple[str, ...], int, str]]:
    """The lines of an answer as what, name, slots, pieces, amount."""
    return [(one.what, one.name, one.slots, one.pieces, f"{one.amount:f}") for one in answer.lines]


def moved(answer: Answer) -> list[tuple[str, str, str]]:
    return [(one.slot, one.before, one.after) for one in answer.swaps]


def of(impact: Impact, group: str, number: int = 0) -> GroupImpact:
    """A group's figures under a change."""
    return next(one for one in impact.changes[number].groups if one.group == group)


def line_of(answer: Answer, what: str) -> OnceLine:
    return next(one for one in answer.lines if one.what == what)


def only(change_: ChangeImpact) -> GroupImpact:
    (group,) = change_.groups
    return group


def with_count(crowd: Crowd, entrants: int) -> Crowd:
    """A group of so many entrants."""
    row = crowd.row.model_copy(update={"entrants": entrants})
    number = crowd.entrants.likely.__class__(entrants)
    return replace(crowd, row=row, entrants=replace(crowd.entrants, low=number, likely=number, high=number))
