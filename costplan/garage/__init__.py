"""The garage: what is true of real engines and shelves."""

from costplan.garage.bench import Bench, read_bench
from costplan.garage.pieces import Piece, read_garage

__all__ = ["Bench", "Piece", "read_bench", "read_garage"]
