"""Take a picture into the lesson: its clip, its frame, and the pair it completes."""

import re
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any, get_args

from reporter.desk.asks import suggested
from reporter.desk.lesson_file import Edit, EditRefusedError
from reporter.session.schema import Position, View, When

POSITIONS: tuple[str, ...] = get_args(Position)
VIEWS: tuple[str, ...] = get_args(View)
WHENS: tuple[str, ...] = get_args(When)


@dataclass(frozen=True, slots=True)
class NewFrame:
    """A picture to be taken into the lesson.

    Attributes
    ----------
    when, view, position : str
        As the lesson file names them.
    file : str
        The picture.
    video : str
        Name of the clip it comes from, without folder; empty if from none.
    seconds : str
        Its time after the clip's first picture, empty if from none.
    video_sha256 : str
        Of the clip's whole file, empty if from none.
    """

    when: str
    view: str
    position: str
    file: str
    video: str = ""
    seconds: str = ""
    video_sha256: str = ""

    def __post_init__(self) -> None:
        """Refuse words that the lesson file does not know, by an `EditRefusedError`."""
        allowed = ((self.when, WHENS), (self.view, VIEWS), (self.position, POSITIONS))
        for word, words in allowed:
            if word not in words:
                message = f"{word[:40]!r} is not one of {', '.join(words)}"
                raise EditRefusedError(message)


def _listed(values: dict[str, Any], name: str) -> list[dict[str, Any]]:
    found = values.get(name)
    return [one for one in found if isinstance(one, dict)] if isinstance(found, list) else []


def adding_edits(values: dict[str, Any], new: NewFrame) -> list[Edit]:
    """Return the edits that take a picture in.

    Parameters
    ----------
    values : dict
        The lesson's plain values.
    new : NewFrame
        If the same clip has a frame of that position already, the new picture takes its place
        and the points marked on the old one go.
    """
    edits: list[Edit] = []
    take = _take_for(values, new)
    if take is None:
        takes = _listed(values, "takes")
        take = _free_id(f"{new.when}-{new.view}", [one.get("id") for one in takes])
        fields = {"id": take, "when": new.when, "view": new.view}
        if new.video:
            fields["video"] = new.video
        edits.append(_appended(values, "takes", fields))
    frames = _listed(values, "frames")
    old = next(
        (one for one in frames if one.get("take") == take and one.get("position") == new.position),
        None,
    )
    if old is not None and isinstance(old.get("id"), str):
        return [*edits, *_replacing(old, new)]
    name = _free_id(f"{take}-{new.position}", [one.get("id") for one in frames])
    frame = {"id": name, "take": take, "position": new.position, **_fields(new)}
    edits.append(_appended(values, "frames", frame))
    pair = _completed_pair(values, new, name)
    if pair is not None:
        edits.append(_appended(values, "pairs", pair))
    return edits


def _fields(new: NewFrame) -> dict[str, Any]:
    """Return file and origin of a picture as the lesson file holds them."""
    if not new.video:
        return {"file": new.file}
    origin = {"name": new.video, "seconds": new.seconds, "sha256": new.video_sha256}
    return {"file": new.file, "from_video": origin}


def _appended(values: dict[str, Any], name: str, item: dict[str, Any]) -> Edit:
    count = len(values[name]) if isinstance(values.get(name), list) else 0
    return Edit("insert", (name,), item, count, count, knows_was=True)


def _take_for(values: dict[str, Any], new: NewFrame) -> str | None:
    """Return the clip a picture belongs to, None if it is not in the lesson yet."""
    for take in _listed(values, "takes"):
        same = (take.get("when"), take.get("view")) == (new.when, new.view)
        if same and take.get("video", "") == new.video and isinstance(take.get("id"), str):
            return str(take["id"])
    return None


def _free_id(wanted: str, taken: Sequence[object]) -> str:
    """Return an id nobody has yet."""
    base = re.sub(r"[^A-Za-z0-9._-]+", "-", wanted)[:56]
    if base not in taken:
        return base
    return next(f"{base}-{n}" for n in range(2, 1_000) if f"{base}-{n}" not in taken)


def _replacing(old: dict[str, Any], new: NewFrame) -> list[Edit]:
    where = ("frames", {"id": old["id"]})
    edits = [
        Edit("put", (*where, name), value, 0, old.get(name), knows_was=True)
        for name, value in _fields(new).items()
    ]
    gone = ("points", "lines", "ground_points", "blur", "size", "seconds", "sha256")
    stale = [*gone, *(("from_video",) if not new.video else ())]
    edits += [
        Edit("remove", (*where, name), None, 0, old.get(name), knows_was=True)
        for name in stale
        if name in old
    ]
    return edits


def _completed_pair(values: dict[str, Any], new: NewFrame, name: str) -> dict[str, Any] | None:
    """Return the pair that a new frame makes with one of the other time, None if there is none."""
    takes = {one.get("id"): one for one in _listed(values, "takes")}
    paired = {pair.get(side) for pair in _listed(values, "pairs") for side in WHENS}
    for frame in _listed(values, "frames"):
        take = takes.get(frame.get("take"), {})
        fits = take.get("view") == new.view and frame.get("position") == new.position
        if fits and take.get("when") in WHENS and take["when"] != new.when:
            other = frame.get("id")
            if other in paired:
                continue
            sides = {new.when: name, take["when"]: other}
            pair: dict[str, Any] = {"before": sides["before"], "after": sides["after"]}
            measures = suggested(new.view, new.position)
            return {**pair, "measures": list(measures)} if measures else pair
    return None
