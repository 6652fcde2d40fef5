"""The dated practice visits as a sheet to fill in: boxes to tick and counts to write."""

from reporter.speech import later, say
from reporter.story.report import Run, VisitCell, Visits
from reporter.typeset.blocks.flowing import flowing
from reporter.typeset.boxes import Box, Element, Path, Text, moved, moved_box
from reporter.typeset.chunk import Chunk, Piece
from reporter.typeset.faces import width_of
from reporter.typeset.style import Style
from reporter.typeset.text import label, paragraph

TICK = 4.6
GAP = 1.2
ROW = 9.6
HEADER = 6.6
DAY_ROOM = 22.0
LAST_ROOM = 25.0
LIST_COLUMN = 37.0
TABLE = "visits"
NOTHING = ("", "–")
WORDS = {"day": later("day"), "of": later("of {count}")}


def visits_pieces(block: Visits, width: float, style: Style) -> list[Piece]:
    """Return heading and table under a brand rule; the rows go on over the page if they must."""
    if style.breadth == "narrow" or not _fits_a_table(block, width, style):
        return _list(block, width, style)
    heading, table = style.step("heading"), style.step("table")
    elements: list[Element] = [Element("Artifact", (Path(((0, 0), (width, 0)), 0.5, style.brand),))]
    head, end = paragraph((Run(block.heading),), 0, 7.6, width, heading, style.ink)
    elements.append(Element("H2", head))
    y = end - heading.lead_mm
    if block.aside:
        text, end = paragraph((Run(block.aside),), 0, y + 6.0, width, table, style.secondary)
        elements.append(Element("P", text))
        y = end - table.lead_mm
    y += 3.6
    xs = _columns(len(block.columns), width)
    titles = tuple(
        Element("TH", (label(title, x, y + 4.4, table, style.secondary),))
        for title, x in zip((say(WORDS["day"]), *block.columns), (0.0, *xs), strict=True)
    )
    rules = (
        Path(((0, y), (width, y)), 0.35, style.ink),
        Path(((0, y + HEADER), (width, y + HEADER)), 0.35, style.ink),
    )
    row = Element("TR", children=titles)
    elements.append(Element("Table", children=(Element("Artifact", rules), row), joins=TABLE))
    pieces: list[Piece] = [
        Chunk(y + HEADER, tuple(elements), 8.0, keep_with_next=True, name="visits", source="plan")
    ]
    for day, cells in block.rows:
        pieces.append(_row(day, cells, xs, width, style))
    if block.note:
        text, end = paragraph((Run(block.note),), 0, 5.4, width, table, style.secondary)
        pieces.append(
            Chunk(end - table.lead_mm + 1.0, (Element("P", text),), name="visits", follows=True)
        )
    return pieces


def _fits_a_table(block: Visits, width: float, style: Style) -> bool:
    """Whether every cell and title ends before the next column begins."""
    xs = [0.0, *_columns(len(block.columns), width), width + 1.0]
    table = style.step("table")
    if any(
        width_of(day, "bold", style.step("subheading").size) > xs[1] - 1 for day, _ in block.rows
    ):
        return False
    for number, title in enumerate(block.columns, start=1):
        room = xs[number + 1] - xs[number] - 1.0
        cells = [cells[number - 1] for _, cells in block.rows]
        reaches = [_right(box) for cell in cells for box in _cell(cell, 0.0, 0.0, style)]
        if max([width_of(title, table.face, table.size), *reaches]) > room:
            return False
    return True


def _list(block: Visits, width: float, style: Style) -> list[Piece]:
    """Return the visits below each other, each with its parts in columns."""
    heading, table = style.step("heading"), style.step("table")
    pieces: list[Piece] = []
    aside = block.aside or ""
    rule = Element("Artifact", (Path(((0, 0), (width, 0)), 0.5, style.brand),))
    text, end = paragraph(
        (Run(block.heading),), 0, 0.5 + heading.size_mm, width, heading, style.ink
    )
    elements = [rule, Element("H2", text)]
    y = end - heading.lead_mm
    if aside:
        text, end = paragraph(
            (Run(aside),), 0, y + 1.2 * table.lead_mm, width, table, style.secondary
        )
        elements.append(Element("P", text))
        y = end - table.lead_mm
    pieces.append(
        Chunk(y + 1.5, tuple(elements), 8.0, keep_with_next=True, name="visits", source="plan")
    )
    for day, cells in block.rows:
        pieces += _item(day, cells, block, width, style)
    if block.note:
        pieces += flowing(
            (Run(block.note),),
            width,
            table,
            style,
            before=2.0,
            ink=style.secondary,
            follows=True,
            name="visits",
            key=f"visits {id(block)}",
        )
    return pieces


