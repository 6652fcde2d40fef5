"""Time a batch of flights against SciPy's solver, one shot after the other, in the same run.

Run by hand::

    python -m tests.flight.measure_speed

Five interleaved rounds of processor time; the medians are printed.  SciPy gets the same equations
in plain floats, which is the fastest form it takes them in.
"""

from __future__ import annotations

import datetime
import re
import shutil
import sys
import tempfile
import time
from collections.abc import Callable
from math import exp, sqrt
from pathlib import Path

import numpy as np
from scipy.integrate import solve_ivp

from reporter.flight import Air, Launch, SeenFlight, WantedFlight, club_named, explain, fly
from reporter.flight.aerodynamics import BOTH_LABORATORIES
from reporter.flight.ball import STANDARD_BALL as BALL
from reporter.flight.expected import PlayerSpread, expected_shots
from reporter.flight.pattern import pattern_of
from reporter.flight.trajectory import TIME_STEP_S
from reporter.handout.build import build_handout
from reporter.handout.flight_input import explanation_of, usable_shots
from reporter.session.load import load_session
from reporter.story.shot_pattern import pattern_sheet
from reporter.story.why_page import why_sheet

LESSON = Path(__file__).resolve().parents[2] / "demo_session"
ROUNDS = 5
SHOTS = 20_000
ONE_BY_ONE = 60


def shots(count: int) -> Launch:
    """Draw drives and irons, always the same ones."""
    generator = np.random.default_rng(1)
    return Launch(
        generator.normal(65, 4, count),
        generator.normal(14, 2, count),
        generator.normal(3500, 500, count),
        generator.normal(0, 2, count),
        generator.normal(0, 8, count),
    )


def land_by_scipy(start, elevation, speed, spin, tilt, **how):
    """Fly one shot with SciPy; give x and y (left) of the landing [m]."""
    (a1, b1, a2), (c0, c1, c2) = BOTH_LABORATORIES.lift_terms, BOTH_LABORATORIES.drag_terms
    factor = 0.5 * Air().density_kg_per_m3 * BALL.area_m2 / BALL.mass_kg
    radius = BALL.radius_m
    forward = np.array([np.cos(start), -np.sin(start), 0.0])
    right = np.array([-np.sin(start), -np.cos(start), 0.0])
    up = np.array([0.0, 0.0, 1.0])
    velocity = speed * (np.cos(elevation) * forward + np.sin(elevation) * up)
    axis = right - np.tan(tilt) * (up - np.tan(elevation) * forward)
    ax, ay, az = (float(part) for part in axis / np.linalg.norm(axis))

    def rates(_, y):
        vx, vy, vz, w = y[3], y[4], y[5], y[6]
        fast = sqrt(vx * vx + vy * vy + vz * vz)
        s = radius * w / fast
        lift = a1 * (1 - exp(-b1 * s)) + a2 * (1 - exp(-100 * s))
        drag = c0 + c1 * (1 - exp(-((s / c2) ** 2)))
        q = factor * fast
        return [
            vx,
            vy,
            vz,
            q * (lift * (ay * vz - az * vy) - drag * vx),
            q * (lift * (az * vx - ax * vz) - drag * vy),
            q * (lift * (ax * vy - ay * vx) - drag * vz) - 9.80665,
            -2e-5 * w * fast / radius,
        ]

    def ground(_, y):
        return y[2]

    ground.terminal, ground.direction = True, -1
    begin = [0.0, 0.0, 1e-9, *velocity, spin]
    return solve_ivp(rates, (0, 20), begin, events=ground, **how).y_events[0][0][:2]


def processor_seconds(do: Callable[[], object], rounds: int = 9) -> float:
    """Give the median of the processor time of some runs, after one to warm up."""
    do()
    times = []
    for _ in range(rounds):
        begun = time.process_time()
        do()
        times.append(time.process_time() - begun)
    return float(np.median(times))


