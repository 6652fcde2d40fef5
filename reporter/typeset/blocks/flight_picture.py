"""The flight on one half sheet: from above, face and path, the nine shapes, and from the side."""

from dataclasses import dataclass

from reporter.speech import say
from reporter.story.report import FlightPicture, Run
from reporter.typeset.blocks import (
    face_and_path,
    flight_above,
    flight_side,
    nine_shapes,
    plan_frame,
)
from reporter.typeset.blocks.plan_frame import farthest
from reporter.typeset.boxes import Box, Element, Text, moved
from reporter.typeset.chunk import Chunk, Flexible, Piece
from reporter.typeset.faces import width_of
from reporter.typeset.style import Style
from reporter.typeset.text import break_lines, label, paragraph

HEADING_BASELINE = 3.9
HEADING = 6.6
SECOND_LINE = 4.4
BETWEEN = 8.0
BEFORE_SENTENCE = 6.0
BESIDE = 6.0
LEAST_RIGHT = 76.0
LARGEST_SCALE = 4.0
LEAST_SCALE = 0.1
LEAST_PLOT, LEAST_SHAPES = 42.0, 29.0
TALLEST_SHAPES, TALLEST_SHAPES_ALONE = 44.0, 125.0
BEFORE_ASIDE = 2.6
PLOT_SHARE, MOST_PLOT = 0.86, 90.0
LEAST_PLOT_SHARE, MOST_PLOT_SHARE = 0.8, 1.5
ABOVE_ALONE = (74.0, 116.0)
LEFT_OUT = "left out of this paper, too narrow for it: the drawing {part}"


@dataclass(frozen=True, slots=True)
class Arrangement:
    """Scale and division of the block, in millimetres: what `arrange` decides."""

    scale: float
    right_x: float
    right_width: float
    plot_height: float
    shapes_height: float
    upper_height: float
    height: float


def flight_picture(block: FlightPicture, width: float, height: float, style: Style) -> list[Chunk]:
    """Return the whole picture as one chunk that fills a room of so many millimetres.

    The two views share one scale, the largest at which all parts fit. Where face and path are
    not known their plot is left out. About 150 mm is the least height that holds all parts well.

    Parameters
    ----------
    block : FlightPicture
        At least one flight with its points.
    width, height : float
        Room on the page, in millimetres.
    """
    plan = arrange(block, width, height, style)
    frame = plan_frame.plan_frame(block, plan.scale, style)
    elements = _part(
        (say(plan_frame.WORDS["heading"]), ""),
        flight_above.view_from_above(block, frame, style),
        block.alt_above,
        0.0,
        0.0,
        frame.width,
        style,
    )
    y = 0.0
    if block.regions:
        words = _plot_words(block)
        plot = face_and_path.face_and_path(block, plan.right_width, plan.plot_height, style)
        alt = block.alt_face_path
        elements += _part(words, plot, alt, plan.right_x, y, plan.right_width, style)
        y += _heading(words, plan.right_width, style) + plan.plot_height + BETWEEN
    own = "" if block.shape is None else say(nine_shapes.WORDS["own"])
    words = (say(nine_shapes.WORDS["heading"]), own)
    shapes = nine_shapes.nine_shapes(block, plan.right_width, plan.shapes_height, style)
    elements += _part(words, shapes, block.alt_shapes, plan.right_x, y, plan.right_width, style)
    y += HEADING + plan.shapes_height + BEFORE_SENTENCE
    sentence, _ = _sentence(block, plan.right_x, y, plan.right_width, style)
    elements += sentence
    side = flight_side.view_from_side(block, plan.scale, width, style)
    side_y = plan.upper_height + BETWEEN
    words = (say(flight_side.WORDS["heading"]), say(flight_side.WORDS["scale"]))
    elements += _part(words, side, block.alt_side, 0.0, side_y, width, style)
    return [Chunk(plan.height, tuple(elements), space_before=7.0, name="flight", source="flight")]


