"""Whole pages, compared with those kept beside this file.

After a wanted change: `COSTPLAN_UPDATE_GOLDEN=1 pytest tests/golden`, then read the difference before keeping it.
"""

from __future__ import annotations

import difflib
import io
import os
import shutil
from contextlib import redirect_stderr, redirect_stdout
from pathlib import Path

import pytest

from tests.command_line import COMMAND

HERE = Path(__file__).parent
ROOT = HERE.parents[1]
UPDATE = os.environ.get("COSTPLAN_UPDATE_GOLDEN", "") not in ("", "0")
ON = ("--on", "2027-05-14")
SCENARIOS = {
    "oval-v8": "scenarios/oval-v8",
    "kart-single": "scenarios/kart-single",
    "road-four": "scenarios/road-four",
    "template": "template",
    "template-simple": "template-simple",
}
#: Two changes of the small cup of tests/bad_inputs.
CHANGES = ("--change", "change-springs.toml", "--change", "change-softer.toml")
QUESTIONS = {"season": ON, "due": ON, "check": ON, "bom": ON}
#: Name of the page, and the command line.
PAGES: dict[str, tuple[str, ...]] = {
    f"{question}-{name}": (question, folder, *words)
    for name, folder in SCENARIOS.items()
    for question, words in QUESTIONS.items()
}
PAGES |= {f"fits-{name}": ("catalog", "fits", SCENARIOS[name], *ON) for name in ("oval-v8", "kart-single", "template")}
PAGES |= {
    f"rules-{question}-{name}": ("rules", question, SCENARIOS[name], *words)
    for name in ("oval-v8", "kart-single")
    for question, words in {"matrix": ON, "costs": (), "checklist": ON, "show": ON, "check": ()}.items()
}
PAGES |= {
    "check-blue-oval-v8": ("check", "scenarios/oval-v8", "--engine", "blue", *ON),
    "rules-inspect-oval-v8": ("rules", "inspect", "scenarios/oval-v8", "--minutes", "90", "--inspectors", "2", *ON),
    "rules-diff-oval-v8": ("rules", "diff", "scenarios/oval-v8/change-speed-6600.toml"),
    "rules-forms": ("rules", "forms"),
}
#: With more of the demo's log behind it: an engine to inspect, orders that are late.
LATE = ("--on", "2027-06-20")
PAGES |= {
    "season-late-oval-v8": ("season", "scenarios/oval-v8", *LATE),
    "due-late-oval-v8": ("due", "scenarios/oval-v8", *LATE),
    "orders-oval-v8": ("orders", "scenarios/oval-v8", *LATE),
    "life-used-oval-v8": ("life", "used", "scenarios/oval-v8", *LATE),
    "life-fit-oval-v8": ("life", "fit", "scenarios/oval-v8"),
    "life-show-oval-v8": ("life", "show", "scenarios/oval-v8", "springs"),
    "log-show-oval-v8": ("log", "show", "scenarios/oval-v8", *LATE),
}
OVAL = "scenarios/oval-v8"
PAGES |= {
    "quote-new-engine-oval-v8": ("quote", "price", OVAL, "new-engine", "--rise", "6 %"),
    "quote-freshen-oval-v8": ("quote", "price", OVAL, "freshen-blue", "--bad", "crank=grind-010", "--why"),
    "quote-rebuild-oval-v8": ("quote", "show", OVAL, "rebuild-blue"),
    "quote-copy-oval-v8": ("quote", "price", OVAL, "freshen-blue", "--customer"),
    "quote-diff-oval-v8": ("quote", "diff", OVAL, "new-engine", "2", "3"),
    "quote-again-oval-v8": ("quote", "again", OVAL, "freshen-blue", "--revision", "1", "--on", "2027-02-01"),
    "quote-offers-oval-v8": ("quote", "offers", OVAL, "--on", "2027-02-01"),
    "quote-offers-copy-oval-v8": ("quote", "offers", OVAL, "--on", "2027-02-01", "--customer"),
    "quote-list-oval-v8": ("quote", "list", OVAL),
    "quote-template": ("quote", "price", "template", "freshen"),
    "job-stopped-oval-v8": ("job", "show", OVAL, "freshen-blue", "--on", "2027-02-10"),
    "job-settled-oval-v8": ("job", "show", OVAL, "freshen-blue", "--on", "2027-02-22"),
    "job-hours-oval-v8": ("job", "hours", OVAL),
    "job-list-oval-v8": ("job", "list", OVAL, "--on", "2027-02-15"),
}
KART = "scenarios/kart-single"
KART_LATE = ("--on", "2027-06-08")
PAGES |= {
    "orders-kart-single": ("orders", KART, *KART_LATE),
    "quote-new-engine-kart-single": ("quote", "price", KART, "new-engine", "--rise", "6 %"),
    "quote-full-kart-single": ("quote", "price", KART, "full-one", "--bad", "crank", "--bad", "cylinder"),
    "quote-diff-kart-single": ("quote", "diff", KART, "full-one", "1", "2"),
    "job-settled-kart-single": ("job", "show", KART, "full-one", "--on", "2027-07-12"),
    "rules-diff-kart-single": ("rules", "diff", f"{KART}/change-piston-cap.toml"),
}
PAGES |= {
    "impact-cup": ("impact", "cup", "--seasons", "60", "--flips", "--why"),
    "impact-cup-side-by-side": ("impact", "cup", "--seasons", "60", *CHANGES),
}
ROAD = "scenarios/road-four"
BAD = ("--bad", "crank=grind-025", "--bad", "rods=new")
PAGES |= {
    "check-green-road-four": ("check", ROAD, "--engine", "green", *ON),
    "rules-show-road-four": ("rules", "show", ROAD, *ON),
    "rules-check-road-four": ("rules", "check", ROAD),
    "quote-new-engine-road-four": ("quote", "price", ROAD, "new-engine", "--rise", "6 %"),
    "quote-freshen-road-four": ("quote", "price", ROAD, "freshen-green", *BAD),
    "quote-diff-road-four": ("quote", "diff", ROAD, "new-engine", "2", "3"),
    "job-settled-road-four": ("job", "show", ROAD, "freshen-green", "--on", "2027-06-18"),
    "choose-options-road-four": ("choose", "options", ROAD, "camshaft", "control-unit", "springs", *ON),
    "airflow-road-four": ("airflow", ROAD, *ON),
}
FEW = ("--seasons", "300")
PAGES |= {f"outlook-{name}": ("outlook", SCENARIOS[name], *FEW) for name in ("oval-v8", "road-four", "template-simple")}
PAGES |= {
    "outlook-kart-single": ("outlook", "scenarios/kart-single", "--inputs", *FEW),
    "compare-oval-v8": (
        *("compare", "scenarios/oval-v8", "--variant", "two engines", "--variant", "dear springs"),
        *("--variant", "no early", *FEW),
    ),
    "compare-kart-single": ("compare", "scenarios/kart-single", "--variant", "two engines", *FEW),
    "compare-break-even-oval-v8": (
        *("compare", "scenarios/oval-v8", "--variant", "sell and buy", *FEW),
        *("--break-even", "scenario/engine/blue/sold", "--from", "2000", "--to", "30000"),
    ),
    "whatif-fails-oval-v8": (
        *("whatif", "scenarios/oval-v8", "--fails", "exhaust-valves", "--at", "Lantern Three first"),
        *FEW,
    ),
    "whatif-claimed-kart-single": ("whatif", "scenarios/kart-single", "--claimed", "--at", "club five", *FEW),
    "whatif-sum-oval-v8": ("whatif", "scenarios/oval-v8", "--sum", "20000", *FEW),
}
CHOSEN = ("oval-v8", "kart-single", "road-four")
PAGES |= {f"choose-best-{name}": ("choose", "best", SCENARIOS[name], *ON) for name in CHOSEN}
PAGES |= {
    f"choose-{name}-oval-v8": ("choose", words[0], "scenarios/oval-v8", *words[1:], *ON)
    for name, words in {
        "power": ("best", "--for", "power", "--budget", "18000"),
        "season": ("best", "--for", "season", "--bills", "3", "--seasons", "100"),
        "on-hand": ("best", "--on-hand", "blue", "--on-hand", "shelf"),
        "why": ("best", "--budget", "15000"),
        "frontier": ("frontier", "--points", "6"),
        "frontier-season": ("frontier", "--against", "season", "--points", "5"),
        "options": ("options", "carburetor", "camshaft", "pistons", "springs", "heads"),
        "instead": ("instead", "rockers", "--seasons", "100"),
        "instead-none": ("instead", "heads"),
    }.items()
}
PAGES |= {
    "airflow-oval-v8": ("airflow", "scenarios/oval-v8", *ON),
    "airflow-blue-oval-v8": ("airflow", "scenarios/oval-v8", "--engine", "blue", *ON),
}
STATUS = {"bom-template-simple": 2, "choose-why-oval-v8": 1, "choose-instead-none-oval-v8": 1}


