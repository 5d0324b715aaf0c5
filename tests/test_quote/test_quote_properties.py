"""What holds for every quote, whatever is asked: on the demo's requests with what hypothesis asks beyond them."""

from __future__ import annotations

import csv
import math
import shutil
from collections.abc import Iterable
from dataclasses import dataclass, replace
from datetime import date, timedelta
from decimal import ROUND_HALF_UP, Decimal
from functools import cache
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from costplan.quote import Asking, make_quote
from costplan.quote.desk import Desk, open_desk
from costplan.quote.offers import offers_of
from costplan.quote.records import Line, Quote
from costplan.quote.request import ExtraRow, PriceRow
from costplan.quote.revisions import FORM, Revision, difference, file_of, read_revision, to_text
from costplan.quote.totals import totals_of
from costplan.quote.whatif import if_bad, if_prices_rise
from tests.command_line import answer

D = Decimal
ROOT = Path(__file__).parents[2]
DEMO = ROOT / "scenarios/oval-v8"
DAYS = {"new-engine": date(2027, 2, 1), "freshen-blue": date(2027, 1, 11), "rebuild-blue": date(2027, 6, 1)}
CENT, HALF = D("0.01"), D("0.005")

quick = settings(max_examples=8, deadline=None)


@cache
def desk() -> Desk:
    found, problems = open_desk(DEMO)
    assert found is not None, problems
    return found


@cache
def demo(name: str) -> Asking:
    """A request of the demo as it stands, on its day."""
    return asking_on(desk(), name, DAYS[name])


def asking_on(where: Desk, name: str, on: date) -> Asking:
    asked, problems = where.request(name)
    assert asked is not None, problems
    asking, problems = where.asking(asked, on)
    assert asking is not None, problems
    return asking


def quoted(asking: Asking) -> Quote:
    quote, problems = make_quote(asking)
    assert quote is not None, problems
    return quote


def with_head(asking: Asking, **changes: object) -> Asking:
    return replace(asking, asked=replace(asking.asked, head=asking.asked.head.model_copy(update=changes)))


def with_book(asking: Asking, **changes: object) -> Asking:
    """The shop asking another mark-up, another target ..."""
    header = asking.book.header
    markup = {
        key: value for key, value in changes.items() if key in type(header.markup).model_fields and key != "supplies"
    }
    rest = {key: value for key, value in changes.items() if key not in markup}
    update = {**rest, "markup": header.markup.model_copy(update=markup)}
    return replace(asking, book=replace(asking.book, header=header.model_copy(update=update)))


def of_kind(lines: Iterable[Line], *kinds: str) -> Decimal:
    return sum((line.net for line in lines if line.kind in kinds), D(0))


@dataclass(frozen=True)
class Wish:
    """A request of the demo with another discount and basis, further lines, prices agreed, options taken or not."""

    name: str
    extras: tuple[ExtraRow, ...]
    prices: tuple[PriceRow, ...]
    taken: tuple[bool, ...]
    discount: Decimal
    basis: str

    @property
    def asking(self) -> Asking:
        asking, asked = demo(self.name), demo(self.name).asked
        options = (row.model_copy(update={"take": take}) for row, take in zip(asked.options, self.taken, strict=False))
        asked = replace(asked, extras=(*asked.extras, *self.extras), prices=self.prices, options=tuple(options))
        return with_head(replace(asking, asked=asked), discount=self.discount, basis=self.basis)


SHARES = st.sampled_from([D("0.01"), D("0.035"), D("0.125"), D("0.3333"), D("0.5")])
EXTRAS = st.builds(
    lambda n, kind, quantity, price, cost, discount: ExtraRow(
        name=f"further {n}", kind=kind, quantity=quantity, price=price, cost=cost, discount=discount
    ),
    st.integers(1, 10**6),
    st.sampled_from(["parts", "labour", "sublet", "supplies", "fees", "credit", "freight"]),
    st.sampled_from([D(1), D(3), D("-1"), D("0.25")]),
    st.decimals(0, 500, places=2),
    st.decimals(0, 300, places=2),
    SHARES | st.just(D(0)),
)
PRICES = st.builds(
    lambda line, price, discount: PriceRow(line=line, price=price, discount=discount),
    st.sampled_from(["work/lash", "work/springs-set", "work/accessories", "work/seal", "work/gaskets-fluids"]),
    st.none() | st.decimals(0, 400, places=2),
    SHARES,
)


