"""The drawn demo frames: projection, truth files, sizes and repeatability."""

from __future__ import annotations

import json
import math
import sys
from pathlib import Path
from typing import Any

import cv2
import numpy as np
import pytest
from PIL import Image

ROOT = Path(__file__).resolve().parents[1]
if str(ROOT) not in sys.path:
    sys.path.insert(0, str(ROOT))

from demo_session.renderer.figure import Build, Pose, solve  # noqa: E402
from demo_session.renderer.poses import ADULT, LESSONS, Lesson  # noqa: E402

FOLDERS = {"adult": ROOT / "demo_session", "junior": ROOT / "demo_session" / "junior"}
TOTAL_BYTES = 4_000_000
PAIRED = ("shoulder", "elbow", "wrist", "hip", "knee", "ankle", "heel", "toe")
POINT_NAMES = [
    "head", "neck", "pelvis", *(f"{side}_{part}" for part in PAIRED for side in ("lead", "trail")),
    "handle", "hosel", "ball",
]  # fmt: skip


def stored(name: str) -> dict[str, Any]:
    """The committed truth file of a lesson."""
    data: dict[str, Any] = json.loads((FOLDERS[name] / "truth.json").read_text("utf-8"))
    return data


def frames(name: str) -> list[dict[str, Any]]:
    """The frames of a committed truth file."""
    return list(stored(name)["frames"])


ALL_FRAMES = [(name, frame) for name in FOLDERS for frame in frames(name)]
IDS = [f"{name}-{frame['file']}" for name, frame in ALL_FRAMES]


@pytest.mark.parametrize("name", list(FOLDERS))
def test_cv2_projects_the_joints_to_the_same_pixels(name: str) -> None:
    """Own pinhole against ``cv2.projectPoints`` of OpenCV (calib3d documentation)."""
    for frame in frames(name):
        camera = frame["camera"]
        rotation, _ = cv2.Rodrigues(np.array(camera["R"]))
        joints = np.array([frame["joints"][point] for point in POINT_NAMES])
        ground = np.array([mark["world_cm"] for mark in frame["ground"]]) / 100.0
        expected, _ = cv2.projectPoints(
            np.vstack([joints, ground]), rotation, np.array(camera["t"]), np.array(camera["K"]),
            None,
        )  # fmt: skip
        found = [frame["points"][point] for point in POINT_NAMES]
        found += [mark["pixel"] for mark in frame["ground"]]
        np.testing.assert_allclose(found, expected[:, 0], atol=0.01)


@pytest.mark.parametrize(("name", "frame"), ALL_FRAMES, ids=IDS)
def test_camera_rotation_is_proper(name: str, frame: dict[str, Any]) -> None:
    """A rotation is orthogonal with determinant one; down in the picture is down in the world."""
    rotation = np.array(frame["camera"]["R"])
    np.testing.assert_allclose(rotation @ rotation.T, np.eye(3), atol=1e-9)
    assert np.linalg.det(rotation) == pytest.approx(1.0, abs=1e-9)
    assert rotation[1, 2] < -0.99
    assert math.degrees(math.acos(min(1.0, -rotation[1, 2]))) < 3.0


@pytest.mark.parametrize("name", list(LESSONS))
def test_committed_truth_is_what_the_poses_give(name: str) -> None:
    """The truth files were written by the present pose code, to the last digit that matters."""
    pytest.importorskip("numba", reason="hidden points need the extra 'render'")
    from demo_session.renderer.truth import truth_text

    now = json.loads(truth_text(LESSONS[name]))
    before = stored(name)
    assert len(now["frames"]) == len(before["frames"]) == len(LESSONS[name].shots)
    for fresh, old in zip(now["frames"], before["frames"], strict=True):
        for key in ("file", "view", "position", "when", "size", "hidden"):
            assert fresh[key] == old[key], (old["file"], key)
        for point in POINT_NAMES:
            assert fresh["joints"][point] == pytest.approx(old["joints"][point], abs=2e-5)
            assert fresh["points"][point] == pytest.approx(old["points"][point], abs=0.02)
        assert fresh["angles"] == pytest.approx(old["angles"], abs=5e-3)
        assert now["definitions"] == before["definitions"]


