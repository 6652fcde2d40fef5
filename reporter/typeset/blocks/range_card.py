"""The card for the bag: thoughts to read at one and a half metres, a gate to measure, a tally."""

from collections.abc import Sequence
from dataclasses import replace

from reporter.speech import later, say
from reporter.story.report import RangeCard, Run
from reporter.typeset.blocks.drill_cards import tally_row
from reporter.typeset.blocks.sketches import sketch_boxes
from reporter.typeset.boxes import Box, Disc, Element, Path, moved_box
from reporter.typeset.chunk import Chunk, Flexible, Piece
from reporter.typeset.faces import width_of
from reporter.typeset.style import Style, TypeStep
from reporter.typeset.text import break_lines, label, paragraph

LEAST_THOUGHT_POINTS = 36.0
"""Cap height 8.8 mm: 20 minutes of arc at one and a half metres (ISO 9241-3 asks for 20 to 22)."""
SMALLEST_THOUGHT_POINTS = 14.0
NUMERAL = 15.0 / 46
"""Room for a thought's number in millimetres for a point of its size."""
BETWEEN_THOUGHTS = 8.0
CORNER = 6.0
INSET = 7.0
ABOVE, BELOW = 16.0, 8.0
PUNCH_RADIUS = 3.0
WORDS = {"punch": later("punch")}
TALLY_LINE, LEAST_TALLY_LINE = 9.4, 7.2
LEAST_LOWER = 84.0
LEAST_SKETCH = 34.0
SIDE_BY_SIDE = 100.0
"""Least width for sketch and tally beside each other, in millimetres."""
STRIP_SHARE, STRIP_HEIGHT = 0.58, 46.0
GROWTH = 110.0
"""How much higher than need be a card with a sketch may become, so that it fills its sheet."""


def range_card_pieces(
    block: RangeCard, width: float, style: Style, warnings: list[str]
) -> list[Piece]:
    """Return the card as one piece, or its front and its back where no page holds both."""
    if style.card.form == "strip":
        return [_strip(block, width, style, warnings)]
    inner = width - 2 * INSET
    lower = lower_height(block, inner, style)
    room = style.text_height - ABOVE - BELOW
    together = room - (lower + 12.0 if lower else 0.0)
    step = thought_step(block.thoughts, inner, together, style, most_lines=2) or thought_step(
        block.thoughts, inner, together, style
    )
    if lower and (step is None or inner < SIDE_BY_SIDE):
        return [*front_pieces(block, width, style, warnings), *back_pieces(block, width, style)]
    if step is None:
        return front_pieces(block, width, style, warnings)
    upper = thoughts_height(block.thoughts, step, inner)
    least = ABOVE + upper + BELOW + (12.0 + lower if lower else 0.0)
    most = least + (GROWTH if block.sketch is not None else 0.0)

    def make(room: float) -> Chunk:
        elements: list[Element] = [Element("Artifact", corners(width, room, style))]
        thoughts, y = thought_elements(block.thoughts, step, INSET, ABOVE, inner, style)
        elements += thoughts
        if lower:
            rule = Path(((INSET, y + 2.0), (INSET + inner, y + 2.0)), 0.5, style.brand)
            elements.append(Element("Artifact", (rule,)))
            height = room - INSET - 3.0 - (y + 9.0)
            elements += lower_elements(block, INSET, y + 9.0, inner, height, style)
        return Chunk(room, tuple(elements), 4.0, name="range card", source="thoughts")

    return [Flexible(least, most, make, 4.0, "range card", "thoughts")]


def _strip(block: RangeCard, width: float, style: Style, warnings: list[str]) -> Piece:
    """Return the card as a strip: thoughts on the left, tally on the right."""
    inner, top = width - 2 * INSET, 8.0
    left = inner if not block.days else STRIP_SHARE * inner
    place = f"the card of {width:.0f} mm"
    short = replace(block, sketch=None, note="")
    right, x = inner - left - 6.0, INSET + left + 6.0
    tally = _tally_height(short, right, style, LEAST_TALLY_LINE) if block.days else 0.0
    room = max(tally, STRIP_HEIGHT)
    thoughts, step = fitting_thoughts(block.thoughts, left, room, style, warnings, place)
    upper = thoughts_height(thoughts, step, left)
    height = max(upper, tally + 1.0) + top + 2.0
    frame = Element("Artifact", corners(width, height, style, punched=False))
    said, _ = thought_elements(thoughts, step, INSET, top, left, style)
    counted = _tally(short, x, top - 3.0, right, height - top + 1.0, style)
    return Chunk(height, (frame, *said, *counted), 7.0, name="range card", source="thoughts")


