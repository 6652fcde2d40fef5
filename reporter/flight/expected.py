"""The pattern to expect from a delivery that is not the same every time."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from reporter.flight.aerodynamics import BOTH_LABORATORIES, AirModel
from reporter.flight.air import Air
from reporter.flight.clubs import Club
from reporter.flight.impact import Delivery
from reporter.flight.impossible import FloatArray, refuse_outside
from reporter.flight.trajectory import fly
from reporter.flight.uncertainty import (
    TOE_START_DEG_PER_MM,
    TOE_TILT_DEG_PER_MM,
    certain_world,
    launch_in,
    standard_scores,
)


@dataclass(frozen=True, slots=True)
class PlayerSpread:
    """How much one player's deliveries differ from shot to shot; no source, typed by the coach.

    Parameters
    ----------
    face_deg, path_deg : float
        Standard deviations [deg].
    correlation : float
        Correlation of face and path, -1 to 1 [-].
    head_speed_percent : float
        Standard deviation of head speed [%].
    loft_deg : float
        Standard deviation of delivered loft [deg].
    toe_mm : float
        Standard deviation of the strike across the face [mm].
    """

    face_deg: float
    path_deg: float
    correlation: float = 0.0
    head_speed_percent: float = 1.5
    loft_deg: float = 1.0
    toe_mm: float = 5.0

    def __post_init__(self) -> None:
        """Refuse spreads no player has."""
        limits = {
            "face_deg": (0.0, 15.0, "deg"),
            "path_deg": (0.0, 15.0, "deg"),
            "correlation": (-1.0, 1.0, ""),
            "head_speed_percent": (0.0, 15.0, "%"),
            "loft_deg": (0.0, 8.0, "deg"),
            "toe_mm": (0.0, 25.0, "mm"),
        }
        refuse_outside({name: getattr(self, name) for name in limits}, limits)


@dataclass(frozen=True, slots=True)
class ExpectedShots:
    """Landing places of simulated shots.

    Attributes
    ----------
    landing_offset_m, carry_m, start_deg : ndarray
        One number for each shot; right of target positive.
    """

    landing_offset_m: FloatArray
    carry_m: FloatArray
    start_deg: FloatArray


def expected_shots(
    club: Club,
    delivery: Delivery,
    spread: PlayerSpread,
    air: Air | None = None,
    *,
    shots: int = 2000,
    handedness: str = "right",
    model: AirModel = BOTH_LABORATORIES,
) -> ExpectedShots:
    """Simulate a player's shots around one delivery.

    Parameters
    ----------
    club : Club
        The club; its kind decides what an off-centre strike does.
    delivery : Delivery
        The delivery aimed at, in single numbers.
    spread : PlayerSpread
        How much the deliveries differ.
    air : Air or None
        Air and wind.
    shots : int
        Number of shots, 16 to 100 000.
    handedness : {"right", "left"}
        Turns the toe side over.
    model : AirModel
        Drag and lift coefficients.

    Returns
    -------
    ExpectedShots
        Evenly drawn, the same ones at every call; hand the columns to `pattern_of`.

    Raises
    ------
    ImpossibleDelivery
        When a number is impossible.
    """
    refuse_outside({"shots": shots}, {"shots": (16, 100_000, "")})
    face, other, speed, loft, toe = standard_scores(shots)[:5]
    path = spread.correlation * face + np.sqrt(1.0 - spread.correlation**2) * other
    toe_mm = spread.toe_mm * toe * (1.0 if handedness == "right" else -1.0)
    one = certain_world(delivery).repeated(shots)
    worlds = replace(
        one,
        head_speed_scale=np.exp(0.01 * spread.head_speed_percent * speed),
        loft_shift_deg=spread.loft_deg * loft,
        strike_start_deg=TOE_START_DEG_PER_MM[club.kind] * toe_mm,
        strike_tilt_deg=TOE_TILT_DEG_PER_MM[club.kind] * toe_mm,
    )
    launches = launch_in(
        worlds,
        delivery,
        float(delivery.face_deg) + spread.face_deg * face,
        float(delivery.path_deg) + spread.path_deg * path,
    )
    flight = fly(launches, air, model)
    return ExpectedShots(flight.offline_m, flight.carry_m, flight.start_deg)
