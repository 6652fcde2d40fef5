"""The flight command: what is typed, what comes out, and what is refused in a clear line."""

import csv
import json
import re
import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest
import yaml
from scipy import stats

from reporter.command_line import run
from reporter.flight_command.options import EVERY_OPTION, read_flight_options
from reporter.flight_command.phrases import read_seen, read_wanted, read_wind, wanted_numbers

ROOT = Path(__file__).resolve().parents[1]
REFERENCE = ROOT / "tests" / "reference"
FIGURES = yaml.safe_load((REFERENCE / "published_flights.yaml").read_text("utf-8"))
COMMANDS = (ROOT / "docs" / "commands.md").read_text("utf-8")
# NIST SP 811 (2008), B.8: exact.
YARD = 0.9144
MPH = 0.44704
TOUR = FIGURES["tour_drive"]
LAUNCH = ["--ball-speed", f"{TOUR['ball_mph']} mph", "--launch-angle", f"{TOUR['launch_deg']} deg",
          "--spin", f"{TOUR['spin_rpm']} rpm"]  # fmt: skip
SLICE = ["--club", "driver", "--seen", "starts 2 deg left, bends 20 m right, 6 shots"]


def rows(name):
    lines = (REFERENCE / name).read_text("utf-8").splitlines()
    return list(csv.DictReader(line for line in lines if not line.startswith("#")))


@pytest.fixture
def ask(capsys):
    """Return a function that types a flight command and reads the JSON that comes out."""

    def asked(*arguments):
        assert run(["flight", *arguments, "--json"]) == 0
        out, err = capsys.readouterr()
        assert err == ""
        return json.loads(out)

    return asked


@pytest.fixture
def refused(capsys):
    """Return a function that types a flight command that must be refused."""

    def told(*arguments):
        assert run(["flight", *arguments]) == 3
        out, err = capsys.readouterr()
        assert out == ""
        assert "Traceback" not in err
        return err

    return told


@pytest.fixture
def shots(tmp_path):
    """Return a function that writes a table of shots."""

    def written(text, name="shots.csv"):
        file = tmp_path / name
        file.write_text(text, encoding="utf-8")
        return str(file)

    return written


# --- values against published figures


def test_the_average_tour_drive_carries_what_was_published(ask):
    # R&A and USGA distance reports: launch of 2015, average total of 2017; the run of at most
    # 50 yd is common practice, no source.
    flight = ask(*LAUNCH)
    low, high = TOUR["average_total_yd"] - TOUR["greatest_run_yd"], TOUR["average_total_yd"]
    assert low <= flight["carry_m"] / YARD <= high
    assert flight["bands"]["carry_m"][0] < flight["carry_m"] < flight["bands"]["carry_m"][1]
    # Lyu, Kensrud, Smith, Tosaya 2018: thirteen ball models within 18 m of carry.  The range of
    # 13 normal values is 3.336 standard deviations on average (Tippett 1925, d2); a 95 % band is
    # 3.92 of them.  The band must hold the balls, and be no more than twice as wide (air).
    balls = FIGURES["ball_models"]["carry_range_m"] / 3.336 * 3.92
    width = np.ptp(flight["bands"]["carry_m"])
    assert balls <= width <= 2.0 * balls


def test_the_head_of_the_average_tour_drive_can_give_its_ball_speed(ask, refused):
    # R&A/USGA distance report 2015 (second-hand): 113.2 mph head, 167.7 mph ball.
    assert ask(*LAUNCH, "--head-speed", "113.2 mph")["carry_m"]
    # Beyond 2 v (1 + m/M)^-1, the elastic limit of any head of .204 kg, nothing can be right.
    elastic = 2.0 / (1.0 + 0.0459 / 0.204)
    assert "than the head can give" in refused(
        *LAUNCH, "--head-speed", f"{TOUR['ball_mph'] / elastic:.1f} mph")  # fmt: skip


def test_spin_left_at_landing(ask):
    # Penner 2001, American Journal of Physics 69, p. 565 (second-hand).
    entry = FIGURES["landing_spin_share"]
    flight = ask(*LAUNCH)
    share = flight["landing_spin_rpm"] / flight["spin_rpm"]
    assert share == pytest.approx(entry["share"], abs=entry["tolerance"])


def test_a_path_far_left_with_the_face_at_the_target(ask):
    # Cochran and Stobbs 1968, quoted by Wood et al. 2018: face at the target, path 20 left.
    low, high = FIGURES["zero_face_twenty_left_path"]["share_between"]
    for club in ("driver", "7-iron", "sand-wedge"):
        flight = ask("--club", club, "--face", "0 deg", "--path", "20 deg left")
        assert low <= 1.0 + flight["start_deg"] / 20.0 <= high
        # The ball bends from path toward face (the plane of Jorgensen, from memory).
        assert flight["curve_m"] > 0.0


