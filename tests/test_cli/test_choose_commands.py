"""`costplan choose`: its answers as data, its status, its problems at their options, and what Ctrl-C leaves."""

from __future__ import annotations

import csv
import io
import re
import shutil
import subprocess
import sys
from collections.abc import Iterable, Iterator
from concurrent.futures import Future
from decimal import Decimal
from pathlib import Path
from threading import Event
from typing import Any

import pytest

from costplan import choose
from costplan.choose import Encoded, aims, choosing
from costplan.choose.modelling import search
from costplan.choose.settling import Settled
from costplan.choose.solving import Solved
from costplan.cli.choose import common
from costplan.cli.progress import Bars
from costplan.report.choose import instead_csv
from tests.command_line import answer, case, run

ROOT = Path(__file__).parents[2]
OVAL, KART = "scenarios/oval-v8", "scenarios/kart-single"
ON = ("--on", "2027-05-14")
pytestmark = pytest.mark.usefixtures("at_80_columns")


def rows_of(*words: str, status: int = 0) -> list[dict[str, str]]:
    ended, out, err = run(*words, "--csv")
    assert (ended, err) == (status, "")
    return list(csv.DictReader(io.StringIO(out)))


def faults(*words: str) -> list[str]:
    """The places and codes of the problems that a command ends with."""
    status, out, err = run(*words)
    assert (status, out) == (2, "")
    *lines, last = err.splitlines()
    assert last.endswith("nothing was calculated.")
    found = [re.match(r"(?P<place>[^:]+): .*?(?P<code>[A-Z]{3}\d{3}) ", line) for line in lines]
    return [f"{one['place']} {one['code']}" for one in found if one]


# The best bill


@pytest.fixture(scope="module")
def cheapest(work: Path) -> dict[str, Any]:
    with pytest.MonkeyPatch.context() as patch:
        patch.chdir(work)
        return answer("choose", "best", OVAL, *ON)


def test_the_best_bill_is_proved_and_adds_up(cheapest: dict[str, Any]) -> None:
    chosen = cheapest["chosen"]
    proof, option = chosen["proof"], chosen["option"]
    assert (proof["status"], proof["gap"], proof["tie_proved"]) == ("optimal", 0.0, True)
    assert proof["value"] == proof["bound"] == option["price"]
    assert sum(Decimal(line["cost"]) for line in option["bill"]["lines"]) == Decimal(option["price"])
    seasons = [Decimal(line["per_season"]) for line in option["lines"] if line["per_season"]]
    assert sum(seasons) == Decimal(option["per_season"])


def test_the_best_bill_is_cheaper_than_the_build_and_breaks_nothing(cheapest: dict[str, Any]) -> None:
    told = cheapest["told"]
    assert Decimal(cheapest["chosen"]["option"]["price"]) < Decimal(told["planned"])
    assert told["changes"] and all(one["planned"] != one["part"] for one in told["changes"])
    assert [one["rule"] for one in told["verdicts"][0]["findings"] if one["verdict"] == "breaks"] == []
    assert {one["verdict"] for one in told["fits"]} <= {"meets"}
    assert told["sizes"]["left"] < told["sizes"]["candidates"]
    assert told["breathing"]["decides"] == "heads"


def test_a_line_for_each_slot_as_csv(cheapest: dict[str, Any]) -> None:
    rows = rows_of("choose", "best", OVAL, *ON)
    assert [row["slot"] for row in rows] == [line["slot"] for line in cheapest["chosen"]["option"]["lines"]]
    changes = {one["slot"]: (one["before"], one["after"]) for one in cheapest["told"]["changes"]}
    assert {row["slot"] for row in rows if row["changed"] == "True"} == set(changes)
    own = {row["slot"]: (row["planned_price"], row["price"]) for row in rows}
    assert {slot: own[slot] for slot in changes} == changes
    assert all(before == after for slot, (before, after) in own.items() if slot not in changes)
    assert max(len(row["events"].partition(".")[2]) for row in rows) == 2


