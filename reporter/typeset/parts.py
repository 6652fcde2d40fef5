"""The parts of a handout as a layout asks for them: which blocks, in which order, on how much."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

from reporter.errors import LimitError
from reporter.story.report import Block, Report, Sheet
from reporter.typeset.chunk import Piece
from reporter.typeset.page_layout import Part
from reporter.typeset.paginate import FULL_ENOUGH, height_of, reach_of, split_into_pages
from reporter.typeset.pieces import name_of, pieces_of
from reporter.typeset.style import Style

GAP_ABOVE_FOOT = 6.0
BETWEEN_SHEETS = 9.0
BETWEEN_TITLES = " · "
SAID = {
    "lead": "the opening sentence",
    "title": "a title",
    "heading": "a heading",
    "body": "a paragraph",
    "note": "a note",
    "quote": "the student's own words",
    "thoughts": "the thoughts",
    "pair": "a pair of pictures",
    "facts": "the dates",
    "chain": "the chain of the flight",
    "flight": "the flight drawing",
    "shots": "the shot pattern",
    "degrees": "the table of degrees",
    "drills": "the drills",
    "visits": "the practice visits",
    "side-notes": "the if-then lines",
    "link": "the video link",
    "labelled": "the cautions",
    "writing-lines": "the lines to write on",
    "card": "the card for the bag",
    "record": "the record",
    "trend": "the cold tests",
    "points": "the page of points",
    "charts": "the charts over the lessons",
    "contents": "the contents",
}
"""What to call a block that was left out."""


@dataclass(frozen=True, slots=True)
class Draft:
    """One page to be: its pieces, what stands at its foot, and the room of the pieces.

    ``part`` counts the pieces that opened a page of their own.
    """

    kind: str
    title: str
    pieces: list[Piece]
    foot: list[Piece]
    room: float
    part: int = 0


@dataclass(frozen=True, slots=True, eq=False)
class _Set:
    """A block with its sheet and its pieces."""

    sheet: Sheet
    block: Block
    pieces: list[Piece]

    def is_called(self, name: str) -> bool:
        """Whether a layout's name means this block."""
        sheet, _, block = name.rpartition(".")
        return name_of(self.block) == block and sheet in ("", self.sheet.kind)


def drafts_of(
    report: Report, part: Part, style: Style, room: float, layout: str, warnings: list[str]
) -> list[Draft]:
    """Return the pages of one part of a handout.

    Parameters
    ----------
    report : Report
        Of which the part takes its sheets.
    room : float
        Height for pieces on a page, in millimetres.
    layout : str
        Its name, for what is said about blocks that were left out.
    warnings : list of str
        Gains a sentence where blocks had to be left out.

    Raises
    ------
    LimitError
        If a block fits no page, or what must stay does not fit the part's pages.
    """
    sheets = [sheet for kind in part.of for sheet in report.sheets if sheet.kind == kind]
    if not sheets:
        return []
    if len(part.of) == 1 and part.most_pages is None:
        return [
            draft
            for sheet in sheets
            for draft in _pages([sheet], _ordered([sheet], part, style, warnings), style, room)
        ]
    blocks = _ordered(sheets, part, style, warnings)
    most = part.most_pages
    if most is None:
        return _pages(sheets, blocks, style, room)
    return _fitted(sheets, blocks, part, most, style, room, layout, warnings)


def _ordered(sheets: Sequence[Sheet], part: Part, style: Style, warnings: list[str]) -> list[_Set]:
    """Return the blocks of the sheets with their pieces, those named `first` before the others."""
    blocks = [
        _opening(_Set(sheet, block, pieces_of(block, style, warnings)), part)
        for sheet in sheets
        for block in sheet.blocks
    ]
    ranks = {name: rank for rank, name in enumerate(part.first)}

    def rank(one: _Set) -> int:
        return min((r for name, r in ranks.items() if one.is_called(name)), default=len(ranks))

    return sorted(blocks, key=rank)


def _opening(one: _Set, part: Part) -> _Set:
    """Return the block, its pieces opening pages of their own where the part asks for that."""
    if not any(one.is_called(name) for name in part.apart):
        return one
    pieces = [
        replace(piece, opens=True) if piece.begins or not index else piece
        for index, piece in enumerate(one.pieces)
    ]
    return replace(one, pieces=pieces)


