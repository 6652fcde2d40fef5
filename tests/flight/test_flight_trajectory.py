"""The motion through the air: laws of physics, and an independent solver."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.integrate import solve_ivp

from reporter.flight import Air, ImpossibleDelivery, Launch, fly
from reporter.flight.air import Wind
from reporter.flight.trajectory import BLOCK_SHOTS
from reporter.flight.uncertainty import sample_step_s

GRAVITY = 9.80665
SHOTS = Launch(
    np.array([75.0, 60.0, 49.3, 35.7]),
    np.array([10.8, 13.0, 18.7, 28.8]),
    np.array([2599.0, 2560.0, 5119.0, 7210.0]),
    np.array([1.0, -2.0, 0.0, 3.0]),
    np.array([5.0, -9.0, 2.0, -1.0]),
)
ANY_LAUNCH = st.builds(
    Launch,
    st.floats(20, 80),
    st.floats(5, 45),
    st.floats(500, 9000),
    st.floats(-8, 8),
    st.floats(-30, 30),
)


@given(ANY_LAUNCH)
@settings(max_examples=25, deadline=None)
def test_vacuum_gives_the_parabola(launch):
    # Range v^2 sin(2 theta)/g, height (v sin theta)^2/(2 g), time 2 v sin(theta)/g.
    flight = fly(launch, density_scale=0.0)
    angle = np.radians(launch.launch_deg)
    speed = launch.ball_speed_m_per_s
    expected = speed**2 * np.sin(2 * angle) / GRAVITY
    assert flight.carry_m[0] == pytest.approx(expected, abs=1e-6)
    assert flight.apex_m[0] == pytest.approx((speed * np.sin(angle)) ** 2 / (2 * GRAVITY), abs=1e-6)
    assert flight.flight_time_s[0] == pytest.approx(2 * speed * np.sin(angle) / GRAVITY, abs=1e-7)
    assert flight.descent_deg[0] == pytest.approx(launch.launch_deg, abs=1e-6)
    assert flight.landing_spin_rpm[0] < launch.spin_rpm  # spin decays by its own law


@given(ANY_LAUNCH)
@settings(max_examples=25, deadline=None)
def test_mirror_is_exact(launch):
    mirrored = Launch(
        launch.ball_speed_m_per_s,
        launch.launch_deg,
        launch.spin_rpm,
        -launch.start_deg,
        -launch.axis_tilt_deg,
    )
    one, other = fly(launch), fly(mirrored)
    assert one.offline_m[0] == -other.offline_m[0]
    assert one.curve_m[0] == -other.curve_m[0]
    assert one.carry_m[0] == other.carry_m[0]


@given(ANY_LAUNCH)
@settings(max_examples=25, deadline=None)
def test_energy_falls_all_the_way(launch):
    flight = fly(launch, keep_positions=True, time_step_s=0.02)
    positions = flight.positions_m[:-2, 0]
    velocity = np.diff(positions, axis=0) / 0.02
    height = 0.5 * (positions[1:, 2] + positions[:-1, 2])
    energy = 0.5 * (velocity**2).sum(axis=1) + GRAVITY * height
    assert np.all(np.diff(energy) < 0)


def test_halving_the_step_changes_little():
    # Fourth order: an independent computation found 3.1e-6 m at 0.1 s and 5.1e-5 m at 0.2 s.
    fine = fly(SHOTS, time_step_s=0.01)

    def miss(step):
        found = fly(SHOTS, time_step_s=step)
        across = found.offline_m - fine.offline_m
        return np.hypot(found.downrange_m - fine.downrange_m, across).max()

    assert miss(0.1) < 1e-5
    assert miss(0.2) < 1e-4
    assert 8 < miss(0.2) / miss(0.1) < 32


def test_the_steps_of_a_band_are_far_finer_than_a_band():
    # Against steps a hundred times as short; a band is some ten metres and some degrees wide.
    fine, band = fly(SHOTS, time_step_s=0.01), fly(SHOTS, time_step_s=sample_step_s(Air()))
    for name, most in (
        ("downrange_m", 0.05), ("offline_m", 0.02), ("curve_m", 0.02), ("apex_m", 0.04),
        ("descent_deg", 0.03), ("landing_speed_m_per_s", 0.01), ("flight_time_s", 0.002),
    ):  # fmt: skip
        assert np.abs(getattr(band, name) - getattr(fine, name)).max() < most, name
    # Wind that grows with height is met in finer steps.
    layered = Air(wind=Wind(3.0, 2.0, "log", 10.0))
    assert sample_step_s(layered) < sample_step_s(Air())


def test_an_independent_solver_agrees():
    # SciPy's DOP853 on equations written out again here, in vectors.
    c = (0.42904, 2.33145, 0.06659, 0.24078, 0.30507, 0.53999)
    mass, radius = 0.04593, 0.042670 / 2
    factor = 0.5 * Air().density_kg_per_m3 * np.pi * radius**2 / mass

    def solve(start, elevation, speed, spin, tilt):
        forward = np.array([np.cos(start), -np.sin(start), 0.0])
        right = np.array([-np.sin(start), -np.cos(start), 0.0])
        up = np.array([0.0, 0.0, 1.0])
        velocity = speed * (np.cos(elevation) * forward + np.sin(elevation) * up)
        axis = right - np.tan(tilt) * (up - np.tan(elevation) * forward)
        axis /= np.linalg.norm(axis)

        def rates(_, y):
            v, w = y[3:6], y[6]
            fast = np.linalg.norm(v)
            ratio = radius * w / fast
            lift = c[0] * (1 - np.exp(-c[1] * ratio)) + c[2] * (1 - np.exp(-100 * ratio))
            drag = c[3] + c[4] * (1 - np.exp(-((ratio / c[5]) ** 2)))
            push = factor * fast * (lift * np.cross(axis, v) - drag * v)
            return np.concatenate([v, push - GRAVITY * up, [-2e-5 * w * fast / radius]])

        def ground(_, y):
            return y[2]

        ground.terminal, ground.direction = True, -1
        start_state = np.concatenate([[0, 0, 1e-12], velocity, [spin]])
        return solve_ivp(
            rates, (0, 30), start_state, method="DOP853", rtol=1e-11, atol=1e-11, events=ground
        ).y_events[0][0]

    flight = fly(SHOTS)
    for number, launch in enumerate(zip(*SHOTS.columns(), strict=True)):
        x, y, _, vx, vy, vz, spin = solve(*launch)
        assert flight.downrange_m[number] == pytest.approx(x, abs=1e-4)
        assert flight.offline_m[number] == pytest.approx(-y, abs=1e-4)
        assert flight.landing_speed_m_per_s[number] == pytest.approx(
            np.sqrt(vx**2 + vy**2 + vz**2), abs=1e-4
        )
        descent = np.degrees(np.arctan2(-vz, np.hypot(vx, vy)))
        assert flight.descent_deg[number] == pytest.approx(descent, abs=1e-3)
        assert flight.landing_spin_rpm[number] == pytest.approx(spin * 30 / np.pi, rel=1e-5)


def test_spin_decay_time():
    # Penner 2001, eq 16, after Smits and Smith 1994 (second-hand): r/(2e-5 v) = 23.8 s at
    # 44.7 m/s.  Flown in a vacuum on a flat arc, where the speed hardly changes.
    launch = Launch(44.7, 2.0, 3000.0)
    flight = fly(launch, density_scale=0.0)
    time = flight.flight_time_s[0]
    tau = -time / np.log(flight.landing_spin_rpm[0] / 3000.0)
    assert tau == pytest.approx(23.8, rel=0.01)


def test_tilt_to_the_right_bends_right_and_spin_lifts():
    flight = fly(Launch(60.0, 12.0, 3000.0, 0.0, np.array([-8.0, 0.0, 8.0])))
    assert flight.curve_m[0] < 0 < flight.curve_m[2]
    assert flight.curve_m[1] == 0
    low, high = fly(Launch(60.0, 12.0, np.array([500.0, 3000.0]))).apex_m
    assert high > low


def test_one_shot_and_many_take_the_same_road():
    generator = np.random.default_rng(3)
    count = BLOCK_SHOTS + 7
    many = Launch(
        generator.normal(60, 5, count),
        generator.normal(14, 3, count),
        generator.normal(3500, 500, count),
        generator.normal(0, 2, count),
        generator.normal(0, 8, count),
    )
    batch = fly(many, keep_positions=True)
    for number in (0, BLOCK_SHOTS - 1, BLOCK_SHOTS, count - 1):
        one = fly(
            Launch(
                *(
                    float(getattr(many, name)[number])
                    for name in (
                        "ball_speed_m_per_s",
                        "launch_deg",
                        "spin_rpm",
                        "start_deg",
                        "axis_tilt_deg",
                    )
                )
            )
        )
        assert one.carry_m[0] == pytest.approx(batch.carry_m[number], abs=1e-9)
        assert one.offline_m[0] == pytest.approx(batch.offline_m[number], abs=1e-9)


def test_stored_positions_end_on_the_ground_at_the_landing():
    flight = fly(SHOTS, keep_positions=True)
    assert flight.positions_m.shape == (flight.times_s.size, 4, 3)
    assert np.all(flight.positions_m[..., 2] >= 0)
    last = flight.positions_m[-1]
    assert last[:, 0] == pytest.approx(flight.downrange_m)
    assert last[:, 1] == pytest.approx(flight.offline_m)
    assert flight.positions_m[..., 2].max(axis=0) == pytest.approx(flight.apex_m, abs=0.05)


def test_a_ball_launched_at_the_ground_goes_nowhere():
    flight = fly(Launch(30.0, -5.0, 3000.0))
    assert flight.carry_m[0] == pytest.approx(0.0, abs=1e-9)


def test_a_ball_that_stays_up_too_long_is_refused(monkeypatch):
    monkeypatch.setattr("reporter.flight.trajectory.LONGEST_FLIGHT_S", 3.0)
    with pytest.raises(ImpossibleDelivery, match="still in the air after 3 s"):
        fly(Launch(60.0, 12.0, 3000.0))
