"""A hazard in the view from above: a hatched block that stays plain in grey, and its name."""

from reporter.story.report import FlightPicture, HazardBlock
from reporter.typeset.blocks.label_places import (
    Obstacles,
    Place,
    best_place,
    lettering,
    letters_rect,
)
from reporter.typeset.blocks.plan_frame import HAZARD_LENGTH, HAZARD_WIDTH, PlanFrame
from reporter.typeset.boxes import XY, Box, Path
from reporter.typeset.strokes import WHITE
from reporter.typeset.style import Style

HATCH_APART = 1.3
HATCH_WIDTH = 0.18
EDGE_WIDTH = 0.3
WIDEST_NAME = 24.0


def hazard_boxes(
    block: FlightPicture, frame: PlanFrame, style: Style, obstacles: Obstacles
) -> list[Box]:
    """Draw the hazard, hatched from its lower left to its upper right."""
    if block.hazard is None:
        return []
    left, top, right, bottom = _rect(block.hazard, frame)
    corners = ((left, top), (right, top), (right, bottom), (left, bottom))
    boxes: list[Box] = [Path(corners, 0.0, WHITE, closed=True, fill=WHITE)]
    boxes += [Path(line, HATCH_WIDTH, style.secondary) for line in _hatch(left, top, right, bottom)]
    boxes.append(Path(corners, EDGE_WIDTH, style.ink, closed=True))
    obstacles.texts.append((left, top, right, bottom))
    return boxes


def hazard_name(
    block: FlightPicture, frame: PlanFrame, style: Style, obstacles: Obstacles
) -> list[Box]:
    """Write the hazard's name beside, below or above it, where there is room."""
    if block.hazard is None:
        return []
    left, top, right, bottom = _rect(block.hazard, frame)
    words = lettering(block.hazard.label, style.step("note"), WIDEST_NAME)
    middle = (left + right - words.width) / 2
    beside = (top + bottom - words.height) / 2
    spots = [(right + 1.2, beside, 0.0), (middle, bottom + 0.8, 0.5)]
    spots += [(middle, top - 0.8 - words.height, 2.0), (left - 1.2 - words.width, beside, 2.0)]
    spots += [
        (x, y + shift, cost + 0.2 * abs(shift)) for x, y, cost in spots for shift in range(-6, 7, 2)
    ]
    places = [
        Place((x, y, x + words.width, y + words.height), None, cost, "left") for x, y, cost in spots
    ]
    place = best_place(places, obstacles)
    texts = words.set(place.rect[0], place.rect[1], style.ink, place.align)
    obstacles.texts += [letters_rect(text) for text in texts]
    return list(texts)


def _rect(hazard: HazardBlock, frame: PlanFrame) -> tuple[float, float, float, float]:
    edge, y = frame.place(hazard.out, hazard.right)
    other = edge + hazard.away * HAZARD_WIDTH * frame.scale
    half = HAZARD_LENGTH / 2 * frame.scale
    return min(edge, other), y - half, max(edge, other), y + half


def _hatch(left: float, top: float, right: float, bottom: float) -> list[tuple[XY, XY]]:
    """Return lines at 45 degrees that end on the edges of a rectangle."""
    lines = []
    width, height = right - left, bottom - top
    run = HATCH_APART
    while run < width + height:
        low = (left + min(run, width), bottom - max(run - width, 0.0))
        high = (left + max(run - height, 0.0), bottom - min(run, height))
        lines.append((low, high))
        run += HATCH_APART
    return lines
