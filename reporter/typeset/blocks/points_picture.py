"""A frame with its marked points, and beside it what was refined and how far it moved."""

from collections.abc import Callable

from reporter.story.report import XY, PointsPicture, PointSpot, Run
from reporter.typeset.boxes import Box, Clipped, Disc, Element, Path, Picture
from reporter.typeset.chunk import Chunk, Piece
from reporter.typeset.crop import Crop, common_crop
from reporter.typeset.strokes import WHITE
from reporter.typeset.style import Style
from reporter.typeset.text import label, paragraph

ToPage = Callable[[XY], XY]

HEIGHT = 62.0
SHARE = 0.40
"""Width of the picture over that of the text."""
CROSS, RING, DOT = 1.1, 1.5, 0.45
CORE, CASING = 0.28, 0.7
TAG_APART = 3.4


def points_picture_pieces(block: PointsPicture, width: float, style: Style) -> list[Piece]:
    """Return the frame at the left and one line a point beside it, in one piece."""
    wide = min(SHARE * width, HEIGHT)
    step, caption = style.step("table"), style.step("caption")
    top = caption.lead_mm + 1.6
    crop = common_crop((block.still,), wide / HEIGHT)
    scale = wide / (crop[2] - crop[0])

    def to_page(at: XY) -> XY:
        return ((at[0] - crop[0]) * scale, top + (at[1] - crop[1]) * scale)

    elements = [
        Element("P", (label(block.heading, 0.0, caption.lead_mm - 1.2, caption, style.ink),)),
        _figure(block, crop, top, wide, to_page, style),
    ]
    x = wide + style.gutter
    y = top + step.lead_mm - 1.2
    for spot in block.spots:
        number = label(f"{spot.number}", x, y, step, style.ink, face="bold")
        lines, y = paragraph((Run(spot.words),), x + 5.0, y, width - x - 5.0, step, style.ink)
        elements.append(Element("P", (number, *lines)))
    if block.note:
        lines, y = paragraph((Run(block.note),), x, y, width - x, step, style.secondary)
        elements.append(Element("P", tuple(lines)))
    return [Chunk(max(top + HEIGHT, y), tuple(elements), 5.0, name="points", source="frames")]


def _figure(
    block: PointsPicture,
    crop: Crop,
    top: float,
    wide: float,
    to_page: ToPage,
    style: Style,
) -> Element:
    picture = Picture(0.0, top, wide, HEIGHT, block.still.frame, crop)
    dots: list[Box] = [
        Disc(*to_page(at), DOT, 0.2, style.ink, WHITE) for at in block.still.points.values()
    ]
    marks: list[Box] = []
    for spot in block.spots:
        marks += _mark(spot, to_page, style)
    clipped = Clipped(0.0, top, wide, HEIGHT, (picture, *dots, *marks))
    corners = ((0.0, top), (wide, top), (wide, top + HEIGHT), (0.0, top + HEIGHT))
    border = Path(corners, 0.15, style.ink, closed=True, round_join=False)
    return Element("Figure", (clipped, border), alt=block.still.alt)


def _mark(spot: PointSpot, to_page: ToPage, style: Style) -> list[Box]:
    """Return a cross where it was clicked, a ring where it counts, and its number beside."""
    x, y = to_page(spot.clicked)
    arms = (((x - CROSS, y - CROSS), (x + CROSS, y + CROSS)),
            ((x - CROSS, y + CROSS), (x + CROSS, y - CROSS)))  # fmt: skip
    place = to_page(spot.place)
    casings: list[Box] = [Path(arm, CASING, WHITE, round_cap=True) for arm in arms]
    casings.append(Disc(*place, RING, CASING, WHITE))
    cores: list[Box] = [Path(arm, CORE, style.ink) for arm in arms]
    cores.append(Disc(*place, RING, CORE, style.ink))
    beside = (place[0] + TAG_APART, place[1] - 0.6)
    tag = Disc(*beside, 1.7, 0.2, style.ink, WHITE)
    number = label(
        f"{spot.number}", beside[0], beside[1] + 1.0, style.step("note"), style.ink, align="centre"
    )
    return [*casings, *cores, tag, number]
