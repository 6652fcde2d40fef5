"""Tests between two lessons: which belong where, what is said of them, and what is not claimed."""

import datetime
import re

import pytest
from scipy import stats

from reporter.session.schema import Session
from reporter.story.follow_up import (
    practised_after,
    practised_before,
    since_last_time,
    trend,
    trend_sentence,
)
from reporter.story.report import Paragraph, Trend

LESSON = "2027-04-13"


def lesson(*tests: tuple[str, int, int], **more: object) -> Session:
    return Session.model_validate(
        {
            "thoughts": ["Brush the grass"],
            "lesson": {"date": LESSON},
            "practised": [{"date": day, "cold_test": [hits, of]} for day, hits, of in tests],
            **more,
        }
    )


def sentence_of(*tests: tuple[int, int]) -> str:
    days = [f"2027-04-{number:02}" for number in range(1, len(tests) + 1)]
    return trend_sentence(
        practised_before(lesson(*((day, *test) for day, test in zip(days, tests, strict=True))))
    )


def test_the_date_says_where_a_test_belongs() -> None:
    session = lesson(("2027-04-20", 8, 10), ("2027-04-13", 7, 10), ("2027-04-02", 5, 10))
    assert [one.cold_test[0] for one in practised_before(session)] == [5, 7]
    assert [one.cold_test[0] for one in practised_after(session)] == [8]


def test_each_count_has_the_interval_that_scipy_gives() -> None:
    # Wilson 1927 as implemented in SciPy, rounded half up; 8 of 10 is "49 to 94 per cent".
    session = lesson(("2027-04-01", 4, 10), ("2027-04-05", 8, 10), ("2027-04-09", 19, 20))
    shown = trend(practised_before(session), "Since last time", "")
    assert shown.rows[1].words == "49 to 94 per cent"
    for row, (hits, of) in zip(shown.rows, ((4, 10), (8, 10), (19, 20)), strict=True):
        interval = stats.binomtest(hits, of).proportion_ci(0.95, method="wilson")
        assert row.low == pytest.approx(interval.low, abs=1e-12)
        assert row.high == pytest.approx(interval.high, abs=1e-12)
        told = [int(number) for number in re.findall(r"\d+", row.words)]
        assert told == [int(100 * interval.low + 0.5), int(100 * interval.high + 0.5)]


def test_no_progress_is_claimed_that_the_counts_do_not_bear() -> None:
    # Two tests of 10 need about six hits more before an exact test at 5 % sees a difference.
    for first, last in ((5, 8), (4, 8), (6, 9), (8, 5)):
        text = sentence_of((first, 10), (last, 10))
        assert "not shown to have changed" in text
        assert stats.fisher_exact([[first, 10 - first], [last, 10 - last]]).pvalue > 0.05


@pytest.mark.parametrize(
    ("first", "last", "word"), [((2, 20), (15, 20), "more"), ((18, 20), (5, 20), "fewer")]
)
def test_a_change_that_is_shown_is_called_one(
    first: tuple[int, int], last: tuple[int, int], word: str
) -> None:
    text = sentence_of(first, last)
    assert "changed" in text
    assert f"in 100 {word}" in text
    assert "not shown" not in text
    table = [[first[0], first[1] - first[0]], [last[0], last[1] - last[0]]]
    assert stats.fisher_exact(table).pvalue < 0.05


def test_the_best_pair_is_not_picked() -> None:
    # The middle test would be a change against the first; the last is what is compared.
    assert "not shown to have changed" in sentence_of((4, 20), (18, 20), (6, 20))


def test_few_tries_cannot_be_compared() -> None:
    assert "cannot be compared" in sentence_of((0, 4), (4, 4))


def test_one_test_alone_claims_nothing() -> None:
    text = sentence_of((8, 10))
    assert "49 to 94 per cent" in text
    assert "changed" not in text


def test_eight_of_ten_on_two_days_may_be_made_harder() -> None:
    assert "harder" in sentence_of((8, 10), (8, 10))
    assert "harder" not in sentence_of((8, 10), (7, 10))


def test_without_a_test_there_is_nothing() -> None:
    assert since_last_time(lesson(("2027-04-20", 8, 10))) == ()


def test_the_block_names_test_and_thoughts_of_last_time() -> None:
    session = lesson(
        ("2027-04-05", 8, 10),
        last_lesson={"thoughts": ["Ball off the lead heel."], "cold_test": "through the gate"},
    )
    shown, said = since_last_time(session)
    assert isinstance(shown, Trend)
    assert shown.aside == "cold test: through the gate"
    assert isinstance(said, Paragraph)
    assert "Ball off the lead heel" in said.runs[0].text


def test_of_many_tests_the_first_and_the_last_five_are_shown() -> None:
    tests = [(f"2027-03-{day:02}", day, 20) for day in range(1, 13)]
    shown = trend(practised_before(lesson(*tests)), "Since last time", "")
    assert [row.counted for row in shown.rows] == [
        f"{hits} of 20" for hits in (1, 8, 9, 10, 11, 12)
    ]


def test_dates_stay_days_across_the_change_to_summer_time() -> None:
    session = lesson(("2027-03-28", 5, 10))  # the night the clocks change in Europe
    assert practised_before(session)[0].date == datetime.date(2027, 3, 28)