def _item(
    day: str, cells: tuple[VisitCell, ...], block: Visits, width: float, style: Style
) -> list[Piece]:
    """Return one visit: the day, then each part named with its box, count or words, in columns."""
    strong, table = style.step("subheading"), style.step("table")
    pitch = 1.35 * table.lead_mm
    columns = max(int(width // (LIST_COLUMN * style.enlarged)), 2)
    room = (width + style.gutter) / columns
    rows: list[list[Element]] = []
    column = columns
    for title, cell in zip(block.columns, cells, strict=True):
        if not (cell.ticks or cell.out_of) and cell.text in NOTHING:
            continue
        name = label(f"{title}:", 0, 0, table, style.secondary)
        parts = _cell(cell, name.width + 1.6, 0.0, style)
        reach = max([name.width, *(_right(one) for one in parts)])
        taken = max(int(-(-(reach + style.gutter) // room)), 1)
        if column + taken > columns:
            rows.append([])
            column = 0
        x = column * room
        rows[-1].append(Element("P", tuple(moved_box(one, x, 0.0) for one in (name, *parts))))
        column += taken
    base = 1.4 + 0.8 * strong.size_mm
    head = (
        Element("Artifact", (Path(((0, 0), (width, 0)), 0.15, style.ink),)),
        Element("P", (label(day, 0, base, strong, style.ink),)),
    )
    pieces: list[Piece] = [
        Chunk(
            base + 1.6, head, 1.0, keep_with_next=True, name="visits", source="plan", follows=True
        )
    ]
    for number, row in enumerate(rows):
        pieces.append(
            Chunk(
                pitch + (1.4 if number + 1 == len(rows) else 0.0),
                tuple(moved(one, 0.0, 0.72 * pitch) for one in row),
                # Two rows at least stand under the day and on the next page.
                keep_with_next=number in (0, len(rows) - 2),
                name="visits",
                source="plan",
                follows=True,
            )
        )
    return pieces


def _right(box: Box) -> float:
    if isinstance(box, Text):
        return box.x + box.width
    return max(x for x, _ in box.points) if isinstance(box, Path) else 0.0


def _columns(count: int, width: float) -> list[float]:
    """Return the left edges of the columns after the day; the last one holds a few words."""
    inner = (width - DAY_ROOM - LAST_ROOM) / max(count - 1, 1)
    return [DAY_ROOM + index * inner for index in range(count)]


def _row(
    day: str, cells: tuple[VisitCell, ...], xs: list[float], width: float, style: Style
) -> Chunk:
    body = style.step("subheading")
    base = ROW / 2 + 1.3
    parts = [Element("TH", (label(day, 0, base, body, style.ink),))]
    for cell, x in zip(cells, xs, strict=True):
        boxes = _cell(cell, x, base, style)
        parts.append(Element("TD", tuple(boxes)))
    rule = Path(((0, ROW), (width, ROW)), 0.15, style.ink)
    row = Element("TR", children=(*parts, Element("Artifact", (rule,))))
    return Chunk(
        ROW,
        (Element("Table", children=(row,), joins=TABLE),),
        name="visits",
        source="plan",
        follows=True,
    )


def _cell(cell: VisitCell, x: float, base: float, style: Style) -> list[Box]:
    """Return what one visit has of one part, from `x` on the baseline `base`."""
    table, note = style.step("table"), style.step("note")
    boxes: list[Box] = []
    if cell.out_of:
        boxes.append(Path(((x, base + 0.9), (x + 8.0, base + 0.9)), 0.25, style.ink))
        of = say(WORDS["of"], count=cell.out_of)
        boxes.append(label(of, x + 9.0, base, note, style.secondary))
    top = base - 1.3 - TICK / 2
    for number in range(cell.ticks):
        left = x + number * (TICK + GAP)
        corners = ((left, top), (left + TICK, top), (left + TICK, top + TICK), (left, top + TICK))
        boxes.append(Path(corners, 0.25, style.ink, closed=True, round_join=False))
    if cell.text:
        text_x = x + cell.ticks * (TICK + GAP) + (0.6 if cell.ticks else 0.0)
        step = note if cell.ticks else table
        boxes.append(label(cell.text, text_x, base - 0.1, step, style.ink))
    return boxes
