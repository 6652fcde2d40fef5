"""The invented poses of the two demo lessons, all numbers in degrees and metres."""

from __future__ import annotations

from dataclasses import dataclass, replace

from demo_session.renderer.camera import Camera
from demo_session.renderer.figure import Build, Pose, Stance


@dataclass(frozen=True)
class Shot:
    """One frame to draw."""

    file: str
    view: str
    position: str
    when: str
    pose: Pose


@dataclass(frozen=True)
class Lesson:
    """A figure, its cameras, its ground marks and its frames."""

    name: str
    folder: str
    build: Build
    left_handed: bool
    cameras: dict[str, Camera]
    sticks: tuple[tuple[tuple[float, float, float], tuple[float, float, float]], ...]
    posts: tuple[tuple[float, float, float], ...]
    shots: tuple[Shot, ...]
    outfit: str


BALL_BEFORE, BALL_AFTER = 0.070, 0.000
CENTRE = -0.14

SETUP_BEFORE = Pose(
    ball_x=BALL_BEFORE, pelvis_x=CENTRE, pelvis_z=0.888, forward_bend=33.0, side_bend=2.0,
    pelvis_turn=2.0, pelvis_tilt=1.0, shoulder_turn=9.0, shoulder_lift=0.5,
    arm_stretch=0.925, shaft_to_ground=46.0, shaft_lean=-9.5, face_turn=1.0,
    trail_shoulder_push=(0.04, -0.080, -0.008), lead_shoulder_push=(-0.01, -0.02, -0.035),
)  # fmt: skip
SETUP_AFTER = replace(
    SETUP_BEFORE, ball_x=BALL_AFTER, forward_bend=32.6, side_bend=9.0, pelvis_turn=0.0,
    pelvis_tilt=1.5, shoulder_turn=1.0, shoulder_lift=1.0, shaft_to_ground=46.4, shaft_lean=-8.0,
    trail_shoulder_push=(0.03, -0.060, -0.034), lead_shoulder_push=(-0.01, -0.03, -0.020),
    face_turn=0.0,
)  # fmt: skip
LEVEL_BEFORE = Pose(
    ball_x=BALL_BEFORE, pelvis_x=CENTRE - 0.012, pelvis_y=1.20, pelvis_z=0.885,
    forward_bend=34.0, side_bend=0.5, pelvis_turn=-28.0, pelvis_tilt=-3.0,
    shoulder_turn=-62.0, shoulder_lift=0.0, arm_stretch=0.995,
    lead_arm=(-0.98, -0.02, 0.02), club_direction=(-0.30, 0.46, 0.83),
    lead_elbow=(0.1, 0.3, -0.9), trail_elbow=(-0.25, 0.45, -0.85),
    lead_shoulder_push=(-0.01, -0.02, 0.0),
)  # fmt: skip
LEVEL_AFTER = replace(
    LEVEL_BEFORE, ball_x=BALL_AFTER, side_bend=3.0, pelvis_turn=-30.0, shoulder_turn=-66.0,
    lead_arm=(-0.98, 0.06, 0.02), club_direction=(-0.28, 0.54, 0.79),
)  # fmt: skip
TOP_BEFORE = Pose(
    ball_x=BALL_BEFORE, pelvis_x=CENTRE + 0.000, pelvis_y=1.20, pelvis_z=0.890,
    forward_bend=34.5, side_bend=-2.0, pelvis_turn=-44.0, pelvis_tilt=-6.0,
    shoulder_turn=-88.0, shoulder_lift=0.0, arm_stretch=0.995,
    lead_arm=(-0.64, 0.42, 0.62), club_direction=(0.97, -0.14, 0.16),
    lead_elbow=(0.3, 0.5, -0.6), trail_elbow=(-0.30, 0.25, -0.92),
    lead_shoulder_push=(-0.02, -0.01, 0.025), trail_shoulder_push=(0.0, 0.0, 0.01),
    lead_knee=(-0.45, -0.9, 0.1),
)  # fmt: skip
TOP_AFTER = replace(
    TOP_BEFORE, ball_x=BALL_AFTER, pelvis_x=CENTRE + 0.008, side_bend=3.0, shoulder_turn=-90.0,
    lead_arm=(-0.66, 0.46, 0.59), club_direction=(0.985, -0.02, 0.12),
)  # fmt: skip
DOWN_BEFORE = Pose(
    ball_x=BALL_BEFORE, pelvis_x=CENTRE + 0.02, pelvis_y=1.18, pelvis_z=0.875,
    forward_bend=34.0, side_bend=0.0, pelvis_turn=8.0, pelvis_tilt=1.0,
    shoulder_turn=-22.0, shoulder_lift=0.0, arm_stretch=0.995,
    lead_arm=(-0.86, -0.22, -0.42), club_direction=(-0.55, 0.16, 0.82),
    lead_elbow=(0.2, 0.3, -0.8), trail_elbow=(-0.30, 0.35, -0.8),
    trail_knee=(0.15, -1.0, 0.1),
)  # fmt: skip
DOWN_AFTER = replace(
    DOWN_BEFORE, ball_x=BALL_AFTER, pelvis_x=CENTRE + 0.055, side_bend=8.0, pelvis_turn=12.0,
    shoulder_turn=-34.0, lead_arm=(-0.86, -0.06, -0.46), club_direction=(-0.52, 0.50, 0.69),
    trail_elbow=(-0.10, 0.20, -0.95),
)  # fmt: skip
IMPACT_BEFORE = Pose(
    ball_x=BALL_BEFORE, pelvis_x=CENTRE + 0.025, pelvis_z=0.898, forward_bend=30.0,
    side_bend=4.0, pelvis_turn=36.0, pelvis_tilt=4.0, shoulder_turn=30.0, shoulder_lift=2.0,
    arm_stretch=0.99, shaft_to_ground=49.0, shaft_lean=-3.0, ball_gap=0.001, face_turn=2.0,
    trail_shoulder_push=(0.02, -0.03, -0.02), lead_shoulder_push=(-0.01, -0.01, 0.0),
    lead_elbow=(0.4, 0.3, -0.3), trail_elbow=(-0.45, 0.25, -0.55),
    trail_heel_lift=16.0, trail_knee=(0.45, -0.9, 0.1), trail_foot_turn=5.0,
)  # fmt: skip
IMPACT_AFTER = replace(
    IMPACT_BEFORE, ball_x=BALL_AFTER, pelvis_x=CENTRE + 0.080, forward_bend=29.4,
    side_bend=14.0, pelvis_turn=38.0, pelvis_tilt=7.0, shoulder_turn=20.0, shoulder_lift=3.0,
    shaft_to_ground=49.3, shaft_lean=-2.0, face_turn=1.0, trail_heel_lift=20.0,
    trail_knee=(0.6, -0.8, 0.1),
)  # fmt: skip
FINISH_BEFORE = Pose(
    ball_x=BALL_BEFORE, pelvis_x=-0.02, pelvis_y=1.085, pelvis_z=0.905,
    forward_bend=6.0, side_bend=4.0, pelvis_turn=76.0, pelvis_tilt=2.0,
    shoulder_turn=98.0, shoulder_lift=0.0, arm_stretch=0.60,
    lead_arm=(0.50, 0.36, 0.79), club_direction=(-0.70, -0.60, -0.39),
    lead_elbow=(0.75, 0.45, -0.35), trail_elbow=(0.90, -0.10, -0.55),
    trail_shoulder_push=(0.065, 0.05, -0.015),
    trail_heel_lift=58.0, trail_foot_turn=42.0, trail_knee=(0.9, -0.45, 0.0),
    gaze=(60.0, -6.0, 3.0), ball_gone=True, head_shift=(-0.005, -0.01, 0.01),
)  # fmt: skip
FINISH_AFTER = replace(
    FINISH_BEFORE, ball_x=BALL_AFTER, pelvis_x=0.025, pelvis_turn=84.0, shoulder_turn=108.0,
    forward_bend=5.0, side_bend=7.0, trail_heel_lift=72.0, trail_foot_turn=52.0,
)  # fmt: skip

