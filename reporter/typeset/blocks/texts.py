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
from reporter.typeset.blocks.flowing import FIRST_BASELINE, flowing
from reporter.typeset.boxes import Box, Element, Path, Role, Text
from reporter.typeset.chunk import Chunk, Flexible, Piece
from reporter.typeset.faces import width_of
from reporter.typeset.style import Style, TypeStep
from reporter.typeset.text import break_lines, label, line_width, paragraph

THOUGHT_SIZES = (1.0, 28 / 30, 26 / 30, 24 / 30)
LONG_THOUGHT_SIZES = (28 / 30, 24 / 30, 20 / 30, 17 / 30, 14 / 30)
NUMERAL_ROOM = 11.5 / 30
"""Room for a thought's number in millimetres for a point of its size."""
MOST_LINES = 3
SPACE_BEFORE = {"lead": 4.0, "title": 3.0, "heading": 8.0, "body": 4.0, "note": 5.0, "quote": 4.0}
LINE_PITCH = 9.0
MORE_LINES = 5
BODY_MEASURE = 128.0
"""Widest lines of running text in millimetres at a body of 11 points: about 70 characters."""


def paragraph_pieces(block: Paragraph, width: float, style: Style) -> list[Piece]:
    """Return a paragraph, line by line where it is long enough to go on to the next page."""
    step = style.step("body" if block.style == "quote" else block.style)
    ink = style.secondary if block.style == "note" else style.ink
    indent = 5.0 if block.style == "quote" else 0.0
    role: Role = {"title": "H1", "heading": "H2"}.get(block.style, "P")  # type: ignore[assignment]
    widest = BODY_MEASURE * style.enlarged if block.style in ("body", "quote") else width
    return [
        *flowing(
            block.runs,
            width,
            step,
            style,
            before=SPACE_BEFORE[block.style],
            role=role,
            indent=indent,
            measure=min(width - indent, widest),
            ink=ink,
            bar=bool(indent),
            whole=block.style in ("title", "heading", "lead"),
            keep_with_next=block.style in ("title", "heading"),
            source=block.source,
            key=f"{block.source} {id(block)}",
        )
    ]


def thoughts_pieces(block: Thoughts, width: float, style: Style) -> list[Piece]:
    """Return the thoughts, all at the largest size at which each takes one line."""
    step = _thought_step([say for say, _ in block.items], width, style)
    numeral_room = NUMERAL_ROOM * step.size
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
        if style.breadth == "narrow":
            pieces += _thought_in_lines(
                block, index, elements[0], x, y - step.lead_mm, width, style
            )
            continue
        y += 2.0 + 0.47 * lead.lead_mm + 0.25 * step.size_mm - step.lead_mm
        if because:
            reason, y = paragraph(
                (Run(because),), x, y, width - x, lead, style.secondary, hyphens=style.hyphens
            )
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
                follows=bool(index),
            )
        )
    return pieces


def _thought_in_lines(
    block: Thoughts, index: int, say: Element, x: float, height: float, width: float, style: Style
) -> list[Piece]:
    """Return a thought of which the reason may go on over a little page."""
    because = block.items[index][1]
    source = f"{block.source}.{index}"
    head = Chunk(
        height + 2.4,
        (say,),
        8.0 if not index else 6.5,
        keep_with_next=bool(because),
        name="thought",
        source=source,
        follows=bool(index),
    )
    if not because:
        return [head]
    reason = flowing(
        (Run(because),),
        width,
        style.step("body"),
        style,
        before=0.6,
        indent=x,
        ink=style.secondary,
        follows=True,
        name="thought",
        source=f"{source}.because",
        key=f"because {id(block)} {index}",
    )
    return [head, *reason]


def _thought_step(thoughts: list[str], width: float, style: Style) -> TypeStep:
    """Return the largest size for one line each; else one at which no word is cut, on few lines."""
    largest = style.step("thought")

    def at(share: float) -> tuple[TypeStep, float]:
        step = TypeStep(largest.size * share, largest.lead * share, largest.face)
        return step, width - (NUMERAL_ROOM * step.size if len(thoughts) > 1 else 0.0)

    for share in THOUGHT_SIZES:
        step, room = at(share)
        if all(width_of(say, step.face, step.size) <= room for say in thoughts):
            return step
    for share in LONG_THOUGHT_SIZES:
        step, room = at(share)
        words = [word for say in thoughts for word in say.split()]
        if all(width_of(word, step.face, step.size) <= room for word in words) and all(
            len(break_lines((Run(say),), step, room)) <= MOST_LINES for say in thoughts
        ):
            return step
    return step


