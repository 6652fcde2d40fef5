"""Coefficient models against the rows they rest on and against each other."""

import numpy as np
import pytest
from reference_tables import rows

from reporter.flight import Launch, fly
from reporter.flight.aerodynamics import (
    ALL_ROWS,
    BOTH_LABORATORIES,
    INDOOR_POLYNOMIAL,
    NEWER_BALL,
    NEWER_BALL_ROWS,
    OLDER_BALL,
    TUNNEL_TABLE,
    fit_closed_form,
)
from reporter.flight.equations import LOW_SPIN_RATIO
from reporter.flight.laboratory import INDOOR_RANGE, WIND_TUNNEL
from reporter.flight.uncertainty import BALL_DRAG_SD, ROW_DRAG_SD


def test_rows_in_the_package_are_the_published_ones():
    indoor = [
        (float(r["spin_ratio"]), float(r["drag"]), float(r["lift"]), float(r["reynolds_1e5"]) * 1e5)
        for r in rows("indoor_range_1998.csv")
    ]
    assert indoor == [(r.spin_ratio, r.drag, r.lift, r.reynolds) for r in INDOOR_RANGE]
    tunnel = [
        (float(r["spin_ratio"]), float(r["drag"]) if r["drag"] else None, float(r["lift"]))
        for r in rows("wind_tunnel_1976.csv")
    ]
    assert tunnel == [(r.spin_ratio, r.drag, r.lift) for r in WIND_TUNNEL]


@pytest.mark.parametrize("row", rows("indoor_range_1998.csv"), ids=lambda row: row["spin_ratio"])
def test_printed_polynomial_gives_the_printed_means(row):
    # US patent 6,186,002: the fit stands beside the means; 0.002 is what two digits allow.
    drag, lift = INDOOR_POLYNOMIAL.coefficients(
        np.array([float(row["spin_ratio"])]), np.array([float(row["reynolds_1e5"]) * 1e5])
    )
    assert drag[0] == pytest.approx(float(row["drag"]), abs=0.002)
    assert lift[0] == pytest.approx(float(row["lift"]), abs=0.003)


@pytest.mark.parametrize(
    ("model", "data"),
    [
        (BOTH_LABORATORIES, ALL_ROWS),
        (NEWER_BALL, NEWER_BALL_ROWS),
        (OLDER_BALL, WIND_TUNNEL),
    ],
    ids=lambda value: getattr(value, "name", ""),
)
def test_constants_are_the_least_squares_fit(model, data):
    lift, drag = fit_closed_form(data)
    assert model.lift_terms == pytest.approx(lift, abs=1e-5)
    assert model.drag_terms == pytest.approx(drag, abs=1e-5)


@pytest.mark.parametrize("row", rows("wind_tunnel_1976.csv"), ids=lambda row: row["spin_ratio"])
def test_older_ball_fit_stays_within_reading_accuracy(row):
    drag, lift = OLDER_BALL.coefficients(np.array([float(row["spin_ratio"])]), np.array([1e5]))
    assert lift[0] == pytest.approx(float(row["lift"]), abs=0.01)
    if row["drag"]:
        assert drag[0] == pytest.approx(float(row["drag"]), abs=0.01)


def test_two_independent_driver_models_differ_by_no_more_than_two_balls():
    # They share no row.  Lyu et al. 2018 read: up to 0.05 in drag between ball models.
    spin_ratio = np.linspace(0.08, 0.2, 13)
    first, _ = INDOOR_POLYNOMIAL.coefficients(spin_ratio, np.full(13, 1.4e5))
    second, _ = TUNNEL_TABLE.coefficients(spin_ratio, np.full(13, 1.4e5))
    assert np.abs(first - second).max() < 0.05


@pytest.mark.parametrize("model", [BOTH_LABORATORIES, NEWER_BALL, OLDER_BALL])
def test_lift_and_drag_rise_with_spin(model):
    drag, lift = model.coefficients(np.linspace(0.0, 1.5, 60), np.full(60, 1e5))
    assert np.all(np.diff(drag) >= 0)
    assert np.all(np.diff(lift) >= 0)
    assert lift[0] == pytest.approx(0.0, abs=1e-12)


def test_a_flight_knows_which_part_of_the_measured_range_it_used():
    drive = fly(Launch(75.0, 10.8, 2599))
    low, high = INDOOR_POLYNOMIAL.spin_ratio_range
    assert low < drive.spin_ratio_low[0] < drive.spin_ratio_high[0] < high
    wedge = fly(Launch(36.0, 29.0, 7210))
    assert wedge.spin_ratio_low[0] > high
    assert wedge.reynolds_high[0] == pytest.approx(36.0 * 0.04267 / 1.516e-5, rel=0.02)


def test_two_balls_differ_where_spin_is_low():
    # The fits to US patent 6,186,002 and to Bearman and Harvey 1976 against the form that the
    # possible balls of a band take; thirteen balls differed by less than 0.05 in drag at high
    # speed (Lyu et al. 2018, abstract), a range of thirteen being 3.336 standard deviations
    # (Tippett 1925).
    spin_ratio = np.linspace(0.05, 0.4, 36)
    newer = NEWER_BALL.coefficients(spin_ratio, spin_ratio)
    older = OLDER_BALL.coefficients(spin_ratio, spin_ratio)
    form = np.exp(-((spin_ratio / LOW_SPIN_RATIO) ** 2))
    assert np.log(older[0] / newer[0]) == pytest.approx(0.15 * form, abs=0.01)
    assert np.log(older[1] / newer[1]) == pytest.approx(-0.12 * form, abs=0.03)
    spread = 3.336 * np.hypot(BALL_DRAG_SD, ROW_DRAG_SD) * BOTH_LABORATORIES.drag_terms[0]
    assert 0.02 < spread < 0.05
