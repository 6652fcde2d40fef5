"""A lesson file becomes a typed lesson, or one list of complaints with their places."""

import contextlib
import datetime
import hashlib
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from reporter.errors import InputRefusedError
from reporter.session.load import load_session, load_text
from reporter.session.scalars import Bend, Direction, Moment


def complaints(folder, text: str) -> list[str]:
    with pytest.raises(InputRefusedError) as caught:
        load_text(text.encode("utf-8"), folder / "session.yaml")
    assert list(caught.value.problems) == sorted(caught.value.problems)
    return [str(problem) for problem in caught.value.problems]


def test_a_whole_lesson(lesson_folder):
    loaded = load_session(lesson_folder / "session.yaml")
    session = loaded.session
    assert session.lesson.date == datetime.date(2026, 11, 20)
    assert session.lesson.next_lesson == Moment(datetime.date(2026, 12, 1), datetime.time(17, 30))
    assert session.consent.photos is True
    assert session.consent.share is False
    assert session.frames[0].points["head"].at == (60.0, 20.5)
    assert session.frames[0].points["lead_knee"].hidden
    assert session.frames[0].points["trail_knee"].again == ((71.0, 110.0),)
    assert not session.frames[0].points["trail_knee"].confirmed
    assert session.frames[0].ground_points[0].ground == (0.0, 60.0)
    # 1 mile an hour is 0.447 04 m/s and 1 yard 0.9144 m (NIST SP 811, B.8).
    assert session.seen.head_speed.metres_per_second == pytest.approx(93 * 0.44704)
    assert session.seen.landing == pytest.approx(20 * 0.9144)
    assert session.seen.start == Direction("2 deg left", degrees=-2.0)
    assert session.seen.bend == Bend("a lot right", word="a lot right")
    assert session.wanted.fairway_width == 30.0
    assert [thought.say for thought in session.thoughts] == [
        "Keep the head level",
        "Turn, then swing",
    ]
    assert session.drills[0].id == "feet-together"
    assert session.drills[1].tally == (3, 8)
    assert session.notes == "First line\nsecond line"
    assert loaded.sizes == {"f1": (120, 160), "f2": (120, 160)}
    assert loaded.warnings == ()
    assert load_session(lesson_folder).session == session


def test_thoughts_alone_are_a_lesson(lesson_folder):
    loaded = load_text(b"thoughts: [Keep it low]\n", lesson_folder / "session.yaml")
    assert loaded.session.frames == ()
    assert loaded.session.student.plays == "right"


def test_empty_parts_count_as_left_out(lesson_folder):
    text = b"student:\n  # name: x\nframes:\nseen:\nplan: ~\nthoughts: [x]\n"
    assert load_text(text, lesson_folder / "session.yaml").session.plan.visits_per_week == 3


def test_the_example_of_the_manual(lesson_folder, lesson_text):
    found = complaints(lesson_folder, lesson_text.replace("plays: right", "plays: rigth"))
    assert found == [
        'session.yaml:5:10: student.plays: "rigth" is not one of right, left; did you mean "right"?'
    ]


