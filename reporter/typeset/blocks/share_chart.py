"""Shares of shots under each other on one scale from none to all, each with its range."""

from reporter.speech import later, say
from reporter.story.report import Run, ShareChart, ShareRow
from reporter.typeset.boxes import Box, Element, Path
from reporter.typeset.faces import width_of
from reporter.typeset.strokes import state_symbol
from reporter.typeset.style import Style
from reporter.typeset.text import break_lines, label, paragraph

HEADING_BASELINE, HEADING = 3.9, 8.6
ROW_LEAST, ROW_MOST = 12.0, 17.0
FOOT = 3.6
MAY_STICK_OUT = 1.0
LEAST_GAP = 2.0
WORDS = {"none": later("0"), "half": later("50"), "all": later("100 of 100")}


def _aside_below(chart: ShareChart, width: float, style: Style) -> float:
    """Return how much higher the head is where the aside does not fit beside the heading."""
    heading, table = style.step("subheading"), style.step("table")
    taken = width_of(chart.heading, heading.face, heading.size) + 2.2
    if taken + width_of(chart.aside, table.face, table.size) <= width + MAY_STICK_OUT:
        return 0.0
    return len(break_lines((Run(chart.aside),), table, width)) * table.lead_mm


def chart_heights(chart: ShareChart, width: float, style: Style) -> tuple[float, float]:
    """Return the least and the greatest height of a chart of a width in millimetres."""
    fixed = HEADING + _aside_below(chart, width, style) + ROW_LEAST * style.enlarged + FOOT
    others = (len(chart.rows) - 1) * style.enlarged
    return fixed + others * ROW_LEAST, fixed + others * ROW_MOST


def share_chart(chart: ShareChart, width: float, height: float, style: Style) -> list[Element]:
    """Return the chart from (0, 0), its rows spread over the height."""
    heading, table, note = style.step("subheading"), style.step("table"), style.step("note")
    title = label(chart.heading, 0.0, HEADING_BASELINE, heading, style.ink)
    below = _aside_below(chart, width, style)
    if below:
        y = HEADING_BASELINE + 1.1 * table.lead_mm
        aside, _ = paragraph((Run(chart.aside),), 0.0, y, width, table, style.secondary)
    else:
        x = title.width + 2.2
        aside = (label(chart.aside, x, HEADING_BASELINE, table, style.secondary),)
    boxes: list[Box] = []
    least = ROW_LEAST * style.enlarged
    top = HEADING + below
    pitch = (height - top - least - FOOT) / max(len(chart.rows) - 1, 1)
    for number, row in enumerate(chart.rows):
        boxes += _row(row, top + number * pitch, width, style)
    base = top + (len(chart.rows) - 1) * pitch + least + FOOT - 1.0
    for text, x, align in (
        (say(WORDS["none"]), 0.0, "left"),
        (say(WORDS["half"]), width / 2, "centre"),
        (say(WORDS["all"]), width, "right"),
    ):
        boxes.append(label(text, x, base, note, style.secondary, align=align))
    figure = Element("Figure", tuple(boxes), alt=chart.alt, source="seen.shots")
    return [Element("H2", (title,)), Element("P", aside), figure]


def _row(row: ShareRow, y: float, width: float, style: Style) -> list[Box]:
    """Name and count above, the range as a whisker on the scale, its words below."""
    table, note = style.step("table"), style.step("note")
    grown = style.enlarged
    ink = style.ink if row.state == "wanted" else style.brand
    base = y + 2.6 * grown
    counted = label(row.counted, width, base, table, style.ink, face="bold", align="right")
    name = label(row.name, 0.0, base, table, style.ink)
    if name.width + LEAST_GAP + counted.width > width:
        name = label(row.name, 0.0, base, note, style.ink)
    boxes: list[Box] = [name, counted]
    axis = y + 6.0 * grown
    boxes.append(Path(((0.0, axis), (width, axis)), 0.12, style.hairline))
    for tenths in range(11):
        x = width * tenths / 10
        reach = 0.9 if tenths in (0, 5, 10) else 0.5
        boxes.append(Path(((x, axis - reach), (x, axis + reach)), 0.12, style.secondary))
    low, value, high = (width * min(max(one, 0.0), 1.0) for one in (row.low, row.value, row.high))
    dash = (0.8, 0.6) if row.state == "before" else ()
    boxes.append(Path(((low, axis), (high, axis)), 0.5, ink, dash=dash))
    boxes += [Path(((x, axis - 1.0), (x, axis + 1.0)), 0.35, ink) for x in (low, high)]
    boxes += state_symbol((value, axis), row.state, ink, radius=1.15)
    boxes.append(label(row.words, width, y + 10.2 * grown, note, style.secondary, align="right"))
    return boxes
