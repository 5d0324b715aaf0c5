"""The theory of lives and renewal: what to expect of a part without playing a season.

It checks the season machine and explains it; it does not replace it. Lives are continuous distributions as scipy
freezes them (`stats.weibull_min(2.5, scale=40)`), an own `Weibull` by `distribution_of`, or the first of several modes
by `first_of`. Use is in any one unit; costs are in any one currency, as floats that are never rounded: an amount that
is to be booked crosses over by `costplan.money`. An input without an answer raises `InputError`, a ValueError that
names it. Lives are assumptions, and so is all that follows from them.

scipy takes a while to load, so `costplan.life` does not import this package: write `from costplan.life import theory`.
"""

from costplan.life.theory.damage import damage_by_load, repeats_to_failure
from costplan.life.theory.lifetime import FirstOf, Lifetime, distribution_of, first_of
from costplan.life.theory.renewal import Renewals, renewal_asymptote, renewals
from costplan.life.theory.replacement import (
    Policy,
    age_replacement_rate,
    best_age,
    best_age_in_steps,
    best_block,
    best_minimal_repair,
    block_replacement_rate,
    compare_policies,
    minimal_repair_rate,
    ratio_to_failure,
    run_to_failure_rate,
)
from costplan.life.theory.used import mean_remaining_life, remaining_life, survival_given

__all__ = [
    "FirstOf",
    "Lifetime",
    "Policy",
    "Renewals",
    "age_replacement_rate",
    "best_age",
    "best_age_in_steps",
    "best_block",
    "best_minimal_repair",
    "block_replacement_rate",
    "compare_policies",
    "damage_by_load",
    "distribution_of",
    "first_of",
    "mean_remaining_life",
    "minimal_repair_rate",
    "ratio_to_failure",
    "remaining_life",
    "renewal_asymptote",
    "renewals",
    "repeats_to_failure",
    "run_to_failure_rate",
    "survival_given",
]
