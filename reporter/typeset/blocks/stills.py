"""A frame on the page: its caption above, the photograph or the drawn figure, and its marks."""

from collections.abc import Sequence

from reporter.story.report import XY, Still
from reporter.typeset.blocks.drawn_figure import drawn_figure
from reporter.typeset.blocks.marks import Area, Placed, draw_marks, place_mark, tag_heights
from reporter.typeset.boxes import Box, Clipped, Element, Path, Picture
from reporter.typeset.crop import Crop
from reporter.typeset.strokes import state_symbol
from reporter.typeset.style import Style
from reporter.typeset.text import label

CAPTION_HEIGHT = 5.6
BORDER = 0.15


def stills_side_by_side(
    stills: Sequence[Still], crop: Crop, width: float, height: float, gap: float, style: Style
) -> tuple[Element, ...]:
    """Set stills from (0, 0) to the right, captions above, tags at one height in all of them."""
    placed: list[list[Placed]] = []
    areas = []
    for index, still in enumerate(stills):
        area = Area(index * (width + gap), CAPTION_HEIGHT, width, height)
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
        elements.append(_caption(still, area, style))
        elements.append(_figure(still, crop, area, marks, heights, style))
    return tuple(elements)


def _shared_heights(placed: Sequence[Sequence[Placed]], area: Area) -> dict[int, float]:
    """Return one height for each tag number, between its anchors in the pictures."""
    anchors: dict[int, list[float]] = {}
    for marks in placed:
        for mark in marks:
            anchors.setdefault(mark.number, []).append(mark.anchor[1])
    numbers = list(anchors)
    means = [sum(anchors[number]) / len(anchors[number]) for number in numbers]
    return dict(zip(numbers, tag_heights(means, area), strict=True))


def _caption(still: Still, area: Area, style: Style) -> Element:
    step = style.step("caption")
    baseline = area.y - 2.0
    symbol = state_symbol((area.x + 1.1, baseline - 1.15), still.state, style.ink)
    text = label(still.caption, area.x + 3.6, baseline, step, style.ink)
    return Element("P", (*symbol, text))


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
