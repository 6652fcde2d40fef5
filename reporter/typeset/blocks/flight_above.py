"""The flight from above, the target up, to true scale on both axes."""

import math
from itertools import pairwise

from reporter.speech import say
from reporter.story.report import Curve, FlightPicture
from reporter.typeset.blocks.hazard_drawing import hazard_boxes, hazard_name
from reporter.typeset.blocks.label_places import (
    ASCENT,
    DESCENT,
    Lettering,
    Obstacles,
    Place,
    best_place,
    best_together,
    distance_to_segment,
    lettering,
    letters_rect,
)
from reporter.typeset.blocks.plan_frame import (
    BELOW_TEE,
    LEAST_DIMENSION,
    WIDEST_FAIRWAY_LABEL,
    WIDEST_START_LABEL,
    WORDS,
    PlanFrame,
    dimension_words,
    fairway_edge,
    landing,
    names_of,
    start_x,
    tick_text,
)
from reporter.typeset.boxes import XY, Box, Disc, Path, Text
from reporter.typeset.strokes import (
    CHAIN,
    DASH,
    DOTTED,
    WHITE,
    arrow,
    dimension_line,
    double_line,
    state_symbol,
)
from reporter.typeset.style import Style
from reporter.typeset.text import label

FLIGHT_WIDTH = 0.75
LEADER_WIDTH = 0.15
TICK_WIDTH = 0.15
SYMBOL_RADIUS = 1.2


def view_from_above(block: FlightPicture, frame: PlanFrame, style: Style) -> tuple[Box, ...]:
    """Draw the flights from above, with their names, in the given frame."""
    inside = (0.0, 0.0, frame.width, frame.height)
    obstacles = Obstacles(inside)
    ground = _ground(block, frame, style, obstacles)
    hazard = hazard_boxes(block, frame, style, obstacles)
    flights = _flights(block, frame, style, obstacles)
    dimension = _dimension(block, frame, style, obstacles)
    tee = _tee(block, frame, style, obstacles)
    names = _landing_names(block, frame, style, obstacles)
    words = _start_and_fairway(block, frame, style, obstacles)
    symbols: list[Box] = []
    for curve in reversed(block.curves):
        symbols += state_symbol(frame.place(*landing(curve)), curve.state, _ink(curve, style))
    hazard += hazard_name(block, frame, style, obstacles)
    return (*ground, *hazard, *flights, *dimension, *tee, *names, *words, *symbols)


def _ink(curve: Curve, style: Style) -> str:
    return style.ink if curve.state == "wanted" else style.brand


def flight_line(points: tuple[XY, ...], state: str, ink: str) -> tuple[Box, ...]:
    """Return a flight's line on white paper: dashed before, solid after, double wanted."""
    if state == "wanted":
        return double_line(points, ink)
    return (Path(points, FLIGHT_WIDTH, ink, dash=DASH if state == "before" else ()),)


def _ground(
    block: FlightPicture, frame: PlanFrame, style: Style, obstacles: Obstacles
) -> list[Box]:
    note = style.step("note")
    tee_x, tee_y = frame.tee
    half = block.fairway_width / 2 * frame.scale
    boxes: list[Box] = []
    if half > 0:
        band = (
            (tee_x - half, frame.band_top),
            (tee_x + half, frame.band_top),
            (tee_x + half, tee_y),
            (tee_x - half, tee_y),
        )
        boxes.append(Path(band, 0.0, style.tint, closed=True, fill=style.tint))
        obstacles.add_line(band[:2], 1.0)
    per_unit = frame.scale * block.unit_length
    value = frame.tick_step
    lines: list[Box] = []
    while tee_y - value * per_unit > frame.band_top + 1.0:
        y = tee_y - value * per_unit
        line = ((frame.across(-frame.near), y), (frame.across(frame.beyond), y))
        text = tick_text(value, block.unit)
        box = label(
            text,
            frame.across(-frame.near - 1.4),
            y + 0.34 * note.size_mm,
            note,
            style.secondary,
            align="right" if frame.side > 0 else "left",
        )
        # Distances give way to the dimension's words, which stand a row above the landings.
        if y - frame.dimension_y > 3.4:
            lines += [Path(line, TICK_WIDTH, style.hairline), box]
            obstacles.add_line(line, 4.0)
            obstacles.texts.append(letters_rect(box))
        value += frame.tick_step
    boxes += lines
    foot, top = (tee_x, tee_y + 2.6), (tee_x, 0.6)
    boxes.append(Path((foot, (tee_x, top[1] + 1.6)), 0.25, style.ink, dash=CHAIN))
    boxes += arrow((tee_x, top[1] + 2.0), top, style.ink, width=0.25, length=2.0, head_width=0.9)
    obstacles.add_line((foot, top), 9.0)
    target = label(
        say(WORDS["target"]),
        frame.across(1.8),
        0.6 + ASCENT * note.size_mm,
        note,
        style.secondary,
        align="left" if frame.side > 0 else "right",
    )
    boxes.append(target)
    obstacles.texts.append(letters_rect(target))
    return boxes


