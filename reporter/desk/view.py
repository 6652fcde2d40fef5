"""All that the page needs to know of a lesson, as plain values: what is written, what follows."""

import datetime
import hashlib
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any, get_args

from reporter.desk.asks import asked_points, offered, suggested
from reporter.desk.lesson_file import LessonFile
from reporter.desk.stills import Stills
from reporter.errors import InputRefusedError, Problem, ReporterError
from reporter.handout.find_drills import find_drills
from reporter.handout.lesson_advice import advice_on
from reporter.handout.measured import Measured, measured
from reporter.handout.refusals import check_references
from reporter.measure import Measurement, Verdict, measure_session, told_together
from reporter.session.frames import picture_size
from reporter.session.layers import house_sources, without_empty
from reporter.session.load import LoadedSession, load_text
from reporter.session.partial import measurable_part
from reporter.session.scaffold import PICTURE_ENDINGS, picture_named
from reporter.session.schema import Language, Session
from reporter.story.changes import pair_of
from reporter.yaml_source import Plain, read_yaml

PLACES = ("", "frames", "pictures")
MOST_FILES = 200
Sizes = dict[str, tuple[int, int]]


@dataclass
class _Judged:
    """A lesson after every check: the whole, or what of it can be measured."""

    session: Session
    sizes: Sizes
    loaded: LoadedSession | None = None
    problems: list[Problem] = field(default_factory=list)
    warnings: tuple[str, ...] = ()


def lesson_view(
    file: LessonFile, stills: Stills, clips: Sequence[dict[str, Any]], today: datetime.date
) -> dict[str, Any]:
    """Return what the page shows.

    Parameters
    ----------
    file : LessonFile
        The lesson.
    stills : Stills
        Takes up every picture that is named.
    clips : sequence of dict
        The folder's clips, as `reporter.desk.clips` tells them.
    today : date
        Stands in where the lesson has no date.
    """
    folder = file.path.parent
    try:
        data, revision = file.read()
        source = read_yaml(data, file.path.name)
    except InputRefusedError as error:
        return {
            "revision": "", "broken": True, "problems": _problems(error.problems),
            "file": file.path.name, "folder": folder.resolve().name,
            "place": _place(folder),
        }  # fmt: skip
    values = without_empty(source.value)
    judged = _judged(data, values, file.path, today)
    read = _read(judged)
    view = {
        "revision": revision,
        "broken": False,
        "file": file.path.name,
        "folder": folder.resolve().name,
        "place": _place(folder),
        "exists": file.exists(),
        "languages": list(get_args(Language)),
        "values": values if isinstance(values, dict) else {},
        "house": _house(folder),
        "problems": _problems(judged.problems),
        "warnings": list(judged.warnings),
        "frames": list(_frames(judged, stills)),
        "pairs": list(_pairs(judged, read)),
        "unused": list(_unused(values, folder, stills)),
        "clips": list(clips),
        "advice": [],
        "notes": [],
    }
    if judged.loaded is not None:
        view |= _advice(judged.loaded, read, today)
    return view


def _place(folder: Path) -> str:
    """Return what tells one lesson folder from another in a browser's own memory."""
    return hashlib.sha256(str(folder.resolve()).encode("utf-8", "replace")).hexdigest()[:16]


def _judged(data: bytes, values: Plain, path: Path, today: datetime.date) -> _Judged:
    try:
        loaded = load_text(data, path)
    except ReporterError as error:
        session = measurable_part(values)
        problems = (
            list(error.problems)
            if isinstance(error, InputRefusedError)
            else [Problem(path.name, 0, 0, "", str(error))]
        )
        return _Judged(session, dict(_sizes(session, path.parent)), None, problems)
    try:
        check_references(loaded, today)
    except InputRefusedError as error:
        return _Judged(loaded.session, loaded.sizes, None, list(error.problems), loaded.warnings)
    return _Judged(loaded.session, loaded.sizes, loaded, [], loaded.warnings)


def _sizes(session: Session, folder: Path) -> Iterator[tuple[str, tuple[int, int]]]:
    for frame in session.frames:
        try:
            yield frame.id, picture_size(folder, frame.file)
        except ReporterError:
            continue


def _problems(problems: Sequence[Problem]) -> list[dict[str, Any]]:
    return [
        {"field": one.field, "message": one.message, "line": one.line, "file": one.file}
        for one in sorted(problems)
    ]


def _house(folder: Path) -> dict[str, Any]:
    """Return what academy and coach say for every lesson."""
    merged: dict[str, Any] = {}
    try:
        sources = house_sources(folder)
    except InputRefusedError:
        return merged
    for source in reversed(sources):
        for name, part in (source.value if isinstance(source.value, dict) else {}).items():
            if isinstance(part, dict):
                merged[name] = {**merged.get(name, {}), **part}
    return merged