@pytest.mark.parametrize(("name", "frame"), ALL_FRAMES, ids=IDS)
def test_picture_has_the_size_in_the_truth_file(name: str, frame: dict[str, Any]) -> None:
    """Read back with Pillow: upright JPEG, size as stated, points inside."""
    with Image.open(FOLDERS[name] / frame["file"]) as picture:
        assert picture.format == "JPEG"
        assert list(picture.size) == frame["size"]
        assert set(frame["points"]) == set(frame["joints"]) == set(POINT_NAMES)
        assert not picture.getexif().get(274)
    for place in [*frame["points"].values(), *(mark["pixel"] for mark in frame["ground"])]:
        assert 0 < place[0] < frame["size"][0]
        assert 0 < place[1] < frame["size"][1]


def test_every_picture_belongs_to_a_truth_file_and_all_are_small() -> None:
    """No stray pictures, and together less than four million bytes."""
    listed = {FOLDERS[name] / frame["file"] for name, frame in ALL_FRAMES}
    there = set((ROOT / "demo_session").rglob("*.jpg"))
    assert there == listed
    assert sum(path.stat().st_size for path in there) < TOTAL_BYTES


def _between(first: np.ndarray, second: np.ndarray) -> float:
    """Angle between two directions in degrees, by the cosine rule (school geometry)."""
    a, b, c = np.linalg.norm(first), np.linalg.norm(second), np.linalg.norm(first - second)
    return math.degrees(math.acos(float((a * a + b * b - c * c) / (2 * a * b))))


@pytest.mark.parametrize(("name", "frame"), ALL_FRAMES, ids=IDS)
def test_angles_agree_with_plane_geometry(name: str, frame: dict[str, Any]) -> None:
    """Angles again from the stored joints, by the cosine rule instead of arc tangents."""
    joints = {key: np.array(value) for key, value in frame["joints"].items()}
    angles = frame["angles"]
    toward_ball = 1.0 if stored(name)["handed"] == "left" else -1.0
    spine = joints["neck"] - joints["pelvis"]
    side = _between(spine * [1, 0, 1], np.array([0.0, 0.0, 1.0]))
    assert abs(angles["spine_side_bend_deg"]) == pytest.approx(side, abs=0.01)
    assert (angles["spine_side_bend_deg"] > 0) == (spine[0] < 0)
    forward = _between(spine * [0, 1, 1], np.array([0.0, 0.0, 1.0]))
    assert angles["spine_forward_bend_deg"] == pytest.approx(forward, abs=0.01)
    assert spine[1] * toward_ball > 0
    shaft = (joints["handle"] - joints["hosel"]) * [0, 1, 1]
    level = np.array([0.0, -toward_ball, 0.0])
    assert abs(angles["shaft_to_ground_deg"]) == pytest.approx(_between(shaft, level), abs=0.01)
    for leg in ("lead", "trail"):
        knee = joints[f"{leg}_knee"]
        opening = _between(joints[f"{leg}_hip"] - knee, joints[f"{leg}_ankle"] - knee)
        assert angles[f"knee_flex_{leg}_deg"] == pytest.approx(180.0 - opening, abs=0.02)
        foot = (joints[f"{leg}_toe"] - joints[f"{leg}_heel"]) * [1, 1, 0]
        flare = _between(foot, np.array([0.0, toward_ball, 0.0]))
        assert abs(angles[f"foot_flare_{leg}_deg"]) == pytest.approx(flare, abs=0.01)


