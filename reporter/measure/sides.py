"""Whether the points of a frame fit the view, the side the player plays from, and each other."""

import math
from collections.abc import Mapping

from reporter.measure.geometry import Pixels
from reporter.session.schema import Frame, Take
from reporter.speech import later, say

FOOT_FAR_SIDE = {
    "right": later(
        "the lead foot should be nearer the target, on the right of this face-on picture, but it "
        "is not: lead and trail may be swapped, or the clip is mirrored"
    ),
    "left": later(
        "the lead foot should be nearer the target, on the left of this face-on picture, but it "
        "is not: lead and trail may be swapped, or the clip is mirrored"
    ),
}
JOINT_FAR_SIDE = {
    "knee": later(
        "the lead knee should be nearer the target than the trail knee, but it is not: lead and "
        "trail may be swapped, or the clip is mirrored"
    ),
    "hip": later(
        "the lead hip should be nearer the target than the trail hip, but it is not: lead and "
        "trail may be swapped, or the clip is mirrored"
    ),
}
WRONG_SIDE = {
    "right": later(
        "{seen} should be on the right of this down-the-line picture, but it is not: the clip may "
        "be mirrored, or the player plays from the other side"
    ),
    "left": later(
        "{seen} should be on the left of this down-the-line picture, but it is not: the clip may "
        "be mirrored, or the player plays from the other side"
    ),
}
TOE_SEEN = {
    "trail": later("the trail toe, seen from its heel,"),
    "lead": later("the lead toe, seen from its heel,"),
}
"""What speaks against the lesson file, by the side of the picture, the joint or the foot."""
FEET = ("ankle", "heel", "toe")


def contradiction(
    frame: Frame, take: Take, places: Mapping[str, Pixels], side: int, click_error: float
) -> str:
    """Return why the points contradict the lesson file, in plain words; empty if they do not.

    Parameters
    ----------
    frame, take : Frame, Take
        The frame and its clip.
    places : mapping
        Point name to place on the levelled picture [px].
    side : int
        +1 where the target (face-on) or the ball (down-the-line) is to the right, else -1.
    click_error : float
        Standard deviation of a click on this picture [px]; differences within four of it are
        no evidence.
    """
    doubt = 4.0 * click_error
    if take.view == "face-on":
        return _face_on(frame, places, side, doubt)
    if take.view == "down-the-line":
        return _down_the_line(frame, places, side, doubt)
    return ""


def _face_on(frame: Frame, places: Mapping[str, Pixels], side: int, doubt: float) -> str:
    target = "right" if side > 0 else "left"
    stance = _mean_difference(places, 0)
    if stance is not None and side * stance < -doubt:
        return say(FOOT_FAR_SIDE[target])
    if frame.position not in ("setup", "impact"):
        return ""
    for joint in ("knee", "hip"):
        if f"lead_{joint}" in places and f"trail_{joint}" in places:
            apart = side * (places[f"lead_{joint}"][0] - places[f"trail_{joint}"][0])
            if apart < -doubt:
                return say(JOINT_FAR_SIDE[joint])
    feet = [places[name] for name in ("lead_heel", "trail_heel") if name in places]
    if frame.position == "setup" and "ball" in places and len(feet) == 2:
        middle = (feet[0][0] + feet[1][0]) / 2.0
        width = abs(feet[0][0] - feet[1][0])
        if abs(places["ball"][0] - middle) > 1.5 * width + doubt:
            return say("the ball lies far outside the stance: the view may be down-the-line")
    return ""


def _down_the_line(frame: Frame, places: Mapping[str, Pixels], side: int, doubt: float) -> str:
    ball_side = "right" if side > 0 else "left"
    wrong = WRONG_SIDE[ball_side]
    if frame.position not in ("setup", "impact"):
        return ""
    for foot in ("trail", "lead"):
        heel, toe = places.get(f"{foot}_heel"), places.get(f"{foot}_toe")
        if heel and toe and side * (toe[0] - heel[0]) < -doubt:
            return say(wrong, seen=say(TOE_SEEN[foot]))
    if (
        "ball" in places
        and "pelvis" in places
        and side * (places["ball"][0] - places["pelvis"][0]) < -doubt
    ):
        return say(wrong, seen=say("the ball, seen from the pelvis,"))
    if (
        "hosel" in places
        and "handle" in places
        and side * (places["hosel"][0] - places["handle"][0]) < -doubt
    ):
        return say(wrong, seen=say("the club head, seen from the handle,"))
    farther = _mean_difference(places, 1)
    if frame.position == "setup" and farther is not None and farther > doubt:
        return say(
            "the lead foot should stand farther from the camera, higher on this down-the-line "
            "picture, but it stands lower: lead and trail may be swapped, or the camera stood "
            "in front of the player"
        )
    return ""


def _mean_difference(places: Mapping[str, Pixels], axis: int) -> float | None:
    """Return lead minus trail of the feet along a picture axis [px], None without a pair."""
    differences = [
        places[f"lead_{part}"][axis] - places[f"trail_{part}"][axis]
        for part in FEET
        if f"lead_{part}" in places and f"trail_{part}" in places
    ]
    return math.fsum(differences) / len(differences) if differences else None
