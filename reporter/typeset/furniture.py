"""What stands on every page: sign and academy, the sheet's name, a true ruler, the title block.

The head rule carries millimetre ticks: laid against a real ruler it shows whether the page was
printed at full size, which the range card and its gate depend on. The foot is a title block in
the manner of ISO 7200.
"""

from reporter.story.report import Report
from reporter.typeset.boxes import Box, Element, Path
from reporter.typeset.brand import Brand
from reporter.typeset.faces import width_of
from reporter.typeset.page_layout import PageLayout
from reporter.typeset.sign import sign_boxes
from reporter.typeset.style import Style
from reporter.typeset.text import label

HEAD_BASELINE = 15.6
HEAD_RULE = 18.6
SIGN_SIZE = 7.6
TICK = 0.9
LONG_TICK = 1.7
RULER = 100.0


def furniture(
    report: Report,
    brand: Brand,
    layout: PageLayout,
    style: Style,
    *,
    title: str,
    number: int,
    count: int,
    page_width: float,
    page_height: float,
) -> Element:
    """Return the head and foot of one page."""
    left, right = layout.margins.left, page_width - layout.margins.right
    head, note = style.step("subheading"), style.step("note")
    boxes: list[Box] = []
    x = left
    if brand.sign:
        boxes += sign_boxes(brand, left, HEAD_RULE - 1.4 - SIGN_SIZE, SIGN_SIZE)
        x += SIGN_SIZE + 2.4
    academy = report.academy or brand.academy
    boxes.append(label(academy, x, HEAD_BASELINE, note, style.secondary))
    boxes.append(label(title, right, HEAD_BASELINE, head, style.brand, align="right"))
    boxes.append(Path(((left, HEAD_RULE), (right, HEAD_RULE)), brand.rule_millimetres, style.brand))
    boxes += _ruler(left, right, style)
    boxes += _title_block(report, layout, style, number, count, page_width, page_height)
    return Element("Artifact", tuple(boxes))


def _ruler(left: float, right: float, style: Style) -> list[Box]:
    length = min(RULER, 10 * int((right - left) / 10))
    boxes: list[Box] = []
    for tick in range(0, int(length) + 1, 5):
        size = LONG_TICK if tick % 10 == 0 else TICK
        boxes.append(
            Path(((left + tick, HEAD_RULE), (left + tick, HEAD_RULE + size)), 0.15, style.brand)
        )
    return boxes


def _title_block(
    report: Report,
    layout: PageLayout,
    style: Style,
    number: int,
    count: int,
    page_width: float,
    page_height: float,
) -> list[Box]:
    note = style.step("note")
    left, right = layout.margins.left, page_width - layout.margins.right
    top = page_height - layout.margins.bottom + 4.4
    bottom = top + 6.4
    base = top + 4.3
    boxes: list[Box] = [
        Path(((left, top), (right, top)), 0.35, style.brand),
        Path(((left, bottom), (right, bottom)), 0.15, style.brand),
    ]
    sheet = report.sheet_of.format(number=number, count=count)
    cells = [*report.footer, sheet]
    widths = [width_of(cell, note.face, note.size) for cell in cells]
    spare = max(right - left - sum(widths), 0.0) / max(len(cells) - 1, 1)
    x = left
    for index, (cell, width) in enumerate(zip(cells, widths, strict=True)):
        boxes.append(label(cell, x, base, note, style.secondary))
        x += width + spare
        if index < len(cells) - 1:
            at = x - spare / 2
            boxes.append(Path(((at, top), (at, bottom)), 0.15, style.brand))
    return boxes


def fitting_footer(cells: tuple[str, ...], style: Style, sheet: str) -> tuple[str, ...]:
    """Return as many cells as fit one line with air between, the first ones kept."""
    note = style.step("note")
    kept = list(cells)
    while len(kept) > 1:
        total = sum(width_of(cell, note.face, note.size) for cell in (*kept, sheet))
        if total + 5.0 * len(kept) <= style.text_width:
            break
        kept.pop(1)
    return tuple(kept)
