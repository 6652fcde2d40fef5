"""Write a pose model's first guesses into a lesson file, as points nobody has confirmed."""

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from reporter.errors import InputRefusedError, Problem
from reporter.handout.lesson_edit import open_lesson
from reporter.measure.propose import PoseModel, proposed_points
from reporter.session.frames import open_frame
from reporter.session.text_changes import put
from reporter.units import shown
from reporter.yaml_source import Plain


@dataclass(frozen=True, slots=True)
class Proposed:
    """What was proposed on one frame.

    Attributes
    ----------
    frame : str
        Its id.
    points : tuple of str
        Names of the points, in the order written; none where no person was found.
    """

    frame: str
    points: tuple[str, ...]


def propose_into_lesson(
    lesson: Path, model: PoseModel, chosen: Sequence[str] = ()
) -> list[Proposed]:
    """Add a first guess for every point that is missing on a lesson's frames.

    Parameters
    ----------
    lesson : Path
        The lesson file, or the folder with its ``session.yaml``.
    model : PoseModel
        Whose guesses.
    chosen : sequence of str
        Ids of the frames; all but those of the feet if left out.

    Returns
    -------
    list of Proposed
        One for each frame looked at. Points already in the lesson are never touched.

    Raises
    ------
    InputRefusedError
        If the lesson has mistakes or lacks a frame, or a picture cannot be used.
    CannotWriteError
        If the lesson file cannot be written; it is untouched then.
    """
    opened = open_lesson(lesson)
    path, session, source = opened.path, opened.loaded.session, opened.source
    unknown = [name for name in chosen if name not in {frame.id for frame in session.frames}]
    if unknown:
        there = ", ".join(frame.id for frame in session.frames)
        message = f"no frame has the id {', '.join(map(shown, unknown))}; there are {there}"
        raise InputRefusedError([Problem(str(path), 0, 0, "frames", message)])
    done = []
    for index, frame in enumerate(session.frames):
        take = session.take_of(frame)
        if (chosen and frame.id not in chosen) or take.view == "feet":
            continue
        picture = np.asarray(open_frame(opened.loaded.folder, frame.file).image.convert("RGB"))
        found = proposed_points(frame, take, session.student.plays, picture, model)
        for name, (across, down) in found.items():
            value: Plain = {"at": [f"{across:.0f}", f"{down:.0f}"], "confirmed": "no"}
            source = put(source, ("frames", index, "points", name), value)
        done.append(Proposed(frame.id, tuple(found)))
    if any(one.points for one in done):
        opened.write(source)
    return done