def facts_pieces(block: Facts, width: float, style: Style) -> list[Piece]:
    """Return short facts under a hairline, a label over a strong line: side by side if they fit."""
    if style.breadth == "narrow":
        return _facts_below_each_other(block, width, style)
    count = len(block.items)
    column = (width - (count - 1) * style.gutter) / count
    table, fact = style.step("table"), style.step("fact")
    boxes: list[Box] = [Path(((0, 0), (width, 0)), 0.15, style.ink)]
    cells: list[Element] = [Element("Artifact", tuple(boxes))]
    height = 0.0
    base = 5.2 * style.enlarged
    for index, (name, value) in enumerate(block.items):
        x = index * (column + style.gutter)
        head = label(name, x, base, table, style.secondary)
        strong, y = paragraph(
            (Run(value),), x, base + 5.8 * style.enlarged, column, fact, style.ink
        )
        cells.append(Element("P", (head, *strong)))
        height = max(height, y - fact.lead_mm + 2.0)
    return [Chunk(height, (Element("Div", children=tuple(cells)),), 8.0, name="facts")]


def _facts_below_each_other(block: Facts, width: float, style: Style) -> list[Piece]:
    table, fact = style.step("table"), style.step("fact")
    pieces: list[Piece] = []
    for index, (name, value) in enumerate(block.items):
        pieces += flowing(
            (Run(value),),
            width,
            fact,
            style,
            before=3.0 if index else 7.0,
            head=[((Run(name),), table, style.secondary)],
            rule=0.15,
            name="facts",
            follows=bool(index),
            key=f"facts {id(block)} {index}",
        )
    return pieces


def side_notes_pieces(block: SideNotes, width: float, style: Style) -> list[Piece]:
    """Return paragraphs side by side, two to a row; in a narrow column below each other."""
    body = style.step("body")
    if style.breadth == "narrow":
        return [
            piece
            for index, runs in enumerate(block.items)
            for piece in flowing(
                runs,
                width,
                body,
                style,
                before=5.0,
                name="plan",
                source=block.source,
                follows=bool(index),
                key=f"notes {id(block)} {index}",
            )
        ]
    pieces: list[Piece] = []
    for start in range(0, len(block.items), 2):
        row = block.items[start : start + 2]
        column = (width - style.gutter) / 2
        cells = []
        height = 0.0
        for index, runs in enumerate(row):
            x = index * (column + style.gutter)
            text, y = paragraph(runs, x, 3.2 * style.enlarged, column, body, style.ink)
            cells.append(Element("P", text, source=block.source))
            height = max(height, y - body.lead_mm + 1.6)
        pieces.append(
            Chunk(
                height,
                tuple(cells),
                5.0,
                name="plan",
                source=block.source,
                follows=bool(start),
            )
        )
    return pieces


def labelled_pieces(block: Labelled, width: float, style: Style) -> list[Piece]:
    """Return a label in the margin and small text beside it, under a hairline."""
    table, caption = style.step("table"), style.step("caption")
    if style.breadth == "narrow":
        return [
            *flowing(
                (Run(block.text),),
                width,
                table,
                style,
                before=6.0,
                head=[((Run(block.label),), caption, style.brand)],
                rule=0.15,
                name=block.label,
                key=f"{block.label} {id(block)}",
            )
        ]
    base = 5.4 * style.enlarged
    name = label(block.label, 0, base, caption, style.brand)
    room = max(16.0, name.width + 3.0)
    text, y = paragraph((Run(block.text),), room, base, width - room, table, style.ink)
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
    most = least + (MORE_LINES * LINE_PITCH if block.grow else 0.0)
    return [Flexible(least, most, make, 6.0, block.label)]


__all__ = [
    "facts_pieces",
    "labelled_pieces",
    "line_width",
    "paragraph_pieces",
    "side_notes_pieces",
    "thoughts_pieces",
    "writing_lines_pieces",
]
