"""Two rendered clips of one golfer, before and after, with the true place of every joint."""

import dataclasses
from pathlib import Path

from tests.video.swing_film import MARGIN, Film, random_swing, write_film

SIZE = (360, 480)
CLIPS = {"before": 3, "after": 5}
JOINTS = {
    "handle": "hands",
    "hosel": "clubhead",
    "lead_heel": "lead_ankle",
    "trail_heel": "trail_ankle",
}


def swing_of(when: str):
    """The swing of one clip: right-handed, seen from the front, the camera still."""
    return dataclasses.replace(
        random_swing(CLIPS[when]), size=SIZE, rate=60.0, jittered=False, ball_seen=True,
        view="face-on", left_handed=False, shake_px=0.0, grain=1.5, waggles=False,
    )  # fmt: skip


def write_clips(folder: Path) -> None:
    """Write both clips."""
    folder.mkdir(parents=True, exist_ok=True)
    for when in CLIPS:
        write_film(swing_of(when), folder / f"{when}-face-on.mp4")


class Truth:
    """Where the joints of both clips are."""

    def __init__(self) -> None:
        self._films = {when: Film(swing_of(when)) for when in CLIPS}

    def place(self, when: str, seconds: float, point: str) -> tuple[float, float]:
        """Return a point's place on the picture at a time [px]."""
        film = self._films[when]
        joint = film.skeleton(seconds)[JOINTS.get(point, point)]
        x, y, _ = film.project(joint)
        return x - MARGIN, y - MARGIN

    def moment(self, when: str, position: str) -> float:
        """Return the true time of the top or the strike [s]."""
        return getattr(swing_of(when), position)
