"""From an entry to its rows on PostgreSQL and back."""

import json
from collections.abc import Iterator, Sequence
from typing import Any

from reporter.archive.entry import ChangeRow, ColdTest, Entry, MeasureRow, ShotSpread
from reporter.archive.plain_rows import IN_DETAILS, LISTS
from reporter.archive.postgresql.connection import Connection

ROW = """
    SELECT r.number, l.mark, r.version, coalesce(l.current = r.number, false), r.digest, r.size,
           coalesce(s.id, ''), r.student_name, r.day, r.coach, coalesce(t.title, ''),
           r.kept_until, r.archive, r.minor, r.origin, r.added_at, r.added_by, r.given_at,
           r.handout, r.checksum
"""
JOINED = """
    JOIN lessons l ON l.number = r.lesson
    LEFT JOIN texts t ON t.place = r.place
    LEFT JOIN students s ON s.number = r.student
"""


def value_of(connection: Connection, question: str, values: Sequence[Any] = ()) -> Any:  # noqa: ANN401
    """Return the first column of the first row, None without a row."""
    found = connection.execute(question, values or None).fetchone()
    return None if found is None else found[0]


def entries_of(
    connection: Connection, numbers: Sequence[int]
) -> Iterator[tuple[int, Entry | None]]:
    """Yield records' numbers and entries; None where the rows are so damaged that none is made."""
    found = connection.execute(
        """SELECT r.number, r.place, l.mark, coalesce(s.id, ''), r.student_name, r.day, r.coach,
                  r.level, r.age_band, r.kept_until, r.archive, r.minor, r.origin, r.details,
                  coalesce(t.title, ''), coalesce(t.thoughts, ''), coalesce(t.notes, '')
           FROM records r JOIN lessons l ON l.number = r.lesson
           LEFT JOIN texts t ON t.place = r.place LEFT JOIN students s ON s.number = r.student
           WHERE r.number = ANY(%s) ORDER BY r.number""",
        (list(numbers),),
    ).fetchall()
    measures = _measures_at(connection, [row[1] for row in found])
    for row in found:
        try:
            yield row[0], _entry(row[1:], measures)
        except (ValueError, TypeError, LookupError):
            yield row[0], None


def _entry(row: tuple[Any, ...], measures: dict[int, list[MeasureRow]]) -> Entry:
    (place, mark, student, name, day, coach, level, age_band, until, archive, minor, origin,
     details, title, thoughts, notes) = row  # fmt: skip
    kept = json.loads(details)
    others: dict[str, Any] = {
        field: tuple(kept[field]) if field in LISTS else kept[field] for field in IN_DETAILS
    }
    return Entry(
        lesson=mark, student=student, student_name=name, day=day, coach=coach, level=level,
        age_band=age_band, title=title, minor=minor, archive=archive, kept_until=until,
        thoughts=thoughts, notes=notes, origin=origin,
        **others,
        measures=tuple(measures.get(place, ())),
        changes=tuple(ChangeRow(**one) for one in kept["changes"]),
        tests=tuple(ColdTest(**one) for one in kept["tests"]),
        spreads=tuple(ShotSpread(**one) for one in kept["spreads"]),
    )  # fmt: skip


def _measures_at(connection: Connection, places: list[int]) -> dict[int, list[MeasureRow]]:
    found: dict[int, list[MeasureRow]] = {}
    for place, *row in connection.execute(
        """SELECT m.place, n.id, s.view, s.position, s.moment, s.club, s.camera, m.frame, m.value,
                  m.plus_minus, s.unit, s.trust
           FROM measures m JOIN series s ON s.number = m.series
           JOIN measure_names n ON n.number = m.measure
           WHERE m.place = ANY(%s) ORDER BY m.place, m.ordinal""",
        (places,),
    ):
        found.setdefault(place, []).append(MeasureRow._make(row))
    return found


def next_number(connection: Connection, name: str, count: int = 1) -> int:
    """Return the first of so many numbers never given before; a rollback gives them back."""
    highest = value_of(
        connection,
        "UPDATE counters SET highest = highest + %s WHERE name = %s RETURNING highest",
        (count, name),
    )
    return int(highest) - count + 1


def log_line(
    connection: Connection, at: str, who: str, what: str, record: int | None, count: int = 0
) -> None:
    """Add a line to the log."""
    connection.execute(
        "INSERT INTO log (number, at, who, what, record, count) VALUES (%s, %s, %s, %s, %s, %s)",
        (next_number(connection, "log"), at, who, what, record, count),
    )


def series_numbers(
    connection: Connection, measures: tuple[MeasureRow, ...]
) -> list[tuple[int, int]]:
    """Return measure and series number of each row, made where they are new."""
    keys = [
        (
            one.measure, one.view, one.position, one.when, one.club, one.camera, one.unit,
            one.trust,
        )
        for one in measures
    ]  # fmt: skip
    numbers = _known_series(connection, list(dict.fromkeys(keys)))
    for key in keys:
        if key not in numbers:
            numbers[key] = _series_number(connection, key)
    return [numbers[key] for key in keys]


def _known_series(
    connection: Connection, keys: list[tuple[str, ...]]
) -> dict[tuple[str, ...], tuple[int, int]]:
    """Return the numbers of the keys that have some, asked for all at once."""
    if not keys:
        return {}
    found = connection.execute(
        """SELECT a.at, m.number, s.number
           FROM unnest(%s::text[], %s::text[], %s::text[], %s::text[], %s::text[], %s::text[],
                       %s::text[], %s::text[]) WITH ORDINALITY
                AS a (id, view, position, moment, club, camera, unit, trust, at)
           JOIN measure_names m ON m.id = a.id
           JOIN series s ON s.measure = m.number AND s.view = a.view AND s.position = a.position
                AND s.moment = a.moment AND s.club = a.club AND s.camera = a.camera
                AND s.unit = a.unit AND s.trust = a.trust""",
        [list(column) for column in zip(*keys, strict=True)],
    )
    return {keys[at - 1]: (int(measure), int(series)) for at, measure, series in found}


def _series_number(connection: Connection, key: tuple[str, ...]) -> tuple[int, int]:
    name, *others = key
    measure = value_of(connection, "SELECT number FROM measure_names WHERE id = %s", (name,))
    if measure is None:
        measure = value_of(
            connection,
            """INSERT INTO measure_names SELECT coalesce(max(number), 0) + 1, %s
               FROM measure_names RETURNING number""",
            (name,),
        )
    series = value_of(
        connection,
        """SELECT number FROM series WHERE measure = %s AND view = %s AND position = %s
           AND moment = %s AND club = %s AND camera = %s AND unit = %s AND trust = %s""",
        (measure, *others),
    )
    if series is None:
        series = value_of(
            connection,
            """INSERT INTO series SELECT coalesce(max(number), 0) + 1,
               %s, %s, %s, %s, %s, %s, %s, %s FROM series RETURNING number""",
            (measure, *others),
        )
    return int(measure), int(series)
