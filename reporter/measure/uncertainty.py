"""How far a click may be off, and what that does to a number worked out from clicks."""

import math
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass

from reporter.measure.geometry import Pixels
from reporter.session.schema import Frame, MarkedPoint, Take, View

DEFAULT_CLICK_ERROR = 3.0
"""Standard deviation of one click in x and in y on a 1920 x 1080 picture [px]; assumed."""

REFERENCE_AREA = 1920 * 1080
"""Picture area for which the default holds [px2]."""

LEAST_CLICK_ERROR = 1.0
"""No click is believed to be better than this, however small the picture [px]; assumed."""

HIDDEN_FACTOR = 5.0 / 3.0
"""A point that cannot be seen well is this much worse (5 px where a plain one is 3 px); assumed."""

HARD_TO_SEE: dict[View, tuple[str, ...]] = {
    "face-on": ("lead_heel", "trail_heel"),
    "down-the-line": (
        "lead_shoulder",
        "lead_hip",
        "lead_knee",
        "lead_ankle",
        "lead_heel",
        "lead_toe",
    ),
    "feet": (),
}
"""Points that shoe or body hides in a view, whether or not the coach says so."""

CORNER_FACTOR = 2.0 / 3.0
"""A sharp corner on the ground is clicked this much better than a joint under clothes; assumed."""

PRIOR_FREEDOM = 8.0
"""Degrees of freedom the default click error is worth against the coach's own repeats."""


@dataclass(frozen=True, slots=True)
class ClickError:
    """The click error of one lesson.

    Attributes
    ----------
    reference_pixels : float
        Standard deviation of one click on a 1920 x 1080 picture, in x and in y [px].
    degrees_of_freedom : float
        How many independent repeats it was learned from; 0 for the default.
    """

    reference_pixels: float = DEFAULT_CLICK_ERROR
    degrees_of_freedom: float = 0.0

    def of(self, name: str, point: MarkedPoint, view: View, size: tuple[int, int]) -> float:
        """Return the standard deviation of the named point's place in x and in y [px].

        A point clicked n times stands at the mean of its clicks, with the error of a mean.
        """
        error = self.reference_pixels * scale_of(size) * difficulty_of(name, point, view)
        return max(error, LEAST_CLICK_ERROR) / math.sqrt(len(clicks_of(point)))

    def of_corner(self, size: tuple[int, int]) -> float:
        """Return the standard deviation of a clicked sharp corner [px]."""
        error = self.reference_pixels * scale_of(size) * CORNER_FACTOR
        return max(error, LEAST_CLICK_ERROR)


def scale_of(size: tuple[int, int]) -> float:
    """Return the click error's scale: a picture of twice the width and height doubles it.

    What limits a click is where the joint lies under the clothes, a length on the body; it
    grows with the picture like the body does.
    """
    return math.sqrt(size[0] * size[1] / REFERENCE_AREA)


def difficulty_of(name: str, point: MarkedPoint, view: View) -> float:
    """Return how much worse than a plain click the named point is (factor)."""
    return HIDDEN_FACTOR if point.hidden or name in HARD_TO_SEE[view] else 1.0


def clicks_of(point: MarkedPoint) -> tuple[Pixels, ...]:
    """Return every click made for a point [px]."""
    return ((point.at,) if point.at is not None else ()) + tuple(point.again)


def place_of(point: MarkedPoint) -> Pixels | None:
    """Return the mean of a point's clicks [px]; None if it was never clicked."""
    clicks = clicks_of(point)
    if not clicks:
        return None
    count = len(clicks)
    return (sum(x for x, _ in clicks) / count, sum(y for _, y in clicks) / count)


def learned_click_error(
    frames: Iterable[tuple[Frame, Take]], sizes: Mapping[str, tuple[int, int]]
) -> ClickError:
    """Return the coach's own click error, pooled over every repeated click of the lesson.

    Each point clicked n times adds 2 (n - 1) degrees of freedom. The default is mixed in with
    the weight of eight degrees of freedom, so that one lucky pair cannot promise too much.

    Parameters
    ----------
    frames : iterable of (Frame, Take)
        All frames of the lesson with their clips.
    sizes : mapping
        Frame id to width and height [px].

    Returns
    -------
    ClickError
        The default if nothing was clicked twice.

    Notes
    -----
    Pooled variance s^2 = sum of squared deviations / degrees of freedom, combined with the
    default as (n0 s0^2 + n s^2) / (n0 + n): the mean of the conjugate prior for a variance
    (Gelman et al., Bayesian Data Analysis, 3rd edition, section 2.6; from memory).
    """
    total, freedom = 0.0, 0.0
    for frame, take in frames:
        size = sizes.get(frame.id) or frame.size
        if size is None:
            continue
        for name, point in frame.points.items():
            clicks, mean = clicks_of(point), place_of(point)
            if len(clicks) < 2 or mean is None or not point.confirmed:
                continue
            unit = scale_of(size) * difficulty_of(name, point, take.view)
            total += sum((x - mean[0]) ** 2 + (y - mean[1]) ** 2 for x, y in clicks) / unit**2
            freedom += 2.0 * (len(clicks) - 1)
    if freedom == 0.0:
        return ClickError()
    variance = (PRIOR_FREEDOM * DEFAULT_CLICK_ERROR**2 + total) / (PRIOR_FREEDOM + freedom)
    return ClickError(math.sqrt(variance), freedom)


def line_error(length: float, first_error: float, second_error: float) -> float:
    """Return the standard error of the direction of a clicked line.

    Parameters
    ----------
    length : float
        Distance of the two clicks [px].
    first_error, second_error : float
        Standard deviations of the clicks in x and in y [px].

    Returns
    -------
    float
        sqrt(s1^2 + s2^2) / L [deg].
    """
    return math.degrees(math.hypot(first_error, second_error) / length)


def propagated(
    value_of: Callable[[Mapping[str, Pixels]], float],
    places: Mapping[str, Pixels],
    errors: Mapping[str, float],
) -> float:
    """Return the standard error of a number worked out from clicked points.

    First-order propagation with central differences of one standard deviation, clicks
    independent and equal in all directions.

    Parameters
    ----------
    value_of : callable
        The number as a function of the places.
    places : mapping
        Point name to place [px].
    errors : mapping
        Point name to standard deviation in x and in y [px].

    Returns
    -------
    float
        Standard error in the unit of `value_of`.

    References
    ----------
    JCGM 100:2008 (Guide to the expression of uncertainty in measurement), section 5.1.2 and
    note 2 of 5.1.3 (differences of one standard uncertainty).
    """
    variance = 0.0
    moved = dict(places)
    for name, place in places.items():
        error = errors[name]
        if error == 0.0:
            continue
        for step in ((error, 0.0), (0.0, error)):
            moved[name] = (place[0] + step[0], place[1] + step[1])
            above = value_of(moved)
            moved[name] = (place[0] - step[0], place[1] - step[1])
            variance += (above - value_of(moved)) ** 2 / 4.0
        moved[name] = place
    return math.sqrt(variance)