def measure_batch() -> float:
    """Print shots a second against SciPy, and the landing error; give the seconds of a batch."""
    launches = shots(SHOTS)
    columns = list(zip(*launches.columns(), strict=True))[:ONE_BY_ONE]
    steps = {f"batch of {SHOTS}, steps of {step:g} s": step for step in (TIME_STEP_S, 0.2)}
    solvers = {
        "RK45, 1e-6": {"method": "RK45", "rtol": 1e-6, "atol": 1e-6},
        "DOP853, 1e-9": {"method": "DOP853", "rtol": 1e-9, "atol": 1e-9},
    }
    rates: dict[str, list[float]] = {name: [] for name in (*steps, *solvers)}
    flights = {name: fly(launches, time_step_s=step) for name, step in steps.items()}
    for _ in range(ROUNDS):
        for name, step in steps.items():
            begun = time.process_time()
            fly(launches, time_step_s=step)
            rates[name].append(SHOTS / (time.process_time() - begun))
        for name, how in solvers.items():
            begun = time.process_time()
            for column in columns:
                land_by_scipy(*column, **how)
            rates[name].append(ONE_BY_ONE / (time.process_time() - begun))
    tight = np.array(
        [land_by_scipy(*column, method="DOP853", rtol=1e-12, atol=1e-12) for column in columns]
    )
    for name, flight in flights.items():
        batch = float(np.median(rates[name]))
        found = np.stack([flight.downrange_m, -flight.offline_m], axis=1)[:ONE_BY_ONE]
        error = np.hypot(*(found - tight).T).max()
        sys.stdout.write(f"{name}: {batch:,.0f} shots a second, landing error {error:.1e} m\n")
        for solver in solvers:
            one = float(np.median(rates[solver]))
            sys.stdout.write(f"  against SciPy {solver} ({one:,.0f} a second): {batch / one:.0f}\n")
    return SHOTS / float(np.median(rates[next(iter(steps))]))


def measure_pattern(batch_s: float) -> None:
    """Print the time of a pattern with as many simulated shots, in times of one batch."""
    club = club_named("driver")
    delivery = club.deliver(42.0)
    spread = PlayerSpread(2.0, 2.0)

    def pattern() -> object:
        found = expected_shots(club, delivery, spread, shots=SHOTS)
        return pattern_of(found.landing_offset_m, found.carry_m, 30.0)

    taken = processor_seconds(pattern, 5)
    sys.stdout.write(
        f"pattern with {SHOTS} simulated shots: {1000 * taken:.0f} ms,"
        f" {taken / batch_s:.1f} batch times\n"
    )


def measure_page() -> None:
    """Print what the words and numbers of page 2 take, and what its two sheets add to a build."""
    seen = SeenFlight.from_words("a little left", "right", shots=6)
    taken = processor_seconds(
        lambda: explain(seen, "driver", 42.0, wanted=WantedFlight(2.0), fairway_width_m=30.0)
    )
    sys.stdout.write(f"one explanation: {1000 * taken:.0f} ms\n")
    loaded = load_session(LESSON / "session.yaml")

    def page() -> object:
        rows = usable_shots(loaded.session, loaded.shots)
        answer = explanation_of(loaded.session, rows)
        return why_sheet(loaded.session, answer), pattern_sheet(loaded.session, answer, rows)

    words = processor_seconds(page)
    with tempfile.TemporaryDirectory() as name:
        whole, without = Path(name) / "whole", Path(name) / "without"
        for folder in (whole, without):
            shutil.copytree(LESSON, folder)
        text = (without / "session.yaml").read_text(encoding="utf-8")
        for part in ("seen", "wanted"):
            text = re.sub(rf"(?ms)^{part}:.*?(?=^\S|\Z)", "", text)
        (without / "session.yaml").write_text(text, encoding="utf-8")
        full, rest = (processor_seconds(lambda at=at: _build(at)) for at in (whole, without))
    sys.stdout.write(
        f"page 2 of the demo lesson: computed and worded in {1000 * words:.0f} ms,"
        f" {100 * words / rest:.0f} % of a build without it ({1000 * rest:.0f} ms);"
        f" with placing and drawing it adds {100 * (full / rest - 1):.0f} %\n"
    )


def _build(folder: Path) -> object:
    return build_handout(
        folder / "session.yaml", output=folder / "handout.pdf", brand=None, layout="handout",
        paper="a4", today=datetime.date(2027, 4, 13), force=True,
    )  # fmt: skip


def main() -> None:
    """Print shots a second, ratios, the landing error, and what a page takes."""
    batch_s = measure_batch()
    measure_pattern(batch_s)
    measure_page()


if __name__ == "__main__":
    main()
