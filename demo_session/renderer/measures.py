"""True angles and distances of a figure, computed from its joints in space."""

from __future__ import annotations

import math
from collections.abc import Mapping

import numpy as np

from demo_session.renderer.vectors import Vector, unit

DEFINITIONS = {
    "spine_side_bend_deg": "direction pelvis to neck projected on the x-z plane, against the "
    "vertical; positive = leaning away from the target",
    "spine_forward_bend_deg": "direction pelvis to neck projected on the y-z plane, against the "
    "vertical; positive = leaning toward the ball",
    "shoulder_line_tilt_deg": "angle of the line trail shoulder to lead shoulder with the level, "
    "in space; positive = lead shoulder higher",
    "shoulder_line_tilt_x_z_deg": "the same line projected on the x-z plane, against the level, "
    "in -90..90; positive = the end nearer to the target is higher",
    "pelvis_line_tilt_deg": "angle of the line trail hip to lead hip with the level, in space; "
    "positive = lead hip higher",
    "pelvis_line_tilt_x_z_deg": "the same line projected on the x-z plane, against the level, in "
    "-90..90; positive = the end nearer to the target is higher",
    "pelvis_shift_percent": "x of pelvis minus x of pelvis at set-up of the same swing, in "
    "percent of the stance width at set-up; positive = toward the target",
    "knee_flex_lead_deg": "180 degrees minus the angle hip-knee-ankle of the lead leg, in space",
    "knee_flex_trail_deg": "180 degrees minus the angle hip-knee-ankle of the trail leg, in space",
    "shaft_lean_deg": "direction hosel to handle projected on the x-z plane, against the "
    "vertical; positive = handle toward the target",
    "shaft_to_ground_deg": "direction hosel to handle projected on the y-z plane, against the "
    "level direction away from the ball, 0..180",
    "heel_lift_lead_deg": "angle of the line toe to heel of the lead foot with the level, in "
    "space; positive = heel off the ground",
    "heel_lift_trail_deg": "angle of the line toe to heel of the trail foot with the level, in "
    "space; positive = heel off the ground",
    "heel_height_lead_cm": "z of the lead heel",
    "heel_height_trail_cm": "z of the trail heel",
    "foot_flare_lead_deg": "direction heel to toe of the lead foot projected on the ground, "
    "against the line square to the target line; positive = toes toward the target",
    "foot_flare_trail_deg": "direction heel to toe of the trail foot projected on the ground, "
    "against the line square to the target line; positive = toes away from the target",
    "stance_width_cm": "distance lead heel to trail heel, in space",
    "ball_behind_lead_heel_cm": "x of the lead heel minus x of the ball; positive = the ball lies "
    "farther from the target than the heel",
}


def _steep(line: Vector) -> float:
    """Angle of a line with the level in degrees, -90..90."""
    return math.degrees(math.asin(float(unit(line)[2])))


def _steep_in_target_plane(line: Vector) -> float:
    """Angle with the level in the x-z plane in degrees, whichever way the line was taken."""
    return math.degrees(math.atan2(line[2] * math.copysign(1.0, line[0]), abs(line[0])))


def _flex(joints: Mapping[str, Vector], side: str) -> float:
    """Bend of one knee in degrees."""
    thigh = joints[f"{side}_hip"] - joints[f"{side}_knee"]
    shank = joints[f"{side}_ankle"] - joints[f"{side}_knee"]
    crossing = float(np.linalg.norm(np.cross(thigh, shank)))
    return 180.0 - math.degrees(math.atan2(crossing, float(thigh @ shank)))


def measured(
    joints: Mapping[str, Vector], setup: Mapping[str, Vector], toward_ball: float
) -> dict[str, float]:
    """All true values of one frame; the keys and meanings stand in ``DEFINITIONS``.

    Parameters
    ----------
    joints, setup : mapping of str to ndarray, shape (3,)
        Joints in world metres of this frame and of the set-up of the same swing.
    toward_ball : float
        Sign of y from the golfer to the ball: -1 right-handed, +1 left-handed.
    """
    spine = joints["neck"] - joints["pelvis"]
    shoulders = joints["lead_shoulder"] - joints["trail_shoulder"]
    hips = joints["lead_hip"] - joints["trail_hip"]
    shaft = joints["handle"] - joints["hosel"]
    stance = float(np.linalg.norm(setup["lead_heel"] - setup["trail_heel"]))
    values = {
        "spine_side_bend_deg": math.degrees(math.atan2(-spine[0], spine[2])),
        "spine_forward_bend_deg": math.degrees(math.atan2(toward_ball * spine[1], spine[2])),
        "shoulder_line_tilt_deg": _steep(shoulders),
        "shoulder_line_tilt_x_z_deg": _steep_in_target_plane(shoulders),
        "pelvis_line_tilt_deg": _steep(hips),
        "pelvis_line_tilt_x_z_deg": _steep_in_target_plane(hips),
        "pelvis_shift_percent": 100.0 * (joints["pelvis"][0] - setup["pelvis"][0]) / stance,
        "knee_flex_lead_deg": _flex(joints, "lead"),
        "knee_flex_trail_deg": _flex(joints, "trail"),
        "shaft_lean_deg": math.degrees(math.atan2(shaft[0], shaft[2])),
        "shaft_to_ground_deg": math.degrees(math.atan2(shaft[2], -toward_ball * shaft[1])),
        "stance_width_cm": 100.0
        * float(np.linalg.norm(joints["lead_heel"] - joints["trail_heel"])),
        "ball_behind_lead_heel_cm": 100.0 * (joints["lead_heel"][0] - joints["ball"][0]),
    }
    for side, outward in (("lead", 1.0), ("trail", -1.0)):
        foot = joints[f"{side}_toe"] - joints[f"{side}_heel"]
        values[f"heel_lift_{side}_deg"] = _steep(-foot)
        values[f"heel_height_{side}_cm"] = 100.0 * float(joints[f"{side}_heel"][2])
        values[f"foot_flare_{side}_deg"] = math.degrees(
            math.atan2(outward * foot[0], toward_ball * foot[1])
        )
    return {key: values[key] for key in DEFINITIONS}
