"""Where an engine may run, and the one part that would have to change: a small engine of invented parts."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date
from decimal import Decimal

from costplan.choose import Standing, where_it_may_run
from costplan.scenario import Scenario

DAY = date(2027, 5, 1)

LIGHT = """\
[[rule]]
id = "light"
kind = "limit"
says = "a piston weighs at most 420 g"
of = "pistons.mass"
max = "420 g"
"""


def of_other(scenario: Scenario) -> Standing:
    own, other = where_it_may_run(scenario, "", DAY)
    assert (own.pack, own.season, other.pack, other.season) == ("book", True, "other", False)
    return other


def test_an_engine_that_breaks_nothing_needs_no_part(small: Callable[..., Scenario]) -> None:
    (only,) = where_it_may_run(small(), "", DAY)
    assert (only.stands, only.met, only.broken, only.remedies, only.cost) == ("meets", 2, (), (), Decimal(0))


def test_the_cheapest_part_that_ends_the_breach_and_still_fits_is_the_remedy(small: Callable[..., Scenario]) -> None:
    # Of the pistons at most 420 g heavy P-B (395 g) costs 480 for eight, P-C (410 g) two packs of 500.
    other = of_other(small(neighbour=LIGHT))
    (remedy,) = other.remedies
    assert (other.stands, other.broken, other.incurable) == ("breaks", ("light",), ())
    assert (remedy.slot, remedy.instead_of, remedy.part, remedy.cost) == ("pistons", "P-A", "P-B", Decimal("480.00"))
    assert remedy.clean
    assert other.cost == Decimal("480.00")


def test_a_part_that_breaks_another_clause_stands_behind_one_that_does_not(small: Callable[..., Scenario]) -> None:
    heavy = LIGHT + LIGHT.replace("light", "heavy").replace("at most 420", "at least 400").replace(
        'max = "420 g"', 'min = "400 g"'
    )
    (remedy,) = of_other(small(neighbour=heavy)).remedies
    assert (remedy.part, remedy.cost, remedy.breaks) == ("P-C", Decimal("1000.00"), ())


def test_a_part_that_does_not_fit_is_told(small: Callable[..., Scenario]) -> None:
    wide = '[[rule]]\nid = "wide"\nkind = "limit"\nsays = "at least 305"\nof = "displacement"\nmin = "305 in3"\n'
    (remedy,) = of_other(small(neighbour=wide)).remedies
    assert (remedy.slot, remedy.part, remedy.unfit) == ("block", "B-403", ("piston in bore",))


def test_a_breach_that_no_part_of_the_catalogs_ends_has_no_remedy_and_no_cost(small: Callable[..., Scenario]) -> None:
    other = of_other(small(neighbour=LIGHT.replace("420", "300")))
    assert (other.remedies, other.incurable, other.cost) == ((), ("light",), None)


def test_advice_that_is_not_followed_does_not_keep_an_engine_out(small: Callable[..., Scenario]) -> None:
    other = of_other(small(neighbour=LIGHT + 'severity = "should"\n'))
    assert (other.stands, other.broken) == ("meets", ())
