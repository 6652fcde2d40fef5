"""Balls, strikes and air for simulated lessons that do not follow the explainer's own."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from scipy.interpolate import PchipInterpolator

from reporter.flight.aerodynamics import NEWER_BALL, OLDER_BALL
from reporter.flight.air import Air, Wind
from reporter.flight.clubs import Club
from reporter.flight.uncertainty import (
    STRIKE_SD_MM,
    TOE_START_DEG_PER_MM,
    TOE_TILT_DEG_PER_MM,
    Worlds,
)

KNOTS = np.array([0.02, 0.05, 0.1, 0.2, 0.4, 0.7, 1.1, 2.0])
FURTHEST_PLACE = 0.7
"""The ball lies anywhere from the newer ball to this share of the way to that of 1976.

Of balls so drawn thirteen differ in carry by 18 m, as those of Lyu et al. 2018 did.
"""

READ_DRAG, READ_LIFT = 0.012, 0.035
UNMEASURED_DRAG, UNMEASURED_LIFT = 0.060, 0.060
ALIKE_OVER = 0.7
"""Logarithm of the spin ratio over which a ball's departures stay alike."""

TOE_TAILS = 6.0
"""Degrees of freedom of the strike's t distribution: more far misses than a normal one has."""


@dataclass(frozen=True)
class OtherBall:
    """A ball somewhere between the two laboratories', with a wavy departure of its own.

    The place between the two is drawn evenly.  The departures are a Gaussian process in the
    logarithm of the spin ratio: as wide as the rows were read where spin is low, as wide as balls
    differ there where no modern ball was measured.
    """

    place: float
    drag_waves: PchipInterpolator
    lift_waves: PchipInterpolator
    name: str = "another ball"
    source: str = "between the two laboratories"
    uses_reynolds: bool = False
    spin_ratio_range: tuple[float, float] = (0.044, 1.0)
    reynolds_range: tuple[float, float] = (0.6e5, 2.2e5)

    @classmethod
    def drawn(cls, generator: np.random.Generator) -> OtherBall:
        """Draw one ball."""
        logs = np.log(KNOTS)
        alike = np.exp(-0.5 * ((logs[:, None] - logs[None, :]) / ALIKE_OVER) ** 2)
        factor = np.linalg.cholesky(alike + 1e-9 * np.eye(len(KNOTS)))
        rising = np.clip((KNOTS - 0.15) / 0.25, 0.0, 1.0)

        def waves(read: float, unmeasured: float) -> PchipInterpolator:
            wide = read + (unmeasured - read) * rising
            return PchipInterpolator(logs, wide * (factor @ generator.normal(size=len(KNOTS))))

        place = FURTHEST_PLACE * generator.random()
        drag = waves(READ_DRAG, UNMEASURED_DRAG)
        return cls(place, drag, waves(READ_LIFT, UNMEASURED_LIFT))

    def coefficients(self, spin_ratio, reynolds):
        """Give drag and lift coefficients [-]."""
        newer = NEWER_BALL.coefficients(spin_ratio, reynolds)
        older = OLDER_BALL.coefficients(spin_ratio, reynolds)
        logs = np.log(np.clip(spin_ratio, KNOTS[0], KNOTS[-1]))
        return tuple(
            ((1.0 - self.place) * new + self.place * old) * np.exp(waves(logs))
            for new, old, waves in zip(
                newer, older, (self.drag_waves, self.lift_waves), strict=True
            )
        )


def other_air(generator: np.random.Generator) -> Air:
    """Draw air from thermometer, barometer and hygrometer, and a wind that grows with height.

    Together they spread the density by one percent and the wind by 0.4 m/s, as stated.
    """
    tail, right = generator.normal(0.0, 0.4, size=2)
    return Air(
        temperature_c=20.0 + generator.normal(0.0, 2.4),
        pressure_pa=101_325.0 * (1.0 + generator.normal(0.0, 0.0055)),
        relative_humidity=float(generator.uniform(0.2, 0.8)),
        wind=Wind(tail, right, "log", 15.0),
    )


def other_world(world: Worlds, club: Club, generator: np.random.Generator) -> Worlds:
    """Strike with heavier tails, and leave ball and air to those drawn apart."""
    one, zero = np.ones(1), np.zeros(1)
    toe_mm = STRIKE_SD_MM * generator.standard_t(TOE_TAILS) * np.sqrt(1.0 - 2.0 / TOE_TAILS)
    return replace(
        world,
        drag_scale=one,
        lift_scale=one,
        low_spin_drag=zero,
        low_spin_lift=zero,
        measured_drag=zero,
        measured_lift=zero,
        density_scale=one,
        gust_tail=zero,
        gust_right=zero,
        strike_start_deg=one * TOE_START_DEG_PER_MM[club.kind] * toe_mm,
        strike_tilt_deg=one * TOE_TILT_DEG_PER_MM[club.kind] * toe_mm,
    )
