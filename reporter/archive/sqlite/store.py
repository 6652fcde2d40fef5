"""The SQLite store: every method one transaction, every error of SQLite told as one of ours."""

import contextlib
import sqlite3
from collections.abc import Callable, Iterator, Sequence
from contextlib import AbstractContextManager

from reporter.archive.entry import Entry, folded
from reporter.archive.plain_rows import as_row
from reporter.archive.sqlite import adding as adding_rows
from reporter.archive.sqlite import checks, leaving, queries
from reporter.archive.sqlite.rows import JOINED, ROW, entry_of
from reporter.archive.store import (
    Added,
    Adding,
    Group,
    Grouping,
    Leave,
    Leaving,
    LogRow,
    RecordRow,
    StudentRow,
    Tombstone,
    Wanted,
)
from reporter.errors import InputRefusedError, Problem, ShelfDamagedError

_CURRENT = "r.number = l.current AND r.origin = 'own'"
_GROUPS: dict[Grouping, str] = {
    "coach": "SELECT r.coach, r.student FROM {records}",
    "level": "SELECT r.level, r.student FROM {records}",
    "age_band": "SELECT r.age_band, r.student FROM {records}",
    "month": "SELECT substr(r.day, 1, 7), r.student FROM {records}",
    "fault": "SELECT j.value, r.student FROM {records}, json_each(r.details, '$.faults') j",
    "drill": "SELECT j.value, r.student FROM {records}, json_each(r.details, '$.drills') j",
    "club": "SELECT j.value, r.student FROM {records}, json_each(r.details, '$.clubs') j",
}


