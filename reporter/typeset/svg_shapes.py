"""The shapes of an SVG drawing as outlines: rectangles, circles, lines, polygons and paths.

References
----------
W3C, Scalable Vector Graphics (SVG) 1.1, second edition, chapter 8 (paths; read by fontTools) and
chapter 9 (basic shapes).
"""

import re
from collections.abc import Mapping

from reporter.typeset.outline_pen import OutlinePen, Place, Ring
from reporter.typeset.svg_style import SvgRefusedError, number, numbers

SHAPES = frozenset({"path", "rect", "circle", "ellipse", "line", "polyline", "polygon"})
LONGEST_PATH = 100_000
QUARTER = 4 / 3 * (2**0.5 - 1)
_PATH = re.compile(r"[MmZzLlHhVvCcSsQqTtAa0-9eE+\-.,\s]*")


def rings_of(
    name: str, attributes: Mapping[str, str], place: Place, tolerance: float
) -> list[Ring]:
    """Return the outlines of a shape, its curves as lines.

    Parameters
    ----------
    name : str
        One of `SHAPES`.
    attributes : mapping
        As written in the drawing.
    place : callable
        From the shape's own place to the finished one.
    tolerance : float
        How far a line may leave its curve, in the finished units.

    Raises
    ------
    SvgRefusedError
        If a value is none that such a shape can have.
    """
    pen = OutlinePen(place, tolerance)

    def value(key: str, fallback: str = "0") -> float:
        return number(attributes.get(key, fallback), key)

    match name:
        case "path":
            _path(attributes.get("d", ""), pen)
        case "rect":
            _rectangle(attributes, pen)
        case "circle":
            _ellipse(value("cx"), value("cy"), value("r"), value("r"), pen)
        case "ellipse":
            _ellipse(value("cx"), value("cy"), value("rx"), value("ry"), pen)
        case "line":
            pen.moveTo((value("x1"), value("y1")))
            pen.lineTo((value("x2"), value("y2")))
        case "polyline" | "polygon":
            flat = numbers(attributes.get("points", ""), "points")
            if len(flat) % 2:
                message = "points has a number without its other half"
                raise SvgRefusedError(message)
            for index, at in enumerate(zip(flat[::2], flat[1::2], strict=True)):
                (pen.lineTo if index else pen.moveTo)(at)
            if name == "polygon" and pen.rings:
                pen.closePath()
    return [ring for ring in pen.rings if len(ring.points) > 1]


def _path(text: str, pen: OutlinePen) -> None:
    # Loaded here: most brands have no drawing.
    from fontTools.svgLib.path import parse_path

    if len(text) > LONGEST_PATH:
        message = f"d has {len(text)} letters; at most {LONGEST_PATH} are read"
        raise SvgRefusedError(message)
    if not _PATH.fullmatch(text):
        message = "d holds a sign that no path has"
        raise SvgRefusedError(message)
    try:
        parse_path(" ".join(text.split()), pen)
    except (ValueError, IndexError, OverflowError, ZeroDivisionError) as error:
        message = f"d is no path that can be drawn ({str(error)[:60]})"
        raise SvgRefusedError(message) from None


def _rectangle(attributes: Mapping[str, str], pen: OutlinePen) -> None:
    x, y, width, height = (
        number(attributes.get(key, "0"), key) for key in ("x", "y", "width", "height")
    )
    if width <= 0 or height <= 0:
        return
    radii = [number(attributes[key], key) for key in ("rx", "ry") if key in attributes]
    rx, ry = (radii[0], radii[-1]) if radii else (0.0, 0.0)
    rx, ry = min(max(rx, 0.0), width / 2), min(max(ry, 0.0), height / 2)
    right, bottom = x + width, y + height
    if not rx or not ry:
        pen.moveTo((x, y))
        for corner in ((right, y), (right, bottom), (x, bottom)):
            pen.lineTo(corner)
        pen.closePath()
        return
    kx, ky = rx * (1 - QUARTER), ry * (1 - QUARTER)
    pen.moveTo((x + rx, y))
    pen.lineTo((right - rx, y))
    pen.curveTo((right - kx, y), (right, y + ky), (right, y + ry))
    pen.lineTo((right, bottom - ry))
    pen.curveTo((right, bottom - ky), (right - kx, bottom), (right - rx, bottom))
    pen.lineTo((x + rx, bottom))
    pen.curveTo((x + kx, bottom), (x, bottom - ky), (x, bottom - ry))
    pen.lineTo((x, y + ry))
    pen.curveTo((x, y + ky), (x + kx, y), (x + rx, y))
    pen.closePath()


def _ellipse(x: float, y: float, rx: float, ry: float, pen: OutlinePen) -> None:
    if rx <= 0 or ry <= 0:
        return
    kx, ky = rx * QUARTER, ry * QUARTER
    pen.moveTo((x + rx, y))
    pen.curveTo((x + rx, y + ky), (x + kx, y + ry), (x, y + ry))
    pen.curveTo((x - kx, y + ry), (x - rx, y + ky), (x - rx, y))
    pen.curveTo((x - rx, y - ky), (x - kx, y - ry), (x, y - ry))
    pen.curveTo((x + kx, y - ry), (x + rx, y - ky), (x + rx, y))
    pen.closePath()