def wishes(*names: str) -> st.SearchStrategy[Wish]:
    return st.builds(
        Wish,
        st.sampled_from(names or tuple(DAYS)),
        st.lists(EXTRAS, max_size=3, unique_by=lambda row: row.name).map(tuple),
        st.lists(PRICES, max_size=2, unique_by=lambda row: row.line).map(tuple),
        st.sampled_from([(False, False, False), (True, False, False), (False, True, False), (True, False, True)]),
        SHARES | st.just(D(0)),
        st.sampled_from(["fixed", "estimate"]),
    )


# Sums -----------------------------------------------------------------------------------------------------------------


@quick
@given(wishes())
def test_lines_add_up_to_the_totals_and_the_deposit_with_the_balance_to_the_gross(wish: Wish) -> None:
    quote, totals = quoted(wish.asking), quoted(wish.asking).totals
    assert sum(line.net for line in quote.lines) == totals.lines
    assert totals.lines - quote.discount == totals.net == sum(group.taxable for group in totals.groups)
    assert totals.net + totals.tax == totals.gross == quote.deposit + quote.balance
    assert quote.discount == totals.allowances
    assert quote.margin.net + quote.core == totals.net
    assert sum(kind.net for kind in quote.margin.by_kind) == quote.margin.net
    assert sum(kind.cost for kind in quote.margin.by_kind) == quote.margin.cost
    undiscounted = totals_of(((line.net, line.tax) for line in quote.lines), quote.currency)
    assert {group.tax for group in undiscounted.groups} == {group.tax for group in totals.groups}


@quick
@given(wishes())
def test_a_line_is_quantity_times_price_less_its_discount_each_rounded(wish: Wish) -> None:
    for line in quoted(wish.asking).lines:
        exact = line.quantity * line.price
        assert abs(line.net - exact * (1 - line.discount)) <= 2 * HALF
        assert line.discount or abs(line.net - exact) <= HALF
        assert line.net == line.net.quantize(CENT)


@quick
@given(wishes())
def test_what_tear_down_may_show_adds_its_likely_ways_at_their_chances_and_at_worst_the_dearest(wish: Wish) -> None:
    quote = quoted(wish.asking)
    after, margin, totals = quote.after, quote.margin, quote.totals
    likely = sum((D(repr(one.chance)) * one.likely_more.net for one in quote.allowances), D(0))
    if quote.basis == "fixed":
        assert after.expected_net == after.worst_net == totals.net
    else:
        assert abs(after.expected_net - totals.net - likely) <= HALF
        assert after.worst_net >= totals.net
    assert after.worst_cost >= margin.cost - sum(line.cost for line in quote.lines if line.key.startswith("held/"))
    assert all(one.worst_more.net >= one.likely_more.net for one in quote.allowances)
    all_of_them = math.prod(one.chance for one in quote.allowances) if quote.allowances else 0
    assert after.unlikely == pytest.approx(all_of_them)


@quick
@given(wishes())
def test_the_floor_is_the_least_price_with_the_margin_that_the_shop_wants(wish: Wish) -> None:
    margin = quoted(wish.asking).margin
    assert margin.floor - margin.cost >= margin.target * margin.floor
    less = margin.floor - CENT
    assert less - margin.cost < margin.target * less
    assert margin.above_floor == margin.net - margin.floor


