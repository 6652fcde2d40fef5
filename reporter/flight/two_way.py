"""Whether a table of shots shows a two-way miss."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import numpy as np

from reporter.flight.impossible import FloatArray

FEWEST_FOR_TWO_WAY = 20
"""Below this many shots there is no verdict."""

LEAST_GAIN = 2.0
LEAST_CLUSTER = 0.25
LEAST_GAP = 3.0
MOST_BETWEEN = 0.3
"""The rule: two normals fit better by more than this in the Bayesian information criterion, the
lighter cluster holds at least this share, the centres lie more than this many within-cluster
standard deviations apart, and the middle third of the gap holds less than this share of what
lies to either side of it."""

MOST_FITTED = 1000
"""From twice as many shots on the two normals are fitted to every so-manieth in order."""

_STEPS = 200

Verdict = Literal[
    "two-way",
    "two groups on one side",
    "one pattern",
    "both sides seen, too few to tell",
    "too few to tell",
]


@dataclass(frozen=True, slots=True)
class TwoWay:
    """Verdict on a two-way miss.

    Attributes
    ----------
    verdict : str
        One of `Verdict`.
    centres_m : (float, float) or None
        Centres of the two groups [m], right positive, where there are two.
    counts : (int, int) or None
        Shots nearer to each.
    """

    verdict: Verdict
    centres_m: tuple[float, float] | None = None
    counts: tuple[int, int] | None = None


def two_way_miss(landing_offset_m: FloatArray) -> TwoWay:
    """Judge whether shots miss to both sides with little between.

    Parameters
    ----------
    landing_offset_m : ndarray
        Landing from the target line [m], right positive.

    Returns
    -------
    TwoWay
        The verdict.

    Notes
    -----
    Two normals of one common spread are fitted by expectation-maximisation from the two halves
    of the ordered shots.  The information criterion alone is fooled by skewed and heavy-tailed
    patterns; the share, gap and emptiness conditions are there for them.

    By simulation (1500 tables each of 20, 30, 50 and 100 shots) the rule fires on at most 1.5 %
    of normal, 0.5 % of t(3), 5.5 % of skewed, 17 % of uniform and 15 % of 80/20 one-way
    patterns, and on 52, 64, 78 and 90 % of true two-way patterns with a gap of 4 standard
    deviations.

    References
    ----------
    Schwarz 1978, Annals of Statistics 6, 461-464 (information criterion).
    Dempster, Laird, Rubin 1977, Journal of the Royal Statistical Society B 39, 1-38.
    """
    values = np.sort(landing_offset_m)
    spread = float(values.std())
    middle = float(np.median(values))
    if values.size < FEWEST_FOR_TWO_WAY:
        low = int(np.count_nonzero(values < -0.5 * spread))
        high = int(np.count_nonzero(values > 0.5 * spread))
        if values.size >= 4 and min(low, high) >= 0.25 * values.size:
            return TwoWay("both sides seen, too few to tell")
        return TwoWay("too few to tell")
    if spread <= 0.0:
        return TwoWay("one pattern")
    # Of a very long ordered table evenly spaced rows tell the groups as well as all of them.
    some = values[:: max(values.size // MOST_FITTED, 1)]
    share, left, right, within = _two_normals((some - middle) / spread)
    if not _fires((values - middle) / spread, share, left, right, within):
        return TwoWay("one pattern")
    border = 0.5 * (left + right) * spread + middle
    nearer_left = int(np.count_nonzero(values < border))
    centres = left * spread + middle, right * spread + middle
    both_sides = centres[0] < 0.0 < centres[1]
    return TwoWay(
        "two-way" if both_sides else "two groups on one side",
        centres,
        (nearer_left, values.size - nearer_left),
    )


def _two_normals(values: FloatArray) -> tuple[float, float, float, float]:
    """Fit two normals of one spread; give the left share, both centres and the spread."""
    half = values.size // 2
    share, left, right = 0.5, float(values[:half].mean()), float(values[half:].mean())
    within = float(np.sqrt(0.5 * (values[:half].var() + values[half:].var()))) + 1e-3
    for _ in range(_STEPS):
        # Log ratio of the two densities; clipped because exp() of a far shot overflows.
        ratio = ((values - left) ** 2 - (values - right) ** 2) / (2.0 * within**2)
        belongs = 1.0 / (1.0 + (1.0 - share) / share * np.exp(np.clip(ratio, -500.0, 500.0)))
        weight = float(belongs.sum())
        if not 1e-6 < weight < values.size - 1e-6:
            break
        before = left, right
        share = weight / values.size
        left = float(belongs @ values) / weight
        right = float((1.0 - belongs) @ values) / (values.size - weight)
        square = belongs @ (values - left) ** 2 + (1.0 - belongs) @ (values - right) ** 2
        within = max(float(np.sqrt(square / values.size)), 1e-3)
        if abs(left - before[0]) + abs(right - before[1]) < 1e-6:
            break
    return share, left, right, within


def _fires(values: FloatArray, share: float, left: float, right: float, within: float) -> bool:
    """Apply the four conditions of the rule."""
    count = values.size
    two = np.log(
        share * _density(values, left, within)
        + (1.0 - share) * _density(values, right, within)
        + 1e-300
    ).sum()
    one = np.log(_density(values, float(values.mean()), float(values.std())) + 1e-300).sum()
    gain = 2.0 * (two - one) - 2.0 * np.log(count)  # two more parameters
    gap = right - left
    if gain <= LEAST_GAIN or min(share, 1.0 - share) < LEAST_CLUSTER or gap <= LEAST_GAP * within:
        return False
    third = gap / 3.0
    outer_left = int(np.count_nonzero(values < left + third))
    outer_right = int(np.count_nonzero(values >= right - third))
    between = count - outer_left - outer_right
    return between < MOST_BETWEEN * min(outer_left, outer_right)


def _density(values: FloatArray, centre: float, spread: float) -> FloatArray:
    score = (values - centre) / spread
    return np.asarray(np.exp(-0.5 * score**2) / (spread * np.sqrt(2.0 * np.pi)))
