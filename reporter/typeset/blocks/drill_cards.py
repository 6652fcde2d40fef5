"""The drills side by side: sketch, what to do, how much, how to tell, and boxes to tally in."""

from dataclasses import replace

from reporter.speech import later, say
from reporter.story.report import DrillCard, Drills, Run
from reporter.typeset.blocks.flowing import flowing
from reporter.typeset.blocks.sketches import sketch_boxes
from reporter.typeset.boxes import Box, Element, Path, moved_box
from reporter.typeset.chunk import Chunk, Flexible, Piece
from reporter.typeset.faces import width_of
from reporter.typeset.style import Style
from reporter.typeset.text import break_lines, label, paragraph, set_line

WIDEST_TEXT = 128.0
STANDARD_DRILL = 10.5
"""The size in points for which the white between a card's parts is given."""
TALLY_BOX = 6.2
LARGEST_TALLY_BOX = 7.0
WORDS = {"tally": later("Tally")}


def drills_pieces(block: Drills, width: float, style: Style) -> list[Piece]:
    """Return the cards in rows; in a row all parts stand at one height.

    One in a row, and any row that no page would hold, comes in parts that may go on over the page.
    """
    pieces: list[Piece] = []
    a_row = style.drills.in_a_row
    for start in range(0, len(block.cards), a_row):
        row = block.cards[start : start + a_row]

        def parts(row: tuple[DrillCard, ...] = row) -> list[Piece]:
            return [piece for card in row for piece in card_parts(card, block, width, style)]

        alone = len(row) == 1 and row[0].sketch is not None and len(block.cards) > 1
        set_row = _alone if alone else _row
        whole = set_row(row, block, width, style) if a_row > 1 else None
        if whole is None or whole.least > style.text_height:
            pieces += parts()
        else:
            pieces.append(replace(whole, tight=parts))
    return pieces


def card_parts(card: DrillCard, block: Drills, width: float, style: Style) -> list[Piece]:
    """Return one drill over the whole width: title with sketch, then its texts, then the tally."""
    narrow = style.breadth == "narrow"
    caption, drill, table = style.step("caption"), style.step("drill"), style.step("table")
    names = [name for name, _ in (*card.lines, *card.small_lines)]
    label_room = max([width_of(n, "bold", caption.size) for n in names], default=0.0) + 4.0
    pieces: list[Piece] = [_title_and_sketch(card, block, width, style)]
    for index, (name, text) in enumerate((*card.lines, *card.small_lines)):
        small = index >= len(card.lines)
        pieces += flowing(
            (Run(text),),
            width,
            table if small else drill,
            style,
            before=2.6 if narrow else 2.2,
            head=[((Run(name),), caption, style.brand)] if narrow else (),
            aside=None if narrow else (name, caption, style.brand),
            indent=0.0 if narrow else label_room,
            measure=min(width - (0.0 if narrow else label_room), WIDEST_TEXT * style.enlarged),
            name="drills",
            source=block.source,
            follows=True,
            key=f"drill {id(card)} {index}",
        )
    if style.drills.tally:
        parts: list[list[Element]] = [[]]
        end = _tallies((card,), [0.0], width, 0.78 * caption.size_mm, parts, style)
        pieces.append(
            Chunk(end, tuple(parts[0]), 3.0, name="drills", source=block.source, follows=True)
        )
    return pieces


def _title_and_sketch(card: DrillCard, block: Drills, width: float, style: Style) -> Piece:
    least, most = style.drills.sketch_heights
    if card.sketch is None or not most:
        parts: list[list[Element]] = [[]]
        end = _titles((card,), [0.0], width, parts, style)
        return Chunk(
            end - 2.0,
            tuple(parts[0]),
            8.0,
            keep_with_next=True,
            name="drills",
            source=block.source,
            begins=True,
        )

    def make(room: float) -> Chunk:
        parts: list[list[Element]] = [[]]
        y = _titles((card,), [0.0], width, parts, style)
        _sketches((card,), [0.0], width, y, room - y, block.right_handed, parts, style)
        return Chunk(room, tuple(parts[0]), 8.0, name="drills", source=block.source)

    top = _titles((card,), [0.0], width, [[]], style)
    return Flexible(
        top + least,
        top + most,
        make,
        8.0,
        "drills",
        block.source,
        keep_with_next=True,
        begins=True,
    )