def _pages(
    sheets: Sequence[Sheet], blocks: Sequence[_Set], style: Style, room: float
) -> list[Draft]:
    foot_blocks = [block for sheet in sheets for block in sheet.foot]
    foot = [piece for block in foot_blocks for piece in pieces_of(block, style, [])]
    pieces = _spaced(blocks)
    first_room = room - (height_of(foot) + GAP_ABOVE_FOOT if foot else 0.0)
    if foot and (style.breadth == "narrow" or not _fills_first(pieces, room, first_room)):
        # A page that its foot would leave with a hole has none: what stood there is read last.
        pieces, foot, first_room = [*pieces, *foot], [], room
    told = [one.sheet for one in blocks if name_of(one.block) not in ("title", "heading")]
    shown = [sheet for sheet in sheets if sheet in told] or sheets
    title = BETWEEN_TITLES.join(dict.fromkeys(sheet.title for sheet in shown))
    drafts: list[Draft] = []
    kind, number = sheets[0].kind, 0
    for index, page in enumerate(split_into_pages(pieces, room, first_room)):
        number += bool(index and any(piece.opens for piece in page))
        at_foot, height = ([], room) if index else (foot, first_room)
        drafts.append(Draft(kind, title, page, at_foot, height, number))
    return drafts


def _fills_first(pieces: Sequence[Piece], room: float, first_room: float) -> bool:
    """Whether a first page with a foot is full, or none without it would be."""
    if not pieces or first_room < room / 2:
        return False
    if _first_is_full(pieces, room, first_room):
        return True
    return not _first_is_full(pieces, room, room)


def _first_is_full(pieces: Sequence[Piece], room: float, first_room: float) -> bool:
    """Whether the pieces fill the first page as they are, or all of them stand on it."""
    try:
        pages = split_into_pages(pieces, room, first_room, as_they_are=True)
    except LimitError:
        return False
    return len(pages) == 1 or reach_of(pages[0]) >= FULL_ENOUGH * first_room


def _spaced(blocks: Sequence[_Set]) -> list[Piece]:
    """Return the pieces of the blocks, with white where another sheet begins."""
    pieces: list[Piece] = []
    before: Sheet | None = None
    for one in blocks:
        new = one.pieces
        if before is not None and one.sheet is not before and new:
            white = max(new[0].space_before, BETWEEN_SHEETS)
            new = [replace(new[0], space_before=white), *new[1:]]
        pieces += new
        before = one.sheet
    return pieces


def _fitted(
    sheets: Sequence[Sheet],
    blocks: list[_Set],
    part: Part,
    most: int,
    style: Style,
    room: float,
    layout: str,
    warnings: list[str],
) -> list[Draft]:
    """Return at most so many pages; blocks give way in the part's order, and that is said."""
    left_out: list[_Set] = []
    kept = list(blocks)
    giving_way = iter(_giving_way(blocks, part))
    while True:
        found = _try(sheets, kept, style, room, most)
        if found is not None:
            break
        going = next(giving_way, None)
        if going is None:
            message = (
                f"the layout {layout} has {most} {'page' if most == 1 else 'pages'} for "
                f"{', '.join(part.of)}, and what must stay does not fit; shorten the texts or "
                "take the layout handout"
            )
            raise LimitError(message)
        kept.remove(going)
        left_out.append(going)
    # What went first may fit again once something larger has gone.
    for one in reversed(left_out[:-1]):
        again = [block for block in blocks if block in kept or block is one]
        better = _try(sheets, again, style, room, most)
        if better is not None:
            kept, found = again, better
    gone = [one for one in blocks if one not in kept]
    if gone:
        warnings.append(_what_went(gone, layout))
    return found


def _giving_way(blocks: Sequence[_Set], part: Part) -> list[_Set]:
    """Return the blocks that may go: by name in the part's order, the last of a name first."""
    order: list[_Set] = []
    for name in part.leave_out:
        order += [one for one in reversed(blocks) if one.is_called(name) and one not in order]
    return order


def _try(
    sheets: Sequence[Sheet], blocks: Sequence[_Set], style: Style, room: float, most: int
) -> list[Draft] | None:
    try:
        pages = _pages(sheets, blocks, style, room)
    except LimitError:
        return None
    return pages if len(pages) <= most else None


def _what_went(gone: Sequence[_Set], layout: str) -> str:
    said: dict[str, int] = {}
    for one in gone:
        words = SAID[name_of(one.block)]
        said[words] = said.get(words, 0) + 1
    named = [words if count == 1 else f"{words} ({count} times)" for words, count in said.items()]
    return f"no room in the layout {layout} for {', '.join(named)}; the layout handout has them"
