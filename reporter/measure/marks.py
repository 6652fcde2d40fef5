"""How each measure is drawn on its frame: its line, what it is held against, and where."""

import math

from reporter.measure.geometry import Pixels, between, distance, turned
from reporter.measure.ground import carried, homography
from reporter.measure.measurement import Mark
from reporter.measure.sight import Places, Sight


def _plumb_from(low: Pixels, length: float, sight: Sight) -> tuple[Pixels, Pixels]:
    return (low, turned((low[0], low[1] - length), sight.slope, low))


def _level_from(start: Pixels, end: Pixels, sight: Sight) -> tuple[Pixels, Pixels]:
    way = math.copysign(distance(start, end), end[0] - start[0])
    return (start, turned((start[0] + way, start[1]), sight.slope, start))


def _ordered(first: Pixels, second: Pixels) -> tuple[Pixels, Pixels]:
    """Return the two points, the lower on the picture first."""
    return (first, second) if first[1] >= second[1] else (second, first)


def from_plumb(low: str, high: str, places: Places, sight: Sight) -> Mark:
    """Return the mark of a line held against plumb, the arc at its lower end."""
    line = (places[low], places[high])
    reference = _plumb_from(line[0], distance(*line), sight)
    return Mark("angle", line, reference, line[0], line)


def from_level(first: str, second: str, places: Places, sight: Sight) -> Mark:
    """Return the mark of a line held against level, the arc at its lower end."""
    line = _ordered(places[first], places[second])
    return Mark("angle", line, _level_from(line[0], line[1], sight), line[0], line)


def of_flex(upper: str, joint: str, lower: str, places: Places, sight: Sight) -> Mark:
    """Return the mark of two limbs that meet in a joint."""
    vertex = places[joint]
    points = (places[upper], vertex, places[lower])
    return Mark(
        "flex", (vertex, points[0]), (vertex, points[2]), vertex, points, reference_is_drawn=False
    )


def of_shift(name: str, places: Places, sight: Sight) -> Mark:
    """Return the mark of a point that moved along since set-up."""
    now, old = places[name], places[f"setup.{name}"]
    ends = ("lead_heel", "trail_heel") if "setup.lead_heel" in places else ("held.0", "held.1")
    width = distance(*(places[f"setup.{end}"] for end in ends))
    half = max(width / 4.0, abs(now[1] - old[1]))
    height = (now[1] + old[1]) / 2.0

    def upright(x: float) -> tuple[Pixels, Pixels]:
        foot = (x, height + half)
        return (foot, turned((x, height - half), sight.slope, foot))

    return Mark("shift", upright(now[0]), upright(old[0]), between(now, old), (now,))


def of_rise(name: str, places: Places, sight: Sight) -> Mark:
    """Return the mark of a point that moved up or down since set-up."""
    now, old = places[name], places[f"setup.{name}"]
    base = turned((now[0], old[1]), sight.slope, old)
    level = _level_from(old, base, sight) if base != old else (old, base)
    return Mark("length", (base, now), level, base, (now,))


def of_way(name: str, places: Places, sight: Sight) -> Mark:
    """Return the mark of a point that moved toward or away from the ball since set-up."""
    now, old = places[name], places[f"setup.{name}"]
    half = distance(places["setup.trail_heel"], places["setup.trail_toe"]) / 2.0
    height = (now[1] + old[1]) / 2.0

    def upright(x: float) -> tuple[Pixels, Pixels]:
        foot = (x, height + half)
        return (foot, turned((x, height - half), sight.slope, foot))

    return Mark("shift", upright(now[0]), upright(old[0]), between(now, old), (now,))


def below(high: str, low: str, places: Places, sight: Sight) -> Mark:
    """Return the mark of a line held against plumb, the arc at its upper end."""
    line = (places[high], places[low])
    length = distance(*line)
    plumb = (line[0], turned((line[0][0], line[0][1] + length), sight.slope, line[0]))
    return Mark("angle", line, plumb, line[0], line)


def of_distance(places: Places, sight: Sight) -> Mark:
    """Return the mark of the ball's distance from the line through both toes, on the ground."""
    clicked = tuple(places[f"ground.{index}"] for index in range(len(sight.ground)))
    onto = homography(clicked, sight.ground)
    lead, trail, ball = (carried(onto, places[name]) for name in ("lead_toe", "trail_toe", "ball"))
    along = (lead[0] - trail[0], lead[1] - trail[1])
    share = ((ball[0] - trail[0]) * along[0] + (ball[1] - trail[1]) * along[1]) / (
        along[0] ** 2 + along[1] ** 2
    )
    foot = carried(homography(sight.ground, clicked), between(trail, lead, share))
    toes = (places["trail_toe"], places["lead_toe"])
    return Mark("length", (foot, places["ball"]), toes, foot, (*toes, places["ball"]),
                reference_is_drawn=False)  # fmt: skip


def of_lift(places: Places, sight: Sight) -> Mark:
    """Return the mark of the trail heel above its place at set-up."""
    now, old = places["trail_heel"], places["setup.trail_heel"]
    ground = (now[0], old[1])
    line = (ground, now)
    level = _level_from(old, ground, sight) if ground != old else (old, ground)
    return Mark("length", line, level, ground, (now,))


def of_length(first: str, second: str, places: Places, sight: Sight) -> Mark:
    """Return the mark of a distance between two points."""
    line = (places[first], places[second])
    return Mark("length", line, line, between(*line), line, reference_is_drawn=False)


def of_flare(foot: str, places: Places, sight: Sight) -> Mark:
    """Return the mark of a foot against the square direction, both lying on the ground."""
    line = (places[f"{foot}_heel"], places[f"{foot}_toe"])
    clicked = tuple(places[f"ground.{index}"] for index in range(len(sight.ground)))
    heel, toe = (carried(homography(clicked, sight.ground), point) for point in line)
    reach = math.dist(heel, toe)
    square = carried(homography(sight.ground, clicked), (heel[0], heel[1] + sight.facing * reach))
    return Mark("angle", line, (line[0], square), line[0], line)


def of_ball(places: Places, sight: Sight) -> Mark:
    """Return the mark of the ball's place between the heels."""
    line = (places["trail_heel"], places["lead_heel"])
    return Mark(
        "length", line, line, places["ball"], (*line, places["ball"]), reference_is_drawn=False
    )


def of_toe_line(places: Places, sight: Sight) -> Mark:
    """Return the mark of the toe line against the target line, both lying on the ground."""
    line = (places["trail_toe"], places["lead_toe"])
    clicked = tuple(places[f"ground.{index}"] for index in range(len(sight.ground)))
    trail, lead = (carried(homography(clicked, sight.ground), point) for point in line)
    along = carried(
        homography(sight.ground, clicked), (trail[0] + math.dist(trail, lead), trail[1])
    )
    return Mark("angle", line, (line[0], along), line[0], line)
