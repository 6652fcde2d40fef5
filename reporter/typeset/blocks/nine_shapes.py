"""The nine flights that start and bend tell apart, as small plans, the student's own inked."""

from reporter.speech import later, say
from reporter.story.report import FlightPicture
from reporter.typeset.blocks.label_places import lettering
from reporter.typeset.boxes import XY, Box, Face, Path
from reporter.typeset.strokes import state_symbol
from reporter.typeset.style import Style
from reporter.typeset.text import label

WORDS = {
    "heading": later("The nine flights"),
    "own": later("yours inked"),
    "starts left": later("starts left"),
    "on line": later("on line"),
    "starts right": later("starts right"),
    "bends left": later("bends left"),
    "no bend": later("no bend"),
    "bends right": later("bends right"),
}
GROUPS = ("starts left", "on line", "starts right")
ROWS = ("bends left", "no bend", "bends right")

ABOVE = 1.6
BELOW = 11.6
BETWEEN_GROUPS = 3.0
# How far start and bend carry the end of a small flight, as shares of its cell's width.
START = 0.17
BEND = 0.30
PLAIN_WIDTH = 0.4
INKED_WIDTH = 0.85
INKED_DASH = (2.1, 0.9)
NUMBER_BELOW = 4.0
# No flight leaves more than this share of its height aside, so that rows and columns look alike.
MOST_ACROSS = 0.62
# Symbols at the ends of the outermost flights stay inside the row.
ACROSS = 0.86
HEIGHT_FOR_ROWS = 78.0


def start_and_bend(number: int) -> tuple[int, int]:
    """Return start and bend of a shape from 1 to 9: -1 left, 0 none, 1 right.

    Raises
    ------
    ValueError
        If there is no such shape.
    """
    if not 1 <= number <= 9:
        message = f"a flight has a shape from 1 to 9, not {number}"
        raise ValueError(message)
    return (number - 1) // 3 - 1, (number - 1) % 3 - 1


def small_flight(number: int, foot: XY, height: float, across: float) -> tuple[XY, ...]:
    """Return the points of a shape's small plan, from its foot up, the target straight above.

    ``across`` is the width in millimetres that the nine together would take on one foot.
    """
    start, bend = start_and_bend(number)
    return tuple(
        (
            foot[0] + across * (START * start * share + BEND * bend * share**2),
            foot[1] - height * share,
        )
        for share in (step / 20 for step in range(21))
    )


def nine_shapes(block: FlightPicture, width: float, height: float, style: Style) -> tuple[Box, ...]:
    """Draw the nine small plans in a room of so many millimetres from (0, 0).

    They stand in one row; in a tall room in three rows, one for each bend.
    """
    if height >= HEIGHT_FOR_ROWS:
        return _in_three_rows(block, width, height, style)
    cell = (width - 2 * BETWEEN_GROUPS) / 9
    foot_y = height - BELOW
    tall = foot_y - ABOVE
    plain: list[Box] = []
    inked: list[Box] = []
    for number in range(1, 10):
        x = (number - 0.5) * cell + (number - 1) // 3 * BETWEEN_GROUPS
        own = number == block.shape
        (inked if own else plain).extend(
            _one(block, number, (x, foot_y), tall, min(ACROSS * cell, MOST_ACROSS * tall), style)
        )
    for group, word in enumerate(GROUPS):
        left = group * (3 * cell + BETWEEN_GROUPS)
        plain += _bracket(word, left, left + 3 * cell, foot_y + 6.6, style)
    return (*plain, *inked)


def _in_three_rows(
    block: FlightPicture, width: float, height: float, style: Style
) -> tuple[Box, ...]:
    """Draw one row a bend and one column a start; the rows are named on the right."""
    note = style.step("note")
    names = [lettering(say(WORDS[word]), note, 16.0) for word in ROWS]
    name_width = max(name.width for name in names) + 3.0
    cell = (width - name_width - 2 * BETWEEN_GROUPS) / 3
    row = (height - BELOW + NUMBER_BELOW) / 3
    tall = row - NUMBER_BELOW - ABOVE - 2.0
    plain: list[Box] = []
    inked: list[Box] = []
    for number in range(1, 10):
        column, line = (number - 1) // 3, (number - 1) % 3
        x = (column + 0.5) * cell + column * BETWEEN_GROUPS
        foot = (x, line * row + ABOVE + tall)
        own = number == block.shape
        (inked if own else plain).extend(
            _one(block, number, foot, tall, min(ACROSS * cell, MOST_ACROSS * tall), style)
        )
    for line, name in enumerate(names):
        top = line * row + ABOVE + (tall - name.height) / 2
        left = 3 * cell + 2 * BETWEEN_GROUPS + 3.0
        plain += name.set(left, top, style.secondary, "left")
    foot_y = 2 * row + ABOVE + tall
    for column, word in enumerate(GROUPS):
        left = column * (cell + BETWEEN_GROUPS)
        plain += _bracket(word, left, left + cell, foot_y + 6.6, style)
    return (*plain, *inked)


def _one(
    block: FlightPicture, number: int, foot: XY, tall: float, across: float, style: Style
) -> list[Box]:
    """Return one small plan over its number, in the brand's ink if it is the student's."""
    note = style.step("note")
    own = number == block.shape
    line = small_flight(number, foot, tall, across)
    boxes: list[Box] = [Path((foot, (foot[0], foot[1] - tall)), 0.15, style.hairline)]
    if own:
        state = block.curves[0].state
        dash = INKED_DASH if state == "before" else ()
        boxes.append(Path(line, INKED_WIDTH, style.brand, dash=dash))
        boxes += state_symbol(line[-1], state, style.brand)
    else:
        boxes.append(Path(line, PLAIN_WIDTH, style.secondary))
    ink = style.brand if own else style.secondary
    number_y = foot[1] + NUMBER_BELOW
    face: Face = "bold" if own else "regular"
    boxes.append(label(str(number), foot[0], number_y, note, ink, face=face, align="centre"))
    return boxes


def _bracket(word: str, left: float, right: float, y: float, style: Style) -> list[Box]:
    points = ((left, y - 0.9), (left, y), (right, y), (right, y - 0.9))
    note = style.step("note")
    text = label(
        say(WORDS[word]), (left + right) / 2, y + 3.9, note, style.secondary, align="centre"
    )
    return [Path(points, 0.2, style.secondary, round_join=False), text]
