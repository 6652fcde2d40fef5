"""Where the parts of the view from above lie: scale, ground, gutters for the words.

Lengths across the target line are counted towards the side on which the landings are named, so
that a flight and its mirror image are drawn as mirror images.
"""

import math
from dataclasses import dataclass

from reporter.speech import later, say
from reporter.story.report import Curve, FlightPicture
from reporter.typeset.blocks.label_places import Lettering, lettering
from reporter.typeset.boxes import XY
from reporter.typeset.faces import width_of
from reporter.typeset.style import Style

WORDS = {
    "heading": later("From above"),
    "target": later("target"),
    "tee": later("tee"),
    "feet": later("feet"),
}

LEAST_DIMENSION = 0.6
WIDEST_LABEL = 27.0
WIDEST_START_LABEL = 15.0
WIDEST_FAIRWAY_LABEL = 20.0
ROW_OF_TARGET = 4.6
BELOW_TEE = 6.0
NO_BREAK_SPACE = "\u00a0"
TICK_STEPS = (5, 10, 20, 50, 100)
HAZARD_WIDTH = 9.0
HAZARD_LENGTH = 12.0
"""How large a hazard is drawn whose nearer edge alone is known, in metres."""

# Distance lines are at least this long to either side, also where no fairway is drawn.
LEAST_REACH = 6.0


@dataclass(frozen=True, slots=True)
class PlanFrame:
    """Where the parts of the view from above lie, in millimetres from its top left corner.

    Attributes
    ----------
    scale : float
        Millimetres on paper for a metre.
    side : int
        1 where the landings are named on the right, -1 on the left.
    tee : tuple of float
        The ball's place.
    near, beyond : float
        How far lines reach from the target line: to the side of the distances, and to the side
        of the names.
    dimension_y, band_top : float
        Height of the curve's dimension and of the upper end of the fairway.
    """

    width: float
    height: float
    scale: float
    side: int
    tee: XY
    near: float
    beyond: float
    dimension_y: float
    band_top: float
    tick_step: int

    def across(self, millimetres: float) -> float:
        """Return the x of a distance from the target line, counted towards the names."""
        return self.tee[0] + self.side * millimetres

    def place(self, downrange: float, right: float) -> XY:
        """Return where a point lies, given in metres."""
        return (self.tee[0] + right * self.scale, self.tee[1] - downrange * self.scale)


def landing(curve: Curve) -> tuple[float, float]:
    """Return the last point of a flight: metres down the line and to the right."""
    return curve.points[-1][0], curve.points[-1][1]


def farthest(block: FlightPicture) -> float:
    """Return how far down the line the flights reach, in metres."""
    flown = max(max(point[0] for point in curve.points) for curve in block.curves)
    return flown if block.hazard is None else max(flown, block.hazard.out + HAZARD_LENGTH / 2)


def tick_step(block: FlightPicture, scale: float) -> int:
    """Return the distance between ticks, in the block's unit: the least that leaves room."""
    per_unit = scale * block.unit_length
    reach = farthest(block) / block.unit_length
    for step in TICK_STEPS:
        if step * per_unit >= 13.0 and reach / step <= 5.7:
            return step
    return TICK_STEPS[-1]


def tick_text(value: int, unit: str) -> str:
    """Return a distance with its unit."""
    return f"{value}{NO_BREAK_SPACE}{unit}"


def names_of(block: FlightPicture, style: Style) -> list[Lettering]:
    """Return the flights' names, broken into lines where they are long."""
    return [lettering(one.label, style.step("caption"), WIDEST_LABEL) for one in block.curves]


def fairway_edge(block: FlightPicture, scale: float) -> float:
    """Return how far from the target line the fairway's words begin."""
    return max(block.fairway_width / 2 * scale + 1.8, 8.6)


def start_x(block: FlightPicture, downrange: float) -> float:
    """Return how far right the start line of the first flight is, in metres."""
    return downrange * math.tan(math.radians(block.start_degrees))


