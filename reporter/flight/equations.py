"""The forces on a flying ball and one step of its motion, for many shots at once."""

from __future__ import annotations

import numpy as np

from reporter.flight.aerodynamics import AirModel
from reporter.flight.air import Air, Wind
from reporter.flight.ball import Ball
from reporter.flight.impossible import FloatArray

GRAVITY_M_PER_S2 = 9.80665
"""Standard acceleration of free fall (3rd General Conference on Weights and Measures, 1901)."""

_AHEAD = np.array([1, 2, 0])
_BEHIND = np.array([2, 0, 1])


class Motion:
    """The equations of motion for one block of shots.

    The state has seven rows: position x, y, z [m], velocity [m/s] and spin rate [rad/s]; x runs
    to the target, y to the left, z up.

    Notes
    -----
    With u the velocity through the air and w the unit spin axis,

        acceleration = K |u| (-C_D u + C_L (w x u)) - g z,   K = rho A / (2 m)
        d(spin)/dt   = -k spin |u| / r

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
        density_scale: FloatArray,
        gust_tail: FloatArray,
        gust_right: FloatArray,
    ) -> None:
        self._model = model
        self._radius = ball.radius_m
        self.reynolds_per_speed = ball.diameter_m / air.kinematic_viscosity_m2_per_s
        force = 0.5 * air.density_kg_per_m3 * ball.area_m2 / ball.mass_kg
        self._drag = force * drag_scale * density_scale
        self._lift = force * lift_scale * density_scale
        self._axis_ahead = axis[_AHEAD]
        self._axis_behind = axis[_BEHIND]
        self._decay = spin_decay_factor / ball.radius_m
        self._wind = air.wind
        self._gust = np.stack([gust_tail, -gust_right])
        self.spin_ratio = self.air_speed = np.empty(0)
        self.spin_ratio_at_start = self.air_speed_at_start = np.empty(0)
        self._windy = air.wind.speed_m_per_s > 0.0 or bool(np.any(self._gust))

    def keep(self, still: FloatArray) -> None:
        """Drop the shots that have landed."""
        self._drag = self._drag[still]
        self._lift = self._lift[still]
        self._axis_ahead = self._axis_ahead.compress(still, axis=1)
        self._axis_behind = self._axis_behind.compress(still, axis=1)
        self._gust = self._gust[:, still]

    def runge_kutta_step(self, state: FloatArray, step: float) -> FloatArray:
        """Advance every shot by one step of classical fourth-order Runge-Kutta.

        Spin ratio and air speed at the beginning of the step stay readable afterwards.
        """
        first = self._rates(state)
        self.spin_ratio_at_start, self.air_speed_at_start = self.spin_ratio, self.air_speed
        point = first * (0.5 * step)
        point += state
        second = self._rates(point)
        np.multiply(second, 0.5 * step, out=point)
        point += state
        third = self._rates(point)
        np.multiply(third, step, out=point)
        point += state
        fourth = self._rates(point)
        second += third
        second *= 2.0
        first += fourth
        first += second
        first *= step / 6.0
        first += state
        return first

    def _through_air(self, state: FloatArray) -> FloatArray:
        if not self._windy:
            return state[3:6]
        through_air = state[3:6].copy()
        share = _wind_share(self._wind, state[2])
        through_air[0] -= (self._wind.tail_m_per_s + self._gust[0]) * share
        through_air[1] -= (self._gust[1] - self._wind.to_right_m_per_s) * share
        return through_air

    def _rates(self, state: FloatArray) -> FloatArray:
        u = self._through_air(state)
        speed = np.sqrt(np.einsum("ij,ij->j", u, u))
        ratio = state[6] / speed
        ratio *= self._radius
        if self._model.uses_reynolds:
            drag, lift = self._model.coefficients(ratio, speed * self.reynolds_per_speed)
        else:
            drag, lift = self._model.coefficients(ratio, ratio)
        self.spin_ratio, self.air_speed = ratio, speed
        drag *= self._drag
        drag *= speed
        lift *= self._lift
        lift *= speed

        rates = np.empty_like(state)
        rates[0:3] = state[3:6]
        # axis x u, all three rows at once
        push = np.multiply(self._axis_ahead, u.take(_BEHIND, axis=0), out=rates[3:6])
        turned = u.take(_AHEAD, axis=0)
        turned *= self._axis_behind
        push -= turned
        push *= lift
        np.multiply(u, drag, out=turned)
        push -= turned
        rates[5] -= GRAVITY_M_PER_S2
        np.multiply(state[6], speed, out=rates[6])
        rates[6] *= -self._decay
        return rates


def _wind_share(wind: Wind, height: FloatArray) -> FloatArray | float:
    """Give the share of the reference wind that blows at each height [-]."""
    if wind.profile == "uniform":
        return 1.0
    above = np.maximum(height, 0.0)
    return np.asarray(
        np.log1p(above / wind.roughness_m)
        / np.log1p(wind.reference_height_m / wind.roughness_m)
    )