def test_the_unit_of_power_and_the_dyno_sheets_that_count_are_told_as_data(cheapest: dict[str, Any]) -> None:
    assert cheapest["units"]["power"] == "kW"
    assert cheapest["dyno"] == {"up_to": "2027-05-14", "pulls": 10, "days": ["2027-02-15"]}
    assert "set by 10 pulls on a dyno of 2027-02-15" in " ".join(run("choose", "best", OVAL, *ON)[1].split())
    early = answer("choose", "best", OVAL, "--on", "2027-02-14")
    assert early["dyno"] == {"up_to": "2027-02-14", "pulls": 0, "days": []}
    option, other = cheapest["chosen"]["option"], early["chosen"]["option"]
    assert option["error"] / option["power"] != pytest.approx(other["error"] / other["power"])


def test_most_power_within_a_budget_keeps_to_it_and_beats_the_cheapest(cheapest: dict[str, Any]) -> None:
    budget = Decimal(cheapest["chosen"]["option"]["price"]) + 150
    found = answer("choose", "best", OVAL, "--for", "power", "--budget", budget, *ON)["chosen"]["option"]
    assert Decimal(found["price"]) <= budget
    assert found["power"] > cheapest["chosen"]["option"]["power"]
    status, page, _ = run("choose", "best", OVAL, "--for", "power", "--budget", budget, *ON)
    assert status == 0
    assert "Most estimated power: estimated" in page


def test_the_cheapest_seasons_are_ranked_by_the_machine() -> None:
    found = answer("choose", "best", KART, "--for", "season", "--seasons", "40")
    option = found["chosen"]["option"]
    rows = [Decimal(line["per_season"]) for line in option["lines"] if line["per_season"]]
    assert sum(rows) == Decimal(option["per_season"])
    ranked = found["ranked"]
    sums = [Decimal(one["option"]["per_season"]) for one in ranked]
    assert sums == sorted(set(sums))
    assert {one["replayed"]["played"]["seasons"] for one in ranked} == {40}
    assert {one["by_machine"] for one in ranked} == set(range(1, 11))
    moved = [{slot for slot, _, _ in one["changes"]} for one in ranked]
    assert moved[0] == set()
    assert all(moved[1:])


def test_the_longest_interval_is_longer_than_that_of_the_cheapest() -> None:
    cheapest, longest = (answer("choose", "best", KART, "--for", aim) for aim in ("price", "interval"))
    assert longest["chosen"]["option"]["events"] > cheapest["chosen"]["option"]["events"]
    assert Decimal(longest["chosen"]["option"]["price"]) > Decimal(cheapest["chosen"]["option"]["price"])


def test_what_is_on_hand_is_used_at_what_it_would_sell_for() -> None:
    option = answer("choose", "best", OVAL, "--on-hand", "blue", "--on-hand", "shelf", *ON)["chosen"]["option"]
    worth = sum(Decimal(one["worth"]) for one in option["on_hand"])
    assert worth > 0
    assert worth + Decimal(option["bill"]["total"]) == Decimal(option["price"])
    _, page, _ = run("choose", "best", OVAL, "--on-hand", "blue", "--on-hand", "shelf", *ON)
    assert "Used from what is on hand" in page
    assert "what these have run already is not in them" in " ".join(page.split())


def test_what_is_on_hand_and_worn_out_is_left_out_and_told() -> None:
    found = answer("choose", "best", OVAL, "--on-hand", "blue", "--on-hand", "shelf", *ON)
    used = {one["piece"]: one for one in found["chosen"]["option"]["on_hand"]}
    assert all(one["share"] is None or one["share"] < 1 for one in used.values())
    left = {one["piece"]: one["why"] for one in found["left"]}
    assert not set(used) & set(left)
    assert "not to be stretched" in left["blue-rods"]
    _, page, _ = run("choose", "best", OVAL, "--on-hand", "blue", "--on-hand", "shelf", *ON)
    assert "On hand, and left out" in page
    assert "rods: blue-rods" in page


