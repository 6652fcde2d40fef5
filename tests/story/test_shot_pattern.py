"""A table of shots in words and numbers, against plain counting, SciPy and geometry by hand."""

import math
import re
from types import SimpleNamespace

import numpy as np
import pytest
from scipy import stats

from reporter.flight import Band
from reporter.flight.player import centre_range, player_spread, spread_range
from reporter.handout.flight_input import UsableShots, explanation_of, usable_shots
from reporter.session.load import load_text
from reporter.story.drills import bundled_drills
from reporter.story.flight_words import degrees_range
from reporter.story.practice import with_gate
from reporter.story.report import DegreesTable, Paragraph, ShotPicture
from reporter.story.shot_pattern import pattern_sheet
from reporter.story.shot_shares import own_gate_cm

LESSON = """\
student: {{plays: {hand}, units: metres}}
seen: {{club: driver, {seen}, shots: shots.csv}}
wanted: {{start: 1 deg left, bend: 4 m right, fairway_width: 30 m}}
thoughts: [Keep your buttons behind the ball.]
"""
HEADER = "start_deg,offline_m,carry_m"
HALF_FAIRWAY = 15.0
WHERE = "(right of|left of|on)"


def shots_csv(rows, header=HEADER):
    return "\n".join([header, *(",".join(map(str, row)) for row in rows)]) + "\n"


def made(folder, csv, *, hand="right", seen="head_speed: 93 mph, how: measured"):
    """Return the lesson, its usable shots and its explained flight."""
    (folder / "shots.csv").write_text(csv, encoding="utf-8")
    text = LESSON.format(hand=hand, seen=seen)
    loaded = load_text(text.encode(), folder / "session.yaml")
    shots = usable_shots(loaded.session, loaded.shots)
    return loaded.session, shots, explanation_of(loaded.session, shots)


def invented(count, middle=12.0, spread=12.0):
    random = np.random.default_rng(count)
    offsets = random.normal(middle, spread, count).round(1)
    starts = (-2.0 + 0.1 * (offsets - middle) + random.normal(0, 1.6, count)).round(1)
    return np.column_stack([starts, offsets, random.normal(174, 8, count).round(1)])


def sheet_of(folder, rows, **options):
    session, shots, explanation = made(folder, shots_csv(rows), **options)
    sheet = pattern_sheet(session, explanation, shots)
    assert sheet is not None
    return sheet


def block(sheet, kind):
    return next(one for one in sheet.blocks if isinstance(one, kind))


def plain(sheet):
    paragraphs = [one for one in sheet.blocks if isinstance(one, Paragraph)]
    text = " ".join(run.text for one in paragraphs for run in one.runs)
    return text.replace("\N{NO-BREAK SPACE}", " ")


@pytest.mark.parametrize("count", [2, 5, 12, 20, 60])
@pytest.mark.parametrize("middle", [-30.0, 0.0, 14.0])
def test_the_counts_of_the_sentence_are_those_of_plain_counting(tmp_path, count, middle):
    rows = invented(count, middle)
    title = block(sheet_of(tmp_path, rows), Paragraph).runs[0].text
    found = {
        "right of": sum(1 for row in rows if row[1] > HALF_FAIRWAY),
        "left of": sum(1 for row in rows if row[1] < -HALF_FAIRWAY),
        "on": sum(1 for row in rows if abs(row[1]) <= HALF_FAIRWAY),
    }
    said = {}
    if title.startswith("All"):
        number, where = re.match(rf"All (\d+) drives landed {WHERE} the", title).groups()
        said[where] = int(number)
    else:
        assert title.startswith(f"Of {count} drives, ")
        for number, where in re.findall(rf"(\d+) (?:landed )?{WHERE} (?:it|the)", title):
            said[where] = int(number)
    assert said == {where: number for where, number in found.items() if number}


@pytest.mark.parametrize("count", [1, 5, 20, 60])
def test_the_ranges_of_the_counts_are_wilsons(tmp_path, count):
    # scipy.stats.binomtest, proportion_ci(method="wilson").
    rows = invented(count)
    chart = block(sheet_of(tmp_path, rows), ShotPicture).charts[0]
    wanted = [
        np.count_nonzero(rows[:, 1] < -HALF_FAIRWAY),
        np.count_nonzero(np.abs(rows[:, 1]) <= HALF_FAIRWAY),
        np.count_nonzero(rows[:, 1] > HALF_FAIRWAY),
    ]
    assert [row.counted for row in chart.rows] == [f"{number} of {count}" for number in wanted]
    for row, number in zip(chart.rows, wanted, strict=True):
        low, high = stats.binomtest(int(number), count).proportion_ci(0.95, method="wilson")
        assert (row.low, row.high) == pytest.approx((low, high), abs=1e-9)
        ends = [math.floor(100 * end + 0.5) for end in (low, high)]
        assert row.words == f"{ends[0]} to {ends[1]} of 100"


