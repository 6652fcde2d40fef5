"""The lesson file on the desk: nothing of the coach's is lost, whoever else writes it."""

import errno
import http.client
import json
import os
import random
import signal
import subprocess
import sys
import time
import urllib.error
import urllib.request

import pytest

from reporter.desk.adding import NewFrame, adding_edits
from reporter.desk.asks import asked_points, offered, suggested
from reporter.desk.lesson_file import (
    ConflictError,
    Edit,
    EditRefusedError,
    LessonFile,
    edits_from,
    revision_of,
)
from reporter.errors import CannotWriteError, InputRefusedError
from reporter.session.layers import without_empty
from reporter.session.load import load_session
from reporter.session.partial import measurable_part
from reporter.yaml_source import read_yaml
from tests.conftest import DEMO

TEXT = """\
# the coach's own comment
student:
  name: Runa   # an alias
thoughts:
  - say: One.
  - Two.
"""


PUT = {"do": "put", "path": ["x"], "value": "y"}


@pytest.fixture
def file(tmp_path):
    path = tmp_path / "session.yaml"
    path.write_text(TEXT, "utf-8")
    return LessonFile(path, "thoughts: [begin]\n")


def name(value, was="Runa"):
    return Edit("put", ("student", "name"), value, 0, was, knows_was=True)


def test_an_edit_keeps_comments_and_order(file):
    data, revision = file.change([name("Ada")], file.read()[1])
    assert data.decode() == TEXT.replace("name: Runa", "name: Ada")
    assert (data, revision) == file.read()
    assert revision == revision_of(file.path.read_bytes())


def test_a_lesson_not_yet_written_is_written_at_the_first_edit(tmp_path):
    file = LessonFile(tmp_path / "session.yaml", "# begin\nthoughts: [begin]\n")
    assert file.read()[1] == "new"
    assert not file.path.exists()
    file.change([name("Ada", None)], "new")
    assert file.path.read_text() == "# begin\nthoughts: [begin]\nstudent:\n  name: Ada\n"


def test_an_edit_of_something_else_is_merged(file):
    _, old = file.read()
    file.path.write_text(TEXT.replace("Two.", "Three."), "utf-8")
    file.change([name("Ada")], old)
    assert file.path.read_text() == TEXT.replace("Two.", "Three.").replace("Runa", "Ada")


@pytest.mark.parametrize(
    "edit",
    [
        name("Ada"),
        Edit("put", ("thoughts", 1), "x", 0, "Three.", knows_was=True),
        Edit("remove", ("thoughts", 1), None, 0, "Three.", knows_was=True),
        Edit("insert", ("thoughts",), "x", 3, 3, knows_was=True),
        Edit("put", ("student", "name"), "Ada"),
        Edit("put", ("frames", {"id": "none"}, "file"), "x", 0, None, knows_was=True),
    ],
)
def test_an_edit_of_the_same_is_a_conflict_and_writes_nothing(file, edit):
    _, old = file.read()
    file.path.write_text(TEXT.replace("Runa", "Eve"), "utf-8")
    now = file.path.read_bytes()
    fine = Edit("put", ("student", "level"), "new", 0, None, knows_was=True)
    with pytest.raises(ConflictError) as error:
        file.change([fine, edit], old)
    assert error.value.numbers == (1,)
    assert file.path.read_bytes() == now


def test_an_editor_that_saves_in_the_same_moment_loses_nothing(file, monkeypatch):
    """Somebody writes the file after it was read and before it is written."""
    import reporter.desk.lesson_file as module

    _, old = file.read()
    as_bytes, times = module.as_bytes, []

    def interrupted(source):
        if not times:
            file.path.write_text(TEXT.replace("Two.", "Three."), "utf-8")
        times.append(1)
        return as_bytes(source)

    monkeypatch.setattr(module, "as_bytes", interrupted)
    file.change([name("Ada")], old)
    assert file.path.read_text() == TEXT.replace("Two.", "Three.").replace("Runa", "Ada")
    assert len(times) == 2


