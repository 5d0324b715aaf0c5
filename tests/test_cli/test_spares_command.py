"""`costplan spares`: its answer as data and as a page, its problems, and what Ctrl-C leaves."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from costplan.season.deciding import spares
from costplan.season.deciding.spares_answer import Spares
from tests.command_line import answer, run

ROOT = Path(__file__).parents[2]
KART = ("spares", "scenarios/kart-single", "--sum", "300", "--seasons", "750", "--seed", "4")
WORTH = ("--set", "scenario/policy/result_worth=3000")


@pytest.fixture(autouse=True)
def at_80_columns(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(ROOT)
    monkeypatch.setenv("COLUMNS", "80")
    for name in ("FORCE_COLOR", "CLICOLOR_FORCE", "TTY_COMPATIBLE", "NO_COLOR"):
        monkeypatch.delenv(name, raising=False)


def words_of(*words: str) -> str:
    return " ".join(run(*words)[1].split())


def test_the_json_is_the_record_and_money_is_text() -> None:
    found = answer(*KART, *WORTH)
    assert set(found) == {"answer", "form", "scenario", "invented", "spares"}
    derived = {"price", "deposit", "at_risk", "seasons_at_risk"}
    assert set(found["spares"]) == {*Spares.__dataclass_fields__, *derived}
    (step, *_) = found["spares"]["steps"]
    assert isinstance(step["gain"]["saves"], str)
    assert isinstance(step["parts"][0]["price"], str)


def test_the_list_in_csv_is_that_in_json() -> None:
    found = answer(*KART, *WORTH)["spares"]
    rows = list(csv.DictReader(io.StringIO(run(*KART, *WORTH, "--csv")[1])))
    kinds = [row["what"] for row in rows]
    assert [kinds.count(what) for what in ("box", "add", "other")] == [
        len(found[key]) for key in ("box", "steps", "others")
    ]
    first = rows[kinds.index("add")]
    assert first["saves"] == found["steps"][0]["gain"]["saves"]
    assert float(first["used"]) == found["steps"][0]["gain"]["used"]["share"]


def test_the_page_says_what_to_add_and_what_is_no_proof() -> None:
    page = words_of(*KART, *WORTH)
    assert page.startswith("Spares for 300 EUR: Single 125 club season 2027 (invented data)")
    for words in (
        "To add:",
        "seasons that were not drawn to find it",
        "a good rule, and no proof",
        "boxes within the sum none saves more beyond its error",
        "no spare is free",
        "planned work leaves it there, and buys",
        "not put back within the season",
        "In the box",
        "What is asked for, and what the box meets",
    ):
        assert words in page
    assert max(len(line) for line in run(*KART, *WORTH)[1].splitlines()) <= 80


def test_where_a_missed_race_costs_nothing_the_page_says_why_no_spare_pays() -> None:
    page = words_of(*KART, "--set", "scenario/policy/result_worth=0")
    assert "nothing to buy" in page
    assert "say how high there, and spares will pay" in page
    assert "say how high there" not in words_of(*KART, *WORTH)


@pytest.mark.parametrize(
    ("money", "code"), [("-1", "REA018"), ("much", "REA017"), ("", "REA017")], ids=["negative", "a word", "empty"]
)
def test_a_sum_is_a_number_not_below_nothing(money: str, code: str) -> None:
    status, _, err = run("spares", "scenarios/kart-single", "--sum", money)
    assert status == 2
    assert err.startswith(f"--sum: {code} ")


def test_it_needs_a_sum() -> None:
    status, _, err = run("spares", "scenarios/kart-single")
    assert status == 2
    assert "--sum" in err


def test_from_a_day_on_it_starts_where_the_log_leaves_the_engines() -> None:
    whole, later = (answer(*KART, *WORTH, *on)["spares"] for on in ((), ("--on", "2027-07-01")))
    assert set(whole) == set(later)


def test_ctrl_c_shows_what_was_found(monkeypatch: pytest.MonkeyPatch) -> None:
    def stopped(_search: Any) -> Iterator[Any]:
        raise KeyboardInterrupt
        yield

    monkeypatch.setattr(spares, "_others", stopped)
    status, out, _ = run(*KART, *WORTH)
    assert status == 130
    page = " ".join(out.split())
    assert "To add:" in page
    assert "Stopped before all was tried" in page
    assert "Not taken" not in page


def test_a_simple_scenario_carries_no_parts(tmp_path: Path) -> None:
    folder = str(tmp_path / "plain")
    assert run("new", folder, "--simple")[0] == 0
    page = words_of("spares", folder, "--sum", "100", "--seasons", "20")
    assert "nothing to buy" in page
    assert "In the box" not in page
