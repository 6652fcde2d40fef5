"""What two degrees do with one club, and the gate for the start-line drill."""

from __future__ import annotations

import math
from dataclasses import dataclass
from statistics import NormalDist

import numpy as np

from reporter.flight.aerodynamics import BOTH_LABORATORIES, AirModel
from reporter.flight.air import Air
from reporter.flight.ball import RULES_MINIMUM_DIAMETER_M
from reporter.flight.clubs import club_named
from reporter.flight.impossible import FloatArray, refuse_outside
from reporter.flight.shapes import Handedness, check_handedness
from reporter.flight.uncertainty import (
    Band,
    band_of,
    fly_in,
    launch_in,
    nominal_and_spread,
    sample_step_s,
)

CHANGES: tuple[tuple[str, float, float, float, float], ...] = (
    ("face", 1.0, 0.0, 0.0, 0.0),
    ("path", 0.0, 1.0, 0.0, 0.0),
    ("face and path", 1.0, 1.0, 0.0, 0.0),
    ("loft", 0.0, 0.0, 1.0, 0.0),
    ("attack", 0.0, 0.0, 0.0, 1.0),
)
"""Name, and the shares of the change that go to face, path, loft and attack."""

TABLE_WORLDS = 121
"""Possible worlds a band of the table is read from: its numbers are changes, told in few digits."""


@dataclass(frozen=True, slots=True)
class Effect:
    """What a change of delivery does; every band is 95 %.

    Attributes
    ----------
    changed : str
        "face", "path", "face and path", "loft" or "attack".
    by_deg : float
        How far it was moved [deg]: to the right, or up.
    start_deg, launch_deg : Band
        Change of start direction and launch angle [deg].
    curve_m, landing_offset_m, carry_m, apex_m : Band
        Change of bend, landing offset, carry and height [m], right positive.
    """

    changed: str
    by_deg: float
    start_deg: Band
    launch_deg: Band
    curve_m: Band
    landing_offset_m: Band
    carry_m: Band
    apex_m: Band


def what_degrees_do(
    club: str,
    head_speed_m_per_s: float | None = None,
    handedness: Handedness = "right",
    air: Air | None = None,
    *,
    by_deg: float = 2.0,
    model: AirModel = BOTH_LABORATORIES,
) -> tuple[Effect, ...]:
    """Tell what a change of two degrees does to a straight shot.

    Parameters
    ----------
    club : str
        Name of the club.
    head_speed_m_per_s : float or None
        Head speed [m/s]; None takes a typical one.
    handedness : {"right", "left"}
        The player's hand.
    air : Air or None
        Air and wind.
    by_deg : float
        Size of the change [deg].
    model : AirModel
        Drag and lift coefficients.

    Returns
    -------
    tuple of Effect
        One for each of `CHANGES`.

    Raises
    ------
    ImpossibleDelivery
        When the club is unknown or a number impossible.
    """
    check_handedness(handedness)
    refuse_outside({"by_deg": by_deg}, {"by_deg": (-10.0, 10.0, "deg")})
    chosen = club_named(club)
    speed = chosen.typical_speed_m_per_s() if head_speed_m_per_s is None else head_speed_m_per_s
    delivery = chosen.deliver(speed)
    worlds = nominal_and_spread(
        chosen,
        float(delivery.delivered_loft_deg),
        handedness,
        speed_stated=head_speed_m_per_s is not None,
        count=TABLE_WORLDS,
    )
    here = Air() if air is None else air
    steps = np.array([(0.0, 0.0, 0.0, 0.0), *(change[1:] for change in CHANGES)]) * by_deg
    count = worlds.count
    many = worlds.repeated(len(steps))
    moved = np.repeat(steps.T, count, axis=1)
    base_loft, base_attack = float(delivery.delivered_loft_deg), float(delivery.attack_deg)
    changed = chosen.deliver(
        speed, attack_deg=base_attack + moved[3], delivered_loft_deg=base_loft + moved[2]
    )
    launches = launch_in(many, changed, moved[0], moved[1])
    flight = fly_in(many, launches, here, model, time_step_s=sample_step_s(here))

    def change_of(name: str, number: int) -> Band:
        values: FloatArray = getattr(flight, name)
        part = slice((number + 1) * count, (number + 2) * count)
        return band_of(values[part] - values[:count])

    return tuple(
        Effect(
            changed=name,
            by_deg=by_deg,
            start_deg=change_of("start_deg", number),
            launch_deg=change_of("launch_deg", number),
            curve_m=change_of("curve_m", number),
            landing_offset_m=change_of("offline_m", number),
            carry_m=change_of("carry_m", number),
            apex_m=change_of("apex_m", number),
        )
        for number, (name, *_) in enumerate(CHANGES)
    )


def gate_width_m(start_sd_deg: float, distance_m: float, share_through: float = 2.0 / 3.0) -> float:
    """Give the width of a gate that a stated share of balls passes.

    Parameters
    ----------
    start_sd_deg : float
        Standard deviation of the player's start direction [deg].
    distance_m : float
        Distance of the gate from the ball [m].
    share_through : float
        Share of balls that should pass [-]; two of three is a fair test of a habit.

    Returns
    -------
    float
        Distance between the insides of the gate [m]: 2 d tan(z SD) plus a ball, with z = 0.967
        for two of three.

    Raises
    ------
    ImpossibleDelivery
        When a number is impossible.
    """
    refuse_outside(
        {"start_sd_deg": start_sd_deg, "distance_m": distance_m, "share_through": share_through},
        {
            "start_sd_deg": (0.05, 20.0, "deg"),
            "distance_m": (0.2, 20.0, "m"),
            "share_through": (0.1, 0.99, ""),
        },
    )
    score = NormalDist().inv_cdf(0.5 + share_through / 2.0)
    half = distance_m * math.tan(math.radians(score * start_sd_deg))
    return 2.0 * half + RULES_MINIMUM_DIAMETER_M
