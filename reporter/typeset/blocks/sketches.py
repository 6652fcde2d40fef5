"""A drill's sketch as boxes in a given rectangle: things to one scale, then labels in free places.

Plan views have the target up. A left-hander's sketch is turned over sideways, its texts are not.
"""

import math
from collections.abc import Sequence
from dataclasses import replace

from reporter.story import sketch as data
from reporter.story.sketch import Sketch
from reporter.typeset.blocks import sketch_items as draw
from reporter.typeset.blocks import sketch_lines as lines
from reporter.typeset.blocks.sketch_items import Pen
from reporter.typeset.blocks.sketch_texts import ORDER, Placer
from reporter.typeset.boxes import Box, moved_box
from reporter.typeset.free_space import FreeSpace, Rectangle, around, extents, grown
from reporter.typeset.style import Style

EDGE = 0.6
"""Room at the edges [mm] for half a line's width."""
LARGEST_FACTOR = 1.4
"""A sketch may be drawn this much larger than its frame asks for."""
ROOM_FOR_TEXTS = 15.0
"""Texts may first stand this far [mm] outside; the whole is moved into the rectangle after."""
SMALLER_BLAME = 0.2
"""For the square of the number of steps by which the things are drawn smaller, against 1 for a
millimetre by which a text is farther than it should be from its place."""
OUTSIDE_BLAME = 1000.0
"""Per millimetre by which a drawing is too large: worse than any text in a bad place."""


def sketch_boxes(
    sketch: Sketch,
    width: float,
    height: float,
    style: Style,
    *,
    right_handed: bool,
    large: bool = False,
) -> tuple[Box, ...]:
    """Return a drill's sketch, drawn to fit the rectangle from (0, 0) at one scale.

    Parameters
    ----------
    sketch : Sketch
        What is drawn, in centimetres for a right-hander.
    width, height : float
        Of the rectangle in millimetres; nothing reaches beyond it.
    style : Style
        Inks and type scale.
    right_handed : bool
        False turns the drawing over sideways.
    large : bool
        True for the card that is read from afar: heavier lines, large dimensions.

    Returns
    -------
    tuple of Box
        In paint order, texts last.
    """
    size = (width, height)
    texts = [item for kind in ORDER for item in sketch.items if isinstance(item, kind)]
    pen = _pen(sketch, size, style, right_handed=right_handed, large=large)
    best: tuple[Box, ...] = ()
    best_area, least = (0.0, 0.0, 0.0, 0.0), math.inf
    for number, factor in enumerate(_factors(extents(_things(sketch, pen)), size)):
        smaller = SMALLER_BLAME * number**2
        if least <= smaller:
            break
        trial = replace(pen, scale=pen.scale * factor)
        things = _things(sketch, trial)
        area = extents(things)
        x, y = (area[0] + area[2] - width) / 2, (area[1] + area[3] - height) / 2
        page = (x, y, x + width, y + height)
        space = FreeSpace.between(things, area)
        for within in (grown(page, ROOM_FOR_TEXTS), page):
            placer = Placer(trial, replace(space, taken=[]), within, smaller)
            words, whole, blame = _placed(texts, area, placer, size, least)
            if blame < least:
                best, best_area, least = (*things, *words), whole, blame
            if around((whole, page)) == page:
                break  # no text has made use of the room
    dx, dy = (width - best_area[0] - best_area[2]) / 2, (height - best_area[1] - best_area[3]) / 2
    return tuple(moved_box(box, dx, dy) for box in best)


def _placed(
    texts: Sequence[data.Item],
    things: Rectangle,
    placer: Placer,
    size: tuple[float, float],
    limit: float,
) -> tuple[list[Box], Rectangle, float]:
    """Place texts until all stand or the blame reaches a limit.

    Returned are the boxes of the texts, the area of things and texts, and the blame.
    """
    words: list[Box] = []
    area, blame = things, placer.blame + OUTSIDE_BLAME * _too_large(things, size)
    main = next((text for text in texts if isinstance(text, data.Dimension)), None)
    for text in texts:
        if blame >= limit:
            break
        placed = placer.place(text, first=text is main)
        words += placed
        area = around((area, extents(placed)))
        blame = placer.blame + OUTSIDE_BLAME * _too_large(area, size)
    return words, area, blame


