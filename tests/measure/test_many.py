"""Where nothing changed, a page that speaks of several measures calls one changed seldom enough."""

import numpy as np
import pytest
from scipy.stats import norm

from reporter.measure import FOR_ONE_MEASURE, Class, Measurement, Verdict, compare, limit_among

PAGES = 4000
MOST = 0.06
"""Of 100 pages on which nothing changed, at most 6 may call a measure changed."""


def reading(value, error):
    return Measurement(
        measure="spine-side-bend",
        frame="f",
        view="face-on",
        position="setup",
        value=float(value),
        unit="deg",
        plus_minus=1.96 * error,
        trust=Class.MEASURED,
        standard_error_of_points=error,
    )


def heavy_errors(shape, rng):
    """Return errors of lines between two clicks, Student with 5 degrees of freedom, of sd 1."""
    clicks = rng.standard_t(5, (2, *shape)) / np.sqrt(5 / 3)
    return clicks.sum(axis=0) / np.sqrt(2)


def plain_errors(shape, rng):
    return rng.standard_normal(shape)


def verdicts(count, errors, seed):
    """Return the verdicts of pages of `count` measures of true value 7, of which none changed."""
    rng = np.random.default_rng(seed)
    scale = rng.uniform(0.5, 3.0, count)
    before, after = (7.0 + scale * errors((PAGES, count), rng) for _ in range(2))
    return [
        [
            compare(reading(b, s), reading(a, s), untouched=True, among=count).verdict
            for b, a, s in zip(*page, scale, strict=True)
        ]
        for page in zip(before, after, strict=True)
    ]


@pytest.mark.parametrize("errors", [plain_errors, heavy_errors])
@pytest.mark.parametrize("count", [2, 5, 12])
def test_a_page_where_nothing_changed_seldom_says_so(count, errors):
    pages = verdicts(count, errors, 41)
    false = np.mean([Verdict.CHANGED in page for page in pages])
    assert false <= MOST
    # Every measure by itself is beyond its own error as often as for a claim about it alone.
    alone = np.mean([one is not Verdict.NOT_SHOWN for page in pages for one in page])
    assert 0.04 <= alone <= 0.06
    # What the page may not call a change is still told where it is beyond its own error.
    assert any(Verdict.PERHAPS in page for page in pages)


@pytest.mark.parametrize("errors", [plain_errors, heavy_errors])
def test_one_measure_alone_is_called_changed_5_times_in_100(errors):
    pages = verdicts(1, errors, 42)
    assert 0.04 <= np.mean([page == [Verdict.CHANGED] for page in pages]) <= 0.06
    assert not any(Verdict.PERHAPS in page for page in pages)


@pytest.mark.parametrize("count", [2, 4, 8, 16, 40])
def test_limits_against_drawn_sums(count):
    """Sidak 1967, J Am Stat Assoc 62:626; a change as the sum of four clicks, drawn by numpy."""
    clicks = np.random.default_rng(5).standard_t(5, (4, 600_000)) / np.sqrt(5 / 3)
    share = 0.95 ** (1 / count)
    drawn = np.quantile(np.abs(clicks.sum(axis=0) / 2.0), share)
    assert limit_among(count) == pytest.approx(drawn, rel=0.02)
    assert norm.ppf(0.5 + 0.5 * share) < limit_among(count)


def test_the_limit_grows_with_what_is_compared_and_begins_with_one():
    limits = [limit_among(count) for count in range(1, 60)]
    assert limits[0] == FOR_ONE_MEASURE == limit_among(0)
    assert pytest.approx(norm.ppf(0.975), abs=0.001) == FOR_ONE_MEASURE
    assert all(np.diff(limits) > 0)
