"""`costplan timing`: its answer as page, data and table, its problems, and what Ctrl-C leaves."""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Callable, Iterable, Iterator
from contextlib import redirect_stderr
from pathlib import Path
from typing import Any

import pytest
import typer
from rich.console import Console

from costplan import cli
from costplan.cli.timing import Looking
from costplan.season.deciding.timing_answer import Timing
from costplan.season.drawn import drawing
from tests import command_line
from tests.command_line import run

FEW = ("--seasons", "60")


@pytest.fixture(autouse=True)
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The template's season, and one of its simple form, at 80 columns."""
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("COLUMNS", "80")
    for name in ("FORCE_COLOR", "CLICOLOR_FORCE", "TTY_COMPATIBLE", "NO_COLOR"):
        monkeypatch.delenv(name, raising=False)
    assert run("new", "mine")[0] == run("new", "plain", "--simple")[0] == 0


def answer(*words: str, status: int = 0) -> dict[str, Any]:
    return command_line.answer("timing", *words, status=status)


def test_the_page_leads_with_the_event_that_counts_most_and_keeps_to_80_columns() -> None:
    status, page, err = run("timing", "mine", *FEW)
    assert (status, err) == (0, "")
    lines = page.splitlines()
    assert lines[1].startswith("big show night 2, 19 Jun: when it begins, ")
    assert max(len(line) for line in lines) <= 80
    for words in ("In positions.csv", "What it costs", "How old it is at the big events", "Renewal uses and theory"):
        assert words in page
    assert not re.search(r"\b(safe|legal)\b", page)
    assert "Lives are" in page or "assumed lives" in " ".join(page.split())


def test_the_page_says_what_is_never_stretched() -> None:
    page = " ".join(run("timing", "mine", *FEW)[1].split())
    assert "Nothing is kept from being stretched: give springs" in page
    kept = " ".join(run("timing", "mine", *FEW, "--set", "positions/springs/stretch=no")[1].split())
    assert "Never renewed later than the files say: springs." in kept


def test_a_date_that_cannot_be_moved_has_a_letter_that_is_explained() -> None:
    words = ("timing", "mine", *FEW, "--set", "positions/springs/stretch=no")
    page = " ".join(run(*words)[1].split())
    reasons = {move["reason"] for service in answer(*words[1:])["timing"]["services"] for move in service["moves"]}
    assert reasons > {""}
    assert "Cannot be: a) " in page
    assert all(reason in page for reason in reasons)


def test_the_event_asked_for_leads_the_page() -> None:
    page = run("timing", "mine", *FEW, "--for", "round 6")[1]
    assert page.splitlines()[1].startswith("round 6, 17 Jul: when it begins, ")


def test_an_event_that_is_not_there_is_a_problem_at_its_option() -> None:
    status, out, err = run("timing", "mine", *FEW, "--for", "round 66")
    assert (status, out) == (2, "")
    assert err.startswith("--for: REA020 no such event ahead: 'round 66'")
    assert "round 6" in err


def test_the_json_has_the_fields_of_its_record_and_money_as_text() -> None:
    found = answer("mine", *FEW)
    assert (found["answer"], set(found)) == ("timing", {"answer", "form", "scenario", "invented", "timing"})
    timing = found["timing"]
    assert set(timing) == set(Timing.__dataclass_fields__)
    assert isinstance(timing["fixed"]["burden"]["mean"], str)
    assert (timing["judged"], timing["judged_seed"], timing["stopped"]) == (240, 2147483649, False)
    assert timing["over_years"] is None or timing["over_years"]["years"] == 3
    assert (timing["over_years"] is None) == (timing["best"] == "fixed")
    assert {use["slot"] for use in timing["factors"]} >= {"springs", "rings"}


