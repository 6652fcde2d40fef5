"""The flight from the side, at the scale of the view from above."""

import math

from reporter.speech import later
from reporter.story.report import FlightPicture
from reporter.typeset.blocks.flight_above import (
    FLIGHT_WIDTH,
    LEADER_WIDTH,
    flight_line,
)
from reporter.typeset.blocks.label_places import (
    Obstacles,
    Place,
    best_place,
    lettering,
    letters_rect,
)
from reporter.typeset.blocks.plan_frame import farthest, landing, tick_step, tick_text
from reporter.typeset.boxes import XY, Box, Path
from reporter.typeset.strokes import dimension_line, state_symbol
from reporter.typeset.style import Style
from reporter.typeset.text import label

WORDS = {"heading": later("From the side"), "scale": later("same scale")}

BELOW_GROUND = 5.2
ABOVE_APEX = 1.0
LEFT = FLIGHT_WIDTH
LEAST_DIMENSION = 6.5


def highest(block: FlightPicture) -> float:
    """Return how high the flights reach, in metres."""
    return max(max(point[2] for point in curve.points) for curve in block.curves)


def side_height(block: FlightPicture, scale: float) -> float:
    """Return the height in millimetres of the view from the side at a scale."""
    apex = highest(block) * scale
    # The label of a low flight stands above it.
    return ABOVE_APEX + apex + (5.5 if apex < LEAST_DIMENSION else 0.0) + BELOW_GROUND


def side_reach(block: FlightPicture, scale: float) -> float:
    """Return the least width in millimetres that the view from the side takes at a scale."""
    return LEFT + farthest(block) * scale + 8.0


def view_from_side(
    block: FlightPicture, scale: float, width: float, style: Style
) -> tuple[Box, ...]:
    """Draw the flights from the side; the top left corner is (0, 0).

    Parameters
    ----------
    scale : float
        Millimetres on paper for a metre, in both directions.
    width : float
        Room across, in millimetres.
    """
    ground = side_height(block, scale) - BELOW_GROUND
    note = style.step("note")

    def place(down: float, up: float) -> XY:
        return (LEFT + down * scale, ground - up * scale)

    per_tick = tick_step(block, scale) * block.unit_length * scale
    far = farthest(block) * scale
    last = math.ceil((far + 1.5) / per_tick)
    room = width - LEFT
    end = last * per_tick if last * per_tick + 7.0 <= room else min(far + 6.0, room)
    boxes: list[Box] = [Path(((0.0, ground), (LEFT + end, ground)), 0.35, style.ink)]
    obstacles = Obstacles((0.0, 0.0, width, ground - 0.6))
    obstacles.lines.append((((0.0, ground), (LEFT + end, ground)), 9.0))
    for number in range(last + 1):
        x = LEFT + number * per_tick
        if x > LEFT + end + 1e-6:
            break
        boxes.append(Path(((x, ground), (x, ground + 1.2)), 0.2, style.ink))
        text = tick_text(number * tick_step(block, scale), block.unit)
        boxes.append(
            label(
                text,
                x if number else 0.0,
                ground + BELOW_GROUND - 0.8,
                note,
                style.secondary,
                align="centre" if number else "left",
            )
        )
    for curve in reversed(block.curves):
        points = tuple(place(x, z) for x, _, z in curve.points)
        ink = style.ink if curve.state == "wanted" else style.brand
        boxes += flight_line(points, curve.state, ink)
        obstacles.add_line(points, 12.0)
    boxes += _apex(block, scale, ground, style, obstacles)
    for curve in reversed(block.curves):
        ink = style.ink if curve.state == "wanted" else style.brand
        boxes += state_symbol(place(landing(curve)[0], 0.0), curve.state, ink)
    return tuple(boxes)


def _apex(
    block: FlightPicture, scale: float, ground: float, style: Style, obstacles: Obstacles
) -> list[Box]:
    """Draw the height of the first flight's highest point, with its words."""
    down, _, up = max(block.curves[0].points, key=lambda point: point[2])
    top = (LEFT + down * scale, ground - up * scale)
    foot = (top[0], ground)
    boxes: list[Box] = []
    dimensioned = up * scale >= LEAST_DIMENSION
    if dimensioned:
        tip = (top[0], top[1] + FLIGHT_WIDTH / 2)
        boxes += dimension_line(foot, tip, style.ink, cased=False).boxes
        obstacles.lines.append(((foot, top), 20.0))
    words = lettering(block.apex_label, style.step("note"), 60.0)
    places = []
    for tenths in range(0, 11):
        middle = ground - (up * scale) * tenths / 10
        for x, cost in ((top[0] + 1.6, 0.0), (top[0] - 1.6 - words.width, 0.5)):
            rect = (x, middle - words.height / 2, x + words.width, middle + words.height / 2)
            places.append(Place(rect, None, cost + 0.3 * abs(tenths - 4)))
    highest_y = ground - highest(block) * scale
    for x in (top[0] - words.width / 2, 0.0, top[0]):
        rect = (x, highest_y - 1.4 - words.height, x + words.width, highest_y - 1.4)
        leader = None if dimensioned else ((top[0], rect[3] + 0.3), (top[0], top[1] - 0.5))
        places.append(Place(rect, leader, 2.0))
    best = best_place(places, obstacles)
    if best.leader:
        boxes.append(Path(best.leader, LEADER_WIDTH, style.ink))
    texts = words.set(best.rect[0], best.rect[1], style.ink, "left")
    obstacles.texts += [letters_rect(text) for text in texts]
    return [*boxes, *texts]