class SqliteStore:
    """See `reporter.archive.store.Store`."""

    def __init__(
        self, connection: sqlite3.Connection, told: Callable[[], AbstractContextManager[None]]
    ) -> None:
        self._connection = connection
        self._told = told

    def close(self) -> None:  # noqa: D102 - the protocol says it, as of all that follow
        with self._told():
            self._connection.close()

    @contextlib.contextmanager
    def _writing(self) -> Iterator[sqlite3.Connection]:
        """Hold the write lock; commit at the end, or take everything back."""
        connection = self._connection
        with self._told():
            connection.execute("BEGIN IMMEDIATE")
            try:
                yield connection
                connection.execute("COMMIT")
            except BaseException:
                # A full disk may have ended the transaction already.
                if connection.in_transaction:
                    connection.execute("ROLLBACK")
                raise

    def alone(self) -> AbstractContextManager[object]:  # noqa: D102
        return self._writing()

    def identity(self) -> str:  # noqa: D102
        return self._fact("identity")

    def _fact(self, name: str) -> str:
        with self._told():
            found = self._connection.execute(
                "SELECT value FROM facts WHERE name = ?", (name,)
            ).fetchone()
        return str(found[0]) if found else ""

    def judge(self, adding: Adding) -> None:  # noqa: D102
        with self._told():
            adding_rows.judge(self._connection, adding)

    def add(self, adding: Adding, ensure_file: Callable[[], None]) -> Added:  # noqa: D102
        with self._writing() as connection:
            return adding_rows.add(connection, adding, ensure_file)

    def find(self, wanted: Wanted) -> list[RecordRow]:  # noqa: D102
        with self._told():
            return queries.find(self._connection, wanted)

    def students(self, named: str) -> list[StudentRow]:  # noqa: D102
        question = """SELECT s.number, s.id, s.name,
               (SELECT count(*) FROM lessons l WHERE l.student = s.number),
               EXISTS (SELECT 1 FROM leaving g WHERE g.student = s.number)
               FROM students s"""
        with self._told():
            for condition, value in (
                (" WHERE s.id = ?", named),
                (" WHERE s.folded_name = ? ORDER BY s.id", folded(named)),
            ):
                if not named:
                    break
                found = self._connection.execute(question + condition, (value,)).fetchall()
                if found:
                    return [_student(row) for row in found]
            if named:
                return []
            return [_student(row) for row in self._connection.execute(f"{question} ORDER BY s.id")]

    def history(self, student: int, *, all_versions: bool = False) -> list[RecordRow]:  # noqa: D102
        which = "" if all_versions else " AND l.current = r.number"
        return self._rows(f"WHERE r.student = ?{which} ORDER BY r.place", student)

    def versions(self, lesson: str) -> list[RecordRow]:  # noqa: D102
        return self._rows("WHERE l.mark = ? ORDER BY r.version", lesson)

    def by_digest(self, digest: str) -> RecordRow | None:  # noqa: D102
        found = self._rows("WHERE r.digest = ?", digest)
        found = found or self._rows("WHERE r.handout != '' AND r.handout = ?", digest)
        return found[0] if found else None

    def _rows(self, condition: str, *values: str | int) -> list[RecordRow]:
        with self._told():
            found = self._connection.execute(f"{ROW} FROM records r {JOINED} {condition}", values)
            return [as_row(row) for row in found]

    def entry(self, number: int) -> Entry:  # noqa: D102
        with self._told():
            try:
                return entry_of(self._connection, number)
            except (ValueError, TypeError, LookupError):
                message = f"the rows of record {number} are damaged"
                raise ShelfDamagedError(message) from None

    def walk(self, after: int = 0) -> Iterator[tuple[RecordRow, Entry | None]]:  # noqa: D102
        while True:
            rows = self._rows("WHERE r.number > ? ORDER BY r.number LIMIT 500", after)
            if not rows:
                return
            for row in rows:
                try:
                    entry = self.entry(row.number)
                except ShelfDamagedError:
                    yield row, None
                else:
                    yield row, entry
            after = rows[-1].number

    def in_shard(self, shard: str) -> list[RecordRow]:  # noqa: D102
        return self._rows(
            "WHERE r.digest >= ? AND r.digest < ? ORDER BY r.digest", shard, f"{shard}g"
        )

    def unaccounted(self) -> list[int]:  # noqa: D102
        with self._told():
            highest = self._connection.execute(
                "SELECT seq FROM sqlite_sequence WHERE name = 'records'"
            ).fetchone()
            known = {
                number
                for (number,) in self._connection.execute(
                    "SELECT number FROM records UNION ALL SELECT record FROM gone"
                )
            }
        return [n for n in range(1, (highest[0] if highest else 0) + 1) if n not in known]

    def faults(self) -> list[str]:  # noqa: D102
        with self._told():
            only_reads = self._connection.execute("PRAGMA query_only").fetchone()[0]
            return list(checks.faults(self._connection, write=not only_reads))

    def kept_until(self, first: str, last: str) -> list[RecordRow]:  # noqa: D102
        return self._rows(
            "WHERE r.kept_until >= ? AND r.kept_until <= ? AND r.kept_until != ''"
            " ORDER BY r.kept_until, r.number",
            first,
            last,
        )

    def not_given(self, since: str) -> list[RecordRow]:  # noqa: D102
        return self._rows(
            "WHERE l.current = r.number AND r.origin = 'own' AND r.given_at = '' AND r.day >= ?"
            " ORDER BY r.place",
            since,
        )

    def note_given(self, lesson: str, day: str, who: str, at: str) -> RecordRow:  # noqa: D102
        with self._writing() as connection:
            found = connection.execute(
                "SELECT current FROM lessons WHERE mark = ?", (lesson,)
            ).fetchone()
            if found is None:
                message = f"no lesson {lesson} is on the shelf"
                raise InputRefusedError([Problem("command line", 0, 0, "", message)])
            connection.execute("UPDATE records SET given_at = ? WHERE number = ?", (day, found[0]))
            _log(connection, at, who, "given", found[0])
        return self._rows("WHERE r.number = ?", found[0])[0]

    def begin_leaving(  # noqa: D102
        self, what: Leaving, students: Sequence[int], records: Sequence[int]
    ) -> Leave:
        with self._writing() as connection:
            return leaving.begin(connection, what, students, records)

    def leaving(self) -> list[Leave]:  # noqa: D102
        with self._told():
            return leaving.begun(self._connection)

    def finish_leaving(  # noqa: D102
        self, leave: Leave, tombstones: Sequence[Tombstone], who: str, at: str
    ) -> None:
        with self._writing() as connection:
            leaving.finish(connection, leave, tombstones, who, at)

    def clean(self) -> None:  # noqa: D102
        with self._told():
            leaving.clean(self._connection)

    def needs_cleaning(self) -> bool:  # noqa: D102
        return bool(self._fact("cleaning"))

    def tombstones(self) -> list[Tombstone]:  # noqa: D102
        with self._told():
            return adding_rows.tombstones(self._connection)

    def add_tombstones(self, tombstones: Sequence[Tombstone]) -> None:  # noqa: D102
        with self._writing() as connection:
            leaving.add_tombstones(connection, tombstones)

    def log(self, most: int) -> list[LogRow]:  # noqa: D102
        with self._told():
            found = self._connection.execute(
                "SELECT number, at, who, what, record, count FROM log ORDER BY number DESC LIMIT ?",
                (most,),
            )
            return [LogRow(*row) for row in found]

    def note(self, who: str, what: str, at: str, count: int = 0) -> None:  # noqa: D102
        with self._writing() as connection:
            _log(connection, at, who, what, None, count)

    def take_over_log(self, rows: Sequence[LogRow]) -> None:  # noqa: D102
        with self._writing() as connection:
            connection.executemany(
                "INSERT INTO log (at, who, what, count) VALUES (?, ?, ?, ?)",
                [(row.at, row.who, row.what, row.count) for row in rows],
            )

    def groups(self, by: Grouping, since: str, until: str) -> list[Group]:  # noqa: D102
        records = "records r JOIN lessons l ON l.number = r.lesson"
        question = _GROUPS[by].format(records=records)
        lessons: dict[str, int] = {}
        students: dict[str, set[int]] = {}
        with self._told():
            for name, student in self._connection.execute(
                f"{question} WHERE {_CURRENT} AND r.day >= ? AND (? = '' OR r.day <= ?)",
                (since, until, until),
            ):
                lessons[name] = lessons.get(name, 0) + 1
                students.setdefault(name, set()).add(student)
        return [Group(name, lessons[name], frozenset(students[name])) for name in sorted(lessons)]


def _student(row: tuple[int, str, str, int, int]) -> StudentRow:
    return StudentRow(row[0], row[1], row[2], row[3], bool(row[4]))


def _log(
    connection: sqlite3.Connection,
    at: str,
    who: str,
    what: str,
    record: int | None,
    count: int = 0,
) -> None:
    connection.execute(
        "INSERT INTO log (at, who, what, record, count) VALUES (?, ?, ?, ?, ?)",
        (at, who, what, record, count),
    )
