"""Who was erased is in no byte of any file; everybody else is untouched."""

import sqlite3

import pytest

from reporter.archive.adding import add_record
from reporter.archive.importing import import_pdf
from reporter.archive.leaving import erase_student, resume, retire_records, tidy
from reporter.archive.shelf import DATABASE, MARK, the_student
from reporter.archive.store import Wanted
from reporter.archive.tombstone import bury, is_buried
from reporter.archive.verify import verify
from reporter.errors import ShelfBusyError
from tests.archive.conftest import ON_SQLITE
from tests.archive.synthetic import record_pdf

NAME, STUDENT = "Zacharias Quintbrook", "S-quagga-77"
SIGNS = (
    "zacharias", "quintbrook", "quagga", "wombatish", "xylophonic", "yttriumlike", "kazooclub",
    "vuvuzelacam", "okapilesson", "jackalnote",
)  # fmt: skip


def everything_of_one(number: int) -> bytes:
    return record_pdf(
        f"okapilesson-{number}",
        STUDENT,
        NAME,
        f"2027-02-{number + 1:02d}",
        thought="Be wombatish through the ball.",
        notes="Felt xylophonic today. " * 20,
        private="yttriumlike",
        club="kazooclub",
        camera="vuvuzelacam",
        tests=[("2027-01-05", 3, 10)],
        cold_test="jackalnote",
    )


@pytest.fixture
def crowded(shelf):
    """Return a shelf with one student who goes among sixty who stay."""
    for number in range(30):
        add_record(shelf, record_pdf(f"a-{number}", f"S-{number}", "Edda"), "x")
    for number in range(6):
        add_record(shelf, everything_of_one(number), "x")
    for number in range(30):
        add_record(shelf, record_pdf(f"b-{number}", f"T-{number}", "Falko"), "x")
    add_record(shelf, everything_of_one(0) + b"\n", "x")  # another version
    import_pdf(shelf, record_pdf("theirs", None, NAME, kind="handout"), "x", student=STUDENT)
    return shelf


def test_the_words_were_there(crowded, everywhere):
    found = "\n".join(everywhere(crowded, *SIGNS))
    assert all(word in found for word in SIGNS if word not in ("yttriumlike",))


def test_no_byte_is_left_in_database_log_index_or_folder(crowded, everywhere):
    gone = erase_student(crowded, the_student(crowded, STUDENT))
    assert gone.records == 8
    assert everywhere(crowded, *SIGNS) == []
    names = {path.name for path in crowded.folder.iterdir()}
    beside = {DATABASE, f"{DATABASE}-wal", f"{DATABASE}-shm", MARK}
    assert names - beside - {"records", "foreign"} == set()
    checked = verify(crowded, data=True)
    assert (checked.damages, checked.records, checked.files) == ((), 60, 60)
    assert crowded.store.find(Wanted(text="wombatish")) == []
    assert crowded.store.students(STUDENT) == []


def test_what_a_killed_add_left_behind_goes_too(crowded, everywhere):
    late = everything_of_one(9)
    crowded.files.put(late, "own")  # the file was written, its row never
    shard = crowded.folder / "records" / "00"
    shard.mkdir(exist_ok=True)
    (shard / ".lesson-reporter-999999999-0123456789ab.part").write_bytes(late[:400])
    stays = record_pdf("c-1", "U-1", "Greta")
    crowded.files.put(stays, "own")
    sent = record_pdf("sent", None, NAME, kind="handout", notes="again")
    crowded.files.put(sent, "foreign")  # an import that was killed
    gone = erase_student(crowded, the_student(crowded, STUDENT))
    assert gone.left_over == 3
    assert everywhere(crowded, *SIGNS) == []
    kept = [one.kind for one in verify(crowded, data=True).damages]
    assert kept == ["file without a row"]  # somebody else's: not touched


