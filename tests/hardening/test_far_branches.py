"""Every branch of what reads from far: sent handouts, records, shelves."""

import base64
import contextlib
import io
import json
import shutil
import sqlite3
import sys
from pathlib import Path
from types import SimpleNamespace

import pytest

from reporter.archive import importing, reader_apart
from reporter.archive.importing import foreign_entry
from reporter.archive.read_record import read_record
from reporter.archive.sqlite import opening
from reporter.archive.sqlite.opening import create_database, open_database
from reporter.errors import (
    CannotWriteError,
    InputRefusedError,
    LimitError,
    ReporterError,
    ShelfBusyError,
    ShelfDamagedError,
)
from reporter.pdf.carried import MOST_FILES, take_out
from tests.archive.synthetic import pdf_with, record_pdf
from tests.fuzz import FINDS
from tests.hardening.far_boundaries import records, shelves

HANDOUT = record_pdf(kind="handout")

# --- files inside a PDF ---------------------------------------------------------------------


def test_an_encrypted_pdf_is_refused():
    from pypdf import PdfReader, PdfWriter

    writer = PdfWriter(clone_from=PdfReader(io.BytesIO(HANDOUT)))
    writer.encrypt("word", algorithm="RC4-128")
    held = io.BytesIO()
    writer.write(held)
    with pytest.raises(InputRefusedError, match="encrypted"):
        take_out(held.getvalue(), "a.pdf", None)


def small(count: int, pages: int = 1) -> bytes:
    return pdf_with([(f"f{number}", b"x") for number in range(count)], "x y", pages=pages)


def test_pages_and_files_are_counted_to_the_limit():
    assert take_out(small(0, pages=3), "a", None, most_pages=3).pages == 3
    with pytest.raises(LimitError, match="3 pages; at most 2"):
        take_out(small(0, pages=3), "a", None, most_pages=2)
    assert len(take_out(small(MOST_FILES), "a", ("f7",)).names) == MOST_FILES
    with pytest.raises(LimitError, match=f"more than {MOST_FILES}"):
        take_out(small(MOST_FILES + 1), "a", ())


def test_only_what_is_asked_for_is_taken_out_and_a_name_counts_once():
    twice = pdf_with([("a", b"1"), ("b", b"2"), ("a", b"3")], "one, two;three")
    carried = take_out(twice, "x", ("b",))
    assert carried.files == {"b": b"2"}
    assert carried.names == ("a", "b", "a")
    assert carried.keywords == ("one", "two", "three")
    assert carried.title == "Lesson"
    with pytest.raises(InputRefusedError, match="two files of one name"):
        take_out(twice, "x", None)
    with pytest.raises(InputRefusedError, match="two files of one name"):
        take_out(twice, "x", ("a",))


def test_a_file_inside_may_have_so_many_bytes_packed_or_not():
    packed = pdf_with([("a", b"x" * 2_000)], "x")
    assert len(take_out(packed, "x", None, largest=2_000).files["a"]) == 2_000
    with pytest.raises(LimitError):
        take_out(packed, "x", None, largest=1_999)
    bare = records()[1]  # its files lie in it as they are
    length = len(take_out(bare, "x", ("session.yaml",)).files["session.yaml"])
    assert take_out(bare, "x", ("session.yaml",), largest=length).files
    with pytest.raises(LimitError, match=f"{length} bytes; at most {length - 1}"):
        take_out(bare, "x", ("session.yaml",), largest=length - 1)


def test_a_pdf_without_information_says_nothing_of_itself():
    bare = pdf_with([], "x").replace(b"/Info ", b"/Infx ")
    carried = take_out(bare, "x", None)
    assert (carried.keywords, carried.title, carried.files) == ((), "", {})


def test_running_out_of_memory_is_not_taken_for_damage(monkeypatch):
    def greedy(_stream):
        raise MemoryError

    monkeypatch.setattr("pypdf.PdfReader", greedy)
    with pytest.raises(MemoryError):
        take_out(HANDOUT, "x", None)


# --- a PDF from elsewhere -------------------------------------------------------------------


def told_apart(monkeypatch, document: bytes) -> dict:
    """Return what the reader apart says of a PDF, run in this process without its bounds."""
    written = io.StringIO()
    bounded = []
    monkeypatch.setattr(reader_apart, "bound", lambda: bounded.append(True))
    monkeypatch.setattr(sys, "stdin", SimpleNamespace(buffer=io.BytesIO(document)))
    monkeypatch.setattr(sys, "stdout", written)
    reader_apart.main()
    monkeypatch.undo()
    assert bounded == [True]
    return json.loads(written.getvalue())


