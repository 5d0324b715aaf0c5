"""Every command on every scenario that comes with the tool: status, width, plain text, JSON and CSV."""

from __future__ import annotations

import csv
import io
import json
import re
import shutil
from collections.abc import Callable, Iterator
from decimal import Decimal
from functools import cache
from pathlib import Path
from typing import Any

import pytest

from costplan.reading.fields import to_date
from costplan.scenario import read_scenario
from costplan.season import Due, Plan, Season, due_before, make_plan
from tests.command_line import case, run

PageOf = Callable[..., tuple[int, str, str]]

ROOT = Path(__file__).parents[2]
ON = "2027-05-14"
#: With more of the demos' logs behind it: an engine that has to be inspected, orders that are late.
LATE = "2027-06-20"
DEMOS = ("scenarios/oval-v8", "scenarios/kart-single")
SCENARIOS = (*DEMOS, "full", "simple")
WITH_BUILD = (*DEMOS, "full")
QUESTIONS = dict.fromkeys(("season", "due", "check", "bom"), ("--on", ON))
ASKED = [(name, folder) for name in QUESTIONS for folder in SCENARIOS if (name, folder) != ("bom", "simple")]
CATALOGS = ("catalogs/oval-v8", "catalogs/kart-single", "full/catalog")
SHOWN = (
    ("scenarios/oval-v8", "springs"),
    ("scenarios/oval-v8", "pushrods"),
    ("scenarios/kart-single", "piston"),
    ("full", "springs"),
)
PAGES = [
    *((name, folder, *QUESTIONS[name]) for name, folder in ASKED),
    *(("catalog", "check", folder) for folder in CATALOGS),
    *(("catalog", "list", folder, "--on", ON) for folder in ("scenarios/oval-v8", *CATALOGS[1:])),
    ("catalog", "list", "scenarios/oval-v8", "--role", "block", "--where", "material=iron"),
    ("catalog", "compare", "scenarios/oval-v8", "valve-spring", "--pieces", "16", "--on", ON),
    ("catalog", "compare", "scenarios/kart-single", "kart-piston", "--on", ON),
    ("catalog", "compare", "full", "valve-spring", "--measure", "events", "--on", ON),
    ("catalog", "prices", "scenarios/oval-v8", "OB-H58"),
    *(("catalog", "fits", folder, "--on", ON) for folder in WITH_BUILD),
    ("catalog", "fits", "scenarios/kart-single", "piston"),
    *(("rules", name, folder, "--on", ON) for name in ("matrix", "checklist", "show") for folder in WITH_BUILD),
    *(("rules", name, folder) for name in ("costs", "check") for folder in WITH_BUILD),
    ("rules", "inspect", "scenarios/oval-v8", "--minutes", "60", "--on", ON),
    ("rules", "diff", "scenarios/oval-v8/change-speed-6600.toml"),
    ("rules", "diff", "scenarios/oval-v8/rules-tour.toml", "scenarios/oval-v8/rules-hessendrop.toml"),
    ("rules", "forms"),
    ("rules", "forms", "42"),
    *(("orders", folder, "--on", LATE) for folder in SCENARIOS),
    *(("life", "used", folder, "--on", LATE) for folder in SCENARIOS),
    *(("life", "fit", folder) for folder in WITH_BUILD),
    *(("life", "show", *words) for words in SHOWN),
    *(("log", "show", folder, "--on", LATE) for folder in SCENARIOS),
    *((name, folder, "--on", LATE) for name in ("season", "due") for folder in DEMOS),
    *(("outlook", folder, "--seasons", "40") for folder in SCENARIOS),
    ("outlook", "scenarios/kart-single", "--seasons", "10", "--inputs"),
    ("compare", "scenarios/oval-v8", "--variant", "two engines", "--variant", "no early", "--seasons", "40"),
    ("compare", "scenarios/kart-single", "--variant", "two engines", "--seasons", "40"),
    ("compare", "full", "simple", "--seasons", "40"),
    ("whatif", "scenarios/oval-v8", "--fails", "springs", "--at", "Vorlemick two", "--seasons", "40"),
    ("whatif", "scenarios/oval-v8", "--claimed", "--at", "Vorlemick two", "--seasons", "40"),
    *(("whatif", folder, "--sum", "3000", "--seasons", "40") for folder in SCENARIOS),
    ("columns",),
    ("columns", "calendar.csv"),
    ("--version",),
    ("--help",),
    *((name, "--help") for name in (*QUESTIONS, "columns", "new", "catalog", "rules", "outlook", "compare")),
    ("whatif", "--help"),
    ("orders", "--help"),
    *(("life", name, "--help") for name in ("used", "fit", "show")),
    *(("log", name, "--help") for name in ("add", "show")),
    *(
        ("rules", name, "--help")
        for name in ("matrix", "checklist", "show", "costs", "check", "inspect", "diff", "forms")
    ),
    *(("catalog", name, "--help") for name in ("check", "list", "compare", "prices", "fits")),
]
#: What-ifs that break one clause of each pack.
BROKEN = {
    "scenarios/oval-v8": (("build/heads/part=OB-H60", "garage/blue-heads/part=OB-H60"), "T1-head"),
    "scenarios/kart-single": (("rules-club/rule/K4-displacement/max=120 cm3",), "K4-displacement"),
    "full": (("rules-class/rule/displacement/max=300 in3",), "displacement"),
}
MONEY = {
    *("labour", "supplies", "parts", "paid", "amount", "cash_paid", "cash_received", "cash_total", "wear_total"),
    *("cash_after_income", "wear_after_income", "received", "net", "so_far", "left_at_end", "work_owed", "flowing"),
    *("left_on_hand", "on_the_shelf", "closing", "total", "cost", "price", "core_charge", "core_charges"),
    *("saves", "per_use", "more", "price", "risk", "with_risk"),
}
#: Of the budget against the log.
TRACKED = {"budget", "to_day", "actual", "forecast", "expected", "difference", "paid_ahead"}
#: All that a JSON answer may give as a number with decimals: use and shares, never money.
NUMBERS = {
    *("laps", "hours", "units", "worn", "opening", "now", "end", "value", "minutes", "life", "change", "chance"),
    *("share", "rpm"),
}

