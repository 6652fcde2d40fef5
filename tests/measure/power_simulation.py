"""Whether a true change is called: figures moved by three times the printed smallest change.

Run ``python tests/measure/power_simulation.py [TRIALS] [SEED]``. The figure before and the figure
after have the same habits; one part of the figure after is turned or moved until the true value
differs by three times the smallest change that the finished pair prints, and its pictures are
taken with new clicks by the untouched camera.
"""

import sys
from collections import defaultdict
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass

import numpy as np
from lesson_simulation import CLICK_RANGE, HIDDEN_TIMES, _frame, _stick_lines
from swing_figure import pose, random_player, truth
from swing_lens import HEIGHT, WIDTH, random_camera

from reporter.measure import CATALOGUE, Class, compare
from reporter.measure.read import Reader
from reporter.session.schema import Session, Take, Thought

TIMES = 3.0
"""How many times the smallest change the true change is."""

ALONG, LEFT, UP = np.eye(3)


@dataclass(frozen=True)
class Turned:
    """Points turned about another point; `axis` in world coordinates."""

    points: tuple[str, ...]
    about: str
    axis: np.ndarray

    def applied(self, places: dict, amount: float) -> dict:
        """Return the places with the points turned by `amount` degrees (Rodrigues' formula)."""
        angle = np.radians(amount)
        moved = dict(places)
        for name in self.points:
            arm = places[name] - places[self.about]
            moved[name] = places[self.about] + (
                arm * np.cos(angle)
                + np.cross(self.axis, arm) * np.sin(angle)
                + self.axis * (self.axis @ arm) * (1 - np.cos(angle))
            )
        return moved


@dataclass(frozen=True)
class Moved:
    """Points moved together; `way` in world coordinates, `amount` in centimetres."""

    points: tuple[str, ...]
    way: np.ndarray

    def applied(self, places: dict, amount: float) -> dict:
        """Return the places with the points moved by `amount` centimetres."""
        return {
            name: place + (amount / 100.0 * self.way if name in self.points else 0.0)
            for name, place in places.items()
        }


MOVES = {
    "spine-forward-bend": Turned(("neck",), "pelvis", ALONG),
    "spine-side-bend": Turned(("neck",), "pelvis", LEFT),
    "shaft-to-ground": Turned(("handle",), "hosel", ALONG),
    "shaft-lean": Turned(("handle",), "hosel", LEFT),
    "shoulder-line-tilt": Turned(("lead_shoulder",), "trail_shoulder", LEFT),
    "pelvis-line-tilt": Turned(("lead_hip",), "trail_hip", LEFT),
    "lead-knee-flex": Moved(("lead_knee",), -LEFT),
    "trail-knee-flex": Moved(("trail_knee",), -LEFT),
    "knee-over-ankle": Turned(("lead_knee",), "lead_ankle", LEFT),
    "trail-shin-lean": Turned(("trail_knee",), "trail_ankle", LEFT),
    "pelvis-shift": Moved(("pelvis",), ALONG),
    "head-shift": Moved(("head",), ALONG),
    "pelvis-height": Moved(("pelvis",), UP),
    "head-height": Moved(("head",), UP),
    "pelvis-toward-ball": Moved(("pelvis",), LEFT),
    "head-toward-ball": Moved(("head",), LEFT),
    "heel-lift": Moved(("trail_heel",), UP),
    "arms-from-plumb": Turned(("handle",), "trail_shoulder", ALONG),
    "arms-to-shaft": Turned(("hosel",), "handle", ALONG),
    "ball-distance": Moved(("ball",), LEFT),
    "ball-position": Moved(("ball",), ALONG),
    "foot-flare-lead": Turned(("lead_toe",), "lead_heel", UP),
    "foot-flare-trail": Turned(("trail_toe",), "trail_heel", UP),
    "stance-width": Moved(("lead_heel", "lead_toe", "lead_ankle"), ALONG),
    "toe-line-aim": Moved(("lead_toe",), LEFT),
}
"""How the figure is moved along each measure."""

AMOUNTS = np.array([0.0, *np.geomspace(0.25, 70.0, 40)])


def moved_by(measure: str, view: str, places: dict, setup: dict, unit: str, change: float):
    """Return places whose true value differs by `change`, None where no such figure stands."""
    move = MOVES[measure]
    start = truth(measure, view, places, setup, unit)

    def reached(amount: float) -> float:
        moved = move.applied(places, amount)
        return (truth(measure, view, moved, setup if setup is not places else moved, unit)) - start

    for sense in (1.0, -1.0):
        low = 0.0
        for high in sense * AMOUNTS[1:]:
            if reached(high) / change >= 1.0:
                for _ in range(40):
                    middle = (low + high) / 2
                    low, high = (low, middle) if reached(middle) / change >= 1 else (middle, high)
                return move.applied(places, high)
            low = high
    return None


