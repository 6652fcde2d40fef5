"""Refine what was clicked on the picture itself: a ball, a shaft, a level or a plumb line."""

from pathlib import Path
from typing import Any

from reporter.session.frames import open_frame
from reporter.session.schema import Frame

BALL_RADIUS_METRES = 0.02135
"""Half of the least diameter of a ball, 42.67 mm (Rules of Golf, Equipment Rules, part 4)."""

HEAD_TO_ANKLES = 0.87
"""From the middle of the head to the ankles, in parts of the body's height (Drillis and Contini
1966: ankle at 0.039, chin to crown 0.130)."""

BODY_METRES = 1.72
"""A usual body height; a tenth more or less changes the expected ball by a tenth, which the
search bears."""

SHAFT = ("handle", "hosel")


def snap_points(folder: Path, frame: Frame, kind: str) -> dict[str, Any] | None:
    """Return refined places of a frame's marked points.

    Parameters
    ----------
    folder : Path
        The lesson's folder.
    frame : Frame
        With its points.
    kind : str
        ``shaft`` or ``ball``.

    Returns
    -------
    dict or None
        ``points`` by name, each across and down in pixels; ``flag``, empty where they may be
        believed; ``moved_px``. None if the points that it needs are not marked.
    """
    import numpy as np

    marked = {name: point.at for name, point in frame.points.items() if point.at is not None}
    names = SHAFT if kind == "shaft" else ("ball",)
    if any(name not in marked for name in names):
        return None
    picture = open_frame(folder, frame.file, blur=frame.blur)
    grey = np.asarray(picture.image.convert("L"))
    if kind == "ball":
        from reporter.measure.snap_ball import snap_ball

        ball = snap_ball(grey, marked["ball"], radius_px=_ball_radius(marked, picture.size))
        return {"points": {"ball": ball.centre}, "flag": ball.flag, "moved_px": ball.moved_px}
    from reporter.measure.snap import snap_line

    line = snap_line(grey, marked[SHAFT[0]], marked[SHAFT[1]])
    return {
        "points": {SHAFT[0]: line.start, SHAFT[1]: line.end},
        "flag": line.flag,
        "moved_px": line.moved_px,
    }


def _ball_radius(marked: dict[str, tuple[float, float]], size: tuple[int, int]) -> float:
    """Return how large a ball should be on the picture [px], by the body if it is marked."""
    ankles = [marked[name] for name in ("lead_ankle", "trail_ankle") if name in marked]
    if "head" in marked and ankles:
        down = sum(place[1] for place in ankles) / len(ankles) - marked["head"][1]
        if down > 0:
            return BALL_RADIUS_METRES * down / (HEAD_TO_ANKLES * BODY_METRES)
    # A golfer usually fills two thirds of the picture's height.
    return BALL_RADIUS_METRES * (2.0 / 3.0) * size[1] / BODY_METRES
