"""The checklist: every clause in force once, at its stage and depth, with what is known of it so far."""

from __future__ import annotations

import csv
import io
import json
from collections.abc import Callable, Mapping
from datetime import date
from decimal import Decimal
from pathlib import Path

import pytest
from typer.testing import CliRunner

from costplan.cli import app
from costplan.garage import Bench, Inspected, Paper
from costplan.quantity import Quantity
from costplan.report.inspection import checklist_page
from costplan.rules import Pack, Sheet
from costplan.rules.checklist import CheckBook, CheckGroup, CheckLine, Depth, checkbook, checklist, depths_of, groups_of
from costplan.scenario import read_scenario
from costplan.season import Level, Position

ROOT = Path(__file__).parents[2]
DEMOS = ("oval-v8", "kart-single")
DAY = date(2027, 4, 5)

TOP = Depth("freshen", 1, Decimal(130), 20)
DEEP = Depth("rebuild", 2, Decimal(260), 40)
BENCH_WORK = Depth("carb-bench", 3, Decimal(50), 60, "car")
#: No row says how deep the plate lies.
DEPTHS = {"carburetor": BENCH_WORK, "rods": TOP, "crank": DEEP, "block": DEEP}


def clause(name: str, kind: str, keys: str) -> str:
    return f'[[rule]]\nid = "{name}"\nkind = "{kind}"\nsays = "{name}, in words"\n{keys}\n'


@pytest.fixture
def lines_of(pack_of: Callable[..., Pack], sheet_of: Callable[..., Sheet]) -> Callable[..., tuple[CheckLine, ...]]:
    """The checklist of some clauses for engine blue; what else is given goes into its sheet."""

    def lines(text: str, *, depths: Mapping[str, Depth] = DEPTHS, **given: object) -> tuple[CheckLine, ...]:
        return checklist(pack_of(text), sheet_of(**given), DAY, depths)

    return lines


def test_depths_join_levels_and_positions() -> None:
    levels = (
        Level(level="freshen", rank=1, labour=Decimal(100), supplies=Decimal(30), hours=20),
        Level(level="carb-bench", rank=3, carrier="car", labour=Decimal(50), hours=60),
    )
    positions = (
        Position(slot="rods", level="freshen"),
        Position(slot="carburetor", level="carb-bench", carrier="car"),
        Position(slot="crank", level="gone"),
    )
    assert depths_of(levels, positions) == {"rods": TOP, "carburetor": BENCH_WORK}


#: keys of a clause -> the stage and level where it is looked at
STAGES = [
    ("paper", 'paper = "seal"\nat_least = 4', "papers", ""),
    ("paper", 'paper = "passport"\nslot = "block"\nminutes = 4', "papers", ""),
    ("quota", 'of = "engines"\nmost = 2', "papers", ""),
    ("charge", 'amount = 100\nper = "swap"', "papers", ""),
    ("conduct", "", "papers", ""),
    ("parts", 'slot = "crank"\nallowed = "K-1"', "papers", ""),
    ("parts", 'slot = "crank"\nallowed = "K-1"\nproof = ["document"]\ndocument = "receipt"', "papers", ""),
    ("parts", 'slot = "crank"\nallowed = "K-1"\nproof = ["list"]', "papers", ""),
    ("limit", 'of = "crank.mass"\nmin = "19 kg"', "papers", ""),
    ("limit", 'of = "price"\nmax = "9000 USD"\nminutes = 10', "papers", ""),
    ("work", 'slot = "crank"\nmust_not = "grind"', "papers", ""),
    ("parts", 'slot = "rods"\nallowed = "R-1"\nminutes = 2', "opened", "freshen"),
    ("parts", 'slot = "rods"\nallowed = "R-1"\ntool = "lamp"', "opened", "freshen"),
    ("parts", 'slot = "rods"\nallowed = "R-1"\nmark = "HILL"', "opened", "freshen"),
    ("parts", 'slot = "rods"\nallowed = "R-1"\nmark = "HILL"\nproof = ["document"]', "opened", "freshen"),
    ("parts", 'slot = "rods"\nallowed = "R-1"\nproof = ["inspection", "document"]', "opened", "freshen"),
    ("word", 'of = "carburetor.material"\none_of = "zinc"\nminutes = 1', "opened", "carb-bench"),
    ("limit", 'of = "displacement"\nmax = "170 in3"\nproof = "measurement"', "opened", "rebuild"),
    ("limit", 'of = "count.rod"\nmax = 4\nminutes = 1', "opened", "freshen"),
    ("limit", 'of = "crank.mass"\nless = "rods.mass"\nmin = "1 kg"\nminutes = 9', "opened", "rebuild"),
    ("limit", 'of = "mass"\nmin = "50 kg"\nproof = "measurement"', "outside", ""),
    ("inspection", 'slot = ["rods", "block"]', "opened", "rebuild"),
    ("inspection", 'slot = ["carburetor", "rods"]', "opened", "freshen"),
    ("inspection", 'slot = ["plate", "rods"]', "opened", "freshen"),
    ("inspection", "", "outside", ""),
    ("inspection", 'stage = "running"', "running", ""),
    ("inspection", 'slot = "crank"\nstage = "outside"', "outside", ""),
    ("parts", 'slot = "crank"\nallowed = "K-1"\nstage = "opened"', "opened", "rebuild"),
    ("inspection", 'slot = "rods"\nstage = "papers"', "papers", ""),
]


