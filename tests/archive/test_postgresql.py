"""What only a shelf on PostgreSQL has: addresses, servers that go, words, who holds the lock."""

import hashlib
import os
import random
import re
import sqlite3
import time

import psycopg
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from reporter.archive.adding import add_record
from reporter.archive.leaving import erase_student, resume
from reporter.archive.place import Place, place_typed
from reporter.archive.postgresql.schema import FORMAT, MIGRATIONS, TABLES
from reporter.archive.postgresql.words import question_of, words_in
from reporter.archive.rebuild import rebuild
from reporter.archive.shelf import open_shelf, start_shelf, the_student
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
from tests.archive.conftest import AT, ON_POSTGRESQL, PLACES
from tests.archive.server_kills import judge, kill_adders, kill_server
from tests.archive.synthetic import record_pdf


def typed(place: Place) -> list[str]:
    return ["--shelf", place.address, "--files", str(place.folder)]


@pytest.fixture
def empty(new_place, tmp_path):
    """Return a place whose database holds nothing."""
    return new_place("postgresql", tmp_path / "shelf")


def execute(place: Place, *statements: str) -> None:
    with psycopg.connect(place.address, autocommit=True) as connection:
        for statement in statements:
            connection.execute(statement)


def listed(place: Place) -> list[tuple[str, ...]]:
    with psycopg.connect(place.address) as connection:
        return connection.execute(
            "SELECT table_schema, table_name, column_name FROM information_schema.columns"
            " WHERE table_schema NOT IN ('pg_catalog', 'information_schema') ORDER BY 1, 2, 3"
        ).fetchall()


@pytest.mark.parametrize("write", [False, True])
@pytest.mark.parametrize(
    "statements",
    [
        (),
        ("CREATE TABLE recipes (name text)",),
        ("CREATE SCHEMA lesson_reporter", "CREATE TABLE lesson_reporter.facts (recipe text)"),
        (
            "CREATE SCHEMA lesson_reporter",
            "CREATE TABLE lesson_reporter.facts (name text, value text)",
        ),
    ],
    ids=["empty", "other tables", "other facts", "no kind"],
)
def test_a_database_of_somebody_else(empty, statements, write):
    execute(empty, *statements)
    before = listed(empty)
    with (
        pytest.raises(InputRefusedError, match="no shelf") as raised,
        open_shelf(empty, who="t", at=AT, write=write),
    ):
        pass
    assert raised.value.exit_code == ExitCode.INPUT_REFUSED
    if statements:
        with pytest.raises(CannotWriteError, match="not empty"), start_shelf(empty, who="t", at=AT):
            pass
    assert listed(empty) == before


@ON_POSTGRESQL
@pytest.mark.parametrize("write", [False, True])
def test_a_newer_format(shelf, reopened, write):
    connection = shelf.store._connection
    connection.execute("UPDATE facts SET value = %s WHERE name = 'format'", (str(FORMAT + 1),))
    with (
        pytest.raises(InputRefusedError, match="newer release"),
        reopened(shelf.folder, write=write),
    ):
        pass


@ON_POSTGRESQL
@pytest.mark.parametrize(
    "statement",
    [
        "CREATE VIEW sly AS SELECT * FROM records",
        "CREATE RULE sly AS ON INSERT TO log DO ALSO DELETE FROM records",
        "CREATE FUNCTION sly() RETURNS int LANGUAGE sql AS 'SELECT 1'",
    ],
)
def test_a_database_that_does_things_by_itself(shelf, reopened, statement):
    shelf.store._connection.execute(statement)
    with pytest.raises(InputRefusedError, match="triggers"), reopened(shelf.folder, write=True):
        pass


def test_a_format_is_never_changed_later():
    """Shelves of it stand on servers: a new format is another step, not another first one."""
    found = [hashlib.sha256("\n".join(one).encode()).hexdigest()[:16] for one in MIGRATIONS]
    assert found == ["d610c587babca307"]