def _too_large(area: Rectangle, size: tuple[float, float]) -> float:
    """Return by how many millimetres an area is wider and higher than the rectangle."""
    left, top, right, bottom = area
    return max(0.0, right - left - size[0]) + max(0.0, bottom - top - size[1])


def _factors(area: Rectangle, size: tuple[float, float]) -> list[float]:
    """Return the factors on the frame's scale to try, largest first.

    A frame leaves room for texts beside the things, which fill an area at its scale; where texts
    find room elsewhere, the things may be drawn larger than the frame asks for.
    """
    left, top, right, bottom = area
    most = min(
        (size[0] - 2 * EDGE) / max(right - left, 1.0),
        (size[1] - 2 * EDGE) / max(bottom - top, 1.0),
        LARGEST_FACTOR,
    )
    least = min(1.0, most)
    count = 5
    return [most + (least * 0.9 - most) * i / count for i in range(count + 1)]


def _pen(
    sketch: Sketch,
    size: tuple[float, float],
    style: Style,
    *,
    right_handed: bool,
    large: bool,
) -> Pen:
    """Return a pen at the scale at which the frame fits."""
    left, bottom, right, top = sketch.frame
    return Pen(
        ((left + right) / 2, (bottom + top) / 2),
        sketch.scale(size[0] - 2 * EDGE, size[1] - 2 * EDGE),
        style,
        1 if right_handed else -1,
        sketch.view,
        1.35 if large else 1.0,
        large,
    )


def _things(sketch: Sketch, pen: Pen) -> list[Box]:
    """Return all but the texts as written, with dimensions below, balls and breaks on top."""
    boxes: list[Box] = []
    measures: list[Box] = []
    breaks: list[Box] = []
    balls: list[Box] = []
    clubs = [item for item in sketch.items if isinstance(item, data.Club)]
    held = {
        id(figure): club
        for figure in sketch.items
        if isinstance(figure, data.Figure)
        for club in clubs
        if draw.holds(figure, club)
    }
    ways = [
        pen.curve(item.points)
        for item in sketch.items
        if isinstance(item, data.ClubPath | data.BallPath)
    ]
    ways += [pen.line((i.start, i.end)) for i in sketch.items if isinstance(i, data.Stick)]
    in_hand = {id(club) for club in held.values()}
    for item in sketch.items:
        match item:
            case data.Ball():
                balls += draw.ball(item, pen)
            case data.TargetLine():
                boxes += lines.target_line(item, pen, ways)
            case data.Line():
                boxes += lines.plain_line(item, pen)
            case data.Marker():
                boxes += draw.marker(item, pen)
            case data.Tee():
                boxes += draw.tee(item, pen)
            case data.Dot():
                boxes += draw.dot(item, pen)
            case data.Stick():
                boxes += draw.stick(item, pen)
            case data.Thing():
                boxes += draw.thing(item, pen)
            case data.Outline():
                boxes += draw.outline(item, pen)
            case data.ClubHead():
                boxes += draw.club_head(item, pen)
            case data.ClubPath():
                boxes += lines.club_path(item, pen)
            case data.BallPath():
                boxes += lines.ball_path(item, pen)
            case data.Motion():
                boxes += lines.motion(item, pen)
            case data.Foot():
                boxes += draw.foot(item, pen)
            case data.Break():
                breaks += lines.break_sign(item, pen)
            case data.TargetArrow():
                boxes += lines.target_arrow(item, pen)
            case data.Figure():
                boxes += draw.figure(item, held.get(id(item)), pen)
            case data.Club():
                boxes += [] if id(item) in in_hand else draw.figure(None, item, pen)
            case data.Dimension():
                measures += lines.dimension(item, pen)
            case _:
                pass  # labels and steps are placed when everything else is known
    return measures + boxes + balls + breaks
