"""A student's way over the lessons in finished words: what has changed, what is not shown to have.

Nothing is called a change that chance or the error of measuring explains; the verdicts come with
the numbers, here they are only worded.
"""

import datetime
import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace

from reporter.measure.entry import OF_WHAT
from reporter.measure.measurement import Verdict
from reporter.session.schema import Session
from reporter.speech import later, say, say_count
from reporter.story.follow_up import MOST_ROWS, trend, trend_sentence
from reporter.story.report import Block, Paragraph, Run, Sheet, ValueChart, ValueCharts, ValueSpot
from reporter.story.student_progress import Counts, Course, CourseValue, StudentProgress
from reporter.story.wording import (
    POSITION_WORDS,
    VERDICT_WORDS,
    VIEW_WORDS,
    Lengths,
    club_words,
    decimal,
    first_name,
    listed,
    placed_at,
    plus_minus,
    sentence,
    signed,
    suffix,
    whole,
    year_date,
)

MOST_CHARTS = 6
MOST_SPREADS = 2
MOST_COUNTS = 2
FEW_ROWS = 4
"""Of a cold test below charts: the first and the last three, so that it stays one page."""
FIRST_KEPT, LAST_KEPT = 6, 18
"""Of a longer course the lessons that make the limits are drawn, and the last ones."""
LEAST_APART = 0.03
"""Of two lessons on a chart as wide as 1, however close their days are."""
MOST_TICKS = 4
WHEN_WORDS = {
    "before": later("before the work of the lesson"),
    "after": later("after the work of the lesson"),
}
EACH_DOT = later(
    "Each dot is a lesson; its whisker holds the true value 95 times in 100. Open dots: before the "
    "work of the lesson; filled dots: after it."
)
BAND = later(
    "The pale band between the dash-and-dot lines is where the value wanders by itself; its middle "
    "line is the mean of the first six lessons."
)
CAMERA = later(
    "Where the line between two dots is broken, under the sign of a camera, the camera changed or "
    "is not named."
)


def progress_sheet(session: Session, progress: StudentProgress) -> Sheet | None:
    """Return the page of a student's lessons; None where nothing was seen twice.

    Parameters
    ----------
    session : Session
        Any lesson of the student: it tells the name and the units.
    progress : StudentProgress
        Already judged.
    """
    shown = _shown(progress)
    counts = [one for one in progress.counts if len(one.tests) > 1][:MOST_COUNTS]
    if not shown and not counts:
        return None
    blocks: list[Block] = [
        Paragraph((Run(_title(session, progress)),), "title"),
        Paragraph((Run(_finding(progress)),), "body"),
    ]
    if shown:
        days = _places(shown)
        lengths = Lengths(session.student.units)
        charts = tuple(_chart(one, days, lengths) for one in shown)
        blocks.append(ValueCharts(charts))
        blocks.append(Paragraph((Run(_legend(shown)),), "note"))
    for one in counts:
        blocks += _counted(one, FEW_ROWS if shown else MOST_ROWS)
    left_out = len(_kinds(progress)) - len([one for one in shown if one.view])
    if left_out > 0:
        told = say_count(
            "One more measure is on the shelf.",
            "{number} more measures are on the shelf.",
            left_out,
        )
        blocks.append(Paragraph((Run(told),), "note"))
    return Sheet("progress", say("Over the lessons"), tuple(blocks))


def _shown(progress: StudentProgress) -> list[Course]:
    """Return what is drawn: the longest courses, of one measure how the student came.

    What was reached within a lesson is what its own handout tells.
    """
    spreads = [one for one in progress.spreads if len(one.values) > 1][:MOST_SPREADS]
    return [*_kinds(progress)[: MOST_CHARTS - len(spreads)], *spreads]


def _kinds(progress: StudentProgress) -> list[Course]:
    """Return the courses of several lessons, one for each measure, place and club."""
    several = [one for one in progress.courses if len(one.values) > 1]
    came = {_kind(one) for one in several if one.when == "before"}
    return [one for one in several if one.when == "before" or _kind(one) not in came]


def _kind(one: Course) -> tuple[str, ...]:
    return one.name, one.view, one.position, one.club


def _title(session: Session, progress: StudentProgress) -> str:
    name = first_name(session)
    if name:
        return say_count(
            "{name}: {number} lesson.", "{name}: {number} lessons.", progress.lessons, name=name
        )
    return say_count("{number} lesson.", "{number} lessons.", progress.lessons)


