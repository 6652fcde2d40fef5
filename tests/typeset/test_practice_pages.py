"""What the student practises from: thoughts, drills, plan and safety on two sides."""

from pathlib import Path

import pytest

from reporter.session.load import load_text
from reporter.story.drills import bundled_drills
from reporter.story.practice_patterns import bundled_patterns
from reporter.typeset.boxes import Disc, all_boxes, all_elements
from reporter.typeset.boxes import Path as Drawn
from tests.conftest import DEMO, JUNIOR, pages_of
from tests.typeset.page_checks import outside, overlapping_texts, text_boxes, too_small

FOLLOW_UP = """
last_lesson:
  date: 2027-03-30
  thoughts: [Ball off the lead heel, Look at the front of the ball]
  cold_test: drives that start through the gate
practised:
  - {date: 2027-03-31, cold_test: [4, 10]}
  - {date: 2027-04-04, cold_test: [7, 10], note: into the wind}
  - {date: 2027-04-12, cold_test: [8, 10]}
"""
DEMO_TEXT = DEMO.read_text("utf-8")
PATTERN = bundled_patterns()[0]
WITH_PATTERN = DEMO_TEXT.replace("plan:\n", f"plan:\n  pattern: {PATTERN.id}\n")
CASES = {
    "demo": DEMO_TEXT,
    "with tests": DEMO_TEXT + FOLLOW_UP,
    "with a pattern": WITH_PATTERN,
    "with both": WITH_PATTERN + FOLLOW_UP,
}


def practise(text: str, paper: str = "a4", place: Path = DEMO):
    found = pages_of(load_text(text.encode(), place), paper=paper)
    return [page for page in found if page.kind == "practise"]


def words(pages) -> str:
    printed = " ".join(box.text for page in pages for box in text_boxes(page))
    return " ".join(printed.replace("\N{NO-BREAK SPACE}", " ").split())


@pytest.mark.parametrize("paper", ["a4", "letter"])
@pytest.mark.parametrize("name", CASES)
def test_house_rules_hold(name, paper):
    for page in practise(CASES[name], paper):
        assert not outside(page)
        assert not overlapping_texts(page)
        assert not too_small(page)


@pytest.mark.parametrize("name", ["demo", "with tests"])
def test_thoughts_drills_plan_and_safety_take_two_sides(name):
    pages = practise(CASES[name])
    assert len(pages) <= 2
    text = words(pages)
    session = load_text(CASES[name].encode(), DEMO).session
    assert len(session.drills) == 3
    for thought in session.thoughts:
        assert thought.say in text
    names = {drill.id: drill.name for drill in bundled_drills()}
    for drill in session.drills:
        assert names[drill.id] in text
    figures = [e for page in pages for e in all_elements(page.elements) if e.role == "Figure"]
    drawn = [e for e in figures if any(isinstance(b, Drawn | Disc) for b in all_boxes(e.boxes))]
    assert len(drawn) >= 3
    for part in ("cold test", "warm up", "Stop for sharp or lasting pain", "at the lesson"):
        assert part in text


def test_a_junior_with_two_drills_takes_two_sides():
    pages = practise(JUNIOR.read_text("utf-8"), place=JUNIOR)
    assert len(pages) <= 2
    assert "Juniors practise with an adult near" in words(pages)


def test_tests_since_last_time_are_printed_with_their_ranges():
    text = words(practise(CASES["with tests"]))
    assert "Since last time" in text
    # Wilson score intervals at 95 %, from SciPy: 4, 7 and 8 of 10.
    for counted in ("17 to 69 per cent", "40 to 89 per cent", "49 to 94 per cent"):
        assert counted in text
    assert "not shown to have changed" in text
    assert "into the wind" in text
    assert "Since last time" not in words(practise(DEMO_TEXT))


def test_the_named_pattern_is_printed_with_its_parts():
    text = words(practise(WITH_PATTERN))
    assert PATTERN.name in text
    for part in PATTERN.parts:
        assert part.do.rstrip(".") in text
    assert PATTERN.parts[0].do.rstrip(".") not in words(practise(DEMO_TEXT))


@pytest.mark.parametrize("paper", ["a4", "letter"])
def test_forty_tests_and_long_words_still_fit(paper):
    rows = "".join(
        f"  - {{date: 2027-03-{day:02}, cold_test: [100, 100], note: {'a windy day ' * 15}}}\n"
        for day in range(1, 29)
    )
    text = DEMO_TEXT + f"last_lesson: {{cold_test: {'balls ' * 30}}}\npractised:\n{rows}"
    for page in practise(text, paper):
        assert not outside(page)
        assert not overlapping_texts(page)


def test_a_drill_written_in_place_is_planned_and_numbered_as_its_card():
    text = (
        "thoughts: [Brush]\nlesson: {date: 2027-04-13, next_lesson: 2027-04-27}\n"
        "drills:\n  - {name: Two coins, do: Brush over the first, tally: [2, 5]}\n  - pump\n"
    )
    loaded = load_text(text.encode(), Path("session.yaml"))
    from reporter.story.practice import doses_of, practice_plan

    plan = practice_plan(loaded.session, loaded.session.lesson.date)
    doses = {dose.id: dose.name for dose in doses_of(loaded.session)}
    assert [doses[part.drill] for part in plan.visits[0].parts if part.drill] == [
        "Two coins", next(d.name for d in bundled_drills() if d.id == "pump"),
    ]  # fmt: skip
    assert "drill 1" in words(practise(text, place=Path("session.yaml")))


def test_without_balls_a_written_drill_takes_none_of_the_budget():
    text = (
        "thoughts: [Brush]\nlesson: {date: 2027-04-13}\nplan: {balls: 10}\n"
        "drills:\n  - {name: Mirror, do: Turn and hold, tally: [3, 10], balls: no, minutes: 9}\n"
    )
    loaded = load_text(text.encode(), Path("session.yaml"))
    from reporter.story.practice import practice_plan

    for visit in practice_plan(loaded.session, loaded.session.lesson.date).visits:
        assert [part.balls for part in visit.parts if part.drill] == [0]
        assert visit.balls <= 10
