"""Where an engine may run, and the one part that would have to change: a small engine of invented parts."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from datetime import date
from decimal import Decimal

from costplan.choose import Standing, where_it_may_run
from costplan.garage import Inspected
from costplan.report.data import records_to_csv
from costplan.report.rules import matrix_page
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
    assert (own.pack, own.name, own.season) == ("rules", "book", True)
    assert (other.pack, other.name, other.season) == ("other", "other", False)
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
    assert "light: pistons P-A -> P-B" in records_to_csv(Standing, (other,))


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


def test_a_sum_is_shown_only_where_nothing_else_breaks(small: Callable[..., Scenario]) -> None:
    wide = '[[rule]]\nid = "wide"\nkind = "limit"\nsays = "at least 305"\nof = "displacement"\nmin = "305 in3"\n'
    for neighbour, shown in ((LIGHT, "480.00 USD"), (wide, "see below")):
        page = matrix_page(where_it_may_run(small(neighbour=neighbour), "", DAY), "title", "", DAY, invented=True)
        assert page.tables[0].rows[1][-1] == shown


def test_a_breach_that_no_part_of_the_catalogs_ends_has_no_remedy_and_no_cost(small: Callable[..., Scenario]) -> None:
    other = of_other(small(neighbour=LIGHT.replace("420", "300")))
    assert (other.remedies, other.incurable, other.cost) == ((), ("light",), None)


def test_two_remedies_that_want_one_slot_have_no_cost_together(small: Callable[..., Scenario]) -> None:
    # P-B alone is at most 400 g, P-C alone lies between 405 and 420 g: no one piston answers both.
    between = LIGHT.replace('"light"', '"between"').replace('max = "420 g"', 'min = "405 g"\nmax = "420 g"')
    other = of_other(small(neighbour=LIGHT.replace("420", "400") + between))
    assert {(one.rule, one.part) for one in other.remedies} == {("light", "P-B"), ("between", "P-C")}
    assert (other.incurable, other.cost) == ((), None)


def test_advice_that_is_not_followed_does_not_keep_an_engine_out(small: Callable[..., Scenario]) -> None:
    other = of_other(small(neighbour=LIGHT + 'severity = "should"\n'))
    assert (other.stands, other.broken) == ("meets", ())


def test_a_part_whose_figure_nobody_has_stands_behind_one_that_meets(small: Callable[..., Scenario]) -> None:
    # P-E is the cheapest at 300, and its bore is in no catalog
    narrow = LIGHT.replace("pistons.mass", "pistons.bore").replace('"420 g"', '"3.998 in"')
    (remedy,) = of_other(small(neighbour=narrow)).remedies
    assert (remedy.part, remedy.unfit) == ("P-C", ())


def test_what_was_found_of_the_old_part_says_nothing_of_the_new_one(small: Callable[..., Scenario]) -> None:
    row = {"engine": "blue", "rule": "light", "found": "breaks", "value": Decimal(430), "unit": "g", "by": "steward"}
    seen = Inspected.model_validate({**row, "date": DAY})
    _, other = where_it_may_run(replace(small(neighbour=LIGHT), inspections=(seen,)), "blue", DAY)
    assert [(one.part, one.cost) for one in other.remedies] == [("P-B", Decimal("480.00"))]
