"""From places on a levelled picture to the number of each measure."""

import math
from collections.abc import Mapping

from reporter.measure.geometry import (
    Pixels,
    between,
    distance,
    flex,
    lean_from_plumb,
    rise_from_level,
    slope_from_level,
)
from reporter.measure.ground import carried, homography
from reporter.measure.sight import Places, Sight
from reporter.measure.uncertainty import propagated


def shaft_to_ground(places: Places, sight: Sight) -> float:
    """Return the rise of the shaft from the club head to the handle, away from the ball [deg]."""
    return rise_from_level(places["hosel"], places["handle"], -sight.side)


def shaft_to_ground_either_way(places: Places, sight: Sight) -> float:
    """Return the rise from handle to club head, whichever way the club points [deg]."""
    return slope_from_level(places["handle"], places["hosel"])


def shaft_lean(places: Places, sight: Sight) -> float:
    """Return the lean of the shaft from plumb, handle toward the target positive [deg]."""
    return lean_from_plumb(places["hosel"], places["handle"], sight.side)


def trunk_lean(places: Places, sight: Sight) -> float:
    """Return the lean of pelvis centre to neck base; target or ball side positive [deg]."""
    return lean_from_plumb(places["pelvis"], places["neck"], sight.side)


def shoulder_rise(places: Places, sight: Sight) -> float:
    """Return the tilt of the shoulder line, lead shoulder higher positive [deg]."""
    return rise_from_level(places["trail_shoulder"], places["lead_shoulder"], sight.side)


def pelvis_rise(places: Places, sight: Sight) -> float:
    """Return the tilt of the hip line, lead hip higher positive [deg]."""
    return rise_from_level(places["trail_hip"], places["lead_hip"], sight.side)


def lead_knee_flex(places: Places, sight: Sight) -> float:
    """Return the flex of the lead knee, 0 straight [deg]."""
    return flex(places["lead_hip"], places["lead_knee"], places["lead_ankle"], sight.side)


def trail_knee_flex(places: Places, sight: Sight) -> float:
    """Return the flex of the trail knee, 0 straight [deg]."""
    return flex(places["trail_hip"], places["trail_knee"], places["trail_ankle"], sight.side)


def lead_shin_lean(places: Places, sight: Sight) -> float:
    """Return the lean of lead ankle to lead knee, toward the target positive [deg]."""
    return lean_from_plumb(places["lead_ankle"], places["lead_knee"], sight.side)


def _shift(name: str, places: Places, sight: Sight) -> float:
    width = distance(places["setup.lead_heel"], places["setup.trail_heel"])
    return 100.0 * sight.side * (places[name][0] - places[f"setup.{name}"][0]) / width


def pelvis_shift(places: Places, sight: Sight) -> float:
    """Return the way of the pelvis centre since set-up, toward the target [% of stance width]."""
    return _shift("pelvis", places, sight)


def head_shift(places: Places, sight: Sight) -> float:
    """Return the way of the head since set-up, toward the target [% of stance width]."""
    return _shift("head", places, sight)


BODY_OVER_HEELS = {"pelvis": 1.035, "head": 0.94}
"""Distance from the camera over that of the heels, face-on from 3.3 m: the pelvis stands some 12 cm
behind the heels, the head some 20 cm before them (a drawing of set-up; no source)."""

BODY_OVER_STICK = {"pelvis": 1.045, "head": 0.95}
"""The same over that of a stick held in front of the hips, some 15 cm before the pelvis."""


def _shift_cm(name: str, places: Places, sight: Sight) -> float:
    if "setup.held.0" in places and sight.held_cm is not None:
        seen = distance(places["setup.held.0"], places["setup.held.1"])
        scale = BODY_OVER_STICK[name] * sight.held_cm / seen
    else:
        heels = on_the_ground(places, sight, "setup.lead_heel", "setup.trail_heel", on="setup.")
        seen = distance(places["setup.lead_heel"], places["setup.trail_heel"])
        scale = BODY_OVER_HEELS[name] * distance(*heels) / seen
    return scale * sight.side * (places[name][0] - places[f"setup.{name}"][0])


