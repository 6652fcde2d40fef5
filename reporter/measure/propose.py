"""First guesses of a general pose model for the points of a frame; a coach confirms each."""

from collections.abc import Mapping
from typing import Protocol

import numpy as np
from numpy.typing import NDArray

from reporter.measure.camera import target_side
from reporter.measure.geometry import Pixels, between
from reporter.session.schema import Frame, Side, Take

LANDMARKS = ("ear", "shoulder", "hip", "knee", "ankle", "heel", "toe")
"""What a model may tell, each with ``left_`` or ``right_`` of the person before it."""

SIDED = ("shoulder", "hip", "knee", "ankle", "heel", "toe")
"""Points of the lesson that come straight from a landmark. Wrists, shaft and ball are never
proposed: models are wrong there at the top and at the finish."""


class PoseModel(Protocol):
    """A general model that finds one person on a picture."""

    def landmarks(self, picture: NDArray[np.uint8]) -> Mapping[str, Pixels]:
        """Return places by name, such as ``left_hip``, the person's own left [px].

        Parameters
        ----------
        picture : ndarray, shape (height, width, 3)
            Upright, red, green, blue.

        Returns
        -------
        mapping
            Of `LANDMARKS` with their sides; what the model does not see is missing.
        """


def proposed_points(
    frame: Frame, take: Take, plays: Side, picture: NDArray[np.uint8], model: PoseModel
) -> dict[str, Pixels]:
    """Return a first guess for every point that is not marked on a frame.

    Parameters
    ----------
    frame, take : Frame, Take
        The frame and its clip.
    plays : str
        ``right`` or ``left``.
    picture : ndarray, shape (height, width, 3)
        The upright picture, red, green, blue.
    model : PoseModel
        Whose landmarks are used.

    Returns
    -------
    dict
        Point name to place [px], all inside the picture; empty where no person was found, and
        for a picture of the feet.

    Notes
    -----
    A right-hander's lead side is his left; in a mirrored clip a model takes it for the right.
    Models exchange left and right at times: face-on the lead ankle is on the side of the target
    in every position, and where it is not, all sides are exchanged.
    """
    if take.view == "feet":
        return {}
    found = model.landmarks(picture)
    lead_is_left = (plays == "right") != take.mirrored
    if take.view == "face-on" and {"left_ankle", "right_ankle"} <= found.keys():
        side = target_side(take.view, plays, mirrored=take.mirrored)
        left_leads = side * (found["left_ankle"][0] - found["right_ankle"][0]) > 0
        lead_is_left = left_leads
    names = {"lead": "left", "trail": "right"} if lead_is_left else {
        "lead": "right", "trail": "left"
    }  # fmt: skip
    guesses = {
        f"{ours}_{part}": found[f"{theirs}_{part}"]
        for part in SIDED
        for ours, theirs in names.items()
        if f"{theirs}_{part}" in found
    }
    for name, part in (("head", "ear"), ("neck", "shoulder"), ("pelvis", "hip")):
        ends = [found.get(f"{theirs}_{part}") for theirs in names.values()]
        if ends[0] is not None and ends[1] is not None:
            guesses[name] = between(ends[0], ends[1])
    height, width = picture.shape[:2]
    return {
        name: place
        for name, place in guesses.items()
        if name not in frame.points and 0.0 <= place[0] <= width and 0.0 <= place[1] <= height
    }
