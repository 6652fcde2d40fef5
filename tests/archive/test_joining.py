"""Two shelves become one, twice as once; PDFs from elsewhere come through a reader with bounds."""

import random
import resource
import zlib

import pytest

from reporter.archive.adding import add_record
from reporter.archive.entry import sha256
from reporter.archive.importing import import_pdf
from reporter.archive.leaving import erase_student
from reporter.archive.merging import merge
from reporter.archive.shelf import start_shelf, the_student
from reporter.archive.store import Wanted
from reporter.archive.verify import verify
from reporter.errors import ConsentError, InputRefusedError, LimitError, ReporterError
from tests.archive.conftest import AT, ON_SQLITE
from tests.archive.synthetic import pdf_with, record_pdf

A, B, C = (record_pdf(notes=text) for text in ("first", "second", "third"))


@pytest.fixture
def other(tmp_path):
    with start_shelf(tmp_path / "other", who="there", at=AT) as made:
        yield made


def fill(shelf, *documents):
    for document in documents:
        add_record(shelf, document, "x")


def current(shelf):
    (row,) = [row for row in shelf.store.versions("lesson-1") if row.current]
    return shelf.document(row)


def test_joined_twice_as_once(shelf, other):
    fill(shelf, A, record_pdf("mine", "S-2", "Edda"))
    fill(other, A, B, record_pdf("theirs", "S-3", "Falko"))
    other.store.note_given("theirs", "2027-03-02", "there", AT)
    first = merge(shelf, other)
    assert (first.added, first.already, first.refused, first.apart) == (2, 1, (), ())
    rows = shelf.store.find(Wanted(all_versions=True, most=99))
    second = merge(shelf, other)
    assert (second.added, second.already) == (0, 3)
    assert shelf.store.find(Wanted(all_versions=True, most=99)) == rows
    assert current(shelf) == B
    assert shelf.store.versions("theirs")[0].given_at == "2027-03-02"
    assert verify(shelf, data=True).damages == ()


@ON_SQLITE
@pytest.mark.parametrize(
    ("ours", "theirs", "counts", "apart"),
    [
        ((A,), (A, B), B, ()),
        ((A, B), (A,), B, ()),
        ((A, B), (A, B, C), C, ()),
        ((A, C), (A, B), C, ("lesson-1",)),
        ((), (A, B), B, ()),
    ],
    ids=["behind", "ahead", "behind twice", "apart", "new"],
)
def test_which_version_counts(shelf, other, ours, theirs, counts, apart):
    fill(shelf, *ours)
    fill(other, *theirs)
    merged = merge(shelf, other)
    assert merged.apart == apart
    assert current(shelf) == counts
    assert {shelf.document(row) for row in shelf.store.versions("lesson-1")} == {*ours, *theirs}
    merge(shelf, other)
    assert current(shelf) == counts


def test_the_erased_stay_erased_and_erasures_there_are_told(shelf, other):
    gone, both = record_pdf("gone", "S-gone"), record_pdf("both", "S-both", "Edda")
    fill(shelf, gone, both)
    fill(other, gone, both)
    erase_student(shelf, the_student(shelf, "S-gone"))
    erase_student(other, the_student(other, "S-both"))
    merged = merge(shelf, other)
    assert merged.added == 0
    assert ["was erased" in line for line in merged.refused] == [True]
    assert merged.erased_there == ("S-both",)
    assert len(shelf.store.tombstones()) == 2


def test_a_damaged_record_there_stops_no_other(shelf, other):
    fill(other, A, record_pdf("second", "S-2", "Edda"))
    row = other.store.versions("lesson-1")[0]
    (other.folder / other.files.name_of(row.digest, "own")).write_bytes(b"spoilt")
    merged = merge(shelf, other)
    assert merged.added == 1
    assert "damaged" in merged.refused[0]


def test_a_pdf_from_elsewhere_replaces_nothing(shelf):
    """The same id, the same lesson: it stays foreign, and its id means nothing here."""
    add_record(shelf, record_pdf(), "x")
    foreign = import_pdf(shelf, record_pdf(notes="theirs", values={"spine-side-bend": 99.0}), "y")
    assert (foreign.row.origin, foreign.row.student, foreign.row.version) == ("foreign", "", 1)
    assert foreign.row.lesson.startswith("foreign:")
    assert [row.version for row in shelf.store.versions("lesson-1")] == [1]
    assert import_pdf(shelf, record_pdf(notes="theirs", values={"spine-side-bend": 99.0}),
                      "y").already  # fmt: skip
    with pytest.raises(InputRefusedError, match="already") as caught:
        import_pdf(shelf, record_pdf(), "x")
    (problem,) = caught.value.problems
    assert (problem.file, problem.line, problem.column) == ("x", 0, 0)
    assert verify(shelf, data=True).damages == ()