def test_the_reader_apart_tells_the_lesson_a_refusal_or_a_limit(monkeypatch):
    told = told_apart(monkeypatch, HANDOUT)
    assert told["keywords"] == ["lesson-reporter:lesson-1"]
    assert (told["title"], told["pages"]) == ("Golf lesson for Mira", 1)
    assert set(told["files"]) == {"session.yaml", "measurements.json"}
    assert b"Mira" in base64.b64decode(told["files"]["session.yaml"])
    assert told["names"] == ["build.json", "measurements.json", "session.yaml"]
    assert told_apart(monkeypatch, b"no PDF") == {"refused": "is no PDF, or a damaged one"}
    long = told_apart(monkeypatch, small(0, pages=reader_apart.MOST_PAGES + 1))
    assert long == {"limit": "121 pages; at most 120 are read"}

    def greedy(*_args, **_more):
        raise MemoryError

    monkeypatch.setattr(reader_apart, "take_out", greedy)
    assert "memory" in told_apart(monkeypatch, HANDOUT)["limit"]


def test_the_reader_apart_bounds_itself(monkeypatch):
    resource = pytest.importorskip("resource")
    asked_for = {}
    monkeypatch.setattr(resource, "setrlimit", lambda kind, most: asked_for.update({kind: most}))
    reader_apart.bound()
    assert asked_for == {
        resource.RLIMIT_AS: (2**30, 2**30),
        resource.RLIMIT_CPU: (20, 20),
        resource.RLIMIT_FSIZE: (0, 0),
    }
    monkeypatch.setitem(sys.modules, "resource", None)
    asked_for.clear()
    reader_apart.bound()  # where a system has no such bounds it is read all the same
    assert asked_for == {}


def test_a_foreign_entry_is_nobodys_and_named_by_its_bytes():
    from hashlib import sha256

    entry = foreign_entry(HANDOUT, "a.pdf")
    assert (entry.student, entry.origin) == ("", "foreign")
    assert entry.lesson == f"foreign:{sha256(HANDOUT).hexdigest()}"
    assert entry.student_name == "Mira"


def test_what_is_too_large_or_too_slow_or_says_nothing_is_a_limit(monkeypatch):
    monkeypatch.setattr(importing, "LARGEST_IMPORT_BYTES", len(HANDOUT))
    assert foreign_entry(HANDOUT, "a.pdf")
    monkeypatch.setattr(importing, "LARGEST_IMPORT_BYTES", len(HANDOUT) - 1)
    with pytest.raises(LimitError, match="are taken in"):
        foreign_entry(HANDOUT, "a.pdf")
    monkeypatch.undo()
    for program, told in (
        ("import time; time.sleep(60)", "longer than 0.2 s"),
        ("print('no JSON')", "more memory or time"),
        ("print('{}')", "more memory or time"),
        ("import sys; sys.exit(3)", "more memory or time"),
        ("""print('{"refused": "no"}')""", "a.pdf: no"),
        ("""print('{"limit": "much"}')""", "a.pdf: much"),
    ):
        monkeypatch.setattr(importing, "_PROGRAM", program)
        monkeypatch.setattr(importing, "LONGEST_SECONDS", 0.2 if "sleep" in program else 60)
        with pytest.raises(ReporterError, match=told):
            foreign_entry(HANDOUT, "a.pdf")


# --- records --------------------------------------------------------------------------------


def record_with(mark: str = "record-lesson-reporter:l", kind: str = "record", **files) -> bytes:
    """Return a record with more files or others; None takes one out."""
    carried = take_out(record_pdf(), "x", None).files
    named = {name.replace("_", "."): data for name, data in files.items()}
    held = {**carried, "build.json": json.dumps({"copy": kind}).encode(), **named}
    return pdf_with([(name, data) for name, data in held.items() if data is not None], mark)


@pytest.mark.parametrize(
    ("document", "told"),
    [
        (HANDOUT, "student's handout"),
        (record_with(kind="handout"), "no record"),
        (record_with(mark="x"), "no record"),
        (record_with(mark="lesson-reporter:l"), "student's handout"),
        (record_with(session_yaml=None), "no record"),
        (record_with(build_json=None), "no record"),
        (record_with(build_json=b"[]"), "no record"),
        (record_with(build_json=b"{"), "no record"),
        (record_with(build_json=b"[" * 100_000), "no record"),
        (record_pdf(student=None), "names no student.id"),
        (record_with(measurements_json=b"{}"), "not as this program writes"),
        (record_with(measurements_json=b'{"measures": 3, "changes": []}'), "not as this program"),
    ],
)
def test_what_is_no_record_is_refused(document, told):
    with pytest.raises(InputRefusedError, match=told):
        read_record(document, "a.pdf")


