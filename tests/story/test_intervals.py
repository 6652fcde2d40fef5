"""Intervals of counts against published figures and an independent library."""

import pytest
from scipy.stats import binomtest

from reporter.story.intervals import (
    compare_counts,
    difference_interval,
    interval_words,
    ready_for_harder,
    wilson_interval,
)


@pytest.mark.parametrize("confidence", [0.8, 0.9, 0.95, 0.99])
def test_wilson_agrees_with_scipy_for_every_count_up_to_forty(confidence: float) -> None:
    for tries in range(1, 41):
        for hits in range(tries + 1):
            ours = wilson_interval(hits, tries, confidence)
            theirs = binomtest(hits, tries).proportion_ci(confidence, method="wilson")
            assert ours.low == pytest.approx(theirs.low, abs=1e-12)
            assert ours.high == pytest.approx(theirs.high, abs=1e-12)
            assert 0 <= ours.low <= ours.share <= ours.high <= 1


# Newcombe (1998), Statistics in Medicine 17, 857-872, table I, method 3 (score, no correction);
# figures from memory.
@pytest.mark.parametrize(
    ("hits", "tries", "low", "high"),
    [
        (81, 263, 0.2553, 0.3662),
        (15, 148, 0.0624, 0.1605),
        (0, 20, 0.0, 0.1611),
        (1, 29, 0.0061, 0.1718),
    ],
)
def test_wilson_against_the_published_table(hits: int, tries: int, low: float, high: float) -> None:
    found = wilson_interval(hits, tries)
    assert found.low == pytest.approx(low, abs=5e-5)
    assert found.high == pytest.approx(high, abs=5e-5)


@pytest.mark.parametrize(
    ("hits", "tries", "words"),
    [
        (7, 10, "7 of 10 is 40 to 89 per cent"),
        (8, 10, "8 of 10 is 49 to 94 per cent"),
        (16, 20, "16 of 20 is 58 to 92 per cent"),
        (24, 30, "24 of 30 is 63 to 90 per cent"),
    ],
)
def test_words(hits: int, tries: int, words: str) -> None:
    # Worked out with scipy.stats.binomtest(...).proportion_ci(method="wilson").
    theirs = binomtest(hits, tries).proportion_ci(method="wilson")
    assert f"{theirs.low:.0%} {theirs.high:.0%}".replace("%", "") in words.replace("to ", "")
    assert interval_words(wilson_interval(hits, tries)) == words


# Newcombe (1998), Statistics in Medicine 17, 873-890, table II, method 10, contrasts (a), (e), (h);
# figures from memory. First and second share as printed there.
@pytest.mark.parametrize(
    ("first", "second", "low", "high"),
    [
        ((56, 70), (48, 80), 0.0524, 0.3339),
        ((9, 10), (3, 10), 0.1705, 0.8090),
        ((10, 10), (0, 10), 0.6075, 1.0),
    ],
)
def test_difference_against_the_published_table(
    first: tuple[int, int], second: tuple[int, int], low: float, high: float
) -> None:
    difference, down, up = difference_interval(wilson_interval(*second), wilson_interval(*first))
    assert difference == pytest.approx(first[0] / first[1] - second[0] / second[1])
    assert down == pytest.approx(low, abs=6e-5)
    assert up == pytest.approx(high, abs=6e-5)


def test_verdicts() -> None:
    assert compare_counts((3, 10), (9, 10)) == "changed"
    assert compare_counts((9, 10), (3, 10)) == "changed"
    assert compare_counts((6, 10), (8, 10)) == "not shown to have changed"
    assert compare_counts((0, 4), (40, 40)) == "cannot tell"


def test_harder_after_eight_of_ten_on_two_visits() -> None:
    assert not ready_for_harder([(8, 10)])
    assert ready_for_harder([(8, 10), (5, 10), (9, 10)])
    assert ready_for_harder([(8, 10), (4, 5)])
    assert not ready_for_harder([(8, 10), (4, 4)])
    assert not ready_for_harder([(7, 10), (7, 10), (7, 10)])


@pytest.mark.parametrize(("hits", "tries"), [(0, 0), (-1, 5), (6, 5)])
def test_impossible_counts_are_refused(hits: int, tries: int) -> None:
    with pytest.raises(ValueError, match=f"{hits} of {tries}"):
        wilson_interval(hits, tries)


@pytest.mark.parametrize("confidence", [0.0, 1.0, -0.5, 95.0])
def test_impossible_confidence_is_refused(confidence: float) -> None:
    with pytest.raises(ValueError, match="confidence"):
        wilson_interval(5, 10, confidence)
