"""Shares of shots under each other on one scale from none to all, each with its range."""

from reporter.story.report import ShareChart, ShareRow
from reporter.typeset.boxes import Box, Element, Path
from reporter.typeset.strokes import state_symbol
from reporter.typeset.style import Style
from reporter.typeset.text import label

HEADING_BASELINE, HEADING = 3.9, 8.6
ROW_LEAST, ROW_MOST = 12.0, 17.0
FOOT = 3.6
WORDS = {"none": "0", "half": "50", "all": "100 of 100"}


def chart_heights(chart: ShareChart) -> tuple[float, float]:
    """Return the least and the greatest height of a chart in millimetres."""
    fixed = HEADING + ROW_LEAST + FOOT
    others = len(chart.rows) - 1
    return fixed + others * ROW_LEAST, fixed + others * ROW_MOST


def share_chart(chart: ShareChart, width: float, height: float, style: Style) -> list[Element]:
    """Return the chart from (0, 0), its rows spread over the height."""
    heading, table, note = style.step("subheading"), style.step("table"), style.step("note")
    title = label(chart.heading, 0.0, HEADING_BASELINE, heading, style.ink)
    aside = label(
        chart.aside, title.width + 2.2, HEADING_BASELINE, table, style.secondary
    )
    boxes: list[Box] = []
    pitch = (height - HEADING - ROW_LEAST - FOOT) / max(len(chart.rows) - 1, 1)
    for number, row in enumerate(chart.rows):
        boxes += _row(row, HEADING + number * pitch, width, style)
    base = HEADING + (len(chart.rows) - 1) * pitch + ROW_LEAST + FOOT - 1.0
    for text, x, align in (
        (WORDS["none"], 0.0, "left"),
        (WORDS["half"], width / 2, "centre"),
        (WORDS["all"], width, "right"),
    ):
        boxes.append(label(text, x, base, note, style.secondary, align=align))
    figure = Element("Figure", tuple(boxes), alt=chart.alt, source="seen.shots")
    return [Element("H2", (title,)), Element("P", (aside,)), figure]


def _row(row: ShareRow, y: float, width: float, style: Style) -> list[Box]:
    """Name and count above, the range as a whisker on the scale, its words below."""
    table, note = style.step("table"), style.step("note")
    ink = style.ink if row.state == "wanted" else style.brand
    boxes: list[Box] = [
        label(row.name, 0.0, y + 2.6, table, style.ink),
        label(row.counted, width, y + 2.6, table, style.ink, face="bold", align="right"),
    ]
    axis = y + 6.0
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
    boxes.append(label(row.words, width, y + 10.2, note, style.secondary, align="right"))
    return boxes
