"""The drills side by side: sketch, what to do, how much, how to tell, and boxes to tally in."""

from reporter.story.report import DrillCard, Drills, Run
from reporter.typeset.blocks.sketches import sketch_boxes
from reporter.typeset.boxes import Box, Element, Path, moved_box
from reporter.typeset.chunk import Chunk, Flexible, Piece
from reporter.typeset.style import Style
from reporter.typeset.text import break_lines, label, paragraph, set_line

CARDS_A_ROW = 3
SKETCH_HEIGHTS = (42.0, 72.0)
TALLY_BOX = 6.2
LARGEST_TALLY_BOX = 7.0
WORDS = {"tally": "Tally"}


def drills_pieces(block: Drills, width: float, style: Style) -> list[Piece]:
    """Return rows of at most three cards; in a row all parts stand at one height."""
    pieces: list[Piece] = []
    for start in range(0, len(block.cards), CARDS_A_ROW):
        row = block.cards[start : start + CARDS_A_ROW]
        pieces.append(_row(row, block, width, style))
    return pieces


def _row(row: tuple[DrillCard, ...], block: Drills, width: float, style: Style) -> Piece:
    least, most = SKETCH_HEIGHTS
    drawn = any(card.sketch for card in row)
    shortest = _cards(row, block, width, style, least if drawn else 0.0)
    if not drawn:
        return shortest

    def make(room: float) -> Chunk:
        return _cards(row, block, width, style, least + room - shortest.height)

    return Flexible(
        shortest.height,
        shortest.height + most - least,
        make,
        shortest.space_before,
        shortest.name,
        shortest.source,
    )


def _cards(
    row: tuple[DrillCard, ...], block: Drills, width: float, style: Style, sketch_height: float
) -> Chunk:
    columns = 2 if len(row) < CARDS_A_ROW else CARDS_A_ROW
    card = (width - (columns - 1) * style.gutter) / columns
    xs = [index * (card + style.gutter) for index in range(len(row))]
    parts: list[list[Element]] = [[] for _ in row]
    y = _titles(row, xs, card, parts, style)
    if sketch_height:
        y = _sketches(row, xs, card, y, sketch_height, block.right_handed, parts, style)
    y = _lines(row, xs, card, y, parts, style)
    y = _small_lines(row, xs, card, y, parts, style)
    y = _tallies(row, xs, card, y, parts, style)
    elements = tuple(Element("Div", children=tuple(part)) for part in parts)
    return Chunk(y, elements, 6.0, name="drills", source=block.source)


def _titles(
    row: tuple[DrillCard, ...],
    xs: list[float],
    card: float,
    parts: list[list[Element]],
    style: Style,
) -> float:
    fact = style.step("fact")
    bottom = 0.0
    for x, drill, part in zip(xs, row, parts, strict=True):
        rule = Path(((x, 0), (x + card, 0)), 0.5, style.brand)
        number = label(str(drill.number), x, 6.8, fact, style.brand)
        title, y = paragraph((Run(drill.name),), x + 7.0, 6.8, card - 7.0, fact, style.ink)
        part.append(Element("Artifact", (rule,)))
        part.append(Element("H2", (number, *title)))
        bottom = max(bottom, y - fact.lead_mm)
    return bottom + 4.5


def _sketches(
    row: tuple[DrillCard, ...],
    xs: list[float],
    card: float,
    y: float,
    height: float,
    right_handed: bool,
    parts: list[list[Element]],
    style: Style,
) -> float:
    for x, drill, part in zip(xs, row, parts, strict=True):
        if drill.sketch is None:
            continue
        room = min(card, 62.0 + max(height - 47.0, 0.0))
        boxes = sketch_boxes(drill.sketch, room, height, style, right_handed=right_handed)
        shift = (card - room) / 2
        part.append(
            Element("Figure", tuple(moved_box(b, x + shift, y) for b in boxes), alt=drill.alt)
        )
    return y + height + 5.5


def _lines(
    row: tuple[DrillCard, ...],
    xs: list[float],
    card: float,
    y: float,
    parts: list[list[Element]],
    style: Style,
) -> float:
    caption, text_step = style.step("caption"), style.step("drill")
    for index in range(max(len(drill.lines) for drill in row)):
        bottom = y
        for x, drill, part in zip(xs, row, parts, strict=True):
            if index >= len(drill.lines):
                continue
            name, text = drill.lines[index]
            head = label(name, x, y, caption, style.brand)
            body, end = paragraph((Run(text),), x, y + 4.5, card, text_step, style.ink)
            part.append(Element("P", (head, *body)))
            bottom = max(bottom, end - text_step.lead_mm)
        y = bottom + 6.0
    return y


def _small_lines(
    row: tuple[DrillCard, ...],
    xs: list[float],
    card: float,
    y: float,
    parts: list[list[Element]],
    style: Style,
) -> float:
    caption, step = style.step("caption"), style.step("table")
    room = 13.5
    for index in range(max(len(drill.small_lines) for drill in row)):
        bottom = y
        for x, drill, part in zip(xs, row, parts, strict=True):
            if index >= len(drill.small_lines):
                continue
            name, text = drill.small_lines[index]
            boxes: list[Box] = [label(name, x, y, caption, style.brand)]
            line_y = y
            for one in break_lines((Run(text),), step, card - room):
                boxes += set_line(one, x + room, line_y, step, style.ink)
                line_y += step.lead_mm
            part.append(Element("P", tuple(boxes)))
            bottom = max(bottom, line_y - step.lead_mm)
        y = bottom + 5.2
    return y


def _tallies(
    row: tuple[DrillCard, ...],
    xs: list[float],
    card: float,
    y: float,
    parts: list[list[Element]],
    style: Style,
) -> float:
    caption = style.step("caption")
    bottom = y
    for x, drill, part in zip(xs, row, parts, strict=True):
        sets, tries = drill.tally
        part.append(Element("P", (label(WORDS["tally"], x, y, caption, style.brand),)))
        size = min(LARGEST_TALLY_BOX, card / max(tries, 1))
        boxes = tuple(
            box
            for number in range(sets)
            for box in tally_row(
                x, y + 2.2 + number * (TALLY_BOX + 1.4), size, TALLY_BOX, tries, style
            )
        )
        part.append(Element("Artifact", boxes))
        bottom = max(bottom, y + 2.2 + sets * (TALLY_BOX + 1.4))
    return bottom


def tally_row(
    x: float, y: float, width: float, height: float, count: int, style: Style
) -> tuple[Box, ...]:
    """Return a row of boxes to fill in; from ten on with a little gap after each five."""
    group = 5 if count >= 10 else count
    gap = 0.9
    width = width - gap * ((count - 1) // group) / count
    boxes: list[Box] = []
    for start in range(0, count, group):
        size = min(group, count - start)
        left = x + start * width + gap * (start // group)
        right = left + size * width
        outline = ((left, y), (right, y), (right, y + height), (left, y + height))
        boxes.append(Path(outline, 0.25, style.ink, closed=True, round_join=False))
        for inner in range(1, size):
            at = left + inner * width
            boxes.append(Path(((at, y), (at, y + height)), 0.15, style.ink))
    return tuple(boxes)
