"""Open a clip and hand out its pictures, each by its own time; the decoder stays warm."""

from bisect import bisect_right
from collections import OrderedDict
from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction
from pathlib import Path
from types import TracebackType
from typing import Any, BinaryIO, Self

from reporter.errors import ExtraMissingError
from reporter.safe_open import ReferenceRefusedError, open_given, open_inside
from reporter.units import shown
from reporter.video.container import LARGEST_FILE_BYTES, Judged, VideoRefusedError, judge
from reporter.video.facts import VideoFacts
from reporter.video.pixels import Pixels, Turn, brightness, colours, turn_of_matrix

LONGEST_SECONDS = 1_800.0
MOST_FRAMES = 240_000
MOST_PIXELS = 40_000_000
SHORTEST_SIDE = 64
_CACHE_BYTES = 192 * 1024 * 1024
_ROLL_ON = 12  # decoding so many pictures more is cheaper than seeking
_MISSING_SHARE = 0.02


@dataclass(frozen=True, slots=True)
class Still:
    """One picture of a clip.

    Attributes
    ----------
    index : int
        Counted from 0 in the order of showing.
    seconds : float
        When it is shown, after the clip's first picture.
    pixels : ndarray of uint8
        Upright; shape (height, width, 3) in red, green, blue, or (height, width) for brightness.
    """

    index: int
    seconds: float
    pixels: Pixels


def open_video(path: Path) -> "Video":
    """Open a clip whose path the coach typed.

    Parameters
    ----------
    path : Path
        A regular file; never an address.

    Returns
    -------
    Video
        Open; close it, or use it in a ``with`` block.

    Raises
    ------
    VideoRefusedError
        Missing, no video, cut off, damaged, without pictures, too long or too large.
    ExtraMissingError
        If the part of the program that reads video is not installed.
    """
    _library()
    try:
        opened = open_given(path)
    except ReferenceRefusedError as error:
        raise VideoRefusedError(str(path), error.reason) from None
    return _opened(opened, path.name)


def open_video_inside(folder: Path, name: str) -> "Video":
    """Open a clip that lies inside a folder, never following a link; see `open_video`."""
    _library()
    try:
        opened = open_inside(folder, name, LARGEST_FILE_BYTES)
    except ReferenceRefusedError as error:
        raise VideoRefusedError(name, error.reason) from None
    return _opened(opened, name.rsplit("/", 1)[-1])


def _library() -> Any:  # noqa: ANN401 - the module
    """Import the decoding library, or say how to get it."""
    try:
        import av
    except ImportError:
        extra, purpose = "video", "reading a video"
        raise ExtraMissingError(extra, purpose) from None
    return av


def _opened(opened: BinaryIO, name: str) -> "Video":
    try:
        return Video(opened, judge(opened, name), name)
    except BaseException:
        opened.close()
        raise


def _no_other_file(url: str, flags: int, options: object) -> None:
    """Refuse whatever a clip wants opened beside itself."""
    raise PermissionError(url)