def _finding(progress: StudentProgress) -> str:
    """Return the period and what is shown to have changed in it, in sentences."""
    courses = (*progress.courses, *progress.spreads)
    changed = list(dict.fromkeys(say(one.name) for one in courses if one.verdict == "changed"))
    said = []
    if progress.first_day:
        first, last = (_day(day) for day in (progress.first_day, progress.last_day))
        said.append(say("From {first} to {last}.", first=first, last=last))
    if changed:
        said.append(say("Shown to have changed: {measures}.", measures=listed(changed)))
    elif courses:
        said.append(say("No measure is shown to have changed over these lessons."))
    if progress.judged_together > 1:
        said.append(courses_judged_together(progress.judged_together))
    return " ".join(said)


def courses_judged_together(among: int) -> str:
    """Return which measures a verdict over the lessons stands for."""
    return say("Judged for {count} measures together.", count=among)


def _legend(shown: Sequence[Course]) -> str:
    said = [say(EACH_DOT)]
    if any(one.limits is not None for one in shown):
        said.append(say(BAND))
    if any(value.camera_changed for one in shown for value in one.values):
        said.append(say(CAMERA))
    return " ".join(said)


def _counted(counts: Counts, most: int) -> list[Block]:
    """Return the first and the last counts of one cold test, each with its full date."""
    tests = counts.tests
    shown = tests if len(tests) <= most else (tests[0], *tests[1 - most :])
    block = trend(shown, say("Cold tests"), counts.what)
    aside = counts.what.rstrip(".") or block.aside
    rows = tuple(
        replace(row, day=year_date(one.date)) for row, one in zip(block.rows, shown, strict=True)
    )
    told = "; ".join(f"{row.day}: {row.counted}, {row.words}" for row in rows)
    return [
        replace(block, aside=aside, rows=rows, alt=f"{block.heading}, {aside}. {told}."),
        Paragraph((Run(trend_sentence(tests)),), "note", "practised"),
    ]


def _day(text: str) -> str:
    return year_date(datetime.date.fromisoformat(text)) if text else say("no date")


def _drawn(values: Sequence[CourseValue]) -> list[CourseValue]:
    """Return the values that are drawn; a gap between the first and the last ones is broken."""
    if len(values) <= FIRST_KEPT + LAST_KEPT:
        return list(values)
    last = list(values[-LAST_KEPT:])
    return [*values[:FIRST_KEPT], replace(last[0], camera_changed=True), *last[1:]]


def _places(shown: Sequence[Course]) -> dict[str, float]:
    """Return where each day stands, from 0 to 1: true to time, but never on each other."""
    days = sorted({value.day for one in shown for value in _drawn(one.values)})
    dated = [datetime.date.fromisoformat(day).toordinal() for day in days if day]
    undated = [-1.0] if len(dated) < len(days) else []
    if not dated:
        return dict.fromkeys(days, 0.5)
    span = max(dated[-1] - dated[0], 1)
    least = min(LEAST_APART, 1 / max(len(days) - 1, 1))
    places: list[float] = []
    for time in [*undated, *((one - dated[0]) / span for one in dated)]:
        # Days without a date come first; a day that is too close is moved on, and all shrink.
        places.append(max(time, places[-1] + least) if places else max(time, 0.0))
    return {day: place / max(places[-1], 1.0) for day, place in zip(days, places, strict=True)}


def _chart(one: Course, days: Mapping[str, float], lengths: Lengths) -> ValueChart:
    beside = not one.view
    factor = 1 / lengths.metres_per_unit if beside else 1.0
    values = _drawn(one.values)
    spots = [
        ValueSpot(
            days[value.day],
            factor * value.low,
            factor * value.value,
            factor * value.high,
            value.camera_changed and number > 0,
        )
        for number, value in enumerate(values)
    ]
    limits = None if one.limits is None else tuple(factor * limit for limit in one.limits)
    low, high, ticks = _scale(
        [end for spot in spots for end in (spot.low, spot.high)] + list(limits or ())
    )
    shown = _shown_as(one, lengths)
    exact = _exactly(one, lengths)
    heading = say(one.name)
    if one.unit in OF_WHAT:
        heading = f"{heading}, {say(OF_WHAT[one.unit])}"
    aside = _aside(one)
    dated = sorted(day for day in days if day)
    first, last = (dated[0], dated[-1]) if dated else ("", "")
    verdict = sentence(say(VERDICT_WORDS[Verdict(one.verdict)]))
    numbers = _numbers(one, exact, lengths)
    told = "; ".join(_told(value, shown, one, lengths) for value in values)
    when = f"{aside}, {say(WHEN_WORDS[one.when])}" if one.when in WHEN_WORDS else aside
    alt = f"{heading}, {when}. {told}. {numbers} {verdict}".replace("  ", " ")
    return ValueChart(
        heading=sentence(heading).rstrip("."),
        aside=aside,
        state="after" if one.when != "before" else "before",
        spots=tuple(spots),
        limits=limits,  # type: ignore[arg-type]
        low=low,
        high=high,
        ticks=tuple((tick, shown(tick)) for tick in ticks),
        days=(_day(first), _day(last)),
        verdict=verdict,
        numbers=numbers,
        reason=say(one.reason),
        alt=alt,
    )


