"""The slanted strip of face and path that keeps the ball inside a fairway."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from reporter.flight.aerodynamics import BOTH_LABORATORIES, AirModel
from reporter.flight.air import Air
from reporter.flight.impact import Delivery
from reporter.flight.impossible import FloatArray, refuse_outside
from reporter.flight.uncertainty import (
    SAMPLE_TIME_STEP_S,
    Band,
    Worlds,
    band_of,
    fly_in,
    launch_in,
)

_NUDGE_DEG = 1.0


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

    def only(self, chosen: slice) -> Gains:
        """Keep the gains of some worlds."""
        return Gains(*(getattr(self, name)[chosen] for name in self.__slots__))


@dataclass(frozen=True, slots=True)
class Corridor:
    """The strip |a face + b path + c| <= half width in degrees.

    Attributes
    ----------
    fairway_width_m : float
        Full width of the fairway [m], its middle on the target line.
    metres_per_degree_face, metres_per_degree_path : Band
        The a and b of the strip [m/deg].
    offset_m : float
        The c of the strip [m].
    face_width_deg : Band
        Width of the strip along the face axis [deg].
    window_deg : float
        The strip is drawn for paths from minus to plus this [deg].
    polygon : tuple of (path_deg, face_deg)
        Its corners, in order.
    """

    fairway_width_m: float
    metres_per_degree_face: Band
    metres_per_degree_path: Band
    offset_m: float
    face_width_deg: Band
    window_deg: float
    polygon: tuple[tuple[float, float], ...]

    def holds(self, face_deg: float, path_deg: float) -> bool:
        """Tell whether a face and path keep the ball inside."""
        landing = (
            self.metres_per_degree_face.nominal * face_deg
            + self.metres_per_degree_path.nominal * path_deg
            + self.offset_m
        )
        return abs(landing) <= self.fairway_width_m / 2.0


def gains_of(
    delivery: Delivery,
    worlds: Worlds,
    air: Air,
    model: AirModel = BOTH_LABORATORIES,
    *,
    time_step_s: float = SAMPLE_TIME_STEP_S,
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
    time_step_s : float
        Step of the flights [s].

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
    flight = fly_in(four, launches, air, model, time_step_s=time_step_s)
    face_left, face_right, path_left, path_right = np.split(flight.offline_m, 4)
    carries = np.split(flight.carry_m, 4)
    return Gains(
        (face_right - face_left) / (2.0 * _NUDGE_DEG),
        (path_right - path_left) / (2.0 * _NUDGE_DEG),
        0.5 * (face_left + face_right),
        0.5 * (carries[0] + carries[1]),
    )


def corridor_of(gains: Gains, fairway_width_m: float, window_deg: float) -> Corridor:
    """Make the strip from the gains.

    Parameters
    ----------
    gains : Gains
        The nominal world first.
    fairway_width_m : float
        Full width of the fairway [m].
    window_deg : float
        Greatest path to draw [deg].

    Returns
    -------
    Corridor
        The strip; straight edges are within 0.1 degree of the full model up to a path of 3
        degrees.

    Raises
    ------
    ImpossibleDelivery
        When the width is not between 1 and 200 m.
    """
    refuse_outside(
        {"fairway_width_m": fairway_width_m}, {"fairway_width_m": (1.0, 200.0, "m")}
    )
    a, b, c = (
        float(gains.per_face_deg_m[0]),
        float(gains.per_path_deg_m[0]),
        float(gains.at_zero_m[0]),
    )
    half = fairway_width_m / 2.0

    def edge(path: float, side: float) -> tuple[float, float]:
        return path, (side * half - c - b * path) / a

    return Corridor(
        fairway_width_m=fairway_width_m,
        metres_per_degree_face=band_of(gains.per_face_deg_m),
        metres_per_degree_path=band_of(gains.per_path_deg_m),
        offset_m=c,
        face_width_deg=band_of(fairway_width_m / gains.per_face_deg_m),
        window_deg=window_deg,
        polygon=(
            edge(-window_deg, -1.0),
            edge(window_deg, -1.0),
            edge(window_deg, 1.0),
            edge(-window_deg, 1.0),
        ),
    )
