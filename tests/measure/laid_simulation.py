"""Monte Carlo of pairs whose camera was turned between before and after, and laid back.

Run ``python tests/measure/laid_simulation.py [TRIALS] [SEED]`` for its table. The map is the true
one of the made-up cameras with an error as large as docs/pictures.md found it on drawn scenes.
"""

import sys
from collections import defaultdict
from dataclasses import dataclass, field, replace

import numpy as np
from lesson_simulation import CLICK_RANGE, HIDDEN_TIMES, _frame
from swing_figure import pose, random_player
from swing_lens import HEIGHT, WIDTH, Camera, random_camera

from reporter.measure import compare_pair, told_together
from reporter.measure.align import UNTOUCHED, Alignment
from reporter.measure.pair_alignment import PairAlignment, with_readings
from reporter.measure.read import Reader
from reporter.session.schema import Pair, Session, Take, Thought

SIZE = (WIDTH, HEIGHT)
POSITIONS = ("setup", "impact")
MAP_NOISE = (0.45, 0.0004)
"""Standard deviation of the map's shift [px], and of its turn and stretch."""


@dataclass
class Row:
    """How often a change was said of one measure, and how wide it was."""

    false: list[bool] = field(default_factory=list)
    smallest: list[float] = field(default_factory=list)


def lens_matrix(camera: Camera) -> np.ndarray:
    """Return the matrix of a camera's lens."""
    return np.array([[camera.focal, 0, WIDTH / 2], [0, camera.focal, HEIGHT / 2], [0, 0, 1.0]])


def turned(camera: Camera, rng: np.random.Generator) -> Camera:
    """Return the camera in its place, turned, tilted, rolled and zoomed."""
    pan, tilt, roll = np.radians(rng.uniform(-1, 1, 3) * (4.0, 3.0, 2.0))
    about = [
        np.array([[np.cos(pan), 0, -np.sin(pan)], [0, 1, 0], [np.sin(pan), 0, np.cos(pan)]]),
        np.array([[1, 0, 0], [0, np.cos(tilt), np.sin(tilt)], [0, -np.sin(tilt), np.cos(tilt)]]),
        np.array([[np.cos(roll), np.sin(roll), 0], [-np.sin(roll), np.cos(roll), 0], [0, 0, 1]]),
    ]
    rows = about[2] @ about[1] @ about[0] @ camera.rows
    return replace(camera, rows=rows, focal=camera.focal * rng.uniform(0.94, 1.06))


def found_map(before: Camera, after: Camera, rng: np.random.Generator) -> tuple:
    """Return the map from after to before as an alignment finds it: nearly true."""
    onto = lens_matrix(before) @ before.rows @ np.linalg.inv(lens_matrix(after) @ after.rows)
    shift, turn = MAP_NOISE
    a, b = rng.normal(0, turn, 2)
    dx, dy = rng.normal(0, shift, 2)
    middle = np.array([[1, 0, WIDTH / 2], [0, 1, HEIGHT / 2], [0, 0, 1.0]])
    wrong = np.array([[1 + a, -b, dx], [b, 1 + a, dy], [0, 0, 1.0]])
    matrix = middle @ wrong @ np.linalg.inv(middle) @ onto
    return tuple(tuple(row) for row in (matrix / matrix[2, 2]).tolist())


def null_lesson(view, kind, rng):
    """Return a lesson of two swings alike and what the pictures say: untouched or turned."""
    player, camera = random_player(rng), random_camera(view, rng)
    after = turned(camera, rng) if kind == "turned or zoomed" else camera
    clicks = (rng.uniform(*CLICK_RANGE), rng.uniform(*HIDDEN_TIMES))
    takes, frames = [], []
    for when, lens in (("before", camera), ("after", after)):
        takes.append(Take(id=when, when=when, view=view))
        offset = np.array([rng.uniform(-0.1, 0.1), rng.uniform(-0.06, 0.06), 0.0])
        for position in POSITIONS:
            points = pose(player, position, offset)
            frames.append(
                _frame(f"{when}-{position}", when, position, view, lens, points, clicks, None, rng)
            )
    pairs = tuple(Pair(before=f"before-{p}", after=f"after-{p}") for p in POSITIONS)
    session = Session(
        thoughts=(Thought(say="x"),), takes=tuple(takes), frames=tuple(frames), pairs=pairs
    )
    matrix = found_map(camera, after, rng) if after is not camera else UNTOUCHED
    alignment = Alignment(matrix, 0.4, kind, 0.0, 1.0, 0.0, 300)
    compared = tuple(
        PairAlignment(index, pair.before, pair.after, view, None, SIZE, alignment)
        for index, pair in enumerate(pairs)
    )
    return session, compared


def simulate(trials: int, seed: int, kind: str) -> tuple[dict[tuple[str, str], Row], float]:
    """Return rows by position and measure, and the share of pages with a false change.

    A page speaks of every measure of the pair at impact, by the limit for as many.
    """
    rng = np.random.default_rng(seed)
    rows: dict[tuple[str, str], Row] = defaultdict(Row)
    pages = []
    for _ in range(trials):
        for view in ("face-on", "down-the-line"):
            session, compared = null_lesson(view, kind, rng)
            reader = Reader(session, {frame.id: SIZE for frame in session.frames})
            read, known = reader.all(), with_readings(compared, reader)
            for pair in session.pairs:
                for one in compare_pair(session, read, pair, compared=known):
                    if one.change is None:
                        continue
                    assert one.camera_untouched
                    row = rows[(one.before.position, f"{one.before.measure} {view}")]
                    row.false.append(one.verdict.value == "changed")
                    row.smallest.append(one.smallest_change)
            if view == "face-on":
                impact = session.pairs[1]
                alone = session.model_copy(update={"pairs": (impact,)})
                among = told_together(alone, read, known)
                page = compare_pair(session, read, impact, among=among, compared=known)
                pages.append(any(one.verdict.value == "changed" for one in page))
    return dict(rows), float(np.mean(pages))


if __name__ == "__main__":
    count = int(sys.argv[1]) if len(sys.argv) > 1 else 5000
    start = int(sys.argv[2]) if len(sys.argv) > 2 else 20
    for how in ("untouched", "turned or zoomed"):
        told, share = simulate(count, start, how)
        print(f"{how}: pages with a false change {share:.3f}")  # noqa: T201
        for key, row in sorted(told.items()):
            print(  # noqa: T201
                f"{key[0]:8}{key[1]:36}{np.mean(row.false):.3f} of {len(row.false)},"
                f" smallest change {np.median(row.smallest):.1f}"
            )
