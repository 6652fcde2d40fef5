"""Put a record's rows into every table, or say why it may not be."""

import sqlite3
from collections.abc import Callable
from dataclasses import replace
from typing import Any

from reporter.archive import judging
from reporter.archive.entry import Entry, folded
from reporter.archive.judging import Standing, student_id_of
from reporter.archive.plain_rows import as_row, place_of, record_columns, texts_of, words_of
from reporter.archive.sqlite.rows import JOINED, ROW, series_numbers
from reporter.archive.store import Added, Adding, RecordRow, Tombstone
from reporter.errors import InputRefusedError, Problem


def judge(connection: sqlite3.Connection, adding: Adding) -> None:
    """Refuse what may not stand on the shelf; see `reporter.archive.judging.judge`."""

    def found(question: str, *values: object) -> tuple[Any, ...] | None:
        row: tuple[Any, ...] | None = connection.execute(question, values).fetchone()
        return row

    known = found("SELECT number FROM students WHERE id = ?", student_id_of(adding))
    lesson = found(
        "SELECT s.id FROM lessons l LEFT JOIN students s ON s.number = l.student WHERE l.mark = ?",
        adding.entry.lesson,
    )
    going = "SELECT 1 FROM leaving g JOIN records r ON r.number = g.record WHERE r.digest = ?"
    standing = Standing(
        known=known is not None,
        leaving=known is not None
        and found("SELECT 1 FROM leaving WHERE student = ?", *known) is not None,
        retiring=found(going, adding.digest) is not None,
        lesson=lesson is not None,
        owner=lesson[0] if lesson is not None else None,
    )
    judging.judge(adding, standing, lambda: tombstones(connection))


def add(connection: sqlite3.Connection, adding: Adding, ensure_file: Callable[[], None]) -> Added:
    """Add the rows; the caller has the write lock and commits."""
    there = connection.execute(
        f"{ROW} FROM records r {JOINED} WHERE r.digest = ?", (adding.digest,)
    ).fetchone()
    judge(connection, adding)
    ensure_file()
    if there is not None:
        row = as_row(there)
        if adding.handout and adding.handout != row.handout:
            connection.execute(
                "UPDATE records SET handout = ? WHERE number = ?", (adding.handout, row.number)
            )
        return Added(row, already=True, newest=_newest(connection, row.lesson))
    entry = replace(adding.entry, student=student_id_of(adding))
    student = _student(connection, entry)
    lesson, version = _lesson(connection, entry, student)
    number = _insert_record(connection, adding, entry, student, lesson, version)
    place = place_of(entry.day, number)
    _insert_derived(connection, entry, student, place)
    if adding.counts or version == 1:
        connection.execute("UPDATE lessons SET current = ? WHERE number = ?", (number, lesson))
    connection.execute(
        "INSERT INTO log (at, who, what, record) VALUES (?, ?, ?, ?)",
        (adding.at, adding.who, "added" if entry.origin == "own" else "imported", number),
    )
    return Added(_row(connection, number), already=False, newest=version)


def tombstones(connection: sqlite3.Connection) -> list[Tombstone]:
    """Return all of them."""
    found = connection.execute("SELECT salt, token, erased_at, records FROM erased")
    return [Tombstone(*row) for row in found]


def _row(connection: sqlite3.Connection, number: int) -> RecordRow:
    return as_row(
        connection.execute(
            f"{ROW} FROM records r {JOINED} WHERE r.number = ?", (number,)
        ).fetchone()
    )


def _newest(connection: sqlite3.Connection, mark: str) -> int:
    found = connection.execute(
        "SELECT max(r.version) FROM records r JOIN lessons l ON l.number = r.lesson"
        " WHERE l.mark = ?",
        (mark,),
    ).fetchone()
    return int(found[0])


def _student(connection: sqlite3.Connection, entry: Entry) -> int | None:
    """Return the student's number; the name last written down is the one that is shown."""
    if not entry.student:
        return None
    if entry.origin == "own":
        name = entry.student_name
        connection.execute(
            """INSERT INTO students (id, name, folded_name) VALUES (?, ?, ?)
               ON CONFLICT (id) DO UPDATE SET name = excluded.name,
               folded_name = excluded.folded_name""",
            (entry.student, name, folded(name)),
        )
    found = connection.execute(
        "SELECT number FROM students WHERE id = ?", (entry.student,)
    ).fetchone()
    if found is None:
        message = f"no student {entry.student} is on the shelf"
        raise InputRefusedError([Problem("command line", 0, 0, "", message)])
    return int(found[0])


def _lesson(connection: sqlite3.Connection, entry: Entry, student: int | None) -> tuple[int, int]:
    """Return the lesson's number and the number of its next version."""
    connection.execute(
        "INSERT INTO lessons (mark, student) VALUES (?, ?) ON CONFLICT (mark) DO NOTHING",
        (entry.lesson, student),
    )
    found = connection.execute(
        """SELECT l.number, coalesce(max(r.version), 0) + 1 FROM lessons l
           LEFT JOIN records r ON r.lesson = l.number WHERE l.mark = ?""",
        (entry.lesson,),
    ).fetchone()
    return int(found[0]), int(found[1])


def _insert_record(
    connection: sqlite3.Connection,
    adding: Adding,
    entry: Entry,
    student: int | None,
    lesson: int,
    version: int,
) -> int:
    following = connection.execute(
        "SELECT coalesce(max(seq), 0) + 1 FROM sqlite_sequence WHERE name = 'records'"
    ).fetchone()[0]
    columns = record_columns(adding, entry, following, student, lesson, version)
    connection.execute(
        f"INSERT INTO records ({', '.join(columns)}) VALUES ({', '.join('?' * len(columns))})",
        tuple(columns.values()),
    )
    return int(following)


def _insert_derived(
    connection: sqlite3.Connection, entry: Entry, student: int | None, place: int
) -> None:
    connection.executemany(
        "INSERT OR IGNORE INTO words VALUES (?, ?, ?)",
        [(kind, word, place) for kind, word in words_of(entry)],
    )
    numbers = series_numbers(connection, entry.measures)
    connection.executemany(
        "INSERT INTO measures VALUES (?, ?, ?, ?, ?, ?, ?)",
        [
            (place, ordinal, measure, series, one.frame, one.value, one.plus_minus)
            for ordinal, (one, (measure, series)) in enumerate(
                zip(entry.measures, numbers, strict=True)
            )
        ],
    )
    texts = texts_of(entry, student)
    connection.execute("INSERT INTO texts VALUES (?, ?, ?, ?, ?, ?)", (place, *texts))
    connection.execute(
        "INSERT INTO search (rowid, title, people, thoughts, notes, keys)"
        " VALUES (?, ?, ?, ?, ?, ?)",
        (place, *texts),
    )
