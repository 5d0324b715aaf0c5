"""What the page of `costplan timing` says of what was found."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from decimal import Decimal
from typing import Any

import pytest

from costplan.report.timing import timing_page
from costplan.season.deciding.timing_answer import (
    AgeAt,
    CalendarRow,
    FreshFor,
    Freshness,
    LevelRow,
    OverYears,
    Paste,
    ServiceDate,
    Timing,
    Way,
)
from costplan.season.deciding.timing_theory import RenewalUse
from costplan.season.drawn.figures import Chance, Paired

NO = Chance(0, 0)
DAY = date(2027, 6, 1)


def gain(mean: int, error: int) -> Paired:
    """A difference that costs so much more, with its error."""
    low, high = (Decimal(mean + sign * 2 * error) for sign in (-1, 1))
    return Paired(Decimal(mean), Decimal(error), low, high, low, Decimal(mean), high, NO, NO)


def service(level: str, before: str, *, own: bool) -> ServiceDate:
    return ServiceDate(level, before, DAY, own, ())


def found(best: Way = "dates", **more: Any) -> Timing:
    bare = Timing("USD", 4000, 1, 16000, 2, 300, False, False, best)
    return replace(bare, uses_gain=gain(-80, 2), dates_gain=gain(-100, 2), **more)


def text(found: Timing) -> str:
    """All that stands on the page."""
    page = timing_page(found, "by hand", False)
    passages = [" ".join((one.title, *(line for _, line in one.lines))) for one in page.passages]
    tables = [f"{table.rows} {table.note}" for table in page.tables]
    return " ".join((*page.lines, *passages, *tables))


@pytest.mark.parametrize(
    ("more", "followed", "said"),
    [
        (gain(-90, 3), 3, "it costs 90 less (+/- 3) a season. Trust this figure: that of one season hangs on"),
        (gain(-2, 3), 3, "no difference is shown (2 less (+/- 3) a season): the gain is the season's end alone."),
        (gain(9, 3), 3, "it costs 9 more (+/- 3) a season: the gain is the season's end alone. Keep what the files"),
        (gain(-90, 3), 1, "the later ones as the files have them, it costs 90 less (+/- 3) in all."),
    ],
)
def test_below_the_gain_stands_what_it_is_over_several_seasons(more: Paired, followed: int, said: str) -> None:
    lines = timing_page(found(over_years=OverYears(3, followed, 2000, more)), "by hand", False).lines
    at = next(n for n, line in enumerate(lines) if "This is the cheapest way found." in line)
    assert lines[at + 1].startswith("Over 3 seasons, the garage carried over, ")
    assert said in lines[at + 1]


def test_where_no_date_pays_that_is_said_first() -> None:
    due = (service("springs", "two", own=False), service("rebuild", "five", own=False))
    page = timing_page(found(services=due), "by hand", False)
    assert page.lines[0] == "No date of its own pays: open it when what may not be stretched is due."
    assert not any("On dates" in words for words in (*page.lines, *(one.title for one in page.passages)))
    assert "Opened when it is due: when that is, where nothing fails." in text(found(services=due))


def test_beside_dates_what_is_none_is_marked() -> None:
    both = (service("springs", "two", own=False), service("rebuild", "five", own=True))
    said = text(found(services=both, rest=4.0))
    assert "No date of its own" not in said
    assert "springs before two, from 01 Jun on; no date: due by then, or owed" in said
    assert "rebuild before five, from 01 Jun on " in f"{said} "
    skipped = "If a level was done for another reason within 4 events before its date, the date is skipped."
    assert skipped in said


@pytest.mark.parametrize(
    ("best", "said"),
    [("uses", "With other renewal uses: when that is"), ("fixed", "As the files have it: when that is")],
)
def test_openings_are_those_of_the_best_way(best: Way, said: str) -> None:
    assert said in text(found(best, services=(service("springs", "two", own=False),)))


def test_the_slots_are_named_that_are_to_be_fresh() -> None:
    parts = (Freshness("springs", 0.4, 0.1, "quick", "two"), Freshness("rods", 0.2, 0.1, "", ""))
    asked = FreshFor("final", DAY, parts, True, (("quick", "two"),), (), (), None)
    half = "no more than half of the assumed life of springs, rods"
    assert f"That is the plan that costs least, and {half} is used by then." in text(found(asked=asked))
    dearer = replace(asked, extra=gain(40, 1))
    assert f"With {half} used by then, the cheapest plan found costs 40 more (+/- 1)" in text(found(asked=dearer))
    assert f"No plan was found in which {half} is used by then." in text(found(asked=replace(asked, met=False)))


def test_what_runs_past_its_assumed_life_is_marked_and_to_be_inspected() -> None:
    ages = (AgeAt("final", DAY, "rings", 1.46, 0.58), AgeAt("final", DAY, "heads", 0.93, 0.5))
    use = RenewalUse("heads", "events", 40, 64, 38, 40, "II", Decimal(620), Decimal(7400), 1.0, True)
    said = text(found(ages=ages, factors=(use,)))
    assert "('final', '146!/58', '93/50')" in said
    assert "Past its assumed life at a big event (! below): rings. Inspect before it runs." in said
    assert "!: past its assumed life; inspect." in said
    assert "Renewed later than now, of its assumed life used at most: heads 93% before final." in said
    young = text(found(ages=ages[1:], factors=(replace(use, found=40),)))
    assert "inspect." not in young
    assert "Renewed later than now" not in young


PASTE = Paste((), ("winter work",), "trackside", (LevelRow("quick", None, (), False, 0.0),), ())


def test_a_service_row_that_is_not_to_be_done_is_left_for_the_log() -> None:
    assert "To follow it. In calendar.csv: level = trackside in the row winter work" in text(found(paste=PASTE))
    bare = "Take out the row winter work; where log.csv names it, leave its event empty there."
    assert bare in text(found(paste=replace(PASTE, instead="")))
    more = replace(PASTE, calendar=(CalendarRow("quick for two", DAY, "quick"),))
    assert "At the end of calendar.csv, in the columns of yours event,date,kind,level" in text(found(paste=more))


def test_it_is_said_that_the_folders_compared_differ_by_more_or_less() -> None:
    words = "'costplan compare' of the folders then shows more or less than this page"
    assert words in text(found(paste=PASTE))
    assert words not in text(found(paste=replace(PASTE, levels=())))
