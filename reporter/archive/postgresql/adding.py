"""Put a record's rows into every table on PostgreSQL, or say why it may not be."""

from collections.abc import Callable
from dataclasses import replace

from reporter.archive import judging
from reporter.archive.entry import Entry, folded
from reporter.archive.judging import Standing, student_id_of
from reporter.archive.plain_rows import as_row, place_of, record_columns, texts_of, words_of
from reporter.archive.postgresql.connection import Connection
from reporter.archive.postgresql.rows import (
    JOINED,
    ROW,
    log_line,
    next_number,
    series_numbers,
    value_of,
)
from reporter.archive.postgresql.words import vector_of
from reporter.archive.store import Added, Adding, Tombstone
from reporter.errors import InputRefusedError, Problem


def judge(connection: Connection, adding: Adding) -> None:
    """Refuse what may not stand on the shelf; see `reporter.archive.judging.judge`."""
    known = value_of(
        connection, "SELECT number FROM students WHERE id = %s", (student_id_of(adding),)
    )
    leaving = "SELECT 1 FROM leaving WHERE student = %s"
    going = "SELECT 1 FROM leaving g JOIN records r ON r.number = g.record WHERE r.digest = %s"
    lesson = connection.execute(
        "SELECT s.id FROM lessons l LEFT JOIN students s ON s.number = l.student WHERE l.mark = %s",
        (adding.entry.lesson,),
    ).fetchone()
    standing = Standing(
        known=known is not None,
        leaving=known is not None and value_of(connection, leaving, (known,)) is not None,
        retiring=value_of(connection, going, (adding.digest,)) is not None,
        lesson=lesson is not None,
        owner=lesson[0] if lesson is not None else None,
    )
    judging.judge(adding, standing, lambda: tombstones(connection))


def add(connection: Connection, adding: Adding, ensure_file: Callable[[], None]) -> Added:
    """Add the rows; the caller has the write lock and commits."""
    there = connection.execute(
        f"{ROW} FROM records r {JOINED} WHERE r.digest = %s", (adding.digest,)
    ).fetchone()
    judge(connection, adding)
    ensure_file()
    if there is not None:
        row = as_row(there)
        if adding.handout and adding.handout != row.handout:
            connection.execute(
                "UPDATE records SET handout = %s WHERE number = %s", (adding.handout, row.number)
            )
        newest = "SELECT max(r.version) FROM records r JOIN lessons l ON l.number = r.lesson"
        highest = value_of(connection, f"{newest} WHERE l.mark = %s", (row.lesson,))
        return Added(row, already=True, newest=int(highest))
    entry = replace(adding.entry, student=student_id_of(adding))
    student = _student(connection, entry)
    lesson, version = _lesson(connection, entry, student)
    number = _insert_record(connection, adding, entry, student, lesson, version)
    _insert_derived(connection, entry, student, place_of(entry.day, number))
    if adding.counts or version == 1:
        connection.execute("UPDATE lessons SET current = %s WHERE number = %s", (number, lesson))
    what = "added" if entry.origin == "own" else "imported"
    log_line(connection, adding.at, adding.who, what, number)
    made = connection.execute(f"{ROW} FROM records r {JOINED} WHERE r.number = %s", (number,))
    return Added(as_row(made.fetchall()[0]), already=False, newest=version)


def tombstones(connection: Connection) -> list[Tombstone]:
    """Return all of them."""
    found = connection.execute("SELECT salt, token, erased_at, records FROM erased")
    return [Tombstone(*row) for row in found]


def _student(connection: Connection, entry: Entry) -> int | None:
    """Return the student's number; the name last written down is the one that is shown."""
    if not entry.student:
        return None
    number = value_of(connection, "SELECT number FROM students WHERE id = %s", (entry.student,))
    name = entry.student_name
    if number is None and entry.origin != "own":
        message = f"no student {entry.student} is on the shelf"
        raise InputRefusedError([Problem("command line", 0, 0, "", message)])
    if number is None:
        number = next_number(connection, "students")
        connection.execute(
            "INSERT INTO students (number, id, name, folded_name) VALUES (%s, %s, %s, %s)",
            (number, entry.student, name, folded(name)),
        )
    elif entry.origin == "own":
        connection.execute(
            "UPDATE students SET name = %s, folded_name = %s WHERE number = %s AND name <> %s",
            (name, folded(name), number, name),
        )
    return int(number)


def _lesson(connection: Connection, entry: Entry, student: int | None) -> tuple[int, int]:
    """Return the lesson's number and the number of its next version."""
    number = value_of(connection, "SELECT number FROM lessons WHERE mark = %s", (entry.lesson,))
    if number is None:
        number = next_number(connection, "lessons")
        connection.execute(
            "INSERT INTO lessons (number, mark, student) VALUES (%s, %s, %s)",
            (number, entry.lesson, student),
        )
        return number, 1
    highest = "SELECT coalesce(max(version), 0) FROM records WHERE lesson = %s"
    return int(number), int(value_of(connection, highest, (number,))) + 1


def _insert_record(
    connection: Connection,
    adding: Adding,
    entry: Entry,
    student: int | None,
    lesson: int,
    version: int,
) -> int:
    number = next_number(connection, "records")
    columns = record_columns(adding, entry, number, student, lesson, version)
    marks = ", ".join(["%s"] * len(columns))
    connection.execute(
        f"INSERT INTO records ({', '.join(columns)}) VALUES ({marks})", tuple(columns.values())
    )
    return number


def _insert_derived(connection: Connection, entry: Entry, student: int | None, place: int) -> None:
    words = list(dict.fromkeys(words_of(entry)))
    connection.execute(
        "INSERT INTO words SELECT k, w, %s FROM unnest(%s::text[], %s::text[]) AS a (k, w)",
        (place, [kind for kind, _ in words], [word for _, word in words]),
    )
    numbers = series_numbers(connection, entry.measures)
    rows = entry.measures
    connection.execute(
        """INSERT INTO measures SELECT %s, a.* FROM unnest(%s::integer[], %s::integer[],
           %s::integer[], %s::text[], %s::double precision[], %s::double precision[]) AS a""",
        (
            place,
            list(range(len(rows))),
            [measure for measure, _ in numbers],
            [series for _, series in numbers],
            [one.frame for one in rows],
            [float(one.value) for one in rows],
            [float(one.plus_minus) for one in rows],
        ),
    )
    parts = texts_of(entry, student)[:4]
    connection.execute(
        "INSERT INTO texts VALUES (%s, %s, %s, %s, %s, %s::tsvector)",
        (place, *parts, vector_of(*parts)),
    )