def test_ball_speed_of_a_fast_head(ask):
    # R&A notice of 6 May 2025: ball speed of a 120 mph head by restitution and contact time.
    entry = FIGURES["ball_speed_of_120_mph_head"]
    constant, per_e, per_us = entry["formula_ft_s"]
    feet = constant + per_e * entry["restitution"] + per_us * entry["contact_time_us"]
    flight = ask("--club", "driver", "--head-speed", "120 mph", "--loft", "13 deg")
    assert flight["ball_speed_m_per_s"] == pytest.approx(
        feet * 0.3048, abs=entry["tolerance_mph"] * MPH
    )


@pytest.mark.parametrize("row", rows("computed_bands.csv"), ids=lambda row: row["head_mph"])
def test_deliveries_of_an_independent_computation(ask, row):
    # Bands of an independent computation on the same laboratory rows (not published).
    flight = ask(
        "--club", row["club"], "--head-speed", f"{row['head_mph']} mph",
        "--attack", f"{row['attack_deg']} deg", "--loft", f"{row['loft_deg']} deg",
        "--face", "1 deg right",
    )  # fmt: skip
    low, high = (float(row[f"carry_{end}_yd"]) for end in ("low", "high"))
    # One degree of face costs less than a yard of carry.
    assert low - 1.0 <= flight["carry_m"] / YARD <= high + 1.0
    for key, column in (("curve_m", "curve"), ("offline_m", "face")):
        assert float(row[f"{column}_low_yd"]) <= flight[key] / YARD <= float(
            row[f"{column}_high_yd"])  # fmt: skip


@pytest.mark.parametrize("row", rows("moist_air_density.csv"), ids=lambda row: row["pressure_pa"])
def test_the_air_is_that_of_the_table(ask, row):
    # CIPM-2007 (Picard et al. 2008), tolerance of the table.
    air = ask(
        *LAUNCH, "--temperature", f"{row['temperature_c']} C",
        "--pressure", f"{float(row['pressure_pa']) / 100:.2f} hPa",
        "--humidity", f"{100 * float(row['relative_humidity']):.0f}",
    )["air"]  # fmt: skip
    assert air["density_kg_per_m3"] == pytest.approx(float(row["density_kg_per_m3"]), abs=2e-4)


def test_a_high_place_has_thin_air_and_a_long_ball(ask):
    # US Standard Atmosphere 1976, table of tests/reference: pressure over sea-level pressure.
    high = next(row for row in rows("standard_atmosphere_1976.csv") if row["feet"] == "5280")
    sea, mountain = ask(*LAUNCH), ask(*LAUNCH, "--altitude", "5280 ft")
    ratio = mountain["air"]["pressure_pa"] / 101_325.0
    assert ratio == pytest.approx(float(high["pressure_ratio"]), abs=1e-4)
    # Thinner air carries a drive farther: common practice, no source.
    assert mountain["carry_m"] > 1.02 * sea["carry_m"]


def test_wind_pushes_where_it_blows_to(ask):
    # Which way: by definition.  A headwind costs more than the same tailwind gives: common
    # practice, no source.
    calm = ask(*LAUNCH)
    head, tail = (ask(*LAUNCH, "--wind", f"10 mph {way}") for way in ("head", "tail"))
    left, right = (ask(*LAUNCH, "--wind", f"4 m/s from the {way}") for way in ("left", "right"))
    assert head["air"]["wind_tail_m_per_s"] == pytest.approx(-10 * MPH)
    assert calm["carry_m"] - head["carry_m"] > tail["carry_m"] - calm["carry_m"] > 0.0
    assert left["offline_m"] > 5.0
    assert right["offline_m"] == pytest.approx(-left["offline_m"])
    aloft = ask(*LAUNCH, "--wind", "4 m/s from the left, at 2 m")
    assert aloft["air"]["wind_height_m"] == 2.0
    # A log wind that has its speed at 2 m blows harder above (WMO-No. 8, from memory).
    assert aloft["offline_m"] > left["offline_m"]


# --- the answers hang together


def test_a_typed_launch_has_the_bands_of_ball_and_air(ask):
    launched = ask(*LAUNCH, "--club", "driver")
    struck = ask("--club", "driver", "--head-speed", "113 mph")
    assert set(launched["bands"]) < set(struck["bands"])
    assert np.ptp(launched["bands"]["carry_m"]) < np.ptp(struck["bands"]["carry_m"])
    assert {"ball_speed_m_per_s", "spin_rpm", "start_deg"} & set(launched["bands"]) == set()
    iron = ask("--club", "7-iron", "--ball-speed", "50 m/s", "--launch-angle", "17 deg",
               "--spin", "6500 rpm", "--axis-tilt", "5 deg right")  # fmt: skip
    assert iron["curve_m"] > 0.0
    assert "older-ball-only" in {note["code"] for note in iron["notes"]}


def test_a_left_hander_is_the_mirror(ask):
    right = ask(*LAUNCH, "--start", "2 deg left", "--axis-tilt", "6 deg right")
    left = ask(*LAUNCH, "--start", "2 deg right", "--axis-tilt", "6 deg left", "--plays", "left")
    assert left["shape"] == right["shape"]
    for key in ("curve_m", "offline_m"):
        assert left[key] == pytest.approx(-right[key], abs=1e-9)
        low, high = right["bands"][key]
        assert left["bands"][key] == pytest.approx([-high, -low], abs=1e-9)


