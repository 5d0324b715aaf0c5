"""The garage: what is true of real engines and shelves."""

from costplan.garage.pieces import Piece, read_garage

__all__ = ["Piece", "read_garage"]
