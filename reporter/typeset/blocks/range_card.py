"""The card for the bag: thoughts to read at one and a half metres, a gate to measure, a tally."""

from reporter.story.report import RangeCard, Run
from reporter.typeset.blocks.drill_cards import tally_row
from reporter.typeset.blocks.sketches import sketch_boxes
from reporter.typeset.boxes import Box, Disc, Element, Path, moved_box
from reporter.typeset.chunk import Chunk, Flexible, Piece
from reporter.typeset.faces import width_of
from reporter.typeset.style import Style, TypeStep
from reporter.typeset.text import break_lines, label, paragraph

LEAST_THOUGHT_POINTS = 36.0
CORNER = 6.0
INSET = 7.0
PUNCH_RADIUS = 3.0
WORDS = {"punch": "punch", "cut": "cut along the corners"}
TALLY_LINE = 9.4
GROWTH = 110.0
"""How much higher than need be a card with a sketch may become, so that it fills its sheet."""


def range_card_pieces(block: RangeCard, width: float, style: Style) -> list[Piece]:
    """Return the card filling the room of its sheet."""
    inner = width - 2 * INSET
    step = _size(block.thoughts, inner, style)
    numeral = 15.0 if len(block.thoughts) > 1 else 0.0
    lines = [break_lines((Run(say),), step, inner - numeral) for say in block.thoughts]
    thoughts_height = sum(len(one) * step.lead_mm for one in lines) + 8.0 * (len(lines) - 1)
    tally_height = 34.0 + len(block.days) * TALLY_LINE if block.days else 0.0
    lower_height = max(84.0 if block.sketch is not None else 0.0, tally_height)
    least = 16.0 + thoughts_height + 12.0 + lower_height + 8.0
    most = least + (GROWTH if block.sketch is not None else 0.0)

    def make(room: float) -> Chunk:
        elements: list[Element] = [Element("Artifact", _corners(width, room, style))]
        y = 16.0 + step.size_mm * 0.72
        for index, say in enumerate(block.thoughts):
            boxes: list[Box] = []
            if numeral:
                boxes.append(label(str(index + 1), INSET, y, step, style.brand))
            text, y = paragraph((Run(say),), INSET + numeral, y, inner - numeral, step, style.ink)
            elements.append(Element("H2", (*boxes, *text), source=f"thoughts.{index}"))
            y += 8.0
        if lower_height:
            rule_y = y - step.lead_mm - 8.0 + 10.0
            elements.append(
                Element(
                    "Artifact",
                    (Path(((INSET, rule_y), (INSET + inner, rule_y)), 0.5, style.brand),),
                )
            )
            elements += _lower(block, rule_y + 7.0, room - INSET - 3.0, inner, style)
        return Chunk(room, tuple(elements), 4.0, name="range card", source="thoughts")

    return [Flexible(least, most, make, 4.0, "range card", "thoughts")]


def _size(thoughts: tuple[str, ...], inner: float, style: Style) -> TypeStep:
    """Return the largest size at which every thought takes at most two lines."""
    card = style.step("card")
    share = 1.0
    while card.size * share > LEAST_THOUGHT_POINTS:
        step = TypeStep(card.size * share, card.lead * share, card.face)
        room = inner - (15.0 if len(thoughts) > 1 else 0.0)
        fits = all(len(break_lines((Run(say),), step, room)) <= 2 for say in thoughts)
        whole = all(
            width_of(word, step.face, step.size) <= room for say in thoughts for word in say.split()
        )
        if fits and whole:
            return step
        share -= 1 / card.size
    least = LEAST_THOUGHT_POINTS
    return TypeStep(least, least * card.lead / card.size, card.face)


def _corners(width: float, height: float, style: Style) -> tuple[Box, ...]:
    boxes: list[Box] = []
    for x, towards_x in ((0.0, 1.0), (width, -1.0)):
        for y, towards_y in ((0.0, 1.0), (height, -1.0)):
            points = ((x + towards_x * CORNER, y), (x, y), (x, y + towards_y * CORNER))
            boxes.append(Path(points, 0.25, style.ink, round_join=False))
    punch = (width - INSET - PUNCH_RADIUS, 10.0)
    boxes.append(Disc(punch[0], punch[1], PUNCH_RADIUS, 0.2, style.secondary, dash=(0.9, 0.7)))
    note = style.step("note")
    boxes.append(
        label(
            WORDS["punch"],
            punch[0] - PUNCH_RADIUS - 1.6,
            punch[1] + 1.0,
            note,
            style.secondary,
            align="right",
        )
    )
    return tuple(boxes)


def _lower(
    block: RangeCard, top: float, bottom: float, inner: float, style: Style
) -> list[Element]:
    elements: list[Element] = []
    gap = 8.0
    half = (inner - gap) / 2
    height = bottom - top
    x = INSET
    if block.sketch is not None:
        boxes = sketch_boxes(
            block.sketch,
            half,
            min(height, 125.0),
            style,
            right_handed=block.right_handed,
            large=True,
        )
        figure = tuple(moved_box(box, INSET, top) for box in boxes)
        elements.append(Element("Figure", figure, alt=block.sketch_alt))
        x = INSET + half + gap
    if block.days:
        fact, caption, body = style.step("fact"), style.step("subheading"), style.step("body")
        room = inner + INSET - x
        heading, y = paragraph((Run(block.tally_heading),), x, top + 5.0, room, fact, style.ink)
        elements.append(Element("P", heading))
        y += 1.5
        note_room = 18.0 if block.note else 4.0
        days = block.days[: max(int((bottom - y - note_room) // TALLY_LINE), 1)]
        pitch = min((bottom - y - note_room) / len(days), TALLY_LINE * 1.5)
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
