"""Working back, wanted flights, bands, reasons and mirror of the explainer."""

import time
from dataclasses import replace

import numpy as np
import pytest

from reporter.flight import (
    Air,
    Band,
    Delivery,
    ImpossibleDelivery,
    SeenFlight,
    WantedFlight,
    Wind,
    club_named,
    explain,
    explain_delivery,
    fly,
    strike,
)
from reporter.flight.clubs import CLUBS
from reporter.flight.corridor import corridor_of, gains_of
from reporter.flight.uncertainty import certain_world
from reporter.flight.wanted import deliver_wanted

SLICE = SeenFlight.from_words("a little left", "right", shots=6)
SPEED = 42.0


def bands(flight):
    for name in flight.__slots__:
        value = getattr(flight, name)
        if isinstance(value, Band):
            yield name, value


@pytest.mark.parametrize("seed", range(12))
def test_round_trip_to_a_ten_thousandth_of_a_degree(seed):
    # Forward and back must meet; both are the code under test, so this checks the solver only.
    generator = np.random.default_rng(seed)
    club = club_named(["driver", "3-wood", "5-iron", "7-iron"][seed % 4])
    speed = club.typical_speed_m_per_s() * generator.uniform(0.8, 1.2)
    face, path = generator.uniform(-5, 5, 2)
    flight = fly(strike(club.deliver(speed, face, path)))
    start = float(flight.start_deg[0])
    for seen in (
        SeenFlight(start, landing_offset_m=float(flight.offline_m[0]), how="measured"),
        SeenFlight(start, bend_m=float(flight.curve_m[0]), how="measured"),
        SeenFlight(start, bend_deg=float(flight.bend_deg[0]), how="measured"),
    ):
        back = explain(seen, club.name, speed).now.delivery
        assert back.face_deg == pytest.approx(face, abs=1e-4)
        assert back.path_deg == pytest.approx(path, abs=1e-4)


def test_the_curve_goes_away_from_the_path():
    # Common practice, and the plane of Jorgensen: the ball bends from path toward face.
    for club in ("driver", "7-iron"):
        now = explain(SLICE, club, SPEED).now
        assert now.path_deg.nominal < now.face_deg.nominal
        assert now.curve_m.nominal > 0


def test_start_lies_nearer_the_face_than_the_path():
    # Wood, Henrikson and Broadie 2018: 61 to 83 % toward the face.
    now = explain(SLICE, "driver", SPEED).now
    share = (now.start_deg.nominal - now.path_deg.nominal) / now.face_to_path_deg.nominal
    assert 0.61 <= share <= 0.83


def test_left_hander_is_the_exact_mirror():
    right = explain(SLICE, "driver", SPEED, "right", WantedFlight(2.0), fairway_width_m=30)
    mirrored = SeenFlight.from_words("a little right", "left", shots=6)
    left = explain(mirrored, "driver", SPEED, "left", WantedFlight(-2.0), fairway_width_m=30)
    lateral = {
        "face_deg",
        "path_deg",
        "face_to_path_deg",
        "start_deg",
        "axis_tilt_deg",
        "curve_m",
        "bend_deg",
        "landing_offset_m",
    }
    for which in ("now", "wanted"):
        other = dict(bands(getattr(left, which)))
        for name, band in bands(getattr(right, which)):
            if name in lateral:
                assert band.low == pytest.approx(-other[name].high, abs=1e-6), name
                assert band.nominal == pytest.approx(-other[name].nominal, abs=1e-6), name
            else:
                assert band.low == pytest.approx(other[name].low, abs=1e-6), name
        assert getattr(left, which).shape.name == getattr(right, which).shape.name


def test_wanted_flight_is_made_by_the_stated_delivery():
    answer = explain(SLICE, "driver", SPEED, wanted=WantedFlight(start_deg=2.0))
    flight = fly(strike(answer.wanted.delivery))
    assert flight.start_deg[0] == pytest.approx(2.0, abs=1e-4)
    assert flight.offline_m[0] == pytest.approx(0.0, abs=1e-3)
    assert answer.wanted.shape.name == "push-draw"


