"""Launches flown through the air to the ground, many at a time."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from reporter.flight.aerodynamics import BOTH_LABORATORIES, AirModel
from reporter.flight.air import Air
from reporter.flight.ball import STANDARD_BALL, Ball
from reporter.flight.equations import GRAVITY_M_PER_S2, Motion
from reporter.flight.impact import Launch
from reporter.flight.impossible import Counts, Flags, FloatArray, ImpossibleDelivery, Numbers

TIME_STEP_S = 0.125
"""Step at which a landing is good to a fiftieth of a millimetre in still air."""

BLOCK_SHOTS = 5000
"""Shots flown together; the working arrays of this many stay in a core's cache."""

SPIN_DECAY_FACTOR = 2.0e-5
"""Spin decay: dw/dt = -2e-5 w v / r (Smits and Smith 1994, Science and Golf II, 340-347)."""

LONGEST_FLIGHT_S = 60.0

__all__ = [
    "BLOCK_SHOTS",
    "GRAVITY_M_PER_S2",
    "SPIN_DECAY_FACTOR",
    "TIME_STEP_S",
    "Flight",
    "fly",
]


@dataclass(frozen=True, slots=True)
class Flight:
    """Where a batch of launches went; every array has one number for each shot.

    Attributes
    ----------
    start_deg : ndarray
        Direction of the launch from the target line [deg], right positive.
    launch_deg : ndarray
        Launch angle above the ground [deg].
    carry_m : ndarray
        Straight distance over the ground from the ball to the landing [m].
    downrange_m : ndarray
        Distance along the target line to the landing [m].
    offline_m : ndarray
        Distance of the landing from the target line [m], right positive.
    curve_m : ndarray
        Offline distance less that of the start line at the same downrange distance [m]; right
        positive.
    bend_deg : ndarray
        Direction of the landing less the start direction [deg], right positive.
    apex_m, apex_downrange_m : ndarray
        Greatest height and where it was along the target line [m].
    descent_deg : ndarray
        Angle below the horizontal at which the ball lands [deg].
    landing_speed_m_per_s, landing_spin_rpm, flight_time_s : ndarray
        At the landing.
    spin_ratio_low, spin_ratio_high, reynolds_low, reynolds_high : ndarray
        Extremes met on the way, to hold against a model's range.
    times_s : ndarray or None
        Times of the stored positions, shape (steps,).
    positions_m : ndarray or None
        Downrange, right of the target line and height [m], shape (steps, shots, 3); a landed
        ball stays where it landed.
    model_name : str
        Name of the coefficient model.
    """

    start_deg: FloatArray
    launch_deg: FloatArray
    carry_m: FloatArray
    downrange_m: FloatArray
    offline_m: FloatArray
    curve_m: FloatArray
    bend_deg: FloatArray
    apex_m: FloatArray
    apex_downrange_m: FloatArray
    descent_deg: FloatArray
    landing_speed_m_per_s: FloatArray
    landing_spin_rpm: FloatArray
    flight_time_s: FloatArray
    spin_ratio_low: FloatArray
    spin_ratio_high: FloatArray
    reynolds_low: FloatArray
    reynolds_high: FloatArray
    times_s: FloatArray | None
    positions_m: FloatArray | None
    model_name: str

    def only(self, chosen: Flags) -> Flight:
        """Keep the shots a mask marks."""
        kept = {
            name: getattr(self, name)[chosen]
            for name in self.__slots__
            if name not in ("times_s", "positions_m", "model_name")
        }
        if self.positions_m is not None:
            kept["positions_m"] = self.positions_m[:, chosen]
        return replace(self, **kept)

    def patched(self, chosen: Flags, newer: Flight) -> Flight:
        """Put newer flights, without positions, in the place of the shots a mask marks."""
        joined = {}
        for name in self.__slots__:
            if name not in ("times_s", "positions_m", "model_name"):
                values = getattr(self, name).copy()
                values[chosen] = getattr(newer, name)
                joined[name] = values
        return replace(self, **joined)

    def toward(self, other: Flight, share: FloatArray) -> Flight:
        """Give the flights a share of the way from these to others a hair away, shot by shot.

        Both must come of one batch, so that positions stand at the same times.
        """
        joined = {
            name: getattr(self, name) + share * (getattr(other, name) - getattr(self, name))
            for name in self.__slots__
            if name not in ("times_s", "positions_m", "model_name")
        }
        if self.positions_m is not None and other.positions_m is not None:
            way = share[:, None] * (other.positions_m - self.positions_m)
            joined["positions_m"] = self.positions_m + way
        return replace(self, **joined)


