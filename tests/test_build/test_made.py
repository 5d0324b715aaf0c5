"""Parts as made: what the catalog gives, whatever was done to a part or measured on it since."""

from __future__ import annotations

from datetime import date
from decimal import Decimal
from typing import Any

import pytest
from pytest import approx

from costplan.build import (
    Bill,
    Build,
    Figures,
    Fill,
    Fit,
    Pattern,
    Slot,
    check_fits,
    find_fit,
    slots_behind,
    what_is_wrong,
    what_of,
)
from costplan.catalog import Operation, Part
from costplan.garage import Bench
from costplan.problems import Place
from costplan.quantity import Quantity

NO_BILL = Bill((), "USD", date(2027, 2, 3), None, Decimal(0), Decimal(0), 0, None)
BLOCK = Part(part="B-1", role="block", supplier="x", place=Place("parts.csv", 2)).model_copy(
    update={"attributes": {"bore": Quantity(4.0, "in"), "mark": "B 1"}}
)
BORED = Operation(operation="bore-30", role="block", place=Place("operations.csv", 2)).model_copy(
    update={"changes": {"bore": Quantity(0.030, "in")}}
)


def measured(attribute: str, value: str, unit: str = "") -> Bench:
    row = {"slot": "block", "attribute": attribute, "value": value, "unit": unit, "date": "2027-02-03"}
    return Bench.model_validate(row, context={"attributes": {"bore": "length", "mark": "text"}})


def figures(*bench: Bench, fits: tuple[Fit, ...] = (), block: Part | None = BLOCK) -> Figures:
    """A block bored by 0.030 in, and a spacer that is not there."""
    slots = {
        "block": Slot(slot="block", role="block"),
        "spacer": Slot(slot="spacer", role="spacer", optional=True),
    }
    known = {"bore": "length", "thickness": "length"}
    pattern = Pattern("by hand", slots, {}, "pattern.toml", known, {}, frozenset({"mark"}), frozenset(slots), fits)
    fills = {"block": Fill(slots["block"], block, Place("build.csv", 2), steps=(BORED,))} if block else {}
    return Figures(Build(pattern, fills, bench=bench), NO_BILL)


PATTERN = figures().build.pattern


def test_a_part_as_made_is_as_the_catalog_gives_it() -> None:
    found = figures(measured("bore", "4.0312", "in"))
    as_made = found.named("made.block.bore")
    assert (as_made.value, found.named("block.bore").value) == (Quantity(4.0, "in"), Quantity(4.0312, "in"))
    assert (as_made.name, as_made.why, as_made.measured) == (
        "made.block.bore",
        ("bore 4 in of B-1 in block as made (parts.csv:2)",),
        "",
    )


def test_a_word_as_made_is_the_catalogs_too() -> None:
    found = figures(measured("mark", "B 2"))
    assert (found.word("block", "mark").value, found.word("made.block", "mark").value) == ("B 2", "B 1")
    assert found.word("made.block", "mark").why == ("mark B 1 of B-1 in block as made (parts.csv:2)",)


def test_what_the_catalog_does_not_give_is_not_known_as_made() -> None:
    assert figures().named("made.block.thickness").missing == ("thickness of B-1 as made (parts.csv:2)",)
    assert figures(block=None).named("made.block.bore").missing == ("a part in slot block",)
    assert figures(block=None).word("made.block", "mark").missing == ("a part in slot block",)


def fit(this: str, must: str, that: str, **more: Any) -> Fit:
    return Fit(fit=f"{this} {must} {that}", this=this, must=must, that=that, place=Place("pattern.toml", 9), **more)


@pytest.mark.parametrize(("over", "verdict", "margin"), [("0.040 in", "meets", 0.010), ("0.020 in", "breaks", -0.010)])
def test_a_fit_may_say_how_far_a_block_may_be_bored(over: str, verdict: str, margin: float) -> None:
    found = find_fit(fit("block.bore", "at most", "made.block.bore", plus=over), figures())
    assert (found.verdict, found.slots) == (verdict, ("block",))
    assert found.margin is not None
    assert found.margin.to("in") == approx(margin)


def test_a_fit_may_ask_for_the_makers_mark() -> None:
    as_made = fit("block.mark", "equal", "made.block.mark")
    assert find_fit(as_made, figures()).verdict == "meets"
    assert find_fit(as_made, figures(measured("mark", "B 2"))).verdict == "breaks"


def test_a_fit_with_an_empty_optional_slot_as_made_is_not_asked() -> None:
    assert check_fits(figures(fits=(fit("made.spacer.thickness", "at most", "block.bore"),))) == ()


@pytest.mark.parametrize(
    ("name", "what"),
    [
        ("made.block.bore", "length"),
        ("made.block.mark", "text"),
        ("made.block.boer", ""),
        ("made.bloc.bore", ""),
        ("made.block", ""),
        ("made", ""),
        ("block.made.bore", ""),
        ("made.made.block.bore", ""),
    ],
)
def test_what_a_name_with_made_measures(name: str, what: str) -> None:
    assert what_of(name, PATTERN) == what


@pytest.mark.parametrize(
    ("name", "wrong"),
    [
        ("made.block.boer", ("an attribute that is not known:", "did you mean 'bore'?")),
        ("made.bloc.bore", ("a slot that the pattern lacks:", "did you mean 'block'?")),
        ("made.bore", ("a part as made without its slot:", "give made.slot.attribute")),
    ],
)
def test_what_is_wrong_with_a_name_with_made(name: str, wrong: tuple[str, str]) -> None:
    assert what_is_wrong(name, PATTERN) == wrong


def test_a_name_with_made_rests_on_its_slot() -> None:
    assert slots_behind("made.block.bore", PATTERN) == ("block",)
