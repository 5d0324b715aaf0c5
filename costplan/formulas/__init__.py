"""Standard formulas for themselves: economics, depreciation, machine cost, engine, power and air, bearings, spare parts
and the roll-up of estimates.

Each is a function of plain numbers with its formula, units, limiting cases and source, and stands in `METHODS` under
its name in words. They give ratios and estimates: money is a float here and never rounded; an amount that is to be
booked crosses over by `costplan.money`. An input without an answer raises `InputError`, a ValueError that names it.
"""

from collections.abc import Mapping
from types import MappingProxyType

from costplan.formulas import bearings, depreciation, economics, engine, machinery, power, rollup, spares
from costplan.formulas.bearings import (
    rating_life,
    rating_life_hours,
    rating_needed,
    survival_at_life,
)
from costplan.formulas.checking import InputError
from costplan.formulas.depreciation import (
    declining_balance_depreciation,
    declining_balance_value,
    straight_line_depreciation,
    sum_of_years_depreciation,
)
from costplan.formulas.economics import (
    annual_costs_by_life,
    capital_recovery_factor,
    economic_life,
    equivalent_annual_cost,
    future_value,
    internal_rate_of_return,
    loan_payment,
    mid_year_discount_factor,
    modified_rate_of_return,
    net_present_value,
    number_of_payments,
    present_value,
    single_present_value_factor,
    uniform_present_value_factor,
)
from costplan.formulas.engine import (
    clearance_for_ratio,
    clearance_volume,
    compression_ratio,
    cylinder_volume,
    deck_clearance,
    displacement,
    driven_speed,
    firings,
    mean_piston_speed,
    piston_speed_ratio,
    piston_travel,
    revolutions,
    rod_ratio,
    running_hours,
    spring_force,
    spring_margin,
    square_bore,
    swept_volume,
    valve_lift,
)
from costplan.formulas.machinery import (
    accumulated_repair_share,
    capital_recovery,
    salvage_value,
)
from costplan.formulas.method import Input, Kind, Method, Value, compute
from costplan.formulas.power import (
    TORQUE_TIMES_RPM_A_HORSEPOWER,
    air_flow,
    inlet_mach_index,
    iso_1585_factor,
    otto_efficiency,
    power_from_head_flow,
    power_from_torque,
    sae_j1349_factor,
    torque_from_power,
)
from costplan.formulas.rollup import (
    beta_pert_deviation,
    beta_pert_percentile,
    lognormal_deviation,
    lognormal_mean,
    lognormal_parameters,
    lognormal_percentile,
    pert_deviation,
    pert_mean,
    sum_deviation,
    sum_mean,
    triangular_deviation,
    triangular_mean,
    triangular_percentile,
)
from costplan.formulas.spares import (
    expected_backorders,
    newsvendor_cost,
    newsvendor_quantity,
    poisson_probability,
    probability_of_fewer,
    probability_of_more,
    stock_for_service_level,
)

#: Every formula by its name, in the order in which `costplan methods` lists them.
METHODS: Mapping[str, Method] = MappingProxyType(
    {
        method.name: method
        for methods in (
            economics.METHODS,
            depreciation.METHODS,
            machinery.METHODS,
            engine.METHODS,
            power.METHODS,
            bearings.METHODS,
            spares.METHODS,
            rollup.METHODS,
        )
        for method in methods
    }
)

__all__ = [
    "METHODS",
    "TORQUE_TIMES_RPM_A_HORSEPOWER",
    "Input",
    "InputError",
    "Kind",
    "Method",
    "Value",
    "accumulated_repair_share",
    "air_flow",
    "annual_costs_by_life",
    "beta_pert_deviation",
    "beta_pert_percentile",
    "capital_recovery",
    "capital_recovery_factor",
    "clearance_for_ratio",
    "clearance_volume",
    "compression_ratio",
    "compute",
    "cylinder_volume",
    "deck_clearance",
    "declining_balance_depreciation",
    "declining_balance_value",
    "displacement",
    "driven_speed",
    "economic_life",
    "equivalent_annual_cost",
    "expected_backorders",
    "firings",
    "future_value",
    "inlet_mach_index",
    "internal_rate_of_return",
    "iso_1585_factor",
    "loan_payment",
    "lognormal_deviation",
    "lognormal_mean",
    "lognormal_parameters",
    "lognormal_percentile",
    "mean_piston_speed",
    "mid_year_discount_factor",
    "modified_rate_of_return",
    "net_present_value",
    "newsvendor_cost",
    "newsvendor_quantity",
    "number_of_payments",
    "otto_efficiency",
    "pert_deviation",
    "pert_mean",
    "piston_speed_ratio",
    "piston_travel",
    "poisson_probability",
    "power_from_head_flow",
    "power_from_torque",
    "present_value",
    "probability_of_fewer",
    "probability_of_more",
    "rating_life",
    "rating_life_hours",
    "rating_needed",
    "revolutions",
    "rod_ratio",
    "running_hours",
    "sae_j1349_factor",
    "salvage_value",
    "single_present_value_factor",
    "spring_force",
    "spring_margin",
    "square_bore",
    "stock_for_service_level",
    "straight_line_depreciation",
    "sum_deviation",
    "sum_mean",
    "sum_of_years_depreciation",
    "survival_at_life",
    "swept_volume",
    "torque_from_power",
    "triangular_deviation",
    "triangular_mean",
    "triangular_percentile",
    "uniform_present_value_factor",
    "valve_lift",
]