def front_pieces(block: RangeCard, width: float, style: Style, warnings: list[str]) -> list[Piece]:
    """Return the front: the thoughts alone, as large as the page allows, else a page for each."""
    inner = width - 2 * INSET
    room = style.text_height - ABOVE - BELOW
    if len(block.thoughts) > 1 and thought_step(block.thoughts, inner, room, style) is None:
        return [
            piece
            for say in block.thoughts
            for piece in front_pieces(replace(block, thoughts=(say,)), width, style, warnings)
        ]
    thoughts, step = fitting_thoughts(block.thoughts, inner, room, style, warnings, "the card")

    def make(height: float) -> Chunk:
        elements, end = thought_elements(thoughts, step, INSET, ABOVE, inner, style)
        # Thoughts stand a little above the middle of their card.
        spare = max(height - BELOW - end, 0.0) * 0.36
        elements, _ = thought_elements(thoughts, step, INSET, ABOVE + spare, inner, style)
        frame = Element("Artifact", corners(width, height, style))
        return Chunk(height, (frame, *elements), 4.0, name="range card", source="thoughts")

    room = style.text_height
    return [Flexible(room, room, make, 4.0, "range card", "thoughts")]


def back_pieces(block: RangeCard, width: float, style: Style) -> list[Piece]:
    """Return the back: drill with its gate, tally and what counts, filling a page."""
    inner = width - 2 * INSET
    if not lower_height(block, inner, style):
        return []

    def make(height: float) -> Chunk:
        top = INSET + 3.0
        parts = lower_elements(block, INSET, top, inner, height - top - INSET, style)
        frame = Element("Artifact", corners(width, height, style, punched=False))
        return Chunk(height, (frame, *parts), 4.0, name="range card", source="drills")

    room = style.text_height
    return [Flexible(room, room, make, 4.0, "range card", "drills")]


def fitting_thoughts(
    thoughts: Sequence[str],
    width: float,
    height: float,
    style: Style,
    warnings: list[str],
    place: str,
) -> tuple[tuple[str, ...], TypeStep]:
    """Return the thoughts that a card holds and their size: 36 points or more if one does.

    Parameters
    ----------
    thoughts : sequence of str
        One or two.
    width, height : float
        Room in millimetres.
    warnings : list of str
        Gains a sentence where a thought is left out or is smaller than 36 points.
    place : str
        What to call the card.
    """
    step = thought_step(thoughts, width, height, style)
    if step is not None:
        return tuple(thoughts), step
    if len(thoughts) > 1:
        warnings.append(
            f"two thoughts of {LEAST_THOUGHT_POINTS:g} points do not fit {place}; "
            "it has the first alone"
        )
        return fitting_thoughts(thoughts[:1], width, height, style, warnings, place)
    card = style.step("card")
    size = LEAST_THOUGHT_POINTS
    while size > SMALLEST_THOUGHT_POINTS:
        size -= 1.0
        smaller = TypeStep(size, size * card.lead / card.size, card.face)
        if _holds(thoughts, smaller, width, height, 0):
            break
    warnings.append(
        f"the first thought is too long for {place}: it is printed in {size:g} points, and "
        f"{LEAST_THOUGHT_POINTS:g} are needed to be read at one and a half metres"
    )
    return tuple(thoughts), TypeStep(size, size * card.lead / card.size, card.face)


def thought_step(
    thoughts: Sequence[str], width: float, height: float, style: Style, *, most_lines: int = 0
) -> TypeStep | None:
    """Return the largest size, 36 points or more, at which the thoughts fit with whole words."""
    card = style.step("card")
    size = max(card.size, LEAST_THOUGHT_POINTS)
    while size >= LEAST_THOUGHT_POINTS:
        step = TypeStep(size, size * card.lead / card.size, card.face)
        if _holds(thoughts, step, width, height, most_lines):
            return step
        size -= 1.0
    return None


def _holds(
    thoughts: Sequence[str], step: TypeStep, width: float, height: float, most_lines: int
) -> bool:
    room = width - _numeral(thoughts, step)
    words = (word for say in thoughts for word in say.split())
    if any(width_of(word, step.face, step.size) > room for word in words):
        return False
    if thoughts_height(thoughts, step, width) > height:
        return False
    return not most_lines or all(
        len(break_lines((Run(say),), step, room)) <= most_lines for say in thoughts
    )


def _numeral(thoughts: Sequence[str], step: TypeStep) -> float:
    return NUMERAL * step.size if len(thoughts) > 1 else 0.0


def thoughts_height(thoughts: Sequence[str], step: TypeStep, width: float) -> float:
    """Return the height of the thoughts in millimetres, from the first line's capitals."""
    room = width - _numeral(thoughts, step)
    lines = sum(len(break_lines((Run(say),), step, room)) for say in thoughts)
    return lines * step.lead_mm + BETWEEN_THOUGHTS * (len(thoughts) - 1)


def thought_elements(
    thoughts: Sequence[str], step: TypeStep, x: float, y: float, width: float, style: Style
) -> tuple[list[Element], float]:
    """Set the thoughts from the corner (x, y); return them and where they end."""
    indent = _numeral(thoughts, step)
    elements = []
    baseline = y + step.size_mm * 0.72
    for index, thought in enumerate(thoughts):
        boxes: list[Box] = []
        if indent:
            boxes.append(label(str(index + 1), x, baseline, step, style.brand))
        text, baseline = paragraph(
            (Run(thought),), x + indent, baseline, width - indent, step, style.ink
        )
        elements.append(Element("H2", (*boxes, *text), source=f"thoughts.{index}"))
        baseline += BETWEEN_THOUGHTS
    return elements, baseline - BETWEEN_THOUGHTS - step.size_mm * 0.72