@pytest.mark.parametrize(
    ("club", "head_mph", "attack", "loft", "face", "path"),
    [
        ("driver", 113.2, 0.0, 13.0, (1.48, 1.84), (2.67, 3.35)),
        ("driver", 93.0, 0.0, 15.7, (1.27, 1.78), (2.94, 3.93)),
        ("7-iron", 80.0, -4.0, 24.0, (0.99, 1.38), (3.46, 4.13)),
        ("7-iron", 65.0, -4.0, 26.0, (0.49, 1.09), (4.14, 5.21)),
    ],
)
def test_draw_that_starts_two_degrees_right(club, head_mph, attack, loft, face, path):
    # Bands of an independent computation on the same laboratory rows (not published).
    delivery = club_named(club).deliver(
        head_mph * 0.44704, attack_deg=attack, delivered_loft_deg=loft
    )
    recipe = deliver_wanted(WantedFlight(2.0), delivery)
    assert face[0] <= recipe.face_deg <= face[1]
    assert path[0] <= recipe.path_deg <= path[1]
    mirror = deliver_wanted(WantedFlight(-2.0), delivery)
    assert mirror.face_deg == pytest.approx(-recipe.face_deg, abs=1e-6)


def test_wanted_straight_needs_a_square_face_and_path():
    recipe = deliver_wanted(WantedFlight(0.0), club_named("driver").deliver(SPEED))
    assert recipe.face_deg == pytest.approx(0.0, abs=1e-6)
    assert recipe.path_deg == pytest.approx(0.0, abs=1e-6)


def test_every_band_holds_its_best_value_and_the_line_ends_on_the_ground():
    answer = explain(SLICE, "7-iron", 36.0, wanted=WantedFlight(1.0), fairway_width_m=20.0)
    for flight in (answer.now, answer.wanted):
        for name, band in bands(flight):
            assert band.low <= band.nominal <= band.high, name
        assert 30 <= len(flight.line) <= 60
        assert flight.line[0] == (0.0, 0.0, 0.0)
        downrange, right, up = flight.line[-1]
        assert up == 0.0
        assert np.hypot(downrange, right) == pytest.approx(flight.carry_m.nominal)
        assert right == pytest.approx(flight.landing_offset_m.nominal, abs=1e-6)
        assert all(isinstance(number, float) for point in flight.line for number in point)


def test_measured_is_narrower_than_by_eye_and_typical_speed_is_wider():
    eye = explain(SeenFlight(-2.0, landing_offset_m=8.0), "driver", SPEED).now
    measured = explain(
        SeenFlight(-2.0, landing_offset_m=8.0, how="measured"), "driver", SPEED
    ).now
    assert measured.path_deg.plus_minus < eye.path_deg.plus_minus
    assert measured.face_deg.plus_minus < eye.face_deg.plus_minus
    unknown = explain(SeenFlight(-2.0, landing_offset_m=8.0), "driver").now
    assert unknown.carry_m.plus_minus > 1.5 * eye.carry_m.plus_minus


@pytest.mark.parametrize(
    ("seen", "club", "air", "code"),
    [
        (SeenFlight(None, bend_m=5.0), "driver", Air(), "no-start"),
        (SeenFlight(2.0), "driver", Air(), "no-side"),
        (replace(SLICE, strike="topped"), "driver", Air(), "not-clean"),
        (SLICE, "driver", Air(wind=Wind(tail_m_per_s=-6.0)), "strong-wind"),
        (SeenFlight(-20.0, bend_m=149.0), "driver", Air(), "impossible-flight"),
    ],
)
def test_what_cannot_be_worked_back_says_why(seen, club, air, code):
    answer = explain(seen, club, SPEED, wanted=WantedFlight(1.0), air=air)
    assert answer.now is None
    assert answer.face_deg is None
    assert answer.now_line == ()
    assert answer.face_reason.code == code
    assert answer.path_reason.code == code
    assert answer.wanted_line


def test_a_wedge_tells_the_face_but_not_the_path():
    answer = explain(SeenFlight(-3.0, landing_offset_m=-3.0), "sand wedge", 32.0)
    assert answer.face_deg is not None
    assert answer.path_deg is None
    assert answer.path_reason.code == "wedge-path"
    assert answer.now_region == ()


def test_a_path_that_could_be_either_side_is_not_stated():
    vague = SeenFlight(0.0, bend_m=0.0, start_plus_minus_deg=8.0, side_plus_minus_percent=20.0)
    answer = explain(vague, "7-iron", 35.0)
    assert answer.path_deg is None
    assert answer.path_reason.code == "path-too-wide"