def _aside(one: Course) -> str:
    parts = [
        say(POSITION_WORDS[one.position]) if one.position in POSITION_WORDS else one.position,
        say(VIEW_WORDS[one.view]) if one.view in VIEW_WORDS else one.view,
        club_words(one.club) if one.club else "",
    ]
    return ", ".join(part for part in parts if part)


def _scale(ends: Sequence[float]) -> tuple[float, float, list[float]]:
    """Return the ends of the upright scale and its ticks: 1, 2 or 5 times a power of ten."""
    low, high = min(ends), max(ends)
    white = 0.06 * max(high - low, 2.0)
    low, high = low - white, high + white
    step = 1.0
    while (high - low) / step > MOST_TICKS:
        power = 10 ** math.floor(math.log10(step) + 1e-9)
        step = next(m * power for m in (2, 5, 10) if m * power > step * 1.01)
    first = math.ceil(low / step)
    return low, high, [step * n for n in range(first, math.floor(high / step) + 1)]


def _shown_as(one: Course, lengths: Lengths) -> Callable[[float], str]:
    """Return how a value on the page's scale is written: whole, as everywhere on the pages."""
    if one.view:
        return lambda value: f"{whole(value)}{suffix(one.unit)}"

    def beside(value: float) -> str:
        amount = f"{whole(abs(value))}{suffix(lengths.unit)}"
        return placed_at(amount, value) if round(value) else amount

    return beside


def _exactly(one: Course, lengths: Lengths) -> Callable[[float], str]:
    """Return how a limit is written: to a tenth, so that two limits of a quiet value differ."""
    if one.view:
        return lambda value: f"{decimal(value, 1)}{suffix(one.unit)}"

    def beside(value: float) -> str:
        size = abs(value) / lengths.metres_per_unit
        return placed_at(f"{decimal(size, 1)}{suffix(lengths.unit)}", value)

    return beside


def _told(value: CourseValue, shown: Callable[[float], str], one: Course, lengths: Lengths) -> str:
    day = _day(value.day)
    if one.view:
        half = plus_minus((value.high - value.low) / 2, one.unit)
        told = say("{day}: {value} {plus_minus}", day=day, value=shown(value.value),
                   plus_minus=half)  # fmt: skip
    else:
        low, middle, high = (
            shown(end / lengths.metres_per_unit) for end in (value.low, value.value, value.high)
        )
        told = say("{day}: {value}, between {low} and {high}", day=day, value=middle, low=low,
                   high=high)  # fmt: skip
    if value.camera_changed:
        return say("{told} (another camera)", told=told)
    return told


def _numbers(one: Course, exact: Callable[[float], str], lengths: Lengths) -> str:
    """Return centre, limits and the distance of the latest lessons, as far as they are known."""
    said = []
    if one.limits is not None:
        centre, lower, upper = (exact(limit) for limit in one.limits)
        said.append(
            say("Mean of the first six {centre}, limits {lower} to {upper}.", centre=centre,
                lower=lower, upper=upper)
        )  # fmt: skip
    if one.difference is not None and one.plus_minus is not None:
        unit = one.unit if one.view else lengths.unit
        factor = 1.0 if one.view else lengths.metres_per_unit
        change = f"{signed(one.difference / factor)}{suffix(unit)}"
        half = plus_minus(one.plus_minus / factor, unit)
        if one.limits is not None:
            told = say("Latest from that mean: {change} {plus_minus}.", change=change,
                       plus_minus=half)  # fmt: skip
        else:
            told = say("From first to last: {change} {plus_minus}.", change=change,
                       plus_minus=half)  # fmt: skip
        said.append(told)
    return " ".join(said)