def corners(width: float, height: float, style: Style, *, punched: bool = True) -> tuple[Box, ...]:
    """Return the corner marks to cut along, and the place to punch."""
    boxes: list[Box] = []
    for x, towards_x in ((0.0, 1.0), (width, -1.0)):
        for y, towards_y in ((0.0, 1.0), (height, -1.0)):
            points = ((x + towards_x * CORNER, y), (x, y), (x, y + towards_y * CORNER))
            boxes.append(Path(points, 0.25, style.ink, round_join=False))
    if not punched:
        return tuple(boxes)
    punch = (width - INSET - PUNCH_RADIUS, 10.0)
    boxes.append(punch_mark(*punch, style))
    note = style.step("note")
    boxes.append(
        label(
            say(WORDS["punch"]),
            punch[0] - PUNCH_RADIUS - 1.6,
            punch[1] + 1.0,
            note,
            style.secondary,
            align="right",
        )
    )
    return tuple(boxes)


def punch_mark(x: float, y: float, style: Style) -> Box:
    """Return the ring that shows where to punch a hole."""
    return Disc(x, y, PUNCH_RADIUS, 0.2, style.secondary, dash=(0.9, 0.7))


def lower_height(block: RangeCard, inner: float, style: Style) -> float:
    """Return the least height of sketch and tally in millimetres; 0 where there is neither."""
    tally = 34.0 + len(block.days) * TALLY_LINE if block.days else 0.0
    return max(LEAST_LOWER if block.sketch is not None else 0.0, tally)


def lower_elements(
    block: RangeCard, x: float, y: float, width: float, height: float, style: Style
) -> list[Element]:
    """Set sketch and tally beside each other, or one above the other in a narrow room."""
    if width >= SIDE_BY_SIDE:
        gap = 8.0
        half = (width - gap) / 2
        elements = _sketch(block, x, y, half, min(height, 125.0), style, large=True)
        at = x + half + gap if block.sketch is not None else x
        return elements + _tally(block, at, y, x + width - at, height, style)
    tally = _tally_height(block, width, style, LEAST_TALLY_LINE)
    room = min(height - tally - 5.0, 0.9 * width)
    elements = []
    if block.sketch is not None and room >= LEAST_SKETCH:
        elements = _sketch(block, x, y, width, room, style, large=False)
        y, height = y + room + 5.0, height - room - 5.0
    return elements + _tally(block, x, y, width, height, style)


def _sketch(
    block: RangeCard, x: float, y: float, width: float, height: float, style: Style, *, large: bool
) -> list[Element]:
    if block.sketch is None:
        return []
    boxes = sketch_boxes(
        block.sketch, width, height, style, right_handed=block.right_handed, large=large
    )
    figure = tuple(moved_box(box, x, y) for box in boxes)
    return [Element("Figure", figure, alt=block.sketch_alt)]


def _tally_height(block: RangeCard, width: float, style: Style, pitch: float) -> float:
    if not block.days:
        return 0.0
    fact, body = style.step("fact"), style.step("body")
    heading = len(break_lines((Run(block.tally_heading),), fact, width)) * fact.lead_mm
    note = len(break_lines((Run(block.note),), body, width)) if block.note else 0
    return heading + 10.5 + len(block.days) * pitch + note * body.lead_mm


def _tally(
    block: RangeCard, x: float, top: float, room: float, height: float, style: Style
) -> list[Element]:
    if not block.days:
        return []
    elements: list[Element] = []
    fact, caption, body = style.step("fact"), style.step("subheading"), style.step("body")
    bottom = top + height
    heading, y = paragraph((Run(block.tally_heading),), x, top + 5.0, room, fact, style.ink)
    elements.append(Element("P", heading))
    y += 1.5
    note_lines = len(break_lines((Run(block.note),), body, room)) if block.note else 0
    note_room = 4.0 + note_lines * body.lead_mm
    space = bottom - y - note_room
    days = block.days[: max(int(space // LEAST_TALLY_LINE), 1)]
    pitch = min(space / len(days), TALLY_LINE * 1.5)
    day_room = max(width_of(day, "bold", caption.size) for day in days) + 3.0
    size = min((room - day_room) / max(block.out_of, 1), 7.0)
    for day in days:
        row = (
            label(day, x, y + 2.2, caption, style.ink),
            *tally_row(x + day_room, y - 2.6, size, 6.4, block.out_of, style),
        )
        elements.append(Element("P", row))
        y += pitch
    if block.note:
        text, _ = paragraph((Run(block.note),), x, y + 3.0, room, body, style.secondary)
        elements.append(Element("P", text))
    return elements
