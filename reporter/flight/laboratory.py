"""Drag and lift of golf balls as measured in laboratories, row by row."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class LaboratoryRow:
    """One measured mean.

    Parameters
    ----------
    spin_ratio : float
        Surface speed of the spinning ball over its speed through the air [-].
    drag : float or None
        Drag coefficient [-]; None where the figure could not be read.
    lift : float or None
        Lift coefficient [-].
    reynolds : float or None
        Reynolds number [-]; None where the source pools several.
    """

    spin_ratio: float
    drag: float | None
    lift: float | None
    reynolds: float | None = None


INDOOR_RANGE = (
    LaboratoryRow(0.097, 0.223, 0.146, 0.81e5),
    LaboratoryRow(0.218, 0.305, 0.278, 0.81e5),
    LaboratoryRow(0.153, 0.256, 0.214, 1.23e5),
    LaboratoryRow(0.088, 0.226, 0.146, 1.25e5),
    LaboratoryRow(0.090, 0.234, 0.151, 1.61e5),
    LaboratoryRow(0.092, 0.241, 0.153, 2.00e5),
    LaboratoryRow(0.044, 0.231, 0.115, 1.98e5),
)
"""Balls shot through an indoor range, means of seven conditions.

Source: US patent 6,186,002 (Lieberman, Smits, Quintavalla, Thomas, Winfield, 2001), example
ball; reading accuracy 0.01.  Second-hand.
"""

WIND_TUNNEL = (
    LaboratoryRow(0.05, 0.264, 0.111),
    LaboratoryRow(0.10, 0.267, 0.144),
    LaboratoryRow(0.15, 0.283, 0.177),
    LaboratoryRow(0.20, 0.299, 0.211),
    LaboratoryRow(0.25, 0.3125, 0.2465),
    LaboratoryRow(0.30, None, 0.2755),
    LaboratoryRow(0.36, 0.353, 0.301),
    LaboratoryRow(0.46, 0.391, 0.352),
    LaboratoryRow(0.64, 0.455, 0.404),
    LaboratoryRow(1.00, 0.544, 0.452),
)
"""A spinning ball held in a wind tunnel.

Source: Bearman and Harvey 1976, Aeronautical Quarterly 27, 112-122, read from replots of its
figure; reading accuracy 0.01.  Second-hand.
"""
