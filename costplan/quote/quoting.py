"""A request with the shop's book and the season behind it -> a quote."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import replace
from datetime import timedelta
from decimal import Decimal
from functools import cache

from costplan.money import round_money
from costplan.problems import Problem
from costplan.quote.allowing import Doubt, Found, after_tear_down, allowances_of, doubts_of_build, doubts_of_service
from costplan.quote.asking import Asking
from costplan.quote.barring import contradicted, endless, undone, unmatched, unopened
from costplan.quote.earning import deposit_of, deposit_share, margin_of
from costplan.quote.priced import UNDISCOUNTED, Priced, priced_lines
from costplan.quote.pricing import NOTHING
from costplan.quote.records import KINDS, AfterTearDown, Allowance, Choice, Line, Party, Quote, Schedule, Supplied
from costplan.quote.request import OptionRow, bad_slot
from costplan.quote.scheduling import schedule_of
from costplan.quote.shop import BUILD, ShopBook
from costplan.quote.stated import terms_of_shop
from costplan.quote.totals import Tax
from costplan.quote.worklist import WorkList, part_in

#: Under what a fixed price holds the tear-down.
HELD = "Held against tear-down"


def make_quote(asking: Asking, revision: int = 0, reason: str = "") -> tuple[Quote | None, tuple[Problem, ...]]:
    """The quote that a request asks for; None with the problems that only show now."""
    asked = asking.asked
    problems = (*contradicted(asking), *unopened(asking))
    if problems:
        return None, problems
    work, base = asking.priced()
    lost = tuple(undone(asking, work.job, base.lines)) or tuple(unmatched(asked, base.lines))
    problems = (*lost, *endless(asking.book, base.lines))
    if problems:
        return None, problems
    found = cache(asking.priced)  # likely ways are asked for again where a fixed price holds them
    allowances = allowances_of((work, base), _doubts(asking, work), found)
    held = _held(asking, work, base, allowances, found) if asked.head.basis == "fixed" else base
    after = after_tear_down(base, allowances, found, asking.counter.currency)
    return _written(asking, work, base, held, allowances, after, revision, reason), ()


def _doubts(asking: Asking, work: WorkList) -> tuple[Doubt, ...]:
    if asking.torn_down or asking.asked.head.torn_down:
        return ()
    if asking.opening is None:
        return tuple(doubts_of_build(asking.book, (row.slot for row in asking.asked.supplied), BUILD))
    brought = [row.slot for row in asking.asked.supplied if row.whose == "customer's"]
    known = [bad_slot(word)[0] for word in (*asking.asked.head.bad, *asking.bad)]
    doubts = doubts_of_service(asking.book, asking.opening, work, brought)
    return tuple(doubt for doubt in doubts if doubt.slot not in known)


def _held(asking: Asking, work: WorkList, base: Priced, allowances: Iterable[Allowance], found: Found) -> Priced:
    """The lines of a fixed price: those of the work, and what is expected of tear-down, by kind of line."""
    sums: dict[str, tuple[Decimal, Decimal]] = {}
    for one in allowances:
        _, likely = found((one.word,))
        for kind in KINDS:
            net, cost = likely.net_of(kind) - base.net_of(kind), likely.cost_of(kind) - base.cost_of(kind)
            before, share = sums.get(kind, (NOTHING, NOTHING)), Decimal(repr(one.chance))
            sums[kind] = (before[0] + share * net, before[1] + share * cost)
    currency = asking.counter.currency
    lines = []
    for kind in KINDS:
        net, cost = (round_money(amount, currency) for amount in sums.get(kind, (NOTHING, NOTHING)))
        if net and kind not in UNDISCOUNTED:
            tax, count = asking.book.tax_row(kind, work.job).tax, Decimal(1).copy_sign(net)
            name = f"What tear-down may show: {kind}"
            line = Line(f"held/{kind}", HELD, kind, name, "", (), "", count, "job", abs(net), NOTHING, net, tax, cost)
            lines.append(replace(line, why="the likely ways of its allowances, at their chances"))
    return priced_lines(asking.counter, base.bill, (*base.lines, *lines), asking.asked.head.discount)


def _written(
    asking: Asking,
    work: WorkList,
    base: Priced,
    priced: Priced,
    allowances: tuple[Allowance, ...],
    after: AfterTearDown,
    revision: int,
    reason: str,
) -> Quote:
    head, book, counter = asking.asked.head, asking.book, asking.counter
    currency, totals = counter.currency, priced.totals
    if head.basis == "fixed":
        after = replace(
            after, expected_net=totals.net, expected_gross=totals.gross, worst_net=totals.net, worst_gross=totals.gross
        )
    core = priced.net_of("core")
    deposit = deposit_of(asking, priced)
    core_by = asking.on + timedelta(days=book.header.core_days) if core else None
    schedule = schedule_of(asking, work, priced)
    return Quote(
        head.number,
        asking.asked.name,
        revision,
        reason,
        head.title,
        work.of,
        work.engine,
        work.level,
        head.basis,
        asking.on,
        asking.on + timedelta(days=book.header.valid_days),
        currency,
        asking.scenario.invented or book.header.invented,
        Party(book.header.shop, book.header.address),
        Party(head.customer, head.address),
        priced.lines,
        _supplied(asking, work),
        allowances,
        tuple(_choice(asking, row, base) for row in asking.asked.options),
        totals,
        priced.discount,
        _tax_notes(book, priced.lines, work.job),
        after,
        margin_of(priced, book.header.target, currency),
        core,
        core_by,
        deposit,
        totals.gross - deposit,
        schedule,
        terms_of_shop(book, deposit_share(asking), currency),
        (*book.header.excluded, *(f"{slot} (not asked for)" for slot in head.without), *head.excluded),
        (*head.notes, *_notes(asking, work, schedule)),
        _if_stopped(book, priced.lines),
        _assumed(allowances, book, priced.lines),
    )


def _notes(asking: Asking, work: WorkList, schedule: Schedule) -> Iterator[str]:
    """What the shop must say beyond the request: a deeper opening, and work that comes too late for its event."""
    if work.raised:
        yield f"{work.raised[0].upper()}{work.raised[1:]}."
    opening = asking.opening
    if opening is not None and opening.on < schedule.ready and opening.event:
        waits = f"; {schedule.longest} is here on {schedule.parts_here}" if schedule.longest else ""
        yield f"Not ready before {opening.event} on {opening.on}, if ordered on {schedule.ordered}{waits}."


def _supplied(asking: Asking, work: WorkList) -> tuple[Supplied, ...]:
    """What goes in and is not sold: as the request says, and out of the customer's box by the plan."""
    rows = []
    for row in asking.asked.supplied:
        part = asking.counter.catalog.parts[row.part or part_in(work.build, row.slot).part.part]
        rows.append(Supplied(row.slot, part.part, part.name or part.part, row.whose, row.condition, row.note))
    for slot in work.on_shelf:
        part = part_in(work.build, slot).part
        rows.append(Supplied(slot, part.part, part.name or part.part, "customer's", "from the customer's own box"))
    return tuple(rows)