def test_wishes_are_kept_and_told() -> None:
    words = ("--pin", "spacer = nothing", "--ban", "DW-RK15", "--allow-unknown")
    found = answer("choose", "best", OVAL, *words, *ON)
    parts = {line["slot"]: line["part"] for line in found["chosen"]["option"]["lines"]}
    assert "spacer" not in parts
    assert "DW-RK15" not in parts.values()
    status, page, _ = run("choose", "best", OVAL, *words, *ON)
    assert status == 0
    assert "Wished: spacer = nothing; without DW-RK15; parts of which something is not known too." in " ".join(
        page.split()
    )


def test_nothing_is_saved_on_what_is_not_to_be_stretched_but_where_that_is_wished(cheapest: dict[str, Any]) -> None:
    kept = set(cheapest["told"]["kept"])
    assert {"rods", "springs"} <= kept
    more = {one["slot"]: Decimal(one["after"]) - Decimal(one["before"]) for one in cheapest["told"]["changes"]}
    assert all(more[slot] >= 0 for slot in kept & set(more))
    freer = answer("choose", "best", OVAL, "--cheapen", "rods", *ON)
    assert set(freer["told"]["kept"]) == kept - {"rods"}
    assert Decimal(freer["chosen"]["option"]["price"]) < Decimal(cheapest["chosen"]["option"]["price"])
    _, page, _ = run("choose", "best", OVAL, "--cheapen", "rods", *ON)
    assert "Cheaper than planned because you asked: rods: QM-R600 -> " in page
    assert "Because you asked, rods may have" in run("choose", "options", OVAL, "spacer", "--cheapen", "rods", *ON)[1]


# Nothing possible


def test_too_small_a_budget_is_answered_with_what_is_at_odds_and_status_1(cheapest: dict[str, Any]) -> None:
    found = answer("choose", "best", OVAL, "--budget", "15000", *ON, status=1)
    assert found["answer"] == "choose conflict"
    members = found["conflict"]["culprits"]
    assert found["conflict"]["smallest"] is True
    budget = next(one for one in members if one["ground"]["kind"] == "budget")
    assert budget["price"] == cheapest["chosen"]["option"]["price"]
    clauses = [one for one in members if one["ground"]["kind"] == "clause"]
    assert all(one["ground"]["place"].startswith(f"{OVAL}/rules-tour.toml:") for one in clauses)
    assert "5 heads, page 15" in {one["ground"]["book"] for one in clauses}
    alone = [(one["ground"]["kind"], one["price"]) for one in found["conflict"]["gives"]]
    assert alone == [("budget", cheapest["chosen"]["option"]["price"])]
    rows = rows_of("choose", "best", OVAL, "--budget", "15000", *ON, status=1)
    assert [row["kind"] for row in rows] == [one["ground"]["kind"] for one in members]
    assert rows[-1]["nearest"] == budget["price"]


@pytest.mark.parametrize(
    ("words", "kinds"),
    [
        (("--pin", "heads=OB-H58P"), {"pinned", "clause"}),
        (("--by", "2027-05-24"), {"lead"}),
        (("--supplier", "Dorrowick"), {"supplier"}),
        (("--pin", "camshaft=TV-C355", "--pin", "distributor-gear=DW-DG1"), {"pinned", "fit"}),
    ],
    ids=case,
)
def test_each_wish_that_cannot_be_met_is_named_with_what_there_is_without_it(
    words: tuple[str, ...], kinds: set[str], cheapest: dict[str, Any]
) -> None:
    members = answer("choose", "best", OVAL, *words, *ON, status=1)["conflict"]["culprits"]
    assert {one["ground"]["kind"] for one in members} == kinds
    alone = [one["price"] for one in members if one["ground"]["kind"] in ("lead", "supplier")]
    assert alone == [cheapest["chosen"]["option"]["price"]] * len(alone)


def test_every_command_says_why_nothing_meets_the_wishes() -> None:
    status, page, err = run("choose", "frontier", KART, "--against", "season", "--budget", "1000")
    assert (status, err) == (1, "")
    assert "Why nothing meets fits, book and wishes" in page
    assert "at most 1,000 EUR" in page
    assert run("choose", "options", KART, "--budget", "1000") == (1, page, "")
    assert rows_of("choose", "instead", KART, "piston", "--budget", "1000", status=1)[0]["possible"] == "True"