def test_a_slice_is_worked_back_and_a_draw_is_wanted(ask):
    found = ask(*SLICE, "--want", "a small draw starting two degrees right", "--fairway", "30 m")
    assert found["kind"] == "seen"
    assert found["start_deg"] == pytest.approx(-2.0, abs=1e-3)
    assert found["curve_m"] == pytest.approx(20.0, abs=1e-2)
    # Wood, Henrikson and Broadie 2018: 61 to 83 % of the way from path to face.
    share = (found["start_deg"] - found["path_deg"]) / found["face_to_path_deg"]
    assert 0.61 <= share <= 0.83
    wanted = found["wanted"]
    assert wanted["shape"] == "push-draw"
    assert wanted["path_deg"] > wanted["face_deg"] > 0.0
    assert wanted["offline_m"] == pytest.approx(
        wanted["carry_m"] * np.sin(np.radians(2.0 + wanted["bend_deg"])), abs=1e-4
    )
    assert "start_deg" not in wanted["bands"]
    # The draw typed as a delivery flies as it was wanted.
    again = ask("--club", "driver", "--face", f"+{wanted['face_deg']:.6f} deg",
                "--path", f"+{wanted['path_deg']:.6f} deg")  # fmt: skip
    assert again["offline_m"] == pytest.approx(wanted["offline_m"], abs=1e-3)
    # Ends of the strip, by its own straight line: half the width over metres for a degree.
    strip = found["corridor"]
    assert strip["face_width_deg"] == pytest.approx(30.0 / strip["per_face_m_per_deg"])
    assert strip["holds_wanted"] is True
    assert strip["holds_now"] is True
    assert abs(found["offline_m"]) < 15.0
    narrow = ask(*SLICE, "--fairway", "20 m")
    assert narrow["corridor"]["holds_now"] is False
    assert narrow["corridor"]["holds_wanted"] is None


def test_a_shape_comes_back_to_the_target(ask):
    for plays, sign in (("right", 1.0), ("left", -1.0)):
        wanted = ask("--club", "driver", "--want", "draw", "--plays", plays)["wanted"]
        assert wanted["offline_m"] == pytest.approx(0.0, abs=1e-2)
        assert sign * wanted["start_deg"] > 0.0 > sign * wanted["curve_m"]


def test_a_wish_beside_a_delivery(ask):
    found = ask("--club", "5-iron", "--head-speed", "80 mph", "--face", "0 deg", "--path",
                "4 deg right", "--want", "straight", "--fairway", "33 yd")  # fmt: skip
    assert found["kind"] == "delivery"
    assert found["curve_m"] < 0.0
    assert found["wanted"]["face_deg"] == pytest.approx(0.0, abs=1e-4)
    assert found["corridor"]["fairway_width_m"] == pytest.approx(33 * YARD)


def test_a_wish_alone_does_not_speak_of_what_was_seen(ask):
    found = ask("--club", "driver", "--want", "starts on line")
    assert "carry_m" not in found
    assert {"by-eye", "few-shots"} & {note["code"] for note in found["notes"]} == set()


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (["--club", "driver", "--seen", "topped"], "topped or shanked"),
        (["--club", "driver", "--seen", "starts left, bends 90 m right"], "No face and path"),
        ([*SLICE, "--wind", "12 mph head"], "wind was too strong"),
        (["--club", "sand wedge", "--seen", "starts left, lands on line"], "does not tell it"),
    ],
)
def test_what_cannot_be_told_says_why(ask, capsys, arguments, words):
    found = ask(*arguments)
    assert words in found["cannot_tell"]["path"]
    assert run(["flight", *arguments]) == 0
    assert words in capsys.readouterr().out


# --- how it is shown


def test_the_table_is_in_the_order_of_what_happens(capsys):
    assert run(["flight", "--club", "driver", "--face", "2 deg left", "--path", "5 deg left"]) == 0
    out, err = capsys.readouterr()
    assert err == ""
    headings = ("what the club did", "how the ball started", "how it curved", "where it landed")
    places = [out.index(heading) for heading in headings]
    assert places == sorted(places)
    assert "nominal" in out.splitlines()[0]
    assert "95 % band" in out.splitlines()[0]
    assert re.search(r"face points +2\.0 deg left\n", out)  # typed: no band
    assert re.search(r"face against path +3\.0 deg right\n", out)
    assert re.search(r"bends from its start line +[\d.]+ m \(\d+ yd\) right +[\d.]+ right to", out)
    assert re.search(r"computed, not measured \(model \S+, version \d+\)", out)
    assert "Not modelled:" in out