def test_the_csv_gives_each_date_with_its_moves() -> None:
    status, out, _ = run("timing", "mine", *FEW, "--csv")
    rows = list(csv.DictReader(io.StringIO(out)))
    assert status == 0
    services = answer("mine", *FEW)["timing"]["services"]
    assert [(row["level"], row["before"], row["events"]) for row in rows] == [
        (service["level"], service["before"], str(move["events"])) for service in services for move in service["moves"]
    ]
    assert all(bool(row["mean"]) != bool(row["reason"]) for row in rows)


def test_a_seed_gives_the_same_answer_again() -> None:
    assert answer("mine", *FEW, "--seed", "4") == answer("mine", *FEW, "--seed", "4")


def test_the_simple_form_is_told_that_nothing_can_fail() -> None:
    status, page, _ = run("timing", "plain", *FEW)
    assert status == 0
    assert "Nothing in these files can fail" in page
    assert "later is always cheaper" in " ".join(page.split())
    assert answer("plain", *FEW)["timing"]["certain"] is True
    assert run("timing", "plain", *FEW, "--csv")[1].count("\n") == 1


# --- Ctrl-C


def stop_after(monkeypatch: pytest.MonkeyPatch, drawings: int, times: int = 1) -> None:
    """Ctrl-C comes in a drawing, and again in as many after it as `times` says."""
    play, count = drawing._in_order, [0]

    def stopped(players: Any, counts: Any) -> Iterator[Any]:
        count[0] += 1
        if drawings < count[0] <= drawings + times:
            raise KeyboardInterrupt
        return play(players, counts)

    monkeypatch.setattr(drawing, "_in_order", stopped)


def test_stopped_before_anything_was_found_it_says_so(monkeypatch: pytest.MonkeyPatch) -> None:
    stop_after(monkeypatch, 0)
    assert run("timing", "mine", *FEW) == (130, "", "Stopped; there is nothing to show yet.\n")


@pytest.mark.parametrize("drawings", [20, 30])
def test_what_was_found_when_it_was_stopped_is_shown_with_status_130(
    drawings: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    stop_after(monkeypatch, drawings)
    found = answer("mine", *FEW, status=130)["timing"]
    assert (found["stopped"], found["judged"]) == (True, 60)
    assert all(service["moves"] == [] for service in found["services"])


def test_stopped_while_it_is_judged_it_shows_what_few_seasons_say(monkeypatch: pytest.MonkeyPatch) -> None:
    tried = answer("mine", *FEW)["timing"]["tried"]
    stop_after(monkeypatch, tried + 2)
    status, page, _ = run("timing", "mine", *FEW)
    assert status == 130
    assert "Stopped: the best so far is shown." in page


def test_stopped_twice_there_is_nothing_to_show(monkeypatch: pytest.MonkeyPatch) -> None:
    stop_after(monkeypatch, 3, times=5)
    assert run("timing", "mine", *FEW) == (130, "", "Stopped; there is nothing to show yet.\n")


def stopped() -> None:
    raise KeyboardInterrupt


def stopped_in_a_command() -> None:
    typer.Typer(callback=stopped, invoke_without_command=True, add_completion=False)([])


@pytest.mark.parametrize("begin", [stopped, stopped_in_a_command])
def test_ctrl_c_while_a_command_gets_ready_is_one_line_and_status_130(
    begin: Callable[[], None], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(cli, "app", begin)
    err = io.StringIO()
    with redirect_stderr(err), pytest.raises(SystemExit) as end:
        cli.main()
    assert (end.value.code, err.getvalue()) == (130, "Stopped; there is nothing to show yet.\n")


def test_on_a_terminal_one_line_counts_what_was_tried() -> None:
    console = Console(file=io.StringIO(), force_terminal=True, width=80)
    looking = Looking()
    looking.console, looking.patience = console, 0.0
    blocks: Iterable[int] = iter([1, 2])
    assert list(looking.drawing(iter(blocks), 500)) == [1, 2]
    looking.tried(36)
    looking.tried(37)
    assert list(looking.drawing(iter([3]), 500)) == [3]
    looking.close()
    assert isinstance(console.file, io.StringIO)
    assert "Looking for dates: 3" in console.file.getvalue()
