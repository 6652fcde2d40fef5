"""Drag and lift coefficients of a spinning golf ball, from laboratory rows only."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Protocol

import numpy as np

from reporter.flight.impossible import FloatArray
from reporter.flight.laboratory import INDOOR_RANGE, WIND_TUNNEL, LaboratoryRow


class AirModel(Protocol):
    """What the equations of motion ask of a coefficient model."""

    @property
    def name(self) -> str:
        """Name that is printed with a result."""

    @property
    def source(self) -> str:
        """Publication the numbers rest on."""

    @property
    def uses_reynolds(self) -> bool:
        """Whether the coefficients depend on the Reynolds number."""

    @property
    def spin_ratio_range(self) -> tuple[float, float]:
        """Least and greatest spin ratio the measurements cover."""

    @property
    def reynolds_range(self) -> tuple[float, float]:
        """Least and greatest Reynolds number the measurements cover."""

    def coefficients(
        self, spin_ratio: FloatArray, reynolds: FloatArray
    ) -> tuple[FloatArray, FloatArray]:
        """Give drag and lift coefficients, each with the shape of the spin ratio."""


@dataclass(frozen=True, slots=True)
class ClosedForm:
    """A smooth curve through laboratory rows that stays sensible at high spin.

    Parameters
    ----------
    name, source : str
        Name and origin.
    lift_terms : (a1, b1, a2)
        C_L = a1 (1 - exp(-b1 S)) + a2 (1 - exp(-100 S)), S the spin ratio.
    drag_terms : (c0, c1, c2)
        C_D = c0 + c1 (1 - exp(-(S/c2)^2)).
    spin_ratio_range, reynolds_range : (low, high)
        Range of the rows it was fitted to.
    """

    name: str
    source: str
    lift_terms: tuple[float, float, float]
    drag_terms: tuple[float, float, float]
    spin_ratio_range: tuple[float, float]
    reynolds_range: tuple[float, float]

    @property
    def uses_reynolds(self) -> bool:
        """Whether the coefficients depend on the Reynolds number: no."""
        return False

    def coefficients(
        self, spin_ratio: FloatArray, reynolds: FloatArray
    ) -> tuple[FloatArray, FloatArray]:
        """Give drag and lift coefficients.

        Parameters
        ----------
        spin_ratio : ndarray
            Surface speed over air speed [-].
        reynolds : ndarray
            Not used.

        Returns
        -------
        drag, lift : ndarray
            Coefficients on the ball's cross-section [-].
        """
        a1, b1, a2 = self.lift_terms
        c0, c1, c2 = self.drag_terms
        # In place, because this runs four times a step for every shot of a batch.
        lift = np.multiply(spin_ratio, -b1)
        np.exp(lift, out=lift)
        lift *= -a1
        work = np.multiply(spin_ratio, -100.0)
        np.exp(work, out=work)
        work *= a2
        lift -= work
        lift += a1 + a2
        drag = np.multiply(spin_ratio, spin_ratio)
        drag *= -1.0 / c2**2
        np.exp(drag, out=drag)
        drag *= -c1
        drag += c0 + c1
        return drag, lift


@dataclass(frozen=True, slots=True)
class MeasuredTable:
    """The wind-tunnel rows themselves, joined by straight lines; kinked but unfitted."""

    name: str
    source: str
    rows: tuple[LaboratoryRow, ...]
    reynolds_range: tuple[float, float]

    @property
    def uses_reynolds(self) -> bool:
        """Whether the coefficients depend on the Reynolds number: no."""
        return False

    @property
    def spin_ratio_range(self) -> tuple[float, float]:
        """Least and greatest spin ratio in the table."""
        return self.rows[0].spin_ratio, self.rows[-1].spin_ratio

    def coefficients(
        self, spin_ratio: FloatArray, reynolds: FloatArray
    ) -> tuple[FloatArray, FloatArray]:
        """Interpolate drag and lift coefficients [-]; flat beyond the ends of the table."""
        drag = np.array([(row.spin_ratio, row.drag) for row in self.rows if row.drag is not None])
        lift = np.array([(row.spin_ratio, row.lift) for row in self.rows if row.lift is not None])
        return (
            np.asarray(np.interp(spin_ratio, drag[:, 0], drag[:, 1])),
            np.asarray(np.interp(spin_ratio, lift[:, 0], lift[:, 1])),
        )


@dataclass(frozen=True, slots=True)
class IndoorRangePolynomial:
    """The polynomial printed with the indoor-range measurements; drivers only.

    Notes
    -----
    With Re in units of 1e5, C_L = .0860 + .6463 S - .0122/Re^2 + 1.4789 S^2 and
    C_D = .2028 + 2.8466 S^2 + .0165 Re - .2159 S.  Spin ratio and Reynolds number are held at
    the ends of the measured range, because a polynomial has no right to go further.

    References
    ----------
    US patent 6,186,002 (2001).  Second-hand.
    """

    name: str = "indoor-range polynomial"
    source: str = "US patent 6,186,002 (2001), printed fit"
    spin_ratio_range: tuple[float, float] = (0.044, 0.218)
    reynolds_range: tuple[float, float] = (0.81e5, 2.0e5)

    @property
    def uses_reynolds(self) -> bool:
        """Whether the coefficients depend on the Reynolds number: yes."""
        return True

    def coefficients(
        self, spin_ratio: FloatArray, reynolds: FloatArray
    ) -> tuple[FloatArray, FloatArray]:
        """Give drag and lift coefficients [-]."""
        s = np.clip(spin_ratio, *self.spin_ratio_range)
        re = np.clip(reynolds, *self.reynolds_range) / 1e5
        lift = 0.0860 + 0.6463 * s - 0.0122 / re**2 + 1.4789 * s**2
        drag = 0.2028 + 2.8466 * s**2 + 0.0165 * re - 0.2159 * s
        return drag, lift


def fit_closed_form(
    rows: Sequence[LaboratoryRow],
) -> tuple[tuple[float, float, float], tuple[float, float, float]]:
    """Fit the closed form to laboratory rows by least squares, every row of equal weight.

    Run when rows are added, never while a page is made; the result is written below as
    constants and a test fits again.  Needs SciPy.

    Parameters
    ----------
    rows : sequence of LaboratoryRow
        At least four rows with lift and four with drag.

    Returns
    -------
    lift_terms, drag_terms : (float, float, float)
        As `ClosedForm` takes them.
    """
    from scipy.optimize import least_squares  # heavy, and only this function needs it

    lift_rows = np.array([(row.spin_ratio, row.lift) for row in rows if row.lift is not None])
    drag_rows = np.array([(row.spin_ratio, row.drag) for row in rows if row.drag is not None])

    def lift_misfit(terms: FloatArray) -> FloatArray:
        a1, b1, a2 = terms
        s = lift_rows[:, 0]
        model = a1 * (1 - np.exp(-b1 * s)) + a2 * (1 - np.exp(-100.0 * s))
        return np.asarray(model - lift_rows[:, 1])

    def drag_misfit(terms: FloatArray) -> FloatArray:
        c0, c1, c2 = terms
        s = drag_rows[:, 0]
        return np.asarray(c0 + c1 * (1 - np.exp(-((s / c2) ** 2))) - drag_rows[:, 1])

    lift = least_squares(lift_misfit, (0.4, 2.0, 0.06), xtol=1e-14, ftol=1e-14, gtol=1e-14).x
    drag = least_squares(drag_misfit, (0.24, 0.3, 0.5), xtol=1e-14, ftol=1e-14, gtol=1e-14).x
    return (
        (float(lift[0]), float(lift[1]), float(lift[2])),
        (float(drag[0]), float(drag[1]), float(drag[2])),
    )


ALL_ROWS = INDOOR_RANGE + WIND_TUNNEL
"""Both laboratories, every row."""

NEWER_BALL_ROWS = INDOOR_RANGE + tuple(row for row in WIND_TUNNEL if row.spin_ratio >= 0.30)
"""The indoor range where a driver flies, the tunnel only above it."""

BOTH_LABORATORIES = ClosedForm(
    name="both-laboratories",
    source="fit to US patent 6,186,002 and Bearman and Harvey 1976, all rows",
    lift_terms=(0.42904, 2.33145, 0.06659),
    drag_terms=(0.24078, 0.30507, 0.53999),
    spin_ratio_range=(0.044, 1.00),
    reynolds_range=(0.6e5, 2.2e5),
)
"""The model used unless told otherwise."""

NEWER_BALL = ClosedForm(
    name="newer-ball",
    source="fit to US patent 6,186,002 and Bearman and Harvey 1976 at spin ratio 0.30 and above",
    lift_terms=(0.41396, 2.53572, 0.06877),
    drag_terms=(0.22860, 0.31811, 0.53555),
    spin_ratio_range=(0.044, 1.00),
    reynolds_range=(0.6e5, 2.2e5),
)
"""Follows the newer of the two balls where a driver flies."""

OLDER_BALL = ClosedForm(
    name="older-ball",
    source="fit to Bearman and Harvey 1976 alone",
    lift_terms=(0.45083, 2.21779, 0.05575),
    drag_terms=(0.26509, 0.30045, 0.62514),
    spin_ratio_range=(0.05, 1.00),
    reynolds_range=(0.6e5, 1.3e5),
)
"""Follows the older of the two balls throughout."""

TUNNEL_TABLE = MeasuredTable(
    name="wind-tunnel table",
    source="Bearman and Harvey 1976, rows as read",
    rows=WIND_TUNNEL,
    reynolds_range=(0.6e5, 1.3e5),
)
"""Second driver model that shares no row with the next one."""

INDOOR_POLYNOMIAL = IndoorRangePolynomial()
"""Second driver model that shares no row with the one before."""
