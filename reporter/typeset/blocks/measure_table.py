"""The measures of a pair as a table, or as a row of short findings under a large pair."""

import math
from collections.abc import Sequence

from reporter.speech import later, say
from reporter.story.report import MeasureRow, Run
from reporter.typeset.boxes import Box, Element, Path, Text, moved
from reporter.typeset.faces import width_of
from reporter.typeset.strokes import state_symbol, tag
from reporter.typeset.style import Style, TypeStep
from reporter.typeset.text import break_lines, label, set_line

ROW = 7.6
HEADER = 6.6
RULE = 0.35
HAIR = 0.15
BETWEEN_FINDINGS = 3.4
BETWEEN_TITLES = 1.8
WORDS = {
    "measure": later("measure"),
    "before": later("before"),
    "after": later("after"),
    "difference": later("difference"),
    "scale": later("both on one scale"),
    "verdict": later("verdict"),
    "value": later("value"),
    "ring": later("before"),
}
TICK = {"deg": 5.0, "%": 10.0, "cm": 2.0}


def measure_table(
    rows: Sequence[MeasureRow], width: float, style: Style, *, single: bool
) -> tuple[Element, float]:
    """Return the table of a pair, or of one frame alone, and its height."""
    head, *body = measure_table_parts(rows, width, style, single=single)
    y = head[1]
    children = [*head[0]]
    for elements, height in body:
        children += [moved(one, 0.0, y) for one in elements]
        y += height
    # Furniture first: text is drawn over the rules.
    children.sort(key=lambda one: one.role != "Artifact")
    return Element("Table", children=tuple(children)), y


def measure_table_parts(
    rows: Sequence[MeasureRow], width: float, style: Style, *, single: bool
) -> list[tuple[list[Element], float]]:
    """Return the head and the rows of the table one by one, each with its height."""
    columns = _Columns(width, with_scale=style.breadth == "wide")
    step, ink, grey = style.step("table"), style.ink, style.secondary
    titles = [(say(WORDS["measure"]), columns.name, "left")]
    if single:
        titles += [(say(WORDS["value"]), columns.after, "right")]
    else:
        room = columns.after - width_of(say(WORDS["after"]), step.face, step.size) - BETWEEN_TITLES
        titles += [
            (say(WORDS["before"]), min(columns.before, room), "right"),
            (say(WORDS["after"]), columns.after, "right"),
            (say(WORDS["difference"]), columns.difference, "right"),
            *([(say(WORDS["scale"]), columns.scale, "left")] if columns.with_scale else []),
            (say(WORDS["verdict"]), columns.verdict, "left"),
        ]
    # Longer words than the scale has room for make its title, and the head, a line higher.
    across = columns.verdict - columns.scale - BETWEEN_TITLES
    scale = break_lines((Run(say(WORDS["scale"])),), step, across)
    lines = len(scale) if columns.with_scale and not single else 1
    high = HEADER + (lines - 1) * step.lead_mm
    base = high - 2.2
    head: list[Box] = [
        Path(((0, 0), (width, 0)), RULE, ink),
        Path(((0, high), (width, high)), RULE, ink),
    ]
    cells = []
    for text, x, align in titles:
        said: list[Text] = []
        if lines > 1 and x == columns.scale:
            for number, one in enumerate(scale, start=1 - lines):
                said += set_line(one, x, base + number * step.lead_mm, step, grey)
        else:
            said.append(label(text, x, base, step, grey, align=align))
        cells.append(Element("TH", tuple(said)))
    parts = [([Element("Artifact", tuple(head)), Element("TR", children=tuple(cells))], high)]
    ranges = _ranges(rows)
    for row in rows:
        cell_list, height = _row(row, 0.0, columns, ranges, style, single)
        rule = Path(((0, height), (width, height)), HAIR, ink)
        parts.append(([Element("Artifact", (rule,)), Element("TR", children=cell_list)], height))
    return parts