def test_the_same_edit_twice_is_no_conflict(file):
    _, old = file.read()
    file.change([name("Ada")], old)
    file.change([name("Ada")], old)
    assert "name: Ada" in file.path.read_text()


def test_an_edit_without_a_place_is_refused(file):
    for edit in (Edit("put", ("student", "name", "x"), "y"), Edit("put", ("thoughts", 9), "y")):
        with pytest.raises(EditRefusedError):
            file.change([edit], file.read()[1])
    assert file.path.read_text() == TEXT


@pytest.mark.parametrize(
    "content",
    [
        None, {}, [], ["x"], [{}], [{"do": "burn", "path": ["x"]}], [{"do": "put", "path": []}],
        [{**PUT, "path": ["x"] * 9}], [{**PUT, "path": [True]}], [{**PUT, "path": [-1]}],
        [{**PUT, "path": [""]}], [{**PUT, "path": [{"no": "y"}]}], [PUT] * 201,
        [{**PUT, "value": 3}], [{**PUT, "value": [None]}], [{**PUT, "value": {"": "y"}}],
        [{"do": "insert", "path": ["x"], "index": 1e9, "value": "y"}],
        [{"do": "insert", "path": ["x"]}],
    ],
)  # fmt: skip
def test_what_is_no_edit_is_refused(content):
    with pytest.raises(EditRefusedError):
        edits_from(content)


@pytest.mark.parametrize("call", ["fsync", "replace", "write"])
@pytest.mark.parametrize("number", [errno.ENOSPC, errno.EROFS, errno.EIO])
def test_a_disk_that_refuses_leaves_the_old_file(file, monkeypatch, call, number):
    import reporter.publish

    def fail(*_, **__):
        raise OSError(number, os.strerror(number))

    if call == "write":
        monkeypatch.setattr(reporter.publish, "_write", fail)
    elif call == "fsync":
        monkeypatch.setattr(os, "fsync", fail)
    else:
        monkeypatch.setattr(type(file.path), "replace", fail)
    with pytest.raises(CannotWriteError, match="cannot write"):
        file.change([name("Ada")], file.read()[1])
    monkeypatch.undo()
    assert file.path.read_text() == TEXT
    assert [entry.name for entry in file.path.parent.iterdir()] == ["session.yaml"]


def test_a_file_that_cannot_be_read_is_told_and_kept(file):
    file.path.write_text("thoughts: [1\n", "utf-8")
    with pytest.raises(InputRefusedError):
        file.change([name("Ada")], "")
    assert file.path.read_text() == "thoughts: [1\n"


def test_the_server_is_killed_in_mid_save(tmp_path):
    """SIGKILL at a random moment of a run of saves: the old file or the new one, never half."""
    path = tmp_path / "session.yaml"
    rest = "# " + "x" * 60_000 + "\n"
    path.write_text(f"student:\n  name: N0\nthoughts: [One]\n{rest}", "utf-8")
    chance = random.Random(7)
    last = 0
    for _ in range(4):
        command = [sys.executable, "-m", "reporter", "desk", str(tmp_path), "--no-browser"]
        with subprocess.Popen(
            command, stdout=subprocess.PIPE, stderr=subprocess.DEVNULL
        ) as running:
            address = running.stdout.readline().decode().strip()
            own, token = address.split("/?token=")
            port = own.rsplit(":", 1)[1]
            end = time.monotonic() + 0.05 + 0.3 * chance.random()
            sent = acknowledged = last
            killed = False
            while True:
                sent += 1
                edit = {"do": "put", "path": ["student", "name"], "value": f"N{sent}",
                        "was": f"N{sent - 1}"}  # fmt: skip
                request = urllib.request.Request(
                    f"{own}/edit",
                    json.dumps({"edits": [edit], "revision": ""}).encode(),
                    {
                        "Cookie": f"desk-{port}={token}",
                        "Origin": own,
                        "Content-Type": "application/json",
                    },  # fmt: skip
                )
                if time.monotonic() > end and not killed:
                    # In mid-save: the kill races with the request that is under way.
                    subprocess.Popen(
                        ["sh", "-c", f"sleep {0.004 * chance.random():.4f}; kill -9 {running.pid}"]
                    )
                    killed = True
                try:
                    urllib.request.urlopen(request, timeout=8).read()
                    acknowledged = sent
                except (urllib.error.URLError, http.client.HTTPException, OSError):
                    break
            running.wait()
        assert running.returncode == -signal.SIGKILL
        text = path.read_text("utf-8")
        assert text.endswith(rest)
        last = int(read_yaml(text.encode(), "s").value["student"]["name"][1:])
        assert last in (acknowledged, sent)