@ON_POSTGRESQL
def test_an_older_format_is_brought_up_whole_or_not_at_all(shelf, reopened, monkeypatch):
    add_record(shelf, record_pdf(), "x")
    opening = "reporter.archive.postgresql.opening"
    monkeypatch.setattr(f"{opening}.FORMAT", FORMAT + 1)
    step = ("ALTER TABLE log ADD COLUMN place text", "CREATE TABLE facts (again text)")
    monkeypatch.setattr(f"{opening}.MIGRATIONS", (*MIGRATIONS, step))
    before = listed(PLACES[shelf.folder])
    with pytest.raises(InputRefusedError, match="shelf upgrade"), reopened(shelf.folder):
        pass
    with pytest.raises(ReporterError), reopened(shelf.folder, write=True):
        pass
    assert listed(PLACES[shelf.folder]) == before
    monkeypatch.setattr(f"{opening}.MIGRATIONS", (*MIGRATIONS, step[:1]))
    with reopened(shelf.folder, write=True) as opened:
        assert verify(opened, data=True).damages == ()
    with reopened(shelf.folder) as opened:
        assert verify(opened).records == 1
    assert len(listed(PLACES[shelf.folder])) == len(before) + 1


@ON_POSTGRESQL
def test_every_table_is_known_to_the_check(shelf):
    assert {table for _, table, _ in listed(PLACES[shelf.folder])} == set(TABLES)


@ON_POSTGRESQL
def test_who_holds_the_shelf_is_named_and_readers_never_wait(shelf, reopened):
    add_record(shelf, record_pdf(), "x")
    with shelf.store.alone(), reopened(shelf.folder, write=True, wait_seconds=0.2) as waiting:
        with pytest.raises(ShelfBusyError, match=f"process {os.getpid()} on ") as raised:
            add_record(waiting, record_pdf("lesson-2"), "y")
        assert raised.value.exit_code == ExitCode.ARCHIVE_BUSY
        assert len(waiting.store.find(Wanted())) == 1
    assert not add_record(shelf, record_pdf("lesson-2"), "y").already
    assert verify(shelf, data=True).damages == ()


@ON_POSTGRESQL
def test_for_reading_means_that_nothing_can_be_written(shelf, reopened):
    with reopened(shelf.folder) as opened, pytest.raises(CannotWriteError, match="read-only"):
        opened.store.note("t", "x", AT)


@ON_POSTGRESQL
def test_the_folder_of_another_shelf_takes_nothing(shelf, tmp_path):
    place = PLACES[shelf.folder]
    (tmp_path / "unmounted").mkdir()
    for folder, word in ((tmp_path / "unmounted", "not connected"), (tmp_path / "no", "holds no")):
        with (
            pytest.raises(InputRefusedError, match=word),
            open_shelf(Place(folder, place.address), who="t", at=AT, write=True),
        ):
            pass


SECRETS = ("plainsecret", "wyth%40zign", "hal@f", "sla/sh", "col:on", "que?ry", "ha#sh", "per%zz")


@pytest.mark.parametrize("secret", SECRETS)
@pytest.mark.parametrize("rest", ["localhost:1/shelf", "/shelf?host=/nonexistent", ":1/shelf"])
def test_a_password_is_never_shown(tmp_path, capfd, secret, rest):
    """RFC 3986, 3.2.1: what an address holds before the @ is not to be shown."""
    place = Place(tmp_path / "shelf", f"postgresql://academy:{secret}@{rest}")
    assert run(["-v", "shelf", "find", "x", *typed(place)]) in (
        ExitCode.CANNOT_WRITE, ExitCode.INPUT_REFUSED,
    )  # fmt: skip
    assert run(["shelf", "find", "x", "--shelf", place.address]) == ExitCode.INPUT_REFUSED
    assert run(["shelf", "merge", place.address, "--shelf", str(tmp_path)]) != ExitCode.OK
    assert run(["shelf", "rebuild", place.address, "--shelf", str(tmp_path)]) == ExitCode.USAGE
    told = "".join(capfd.readouterr()) + repr(place) + str(place)
    for part in re.split(r"[@/:?#%]", secret):
        assert len(part) < 3 or part not in told, told
    assert list(tmp_path.iterdir()) == []


def test_an_address_needs_a_folder(tmp_path):
    with pytest.raises(InputRefusedError, match="--files"):
        place_typed("postgresql://x/y", None)
    assert place_typed(" POSTGRES://x/y", tmp_path).address == "POSTGRES://x/y"
    assert place_typed("some/folder", tmp_path) == Place(type(tmp_path)("some/folder"))