class _Columns:
    """Where the columns of the table stand, in millimetres; without the scale they are wider."""

    def __init__(self, width: float, *, with_scale: bool = True) -> None:
        self.name = 7.6
        self.with_scale = with_scale
        self.width = width
        if not with_scale:
            self.before, self.after = 0.395 * width, 0.485 * width
            self.difference = self.scale = self.scale_end = 0.665 * width
            self.verdict = 0.695 * width
            return
        self.before = 0.345 * width
        self.after = 0.420 * width
        self.difference = 0.540 * width
        self.scale = 0.570 * width
        self.scale_end = 0.715 * width
        self.verdict = 0.745 * width


def _row(
    row: MeasureRow,
    y: float,
    columns: _Columns,
    ranges: dict[str, tuple[float, float]],
    style: Style,
    single: bool,
) -> tuple[tuple[Element, ...], float]:
    step, ink = style.step("table"), style.ink
    base = y + ROW / 2 + 1.2 * style.enlarged
    name_width = columns.before - columns.name - 14.0 * style.enlarged
    name_lines = break_lines((Run(row.name),), step, name_width)
    note = f", {row.note}" if row.note else ""
    texts: list[Text] = []
    height = ROW
    verdict_lines = break_lines(
        (Run(row.verdict, bold=True), Run(note)), step, columns.width - columns.verdict
    )
    lines = max(len(name_lines), len(verdict_lines))
    height += (lines - 1) * step.lead_mm
    for number, one in enumerate(name_lines):
        texts += set_line(one, columns.name, base + number * step.lead_mm, step, ink)
    cells = [
        Element("TD", (*tag((2.5, y + ROW / 2), row.number, ink), *texts)),
    ]
    if single:
        cells.append(
            Element(
                "TD", _value_with_error(row.after, row.plus_minus, columns.after, base, step, ink)
            )
        )
        return tuple(cells), height
    before = label(row.before, columns.before, base, step, ink, align="right", tabular=True)
    # Without a value before there is none after either: what stands there is a word.
    after = (
        label(row.after, columns.after, base, step, ink, face="bold", align="right", tabular=True)
        if row.before
        else label(
            row.after, columns.after, base, style.step("note"), style.secondary, align="right"
        )
    )
    cells += [Element("TD", (before,)), Element("TD", (after,))]
    cells.append(
        Element(
            "TD",
            _value_with_error(row.difference, row.plus_minus, columns.difference, base, step, ink),
        )
    )
    if columns.with_scale:
        cells.append(Element("TD", _scale(row, y, columns, ranges, style)))
    verdict: list[Text] = []
    for number, one in enumerate(verdict_lines):
        verdict += set_line(one, columns.verdict, base + number * step.lead_mm, step, ink)
    cells.append(Element("TD", tuple(verdict)))
    return tuple(cells), height


def _value_with_error(
    value: str, error: str, right: float, base: float, step: TypeStep, ink: str
) -> tuple[Text, ...]:
    plus_minus = label(error, right, base, step, ink, align="right", tabular=True)
    strong = label(
        value, plus_minus.x - 1.0, base, step, ink, face="bold", align="right", tabular=True
    )
    return (strong, plus_minus) if error else (strong,)


def _ranges(rows: Sequence[MeasureRow]) -> dict[str, tuple[float, float]]:
    """Return one range for all rows of a kind, reaching to whole ticks."""
    reach: dict[str, list[float]] = {}
    for row in rows:
        if row.values is None:
            continue
        for value, half in row.values:
            reach.setdefault(row.group, []).extend((value - half, value + half))
    ranges = {}
    for group, ends in reach.items():
        tick = _tick(group)
        ranges[group] = (
            math.floor(min(ends) / tick) * tick,
            max(math.ceil(max(ends) / tick) * tick, math.floor(min(ends) / tick) * tick + tick),
        )
    return ranges


def _tick(group: str) -> float:
    return TICK.get(group, 5.0)


