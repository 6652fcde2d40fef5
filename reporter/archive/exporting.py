"""Everything the shelf keeps of one student, in open formats: PDF, YAML, JSON, CSV and pictures."""

import json
import re
from collections.abc import Iterator
from typing import Any

from reporter.archive.plain import (
    POINT_HEADINGS,
    TEST_HEADINGS,
    point_rows,
    progress_as_json,
    test_rows,
)
from reporter.archive.progress import progress_of
from reporter.archive.read_record import READ
from reporter.archive.shelf import Shelf
from reporter.archive.store import RecordRow, StudentRow
from reporter.handout.formula_safe import safe_csv
from reporter.pdf.carried import LARGEST_PICTURE_BYTES, take_out

FORMAT = 1
_PICTURE = re.compile(r"frame-[A-Za-z0-9_-]{1,100}\.jpg")
_READ_ME = """What this folder holds

  student.json     every record with all that the shelf lists of it
  progress.json    measures, cold tests and shots over the lessons, as the shelf compares them
  measures.csv     the measures as a table
  cold-tests.csv   the cold tests as a table
  lessons/         one folder for each record: the PDF, and the files that travel in it: the
                   lesson file and the house's own (YAML), measures (JSON, CSV), shots (CSV) and
                   every frame (JPEG)

A folder's name is the lesson's day and the record's number. Old versions of a lesson are among
them. PDFs from elsewhere carry "foreign" in the name.
"""


def exported_files(shelf: Shelf, student: StudentRow) -> Iterator[tuple[str, bytes]]:
    """Yield name and contents of every file of an export, one record in memory at a time.

    Parameters
    ----------
    shelf : Shelf
        Open.
    student : StudentRow
        Whose.

    Raises
    ------
    ShelfDamagedError
        If a PDF is missing or damaged.
    """
    rows = shelf.store.history(student.number, all_versions=True)
    progress = progress_of(shelf, student)
    yield "README.txt", _READ_ME.encode()
    yield "student.json", _as_json(_student(shelf, student, rows))
    yield "progress.json", _as_json(progress_as_json(progress))
    yield "measures.csv", safe_csv(POINT_HEADINGS, point_rows(progress))
    yield "cold-tests.csv", safe_csv(TEST_HEADINGS, test_rows(progress))
    for row in rows:
        kind = "" if row.origin == "own" else "-foreign"
        folder = f"lessons/{row.day or 'no-date'}-record-{row.number}{kind}"
        document = shelf.document(row)
        yield f"{folder}/record.pdf", document
        if row.origin == "own":
            inside = take_out(document, folder, None, largest=LARGEST_PICTURE_BYTES)
            for name, data in sorted(inside.files.items()):
                if name in READ or name == "measurements.csv" or _PICTURE.fullmatch(name):
                    yield f"{folder}/{name}", data


def _student(shelf: Shelf, student: StudentRow, rows: list[RecordRow]) -> dict[str, Any]:
    return {
        "format": FORMAT,
        "id": student.id,
        "name": student.name,
        "exported_at": shelf.at,
        "records": [
            {
                "number": row.number,
                "version": row.version,
                "current": row.current,
                "sha256": row.digest,
                "bytes": row.size,
                "added_at": row.added_at,
                "added_by": row.added_by,
                "given_out": row.given_at,
                **shelf.store.entry(row.number).as_plain(),
            }
            for row in rows
        ],
    }


def _as_json(content: dict[str, Any]) -> bytes:
    return json.dumps(content, ensure_ascii=False, allow_nan=False, indent=1).encode() + b"\n"