def test_what_was_not_found_in_time_is_not_said_to_be_impossible(monkeypatch: pytest.MonkeyPatch) -> None:
    def finds_nothing(encoded: Encoded, *_: object) -> Settled:
        return Settled(Solved("nothing found"), encoded, 1, 60.0)

    monkeypatch.setattr(choosing, "settle", finds_nothing)
    assert answer("choose", "best", KART, status=1)["conflict"] is None
    status, page, _ = run("choose", "best", KART, "--seconds", "2")
    assert status == 1
    assert "In 2 s no bill was found that meets everything" in page


# Frontier


@pytest.fixture(scope="module")
def steps(work: Path) -> dict[str, Any]:
    with pytest.MonkeyPatch.context() as patch:
        patch.chdir(work)
        return answer("choose", "frontier", OVAL, "--points", "4", *ON)


def test_the_frontier_rises_from_the_cheapest_and_its_steps_add_up(
    steps: dict[str, Any], cheapest: dict[str, Any]
) -> None:
    points = steps["frontier"]["points"]
    assert points[0]["option"]["price"] == cheapest["chosen"]["option"]["price"]
    assert 2 <= len(points) <= 4
    prices = [Decimal(one["option"]["price"]) for one in points]
    powers = [one["option"]["power"] for one in points]
    assert prices == sorted(prices)
    assert powers == sorted(powers)
    costs = sum(Decimal(one["step"]["costs"]) for one in points[1:])
    assert prices[0] + costs == prices[-1]
    assert all(one["proved"] for one in points)
    assert steps["breathing"]["decides"] == steps["breathing_first"]["decides"] == "heads"


def test_a_frontier_out_of_time_asserts_only_what_was_found(monkeypatch: pytest.MonkeyPatch) -> None:
    module = sys.modules["costplan.choose.frontier"]  # the package names its function so
    monkeypatch.setattr(module, "monotonic", iter(range(0, 10**6, 45)).__next__)
    status, page, _ = run("choose", "frontier", OVAL, "--points", "9", *ON)
    assert status == 0
    assert "Not all points were found in the time" in page
    said = " ".join(page.split())
    assert "More money buys" not in said
    assert "There is power" not in said
    assert "Other bills may lie between" not in said


def test_a_frontier_has_two_points_or_more_and_no_more_than_are_asked_for() -> None:
    rows = {number: rows_of("choose", "frontier", OVAL, "--points", number, *ON) for number in ("3", "2")}
    assert len(rows["3"]) <= 3
    assert len(rows["2"]) == 2
    assert [rows["3"][at]["price"] for at in (0, -1)] == [row["price"] for row in rows["2"]]
    status, out, err = run("choose", "frontier", OVAL, "--points", "1", *ON)
    assert (status, out) == (2, "")
    assert "--points" in err


def test_the_frontier_of_a_season_saves_with_each_step() -> None:
    rows = rows_of("choose", "frontier", OVAL, "--against", "season", "--points", "3", *ON)
    assert all(Decimal(row["less_a_season"]) > 0 and Decimal(row["costs"]) > 0 for row in rows[1:])


def test_ctrl_c_shows_the_points_that_were_found(monkeypatch: pytest.MonkeyPatch) -> None:
    def breaks_off(_: Bars, items: Iterable[Any], words: str) -> Iterator[Any]:
        assert words
        yield next(iter(items))
        raise KeyboardInterrupt

    monkeypatch.setattr(Bars, "each", breaks_off)
    found = answer("choose", "frontier", OVAL, "--points", "9", *ON, status=130)["frontier"]
    assert found["interrupted"] is True
    assert 2 <= len(found["points"]) <= 4  # both ends, the one that is strong enough, and one mark
    found = answer("choose", "options", OVAL, "camshaft", *ON, status=130)["options"]
    assert found["interrupted"] is True
    assert len(found["swaps"]) == 1


