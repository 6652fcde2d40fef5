"""All measures, in the order of the reference page."""

from reporter.measure.arms_measures import ARMS_MEASURES
from reporter.measure.entry import Measure
from reporter.measure.feet_measures import FEET_MEASURES
from reporter.measure.legs_measures import LEGS_MEASURES
from reporter.measure.shaft_measures import SHAFT_MEASURES
from reporter.measure.shifts_measures import SHIFTS_MEASURES
from reporter.measure.trunk_measures import TRUNK_MEASURES

CATALOGUE: tuple[Measure, ...] = (
    *SHAFT_MEASURES,
    *TRUNK_MEASURES,
    *ARMS_MEASURES,
    *SHIFTS_MEASURES,
    *LEGS_MEASURES,
    *FEET_MEASURES,
)

BY_ID = {measure.id: measure for measure in CATALOGUE}
