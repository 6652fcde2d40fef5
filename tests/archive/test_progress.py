"""Limits and intervals against published numbers and SciPy; noise is not called progress."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import integrate, stats

from reporter.archive.adding import add_record
from reporter.archive.control_limits import BASELINE, D2_OF_TWO, WIDTH, control_limits
from reporter.archive.importing import import_pdf
from reporter.archive.progress import progress_of, series_of
from reporter.archive.progress_type import ProgressPoint
from reporter.archive.shelf import the_student
from reporter.measure import BY_ID
from tests.archive.synthetic import record_pdf

# Montgomery, D. C., Introduction to Statistical Quality Control, 6th edition, example 6.5:
# processing cost of twenty weeks, with its mean, mean moving range and limits [from memory].
COSTS = (310, 288, 297, 298, 307, 303, 294, 297, 308, 306,
         294, 299, 297, 299, 314, 295, 293, 306, 301, 304)  # fmt: skip


def test_the_textbook_example():
    limits = control_limits(COSTS, baseline=20)
    assert limits.centre == pytest.approx(300.5, abs=0.05)
    assert limits.mean_moving_range == pytest.approx(7.79, abs=0.005)
    assert limits.upper == pytest.approx(321.22, abs=0.05)
    assert limits.lower == pytest.approx(279.78, abs=0.05)


def test_the_factor_of_the_range_by_integration():
    """Mean range of two normal values: Tippett 1925, Biometrika 17, 364-387."""
    found, _ = integrate.quad(
        lambda x: 1 - stats.norm.cdf(x) ** 2 - stats.norm.sf(x) ** 2, -np.inf, np.inf
    )
    assert pytest.approx(found, rel=1e-9) == D2_OF_TWO
    assert round(D2_OF_TWO, 3) == 1.128  # Montgomery, appendix VI
    assert round(WIDTH, 2) == 2.66


@given(st.lists(st.floats(-1e3, 1e3), min_size=BASELINE, max_size=30))
def test_the_limits_by_numpy(values):
    limits = control_limits(values)
    first = np.array(values[:BASELINE])
    moving = np.abs(np.diff(first)).mean()
    assert limits.centre == pytest.approx(first.mean(), abs=1e-9)
    assert limits.upper - limits.centre == pytest.approx(3 / 1.12838 * moving, rel=1e-4, abs=1e-9)
    assert limits.values == BASELINE


def test_too_few_values_and_no_numbers():
    assert control_limits([1.0] * (BASELINE - 1)) is None
    with pytest.raises(ValueError, match="finite"):
        control_limits([1.0, math.nan] * 4)


def days(count: int) -> list[str]:
    return [f"2027-{1 + n // 3:02d}-{1 + 9 * (n % 3):02d}" for n in range(count)]


def put(shelf, values, **others):
    cameras = others.pop("cameras", ["front tripod"] * len(values))
    for number, (day, value, camera) in enumerate(zip(days(len(values)), values, cameras,
                                                      strict=True)):  # fmt: skip
        document = record_pdf(
            f"l-{number}", day=day, values={"spine-side-bend": value}, camera=camera, **others
        )
        add_record(shelf, document, "x")
    return progress_of(shelf, the_student(shelf, "S-1"))


def before(progress):
    (one,) = [series for series in progress.series if series.when == "before"]
    return one


QUIET = [5.0, 5.6, 4.7, 5.2, 4.9, 5.5]


def test_a_change_is_told_only_after_two_lessons_outside(shelf):
    progress = put(shelf, [*QUIET, 15.0, 15.4])
    series = before(progress)
    assert series.verdict == "changed"
    assert [point.outside for point in series.points] == [0] * 6 + [1, 1]
    assert series.difference == pytest.approx(15.2 - np.mean(QUIET))
    assert series.difference_plus_minus == pytest.approx(math.hypot(2.0, 2.0))
    assert series.name == BY_ID["spine-side-bend"].name
    assert (series.points[0].low, series.points[0].high) == (3.0, 7.0)


@pytest.mark.parametrize(
    ("values", "verdict", "word"),
    [
        ([5.0], "cannot tell", "One lesson"),
        ([*QUIET, 15.0], "cannot tell", "eight lessons"),
        ([*QUIET, 15.0, 5.1], "not shown to have changed", "do not both"),
        ([*QUIET, 15.0, -5.0], "not shown to have changed", "do not both"),
        ([*QUIET, 7.3, 7.4], "not shown to have changed", "error of measuring"),
        ([0, 20, 3, 18, 1, 19, 22.0, 23.0], "not shown to have changed", "do not both"),
        ([*QUIET, 5.3, 4.9, 5.0, 5.4], "not shown to have changed", "do not both"),
    ],
)
def test_what_is_not_shown(shelf, values, verdict, word):
    series = before(put(shelf, values))
    assert series.verdict == verdict
    assert word in series.reason


def alike(rng, count, error):
    """Return the verdicts on pages of eight lessons in which every measure only wanders."""
    key = ("spine-side-bend", "face-on", "setup", "before", "driver", "deg", "measured")
    pages = []
    for _ in range(1500):
        values = 5.0 + rng.standard_normal((count, 8)) * rng.uniform(0.5, 4.0, (count, 1))
        pages.append(
            [
                series_of(
                    key,
                    [ProgressPoint(1, "l", "2027-01-01", "c", float(value), error, 1, "front",
                                   camera_changed=False, outside=0) for value in measure],
                    count,
                ).verdict
                for measure in values
            ]
        )  # fmt: skip
    return pages


@pytest.mark.parametrize("count", [4, 7, 24])
def test_a_page_of_measures_that_only_wander_seldom_speaks_of_change(count):
    """Drawn by numpy; a measuring error next to nothing leaves the limits to guard alone."""
    pages = alike(np.random.default_rng(count), count, error=0.01)
    assert np.mean(["changed" in page for page in pages]) <= 0.06
    if count > 7:
        assert any("perhaps changed" in page for page in pages)


def test_among_many_a_change_must_be_larger(shelf):
    progress = put(shelf, [*QUIET, 8.2, 8.3])
    assert progress.judged_together == 2  # before and after the work of the lesson
    series = before(progress)
    # 2.83 of measuring by itself, 3.37 among two (2.33 standard errors, Sidak 1967).
    assert abs(series.difference) == pytest.approx(3.1, abs=0.01)
    assert (series.verdict, "among so many" in series.reason) == ("perhaps changed", True)


def test_an_image_angle_needs_one_camera(shelf):
    cameras = ["front tripod"] * 7 + ["phone"]
    progress = put(shelf, [*QUIET, 25.0, 25.1], trust="image angle", cameras=cameras)
    series = before(progress)
    assert (series.verdict, series.limits) == ("cannot tell", None)
    assert series.points[-1].camera_changed
    (change,) = progress.camera_changes
    assert (change.earlier, change.later) == ("front tripod", "phone")


def test_a_camera_without_a_name_is_no_known_camera(shelf):
    series = before(put(shelf, [1.0, 2.0], trust="image angle", cameras=[None, None]))
    assert all(point.camera_changed for point in series.points[1:])
    assert "camera" in series.reason


def test_noise_is_rarely_called_progress():
    """Ten thousand students who only wander: less than one in a hundred is told a change.

    Two later values outside the limits of six on one side; the error of measuring, which makes it
    rarer still, is left out.
    """
    made = np.random.default_rng(11)
    told = 0
    for values in made.normal(size=(10_000, BASELINE + 2)).tolist():
        limits = control_limits(values)
        sides = {limits.side(value) for value in values[-2:]}
        told += sides in ({1}, {-1})
    assert told / 10_000 < 0.01
    shifted = made.normal(size=(10_000, BASELINE + 2))
    shifted[:, -2:] += 4.0
    seen = sum(
        {control_limits(row).side(value) for value in row[-2:]} == {1} for row in shifted.tolist()
    )
    assert seen / 10_000 > 0.55  # a change of four spreads is seen at once more often than not


def test_cold_tests_by_scipy(shelf):
    tests = [("2027-01-02", 2, 10), ("2027-01-20", 6, 10), ("2027-02-20", 9, 10)]
    add_record(shelf, record_pdf("a", day="2027-01-01", tests=tests[:2]), "x")
    add_record(shelf, record_pdf("b", day="2027-02-01", tests=tests), "y")
    (trend,) = progress_of(shelf, the_student(shelf, "S-1")).cold_tests
    assert trend.what == "drives through the gate"
    assert [(one.day, one.hits, one.tries) for one in trend.points] == tests  # each once
    for point in trend.points:
        by_scipy = stats.binomtest(point.hits, point.tries).proportion_ci(method="wilson")
        assert (point.low, point.high) == pytest.approx((by_scipy.low, by_scipy.high))
    assert trend.verdict == "changed"
    assert trend.low > 0


def test_numbers_from_elsewhere_and_old_versions_enter_no_progress(shelf):
    put(shelf, [5.0])
    import_pdf(shelf, record_pdf("theirs", values={"spine-side-bend": 50.0}), "x", student="S-1")
    add_record(shelf, record_pdf("l-0", day="2027-01-01", values={"spine-side-bend": 6.0}), "x")
    progress = progress_of(shelf, the_student(shelf, "S-1"))
    assert progress.lessons == 1
    assert [point.value for point in before(progress).points] == [6.0]
