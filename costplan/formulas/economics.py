"""Engineering economics: discount factors, loans, flows of money, equivalent annual cost and economic life.

Money is a float here and unrounded. A rate is a share a period (0.08 for 8 %), above -1; a period is a year, a month or
whatever the rate is given for. Where signs matter, money received is positive and money paid negative.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from itertools import accumulate, pairwise

from costplan.formulas.checking import (
    InputError,
    listed,
    need_above,
    need_at_least,
    need_finite,
    need_numbers,
)
from costplan.formulas.method import Input, Method

#: A rate nearer to 0 is none: what is multiplied by it would leave the range of floats.
_NO_RATE = 1e-200


def single_present_value_factor(rate: float, periods: float) -> float:
    """What 1 due after so many periods is worth now: (1 + rate)^-periods.

    1 at a rate of 0 or after no period; tends to 0 for many periods at a rate above 0.
    Source: NIST Handbook 135 and ASTM E917, definitions of factors (from memory).

    >>> round(single_present_value_factor(0.07, 10), 6)
    0.508349
    """
    need_above(-1, rate=rate)
    need_at_least(0, periods=periods)
    return math.pow(1 + rate, -periods)


def uniform_present_value_factor(rate: float, periods: float) -> float:
    """What 1 at the end of each period is worth now: (1 - (1 + rate)^-periods) / rate.

    At a rate of 0 it is the number of periods; for many periods it tends to 1 / rate.
    Source: NIST Handbook 135 and ASTM E917, definitions of factors (from memory).

    >>> round(uniform_present_value_factor(0.07, 10), 6)
    7.023582
    """
    need_above(-1, rate=rate)
    need_above(0, periods=periods)
    if abs(rate) < _NO_RATE:
        return periods
    return -math.expm1(-periods * math.log1p(rate)) / rate


def capital_recovery_factor(rate: float, periods: float) -> float:
    """The payment at the end of each period that repays 1 lent now: rate / (1 - (1 + rate)^-periods).

    At a rate of 0 it is 1 / periods; for many periods it tends to the rate.
    Source: NIST Handbook 135 and ASTM E917, definitions of factors (from memory).

    >>> round(capital_recovery_factor(0.07, 10), 7)
    0.1423775
    """
    return 1 / uniform_present_value_factor(rate, periods)


def mid_year_discount_factor(rate: float, year: float) -> float:
    """What 1 that flows all through a year is worth at the start of year 1: (1 + rate)^(1/2 - year).

    The end-of-year factor times (1 + rate)^(1/2); the first year counts as half a year off.
    Source: OMB Circular A-94 (1992), Appendix B (from memory).

    >>> round(mid_year_discount_factor(0.07, 1), 4)
    0.9667
    """
    need_above(-1, rate=rate)
    need_at_least(1, year=year)
    return math.pow(1 + rate, 0.5 - year)


def loan_payment(rate: float, periods: float, present: float, future: float = 0.0, at_start: int = 0) -> float:
    """The equal payment a period that turns a present into a future balance.

    -(present + future * (1 + rate)^-periods) / ((1 + rate * at_start) * uniform present value factor); a loan received
    is positive, so its payment is negative. `at_start` is 1 where payments are due at the start of each period.
    Source: ISO/IEC 26300 OpenFormula, PMT (from memory).

    >>> round(loan_payment(0.06 / 12, 60, 150000), 2)
    -2899.92
    """
    discounted = _flow_inputs(rate, at_start, present=present, future=future)
    later = single_present_value_factor(rate, periods)
    return -(present + future * later) / (discounted * uniform_present_value_factor(rate, periods))


def future_value(rate: float, periods: float, payment: float, present: float = 0.0, at_start: int = 0) -> float:
    """The balance after equal payments.

    -(present + payment * (1 + rate * at_start) * uniform present value factor) * (1 + rate)^periods; what is put in is
    negative, what comes back positive. At a rate of 0 it is what was put in.
    Source: ISO/IEC 26300 OpenFormula, FV (from memory).

    >>> round(future_value(0.05 / 12, 120, -100, -100), 2)
    15692.93
    """
    discounted = _flow_inputs(rate, at_start, present=present, payment=payment)
    worth = present + payment * discounted * uniform_present_value_factor(rate, periods)
    return -worth * math.pow(1 + rate, periods)


def present_value(rate: float, periods: float, payment: float, future: float = 0.0, at_start: int = 0) -> float:
    """What equal payments and a last balance are worth now.

    -(future * (1 + rate)^-periods + payment * (1 + rate * at_start) * uniform present value factor); the loan that
    negative payments repay is positive.
    Source: ISO/IEC 26300 OpenFormula, PV (from memory).

    >>> round(present_value(0.08, 15, -13917.22), 2)
    119124.15
    """
    discounted = _flow_inputs(rate, at_start, payment=payment, future=future)
    later = single_present_value_factor(rate, periods)
    return -(future * later + payment * discounted * uniform_present_value_factor(rate, periods))


def number_of_payments(rate: float, payment: float, present: float, future: float = 0.0, at_start: int = 0) -> float:
    """How many equal payments turn a present into a future balance.

    log1p(-(present + future) * rate / (payment * (1 + rate * at_start) + present * rate)) / log1p(rate); at a rate of 0
    -(present + future) / payment. No answer where the payment does not cover the interest.
    Source: ISO/IEC 26300 OpenFormula, NPER (from memory).

    >>> round(number_of_payments(0.07 / 12, -150, 8000), 6)
    64.073349
    """
    discounted = _flow_inputs(rate, at_start, payment=payment, present=present, future=future)
    if payment == 0:
        raise InputError("payment", payment, "give a payment other than 0")
    if abs(rate) < _NO_RATE:
        count = -(present + future) / payment
    else:
        at_end = payment * discounted + present * rate
        share = (present + future) * rate / at_end if at_end else math.inf
        count = math.log1p(-share) / math.log1p(rate) if share < 1 else -1.0
    if count < 0:
        raise InputError("payment", payment, "give one above the interest, of the other sign than what it repays")
    return count


def _flow_inputs(rate: float, at_start: int, **amounts: float) -> float:
    """Checks the inputs of a loan; gives 1 + rate where payments are due at the start of each period, else 1."""
    need_above(-1, rate=rate)
    need_finite(**amounts)
    if at_start not in (0, 1):
        raise InputError("at_start", at_start, "give 1 for payments at the start of each period, else 0")
    return 1 + rate * at_start


def net_present_value(rate: float, flows: Sequence[float]) -> float:
    """What flows of money are worth now, the first flowing now, each other a period after the one before.

    sum of flow[k] * (1 + rate)^-k, k from 0. At a rate of 0 it is their sum.
    Source: ISO/IEC 26300 OpenFormula, NPV, but with the first flow undiscounted (from memory).

    >>> round(net_present_value(0.08, (-40000, 5000, 8000, 12000, 30000)), 2)
    3065.22
    """
    need_above(-1, rate=rate)
    need_numbers(flows=flows)
    return math.fsum(flow * math.pow(1 + rate, -k) for k, flow in enumerate(flows))


def internal_rate_of_return(flows: Sequence[float]) -> float:
    """The rate a period at which flows of money are worth nothing now: sum of flow[k] * (1 + rate)^-k = 0, k from 0.

    There is one such rate where the flows change sign once (Descartes); where instead their running total does, there
    is one above 0 (Norstrom 1972, from memory). Anything else may have several or none and is refused.
    Source: ISO/IEC 26300 OpenFormula, IRR (from memory).

    >>> round(internal_rate_of_return((-100, 39, 59, 55, 20)), 6)
    0.280948
    """
    need_numbers(2, flows=flows)
    started_above = next((flow > 0 for flow in flows if flow), False)
    low, high = 0.0, 1.0
    if _changes_of_sign(flows) == 1:
        while (_worth(flows, high) > 0) == started_above:
            high *= 2
            if math.isinf(high):
                raise InputError("flows", listed(flows), "give flows nearer to each other in size")
    elif _changes_of_sign(accumulate(flows)) != 1 or math.fsum(flows) == 0:
        advice = "give flows, or a running total of them, that change sign once; or ask for the modified rate"
        raise InputError("flows", listed(flows), advice)
    while low < (middle := (low + high) / 2) < high:
        low, high = (middle, high) if (_worth(flows, middle) > 0) == started_above else (low, middle)
    return 1 / high - 1


def _worth(flows: Sequence[float], discount: float) -> float:
    """Flows discounted by a factor a period."""
    total = 0.0
    for flow in reversed(flows):
        total = total * discount + flow
    return total


def _changes_of_sign(values: Iterable[float]) -> int:
    return sum(before != after for before, after in pairwise(value > 0 for value in values if value))


def modified_rate_of_return(flows: Sequence[float], finance_rate: float, reinvest_rate: float) -> float:
    """The rate a period at which what is paid, financed, grows to what is received, reinvested.

    (future value of receipts at reinvest_rate / present value of payments at finance_rate)^(1 / (count - 1)) - 1; the
    only rate however often the flows change sign, -1 where nothing is received.
    Source: ISO/IEC 26300 OpenFormula, MIRR (from memory).

    >>> round(modified_rate_of_return((-100, 50, 70), 0.10, 0.06), 6)
    0.109054
    """
    need_numbers(2, flows=flows)
    need_above(-1, finance_rate=finance_rate, reinvest_rate=reinvest_rate)
    last = len(flows) - 1
    received = math.fsum(flow * math.pow(1 + reinvest_rate, last - k) for k, flow in enumerate(flows) if flow > 0)
    paid = -net_present_value(finance_rate, [min(flow, 0.0) for flow in flows])
    if paid == 0:
        raise InputError("flows", listed(flows), "give at least one payment, a negative number")
    return math.pow(received / paid, 1 / last) - 1


def equivalent_annual_cost(rate: float, price: float, salvage: float, running: Sequence[float]) -> float:
    """The equal yearly cost, at the end of each year, that is worth as much as owning a thing for as many years as
    there are running costs.

    (price - salvage * (1 + rate)^-n + sum of running[k] * (1 + rate)^-k) * capital recovery factor, k from 1 to n. At a
    rate of 0 it is the plain average.
    Source: NIST Handbook 135 and ASTM E917, definitions of factors (from memory).

    >>> round(equivalent_annual_cost(0.06, 6000, 4000, [250] * 8), 2)
    812.07
    """
    need_finite(salvage=salvage)
    return annual_costs_by_life(rate, price, (salvage,), running)[-1]


def annual_costs_by_life(
    rate: float, price: float, salvages: Sequence[float], running: Sequence[float]
) -> tuple[float, ...]:
    """The equivalent annual cost of keeping a thing for one year, for two, and so on.

    for each n: (price - salvages[n] * (1 + rate)^-n + sum of running[k] * (1 + rate)^-k) * capital recovery factor, k
    from 1 to n. One salvage stands for every year.
    Source: NIST Handbook 135 and ASTM E917, definitions of factors (from memory).

    >>> [round(cost, 2) for cost in annual_costs_by_life(0.15, 10000, [4000], [1500, 2200, 2900])]
    [9000.0, 6116.28, 5362.85]
    """
    need_above(-1, rate=rate)
    need_finite(price=price)
    need_numbers(salvages=salvages, running=running)
    if len(salvages) not in (1, len(running)):
        raise InputError("salvages", listed(salvages), f"give one, or one for each of {len(running)} years")
    spent, costs = price, []
    for year, cost in enumerate(running, start=1):
        later = single_present_value_factor(rate, year)
        spent += cost * later
        salvage = salvages[min(year, len(salvages)) - 1]
        costs.append((spent - salvage * later) * capital_recovery_factor(rate, year))
    return tuple(costs)


def economic_life(rate: float, price: float, salvages: Sequence[float], running: Sequence[float]) -> int:
    """The number of years to keep a thing, for the least equivalent annual cost.

    the n of the least of the annual costs by life; of two that cost the same the shorter. Where the last year is the
    least, a longer life than those given may be better still.
    Source: NIST Handbook 135 and ASTM E917, definitions of factors (from memory).

    >>> economic_life(0.15, 10000, [4000], [1500, 2200, 2900, 3600, 4300, 5000])
    5
    """
    costs = annual_costs_by_life(rate, price, salvages, running)
    return costs.index(min(costs)) + 1


def administrative_burden(hours: float, tariff: float, entities: float, times: float) -> float:
    """What an obligation costs a year: price * quantity = (hours * tariff) * (entities * times).

    0 where nobody does it or it takes no time.
    Source: UK Standard Cost Model Manual (2005), 2.2, and SEC(2005)1329, core equation (located, passage not read).

    >>> administrative_burden(3, 10, 100000, 2)
    6000000
    """
    need_at_least(0, hours=hours, tariff=tariff, entities=entities, times=times)
    return hours * tariff * (entities * times)


_FACTORS = "NIST Handbook 135 and ASTM E917, definitions of factors (from memory)"
_RATE = Input("rate", "1/period", "rate of interest or discount a period, 0.08 for 8 %", 0.08)
_MONTHLY = Input("rate", "1/period", "rate of interest a period, 0.08 for 8 %", 0.005)
_PERIODS = Input("periods", "periods", "number of periods", 15.0)
_MONTHS = Input("periods", "periods", "number of payments, one a period", 60.0)
_FUTURE = Input("future", "money", "balance left at the end", 0.0)
_AT_START = Input("at_start", "1", "1 if payments are due at the start of each period, else 0", 0)
_PAYMENT = Input("payment", "money/period", "payment a period; paid is negative", -250.0)
_PRESENT = Input("present", "money", "amount now; received is positive", 12000.0)
_YEARLY = Input("rate", "1/year", "rate of interest or discount a year, 0.08 for 8 %", 0.08)
_PRICE = Input("price", "money", "price at the start", 9000.0)
_RUNNING = Input("running", "money/year", "running cost of each year", (900.0, 1400.0, 2100.0, 3000.0, 4100.0))
_SALVAGES = Input("salvages", "money", "what it sells for after each year", (6500.0, 5000.0, 4000.0, 3200.0, 2600.0))

METHODS = (
    Method(
        "single-present-value-factor",
        "economics",
        "worth now of 1 due after so many periods",
        "(1 + rate)^-periods",
        (_RATE, _PERIODS),
        "1",
        _FACTORS,
        single_present_value_factor,
    ),
    Method(
        "uniform-present-value-factor",
        "economics",
        "worth now of 1 at the end of each period",
        "(1 - (1 + rate)^-periods) / rate",
        (_RATE, _PERIODS),
        "periods",
        _FACTORS,
        uniform_present_value_factor,
    ),
    Method(
        "capital-recovery-factor",
        "economics",
        "payment a period that repays 1 lent now",
        "rate / (1 - (1 + rate)^-periods)",
        (_RATE, _PERIODS),
        "1/period",
        _FACTORS,
        capital_recovery_factor,
    ),
    Method(
        "mid-year-discount-factor",
        "economics",
        "worth now of 1 that flows all through a year",
        "(1 + rate)^(1/2 - year)",
        (_YEARLY, Input("year", "years", "the year it flows in, 1 for the first", 3.0)),
        "1",
        "OMB Circular A-94 (1992), Appendix B (from memory)",
        mid_year_discount_factor,
    ),
    Method(
        "loan-payment",
        "economics",
        "equal payment a period that repays a loan",
        "-(present + future * (1 + rate)^-periods) / ((1 + rate * at_start) * uniform present value factor)",
        (_MONTHLY, _MONTHS, _PRESENT, _FUTURE, _AT_START),
        "money/period",
        "ISO/IEC 26300 OpenFormula, PMT (from memory)",
        loan_payment,
    ),
    Method(
        "future-value",
        "economics",
        "balance after equal payments",
        "-(present + payment * (1 + rate * at_start) * uniform present value factor) * (1 + rate)^periods",
        (_MONTHLY, _MONTHS, _PAYMENT, Input("present", "money", "amount now; put in is negative", -2000.0), _AT_START),
        "money",
        "ISO/IEC 26300 OpenFormula, FV (from memory)",
        future_value,
    ),
    Method(
        "present-value",
        "economics",
        "worth now of equal payments and a last balance",
        "-(future * (1 + rate)^-periods + payment * (1 + rate * at_start) * uniform present value factor)",
        (_MONTHLY, _MONTHS, _PAYMENT, _FUTURE, _AT_START),
        "money",
        "ISO/IEC 26300 OpenFormula, PV (from memory)",
        present_value,
    ),
    Method(
        "number-of-payments",
        "economics",
        "how many equal payments repay a loan",
        "log1p(-(present + future) * rate / (payment * (1 + rate * at_start) + present * rate)) / log1p(rate)",
        (_MONTHLY, _PAYMENT, _PRESENT, _FUTURE, _AT_START),
        "periods",
        "ISO/IEC 26300 OpenFormula, NPER (from memory)",
        number_of_payments,
    ),
    Method(
        "net-present-value",
        "economics",
        "worth now of flows of money, the first flowing now",
        "sum of flow[k] * (1 + rate)^-k, k from 0",
        (_RATE, Input("flows", "money", "flow of each period; paid is negative", (-5000.0, 1500.0, 1800.0, 2600.0))),
        "money",
        "ISO/IEC 26300 OpenFormula, NPV, but with the first flow undiscounted (from memory)",
        net_present_value,
    ),
    Method(
        "internal-rate-of-return",
        "economics",
        "rate at which flows of money are worth nothing now",
        "sum of flow[k] * (1 + rate)^-k = 0, k from 0",
        (Input("flows", "money", "flow of each period; paid is negative", (-5000.0, 1500.0, 1800.0, 2600.0)),),
        "1/period",
        "ISO/IEC 26300 OpenFormula, IRR (from memory)",
        internal_rate_of_return,
    ),
    Method(
        "modified-rate-of-return",
        "economics",
        "rate at which payments, financed, grow to receipts, reinvested",
        "(future value of receipts at reinvest_rate / present value of payments at finance_rate)^(1 / (count - 1)) - 1",
        (
            Input("flows", "money", "flow of each period; paid is negative", (-5000.0, 1500.0, -400.0, 5600.0)),
            Input("finance_rate", "1/period", "rate at which payments are financed", 0.08),
            Input("reinvest_rate", "1/period", "rate at which receipts are reinvested", 0.03),
        ),
        "1/period",
        "ISO/IEC 26300 OpenFormula, MIRR (from memory)",
        modified_rate_of_return,
    ),
    Method(
        "equivalent-annual-cost",
        "economics",
        "equal yearly cost of owning a thing for so many years",
        "(price - salvage * (1 + rate)^-n + sum of running[k] * (1 + rate)^-k)"
        " * capital recovery factor, k from 1 to n",
        (_YEARLY, _PRICE, Input("salvage", "money", "what it sells for at the end", 2600.0), _RUNNING),
        "money/year",
        _FACTORS,
        equivalent_annual_cost,
    ),
    Method(
        "annual-costs-by-life",
        "economics",
        "equal yearly cost of owning a thing for one year, for two, and so on",
        "for each n: (price - salvages[n] * (1 + rate)^-n + sum of running[k] * (1 + rate)^-k)"
        " * capital recovery factor, k from 1 to n",
        (_YEARLY, _PRICE, _SALVAGES, _RUNNING),
        "money/year",
        _FACTORS,
        annual_costs_by_life,
    ),
    Method(
        "economic-life",
        "economics",
        "years to keep a thing for the least equal yearly cost",
        "the n of the least of the annual costs by life",
        (_YEARLY, _PRICE, _SALVAGES, _RUNNING),
        "years",
        _FACTORS,
        economic_life,
    ),
    Method(
        "administrative-burden",
        "economics",
        "yearly cost of an obligation, by price and quantity",
        "(hours * tariff) * (entities * times)",
        (
            Input("hours", "h", "time that it takes once", 3.0),
            Input("tariff", "money/h", "cost of an hour", 10.0),
            Input("entities", "1", "how many have to do it", 100000.0),
            Input("times", "1/year", "how often a year", 2.0),
        ),
        "money/year",
        "UK Standard Cost Model Manual (2005), 2.2, and SEC(2005)1329, core equation (located, passage not read)",
        administrative_burden,
    ),
)
