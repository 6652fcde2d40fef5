"""What stands on every page: sign and academy, the sheet's name, a true ruler, the title block.

The head rule carries millimetre ticks: laid against a real ruler it shows whether the page was
printed at full size, which the range card and its gate depend on. The foot is a title block in
the manner of ISO 7200.
"""

from dataclasses import replace

from reporter.story.report import Report
from reporter.typeset.boxes import Box, Element, Path, Text
from reporter.typeset.brand import Brand
from reporter.typeset.faces import width_of
from reporter.typeset.page_layout import PageLayout
from reporter.typeset.sign import sign_boxes, sign_width
from reporter.typeset.style import Style, TypeStep
from reporter.typeset.text import label

ABOVE_TEXT, ABOVE_TEXT_WITHOUT_RULER = 7.9, 5.6
"""From the head rule to the text."""
ABOVE_RULE = 3.0
SIGN_SIZE = 7.6
WIDEST_SIGN = 0.3
"""A wide logo's share of the head; a wider one is printed smaller."""
LEAST_ABOVE_SIGN = 4.4
BETWEEN_NAMES = 4.0
TICK = 0.9
LONG_TICK = 1.7
RULER = 100.0
SMALLEST_HEAD = 8.5
DOTS = "\u2026"


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
    rule = layout.margins.top - (ABOVE_TEXT if layout.ruler else ABOVE_TEXT_WITHOUT_RULER)
    boxes: list[Box] = []
    x = left
    size = min(SIGN_SIZE, rule - 1.4 - LEAST_ABOVE_SIGN)
    if sign_width(brand, size):
        size = min(size, size * WIDEST_SIGN * (right - left) / sign_width(brand, size))
        boxes += sign_boxes(brand, left, rule - 1.4 - size, size)
        x += sign_width(brand, size) + 2.4
    academy = report.academy or brand.academy
    name = _largest_that_fits(title, right - x, head, style.brand)
    boxes.append(replace(name, x=right - name.width, y=rule - ABOVE_RULE))
    taken = width_of(academy, note.face, note.size) + BETWEEN_NAMES
    if academy and x + taken <= right - name.width:
        boxes.append(label(academy, x, rule - ABOVE_RULE, note, style.secondary))
    elif academy:
        # A head too narrow for both names: the academy's stands at the foot.
        report = replace(report, footer=(academy,))
    boxes.append(Path(((left, rule), (right, rule)), brand.rule_millimetres, style.brand))
    if layout.ruler:
        boxes += _ruler(left, right, rule, style)
    boxes += _title_block(report, layout, style, number, count, page_width, page_height)
    return Element("Artifact", tuple(boxes))


def _largest_that_fits(text: str, room: float, step: TypeStep, ink: str) -> Text:
    """Return a line in the step, in a smaller size, or shortened with dots where it must be."""
    least = max(SMALLEST_HEAD, 0.75 * step.size)
    width = width_of(text, step.face, step.size)
    size = max(min(step.size, step.size * room / max(width, 1e-6)), least)
    smaller = TypeStep(size, step.lead, step.face)
    shown = text
    while len(shown) > 1 and width_of(shown, step.face, size) > room:
        shown = f"{shown.rstrip(DOTS)[:-1].rstrip()}{DOTS}"
    return label(shown, 0.0, 0.0, smaller, ink)


def _ruler(left: float, right: float, rule: float, style: Style) -> list[Box]:
    length = min(RULER, 10 * int((right - left) / 10))
    boxes: list[Box] = []
    for tick in range(0, int(length) + 1, 5):
        size = LONG_TICK if tick % 10 == 0 else TICK
        boxes.append(Path(((left + tick, rule), (left + tick, rule + size)), 0.15, style.brand))
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
    cells = [*fitting_footer(report.footer, style, sheet), sheet]
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
    while kept:
        total = sum(width_of(cell, note.face, note.size) for cell in (*kept, sheet))
        if total + 5.0 * len(kept) <= style.text_width:
            break
        kept.pop(1 if len(kept) > 1 else 0)
    return tuple(kept)
