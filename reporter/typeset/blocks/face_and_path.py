"""Face against path: where they may lie, where they are wanted, and what keeps the ball in play.

An ordinary plot with equal scales: path across, face up, right of the target to the right and
up. The numbers carry no sign; the ends of both axes say left and right.
"""

import math
from dataclasses import dataclass

from reporter.speech import later, say
from reporter.story.report import FlightPicture, Region
from reporter.typeset.blocks.label_places import (
    ASCENT,
    Lettering,
    Obstacles,
    Place,
    best_place,
    best_together,
    lettering,
    letters_rect,
)
from reporter.typeset.boxes import XY, Box, Clipped, Face, Path
from reporter.typeset.strokes import DASH, state_symbol
from reporter.typeset.style import Style
from reporter.typeset.text import label

WORDS = {
    "heading": later("Face and path"),
    "strip": later("the pale strip keeps the ball on the fairway"),
    "path": later("path"),
    "face": later("face"),
    "left": later("left"),
    "right": later("right"),
    "no bend": later("no bend"),
    "ball bends right": later("ball bends right"),
    "ball bends left": later("ball bends left"),
}

LEFT_OF_PLOT = 12.0
BELOW_PLOT = 9.2
ABOVE_PLOT = 1.2
RIGHT_OF_PLOT = 0.2
OUTLINE_WIDTH = 0.5
LEADER_WIDTH = 0.15
SYMBOL_RADIUS = 1.2
LEAST_PATH, LEAST_FACE = 4.0, 3.0
TICK_STEPS = (1, 2, 3, 5, 10, 20)
WIDEST_LABEL = 34.0
ANYWHERE = 40.0


@dataclass(frozen=True, slots=True)
class PlotFrame:
    """The plot's rectangle in millimetres and the degrees at its edges; one scale for both axes."""

    left: float
    top: float
    width: float
    height: float
    path_centre: float
    face_centre: float
    scale: float

    def place(self, path: float, face: float) -> XY:
        """Return where a path and a face in degrees lie."""
        return (
            self.left + self.width / 2 + (path - self.path_centre) * self.scale,
            self.top + self.height / 2 - (face - self.face_centre) * self.scale,
        )

    @property
    def half_path(self) -> float:
        """Half the degrees that the plot shows across."""
        return self.width / 2 / self.scale

    @property
    def half_face(self) -> float:
        """Half the degrees that the plot shows up and down."""
        return self.height / 2 / self.scale


def plot_frame(block: FlightPicture, width: float, height: float) -> PlotFrame:
    """Return the frame of the plot in a room of so many millimetres.

    All regions and the point where face and path meet the target lie inside, with a margin.
    """
    paths, faces = [-LEAST_PATH, LEAST_PATH], [-LEAST_FACE, LEAST_FACE]
    for one in block.regions:
        paths += [one.path - one.path_half, one.path + one.path_half]
        faces += [one.face - one.face_half, one.face + one.face_half]
    plot_width = width - LEFT_OF_PLOT - RIGHT_OF_PLOT
    plot_height = height - BELOW_PLOT - ABOVE_PLOT
    # Room for a symbol and a corner's words between the outermost region and the edge.
    scale = min(
        (plot_width - 10.0) / (max(paths) - min(paths)),
        (plot_height - 10.0) / (max(faces) - min(faces)),
    )
    return PlotFrame(
        left=LEFT_OF_PLOT,
        top=ABOVE_PLOT,
        width=plot_width,
        height=plot_height,
        path_centre=(max(paths) + min(paths)) / 2,
        face_centre=(max(faces) + min(faces)) / 2,
        scale=scale,
    )


