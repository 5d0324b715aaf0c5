"""What if prices rise or slots are bad, what two quotes differ by, what is left to chance: on the demo."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from decimal import Decimal
from pathlib import Path

import pytest

from costplan.quote import Asking, Quote, make_quote, open_desk
from costplan.quote.revisions import difference
from costplan.quote.whatif import if_bad, if_prices_rise

DEMO = Path(__file__).parents[2] / "scenarios" / "oval-v8"
CENT = Decimal("0.01")


def asking_for(name: str, *sets: str, on: date | None = None) -> Asking:
    desk, problems = open_desk(DEMO, sets)
    assert desk is not None, problems
    asked, problems = desk.request(name)
    assert asked is not None, problems
    asking, problems = desk.asking(asked, on or asked.head.date or date.min)
    assert asking is not None, problems
    return asking


def quoted(asking: Asking) -> Quote:
    quote, problems = make_quote(asking)
    assert quote is not None, problems
    return quote


def test_a_price_that_is_held_pays_for_dearer_parts_out_of_what_is_earned() -> None:
    asking = asking_for("new-engine")
    quote, rise = quoted(asking), Decimal("0.06")
    dearer = quoted(replace(asking, rise=rise))
    risen, problems = if_prices_rise(asking, quote, rise)
    assert risen is not None, problems
    assert risen.cost == dearer.margin.cost > quote.margin.cost
    assert risen.more_cost == dearer.margin.cost - quote.margin.cost
    assert risen.earned == quote.margin.net - dearer.margin.cost
    assert risen.margin == risen.earned / quote.margin.net
    assert (risen.repriced, risen.repriced_gross) == (dearer.margin.net, dearer.totals.gross)
    assert risen.repriced_earned == dearer.margin.earned


def test_the_price_that_keeps_the_margin_is_the_least_that_does() -> None:
    asking = asking_for("new-engine")
    quote = quoted(asking)
    risen, _ = if_prices_rise(asking, quote, Decimal("0.06"))
    assert risen is not None
    assert risen.keeps is not None
    assert quote.margin.margin is not None
    assert (risen.keeps - risen.cost) / risen.keeps >= quote.margin.margin
    assert (risen.keeps - CENT - risen.cost) / (risen.keeps - CENT) < quote.margin.margin


def test_at_the_rise_that_breaks_even_nothing_is_left() -> None:
    asking = asking_for("new-engine")
    quote = quoted(asking)
    risen, _ = if_prices_rise(asking, quote, Decimal("0.06"))
    assert risen is not None
    assert risen.breaks_even is not None
    left = quote.margin.net - quoted(replace(asking, rise=risen.breaks_even)).margin.cost
    assert abs(left) < 1  # each line of parts is rounded by itself


def test_bad_slots_are_set_against_the_quote_without_them() -> None:
    asking = asking_for("freshen-blue")
    bad = replace(asking, bad=("crank=grind-010", "rods=new"))
    before, after = quoted(asking), quoted(bad)
    found, problems = if_bad(bad, after)
    assert found is not None, problems
    assert (found.found.before, found.found.after) == (before, after)
    assert found.held == before.margin.net - after.margin.cost
    assert found.held_margin == found.held / before.margin.net


def test_a_difference_is_of_every_amount() -> None:
    before, after = quoted(asking_for("freshen-blue")), quoted(asking_for("freshen-blue", "shop/markup/parts=35 %"))
    found = difference(before, after)
    assert found.net == after.totals.net - before.totals.net > 0
    assert found.tax == after.totals.tax - before.totals.tax > 0
    assert found.gross == after.totals.gross - before.totals.gross
    assert found.earned == after.margin.earned - before.margin.earned > 0
    assert found.cost == 0
    assert {line.key.split("/")[0] for line in found.moved} == {"part", "kit"}


def test_a_line_that_costs_the_shop_more_has_moved_though_its_price_has_not() -> None:
    quote = quoted(asking_for("freshen-blue"))
    line = quote.lines[0]
    dearer = replace(quote, lines=(replace(line, cost=line.cost + 1), *quote.lines[1:]))
    found = difference(quote, dearer)
    assert [(one.key, one.more) for one in found.moved] == [(line.key, Decimal(0))]
    assert found.moved[0].why == f"cost {line.cost:,} -> {line.cost + 1:,}"


# What tear-down may show ---------------------------------------------------------------------------------------------


def slots(quote: Quote) -> list[str]:
    return [one.slot for one in quote.allowances]


def test_what_was_found_bad_is_left_to_chance_no_more() -> None:
    sets = ("shop/allowance/crank/jobs=[]", "shop/allowance/rods/jobs=[]")
    asking = asking_for("freshen-blue", *sets)
    assert {"crank", "rods"} <= set(slots(quoted(asking)))
    found = slots(quoted(replace(asking, bad=("crank=grind-010",))))
    assert "crank" not in found
    assert "rods" in found


def test_nothing_is_left_to_chance_once_all_is_seen() -> None:
    assert slots(quoted(replace(asking_for("freshen-blue"), torn_down=True))) == []
    assert slots(quoted(asking_for("freshen-blue", "quote-freshen-blue/torn_down=yes"))) == []


@pytest.mark.parametrize(("whose", "known"), [("used again", True), ("customer's", False)])
def test_only_the_lives_of_pieces_that_were_in_the_engine_are_known(whose: str, known: bool) -> None:
    sets = ("quote-freshen-blue/supplied/1/slot=belts", f"quote-freshen-blue/supplied/1/whose={whose}")
    assert ("belts" in slots(quoted(asking_for("freshen-blue", *sets)))) == known


def test_a_new_engine_allows_for_supplied_pieces_that_its_own_rows_name() -> None:
    assert slots(quoted(asking_for("new-engine"))) == []
    own = ("shop/allowance/1/slot=damper", "shop/allowance/1/way=", "shop/allowance/1/jobs=build")
    assert slots(quoted(asking_for("new-engine", *own))) == ["damper"]
    others = (*own[:2], "shop/allowance/1/jobs=rebuild")
    assert slots(quoted(asking_for("new-engine", *others))) == []


def test_the_chance_that_all_is_needed_is_that_of_each_together() -> None:
    quote = quoted(asking_for("freshen-blue"))
    together = 1.0
    for one in quote.allowances:
        together *= one.chance
    assert quote.after.unlikely == pytest.approx(together, rel=1e-12)
    assert 0 < quote.after.unlikely < min(one.chance for one in quote.allowances)


def test_the_surest_look_counts_where_two_levels_look() -> None:
    sets = ("levels/trackside/checks=belts", "levels/trackside/sees=0.2", "levels/springs/checks=belts locks")
    opening = asking_for("freshen-blue", *sets).opening
    assert opening is not None
    assert opening.looked_at()["belts"] == 0.75


def test_an_engine_can_be_had_from_the_day_after_the_event_before() -> None:
    on = date(2027, 6, 1)
    asking = asking_for("rebuild-blue", "quote-rebuild-blue/before=Pellundry three", on=on)
    assert asking.opening is not None
    assert asking.opening.here == date(2027, 6, 20)  # Drasketh two runs on the 19th
    assert quoted(asking).schedule.begins >= date(2027, 6, 20)
