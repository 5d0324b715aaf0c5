"""What holds of every choice: more to choose from is never dearer, more to keep to never cheaper, order is nothing."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal
from pathlib import Path
from random import Random
from tempfile import TemporaryDirectory

from hypothesis import assume, given, settings
from hypothesis import strategies as st

from costplan.choose import AIMS, SHELF, Option, Wishes, best, prepare
from costplan.scenario import Scenario
from tests.test_choose.drawn_scenarios import Files, draw

few = settings(max_examples=25, deadline=None)
seeds = st.integers(0, 10**6)
#: Above every price: what nothing can be had for.
NO_PRICE = Decimal("Infinity")


def read(files: Files) -> Scenario:
    """The scenario; its files are gone once it is read."""
    with TemporaryDirectory() as folder:
        return files.write(Path(folder))


def cheapest(scenario: Scenario, wishes: Wishes) -> Option | None:
    chosen, _ = best(prepare(scenario, wishes), AIMS["price"])
    assert chosen.proof.status in ("optimal", "impossible")
    assert (chosen.proof.bound == chosen.proof.value) and chosen.proof.gap == 0
    return chosen.option


def price(scenario: Scenario, wishes: Wishes) -> Decimal:
    option = cheapest(scenario, wishes)
    return option.price if option else NO_PRICE


@few
@given(seeds)
def test_a_clause_less_is_never_dearer(seed: int) -> None:
    files, wishes = draw(seed)
    rules = files.blocks["s/rules.toml"]
    assume(len(rules) > 1 and "choice" not in "".join(rules))
    fewer = replace(files, blocks={**files.blocks, "s/rules.toml": rules[:-1]})
    assert price(read(fewer), wishes) <= price(read(files), wishes)


@few
@given(seeds)
def test_wider_wishes_are_never_dearer(seed: int) -> None:
    files, wishes = draw(seed)
    scenario = read(files)
    now = price(scenario, wishes)
    for wider in (
        replace(wishes, unknown="allow"),
        replace(wishes, hand=("blue", SHELF)),
        replace(wishes, suppliers=()),
        replace(wishes, by=None),
        replace(wishes, banned=()),
        replace(wishes, pinned={}, optional=(*wishes.optional, *wishes.pinned)),
        replace(wishes, budget=None),
    ):
        assert price(scenario, wider) <= now


@few
@given(seeds)
def test_a_budget_of_the_lowest_price_is_enough_and_a_cent_less_is_not(seed: int) -> None:
    files, wishes = draw(seed)
    scenario = read(files)
    now = price(scenario, replace(wishes, budget=None))
    assume(now not in (NO_PRICE, 0))
    assert price(scenario, replace(wishes, budget=now)) == now
    assert price(scenario, replace(wishes, budget=now - Decimal("0.01"))) == NO_PRICE


@few
@given(seeds, st.data())
def test_to_pin_what_is_chosen_and_to_ban_what_is_not_changes_nothing(seed: int, data: st.DataObject) -> None:
    files, wishes = draw(seed)
    scenario = read(files)
    option = cheapest(scenario, wishes)
    assume(option is not None and option.parts)
    assert option is not None
    slot, part = data.draw(st.sampled_from(option.parts))
    assert price(scenario, replace(wishes, pinned={**wishes.pinned, slot: part})) == option.price
    assert scenario.catalog is not None
    turning = {one.fill.part.part for row in scenario.built().alternates.values() for one in row if one.serves}
    unused = sorted(set(scenario.catalog.parts) - {part for _, part in option.parts} - turning)
    if unused:
        banned = (*wishes.banned, data.draw(st.sampled_from(unused)))
        found = cheapest(scenario, replace(wishes, banned=banned))
        assert found is not None
        assert (found.price, found.parts) == (option.price, option.parts)


@few
@given(seeds, seeds)
def test_the_order_of_rows_makes_no_difference(seed: int, order: int) -> None:
    files, wishes = draw(seed)
    shuffled = files.shuffled(Random(order))  # noqa: S311 - not for secrets
    first, second = cheapest(read(files), wishes), cheapest(read(shuffled), wishes)
    assert (first and (first.price, first.parts)) == (second and (second.price, second.parts))
