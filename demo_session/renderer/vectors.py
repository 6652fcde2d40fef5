"""Small vector helpers for the jointed figure."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import ArrayLike, NDArray

Vector = NDArray[np.float64]


def vector(*components: float) -> Vector:
    """Three numbers as a float64 array, shape (3,)."""
    return np.array(components, dtype=np.float64)


def unit(value: ArrayLike) -> Vector:
    """The direction of ``value`` with length one, shape (3,)."""
    array = np.asarray(value, dtype=np.float64)
    return array / np.linalg.norm(array)


def across(value: Vector, axis: Vector) -> Vector:
    """The unit vector along the part of ``value`` that is perpendicular to unit ``axis``."""
    return unit(value - (value @ axis) * axis)


def turned(value: Vector, axis: Vector, angle_deg: float) -> Vector:
    """``value`` turned about unit ``axis`` by the right-hand rule (Rodrigues' formula)."""
    angle = math.radians(angle_deg)
    cosine, sine = math.cos(angle), math.sin(angle)
    turned_part = value * cosine + np.cross(axis, value) * sine
    return turned_part + axis * float(axis @ value) * (1.0 - cosine)


def bent_joint(
    start: Vector, end: Vector, first_length: float, second_length: float, toward: Vector
) -> Vector:
    """Middle joint of two rigid links, displaced toward a hint.

    Parameters
    ----------
    start, end : ndarray, shape (3,)
        End points of the chain in metres.
    first_length, second_length : float
        Lengths of the links in metres.
    toward : ndarray, shape (3,)
        Direction to which the middle joint is pushed.

    Returns
    -------
    ndarray, shape (3,)
        The joint; where the ends lie too far apart the chain is drawn straight.
    """
    span = end - start
    distance = float(np.linalg.norm(span))
    axis = span / distance
    reach = min(distance, (first_length + second_length) * 0.99995)
    along = (reach * reach + first_length**2 - second_length**2) / (2.0 * reach)
    height = math.sqrt(max(first_length**2 - along**2, 0.0))
    along *= distance / reach
    return start + axis * along + across(toward, axis) * height
