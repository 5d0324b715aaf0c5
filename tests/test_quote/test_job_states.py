"""How a job stands from day to day, what it warns of, and what holds of every job."""

from __future__ import annotations

from datetime import date, timedelta
from decimal import Decimal
from itertools import pairwise
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from costplan.problems import NOWHERE
from costplan.quote.job import Job, Standing, stand
from costplan.report.data import plain
from tests.test_quote.small_job import BOOK, R2, ROWS, job_of, rows_of, standing, until

PAID_UP = ROWS.replace(
    "top,2027-05-01,returned", "top,2027-04-25,paid,,,,,,,,1082.71,A. Racer,\ntop,2027-05-01,returned"
)


@pytest.mark.parametrize(
    ("day", "state"),
    [
        ("2027-02-20", "quoted"),
        ("2027-03-01", "accepted"),
        ("2027-03-02", "in hand"),
        ("2027-03-03", "stopped for a signature"),
        ("2027-03-04", "stopped for a signature"),
        ("2027-03-05", "in hand"),
        ("2027-03-12", "finished"),
        ("2027-04-24", "finished"),
        ("2027-04-25", "delivered"),  # paid up, but the old pistons may still come back
        ("2027-05-01", "settled"),
    ],
)
def test_a_job_goes_from_state_to_state(tmp_path: Path, day: str, state: str) -> None:
    assert standing(PAID_UP, tmp_path, day).state == state


def test_a_job_that_is_not_paid_is_not_settled(tmp_path: Path) -> None:
    assert standing(ROWS, tmp_path, "2027-05-02").state == "delivered"


def test_a_deposit_whose_day_is_over_holds_nothing_up(tmp_path: Path) -> None:
    kept = PAID_UP.replace("top,2027-05-01,returned,,,P-1,,,,,40,,\n", "")
    assert (standing(kept, tmp_path, "2027-05-31").state, standing(kept, tmp_path, "2027-06-01").state) == (
        "delivered",
        "settled",
    )


def test_a_revision_waits_for_a_signature_from_its_day_on(tmp_path: Path) -> None:
    before, after = (standing(until("2027-03-03"), tmp_path, day).offered for day in ("2027-03-03", "2027-03-04"))
    assert before is None
    assert after is not None
    assert (after.revision, after.more.gross) == (2, Decimal("323.00"))
    first = standing("", tmp_path, "2027-02-20").offered
    assert first is not None
    assert (first.revision, first.more.gross) == (1, Decimal("3334.70"))


def test_torn_down_first_and_accepted_then(tmp_path: Path) -> None:
    text = "top,2027-02-25,received,,,,,,,,,,in boxes\ntop,2027-02-26,stopped,,,,,,,,,,first a price\n"
    assert standing(text, tmp_path, "2027-02-28").state == "stopped for a signature"
    found = standing(f"{text}top,2027-03-01,accepted,1,,,,,,,,A. Racer,\n", tmp_path, "2027-03-01")
    assert (found.state, found.stops[0].signed) == ("in hand", date(2027, 3, 1))


def test_a_quote_may_be_refused_before_anything_is_signed(tmp_path: Path) -> None:
    found = standing("top,2027-03-01,refused,,,,,,,,,A. Racer,\n", tmp_path, "2027-03-02")
    assert (found.state, found.owing.now == 0, found.earnings) == ("refused", True, None)


def test_an_older_job_has_hours_only(tmp_path: Path) -> None:
    rows = rows_of("old,2026-03-01,worked,,,,build,,9,,,,\nold,2026-03-02,paid,,,,,,,,100,,\n", tmp_path)
    found = stand(Job("old", rows, {}, request=False), BOOK, "USD", date(2026, 4, 1))
    assert (found.state, found.contract, found.earnings) == ("hours only", None, None)
    assert found.cautions == (
        "There is no quote-old.toml: only the hours of this job count.",
        "Rows of it that count for nothing: paid.",
    )


