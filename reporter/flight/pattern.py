"""What a table of shots says: counts, centre, spread, share inside, two-way miss."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import comb, sqrt
from statistics import NormalDist
from typing import Literal

import numpy as np

from reporter.flight.impossible import Flags, FloatArray, ImpossibleDelivery, refuse_outside
from reporter.flight.two_way import TwoWay, two_way_miss

FEWEST_FOR_ELLIPSE = 6
"""Below this many shots only the points are shown."""

FEWEST_FOR_ADVICE = 10
"""Below this many shots nothing is said about what to fix first."""

MISHIT_SCORE = 4.5
"""A shot this many robust standard deviations from the median is counted as a mishit."""

SPREAD_CUT = 0.25
"""Reduction of spread that the advice weighs against taking out the bias (our choice)."""

_Z95 = 1.959963984540054

First = Literal["direction", "spread", "either", "neither", "too few to tell"]


@dataclass(frozen=True, slots=True)
class Share:
    """A counted share with its 95 % interval.

    Attributes
    ----------
    count, of : int
        How many of how many.
    low, value, high : float
        Wilson interval and the plain share [-].
    """

    count: int
    of: int
    low: float
    value: float
    high: float


@dataclass(frozen=True, slots=True)
class Ellipse:
    """Where the next shot falls with the stated probability.

    Attributes
    ----------
    share : float
        Stated probability [-].
    centre : (float, float)
        Mean of the shots, (right, along) [the units of the table].
    half_axes : (float, float)
        Longer and shorter half axis.
    turn_deg : float
        Direction of the longer axis from the "right" axis toward "along" [deg].
    outline : tuple of (right, along)
        48 points around it.
    """

    share: float
    centre: tuple[float, float]
    half_axes: tuple[float, float]
    turn_deg: float
    outline: tuple[tuple[float, float], ...]


@dataclass(frozen=True, slots=True)
class Pattern:
    """Everything a shot table says; right of target is positive.

    Attributes
    ----------
    shots : int
        Number of shots in the table.
    mishits : tuple of int
        Row numbers, from 1, of shots far from all others; counted apart.
    left, on_line, right : int
        Shots that ended left of, inside and right of the middle fifth of the fairway, or of
        the spread where no fairway is given.
    median_offset_m : float
        Robust centre [m].
    median_interval_m : (float, float) or None
        Its distribution-free interval of at least 95 % [m]; None below six shots.
    mean_offset_m, sd_offset_m : float
        Mean and standard deviation without mishits [m].
    ellipse : Ellipse or None
        Prediction ellipse of (offset, along); None where too few shots, no second column or
        no spread.
    inside : Share or None
        Share inside the fairway, mishits included; None without a fairway.
    two_way : TwoWay
        Verdict on a two-way miss.
    fix_first : str
        "direction", "spread", "either", "neither" or "too few to tell".
    share_now, share_without_bias, share_with_less_spread : float or None
        Share of a normal pattern inside the fairway as it is, with the bias gone, and with the
        spread a quarter smaller [-].
    """

    shots: int
    mishits: tuple[int, ...]
    left: int
    on_line: int
    right: int
    median_offset_m: float
    median_interval_m: tuple[float, float] | None
    mean_offset_m: float
    sd_offset_m: float
    ellipse: Ellipse | None
    inside: Share | None
    two_way: TwoWay
    fix_first: First
    share_now: float | None
    share_without_bias: float | None
    share_with_less_spread: float | None


def pattern_of(
    landing_offset_m: Sequence[float] | FloatArray,
    along: Sequence[float] | FloatArray | None = None,
    fairway_width_m: float | None = None,
    *,
    ellipse_share: float = 0.90,
) -> Pattern:
    """Describe a table of shots.

    Parameters
    ----------
    landing_offset_m : sequence of float
        Distance of each landing from the target line [m], right positive.
    along : sequence of float or None
        A second column for the ellipse, such as the carry [m] or the start direction [deg].
    fairway_width_m : float or None
        Full width of the fairway [m].
    ellipse_share : float
        Probability the ellipse is to hold [-].

    Returns
    -------
    Pattern
        The description; where the shots are too few it says so.

    Raises
    ------
    ImpossibleDelivery
        When the table is empty, its columns differ in length, or a number is not finite; each
        row at fault is named.
    """
    offset, second = _columns(landing_offset_m, along)
    if fairway_width_m is not None:
        refuse_outside(
            {"fairway_width_m": fairway_width_m}, {"fairway_width_m": (1.0, 200.0, "m")}
        )
    mishit = far_from_others(offset)
    kept = offset[~mishit]
    mean = float(kept.mean())
    spread = float(kept.std(ddof=1)) if kept.size > 1 else 0.0
    near = 0.1 * fairway_width_m if fairway_width_m is not None else 0.25 * spread
    inside = None
    if fairway_width_m is not None:
        held = int(np.count_nonzero(np.abs(offset) <= fairway_width_m / 2.0))
        inside = wilson_share(held, offset.size)
    shares, first = _fix_first(kept, mean, spread, fairway_width_m)
    ellipse = None
    if second is not None:
        ellipse = prediction_ellipse(kept, second[~mishit], ellipse_share)
    return Pattern(
        shots=offset.size,
        mishits=tuple(int(row) + 1 for row in np.flatnonzero(mishit)),
        left=int(np.count_nonzero(offset < -near)),
        on_line=int(np.count_nonzero(np.abs(offset) <= near)),
        right=int(np.count_nonzero(offset > near)),
        median_offset_m=float(np.median(offset)),
        median_interval_m=median_interval(offset),
        mean_offset_m=mean,
        sd_offset_m=spread,
        ellipse=ellipse,
        inside=inside,
        two_way=two_way_miss(offset),
        fix_first=first,
        share_now=shares[0],
        share_without_bias=shares[1],
        share_with_less_spread=shares[2],
    )


def wilson_share(count: int, of: int) -> Share:
    """Give a share with its Wilson 95 % interval.

    Parameters
    ----------
    count, of : int
        How many of how many.

    Returns
    -------
    Share
        The share.

    References
    ----------
    Wilson 1927, Journal of the American Statistical Association 22, 209-212.
    """
    share = count / of
    square = _Z95**2
    middle = (share + square / (2 * of)) / (1 + square / of)
    half = _Z95 / (1 + square / of) * sqrt(share * (1 - share) / of + square / (4 * of**2))
    low = 0.0 if count == 0 else middle - half
    high = 1.0 if count == of else middle + half
    return Share(count, of, low, share, high)


def median_interval(values: FloatArray) -> tuple[float, float] | None:
    """Give an interval that holds the median at least 95 times in 100, whatever the shape.

    Parameters
    ----------
    values : ndarray
        The numbers.

    Returns
    -------
    (float, float) or None
        Two of the numbers, by rank from the binomial distribution; None below six.

    References
    ----------
    Conover 1999, Practical Nonparametric Statistics, 3rd edition, section 3.2 [from memory].
    """
    count = values.size
    if count < 6:
        return None
    ordered = np.sort(values)
    if count > 1000:
        # The binomial sum overflows a float; the normal limit is exact to a rank here.
        rank = int((count - _Z95 * sqrt(count)) / 2.0)
    else:
        tail, rank = 0.0, 0
        while True:
            tail += comb(count, rank) / 2**count
            if tail > 0.025:
                break
            rank += 1
    return float(ordered[rank - 1]), float(ordered[count - rank])


def prediction_ellipse(
    right: FloatArray, along: FloatArray, share: float = 0.90
) -> Ellipse | None:
    """Give the ellipse that holds the next shot with the stated probability.

    Parameters
    ----------
    right, along : ndarray
        The two columns.
    share : float
        Probability [-].

    Returns
    -------
    Ellipse or None
        None below six shots or without spread.

    Notes
    -----
    (x - mean)' S^-1 (x - mean) <= 2 (n+1)(n-1) / (n (n-2)) F, with F the quantile of the F
    distribution with 2 and n-2 degrees of freedom, which has the closed form
    (n-2)/2 ((1 - share)^(-2/(n-2)) - 1).  The chi-square ellipse in common use holds too few
    shots when n is small.

    References
    ----------
    Chew 1966, Journal of the American Statistical Association 61, 605-617 [from memory].
    """
    count = right.size
    if count < FEWEST_FOR_ELLIPSE:
        return None
    centre = np.array([right.mean(), along.mean()])
    covariance = np.cov(np.stack([right, along]))
    values, vectors = np.linalg.eigh(covariance)
    if values[0] <= 1e-12 * max(values[1], 1.0):
        return None
    freedom = count - 2
    quantile = 0.5 * freedom * ((1.0 - share) ** (-2.0 / freedom) - 1.0)
    factor = 2.0 * (count + 1) * (count - 1) / (count * freedom) * quantile
    half = np.sqrt(values * factor)
    angle = np.linspace(0.0, 2.0 * np.pi, 48, endpoint=False)
    outline = (
        centre[:, None]
        + vectors[:, 1:] * half[1] * np.cos(angle)
        + vectors[:, :1] * half[0] * np.sin(angle)
    )
    turn = float(np.degrees(np.arctan2(vectors[1, 1], vectors[0, 1])))
    return Ellipse(
        share=share,
        centre=(float(centre[0]), float(centre[1])),
        half_axes=(float(half[1]), float(half[0])),
        turn_deg=(turn + 90.0) % 180.0 - 90.0,
        outline=tuple((float(x), float(y)) for x, y in outline.T),
    )


def share_inside(mean_m: float, sd_m: float, fairway_width_m: float) -> float:
    """Give the share of a normal pattern that ends inside a fairway [-]."""
    if sd_m <= 0.0:
        return float(abs(mean_m) <= fairway_width_m / 2.0)
    normal = NormalDist(mean_m, sd_m)
    return normal.cdf(fairway_width_m / 2.0) - normal.cdf(-fairway_width_m / 2.0)


def _columns(
    landing_offset_m: Sequence[float] | FloatArray, along: Sequence[float] | FloatArray | None
) -> tuple[FloatArray, FloatArray | None]:
    offset = np.asarray(landing_offset_m, dtype=np.float64).ravel()
    second = None if along is None else np.asarray(along, dtype=np.float64).ravel()
    if offset.size == 0:
        raise ImpossibleDelivery(["the shot table is empty, at least one shot is needed"])
    if second is not None and second.size != offset.size:
        complaint = (
            f"the columns differ in length, {offset.size} offsets and {second.size} in the other"
        )
        raise ImpossibleDelivery([complaint])
    complaints = [
        f"row {row + 1}: {name} is {column[row]:g}, a finite number is needed"
        for name, column in (("landing offset", offset), ("second column", second))
        if column is not None
        for row in np.flatnonzero(~np.isfinite(column))
    ]
    if complaints:
        raise ImpossibleDelivery(complaints)
    return offset, second


def far_from_others(offset: FloatArray) -> Flags:
    """Mark shots far from all others; none below ten shots or without a robust spread.

    Parameters
    ----------
    offset : ndarray
        Distance of each landing from the target line [m].

    Returns
    -------
    ndarray of bool
        True for a shot more than `MISHIT_SCORE` robust standard deviations from the median.
    """
    scale = 1.4826 * float(np.median(np.abs(offset - np.median(offset))))
    if offset.size < FEWEST_FOR_ADVICE or scale <= 0.0:
        return np.zeros(offset.size, dtype=np.bool_)
    return np.asarray(np.abs(offset - np.median(offset)) > MISHIT_SCORE * scale)


def _fix_first(
    kept: FloatArray, mean: float, spread: float, fairway_width_m: float | None
) -> tuple[tuple[float | None, float | None, float | None], First]:
    """Weigh taking out the bias against a quarter less spread."""
    if fairway_width_m is None or spread <= 0.0:
        return (None, None, None), "too few to tell"
    now = share_inside(mean, spread, fairway_width_m)
    centred = share_inside(0.0, spread, fairway_width_m)
    tighter = share_inside(mean, spread * (1.0 - SPREAD_CUT), fairway_width_m)
    shares = (now, centred, tighter)
    if kept.size < FEWEST_FOR_ADVICE:
        return shares, "too few to tell"
    if now > 0.95:
        return shares, "neither"
    biased = abs(mean) > _Z95 * spread / sqrt(kept.size)
    if not biased:
        return shares, "spread"
    if abs(centred - tighter) < 0.05:
        return shares, "either"
    return shares, "direction" if centred > tighter else "spread"