def test_ctrl_c_ends_a_search_that_is_under_way(monkeypatch: pytest.MonkeyPatch) -> None:
    stopped = Event()

    class Stubborn:
        """A solver that goes on until it is told to stop."""

        def solve(self, _: object) -> bool:
            return stopped.wait(10)

        def stop_search(self) -> None:
            stopped.set()

    def interrupted(_: Future[Any]) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr(Future, "result", interrupted)
    with pytest.raises(KeyboardInterrupt):
        search(Stubborn(), None)
    assert stopped.is_set()


# Options, and what stands in


def test_the_options_tell_what_each_other_part_changes_and_what_puts_the_rest_out() -> None:
    found = answer("choose", "options", OVAL, "carburetor", "camshaft", "pistons", "belts", *ON)
    options = found["options"]
    assert [(one["slot"], one["planned"], one["part"]) for one in found["told"]["changes"]] == [
        ("distributor", "DW-DS1", "DW-DS2")
    ]
    swaps = {one["part"]: one for one in options["swaps"]}
    assert all("option" not in one for one in swaps.values())
    assert swaps["TV-C355"]["buys"] == "nothing certain"
    assert swaps["OB-CR47"]["buys"] == "less power"
    assert Decimal(swaps["OB-CR47"]["costs"]) < 0
    assert [slot for slot, _, _ in swaps["QM-BTT"]["along"]] == ["crank-pulley", "pump-pulley"]
    out = {one["part"]: one["ground"]["name"] for one in options["out"]}
    assert out["DW-CR50"] == "T2-carburetor"
    never = {one["part"]: [ground["name"] for ground in one["grounds"]] for one in options["never"]}
    assert never["TV-P1472"] == ["piston in bore"]
    start = {line["slot"]: line["part"] for line in options["start"]["lines"]}
    assert not {*swaps, *out, *never} & {start["carburetor"], start["camshaft"], start["pistons"]}


def test_what_stands_in_for_a_part_is_ranked_by_the_season() -> None:
    found = answer("choose", "instead", OVAL, "rockers", "--seasons", "60", *ON)
    costs = [Decimal(one["replayed"]["played"]["cost"]["mean"]) for one in found["substitutes"]]
    assert len(costs) == 2
    assert costs == sorted(costs)
    assert found["part"] == "TV-RK15"
    rows = rows_of("choose", "instead", OVAL, "rockers", "--seasons", "0", *ON)
    assert {row["instead_of"] for row in rows} == {"TV-RK15"}
    assert {row["season_error"] for row in rows} == {"0.00"}


def test_another_part_may_be_the_one_that_is_gone() -> None:
    words = ("--part", "DW-S150", "--cheapen", "springs", "--seasons", "0")
    rows = rows_of("choose", "instead", OVAL, "springs", *words, *ON)
    assert {row["instead_of"] for row in rows} == {"DW-S150"}
    assert "TV-S165" in {row["part"] for row in rows}


def test_a_part_that_nothing_stands_in_for_is_told_why_with_status_1() -> None:
    status, page, err = run("choose", "instead", OVAL, "heads", *ON)
    assert (status, err) == (1, "")
    assert "Why nothing stands in for OB-H58 in heads" in " ".join(page.split())
    assert "OB-H58 is not to be used" in page
    assert "Clause T1-head" in page


NO_SPACER = ("spacer", "--seasons", "0", "--optional", "spacer", "--ban", "OB-SP2", "--ban", "DW-SP1")


