"""Outlines in millimetres: discs, hulls, tapered limbs, smooth curves, and shapes drawn as one."""

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import pairwise

from reporter.typeset.boxes import XY, Box, Path

Station = tuple[XY, float]
"""A place on the axis of a limb, and half the limb's width there."""


@dataclass(frozen=True, slots=True)
class Piece:
    """A closed outline and the ink it is filled with."""

    outline: tuple[XY, ...]
    fill: str


def as_one(pieces: Sequence[Piece], width: float, ink: str) -> list[Box]:
    """Return pieces drawn as one shape: an outline around them all, none between them.

    Every piece is stroked first and filled after, so that only the outer half of the strokes,
    `width` millimetres, stays in sight.
    """
    strokes: list[Box] = [
        Path(piece.outline, 2 * width, ink, closed=True, fill=ink) for piece in pieces
    ]
    fills: list[Box] = [
        Path(piece.outline, 0.0, piece.fill, closed=True, fill=piece.fill) for piece in pieces
    ]
    return strokes + fills


def between(one: XY, other: XY, share: float) -> XY:
    """Return the point at a share of the way from one point to another."""
    return (one[0] + share * (other[0] - one[0]), one[1] + share * (other[1] - one[1]))


def direction(one: XY, other: XY) -> XY:
    """Return the unit vector from one point to another; straight down if they coincide."""
    length = math.dist(one, other)
    if length < 1e-9:
        return (0.0, 1.0)
    return ((other[0] - one[0]) / length, (other[1] - one[1]) / length)


def beyond(start: XY, along: XY, distance: float, *, aside: float = 0.0) -> XY:
    """Return the point a distance along a unit vector, and `aside` along its normal (-y, x)."""
    u, v = along
    return (start[0] + u * distance - v * aside, start[1] + v * distance + u * aside)


CIRCLE = tuple((math.cos(math.pi * i / 10), math.sin(math.pi * i / 10)) for i in range(20))


def disc_points(centre: XY, radius: float) -> list[XY]:
    """Return twenty points around a circle."""
    x, y = centre
    return [(x + radius * u, y + radius * v) for u, v in CIRCLE]


def ellipse(centre: XY, along: XY, half_length: float, half_width: float) -> tuple[XY, ...]:
    """Return the outline of an ellipse whose long axis lies along a unit vector."""
    turns = (2 * math.pi * i / 32 for i in range(32))
    return tuple(
        beyond(centre, along, half_length * math.cos(t), aside=half_width * math.sin(t))
        for t in turns
    )


def hull(points: Iterable[XY]) -> tuple[XY, ...]:
    """Return the convex hull of points.

    References
    ----------
    A. M. Andrew, "Another efficient algorithm for convex hulls in two dimensions",
    Information Processing Letters 9 (1979) 216-219.
    """
    ordered = sorted(set(points))
    if len(ordered) < 3:
        return tuple(ordered)

    def chain(some: Iterable[XY]) -> list[XY]:
        kept: list[XY] = []
        for x, y in some:
            while len(kept) > 1:
                (x1, y1), (x2, y2) = kept[-2:]
                if (x2 - x1) * (y - y1) > (y2 - y1) * (x - x1):
                    break
                kept.pop()
            kept.append((x, y))
        return kept[:-1]

    return tuple(chain(ordered) + chain(reversed(ordered)))


def limb(stations: Sequence[Station], fill: str, *, flat_end: bool = False) -> list[Piece]:
    """Return the pieces of a tapered limb; its far end is round, or cut square like a cuff."""
    pieces = []
    for number, ((start, r1), (end, r2)) in enumerate(
        zip(stations[:-1], stations[1:], strict=True)
    ):
        last = number == len(stations) - 2
        around = cut(start, end, r2) if last and flat_end else disc_points(end, r2)
        pieces.append(Piece(hull([*disc_points(start, r1), *around]), fill))
    return pieces


def cut(start: XY, end: XY, half_width: float) -> list[XY]:
    """Return the two ends of a line square across a limb at `end`."""
    along = direction(start, end)
    return [beyond(end, along, 0.0, aside=half_width), beyond(end, along, 0.0, aside=-half_width)]