def test_a_landing_is_held_left_of_a_bunker(ask, shots, capsys):
    words = ["--club", "driver", "--want", "small draw, hold it left of the bunker"]
    found = ask(*words, "--hazard", "2 yd left at 150 yd")["wanted"]
    hold = found["hold"]
    assert hold["edge_offline_m"] == pytest.approx(-2 * YARD)
    assert hold["edge_downrange_m"] == pytest.approx(150 * YARD)
    low, high = hold["region_offline_m"]
    assert low < found["offline_m"] < high < hold["edge_offline_m"]
    assert hold["margin_m"] == pytest.approx(hold["edge_offline_m"] - high)
    assert found["curve_m"] < 0.0
    # The place in the words, and the mirror image for a left-hander.
    again = ask("--club", "driver", "--plays", "left", "--want",
                "small draw, hold it right of 2 yd right")["wanted"]  # fmt: skip
    assert again["face_deg"] == pytest.approx(-found["face_deg"], abs=1e-4)
    text, _, offline = starting_table()
    words_too = ["--shots", shots(text), "--club", "driver", "--want", "hold it left of 40 m right"]
    own = ask(*words_too)["expected"]["hold"]
    assert own["region_from"] == "own shots"
    f = stats.f.ppf(0.95, 2, 38)
    half = np.std(offline, ddof=1) * np.sqrt(2 * 41 * 39 / (40 * 38) * f)
    assert np.ptp(own["region_offline_m"]) / 2 == pytest.approx(half, rel=1e-6)
    assert run(["flight", *words, "--hazard", "2 yd left"]) == 0
    out, _ = capsys.readouterr()
    assert "holds left of 1.8 m (2 yd) left, its start turned for that" in out


def test_the_wanted_flight_has_a_table_of_its_own(capsys):
    assert run(["flight", *SLICE, "--want", "straight", "--fairway", "30 m"]) == 0
    out, _ = capsys.readouterr()
    tops = [line.split()[0] for line in out.splitlines() if "95 % band" in line]
    assert tops == ["now", "wanted"]
    assert "this flight lands inside" in out
    assert "one degree of path to the right moves the landing" in out


def keys_of(value):
    if isinstance(value, dict):
        for key, inner in value.items():
            yield key
            # Names and numbers of notes, and of the bands, are those of other keys.
            if key != "values":
                yield from keys_of(inner)
    elif isinstance(value, list):
        for inner in value:
            yield from keys_of(inner)


def test_every_key_is_written_up(ask, shots):
    chapter = re.search(r"^## flight\b.*?(?=^## )", COMMANDS, re.MULTILINE | re.DOTALL)[0]
    table = "start_deg,carry_m,bend_m\n" + "".join(f"{n},{180 + n},{n}\n" for n in range(-6, 7))
    results = [
        ask(*LAUNCH),
        ask(*SLICE, "--want", "draw, hold it left of 9 m right at 150 m", "--fairway", "30 m"),
        ask("--shots", shots(table), "--fairway", "30 m", "--club", "driver", "--want", "draw"),
    ]
    keys = {key for result in results for key in keys_of(result)}
    assert len(keys) > 60
    assert {"carry_m", "landing_speed_m_per_s", "descent_angle_deg", "bands"} <= keys
    assert sorted(key for key in keys if f"`{key}`" not in chapter) == []
    for result in results:
        order = list(result)
        if "carry_m" in order:
            assert order.index("carry_m") < order.index("bands")
            for key, (low, high) in result["bands"].items():
                assert low <= result[key] <= high


def test_every_phrase_of_the_documents_can_be_read():
    parts = re.findall(r"^\| (`[^|]+) \| (both|`--seen`|`--want`) \|", COMMANDS, re.MULTILINE)
    assert len(parts) >= 6
    for cell, where in parts:
        for phrase in re.findall(r"`([^`]+)`", cell):
            if where != "`--want`":
                rest = "topped" if "ed" not in phrase or phrase == "measured" else "6 shots"
                assert read_seen(f"{phrase}, {rest}")
            if where == "`--want`" or (where == "both" and phrase.startswith("starts")):
                assert read_wanted(phrase)


def test_each_number_is_read_with_its_unit():
    request = read_flight_options({
        "head-speed": "100 mph", "face": "2 deg left", "path": "-3 deg", "attack": "-1 deg",
        "loft": "14 deg", "temperature": "68 F", "humidity": "50%", "pressure": "1013.25 hPa",
        "plays": "left", "club": "driver", "fairway": "30 yd"})  # fmt: skip
    # NIST SP 811 (2008), B.8: 1 mph = 0.447 04 m/s; t/C = (t/F - 32)/1.8; 1 hPa = 100 Pa.
    assert request.kind == "delivery"
    assert request.values == pytest.approx({
        "head_speed_m_per_s": 44.704, "face_deg": -2.0, "path_deg": -3.0, "attack_deg": -1.0,
        "delivered_loft_deg": 14.0, "temperature_c": 20.0, "relative_humidity": 0.5,
        "pressure_pa": 101_325.0, "fairway_width_m": 27.432,
    } | {"handedness": "left", "club": "driver"})  # fmt: skip


def test_phrases_are_read():
    seen = read_seen("Starting a little left and bending 20 yd right, measured, 6 shots")
    assert (seen.start_deg, seen.start_plus_minus_deg) == (-1.5, 2.0)  # docs/physics.md
    assert seen.bend_m == pytest.approx(20 * YARD)
    assert (seen.how, seen.shots) == ("measured", 6)
    assert wanted_numbers(read_wanted("straight"), "right")["start_deg"] == 0.0
    wind = read_wind("5 mph headwind and 3 m/s from the right, at 10 m")
    assert wind.tail_m_per_s == pytest.approx(-5 * MPH)
    assert (wind.to_right_m_per_s, wind.height_m) == (-3.0, 10.0)
    assert read_wind("calm").tail_m_per_s == 0.0


