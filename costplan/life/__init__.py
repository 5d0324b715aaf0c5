"""Lives: when parts are renewed, how they age, how they fail."""

from costplan.life.compare import Compared, compare_parts, measures_of
from costplan.life.lives import Life, duty, life_of
from costplan.life.weibull import Weibull, from_failures, from_replacement

__all__ = [
    "Compared",
    "Life",
    "Weibull",
    "compare_parts",
    "duty",
    "from_failures",
    "from_replacement",
    "life_of",
    "measures_of",
]
