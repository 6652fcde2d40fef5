"""A shelf: the database and the folder of PDFs together, with who works at it and when."""

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from types import ModuleType

from reporter.archive.files import PdfFolder
from reporter.archive.place import Place
from reporter.archive.sqlite import create_database, open_database
from reporter.archive.store import RecordRow, Store, StudentRow
from reporter.errors import (
    CannotWriteError,
    ExtraMissingError,
    InputRefusedError,
    Problem,
    ReporterError,
)
from reporter.publish import publish
from reporter.safe_open import read_given

DATABASE = "shelf.sqlite"
MARK = "shelf.id"
"""Beside the PDFs of a database elsewhere: the identity of the shelf they belong to."""
LARGEST_MARK_BYTES = 1_000


@dataclass(frozen=True, slots=True)
class Shelf:
    """An open shelf.

    Attributes
    ----------
    folder : Path
        Where it lies.
    store : Store
        Its rows.
    files : PdfFolder
        Its PDFs.
    who : str
        Who works at it, for the log.
    at : str
        The UTC time as ISO text; for display only, nothing is ordered by it.
    database : str
        How its database is called.
    """

    folder: Path
    store: Store
    files: PdfFolder
    who: str
    at: str
    database: str = DATABASE

    @property
    def today(self) -> str:
        """The day of `at`, as ISO date."""
        return self.at[:10]

    def document(self, row: RecordRow) -> bytes:
        """Return a record's PDF, held against its digest."""
        return self.files.read(row.digest, row.origin)


@contextmanager
def open_shelf(
    place: Path | Place,
    *,
    who: str,
    at: str,
    write: bool,
    check: bool = False,
    wait_seconds: float = 30.0,
) -> Iterator[Shelf]:
    """Open a shelf and close it at the end.

    Parameters
    ----------
    place : Path or Place
        Where it is; a path is a folder with a database of its own.
    who, at : str
        See `Shelf`.
    write : bool
        Whether anything is changed.
    check : bool
        Look through the database first, as for a shelf from elsewhere.
    wait_seconds : float
        How long to wait for somebody else who writes [s].

    Raises
    ------
    ReporterError
        See `open_database` in the package of each kind of database.
    """
    place = place if isinstance(place, Place) else Place(place)
    folder = place.folder
    store: Store
    if place.address:
        opening = _postgresql()
        store = opening.open_database(place.address, write=write, wait_seconds=wait_seconds)
    else:
        store = open_database(
            folder / DATABASE, write=write, check=check, wait_seconds=wait_seconds
        )
    try:
        if place.address:
            _judge_mark(folder, store.identity())
        yield Shelf(folder, store, PdfFolder(folder), who, at, _database_name(place))
    finally:
        store.close()


@contextmanager
def start_shelf(place: Path | Place, *, who: str, at: str) -> Iterator[Shelf]:
    """Begin an empty shelf in a folder that is empty or not there yet; see `open_shelf`."""
    place = place if isinstance(place, Place) else Place(place)
    folder = place.folder
    try:
        folder.mkdir(parents=True, exist_ok=True)
        others = sorted(path.name for path in folder.iterdir())
    except OSError as error:
        message = f"cannot begin a shelf in {folder}: {error.strerror}"
        raise CannotWriteError(message) from None
    if others:
        message = f"{folder} is not empty; a shelf is begun in a folder of its own"
        raise CannotWriteError(message)
    store: Store
    if place.address:
        store = _postgresql().create_database(place.address)
    else:
        store = create_database(folder / DATABASE)
    try:
        if place.address:
            publish(folder / MARK, f"{store.identity()}\n".encode())
        shelf = Shelf(folder, store, PdfFolder(folder), who, at, _database_name(place))
        store.note(who, "started", at)
        yield shelf
    finally:
        store.close()


def _database_name(place: Place) -> str:
    return "PostgreSQL" if place.address else DATABASE


def _postgresql() -> ModuleType:
    """Load what speaks to PostgreSQL, an optional part.

    Raises
    ------
    ExtraMissingError
        If its library is not installed.
    """
    try:
        from reporter.archive import postgresql
    except ImportError:
        extra, purpose = "postgresql", "a shelf on PostgreSQL"
        raise ExtraMissingError(extra, purpose) from None
    return postgresql


def _judge_mark(folder: Path, identity: str) -> None:
    """Refuse a folder of another shelf, or one whose disk is not there: it would take PDFs."""
    try:
        written = read_given(folder / MARK, LARGEST_MARK_BYTES).decode("ascii", "replace").strip()
    except ReporterError:
        written = ""
    if written != identity:
        found = "belongs to another shelf" if written else f"holds no {MARK}"
        message = (
            f"{found}: it is not the folder of this database's PDFs, or its disk is not connected"
        )
        raise InputRefusedError([Problem(str(folder), 0, 0, "", message)])


def the_student(shelf: Shelf, named: str) -> StudentRow:
    """Return the one student of an id or a name.

    Raises
    ------
    InputRefusedError
        If there is none, or if several have the name: then all their ids are listed.
    """
    found = shelf.store.students(named) if named.strip() else []
    if len(found) == 1:
        return found[0]
    if not found:
        message = f'no student "{named}" is on the shelf, neither by id nor by name'
    else:
        ids = ", ".join(f"{one.id} ({one.lessons} lessons)" for one in found[:20])
        message = f'{len(found)} students are called "{named}"; say which by id: {ids}'
    raise InputRefusedError([Problem("command line", 0, 0, "student", message)])
