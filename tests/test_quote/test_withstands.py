"""Whatever is asked of a quote, it is worked out and adds up, or there are problems: nothing is ever raised."""

from __future__ import annotations

import csv
import io
import json
import shutil
from collections import Counter
from collections.abc import Iterator
from dataclasses import replace
from datetime import date
from decimal import Decimal
from functools import cache
from itertools import groupby
from pathlib import Path
from typing import Any

import pytest

from costplan.money import round_money
from costplan.quote import Asked, Desk, Quote, customer_copy, make_quote, open_desk, requests_in
from costplan.quote.offers import copy_of_offers, offers_of
from costplan.quote.request import ExtraRow, Request
from costplan.quote.revisions import difference
from costplan.quote.scheduling import after_workdays
from costplan.quote.totals import line_net, tax_on
from costplan.quote.whatif import if_bad, if_prices_rise
from costplan.reading import columns
from costplan.report.data import to_json
from costplan.report.quote.price import bad_tables, copy_csv, copy_page, lines_csv, quote_page, risen_table
from costplan.season import CAR
from tests.command_line import answer, run

ROOT = Path(__file__).parents[2]
DEMO, BASE = ROOT / "scenarios" / "oval-v8", ROOT / "tests" / "bad_inputs" / "base"
#: A day of the small scenario, and one of the demo.
DAY, MAY = date(2031, 3, 5), date(2027, 5, 12)
#: A request's head, before what is asked.
HEAD = 'number = "N"\ntitle = "T"\ncustomer = "C"\n'
SERVICE = HEAD + 'engine = "amber"\nlevel = "top"\n'
NOTHING = Decimal(0)


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A copy of the small scenario with no request."""
    monkeypatch.setenv("COLUMNS", "80")
    shutil.copytree(BASE, tmp_path / "scenario", ignore=shutil.ignore_patterns("quote-*.toml"))
    return tmp_path / "scenario"


@cache
def desk_of(folder: Path, *sets: str) -> Desk:
    desk, problems = open_desk(folder, sets)
    assert desk is not None, problems
    return desk


def asked_for(**head: Any) -> Asked:
    """A request with this in its head and no tables."""
    return Asked("asked", Request(number="N", title="T", customer="C", **head), (), (), (), ())


def quote_of(desk: Desk, asked: Asked, on: date, bad: tuple[str, ...] = ()) -> Quote | None:
    """The quote of a request, which must add up, or None where there are problems."""
    asking, problems = desk.asking(asked, on)
    quote, problems = make_quote(replace(asking, bad=bad)) if asking is not None else (None, problems)
    assert (quote is None) == bool(problems)
    assert all(problem.what and problem.advice for problem in problems)
    if quote is not None:
        adds_up(quote)
    return quote


def price(folder: Path, request: str, on: date = DAY, *sets: str) -> Quote:
    """The quote of the text of a request, looked at in every form that it is shown in."""
    (folder / "quote-x.toml").write_text(request, "utf-8")
    desk, problems = open_desk(folder, sets)
    assert desk is not None, problems
    asked, problems = desk.request("x")
    assert asked is not None, problems
    asking, problems = desk.asking(asked, on)
    assert asking is not None, problems
    quote, problems = make_quote(asking)
    assert quote is not None, problems
    adds_up(quote)
    risen, _ = if_prices_rise(asking, quote, Decimal("0.06"))
    bad, _ = if_bad(asking, quote)
    assert risen is not None
    assert bad is not None
    tables = (*bad_tables(bad), risen_table(quote, risen))
    assert quote_page(quote, tables, why=True).tables
    assert json.loads(to_json("quote", quote=quote, risen=risen, bad=bad))
    assert lines_csv(quote)
    copy = customer_copy(quote)
    assert copy_page(copy).title
    assert copy_csv(copy)
    return quote


def faults_of(folder: Path, request: str, on: date = DAY) -> list[str]:
    """Line, field and code of what is wrong with a request."""
    (folder / "quote-x.toml").write_text(request, "utf-8")
    desk = desk_of(folder)
    asked, problems = desk.request("x")
    asking, problems = desk.asking(asked, on) if asked is not None else (None, problems)
    _, problems = make_quote(asking) if asking is not None else (None, problems)
    return [f"{problem.place.line}: {problem.field} {problem.code}" for problem in problems]


def adds_up(quote: Quote) -> None:
    """Lines come to totals, totals to gross, and what the shop earns is what is left of them."""
    totals, margin, currency = quote.totals, quote.margin, quote.currency
    assert [key for key, count in Counter(line.key for line in quote.lines).items() if count > 1] == []
    headings = [heading for heading, _ in groupby(quote.lines, lambda line: line.heading)]
    assert list(quote.headings) == headings
    for line in quote.lines:
        less = line.quantity * line.price * line.discount
        assert line.net == line_net(line.quantity, line.price, currency, allowances=[less])
        assert (line.net, line.cost) == (round_money(line.net, currency), round_money(line.cost, currency))
    assert totals.lines == sum((line.net for line in quote.lines), NOTHING)
    assert totals.net == totals.lines - totals.allowances == sum((one.taxable for one in totals.groups), NOTHING)
    assert [one.amount for one in totals.groups] == [tax_on(one.taxable, one.tax, currency) for one in totals.groups]
    assert totals.tax == sum((one.amount for one in totals.groups), NOTHING)
    assert totals.gross == totals.net + totals.tax == quote.deposit + quote.balance
    assert margin.net == totals.net - quote.core == sum((one.net for one in margin.by_kind), NOTHING)
    assert margin.cost == sum((line.cost for line in quote.lines if line.kind != "core"), NOTHING)
    assert margin.cost == sum((one.cost for one in margin.by_kind), NOTHING)
    assert quote.deposit >= 0
    assert quote.on <= quote.schedule.begins <= quote.schedule.ready


# All that can be asked


def services(desk: Desk) -> Iterator[tuple[str, str]]:
    """Each engine, the car too, with each level of its ladder."""
    for engine in desk.names.engines:
        carrier = CAR if engine == CAR else "engine"
        yield from ((engine, level) for level, its in desk.names.levels.items() if its == carrier)


def questions(desk: Desk) -> Iterator[tuple[Asked, tuple[str, ...]]]:
    """Every event before which a service can be, every slot in every way in which one can be asked for, every case."""
    ways = ("", "=", "=new", "=hone", "=grind-010")
    for engine, level in services(desk):
        of = {"engine": engine, "level": level}
        yield from ((asked_for(**of, before=event), ()) for event in ("", *desk.names.events))
        for slot in desk.names.slots:
            yield from ((asked_for(**of), (f"{slot}{way}",)) for way in ways)
            yield from ((asked_for(**of, **{key: [slot]}), ()) for key in ("renew", "keep", "broken", "bad"))
            yield asked_for(**of, pieces={slot: 1}, renew=[slot]), ()
        for slot, case in desk.names.cases:
            yield asked_for(**of, of=slot, case=case, basis="fixed"), ()
    for slot in desk.names.slots:
        yield asked_for(without=[slot]), ()
        yield from ((asked_for(), (f"{slot}{way}",)) for way in ("", "=new"))


def test_whatever_the_small_scenario_is_asked_on_whatever_day_there_is_a_quote_that_adds_up_or_a_problem() -> None:
    desk, quoted = desk_of(BASE, "scenario/engine/cedar/owned=true"), 0
    for day in (date(2030, 6, 1), DAY, date(2031, 4, 10), date(2031, 4, 21), date(2032, 1, 1)):
        quoted += sum(quote_of(desk, asked, day, bad) is not None for asked, bad in questions(desk))
    assert quoted > 500


def test_whatever_the_demo_is_asked_there_is_a_quote_that_adds_up_or_a_problem() -> None:
    """One in many of the questions, each on the day of another month."""
    desk = desk_of(DEMO, "scenario/engine/red/owned=true")
    days = [date(2027, month, 12) for month in range(1, 13)]
    asked = list(questions(desk))[::29]
    found = [quote_of(desk, one, days[number % 12], bad) for number, (one, bad) in enumerate(asked)]
    assert sum(quote is not None for quote in found) > 50


def test_every_slot_and_every_case_of_damage_that_leaves_an_engine_can_be_asked_for_on_the_demo() -> None:
    desk = desk_of(DEMO)
    asking, _ = desk.asking(asked_for(engine="blue", level="freshen"), MAY)
    assert asking is not None
    assert asking.opening is not None
    reached = set(asking.opening.spots)
    for slot in desk.names.slots:
        for bad in (slot, f"{slot}=new"):
            assert (quote_of(desk, asking.asked, MAY, (bad,)) is not None) == (slot in reached)
    lost = {(row.slot, row.case) for row in desk.scenario.files.cases if row.loses_engine}
    for slot, case in desk.names.cases:
        in_car = slot in desk.names.slots and slot not in reached
        engine, level = (CAR, "driveline") if in_car else ("blue", "rebuild")
        quote = quote_of(desk, asked_for(engine=engine, level=level, of=slot, case=case), MAY)
        assert (quote is None) == ((slot, case) in lost)


@pytest.mark.parametrize("sets", [(), ("scenario/engine/red/owned=true", "work/wash/jobs=freshen springs car-side")])
def test_the_seasons_offers_add_up_whenever_they_are_asked_for(sets: tuple[str, ...]) -> None:
    desk = desk_of(DEMO, *sets)
    for day in (date(2026, 12, 1), *(date(2027, month, 25) for month in range(1, 13, 2)), date(2028, 3, 1)):
        offers, problems = offers_of(desk, day)
        assert offers is not None, problems
        for one in offers.offers:
            adds_up(one.quote)
        assert offers.net == sum((one.work + one.parts for one in offers.offers), NOTHING)
        assert copy_of_offers(offers).gross == offers.gross


def test_a_case_of_the_car_is_no_case_of_the_engine() -> None:
    desk = desk_of(DEMO)
    asked = asked_for(engine="blue", level="freshen", of="clutch", case="flywheel scored")
    asking, _ = desk.asking(asked, MAY)
    assert asking is not None
    _, (problem,) = make_quote(asking)
    assert (problem.code, problem.field, problem.value) == ("QUO012", "of", "clutch")


def test_an_operation_after_damage_is_done_to_a_slot_that_no_position_has() -> None:
    desk = desk_of(DEMO)
    quote = quote_of(desk, asked_for(engine=CAR, level="driveline", of="clutch", case="flywheel scored"), MAY)
    assert quote is not None
    assert "operation/resurface/flywheel" in [line.key for line in quote.lines]


def test_an_allowance_by_a_step_that_is_done_already_goes_on_to_the_next() -> None:
    ground = desk_of(DEMO, "garage/blue-crank/step=2")
    asked, _ = ground.request("freshen-blue")
    assert asked is not None
    quote = quote_of(ground, asked, date(2027, 1, 11))
    assert quote is not None
    assert "crank" in [one.word for one in quote.allowances]


def test_the_steps_that_are_left_are_told_once_each() -> None:
    asking, _ = desk_of(DEMO).asking(asked_for(engine="blue", level="freshen", bad=["rods=hone"]), date(2027, 1, 11))
    assert asking is not None
    _, (problem,) = make_quote(asking)
    assert problem.advice == "give resize, new"


@pytest.mark.parametrize("failed", ["piston", "springs"])
def test_an_engine_that_failed_yesterday_can_be_quoted(failed: str, folder: Path) -> None:
    (folder / "log.csv").write_text(
        f"date,what,engine,event,slot,count\n2031-03-10,ran,amber,shakedown,,\n2031-03-24,ran,amber,opener,,\n"
        f"2031-03-24,failed,amber,opener,{failed},1\n",
        "utf-8",
    )
    desk = desk_of(folder)
    for day in (date(2031, 3, 24), date(2031, 3, 25)):
        quote = quote_of(desk, asked_for(engine="amber", level="full", broken=[failed]), day)
        assert quote is not None
        assert failed in [slot for line in quote.lines for slot in line.slots]


# Money at its ends


@pytest.mark.parametrize("share", ["0 %", "100 %"])
def test_nothing_and_all_can_be_taken_off_the_whole_and_a_line(share: str, folder: Path) -> None:
    whole = price(folder, SERVICE + f'discount = "{share}"\n')
    line = price(folder, SERVICE + f'[[price]]\nline = "work/strip"\nprice = 60\ndiscount = "{share}"\n')
    extra = price(folder, SERVICE + f'[[line]]\nname = "a"\nkind = "fees"\nprice = 10\ndiscount = "{share}"\n')
    strip = next(one for one in line.lines if one.key == "work/strip")
    if share == "100 %":
        assert (whole.totals.gross, whole.margin.margin, whole.deposit) == (NOTHING, None, NOTHING)
        assert (strip.net, strip.margin, extra.lines[-1].net) == (NOTHING, None, NOTHING)
    else:
        assert whole.totals.allowances == 0
        assert (strip.net, extra.lines[-1].net) == (Decimal(90), Decimal(10))


FREE = "work,kind,price,cost\nseal,fees,0,0\n"


def test_where_everything_is_free_there_is_no_margin_and_none_is_shown(folder: Path) -> None:
    (folder / "work.csv").write_text(FREE, "utf-8")
    quote = price(folder, HEAD + 'without = ["piston", "springs", "pump"]\n')
    assert (quote.totals.gross, quote.margin.margin, quote.margin.markup) == (NOTHING, None, None)
    _, out, _ = run("quote", "price", folder, "x", "--rise", "6 %", "--on", DAY)
    assert "a margin of none of the price." in " ".join(out.split())


def test_where_nothing_costs_anything_the_whole_price_is_earned_and_none_keeps_the_margin(folder: Path) -> None:
    (folder / "work.csv").write_text("work,kind,price,cost\nseal,fees,5,0\n", "utf-8")
    quote = price(folder, HEAD + 'without = ["piston", "springs", "pump"]\n')
    assert quote.margin.margin == 1
    risen = answer("quote", "price", folder, "x", "--rise", "6 %", "--on", DAY)["if_prices_rise"]
    assert (risen["keeps"], risen["breaks_even"]) == (None, None)


CREDIT = '[[line]]\nname = "Old engine"\nkind = "credit"\nquantity = -1\nprice = 10000\ncost = 9500\n'


def test_a_credit_larger_than_the_work_is_paid_out_and_asks_no_deposit(folder: Path) -> None:
    quote = price(folder, SERVICE + CREDIT)
    assert quote.totals.gross < 0
    assert (quote.deposit, quote.balance) == (NOTHING, quote.totals.gross)


def test_a_customer_who_works_himself_makes_no_day_negative(folder: Path) -> None:
    line = '[[line]]\nname = "Own hours"\nkind = "labour"\nunit = "h"\nquantity = -100\nprice = 60\ncost = 38\n'
    quote = price(folder, SERVICE + line)
    assert (quote.schedule.days, quote.schedule.ready) == (0, quote.schedule.begins)


LINES = """
[[line]]
name = "by weight"
kind = "supplies"
quantity = 0.333333333
unit = "lb"
price = 19.99
[[line]]
name = "finer than the minor unit"
kind = "fees"
quantity = 1e3
price = 0.00005
discount = 0.125
[[line]]
name = "a fortune"
kind = "parts"
quantity = 10000
price = 1e12
cost = 999999999999.99
"""


@pytest.mark.parametrize(
    ("currency", "digits"), [("EUR", 2), ("JPY", 0), ("KWD", 3)], ids=["two digits", "none", "three"]
)
def test_odd_quantities_are_rounded_to_the_minor_unit_line_by_line(currency: str, digits: int, folder: Path) -> None:
    rates = 'rate = 0.9\nsince = 2031-01-01\n\n[[rate]]\ncurrency = "EUR"\nrate = 1.7\n' if currency != "EUR" else ""
    spoil(folder / "scenario.toml", 'currency = "EUR"', f'currency = "{currency}"')
    spoil(folder / "scenario.toml", "rate = 0.9\n", rates or "rate = 0.9\n")
    spoil(folder / "shop.toml", 'currency = "EUR"', f'currency = "{currency}"')
    for request in (SERVICE + LINES, HEAD + 'basis = "fixed"\ndiscount = "3.3 %"\n' + LINES):
        quote = price(folder, request)
        assert quote.currency == currency
        exponents = {line.net.as_tuple().exponent for line in quote.lines}
        assert exponents == {-digits}


def spoil(path: Path, old: str, new: str) -> None:
    text = path.read_text("utf-8")
    assert text.count(old) == 1
    path.write_text(text.replace(old, new), "utf-8")


def test_a_shop_takes_tax_out_of_prices_that_hold_it(folder: Path) -> None:
    without = price(folder, HEAD)
    spoil(
        folder / "parts" / "catalog.toml", 'currency = "EUR"', 'currency = "EUR"\ntax_included = true\ntax_rate = 0.25'
    )
    less = price(folder, HEAD)
    pump = [next(line for line in quote.lines if line.part == "W-1") for quote in (without, less)]
    assert [line.cost for line in pump] == [Decimal("95.00"), Decimal("76.00")]


def test_where_the_rate_of_that_tax_is_missing_it_is_a_problem(folder: Path) -> None:
    spoil(folder / "parts" / "catalog.toml", 'currency = "EUR"', 'currency = "EUR"\ntax_included = true')
    desk, problems = open_desk(folder)
    assert desk is None
    assert [problem.code for problem in problems] == ["MON004"]


def test_before_the_first_price_of_all_the_earliest_ones_hold(folder: Path) -> None:
    early, late = price(folder, HEAD, date(1950, 1, 1)), price(folder, HEAD, DAY)
    assert early.totals.gross == late.totals.gross
    assert not early.stale


# Books with next to nothing in them


def test_a_book_without_terms_of_suppliers_buys_at_list_prices_without_freight(folder: Path) -> None:
    text = (folder / "shop.toml").read_text("utf-8")
    start, end = text.index("[[supplier]]"), text.index("[[allowance]]")
    (folder / "shop.toml").write_text(text[:start] + text[end:], "utf-8")
    quote = price(folder, HEAD)
    assert next(line.cost for line in quote.lines if line.part == "P-54") == Decimal("80.00")
    assert [line for line in quote.lines if line.kind == "freight"] == []


def test_work_with_its_header_alone_leaves_parts(folder: Path) -> None:
    (folder / "work.csv").write_text("work,hours\n", "utf-8")
    quote = price(folder, HEAD)
    assert {line.kind for line in quote.lines} == {"parts", "freight", "core"}
    assert (quote.hours, quote.if_stopped, quote.schedule.days) == (NOTHING, NOTHING, 0)


def test_an_engine_that_has_neither_levels_nor_lives_can_still_be_built(folder: Path) -> None:
    gone = ("levels", "positions", "damage", "services", "hazards", "garage", "parts/lives")
    for name in gone:
        (folder / f"{name}.csv").unlink()
    spoil(folder / "calendar.csv", "shop week,2031-04-05,service,,,,,,,,,,,top,40,,,\n", "")
    spoil(folder / "scenario.toml", 'rules = ["rules-cup.toml"]\n', "")
    spoil(folder / "scenario.toml", "[car]\nsince = { outside = 1 }\n", "")
    spoil(folder / "scenario.toml", 'name = "amber"\nsince = { top = 1 }\n', 'name = "amber"\n')
    spoil(folder / "work.csv", "top full", "build")
    spoil(folder / "work.csv", "full build", "build")
    assert price(folder, HEAD).of == "new engine"
    assert faults_of(folder, SERVICE) == ["5: level QUO005"]
    assert run("quote", "offers", folder)[::2] == (0, "")


def test_a_scenario_without_an_engine_says_what_it_lacks(tmp_path: Path) -> None:
    assert run("new", "--simple", tmp_path / "simple")[0] == 0
    status, _, err = run("quote", "list", tmp_path / "simple")
    assert status == 2
    assert "this question needs a build" in err


# What is asked at odds with itself


@pytest.mark.parametrize(
    ("request_text", "faults"),
    [
        (SERVICE + 'renew = ["springs"]\npieces = { springs = 3 }\n', ["7: pieces.springs REA018"]),
        (SERVICE + "pieces = { pump = 1 }\n", ["6: pieces QUO012"]),
        (HEAD + "pieces = { springs = 1 }\n", ["4: pieces QUO006"]),
        (SERVICE + '[[price]]\nline = "work/strip"\n', ["6: price.1.price REA016"]),
        (HEAD + '[[price]]\nline = "core/W-1"\nprice = 0\n', ["4: line QUO008"]),
        (HEAD + '[[price]]\nline = "held/parts"\nprice = 0\n', ["4: line QUO008"]),
        (SERVICE + 'before = "shop weak"\n', ["6: before QUO005"]),
    ],
    ids=["more pieces than there are", "pieces of the car", "pieces of a new engine", "no price", "core", "held", "?"],
)
def test_what_cannot_be_meant_is_a_problem_at_its_line(request_text: str, faults: list[str], folder: Path) -> None:
    assert faults_of(folder, request_text) == faults


def test_what_a_price_below_zero_is_refused_for_is_said_in_the_columns() -> None:
    said = {column.name: column.meaning for column in columns(ExtraRow)}
    assert "a credit has a negative quantity" in said["price"]
    assert "negative for a credit" in said["quantity"]


@pytest.mark.parametrize("line", ["freight", "supplies", "work/seal", "part/P-54"])
def test_every_line_that_the_shop_makes_can_be_given_a_price(line: str, folder: Path) -> None:
    quote = price(folder, HEAD + f'[[price]]\nline = "{line}"\nprice = 1.25\ndiscount = "20 %"\n')
    found = next(one for one in quote.lines if one.key == line)
    assert (found.price, found.net) == (Decimal("1.25"), found.quantity)


def test_hours_that_no_bench_works_off_are_a_problem_and_no_day_behind_all_calendars(folder: Path) -> None:
    spoil(folder / "shop.toml", "hours_a_day = 6", "hours_a_day = 0.001")
    line = '[[line]]\nname = "a"\nkind = "labour"\nunit = "h"\nquantity = 10000\nprice = 1\n'
    assert faults_of(folder, HEAD + line) == ["None: hours_a_day REA018"]
    assert price(folder, HEAD, DAY, "shop/hours_a_day=0.5", "shop/valid_days=10000").valid_until.year == 2058


def test_the_last_day_that_can_be_asked_for_has_days_behind_it(folder: Path) -> None:
    sets = ("shop/queue_days=10000", "shop/core_days=10000", "shop/valid_days=10000", "suppliers/Hill/queue_days=10000")
    quote = price(folder, HEAD, date(2149, 12, 31), *sets)
    assert quote.schedule.ready > quote.on
    assert after_workdays(quote.on, 10_000, 5).year == 2188


# Names that are more than names

HOSTILE = {
    "typst": '#read("/etc/passwd") #panic() *bold* _it_ $x^2$ @ref // <label> `raw`',
    "html": "<script>alert(1)</script> &amp; <b>",
    "rich": "[bold red]x[/] [link=http://x]y[/link] :smile:",
    "formula": '=HYPERLINK("http://x","y")',
    "emoji": "Schraube ⚙️ 🔧 ½ ﬁ",
    "right to left": "מנוע قطعة",
    "long": "x" * 4_000,
    "backslashes": r"\u001b[31m \n \ % { } ${HOME} $(id)",
}


@pytest.mark.parametrize("name", HOSTILE.values(), ids=HOSTILE)
def test_a_name_is_shown_as_it_is_on_a_page_in_json_and_in_csv(name: str, folder: Path) -> None:
    quoted = json.dumps(name, ensure_ascii=False)
    head = f"number = {quoted}\ntitle = {quoted}\ncustomer = {quoted}\nnotes = [{quoted}]\n"
    head += 'engine = "amber"\nlevel = "top"\n'
    line = f'[[line]]\nname = {quoted}\nheading = {quoted}\nkind = "parts"\nprice = 1\nunit = {quoted}\n'
    price(folder, head + line)
    for flags in ((), ("--customer",)):
        status, out, err = run("quote", "price", folder, "x", *flags, "--on", DAY)
        assert (status, err) == (0, "")
        assert "".join(name.split()) in "".join(out.split())
        found = answer("quote", "price", folder, "x", *flags, "--on", DAY)
        found = found["copy" if flags else "quote"]
        assert found["title"] == found["customer"]["name"] == found["lines"][-1]["name"] == name
        rows = list(csv.DictReader(io.StringIO(run("quote", "price", folder, "x", *flags, "--on", DAY, "--csv")[1])))
        assert rows[-1]["name"].removeprefix("'") == rows[-1]["heading"].removeprefix("'") == name
        assert not rows[-1]["name"].startswith("=")


@pytest.mark.parametrize("mark", ["\\u001b[31m", "\\u202e", "\\u200f", "\\u0007", "\\u009b2J"], ids=repr)
def test_what_steers_a_terminal_is_no_name_and_is_never_printed(mark: str, folder: Path) -> None:
    assert faults_of(folder, HEAD + f'notes = ["a{mark}b"]\n') == ["4: notes.1 REA017"]
    tables = f'[[supplied]]\nslot = "piston"\ncondition = "used"\nnote = "a{mark}b"\n'
    tables += f'[[option]]\nname = "o"\nslot = "springs"\npart = "S-21"\nsays = "a{mark}b"\n'
    price(folder, HEAD + tables)
    for flags in ((), ("--why",), ("--customer",)):
        _, out, _ = run("quote", "price", folder, "x", *flags, "--on", DAY)
        assert "a·" in out
        assert all(char.isprintable() or char == "\n" for char in out)


# Much of it


def test_two_thousand_lines_are_priced_and_compared_like_two(folder: Path) -> None:
    def many(price_of_one: str) -> str:
        kinds = ("parts", "labour", "fees", "supplies")
        lines = (f'[[line]]\nname = "{n}"\nkind = "{kinds[n % 4]}"\nprice = {price_of_one}\n' for n in range(2_000))
        return SERVICE + "".join(lines)

    (folder / "quote-y.toml").write_text(many("0.335"), "utf-8")
    (folder / "quote-z.toml").write_text(many("1"), "utf-8")
    before, after = (quote_of(desk_of(folder), plain(folder, name), DAY) for name in ("y", "z"))
    assert before is not None
    assert after is not None
    found = difference(before, after)
    assert len(found.moved) == 2_001  # and the shop's supplies, which are a share of labour
    assert sum(one.more for one in found.moved) == found.lines == after.totals.lines - before.totals.lines
    extras = [line.net for line in before.lines if line.key.startswith("extra/")]
    assert sum(extras) == 2_000 * Decimal("0.34")


def plain(folder: Path, name: str) -> Asked:
    asked, problems = desk_of(folder).request(name)
    assert asked is not None, problems
    return asked


def test_every_request_that_comes_with_the_tool_adds_up() -> None:
    desk = desk_of(DEMO)
    for name in requests_in(DEMO):
        asked = plain(DEMO, name)
        assert quote_of(desk, asked, asked.head.date or MAY) is not None
