"""The lines of a drill's sketch: target line, ways of club and ball, dimensions, breaks."""

import math
from collections.abc import Sequence
from itertools import groupby

import numpy as np
from numpy.typing import NDArray

from reporter.story import sketch as data
from reporter.typeset.blocks.sketch_items import Pen
from reporter.typeset.boxes import XY, Box, Path
from reporter.typeset.outlines import between, beyond, direction, length_of, shortened
from reporter.typeset.strokes import CHAIN, DOTTED, WHITE, dimension_line, head

CLUB_PATH_WIDTH = 0.75
BALL_PATH_WIDTH = 0.45
MOTION_WIDTH = 0.35
COINCIDE = 0.8
"""Lines nearer than this [mm] cannot be told apart."""
LONGEST_CROSSING = 5.0
"""A line that is near for less than this [mm] merely crosses."""
SHORTEST_PART = 3.0


def target_line(item: data.TargetLine, pen: Pen, over: Sequence[Sequence[XY]]) -> list[Box]:
    """Return the target line as a chain line, left out where another line runs along it.

    Of lines that coincide the one that says more is drawn (order of precedence in ISO 128).
    """
    start, end = pen.line((item.start, item.end))
    return [
        Path(part, 0.3 * pen.weight, pen.style.ink, dash=CHAIN)
        for part in bare_parts(start, end, over)
    ]


def bare_parts(start: XY, end: XY, over: Sequence[Sequence[XY]]) -> list[tuple[XY, XY]]:
    """Return the parts of a straight line along which none of other lines runs.

    A line that merely crosses covers nothing; parts too short for one dash are dropped.
    """
    whole = math.dist(start, end)
    count = max(1, math.ceil(whole / 0.25))
    places = [between(start, end, i / count) for i in range(count + 1)]
    covered = _near(np.array(places), over).tolist()
    parts: list[tuple[XY, XY]] = []
    first = 0
    for hidden, group in groupby(covered):
        run = len(list(group))
        last = first + run - 1
        if hidden and run * whole / count >= LONGEST_CROSSING:
            parts.append((places[first], places[last]))
        first += run
    edges = [start, *(edge for part in parts for edge in part), end]
    bare = zip(edges[::2], edges[1::2], strict=True)
    return [(a, b) for a, b in bare if math.dist(a, b) >= SHORTEST_PART]


def _near(places: NDArray[np.float64], lines: Sequence[Sequence[XY]]) -> NDArray[np.bool_]:
    """Return which of some places lie near any of some lines through points."""
    near = np.zeros(len(places), bool)
    for line in lines:
        points = np.array(line)
        start, way = points[:-1], np.diff(points, axis=0)
        square = np.maximum((way**2).sum(axis=1), 1e-12)
        share = (places @ way.T - (start * way).sum(axis=1)) / square
        share = np.minimum(np.maximum(share, 0.0), 1.0)
        off = [places[:, i, None] - start[:, i] - share * way[:, i] for i in (0, 1)]
        near |= (off[0] ** 2 + off[1] ** 2 < COINCIDE**2).any(axis=1)
    return near


def plain_line(item: data.Line, pen: Pen) -> list[Box]:
    """Return any other line."""
    width, ink, dash = {
        "ground": (0.2, pen.style.hairline, ()),
        "plain": (0.35, pen.style.ink, ()),
        "dashed": (0.3, pen.style.ink, (1.7, 1.0)),
        "dotted": (0.35, pen.style.ink, DOTTED),
    }[item.style]
    round_cap = item.style == "dotted"
    return [Path(pen.line(item.points), width * pen.weight, ink, dash=dash, round_cap=round_cap)]


