"""From an entry to its rows and back."""

import json
import sqlite3
from typing import Any

from reporter.archive.entry import (
    ChangeRow,
    ColdTest,
    Entry,
    MeasureRow,
    ShotSpread,
)
from reporter.archive.plain_rows import IN_DETAILS, LISTS

ROW = """
    SELECT r.number, l.mark, r.version, l.current = r.number, r.digest, r.size,
           coalesce(s.id, ''), r.student_name, r.day, r.coach, coalesce(t.title, ''),
           r.kept_until, r.archive, r.minor, r.origin, r.added_at, r.added_by, r.given_at,
           r.handout, r.checksum
"""
JOINED = """
    JOIN lessons l ON l.number = r.lesson
    LEFT JOIN texts t ON t.place = r.place
    LEFT JOIN students s ON s.number = r.student
"""


def entry_of(connection: sqlite3.Connection, number: int) -> Entry:
    """Return the entry that a record's rows tell; a damaged row gives what it can."""
    found = connection.execute(
        """SELECT r.place, l.mark, coalesce(s.id, ''), r.student_name, r.day, r.coach, r.level,
                  r.age_band, r.kept_until, r.archive, r.minor, r.origin, r.details,
                  coalesce(t.title, ''), coalesce(t.thoughts, ''), coalesce(t.notes, '')
           FROM records r JOIN lessons l ON l.number = r.lesson
           LEFT JOIN texts t ON t.place = r.place LEFT JOIN students s ON s.number = r.student
           WHERE r.number = ?""",
        (number,),
    ).fetchone()
    if found is None:
        raise KeyError(number)
    (place, mark, student, name, day, coach, level, age_band, until, archive, minor, origin,
     details, title, thoughts, notes) = found  # fmt: skip
    kept = json.loads(details)
    others: dict[str, Any] = {
        field: tuple(kept[field]) if field in LISTS else kept[field] for field in IN_DETAILS
    }
    return Entry(
        lesson=mark, student=student, student_name=name, day=day, coach=coach, level=level,
        age_band=age_band, title=title, minor=bool(minor), archive=bool(archive),
        kept_until=until, thoughts=thoughts, notes=notes, origin=origin,
        **others,
        measures=measures_at(connection, place),
        changes=tuple(ChangeRow(**one) for one in kept["changes"]),
        tests=tuple(ColdTest(**one) for one in kept["tests"]),
        spreads=tuple(ShotSpread(**one) for one in kept["spreads"]),
    )  # fmt: skip


def measures_at(connection: sqlite3.Connection, place: int) -> tuple[MeasureRow, ...]:
    """Return the measures of one record in their order."""
    return tuple(
        MeasureRow._make(row)
        for row in connection.execute(
            """SELECT n.id, s.view, s.position, s.moment, s.club, s.camera, m.frame, m.value,
                      m.plus_minus, s.unit, s.trust
               FROM measures m JOIN series s ON s.number = m.series
               JOIN measure_names n ON n.number = m.measure
               WHERE m.place = ? ORDER BY m.ordinal""",
            (place,),
        )
    )


def series_numbers(
    connection: sqlite3.Connection, measures: tuple[MeasureRow, ...]
) -> list[tuple[int, int]]:
    """Return measure and series number of each row, made where they are new."""
    numbers: dict[tuple[str, ...], tuple[int, int]] = {}
    found = []
    for one in measures:
        key = (
            one.measure, one.view, one.position, one.when, one.club, one.camera, one.unit,
            one.trust,
        )  # fmt: skip
        if key not in numbers:
            numbers[key] = _series_number(connection, key)
        found.append(numbers[key])
    return found


def _series_number(connection: sqlite3.Connection, key: tuple[str, ...]) -> tuple[int, int]:
    known = connection.execute(
        """SELECT n.number, s.number FROM measure_names n JOIN series s ON s.measure = n.number
           WHERE n.id = ? AND s.view = ? AND s.position = ? AND s.moment = ? AND s.club = ?
           AND s.camera = ? AND s.unit = ? AND s.trust = ?""",
        key,
    ).fetchone()
    if known is not None:
        return int(known[0]), int(known[1])
    name, *others = key
    measure = _measure_number(connection, name)
    made = connection.execute(
        """INSERT INTO series (measure, view, position, moment, club, camera, unit, trust)
           VALUES (?, ?, ?, ?, ?, ?, ?, ?)""",
        (measure, *others),
    ).lastrowid
    assert made is not None
    return measure, made


def _measure_number(connection: sqlite3.Connection, name: str) -> int:
    found = connection.execute("SELECT number FROM measure_names WHERE id = ?", (name,)).fetchone()
    if found is not None:
        return int(found[0])
    made = connection.execute("INSERT INTO measure_names (id) VALUES (?)", (name,)).lastrowid
    assert made is not None
    return made
