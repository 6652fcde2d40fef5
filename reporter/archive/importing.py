"""Take in a PDF that somebody sent: as foreign, through a reader of its own within limits.

The reader is another process with bounds on memory and time, so that a crafted file can harm
nothing but itself. A foreign PDF stands on the shelf as itself alone: it never becomes a version
of a lesson of our own, its numbers enter no progress, and its ids mean nothing here.
"""

import base64
import json
import subprocess
import sys
from dataclasses import replace
from pathlib import Path

from reporter.archive.adding import add_entry
from reporter.archive.entry import Entry, sha256
from reporter.archive.read_record import as_entry
from reporter.archive.shelf import Shelf
from reporter.archive.store import Added, Adding
from reporter.errors import ConsentError, InputRefusedError, LimitError, Problem
from reporter.pdf.carried import Carried

LARGEST_IMPORT_BYTES = 64 * 1024 * 1024
LONGEST_SECONDS = 120
"""By the clock, however busy the computer is; of processor time it has far less."""
FOREIGN_MARK = "foreign:"
# The same program as this one, whatever lies in the folder it is called from.
_PROGRAM = (
    f"import sys; sys.path.insert(0, {str(Path(__file__).resolve().parents[2])!r});"
    " from reporter.archive.reader_apart import main; main()"
)


def import_pdf(
    shelf: Shelf, document: bytes, name: str, *, student: str = "", again: bool = False
) -> Added:
    """Take in a PDF.

    Parameters
    ----------
    shelf : Shelf
        Open for writing.
    document : bytes
        The PDF.
    name : str
        What the user calls it.
    student : str
        Id of a student on the shelf it is put to; empty for nobody.
    again : bool
        Take a student who was erased before.

    Raises
    ------
    InputRefusedError
        If it is damaged, or carries no lesson.
    LimitError
        If it is too large, unpacks to too much, or takes too long to read.
    ConsentError
        If it may no longer be kept.
    """
    digest = sha256(document)
    entry = foreign_entry(document, name)
    if entry.kept_until and entry.kept_until < shelf.today:
        message = f"{name}: it may be kept until {entry.kept_until}, which is past"
        raise ConsentError(message)
    if shelf.store.by_digest(digest) is not None and _is_own(shelf, digest):
        message = "is a record of this shelf already; it is not taken in a second time"
        raise InputRefusedError([Problem(name, 0, 0, "", message)])
    return add_entry(
        shelf,
        document,
        Adding(entry, digest, len(document), shelf.at, shelf.who, student=student, again=again),
    )


def _is_own(shelf: Shelf, digest: str) -> bool:
    row = shelf.store.by_digest(digest)
    return row is not None and row.origin == "own"


def foreign_entry(document: bytes, name: str) -> Entry:
    """Return the entry of a PDF from elsewhere; see `import_pdf`."""
    if len(document) > LARGEST_IMPORT_BYTES:
        message = f"{name}: {len(document)} bytes; at most {LARGEST_IMPORT_BYTES} are taken in"
        raise LimitError(message)
    carried = _read_apart(document, name)
    entry = as_entry(carried, name, FOREIGN_MARK + sha256(document), "foreign").entry
    return replace(entry, student="")


def _read_apart(document: bytes, name: str) -> Carried:
    """Let another process take the lesson out of the PDF."""
    try:
        done = subprocess.run(
            [sys.executable, "-P", "-c", _PROGRAM],
            input=document,
            capture_output=True,
            timeout=LONGEST_SECONDS,
            check=False,
        )
    except subprocess.TimeoutExpired:
        message = f"{name}: reading it took longer than {LONGEST_SECONDS} s"
        raise LimitError(message) from None
    try:
        told = json.loads(done.stdout)
    except ValueError:
        told = {}
    if "files" in told:
        files = {inside: base64.b64decode(text) for inside, text in told["files"].items()}
        return Carried(
            tuple(told["keywords"]), told["title"], told["pages"], tuple(told["names"]), files
        )
    if "refused" in told:
        raise InputRefusedError([Problem(name, 0, 0, "", told["refused"])])
    if "limit" in told:
        message = f"{name}: {told['limit']}"
        raise LimitError(message)
    message = f"{name}: reading it took more memory or time than a lesson ever needs"
    raise LimitError(message)