def _scale(
    row: MeasureRow,
    y: float,
    columns: _Columns,
    ranges: dict[str, tuple[float, float]],
    style: Style,
) -> tuple[Box, ...]:
    """Ring with dashed whisker above dot with solid whisker, over an axis with ticks."""
    if row.values is None or row.group not in ranges:
        return ()
    low, high = ranges[row.group]
    left, right = columns.scale, columns.scale_end
    factor = (right - left) / (high - low)
    axis = y + ROW - 1.0
    ink = style.ink
    boxes: list[Box] = [Path(((left, axis), (right, axis)), 0.12, style.secondary)]
    tick = _tick(row.group)
    count = round((high - low) / tick)
    step = max(1, count // 12 + (1 if count > 12 else 0))
    for i in range(0, count + 1, step):
        x = left + i * tick * factor
        boxes.append(Path(((x, axis), (x, axis - 0.8)), 0.12, style.secondary))
    for (value, half), height, dash, state in (
        (row.values[0], y + 2.1, (0.8, 0.6), "before"),
        (row.values[1], y + 4.6, (), "after"),
    ):
        x0, x, x1 = (left + (v - low) * factor for v in (value - half, value, value + half))
        boxes.append(Path(((x0, height), (x1, height)), 0.25, ink, dash=dash))
        boxes += [Path(((e, height - 0.6), (e, height + 0.6)), 0.25, ink) for e in (x0, x1)]
        boxes += state_symbol((x, height), state, ink, radius=0.95)
    return tuple(boxes)


def findings(
    rows: Sequence[MeasureRow], width: float, style: Style, *, single: bool, columns: int = 0
) -> tuple[Element, float]:
    """Return measures side by side under a pair, and their height; `columns` of them in a row."""
    columns = columns or max(len(rows), 1)
    cells: list[Element] = []
    height = 0.0
    for start in range(0, len(rows), columns):
        row, row_height = _findings_row(
            rows[start : start + columns], columns, width, style, single
        )
        top = height + (BETWEEN_FINDINGS if start else 0.0)
        cells += [moved(cell, 0.0, top) for cell in row]
        height = top + row_height
    return Element("Div", children=tuple(cells)), height


def _findings_row(
    rows: Sequence[MeasureRow], columns: int, width: float, style: Style, single: bool
) -> tuple[list[Element], float]:
    gap = style.gutter
    column = (width - (columns - 1) * gap) / columns
    table = style.step("table")
    cells = []
    height = 0.0
    for index, row in enumerate(rows):
        x = index * (column + gap)
        text_x = x + 7.6
        room = column - 7.6
        boxes: list[Box] = list(tag((x + 2.5, 2.5), row.number, style.ink))
        y = 3.7
        for one in break_lines((Run(row.name),), table, room):
            boxes += set_line(one, text_x, y, table, style.secondary)
            y += table.lead_mm
        y += 1.9 * style.enlarged
        line_boxes, extra = _change_line(row, text_x, y, room, style, single)
        boxes += line_boxes
        y += extra
        if not single:
            y += 5.2 * style.enlarged
            note = f", {row.note}" if row.note else ""
            for one in break_lines((Run(row.verdict, bold=True), Run(note)), table, room):
                boxes += set_line(one, text_x, y, table, style.ink)
                y += table.lead_mm
            y -= table.lead_mm
        cells.append(Element("P", tuple(boxes)))
        height = max(height, y + 1.5)
    return cells, height


def _change_line(
    row: MeasureRow, x: float, y: float, room: float, style: Style, single: bool
) -> tuple[list[Text], float]:
    """Set "4° → 14°  +10° ±4°", on two lines where one is too short; return the extra height."""
    fact, table = style.step("fact"), style.step("table")
    shown = row.after if single else f"{row.before} → {row.after}" if row.before else ""
    difference = row.plus_minus if single else f"{row.difference} {row.plus_minus}".strip()
    if not shown:
        return [label(difference, x, y, fact, style.ink)], 0.0
    strong = label(shown, x, y, fact, style.ink)
    aside = label(difference, x + strong.width + 1.8, y, table, style.secondary)
    if strong.width + 1.8 + aside.width <= room:
        return [strong, aside], 0.0
    below = label(difference, x, y + table.lead_mm, table, style.secondary)
    return [strong, below], table.lead_mm