def test_an_impossible_wish_is_refused():
    with pytest.raises(ImpossibleDelivery, match="no face and path"):
        explain(SLICE, "driver", SPEED, wanted=WantedFlight(0.0, bend_m=140.0))


def test_notes_say_what_the_numbers_rest_on():
    codes = {note.code for note in explain(SeenFlight(-2.0, bend_m=5.0), "7-iron").notes}
    assert {
        "computed-not-measured",
        "typical-speed",
        "typical-delivery",
        "by-eye",
        "few-shots",
        "air-used",
        "older-ball-only",
        "assumed",
        "left-out",
    } <= codes
    answer = explain(replace(SLICE, how="measured"), "driver", SPEED)
    codes = {note.code for note in answer.notes}
    assert codes.isdisjoint({"typical-speed", "by-eye", "few-shots", "older-ball-only"})
    assert all(note.text.endswith(".") for note in answer.notes)
    assert answer.model_name
    assert answer.model_version


def test_stated_loft_and_attack_are_used():
    answer = explain(SLICE, "driver", SPEED, delivered_loft_deg=12.0, attack_deg=3.0)
    assert answer.now.delivery.delivered_loft_deg == 12.0
    assert answer.now.delivery.attack_deg == 3.0
    assert "typical-delivery" not in {note.code for note in answer.notes}
    usual = explain(SLICE, "driver", SPEED)
    assert answer.now.launch_deg.plus_minus < usual.now.launch_deg.plus_minus


def test_region_of_now_surrounds_the_nominal_delivery():
    answer = explain(SLICE, "driver", SPEED)
    region = np.array(answer.now_region)
    assert region.mean(axis=0) == pytest.approx(
        [answer.path_deg.nominal, answer.face_deg.nominal], abs=1e-6
    )
    # 95 % region in two dimensions: chi-square 5.991 against 3.841 for one number.
    widest = np.ptp(region[:, 0]) / (2 * answer.path_deg.plus_minus)
    assert widest == pytest.approx(np.sqrt(5.991 / 3.841), rel=0.15)


def test_typed_delivery_comes_out_as_it_went_in():
    delivery = club_named("driver").deliver(45.0, face_deg=1.0, path_deg=-3.0)
    answer = explain_delivery(delivery, "driver", fairway_width_m=30.0)
    direct = fly(strike(delivery))
    assert answer.face_deg.nominal == 1.0
    assert answer.path_deg.low == answer.path_deg.high == -3.0
    assert answer.carry_m.nominal == pytest.approx(direct.carry_m[0], abs=1e-9)
    assert answer.carry_m.low < direct.carry_m[0] < answer.carry_m.high
    assert answer.seen is None
    shares = replace(delivery, face_share=0.9)
    assert explain_delivery(shares, "driver").start_deg.nominal == pytest.approx(0.6)