def fly(
    launches: Launch,
    air: Air | None = None,
    model: AirModel = BOTH_LABORATORIES,
    *,
    ball: Ball = STANDARD_BALL,
    keep_positions: bool = False,
    time_step_s: float = TIME_STEP_S,
    spin_decay_factor: float = SPIN_DECAY_FACTOR,
    drag_scale: Numbers = 1.0,
    lift_scale: Numbers = 1.0,
    low_spin_drag: Numbers = 0.0,
    low_spin_lift: Numbers = 0.0,
    measured_drag: Numbers = 0.0,
    measured_lift: Numbers = 0.0,
    density_scale: Numbers = 1.0,
    gust_tail_m_per_s: Numbers = 0.0,
    gust_to_right_m_per_s: Numbers = 0.0,
) -> Flight:
    """Fly launches through the air until each ball lands on level ground.

    Parameters
    ----------
    launches : Launch
        One launch or many; its numbers may be floats or arrays of one length.
    air : Air, optional
        Air and wind; 20 C at sea level and calm unless told otherwise.
    model : AirModel
        Drag and lift coefficients.
    ball : Ball
        The ball.
    keep_positions : bool
        Keep the position at every step, for drawing.
    time_step_s : float
        Step of the integration [s].
    spin_decay_factor : float
        Factor of the spin-decay law [-]; zero keeps the spin.
    drag_scale, lift_scale, density_scale : float or ndarray
        Factors on the coefficients and on the air density [-], one for all or one a shot.
    low_spin_drag, low_spin_lift : float or ndarray
        Share by which the coefficients of a ball differ where spin is low [-]; see `Motion`.
    measured_drag, measured_lift : float or ndarray
        The same up to about the spin ratio that was measured of more than one ball [-].
    gust_tail_m_per_s, gust_to_right_m_per_s : float or ndarray
        Wind added to that of `air` for each shot [m/s], tail and rightward positive.

    Returns
    -------
    Flight
        Arrays with one number for each shot.

    Raises
    ------
    ImpossibleDelivery
        When a shot stays in the air for more than a minute.

    Notes
    -----
    Classical fourth-order Runge-Kutta in fixed steps; the landing is the root of the cubic
    Hermite polynomial through the last two heights and climb rates.  Inside, x runs to the
    target, y to the left, z up; the results turn y over.
    """
    air = Air() if air is None else air
    start, elevation, speed, spin, tilt = launches.columns()
    count = start.size

    def spread(value: Numbers) -> FloatArray:
        return np.broadcast_to(np.asarray(value, dtype=np.float64), (count,))

    per_shot = [
        spread(value)
        for value in (drag_scale, lift_scale, low_spin_drag, low_spin_lift, measured_drag,
                      measured_lift, density_scale, gust_tail_m_per_s, gust_to_right_m_per_s)
    ]  # fmt: skip
    parts = []
    for first in range(0, count, BLOCK_SHOTS):
        block = slice(first, first + BLOCK_SHOTS)
        state, axis = _initial_state(
            start[block], elevation[block], speed[block], spin[block], tilt[block]
        )
        own = (values[block] for values in per_shot)
        motion = Motion(air, model, ball, spin_decay_factor, axis, *own)
        parts.append(_fly_block(motion, state, time_step_s, keep_positions))
    return _gather(parts, start, elevation, model.name, time_step_s)


