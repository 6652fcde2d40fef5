"""Small charts of measures over the lessons, side by side, all over the same days.

Each has its words around it: what is measured above, the verdict with its numbers and its reason
below. Dots and whiskers are those of all pages: open and dashed before, filled and solid after.
"""

from collections.abc import Callable, Sequence

from reporter.story.report import Run, ValueChart, ValueCharts
from reporter.typeset.boxes import Box, Disc, Element, Path, moved
from reporter.typeset.chunk import Chunk, Flexible, Piece
from reporter.typeset.faces import width_of
from reporter.typeset.strokes import CHAIN, WHITE, state_symbol
from reporter.typeset.style import Style, TypeStep
from reporter.typeset.text import break_lines, label, set_line

PLOT_HEIGHTS = 25.0, 46.0
"""Least and greatest height of a plot in millimetres at a body of 11 points."""
SIGN_STRIP = 4.2
"""Above the plot, for the signs of a changed camera."""
INSET = 3.2
BETWEEN_ROWS = 6.0
WHISKER_DASH = (0.5, 0.35)
BROKEN_DASH = (1.2, 0.9)
CLOSE_SIGNS = 4.0
DOT = 1.05
Scale = Callable[[float], float]


def value_charts_pieces(block: ValueCharts, width: float, style: Style) -> list[Piece]:
    """Return the charts, two in a row where there is room, a row a piece."""
    in_a_row = 1 if style.breadth == "narrow" else 2
    room = (width - (in_a_row - 1) * style.gutter) / in_a_row
    return [
        _row(block.charts[start : start + in_a_row], room, style, follows=bool(start))
        for start in range(0, len(block.charts), in_a_row)
    ]


def _row(row: Sequence[ValueChart], room: float, style: Style, *, follows: bool) -> Flexible:
    """Return charts side by side, their plots as high as the page has room."""
    least, most = (height * style.enlarged for height in PLOT_HEIGHTS)
    height = _set(row, room, least, style).height

    def make(given: float) -> Chunk:
        return _set(row, room, least + given - height, style)

    return Flexible(
        height, height + most - least, make, BETWEEN_ROWS, name="chart", follows=follows
    )


def _set(row: Sequence[ValueChart], room: float, plot: float, style: Style) -> Chunk:
    heads = [_above(chart, room, style) for chart in row]
    top = max(height for _, height in heads)
    elements: list[Element] = []
    bottom = 0.0
    for number, (chart, (above, height)) in enumerate(zip(row, heads, strict=True)):
        x = number * (room + style.gutter)
        elements += _moved(above, x, top - height)
        figure, y = _plot(chart, top, room, plot, style)
        elements += _moved([figure], x, 0.0)
        below, y = _below(chart, y, room, style)
        elements += _moved(below, x, 0.0)
        bottom = max(bottom, y)
    return Chunk(bottom, tuple(elements), BETWEEN_ROWS, name="chart")


def _moved(elements: Sequence[Element], dx: float, dy: float) -> list[Element]:
    return [moved(one, dx, dy) for one in elements]


def _lines(
    text: str, y: float, width: float, step: TypeStep, ink: str
) -> tuple[tuple[Box, ...], float]:
    """Set a text from a top edge; return its boxes and its bottom edge."""
    boxes: list[Box] = []
    base = y + 0.78 * step.size_mm
    for line in break_lines((Run(text),), step, width):
        boxes += set_line(line, 0.0, base, step, ink)
        base += step.lead_mm
        y += step.lead_mm
    return tuple(boxes), y


def _above(chart: ValueChart, width: float, style: Style) -> tuple[list[Element], float]:
    title, y = _lines(chart.heading, 0.0, width, style.step("subheading"), style.ink)
    found = [Element("H2", title)]
    if chart.aside:
        aside, y = _lines(chart.aside, y, width, style.step("table"), style.secondary)
        found.append(Element("P", aside))
    return found, y


def _below(chart: ValueChart, y: float, width: float, style: Style) -> tuple[list[Element], float]:
    body, table, note = style.step("subheading"), style.step("table"), style.step("note")
    verdict, y = _lines(chart.verdict, y + 0.8, width, body, style.ink)
    found = [Element("P", verdict)]
    for text, step, ink in ((chart.numbers, table, style.ink), (chart.reason, note,
                                                                style.secondary)):  # fmt: skip
        if text:
            boxes, y = _lines(text, y, width, step, ink)
            found.append(Element("P", boxes))
    return found, y


