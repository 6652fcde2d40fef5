"""Time the contact sheet against bare decoding, and steps of one picture.

``python -m tests.video.measure_speed`` writes a clip of 4 s, 1920 x 1080, 240 pictures a second,
one keyframe in 240 (the worst a phone does), and times everything in one run.
"""

import statistics
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path

import av
import numpy as np

from reporter.video import open_video
from reporter.video.contact_sheet import contact_sheet
from tests.video.clips import every, write_clip

COUNT, RATE, SIZE = 960, 240, (1920, 1080)
ROUNDS = 3


def scene() -> Callable[[int], np.ndarray]:
    """A moving view of a rough picture, so that there is something to code."""
    rng = np.random.default_rng(0)
    rough = np.kron(rng.integers(0, 256, (150, 260, 3), np.uint8), np.ones((8, 8, 1), np.uint8))

    def draw(index: int) -> np.ndarray:
        across, down = index % 160, index // 8
        return np.ascontiguousarray(rough[down : down + SIZE[1], across : across + SIZE[0]])

    return draw


def bare(path: Path) -> float:
    """Seconds to decode every picture and do nothing with it."""
    begun = time.perf_counter()
    with av.open(str(path)) as container:
        container.streams.video[0].thread_type = "AUTO"
        assert sum(1 for _ in container.decode(video=0)) == COUNT
    return time.perf_counter() - begun


def sheet(path: Path) -> float:
    """Seconds from opening to the finished contact sheet."""
    begun = time.perf_counter()
    with open_video(path) as video:
        contact_sheet(video)
    return time.perf_counter() - begun


def steps(path: Path, indexes: range) -> list[float]:
    """Seconds of each step once the first picture is there."""
    with open_video(path) as video:
        video.frame(indexes[0])
        taken = []
        for index in indexes[1:]:
            begun = time.perf_counter()
            video.frame(index)
            taken.append(time.perf_counter() - begun)
    return taken


def main() -> None:
    """Print ratios and milliseconds."""
    with tempfile.TemporaryDirectory() as folder:
        path = write_clip(
            Path(folder) / "clip.mp4", every(COUNT, RATE), size=SIZE, keyframes=240, draw=scene()
        )
        ratios, bares = [], []
        for _ in range(ROUNDS):
            bares.append(bare(path))
            ratios.append(sheet(path) / bares[-1])
        onward, back = steps(path, range(500, 540)), steps(path, range(540, 500, -1))
    sys.stdout.write(
        f"bare decoding              {COUNT / statistics.median(bares):.0f} pictures a second\n"
        f"contact sheet / bare       {statistics.median(ratios):.2f} (of {ROUNDS} rounds:"
        f" {min(ratios):.2f} to {max(ratios):.2f})\n"
        f"step to the next           median {1000 * statistics.median(onward):.0f} ms,"
        f" longest {1000 * max(onward):.0f} ms\n"
        f"step to the one before     median {1000 * statistics.median(back):.0f} ms,"
        f" longest {1000 * max(back):.0f} ms\n"
    )


if __name__ == "__main__":
    main()
