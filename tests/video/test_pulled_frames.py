"""`frames`: contact sheet, pulled pictures, and what they leave in the lesson file."""

import json

import numpy as np
import pytest
from PIL import Image

from reporter.command_line import run
from reporter.errors import ExitCode
from reporter.session.load import load_session
from reporter.video import open_video
from tests.video.clips import every, number_of, write_clip

LESSON = """\
# my lesson
takes:
  # the first clip
  - {id: one, when: before, view: face-on}
thoughts:   # two at most
  - "Keep: the head level"
notes: 'it''s fine'  # last
"""


@pytest.fixture
def lesson(tmp_path):
    file = tmp_path / "session.yaml"
    file.write_text(LESSON, "utf-8")
    return file


def test_a_contact_sheet_shows_numbered_stills(plain_clip, tmp_path, capsys):
    assert run(["frames", str(plain_clip), "-o", str(tmp_path), "--json"]) == 0
    answer = json.loads(capsys.readouterr().out)
    sheet = tmp_path / "plain-sheet.jpg"
    assert answer["sheet"] == str(sheet)
    with Image.open(sheet) as opened:
        assert opened.format == "JPEG"
        assert opened.getexif() == {}
        pixels = np.asarray(opened.convert("RGB"))
    assert len(answer["stills"]) == 24
    first, last = answer["stills"][0], answer["stills"][-1]
    assert (first["frame"], last["frame"]) == (0, 89)
    assert number_of(pixels[12 : 12 + 180, 12 : 12 + 320]) == 0
    assert run(["frames", str(plain_clip), "-o", str(tmp_path)]) == 0  # the same bytes again
    sheet.write_bytes(b"mine")
    assert run(["frames", str(plain_clip), "-o", str(tmp_path)]) == ExitCode.CANNOT_WRITE
    assert sheet.read_bytes() == b"mine"
    assert run(["frames", str(plain_clip), "-o", str(tmp_path), "--force", "-q"]) == 0


def test_pictures_are_pulled_by_time_and_hold_only_pixels(tmp_path, capsys):
    clip = write_clip(
        tmp_path / "Étude 1.mov", every(60, 30), size=(960, 540),
        metadata={"location": "+12.5-034.5/", "make": "Secretmaker"},
        container_options={"movflags": "use_metadata_tags"},
    )  # fmt: skip
    assert run(["frames", str(clip), "--at", "0.5", "--at", "top=1", "--json"]) == 0
    pulled = json.loads(capsys.readouterr().out)["pulled"]
    assert [(one["frame"], one["position"]) for one in pulled] == [(15, None), (30, "top")]
    assert pulled[0]["file"].endswith("frames/etude-1-000500ms.jpg")
    assert b"Secretmaker" in clip.read_bytes()
    for one, number in zip(pulled, (15, 30), strict=True):
        with Image.open(one["file"]) as opened:
            assert number_of(np.asarray(opened)) == number
            assert opened.getexif() == {}
            assert "comment" not in opened.info
        data = open(one["file"], "rb").read()  # noqa: PTH123, SIM115
        assert b"Secretmaker" not in data
        assert b"12.5" not in data


def test_a_lesson_learns_which_clip_which_time_which_checksum(plain_clip, lesson, capsys):
    arguments = ["frames", str(plain_clip), "--lesson", str(lesson)]
    assert run([*arguments, "--take", "one", "--at", "top=0.7", "--at", "setup=0"]) == 0
    text = lesson.read_text("utf-8")
    for kept in ("# my lesson", "# the first clip", "# two at most", "notes: 'it''s fine'  # last"):
        assert kept in text
    assert text.startswith(LESSON[:30])
    assert str(plain_clip.parent) not in text
    session = load_session(lesson, whole_pictures=True).session
    with open_video(plain_clip) as video:
        facts = video.facts
    frame = session.frame("one-top")
    assert frame.file == "frames/one-top.jpg"
    assert frame.from_video.name == "plain.mp4"
    assert frame.from_video.seconds == pytest.approx(facts.seconds[21], abs=1e-6)
    assert frame.from_video.sha256 == facts.sha256
    assert session.takes[0].video == "plain.mp4"
    # The clip is known now; another position needs no --take.
    assert run([*arguments, "--at", "impact=2"]) == 0
    assert [one.id for one in load_session(lesson).session.frames] == [
        "one-top", "one-setup", "one-impact"
    ]  # fmt: skip
    before = lesson.read_bytes()
    assert run([*arguments, "--at", "impact=1"]) == ExitCode.INPUT_REFUSED
    assert "already" in capsys.readouterr().err
    assert lesson.read_bytes() == before


def test_a_new_take_is_added_where_the_lesson_has_none(plain_clip, tmp_path):
    for written in (
        "thoughts: [x]",
        "{thoughts: [x]}",
        "thoughts: [x]\r\nframes:\r\n",
        "\ufeffthoughts: [x]\n",
    ):
        lesson = tmp_path / "session.yaml"
        lesson.write_bytes(written.encode("utf-8"))
        arguments = ["frames", str(plain_clip), "--lesson", str(lesson), "--force"]
        assert run([*arguments, "--at", "top=1"]) == ExitCode.INPUT_REFUSED
        assert lesson.read_bytes() == written.encode("utf-8")
        assert run([*arguments, "--at", "top=1", "--when", "after", "--view", "face-on"]) == 0
        session = load_session(lesson).session
        assert session.takes[0].id == "after-face-on"
        assert session.frames[0].id == "after-face-on-top"


@pytest.mark.parametrize(
    ("arguments", "code", "told"),
    [
        (["--at", "9"], 3, "the clip ends at"),
        (["--at", "x"], 2, "not a number"),
        (["--at", "=1"], 2, "POSITION=SECONDS"),
        (["--at", "nope=1"], 2, "is not one of"),
        (["--accept", "nope"], 2, "write one of"),
        (["--accept", "top"], 3, "no swing was found"),
        (["--when", "after"], 2, "go together"),
        (["--lesson", "x.yaml", "--at", "1"], 2, "needs its position"),
        (["--lesson", "x.yaml", "--at", "top=1"], 3, "x.yaml"),
        (["--lesson", "x.yaml", "-o", "y"], 2, "does not go with"),
        (["--stills", "99"], 2, "--stills"),
    ],
)  # fmt: skip
def test_what_cannot_be_done_is_told_in_a_line(
    plain_clip, tmp_path, capsys, monkeypatch, arguments, code, told
):
    monkeypatch.chdir(tmp_path)
    assert run(["frames", str(plain_clip), *arguments]) == code
    out, err = capsys.readouterr()
    assert out == ""
    assert told in err
    assert not list(tmp_path.iterdir())


def test_a_clip_without_a_swing_is_told_and_still_laid_out(plain_clip, tmp_path, capsys):
    assert run(["frames", str(plain_clip), "--propose", "-o", str(tmp_path)]) == 0
    assert "no swing was found" in capsys.readouterr().err
    assert (tmp_path / "plain-sheet.jpg").exists()


def test_without_the_video_part_its_name_is_told(plain_clip, monkeypatch, capsys):
    import sys

    monkeypatch.setitem(sys.modules, "av", None)
    assert run(["frames", str(plain_clip)]) == ExitCode.EXTRA_MISSING
    assert "lesson-reporter[video]" in capsys.readouterr().err
