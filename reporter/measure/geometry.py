"""Plane geometry of clicked points: signed angles, distances, turning of a picture.

All points are pixels of the upright picture: x to the right, y down, (0, 0) the outer corner of
the first pixel. All angles are degrees. Angles come from ``atan2`` and never from ``acos``:
near 0 and 180 degrees the arc cosine of noisy points is biased by several degrees.
"""

import math
from collections.abc import Sequence

Pixels = tuple[float, float]


def between(first: Pixels, second: Pixels, share: float = 0.5) -> Pixels:
    """Return the point `share` of the way from `first` to `second` [px]."""
    return (
        first[0] + share * (second[0] - first[0]),
        first[1] + share * (second[1] - first[1]),
    )


def distance(first: Pixels, second: Pixels) -> float:
    """Return the distance of two points [px]."""
    return math.hypot(second[0] - first[0], second[1] - first[1])


def turned(point: Pixels, degrees: float, centre: Pixels = (0.0, 0.0)) -> Pixels:
    """Return `point` turned about `centre`.

    Parameters
    ----------
    point, centre : tuple of float
        Pixels [px].
    degrees : float
        Positive turns clockwise as seen on the picture (from x toward y, which points down).

    Returns
    -------
    tuple of float
        The turned point [px].
    """
    angle = math.radians(degrees)
    across, down = point[0] - centre[0], point[1] - centre[1]
    return (
        centre[0] + across * math.cos(angle) - down * math.sin(angle),
        centre[1] + across * math.sin(angle) + down * math.cos(angle),
    )


def lean_from_plumb(low: Pixels, high: Pixels, side: int) -> float:
    """Return how far the line from `low` to `high` leans from straight up.

    Parameters
    ----------
    low, high : tuple of float
        Ends of the line [px].
    side : int
        +1 where a lean to the right of the picture counts positive, -1 for the left.

    Returns
    -------
    float
        Lean in -180 to 180 [deg]; 0 is straight up.
    """
    return math.degrees(math.atan2(side * (high[0] - low[0]), low[1] - high[1]))


def rise_from_level(start: Pixels, end: Pixels, side: int) -> float:
    """Return how far the line from `start` to `end` rises above level.

    Parameters
    ----------
    start, end : tuple of float
        Ends of the line [px].
    side : int
        +1 where a level line runs to the right of the picture, -1 to the left.

    Returns
    -------
    float
        Rise in -180 to 180 [deg]; positive: `end` is higher on the picture than `start`.
    """
    return math.degrees(math.atan2(start[1] - end[1], side * (end[0] - start[0])))


def slope_from_level(low: Pixels, high: Pixels) -> float:
    """Return the rise of a line whose direction left or right does not matter, -90 to 90 [deg]."""
    return math.degrees(math.atan2(low[1] - high[1], abs(high[0] - low[0])))


def signed_angle(first: Pixels, vertex: Pixels, last: Pixels) -> float:
    """Return the angle at `vertex` from the limb to `first` to the limb to `last`.

    Returns
    -------
    float
        -180 to 180 [deg], positive clockwise as seen on the picture.
    """
    ax, ay = first[0] - vertex[0], first[1] - vertex[1]
    bx, by = last[0] - vertex[0], last[1] - vertex[1]
    return math.degrees(math.atan2(ax * by - ay * bx, ax * bx + ay * by))


def flex(upper: Pixels, joint: Pixels, lower: Pixels, side: int) -> float:
    """Return how far a limb is bent: 0 where the three points stand in one line.

    Parameters
    ----------
    upper, joint, lower : tuple of float
        Such as hip, knee, ankle [px].
    side : int
        +1 where a joint standing out to the right of the picture counts as bent forward
        (positive), -1 for the left.

    Returns
    -------
    float
        -180 to 180 [deg]; negative: bent the other way.
    """
    ax, ay = joint[0] - upper[0], joint[1] - upper[1]
    bx, by = lower[0] - joint[0], lower[1] - joint[1]
    return math.degrees(math.atan2(side * (ax * by - ay * bx), ax * bx + ay * by))


def turn_of(corners: Sequence[Pixels]) -> float:
    """Return twice the signed area of a triangle [px2]; its sign tells the sense of turning."""
    (ax, ay), (bx, by), (cx, cy) = corners
    return (bx - ax) * (cy - ay) - (by - ay) * (cx - ax)