def test_from_one_kind_to_the_other_and_back(empty, tmp_path, capfd, monkeypatch, everywhere):
    """As typed: begin, join a folder's shelf, find, check, rebuild as a folder, erase."""
    monkeypatch.chdir(tmp_path)
    with start_shelf(tmp_path / "small", who="t", at=AT) as small:
        add_record(small, record_pdf(), "x")
        add_record(small, record_pdf("lesson-2", "S-quagga", "Zacharias"), "x")
    secret = empty.address.replace("academy@", "academy:hush-99@")
    where = ["--shelf", secret, "--files", str(empty.folder)]
    for words in (
        ("start",), ("merge", "small"), ("find", "chest"), ("find", "--student", "S-quagga"),
        ("verify", "--data"), ("rebuild", "new"), ("erase", "S-quagga", "--yes"), ("verify",),
        ("totals",), ("due",), ("upgrade",), ("log",),
    ):  # fmt: skip
        assert run(["shelf", *words, *where]) == ExitCode.OK, words
    back = ["--shelf", str(tmp_path / "new")]
    assert run(["shelf", "verify", "--data", *back]) == ExitCode.OK
    merged = ["shelf", "merge", secret, "--other-files", str(empty.folder), *back]
    assert run(merged) == ExitCode.OK
    told = "".join(capfd.readouterr())
    assert "2 records" in told
    assert "S-quagga was erased there" in told
    assert "hush-99" not in told
    with open_shelf(empty, who="t", at=AT, write=False) as shelf:
        assert everywhere(shelf, "quagga", "zacharias") == []


@ON_POSTGRESQL
@pytest.mark.parametrize("loss", ["none", "all", "damage"])
def test_it_comes_back_from_its_pdfs(shelf, tmp_path, loss):
    for text in ("one", "two"):
        add_record(shelf, record_pdf(notes=text), "x")
    shelf.store.note_given("lesson-1", "2027-03-02", "t", AT)
    place = PLACES[shelf.folder]
    if loss == "all":
        place = Place(place.folder, place.address.replace("/shelf", "/lost"))
    elif loss == "damage":
        execute(place, "DROP TABLE lesson_reporter.records CASCADE")
    with start_shelf(tmp_path / "new", who="t", at=AT) as new:
        made = rebuild(place, new)
        assert (made.records, made.by_database) == (2, loss == "none")
        assert verify(new, data=True).damages == ()
        if loss == "none":
            assert new.store.versions("lesson-1")[1].given_at == "2027-03-02"


@ON_POSTGRESQL
@pytest.mark.parametrize("kind", ["has read", "reads"])
def test_somebody_who_reads_delays_the_cleaning_and_it_is_said(shelf, reopened, everywhere, kind):
    add_record(shelf, record_pdf("okapi", "S-quagga", "Zacharias"), "x")
    add_record(shelf, record_pdf(), "x")
    signs = ("okapi", "quagga", "zacharias")
    assert everywhere(shelf, *signs)
    with psycopg.connect(PLACES[shelf.folder].address) as reader:
        reader.execute("SET TRANSACTION ISOLATION LEVEL REPEATABLE READ")
        table = "students" if kind == "reads" else "log"  # no lock on what is erased, but a view
        reader.execute(f"SELECT * FROM lesson_reporter.{table}")
        with (
            reopened(shelf.folder, write=True, wait_seconds=0.3) as brief,
            pytest.raises(ShelfBusyError, match="--resume"),
        ):
            erase_student(brief, the_student(brief, "S-quagga"))
        assert shelf.store.needs_cleaning()
        assert "not ended" in {one.kind for one in verify(shelf).damages}
        reader.rollback()
    resume(shelf)
    assert everywhere(shelf, *signs) == []
    assert verify(shelf, data=True).damages == ()


@ON_POSTGRESQL
def test_no_statistics_are_kept_of_what_tells_of_a_person(shelf, server):
    """The server keeps samples of values in a catalogue that no owner of a table can clean."""
    for number in range(6):
        add_record(shelf, record_pdf(f"l-{number}", f"S-quagga-{number}", "Zacharias"), "x")
    with server.superuser(server.databases[shelf.folder]) as chief:
        chief.execute("ANALYZE")
        rows = chief.execute(
            "SELECT most_common_vals::text, histogram_bounds::text, most_common_elems::text"
            " FROM pg_stats WHERE schemaname = 'lesson_reporter'"
        ).fetchall()
    assert len(rows) > 10
    found = repr(rows).lower()
    for word in ("quagga", "zacharias", "front tripod", "odalys", "chest"):
        assert word not in found