def stacked_parts(
    block: FlightPicture, width: float, style: Style, warnings: list[str]
) -> list[Piece]:
    """Return the parts below each other, for a column too narrow for two of them.

    A part that the column does not hold is left out and named in `warnings`.
    """
    pieces: list[Piece] = []
    parts = style.flight.parts
    if "above" in parts:
        frame = plan_frame.plan_frame(block, LEAST_SCALE, style)
        if frame.width > width:
            warnings.append(LEFT_OUT.format(part=plan_frame.WORDS["heading"].lower()))
        else:
            pieces.append(_above_alone(block, width, style))
    if "face-and-path" in parts and block.regions:
        height = min(PLOT_SHARE * width, MOST_PLOT)
        if _inside(face_and_path.face_and_path(block, width, height, style), width):
            pieces.append(_plot_alone(block, width, height, style))
        else:
            warnings.append(LEFT_OUT.format(part=face_and_path.WORDS["heading"].lower()))
    if "shapes" in parts:
        pieces += _shapes_alone(block, width, style, warnings)
    if "side" in parts:
        scale = min((width - 9.0) / farthest(block), LARGEST_SCALE)
        height = flight_side.side_height(block, scale)
        boxes = flight_side.view_from_side(block, scale, width, style)
        words = (say(flight_side.WORDS["heading"]), "")
        made = _part(words, boxes, block.alt_side, 0.0, 0.0, width, style)
        pieces.append(_chunk(made, HEADING + height))
    return pieces


def _chunk(elements: list[Element], height: float) -> Chunk:
    return Chunk(
        height,
        tuple(elements),
        space_before=7.0,
        name="flight",
        source="flight",
        follows=True,
        begins=True,
    )


def _inside(boxes: tuple[Box, ...], width: float) -> bool:
    """Whether every upright text lies between the column's edges."""
    texts = [box for box in boxes if isinstance(box, Text) and not box.angle]
    return all(box.x >= -0.5 and box.x + box.width <= width + 0.5 for box in texts)


def _above_alone(block: FlightPicture, width: float, style: Style) -> Piece:
    def make(room: float) -> Chunk:
        low, high = LEAST_SCALE, LARGEST_SCALE
        for _ in range(14):
            middle = (low * high) ** 0.5
            frame = plan_frame.plan_frame(block, middle, style)
            fits = frame.width <= width and HEADING + frame.height <= room
            low, high = (middle, high) if fits else (low, middle)
        frame = plan_frame.plan_frame(block, low, style)
        words = (say(plan_frame.WORDS["heading"]), "")
        boxes = flight_above.view_from_above(block, frame, style)
        made = _part(words, boxes, block.alt_above, 0.0, 0.0, width, style)
        height = HEADING + frame.height
        # What the flight does not need beside it is white on both sides.
        shift = (width - frame.width) / 2
        figure = [moved(one, shift, 0.0) if one.role == "Figure" else one for one in made]
        return _chunk(figure, min(height, room) if height < room - 1.0 else room)

    least, most = ABOVE_ALONE
    return Flexible(least, most, make, 7.0, "flight", "flight")


def _plot_alone(block: FlightPicture, width: float, height: float, style: Style) -> Piece:
    words = _plot_words(block)
    top = _heading(words, width, style)

    def make(room: float) -> Chunk:
        boxes = face_and_path.face_and_path(block, width, room - top, style)
        return _chunk(_part(words, boxes, block.alt_face_path, 0.0, 0.0, width, style), room)

    least, most = top + LEAST_PLOT_SHARE * height, top + MOST_PLOT_SHARE * height
    return Flexible(least, most, make, 7.0, "flight", "flight", follows=True, begins=True)


def _shapes_alone(
    block: FlightPicture, width: float, style: Style, warnings: list[str]
) -> list[Piece]:
    own = "" if block.shape is None else say(nine_shapes.WORDS["own"])
    words = (say(nine_shapes.WORDS["heading"]), own)
    height = nine_shapes.HEIGHT_FOR_ROWS if width < LEAST_RIGHT + 20.0 else TALLEST_SHAPES
    boxes = nine_shapes.nine_shapes(block, width, height, style)
    if not _inside(boxes, width):
        warnings.append(LEFT_OUT.format(part=nine_shapes.WORDS["heading"].lower()))
        return []
    top = _heading(words, width, style)
    made = _part(words, boxes, block.alt_shapes, 0.0, 0.0, width, style)
    sentence, extra = _sentence(block, 0.0, top + height + BEFORE_SENTENCE, width, style)
    made += sentence
    return [_chunk(made, top + height + (BEFORE_SENTENCE + extra if extra else 0.0))]


def arrange(block: FlightPicture, width: float, height: float, style: Style) -> Arrangement:
    """Choose the scale and the division between the plan and what stands beside it."""
    scale = _largest_scale(block, width, height, style)
    frame = plan_frame.plan_frame(block, scale, style)
    right_x = _right_x(frame, width, style)
    right_width = width - right_x

    side_total = HEADING + flight_side.side_height(block, scale)
    plan_total = HEADING + frame.height
    room = max(plan_total, height - BETWEEN - side_total)
    fixed = _fixed_height(block, right_width, style)
    if block.regions:
        flexible = room - fixed
        shapes = min(TALLEST_SHAPES, max(LEAST_SHAPES, 0.37 * flexible))
        plot = min(0.80 * right_width, max(LEAST_PLOT, flexible - shapes))
    else:
        shapes = min(TALLEST_SHAPES_ALONE, max(LEAST_SHAPES, room - fixed))
        plot = 0.0
    upper = max(plan_total, fixed + shapes + plot)
    return Arrangement(
        scale=scale,
        right_x=right_x,
        right_width=right_width,
        plot_height=plot,
        shapes_height=shapes,
        upper_height=upper,
        height=upper + BETWEEN + side_total,
    )


