"""The single things of a drill's sketch as boxes: shoes, stick, towel, ball, paths, figure."""

import math
from collections.abc import Sequence
from dataclasses import asdict, dataclass
from functools import lru_cache

from reporter.story import sketch as data
from reporter.typeset.body import Body, Look, Seen
from reporter.typeset.boxes import XY, Box, Disc, Path
from reporter.typeset.outlines import beyond, direction, rounded, smooth
from reporter.typeset.person import person
from reporter.typeset.strokes import WHITE
from reporter.typeset.style import Style

FIGURE_HEIGHT_CENTIMETRES = 175.0
"""The height for which the poses of figures are written."""
HOLDS_WITHIN_CENTIMETRES = 26.0
"""A club whose grip ends this near a wrist is drawn inside the hands."""
OUTLINE, SHAFT, GRIP = 0.30, 0.40, 0.80
"""Widths of lines [mm]."""
BALL_RADIUS_CENTIMETRES = 2.13
"""Half of 42.67 mm, the least diameter by the Rules of Golf, part 2 of the equipment rules."""
FADED_DASH = (1.1, 0.8)

# Curves in centimetres are the same at every scale a sketch is tried at.
_smooth = lru_cache(maxsize=256)(smooth)
_rounded = lru_cache(maxsize=64)(rounded)


@dataclass(frozen=True, slots=True)
class Pen:
    """What a sketch is drawn with.

    Attributes
    ----------
    middle : (x, y)
        The place in centimetres of the drawing that lies at (0, 0) on the page.
    scale : float
        Millimetres on the page for one centimetre.
    style : Style
        Inks and type scale.
    mirror : int
        1 for a right-hander, -1 for a left-hander.
    view : str
        The side the sketch is seen from.
    weight : float
        Factor on line widths; above 1 for a drawing read from afar.
    large : bool
        Whether dimensions are to be read from afar.
    """

    middle: XY
    scale: float
    style: Style
    mirror: int
    view: data.View
    weight: float = 1.0
    large: bool = False

    def to_page(self, point: XY) -> XY:
        """Return a point of the drawing (y up) on the page (y down), mirrored if asked for."""
        return self.line((point,))[0]

    def line(self, points: Sequence[XY]) -> tuple[XY, ...]:
        """Return points on the page."""
        (left, top), along, up = self.middle, self.mirror * self.scale, -self.scale
        return tuple([((x - left) * along, (y - top) * up) for x, y in points])

    def curve(
        self, points: Sequence[XY], *, closed: bool = False, steps: int = 10
    ) -> tuple[XY, ...]:
        """Return a smooth curve through points, on the page."""
        return self.line(_smooth(tuple(points), closed=closed, steps=steps))


def ball(item: data.Ball, pen: Pen) -> list[Box]:
    """Return a ball as a ring; dashed if it is not the one to be hit."""
    x, y = pen.to_page(item.at)
    radius = max(BALL_RADIUS_CENTIMETRES * pen.scale, 0.8 * pen.weight)
    stroke = (0.3 if item.faded else 0.5) * pen.weight
    ink = pen.style.secondary if item.faded else pen.style.ink
    dash = (0.7, 0.5) if item.faded else ()
    return [Disc(x, y, radius, stroke, ink, fill=WHITE, dash=dash)]


def marker(item: data.Marker, pen: Pen) -> list[Box]:
    """Return a soft marker."""
    x, y = pen.to_page(item.at)
    radius = max(item.radius * pen.scale, 1.0)
    return [Disc(x, y, radius, 0.4 * pen.weight, pen.style.ink, fill=pen.style.tint)]


def tee(item: data.Tee, pen: Pen) -> list[Box]:
    """Return a tee peg: a dot from above, a pin with a cup from the side."""
    x, y = pen.to_page(item.at)
    ink, weight = pen.style.ink, pen.weight
    if pen.view in ("from-above", "club-face") and item.height == 0:
        return [Disc(x, y, max(0.7, 0.6 * pen.scale) * weight, 0.0, ink, fill=ink)]
    top = y - max(item.height * pen.scale, 0.9)
    cup = max(0.6, 0.5 * pen.scale)
    return [
        Path(((x, y), (x, top)), 0.4 * weight, ink),
        Path(((x - cup, top), (x + cup, top)), 0.4 * weight, ink, round_cap=True),
    ]


def dot(item: data.Dot, pen: Pen) -> list[Box]:
    """Return a small filled dot."""
    x, y = pen.to_page(item.at)
    return [Disc(x, y, 0.5 * pen.weight, 0.0, pen.style.ink, fill=pen.style.ink)]


def stick(item: data.Stick, pen: Pen) -> list[Box]:
    """Return an alignment stick as a slender rod with round ends."""
    points = pen.line((item.start, item.end))
    return [
        Path(points, 1.25 * pen.weight, pen.style.ink, round_cap=True),
        Path(points, 0.65 * pen.weight, pen.style.tint, round_cap=True),
    ]


def thing(item: data.Thing, pen: Pen) -> list[Box]:
    """Return a towel, a headcover, a wall."""
    style, stroke = pen.style, 0.35 * pen.weight
    width, height = item.size
    if item.shape == "circle":
        x, y = pen.to_page(item.at)
        return [Disc(x, y, width / 2 * pen.scale, stroke, style.ink, fill=style.tint)]
    turn = math.radians(item.turn)
    along, x, y = (math.cos(turn), math.sin(turn)), item.at[0], item.at[1]
    corners = [
        beyond((x, y), along, across * width / 2, aside=up * height / 2)
        for across, up in ((-1, -1), (1, -1), (1, 1), (-1, 1))
    ]
    outline = pen.line(corners)
    return [Path(outline, stroke, style.ink, closed=True, fill=style.tint)]


