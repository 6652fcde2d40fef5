"""The PostgreSQL store: every method one transaction, every error told as one of ours."""

import contextlib
from collections.abc import Callable, Iterator, Sequence
from contextlib import AbstractContextManager

from reporter.archive.entry import Entry, folded
from reporter.archive.plain_rows import as_row
from reporter.archive.postgresql import adding as adding_rows
from reporter.archive.postgresql import checks, leaving, queries
from reporter.archive.postgresql.connection import Address, Connection, told, writing
from reporter.archive.postgresql.rows import (
    JOINED,
    ROW,
    entries_of,
    log_line,
    next_number,
    value_of,
)
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

_AT_ONCE = 500
_RECORDS = "records r JOIN lessons l ON l.number = r.lesson"
_LISTED = f"{_RECORDS}, jsonb_array_elements_text(r.details::jsonb -> '{{}}') AS j (name)"
_GROUPS: dict[Grouping, tuple[str, str]] = {
    "coach": ("r.coach", _RECORDS),
    "level": ("r.level", _RECORDS),
    "age_band": ("r.age_band", _RECORDS),
    "month": ("substr(r.day, 1, 7)", _RECORDS),
    "fault": ("j.name", _LISTED.format("faults")),
    "drill": ("j.name", _LISTED.format("drills")),
    "club": ("j.name", _LISTED.format("clubs")),
}