ADULT_POSES = {
    "setup": (SETUP_BEFORE, SETUP_AFTER),
    "lead-arm-level": (LEVEL_BEFORE, LEVEL_AFTER),
    "top": (TOP_BEFORE, TOP_AFTER),
    "halfway-down": (DOWN_BEFORE, DOWN_AFTER),
    "impact": (IMPACT_BEFORE, IMPACT_AFTER),
    "finish": (FINISH_BEFORE, FINISH_AFTER),
}
ADULT_FRAMES = {
    "face-on": ("setup", "lead-arm-level", "top", "impact", "finish"),
    "down-the-line": ("setup", "top", "halfway-down", "impact"),
}

JUNIOR_STANCE = Stance(
    centre_x=-0.03, width=0.34, heel_y=0.93, lead_flare=16.0, trail_flare=6.0
)
JUNIOR_SETUP_BEFORE = Pose(
    ball_x=0.0, pelvis_x=-0.03, pelvis_z=0.740, forward_bend=34.0, side_bend=1.0,
    shoulder_turn=3.0, shoulder_lift=1.0, arm_stretch=0.90, shaft_to_ground=57.0,
    trail_shoulder_push=(0.03, -0.065, -0.030), lead_shoulder_push=(-0.02, -0.02, -0.02),
    shaft_lean=-1.0, ball_gap=0.012, stance=JUNIOR_STANCE,
)  # fmt: skip
JUNIOR_SETUP_AFTER = replace(
    JUNIOR_SETUP_BEFORE, side_bend=4.0, shoulder_lift=2.0, shaft_lean=3.0, pelvis_x=-0.02
)
JUNIOR_IMPACT_BEFORE = replace(
    JUNIOR_SETUP_BEFORE, pelvis_x=-0.040, pelvis_z=0.755, forward_bend=30.0, side_bend=10.0,
    pelvis_turn=22.0, pelvis_tilt=3.0, shoulder_turn=14.0, shoulder_lift=2.0, arm_stretch=0.985,
    shaft_to_ground=59.0, shaft_lean=-4.0, ball_gap=0.001, trail_heel_lift=6.0,
    trail_knee=(0.25, -0.95, 0.1), trail_elbow=(-0.45, 0.25, -0.55),
)  # fmt: skip
JUNIOR_IMPACT_AFTER = replace(
    JUNIOR_IMPACT_BEFORE, pelvis_x=0.015, side_bend=7.0, pelvis_turn=32.0, shaft_lean=6.0,
    forward_bend=30.5, shaft_to_ground=58.5, trail_heel_lift=16.0, trail_knee=(0.5, -0.85, 0.1),
)  # fmt: skip
JUNIOR_POSES = {
    "setup": (JUNIOR_SETUP_BEFORE, JUNIOR_SETUP_AFTER),
    "impact": (JUNIOR_IMPACT_BEFORE, JUNIOR_IMPACT_AFTER),
}

