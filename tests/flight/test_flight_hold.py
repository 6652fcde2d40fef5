"""A landing held beside a hazard: against fresh random shots, SciPy, and its mirror image."""

import numpy as np
import pytest
from scipy import stats

from reporter.flight import Air, Hold, ImpossibleDelivery, WantedFlight, club_named, explain, fly
from reporter.flight.impact import strike
from reporter.flight.uncertainty import fly_in, launch_in, nominal_and_spread

SPEED = 42.0


@pytest.mark.parametrize("plays", ["right", "left"])
@pytest.mark.parametrize(("side", "edge"), [("left", -8.0), ("right", 11.0)])
@pytest.mark.parametrize("club", ["driver", "7-iron"])
def test_fresh_shots_stay_on_the_side_asked_for(club, side, edge, plays):
    # 4000 worlds drawn at random, not those the region was computed from.  A plane through the edge
    # of a 95 % ellipse leaves 0.7 % beyond it: half of 1.4 %, the normal's tails at the root of
    # SciPy's chi-square quantile.
    speed = club_named(club).typical_speed_m_per_s()
    answer = explain(None, club, speed, plays, hold=Hold(side, edge))
    delivery = answer.wanted.delivery
    worlds = nominal_and_spread(
        club_named(club), float(delivery.delivered_loft_deg), plays, speed_stated=True,
        count=4001, scores=np.random.default_rng(8).normal(size=(15, 4000)),
    )  # fmt: skip
    many = np.ones(worlds.count)
    launches = launch_in(worlds, delivery, delivery.face_deg * many, delivery.path_deg * many)
    landed = fly_in(worlds, launches, Air(), time_step_s=0.2).offline_m[1:]
    beyond = landed > edge if side == "left" else landed < edge
    expected = stats.norm.sf(np.sqrt(stats.chi2.ppf(0.95, 2)))
    assert beyond.mean() < 2.0 * expected
    # Turned no more than needed: a metre of room, and a start that is nearly on the limit.
    assert answer.held.turned
    assert answer.held.margin_m == pytest.approx(1.0, abs=0.1)
    widest = np.sqrt(stats.chi2.ppf(0.95, 2)) * landed.std()
    room = (edge - landed.mean()) if side == "left" else (landed.mean() - edge)
    assert room == pytest.approx(widest + 1.0, abs=0.08 * widest + 0.3)


def test_a_flight_that_holds_already_is_not_turned():
    answer = explain(None, "driver", SPEED, hold=Hold("left", 11.0, 140.0))
    assert not answer.held.turned
    assert answer.held.landing_offset_m == pytest.approx(0.0, abs=1e-3)
    low, high = answer.held.region_m
    assert low == pytest.approx(-high, abs=0.02)
    assert answer.held.margin_m == pytest.approx(11.0 - high)


def test_the_held_flight_is_the_wanted_one():
    answer = explain(
        None, "driver", SPEED, wanted=WantedFlight(2.0, bend_deg=-2.0), hold=Hold("left", -5.0)
    )
    flight = fly(strike(answer.wanted.delivery))
    assert flight.offline_m[0] == pytest.approx(answer.held.landing_offset_m, abs=0.01)
    assert flight.bend_deg[0] == pytest.approx(-2.0, abs=1e-3)


def test_a_left_hander_mirrors():
    right = explain(None, "driver", SPEED, "right", hold=Hold("left", -6.0)).held
    left = explain(None, "driver", SPEED, "left", hold=Hold("right", 6.0)).held
    assert left.face_deg == pytest.approx(-right.face_deg, abs=1e-6)
    assert left.path_deg == pytest.approx(-right.path_deg, abs=1e-6)
    assert left.region_m == pytest.approx((-right.region_m[1], -right.region_m[0]), abs=1e-6)


@pytest.mark.parametrize("count", [10, 20, 60])
def test_own_shots_make_the_region(count):
    # The prediction ellipse's half width in one direction, by SciPy's F distribution.
    hold = Hold("left", 30.0, own_sd_m=8.0, own_shots=count)
    low, high = explain(None, "driver", SPEED, hold=hold).held.region_m
    f = stats.f.ppf(0.95, 2, count - 2)
    half = 8.0 * np.sqrt(2 * (count + 1) * (count - 1) / (count * (count - 2)) * f)
    assert (high - low) / 2.0 == pytest.approx(half, rel=1e-9)


def test_few_shots_leave_the_region_of_ball_strike_and_air():
    few = explain(None, "driver", SPEED, hold=Hold("left", 30.0, own_sd_m=8.0, own_shots=9)).held
    none = explain(None, "driver", SPEED, hold=Hold("left", 30.0)).held
    assert few.region_m == none.region_m
    assert not few.from_own_shots


@pytest.mark.parametrize(
    ("make", "named"),
    [
        (lambda: explain(None, "driver", SPEED, hold=Hold("left", -60.0)), "no delivery holds it"),
        (
            lambda: explain(
                None, "driver", SPEED, wanted=WantedFlight(2.0),
                hold=Hold("left", 2.0, start_is_free=False),
            ),
            "past the hazard's edge",
        ),
        (
            lambda: explain(
                None, "driver", SPEED, hold=Hold("left", -20.0, own_sd_m=20.0, own_shots=20)
            ),
            "no delivery holds it",
        ),
        (lambda: Hold("over", 3.0), "left, right"),
        (lambda: Hold("left", float("nan")), "edge_m"),
        (lambda: Hold("left", 3.0, 900.0), "out_m"),
    ],
)  # fmt: skip
def test_what_cannot_be_held_is_refused(make, named):
    with pytest.raises(ImpossibleDelivery, match=named):
        make()
