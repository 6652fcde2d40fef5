"""Turn the numbers of a pose into the joints of a right-handed golfer."""

from __future__ import annotations

import math
from dataclasses import dataclass, field

import numpy as np

from demo_session.renderer.vectors import Vector, across, bent_joint, turned, unit, vector

UP = vector(0.0, 0.0, 1.0)


@dataclass(frozen=True)
class Build:
    """Body and club lengths in metres.

    The limb lengths are fractions of the stature after Drillis and Contini as printed in
    Winter, Biomechanics and Motor Control of Human Movement, fig. 4.1 (from memory).
    """

    stature: float = 1.74
    shaft: float = 0.87
    hosel_height: float = 0.058
    hosel_inside: float = 0.052
    face_ahead_of_hosel: float = 0.014
    ball_height: float = 0.052
    club: str = "driver"

    @property
    def scale(self) -> float:
        """Size relative to the adult figure."""
        return self.stature / 1.74

    @property
    def upper_arm(self) -> float:
        """Shoulder to elbow."""
        return 0.180 * self.stature

    @property
    def forearm(self) -> float:
        """Elbow to wrist."""
        return 0.146 * self.stature

    @property
    def thigh(self) -> float:
        """Hip to knee."""
        return 0.245 * self.stature

    @property
    def shank(self) -> float:
        """Knee to ankle."""
        return 0.240 * self.stature

    @property
    def foot(self) -> float:
        """Rear-most to front-most sole point of the shoe."""
        return 0.162 * self.stature

    @property
    def trunk(self) -> float:
        """Centre between the hips to the base of the neck."""
        return 0.288 * self.stature

    @property
    def half_shoulders(self) -> float:
        """Half the distance between the shoulder joints."""
        return 0.101 * self.stature

    @property
    def half_hips(self) -> float:
        """Half the distance between the hip joints."""
        return 0.054 * self.stature


@dataclass(frozen=True)
class Stance:
    """Where the heels stand (metres) and how far the feet point outward (degrees)."""

    centre_x: float = -0.16
    width: float = 0.50
    heel_y: float = 1.185
    lead_flare: float = 20.0
    trail_flare: float = 9.0


@dataclass(frozen=True)
class Pose:
    """One position of the swing, right-handed, target along +x, ball side toward -y.

    Angles are in degrees, places in metres. ``side_bend`` is positive away from the target,
    ``forward_bend`` positive toward the ball, turns are positive toward the target (open).
    With ``club_direction`` None the club stands behind the ball with ``shaft_to_ground`` and
    ``shaft_lean``; otherwise the lead arm points along ``lead_arm`` and the club along
    ``club_direction``.
    """

    ball_x: float
    pelvis_x: float
    pelvis_z: float
    forward_bend: float
    side_bend: float
    pelvis_turn: float = 0.0
    pelvis_tilt: float = 1.0
    shoulder_turn: float = 0.0
    shoulder_lift: float = 0.0
    pelvis_y: float = 1.10
    arm_stretch: float = 0.97
    shaft_to_ground: float = 49.0
    shaft_lean: float = 0.0
    ball_gap: float = 0.025
    face_turn: float = 0.0
    lead_arm: tuple[float, float, float] | None = None
    club_direction: tuple[float, float, float] | None = None
    lead_elbow: tuple[float, float, float] = (0.45, 0.25, -0.35)
    trail_elbow: tuple[float, float, float] = (-0.35, 0.35, -0.6)
    lead_shoulder_push: tuple[float, float, float] = (0.0, 0.0, 0.0)
    trail_shoulder_push: tuple[float, float, float] = (0.0, 0.0, 0.0)
    lead_knee: tuple[float, float, float] | None = None
    trail_knee: tuple[float, float, float] | None = None
    trail_heel_lift: float = 0.0
    lead_heel_lift: float = 0.0
    trail_foot_turn: float = 0.0
    gaze: tuple[float, float, float] | None = None
    head_shift: tuple[float, float, float] = (0.0, 0.0, 0.0)
    ball_gone: bool = False
    stance: Stance = field(default_factory=Stance)


@dataclass(frozen=True)
class Foot:
    """A shoe: sole points, and the axes of its rear part and of its toe part."""

    heel: Vector
    ball: Vector
    toe: Vector
    rear_forward: Vector
    rear_up: Vector
    toe_forward: Vector
    toe_up: Vector
    ankle: Vector


@dataclass(frozen=True)
class Figure:
    """Joints (metres, world) with the axes the modelling needs."""

    build: Build
    pose: Pose
    joints: dict[str, Vector]
    feet: dict[str, Foot]
    spine: Vector
    shaft_direction: Vector
    hand_tops: dict[str, Vector]
    hand_centres: dict[str, Vector]
    face: Vector
    club_toe: Vector
    club_up: Vector
    gaze: Vector


