"""Blocks that are mostly words: paragraphs, thoughts, facts, notes, cautions, lines to fill."""

from reporter.story.report import (
    Facts,
    Labelled,
    Paragraph,
    Run,
    SideNotes,
    Thoughts,
    WritingLines,
)
from reporter.typeset.boxes import Box, Element, Path, Role, Text
from reporter.typeset.chunk import Chunk, Flexible, Piece
from reporter.typeset.faces import width_of
from reporter.typeset.style import Style, TypeStep
from reporter.typeset.text import break_lines, label, line_width, paragraph, set_line

FIRST_BASELINE = 0.76
"""Distance from the top of a text to its first baseline, in sizes: a little over cap height."""
THOUGHT_SIZES = (1.0, 28 / 30, 26 / 30, 24 / 30)
SPACE_BEFORE = {"lead": 4.0, "title": 3.0, "heading": 8.0, "body": 4.0, "note": 5.0, "quote": 4.0}
LINES_KEPT = 2
LINE_PITCH = 9.0
MORE_LINES = 5


def paragraph_pieces(block: Paragraph, width: float, style: Style) -> list[Piece]:
    """Return a paragraph, line by line where it is long enough to go on to the next page."""
    step = style.step("body" if block.style == "quote" else block.style)
    ink = style.secondary if block.style == "note" else style.ink
    indent = 5.0 if block.style == "quote" else 0.0
    measure = min(width - indent, 128.0) if block.style in ("body", "quote") else width - indent
    lines = break_lines(block.runs, step, measure)
    before = SPACE_BEFORE[block.style]
    role: Role = {"title": "H1", "heading": "H2"}.get(block.style, "P")  # type: ignore[assignment]
    groups = _groups(len(lines), whole=block.style in ("title", "heading", "lead"))
    pieces: list[Piece] = []
    joins = f"{block.source} {id(block)}" if len(groups) > 1 else ""
    for first, last in groups:
        boxes: list[Box] = []
        y = step.size_mm * FIRST_BASELINE
        for one in lines[first:last]:
            boxes += set_line(one, indent, y, step, ink)
            y += step.lead_mm
        height = (last - first) * step.lead_mm
        if indent:
            boxes.insert(0, Path(((1.0, 0), (1.0, height - 1.0)), 0.5, style.brand))
        pieces.append(
            Chunk(
                height,
                (Element(role, tuple(boxes), source=block.source, joins=joins),),
                before if not first else 0.0,
                keep_with_next=block.style in ("title", "heading"),
                name="text",
                source=block.source,
            )
        )
    return pieces


def _groups(count: int, *, whole: bool) -> list[tuple[int, int]]:
    """Return ranges of lines that stay together: at least two at either end of a page."""
    if whole or count < 2 * LINES_KEPT:
        return [(0, count)]
    inner = list(range(LINES_KEPT, count - LINES_KEPT + 1))
    cuts = [0, *inner, count]
    return list(zip(cuts[:-1], cuts[1:], strict=True))


def thoughts_pieces(block: Thoughts, width: float, style: Style) -> list[Piece]:
    """Return the thoughts, all at the largest size at which each takes one line."""
    numeral_room = 11.5
    step = _thought_step([say for say, _ in block.items], width - numeral_room, style)
    lead = style.step("body")
    pieces: list[Piece] = []
    for index, (say, because) in enumerate(block.items):
        y = step.size_mm * FIRST_BASELINE
        number = str(index + 1) if len(block.items) > 1 else ""
        boxes: list[Box] = [label(number, 0, y, step, style.brand)] if number else []
        x = numeral_room if number else 0.0
        text, y = paragraph((Run(say),), x, y, width - x, step, style.ink)
        boxes += text
        elements = [Element("P", tuple(boxes), source=f"{block.source}.{index}.say")]
        y += 7.2 - step.lead_mm
        if because:
            reason, y = paragraph((Run(because),), x, y, width - x, lead, style.secondary)
            elements.append(Element("P", reason, source=f"{block.source}.{index}.because"))
            y -= lead.lead_mm
        pieces.append(
            Chunk(
                y + 2.0,
                tuple(elements),
                8.0 if not index else 6.5,
                keep_with_next=index < len(block.items) - 1,
                name="thought",
                source=f"{block.source}.{index}",
            )
        )
    return pieces