def _initial_state(
    start: FloatArray,
    elevation: FloatArray,
    speed: FloatArray,
    spin: FloatArray,
    tilt: FloatArray,
) -> tuple[FloatArray, FloatArray]:
    """Turn launch angles [rad], speed [m/s] and spin [rad/s] into state and unit spin axis."""
    cos_start, sin_start = np.cos(start), np.sin(start)
    state = np.zeros((7, start.size))
    state[3] = speed * np.cos(elevation) * cos_start
    state[4] = -speed * np.cos(elevation) * sin_start
    state[5] = speed * np.sin(elevation)
    state[6] = spin
    # The axis is square to the velocity and, seen along the start line, leans by the tilt:
    # right - tan(tilt) (up - tan(elevation) forward), brought to unit length.
    lean = np.tan(tilt)
    forward = lean * np.tan(elevation)
    axis = np.stack(
        [
            forward * cos_start - sin_start,
            -forward * sin_start - cos_start,
            -lean,
        ]
    )
    axis /= np.sqrt(1.0 + lean**2 + forward**2)
    return state, axis


@dataclass(slots=True)
class _Block:
    """Results of one block, filled in as its shots land."""

    landing: FloatArray  # rows: x, y, time, vx, vy, vz, spin
    apex: FloatArray  # rows: height, x
    extremes: FloatArray  # rows: spin ratio low, high, Reynolds low, high
    positions: FloatArray | None  # shape (steps, 3, shots)


def _fly_block(
    motion: Motion, state: FloatArray, step: float, keep_positions: bool
) -> _Block:
    """Step a block of shots until the last one has landed."""
    count = state.shape[1]
    apex = np.zeros((2, count))
    extremes = np.zeros((4, count))
    met = np.array([[np.inf], [0.0], [np.inf], [0.0]]) * np.ones((1, count))
    low, high = np.zeros((7, count)), np.zeros((7, count))
    last_step = np.zeros(count, dtype=np.intp)
    flying: Counts = np.arange(count)
    shown = state[:3].copy()
    stored = [shown.copy()]
    steps = 0
    while flying.size:
        if steps * step > LONGEST_FLIGHT_S:
            complaint = f"a shot is still in the air after {LONGEST_FLIGHT_S:g} s"
            raise ImpossibleDelivery([complaint])
        after = motion.runge_kutta_step(state, step)
        np.minimum(met[0], motion.spin_ratio_at_start, out=met[0])
        np.maximum(met[1], motion.spin_ratio_at_start, out=met[1])
        np.minimum(met[2], motion.air_speed_at_start, out=met[2])
        np.maximum(met[3], motion.air_speed_at_start, out=met[3])
        _note_apex(apex, state, after, step, flying)
        if keep_positions:
            shown[:, flying] = after[:3]
            stored.append(shown.copy())
        landed = after[2] <= 0.0
        if landed.any():
            which = flying[landed]
            low[:, which] = state[:, landed]
            high[:, which] = after[:, landed]
            extremes[:, which] = met[:, landed]
            last_step[which] = steps
            still = ~landed
            flying = flying[still]
            after = after.compress(still, axis=1)
            met = met.compress(still, axis=1)
            motion.keep(still)
        state = after
        steps += 1
    extremes[2:] *= motion.reynolds_per_speed
    landing = _landing(low, high, np.asarray(last_step * step, dtype=np.float64), step)
    positions = None
    if keep_positions:
        positions = np.stack(stored)
        down = np.arange(len(stored))[:, None] > last_step[None, :]
        for row in (0, 1):
            positions[:, row] = np.where(down, landing[row], positions[:, row])
        positions[:, 2] = np.where(down, 0.0, positions[:, 2])
    return _Block(landing, apex, extremes, positions)


def _hermite(
    before: FloatArray, rate_before: FloatArray, after: FloatArray, rate_after: FloatArray,
    step: float, share: FloatArray,
) -> FloatArray:  # fmt: skip
    """Evaluate the cubic through two values and rates at a share of the step."""
    rest = 1.0 - share
    return np.asarray(
        before * rest * rest * (1.0 + 2.0 * share)
        + after * share * share * (3.0 - 2.0 * share)
        + step * share * rest * (rate_before * rest - rate_after * share)
    )


