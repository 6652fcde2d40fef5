"""A lean as it would be seen from the ideal line, once the camera's heading is known."""

import math
from dataclasses import dataclass

from reporter.measure.entry import Way
from reporter.measure.geometry import Pixels, turned
from reporter.measure.heading import Heading
from reporter.measure.sight import Sight
from reporter.measure.uncertainty import propagated


@dataclass(frozen=True, slots=True)
class Straightened:
    """A corrected lean.

    Attributes
    ----------
    value : float
        The lean [deg].
    round_degrees : float
        How far round the camera stood, seen from the line [deg].
    of_points, of_camera, of_posture : float
        Standard errors: of the clicks, of roll and heading together, and of how far the line
        runs away from the camera [deg].
    """

    value: float
    round_degrees: float
    of_points: float
    of_camera: float
    of_posture: float


def straight_lean(seen: float, round_degrees: float, away: float, stretch: float = 1.0) -> float:
    """Return a lean as seen from the ideal line.

    Parameters
    ----------
    seen : float
        The lean on the levelled picture [deg].
    round_degrees : float
        How far round the camera stands [deg].
    away : float
        How far the line runs away from the camera over its rise.
    stretch : float
        How much taller than wide perspective shows the line.

    Returns
    -------
    float
        [deg].

    Notes
    -----
    A line (x, y, 1), x along the picture of the ideal camera and y away from it, is seen from a
    camera that stands round by a as x cos a + y sin a over 1.
    """
    angle = math.radians(round_degrees)
    across = stretch * math.tan(math.radians(seen)) - away * math.sin(angle)
    return math.degrees(math.atan(across / math.cos(angle)))


def straightened(
    way: Way,
    clicked: dict[str, Pixels],
    errors: dict[str, float],
    sight: Sight,
    centre: Pixels,
    heading: Heading,
) -> Straightened:
    """Return a way's lean corrected by the camera's heading and levelled by its roll.

    Parameters
    ----------
    way : Way
        With `straight`.
    clicked, errors : dict
        Point name to place on the picture as it is, and to standard deviation in x and y [px].
    sight : Sight
        Directions on the picture.
    centre : tuple of float
        Centre of the picture [px].
    heading : Heading
        Of its camera.
    """
    assert way.straight is not None
    away, spread, stretch = way.straight.away, way.straight.spread, way.straight.stretch
    column = math.fsum(x for x, _ in clicked.values()) / len(clicked)
    off = heading.round_at(column, sight.side) - heading.degrees

    def value(roll: float, degrees: float, lean_away: float) -> float:
        slope = sight.side * roll
        level = {name: turned(place, -slope, centre) for name, place in clicked.items()}
        return straight_lean(way.formula(level, sight), degrees + off, lean_away, stretch)

    def per(first: float, second: float) -> float:
        return (first - second) / 2.0

    here = heading.roll, heading.degrees
    of_roll = per(value(here[0] + 1.0, here[1], away), value(here[0] - 1.0, here[1], away))
    of_heading = per(value(here[0], here[1] + 1.0, away), value(here[0], here[1] - 1.0, away))
    variance = (
        (of_roll * heading.roll_error) ** 2
        + (of_heading * heading.error) ** 2
        + 2.0 * of_roll * of_heading * heading.together
    )
    level = {name: turned(at, -sight.side * here[0], centre) for name, at in clicked.items()}
    return Straightened(
        value=value(*here, away),
        round_degrees=here[1] + off,
        of_points=propagated(
            lambda places: straight_lean(way.formula(places, sight), here[1] + off, away, stretch),
            level,
            errors,
        ),
        of_camera=math.sqrt(max(variance, 0.0)),
        of_posture=abs(per(value(*here, away + spread), value(*here, away - spread))),
    )
