"""Let records go for good, so that a run that was killed anywhere can be ended by the next.

Order: write down who goes; remove the files; remove the rows and leave a tombstone; clean every
file of the database. Until the rows are gone a killed run is seen in them; after that only bytes
are left to clean, which is written down too.
"""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass

from reporter.archive.entry import Origin
from reporter.archive.files import FOLDERS, SHARDS
from reporter.archive.importing import foreign_entry
from reporter.archive.read_record import read_record
from reporter.archive.shelf import Shelf
from reporter.archive.store import Leave, StudentRow
from reporter.archive.tombstone import bury
from reporter.errors import ReporterError


@dataclass(frozen=True, slots=True)
class Gone:
    """What left the shelf.

    Attributes
    ----------
    records : int
        Rows, each with its PDF.
    left_over : int
        PDFs without a row, and unfinished files, that were removed as well.
    same_name : tuple of str
        Files from elsewhere that are put to nobody; whoever asked should look at them.
    """

    records: int
    left_over: int = 0
    same_name: tuple[str, ...] = ()


def erase_student(shelf: Shelf, student: StudentRow) -> Gone:
    """Erase everything of a student: rows, index entries, files, free pages and logs.

    Parameters
    ----------
    shelf : Shelf
        Open for writing.
    student : StudentRow
        Who.

    Raises
    ------
    ShelfBusyError
        While somebody else writes, or reads what has still to be cleaned; run again with
        `resume`.
    CannotWriteError
        If a file cannot be removed, or the disk is too full to clean up.
    """
    resume(shelf)
    leave = shelf.store.begin_leaving("erase", [student.number], [])
    return _let_go(shelf, leave, {student.number: student.id})


def retire_records(shelf: Shelf, records: Sequence[int]) -> Gone:
    """Let records go by their numbers; where the version that counted goes, the latest left counts.

    Parameters and errors are those of `erase_student`.
    """
    resume(shelf)
    if not records:
        return Gone(0)
    return _let_go(shelf, shelf.store.begin_leaving("retire", [], records), {})


def resume(shelf: Shelf) -> Gone:
    """End what an interrupted run began, and clean up after it; nothing if all was ended."""
    records = left_over = 0
    begun = shelf.store.leaving()
    ids = {one.number: one.id for one in shelf.store.students("")} if begun else {}
    for leave in begun:
        gone = _let_go(shelf, leave, ids)
        records, left_over = records + gone.records, left_over + gone.left_over
    if shelf.store.needs_cleaning():
        shelf.store.clean()
    return Gone(records, left_over)


def _let_go(shelf: Shelf, leave: Leave, ids: dict[int, str]) -> Gone:
    for row in leave.rows:
        shelf.files.remove(row.digest, row.origin)
    erased = {ids[number] for number in leave.students if number in ids}
    names = {row.student_name for row in leave.rows if row.student in erased}
    left_over = tidy(shelf, _is_of(erased, names)) if erased else 0
    salt = shelf.store.identity()
    tombstones = [bury(one, salt, shelf.today, len(leave.rows)) for one in sorted(erased)]
    shelf.store.finish_leaving(leave, tombstones, shelf.who, shelf.at)
    shelf.store.clean()
    same = _same_name(shelf, names) if erased else ()
    return Gone(len(leave.rows), left_over, same)


def _is_of(erased: set[str], names: set[str]) -> Callable[[bytes, Origin], bool]:
    """Return a test whether a PDF without a row belongs to what goes; in doubt it does."""

    def judge(document: bytes, origin: Origin) -> bool:
        try:
            if origin == "own":
                return read_record(document, "left over").entry.student in erased
            return foreign_entry(document, "left over").student_name in names
        except ReporterError:
            return True

    return judge


def left_overs(shelf: Shelf) -> Iterator[tuple[str, Origin]]:
    """Yield digest and origin of every PDF that has no row, as a killed run may leave one."""
    for shard in SHARDS:
        known = {row.digest for row in shelf.store.in_shard(shard)}
        for origin in FOLDERS:
            for found in shelf.files.in_shard(shard, origin):
                if found.digest and found.digest not in known:
                    yield found.digest, origin


def tidy(shelf: Shelf, belongs: Callable[[bytes, Origin], bool] | None = None) -> int:
    """Remove unfinished files, and PDFs without a row; return how many.

    Parameters
    ----------
    belongs : callable, optional
        Asked of each whole PDF whether it shall go; without it all go. A PDF that is damaged
        goes in any case.

    Notes
    -----
    Nobody else writes meanwhile. A run that waits to add such a PDF sees that the file went, and
    writes it again before its row is.
    """
    with shelf.store.alone():
        count = shelf.files.remove_unfinished()
        for digest, origin in list(left_overs(shelf)):
            if belongs is not None:
                try:
                    document = shelf.files.read(digest, origin)
                except ReporterError:
                    document = b""
                if not belongs(document, origin):
                    continue
            shelf.files.remove(digest, origin)
            count += 1
    return count


def _same_name(shelf: Shelf, names: set[str]) -> tuple[str, ...]:
    """Return files from elsewhere that are put to no student and carry one of the names."""
    found = []
    for shard in SHARDS:
        for row in shelf.store.in_shard(shard):
            if row.origin == "foreign" and not row.student and row.student_name in names:
                found.append(f"{FOLDERS['foreign']}/{shard}/{row.digest}.pdf")
    return tuple(found)
