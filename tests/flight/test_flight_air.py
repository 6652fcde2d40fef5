"""Density, pressure, viscosity and wind of the air."""

import numpy as np
import pytest
from reference_tables import rows

from reporter.flight import Air, ImpossibleDelivery, Launch, Wind, fly
from reporter.flight.air import dynamic_viscosity, moist_air_density, pressure_at_altitude

FOOT = 0.3048


@pytest.mark.parametrize("row", rows("standard_atmosphere_1976.csv"), ids=lambda row: row["feet"])
def test_pressure_of_the_standard_atmosphere(row):
    ratio = pressure_at_altitude(float(row["feet"]) * FOOT) / 101_325
    assert ratio == pytest.approx(float(row["pressure_ratio"]), abs=1e-4)


@pytest.mark.parametrize("row", rows("moist_air_density.csv"), ids=lambda row: row["temperature_c"])
def test_density_of_moist_air(row):
    density = moist_air_density(
        float(row["temperature_c"]), float(row["pressure_pa"]), float(row["relative_humidity"])
    )
    assert density == pytest.approx(float(row["density_kg_per_m3"]), abs=2e-4)


def test_dry_air_is_close_to_the_standard_atmosphere():
    # US Standard Atmosphere 1976: 1.2250 kg/m3 at 15 C and 101 325 Pa, an ideal gas.
    assert moist_air_density(15.0, 101_325, 0.0) == pytest.approx(1.2250, abs=1e-3)


def test_viscosity():
    # US Standard Atmosphere 1976, table of sea-level values: 1.7894e-5 Pa s at 15 C.
    assert dynamic_viscosity(15.0) == pytest.approx(1.7894e-5, rel=2e-3)


def test_moist_air_is_lighter():
    # Water vapour weighs 18 g/mol, dry air 29: elementary chemistry.
    assert moist_air_density(25.0, 101_325, 1.0) < moist_air_density(25.0, 101_325, 0.0)


DRIVE = Launch(75.0, 10.8, 2599)


def test_carry_rises_as_the_air_gets_thinner():
    carries = [float(fly(DRIVE, Air.at_altitude(h)).carry_m[0]) for h in (0, 500, 1000, 1609)]
    assert carries == sorted(carries)
    warm, cold = fly(DRIVE, Air(30.0)).carry_m, fly(DRIVE, Air(5.0)).carry_m
    assert warm > cold


def test_headwind_costs_more_than_tailwind_gives():
    # Common practice, no source.
    still = float(fly(DRIVE).carry_m[0])
    head = float(fly(DRIVE, Air(wind=Wind(tail_m_per_s=-4.47))).carry_m[0])
    tail = float(fly(DRIVE, Air(wind=Wind(tail_m_per_s=4.47))).carry_m[0])
    assert still - head > tail - still > 0


def test_wind_to_the_right_moves_the_ball_right():
    flight = fly(DRIVE, Air(wind=Wind(to_right_m_per_s=3.0)))
    assert flight.offline_m[0] > 3.0


@pytest.mark.parametrize("launch", [Launch(75.0, 10.8, 2599, 1.0, 4.0), Launch(36.0, 29.0, 7200)])
def test_uniform_wind_is_still_air_in_a_moving_frame(launch):
    # Galilean relativity.  The landing is where the moving frame has drifted to.
    wind = Wind(tail_m_per_s=-4.0, to_right_m_per_s=2.5)
    blown = fly(launch, Air(wind=wind), keep_positions=True)
    start, elevation, speed, _, _ = (column[0] for column in launch.columns())
    along = speed * np.cos(elevation) * np.cos(start) - wind.tail_m_per_s
    across = speed * np.cos(elevation) * np.sin(start) - wind.to_right_m_per_s
    up = speed * np.sin(elevation)
    heading = np.arctan2(across, along)
    level = np.hypot(along, across)
    # The spin axis is fixed in space; told again against the new heading.
    lean = np.tan(np.radians(launch.axis_tilt_deg))
    old_axis = np.array([lean * np.tan(elevation), 1.0, -lean])  # forward, right, up
    turn = heading - start
    forward = old_axis[0] * np.cos(turn) + old_axis[1] * np.sin(turn)
    right = -old_axis[0] * np.sin(turn) + old_axis[1] * np.cos(turn)
    again = _fly_with_axis(np.hypot(level, up), up, level, heading, (forward, right, -lean), launch)
    time = float(blown.flight_time_s[0])
    assert again.flight_time_s[0] == pytest.approx(time, abs=1e-9)
    moved = again.downrange_m[0] + wind.tail_m_per_s * time
    assert blown.downrange_m[0] == pytest.approx(moved, abs=1e-9)
    moved = again.offline_m[0] + wind.to_right_m_per_s * time
    assert blown.offline_m[0] == pytest.approx(moved, abs=1e-9)


def _fly_with_axis(speed, up, level, heading, axis, launch):
    """Fly a block whose spin axis is given outright, which a Launch cannot say."""
    from reporter.flight.aerodynamics import BOTH_LABORATORIES
    from reporter.flight.ball import STANDARD_BALL
    from reporter.flight.equations import Motion
    from reporter.flight.trajectory import SPIN_DECAY_FACTOR, TIME_STEP_S, _fly_block, _gather

    forward, right, upward = np.array(axis) / np.linalg.norm(axis)
    vector = np.array(
        [
            [forward * np.cos(heading) - right * np.sin(heading)],
            [-forward * np.sin(heading) - right * np.cos(heading)],
            [upward],
        ]
    )
    state = np.zeros((7, 1))
    state[3:6, 0] = level * np.cos(heading), -level * np.sin(heading), up
    state[6] = launch.spin_rpm * np.pi / 30
    ones, zeros = [np.ones(1)], [np.zeros(1)]
    motion = Motion(
        Air(), BOTH_LABORATORIES, STANDARD_BALL, SPIN_DECAY_FACTOR, vector,
        *ones * 2, *zeros * 4, *ones, *zeros * 2,
    )
    block = _fly_block(motion, state, TIME_STEP_S, False)
    return _gather([block], np.array([heading]), np.array([np.arcsin(up / speed)]), "", TIME_STEP_S)


def test_log_wind_is_weaker_near_the_ground():
    uniform = fly(DRIVE, Air(wind=Wind(to_right_m_per_s=3.0)))
    rising = fly(DRIVE, Air(wind=Wind(to_right_m_per_s=3.0, profile="log", reference_height_m=40)))
    assert 0 < rising.offline_m[0] < uniform.offline_m[0]


@pytest.mark.parametrize(
    ("values", "named"),
    [
        ({"temperature_c": 80.0}, "temperature_c"),
        ({"pressure_pa": float("nan")}, "pressure_pa"),
        ({"relative_humidity": 50.0}, "relative_humidity"),
    ],
)
def test_impossible_air_is_refused_by_name(values, named):
    with pytest.raises(ImpossibleDelivery, match=named):
        Air(**values)


def test_every_fault_is_told_at_once():
    with pytest.raises(ImpossibleDelivery) as refusal:
        Air(temperature_c=99.0, relative_humidity=2.0)
    assert len(refusal.value.complaints) == 2


def test_denser_air_bends_more_and_lands_slower():
    # Both forces grow in proportion to density (their definition).
    launch = Launch(np.full(10, 70.0), 11.0, 2600.0, 0.0, 8.0)
    flight = fly(launch, density_scale=np.linspace(0.7, 1.15, 10))
    assert np.all(np.diff(flight.curve_m) > 0)
    assert np.all(np.diff(flight.landing_speed_m_per_s) < 0)
    assert np.all(np.diff(flight.carry_m) < 0)
