"""Cold tests under each other on one scale from none to all, each with its interval."""

from dataclasses import dataclass

from reporter.speech import later, say
from reporter.story.report import Run, Trend, TrendRow
from reporter.typeset.boxes import Box, Element, Face, Path
from reporter.typeset.chunk import Chunk, Piece
from reporter.typeset.faces import width_of
from reporter.typeset.free_space import ASCENT
from reporter.typeset.strokes import state_symbol
from reporter.typeset.style import Style
from reporter.typeset.text import label, paragraph

HEADING, SCALE, ROW = 7.6, 4.6, 6.6
DAY_ROOM, COUNT_ROOM, WORDS_ROOM = 18.0, 18.0, 37.0
LEAST_REACH = 40.0
"""Of the scale: shorter, its intervals cannot be told apart and it gets a line of its own."""
LEAST_ASIDE = 34.0
"""Room for what was counted, beside the heading."""
WORDS = {"none": later("0"), "half": later("50"), "all": later("100 in 100")}


def trend_pieces(block: Trend, width: float, style: Style) -> list[Piece]:
    """Return heading, rows and scale in one piece."""
    table, note = style.step("table"), style.step("note")
    elements, end = _heading(block, width, style)
    places = _places(block, width, style)
    boxes: list[Box] = []
    y = max(HEADING, end - table.lead_mm + 3.0)
    for row in block.rows:
        boxes += _row(row, y, places, width, style)
        y += places.row
        if row.note:
            left = places.counted if places.beside else 0.0
            # One below the other, the note follows the scale; else it stands close to its row.
            base = y + (0.6 + ASCENT * note.size_mm if not places.beside else 1.6)
            said, end = paragraph((Run(row.note),), left, base, width - left, note, style.secondary)
            boxes += said
            y = end - note.lead_mm + 3.0
    for text, share, align in (
        (say(WORDS["none"]), 0.0, "left"),
        (say(WORDS["half"]), 0.5, "centre"),
        (say(WORDS["all"]), 1.0, "right"),
    ):
        at = places.scale + share * places.reach
        base = y + (2.6 if places.beside else ASCENT * note.size_mm)
        boxes.append(label(text, at, base, note, style.secondary, align=align))
    elements.append(Element("Figure", tuple(boxes), alt=block.alt, source="practised"))
    height = y + max(SCALE, note.lead_mm)
    return [Chunk(height, tuple(elements), 6.0, name="cold tests", source="practised")]


@dataclass(frozen=True, slots=True)
class _Places:
    """Where the parts of a row stand, in millimetres; beside each other or in lines.

    The words of the range take a line of their own where a long date leaves them no room.
    """

    beside: bool
    counted: float
    scale: float
    reach: float
    row: float
    axis: float
    words_below: bool = False


def _heading(block: Trend, width: float, style: Style) -> tuple[list[Element], float]:
    """Return the heading with what was counted beside it, or below where it is narrow."""
    heading, table = style.step("subheading"), style.step("table")
    title = label(block.heading, 0.0, 4.2, heading, style.ink)
    left = title.width + 2.6
    base = 4.2
    if width - left < LEAST_ASIDE:
        left, base = 0.0, 4.2 + table.lead_mm
    aside, end = paragraph((Run(block.aside),), left, base, width - left, table, style.secondary)
    return [Element("H2", (title,)), Element("P", aside)], end


def _places(block: Trend, width: float, style: Style) -> _Places:
    table = style.step("table")

    def widest(texts: list[str], face: Face) -> float:
        return max((width_of(text, face, table.size) for text in texts), default=0.0)

    day = max(DAY_ROOM, widest([row.day for row in block.rows], table.face) + 3.0)
    counted = max(COUNT_ROOM, widest([row.counted for row in block.rows], "bold") + 3.0)
    words = max(WORDS_ROOM, widest([row.words for row in block.rows], table.face) + 4.0)
    reach = width - day - counted - words
    if reach >= LEAST_REACH:
        return _Places(True, day, day + counted, reach, max(ROW, 1.15 * table.lead_mm), 3.1)
    # Day, count and range in one line, the scale over the whole width below it.
    inset = 1.5
    below = day + counted + words > width
    axis = (2 if below else 1) * table.lead_mm + 2.2
    return _Places(False, day, inset, width - 2 * inset, axis + 2.8, axis, below)


def _row(row: TrendRow, y: float, places: _Places, width: float, style: Style) -> list[Box]:
    """Return day and count, the interval as a whisker, and its words."""
    table = style.step("table")
    base = y + 4.2 if places.beside else y + ASCENT * table.size_mm + 0.6
    words = base + table.lead_mm if places.words_below else base
    x, reach, axis = places.scale, places.reach, y + places.axis
    boxes: list[Box] = [
        label(row.day, 0.0, base, table, style.ink),
        label(row.counted, places.counted, base, table, style.ink, face="bold"),
        label(row.words, width, words, table, style.ink, align="right"),
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
