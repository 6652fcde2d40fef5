"""Checks of a flight model against published figures; every one can be put to a wrong model."""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from reference_tables import published, rows

from reporter.flight import Launch, club_named, fly, strike
from reporter.flight.aerodynamics import BOTH_LABORATORIES, AirModel
from reporter.flight.impact import Delivery
from reporter.flight.trajectory import SPIN_DECAY_FACTOR

MPH = 0.44704
YARD = 0.9144
FOOT = 0.3048
FIGURES = published()


@dataclass(frozen=True)
class Scaled:
    """A coefficient model made wrong on purpose."""

    base: AirModel = BOTH_LABORATORIES
    drag: float = 1.0
    lift: float = 1.0
    name: str = "scaled"
    source: str = "none"
    uses_reynolds: bool = False
    spin_ratio_range: tuple[float, float] = (0.0, 1.0)
    reynolds_range: tuple[float, float] = (0.0, 1e6)

    def coefficients(self, spin_ratio, reynolds):
        drag, lift = self.base.coefficients(spin_ratio, reynolds)
        return drag * self.drag, lift * self.lift


@dataclass(frozen=True)
class Physics:
    """What a check is put to; the defaults are the product's own."""

    model: AirModel = BOTH_LABORATORIES
    spin_decay_factor: float = SPIN_DECAY_FACTOR
    face_share: float | None = None

    def flight(self, launch: Launch):
        return fly(launch, model=self.model, spin_decay_factor=self.spin_decay_factor)

    def carry_yd(self, mph: float, launch_deg: float, spin_rpm: float) -> float:
        launch = Launch(mph * MPH, launch_deg, spin_rpm)
        return float(self.flight(launch).carry_m[0]) / YARD

    def start_deg(self, loft: float, face: float, path: float) -> float:
        delivery = Delivery(
            40.0,
            face_deg=face,
            path_deg=path,
            delivered_loft_deg=loft,
            face_share=self.face_share,
        )
        return float(strike(delivery).start_deg[0])


def planned_minus_current_test(physics: Physics) -> bool:
    entry = FIGURES["planned_minus_current_test"]
    launches = entry["launches_mph_deg_rpm"]
    longer = physics.carry_yd(*launches["planned"]) - physics.carry_yd(*launches["current"])
    low, high = entry["longer_yd"]
    return low - entry["tolerance_yd"] <= longer <= high + entry["tolerance_yd"]


def older_to_current_test(physics: Physics) -> bool:
    entry = FIGURES["older_to_current_test"]
    (old_head, new_head), (old_e, new_e) = entry["head_mph"], entry["restitution"]
    new_ball = entry["ball_mph_current"]
    old_ball = new_ball * old_head / new_head * (1 + old_e) / (1 + new_e)
    longer = physics.carry_yd(new_ball, 10, 2520) - physics.carry_yd(old_ball, 10, 2520)
    return abs(longer - entry["longer_yd"]) <= entry["tolerance_yd"]


def landing_spin_share(physics: Physics) -> bool:
    entry, drive = FIGURES["landing_spin_share"], FIGURES["tour_drive"]
    launch = Launch(drive["ball_mph"] * MPH, drive["launch_deg"], drive["spin_rpm"])
    share = float(physics.flight(launch).landing_spin_rpm[0]) / drive["spin_rpm"]
    return abs(share - entry["share"]) <= entry["tolerance"]


def carry_linear_in_ball_speed(physics: Physics) -> bool:
    mph = np.linspace(110, 180, 8)
    carry = np.array([physics.carry_yd(speed, 11, 2600) for speed in mph])
    fitted = np.polyval(np.polyfit(mph, carry, 1), mph)
    r_squared = 1 - ((carry - fitted) ** 2).sum() / ((carry - carry.mean()) ** 2).sum()
    return bool(r_squared > FIGURES["carry_linear_in_ball_speed"]["r_squared_at_least"])


def three_feet_per_second(physics: Physics) -> bool:
    entry = FIGURES["three_feet_per_second"]
    speeds = np.array([42.0, 42.0 + entry["head_speed_ft_s"] * FOOT])
    delivery = Delivery(
        speeds,
        delivered_loft_deg=13.0,
        head_mass_kg=0.2,
        restitution=entry["restitution"],
        spin_factor=0.76,
    )
    slow, fast = physics.flight(strike(delivery)).carry_m
    return abs((fast - slow) / YARD - entry["longer_yd"]) <= entry["tolerance_yd"]


