"""Units lead there and back."""

from __future__ import annotations

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from costplan.quantity import UNITS, Quantity, convert, dimension, round_figures

PAIRS = [(unit, other) for unit in UNITS for other in UNITS if dimension(unit) == dimension(other)]


@given(st.floats(-1e12, 1e12), st.sampled_from(PAIRS))
def test_a_value_converts_there_and_back(value: float, pair: tuple[str, str]) -> None:
    unit, other = pair
    assert convert(convert(value, unit, other), other, unit) == pytest.approx(value, rel=1e-12)


@given(st.sampled_from(list(UNITS)), st.sampled_from(list(UNITS)))
def test_only_like_units_convert(unit: str, other: str) -> None:
    if dimension(unit) == dimension(other):
        assert convert(1, unit, other) > 0
    else:
        with pytest.raises(ValueError, match="measures"):
            convert(1, unit, other)


@given(st.decimals(allow_nan=False, allow_infinity=False, min_value=-(10**9), max_value=10**9), st.integers(1, 12))
def test_rounding_to_figures_stays_within_half_a_figure(value: Decimal, figures: int) -> None:
    step = Decimal(1).scaleb(value.adjusted() - figures + 1) if value else Decimal(1)
    assert abs(round_figures(value, figures) - value) <= step / 2


@pytest.mark.parametrize(
    ("quantity", "text"),
    [
        (Quantity(350.0, "in3"), "350 in3"),
        (Quantity(0.1 + 0.2, "in"), "0.3 in"),
        (Quantity(1234567.0), "1234570"),
        (Quantity(0.0, "kg"), "0 kg"),
    ],
)
def test_a_quantity_is_shown_to_six_figures(quantity: Quantity, text: str) -> None:
    assert str(quantity) == text
