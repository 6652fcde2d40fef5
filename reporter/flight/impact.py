"""From the delivered club to the launched ball."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from reporter.flight.ball import STANDARD_BALL, Ball
from reporter.flight.impossible import FloatArray, Numbers, refuse_outside

METRES_PER_SECOND_PER_MPH = 0.44704
RPM_PER_RADIAN_PER_SECOND = 30.0 / np.pi

SHARE_LOFTS_DEG = (13.0, 24.0, 42.0)
"""Delivered lofts at which the measured shares below are placed [deg]: driver, 7-iron, wedge.

The study names clubs, not lofts; these lofts are our choice (common practice, no source).
"""

FACE_SHARES = (0.76, 0.69, 0.61)
"""Share of the horizontal start direction that the face decides, at the lofts above [-].

Source: Wood, Henrikson and Broadie 2018, Proceedings (MDPI) 2(6), 249; second-hand for the
single clubs, range 0.61 to 0.83 read.
"""

FACE_SHARE_HALF_WIDTHS = (0.08, 0.03, 0.07)
"""Half width of the 95 % interval of each share [-], same source."""

LOFT_SHARES = (0.83, 0.81, 0.72)
"""Share of the launch angle that the delivered loft decides, the rest being attack [-]."""

LOFT_SHARE_HALF_WIDTHS = (0.08, 0.05, 0.06)
"""Half width of the 95 % interval of each loft share [-], same source."""

HEAD_MASSES_KG = (0.204, 0.270, 0.300)
"""Head masses at the same lofts [kg].

