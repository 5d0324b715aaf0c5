"""Lives: when parts are renewed, how they age, how they fail."""

from costplan.life.lives import Life, duty, life_of
from costplan.life.weibull import Weibull, from_failures, from_replacement

__all__ = ["Life", "Weibull", "duty", "from_failures", "from_replacement", "life_of"]