def face_and_path(
    block: FlightPicture, width: float, height: float, style: Style
) -> tuple[Box, ...]:
    """Draw the plot of face against path in a room of so many millimetres from (0, 0)."""
    frame = plot_frame(block, width, height)
    edges = (frame.left, frame.top, frame.left + frame.width, frame.top + frame.height)
    obstacles = Obstacles((edges[0] + 1.2, edges[1] + 1.0, edges[2] - 1.2, edges[3] - 1.0))
    boxes: list[Box] = []
    if block.corridor:
        strip = Path(
            tuple(frame.place(path, face) for path, face in block.corridor),
            0.0,
            style.tint,
            closed=True,
            fill=style.tint,
        )
        boxes.append(Clipped(edges[0], edges[1], frame.width, frame.height, (strip,)))
    boxes += _axes(frame, style, obstacles)
    boxes += _no_bend(frame, style, obstacles)
    for region in block.regions:
        obstacles.symbols.append((frame.place(region.path, region.face), SYMBOL_RADIUS))
        if region.state != "wanted":
            outline = _outline(frame, region)
            dash = DASH if region.state == "before" else ()
            boxes.append(Path(outline, OUTLINE_WIDTH, style.brand, dash=dash, closed=True))
            obstacles.add_line((*outline, outline[0]), 12.0)
    boxes += _words(block, frame, style, obstacles)
    for region in reversed(block.regions):
        ink = style.ink if region.state == "wanted" else style.brand
        boxes += state_symbol(frame.place(region.path, region.face), region.state, ink)
    return tuple(boxes)


def _outline(frame: PlotFrame, region: Region) -> tuple[XY, ...]:
    """Return the region's own outline, or an upright ellipse where only its halves are known."""
    if region.outline:
        return tuple(frame.place(path, face) for path, face in region.outline)
    return tuple(
        frame.place(
            region.path + region.path_half * math.cos(math.radians(turn)),
            region.face + region.face_half * math.sin(math.radians(turn)),
        )
        for turn in range(0, 360, 4)
    )


def degrees_step(frame: PlotFrame) -> int:
    """Return the degrees between two numbers of an axis: the least that leaves room."""
    return next((step for step in TICK_STEPS if step * frame.scale >= 8.5), TICK_STEPS[-1])


def _ticks(centre: float, half: float, step: int) -> list[int]:
    first = math.ceil((centre - half + 1e-6) / step)
    last = math.floor((centre + half - 1e-6) / step)
    return [number * step for number in range(first, last + 1)]


def _axes(frame: PlotFrame, style: Style, obstacles: Obstacles) -> list[Box]:
    note = style.step("note")
    left, top = frame.left, frame.top
    right, bottom = left + frame.width, top + frame.height
    zero_x, zero_y = frame.place(0.0, 0.0)
    step = degrees_step(frame)
    boxes: list[Box] = []
    for line in (((zero_x, top), (zero_x, bottom)), ((left, zero_y), (right, zero_y))):
        boxes.append(Path(line, 0.2, style.hairline))
        obstacles.lines.append((line, 7.0))
    for value in _ticks(frame.path_centre, frame.half_path, step):
        x = frame.place(value, 0.0)[0]
        boxes.append(Path(((x, bottom), (x, bottom + 1.1)), 0.2, style.ink))
        # The degree sign hangs beside the digits, which stand under their tick.
        text = label(f"{abs(value)}°", x + 0.4, bottom + 4.1, note, style.secondary, align="centre")
        if text.x + text.width <= right + RIGHT_OF_PLOT:
            boxes.append(text)
    for value in _ticks(frame.face_centre, frame.half_face, step):
        y = frame.place(0.0, value)[1]
        boxes.append(Path(((left - 1.1, y), (left, y)), 0.2, style.ink))
        boxes.append(
            label(
                f"{abs(value)}°",
                left - 1.6,
                y + 0.34 * note.size_mm,
                note,
                style.secondary,
                align="right",
            )
        )
    corners = ((left, top), (right, top), (right, bottom), (left, bottom))
    boxes.append(Path(corners, 0.25, style.ink, closed=True))
    baseline = bottom + 8.2
    boxes.append(label(say(WORDS["left"]), left, baseline, note, style.secondary))
    boxes.append(label(say(WORDS["right"]), right, baseline, note, style.secondary, align="right"))
    middle_x, middle_y = (left + right) / 2, (top + bottom) / 2
    boxes.append(
        label(say(WORDS["path"]), middle_x, baseline, note, style.ink, face="bold", align="centre")
    )
    across = 2.6
    for word, y, align, ink in (
        ("left", bottom, "left", style.secondary),
        ("face", middle_y, "centre", style.ink),
        ("right", top, "right", style.secondary),
    ):
        face: Face = "bold" if word == "face" else "regular"
        boxes.append(
            label(say(WORDS[word]), across, y, note, ink, face=face, align=align, angle=90.0)
        )
    return boxes


