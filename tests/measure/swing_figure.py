"""A jointed figure in nine positions, drawn at random, and the true value of every measure.

World: x to the target, y to the left of the target line, z up, in metres; the figure is a
right-hander with his heels near y = 0 who faces -y. A left-hander is his mirror image in y.
Independent of the package under test.
"""

from dataclasses import dataclass, field

import numpy as np

POSITIONS = (
    "setup",
    "takeaway",
    "lead-arm-level",
    "top",
    "change-of-direction",
    "halfway-down",
    "impact",
    "halfway-through",
    "finish",
)

# Middle and half range of an even spread. Turns: lead side back (open) is positive, degrees.
# Tilts: lead side up is positive. side: trunk toward the target. Ways since set-up in metres.
# A trade's picture of the positions, wide enough for most players (common practice, no source).
RANGES = {
    "pelvis_turn": (0, -12, -28, -45, -35, 8, 38, 60, 85),
    "pelvis_turn_half": (9, 8, 10, 10, 10, 12, 12, 12, 12),
    "shoulder_turn": (0, -30, -60, -87, -78, -28, 13, 45, 100),
    "shoulder_turn_half": (9, 12, 12, 10, 10, 12, 14, 15, 15),
    "pelvis_tilt": (2, 0, -4, -8, -3, 3, 8, 10, 5),
    "pelvis_tilt_half": (4, 4, 4, 4, 5, 5, 6, 5, 5),
    "shoulder_tilt": (8, -5, -20, -32, -28, 5, 24, 30, 8),
    "shoulder_tilt_half": (6, 8, 8, 6, 7, 10, 8, 8, 8),
    "side": (-4, -3, -2, -1, -4, -10, -16, -18, -5),
    "side_half": (5, 5, 6, 8, 8, 8, 9, 9, 8),
    "bend": (35, 35, 34, 33, 34, 34, 33, 28, 5),
    "bend_half": (10, 9, 9, 9, 9, 9, 9, 8, 12),
    "lead_flex": (23, 25, 28, 30, 32, 26, 13, 6, 4),
    "lead_flex_half": (13, 12, 12, 12, 12, 10, 9, 5, 4),
    "trail_flex": (23, 21, 19, 17, 22, 30, 32, 38, 45),
    "trail_flex_half": (13, 12, 11, 10, 10, 10, 10, 10, 12),
    "way_x": (0, -0.005, -0.015, -0.01, 0.03, 0.07, 0.1, 0.14, 0.18),
    "way_x_half": (0, 0.03, 0.05, 0.07, 0.07, 0.07, 0.08, 0.08, 0.08),
    "way_y": (0, 0, 0, 0.01, 0.01, 0.01, 0.01, 0.0, -0.02),
    "way_y_half": (0, 0.01, 0.02, 0.03, 0.04, 0.04, 0.05, 0.06, 0.08),
    "way_z": (0, 0, 0, 0, -0.02, -0.02, 0.01, 0.03, 0.05),
    "way_z_half": (0, 0.005, 0.01, 0.02, 0.03, 0.03, 0.03, 0.03, 0.03),
    "heel_pivot": (0, 0, 0, 0, 0, 5, 15, 40, 72),
    "heel_pivot_half": (0, 0, 0, 0, 0, 5, 15, 20, 14),
    "foot_turn": (0, 0, 0, 0, 0, 8, 20, 45, 80),
    "foot_turn_half": (0, 0, 0, 0, 0, 8, 15, 20, 15),
    "lean": (3, 0, 0, 0, 0, 0, 6, 0, 0),
    "lean_half": (9, 0, 0, 0, 0, 0, 9, 0, 0),
}
NAMES = tuple(name for name in RANGES if not name.endswith("_half"))
WAYS = ("way_x", "way_y", "way_z", "heel_pivot", "foot_turn")


@dataclass
class Player:
    """Lengths and habits of one player, the same before and after."""

    size: float
    stance: float
    lead_flare: float
    trail_flare: float
    shaft: float
    lie: float
    trunk: float
    neck_above_shoulders: float
    ball_x: float
    habits: dict[str, np.ndarray] = field(default_factory=dict)


def random_player(rng: np.random.Generator) -> Player:
    """Return a player; `habits` holds each pose number for the nine positions."""
    habits = {
        name: np.asarray(RANGES[name], float)
        + np.asarray(RANGES[f"{name}_half"], float) * rng.uniform(-1, 1, 9)
        for name in NAMES
    }
    return Player(
        size=rng.uniform(0.88, 1.08),
        stance=rng.uniform(0.32, 0.6),
        lead_flare=rng.uniform(0, 30),
        trail_flare=rng.uniform(-3, 20),
        shaft=rng.uniform(0.65, 0.85),
        lie=rng.uniform(45, 66),
        trunk=rng.uniform(0.46, 0.52),
        neck_above_shoulders=rng.uniform(0.0, 0.05),
        ball_x=rng.uniform(-0.05, 0.2),
        habits=habits,
    )