@pytest.fixture(scope="module")
def work(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder with the demos and both templates, so that the places on a page are the same everywhere."""
    folder = tmp_path_factory.mktemp("golden")
    for name in ("scenarios", "catalogs"):
        shutil.copytree(ROOT / name, folder / name)
    for name, kind in (("template", "full"), ("template-simple", "simple")):
        shutil.copytree(ROOT / "costplan" / "templates" / kind, folder / name)
    shutil.copytree(ROOT / "tests" / "bad_inputs" / "base", folder / "cup")
    change = (folder / "cup" / "change-springs.toml").read_text("utf-8")
    softer = change.replace("One spring", "Softer springs").replace('allowed = "S-21"', 'allowed = "S-20"')
    (folder / "cup" / "change-softer.toml").write_text(softer, "utf-8")
    return folder


def page_of(words: tuple[str, ...]) -> tuple[int, str]:
    """Exit status and what is printed, without blanks at the ends of lines."""
    out = io.StringIO()
    with redirect_stdout(out), redirect_stderr(out), pytest.raises(SystemExit) as end:
        COMMAND(list(words), prog_name="costplan")
    assert isinstance(end.value.code, int)
    return end.value.code, "\n".join(line.rstrip() for line in out.getvalue().splitlines()) + "\n"


@pytest.mark.parametrize("name", PAGES)
def test_a_page_is_as_it_was(name: str, work: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(work)
    monkeypatch.setenv("COLUMNS", "80")
    for variable in ("FORCE_COLOR", "TTY_COMPATIBLE"):
        monkeypatch.delenv(variable, raising=False)
    status, page = page_of(PAGES[name])
    assert status == STATUS.get(name, 0)
    kept = HERE / f"{name}.txt"
    if UPDATE:
        kept.write_text(page, encoding="utf-8", newline="\n")
    before = kept.read_text(encoding="utf-8") if kept.is_file() else ""
    difference = "\n".join(difflib.unified_diff(before.splitlines(), page.splitlines(), "kept", "now", lineterm=""))
    if difference:
        command = f"costplan {' '.join(PAGES[name])}"
        advice = "if this is wanted: COSTPLAN_UPDATE_GOLDEN=1 pytest tests/golden"
        pytest.fail(f"{command}\n{difference}\n{advice}", pytrace=False)


def test_no_page_is_kept_that_nothing_prints() -> None:
    assert {path.stem for path in HERE.glob("*.txt")} <= set(PAGES)
