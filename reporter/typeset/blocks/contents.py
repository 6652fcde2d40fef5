"""What stands on which page: the day, what it is, and the page's number at the right edge."""

from reporter.story.report import Contents, Run
from reporter.typeset.boxes import Box, Element, Path
from reporter.typeset.chunk import Chunk, Piece
from reporter.typeset.faces import width_of
from reporter.typeset.style import Style
from reporter.typeset.text import break_lines, label, set_line

BEFORE, BELOW = 7.0, 2.2
GAP = 4.0


def contents_pieces(block: Contents, width: float, style: Style) -> list[Piece]:
    """Return the heading and one row a piece, so that many lessons go on over the page."""
    heading, body = style.step("subheading"), style.step("body")
    days = max((width_of(day, body.face, body.size) for day, _, _ in block.rows), default=0.0)
    numbers = max((width_of(page, "bold", body.size) for *_, page in block.rows), default=0.0)
    beside = width - days - numbers - 2 * GAP > width / 3
    left = days + GAP if beside else 0.0
    room = width - left - numbers - GAP
    title = label(block.heading, 0.0, heading.size_mm, heading, style.ink)
    pieces: list[Piece] = [
        Chunk(
            heading.lead_mm, (Element("H2", (title,)),), BEFORE, keep_with_next=True,
            name="contents",
        )
    ]  # fmt: skip
    for day, what, page in block.rows:
        base = 2.0 + 0.78 * body.size_mm
        first: list[Box] = [label(day, 0.0, base, body, style.secondary)] if day else []
        y = base if beside or not day else base + body.lead_mm
        number = label(page, width, y, body, style.ink, face="bold", align="right")
        texts: list[Box] = []
        for line in break_lines((Run(what),), body, room):
            texts += set_line(line, left, y, body, style.ink)
            y += body.lead_mm
        row = Element(
            "TR",
            children=(
                Element("TD", tuple(first)),
                Element("TD", tuple(texts)),
                Element("TD", (number,)),
                Element("Artifact", (Path(((0, 0), (width, 0)), 0.15, style.hairline),)),
            ),
        )
        table = Element("Table", children=(row,), joins="contents")
        height = y - body.lead_mm + BELOW
        pieces.append(Chunk(height, (table,), name="contents", follows=True))
    return pieces
