"""Put records on the shelf: once, anew, by whom it may be, and in an order no clock decides."""

import sqlite3

import pytest

from reporter.archive.adding import Addition, add_record
from reporter.archive.entry import checksum, sha256
from reporter.archive.leaving import erase_student
from reporter.archive.read_record import read_record
from reporter.archive.shelf import the_student
from reporter.archive.store import Wanted
from reporter.archive.verify import verify
from reporter.errors import ConsentError, InputRefusedError
from reporter.publish import publish
from tests.archive.conftest import ON_SQLITE
from tests.archive.synthetic import record_pdf


def test_what_the_rows_tell_is_what_the_pdf_tells(shelf):
    document = record_pdf(tests=[("2027-02-01", 3, 10)], notes="Ball one width forward.")
    row = add_record(shelf, document, "x").row
    entry = shelf.store.entry(row.number)
    assert entry == read_record(document, "x").entry
    assert row.checksum == checksum(entry, sha256(document), len(document), 1)
    assert shelf.document(row) == document


def test_twice_is_once(shelf):
    document = record_pdf()
    first = add_record(shelf, document, "x")
    second = add_record(shelf, document, "x")
    assert not first.already
    assert second.already
    assert second.row == first.row
    assert len(shelf.store.find(Wanted(all_versions=True))) == 1


def test_the_same_file_from_another_coach_at_this_moment_is_no_obstacle(shelf, monkeypatch):
    document = record_pdf("l-1", "S-1")
    path = shelf.folder / shelf.files.name_of(sha256(document), "own")

    def put_by_another_first(*asked, **more):
        path.write_bytes(document)
        publish(*asked, **more)

    monkeypatch.setattr("reporter.archive.files.publish", put_by_another_first)
    assert not add_record(shelf, document, "x").already
    assert verify(shelf, data=True).damages == ()


def test_a_lesson_built_anew_is_the_next_version_and_the_old_one_stays(shelf):
    old, new = record_pdf(notes="first"), record_pdf(notes="second")
    add_record(shelf, old, "x")
    added = add_record(shelf, new, "x")
    assert added.row.version == 2
    first, second = shelf.store.versions("lesson-1")
    assert (first.current, second.current) == (False, True)
    assert shelf.document(first) == old
    again = add_record(shelf, old, "x")  # the old file once more changes nothing
    assert (again.already, again.row.version, again.newest) == (True, 1, 2)
    assert shelf.store.versions("lesson-1")[1].current


def test_a_clock_that_runs_backwards_changes_no_order(tmp_path, reopened, shelf):
    add_record(shelf, record_pdf(notes="first"), "x")
    for year, notes in (("1970", "second"), ("2001", "third")):
        with reopened(shelf.folder, write=True, at=f"{year}-01-01T00:00:00Z") as later:
            add_record(later, record_pdf(notes=notes), "x")
    rows = shelf.store.versions("lesson-1")
    assert [row.version for row in rows] == [1, 2, 3]
    assert [row.added_at[:4] for row in rows] == ["2027", "1970", "2001"]
    assert [row.current for row in rows] == [False, False, True]
    assert "third" in shelf.store.entry(rows[-1].number).notes


def test_a_lesson_id_of_another_student_is_refused_and_leaves_nothing(shelf):
    add_record(shelf, record_pdf(student="S-1"), "x")
    with pytest.raises(InputRefusedError, match="another student"):
        add_record(shelf, record_pdf(student="S-2"), "y")
    assert verify(shelf, data=True).damages == ()
    assert verify(shelf).files == 1


@pytest.mark.parametrize(
    ("document", "error", "words"),
    [
        (record_pdf(archive=False), ConsentError, "consent.archive"),
        (record_pdf(until="2027-04-30"), ConsentError, "past"),
        (record_pdf(student=None), InputRefusedError, "student.id"),
        (record_pdf(kind="handout"), InputRefusedError, "student's handout"),
        (b"no pdf at all", InputRefusedError, "no PDF"),
    ],
    ids=["no consent", "past its day", "no student id", "a handout", "no PDF"],
)
def test_what_may_not_stand_on_the_shelf(shelf, document, error, words):
    with pytest.raises(error, match=words):
        add_record(shelf, document, "x")
    assert verify(shelf).files == 0


def test_the_last_day_of_a_consent_still_counts(shelf):
    add_record(shelf, record_pdf(until="2027-05-01"), "x")
    assert shelf.today == "2027-05-01"


def test_an_erased_student_comes_back_only_when_asked(shelf):
    document = record_pdf()
    add_record(shelf, document, "x")
    erase_student(shelf, the_student(shelf, "S-1"))
    with pytest.raises(ConsentError, match="--again"):
        add_record(shelf, document, "x")
    assert verify(shelf).files == 0
    assert add_record(shelf, document, "x", Addition(again=True)).row.number == 2
    assert add_record(shelf, record_pdf("lesson-2"), "x").row.number == 3  # back for good


def test_two_students_of_one_name_are_told_apart_by_id(shelf):
    add_record(shelf, record_pdf("a", "S-1", "Mira"), "x")
    add_record(shelf, record_pdf("b", "S-2", "MIRA"), "x")
    assert the_student(shelf, "S-2").number == 2
    with pytest.raises(InputRefusedError, match=r"S-1 \(1 lessons\), S-2 \(1 lessons\)"):
        the_student(shelf, "mira")
    with pytest.raises(InputRefusedError, match="no student"):
        the_student(shelf, "nobody")


@ON_SQLITE
def test_any_sqlite_reads_it(shelf):
    """The file format is documented (sqlite.org/fileformat2.html); no extension is needed."""
    add_record(shelf, record_pdf(), "x")
    plain = sqlite3.connect(shelf.folder / "shelf.sqlite")
    assert plain.execute("PRAGMA integrity_check").fetchone() == ("ok",)
    assert plain.execute("SELECT student_name FROM records").fetchall() == [("Mira",)]
    found = plain.execute("SELECT count(*) FROM search WHERE search MATCH 'chest'").fetchone()
    assert found == (1,)
    plain.close()


def test_the_handout_of_the_same_run_is_known_by_its_digest(shelf):
    document, handout = record_pdf(), record_pdf(kind="handout")
    add_record(shelf, document, "x", Addition(handout=handout))
    row = shelf.store.by_digest(sha256(handout))
    assert row is not None
    assert row.digest == sha256(document)
    assert shelf.store.by_digest(sha256(b"another")) is None