ADULT = Lesson(
    name="adult",
    folder="frames",
    build=Build(),
    left_handed=False,
    cameras={
        "face-on": Camera((-0.15, -3.27, 1.02), (0.0, 1.0), 1.4, -1.4, 0.4, 1880.0),
        "down-the-line": Camera((-4.35, 0.80, 1.06), (1.0, 0.0), -1.1, -0.9, -0.4, 1990.0),
    },
    sticks=(
        ((-0.72, 0.865, 0.0), (0.38, 0.865, 0.0)),
        ((-0.72, 0.350, 0.0), (0.38, 0.350, 0.0)),
    ),
    posts=((1.17, 3.90, 1.70), (3.40, -0.55, 1.70)),
    shots=tuple(
        Shot(f"{view}-{when}-{position}.jpg", view, position, when, ADULT_POSES[position][number])
        for view, positions in ADULT_FRAMES.items()
        for position in positions
        for number, when in enumerate(("before", "after"))
    ),
    outfit="adult",
)
JUNIOR = Lesson(
    name="junior",
    folder="junior/frames",
    build=Build(
        stature=1.45, shaft=0.66, hosel_height=0.062, hosel_inside=0.040,
        face_ahead_of_hosel=0.004, ball_height=0.0214, club="iron",
    ),
    left_handed=True,
    cameras={"face-on": Camera((-0.05, 3.30, 1.00), (0.0, -1.0), -1.2, -1.9, 0.4, 2080.0)},
    sticks=(
        ((-0.60, -0.640, 0.0), (0.50, -0.640, 0.0)),
        ((-0.60, -0.150, 0.0), (0.50, -0.150, 0.0)),
    ),
    posts=((1.10, -3.4, 1.7),),
    shots=tuple(
        Shot(f"face-on-{when}-{position}.jpg", "face-on", position, when,
             JUNIOR_POSES[position][number])
        for position in JUNIOR_POSES
        for number, when in enumerate(("before", "after"))
    ),
    outfit="junior",
)  # fmt: skip
LESSONS = {"adult": ADULT, "junior": JUNIOR}