def retaught(player: Player, rng: np.random.Generator, amount: float = 1.0) -> Player:
    """Return the player after a lesson: every habit moved within its range, feet set anew."""
    habits = {}
    for name, numbers in player.habits.items():
        half = np.asarray(RANGES[f"{name}_half"], float)
        habits[name] = numbers + amount * half * rng.uniform(-0.4, 0.4, 9)
    return Player(
        **{
            **player.__dict__,
            "habits": habits,
            "stance": player.stance * (1 + amount * rng.uniform(-0.1, 0.1)),
            "lead_flare": player.lead_flare + amount * rng.uniform(-6, 6),
            "trail_flare": player.trail_flare + amount * rng.uniform(-5, 5),
            "ball_x": player.ball_x + amount * rng.uniform(-0.04, 0.04),
        }
    )


def _across(half: float, tilt: float, turn: float) -> np.ndarray:
    t, r = np.radians(tilt), np.radians(turn)
    return half * np.array([np.cos(t) * np.cos(r), np.cos(t) * np.sin(r), np.sin(t)])


def _foot_way(turned_to_target: float) -> np.ndarray:
    """Return the horizontal direction of a foot, from facing the ball (0) to the target (90)."""
    a = np.radians(turned_to_target)
    return np.array([np.sin(a), -np.cos(a), 0.0])


def pose(player: Player, position: str, offset: np.ndarray) -> dict[str, np.ndarray]:
    """Return every landmark in world coordinates [m].

    `offset` moves the player on the ground (feet set anew between swings).
    """
    index = POSITIONS.index(position)
    h = {name: float(numbers[index]) for name, numbers in player.habits.items()}
    k = player.size
    p: dict[str, np.ndarray] = {}
    lead_way, trail_way = _foot_way(player.lead_flare), _foot_way(-player.trail_flare)
    p["lead_heel"] = np.array([player.stance / 2, 0, 0.005])
    p["lead_toe"] = p["lead_heel"] + 0.28 * k * lead_way
    flat_heel = np.array([-player.stance / 2, 0, 0.005])
    p["trail_toe"] = flat_heel + 0.28 * k * trail_way
    pivot = np.radians(h["heel_pivot"])
    way = _foot_way(-player.trail_flare + h["foot_turn"])
    back = -np.cos(pivot) * way + np.array([0, 0, np.sin(pivot)])
    p["trail_heel"] = p["trail_toe"] + 0.28 * k * back
    up = np.sin(pivot) * way + np.array([0, 0, np.cos(pivot)])
    p["lead_ankle"] = p["lead_heel"] + k * (0.06 * lead_way + np.array([0, 0, 0.09]))
    p["trail_ankle"] = p["trail_heel"] + k * (-0.06 * back + 0.09 * up)
    ways = np.array([h["way_x"], h["way_y"], h["way_z"]])
    p["pelvis"] = k * np.array([0, 0.13, 0.92]) + ways
    half = _across(0.13 * k, h["pelvis_tilt"], h["pelvis_turn"])
    p["lead_hip"], p["trail_hip"] = p["pelvis"] + half, p["pelvis"] - half
    trunk = np.array([np.tan(np.radians(h["side"])), -np.tan(np.radians(h["bend"])), 1.0])
    trunk /= np.linalg.norm(trunk)
    p["neck"] = p["pelvis"] + k * player.trunk * trunk
    middle = p["neck"] - k * player.neck_above_shoulders * trunk
    half = _across(0.19 * k, h["shoulder_tilt"], h["shoulder_turn"])
    p["lead_shoulder"], p["trail_shoulder"] = middle + half, middle - half
    p["head"] = p["neck"] + k * np.array([0.0, -0.07, 0.2])
    lead_knee_way = _foot_way(player.lead_flare)
    trail_knee_way = _foot_way(-player.trail_flare + h["foot_turn"])
    for side, flex, forward in (
        ("lead", h["lead_flex"], lead_knee_way),
        ("trail", h["trail_flex"], trail_knee_way),
    ):
        hip, ankle = p[f"{side}_hip"], p[f"{side}_ankle"]
        leg = ankle - hip
        length = np.linalg.norm(leg)
        out = forward - (forward @ leg) * leg / length**2
        out /= np.linalg.norm(out)
        p[f"{side}_knee"] = hip + leg / 2 + out * length / 2 * np.tan(np.radians(flex) / 2)
    ball = np.array([player.ball_x, -0.75 * k, 0.0])
    p["ball"] = ball
    if position in ("setup", "impact"):
        shaft = np.array([np.tan(np.radians(h["lean"])), 1 / np.tan(np.radians(player.lie)), 1.0])
        p["hosel"] = ball + np.array([0, 0.03, 0.03])
        p["handle"] = p["hosel"] + player.shaft * shaft / np.linalg.norm(shaft)
    return {name: place + offset for name, place in p.items()}


