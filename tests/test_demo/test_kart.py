"""The kart's demo answers what is asked of a two-stroke single: its files are in order, and no answer is trivial.

What the trade pays for such an engine is held in `test_risk`, whole pages in `tests/golden`.
"""

from __future__ import annotations

import json
from collections.abc import Iterator
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest

from costplan.impact.reading import read_field
from costplan.scenario import Scenario, read_scenario
from tests.command_line import answer

ROOT = Path(__file__).parents[2]
KART = "scenarios/kart-single"
FOLDER = ROOT / KART
REQUESTS = sorted(path.stem.removeprefix("quote-") for path in FOLDER.glob("quote-*.toml"))
CHANGES = sorted(path.name for path in FOLDER.glob("change-*.toml"))
SAVES, COSTS = "change-speed-13000.toml", "change-piston-cap.toml"
LATE = ("--on", "2027-06-08")


@pytest.fixture(autouse=True)
def at_the_root(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(ROOT)


@pytest.fixture(scope="module")
def kart() -> Scenario:
    found, problems = read_scenario(FOLDER)
    assert found is not None, problems
    assert problems == ()
    return found


@pytest.fixture(scope="module")
def studied() -> Iterator[dict[str, dict[str, Any]]]:
    """Two changes of the field's study by their files, on few seasons: what is asked here does not hang on more."""
    with pytest.MonkeyPatch.context() as patch:
        patch.chdir(ROOT)
        words = ("--change", SAVES, "--change", COSTS, "--seasons", "10", "--loss", "500", "--on", "2027-02-15")
        found = answer("impact", KART, *words)["impact"]
    yield {Path(change["file"]).name: change for change in found["changes"]}


# The engine and its books


def test_its_parts_fit_and_break_no_clause_of_the_class(kart: Scenario) -> None:
    assert [(one.fit, one.verdict) for one in kart.fits() if one.verdict != "meets"] == []
    (found,) = kart.verdicts(kart.opening)
    assert [one.rule for one in found.findings if one.on_paper == "breaks"] == []


def test_its_book_raises_no_doubt_and_the_neighbour_s_asks_for_two_other_parts() -> None:
    (book,) = answer("rules", "check", KART)["packs"]
    assert (book["clauses"], book["doubts"]) == (29, [])
    _, neighbour = answer("rules", "matrix", KART)["packs"]
    assert neighbour["broken"] == ["R7-speed", "R9-silencer"]
    assert Decimal(neighbour["cost"]) == 336


def test_piston_and_rod_leave_a_choice() -> None:
    """Dear and cheap parts, some that must change together, and some that no bill holds: each by a clause or a fit."""
    found = answer("choose", "options", KART, "piston", "rod", "--on", "2027-03-01")
    swaps = {swap["part"]: swap for swap in found["options"]["swaps"]}
    assert set(swaps) == {"KS-P54F", "OD-P54", "MW-R100S", "MW-R100W"}
    costs = [Decimal(swap["costs"]) for swap in swaps.values()]
    assert min(costs) < 0 < max(costs)
    assert swaps["MW-R100W"]["along"] == [["crank", "MW-K54", "MW-K54W"]]
    assert {one["part"] for one in found["options"]["out"]} == {"OD-R100", "OD-P54H"}


# The shop


@pytest.mark.parametrize("request_name", REQUESTS)
def test_each_request_is_priced_with_tax_and_above_cost(request_name: str) -> None:
    quote = answer("quote", "price", KART, request_name)["quote"]
    net = sum(Decimal(line["net"]) for line in quote["lines"]) - Decimal(quote["discount"])
    taxes = sum(Decimal(group["amount"]) for group in quote["totals"]["groups"])
    assert net + taxes == Decimal(quote["totals"]["gross"])
    assert taxes > 0
    assert 0 < Decimal(quote["margin"]["earned"]) < Decimal(quote["margin"]["net"])
    assert quote["currency"] == "EUR"


def test_crank_and_cylinder_found_bad_are_trued_and_plated_and_the_kept_price_would_lose() -> None:
    found = answer("quote", "price", KART, "full-one", "--bad", "crank", "--bad", "cylinder")["if_bad"]
    added = {line["key"] for line in found["found"]["moved"] if line["before"] is None}
    assert {"work/true-own/true-crank/crank", "work/plate-out/plate/cylinder"} <= added
    assert Decimal(found["held"]) < 0


@pytest.mark.parametrize("request_name", ["full-one", "new-engine"])
def test_saved_revisions_are_told_apart_line_by_line(request_name: str) -> None:
    found = answer("quote", "diff", KART, request_name, "1", "2")["difference"]
    more = sum(Decimal(line["more"]) for line in found["moved"])
    assert more == Decimal(found["lines"]) > 0
    kept = json.loads((FOLDER / "quotes" / f"{request_name}-r2.json").read_text("utf-8"))
    assert kept["quote"]["revision"] == 2


def test_the_job_that_was_stopped_is_paid_in_full_and_earned_less_than_its_contract() -> None:
    job = answer("job", "show", KART, "full-one", "--on", "2027-07-12")["standing"]
    assert job["state"] == "settled"
    assert Decimal(job["owing"]["balance"]) == 0
    contract, earned = (Decimal(job["earnings"][when]["earned"]) for when in ("contract", "earned"))
    assert 0 < earned < contract


# The field


def test_the_field_and_all_its_changes_are_read() -> None:
    field, problems = read_field(FOLDER, CHANGES)
    assert field is not None, problems
    assert problems == ()
    assert sum(crowd.row.entrants for crowd in field.crowds) == 40
    assert len(CHANGES) == 3


def test_a_slower_engine_saves_and_cheaper_pistons_cost(studied: dict[str, dict[str, Any]]) -> None:
    saves, costs = studied[SAVES]["total"], studied[COSTS]["total"]
    assert Decimal(saves["once"]) > 0 > Decimal(saves["over"]["mean"])
    assert saves["payback"] is not None
    assert Decimal(costs["yearly"]["mean"]) > 0
    assert costs["payback"] is None
    assert costs["losers"] > 10


def test_lives_grow_where_the_ignition_cuts_out_lower_though_no_power_is_estimated(
    studied: dict[str, dict[str, Any]],
) -> None:
    for group in studied[SAVES]["groups"]:
        assert group["power"] is None
        longer = {one["slot"]: one["after"] / one["before"] for one in group["intervals"]}
        assert set(longer) == {"piston", "rod", "reeds"}
        assert min(longer.values()) > 1


def test_boxes_are_short_at_round_one_and_old_parts_are_put_out(studied: dict[str, dict[str, Any]]) -> None:
    supply = {row["part"]: row for row in studied[SAVES]["supply"]}
    assert 0 < supply["KS-IG13"]["short"] < supply["KS-IG13"]["wanted"]
    assert {part["part"] for part in studied[SAVES]["stranded"]} == {"KS-IG1"}
    assert {part["part"] for part in studied[COSTS]["stranded"]} == {"MW-P54", "KS-P54F"}


# The season


def test_by_its_log_the_season_is_behind_no_event_and_asks_for_two_openings() -> None:
    found = answer("season", KART, *LATE)
    assert found["tracking"]["missed"] == []
    assert found["tracking"]["events_run"] == found["tracking"]["events_due"] == 7
    opened = [(job["level"], job["before"]) for job in found["plan"]["jobs"] if job["level"] in ("top-end", "full")]
    assert opened == [("full", "club five"), ("top-end", "club eight")]