def smooth(points: Sequence[XY], *, closed: bool = False, steps: int = 10) -> tuple[XY, ...]:
    """Return a smooth curve through points: a cubic spline over the length of the chords.

    References
    ----------
    C. de Boor, A Practical Guide to Splines (1978), chapter IV: natural end conditions; a closed
    curve is run past its join on both sides so that none is seen there.
    """
    kept = [p for i, p in enumerate(points) if i == 0 or math.dist(p, points[i - 1]) > 1e-9]
    if len(kept) < 3:
        return tuple(kept)
    if not closed:
        return _spline(kept, steps)
    extra = min(3, len(kept) - 1)
    ring = [*kept[-extra:], *kept, *kept[: extra + 1]]
    curve = _spline(ring, steps)
    return curve[extra * steps : (extra + len(kept)) * steps]


def _spline(points: Sequence[XY], steps: int) -> tuple[XY, ...]:
    knots = [0.0]
    for a, b in pairwise(points):
        knots.append(knots[-1] + math.dist(a, b))
    bends = zip(*(_bends(knots, values) for values in zip(*points, strict=True)), strict=True)
    # Shares of the two ends' places and bends at each step between them.
    shares = [
        (1 - t, t, ((1 - t) ** 3 - (1 - t)) / 6, (t**3 - t) / 6)
        for t in (j / steps for j in range(steps))
    ]
    ends = list(zip(points, bends, knots, strict=True))
    curve: list[XY] = []
    for ((x1, y1), (u1, v1), start), ((x2, y2), (u2, v2), end) in pairwise(ends):
        square = (end - start) ** 2
        curve += [
            (
                left * x1 + right * x2 + (before * u1 + after * u2) * square,
                left * y1 + right * y2 + (before * v1 + after * v2) * square,
            )
            for left, right, before, after in shares
        ]
    return (*curve, points[-1])


def _bends(knots: Sequence[float], values: Sequence[float]) -> list[float]:
    """Solve the spline's three-diagonal equations by elimination; both ends are straight."""
    count = len(values)
    factor, bend = [0.0] * count, [0.0] * count
    for i in range(1, count - 1):
        before, after = knots[i] - knots[i - 1], knots[i + 1] - knots[i]
        share = before / (before + after)
        pivot = share * factor[i - 1] + 2.0
        factor[i] = (share - 1.0) / pivot
        slope = (values[i + 1] - values[i]) / after - (values[i] - values[i - 1]) / before
        bend[i] = (6.0 * slope / (before + after) - share * bend[i - 1]) / pivot
    for i in range(count - 2, 0, -1):
        bend[i] += factor[i] * bend[i + 1]
    return bend


def rounded(points: Sequence[XY], *, sharpest: float = 55.0) -> tuple[XY, ...]:
    """Return a closed outline with its gentle corners smoothed.

    Corners that turn by more than `sharpest` degrees stay corners.
    """
    count = len(points)
    if count < 4:
        return tuple(points)
    corners = [
        i
        for i in range(count)
        if _turning(points[i - 1], points[i], points[(i + 1) % count]) > sharpest
    ]
    if not corners:
        return smooth(points, closed=True)
    outline: list[XY] = []
    for place, corner in enumerate(corners):
        following = corners[(place + 1) % len(corners)]
        span = (following - corner) % count or count
        part = [points[(corner + i) % count] for i in range(span + 1)]
        outline += smooth(part)[:-1]
    return tuple(outline)


def _turning(before: XY, at: XY, after: XY) -> float:
    """Return by how many degrees the way turns at a point."""
    one, other = direction(before, at), direction(at, after)
    cosine = one[0] * other[0] + one[1] * other[1]
    return math.degrees(math.acos(max(-1.0, min(1.0, cosine))))


def length_of(points: Sequence[XY]) -> float:
    """Return the length of a line through points."""
    return sum(math.dist(a, b) for a, b in zip(points[:-1], points[1:], strict=True))


def shortened(points: Sequence[XY], amount: float) -> tuple[XY, ...]:
    """Return a line through points without its last `amount` millimetres."""
    kept = list(points)
    while len(kept) > 1:
        last = math.dist(kept[-2], kept[-1])
        if last > amount:
            kept[-1] = between(kept[-1], kept[-2], amount / last)
            break
        amount -= last
        kept.pop()
    return tuple(kept)