def test_a_slot_that_nothing_else_can_stand_in_may_stay_empty_where_that_is_wished() -> None:
    found = answer("choose", "instead", OVAL, *NO_SPACER, *ON)
    assert (found["part"], found["substitutes"], found["stays_empty"]) == ("OB-SP1", [], True)
    assert run("choose", "instead", OVAL, *NO_SPACER, *ON, "--csv")[:2] == (0, instead_csv([]))
    status, page, err = run("choose", "instead", OVAL, *NO_SPACER, *ON)
    assert (status, err) == (0, "")
    said = " ".join(page.split())
    assert "No other part can stand there" in said
    assert "spacer may stay empty, as you said: costplan choose best with --pin spacer=nothing has that bill." in said
    assert run("choose", "best", OVAL, "--pin", "spacer=nothing", *ON)[0] == 0
    with_others = answer("choose", "instead", OVAL, *NO_SPACER[:5], *ON)
    assert {one["swap"]["part"] for one in with_others["substitutes"]} == {"DW-SP1"}
    assert with_others["stays_empty"] is True


def test_a_slot_that_must_be_filled_does_not_stay_empty_though_that_is_wished(tmp_path: Path) -> None:
    for name in ("scenarios", "catalogs"):
        shutil.copytree(ROOT / name, tmp_path / name)
    rule = '[[rule]]\nid = "X1"\nkind = "limit"\nsays = "One spacer."\nof = "count.carb-spacer"\nmin = 1\n'
    with (tmp_path / OVAL / "rules-tour.toml").open("a", encoding="utf-8") as book:
        book.write(rule)
    status, page, err = run("choose", "instead", tmp_path / OVAL, *NO_SPACER, *ON)
    assert (status, err) == (1, "")
    assert "Why nothing stands in for OB-SP1 in spacer" in " ".join(page.split())
    assert "Clause X1: One spacer." in page
    assert "may stay empty" not in page


def test_a_part_that_the_book_puts_out_has_another_in_its_place_already() -> None:
    status, page, _ = run("choose", "instead", OVAL, "distributor", "--seasons", "0", *ON)
    assert status == 0
    assert "DW-DS1 is in no bill that meets them" in page
    assert "DW-DS2 stands there" in page


# Problems


@pytest.mark.parametrize(
    ("words", "expected"),
    [
        (("best", KART, "--pin", "piston"), ["--pin 1 REA017"]),
        (("best", KART, "--pin", "piston= "), ["--pin 1 REA017"]),
        (("best", KART, "--pin", "piston=MW-P54", "--pin", "piston=KS-P54F"), ["--pin 2 REA023"]),
        (("best", KART, "--pin", "pistol=MW-P54"), ["--pin 1 BLD001"]),
        (("best", KART, "--pin", "piston=nothing"), ["--pin 1 BLD005"]),
        (("best", KART, "--ban", "X"), ["--ban 1 BLD002"]),
        (("best", KART, "--budget", "much"), ["--budget REA017"]),
        (("best", KART, "--budget", "-5"), ["--budget REA018"]),
        (("best", KART, "--by", "soon"), ["--by REA019"]),
        (("best", KART, "--by", "2027-01-01"), ["--by REA018"]),
        (
            ("best", KART, "--supplier", "Nobody", "--optional", "piston"),
            ["--supplier 1 REA020", "--optional 1 REA020"],
        ),
        (("best", KART, "--on-hand", "green", "--level", "paint"), ["--on-hand 1 REA020", "--level REA020"]),
        (("best", KART, "--cheapen", "piston"), ["--cheapen 1 REA020"]),
        (("best", KART, "--for", "power"), ["--for REA016"]),
        (("frontier", KART), ["--against REA016"]),
        (("options", KART, "piston", "pistol"), ["SLOT REA020"]),
        (("instead", KART, "pistol"), ["SLOT REA020"]),
        (("instead", KART, "piston", "--part", "KS-SP1"), ["--part BLD003"]),
        (("instead", OVAL, "starter", "--part", "X", *ON), ["--part BLD003"]),
    ],
    ids=case,
)
def test_a_wish_that_names_what_is_not_there_is_a_problem_at_its_option(
    words: tuple[str, ...], expected: list[str]
) -> None:
    assert faults("choose", *words) == expected