@pytest.mark.parametrize(("kind", "keys", "stage", "level"), STAGES)
def test_a_clause_is_looked_at_where_its_kind_proofs_and_slots_say(
    lines_of: Callable[..., tuple[CheckLine, ...]], kind: str, keys: str, stage: str, level: str
) -> None:
    (line,) = lines_of(clause("one", kind, keys))
    assert (line.stage, line.level) == (stage, level)


def test_what_is_measured_decides_how_deep_a_limit_goes(lines_of: Callable[..., tuple[CheckLine, ...]]) -> None:
    keys = 'of = "displacement"\nmax = "170 in3"\nproof = "measurement"'
    (line,) = lines_of(clause("one", "limit", f'{keys}\nmeasured = ["rods.rod_length"]'))
    assert line.level == "freshen"


def test_a_slot_without_a_row_has_no_depth_and_says_so(lines_of: Callable[..., tuple[CheckLine, ...]]) -> None:
    plate, both = lines_of(
        clause("both", "inspection", 'slot = ["rods", "plate"]') + clause("plate", "inspection", 'slot = "plate"'),
        parts={"plate": "P-1"},
    )
    assert (plate.rule, plate.stage, plate.level, plate.cost, plate.unplaced) == (
        "plate",
        "opened",
        "",
        None,
        ("plate",),
    )
    assert (both.rule, both.level, both.cost, both.unplaced) == ("both", "freshen", Decimal(130), ("plate",))


BOOK = (
    clause(
        "crank", "inspection", 'slot = "crank"\nminutes = 5\nwhen = [{kind = "parts", slot = "crank", allowed = "K-2"}]'
    )
    + clause("stroke", "limit", 'of = "crank.stroke"\nmax = "3.3 in"\nminutes = 8')
    + clause("bore", "limit", 'of = "block.bore"\nmax = "4.1 in"\nminutes = 6')
    + clause("bore again", "limit", 'of = "block.bore"\nmin = "3.9 in"\nminutes = 2')
    + clause("rods", "inspection", 'slot = "rods"\nminutes = 3.5')
    + clause("zinc", "inspection", 'slot = "carburetor"')
    + clause("weight", "limit", 'of = "mass"\nmin = "50 kg"\nminutes = 15')
    + clause("sound", "inspection", 'stage = "running"\nminutes = 4')
    + clause("list", "parts", 'slot = "crank"\nallowed = "K-1"')
    + clause("claim", "conduct", "")
    + clause("seals", "paper", 'paper = "seal"\nminutes = 1')
)


def test_the_order_is_that_in_which_one_takes_an_engine_apart(lines_of: Callable[..., tuple[CheckLine, ...]]) -> None:
    assert [line.rule for line in lines_of(BOOK)] == [
        *("seals", "claim", "list"),
        "sound",
        "weight",
        "zinc",
        "rods",
        *("bore", "bore again", "stroke"),
        "crank",
    ]


def test_each_depth_has_its_minutes_and_those_not_asked_have_none(
    lines_of: Callable[..., tuple[CheckLine, ...]],
) -> None:
    groups = groups_of(lines_of(BOOK))
    assert [(group.stage, group.level, group.minutes, group.so_far, group.unstated) for group in groups] == [
        ("papers", "", 1, 1, 2),
        ("running", "", 4, 5, 0),
        ("outside", "", 15, 20, 0),
        ("opened", "carb-bench", 0, 20, 1),
        ("opened", "freshen", 3.5, 23.5, 0),
        ("opened", "rebuild", 16, 39.5, 0),
        ("", "", 0, 39.5, 0),
    ]
    assert [(group.cost, group.hours) for group in groups[3:6]] == [
        (Decimal(50), 60),
        (Decimal(130), 20),
        (Decimal(260), 40),
    ]


def test_a_clause_whose_condition_does_not_hold_says_why(lines_of: Callable[..., tuple[CheckLine, ...]]) -> None:
    *_, last = lines_of(BOOK)
    assert (last.rule, last.asked, last.verdict) == ("crank", False, "not asked")
    assert "K-2" in last.why[0]


