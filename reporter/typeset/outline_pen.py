"""Curves run through as short straight lines, by the pen protocol that path readers draw with."""

import math
from collections.abc import Callable
from dataclasses import dataclass, field

from reporter.typeset.boxes import XY

MOST_POINTS = 20_000
Place = Callable[[float, float], XY]
"""From a drawing's own place to that on the finished sheet."""


class TooManyPointsError(ValueError):
    """A drawing is finer than any print."""


@dataclass(slots=True)
class Ring:
    """One stretch of an outline; a closed one ends where it began."""

    points: list[XY] = field(default_factory=list)
    closed: bool = False


class OutlinePen:
    """Takes an outline's moves, lines and curves and keeps the points along it.

    Parameters
    ----------
    place : callable
        Where a point comes to lie; curves are divided after it, so that they are as fine as
        needed at their final size.
    tolerance : float
        How far a line may leave its curve, in the units of the final place.
    """

    def __init__(self, place: Place, tolerance: float) -> None:
        self._place = place
        self._tolerance = tolerance
        self._count = 0
        self._last: XY = (0.0, 0.0)
        self.rings: list[Ring] = []

    def moveTo(self, at: XY) -> None:  # noqa: N802 - the protocol's names
        """Begin a stretch."""
        self.rings.append(Ring())
        self.lineTo(at)

    def lineTo(self, at: XY) -> None:  # noqa: N802
        """Go straight on."""
        self._last = at
        self._add(self._place(*at))

    def curveTo(self, *points: XY) -> None:  # noqa: N802
        """Follow a cubic Bezier curve: two handles and the end."""
        one, two, end = (self._place(*point) for point in points)
        self._last = points[-1]
        start = self.rings[-1].points[-1]
        # The farthest a curve strays from its chords falls with the square of their number
        # (bound by second differences; Farin, Curves and Surfaces for CAGD, 5th ed., 4.3).
        bend = max(
            math.hypot(a[0] - 2 * b[0] + c[0], a[1] - 2 * b[1] + c[1])
            for a, b, c in ((start, one, two), (one, two, end))
        )
        steps = max(1, math.ceil(math.sqrt(0.75 * bend / self._tolerance)))
        for number in range(1, steps + 1):
            t = number / steps
            weights = ((1 - t) ** 3, 3 * t * (1 - t) ** 2, 3 * t * t * (1 - t), t**3)
            four = (start, one, two, end)
            self._add(
                (
                    sum(w * p[0] for w, p in zip(weights, four, strict=True)),
                    sum(w * p[1] for w, p in zip(weights, four, strict=True)),
                )
            )

    def qCurveTo(self, handle: XY, end: XY) -> None:  # noqa: N802
        """Follow a quadratic Bezier curve, as the cubic one that is the same."""
        x, y = self._last
        self.curveTo(
            (x + 2 / 3 * (handle[0] - x), y + 2 / 3 * (handle[1] - y)),
            (end[0] + 2 / 3 * (handle[0] - end[0]), end[1] + 2 / 3 * (handle[1] - end[1])),
            end,
        )

    def closePath(self) -> None:  # noqa: N802
        """End a stretch where it began."""
        ring = self.rings[-1]
        ring.closed = True
        if len(ring.points) > 1 and math.dist(ring.points[0], ring.points[-1]) < 1e-9:
            ring.points.pop()

    def endPath(self) -> None:  # noqa: N802
        """End a stretch where it is."""

    def _add(self, at: XY) -> None:
        self._count += 1
        if self._count > MOST_POINTS:
            message = f"more than {MOST_POINTS} points"
            raise TooManyPointsError(message)
        if not (math.isfinite(at[0]) and math.isfinite(at[1])):
            message = "a number that is too large"
            raise ValueError(message)
        self.rings[-1].points.append(at)
