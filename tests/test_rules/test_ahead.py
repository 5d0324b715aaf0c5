"""What the calendar will change is what asking on every day finds: papers, results and clauses at days drawn anew."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date, timedelta
from typing import Any

from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from costplan.garage import Inspected, Paper, Piece
from costplan.rules import Pack, Sheet, ahead, check

ON = date(2027, 3, 1)
DAYS = 120

#: A clause of every sort that days can change.
BOOK = """
[[list]]
list = "cranks"
until = {a}
parts = "K-1"
[[list]]
list = "cranks"
since = {b}
parts = "K-2"
[[rule]]
id = "opt"
kind = "option"
says = "so"
slot = "crank"
choices = {{ A = ["K-1"], B = ["K-1", "K-2"] }}
declared = "card"
effective = {a}
[[rule]]
id = "chosen"
kind = "parts"
says = "so"
slot = "block"
allowed = "B-2"
when = [{{ kind = "choice", rule = "opt", one_of = "B" }}]
[[rule]]
id = "listed"
kind = "parts"
says = "so"
slot = "crank"
list = "cranks"
proof = ["document"]
document = "bill"
sunset = {c}
[[rule]]
id = "old"
kind = "parts"
says = "so"
slot = "crank"
allowed = "K-4"
kept = {{ bought_before = {c}, until = {d} }}
from_round = 2
[[rule]]
id = "dated"
kind = "paper"
says = "so"
paper = "card"
slot = "crank"
valid = "20 d"
[[rule]]
id = "leave"
kind = "limit"
says = "so"
of = "price.plate"
max = "25 USD"
unless = [{{ kind = "paper", paper = "bill" }}]
[[rule]]
id = "seen"
kind = "inspection"
says = "so"
slot = "crank"
"""

days = st.integers(-30, DAYS).map(lambda number: ON + timedelta(days=number))
papers = st.builds(
    lambda paper, slot, day, runs, says: Paper(
        engine="blue",
        paper=paper,
        slot=slot,
        number="7",
        date=day,
        expires=day + timedelta(days=runs) if day and runs else None,
        says=says,
    ),
    st.sampled_from(["card", "bill", "receipt"]),
    st.sampled_from(["", "crank"]),
    st.none() | days,
    st.integers(0, 60),
    st.sampled_from(["A", "B"]),
)
results = st.builds(
    lambda found, day: Inspected(engine="blue", rule="seen", found=found, date=day, by="steward"),
    st.sampled_from(["meets", "breaks"]),
    days,
)


@settings(max_examples=25, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(
    book=st.tuples(days, days, days, days),
    brought=st.lists(papers, max_size=4),
    found=st.lists(results, max_size=2),
    installed=st.none() | days,
)
def test_nothing_changes_on_a_day_that_is_not_told(
    pack_of: Callable[..., Pack], sheet_of: Callable[..., Sheet], book: Any, brought: Any, found: Any, installed: Any
) -> None:
    pack = pack_of(BOOK.format(**dict(zip("abcd", book, strict=True))))
    crank = Piece(piece="blue crank", part="K-1", engine="blue", slot="crank", installed=installed)
    sheet = sheet_of(parts={"plate": "P-1"}, papers=brought, inspections=found, pieces=[crank])
    told = {(one.date, one.rule, one.before, one.after) for one in ahead(pack, sheet, ON)}
    changes, before = set(), {one.rule: one.verdict for one in check(pack, sheet, ON).findings}
    for day in (ON + timedelta(days=number) for number in range(1, DAYS + 80)):
        now = {one.rule: one.verdict for one in check(pack, sheet, day).findings}
        changes |= {(day, rule, before[rule], now[rule]) for rule in now if now[rule] != before[rule]}
        before = now
    assert changes == told
