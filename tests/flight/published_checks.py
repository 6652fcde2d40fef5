"""Checks of a flight model against published figures; every one can be put to a wrong model."""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from reference_tables import published, rows

from reporter.flight import Air, Ball, Launch, Wind, club_named, fly, strike
from reporter.flight.aerodynamics import BOTH_LABORATORIES, OLDER_BALL, AirModel
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

    drag: float = 1.0
    lift: float = 1.0
    spin_decay_factor: float = SPIN_DECAY_FACTOR
    face_share: float | None = None

    def of(self, base: AirModel) -> AirModel:
        """Make a coefficient model wrong in the way asked for."""
        right = self.drag == self.lift == 1.0
        return base if right else Scaled(base, self.drag, self.lift)

    @property
    def model(self) -> AirModel:
        return self.of(BOTH_LABORATORIES)

    def flight(self, launch: Launch, air: Air | None = None, base=BOTH_LABORATORIES, **more):
        decay = self.spin_decay_factor
        return fly(launch, air, self.of(base), spin_decay_factor=decay, **more)

    def carry_yd(self, mph: float, launch_deg: float, spin_rpm: float, air=None) -> float:
        launch = Launch(mph * MPH, launch_deg, spin_rpm)
        return float(self.flight(launch, air).carry_m[0]) / YARD

    def coefficients(self, spin_ratio: float, base=BOTH_LABORATORIES) -> tuple[float, float]:
        drag, lift = self.of(base).coefficients(np.array([spin_ratio]), np.array([1.5e5]))
        return float(drag[0]), float(lift[0])

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


def ranges_at_58_m_per_s(physics: Physics) -> bool:
    entry = FIGURES["ranges_at_58_m_per_s"]
    angles = np.array(list(entry["range_m"]), float)
    ranges = np.array(list(entry["range_m"].values()), float)
    launch = Launch(entry["speed_m_per_s"], angles, entry["spin_rpm"])
    carry = physics.flight(launch, base=OLDER_BALL).carry_m
    return bool(np.abs(carry / ranges - 1.0).max() <= entry["relative_tolerance"])


def _driving_machine(physics: Physics) -> tuple[np.ndarray, np.ndarray]:
    """Speeds [ft/s] and carries [yd] of a driver that makes the ball roll off its face."""
    entry = FIGURES["driving_machine_carry"]
    feet = np.array(entry["speeds_ft_s"], float)
    loft, ratio = np.radians(entry["dynamic_loft_deg"]), 0.04593 / entry["head_mass_kg"]
    # Penner 2001: along the normal (1 + e) v cos / (1 + m/M), in the face v sin / (3.5 + m/M).
    along = 1.8 * np.cos(loft) / (1.0 + ratio)
    across = np.sin(loft) / (3.5 + ratio)
    head = feet * FOOT / np.hypot(along, across)
    ball = Ball(0.04593, entry["ball_diameter_m"])
    spin = 2.5 * head * across / ball.radius_m * 30.0 / np.pi
    launch_deg = np.degrees(loft - np.arctan2(across, along))
    launch = Launch(feet * FOOT, launch_deg, spin)
    return feet, physics.flight(launch, ball=ball).carry_m / YARD


def driving_machine_carry(physics: Physics) -> bool:
    entry = FIGURES["driving_machine_carry"]
    feet, carry = _driving_machine(physics)
    measured = entry["yd_per_ft_s"] * feet - entry["less_yd"]
    return bool(np.abs(carry / measured - 1.0).max() <= entry["relative_tolerance"])


def driving_machine_slope(physics: Physics) -> bool:
    entry = FIGURES["driving_machine_carry"]
    slope = np.polyfit(*_driving_machine(physics), 1)[0]
    return abs(slope - entry["yd_per_ft_s"]) <= entry["slope_tolerance"]


def _near(physics: Physics, name: str, which: int, base: AirModel = BOTH_LABORATORIES) -> bool:
    entry, what = FIGURES[name], ("drag", "lift")[which]
    found = physics.coefficients(entry["spin_ratio"], base)[which]
    return abs(found - entry[what]) <= entry[f"{what}_tolerance"]


