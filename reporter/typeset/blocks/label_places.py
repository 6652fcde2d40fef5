"""Where a chart's labels stand: the cheapest of many places, clear of lines and of texts."""

import heapq
import math
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass, field
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from reporter.story.report import Run
from reporter.typeset.boxes import XY, Text
from reporter.typeset.faces import Family, family_in_use
from reporter.typeset.style import TypeStep
from reporter.typeset.text import Line, break_lines, line_width, set_line

Rect = tuple[float, float, float, float]
Segment = tuple[XY, XY]
PricedLine = tuple[Segment, float]
"""A line and what it costs to cross it."""

# Shares of the type size above and below the baseline that letters of the page's face fill.
ASCENT = 0.74
DESCENT = 0.21

ON_TEXT = 1000.0
TOO_CLOSE_TO_TEXT = 60.0
ON_A_SYMBOL = 25.0
CROSSING_LEADERS = 30.0


@dataclass(frozen=True, slots=True)
class Lettering:
    """A label broken into lines; `width` and `height` in millimetres, without white around."""

    lines: tuple[Line, ...]
    step: TypeStep
    width: float
    height: float

    def set(self, x: float, top: float, ink: str, align: str) -> tuple[Text, ...]:
        """Return its boxes, aligned left, right or centre in the rectangle that starts at x."""
        boxes: list[Text] = []
        y = top + ASCENT * self.step.size_mm
        for line in self.lines:
            slack = self.width - line_width(line, self.step)
            shift = {"left": 0.0, "centre": slack / 2, "right": slack}[align]
            boxes += set_line(line, x + shift, y, self.step, ink)
            y += self.step.lead_mm
        return tuple(boxes)


def lettering(text: str, step: TypeStep, widest: float) -> Lettering:
    """Break a label into lines no wider than `widest` millimetres, as even as they can be."""
    return _lettering(text, step, widest, family_in_use())


@lru_cache(maxsize=512)
def _lettering(text: str, step: TypeStep, widest: float, _: Family) -> Lettering:
    lines = tuple(break_lines([Run(text)], step, widest))
    width = max((line_width(line, step) for line in lines), default=0.0)
    longest = max((word.width for line in lines for word in line), default=0.0)
    while len(lines) > 1 and width - 0.05 >= longest:
        narrower = tuple(break_lines([Run(text)], step, width - 0.05))
        narrower_width = max(line_width(line, step) for line in narrower)
        if len(narrower) > len(lines) or narrower_width >= width:
            break
        lines, width = narrower, narrower_width
    height = (ASCENT + DESCENT) * step.size_mm + (len(lines) - 1) * step.lead_mm
    return Lettering(lines, step, width, height)


def letters_rect(box: Text) -> Rect:
    """Return the rectangle that the letters of a level text fill: left, top, right, bottom."""
    size = box.size * 25.4 / 72
    return (box.x, box.y - ASCENT * size, box.x + box.width, box.y + DESCENT * size)


@dataclass(frozen=True, slots=True)
class Place:
    """A rectangle for a label, the leader that leads to it, and what the place costs."""

    rect: Rect
    leader: Segment | None = None
    cost: float = 0.0
    align: str = "left"


@dataclass(slots=True)
class Obstacles:
    """What is drawn already: lines with the price of crossing them, texts, and symbols.

    ``inside`` is the rectangle a label must not leave.
    """

    inside: Rect
    lines: list[tuple[Segment, float]] = field(default_factory=list)
    texts: list[Rect] = field(default_factory=list)
    symbols: list[tuple[XY, float]] = field(default_factory=list)

    def add_line(self, points: Sequence[XY], price: float, most: int = 40) -> None:
        """Add a line through points, thinned to at most `most` pieces."""
        stride = max(1, math.ceil((len(points) - 1) / most))
        kept = [*points[:-1:stride], points[-1]]
        self.lines += [((a, b), price) for a, b in zip(kept, kept[1:], strict=False)]


TOUCHING = 1e-9
"""A leader ends on the line it belongs to: rounding must not make a crossing of that."""