pytestmark = pytest.mark.usefixtures("at_80_columns")


@pytest.fixture(scope="module")
def work(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder with the demos and both templates."""
    folder = tmp_path_factory.mktemp("work")
    for name in ("scenarios", "catalogs"):
        shutil.copytree(ROOT / name, folder / name)
    for name, flags in (("full", ()), ("simple", ("--simple",))):
        status, _, err = run("new", str(folder / name), *flags)
        assert (status, err) == (0, "")
    return folder


@pytest.fixture(scope="module")
def page_of() -> PageOf:
    """What a command prints at 80 columns, run once for all that is to be seen on its page."""
    return cache(run)


def sets(*settings: str) -> list[str]:
    return [word for setting in settings for word in ("--set", setting)]


def season_of(folder: str) -> Season:
    """The season on the day, as the log leaves it where there is one."""
    scenario, problems = read_scenario(Path(folder))
    assert scenario is not None, problems
    season, problems = scenario.season_on(to_date(ON))
    assert season is not None, problems
    return season


def plan_of(folder: str) -> Plan:
    return make_plan(season_of(folder), to_date(ON))


def due_of(folder: str) -> tuple[Due, ...]:
    return due_before(season_of(folder), to_date(ON))


def rows_of(text: str) -> list[dict[str, str]]:
    return list(csv.DictReader(io.StringIO(text)))


def total(rows: list[dict[str, str]], column: str, **where: str) -> Decimal:
    chosen = (row for row in rows if all(row[name] == value for name, value in where.items()))
    return sum((Decimal(row[column]) for row in chosen), Decimal(0))


# Pages


@pytest.mark.parametrize("words", PAGES, ids=" ".join)
def test_a_page_fits_80_columns_without_escape_codes(words: tuple[str, ...], page_of: PageOf) -> None:
    status, out, err = page_of(*words)
    assert (status, err) == (0, "")
    assert [line for line in out.splitlines() if len(line) > 80] == []
    assert "\x1b" not in out


@pytest.mark.parametrize("words", [words for words in PAGES if "scenarios/kart-single" in words], ids=" ".join)
def test_no_colour_changes_nothing(words: tuple[str, ...], page_of: PageOf, monkeypatch: pytest.MonkeyPatch) -> None:
    before = page_of(*words)
    monkeypatch.setenv("NO_COLOR", "1")
    assert run(*words) == before


@pytest.mark.parametrize("words", PAGES, ids=" ".join)
def test_no_page_promises_what_only_officials_and_inspection_can(words: tuple[str, ...], page_of: PageOf) -> None:
    forms = [()] if words[0].startswith("-") or words[-1] == "--help" else [(), ("--json",)]
    for form in forms:
        _, out, _ = page_of(*words, *form)
        assert re.findall(r"\b(?:legal(?:ly|ity)?|illegal|safe|safely)\b", out, re.IGNORECASE) == []


@pytest.mark.parametrize(("name", "folder"), ASKED)
def test_a_page_says_that_its_data_is_invented_and_what_it_is_not(name: str, folder: str, page_of: PageOf) -> None:
    _, out, _ = page_of(name, folder, *QUESTIONS[name])
    assert out.splitlines()[0].endswith("(invented data)")
    words = " ".join(out.split())
    if name in ("season", "due"):
        assert "not a safety decision" in words
    elif folder in WITH_BUILD:
        assert "not passing inspection" in words


@pytest.mark.parametrize("folder", SCENARIOS)
def test_the_season_page_gives_every_answer(folder: str, page_of: PageOf) -> None:
    _, out, _ = page_of("season", folder, "--on", ON)
    plan, lines = plan_of(folder), out.splitlines()

    def stands(*words: str) -> bool:
        return any(all(word in line for word in words) for line in lines)

    jobs = [job for job in plan.jobs if not job.routine]
    assert ("What to do before which race, and why" in lines) == bool(jobs)
    assert all(stands(f"{job.date:%d %b}", f"{job.total:,f}") for job in jobs)
    assert ("What to buy" in lines) == bool(plan.purchases)
    assert all(stands(entry.part, str(entry.order_by), f"{entry.paid:,f}") for entry in plan.purchases)
    assert {"race", "lap"} <= {rate.per for rate in plan.rates}
    assert all(stands(f"{rate.per} (", f"{rate.cash:,f}", f"{rate.wear:,f}") for rate in plan.rates)
    assert all(stands(entry.cause, f"{entry.amount:,f}") for entry in (*plan.cash, *plan.wear))
    assert all(stands(month.month, f"{month.paid:,f}", f"{month.so_far:,f}") for month in plan.months)
    assert stands(plan.worst_month, "<- worst")
    assert stands("Slot", "Opening", "Now", "End") or stands("Opening", "Now", "End")
    assert all(stands(line.slot.split()[0], f"{line.opening:.0%}", f"{line.end:.0%}") for line in plan.life_used)
    assert stands(f"One more race like {plan.one_more.like}")
    assert stands("total", f"{plan.one_more.total:,f}")
    assert "On hand at the end of the season" in lines
    assert stands("life left in what is installed", f"{plan.left_on_hand:,f}")
    assert "Inputs that are guesses" in lines
    assert stands(f"{len(plan.assumed)} inputs assumed")


def test_the_season_of_the_demo_has_hours_jobs_and_purchases() -> None:
    plan = plan_of("scenarios/oval-v8")
    assert [rate.per for rate in plan.rates] == ["race", "lap", "hour"]
    assert plan.purchases
    assert {renewal.cause for job in plan.jobs for renewal in job.renewals} == {"planned", "early"}


@pytest.mark.parametrize("folder", DEMOS)
def test_the_due_page_names_two_races_with_their_totals(folder: str, page_of: PageOf) -> None:
    _, out, _ = page_of("due", folder, "--on", ON)
    due = due_of(folder)
    assert len(due) == 2
    for entry in due:
        assert f"Before {entry.race}, {entry.date}: {entry.total:,f}" in out


def test_after_the_last_race_nothing_is_due() -> None:
    status, out, _ = run("due", "scenarios/oval-v8", "--on", "2028-01-01")
    assert status == 0
    assert "No race lies ahead" in out


@pytest.mark.parametrize("folder", SCENARIOS)
def test_without_a_day_today_is_meant(folder: str) -> None:
    for name in ("season", "due"):
        status, _, err = run(name, folder)
        assert (status, err) == (0, "")


# Status


@pytest.mark.parametrize("folder", WITH_BUILD)
@pytest.mark.parametrize("form", [(), ("--json",), ("--csv",)], ids=str)
def test_a_broken_clause_ends_check_with_status_1(folder: str, form: tuple[str, ...]) -> None:
    settings, rule = BROKEN[folder]
    status, out, err = run("check", folder, *sets(*settings), *form)
    assert (status, err) == (1, "")
    assert rule in out


@pytest.mark.parametrize("folder", WITH_BUILD)
def test_the_broken_clause_is_the_one_that_the_what_if_is_of(folder: str) -> None:
    settings, rule = BROKEN[folder]
    before = {row["rule"]: row["verdict"] for row in rows_of(run("check", folder, "--csv")[1])}
    after = {row["rule"]: row["verdict"] for row in rows_of(run("check", folder, "--csv", *sets(*settings))[1])}
    assert "breaks" not in before.values()
    assert after == before | {rule: "breaks"}


def test_a_tighter_limit_on_the_v8_breaks_its_displacement() -> None:
    status, out, _ = run("check", "scenarios/oval-v8", "--set", "rules-tour/rule/T7-displacement/max=300 in3")
    assert status == 1
    assert "1 broken" in out


@pytest.mark.parametrize(
    ("words", "place", "code"),
    [
        (("season", "nowhere"), "nowhere", "REA001"),
        (("check", "nowhere"), "nowhere", "REA001"),
        (("due", "nowhere"), "nowhere", "REA001"),
        (("bom", "nowhere"), "nowhere", "REA001"),
        (("catalog", "check", "nowhere"), "nowhere", "REA001"),
        (("season", "simple/calendar.csv"), "simple/calendar.csv", "REA002"),
        (("season", "catalogs/oval-v8"), "catalogs/oval-v8/scenario.toml", "REA001"),
        (("bom", "simple"), "simple/scenario.toml", "REA016"),
        (("columns", "races.csv"), "FILE", "REA020"),
        (("catalog", "list", "nowhere"), "nowhere", "REA001"),
        (("catalog", "list", "catalogs/oval-v8"), "catalogs/oval-v8/tevrosk-preisliste.csv", "MON002"),
        (("catalog", "list", "simple"), "simple/scenario.toml", "REA016"),
        (("catalog", "list", "full", "--role", "sail"), "ROLE", "REA020"),
        (("catalog", "list", "full", "--supplier", "nobody"), "SUPPLIER", "REA020"),
        (("catalog", "list", "full", "--where", "heavy"), "--where 1", "REA017"),
        (("catalog", "compare", "full", "sail"), "ROLE", "REA020"),
        (("catalog", "compare", "full", "valve-spring", "--measure", "tides"), "MEASURE", "REA020"),
        (("catalog", "prices", "full", "X-99"), "PART", "REA020"),
        (("catalog", "fits", "full", "mast"), "SLOT", "REA020"),
        (("catalog", "fits", "simple"), "simple/scenario.toml", "REA016"),
        (("season", "full", "--on", "2027-02-30"), "--on", "REA019"),
        (("due", "full", "--on", "14.5.2027"), "--on", "REA019"),
        (("bom", "full", "--on", "tomorrow"), "--on", "REA019"),
        (("season", "full", "--set", "nonsense"), "--set 1", "REA022"),
        (("season", "full", "--set", "no/such=1"), "--set 1", "REA022"),
        (("season", "full", "--set", "calendar/round 99/laps=1"), "--set 1", "REA022"),
        (("due", "full", "--set", "calendar/round 1/laps=-5"), "--set 1", "REA018"),
        (("check", "full", "--set", "scenario/currency=USD", "--set", "scenario/policy/early=maybe"), "--set 2", ""),
        (("catalog", "check", "full/catalog", "--set", "catalog/parts/PLUG-1/price=-1"), "--set 1", "REA018"),
    ],
    ids=str,
)
def test_an_input_at_fault_ends_with_status_2_and_its_place(words: tuple[str, ...], place: str, code: str) -> None:
    status, out, err = run(*words)
    assert (status, out) == (2, "")
    assert re.match(rf"{re.escape(place)}(:\d+)?: .*{code}", err)
    assert "nothing was calculated" in err
    status, out, _ = run(*words, "--json")
    assert status == 2
    answer = json.loads(out)
    assert (answer["answer"], answer["problems"][0]["file"]) == ("problems", place)
    assert code in answer["problems"][0]["code"]
    assert set(answer["problems"][0]) == {"code", "file", "line", "cell", "field", "value", "what", "advice"}


def test_every_problem_is_printed_not_only_the_first() -> None:
    _, _, err = run("season", "full", "--set", "a/b=1", "--set", "calendar/round 1/laps=x", "--set", "c")
    *problems, count = err.splitlines()
    assert {line.partition(": ")[0] for line in problems} == {"--set 1", "--set 2", "--set 3"}
    assert count.startswith("3 problems")


@pytest.mark.parametrize("words", [(), ("season",), ("nonsense",), ("season", "full", "--nonsense"), ("catalog",)])
def test_a_command_line_that_cannot_be_read_ends_with_status_2(words: tuple[str, ...]) -> None:
    status, out, err = run(*words)
    assert (status, out) == (2, "")
    assert "Usage: costplan" in err


# What-ifs


def test_a_what_if_changes_the_answer_and_not_the_files() -> None:
    before = run("season", "full", "--on", ON, "--json")[1]
    after = run("season", "full", "--on", ON, "--json", "--set", "costs/licence/amount=1150")[1]

    def paid(text: str) -> Decimal:
        return Decimal(json.loads(text)["plan"]["cash_paid"])

    assert paid(after) - paid(before) == 1000
    assert run("season", "full", "--on", ON, "--json")[1] == before


def test_the_day_called_now_moves_only_what_is_seen_from_it() -> None:
    early, late = (json.loads(run("season", "full", "--json", "--on", day)[1])["plan"] for day in (ON, "2027-08-01"))
    assert early["on"] == ON
    assert early["ledger"] == late["ledger"]
    assert early["life_used"] != late["life_used"]


# JSON


def leaves(value: Any, key: str = "") -> Iterator[tuple[str, Any]]:
    """Each value at an end of a JSON answer with the nearest key above it."""
    if isinstance(value, dict):
        for name, inner in value.items():
            yield from leaves(inner, name)
    elif isinstance(value, list):
        for inner in value:
            yield from leaves(inner, key)
    else:
        yield key, value


@pytest.mark.parametrize(
    ("words", "keys"),
    [
        (
            ("season", "scenarios/oval-v8"),
            {"scenario", "invented", "plan", "inspections", "tracking", "rows_later"},
        ),
        (
            ("due", "scenarios/oval-v8"),
            {"scenario", "invented", "currency", "on", "inspections", "due", "assumed"},
        ),
        (
            ("orders", "scenarios/oval-v8"),
            {"scenario", "invented", "currency", "inspections", "orders", "assumed"},
        ),
        (("check", "scenarios/oval-v8"), {"scenario", "invented", "engine", "on", "fits", "packs"}),
        (("bom", "scenarios/oval-v8"), {"scenario", "invented", "engine", "bill", "measures", "bench", "spreads"}),
        (("rules", "matrix", "scenarios/oval-v8"), {"scenario", "invented", "engine", "on", "packs"}),
        (("rules", "costs", "scenarios/kart-single"), {"scenario", "invented", "currency", "book"}),
        (("columns",), {"columns"}),
        (
            ("catalog", "check", "catalogs/oval-v8"),
            {"names", "invented", "parts", "kits", "operations", "roles"},
        ),
        (("catalog", "list", "catalogs/kart-single"), {"invented", "on", "parts"}),
        (("catalog", "compare", "catalogs/kart-single", "kart-piston"), {"invented", "on", "role", "parts"}),
        (("catalog", "prices", "scenarios/oval-v8", "OB-H58"), {"invented", "on", "part", "prices"}),
        (("catalog", "fits", "scenarios/kart-single"), {"invented", "on", "alternatives"}),
    ],
    ids=case,
)
def test_a_json_answer_has_its_documented_keys(words: tuple[str, ...], keys: set[str]) -> None:
    answer = json.loads(run(*words, "--json")[1])
    name = " ".join(words[:2]) if words[0] in ("catalog", "rules") else words[0]
    assert (answer["answer"], answer["form"]) == (name, "1.0")
    assert set(answer) == {"answer", "form", *keys}


@pytest.mark.parametrize(("name", "folder"), ASKED)
def test_money_is_a_string_in_json_and_no_number_is_infinite(name: str, folder: str, page_of: PageOf) -> None:
    def refuse(word: str) -> None:
        raise AssertionError(word)

    status, out, err = page_of(name, folder, *QUESTIONS[name], "--json")
    assert (status, err) == (0, "")
    found = list(leaves(json.loads(out, parse_constant=refuse)))
    money = MONEY | TRACKED if name == "season" else MONEY
    wrong = [(key, value) for key, value in found if key in money and not re.fullmatch(r"-?\d+(\.\d+)?", str(value))]
    assert wrong == []
    assert [key for key, value in found if key in money and not isinstance(value, str)] == []
    assert {key for key, value in found if isinstance(value, float)} <= NUMBERS


def test_the_plan_in_json_is_the_plan_in_python(page_of: PageOf) -> None:
    plan = plan_of("scenarios/oval-v8")
    answer = json.loads(page_of("season", "scenarios/oval-v8", "--on", ON, "--json")[1])
    assert answer["plan"]["cash_total"] == str(plan.cash_total)
    assert len(answer["plan"]["ledger"]) == len(plan.ledger)
    assert set(answer["plan"]) == set(Plan.__dataclass_fields__)


# CSV


@pytest.mark.parametrize("folder", SCENARIOS)
def test_the_ledger_in_csv_adds_up_to_the_plan(folder: str) -> None:
    rows, plan = rows_of(run("season", folder, "--on", ON, "--csv")[1]), plan_of(folder)
    assert total(rows, "amount", view="cash") == plan.cash_total
    assert total(rows, "amount", view="wear") == plan.wear_total
    for entry in plan.cash:
        assert total(rows, "amount", view="cash", cause=entry.cause) == entry.amount
    for month in plan.months:
        of_month = [row for row in rows if row["view"] == "cash" and row["date"].startswith(month.month)]
        assert total(of_month, "amount") == month.net


@pytest.mark.parametrize("folder", SCENARIOS)
@pytest.mark.parametrize("day", [ON, "2027-07-01"])
def test_the_due_list_in_csv_adds_up_to_its_totals(folder: str, day: str) -> None:
    rows = rows_of(run("due", folder, "--on", day, "--csv")[1])
    answer = json.loads(run("due", folder, "--on", day, "--json")[1])
    for entry in answer["due"]:
        assert total(rows, "cost", race=entry["race"]) == Decimal(entry["total"])


@pytest.mark.parametrize("folder", WITH_BUILD)
def test_the_bill_in_csv_adds_up_to_its_total(folder: str) -> None:
    rows, answer = rows_of(run("bom", folder, "--csv")[1]), json.loads(run("bom", folder, "--json")[1])
    assert total(rows, "cost") == Decimal(answer["bill"]["total"])
    assert [row["part"] for row in rows] == [line["part"] for line in answer["bill"]["lines"]]


@pytest.mark.parametrize("folder", WITH_BUILD)
def test_the_findings_in_csv_are_those_in_json(folder: str) -> None:
    rows, answer = rows_of(run("check", folder, "--csv")[1]), json.loads(run("check", folder, "--json")[1])
    findings = [finding for pack in answer["packs"] for finding in pack["findings"]]
    assert [(row["rule"], row["verdict"]) for row in rows] == [(one["rule"], one["verdict"]) for one in findings]


def test_a_part_name_cannot_become_a_formula(tmp_path: Path) -> None:
    shutil.copytree("full", tmp_path / "odd")
    for path in (tmp_path / "odd").rglob("*.csv"):
        text = path.read_text(encoding="utf-8")
        path.write_text(text.replace("PLUG-1", "@PLUG(1)").replace("my supplier", "-shop"), encoding="utf-8")
    rules = tmp_path / "odd" / "rules-class.toml"
    text = rules.read_text(encoding="utf-8")
    rules.write_text(text.replace("Ports as cast.", "=HYPERLINK(1)"), encoding="utf-8")
    for name in QUESTIONS:
        status, out, _ = run(name, str(tmp_path / "odd"), "--csv", *QUESTIONS[name])
        assert status == 0
        cells = [cell for row in csv.reader(io.StringIO(out)) for cell in row]
        wild = [cell for cell in cells if cell[:1] in ("=", "+", "-", "@") and not re.fullmatch(r"-[\d.]+", cell)]
        assert wild == []
        assert any("'@PLUG(1)" in cell or "'=HYPERLINK" in cell for cell in cells)


def test_a_formula_in_a_file_is_refused(tmp_path: Path) -> None:
    shutil.copytree("full", tmp_path / "odd")
    build = tmp_path / "odd" / "build.csv"
    build.write_text(build.read_text(encoding="utf-8").replace("PLUG-1", "=PLUG"), encoding="utf-8")
    status, _, err = run("bom", str(tmp_path / "odd"))
    assert status == 2
    assert "REA012" in err


def test_columns_in_csv_and_for_one_file() -> None:
    rows = rows_of(run("columns", "--csv")[1])
    one = rows_of(run("columns", "calendar.csv", "--csv")[1])
    assert one == [row for row in rows if row["file"] == "calendar.csv"] != []


# Odd words on the command line


@pytest.mark.parametrize("words", [("season",), ("check",), ("due",), ("bom",), ("catalog", "check")], ids=str)
@pytest.mark.parametrize("name", [" ", "a\nb", "full/scenario.toml/x", "[bold]x[/bold]", "%s{}"])
def test_an_odd_folder_name_is_a_problem_and_no_traceback(words: tuple[str, ...], name: str) -> None:
    status, _, err = run(*words, name)
    assert status == 2
    assert "nothing was calculated" in err


def test_markup_in_a_name_is_shown_as_written() -> None:
    _, out, _ = run("check", "full", "--set", "scenario/title=[bold]mine[/bold] :car:")
    assert out.startswith("[bold]mine[/bold] :car:")


def test_escape_codes_in_a_text_do_not_reach_the_terminal(tmp_path: Path) -> None:
    shutil.copytree("full", tmp_path / "odd")
    rules = tmp_path / "odd" / "rules-class.toml"
    text = rules.read_text(encoding="utf-8")
    rules.write_text(text.replace("Ports as cast.", r"a\u001b[31mb"), encoding="utf-8")
    _, out, _ = run("rules", "show", str(tmp_path / "odd"))
    assert "\x1b" not in out
    assert "a·[31mb" in out


@pytest.mark.parametrize(
    ("words", "name"),
    [
        pytest.param(("season",), "", id="season, empty"),
        pytest.param(("catalog", "check"), "", id="catalog, empty"),
        pytest.param(("season",), "a" * 300, id="season, too long"),
        pytest.param(("catalog", "check"), "a" * 300, id="catalog, too long"),
    ],
)
def test_a_folder_name_that_no_system_takes_is_a_problem_too(words: tuple[str, ...], name: str) -> None:
    status, _, err = run(*words, name)
    assert status == 2
    assert "nothing was calculated" in err
