"""A frame on the page: its caption above, the photograph or the drawn figure, and its marks."""

from collections.abc import Sequence

from reporter.story.report import XY, Run, Still
from reporter.typeset.blocks.drawn_figure import drawn_figure
from reporter.typeset.blocks.marks import Area, Placed, draw_marks, place_mark, tag_heights
from reporter.typeset.boxes import Box, Clipped, Element, Path, Picture
from reporter.typeset.crop import Crop
from reporter.typeset.strokes import WHITE, state_symbol
from reporter.typeset.style import Style
from reporter.typeset.text import break_lines, set_line

CAPTION_HEIGHT = 5.6
BORDER = 0.15
BESIDE_SYMBOL = 3.6
OUTLINE, OUTLINE_CASING, OUTLINE_DASH = 0.22, 0.42, (1.1, 0.9)
"""Thinner than any measure mark; shorter dashes than a line of before."""


def stills_side_by_side(
    stills: Sequence[Still],
    crop: Crop,
    width: float,
    height: float,
    gap: float,
    style: Style,
    *,
    above: float,
    caption_room: float,
) -> tuple[Element, ...]:
    """Set stills from (0, 0) to the right, captions above, tags at one height in all of them.

    Parameters
    ----------
    crop : tuple of float
        Shown of every frame, in pixels.
    width, height : float
        Of each still in millimetres.
    gap : float
        Between two stills in millimetres.
    above, caption_room : float
        Height and width of the room of a caption in millimetres.
    """
    placed: list[list[Placed]] = []
    areas = []
    for index, still in enumerate(stills):
        area = Area(index * (width + gap), above, width, height)
        areas.append(area)
        scale = width / (crop[2] - crop[0])

        def to_page(at: XY, area: Area = area, scale: float = scale) -> XY:
            return (area.x + (at[0] - crop[0]) * scale, area.y + (at[1] - crop[1]) * scale)

        placed.append(
            [
                place_mark(number, mark, to_page, area, still.state, style.ink)
                for number, mark in still.marks
            ]
        )
    heights = _shared_heights(placed, areas[0])
    elements = []
    for still, area, marks in zip(stills, areas, placed, strict=True):
        elements.append(_caption(still, area, caption_room, style))
        elements.append(_figure(still, crop, area, marks, heights, style))
    return tuple(elements)


def caption_height(stills: Sequence[Still], room: float, style: Style) -> float:
    """Return the height of the captions in millimetres, one or more lines of a width."""
    step = style.step("caption")
    lines = max(
        len(break_lines((Run(still.caption),), step, room - BESIDE_SYMBOL)) for still in stills
    )
    return CAPTION_HEIGHT + (lines - 1) * step.lead_mm


def _shared_heights(placed: Sequence[Sequence[Placed]], area: Area) -> dict[int, float]:
    """Return one height for each tag number, between its anchors in the pictures."""
    anchors: dict[int, list[float]] = {}
    for marks in placed:
        for mark in marks:
            anchors.setdefault(mark.number, []).append(mark.anchor[1])
    numbers = list(anchors)
    means = [sum(anchors[number]) / len(anchors[number]) for number in numbers]
    return dict(zip(numbers, tag_heights(means, area), strict=True))


def _caption(still: Still, area: Area, room: float, style: Style) -> Element:
    step = style.step("caption")
    lines = break_lines((Run(still.caption),), step, room - BESIDE_SYMBOL)
    baseline = area.y - 2.0 - (len(lines) - 1) * step.lead_mm
    boxes: list[Box] = [*state_symbol((area.x + 1.1, baseline - 1.15), still.state, style.ink)]
    for line in lines:
        boxes += set_line(line, area.x + BESIDE_SYMBOL, baseline, step, style.ink)
        baseline += step.lead_mm
    return Element("P", tuple(boxes))


def _outline(still: Still, crop: Crop, area: Area, scale: float, style: Style) -> tuple[Box, ...]:
    """Return the outline of the body before: thin, dashed, readable on light and on dark."""
    closed = [
        tuple((area.x + (x - crop[0]) * scale, area.y + (y - crop[1]) * scale) for x, y in line)
        for line in still.outline
    ]
    return (
        *(Path(line, OUTLINE_CASING, WHITE, closed=True) for line in closed),
        *(Path(line, OUTLINE, style.ink, dash=OUTLINE_DASH, closed=True) for line in closed),
    )


def _figure(
    still: Still,
    crop: Crop,
    area: Area,
    marks: Sequence[Placed],
    heights: dict[int, float],
    style: Style,
) -> Element:
    scale = area.width / (crop[2] - crop[0])
    content: tuple[Box, ...]
    if still.photograph:
        content = (Picture(area.x, area.y, area.width, area.height, still.frame, crop),)
    else:
        content = drawn_figure(
            still.points,
            to_page=lambda at: (
                area.x + (at[0] - crop[0]) * scale,
                area.y + (at[1] - crop[1]) * scale,
            ),
            scale_mm_per_px=scale,
            style=style,
        )
    content += _outline(still, crop, area, scale, style)
    drawing = draw_marks(marks, [heights[mark.number] for mark in marks], area, style.ink)
    clipped = Clipped(area.x, area.y, area.width, area.height, (*content, *drawing.inside))
    corners = (
        (area.x, area.y),
        (area.x + area.width, area.y),
        (area.x + area.width, area.y + area.height),
        (area.x, area.y + area.height),
    )
    border = Path(corners, BORDER, style.ink, closed=True, round_join=False)
    return Element("Figure", (clipped, border, *drawing.tags), alt=still.alt)
