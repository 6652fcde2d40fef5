"""Every planted fault is found and named, nothing else is; a check goes on where it stopped."""

import json
import random
import shutil
import sqlite3

import pytest

from reporter.archive.adding import add_record
from reporter.archive.importing import import_pdf
from reporter.archive.rebuild import rebuild
from reporter.archive.shelf import DATABASE, start_shelf
from reporter.archive.store import Wanted
from reporter.archive.verify import Part, verify
from reporter.errors import InputRefusedError
from tests.archive.benchmark import fill
from tests.archive.conftest import AT, ON_SQLITE
from tests.archive.synthetic import record_pdf

RECORDS, FAULTS_OF_EACH_KIND = 500, 5


def plant(shelf, made: random.Random, each: int) -> set[tuple[str, str]]:
    """Spoil a shelf in six ways; return kind and name of what must be found."""
    rows = shelf.store.find(Wanted(most=1_000_000))
    chosen = made.sample(rows, each * 5)
    expected: set[tuple[str, str]] = set()
    connection = shelf.store._connection

    def file_of(row):
        name = shelf.files.name_of(row.digest, row.origin)
        return name, shelf.folder / name

    for row in chosen[:each]:  # one bit
        name, path = file_of(row)
        data = bytearray(path.read_bytes())
        data[made.randrange(len(data))] ^= 1 << made.randrange(8)
        path.write_bytes(data)
        expected.add(("file changed", name))
    for row in chosen[each : 2 * each]:  # cut short
        name, path = file_of(row)
        path.write_bytes(path.read_bytes()[:-1])
        expected.add(("file changed", name))
    for row in chosen[2 * each : 3 * each]:
        name, path = file_of(row)
        path.unlink()
        expected.add(("file missing", name))
    mark = "%s"
    if isinstance(connection, sqlite3.Connection):
        connection.execute("PRAGMA foreign_keys = OFF")
        mark = "?"
    for row in chosen[3 * each : 4 * each]:
        connection.execute(f"DELETE FROM records WHERE number = {mark}", (row.number,))
        expected.add(("row missing", f"record {row.number}"))
        expected.add(("file without a row", file_of(row)[0]))
    for row in chosen[4 * each :]:  # the smallest change of a value
        connection.execute(
            "UPDATE measures SET value = value + 0.000001 WHERE ordinal = 7 AND place ="
            f" (SELECT place FROM records WHERE number = {mark})",
            (row.number,),
        )
        expected.add(("row changed", f"record {row.number}"))
    for _ in range(each):
        digest = made.randbytes(32).hex()
        path = shelf.folder / "records" / digest[:2] / f"{digest}.pdf"
        path.write_bytes(b"stranger")
        expected.add(("file without a row", path.relative_to(shelf.folder).as_posix()))
    return expected


def test_all_planted_faults_and_no_other(shelf):
    """Thirty among five hundred here, among two thousand and a hundred thousand in the soak."""
    fill(shelf, RECORDS)
    assert verify(shelf, data=True).damages == ()
    expected = plant(shelf, random.Random(5), FAULTS_OF_EACH_KIND)
    checked = verify(shelf, data=True)
    found = {(one.kind, one.name) for one in checked.damages if one.kind != "database"}
    assert found == expected
    told = " ".join(one.told for one in checked.damages if one.kind == "database")
    assert "the version that counts is not there" in told  # of the rows that went


@pytest.mark.parametrize(
    ("statement", "kind", "word"),
    [
        ("UPDATE texts SET notes = 'other'", "row changed", "record 1"),
        ("UPDATE texts SET notes = 'other'", "database", "search index"),
        ("UPDATE records SET coach = 'Nobody'", "row changed", "record 1"),
        ("UPDATE records SET day = '2020-01-01'", "row changed", "record 1"),
        ("UPDATE students SET id = 'S-9'", "row changed", "record 1"),
        ("DELETE FROM words WHERE kind = 'drill'", "database", "kind drill"),
        ("INSERT INTO words VALUES ('fault', 'shank', 1)", "database", "too many"),
        ("DELETE FROM search", "database", "search index"),
        ("UPDATE records SET details = '{'", "row changed", "record 1"),
        ("DELETE FROM measures", "row changed", "record 1"),
        ("UPDATE lessons SET current = 99", "database", "version that counts"),
        ("DROP INDEX measures_by_value; DROP TABLE gone", "database", "gone is missing"),
    ],
)
def test_every_table_is_held_against_another(shelf, statement, kind, word):
    add_record(shelf, record_pdf(), "x")
    assert verify(shelf).damages == ()
    if isinstance(shelf.store._connection, sqlite3.Connection):
        shelf.store._connection.executescript(f"PRAGMA foreign_keys = OFF; {statement}")
    else:
        if statement == "DELETE FROM search":
            statement = "UPDATE texts SET search = ''"
        shelf.store._connection.execute(statement)
    told = [f"{one.name} {one.told}" for one in verify(shelf).damages if one.kind == kind]
    assert any(word in line for line in told), told


