"""What a quote leaves the shop, and what is due with the order."""

from __future__ import annotations

from decimal import ROUND_CEILING, Decimal

from costplan.money import minor_digits, round_money, with_minor_digits
from costplan.quote.asking import Asking
from costplan.quote.margin import price_for_margin
from costplan.quote.priced import Priced
from costplan.quote.pricing import NOTHING
from costplan.quote.records import KINDS, Kind, KindMargin, Margin
from costplan.quote.totals import totals_of
from costplan.season.terms import terms_of


def margin_of(priced: Priced, target: Decimal, currency: str) -> Margin:
    """What the shop earns by lines: cores pass through, a discount on the whole is a credit."""
    kinds = [_of_kind(priced, kind, currency) for kind in KINDS if kind != "core"]
    shown = [one for one in kinds if one.net or one.cost]
    if priced.discount:
        shown = [one for one in shown if one.kind != "credit"]
        given = next(one for one in kinds if one.kind == "credit")
        shown.append(KindMargin("credit", given.net - priced.discount, given.cost))
    net, cost = sum((one.net for one in shown), NOTHING), sum((one.cost for one in shown), NOTHING)
    earned = net - cost
    step = Decimal(1).scaleb(-minor_digits(currency))
    floor = price_for_margin(cost, target).quantize(step, rounding=ROUND_CEILING)
    return Margin(
        net, cost, earned / net if net else None, earned / cost if cost else None, target, floor, tuple(shown)
    )


def _of_kind(priced: Priced, kind: Kind, currency: str) -> KindMargin:
    net, cost = (with_minor_digits(amount, currency) for amount in (priced.net_of(kind), priced.cost_of(kind)))
    return KindMargin(kind, net, cost)


def deposit_share(asking: Asking) -> Decimal:
    """The share that is due with the order: the shop book's, else that of suppliers.csv."""
    header = asking.book.header
    if header.deposit is not None:
        return header.deposit
    return Decimal(repr(terms_of(asking.scenario.files, header.shop).deposit))


def deposit_of(asking: Asking, priced: Priced) -> Decimal:
    """What is due with the order, of the total or of the parts, both with tax."""
    currency, gross = asking.counter.currency, priced.totals.gross
    if asking.book.header.deposit_of == "parts":
        parts = ((line.net, line.tax) for line in priced.lines if line.kind == "parts")
        gross = totals_of(parts, currency).gross
    return round_money(deposit_share(asking) * max(gross, NOTHING), currency)
