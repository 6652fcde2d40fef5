"""The face and path that make a wanted flight."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from reporter.flight.aerodynamics import BOTH_LABORATORIES, AirModel
from reporter.flight.air import Air
from reporter.flight.corridor import gains_of
from reporter.flight.impact import Delivery
from reporter.flight.inverse import solve_delivery
from reporter.flight.observation import WantedFlight
from reporter.flight.trajectory import TIME_STEP_S
from reporter.flight.uncertainty import certain_world


@dataclass(frozen=True, slots=True)
class Recipe:
    """A face and path, both right of target positive, and the flight they make.

    Attributes
    ----------
    face_deg, path_deg : float
        Delivery [deg].
    start_deg, landing_offset_m, curve_m, carry_m : float
        The flight it makes.
    """

    face_deg: float
    path_deg: float
    start_deg: float
    landing_offset_m: float
    curve_m: float
    carry_m: float


def deliver_wanted(
    wanted: WantedFlight,
    delivery: Delivery,
    air: Air | None = None,
    model: AirModel = BOTH_LABORATORIES,
) -> Recipe:
    """Find the face and path that make a wanted flight, without bands.

    Parameters
    ----------
    wanted : WantedFlight
        The flight to be had.
    delivery : Delivery
        Speed, loft, attack and head, in single numbers; its face and path are not used.
    air : Air or None
        Air and wind; None is 20 C at sea level and calm.
    model : AirModel
        Drag and lift coefficients.

    Returns
    -------
    Recipe
        Flying it again gives the wanted start and side to a hundred-thousandth of a degree.

    Raises
    ------
    ImpossibleDelivery
        When no face and path within 30 degrees make the flight.
    """
    here = Air() if air is None else air
    world = certain_world(delivery)
    side, value = wanted.side
    gains = gains_of(delivery, world, here, model, time_step_s=TIME_STEP_S)
    solution = solve_delivery(
        np.array([wanted.start_deg], dtype=np.float64),
        (side,),
        np.array([value], dtype=np.float64),
        delivery,
        world,
        gains,
        here,
        model,
        time_step_s=TIME_STEP_S,
        tolerance=1e-6,
    )
    flight = solution.flight
    return Recipe(
        face_deg=float(solution.face_deg[0]),
        path_deg=float(solution.path_deg[0]),
        start_deg=float(flight.start_deg[0]),
        landing_offset_m=float(flight.offline_m[0]),
        curve_m=float(flight.curve_m[0]),
        carry_m=float(flight.carry_m[0]),
    )
