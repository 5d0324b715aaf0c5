"""Rules of what is drawn that no other test holds, worked by hand to the cent."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date
from decimal import Decimal

from costplan.rules.book import Book, DatedPart, PieceCap
from costplan.season import Season, machine
from costplan.season.arrays import as_drawn
from costplan.season.drawn.comparing import _labour, _lives, _prices
from costplan.season.drawn.drawing import QUIET
from costplan.season.drawn.whatif import if_claimed
from tests.test_season.test_book import DAMPER, INSTALLED, bound, clause, paid
from tests.test_season.test_risk_by_hand import ENGINE, account, cash, played, season, table

SeasonOf = Callable[..., Season]


def test_a_set_that_a_piece_would_carry_past_its_hard_limit_is_renewed_whole(season_of: SeasonOf) -> None:
    lives = "part,measure,replace_at,limit\nspring,laps,200,\nvalve,laps,200,75\nblock,laps,200,\npump,laps,200,\n"
    found = season(season_of, lives=lives)
    state, ledger = played(found, {"valves": [50]})
    # One valve breaks at 50 laps; a piece would leave the other three to pass 75 laps in run three, up to 100.
    assert state.trace_raw[2, 0, 1] == 50
    assert ("three", "valves", "failure", "40.00") in cash(ledger)


def test_what_a_mended_set_is_older_by_its_opening_stands_in_its_account(season_of: SeasonOf) -> None:
    lives = "part,measure,replace_at\nspring,laps,200\nvalve,laps,2000\nvalve,openings,4\nblock,laps,200\n"
    found = season(season_of, lives=lives + "pump,laps,200\n")
    state, ledger = played(found, {"valves": [50]})
    # Four valves of 10, of which 1 is resale: 36.00. The laps take 0.90 of it, the opening before three
    # brings it down to three quarters, and the piece of 10.00 adds nothing.
    assert account(ledger, "valves") == ["36.00", "10.00", "0.90", "18.10", "27.00"]
    assert ledger.total("wear") * 100 == int(state.tally_event.sum()) + int(state.used_up[0])


def test_what_lives_by_openings_is_due_by_the_opening_at_hand(season_of: SeasonOf) -> None:
    calendar = "event,date,laps\none,2027-05-01,30\ntwo,2027-05-08,30\nthree,2027-05-15,30\nfour,2027-05-22,30\n"
    lives = "part,measure,replace_at\nspring,laps,200\nvalve,openings,1.5\nblock,laps,200\npump,laps,200\n"
    found = season(season_of, calendar=calendar, lives=lives)
    _, ledger = played(found, {"springs": [10, 50]})
    # Springs break at 10 laps of one, the next set at 20 of three. Opened again, the valves
    # would be two openings old, and 1.5 is their end.
    assert cash(ledger) == table("""
        two   quick    labour   25.00
        two   springs  failure  80.00
        four  quick    labour   25.00
        four  springs  failure  80.00
        four  valves   planned  40.00
        four  valves   income   -4.00
    """)


def test_a_used_set_that_is_put_in_is_looked_at_by_its_own_age(season_of: SeasonOf) -> None:
    levels = "level,rank,carrier,hours,labour,renews\nquick,1,engine,8,25,springs\nfull,2,engine,100,200,\n"
    garage = "piece,part,engine,slot,count,laps\nused,spring,,,2,150\n"
    found = season(season_of, levels=levels + "side,1,car,2,12,\n", garage=garage)
    _, ledger = played(found, {"valves": [10]})
    # The new springs would see the season out; those of 150 laps that take their place are at 190 before three.
    assert cash(ledger) == table("""
        two    quick    labour   25.00
        two    valves   failure  10.00
        three  quick    labour   25.00
        three  springs  planned  80.00
    """)


def test_a_dated_part_is_renewed_for_a_clause_that_ends_before_the_next_gap_that_fits(season_of: SeasonOf) -> None:
    calendar = "event,date,laps\none,2027-05-01,30\ntwo,2027-05-15,30\nthree,2027-05-22,30\nfour,2027-05-29,30\n"
    levels = "level,rank,hours\nfront,1,200\n"
    book = Book(dated=(DatedPart(clause("T7", until=date(2027, 5, 28)), "damper", 22),))
    found = bound(season_of, book, **{**DAMPER, "levels": levels}, calendar=calendar, garage=INSTALLED)
    # 19 days old before two, the last gap that holds 200 hours, and 26 before three, while the clause is in force.
    assert paid(found) == [("two", "damper", "100.00")]


def test_a_piece_mends_a_set_that_is_due_where_the_book_allows_no_whole_one(season_of: SeasonOf) -> None:
    lives = "part,measure,replace_at\nspring,laps,900\nvalve,laps,60\nblock,laps,900\npump,laps,900\n"
    book = Book(piece_caps=(PieceCap(clause(), ("valves",), 2, each_event=False),))
    found = bound(season_of, book, **{**ENGINE, "lives": lives})
    state, ledger = played(found, {"valves": [50]})
    assert cash(ledger) == table("""
        three  quick   labour   25.00
        three  valves  failure  10.00
    """)
    assert state.ran.tolist() == [0, 0, 0]


def test_services_in_one_gap_add_up_their_hours(season_of: SeasonOf) -> None:
    calendar = (
        "event,date,kind,laps,gap_hours\none,2027-05-01,race,30,\nstrip,2027-05-02,service,,5\n"
        "build,2027-05-03,service,,7\ntwo,2027-05-08,race,30,\n"
    )
    assert season(season_of, calendar=calendar).problem.clock.tolist() == [0, 12]


def test_a_longer_life_of_a_part_is_a_longer_life_in_its_balance(season_of: SeasonOf) -> None:
    found = season(season_of, garage="piece,part,engine,slot,laps\nold,block,engine,block,100\n")
    longer = _lives([2])(as_drawn(found, 1), 1.25)
    # 810.00 above resale: half of it is left at 100 of 200 laps, 0.6 at 100 of 250; the other parts as before.
    assert machine.left_of(longer, found.start, 0, 2) - machine.left_of(found.problem, found.start, 0, 2) == 81_00
    assert longer.worn_at.tolist() == [200, 200, 250, 200]


def test_a_claimed_engine_is_built_anew_with_whole_sets(season_of: SeasonOf) -> None:
    """Valves are mended by the piece, but of an engine that is gone all four must be bought."""
    found = if_claimed(season(season_of), "two", Decimal(0), 0.0, 40, watch=QUIET)
    # Springs 80, valves 40, block 900 with its deposit of 150, 200 of work; nothing of the old ones comes back.
    assert found.bill.p50 == Decimal("1370.00")


def test_a_fifth_more_labour_is_more_labour_and_not_supplies(season_of: SeasonOf) -> None:
    problem = as_drawn(season(season_of), 1)
    dearer = _labour(problem, 1.2)
    assert (dearer.labour.tolist(), dearer.cost.tolist()) == ((problem.labour * 1.2).round().tolist(),) * 2


def test_a_fifth_more_for_parts_is_a_fifth_more_for_kits(season_of: SeasonOf) -> None:
    catalog = {
        "kits": "kit,name,supplier,price,price_date\nSP,spring box,us,70,2027-01-01\n",
        "kit_contains": "kit,part,pieces\nSP,spring,2\n",
    }
    problem = as_drawn(season(season_of, catalog=catalog), 1)
    assert _prices(problem, 1.2).kit_price.tolist() == [[8400] * 4]
