"""The dated practice visits as a sheet to fill in: boxes to tick and counts to write."""

from reporter.story.report import Run, VisitCell, Visits
from reporter.typeset.boxes import Box, Element, Path
from reporter.typeset.chunk import Chunk, Piece
from reporter.typeset.style import Style
from reporter.typeset.text import label, paragraph

TICK = 4.6
GAP = 1.2
ROW = 9.6
HEADER = 6.6
DAY_ROOM = 22.0
LAST_ROOM = 25.0
TABLE = "visits"
WORDS = {"day": "day", "of": "of {count}"}


def visits_pieces(block: Visits, width: float, style: Style) -> list[Piece]:
    """Return heading and table under a brand rule; the rows go on over the page if they must."""
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
        for title, x in zip((WORDS["day"], *block.columns), (0.0, *xs), strict=True)
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
        pieces.append(Chunk(end - table.lead_mm + 1.0, (Element("P", text),), name="visits"))
    return pieces


def _columns(count: int, width: float) -> list[float]:
    """Return the left edges of the columns after the day; the last one holds a few words."""
    inner = (width - DAY_ROOM - LAST_ROOM) / max(count - 1, 1)
    return [DAY_ROOM + index * inner for index in range(count)]


def _row(
    day: str, cells: tuple[VisitCell, ...], xs: list[float], width: float, style: Style
) -> Chunk:
    body, table, note = style.step("subheading"), style.step("table"), style.step("note")
    base = ROW / 2 + 1.3
    parts = [Element("TH", (label(day, 0, base, body, style.ink),))]
    for cell, x in zip(cells, xs, strict=True):
        boxes: list[Box] = []
        if cell.out_of:
            boxes.append(Path(((x, base + 0.9), (x + 8.0, base + 0.9)), 0.25, style.ink))
            of = WORDS["of"].format(count=cell.out_of)
            boxes.append(label(of, x + 9.0, base, note, style.secondary))
        for number in range(cell.ticks):
            left, top = x + number * (TICK + GAP), (ROW - TICK) / 2
            corners = (
                (left, top),
                (left + TICK, top),
                (left + TICK, top + TICK),
                (left, top + TICK),
            )
            boxes.append(Path(corners, 0.25, style.ink, closed=True, round_join=False))
        if cell.text:
            text_x = x + cell.ticks * (TICK + GAP) + (0.6 if cell.ticks else 0.0)
            step = note if cell.ticks else table
            boxes.append(label(cell.text, text_x, base - 0.1, step, style.ink))
        parts.append(Element("TD", tuple(boxes)))
    rule = Path(((0, ROW), (width, ROW)), 0.15, style.ink)
    row = Element("TR", children=(*parts, Element("Artifact", (rule,))))
    return Chunk(
        ROW, (Element("Table", children=(row,), joins=TABLE),), name="visits", source="plan"
    )
