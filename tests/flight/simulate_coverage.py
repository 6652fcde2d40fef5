"""Count how often the printed 95 % bands hold the truth in simulated lessons.

Run by hand, about four minutes for 5000 cases::

    python -m tests.flight.simulate_coverage --cases 5000

Each case draws a club, a delivery and a world (ball, strike, air, spin, shares) from the stated
spreads, flies it, looks at it with the stated error of the eye, and asks the explainer.  With
``--laboratory`` the ball follows one of the three laboratory fits at random, not the one the
explainer uses, so that the ball differs in the shape of its curves as well.
"""

from __future__ import annotations

import argparse
import sys
from dataclasses import replace

import numpy as np

from reporter.flight import SeenFlight, club_named, explain
from reporter.flight.aerodynamics import BOTH_LABORATORIES, NEWER_BALL, OLDER_BALL
from reporter.flight.air import Air
from reporter.flight.uncertainty import Band, fly_in, launch_in, nominal_and_spread

CLUBS = ("driver", "3-wood", "5-iron", "7-iron", "9-iron")
CHECKED = ("face_deg", "path_deg", "start_deg", "curve_m", "landing_offset_m", "carry_m", "apex_m")


def simulate(cases: int, seed: int, *, laboratory: bool) -> dict[str, tuple[int, int]]:
    """Count (held, asked) for every band."""
    generator = np.random.default_rng(seed)
    counts = {name: [0, 0] for name in CHECKED}
    for _ in range(cases):
        club = club_named(str(generator.choice(CLUBS)))
        speed = club.typical_speed_m_per_s() * generator.uniform(0.85, 1.15)
        delivery = club.deliver(speed)
        worlds = nominal_and_spread(
            club,
            float(delivery.delivered_loft_deg),
            "right",
            speed_stated=True,
            count=2,
            scores=generator.normal(size=(14, 1)),
        )
        world = worlds.only(slice(1, 2))
        model = BOTH_LABORATORIES
        if laboratory:
            model = (BOTH_LABORATORIES, NEWER_BALL, OLDER_BALL)[generator.integers(3)]
            world = replace(world, drag_scale=np.ones(1), lift_scale=np.ones(1))
        face, path = generator.normal(0.0, 3.0, size=(2, 1))
        launch = launch_in(world, delivery, face, path)
        flight = fly_in(world, launch, Air(), model)
        how = "by eye" if generator.random() < 0.5 else "measured"
        blank = SeenFlight(start_deg=0.0, landing_offset_m=0.0, how=how)
        nominal_carry = float(
            fly_in(
                worlds.only(slice(0, 1)),
                launch_in(worlds.only(slice(0, 1)), delivery, np.zeros(1), np.zeros(1)),
                Air(),
            ).carry_m[0]
        )
        seen = replace(
            blank,
            start_deg=float(launch.start_deg[0]) + blank.start_sd_deg * generator.normal(),
            landing_offset_m=float(flight.offline_m[0])
            + blank.side_sd_m(nominal_carry) * generator.normal(),
        )
        answer = explain(seen, club.name, speed).now
        if answer is None:
            continue
        truth = {
            "face_deg": face[0],
            "path_deg": path[0],
            "start_deg": launch.start_deg[0],
            "curve_m": flight.curve_m[0],
            "landing_offset_m": flight.offline_m[0],
            "carry_m": flight.carry_m[0],
            "apex_m": flight.apex_m[0],
        }
        for name in CHECKED:
            band: Band | None = getattr(answer, name)
            if band is not None:
                counts[name][0] += int(band.low <= truth[name] <= band.high)
                counts[name][1] += 1
    return {name: (held, asked) for name, (held, asked) in counts.items()}


def main() -> None:
    """Print one line for each band."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--cases", type=int, default=500)
    parser.add_argument("--seed", type=int, default=11)
    parser.add_argument("--laboratory", action="store_true")
    chosen = parser.parse_args()
    for name, (held, asked) in simulate(
        chosen.cases, chosen.seed, laboratory=chosen.laboratory
    ).items():
        share = 100.0 * held / max(asked, 1)
        sys.stdout.write(f"{name:20s} {held:6d} of {asked:6d}  {share:5.1f} %\n")


if __name__ == "__main__":
    main()
