"""Where ink lies in a small drawing, and the nearest free place for a label."""

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from functools import lru_cache
from itertools import chain

import numpy as np
from numpy.typing import NDArray

from reporter.typeset.boxes import XY, Box, Disc, Path, Text
from reporter.typeset.faces import MILLIMETRES_PER_POINT
from reporter.typeset.outlines import disc_points

CELL = 0.4
ASCENT, DESCENT = 0.72, 0.21
"""Height above and depth below the baseline of a line of text, in parts of its size."""
LABEL_WEIGHT = 40
"""How much worse a label on a label is than a label on a line."""
NEAR = 80
"""So many of the nearest shifts are tried before all the others."""

Rectangle = tuple[float, float, float, float]
"""Left, top, right, bottom in millimetres."""
Numbers = NDArray[np.float64]
Plane = NDArray[np.complex128]
"""Points, their x in the real and their y in the imaginary part."""


def rectangle_of(text: Text) -> Rectangle:
    """Return the rectangle of an upright text."""
    em = text.size * MILLIMETRES_PER_POINT
    return (text.x, text.y - ASCENT * em, text.x + text.width, text.y + DESCENT * em)


def extents(boxes: Iterable[Box]) -> Rectangle:
    """Return the rectangle around all ink of boxes; without any a point at (0, 0)."""
    areas = []
    for box in boxes:
        if isinstance(box, Path):
            half = box.width / 2
            xs, ys = zip(*box.points, strict=True)
            areas.append((min(xs) - half, min(ys) - half, max(xs) + half, max(ys) + half))
        elif isinstance(box, Disc):
            reach = box.radius + box.width / 2
            areas.append((box.x - reach, box.y - reach, box.x + reach, box.y + reach))
        elif isinstance(box, Text):
            areas.append(rectangle_of(box))
        else:
            areas.append((box.x, box.y, box.x + box.width, box.y + box.height))
    return around(areas or [(0.0, 0.0, 0.0, 0.0)])


def around(areas: Iterable[Rectangle]) -> Rectangle:
    """Return the rectangle around rectangles."""
    lefts, tops, rights, bottoms = zip(*areas, strict=True)
    return (min(lefts), min(tops), max(rights), max(bottoms))


def grown(area: Rectangle, by: float) -> Rectangle:
    """Return a rectangle with a margin [mm] on all four sides."""
    return (area[0] - by, area[1] - by, area[2] + by, area[3] + by)


def shifted(area: Rectangle, by: XY) -> Rectangle:
    """Return a rectangle moved to the right and down."""
    return (area[0] + by[0], area[1] + by[1], area[2] + by[0], area[3] + by[1])


@dataclass(eq=False, slots=True)
class FreeSpace:
    """What lines, discs and outlines leave free for labels.

    The ink is noted cell by cell and the cells are summed up once from the top left corner, so
    that asking for any rectangle costs four look-ups however much is drawn.
    """

    corner: XY
    sums: NDArray[np.int32]
    taken: list[Rectangle] = field(default_factory=list)
    """Where other labels stand already."""

    @classmethod
    def between(cls, boxes: Iterable[Box], area: Rectangle) -> "FreeSpace":
        """Return the space that boxes leave free, all of which lie in an area; no texts."""
        inked = _inked(boxes, area)
        sums = np.zeros((inked.shape[0] + 1, inked.shape[1] + 1), np.int32)
        np.cumsum(inked, axis=0, out=sums[1:, 1:])
        np.cumsum(sums[1:, 1:], axis=1, out=sums[1:, 1:])
        return cls((area[0], area[1]), sums)

    def ink_in(self, area: Rectangle) -> int:
        """Return how many inked cells a rectangle touches; those of a label weigh more."""
        return int(self._ink(area, np.zeros((1, 2)))[0])

    def _ink(self, area: Rectangle, shifts: Numbers) -> Numbers:
        """Return the weights of the cells under a rectangle after each of some shifts."""
        moved = np.array(area)[:, None] + np.concatenate((shifts, shifts), axis=1).T
        cells = (moved - np.array(self.corner * 2)[:, None]) / CELL
        most = np.array(self.sums.shape)[::-1, None] - 1
        left, top = np.minimum(np.maximum(np.floor(cells[:2]), 0), most).astype(np.intp)
        right, bottom = np.minimum(np.maximum(np.ceil(cells[2:]), 0), most).astype(np.intp)
        sums = self.sums
        ink = sums[bottom, right] - sums[top, right] - sums[bottom, left] + sums[top, left]
        if not self.taken:
            return np.asarray(ink, np.float64)
        others = np.array(self.taken)[:, :, None]
        sides = np.minimum(moved[2:], others[:, 2:]) - np.maximum(moved[:2], others[:, :2])
        wide, high = sides[:, 0], sides[:, 1]
        over = (wide > 0) & (high > 0)
        return np.asarray(ink + LABEL_WEIGHT * (over * (1 + wide * high / CELL**2)).sum(axis=0))

    def place(
        self,
        area: Rectangle,
        within: Rectangle,
        margin: float,
        reach: float,
        prefer: Sequence[XY] = (),
    ) -> tuple[XY, bool]:
        """Return the smallest shift that brings a label to a free place.

        Parameters
        ----------
        area : rectangle
            Where the label would like to stand.
        within : rectangle
            Which the label must not leave.
        margin : float
            White to keep around it [mm].
        reach : float
            The farthest it may be shifted [mm].
        prefer : sequence of (dx, dy)
            Shifts that are tried first, in this order.

        Returns
        -------
        tuple of a shift and a bool
            dx, dy, and whether that place is free; if none is, that with the least ink under it.
        """
        lowest = np.array((within[0] - area[0], within[1] - area[1]))
        highest = np.array((within[2] - area[2], within[3] - area[3]))
        home = np.minimum(np.maximum(0.0, lowest), highest)
        nearby = home + _shifts_by_distance(reach)
        wide = grown(area, margin)
        best, least = home, math.inf
        for some in (np.array(prefer).reshape(-1, 2), nearby[:NEAR], nearby[NEAR:]):
            if not len(some):
                continue
            shifts = np.minimum(np.maximum(some, lowest), highest)
            ink = self._ink(wide, shifts)
            cost = np.where(ink > 0, ink + 0.2 * np.hypot(shifts[:, 0], shifts[:, 1]), 0.0)
            first = int(np.argmin(cost))
            if cost[first] < least:
                best, least = shifts[first], cost[first]
            if least == 0:
                break
        return (float(best[0]), float(best[1])), least == 0


