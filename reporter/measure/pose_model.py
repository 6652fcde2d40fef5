"""The pose model that is installed beside the program, if one is: an entry point, or a file."""

import importlib.metadata
import importlib.util
import math
from collections.abc import Mapping
from pathlib import Path
from typing import cast

import numpy as np
from numpy.typing import NDArray

from reporter.errors import ExtraMissingError
from reporter.measure.geometry import Pixels
from reporter.measure.opencv import opencv
from reporter.measure.propose import PoseModel

EXTRA = "pose"
"""The optional part that brings a model."""

GROUP = "lesson_reporter.pose_models"
"""Entry points that give a `PoseModel` when called without arguments; the first by name is used."""

PACKAGE, FILE = "mediapipe", "modules/pose_landmark/pose_landmark_full.tflite"
"""Package that carries a landmark model in its wheel, and where in it."""

SIDE = 256
"""The model looks at a square of this size [px]."""

PLACES = {
    "ear": 7, "shoulder": 11, "hip": 23, "knee": 25, "ankle": 27, "heel": 29, "toe": 31,
}  # fmt: skip
"""Number of each left landmark among the model's 33; the right one follows it."""

MIDDLE, AROUND = 33, 34
"""Two more that tell where the person stands: the middle of the hips, and a point of the circle
around the whole body."""

LEAST_PRESENCE = 0.5
"""The model's own score below which there is no person."""

LEAST_SEEN = 0.5
"""The score of one landmark below which it is left out. A score above does not make it right."""

WIDER = 1.25
"""Side of the square over the circle's diameter; common practice with this model."""

SMALL = 0.75
"""A person whose square is smaller than this share of the picture is looked at from nearer."""


def installed_pose_model() -> PoseModel:
    """Return the pose model that is installed.

    Raises
    ------
    ExtraMissingError
        If there is none.
    """
    for entry in sorted(importlib.metadata.entry_points(group=GROUP), key=lambda one: one.name):
        return cast("PoseModel", entry.load()())
    file = carried_model()
    if file is None:
        raise ExtraMissingError(EXTRA, "proposing points")
    return LandmarkNet(file)


def carried_model() -> Path | None:
    """Return the model file that an installed package carries, None without; nothing is run."""
    try:
        found = importlib.util.find_spec(PACKAGE)
    except ValueError:
        found = None
    for folder in (found.submodule_search_locations or ()) if found else ():
        file = Path(folder) / FILE
        if file.is_file():
            return file
    return None


class LandmarkNet:
    """A landmark model of 33 places run by OpenCV; parameters: the model's file."""

    def __init__(self, file: Path) -> None:
        # Of OpenCV 5 only the classic engine gives all outputs of such a model.
        cv2 = opencv()
        engine = getattr(cv2.dnn, "ENGINE_CLASSIC", None)
        self._net = cv2.dnn.readNetFromTFLite(str(file), *(() if engine is None else (engine,)))

    def landmarks(self, picture: NDArray[np.uint8]) -> Mapping[str, Pixels]:
        """Return places by name [px]; see `PoseModel`."""
        height, width = picture.shape[:2]
        middle, side = (width / 2.0, height / 2.0), float(max(width, height))
        places, seen, presence = self._looked(picture, middle, side)
        if presence < LEAST_PRESENCE:
            return {}
        # A second look, from nearer, where the person is small on the picture.
        nearer = 2.0 * WIDER * math.dist(places[MIDDLE], places[AROUND])
        if SIDE / 4.0 < nearer < SMALL * side:
            middle = (float(places[MIDDLE][0]), float(places[MIDDLE][1]))
            closer = self._looked(picture, middle, nearer)
            if closer[2] >= LEAST_PRESENCE:
                places, seen, presence = closer
        return {
            f"{side_name}_{part}": (float(places[at][0]), float(places[at][1]))
            for part, number in PLACES.items()
            for side_name, at in (("left", number), ("right", number + 1))
            if seen[at] >= LEAST_SEEN
        }

    def _looked(
        self, picture: NDArray[np.uint8], middle: Pixels, side: float
    ) -> tuple[NDArray[np.float64], NDArray[np.float64], float]:
        """Return places [px], scores, and whether a person is there, from one square."""
        cv2 = opencv()
        scale = SIDE / side
        shift = [SIDE / 2.0 - scale * at for at in middle]
        onto = np.array([[scale, 0.0, shift[0]], [0.0, scale, shift[1]]])
        square = cv2.warpAffine(picture, onto, (SIDE, SIDE), flags=cv2.INTER_AREA)
        self._net.setInput(np.asarray(square / 255.0, np.float32).transpose(2, 0, 1)[None])
        outputs = self._net.forward(self._net.getUnconnectedOutLayersNames())
        rows = next(one for one in outputs if one.size == 39 * 5).reshape(39, 5).astype(float)
        presence = next(float(one.ravel()[0]) for one in outputs if one.size == 1)
        places = (rows[:, :2] - SIDE / 2.0) / scale + np.array(middle)
        return places, 1.0 / (1.0 + np.exp(-rows[:, 3])), presence
