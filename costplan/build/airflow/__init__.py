"""Airflow: what an engine's openings let through, which of them decides, and an estimate of its power from that.

An estimate with its error, never more: steady flow, a curve of filling of our own, a correlation of friction.
"""

from costplan.build.airflow.breath import Breath
from costplan.build.airflow.calibration import Calibration, Point, calibrate
from costplan.build.airflow.estimator import Estimator, calibrated
from costplan.build.airflow.look import Breathing, Knee, Restriction, Speed, Turn
from costplan.build.airflow.standards import STANDARDS, Standard

__all__ = [
    "STANDARDS",
    "Breath",
    "Breathing",
    "Calibration",
    "Estimator",
    "Knee",
    "Point",
    "Restriction",
    "Speed",
    "Standard",
    "Turn",
    "calibrate",
    "calibrated",
]
