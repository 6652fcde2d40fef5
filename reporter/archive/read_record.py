"""Read a record PDF into the entry it is listed by; everything comes from the files inside it."""

import contextlib
import datetime
import json
import math
import re
import statistics
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from typing import Any, Literal, cast

import numpy

from reporter.archive.entry import (
    ChangeRow,
    ColdTest,
    Entry,
    MeasureRow,
    Origin,
    ShotSpread,
    folded,
)
from reporter.errors import InputRefusedError, Problem
from reporter.flight.pattern import median_interval
from reporter.pdf.carried import Carried, take_out
from reporter.session.load import LESSON_FILE, load_sources
from reporter.session.schema import Frame, Session, Take
from reporter.session.shots import read_shots
from reporter.story.drills import Drill, bundled_drills, bundled_poses, read_drills
from reporter.yaml_source import YamlSource, read_yaml

MARK = "lesson-reporter:"
RECORD_MARK = f"record-{MARK}"
MEASURES, BUILD, DRILLS, SHOTS = "measurements.json", "build.json", "drills.yaml", "shots.csv"
HOUSE = ("coach.yaml", "academy.yaml")
READ = (LESSON_FILE, *HOUSE, MEASURES, BUILD, DRILLS, SHOTS)
Words = Literal["record", "handout", "neither"]


@dataclass(frozen=True, slots=True)
class ReadRecord:
    """A record PDF as read.

    Attributes
    ----------
    entry : Entry
        What it is listed by.
    lesson : Session
        The lesson inside.
    carried : Carried
        The files it was read from.
    """

    entry: Entry
    lesson: Session
    carried: Carried


def read_record(document: bytes, name: str) -> ReadRecord:
    """Read a record that was built here.

    Parameters
    ----------
    document : bytes
        The PDF.
    name : str
        What the user calls it.

    Raises
    ------
    InputRefusedError
        If it is no record, the lesson inside is refused, or the student has no id.
    LimitError
        If something in it is too large.
    """
    carried = take_out(document, name, READ)
    kind = _kind(carried)
    if kind == "handout":
        raise _refused(
            name,
            "is the student's handout, which does not carry everything; put the record on the"
            ' shelf ("build FILE --record"), or take the handout in with "shelf import"',
        )
    if kind == "neither":
        raise _refused(name, "is no record of a lesson; write one with build FILE --record")
    mark = next(word for word in carried.keywords if word.startswith(RECORD_MARK))
    return as_entry(carried, name, mark.removeprefix(RECORD_MARK), "own")


def as_entry(carried: Carried, name: str, lesson_mark: str, origin: Origin) -> ReadRecord:
    """Return the entry of files that were taken out of a PDF; see `read_record`."""
    lesson = _lesson(carried, name)
    student = lesson.student
    if student.id is None and origin == "own":
        raise _refused(
            name,
            "the lesson names no student.id; on the shelf students are told apart by it, not by"
            " name, so give each student one and build the record again",
        )
    by_id = _known_drills(carried)
    given = [by_id.get(drill.id or "") for drill in lesson.drills]
    measures, changes = _measures(carried, lesson, name)
    day, until, following = (
        lesson.lesson.date,
        lesson.consent.until,
        lesson.lesson.next_lesson,
    )
    entry = Entry(
        lesson=lesson_mark,
        student=student.id or "",
        student_name=student.name or "",
        day=_iso(day),
        coach=lesson.lesson.coach or "",
        academy=lesson.lesson.academy or "",
        place=lesson.lesson.place or "",
        kind=lesson.lesson.kind,
        level=student.level,
        age_band=student.age_band,
        plays=student.plays,
        title=carried.title,
        minor=student.is_minor,
        pages=carried.pages,
        photos=lesson.consent.photos,
        archive=lesson.consent.archive,
        share=lesson.consent.share,
        kept_until=_iso(until),
        next_lesson=_iso(following.day if following is not None else None),
        clubs=_clubs(lesson),
        faults=_once(fault for drill in given if drill is not None for fault in drill.faults),
        drills=_once(_drill_words(lesson)),
        cameras=_once(take.camera for take in lesson.takes),
        thoughts=_joined(
            *(f"{one.say} {one.because or ''}" for one in lesson.thoughts),
        ),
        notes=_joined(
            lesson.notes,
            lesson.student_words,
            *(f"{pair.heading or ''} {pair.sentence or ''}" for pair in lesson.pairs),
            *(drill.name for drill in given if drill is not None),
        ),
        cold_test=lesson.plan.cold_test or "",
        measures=measures,
        changes=changes,
        tests=tuple(
            ColdTest(_iso(one.date), *one.cold_test, one.note or "")
            for one in sorted(lesson.practised, key=lambda one: one.date)
        ),
        spreads=tuple(_spreads(carried, lesson)),
        origin=origin,
    )
    return ReadRecord(entry, lesson, carried)


def _refused(name: str, reason: str) -> InputRefusedError:
    return InputRefusedError([Problem(name, 0, 0, "", reason)])


def _kind(carried: Carried) -> Words:
    """Say what a PDF is, by its keywords and by what it tells of its making."""
    if LESSON_FILE not in carried.files or BUILD not in carried.files:
        return "neither"
    making = _json(carried.files[BUILD])
    if any(word.startswith(RECORD_MARK) for word in carried.keywords):
        return "record" if making.get("copy") == "record" else "neither"
    return "handout" if any(word.startswith(MARK) for word in carried.keywords) else "neither"