def pelvis_shift_cm(places: Places, sight: Sight) -> float:
    """Return the way of the pelvis centre since set-up, toward the target [cm]."""
    return _shift_cm("pelvis", places, sight)


def head_shift_cm(places: Places, sight: Sight) -> float:
    """Return the way of the head since set-up, toward the target [cm]."""
    return _shift_cm("head", places, sight)


def _rise(name: str, places: Places, sight: Sight) -> float:
    width = distance(places["setup.lead_heel"], places["setup.trail_heel"])
    return 100.0 * (places[f"setup.{name}"][1] - places[name][1]) / width


def pelvis_height(places: Places, sight: Sight) -> float:
    """Return how much higher the pelvis centre is than at set-up [% of stance width]."""
    return _rise("pelvis", places, sight)


def head_height(places: Places, sight: Sight) -> float:
    """Return how much higher the head is than at set-up [% of stance width]."""
    return _rise("head", places, sight)


def _toward_ball(name: str, places: Places, sight: Sight) -> float:
    length = distance(places["setup.trail_heel"], places["setup.trail_toe"])
    return 100.0 * sight.side * (places[name][0] - places[f"setup.{name}"][0]) / length


def pelvis_toward_ball(places: Places, sight: Sight) -> float:
    """Return the way of the pelvis centre since set-up, toward the ball [% of shoe length]."""
    return _toward_ball("pelvis", places, sight)


def head_toward_ball(places: Places, sight: Sight) -> float:
    """Return the way of the head since set-up, toward the ball [% of shoe length]."""
    return _toward_ball("head", places, sight)


def trail_shin_lean(places: Places, sight: Sight) -> float:
    """Return the lean of trail ankle to trail knee, toward the target positive [deg]."""
    return lean_from_plumb(places["trail_ankle"], places["trail_knee"], sight.side)


def arms_hang(places: Places, sight: Sight) -> float:
    """Return the lean of trail shoulder to handle from straight down, ball side positive [deg]."""
    shoulder, handle = places["trail_shoulder"], places["handle"]
    return math.degrees(math.atan2(sight.side * (handle[0] - shoulder[0]), handle[1] - shoulder[1]))


def arms_to_shaft(places: Places, sight: Sight) -> float:
    """Return how far the shaft turns up out of the line trail shoulder to handle [deg]."""
    return flex(places["trail_shoulder"], places["handle"], places["hosel"], -sight.side)


def heel_lift_in_stances(places: Places, sight: Sight) -> float:
    """Return how much higher the trail heel stands than at set-up [% of stance width]."""
    width = distance(places["setup.lead_heel"], places["setup.trail_heel"])
    return 100.0 * (places["setup.trail_heel"][1] - places["trail_heel"][1]) / width


def heel_lift_in_shoes(places: Places, sight: Sight) -> float:
    """Return how much higher the trail heel stands than at set-up [% of shoe length]."""
    length = distance(places["setup.trail_heel"], places["setup.trail_toe"])
    return 100.0 * (places["setup.trail_heel"][1] - places["trail_heel"][1]) / length


def stance_in_shoulders(places: Places, sight: Sight) -> float:
    """Return heel to heel over shoulder joint to shoulder joint [%]."""
    width = distance(places["lead_shoulder"], places["trail_shoulder"])
    return 100.0 * distance(places["lead_heel"], places["trail_heel"]) / width


def on_the_ground(places: Places, sight: Sight, *names: str, on: str = "") -> list[Pixels]:
    """Return places on the ground: toward the target, left of the target line [cm]."""
    matrix = homography(_ground_points(places, sight, on), sight.ground)
    return [carried(matrix, places[name]) for name in names]


