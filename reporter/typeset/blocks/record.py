"""The record strip: what the handout was made from, as quiet rows of label and value."""

from dataclasses import replace

from reporter.story.report import RecordTable, Run
from reporter.typeset.blocks.flowing import flowing
from reporter.typeset.boxes import Box, Element, Path
from reporter.typeset.chunk import Chunk, Piece
from reporter.typeset.style import Style
from reporter.typeset.text import Line, break_lines, set_line

LABEL_ROOM, LABEL_SHARE = 46.0, 0.34
MOST_OF_A_PAGE = 0.22
"""A row that takes more of a page may go on over the next."""


def record_pieces(block: RecordTable, width: float, style: Style) -> list[Piece]:
    """Return one row a piece, so that a long record may go on over the page."""
    caption, table = style.step("caption"), style.step("table")
    pieces: list[Chunk] = []
    if style.breadth == "narrow":
        for index, (name, value) in enumerate(block.rows):
            pieces += flowing(
                (Run(value),),
                width,
                table,
                style,
                before=3.0 if index else 5.0,
                head=[((Run(name),), caption, style.ink)],
                rule=0.15,
                name="record",
                follows=bool(index),
                key=f"record {id(block)} {index}",
            )
        return [*pieces]
    labels = min(LABEL_ROOM * style.enlarged, LABEL_SHARE * width)
    most = max(int(MOST_OF_A_PAGE * style.text_height / table.lead_mm), 4)
    for index, (name, value) in enumerate(block.rows):
        head = break_lines((Run(name),), caption, labels - 4.0)
        lines = break_lines((Run(value),), table, width - labels)
        for start in range(0, max(len(lines), 1), most):
            named = head if not start else []
            rule = (0.35 if not index else 0.15) if not start else 0.0
            pieces.append(_row(named, lines[start : start + most], labels, width, rule, style))
            row = pieces[-1]
            pieces[-1] = replace(
                row,
                elements=(Element("Table", children=row.elements, joins=block.key),),
                space_before=5.0 if not index and not start else 0.0,
                follows=bool(index or start),
            )
    return [*pieces]


def _row(
    head: list[Line], lines: list[Line], labels: float, width: float, rule: float, style: Style
) -> Chunk:
    """Return a row, or the part of a long one that goes on without its label."""
    caption, table = style.step("caption"), style.step("table")
    base = (5.0 if rule else 0.78 * table.size_mm) * style.enlarged
    names: list[Box] = []
    y = base
    for one in head:
        names += set_line(one, 0.0, y, caption, style.ink)
        y += caption.lead_mm
    end = y
    values: list[Box] = []
    y = base
    for one in lines:
        values += set_line(one, labels, y, table, style.ink)
        y += table.lead_mm
    cells = [Element("TH" if names else "TD", tuple(names)), Element("TD", tuple(values))]
    if rule:
        cells.append(Element("Artifact", (Path(((0, 0), (width, 0)), rule, style.ink),)))
    row = Element("TR", children=tuple(cells))
    return Chunk(max(y, end) - table.lead_mm + 2.4, (row,), name="record")
