"""A driver struck off the middle of its face: what its bulge and its turning do to the launch."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from reporter.flight.clubs import Club
from reporter.flight.impact import Delivery
from reporter.flight.impossible import ImpossibleDelivery, refuse_outside
from reporter.flight.rigid_head import MEASURED_DRIVER_HEAD, rigid_strike
from reporter.flight.shapes import Handedness
from reporter.flight.uncertainty import Worlds

SIDE_EFFECT_SD = 0.2
"""Relative standard deviation of what an off-centre strike does to start and axis [-].

A rigid head is said to be wrong there by a third to a half at worst (Caldwell and McPhee 2024,
abstract; second-hand), taken as 2 standard deviations.
"""


@dataclass(frozen=True, slots=True)
class OffCentre:
    """Where the ball met the face, from its middle.

    Parameters
    ----------
    toe_mm : float
        Toward the toe [mm]; negative toward the heel, for both hands.
    up_mm : float
        Up the face [mm]; negative is low.

    Raises
    ------
    ImpossibleDelivery
        Beyond 30 mm across or 15 mm up or down.
    """

    toe_mm: float = 0.0
    up_mm: float = 0.0

    def __post_init__(self) -> None:
        """Refuse what is off the face."""
        refuse_outside(
            {"toe_mm": self.toe_mm, "up_mm": self.up_mm},
            {"toe_mm": (-30.0, 30.0, "mm"), "up_mm": (-15.0, 15.0, "mm")},
        )


def struck_off_centre(
    worlds: Worlds, off_centre: OffCentre, delivery: Delivery, club: Club, handedness: Handedness
) -> Worlds:
    """Change the strike in every world to one off the middle of the face.

    Parameters
    ----------
    worlds : Worlds
        Worlds of a strike in the middle; what is not known of the strike stays as it is.
    off_centre : OffCentre
        Where the ball met the face.
    delivery : Delivery
        In single numbers; face and loft are those of the middle of the face.
    club : Club
        A driver: no other head's inertia is known to us.
    handedness : {"right", "left"}
        Which side the toe is on.

    Returns
    -------
    Worlds
        With the difference that `rigid_strike` finds between this strike and one in the middle, on
        one measured head (Proceedings 2020, 49(1), 47, Table 1): start, launch and axis shifted,
        ball speed and spin scaled.

    Raises
    ------
    ImpossibleDelivery
        For a club that is no driver.
    """
    if club.kind != "driver":
        complaint = (
            f'club "{club.name}" is not a driver; what a strike off the middle does is known for '
            "a driver's head alone"
        )
        raise ImpossibleDelivery([complaint])
    hand = 1.0 if handedness == "right" else -1.0

    def launched(toe_mm: float, up_mm: float) -> tuple[float, ...]:
        # A left-hander's head is the mirror image of the measured one.
        launch = rigid_strike(
            MEASURED_DRIVER_HEAD,
            float(delivery.head_speed_m_per_s),
            loft_deg=float(delivery.delivered_loft_deg),
            attack_deg=float(delivery.attack_deg),
            face_deg=hand * float(delivery.face_deg),
            path_deg=hand * float(delivery.path_deg),
            toe_mm=toe_mm,
            up_mm=up_mm,
        )
        return tuple(
            float(np.atleast_1d(value)[0])
            for value in (launch.start_deg, launch.launch_deg, launch.axis_tilt_deg,
                          launch.ball_speed_m_per_s, launch.spin_rpm)
        )  # fmt: skip

    middle = launched(0.0, 0.0)
    off = launched(off_centre.toe_mm, off_centre.up_mm)
    start, up, tilt = (one - other for one, other in zip(off[:3], middle[:3], strict=True))
    # The score of the observer's error is free here: the flight is not looked at.
    doubt = 1.0 + SIDE_EFFECT_SD * hand * worlds.side_score
    return replace(
        worlds,
        strike_start_deg=worlds.strike_start_deg + hand * start * doubt,
        strike_tilt_deg=worlds.strike_tilt_deg + hand * tilt * doubt,
        strike_launch_deg=worlds.strike_launch_deg + up,
        ball_speed_scale=worlds.ball_speed_scale * off[3] / middle[3],
        spin_scale=worlds.spin_scale * off[4] / middle[4],
    )
