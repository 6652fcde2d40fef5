"""Where every shot landed, from above and to scale, the target up."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

from reporter.speech import later, say
from reporter.story.report import XY, ShotPicture
from reporter.typeset.blocks.label_places import (
    ASCENT,
    Lettering,
    Obstacles,
    Place,
    best_place,
    lettering,
    letters_rect,
)
from reporter.typeset.boxes import Box, Disc, Path
from reporter.typeset.faces import width_of
from reporter.typeset.strokes import CHAIN, DASH, WHITE, arrow
from reporter.typeset.style import Style
from reporter.typeset.text import label

BETWEEN_WORDS = 0.4
WORDS = {
    "target": later("target"),
    "left": later("left"),
    "right": later("right"),
    "first": later("first shot"),
    "last": later("last shot"),
    "m": later("metres beside the target line"),
    "yd": later("yards beside the target line"),
}
ROOM_ABOVE, ROOM_BELOW = 5.0, 9.0
LARGEST_SCALE = 2.4
LEAST_REACH_M = 14.0
WHITE_AROUND_M = 3.0
STEPS = (5, 10, 20, 50, 100)
LEAST_STEP = 13.0
RING, SMALL_RING, SMALLEST_RING = 1.0, 0.75, 0.5
MANY, VERY_MANY = 60, 200
WIDEST_LABEL = 30.0
NO_BREAK_SPACE = "\u00a0"


@dataclass(frozen=True, slots=True)
class _Window:
    """The ground that is drawn: its edges in metres, its place and scales in millimetres."""

    left: float
    near: float
    right: float
    far: float
    x: float
    y: float
    scale: float
    along_scale: float

    @property
    def width(self) -> float:
        return (self.right - self.left) * self.scale

    @property
    def height(self) -> float:
        return (self.far - self.near) * self.along_scale

    def place(self, point: XY) -> XY:
        """Return where a point lies on the paper."""
        across, along = point
        return (
            self.x + (across - self.left) * self.scale,
            self.y + (self.far - along) * self.along_scale,
        )


def plan_of_landings(
    block: ShotPicture, width: float, height: float, style: Style
) -> tuple[Box, ...]:
    """Draw the landings on the ground, the target up, with their names.

    Parameters
    ----------
    block : ShotPicture
        At least one shot.
    width, height : float
        Room in millimetres.
    """
    window = _window(block, width, height, style)
    obstacles = Obstacles((0.0, 0.0, width, height - ROOM_BELOW))
    ground = _ground(block, window, style, obstacles)
    outlines = _outlines(block, window, style, obstacles)
    shots = _shots(block, window, style, obstacles)
    names = _names(block, window, style, obstacles)
    return (*ground, *outlines, *shots, *names)


def _window(block: ShotPicture, width: float, height: float, style: Style) -> _Window:
    """Choose the ground: all shots and outlines, as large as the room allows."""
    points = [*block.shots, *block.ellipse, *block.wanted]
    across = [x for x, _ in points]
    half = block.fairway_width / 2
    left = min(*across, -half, -LEAST_REACH_M) - WHITE_AROUND_M
    right = max(*across, half, LEAST_REACH_M) + WHITE_AROUND_M
    near, far = min(y for _, y in points), max(y for _, y in points)
    gutter = _gutter(block, style)
    inner_width, inner_height = width - gutter - 1.0, height - ROOM_ABOVE - ROOM_BELOW
    if block.in_order:
        scale = min(inner_width / (right - left), LARGEST_SCALE)
        near, far = near - 1.0, far + 1.0
        along_scale = inner_height / (far - near)
    else:
        middle, reach = (near + far) / 2, max(far - near, 2 * LEAST_REACH_M) / 2 + WHITE_AROUND_M
        near, far = middle - reach, middle + reach
        scale = min(inner_width / (right - left), inner_height / (far - near), LARGEST_SCALE)
        along_scale = scale
        more = inner_height / scale - (far - near)
        near, far = near - more / 2, far + more / 2
        if near < 0.0:
            near, far = 0.0, far - near
    more = inner_width / scale - (right - left)
    left, right = left - more / 2, right + more / 2
    return _Window(left, near, right, far, gutter, ROOM_ABOVE, scale, along_scale)


def _gutter(block: ShotPicture, style: Style) -> float:
    note = style.step("note")
    if block.in_order:
        return max(width_of(say(WORDS[w]), "regular", note.size) for w in ("first", "last")) + 1.6
    farthest = max(y for _, y in (*block.shots, *block.ellipse, *block.wanted)) + 100.0
    return width_of(_distance(round(farthest), block.unit), "regular", note.size) + 1.6


def _distance(value: int, unit: str) -> str:
    return f"{value}{NO_BREAK_SPACE}{unit}"


def _step(millimetres_per_unit: float, least: float) -> int:
    return next((step for step in STEPS if step * millimetres_per_unit >= least), STEPS[-1])


def _ground(block: ShotPicture, window: _Window, style: Style, obstacles: Obstacles) -> list[Box]:
    """Draw fairway, target line, distances, and the scale across below."""
    note = style.step("note")
    top, bottom = window.y, window.y + window.height
    x0, x1 = window.x, window.x + window.width
    boxes: list[Box] = []
    half = block.fairway_width / 2
    if half > 0:
        a, b = window.place((-half, 0.0))[0], window.place((half, 0.0))[0]
        band = ((a, top), (b, top), (b, bottom), (a, bottom))
        boxes.append(Path(band, 0.0, style.tint, closed=True, fill=style.tint))
    boxes += _distances(block, window, style, obstacles)
    target_x = window.place((0.0, 0.0))[0]
    boxes.append(Path(((target_x, bottom), (target_x, 2.6)), 0.25, style.ink, dash=CHAIN))
    boxes += arrow((target_x, 2.8), (target_x, 0.6), style.ink, width=0.25, length=2.0,
                   head_width=0.9)  # fmt: skip
    obstacles.add_line(((target_x, bottom), (target_x, 0.6)), 8.0)
    target = label(
        say(WORDS["target"]), target_x + 1.8, 0.6 + ASCENT * note.size_mm, note, style.secondary
    )
    obstacles.texts.append(letters_rect(target))
    boxes.append(target)
    boxes.append(Path(((x0, bottom), (x1, bottom)), 0.25, style.ink))
    per_unit = window.scale * block.unit_length
    step = _step(per_unit, 9.0)
    first = math.ceil((x0 - target_x) / per_unit / step)
    last = math.floor((x1 - target_x) / per_unit / step)
    for number in range(first, last + 1):
        x = target_x + number * step * per_unit
        boxes.append(Path(((x, bottom), (x, bottom + 0.9)), 0.25, style.ink))
        text = str(abs(number * step))
        room = width_of(text, "regular", note.size) / 2
        if x - room >= 0.0 and x + room <= x1 + 1.0:
            boxes.append(label(text, x, bottom + 4.1, note, style.secondary, align="centre"))
    middle, base = (x0 + x1) / 2, bottom + 8.0
    left = label(say(WORDS["left"]), x0, base, note, style.secondary)
    right = label(say(WORDS["right"]), x1, base, note, style.secondary, align="right")
    unit = label(say(WORDS[block.unit]), middle, base, note, style.secondary, align="centre")
    gaps = unit.x - left.x - left.width, right.x - unit.x - unit.width
    if min(gaps) < BETWEEN_WORDS:
        # No room for the unit in words.
        unit = label(block.unit, middle, base, note, style.secondary, align="centre")
    return [*boxes, left, unit, right]


def _distances(
    block: ShotPicture, window: _Window, style: Style, obstacles: Obstacles
) -> list[Box]:
    """Draw the lines of equal distance with their names in the gutter."""
    note = style.step("note")
    x0, x1 = window.x, window.x + window.width
    shift = 0.34 * note.size_mm
    if block.in_order:
        ends = (block.shots[0], say(WORDS["first"])), (block.shots[-1], say(WORDS["last"]))
        names = [
            label(text, x0 - 1.4, window.place(at)[1] + shift, note, style.secondary, align="right")
            for at, text in (ends if len(block.shots) > 1 else ends[:1])
        ]
        obstacles.texts += [letters_rect(name) for name in names]
        return [*names]
    boxes: list[Box] = []
    per_unit = window.along_scale * block.unit_length
    step = _step(per_unit, LEAST_STEP)
    value = math.ceil(window.near / block.unit_length / step) * step
    while value * block.unit_length <= window.far:
        y = window.place((0.0, value * block.unit_length))[1]
        value += step
        if y > window.y + window.height - 2.0:
            # Next to the scale below it would look like one line drawn twice.
            continue
        line = ((x0, y), (x1, y))
        boxes.append(Path(line, 0.15, style.hairline))
        obstacles.add_line(line, 2.0)
        text = _distance(value - step, block.unit)
        name = label(text, x0 - 1.4, y + shift, note, style.secondary, align="right")
        obstacles.texts.append(letters_rect(name))
        boxes.append(name)
    return boxes


def _outlines(block: ShotPicture, window: _Window, style: Style, obstacles: Obstacles) -> list[Box]:
    boxes: list[Box] = []
    for outline, wanted in ((block.wanted, True), (block.ellipse, False)):
        if not outline:
            continue
        points = tuple(window.place(point) for point in outline)
        obstacles.add_line((*points, points[0]), 12.0, most=48)
        if wanted:
            boxes.append(Path(points, 1.0, style.ink, closed=True))
            boxes.append(Path(points, 0.45, WHITE, closed=True))
        else:
            boxes.append(Path(points, 0.5, style.brand, dash=DASH, closed=True))
    return boxes


def _shots(block: ShotPicture, window: _Window, style: Style, obstacles: Obstacles) -> list[Box]:
    """Draw a ring for each shot, and a cross for the middle."""
    count = len(block.shots)
    radius = RING if count <= MANY else SMALL_RING if count <= VERY_MANY else SMALLEST_RING
    boxes: list[Box] = []
    for point in block.shots:
        x, y = window.place(point)
        boxes.append(Disc(x, y, radius - 0.12, 0.3, style.brand, fill=WHITE))
        obstacles.symbols.append(((x, y), radius))
    if block.centre is not None:
        x, y = window.place(block.centre)
        arms = (((x - 2.8, y), (x + 2.8, y)), ((x, y - 2.8), (x, y + 2.8)))
        boxes += [Path(arm, 1.3, WHITE, round_cap=True) for arm in arms]
        boxes += [Path(arm, 0.6, style.ink) for arm in arms]
        obstacles.symbols.append(((x, y), 2.8))
    return boxes


def _names(block: ShotPicture, window: _Window, style: Style, obstacles: Obstacles) -> list[Box]:
    """Name the middle, the outlines and the fairway, each where it hides least."""
    caption, note = style.step("caption"), style.step("note")
    boxes: list[Box] = []
    if block.centre is not None:
        words = lettering(block.centre_label, caption, WIDEST_LABEL)
        at = window.place(block.centre)
        boxes += _put(words, _around((at,), at, words, 2.0), style.ink, obstacles, at)
    for outline, text in ((block.ellipse, block.ellipse_label), (block.wanted, block.wanted_label)):
        if outline:
            words = lettering(text, note, WIDEST_LABEL)
            points = tuple(window.place(point) for point in outline)
            middle = (
                sum(x for x, _ in points) / len(points), sum(y for _, y in points) / len(points),
            )  # fmt: skip
            places = _around(points, middle, words, 0.4)
            boxes += _put(words, places, style.ink, obstacles, None)
    if block.fairway_width > 0:
        words = lettering(block.fairway_label, note, 22.0)
        bottom = window.y + window.height
        places = []
        for side in (-1.0, 1.0):
            edge = window.place((side * block.fairway_width / 2, 0.0))[0]
            for inside in (True, False):
                towards = -side if inside else side
                x = edge + 1.4 * towards - (words.width if towards < 0 else 0.0)
                for lift in range(30):
                    top = bottom - words.height - 1.2 - 2.0 * lift
                    rect = (x, top, x + words.width, top + words.height)
                    cost = 0.5 * lift + (1.0 if inside else 0.0)
                    places.append(Place(rect, None, cost, "left" if towards > 0 else "right"))
        boxes += _put(words, places, style.secondary, obstacles, None)
    return boxes


def _around(points: Sequence[XY], middle: XY, words: Lettering, clear: float) -> list[Place]:
    """Return places for a name outside of points around a middle, or around one point."""
    places = []
    for index, (x, y) in enumerate(points):
        alone = math.dist((x, y), middle) < 1e-6
        turns = range(0, 360, 20) if alone else (0,)
        for turn in turns:
            angle = math.radians(turn) if alone else math.atan2(y - middle[1], x - middle[0])
            u, v = math.cos(angle), math.sin(angle)
            for length in (3.0, 6.0, 10.0, 15.0, 21.0, 28.0):
                begin = (x + clear * u, y + clear * v)
                end = (x + (clear + length) * u, y + (clear + length) * v)
                left = end[0] + 0.8 if u >= 0 else end[0] - 0.8 - words.width
                top = end[1] - words.height / 2
                rect = (left, top, left + words.width, top + words.height)
                align = "left" if u >= 0 else "right"
                cost = 0.02 * index + 0.15 * length
                places.append(Place(rect, (begin, end), cost, align))
    return places


def _put(
    words: Lettering, places: Sequence[Place], ink: str, obstacles: Obstacles, own: XY | None
) -> list[Box]:
    place = best_place(places, obstacles, own)
    texts = words.set(place.rect[0], place.rect[1], ink, place.align)
    obstacles.texts += [letters_rect(text) for text in texts]
    boxes: list[Box] = []
    if place.leader is not None:
        obstacles.lines.append((place.leader, 12.0))
        boxes.append(Path(place.leader, 0.15, ink))
    return [*boxes, *texts]