# One change each to the sound lesson, and what must be said about it.
FAULTS = {
    "unknown-field": ("name: Wren", "nmae: Wren", '4:3: student.nmae: unknown field "nmae"; did'),
    "unknown-and-missing-are-one": ("say: Keep", "sya: Keep", 'did you mean "say"?'),
    "unknown-at-top": ("notes: |", "noets: |", 'did you mean "notes"?'),
    "no-such-day": ("date: 2026-11-20, coach", "date: 2026-02-30, coach", "there is no such day"),
    "other-date": ("date: 2026-11-20, coach", "date: 20.11.2026, coach", "year-month-day"),
    "bad-time": ("17:30", "25:30", "00:00 to 23:59"),
    "next-before": ("next_lesson: 2026-12-01 17:30", "next_lesson: 2026-11-01", "lies before"),
    "until-before": ("until: 2027-11-20", "until: 2025-11-20", "consent.until"),
    "truth": ("photos: yes", "photos: on", "yes, no, true, false"),
    "view": ("view: face-on, club: driver, camera: A}\n  - {id: t2",
             "view: face_on, club: driver, camera: A}\n  - {id: t2", 'did you mean "face-on"?'),
    "double-take": ("{id: t2, when", "{id: t1, when", "used twice, first in line 9"),
    "double-frame": ("{id: f2, take", "{id: f1, take", "used twice, first in line 12"),
    "no-such-take": ("take: t2", "take: t3", 'no take has the id "t3"'),
    "no-such-frame": ("after: f2", "after: f9", 'no frame has the id "f9"'),
    "missing-take": ("    take: t1\n", "", "frames.0.take: is missing"),
    "point-name": ("lead_knee: hidden", "lead-nee: hidden", 'did you mean "lead_knee"?'),
    "line-name": ("{plumb:", "{plum:", 'did you mean "plumb"?'),
    "point-outside": ("head: [60, 20.5]", "head: [60, 161]", "outside the upright picture"),
    "point-nan": ("head: [60, 20.5]", "head: [60, nan]", "points.head.1"),
    "point-comma": ("head: [60, 20.5]", 'head: [60, "20,5"]', 'write "20.5"'),
    "point-three": ("head: [60, 20.5]", "head: [60, 20, 5]", "3 items; at most 2"),
    "point-one": ("head: [60, 20.5]", "head: [60]", "missing|is missing"),
    "point-word": ("lead_knee: hidden", "lead_knee: hiden", "[across, down] in pixels, or hidden"),
    "point-far": ("head: [60, 20.5]", "head: [60, 20001]", "between -10000 and 20000"),
    "point-nothing": ("lead_knee: hidden", "lead_knee: {confirmed: yes}", "either a place"),
    "missing-file": ("frames/after.png", "frames/aftr.png", 'did you mean "frames/after.png"?'),
    "other-size": ("size: [120, 160]", "size: [160, 120]", "is 120 x 160 pixels, not 160 x 120"),
    "other-digest": ("size: [120, 160]", f"sha256: {'0' * 64}", "another SHA-256"),
    "no-digest": ("size: [120, 160]", "sha256: abc", "64 of the digits"),
    "speed-unit": ("93 mph", "93", "no unit"),
    "speed-size": ("93 mph", "930 mph", "between 0.5 and 120"),
    "side": ("start: 2 deg left", "start: 2 deg", "which side"),
    "direction-word": ("start: 2 deg left", "start: farleft", 'did you mean "far left"?'),
    "bend-word": ("bend: a lot right", "bend: slice", "one of: none"),
    "landing": ("landing: 20 yd right", "landing: 20", "no unit"),
    "width": ("fairway_width: 30 m", "fairway_width: -30 m", "between 1 and 200"),
    "before-and-after": ("before: f1, after: f2", "before: f2, after: f1", "is marked after"),
    "positions": ("id: f2, take: t2, position: top", "id: f2, take: t2, position: finish",
                  "differ in position"),
    "views": ("{id: t2, when: after, view: face-on", "{id: t2, when: after, view: down-the-line",
              "differ in view"),
    "empty-pair": ("before: f1, after: f2, ", "", "needs a frame"),
    "tally": ("tally: [3, 8]", "tally: [3, 800]", "at most 100"),
    "drill": ("{name: Own drill, do: Swing slowly, tally: [3, 8]}", "{name: Own drill}",
              "needs an id"),
    "visits": ("visits_per_week: 3", "visits_per_week: 8", "at most 7"),
    "visits-number": ("visits_per_week: 3", "visits_per_week: three", "not a whole number"),
    "list-wanted": ("thoughts:\n  - say: Keep the head level\n    because: the club comes back to"
                    " the ball\n  - Turn, then swing", "thoughts: Turn", "a list is needed"),
    "group-wanted": ("plan:\n  visits_per_week: 3\n  if_then:\n    - {when: the ball starts left,"
                     " then: check the aim}", "plan: often", "a group of fields is needed"),
    "text-wanted": ("name: Wren", "name: [Wren]", "a text is needed"),
    "empty-text": ("name: Wren", 'name: "  "', "is empty"),
    "no-thoughts": ("thoughts:", "private_notes: x\nthoughts: []\nstudent_words:",
                    "thoughts|a list stands here"),
    "identifier": ("id: 3f9a", "id: a b", "cannot be a name"),
    "newer": ("format: 1", "format: 2", "format 2; this release reads up to format 1"),
    "old": ("format: 1", "format: 0", "at least 1"),
}  # fmt: skip


@pytest.mark.parametrize("fault", FAULTS)
def test_one_fault_is_told(lesson_folder, lesson_text, fault):
    sound, broken, words = FAULTS[fault]
    assert lesson_text.count(sound) >= 1
    found = complaints(lesson_folder, lesson_text.replace(sound, broken, 1))
    assert any(part in "\n".join(found) for part in words.split("|")), found
    assert len(found) <= 2
    assert all(line.startswith("session.yaml:") for line in found)