def _inked(boxes: Iterable[Box], area: Rectangle) -> NDArray[np.bool_]:
    """Return which cells of an area, row by row, carry ink."""
    lines: list[Sequence[XY]] = []
    halves: list[float] = []
    fills: dict[int, Sequence[XY]] = {}
    for box in boxes:
        if isinstance(box, Disc):
            ring = disc_points((box.x, box.y), box.radius + box.width / 2)
            fills[id(ring)] = ring
            lines.append((*ring, ring[0]))
            halves.append(0.0)
        elif isinstance(box, Path):
            if box.width > 0:
                lines.append((*box.points, box.points[0]) if box.closed else box.points)
                halves.append(box.width / 2)
            if box.closed and box.fill:
                fills[id(box.points)] = box.points
    rows = max(1, math.ceil((area[3] - area[1]) / CELL))
    columns = max(1, math.ceil((area[2] - area[0]) / CELL))
    corner = complex(area[0], area[1])
    grid = np.zeros((rows, columns), bool)
    if fills:
        grid |= _filled(list(fills.values()), corner, grid.shape)
    if lines:
        cells = (_along(lines, halves) - corner) / CELL
        row = np.clip(cells.imag, 0, rows - 1).astype(np.int64)
        grid[row, np.clip(cells.real, 0, columns - 1).astype(np.int64)] = True
    return grid


def _joined(lines: Sequence[Sequence[XY]]) -> tuple[Plane, NDArray[np.int64]]:
    """Return the points of all lines one after the other, and how many each has."""
    flat = chain.from_iterable(chain.from_iterable(lines))
    return np.fromiter(flat, np.float64).view(np.complex128), np.array([*map(len, lines)])


def _along(lines: Sequence[Sequence[XY]], halves: Sequence[float]) -> Plane:
    """Return places less than a cell apart along both edges of lines of some half widths."""
    points, counts = _joined(lines)
    starts = np.ones(len(points), bool)
    starts[np.cumsum(counts) - 1] = False
    start = points[starts]
    way = points[np.flatnonzero(starts) + 1] - start
    length = np.abs(way)
    half = np.repeat(np.array(halves), counts - 1)
    aside = 1j * way * np.where(half > CELL / 2, half, 0.0) / np.maximum(length, 1e-9)
    steps = np.maximum(1, np.ceil(length / (0.7 * CELL))).astype(np.int64)
    which, number = _counted(steps + 1)
    middle = start[which] + (way / steps)[which] * number
    aside = aside[which]
    return np.concatenate((middle + aside, middle - aside))


def _counted(counts: NDArray[np.int64]) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
    """Return the numbers 0 to n - 1 for each count n, and before them whose numbers they are."""
    which = np.repeat(np.arange(len(counts)), counts)
    return which, np.arange(len(which)) - (np.cumsum(counts) - counts)[which]


def _filled(
    outlines: Sequence[Sequence[XY]], corner: complex, shape: tuple[int, int]
) -> NDArray[np.bool_]:
    """Return the cells inside outlines: those in whose row an outline is entered and not left.

    All outlines are run through in one direction, so that where they overlap they add up.
    """
    points, counts = _joined(outlines)
    points = (points - corner) / CELL
    last = np.cumsum(counts) - 1
    following = np.arange(1, len(points) + 1)
    following[last] = last - counts + 1
    x1, y1, x2, y2 = points.real, points.imag, points.real[following], points.imag[following]
    turn = np.repeat(np.add.reduceat(x1 * y2 - x2 * y1, last - counts + 1), counts)
    # An edge crosses the rows whose middle lies between its ends.
    first, end = np.clip(np.ceil(np.sort((y1, y2), axis=0) - 0.5), 0, shape[0]).astype(np.int64)
    which, row = _counted(end - first)
    row += first[which]
    slope = ((x2 - x1)[which]) / (y2 - y1)[which]
    at = x1[which] + (row + 0.5 - y1[which]) * slope
    entering = ((y2 - y1) * turn)[which] < 0
    column = np.clip(np.where(entering, np.floor(at), np.ceil(at)), 0, shape[1]).astype(np.int64)
    changes = np.zeros((shape[0], shape[1] + 1), np.int16)
    np.add.at(changes, (row, column), np.where(entering, 1, -1).astype(np.int16))
    return np.asarray(np.cumsum(changes[:, :-1], axis=1, dtype=np.int16) > 0)


@lru_cache(maxsize=8)
def _shifts_by_distance(reach: float) -> Numbers:
    """Return shifts by growing distance; across costs as much as along."""
    step = 2 * CELL
    count = math.ceil(reach / step)
    grid = [
        (i * step, j * step)
        for i in range(-count, count + 1)
        for j in range(-count, count + 1)
        if math.hypot(i, j) * step <= reach
    ]
    return np.array(sorted(grid, key=lambda by: (math.hypot(*by), by[1], by[0])))