def outline(item: data.Outline, pen: Pen) -> list[Box]:
    """Return a free shape."""
    fill = pen.style.tint if item.filled else None
    points = pen.line(_rounded(item.points))
    return [Path(points, 0.35 * pen.weight, pen.style.ink, closed=True, fill=fill)]


def club_head(item: data.ClubHead, pen: Pen) -> list[Box]:
    """Return a club head from above, its face a heavy line; `at` is the middle of the face."""
    turn = math.radians(90 - item.face)
    forward = (math.cos(turn), math.sin(turn))
    # Points as (forward, aside) in centimetres; aside is toward the heel of a right-hander.
    shape = [
        (0.0, -4.6), (0.3, 0.0), (0.0, 4.2), (-1.6, 5.0), (-3.4, 4.0),
        (-6.2, 1.6), (-6.6, -1.6), (-4.6, -4.4), (-2.0, -5.4),
    ]  # fmt: skip
    faded = item.faded
    body = pen.curve([beyond(item.at, forward, f, aside=a) for f, a in shape], closed=True)
    neck = pen.line([beyond(item.at, forward, f, aside=a) for f, a in ((-1.8, 4.4), (-3.2, 9.0))])
    face = pen.line([beyond(item.at, forward, 0.15, aside=a) for a in (-4.4, 4.0)])
    ink = pen.style.secondary if faded else pen.style.ink
    dash = FADED_DASH if faded else ()
    fill = None if faded else pen.style.tint
    boxes: list[Box] = [
        Path(neck, 0.5 * pen.weight, ink, dash=dash),
        Path(body, OUTLINE * pen.weight, ink, closed=True, fill=fill, dash=dash),
    ]
    if not faded:
        boxes.append(Path(face, 0.7 * pen.weight, ink, round_cap=True))
    return boxes


def foot(item: data.Foot, pen: Pen) -> list[Box]:
    """Return the sole of a shoe from above; the big toe lies on the inner side."""
    length = math.dist(item.heel, item.toe)
    along = direction(item.heel, item.toe)
    # Widths in parts of the length; positive is the inner side of the foot.
    shape = [
        (0.0, 0.0), (0.03, 0.10), (0.18, 0.145), (0.42, 0.125), (0.66, 0.185), (0.86, 0.17),
        (0.97, 0.09), (1.0, 0.02), (0.95, -0.07), (0.84, -0.155), (0.68, -0.20), (0.45, -0.175),
        (0.18, -0.14), (0.03, -0.10),
    ]  # fmt: skip
    inner = -1 if item.side == "lead" else 1
    points = [beyond(item.heel, along, f * length, aside=inner * a * length) for f, a in shape]
    curve = pen.curve(points, closed=True, steps=5)
    if item.faded:
        return [Path(curve, 0.22, pen.style.secondary, closed=True, fill=WHITE, dash=(0.8, 0.6))]
    return [Path(curve, 0.22 * pen.weight, pen.style.secondary, closed=True, fill=pen.style.pale)]


def look_of(pen: Pen, *, faded: bool = False) -> Look:
    """Return the inks of a figure; a faded one is thin and without fills."""
    style = pen.style
    outline, shaft, grip = (pen.weight * width for width in (OUTLINE, SHAFT, GRIP))
    if faded:
        return Look(0.18, shaft, grip, style.hairline, WHITE, WHITE, WHITE, WHITE)
    return Look(outline, shaft, grip, style.ink, style.tint, WHITE, style.pale, style.tint)


@lru_cache(maxsize=64)
def _upright(
    figure: data.Figure | None, club: data.Club | None, view: data.View, look: Look
) -> tuple[Path, ...]:
    """Return a figure, or a club alone, in centimetres with y down: the same at every scale."""
    joints = asdict(figure.joints) if figure else {}
    points = {name: (x, -y) for name, (x, y) in joints.items()}
    if club:
        points |= {"handle": (club.handle[0], -club.handle[1])}
        points |= {"hosel": (club.head[0], -club.head[1])}
    seen: Seen = "down-the-line" if view == "down-the-line" else "face-on"
    body = Body(points, FIGURE_HEIGHT_CENTIMETRES, seen, in_front=figure.in_front if figure else ())
    return tuple(box for box in person(body, look) if isinstance(box, Path))


def figure(item: data.Figure | None, club: data.Club | None, pen: Pen) -> list[Box]:
    """Return a figure with the club it holds, or a club that none holds."""
    faded = item.faded if item else club is not None and club.faded
    (left, top), along, down = pen.middle, pen.mirror * pen.scale, pen.scale
    outlines: dict[int, tuple[XY, ...]] = {}
    boxes: list[Box] = []
    for path in _upright(item, club, pen.view, look_of(pen, faded=faded)):
        # Many outlines are drawn twice, stroked and then filled.
        known = outlines.get(id(path.points))
        if known is None:
            known = tuple([((x - left) * along, (y + top) * down) for x, y in path.points])
            outlines[id(path.points)] = known
        boxes.append(Path(known, path.width, path.ink, (), path.closed, path.fill, path.round_cap))
    return boxes


def holds(item: data.Figure, club: data.Club) -> bool:
    """Tell whether the grip of a club is in reach of a figure's hands."""
    wrists = (item.joints.lead_wrist, item.joints.trail_wrist)
    return (
        item.faded == club.faded
        and min(math.dist(club.handle, wrist) for wrist in wrists) < HOLDS_WITHIN_CENTIMETRES
    )
