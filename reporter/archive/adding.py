"""Put a finished record on the shelf: file first, rows second, told last."""

from dataclasses import dataclass

from reporter.archive.entry import Entry, named, sha256
from reporter.archive.read_record import read_record
from reporter.archive.shelf import Shelf
from reporter.archive.store import Added, Adding
from reporter.errors import ConsentError


@dataclass(frozen=True, slots=True)
class Addition:
    """What a record is added with, besides itself.

    Attributes
    ----------
    again : bool
        Take a student who was erased before.
    handout : bytes or None
        The student's handout built in the same run; its digest is kept, the file is not.
    """

    again: bool = False
    handout: bytes | None = None


def add_record(shelf: Shelf, document: bytes, name: str, addition: Addition | None = None) -> Added:
    """Add a record PDF.

    Parameters
    ----------
    shelf : Shelf
        Open for writing.
    document : bytes
        The PDF.
    name : str
        What the user calls it.
    addition : Addition, optional
        What else.

    Returns
    -------
    Added
        Only when file and rows will last through a power cut.

    Raises
    ------
    InputRefusedError
        If it is no record, its student has no id, or the lesson's id is another student's.
    ConsentError
        Without consent to keep it, past the date it may be kept to, or of an erased student.
    """
    adding = _adding(shelf, document, name, addition or Addition())
    return add_entry(shelf, document, adding)


def judge_record(shelf: Shelf, document: bytes, name: str, *, again: bool) -> None:
    """Refuse what `add_record` would refuse, before anything is written; errors as there."""
    shelf.store.judge(_adding(shelf, document, name, Addition(again)))


def _adding(shelf: Shelf, document: bytes, name: str, addition: Addition) -> Adding:
    entry = read_record(document, name).entry
    judge_consent(entry, shelf.today)
    return Adding(
        entry,
        sha256(document),
        len(document),
        shelf.at,
        shelf.who,
        handout=sha256(addition.handout) if addition.handout is not None else "",
        again=addition.again,
    )


def judge_consent(entry: Entry, today: str) -> None:
    """Refuse what the student, or the guardian, did not agree to have kept."""
    if not entry.archive:
        message = (
            f"{named(entry)}: no consent to keep it is written down; the shelf takes only lessons"
            " with consent.archive: yes"
        )
        raise ConsentError(message)
    if entry.kept_until and entry.kept_until < today:
        message = (
            f"{named(entry)}: it may be kept until {entry.kept_until} (consent.until), which is"
            " past"
        )
        raise ConsentError(message)


def add_entry(shelf: Shelf, document: bytes, adding: Adding) -> Added:
    """Write the file, then the rows; nothing is written of what would be refused."""
    shelf.store.judge(adding)
    origin = adding.entry.origin
    shelf.files.put(document, origin, digest=adding.digest)

    def ensure_file() -> None:
        # A tidying run may have taken the file for a left-over while this one waited.
        if not shelf.files.holds(adding.digest, adding.size, origin):
            shelf.files.put(document, origin, digest=adding.digest)

    return shelf.store.add(adding, ensure_file)
