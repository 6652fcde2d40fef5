"""Where everything goes: a report, a page layout and a brand become pages of boxes.

What may be relied on afterwards: every box lies inside its page, texts do not overlap, no text
is smaller than its minimum, and the elements stand in reading order.
"""

from dataclasses import dataclass, replace

from reporter.errors import LimitError
from reporter.story import report as story
from reporter.typeset.blocks.small_cards import QUARTERS, card_sheets
from reporter.typeset.boxes import Page
from reporter.typeset.brand import Brand, load_brand
from reporter.typeset.furniture import fitting_footer, furniture
from reporter.typeset.headings import with_first_level_first
from reporter.typeset.page_layout import PAPERS, PageLayout
from reporter.typeset.paginate import height_of, place
from reporter.typeset.parts import Draft, drafts_of
from reporter.typeset.read_layout import load_page_layout


@dataclass(frozen=True, slots=True)
class Typeset:
    """Finished pages, and in finished words what the layout or the paper could not hold."""

    pages: tuple[Page, ...]
    warnings: tuple[str, ...]


def typeset_report(
    report: story.Report, layout: PageLayout, brand: Brand, paper: str
) -> tuple[Page, ...]:
    """Return the pages of a handout; parameters and errors as for `typeset`."""
    return typeset(report, layout, brand, paper).pages


def typeset(report: story.Report, layout: PageLayout, brand: Brand, paper: str) -> Typeset:
    """Return the pages of a handout, and what had to be left out.

    Parameters
    ----------
    report : Report
        What the handout says.
    layout : PageLayout
        Margins, grid, type scale, forms, order of the sheets.
    brand : Brand
        Inks, sign, names.
    paper : str
        A key of ``PAPERS`` for which the layout is made.

    Raises
    ------
    InputRefusedError
        If the layout is not made for the paper.
    LimitError
        If something cannot fit a page, in the words of the lesson file, or the layout has none of
        the report's sheets.
    """
    form = layout.on(paper)
    style = form.style(brand, paper, report.language)
    width, height = PAPERS[paper]
    room = style.text_height
    warnings: list[str] = []
    drafts: list[Draft | Page] = []
    for part in form.sheets:
        if part.of == ("card",) and (form.card.form in QUARTERS or form.card.both_sides):
            drafts += card_sheets(report, form, style, (width, height), warnings)
        else:
            drafts += drafts_of(report, part, style, room, form.name, warnings)
    if not drafts:
        message = f"the layout {form.name} has no sheet that this document has; take handout"
        raise LimitError(message)
    count = len(drafts)
    footer = fitting_footer(report.footer, style, report.sheet_of.format(number=99, count=99))
    dressed = replace(report, footer=footer)
    pages = []
    left, top = form.margins.left, form.margins.top
    for number, draft in enumerate(drafts, start=1):
        if isinstance(draft, Page):
            pages.append(draft)
            continue
        elements = list(place(draft.pieces, left, top, draft.room))
        if draft.foot:
            foot_top = height - form.margins.bottom - height_of(draft.foot)
            elements += place(draft.foot, left, foot_top, room)
        head = furniture(
            dressed,
            brand,
            form,
            style,
            title=draft.title,
            number=number,
            count=count,
            page_width=width,
            page_height=height,
        )
        pages.append(Page(width, height, (head, *elements), draft.title, draft.kind, draft.part))
    return Typeset(with_first_level_first(pages), tuple(dict.fromkeys(warnings)))


__all__ = [
    "PAPERS",
    "Brand",
    "PageLayout",
    "Typeset",
    "load_brand",
    "load_page_layout",
    "typeset",
    "typeset_report",
]
