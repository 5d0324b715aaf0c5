"""Whole quotes of the demo, line by line to the cent, against a count from its files that shares nothing with them."""

from __future__ import annotations

import json
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import asdict, replace
from datetime import date
from decimal import Decimal
from functools import lru_cache
from pathlib import Path
from typing import Any

import pytest

from costplan.quote import Asking, make_quote
from costplan.quote.desk import Desk, open_desk
from costplan.quote.opened import Played
from costplan.quote.records import Line, Quote
from costplan.quote.revisions import read_revision
from tests.command_line import answer, case
from tests.test_quote import counted_by_hand
from tests.test_quote.counted_by_hand import Counter, Files

D = Decimal
DEMO = Path(__file__).parents[2] / "scenarios/oval-v8"
DAYS = {"new-engine": date(2027, 2, 1), "freshen-blue": date(2027, 1, 11), "rebuild-blue": date(2027, 6, 1)}
#: The pistons' distance to the deck in inches: of a new engine by its parts, of the blue one as bench.csv has it.
BUILT = D("9.000") - D("0.005") - D("3.040") / 2 - D("6.000") - D("37.34") / D("25.4")
MEASURED = D("0.0062")


@lru_cache(maxsize=2)
def desk_with(sets: tuple[str, ...]) -> Desk:
    desk, problems = open_desk(DEMO, sets)
    assert desk is not None, problems
    return desk


def asking_for(name: str, on: date, sets: Sequence[str] = (), bad: tuple[str, ...] = ()) -> Asking:
    desk = desk_with(tuple(sets))
    asked, problems = desk.request(name)
    assert asked is not None, problems
    asking, problems = desk.asking(asked, on)
    assert asking is not None, problems
    return replace(asking, bad=bad)


def quoted(asking: Asking) -> Quote:
    quote, problems = make_quote(asking)
    assert quote is not None, problems
    return quote


def by_hand(asking: Asking, quote: Quote, sets: Sequence[str] = (), **given: Any) -> dict[str, Any]:
    """The same counted apart: all lines, and all figures that are read off them."""
    jobs = jobs_of(asking.plan) if asking.plan else []
    chances = {each.word: each.chance for each in quote.allowances}
    measures = {"deck_clearance": MEASURED if quote.engine else BUILT}
    files, given = Files(DEMO, sets), {"measures": measures, "bad": asking.bad, **given}
    lines, figures = Counter(files, asking.asked.name, asking.on, jobs, chances, **given).quote()
    return {"lines": {line.key: _of_hand(line) for line in lines}} | figures


def jobs_of(plan: Played) -> list[dict[str, Any]]:
    """The plan's openings, each with whether it lies `between` the sessions of the event that it is named by."""
    runs = plan.season.runs
    between = {
        place: 0 < place[0] < len(runs) and runs[place[0] - 1].event.event == runs[place[0]].event.event
        for place in plan.jobs
    }
    return [asdict(job) | {"between": between[place]} for place, job in plan.jobs.items()]


def _of_hand(line: counted_by_hand.Line) -> tuple[object, ...]:
    more = [line.more.get(name, 0) for name in ("hours", "spare")]
    amounts = (line.quantity, line.price, line.discount, line.net, line.cost)
    return (line.kind, *amounts, *line.tax, *more, line.more.get("supplier", ""))


def _of_quote(line: Line) -> tuple[object, ...]:
    amounts = (line.quantity, line.price, line.discount, line.net, line.cost)
    return (line.kind, *amounts, line.tax.code, line.tax.percent, line.hours, line.spare, line.supplier)


def in_whole(quote: Quote) -> dict[str, Any]:
    """A quote in the words of the other count."""
    totals, plan, after = quote.totals, quote.schedule, quote.after
    found: dict[str, Any] = {"lines": {line.key: _of_quote(line) for line in quote.lines}}
    found |= {name: getattr(totals, name) for name in ("net", "tax", "gross")}
    found["groups"] = {(group.tax.code, group.tax.percent): (group.taxable, group.amount) for group in totals.groups}
    alone = ("discount", "core", "core_by", "deposit", "balance", "if_stopped", "valid_until")
    found |= {name: getattr(quote, name) for name in alone}
    found |= {name: getattr(plan, name) for name in ("parts_here", "bench_free", "begins", "ready", "hours")}
    names = [f"{way}_{name}" for way in ("expected", "worst") for name in ("net", "gross", "cost")]
    found |= {name: getattr(after, name) for name in names}
    found |= {"cost": quote.margin.cost, "floor": quote.margin.floor, "job": quote.level or "build"}
    for way in ("likely", "worst"):
        changes = {each.word: getattr(each, f"{way}_more") for each in quote.allowances}
        found[way] = {word: [more.net, more.gross, more.cost] for word, more in changes.items()}
    return found | {f"option {o.name}": [o.more.net, o.more.gross, o.more.cost] for o in quote.options}


