"""Small lessons for the tests of measuring: a figure at set-up and impact, seen without error."""

import numpy as np
from swing_figure import POSITIONS, RANGES, Player, pose
from swing_lens import HEIGHT, WIDTH, camera

from reporter.session.schema import (
    Frame,
    GroundPoint,
    MarkedPoint,
    Session,
    Student,
    Take,
    Thought,
)

SIZE = (WIDTH, HEIGHT)
CORNERS = ((-50.0, -50.0), (50.0, -50.0), (50.0, 0.0), (-50.0, 0.0))
LABEL = "tripod"


def middling_player(**changes):
    """Return the player in the middle of every range, with single habits changed by name."""
    habits = {
        name: np.asarray(middle, float) + changes.pop(name, 0.0)
        for name, middle in RANGES.items()
        if not name.endswith("_half")
    }
    lengths = {
        "size": 1.0,
        "stance": 0.46,
        "lead_flare": 18.0,
        "trail_flare": 8.0,
        "shaft": 0.8,
        "lie": 58.0,
        "trunk": 0.5,
        "neck_above_shoulders": 0.02,
        "ball_x": 0.05,
    }
    return Player(habits=habits, **{**lengths, **changes})


def pixels_of(view="face-on", position="setup", player=None, plays="right", **how):
    """Return exact pixels by name; a left-hander is the mirror image of the right-hander."""
    places = pose(player or middling_player(), position, np.zeros(3))
    at = camera(view, **how).pixels(np.array(list(places.values())))
    if plays == "left" and view != "feet":
        at[:, 0] = WIDTH - at[:, 0]
    return {n: (float(x), float(y)) for n, (x, y) in zip(places, at, strict=True)}


def ground_points(view="face-on", **how):
    """Return four known spots around the feet."""
    metres = np.c_[np.array(CORNERS) / 100.0, np.zeros(4)]
    return tuple(
        GroundPoint(at=(float(x), float(y)), ground=(corner[0], -corner[1]))
        for (x, y), corner in zip(camera(view, **how).pixels(metres), CORNERS, strict=True)
    )


def frame(name, take, position, points, **more):
    """Return a frame from pixels by name."""
    marked = {
        n: at if isinstance(at, MarkedPoint) else MarkedPoint(at=at) for n, at in points.items()
    }
    return Frame(id=name, take=take, position=position, file="x.png", points=marked, **more)


def lesson(frames, takes=None, plays="right"):
    """Return a lesson; without takes, one face-on clip called t."""
    takes = takes or (Take(id="t", when="before", view="face-on", camera=LABEL),)
    return Session(
        student=Student(plays=plays),
        thoughts=(Thought(say="x"),),
        takes=tuple(takes),
        frames=tuple(frames),
    )


def sizes_of(session):
    """Return the size of every frame."""
    return {one.id: SIZE for one in session.frames}


def sixteen_frames():
    """Return a full lesson: two views, before and after, four positions each, ground points."""
    takes, frames = [], []
    for view in ("face-on", "down-the-line"):
        for when in ("before", "after"):
            take = f"{view}-{when}"
            takes.append(Take(id=take, when=when, view=view, camera=view))
            for position in ("setup", "top", "impact", "finish"):
                assert position in POSITIONS
                frames.append(
                    frame(
                        f"{take}-{position}",
                        take,
                        position,
                        pixels_of(view, position),
                        ground_points=ground_points(view),
                    )
                )
    return lesson(frames, takes)
