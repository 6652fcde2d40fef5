"""Rows that leave PostgreSQL for good: written down, removed from all tables, tables made anew."""

from collections.abc import Sequence

from psycopg import errors

from reporter.archive.plain_rows import as_row
from reporter.archive.postgresql.connection import Connection
from reporter.archive.postgresql.rows import JOINED, ROW, log_line, value_of
from reporter.archive.postgresql.schema import TABLES
from reporter.archive.store import Leave, Leaving, Tombstone
from reporter.errors import ShelfBusyError

_LOOK_AGAIN_SECONDS = 0.05
_STILL_READ = (
    "the rows are gone, but the database's files still hold bytes of them while somebody reads"
    ' the shelf; close other programs and run "shelf erase --resume"'
)
_OTHERS = """
    SELECT k.virtualtransaction FROM pg_locks k JOIN pg_stat_activity a ON a.pid = k.pid
    WHERE k.locktype = 'virtualxid' AND k.pid <> pg_backend_pid()
    AND a.datname = current_database()
"""


def begin(
    connection: Connection, what: Leaving, students: Sequence[int], records: Sequence[int]
) -> Leave:
    """Write down who or what is to go."""
    run = value_of(connection, "SELECT coalesce(max(run), 0) + 1 FROM leaving")
    connection.execute(
        "INSERT INTO leaving (run, what, student) SELECT %s, %s, unnest(%s::bigint[])",
        (run, what, list(students)),
    )
    connection.execute(
        "INSERT INTO leaving (run, what, record) SELECT %s, %s, unnest(%s::bigint[])",
        (run, what, list(records)),
    )
    return _leave(connection, run)


def begun(connection: Connection) -> list[Leave]:
    """Return every run that was begun and not ended."""
    runs = connection.execute("SELECT DISTINCT run FROM leaving ORDER BY run").fetchall()
    return [_leave(connection, run) for (run,) in runs]


def _leave(connection: Connection, run: int) -> Leave:
    listed = connection.execute(
        "SELECT what, student FROM leaving WHERE run = %s ORDER BY number", (run,)
    ).fetchall()
    rows = connection.execute(
        f"{ROW} FROM records r {JOINED} WHERE r.student IN"
        " (SELECT student FROM leaving WHERE run = %s AND student IS NOT NULL)"
        " OR r.number IN (SELECT record FROM leaving WHERE run = %s AND record IS NOT NULL)"
        " ORDER BY r.number",
        (run, run),
    )
    students = tuple(student for _, student in listed if student is not None)
    return Leave(listed[0][0] if listed else "erase", students, tuple(map(as_row, rows)))


def finish(
    connection: Connection, leave: Leave, tombstones: Sequence[Tombstone], who: str, at: str
) -> None:
    """Remove the rows of a run; the caller has the write lock and commits."""
    numbers = [row.number for row in leave.rows]
    places = [
        place
        for (place,) in connection.execute(
            "SELECT place FROM records WHERE number = ANY(%s)", (numbers,)
        )
    ]
    for table in ("words", "measures", "texts", "records"):
        connection.execute(f"DELETE FROM {table} WHERE place = ANY(%s)", (places,))
    connection.execute(
        "INSERT INTO gone SELECT unnest(%s::bigint[]) ON CONFLICT DO NOTHING", (numbers,)
    )
    connection.execute(
        "DELETE FROM lessons l WHERE NOT EXISTS (SELECT 1 FROM records r WHERE r.lesson = l.number)"
    )
    # Where the version that counted went, the latest one left counts.
    connection.execute(
        "UPDATE lessons l SET current ="
        " (SELECT max(r.number) FROM records r WHERE r.lesson = l.number)"
        " WHERE NOT EXISTS (SELECT 1 FROM records r WHERE r.number = l.current)"
    )
    students = list(leave.students)
    connection.execute("DELETE FROM leaving WHERE student = ANY(%s)", (students,))
    connection.execute("DELETE FROM students WHERE number = ANY(%s)", (students,))
    connection.execute(
        "DELETE FROM leaving g WHERE record IS NOT NULL"
        " AND NOT EXISTS (SELECT 1 FROM records r WHERE r.number = g.record)"
    )
    connection.execute(
        "DELETE FROM students s WHERE NOT EXISTS"
        " (SELECT 1 FROM records r WHERE r.student = s.number)"
    )
    connection.execute(
        "DELETE FROM series s WHERE NOT EXISTS (SELECT 1 FROM measures m WHERE m.series = s.number)"
    )
    add_tombstones(connection, tombstones)
    connection.execute("UPDATE facts SET value = 'needed' WHERE name = 'cleaning'")
    log_line(connection, at, who, leave.what, None, len(numbers))


def add_tombstones(connection: Connection, tombstones: Sequence[Tombstone]) -> None:
    """Add tombstones, each once."""
    for one in tombstones:
        connection.execute(
            "INSERT INTO erased VALUES (%s, %s, %s, %s) ON CONFLICT DO NOTHING",
            (one.salt, one.token, one.erased_at, one.records),
        )


def clean(connection: Connection, wait_seconds: float) -> None:
    """Write every table and index anew, without what was removed.

    A row that an open transaction could still see would be copied along: so those that began
    before are waited for first. What the server keeps elsewhere (write-ahead log, backups,
    copies on other servers) is not in reach of a program that speaks SQL.
    """
    _wait_for_readers(connection, wait_seconds)
    try:
        for table in TABLES:
            connection.execute(f"VACUUM (FULL, ANALYZE) {table}")
    except errors.LockNotAvailable:
        raise ShelfBusyError(_STILL_READ) from None
    connection.execute("UPDATE facts SET value = '' WHERE name = 'cleaning'")


def _wait_for_readers(connection: Connection, wait_seconds: float) -> None:
    seen = {one for (one,) in connection.execute(_OTHERS)}
    for _ in range(max(1, round(wait_seconds / _LOOK_AGAIN_SECONDS))):
        seen &= {one for (one,) in connection.execute(_OTHERS)}
        prepared = value_of(
            connection, "SELECT count(*) FROM pg_prepared_xacts WHERE database = current_database()"
        )
        if not seen and not prepared:
            return
        connection.execute("SELECT pg_sleep(%s)", (_LOOK_AGAIN_SECONDS,))
    raise ShelfBusyError(_STILL_READ)