def prices_of(lines: Iterable[Line]) -> dict[str, tuple[Decimal, Decimal]]:
    """What was agreed: of each line but those that follow from others, and deposits."""
    follows = ("supplies", "freight", "core/", "held/")
    return {line.key: (line.price, line.discount) for line in lines if not line.key.startswith(follows)}


# The demo as it is ---------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("name", DAYS)
def test_a_quote_of_the_demo_is_what_its_files_say(name: str) -> None:
    asking = asking_for(name, DAYS[name])
    quote = quoted(asking)
    assert in_whole(quote) == by_hand(asking, quote)


def test_the_plan_that_a_service_is_counted_by_is_the_seasons_own() -> None:
    asking = asking_for("freshen-blue", DAYS["freshen-blue"])
    told: list[Mapping[str, Any]] = answer("season", DEMO, "--on", asking.on)["plan"]["jobs"]
    assert asking.plan is not None
    jobs = jobs_of(asking.plan)
    assert [[job["before"], job["engine"], *(row["slot"] for row in job["renewals"])] for job in told] == [
        [job["before"], job["engine"], *(row["slot"] for row in job["renewals"])] for job in jobs
    ]


def test_what_is_changed_between_the_sessions_of_the_next_event_is_no_part_of_a_service_before_it() -> None:
    asking = asking_for("rebuild-blue", DAYS["rebuild-blue"])
    assert asking.plan is not None
    (filter_change,) = (
        job for job in jobs_of(asking.plan) if (job["before"], job["engine"]) == ("Vorlemick three", "blue")
    )
    assert filter_change["between"]
    assert "part/DW-OF1" not in [line.key for line in quoted(asking).lines]


SAVED = [path.stem for path in sorted((DEMO / "quotes").glob("*.json"))]


@pytest.mark.parametrize("file", SAVED)
def test_a_saved_revision_is_what_its_request_says_by_the_files_with_what_was_agreed_before(file: str) -> None:
    name, _, number = file.rpartition("-r")
    saved, problems = read_revision(DEMO, name, int(number))
    assert saved is not None, problems
    before, _ = read_revision(DEMO, name, int(number) - 1)
    kept = any("agreed before" in line.why for line in saved.quote.lines)
    held = prices_of(before.quote.lines) if before and kept else {}
    asking, problems = desk_with(()).asking(saved.asked, saved.quote.on)
    assert asking is not None, problems
    asked = json.loads((DEMO / f"quotes/{file}.json").read_text(encoding="utf-8"))["asked"]
    tables = {"supplied": "supplied", "options": "option", "extras": "line", "prices": "price"}
    told = {
        name: [{k: v for k, v in row.items() if v is not None} for row in asked[key]] for key, name in tables.items()
    }
    asking = replace(asking, bad=saved.bad, torn_down=saved.torn_down)
    found = by_hand(asking, saved.quote, held=held, asked=asked["head"] | told)
    assert in_whole(saved.quote) == found
    agreed = {line.key: line for line in before.quote.lines} if before and kept else {}
    assert in_whole(quoted(replace(asking, held=agreed))) == found


# What if -------------------------------------------------------------------------------------------------------------

NEW, FRESHEN, REBUILD = DAYS
MONTHS = [(NEW, f"2027-{month:02}-15") for month in (1, 3, 4, 5, 6, 7, 8, 9, 10, 11, 12)]
WEEKS = [(FRESHEN, day) for day in ("2026-01-20", "2026-12-15", "2027-01-20")]
SPRING = [(REBUILD, day) for day in ("2027-01-20", "2027-04-20", "2027-05-15")]
SUNDAYS = [(REBUILD, "2027-03-10", "shop/workdays=7"), (REBUILD, "2027-03-10", "shop/workdays=6")]

#: Springs and a pushrod broke that night, as the log has it; here nothing of theirs lies in the box.
APRIL = [f"quote-rebuild-blue/{word}" for word in ("level=springs", "of=", "case=", "before=Pellundry two")]
BOX = ["garage/spare-springs/part=DW-BT1", "garage/spare-pushrods/part=DW-BT1"]
BROKE = [(REBUILD, "2027-04-24", *APRIL, *BOX)]


