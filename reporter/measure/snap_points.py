"""Refine all points and lines of a frame that the picture itself shows sharply."""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from reporter.measure.geometry import Pixels, distance
from reporter.measure.snap import default_reach, snap_line
from reporter.measure.snap_ball import snap_ball

SHAFT_ENDS = ("hosel", "handle")

BALL_OVER_SHAFT = 0.021 / 0.72
"""Radius of a ball over the length of a shaft that stands square to the camera's line of sight:
a ball of 42.67 mm (Rules of Golf, Equipment Rules part 4) and 0.72 m between the marks (common
practice, no source)."""

BALL_OVER_TRUNK = 0.021 / 0.50
"""The same over the way from pelvis centre to neck base (common practice, no source)."""

BALL_RADII = (0.75, 1.0, 1.35)
"""Multiples of the expected radius that are tried: the ball may be nearer or farther."""


@dataclass(frozen=True, slots=True)
class SnappedPoint:
    """One point after refinement.

    Attributes
    ----------
    name : str
        A point's name, or ``level 1`` and ``level 2`` for the ends of a line.
    clicked, place : tuple of float
        Where it was clicked, and where it is now [px]; the same where it was flagged.
    moved_px : float
        Distance of the two [px].
    flag : str
        Empty where it was refined; else why the click counts: ``blurred``, ``weak``,
        ``two edges``, ``too short`` or ``too small``.
    """

    name: str
    clicked: Pixels
    place: Pixels
    moved_px: float
    flag: str = ""


def farthest_move(size: tuple[int, int]) -> float:
    """Return how far any point may be moved on a picture of that width and height [px]."""
    return default_reach(size)


def snap_points(
    grey: NDArray[np.uint8],
    points: Mapping[str, Pixels],
    lines: Mapping[str, Sequence[Pixels]] | None = None,
    *,
    reach_px: float | None = None,
) -> tuple[SnappedPoint, ...]:
    """Refine shaft, ball and lines of one picture.

    Parameters
    ----------
    grey : ndarray of uint8, shape (height, width)
        The upright picture in grey.
    points : mapping of str to (float, float)
        Roughly clicked points [px]; ``hosel`` with ``handle``, and ``ball``, are refined, the
        others help to tell the size of the ball.
    lines : mapping of str to two points, optional
        Roughly clicked lines [px].
    reach_px : float, optional
        Farthest that a point may be moved [px]; `farthest_move` of the picture if left out. To be
        given for a cut-out of a larger picture.

    Returns
    -------
    tuple of SnappedPoint
        The ends of the shaft, of every line, and the ball, as far as they were given. No point is
        moved farther than `farthest_move`; a flagged one is not moved at all.

    Raises
    ------
    ValueError
        If the picture is not a grey one of 8 bit, or a point to refine lies outside of it.
    """
    limit = farthest_move((grey.shape[1], grey.shape[0])) if reach_px is None else reach_px
    found: list[SnappedPoint] = []
    if all(name in points for name in SHAFT_ENDS):
        found += _line(grey, SHAFT_ENDS, [points[name] for name in SHAFT_ENDS], limit)
    for name, ends in (lines or {}).items():
        found += _line(grey, (f"{name} 1", f"{name} 2"), ends, limit)
    if "ball" in points:
        found += _ball(grey, points, limit)
    return tuple(found)


def _line(
    grey: NDArray[np.uint8], names: Sequence[str], ends: Sequence[Pixels], limit: float
) -> list[SnappedPoint]:
    snapped = snap_line(grey, ends[0], ends[1], reach_px=limit)
    return [
        _moved(name, clicked, place, snapped.flag)
        for name, clicked, place in zip(names, ends, (snapped.start, snapped.end), strict=True)
    ]


def _ball(
    grey: NDArray[np.uint8], points: Mapping[str, Pixels], limit: float
) -> list[SnappedPoint]:
    """Return the ball, nothing where no length tells how large it is."""
    radius = 0.0
    if all(name in points for name in SHAFT_ENDS):
        radius = BALL_OVER_SHAFT * distance(points["hosel"], points["handle"])
    if "pelvis" in points and "neck" in points:
        radius = max(radius, BALL_OVER_TRUNK * distance(points["pelvis"], points["neck"]))
    if radius == 0.0:
        return []
    clicked = points["ball"]
    tried = [snap_ball(grey, clicked, radius_px=times * radius) for times in BALL_RADII]
    believed = [one for one in tried if not one.flag]
    best = max(believed or tried, key=lambda one: one.inlier_share)
    flag = best.flag
    if not flag and best.moved_px > limit:
        flag = "weak"
    return [_moved("ball", clicked, best.centre, flag)]


def _moved(name: str, clicked: Pixels, place: Pixels, flag: str) -> SnappedPoint:
    if flag:
        return SnappedPoint(name, clicked, clicked, 0.0, flag)
    return SnappedPoint(name, clicked, place, math.dist(clicked, place))