def measured(**changed) -> bytes:
    one = {"id": "spine-side-bend", "frame": "f-before", "value": 5.0, "unit": "deg",
           "plus_minus": 2, "class": "measured"}  # fmt: skip
    return json.dumps({"measures": [one | changed], "changes": []}).encode()


@pytest.mark.parametrize("changed", [
    {"value": True}, {"value": "5"}, {"value": float("nan")}, {"value": float("inf")},
    {"plus_minus": []}, {"unit": "x" * 201}, {"class": 5}, {"frame": "f-nowhere"}, {"id": None},
])  # fmt: skip
def test_a_measure_of_another_form_is_refused(changed):
    with pytest.raises(InputRefusedError, match="not as this program writes"):
        read_record(record_with(measurements_json=measured(**changed)), "a.pdf")


def test_measures_and_changes_are_read_with_their_places():
    listed = json.loads(measured(unit="x" * 200))
    more = [listed["measures"][0] | {"value": None}, listed["measures"][0] | {"plus_minus": None}]
    change = {"id": "spine-side-bend", "after": "f-after", "change": 3, "plus_minus": None,
              "unit": "deg", "verdict": "cannot tell"}  # fmt: skip
    told = {"measures": listed["measures"] + more, "changes": [change, change | {"change": None}]}
    document = record_with(measurements_json=json.dumps(told).encode())
    entry = read_record(document, "a.pdf").entry
    (row,) = entry.measures
    assert (row.frame, row.when, row.position, row.value) == ("f-before", "before", "impact", 5.0)
    assert (row.view, row.club, row.camera) == ("face-on", "driver", "front tripod")
    assert [(one.change, one.plus_minus) for one in entry.changes] == [(3.0, None), (None, None)]
    assert (entry.lesson, entry.origin) == ("l", "own")
    assert read_record(record_with(measurements_json=None), "a.pdf").entry.measures == ()


def test_shots_inside_add_their_middle_and_never_refuse():
    """At least six shots give an interval of the median at 95 % (sign test: 1 - 2 / 2^6)."""
    rows = "\n".join(f"7-iron,140,{number}" for number in range(-3, 4))
    table = f"club,carry_yd,offline_m\n{rows}\ndriver,200,1\n7-iron,150,\n".encode()
    (spread,) = read_record(record_with(shots_csv=table), "a.pdf").entry.spreads
    assert (spread.club, spread.shots, spread.median_offline_m) == ("7-iron", 7, 0.0)
    assert read_record(record_with(shots_csv=b"a,b\n1"), "a.pdf").entry.spreads == ()
    assert read_record(record_with(shots_csv=b"carry_yd\n100\n"), "a.pdf").entry.spreads == ()
    alone = "offline_m\n" + "\n".join(str(number) for number in range(7))
    (spread,) = read_record(record_with(shots_csv=alone.encode()), "a.pdf").entry.spreads
    assert (spread.club, spread.median_offline_m) == ("", 3.0)


def test_drills_and_house_inside_are_read_as_far_as_they_fit():
    from tests.hardening.boundaries import drills

    own = drills()[0]
    for data in (own, b"drills: 3\n"):
        assert read_record(record_with(drills_yaml=data), "a.pdf").entry.drills
    entry = read_record(record_with(academy_yaml=b"lesson: {place: The far field}\n"), "x").entry
    assert entry.place == "The far field"
    assert (entry.student, entry.student_name, entry.coach) == ("S-1", "Mira", "Odalys Brannock")
    assert entry.academy == "Fenwater Golf School"
    assert (entry.day, entry.kept_until, entry.next_lesson) == ("2027-03-01", "2090-01-01", "")
    assert (entry.clubs, entry.drills) == (("driver",), ("start-line-gate",))
    assert (entry.archive, entry.photos, entry.share, entry.minor) == (True, True, False, False)
    assert entry.cold_test == "drives through the gate"
    assert "chest behind the ball" in entry.thoughts


# --- shelves --------------------------------------------------------------------------------


@pytest.fixture
def database(tmp_path):
    path = tmp_path / "shelf.sqlite"
    path.write_bytes(shelves()[0])
    return path


