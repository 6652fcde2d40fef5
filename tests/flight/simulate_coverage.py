"""Count how often the printed 95 % bands hold the truth in simulated lessons.

Run by hand, two to three minutes for 5000 cases::

    python -m tests.flight.simulate_coverage --cases 5000 --other-balls

Each case draws a club, a delivery and a world (ball, strike, air, spin, shares) from the stated
spreads, flies it, looks at it with the stated error of the eye, and asks the explainer.  With
``--other-balls`` ball, strike and air come from `tests.flight.other_balls` instead: curves of
another shape anywhere between the two laboratories' balls, strikes with heavier tails, air by
thermometer and barometer, wind that grows with height.
"""

from __future__ import annotations

import argparse
import sys
from dataclasses import replace

import numpy as np

from reporter.flight import SeenFlight, club_named, explain
from reporter.flight.aerodynamics import BOTH_LABORATORIES, AirModel
from reporter.flight.air import Air
from reporter.flight.uncertainty import Band, fly_in, launch_in, nominal_and_spread
from tests.flight.other_balls import OtherBall, other_air, other_world

CLUBS = ("driver", "3-wood", "5-iron", "7-iron", "9-iron", "pitching-wedge", "sand-wedge")
LEAST_OF_USUAL_SPEED = {"9-iron": 0.7, "pitching-wedge": 0.6, "sand-wedge": 0.5}
"""Slowest strike, as a share of the usual head speed [-]: short clubs are swung in part too."""
OF_DELIVERY = ("face_deg", "path_deg", "face_to_path_deg")
OF_LAUNCH = ("start_deg", "launch_deg", "axis_tilt_deg", "ball_speed_m_per_s", "spin_rpm")
OF_FLIGHT = (
    "curve_m", "bend_deg", "landing_offset_m", "carry_m", "apex_m", "descent_deg",
    "landing_speed_m_per_s", "landing_spin_rpm", "flight_time_s",
)  # fmt: skip
CHECKED = (*OF_DELIVERY, *OF_LAUNCH, *OF_FLIGHT)
"""Every band that is printed, on the page or by the command."""


Counts = dict[tuple[str, str], list[int]]


def simulate(cases: int, seed: int, *, other_balls: bool) -> Counts:
    """Count [held, asked] for every club and band."""
    generator = np.random.default_rng(seed)
    counts: Counts = {(club, name): [0, 0] for club in CLUBS for name in CHECKED}
    for _ in range(cases):
        club = club_named(str(generator.choice(CLUBS)))
        slowest = LEAST_OF_USUAL_SPEED.get(club.name, 0.85)
        speed = club.typical_speed_m_per_s() * generator.uniform(slowest, 1.15)
        delivery = club.deliver(speed)
        worlds = nominal_and_spread(
            club,
            float(delivery.delivered_loft_deg),
            "right",
            speed_stated=True,
            count=2,
            scores=generator.normal(size=(15, 1)),
        )
        world = worlds.only(slice(1, 2))
        model: AirModel = BOTH_LABORATORIES
        air = Air()
        if other_balls:
            model, air = OtherBall.drawn(generator), other_air(generator)
            world = other_world(world, club, generator)
        face, path = generator.normal(0.0, 3.0, size=(2, 1))
        launch = launch_in(world, delivery, face, path)
        flight = fly_in(world, launch, air, model, time_step_s=0.25)
        how = "by eye" if generator.random() < 0.5 else "measured"
        blank = SeenFlight(start_deg=0.0, landing_offset_m=0.0, how=how)
        nominal_carry = float(
            fly_in(
                worlds.only(slice(0, 1)),
                launch_in(worlds.only(slice(0, 1)), delivery, np.zeros(1), np.zeros(1)),
                Air(),
                time_step_s=0.25,
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
            "face_to_path_deg": face[0] - path[0],
            **{name: np.atleast_1d(getattr(launch, name))[0] for name in OF_LAUNCH},
            **{
                name: getattr(flight, "offline_m" if name == "landing_offset_m" else name)[0]
                for name in OF_FLIGHT
            },
        }
        for name in CHECKED:
            band: Band | None = getattr(answer, name)
            if band is not None:
                one = counts[club.name, name]
                one[0] += int(band.low <= truth[name] <= band.high)
                one[1] += 1
    return counts


def main() -> None:
    """Print one line for each band."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--cases", type=int, default=500)
    parser.add_argument("--seed", type=int, default=11)
    parser.add_argument("--other-balls", action="store_true")
    chosen = parser.parse_args()
    counts = simulate(chosen.cases, chosen.seed, other_balls=chosen.other_balls)
    for name in CHECKED:
        held, asked = (sum(counts[club, name][part] for club in CLUBS) for part in (0, 1))
        line = f"{name:22s} {held:6d} of {asked:6d}  {100.0 * held / max(asked, 1):5.1f} %"
        for club in CLUBS:
            held, asked = counts[club, name]
            line += f"  {club} {100.0 * held / asked:.1f}" if asked else f"  {club} -"
        sys.stdout.write(line + "\n")


if __name__ == "__main__":
    main()
