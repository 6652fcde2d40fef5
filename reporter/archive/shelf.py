"""A shelf: the database and the folder of PDFs together, with who works at it and when."""

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

from reporter.archive.files import PdfFolder
from reporter.archive.sqlite import create_database, open_database
from reporter.archive.store import RecordRow, Store, StudentRow
from reporter.errors import CannotWriteError, InputRefusedError, Problem

DATABASE = "shelf.sqlite"


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
    """

    folder: Path
    store: Store
    files: PdfFolder
    who: str
    at: str

    @property
    def today(self) -> str:
        """The day of `at`, as ISO date."""
        return self.at[:10]

    def document(self, row: RecordRow) -> bytes:
        """Return a record's PDF, held against its digest."""
        return self.files.read(row.digest, row.origin)


@contextmanager
def open_shelf(
    folder: Path, *, who: str, at: str, write: bool, check: bool = False, wait_seconds: float = 30.0
) -> Iterator[Shelf]:
    """Open the shelf in a folder and close it at the end.

    Parameters
    ----------
    folder : Path
        Where it lies.
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
        See `reporter.archive.sqlite.opening.open_database`.
    """
    path = folder / DATABASE
    store = open_database(path, write=write, check=check, wait_seconds=wait_seconds)
    try:
        yield Shelf(folder, store, PdfFolder(folder), who, at)
    finally:
        store.close()


@contextmanager
def start_shelf(folder: Path, *, who: str, at: str) -> Iterator[Shelf]:
    """Begin an empty shelf in a folder that is empty or not there yet; see `open_shelf`."""
    try:
        folder.mkdir(parents=True, exist_ok=True)
        others = sorted(path.name for path in folder.iterdir())
    except OSError as error:
        message = f"cannot begin a shelf in {folder}: {error.strerror}"
        raise CannotWriteError(message) from None
    if others:
        message = f"{folder} is not empty; a shelf is begun in a folder of its own"
        raise CannotWriteError(message)
    store = create_database(folder / DATABASE)
    try:
        shelf = Shelf(folder, store, PdfFolder(folder), who, at)
        store.note(who, "started", at)
        yield shelf
    finally:
        store.close()


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
