"""Export, totals without names, what is due, hand-over."""

import csv
import datetime
import io
import json

import pytest
from hypothesis import given
from hypothesis import strategies as st

from reporter.archive.adding import add_record
from reporter.archive.due import due, retirable
from reporter.archive.exporting import exported_files
from reporter.archive.handover import handover_lines, handover_of
from reporter.archive.importing import import_pdf
from reporter.archive.shelf import the_student
from reporter.archive.store import Group
from reporter.archive.totals import LEAST_STUDENTS, suppressed, totals
from reporter.errors import InputRefusedError
from reporter.session.load import load_sources
from reporter.yaml_source import read_yaml
from tests.archive.synthetic import record_pdf

TODAY = datetime.date(2027, 5, 1)


def day(back: int) -> str:
    return (TODAY - datetime.timedelta(days=back)).isoformat()


def test_an_export_holds_every_record_and_opens_without_us(shelf):
    documents = [record_pdf(notes="first", private="mine"), record_pdf(notes="second", padding=50)]
    for document in documents:
        add_record(shelf, document, "x")
    import_pdf(shelf, record_pdf("theirs", kind="handout"), "x", student="S-1")
    add_record(shelf, record_pdf("other", "S-2", "Edda"), "x")
    files = dict(exported_files(shelf, the_student(shelf, "S-1")))
    folders = [f"lessons/2027-03-01-record-{number}" for number in (1, 2)]
    assert [files[f"{folder}/record.pdf"] for folder in folders] == documents
    told = json.loads(files["student.json"])
    assert [one["number"] for one in told["records"]] == [1, 2, 3]
    assert told["records"][0]["notes"].startswith("first")
    lesson = load_sources(read_yaml(files[f"{folders[0]}/session.yaml"], "x"))
    assert lesson.private_notes == "mine"  # what is kept of a student is the student's to see
    assert len(files[f"{folders[1]}/frame-f-before.jpg"]) == 50
    rows = list(csv.DictReader(io.StringIO(files["measures.csv"].decode(), newline="")))
    assert {row["measure"] for row in rows} == {"spine-side-bend"}
    assert "lessons/2027-03-01-record-3-foreign/record.pdf" in files
    assert not [name for name in files if b"Edda" in files[name]]
    assert all(".." not in name and not name.startswith("/") for name in files)


def groups(*sizes: int) -> list[Group]:
    """Return groups of so many students each, nobody in two."""
    found, first = [], 0
    for number, size in enumerate(sizes):
        found.append(Group(f"coach {number}", size * 3, frozenset(range(first, first + size))))
        first += size
    return found


@pytest.mark.parametrize(
    ("sizes", "shown", "whole"),
    [
        ((9, 8, 7), {9, 8, 7}, 24),
        ((9, 8, 4), {9}, 21),  # the four alone would be had by taking away: eight go with them
        ((9, 8, 2, 2), {9}, 21),  # four together are too few
        ((9, 8, 3, 3), {9, 8}, 23),  # six together tell nobody
        ((4, 3), set(), 7),
        ((4,), set(), None),
        ((9, 4), set(), 13),
        ((), set(), None),
    ],
)
def test_few_are_hidden_and_cannot_be_worked_out(sizes, shown, whole):
    found = suppressed("coach", groups(*sizes), groups(*sizes))
    assert {row.students for row in found.rows} == shown
    assert found.students == whole


@given(st.lists(st.integers(1, 12), max_size=12))
def test_what_is_left_after_subtraction_is_never_few(sizes):
    found = suppressed("level", groups(*sizes), groups(*sizes))
    assert all(row.students >= LEAST_STUDENTS for row in found.rows)
    if found.students is not None:
        rest = found.students - sum(row.students for row in found.rows)
        assert rest == 0 or (rest >= LEAST_STUDENTS and found.hidden_groups > 1)


