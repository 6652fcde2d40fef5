"""Click errors and their propagation against NumPy's Monte Carlo and the closed formulas."""

import math

import numpy as np
import pytest

from reporter.measure import geometry
from reporter.measure.uncertainty import (
    ClickError,
    learned_click_error,
    line_error,
    propagated,
    scale_of,
)
from reporter.session.schema import Frame, MarkedPoint, Take

SIZE = (1920, 1080)
TAKE = Take(id="t", when="before", view="face-on")


@pytest.mark.parametrize("length", [60, 120, 250, 400])
@pytest.mark.parametrize("sigma", [2.0, 4.0])
def test_line_error_against_monte_carlo(length, sigma):
    rng = np.random.default_rng(length)
    ends = rng.normal(0, sigma, (40_000, 2, 2)) + np.array([[0.0, 0.0], [length, 0.0]])
    d = ends[:, 1] - ends[:, 0]
    spread = np.degrees(np.arctan2(d[:, 1], d[:, 0])).std()
    assert line_error(length, sigma, sigma) == pytest.approx(spread, rel=0.03)


def test_propagated_angle_at_a_joint_against_the_closed_formula():
    """Variance of a three-point angle: sa^2/La^2 + sc^2/Lc^2 + sb^2 (1/La^2 + 1/Lc^2 - 2 cos/LaLc).

    Derived from the cosine law by first-order propagation (JCGM 100:2008, 5.1.2).
    """
    la, lc, opening = 180.0, 150.0, math.radians(155.0)
    places = {
        "a": (la, 0.0),
        "b": (0.0, 0.0),
        "c": (lc * math.cos(opening), lc * math.sin(opening)),
    }
    errors = {"a": 3.0, "b": 2.0, "c": 5.0}
    expected = math.sqrt(
        errors["a"] ** 2 / la**2
        + errors["c"] ** 2 / lc**2
        + errors["b"] ** 2 * (1 / la**2 + 1 / lc**2 - 2 * math.cos(opening) / (la * lc))
    )
    got = propagated(lambda p: geometry.signed_angle(p["a"], p["b"], p["c"]), places, errors)
    assert got == pytest.approx(math.degrees(expected), rel=0.01)


def test_click_error_grows_with_the_picture_but_has_a_floor():
    plain = MarkedPoint(at=(1.0, 1.0))
    error = ClickError()
    assert error.of("neck", plain, "face-on", SIZE) == pytest.approx(3.0)
    assert error.of("neck", plain, "face-on", (3840, 2160)) == pytest.approx(6.0)
    assert error.of("neck", plain, "face-on", (1080, 1920)) == pytest.approx(3.0)
    assert error.of("neck", plain, "face-on", (160, 90)) == pytest.approx(1.0)
    assert scale_of((960, 540)) == pytest.approx(0.5)


def test_hidden_points_are_worse_and_repeats_better():
    error = ClickError()
    plain = error.of("neck", MarkedPoint(at=(1.0, 1.0)), "face-on", SIZE)
    assert error.of("trail_heel", MarkedPoint(at=(1.0, 1.0)), "face-on", SIZE) > plain
    hidden = MarkedPoint.model_construct(at=(1.0, 1.0), again=(), confirmed=True, hidden=True)
    assert error.of("neck", hidden, "face-on", SIZE) == pytest.approx(5.0)
    twice = MarkedPoint(at=(1.0, 1.0), again=((2.0, 2.0),))
    assert error.of("neck", twice, "face-on", SIZE) == pytest.approx(3.0 / math.sqrt(2))


def frames_clicked_twice(sigma, count, rng, size=SIZE):
    points = {}
    for index in range(count):
        first, second = (tuple(rng.normal(500, sigma, 2)) for _ in range(2))
        points[f"p{index}"] = MarkedPoint(at=first, again=(second,))
    frame = Frame.model_construct(
        id="f", take="t", size=size, points=points, lines={}, ground_points=()
    )
    return [(frame, TAKE)]


def test_many_repeats_teach_the_coachs_own_error():
    rng = np.random.default_rng(8)
    learned = learned_click_error(frames_clicked_twice(5.0, 400, rng), {})
    assert learned.degrees_of_freedom == 800
    assert learned.reference_pixels == pytest.approx(5.0, rel=0.06)


def test_repeats_on_a_small_picture_are_scaled():
    rng = np.random.default_rng(9)
    learned = learned_click_error(frames_clicked_twice(2.0, 400, rng, (960, 540)), {})
    assert learned.reference_pixels == pytest.approx(4.0, rel=0.06)


def test_one_lucky_repeat_cannot_promise_much():
    point = MarkedPoint(at=(10.0, 10.0), again=((10.0, 10.0),))
    frame = Frame.model_construct(id="f", take="t", size=SIZE, points={"neck": point})
    assert learned_click_error([(frame, TAKE)], {}).reference_pixels > 2.5


def test_without_repeats_the_default_counts():
    frame = Frame.model_construct(
        id="f", take="t", size=SIZE, points={"neck": MarkedPoint(at=(1.0, 2.0))}
    )
    assert learned_click_error([(frame, TAKE)], {}) == ClickError()
