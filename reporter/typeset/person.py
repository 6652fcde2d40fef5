"""A person as a calm outline drawing: trunk, tapered limbs, head with a cap, shoes, club in hand.

Everything is drawn from joints on the page (y down), in their unit; a limb with a joint missing
is left out. There is no face. Widths are shares of the person's height and a plain drawing
choice: a lightly built adult in a shirt with short sleeves and long trousers.
"""

import math

from reporter.typeset.body import Body, Limb, Look
from reporter.typeset.boxes import XY, Box, Disc, Path
from reporter.typeset.outlines import (
    Piece,
    Station,
    as_one,
    between,
    beyond,
    cut,
    direction,
    disc_points,
    ellipse,
    hull,
    limb,
    smooth,
)
from reporter.typeset.strokes import WHITE

ORDER: tuple[Limb, ...] = ("lead-leg", "trail-leg", "lead-arm", "trail-arm")
"""In which order limbs behind the trunk are drawn."""

BALL_RADIUS_SHARE = 0.0122
"""A ball's radius of 21.3 mm (at least 42.67 mm across by the Rules of Golf, part 2 of the
equipment rules) over a height of 1.75 m."""


def person(body: Body, look: Look) -> tuple[Box, ...]:
    """Return the boxes of a person, with the club where ``handle`` and ``hosel`` are known."""
    if body.hands_behind_head:
        return tuple(_finishing(body, look))
    boxes: list[Box] = []
    for limb_name in ORDER:
        if limb_name not in body.in_front:
            boxes += _limb(body, limb_name, look)
    boxes += _trunk(body, look) + _head(body, look)
    for limb_name in body.in_front:
        boxes += _limb(body, limb_name, look)
    club = body.at("handle", "hosel")
    if club:
        boxes += club_boxes(club[0], club[1], body, look)
    for side in ("lead", "trail"):
        hand, holding = _hand(body, side, look)
        if holding or f"{side}-arm" in body.in_front:
            boxes += as_one(hand, look.outline, look.ink)
    return tuple(boxes)


def _finishing(body: Body, look: Look) -> list[Box]:
    """Return a person turned to the target, the hands and the club behind the head."""
    boxes: list[Box] = []
    for side in ("lead", "trail"):
        if f"{side}-leg" not in body.in_front:
            boxes += _leg(body, side, look)
    boxes += _arm(body, "lead", look) + _arm(body, "trail", look)
    club = body.at("handle", "hosel")
    if club:
        boxes += club_boxes(club[0], club[1], body, look)
    for side in ("lead", "trail"):
        boxes += as_one(_hand(body, side, look)[0], look.outline, look.ink)
    boxes += _trunk(body, look) + _head(body, look)
    for side in ("lead", "trail"):
        if f"{side}-leg" in body.in_front:
            boxes += _leg(body, side, look)
    return boxes + _arm(body, "trail", look, upper_only=True)


def _limb(body: Body, name: Limb, look: Look) -> list[Box]:
    side, part = name.split("-")
    if part == "leg":
        return _leg(body, side, look)
    boxes = _arm(body, side, look)
    if name not in body.in_front:
        boxes += as_one(_hand(body, side, look)[0], look.outline, look.ink)
    return boxes


def _arm(body: Body, side: str, look: Look, *, upper_only: bool = False) -> list[Box]:
    size = body.height
    pieces: list[Piece] = []
    lines: list[Box] = []
    lower = body.at(f"{side}_elbow", f"{side}_wrist")
    upper = body.at(f"{side}_shoulder", f"{side}_elbow")
    if lower and not upper_only:
        elbow, wrist = lower
        stations: list[Station] = [
            (elbow, 0.0225 * size),
            (between(elbow, wrist, 0.28), 0.0235 * size),
            (wrist, 0.0155 * size),
        ]
        pieces += limb(stations, look.skin)
    if upper:
        shoulder, elbow = upper
        cuff = between(shoulder, elbow, 0.62)
        pieces += limb([(cuff, 0.026 * size), (elbow, 0.0225 * size)], look.skin)
        sleeve = limb([(shoulder, 0.036 * size), (cuff, 0.0315 * size)], look.shirt, flat_end=True)
        pieces += sleeve
        edge = cut(shoulder, cuff, 0.0315 * size)
        lines.append(Path(tuple(edge), look.outline, look.ink))
    return as_one(pieces, look.outline, look.ink) + lines


