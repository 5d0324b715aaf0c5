"""From a log to lives: where each set begins and ends, and what is not known of it."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date
from pathlib import Path

import pytest

from costplan.garage import Piece
from costplan.garage.log import Entry, read_log
from costplan.garage.spells import Kept, Spell, spells_of
from costplan.problems import Place

Write = Callable[[str, str | bytes], Path]
SLOTS = {"springs": Kept(16), "rockers": Kept(4, by_piece=True)}
RENEWS = {"freshen": ("springs",)}
HEAD = "date,what,engine,level,slot,part,piece,count,events,laps\n"


@pytest.fixture
def read(write: Write) -> Callable[[str], tuple[Entry, ...]]:
    def read_rows(rows: str) -> tuple[Entry, ...]:
        entries, problems = read_log(write("log.csv", HEAD + rows))
        assert problems == ()
        return entries

    return read_rows


Read = Callable[[str], tuple[Entry, ...]]


def seen(spells: tuple[Spell, ...], measure: str = "events") -> list[tuple[float, float, bool]]:
    """Start, end and whether it broke of all that was observed."""
    return [(one.start, one.end, one.failed) for spell in spells for one in spell.observations(measure)]


def piece(name: str, slot: str = "", engine: str = "", installed: date | None = None, **use: float) -> Piece:
    return Piece.model_construct(
        place=Place("garage.csv", 2),
        piece=name,
        part="S-2",
        engine=engine,
        slot=slot,
        use=use,
        installed=installed,
        step=0,
    )


def test_a_set_ends_broken_where_it_failed_and_whole_where_it_is_changed_or_the_log_ends(read: Read) -> None:
    entries = read(
        "2027-03-01,changed,a,,springs,S-1,,,,\n"
        "2027-03-06,ran,a,,,,,,1,50\n"
        "2027-03-13,ran,a,,,,,,0.4,20\n"
        "2027-03-13,failed,a,,springs,,,,,\n"
        "2027-03-14,changed,a,,springs,,,,,\n"
        "2027-03-20,ran,a,,,,,,1,52\n"
        "2027-03-21,serviced,a,freshen,,,,,,\n"
        "2027-03-27,ran,a,,,,,,1,48\n"
    )
    spells = spells_of(entries, SLOTS, RENEWS)
    assert seen(spells) == [(0, 1.4, True), (0, 1, False), (0, 1, False)]
    assert seen(spells, "laps") == [(0, 70, True), (0, 52, False), (0, 48, False)]
    assert seen(spells, "days") == [(0, 12, True), (0, 7, False), (0, 6, False)]
    assert [spell.part for spell in spells] == ["S-1"] * 3
    assert spells[0].place.line == 2


def test_a_set_with_use_behind_it_is_first_seen_there(read: Read) -> None:
    """Its events are known and its laps are not."""
    entries = read("2027-03-01,changed,a,,springs,S-1,,,5,\n2027-03-06,ran,a,,,,,,1,50\n")
    spells = spells_of(entries, SLOTS, RENEWS)
    assert seen(spells) == [(5, 6, False)]
    assert seen(spells, "laps") == []
    assert seen(spells, "days") == []


def test_a_piece_from_the_shelf_brings_its_part_and_its_use(read: Read) -> None:
    entries = read("2027-03-01,changed,a,,springs,,spare,,,\n2027-03-06,ran,a,,,,,,1,50\n")
    spells = spells_of(entries, SLOTS, RENEWS, {}, [piece("spare", events=3.0, laps=160.0)], date(2027, 2, 1))
    assert seen(spells) == [(3, 4, False)]
    assert spells[0].part == "S-2"


def test_an_own_log_begins_with_the_garage_when_the_books_open(read: Read) -> None:
    """Of blue's springs the events are known; red's give no figure, and are left out and counted."""
    garage = [
        piece("b", "springs", "blue", date(2026, 12, 1), events=3.0),
        piece("r", "springs", "red"),
    ]
    entries = read("2027-03-06,ran,blue,,,,,,1,50\n2027-03-08,ran,red,,,,,,1,50\n")
    spells = spells_of(entries, SLOTS, RENEWS, {}, garage, date(2027, 2, 1))
    assert seen(spells) == [(3, 4, False)]
    assert seen(spells, "days") == [(62, 97, False)]
    assert [spell.engine for spell in spells if "events" not in spell.start] == ["red"]


def test_a_run_of_the_calendar_uses_what_its_event_does_in_the_share_that_was_run(write: Write) -> None:
    log = "date,what,engine,event,slot,laps\n2027-03-01,changed,,,springs,\n2027-03-06,ran,,opener,,\n"
    entries, problems = read_log(write("log.csv", log + "2027-03-13,ran,,opener,,15\n"))
    assert problems == ()
    events = {"opener": {"events": 1.0, "laps": 60.0, "hours": 0.4}}
    spells = spells_of(entries, SLOTS, RENEWS, events, (), date(2027, 2, 1), "blue")
    assert seen(spells) == [(0, 1.25, False)]
    assert seen(spells, "laps") == [(0, 75, False)]
    assert seen(spells, "hours") == [(0, 0.5, False)]
    assert spells[0].engine == "blue"


def test_half_the_fuel_of_an_event_is_half_of_it(write: Write) -> None:
    log = "date,what,engine,event,slot,fuel [L]\n2027-03-01,changed,blue,,springs,\n"
    entries, problems = read_log(write("log.csv", log + "2027-03-06,ran,blue,opener,,9\n"))
    assert problems == ()
    events = {"opener": {"events": 1.0, "laps": 60.0, "fuel": 18.0}}
    spells = spells_of(entries, SLOTS, RENEWS, events, (), date(2027, 2, 1))
    assert [seen(spells, measure) for measure in ("events", "laps")] == [[(0, 0.5, False)], [(0, 30, False)]]


def test_what_the_car_shares_ages_with_every_engine_of_its_own_log_and_not_in_a_fleet(read: Read) -> None:
    rows = "2027-03-01,changed,car,,springs,S-1,,,,\n2027-03-06,ran,a,,,,,,1,50\n2027-03-13,ran,b,,,,,,1,50\n"
    assert seen(spells_of(read(rows), SLOTS, RENEWS, {}, (), date(2027, 2, 1))) == [(0, 2, False)]
    assert seen(spells_of(read(rows), SLOTS, RENEWS)) == []


def test_a_run_without_a_figure_ends_what_is_known_of_a_set_in_that_measure(read: Read) -> None:
    entries = read(
        "2027-03-01,changed,a,,springs,S-1,,,,\n"
        "2027-03-06,ran,a,,,,,,1,50\n"
        "2027-03-13,ran,a,,,,,,1,\n"
        "2027-03-14,failed,a,,springs,,,,,\n"
    )
    (spell,) = spells_of(entries, SLOTS, RENEWS)
    assert seen((spell,)) == [(0, 2, True)]
    assert seen((spell,), "laps") == [(0, 50, False)]
    assert "laps" in spell.cut


def test_a_mended_set_keeps_its_age_and_goes_on_as_first_seen_there(read: Read) -> None:
    entries = read(
        "2027-03-01,changed,a,,springs,S-1,,,,\n"
        "2027-03-06,ran,a,,,,,,1,\n"
        "2027-03-06,failed,a,,springs,,,,,\n"
        "2027-03-07,mended,a,,springs,,,,,\n"
        "2027-03-13,ran,a,,,,,,1,\n"
        "2027-03-14,mended,a,,springs,,,,,\n"
        "2027-03-20,ran,a,,,,,,1,\n"
    )
    (spell,) = spells_of(entries, SLOTS, RENEWS)
    assert seen((spell,)) == [(0, 1, True), (1, 3, False)]
    recurring = spell.recurring("events")
    assert recurring is not None
    assert (recurring.start, recurring.end, recurring.at) == (0, 3, (1.0, 2.0)), "mended before it broke counts too"


def test_one_new_piece_does_not_make_a_set_new(read: Read) -> None:
    entries = read(
        "2027-03-01,changed,a,,springs,S-1,,,,\n"
        "2027-03-06,ran,a,,,,,,1,\n"
        "2027-03-06,failed,a,,springs,,,1,,\n"
        "2027-03-06,changed,a,,springs,,,1,,\n"
        "2027-03-13,ran,a,,,,,,1,\n"
    )
    assert seen(spells_of(entries, SLOTS, RENEWS)) == [(0, 1, True), (1, 2, False)]


def test_of_pieces_the_oldest_break_and_the_others_go_on(read: Read) -> None:
    """Four rockers; one breaks after a night, two after the second: two of the three that are left of the first set."""
    entries = read(
        "2027-03-01,changed,a,,rockers,R-1,,,,\n"
        "2027-03-06,ran,a,,,,,,1,\n"
        "2027-03-06,failed,a,,rockers,,,,,\n"
        "2027-03-06,changed,a,,rockers,R-1,,1,,\n"
        "2027-03-13,ran,a,,,,,,1,\n"
        "2027-03-13,failed,a,,rockers,,,2,,\n"
        "2027-03-13,changed,a,,rockers,R-2,,2,,\n"
        "2027-03-20,ran,a,,,,,,1,\n"
    )
    spells = spells_of(entries, SLOTS, RENEWS)
    first = [(0, 1, True), (0, 2, True), (0, 2, True), (0, 3, False)]
    assert sorted(seen(spells)) == sorted([*first, (0, 2, False), (0, 1, False), (0, 1, False)])
    assert [spell.part for spell in spells if not spell.failed].count("R-2") == 2


def test_pieces_changed_before_they_break_are_the_oldest_too(read: Read) -> None:
    entries = read(
        "2027-03-01,changed,a,,rockers,R-1,,,,\n2027-03-06,ran,a,,,,,,1,\n2027-03-07,changed,a,,rockers,,,3,,\n"
        "2027-03-13,ran,a,,,,,,1,\n"
    )
    found = sorted(seen(spells_of(entries, SLOTS, RENEWS)))
    assert found == [(0, 1, False)] * 6 + [(0, 2, False)]


def test_what_broke_without_a_beginning_in_the_log_is_left_out_and_counted(read: Read) -> None:
    entries = read(
        "2027-03-06,ran,a,,,,,,1,\n2027-03-06,failed,a,,springs,,,,,\n2027-03-07,changed,a,,springs,S-1,,,,\n"
    )
    spells = spells_of(entries, SLOTS, RENEWS)
    assert seen(spells) == []
    assert [(spell.failed, "events" in spell.start) for spell in spells] == [(True, False), (False, True)]


def test_what_is_broken_does_not_run_on_and_ends_broken_with_the_log(read: Read) -> None:
    entries = read(
        "2027-03-01,changed,a,,springs,S-1,,,,\n2027-03-06,ran,a,,,,,,1,\n2027-03-06,failed,a,,springs,,,,,\n"
        "2027-03-13,ran,a,,,,,,1,\n"
    )
    assert seen(spells_of(entries, SLOTS, RENEWS)) == [(0, 1, True)]


def test_an_engine_of_a_fleet_is_followed_to_its_own_last_row(read: Read) -> None:
    """Days do not pass for an engine that was sold."""
    entries = read("2027-03-01,changed,a,,springs,S-1,,,,\n2027-03-06,ran,a,,,,,,1,\n2027-09-01,ran,b,,,,,,1,\n")
    assert seen(spells_of(entries, SLOTS, RENEWS), "days") == [(0, 5, False)]


def test_what_has_been_through_a_service_step_is_not_followed(read: Read, write: Write) -> None:
    """Its life is another than a new one's: the set ends where it is reworked, and comes back when it is new."""
    log = "date,what,engine,slot,part,step,events\n2027-03-01,changed,a,springs,S-1,,\n2027-03-06,ran,a,,,,1\n"
    log += "2027-03-07,mended,a,springs,,1,\n2027-03-13,ran,a,,,,1\n2027-03-14,changed,a,springs,,,\n"
    entries, _ = read_log(write("other.csv", log))
    assert seen(spells_of(entries, SLOTS, RENEWS)) == [(0, 1, False)]
    reworked = piece("b", "springs", "blue", events=3.0).model_copy(update={"step": 1})
    entries = read("2027-03-06,ran,blue,,,,,,1,50\n")
    assert seen(spells_of(entries, SLOTS, RENEWS, {}, [reworked], date(2027, 2, 1))) == []
