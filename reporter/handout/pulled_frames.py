"""Pull chosen pictures of a clip into files and, if asked, into the lesson file."""

import re
import unicodedata
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import get_args

from reporter.errors import CannotWriteError, InputRefusedError, Problem
from reporter.handout.lesson_edit import open_lesson
from reporter.publish import holds, judge_target, publish
from reporter.session.schema import Position
from reporter.session.text_edit import add_key, append_item, in_block_style
from reporter.units import shown
from reporter.video import Video, jpeg_of
from reporter.yaml_source import Plain, YamlSource, read_yaml

POSITIONS: tuple[str, ...] = get_args(Position)
FRAMES_FOLDER = "frames"


@dataclass(frozen=True, slots=True)
class Pick:
    """One picture of a clip a coach has chosen.

    Attributes
    ----------
    index : int
        Of the picture in the clip.
    position : str
        The position of the swing it shows; empty if it was not said.
    """

    index: int
    position: str = ""


@dataclass(frozen=True, slots=True)
class Pulled:
    """A picture that lies on the disk now.

    Attributes
    ----------
    path : Path
        Where.
    index : int
        Of the picture in the clip.
    seconds : float
        After the clip's first picture.
    position : str
        As chosen; may be empty.
    frame : str
        Its id in the lesson file; empty if there is none.
    """

    path: Path
    index: int
    seconds: float
    position: str
    frame: str = ""


@dataclass(frozen=True, slots=True)
class Place:
    """Which clip of a lesson the pictures belong to.

    Attributes
    ----------
    take : str
        The id of a take of the lesson; empty to find it by the clip's name, or by the two below.
    when, view : str
        Of a take that is added if the lesson has none for the clip; both or none.
    """

    take: str = ""
    when: str = ""
    view: str = ""


def file_stem(name: str) -> str:
    """Return a clip's name as the start of file names: plain letters, digits, hyphens."""
    plain = unicodedata.normalize("NFKD", name.rsplit(".", 1)[0]).encode("ascii", "ignore").decode()
    return re.sub(r"[^a-z0-9]+", "-", plain.lower()).strip("-")[:40] or "clip"


def pull_into_folder(
    video: Video, picks: Sequence[Pick], folder: Path, *, force: bool = False
) -> list[Pulled]:
    """Write chosen pictures as JPEG files that hold nothing but pixels.

    Parameters
    ----------
    video : Video
        Open.
    picks : sequence of Pick
        What was chosen.
    folder : Path
        Made if missing.
    force : bool
        Replace other files of the same names.

    Raises
    ------
    CannotWriteError
        With what stands in the way; nothing is written then.
    VideoRefusedError
        If one of the pictures is damaged; nothing is written then.
    """
    stem = file_stem(video.facts.name)
    wanted = []
    for pick in picks:
        at = round(video.facts.seconds[pick.index] * 1000)
        middle = f"{pick.position}-" if pick.position else ""
        wanted.append((pick, folder / f"{stem}-{middle}{at:06d}ms.jpg"))
    return _write(video, wanted, force=force)


def _write(video: Video, wanted: list[tuple[Pick, Path]], *, force: bool) -> list[Pulled]:
    """Encode everything, ask for every file name, then write."""
    ready = [(pick, path, jpeg_of(video.frame(pick.index).pixels)) for pick, path in wanted]
    for folder in {path.parent for _, path, _ in ready}:
        try:
            folder.mkdir(parents=True, exist_ok=True)
        except OSError as error:
            message = f"cannot make the folder {folder}: {error.strerror}"
            raise CannotWriteError(message) from None
    for _, path, data in ready:
        judge_target(path, holds(data), force=force)
    done = []
    for pick, path, data in ready:
        publish(path, data, is_ours=holds(data), force=force)
        done.append(Pulled(path, pick.index, video.facts.seconds[pick.index], pick.position))
    return done


