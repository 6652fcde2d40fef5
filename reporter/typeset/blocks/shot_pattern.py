"""The student's shots: plan and shares side by side, and what two degrees do as a table."""


from reporter.story.report import DegreesTable, Run, ShotPicture
from reporter.typeset.blocks.share_chart import chart_heights, share_chart
from reporter.typeset.blocks.shot_plan import plan_of_landings
from reporter.typeset.boxes import Box, Element, Path, moved
from reporter.typeset.chunk import Chunk, Flexible, Piece
from reporter.typeset.style import Style
from reporter.typeset.text import label, paragraph

HEADING_BASELINE, HEADING = 3.9, 7.4
PLAN_SHARE = 0.585
BETWEEN_COLUMNS = 8.0
BETWEEN_CHARTS = 7.0
LEAST_PLAN, MOST = 92.0, 176.0
ROW, HEADER = 7.6, 6.6


def shot_picture_pieces(block: ShotPicture, width: float, style: Style) -> list[Piece]:
    """Return plan and shares side by side as one piece that takes what height there is."""
    plan_width = PLAN_SHARE * width
    chart_x = plan_width + BETWEEN_COLUMNS
    least_charts = sum(chart_heights(chart)[0] for chart in block.charts) + BETWEEN_CHARTS * (
        len(block.charts) - 1
    )
    least = HEADING + max(LEAST_PLAN, least_charts - HEADING)

    def make(room: float) -> Chunk:
        words = (block.heading, block.aside)
        elements = _heading(words, 0.0, 0.0, style)
        boxes = plan_of_landings(block, plan_width, room - HEADING, style)
        figure = Element("Figure", boxes, alt=block.alt, source="seen.shots")
        elements.append(moved(figure, 0.0, HEADING))
        elements += _charts(block, chart_x, width - chart_x, room, style)
        return Chunk(room, tuple(elements), 6.0, name="shot pattern", source="seen.shots")

    return [Flexible(least, MOST, make, 6.0, "shot pattern", "seen.shots")]


def _heading(words: tuple[str, str], x: float, y: float, style: Style) -> list[Element]:
    step = style.step("subheading")
    heading = label(words[0], x, y + HEADING_BASELINE, step, style.ink)
    if not words[1]:
        return [Element("H2", (heading,))]
    right = x + heading.width + 2.6
    aside = label(words[1], right, y + HEADING_BASELINE, style.step("table"), style.secondary)
    return [Element("H2", (heading,)), Element("P", (aside,))]


def _charts(
    block: ShotPicture, x: float, width: float, room: float, style: Style
) -> list[Element]:
    """Return the charts under each other; what height is left over is shared by their rows."""
    leasts = [chart_heights(chart)[0] for chart in block.charts]
    mosts = [chart_heights(chart)[1] for chart in block.charts]
    spare = room - sum(leasts) - BETWEEN_CHARTS * (len(leasts) - 1)
    reach = sum(mosts) - sum(leasts)
    share = max(0.0, min(spare / reach, 1.0)) if reach > 0 else 0.0
    elements: list[Element] = []
    y = 0.0
    for chart, low, high in zip(block.charts, leasts, mosts, strict=True):
        height = low + share * (high - low)
        elements += [moved(one, x, y) for one in share_chart(chart, width, height, style)]
        y += height + BETWEEN_CHARTS
    if block.more:
        elements += _more(block, x, y, width, style)
    return elements


def _more(block: ShotPicture, x: float, y: float, width: float, style: Style) -> list[Element]:
    """Return what further shots would tell, a line a number of shots."""
    step, caption = style.step("table"), style.step("caption")
    elements = _heading((block.more_heading, ""), x, y, style)
    y += HEADING
    for name, text in block.more:
        elements.append(Element("Artifact", (Path(((x, y), (x + width, y)), 0.15, style.ink),)))
        y += 4.6
        head = label(name, x, y, caption, style.ink)
        words, y = paragraph((Run(text),), x, y + step.lead_mm, width, step, style.secondary)
        elements.append(Element("P", (head, *words)))
        y += 1.8 - step.lead_mm
    return elements


def degrees_table_pieces(block: DegreesTable, width: float, style: Style) -> list[Piece]:
    """Return the table under its heading, in one piece."""
    table = style.step("table")
    elements = _heading((block.heading, block.aside), 0.0, 0.0, style)
    y = HEADING - 0.6
    count = len(block.columns)
    first = 0.30 * width
    inner = (width - first) / max(count - 1, 1)
    xs = [0.0, *(first + index * inner for index in range(count - 1))]
    rules: list[Box] = [
        Path(((0, y), (width, y)), 0.35, style.ink),
        Path(((0, y + HEADER), (width, y + HEADER)), 0.35, style.ink),
    ]
    heads = tuple(
        Element("TH", (label(text, x, y + HEADER - 2.2, table, style.secondary),))
        for text, x in zip(block.columns, xs, strict=True)
    )
    rows = [Element("TR", children=heads)]
    y += HEADER
    for row in block.rows:
        base = y + ROW / 2 + 1.2
        cells = [
            Element(
                "TD" if index else "TH",
                (label(text, x, base, table, style.ink, face=None if index else "bold"),),
            )
            for index, (text, x) in enumerate(zip(row, xs, strict=True))
        ]
        rows.append(Element("TR", children=tuple(cells)))
        y += ROW
        rules.append(Path(((0, y), (width, y)), 0.15, style.ink))
    elements.append(Element("Table", children=(Element("Artifact", tuple(rules)), *rows)))
    return [Chunk(y, tuple(elements), 7.0, name="what degrees do", source="seen.shots")]