def test_totals_of_a_shelf(shelf):
    for number in range(7):
        coach = "Odalys Brannock" if number < 6 else "Perrin Aldous"
        add_record(shelf, record_pdf(f"l-{number}", f"S-{number}", "Edda", coach=coach), "x")
    found = totals(shelf, "fault", 2027)
    assert {(row.students, row.lessons) for row in found.rows} == {(7, 7)}
    assert totals(shelf, "fault", 2026).students is None
    by_coach = totals(shelf, "coach", None)
    assert (by_coach.rows, by_coach.hidden_groups, by_coach.students) == ((), 2, 7)
    assert "Edda" not in repr((found, by_coach))


def test_what_is_due(shelf):
    add_record(shelf, record_pdf("late", "S-1", day=day(20), until=day(-10)), "x")
    add_record(shelf, record_pdf("told", "S-2", day=day(20), tests=[(day(5), 5, 10)]), "x")
    add_record(shelf, record_pdf("fresh", "S-3", day=day(3)), "x")
    add_record(shelf, record_pdf("long ago", "S-4", day=day(200)), "x")
    shelf.store.note_given("told", day(19), "t", shelf.at)
    found = due(shelf, TODAY)
    assert [row.lesson for row in found.not_given] == ["late", "fresh"]
    assert [row.lesson for row in found.ending] == ["late"]
    assert [row.lesson for row in found.unanswered] == ["late"]
    assert found.past == ()
    later = due(shelf, TODAY + datetime.timedelta(days=11))
    assert ([row.lesson for row in later.past], later.ending) == (["late"], ())


@pytest.mark.parametrize(("ahead", "listed"), [(31, False), (30, True), (0, True)])
def test_thirty_days_ahead(shelf, ahead, listed):
    add_record(shelf, record_pdf(until=day(-ahead)), "x")
    assert bool(due(shelf, TODAY).ending) == listed


def test_what_may_go(shelf):
    add_record(shelf, record_pdf("old", day="2020-05-01"), "x")
    add_record(shelf, record_pdf("edge", "S-2", day="2025-05-01"), "x")
    add_record(shelf, record_pdf("ends", "S-3", until="2027-05-01"), "x")
    assert retirable(shelf, TODAY, None) == []
    assert [row.lesson for row, _ in retirable(shelf, TODAY, 2)] == ["old"]
    tomorrow = TODAY + datetime.timedelta(days=1)
    found = [(row.lesson, why) for row, why in retirable(shelf, tomorrow, 2)]
    assert found == [
        ("old", "given before 2025-05-02"),
        ("edge", "given before 2025-05-02"),
        ("ends", "kept until 2027-05-01"),
    ]
    leap = datetime.date(2028, 2, 29)
    assert "2027-02-28" in retirable(shelf, leap, 1)[0][1]


def test_a_hand_over_is_one_page_without_private_notes(shelf):
    for number in range(9):
        document = record_pdf(
            f"l-{number}",
            day=f"2027-0{1 + number // 3}-{1 + 9 * (number % 3):02d}",
            thought=f"Thought number {number}.",
            notes="Asked for shorter visits.",
            private="keep to myself",
            values={"spine-side-bend": 5.0 + number % 2 + (20 if number > 5 else 0)},
            tests=[("2027-03-25", 8, 10)] if number == 8 else (),
        )
        add_record(shelf, document, "x")
    one = handover_of(shelf, the_student(shelf, "S-1"))
    lines = list(handover_lines(one))
    text = "\n".join(lines)
    assert len(lines) <= 60  # of a page of type
    assert "keep to myself" not in text
    assert "Asked for shorter visits." in text
    assert "Thought number 8." in text
    assert "2027-03-25 8/10" in text
    assert one.changed
    assert "over 9 lessons" in one.changed[0]
    assert "kept by the academy: yes" in one.consents


def test_nothing_to_hand_over(shelf):
    add_record(shelf, record_pdf(), "x")
    import_pdf(shelf, record_pdf("theirs", kind="handout"), "x", student="S-1")
    student = the_student(shelf, "S-1")
    shelf.store.finish_leaving(shelf.store.begin_leaving("retire", [], [1]), [], "t", shelf.at)
    with pytest.raises(InputRefusedError, match="no lesson of our own"):
        handover_of(shelf, student)