def _hand(body: Body, side: str, look: Look) -> tuple[list[Piece], bool]:
    """Return a hand, and whether it holds the club."""
    arm = body.at(f"{side}_elbow", f"{side}_wrist")
    if not arm:
        return [], False
    elbow, wrist = arm
    holding = False
    size = body.height
    along = direction(elbow, wrist)
    reach = 0.042 * size
    grip = body.at("handle", "hosel")
    if grip:
        # A hand that holds the club lies across the nearest part of the grip.
        down = direction(grip[0], grip[1])
        share = (wrist[0] - grip[0][0]) * down[0] + (wrist[1] - grip[0][1]) * down[1]
        place = beyond(grip[0], down, min(max(share + 0.02 * size, 0.03 * size), 0.15 * size))
        holding = math.dist(place, wrist) < 0.11 * size
        if holding:
            if math.dist(place, wrist) > 1e-6:
                along = direction(wrist, place)
            reach = math.dist(wrist, place) + 0.004 * size
    palm = between(wrist, beyond(wrist, along, reach), 0.6)
    stations = [
        (wrist, 0.0155 * size),
        (palm, 0.0195 * size),
        (beyond(wrist, along, reach), 0.0165 * size),
    ]
    return limb(stations, look.skin), holding


def _leg(body: Body, side: str, look: Look) -> list[Box]:
    size = body.height
    pieces: list[Piece] = []
    shoe: list[Piece] = []
    thigh = body.at(f"{side}_hip", f"{side}_knee")
    shin = body.at(f"{side}_knee", f"{side}_ankle")
    lines: list[Box] = []
    if shin:
        knee, ankle = shin
        hem = between(knee, ankle, 0.97)
        calf: list[Station] = [
            (knee, 0.036 * size),
            (between(knee, ankle, 0.3), 0.0355 * size),
            (hem, 0.0275 * size),
        ]
        pieces += limb(calf, look.trousers, flat_end=True)
        lines.append(Path(tuple(cut(knee, hem, 0.0275 * size)), look.outline, look.ink))
        shoe = _shoe(body, side, knee, look)
    if thigh:
        hip, knee = thigh
        pieces += limb(
            [
                (hip, 0.045 * size),
                (between(hip, knee, 0.35), 0.045 * size),
                (knee, 0.036 * size),
            ],
            look.trousers,
        )
        other = body.at(f"{'trail' if side == 'lead' else 'lead'}_hip")
        if other:
            pieces.append(
                Piece(
                    hull([*disc_points(hip, 0.045 * size), *disc_points(other[0], 0.045 * size)]),
                    look.trousers,
                )
            )
    return as_one(shoe, look.outline, look.ink) + as_one(pieces, look.outline, look.ink) + lines


def _shoe(body: Body, side: str, knee: XY, look: Look) -> list[Piece]:
    """Return a shoe; without a toe it is left out, without a heel the heel is worked out."""
    size = body.height
    if f"{side}_toe" not in body.points:
        return []
    ankle, toe = body.points[f"{side}_ankle"], body.points[f"{side}_toe"]
    down = direction(knee, ankle)
    long_way = math.dist(ankle, toe) > 0.085 * size
    heel = body.points.get(f"{side}_heel")
    if heel is None:
        sole = beyond(ankle, down, 0.03 * size)
        heel = beyond(sole, direction(toe, sole), 0.03 * size) if long_way else sole
    front = 0.0165 if long_way and body.seen == "down-the-line" else 0.026
    ball = between(heel, toe, 0.7)
    points = [
        *disc_points(ankle, 0.024 * size),
        *disc_points(heel, 0.018 * size),
        *disc_points(ball, max(front, 0.02) * size),
    ]
    tip = between(toe, heel, 0.0 if long_way else 0.1)
    return [
        Piece(hull(points), look.shoes),
        Piece(
            hull([*disc_points(ball, max(front, 0.02) * size), *disc_points(tip, front * size)]),
            look.shoes,
        ),
    ]


def _trunk(body: Body, look: Look) -> list[Box]:
    size = body.height
    neck, pelvis = body.middle("neck", "shoulder"), body.middle("pelvis", "hip")
    if neck is None or pelvis is None:
        return []
    shoulders = [body.points[n] for n in ("lead_shoulder", "trail_shoulder") if n in body.points]
    hips = [body.points[n] for n in ("lead_hip", "trail_hip") if n in body.points]
    chest, waist = between(neck, pelvis, 0.34), between(neck, pelvis, 0.70)
    across = (hips[1][0] - hips[0][0], hips[1][1] - hips[0][1]) if len(hips) == 2 else (0.0, 0.0)
    # Seen from the side a shoulder is a round thing in the middle of the chest's depth.
    top = [*disc_points(beyond(neck, direction(neck, pelvis), 0.02 * size), 0.026 * size)]
    for shoulder in shoulders:
        top += disc_points(shoulder, 0.036 * size)
    ribs = disc_points(chest, 0.069 * size)
    middle = [p for s in (-0.26, 0.26) for p in disc_points(_moved(waist, across, s), 0.056 * size)]
    # The shirt hangs over the belt and ends in a straight hem below the hip joints.
    down = direction(neck, pelvis)
    hem = beyond(pelvis, down, 0.046 * size)
    depth = (0.046 if body.in_profile else 0.034) * size
    low = []
    for share in (-0.5, 0.5):
        place = _moved(hem, across, share)
        for aside in (-depth, depth):
            low += disc_points(beyond(place, down, -0.012 * size, aside=aside), 0.012 * size)
    for hip in hips:
        low += disc_points(hip, 0.047 * size)
    pieces = [Piece(hull(part), look.shirt) for part in (top + ribs, ribs + middle, middle + low)]
    return as_one(pieces, look.outline, look.ink)