def test_all_faults_are_told_at_once_and_in_order(lesson_folder, lesson_text):
    text = lesson_text
    for name in ("no-such-day", "truth", "no-such-take", "point-name", "missing-file",
                 "speed-unit", "visits"):  # fmt: skip
        text = text.replace(*FAULTS[name][:2], 1)
    assert len(complaints(lesson_folder, text)) == 7


def test_an_unknown_and_a_missing_field_with_nearly_the_same_name_are_one_fault(lesson_folder):
    assert complaints(lesson_folder, "thoughts:\n  - sya: Keep low\n") == [
        'session.yaml:2:5: thoughts.0.sya: unknown field "sya"; did you mean "say"?'
    ]


def test_a_newer_format_hides_everything_else(lesson_folder):
    text = "format: 7\nunheard_of: 1\nthoughts: x\n"
    assert len(complaints(lesson_folder, text)) == 1


@pytest.mark.parametrize("text", ["", "# nothing\n", "- a\n- b\n", "just text\n"])
def test_a_file_without_fields(lesson_folder, text):
    assert len(complaints(lesson_folder, text)) == 1


@pytest.mark.parametrize("name", ["nothing.yaml", "sessio.yaml", "frames/before.png"])
def test_a_lesson_file_that_is_none(lesson_folder, name):
    with pytest.raises(InputRefusedError):
        load_session(lesson_folder / name)


def test_a_digest_that_fits(lesson_folder, lesson_text):
    digest = hashlib.sha256((lesson_folder / "frames" / "before.png").read_bytes()).hexdigest()
    text = lesson_text.replace("size: [120, 160]", f"sha256: {digest}")
    assert load_text(text.encode(), lesson_folder / "session.yaml").session


def test_values_come_from_the_academy_then_the_coach_then_the_lesson(lesson_folder, lesson_text):
    top = lesson_folder.parents[2]
    (top / "academy.yaml").write_text(
        "lesson: {academy: Birkhang, place: Old range}\nstudent: {units: metres}\n"
        "plan: {visits_per_week: 2, minutes: 45}\n"
    )
    (lesson_folder.parent / "coach.yaml").write_text("lesson: {coach: Nils, place: New range}\n")
    loaded = load_session(lesson_folder)
    session = loaded.session
    assert session.lesson.academy == "Birkhang"
    assert session.lesson.place == "New range"
    assert session.lesson.coach == "Ida Brandt"
    assert session.student.units == "yards"
    assert (session.plan.visits_per_week, session.plan.minutes) == (3, 45)
    assert loaded.place_of("lesson.academy")[0].endswith("academy.yaml")
    assert loaded.place_of("lesson.place") == ("../coach.yaml", 1, 30)
    assert loaded.place_of("student.units") == ("session.yaml", 6, 10)


def test_the_nearest_academy_counts_and_only_three_levels_up(lesson_folder):
    (lesson_folder.parents[3] / "academy.yaml").write_text("lesson: {academy: Too far}\n")
    assert load_session(lesson_folder).session.lesson.academy is None
    (lesson_folder.parents[1] / "academy.yaml").write_text("lesson: {academy: Far}\n")
    (lesson_folder / "academy.yaml").write_text("lesson: {academy: Near}\n")
    assert load_session(lesson_folder).session.lesson.academy == "Near"


@pytest.mark.parametrize(
    ("name", "text", "words"),
    [
        ("academy.yaml", "student: {name: Wren}\n", "academy.yaml:1:11: student.name: unknown"),
        ("coach.yaml", "lesson: {caoch: x}\n", 'did you mean "coach"?'),
        ("academy.yaml", "student: {units: feet}\n", "not one of metres, yards"),
        ("academy.yaml", "a: *b\n", "put quotes"),
        ("coach.yaml", "", "empty"),
        ("coach.yaml", "format: 3\n", "format 3"),
    ],
)
def test_the_academys_and_the_coachs_files_are_judged_too(lesson_folder, name, text, words):
    (lesson_folder / name).write_text(text)
    with pytest.raises(InputRefusedError, match="yaml") as caught:
        load_session(lesson_folder)
    assert words in str(caught.value)


