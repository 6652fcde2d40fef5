"""Which way a camera looked, against OpenCV's projection and against made-up cameras."""

import math

import cv2
import numpy as np
import pytest
from lesson_simulation import CLICK_RANGE, _frame
from measure_lessons import (
    CORNERS,
    SIZE,
    frame,
    ground_points,
    lesson,
    middling_player,
    pixels_of,
    sizes_of,
)
from scipy.spatial.transform import Rotation
from swing_figure import pose, random_player, truth
from swing_lens import HEIGHT, WIDTH, camera, random_camera

from reporter.measure import BY_ID, Class, camera_stands, measure_session
from reporter.measure.camera import Roll
from reporter.measure.heading import LARGEST_ERROR, heading_of
from reporter.measure.straighten import straight_lean
from reporter.measure.uncertainty import ClickError
from reporter.session.schema import GroundPoint, Take

SEED = 20270414
TRIALS = 200
KNOWN_ROLL = 0.4
"""Standard deviation of a roll that a level line tells [deg]."""


def true_heading(lens, view):
    """Yaw of the optical axis against the ideal one [deg], and slope of level at the middle."""
    forward = lens.rows[2]
    yaw = math.degrees(math.atan2(forward[1], forward[0])) - (90 if view == "face-on" else 0)
    level = np.cross(forward, [0, 0, 1.0])
    return yaw, math.degrees(math.atan2(level @ lens.rows[1], level @ lens.rows[0]))


def test_four_corners_projected_by_opencv_give_the_heading_back():
    """A camera 1.2 m high, 3 m before the corners, turned 7 degrees, focal length 1478 px."""
    turn = Rotation.from_euler("z", 7.0, degrees=True).as_matrix()
    forward = turn @ np.array([0.0, 1.0, -0.12])
    forward /= np.linalg.norm(forward)
    right = np.cross(forward, [0, 0, 1.0])
    right /= np.linalg.norm(right)
    rows = np.array([right, np.cross(forward, right), forward])
    place = np.array([0.2, -3.0, 1.2])
    corners = np.c_[np.array(CORNERS) / 100.0, np.zeros(4)]
    lens = np.array([[1478.0, 0, 960], [0, 1478.0, 540], [0, 0, 1]])
    seen, _ = cv2.projectPoints(corners, cv2.Rodrigues(rows)[0], -rows @ place, lens, None)
    spots = tuple(
        GroundPoint(at=tuple(map(float, at)), ground=(corner[0], -corner[1]))
        for at, corner in zip(seen[:, 0], CORNERS, strict=True)
    )
    one = frame("f", "t", "setup", {}, ground_points=spots)
    take = Take(id="t", when="before", view="face-on", camera_height=120.0)
    found = heading_of(one, take, SIZE, Roll(0.0, 0.3, known=True), ClickError(), "right")
    assert found.degrees == pytest.approx(7.0, abs=0.3)
    assert found.roll == pytest.approx(0.0, abs=0.1)
    # Square to the axis it stands round by as much as it looks round; beside it by the ray's way.
    assert found.round_at(960.0, 1) == pytest.approx(found.degrees)
    assert found.round_at(960.0 + found.focal_px, 1) == pytest.approx(found.degrees - 45.0)


@pytest.mark.parametrize("plays", ["right", "left"])
@pytest.mark.parametrize("mirrored", [False, True])
def test_left_handers_and_mirrored_clips_have_the_same_signs(plays, mirrored):
    spots = ground_points("face-on", azimuth=9.0)

    def shown(spot):
        x, y = spot.at
        # A left-hander is the mirror image in the world, which turns the picture and the ground.
        flips = (plays == "left") != mirrored
        right = spot.ground[1] if plays == "right" else -spot.ground[1]
        return GroundPoint(at=(WIDTH - x if flips else x, y), ground=(spot.ground[0], right))

    one = frame("f", "t", "setup", {}, ground_points=tuple(shown(spot) for spot in spots))
    take = Take(id="t", when="before", view="face-on", mirrored=mirrored)
    found = heading_of(one, take, SIZE, Roll(), ClickError(), plays)
    assert found.degrees == pytest.approx(9.0, abs=0.5)


