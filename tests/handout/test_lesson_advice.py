"""Advice in the commands: at its line, with its offer, silenced with a reason; plans by line."""

import datetime
import json

import pytest

from reporter.command_line import run
from reporter.story.advice_words import claims_change
from tests.conftest import DEMO, JUNIOR

LESSON = """\
lesson: {date: 2027-04-13, next_lesson: 2027-05-11}
student: {level: improving, avoid: [bak]}
thoughts:
  - Keep your left arm straight
drills: [pump]
plan:
  if_then:
    - {when: the range is full, then: I practise at home}
"""


@pytest.fixture
def file(tmp_path):
    folder = tmp_path / "a" / "b" / "c" / "lesson"
    folder.mkdir(parents=True)
    return folder / "session.yaml"


def checked(file, capsys, text: str, *options: str) -> str:
    file.write_text(text, encoding="utf-8")
    assert run(["check", str(file), *options]) == 0
    return capsys.readouterr().err


def test_advice_stands_at_its_line_with_reason_and_offer(file, capsys):
    told = checked(file, capsys, LESSON)
    lines = told.splitlines()
    body = next(line for line in lines if "cue-about-the-body" in line)
    assert body.startswith("session.yaml:4:5: thoughts.0.say: note cue-about-the-body: ")
    assert "; perhaps: Draw a wide circle with the club head (" in body
    assert body.endswith(")")
    assert any(
        line.startswith("session.yaml:2:37: student.avoid.0: advice avoid-unknown: ")
        and 'did you mean "back"?' in line
        for line in lines
    )
    assert any("next-lesson-far: 28 days" in line for line in lines)


def test_silenced_advice_is_silent_and_listed_on_demand(file, capsys):
    text = LESSON + "silence:\n  - {id: cue-about-the-body, reason: She likes it so}\n"
    assert "cue-about-the-body" not in checked(file, capsys, text)
    told = checked(file, capsys, text, "-v")
    (line,) = [line for line in told.splitlines() if "cue-about-the-body" in line]
    assert line.startswith("silenced cue-about-the-body")
    assert "She likes it so" in line


def test_the_build_log_holds_the_same_advice(file, capsys):
    text = LESSON + "silence:\n  - {id: avoid-unknown, reason: An old word}\n"
    advised = [line for line in checked(file, capsys, text).splitlines() if ": no prob" not in line]
    assert len(advised) >= 3
    assert run(["build", str(file)]) == 0
    built = capsys.readouterr().err.splitlines()
    assert [line for line in built if "handout.pdf" not in line] == advised
    assert run(["build", str(file), "-v"]) == 0
    assert "silenced avoid-unknown" in capsys.readouterr().err
    assert run(["build", str(file), "-q"]) == 0
    assert capsys.readouterr().err == ""


def test_json_has_every_key_that_is_documented(file, capsys):
    text = LESSON + "silence:\n  - {id: avoid-unknown, reason: An old word}\n"
    file.write_text(text, encoding="utf-8")
    assert run(["check", str(file), "--json", "-v"]) == 0
    answer = json.loads(capsys.readouterr().out)
    assert {one["id"] for one in answer["advice"]} >= {"cue-about-the-body", "next-lesson-far"}
    for one in answer["advice"]:
        assert {"id", "file", "line", "column", "field", "kind", "message", "offer", "reason"} == (
            set(one)
        )
    assert answer["silenced"][0]["silenced_because"] == "An old word"
    assert {one["sheet"] for one in answer["reading_ease"]} >= {"Practise"}


@pytest.mark.parametrize(
    ("text", "told"),
    [
        (
            "lesson: {date: 2027-04-13, next_lesson: 2027-04-13}\nthoughts: [Level head]\n",
            "session.yaml:1:41: lesson.next_lesson: the next lesson (2027-04-13) must be after",
        ),
        (
            "lesson: {next_lesson: 2001-01-05}\nthoughts: [Level head]\n",
            "session.yaml:1:23: lesson.next_lesson: the next lesson (2001-01-05) must be after",
        ),
        (
            "thoughts: [Level head]\nplan: {minutes: 0}\n",
            'session.yaml:2:17: plan.minutes: "0" must be at least 5',
        ),
        (
            "thoughts: [Level head]\nplan: {pattern: evenign-at-home}\n",
            'session.yaml:2:17: plan.pattern: there is no pattern "evenign-at-home"; ',
        ),
    ],
)
@pytest.mark.parametrize("command", ["check", "build"])
def test_a_plan_that_cannot_be_is_refused_at_its_line(file, capsys, text, told, command):
    file.write_text(text, encoding="utf-8")
    assert run([command, str(file)]) == 3
    err = capsys.readouterr().err
    assert told in err
    assert "internal fault" not in err


