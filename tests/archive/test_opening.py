"""Databases that are not ours, too new or old, locked, damaged: refused, nothing changed."""

import os
import shutil
import sqlite3
import subprocess
import sys
from pathlib import Path

import pytest

from reporter.archive.adding import add_record
from reporter.archive.shelf import open_shelf, start_shelf, the_student
from reporter.archive.sqlite.schema import APPLICATION_ID, FORMAT, MIGRATIONS, TABLES
from reporter.archive.store import Wanted
from reporter.archive.verify import verify
from reporter.command_line import run
from reporter.errors import (
    CannotWriteError,
    ExitCode,
    InputRefusedError,
    ReporterError,
    ShelfBusyError,
)
from tests.archive.conftest import ON_SQLITE
from tests.archive.synthetic import record_pdf

OLD = Path(__file__).parent / "format_1"


def database(folder: Path) -> Path:
    return folder / "shelf.sqlite"


def test_no_shelf(tmp_path, reopened):
    with pytest.raises(InputRefusedError, match="shelf start"), reopened(tmp_path):
        pass


@pytest.mark.parametrize("write", [False, True])
def test_a_database_of_somebody_else(tmp_path, reopened, write):
    other = sqlite3.connect(database(tmp_path))
    other.execute("CREATE TABLE recipes (name TEXT)")
    other.close()
    before = database(tmp_path).read_bytes()
    with pytest.raises(InputRefusedError, match="no shelf"), reopened(tmp_path, write=write):
        pass
    assert database(tmp_path).read_bytes() == before
    assert [path.name for path in tmp_path.iterdir()] == ["shelf.sqlite"]


def test_no_database_at_all(tmp_path, reopened):
    database(tmp_path).write_bytes(b"a letter to nobody" * 300)
    with pytest.raises(InputRefusedError, match="no database"), reopened(tmp_path):
        pass


@ON_SQLITE
@pytest.mark.parametrize("write", [False, True])
def test_a_newer_format(shelf, reopened, write):
    shelf.store._connection.execute(f"PRAGMA user_version = {FORMAT + 1}")
    with (
        pytest.raises(InputRefusedError, match="newer release"),
        reopened(shelf.folder, write=write),
    ):
        pass
    shelf.store._connection.execute(f"PRAGMA user_version = {FORMAT}")


@ON_SQLITE
def test_a_database_that_does_things_by_itself(shelf, reopened):
    shelf.store._connection.execute(
        "CREATE TRIGGER sly AFTER INSERT ON log BEGIN DELETE FROM records; END"
    )
    with pytest.raises(InputRefusedError, match="triggers"), reopened(shelf.folder, write=True):
        pass


@ON_SQLITE
def test_locked_by_somebody_else(shelf, reopened):
    add_record(shelf, record_pdf(), "x")
    holder = sqlite3.connect(database(shelf.folder), isolation_level=None)
    holder.execute("BEGIN IMMEDIATE")
    with reopened(shelf.folder, write=True, wait_seconds=0.1) as waiting:
        with pytest.raises(ShelfBusyError, match="by somebody else") as raised:
            add_record(waiting, record_pdf("lesson-2"), "y")
        assert raised.value.exit_code == ExitCode.ARCHIVE_BUSY
        assert len(waiting.store.find(Wanted())) == 1  # readers are never kept waiting
    holder.execute("ROLLBACK")
    holder.close()
    add_record(shelf, record_pdf("lesson-2"), "y")
    assert verify(shelf, data=True).damages == ()


HOLD = """
import sqlite3, sys
held = sqlite3.connect(sys.argv[1], isolation_level=None)
held.execute("BEGIN IMMEDIATE")
held.execute("INSERT INTO log (at, who, what) VALUES ('', '', '')")
print("held", flush=True)
sys.stdin.read()
"""


@ON_SQLITE
@pytest.mark.skipif(not Path("/proc/locks").exists(), reason="this system does not tell holders")
def test_who_holds_the_shelf_is_named(shelf, reopened):
    with subprocess.Popen(
        [sys.executable, "-c", HOLD, str(database(shelf.folder))],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
    ) as holder:
        assert holder.stdout.readline() == b"held\n"
        with (
            reopened(shelf.folder, write=True, wait_seconds=0.1) as waiting,
            pytest.raises(ShelfBusyError, match=f"process {holder.pid} on "),
        ):
            add_record(waiting, record_pdf(), "x")
        holder.kill()  # a holder that dies leaves no lock behind
    assert not add_record(shelf, record_pdf(), "x").already


