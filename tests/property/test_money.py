"""Money adds up, and crosses between amounts and minor units without loss."""

from __future__ import annotations

from decimal import Decimal
from fractions import Fraction

from hypothesis import given
from hypothesis import strategies as st

from costplan.money import from_minor, round_money, split, to_minor

MINOR = st.integers(-(10**15), 10**15)
#: Currencies with two, no and three decimal places.
CURRENCIES = st.sampled_from(("USD", "JPY", "KWD"))
AMOUNTS = st.decimals(-(10**12), 10**12, allow_nan=False, allow_infinity=False)
WEIGHTS = st.lists(st.integers(0, 10**9), min_size=1).filter(any)


@given(MINOR, WEIGHTS)
def test_shares_add_up_to_the_whole(minor: int, weights: list[int]) -> None:
    shares = split(minor, weights)
    assert (len(shares), sum(shares)) == (len(weights), minor)


@given(MINOR, WEIGHTS)
def test_no_share_is_off_by_more_than_a_unit(minor: int, weights: list[int]) -> None:
    for share, weight in zip(split(minor, weights), weights, strict=True):
        assert abs(share - Fraction(minor * weight, sum(weights))) <= 1


@given(MINOR, WEIGHTS)
def test_running_totals_of_shares_are_rounded_to_the_nearest_unit(minor: int, weights: list[int]) -> None:
    shares = split(minor, weights)
    for end in range(1, len(weights) + 1):
        exact = Fraction(minor * sum(weights[:end]), sum(weights))
        assert abs(sum(shares[:end]) - exact) <= Fraction(1, 2)


@given(MINOR, st.lists(st.just(0)))
def test_without_weights_nothing_is_shared_out(minor: int, weights: list[int]) -> None:
    assert split(minor, weights) == (0,) * len(weights)


@given(MINOR, CURRENCIES)
def test_minor_units_cross_there_and_back(minor: int, currency: str) -> None:
    assert to_minor(from_minor(minor, currency), currency) == minor


@given(AMOUNTS, CURRENCIES)
def test_an_amount_crosses_to_the_nearest_minor_unit(amount: Decimal, currency: str) -> None:
    back = from_minor(to_minor(amount, currency), currency)
    assert abs(Fraction(back) - Fraction(amount)) <= Fraction(from_minor(1, currency)) / 2


@given(AMOUNTS, CURRENCIES)
def test_a_rounded_amount_is_not_rounded_again(amount: Decimal, currency: str) -> None:
    once = round_money(amount, currency)
    assert round_money(once, currency) == once
    assert once.as_tuple().exponent == from_minor(1, currency).as_tuple().exponent
