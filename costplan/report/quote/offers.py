"""The season's service plan as the shop prices it, as a page."""

from __future__ import annotations

from collections.abc import Iterator

from costplan.quote.offers import Offers, OffersCopy
from costplan.quote.stated import plain
from costplan.report.data import to_csv
from costplan.report.quote.amounts import share, signed
from costplan.report.quote.wording import INVENTED
from costplan.report.tables import Page, Table, listed, money, plural, whole


def offers_page(found: Offers, *, invented: bool) -> Page:
    """Everything that `costplan quote offers` answers."""
    tables = tuple(table for table in (_offers_table(found), _levels_table(found)) if table.rows)
    foot = (
        "For the shop only: it shows margin. Each opening is what the season's plan does then, with nothing failing; "
        "an engine that is opened may show more.",
    )
    title = f"{found.shop}: the season's service plan, priced on {found.on}"
    return Page(title, tuple(_head(found, invented=invented)), tables, foot)


def _head(found: Offers, *, invented: bool) -> Iterator[str]:
    if invented:
        yield f"{INVENTED}."
    if not found.offers:
        yield "The plan has no opening ahead that this shop offers."
    else:
        count = plural(len(found.offers), "opening")
        yield (
            f"{count}: {money(found.net)} {found.currency} before tax, {money(found.gross)} with it; "
            f"{money(found.expected)} with what tear-down may show."
        )
        yield f"The racer's own files have {money(found.plan)} for the same work: the shop asks {signed(found.more)}."
    if found.elsewhere:
        yield f"Done elsewhere by the files: {listed(found.elsewhere)}."


def _offers_table(found: Offers) -> Table:
    rows = tuple(
        (
            f"{one.before}\n{one.level} of {one.engine}",
            f"{one.begins}\n{one.ready}",
            money(one.work),
            money(one.parts),
            money(one.gross),
            signed(one.more),
            share(one.margin),
        )
        for one in found.offers
    )
    note = "Work and parts before tax; more: than the racer's files, before tax. Margin: of the price."
    header = ("Before", "Begun, ready", "Work", "Parts", "With tax", "More", "Margin")
    return Table("Offers", header, rows, (2, 3, 4, 5, 6), note)


def _levels_table(found: Offers) -> Table:
    rows = tuple(
        (
            one.level,
            str(one.offers),
            whole(one.listed_labour),
            whole(one.labour),
            whole(one.listed_supplies),
            whole(one.supplies),
        )
        for one in found.levels
    )
    note = "On average over the offers, before tax: what levels.csv has, and what it would have by the shop's figures."
    header = ("Level", "Offers", "Labour now", "By the shop", "Supplies now", "By the shop")
    return Table("For the racer's levels.csv", header, rows, (1, 2, 3, 4, 5), note)


def copy_page(copy: OffersCopy, *, invented: bool) -> Page:
    """The customer's copy of the offers."""
    rows = tuple(
        (
            f"{one.before}\n{one.level} of {one.engine}",
            f"{one.begins}\n{one.ready}",
            money(one.work),
            money(one.parts),
            money(one.gross),
            money(one.expected),
        )
        for one in copy.offers
    )
    header = ("Before", "Begun, ready", "Work", "Parts", "With tax", "Expected")
    note = "Work and parts before tax. Expected: with tax, and what tear-down may show at its chances."
    table = Table("Offers", header, rows, (2, 3, 4, 5), note)
    lines = (
        *((f"{INVENTED}.",) if invented else ()),
        f"{plural(len(copy.offers), 'opening')}: {money(copy.gross)} {copy.currency} with tax, "
        f"{money(copy.expected)} with what tear-down may show.",
    )
    foot = (
        "Each opening is what the season's plan does then, with nothing failing. A quote of its own goes before each.",
    )
    title = f"{copy.shop}: your season's service plan, priced on {copy.on}"
    return Page(title, lines, (table,) if rows else (), foot)


def copy_csv(copy: OffersCopy) -> str:
    """The customer's copy as CSV."""
    names = ("begins", "ready", "before", "engine", "level", "work", "parts", "net", "gross", "expected")
    return to_csv(names, (tuple(getattr(one, name) for name in names) for one in copy.offers))


def offers_csv(found: Offers) -> str:
    """The offers as CSV."""
    names = (
        "begins",
        "before",
        "engine",
        "level",
        "plan_work",
        "plan_parts",
        "work",
        "parts",
        "net",
        "gross",
        "expected",
    )
    rows = ((*(getattr(one, name) for name in names), plain(one.hours), one.ready) for one in found.offers)
    return to_csv((*names, "hours", "ready"), rows)
