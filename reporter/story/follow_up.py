"""What the student wrote down between two lessons: the cold tests, and whether they tell a change.

A test is a count of hits; it is printed with the interval that so few tries leave open. Only the
first test is held against the last, so that no comparison is picked for its result.
"""

from collections.abc import Iterable, Sequence

from reporter.session.schema import Practised, Session
from reporter.speech import say
from reporter.story.intervals import (
    ShareInterval,
    compare_counts,
    difference_interval,
    ready_for_harder,
    whole_percent,
    wilson_interval,
)
from reporter.story.report import Block, Paragraph, Run, Trend, TrendRow
from reporter.story.wording import middle_date, short_date

MOST_ROWS = 6
"""The first test and the last five: what one sheet has room for."""


def practised_before(session: Session) -> tuple[Practised, ...]:
    """Return the tests up to the day of the lesson, in order of date."""
    day = session.lesson.date
    return _in_order(one for one in session.practised if day is None or one.date <= day)


def practised_after(session: Session) -> tuple[Practised, ...]:
    """Return the tests after the day of the lesson, in order of date."""
    day = session.lesson.date
    return _in_order(one for one in session.practised if day is None or one.date > day)


def _in_order(tests: Iterable[Practised]) -> tuple[Practised, ...]:
    return tuple(sorted(tests, key=lambda one: one.date))


def since_last_time(session: Session) -> tuple[Block, ...]:
    """Return what the practice sheet says of the time before this lesson; nothing if unknown."""
    tests = practised_before(session)
    if not tests:
        return ()
    last = session.last_lesson
    blocks: list[Block] = [trend(tests, say("Since last time"), last.cold_test or "")]
    said = trend_sentence(tests)
    if last.thoughts:
        thoughts = "; ".join(text.rstrip(".") for text in last.thoughts)
        said = f"{said} {say('The thoughts then: {thoughts}.', thoughts=thoughts)}"
    blocks.append(Paragraph((Run(said),), "note", "practised"))
    return tuple(blocks)


def trend(tests: Sequence[Practised], heading: str, what: str) -> Trend:
    """Return the tests as rows with their intervals.

    Parameters
    ----------
    tests : sequence of Practised
        One or more, in order of date; of more than six the first and the last five are shown.
    heading, what : str
        Printed above; `what` was counted, and may be empty.
    """
    shown = tests if len(tests) <= MOST_ROWS else (tests[0], *tests[1 - MOST_ROWS :])
    rows = []
    for one in shown:
        share = wilson_interval(*one.cold_test)
        rows.append(
            TrendRow(
                day=short_date(one.date),
                counted=hits_words(share.hits, share.tries),
                words=range_words(share),
                low=share.low,
                value=share.share,
                high=share.high,
                note=one.note or "",
            )
        )
    told = "; ".join(
        f"{middle_date(one.date)}: {hits_words(*one.cold_test)}"
        + (f" ({one.note})" if one.note else "")
        for one in shown
    )
    aside = say("cold test: {what}", what=what.rstrip(".")) if what else say("cold test")
    return Trend(heading, aside, tuple(rows), f"{heading}, {aside}. {told}.")


def hits_words(hits: int, tries: int) -> str:
    """Return a count of hits, such as ``8 of 10``."""
    return say("{hits} of {tries}", hits=hits, tries=tries)


def range_words(share: ShareInterval) -> str:
    """Return the interval of a count in words, such as ``49 to 94 per cent``."""
    low, high = whole_percent(share.low), whole_percent(share.high)
    return say("{low} to {high} per cent", low=low, high=high)


def trend_sentence(tests: Sequence[Practised]) -> str:
    """Return what the first and the last test say together; a change only where it is shown."""
    first, last = tests[0].cold_test, tests[-1].cold_test
    if len(tests) == 1:
        return say(
            "One test of {tries} leaves {range} open; another day tells more.",
            tries=first[1],
            range=range_words(wilson_interval(*first)),
        )
    verdict = compare_counts(first, last)
    if verdict == "cannot tell":
        return say("First and last test cannot be compared: fewer than five tries tell too little.")
    _, low, high = difference_interval(wilson_interval(*first), wilson_interval(*last))
    if verdict == "changed":
        few, many = sorted((abs(whole_percent(low)), abs(whole_percent(high))))
        told = (
            say(
                "From the first test to the last: changed, {few} to {many} hits in 100 more.",
                few=few,
                many=many,
            )
            if low > 0
            else say(
                "From the first test to the last: changed, {few} to {many} hits in 100 fewer.",
                few=few,
                many=many,
            )
        )
    else:
        told = say(
            "From the first test to the last: not shown to have changed; {low} to {high} hits in "
            "100 are open.",
            low=_difference(low),
            high=_difference(high),
        )
    if ready_for_harder([one.cold_test for one in tests]):
        harder = say("8 of 10 or better on two days: the harder form of a drill may come next.")
        told = f"{told} {harder}"
    return told


def _difference(fraction: float) -> str:
    percent = whole_percent(abs(fraction))
    if fraction < 0:
        return say("{count} fewer", count=percent)
    return say("{count} more", count=percent)