def test_a_shelf_from_elsewhere_is_looked_through_first(database):
    open_database(database, write=False, check=True).close()
    data = bytearray(database.read_bytes())
    data[-4096:] = b"\xa5" * 4096
    database.write_bytes(data)
    with pytest.raises(ShelfDamagedError, match=str(database)):
        open_database(database, write=False, check=True)
    open_database(database, write=False).close()
    assert database.read_bytes() == data


def test_bytes_that_are_no_text_are_damage(tmp_path):
    """A find of the search; see `tests/fuzz/finds`."""
    (find,) = (FINDS / "database").glob("26df*")
    path = tmp_path / "shelf.sqlite"
    shutil.copy(find, path)
    with pytest.raises(ShelfDamagedError, match="shelf rebuild"):
        open_database(path, write=False, check=True)


def test_nothing_is_begun_over_something_else(database, tmp_path, monkeypatch):
    before = database.read_bytes()
    with pytest.raises(CannotWriteError, match="never begun over"):
        create_database(database)
    assert database.read_bytes() == before
    monkeypatch.setattr(opening, "MIGRATIONS", (("no SQL at all",),))
    with pytest.raises(ShelfDamagedError, match="syntax error"):
        create_database(tmp_path / "other.sqlite")


def test_a_step_that_ends_its_own_transaction_is_told_all_the_same(tmp_path, monkeypatch):
    """SQLite itself rolls back on a full disk (sqlite.org/lang_transaction.html)."""
    path = tmp_path / "shelf.sqlite"
    path.write_bytes(shelves()[1])

    def step(connection, _written):
        connection.execute("ROLLBACK")
        message = "disk"
        raise sqlite3.OperationalError(message)

    monkeypatch.setattr(opening, "_migrate", step)
    with pytest.raises(ShelfDamagedError):
        open_database(path, write=True)


def test_what_sqlite_cannot_do_is_told_by_its_kind(database):
    store = open_database(database, write=True)
    try:
        with pytest.raises(LimitError, match="too long"), opening.told(database):
            store._connection.execute("SELECT length(hex(zeroblob(3000000)))")
        pages = store._connection.execute("PRAGMA page_count").fetchone()[0]
        store._connection.execute(f"PRAGMA max_page_count = {pages}")
        with pytest.raises(CannotWriteError, match="disk is full"), opening.told(database):
            store._connection.execute("CREATE TABLE big AS SELECT zeroblob(200000)")
        store._connection.execute("PRAGMA query_only = ON")
        with pytest.raises(CannotWriteError, match="as asked"), opening.told(database):
            store._connection.execute("DELETE FROM log")
        with pytest.raises(ShelfDamagedError, match="no such table"), opening.told(database):
            store._connection.execute("SELECT * FROM recipes")
    finally:
        store.close()


def test_what_a_shelf_is_opened_with(database):
    """The settings that SQLite's own notes ask for with files from elsewhere."""
    for write in (True, False):
        store = open_database(database, write=write)
        told = {
            name: store._connection.execute(f"PRAGMA {name}").fetchone()[0]
            for name in ("trusted_schema", "cell_size_check", "foreign_keys", "secure_delete",
                         "synchronous", "query_only", "cache_size")
        }  # fmt: skip
        limit = store._connection.getlimit(sqlite3.SQLITE_LIMIT_LENGTH)
        store.close()
        assert told == {
            "trusted_schema": 0, "cell_size_check": 1, "foreign_keys": 1, "secure_delete": 1,
            "synchronous": 2, "query_only": int(not write), "cache_size": -16_000,
        }  # fmt: skip
        assert limit == 4_000_000


@pytest.mark.parametrize(
    ("statement", "told"),
    [
        ("PRAGMA user_version = 0", "of format 0"),
        ("PRAGMA user_version = -1", "of format -1"),
        ("CREATE VIEW sly AS SELECT 1", "triggers or views"),
        ("PRAGMA application_id = 7", "no shelf"),
    ],
)
def test_what_is_no_shelf_of_ours_is_refused_and_left(database, statement, told):
    with sqlite3.connect(database) as other:
        other.execute(statement)
    other.close()
    before = database.read_bytes()
    for write in (False, True):
        with pytest.raises(InputRefusedError, match=told) as caught:
            open_database(database, write=write)
        (problem,) = caught.value.problems
        assert (problem.file, problem.line, problem.column) == (str(database), 0, 0)
    assert database.read_bytes() == before
    assert open_files(database) == []


