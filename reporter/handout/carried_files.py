"""What travels inside the PDF: the lesson, the measures and how the file was made.

The handout is the student's: its lesson file is the one to hand on (see `handed_on`). The record
is the coach's own and carries everything as it lies in the folder, the frames as pixels only.
"""

import hashlib
import json
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from importlib.metadata import version
from pathlib import PurePosixPath
from typing import Any

import numpy
import PIL

from reporter import __version__
from reporter.draw import Attachment
from reporter.handout.find_drills import DRILLS_FILE
from reporter.handout.formula_safe import safe_csv
from reporter.handout.handed_on import lesson_to_hand_on
from reporter.handout.measure_list import plain_measures
from reporter.handout.picture_quality import PictureQuality
from reporter.measure import Measurement
from reporter.safe_open import read_inside
from reporter.session.frames import file_digest
from reporter.session.layers import nearest_source
from reporter.session.load import LESSON_FILE, LoadedSession
from reporter.session.shots import LARGEST_FILE_BYTES as LARGEST_SHOTS_BYTES
from reporter.session.text_edit import as_bytes
from reporter.speech import say
from reporter.story.changes import photographs_allowed
from reporter.story.report import Pair, Report

FORMAT = 1
MEASURES_JSON, MEASURES_CSV, BUILD = "measurements.json", "measurements.csv", "build.json"
FRAME_QUALITY = 92
"""Of the frames in the record: near enough for a point to be set again."""
CSV_COLUMNS = ("frame", "view", "position", "id", "value", "unit", "plus_minus", "class", "reason")


@dataclass(frozen=True, slots=True)
class Making:
    """How a file was made.

    Attributes
    ----------
    layout, brand, paper, ink : str
        Names; a brand by the name in its own file, never by where it lies.
    purpose : str
        print, mail or screen.
    record : bool
        Whether it is the coach's record instead of the student's handout.
    sheets : int
        Number of pages.
    """

    layout: str
    brand: str
    paper: str
    ink: str
    purpose: str
    record: bool
    sheets: int


def carried_files(
    loaded: LoadedSession,
    report: Report,
    measurements: tuple[Measurement, ...],
    making: Making,
    whole_frame: Callable[[str, int], bytes],
) -> Callable[[PictureQuality], tuple[Attachment, ...]]:
    """Return what gives the files to carry for a quality of the pictures.

    Parameters
    ----------
    loaded : LoadedSession
        The lesson.
    report : Report
        What stands on the pages: its changes are the ones to carry.
    measurements : tuple of Measurement
        All of them.
    making : Making
        How the file is made.
    whole_frame : callable
        Returns a frame, by its id, as a JPEG of a quality that holds nothing but pixels; asked
        for the record only.
    """
    sources = _sources(loaded, whole_frame) if making.record else [_handed_on(loaded)]
    measures = _measures(report, measurements)
    digests = _digests(loaded)

    def carried(quality: PictureQuality) -> tuple[Attachment, ...]:
        build = _as_json(_build(loaded, making, digests, quality))
        told = Attachment(
            BUILD, "application/json", "Supplement", say("How this file was made"), build
        )
        return (*sources, *measures, told)

    return carried


def _handed_on(loaded: LoadedSession) -> Attachment:
    description = say("The lesson, as far as it is handed on")
    data = lesson_to_hand_on(loaded)
    return Attachment(LESSON_FILE, "application/yaml", "Source", description, data)


def _sources(loaded: LoadedSession, whole_frame: Callable[[str, int], bytes]) -> list[Attachment]:
    """Return every file of the lesson as it lies in its folder, the frames as pixels."""
    lesson, *house = loaded.layers.sources
    drills = nearest_source(loaded.folder, DRILLS_FILE)
    if drills is not None:
        house.append(drills)
    files = [
        Attachment(
            LESSON_FILE, "application/yaml", "Source", say("The lesson file"), as_bytes(lesson)
        )
    ]
    for source in house:
        name = PurePosixPath(source.name).name
        told = say("Values for every lesson")
        files.append(Attachment(name, "application/yaml", "Source", told, as_bytes(source)))
    shots = loaded.session.seen.shots
    if shots is not None:
        data = read_inside(loaded.folder, shots, LARGEST_SHOTS_BYTES)
        # The name in the lesson is free; here it must not be that of another file.
        files.append(Attachment("shots.csv", "text/csv", "Source", say("The table of shots"), data))
    if photographs_allowed(loaded.session):
        files += [
            Attachment(
                f"frame-{frame.id}.jpg",
                "image/jpeg",
                "Source",
                say("Frame {name}", name=frame.id),
                whole_frame(frame.id, FRAME_QUALITY),
            )
            for frame in loaded.session.frames
        ]
    return files


