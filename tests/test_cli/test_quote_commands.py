"""`costplan quote` on a small scenario: status, data, the customer's copy, and files that cannot be written."""

from __future__ import annotations

import csv
import io
import json
import re
import shutil
from collections.abc import Callable, Iterator
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest

from costplan.quote import revisions
from tests.command_line import answer, run

BASE = Path(__file__).parents[1] / "bad_inputs" / "base"
ON = ("--on", "2031-03-05")


@pytest.fixture
def shop(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A folder with a shop's book and the requests `fresh`, a service, and `new`, a new engine."""
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("COLUMNS", "80")
    for name in ("FORCE_COLOR", "CLICOLOR_FORCE", "TTY_COMPATIBLE", "NO_COLOR"):
        monkeypatch.delenv(name, raising=False)
    shutil.copytree(BASE, "shop")
    return Path("shop")


@pytest.fixture
def saved(shop: Path) -> Path:
    """The same with two revisions of `new`, the second with a piston that turned out to be bad."""
    assert run("quote", "save", shop, "new", "--reason", "as asked")[0] == 0
    assert run("quote", "save", shop, "new", "--reason", "after tear-down", "--bad", "piston")[0] == 0
    return shop


def table(*words: object) -> list[dict[str, str]]:
    status, out, err = run(*words, "--csv")
    assert (status, err) == (0, "")
    return list(csv.DictReader(io.StringIO(out)))


def fault(*words: object) -> str:
    """The one line of the problem that a command ends with."""
    status, out, err = run(*words)
    assert (status, out) == (2, "")
    line, last = err.splitlines()
    assert last == "1 problem; nothing was calculated."
    return line


def change(path: Path, *pairs: tuple[str, str]) -> None:
    text = path.read_text("utf-8")
    for old, new in pairs:
        assert old in text, old
        text = text.replace(old, new)
    path.write_text(text, "utf-8")


# Status


COMMANDS = (
    ("price", "new"),
    ("price", "fresh"),
    ("show", "new"),
    ("diff", "new"),
    ("again", "new", *ON),
    ("offers", *ON),
    ("list",),
)


@pytest.mark.parametrize("words", COMMANDS, ids=" ".join)
def test_an_answer_has_status_0_fits_80_columns_and_promises_nothing(words: tuple[str, ...], saved: Path) -> None:
    name, *rest = words
    status, out, err = run("quote", name, saved, *rest)
    assert (status, err) == (0, "")
    assert max(len(line) for line in out.splitlines()) <= 80
    assert not re.search(r"\b(legal|safe)\b", out, re.IGNORECASE)


@pytest.mark.parametrize("words", [words for words in COMMANDS if words[0] not in ("show", "diff")], ids=" ".join)
def test_inputs_at_fault_end_with_status_2(words: tuple[str, ...], saved: Path) -> None:
    name, *rest = words
    line = fault("quote", name, saved, *rest, "--set", "shop/target=100 %")
    assert line.startswith("--set 1: target: REA018 ")


@pytest.mark.parametrize("words", [("price",), ("show", "shop"), ("save", "shop", "new"), ("diff", "shop", "new", "0")])
def test_words_that_are_missing_or_out_of_range_are_told_by_the_command_line(
    words: tuple[str, ...], shop: Path
) -> None:
    assert shop.exists()
    status, out, err = run("quote", *words)
    assert (status, out) == (2, "")
    assert "Usage: costplan quote " in err


@pytest.mark.parametrize(
    ("words", "code"),
    [
        (("price", "shop", "old"), "QUO009"),
        (("save", "shop", "old", "--reason", "x"), "QUO009"),
        (("price", "shop", "../shop/quote-new"), "QUO009"),
        (("show", "shop", "fresh"), "QUO010"),
        (("show", "shop", "../new"), "QUO010"),
        (("show", "shop", "new", "--revision", "3"), "QUO010"),
        (("show", "nowhere", "new"), "REA001"),
        (("again", "shop", "fresh"), "QUO010"),
        (("diff", "shop", "fresh"), "QUO010"),
        (("diff", "shop", "new", "1"), "QUO010"),
        (("diff", "shop", "new", "1", "2", "1"), "QUO010"),
        (("diff", "shop", "new", "1", "7"), "QUO010"),
        (("price", "shop", "fresh", "--keep-prices"), "QUO010"),
        (("price", "nowhere", "new"), "REA001"),
        (("list", "nowhere"), "REA001"),
        (("price", "shop", "fresh", "--bad", "sprigs"), "QUO005"),
        (("price", "shop", "fresh", "--bad", ""), "QUO005"),
        (("price", "shop", "fresh", "--bad", "pump"), "QUO012"),
        (("price", "shop", "fresh", "--bad", "piston=hone"), "QUO012"),
        (("price", "shop", "fresh", "--on", "5.3.2031"), "REA019"),
        (("offers", "shop", "--on", "2031-02-30"), "REA019"),
        (("price", "shop", "new", "--rise", "much"), "REA017"),
        (("price", "shop", "new", "--rise", "%"), "REA017"),
        (("price", "shop", "new", "--rise", "-100 %"), "REA018"),
        (("price", "shop", "new", "--rise", "2000 %"), "REA018"),
        (("save", "shop", "new", "--reason", ""), "REA016"),
        (("save", "shop", "new", "--reason", "red \x1b[31m"), "REA017"),
        (("save", "shop", "new", "--reason", "no text \udcff"), "REA017"),
    ],
    ids=lambda given: None if isinstance(given, str) else repr(" ".join(given)),
)
def test_what_is_asked_wrongly_is_one_problem(words: tuple[str, ...], code: str, saved: Path) -> None:
    before = sorted(saved.glob("quotes/*"))
    assert f": {code} " in fault("quote", *words)
    assert sorted(saved.glob("quotes/*")) == before


def test_a_problem_is_told_as_data_too(shop: Path) -> None:
    status, out, err = run("quote", "price", shop, "old", "--json")
    (problem,) = json.loads(out)["problems"]
    assert (status, problem["code"], problem["file"]) == (2, "QUO009", "shop/quote-old.toml")
    assert problem["advice"].startswith("give one of: fresh, new")
    assert "QUO009" in err


# Data


def leaves(value: Any) -> Iterator[Any]:
    for inner in value.values() if isinstance(value, dict) else value:
        if isinstance(inner, dict | list):
            yield from leaves(inner)
        else:
            yield inner


@pytest.mark.parametrize(
    ("words", "name", "keys"),
    [
        (("price", "new"), "quote", {"quote", "if_bad", "if_prices_rise"}),
        (("price", "fresh", "--bad", "piston", "--rise", "6 %"), "quote", {"quote", "if_bad", "if_prices_rise"}),
        (("price", "new", "--customer"), "quote copy", {"copy"}),
        (("show", "new"), "quote", {"quote"}),
        (("show", "new", "--customer"), "quote copy", {"copy"}),
        (("diff", "new"), "quote difference", {"difference"}),
        (("again", "new", *ON), "quote again", {"difference"}),
        (("offers", *ON), "quote offers", {"offers"}),
        (("offers", *ON, "--customer"), "quote offers copy", {"offers"}),
        (("list",), "quote list", {"requests", "problems"}),
    ],
    ids=lambda given: " ".join(given) if isinstance(given, tuple) else "",
)
def test_json_has_its_keys_and_money_is_text(words: tuple[str, ...], name: str, keys: set[str], saved: Path) -> None:
    command, *rest = words
    found = answer("quote", command, saved, *rest)
    assert (found.pop("answer"), found.pop("form"), set(found)) == (name, "1.0", keys)
    # A float is a chance; every amount, share and count of hours is a text.
    assert all(0 <= one <= 1 for one in leaves(found) if isinstance(one, float))


def test_what_was_not_asked_is_null(shop: Path) -> None:
    found = answer("quote", "price", shop, "new")
    assert (found["if_bad"], found["if_prices_rise"]) == (None, None)


def test_saving_says_as_data_where_and_what(shop: Path) -> None:
    found = answer("quote", "save", shop, "new", "--reason", "  as   asked ")
    assert (found["answer"], found["file"]) == ("quote saved", "shop/quotes/new-r1.json")
    assert (found["quote"]["revision"], found["quote"]["reason"]) == (1, "as asked")


def test_lines_in_csv_are_those_in_json_and_add_up(shop: Path) -> None:
    rows, quote = table("quote", "price", shop, "fresh"), answer("quote", "price", shop, "fresh")["quote"]
    assert list(rows[0]) == [
        *("key", "heading", "kind", "name", "part", "slots", "supplier", "quantity", "unit", "price", "discount"),
        *("net", "tax_code", "tax_percent", "cost", "hours", "priced", "stale", "why", "place"),
    ]
    assert [row["key"] for row in rows] == [line["key"] for line in quote["lines"]]
    assert sum(Decimal(row["net"]) for row in rows) == Decimal(quote["totals"]["lines"])
    assert sum(Decimal(row["cost"]) for row in rows) == Decimal(quote["margin"]["cost"])


def test_the_customers_lines_in_csv_are_the_shops_without_what_is_the_shops(shop: Path) -> None:
    mine, theirs = table("quote", "price", shop, "fresh"), table("quote", "price", shop, "fresh", "--customer")
    assert list(theirs[0]) == [
        *("heading", "name", "part", "quantity", "unit", "price", "discount", "net", "tax_code", "tax_percent"),
    ]
    assert theirs == [{name: row[name] for name in theirs[0]} for row in mine]


def test_other_tables_in_csv_have_their_headings(saved: Path) -> None:
    moved, offers = table("quote", "diff", saved, "new"), table("quote", "offers", saved, *ON)
    listed = table("quote", "list", saved)
    assert list(moved[0]) == ["key", "name", "before", "after", "more", "why"]
    assert list(offers[0])[:4] == ["begins", "before", "engine", "level"]
    assert [row["request"] for row in listed] == ["fresh", "new"]
    assert [row["revisions"] for row in listed] == ["", "1 2"]


def test_what_cannot_be_read_is_told_at_its_file_and_the_rest_is_listed(saved: Path) -> None:
    (saved / "quotes/new-r2.json").write_text('{"form": "costplan-quote 9.0"}', encoding="utf-8")
    status, out, err = run("quote", "list", saved)
    assert status == 2
    assert "fresh" in out
    assert "new" in out
    line, last = err.splitlines()
    assert line.startswith("shop/quotes/new-r2.json: form: QUO011 ")
    assert last == "1 problem; the rest is listed."
    status, out, _ = run("quote", "list", saved, "--json")
    found = json.loads(out)
    assert status == 2
    assert [(row["request"], row["revisions"], row["gross"]) for row in found["requests"]] == [
        ("fresh", [], None),
        ("new", [1, 2], None),
    ]
    assert [(row["code"], row["file"]) for row in found["problems"]] == [("QUO011", "shop/quotes/new-r2.json")]


def test_a_request_that_cannot_be_read_hides_no_other(saved: Path) -> None:
    change(saved / "quote-fresh.toml", ('customer = "', 'custom = "'))
    status, out, err = run("quote", "list", saved, "--csv")
    assert status == 2
    assert [row["request"] for row in csv.DictReader(io.StringIO(out))] == ["new"]
    assert all(line.startswith("shop/quote-fresh.toml:") for line in err.splitlines()[:-1])


def test_what_a_spreadsheet_would_run_is_tamed_in_csv(shop: Path) -> None:
    change(shop / "quote-fresh.toml", ("Old piston taken in trade", "=HYPERLINK(1)"))
    change(shop / "quote-new.toml", ('title = "New engine"', 'title = "@SUM(1)"'), ('"F-31-8"', '"-1+1"'))
    rows = table("quote", "price", shop, "fresh")
    assert "'=HYPERLINK(1)" in [row["name"] for row in rows]
    assert "'=HYPERLINK(1)" in [row["name"] for row in table("quote", "price", shop, "fresh", "--customer")]
    (row,) = (row for row in table("quote", "list", shop) if row["request"] == "new")
    assert (row["title"], row["number"]) == ("'@SUM(1)", "'-1+1")
    for _, out, _ in (run("quote", "price", shop, "fresh", "--csv"), run("quote", "list", shop, "--csv")):
        assert not re.search(r'(^|,)"?[=+@]', out, re.MULTILINE)


# What the shop keeps to itself

#: Names and words that no customer reads, in place of the base's.
SECRETS = {
    "Hill": "Quibblewick",
    "Dale": "Snorgate",
    "3 of 20 engines": "gossip of Plumley",
    "mean of 12 engines": "the apprentice guessed",
    "invented list": "list under the counter",
}


@pytest.fixture
def discreet(shop: Path) -> Path:
    """The shop with words of its own, and mark-up on all, so that no cost is a price."""
    for path in (path for path in shop.rglob("*") if path.suffix in (".csv", ".toml", ".txt")):
        text = path.read_text("utf-8")
        for old, new in SECRETS.items():
            text = text.replace(old, new)
        path.write_text(text, "utf-8")
    change(
        shop / "shop.toml",
        ('sublet = "10 %"', 'sublet = "13 %"\nsupplies = "47 %"\nfreight = "9 %"\nfees = "21 %"'),
        ("cost_per_hour = 38", "cost_per_hour = 38.37"),
        ("cost_per_hour = 49", "cost_per_hour = 49.11"),
        ('discount = "10 %"', 'discount = "8.9 %"'),
    )
    change(shop / "work.csv", ("fees,,,5,5,", "fees,,,,5.37,"), ("supplies,,,,8,", "supplies,,,,8.19,"))
    change(shop / "parts" / "engine.csv", ("Snorgate,60,", "Snorgate,61.13,"))
    change(shop / "quote-fresh.toml", ("price = 12", "price = 12\ncost = 9.77"))
    return shop


def costs_of(quote: dict[str, Any]) -> set[Decimal]:
    """Every amount of a quote that says what the shop pays or keeps; a discount on the whole is the customer's too."""
    margin, after = quote["margin"], quote["after"]
    kinds = [one for one in margin["by_kind"] if one["kind"] != "credit"]
    amounts = [line["cost"] for line in quote["lines"] if line["kind"] != "core"]
    amounts += [line["earned"] for line in quote["lines"] if line["kind"] != "core"]
    amounts += [margin[name] for name in ("cost", "earned", "floor", "above_floor")]
    amounts += [one[name] for one in kinds for name in ("cost", "earned")]
    amounts += [after["expected_cost"], after["worst_cost"], quote["left_at_worst"]]
    amounts += [one["more"]["cost"] for one in quote["options"]]
    amounts += [one[name]["cost"] for one in quote["allowances"] for name in ("likely_more", "worst_more")]
    return {abs(Decimal(amount)) for amount in amounts} - {Decimal(0)}


def shares_of(quote: dict[str, Any]) -> set[str]:
    """Its margins and mark-ups, as a page shows them and to four digits."""
    margin = quote["margin"]
    shares = [margin["margin"], margin["markup"], *(line["margin"] for line in quote["lines"])]
    known = [Decimal(share) for share in shares if share is not None and Decimal(share)]
    return {f"{100 * share:.1f} %" for share in known} | {f"{share:.4f}"[:6] for share in known}


@pytest.mark.parametrize("form", [(), ("--json",), ("--csv",)], ids=["text", "json", "csv"])
@pytest.mark.parametrize("name", ["fresh", "new"])
def test_the_customers_copy_holds_no_cost_margin_supplier_or_reason(
    name: str, form: tuple[str, ...], discreet: Path
) -> None:
    assert run("quote", "save", discreet, name, "--reason", "as asked")[0] == 0
    quote = answer("quote", "price", discreet, name)["quote"]
    assert {"Quibblewick", "Snorgate"} & {line["supplier"] for line in quote["lines"]}
    for command in (("price",), ("show",)):
        status, out, err = run("quote", *command, discreet, name, "--customer", "--why", *form)
        assert (status, err) == (0, "")
        plain = " ".join(out.split())
        for secret in (*SECRETS.values(), "margin", "mark-up", "markup", "floor", "supplier", "earned", "why each"):
            assert secret.lower() not in plain.lower(), secret
        for line in quote["lines"]:
            assert not [line[name] for name in ("key", "place") if "/" in line[name] and line[name] in plain]
            assert line["why"] == "asked for" or line["why"] not in plain
        amounts = {Decimal(found.replace(",", "")) for found in re.findall(r"\d[\d,]*\.\d+", plain)}
        assert sorted(amounts & costs_of(quote)) == []
        assert not {share for share in shares_of(quote) if share in plain}


def test_a_customers_copy_of_the_seasons_offers_holds_no_margin_and_no_figure_of_the_plan(discreet: Path) -> None:
    words = ("quote", "offers", discreet, *ON)
    offers = answer(*words)["offers"]["offers"]
    assert {one["margin"] for one in offers} != {None}
    for form in ((), ("--json",), ("--csv",)):
        out = " ".join(run(*words, "--customer", *form)[1].split())
        assert not [secret for secret in (*SECRETS.values(), "margin", "plan_work", "cost") if secret in out.lower()]
        assert not [one for one in offers if str(one["margin"])[:6] in out or one["quote"]["margin"]["cost"] in out]


# What is written


def test_a_second_save_is_the_second_revision_and_leaves_the_first_as_it_is(shop: Path) -> None:
    assert run("quote", "save", shop, "new", "--reason", "as asked")[0] == 0
    first = (shop / "quotes" / "new-r1.json").read_bytes()
    assert run("quote", "save", shop, "new", "--reason", "again")[0] == 0
    assert sorted(path.name for path in (shop / "quotes").iterdir()) == ["new-r1.json", "new-r2.json"]
    assert (shop / "quotes" / "new-r1.json").read_bytes() == first
    shown = answer("quote", "show", shop, "new")["quote"]
    assert (shown["revision"], shown["reason"]) == (2, "again")


def test_numbers_go_on_behind_the_highest_whatever_is_missing(saved: Path) -> None:
    (saved / "quotes" / "new-r1.json").unlink()
    assert answer("quote", "save", saved, "new", "--reason", "more")["quote"]["revision"] == 3


def test_what_is_shown_is_what_was_saved_whatever_has_moved_on(saved: Path) -> None:
    before = run("quote", "show", saved, "new", "--why")
    change(saved / "shop.toml", ("per_hour = 60", "per_hour = 90"))
    (saved / "parts" / "engine.csv").unlink()
    assert run("quote", "show", saved, "new", "--why") == before


def test_what_a_revision_asks_for_and_is_no_longer_there_is_a_problem_at_its_file(saved: Path) -> None:
    change(saved / "work.csv", ("brake,", "dyno,"))
    change(saved / "quote-fresh.toml", ('"brake"', '"dyno"'))
    line = fault("quote", "again", saved, "new", *ON)
    assert line.startswith("shop/quotes/new-r2.json: work: QUO005 ")


def test_a_slot_found_bad_that_is_no_longer_there_is_a_problem_at_its_revision(saved: Path) -> None:
    held = json.loads((saved / "quotes" / "new-r2.json").read_text("utf-8"))
    held["bad"] = ["gearbox"]
    (saved / "quotes" / "new-r2.json").write_text(json.dumps(held), "utf-8")
    assert fault("quote", "again", saved, "new", *ON).startswith("shop/quotes/new-r2.json: QUO005 no such slot")


def left(folder: Path) -> list[str]:
    """All that stands in a folder, what is hidden too."""
    return sorted(path.name for path in folder.rglob("*")) if folder.exists() else []


def refused(*words: object) -> str:
    status, _, err = run(*words)
    assert status == 2
    (line,) = err.splitlines()
    return line


def full(_: Path, __: Path) -> None:
    raise OSError(28, "No space left on device")


def test_a_save_that_fails_says_so_in_a_line_and_leaves_nothing(saved: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    before = left(saved)
    monkeypatch.setattr(Path, "hardlink_to", full)
    line = refused("quote", "save", saved, "new", "--reason", "x")
    assert line.startswith("shop/quotes/new-r3.json cannot be written: No space left on device; ")
    assert left(saved) == before


def test_a_folder_that_nothing_may_be_written_to_is_refused(shop: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def denied(self: Path, *_: object, **__: object) -> None:
        raise PermissionError(13, "Permission denied", str(self))

    before = left(shop)
    monkeypatch.setattr(Path, "mkdir", denied)
    assert refused("quote", "save", shop, "new", "--reason", "x").startswith(
        "shop/quotes cannot be made: Permission denied; "
    )
    assert left(shop) == before


def test_a_file_where_the_folder_of_revisions_should_be_is_refused(shop: Path) -> None:
    (shop / "quotes").write_text("a note", "utf-8")
    assert "shop/quotes/new-r1.json cannot be written" in refused("quote", "save", shop, "new", "--reason", "x")
    assert (shop / "quotes").read_text("utf-8") == "a note"


def test_two_who_save_at_one_moment_do_not_write_over_each_other(shop: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    other = shop / "quotes" / "new-r1.json"
    to_text = revisions.to_text

    def while_another_saves(revision: revisions.Revision) -> str:
        other.parent.mkdir()
        other.write_text("the other's", "utf-8")
        return to_text(revision)

    monkeypatch.setattr(revisions, "to_text", while_another_saves)
    assert "new-r1.json is there already" in refused("quote", "save", shop, "new", "--reason", "x")
    assert other.read_text("utf-8") == "the other's"
    assert left(shop / "quotes") == ["new-r1.json"]


def test_one_who_saves_at_the_very_last_moment_is_not_written_over_either(
    shop: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    link = Path.hardlink_to

    def first_the_other(self: Path, target: Path) -> None:
        self.write_text("the other's", "utf-8")
        link(self, target)

    monkeypatch.setattr(Path, "hardlink_to", first_the_other)
    assert "new-r1.json is there already" in refused("quote", "save", shop, "new", "--reason", "x")
    assert (shop / "quotes" / "new-r1.json").read_text("utf-8") == "the other's"
    assert left(shop / "quotes") == ["new-r1.json"]


# Documents

DOCUMENTS = ["customer.pdf", "customer.xlsx", "shop.pdf", "shop.xlsx"]


def test_documents_are_named_after_number_and_revision_and_said_beside_the_answer(saved: Path, tmp_path: Path) -> None:
    change(saved / "quote-new.toml", ('"F-31-8"', '"F 31/../8"'))
    status, out, err = run("quote", "price", saved, "new", "--json", "--out", tmp_path / "papers")
    assert (status, json.loads(out)["answer"]) == (0, "quote")
    names = [f"F-31-..-8-draft-{name}" for name in DOCUMENTS]
    assert err.splitlines() == [f"Written: {tmp_path / 'papers' / name}" for name in names]
    assert left(tmp_path / "papers") == names


def test_where_one_document_is_there_already_none_is_written(shop: Path, tmp_path: Path) -> None:
    papers = tmp_path / "papers"
    papers.mkdir()
    (papers / "F-31-8-draft-shop.pdf").write_text("mine", "utf-8")
    line = refused("quote", "price", shop, "new", "--out", papers)
    assert line.startswith(f"{papers / 'F-31-8-draft-shop.pdf'} is there already; ")
    assert left(papers) == ["F-31-8-draft-shop.pdf"]
    assert (papers / "F-31-8-draft-shop.pdf").read_text("utf-8") == "mine"


def on_the_third(fails: Callable[[Path, Path], None]) -> Callable[[Path, Path], None]:
    link, done = Path.hardlink_to, list[Path]()

    def half_way(self: Path, target: Path) -> None:
        done.append(self)
        if len(done) == 3:
            fails(self, target)
        link(self, target)

    return half_way


def test_where_writing_fails_half_way_none_of_the_documents_is_left(
    shop: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    papers = tmp_path / "papers"
    papers.mkdir()
    monkeypatch.setattr(Path, "hardlink_to", on_the_third(full))
    line = refused("quote", "price", shop, "new", "--out", papers)
    assert "cannot be written: No space left on device" in line
    assert left(papers) == []