@pytest.mark.parametrize("count", [10, 12, 20, 60, 400])
@pytest.mark.parametrize("confidence", [0.95, 0.975])
def test_ranges_of_spread_and_middle_are_those_of_chi_square_and_student(count, confidence):
    low, value, high = spread_range(3.0, count, confidence)
    tails = stats.chi2.ppf([0.5 + confidence / 2, 0.5 - confidence / 2], count - 1)
    assert value == 3.0
    # A hundredth of a spread moves no printed share by more than one in a hundred.
    exact = 3.0 * np.sqrt((count - 1) / tails)
    assert np.array([low, high]) == pytest.approx(exact, rel=0.01)
    left, _, right = centre_range(2.0, 3.0, count, confidence)
    half = stats.t.ppf(0.5 + confidence / 2, count - 1) * 3.0 / math.sqrt(count)
    assert (left, right) == pytest.approx((2.0 - half, 2.0 + half), abs=1e-3)


def test_the_computed_shares_are_those_of_a_normal_pattern(tmp_path):
    rows = invented(40)
    mean, sd = rows[:, 1].mean(), rows[:, 1].std(ddof=1)

    def inside(centre, spread):
        ends = stats.norm.cdf([-HALF_FAIRWAY, HALF_FAIRWAY], centre, spread)
        return ends[1] - ends[0]

    chart = block(sheet_of(tmp_path, rows), ShotPicture).charts[1]
    counted, tighter, aimed, wanted = chart.rows
    assert counted.value == np.mean(np.abs(rows[:, 1]) <= HALF_FAIRWAY)
    assert tighter.value == pytest.approx(inside(mean, 0.75 * sd), abs=1e-9)
    assert aimed.value == pytest.approx(inside(0.0, sd), abs=1e-9)
    spreads = sd * np.sqrt(39 / stats.chi2.ppf([0.025, 0.975], 39))
    assert (aimed.low, aimed.high) == pytest.approx(
        [inside(0.0, spread) for spread in spreads], abs=2e-3
    )
    # The wanted ball lands about a metre right of the line; its share is simulated.
    assert wanted.value == pytest.approx(inside(1.0, sd), abs=0.03)
    assert all(row.low <= row.value <= row.high for row in chart.rows)
    assert "computed" in tighter.words
    assert "computed" in wanted.words


@pytest.mark.parametrize(
    ("middle", "spread", "words"),
    [(20.0, 6.0, "Fix the direction first."), (1.0, 30.0, "Fix the spread first.")],
)
def test_what_to_fix_first_goes_with_the_larger_gain(tmp_path, middle, spread, words):
    rows = invented(40, middle, spread)
    text = plain(sheet_of(tmp_path, rows))
    sd = rows[:, 1].std(ddof=1)

    def of_100(centre, width):
        ends = stats.norm.cdf([-HALF_FAIRWAY, HALF_FAIRWAY], centre, width)
        return math.floor(100 * (ends[1] - ends[0]) + 0.5)

    assert words in text
    assert f"same spread about {of_100(0.0, sd)} of 100" in text
    assert f"alone about {of_100(rows[:, 1].mean(), 0.75 * sd)}." in text
    assert "Computed, not measured." in text


@pytest.mark.parametrize("count", [1, 5, 9])
def test_few_shots_give_no_advice(tmp_path, count):
    sheet = sheet_of(tmp_path, invented(count))
    assert "Too few to tell." in plain(sheet)
    assert len(block(sheet, ShotPicture).charts) == 1


def test_identical_shots_have_no_spread_and_no_outline(tmp_path):
    sheet = sheet_of(tmp_path, [(-2.0, 15.0, 174.0)] * 12)
    assert plain(sheet).startswith("All 12 drives landed on the fairway.")
    assert "no spread to weigh" in plain(sheet)
    assert block(sheet, ShotPicture).ellipse == ()


def test_mishits_are_counted_apart(tmp_path):
    rows = [*invented(20).tolist(), [0.5, 1.0, 22.0], [18.0, 110.0, 160.0]]
    session, shots, explanation = made(tmp_path, shots_csv(rows))
    assert shots.mishits.columns["offline_m"] == (1.0, 110.0)
    sheet = pattern_sheet(session, explanation, shots)
    assert "Of 22 drives" in plain(sheet)
    assert "2 mishits are counted apart" in plain(sheet)
    counted = [row.counted for row in block(sheet, ShotPicture).charts[0].rows]
    assert sum(int(text.split()[0]) for text in counted) == 22
    without = made(tmp_path, shots_csv(rows[:20]))[2]
    assert explanation.seen == without.seen