def dimension_words(
    block: FlightPicture, scale: float, side: int, style: Style
) -> tuple[int, float, float, float]:
    """Return on which side of the dimension its words stand, its two ends, and their reach.

    The side is 1 beyond the end towards the names, -1 beyond the other end; all in millimetres
    from the target line towards the names. The words never stand across the target line.
    """
    down, right = landing(block.curves[0])
    start = side * start_x(block, down) * scale
    end = side * right * scale
    low, high = min(start, end), max(start, end)
    heads = 5.0 if LEAST_DIMENSION <= high - low <= 5.2 else 0.0
    width = width_of(block.curve_label, "bold", style.step("caption").size)
    clear = width + heads + 4.0
    # Beyond the start line's end if that keeps the words off the target line.
    if start > end:
        towards_names = high >= -1.0 or high < -clear
    else:
        towards_names = not (low <= 1.0 or low > clear)
    reach = (high if towards_names else -low) + heads + 1.6 + width
    return (1 if towards_names else -1), start, end, reach


def plan_frame(block: FlightPicture, scale: float, style: Style) -> PlanFrame:
    """Return the frame of the view from above at a scale in millimetres a metre."""
    down, right = landing(block.curves[0])
    side = -1 if right * scale < -0.5 else 1
    step = tick_step(block, scale)
    note = style.step("note")
    reaches = [side * point[1] for curve in block.curves for point in curve.points]
    reaches += [side * start_x(block, down), 0.0]
    if block.hazard is not None:
        hazard = block.hazard
        reaches.append(side * (hazard.right + hazard.away * HAZARD_WIDTH))
    half = block.fairway_width / 2
    near = max(half * scale, -min(reaches) * scale, LEAST_REACH)
    beyond = max(half * scale, max(reaches) * scale, LEAST_REACH)

    last_tick = math.floor(farthest(block) / block.unit_length / step) * step
    ticks = width_of(tick_text(max(last_tick, step), block.unit), "regular", note.size)
    start = lettering(block.start_label, note, WIDEST_START_LABEL)
    gutter = max(ticks + 1.4, start.width + 4.0)
    names_gutter = max(
        *(name.width + 4.6 for name in names_of(block, style)),
        width_of(say(WORDS["target"]), "regular", note.size) + 2.5 - beyond,
    )
    text_side, _, _, reach = dimension_words(block, scale, side, style)
    if text_side < 0:
        gutter = max(gutter, reach - near)
    else:
        names_gutter = max(names_gutter, reach - beyond)
    # A landing beside the fairway on the side of the distances is named there, outside.
    for name, curve in zip(names_of(block, style), block.curves, strict=True):
        across = side * landing(curve)[1] * scale
        if across < -half * scale - 2.0:
            gutter = max(gutter, -across + 3.6 + name.width - near)
    fairway = lettering(block.fairway_label, note, WIDEST_FAIRWAY_LABEL)
    names_gutter = max(names_gutter, fairway_edge(block, scale) + fairway.width - beyond)
    # Feet, and the words beside the tee, need a little room where the fairway is a mere thread.
    feet = 7.2 + width_of(say(WORDS["feet"]), "regular", note.size)
    gutter, names_gutter = max(gutter, feet - near), max(names_gutter, feet - beyond)

    width = near + gutter + beyond + names_gutter
    tee_x = near + gutter if side > 0 else beyond + names_gutter
    far = farthest(block) * scale
    gap = 5.6
    per_tick = step * block.unit_length * scale
    # The dimension's words must not stand on a distance line.
    while abs((far + gap) / per_tick - round((far + gap) / per_tick)) * per_tick < 2.3:
        gap += 0.2
    tee_y = ROW_OF_TARGET + 3.6 + gap + far
    return PlanFrame(
        width=width,
        height=tee_y + BELOW_TEE,
        scale=scale,
        side=side,
        tee=(tee_x, tee_y),
        near=near,
        beyond=beyond,
        dimension_y=tee_y - far - gap,
        band_top=ROW_OF_TARGET,
        tick_step=step,
    )
