"""Two stills of one position side by side with their measures: large, or with a table."""

import math

from reporter.story.report import Inset, Pair, Run, Still
from reporter.typeset.blocks.measure_table import findings, measure_table
from reporter.typeset.blocks.stills import CAPTION_HEIGHT, stills_side_by_side
from reporter.typeset.boxes import Box, Element, Path, moved, moved_box
from reporter.typeset.chunk import Chunk, Flexible, Piece
from reporter.typeset.crop import common_crop
from reporter.typeset.strokes import CHAIN, DASH, dimension_arc, state_symbol
from reporter.typeset.style import Style
from reporter.typeset.text import label, paragraph

LARGE_HEIGHTS = (66.0, 116.0)
FULL_HEIGHTS = (58.0, 92.0)
GAP_TO_TABLE = 4.0
SHORTEST_INSET = 10.0
WORDS = {"plumb": "plumb", "level": "level"}


def pair_pieces(block: Pair, width: float, style: Style) -> list[Piece]:
    """Return a pair as one piece whose pictures grow with the room on the page."""
    return [_large(block, width, style) if block.large else _full(block, width, style)]


def _stills(block: Pair) -> tuple[Still, ...]:
    return tuple(still for still in (block.before, block.after) if still is not None)


def _large(block: Pair, width: float, style: Style) -> Flexible:
    stills = _stills(block)
    columns = style.columns // 2
    picture = style.span(columns)
    foot, foot_height = findings(block.rows, width, style, single=len(stills) < 2)
    fixed = CAPTION_HEIGHT + (GAP_TO_TABLE + foot_height if block.rows else 0.0)

    def make(room: float) -> Chunk:
        height = room - fixed
        shown = picture if len(stills) > 1 else min(picture, height * 0.9)
        crop = common_crop(stills, shown / height)
        elements = list(stills_side_by_side(stills, crop, shown, height, style.gutter, style))
        if block.rows:
            elements.append(moved(foot, 0, CAPTION_HEIGHT + height + GAP_TO_TABLE))
        return Chunk(room, tuple(elements), space_before=7.0, name="pair", source=block.source)

    least, most = LARGE_HEIGHTS
    return Flexible(least + fixed, most + fixed, make, 7.0, "pair", block.source)


def _full(block: Pair, width: float, style: Style) -> Flexible:
    stills = _stills(block)
    picture = style.span(2) if style.columns >= 6 else (width - style.gutter) / 2
    heading_step = style.step("heading")
    heading, y = paragraph(
        (Run(block.heading),), 0, heading_step.size_mm * 0.78, width, heading_step, style.ink
    )
    top = y - heading_step.lead_mm + 3.2
    single = len(stills) < 2
    table, table_height = measure_table(block.rows, width, style, single=single)
    below = GAP_TO_TABLE + table_height if block.rows else 0.0
    fixed = top + CAPTION_HEIGHT + below
    text_x = (
        style.column_x(4 if len(stills) > 1 else 2)
        if style.columns >= 6
        else len(stills) * (picture + style.gutter)
    )

    def make(room: float) -> Chunk:
        height = room - fixed
        crop = common_crop(stills, picture / height)
        elements = [Element("H2", heading)]
        elements += [
            moved(one, 0, top)
            for one in stills_side_by_side(stills, crop, picture, height, style.gutter, style)
        ]
        elements += _aside(block, text_x, top + CAPTION_HEIGHT, width - text_x, height, style)
        if block.rows:
            elements.append(moved(table, 0, top + CAPTION_HEIGHT + height + GAP_TO_TABLE))
        return Chunk(room, tuple(elements), 11.0, name="pair", source=block.source)

    least, most = FULL_HEIGHTS
    return Flexible(fixed + least, fixed + most, make, 11.0, "pair", block.source)


def _aside(
    block: Pair, x: float, y: float, width: float, height: float, style: Style
) -> list[Element]:
    elements: list[Element] = []
    body = style.step("body")
    base = y + 3.2
    if block.sentence:
        text, base = paragraph((Run(block.sentence),), x, base, width, body, style.ink)
        elements.append(Element("P", text, source=block.source))
    if block.inset is not None:
        # The inset stands at the foot of the picture, where the eye goes down to the table.
        room = y + height - base
        if room > 24.0:
            elements += inset_elements(block.inset, x, base + 2.0, width, room - 2.0, style)
    return elements


def inset_elements(
    inset: Inset, x: float, y: float, width: float, height: float, style: Style
) -> list[Element]:
    """Draw both measured lines from one point, with the reference and their difference."""
    caption, table = style.step("caption"), style.step("table")
    title, base = paragraph((Run(inset.caption),), x, y + 2.6, width, caption, style.ink)
    top = base - caption.lead_mm + 6.0
    words, words_end = paragraph((Run(inset.label, bold=True),), x, 0, width, table, style.ink)
    length = min(height - (top - y) - 4.0 - words_end, width * 0.62, 46.0)
    if length < SHORTEST_INSET:
        return []
    before, after = math.radians(inset.before_degrees), math.radians(inset.after_degrees)
    # The point all lines share: low for lines that rise, placed so that both stay in the column.
    side = math.sin((before + after) / 2)
    rises = abs(math.cos((before + after) / 2)) > 0.5
    origin_x = x + (width * 0.5 if rises else (width * 0.78 if side < 0 else width * 0.16))
    origin_x -= side * length * 0.25 if rises else 0.0
    origin = (origin_x, top + length)
    ink = style.ink
    boxes: list[Box] = []
    if inset.reference == "plumb":
        end = (origin[0], origin[1] - length * 1.04)
        word = label(
            WORDS["plumb"],
            origin[0] + (2.0 if side < 0 else -2.0),
            end[1] + 2.4,
            style.step("note"),
            style.secondary,
            align="left" if side < 0 else "right",
        )
    else:
        reach = length * 1.04 * (1 if side >= 0 else -1)
        end = (origin[0] + reach, origin[1])
        word = label(
            WORDS["level"],
            end[0],
            origin[1] + 3.6,
            style.step("note"),
            style.secondary,
            align="right" if side >= 0 else "left",
        )
    boxes.append(Path((origin, end), 0.25, ink, dash=CHAIN))
    boxes.append(word)
    tips = []
    for angle, state in ((before, "before"), (after, "after")):
        tip = (origin[0] + length * math.sin(angle), origin[1] - length * math.cos(angle))
        tips.append(tip)
        boxes.append(Path((origin, tip), 0.5, ink, dash=DASH if state == "before" else ()))
    radius = length * 0.72
    if abs(before - after) * radius > 0.9:
        arc = dimension_arc(
            origin, radius, before - math.pi / 2, after - math.pi / 2, ink, cased=False
        )
        boxes += arc.cores
    boxes += state_symbol(tips[0], "before", ink)
    boxes += state_symbol(tips[1], "after", ink)
    boxes += state_symbol(origin, "after", ink, radius=0.7)
    boxes += [moved_box(word, 0, origin[1] + 6.5) for word in words]
    return [Element("P", title), Element("Figure", tuple(boxes), alt=inset.label)]