@pytest.mark.parametrize("place", [0.2, 0.5, 0.8])
def test_damaged_pages(tmp_path, reopened, place):
    folder = tmp_path / "broken"
    with start_shelf(folder, who="t", at="2027-05-01T10:00:00Z") as made:
        for number in range(30):
            add_record(made, record_pdf(f"l-{number}", f"S-{number}"), "x")
    path = database(folder)
    data = bytearray(path.read_bytes())
    start = int(len(data) * place) // 4096 * 4096
    data[start : start + 4096] = b"\xa5" * 4096
    path.write_bytes(data)
    assert run(["shelf", "verify", "--shelf", str(folder)]) == ExitCode.ARCHIVE_DAMAGED
    assert path.read_bytes() == data


@ON_SQLITE
def test_a_shelf_that_may_only_be_read(shelf, reopened, monkeypatch):
    """As from a read-only disk: the folder takes no file, so nothing may be made beside it."""
    add_record(shelf, record_pdf(), "x")
    copy = shelf.folder.parent / "copy"
    shelf.store._connection.execute("PRAGMA wal_checkpoint(TRUNCATE)")
    copy.mkdir()
    shutil.copy(database(shelf.folder), database(copy))
    real = os.access
    monkeypatch.setattr(os, "access", lambda path, mode: mode != os.W_OK and real(path, mode))
    with reopened(copy) as opened:
        assert [row.lesson for row in opened.store.find(Wanted(text="chest"))] == ["lesson-1"]
    with pytest.raises(CannotWriteError), reopened(copy, write=True):
        pass
    assert [path.name for path in copy.iterdir()] == ["shelf.sqlite"]


def test_a_shelf_is_begun_in_a_folder_of_its_own(tmp_path):
    (tmp_path / "letter.txt").write_text("dear")
    with (
        pytest.raises(CannotWriteError, match="not empty"),
        start_shelf(tmp_path, who="t", at="2027-05-01T10:00:00Z"),
    ):
        pass


@pytest.fixture
def old_shelf(tmp_path):
    folder = tmp_path / "old"
    shutil.copytree(OLD, folder)
    return folder


def test_the_first_format_is_kept_as_it_was():
    kept = sqlite3.connect(f"file:{database(OLD)}?immutable=1", uri=True)
    assert kept.execute("PRAGMA user_version").fetchone() == (1,)
    assert kept.execute("PRAGMA application_id").fetchone() == (APPLICATION_ID,)
    written = {row[0] for row in kept.execute("SELECT sql FROM sqlite_schema WHERE sql NOT NULL")}
    kept.close()
    asked = {" ".join(sql.split()) for sql in MIGRATIONS[0]}
    assert asked <= {" ".join(sql.split()) for sql in written}


def test_an_old_shelf_is_brought_up_and_has_lost_nothing(old_shelf, reopened):
    with pytest.raises(InputRefusedError, match="shelf upgrade"), reopened(old_shelf):
        pass
    with reopened(old_shelf, write=True) as opened:
        assert [row.lesson for row in opened.store.history(1)] == ["kept-1", "kept-2"]
        assert verify(opened, data=True).damages == ()
        add_record(opened, record_pdf("kept-3", "S-kept", "Ulla"), "x")
        assert the_student(opened, "ulla").lessons == 3
    with reopened(old_shelf) as opened:  # a second time there is nothing to bring up
        assert verify(opened).records == 3


@ON_SQLITE
def test_every_table_is_known_to_the_check(shelf):
    names = {
        row[0]
        for row in shelf.store._connection.execute(
            "SELECT name FROM sqlite_schema WHERE type = 'table' AND name NOT LIKE 'sqlite_%'"
            " AND name NOT LIKE 'search_%'"
        )
    }
    assert names == TABLES


def test_a_migration_that_fails_changes_nothing(old_shelf, monkeypatch):
    before = database(old_shelf).read_bytes()
    broken = (MIGRATIONS[0], (*MIGRATIONS[1], "CREATE TABLE facts (again)"))
    monkeypatch.setattr("reporter.archive.sqlite.opening.MIGRATIONS", broken)
    with (
        pytest.raises(ReporterError),
        open_shelf(old_shelf, who="t", at="2027-05-01T10:00:00Z", write=True),
    ):
        pass
    kept = sqlite3.connect(database(old_shelf))
    assert kept.execute("PRAGMA user_version").fetchone() == (1,)
    kept.close()
    assert database(old_shelf).read_bytes() == before