def tour_drive(physics: Physics) -> bool:
    entry = FIGURES["tour_drive"]
    carry = physics.carry_yd(entry["ball_mph"], entry["launch_deg"], entry["spin_rpm"])
    return 0.0 < entry["average_total_yd"] - carry <= entry["greatest_run_yd"]


def distance_limit(physics: Physics) -> bool:
    entry = FIGURES["distance_limit"]
    carry = physics.carry_yd(entry["ball_mph"], entry["launch_deg"], entry["spin_rpm"])
    return 0.0 < entry["total_yd"] - carry <= FIGURES["tour_drive"]["greatest_run_yd"] + 10.0


def zero_face_twenty_left_path(physics: Physics) -> bool:
    low, high = FIGURES["zero_face_twenty_left_path"]["share_between"]
    return all(
        low <= 1.0 + physics.start_deg(loft, 0.0, -20.0) / 20.0 <= high
        for loft in (13.0, 24.0, 42.0)
    )


def face_share_range(physics: Physics) -> bool:
    low, high = FIGURES["face_share_range"]["share_between"]
    return all(
        low - 1e-9 <= physics.start_deg(loft, 1.0, 0.0) <= high + 1e-9
        for loft in (13.0, 18.0, 24.0, 33.0, 42.0)
    )


def ball_speed_of_120_mph_head(physics: Physics) -> bool:
    entry = FIGURES["ball_speed_of_120_mph_head"]
    constant, per_e, per_us = entry["formula_ft_s"]
    expected = constant + per_e * entry["restitution"] + per_us * entry["contact_time_us"]
    delivery = club_named("driver").deliver(120 * MPH, delivered_loft_deg=13.0)
    found = float(strike(delivery).ball_speed_m_per_s[0])
    return abs(found - expected * FOOT) <= entry["tolerance_mph"] * MPH


def mean_drag_of_both_laboratories(physics: Physics) -> bool:
    misses = [
        float(physics.model.coefficients(np.array([s]), np.array([1e5]))[0][0]) - drag
        for s, drag, _ in _laboratory_rows()
        if drag is not None
    ]
    return abs(float(np.mean(misses))) < 0.01  # reading accuracy of the rows


def mean_lift_of_both_laboratories(physics: Physics) -> bool:
    misses = [
        float(physics.model.coefficients(np.array([s]), np.array([1e5]))[1][0]) - lift
        for s, _, lift in _laboratory_rows()
    ]
    return abs(float(np.mean(misses))) < 0.01


def low_speed_lift(physics: Physics) -> bool:
    entry = FIGURES["low_speed_lift"]
    speed = entry["reynolds"] * 1.516e-5 / 0.04267
    ratio = entry["spin_rpm"] * np.pi / 30 * 0.021335 / speed
    _, lift = physics.model.coefficients(np.array([ratio]), np.array([entry["reynolds"]]))
    return float(lift[0]) > entry["lift_more_than"]


def lift_in_still_air(physics: Physics) -> bool:
    entry = FIGURES["lift_in_still_air"]
    ratio = np.linspace(*entry["spin_ratio"], 8)
    _, lift = physics.model.coefficients(ratio, np.full(8, 1.4e5))
    expected = np.polynomial.Polynomial(entry["polynomial"])(ratio)
    return bool(np.abs(lift - expected).max() <= entry["tolerance"])


def _laboratory_rows() -> list[tuple[float, float | None, float]]:
    return [
        (float(row["spin_ratio"]), float(row["drag"]) if row["drag"] else None, float(row["lift"]))
        for name in ("indoor_range_1998.csv", "wind_tunnel_1976.csv")
        for row in rows(name)
    ]


WHOLE_FLIGHT: tuple[Callable[[Physics], bool], ...] = (
    planned_minus_current_test,
    older_to_current_test,
    landing_spin_share,
    carry_linear_in_ball_speed,
    three_feet_per_second,
    tour_drive,
    distance_limit,
)
DIRECTION_SPLIT: tuple[Callable[[Physics], bool], ...] = (
    zero_face_twenty_left_path,
    face_share_range,
)
OTHERS: tuple[Callable[[Physics], bool], ...] = (
    ball_speed_of_120_mph_head,
    mean_drag_of_both_laboratories,
    mean_lift_of_both_laboratories,
    low_speed_lift,
    lift_in_still_air,
)
EVERY_CHECK = WHOLE_FLIGHT + DIRECTION_SPLIT + OTHERS