def test_a_clause_out_of_force_is_left_out(lines_of: Callable[..., tuple[CheckLine, ...]]) -> None:
    text = (
        clause("over", "inspection", "sunset = 2027-04-04")
        + clause("to come", "inspection", "effective = 2027-04-06")
        + clause("now", "inspection", "effective = 2027-04-05\nsunset = 2027-04-05")
    )
    assert [line.rule for line in lines_of(text)] == ["now"]


@pytest.mark.parametrize(
    ("kind", "keys", "look"),
    [
        ("parts", 'slot = "crank"\nallowed = "K-1"', "read the parts list against crank: K-1"),
        ("parts", 'slot = "rods"\nallowed = "R-1"\nmark = "HILL"', "rods: R-1, marked HILL"),
        ("quota", 'of = "engines"\nmost = 2', "read the record of events: at most 2 engines in a season"),
        ("conduct", "", "read the record of events"),
        ("paper", 'paper = "seal"\nat_least = 4', "4 x seal"),
        (
            "parts",
            'slot = "rods"\nallowed = "R-1"\nproof = ["document"]\ndocument = "receipt"',
            "see the receipt: rods: R-1",
        ),
        ("inspection", 'slot = "rods"', "inspection: rods"),
    ],
)
def test_what_to_look_at_in_words(
    lines_of: Callable[..., tuple[CheckLine, ...]], kind: str, keys: str, look: str
) -> None:
    (line,) = lines_of(clause("one", kind, keys))
    assert line.look == look


def test_a_list_is_read_out_as_its_edition_in_force_has_it(lines_of: Callable[..., tuple[CheckLine, ...]]) -> None:
    lists = '[[list]]\nlist = "cranks"\nparts = ["K-1", "K-3"]\n'
    (line,) = lines_of(lists + clause("one", "parts", 'slot = "crank"\nlist = "cranks"\nminutes = 3'))
    assert line.look == "crank: list cranks (K-1 or K-3)"


def test_a_line_tells_tool_limit_minutes_and_who_pays(lines_of: Callable[..., tuple[CheckLine, ...]]) -> None:
    keys = 'of = "block.bore"\nmax = "4.1 in"\nminutes = 6\ntool = "bore gauge"\npays = "the protester"\nrisk = "2 %"'
    (line,) = lines_of(clause("one", "limit", keys))
    assert (line.tool, line.limit, line.minutes, line.pays, line.risk) == (
        *("bore gauge", "at most 4.1 in", 6),
        *("the protester", 0.02),
    )


def test_what_the_bench_and_an_inspection_say_so_far_with_who(lines_of: Callable[..., tuple[CheckLine, ...]]) -> None:
    bench = Bench(
        engine="blue", attribute="bore", slot="block", value=Decimal("4.05"), unit="in", date=DAY, by="own crew"
    )
    found = Inspected(engine="blue", rule="rods", found="meets", date=DAY, by="B. Official")
    text = clause("bore", "limit", 'of = "block.bore"\nmax = "4.1 in"\nminutes = 6') + clause(
        "rods", "inspection", 'slot = "rods"'
    )
    rods, bore = lines_of(text, bench=(bench,), inspections=(found,))
    assert (bore.rule, bore.verdict, bore.value, bore.measured_by, bore.inspected) == (
        *("bore", "meets", Quantity(4.05, "in")),
        *(("own crew",), False),
    )
    assert (rods.rule, rods.verdict, rods.shown_by, rods.inspected) == ("rods", "meets", (str(found),), True)


def test_a_result_that_the_book_does_not_accept_settles_nothing(
    lines_of: Callable[..., tuple[CheckLine, ...]],
) -> None:
    found = Inspected(engine="blue", rule="rods", found="meets", date=DAY, by="a friend")
    text = 'gauges = ["B. Official"]\n' + clause("rods", "inspection", 'slot = "rods"')
    (line,) = lines_of(text, inspections=(found,))
    assert (line.verdict, line.owed, line.inspected) == ("cannot be shown", ("inspection",), False)


def test_a_paper_on_hand_meets_and_is_no_inspection(lines_of: Callable[..., tuple[CheckLine, ...]]) -> None:
    (line,) = lines_of(
        clause("seals", "paper", 'paper = "seal"'), papers=(Paper(engine="blue", paper="seal", number="7"),)
    )
    assert (line.verdict, line.inspected) == ("meets", False)