def test_the_lesson_changes_what_its_story_says() -> None:
    """The invented story: side bend, pelvis and ball change, trunk and shaft posture do not."""
    found = {(f["view"], f["position"], f["when"]): f["angles"] for f in frames("adult")}

    def change(view: str, position: str, key: str) -> float:
        return float(found[view, position, "after"][key] - found[view, position, "before"][key])

    assert change("face-on", "setup", "spine_side_bend_deg") == pytest.approx(7.0, abs=0.1)
    assert change("face-on", "impact", "spine_side_bend_deg") == pytest.approx(10.0, abs=0.1)
    assert change("face-on", "impact", "pelvis_shift_percent") == pytest.approx(11.0, abs=0.1)
    assert change("face-on", "setup", "ball_behind_lead_heel_cm") == pytest.approx(7.0, abs=0.1)
    assert change("face-on", "setup", "shoulder_line_tilt_deg") > 6.0
    for position in ("setup", "impact"):
        assert abs(change("down-the-line", position, "spine_forward_bend_deg")) < 1.0
        assert abs(change("down-the-line", position, "shaft_to_ground_deg")) < 1.0


@pytest.mark.parametrize("lesson", list(LESSONS.values()), ids=list(LESSONS))
def test_limbs_keep_their_lengths(lesson: Lesson) -> None:
    """Bones do not stretch: the same segment has the same length in every frame."""
    lengths: dict[tuple[str, str], list[float]] = {}
    for shot in lesson.shots:
        joints = solve(lesson.build, shot.pose).joints
        for side in ("lead", "trail"):
            for start, end in (("shoulder", "elbow"), ("elbow", "wrist"), ("hip", "knee"),
                               ("knee", "ankle")):  # fmt: skip
                span = joints[f"{side}_{end}"] - joints[f"{side}_{start}"]
                lengths.setdefault((start, end), []).append(float(np.linalg.norm(span)))
    for values in lengths.values():
        assert max(values) / min(values) < 1.035


def test_a_pose_out_of_reach_is_refused() -> None:
    """A golfer whose hips hang two metres above the feet cannot be drawn."""
    pose = Pose(ball_x=0.0, pelvis_x=-0.15, pelvis_z=2.0, forward_bend=30.0, side_bend=0.0)
    with pytest.raises(ValueError, match="cannot reach"):
        solve(Build(), pose)


def test_a_left_hander_stands_on_the_other_side() -> None:
    """Right-handed: body at y > 0; left-handed: body at y < 0; target along +x for both."""
    for name, sign in (("adult", 1.0), ("junior", -1.0)):
        for frame in frames(name):
            joints = frame["joints"]
            assert joints["pelvis"][1] * sign > 0
            assert joints["lead_heel"][0] > joints["trail_heel"][0]


def test_a_tiny_picture_is_drawn_the_same_twice() -> None:
    """90 by 120 pixels, twice; and it shows a figure, not an empty range."""
    pytest.importorskip("numba", reason="drawing needs the extra 'render'")
    from demo_session.renderer.picture import draw

    shot = next(s for s in ADULT.shots if s.file == "face-on-before-impact.jpg")
    first, second = draw(ADULT, shot, 0.1, 1), draw(ADULT, shot, 0.1, 1)
    assert first.shape == (120, 90, 3)
    np.testing.assert_array_equal(first, second)
    pixels = next(f for f in frames("adult") if f["file"].endswith(shot.file))["points"]
    chest = 0.5 * (np.array(pixels["neck"]) + np.array(pixels["pelvis"])) / 10.0
    red, green, blue = first[int(chest[1]), int(chest[0])].astype(float)
    assert red > 1.3 * green
    assert red > 1.3 * blue
    grass = first[115, 5].astype(float)
    assert grass[1] > grass[0]
    assert grass[1] > 1.2 * grass[2]


@pytest.mark.parametrize("folder", [ROOT / "demo_session", ROOT / "demo_session" / "junior"])
def test_points_of_the_lesson_are_those_of_the_truth(folder):
    """The lesson file's points, read with plain YAML, lie where the truth projects the joints."""
    import yaml

    lesson = yaml.safe_load((folder / "session.yaml").read_text("utf-8"))
    truth = json.loads((folder / "truth.json").read_text("utf-8"))
    by_file = {frame["file"]: frame for frame in truth["frames"]}
    assert len(lesson["frames"]) == len(by_file)
    for frame in lesson["frames"]:
        for name, at in frame["points"].items():
            if at != "hidden":
                assert at == pytest.approx(by_file[frame["file"]]["points"][name], abs=0.051)
