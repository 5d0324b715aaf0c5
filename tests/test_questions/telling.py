"""An answer in a line, as README's table has it: the figures that were asked for, out of a command's JSON."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any, TypeAlias

Found: TypeAlias = Mapping[str, Any]


def whole(amount: Any) -> str:
    """An amount or number without what stands behind its point; no minus before nothing."""
    return f"{round(float(amount)):,}"


def more(amount: Any) -> str:
    return f"{round(float(amount)):+,}"


def percent(share: Any) -> str:
    return f"{float(share):.0%}"


def mean(found: Found) -> str:
    """A difference with its standard error."""
    return f"{more(found['mean'])} +/- {whole(found['error'])}"


def tell_1(found: Found) -> str:
    timing = found["timing"]
    asked = timing["asked"]["parts"] if timing["asked"] else ()
    when = ", ".join(f"{one['level']} before {one['before']}" for one in (asked or timing["services"])[:2])
    gain = mean(timing[f"{timing['best']}_gain"]) if timing["best"] != "fixed" else "nothing"
    moves = [
        (abs(move["events"]), abs(float(move["cost"]["mean"])), move["events"], move["cost"])
        for service in timing["services"]
        for move in service["moves"]
        if move["cost"]
    ]
    _, _, events, cost = max(moves, key=lambda move: move[:3])
    return (
        f"{when}; cost against the files' intervals {gain}; the dearest move by {events:+d} events {mean(cost)} "
        f"{timing['currency']}"
    )


def tell_2(found: Found) -> str:
    plan, one = found["plan"], found["plan"]["one_more"]
    return (
        f"{whole(one['total'])} {plan['currency']}: life {whole(one['life_used'])}, work owed "
        f"{whole(one['work_owed'])}, consumed {whole(one['flowing'])}; and {whole(one['risk'])} at risk"
    )


def tell_3(found: Found) -> str:
    worst = sorted(found["used"], key=lambda line: -line["now"])[:3]
    each = "; ".join(
        f"{line['slot']} {percent(line['opening'])}, {percent(line['now'])}, {percent(line['end'])}" for line in worst
    )
    return f"opening, now, end: {each}"


def tell_4(found: Found) -> str:
    plan = found["plan"]
    worst = next(month for month in plan["months"] if month["month"] == plan["worst_month"])
    return f"{len(plan['months'])} months; worst {worst['month']} with {whole(worst['net'])} {plan['currency']}"


def tell_5(found: Found) -> str:
    plan = found["plan"]
    each = ", ".join(f"{rate['per']} {float(rate['cash']):,.2f}" for rate in plan["rates"])
    off = ", ".join(f"{float(rate['cash_after_income']):,.2f}" for rate in plan["rates"])
    return f"{each} paid; income taken off {off} {plan['currency']}"


def tell_6(found: Found) -> str:
    outlook = found["outlook"]
    cash = outlook["cash"]
    moves = [
        (float(one["earlier"]["share"]) + float(one["later"]["share"]), f"{one['level']} {one['nth']}")
        for one in outlook["levels"]
        if one["carrier"] == "engine"
    ]
    moved, level = max(moves)
    return (
        f"{whole(cash['p10'])}, {whole(cash['p50'])}, {whole(cash['p90'])} {outlook['currency']}; {level} moves in "
        f"{percent(moved)} of seasons"
    )


def tell_7(found: Found) -> str:
    one, two = found["comparison"]["sides"][:2]
    difference = found["comparison"]["differences"][0]
    return (
        f"{difference['name']}: {mean(difference['cash'])} {found['comparison']['currency']}; a race is missed in "
        f"{percent(one['any_missed']['share'])} and {percent(two['any_missed']['share'])} of seasons"
    )


def tell_8(found: Found) -> str:
    spares = found["spares"]
    parts = [part["part"] for step in spares["steps"] for part in step["parts"]]
    return (
        f"{', '.join(parts)} for {whole(spares['price'])}: saves {whole(spares['whole']['saves'])} +/- "
        f"{whole(spares['whole']['error'])} {spares['currency']} a season"
    )


def tell_9(found: Found) -> str:
    first, second = found["comparison"]["sides"][:2]
    even = found["break_even"]
    return (
        f"{float(first['per_race']['mean']):,.2f} and {float(second['per_race']['mean']):,.2f} "
        f"{found['comparison']['currency']} a race; even at {even['value']:.2f} +/- {even['error']:.2f}"
    )


def tell_10(found: Found) -> str:
    net, even = found["comparison"]["differences"][0]["net"], found["break_even"]
    return (
        f"{mean(net)} {found['comparison']['currency']} net; even at {whole(even['value'])} +/- {whole(even['error'])}"
    )


def tell_11(found: Found) -> str:
    worth = found["worth"]
    owner = worth["to_owner"]
    return (
        f"{whole(owner['mean'])} +/- {whole(owner['error'])} {worth['currency']} to its owner; broken up "
        f"{whole(worth['broken_up'])}; new {whole(worth['new']['price'])}"
    )


def tell_12(found: Found) -> str:
    struck = found["struck"]
    bill = struck["bill"]
    return (
        f"{struck['what']}: on average {whole(bill['mean'])}, in 10, 50, 90 % at most {whole(bill['p10'])}, "
        f"{whole(bill['p50'])}, {whole(bill['p90'])} {struck['currency']}"
    )


def tell_13(found: Found) -> str:
    struck = found["struck"]
    return (
        f"{struck['what']}: cash {mean(struck['bill'])}, with what is then left on hand {mean(struck['net'])} "
        f"{struck['currency']}; {struck['missed']['mean']:+.2f} races missed"
    )


def tell_14(found: Found) -> str:
    events = found["affordable"]["events"]
    return (
        f"{whole(events['p10'])}, {whole(events['p50'])}, {whole(events['p90'])} events in 10, 50, 90 % of seasons; "
        f"{found['affordable']['planned']} as planned"
    )


def tell_15(found: Found) -> str:
    orders = found["orders"]["orders"]
    late = [one for one in orders if one["state"] == "late"]
    first = min((one for one in orders if one["state"] != "late"), key=lambda one: one["order_by"], default=None)
    comes = f"; next {first['name']} by {first['order_by']}" if first else ""
    return f"{len(orders)} orders, {len(late)} late{comes}"


def tell_16(found: Found) -> str:
    quote = found["quote"]
    totals = quote["totals"]
    return (
        f"{float(totals['net']):,.2f} + tax {float(totals['tax']):,.2f} = {float(totals['gross']):,.2f} "
        f"{quote['currency']}, margin {float(quote['margin']['margin']):.1%}, until {quote['valid_until']}"
    )


def tell_17(found: Found) -> str:
    bad, quote = found["if_bad"], found["quote"]
    return (
        f"{float(bad['found']['gross']):+,.2f} {quote['currency']} with tax; at the price as quoted the shop earns "
        f"{whole(bad['held'])}"
    )


def tell_18(found: Found) -> str:
    quote, risen = found["quote"], found["if_prices_rise"]
    return (
        f"cost {more(risen['more_cost'])} to {whole(risen['cost'])} {quote['currency']}; margin "
        f"{float(quote['margin']['margin']):.1%} to {float(risen['margin']):.1%}"
    )


def tell_19(found: Found) -> str:
    swaps = found["options"]["swaps"]
    costs = [float(swap["costs"]) for swap in swaps]
    breathing = found["told"]["breathing"]
    head = f"; {breathing['decides']} decide the power" if breathing else ""
    return f"{len(swaps)} options from {more(min(costs))} to {more(max(costs))}{head}; {_pays(swaps)}"


def _pays(swaps: list[Found]) -> str:
    """How many of the dearer options buy power beyond the error, or lower what a season costs."""
    dearer = [swap for swap in swaps if float(swap["costs"]) > 0]
    power = sum(swap["more_power"] is not None and swap["buys"] not in ("nothing certain", "") for swap in dearer)
    saves = sum(swap["less_a_season"] is not None and float(swap["less_a_season"]) > 0 for swap in dearer)
    return f"of {len(dearer)} dearer {power} buy power for certain, {saves} save in parts over a season"


def tell_20(found: Found) -> str:
    difference = found["difference"]
    moved = ", ".join(line["name"] for line in difference["moved"][:3])
    return f"{len(difference['moved'])} lines moved ({moved}): {float(difference['gross']):+,.2f} with tax"


def tell_21(found: Found) -> str:
    impact = found["impact"]
    each = "; ".join(_change(change, impact["study"]["years"]) for change in impact["changes"])
    return f"{impact['currency']}: {each}"


def _change(change: Found, years: int) -> str:
    total = change["total"]
    paid = total["payback"]
    back = f"back in {paid:.1f} years" if paid else "saves at once" if paid == 0 else f"not back in {years}"
    return f"{change['name']} {more(total['first']['mean'])}, then {more(total['yearly']['mean'])} a year, {back}"


def tell_22(found: Found) -> str:
    impact, (change,) = found["impact"], found["impact"]["changes"]
    parts = sorted(change["stranded"], key=lambda part: -float(part["left"]))
    put_out = (
        f"; {parts[0]['name']} of {parts[0]['entrants']} put out, worth {whole(parts[0]['left'])}" if parts else ""
    )
    return (
        f"{change['total']['losers']} of {change['total']['entrants']} lose more than {whole(impact['loss'])} "
        f"{impact['currency']}{put_out}"
    )


def tell_23(found: Found) -> str:
    impact, (change,) = found["impact"], found["impact"]["changes"]
    each = ", ".join(f"{phase['name']} {mean(phase['over'])}" for phase in change["phases"])
    return f"over {impact['study']['years']} years, {impact['currency']}: {each}"


def tell_24(found: Found) -> str:
    (change,) = found["impact"]["changes"]
    row = max(change["supply"], key=lambda row: row["short"] or 0)
    return f"{row['part']}: {row['wanted']:,} wanted, {row['there']} there, {row['waiting']} entrants wait"


def tell_25(found: Found) -> str:
    (flips,) = found["flips"]
    turning = [one["assumption"] for one in flips["assumptions"] if one["flips"]]
    most = max(flips["assumptions"], key=lambda one: float(one["swing"]))
    moves = f"most is moved by {most['assumption']}: {more(most['lower'])} to {more(most['higher'])}"
    return f"{len(turning)} of {len(flips['assumptions'])}: {'; '.join(turning[:3])}" if turning else f"none; {moves}"


#: The answer to each question, by its number.
TELL: dict[int, Callable[[Found], str]] = dict(
    enumerate(
        (
            tell_1,
            tell_2,
            tell_3,
            tell_4,
            tell_5,
            tell_6,
            tell_7,
            tell_8,
            tell_9,
            tell_10,
            tell_11,
            tell_12,
            tell_13,
            tell_14,
            tell_15,
            tell_16,
            tell_17,
            tell_18,
            tell_19,
            tell_20,
            tell_21,
            tell_22,
            tell_23,
            tell_24,
            tell_25,
        ),
        start=1,
    )
)