def simulated_flow_2019_drag(physics: Physics) -> bool:
    return _near(physics, "simulated_flow_2019", 0)


def simulated_flow_2019_lift(physics: Physics) -> bool:
    return _near(physics, "simulated_flow_2019", 1)


def simulated_flow_2017_drag(physics: Physics) -> bool:
    return _near(physics, "simulated_flow_2017", 0)


def simulated_flow_2017_lift(physics: Physics) -> bool:
    return _near(physics, "simulated_flow_2017", 1)


def hardly_spinning_drag(physics: Physics) -> bool:
    entry = FIGURES["hardly_spinning_drag"]
    low, high = entry["drag_between"]
    return low <= physics.coefficients(entry["spin_ratio"])[0] <= high


def fast_spinning_older_ball(physics: Physics) -> bool:
    return all(_near(physics, "fast_spinning_older_ball", which, OLDER_BALL) for which in (0, 1))


def mile_high(physics: Physics) -> bool:
    entry, drive = FIGURES["mile_high"], FIGURES["tour_drive"]
    launch = drive["ball_mph"], drive["launch_deg"], drive["spin_rpm"]
    mountain = Air.at_altitude(entry["altitude_ft"] * FOOT)
    gain = physics.carry_yd(*launch, mountain) / physics.carry_yd(*launch) - 1.0
    return abs(gain - entry["gain"]) <= entry["tolerance"]


def ten_mph_of_wind(physics: Physics) -> bool:
    entry = FIGURES["ten_mph_of_wind"]
    launch = entry["ball_mph"], entry["launch_deg"], entry["spin_rpm"]
    calm = physics.carry_yd(*launch)
    head, tail = (
        physics.carry_yd(*launch, Air(wind=Wind(sign * entry["wind_mph"] * MPH))) - calm
        for sign in (-1.0, 1.0)
    )
    return (
        abs(-head - entry["head_loses_yd"]) <= entry["tolerance_yd"]
        and abs(tail - entry["tail_gains_yd"]) <= entry["tolerance_yd"]
        and -head > tail
    )


def yards_for_each_mph(physics: Physics) -> bool:
    entry = FIGURES["yards_for_each_mph"]
    mph = np.array(entry["head_mph"], float)
    delivery = club_named("driver").deliver(mph * MPH, delivered_loft_deg=13.0)
    gains = np.diff(physics.flight(strike(delivery)).carry_m / YARD) / np.diff(mph)
    low, high = entry["yd_per_mph_between"]
    return bool(gains.min() >= low and gains.max() <= high)


def spin_lost_each_second(physics: Physics) -> bool:
    entry, drive = FIGURES["spin_lost_each_second"], FIGURES["tour_drive"]
    launch = Launch(drive["ball_mph"] * MPH, drive["launch_deg"], drive["spin_rpm"])
    flight = physics.flight(launch)
    left = float(flight.landing_spin_rpm[0]) / drive["spin_rpm"]
    expected = (1.0 - entry["share_lost"]) ** float(flight.flight_time_s[0])
    return abs(left - expected) <= entry["tolerance"]


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
    ranges_at_58_m_per_s,
    driving_machine_carry,
    driving_machine_slope,
    mile_high,
    ten_mph_of_wind,
    yards_for_each_mph,
    spin_lost_each_second,
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
    simulated_flow_2019_drag,
    simulated_flow_2019_lift,
    simulated_flow_2017_drag,
    simulated_flow_2017_lift,
    hardly_spinning_drag,
    fast_spinning_older_ball,
)
EVERY_CHECK = WHOLE_FLIGHT + DIRECTION_SPLIT + OTHERS
FITTED_TO = (
    mean_drag_of_both_laboratories,
    mean_lift_of_both_laboratories,
    fast_spinning_older_ball,
)
ORDER_OF_MAGNITUDE = (planned_minus_current_test, tour_drive, distance_limit)
SHARP = tuple(
    check for check in EVERY_CHECK if check not in FITTED_TO and check not in ORDER_OF_MAGNITUDE
)
