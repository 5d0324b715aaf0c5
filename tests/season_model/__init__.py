"""The season machine once more, in SimPy, from the description of the machine and its JSON alone.

It is what the machine's plan and drawn seasons are compared with, and what its speed is measured against. It is written
to be read: names instead of numbers, one process for the calendar and one for every visit to the workshop.

It was written without the machine's source. Where the first comparison showed the description to be silent, it took
over what the machine does, so that there the two agree by arrangement and prove nothing:

- a kit is bought for the strongest cause of what takes any of it, its price shared out with packs' prices rounded up;
- a set from the shelf costs its share of what old and new pieces cost together, rounded down;
- an opening judges all that it reaches by looking ahead, also where its level does not fit the gap;
- what would go along with another is looked at too, and keeps a cause of its own;
- no piece is mended of a set that the level renews, or that is due at the opening;
- another engine is charged for also in a run that rain then stops, and stays the event's engine;
- a limit in days keeps an engine back by its age on the day of the run;
- a position that is due, and does not call, keeps no engine back from a run at a barred level either;
- a date that is passed over is not owed later, and renewing early does not wait for it;
- what a broken set would have brought, its resale and deposit, is no wear.
"""

from tests.season_model.books import Books
from tests.season_model.draws import Draws, Generated, Streams
from tests.season_model.reading import Work, read_work
from tests.season_model.season import play

__all__ = ["Books", "Draws", "Generated", "Streams", "Work", "play", "read_work"]