def test_two_degrees_to_the_right_turn_the_whole_flight(tmp_path):
    # Geometry: a face and a path turned together by two degrees turn the flight as a whole, so
    # the bend stays and the landing moves by the sine of two degrees times the carry.
    table = block(sheet_of(tmp_path, invented(20)), DegreesTable)
    face, path, both = table.rows
    explanation = made(tmp_path, shots_csv(invented(20)))[2]
    moved = round(explanation.wanted.carry_m.nominal * math.sin(math.radians(2)))
    assert both[1:3] == ("2.0° right", "the same")
    assert both[3].startswith(f"{moved}\N{NO-BREAK SPACE}m right")
    tenths = [float(row[1].split("°")[0]) for row in (face, path)]
    assert sum(tenths) == pytest.approx(2.0, abs=0.11)
    # Face opens the bend to the right, path closes it; the start follows the face more.
    assert "right" in face[2]
    assert "left" in path[2]
    assert tenths[0] > tenths[1]


# --- from the table to the flight


def test_the_usual_flight_is_that_of_the_medians(tmp_path):
    rows = invented(21)
    _, _, explanation = made(tmp_path, shots_csv(rows))
    seen = explanation.seen
    assert seen.start_deg == pytest.approx(np.median(rows[:, 0]))
    assert seen.landing_offset_m == pytest.approx(np.median(rows[:, 1]))
    assert (seen.how, seen.shots) == ("measured", 21)
    landing = explanation.now.landing_offset_m.nominal
    assert landing == pytest.approx(np.median(rows[:, 1]), abs=1e-3)


def test_shots_judged_by_eye_are_known_less_well(tmp_path):
    rows = shots_csv(invented(20))
    eye = made(tmp_path, rows, seen="head_speed: 93 mph, how: by eye")[2].seen
    measured = made(tmp_path, rows)[2].seen
    assert eye.how == "by eye"
    # Root of summed squares: 1.96 degrees by eye stand where 0.59 measured stood.
    assert eye.start_plus_minus_deg**2 - 1.96**2 == pytest.approx(
        measured.start_plus_minus_deg**2 - 0.59**2
    )
    assert eye.side_plus_minus_percent > measured.side_plus_minus_percent


def test_a_start_that_is_not_in_the_table_is_taken_from_the_lesson(tmp_path):
    rows = invented(12)[:, 1:]
    seen = "head_speed: 93 mph, start: 3 deg left"
    found = made(tmp_path, shots_csv(rows, "offline_m,carry_m"), seen=seen)[2].seen
    assert found.start_deg == -3.0
    assert found.landing_offset_m == pytest.approx(np.median(rows[:, 0]))
    unknown = made(tmp_path, shots_csv(rows, "offline_m,carry_m"))[2]
    assert unknown.now is None
    assert unknown.face_reason.code == "no-start"


@pytest.mark.parametrize(("start", "bend"), [(-4.0, 20.0), (3.0, -12.0), (0.0, 5.0), (-20.0, 0.0)])
def test_a_landing_is_worked_out_from_start_bend_and_carry(tmp_path, start, bend):
    # Forward by hand: 150 m down the line on the start line, then the bend across.
    offset = 150.0 * math.tan(math.radians(start)) + bend
    carry = math.hypot(150.0, offset)
    shots = made(tmp_path, shots_csv([(start, bend, carry)], "start_deg,bend_m,carry_m"))[1]
    assert shots.kept.columns["offline_m"][0] == pytest.approx(offset, abs=1e-9)


def test_rows_that_cannot_be_used_are_left_out_with_their_reason(tmp_path):
    csv = (
        f"club,{HEADER}\n"
        "driver,-1,5,170\nDriver,-2,9,172\n7 iron,0,2,130\n,0,1,171\n"
        "driver,-1,,168\ndriver,0,60,40\n"
    )
    shots = made(tmp_path, csv)[1]
    assert shots.kept.columns["offline_m"] == (5.0, 9.0)
    assert shots.left_out == (
        "2 of 6 shots not hit with the driver",
        "1 of 6 shots without a landing beside the target line",
        "1 of 6 shots landing farther from the target line than they flew",
    )


def test_the_head_speed_comes_from_the_table_where_the_lesson_has_none(tmp_path):
    csv = shots_csv([(-1, 5, 170, 90), (-2, 9, 172, 96)], f"{HEADER},head_speed_mph")
    explanation = made(tmp_path, csv, seen="how: measured")[2]
    # One mile an hour is 0.44704 m/s (international mile of 1959).
    assert explanation.head_speed_m_per_s == pytest.approx(93 * 0.44704)
    assert explanation.head_speed_stated


