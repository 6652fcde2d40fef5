"""Text that may go on over the page: a label above or before it, lines kept in twos."""

from collections.abc import Sequence

from reporter.story.report import Run
from reporter.typeset.boxes import Box, Element, Path, Role
from reporter.typeset.chunk import Chunk
from reporter.typeset.style import Style, TypeStep
from reporter.typeset.text import break_lines, label, set_line

FIRST_BASELINE = 0.76
"""Distance from the top of a text to its first baseline, in sizes: a little over cap height."""
LINES_KEPT = 2


def line_groups(count: int, *, whole: bool = False) -> list[tuple[int, int]]:
    """Return ranges of lines that stay together: at least two at either end of a page."""
    if whole or count < 2 * LINES_KEPT:
        return [(0, count)]
    inner = list(range(LINES_KEPT, count - LINES_KEPT + 1))
    cuts = [0, *inner, count]
    return list(zip(cuts[:-1], cuts[1:], strict=True))


def flowing(
    runs: Sequence[Run],
    width: float,
    step: TypeStep,
    style: Style,
    *,
    before: float,
    role: Role = "P",
    head: Sequence[tuple[Sequence[Run], TypeStep, str]] = (),
    aside: tuple[str, TypeStep, str] | None = None,
    indent: float = 0.0,
    measure: float = 0.0,
    ink: str = "",
    rule: float = 0.0,
    bar: bool = False,
    whole: bool = False,
    keep_with_next: bool = False,
    follows: bool = False,
    name: str = "text",
    source: str = "",
    key: str = "",
) -> list[Chunk]:
    """Return a text in pieces that may part at the foot of a page.

    Parameters
    ----------
    runs : sequence of Run
        The text.
    width : float
        Room in millimetres; the lines are `measure` wide, if that is given.
    step : TypeStep
        Of the text.
    before : float
        White above the first piece in millimetres.
    head : sequence of (runs, step, ink)
        Lines above the text that stay with its first lines.
    aside : (text, step, ink) or None
        A label in the margin of the first line.
    indent : float
        Of the text's lines, in millimetres.
    rule : float
        Thickness of a line above all of it, in millimetres; 0 for none.
    bar : bool
        Draw an upright bar before the lines.
    whole : bool
        Never part it.
    follows : bool
        It never stands before the piece before it.
    key : str
        Tells this text from others, should it be parted.
    """
    room = (measure or width) - (0.0 if measure else indent)
    lines = break_lines(runs, step, room, hyphens="" if whole else style.hyphens)
    groups = line_groups(len(lines), whole=whole)
    joined = key if len(groups) > 1 else ""
    pieces: list[Chunk] = []
    for first, last in groups:
        boxes: list[Box] = []
        top, above = (2.2 if rule else 0.0) if not first else 0.0, 0.0
        if not first:
            for text, its_step, its_ink in head:
                for one in break_lines(text, its_step, width):
                    y = top + above + its_step.size_mm * FIRST_BASELINE
                    boxes += set_line(one, 0.0, y, its_step, its_ink)
                    above += its_step.lead_mm
        y = top + above + step.size_mm * FIRST_BASELINE
        if aside is not None and not first:
            boxes.append(label(aside[0], 0.0, y, aside[1], aside[2]))
        for one in lines[first:last]:
            boxes += set_line(one, indent, y, step, ink or style.ink)
            y += step.lead_mm
        height = top + above + (last - first) * step.lead_mm
        if bar:
            boxes.insert(0, Path(((1.0, 0), (1.0, height - 1.0)), 0.5, style.brand))
        elements = [Element(role, tuple(boxes), source=source, joins=joined)]
        if rule and not first:
            line = Path(((0, 0), (width, 0)), rule, style.ink)
            elements.insert(0, Element("Artifact", (line,)))
        pieces.append(
            Chunk(
                height,
                tuple(elements),
                before if not first else 0.0,
                keep_with_next=keep_with_next,
                name=name,
                source=source,
                follows=follows or bool(first),
            )
        )
    return pieces
