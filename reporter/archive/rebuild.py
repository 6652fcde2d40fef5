"""Make a new shelf from the PDFs of an old one alone: each record carries what its rows were.

What no PDF tells is taken over from the old database if that can still be read: the order of
versions, who put a PDF from elsewhere to whom, when handouts were given out, tombstones, the log.
Without it versions are ordered by the time of their files, and that is said.
"""

from collections.abc import Iterator
from contextlib import ExitStack
from dataclasses import dataclass
from pathlib import Path

from reporter.archive.adding import add_entry
from reporter.archive.entry import Origin, sha256
from reporter.archive.files import FOLDERS, LARGEST_PDF_BYTES, SHARDS, PdfFolder
from reporter.archive.importing import foreign_entry
from reporter.archive.place import Place
from reporter.archive.read_record import read_record
from reporter.archive.shelf import DATABASE, Shelf, open_shelf
from reporter.archive.store import Adding, LogRow, RecordRow, Tombstone
from reporter.errors import ReporterError
from reporter.safe_open import read_inside


@dataclass(frozen=True, slots=True)
class Rebuilt:
    """What a rebuild came to.

    Attributes
    ----------
    records : int
        Records on the new shelf.
    refused : tuple of str
        Files that could not be taken over, each with its reason.
    by_database : bool
        Whether the old database could be read.
    """

    records: int
    refused: tuple[str, ...]
    by_database: bool


@dataclass(frozen=True, slots=True)
class _Old:
    """What the old database still tells; empty where it cannot be read."""

    rows: dict[str, RecordRow]
    tombstones: list[Tombstone]
    log: list[LogRow]
    readable: bool = False
    leaving: frozenset[str] = frozenset()


@dataclass(frozen=True, slots=True)
class _Found:
    name: str
    origin: Origin
    seconds: float


def rebuild(old: Path | Place, new: Shelf) -> Rebuilt:
    """Fill an empty shelf from the PDFs in the folder of an old one; the old is not changed.

    Parameters
    ----------
    old : Path or Place
        Where the old shelf is; its database may be damaged or missing.
    new : Shelf
        Empty, open for writing.
    """
    place = old if isinstance(old, Place) else Place(old)
    known = _old_rows(place, new)
    refused: list[str] = []
    found = sorted(
        (one for one in _files(place.folder) if Path(one.name).stem not in known.leaving),
        key=lambda one: _order(one, known),
    )
    new.store.add_tombstones(known.tombstones)
    new.store.take_over_log(list(reversed(known.log)))
    count = 0
    for one in found:
        try:
            document = read_inside(place.folder, one.name, LARGEST_PDF_BYTES)
            _take_over(new, document, one, known)
        except ReporterError as error:
            refused.append(f"{one.name}: {error}")
        else:
            count += 1
    new.store.note(new.who, "rebuilt", new.at, count)
    return Rebuilt(count, tuple(refused), known.readable)


def _old_rows(place: Place, new: Shelf) -> _Old:
    if not place.address and not (place.folder / DATABASE).is_file():
        return _Old({}, [], [])
    leaving: set[str] = set()
    try:
        with ExitStack() as stack:
            old = stack.enter_context(
                open_shelf(place, who=new.who, at=new.at, write=False, check=True)
            )
            rows = {row.digest: row for shard in SHARDS for row in old.store.in_shard(shard)}
            # Who was being erased when the old shelf broke is not brought back.
            for leave in old.store.leaving():
                for row in leave.rows:
                    rows.pop(row.digest, None)
                    leaving.add(row.digest)
            return _Old(
                rows, old.store.tombstones(), old.store.log(1_000_000), True, frozenset(leaving)
            )
    except ReporterError:
        return _Old({}, [], [])


def _files(folder: Path) -> Iterator[_Found]:
    files = PdfFolder(folder)
    for origin in FOLDERS:
        for shard in SHARDS:
            for found in files.in_shard(shard, origin):
                if found.digest:
                    name = files.name_of(found.digest, origin)
                    yield _Found(name, origin, (folder / name).stat().st_mtime)


def _order(found: _Found, known: _Old) -> tuple[int, float, str]:
    """Return where a file comes: by its old number, else after those, by the file's time."""
    row = known.rows.get(Path(found.name).stem)
    return (row.number if row is not None else 1 << 40, found.seconds, found.name)


def _take_over(new: Shelf, document: bytes, found: _Found, known: _Old) -> None:
    digest = sha256(document)
    if digest != Path(found.name).stem:
        message = "damaged: its contents no longer give its name"
        raise ReporterError(message)
    row = known.rows.get(digest)
    if found.origin == "own":
        entry = read_record(document, found.name).entry
    else:
        entry = foreign_entry(document, found.name)
    student = row.student if row is not None and found.origin == "foreign" else ""
    if student and [one.id for one in new.store.students(student)] != [student]:
        student = ""  # none of the student's own records could be taken over
    adding = Adding(
        entry,
        digest,
        len(document),
        row.added_at if row is not None else new.at,
        row.added_by if row is not None else new.who,
        handout=row.handout if row is not None else "",
        student=student,
        # A PDF without a row may be what an interrupted erasure left behind.
        again=row is not None,
        counts=row is None or row.current,
    )
    add_entry(new, document, adding)
    if row is not None and row.given_at and row.current:
        new.store.note_given(row.lesson, row.given_at, new.who, new.at)