def crosses(one: Segment, other: Segment) -> bool:
    """Tell whether two segments cross; one that ends on the other only touches it."""
    (ax, ay), (bx, by) = one
    (cx, cy), (dx, dy) = other

    def side(px: float, py: float, qx: float, qy: float, rx: float, ry: float) -> float:
        return (qx - px) * (ry - py) - (qy - py) * (rx - px)

    return (
        side(ax, ay, bx, by, cx, cy) * side(ax, ay, bx, by, dx, dy) < -TOUCHING
        and side(cx, cy, dx, dy, ax, ay) * side(cx, cy, dx, dy, bx, by) < -TOUCHING
    )


def distance_to_segment(point: XY, segment: Segment) -> float:
    """Return the distance of a point from a segment, in the units of both."""
    (ax, ay), (bx, by) = segment
    length = (bx - ax) ** 2 + (by - ay) ** 2
    along = ((point[0] - ax) * (bx - ax) + (point[1] - ay) * (by - ay)) / length if length else 0.0
    along = min(1.0, max(0.0, along))
    return math.dist(point, (ax + along * (bx - ax), ay + along * (by - ay)))


def rect_touches_segment(rect: Rect, segment: Segment) -> bool:
    """Tell whether a segment enters a rectangle."""
    x0, y0, x1, y1 = rect
    (ax, ay), (bx, by) = segment
    if max(ax, bx) < x0 or min(ax, bx) > x1 or max(ay, by) < y0 or min(ay, by) > y1:
        return False
    if (x0 <= ax <= x1 and y0 <= ay <= y1) or (x0 <= bx <= x1 and y0 <= by <= y1):
        return True
    return crosses(segment, ((x0, y0), (x1, y1))) or crosses(segment, ((x0, y1), (x1, y0)))


def rects_overlap(one: Rect, other: Rect, white: float = 0.0) -> bool:
    """Tell whether two rectangles come closer than `white` on both axes."""
    return (
        one[0] < other[2] + white
        and other[0] < one[2] + white
        and one[1] < other[3] + white
        and other[1] < one[3] + white
    )


def price(
    place: Place,
    obstacles: Obstacles,
    own: XY | None = None,
    ceiling: float = math.inf,
    near: tuple[Sequence[PricedLine], Sequence[PricedLine]] | None = None,
) -> float:
    """Return what a place costs beside what is drawn; infinite where it leaves the drawing.

    ``own`` is the symbol that the label belongs to, which its leader may touch. Above `ceiling`
    the sum is broken off: a place known to be dearer than another need not be priced to the end.
    ``near`` are the lines that come near the label and near its leader, where they are known; no
    others can cost anything.
    """
    x0, y0, x1, y1 = place.rect
    left, top, right, bottom = obstacles.inside
    if x0 < left - 1e-6 or y0 < top - 1e-6 or x1 > right + 1e-6 or y1 > bottom + 1e-6:
        return math.inf
    total = place.cost
    grown = _around_label(place)
    for text in obstacles.texts:
        if rects_overlap(grown, text, 1.0):
            total += ON_TEXT if rects_overlap(place.rect, text, 0.1) else TOO_CLOSE_TO_TEXT
    if total > ceiling:
        return total
    beside, along = near if near is not None else lines_near([place], obstacles)(0)
    for line, cost in beside:
        if rect_touches_segment(grown, line):
            total += cost
    if total > ceiling:
        return total
    leader = place.leader
    ahead = _around_leader(place, 0.0)
    for centre, radius in obstacles.symbols:
        x, y = centre
        reach = (x - radius, y - radius, x + radius, y + radius)
        if rects_overlap(grown, reach):
            total += ON_A_SYMBOL
        # A symbol farther from the leader's rectangle is farther from the leader.
        if leader and centre != own and rects_overlap(ahead, reach, 0.501):
            clear = distance_to_segment(centre, leader) - radius
            total += ON_A_SYMBOL if clear < 0.5 else 0.0
    if leader:
        total += 0.2 * math.dist(*leader)
        for line, cost in along:
            if crosses(leader, line):
                total += 0.4 * cost
            # A leader that runs along a line cannot be told from it.
            if _runs_along(leader, line):
                total += 2.0 * cost
        total += sum(
            TOO_CLOSE_TO_TEXT for text in obstacles.texts if rect_touches_segment(text, leader)
        )
    return total


