"""Cold tests under each other on one scale from none to all, each with its interval."""

from reporter.speech import later, say
from reporter.story.report import Run, Trend, TrendRow
from reporter.typeset.boxes import Box, Element, Path
from reporter.typeset.chunk import Chunk, Piece
from reporter.typeset.strokes import state_symbol
from reporter.typeset.style import Style
from reporter.typeset.text import label, paragraph

HEADING, SCALE, ROW = 7.6, 4.6, 6.6
DAY_ROOM, COUNT_ROOM, WORDS_ROOM = 18.0, 18.0, 37.0
WORDS = {"none": later("0"), "half": later("50"), "all": later("100 in 100")}


def trend_pieces(block: Trend, width: float, style: Style) -> list[Piece]:
    """Return heading, rows and scale in one piece."""
    heading, table, note = style.step("subheading"), style.step("table"), style.step("note")
    title = label(block.heading, 0.0, 4.2, heading, style.ink)
    left = title.width + 2.6
    aside, end = paragraph((Run(block.aside),), left, 4.2, width - left, table, style.secondary)
    elements: list[Element] = [Element("H2", (title,)), Element("P", aside)]
    top = max(HEADING, end - table.lead_mm + 3.0)
    x, reach = DAY_ROOM + COUNT_ROOM, width - DAY_ROOM - COUNT_ROOM - WORDS_ROOM
    boxes: list[Box] = []
    y = top
    for row in block.rows:
        boxes += _row(row, y, x, reach, width, style)
        y += ROW
        if row.note:
            said, end = paragraph(
                (Run(row.note),), DAY_ROOM, y + 1.6, width - DAY_ROOM, note, style.secondary
            )
            boxes += said
            y = end - note.lead_mm + 3.0
    for text, share, align in (
        (say(WORDS["none"]), 0.0, "left"),
        (say(WORDS["half"]), 0.5, "centre"),
        (say(WORDS["all"]), 1.0, "right"),
    ):
        at = x + share * reach
        boxes.append(label(text, at, y + 2.6, note, style.secondary, align=align))
    elements.append(Element("Figure", tuple(boxes), alt=block.alt, source="practised"))
    return [Chunk(y + SCALE, tuple(elements), 6.0, name="cold tests", source="practised")]


def _row(row: TrendRow, y: float, x: float, reach: float, width: float, style: Style) -> list[Box]:
    """Return day and count, the interval as a whisker, and its words."""
    table = style.step("table")
    base, axis = y + 4.2, y + 3.1
    boxes: list[Box] = [
        label(row.day, 0.0, base, table, style.ink),
        label(row.counted, DAY_ROOM, base, table, style.ink, face="bold"),
        label(row.words, width, base, table, style.ink, align="right"),
        Path(((x, axis), (x + reach, axis)), 0.12, style.hairline),
    ]
    for tenths in range(11):
        at = x + reach * tenths / 10
        size = 0.9 if tenths in (0, 5, 10) else 0.5
        boxes.append(Path(((at, axis - size), (at, axis + size)), 0.12, style.secondary))
    low, value, high = (x + reach * share for share in (row.low, row.value, row.high))
    boxes.append(Path(((low, axis), (high, axis)), 0.5, style.brand))
    boxes += [Path(((at, axis - 1.0), (at, axis + 1.0)), 0.35, style.brand) for at in (low, high)]
    return [*boxes, *state_symbol((value, axis), "after", style.brand, radius=1.15)]


__all__ = ["trend_pieces"]