# --- what is refused


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        ([], "give a delivery"),
        (["--face", "2 deg"], "--face: \"2 deg\" does not say to which side"),
        (["--face", "2 deg left"], "--club: is missing"),
        (["--club", "driver", "--head-speed", "93"], "--head-speed: \"93\" has no unit"),
        (["--club", "driver", "--head-speed", "93 mph 4 m/s"], "--head-speed:"),
        (["--club", "driver", "--head-speed", "93 mph", "--spin", "2000 rpm"],
         "--ball-speed: is missing"),
        (["--club", "driver", "--path", "2 deg left", *LAUNCH],
         "--path: cannot be given together with a launch"),
        (["--ball-speed", "60 m/s"], "--launch-angle: is missing"),
        (["--club", "driver", "--humidity", "500"], "between 0 % and 100 %"),
        (["--club", "driver", "--plays", "both"], "right, left"),
        (["--club", "driver", "--pressure", "900 hPa", "--altitude", "300 m"], "one of the two"),
        (["--club", "diver"], "--club: \"diver\" is not one of"),
        (["--club", "diver"], 'did you mean "driver"?'),
        # No impossible value passes, and each is named by its option.
        (["--club", "driver", "--path", "200 deg right"], '--path: "200 deg right" is impossible'),
        (["--club", "driver", "--head-speed", "900 mph"], "allowed is 5 to 70 m/s"),
        ([*LAUNCH[:4], "--spin", "-200 rpm"], "--spin: \"-200 rpm\" is impossible"),
        ([*LAUNCH, "--head-speed", "93 mph"], "--ball-speed: \"167.7 mph\" is impossible"),
        ([*LAUNCH, "--temperature", "90 C"], "--temperature: \"90 C\" is impossible"),
        ([*LAUNCH, "--altitude", "9000 m"], "--altitude: \"9000 m\" is impossible"),
        ([*LAUNCH, "--wind", "200 mph head"], "--wind: \"200 mph head\" is impossible"),
        (["--club", "driver", "--fairway", "900 m"], "--fairway: \"900 m\" is impossible"),
        ([*LAUNCH[:2], "--launch-angle", "-3 deg", *LAUNCH[4:]], "a topped ball"),
        (["--club", "driver", "--loft", "2 deg", "--attack", "-15 deg"], "--loft: the launch"),
        # Numbers that are none.
        (["--club", "driver", "--face", "1,5 deg left"], 'write "1.5" with a point'),
        (["--club", "driver", "--head-speed", "nan mph"], "is not a finite number"),
        (["--club", "driver", "--head-speed", "inf m/s"], "is not a finite number"),
        (["--club", "driver", "--loft", "1e999 deg"], "--loft:"),
        # Phrases.
        (["--club", "driver", "--seen", "stats 2 deg left"], 'did you mean "starts"?'),
        (["--club", "driver", "--seen", "starts a litle left"], 'did you mean "a little left"?'),
        (["--club", "driver", "--seen", "starts 1,5 deg left"], 'write "1.5"'),
        (["--club", "driver", "--seen", "starts left"], "how it flies on"),
        (["--club", "driver", "--seen", "bends left"], "where the ball starts"),
        (["--club", "driver", "--seen", "starts left, starts right"], "said already"),
        (["--club", "driver", "--seen", "starts left, bends left, lands on line"], "said already"),
        (["--club", "driver", "--seen", "starts 60 deg left, bends left"], "the start is -60"),
        (["--club", "driver", "--seen", "starts 2 left, bends left"], "--seen:"),
        (["--club", "driver", "--seen", "starts 2 deg, bends left"], "to which side"),
        (["--club", "driver", "--seen", "starts left, bends left, 0 shots"], "number of shots"),
        (["--club", "driver", "--seen", ","], "is empty"),
        (["--club", "driver", "--want", "drow"], 'did you mean "draw"?'),
        (["--club", "driver", "--want", "aim left of the bunker"], "cannot be read"),
        (["--club", "driver", "--want", "hold it left of the bunker"], "where is the bunker?"),
        (["--club", "driver", "--want", "hold it"], '"it" is not "left of the bunker"'),
        (["--club", "driver", "--want", "hold it left of 12 yd"], "to which side"),
        (["--club", "driver", "--want", "hold it left of 60 yd left"], "no delivery holds it"),
        (["--club", "driver", "--want", "draw", "--hazard", "9 yd right"], "needs --want with a"),
        (["--club", "driver", "--want", "hold it left of 9 yd right", "--hazard", "9 yd right"],
         "give one of the two"),
        (["--club", "driver", "--want", "starts 2 deg right, hold it left of 3 yd right"],
         "past the hazard's edge"),
        ([*LAUNCH, "--hazard", "9 yd right"], "together with a launch"),
        (["--club", "driver", "--want", "draw, bends left"], "says twice"),
        (["--club", "driver", "--want", "bends left"], "starts on line"),
        (["--club", "driver", "--want", "starts on line, bends 140 m left"], "no clean strike"),
        (["--club", "driver", "--strike", "10 toe"], "--strike:"),
        (["--club", "driver", "--strike", "50 mm toe"], '--strike: "50 mm toe" is impossible'),
        (["--club", "driver", "--strike", "3 mm tow"], 'did you mean "toe"?'),
        (["--club", "driver", "--strike", "-3 mm toe"], "not negative"),
        (["--club", "driver", "--strike", "3 mm toe, 4 mm heel"], "said already"),
        (["--club", "7-iron", "--strike", "3 mm toe"], "is not a driver"),
        (["--club", "driver", "--want", "draw", "--strike", "3 mm toe", "--seen",
          "starts left, bends left"], "together with a flight that was seen"),
        (["--club", "driver", "--wind", "5 mph"], "where it comes from is missing"),
        (["--club", "driver", "--wind", "5 mph hed"], 'did you mean "head"?'),
        (["--club", "driver", "--wind", "head"], "has no speed"),
        (["--club", "driver", "--wind", "-5 mph head"], "not negative"),
        (["--club", "driver", "--wind", "5 mph head, 2 mph tail"], "said already"),
        (["--shots", "nothing.csv"], '--shots: there is no file "nothing.csv"'),
        (["--shots", "nothing.csv", "--spin", "2600 rpm"], "together with a table of shots"),
    ],
)  # fmt: skip
def test_what_cannot_be_is_refused_by_its_option(refused, arguments, words):
    err = refused(*arguments)
    assert words in err
    assert all(line.startswith("command line:") for line in err.splitlines())


