"""costplan: what a race engine costs, in a class whose rules pin the expensive choices.

Parts catalogs -> engine bills of materials -> checks against a class rule pack -> cost per race and per season.
The rooms (sub-packages) stand in one order, data walks one way through them, and `tests/test_rooms.py` holds them to it.
"""

__version__ = "0.1.0"
