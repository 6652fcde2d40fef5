"""The marks of one still: measured lines, references, arcs, joints, leaders and number tags."""

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass

from reporter.measure.measurement import Mark
from reporter.typeset.boxes import XY, Box
from reporter.typeset.strokes import (
    CHAIN,
    DASH,
    LEADER,
    MEASURED,
    REFERENCE,
    Cased,
    dimension_arc,
    dimension_line,
    joint,
    line,
    tag,
)

TAG_DISTANCE = 9.0
LEAST_TAG_DISTANCE = 5.5
"""A tag is 5.3 mm across with its outline."""
ARC_SHARE = 0.75
SMALLEST_RADIUS = 5.0
LARGEST_RADIUS = 26.0
SHORT_SEGMENT = 18.0
CLEAR_OF_JOINTS = 7.0


@dataclass(frozen=True, slots=True)
class Area:
    """The rectangle of a picture on the page, in millimetres."""

    x: float
    y: float
    width: float
    height: float

    def holds(self, point: XY, margin: float = 0.0) -> bool:
        """Whether a point lies inside."""
        return (
            self.x + margin <= point[0] <= self.x + self.width - margin
            and self.y + margin <= point[1] <= self.y + self.height - margin
        )


@dataclass(frozen=True, slots=True)
class Placed:
    """A mark in page millimetres, with the point its leader starts from."""

    number: int
    drawing: Cased
    joints: tuple[Box, ...]
    anchor: XY


@dataclass(frozen=True, slots=True)
class Drawing:
    """Strokes that stay inside the picture, and tags that sit on its edge."""

    inside: tuple[Box, ...]
    tags: tuple[Box, ...]


def place_mark(
    number: int, mark: Mark, to_page: Callable[[XY], XY], area: Area, state: str, ink: str
) -> Placed:
    """Return a mark's strokes on the page, clear of the picture's edge."""
    shape = {"angle": _angle, "flex": _flex, "shift": _shift, "length": _length}[mark.kind]
    drawing, anchor = shape(mark, to_page, area, state, ink)
    rings = tuple(box for at in mark.joints for box in joint(to_page(at), state, ink))
    return Placed(number, drawing, rings, anchor)


Drawn = tuple[Cased, XY]


def _measured(points: tuple[XY, ...], state: str, ink: str) -> Cased:
    return line(points, MEASURED, ink, dash=DASH if state == "before" else ())


def _angle(mark: Mark, to_page: Callable[[XY], XY], area: Area, state: str, ink: str) -> Drawn:
    start, end = to_page(mark.line[0]), to_page(mark.line[1])
    centre = to_page(mark.vertex)
    far = end if math.dist(end, centre) >= math.dist(start, centre) else start
    direction = math.atan2(far[1] - centre[1], far[0] - centre[0])
    low, high = (to_page(at) for at in mark.reference)
    reference = math.atan2(high[1] - low[1], high[0] - low[0])
    if math.cos(direction - reference) < 0:
        reference += math.pi
    reach = math.dist(far, centre)
    radius = _radius(centre, direction, reference, reach, area)
    drawing = _measured((start, end), state, ink)
    if radius > reach:
        beyond = radius + 3.0
        tip = (
            centre[0] + beyond * math.cos(direction),
            centre[1] + beyond * math.sin(direction),
        )
        drawing = line((far, tip), REFERENCE, ink) + drawing
    if mark.reference_is_drawn:
        begin, stop = radius - 7.0, radius + 7.0
        chain = tuple(
            (centre[0] + r * math.cos(reference), centre[1] + r * math.sin(reference))
            for r in (max(begin, 0.0), stop)
        )
        drawing = line(chain, REFERENCE, ink, dash=CHAIN) + drawing
    drawing = drawing + dimension_arc(centre, radius, direction, reference, ink)
    return drawing, _on_arc(centre, radius, direction, reference)


def _flex(mark: Mark, to_page: Callable[[XY], XY], area: Area, state: str, ink: str) -> Drawn:
    centre = to_page(mark.vertex)
    one, other = to_page(mark.line[1]), to_page(mark.reference[1])
    first = math.atan2(one[1] - centre[1], one[0] - centre[0])
    second = math.atan2(other[1] - centre[1], other[0] - centre[0])
    reach = min(math.dist(one, centre), math.dist(other, centre))
    radius = min(max(0.45 * reach, SMALLEST_RADIUS), 12.0)
    # The arc shows the bend: the shin against the thigh carried on in a straight line.
    onward = (
        centre[0] - 0.6 * reach * math.cos(first),
        centre[1] - 0.6 * reach * math.sin(first),
    )
    drawing = line((centre, onward), REFERENCE, ink, dash=CHAIN)
    drawing = drawing + _measured((one, centre, other), state, ink)
    drawing = drawing + dimension_arc(centre, radius, second, first + math.pi, ink)
    return drawing, _on_arc(centre, radius, second, first + math.pi)


