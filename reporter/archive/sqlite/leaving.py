"""Rows that leave for good: written down first, removed from all tables and indexes, cleaned up."""

import sqlite3
from collections.abc import Sequence

from reporter.archive.plain_rows import as_row
from reporter.archive.sqlite.rows import JOINED, ROW
from reporter.archive.store import Leave, Leaving, Tombstone
from reporter.errors import ShelfBusyError

CHUNK = 500


def begin(
    connection: sqlite3.Connection, what: Leaving, students: Sequence[int], records: Sequence[int]
) -> Leave:
    """Write down who or what is to go."""
    run = connection.execute("SELECT coalesce(max(run), 0) + 1 FROM leaving").fetchone()[0]
    connection.executemany(
        "INSERT INTO leaving (run, what, student) VALUES (?, ?, ?)",
        [(run, what, student) for student in students],
    )
    connection.executemany(
        "INSERT INTO leaving (run, what, record) VALUES (?, ?, ?)",
        [(run, what, record) for record in records],
    )
    return _leave(connection, run)


def begun(connection: sqlite3.Connection) -> list[Leave]:
    """Return every run that was begun and not ended."""
    runs = connection.execute("SELECT DISTINCT run FROM leaving ORDER BY run").fetchall()
    return [_leave(connection, run) for (run,) in runs]


def _leave(connection: sqlite3.Connection, run: int) -> Leave:
    listed = connection.execute(
        "SELECT what, student FROM leaving WHERE run = ? ORDER BY number", (run,)
    ).fetchall()
    rows = connection.execute(
        f"{ROW} FROM records r {JOINED} WHERE r.student IN"
        " (SELECT student FROM leaving WHERE run = ?1 AND student IS NOT NULL)"
        " OR r.number IN (SELECT record FROM leaving WHERE run = ?1 AND record IS NOT NULL)"
        " ORDER BY r.number",
        (run,),
    )
    students = tuple(student for _, student in listed if student is not None)
    return Leave(listed[0][0] if listed else "erase", students, tuple(map(as_row, rows)))


def finish(
    connection: sqlite3.Connection,
    leave: Leave,
    tombstones: Sequence[Tombstone],
    who: str,
    at: str,
) -> None:
    """Remove the rows of a run; the caller has the write lock and commits."""
    numbers = [row.number for row in leave.rows]
    for start in range(0, len(numbers), CHUNK):
        _remove(connection, numbers[start : start + CHUNK])
    connection.execute("DELETE FROM lessons WHERE number NOT IN (SELECT lesson FROM records)")
    # Where the version that counted went, the latest one left counts.
    connection.execute(
        "UPDATE lessons SET current ="
        " (SELECT max(r.number) FROM records r WHERE r.lesson = lessons.number)"
        " WHERE current NOT IN (SELECT number FROM records)"
    )
    for student in leave.students:
        connection.execute("DELETE FROM students WHERE number = ?", (student,))
        connection.execute("DELETE FROM leaving WHERE student = ?", (student,))
    connection.execute(
        "DELETE FROM leaving WHERE record IS NOT NULL"
        " AND record NOT IN (SELECT number FROM records)"
    )
    connection.execute(
        "DELETE FROM students WHERE number NOT IN"
        " (SELECT student FROM records WHERE student IS NOT NULL)"
    )
    connection.execute("DELETE FROM series WHERE number NOT IN (SELECT series FROM measures)")
    # The index keeps words of removed rows until its parts are merged; only a new one has none.
    connection.execute("INSERT INTO search (search) VALUES ('rebuild')")
    add_tombstones(connection, tombstones)
    connection.execute("UPDATE facts SET value = 'needed' WHERE name = 'cleaning'")
    connection.execute(
        "INSERT INTO log (at, who, what, count) VALUES (?, ?, ?, ?)",
        (at, who, leave.what, len(numbers)),
    )


def _remove(connection: sqlite3.Connection, numbers: Sequence[int]) -> None:
    marks = ", ".join("?" * len(numbers))
    places = [
        place
        for (place,) in connection.execute(
            f"SELECT place FROM records WHERE number IN ({marks})", numbers
        )
    ]
    marks = ", ".join("?" * len(places))
    for table in ("words", "measures", "texts"):
        connection.execute(f"DELETE FROM {table} WHERE place IN ({marks})", places)
    connection.execute(f"DELETE FROM records WHERE place IN ({marks})", places)
    connection.executemany(
        "INSERT OR IGNORE INTO gone VALUES (?)", [(number,) for number in numbers]
    )


def add_tombstones(connection: sqlite3.Connection, tombstones: Sequence[Tombstone]) -> None:
    """Add tombstones, each once."""
    connection.executemany(
        "INSERT OR IGNORE INTO erased VALUES (?, ?, ?, ?)",
        [(one.salt, one.token, one.erased_at, one.records) for one in tombstones],
    )


def clean(connection: sqlite3.Connection) -> None:
    """Empty the write-ahead log, write the database anew without free pages, and empty it again."""
    _empty_log(connection)
    connection.execute("VACUUM")
    _empty_log(connection)
    connection.execute("UPDATE facts SET value = '' WHERE name = 'cleaning'")
    _empty_log(connection)


def _empty_log(connection: sqlite3.Connection) -> None:
    busy = connection.execute("PRAGMA wal_checkpoint(TRUNCATE)").fetchone()[0]
    if busy:
        message = (
            "the rows are gone, but the write-ahead log still holds bytes of them while somebody"
            ' reads the shelf; close other programs and run "shelf erase --resume"'
        )
        raise ShelfBusyError(message)
