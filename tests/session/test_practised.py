"""Tests typed back, regions to blur and times: what is refused, and at which line."""

import pytest

from reporter.errors import InputRefusedError
from reporter.session.load import load_session, load_text


def refused(folder, text: str) -> str:
    with pytest.raises(InputRefusedError) as caught:
        load_text(text.encode(), folder / "session.yaml")
    return str(caught.value)


HEAD = "thoughts: [Level head]\nlesson: {date: 2027-04-13}\n"


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("practised:\n  - {date: 2027-04-01, cold_test: [11, 10]}\n", "4:5: practised.0: 11 hits"),
        ("practised:\n  - {date: 2027-04-01, cold_test: [7]}\n", "practised.0.cold_test"),
        ("practised:\n  - {date: 1.4.2027, cold_test: [7, 10]}\n", "4:12: practised.0.date"),
        ("practised:\n  - {date: 2027-04-01}\n", "practised.0.cold_test: is missing"),
        ("practised:\n  - {date: 2027-04-01, cold_test: [0, 0]}\n", "at least 1"),
        ("practised:\n  - {date: 2027-04-01, cold_test: [-1, 5]}\n", "at least 0"),
        (
            "practised:\n  - {date: 2027-04-01, cold_test: [1, 5]}\n"
            "  - {date: 2027-04-01, cold_test: [2, 5]}\n",
            "5:12: practised.1.date: 2027-04-01 is told twice",
        ),
        (
            "last_lesson: {date: 2027-04-02}\npractised:\n"
            "  - {date: 2027-04-01, cold_test: [1, 5]}\n",
            "5:12: practised.0.date: 2027-04-01 does not lie after the last lesson",
        ),
        ("last_lesson: {date: 2027-04-13}\n", "3:21: last_lesson.date"),
        ("plan: {time: 7.30}\n", '3:14: plan.time: "7.30" is not a time of day'),
        ("plan: {minutes: 0}\n", "3:17: plan.minutes"),
    ],
)
def test_what_cannot_be_is_refused_at_its_line(tmp_path, text, told):
    assert told in refused(tmp_path, HEAD + text)


@pytest.mark.parametrize(
    "region", ["[10, 10, 10, 40]", "[50, 10, 20, 40]", "[0, 0, 121, 10]", "[-1, 0, 5, 5]"]
)
def test_a_region_outside_the_picture_is_refused(lesson_folder, lesson_text, region):
    text = lesson_text.replace("    size: [120, 160]", f"    blur: [{region}]")
    told = refused(lesson_folder, text)
    assert "frames.0.blur.0" in told
    assert "[left, top, right, bottom]" in told


def test_what_is_sound_is_read(lesson_folder, lesson_text):
    text = lesson_text.replace("    size: [120, 160]", "    blur: [[10, 5.5, 60, 50]]")
    text += "practised:\n  - {date: 2026-11-01, cold_test: [7, 10], note: in the rain}\n"
    session = load_text(text.encode(), lesson_folder / "session.yaml").session
    assert session.frames[0].blur == ((10.0, 5.5, 60.0, 50.0),)
    assert session.practised[0].cold_test == (7, 10)


def test_a_new_lesson_carries_the_last_one_and_its_tests_over(lesson_folder, lesson_text):
    import datetime

    from reporter.session.scaffold import new_lesson

    rows = (
        "practised:\n"
        "  - {date: 2026-11-02, cold_test: [3, 10]}\n"
        "  - {date: 2026-11-22, cold_test: [7, 10], note: 'wind: left'}\n"
        "  - {date: 2026-11-25, cold_test: [8, 10]}\n"
    )
    (lesson_folder / "session.yaml").write_text(lesson_text + rows, encoding="utf-8")
    last = load_session(lesson_folder)
    text = new_lesson(
        [], lesson_id="n", student_id="s", date=datetime.date(2026, 12, 1), last=last
    )
    session = load_text(text.encode(), lesson_folder.parent / "session.yaml").session
    assert session.last_lesson.date == datetime.date(2026, 11, 20)
    assert session.last_lesson.thoughts == ("Keep the head level", "Turn, then swing")
    # Only what was practised after the last lesson; the rest is in its own file.
    assert [one.cold_test for one in session.practised] == [(7, 10), (8, 10)]
    assert session.practised[0].note == "wind: left"
