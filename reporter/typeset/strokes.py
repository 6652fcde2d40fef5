"""The drawing conventions of a handout as boxes: cased lines, arrowheads, arcs, rings and tags.

They follow the spirit of ISO 128 (line types) and ISO 129 (dimensioning): before is open and
dashed, after filled and solid, wanted double. On pictures every stroke lies on a white casing,
so that it reads on sky, grass and shadow, in colour and in grey.
"""

import math
from dataclasses import dataclass

from reporter.typeset.boxes import XY, Box, Disc, Path, Text
from reporter.typeset.faces import MILLIMETRES_PER_POINT, width_of

WHITE = "#FFFFFF"
DASH = (1.7, 1.0)
CHAIN = (3.6, 0.8, 0.8, 0.8)
DOTTED = (0.3, 0.9)


@dataclass(frozen=True, slots=True)
class Stroke:
    """Core and casing width of a kind of line, in millimetres."""

    core: float
    casing: float


MEASURED = Stroke(0.50, 1.00)
REFERENCE = Stroke(0.30, 0.72)
DIMENSION = Stroke(0.35, 0.80)
LEADER = Stroke(0.25, 0.62)
HEAD_LENGTH = 2.0
HEAD_WIDTH = 0.9


@dataclass(frozen=True, slots=True)
class Cased:
    """Casings and cores kept apart, so that all casings of a mark lie under all its cores."""

    casings: tuple[Box, ...] = ()
    cores: tuple[Box, ...] = ()

    def __add__(self, other: "Cased") -> "Cased":
        """Join two marks."""
        return Cased(self.casings + other.casings, self.cores + other.cores)

    @property
    def boxes(self) -> tuple[Box, ...]:
        """All boxes in paint order."""
        return self.casings + self.cores


def line(
    points: tuple[XY, ...],
    stroke: Stroke,
    ink: str,
    *,
    dash: tuple[float, ...] = (),
    cased: bool = True,
) -> Cased:
    """Return a line, on its casing where it lies on a picture."""
    casing = (Path(points, stroke.casing, WHITE, round_cap=True),) if cased else ()
    return Cased(casing, (Path(points, stroke.core, ink, dash=dash),))


def head(
    tip: XY,
    angle: float,
    ink: str,
    *,
    length: float = HEAD_LENGTH,
    width: float = HEAD_WIDTH,
    cased: bool = True,
) -> Cased:
    """Return a filled arrowhead with its tip at `tip`, pointing along `angle` (radians, y down)."""
    bx, by = tip[0] - length * math.cos(angle), tip[1] - length * math.sin(angle)
    nx, ny = -math.sin(angle) * width / 2, math.cos(angle) * width / 2
    outline = (tip, (bx + nx, by + ny), (bx - nx, by - ny))
    casing = (Path(outline, 0.55, WHITE, closed=True, fill=WHITE),) if cased else ()
    return Cased(casing, (Path(outline, 0.0, ink, closed=True, fill=ink),))


def arrow(
    start: XY,
    tip: XY,
    ink: str,
    *,
    width: float = 0.55,
    length: float = 2.6,
    head_width: float = 1.5,
) -> tuple[Box, ...]:
    """Return an arrow on white paper."""
    angle = math.atan2(tip[1] - start[1], tip[0] - start[0])
    end = (tip[0] - 0.8 * length * math.cos(angle), tip[1] - 0.8 * length * math.sin(angle))
    point = head(tip, angle, ink, length=length, width=head_width, cased=False)
    return (Path((start, end), width, ink), *point.boxes)


def arc_points(
    centre: XY, radius: float, start: float, end: float, steps: int = 40
) -> tuple[XY, ...]:
    """Return points on an arc between two angles in radians, y down."""
    return tuple(
        (
            centre[0] + radius * math.cos(start + (end - start) * i / steps),
            centre[1] + radius * math.sin(start + (end - start) * i / steps),
        )
        for i in range(steps + 1)
    )