def open_files(path: Path) -> list[str]:
    """Return what this process holds open of a file, where the system tells it (proc(5))."""
    held = []
    for handle in Path("/proc/self/fd").glob("*") if Path("/proc/self/fd").exists() else ():
        with contextlib.suppress(OSError):
            held.append(str(handle.readlink()))
    return [name for name in held if name.startswith(str(path))]


def test_a_file_that_is_no_database_is_refused_at_no_line(database):
    database.write_bytes(b"a letter to nobody" * 300)
    with pytest.raises(InputRefusedError, match="no database") as caught:
        open_database(database, write=False)
    (problem,) = caught.value.problems
    assert (problem.file, problem.line, problem.column) == (str(database), 0, 0)
    assert open_files(database) == []


def test_an_old_format_is_refused_for_reading_at_no_line(database):
    database.write_bytes(shelves()[1])
    with pytest.raises(InputRefusedError, match="shelf upgrade") as caught:
        open_database(database, write=False)
    (problem,) = caught.value.problems
    assert (problem.line, problem.column) == (0, 0)
    assert open_files(database) == []


def test_who_reads_sees_what_is_written_meanwhile_and_is_never_kept_waiting(tmp_path):
    """Write-ahead mode (sqlite.org/wal.html), in a folder that may be written."""
    path = tmp_path / "shelf.sqlite"
    writer = create_database(path)
    reader = open_database(path, write=False)
    try:
        assert writer._connection.execute("PRAGMA journal_mode").fetchone() == ("wal",)
        writer.note("x", "once", "2027-05-01T10:00:00Z")
        assert [row.what for row in reader.log(9)] == ["once"]
        writer._connection.execute("BEGIN IMMEDIATE")
        assert [row.what for row in reader.log(9)] == ["once"]
        writer._connection.execute("ROLLBACK")
    finally:
        reader.close()
        writer.close()


def test_this_very_process_is_never_named_as_the_one_that_holds_it(database):
    import os

    holder = open_database(database, write=True)
    waiting = open_database(database, write=True, wait_seconds=0.05)
    holder._connection.execute("BEGIN IMMEDIATE")
    holder._connection.execute("DELETE FROM log")
    try:
        with pytest.raises(ShelfBusyError, match="by somebody else") as caught:
            waiting.note("x", "y", "2027-05-01T10:00:00Z")
        assert str(os.getpid()) not in str(caught.value).replace(str(database), "")
    finally:
        holder._connection.execute("ROLLBACK")
        holder.close()
        waiting.close()


# --- what is promised in figures ------------------------------------------------------------


def test_the_limits_are_what_they_are():
    """Docs name most of these; a limit that changes is a change for everybody."""
    from reporter.pdf import carried

    mebibyte = 2**20
    told = {
        carried: {"LARGEST_TEXT_BYTES": 8 * mebibyte, "LARGEST_PICTURE_BYTES": 64 * mebibyte,
                  "MOST_FILES": 400, "MOST_PAGES": 400},
        reader_apart: {"MEMORY_BYTES": 1_024 * mebibyte, "SECONDS": 20,
                       "LARGEST_INSIDE_BYTES": mebibyte, "MOST_PAGES": 120},
        importing: {"LARGEST_IMPORT_BYTES": 64 * mebibyte, "LONGEST_SECONDS": 120},
        opening: {"WAIT_SECONDS": 30, "LONGEST_VALUE_BYTES": 4_000_000},
    }  # fmt: skip
    for module, limits in told.items():
        assert {name: getattr(module, name) for name in limits} == limits, module.__name__


def test_what_is_handed_on_cannot_be_changed():
    from dataclasses import FrozenInstanceError

    carried = take_out(small(1), "x", None)
    record = read_record(record_with(), "x")
    for one, name in ((carried, "title"), (record, "entry")):
        with pytest.raises(FrozenInstanceError):
            setattr(one, name, "x")
        assert not hasattr(one, "__dict__")


@pytest.mark.parametrize(
    "ask",
    [
        lambda path: take_out(b"no PDF", "a.pdf", None),
        lambda path: foreign_entry(b"no PDF", "a.pdf"),
        lambda path: read_record(HANDOUT, "a.pdf"),
        lambda path: open_database(path / "a.pdf", write=False),
    ],
)
def test_a_refusal_names_no_line_where_there_is_none(tmp_path, ask):
    with pytest.raises(InputRefusedError) as caught:
        ask(tmp_path)
    (problem,) = caught.value.problems
    assert (problem.line, problem.column, problem.field) == (0, 0, "")