def estimates(view, kind):
    """Errors of the heading over their standard deviations, and the standard deviations."""
    rng = np.random.default_rng(SEED)
    ratios, said = [], []
    for _ in range(TRIALS):
        lens = random_camera(view, rng, 15.0)
        player = random_player(rng)
        clicks = (rng.uniform(*CLICK_RANGE), 1.5)
        spots = np.zeros(2) if kind == "ground points" else None
        one = _frame(
            "f", "t", "setup", view, lens, pose(player, "setup", np.zeros(3)), clicks, spots, rng
        )
        yaw, slope = true_heading(lens, view)
        roll = Roll()
        if kind == "stick":
            length = rng.uniform(1.02, 1.22)
            along, across = rng.uniform(-0.2, 0.2), rng.choice([-0.3, -0.55, -0.8])
            ends = np.array([[along - length / 2, across, 0], [along + length / 2, across, 0]])
            at = lens.pixels(ends) + clicks[0] * 2 / 3 * rng.standard_t(5, (2, 2)) / 1.29
            one = one.model_copy(update={"lines": {"stick": tuple(map(tuple, at.tolist()))}})
            roll = Roll(slope + rng.normal(0, KNOWN_ROLL), KNOWN_ROLL, known=True)
        take = Take(id="t", when="before", view=view)
        found = heading_of(one, take, SIZE, roll, ClickError(), "right")
        ratios.append((found.degrees - yaw) / found.error)
        said.append(found.error)
    return np.array(ratios), np.array(said)


@pytest.mark.parametrize(
    ("view", "kind", "sure"),
    [
        ("face-on", "ground points", 1.2),
        ("down-the-line", "ground points", 0.7),
        ("face-on", "stick", 2.7),
        ("down-the-line", "stick", 2.0),
    ],
)
def test_the_stated_error_of_the_heading_holds(view, kind, sure):
    """Cameras round by up to 15 degrees, clicks with heavy tails: 95 % hold, and not by width."""
    ratios, said = estimates(view, kind)
    assert np.mean(np.abs(ratios) <= 1.96) >= 0.93
    assert np.median(said) <= sure
    assert np.median(said) <= LARGEST_ERROR


def test_a_stick_without_a_level_line_corrects_nothing_face_on():
    lens = camera("face-on", azimuth=8.0)
    at = lens.pixels(np.array([[-0.6, -0.5, 0], [0.5, -0.5, 0]])).tolist()
    one = frame("f", "t", "setup", {}, lines={"stick": tuple(map(tuple, at))})
    take = Take(id="t", when="before", view="face-on")
    assert not heading_of(one, take, SIZE, Roll(), ClickError(), "right").known
    level = heading_of(one, take, SIZE, Roll(0.0, 0.3, known=True), ClickError(), "right")
    assert level.known
    assert level.degrees == pytest.approx(8.0, abs=1.0)


def test_ground_points_that_no_camera_sees_so_tell_nothing():
    """Half a metre across typed as five: no camera sees such a shape so."""
    spots = tuple(
        GroundPoint(at=spot.at, ground=(spot.ground[0], spot.ground[1] * 10.0))
        for spot in ground_points("face-on")
    )
    one = frame("f", "t", "setup", {}, ground_points=spots)
    take = Take(id="t", when="before", view="face-on")
    assert heading_of(one, take, SIZE, Roll(), ClickError(), "right") is None


@pytest.mark.parametrize("round_degrees", [-14.0, -5.0, 0.0, 11.0])
def test_a_line_seen_from_the_side_is_turned_back(round_degrees):
    """Against SciPy's rotation of a line in the world."""
    line = np.array([0.12, 0.7, 1.0])
    seen = Rotation.from_euler("z", -round_degrees, degrees=True).apply(line)
    lean = math.degrees(math.atan2(seen[0], seen[2]))
    back = straight_lean(lean, round_degrees, 0.7)
    assert back == pytest.approx(math.degrees(math.atan2(0.12, 1.0)), abs=1e-9)


def corrected(azimuth, plays="right", ground=True):
    player = middling_player()
    spots = ground_points("face-on", azimuth=azimuth) if ground else ()
    if plays == "left":
        spots = tuple(
            GroundPoint(at=(WIDTH - s.at[0], s.at[1]), ground=(s.ground[0], -s.ground[1]))
            for s in spots
        )
    points = pixels_of(player=player, plays=plays, azimuth=azimuth)
    session = lesson([frame("f", "t", "setup", points, ground_points=spots)], plays=plays)
    return session, {m.measure: m for m in measure_session(session, sizes_of(session))}