def _degrees(opposite: float, adjacent: float) -> float:
    return float(np.degrees(np.arctan2(opposite, adjacent)))


def _elevation(a: np.ndarray, b: np.ndarray) -> float:
    return float(np.degrees(np.arcsin((b - a)[2] / np.linalg.norm(b - a))))


def _flex(a: np.ndarray, b: np.ndarray, c: np.ndarray) -> float:
    u, v = b - a, c - b
    return _degrees(float(np.linalg.norm(np.cross(u, v))), float(u @ v))


def truth(measure: str, view: str, now: dict, setup: dict, unit: str) -> float:
    """Return the true value of a measure, from the definition, in `unit`."""
    d = now["neck"] - now["pelvis"]
    stance = abs(setup["lead_heel"][0] - setup["trail_heel"][0])
    if measure == "spine-forward-bend":
        return _degrees(-d[1], d[2])
    if measure == "spine-side-bend":
        return _degrees(d[0], d[2])
    if measure == "shaft-to-ground":
        s = now["handle"] - now["hosel"]
        return _degrees(s[2], s[1])
    if measure == "shaft-lean":
        s = now["handle"] - now["hosel"]
        return _degrees(s[0], s[2])
    if measure == "shoulder-line-tilt":
        return _elevation(now["trail_shoulder"], now["lead_shoulder"])
    if measure == "pelvis-line-tilt":
        return _elevation(now["trail_hip"], now["lead_hip"])
    if measure in ("lead-knee-flex", "trail-knee-flex"):
        side = measure.split("-")[0]
        return _flex(*(now[f"{side}_{joint}"] for joint in ("hip", "knee", "ankle")))
    if measure == "knee-over-ankle":
        s = now["lead_knee"] - now["lead_ankle"]
        return _degrees(s[0], s[2])
    if measure in ("pelvis-shift", "head-shift"):
        name = measure.split("-")[0]
        way = now[name][0] - setup[name][0]
        return 100 * way if unit == "cm" else 100 * way / stance
    if measure in ("pelvis-height", "head-height"):
        name = measure.split("-")[0]
        return 100 * (now[name][2] - setup[name][2]) / stance
    if measure in ("pelvis-toward-ball", "head-toward-ball"):
        name = measure.split("-")[0]
        shoe = float(np.linalg.norm(setup["trail_toe"] - setup["trail_heel"]))
        return -100 * (now[name][1] - setup[name][1]) / shoe
    if measure == "trail-shin-lean":
        s = now["trail_knee"] - now["trail_ankle"]
        return _degrees(s[0], s[2])
    if measure == "arms-from-plumb":
        s = now["handle"] - now["trail_shoulder"]
        return _degrees(-s[1], -s[2])
    if measure == "arms-to-shaft":
        u, v = now["handle"] - now["trail_shoulder"], now["hosel"] - now["handle"]
        return _degrees(-v[1], -v[2]) - _degrees(-u[1], -u[2])
    if measure == "ball-distance":
        along = (now["lead_toe"] - now["trail_toe"])[:2]
        way = (now["ball"] - now["trail_toe"])[:2]
        return 100 * abs(along[0] * way[1] - along[1] * way[0]) / float(np.linalg.norm(along))
    if measure == "heel-lift":
        lift = now["trail_heel"][2] - setup["trail_heel"][2]
        shoe = np.linalg.norm(setup["trail_toe"] - setup["trail_heel"])
        return 100 * lift / (shoe if unit == "% of shoe length" else stance)
    if measure.startswith("foot-flare"):
        side = measure.split("-")[-1]
        s = now[f"{side}_toe"] - now[f"{side}_heel"]
        return _degrees(s[0] if side == "lead" else -s[0], -s[1])
    if measure == "stance-width":
        if unit == "cm":
            return 100 * stance
        return 100 * stance / float(np.linalg.norm(now["lead_shoulder"] - now["trail_shoulder"]))
    if measure == "ball-position":
        return 100 * (now["ball"][0] - now["trail_heel"][0]) / stance
    if measure == "toe-line-aim":
        s = now["lead_toe"] - now["trail_toe"]
        return _degrees(-s[1], s[0])
    raise KeyError(measure)
