"""The lesson file as it travels in the student's copy: only what may be handed on, by list.

The copy is written anew from the values instead of cutting parts out of the coach's text: a
comment, a blank line's length or a field that a later release adds can then tell nothing, since
nothing gets in that is not on the list. What is lost are comments, order and quoting, which the
record keeps (there the file lies as it is).
"""

from typing import Literal

from reporter.session.load import LoadedSession
from reporter.session.text_edit import in_block_style
from reporter.story.wording import first_name
from reporter.yaml_source import Plain

Whole = Literal["whole"]
WHOLE: Whole = "whole"
Allowed = Whole | dict[str, "Allowed"]

HANDED_ON: dict[str, Allowed] = {
    "format": WHOLE,
    "lesson": {
        "id": WHOLE,
        "date": WHOLE,
        "coach": WHOLE,
        "academy": WHOLE,
        "place": WHOLE,
        "next_lesson": WHOLE,
        "kind": WHOLE,
        "video_link": WHOLE,
    },
    "student": {
        "name": WHOLE,
        "age_band": WHOLE,
        "plays": WHOLE,
        "level": WHOLE,
        "language": WHOLE,
        "units": WHOLE,
        "speed_units": WHOLE,
    },
    "takes": {
        "id": WHOLE,
        "when": WHOLE,
        "view": WHOLE,
        "club": WHOLE,
        "camera": WHOLE,
        "mirrored": WHOLE,
        "camera_height": WHOLE,
        "stick": WHOLE,
    },
    "frames": {
        "id": WHOLE,
        "take": WHOLE,
        "position": WHOLE,
        "seconds": WHOLE,
        "size": WHOLE,
        "sha256": WHOLE,
        "points": WHOLE,
        "lines": WHOLE,
        "ground_points": WHOLE,
        "blur": WHOLE,
        "refine": WHOLE,
    },
    "seen": {
        "club": WHOLE,
        "head_speed": WHOLE,
        "start": WHOLE,
        "bend": WHOLE,
        "landing": WHOLE,
        "how": WHOLE,
        "shots_counted": WHOLE,
    },
    "wanted": WHOLE,
    "pairs": WHOLE,
    "thoughts": WHOLE,
    "drills": WHOLE,
    "plan": WHOLE,
    "last_lesson": WHOLE,
    "practised": WHOLE,
    "student_words": WHOLE,
    "notes": WHOLE,
    "refine": WHOLE,
}
KEPT_BACK = frozenset(
    {
        "lesson.brand",
        "lesson.layout",
        "student.id",
        "student.avoid",
        "student.sport_hours_a_week",
        "student.age",
        "consent",
        "takes.video",
        "frames.from_video",
        "frames.file",
        "seen.shots",
        "private_notes",
        "silence",
    }
)
"""Every other field, so that a new one has to be decided on. ``frames.file`` is told as the
frame's id; ``lesson.brand`` and ``seen.shots`` may be paths."""
HEADING = (
    "# The lesson behind this handout. Left out: private notes, what to avoid, consent, advice\n"
    "# silenced, and where pictures, clips and tables of shots lie.\n"
)


def lesson_to_hand_on(loaded: LoadedSession) -> bytes:
    """Return the lesson with the academy's and the coach's values, as far as it may be handed on.

    Parameters
    ----------
    loaded : LoadedSession
        A checked lesson.

    Returns
    -------
    bytes
        YAML in UTF-8, of the lesson file's format; every value as the coach typed it.
    """
    kept = _kept(loaded.layers.merged(), HANDED_ON)
    if not isinstance(kept, dict):
        kept = {}
    student = kept.get("student")
    if isinstance(student, dict) and "name" in student:
        student["name"] = first_name(loaded.session)
    frames = kept.get("frames")
    for frame in frames if isinstance(frames, list) else ():
        if isinstance(frame, dict):
            frame["file"] = f"{frame['id']}.jpg"
    return (HEADING + in_block_style(kept)).encode("utf-8")


def _kept(value: Plain, allowed: Allowed) -> Plain:
    """Return what of a value is allowed; a list's items are judged alike."""
    if allowed == WHOLE:
        return value
    if isinstance(value, list):
        return [_kept(item, allowed) for item in value]
    if isinstance(value, dict):
        return {
            name: _kept(value[name], inner)
            for name, inner in allowed.items()
            if value.get(name) is not None
        }
    return None
