"""What is missing leaves no hole: lessons with little in them still make good pages."""

from pathlib import Path

import pytest

from reporter.errors import InputRefusedError
from reporter.handout.build import build_handout
from reporter.session.load import load_session, load_text
from tests.conftest import DEMO, TODAY, pages_of
from tests.typeset.page_checks import outside, overlapping_texts, text_boxes, too_small

THOUGHTS = "thoughts:\n  - Brush the grass after the ball.\n"
LESSONS = {
    "thoughts only": THOUGHTS,
    "a date": "lesson: {date: 2027-04-13}\n" + THOUGHTS,
    "four thoughts": "thoughts: [One thing now, Two things, Three things, Four things]\n",
    "drills only": THOUGHTS + "drills: [towel-behind]\n",
    "four drills": THOUGHTS + "drills: [towel-behind, feet-together, pump, finish-hold]\n",
    "a drill written in place": THOUGHTS
    + "drills:\n  - {name: Two coins, set_up: A coin before the ball and one behind it., "
    "do: Brush over the first., self_check: The first coin is still there., caution: Soft mat., "
    "tally: [2, 5]}\n",
    "seen only": THOUGHTS + "seen: {club: 7-iron, start: 2 deg right, bend: 6 m left}\n",
    "seen in words": THOUGHTS + "seen: {club: driver, start: far left, bend: a lot right}\n",
    "wanted only": THOUGHTS + "wanted: {start: 2 deg right, bend: 5 m left}\n",
    "no start": THOUGHTS + "seen: {club: driver, bend: 10 m left}\n",
    "a wedge": THOUGHTS + "seen: {club: sand wedge, start: 1 deg left, bend: none}\n",
    "yards": "student: {units: yards}\n"
    + THOUGHTS
    + "seen: {club: driver, head_speed: 100 mph, start: 1 deg right, bend: 20 yd right}\n"
    "wanted: {start: straight, bend: none, fairway_width: 35 yd}\n",
    "held left of a bunker": "student: {units: yards}\n"
    + THOUGHTS
    + "seen: {club: driver, head_speed: 95 mph, start: 1 deg left, bend: 22 yd right}\n"
    "wanted: {hold: left of the bunker, hazard: 6 yd right at 190 yd, fairway_width: 35 yd}\n",
    "held right of a pond, left-handed": "student: {plays: left, name: Ora}\n"
    + THOUGHTS
    + "seen: {club: driver, start: 2 deg right, bend: 15 m left}\n"
    "wanted: {hold: right of the pond, hazard: 9 m left at 150 m}\n",
    "a left-hander": "student: {plays: left, name: Ora}\n"
    + THOUGHTS
    + "seen: {club: driver, start: 2 deg right, bend: 15 m left}\n",
    "words and notes": THOUGHTS + "student_words: It feels like skipping a stone.\n"
    "notes: >-\n  " + "Bring the old driver. " * 60 + "\n",
}


@pytest.mark.parametrize("name", LESSONS)
@pytest.mark.parametrize("paper", ["a4", "letter"])
def test_pages_keep_the_house_rules(name, paper):
    pages = pages_of(load_text(LESSONS[name].encode(), Path("session.yaml")), paper=paper)
    assert 2 <= len(pages) <= 8
    for page in pages:
        assert not outside(page)
        assert not overlapping_texts(page)
        assert not too_small(page)


def printed(name: str) -> str:
    pages = pages_of(load_text(LESSONS[name].encode(), Path("session.yaml")))
    return " ".join(box.text for page in pages for box in text_boxes(page))


def test_without_a_start_face_and_path_cannot_be_told():
    text = printed("no start").lower()
    assert "cannot tell" in text
    assert "face at" not in text
    assert "path 1" not in text


def test_a_wedge_tells_the_face_but_not_the_path():
    text = printed("a wedge")
    assert "face" in text
    assert "path: cannot tell" in text


def test_every_flight_says_computed_not_measured():
    for name, lesson in LESSONS.items():
        if "seen:" in lesson or "wanted:" in lesson:
            assert "omputed, not measured" in printed(name), name


def test_yards_are_used_everywhere():
    text = printed("yards").replace("\N{NO-BREAK SPACE}", " ")
    assert "20 yd" in text
    assert " m " not in text


def test_a_lesson_with_before_frames_only_has_numbers_and_no_verdict(tmp_path):
    text = DEMO.read_text(encoding="utf-8")
    start = text.index("pairs:")
    end = text.index("thoughts:")
    single = (
        "pairs:\n  - before: face-on-before-setup\n"
        "    measures: [shoulder-line-tilt, pelvis-line-tilt]\n\n"
    )
    loaded = load_text((text[:start] + single + text[end:]).encode(), DEMO)
    words = " ".join(box.text for page in pages_of(loaded) for box in text_boxes(page))
    assert "10°" in words
    assert "changed" not in words.replace("What changed", "").replace("to have changed", "")


