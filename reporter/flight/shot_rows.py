"""What single rows of a shot table say before any pattern: club, landing, balls hardly hit."""

from __future__ import annotations

import math
from collections.abc import Sequence
from statistics import median
from typing import Literal

from reporter.flight.clubs import club_named
from reporter.flight.impossible import ImpossibleDelivery
from reporter.flight.launched import greatest_ball_speed_m_per_s

TOPPED_SHARE = 0.5
"""A shot that carries less than this share of the usual carry is hardly hit (our choice) [-]."""

FEWEST_FOR_USUAL_CARRY = 5
"""Below this many carries there is no usual one to hold a shot against."""

HardlyHit = Literal["low", "short"]


def usual_club_name(written: str) -> str:
    """Return the club's usual name, or what was written in small letters where it is none of ours.

    Parameters
    ----------
    written : str
        As a table or a coach writes it, such as "7i".

    Returns
    -------
    str
        Such as "7-iron"; two names that come out alike are one club.
    """
    try:
        return club_named(written).name
    except ImpossibleDelivery:
        return written.strip().casefold()


def landing_beside_m(
    start_deg: float | None, bend_m: float | None, carry_m: float | None
) -> float | None:
    """Return how far beside the target line a ball lands that bends off its start line.

    Parameters
    ----------
    start_deg : float or None
        Start direction [deg], right positive.
    bend_m : float or None
        Distance at the landing from the start line, across the target line [m].
    carry_m : float or None
        Straight distance from the ball to the landing [m].

    Returns
    -------
    float or None
        Offset [m], right positive; None where a part is not known, or the ball bends farther
        than it flies.

    Notes
    -----
    With t the tangent of the start, the landing at a distance d down the line is d t + bend, and
    d^2 + (d t + bend)^2 = carry^2.
    """
    if start_deg is None or bend_m is None or carry_m is None or abs(bend_m) >= carry_m:
        return None
    slope = math.tan(math.radians(start_deg))
    square = 1.0 + slope * slope
    root = (slope * bend_m) ** 2 - square * (bend_m * bend_m - carry_m * carry_m)
    down = (math.sqrt(root) - slope * bend_m) / square
    return down * slope + bend_m


def usual_carry_m(carries_m: Sequence[float | None]) -> float | None:
    """Return the usual carry [m]: the middle one, or None where too few are known."""
    known = [carry for carry in carries_m if carry is not None]
    return median(known) if len(known) >= FEWEST_FOR_USUAL_CARRY else None


def hardly_hit(
    carries_m: Sequence[float | None], launches_deg: Sequence[float | None]
) -> dict[int, HardlyHit]:
    """Return the shots that started level or downward, or fell far short of the usual carry.

    Parameters
    ----------
    carries_m, launches_deg : sequence of float or None
        Carry [m] and angle above the ground [deg] of each shot; None where not known.

    Returns
    -------
    dict of int to {"low", "short"}
        By place in the sequences.
    """
    usual = usual_carry_m(carries_m) or 0.0
    found: dict[int, HardlyHit] = {}
    for shot, (carry, launch) in enumerate(zip(carries_m, launches_deg, strict=True)):
        if launch is not None and launch <= 0.0:
            found[shot] = "low"
        elif carry is not None and carry < TOPPED_SHARE * usual:
            found[shot] = "short"
    return found


def faster_than_the_head_can(
    heads_m_per_s: Sequence[float | None],
    balls_m_per_s: Sequence[float | None],
    club: str | None,
) -> dict[int, str]:
    """Return the balls that are faster than their heads can make them, and why.

    Parameters
    ----------
    heads_m_per_s, balls_m_per_s : sequence of float or None
        Speed of head and ball of each shot [m/s]; None where not known.
    club : str or None
        Name of the club; one that is not known is taken as a driver, whose face springs most.

    Returns
    -------
    dict of int to str
        By place in the sequences: what was found and what is allowed.
    """
    try:
        named = club_named(club) if club is not None else None
    except ImpossibleDelivery:
        named = None
    found = {}
    for shot, (head, ball) in enumerate(zip(heads_m_per_s, balls_m_per_s, strict=True)):
        if head is None or ball is None:
            continue
        most = greatest_ball_speed_m_per_s(head, named)
        if ball > most:
            found[shot] = (
                f"{ball:.4g} m/s is more than the head can give; from {head:.4g} m/s at most "
                f"{most:.4g} m/s"
            )
    return found