def _row(row: tuple[DrillCard, ...], block: Drills, width: float, style: Style) -> Flexible:
    least, most = style.drills.sketch_heights
    drawn = bool(most) and any(card.sketch for card in row)
    # Only its height counts where there are sketches: they are drawn once, at their final size.
    shortest = _cards(row, block, width, style, least if drawn else 0.0, draw=False)
    if not drawn:
        height, before = shortest.height, shortest.space_before
        return Flexible(height, height, lambda _: shortest, before, shortest.name, shortest.source)

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


def _alone(row: tuple[DrillCard, ...], block: Drills, width: float, style: Style) -> Flexible:
    """Set the one drill left for a row over the whole width: its texts beside its sketch."""
    least, most = style.drills.sketch_heights
    if not most:
        return _row(row, block, width, style)
    half = (width - style.gutter) / 2
    xs = [half + style.gutter]
    part: list[Element] = []
    top = _titles(row, [0.0], width, [part], style)
    texts: list[Element] = []
    y = _lines(row, xs, half, top + 1.5, [texts], style)
    y = _small_lines(row, xs, half, y, [texts], style)
    if style.drills.tally:
        y = _tallies(row, xs, half, y, [texts], style)
    sketch = max(least, min(most, y - top - 2.0))
    end = max(y, _sketches(row, [0.0], half, top, sketch, block.right_handed, [part], style) - 2.0)
    card = Element("Div", children=(*part, *texts))
    chunk = Chunk(end, (card,), 6.0, name="drills", source=block.source)
    return Flexible(end, end, lambda _: chunk, 6.0, "drills", block.source)


def _cards(
    row: tuple[DrillCard, ...],
    block: Drills,
    width: float,
    style: Style,
    sketch_height: float,
    *,
    draw: bool = True,
) -> Chunk:
    columns = max(min(len(row), style.drills.in_a_row), 2)
    card = (width - (columns - 1) * style.gutter) / columns
    xs = [index * (card + style.gutter) for index in range(len(row))]
    parts: list[list[Element]] = [[] for _ in row]
    y = _titles(row, xs, card, parts, style)
    if sketch_height:
        shown = row if draw else ()
        y = _sketches(shown, xs, card, y, sketch_height, block.right_handed, parts, style)
    y = _lines(row, xs, card, y, parts, style)
    y = _small_lines(row, xs, card, y, parts, style)
    if style.drills.tally:
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
        base, indent = 2.2 + 0.93 * fact.size_mm, 1.42 * fact.size_mm
        number = label(str(drill.number), x, base, fact, style.brand)
        title, y = paragraph((Run(drill.name),), x + indent, base, card - indent, fact, style.ink)
        part.append(Element("Artifact", (rule,)))
        part.append(Element("H2", (number, *title)))
        bottom = max(bottom, y - fact.lead_mm)
    return bottom + (4.5 if style.drills.sketch_heights[1] else 6.0)


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
    for x, drill, part in zip(xs, row, parts, strict=False):
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
    grown = text_step.size / STANDARD_DRILL
    for index in range(max(len(drill.lines) for drill in row)):
        bottom = y
        for x, drill, part in zip(xs, row, parts, strict=True):
            if index >= len(drill.lines):
                continue
            name, text = drill.lines[index]
            head = label(name, x, y, caption, style.brand)
            below = 4.5 * grown
            body, end = paragraph(
                (Run(text),), x, y + below, card, text_step, style.ink, hyphens=style.hyphens
            )
            part.append(Element("P", (head, *body)))
            bottom = max(bottom, end - text_step.lead_mm)
        y = bottom + 6.0 * grown
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
    grown = style.step("drill").size / STANDARD_DRILL
    names = [name for drill in row for name, _ in drill.small_lines]
    room = max([13.5 * grown, *(width_of(n, "bold", caption.size) + 2.0 for n in names)])
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
        y = bottom + 5.2 * grown
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
        part.append(Element("P", (label(say(WORDS["tally"]), x, y, caption, style.brand),)))
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