def _no_bend(frame: PlotFrame, style: Style, obstacles: Obstacles) -> list[Box]:
    """Draw the line on which face and path agree, from edge to edge."""
    low = max(frame.path_centre - frame.half_path, frame.face_centre - frame.half_face)
    high = min(frame.path_centre + frame.half_path, frame.face_centre + frame.half_face)
    line = (frame.place(low, low), frame.place(high, high))
    obstacles.lines.append((line, 12.0))
    return [Path(line, 0.3, style.ink)]


def _words(block: FlightPicture, frame: PlotFrame, style: Style, obstacles: Obstacles) -> list[Box]:
    """Name the regions, the line and the two corners, in that order of importance."""
    boxes: list[Box] = []
    names = [lettering(one.label, style.step("caption"), WIDEST_LABEL) for one in block.regions]
    spots = [frame.place(one.path, one.face) for one in block.regions]
    outlined = [one for one in block.regions if one.state != "wanted"]
    choices = [
        _name_places(frame, name, region, outlined)
        for name, region in zip(names, block.regions, strict=True)
    ]
    corners = [
        lettering(say(WORDS[word]), style.step("note"), 60.0)
        for word in ("ball bends right", "ball bends left")
    ]
    corner_places = [_corner_places(frame, corners[0], 1), _corner_places(frame, corners[1], -1)]
    chosen = best_together(
        [*choices, *corner_places],
        obstacles,
        [*spots, (math.inf, math.inf), (math.inf, math.inf)],
        lambda i, one, j, other: 0.0,
    )
    for number, (words, place) in enumerate(zip([*names, *corners], chosen, strict=True)):
        ink = style.ink if number < len(names) else style.secondary
        texts = words.set(place.rect[0], place.rect[1], ink, place.align)
        obstacles.texts += [letters_rect(text) for text in texts]
        if place.leader:
            boxes.append(Path(place.leader, LEADER_WIDTH, ink))
            obstacles.lines.append((place.leader, 12.0))
        boxes += texts
    words = lettering(say(WORDS["no bend"]), style.step("note"), 40.0)
    place = best_place(_line_places(frame, words), obstacles)
    boxes += words.set(place.rect[0], place.rect[1], style.secondary, "left")
    return boxes


def _is_inside(frame: PlotFrame, region: Region, point: XY, white: float = 0.0) -> bool:
    x, y = frame.place(region.path, region.face)
    half_x = region.path_half * frame.scale + white
    half_y = region.face_half * frame.scale + white
    return (
        half_x > 0
        and half_y > 0
        and ((point[0] - x) / half_x) ** 2 + ((point[1] - y) / half_y) ** 2 < 1
    )


