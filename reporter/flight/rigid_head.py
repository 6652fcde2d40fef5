"""A rigid club head meeting a rigid ball: the cross-check of the measured shares."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from reporter.flight.ball import STANDARD_BALL, Ball
from reporter.flight.impact import RPM_PER_RADIAN_PER_SECOND, TANGENT_FACTOR, Launch
from reporter.flight.impossible import FloatArray, refuse_outside


@dataclass(frozen=True, slots=True)
class Head:
    """A club head as a rigid body with a rounded face.

    The head's own axes: first out of the face toward the target, second up the face, third
    along the face to the right, which is toward the toe of a right-hander's club.

    Parameters
    ----------
    mass_kg : float
        Mass [kg].
    centre_of_mass_m : (float, float, float)
        Position of the centre of mass from the middle of the face [m].
    inertia_kg_m2 : tuple of three rows
        Inertia about the centre of mass [kg m2].
    restitution : float
        Coefficient of restitution [-].
    bulge_m, roll_m : float
        Radii of the face's horizontal and vertical curve [m]; infinite for a flat face.
    """

    mass_kg: float
    centre_of_mass_m: tuple[float, float, float]
    inertia_kg_m2: tuple[tuple[float, float, float], ...]
    restitution: float
    bulge_m: float
    roll_m: float


MEASURED_DRIVER_HEAD = Head(
    mass_kg=0.204,
    centre_of_mass_m=(-0.0423, 0.0029, 0.0010),
    inertia_kg_m2=(
        (2843e-7, -733e-7, 530.2e-7),
        (-733e-7, 5679e-7, 0.5e-7),
        (530.2e-7, 0.5e-7, 4085e-7),
    ),
    restitution=0.83,
    bulge_m=0.305,
    roll_m=0.305,
)
"""One driver head, measured.

