"""What a clip is: size, turn, codec, and the true time of every picture, without decoding them."""

from bisect import bisect_left
from dataclasses import dataclass
from fractions import Fraction
from functools import cached_property

import numpy as np

_VARIABLE_SHARE = 0.1
_SLOWED = 1.5


@dataclass(frozen=True)
class VideoFacts:
    """A clip as its file describes it.

    Attributes
    ----------
    name : str
        The file's name without any folder.
    sha256 : str
        Of the whole file.
    size_bytes : int
        Of the whole file.
    container, codec : str
        Such as ``MP4 or QuickTime`` and ``hevc``.
    width, height : int
        Of the upright picture in pixels, after turning.
    turn_degrees : int
        How far the stored picture is turned clockwise to stand upright: 0, 90, 180 or 270.
    mirrored : bool
        Whether the file asks for the picture to be flipped as well.
    ticks : tuple of int
        When each picture is shown, in `tick_seconds` from the file's own zero, rising.
    tick_seconds : Fraction
        Length of one tick.
    keyframes : tuple of int
        Indexes of the pictures that can be decoded without any other.
    last_shown_seconds : float
        How long the last picture is shown.
    recorded_rate : float or None
        Pictures a second at which the camera worked, if the file says so; larger than the rate of
        showing in a slow-motion file.
    high_range : bool
        Whether the brightness is stored for a high-range screen (more than 8 bit a colour);
        pictures are brought to 8 bit and may look flat.
    notes : tuple of str
        What was noticed and passed over, in plain words.
    """

    name: str
    sha256: str
    size_bytes: int
    container: str
    codec: str
    width: int
    height: int
    turn_degrees: int
    mirrored: bool
    ticks: tuple[int, ...]
    tick_seconds: Fraction
    keyframes: tuple[int, ...]
    last_shown_seconds: float
    recorded_rate: float | None
    high_range: bool
    notes: tuple[str, ...] = ()

    @property
    def frame_count(self) -> int:
        """Return how many pictures the clip has."""
        return len(self.ticks)

    @cached_property
    def seconds(self) -> tuple[float, ...]:
        """Return when each picture is shown, in seconds after the first one."""
        first = self.ticks[0]
        return tuple(float((tick - first) * self.tick_seconds) for tick in self.ticks)

    @property
    def starts_at_seconds(self) -> float:
        """Return the file's own time of the first picture; often 0."""
        return float(self.ticks[0] * self.tick_seconds)

    @property
    def duration_seconds(self) -> float:
        """Return the time from the first picture to the end of the last."""
        return self.seconds[-1] + self.last_shown_seconds

    @cached_property
    def shown_rate(self) -> float:
        """Return the usual number of pictures shown a second; 0 for a single picture."""
        if self.frame_count < 2:
            return 0.0
        return float(1.0 / np.median(np.diff(self.seconds)))

    @cached_property
    def variable_rate(self) -> bool:
        """Return whether the pictures are not evenly spaced in time.

        Steps may differ by a tick, because ticks are whole numbers, and by a tenth of a step.
        """
        if self.frame_count < 3:
            return False
        steps = np.diff(self.seconds)
        slack = float(self.tick_seconds) * 1.01 + _VARIABLE_SHARE * float(np.median(steps))
        return bool(np.any(np.abs(steps - np.median(steps)) > slack))

    @property
    def slowed(self) -> float:
        """Return how many times slower than life the clip is shown; 1 for a usual clip."""
        if self.recorded_rate is None or not self.shown_rate:
            return 1.0
        factor = self.recorded_rate / self.shown_rate
        return factor if factor >= _SLOWED else 1.0

    def index_at(self, seconds: float) -> int:
        """Return the index of the picture nearest to a time in seconds after the first picture."""
        after = bisect_left(self.seconds, seconds)
        near = [index for index in (after - 1, after) if 0 <= index < self.frame_count]
        return min(near, key=lambda index: abs(self.seconds[index] - seconds))