def test_what_may_be_kept_until_today_is_taken_in_today(shelf):
    last_day = record_pdf(until=shelf.today, kind="handout")
    assert import_pdf(shelf, last_day, "x.pdf").row.origin == "foreign"


def bomb(size: int) -> bytes:
    """Return a stream of so many zeros, packed in pieces so that it is never whole in memory."""
    packer = zlib.compressobj(9)
    piece = b"\0" * (1 << 20)
    packed = b"".join(packer.compress(piece) for _ in range(size >> 20))
    return packed + packer.flush()


def with_stream(packed: bytes) -> bytes:
    """Return a handout whose lesson is that packed stream."""
    small = zlib.compress(b"@")
    plain = pdf_with([("session.yaml", b"@")], "lesson-reporter:x")
    stream = b"/Length %d>>stream\n%s"
    assert plain.count(small) == 1
    return plain.replace(stream % (len(small), small), stream % (len(packed), packed))


@ON_SQLITE
def test_a_bomb_is_refused_and_costs_little(shelf):
    """One GiB of zeros in a megabyte."""
    document = with_stream(bomb(1 << 30))
    before = resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss / 1024
    assert len(document) < 2_000_000
    with pytest.raises(LimitError):
        import_pdf(shelf, document, "bomb.pdf")
    children = resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss / 1024
    assert children <= max(400, before)  # [MiB], of the largest child so far
    assert verify(shelf).files == 0


@pytest.mark.parametrize(
    ("document", "error"),
    [
        (b"", InputRefusedError),
        (b"%PDF-1.7\n" + b"\xff" * 3000, InputRefusedError),
        (pdf_with([], "lesson-reporter:x"), InputRefusedError),
        (pdf_with([("../../session.yaml", b"format: 1")], "x"), InputRefusedError),
        (
            pdf_with([("session.yaml", b"thoughts: [a]"), ("session.yaml", b"thoughts: [b]")], "x"),
            InputRefusedError,
        ),
        (pdf_with([("session.yaml", b"thoughts: [a]\na: &x [*x]")], "x"), InputRefusedError),
        (pdf_with([("session.yaml", b"thoughts: [a]")], "x", pages=121), LimitError),
        (pdf_with([(f"f{n}", b"") for n in range(401)], "x"), LimitError),
        (pdf_with([("session.yaml", b"#" * 1_048_577)], "x"), LimitError),
        (record_pdf(until="2027-04-30", kind="handout"), ConsentError),
    ],
    ids=["empty", "noise", "no lesson", "a path", "twice", "aliases", "pages", "files", "long",
         "past"],
)  # fmt: skip
def test_what_is_not_taken_in(shelf, document, error):
    with pytest.raises(error):
        import_pdf(shelf, document, "x.pdf")
    assert verify(shelf).files == 0


@ON_SQLITE
def test_bytes_changed_at_random_are_read_or_refused(shelf):
    """In this process, so that there is time for many; the reader apart does the same."""
    from reporter.archive.read_record import as_entry
    from reporter.pdf.carried import take_out

    made = random.Random(2)
    whole = record_pdf(kind="handout", notes="x" * 300)
    read = refused = 0
    for _ in range(400):
        data = bytearray(whole)
        for _ in range(made.choice((1, 3, 30))):
            data[made.randrange(len(data))] = made.randrange(256)
        if made.random() < 0.2:
            del data[made.randrange(len(data)) :]
        try:
            carried = take_out(bytes(data), "x", ("session.yaml", "measurements.json"))
            as_entry(carried, "x", "foreign:x", "foreign")
            read += 1
        except ReporterError:
            refused += 1
    assert read > 20
    assert refused > 20


def test_the_digest_is_sha_256():
    """FIPS 180-4, the example of one block: "abc"."""
    assert sha256(b"abc").startswith("ba7816bf8f01cfea414140de5dae2223b00361a3")