def test_an_academy_file_behind_a_link_is_refused(lesson_folder, tmp_path):
    (tmp_path / "elsewhere.yaml").write_text("student: {units: metres}\n")
    (lesson_folder / "academy.yaml").symlink_to(tmp_path / "elsewhere.yaml")
    with pytest.raises(InputRefusedError, match="is a link"):
        load_session(lesson_folder)


def test_a_problem_found_later_gets_its_place(lesson_folder, lesson_text):
    loaded = load_session(lesson_folder)
    lines = lesson_text.splitlines()
    drill = lines.index("  - feet-together") + 1
    assert str(loaded.problem(("drills", 0, "id"), "unknown")) == (
        f"session.yaml:{drill}:5: drills.0: unknown"
    )
    pair = next(n for n, line in enumerate(lines, start=1) if "measures: [" in line)
    assert loaded.problem("pairs.0.measures.0", "x").line == pair
    assert loaded.problem("student.level", "x").line == 4


def test_the_placeholder_of_a_new_file_is_noticed(lesson_folder):
    loaded = load_text(
        b"thoughts: [(write the first thought here)]\n", lesson_folder / "session.yaml"
    )
    assert "placeholder" in loaded.warnings[0]


def test_a_shot_table_is_read_with_the_lesson(lesson_folder, lesson_text):
    text = lesson_text.replace("seen:\n", "seen:\n  shots: shots.csv\n")
    assert 'no file "shots.csv"' in complaints(lesson_folder, text)[0]
    (lesson_folder / "shots.csv").write_text("carry_m,start_deg\n200,x\n")
    assert complaints(lesson_folder, text)[0].startswith("shots.csv:2:2: start_deg")
    (lesson_folder / "shots.csv").write_text("carry_m,start_deg\n200,-2\n")
    loaded = load_text(text.encode(), lesson_folder / "session.yaml")
    assert loaded.shots.columns["start_deg"] == (-2.0,)


TEXT = st.text(
    st.characters(exclude_categories=["Cs", "Cc", "Zl", "Zp"],
                  exclude_characters="\ufeff\ufffe\uffff\u202a\u202b\u202c\u202d\u202e\u2066"
                  "\u2067\u2068\u2069"),
    min_size=1, max_size=60,
).filter(lambda text: text.strip())  # fmt: skip


@given(TEXT)
@settings(max_examples=200, deadline=None)
def test_row_10_text_out_is_text_in(tmp_path_factory, text):
    import yaml

    dumped = yaml.safe_dump({"thoughts": [text], "notes": text}, allow_unicode=True)
    path = tmp_path_factory.getbasetemp() / "a" / "b" / "c" / "session.yaml"
    # Unicode's noncharacters are the only ones left that are refused (Unicode 16.0, 23.7).
    if any(0xFDD0 <= ord(c) <= 0xFDEF or ord(c) & 0xFFFE == 0xFFFE for c in text):
        with pytest.raises(InputRefusedError, match="no character at all"):
            load_text(dumped.encode(), path)
        return
    session = load_text(dumped.encode(), path).session
    assert session.thoughts[0].say == text
    assert session.notes == text


@given(st.dictionaries(
    st.sampled_from(["format", "lesson", "student", "takes", "frames", "seen", "pairs",
                     "thoughts", "drills", "plan", "consent", "notes", "x"]),
    st.recursive(st.text(max_size=8) | st.none() | st.integers() | st.booleans(),
                 lambda s: st.lists(s, max_size=3) | st.dictionaries(
                     st.sampled_from(["id", "take", "file", "points", "at", "say", "when", "before",
                                      "size", "lines", "head", "y"]), s, max_size=4),
                 max_leaves=10), max_size=6))  # fmt: skip
@settings(max_examples=300, deadline=None)
def test_no_values_raise_anything_but_a_refusal(tmp_path_factory, values):
    import yaml

    path = tmp_path_factory.getbasetemp() / "a" / "b" / "c" / "session.yaml"
    with contextlib.suppress(InputRefusedError):
        load_text(yaml.safe_dump(values).encode(), path)


RELEASES = sorted((Path(__file__).parent / "releases").glob("*.yaml"))


@pytest.mark.parametrize("file", RELEASES, ids=lambda file: file.stem)
def test_lessons_of_earlier_releases_are_read(lesson_folder, file):
    session = load_text(file.read_bytes(), lesson_folder / "session.yaml").session
    assert session.pairs
    assert session.thoughts[0].because


def test_there_are_lessons_of_earlier_releases():
    assert RELEASES
