"""Everything that is wrong with a lesson, and what a coach may want to change before printing."""

import datetime
from collections.abc import Iterator
from dataclasses import dataclass, replace
from pathlib import Path

from reporter.handout.build import explain_flight, report_of
from reporter.handout.find_drills import find_drills
from reporter.handout.lesson_advice import LessonAdvice, advice_on
from reporter.handout.measured import measured
from reporter.handout.refusals import check_references
from reporter.measure.pair_alignment import PairAlignment, one_pair_a_camera
from reporter.session.load import LoadedSession, load_session
from reporter.speech import speaking
from reporter.story.reading_pages import SheetEase, ease_of_sheets


@dataclass(frozen=True, slots=True)
class Checked:
    """A lesson without problems, and what was noticed.

    Attributes
    ----------
    loaded : LoadedSession
        The lesson.
    advice : LessonAdvice
        Advice, what of it was silenced, and notes on the practice plan.
    ease : tuple of SheetEase
        How easy each sheet reads, if that was asked for.
    """

    loaded: LoadedSession
    advice: LessonAdvice
    ease: tuple[SheetEase, ...] = ()

    def ease_lines(self) -> tuple[str, ...]:
        """Return the reading ease as it is shown, one line a sheet."""
        return tuple(
            f"{one.sheet}: "
            + (one.reason if one.ease is None else f"reading ease {one.ease:.0f} ({one.formula})")
            for one in self.ease
        )


def check_lesson(lesson_file: Path, *, today: datetime.date, reading_ease: bool = False) -> Checked:
    """Return a lesson without problems, and the advice on it.

    Parameters
    ----------
    lesson_file : Path
        The lesson file.
    today : date
        Stands in where the lesson has no date.
    reading_ease : bool
        Also say how easy the handout's running text reads.

    Raises
    ------
    InputRefusedError
        With every problem, each at its line; pictures are decoded to their end.
    """
    loaded = load_session(lesson_file, whole_pictures=True)
    drills = find_drills(loaded.folder)
    check_references(loaded, today, drills)
    explain_flight(loaded)
    read = measured(loaded)
    advice = advice_on(loaded, read, drills, today)
    ease: tuple[SheetEase, ...] = ()
    if reading_ease:
        with speaking(loaded.session.student.language):
            spoken = measured(loaded)
            report = report_of(
                loaded,
                spoken.measurements,
                explain_flight(loaded),
                today=today,
                compared=spoken.compared,
            )
        ease = ease_of_sheets(report)
    noted = tuple(camera_notes(loaded))
    return Checked(replace(loaded, warnings=(*loaded.warnings, *noted)), advice, ease)


def camera_notes(loaded: LoadedSession) -> Iterator[str]:
    """Yield what the backgrounds of the pairs say against their camera labels, with its place."""
    for one in one_pair_a_camera(loaded):
        words = _camera_words(one)
        if words:
            yield str(loaded.problem(("pairs", one.index), words))


def _camera_words(one: PairAlignment) -> str:
    """Return what the coach must know of one pair's camera, empty if nothing."""
    labelled = f' (label "{one.label}")' if one.label is not None else ""
    found = one.alignment
    if found is None:
        return f"{one.before} and {one.after} cannot be compared: {one.obstacle}"
    if found.verdict == "cannot tell":
        if one.label is not None:
            return ""
        return f"{one.before} and {one.after} do not tell whether the camera stayed: {found.reason}"
    if one.label is None:
        if found.verdict == "untouched":
            return (
                "the pictures say the camera stayed untouched between before and after; if it "
                "did, give both clips one camera label, and changes are known better"
            )
        return ""
    if found.verdict == "moved":
        return f"the pictures say the camera was moved between before and after{labelled}"
    if found.verdict == "turned or zoomed":
        return (
            f"the pictures say the camera was turned or zoomed between before and after{labelled}"
            f": {found.shift_px:.0f} pixels in the middle, {found.roll_deg:+.1f} degrees of roll, "
            f"zoom {found.scale:.2f}; a label stands for a camera that nobody touched"
        )
    return ""
