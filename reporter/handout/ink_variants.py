"""The same pages with less ink: in greys alone, or without fills and with thinner lines.

References
----------
W3C, Web Content Accessibility Guidelines 2.1: relative luminance; a grey of the same luminance
keeps every contrast ratio of the brand's inks. IEC 61966-2-1 (sRGB) for the way back to a channel.
"""

import math
from collections.abc import Iterator, Sequence
from dataclasses import replace
from functools import lru_cache
from typing import Literal

from reporter.typeset.boxes import (
    XY,
    Box,
    Clipped,
    Disc,
    Element,
    Page,
    Path,
    Picture,
    Text,
    all_elements,
)
from reporter.typeset.brand import luminance
from reporter.typeset.style import INK

Variant = Literal["colour", "grey", "saver"]
Rectangle = tuple[float, float, float, float]
"""Left, top, right, bottom in millimetres."""
WHITE = "#FFFFFF"
EDGE = 4.0
"""Most office printers leave this much of the sheet blank [mm] (common practice, no source)."""
SMALL_FILL = 7.0
"""A fill up to this area [mm2] is a mark, such as a dot or an arrowhead, and keeps its ink."""
OUTLINE = 0.2
"""Width of the line that stands for a fill [mm]."""
THINNER = 0.7
THINNEST = 0.15
PALE = 0.6
"""Text lighter than this luminance stood on a dark fill."""


def in_ink(pages: Sequence[Page], variant: Variant) -> tuple[Page, ...]:
    """Return pages in a variant of ink.

    Parameters
    ----------
    pages : sequence of Page
        As typeset.
    variant : str
        ``colour``: as they are. ``grey``: every ink as the grey of its luminance, no fill within
        4 mm of the edge. ``saver``: grey as well, fills become outlines, lines thinner; white
        stays, as it costs nothing and keeps what lies beneath covered. Pictures are lightened
        where they are cut, see `PictureQuality`.
    """
    if variant == "colour":
        return tuple(pages)
    return tuple(
        replace(page, elements=tuple(_element(one, page, variant) for one in page.elements))
        for page in pages
    )


@lru_cache(maxsize=256)
def grey_of(ink: str) -> str:
    """Return the grey with the relative luminance of #rrggbb."""
    light = luminance(ink)
    channel = 12.92 * light if light <= 0.0031308 else 1.055 * light ** (1 / 2.4) - 0.055
    return "#" + f"{round(255 * channel):02X}" * 3


def _element(element: Element, page: Page, variant: Variant) -> Element:
    return replace(
        element,
        boxes=tuple(_box(box, _whole(page), page, variant) for box in element.boxes),
        children=tuple(_element(child, page, variant) for child in element.children),
    )


def _box(box: Box, seen: Rectangle, page: Page, variant: Variant) -> Box:
    """Return a box of which only the part inside `seen` is drawn."""
    match box:
        case Picture():
            return box
        case Clipped():
            inner = clipped_to(box, seen)
            return replace(box, boxes=tuple(_box(one, inner, page, variant) for one in box.boxes))
        case Text():
            ink = grey_of(box.ink)
            light = variant == "saver" and luminance(ink) > PALE
            return replace(box, ink=grey_of(INK) if light else ink)
        case Path() | Disc():
            return _shape(box, seen, page, variant)


def _shape(box: Path | Disc, seen: Rectangle, page: Page, variant: Variant) -> Path | Disc:
    fill = None if box.fill is None else grey_of(box.fill)
    ink, width = grey_of(box.ink), box.width
    area = area_of(box)
    if fill not in (None, WHITE) and reaches_edge(box, seen, page):
        fill = WHITE
    if variant == "saver":
        if ink != WHITE and width:
            width = max(width * THINNER, min(width, THINNEST))
        if fill not in (None, WHITE) and area > SMALL_FILL:
            if not width:
                ink, width = grey_of(INK), OUTLINE
            fill = WHITE
    return replace(box, ink=ink, fill=fill, width=width)


def area_of(box: Path | Disc) -> float:
    """Return the area of an outline or a circle in square millimetres."""
    if isinstance(box, Disc):
        return math.pi * box.radius**2
    doubled = [
        sum(
            x1 * y2 - x2 * y1 for (x1, y1), (x2, y2) in zip(ring, (*ring[1:], ring[0]), strict=True)
        )
        for ring in box.outlines()
    ]
    return max(map(abs, doubled)) / 2


def reaches_edge(box: Path | Disc, seen: Rectangle, page: Page) -> bool:
    """Whether the seen part of a shape comes nearer to the edge of the sheet than printers print.

    Parameters
    ----------
    box : Path or Disc
        The shape.
    seen : tuple of float
        Left, top, right, bottom of what is drawn at all [mm].
    page : Page
        The sheet.
    """
    if isinstance(box, Disc):
        r = box.radius
        points: Sequence[XY] = ((box.x - r, box.y - r), (box.x + r, box.y + r))
    else:
        points = box.points
    left, top, right, bottom = seen
    return any(
        not (EDGE <= min(max(x, left), right) <= page.width - EDGE)
        or not (EDGE <= min(max(y, top), bottom) <= page.height - EDGE)
        for x, y in points
    )


def clipped_to(box: Clipped, seen: Rectangle) -> Rectangle:
    """Return what of an outer rectangle a clipping one leaves."""
    left, top, right, bottom = seen
    return (
        max(left, box.x),
        max(top, box.y),
        min(right, box.x + box.width),
        min(bottom, box.y + box.height),
    )


def shapes_seen(page: Page) -> Iterator[tuple[Path | Disc, Rectangle]]:
    """Yield every line, outline and circle of a page with the rectangle it is drawn in."""

    def walk(boxes: Sequence[Box], seen: Rectangle) -> Iterator[tuple[Path | Disc, Rectangle]]:
        for box in boxes:
            if isinstance(box, Clipped):
                yield from walk(box.boxes, clipped_to(box, seen))
            elif isinstance(box, Path | Disc):
                yield box, seen

    for element in all_elements(page.elements):
        yield from walk(element.boxes, _whole(page))


def _whole(page: Page) -> Rectangle:
    return 0.0, 0.0, page.width, page.height