def placed_foot(build: Build, stance: Stance, pose: Pose, side: str) -> Foot:
    """Put one shoe on the ground, bent at its ball where the heel is lifted."""
    sign = 1.0 if side == "lead" else -1.0
    flare = math.radians(stance.lead_flare if side == "lead" else stance.trail_flare)
    forward = vector(sign * math.sin(flare), -math.cos(flare), 0.0)
    heel = vector(stance.centre_x + sign * stance.width / 2.0, stance.heel_y, 0.0)
    toe = heel + build.foot * forward
    lift = pose.lead_heel_lift if side == "lead" else pose.trail_heel_lift
    if side == "trail" and pose.trail_foot_turn:
        forward = turned(forward, UP, pose.trail_foot_turn)
    toe_lift = max(0.0, lift - 38.0) * 0.95
    toe_forward = math.cos(math.radians(toe_lift)) * forward - math.sin(math.radians(toe_lift)) * UP
    toe_up = math.sin(math.radians(toe_lift)) * forward + math.cos(math.radians(toe_lift)) * UP
    rear_forward = math.cos(math.radians(lift)) * forward - math.sin(math.radians(lift)) * UP
    rear_up = math.sin(math.radians(lift)) * forward + math.cos(math.radians(lift)) * UP
    ball = toe - 0.28 * build.foot * toe_forward
    heel = ball - 0.72 * build.foot * rear_forward
    ankle = heel + (0.062 * rear_forward + 0.098 * rear_up) * build.scale
    return Foot(heel, ball, toe, rear_forward, rear_up, toe_forward, toe_up, ankle)


def joint_pair(
    centre: Vector, half: float, axis: Vector, turn_deg: float, tilt_deg: float
) -> tuple[Vector, Vector]:
    """Lead and trail end of a line across the body, turned about ``axis`` then tilted."""
    level = turned(across(vector(1.0, 0.0, 0.0), axis), axis, turn_deg)
    forward = np.cross(level, axis)
    line = turned(level, forward, -tilt_deg) if tilt_deg else level
    if (line - level) @ axis * tilt_deg < 0:
        line = turned(level, forward, tilt_deg)
    return centre + half * line, centre - half * line


def wrist_place(
    centre: Vector, direction: Vector, top: Vector, back: Vector, scale: float
) -> Vector:
    """Wrist joint of a hand that holds the grip at ``centre``."""
    angle = math.radians(33.0)
    around = math.cos(angle) * top + math.sin(angle) * back
    return centre + scale * (-0.054 * direction + 0.034 * around)


def solve(build: Build, pose: Pose) -> Figure:
    """Place all joints of one pose.

    Raises
    ------
    ValueError
        If the arms or legs cannot reach what the pose asks for.
    """
    if pose.club_direction is None:
        low, high = 0.85, 1.40
        for _ in range(40):
            middle = 0.5 * (low + high)
            figure, stretch = _assembled(build, pose, middle)
            if stretch > pose.arm_stretch:
                high = middle
            else:
                low = middle
    else:
        figure, _ = _assembled(build, pose, pose.pelvis_y)
    check_reach(figure)
    return figure


def check_reach(figure: Figure) -> None:
    """Refuse a pose whose limbs would have to be stretched by more than 3 per cent."""
    build, joints = figure.build, figure.joints
    chains = (
        ("shoulder", "wrist", build.upper_arm + build.forearm),
        ("hip", "ankle", build.thigh + build.shank),
    )
    for side in ("lead", "trail"):
        for start, end, length in chains:
            share = float(np.linalg.norm(joints[f"{side}_{end}"] - joints[f"{side}_{start}"]))
            share /= length
            if share > 1.03:
                message = f"the {side} {start} cannot reach its {end}: {share:.3f} of the length"
                raise ValueError(message)