@pytest.mark.parametrize(
    ("more", "caution"),
    [
        ("top,2027-02-28,worked,,,,strip,,1,,,,\n", "Booked before the customer signed: strip on 2027-02-28."),
        (
            "top,2027-03-04,worked,,,,wash,,1,,,,\ntop,2027-03-04,used,,,R-2,,1,,,,,\n",
            "Booked before the customer signed: wash on 2027-03-04, R-2 on 2027-03-04.",
        ),
        ("top,2027-03-09,used,,,X-9,,2,,31.5,,,\n", "Used and not in the contract: X-9 (31.50)."),
        (
            "top,2027-03-09,worked,,,,wash,,1,,,,\n",
            "Booked and not in the contract: wash (50.00), solvent (12.50).",
        ),
        ("", "Hours over the quote by more than 10 %: strip 4.5 h for 4 h, build 13.5 h for 12 h."),
        ("", "Fetched on 2027-04-25 with 990.35 of the contract unpaid."),
    ],
)
def test_what_a_shop_is_warned_of(tmp_path: Path, more: str, caution: str) -> None:
    assert caution in standing(ROWS + more, tmp_path, "2027-06-01").cautions


def test_a_tenth_more_hours_is_within_the_quote(tmp_path: Path) -> None:
    text = ROWS.replace("strip,,4.5", "strip,,4.4").replace("build,,13.5", "build,,13.2")
    assert not [words for words in standing(text, tmp_path, "2027-06-01").cautions if "Hours over" in words]


def test_a_line_that_nothing_was_booked_on_is_told_at_the_end(tmp_path: Path) -> None:
    text = ROWS.replace("top,2027-03-11,bought,,,,freight,,,48,,,\n", "")
    words = "Never booked: freight. Quoted to cost 50.00: "
    assert any(one.startswith(words) for one in standing(text, tmp_path, "2027-03-12").cautions)
    assert not any(one.startswith(words) for one in standing(text, tmp_path, "2027-03-11").cautions)
    nothing = text.replace("top,2027-03-12", "top,2027-03-11,bought,,,,freight,,,0,,,\ntop,2027-03-12")
    assert not any(one.startswith(words) for one in standing(nothing, tmp_path, "2027-03-12").cautions)


def test_a_job_that_went_on_unsigned_says_so(tmp_path: Path) -> None:
    text = ROWS.replace("top,2027-03-05,agreed,2,,,,,,,,A. Racer,\n", "").replace(
        "used,,,B-3,,1,,115", "used,,,B-3,,1,,115"
    )
    found = standing(text, tmp_path, "2027-03-12")
    assert "Finished on 2027-03-12 though the customer did not sign after the stop." in found.cautions
    assert any(words.startswith("Booked before the customer signed: P-1 on 2027-03-08") for words in found.cautions)


def test_a_quote_accepted_late_says_so(tmp_path: Path) -> None:
    found = standing("top,2027-04-02,accepted,1,,,,,,,,A. Racer,\n", tmp_path, "2027-04-02")
    assert found.cautions == ("Revision 1 was valid until 2027-04-01, and accepted on 2027-04-02.",)


#: Bookings of any kind on the small job.
BOOKINGS = st.lists(
    st.one_of(
        st.builds(
            "worked,,,,{},,{},,,,".format, st.sampled_from(("strip", "build", "seats", "wash")), st.integers(0, 40)
        ),
        st.builds(
            "used,,,{},,{},,{},,,".format, st.sampled_from(("P-1", "R-2", "B-3")), st.integers(0, 3), st.just("")
        ),
        st.builds("used,,,{},,1,,{},,,".format, st.sampled_from(("P-1", "X-9")), st.integers(0, 900)),
        st.builds(
            "bought,,,,{},,,{},,,bill".format, st.sampled_from(("", "balance", "freight")), st.integers(0, 90_000)
        ),
    ),
    max_size=12,
)
START = "top,2027-03-01,accepted,1,,,,,,,,A. Racer,\ntop,2027-03-05,agreed,2,,,,,,,,A. Racer,\n"
END = "top,2027-03-12,finished,,,,,,,,,,\n"


def booked(bookings: list[str]) -> str:
    return "".join(f"top,2027-03-08,{one}\n" for one in bookings)


