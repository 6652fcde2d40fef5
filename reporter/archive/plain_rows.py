"""What every kind of database writes alike: places, details as JSON, words, texts, rows."""

import datetime
import json
from collections.abc import Iterator, Mapping
from typing import Any

from reporter.archive.entry import Entry, checksum, folded
from reporter.archive.store import Adding, RecordRow

NUMBER_BITS = 32
IN_DETAILS = (
    "academy", "place", "kind", "plays", "pages", "photos", "share", "next_lesson", "clubs",
    "faults", "drills", "cameras", "cold_test",
)  # fmt: skip
LISTS = ("clubs", "faults", "drills", "cameras")
WORD_KINDS = {"clubs": "club", "faults": "fault", "drills": "drill", "cameras": "camera"}
SINGLE_WORDS = ("coach", "academy")


def as_row(found: tuple[Any, ...]) -> RecordRow:
    """Return a record from the columns of `ROW`."""
    (number, mark, version, current, digest, size, student, name, day, coach, title, until,
     archive, minor, origin, at, by, given, handout, checksum) = found  # fmt: skip
    return RecordRow(
        number=number, lesson=mark, version=version, current=bool(current), digest=digest,
        size=size, student=student, student_name=name, day=day, coach=coach, title=title,
        kept_until=until, archive=bool(archive), minor=bool(minor), origin=origin, added_at=at,
        added_by=by, given_at=given, handout=handout, checksum=checksum,
    )  # fmt: skip


def place_of(day: str, number: int) -> int:
    """Return where a record stands in the order of days; one without a day stands first."""
    return first_place(day) + number


def first_place(day: str) -> int:
    """Return the lowest place of an ISO date."""
    ordinal = datetime.date.fromisoformat(day).toordinal() if day else 0
    return ordinal << NUMBER_BITS


def record_columns(
    adding: Adding, entry: Entry, number: int, student: int | None, lesson: int, version: int
) -> dict[str, Any]:
    """Return a row of ``records`` by column: `entry` as number `number`, at its place."""
    return {
        "number": number,
        "place": place_of(entry.day, number),
        "lesson": lesson,
        "version": version,
        "digest": adding.digest,
        "size": adding.size,
        "student": student,
        "student_name": entry.student_name,
        "day": entry.day,
        "coach": entry.coach,
        "kept_until": entry.kept_until,
        "archive": entry.archive,
        "minor": entry.minor,
        "origin": entry.origin,
        "level": entry.level,
        "age_band": entry.age_band,
        "details": details_of(entry),
        "checksum": checksum(entry, adding.digest, adding.size, version),
        "added_at": adding.at,
        "added_by": adding.who,
        "handout": adding.handout,
    }


def details_of(entry: Entry) -> str:
    """Return what has no column of its own, as JSON."""
    plain = entry.as_plain()
    kept = {name: plain[name] for name in (*IN_DETAILS, "changes", "tests", "spreads")}
    return json.dumps(kept, ensure_ascii=False, separators=(",", ":"))


def words_of(entry: Entry) -> Iterator[tuple[str, str]]:
    """Yield kind and word of everything a record is listed under, each once."""
    yield from words_listed({name: getattr(entry, name) for name in (*WORD_KINDS, *SINGLE_WORDS)})


def words_listed(values: Mapping[str, Any]) -> Iterator[tuple[str, str]]:
    """Yield the same from an entry's values by name."""
    for field, kind in WORD_KINDS.items():
        for word in values[field]:
            yield kind, word
    for field in SINGLE_WORDS:
        word = folded(values[field])
        if word:
            yield field, word


def texts_of(entry: Entry, student: int | None) -> tuple[str, str, str, str, str]:
    """Return title, people, thoughts, notes and keys, as the search index holds them."""
    people = "\n".join(
        part for part in (entry.student_name, entry.coach, entry.academy, entry.place) if part
    )
    keys = student_key(student) if student is not None else ""
    return entry.title, people, entry.thoughts, entry.notes, keys


def student_key(student: int) -> str:
    """Return the word by which the search index knows a student."""
    return f"s{student:d}"
