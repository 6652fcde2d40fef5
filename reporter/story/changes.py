"""Before against after in finished words: the stills, the marks, the rows and their verdicts."""

import math
from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Literal

from reporter.measure import CATALOGUE, compare_pair
from reporter.measure.body_outline import body_outline
from reporter.measure.compare import camera_stayed
from reporter.measure.entry import OF_WHAT
from reporter.measure.measurement import Class, Comparison, Measurement, Verdict
from reporter.measure.pair_alignment import PairAlignment
from reporter.session import schema
from reporter.session.schema import Frame, Session
from reporter.speech import later, say
from reporter.story.laid_picture import laid_still, matrix_of
from reporter.story.report import Inset, MeasureRow, Pair, State, Still
from reporter.story.wording import (
    CLASS_WORDS,
    POSITION_WORDS,
    VERDICT_WORDS,
    VIEW_WORDS,
    half_up,
    plus_minus,
    signed,
    suffix,
    whole,
)

MARKS_ON_LARGE = 3
NAMES = {measure.id: measure for measure in CATALOGUE}
Sizes = Mapping[str, tuple[int, int]]
SEEN = {
    (True, "before"): later("Photograph: before, {position}, {view}. {told}"),
    (True, "after"): later("Photograph: after, {position}, {view}. {told}"),
    (False, "before"): later(
        "Figure drawn from the marked points: before, {position}, {view}. {told}"
    ),
    (False, "after"): later(
        "Figure drawn from the marked points: after, {position}, {view}. {told}"
    ),
}
"""What a picture shows, for those who do not see it: photograph or not, before or after."""


def photographs_allowed(session: Session) -> bool:
    """Whether frames may be printed as photographs: not those of a minor without consent."""
    return session.consent.photos or not session.student.is_minor


def pair_of(
    session: Session,
    written: schema.Pair,
    index: int,
    measurements: Sequence[Measurement],
    sizes: Sizes,
    compared: Sequence[PairAlignment] = (),
    *,
    large: bool,
    among: int,
) -> Pair:
    """Return one pair, or one frame alone, ready to print.

    Where the camera was only turned or zoomed, the picture after lies on the one before. `among`
    is how many measures the pages speak of together (`told_together`).
    """
    laid = matrix_of(compared, written.before, written.after)
    frames = [session.frame(name) for name in (written.before, written.after) if name]
    if len(frames) == 2:
        comparisons = compare_pair(session, measurements, written, among=among, compared=compared)
        rows = [_row(number, one) for number, one in enumerate(comparisons, start=1)]
        readings = [(one.before, one.after) for one in comparisons]
    else:
        comparisons = ()
        single = _readings(written, frames[0].id, measurements)
        rows = [_single_row(number, one) for number, one in enumerate(single, start=1)]
        readings = [(one, one) for one in single]
    if large:
        rows = rows[:MARKS_ON_LARGE]
    stills: dict[str, Still] = {}
    for frame in frames:
        side = 0 if frame.id == written.before else 1
        marks = [
            (row.number, reading[side])
            for row, reading in zip(rows, readings, strict=False)
            if reading[side].mark is not None and reading[side].value is not None
        ]
        stills[frame.id] = _still(session, frame, marks, sizes)
    if laid is not None and written.before and written.after:
        stills[written.after] = laid_still(stills[written.after], written.before, laid)
    if written.outline and len(frames) == 2 and camera_stayed(session, written, compared):
        after = stills[frames[1].id]
        stills[frames[1].id] = _with_outline(after, stills[frames[0].id].points)
    return Pair(
        heading=written.heading or _heading(frames[-1], comparisons),
        before=stills.get(written.before or ""),
        after=stills.get(written.after or ""),
        rows=tuple(rows),
        sentence=written.sentence or "",
        inset=_inset(comparisons),
        source=f"pairs.{index}",
        large=large,
    )


def _with_outline(after: Still, before: Mapping[str, tuple[float, float]]) -> Still:
    """Return the picture after with the outline of the body before on it."""
    lines = body_outline(before)
    if not lines:
        return after
    told = say("The thin dashed outline is the body before.")
    return replace(after, outline=lines, alt=f"{after.alt} {told}")


def _readings(
    written: schema.Pair, frame: str, measurements: Sequence[Measurement]
) -> list[Measurement]:
    found = {one.measure: one for one in measurements if one.frame == frame}
    if written.measures:
        return [found[name] for name in written.measures if name in found]
    return [one for one in found.values() if _printable(one)]


def _printable(reading: Measurement) -> bool:
    return reading.value is not None and reading.trust in (Class.MEASURED, Class.IMAGE_ANGLE)


def _still(
    session: Session, frame: Frame, marks: list[tuple[int, Measurement]], sizes: Sizes
) -> Still:
    take = session.take_of(frame)
    state: State = "before" if take.when == "before" else "after"
    where = say(POSITION_WORDS[frame.position])
    told = [
        f"{say(NAMES[reading.measure].name)}: "
        + NAMES[reading.measure].in_words(reading.value or 0.0, reading.unit)
        for _, reading in marks
        if reading.trust is not Class.CHANGE_ONLY
    ]
    alt = say(
        SEEN[photographs_allowed(session), state],
        position=where,
        view=say(VIEW_WORDS[take.view]),
        told=". ".join(told),
    )
    before = state == "before"
    return Still(
        frame=frame.id,
        state=state,
        caption=say("Before, {position}", position=where)
        if before
        else say("After, {position}", position=where),
        alt=alt.strip().rstrip(".") + ".",
        size=sizes[frame.id],
        points={name: point.at for name, point in frame.points.items() if point.at},
        marks=tuple((number, reading.mark) for number, reading in marks if reading.mark),
        photograph=photographs_allowed(session),
    )


