"""What could stand in a slot: fits, books, costs and reasons, on a small engine of invented parts."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from datetime import date
from decimal import Decimal

from costplan.choose import Alternative, alternatives, slots_with_choice
from costplan.scenario import Scenario

DAY = date(2027, 5, 1)


def told(found: Iterable[Alternative]) -> list[tuple[str, str, tuple[str, ...]]]:
    return [(entry.part, entry.fitting, entry.book) for entry in found]


def test_parts_that_fit_come_first_then_those_that_break_the_book_each_by_cost(small: Callable[..., Scenario]) -> None:
    assert told(alternatives(small(), "pistons", DAY)) == [
        ("P-A", "fits", ()),
        ("P-C", "fits", ()),
        ("P-B", "fits", ("weight",)),
        ("P-E", "cannot be shown", ()),
        ("P-D", "does not fit", ()),
    ]


def test_the_reason_names_both_sides_in_one_unit_and_what_is_missing(small: Callable[..., Scenario]) -> None:
    reasons = {entry.part: entry.reasons for entry in alternatives(small(), "pistons", DAY)}
    within = "must be equal to block.bore within 0.005 in, which is 4 in"
    assert reasons["P-D"] == (f"piston in bore: pistons.bore 4.03 in, {within}",)
    ((unknown,),) = [reasons["P-E"]]
    assert unknown.startswith("piston in bore: bore of P-E (")
    assert reasons["P-A"] == reasons["P-B"] == ()


def test_cost_is_of_whole_packs_and_more_is_against_the_planned_part(small: Callable[..., Scenario]) -> None:
    found = {entry.part: entry for entry in alternatives(small(), "pistons", DAY)}
    assert [(name, found[name].cost, found[name].more, found[name].planned) for name in ("P-A", "P-B", "P-C")] == [
        ("P-A", Decimal("600.00"), Decimal("0.00"), True),
        ("P-B", Decimal("480.00"), Decimal("-120.00"), False),
        ("P-C", Decimal("1000.00"), Decimal("400.00"), False),
    ]
    assert [found[name].per_use for name in ("P-A", "P-B")] == [Decimal("15.00"), Decimal("16.00")]


def test_a_part_answers_for_the_clauses_that_it_breaks_and_not_for_those_broken_without_it(
    small: Callable[..., Scenario],
) -> None:
    # pi/4 * 4^2 * 3 * 8 = 301.59 in3, with a bore of 4.030 in 306.13 in3
    blocks = {part: book for part, _, book in told(alternatives(small(), "block", DAY))}
    assert blocks == {"B-400": (), "B-403": ("size",)}
    broken = small("300 in3")  # both blocks break it, whatever the pistons
    blocks = {part: book for part, _, book in told(alternatives(broken, "block", DAY))}
    assert blocks == {"B-400": ("size",), "B-403": ("size",)}
    pistons = {part: book for part, _, book in told(alternatives(broken, "pistons", DAY))}
    assert (pistons["P-A"], pistons["P-B"], pistons["P-C"]) == ((), ("weight",), ())


def test_every_slot_can_be_asked(small: Callable[..., Scenario]) -> None:
    assert slots_with_choice(small()) == ("block", "pistons")
