"""Sides of the picture and camera roll against OpenCV's projectPoints."""

import cv2
import numpy as np
import pytest
from swing_lens import HEIGHT, WIDTH, camera, random_camera

from reporter.measure.camera import LEVEL_ERROR, camera_untouched, rolls_of, target_side
from reporter.measure.uncertainty import ClickError
from reporter.session.schema import Frame, Take


def opencv_pixels(lens, points):
    """Project by OpenCV alone: rotation vector, translation, camera matrix."""
    rotation, _ = cv2.Rodrigues(lens.rows)
    matrix = np.array([[lens.focal, 0, WIDTH / 2], [0, lens.focal, HEIGHT / 2], [0, 0, 1.0]])
    pixels, _ = cv2.projectPoints(
        np.asarray(points, float), rotation, -lens.rows @ lens.place, matrix, None
    )
    return pixels[:, 0]


@pytest.mark.parametrize("view", ["face-on", "down-the-line", "feet"])
def test_the_tests_own_lens_agrees_with_opencv(view):
    rng = np.random.default_rng(4)
    for _ in range(20):
        lens = random_camera(view, rng)
        points = rng.uniform([-0.5, -0.6, 0], [0.5, 0.3, 1.4 if view != "feet" else 0.5], (9, 3))
        np.testing.assert_allclose(lens.pixels(points), opencv_pixels(lens, points), atol=1e-6)


def test_target_and_ball_are_where_a_camera_sees_them():
    """A spot toward the target (face-on) or on the ball's side (down-the-line), by OpenCV."""
    player, target, ball = [0.0, 0.0, 1.0], [0.5, 0.0, 1.0], [0.0, -0.5, 1.0]
    for view, spot in (("face-on", target), ("down-the-line", ball)):
        here, there = opencv_pixels(camera(view), [player, spot])
        assert np.sign(there[0] - here[0]) == target_side(view, "right", mirrored=False)
        # A left-hander's scene is the mirror image, which mirrors his picture.
        assert -np.sign(there[0] - here[0]) == target_side(view, "left", mirrored=False)
        assert -np.sign(there[0] - here[0]) == target_side(view, "right", mirrored=True)


@pytest.mark.parametrize("kind", ["level", "plumb"])
@pytest.mark.parametrize("roll", [-4.0, -1.0, 0.0, 2.5])
@pytest.mark.parametrize("mirrored", [False, True])
def test_roll_from_a_line(kind, roll, mirrored):
    lens = camera("face-on", roll=roll, aim_height=1.1)
    ends = {"level": [[-1.0, 1.0, 1.1], [1.0, 1.0, 1.1]], "plumb": [[0.1, 1, 0.0], [0.1, 1, 1.8]]}
    pixels = opencv_pixels(lens, ends[kind])
    if mirrored:
        pixels[:, 0] = WIDTH - pixels[:, 0]
    take = Take(id="t", when="before", view="face-on", mirrored=mirrored)
    frame = Frame(
        id="f",
        take="t",
        position="setup",
        file="x.png",
        lines={kind: tuple(map(tuple, pixels.tolist()))},
    )
    found = rolls_of([(frame, take)], {"f": (WIDTH, HEIGHT)}, ClickError())["take t"]
    assert found.known
    # A level tripod counts as one more reading, so small rolls are drawn a little toward 0.
    assert found.degrees == pytest.approx(-roll, abs=0.05 + 0.25 * abs(roll))
    assert abs(found.degrees + roll) <= 1.96 * found.error
    assert found.error < 0.6