@pytest.mark.parametrize(
    ("words", "advice"),
    [
        (("--pin", "springs=tv-s165"), "did you mean 'TV-S165'?"),
        (("--pin", "springs=X"), "give one of: DW-S150, TV-S165, TV-S165P, TV-S185, TV-S120"),
        (("--ban", "dw-rk15"), "did you mean 'DW-RK15'?"),
        (
            ("--level", "paint"),
            "give one of: trackside, springs, freshen, rebuild, car-side, driveline, carb-bench",
        ),
    ],
    ids=["another case", "the slot's own", "banned", "level"],
)
def test_the_advice_names_what_can_be_meant_each_once(words: tuple[str, ...], advice: str) -> None:
    status, _, err = run("choose", "best", OVAL, *words, *ON)
    assert (status, err.splitlines()[0].rpartition("; ")[2]) == (2, advice)


#: A command without the solver, as an installation without it finds none.
WITHOUT_SOLVER = """
import sys


class Gone:
    def find_spec(self, name, path=None, target=None):
        if name.partition(".")[0] == "ortools":
            raise ModuleNotFoundError(name)
        return None


sys.meta_path.insert(0, Gone())
from costplan.cli import app

app()
"""


@pytest.mark.parametrize(
    "words", [("best",), ("frontier", "--against", "season"), ("options", "piston"), ("instead", "piston")], ids=case
)
def test_without_the_solver_a_plain_line_says_so(words: tuple[str, ...]) -> None:
    command = [sys.executable, "-c", WITHOUT_SOLVER, "choose", words[0], KART, *words[1:]]
    ended = subprocess.run(command, capture_output=True, text=True, check=False, timeout=60)  # noqa: S603 - our own
    assert (ended.returncode, ended.stdout) == (2, "")
    assert ended.stderr == "Choosing needs ortools, which is not here: install costplan anew.\n"


@pytest.mark.parametrize("step", ["open_scenario", "read_pins"])
def test_ctrl_c_before_there_is_an_answer_says_a_word(step: str, monkeypatch: pytest.MonkeyPatch) -> None:
    def interrupted(*_: object, **__: object) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr(common, step, interrupted)
    assert run("choose", "best", KART) == (130, "", "Stopped; there is nothing to show yet.\n")


def test_ctrl_c_while_parts_are_asked_about_says_a_word(monkeypatch: pytest.MonkeyPatch) -> None:
    def interrupted(*_: object, **__: object) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr(choose, "prepare", interrupted)
    for words in (("best",), ("frontier", "--against", "season"), ("options",), ("instead", "piston")):
        ended = run("choose", words[0], KART, *words[1:])
        assert ended == (130, "", "Stopped; there is nothing to show yet.\n")


@pytest.mark.parametrize("question", ["best", "frontier", "options"])
def test_the_simple_form_has_no_parts_to_choose(question: str) -> None:
    place = ROOT / "costplan" / "templates" / "simple"
    assert faults("choose", question, str(place)) == [f"{place}/scenario.toml REA016"]


def test_more_combinations_than_can_be_valued_are_a_problem(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(aims, "VALUED_MOST", 10)
    assert faults("choose", "best", OVAL, "--for", "power", *ON) == ["--pin CHO001"]
    assert faults("choose", "frontier", OVAL, *ON) == ["--pin CHO001"]
    found = answer("choose", "best", OVAL, *ON)["chosen"]["option"]
    assert (found["price"], found["power"]) == ("17649.60", None)
    assert "too many ways" in " ".join(run("choose", "best", OVAL, *ON)[1].split())


def test_power_that_no_flow_is_known_for_is_a_problem_and_the_price_is_answered(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    for name in ("scenarios", "catalogs"):
        shutil.copytree(ROOT / name / "oval-v8", tmp_path / name / "oval-v8")
    (tmp_path / "catalogs" / "oval-v8" / "flow.csv").unlink()
    monkeypatch.chdir(tmp_path)
    assert faults("choose", "best", OVAL, "--for", "power", *ON) == ["--for REA016"]
    assert faults("choose", "best", OVAL, "--for", "power", "--allow-unknown", *ON) == ["--for REA016"]
    assert faults("choose", "frontier", OVAL, *ON) == ["--against REA016"]
    assert answer("choose", "best", OVAL, *ON)["chosen"]["option"]["power"] is None
