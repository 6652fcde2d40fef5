"""The golf ball as a rigid sphere: mass, size and moment of inertia."""

from __future__ import annotations

import math
from dataclasses import dataclass

RULES_MAXIMUM_MASS_KG = 0.04593
"""Greatest mass the Equipment Rules allow, 1.620 oz (R&A/USGA, Part 4 section 2)."""

RULES_MINIMUM_DIAMETER_M = 0.04267
"""Least diameter the Equipment Rules allow, 1.680 in (R&A/USGA, Part 4 section 3)."""


@dataclass(frozen=True, slots=True)
class Ball:
    """A ball seen as a rigid sphere.

    Parameters
    ----------
    mass_kg : float
        Mass [kg]; the heaviest ball the rules allow unless told otherwise.
    diameter_m : float
        Diameter [m]; the smallest the rules allow unless told otherwise.
    inertia_factor : float
        Moment of inertia divided by mass times radius squared [-].  A uniform sphere has
        0.4, and a measured ball had 83.63 g cm2, which is 0.400.

    References
    ----------
    R&A and USGA, Equipment Rules, Part 4, sections 2 and 3 (mass and size).
    Proceedings (MDPI) 2020, 49(1), 47, Table 1 (moment of inertia).
    """

    mass_kg: float = RULES_MAXIMUM_MASS_KG
    diameter_m: float = RULES_MINIMUM_DIAMETER_M
    inertia_factor: float = 0.400

    @property
    def radius_m(self) -> float:
        """Radius [m]."""
        return self.diameter_m / 2.0

    @property
    def area_m2(self) -> float:
        """Cross-section that meets the air [m2]."""
        return math.pi * self.radius_m**2

    @property
    def inertia_kg_m2(self) -> float:
        """Moment of inertia about any axis through the centre [kg m2]."""
        return self.inertia_factor * self.mass_kg * self.radius_m**2


STANDARD_BALL = Ball()
"""The heaviest and smallest ball the rules allow."""
