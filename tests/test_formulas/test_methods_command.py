"""`costplan methods`: the list, one formula, one computed, and inputs at fault."""

from __future__ import annotations

import csv
import io
import json
import re

import pytest

from costplan import formulas
from costplan.formulas import METHODS
from tests import command_line


@pytest.fixture(autouse=True)
def at_80_columns(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("COLUMNS", "80")
    for name in ("FORCE_COLOR", "CLICOLOR_FORCE", "TTY_COMPATIBLE", "NO_COLOR"):
        monkeypatch.delenv(name, raising=False)


def run(*words: str) -> tuple[int, str, str]:
    """The command's status, and what it prints on either stream."""
    return command_line.run("methods", *words)


def test_the_list_has_every_formula_under_its_subject_in_80_columns() -> None:
    status, out, err = run()
    assert (status, err) == (0, "")
    lines = out.splitlines()
    assert [line for line in lines if len(line) > 80] == []
    assert [name for name in METHODS if not any(line.split()[:1] == [name] for line in lines)] == []
    for method in METHODS.values():
        assert method.subject.capitalize() in lines
    flat = " ".join(out.split())
    assert "payment a period that repays 1 lent now rate / (1 - (1 + rate)^-periods)" in re.sub(
        r"capital-recovery-factor ", "", flat
    )


@pytest.mark.parametrize("name", METHODS)
def test_one_formula_is_shown_with_all_there_is_to_know_and_a_live_example(name: str) -> None:
    status, out, err = run(name)
    assert (status, err) == (0, "")
    assert [line for line in out.splitlines() if len(line) > 80] == []
    method, flat = METHODS[name], "".join(out.split())
    for text in (method.formula, method.source, method.meaning[1:]):
        assert "".join(text.split()) in flat
    for given in method.inputs:
        assert re.search(rf"^{given.name} ", out, re.MULTILINE)
    assert "invented" in out


def test_the_command_below_an_example_gives_the_same_answer() -> None:
    for name in METHODS:
        out = run(name)[1]
        words = out[out.rindex("costplan methods") :].split()[2:]
        assert words[0] == name
        example, computed = json.loads(run(name, "--json")[1]), json.loads(run(*words, "--json")[1])
        assert computed["result"] == pytest.approx(example["result"], rel=1e-12)
        assert (example["invented"], computed["invented"]) == (True, False)


def test_a_formula_is_computed_for_figures_of_ones_own() -> None:
    status, out, err = run("capital-recovery-factor", "rate=0.07", "periods=10")
    assert (status, err) == (0, "")
    assert re.search(r"^result .*\b0\.1423775027$", out, re.MULTILINE)
    assert "invented" not in out


def test_what_may_be_left_out_takes_its_default() -> None:
    answer = json.loads(run("loan-payment", "rate=0.005", "periods=60", "present=150000", "--json")[1])
    assert answer["inputs"] == {"rate": 0.005, "periods": 60.0, "present": 150000.0, "future": 0.0, "at_start": 0}
    assert answer["result"] == formulas.loan_payment(0.005, 60, 150000)
    assert "0 if left out" in " ".join(run("loan-payment")[1].split())


def test_lists_are_separated_by_commas() -> None:
    answer = json.loads(run("internal-rate-of-return", "flows=-100,39,59,55,20", "--json")[1])
    assert answer["inputs"]["flows"] == [-100, 39, 59, 55, 20]
    assert answer["result"] == pytest.approx(0.2809484212, rel=1e-9)
    answer = json.loads(run("annual-costs-by-life", "rate=0", "price=100", "salvages=0", "running=0,50", "--json")[1])
    assert answer["result"] == [100, 75]


def test_json_and_csv_of_the_list_have_every_formula() -> None:
    answer = json.loads(run("--json")[1])
    assert (answer["answer"], answer["form"]) == ("methods", "1.0")
    assert [method["name"] for method in answer["methods"]] == list(METHODS)
    names = {"name", "subject", "meaning", "formula", "inputs", "unit", "source"}
    assert all(set(method) == names for method in answer["methods"])
    rows = list(csv.DictReader(io.StringIO(run("--csv")[1])))
    assert [row["name"] for row in rows] == list(METHODS)
    by_name = {row["name"]: row for row in rows}
    assert by_name["swept-volume"]["inputs"] == "bore [length] | stroke [length]"
    assert by_name["loan-payment"]["formula"].startswith("'-("), "a spreadsheet would run it"


def test_csv_of_one_formula_ends_with_its_result() -> None:
    rows = list(csv.reader(io.StringIO(run("rating-life", "rating=100", "load=50", "--csv")[1])))
    assert rows == [
        ["name", "unit", "value"],
        ["rating", "force", "100"],
        ["load", "force", "50"],
        ["exponent", "1", "3"],
        ["result", "million revolutions", "8"],
    ]


@pytest.mark.parametrize(
    ("words", "place", "code"),
    [
        (("capital-recovery",), "", ""),
        (("no-such-formula",), "NAME", "REA020"),
        (("capital-recovery-factor", "rate=0.08"), "periods", "REA016"),
        (("capital-recovery-factor", "rate=0.08", "periods="), "periods", "REA017"),
        (("capital-recovery-factor", "rate=8 %", "periods=5"), "rate", "REA017"),
        (("capital-recovery-factor", "rate=inf", "periods=5"), "rate", "REA018"),
        (("capital-recovery-factor", "rate=0,08", "periods=5"), "rate", "REA024"),
        (("capital-recovery-factor", "rate=1", "rate=2", "periods=5"), "rate", "REA023"),
        (("capital-recovery-factor", "rat=1", "rate=2", "periods=5"), "INPUT=VALUE", "REA015"),
        (("capital-recovery-factor", "0.08", "rate=2", "periods=5"), "INPUT=VALUE", "REA017"),
        (("capital-recovery-factor", "rate=-1", "periods=5"), "rate", "REA018"),
        (("capital-recovery-factor", "rate=0.08", "periods=0"), "periods", "REA018"),
        (("expected-backorders", "mean=2", "stock=1.5"), "stock", "REA017"),
        (("net-present-value", "rate=0.1", "flows=1,,2"), "flows", "REA017"),
        (("internal-rate-of-return", "flows=1,2"), "flows", "REA018"),
        (("future-value", "rate=1e6", "periods=1e6", "payment=-100"), "NAME", "REA018"),
    ],
    ids=str,
)
def test_an_input_at_fault_ends_with_status_2_and_its_place(words: tuple[str, ...], place: str, code: str) -> None:
    status, out, err = run(*words)
    if not code:
        assert (status, err) == (0, "")
        return
    assert (status, out) == (2, "")
    assert re.match(rf"{re.escape(place)}: {code} .+; .+", err)
    assert "nothing was calculated" in err
    problem = json.loads(run(*words, "--json")[1])["problems"][0]
    assert (problem["file"], problem["code"]) == (place, code)
    assert problem["what"]
    assert problem["advice"]


def test_every_problem_is_told_not_only_the_first() -> None:
    _, _, err = run("loan-payment", "rat=1", "x", "periods=5.5%", "rate=3", "rate=4")
    assert len(err.splitlines()) == 6
    assert "5 problems" in err


def test_what_was_wrong_is_shown_as_it_was_meant() -> None:
    _, _, err = run("capital-recovery-factor", "rate=-2", "periods=5")
    assert err.splitlines()[0] == "rate: REA018 no answer for '-2'; give a number above -1"