def _name_places(
    frame: PlotFrame, name: Lettering, region: Region, outlined_regions: list[Region]
) -> list[Place]:
    """Return places around a region's outline, or around its symbol where it has no outline."""
    cx, cy = frame.place(region.path, region.face)
    outlined = region.state != "wanted"
    half_x = region.path_half * frame.scale if outlined else 0.0
    half_y = region.face_half * frame.scale if outlined else 0.0
    places = []
    for turn in range(0, 360, 15):
        cosine, sine = math.cos(math.radians(turn)), math.sin(math.radians(turn))
        reach = SYMBOL_RADIUS + 0.2
        on = (
            cx + (max(half_x, reach) if outlined else reach) * cosine,
            cy + (max(half_y, reach) if outlined else reach) * sine,
        )
        for away in (1.6, 3.0, 5.0, 7.5, 10.0, 13.0):
            x, y = on[0] + away * cosine, on[1] + away * sine
            left = x - name.width * (1 - cosine) / 2
            top = y - name.height * (1 - sine) / 2
            rect = (left, top, left + name.width, top + name.height)
            leader = None if away < 2.5 else (on, (x - 0.7 * cosine, y - 0.7 * sine))
            # Beside is better than above, above better than aslant.
            aslant = 0.8 * abs(math.sin(2 * math.radians(turn)))
            cost = 0.25 * away + aslant + 0.3 * abs(sine)
            middle = ((rect[0] + rect[2]) / 2, (rect[1] + rect[3]) / 2)
            cost += sum(6.0 for one in outlined_regions if _is_inside(frame, one, middle))
            corners = [(px, py) for px in (rect[0], rect[2]) for py in (rect[1], rect[3])]
            # Close to another's outline a name might be taken for the other's.
            cost += sum(
                3.0
                for one in outlined_regions
                if one is not region and any(_is_inside(frame, one, c, 2.5) for c in corners)
            )
            places.append(Place(rect, leader, cost))
    return [*places, *_anywhere(frame, name)]


def _anywhere(frame: PlotFrame, name: Lettering) -> list[Place]:
    """Return places all over the plot, for a region that fills it: dear, but never outside."""
    across, down = frame.width - name.width - 3.0, frame.height - name.height - 3.0
    if across < 0 or down < 0:
        return []
    rects = [
        (frame.left + 1.5 + across * i / 4, frame.top + 1.5 + down * j / 4)
        for j in range(5)
        for i in range(5)
    ]
    return [Place((x, y, x + name.width, y + name.height), None, ANYWHERE) for x, y in rects]


def _corner_places(frame: PlotFrame, words: Lettering, towards: int) -> list[Place]:
    """Return places in the upper left (1) or lower right (-1) half, the corner first."""
    places = []
    right, bottom = frame.left + frame.width, frame.top + frame.height
    for down in range(0, max(int(frame.height - words.height - 3.0), 1), 3):
        for along in range(0, max(int(frame.width - words.width - 3.0), 1), 4):
            if towards > 0:
                left, top = frame.left + 1.8 + along, frame.top + 1.6 + down
            else:
                left = right - 1.8 - along - words.width
                top = bottom - 1.6 - down - words.height
            rect = (left, top, left + words.width, top + words.height)
            if _bend_sides(frame, rect) == {towards}:
                places.append(Place(rect, None, 0.25 * down + 0.2 * along))
    if not places:
        left, top = frame.left + 1.8, frame.top + 1.6
        places.append(Place((left, top, left + words.width, top + words.height)))
    return places


def _bend_sides(frame: PlotFrame, rect: tuple[float, float, float, float]) -> set[int]:
    """Return on which sides of the line without bend a rectangle's corners lie."""
    zero_x, zero_y = frame.place(0.0, 0.0)
    return {
        1 if (zero_y - y) > (x - zero_x) else -1
        for x in (rect[0], rect[2])
        for y in (rect[1], rect[3])
    }


def _line_places(frame: PlotFrame, words: Lettering) -> list[Place]:
    """Return places beside the line on which face and path agree, its upper end first."""
    low = max(frame.path_centre - frame.half_path, frame.face_centre - frame.half_face)
    high = min(frame.path_centre + frame.half_path, frame.face_centre + frame.half_face)
    places = []
    for percent in range(98, 1, -3):
        value = low + (high - low) * percent / 100
        x, y = frame.place(value, value)
        away = 1.8
        for towards in (1, -1):
            left = x - away - words.width if towards > 0 else x + away
            top = y - words.height * (ASCENT if towards > 0 else 0.2)
            rect = (left, top, left + words.width, top + words.height)
            places.append(Place(rect, None, 0.05 * (98 - percent) + (0.0 if towards > 0 else 0.6)))
    return places