def pull_into_lesson(
    video: Video, picks: Sequence[Pick], lesson: Path, place: Place, *, force: bool = False
) -> list[Pulled]:
    """Write chosen pictures beside a lesson file and add them to it; comments and order stay.

    Parameters
    ----------
    video : Video
        Open.
    picks : sequence of Pick
        Each with its position.
    lesson : Path
        The lesson file, or the folder with its ``session.yaml``.
    place : Place
        Which take of the lesson the pictures belong to.
    force : bool
        Replace other files of the same names; the lesson's own entries are never replaced.

    Raises
    ------
    InputRefusedError
        If the lesson has mistakes, lacks the take, or has such a frame already.
    CannotWriteError
        With what stands in the way.

    Notes
    -----
    Pictures first, the lesson file last and whole: whatever stops the program in between leaves a
    valid lesson.
    """
    opened = open_lesson(lesson)
    source, take = _with_take(opened.source, video.facts.name, place)
    taken = {_field(frame, "id") for frame in _listed(source, "frames")}
    problems = []
    for pick in picks:
        if pick.position not in POSITIONS:
            message = f"{shown(pick.position)} is not one of {', '.join(POSITIONS)}"
            problems.append(Problem("command line", 0, 0, "position", message))
        elif f"{take}-{pick.position}" in taken:
            message = (
                f"the lesson has a frame {shown(f'{take}-{pick.position}')} already; take it out"
                " first, or pull the picture without --lesson"
            )
            problems.append(source.problem(("frames",), message))
    if len({pick.position for pick in picks}) < len(picks):
        message = "a position is chosen twice"
        problems.append(Problem("command line", 0, 0, "position", message))
    if problems:
        raise InputRefusedError(problems)
    names = [f"{FRAMES_FOLDER}/{take}-{pick.position}.jpg" for pick in picks]
    wanted = [(pick, opened.path.parent / name) for pick, name in zip(picks, names, strict=True)]
    pulled = _write(video, wanted, force=force)
    done = []
    for one, name in zip(pulled, names, strict=True):
        frame_id = f"{take}-{one.position}"
        entry: dict[str, Plain] = {
            "id": frame_id, "take": take, "position": one.position, "file": name,
            "from_video": {
                "name": video.facts.name, "seconds": _written(one.seconds),
                "sha256": video.facts.sha256,
            },
        }  # fmt: skip
        source = _appended(source, "frames", entry)
        done.append(Pulled(one.path, one.index, one.seconds, one.position, frame_id))
    opened.write(source)
    return done


def _written(seconds: float) -> str:
    """Return a time as the lesson file holds it: to the microsecond, without idle zeros."""
    return f"{seconds:.6f}".rstrip("0").rstrip(".") or "0"


def _listed(source: YamlSource, name: str) -> list[dict[str, Plain]]:
    listed = source.value.get(name) if isinstance(source.value, dict) else None
    return [item for item in listed or () if isinstance(item, dict)]


def _field(item: dict[str, Plain], name: str) -> str:
    value = item.get(name)
    return value if isinstance(value, str) else ""


def _with_take(source: YamlSource, video: str, place: Place) -> tuple[YamlSource, str]:
    """Return the lesson with a take for the clip, and the take's id."""
    takes = _listed(source, "takes")
    ids = [_field(take, "id") for take in takes]
    chosen = place.take
    if not chosen:
        named = [_field(take, "id") for take in takes if _field(take, "video") == video]
        if len(named) == 1:
            chosen = named[0]
        elif place.when and place.view:
            chosen = f"{place.when}-{place.view}"
            if chosen not in ids:
                entry: dict[str, Plain] = {
                    "id": chosen, "when": place.when, "view": place.view, "video": video
                }  # fmt: skip
                return _appended(source, "takes", entry), chosen
    if chosen not in ids:
        there = f"there are {', '.join(ids)}" if ids else "there are none"
        what = f"no take has the id {shown(chosen)}" if chosen else f"no take is of {shown(video)}"
        message = f"{what}; {there}; name one with --take, or say --when and --view for a new one"
        raise InputRefusedError([source.problem(source.written(("takes",)), message)])
    index = ids.index(chosen)
    if not _field(takes[index], "video"):
        if "video" in takes[index]:
            return source, chosen  # written and left empty: the coach's own wish
        source = add_key(source, ("takes", index), "video", video)
    return source, chosen


def _appended(source: YamlSource, name: str, entry: dict[str, Plain]) -> YamlSource:
    """Return the file with an item added to a list at its top level, which may be missing."""
    if (name,) in source.nodes:
        return append_item(source, (name,), entry)
    if source.nodes[()].style == "flow":
        return add_key(source, (), name, [entry])
    newline = "\r\n" if "\r\n" in source.text else "\n"
    text = source.text if source.text.endswith("\n") or not source.text else source.text + newline
    block = in_block_style({name: [entry]}).replace("\n", newline)
    mark = b"\xef\xbb\xbf" if source.byte_order_mark else b""
    return read_yaml(mark + (text + newline + block).encode("utf-8"), source.name)
