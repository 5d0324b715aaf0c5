"""Lives from what was seen of them: fits of Weibull lives and curves without any distribution.

Pure numbers in one unit of use; whoever calls brings observations from a log. Every fit says how it was made: maximum
likelihood is `fit_weibull`, a line through ranks is `rank_regression`, and the two give different lives. An input
without an answer raises `InputError`. scipy takes a while to load, so `costplan.life` does not import this package:
write `from costplan.life import fitting`.
"""

from costplan.life.fitting.curves import Mean, Recurring, Step, kaplan_meier, mean_cumulative
from costplan.life.fitting.likelihood import Likelihood
from costplan.life.fitting.maximum import (
    Estimate,
    Way,
    WeibullFit,
    bounds_of,
    fit_weibull,
    least_scale,
    prior_failures,
)
from costplan.life.fitting.observations import Observation, lives_seen
from costplan.life.fitting.ranks import RankFit, rank_regression

__all__ = [
    "Estimate",
    "Likelihood",
    "Mean",
    "Observation",
    "RankFit",
    "Recurring",
    "Step",
    "Way",
    "WeibullFit",
    "bounds_of",
    "fit_weibull",
    "kaplan_meier",
    "least_scale",
    "lives_seen",
    "mean_cumulative",
    "prior_failures",
    "rank_regression",
]
