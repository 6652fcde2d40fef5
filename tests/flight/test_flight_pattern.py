"""Shot-table statistics against SciPy and by simulation."""

import numpy as np
import pytest
from scipy import stats

from reporter.flight import ImpossibleDelivery, club_named
from reporter.flight.expected import PlayerSpread, expected_shots
from reporter.flight.pattern import (
    median_interval,
    pattern_of,
    prediction_ellipse,
    share_inside,
    wilson_share,
)
from reporter.flight.sensitivity import gate_width_m, what_degrees_do
from reporter.flight.two_way import two_way_miss
from reporter.flight.uncertainty import band_of, standard_scores


@pytest.mark.parametrize(("count", "of"), [(0, 12), (3, 12), (9, 11), (40, 100), (12, 12)])
def test_wilson_interval(count, of):
    expected = stats.binomtest(count, of).proportion_ci(0.95, method="wilson")
    found = wilson_share(count, of)
    assert (found.low, found.high) == pytest.approx((expected.low, expected.high), abs=1e-9)


@pytest.mark.parametrize("count", [6, 7, 10, 20, 50, 300, 1500])
def test_median_interval_holds_at_least_95_percent(count):
    low, high = median_interval(np.arange(1.0, count + 1))
    # Chance that the median lies between these two ranks, by the binomial distribution.
    held = stats.binom.cdf(high - 1, count, 0.5) - stats.binom.cdf(low - 1, count, 0.5)
    assert 0.9499 <= held < 0.995


def test_median_interval_needs_six():
    assert median_interval(np.arange(5.0)) is None


@pytest.mark.parametrize("count", [6, 10, 20, 60])
def test_ellipse_axes_follow_the_f_distribution(count):
    generator = np.random.default_rng(count)
    right, along = generator.normal(size=(2, count)) * [[3.0], [8.0]]
    ellipse = prediction_ellipse(right, along, 0.9)
    quantile = stats.f.ppf(0.9, 2, count - 2)
    factor = 2 * (count + 1) * (count - 1) / (count * (count - 2)) * quantile
    expected = np.sqrt(np.linalg.eigvalsh(np.cov(right, along))[::-1] * factor)
    assert ellipse.half_axes == pytest.approx(tuple(expected), rel=1e-9)


@pytest.mark.parametrize("count", [6, 10, 20])
def test_ellipse_holds_its_share_of_future_shots(count):
    generator = np.random.default_rng(1)
    held = []
    for _ in range(1500):
        shots = generator.normal(size=(2, count))
        ellipse = prediction_ellipse(*shots)
        turn = np.radians(ellipse.turn_deg)
        away = generator.normal(size=2) - ellipse.centre
        along = away @ [np.cos(turn), np.sin(turn)]
        across = away @ [-np.sin(turn), np.cos(turn)]
        held.append((along / ellipse.half_axes[0]) ** 2 + (across / ellipse.half_axes[1]) ** 2 <= 1)
    assert np.mean(held) == pytest.approx(0.90, abs=0.025)  # three standard errors


def test_no_ellipse_without_shots_or_spread():
    assert prediction_ellipse(np.arange(5.0), np.arange(5.0) ** 2) is None
    same = np.full(12, 3.0)
    assert prediction_ellipse(same, same) is None
    straight = np.arange(12.0)
    assert prediction_ellipse(straight, 2 * straight) is None


def test_share_inside_is_the_normal_integral():
    # 30 m at 230 m is 3.73 deg to a side; SD 3 holds 79 %, SD 4 65 %; with 3 deg bias 58 and 53 %
    # (worked with a table of the normal distribution).
    for sd, bias, share in ((3, 0, 0.79), (4, 0, 0.65), (3, 3, 0.58), (4, 3, 0.53)):
        metres = 15 / 3.73
        found = share_inside(bias * metres, sd * metres, 30.0)
        assert found == pytest.approx(share, abs=0.01)


def sample(name, count, generator):
    """Draw shots of one shape about the target."""
    sides = np.where(generator.random(count) < 0.5, -2.5, 2.5)
    return {
        "normal": lambda: generator.normal(size=count),
        "heavy": lambda: generator.standard_t(3, count),
        "skewed": lambda: generator.gamma(2, size=count) - 2,
        "uniform": lambda: generator.random(count) - 0.5,
        "two-way": lambda: sides + generator.normal(size=count),
    }[name]()