def _flights(
    block: FlightPicture, frame: PlanFrame, style: Style, obstacles: Obstacles
) -> list[Box]:
    boxes: list[Box] = []
    down, _ = landing(block.curves[0])
    start = (frame.tee, frame.place(down, start_x(block, down)))
    for curve in reversed(block.curves):
        points = tuple(frame.place(x, y) for x, y, _ in curve.points)
        boxes += flight_line(points, curve.state, _ink(curve, style))
        obstacles.add_line(points, 12.0)
        obstacles.symbols.append((frame.place(*landing(curve)), SYMBOL_RADIUS))
    boxes.append(Path(start, 0.3, style.ink, dash=DOTTED, round_cap=True))
    obstacles.add_line(start, 8.0)
    return boxes


def _dimension(
    block: FlightPicture, frame: PlanFrame, style: Style, obstacles: Obstacles
) -> list[Box]:
    """Draw how far the ball curved, from the line it started on to its landing."""
    down, right = landing(block.curves[0])
    y = frame.dimension_y
    text_side, start, end, _ = dimension_words(block, frame.scale, frame.side, style)
    step = style.step("caption")
    boxes: list[Box] = []
    heads = 0.0
    if abs(end - start) >= LEAST_DIMENSION:
        heads = 5.0 if abs(end - start) <= 5.2 else 0.0
        a, b = (frame.across(start), y), (frame.across(end), y)
        for (x, _), foot in (
            (a, frame.place(down, start_x(block, down))[1] - 0.8),
            (b, frame.place(down, right)[1] - SYMBOL_RADIUS - 0.6),
        ):
            extension = ((x, foot), (x, y - 1.2))
            boxes.append(Path(extension, 0.18, style.ink))
            obstacles.add_line(extension, 9.0)
        boxes += dimension_line(a, b, style.ink, cased=False).boxes
        obstacles.lines.append(((a, b), 20.0))
    edge = max(start, end) if text_side > 0 else min(start, end)
    text = label(
        block.curve_label,
        frame.across(edge + text_side * (heads + 1.6)),
        y + 0.34 * step.size_mm,
        step,
        style.ink,
        face="bold",
        align="left" if text_side * frame.side > 0 else "right",
    )
    obstacles.texts.append(letters_rect(text))
    return [*boxes, text]


def _tee(block: FlightPicture, frame: PlanFrame, style: Style, obstacles: Obstacles) -> list[Box]:
    """Draw the ball and the two feet beside it: left of it for a right-hander."""
    x, y = frame.tee
    feet_side = -1 if block.right_handed else 1
    note = style.step("note")
    boxes: list[Box] = []
    for shift in (-1.5, 1.5):
        boxes.append(_foot(x + feet_side * 4.9, y + shift, style))
    boxes.append(Disc(x, y, 0.95, 0.35, style.ink, fill=WHITE))
    baseline = y + BELOW_TEE - DESCENT * note.size_mm - 0.1
    for word, side, away in (("tee", -feet_side, 1.7), ("feet", feet_side, 3.0)):
        box: Text = label(
            say(WORDS[word]),
            x + side * away,
            baseline,
            note,
            style.secondary,
            align="left" if side > 0 else "right",
        )
        boxes.append(box)
        obstacles.texts.append(letters_rect(box))
    reach = sorted((x + feet_side * 3.0, x + feet_side * 6.8))
    obstacles.texts.append((reach[0], y - 2.3, reach[1], y + 2.3))
    return boxes


def _foot(x: float, y: float, style: Style) -> Path:
    """Return a foot that points across the target line, as a rounded bar 3.6 mm long."""
    radius, half = 0.65, 1.15
    outline = []
    for centre, first in ((x + half, -90), (x - half, 90)):
        for turn in range(0, 181, 20):
            angle = math.radians(first + turn)
            outline.append((centre + radius * math.cos(angle), y + radius * math.sin(angle)))
    return Path(tuple(outline), 0.18, style.secondary, closed=True, fill=style.pale)


