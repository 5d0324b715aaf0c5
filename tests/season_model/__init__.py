"""The season machine once more, in SimPy, from its description and its JSON alone.

It is what the machine's plan and drawn seasons are compared with, and what its speed is measured against. It is written
to be read: names instead of numbers, one process for the calendar and one for every visit to the workshop.
"""

from tests.season_model.books import Books
from tests.season_model.draws import Draws, Generated, Streams
from tests.season_model.reading import Work, read_work
from tests.season_model.season import play

__all__ = ["Books", "Draws", "Generated", "Streams", "Work", "play", "read_work"]