def test_the_same_work_on_two_alternates_is_two_lines_with_keys_of_their_own() -> None:
    sets = [
        "oval-v8/operations/resurface/role=carburetor",
        "build/28/operations=resurface",
        "build/29/operations=resurface",
    ]
    where, problems = open_desk(DEMO, [*sets, "quote-new-engine/without=clutch"])
    assert where is not None, problems
    quote = quoted(asking_on(where, "new-engine", DAYS["new-engine"]))
    faced = [(line.key, line.net) for line in quote.lines if line.key.startswith("operation/resurface")]
    assert [net for _, net in faced] == [D("51.75"), D("51.75")]  # 45, and 15 % on it
    assert len({line.key for line in quote.lines}) == len(quote.lines)


# More and less --------------------------------------------------------------------------------------------------------


@quick
@given(wishes(), st.sampled_from(["0.05", "0.1234", "0.9"]))
def test_a_higher_mark_up_raises_the_price_and_the_margin(wish: Wish, more: str) -> None:
    low, high = (quoted(with_book(wish.asking, parts=D(text), sublet=D("0.15"))) for text in ("0.04", more))
    assert low.margin.net < high.margin.net
    assert low.margin.earned < high.margin.earned
    assert low.basis == "fixed" or low.margin.cost == high.margin.cost
    assert low.margin.margin is not None
    assert high.margin.margin is not None
    assert low.margin.margin < high.margin.margin


@quick
@given(wishes(), st.integers(1, 5))
def test_a_higher_discount_lowers_the_price_and_touches_neither_cores_nor_credits(wish: Wish, steps: int) -> None:
    asking = with_head(wish.asking, discount=D(0), basis="estimate")
    full, less = quoted(asking), quoted(with_head(asking, discount=D(steps) / 100))
    base = full.totals.lines - of_kind(full.lines, "core", "credit")
    groups = len(full.totals.groups)
    assert abs(full.totals.net - less.totals.net - base * steps / 100) <= groups * HALF
    assert full.lines == less.lines


@quick
@given(wishes("freshen-blue", "new-engine"), st.data())
def test_an_option_is_the_quote_with_it_less_the_quote_without_it(wish: Wish, data: st.DataObject) -> None:
    """Beside options for other slots: of two for one slot at most one is taken."""
    wish = replace(wish, taken=(wish.taken[0], wish.taken[1], False))
    asking = wish.asking
    n = data.draw(st.integers(0, 1))
    with_it, without = (quoted(_with_option(asking, n, take=take)) for take in (True, False))
    for quote in (with_it, without) if asking.asked.head.basis == "estimate" else ():
        more = quote.options[n].more
        assert more.net == with_it.totals.net - without.totals.net
        assert more.gross == with_it.totals.gross - without.totals.gross
        assert more.cost == with_it.margin.cost - without.margin.cost
    assert with_it.options[n].more == without.options[n].more


def _with_option(asking: Asking, n: int, *, take: bool) -> Asking:
    rows = list(asking.asked.options)
    rows[n] = rows[n].model_copy(update={"take": take})
    return replace(asking, asked=replace(asking.asked, options=tuple(rows)))


def test_dearer_parts_never_make_the_parts_of_a_new_engine_cheaper_and_save_at_most_the_freight() -> None:
    """Of each part the cheapest offer is taken, and the least of sums that only rise never falls. Freight may: a dearer
    order may come free. With the kits of a service, which are chosen one by one, nothing so plain holds."""
    before = quoted(demo("new-engine"))
    for price in ("1440", "1441", "1490", "2400"):
        where, problems = open_desk(
            DEMO, [f"oval-v8/bottom-end/QM-K304/price={price}", "shop/supplier/Quolmeck/free_from=4999"]
        )
        assert where is not None, problems
        after = quoted(asking_on(where, "new-engine", DAYS["new-engine"]))
        assert of_kind(after.lines, "parts") >= of_kind(before.lines, "parts")
        freight = of_kind(after.lines, "freight") - of_kind(before.lines, "freight")
        assert after.totals.net >= before.totals.net + min(freight, D(0))