@pytest.mark.parametrize(
    ("name", "least", "most"),
    [
        ("normal", 0.0, 0.04),
        ("heavy", 0.0, 0.03),
        ("skewed", 0.0, 0.09),
        ("uniform", 0.0, 0.22),
        ("two-way", 0.85, 1.0),
    ],
)
def test_two_way_verdict_by_simulation(name, least, most):
    generator = np.random.default_rng(4)
    fired = np.mean(
        [two_way_miss(sample(name, 30, generator)).verdict == "two-way" for _ in range(250)]
    )
    assert least <= fired <= most


def test_no_two_way_verdict_below_twenty():
    shots = np.array([-20.0, -18, -22, -19, -21, 20, 18, 22, 19, 21])
    assert two_way_miss(shots).verdict == "both sides seen, too few to tell"
    assert two_way_miss(shots[:3]).verdict == "too few to tell"
    assert two_way_miss(np.tile(shots, 3)).verdict == "two-way"
    assert two_way_miss(np.tile(shots, 3) + 60.0).verdict == "two groups on one side"


def test_a_very_long_table_has_the_groups_of_all_its_shots():
    # Twenty thousand shots in two groups of known place and share (numpy).
    generator = np.random.default_rng(8)
    left, right = generator.normal(-20.0, 5.0, 12_000), generator.normal(25.0, 5.0, 8_000)
    found = two_way_miss(np.concatenate([left, right]))
    assert found.verdict == "two-way"
    assert found.centres_m == pytest.approx((-20.0, 25.0), abs=0.3)
    assert found.counts == pytest.approx((12_000, 8_000), abs=60)


def test_two_way_verdict_mirrors():
    shots = sample("two-way", 40, np.random.default_rng(9)) * 10
    one, other = two_way_miss(shots), two_way_miss(-shots)
    assert one.verdict == other.verdict == "two-way"
    assert one.counts == other.counts[::-1]


def test_identical_shots_and_one_shot():
    same = pattern_of([5.0] * 25, [200.0] * 25, 30.0)
    assert same.ellipse is None
    assert same.two_way.verdict == "one pattern"
    assert same.inside.count == 25
    one = pattern_of([5.0], fairway_width_m=30.0)
    assert one.shots == 1
    assert one.fix_first == "too few to tell"
    assert one.median_interval_m is None


def test_counts_and_mishits():
    pattern = pattern_of([-5, 3, 10, 12, -20, 1, 2, 8, 15, 7, 90], fairway_width_m=30.0)
    assert pattern.mishits == (11,)
    assert pattern.left + pattern.on_line + pattern.right == pattern.shots == 11
    assert (pattern.inside.count, pattern.inside.of) == (9, 11)
    assert pattern.median_offset_m == 7.0


@pytest.mark.parametrize(
    ("mean", "sd", "first"),
    [(25.0, 6.0, "direction"), (0.0, 15.0, "spread"), (0.5, 3.0, "neither"), (6.0, 30.0, "spread")],
)
def test_what_to_fix_first(mean, sd, first):
    quantiles = stats.norm.ppf((np.arange(40) + 0.5) / 40)
    assert pattern_of(mean + sd * quantiles, fairway_width_m=30.0).fix_first == first


@pytest.mark.parametrize(
    ("columns", "named"),
    [
        (([],), "empty"),
        (([1.0, float("nan"), 3.0],), "row 2: landing offset is nan"),
        (([1.0, 2.0], [3.0]), "differ in length"),
        (([1.0, 2.0], [3.0, float("inf")]), "row 2: second column is inf"),
    ],
)
def test_bad_tables_are_refused_by_row(columns, named):
    with pytest.raises(ImpossibleDelivery, match=named):
        pattern_of(*columns)


@pytest.mark.parametrize("count", [100, 239, 240])
def test_standard_scores_are_normal_and_free_of_correlation(count):
    scores = standard_scores(count)
    assert scores.mean(axis=1) == pytest.approx(np.zeros(15), abs=1e-9)
    assert np.cov(scores, bias=True) == pytest.approx(np.eye(15), abs=1e-9)
    for row in scores:
        assert stats.kstest(row, "norm").pvalue > 0.01