def _plot(
    chart: ValueChart, top: float, width: float, height: float, style: Style
) -> tuple[Element, float]:
    """Return the figure from its top edge, and the bottom edge of its days."""
    note = style.step("note")
    texts = max((width_of(text, note.face, note.size) for _, text in chart.ticks), default=0.0)
    left, right = texts + 2.4, width
    upper = top + SIGN_STRIP
    lower = upper + height
    span = chart.high - chart.low

    def across(place: float) -> float:
        return left + INSET + place * (right - left - 2 * INSET)

    def down(value: float) -> float:
        return lower - (value - chart.low) / span * (lower - upper)

    boxes: list[Box] = []
    if chart.limits is not None:
        _, low, high = (down(limit) for limit in chart.limits)
        corners = ((left, high), (right, high), (right, low), (left, low))
        boxes.append(Path(corners, 0.0, style.tint, closed=True, fill=style.tint))
    for value, text in chart.ticks:
        y = down(value)
        boxes.append(Path(((left, y), (right, y)), 0.12, style.pale))
        base = y + 0.35 * note.size_mm
        boxes.append(label(text, left - 1.4, base, note, style.secondary, align="right"))
    boxes.append(Path(((left, upper), (left, lower), (right, lower)), 0.2, style.secondary))
    if chart.limits is not None:
        centre, low, high = (down(limit) for limit in chart.limits)
        boxes.append(Path(((left, centre), (right, centre)), 0.25, style.secondary))
        boxes += [
            Path(((left, y), (right, y)), 0.3, style.secondary, dash=CHAIN) for y in (low, high)
        ]
    boxes += _course(chart, across, down, upper, lower, style)
    base = lower + 1.2 + 0.78 * note.size_mm
    first, last = chart.days
    boxes.append(label(first, left, base, note, style.secondary))
    if last != first:
        boxes.append(label(last, right, base, note, style.secondary, align="right"))
    figure = Element("Figure", tuple(boxes), alt=chart.alt)
    return figure, lower + 1.2 + note.lead_mm


def _course(
    chart: ValueChart, across: Scale, down: Scale, upper: float, lower: float, style: Style
) -> list[Box]:
    """Return the line between the dots, its breaks with their signs, whiskers and dots."""
    boxes: list[Box] = []
    signs: list[Box] = []
    marks: list[Box] = []
    last_sign = -CLOSE_SIGNS
    dash = WHISKER_DASH if chart.state == "before" else ()
    for number, spot in enumerate(chart.spots):
        x, y = across(spot.place), down(spot.value)
        if number:
            before = chart.spots[number - 1]
            start = (across(before.place), down(before.value))
            if not spot.broken:
                boxes.append(Path((start, (x, y)), 0.3, style.secondary))
            else:
                middle = (start[0] + x) / 2
                signs.append(
                    Path(((middle, upper), (middle, lower)), 0.2, style.ink, dash=BROKEN_DASH)
                )
                if middle - last_sign >= CLOSE_SIGNS:
                    signs += _camera((middle, upper - 2.0), style)
                    last_sign = middle
        ends = (down(spot.low), down(spot.high))
        marks.append(Path(((x, ends[0]), (x, ends[1])), 0.45, style.brand, dash=dash))
        marks += [Path(((x - 0.8, end), (x + 0.8, end)), 0.3, style.brand) for end in ends]
        marks += state_symbol((x, y), chart.state, style.brand, radius=DOT)
    return [*signs, *boxes, *marks]


def _camera(at: tuple[float, float], style: Style) -> list[Box]:
    """Return the sign of a camera from the front, 3.2 mm wide: its body, its finder, its lens."""
    x, y = at
    body = ((x - 1.6, y - 0.9), (x + 1.6, y - 0.9), (x + 1.6, y + 1.3), (x - 1.6, y + 1.3))
    finder = ((x - 0.7, y - 0.9), (x - 0.7, y - 1.5), (x + 0.7, y - 1.5), (x + 0.7, y - 0.9))
    return [
        Path(finder, 0.25, style.ink),
        Path(body, 0.25, style.ink, closed=True, fill=WHITE),
        Disc(x, y + 0.2, 0.65, 0.25, style.ink, fill=WHITE),
    ]


__all__ = ["value_charts_pieces"]
