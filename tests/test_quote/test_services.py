"""Services of the demo: other parts with all that they need, broken sets, deposits of kits, offers of the plan."""

from __future__ import annotations

import csv
import shutil
from dataclasses import replace
from datetime import date
from decimal import Decimal
from pathlib import Path

import pytest

from costplan.quote import Asking, make_quote
from costplan.quote.desk import Desk, open_desk
from costplan.quote.offers import Offers, offers_of
from costplan.quote.records import Quote
from costplan.quote.revisions import difference

D = Decimal
ROOT = Path(__file__).parents[2]
DEMO = ROOT / "scenarios/oval-v8"
DAYS = {"freshen-blue": date(2027, 1, 11), "rebuild-blue": date(2027, 6, 1)}
OPTION = "quote-freshen-blue/option/1"


def desk_of(folder: Path, *sets: str) -> Desk:
    desk, problems = open_desk(folder, sets)
    assert desk is not None, problems
    return desk


def asking(name: str, *sets: str, on: date | None = None) -> Asking:
    """A request of the demo with what-ifs, on a day or its own."""
    desk = desk_of(DEMO, *sets)
    asked, problems = desk.request(name)
    assert asked is not None, problems
    found, problems = desk.asking(asked, on or DAYS[name])
    assert found is not None, problems
    return found


def quoted(asked: Asking) -> Quote:
    quote, problems = make_quote(asked)
    assert quote is not None, problems
    return quote


def moved(before: Quote, after: Quote) -> dict[str, str]:
    return {row.key: str(row.more) for row in difference(before, after).moved}


def counts(asked: Asking, *slots: str) -> list[tuple[int, bool]]:
    """Of each slot the pieces, and whether they are bought."""
    touched = asked.work().touched
    return [(touched[slot].fill.slot.quantity, touched[slot].bought) for slot in slots]


def deposits(*sets: str) -> dict[str, str]:
    return {
        line.key: str(line.net) for line in quoted(asking("freshen-blue", *sets)).lines if line.key.startswith("core/")
    }


# Other parts by option ------------------------------------------------------------------------------------------------


def test_a_part_by_option_takes_along_what_changes_with_it() -> None:
    """The pump 330 less 10 %, 28 % on it: 380.16; its belts 48 less 12 %, 28 % on it: 54.07. Freight stays: Dorrowick's
    order is free with the kit of 615.12, Quolmeck's of some hundreds is not free yet."""
    sets = [f"{OPTION}/slot=water-pump", f"{OPTION}/part=QM-WP1"]
    without, taken = quoted(asking("freshen-blue", *sets)), quoted(asking("freshen-blue", *sets, f"{OPTION}/take=yes"))
    assert moved(without, taken) == {"part/QM-WP1": "380.16", "part/DW-BT1": "54.07"}
    assert without.options[0].more.net == D("434.23")
    assert taken.options[0].more == without.options[0].more


def test_a_part_by_option_that_a_freshen_does_not_reach_makes_it_a_rebuild() -> None:
    """A new crank by option is what a crank found bad and changed is: 1440 less 10 %, 28 % on it, with all that a
    rebuild renews, hones, balances and runs in."""
    asked = asking("freshen-blue", f"{OPTION}/slot=crank", f"{OPTION}/part=QM-K304")
    without, bad = quoted(asked), quoted(replace(asked, bad=("crank=new",)))
    taken = quoted(asking("freshen-blue", f"{OPTION}/slot=crank", f"{OPTION}/part=QM-K304", f"{OPTION}/take=yes"))
    assert taken.level == bad.level == "rebuild"
    assert moved(bad, taken) == {}
    found = moved(without, taken)
    assert found["part/QM-K304"] == "1658.88"
    assert found["part/QM-OP1"] == "209.66"  # 182 less 10 %, 28 % on it
    assert found["work/balance-out/balance/crank"] == "281.75"  # 245, and 15 % on it
    assert found["work/reassembly-whole"] == "1372.00"  # 14 h at 98
    assert found["work/reassembly"] == "-931.00"  # 9.5 h at 98
    assert without.options[0].more.net == D("4320.32") == sum(map(D, found.values()))


def test_another_part_goes_in_by_the_set_though_one_piece_of_it_broke() -> None:
    sets = ["quote-freshen-blue/broken=rockers", f"{OPTION}/slot=rockers", f"{OPTION}/part=TV-RK15"]
    assert counts(asking("freshen-blue", *sets), "rockers") == [(1, True)]
    assert counts(asking("freshen-blue", *sets, f"{OPTION}/take=yes"), "rockers") == [(16, True)]


# What is broken -------------------------------------------------------------------------------------------------------


def test_of_heads_that_every_rebuild_renews_none_is_mended_alone() -> None:
    """1320 a head less 8 %: 1214.40 each, 28 % on it 1554.43; 3.2 h of seats on each."""
    quote = quoted(asking("rebuild-blue"))
    lines = {line.key: (line.quantity, line.cost, line.net) for line in quote.lines}
    assert lines["part/OB-H58"] == (D(2), D("2428.80"), D("3108.86"))
    assert lines["work/seats/seat-work/heads"][0] == D("6.4")
    assert lines["core/OB-H58"][2] == D(200)