def ways():
    """Yield measure, view, position and evidence of every way that may say "changed"."""
    for measure in CATALOGUE:
        for way in measure.ways:
            if way.trust is Class.IMAGE_ANGLE:
                continue
            for position in way.positions:
                if way.reference:
                    yield measure.id, way.view, position, way.reference
                    continue
                yield measure.id, way.view, position, "ground" if way.ground else ""
                if way.straight:
                    yield measure.id, way.view, position, "ground"


WAYS = tuple(dict.fromkeys(ways()))


def _take(name, view, evidence, offset, camera, clicks, rng):
    """Return the clip and a maker of its frames, all seen by one camera."""
    take = Take(
        id=name,
        when="before" if name == "b" else "after",
        view=view,
        camera="c",
        **({"stick": "112 cm"} if evidence == "held" else {}),
    )

    def frame(position, places, player, kind):
        ground = np.zeros(2) if kind in ("ground", "heels") else None
        lines = (
            _stick_lines(view, camera, places, player.size, clicks, rng) if kind == "held" else None
        )
        ident = f"{name}-{position}"
        return _frame(ident, name, position, view, camera, places, clicks, ground, rng, lines)

    return take, frame, offset


def trial(way, rng):
    """Return (called, true change over the smallest printed), None where the draw shows nothing."""
    measure, view, position, evidence = way
    player, camera = random_player(rng), random_camera(view, rng)
    clicks = (rng.uniform(*CLICK_RANGE), rng.uniform(*HIDDEN_TIMES))
    state = int(rng.integers(2**62))
    sense = 1.0 if rng.random() < 0.5 else -1.0

    def finished(change: float, unit: str = ""):
        # The same clicks for every size of the change.
        own = np.random.default_rng(state)
        takes, frames = [], []
        for name in ("b", "a"):
            offset = np.array([own.uniform(-0.1, 0.1), own.uniform(-0.06, 0.06), 0.0])
            take, frame, _ = _take(name, view, evidence, offset, camera, clicks, own)
            takes.append(take)
            setup = pose(player, "setup", offset)
            now = setup if position == "setup" else pose(player, position, offset)
            if name == "a" and change:
                now = moved_by(measure, view, now, setup, unit, change)
                if now is None:
                    return None
            if position != "setup":
                frames.append(frame("setup", setup, player, evidence))
            frames.append(frame(position, now, player, evidence))
        session = Session(thoughts=(Thought(say="x"),), takes=tuple(takes), frames=tuple(frames))
        reader = Reader(session, {one.id: (WIDTH, HEIGHT) for one in frames})
        read = [
            next(m for m in reader.read(f"{name}-{position}") if m.measure == measure)
            for name in ("b", "a")
        ]
        return compare(*read, untouched=True)

    found = finished(0.0)
    if found.change is None:
        return None
    unit, size = found.before.unit, TIMES * found.smallest_change
    for _ in range(3):
        tried = finished(sense * size, unit)
        if tried is None:
            sense = -sense
            tried = finished(sense * size, unit)
        if tried is None or tried.change is None:
            return None
        if TIMES * tried.smallest_change <= 1.01 * size:
            break
        size = TIMES * tried.smallest_change
    called = tried.verdict.value == "changed" and tried.change * sense > 0
    return called, size / tried.smallest_change


def run(way, trials: int, seed) -> tuple[list[bool], int]:
    """Return for every trial whether the change was called, and how many draws showed nothing."""
    rng = np.random.default_rng(seed)
    called, empty = [], 0
    while len(called) < trials and empty < 4 * trials + 40:
        one = trial(way, rng)
        if one is None:
            empty += 1
        else:
            called.append(one[0])
    return called, empty


def _run(job):
    index, trials, seed = job
    return run(WAYS[index], trials, np.random.SeedSequence((seed, index)))


if __name__ == "__main__":
    count = int(sys.argv[1]) if len(sys.argv) > 1 else 500
    start = int(sys.argv[2]) if len(sys.argv) > 2 else 21
    by_measure: dict[tuple, list] = defaultdict(list)
    with ProcessPoolExecutor(2) as pool:
        jobs = [(index, count, start) for index in range(len(WAYS))]
        for chosen, (told, nothing) in zip(WAYS, pool.map(_run, jobs), strict=True):
            print(  # noqa: T201
                f"{' '.join(chosen):64} called {np.mean(told):.3f} of {len(told)},"
                f" {nothing} draws without the measure",
                flush=True,
            )
