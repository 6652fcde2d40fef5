"""Both measured lines of a pair from one point, before and after, with their reference."""

import math

from reporter.speech import later, say
from reporter.story.report import Inset, Run
from reporter.typeset.boxes import Box, Element, Path, moved_box
from reporter.typeset.strokes import CHAIN, DASH, dimension_arc, state_symbol
from reporter.typeset.style import Style
from reporter.typeset.text import label, paragraph

SHORTEST_INSET = 10.0
WORDS = {"plumb": later("plumb"), "level": later("level")}


def inset_elements(
    inset: Inset, x: float, y: float, width: float, height: float, style: Style
) -> list[Element]:
    """Draw both measured lines from one point, with the reference and their difference."""
    caption, table = style.step("caption"), style.step("table")
    title, base = paragraph((Run(inset.caption),), x, y + 2.6, width, caption, style.ink)
    top = base - caption.lead_mm + 6.0
    words, words_end = paragraph((Run(inset.label, bold=True),), x, 0, width, table, style.ink)
    below = 6.5 * style.enlarged + (style.enlarged - 1.0) * 4.0
    length = min(height - (top - y) - below + 2.5 - words_end, width * 0.62, 46.0)
    if length < SHORTEST_INSET:
        return []
    before, after = math.radians(inset.before_degrees), math.radians(inset.after_degrees)
    # The point all lines share: low for lines that rise, placed so that both stay in the column.
    side = math.sin((before + after) / 2)
    rises = abs(math.cos((before + after) / 2)) > 0.5
    origin_x = x + (width * 0.5 if rises else (width * 0.78 if side < 0 else width * 0.16))
    origin_x -= side * length * 0.25 if rises else 0.0
    origin = (origin_x, top + length)
    ink = style.ink
    boxes: list[Box] = []
    if inset.reference == "plumb":
        end = (origin[0], origin[1] - length * 1.04)
        word = label(
            say(WORDS["plumb"]),
            origin[0] + (2.0 if side < 0 else -2.0),
            end[1] + 2.4,
            style.step("note"),
            style.secondary,
            align="left" if side < 0 else "right",
        )
    else:
        reach = length * 1.04 * (1 if side >= 0 else -1)
        end = (origin[0] + reach, origin[1])
        word = label(
            say(WORDS["level"]),
            end[0],
            origin[1] + 3.6 * style.enlarged,
            style.step("note"),
            style.secondary,
            align="right" if side >= 0 else "left",
        )
    boxes.append(Path((origin, end), 0.25, ink, dash=CHAIN))
    boxes.append(word)
    tips = []
    for angle, state in ((before, "before"), (after, "after")):
        tip = (origin[0] + length * math.sin(angle), origin[1] - length * math.cos(angle))
        tips.append(tip)
        boxes.append(Path((origin, tip), 0.5, ink, dash=DASH if state == "before" else ()))
    radius = length * 0.72
    if abs(before - after) * radius > 0.9:
        arc = dimension_arc(
            origin, radius, before - math.pi / 2, after - math.pi / 2, ink, cased=False
        )
        boxes += arc.cores
    boxes += state_symbol(tips[0], "before", ink)
    boxes += state_symbol(tips[1], "after", ink)
    boxes += state_symbol(origin, "after", ink, radius=0.7)
    boxes += [moved_box(word, 0, origin[1] + below) for word in words]
    return [Element("P", title), Element("Figure", tuple(boxes), alt=inset.label)]
