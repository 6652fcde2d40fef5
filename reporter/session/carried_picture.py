"""A picture laid on another one of its size by a projective map."""

from dataclasses import replace

import numpy as np
from PIL import Image

from reporter.session.frames import Picture

Matrix = tuple[tuple[float, float, float], tuple[float, float, float], tuple[float, float, float]]

BEYOND = (235, 235, 235)
"""Plain light grey where the other picture shows more than this one does: nothing is made up."""


def carried_picture(picture: Picture, matrix: Matrix) -> Picture:
    """Return a picture as it looks laid on the other.

    Parameters
    ----------
    picture : Picture
        Decoded at its full size.
    matrix : 3 x 3
        From this picture to the other one [px]; (0, 0) is the outer corner of the first pixel.
    """
    import cv2

    # OpenCV counts from the middle of the first pixel.
    middle = np.array([[1.0, 0.0, -0.5], [0.0, 1.0, -0.5], [0.0, 0.0, 1.0]])
    laid = cv2.warpPerspective(
        np.asarray(picture.image),
        middle @ np.array(matrix) @ np.linalg.inv(middle),
        picture.image.size,
        flags=cv2.INTER_CUBIC,
        borderMode=cv2.BORDER_CONSTANT,
        borderValue=BEYOND,
    )
    return replace(picture, image=Image.fromarray(np.asarray(laid, dtype=np.uint8)))
