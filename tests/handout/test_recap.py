"""The coach's recap: one page whatever the lesson, with what to test first at its head."""

from pathlib import Path

import pytest
from pypdf import PdfReader

from reporter.command_line import run
from reporter.errors import ExitCode
from reporter.handout.build import explain_flight
from reporter.handout.flight_input import usable_shots
from reporter.handout.recap import one_page
from reporter.measure import measure_session
from reporter.session.load import load_session, load_text
from reporter.story.recap import recap_report
from reporter.typeset import load_brand
from reporter.typeset.boxes import Picture, boxes_of
from tests.conftest import DEMO, JUNIOR, TODAY
from tests.typeset.page_checks import outside, overlapping_texts, text_boxes, too_small

TESTS = """
practised:
  - {date: 2027-04-02, cold_test: [2, 10]}
  - {date: 2027-04-15, cold_test: [5, 10]}
  - {date: 2027-04-19, cold_test: [8, 10], note: no wind}
"""
LONG = "Turn the shirt logo past the ball and hold it there until the ball has landed. "
LESSONS = {
    "demo": DEMO.read_text("utf-8"),
    "demo with tests": DEMO.read_text("utf-8") + TESTS,
    "thoughts only": "thoughts: [Brush the grass after the ball]\n",
    "a great deal": DEMO.read_text("utf-8").replace("notes: Ball", f"notes: {LONG * 40}Ball")
    + TESTS
    + f"student_words: {LONG * 40}\n",
    "twelve thoughts": f"thoughts: [{', '.join(['word ' * 38] * 12)}]\n",
    "four long thoughts": "thoughts:\n"
    + f"  - {{say: {'word ' * 38}, because: {'word ' * 38}}}\n" * 4
    + f"plan: {{cold_test: {'word ' * 38}}}\n",
}


def recap(text: str, place: Path = DEMO, paper: str = "a4"):
    loaded = load_text(text.encode(), place)
    report = recap_report(
        loaded.session,
        measure_session(loaded.session, loaded.sizes),
        explain_flight(loaded),
        loaded.sizes,
        today=TODAY,
        shots=usable_shots(loaded.session, loaded.shots),
    )
    return one_page(report, load_brand("plain"), paper)


def words(page) -> str:
    return " ".join(" ".join(box.text for box in text_boxes(page)).split()).replace("\xa0", " ")


@pytest.mark.parametrize("paper", ["a4", "letter"])
@pytest.mark.parametrize("name", LESSONS)
def test_it_is_one_page_that_keeps_the_house_rules(name, paper):
    (page,), left_out = recap(LESSONS[name], paper=paper)
    assert not outside(page)
    assert not overlapping_texts(page)
    assert not too_small(page)
    assert (left_out > 0) == (name == "a great deal")


def test_it_tells_the_test_first_then_thoughts_and_measures():
    (page,), _ = recap(LESSONS["demo with tests"])
    text = words(page)
    session = load_session(DEMO).session
    assert "Test first." in text
    first = text.index("10 balls cold before any other: drives that start through the gate")
    thought = text.index(session.thoughts[0].say)
    assert first < thought < text.index("Drills given")
    assert "changed" in text
    assert "±" in text
    assert "front tripod" in text.lower()


def test_only_tests_after_the_lesson_stand_in_it():
    (page,), _ = recap(LESSONS["demo with tests"])
    text = words(page)
    assert "5 of 10" in text
    # 8 of 10 is 49 to 94 per cent: Wilson 1927, any table of score intervals.
    assert "8 of 10, 49 to 94 per cent" in text
    assert "2 of 10" not in text
    assert "not shown to have changed" in text


def test_it_holds_no_picture_and_no_private_note():
    (page,), _ = recap(LESSONS["demo"])
    assert not [box for box in boxes_of(page) if isinstance(box, Picture)]
    private = load_session(DEMO).session.private_notes
    assert private
    assert private[:20] not in words(page)


def test_the_command_writes_it_beside_the_lesson_and_only_over_its_own(tmp_path, capsys):
    lesson = tmp_path / "session.yaml"
    lesson.write_text("lesson: {id: r1, date: 2027-04-13}\nthoughts: [Brush]\n", encoding="utf-8")
    assert run(["build", str(lesson), "--recap"]) == 0
    assert "recap.pdf: 1 page" in capsys.readouterr().err
    assert len(PdfReader(tmp_path / "recap.pdf").pages) == 1
    assert not (tmp_path / "handout.pdf").exists()
    assert run(["build", str(lesson), "--recap", "-q"]) == 0
    # Neither may take the other's place, though both come from one lesson.
    handout = ["build", str(lesson), "-q", "-o", str(tmp_path / "recap.pdf")]
    assert run(handout) == ExitCode.CANNOT_WRITE
    assert run(["build", str(lesson), "-q"]) == 0
    over = ["build", str(lesson), "--recap", "-q", "-o", str(tmp_path / "handout.pdf")]
    assert run(over) == ExitCode.CANNOT_WRITE


@pytest.mark.parametrize("option", [["--calendar"], ["--layout", "text"]])
def test_options_that_do_not_go_together_are_refused(tmp_path, capsys, option):
    assert run(["build", str(tmp_path), "--recap", *option]) == ExitCode.USAGE
    assert "--recap goes with" in capsys.readouterr().err


def test_a_minors_recap_has_the_first_name_only():
    text = JUNIOR.read_text("utf-8").replace("name: Ilo", "name: Ilo Quenby")
    (page,), _ = recap(text, JUNIOR)
    assert "Ilo" in words(page)
    assert "Quenby" not in words(page)
