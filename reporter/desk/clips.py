"""The folder's clips: shown picture by picture, looked through for the swing, pulled from."""

import threading
from collections.abc import Callable
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any, TypeVar

from reporter.desk.view import files_in
from reporter.errors import CannotWriteError, ExtraMissingError, ReporterError
from reporter.publish import publish
from reporter.session.scaffold import picture_named

ENDINGS = (".mp4", ".mov", ".m4v", ".mkv", ".webm", ".avi", ".ts", ".mts")
PLACES = ("", "clips", "videos")
LONGEST_SHOWN_PX = 1_080
SMALL_PX = 200
FRAMES_FOLDER = "frames"
MOST_OPEN = 4

Result = TypeVar("Result")


class ClipError(ReporterError):
    """A clip that is not there or not so long."""


@dataclass
class _Clip:
    """One clip; its decoder is used by one thread at a time."""

    file: str
    lock: threading.Lock = field(default_factory=threading.Lock)
    video: Any = None
    refused: str = ""
    proposals: list[dict[str, Any]] | None = None
    notes: tuple[str, ...] = ()


class Clips:
    """The clips of one folder, by number; opened when they are first asked for."""

    def __init__(self, folder: Path) -> None:
        self._folder = folder
        self._clips: list[_Clip] = []
        self._lock = threading.Lock()

    def listed(self) -> list[dict[str, Any]]:
        """Return what is known of each clip without opening it; new files get further numbers."""
        with self._lock:
            known = {clip.file for clip in self._clips}
            for file in files_in(self._folder, ENDINGS, PLACES):
                if file not in known:
                    self._clips.append(_Clip(file))
            present = [
                (number, clip) for number, clip in enumerate(self._clips)
                if (self._folder / clip.file).is_file()
            ]  # fmt: skip
        told = []
        for number, clip in present:
            named = picture_named(clip.file)
            told.append(
                {
                    "number": number,
                    "file": clip.file,
                    "name": clip.file.rsplit("/", 1)[-1],
                    "when": named.when,
                    "view": named.view,
                }
            )
        return told

    def described(self, number: int) -> dict[str, Any]:
        """Open a clip and say what it is.

        Raises
        ------
        ReporterError
            If it cannot be read, with the reason; or if the part that reads video is missing.
        """

        def tell(video: Any) -> dict[str, Any]:  # noqa: ANN401 - a reporter.video.Video
            facts = video.facts
            return {
                "number": number,
                "file": self._clip(number).file,
                "count": facts.frame_count,
                "seconds": facts.duration_seconds,
                "times": [round(one, 4) for one in facts.seconds],
                "size": [facts.width, facts.height],
                "rate": facts.shown_rate,
                "variable": facts.variable_rate,
                "slowed": facts.slowed,
                "notes": list(facts.notes),
            }

        return self._with(number, tell)

    def proposed(self, number: int) -> dict[str, Any]:
        """Look through a clip for a swing; nothing is decided by it."""
        clip = self._clip(number)

        def look(video: Any) -> dict[str, Any]:  # noqa: ANN401
            if clip.proposals is None:
                from reporter.video.propose import propose

                found = propose(video)
                clip.notes = found.notes
                clip.proposals = [
                    {
                        "position": one.moment,
                        "index": one.index,
                        "confidence": one.confidence,
                        "why": one.why,
                    }
                    for one in found.found
                ]
            return {"number": number, "proposals": clip.proposals, "notes": list(clip.notes)}

        return self._with(number, look)

    def jpeg(self, number: int, index: int, *, small: bool) -> bytes:
        """Return one picture of a clip, counted from 0, no larger than the page shows it."""
        from reporter.video import jpeg_of

        longest = SMALL_PX if small else LONGEST_SHOWN_PX

        def show(video: Any) -> bytes:  # noqa: ANN401
            if not 0 <= index < video.facts.frame_count:
                message = f"the clip has {video.facts.frame_count} pictures"
                raise ClipError(message)
            still = next(iter(video.stills([index], longest)))
            return bytes(jpeg_of(still.pixels))

        return self._with(number, show)

    def pull(self, number: int, index: int, name: str) -> tuple[str, str, str, str]:
        """Write one picture of a clip into the lesson's folder.

        Parameters
        ----------
        number, index : int
            Clip and picture.
        name : str
            How the file shall be called, without folder and ending.

        Returns
        -------
        tuple of four str
            The picture's file; the clip's name, the picture's time in it, the clip's SHA-256.

        Raises
        ------
        CannotWriteError
            If the folder cannot be written.
        """
        from reporter.video import jpeg_of

        def cut(video: Any) -> tuple[bytes, float, str, str]:  # noqa: ANN401
            if not 0 <= index < video.facts.frame_count:
                message = f"the clip has {video.facts.frame_count} pictures"
                raise ClipError(message)
            still = video.frame(index)
            facts = video.facts
            return bytes(jpeg_of(still.pixels)), float(still.seconds), facts.name, facts.sha256

        data, seconds, clip, digest = self._with(number, cut)
        file = _written(self._folder, name, data)
        return file, clip, f"{seconds:.6f}".rstrip("0").rstrip(".") or "0", digest

    def _clip(self, number: int) -> _Clip:
        if not 0 <= number < len(self._clips):
            message = "there is no such clip"
            raise ClipError(message)
        return self._clips[number]

    def _with(self, number: int, action: Callable[[Any], Result]) -> Result:
        """Do something with an open clip, one thread at a time."""
        clip = self._clip(number)
        with clip.lock:
            if clip.video is None:
                clip.video = self._opened(clip)
            result = action(clip.video)
        self._close_others(number)
        return result

    def _opened(self, clip: _Clip) -> Any:  # noqa: ANN401
        try:
            from reporter.video import open_video_inside
        except ImportError:
            extra, purpose = "video", "reading a video"
            raise ExtraMissingError(extra, purpose) from None
        return open_video_inside(self._folder, clip.file)

    def close(self) -> None:
        """Let go of every decoder; its threads must not outlive the program."""
        for clip in self._clips:
            with clip.lock:
                if clip.video is not None:
                    clip.video.close()
                    clip.video = None

    def _close_others(self, number: int) -> None:
        """Keep few decoders warm: each holds many pictures in memory."""
        with self._lock:
            warm = [n for n, clip in enumerate(self._clips) if clip.video is not None]
        for other in [n for n in warm if n != number][: max(len(warm) - MOST_OPEN, 0)]:
            clip = self._clips[other]
            if clip.lock.acquire(blocking=False):
                try:
                    clip.video.close()
                    clip.video = None
                finally:
                    clip.lock.release()


def _written(folder: Path, name: str, data: bytes) -> str:
    """Write a picture under a free name; the same picture is not written twice."""
    inside = folder / FRAMES_FOLDER
    try:
        inside.mkdir(exist_ok=True)
    except OSError as error:
        message = f"cannot make the folder {FRAMES_FOLDER}: {error.strerror}"
        raise CannotWriteError(message) from None
    for number in range(1, 1_000):
        file = inside / (f"{name}.jpg" if number == 1 else f"{name}-{number}.jpg")
        if file.is_file() and file.read_bytes() == data:
            break
        if not file.exists() and not file.is_symlink():
            publish(file, data)
            break
    else:
        message = f"there are too many pictures called {name}"
        raise CannotWriteError(message)
    return f"{FRAMES_FOLDER}/{file.name}"