def test_frames_of_one_camera_share_one_roll():
    takes = [Take(id=i, when="before", view="face-on", camera="tripod") for i in "ab"]
    lines = [((100.0, 500.0), (1700.0, 500.0 + drop)) for drop in (20.0, 30.0)]
    frames = [
        (Frame(id=t.id, take=t.id, position="setup", file="x.png", lines={"level": line}), t)
        for t, line in zip(takes, lines, strict=True)
    ]
    rolls = rolls_of(frames, {"a": (WIDTH, HEIGHT), "b": (WIDTH, HEIGHT)}, ClickError())
    assert list(rolls) == ["label tripod"]
    # Mean slope of both lines: atan(25 / 1600) = 0.895 degrees (NumPy), drawn a little toward 0.
    mean = np.degrees(np.arctan(25 / 1600))
    assert 0.75 * mean < rolls["label tripod"].degrees < mean
    alone = rolls_of(frames[:1], {"a": (WIDTH, HEIGHT)}, ClickError())["label tripod"]
    assert rolls["label tripod"].error <= alone.error


def test_a_line_too_short_is_not_used():
    take = Take(id="t", when="before", view="face-on")
    frame = Frame(
        id="f", take="t", position="setup", file="x.png", lines={"level": ((0, 0), (30, 3))}
    )
    assert rolls_of([(frame, take)], {"f": (WIDTH, HEIGHT)}, ClickError()) == {}


@pytest.mark.parametrize("kind", ["level", "plumb"])
def test_the_stated_error_of_roll_covers_perspective(kind):
    """Lines anywhere a coach may find them, clicks of 2 px: 95 % interval holds in 92 % or more.

    The true roll is read off the tests' own lens, which OpenCV confirms above.
    ."""
    rng = np.random.default_rng(17)
    held = []
    for _ in range(400):
        lens = random_camera("face-on", rng)
        depth, x = rng.uniform(0.5, 4.0), rng.uniform(-1.2, 1.2)
        if kind == "plumb":
            ends = [[x, depth, 0.1], [x, depth, rng.uniform(1.2, 2.0)]]
        else:
            height = lens.place[2] + rng.uniform(-0.15, 0.15)
            ends = [[-0.9, depth, height], [0.9, depth, height]]
        pixels = opencv_pixels(lens, ends) + rng.normal(0, 2.0, (2, 2))
        take = Take(id="t", when="before", view="face-on")
        frame = Frame.model_construct(
            id="f", take="t", size=None, lines={kind: tuple(map(tuple, pixels.tolist()))}
        )
        found = rolls_of([(frame, take)], {"f": (WIDTH, HEIGHT)}, ClickError())["take t"]
        true = -np.degrees(np.arctan2(-lens.rows[0][2], -lens.rows[1][2]))
        held.append(abs(found.degrees - true) <= 1.96 * found.error)
    assert 0.92 <= np.mean(held) <= 0.995


def test_a_level_line_that_runs_away_is_off_by_what_is_allowed_for():
    """Walls 6 m away, 20 cm above or below the lens, 40 degrees askew at most: their slopes."""
    rng = np.random.default_rng(18)
    slopes = []
    for _ in range(4000):
        lens = camera("face-on", azimuth=rng.uniform(-15, 15))
        ahead = lens.rows[2] * [1, 1, 0] / np.hypot(*lens.rows[2][:2])
        askew = np.radians(rng.uniform(-40, 40))
        way = np.cos(askew) * lens.rows[0] + np.sin(askew) * ahead
        middle = lens.place + 6.0 * ahead + [0, 0, rng.uniform(-0.2, 0.2)]
        first, second = lens.pixels(np.array([middle - 0.5 * way, middle + 0.5 * way]))
        slopes.append(np.degrees(np.arctan2(second[1] - first[1], second[0] - first[0])))
    assert np.std(slopes) == pytest.approx(LEVEL_ERROR, abs=0.05)


def test_untouched_needs_a_label_or_one_clip():
    a, b = (Take(id=i, when="before", view="face-on") for i in "ab")
    assert camera_untouched(a, a)
    assert not camera_untouched(a, b)
    labelled = [t.model_copy(update={"camera": "tripod"}) for t in (a, b)]
    assert camera_untouched(*labelled)