def _ground_points(places: Places, sight: Sight, on: str = "") -> tuple[Pixels, ...]:
    return tuple(places[f"{on}ground.{index}"] for index in range(len(sight.ground)))


def stance_on_ground(places: Places, sight: Sight) -> float:
    """Return heel to heel [cm]."""
    lead, trail = on_the_ground(places, sight, "lead_heel", "trail_heel")
    return distance(lead, trail)


def _flare(foot: str, outward: int, places: Places, sight: Sight) -> float:
    heel, toe = on_the_ground(places, sight, f"{foot}_heel", f"{foot}_toe")
    forward = sight.facing * (toe[1] - heel[1])
    return math.degrees(math.atan2(outward * (toe[0] - heel[0]), forward))


def lead_foot_flare(places: Places, sight: Sight) -> float:
    """Return the turn of the lead foot out of square, toward the target positive [deg]."""
    return _flare("lead", 1, places, sight)


def trail_foot_flare(places: Places, sight: Sight) -> float:
    """Return the turn of the trail foot out of square, away from the target positive [deg]."""
    return _flare("trail", -1, places, sight)


SHOE_CM, SHOE_SPREAD_CM = 27.5, 2.0
"""Usual length of a grown player's sole and its standard deviation [cm]; common practice, no
source."""


def likelier_foot(foot: str, places: Places, errors: Mapping[str, float], sight: Sight) -> Places:
    """Return the places with the toe where a foot of a likely length puts it, same direction.

    Clicks shift both ends of a foreshortened foot by more than shoes differ in length. A foot
    that the clicks make too short would claim too wide an error of its direction, one made too
    long too narrow a one: the error is that of the likelier length, from clicks and usual shoes
    together (weights of inverse variances).
    """
    heel_name, toe_name = f"{foot}_heel", f"{foot}_toe"
    clicked = _ground_points(places, sight)
    onto = homography(clicked, sight.ground)

    def length_of(at: Places) -> float:
        return distance(carried(onto, at[heel_name]), carried(onto, at[toe_name]))

    ends = {name: places[name] for name in (heel_name, toe_name)}
    variance = propagated(length_of, ends, errors) ** 2
    if variance == 0.0:
        return places
    heel, toe = (carried(onto, places[name]) for name in (heel_name, toe_name))
    seen = distance(heel, toe)
    share = SHOE_SPREAD_CM**2 / (SHOE_SPREAD_CM**2 + variance)
    likely = share * seen + (1.0 - share) * SHOE_CM
    back = homography(sight.ground, clicked)
    return {**places, toe_name: carried(back, between(heel, toe, likely / seen))}


def ball_in_stance(places: Places, sight: Sight) -> float:
    """Return the ball's place between the heels: 0 trail heel, 100 lead heel [% of stance]."""
    lead, trail, ball = on_the_ground(places, sight, "lead_heel", "trail_heel", "ball")
    return 100.0 * (ball[0] - trail[0]) / (lead[0] - trail[0])


def toe_line_aim(places: Places, sight: Sight) -> float:
    """Return the aim of the line trail toe to lead toe, right of the target positive [deg]."""
    lead, trail = on_the_ground(places, sight, "lead_toe", "trail_toe")
    return math.degrees(math.atan2(trail[1] - lead[1], lead[0] - trail[0]))


def ball_from_toes(places: Places, sight: Sight) -> float:
    """Return the ball's distance from the line through both toes, square to it [cm]."""
    lead, trail, ball = on_the_ground(places, sight, "lead_toe", "trail_toe", "ball")
    along = (lead[0] - trail[0], lead[1] - trail[1])
    way = (ball[0] - trail[0], ball[1] - trail[1])
    return sight.facing * (along[0] * way[1] - along[1] * way[0]) / math.hypot(*along)


def middle_of_hips(places: Places) -> Pixels:
    """Return the middle of the two hip points [px]."""
    return between(places["lead_hip"], places["trail_hip"])