def _hermite_rate(
    before: FloatArray, rate_before: FloatArray, after: FloatArray, rate_after: FloatArray,
    step: float, share: FloatArray,
) -> FloatArray:  # fmt: skip
    """Evaluate the rate of the same cubic."""
    return np.asarray(
        6.0 * share * (1.0 - share) * (after - before) / step
        + rate_before * (1.0 - share) * (1.0 - 3.0 * share)
        + rate_after * share * (3.0 * share - 2.0)
    )


def _note_apex(
    apex: FloatArray, state: FloatArray, after: FloatArray, step: float, flying: Counts
) -> None:
    """Keep the top of the flight in the step where the climb ends."""
    turning = (state[5] > 0.0) & (after[5] <= 0.0)
    if not turning.any():
        return
    low, high = state[:, turning], after[:, turning]
    share = low[5] / (low[5] - high[5])
    height = _hermite(low[2], low[5], high[2], high[5], step, share)
    along = _hermite(low[0], low[3], high[0], high[3], step, share)
    which = flying[turning]
    higher = height > apex[0, which]
    apex[:, which[higher]] = np.stack([height, along])[:, higher]


def _landing(
    low: FloatArray, high: FloatArray, time: FloatArray, step: float
) -> FloatArray:
    """Find when each shot meets the ground inside its last step and where it then is."""
    share = low[2] / np.maximum(low[2] - high[2], 1e-12)
    for _ in range(5):
        height = _hermite(low[2], low[5], high[2], high[5], step, share)
        rate = _hermite_rate(low[2], low[5], high[2], high[5], step, share) * step
        falling = np.where(rate < -1e-9, rate, -1e-9)
        share = np.clip(share - height / falling, 0.0, 1.0)
    rates = _hermite_rate(low[:3], low[3:6], high[:3], high[3:6], step, share)
    places = _hermite(low[:2], low[3:5], high[:2], high[3:5], step, share)
    return np.concatenate(
        [
            places,
            [time + share * step],
            rates,
            [low[6] + share * (high[6] - low[6])],
        ]
    )


def _gather(
    parts: list[_Block], start: FloatArray, elevation: FloatArray, name: str, step: float
) -> Flight:
    """Join the blocks and turn y over into "right"."""
    landing = np.concatenate([part.landing for part in parts], axis=1)
    apex = np.concatenate([part.apex for part in parts], axis=1)
    extremes = np.concatenate([part.extremes for part in parts], axis=1)
    x, y, time, vx, vy, vz, spin = landing
    right = -y
    level_speed = np.hypot(vx, vy)
    times = positions = None
    kept = [part.positions for part in parts if part.positions is not None]
    if kept:
        steps = max(len(block) for block in kept)
        times = np.asarray(step * np.arange(steps), dtype=np.float64)
        padded = [
            np.concatenate([block, np.repeat(block[-1:], steps - len(block), axis=0)])
            for block in kept
        ]
        positions = np.concatenate(padded, axis=2).transpose(0, 2, 1)
        positions[:, :, 1] *= -1.0
    return Flight(
        start_deg=np.degrees(start),
        launch_deg=np.degrees(elevation),
        carry_m=np.hypot(x, y),
        downrange_m=x,
        offline_m=right,
        curve_m=right - x * np.tan(start),
        bend_deg=np.degrees(np.arctan2(right, x) - start),
        apex_m=apex[0],
        apex_downrange_m=apex[1],
        descent_deg=np.degrees(np.arctan2(-vz, level_speed)),
        landing_speed_m_per_s=np.sqrt(vx**2 + vy**2 + vz**2),
        landing_spin_rpm=spin * 30.0 / np.pi,
        flight_time_s=time,
        spin_ratio_low=extremes[0],
        spin_ratio_high=extremes[1],
        reynolds_low=extremes[2],
        reynolds_high=extremes[3],
        times_s=times,
        positions_m=positions,
        model_name=name,
    )