def test_a_strange_file_and_an_unfinished_one(shelf):
    add_record(shelf, record_pdf(), "x")
    (shelf.folder / "records" / "00").mkdir(exist_ok=True)
    (shelf.folder / "records" / "00" / "holiday.jpg").write_bytes(b"x")
    (shelf.folder / "records" / "00" / ".lesson-reporter-1-0123456789ab.part").write_bytes(b"x")
    checked = verify(shelf)
    assert [(one.kind, one.name) for one in checked.damages] == [
        ("unknown file", "records/00/holiday.jpg")
    ]
    assert checked.left_over == 1


@ON_SQLITE
def test_a_check_goes_on_where_it_was_stopped(shelf, tmp_path):
    for number in range(12):
        add_record(shelf, record_pdf(f"l-{number}", f"S-{number}"), "x")
    spoilt = shelf.store.find(Wanted(most=12))
    for row in spoilt[::4]:
        (shelf.folder / shelf.files.name_of(row.digest, "own")).write_bytes(b"spoilt")
    whole = verify(shelf, data=True)
    state = tmp_path / "state.json"

    class Stopped(Exception):
        pass

    def stop_at(last):
        def tell(done, of):
            if done == last:
                raise Stopped

        return tell

    for last in (70, 150, 230):
        with pytest.raises(Stopped):
            verify(shelf, data=True, state=state, tell=stop_at(last))
        assert json.loads(state.read_bytes())["done"] == last
    assert "Mira" not in state.read_text()
    assert verify(shelf, data=True, state=state) == whole
    assert len(whole.damages) == 3
    with pytest.raises(InputRefusedError, match="another file"):
        verify(shelf, data=False, state=state)


def test_the_parts_together_are_the_whole(shelf):
    fill(shelf, 300)
    parts = [verify(shelf, data=True, part=Part(number, 7)) for number in range(1, 8)]
    whole = verify(shelf, data=True)
    assert sum(one.files for one in parts) == whole.files == 300
    assert sum(one.bytes_read for one in parts) == whole.bytes_read
    assert [one.records for one in parts] == [300, 0, 0, 0, 0, 0, 0]


@pytest.fixture
def busy(shelf):
    """Return a shelf with versions, a PDF from elsewhere and a handout given out."""
    add_record(shelf, record_pdf(notes="one"), "x")
    add_record(shelf, record_pdf("lesson-2", "S-2", "Edda"), "x")
    add_record(shelf, record_pdf(notes="two"), "x")
    import_pdf(shelf, record_pdf("theirs", kind="handout"), "x", student="S-2")
    shelf.store.note_given("lesson-2", "2027-03-02", "tests", AT)
    return shelf


def listed(shelf):
    """Return what must come back, without what only the database knew."""
    rows = shelf.store.find(Wanted(all_versions=True, most=100))
    return sorted((row.digest, row.version, row.current, row.student) for row in rows)


@ON_SQLITE
@pytest.mark.parametrize("loss", ["none", "all", "damage"])
def test_a_shelf_comes_back_from_its_pdfs(busy, tmp_path, loss):
    old = tmp_path / "old"
    busy.store._connection.execute("PRAGMA wal_checkpoint(TRUNCATE)")
    shutil.copytree(busy.folder, old)
    if loss == "all":
        for path in old.glob(f"{DATABASE}*"):
            path.unlink()
    elif loss == "damage":
        for path in old.glob(f"{DATABASE}-*"):
            path.unlink()
        (old / DATABASE).write_bytes(b"\0" * 50_000)
    with start_shelf(tmp_path / "new", who="t", at=AT) as new:
        made = rebuild(old, new)
        assert (made.records, made.refused) == (4, ())
        assert made.by_database == (loss == "none")
        assert verify(new, data=True).damages == ()
        if loss == "none":
            assert listed(new) == listed(busy)
            assert new.store.versions("lesson-2")[0].given_at == "2027-03-02"
        else:  # nobody knows any more whom the PDF from elsewhere was put to
            mended = [row[:3] for row in listed(new)]
            assert mended == [row[:3] for row in listed(busy)]


def test_a_damaged_pdf_is_named_and_the_rest_comes_back(busy, tmp_path):
    row = busy.store.versions("lesson-2")[0]
    (busy.folder / busy.files.name_of(row.digest, "own")).write_bytes(b"spoilt")
    with start_shelf(tmp_path / "new", who="t", at=AT) as new:
        made = rebuild(busy.folder, new)
    assert made.records == 3
    assert [row.digest in line for line in made.refused] == [True]