@ON_POSTGRESQL
def test_a_server_that_does_not_flush_is_told(shelf, server):
    with server.superuser() as chief:
        try:
            chief.execute("ALTER SYSTEM SET fsync = off")
            chief.execute("SELECT pg_reload_conf()")
            for _ in range(50):
                time.sleep(0.05)
                told = [one.told for one in verify(shelf).damages]
                if told:
                    break
            assert told == ["the server runs with fsync = off: a power cut can damage the whole"
                            " shelf"]  # fmt: skip
        finally:
            chief.execute("ALTER SYSTEM RESET fsync")
            chief.execute("SELECT pg_reload_conf()")


LETTERS = st.text(
    st.one_of(
        st.characters(min_codepoint=32, max_codepoint=0x17F),
        st.characters(min_codepoint=0x390, max_codepoint=0x3C9, exclude_categories=["Cn"]),
        st.characters(min_codepoint=0x410, max_codepoint=0x44F),
        st.sampled_from(" \n-'’.,äéßÅ\u0301\u0308中文1½²"),
    ),
    max_size=60,
)


@given(LETTERS)
@settings(max_examples=400, deadline=None)
def test_words_are_those_of_sqlite(text):
    """Both kinds of shelf find by the same words: SQLite's own tokenizer tells them."""
    base = sqlite3.connect(":memory:")
    base.execute(
        "CREATE VIRTUAL TABLE t USING fts5 (x, tokenize = 'unicode61 remove_diacritics 2')"
    )
    base.execute("CREATE VIRTUAL TABLE v USING fts5vocab (t, 'instance')")
    base.execute("INSERT INTO t VALUES (?)", (text,))
    expected = [term for (term,) in base.execute("SELECT term FROM v ORDER BY offset")]
    base.close()
    assert list(words_in(text)) == expected


@pytest.mark.parametrize(
    ("typed", "asked"),
    [
        ("Ball", "('ball')"),
        ('"trail shoulder" gate', "('trail' <-> 'shoulder') & ('gate')"),
        ("should*", "('should':*)"),
        ("NOT !a | b:*", "('not') & ('a') & ('b':*)"),
        ("it's", "('it' <-> 's')"),
    ],
)
def test_typed_words_are_words_and_never_operators(typed, asked):
    assert question_of(Wanted(text=typed)) == asked


@ON_POSTGRESQL
def test_a_phrase_stands_in_one_part_and_long_words_are_found(shelf):
    long = "ha" * 1_000
    add_record(shelf, record_pdf(thought="one two", notes=f"three {long} " + "x " * 900), "x")
    for text, count in (
        ('"one two"', 1), ('"two three"', 0), ('"two one"', 0), (long, 1), ("hah*", 1),
        ('"brannock one"', 0), ("TWO", 1),
    ):  # fmt: skip
        assert len(shelf.store.find(Wanted(text=text))) == count, text[:20]


@ON_POSTGRESQL
def test_adds_that_are_killed(shelf):
    """Six here, three thousand in the soak."""
    place = PLACES[shelf.folder]
    told = kill_adders(place, 6, random.Random(4))
    assert len(told) >= 3
    judge(place, told)


@ON_POSTGRESQL
def test_a_server_that_is_killed(shelf, server):
    """Exit code 5, in words, not a traceback; once here, fifty times in the soak."""
    place = PLACES[shelf.folder]
    told = kill_server(server, place, "x", random.Random(4))
    with pytest.raises(CannotWriteError, match="went away"):
        shelf.store.log(1)
    judge(place, told)


@ON_POSTGRESQL
def test_a_server_that_is_not_there(shelf, server):
    place = PLACES[shelf.folder]
    server.control("stop", "-m", "immediate")
    try:
        assert run(["shelf", "find", "x", *typed(place)]) == ExitCode.CANNOT_WRITE
    finally:
        server.control("start", "-o", (server.folder / "options").read_text())