def _moved(point: XY, across: XY, share: float) -> XY:
    return (point[0] + share * across[0], point[1] + share * across[1])


def _head(body: Body, look: Look) -> list[Box]:
    if "head" not in body.points:
        return []
    size, head = body.height, body.points["head"]
    neck = body.middle("neck", "shoulder")
    up = direction(neck, head) if neck and math.dist(neck, head) > 1e-6 else (0.0, -1.0)
    side_on = body.in_profile
    half_width = (0.052 if side_on else 0.046) * size
    boxes: list[Box] = []
    # The normal of `up` is (-v, u): straight up it points to the right of the page.
    front = body.facing if body.seen == "down-the-line" else body.toward_target
    if neck:
        # The neck ends inside the collar, which the trunk's outline has drawn.
        throat = limb([(between(neck, head, 0.08), 0.027 * size), (head, 0.027 * size)], look.skin)
        boxes += as_one(throat, look.outline, look.ink)
    skull = Piece(ellipse(head, up, 0.064 * size, half_width), look.skin)
    boxes += as_one([skull], look.outline, look.ink)
    brow = 0.016 * size
    dome = smooth(
        [
            beyond(head, up, brow + along * size, aside=aside * half_width)
            for along, aside in (
                (-0.004, -1.06),
                (0.022, -0.98),
                (0.043, -0.62),
                (0.053, 0.0),
                (0.043, 0.62),
                (0.022, 0.98),
                (-0.004, 1.06),
            )
        ]
    )
    cap = [Piece(dome, look.cap)]
    if side_on:
        tip = beyond(head, up, brow - 0.012 * size, aside=front * (half_width + 0.045 * size))
        root = beyond(head, up, brow + 0.002 * size, aside=front * half_width * 0.4)
        cap.append(
            Piece(
                hull([*disc_points(root, 0.006 * size), *disc_points(tip, 0.005 * size)]), look.cap
            )
        )
        boxes += as_one(cap, look.outline, look.ink)
    else:
        boxes += as_one(cap, look.outline, look.ink)
        brim = smooth(
            [
                beyond(head, up, brow + along * size, aside=aside * half_width)
                for along, aside in (
                    (0.002, -1.0),
                    (0.008, 0.0),
                    (0.002, 1.0),
                    (-0.014, 0.72),
                    (-0.021, 0.0),
                    (-0.014, -0.72),
                )
            ],
            closed=True,
        )
        boxes += as_one([Piece(brim, look.cap)], look.outline, look.ink)
    return boxes


def club_boxes(handle: XY, hosel: XY, body: Body, look: Look) -> list[Box]:
    """Return a club: grip, shaft and a head whose toe points away from the player."""
    size = body.height
    u = direction(handle, hosel)
    grip_end = beyond(handle, u, min(0.15 * size, 0.3 * math.dist(handle, hosel)))
    boxes: list[Box] = [
        Path((handle, hosel), look.shaft + 0.5, WHITE),
        Path((handle, hosel), look.shaft, look.ink),
        Path((handle, grip_end), look.grip, look.ink, round_cap=True),
    ]
    if body.seen == "down-the-line":
        # A lie angle of about 60 degrees: at address the blade rests flat on the ground.
        away = body.facing
        outline = [
            beyond(
                hosel,
                u,
                (0.5 * b - 0.87 * t) * 0.05 * size,
                aside=-away * (0.87 * b + 0.5 * t) * 0.05 * size,
            )
            for b, t in (
                (-0.15, -0.05),
                (0.15, -0.28),
                (0.9, -0.24),
                (1.4, -0.05),
                (1.5, 0.35),
                (1.15, 0.62),
                (0.5, 0.3),
                (0.1, 0.28),
            )
        ]
    else:
        outline = [
            beyond(hosel, u, along * 0.042 * size, aside=-body.toward_target * side * 0.042 * size)
            for along, side in (
                (-0.15, 0.16),
                (0.3, 0.42),
                (0.85, 0.44),
                (1.05, 0.2),
                (1.0, -0.55),
                (0.65, -0.9),
                (0.15, -0.62),
                (-0.12, -0.14),
            )
        ]
    head = Piece(smooth(outline, closed=True, steps=6), look.shoes)
    return boxes + as_one([head], look.outline, look.ink)


def ball_boxes(at: XY, radius: float, look: Look) -> list[Box]:
    """Return a ball as a ring filled white."""
    return [Disc(at[0], at[1], radius, look.outline, look.ink, fill=WHITE)]