class PostgresqlStore:
    """See `reporter.archive.store.Store`."""

    def __init__(self, connection: Connection, address: Address, wait_seconds: float) -> None:
        self._connection = connection
        self._address = address
        self._wait_seconds = wait_seconds

    def close(self) -> None:  # noqa: D102 - the protocol says it, as of all that follow
        self._connection.close()

    def _told(self) -> AbstractContextManager[None]:
        return told(self._address, self._connection)

    @contextlib.contextmanager
    def _writing(self) -> Iterator[Connection]:
        with self._told(), writing(self._connection):
            yield self._connection

    def alone(self) -> AbstractContextManager[object]:  # noqa: D102
        return self._writing()

    def identity(self) -> str:  # noqa: D102
        return self._fact("identity")

    def _fact(self, name: str) -> str:
        with self._told():
            found = value_of(self._connection, "SELECT value FROM facts WHERE name = %s", (name,))
        return str(found or "")

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
            if not named:
                found = self._connection.execute(f"{question} ORDER BY s.id")
                return [StudentRow(*row) for row in found]
            by_id = self._connection.execute(f"{question} WHERE s.id = %s", (named,)).fetchall()
            found_rows = by_id or self._connection.execute(
                f"{question} WHERE s.folded_name = %s ORDER BY s.id", (folded(named),)
            )
            return [StudentRow(*row) for row in found_rows]

    def history(self, student: int, *, all_versions: bool = False) -> list[RecordRow]:  # noqa: D102
        which = "" if all_versions else " AND l.current = r.number"
        return self._rows(f"WHERE r.student = %s{which} ORDER BY r.place", student)

    def versions(self, lesson: str) -> list[RecordRow]:  # noqa: D102
        return self._rows("WHERE l.mark = %s ORDER BY r.version", lesson)

    def by_digest(self, digest: str) -> RecordRow | None:  # noqa: D102
        found = self._rows("WHERE r.digest = %s", digest)
        found = found or self._rows("WHERE r.handout <> '' AND r.handout = %s", digest)
        return found[0] if found else None

    def _rows(self, condition: str, *values: str | int) -> list[RecordRow]:
        with self._told():
            found = self._connection.execute(f"{ROW} FROM records r {JOINED} {condition}", values)
            return [as_row(row) for row in found]

    def entry(self, number: int) -> Entry:  # noqa: D102
        with self._told():
            found = dict(entries_of(self._connection, [number])).get(number)
        if found is None:
            message = f"the rows of record {number} are damaged"
            raise ShelfDamagedError(message)
        return found

    def walk(self, after: int = 0) -> Iterator[tuple[RecordRow, Entry | None]]:  # noqa: D102
        while True:
            rows = self._rows("WHERE r.number > %s ORDER BY r.number LIMIT %s", after, _AT_ONCE)
            if not rows:
                return
            with self._told():
                entries = dict(entries_of(self._connection, [row.number for row in rows]))
            for row in rows:
                yield row, entries.get(row.number)
            after = rows[-1].number

    def in_shard(self, shard: str) -> list[RecordRow]:  # noqa: D102
        return self._rows(
            "WHERE r.digest >= %s AND r.digest < %s ORDER BY r.digest", shard, f"{shard}g"
        )

    def unaccounted(self) -> list[int]:  # noqa: D102
        with self._told():
            found = self._connection.execute(
                """SELECT n FROM generate_series(1,
                       (SELECT highest FROM counters WHERE name = 'records')) AS n
                   WHERE NOT EXISTS (SELECT 1 FROM records r WHERE r.number = n)
                   AND NOT EXISTS (SELECT 1 FROM gone g WHERE g.record = n) ORDER BY n"""
            )
            return [number for (number,) in found]

    def faults(self) -> list[str]:  # noqa: D102
        with self._told():
            return list(checks.faults(self._connection))

    def kept_until(self, first: str, last: str) -> list[RecordRow]:  # noqa: D102
        return self._rows(
            "WHERE r.kept_until >= %s AND r.kept_until <= %s AND r.kept_until <> ''"
            " ORDER BY r.kept_until, r.number",
            first,
            last,
        )

    def not_given(self, since: str) -> list[RecordRow]:  # noqa: D102
        return self._rows(
            "WHERE l.current = r.number AND r.origin = 'own' AND r.given_at = '' AND r.day >= %s"
            " ORDER BY r.place",
            since,
        )

    def note_given(self, lesson: str, day: str, who: str, at: str) -> RecordRow:  # noqa: D102
        with self._writing() as connection:
            number = value_of(connection, "SELECT current FROM lessons WHERE mark = %s", (lesson,))
            if number is None:
                message = f"no lesson {lesson} is on the shelf"
                raise InputRefusedError([Problem("command line", 0, 0, "", message)])
            connection.execute("UPDATE records SET given_at = %s WHERE number = %s", (day, number))
            log_line(connection, at, who, "given", number)
        return self._rows("WHERE r.number = %s", number)[0]

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
            leaving.clean(self._connection, self._wait_seconds)

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
                "SELECT number, at, who, what, record, count FROM log"
                " ORDER BY number DESC LIMIT %s",
                (most,),
            )
            return [LogRow(*row) for row in found]

    def note(self, who: str, what: str, at: str, count: int = 0) -> None:  # noqa: D102
        with self._writing() as connection:
            log_line(connection, at, who, what, None, count)

    def take_over_log(self, rows: Sequence[LogRow]) -> None:  # noqa: D102
        with self._writing() as connection:
            first = next_number(connection, "log", len(rows))
            connection.cursor().executemany(
                "INSERT INTO log (number, at, who, what, count) VALUES (%s, %s, %s, %s, %s)",
                [
                    (number, row.at, row.who, row.what, row.count)
                    for number, row in enumerate(rows, start=first)
                ],
            )

    def groups(self, by: Grouping, since: str, until: str) -> list[Group]:  # noqa: D102
        name_column, tables = _GROUPS[by]
        lessons: dict[str, int] = {}
        students: dict[str, set[int]] = {}
        with self._told():
            for name, student in self._connection.execute(
                f"SELECT {name_column}, r.student FROM {tables} WHERE r.number = l.current"
                " AND r.origin = 'own' AND r.day >= %s AND (%s = '' OR r.day <= %s)",
                (since, until, until),
            ):
                lessons[name] = lessons.get(name, 0) + 1
                students.setdefault(name, set()).add(student)
        return [Group(name, lessons[name], frozenset(students[name])) for name in sorted(lessons)]
