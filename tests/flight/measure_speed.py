"""Time a batch of flights against SciPy's solver, one shot after the other, in the same run.

Run by hand::

    python -m tests.flight.measure_speed

Five interleaved rounds of processor time; the medians are printed.  SciPy gets the same equations
in plain floats, which is the fastest form it takes them in.
"""

from __future__ import annotations

import sys
import time
from math import exp, sqrt

import numpy as np
from scipy.integrate import solve_ivp

from reporter.flight import Air, Launch, SeenFlight, WantedFlight, explain, fly
from reporter.flight.aerodynamics import BOTH_LABORATORIES
from reporter.flight.ball import STANDARD_BALL as BALL

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


def main() -> None:
    """Print shots a second, ratios, the landing error and the time of one explanation."""
    launches = shots(SHOTS)
    columns = list(zip(*launches.columns(), strict=True))[:ONE_BY_ONE]
    solvers = {
        "RK45, 1e-6": {"method": "RK45", "rtol": 1e-6, "atol": 1e-6},
        "DOP853, 1e-9": {"method": "DOP853", "rtol": 1e-9, "atol": 1e-9},
    }
    rates: dict[str, list[float]] = {name: [] for name in ("batch", *solvers)}
    flight = fly(launches)
    for _ in range(ROUNDS):
        begun = time.process_time()
        fly(launches)
        rates["batch"].append(SHOTS / (time.process_time() - begun))
        for name, how in solvers.items():
            begun = time.process_time()
            for column in columns:
                land_by_scipy(*column, **how)
            rates[name].append(ONE_BY_ONE / (time.process_time() - begun))
    batch = float(np.median(rates["batch"]))
    sys.stdout.write(f"batch of {SHOTS}: {batch:,.0f} shots a second\n")
    for name in solvers:
        one = float(np.median(rates[name]))
        sys.stdout.write(f"SciPy {name}: {one:,.0f} shots a second, ratio {batch / one:.0f}\n")
    tight = np.array(
        [land_by_scipy(*column, method="DOP853", rtol=1e-12, atol=1e-12) for column in columns]
    )
    found = np.stack([flight.downrange_m, -flight.offline_m], axis=1)[:ONE_BY_ONE]
    error = np.hypot(*(found - tight).T).max()
    sys.stdout.write(f"largest landing error against a tight solution: {error:.1e} m\n")
    seen = SeenFlight.from_words("a little left", "right", shots=6)
    times = []
    for _ in range(9):
        begun = time.process_time()
        explain(seen, "driver", 42.0, wanted=WantedFlight(2.0), fairway_width_m=30.0)
        times.append(time.process_time() - begun)
    sys.stdout.write(f"one explanation: {1000 * float(np.median(times)):.0f} ms\n")


if __name__ == "__main__":
    main()