def _row(number: int, one: Comparison) -> MeasureRow:
    measure = NAMES[one.before.measure]
    unit = one.before.unit
    if one.change is None or one.plus_minus is None:
        return MeasureRow(
            number, say(measure.name), "–", "–", "–", "",
            say(VERDICT_WORDS[Verdict.CANNOT_TELL]), one.reason, comparison=one,
        )  # fmt: skip
    before, after = one.before, one.after
    assert before.value is not None
    assert after.value is not None
    change_only = Class.CHANGE_ONLY in (before.trust, after.trust)
    printed = half_up(after.value) - half_up(before.value)
    if change_only:
        printed = half_up(one.change)
    direction = " ".join(say(measure.more if one.change > 0 else measure.less).format("").split())
    note = direction if one.verdict is Verdict.CHANGED else ""
    if one.verdict is Verdict.PERHAPS:
        note = say("among {count} measures one such may be chance", count=one.among)
    return MeasureRow(
        number=number,
        name=_name_and_unit(measure.name, unit),
        before="" if change_only else whole(before.value) + suffix(unit),
        after=say(CLASS_WORDS[Class.CHANGE_ONLY])
        if change_only
        else whole(after.value) + suffix(unit),
        difference=signed(printed) + suffix(unit),
        plus_minus=plus_minus(one.plus_minus, unit),
        verdict=say(VERDICT_WORDS[one.verdict]),
        note=note,
        values=None
        if change_only
        else (
            (before.value, before.plus_minus or 0.0),
            (after.value, after.plus_minus or 0.0),
        ),
        group=unit if unit in ("deg", "cm") else "%",
        comparison=one,
    )


def _name_and_unit(name: str, unit: str) -> str:
    if not unit.startswith("%"):
        return say(name)
    return f"{say(name)}, {say(OF_WHAT[unit])}"


def _single_row(number: int, reading: Measurement) -> MeasureRow:
    measure = NAMES[reading.measure]
    if not _printable(reading):
        reason = reading.reason or say("only a change of it could be believed")
        return MeasureRow(number, say(measure.name), "", "–", "", "", "", reason)
    assert reading.value is not None
    return MeasureRow(
        number=number,
        name=_name_and_unit(measure.name, reading.unit),
        before="",
        after=whole(reading.value) + suffix(reading.unit),
        difference="",
        plus_minus=plus_minus(reading.plus_minus or 0.0, reading.unit),
        verdict="",
        note=measure.in_words(reading.value, reading.unit),
    )


def _heading(frame: Frame, comparisons: Sequence[Comparison]) -> str:
    where = say(POSITION_WORDS[frame.position])
    where = where[0].upper() + where[1:]
    changed = [one for one in comparisons if one.verdict is Verdict.CHANGED]
    if changed:
        first = changed[0]
        measure = NAMES[first.before.measure]
        return f"{where}: " + measure.change_in_words(first.change or 0.0, first.before.unit) + "."
    if any(one.verdict is Verdict.PERHAPS for one in comparisons):
        return say("{position}: a change is not sure.", position=where)
    if comparisons:
        return say("{position}: no change that these pictures can show.", position=where)
    return f"{where}."


def _inset(comparisons: Sequence[Comparison]) -> Inset | None:
    """Return both lines of the first angle from one point."""
    for one in comparisons:
        before, after = one.before.mark, one.after.mark
        if one.change is None or before is None or after is None or before.kind != "angle":
            continue
        if not before.reference_is_drawn:
            continue
        (x0, y0), (x1, y1) = before.reference
        plumb = abs(x1 - x0) < abs(y1 - y0)
        reference: Literal["plumb", "level"] = "plumb" if plumb else "level"
        name = say(NAMES[one.before.measure].name)
        size = half_up(one.change)
        verdict = say(VERDICT_WORDS[one.verdict])
        told = (
            say("{angle} apart: {verdict}", angle=f"{abs(size)}°", verdict=verdict)
            if size
            else say("no difference: {verdict}", verdict=verdict)
        )
        return Inset(
            caption=say("{measure}, both from one point", measure=name),
            reference=reference,
            before_degrees=_direction(before.line, before.vertex),
            after_degrees=_direction(after.line, after.vertex),
            label=told,
        )
    return None


def _direction(
    line: tuple[tuple[float, float], tuple[float, float]], vertex: tuple[float, float]
) -> float:
    """Return where a line points, in degrees clockwise from straight up."""
    far = max(line, key=lambda at: math.dist(at, vertex))
    near = min(line, key=lambda at: math.dist(at, vertex))
    return math.degrees(math.atan2(far[0] - near[0], near[1] - far[1]))


def judged_together(among: int) -> str:
    """Return which measures the word "changed" stands for; nothing where there is one alone."""
    if among < 2:
        return ""
    return say(
        "The word changed holds for all {count} measures of this handout together.", count=among
    )
