"""Which part of a frame is printed: one rectangle for before and after, cut round the player."""

from collections.abc import Sequence

from reporter.story.report import Still

Crop = tuple[float, float, float, float]
MARGIN_SHARE = 0.10
HEAD_ROOM_SHARE = 0.10


def common_crop(stills: Sequence[Still], aspect: float) -> Crop:
    """Return left, top, right, bottom in pixels, the same rows and columns for all `stills`.

    Parameters
    ----------
    stills : sequence of Still
        One or two frames of one size.
    aspect : float
        Width over height of the place on the page.
    """
    width, height, wanted = _wanted(stills)
    return _fit(wanted, aspect, width, height)


def widest_aspect(stills: Sequence[Still]) -> float:
    """Return the greatest width over height of a crop that shows the whole player."""
    width, height, (_, top, _, bottom) = _wanted(stills)
    return width / min(bottom - top, height)


def _wanted(stills: Sequence[Still]) -> tuple[float, float, Crop]:
    """Return width and height of the frames, and the rectangle round the player with its white."""
    width = float(min(still.size[0] for still in stills))
    height = float(min(still.size[1] for still in stills))
    xs = [x for still in stills for x, _ in still.points.values()]
    ys = [y for still in stills for _, y in still.points.values()]
    if len(xs) < 2:
        return width, height, (0.0, 0.0, width, height)
    reach = max(max(ys) - min(ys), max(xs) - min(xs))
    pad = MARGIN_SHARE * reach
    wanted = (
        min(xs) - pad,
        min(ys) - pad - HEAD_ROOM_SHARE * reach,
        max(xs) + pad,
        max(ys) + pad,
    )
    return width, height, wanted


def _fit(wanted: Crop, aspect: float, width: float, height: float) -> Crop:
    """Widen a rectangle to an aspect and push it inside the frame; shrink it only if it must."""
    left, top, right, bottom = wanted
    w, h = right - left, bottom - top
    w, h = max(w, h * aspect), max(h, w / aspect)
    shrink = min(1.0, width / w, height / h)
    w, h = w * shrink, h * shrink
    centre_x, centre_y = (left + right) / 2, (top + bottom) / 2
    left = min(max(centre_x - w / 2, 0.0), width - w)
    top = min(max(centre_y - h / 2, 0.0), height - h)
    return (left, top, left + w, top + h)