@pytest.fixture(scope="module")
def room(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return tmp_path_factory.mktemp("job")


@given(bookings=BOOKINGS, finished=st.booleans())
@settings(max_examples=60, deadline=None)
def test_booked_and_not_booked_are_the_contract(room: Path, bookings: list[str], finished: bool) -> None:
    earnings = standing(START + booked(bookings) + (END if finished else ""), room, "2027-04-01").earnings
    assert earnings is not None
    both = (earnings.booked, earnings.not_booked)
    lines = [line for line in R2.lines if line.kind != "core"]
    assert sum(one.lines for one in both) == len(lines)
    assert sum(one.net for one in both) - earnings.discount == R2.margin.net == sum(one.net for one in earnings.kinds)
    assert sum(one.cost for one in both) == R2.margin.cost == sum(one.cost for one in earnings.kinds)
    assert sum(one.hours for one in both) == sum(line.hours for line in lines)
    assert sum(one.actual_cost for one in earnings.kinds) == sum(one.actual_cost for one in earnings.items)
    expected = sum(one.actual_cost if one.booked else one.cost for one in earnings.items)
    assert earnings.forecast.cost == expected
    assert sum(one.cost_over for one in earnings.kinds) == expected - R2.margin.cost
    assert (earnings.earned is None) != finished


@given(bookings=BOOKINGS, cost=st.integers(0, 500))
@settings(max_examples=40, deadline=None)
def test_a_dollar_more_of_cost_is_a_dollar_less_earned(room: Path, bookings: list[str], cost: int) -> None:
    sides = []
    for amount in (cost, cost + 1):
        text = f"{START}{booked(bookings)}top,2027-03-08,bought,,,,balance,,,{amount},,,\n{END}"
        earnings = standing(text, room, "2027-04-01").earnings
        assert earnings is not None
        assert earnings.earned is not None
        sides.append((earnings.earned.earned, earnings.forecast.earned))
    assert [before - after for before, after in zip(*sides, strict=True)] == [1, 1]


@given(
    paid=st.lists(st.tuples(st.integers(0, 120), st.integers(-50_000, 200_000)), max_size=6),
    day=st.integers(0, 120),
    later=st.integers(0, 30),
)
@settings(max_examples=80, deadline=None)
def test_paying_everything_leaves_nothing_due(room: Path, paid: list[tuple[int, int]], day: int, later: int) -> None:
    on = date(2027, 3, 12) + timedelta(days=day)
    rows = "".join(
        f"top,{date(2027, 3, 12) + timedelta(days=after)},paid,,,,,,,,{cents / 100:.2f},,\n" for after, cents in paid
    )
    text = f"{START}{END}{rows}"
    due = standing(text, room, str(on)).owing.due
    settled = f"{text}top,{on},paid,,,,,,,,{due},,\ntop,{on},delivered,,,,,,,,,,\n"
    assert standing(settled, room, str(on)).owing.due == 0
    alone = "".join(line for line in settled.splitlines(keepends=True) if line.split(",")[1] <= str(on))
    assert standing(alone, room, str(on + timedelta(days=later))).owing.due == 0


@given(order=st.permutations(range(len({line.split(",")[1] for line in ROWS.splitlines()}))), day=st.integers(0, 80))
@settings(max_examples=40, deadline=None)
def test_rows_of_different_days_may_stand_in_any_order(room: Path, order: list[int], day: int) -> None:
    days = sorted({line.split(",")[1] for line in ROWS.splitlines()})
    mixed = "".join(
        line for number in order for line in ROWS.splitlines(keepends=True) if line.split(",")[1] == days[number]
    )
    on = str(date(2027, 2, 25) + timedelta(days=day))
    assert seen(standing(mixed, room, on)) == seen(standing(ROWS, room, on))


def seen(found: Standing) -> object:
    """All that is known of a job but where its rows stand."""
    rows = [row.model_copy(update={"place": NOWHERE}) for row in found.rows]
    return {**plain(found), "rows": [plain(row) for row in rows]}


def test_what_is_later_than_the_day_is_not_known(tmp_path: Path) -> None:
    days = sorted({line.split(",")[1] for line in ROWS.splitlines()})
    for day, after in pairwise(days):
        whole, cut = standing(ROWS, tmp_path, day), standing(until(day), tmp_path, day)
        assert seen(whole) == seen(cut)
        assert seen(whole) != seen(standing(ROWS, tmp_path, after))


def test_the_rows_come_in_time_order_and_those_of_a_day_as_they_stand(tmp_path: Path) -> None:
    work = (("2027-03-02", "build"), ("2027-03-01", "strip"), ("2027-03-02", "wash"))
    text = "".join(f"top,{day},worked,,,,{name},,1,,,,\n" for day, name in work)
    assert [row.work for row in job_of(text, tmp_path).rows] == ["strip", "build", "wash"]
