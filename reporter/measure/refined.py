"""A lesson's clicks refined on its own pictures; the lesson file itself stays as it is."""

from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from reporter.errors import ReporterError
from reporter.measure.geometry import Pixels
from reporter.measure.snap_points import SHAFT_ENDS, SnappedPoint, farthest_move, snap_points
from reporter.measure.uncertainty import place_of
from reporter.session.load import LoadedSession
from reporter.session.schema import Frame, MarkedPoint

Grey = NDArray[np.uint8]


@dataclass(frozen=True, slots=True)
class RefinedFrame:
    """What was refined on one frame.

    Attributes
    ----------
    frame : str
        Its id.
    points : tuple of SnappedPoint
        What was tried, moved or flagged.
    limit_px : float
        No point was moved farther [px].
    obstacle : str
        Why the picture could not be searched, in plain words; empty otherwise.
    """

    frame: str
    points: tuple[SnappedPoint, ...]
    limit_px: float
    obstacle: str = ""

    @property
    def sharp(self) -> frozenset[str]:
        """Names of the points whose place is now that of the picture, not of a click."""
        return frozenset(point.name for point in self.points if not point.flag)

    def applied(self, frame: Frame) -> Frame:
        """Return the frame with its refined places in place of the clicks."""
        places = {point.name: point.place for point in self.points if not point.flag}
        points = {
            name: marked.model_copy(update={"at": places[name], "again": ()})
            if name in places
            else marked
            for name, marked in frame.points.items()
        }
        lines = {
            name: (places.get(f"{name} 1", first), places.get(f"{name} 2", second))
            for name, (first, second) in frame.lines.items()
        }
        return frame.model_copy(update={"points": points, "lines": lines})


def wants_refining(loaded: LoadedSession, frame: Frame) -> bool:
    """Return whether the lesson asks for a frame's clicks to be refined."""
    return loaded.session.refine if frame.refine is None else frame.refine


def refined_frames(
    loaded: LoadedSession, grey_of: Callable[[Frame], Grey]
) -> dict[str, RefinedFrame]:
    """Return what was refined on every frame that asks for it.

    Parameters
    ----------
    loaded : LoadedSession
        The lesson.
    grey_of : callable
        Gives the upright picture of a frame in grey.
    """
    frames = [frame for frame in loaded.session.frames if wants_refining(loaded, frame)]
    if not frames:
        return {}
    with ThreadPoolExecutor(2) as pool:
        found = pool.map(lambda frame: refined(frame, grey_of), frames)
        return {one.frame: one for one in found}


def refined(frame: Frame, grey_of: Callable[[Frame], Grey]) -> RefinedFrame:
    """Return what was refined on one frame; parameters as in `refined_frames`."""
    points = _searchable(frame)
    if not any(name in points for name in (*SHAFT_ENDS, "ball")) and not frame.lines:
        return RefinedFrame(frame.id, (), 0.0)
    try:
        grey = grey_of(frame)
        limit = farthest_move((grey.shape[1], grey.shape[0]))
        return RefinedFrame(frame.id, snap_points(grey, points, frame.lines), limit)
    except (ValueError, ReporterError) as error:
        return RefinedFrame(frame.id, (), 0.0, str(error))


def _searchable(frame: Frame) -> dict[str, Pixels]:
    """Return the places of the points that were confirmed and can be seen."""

    def seen(marked: MarkedPoint) -> bool:
        return marked.confirmed and not marked.hidden

    places = {name: place_of(marked) for name, marked in frame.points.items() if seen(marked)}
    return {name: place for name, place in places.items() if place is not None}
