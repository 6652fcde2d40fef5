"""The calendar file beside the handout, read back by a calendar library."""

import datetime

import icalendar
import pytest

from reporter.command_line import run
from reporter.errors import ExitCode

LESSON = """\
lesson: {id: 77aa, date: 2027-10-25, next_lesson: 2027-11-08 17:30}
student: {name: Runa Vexley}
thoughts: [Brush the grass]
drills: [towel-behind, {name: Two coins, do: Brush over the first, tally: [2, 5]}]
"""


@pytest.fixture
def file(tmp_path):
    folder = tmp_path / "a" / "b" / "c" / "lesson"
    folder.mkdir(parents=True)
    (folder / "session.yaml").write_text(LESSON, encoding="utf-8")
    return folder / "session.yaml"


def events(file) -> list[icalendar.Event]:
    return list(icalendar.Calendar.from_ical(file.read_bytes()).walk("VEVENT"))


def build(file, *options: str) -> int:
    return run(["build", str(file), "--calendar", "-q", *options])


def test_it_lies_beside_the_handout_under_its_name(file, capsys):
    assert build(file, "-o", str(file.parent / "for-runa.pdf")) == 0
    assert sorted(one.name for one in file.parent.iterdir()) == [
        "for-runa.ics", "for-runa.pdf", "session.yaml",
    ]  # fmt: skip


def test_every_visit_and_the_next_lesson_stand_in_it(file):
    assert build(file) == 0
    found = events(file.parent / "handout.ics")
    days = [event.decoded("dtstart") for event in found]
    assert days[:-1] == sorted(days[:-1])
    assert all(type(day) is datetime.date for day in days[:-1])
    # Whole days but for the next lesson, whose hour the file says, across the clock change.
    assert days[-1] == datetime.datetime(2027, 11, 8, 17, 30)
    assert "dtend" not in found[-1]
    words = str(found[0]["description"])
    assert words.index("Warm up") < words.index("balls cold") < words.index("Towel behind")
    assert "Two coins" in words


def test_nobody_is_named(file):
    assert build(file) == 0
    text = (file.parent / "handout.ics").read_text("utf-8")
    assert "Runa" not in text
    assert "Vexley" not in text


def test_visits_have_an_hour_only_where_the_file_says_one(file):
    file.write_text(LESSON + "plan: {time: 18:15, minutes: 40}\n", encoding="utf-8")
    assert build(file) == 0
    first = events(file.parent / "handout.ics")[0]
    assert first.decoded("dtstart").time() == datetime.time(18, 15)
    assert first.decoded("dtend") - first.decoded("dtstart") <= datetime.timedelta(minutes=40)


def test_names_and_edition_stay_until_something_changes(file):
    target = file.parent / "handout.ics"
    assert build(file) == 0
    first = events(target)
    assert {event["sequence"] for event in first} == {0}
    assert build(file) == 0
    assert [event["uid"] for event in events(target)] == [event["uid"] for event in first]
    assert {event["sequence"] for event in events(target)} == {0}
    file.write_text(LESSON.replace("17:30", "18:30"), encoding="utf-8")
    assert build(file) == 0
    assert [event["uid"] for event in events(target)] == [event["uid"] for event in first]
    assert {event["sequence"] for event in events(target)} == {1}


def test_another_lesson_has_other_names(file):
    assert build(file) == 0
    first = {event["uid"] for event in events(file.parent / "handout.ics")}
    file.write_text(LESSON.replace("77aa", "77ab"), encoding="utf-8")
    assert build(file, "--force") == 0
    assert not first & {event["uid"] for event in events(file.parent / "handout.ics")}


@pytest.mark.parametrize("foreign", [b"BEGIN:VCALENDAR\r\nEND:VCALENDAR\r\n", b"\xff\x00", b""])
def test_a_foreign_file_is_kept_and_nothing_is_written(file, capsys, foreign):
    target = file.parent / "handout.ics"
    target.write_bytes(foreign)
    assert run(["build", str(file), "--calendar"]) == ExitCode.CANNOT_WRITE == 5
    assert "handout.ics exists and does not belong to this lesson" in capsys.readouterr().err
    assert target.read_bytes() == foreign
    assert not (file.parent / "handout.pdf").exists()
    assert build(file, "--force") == 0
    assert events(target)


def test_without_the_option_there_is_none(file):
    assert run(["build", str(file), "-q"]) == 0
    assert not (file.parent / "handout.ics").exists()

