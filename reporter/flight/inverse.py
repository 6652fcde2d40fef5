"""Working back from a flight to the face and path that made it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from reporter.flight.aerodynamics import BOTH_LABORATORIES, AirModel
from reporter.flight.air import Air
from reporter.flight.corridor import Gains
from reporter.flight.impact import Delivery
from reporter.flight.impossible import Flags, FloatArray, ImpossibleDelivery
from reporter.flight.observation import SeenFlight, Side
from reporter.flight.trajectory import Flight
from reporter.flight.uncertainty import Worlds, fly_in, launch_in

GREATEST_FACE_TO_PATH_DEG = 35.0
"""Face to path beyond this is not looked for [deg]."""

GREATEST_DIRECTION_DEG = 30.0
"""A face or path beyond this is refused as an answer [deg]."""

STRONG_WIND_M_PER_S = 4.47
"""Above this wind (10 mph) a flight is not worked back."""

PATH_UNKNOWN_LOFT_DEG = 36.0
"""From this delivered loft on the path cannot be told from the flight [deg]."""

_MOST_STEPS = 7
_HAIR_DEG = 0.02
_LEAST_RISE = 1e-6  # between two flights a hair apart [m or deg]
_HAIRS_FAR = 4.0  # so far off the straight line through two flights is good to a millimetre
_ELSEWHERE = 30.0  # misfit allowed outside the first worlds, in tolerances
_HARDLY_BETTER = 0.9
_MOST_LEAN = 0.9  # square of the sine of the axis tilt the search begins with
_LAST_STEP_DEG = 1.0  # at most so far beyond the flight that was flown last
_MAY_MISS = 0.02  # a few worlds at the edge of what a ball can do are not worth more steps


@dataclass(frozen=True, slots=True)
class Solution:
    """Face and path in each world, the flights they make, and whether they fit what was asked.

    A world may allow no delivery that fits, when a large bend was seen badly.  Face and path are
    one step on from the flight that was flown last.
    """

    face_deg: FloatArray
    path_deg: FloatArray
    flight: Flight
    solved: Flags
    face_to_path_deg: FloatArray


def why_not(seen: SeenFlight, air: Air) -> str | None:
    """Tell why a flight cannot be worked back.

    Parameters
    ----------
    seen : SeenFlight
        What was seen.
    air : Air
        The air it was seen in.

    Returns
    -------
    str or None
        "not-clean", "no-start", "no-side", "strong-wind", or None when it can.
    """
    if seen.strike != "clean":
        return "not-clean"
    if seen.start_deg is None:
        return "no-start"
    if seen.side is None:
        return "no-side"
    if air.wind.speed_m_per_s > STRONG_WIND_M_PER_S:
        return "strong-wind"
    return None


def solve_delivery(
    start_deg: FloatArray,
    sides: Sequence[Side],
    side_value: FloatArray,
    delivery: Delivery,
    worlds: Worlds,
    gains: Gains,
    air: Air,
    model: AirModel = BOTH_LABORATORIES,
    *,
    time_step_s: float,
    tolerance: float = 1e-3,
) -> Solution:
    """Find the face and path of every world that make the stated flight.

    Parameters
    ----------
    start_deg : ndarray
        Start direction [deg], right positive.
    sides : sequence of {"bend_m", "landing_offset_m", "bend_deg"}
        Which number tells the side; with several, the worlds fall into as many equal groups
        one after the other, so that two flights are solved in one batch.
    side_value : ndarray
        Its value in each world [m or deg], right positive.
    delivery : Delivery
        Speed, loft, attack and head; its face and path are not used.
    worlds : Worlds
        One world for each start.
    gains : Gains
        How far a degree of face or path moves the landing, for the worlds of one group.
    air : Air
        Air and wind.
    model : AirModel
        Drag and lift coefficients.
    time_step_s : float
        Step of the flights [s].
    tolerance : float
        Misfit allowed in the first world of each group [m or deg]; thirty times as much elsewhere.
        What is left of it is taken off face and path along the slope last met.

    Returns
    -------
    Solution
        Face, path and flights.

    Raises
    ------
    ImpossibleDelivery
        When no face to path within 35 degrees makes the flight of a group's first world.

    Notes
    -----
    The start fixes one combination, s f + (1 - s) p; what is left is the face to path d, with
    f = start + (1 - s) d and p = start - s d.  The side is a smooth rising function of d, so
    the secant method needs only a few steps.  It begins where a bend in proportion to the sine
    of the axis tilt would fit.
    """
    aim = start_deg - worlds.strike_start_deg

    def flown(face_to_path: FloatArray, which: Flags) -> Flight:
        face, path = _directions(aim, worlds, face_to_path)
        some = worlds.where(which)
        launches = launch_in(some, delivery, face[which], path[which])
        return fly_in(some, launches, air, model, time_step_s=time_step_s)

    slope, at_zero = _straight_line(aim, sides, worlds, gains)
    lean = _lean_per_degree(delivery, worlds)
    straight = (side_value - at_zero) / slope
    newer = _within(straight / np.sqrt(1.0 - np.minimum((lean * straight) ** 2, _MOST_LEAN)))
    slope = slope * (1.0 + (lean * newer) ** 2) ** -1.5
    everyone = np.ones(worlds.count, dtype=np.bool_)
    flight = flown(newer, everyone)
    misfit = sides_of(flight, sides) - side_value
    firsts = np.arange(0, worlds.count, worlds.count // len(sides))
    allowed = np.full(worlds.count, _ELSEWHERE * tolerance)
    allowed[firsts] = tolerance
    lost = np.zeros(worlds.count, dtype=np.bool_)
    for _ in range(_MOST_STEPS):
        missing = (np.abs(misfit) > allowed) & ~lost
        if not missing[firsts].any() and missing.sum() <= _MAY_MISS * worlds.count:
            break
        older, older_misfit = newer, misfit
        # Only what still misses is flown again.
        newer = np.where(missing, _within(newer - np.clip(misfit / slope, -8.0, 8.0)), newer)
        flight = flight.patched(missing, flown(newer, missing))
        misfit = sides_of(flight, sides) - side_value
        # Secant: the slope of the next step is the one just met, where that says anything.
        run, rise = newer - older, misfit - older_misfit
        told = (np.abs(run) > 1e-9) & (rise * run > 0.0)
        slope = np.where(told, rise / np.where(told, run, 1.0), slope)
        # Where a step brings hardly anything, the ball cannot be bent so far.
        lost |= missing & (np.abs(misfit) > _HARDLY_BETTER * np.abs(older_misfit))
        lost[firsts] = False
    left_over = np.clip(misfit / slope, -_LAST_STEP_DEG, _LAST_STEP_DEG)
    better = _within(newer - left_over)
    face, path = _directions(aim, worlds, better)
    missed = np.abs(misfit[firsts]) > max(100.0 * tolerance, 0.05)
    _refuse_misfits(
        start_deg[firsts], sides, side_value[firsts], face[firsts], path[firsts], missed
    )
    fits = np.abs(misfit) <= 100.0 * tolerance
    return Solution(face, path, flight, fits, better)


def polish(
    guess_deg: FloatArray,
    start_deg: FloatArray,
    sides: Sequence[Side],
    side_value: FloatArray,
    delivery: Delivery,
    worlds: Worlds,
    air: Air,
    model: AirModel = BOTH_LABORATORIES,
    *,
    time_step_s: float,
) -> Solution:
    """Bring flights that all but fit to the stated one, in fine steps, with lines to draw.

    Parameters
    ----------
    guess_deg : ndarray
        Face to path of each flight [deg], right to about a twentieth of a degree.
    start_deg, side_value, delivery, worlds, air, model, time_step_s
        As in `solve_delivery`, one flight of one world for each of `sides`.
    sides : sequence of {"bend_m", "landing_offset_m", "bend_deg"}
        Which number tells the side of each flight.

    Returns
    -------
    Solution
        Face, path and flights with positions.

    Raises
    ------
    ImpossibleDelivery
        When no face to path within 35 degrees makes one of the flights.

    Notes
    -----
    Each is flown a fiftieth of a degree to either side of the guess, and the flight that fits is
    read off the straight line through the two.  Where it lies farther off than a few times that
    distance, both are flown again about it.
    """
    aim = start_deg - worlds.strike_start_deg
    both = worlds.repeated(2)
    middle = guess_deg
    for _ in range(_MOST_STEPS):
        tried = _within(np.concatenate([middle - _HAIR_DEG, middle + _HAIR_DEG]))
        face, path = _directions(np.tile(aim, 2), both, tried)
        launches = launch_in(both, delivery, face, path)
        flown = fly_in(both, launches, air, model, time_step_s=time_step_s, keep_positions=True)
        left = np.arange(both.count) < worlds.count
        here, there = flown.only(left), flown.only(~left)
        side = sides_of(here, sides)
        rise = sides_of(there, sides) - side
        # Where a ball can bend no further, both are alike and nothing lies between them.
        apart = np.abs(rise) > _LEAST_RISE
        way = np.where(
            apart, (side_value - side) / np.where(apart, rise, np.inf), 2.0 * _HAIRS_FAR
        )
        near = np.abs(way - 0.5) < _HAIRS_FAR
        middle = _within(middle + np.clip((2.0 * way - 1.0) * _HAIR_DEG, -8.0, 8.0))
        if near.all():
            break
    face, path = _directions(aim, worlds, middle)
    _refuse_misfits(start_deg, sides, side_value, face, path, ~near)
    fits = np.ones(worlds.count, dtype=np.bool_)
    return Solution(face, path, here.toward(there, way), fits, middle)


def _directions(
    aim_deg: FloatArray, worlds: Worlds, face_to_path_deg: FloatArray
) -> tuple[FloatArray, FloatArray]:
    """Give the face and path [deg] that start at the aim and lie that far apart."""
    share = worlds.face_share
    return aim_deg + (1.0 - share) * face_to_path_deg, aim_deg - share * face_to_path_deg


def _refuse_misfits(
    start_deg: FloatArray,
    sides: Sequence[Side],
    side_value: FloatArray,
    face_deg: FloatArray,
    path_deg: FloatArray,
    missed: Flags,
) -> None:
    """Refuse flights that no delivery makes, one number of each array for each of `sides`."""
    furthest = np.maximum(np.abs(face_deg), np.abs(path_deg))
    complaints = [
        f"no face and path within {GREATEST_DIRECTION_DEG:g} deg make a flight that starts "
        f"{start_deg[number]:+.1f} deg with {side} {side_value[number]:+.1f}"
        for number, side in enumerate(sides)
        if missed[number] or furthest[number] > GREATEST_DIRECTION_DEG
    ]
    if complaints:
        raise ImpossibleDelivery(complaints)


def _lean_per_degree(delivery: Delivery, worlds: Worlds) -> FloatArray:
    """Give the tangent of the axis tilt for each degree of face to path, where that is small."""
    loft = np.radians(delivery.delivered_loft_deg + worlds.loft_shift_deg)
    attack = np.radians(delivery.attack_deg)
    across = np.maximum(np.sin(loft - attack), 0.05)
    return np.asarray(np.radians(np.cos(loft) * np.cos(attack) / across))


def _straight_line(
    aim: FloatArray, sides: Sequence[Side], worlds: Worlds, gains: Gains
) -> tuple[FloatArray, FloatArray]:
    """Give the told number at no face to path, and its change with each degree of it."""
    groups = len(sides)
    a, b = np.tile(gains.per_face_deg_m, groups), np.tile(gains.per_path_deg_m, groups)
    blown, carry = np.tile(gains.at_zero_m, groups), np.tile(gains.carry_m, groups)
    slope = a * (1.0 - worlds.face_share) - b * worlds.face_share
    size = worlds.count // groups
    named = np.repeat(np.array(sides), size)
    at_zero = np.where(named == "landing_offset_m", blown + (a + b) * aim, blown)
    in_degrees = np.where(named == "bend_deg", np.degrees(1.0 / carry), 1.0)
    return slope * in_degrees, at_zero * in_degrees


def side_of(flight: Flight, side: Side) -> FloatArray:
    """Give the number of a flight that an observer told [m or deg], right positive."""
    if side == "bend_m":
        return flight.curve_m
    if side == "landing_offset_m":
        return flight.offline_m
    return flight.bend_deg


def sides_of(flight: Flight, sides: Sequence[Side]) -> FloatArray:
    """Give the told number of every flight, group by group."""
    if len(set(sides)) == 1:
        return side_of(flight, sides[0])
    size = flight.carry_m.size // len(sides)
    return np.concatenate(
        [
            side_of(flight, side)[number * size : (number + 1) * size]
            for number, side in enumerate(sides)
        ]
    )


def side_noise(seen: SeenFlight, side: Side, carry_m: float) -> float:
    """Give the standard deviation with which the side was seen, in the side's own unit."""
    across_m = seen.side_sd_m(carry_m)
    if side == "bend_deg":
        return float(np.degrees(np.arctan(across_m / carry_m)))
    return across_m


def _within(face_to_path: FloatArray) -> FloatArray:
    return np.clip(face_to_path, -GREATEST_FACE_TO_PATH_DEG, GREATEST_FACE_TO_PATH_DEG)
