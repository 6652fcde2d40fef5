"""Everything read from a lesson's pictures, in one way for all that is made of it."""

from collections.abc import Callable
from dataclasses import dataclass
from threading import Lock

import numpy as np
from numpy.typing import NDArray

from reporter.errors import ReporterError
from reporter.measure.measurement import Measurement
from reporter.measure.pair_alignment import (
    PairAlignment,
    compared_pairs,
    grey_picture,
    with_readings,
)
from reporter.measure.read import Reader
from reporter.measure.refined import RefinedFrame, refined_frames
from reporter.session.load import LoadedSession
from reporter.session.schema import Frame
from reporter.story.changes import photographs_allowed

Grey = NDArray[np.uint8]


@dataclass(frozen=True, slots=True)
class Measured:
    """What was read.

    Attributes
    ----------
    measurements : tuple of Measurement
        Every measure of every frame.
    compared : tuple of PairAlignment
        What the pictures of the pairs say of the cameras, with the measures of laid pictures.
    refined : dict
        Frame id to what was refined on it; empty unless the lesson asks for it.
    """

    measurements: tuple[Measurement, ...]
    compared: tuple[PairAlignment, ...]
    refined: dict[str, RefinedFrame]


def measured(
    loaded: LoadedSession,
    grey_of: Callable[[Frame], Grey] | None = None,
    *,
    compare: bool = True,
) -> Measured:
    """Return what is read from a checked lesson.

    Parameters
    ----------
    loaded : LoadedSession
        The lesson.
    grey_of : callable, optional
        Gives the upright picture of a frame in grey; read from the lesson's folder if left out.
    compare : bool
        Also compare the pictures of the pairs.

    Notes
    -----
    Pictures are opened only where they may be printed, and where a comparison or a refined point
    needs them.
    """
    if not photographs_allowed(loaded.session):
        reader = Reader(loaded.session, loaded.sizes)
        return Measured(reader.all(), (), {})
    grey = _kept(grey_of or (lambda frame: grey_picture(loaded, frame)))
    refined = refined_frames(loaded, grey)
    reader = Reader(loaded.session, loaded.sizes, refined)
    compared = with_readings(compared_pairs(loaded, grey), reader) if compare else ()
    return Measured(reader.all(), compared, refined)


def _kept(grey_of: Callable[[Frame], Grey]) -> Callable[[Frame], Grey]:
    """Return the same, each picture made once though two threads may ask."""
    found: dict[str, Grey | ReporterError] = {}
    guard = Lock()
    locks: dict[str, Lock] = {}

    def grey(frame: Frame) -> Grey:
        with guard:
            lock = locks.setdefault(frame.id, Lock())
        with lock:
            if frame.id not in found:
                try:
                    found[frame.id] = grey_of(frame)
                except ReporterError as error:
                    found[frame.id] = error
            kept = found[frame.id]
        if isinstance(kept, ReporterError):
            raise kept
        return kept

    return grey