def test_a_new_picture_brings_clip_frame_and_pair(tmp_path):
    file = LessonFile(tmp_path / "session.yaml", "thoughts: [One]\n")
    values: dict = {"thoughts": ["One"]}
    for when in ("before", "after"):
        new = NewFrame(when, "face-on", "impact", f"{when}.jpg", f"{when}.mp4", "1.5", "ab" * 32)
        data, _ = file.change(adding_edits(values, new), file.read()[1])
        values = without_empty(read_yaml(data, "s").value)
    assert values["takes"] == [
        {"id": f"{when}-face-on", "when": when, "view": "face-on", "video": f"{when}.mp4"}
        for when in ("before", "after")
    ]
    assert [frame["id"] for frame in values["frames"]] == [
        "before-face-on-impact",
        "after-face-on-impact",
    ]
    assert values["frames"][0]["from_video"] == {
        "name": "before.mp4", "seconds": "1.5", "sha256": "ab" * 32
    }  # fmt: skip
    (pair,) = values["pairs"]
    assert (pair["before"], pair["after"]) == ("before-face-on-impact", "after-face-on-impact")
    assert tuple(pair["measures"]) == suggested("face-on", "impact")


def test_a_picture_taken_anew_loses_the_points_of_the_old_one(tmp_path):
    file = LessonFile(tmp_path / "session.yaml", DEMO.read_text("utf-8"))
    before = without_empty(read_yaml(file.read()[0], "s").value)
    new = NewFrame("before", "face-on", "top", "new.jpg")
    edits = adding_edits(before, new)
    after = without_empty(read_yaml(file.change(edits, "new")[0], "s").value)
    frames = {frame["id"]: frame for frame in after["frames"]}
    assert frames["face-on-before-top"] == {
        "id": "face-on-before-top", "take": "front-before", "position": "top", "file": "new.jpg"
    }  # fmt: skip
    assert len(after["frames"]) == len(before["frames"])
    assert after["pairs"] == before["pairs"]


@pytest.mark.parametrize(
    "words", [("later", "face-on", "top"), ("before", "behind", "top"), ("before", "face-on", "x")]
)
def test_unknown_words_are_refused(words):
    with pytest.raises(EditRefusedError):
        NewFrame(*words, "a.jpg")


def test_the_points_asked_for_are_what_the_measures_need():
    # docs/measures.md names the points of each measure: the chest's tilt is read between pelvis
    # and neck, the shaft's lean between handle and hosel, the hips' shift against the heels at
    # set-up.
    asked = asked_points(load_session(DEMO).session)
    assert asked["face-on-before-impact"] == ("neck", "pelvis", "handle", "hosel")
    assert {"lead_heel", "trail_heel", "pelvis"} <= set(asked["face-on-before-setup"])
    assert asked["face-on-before-top"] == ()


def test_what_is_offered_fits_the_view():
    assert "spine-side-bend" in {one.id for one in offered("face-on", "setup")}
    assert "spine-side-bend" not in {one.id for one in offered("down-the-line", "setup")}
    assert len(suggested("face-on", "setup")) <= 3


def test_what_is_right_can_be_measured_whatever_else_is_wrong():
    values = read_yaml(DEMO.read_bytes(), "s").value
    values["lesson"] = "nonsense"
    values["thoughts"] = []
    values["frames"][0]["points"]["head"] = "nowhere"
    values["pairs"][2]["heading"] = {"a": "b"}
    session = measurable_part(values)
    assert len(session.frames) == len(values["frames"]) - 1
    assert [pair.before for pair in session.pairs] == [
        "face-on-before-impact",
        "down-the-line-before-impact",
    ]