def _choice(asking: Asking, row: OptionRow, base: Priced) -> Choice:
    """An option, priced with the others as they are: how much more the whole is with it than without."""
    others = [one for one in asking.taken if one.name != row.name]
    _, without = asking.priced(options=others) if row.take else (None, base)
    _, with_it = (None, base) if row.take else asking.priced(options=[*others, row])
    return Choice(row.name, row.says, row.take, with_it.less(without))


def _tax_notes(book: ShopBook, lines: Iterable[Line], job: str) -> tuple[tuple[Tax, str], ...]:
    """What the shop says of each tax that is on the quote."""
    notes: dict[Tax, dict[str, None]] = {}
    for row in (book.tax_row(line.kind, job) for line in lines):
        notes.setdefault(row.tax, {})[row.note or row.name] = None
    return tuple((tax, "; ".join(words)) for tax, words in notes.items())


def _if_stopped(book: ShopBook, lines: Iterable[Line]) -> Decimal:
    """What is owed where the work stops after tear-down, before tax."""
    owed = {row.work for row in book.work if row.if_stopped}
    words = ((line.key.split("/"), line.net) for line in lines)
    return sum((net for key, net in words if key[0] == "work" and key[1] in owed), NOTHING)


def _assumed(allowances: Iterable[Allowance], book: ShopBook, lines: Iterable[Line]) -> tuple[str, ...]:
    """The inputs that nobody stands for."""
    keys = {line.key for line in lines}
    guessed = [f"chance that {one.slot} is bad: {one.chance_why}" for one in allowances if one.assumed]
    hours = [row for row in book.work if row.hours and not row.source and f"work/{row.work}" in keys]
    return (*guessed, *(f"hours of {row.work}: {row.hours} h, no source ({row.place})" for row in hours))