def test_of_heads_that_the_plan_works_on_anyway_none_is_mended_alone() -> None:
    """In the winter their seats are cut by the plan, no mend for a broken one."""
    assert counts(asking("freshen-blue"), "heads") == [(2, False)]
    assert counts(asking("freshen-blue", "quote-freshen-blue/broken=heads"), "heads") == [(2, True)]


def test_of_rockers_that_nothing_renews_the_broken_one_is_mended_alone() -> None:
    assert counts(asking("freshen-blue", "quote-freshen-blue/broken=rockers"), "rockers") == [(1, True)]


def test_pieces_that_the_request_counts_are_so_many() -> None:
    sets = ["quote-freshen-blue/broken=heads", "quote-freshen-blue/pieces/heads=1"]
    assert counts(asking("freshen-blue", *sets), "heads") == [(1, True)]


def test_what_the_log_left_broken_is_put_right_as_by_the_plan() -> None:
    """In April springs and one pushrod broke; the crew's box has both, then no pushrods."""
    sets = [f"quote-rebuild-blue/{word}" for word in ("level=springs", "of=", "case=", "before=Pellundry two")]
    night = date(2027, 4, 24)
    by_the_box = asking("rebuild-blue", *sets, on=night).work()
    assert (by_the_box.tasks, by_the_box.on_shelf) == ((), ("pushrods", "springs"))
    (pushrod,) = asking("rebuild-blue", *sets, "garage/spare-pushrods/part=DW-BT1", on=night).work().tasks
    assert (pushrod.slot, pushrod.fill.slot.quantity, pushrod.core_back) == ("pushrods", 1, False)


# Deposits on what comes in a kit --------------------------------------------------------------------------------------

HEAD_GASKETS, BEARINGS = (
    "oval-v8/gaskets-fasteners/OB-HG40/core_charge=7.77",
    "oval-v8/bottom-end/QM-MB5/core_charge=11",
)


@pytest.mark.parametrize(
    ("broken", "owed"),
    [
        ("", {}),
        ("head-gaskets", {"core/OB-HG40": "15.54"}),  # two in the kit
        ("main-bearings", {"core/QM-MB5": "11.00"}),
        ("head-gaskets main-bearings", {"core/OB-HG40": "15.54", "core/QM-MB5": "11.00"}),
    ],
)
def test_of_a_kit_the_deposits_are_owed_whose_old_parts_broke(broken: str, owed: dict[str, str]) -> None:
    quote = quoted(asking("freshen-blue", HEAD_GASKETS, BEARINGS, f"quote-freshen-blue/broken={broken}"))
    assert "kit/DW-KF" in [line.key for line in quote.lines]
    assert deposits(HEAD_GASKETS, BEARINGS, f"quote-freshen-blue/broken={broken}") == owed


# Offers ---------------------------------------------------------------------------------------------------------------


def offered(desk: Desk, on: date) -> Offers:
    found, problems = offers_of(desk, on)
    assert found is not None, problems
    return found


def test_the_means_of_offers_are_rounded_half_up() -> None:
    """The one rebuild has 3,407.30 of labour, 457.70 sublet; with the lash at 97.50 instead of 98 that is 3,864.50."""
    levels = offered(desk_of(DEMO, "work/lash/price=97.50"), date(2027, 2, 1)).levels
    assert [(one.offers, one.labour) for one in levels if one.level == "rebuild"] == [(1, D(3865))]


def with_broken_red(folder: Path) -> Path:
    """The demo with its second engine owned and its crank broken in March, the log cut there."""
    shutil.copytree(ROOT / "catalogs", folder / "catalogs")
    shutil.copytree(DEMO, folder / "scenarios/oval-v8")
    path = folder / "scenarios/oval-v8/log.csv"
    head, *rows = list(csv.reader(path.read_text(encoding="utf-8").splitlines()))
    broke = {"date": "2027-03-22", "what": "failed", "engine": "red", "slot": "crank"}
    kept = [row for row in rows if row[0] <= broke["date"]]
    with path.open("w", encoding="utf-8", newline="") as file:
        csv.writer(file).writerows([head, *kept, [broke.get(name, "") for name in head]])
    return folder / "scenarios/oval-v8"


def test_what_is_put_right_after_the_last_event_is_offered_with_what_broke_new(tmp_path: Path) -> None:
    """Of the second engine, which nobody needs before: a new crank, 1440 less 10 %, 28 % on it, and no deposit back."""
    desk = desk_of(with_broken_red(tmp_path), "scenario/engine/red/owned=true")
    *_, last = offered(desk, date(2027, 3, 22)).offers
    assert (last.before, last.engine, last.level) == ("after the last event", "red", "rebuild")
    lines = {line.key: line.net for line in last.quote.lines}
    assert lines["part/QM-K304"] == D("1658.88")
    assert lines["core/QM-K304"] == D(150)
    assert "work/polish-own/polish/crank" not in lines
