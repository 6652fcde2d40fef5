"""Limits within which a value wanders by itself, from the differences of neighbours in time.

References
----------
Shewhart, W. A. (1931). Economic Control of Quality of Manufactured Product. Van Nostrand.
Montgomery, D. C. (2009). Introduction to Statistical Quality Control, 6th edition. Wiley, section
6.4 (charts for individual measurements): centre plus and minus 3 / d2 times the mean moving range.
d2 = 1.128 for ranges of two (his appendix VI), so 3 / d2 = 2.66.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass

D2_OF_TWO = 2 / math.sqrt(math.pi)
"""Mean range of two normal values in standard deviations, 1.1284; exact."""
WIDTH = 3 / D2_OF_TWO
"""Half width of the limits in mean moving ranges, 2.659."""
BASELINE = 6
"""Values the limits are made from. Of a value that only wanders, one later value lies outside the
limits of six 4.5 times in 100, two in a row on one side 0.7 times in 100 (simulated)."""
IN_A_ROW = 2
"""Later values that must lie outside on one side before a change is told."""
MANY = 7
"""Measures judged together from which on the limits widen: up to here two values in a row outside
are chance on 5 pages of 100 at most."""


@dataclass(frozen=True, slots=True)
class ControlLimits:
    """Where a value lies while nothing but chance moves it; all in the value's unit.

    Attributes
    ----------
    centre, lower, upper : float
        Mean of the first values, and the limits around it.
    mean_moving_range : float
        Mean difference of neighbours, without sign.
    values : int
        How many values they were made from.
    """

    centre: float
    lower: float
    upper: float
    mean_moving_range: float
    values: int

    def side(self, value: float, among: int = 1) -> int:
        """Return 1 above the limits, -1 below, 0 inside or on them.

        Of many measures judged `among` each other the limits stand farther out, by the fourth root
        of how many there are: two in a row outside of limits that are w times as far are chance
        about w ** -4 times as often (simulated), because six values that happen to lie close
        together make narrow limits.
        """
        wider = math.sqrt(math.sqrt(max(1.0, among / MANY)))
        away = value - self.centre
        half = wider * (self.upper - self.centre)
        return (away > half) - (away < -half)


def control_limits(values: Sequence[float], baseline: int = BASELINE) -> ControlLimits | None:
    """Return the limits of the first values; None while there are fewer.

    Parameters
    ----------
    values : sequence of float
        In order of time, all in one unit.
    baseline : int
        How many values make the limits; two or more.

    Raises
    ------
    ValueError
        For a value that is no finite number.
    """
    if not all(math.isfinite(value) for value in values):
        message = "control limits need finite numbers"
        raise ValueError(message)
    if len(values) < baseline:
        return None
    first = values[:baseline]
    centre = math.fsum(first) / baseline
    ranges = [abs(later - earlier) for earlier, later in zip(first, first[1:], strict=False)]
    moving = math.fsum(ranges) / len(ranges)
    half = WIDTH * moving
    return ControlLimits(centre, centre - half, centre + half, moving, baseline)
