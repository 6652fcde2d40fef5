"""The slanted strip of face and path that keeps the ball inside a fairway."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from reporter.flight.aerodynamics import BOTH_LABORATORIES, AirModel
from reporter.flight.air import Air
from reporter.flight.impact import Delivery
from reporter.flight.impossible import FloatArray, refuse_outside
from reporter.flight.uncertainty import (
    Band,
    Worlds,
    band_of,
    fly_in,
    launch_in,
    sample_step_s,
)

STRIP_KNOTS = 17
"""Paths at which the edges of the strip are flown; straight lines join them."""

STRIP_REACH_DEG = 40.0
"""The outermost pieces of the edges are drawn straight on as far as this path [deg]."""

_NUDGE_DEG = 1.0
_EDGE_STEPS, _EDGE_STEPS_FAR = 2, 3
_FAR_DEG = 12.0  # straight lines are a good first guess up to this path
_LARGEST_FACE_DEG = 44.0


@dataclass(frozen=True, slots=True)
class Gains:
    """How far one degree moves the landing, in each world.

    Attributes
    ----------
    per_face_deg_m, per_path_deg_m : ndarray
        Change of the landing offset for one degree more to the right [m/deg].
    at_zero_m : ndarray
        Landing offset with face and path on the target [m]; not zero in a cross wind.
    carry_m : ndarray
        Carry of a flight at the target [m].
    """

    per_face_deg_m: FloatArray
    per_path_deg_m: FloatArray
    at_zero_m: FloatArray
    carry_m: FloatArray


@dataclass(frozen=True, slots=True)
class Corridor:
    """The strip of face and path that keeps the ball inside a fairway, a little curved.

    Attributes
    ----------
    fairway_width_m : float
        Full width of the fairway [m], its middle on the target line.
    metres_per_degree_face, metres_per_degree_path : Band
        How far one degree moves the landing near the target [m/deg].
    offset_m : float
        Landing with face and path on the target [m]; not zero in a cross wind.
    face_width_deg : Band
        Width of the strip along the face axis near the target [deg].
    window_deg : float
        The edges are those of the flight itself for paths from minus to plus this [deg];
        beyond they are drawn straight on.
    polygon : tuple of (path_deg, face_deg)
        Its outline: the left edge toward growing path, then the right edge back.
    """

    fairway_width_m: float
    metres_per_degree_face: Band
    metres_per_degree_path: Band
    offset_m: float
    face_width_deg: Band
    window_deg: float
    polygon: tuple[tuple[float, float], ...]

    def holds(self, face_deg: float, path_deg: float) -> bool:
        """Tell whether a face and path lie inside the strip."""
        half = len(self.polygon) // 2
        low, high = np.array(self.polygon[:half]).T, np.array(self.polygon[half:][::-1]).T
        least, most = (float(np.interp(path_deg, *edge)) for edge in (low, high))
        return least <= face_deg <= most


def gains_of(
    delivery: Delivery,
    worlds: Worlds,
    air: Air,
    model: AirModel = BOTH_LABORATORIES,
    *,
    time_step_s: float | None = None,
) -> Gains:
    """Find how far one degree of face or path moves the landing.

    Parameters
    ----------
    delivery : Delivery
        Speed, loft, attack and head.
    worlds : Worlds
        The worlds.
    air : Air
        Air and wind.
    model : AirModel
        Drag and lift coefficients.
    time_step_s : float or None
        Step of the flights [s]; None takes that of a band.

    Returns
    -------
    Gains
        Central differences over one degree to either side.
    """
    four = worlds.repeated(4)
    nudges = np.repeat(
        [[-_NUDGE_DEG, _NUDGE_DEG, 0.0, 0.0], [0.0, 0.0, -_NUDGE_DEG, _NUDGE_DEG]],
        worlds.count,
        axis=1,
    )
    launches = launch_in(four, delivery, nudges[0], nudges[1])
    step = sample_step_s(air) if time_step_s is None else time_step_s
    flight = fly_in(four, launches, air, model, time_step_s=step)
    face_left, face_right, path_left, path_right = np.split(flight.offline_m, 4)
    carries = np.split(flight.carry_m, 4)
    return Gains(
        (face_right - face_left) / (2.0 * _NUDGE_DEG),
        (path_right - path_left) / (2.0 * _NUDGE_DEG),
        0.5 * (face_left + face_right),
        0.5 * (carries[0] + carries[1]),
    )


def corridor_of(
    delivery: Delivery,
    worlds: Worlds,
    gains: Gains,
    fairway_width_m: float,
    window_deg: float,
    air: Air,
    model: AirModel = BOTH_LABORATORIES,
) -> Corridor:
    """Make the strip: the faces that just hold the fairway, at each of a row of paths.

    Parameters
    ----------
    delivery : Delivery
        Speed, loft, attack and head; its face and path are not used.
    worlds : Worlds
        The nominal world first; the edges are those of that one.
    gains : Gains
        Of the same worlds.
    fairway_width_m : float
        Full width of the fairway [m].
    window_deg : float
        Greatest path for which the edges are flown [deg].
    air : Air
        Air and wind.
    model : AirModel
        Drag and lift coefficients.

    Returns
    -------
    Corridor
        The strip.

    Raises
    ------
    ImpossibleDelivery
        When the width is not between 1 and 200 m.
    """
    refuse_outside(
        {"fairway_width_m": fairway_width_m}, {"fairway_width_m": (1.0, 200.0, "m")}
    )
    paths = np.linspace(-window_deg, window_deg, STRIP_KNOTS)
    edges = [
        _beyond_window(paths, faces)
        for faces in _edge_faces(delivery, worlds, gains, fairway_width_m, paths, air, model)
    ]
    return Corridor(
        fairway_width_m=fairway_width_m,
        metres_per_degree_face=band_of(gains.per_face_deg_m),
        metres_per_degree_path=band_of(gains.per_path_deg_m),
        offset_m=float(gains.at_zero_m[0]),
        face_width_deg=band_of(fairway_width_m / gains.per_face_deg_m),
        window_deg=window_deg,
        polygon=(*edges[0], *reversed(edges[1])),
    )


def _edge_faces(
    delivery: Delivery,
    worlds: Worlds,
    gains: Gains,
    fairway_width_m: float,
    paths: FloatArray,
    air: Air,
    model: AirModel,
) -> list[FloatArray]:
    """Find the faces [deg] that land on the left and on the right edge, by Newton steps."""
    a, b, c = (
        float(values[0])
        for values in (gains.per_face_deg_m, gains.per_path_deg_m, gains.at_zero_m)
    )
    wanted = np.repeat([-fairway_width_m / 2.0, fairway_width_m / 2.0], paths.size)
    path = np.tile(paths, 2)
    world = worlds.only(slice(0, 1)).repeated(path.size)
    face = np.clip((wanted - c - b * path) / a, -_LARGEST_FACE_DEG, _LARGEST_FACE_DEG)
    slope = np.full(path.size, a)
    older, older_landing = face, np.full(path.size, np.nan)
    for _ in range(_EDGE_STEPS if paths[-1] <= _FAR_DEG else _EDGE_STEPS_FAR):
        launches = launch_in(world, delivery, face, path)
        landing = fly_in(world, launches, air, model, time_step_s=sample_step_s(air)).offline_m
        run, rise = face - older, landing - older_landing
        told = (np.abs(run) > 1e-6) & (rise * run > 0.0)
        slope = np.where(told, rise / np.where(told, run, 1.0), slope)
        older, older_landing = face, landing
        face = face - np.clip((landing - wanted) / slope, -8.0, 8.0)
        face = np.clip(face, -_LARGEST_FACE_DEG, _LARGEST_FACE_DEG)
    return np.split(face, 2)


def _beyond_window(paths: FloatArray, faces: FloatArray) -> list[tuple[float, float]]:
    """Give the points of an edge, its outermost pieces drawn straight on."""
    ends = []
    for outer, inner, reach in ((0, 1, -STRIP_REACH_DEG), (-1, -2, STRIP_REACH_DEG)):
        slope = (faces[outer] - faces[inner]) / (paths[outer] - paths[inner])
        ends.append((reach, float(faces[outer] + slope * (reach - paths[outer]))))
    inside = [(float(path), float(face)) for path, face in zip(paths, faces, strict=True)]
    return [ends[0], *inside, ends[1]]