def test_all_faults_are_told_at_once(refused):
    err = refused(
        "--club", "diver", "--path", "200 deg left", "--wind", "90 m/s tail", "--temperature",
        "90 C", "--altitude", "9 m",
    )  # fmt: skip
    assert {line.split(": ")[1] for line in err.splitlines()} >= {
        "--club", "--wind", "--temperature"}  # fmt: skip


def test_real_exit_codes():
    ends = ((LAUNCH, 0), (["--spin"], 2), (["--nope", "1"], 2), (["--spin", "5"], 3))
    for arguments, code in ends:
        done = subprocess.run(
            [sys.executable, "-m", "reporter", "flight", *arguments], cwd=ROOT,
            capture_output=True, text=True, check=False,
        )  # fmt: skip
        assert done.returncode == code
        assert bool(done.stdout) == (code == 0)


def test_options_are_read_without_numpy():
    program = (
        "import sys\nfrom reporter.command_line import run\n"
        "run(['flight', '--face', '2 deg'])\nprint('numpy' in sys.modules, 'yaml' in sys.modules)"
    )
    done = subprocess.run(
        [sys.executable, "-c", program], cwd=ROOT, capture_output=True, text=True, check=True
    )
    assert done.stdout.split() == ["False", "False"]
    assert set(EVERY_OPTION) >= {"club", "wind", "seen", "want", "shots"}


# --- a table of shots


def table_of(count, seed=5, centre=6.0, spread=9.0):
    generator = np.random.default_rng(seed)
    offline = np.round(generator.normal(centre, spread, count), 2)
    carry = np.round(generator.normal(190.0, 6.0, count), 2)
    text = "club,carry_m,offline_m\n" + "".join(
        f"driver,{c},{o}\n" for c, o in zip(carry, offline, strict=True))  # fmt: skip
    return text, carry, offline


def test_a_pattern_against_numpy_and_scipy(ask, shots):
    text, carry, offline = table_of(30)
    found = ask("--shots", shots(text), "--fairway", "30 m")
    assert found["counts"]["shots"] == 30
    assert found["counts"]["right"] == np.sum(offline > 3.0)  # middle fifth of 30 m
    assert found["median_offline_m"] == pytest.approx(np.median(offline))
    assert found["mean_offline_m"] == pytest.approx(offline.mean())
    assert found["sd_offline_m"] == pytest.approx(np.std(offline, ddof=1))
    inside = int(np.sum(np.abs(offline) <= 15.0))
    interval = stats.binomtest(inside, 30).proportion_ci(0.95, method="wilson")
    assert found["inside"]["count"] == inside
    assert found["inside"]["bands"]["share"] == pytest.approx([interval.low, interval.high])
    # F-based prediction ellipse (Chew 1966), with SciPy's quantile.
    along = np.sqrt(carry**2 - offline**2)
    factor = 2 * 31 * 29 / (30 * 28) * stats.f.ppf(0.90, 2, 28)
    half = np.sqrt(factor * np.linalg.eigvalsh(np.cov(offline, along)))
    ellipse = found["ellipse"]
    assert ellipse["shorter_half_axis_m"] == pytest.approx(half[0])
    assert ellipse["longer_half_axis_m"] == pytest.approx(half[1])
    assert ellipse["centre_along_m"] == pytest.approx(along.mean())
    now = stats.norm(offline.mean(), np.std(offline, ddof=1))
    assert found["share_now"] == pytest.approx(now.cdf(15.0) - now.cdf(-15.0))
    assert found["fix_first"] in {"direction", "spread", "either", "neither"}


