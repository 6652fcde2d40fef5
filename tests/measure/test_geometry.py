"""Plane geometry against OpenCV and SciPy, which the code under test does not call."""

import cv2
import numpy as np
import pytest
from scipy.spatial.transform import Rotation

from reporter.measure import geometry

RNG = np.random.default_rng(11)
TURNS = [float(a) for a in RNG.uniform(-179, 179, 12)]


def rotated(vector, degrees):
    """Turn a picture vector clockwise as seen (x toward y, y down) by SciPy."""
    return Rotation.from_euler("z", degrees, degrees=True).apply([*vector, 0.0])[:2]


@pytest.mark.parametrize("degrees", TURNS)
def test_turned_agrees_with_opencv(degrees):
    centre, point = (640.0, 360.0), (100.0, 42.0)
    # OpenCV counts its angle anticlockwise as seen on the picture.
    matrix = cv2.getRotationMatrix2D(centre, -degrees, 1.0)
    expected = matrix @ [*point, 1.0]
    assert geometry.turned(point, degrees, centre) == pytest.approx(tuple(expected), abs=1e-9)


@pytest.mark.parametrize("degrees", TURNS)
def test_lean_from_plumb_of_a_line_turned_by_scipy(degrees):
    low = np.array([500.0, 800.0])
    high = low + rotated((0.0, -300.0), degrees)
    assert geometry.lean_from_plumb(tuple(low), tuple(high), 1) == pytest.approx(degrees)
    assert geometry.lean_from_plumb(tuple(low), tuple(high), -1) == pytest.approx(-degrees)


@pytest.mark.parametrize("degrees", TURNS)
def test_rise_from_level_of_a_line_turned_by_scipy(degrees):
    start = np.array([500.0, 400.0])
    end = start + rotated((200.0, 0.0), -degrees)
    assert geometry.rise_from_level(tuple(start), tuple(end), 1) == pytest.approx(degrees)


@pytest.mark.parametrize("degrees", TURNS)
def test_signed_angle_of_limbs_turned_by_scipy(degrees):
    vertex = np.array([300.0, 300.0])
    first = vertex + (80.0, -30.0)
    last = vertex + rotated((80.0, -30.0), degrees) * 1.7
    assert geometry.signed_angle(tuple(first), tuple(vertex), tuple(last)) == pytest.approx(degrees)


@pytest.mark.parametrize("degrees", [0.0, 4.0, 25.0, 60.0, -5.0])
def test_flex_of_a_shank_turned_by_scipy(degrees):
    hip, knee = np.array([900.0, 500.0]), np.array([930.0, 700.0])
    ankle = knee + rotated((knee - hip) * 0.9, degrees)
    # Turned clockwise the shank points back to the left, so the knee stands out to the right.
    assert geometry.flex(tuple(hip), tuple(knee), tuple(ankle), 1) == pytest.approx(degrees)
    assert geometry.flex(tuple(hip), tuple(knee), tuple(ankle), -1) == pytest.approx(-degrees)


def test_angles_of_nearly_straight_limbs_are_not_biased():
    """The arc cosine of noisy clicks is biased here by about -4 degrees; the signed angle is not.

    Limbs of 40 px, clicks of 4 px, 170 degrees: the arc cosine is NumPy's.
    """
    rng = np.random.default_rng(3)
    vertex, first = np.array([0.0, 0.0]), np.array([-40.0, 0.0])
    last = 40.0 * np.array([np.cos(np.radians(10.0)), np.sin(np.radians(10.0))])
    noisy = rng.normal(0.0, 4.0, (20_000, 3, 2)) + np.array([first, vertex, last])
    u, v = noisy[:, 0] - noisy[:, 1], noisy[:, 2] - noisy[:, 1]
    cosine = (u * v).sum(1) / np.linalg.norm(u, axis=1) / np.linalg.norm(v, axis=1)
    assert np.degrees(np.arccos(cosine)).mean() < 167.5
    ours = [geometry.signed_angle(*map(tuple, triple)) for triple in noisy[:5000].tolist()]
    unwrapped = np.where(np.array(ours) > 0, np.array(ours) - 360.0, ours)
    assert unwrapped.mean() == pytest.approx(-170.0, abs=0.5)


def test_slope_does_not_care_which_way_the_line_runs():
    assert geometry.slope_from_level((0, 100), (50, 50)) == pytest.approx(45)
    assert geometry.slope_from_level((0, 100), (-50, 50)) == pytest.approx(45)
    assert geometry.slope_from_level((0, 100), (-50, 150)) == pytest.approx(-45)


def test_turn_of_a_triangle_is_twice_opencvs_area():
    corners = [(3.0, 5.0), (90.0, 12.0), (40.0, 77.0)]
    area = cv2.contourArea(np.array(corners, np.float32), oriented=True)
    assert geometry.turn_of(corners) == pytest.approx(2 * area, rel=1e-5)
