"""costplan: what a race engine costs, in a class whose rules pin the expensive choices.

Parts catalogs -> engine bills of materials -> checks against a rule pack -> cost per race and per season.
The rooms (sub-packages) stand in one order and data walks one way through them; `tests/test_rooms.py` sees to it.
"""

__version__ = "0.1.0"
