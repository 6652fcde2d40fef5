"""The forces on a flying ball and one step of its motion, for many shots at once."""

from __future__ import annotations

import numpy as np

from reporter.flight.aerodynamics import AirModel
from reporter.flight.air import Air, Wind
from reporter.flight.ball import Ball
from reporter.flight.impossible import Flags, FloatArray

GRAVITY_M_PER_S2 = 9.80665
"""Standard acceleration of free fall (3rd General Conference on Weights and Measures, 1901)."""

LOW_SPIN_RATIO = 0.25
"""Spin ratio that sets where the balls of the two laboratories stop differing [-].

The logarithm of the ratio of their drag falls from .14 at spin ratio 0.05 to .06 at 0.25 and
nothing at 0.4, as .15 exp(-(S/0.25)^2) within .01; that of their lift is -.12 times the same within
.03.  A test repeats it.
"""

MEASURED_SPIN_RATIO = 0.3
"""Spin ratio at which half of what is known from low spin is still known (our choice) [-].

Rows of two balls reach 0.22, those of one ball 1.0.
"""

_NEXT = ((1, 2), (2, 0), (0, 1))


class Motion:
    """The equations of motion for one block of shots.

    The state has seven rows: position x, y, z [m], velocity [m/s] and spin rate [rad/s]; x runs
    to the target, y to the left, z up.

    Notes
    -----
    With u the velocity through the air and w the unit spin axis,

        acceleration = K |u| (-C_D u + C_L (w x u)) - g z,   K = rho A / (2 m)
        d(spin)/dt   = -k spin |u| / r

    Position follows from velocity and the three accelerations of a step, which is the classical
    method written out: x + h v + h^2/6 (a1 + a2 + a3).  A ball may differ where spin is low: its
    coefficients are then times 1 + q exp(-(S/0.25)^2) + p / (1 + (S/0.3)^4).

    The lift is not brought back to full strength when the axis is not square to u, so that a
    ball spinning about its line of flight feels none.

    References
    ----------
    Penner 2003, Reports on Progress in Physics 66, 131-171 (forces).
    Smits and Smith 1994, Science and Golf II, 340-347 (spin decay).
    """

    def __init__(
        self,
        air: Air,
        model: AirModel,
        ball: Ball,
        spin_decay_factor: float,
        axis: FloatArray,
        drag_scale: FloatArray,
        lift_scale: FloatArray,
        low_spin_drag: FloatArray,
        low_spin_lift: FloatArray,
        measured_drag: FloatArray,
        measured_lift: FloatArray,
        density_scale: FloatArray,
        gust_tail: FloatArray,
        gust_right: FloatArray,
    ) -> None:
        self._model = model
        self._radius = ball.radius_m
        self.reynolds_per_speed = ball.diameter_m / air.kinematic_viscosity_m2_per_s
        force = 0.5 * air.density_kg_per_m3 * ball.area_m2 / ball.mass_kg
        self._axis = axis
        self._decay = spin_decay_factor / ball.radius_m
        self._wind = air.wind
        # Rows: drag, lift, the same where spin is low and where it was measured, wind toward the
        # target, wind to the left.
        self._own = np.stack(
            [
                force * drag_scale * density_scale,
                force * lift_scale * density_scale,
                low_spin_drag,
                low_spin_lift,
                measured_drag,
                measured_lift,
                air.wind.tail_m_per_s + gust_tail,
                -air.wind.to_right_m_per_s - gust_right,
            ]
        )
        self._other_ball = bool(np.any(self._own[2:6]))
        self._windy = bool(np.any(self._own[6:8]))
        self.spin_ratio = self.air_speed = np.empty(0)
        self.spin_ratio_at_start = self.air_speed_at_start = np.empty(0)
        self._make_room()

    def _make_room(self) -> None:
        """Set aside the working arrays of a step, to be used again and again."""
        count = self._axis.shape[1]
        self._rates_met = np.empty((4, 4, count))
        self._point = np.empty((4, count))
        self._three, self._row = np.empty((3, count)), np.empty(count)

    def keep(self, still: Flags) -> None:
        """Drop the shots that have landed."""
        self._own = self._own.compress(still, axis=1)
        self._axis = self._axis.compress(still, axis=1)
        self._make_room()

    def runge_kutta_step(self, state: FloatArray, step: float) -> FloatArray:
        """Advance every shot by one step of classical fourth-order Runge-Kutta.

        Spin ratio and air speed at the beginning of the step stay readable afterwards.
        """
        place, moving, point = state[:3], state[3:], self._point
        first, second, third, fourth = self._rates_met
        in_layers = self._windy and self._wind.profile != "uniform"
        height = place[2]
        self._rates(moving, height, first)
        self.spin_ratio_at_start, self.air_speed_at_start = self.spin_ratio, self.air_speed
        if in_layers:
            height = place[2] + 0.5 * step * moving[2]
        np.multiply(first, 0.5 * step, out=point)
        point += moving
        self._rates(point, height, second)
        if in_layers:
            height = place[2] + 0.5 * step * point[2]
        np.multiply(second, 0.5 * step, out=point)
        point += moving
        self._rates(point, height, third)
        if in_layers:
            height = place[2] + step * point[2]
        np.multiply(third, step, out=point)
        point += moving
        self._rates(point, height, fourth)

        after = np.empty_like(state)
        second += third
        np.add(first[:3], second[:3], out=after[:3])
        after[:3] *= step * step / 6.0
        np.multiply(moving[:3], step, out=self._three)
        after[:3] += self._three
        after[:3] += place
        first += fourth
        second *= 2.0
        first += second
        first *= step / 6.0
        np.add(first, moving, out=after[3:])
        return after

    def _through_air(self, moving: FloatArray, height: FloatArray) -> FloatArray:
        if not self._windy:
            return moving[:3]
        through_air = moving[:3].copy()
        if self._wind.profile == "uniform":
            through_air[:2] -= self._own[6:8]
        else:
            through_air[:2] -= self._own[6:8] * _wind_share(self._wind, height)
        return through_air

    def _rates(self, moving: FloatArray, height: FloatArray, rates: FloatArray) -> None:
        """Write the rates of velocity and spin into `rates`."""
        u = self._through_air(moving, height)
        squares, row = self._three, self._row
        np.multiply(u, u, out=squares)
        speed = squares[0] + squares[1]
        speed += squares[2]
        np.sqrt(speed, out=speed)
        ratio = moving[3] / speed
        ratio *= self._radius
        if self._model.uses_reynolds:
            drag, lift = self._model.coefficients(ratio, speed * self.reynolds_per_speed)
        else:
            drag, lift = self._model.coefficients(ratio, ratio)
        self.spin_ratio, self.air_speed = ratio, speed
        if self._other_ball:
            square = ratio * ratio
            low = np.exp(square * (-1.0 / LOW_SPIN_RATIO**2))
            square *= square
            square *= 1.0 / MEASURED_SPIN_RATIO**4
            measured = 1.0 / (1.0 + square)
            drag *= 1.0 + self._own[2] * low + self._own[4] * measured
            lift *= 1.0 + self._own[3] * low + self._own[5] * measured
        both = self._three[:2]
        np.multiply(self._own[:2], speed, out=both)
        drag *= both[0]
        lift *= both[1]

        for here, (ahead, behind) in enumerate(_NEXT):
            push = np.multiply(self._axis[ahead], u[behind], out=rates[here])
            push -= np.multiply(self._axis[behind], u[ahead], out=row)
            push *= lift
            push -= np.multiply(u[here], drag, out=row)
        rates[2] -= GRAVITY_M_PER_S2
        np.multiply(moving[3], speed, out=rates[3])
        rates[3] *= -self._decay


def _wind_share(wind: Wind, height: FloatArray) -> FloatArray:
    """Give the share of the reference wind that blows at each height [-], rising with its log."""
    above = np.maximum(height, 0.0)
    return np.asarray(
        np.log1p(above / wind.roughness_m)
        / np.log1p(wind.reference_height_m / wind.roughness_m)
    )
