"""A frame without its photograph: the person, club and ball drawn from the marked points."""

import math
from collections.abc import Callable, Mapping
from dataclasses import replace

from reporter.typeset.body import Body, Look, Seen, height_from
from reporter.typeset.boxes import XY, Box, Path
from reporter.typeset.outlines import beyond, direction
from reporter.typeset.person import BALL_RADIUS_SHARE, ball_boxes, club_boxes, person
from reporter.typeset.style import Style

SMALLEST_BALL = 0.55
OUTLINE = 0.22
"""Thinner than any measure mark, which lies on top."""


def drawn_figure(
    points: Mapping[str, XY],
    *,
    to_page: Callable[[XY], XY],
    scale_mm_per_px: float,
    style: Style,
) -> tuple[Box, ...]:
    """Return a person drawn from the points of a frame, to lie under the measure marks.

    Parameters
    ----------
    points : mapping of name to (x, y)
        Marked points in pixels of the upright frame; any subset. What needs a missing point is
        left out.
    to_page : callable
        From pixels to millimetres on the page.
    scale_mm_per_px : float
        Millimetres on the page for one pixel of the frame.
    style : Style
        For the inks.

    Returns
    -------
    tuple of Box
        In paint order; may reach a little beyond the points, so a caller clips it.
    """
    placed = {name: to_page(point) for name, point in points.items()}
    pixels = height_from(points)
    height = None if pixels is None else pixels * scale_mm_per_px
    beside = height or 0.0
    if height is None and "handle" in placed and "hosel" in placed:
        # A club is about six tenths of a person's height long; a drawing choice.
        beside = math.dist(placed["handle"], placed["hosel"]) / 0.6
    look = Look(
        outline=OUTLINE,
        shaft=max(0.30, min(0.0085 * beside, 0.6)),
        grip=max(0.55, min(0.017 * beside, 1.3)),
        ink=style.secondary,
        shirt=style.tint,
        trousers="#FFFFFF",
        shoes=style.pale,
        cap=style.tint,
    )
    boxes = _ground(placed, height, style)
    ball_radius = SMALLEST_BALL
    if height is not None:
        ball_radius = max(ball_radius, BALL_RADIUS_SHARE * height)
    if "ball" in placed:
        boxes += ball_boxes(placed["ball"], ball_radius, look)
    if height is not None:
        boxes += person(body_of(with_whole_grip(placed, height), height), look)
    elif beside:
        boxes += club_boxes(placed["handle"], placed["hosel"], body_of(placed, beside), look)
    return tuple(boxes)


def with_whole_grip(placed: Mapping[str, XY], height: float) -> dict[str, XY]:
    """Return the points with ``handle`` moved up to the end of the grip.

    It is marked where the shaft leaves the lower hand; the grip goes on between the hands.
    """
    whole = dict(placed)
    if "handle" not in whole or "hosel" not in whole:
        return whole
    handle, hosel = whole["handle"], whole["hosel"]
    up = direction(hosel, handle)
    along = [
        (x - handle[0]) * up[0] + (y - handle[1]) * up[1]
        for x, y in (whole[n] for n in ("lead_wrist", "trail_wrist") if n in whole)
    ]
    if along:
        # No farther than two hands are wide, should a wrist be marked in a wrong place.
        reach = min(max(*along, 0.0) + 0.02 * height, 0.14 * height)
        whole["handle"] = beyond(handle, up, reach)
    return whole


def body_of(placed: Mapping[str, XY], height: float) -> Body:
    """Return the body with the side it is seen from, read off how the points lie."""
    seen = seen_from(placed, height)
    body = Body(
        placed,
        height,
        seen,
        facing=_facing(placed),
        toward_target=_toward_target(placed),
        in_front=("trail-arm", "lead-arm"),
    )
    # From the side, and in the finish, the trail side is the one near the camera.
    return replace(body, in_front=("trail-arm",)) if body.in_profile else body


def seen_from(placed: Mapping[str, XY], height: float) -> Seen:
    """Tell which way the camera looked: face-on spreads the feet, down the line their length.

    The feet hardly turn in a swing, so they are asked first; then hips and shoulders.
    """
    lengths = _forefeet(placed)
    if "lead_ankle" in placed and "trail_ankle" in placed:
        spread = abs(placed["lead_ankle"][0] - placed["trail_ankle"][0])
        if lengths:
            longest = max(lengths, key=abs)
            return "face-on" if spread > abs(longest) else "down-the-line"
        return "face-on" if spread > 0.12 * height else "down-the-line"
    if lengths and abs(max(lengths, key=abs)) > 0.09 * height:
        return "down-the-line"
    for pair, share in (("hip", 0.06), ("shoulder", 0.13)):
        one, other = placed.get(f"lead_{pair}"), placed.get(f"trail_{pair}")
        if one and other:
            return "face-on" if abs(one[0] - other[0]) > share * height else "down-the-line"
    return "face-on"


def _forefeet(placed: Mapping[str, XY]) -> list[float]:
    """Return how far each toe lies to the right of its ankle."""
    return [
        placed[f"{side}_toe"][0] - placed[f"{side}_ankle"][0]
        for side in ("lead", "trail")
        if f"{side}_toe" in placed and f"{side}_ankle" in placed
    ]


def _facing(placed: Mapping[str, XY]) -> int:
    """Return +1 where the player looks to the right of the page, else -1."""
    lengths = _forefeet(placed)
    if lengths:
        return 1 if sum(lengths) >= 0 else -1
    for front, back in (("ball", "pelvis"), ("hosel", "handle"), ("neck", "pelvis")):
        if front in placed and back in placed:
            return 1 if placed[front][0] >= placed[back][0] else -1
    return 1


def _toward_target(placed: Mapping[str, XY]) -> int:
    """Return +1 where the target is on the right of the page, else -1."""
    for joint in ("ankle", "toe", "heel", "hip", "knee", "shoulder"):
        lead, trail = placed.get(f"lead_{joint}"), placed.get(f"trail_{joint}")
        if lead and trail and abs(lead[0] - trail[0]) > 1e-6:
            return 1 if lead[0] > trail[0] else -1
    return 1


def _ground(placed: Mapping[str, XY], height: float | None, style: Style) -> list[Box]:
    """Return a hairline where the heels stand, as long as the stance and a margin."""
    soles = [placed[n] for n in ("lead_heel", "trail_heel") if n in placed]
    drop = 0.0
    if not soles:
        soles = [placed[n] for n in ("lead_ankle", "trail_ankle") if n in placed]
        drop = 0.045 * (height or 0.0)
    if not soles or height is None:
        return []
    on_ground = [*soles, *(placed[n] for n in ("lead_toe", "trail_toe", "ball") if n in placed)]
    y = max(y for _, y in soles) + drop
    left = min(x for x, _ in on_ground) - 0.12 * height
    right = max(x for x, _ in on_ground) + 0.12 * height
    return [Path(((left, y), (right, y)), 0.18, style.hairline)]