@pytest.mark.parametrize("window", [12.0, 24.0])
@pytest.mark.parametrize("club", ["driver", "7-iron"])
def test_corridor_against_the_full_model(club, window):
    # The edges are where the flight itself lands on the edge of the fairway, at every path.
    delivery = club_named(club).deliver(113.2 * 0.44704 if club == "driver" else 36.0)
    world = certain_world(delivery)
    width = 30 * 0.9144
    strip = corridor_of(delivery, world, gains_of(delivery, world, Air()), width, window, Air())
    outline = np.array(strip.polygon)
    low, high = outline[: len(outline) // 2], outline[len(outline) // 2 :][::-1]
    paths = np.linspace(-window, window, 41)
    for edge, side in ((low, -1.0), (high, 1.0)):
        faces = np.interp(paths, *edge.T)
        landing = fly(strike(replace(delivery, face_deg=faces, path_deg=paths))).offline_m
        off_deg = np.abs(landing - side * width / 2) / strip.metres_per_degree_face.nominal
        assert off_deg.max() < (0.05 if window < 20.0 else 0.1)
        for path, face in zip(paths, faces, strict=True):
            inward = -0.2 * side
            assert strip.holds(face + inward, path)
            assert not strip.holds(face - inward, path)
    assert strip.polygon[0][0] == -40.0


def test_corridor_of_an_independent_computation():
    # Faces of -1.46 to 1.46 at path 0, .19 to 3.17 at +3, 1.76 to 4.88 at +6 (computed by an
    # independent program from the same laboratory rows, not published).
    delivery = club_named("driver").deliver(113.2 * 0.44704, delivered_loft_deg=13.0)
    world = certain_world(delivery)
    gains = gains_of(delivery, world, Air())
    strip = corridor_of(delivery, world, gains, 30 * 0.9144, 12.0, Air())
    outline = np.array(strip.polygon)
    low, high = outline[: len(outline) // 2], outline[len(outline) // 2 :][::-1]
    for path, least, most in ((0.0, -1.46, 1.46), (3.0, 0.19, 3.17), (6.0, 1.76, 4.88)):
        assert np.interp(path, *low.T) == pytest.approx(least, abs=0.15)
        assert np.interp(path, *high.T) == pytest.approx(most, abs=0.15)
    assert strip.face_width_deg.nominal == pytest.approx(2.92, abs=0.1)
    # Straight lines from the gains would be off by the strip's curve.
    straight = (-30 * 0.9144 / 2 - 6.0 * gains.per_path_deg_m[0]) / gains.per_face_deg_m[0]
    assert 0.02 < abs(np.interp(6.0, *low.T) - straight) < 0.25


def test_the_corridor_agrees_with_where_the_flight_lands():
    # A path far left that just keeps the fairway: a straight strip would call it out.
    for path in (-6.5, -9.0, 6.5, 9.0):
        delivery = club_named("driver").deliver(42.0, path * 0.45, path)
        answer = explain_delivery(delivery, "driver", fairway_width_m=30.0)
        inside = abs(answer.landing_offset_m.nominal) <= 15.0
        assert answer.corridor.holds(path * 0.45, path) is inside


def test_a_cross_wind_shifts_the_corridor():
    calm = explain(SLICE, "driver", SPEED, fairway_width_m=30.0).corridor
    air = Air(wind=Wind(to_right_m_per_s=3.0))
    windy = explain(SLICE, "driver", SPEED, air=air, fairway_width_m=30.0).corridor
    assert calm.offset_m == pytest.approx(0.0, abs=1e-9)
    assert windy.offset_m > 2.0
    middle = len(calm.polygon) // 4
    assert windy.polygon[middle][1] < calm.polygon[middle][1] - 0.2


@pytest.mark.parametrize("change", ["face", "path", "speed", "loft"])
def test_monotone_effects(change):
    values = {
        "face": np.linspace(-4, 4, 9),
        "path": np.linspace(-4, 4, 9),
        "speed": np.linspace(30, 55, 9),
        "loft": np.linspace(11, 25, 9),
    }[change]
    fields = {"head_speed_m_per_s": 45.0, "face_deg": 0.0, "path_deg": 0.0}
    longer = {"speed": "head_speed_m_per_s", "loft": "delivered_loft_deg"}
    name = longer.get(change, f"{change}_deg")
    flight = fly(strike(Delivery(**{**fields, name: values})))
    if change == "face":
        assert np.all(np.diff(flight.offline_m) > 0)
        assert np.all(np.diff(flight.start_deg) > 0)
    elif change == "path":
        assert np.all(np.diff(flight.curve_m) < 0)
        assert np.all(np.diff(flight.start_deg) > 0)
    elif change == "speed":
        assert np.all(np.diff(flight.carry_m) > 0)
    else:
        assert np.all(np.diff(flight.apex_m) > 0)


def test_more_loft_and_less_speed_bend_less():
    # Common practice: the same face to path bends a driver more than a wedge, and a fast
    # player's ball more than a slow one's.
    curves = []
    for club, speed in (("driver", 45.0), ("driver", 36.0), ("7-iron", 35.0), ("sand-wedge", 32.0)):
        curves.append(float(fly(strike(club_named(club).deliver(speed, 1.0))).curve_m[0]))
    assert curves == sorted(curves, reverse=True)


def test_the_whole_bag_can_be_explained():
    for club in CLUBS:
        answer = explain(SeenFlight(-1.0, bend_deg=1.0), club.name)
        assert answer.now is not None, club.name
        assert 40 < answer.carry_m.nominal < 230, club.name


@pytest.mark.parametrize(
    ("make", "named"),
    [
        (lambda: SeenFlight(0.0, bend_m=1.0, bend_deg=1.0), "bend_m and bend_deg"),
        (lambda: SeenFlight(200.0), "start_deg is 200 deg"),
        (lambda: SeenFlight(0.0, bend_m=float("nan")), "bend_m"),
        (lambda: SeenFlight(0.0, shots=0), "shots"),
        (lambda: SeenFlight(0.0, how="guessed"), "by eye, measured"),
        (lambda: SeenFlight.from_words("leftish", None), '"leftish" is not one of'),
        (lambda: explain(SLICE, "driver", 42.0, "both"), 'handedness "both"'),
        (lambda: explain(SLICE, "driver", 420.0), "head_speed_m_per_s is 420"),
        (lambda: explain(SLICE, "putter", 4.0), '"putter" is not one of'),
        (lambda: explain(SLICE, "driver", 42.0, fairway_width_m=-3.0), "fairway_width_m"),
    ],
)
def test_bad_input_is_named(make, named):
    with pytest.raises(ImpossibleDelivery, match=named):
        make()


def test_words_have_the_stated_meaning():
    seen = SeenFlight.from_words("Far left", "a lot right")
    assert seen.start_deg == -6.0
    assert np.tan(np.radians(seen.bend_deg)) == pytest.approx(0.12)
    assert SeenFlight.from_words("on line", "none").bend_deg == 0.0
    assert WantedFlight.from_words("a little right").side == ("landing_offset_m", 0.0)


def test_usual_flight_of_a_table_of_shots():
    starts, landings = [-3.0, -2.0, -2.5, -8.0, -2.2], [10.0, 12.0, 8.0, -30.0, 11.0]
    seen = SeenFlight.from_shots(starts, landings, carry_m=200.0)
    assert (seen.start_deg, seen.landing_offset_m, seen.shots) == (-2.5, 10.0, 5)
    one = SeenFlight.from_shots([-3.0], [10.0], carry_m=200.0)
    assert one.start_sd_deg < seen.start_sd_deg
    with pytest.raises(ImpossibleDelivery, match="row 2: start is nan"):
        SeenFlight.from_shots([1.0, float("nan")], [0.0, 0.0], 200.0)


def test_explaining_is_quick():
    explain(SLICE, "driver", SPEED, wanted=WantedFlight(2.0), fairway_width_m=30.0)
    begun = time.process_time()
    for _ in range(5):
        explain(SLICE, "driver", SPEED, wanted=WantedFlight(2.0), fairway_width_m=30.0)
    assert (time.process_time() - begun) / 5 < 0.25  # about 0.05 on a quiet machine


def test_starts_and_landings_of_a_table_err_together():
    """The stated correlation is that of the medians of many simulated tables (numpy)."""
    rng = np.random.default_rng(41)
    stated, medians = [], []
    for _ in range(400):
        starts = rng.normal(-2.0, 2.4, 20)
        landings = 175.0 * np.tan(np.radians(starts)) + rng.normal(21.0, 8.8, 20)
        measured = (rng.normal(0.0, 0.3, 20).mean(), rng.normal(0.0, 1.8, 20).mean())
        seen = SeenFlight.from_shots(starts, landings, 175.0)
        stated.append(seen.start_side_correlation)
        medians.append((np.median(starts) + measured[0], np.median(landings) + measured[1]))
    true = np.corrcoef(np.array(medians).T)[0, 1]
    # Errors of measuring are stated as if they were the same in every shot, hence a little less.
    assert 0.4 < np.mean(stated) < true + 0.05
    together = explain(seen, "driver", SPEED)
    apart = explain(replace(seen, start_side_correlation=0.0), "driver", SPEED)
    assert together.path_deg.plus_minus < 0.85 * apart.path_deg.plus_minus


@pytest.mark.parametrize(
    ("club", "metres"),
    [("sand-wedge", 40.0), ("pitching-wedge", 40.0), ("7-iron", 60.0), ("driver", 100.0)],
)
def test_a_bend_beyond_any_ball_is_only_explained(club, metres):
    # So far beside the line on which the ball started that no lean of its axis brings it there.
    answer = explain(SeenFlight(start_deg=0.0, landing_offset_m=metres), club)
    assert answer.now is None
    assert answer.face_reason is not None
    assert answer.face_reason.code == "impossible-flight"
