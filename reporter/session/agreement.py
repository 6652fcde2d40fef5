"""Check that the parts of a lesson agree with each other and with its pictures."""

from collections.abc import Iterator, Mapping
from pathlib import Path

from reporter.errors import Problem
from reporter.session.frames import file_digest
from reporter.session.layers import Layers
from reporter.session.schema import Frame, Pair, Session
from reporter.units import shown
from reporter.yaml_source import Path as ValuePath


def agreement_problems(
    session: Session, layers: Layers, folder: Path, sizes: Mapping[int, tuple[int, int]]
) -> list[Problem]:
    """Return what does not fit together.

    Parameters
    ----------
    session : Session
        Its references must have been checked.
    layers : Layers
        Where the values stand.
    folder : Path
        The lesson's folder.
    sizes : mapping of int to two int
        Width and height of each frame's upright picture in pixels, by position in the list.
    """
    problems = [*_dates(session, layers)]
    for index, frame in enumerate(session.frames):
        if index in sizes:
            problems.extend(_picture(frame, index, layers, folder, sizes[index]))
    problems.extend(_practice_dates(session, layers))
    for index, pair in enumerate(session.pairs):
        problems.extend(_pair(session, pair, index, layers))
    return problems


def _dates(session: Session, layers: Layers) -> Iterator[Problem]:
    consent, lesson = session.consent, session.lesson
    if consent.until and consent.date and consent.until < consent.date:
        message = f"{consent.until} lies before the date of the consent, {consent.date}"
        yield layers.problem(("consent", "until"), message)
    following = lesson.next_lesson
    if following and lesson.date and following.day < lesson.date:
        message = f"{following.day} lies before the date of this lesson, {lesson.date}"
        yield layers.problem(("lesson", "next_lesson"), message)


def _practice_dates(session: Session, layers: Layers) -> Iterator[Problem]:
    """Check that practice lies after the lesson before, and that each day is told once."""
    last = session.last_lesson.date
    if last and session.lesson.date and last >= session.lesson.date:
        message = f"{last} does not lie before the date of this lesson, {session.lesson.date}"
        yield layers.problem(("last_lesson", "date"), message)
    seen = set()
    for index, one in enumerate(session.practised):
        here: ValuePath = ("practised", index, "date")
        if last and one.date <= last:
            message = f"{one.date} does not lie after the last lesson, {last}"
            yield layers.problem(here, message)
        if one.date in seen:
            yield layers.problem(here, f"{one.date} is told twice; one cold test a day counts")
        seen.add(one.date)


def _picture(
    frame: Frame, index: int, layers: Layers, folder: Path, size: tuple[int, int]
) -> Iterator[Problem]:
    """Compare what the file says of a picture with the picture."""
    here: ValuePath = ("frames", index)
    width, height = size
    other = "; it is another picture than the points were marked on"
    if frame.size is not None and frame.size != size:
        wrote = f"{frame.size[0]} x {frame.size[1]}"
        message = f"the upright picture is {width} x {height} pixels, not {wrote}{other}"
        yield layers.problem((*here, "size"), message)
        return
    if frame.sha256 is not None and file_digest(folder, frame.file) != frame.sha256:
        yield layers.problem((*here, "sha256"), f"the picture has another SHA-256{other}")
    for number, (left, top, right, bottom) in enumerate(frame.blur):
        if not (0 <= left < right <= width and 0 <= top < bottom <= height):
            message = (
                f"[{left:g}, {top:g}, {right:g}, {bottom:g}] is no part of the upright picture of"
                f" {width} x {height} pixels; write [left, top, right, bottom]"
            )
            yield layers.problem((*here, "blur", number), message)
    for path, (across, down) in _places(frame):
        if not (0 <= across <= width and 0 <= down <= height):
            message = (
                f"[{across:g}, {down:g}] lies outside the upright picture of {width} x {height}"
                " pixels"
            )
            yield layers.problem((*here, *path), message)


def _places(frame: Frame) -> Iterator[tuple[ValuePath, tuple[float, float]]]:
    """Yield every place marked on a frame, in pixels."""
    for name, point in frame.points.items():
        if point.at is not None:
            yield ("points", name, "at"), point.at
        for number, again in enumerate(point.again):
            yield ("points", name, "again", number), again
    for name, line in frame.lines.items():
        for end, place in enumerate(line):
            yield ("lines", name, end), place
    for number, ground_point in enumerate(frame.ground_points):
        yield ("ground_points", number, "at"), ground_point.at


def _pair(session: Session, pair: Pair, index: int, layers: Layers) -> Iterator[Problem]:
    """Check that a pair shows the same thing before and after."""
    here: ValuePath = ("pairs", index)
    chosen: dict[str, Frame] = {}
    for side in ("before", "after"):
        frame_id = getattr(pair, side)
        if frame_id is None:
            continue
        chosen[side] = frame = session.frame(frame_id)
        when = session.take_of(frame).when
        if when != side:
            message = f"the frame {shown(frame_id)} belongs to a take that is marked {when}"
            yield layers.problem((*here, side), message)
    if not chosen:
        yield layers.problem(here, "a pair needs a frame: before, after or both")
    if len(chosen) < 2:
        return
    before, after = chosen["before"], chosen["after"]
    views = session.take_of(before).view, session.take_of(after).view
    for what, (first, second) in {
        "view": views,
        "position": (before.position, after.position),
    }.items():
        if first != second:
            message = (
                f"the two frames differ in {what} ({first} and {second}); only like can be"
                " set beside like"
            )
            yield layers.problem((*here, "after"), message)
