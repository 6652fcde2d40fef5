"""Make small clips with known contents: every picture carries its own number as a bar code."""

import struct
from collections.abc import Callable, Iterable, Sequence
from fractions import Fraction
from pathlib import Path

import av
import numpy as np

BITS = 12
TICK = Fraction(1, 90_000)


def numbered(index: int, width: int = 320, height: int = 180) -> np.ndarray:
    """A picture with its number in black and white blocks along the top; red left, green right."""
    picture = np.zeros((height, width, 3), np.uint8)
    picture[:, : width // 2] = (200, 40, 40)
    picture[:, width // 2 :] = (40, 200, 40)
    block = width // BITS
    for bit in range(BITS):
        shade = 255 if index >> bit & 1 else 0
        picture[: height // 6, bit * block : (bit + 1) * block] = shade
    return picture


def number_of(picture: np.ndarray) -> int:
    """Read the number back off an upright picture."""
    grey = picture.mean(axis=2) if picture.ndim == 3 else picture
    height, width = grey.shape
    block = width // BITS
    return sum(
        1 << bit
        for bit in range(BITS)
        if grey[height // 18 : height // 9, bit * block + 4 : (bit + 1) * block - 4].mean() > 128
    )


def write_clip(
    path: Path,
    ticks: Sequence[int],
    *,
    codec: str = "libx264",
    size: tuple[int, int] = (320, 180),
    keyframes: int = 30,
    rotation: int = 0,
    sound: bool = False,
    metadata: dict[str, str] | None = None,
    options: dict[str, str] | None = None,
    container_options: dict[str, str] | None = None,
    pixel_format: str = "yuv420p",
    draw: Callable[[int], np.ndarray] | None = None,
    tick: Fraction = TICK,
) -> Path:
    """Write a clip whose pictures are shown at `ticks` of `tick` seconds, 1/90000 if left out.

    `rotation` is the turn anticlockwise in degrees that the container asks for.
    """
    width, height = size
    with av.open(str(path), "w", options=container_options or {}) as container:
        container.metadata.update(metadata or {})
        stream = container.add_stream(codec, rate=30)
        stream.width, stream.height, stream.pix_fmt = width, height, pixel_format
        stream.codec_context.gop_size = keyframes
        stream.time_base = stream.codec_context.time_base = tick
        quiet = {"x265-params": f"log-level=none:keyint={keyframes}"} if "265" in codec else {}
        stream.codec_context.options = {
            **({"preset": "ultrafast"} if "26" in codec else {}), **quiet, **(options or {})
        }  # fmt: skip
        if rotation:
            stream.set_display_rotation(rotation)
        tone = container.add_stream("aac", rate=48_000) if sound else None
        for index, at in enumerate(ticks):
            picture = draw(index) if draw else numbered(index, width, height)
            frame = av.VideoFrame.from_ndarray(picture, format="rgb24")
            frame.pts, frame.time_base = at, tick
            container.mux(stream.encode(frame))
        container.mux(stream.encode())
        if tone is not None:
            _silence(container, tone, float((ticks[-1] - ticks[0]) * tick))
    return path


def _silence(container: av.container.OutputContainer, stream, seconds: float) -> None:
    samples = 1024
    for number in range(max(int(seconds * 48_000) // samples, 1)):
        frame = av.AudioFrame.from_ndarray(
            np.zeros((1, samples * 2), np.int16), format="s16", layout="stereo"
        )
        frame.sample_rate, frame.pts = 48_000, number * samples
        container.mux(stream.encode(frame))
    container.mux(stream.encode())


def write_sound(path: Path) -> Path:
    """A file with sound alone."""
    with av.open(str(path), "w") as container:
        _silence(container, container.add_stream("aac", rate=48_000), 1.0)
    return path


def every(count: int, rate: float) -> list[int]:
    """Evenly spaced times."""
    return [round(index * 90_000 / rate) for index in range(count)]


def reference_times(path: Path) -> list[float]:
    """The decoder's own time of each picture, in order of showing (PyAV, straight decoding)."""
    with av.open(str(path)) as container:
        return [float(frame.pts * frame.time_base) for frame in container.decode(video=0)]


def boxes(data: bytes) -> Iterable[tuple[bytes, int, int]]:
    """The outermost boxes of an MP4: name, start, end."""
    at = 0
    while at + 8 <= len(data):
        length, name = struct.unpack(">I4s", data[at : at + 8])
        yield name, at, at + length
        at += length