Source: Proceedings (MDPI) 2020, 49(1), 47, Table 1: 204 g; centre of mass 42.3 mm behind the
middle of the face, 2.9 mm up, 1.0 mm along it; inertia tensor in g cm2; restitution 0.83;
bulge 305 mm.  The roll is not stated and taken equal to the bulge; which way the third axis
points is inferred.
"""


def rigid_strike(
    head: Head,
    head_speed_m_per_s: float,
    *,
    loft_deg: float,
    attack_deg: float = 0.0,
    face_deg: float = 0.0,
    path_deg: float = 0.0,
    toe_mm: float = 0.0,
    up_mm: float = 0.0,
    ball: Ball = STANDARD_BALL,
) -> Launch:
    """Strike a ball with a rigid head, on or off the middle of the face.

    Parameters
    ----------
    head : Head
        The head.
    head_speed_m_per_s : float
        Speed of its centre of mass [m/s]; the head does not turn before contact.
    loft_deg, attack_deg, face_deg, path_deg : float
        Delivery of the middle of the face [deg], right positive.
    toe_mm, up_mm : float
        Contact point from the middle of the face [mm], toward the toe of a right-hander's club
        (to the right seen from behind the face) and up.
    ball : Ball
        The ball.

    Returns
    -------
    Launch
        With single-element arrays.

    Raises
    ------
    ImpossibleDelivery
        When the contact point is off the face (40 mm across, 25 mm up or down).

    Notes
    -----
    With u the velocity of the face against the ball at the contact point and n the normal,
    the impulse J on the ball solves

        [(1/m + 1/M) 1 - [b] I_b^-1 [b] - [h] I_h^-1 [h]] J = u + e (u.n) n

    where [b] and [h] are the cross-product matrices of the arms from ball centre and head
    centre to the contact point.  The right-hand side reverses the approach with restitution e
    and stops all sliding in the face: friction is taken to be enough, the ball leaves rolling.

    References
    ----------
    Penner 2001, American Journal of Physics 69, 563-568 (centred case; second-hand).
    Goldsmith 1960, Impact (rigid impact with rotation; from memory).
    """
    refuse_outside(
        {"toe_mm": toe_mm, "up_mm": up_mm},
        {"toe_mm": (-40.0, 40.0, "mm"), "up_mm": (-25.0, 25.0, "mm")},
    )
    to_ground = _face_axes(np.radians(face_deg), np.radians(loft_deg))
    toe, up = toe_mm / 1000.0, up_mm / 1000.0
    contact = np.array(
        [-(toe**2) / (2.0 * head.bulge_m) - up**2 / (2.0 * head.roll_m), up, toe]
    )
    normal = np.array([1.0, up / head.roll_m, toe / head.bulge_m])
    normal /= np.sqrt(normal @ normal)
    attack, path = np.radians(attack_deg), np.radians(path_deg)
    velocity = to_ground.T @ (
        head_speed_m_per_s
        * np.array(
            [
                np.cos(attack) * np.cos(path),
                -np.cos(attack) * np.sin(path),
                np.sin(attack),
            ]
        )
    )

    arm = _cross_matrix(contact - np.array(head.centre_of_mass_m))
    lever = _cross_matrix(-ball.radius_m * normal)
    softness = (
        (1.0 / ball.mass_kg + 1.0 / head.mass_kg) * np.eye(3)
        - lever @ lever / ball.inertia_kg_m2
        - arm @ np.linalg.inv(np.array(head.inertia_kg_m2)) @ arm
    )
    approach = velocity @ normal
    change = velocity + head.restitution * approach * normal
    impulse = np.linalg.solve(softness, change)
    ball_velocity = to_ground @ impulse / ball.mass_kg
    spin = to_ground @ (lever @ impulse) / ball.inertia_kg_m2
    return _as_launch(ball_velocity, spin)


def formula_face_share(
    delivered_loft_deg: float,
    attack_deg: float,
    head_mass_kg: float,
    restitution: float,
    grip_factor: float = 1.0,
    ball: Ball = STANDARD_BALL,
) -> float:
    """Give the face's share of the start direction by the centred rigid-body formula.

    Parameters
    ----------
    delivered_loft_deg, attack_deg : float
        Delivery [deg].
    head_mass_kg : float
        Mass of the head [kg].
    restitution : float
        Coefficient of restitution [-].
    grip_factor : float
        Tangential speed over that of a rolling ball [-]; measured balls suggest 1.0 to 1.3.
    ball : Ball
        The ball.

    Returns
    -------
    float
        Share [-].

    Notes
    -----
    With c = (1 + e)/(1 + m/M), k = grip/(3.5 + m/M), Phi the angle between velocity and normal,
    d the loft and a the attack: s = q cos d / (q cos d + k cos a), q = (c - k) cos Phi.
    """
    loft, attack = np.radians(delivered_loft_deg), np.radians(attack_deg)
    ratio = ball.mass_kg / head_mass_kg
    along = (1.0 + restitution) / (1.0 + ratio)
    across = grip_factor / (TANGENT_FACTOR + ratio)
    toward_face = (along - across) * np.cos(loft - attack) * np.cos(loft)
    return float(toward_face / (toward_face + across * np.cos(attack)))


def _face_axes(face: float, loft: float) -> FloatArray:
    """Give the head's axes as columns in ground axes (x to target, y left, z up)."""
    out = np.array([np.cos(loft) * np.cos(face), -np.cos(loft) * np.sin(face), np.sin(loft)])
    right = np.array([-np.sin(face), -np.cos(face), 0.0])
    up = np.cross(right, out)
    return np.stack([out, up, right], axis=1)


def _cross_matrix(vector: FloatArray) -> FloatArray:
    x, y, z = vector
    return np.array([[0.0, -z, y], [z, 0.0, -x], [-y, x, 0.0]])


def _as_launch(velocity: FloatArray, spin: FloatArray) -> Launch:
    speed = float(np.sqrt(velocity @ velocity))
    start = float(np.arctan2(-velocity[1], velocity[0]))
    rightward = -np.sin(start) * spin[0] - np.cos(start) * spin[1]
    return Launch(
        ball_speed_m_per_s=np.array([speed]),
        launch_deg=np.degrees(np.arcsin(velocity[2:] / speed)),
        spin_rpm=np.array([np.sqrt(spin @ spin) * RPM_PER_RADIAN_PER_SECOND]),
        start_deg=np.degrees(np.array([start])),
        axis_tilt_deg=np.degrees(np.array([np.arctan2(-spin[2], rightward)])),
    )