def _right_x(frame: plan_frame.PlanFrame, width: float, style: Style) -> float:
    """Return where the parts beside the plan begin: past it and past a third of the width."""
    return max((width - 2 * style.gutter) / 3, frame.width) + BESIDE


def _fixed_height(block: FlightPicture, right_width: float, style: Style) -> float:
    """Return what stands beside the plan takes in height without the plot and the shapes."""
    _, sentence = _sentence(block, 0.0, 0.0, right_width, style)
    fixed = HEADING + (BEFORE_SENTENCE + sentence if sentence else 0.0)
    if block.regions:
        fixed += _heading(_plot_words(block), right_width, style) + BETWEEN
    return fixed


def _largest_scale(block: FlightPicture, width: float, height: float, style: Style) -> float:
    """Return the largest scale in millimetres a metre at which all parts fit."""

    def fits(scale: float) -> bool:
        frame = plan_frame.plan_frame(block, scale, style)
        right_width = width - _right_x(frame, width, style)
        if right_width < LEAST_RIGHT or flight_side.side_reach(block, scale) > width:
            return False
        beside = _fixed_height(block, right_width, style) + LEAST_SHAPES
        beside += LEAST_PLOT if block.regions else 0.0
        upper = max(HEADING + frame.height, beside)
        return upper + BETWEEN + HEADING + flight_side.side_height(block, scale) <= height

    low, high = LEAST_SCALE, LARGEST_SCALE
    for _ in range(14):
        middle = (low * high) ** 0.5
        low, high = (middle, high) if fits(middle) else (low, middle)
    # The room for the dimension steps a little with the scale, so the last word is a look.
    while low > LEAST_SCALE and not fits(low):
        low *= 0.99
    return low


def _plot_words(block: FlightPicture) -> tuple[str, str]:
    return (
        say(face_and_path.WORDS["heading"]),
        say(face_and_path.WORDS["strip"]) if block.corridor else "",
    )


def _aside_fits(words: tuple[str, str], width: float, style: Style) -> bool:
    heading, aside = style.step("subheading"), style.step("table")
    total = width_of(words[0], heading.face, heading.size) + BEFORE_ASIDE
    return total + width_of(words[1], aside.face, aside.size) <= width


def _heading(words: tuple[str, str], width: float, style: Style) -> float:
    """Return the height of a heading: one line, or two where its aside does not fit beside it."""
    if _aside_fits(words, width, style):
        return HEADING
    table = style.step("table")
    lines = len(break_lines([Run(words[1])], table, width))
    return HEADING + SECOND_LINE * style.enlarged + (lines - 1) * table.lead_mm


def _part(
    words: tuple[str, str],
    boxes: tuple[Box, ...],
    alt: str,
    x: float,
    y: float,
    width: float,
    style: Style,
) -> list[Element]:
    """Return a heading with a quiet aside, and its figure, from the top left corner (x, y)."""
    step = style.step("subheading")
    heading = label(words[0], x, y + HEADING_BASELINE, step, style.ink)
    figure = Element("Figure", boxes=boxes, alt=alt, source="flight")
    elements = [Element("H2", boxes=(heading,))]
    if words[1]:
        beside = _aside_fits(words, width, style)
        aside_x = x + heading.width + BEFORE_ASIDE if beside else x
        aside_y = y + HEADING_BASELINE + (0.0 if beside else SECOND_LINE * style.enlarged)
        room = x + width - aside_x
        aside, _ = paragraph(
            [Run(words[1])], aside_x, aside_y, room + 0.5, style.step("table"), style.secondary
        )
        elements.append(Element("P", boxes=aside))
    return [*elements, moved(figure, x, y + _heading(words, width, style))]


def _sentence(
    block: FlightPicture, x: float, y: float, width: float, style: Style
) -> tuple[list[Element], float]:
    """Return the sentence on the shape with its first baseline at `y`, and its height."""
    if not block.shape_text:
        return [], 0.0
    step = style.step("body")
    boxes, after = paragraph([Run(block.shape_text)], x, y, width, step, style.ink)
    return [Element("P", boxes=boxes, source="flight")], after - y - step.lead_mm + 1.2
