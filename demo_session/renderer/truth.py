"""Write down what is true in the drawn frames: joints, pixels, hidden points, angles."""

from __future__ import annotations

import json
from collections.abc import Mapping
from typing import Any

import numpy as np

from demo_session.renderer.camera import Camera
from demo_session.renderer.fields import march
from demo_session.renderer.figure import solve
from demo_session.renderer.measures import DEFINITIONS, measured
from demo_session.renderer.picture import built_scene
from demo_session.renderer.poses import Lesson, Shot
from demo_session.renderer.shapes import Scene
from demo_session.renderer.vectors import Vector

_PAIRED = ("shoulder", "elbow", "wrist", "hip", "knee", "ankle", "heel", "toe")
POINT_NAMES = (
    "head", "neck", "pelvis",
    *(f"{side}_{name}" for name in _PAIRED for side in ("lead", "trail")),
    "handle", "hosel", "ball",
)  # fmt: skip
# how deep (metres) a point may lie under the surface that covers it before it counts as hidden
_DEPTH = {
    "head": 0.13, "neck": 0.11, "pelvis": 0.20, "shoulder": 0.095, "elbow": 0.062, "wrist": 0.052,
    "hip": 0.17, "knee": 0.092, "ankle": 0.085, "heel": 0.060, "toe": 0.060, "handle": 0.045,
    "hosel": 0.035, "ball": 0.030,
}  # fmt: skip

_FROM_OUTLINE = ("head", "neck", "pelvis", "hip")


def world_joints(lesson: Lesson, shot: Shot) -> dict[str, Vector]:
    """Joints in world metres, mirrored for a left-hander."""
    joints = solve(lesson.build, shot.pose).joints
    side = np.array([1.0, -1.0 if lesson.left_handed else 1.0, 1.0])
    return {name: joints[name] * side for name in POINT_NAMES}


def hidden_points(
    joints: Mapping[str, Vector], scene: Scene, outline: Scene, camera: Camera, ball_gone: bool
) -> list[str]:
    """Names of the points that something nearer to the camera covers.

    ``outline`` is the scene without forearms, hands and club: what lies in the middle of the
    body is judged from the outline, so an arm before it does not hide it.
    """
    lens = np.array(camera.place)
    names = []
    for name in POINT_NAMES:
        way = joints[name] - lens
        distance = float(np.linalg.norm(way))
        way = way / distance
        part = name.rsplit("_", 1)[-1]
        seen = outline if part in _FROM_OUTLINE else scene
        met, _ = march(*lens, *way, 0.6, distance, seen.fields)
        allowed = _DEPTH[part]
        if (met > 0 and distance - met > allowed) or (name == "ball" and ball_gone):
            names.append(name)
    return names


def _list(values: Any, digits: int) -> Any:
    """Nested lists of rounded numbers, without negative zeros."""
    return (np.round(np.asarray(values, dtype=np.float64), digits) + 0.0).tolist()


def frame_truth(lesson: Lesson, shot: Shot) -> dict[str, Any]:
    """Everything that is true in one frame."""
    camera = lesson.cameras[shot.view]
    joints = world_joints(lesson, shot)
    setup_shot = next(
        other for other in lesson.shots if other.position == "setup" and other.when == shot.when
    )
    setup = world_joints(lesson, setup_shot)
    figure = solve(lesson.build, shot.pose)
    scene = built_scene(lesson, figure)
    outline = built_scene(lesson, figure, with_arms=False)
    pixels = camera.project(np.array([joints[name] for name in POINT_NAMES]))
    ends = np.array([end for stick in lesson.sticks for end in stick])
    labels = [f"{which}_{end}" for which in ("toe_stick", "ball_stick") for end in ("away", "near")]
    posts = [
        (place, camera.project(np.array([[place[0], place[1], 0.0], list(place)])))
        for place in lesson.posts
    ]
    size = np.array([camera.width, camera.height])
    plumb = [
        {"world_m": _list([[place[0], place[1], 0.0], place], 4), "pixels": _list(ends_px, 3)}
        for place, ends_px in posts
        if np.all((ends_px > 0) & (ends_px < size))
        and (camera.rotation @ np.array(place) + camera.translation)[2] > 0
    ]
    angles = measured(joints, setup, 1.0 if lesson.left_handed else -1.0)
    return {
        "file": f"{lesson.folder.split('/')[-1]}/{shot.file}",
        "view": shot.view,
        "position": shot.position,
        "when": shot.when,
        "size": [camera.width, camera.height],
        "camera": {
            "label": f"{shot.view} tripod",
            "K": _list(camera.intrinsic, 6),
            "R": _list(camera.rotation, 12),
            "t": _list(camera.translation, 9),
        },
        "joints": {name: _list(joints[name], 6) for name in POINT_NAMES},
        "points": {
            name: _list(pixel, 3) for name, pixel in zip(POINT_NAMES, pixels, strict=True)
        },
        "hidden": hidden_points(joints, scene, outline, camera, shot.pose.ball_gone),
        "ground": [
            {"name": label, "world_cm": _list(100.0 * end, 3), "pixel": _list(pixel, 3)}
            for label, end, pixel in zip(labels, ends, camera.project(ends), strict=True)
        ],
        "plumb": plumb,
        "angles": {name: round(value, 4) + 0.0 for name, value in angles.items()},
    }


def lesson_truth(lesson: Lesson) -> dict[str, Any]:
    """The whole truth file of one lesson."""
    return {
        "about": "Invented figure; every value follows from the pose that was drawn.",
        "handed": "left" if lesson.left_handed else "right",
        "world": "metres; x toward the target, y to the left of the target line, z up, "
        "right-handed; z = 0 is the ground",
        "pixels": "OpenCV pinhole; (0, 0) is the outer corner of the first pixel",
        "points": {
            "head": "centre of the head",
            "neck": "base of the neck on the trunk's axis, at the height of the shoulder line",
            "pelvis": "centre between the hip joints",
            "handle": "where the shaft leaves the lower hand",
            "hosel": "where the shaft meets the head",
            "heel": "rear-most sole point of the shoe",
            "toe": "front-most sole point of the shoe",
            "ball": "centre of the ball; where the ball has left, the place where it lay",
        },
        "hidden": "points covered by the body, the club or a prop from that camera, and the "
        "place of a ball that has left; an arm or the club before head, neck, pelvis or hip does "
        "not count, as these are judged from the outline",
        "ground": "ends of two sticks of 1.10 m that lie parallel to the target line; their axis "
        "lies in the plane of the ground",
        "plumb": "foot and top of a post that stands upright",
        "definitions": DEFINITIONS,
        "frames": [frame_truth(lesson, shot) for shot in lesson.shots],
    }


def truth_text(lesson: Lesson) -> str:
    """The truth file as text, one short list a line."""
    text = json.dumps(lesson_truth(lesson), indent=1)
    lines: list[str] = []
    open_list = 0
    for line in text.split("\n"):
        bare = line.strip()
        if open_list:
            lines[-1] += bare if bare.startswith(("]", "}")) else f" {bare}"
        else:
            lines.append(line)
        if bare.endswith("[") and not bare.startswith(('"frames"', '"ground"', '"plumb"')):
            open_list += 1
        elif bare.startswith("]") and open_list:
            open_list -= 1
    return "\n".join(lines).replace("[ ", "[") + "\n"
