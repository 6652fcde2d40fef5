"""Where everything goes: a report, a page layout and a brand become pages of boxes.

What may be relied on afterwards: every box lies inside its page, texts do not overlap, no text
is smaller than its minimum, and the elements stand in reading order.
"""

from dataclasses import replace

from reporter.story import report as story
from reporter.typeset.blocks.chain import chain
from reporter.typeset.blocks.drill_cards import drills_pieces
from reporter.typeset.blocks.flight_picture import flight_picture
from reporter.typeset.blocks.pairs import pair_pieces
from reporter.typeset.blocks.range_card import range_card_pieces
from reporter.typeset.blocks.record import record_pieces
from reporter.typeset.blocks.shot_pattern import degrees_table_pieces, shot_picture_pieces
from reporter.typeset.blocks.texts import (
    facts_pieces,
    labelled_pieces,
    paragraph_pieces,
    side_notes_pieces,
    thoughts_pieces,
    writing_lines_pieces,
)
from reporter.typeset.blocks.visits import visits_pieces
from reporter.typeset.boxes import Page
from reporter.typeset.brand import Brand, load_brand
from reporter.typeset.chunk import Chunk, Flexible, Piece
from reporter.typeset.furniture import fitting_footer, furniture
from reporter.typeset.page_layout import PAPERS, PageLayout, load_page_layout
from reporter.typeset.paginate import place, split_into_pages
from reporter.typeset.style import Style

FLIGHT_PICTURE_HEIGHTS = (140.0, 196.0)
GAP_ABOVE_FOOT = 6.0


def typeset_report(
    report: story.Report, layout: PageLayout, brand: Brand, paper: str
) -> tuple[Page, ...]:
    """Return the pages of a handout.

    Parameters
    ----------
    report : Report
        What the handout says.
    layout : PageLayout
        Margins, grid, type scale, order of the sheets.
    brand : Brand
        Inks, sign, names.
    paper : str
        A key of ``PAPERS``.

    Raises
    ------
    LimitError
        If something cannot fit a page, in the words of the lesson file.
    """
    style = layout.style(brand, paper)
    width, height = PAPERS[paper]
    order = {kind: index for index, kind in enumerate(layout.sheets)}
    sheets = sorted(
        (sheet for sheet in report.sheets if sheet.kind in order), key=lambda s: order[s.kind]
    )
    room = height - layout.margins.top - layout.margins.bottom
    drafts = []
    for sheet in sheets:
        foot = [piece for block in sheet.foot for piece in pieces_of(block, style)]
        foot_height = sum(piece.least for piece in foot)
        first_room = room - (foot_height + GAP_ABOVE_FOOT if foot else 0.0)
        pieces = [piece for block in sheet.blocks for piece in pieces_of(block, style)]
        for index, page in enumerate(split_into_pages(pieces, room, first_room)):
            drafts.append((sheet, page, [] if index else foot, room if index else first_room))
    count = len(drafts)
    footer = fitting_footer(report.footer, style, report.sheet_of.format(number=99, count=99))
    dressed = replace(report, footer=footer)
    pages = []
    for number, (sheet, pieces, foot, page_room) in enumerate(drafts, start=1):
        elements = list(place(pieces, layout.margins.left, layout.margins.top, page_room))
        if foot:
            top = height - layout.margins.bottom - sum(piece.least for piece in foot)
            elements += place(foot, layout.margins.left, top, room)
        head = furniture(
            dressed,
            brand,
            layout,
            style,
            title=sheet.title,
            number=number,
            count=count,
            page_width=width,
            page_height=height,
        )
        pages.append(Page(width, height, (head, *elements), sheet.title, sheet.kind))
    return tuple(pages)


def pieces_of(block: story.Block, style: Style) -> list[Piece]:
    """Return the pieces of a block, set at the full text width."""
    width = style.text_width
    match block:
        case story.Paragraph():
            return paragraph_pieces(block, width, style)
        case story.Thoughts():
            return thoughts_pieces(block, width, style)
        case story.Pair():
            return pair_pieces(block, width, style)
        case story.Facts():
            return facts_pieces(block, width, style)
        case story.Chain():
            return list(chain(block, width, style))
        case story.FlightPicture():
            least, most = FLIGHT_PICTURE_HEIGHTS

            def make(room: float) -> Chunk:
                (chunk,) = flight_picture(block, width, room, style)
                return replace(chunk, height=room)

            return [Flexible(least, most, make, 7.0, "flight drawing", "seen")]
        case story.ShotPicture():
            return shot_picture_pieces(block, width, style)
        case story.DegreesTable():
            return degrees_table_pieces(block, width, style)
        case story.Drills():
            return drills_pieces(block, width, style)
        case story.Visits():
            return visits_pieces(block, width, style)
        case story.SideNotes():
            return side_notes_pieces(block, width, style)
        case story.Labelled():
            return labelled_pieces(block, width, style)
        case story.WritingLines():
            return writing_lines_pieces(block, width, style)
        case story.RangeCard():
            return range_card_pieces(block, width, style)
        case story.RecordTable():
            return record_pieces(block, width, style)


__all__ = [
    "PAPERS",
    "Brand",
    "PageLayout",
    "load_brand",
    "load_page_layout",
    "typeset_report",
]
