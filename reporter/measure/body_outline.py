"""The outline of a player as one closed line or a few, from the marked points alone."""

import math
from collections.abc import Mapping

import numpy as np

from reporter.measure.geometry import Pixels, between, distance
from reporter.measure.opencv import opencv

LIMBS: tuple[tuple[str, str, float, float], ...] = (
    *(
        limb
        for side in ("lead", "trail")
        for limb in (
            (f"{side}_shoulder", f"{side}_elbow", 0.030, 0.026),
            (f"{side}_elbow", f"{side}_wrist", 0.026, 0.019),
            (f"{side}_hip", f"{side}_knee", 0.052, 0.036),
            (f"{side}_knee", f"{side}_ankle", 0.036, 0.024),
            (f"{side}_heel", f"{side}_toe", 0.020, 0.016),
            (f"{side}_ankle", f"{side}_heel", 0.022, 0.018),
        )
    ),
    ("lead_shoulder", "trail_shoulder", 0.036, 0.036),
    ("lead_hip", "trail_hip", 0.052, 0.052),
    ("neck", "pelvis", 0.075, 0.068),
    ("neck", "head", 0.030, 0.030),
    ("hosel", "handle", 0.005, 0.005),
)
"""Two points and half the width at each, over the height of the person; a drawing choice."""

HEAD = 0.062
"""Half the width of a head over the height of the person; a drawing choice."""

HEIGHT_OF = (("pelvis", "neck", 0.288), ("lead_knee", "lead_ankle", 0.246),
             ("trail_knee", "trail_ankle", 0.246), ("lead_hip", "lead_knee", 0.245))  # fmt: skip
"""Lengths over the height of the person (D. A. Winter, Biomechanics and Motor Control of Human
Movement, fig. 4.1, after Drillis and Contini 1966; from memory)."""

RESOLUTION = 600.0
"""Height of a person on the sheet that the outline is drawn on [px]."""

SMOOTH = 1.2
"""How far the printed line may differ from the drawn one there [px]."""

LEAST_AREA = 0.002
"""Smaller pieces of the outline, over the square of the height, are left out."""


def body_outline(points: Mapping[str, Pixels]) -> tuple[tuple[Pixels, ...], ...]:
    """Return closed lines round the marked body and club.

    Parameters
    ----------
    points : mapping of str to (float, float)
        Marked points by name [px], any subset; what lacks a point is left out.

    Returns
    -------
    tuple of tuple of (float, float)
        Corners of each closed line [px]; empty where too little is marked to tell a height.

    Notes
    -----
    Limbs are drawn as tapered strokes on one sheet, whose border is followed (Suzuki & Abe 1985,
    Comput Vis Graph Image Process 30:32) and thinned out (Douglas & Peucker 1973).
    """
    height = _height(points)
    if height is None:
        return ()
    cv2 = opencv()
    scale = RESOLUTION / height
    places = {name: (x * scale, y * scale) for name, (x, y) in points.items()}
    left = min(x for x, _ in places.values()) - 0.15 * RESOLUTION
    top = min(y for _, y in places.values()) - 0.15 * RESOLUTION
    right = max(x for x, _ in places.values()) + 0.15 * RESOLUTION
    bottom = max(y for _, y in places.values()) + 0.15 * RESOLUTION
    if max(right - left, bottom - top) > 8.0 * RESOLUTION:
        return ()
    sheet = np.zeros((math.ceil(bottom - top), math.ceil(right - left)), np.uint8)
    for first, last, wide, narrow in LIMBS:
        if first in places and last in places:
            _stroke(
                sheet,
                [(x - left, y - top) for x, y in (places[first], places[last])],
                (wide * RESOLUTION, narrow * RESOLUTION),
            )
    if "head" in places:
        x, y = places["head"]
        cv2.circle(sheet, (round(x - left), round(y - top)), round(HEAD * RESOLUTION), 255, -1)
    borders, _ = cv2.findContours(sheet, cv2.RETR_EXTERNAL, cv2.CHAIN_APPROX_NONE)
    found = []
    for border in borders:
        if cv2.contourArea(border) < LEAST_AREA * RESOLUTION**2:
            continue
        thin = cv2.approxPolyDP(border, SMOOTH, closed=True)[:, 0, :].astype(float)
        # Followed borders count from the middle of the first pixel.
        corners = (thin + 0.5 + (left, top)) / scale
        found.append(tuple((float(x), float(y)) for x, y in corners))
    return tuple(found)


def _height(points: Mapping[str, Pixels]) -> float | None:
    """Return the height of the person standing straight [px]; None where nothing tells it."""
    told = [
        distance(points[first], points[last]) / share
        for first, last, share in HEIGHT_OF
        if first in points and last in points
    ]
    return max(told) if told and max(told) > 20.0 else None


def _stroke(
    sheet: "np.typing.NDArray[np.uint8]", ends: list[Pixels], halves: tuple[float, float]
) -> None:
    """Fill a limb from one end to the other, its half width changing evenly."""
    cv2 = opencv()
    count = max(math.ceil(distance(*ends) / 4.0), 1)
    for step in range(count + 1):
        x, y = between(ends[0], ends[1], step / count)
        half = halves[0] + (halves[1] - halves[0]) * step / count
        cv2.circle(sheet, (round(x), round(y)), max(round(half), 1), 255, -1)