def _thought_step(thoughts: list[str], width: float, style: Style) -> TypeStep:
    largest = style.step("thought")
    for share in THOUGHT_SIZES:
        step = TypeStep(largest.size * share, largest.lead * share, largest.face)
        if all(width_of(say, step.face, step.size) <= width for say in thoughts):
            return step
    return TypeStep(largest.size * THOUGHT_SIZES[1], largest.lead * THOUGHT_SIZES[1], largest.face)


def facts_pieces(block: Facts, width: float, style: Style) -> list[Piece]:
    """Return short facts side by side under a hairline, each a label over a strong line."""
    count = len(block.items)
    column = (width - (count - 1) * style.gutter) / count
    table, fact = style.step("table"), style.step("fact")
    boxes: list[Box] = [Path(((0, 0), (width, 0)), 0.15, style.ink)]
    cells: list[Element] = [Element("Artifact", tuple(boxes))]
    height = 0.0
    for index, (name, value) in enumerate(block.items):
        x = index * (column + style.gutter)
        head = label(name, x, 5.2, table, style.secondary)
        strong, y = paragraph((Run(value),), x, 11.0, column, fact, style.ink)
        cells.append(Element("P", (head, *strong)))
        height = max(height, y - fact.lead_mm + 2.0)
    return [Chunk(height, (Element("Div", children=tuple(cells)),), 8.0, name="facts")]


def side_notes_pieces(block: SideNotes, width: float, style: Style) -> list[Piece]:
    """Return paragraphs side by side, two to a row."""
    body = style.step("body")
    pieces: list[Piece] = []
    for start in range(0, len(block.items), 2):
        row = block.items[start : start + 2]
        column = (width - style.gutter) / 2
        cells = []
        height = 0.0
        for index, runs in enumerate(row):
            x = index * (column + style.gutter)
            text, y = paragraph(runs, x, 3.2, column, body, style.ink)
            cells.append(Element("P", text, source=block.source))
            height = max(height, y - body.lead_mm + 1.6)
        pieces.append(Chunk(height, tuple(cells), 5.0, name="plan", source=block.source))
    return pieces


def labelled_pieces(block: Labelled, width: float, style: Style) -> list[Piece]:
    """Return a label in the margin and small text beside it, under a hairline."""
    table, caption = style.step("table"), style.step("caption")
    room = 16.0
    name = label(block.label, 0, 5.4, caption, style.brand)
    text, y = paragraph((Run(block.text),), room, 5.4, width - room, table, style.ink)
    rule = Path(((0, 0), (width, 0)), 0.15, style.ink)
    boxes: tuple[Box, ...] = (name, *text)
    elements = (Element("Artifact", (rule,)), Element("P", boxes))
    return [Chunk(y - table.lead_mm + 1.5, elements, 5.0, name=block.label)]


def writing_lines_pieces(block: WritingLines, width: float, style: Style) -> list[Piece]:
    """Return a label and empty lines for the student's hand, more where there is room."""
    caption = style.step("caption")

    def make(room: float) -> Chunk:
        y = 4.0
        name: Text = label(block.label, 0, y, caption, style.secondary)
        boxes: list[Box] = []
        start = name.width + 3.0
        while y + 2.5 <= room + 1e-6:
            x = start if not boxes else 0.0
            boxes.append(Path(((x, y + 0.6), (width, y + 0.6)), 0.15, style.ink))
            y += LINE_PITCH
        elements = (Element("P", (name,)), Element("Artifact", tuple(boxes)))
        return Chunk(room, elements, 6.0, name=block.label)

    least = 4.0 + (block.lines - 1) * LINE_PITCH + 2.5
    return [Flexible(least, least + MORE_LINES * LINE_PITCH, make, 6.0, block.label)]


__all__ = [
    "facts_pieces",
    "labelled_pieces",
    "line_width",
    "paragraph_pieces",
    "side_notes_pieces",
    "thoughts_pieces",
    "writing_lines_pieces",
]