def starting_table(count=40, seed=3):
    """Return shots that start 2 deg left and land 15 m right, with what they have in common."""
    generator = np.random.default_rng(seed)
    start = np.round(generator.normal(-2.0, 1.5, count), 2)
    offline = np.round(175 * np.tan(np.radians(start)) + generator.normal(21.0, 8.0, count), 2)
    text = "club,start_deg,carry_m,offline_m,head_speed_mph\n" + "".join(
        f"driver,{s},175,{o},93\n" for s, o in zip(start, offline, strict=True))  # fmt: skip
    return text, start, offline


def test_the_usual_shot_of_a_table_is_worked_back(ask, shots, capsys):
    text, start, offline = starting_table()
    file = shots(text)
    found = ask("--shots", file, "--fairway", "30 m", "--want", "starts 1 deg right")
    usual = found["usual"]
    assert usual["start_deg"] == pytest.approx(np.median(start), abs=1e-3)
    assert usual["offline_m"] == pytest.approx(np.median(offline), abs=1e-2)
    assert usual["head_speed_m_per_s"] == pytest.approx(93 * MPH)  # of the table
    # The ball bends right, so the face points right of the path (the plane of Jorgensen).
    assert usual["path_deg"] < usual["face_deg"]
    # The medians typed as one flight that was measured tell the same face and path.
    once = ask("--club", "driver", "--head-speed", "93 mph", "--seen",
               f"starts {-np.median(start):.6f} deg left, lands {np.median(offline):.6f} m right, "
               "measured")  # fmt: skip
    assert usual["face_deg"] == pytest.approx(once["face_deg"], abs=1e-3)
    assert usual["path_deg"] == pytest.approx(once["path_deg"], abs=1e-3)
    expected = found["expected"]
    assert expected["start_deg"] == pytest.approx(1.0, abs=1e-3)
    assert expected["offline_m"] == pytest.approx(0.0, abs=1e-2)
    # A normal pattern about the target with the spread of the table (SciPy); full flights with
    # large errors bend a little otherwise.
    normal = stats.norm(0.0, np.std(offline, ddof=1))
    low, high = expected["bands"]["share_inside"]
    assert low < expected["share_inside"] < high
    assert expected["share_inside"] == pytest.approx(normal.cdf(15) - normal.cdf(-15), abs=0.05)
    assert run(["flight", "--shots", file, "--fairway", "30 m", "--want", "draw"]) == 0
    out = capsys.readouterr().out
    assert out.startswith("shots with the driver: 40\n")  # counts first
    assert re.search(r"the usual shot, worked back: face points .* path runs .* left", out)
    assert "with the wanted delivery and the same spread" in out


def test_a_wedge_expects_one_normal_pattern_about_the_wanted_landing(ask, shots):
    # Its path is not told, so nothing is simulated; the share is that of SciPy's normal.
    generator = np.random.default_rng(4)
    offline = np.round(generator.normal(3.0, 6.0, 25), 2)
    text = "club,start_deg,carry_m,offline_m\n" + "".join(f"SW,1,80,{o}\n" for o in offline)
    found = ask("--shots", shots(text), "--fairway", "16 m",
                "--want", "starts 3 deg right, lands 5 m right")  # fmt: skip
    normal = stats.norm(5.0, np.std(offline, ddof=1))
    assert found["expected"]["share_inside"] == pytest.approx(
        normal.cdf(8.0) - normal.cdf(-8.0), abs=2e-3
    )


def test_a_table_says_why_it_is_not_worked_back(ask, refused, shots):
    text, _, _ = table_of(12)
    found = ask("--shots", shots(text))
    assert found["usual"] is None
    assert "no-start" in {note["code"] for note in found["notes"]}
    few = "club,start_deg,carry_m,offline_m\n" + "driver,1,180,3\n" + "driver,,180,4\n" * 3
    assert ask("--shots", shots(few))["usual"] is None  # one start of four is no usual start
    unnamed = ask("--shots", shots("start_deg,carry_m,offline_m\n1,180,3\n2,181,4\n"))
    assert "no-club" in {note["code"] for note in unnamed["notes"]}
    wedge = ask("--shots", shots("club,start_deg,carry_m,offline_m\nSW,1,80,3\nSW,2,81,4\n"))
    assert wedge["usual"]["path_deg"] is None
    assert "does not tell it" in wedge["usual"]["cannot_tell"]["path"]
    file = shots("carry_m,offline_m\n180,3\n")
    assert "--club: is missing" in refused("--shots", file, "--want", "draw")
    asked = ("--shots", file, "--club", "driver", "--want")
    assert "--head-speed" in refused(*asked, "draw", "--head-speed", "900 mph")
    assert '--want: "starts on line, bends 140 m left" cannot be' in refused(
        *asked, "starts on line, bends 140 m left")  # fmt: skip


def test_a_landing_follows_from_start_carry_and_bend(ask, shots):
    # By hand: 3-4-5 triangle.  Start line at the target (0 deg): the bend is the offset.  At
    # atan(3/4) right with no bend, 50 m of carry land 30 m right.
    degrees = np.degrees(np.arctan2(3.0, 4.0))
    found = ask("--shots", shots(f"start_deg,carry_m,bend_m\n0,50,-10\n{degrees:.10f},50,0\n"))
    assert found["mean_offline_m"] == pytest.approx((30.0 - 10.0) / 2)