def test_the_log_names_nobody(crowded):
    erase_student(crowded, the_student(crowded, STUDENT))
    lines = crowded.store.log(1000)
    assert [(line.what, line.count) for line in lines][0] == ("erase", 8)
    assert len(lines) == 1 + 30 + 6 + 30 + 1 + 1 + 1
    assert {line.who for line in lines} == {"tests"}


def test_the_tombstone_knows_the_id_and_does_not_hold_it(crowded):
    erase_student(crowded, the_student(crowded, STUDENT))
    (stone,) = crowded.store.tombstones()
    assert STUDENT not in repr(stone)
    assert is_buried(STUDENT, [stone]) == stone
    assert is_buried("S-quagga-78", [stone]) is None
    assert bury(STUDENT, "00" * 16, "2027-05-01", 8).token != stone.token


def test_rfc_7914_gives_the_token():
    """The slow hash is scrypt as the standard's test vector has it: section 12, third vector."""
    import hashlib

    found = hashlib.scrypt(b"pleaseletmein", salt=b"SodiumChloride", n=16384, r=8, p=1, dklen=64)
    assert found.hex().startswith(
        "7023bdcb3afd7348461c06cd81fd38ebfda8fbba904f8e3ea9b543f6545da1f2"
    )


@ON_SQLITE
def test_somebody_who_reads_delays_the_cleaning_and_it_is_said(crowded, everywhere):
    reader = sqlite3.connect(crowded.folder / DATABASE, isolation_level=None)
    reader.execute("BEGIN")
    reader.execute("SELECT count(*) FROM records").fetchone()
    crowded.store._connection.execute("PRAGMA busy_timeout = 50")
    with pytest.raises(ShelfBusyError, match="--resume"):
        erase_student(crowded, the_student(crowded, STUDENT))
    assert crowded.store.needs_cleaning()
    assert "not ended" in {one.kind for one in verify(crowded).damages}
    reader.execute("COMMIT")
    reader.close()
    resume(crowded)
    assert everywhere(crowded, *SIGNS) == []
    assert verify(crowded, data=True).damages == ()


def test_retiring_old_versions_keeps_the_one_that_may_stay(shelf):
    add_record(shelf, record_pdf(notes="first", until="2027-05-02"), "x")
    add_record(shelf, record_pdf(notes="second", until="2029-05-02"), "x")
    gone = retire_records(shelf, [1])
    assert gone.records == 1
    (row,) = shelf.store.versions("lesson-1")
    assert (row.number, row.current) == (2, True)
    assert shelf.store.tombstones() == []
    assert verify(shelf, data=True).damages == ()


def test_retiring_the_version_that_counts_lets_the_latest_left_count(shelf):
    add_record(shelf, record_pdf(notes="first", until="2029-05-02"), "x")
    add_record(shelf, record_pdf(notes="second", until="2027-05-02"), "x")
    retire_records(shelf, [2])
    (row,) = shelf.store.versions("lesson-1")
    assert (row.number, row.current) == (1, True)
    assert shelf.store.find(Wanted())[0].number == 1


def test_the_last_record_of_a_student_takes_the_name_along(shelf, everywhere):
    add_record(shelf, everything_of_one(0), "x")
    retire_records(shelf, [1])
    assert everywhere(shelf, *SIGNS) == []
    # Not erased at wish: the student may come again without being asked.
    assert not add_record(shelf, record_pdf("new", STUDENT), "x").already


def test_tidying_takes_nothing_from_somebody_who_is_adding(shelf, reopened, monkeypatch):
    """The file lies there, its row does not yet; another run tidies at that moment."""
    document = record_pdf("lesson-2", "S-2")
    real = type(shelf.files).put

    def put_and_be_tidied(files, data, origin, **known):
        digest = real(files, data, origin, **known)
        if not tidied:
            tidied.append(1)
            with reopened(shelf.folder, write=True) as other:
                assert tidy(other) == 1
        return digest

    tidied: list[int] = []
    monkeypatch.setattr(type(shelf.files), "put", put_and_be_tidied)
    add_record(shelf, document, "x")
    assert tidied
    assert verify(shelf, data=True).damages == ()
