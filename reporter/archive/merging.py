"""Join another shelf into this one, by lesson and version; a second time changes nothing."""

from dataclasses import dataclass

from reporter.archive.adding import add_entry
from reporter.archive.importing import foreign_entry
from reporter.archive.read_record import read_record
from reporter.archive.shelf import Shelf
from reporter.archive.store import Adding, RecordRow, Tombstone
from reporter.archive.tombstone import is_buried
from reporter.errors import (
    ConsentError,
    InputRefusedError,
    LimitError,
    ShelfDamagedError,
)


@dataclass(frozen=True, slots=True)
class Merged:
    """What a merge came to.

    Attributes
    ----------
    added, already : int
        Records that came, and those that were here.
    refused : tuple of str
        Records that may not come, or are damaged there, each with the reason.
    apart : tuple of str
        Lessons with versions here that the other shelf does not know: ours goes on counting.
    erased_there : tuple of str
        Ids of students on this shelf who were erased from the other.
    """

    added: int
    already: int
    refused: tuple[str, ...]
    apart: tuple[str, ...]
    erased_there: tuple[str, ...]


def merge(shelf: Shelf, other: Shelf, *, again: bool = False) -> Merged:
    """Take over every record of another shelf that is not here.

    Parameters
    ----------
    shelf : Shelf
        Open for writing.
    other : Shelf
        Open for reading; it is not changed.
    again : bool
        Also students who were erased here.

    Notes
    -----
    Each PDF is read anew, so what a row of the other shelf claims does not matter. Of a lesson
    with versions on both shelves the other's count only if it knows the one that counts here.
    """
    added = already = 0
    refused: list[str] = []
    apart: set[str] = set()
    taking: dict[str, bool] = {}
    for row, _ in other.store.walk():
        here = shelf.store.by_digest(row.digest)
        if here is not None and here.digest == row.digest:
            already += 1
            continue
        if row.lesson not in taking:
            taking[row.lesson] = _theirs_counts(shelf, other, row.lesson)
            if not taking[row.lesson]:
                apart.add(row.lesson)
        try:
            _take_over(shelf, other, row, counts=taking[row.lesson] and row.current, again=again)
        except (InputRefusedError, ConsentError, ShelfDamagedError, LimitError) as error:
            refused.append(f"record {row.number} there: {error}")
        else:
            added += 1
    erased = _erased_there(shelf, other)
    shelf.store.note(shelf.who, "merged", shelf.at, added)
    return Merged(added, already, tuple(refused), tuple(sorted(apart)), erased)


def _theirs_counts(shelf: Shelf, other: Shelf, lesson: str) -> bool:
    """Whether the other shelf knows the version that counts here, or there is none here."""
    ours = [row.digest for row in shelf.store.versions(lesson) if row.current]
    theirs = {row.digest for row in other.store.versions(lesson)}
    return not ours or ours[0] in theirs


def _take_over(shelf: Shelf, other: Shelf, row: RecordRow, *, counts: bool, again: bool) -> None:
    document = other.document(row)
    if row.origin == "own":
        entry = read_record(document, f"record {row.number}").entry
        student = ""
    else:
        entry = foreign_entry(document, f"record {row.number}")
        known = shelf.store.students(row.student) if row.student else []
        student = row.student if [one.id for one in known] == [row.student] else ""
    adding = Adding(
        entry, row.digest, row.size, row.added_at, row.added_by, row.handout, student, again, counts
    )
    add_entry(shelf, document, adding)
    if row.given_at and counts:
        shelf.store.note_given(row.lesson, row.given_at, shelf.who, shelf.at)


def _erased_there(shelf: Shelf, other: Shelf) -> tuple[str, ...]:
    """Take over tombstones; return who of this shelf lies under a new one."""
    known = {(one.salt, one.token) for one in shelf.store.tombstones()}
    new: list[Tombstone] = [
        one for one in other.store.tombstones() if (one.salt, one.token) not in known
    ]
    if not new:
        return ()
    found = tuple(one.id for one in shelf.store.students("") if is_buried(one.id, new) is not None)
    shelf.store.add_tombstones(new)
    return found