def test_the_nearest_pattern_is_offered(file, capsys):
    from reporter.story.practice_patterns import bundled_patterns

    known = bundled_patterns()[0].id
    file.write_text(f"thoughts: [Level]\nplan: {{pattern: {known}x}}\n", encoding="utf-8")
    assert run(["check", str(file)]) == 3
    assert f'did you mean "{known}"?' in capsys.readouterr().err


def test_a_note_on_the_plan_is_told_and_can_be_silenced(file, capsys):
    text = "lesson: {date: 2027-04-13, next_lesson: 2027-04-15}\nthoughts: [Brush the grass]\n"
    assert "note plan-too-short: Only 2 days" in checked(file, capsys, text)
    silence = "silence:\n  - {id: plan-too-short, reason: We said so}\n"
    told = checked(file, capsys, text + silence)
    assert "plan-too-short" not in told
    assert "silence-unknown" not in told


def test_numbers_in_advice_are_rounded(capsys, tmp_path):
    import re
    import shutil

    folder = tmp_path / "demo"
    shutil.copytree(DEMO.parent, folder, ignore=shutil.ignore_patterns("renderer", "junior"))
    file = folder / "session.yaml"
    text = file.read_text("utf-8").replace(
        "heading: Seen along the line, your posture held.", "heading: You now bend more."
    )
    told = checked(file, capsys, text)
    assert "change-within-its-error" in told
    assert not re.search(r"\d\.\d{2,}", told)


def test_the_demo_lesson_gets_no_advice_and_the_junior_three(capsys):
    assert run(["check", str(DEMO)]) == 0
    assert "advice" not in capsys.readouterr().err
    assert run(["check", str(JUNIOR)]) == 0
    assert "3 pieces of advice" in capsys.readouterr().err


# Written before the word lists for changes, in our own words.
CLAIMS = (
    "At set-up the chest now leans away from the target",
    "The club comes closer to the line",
    "You turn more than before",
    "The shaft is steeper halfway down",
    "Your head no longer moves back",
    "The strike has moved toward the middle",
    "Less sway at the top",
    "The hips have changed",
)
NO_CLAIMS = (
    "Seen along the line, your posture held",
    "No change that these pictures can show",
    "The trunk is the same as before",
    "Halfway down: not changed",
    "Look at the pelvis",
    "At the strike, from the front",
    "The head stayed level",
    "The tilt is unchanged",
)


def test_headings_that_claim_a_change_are_told_from_those_that_do_not():
    assert [text for text in CLAIMS if not claims_change(text)] == []
    assert [text for text in NO_CLAIMS if claims_change(text)] == []


def test_reading_ease_is_given_by_sheet(capsys):
    assert run(["check", str(DEMO), "-v"]) == 0
    told = capsys.readouterr().err
    assert "Practise: reading ease " in told
    assert "(Flesch)" in told
    assert run(["check", str(DEMO)]) == 0
    assert "reading ease" not in capsys.readouterr().err


def test_reading_ease_is_refused_in_another_language():
    from reporter.story.reading_pages import ease_of_sheets
    from reporter.story.report import Paragraph, Report, Run, Sheet

    text = Paragraph((Run("Le club passe derriere la balle. " * 12),), "body")
    sheets = (Sheet("today", "Today", (text,)),)
    report = Report("t", "a", "fr", "s", "", (), "", sheets)
    (found,) = ease_of_sheets(report)
    assert found.ease is None
    assert "en, de, es only" in found.reason


def test_the_students_own_words_are_not_judged():
    from reporter.story.reading_pages import running_text
    from reporter.story.report import Paragraph, Run, Sheet

    own = Paragraph((Run("It feels like skipping a stone"),), "quote", "student_words")
    assert list(running_text(Sheet("practise", "Practise", (own,)))) == []


def test_an_academys_silence_holds_for_its_lessons(file, capsys):
    house = "silence:\n  - {id: next-lesson-far, reason: We meet monthly}\n"
    (file.parent / "academy.yaml").write_text(house, encoding="utf-8")
    assert "next-lesson-far" not in checked(file, capsys, LESSON)


def test_today_stands_in_for_a_missing_date(file):
    from reporter.errors import InputRefusedError
    from reporter.handout.check import check_lesson

    file.write_text("lesson: {next_lesson: 2027-04-20}\nthoughts: [Level]\n", encoding="utf-8")
    assert check_lesson(file, today=datetime.date(2027, 4, 13)).advice.plan_notes == ()
    with pytest.raises(InputRefusedError):
        check_lesson(file, today=datetime.date(2027, 4, 20))