def test_a_dearer_part_that_brings_an_order_free_of_freight_makes_the_quote_cheaper() -> None:
    """By rods that cost a dollar more, with Quolmeck's freight of 32 free from what is ordered there and a cent."""
    ordered = sum(
        line.cost for line in quoted(demo("new-engine")).lines if line.supplier == "Quolmeck" and line.kind == "parts"
    )
    free = f"shop/supplier/Quolmeck/free_from={ordered + CENT}"
    nets = []
    for price in ("980", "981"):
        where, problems = open_desk(DEMO, [free, f"oval-v8/bottom-end/QM-R600/price={price}"])
        assert where is not None, problems
        nets.append(quoted(asking_on(where, "new-engine", DAYS["new-engine"])).totals.net)
    assert nets[1] - nets[0] == D("1.15") - 32  # 0.90 to the shop, 28 % on it


@quick
@given(wishes(), st.sampled_from(["0.01", "0.06", "0.3333", "-0.1"]))
def test_a_rise_scales_the_cost_of_parts_line_by_line_and_nothing_else(wish: Wish, rise: str) -> None:
    asking, share = with_head(wish.asking, basis="estimate"), D(rise)
    before, after = quoted(asking), quoted(replace(asking, rise=share))
    costs = {line.key: line.cost for line in after.lines}
    for line in before.lines:
        if line.key.startswith(("part/", "kit/")):
            assert abs(costs[line.key] - line.cost * (1 + share)) < CENT + HALF * abs(share)
        elif line.key != "freight":
            assert costs[line.key] == line.cost


# Two quotes -----------------------------------------------------------------------------------------------------------


@quick
@given(wishes(), wishes())
def test_moved_lines_add_up_to_the_difference_and_back_again(one: Wish, other: Wish) -> None:
    before, after = quoted(one.asking), quoted(other.asking)
    there, back = difference(before, after), difference(after, before)
    assert sum(moved.more for moved in there.moved) == there.lines == after.totals.lines - before.totals.lines
    assert there.net == after.totals.net - before.totals.net == -back.net
    assert (there.gross, there.cost, there.earned) == (-back.gross, -back.cost, -back.earned)
    assert there.tax == after.totals.tax - before.totals.tax == there.gross - there.net
    assert there.cost == after.margin.cost - before.margin.cost
    assert there.earned == after.margin.earned - before.margin.earned
    assert {moved.key: moved.more for moved in there.moved} == {moved.key: -moved.more for moved in back.moved}
    assert there.same == back.same
    assert there.same + len(there.moved) == len({line.key for line in (*before.lines, *after.lines)})


@quick
@given(wishes())
def test_nothing_moves_between_a_quote_and_itself(wish: Wish) -> None:
    quote = quoted(wish.asking)
    found = difference(quote, quoted(wish.asking))
    assert (found.moved, found.said, found.lines, found.cost) == ((), (), D(0), D(0))
    assert found.same == len(quote.lines)


@quick
@given(wishes(), st.sampled_from(["0", "0.08", "-0.2"]), st.integers(0, 20))
def test_agreed_lines_keep_their_price_whatever_suppliers_ask_later(wish: Wish, rise: str, days: int) -> None:
    asking, agreed = wish.asking, quoted(wish.asking)
    held = {line.key: line for line in agreed.lines if line.heading != "Held against tear-down"}
    later = replace(asking, rise=D(rise), on=asking.on + timedelta(days=days), held=held)
    follows = ("supplies", "freight", "core/", "held/")
    before, after = ({line.key: line.net for line in quote.lines} for quote in (agreed, quoted(later)))
    assert {key: net for key, net in after.items() if not key.startswith(follows)} == {
        key: net for key, net in before.items() if not key.startswith(follows)
    }


def test_a_line_that_costs_the_shop_more_at_the_same_price_has_moved() -> None:
    agreed = quoted(demo("freshen-blue"))
    held = {line.key: line for line in agreed.lines}
    later = quoted(replace(demo("freshen-blue"), rise=D("0.1"), held=held))
    moved = {line.key: (line.more, line.why) for line in difference(agreed, later).moved}
    assert moved["kit/DW-KF"] == (D(0), "cost 615.12 -> 676.63")
    assert moved.keys() == {line.key for line in agreed.lines if line.key.startswith(("part/", "kit/"))}


