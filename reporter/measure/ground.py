"""The ground plane seen through a camera: from four or more known spots to true lengths."""

import math
from collections.abc import Sequence
from functools import lru_cache
from itertools import combinations

import numpy as np
from numpy.typing import NDArray

from reporter.measure.geometry import Pixels, turn_of
from reporter.speech import later, say

LEAST_TRIANGLE = 200.0
"""Twice the least area of a triangle of ground points on the picture [px2]; thinner is in line."""


IN_LINE = later("the ground points lie in a line, so they do not describe the ground")


class GroundError(ValueError):
    """The ground points do not describe a plane; the message says why in plain words."""


def homography(source: Sequence[Pixels], target: Sequence[Pixels]) -> NDArray[np.float64]:
    """Return the projective map that carries `source` points to `target` points.

    Parameters
    ----------
    source, target : sequence of (float, float)
        At least four corresponding points, no three of four in a line.

    Returns
    -------
    ndarray, shape (3, 3)
        Scaled so that the last entry is 1; least squares (algebraic) beyond four points.

    Raises
    ------
    GroundError
        If there are fewer than four points or the points lie in a line.

    References
    ----------
    Hartley & Zisserman, Multiple View Geometry in Computer Vision, 2nd edition (2004),
    algorithm 4.2, the normalised direct linear transformation.
    """
    if len(source) < 4 or len(source) != len(target):
        message = _too_few(len(source))
        raise GroundError(message)
    if isinstance(source, tuple) and isinstance(target, tuple):
        return _solved(source, target)
    return _solved(*(tuple((float(x), float(y)) for x, y in p) for p in (source, target)))


def _too_few(count: int) -> str:
    return say("the ground needs at least 4 points, but {count} are given", count=count)


@lru_cache(maxsize=256)
def _solved(source: tuple[Pixels, ...], target: tuple[Pixels, ...]) -> NDArray[np.float64]:
    """Return the map; kept, because every measure of a frame asks for the same few."""
    from_points, from_map = _normalised(source)
    to_points, to_map = _normalised(target)
    rows = []
    for (x, y), (u, v) in zip(from_points, to_points, strict=True):
        rows.append((x, y, 1.0, 0.0, 0.0, 0.0, -u * x, -u * y, -u))
        rows.append((0.0, 0.0, 0.0, x, y, 1.0, -v * x, -v * y, -v))
    matrix = np.array(rows)
    if len(source) == 4:
        if _three_in_line(from_points) or _three_in_line(to_points):
            raise GroundError(say(IN_LINE))
        # Exact, and far quicker than the decomposition; the middle of the points cannot be at
        # infinity, so the last entry is not 0.
        middle = np.append(np.linalg.solve(matrix[:, :8], -matrix[:, 8]), 1.0)
    else:
        _, sizes, directions = np.linalg.svd(matrix)
        if sizes[7] < 1e-7 * sizes[0]:
            raise GroundError(say(IN_LINE))
        middle = directions[8]
    result = np.linalg.inv(to_map) @ middle.reshape(3, 3) @ from_map
    result = np.asarray(result / result[2, 2], dtype=float)
    result.flags.writeable = False
    return result


def carried(matrix: NDArray[np.float64], point: Pixels) -> Pixels:
    """Return where the map takes a point."""
    x, y = point
    across, along, depth = (row[0] * x + row[1] * y + row[2] for row in matrix.tolist())
    return (across / depth, along / depth)


def check_ground(
    picture: Sequence[Pixels], ground: Sequence[tuple[float, float]], *, mirrored: bool
) -> None:
    """Refuse ground points that no camera above the ground could see so.

    Parameters
    ----------
    picture : sequence of (float, float)
        Places on the picture [px].
    ground : sequence of (float, float)
        Places on the ground: toward the target, to the left of the target line [cm].
    mirrored : bool
        The picture is a mirror image.

    Raises
    ------
    GroundError
        If fewer than four points are given, if they lie in a line, if two of them are exchanged
        or the figure is not convex as it should be, or if left and right contradict `mirrored`.

    Notes
    -----
    A camera that sees all points in front of it keeps the sense of turning of every triangle
    (Hartley & Zisserman 2004, chapter 21, on quasi-affine maps); seen from above with y down it
    is the opposite of the ground's own, and a mirror turns it once more.
    """
    if len(picture) < 4:
        message = _too_few(len(picture))
        raise GroundError(message)
    expected = 1.0 if mirrored else -1.0
    senses = set()
    for chosen in combinations(range(len(picture)), 3):
        seen = turn_of([picture[i] for i in chosen])
        true = turn_of([ground[i] for i in chosen])
        if abs(true) < 1.0:
            if len(picture) == 4:
                message = say("three of the four ground points lie in a line on the ground")
                raise GroundError(message)
            continue
        if abs(seen) < LEAST_TRIANGLE:
            message = say("ground points lie almost in a line on the picture")
            raise GroundError(message)
        senses.add(1.0 if seen * true > 0 else -1.0)
    if not senses:
        raise GroundError(say(IN_LINE))
    if len(senses) > 1:
        message = say(
            "the ground points do not fit a flat ground seen by a camera; "
            "two of them may be exchanged"
        )
        raise GroundError(message)
    if senses != {expected}:
        message = say(
            "left and right of the ground points are exchanged, "
            "or the clip is mirrored and the lesson file does not say so"
        )
        raise GroundError(message)


def _normalised(
    points: tuple[Pixels, ...],
) -> tuple[list[Pixels], NDArray[np.float64]]:
    """Return points moved to mean 0 and mean distance sqrt(2), and the 3 x 3 map that did it."""
    count = len(points)
    across, down = (math.fsum(p[axis] for p in points) / count for axis in (0, 1))
    spread = math.fsum(math.hypot(x - across, y - down) for x, y in points) / count
    if spread == 0.0:
        message = say("all ground points are the same spot")
        raise GroundError(message)
    scale = math.sqrt(2.0) / spread
    matrix = np.array([[scale, 0.0, -scale * across], [0.0, scale, -scale * down], [0.0, 0.0, 1.0]])
    return [((x - across) * scale, (y - down) * scale) for x, y in points], matrix


def _three_in_line(points: Sequence[Pixels]) -> bool:
    """Return whether three of the normalised points lie in a line."""
    return any(abs(turn_of(corners)) < 1e-6 for corners in combinations(points, 3))