def _assembled(build: Build, pose: Pose, pelvis_y: float) -> tuple[Figure, float]:
    """The figure with the pelvis at ``pelvis_y`` and the lead arm's stretch (1 = straight)."""
    scale = build.scale
    joints: dict[str, Vector] = {}
    feet = {side: placed_foot(build, pose.stance, pose, side) for side in ("lead", "trail")}
    pelvis = vector(pose.pelvis_x, pelvis_y, pose.pelvis_z)
    spine = unit(
        vector(
            -math.tan(math.radians(pose.side_bend)),
            -math.tan(math.radians(pose.forward_bend)),
            1.0,
        )
    )
    neck = pelvis + build.trunk * spine
    joints["pelvis"], joints["neck"] = pelvis, neck
    joints["lead_hip"], joints["trail_hip"] = joint_pair(
        pelvis, build.half_hips, UP, pose.pelvis_turn, pose.pelvis_tilt
    )
    lead_shoulder, trail_shoulder = joint_pair(
        neck - 0.012 * scale * spine,
        build.half_shoulders,
        spine,
        pose.shoulder_turn,
        pose.shoulder_lift,
    )
    joints["lead_shoulder"] = lead_shoulder + scale * vector(*pose.lead_shoulder_push)
    joints["trail_shoulder"] = trail_shoulder + scale * vector(*pose.trail_shoulder_push)

    ball = vector(pose.ball_x, 0.0, build.ball_height)
    joints["ball"] = ball
    arm = build.upper_arm + build.forearm
    lead_gap, trail_gap = 0.142 * scale, 0.046 * scale
    hosel = vector(
        pose.ball_x - 0.0214 - pose.ball_gap - build.face_ahead_of_hosel,
        build.hosel_inside,
        build.hosel_height,
    )
    if pose.club_direction is None:
        up_shaft = unit(
            vector(
                math.tan(math.radians(pose.shaft_lean)),
                1.0 / math.tan(math.radians(pose.shaft_to_ground)),
                1.0,
            )
        )
        direction = -up_shaft
        handle = hosel + build.shaft * up_shaft
        face_angle = math.radians(pose.face_turn)
        face = vector(math.cos(face_angle), math.sin(face_angle), 0.0)
        club_up = UP
        club_toe = np.cross(face, club_up)
    else:
        direction = unit(pose.club_direction)
        handle = vector(0.0, 0.0, 0.0)
    lead_top = across(vector(0.0, 0.3, 0.95), direction)
    trail_top = lead_top
    for _ in range(12):
        lead_back = np.cross(lead_top, direction)
        trail_back = -np.cross(trail_top, direction)
        if pose.club_direction is not None:
            assert pose.lead_arm is not None
            wrist = joints["lead_shoulder"] + pose.arm_stretch * arm * unit(pose.lead_arm)
            offset = wrist_place(vector(0, 0, 0), direction, lead_top, lead_back, scale)
            handle = wrist - offset + lead_gap * direction
        centres = {"lead": handle - lead_gap * direction, "trail": handle - trail_gap * direction}
        lead_wrist = wrist_place(centres["lead"], direction, lead_top, lead_back, scale)
        trail_wrist = wrist_place(centres["trail"], direction, trail_top, trail_back, scale)
        joints["lead_wrist"], joints["trail_wrist"] = lead_wrist, trail_wrist
        for side, hint in (("lead", pose.lead_elbow), ("trail", pose.trail_elbow)):
            joints[f"{side}_elbow"] = bent_joint(
                joints[f"{side}_shoulder"],
                joints[f"{side}_wrist"],
                build.upper_arm,
                build.forearm,
                vector(*hint),
            )
        lead_way = unit(joints["lead_elbow"] - centres["lead"])
        if pose.club_direction is None:
            lead_way = 0.55 * lead_way + 0.45 * UP
        lead_top = across(lead_way, direction)
        trail_elbow_top = across(joints["trail_elbow"] - centres["trail"], direction)
        trail_top = across(0.65 * lead_top + 0.35 * trail_elbow_top, direction)
    if pose.club_direction is not None:
        hosel = handle + build.shaft * direction
        lie = math.radians(49.0)
        face = turned(np.cross(lead_top, direction), direction, pose.face_turn)
        top = np.cross(direction, face)
        club_toe = math.cos(lie) * direction + math.sin(lie) * top
        club_up = -math.sin(lie) * direction + math.cos(lie) * top
    joints["handle"], joints["hosel"] = handle, hosel

    for side in ("lead", "trail"):
        foot = feet[side]
        joints[f"{side}_heel"], joints[f"{side}_toe"] = foot.heel, foot.toe
        joints[f"{side}_ankle"] = foot.ankle
        hint = pose.lead_knee if side == "lead" else pose.trail_knee
        joints[f"{side}_knee"] = bent_joint(
            joints[f"{side}_hip"],
            foot.ankle,
            build.thigh,
            build.shank,
            vector(*hint) if hint else foot.toe_forward + 0.15 * UP,
        )
    rest = unit(spine + 0.35 * UP + vector(0.0, -0.12, 0.0))
    head = neck + scale * (0.195 * rest + vector(*pose.head_shift))
    joints["head"] = head
    look_at = vector(*pose.gaze) if pose.gaze else ball
    figure = Figure(
        build, pose, joints, feet, spine, direction,
        {"lead": lead_top, "trail": trail_top}, centres, face, club_toe, club_up,
        unit(look_at - head),
    )  # fmt: skip
    stretch = float(np.linalg.norm(joints["lead_wrist"] - joints["lead_shoulder"])) / arm
    return figure, stretch
