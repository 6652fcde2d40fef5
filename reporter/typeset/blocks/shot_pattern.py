"""The student's shots: plan and shares side by side, and what two degrees do as a table."""

from reporter.story.report import DegreesTable, Run, ShotPicture
from reporter.typeset.blocks.flowing import flowing
from reporter.typeset.blocks.share_chart import chart_heights, share_chart
from reporter.typeset.blocks.shot_plan import plan_of_landings
from reporter.typeset.boxes import Box, Element, Path, moved
from reporter.typeset.chunk import Chunk, Flexible, Piece
from reporter.typeset.faces import width_of
from reporter.typeset.style import Style, TypeStep
from reporter.typeset.text import bolder, break_lines, label, paragraph

HEADING_BASELINE, HEADING = 3.9, 7.4
PLAN_SHARE = 0.585
BETWEEN_COLUMNS = 8.0
BETWEEN_CHARTS = 7.0
LEAST_PLAN, MOST = 92.0, 176.0
LEAST_PLAN_ALONE, MOST_PLAN_ALONE = 84.0, 118.0
ROW, HEADER = 7.6, 6.6
FIRST_COLUMN, BETWEEN_CELLS = 0.30, 1.0


def shot_picture_pieces(block: ShotPicture, width: float, style: Style) -> list[Piece]:
    """Return plan and shares side by side as one piece that takes what height there is."""
    if style.breadth != "wide":
        return _below_each_other(block, width, style)
    plan_width = PLAN_SHARE * width
    chart_x = plan_width + BETWEEN_COLUMNS
    least_charts = sum(
        chart_heights(chart, width - chart_x, style)[0] for chart in block.charts
    ) + BETWEEN_CHARTS * (len(block.charts) - 1)
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


def _below_each_other(block: ShotPicture, width: float, style: Style) -> list[Piece]:
    """Return the plan, then each chart, for a column too narrow for both."""
    words = (block.heading, block.aside)
    top = _heading_height(words, width, style)

    def make(room: float) -> Chunk:
        elements = _heading(words, 0.0, 0.0, style, width)
        boxes = plan_of_landings(block, width, room - top, style)
        figure = Element("Figure", boxes, alt=block.alt, source="seen.shots")
        elements.append(moved(figure, 0.0, top))
        return Chunk(room, tuple(elements), 6.0, name="shot pattern", source="seen.shots")

    pieces: list[Piece] = [
        Flexible(LEAST_PLAN_ALONE, MOST_PLAN_ALONE, make, 6.0, "shot pattern", "seen.shots")
    ]
    for chart in block.charts:
        _, height = chart_heights(chart, width, style)
        parts = tuple(share_chart(chart, width, height, style))
        pieces.append(
            Chunk(
                height,
                parts,
                7.0,
                name="shot pattern",
                source="seen.shots",
                follows=True,
                begins=True,
            )
        )
    if block.more:
        step, caption = style.step("table"), style.step("caption")
        heading = style.step("subheading")
        pieces += flowing(
            (Run(block.more_heading),),
            width,
            heading,
            style,
            before=7.0,
            role="H2",
            whole=True,
            keep_with_next=True,
            name="shot pattern",
        )
        for index, (name, text) in enumerate(block.more):
            pieces += flowing(
                (Run(text),),
                width,
                step,
                style,
                before=2.0,
                head=[((Run(name),), caption, style.ink)],
                ink=style.secondary,
                rule=0.15,
                name="shot pattern",
                follows=True,
                key=f"more {id(block)} {index}",
            )
    return pieces


def _beside(words: tuple[str, str], width: float, style: Style) -> bool:
    """Whether a heading's aside stands beside it."""
    heading, aside = style.step("subheading"), style.step("table")
    taken = width_of(words[0], heading.face, heading.size) + 2.6
    return taken + width_of(words[1], aside.face, aside.size) <= width


def _heading_height(words: tuple[str, str], width: float, style: Style) -> float:
    grown = HEADING * style.enlarged
    if not words[1] or _beside(words, width, style):
        return grown
    aside = style.step("table")
    return grown + len(break_lines((Run(words[1]),), aside, width)) * aside.lead_mm


def _heading(
    words: tuple[str, str], x: float, y: float, style: Style, width: float = 0.0
) -> list[Element]:
    step = style.step("subheading")
    heading = label(words[0], x, y + HEADING_BASELINE, step, style.ink)
    if not words[1]:
        return [Element("H2", (heading,))]
    if width and not _beside(words, width, style):
        table = style.step("table")
        text, _ = paragraph(
            (Run(words[1]),),
            x,
            y + HEADING_BASELINE + 1.1 * table.lead_mm,
            width,
            table,
            style.secondary,
        )
        return [Element("H2", (heading,)), Element("P", text)]
    right = x + heading.width + 2.6
    aside = label(words[1], right, y + HEADING_BASELINE, style.step("table"), style.secondary)
    return [Element("H2", (heading,)), Element("P", (aside,))]


def _charts(block: ShotPicture, x: float, width: float, room: float, style: Style) -> list[Element]:
    """Return the charts under each other; what height is left over is shared by their rows."""
    heights = [chart_heights(chart, width, style) for chart in block.charts]
    leasts, mosts = [low for low, _ in heights], [high for _, high in heights]
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
    """Return the table under its heading, in one piece; as a list where it has too little room."""
    table = style.step("table")
    if style.breadth == "narrow" or not _columns_fit(block, width, table):
        return _degrees_list(block, width, style)
    words = (block.heading, block.aside)
    elements = _heading(words, 0.0, 0.0, style, width)
    y = _heading_height(words, width, style) - 0.6
    xs = _column_edges(block, width)
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


def _column_edges(block: DegreesTable, width: float) -> list[float]:
    count = len(block.columns)
    first = FIRST_COLUMN * width
    inner = (width - first) / max(count - 1, 1)
    return [0.0, *(first + index * inner for index in range(count - 1))]


def _columns_fit(block: DegreesTable, width: float, step: TypeStep) -> bool:
    """Tell whether every cell is narrower than its column; long words may not be."""
    xs = [*_column_edges(block, width), width + BETWEEN_CELLS]
    strong = bolder(step.face)
    return all(
        width_of(text, step.face if index or row is block.columns else strong, step.size)
        <= xs[index + 1] - xs[index] - BETWEEN_CELLS
        for row in (block.columns, *block.rows)
        for index, text in enumerate(row)
    )


def _degrees_list(block: DegreesTable, width: float, style: Style) -> list[Piece]:
    """Return each change as a strong line, what it does below it."""
    table, caption = style.step("table"), style.step("caption")
    words = (block.heading, block.aside)
    pieces: list[Piece] = [
        Chunk(
            _heading_height(words, width, style) - 2.0,
            tuple(_heading(words, 0.0, 0.0, style, width)),
            7.0,
            keep_with_next=True,
            name="what degrees do",
            source="seen.shots",
        )
    ]
    for index, row in enumerate(block.rows):
        said = [f"{name}: {text}" for name, text in zip(block.columns[1:], row[1:], strict=True)]
        pieces += flowing(
            (Run("\n".join(said)),),
            width,
            table,
            style,
            before=2.4,
            head=[((Run(row[0]),), caption, style.ink)],
            rule=0.15,
            name="what degrees do",
            source="seen.shots",
            follows=True,
            key=f"degrees {id(block)} {index}",
        )
    return pieces
