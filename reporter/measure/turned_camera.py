"""The map between two pictures of a camera that stayed in place but was turned or zoomed."""

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from reporter.measure.uncertainty import scale_of

Floats = NDArray[np.float64]

FOCAL = 0.80
"""Usual focal length over the longer side of the picture: a telephone's main camera filming."""

FOCAL_SPREAD = 0.35
"""How far it may differ, as the logarithm's standard deviation."""

BEND_SPREAD = 0.02
"""Standard deviation of the radial distortion that telephones leave in a clip; assumed."""

LARGEST_BEND = 0.08
"""More distortion than this is parallax that only looks like it."""

NOISE = 0.3
"""Standard deviation of a spot's place, on a 1920 x 1080 picture [px]."""


@dataclass(frozen=True, slots=True)
class Turn:
    """How the camera was turned and zoomed from before to after.

    Attributes
    ----------
    rotation : tuple of float
        Rotation vector of the after camera's view into the before camera's [rad].
    zoom : float
        Focal length after over before.
    focal : float
        Focal length before [px].
    bend : float
        Radial distortion of the lens: a spot at r focal lengths from the middle of the picture is
        seen at r (1 + bend r^2), nearly.
    """

    rotation: tuple[float, float, float]
    zoom: float
    focal: float
    bend: float = 0.0


def turn_matrix(turn: Turn, size: tuple[int, int]) -> Floats:
    """Return the 3 x 3 map from the after picture to the before picture, of a straight lens.

    ``K R K'^-1`` with square pixels and the principal point in the middle of the picture
    (Hartley & Zisserman 2004, section 8.4).
    """
    centre = (size[0] / 2.0, size[1] / 2.0)
    after = _camera(turn.focal * turn.zoom, centre)
    matrix = _camera(turn.focal, centre) @ _rotation(turn.rotation) @ np.linalg.inv(after)
    return np.asarray(matrix / matrix[2, 2], dtype=float)


def laid(turn: Turn, after: Floats, size: tuple[int, int]) -> Floats:
    """Return where the turn, with the lens, puts spots of the after picture, shape (spots, 2)."""
    across, down = size[0] / 2.0, size[1] / 2.0
    # In focal lengths from the middle; column by column, since rows of two are slow to work on.
    x = (after[:, 0] - across) / (turn.focal * turn.zoom)
    y = (after[:, 1] - down) / (turn.focal * turn.zoom)
    straight = 1.0 - turn.bend * (x * x + y * y)
    x, y = x * straight, y * straight
    rows = _rotation(turn.rotation)
    ahead = rows[2, 0] * x + rows[2, 1] * y + rows[2, 2]
    x, y = ((row[0] * x + row[1] * y + row[2]) / ahead for row in rows[:2])
    bent = turn.focal * (1.0 + turn.bend * (x * x + y * y))
    return np.column_stack([x * bent + across, y * bent + down])


def fit_turn(before: Floats, after: Floats, weights: Floats, size: tuple[int, int]) -> Turn:
    """Return the turn that most spots agree on.

    Parameters
    ----------
    before, after : ndarray, shape (spots, 2)
        The same spots in both pictures [px].
    weights : ndarray, shape (spots,)
        How much each spot counts.
    size : tuple of int
        Width and height of the pictures [px].

    Notes
    -----
    Gauss-Newton steps on reweighted least squares (Geman & McClure's weights), from a wide
    tolerance to a narrow one, so that the largest group that agrees wins. Weak priors hold the
    focal length and the bend of the lens, which small turns do not tell.
    """
    longest = float(max(size))
    usual = np.array([0.0, 0.0, 0.0, 0.0, math.log(FOCAL * longest), 0.0])
    priors = np.array([0.0, 0.0, 0.0, 0.0, 1.0 / FOCAL_SPREAD**2, 1.0 / BEND_SPREAD**2])
    values = usual.copy()
    scale = max(scale_of(size), 0.5)
    for tolerance in (30.0, 30.0, 12.0, 12.0, 5.0, 5.0, 2.0, 2.0, 1.0, 1.0, 1.0, 1.0):
        rest = _rest(values, before, after, size)
        square = (rest[:, 0] ** 2 + rest[:, 1] ** 2) / (tolerance * scale) ** 2
        w = weights / (1.0 + square) ** 2
        slopes = np.stack(
            [
                (_rest(values + step, before, after, size) - rest).ravel() / step.max()
                for step in np.eye(6) * 1e-6
            ],
            axis=-1,
        )
        weighted = slopes.T * (w.repeat(2) / (NOISE * scale) ** 2)
        normal, toward = weighted @ slopes, weighted @ rest.ravel()
        normal += np.diag(priors)
        toward += priors * (values - usual)
        normal += 1e-9 * np.diag(np.diag(normal) + 1.0)
        step = np.linalg.solve(normal, toward)
        values = values - np.clip(step, -0.3, 0.3)
        values[4] = np.clip(values[4], math.log(0.4 * longest), math.log(4.0 * longest))
        values[5] = np.clip(values[5], -LARGEST_BEND, LARGEST_BEND)
    return _turn(values)


def _turn(values: Floats) -> Turn:
    x, y, z, zoom, focal, bend = (float(value) for value in values)
    return Turn((x, y, z), math.exp(zoom), math.exp(focal), bend)


def _rest(values: Floats, before: Floats, after: Floats, size: tuple[int, int]) -> Floats:
    """Return how far the map puts each after spot from its before spot [px]."""
    return laid(_turn(values), after, size) - before


def _camera(focal: float, centre: tuple[float, float]) -> Floats:
    return np.array([[focal, 0.0, centre[0]], [0.0, focal, centre[1]], [0.0, 0.0, 1.0]])


def _rotation(vector: tuple[float, float, float]) -> Floats:
    """Return the rotation matrix of a rotation vector (Rodrigues' formula)."""
    angle = math.hypot(*vector)
    x, y, z = vector
    cross = np.array([[0.0, -z, y], [z, 0.0, -x], [-y, x, 0.0]])
    if angle < 1e-12:
        return np.asarray(np.eye(3) + cross, dtype=float)
    sine, cosine = math.sin(angle) / angle, (1.0 - math.cos(angle)) / angle**2
    return np.asarray(np.eye(3) + sine * cross + cosine * cross @ cross, dtype=float)