def _landing_names(
    block: FlightPicture, frame: PlanFrame, style: Style, obstacles: Obstacles
) -> list[Box]:
    names = names_of(block, style)
    spots = [frame.place(*landing(curve)) for curve in block.curves]
    choices = [_name_places(frame, name, spot) for name, spot in zip(names, spots, strict=True)]

    def in_order(i: int, one: Place, j: int, other: Place) -> float:
        lower, upper = (i, j) if spots[i][1] > spots[j][1] else (j, i)
        a, b = (one, other) if lower == i else (other, one)
        # Landings as good as level may be named either way round.
        if spots[lower][1] - spots[upper][1] < 0.6 or a.rect[1] >= b.rect[1]:
            return 0.0
        return 40.0

    boxes: list[Box] = []
    for name, place in zip(names, best_together(choices, obstacles, spots, in_order), strict=True):
        boxes += _put(name, place, style.ink, obstacles)
    return boxes


def _name_places(frame: PlanFrame, name: Lettering, spot: XY) -> list[Place]:
    """Return places for a landing's name: in the column of names, or close to its symbol."""
    places = []
    side = frame.side
    column = frame.across(frame.beyond + 4.2)
    for half_millimetres in range(-60, 61):
        shift = 0.5 * half_millimetres
        middle = spot[1] + shift
        for kind, x, towards, extra in (
            ("column", column, side, 0.0),
            ("close", spot[0] + side * 3.4, side, 4.0),
            ("close", spot[0] - side * 3.4, -side, 5.0),
        ):
            if kind == "close" and abs(shift) > 7:
                continue
            left = x if towards > 0 else x - name.width
            rect = (left, middle - name.height / 2, left + name.width, middle + name.height / 2)
            leader = None
            if kind == "column" or abs(shift) > 1.0:
                end = (x - towards * 0.9, middle)
                angle = math.atan2(end[1] - spot[1], end[0] - spot[0])
                begin = (
                    spot[0] + (SYMBOL_RADIUS + 0.3) * math.cos(angle),
                    spot[1] + (SYMBOL_RADIUS + 0.3) * math.sin(angle),
                )
                leader = (begin, end)
            align = "left" if towards > 0 else "right"
            places.append(Place(rect, leader, extra + 0.25 * abs(shift), align))
    return places


def _put(name: Lettering, place: Place, ink: str, obstacles: Obstacles) -> list[Box]:
    texts = name.set(place.rect[0], place.rect[1], ink, place.align)
    obstacles.texts += [letters_rect(text) for text in texts]
    boxes: list[Box] = []
    if place.leader:
        obstacles.lines.append((place.leader, 12.0))
        boxes.append(Path(place.leader, LEADER_WIDTH, ink))
    return [*boxes, *texts]


def _start_and_fairway(
    block: FlightPicture, frame: PlanFrame, style: Style, obstacles: Obstacles
) -> list[Box]:
    boxes: list[Box] = []
    note = style.step("note")
    tee_x, tee_y = frame.tee
    if block.fairway_width > 0 and block.fairway_label:
        edge = fairway_edge(block, frame.scale)
        room = (frame.width - tee_x if frame.side > 0 else tee_x) - edge
        words = lettering(block.fairway_label, note, max(room, WIDEST_FAIRWAY_LABEL))
        if words.width > room:
            words = lettering(block.fairway_label, note, WIDEST_FAIRWAY_LABEL)
        choices = [
            Place(
                (x, top, x + words.width, top + words.height),
                None,
                0.3 * lift + (0.0 if side > 0 else 6.0),
                "left" if side * frame.side > 0 else "right",
            )
            for side in (1, -1)
            for lift in range(40)
            for top in (tee_y - words.height - 0.8 * lift,)
            for end in (frame.across(side * edge),)
            for x in (end if side * frame.side > 0 else end - words.width,)
        ]
        boxes += _put(words, best_place(choices, obstacles), style.secondary, obstacles)
    start = lettering(block.start_label, note, WIDEST_START_LABEL)
    down, _ = landing(block.curves[0])
    curves = [tuple(frame.place(x, y) for x, y, _ in curve.points) for curve in block.curves]
    choices = []
    for percent in range(30, 86, 5):
        at = frame.place(down * percent / 100, start_x(block, down * percent / 100))
        clear = min(distance_to_segment(at, pair) for one in curves for pair in pairwise(one))
        unclear = 3.0 * max(0.0, 1.6 - clear)
        for side, edge in ((-1, frame.near + 2.6), (1, frame.beyond + 4.2)):
            for shift in range(-8, 9, 2):
                x = frame.across(side * edge)
                towards = side * frame.side
                left = x if towards > 0 else x - start.width
                top = at[1] + shift - start.height / 2
                rect = (left, top, left + start.width, top + start.height)
                leader = ((x - towards * 0.8, at[1] + shift), at)
                cost = unclear + 0.04 * abs(percent - 58) + 0.15 * abs(shift - 2)
                align = "left" if towards > 0 else "right"
                choices.append(Place(rect, leader, cost + (1.0 if side > 0 else 0.0), align))
    boxes += _put(start, best_place(choices, obstacles), style.secondary, obstacles)
    return boxes