@quick
@given(wishes(), st.sampled_from(["0.01", "0.06", "0.25"]))
def test_a_price_that_is_held_while_suppliers_rise_leaves_the_shop_less(wish: Wish, rise: str) -> None:
    quote, share = quoted(wish.asking), D(rise)
    up = quoted(replace(wish.asking, rise=share))
    risen, problems = if_prices_rise(wish.asking, quote, share)
    assert risen is not None, problems
    assert risen.cost == up.margin.cost == quote.margin.cost + risen.more_cost
    assert risen.earned == quote.margin.net - risen.cost == quote.margin.earned - risen.more_cost
    assert risen.margin == risen.earned / quote.margin.net
    assert (risen.repriced, risen.repriced_gross) == (up.margin.net, up.totals.gross)
    assert (risen.repriced_earned, risen.repriced_margin) == (up.margin.earned, up.margin.margin)
    assert risen.keeps is not None
    assert quote.margin.margin is not None
    assert risen.keeps - risen.cost >= quote.margin.margin * risen.keeps - CENT / 100
    assert risen.keeps - CENT - risen.cost < quote.margin.margin * (risen.keeps - CENT)


def test_at_the_rise_that_breaks_even_nothing_is_left_but_rounding() -> None:
    """Where no order comes free of freight on the way."""
    asking = replace(demo("freshen-blue"), book=replace(demo("freshen-blue").book, suppliers=()))
    quote = quoted(asking)
    risen, problems = if_prices_rise(asking, quote, D("0.06"))
    assert risen is not None, problems
    assert risen.breaks_even is not None
    lost, problems = if_prices_rise(asking, quote, risen.breaks_even)
    assert lost is not None, problems
    assert abs(lost.earned) < quote.margin.earned / 1000
    assert D("0.5") < risen.breaks_even < D(1)


@quick
@given(wishes("freshen-blue", "rebuild-blue"), st.sampled_from(["crank", "rods=new", "wires", "intake-valves"]))
def test_what_is_found_bad_costs_the_customer_or_at_a_price_that_is_held_the_shop(wish: Wish, word: str) -> None:
    asking = replace(wish.asking, bad=(word,))
    before, found = quoted(wish.asking), quoted(asking)
    bad, problems = if_bad(asking, found)
    assert bad is not None, problems
    assert bad.found == difference(before, found)
    assert bad.held == before.margin.net - found.margin.cost
    assert bad.held_margin == bad.held / before.margin.net


def test_an_agreed_price_is_that_of_the_same_pack() -> None:
    agreed = {line.key: line for line in quoted(demo("rebuild-blue")).lines}
    where, problems = open_desk(DEMO, ["oval-v8/tevrosk-preisliste/TV-S165/pack=16", "shop/markup/parts=90 %"])
    assert where is not None, problems
    later = quoted(replace(asking_on(where, "rebuild-blue", DAYS["rebuild-blue"]), held=agreed))
    prices = {line.key: (line.unit, line.price) for line in later.lines}
    assert prices["part/DW-TC1"] == ("piece", agreed["part/DW-TC1"].price)
    assert prices["part/TV-S165"] == ("pack of 16", D("374.85"))  # 211 EUR at 1.10 less 15 %: 197.29; 90 % on it


@quick
@given(wishes("freshen-blue", "rebuild-blue"), st.data())
def test_a_slot_found_bad_is_quoted_as_if_it_were_asked_for_as_bad(wish: Wish, data: st.DataObject) -> None:
    asking = wish.asking
    assert asking.opening is not None
    slot = data.draw(st.sampled_from(sorted(asking.opening.spots)))
    word = data.draw(st.sampled_from([slot, f"{slot}=new"]))
    found, asked = quoted(replace(asking, bad=(word,))), quoted(with_head(asking, bad=(word,)))
    assert found == asked