@pytest.mark.parametrize("shape", ["normal", "skewed"])
def test_a_band_is_that_of_the_distribution(shape):
    # SciPy's quantiles of the distribution that the evenly filled worlds stand for.
    known = {"normal": stats.norm(3.0, 2.0), "skewed": stats.gamma(9.0)}[shape]
    values = known.ppf((np.arange(240) + 0.5) / 240)
    band = band_of(np.concatenate([[known.median()], np.random.default_rng(1).permutation(values)]))
    width = known.ppf(0.975) - known.ppf(0.025)
    assert band.low == pytest.approx(known.ppf(0.025), abs=0.01 * width)
    assert band.high == pytest.approx(known.ppf(0.975), abs=0.01 * width)


def test_bands_of_numbers_with_many_causes_hold_their_share():
    # Any mixture of the causes of a world is normal; its band must hold 94 to 96 % (SciPy).
    generator = np.random.default_rng(0)
    scores, held = standard_scores(240), []
    for _ in range(300):
        mixture = generator.normal(size=15)
        band = band_of(np.concatenate([[0.0], mixture / np.linalg.norm(mixture) @ scores]))
        held.append(stats.norm.cdf(band.high) - stats.norm.cdf(band.low))
    held = np.array(held)
    assert held.mean() == pytest.approx(0.95, abs=0.002)
    assert np.abs(held - 0.95).max() < 0.005


def test_expected_pattern_of_a_wanted_delivery():
    # An independent computation from sensitivities gave a lateral SD of 18 to 20 yd for a 113 mph
    # driver with face and path SD 1.5 deg, and 28, 24, 18, 11 yd for SD 2/2 with correlation -.5,
    # 0, .5, .9.  Flown in full, large errors lose carry and spread less: 10 % is allowed.
    club = club_named("driver")
    delivery = club.deliver(113.2 * 0.44704, delivered_loft_deg=13.0)

    def lateral_sd_yd(spread):
        shots = expected_shots(club, delivery, spread, shots=1500)
        return shots.landing_offset_m.std() / 0.9144

    still = {"head_speed_percent": 0.0, "loft_deg": 0.0, "toe_mm": 0.0}
    assert lateral_sd_yd(PlayerSpread(1.5, 1.5, **still)) == pytest.approx(19, rel=0.1)
    for correlation, expected in ((-0.5, 28), (0.0, 24), (0.5, 18), (0.9, 11)):
        found = lateral_sd_yd(PlayerSpread(2.0, 2.0, correlation, **still))
        assert found == pytest.approx(expected, rel=0.1)


def test_gate_of_the_start_line_drill():
    # Two of three normal values lie within 0.967 standard deviations (normal table).
    for sd, distance in ((1.0, 2.0), (3.0, 1.5)):
        expected = 2 * distance * np.tan(np.radians(0.967 * sd)) + 0.0427
        assert gate_width_m(sd, distance) == pytest.approx(expected, abs=2e-4)
    with pytest.raises(ImpossibleDelivery, match="start_sd_deg"):
        gate_width_m(-1.0, 2.0)


def test_what_two_degrees_do():
    effects = {effect.changed: effect for effect in what_degrees_do("driver", 113.2 * 0.44704)}
    face, path, both = effects["face"], effects["path"], effects["face and path"]
    assert face.start_deg.nominal + path.start_deg.nominal == pytest.approx(2.0)
    assert face.landing_offset_m.nominal > 0 > path.landing_offset_m.nominal
    # Turning everything by two degrees is geometry: carry times sin(2 deg).
    carry = both.landing_offset_m.nominal / np.sin(np.radians(2.0))
    assert 180 < carry < 240
    assert both.curve_m.nominal == pytest.approx(0.0, abs=1e-6)
    assert effects["loft"].launch_deg.nominal > 1.0
    assert effects["loft"].apex_m.nominal > 0
    mirrored = what_degrees_do("driver", 113.2 * 0.44704, "left", by_deg=-2.0)[0]
    assert mirrored.landing_offset_m.low == pytest.approx(-face.landing_offset_m.high)