def dimension_arc(
    centre: XY, radius: float, start: float, end: float, ink: str, *, cased: bool = True
) -> Cased:
    """Return an angle's arc with two heads: inside where there is room, else pointing in.

    Parameters
    ----------
    centre : point
        Vertex, in millimetres.
    radius : float
        In millimetres.
    start, end : float
        Directions of the two legs in radians, y down; the shorter arc between them is drawn.
    """
    if start > end:
        start, end = end, start
    if end - start > math.pi:
        start, end = end, start + 2 * math.pi
    if (end - start) * radius > 7.0:
        back = 1.6 / radius
        body = line(
            arc_points(centre, radius, start + back, end - back), DIMENSION, ink, cased=cased
        )
        if cased:
            whole = Path(arc_points(centre, radius, start, end), DIMENSION.casing, WHITE)
            body = Cased((whole,), body.cores)
        first = head(_on(centre, radius, start), start - math.pi / 2 + 1 / radius, ink, cased=cased)
        last = head(_on(centre, radius, end), end + math.pi / 2 - 1 / radius, ink, cased=cased)
        return body + first + last
    reach, back = 5.0 / radius, 1.6 / radius
    body = line(
        arc_points(centre, radius, start - reach, start - back), DIMENSION, ink, cased=cased
    ) + line(arc_points(centre, radius, end + back, end + reach), DIMENSION, ink, cased=cased)
    if (end - start) * radius > 0.1:
        thin = Stroke(DIMENSION.core * 0.7, DIMENSION.casing)
        body = body + line(arc_points(centre, radius, start, end), thin, ink, cased=cased)
    first = head(_on(centre, radius, start), start + math.pi / 2 - 1 / radius, ink, cased=cased)
    last = head(_on(centre, radius, end), end - math.pi / 2 + 1 / radius, ink, cased=cased)
    return body + first + last


def _on(centre: XY, radius: float, angle: float) -> XY:
    return (centre[0] + radius * math.cos(angle), centre[1] + radius * math.sin(angle))


def dimension_line(start: XY, end: XY, ink: str, *, cased: bool = True) -> Cased:
    """Return a dimension line with two heads: inside where there is room, else pointing in."""
    angle = math.atan2(end[1] - start[1], end[0] - start[0])
    u, v = math.cos(angle), math.sin(angle)
    inner = 0.7 * HEAD_LENGTH
    if math.dist(start, end) > 2 * HEAD_LENGTH + 1.2:
        body = line(
            (
                (start[0] + u * inner, start[1] + v * inner),
                (end[0] - u * inner, end[1] - v * inner),
            ),
            DIMENSION,
            ink,
            cased=cased,
        )
        first = head(start, angle + math.pi, ink, cased=cased)
        return body + first + head(end, angle, ink, cased=cased)
    reach = 4.6
    body = (
        line(
            (
                (start[0] - u * reach, start[1] - v * reach),
                (start[0] - u * inner, start[1] - v * inner),
            ),
            DIMENSION,
            ink,
            cased=cased,
        )
        + line(
            ((end[0] + u * reach, end[1] + v * reach), (end[0] + u * inner, end[1] + v * inner)),
            DIMENSION,
            ink,
            cased=cased,
        )
        + line((start, end), Stroke(DIMENSION.core * 0.7, DIMENSION.casing), ink, cased=cased)
    )
    first = head(start, angle, ink, cased=cased)
    return body + first + head(end, angle + math.pi, ink, cased=cased)


def joint(at: XY, state: str, ink: str) -> tuple[Box, ...]:
    """Return a joint on a picture: a ring before, a dot after."""
    if state == "after":
        return (
            Disc(at[0], at[1], 1.35, 0.0, WHITE, fill=WHITE),
            Disc(at[0], at[1], 1.0, 0.0, ink, fill=ink),
        )
    return (
        Disc(at[0], at[1], 1.35, 0.0, WHITE, fill=WHITE),
        Disc(at[0], at[1], 0.9, 0.42, ink, fill=WHITE),
    )


def state_symbol(at: XY, state: str, ink: str, *, radius: float = 1.05) -> tuple[Box, ...]:
    """Return the sign of a state on white paper: open ring, filled dot, double ring."""
    x, y = at
    if state == "before":
        return (Disc(x, y, radius - 0.1, 0.42, ink, fill=WHITE),)
    if state == "after":
        return (Disc(x, y, radius, 0.0, ink, fill=ink),)
    return (
        Disc(x, y, radius + 0.15, 0.28, ink, fill=WHITE),
        Disc(x, y, radius * 0.5, 0.28, ink, fill=WHITE),
    )


def tag(
    at: XY, number: int, ink: str, *, radius: float = 2.5, size: float = 9.5
) -> tuple[Box, ...]:
    """Return a number in a ring, its centre at `at`."""
    label = str(number)
    width = width_of(label, "bold", size)
    baseline = at[1] + 0.345 * size * MILLIMETRES_PER_POINT
    return (
        Disc(at[0], at[1], radius, 0.30, ink, fill=WHITE),
        Text(at[0] - width / 2, baseline, label, "bold", size, ink, width),
    )


def double_line(points: tuple[XY, ...], ink: str) -> tuple[Box, ...]:
    """Return the double line of what is wanted."""
    return (Path(points, 1.15, ink), Path(points, 0.5, WHITE))
