"""May a record be put on the shelf, by what stands there already; one rule for every database."""

from collections.abc import Callable
from dataclasses import dataclass

from reporter.archive.entry import named
from reporter.archive.store import Adding, Tombstone
from reporter.archive.tombstone import is_buried
from reporter.errors import ConsentError, InputRefusedError, Problem


@dataclass(frozen=True, slots=True)
class Standing:
    """What a database knows of the student, the file and the lesson of something to be added.

    Attributes
    ----------
    known, leaving : bool
        Whether the student is on the shelf, and whether an erasure of the student has begun.
    retiring : bool
        Whether the file is being retired.
    lesson : bool
        Whether a lesson of that id is on the shelf.
    owner : str or None
        Whose lesson that is, by id; None where it is nobody's.
    """

    known: bool
    leaving: bool
    retiring: bool
    lesson: bool
    owner: str | None


def student_id_of(adding: Adding) -> str:
    """Return the id of the student a record is put down to; its own word counts for own ones."""
    return adding.entry.student if adding.entry.origin == "own" else adding.student


def judge(adding: Adding, standing: Standing, tombstones: Callable[[], list[Tombstone]]) -> None:
    """Refuse a student who was or is being erased, and a lesson that is somebody else's.

    Parameters
    ----------
    adding : Adding
        What is to be added.
    standing : Standing
        What is there.
    tombstones : callable
        Gives all of them; they are asked for only where they matter, for each is slow to try.

    Raises
    ------
    ConsentError, InputRefusedError
        Saying what stands in the way.
    """
    entry, student = adding.entry, student_id_of(adding)
    if standing.leaving:
        message = f"student {student} is being erased; end that first with shelf erase --resume"
        raise ConsentError(message)
    if not standing.known and student and not adding.again:
        buried = is_buried(student, tombstones())
        if buried is not None:
            message = (
                f"student {student} was erased from this shelf on {buried.erased_at}; if the"
                " student agreed anew to be kept, add the record with --again"
            )
            raise ConsentError(message)
    if standing.retiring:
        message = f"{named(entry)} is being retired; end that first with shelf retire --resume"
        raise ConsentError(message)
    if standing.lesson and entry.origin == "own" and standing.owner != student:
        message = (
            f"{named(entry)}: a lesson of that id stands on the shelf for another student; give"
            " each lesson an id of its own (lesson.id)"
        )
        raise InputRefusedError([Problem("shelf", 0, 0, "", message)])
