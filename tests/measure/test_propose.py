"""Proposed points: named for the player, never in place of a click, and never without a warning."""

import json
from pathlib import Path
from types import SimpleNamespace

import numpy as np
import pytest
from measure_lessons import frame

from reporter.command_line import run
from reporter.errors import ExitCode, ExtraMissingError
from reporter.measure import pose_model
from reporter.measure.propose import proposed_points
from reporter.session.schema import MarkedPoint, Take

ROOT = Path(__file__).parents[2]
PICTURE = np.zeros((1080, 1920, 3), np.uint8)
# Seen from the front a person's own left is on the right of the picture (anatomy).
FACING = {
    f"{side}_{part}": (960.0 + (100.0 if side == "left" else -100.0), 300.0 + 90.0 * row)
    for row, part in enumerate(("ear", "shoulder", "hip", "knee", "ankle", "heel", "toe"))
    for side in ("left", "right")
}


class FakeModel:
    """Tells the same person on every picture."""

    def __init__(self, found=None):
        self.found = FACING if found is None else found

    def landmarks(self, picture):
        """Return the person, whatever is shown."""
        return self.found


def proposed(plays="right", view="face-on", mirrored=False, found=None, points=None):
    take = Take(id="t", when="before", view=view, mirrored=mirrored)
    one = frame("f", "t", "setup", points or {})
    return proposed_points(one, take, plays, PICTURE, FakeModel(found))


def test_the_lead_side_is_the_left_of_a_right_hander():
    found = proposed()
    assert found["lead_hip"] == FACING["left_hip"]
    assert found["trail_toe"] == FACING["right_toe"]
    assert found["neck"] == (960.0, 390.0)
    assert found["pelvis"] == (960.0, 480.0)


def test_of_a_left_hander_and_of_a_mirrored_clip_it_is_the_other_side():
    assert proposed(plays="left")["lead_hip"] == FACING["right_hip"]
    assert proposed(mirrored=True)["lead_hip"] == FACING["right_hip"]
    assert proposed(view="down-the-line", plays="left")["lead_hip"] == FACING["right_hip"]
    assert proposed(view="down-the-line", mirrored=True)["lead_hip"] == FACING["right_hip"]


def test_sides_that_the_model_exchanged_are_set_right_face_on():
    other = {"left": "right", "right": "left"}
    wrong = {f"{other[name.split('_')[0]]}_{name.split('_')[1]}": at for name, at in FACING.items()}
    assert proposed(found=wrong) == proposed()


def test_wrists_shaft_and_ball_are_never_proposed_and_nothing_on_feet():
    assert not any("wrist" in name for name in proposed())
    assert not {"handle", "hosel", "ball"} & proposed().keys()
    assert proposed(view="feet") == {}


def test_what_stands_in_the_lesson_or_outside_the_picture_is_not_proposed():
    kept = {"lead_hip": MarkedPoint(at=(5.0, 5.0)), "lead_knee": MarkedPoint(hidden=True)}
    found = proposed(points=kept, found={**FACING, "right_toe": (1900.0, 1090.0)})
    assert not {"lead_hip", "lead_knee", "trail_toe"} & found.keys()
    assert "trail_knee" in found


LESSON = """\
# kept
thoughts: [{say: Tall at the ball}]
takes:
  - {id: t, when: before, view: face-on}
frames:
  - id: one
    take: t
    position: setup
    file: face-on-before-setup.jpg
    points:
      head: [480, 350]   # mine
"""


@pytest.fixture
def lesson(tmp_path):
    name = "face-on-before-setup.jpg"
    (tmp_path / name).write_bytes((ROOT / "demo_session" / "frames" / name).read_bytes())
    (tmp_path / "session.yaml").write_text(LESSON, encoding="utf-8")
    return tmp_path / "session.yaml"


def give(monkeypatch, model):
    entry = SimpleNamespace(name="fake", load=lambda: lambda: model)
    monkeypatch.setattr("importlib.metadata.entry_points", lambda group: [entry])


def test_the_command_writes_unconfirmed_points_and_keeps_the_rest(lesson, monkeypatch, capsys):
    found = {name: (x - 460.0, y + 50.0) for name, (x, y) in FACING.items()}
    give(monkeypatch, FakeModel(found))
    assert run(["propose", str(lesson), "--json"]) is ExitCode.OK
    told = json.loads(capsys.readouterr().out)
    assert told["frames"][0]["frame"] == "one"
    assert "head" not in told["frames"][0]["points"]
    text = lesson.read_text(encoding="utf-8")
    assert text.startswith(LESSON)
    assert text.count("confirmed: no") == len(told["frames"][0]["points"]) == 14
    assert run(["measure", str(lesson), "--json"]) is ExitCode.OK
    measures = json.loads(capsys.readouterr().out)["measures"]
    bend = next(one for one in measures if one["id"] == "spine-side-bend")
    assert bend["value"] is None
    assert "only a proposal" in bend["reason"]
    # A second run finds nothing to add.
    assert run(["propose", str(lesson)]) is ExitCode.OK
    assert lesson.read_text(encoding="utf-8") == text


def test_a_frame_that_is_not_there_is_named(lesson, monkeypatch, capsys):
    give(monkeypatch, FakeModel())
    assert run(["propose", str(lesson), "--frame", "two"]) is ExitCode.INPUT_REFUSED
    assert "no frame has the id" in capsys.readouterr().err
    assert lesson.read_text(encoding="utf-8") == LESSON


def test_without_a_model_the_missing_part_is_named(lesson, monkeypatch, capsys):
    monkeypatch.setattr("importlib.metadata.entry_points", lambda group: [])
    monkeypatch.setattr(pose_model, "carried_model", lambda: None)
    assert run(["propose", str(lesson)]) is ExitCode.EXTRA_MISSING
    assert 'pip install "lesson-reporter[pose]"' in capsys.readouterr().err


@pytest.mark.skipif(pose_model.carried_model() is None, reason="pose: no model is installed")
@pytest.mark.parametrize("position", ["setup", "lead-arm-level", "impact"])
def test_the_installed_model_finds_the_demo_figure(position):
    """Joints of the drawn figure, known by construction, within a tenth of its height."""
    from PIL import Image

    truth = json.loads((ROOT / "demo_session" / "truth.json").read_text(encoding="utf-8"))
    name = f"face-on-before-{position}"
    with Image.open(ROOT / "demo_session" / "frames" / f"{name}.jpg") as opened:
        picture = np.asarray(opened.convert("RGB"))
    found = pose_model.LandmarkNet(pose_model.carried_model()).landmarks(picture)
    true = next(one["points"] for one in truth["frames"] if name in one["file"])
    height = true["trail_heel"][1] - true["head"][1]
    for part in ("shoulder", "hip", "knee", "ankle"):
        seen = sorted(found[f"{side}_{part}"] for side in ("left", "right"))
        there = sorted(true[f"{side}_{part}"] for side in ("lead", "trail"))
        for at, place in zip(seen, there, strict=True):
            assert np.hypot(*np.subtract(at, place)) < 0.1 * height


def test_a_missing_model_is_an_error_of_its_own(monkeypatch):
    monkeypatch.setattr("importlib.metadata.entry_points", lambda group: [])
    monkeypatch.setattr(pose_model, "carried_model", lambda: None)
    with pytest.raises(ExtraMissingError, match="proposing points"):
        pose_model.installed_pose_model()
