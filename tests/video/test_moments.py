"""Top and strike on plain drawn scenes, whose moments are set and not computed."""

import cv2
import numpy as np
import pytest

from reporter.video.strike import fast_sweep, find_strike
from reporter.video.turning import find_top

HEIGHT, WIDTH = 270, 200
TOP_SECONDS, STRIKE_SECONDS = 1.200, 1.470
BOX = (20, 20, 180, 250)
SHIFT = 4


def _drawn(seconds, parts, grain=3.0):
    """Pictures with bars drawn at fractions of a pixel; `parts` gives their ends at a time."""
    rng = np.random.default_rng(7)
    rough = rng.normal(0, 9, (HEIGHT // 6 + 1, WIDTH // 6 + 1)).astype(np.float32)
    behind = 120 + cv2.resize(rough, (WIDTH, HEIGHT), interpolation=cv2.INTER_CUBIC)
    for t in seconds:
        picture = np.clip(behind, 0, 255).astype(np.uint8)
        for begin, end, thick, shade in parts(float(t)):
            ends = [tuple(round(float(v) * (1 << SHIFT)) for v in point) for point in (begin, end)]
            cv2.line(picture, *ends, shade, thick, cv2.LINE_AA, SHIFT)
        yield np.clip(picture + rng.normal(0, grain, picture.shape), 0, 255).astype(np.uint8)


def _arms(t, turn):
    """Degrees away from the turn: a quarter turn in 0.8 s up, back in 0.27 s, without a jerk."""
    u = t - turn
    return 350.0 * u**2 + (2600.0 * u**3 if u > 0 else 0.0)


def _golfer(hips_lead):
    def parts(t):
        r = np.radians(min(_arms(t, TOP_SECONDS), 170.0))
        hands = (100 + 55 * np.sin(r), 75 - 40 * np.cos(r))
        yield (100, 75), hands, 12, 200
        across = min(_arms(t, TOP_SECONDS - hips_lead), 60.0) * 0.3
        yield (85 + across, 150), (105 + across, 150), 26, 30

    return parts


@pytest.mark.parametrize("rate", [30, 60, 120, 240])
def test_the_top_is_where_the_arms_turn_and_not_the_hips(rate):
    """Hips turn back before the arms (common practice, no source); 0.06 s here."""
    seconds = np.arange(0.4, 1.6, 1 / rate)
    strike = int(np.argmin(np.abs(seconds - STRIKE_SECONDS)))
    found = find_top(list(_drawn(seconds, _golfer(0.06))), seconds, strike, BOX)
    assert found is not None
    assert abs(seconds[found.index] - TOP_SECONDS) <= 2.5 / rate
    assert found.confidence > 0.8


def test_where_nothing_turns_the_confidence_is_low():
    seconds = np.arange(0.4, 1.6, 1 / 60)
    strike = int(np.argmin(np.abs(seconds - STRIKE_SECONDS)))
    still = find_top(list(_drawn(seconds, lambda _: ())), seconds, strike, BOX)
    assert still is None or still.confidence < 0.3


@pytest.mark.parametrize("strike", [0, 8])
def test_too_few_pictures_before_the_strike_are_no_top(strike):
    seconds = np.arange(1.34, 1.6, 1 / 60)
    assert find_top(list(_drawn(seconds, _golfer(0.0))), seconds, strike, BOX) is None


def test_without_a_ball_the_strike_is_told_by_the_spot_the_head_stood_at():
    """A knee that bends and comes back changes more, and is passed earlier; it is no head."""
    rate, strike = 240, 1.9
    passed_knee = strike - 0.025

    def parts(t):
        if t < 0.7 or abs(t - strike) < 0.5 / rate:  # the head: stands, then comes back for once
            yield (118, 226), (126, 226), 6, 20
        knee = 75.0 if 0.7 < t < strike + 0.05 else 60.0
        yield (knee, 200), (knee, 226), 14, 240
        if abs(t - passed_knee) < 0.5 / rate:
            yield (50, 210), (70, 210), 6, 20

    seconds = np.arange(0.0, 2.5, 1 / rate)
    pictures = list(_drawn(seconds, parts, grain=1.5))
    sweep = fast_sweep(pictures, seconds, BOX)
    found = find_strike(pictures, seconds, sweep, strike, BOX)
    assert found is not None
    assert not found.by_ball
    assert abs(seconds[found.index] - strike) <= 2.5 / rate