def _lesson(carried: Carried, name: str) -> Session:
    if LESSON_FILE not in carried.files:
        raise _refused(name, f"holds no {LESSON_FILE}; only a PDF that carries its lesson is read")
    sources = [_source(carried, name, inside) for inside in (LESSON_FILE, *HOUSE)]
    lesson, *house = sources
    assert lesson is not None
    return load_sources(lesson, [source for source in house if source is not None])


def _source(carried: Carried, name: str, inside: str) -> YamlSource | None:
    data = carried.files.get(inside)
    return read_yaml(data, f"{name}: {inside}") if data is not None else None


def _known_drills(carried: Carried) -> dict[str, Drill]:
    """Return the drills a lesson may name; an academy's own that no longer fit are left out."""
    known = bundled_drills()
    own = carried.files.get(DRILLS)
    if own is not None:
        # The record was built with them; here they only add words to search by.
        with contextlib.suppress(InputRefusedError):
            known = (*known, *read_drills(read_yaml(own, DRILLS), known, bundled_poses()))
    return {drill.id: drill for drill in known}


def _drill_words(lesson: Session) -> Iterator[str]:
    for drill in lesson.drills:
        yield drill.id or re.sub(r"\W+", "-", (drill.name or "").lower()).strip("-")


def _clubs(lesson: Session) -> tuple[str, ...]:
    return _once([*(take.club for take in lesson.takes), lesson.seen.club])


def _measures(
    carried: Carried, lesson: Session, name: str
) -> tuple[tuple[MeasureRow, ...], tuple[ChangeRow, ...]]:
    """Return values and changes, each with the place of its frame; unknown forms are refused."""
    data = carried.files.get(MEASURES)
    if data is None:
        return (), ()
    listed = _json(data)
    places = {frame.id: (frame, lesson.take_of(frame)) for frame in lesson.frames}
    try:
        measures = tuple(
            _measure_row(one, *places[one["frame"]])
            for one in listed["measures"]
            if one["value"] is not None and one["plus_minus"] is not None
        )
        changes = tuple(_change_row(one, *places[one["after"]]) for one in listed["changes"])
    except (KeyError, TypeError, ValueError):
        raise _refused(name, f"{MEASURES} inside is not as this program writes it") from None
    return measures, changes


def _measure_row(one: Mapping[str, Any], frame: Frame, take: Take) -> MeasureRow:
    return MeasureRow(
        measure=_text(one["id"]),
        view=take.view,
        position=frame.position,
        when=take.when,
        club=_word(take.club),
        camera=_word(take.camera),
        frame=frame.id,
        value=_number(one["value"]),
        plus_minus=_number(one["plus_minus"]),
        unit=_text(one["unit"]),
        trust=_text(one["class"]),
    )


def _change_row(one: Mapping[str, Any], frame: Frame, take: Take) -> ChangeRow:
    change, half = one["change"], one["plus_minus"]
    return ChangeRow(
        measure=_text(one["id"]),
        view=take.view,
        position=frame.position,
        change=None if change is None else _number(change),
        plus_minus=None if half is None else _number(half),
        unit=_text(one["unit"]),
        verdict=_text(one["verdict"]),
    )


def _number(value: object) -> float:
    if isinstance(value, bool) or not isinstance(value, (int, float)) or not math.isfinite(value):
        raise ValueError(value)
    return float(value)


def _text(value: object) -> str:
    if not isinstance(value, str) or len(value) > 200:
        raise ValueError(value)
    return value


def _spreads(carried: Carried, lesson: Session) -> Iterator[ShotSpread]:
    """Yield the middle of the landings of each club, where there are enough for an interval."""
    data = carried.files.get(SHOTS)
    if data is None:
        return
    try:
        table = read_shots(data, SHOTS)
    except InputRefusedError:
        return  # the lesson was built with it; here it only adds numbers to compare
    landed = table.columns.get("offline_m")
    if landed is None:
        return
    clubs = table.clubs or tuple([lesson.seen.club or ""] * table.count)
    by_club: dict[str, list[float]] = {}
    for club, offline in zip(clubs, landed, strict=True):
        if offline is not None:
            by_club.setdefault(_word(club), []).append(offline)
    for club, values in sorted(by_club.items()):
        interval = median_interval(numpy.array(values))
        if interval is not None:
            yield ShotSpread(club, len(values), statistics.median(values), *interval)


def _json(data: bytes) -> dict[str, Any]:
    """Read an object; whatever is no object counts as one without fields."""
    try:
        found = json.loads(data)
    except (ValueError, RecursionError):
        return {}
    return cast("dict[str, Any]", found) if isinstance(found, dict) else {}


def _iso(day: datetime.date | None) -> str:
    return day.isoformat() if day is not None else ""


def _word(text: str | None) -> str:
    return folded(text or "")


def _once(words: Iterable[str | None]) -> tuple[str, ...]:
    return tuple(sorted({folded(word) for word in words if word}))


def _joined(*texts: str | None) -> str:
    return "\n".join(text.strip() for text in texts if text and text.strip())