@pytest.mark.parametrize("given", [*MONTHS, *WEEKS, *SPRING, *SUNDAYS, *BROKE], ids=case)
def test_prices_rates_of_exchange_and_the_plan_are_those_of_the_day(given: tuple[str, ...]) -> None:
    name, day, *sets = given
    asking = asking_for(name, date.fromisoformat(day), sets)
    quote = quoted(asking)
    assert in_whole(quote) == by_hand(asking, quote, sets)


VARIATIONS = [
    # Mark-up and discounts
    (NEW, "shop/markup/parts=17.35 %", "shop/markup/sublet=7.7 %", "shop/markup/freight=12.5 %"),
    (REBUILD, "shop/markup/parts=0 %", "shop/markup/sublet=0 %", "shop/markup/fees=3 %"),
    (FRESHEN, "shop/supplier/Tevrosk/discount=0 %", "shop/supplier/Quolmeck/discount=3.33 %"),
    (NEW, "shop/supplier/Dorrowick/discount=41 %", "shop/supplier/Oskelbram/discount=0"),
    (FRESHEN, "quote-freshen-blue/basis=fixed", "quote-freshen-blue/discount=2.5 %"),
    (REBUILD, "quote-rebuild-blue/basis=estimate", "quote-rebuild-blue/discount=1 %"),
    # Freight
    (REBUILD, "shop/supplier/Dorrowick/free_from=154.88", "shop/supplier/Oskelbram/free_from=100000"),
    (REBUILD, "shop/supplier/Dorrowick/free_from=154.89", "shop/markup/freight=8 %"),
    # Tax
    (NEW, "shop/tax/goods/percent=8.875 %", "shop/tax/first assembly/percent=7.7 %",
     "shop/tax/deposits and credits/percent=19 %", "shop/tax/deposits and credits/code=S"),
    (REBUILD, "shop/tax/repair labour/percent=8.875 %", "shop/tax/repair labour/code=S"),
    (FRESHEN, "oval-v8/catalog/tax_included=yes"),
    # Suppliers' prices: currency, packs, least quantities, kits
    (FRESHEN, "oval-v8/prices/91/currency=EUR", "shop/queue_days=3", "shop/workdays=6", "shop/hours_a_day=7.5"),
    (NEW, "oval-v8/kits/OB-KG/currency=EUR", "scenario/rate/2/rate=0.91", "oval-v8/prices/86/least=2"),
    (REBUILD, "oval-v8/prices/86/pack=6", "oval-v8/prices/86/least=1", "oval-v8/tevrosk-preisliste/TV-PR80/pack=5"),
    (FRESHEN, "oval-v8/kits/DW-KF/price=2000"),
    (FRESHEN, "oval-v8/kits/TV-KV/price=900"),  # the plan buys lifters in a kit that the shop does not
    (REBUILD, "oval-v8/kits/TV-KP/price=1100", "oval-v8/kits/OB-KG/price=310", "suppliers/Tevrosk/queue_days=11"),
    (NEW, "oval-v8/ancillaries/DW-WP1/core_charge=33.335", "oval-v8/bottom-end/DW-B400/price=2350.005",
     "oval-v8/bottom-end/QM-RB7/pack=5", "oval-v8/induction-ignition/DW-SK8/pack=3"),
    # Work: hours, rates, pieces, what is measured
    (FRESHEN, "work/seats/hours=3.33", "work/tear-down/hours=3.35", "shop/labour/bench/per_hour=98.505"),
    (REBUILD, "work/tear-down/price=99.99", "work/tear-down/cost=50.555", "shop/labour/machine/cost_per_hour=61.333"),
    (NEW, "work/springs-set/per=piece", "work/springs-set/hours=0.11", "work/cam-degree/per=piece",
     "work/valve-pockets/below=0.0049 in", "shop/supplies=0 %"),
    (NEW, "work/valve-pockets/below=0.005 in", "build/block/operations=deck-005 deck-010 hot-tank"),
    (NEW, "work/valve-pockets/below=", "work/valve-pockets/above=0.0049 in", "work/seats/per=job"),
    (REBUILD, "work/valve-pockets/below=0.0062 in", "shop/deposit_of=parts", "shop/deposit=33.3 %"),
    (REBUILD, "work/valve-pockets/below=0.0063 in", "shop/supplies=5.55 %", "shop/markup/supplies=41 %"),
    # What is asked
    (NEW, "quote-new-engine/option/Gear drive/take=yes", "quote-new-engine/supplied/damper/slot=heads"),
    (NEW, "quote-new-engine/option/3/slot=heads", "quote-new-engine/option/3/part=OB-H58P", "shop/target=27.5 %"),
    (NEW, "quote-new-engine/option/3/slot=head-gaskets", "quote-new-engine/option/3/part=OB-HG36"),
    (NEW, "quote-new-engine/option/1/take=no", "quote-new-engine/without=clutch",
     "quote-new-engine/price/1/line=freight",
     "quote-new-engine/price/1/discount=12.5 %", "quote-new-engine/supplied/1/slot=rod-bolts"),
    (FRESHEN, "quote-freshen-blue/option/1/take=yes", "quote-freshen-blue/option/2/take=yes"),
    (FRESHEN, "quote-freshen-blue/level=springs", "quote-freshen-blue/keep=damper"),
    (FRESHEN, "quote-freshen-blue/renew=camshaft pushrods retainers", "quote-freshen-blue/broken=lifters",
     "quote-freshen-blue/supplied/1/slot=rockers"),
    (FRESHEN, "quote-freshen-blue/line/1/kind=labour", "quote-freshen-blue/line/1/unit=h", "shop/supplies=6 %",
     "quote-freshen-blue/option/1/slot=water-pump", "quote-freshen-blue/option/1/part=DW-WP1"),
    (FRESHEN, "quote-freshen-blue/bad=crank=grind-010 block=bore-020"),
    (FRESHEN, "quote-freshen-blue/renew=water-pump", "quote-freshen-blue/broken=lifters heads"),
    (FRESHEN, "quote-freshen-blue/of=lifters", "quote-freshen-blue/case=metal through the bearings"),
    (REBUILD, "quote-rebuild-blue/of=over-rev", "quote-rebuild-blue/case=valves bent"),
    (REBUILD, "quote-rebuild-blue/of=pistons", "quote-rebuild-blue/case=skirt lets go into the pan"),
    (REBUILD, "quote-rebuild-blue/pieces/heads=1", "quote-rebuild-blue/before=Drasketh two"),
    (REBUILD, "quote-rebuild-blue/level=freshen", "quote-rebuild-blue/of=heads",
     "quote-rebuild-blue/case=seat comes loose"),
    # Other parts with what goes along and as far as they need
    (FRESHEN, "quote-freshen-blue/option/1/take=yes", "quote-freshen-blue/option/1/slot=crank",
     "quote-freshen-blue/option/1/part=QM-K304L"),
    (FRESHEN, "quote-freshen-blue/option/1/slot=camshaft", "quote-freshen-blue/option/1/part=DW-C340",
     "quote-freshen-blue/option/2/slot=manifold", "quote-freshen-blue/option/2/part=OB-M4"),
    (FRESHEN, "quote-freshen-blue/option/1/slot=heads", "quote-freshen-blue/option/1/part=OB-H58P",
     "quote-freshen-blue/option/1/take=yes", "quote-freshen-blue/broken=heads rockers"),
    # Core charges in kits
    (NEW, "oval-v8/gaskets-fasteners/OB-HG40/core_charge=7.77", "oval-v8/gaskets-fasteners/OB-GS1/core_charge=3"),
    (FRESHEN, "oval-v8/gaskets-fasteners/OB-HG40/core_charge=7.77", "oval-v8/gaskets-fasteners/OB-GS1/core_charge=3"),
    (FRESHEN, "oval-v8/gaskets-fasteners/OB-HG40/core_charge=7.77", "oval-v8/bottom-end/QM-MB5/core_charge=11",
     "quote-freshen-blue/broken=head-gaskets"),
]  # fmt: skip


@pytest.mark.parametrize("given", VARIATIONS, ids=case)
def test_a_what_if_is_what_the_files_would_say(given: tuple[str, ...]) -> None:
    name, *sets = given
    asking = asking_for(name, DAYS[name], sets)
    quote = quoted(asking)
    assert in_whole(quote) == by_hand(asking, quote, sets)


@pytest.mark.parametrize("rise", ["0.06", "0.333", "-0.05"])
def test_dearer_parts_are_dearer_offer_by_offer(rise: str) -> None:
    asking = replace(asking_for("rebuild-blue", DAYS["rebuild-blue"]), rise=D(rise))
    quote = quoted(asking)
    assert in_whole(quote) == by_hand(asking, quote, rise=D(rise))
