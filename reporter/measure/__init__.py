"""Measuring: a checked Session goes in; named measures with plus-or-minus and class come out."""

from reporter.measure.catalogue import BY_ID, CATALOGUE
from reporter.measure.compare import compare, compare_pair, told_together
from reporter.measure.entry import Measure, Way
from reporter.measure.many import FOR_ONE_MEASURE, limit_among
from reporter.measure.measurement import Class, Comparison, Mark, Measurement, Verdict
from reporter.measure.read import measure_session
from reporter.measure.stand import CameraStand, camera_stands

__all__ = [
    "BY_ID",
    "CATALOGUE",
    "FOR_ONE_MEASURE",
    "CameraStand",
    "Class",
    "Comparison",
    "Mark",
    "Measure",
    "Measurement",
    "Verdict",
    "Way",
    "camera_stands",
    "compare",
    "compare_pair",
    "limit_among",
    "measure_session",
    "told_together",
]