def test_two_sides_need_evidence(ask, shots):
    generator = np.random.default_rng(2)
    offline = np.concatenate([generator.normal(side, 3.0, 20) for side in (-25.0, 25.0)])
    text = "offline_m\n" + "".join(f"{value:.2f}\n" for value in offline)
    found = ask("--shots", shots(text))
    assert found["two_way"]["verdict"] == "two-way"
    assert found["two_way"]["centres_m"] == pytest.approx([-25.0, 25.0], abs=2.0)
    few = "offline_m\n" + "".join(f"{value:.2f}\n" for value in offline[::5])
    assert "too few to tell" in ask("--shots", shots(few))["two_way"]["verdict"]


def test_a_topped_shot_is_named_and_held_apart(ask, shots, capsys):
    text, _, offline = table_of(12)
    file = shots(text + "driver,21,1\ndriver,188,\n")
    found = ask("--shots", file, "--fairway", "30 m")
    assert found["counts"]["topped"] == 1
    assert found["counts"]["landing_not_known"] == 1
    assert found["median_offline_m"] == pytest.approx(np.median(offline))
    assert run(["flight", "--shots", file, "--fairway", "30 m"]) == 0
    out = capsys.readouterr().out
    assert out.startswith("shots with the driver: 12\n")  # counts first
    assert "shots.csv:14:2: carry_m: carries 21 m" in out
    assert "shots.csv:15:3: offline_m: its landing is not known" in out
    assert "counted apart: 1 topped, 1 without a landing" in out
    low = ask("--shots", shots("launch_deg,offline_m\n-2,3\n11,4\n"))
    assert low["counts"]["topped"] == 1
    assert "shots.csv:2:1: launch_deg: starts -2 deg" in low["notes"][0]["text"]


@pytest.mark.parametrize(
    ("text", "code", "words"),
    [
        ("offline_m\n4\n", "one-shot", "shots.csv:2:1: offline_m: one shot is no pattern"),
        ("\ncarry_m,offline_m\n" + "180,0.1\n" * 9, "identical-shots",
         "shots.csv:3:2: offline_m: all 9 landings are identical"),
        ("carry_m,offline_m\n180,1\n181,2\n", "no-ellipse", "fewer than 6 shots"),
        ("offline_m\n" + "".join(f"{n}\n" for n in range(9)), "no-ellipse", "has no carry"),
        ("offline_m\n" + "".join(f"{n}\n" for n in (*range(12), 150)), "mishit",
         "shots.csv:14:1: offline_m: far from all others"),
    ],
)  # fmt: skip
def test_too_little_is_told_in_a_line(ask, shots, text, code, words):
    found = ask("--shots", shots(text))
    told = {note["code"]: note["text"] for note in found["notes"]}
    assert words in told[code]
    assert "no-fairway" in told
    if code != "mishit":
        assert found["ellipse"] is None
    if code in ("one-shot", "identical-shots"):
        assert found["sd_offline_m"] is None
        assert found["bands"] == {}
    assert found["fix_first"] is None


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ('carry_m,offline_m\n180,"4,5"\n', 'shots.csv:2:2: offline_m: "4,5" is not a number'),
        ("carry_m,offline_m\n180,nan\n", "shots.csv:2:2: offline_m:"),
        ("carry_m,offline_m\n180,4 yd\n", "shots.csv:2:2: offline_m:"),
        ("carry_m,carry_yd,offline_m\n180,200,4\n", "shots.csv:1:2: carry_yd: column 1"),
        ("carry_m\n180\n", "shots.csv:1:0: a pattern needs the column offline"),
        ("offline_m,carry_m\n,180\n", "shots.csv:2:1: offline_m: the landing of no shot"),
        ("carry_m,offline_m\n\n30,40\n", "shots.csv:3:2: offline_m: lands 40 m beside the line"),
        ("Ball Speed (mph),head_speed_mph,offline_m\n170,93,4\n",
         "shots.csv:2:1: Ball Speed (mph): 76 m/s is more than the head can give"),
        ("club,offline_m\ndriver,4\n7i,3\n", "the table holds several clubs (7-iron, driver)"),
        ("launch_deg,offline_m\n-3,4\n", "no shot is left"),
    ],
)  # fmt: skip
def test_a_table_that_cannot_be_is_refused_by_row_and_column(refused, shots, text, words):
    assert words in refused("--shots", shots(text))


def test_one_club_of_a_mixed_table(ask, refused, shots):
    file = shots("club,offline_m\ndriver,4\n7i,3\n7-iron,5\n")
    found = ask("--shots", file, "--club", "7 iron")
    assert (found["club"], found["counts"]["shots"]) == ("7-iron", 2)
    assert "there are 7-iron, driver" in refused("--shots", file, "--club", "SW")
    assert '--fairway: "900 m" is impossible' in refused(
        "--shots", file, "--club", "driver", "--fairway", "900 m")  # fmt: skip
