"""The record strip: what the handout was made from, as quiet rows of label and value."""

from reporter.story.report import RecordTable, Run
from reporter.typeset.boxes import Box, Element, Path
from reporter.typeset.chunk import Chunk, Piece
from reporter.typeset.style import Style
from reporter.typeset.text import paragraph

LABEL_ROOM = 46.0


def record_pieces(block: RecordTable, width: float, style: Style) -> list[Piece]:
    """Return one row a piece, so that a long record may go on over the page."""
    caption, table = style.step("caption"), style.step("table")
    pieces: list[Piece] = []
    for index, (name, value) in enumerate(block.rows):
        rule: Box = Path(((0, 0), (width, 0)), 0.35 if not index else 0.15, style.ink)
        head, head_end = paragraph((Run(name),), 0, 5.0, LABEL_ROOM - 4.0, caption, style.ink)
        text, y = paragraph((Run(value),), LABEL_ROOM, 5.0, width - LABEL_ROOM, table, style.ink)
        y = max(y, head_end)
        row = Element(
            "TR", children=(Element("TH", head), Element("TD", text), Element("Artifact", (rule,)))
        )
        pieces.append(
            Chunk(
                y - table.lead_mm + 2.4,
                (Element("Table", children=(row,), joins="record"),),
                5.0 if not index else 0.0,
                name="record",
            )
        )
    return pieces