class Video:
    """An open clip; not to be used from two threads at once.

    Attributes
    ----------
    facts : VideoFacts
        What it is, and when each picture is shown.
    """

    facts: VideoFacts

    def __init__(self, opened: BinaryIO, judged: Judged, name: str) -> None:
        self._opened = opened
        self._name = name
        self._cache: OrderedDict[int, Any] = OrderedDict()
        self._decoding: Iterator[tuple[int, Any]] | None = None
        self._at = -1
        av = _library()
        try:
            self._container = av.open(
                opened, "r", format=judged.reader, io_open=_no_other_file,
                options={"protocol_whitelist": "none"}, metadata_errors="replace",
            )  # fmt: skip
        except Exception as error:  # a reader fed a damaged file may raise nearly anything
            raise VideoRefusedError(name, _damaged(name, error)) from None
        try:
            self._read_facts(judged)
        except VideoRefusedError:
            self._container.close()
            raise
        except Exception as error:
            self._container.close()
            raise VideoRefusedError(name, _damaged(name, error)) from None

    def __enter__(self) -> Self:
        """Return the open clip."""
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        """Close the clip."""
        self.close()

    def close(self) -> None:
        """Let go of the decoder and the file."""
        self._decoding = None
        self._cache.clear()
        self._container.close()
        self._opened.close()

    def frame(self, index: int) -> Still:
        """Return one picture by its index, counted from 0.

        Raises
        ------
        IndexError
            If the clip has no such picture: a fault of the caller.
        VideoRefusedError
            If the picture is damaged.
        """
        size = (self.facts.width, self.facts.height)
        pixels = colours(self._raw(index), self._turn, size)
        return Still(index, self.facts.seconds[index], pixels)

    def frame_at(self, seconds: float) -> Still:
        """Return the picture nearest to a time in seconds after the first picture."""
        return self.frame(self.facts.index_at(seconds))

    def grey_frames(
        self,
        longest_side_px: int = 320,
        first: int = 0,
        last: int | None = None,
        least_step_seconds: float = 0.0,
    ) -> Iterator[Still]:
        """Yield small pictures of brightness, in the order of showing.

        Parameters
        ----------
        longest_side_px : int
            Of the small picture; smaller clips keep their size.
        first, last : int
            Indexes of the first and the last picture; to the end of the clip if left out.
        least_step_seconds : float
            Pictures nearer to the one before than that are passed over.

        Raises
        ------
        VideoRefusedError
            If more than one picture in fifty cannot be decoded, at the end.
        """
        width, height = self.facts.width, self.facts.height
        scale = min(1.0, longest_side_px / max(width, height))
        size = max(round(width * scale), 1), max(round(height * scale), 1)
        end = self.facts.frame_count - 1 if last is None else last
        due = float("-inf")
        for index, frame in self._rolling(first, end):
            seconds = self.facts.seconds[index]
            if seconds >= due:
                due = seconds + least_step_seconds * (1 - 1e-6)
                yield Still(index, seconds, brightness(frame, self._turn, size))

    def stills(self, indexes: list[int], longest_side_px: int) -> Iterator[Still]:
        """Yield chosen pictures small and in colour; indexes must rise."""
        width, height = self.facts.width, self.facts.height
        scale = min(1.0, longest_side_px / max(width, height))
        size = max(round(width * scale), 1), max(round(height * scale), 1)
        for index in indexes:
            pixels = colours(self._raw(index), self._turn, size)
            yield Still(index, self.facts.seconds[index], pixels)

    def _rolling(self, first: int, last: int) -> Iterator[tuple[int, Any]]:
        """Yield decoded pictures one after the other, even if others are asked for meanwhile."""
        expected, missing = first, 0
        mine: Iterator[tuple[int, Any]] | None = None
        left_at = -1
        while expected <= last:
            if mine is None or mine is not self._decoding or self._at != left_at:
                mine = self._seek(expected)
            index, frame = next(mine, (last + 1, None))
            if frame is None:
                missing += last + 1 - expected
                break
            self._at = left_at = index
            if index < expected:
                continue
            missing += index - expected
            expected = index + 1
            if index <= last:
                yield index, frame
        if missing > _MISSING_SHARE * (last + 1 - first):
            reason = (
                f"{shown(self._name)} is damaged: {missing} of its {last + 1 - first} pictures"
                " cannot be read; copy it again"
            )
            raise VideoRefusedError(self._name, reason)

    def _raw(self, index: int) -> Any:  # noqa: ANN401 - av.VideoFrame
        """Return a decoded picture, from the cache or by decoding up to it."""
        if not 0 <= index < self.facts.frame_count:
            message = f"the clip has {self.facts.frame_count} pictures, none of index {index}"
            raise IndexError(message)
        if index in self._cache:
            self._cache.move_to_end(index)
            return self._cache[index]
        if self._decoding is None or not self._is_ahead(index):
            self._seek(index)
        assert self._decoding is not None
        for at, frame in self._decoding:
            self._at = at
            self._keep(at, frame)
            if at == index:
                return frame
            if at > index:
                break
        reason = (
            f"{shown(self._name)} is damaged at {self.facts.seconds[index]:.3f} s: that picture"
            " cannot be read; take another, or copy the file again"
        )
        raise VideoRefusedError(self._name, reason)

    def _is_ahead(self, index: int) -> bool:
        """Return whether decoding on is the shortest way to a picture."""
        if index <= self._at:
            return False
        return index - self._at <= _ROLL_ON or self._keyframe_before(index) <= self._at

    def _keyframe_before(self, index: int) -> int:
        at = bisect_right(self.facts.keyframes, index)
        return self.facts.keyframes[at - 1] if at else 0

    def _keep(self, index: int, frame: Any) -> None:  # noqa: ANN401
        self._cache[index] = frame
        self._cache.move_to_end(index)
        most = max(4, _CACHE_BYTES // max(self._frame_bytes, 1))
        while len(self._cache) > most:
            self._cache.popitem(last=False)

    def _seek(self, index: int) -> Iterator[tuple[int, Any]]:
        """Begin decoding so that a picture will come; return the pictures from there on."""
        start = self._keyframe_before(index)
        while True:
            self._container.seek(
                self.facts.ticks[start], stream=self._stream, backward=True, any_frame=False
            )
            decoding = self._decoded()
            first = next(decoding, None)
            if first is not None and first[0] <= index or start == 0:
                break
            start = self._keyframe_before(start - 1)  # the file's own table pointed too late
        self._decoding = _put_back(first, decoding)
        self._at = first[0] - 1 if first is not None else -1
        return self._decoding

    def _decoded(self) -> Iterator[tuple[int, Any]]:
        """Yield index and picture from wherever the container stands; damage ends a packet."""
        av = _library()
        for packet in self._container.demux(self._stream):
            try:
                frames = packet.decode()
            except av.error.FFmpegError:
                continue
            for frame in frames:
                index = self._index_of.get(frame.pts)
                if index is None:
                    continue
                if (frame.width, frame.height) != self._stored_size:
                    reason = (
                        f"{shown(self._name)} changes its size on the way, from"
                        f" {self._stored_size[0]} x {self._stored_size[1]} to {frame.width} x"
                        f" {frame.height} pixels; only clips of one size are read"
                    )
                    raise VideoRefusedError(self._name, reason)
                yield index, frame

    def _read_facts(self, judged: Judged) -> None:
        """Read what the file says about itself and the time of every picture."""
        name, container = self._name, self._container
        streams = [one for one in container.streams.video if not _is_cover(one)]
        if not streams:
            what = "only sound" if container.streams.audio else "no pictures"
            raise VideoRefusedError(name, f"{shown(name)} holds {what}; name a video")
        self._stream = stream = streams[0]
        codec = stream.codec_context
        if codec is None:
            raise VideoRefusedError(name, f"{shown(name)} is coded in a way that is not read")
        self._stored_size = (codec.width, codec.height)
        _judge_size(self._stored_size, name)
        codec.options = {"max_pixels": str(MOST_PIXELS)}
        stream.thread_type = "AUTO"
        ticks, keys, last_ticks = _frame_table(container, stream, name)
        self._index_of = {tick: index for index, tick in enumerate(ticks)}
        tick_seconds = Fraction(stream.time_base)
        _judge_length(stream, ticks, tick_seconds, name)
        container.seek(ticks[0], stream=stream, backward=True, any_frame=False)
        index, first = next(self._decoded(), (-1, None))
        if first is None:
            raise VideoRefusedError(name, f"{shown(name)} holds no picture that can be read")
        notes: list[str] = []
        self._turn = _turn(first, notes)
        width, height = _square_pixels(stream, self._stored_size)
        if self._turn.exchanges_sides:
            width, height = height, width
        self._frame_bytes = sum(plane.buffer_size for plane in first.planes)
        self.facts = VideoFacts(
            name=name,
            sha256=judged.sha256,
            size_bytes=judged.size_bytes,
            container=judged.kind,
            codec=codec.name,
            width=width,
            height=height,
            turn_degrees=self._turn.quarters * 90,
            mirrored=self._turn.flipped,
            ticks=ticks,
            tick_seconds=tick_seconds,
            keyframes=tuple(sorted(self._index_of[key] for key in keys)),
            last_shown_seconds=float(last_ticks * tick_seconds),
            recorded_rate=_recorded_rate(container, stream),
            high_range=first.format.components[0].bits > 8,
            notes=tuple(notes),
        )
        self._seek(index)


def _put_back(
    first: tuple[int, Any] | None, rest: Iterator[tuple[int, Any]]
) -> Iterator[tuple[int, Any]]:
    if first is not None:
        yield first
        yield from rest


def _is_cover(stream: Any) -> bool:  # noqa: ANN401
    """Return whether a stream is a cover picture of a sound file."""
    return "attached_pic" in str(stream.disposition).lower()


def _judge_size(size: tuple[int, int], name: str) -> None:
    width, height = size
    if not width or not height:
        raise VideoRefusedError(name, f"{shown(name)} does not tell how large its pictures are")
    if width * height > MOST_PIXELS:
        reason = (
            f"{shown(name)} has pictures of {width} x {height} pixels; at most"
            f" {MOST_PIXELS // 1_000_000} million pixels are read"
        )
        raise VideoRefusedError(name, reason)
    if min(size) < SHORTEST_SIDE:
        reason = (
            f"{shown(name)} has pictures of {width} x {height} pixels, too small for a page; each"
            f" side needs at least {SHORTEST_SIDE}"
        )
        raise VideoRefusedError(name, reason)


def _frame_table(
    container: Any,
    stream: Any,
    name: str,  # noqa: ANN401
) -> tuple[tuple[int, ...], list[int], int]:
    """Return when each picture is shown, which are keyframes, and how long the last is shown."""
    times: dict[int, int] = {}
    keys: list[int] = []
    untimed = 0
    for packet in container.demux(stream):
        if packet.size == 0 or packet.is_discard:
            continue  # the end; or a picture the file itself leaves out
        at = packet.pts if packet.pts is not None else packet.dts
        if at is None:
            untimed += 1
            continue
        times[at] = packet.duration or 0
        if packet.is_keyframe:
            keys.append(at)
        if len(times) > MOST_FRAMES:
            reason = (
                f"{shown(name)} has more than {MOST_FRAMES} pictures; cut the clip to the swing"
            )
            raise VideoRefusedError(name, reason)
    if not times:
        raise VideoRefusedError(name, f"{shown(name)} holds no picture; copy it again")
    if untimed or not keys:
        raise VideoRefusedError(name, f"{shown(name)} does not tell when its pictures are shown")
    ticks = tuple(sorted(times))
    last = times[ticks[-1]] or (ticks[-1] - ticks[-2] if len(ticks) > 1 else 0)
    return ticks, keys, last


def _judge_length(
    stream: Any,
    ticks: tuple[int, ...],
    tick_seconds: Fraction,
    name: str,  # noqa: ANN401
) -> None:
    """Compare the pictures that are there with what the file says of itself."""
    seconds = float((ticks[-1] - ticks[0]) * tick_seconds)
    if seconds > LONGEST_SECONDS:
        reason = (
            f"{shown(name)} is {seconds / 60:.0f} minutes long; at most"
            f" {LONGEST_SECONDS / 60:.0f} are read; cut the clip to the swing"
        )
        raise VideoRefusedError(name, reason)
    told = stream.duration
    container = stream.container
    told_seconds = (
        float(told * tick_seconds)
        if told
        else (container.duration or 0) / 1_000_000
        if not container.streams.audio
        else 0.0
    )
    step = seconds / max(len(ticks) - 1, 1)
    if told_seconds - seconds > max(0.5, 0.1 * told_seconds, 4 * step):
        reason = (
            f"{shown(name)} is cut off: it tells of {told_seconds:.2f} s and holds"
            f" {seconds:.2f} s; copy it again"
        )
        raise VideoRefusedError(name, reason)


def _turn(frame: Any, notes: list[str]) -> Turn:  # noqa: ANN401
    """Return how the file wants its pictures turned."""
    from av.sidedata.sidedata import Type

    data = frame.side_data.get(Type.DISPLAYMATRIX)
    if data is None:
        return Turn()
    turn = turn_of_matrix(bytes(data))
    if turn is None:
        notes.append("the clip asks to be turned by no right angle; taken as it is stored")
        return Turn()
    return turn


def _square_pixels(stream: Any, size: tuple[int, int]) -> tuple[int, int]:  # noqa: ANN401
    """Return the stored size with pixels made square, the height kept."""
    ratio = stream.sample_aspect_ratio
    if not ratio or not 0.2 < ratio < 5:
        return size
    return max(round(size[0] * float(ratio)), 1), size[1]


def _recorded_rate(container: Any, stream: Any) -> float | None:  # noqa: ANN401
    """Return the rate the camera worked at, where the phone wrote it down.

    The key stands in the file's list of properties; phones that store slow motion stretched write
    it (Android Open Source Project, MediaMuxer: ``com.android.capture.fps``).
    """
    for written in (stream.metadata, container.metadata):
        text = written.get("com.android.capture.fps")
        try:
            rate = float(text) if text is not None else 0.0
        except ValueError:
            continue
        if 1.0 <= rate <= 10_000.0:
            return rate
    return None


def _damaged(name: str, error: Exception) -> str:
    if isinstance(error, PermissionError):
        return f"{shown(name)} wants another file opened, which is refused"
    return f"{shown(name)} is damaged or cut off and cannot be read; copy it again"
