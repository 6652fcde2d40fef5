"""OpenCV, loaded when it is first needed: it takes longer to load than a lesson to measure."""

from typing import Any


def opencv() -> Any:  # noqa: ANN401 - the library's type stubs lack some of what is used here
    """Return the module ``cv2``; tried with 4.14 and 5.0."""
    import cv2

    return cv2
