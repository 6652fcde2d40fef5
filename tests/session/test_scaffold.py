"""A new lesson file is valid, says what it means, and carries the right things over."""

import datetime

import pytest
from PIL import Image

from reporter.session.explain import origins
from reporter.session.load import load_session, load_text
from reporter.session.scaffold import MODELINE, new_lesson, picture_named

DAY = datetime.date(2026, 12, 1)


def scaffold(folder, names=(), last=None) -> str:
    for name in names:
        (folder / name).parent.mkdir(exist_ok=True)
        Image.new("RGB", (120, 160)).save(folder / name)
    return new_lesson(names, lesson_id="aa11", student_id="bb22", date=DAY, last=last)


@pytest.mark.parametrize(
    ("name", "expected"),
    [
        ("frames/before-face-on-top.jpg", ("before", "face-on", "top")),
        ("After_Down_The_Line_Lead_Arm_Level.PNG", ("after", "down-the-line", "lead-arm-level")),
        ("before change-of-direction face on.jpg", ("before", "face-on", "change-of-direction")),
        ("halfway-down-down-the-line-after.jpg", ("after", "down-the-line", "halfway-down")),
        ("halfway-down-the-line-after.jpg", ("after", "down-the-line", "")),
        ("before-after-top.jpg", ("", "", "top")),
        ("stop-before.jpg", ("before", "", "")),
        ("IMG_0001.jpg", ("", "", "")),
    ],
)
def test_a_file_name_is_read_and_never_guessed(name, expected):
    picture = picture_named(name)
    assert (picture.when, picture.view, picture.position) == expected


def test_a_new_file_is_a_valid_lesson(tmp_path):
    names = ["frames/before-face-on-top.png", "frames/after-face-on-top.png", "IMG: 1, x.png",
             "frames/after-face-on-impact.png", "frames/after-face-on-impact-2.png"]  # fmt: skip
    text = scaffold(tmp_path, names)
    assert text.startswith(MODELINE)
    session = load_text(text.encode(), tmp_path / "session.yaml").session
    assert session.lesson.id == "aa11"
    assert session.student.id == "bb22"
    assert session.lesson.date == DAY
    assert len(session.frames) == 4
    assert len({frame.id for frame in session.frames}) == 4
    assert [(pair.before, pair.after) for pair in session.pairs] == [
        ("before-face-on-top", "after-face-on-top")
    ]
    assert "IMG: 1, x.png" in text
    assert not session.consent.photos


def test_without_pictures_too(tmp_path):
    assert load_text(scaffold(tmp_path).encode(), tmp_path / "session.yaml").session.frames == ()


def uncommented(text: str) -> str:
    """The file with its field comments taken in: what a coach gets who removes each #."""
    lines = []
    for line in text.splitlines():
        bare = line.lstrip()
        if bare.startswith("# ") and ":" in bare and not bare.startswith(("# yaml", "# For")):
            line = line.replace("# ", "", 1)
        lines.append(line)
    return "\n".join(lines) + "\n"


def test_the_commented_examples_are_valid_when_uncommented(tmp_path):
    text = scaffold(tmp_path, ["frames/before-face-on-top.png", "frames/after-face-on-top.png"])
    opened = uncommented(text.replace("    # points: {lead", "    # points: {head: [1, 2], lead"))
    opened = opened.replace("[410, 300]", "[41, 30]")
    opened = opened.replace("#   - ", "  - ").replace("#   ", "  ").replace("#     - ", "    - ")
    session = load_text(opened.encode(), tmp_path / "session.yaml").session
    assert session.plan.minutes == 40
    assert session.student.avoid == ("knee", "back")
    assert session.drills[1].tally == (3, 8)
    assert session.frames[1].points["head"].at == (1.0, 2.0)


def test_after_carries_over_what_stays(lesson_folder, tmp_path):
    last = load_session(lesson_folder)
    text = scaffold(tmp_path, ["before-face-on-top.png"], last)
    session = load_text(text.encode(), tmp_path / "session.yaml").session
    assert session.student == last.session.student
    assert session.consent == last.session.consent
    assert session.thoughts == last.session.thoughts
    assert session.lesson.coach == "Ida Brandt"
    assert session.lesson.id == "aa11"
    assert session.lesson.date == DAY
    assert session.lesson.next_lesson is None
    assert session.takes[0].club == "driver"
    assert session.seen.club == "driver"
    assert session.seen.start is None
    assert session.drills == ()


def test_explain_names_the_origin_of_every_value(lesson_folder):
    (lesson_folder / "academy.yaml").write_text("lesson:\n  academy: Birkhang\n")
    told = {o.field: str(o) for o in origins(load_session(lesson_folder))}
    assert told["lesson.academy"] == 'lesson.academy = "Birkhang"  (academy.yaml:2)'
    assert told["student.units"] == 'student.units = "yards"  (session.yaml:6)'
    assert told["student.level"] == 'student.level = "improving"  (built in)'
    assert told["thoughts.1.say"].endswith("(session.yaml:37)")
    assert told["frames.0.points"].startswith("frames.0.points = 3 marked")
    assert told["lesson.next_lesson"].startswith("lesson.next_lesson = 2026-12-01 17:30")
    assert "seen.how" in told
    assert told["seen.how"].endswith("(built in)")
