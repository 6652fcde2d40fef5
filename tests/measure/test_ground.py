"""The ground map against OpenCV's findHomography, and what it refuses."""

import cv2
import numpy as np
import pytest
from swing_lens import camera

from reporter.measure.ground import GroundError, carried, check_ground, homography

GROUND = [(0.0, 0.0), (110.0, 0.0), (110.0, 45.0), (0.0, 45.0)]


def seen(ground, view="face-on", **how):
    metres = np.c_[np.array(ground) / 100.0 - [0.55, 0.5], np.zeros(len(ground))]
    return [tuple(p) for p in camera(view, **how).pixels(metres)]


@pytest.mark.parametrize("seed", range(8))
def test_four_points_against_opencv(seed):
    rng = np.random.default_rng(seed)
    picture = np.array(seen(GROUND, azimuth=rng.uniform(-15, 15))) + rng.normal(0, 2, (4, 2))
    expected, _ = cv2.findHomography(picture, np.array(GROUND))
    np.testing.assert_allclose(homography(picture.tolist(), GROUND), expected, rtol=1e-4, atol=1e-8)


@pytest.mark.parametrize("seed", range(8))
def test_six_points_against_opencv(seed):
    rng = np.random.default_rng(100 + seed)
    ground = [*GROUND, (55.0, 0.0), (55.0, 45.0)]
    picture = np.array(seen(ground)) + rng.normal(0, 1.0, (6, 2))
    # OpenCV refines its algebraic solution geometrically; both must lie well within the clicks.
    expected, _ = cv2.findHomography(picture, np.array(ground))
    spot = np.array([[[960.0, 850.0]]])
    theirs = cv2.perspectiveTransform(spot, expected)[0, 0]
    assert carried(homography(picture.tolist(), ground), (960.0, 850.0)) == pytest.approx(
        tuple(theirs), abs=0.3
    )


def test_carried_against_opencv():
    matrix = homography(seen(GROUND), GROUND)
    theirs = cv2.perspectiveTransform(np.array([[[900.0, 700.0]]]), np.array(matrix))[0, 0]
    assert carried(matrix, (900.0, 700.0)) == pytest.approx(tuple(theirs))


def test_good_ground_points_pass_from_every_view():
    for view in ("face-on", "down-the-line"):
        check_ground(seen(GROUND, view), GROUND, mirrored=False)
        flipped = [(1920.0 - x, y) for x, y in seen(GROUND, view)]
        check_ground(flipped, GROUND, mirrored=True)


@pytest.mark.parametrize(
    ("picture", "ground", "mirrored", "words"),
    [
        (seen(GROUND)[:3], GROUND[:3], False, "at least 4"),
        (seen(GROUND), [GROUND[1], GROUND[0], *GROUND[2:]], False, "exchanged"),
        (seen(GROUND), GROUND, True, "mirrored"),
        ([*seen(GROUND)[:3], (1100.0, 925.0)], GROUND, False, "exchanged"),
        ([(0, 0), (100, 0), (200, 0), (300, 1)], GROUND, False, "in a line"),
        (seen(GROUND), [(0, 0), (1, 0), (2, 0), (3, 0)], False, "in a line"),
    ],
)
def test_bad_ground_points_are_refused_in_plain_words(picture, ground, mirrored, words):
    with pytest.raises(GroundError, match=words):
        check_ground(picture, ground, mirrored=mirrored)


def test_points_in_a_line_give_no_map():
    line = [(0.0, 0.0), (1.0, 1.0), (2.0, 2.0), (3.0, 3.0)]
    with pytest.raises(GroundError, match="line"):
        homography(line, line)
