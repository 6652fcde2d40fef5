"""Take the shaking of the hand out of small pictures, by what stands still behind the golfer."""

from collections.abc import Sequence
from typing import Any

import numpy as np
from numpy.typing import NDArray

from reporter.video.pixels import Pixels

Matrix = NDArray[np.float64]
_MOST_CORNERS = 160
_FEWEST_CORNERS = 8
_LEAST_SHIFT_PX = 0.15
_WITHOUT_TURN = np.array([[1.0, 0.0, 0.0], [0.0, 1.0, 0.0]])


def movement(reference: Pixels, corners: Any, picture: Pixels) -> Matrix:  # noqa: ANN401
    """Return the shift, roll and size change that leads a picture back onto the reference.

    Parameters
    ----------
    reference, picture : ndarray of uint8, shape (height, width)
        Two pictures of one clip.
    corners : ndarray
        As `corners_of` finds them on the reference.

    Returns
    -------
    ndarray, shape (2, 3)
        For `cv2.warpAffine`; without effect where too little of the background can be followed.

    Notes
    -----
    Corners are followed by the pyramid of Lucas and Kanade (Bouguet 2001); the movement most of
    them share is the camera's (Fischler and Bolles 1981, random samples), the others are the
    golfer's.
    """
    import cv2

    if corners is None or len(corners) < _FEWEST_CORNERS:
        return _WITHOUT_TURN.copy()
    follow: Any = cv2.calcOpticalFlowPyrLK
    followed, found, _ = follow(reference, picture, corners, None, winSize=(15, 15), maxLevel=2)
    kept = found.ravel() == 1
    if kept.sum() < _FEWEST_CORNERS:
        return _WITHOUT_TURN.copy()
    cv2.setRNGSeed(1)  # the same clip gives the same answer
    matrix, inside = cv2.estimateAffinePartial2D(
        followed[kept], corners[kept], method=cv2.RANSAC, ransacReprojThreshold=0.8
    )
    if matrix is None or inside.sum() < max(_FEWEST_CORNERS, 0.3 * kept.sum()):
        return _WITHOUT_TURN.copy()
    return np.asarray(matrix, np.float64)


def corners_of(picture: Pixels) -> Any:  # noqa: ANN401
    """Return places that can be followed from picture to picture, spread over the whole."""
    import cv2

    distance = max(picture.shape) // 28
    return cv2.goodFeaturesToTrack(picture, _MOST_CORNERS, 0.01, distance)


def steadied(pictures: Sequence[Pixels], reference: int) -> list[Pixels]:
    """Return the pictures as a camera would have taken them that never left its place.

    Parameters
    ----------
    pictures : sequence of ndarray of uint8, shape (height, width)
        In order.
    reference : int
        Which of them keeps its place.
    """
    import cv2

    still = pictures[reference]
    corners = corners_of(still)
    height, width = still.shape
    middle = np.array([width / 2, height / 2, 1.0])
    kept: list[Pixels] = []
    for picture in pictures:
        matrix = movement(still, corners, picture)
        shift = float(np.abs(matrix @ middle - middle[:2]).max())
        if shift < _LEAST_SHIFT_PX and abs(matrix[0, 1]) * width / 2 < _LEAST_SHIFT_PX:
            kept.append(picture)
        else:
            moved = cv2.warpAffine(
                picture, matrix, (width, height), flags=cv2.INTER_LINEAR,
                borderMode=cv2.BORDER_REPLICATE,
            )  # fmt: skip
            kept.append(np.asarray(moved, np.uint8))
    return kept