@pytest.mark.parametrize("plays", ["right", "left"])
def test_leans_are_corrected_only_where_the_heading_is_known(plays):
    now = pose(middling_player(), "setup", np.zeros(3))
    for name in ("shaft-lean", "spine-side-bend"):
        true = truth(name, "face-on", now, now, "deg")
        _, plain = corrected(10.0, plays, ground=False)
        _, found = corrected(10.0, plays)
        assert plain[name].trust is Class.CHANGE_ONLY
        assert plain[name].corrected_by is None
        assert abs(plain[name].value - true) > 4.0
        assert found[name].trust is Class.MEASURED
        assert found[name].value == pytest.approx(true, abs=1.5)
        assert found[name].plus_minus < 6.0
        limits = BY_ID[name].ways[0].straight
        assert limits.interval <= 6.0


def test_a_camera_says_how_it_stood_and_what_it_may_speak_about():
    session, _ = corrected(6.0)
    (stand,) = camera_stands(session, {"f": (WIDTH, HEIGHT)})
    assert stand.azimuth_is_known
    assert stand.told_by == "ground points"
    # The heading is that of the optical axis, which this camera aims at the player.
    assert stand.azimuth == pytest.approx(6.0, abs=0.5)
    spoken = dict(stand.speaks)
    assert "shaft-lean" in spoken[Class.MEASURED]
    assert "spine-forward-bend" in spoken[Class.NOT_FROM_THIS_VIEW]
    session, _ = corrected(6.0, ground=False)
    (stand,) = camera_stands(session, {"f": (WIDTH, HEIGHT)})
    assert not stand.azimuth_is_known
    assert "shaft-lean" in dict(stand.speaks)[Class.CHANGE_ONLY]


@pytest.mark.parametrize("plays", ["right", "left"])
def test_a_shift_is_as_sure_as_the_camera_is_square(plays):
    """A head that moves toward the ball shows sideways by the sine of how far round one looks."""
    errors = {}
    for azimuth in (-14.0, 0.0, 14.0):
        spots = ground_points(azimuth=azimuth)
        if plays == "left":
            spots = tuple(
                GroundPoint(at=(WIDTH - spot.at[0], spot.at[1]), ground=(x, -y))
                for spot in spots
                for x, y in [spot.ground]
            )
        frames = [
            frame(
                position, "t", position,
                pixels_of(position=position, plays=plays, azimuth=azimuth),
                ground_points=spots if position == "setup" else (),
            )
            for position in ("setup", "impact")
        ]  # fmt: skip
        session = lesson(frames, plays=plays)
        errors[azimuth] = next(
            one.standard_error_of_azimuth
            for one in measure_session(session, sizes_of(session))
            if (one.measure, one.frame, one.unit) == ("head-shift", "impact", "cm")
        )
    # 6.9 cm toward the camera or away, root mean square of the figures at impact.
    assert errors[0.0] < 0.5
    for azimuth in (-14.0, 14.0):
        assert errors[azimuth] == pytest.approx(6.9 * math.sin(math.radians(14.0)), abs=0.3)


def test_without_a_heading_a_shift_allows_for_a_camera_far_round():
    held = {"held": ((700.0, 500.0), (1200.0, 505.0))}
    frames = [
        frame("setup", "t", "setup", pixels_of(), lines=held),
        frame("impact", "t", "impact", pixels_of(position="impact")),
    ]
    take = Take(id="t", when="before", view="face-on", stick=112.0)
    session = lesson(frames, [take])
    found = next(
        one
        for one in measure_session(session, sizes_of(session))
        if (one.measure, one.frame) == ("head-shift", "impact")
    )
    # An even spread of 15 degrees either way has the standard deviation 15 / sqrt(3).
    wide = 6.9 * math.sin(math.radians(15.0 / math.sqrt(3.0)))
    assert found.unit == "cm"
    assert found.standard_error_of_azimuth == pytest.approx(math.hypot(wide, 0.3), abs=0.02)
