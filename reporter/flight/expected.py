"""The pattern to expect from a delivery that is not the same every time."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

import numpy as np

from reporter.flight.aerodynamics import BOTH_LABORATORIES, AirModel
from reporter.flight.air import Air
from reporter.flight.clubs import Club
from reporter.flight.impact import Delivery, Launch
from reporter.flight.impossible import FloatArray, refuse_outside
from reporter.flight.trajectory import fly
from reporter.flight.uncertainty import (
    TOE_START_DEG_PER_MM,
    TOE_TILT_DEG_PER_MM,
    certain_world,
    launch_in,
    sample_step_s,
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
        Number of shots, 30 to 100 000.
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
    flight = fly(_launches(club, delivery, [spread], shots, handedness), air, model)
    return ExpectedShots(flight.offline_m, flight.carry_m, flight.start_deg)


def shares_inside(
    club: Club,
    delivery: Delivery,
    spreads: Sequence[PlayerSpread],
    fairway_width_m: float,
    air: Air | None = None,
    *,
    shots: int = 400,
    handedness: str = "right",
    model: AirModel = BOTH_LABORATORIES,
) -> list[float]:
    """Give the share of simulated shots that lands inside a fairway, for each of some spreads.

    Parameters
    ----------
    club, delivery, air, shots, handedness, model
        As in `expected_shots`; the shots are those of one spread.
    spreads : sequence of PlayerSpread
        How much the deliveries differ; all are flown in one batch, in the steps of a band.
    fairway_width_m : float
        Full width of the fairway [m].

    Returns
    -------
    list of float
        One share for each spread [-].

    Raises
    ------
    ImpossibleDelivery
        When a number is impossible.
    """
    launches = _launches(club, delivery, spreads, shots, handedness)
    flight = fly(launches, air, model, time_step_s=sample_step_s(Air() if air is None else air))
    inside = np.abs(flight.offline_m) <= fairway_width_m / 2.0
    return [float(part.mean()) for part in np.split(inside, len(spreads))]


def _launches(
    club: Club,
    delivery: Delivery,
    spreads: Sequence[PlayerSpread],
    shots: int,
    handedness: str,
) -> Launch:
    """Launch as many shots for each spread, one spread after the other."""
    refuse_outside({"shots": shots}, {"shots": (30, 100_000, "")})
    face, other, speed, loft, toe = standard_scores(shots)[:5]
    side = 1.0 if handedness == "right" else -1.0

    def each(make: Callable[[PlayerSpread], FloatArray]) -> FloatArray:
        return np.concatenate([make(spread) for spread in spreads])

    toe_mm = each(lambda spread: side * spread.toe_mm * toe)
    worlds = replace(
        certain_world(delivery).repeated(shots * len(spreads)),
        head_speed_scale=np.exp(each(lambda spread: 0.01 * spread.head_speed_percent * speed)),
        loft_shift_deg=each(lambda spread: spread.loft_deg * loft),
        strike_start_deg=TOE_START_DEG_PER_MM[club.kind] * toe_mm,
        strike_tilt_deg=TOE_TILT_DEG_PER_MM[club.kind] * toe_mm,
    )
    return launch_in(
        worlds,
        delivery,
        float(delivery.face_deg) + each(lambda spread: spread.face_deg * face),
        float(delivery.path_deg)
        + each(
            lambda spread: spread.path_deg
            * (spread.correlation * face + np.sqrt(1.0 - spread.correlation**2) * other)
        ),
    )