def test_the_book_of_a_checklist_holds_all_its_lines(
    pack_of: Callable[..., Pack], sheet_of: Callable[..., Sheet]
) -> None:
    pack, sheet = pack_of('tolerance = "none"\ngauges = ["B. Official"]\n' + BOOK), sheet_of()
    book = checkbook(pack, sheet, DAY, DEPTHS)
    assert (book.name, book.engine, book.on, book.tolerance) == ("Club", "blue", DAY, "none")
    assert book.gauges == ("B. Official",)
    assert book.lines() == checklist(pack, sheet, DAY, DEPTHS)


@pytest.mark.parametrize("demo", DEMOS)
def test_every_clause_in_force_of_a_demo_is_on_the_list_once(demo: str) -> None:
    scenario, _ = read_scenario(ROOT / "scenarios" / demo)
    assert scenario is not None
    depths = depths_of(scenario.files.levels, scenario.files.positions)
    day = date(2027, 5, 14)
    for pack in (*scenario.packs, *scenario.neighbours):
        for engine in ("", scenario.engines[0].name):
            lines = checklist(pack, scenario.sheet(engine, on=day), day, depths)
            in_force = [rule.id for rule in pack.rules if rule.holds_on(day, scenario.rounds)]
            assert len(in_force) > 5
            assert sorted(line.rule for line in lines) == sorted(in_force)


def run(*words: str) -> str:
    result = CliRunner().invoke(app, ["rules", "checklist", str(ROOT / "scenarios/oval-v8"), *words])
    assert result.exit_code == 0, result.output
    return result.output


def test_the_page_has_each_clause_once_fits_and_has_room_to_sign(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("COLUMNS", "80")
    page = run("--engine", "blue", "--on", "2027-05-14")
    rows = list(csv.DictReader(io.StringIO(run("--engine", "blue", "--on", "2027-05-14", "--csv"))))
    assert len(rows) > 20
    first = [line.split(" ")[0] for line in page.splitlines()]
    assert [first.count(row["rule"]) for row in rows] == [1] * len(rows)
    assert max(map(len, page.splitlines())) <= 80
    assert page.count("________") >= sum(row["asked"] == "yes" for row in rows)
    assert "Inspected by" in page
    assert not {"legal", "safe"} & set(page.lower().split())


def test_the_csv_has_empty_columns_to_fill_in() -> None:
    rows = list(csv.DictReader(io.StringIO(run("--csv"))))
    assert {(row["result"], row["by"]) for row in rows} == {("", "")}


def test_json_has_every_line_under_its_group() -> None:
    answer = json.loads(run("--json", "--pack", "rules-tour", "--on", "2027-05-14"))
    (pack,) = answer["packs"]
    assert (answer["answer"], pack["pack"]) == ("rules checklist", "rules-tour")
    names = [line["rule"] for group in pack["groups"] for line in group["lines"]]
    rows = csv.DictReader(io.StringIO(run("--csv", "--pack", "rules-tour", "--on", "2027-05-14")))
    assert names == [row["rule"] for row in rows]


def test_a_pack_that_is_not_there_is_told() -> None:
    result = CliRunner().invoke(app, ["rules", "checklist", str(ROOT / "scenarios/oval-v8"), "--pack", "rules-tor"])
    assert (result.exit_code, "--pack: REA020" in result.output) == (2, True)


def test_a_clause_is_a_block_with_room_to_sign_on_its_first_line() -> None:
    line = CheckLine(
        pack="tour",
        rule="T11-rod",
        kind="limit",
        says="A rod weighs at least 550 grams.",
        look="rods.mass: at least 550 g",
        clause="3 crank, page 12",
        severity="should",
        stage="opened",
        level="rebuild",
        carrier="engine",
        rank=2,
        cost=Decimal(260),
        hours=40.0,
        slots=("rods",),
        unplaced=(),
        tool="scale",
        limit="at least 550 g",
        minutes=6,
        pays="the tour",
        penalty="",
        asked=True,
        verdict="cannot be shown",
        on_paper="cannot be shown",
        value=None,
        at_fault=(),
        owed=("measurement",),
        shown_by=(),
        measured_by=(),
        inspected=False,
        risk=None,
        why=(),
        place="tour.toml:9",
    )
    group = CheckGroup("opened", "rebuild", "engine", Decimal(260), 40.0, (line,), 6, 6, 0)
    book = CheckBook("tour", "Tour", "", "tour.toml", "blue", date(2027, 4, 5), "", (), (group,))
    _, block = checklist_page((book,), "Club", "USD", invented=False).passages
    assert block.title == (
        "Engine opened to rebuild: opening and closing 260 USD, 40 h until ready. Minutes here 6; so far 6."
    )
    assert block.lines == (
        (0, "T11-rod  6 min  ________ ____  advice; 3 crank, page 12"),
        (1, "A rod weighs at least 550 grams."),
        (1, "Check: rods.mass: at least 550 g; with scale. So far: owed measurement. Opening paid by the tour."),
    )