def lines_near(
    places: Sequence[Place], obstacles: Obstacles
) -> Callable[[int], tuple[list[PricedLine], list[PricedLine]]]:
    """Return what tells the lines near a place's label, and near its leader, by its number.

    All places are judged at once.
    """
    lines = obstacles.lines
    if not lines or not places:
        return lambda number: ([], [])
    ends = np.array([line for line, _ in lines])
    low, high = ends.min(axis=1), ends.max(axis=1)
    beside = _touched(np.array([_around_label(place) for place in places]), low, high)
    along = _touched(np.array([_around_leader(place, 1.0) for place in places]), low, high)

    def near(number: int) -> tuple[list[PricedLine], list[PricedLine]]:
        by_label, by_leader = np.flatnonzero(beside[number]), np.flatnonzero(along[number])
        return [lines[i] for i in by_label.tolist()], [lines[i] for i in by_leader.tolist()]

    return near


def _touched(
    areas: NDArray[np.float64], low: NDArray[np.float64], high: NDArray[np.float64]
) -> NDArray[np.bool_]:
    """Tell for each area, one a row, which of the lines have rectangles that touch it."""
    touching: NDArray[np.bool_] = (
        (high[:, 0] >= areas[:, 0, None])
        & (low[:, 0] <= areas[:, 2, None])
        & (high[:, 1] >= areas[:, 1, None])
        & (low[:, 1] <= areas[:, 3, None])
    )
    return touching


def _around_label(place: Place) -> Rect:
    """Return a label's rectangle with the white it keeps around it."""
    x0, y0, x1, y1 = place.rect
    return (x0 - 0.5, y0 - 0.4, x1 + 0.5, y1 + 0.4)


def _around_leader(place: Place, white: float) -> Rect:
    """Return the rectangle around a leader; one that nothing touches where there is none."""
    if not place.leader:
        return (math.inf, math.inf, -math.inf, -math.inf)
    (ax, ay), (bx, by) = place.leader
    return (
        min(ax, bx) - white,
        min(ay, by) - white,
        max(ax, bx) + white,
        max(ay, by) + white,
    )


def _runs_along(leader: Segment, line: Segment) -> bool:
    (ax, ay), (bx, by) = leader
    (cx, cy), (dx, dy) = line
    product_of_lengths = math.dist(*leader) * math.dist(*line)
    if abs((bx - ax) * (dy - cy) - (by - ay) * (dx - cx)) >= 0.1 * product_of_lengths:
        return False
    return min(distance_to_segment(end, line) for end in leader) < 0.8


def _grown(rect: Rect, white: float) -> Rect:
    return (rect[0] - white, rect[1] - white, rect[2] + white, rect[3] + white)


def pair_price(one: Place, other: Place) -> float:
    """Return what two places cost together: texts that touch, leaders that cross."""
    total = 0.0
    if rects_overlap(one.rect, other.rect, 1.0):
        total += ON_TEXT if rects_overlap(one.rect, other.rect, 0.1) else TOO_CLOSE_TO_TEXT
    if one.leader and rect_touches_segment(_grown(other.rect, 0.7), one.leader):
        total += TOO_CLOSE_TO_TEXT
    if other.leader and rect_touches_segment(_grown(one.rect, 0.7), other.leader):
        total += TOO_CLOSE_TO_TEXT
    if one.leader and other.leader and crosses(one.leader, other.leader):
        total += CROSSING_LEADERS
    return total


def best_place(places: Sequence[Place], obstacles: Obstacles, own: XY | None = None) -> Place:
    """Return the cheapest place for one label; the first of equals."""
    near = lines_near(places, obstacles)
    best, least = 0, math.inf
    for bound, number in sorted((_least_price(place), i) for i, place in enumerate(places)):
        if bound > least:
            break
        cost = price(places[number], obstacles, own, least, near(number))
        if cost < least or (cost == least and number < best):
            best, least = number, cost
    return places[best]


def best_together(
    choices: Sequence[Sequence[Place]],
    obstacles: Obstacles,
    owns: Sequence[XY],
    together: Callable[[int, Place, int, Place], float],
    kept: int = 14,
) -> tuple[Place, ...]:
    """Return one place for each label, such that all of them together cost least.

    ``together`` prices two labels by their numbers and places. Of each label the `kept` cheapest
    places enter the search, fewer where there are many labels.
    """
    kept = max(3, min(kept, int(4000 ** (1 / max(len(choices), 1)))))
    priced = [_Priced(places, obstacles, own) for places, own in zip(choices, owns, strict=True)]
    short = [one.apart(kept) for one in priced]
    best = _cheapest_together(short, together)
    return _improved(best, priced, together)