def _arrowed(
    curve: tuple[XY, ...],
    ink: str,
    width: float,
    head_size: tuple[float, float],
    *,
    dash: tuple[float, ...] = (),
    both_ways: bool = False,
    round_cap: bool = False,
) -> list[Box]:
    """Return a curve with a filled head at its end, or at both ends."""
    length, breadth = head_size
    whole = length_of(curve)
    length = min(length, 0.45 * whole)
    body = shortened(curve, 0.85 * length)
    ends = [(curve, body)]
    if both_ways:
        body = tuple(reversed(shortened(tuple(reversed(body)), 0.85 * length)))
        ends.append((tuple(reversed(curve)), body))
    boxes: list[Box] = [Path(body, width, ink, dash=dash, round_cap=round_cap)]
    for way, _ in ends:
        # The head points along the last stretch of its own length: a bent end stays smooth.
        root = shortened(way, length)[-1]
        u, v = direction(root, way[-1])
        tip = head(way[-1], math.atan2(v, u), ink, length=length, width=breadth, cased=False)
        boxes += tip.boxes
    return boxes


def club_path(item: data.ClubPath, pen: Pen) -> list[Box]:
    """Return the way of the club head."""
    points, weight = pen.curve(item.points), pen.weight
    if item.faded:
        return _arrowed(points, pen.style.secondary, 0.4 * weight, (2.2, 1.3), dash=(1.7, 1.0))
    size = (3.0 * weight**0.5, 1.75 * weight**0.5)
    return _arrowed(points, pen.style.brand, CLUB_PATH_WIDTH * weight, size)


def ball_path(item: data.BallPath, pen: Pen) -> list[Box]:
    """Return the way of the ball, dotted."""
    ink = pen.style.secondary if item.faded else pen.style.ink
    width = (0.3 if item.faded else BALL_PATH_WIDTH) * pen.weight
    dots = (0.01, 1.15 * pen.weight)
    return _arrowed(pen.curve(item.points), ink, width, (2.2, 1.3), dash=dots, round_cap=True)


def motion(item: data.Motion, pen: Pen) -> list[Box]:
    """Return how a part of the body moves."""
    return _arrowed(
        pen.curve(item.points),
        pen.style.ink,
        MOTION_WIDTH * pen.weight,
        (2.2, 1.3),
        both_ways=item.both_ways,
    )


def target_arrow(item: data.TargetArrow, pen: Pen) -> list[Box]:
    """Return the arrow that says where the target is."""
    tip = (item.at[0] + item.length, item.at[1])
    points = pen.line((item.at, tip))
    return _arrowed(points, pen.style.ink, 0.35 * pen.weight, (2.4, 1.1))


def break_sign(item: data.Break, pen: Pen) -> list[Box]:
    """Return two wavy lines with white between: a length drawn shorter than it is (ISO 128)."""
    x, y = pen.to_page(item.at)
    half = max(item.width * pen.scale / 2, 2.2)
    gap, swing = 0.75, 0.45
    count = 16

    def wave(shift: float) -> list[XY]:
        return [
            (x + half * (2 * i / count - 1), y + shift - swing * math.sin(2 * math.pi * i / count))
            for i in range(count + 1)
        ]

    above, below = wave(-gap), wave(gap)
    stroke = 0.25 * pen.weight
    return [
        Path((*above, *reversed(below)), 0.0, WHITE, closed=True, fill=WHITE),
        Path(tuple(above), stroke, pen.style.ink),
        Path(tuple(below), stroke, pen.style.ink),
    ]


def dimension(item: data.Dimension, pen: Pen) -> list[Box]:
    """Return a dimension line with extension lines; the text comes later."""
    a, b = pen.line(ends_of(item))
    boxes: list[Box] = []
    if abs(item.offset) > 1e-9:
        for root, tip in ((pen.to_page(item.start), a), (pen.to_page(item.end), b)):
            way = direction(root, tip)
            reach = math.dist(root, tip)
            # A small gap at the thing measured, a small overshoot past the line (ISO 129).
            gap = min(1.2, 0.3 * reach)
            boxes.append(
                Path(
                    (beyond(root, way, gap), beyond(tip, way, 0.9)),
                    0.18 * pen.weight,
                    pen.style.ink,
                )
            )
    boxes += dimension_line(a, b, pen.style.ink, cased=False).boxes
    return boxes


def ends_of(item: data.Dimension) -> tuple[XY, XY]:
    """Return the ends of the dimension line itself in centimetres."""
    along = direction(item.start, item.end)
    start = beyond(item.start, along, 0.0, aside=item.offset)
    end = beyond(item.end, along, 0.0, aside=item.offset)
    return start, end