def _measures(
    report: Report, measurements: tuple[Measurement, ...]
) -> tuple[Attachment, Attachment]:
    plain = plain_measures(measurements)
    changes = list(_changes(report))
    rows = [[one[column] for column in CSV_COLUMNS] for one in plain]
    listed = {"format": FORMAT, "measures": plain, "changes": changes}
    return (
        Attachment(
            MEASURES_JSON,
            "application/json",
            "Data",
            say("Every measure and change"),
            _as_json(listed),
        ),
        Attachment(
            MEASURES_CSV, "text/csv", "Data", say("Every measure"), safe_csv(CSV_COLUMNS, rows)
        ),
    )


def _changes(report: Report) -> Iterator[dict[str, Any]]:
    """Yield every change that is printed, once, as plain values."""
    told = set()
    pairs = (block for sheet in report.sheets for block in sheet.blocks if isinstance(block, Pair))
    for row in (row for pair in pairs for row in pair.rows):
        change = row.comparison
        if change is None:
            continue
        key = (change.before.frame, change.after.frame, change.before.measure)
        if key in told:
            continue
        told.add(key)
        yield {
            "before": change.before.frame,
            "after": change.after.frame,
            "id": change.before.measure,
            "unit": change.before.unit,
            "change": change.change,
            "plus_minus": change.plus_minus,
            "smallest_change": change.smallest_change,
            "compared_together": change.among,
            "verdict": str(change.verdict),
            "reason": change.reason,
        }


def _digests(loaded: LoadedSession) -> dict[str, Any]:
    """Return SHA-256 of everything that was read; frames by their ids, no path is told."""
    lesson, *house = loaded.layers.sources
    digests: dict[str, Any] = {LESSON_FILE: _sha256(as_bytes(lesson))}
    for source in house:
        digests[PurePosixPath(source.name).name] = _sha256(as_bytes(source))
    shots = loaded.session.seen.shots
    if shots is not None:
        digests["shots.csv"] = file_digest(loaded.folder, shots)
    digests["frames"] = {
        frame.id: file_digest(loaded.folder, frame.file) for frame in loaded.session.frames
    }
    return digests


def _build(
    loaded: LoadedSession, making: Making, digests: dict[str, Any], quality: PictureQuality
) -> Mapping[str, Any]:
    lesson = loaded.session.lesson
    return {
        "format": FORMAT,
        "copy": "record" if making.record else "handout",
        "made_with": {
            "lesson-reporter": __version__,
            "numpy": numpy.__version__,
            "pillow": PIL.__version__,
            "reportlab": version("reportlab"),
        },
        "lesson": {"id": lesson.id, "date": lesson.date.isoformat() if lesson.date else None},
        "look": {
            "layout": making.layout,
            "brand": making.brand,
            "paper": making.paper,
            "ink": making.ink,
            "sheets": making.sheets,
        },
        "pictures": {
            "for": making.purpose,
            "dots_per_inch": quality.dots_per_inch,
            "jpeg_quality": quality.jpeg_quality,
            "grey": quality.grey,
            "ink_share": quality.ink_share,
        },
        "sha256": digests,
    }


def _sha256(data: bytes) -> str:
    return hashlib.sha256(data).hexdigest()


def _as_json(content: Mapping[str, Any]) -> bytes:
    """Return JSON in a fixed order, each field and each item of a list on a line of its own.

    Not-a-number is refused, as JSON has none.
    """
    fields = []
    for name, value in content.items():
        if isinstance(value, list):
            written = "[\n" + ",\n".join(f"  {_one_line(item)}" for item in value) + "\n ]"
        else:
            written = _one_line(value)
        fields.append(f" {_one_line(name)}: {written}")
    return ("{\n" + ",\n".join(fields) + "\n}\n").encode()


# Made once: there are some hundred lines to write.
_one_line = json.JSONEncoder(ensure_ascii=False, allow_nan=False).encode
