"""Find the same spots of the background in two pictures, to a part of a pixel."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from reporter.measure.geometry import Pixels
from reporter.measure.opencv import opencv

Floats = NDArray[np.float64]
Corners = NDArray[np.float32]
Grey = NDArray[np.uint8]

MAPS = 3
BANDS = 4
LEAST_MATCHES = 12
WINDOW = 21
"""Side of the patch that is compared round a spot [px]."""

FAINT = 6.0
"""Contrast below which a part of the picture is taken for plain [grey levels]."""

LARGEST_WAY_BACK = 0.35
"""Followed back, a spot must come back this near to where it began [px]."""

LEAST_LIKENESS = 0.8
"""Least correlation of the patches round the same spot in both pictures."""

BODY_MARGIN = 0.10
"""How far the player reaches round the marked points, over their extent."""


@dataclass(frozen=True, slots=True)
class Fineness:
    """How finely pictures are compared.

    Attributes
    ----------
    largest_side : int
        Their longer side is made at most this long first [px].
    features : int
        So many are matched for the rough map, at most.
    spots : int
        So many are followed, at most.
    """

    largest_side: int
    features: int
    spots: int


FULL = Fineness(1280, 1500, 700)
QUICK = Fineness(600, 800, 480)
"""For a label that is only held against the pictures: a camera that moved by a hand's breadth
still shows, in a quarter of the time."""


@dataclass(frozen=True, slots=True)
class Spots:
    """Places of the same spots, shape (spots, 2) [px], or why there are none."""

    before: Floats
    after: Floats
    reason: str = ""


def same_spots(
    before: Grey,
    after: Grey,
    body_before: Sequence[Pixels],
    body_after: Sequence[Pixels],
    fineness: Fineness,
) -> Spots:
    """Return spots of the background that are seen in both pictures.

    Parameters
    ----------
    before, after : ndarray of uint8, shape (height, width)
        Of one size.
    body_before, body_after : sequence of (float, float)
        Points of the player; a hull round them is left out [px].
    fineness : Fineness
        How small the pictures are made first, and how many spots are looked for.

    Notes
    -----
    First a rough map: corner features with binary descriptors (ORB: Rublee et al. 2011, ICCV
    2564) and the similarity most of them agree on (RANSAC: Fischler & Bolles 1981, Commun ACM
    24:381); what the others agree on, once more. Then each corner of the before picture is
    followed into the roughly mapped after picture and back (Lucas & Kanade 1981, IJCAI 674, on
    pyramids), each patch by itself, so that near ground may shift otherwise than far trees. One
    refinement of the whole picture would hide just that. Pictures are evened out to one local
    mean and contrast first, because the light changes. A spot counts if the way back ends where
    it began and the patches are alike.
    """
    shrink = max(max(before.shape) / fineness.largest_side, 1.0)
    small = [_smaller(grey, shrink) for grey in (before, after)]
    masks = [_background(small[0].shape, body, shrink) for body in (body_before, body_after)]
    even = [_evened(grey) for grey in small]
    maps = _rough_maps(even, masks, fineness.features)
    if isinstance(maps, str):
        return Spots(np.empty((0, 2)), np.empty((0, 2)), maps)
    left = _corners(even[0], masks[0], fineness.spots)
    found_here, found_there = [], []
    for rough in maps:
        here, there, left = _followed(even, masks[1], left, rough)
        found_here.append(here)
        found_there.append(there)
    # OpenCV counts from the middle of the first pixel.
    return Spots(
        (np.concatenate(found_here) + 0.5) * shrink, (np.concatenate(found_there) + 0.5) * shrink
    )


TOO_PLAIN = "too little texture outside the player: a plain wall or net, or a picture out of focus"
TOO_DIFFERENT = (
    "the backgrounds share too little: another place, another direction, or too little texture"
)


def _smaller(grey: Grey, shrink: float) -> Grey:
    cv2 = opencv()
    if shrink <= 1.0:
        return grey
    size = (round(grey.shape[1] / shrink), round(grey.shape[0] / shrink))
    return np.asarray(cv2.resize(grey, size, interpolation=cv2.INTER_AREA), dtype=np.uint8)


def _background(shape: tuple[int, ...], body: Sequence[Pixels], shrink: float) -> Grey:
    """Return 255 where the background may be compared, 0 on and near the player."""
    cv2 = opencv()
    mask = np.full(shape[:2], 255, np.uint8)
    if len(body) >= 2:
        points = np.array(body, dtype=float) / shrink
        margin = BODY_MARGIN * max(float(np.ptp(points, axis=0).max()), 1.0)
        hull = cv2.convexHull(np.round(points).astype(np.int32))
        cv2.fillConvexPoly(mask, hull, 0)
        cv2.polylines(mask, [hull], True, 0, max(round(2.0 * margin), 1))
    return mask


def _rough_maps(even: list[Grey], masks: list[Grey], features: int) -> list[Floats] | str:
    """Return similarities, 2 x 3, from the after to the before picture; else why there is none.

    The second and third are what the spots that do not follow the first agree on: the far
    background, where the camera moved and the near ground came first.
    """
    cv2 = opencv()
    finder = cv2.ORB_create(nfeatures=features, fastThreshold=15)
    (spots_before, kinds_before), (spots_after, kinds_after) = (
        finder.detectAndCompute(grey, mask) for grey, mask in zip(even, masks, strict=True)
    )
    if min(len(spots_before), len(spots_after)) < LEAST_MATCHES:
        return TOO_PLAIN
    matcher = cv2.BFMatcher(cv2.NORM_HAMMING, crossCheck=True)
    pairs = [one for one in matcher.match(kinds_after, kinds_before) if one.distance < 64]
    source = np.array([spots_after[pair.queryIdx].pt for pair in pairs]).reshape(-1, 2)
    target = np.array([spots_before[pair.trainIdx].pt for pair in pairs]).reshape(-1, 2)
    limit = max(even[0].shape) / 120.0
    maps: list[Floats] = []
    while len(maps) < MAPS and len(source) >= LEAST_MATCHES:
        rough, found = cv2.estimateAffinePartial2D(
            source, target, method=cv2.RANSAC, ransacReprojThreshold=limit, maxIters=2000
        )
        if rough is None or int(found.sum()) < LEAST_MATCHES:
            break
        maps.append(np.asarray(rough, dtype=float))
        rest = found.ravel() == 0
        source, target = source[rest], target[rest]
    return maps or TOO_DIFFERENT


def _corners(even: Grey, mask: Grey, spots: int) -> Corners:
    """Return corners to follow: as many in each of a few bands, so that none is left out."""
    cv2 = opencv()
    apart = max(even.shape) / 80.0
    found = []
    for band in range(BANDS):
        top, bottom = (even.shape[0] * edge // BANDS for edge in (band, band + 1))
        part = cv2.goodFeaturesToTrack(
            even[top:bottom], spots // BANDS, 0.02, apart, mask=mask[top:bottom], blockSize=7
        )
        if part is not None:
            found.append(part.reshape(-1, 2) + np.array([0.0, top], dtype=np.float32))
    return np.concatenate(found) if found else np.empty((0, 2), dtype=np.float32)


def _evened(grey: Grey) -> Grey:
    """Return a picture of one local mean and contrast everywhere, so that light does not matter."""
    cv2 = opencv()
    values = cv2.GaussianBlur(grey, (0, 0), 0.9).astype(np.float32)
    side = (31, 31)
    mean = cv2.blur(values, side)
    spread = cv2.sqrt(cv2.max(cv2.blur(values * values, side) - mean * mean, 0.0))
    # A few grey levels of contrast are noise: they must not be blown up.
    even = np.clip((values - mean) * (40.0 / (spread + FAINT)) + 128.0, 0, 255)
    return np.asarray(even, dtype=np.uint8)


def _followed(
    even: list[Grey], open_after: Grey, corners: Corners, rough: Floats
) -> tuple[Floats, Floats, Corners]:
    """Return the corners found again by way of a rough map, their places after, and the rest."""
    cv2 = opencv()
    if not len(corners):
        return np.empty((0, 2)), np.empty((0, 2)), corners
    height, width = even[0].shape
    laid, seen = (
        cv2.warpAffine(grey, rough, (width, height), flags=flags)
        for grey, flags in ((even[1], cv2.INTER_LINEAR), (open_after, cv2.INTER_NEAREST))
    )
    settings = {
        "winSize": (WINDOW, WINDOW),
        "maxLevel": 3,
        "criteria": (cv2.TERM_CRITERIA_COUNT | cv2.TERM_CRITERIA_EPS, 20, 0.02),
    }
    there, forth, _ = cv2.calcOpticalFlowPyrLK(even[0], laid, corners, None, **settings)
    again, back, _ = cv2.calcOpticalFlowPyrLK(laid, even[0], there, None, **settings)
    good = (forth.ravel() == 1) & (back.ravel() == 1)
    good &= np.hypot(*(again - corners).T) < LARGEST_WAY_BACK
    columns, rows = np.clip(np.rint(there), 0, (width - 1, height - 1)).astype(int).T
    # The player, and what the after picture does not show, are 0 for half a patch around.
    good &= cv2.erode(seen, np.ones((9, 9), np.uint8))[rows, columns] > 0
    good &= _alike((even[0], laid), corners, there) > LEAST_LIKENESS
    inverse = cv2.invertAffineTransform(rough)
    places = there[good].astype(float) @ inverse[:, :2].T + inverse[:, 2]
    return corners[good].astype(float), places, corners[~good]


def _alike(greys: tuple[Grey, Grey], here: Corners, there: Corners) -> Floats:
    """Return the correlation of the patches round each spot in both pictures, -1 to 1."""
    cv2 = opencv()
    reach = np.arange(-(WINDOW // 2), WINDOW // 2 + 1, dtype=np.float32)
    dx, dy = (grid.ravel() for grid in np.meshgrid(reach, reach))
    patches = []
    for grey, places in zip(greys, (here, there), strict=True):
        x, y = places[:, :1] + dx, places[:, 1:] + dy
        patch = cv2.remap(grey, x, y, cv2.INTER_LINEAR, borderMode=cv2.BORDER_REFLECT)
        patch = patch.astype(np.float32)
        patches.append(patch - patch.mean(axis=1, keepdims=True))
    first, second = patches
    size = np.sqrt((first**2).sum(axis=1) * (second**2).sum(axis=1))
    return np.asarray((first * second).sum(axis=1) / np.maximum(size, 1e-6), dtype=float)