Driver: Proceedings 2020, 49(1), 47, Table 1; the others common practice, no source.
"""

TANGENT_FACTOR = 3.5
"""Mass factor of a solid sphere brought to rolling, 1 + 1/0.4 (Penner 2001)."""

_DELIVERY_LIMITS = {
    "head_speed_m_per_s": (5.0, 70.0, "m/s"),
    "face_deg": (-45.0, 45.0, "deg"),
    "path_deg": (-45.0, 45.0, "deg"),
    "attack_deg": (-20.0, 20.0, "deg"),
    "delivered_loft_deg": (1.0, 70.0, "deg"),
    "head_mass_kg": (0.1, 0.5, "kg"),
    "restitution": (0.3, 0.95, ""),
    "spin_factor": (0.3, 1.6, ""),
    "face_share": (0.3, 1.0, ""),
    "loft_share": (0.3, 1.0, ""),
}
_LAUNCH_LIMITS = {
    "ball_speed_m_per_s": (3.0, 105.0, "m/s"),
    "launch_deg": (-15.0, 80.0, "deg"),
    "start_deg": (-80.0, 80.0, "deg"),
    "spin_rpm": (0.0, 16000.0, "rpm"),
    "axis_tilt_deg": (-80.0, 80.0, "deg"),
}


@dataclass(frozen=True, slots=True)
class Delivery:
    """The club at the ball; every number may be a float or an array of one length.

    Parameters
    ----------
    head_speed_m_per_s : float or ndarray
        Speed of the head just before contact [m/s].
    face_deg : float or ndarray
        Direction of the face at the contact point [deg], right of target positive.
    path_deg : float or ndarray
        Direction the head travels [deg], right of target positive.
    attack_deg : float or ndarray
        Angle of the head's travel above the ground [deg]; a blow downward is negative.
    delivered_loft_deg : float or ndarray
        Angle of the face above the horizontal at contact [deg].
    head_mass_kg : float, ndarray or None
        Mass of the head [kg]; None takes it from the loft.
    restitution : float, ndarray or None
        Coefficient of restitution [-]; None takes the line for a solid face.
    spin_factor : float or ndarray
        Spin over that of a ball that leaves the face rolling [-].
    face_share, loft_share : float, ndarray or None
        Shares of start direction and launch angle [-]; None takes the measured ones.

    Raises
    ------
    ImpossibleDelivery
        When a value is not finite or outside what a golf club can do.
    """

    head_speed_m_per_s: Numbers
    face_deg: Numbers = 0.0
    path_deg: Numbers = 0.0
    attack_deg: Numbers = 0.0
    delivered_loft_deg: Numbers = 13.0
    head_mass_kg: Numbers | None = None
    restitution: Numbers | None = None
    spin_factor: Numbers = 1.0
    face_share: Numbers | None = None
    loft_share: Numbers | None = None

    def __post_init__(self) -> None:
        """Refuse what no club can do, all faults at once."""
        refuse_outside({name: getattr(self, name) for name in _DELIVERY_LIMITS}, _DELIVERY_LIMITS)


@dataclass(frozen=True, slots=True)
class Launch:
    """The ball just after contact; every number may be a float or an array of one length.

    Parameters
    ----------
    ball_speed_m_per_s : float or ndarray
        Speed [m/s].
    launch_deg : float or ndarray
        Angle above the ground [deg].
    spin_rpm : float or ndarray
        Total spin [revolutions a minute].
    start_deg : float or ndarray
        Direction [deg], right of target positive.
    axis_tilt_deg : float or ndarray
        Lean of the spin axis from the horizontal, seen along the start line [deg]; positive
        bends the flight to the right.

    Raises
    ------
    ImpossibleDelivery
        When a value is not finite or outside what a golf ball can do.
    """

    ball_speed_m_per_s: Numbers
    launch_deg: Numbers
    spin_rpm: Numbers
    start_deg: Numbers = 0.0
    axis_tilt_deg: Numbers = 0.0

    def __post_init__(self) -> None:
        """Refuse what no ball can do, all faults at once."""
        refuse_outside({name: getattr(self, name) for name in _LAUNCH_LIMITS}, _LAUNCH_LIMITS)

    def columns(self) -> tuple[FloatArray, FloatArray, FloatArray, FloatArray, FloatArray]:
        """Give start, elevation [rad], speed [m/s], spin [rad/s] and tilt [rad], equally long."""
        columns = np.broadcast_arrays(
            np.radians(np.atleast_1d(self.start_deg)),
            np.radians(np.atleast_1d(self.launch_deg)),
            np.atleast_1d(np.asarray(self.ball_speed_m_per_s, dtype=np.float64)),
            np.atleast_1d(self.spin_rpm) / RPM_PER_RADIAN_PER_SECOND,
            np.radians(np.atleast_1d(self.axis_tilt_deg)),
        )
        start, elevation, speed, spin, tilt = columns
        return start, elevation, speed, spin, tilt


def by_loft(delivered_loft_deg: Numbers, values: tuple[float, ...]) -> FloatArray:
    """Interpolate a measured value by delivered loft; flat beyond driver and wedge."""
    return np.asarray(np.interp(delivered_loft_deg, SHARE_LOFTS_DEG, values))


def solid_face_restitution(normal_speed_m_per_s: Numbers) -> FloatArray:
    """Give the restitution of a ball on a solid face.

    Parameters
    ----------
    normal_speed_m_per_s : float or ndarray
        Speed of approach square to the face [m/s].

    Returns
    -------
    ndarray
        Coefficient of restitution [-]: a line through 0.85 at 20 m/s and 0.78 at 45 m/s.

    References
    ----------
    Chou 1994, quoted by Penner 2003, Reports on Progress in Physics 66, p. 144.  Second-hand.
    """
    slope = (0.78 - 0.85) / (45.0 - 20.0)
    speed = np.asarray(normal_speed_m_per_s, dtype=np.float64)
    return np.asarray(0.85 + slope * (speed - 20.0))


def strike(delivery: Delivery, ball: Ball = STANDARD_BALL) -> Launch:
    """Launch a ball from a centred strike.

    Parameters
    ----------
    delivery : Delivery
        The club at the ball.
    ball : Ball
        The ball.

    Returns
    -------
    Launch
        With arrays as long as the delivery's.

    Notes
    -----
    Directions are shared out between face and path, and between loft and attack, in the
    measured shares.  Speed and spin follow a rigid head on the oblique angle Phi between the
    head's velocity and the face normal: along the normal (1 + e) v cos(Phi) / (1 + m/M), in the
    face v sin(Phi) / (3.5 + m/M), spin 2.5 v sin(Phi) / ((3.5 + m/M) r) times the spin factor.
    The spin axis is square to the plane that holds velocity and normal.

    References
    ----------
    Wood, Henrikson and Broadie 2018, Proceedings (MDPI) 2(6), 249 (shares).
    Penner 2001, American Journal of Physics 69, 563-568 (rigid head; second-hand).
    Jorgensen 1999, The Physics of Golf, 2nd edition (the plane; from memory).
    """
    loft = np.radians(np.atleast_1d(delivery.delivered_loft_deg))
    attack = np.radians(np.atleast_1d(delivery.attack_deg))
    face = np.radians(np.atleast_1d(delivery.face_deg))
    path = np.radians(np.atleast_1d(delivery.path_deg))
    speed = np.atleast_1d(np.asarray(delivery.head_speed_m_per_s, dtype=np.float64))

    velocity = direction(path, attack)
    normal = direction(face, loft)
    axis = _cross(velocity, normal)
    sin_oblique = np.sqrt(axis[0] ** 2 + axis[1] ** 2 + axis[2] ** 2)
    cos_oblique = velocity[0] * normal[0] + velocity[1] * normal[1] + velocity[2] * normal[2]

    loft_deg = np.degrees(loft)
    head_mass = _given_or(delivery.head_mass_kg, by_loft(loft_deg, HEAD_MASSES_KG))
    restitution = _given_or(
        delivery.restitution, solid_face_restitution(speed * np.abs(cos_oblique))
    )
    mass_ratio = ball.mass_kg / head_mass
    along = (1.0 + restitution) * speed * cos_oblique / (1.0 + mass_ratio)
    across = speed * sin_oblique / (TANGENT_FACTOR + mass_ratio)
    spin = delivery.spin_factor * across / (ball.inertia_factor * ball.radius_m)

    face_share = _given_or(delivery.face_share, by_loft(loft_deg, FACE_SHARES))
    loft_share = _given_or(delivery.loft_share, by_loft(loft_deg, LOFT_SHARES))
    start = face_share * face + (1.0 - face_share) * path
    launch = loft_share * loft + (1.0 - loft_share) * attack
    rightward = -np.sin(start) * axis[0] - np.cos(start) * axis[1]
    tilt = np.arctan2(-axis[2], rightward)
    return Launch(
        ball_speed_m_per_s=np.hypot(along, across),
        launch_deg=np.degrees(launch),
        spin_rpm=spin * RPM_PER_RADIAN_PER_SECOND,
        start_deg=np.degrees(start),
        axis_tilt_deg=np.degrees(tilt),
    )


def direction(azimuth: FloatArray, elevation: FloatArray) -> tuple[FloatArray, ...]:
    """Give the unit vector (x, y left, z up) of an azimuth, right positive, and elevation [rad]."""
    level = np.cos(elevation)
    return (
        np.asarray(level * np.cos(azimuth)),
        np.asarray(-level * np.sin(azimuth)),
        np.sin(elevation) + 0.0 * azimuth,
    )


def _cross(a: tuple[FloatArray, ...], b: tuple[FloatArray, ...]) -> tuple[FloatArray, ...]:
    return (
        np.asarray(a[1] * b[2] - a[2] * b[1]),
        np.asarray(a[2] * b[0] - a[0] * b[2]),
        np.asarray(a[0] * b[1] - a[1] * b[0]),
    )


def _given_or(value: Numbers | None, default: FloatArray) -> FloatArray:
    return default if value is None else np.asarray(value, dtype=np.float64)
