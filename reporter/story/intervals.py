"""How sure a count of hits is: intervals for shares and for the difference of two shares."""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from statistics import NormalDist
from typing import Literal

Verdict = Literal["changed", "perhaps changed", "not shown to have changed", "cannot tell"]

LEAST_TRIES_TO_COMPARE = 5
PROGRESS_SHARE = 0.8
"""Eight of ten on two visits before a drill is made harder; common practice, no source."""


@dataclass(frozen=True, slots=True)
class ShareInterval:
    """A share of hits and the interval it is known to, all as fractions of 1."""

    hits: int
    tries: int
    low: float
    high: float

    @property
    def share(self) -> float:
        """The share itself."""
        return self.hits / self.tries


def wilson_interval(hits: int, tries: int, confidence: float = 0.95) -> ShareInterval:
    """Return the score interval of a share of hits.

    Parameters
    ----------
    hits, tries : int
        ``0 <= hits <= tries``, and one try or more.
    confidence : float
        Between 0 and 1, both excluded.

    Raises
    ------
    ValueError
        For counts or a confidence out of range.

    Notes
    -----
    With p = hits / n and z the normal quantile, centre and half width are
    (p + z^2 / 2n) / (1 + z^2 / n) and z sqrt(p (1 - p) / n + z^2 / 4n^2) / (1 + z^2 / n).

    References
    ----------
    Wilson, E. B. (1927). Probable inference, the law of succession, and statistical inference.
    Journal of the American Statistical Association 22, 209-212.
    """
    if tries < 1 or not 0 <= hits <= tries:
        reason = f"hits must lie between 0 and the tries, one or more; found {hits} of {tries}"
        raise ValueError(reason)
    if not 0 < confidence < 1:
        reason = f"confidence must lie between 0 and 1; found {confidence}"
        raise ValueError(reason)
    z = NormalDist().inv_cdf(0.5 + confidence / 2)
    share = hits / tries
    shrink = 1 + z * z / tries
    centre = (share + z * z / (2 * tries)) / shrink
    half = z * math.sqrt(share * (1 - share) / tries + z * z / (4 * tries * tries)) / shrink
    # The ends are 0 and 1 exactly where nothing or everything hit; rounding must not blur that.
    low = 0.0 if hits == 0 else max(0.0, centre - half)
    high = 1.0 if hits == tries else min(1.0, centre + half)
    return ShareInterval(hits, tries, low, high)


def difference_interval(before: ShareInterval, after: ShareInterval) -> tuple[float, float, float]:
    """Return the difference of two shares, after minus before, with its lower and upper end.

    Notes
    -----
    Each end joins the distances from the shares to their own score intervals in quadrature; the
    two intervals must have been made with one confidence.

    References
    ----------
    Newcombe, R. G. (1998). Interval estimation for the difference between independent
    proportions: comparison of eleven methods. Statistics in Medicine 17, 873-890, method 10.
    """
    difference = after.share - before.share
    down = math.hypot(after.share - after.low, before.high - before.share)
    up = math.hypot(after.high - after.share, before.share - before.low)
    return difference, difference - down, difference + up


def compare_counts(before: tuple[int, int], after: tuple[int, int]) -> Verdict:
    """Say whether a count of hits has changed between two tests of ``(hits, tries)``."""
    if min(before[1], after[1]) < LEAST_TRIES_TO_COMPARE:
        return "cannot tell"
    _, low, high = difference_interval(wilson_interval(*before), wilson_interval(*after))
    return "changed" if low > 0 or high < 0 else "not shown to have changed"


def ready_for_harder(results: Sequence[tuple[int, int]]) -> bool:
    """Return whether the hits reached eight of ten on two visits, each of five tries or more."""
    enough = [tries >= LEAST_TRIES_TO_COMPARE and hits >= PROGRESS_SHARE * tries
              for hits, tries in results]  # fmt: skip
    return sum(enough) >= 2


def whole_percent(fraction: float) -> int:
    """Round a fraction to whole per cent, halves up [%]."""
    return math.floor(fraction * 100 + 0.5)


def interval_words(interval: ShareInterval) -> str:
    """Say a count with its interval, such as ``8 of 10 is 49 to 94 per cent``."""
    low, high = whole_percent(interval.low), whole_percent(interval.high)
    return f"{interval.hits} of {interval.tries} is {low} to {high} per cent"