def test_an_impossible_flight_is_refused_at_its_line():
    lesson = (
        THOUGHTS + "seen: {club: driver, head_speed: 400 mph, start: 2 deg left, bend: 5 m right}"
    )
    with pytest.raises(InputRefusedError) as refused:
        pages_of(load_text(lesson.encode(), Path("session.yaml")))
    assert "session.yaml:3:" in str(refused.value)


def test_an_unknown_drill_and_measure_are_refused_with_the_nearest(tmp_path):
    lesson = THOUGHTS + "drills: [towel-behnd]\n"
    with pytest.raises(InputRefusedError) as refused:
        pages_of(load_text(lesson.encode(), Path("session.yaml")))
    assert 'session.yaml:3:10: drills.0: there is no drill "towel-behnd"; did you mean' in str(
        refused.value
    )
    assert "towel-behind" in str(refused.value)


def test_the_next_lesson_before_this_one_is_refused():
    lesson = "lesson: {date: 2027-04-13, next_lesson: 2027-04-12}\n" + THOUGHTS
    with pytest.raises(InputRefusedError):
        pages_of(load_text(lesson.encode(), Path("session.yaml")))


def test_inputs_are_left_as_they_were(tmp_path):
    before = {p.name: p.read_bytes() for p in DEMO.parent.glob("frames/*")}
    text = DEMO.read_bytes()
    build_handout(
        DEMO,
        output=tmp_path / "out.pdf",
        brand=None,
        layout="handout",
        paper="a4",
        today=TODAY,
    )
    assert DEMO.read_bytes() == text
    assert {p.name: p.read_bytes() for p in DEMO.parent.glob("frames/*")} == before


def test_the_demo_loads_without_warnings():
    assert load_session(DEMO).warnings == ()


def test_the_hazard_is_named_drawn_and_held():
    pages = pages_of(load_text(LESSONS["held left of a bunker"].encode(), Path("session.yaml")))
    text = " ".join(box.text for page in pages for box in text_boxes(page))
    assert "this delivery lands left of the bunker 95 times in 100, with" in text
    assert text.count("the bunker") == 2  # in the sentence and beside the block
    without = LESSONS["held left of a bunker"].replace(" at 190 yd", "")
    plain = pages_of(load_text(without.encode(), Path("session.yaml")))
    assert " ".join(box.text for page in plain for box in text_boxes(page)).count("bunker") == 1


@pytest.mark.parametrize(
    ("wanted", "told"),
    [
        ("{hold: left of the bunker}", "wanted: where is the bunker?"),
        ("{hazard: 12 yd right}", "wanted: a hazard needs the side to hold"),
        ("{hold: left of 12 yd right, hazard: 9 yd right}", "the place of the hazard is given"),
        ("{hold: under the bunker, hazard: 9 yd right}", 'wanted.hold: "under the bunker" is not'),
        ("{hold: left of the bunker, hazard: 9 yd}", "wanted.hazard: "),
        ("{hold: left of the bunker, hazard: 60 yd left}", "wanted: no delivery holds it there"),
        ("{start: 3 deg right, hold: left of 1 yd right}", "wanted: its landing region reaches"),
    ],
)
def test_a_hold_that_cannot_be_is_refused_at_its_field(wanted, told):
    text = f"seen: {{club: driver}}\nwanted: {wanted}\n" + THOUGHTS
    with pytest.raises(InputRefusedError) as refused:
        pages_of(load_text(text.encode(), Path("session.yaml")))
    assert told in str(refused.value)


TABLES = {
    "topped": ("launch_deg,carry_m,offline_m\n-3,40,5\n", "1 of 1 shots topped or hardly hit"),
    "copies": ("start_deg,carry_m,offline_m\n" + "1,200,5\n" * 8, "the rows may be copies"),
    "one shot": ("start_deg,carry_m,offline_m\n1,200,5\n", "Too few to tell"),
    "no landing": ("start_deg,carry_m\n1,200\n", "without a landing beside the target line"),
}


@pytest.mark.parametrize("name", TABLES)
def test_a_page_says_why_a_table_tells_little(tmp_path, name):
    table, told = TABLES[name]
    (tmp_path / "shots.csv").write_text(table)
    lesson = tmp_path / "session.yaml"
    lesson.write_text(THOUGHTS + "seen: {club: driver, how: measured, shots: shots.csv}\n")
    pages = pages_of(load_session(lesson))
    assert told in " ".join(box.text for page in pages for box in text_boxes(page))


def test_a_ball_faster_than_its_head_can_make_it_is_refused_at_its_cell(tmp_path):
    # A square blow of a rigid head gives (1 + e) v / (1 + m/M): with e below 0.9 and any mass no
    # more than 1.9 times the head's speed (Penner 2001).
    (tmp_path / "shots.csv").write_text(
        "head_speed_mph,ball_speed_mph,offline_m\n90,125,5\n90,171,5\n"
    )
    lesson = tmp_path / "session.yaml"
    lesson.write_text(THOUGHTS + "seen: {club: driver, shots: shots.csv}\n")
    with pytest.raises(InputRefusedError) as refused:
        pages_of(load_session(lesson))
    assert "shots.csv:3:2: ball_speed_mph: 76.44 m/s is more than" in str(refused.value)