def _shift(mark: Mark, to_page: Callable[[XY], XY], area: Area, state: str, ink: str) -> Drawn:
    old = to_page(mark.reference[0])
    now = to_page(mark.line[0])
    top = min(old[1], now[1]) + 3.0
    bottom = min(top + 16.0, area.y + area.height - 2.0)
    level = (top + bottom) / 2 + 3.0
    drawing = line(((old[0], top), (old[0], bottom)), REFERENCE, ink, dash=CHAIN)
    drawing = drawing + line(((now[0], top), (now[0], bottom)), REFERENCE, ink)
    if abs(now[0] - old[0]) > 0.05:
        left, right = sorted((old[0], now[0]))
        drawing = drawing + dimension_line((left, level), (right, level), ink)
    return drawing, (max(old[0], now[0]), level)


def _length(mark: Mark, to_page: Callable[[XY], XY], area: Area, state: str, ink: str) -> Drawn:
    start, end = to_page(mark.line[0]), to_page(mark.line[1])
    below = min(max(start[1], end[1]) + 4.0, area.y + area.height - 2.5)
    drawing = Cased()
    for foot in (start, end):
        drawing = drawing + line((foot, (foot[0], below + 1.5)), REFERENCE, ink)
    drawing = drawing + dimension_line((start[0], below), (end[0], below), ink)
    return drawing, (max(start[0], end[0]) - 1.0, below)


def _radius(centre: XY, one: float, other: float, reach: float, area: Area) -> float:
    """Return an arc radius of about three quarters of the segment that stays in the picture.

    A short level segment, such as a shoulder line on a small picture, has its arc outside the
    body, beyond its end, where it covers neither joints nor other marks.
    """
    radius = min(max(ARC_SHARE * reach, SMALLEST_RADIUS), LARGEST_RADIUS)
    if reach < SHORT_SEGMENT and abs(math.cos(other)) > 0.7:
        radius = reach + CLEAR_OF_JOINTS
    while radius > SMALLEST_RADIUS:
        spread = 5.5 / radius
        first, last = sorted((one, _near(other, one)))
        ends = [
            (centre[0] + radius * math.cos(angle), centre[1] + radius * math.sin(angle))
            for angle in (first - spread, first, last, last + spread)
        ]
        if all(area.holds(end, 1.0) for end in ends):
            break
        radius -= 1.0
    return radius


def _near(angle: float, other: float) -> float:
    """Return `angle` turned by whole turns so that it lies within half a turn of `other`."""
    return other + math.remainder(angle - other, 2 * math.pi)


def _on_arc(centre: XY, radius: float, one: float, other: float) -> XY:
    middle = one + math.remainder(other - one, 2 * math.pi) / 2
    return (centre[0] + radius * math.cos(middle), centre[1] + radius * math.sin(middle))


def tag_heights(anchors: Sequence[float], area: Area) -> list[float]:
    """Return the heights of the tags at the right edge, in the order given, well apart.

    Tags follow the heights of their anchors from top to bottom, so that no leaders cross.
    """
    order = sorted(range(len(anchors)), key=lambda i: anchors[i])
    low, high = area.y + 7.0, area.y + area.height - 5.0
    apart = TAG_DISTANCE
    if len(order) > 1 and apart * (len(order) - 1) > high - low:
        # Many tags on a low picture stand closer, as long as they do not touch.
        low, high = area.y + 3.2, area.y + area.height - 3.2
        apart = max((high - low) / (len(order) - 1), LEAST_TAG_DISTANCE)
    heights = [0.0] * len(anchors)
    previous = low - apart
    for index in order:
        previous = max(anchors[index], previous + apart, low)
        heights[index] = previous
    limit = high
    for index in reversed(order):
        limit = min(limit, heights[index])
        heights[index] = limit
        limit -= apart
    return heights


def draw_marks(placed: Sequence[Placed], heights: Sequence[float], area: Area, ink: str) -> Drawing:
    """Return what is clipped to the picture (strokes, leaders, joints) and, apart, the tags."""
    strokes: tuple[Box, ...] = ()
    rings: tuple[Box, ...] = ()
    leaders: tuple[Box, ...] = ()
    tags: tuple[Box, ...] = ()
    right = area.x + area.width
    for mark, height in zip(placed, heights, strict=True):
        strokes += mark.drawing.boxes
        rings += mark.joints
        leaders += line((mark.anchor, (right, height)), LEADER, ink).boxes
        tags += tag((right, height), mark.number, ink)
    return Drawing(leaders + strokes + rings, tags)


def height_for_tags(count: int) -> float:
    """Return the least height of a picture, in millimetres, at which so many tags do not touch."""
    return LEAST_TAG_DISTANCE * (count - 1) + 6.4 if count else 0.0
