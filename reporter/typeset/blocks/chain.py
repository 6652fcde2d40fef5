"""From the club to the landing in a row of columns: what it was, and how it is known."""

from reporter.story.report import Chain, Run
from reporter.typeset.boxes import Box, Element, Path, Text
from reporter.typeset.chunk import Chunk
from reporter.typeset.faces import width_of
from reporter.typeset.strokes import arrow
from reporter.typeset.style import Style, TypeStep
from reporter.typeset.text import break_lines, paragraph

RULE_WIDTH = 0.9
GAP = 9.0
BAR_ROOM = 5.0
ROW_GAP = 6.0
LEAST_SIZE = 11.0
SMALL_NOTE_FROM_LINES = 3


def chain(block: Chain, width: float, style: Style) -> list[Chunk]:
    """Return the chain as one chunk: thick rules, an arrow in the rule's line between columns.

    Parameters
    ----------
    block : Chain
        One to four links.
    width : float
        Of the text, in millimetres.
    """
    count = len(block.links)
    if not count:
        return []
    if style.breadth != "wide":
        return _list(block, width, style)
    column = (width - (count - 1) * GAP) / count
    strong = strong_step(block, column, style)
    label_step = TypeStep(style.step("table").size, style.step("table").lead)
    note_step = _note_step(block, column, style)

    rules: list[Box] = []
    middle = RULE_WIDTH / 2
    for number in range(count):
        x = number * (column + GAP)
        rules.append(Path(((x, middle), (x + column, middle)), RULE_WIDTH, style.brand))
        if number + 1 < count:
            start, tip = (x + column + 1.9, middle), (x + column + GAP - 1.9, middle)
            rules += arrow(start, tip, style.ink, width=0.3, length=2.2, head_width=1.1)

    label_y = RULE_WIDTH + 4.6
    labels, after_labels = _row(
        [link.label for link in block.links], label_y, column, label_step, style
    )
    strong_y = after_labels + 0.24 * (strong.size - label_step.size) + 1.2
    lines, after_lines = _strong_row(block, strong_y, column, strong, style)
    note_y = after_lines - strong.lead_mm + note_step.lead_mm + 1.0
    notes, after_notes = _row([link.note for link in block.links], note_y, column, note_step, style)
    height = after_notes - note_step.lead_mm + 0.25 * note_step.size_mm

    items = tuple(
        Element(
            "LI",
            children=(
                Element("Lbl", boxes=label_boxes),
                Element("LBody", boxes=(*strong_boxes, *note_boxes)),
            ),
        )
        for label_boxes, strong_boxes, note_boxes in zip(labels, lines, notes, strict=True)
    )
    elements = (Element("Artifact", boxes=tuple(rules)), Element("L", children=items))
    return [Chunk(height, elements, space_before=6.0, name="chain", source="flight")]


def _list(block: Chain, width: float, style: Style) -> list[Chunk]:
    """Return the links below each other, an arrow pointing down beside each but the last."""
    table, strong = style.step("table"), style.step("fact")
    small = TypeStep(table.size, table.lead)
    beside = style.breadth == "medium"
    left = BAR_ROOM
    first = width * 0.30 if beside else width
    chunks = []
    for number, link in enumerate(block.links):
        y = 0.78 * small.size_mm
        head, after = paragraph(
            [Run(link.label)], left, y, (first if beside else width) - left, small, style.secondary
        )
        x = first + 2.0 if beside else left
        y = 0.78 * strong.size_mm if beside else after + 0.24 * (strong.size - small.size)
        boxes: list[Text] = []
        for text in link.lines:
            line_boxes, y = paragraph(
                [Run(text)], x, y, width - x, strong, style.ink, hyphens=style.hyphens
            )
            boxes += line_boxes
        y += small.lead_mm - strong.lead_mm
        notes, y = paragraph([Run(link.note)], x, y, width - x, small, style.secondary)
        height = max(after, y) - small.lead_mm + 0.3 * small.size_mm
        last = number + 1 == len(block.links)
        bar = RULE_WIDTH / 2
        rules: list[Box] = [Path(((bar, 0.0), (bar, height)), RULE_WIDTH, style.brand)]
        if not last:
            start, tip = (bar, height + 0.8), (bar, height + ROW_GAP - 0.8)
            rules += arrow(start, tip, style.ink, width=0.3, length=2.2, head_width=1.1)
        item = Element(
            "LI",
            children=(Element("Lbl", boxes=head), Element("LBody", boxes=(*boxes, *notes))),
        )
        chunks.append(
            Chunk(
                height + (0.0 if last else ROW_GAP),
                (
                    Element("Artifact", boxes=tuple(rules)),
                    Element("L", children=(item,), joins=f"chain {id(block)}"),
                ),
                space_before=0.0 if number else 6.0,
                name="chain",
                source="flight",
                follows=bool(number),
            )
        )
    return chunks


def strong_step(block: Chain, column: float, style: Style) -> TypeStep:
    """Return the largest step, 14 to 11 points, at which each strong line fits its column.

    Where none does, lines are wrapped at 12 points, or at 11 if a single word is too long.
    """
    full = style.step("fact")
    texts = [text for link in block.links for text in link.lines]
    ratio = full.lead / full.size

    def fits(pieces: list[str], size: float) -> bool:
        return all(width_of(piece, full.face, size) <= column for piece in pieces)

    size = full.size
    while size >= LEAST_SIZE:
        if fits(texts, size):
            return TypeStep(size, size * ratio, full.face)
        size -= 0.5
    words = [word for text in texts for word in text.split(" ")]
    size = 12.0 if fits(words, 12.0) else LEAST_SIZE
    return TypeStep(size, size * ratio, full.face)


def _note_step(block: Chain, column: float, style: Style) -> TypeStep:
    table = TypeStep(style.step("table").size, style.step("table").lead)
    longest = max(len(break_lines([Run(link.note)], table, column)) for link in block.links)
    return table if longest < SMALL_NOTE_FROM_LINES else style.step("note")


def _row(
    texts: list[str], y: float, column: float, step: TypeStep, style: Style
) -> tuple[list[tuple[Text, ...]], float]:
    """Set one text a column on a common first baseline; return the next baseline of the longest."""
    rows, below = [], y
    for number, text in enumerate(texts):
        x = number * (column + GAP)
        boxes, after = paragraph([Run(text)], x, y, column, step, style.secondary)
        rows.append(boxes)
        below = max(below, after)
    return rows, below


def _strong_row(
    block: Chain, y: float, column: float, step: TypeStep, style: Style
) -> tuple[list[tuple[Text, ...]], float]:
    rows, below = [], y
    for number, link in enumerate(block.links):
        x, after = number * (column + GAP), y
        boxes: list[Text] = []
        for text in link.lines:
            line_boxes, after = paragraph([Run(text)], x, after, column, step, style.ink)
            boxes += line_boxes
        rows.append(tuple(boxes))
        below = max(below, after)
    return rows, below
