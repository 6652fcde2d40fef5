"""Cards of true size: four to a sheet to cut, folded to a quarter of a sheet, or both sides."""

from collections.abc import Sequence

from reporter.speech import later, say
from reporter.story.report import RangeCard, Report, Run
from reporter.typeset.blocks.range_card import (
    back_pieces,
    fitting_thoughts,
    front_pieces,
    lower_elements,
    lower_height,
    punch_mark,
    thought_elements,
)
from reporter.typeset.boxes import Box, Element, Page, Path, all_elements, moved
from reporter.typeset.page_layout import PageLayout
from reporter.typeset.paginate import height_of
from reporter.typeset.parts import Draft
from reporter.typeset.style import Style
from reporter.typeset.text import break_lines, label

QUARTERS = ("four", "folded")
"""Forms that are a quarter of the sheet."""
MARK_FROM, MARK_TO = 4.0, 9.0
"""Cut marks run between these distances from the paper's edge: printers reach no farther out."""
CROSS = 4.0
MARK_WIDTH = 0.25
FOLD_DASH = (1.6, 1.2)
INSET = 8.0
HEAD, FOOT = 15.0, 13.0
WORDS = {"fold": later("fold back"), "cut": later("cut")}


def card_sheets(
    report: Report,
    layout: PageLayout,
    style: Style,
    paper: tuple[float, float],
    warnings: list[str],
) -> list[Draft | Page]:
    """Return the sheets of the card in the form that the layout asks for.

    Parameters
    ----------
    report : Report
        Its sheets of the kind card.
    paper : tuple of float
        Width and height of the sheet in millimetres.
    warnings : list of str
        Gains a sentence for whatever the card cannot hold.
    """
    sheets: list[Draft | Page] = []
    for sheet in report.sheets:
        if sheet.kind != "card":
            continue
        for block in sheet.blocks:
            if not isinstance(block, RangeCard):
                continue
            if layout.card.form == "page":
                sheets += _page_sides(block, sheet.title, style, warnings)
                continue
            pages = _quarters(block, layout, report.academy, style, paper, warnings)
            sheets += [Page(*paper, page, sheet.title, "card") for page in pages]
    return sheets


def _page_sides(
    block: RangeCard, title: str, style: Style, warnings: list[str]
) -> list[Draft | Page]:
    front = front_pieces(block, style.text_width, style, warnings)
    back = back_pieces(block, style.text_width, style)
    return [Draft("card", title, [piece], [], height_of([piece])) for piece in (*front, *back)]


def _quarters(
    block: RangeCard,
    layout: PageLayout,
    academy: str,
    style: Style,
    paper: tuple[float, float],
    warnings: list[str],
) -> list[tuple[Element, ...]]:
    """Return the pages of cards that are a quarter of the sheet each."""
    width, height = paper[0] / 2, paper[1] / 2
    place = f"a card of {width:.0f} x {height:.0f} mm"
    front = _front(block, width, height, academy, style, place, warnings)
    back = _back(block, width, height, style)
    corners = [(x, y) for y in (0.0, height) for x in (0.0, width)]
    if layout.card.form == "folded":
        fold = _fold_marks(paper, style)
        halves = [
            _at(_copies(side, [(x, 0.0), (x, height)]), 0.0, 0.0)
            for side, x in ((front, width), (back, 0.0))
        ]
        marks = Element("Artifact", (*_middle_marks(paper, style, upright=False), *fold))
        return [(marks, *halves[0], *halves[1])]
    marks = Element("Artifact", tuple(_middle_marks(paper, style, upright=True)))
    pages = [(marks, *_copies(front, corners))]
    if layout.card.both_sides and back:
        pages.append((marks, *_copies(back, corners)))
    elif back:
        warnings.append(
            f"no room on {place} for the drill and the tally; the layout card-four-both-sides "
            "prints them on the back"
        )
    return pages


def _at(elements: Sequence[Element], x: float, y: float) -> list[Element]:
    return [moved(element, x, y) for element in elements]


def _copies(card: Sequence[Element], places: Sequence[tuple[float, float]]) -> list[Element]:
    """Return a card at each place; read aloud it is only once."""
    elements = _at(card, *places[0])
    boxes = tuple(box for element in all_elements(tuple(card)) for box in element.boxes)
    for x, y in places[1:]:
        elements.append(moved(Element("Artifact", boxes), x, y))
    return elements


def _front(
    block: RangeCard,
    width: float,
    height: float,
    academy: str,
    style: Style,
    place: str,
    warnings: list[str],
) -> list[Element]:
    inner, room = width - 2 * INSET, height - HEAD - FOOT
    thoughts, step = fitting_thoughts(block.thoughts, inner, room, style, warnings, place)
    _, end = thought_elements(thoughts, step, INSET, HEAD, inner, style)
    spare = max(HEAD + room - end, 0.0) * 0.4
    elements, _ = thought_elements(thoughts, step, INSET, HEAD + spare, inner, style)
    line = height - FOOT + 3.0
    furniture: list[Box] = [
        punch_mark(width / 2, 8.0, style),
        Path(((INSET, line), (width - INSET, line)), 0.5, style.brand),
    ]
    note = style.step("note")
    if academy and len(break_lines((Run(academy),), note, inner)) == 1:
        furniture.append(label(academy, INSET, line + 4.2, note, style.secondary))
    return [Element("Artifact", tuple(furniture)), *elements]


def _back(block: RangeCard, width: float, height: float, style: Style) -> list[Element]:
    inner = width - 2 * INSET
    if not lower_height(block, inner, style):
        return []
    return lower_elements(block, INSET, INSET + 3.0, inner, height - 2 * INSET - 3.0, style)


def _middle_marks(paper: tuple[float, float], style: Style, *, upright: bool) -> list[Box]:
    """Return marks at the edges where the sheet is cut in half, and a cross in the middle."""
    width, height = paper
    x, y = width / 2, height / 2
    lines = [((MARK_FROM, y), (MARK_TO, y)), ((width - MARK_TO, y), (width - MARK_FROM, y))]
    if upright:
        lines += [
            ((x, MARK_FROM), (x, MARK_TO)),
            ((x, height - MARK_TO), (x, height - MARK_FROM)),
            ((x - CROSS, y), (x + CROSS, y)),
            ((x, y - CROSS), (x, y + CROSS)),
        ]
    return [Path(line, MARK_WIDTH, style.ink) for line in lines]


def _fold_marks(paper: tuple[float, float], style: Style) -> list[Box]:
    """Return dashed marks where each card is folded back, with the word at the first."""
    width, height = paper
    x = width / 2
    note = style.step("note")
    reach = MARK_TO - MARK_FROM
    ends = [MARK_FROM, height / 2 - 1.5 - reach, height / 2 + 1.5, height - MARK_TO]
    boxes: list[Box] = [
        Path(((x, y), (x, y + reach)), MARK_WIDTH, style.ink, dash=FOLD_DASH) for y in ends
    ]
    for y in (ends[0], ends[2]):
        boxes.append(
            label(say(WORDS["fold"]), x - 2.0, y + 3.4, note, style.secondary, align="right")
        )
    return boxes