def _cheapest_together(
    short: Sequence[Sequence[tuple[float, Place]]],
    together: Callable[[int, Place, int, Place], float],
) -> tuple[Place, ...]:
    """Return one of each label's places, all of them together costing least; the first of equals.

    Label after label is placed, and a beginning that cannot become cheaper than the best is left.
    """
    best: tuple[float, tuple[Place, ...]] = (math.inf, tuple(one[0][1] for one in short))
    # What the labels still to be placed cost at least.
    ahead = [sum(one[0][0] for one in short[number:]) for number in range(len(short) + 1)]
    memo: dict[tuple[int, int, int, int], float] = {}

    def place_next(total: float, picks: tuple[int, ...]) -> None:
        nonlocal best
        j = len(picks)
        if j == len(short):
            best = (total, tuple(short[i][pick][1] for i, pick in enumerate(picks)))
            return
        for number, (cost, other) in enumerate(short[j]):
            if total + cost + ahead[j + 1] >= best[0]:
                break
            sum_here = total + cost
            for i, pick in enumerate(picks):
                key = (i, pick, j, number)
                if key not in memo:
                    one = short[i][pick][1]
                    memo[key] = pair_price(one, other) + together(i, one, j, other)
                sum_here += memo[key]
            if sum_here + ahead[j + 1] < best[0]:
                place_next(sum_here, (*picks, number))

    place_next(0.0, ())
    return best[1]


class _Priced:
    """The places of one label from the cheapest on, each priced only when it is asked for."""

    def __init__(self, places: Sequence[Place], obstacles: Obstacles, own: XY | None) -> None:
        self._places, self._obstacles, self._own = places, obstacles, own
        # Nothing costs less than its own cost and its leader, so these bound the price.
        least = ((_least_price(place), number) for number, place in enumerate(places))
        self._waiting = sorted(least, reverse=True)
        self._near = lines_near(places, obstacles)
        self._dearer: list[tuple[float, int]] = []
        self._in_order: list[tuple[float, Place]] = []

    def __iter__(self) -> Iterator[tuple[float, Place]]:
        """Yield price and place in order of price, the first of equals first."""
        number = 0
        while True:
            while number < len(self._in_order):
                yield self._in_order[number]
                number += 1
            if not self._next():
                return

    def _next(self) -> bool:
        """Price what may be cheaper than the cheapest place priced; put that one in order."""
        waiting, dearer = self._waiting, self._dearer
        while waiting and (not dearer or waiting[-1][0] <= dearer[0][0]):
            number = waiting.pop()[1]
            place = self._places[number]
            cost = price(place, self._obstacles, self._own, math.inf, self._near(number))
            heapq.heappush(dearer, (cost, number))
        if not dearer:
            return False
        cost, number = heapq.heappop(dearer)
        self._in_order.append((cost, self._places[number]))
        return True

    def apart(self, kept: int) -> list[tuple[float, Place]]:
        """Return the cheapest places of which no two are almost the same."""
        short: list[tuple[float, Place]] = []
        for cost, place in self:
            if all(
                abs(place.rect[0] - one.rect[0]) + abs(place.rect[1] - one.rect[1]) > 0.9
                for _, one in short
            ):
                short.append((cost, place))
            if len(short) == kept:
                break
        return short


def _least_price(place: Place) -> float:
    """Return what a place costs where nothing is near."""
    return place.cost + (0.2 * math.dist(*place.leader) if place.leader else 0.0) - 1e-9


def _improved(
    chosen: tuple[Place, ...],
    priced: Sequence[Iterable[tuple[float, Place]]],
    together: Callable[[int, Place, int, Place], float],
) -> tuple[Place, ...]:
    """Return the places after each label in turn has looked at all of its own once more."""
    current = list(chosen)
    for _ in range(3):
        before = list(current)
        for i, places in enumerate(priced):
            best = math.inf
            for cost, place in places:
                # The places come in order of their own price, so no later one can be cheaper.
                if cost >= best:
                    break
                total = cost
                for j, other in enumerate(current):
                    if j != i:
                        total += pair_price(place, other) + together(i, place, j, other)
                if total < best:
                    best, current[i] = total, place
        if current == before:
            break
    return tuple(current)