def _frames(judged: _Judged, stills: Stills) -> Iterator[dict[str, Any]]:
    session = judged.session
    asked = asked_points(session)
    for number, frame in enumerate(session.frames, start=1):
        take = session.take_of(frame)
        yield {
            "number": number,
            "id": frame.id,
            "take": take.id,
            "when": take.when,
            "view": take.view,
            "mirrored": take.mirrored,
            "position": frame.position,
            "seconds": frame.from_video.seconds if frame.from_video else frame.seconds,
            "video": frame.from_video.name if frame.from_video else take.video,
            "file": frame.file,
            "picture": stills.key_of(frame.file, frame.blur),
            "size": judged.sizes.get(frame.id),
            "asked": asked.get(frame.id, ()),
            "points": {
                name: {
                    "at": point.at,
                    "again": point.again,
                    "hidden": point.hidden,
                    "confirmed": point.confirmed,
                }
                for name, point in frame.points.items()
            },
        }


def _read(judged: _Judged) -> Measured:
    """Return everything read from the pictures, of an unfinished lesson by its points alone."""
    if judged.loaded is None:
        return Measured(measure_session(judged.session, judged.sizes), (), {})
    return measured(judged.loaded)


def _pairs(judged: _Judged, measured_so: Measured) -> Iterator[dict[str, Any]]:
    session, sizes = judged.session, judged.sizes
    measurements, compared = measured_so.measurements, measured_so.compared
    among = told_together(session, measurements, compared)
    read = {(one.frame, one.measure): one for one in measurements}
    for index, pair in enumerate(session.pairs):
        names = [name for name in (pair.before, pair.after) if name]
        frame = session.frame(names[-1]) if names else None
        if frame is None or any(name not in sizes for name in names):
            continue
        take = session.take_of(frame)
        choices = offered(take.view, frame.position)
        chosen = pair.measures or suggested(take.view, frame.position)
        known = {one.id for one in choices}
        ids = tuple(one for one in chosen if one in known)
        shown = pair.model_copy(update={"measures": ids})
        laid = pair_of(
            session, shown, index, measurements, sizes, compared, large=False, among=among
        )
        yield {
            "index": index,
            "before": pair.before,
            "after": pair.after,
            "position": frame.position,
            "view": take.view,
            "heading": laid.heading,
            "offered": [
                {
                    "id": one.id,
                    "name": one.name,
                    "class": str(one.trust),
                    "chosen": one.id in chosen,
                }
                for one in choices
            ],
            "rows": [
                {
                    "id": measure,
                    "number": row.number,
                    "name": row.name,
                    "before": row.before,
                    "after": row.after,
                    "difference": row.difference,
                    "plus_minus": row.plus_minus,
                    "verdict": row.verdict,
                    "note": row.note,
                    "changed": row.comparison is not None
                    and row.comparison.verdict is Verdict.CHANGED,
                    "told": row.comparison is not None and row.comparison.change is not None,
                    "marks": {
                        side: _mark(read.get((name, measure)))
                        for side, name in (("before", pair.before), ("after", pair.after))
                        if name
                    },
                }
                for measure, row in zip(ids, laid.rows, strict=False)
            ],
        }


def _mark(reading: Measurement | None) -> dict[str, Any] | None:
    if reading is None or reading.mark is None or reading.value is None:
        return None
    mark = reading.mark
    return {
        "kind": mark.kind,
        "line": mark.line,
        "reference": mark.reference if mark.reference_is_drawn else None,
        "vertex": mark.vertex,
        "points": mark.joints,
    }


def files_in(folder: Path, endings: Sequence[str], places: Sequence[str]) -> Iterator[str]:
    """Yield the files of a folder that have one of the endings, as a lesson names them."""
    found = 0
    for place in places:
        inside = folder / place if place else folder
        try:
            entries = sorted(inside.iterdir())
        except OSError:
            continue
        for entry in entries:
            if entry.suffix.lower() in endings and not entry.name.startswith("."):
                found += 1
                if found > MOST_FILES:
                    return
                yield f"{place}/{entry.name}" if place else entry.name


def _unused(values: Plain, folder: Path, stills: Stills) -> Iterator[dict[str, Any]]:
    """Yield the pictures of the folder that no frame names."""
    frames = values.get("frames") if isinstance(values, dict) else None
    used = {
        frame.get("file")
        for frame in (frames if isinstance(frames, list) else ())
        if isinstance(frame, dict)
    }
    for file in files_in(folder, PICTURE_ENDINGS, PLACES):
        if file in used or f"./{file}" in used:
            continue
        named = picture_named(file)
        yield {
            "file": file,
            "when": named.when,
            "view": named.view,
            "position": named.position,
            "picture": stills.key_of(file),
        }


def _advice(loaded: LoadedSession, read: Measured, today: datetime.date) -> dict[str, Any]:
    found = advice_on(loaded, read, find_drills(loaded.folder), today)
    return {
        "advice": [
            {
                "id": one.id,
                "field": one.field,
                "kind": one.kind,
                "message": one.message,
                "offer": one.offer,
                "reason": one.reason,
            }
            for one in found.advice
        ],
        "notes": [{"id": one.id, "message": one.message} for one in found.plan_notes],
    }