def test_what_is_found_bad_too_never_makes_a_service_of_the_demo_cheaper() -> None:
    """But for freight: every slot, by its next step and by a new part."""
    for asking in (demo("freshen-blue"), demo("rebuild-blue")):
        assert asking.opening is not None
        _, base = asking.priced()
        for word in (word for slot in asking.opening.spots for word in (slot, f"{slot}=new")):
            _, found = asking.priced((word,))
            saved = of_kind(base.lines, "freight") - of_kind(found.lines, "freight")
            assert found.less(base).net >= -max(saved, D(0)), word


# Files ----------------------------------------------------------------------------------------------------------------


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The demo's folder and its catalog, copied, with no revision saved."""
    top = tmp_path_factory.mktemp("demo")
    shutil.copytree(DEMO, top / "scenarios/oval-v8", ignore=shutil.ignore_patterns("quotes"))
    shutil.copytree(ROOT / "catalogs/oval-v8", top / "catalogs/oval-v8")
    return top / "scenarios/oval-v8"


@quick
@given(wishes())
def test_a_revision_is_read_as_it_was_saved(folder: Path, wish: Wish) -> None:
    asking = wish.asking
    quote = replace(quoted(asking), revision=1, reason="as asked")
    path = file_of(folder, asking.asked.name, 1)
    path.parent.mkdir(exist_ok=True)
    path.write_text(to_text(Revision(FORM, quote, asking.asked)), encoding="utf-8")
    read, problems = read_revision(folder, asking.asked.name, 1)
    path.unlink()
    assert not problems
    assert read is not None
    assert read.quote == quote
    assert read.asked.head.model_dump(exclude={"place"}) == asking.asked.head.model_dump(exclude={"place"})
    assert [row.model_dump(exclude={"place"}) for row in (*read.asked.extras, *read.asked.prices)] == [
        row.model_dump(exclude={"place"}) for row in (*asking.asked.extras, *asking.asked.prices)
    ]


@pytest.mark.parametrize("name", DAYS)
def test_priced_anew_on_its_day_by_the_same_files_nothing_moves(folder: Path, name: str) -> None:
    answer("quote", "save", folder, name, "--reason", "as asked", "--on", DAYS[name])
    found = answer("quote", "again", folder, name, "--on", DAYS[name])["difference"]
    assert (found["moved"], found["said"], found["gross"], found["cost"]) == ([], [], "0.00", "0.00")
    file_of(folder, name, 1).unlink()


def test_offers_of_the_plan_are_the_quotes_of_the_same_openings(folder: Path) -> None:
    on = DAYS["freshen-blue"]
    found, problems = offers_of(desk(), on)
    assert found is not None, problems
    assert found.offers
    for offer in found.offers:
        (folder / "quote-plan.toml").write_text(
            f'number = "1"\ntitle = "by the plan"\ncustomer = "a crew"\nengine = "{offer.engine}"\n'
            f'level = "{offer.level}"\nbefore = "{offer.before}"\n',
            encoding="utf-8",
        )
        told = answer("quote", "price", folder, "plan", "--on", on)["quote"]
        assert [(line["key"], line["net"]) for line in told["lines"]] == [
            (line.key, str(line.net)) for line in offer.quote.lines
        ]
        assert told["totals"]["gross"] == str(offer.gross)
        assert told["after"]["expected_gross"] == str(offer.expected)
        assert offer.net == offer.work + offer.parts == offer.quote.totals.net - offer.quote.core
        assert offer.parts == of_kind(offer.quote.lines, "parts")
    (folder / "quote-plan.toml").unlink()