def test_wild_shots_are_no_impossible_ones(tmp_path):
    rows = [(-9, -120, 150), (8, 130, 160), (0, 2, 240), (2, -60, 90), (1, 40, 200)]
    session, shots, explanation = made(tmp_path, shots_csv(rows))
    assert pattern_sheet(session, explanation, shots) is not None


def test_a_mirrored_table_of_a_left_hander_has_mirrored_counts(tmp_path):
    rows = invented(20)
    mirrored = rows * [-1, -1, 1]
    one = block(sheet_of(tmp_path, rows), ShotPicture)
    other = block(sheet_of(tmp_path, mirrored, hand="left"), ShotPicture)
    assert [row.counted for row in one.charts[0].rows] == [
        row.counted for row in reversed(other.charts[0].rows)
    ]
    assert one.charts[1].rows[1].value == pytest.approx(other.charts[1].rows[1].value)


# --- the student's own spread


def effect(name, start, landing):
    def band(value):
        return Band(value, value, value)

    return SimpleNamespace(
        changed=name, by_deg=2.0, start_deg=band(2 * start), landing_offset_m=band(2 * landing)
    )


def test_face_and_path_are_read_off_starts_and_landings():
    # Invented gains; starts and landings are made from face and path, which must come back.
    random = np.random.default_rng(7)
    face, path = random.normal(0, 2.0, 30), random.normal(0, 3.0, 30)
    gains = np.array([[0.8, 0.2], [6.0, -2.5]])
    starts, offsets = gains @ [face, path] + [[-2.0], [14.0]]
    effects = (effect("face", *gains[:, 0]), effect("path", *gains[:, 1]))
    player = player_spread(tuple(starts), tuple(offsets), effects)
    assert player.face_deg == pytest.approx(np.std(face, ddof=1))
    assert player.path_deg == pytest.approx(np.std(path, ddof=1))
    assert player.correlation == pytest.approx(np.corrcoef(face, path)[0, 1])
    assert player_spread((None,) * 30, tuple(offsets), effects) is None


def shots_with_starts(starts):
    table = SimpleNamespace(columns={"start_deg": tuple(starts)}, count=len(starts))
    return UsableShots(table, table, ())


@pytest.mark.parametrize("spread", [1.0, 2.5, 4.0])
def test_the_gate_lets_two_of_three_centred_starts_through(spread):
    # By hand: twice the distance times the tangent of 0.9674 standard deviations (two of three of
    # a normal table) and a ball of 42.67 mm (Equipment Rules), in steps of 5 cm.
    starts = spread * np.array([-1.0, 1.0] * 10) * math.sqrt(19 / 20)
    width, count = own_gate_cm(shots_with_starts(starts), 3.0)
    exact = 600.0 * math.tan(math.radians(0.9674 * spread)) + 4.267
    assert count == 20
    assert width == 5 * math.floor(exact / 5 + 0.5)


@pytest.mark.parametrize("starts", [[], [1.0] * 9, [1.0] * 20])
def test_there_is_no_own_gate_without_enough_different_starts(starts):
    assert own_gate_cm(shots_with_starts(starts), 3.0) is None


def test_the_drill_says_and_draws_the_own_gate_and_the_list_stays_as_it_is():
    listed = next(drill for drill in bundled_drills() if drill.id == "start-line-gate")
    own = with_gate(listed, 30, 20)
    assert "30 cm apart" in own.set_up
    assert "20 starts" in own.set_up
    texts = [item.text for item in own.sketch.items if hasattr(item, "text")]
    assert "30 cm" in texts
    assert "45 cm" not in texts
    markers = [item.at[0] for item in own.sketch.items if type(item).__name__ == "Marker"]
    assert markers == [-15.0, 15.0]
    assert "45 cm" in listed.set_up
    easier, harder = (int(re.search(r"(\d+) cm", t).group(1)) for t in (own.easier, own.harder))
    assert harder < 30 < easier


@pytest.mark.parametrize(
    ("low", "nominal", "high", "words"),
    [
        (-4.0, -2.0, 0.0, "\u00b12\u00b0"),  # even
        (-4.2, -2.0, -0.4, "\u00b12\u00b0"),  # a little uneven: the same degree on both sides
        (-12.0, -6.0, -4.0, "4 to 12\u00b0 left"),
        (4.0, 6.0, 12.0, "4 to 12\u00b0 right"),
        (-5.0, 0.4, 2.0, "5\u00b0 left to 2\u00b0 right"),
        (-0.2, 0.0, 6.2, "0 to 6\u00b0 right"),
        (-2.4, -2.0, -1.2, "\u00b11\u00b0"),  # uneven by less than a degree can show
    ],
)
def test_a_skewed_band_is_told_by_its_ends(low, nominal, high, words):
    """A plus-or-minus stands only where both sides are within a third of each other."""
    assert degrees_range(Band(low, nominal, high)) == words
