"""From a block of the report to its pieces, set at the full text width."""

from dataclasses import replace

from reporter.story import report as story
from reporter.typeset.blocks.chain import chain
from reporter.typeset.blocks.contents import contents_pieces
from reporter.typeset.blocks.drill_cards import drills_pieces
from reporter.typeset.blocks.flight_picture import flight_picture, stacked_parts
from reporter.typeset.blocks.pairs import pair_pieces
from reporter.typeset.blocks.points_picture import points_picture_pieces
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
from reporter.typeset.blocks.trend import trend_pieces
from reporter.typeset.blocks.value_charts import value_charts_pieces
from reporter.typeset.blocks.visits import visits_pieces
from reporter.typeset.chunk import Chunk, Flexible, Piece
from reporter.typeset.forms import WIDEST_FOR_PARTS
from reporter.typeset.style import Style

NAMES: dict[type, str] = {
    story.Thoughts: "thoughts",
    story.Pair: "pair",
    story.Facts: "facts",
    story.Chain: "chain",
    story.FlightPicture: "flight",
    story.ShotPicture: "shots",
    story.DegreesTable: "degrees",
    story.Drills: "drills",
    story.Visits: "visits",
    story.SideNotes: "side-notes",
    story.LinkCode: "link",
    story.Labelled: "labelled",
    story.WritingLines: "writing-lines",
    story.RangeCard: "card",
    story.RecordTable: "record",
    story.Trend: "trend",
    story.PointsPicture: "points",
    story.ValueCharts: "charts",
    story.Contents: "contents",
}
"""Blocks as a layout names them; a paragraph goes by its style."""


def name_of(block: story.Block) -> str:
    """Return the name by which a layout knows a block."""
    return block.style if isinstance(block, story.Paragraph) else NAMES[type(block)]


def pieces_of(block: story.Block, style: Style, warnings: list[str]) -> list[Piece]:
    """Return the pieces of a block, set at the full text width.

    Parameters
    ----------
    block : Block
        What is to be printed.
    style : Style
        Inks, scale, grid and forms.
    warnings : list of str
        Gains a sentence for each part of a drawing that the paper cannot hold.
    """
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
            if width < WIDEST_FOR_PARTS:
                return stacked_parts(block, width, style, warnings)
            return [_whole_flight(block, width, style, warnings)]
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
        case story.LinkCode():
            # Loaded only where a lesson has a link: the encoder brings a good deal along.
            from reporter.typeset.blocks.link_code import link_code_pieces

            return link_code_pieces(block, width, style)
        case story.Labelled():
            return labelled_pieces(block, width, style)
        case story.WritingLines():
            return writing_lines_pieces(block, width, style)
        case story.RangeCard():
            return range_card_pieces(block, width, style, warnings)
        case story.RecordTable():
            return record_pieces(block, width, style)
        case story.Trend():
            return trend_pieces(block, width, style)
        case story.PointsPicture():
            return points_picture_pieces(block, width, style)
        case story.ValueCharts():
            return value_charts_pieces(block, width, style)
        case story.Contents():
            return contents_pieces(block, width, style)


def _whole_flight(
    block: story.FlightPicture, width: float, style: Style, warnings: list[str]
) -> Piece:
    least, most = style.flight.heights

    def make(room: float) -> Chunk:
        (chunk,) = flight_picture(block, width, room, style)
        return replace(chunk, height=room)

    return Flexible(
        least,
        most,
        make,
        7.0,
        "flight drawing",
        "seen",
        tight=lambda: stacked_parts(block, width, style, warnings),
    )