def test_offers_stand_beside_what_the_racers_own_files_have() -> None:
    """Every opening of its levels from the day on; for levels.csv the mean of each."""
    found, problems = offers_of(desk(), date(2027, 2, 1))
    assert found is not None, problems
    told = answer("season", DEMO, "--on", "2027-02-01")["plan"]["jobs"]
    jobs = {(job["before"], job["level"]): job for job in told if job["level"] in ("freshen", "rebuild")}
    assert ("winter work", "freshen") in jobs
    assert {(offer.before, offer.level) for offer in found.offers} == jobs.keys()
    assert set(found.elsewhere) == {"springs", "driveline", "carb-bench"}  # by the crew, or by nobody that is named
    for offer in found.offers:
        job = jobs[offer.before, offer.level]
        assert offer.plan_work == D(job["labour"]) + D(job["supplies"])
        assert offer.plan_parts == D(job["parts"])
        assert offer.more == offer.net - offer.plan_work - offer.plan_parts
    assert found.net == sum(offer.net for offer in found.offers)
    assert found.plan == sum(offer.plan_work + offer.plan_parts for offer in found.offers)
    assert found.more == found.net - found.plan
    assert found.gross == sum(offer.gross for offer in found.offers)
    for level in found.levels:
        mine = [offer.quote for offer in found.offers if offer.level == level.level]
        labour, rest = ("labour", "sublet"), ("supplies", "freight", "fees")
        assert level.offers == len(mine)
        assert level.labour == round_half_up(sum(of_kind(quote.lines, *labour) for quote in mine) / D(len(mine)))
        assert level.supplies == round_half_up(sum(of_kind(quote.lines, *rest) for quote in mine) / D(len(mine)))


def round_half_up(amount: Decimal) -> Decimal:
    return amount.quantize(D(1), ROUND_HALF_UP)


#: Tables whose rows follow from nothing but their columns; sheets of suppliers have headings between them.
TABLES = ("work", "positions", "levels", "suppliers", "build", "garage", "damage", "bench")
CATALOG = ("prices", "kits", "kit_contains", "operations", "lives", "roles", "top-end", "valvetrain", "bottom-end")


@pytest.mark.parametrize("seed", [1, 2])
def test_the_order_of_rows_changes_no_amount(tmp_path: Path, folder: Path, seed: int) -> None:
    """Of work, suppliers and catalogs. Of the rows of tax the first that fits holds, so theirs counts."""
    shutil.copytree(folder.parents[1], tmp_path / "demo")
    scenario, catalog = tmp_path / "demo/scenarios/oval-v8", tmp_path / "demo/catalogs/oval-v8"
    draw = np.random.default_rng(seed)
    for path in (*(scenario / f"{name}.csv" for name in TABLES), *(catalog / f"{name}.csv" for name in CATALOG)):
        head, *rows = list(csv.reader(path.read_text(encoding="utf-8").splitlines()))
        rows = [rows[n] for n in draw.permutation(len(rows))]
        with path.open("w", encoding="utf-8", newline="") as file:
            csv.writer(file).writerows([head, *rows])
    shop = (scenario / "shop.toml").read_text(encoding="utf-8")
    begin, end = shop.index("[[supplier]]"), shop.index("[[term]]")
    tables = [f"[[{text}" for text in shop[begin:end].split("[[")[1:]]
    tables = [tables[n] for n in draw.permutation(len(tables))]
    (scenario / "shop.toml").write_text(shop[:begin] + "".join(tables) + shop[end:], encoding="utf-8")
    shuffled, problems = open_desk(scenario)
    assert shuffled is not None, problems
    for name, on in DAYS.items():
        assert _amounts(quoted(asking_on(shuffled, name, on))) == _amounts(quoted(demo(name)))


def _amounts(quote: Quote) -> dict[str, object]:
    """All amounts by names that do not hang on places and order."""
    found: dict[str, object] = {
        line.key: (line.quantity, line.price, line.net, line.cost, line.tax) for line in quote.lines
    }
    found |= {one.slot: (one.chance, one.likely_more, one.worst_more) for one in quote.allowances}
    found |= {one.name: one.more for one in quote.options}
    after = replace(quote.after, unlikely=0)  # a product of chances, in their order
    return found | {"": (quote.totals.gross, after, quote.margin.floor, quote.schedule.ready, quote.deposit)}
