"""The whole run: a lesson folder becomes a handout. Clock, paths and adapters enter here."""

import datetime
import gc
import hashlib
import os
import re
from collections.abc import Callable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, replace
from pathlib import Path

from reporter import __version__
from reporter.draw import Properties, draw_pages
from reporter.errors import (
    ConsentError,
    InputRefusedError,
    LimitError,
    printable,
)
from reporter.flight import Explanation, ImpossibleDelivery
from reporter.handout.carried_files import Making, carried_files
from reporter.handout.file_form import PLAIN_HANDOUT, FileForm, mark_of, target_of
from reporter.handout.find_brand import find_brand
from reporter.handout.find_drills import find_drills
from reporter.handout.find_layout import find_layout
from reporter.handout.flight_input import explanation_of, too_fast, usable_shots
from reporter.handout.ink_variants import Variant, in_ink
from reporter.handout.lesson_advice import advice_on
from reporter.handout.measured import Measured, measured
from reporter.handout.picture_quality import Fitted, PictureQuality, fit
from reporter.handout.practice_calendar import (
    CALENDAR_ENDING,
    LARGEST_FILE_BYTES,
    is_calendar_of,
    lesson_calendar,
)
from reporter.handout.print_pictures import PrintPictures, print_pictures
from reporter.handout.refusals import check_references
from reporter.measure import Measurement
from reporter.measure.pair_alignment import PairAlignment
from reporter.measure.refined import RefinedFrame
from reporter.pdf import belongs_to
from reporter.publish import judge_target, publish
from reporter.safe_open import read_given
from reporter.session.frames import file_digest
from reporter.session.load import LoadedSession, load_session
from reporter.session.schema import Session
from reporter.speech import say, speaking
from reporter.story import Report, plan_report
from reporter.story.changes import photographs_allowed
from reporter.story.drills import Drill
from reporter.story.student_progress import ProgressSource, StudentProgress
from reporter.typeset import typeset
from reporter.typeset.boxes import Page
from reporter.typeset.faces import Family, typefaces_in_use
from reporter.typeset.own_faces import refuse_missing_letters

MOST_PAGES = 60
LESSON_MARK = "lesson-reporter:"


@dataclass(frozen=True, slots=True)
class Built:
    """What came out of a run.

    Attributes
    ----------
    path : Path
        The handout.
    pages : int
        Its pages.
    warnings : tuple of str
        What was noticed.
    advice : tuple of str
        What the coach may want to change, each in one line with its place.
    silenced : tuple of str
        Advice that the lesson file silences, with its reason.
    calendar : Path or None
        The calendar file, if one was asked for.
    told : str
        What was done to keep to a largest size, if one was asked for.
    mark : str
        What tells the file from that of any other lesson.
    record : bytes or None
        The coach's record of the same run, if one was asked for.
    """

    path: Path
    pages: int
    warnings: tuple[str, ...]
    advice: tuple[str, ...] = ()
    silenced: tuple[str, ...] = ()
    calendar: Path | None = None
    told: str = ""
    mark: str = ""
    record: bytes | None = None


@contextmanager
def collector_paused() -> Iterator[None]:
    """Hold back the cyclic garbage collector; what was held back is collected afterwards.

    A run makes tens of thousands of small frozen objects without cycles, and walking them again
    and again costs a tenth of a build.
    """
    was_on = gc.isenabled()
    gc.disable()
    try:
        yield
    finally:
        if was_on:
            gc.enable()


def build_handout(
    lesson_file: Path,
    *,
    output: Path | None,
    brand: str | None,
    layout: str | None,
    paper: str,
    today: datetime.date,
    force: bool = False,
    calendar: bool = False,
    form: FileForm = PLAIN_HANDOUT,
    language: str | None = None,
    judge_record: Callable[[bytes], None] | None = None,
    home: Path | None = None,
    progress: ProgressSource | None = None,
) -> Built:
    """Turn a lesson folder into a printed handout.

    Parameters
    ----------
    lesson_file : Path
        The lesson file.
    output : Path or None
        Where to; beside the lesson file if left out.
    brand : str or None
        Name of a brand or path of its folder; else the lesson's own, else plain.
    layout : str or None
        Name of a layout or path of its file; else the lesson's own, else handout.
    paper : str
        A paper that the layout is made for.
    today : date
        Stands in where the lesson has no date.
    force : bool
        Replace a file that is not this lesson's handout.
    calendar : bool
        Write the practice visits as a calendar file too, beside the handout under its name.
    form : FileForm
        Handout or record, what it carries, how fine its pictures are, its ink.
    language : str or None
        One of `reporter.speech.LANGUAGES`; the student's own if left out.
    judge_record : callable, optional
        The record is made too and handed to this before anything is written; what it raises
        stops the run.
    home : Path, optional
        Where the lesson file lies at home, if this is a copy: a lesson without an id is told from
        others by it.
    progress : callable, optional
        Asked for the student's lessons before this one, for a page before the record sheet; only
        where the lesson may be kept, else that there is no such page is a warning.

    Raises
    ------
    ReporterError
        With the exit code that fits: input refused, content that does not fit, cannot write, a
        minor's family name in the file's name.
    """
    loaded = in_language(load_session(lesson_file), language)
    target = target_of(form, output, loaded.folder)
    mark = mark_of(form, lesson_mark(loaded, home))
    refuse_family_name(loaded.session, target)
    drills = find_drills(loaded.folder)
    check_references(loaded, today, drills)
    before, unasked = _lessons_before(loaded, progress, lesson_mark(loaded, home))
    with collector_paused(), print_pictures(loaded) as pictures:
        laid = lay_out(
            loaded,
            pictures,
            brand=brand,
            layout=layout,
            paper=paper,
            ink=form.ink,
            today=today,
            points=form.record,
            progress=before,
        )
        properties = properties_of(laid.report, mark, loaded.session.lesson.date or today)
        with speaking(loaded.session.student.language):
            finished = finish(laid, properties, pictures, loaded, form)
            record = finished.document if form.record else None
            if judge_record is not None and record is None:
                named = lesson_mark(loaded, home)
                record = _record_beside(laid, pictures, loaded, form, named, today)
        if judge_record is not None and record is not None:
            judge_record(record)
    beside = target.with_suffix(CALENDAR_ENDING) if calendar else None
    if beside is not None:
        _judge_both(target, mark, beside, loaded, force=force)
    publish(target, finished.document, is_ours=lambda path: belongs_to(path, mark), force=force)
    if beside is not None:
        _publish_calendar(beside, loaded, drills, today=today, force=force)
    found = advice_on(loaded, laid.read, drills, today)
    return Built(
        target,
        len(laid.pages),
        (
            *loaded.warnings,
            *_consent_notes(loaded.session),
            *_record_notes(loaded.session, form),
            *unasked,
            *laid.warnings,
        ),
        found.lines(loaded),
        found.silenced_lines(),
        beside,
        finished.told,
        mark,
        record if judge_record is not None else None,
    )


def _lessons_before(
    loaded: LoadedSession, progress: ProgressSource | None, mark: str
) -> tuple[StudentProgress | None, tuple[str, ...]]:
    """Return what is known of the student before this lesson, or why nothing is printed of it."""
    if progress is None:
        return None, ()
    if not loaded.session.consent.archive:
        return None, ("no page over the lessons: no consent to keep them (consent.archive)",)
    found = progress(loaded.session, mark.removeprefix(LESSON_MARK))
    if found is None or found.lessons < 2:
        return None, ("no page over the lessons: fewer than two earlier ones are on the shelf",)
    return found, ()


def in_language(loaded: LoadedSession, language: str | None) -> LoadedSession:
    """Return a lesson for a student who reads another language; as it is for None.

    What the coach wrote stays as it was written.
    """
    if language is None:
        return loaded
    student = loaded.session.student.model_copy(update={"language": language})
    session = loaded.session.model_copy(update={"student": student})
    return replace(loaded, session=session)


def _record_beside(
    laid: "LaidOut",
    pictures: PrintPictures,
    loaded: LoadedSession,
    form: FileForm,
    mark: str,
    today: datetime.date,
) -> bytes:
    """Return the coach's record with the pages of a handout, whatever the handout carries."""
    whole = replace(form, record=True, attachments=True, largest=None)
    properties = properties_of(
        laid.report, mark_of(whole, mark), loaded.session.lesson.date or today
    )
    return finish(laid, properties, pictures, loaded, whole).document


@dataclass(frozen=True, slots=True)
class LaidOut:
    """A handout up to its finished pages.

    Attributes
    ----------
    pages : tuple of Page
        In the ink that was asked for.
    report : Report
        What stands on them.
    read : Measured
        All measures of the lesson, and what its pictures say of the cameras.
    layout, brand, paper : str
        Their names, a brand by the name in its own file.
    ink : str
        colour, grey or saver.
    warnings : tuple of str
        What was noticed while setting the pages.
    family : Family
        The typefaces they are set in.
    """

    pages: tuple[Page, ...]
    report: Report
    read: Measured
    layout: str
    brand: str
    paper: str
    ink: Variant
    warnings: tuple[str, ...]
    family: Family


def lay_out(
    loaded: LoadedSession,
    pictures: PrintPictures,
    *,
    brand: str | None,
    layout: str | None,
    paper: str,
    ink: Variant,
    today: datetime.date,
    points: bool = False,
    progress: StudentProgress | None = None,
) -> LaidOut:
    """Measure, explain, word and set a checked lesson; parameters as in `build_handout`.

    With `points` the record has a page of points, where any were refined.
    """
    pictures.open_early()
    with speaking(loaded.session.student.language):
        read = measured(loaded, pictures.grey)
        explanation = explain_flight(loaded)
        for one in read.compared:
            if one.lies_on_before and one.alignment is not None:
                pictures.lay(one.before, one.after, one.alignment.matrix)
        report = report_of(
            loaded,
            read.measurements,
            explanation,
            today=today,
            compared=read.compared,
            points=read.refined if points else None,
            progress=progress,
        )
        house = find_brand(brand, loaded)
        design = find_layout(layout, loaded)
        with typefaces_in_use(house.family):
            composed = typeset(report, design, house, paper)
            refuse_missing_letters(composed.pages, house, loaded.problem_of_letter)
    pages = in_ink(composed.pages, ink)
    if len(pages) > MOST_PAGES:
        message = f"the handout has {len(pages)} pages; at most {MOST_PAGES} are printed"
        raise LimitError(message)
    return LaidOut(
        pages,
        report,
        read,
        design.name,
        house.name,
        paper,
        ink,
        composed.warnings,
        house.family,
    )


def finish(
    laid: LaidOut,
    properties: Properties,
    pictures: PrintPictures,
    loaded: LoadedSession,
    form: FileForm,
) -> Fitted:
    """Return the file of finished pages, with what travels in it, as fine as its size allows."""
    pages = laid.pages
    pictures.use(form.quality)
    pictures.cut_early(pages)
    making = Making(
        laid.layout, laid.brand, laid.paper, laid.ink, form.purpose, form.record, len(pages)
    )
    carried = (
        carried_files(loaded, laid.report, laid.read.measurements, making, pictures.whole)
        if form.attachments
        else None
    )

    def draw(quality: PictureQuality) -> bytes:
        pictures.use(quality)
        pictures.cut_early(pages)
        attachments = carried(quality) if carried is not None else ()
        with typefaces_in_use(laid.family):
            return draw_pages(pages, properties, pictures.jpeg, attachments)

    return fit(draw, form.quality, form.largest)


def _record_notes(session: Session, form: FileForm) -> tuple[str, ...]:
    if not form.record or session.consent.archive:
        return ()
    return ("no consent to keep the lesson is written down (consent.archive)",)


def _judge_both(
    target: Path, mark: str, calendar: Path, loaded: LoadedSession, *, force: bool
) -> None:
    """Refuse before either file is written, if one of them may not be."""
    judge_target(target, lambda path: belongs_to(path, mark), force=force)
    judge_target(calendar, lambda path: is_calendar_of(path, lesson_mark(loaded)), force=force)


def _publish_calendar(
    path: Path,
    loaded: LoadedSession,
    drills: Sequence[Drill],
    *,
    today: datetime.date,
    force: bool,
) -> None:
    """Write the calendar file; an earlier one of this lesson becomes its next edition."""
    mark = lesson_mark(loaded)
    existing = None
    if is_calendar_of(path, mark):
        existing = read_given(path, LARGEST_FILE_BYTES, as_input=False)
    with speaking(loaded.session.student.language):
        text = lesson_calendar(loaded.session, drills, mark, today=today, existing=existing)
    publish(path, text, is_ours=lambda found: is_calendar_of(found, mark), force=force)


def refuse_family_name(session: Session, path: Path) -> None:
    """Refuse a file name that tells more of a minor than the first name.

    Raises
    ------
    ConsentError
        Naming what to leave out.
    """
    if not session.student.is_minor:
        return
    further = (session.student.name or "").split()[1:]
    told = re.split(r"[\W_]+", path.stem.casefold())
    for word in further:
        if len(word) > 1 and word.casefold() in told:
            message = (
                f"the file name {printable(path.name)} holds more of a minor's name than the "
                "first name; leave the rest out"
            )
            raise ConsentError(message)


def explain_flight(loaded: LoadedSession) -> Explanation | None:
    """Return the explained flight, or refuse values that no shot can have, at their line."""
    problems = too_fast(loaded.session, loaded.shots)
    if problems:
        raise InputRefusedError(problems)
    try:
        shots = usable_shots(loaded.session, loaded.shots)
        return explanation_of(loaded.session, shots)
    except ImpossibleDelivery as error:
        # What was seen and cannot be is only explained; such a flight can only be a wanted one.
        asked = ("hold ", "no face and path", "a start of")
        for told in error.complaints:
            field = "wanted" if told.startswith(asked) else "seen"
            problems.append(loaded.problem(field, told.removeprefix("hold ")))
        raise InputRefusedError(problems) from None


def report_of(
    loaded: LoadedSession,
    measurements: tuple[Measurement, ...],
    explanation: Explanation | None,
    *,
    today: datetime.date,
    compared: Sequence[PairAlignment] = (),
    points: Mapping[str, RefinedFrame] | None = None,
    progress: StudentProgress | None = None,
) -> Report:
    """Return what the handout says.

    `compared` is what the pictures say of the cameras; with `points` there is a page of points,
    with `progress` one of the lessons before.
    """
    used = {name for pair in loaded.session.pairs for name in (pair.before, pair.after) if name}
    digests = {loaded.path.name: hashlib.sha256(loaded.source.text.encode()).hexdigest()}
    for frame in loaded.session.frames:
        if frame.id in used:
            digests[Path(frame.file).name] = file_digest(loaded.folder, frame.file)
    shots = usable_shots(loaded.session, loaded.shots)
    if loaded.session.seen.shots is not None:
        name = loaded.session.seen.shots
        digests[Path(name).name] = file_digest(loaded.folder, name)
    return plan_report(
        loaded.session,
        measurements,
        explanation,
        loaded.sizes,
        digests,
        today=today,
        version=__version__,
        notes=(*_consent_notes(loaded.session), *(shots.left_out if shots is not None else ())),
        shots=shots,
        drills=find_drills(loaded.folder),
        compared=compared,
        points=points,
        progress=progress,
    )


def _consent_notes(session: Session) -> tuple[str, ...]:
    if photographs_allowed(session) or not session.frames:
        return ()
    return (
        say(
            "no consent for photographs of a minor: figures drawn from the marked points stand in "
            "their place"
        ),
    )


def lesson_mark(loaded: LoadedSession, home: Path | None = None) -> str:
    """Return what tells this lesson's handout from any other file."""
    place = str(home if home is not None else loaded.path.resolve())
    lesson = loaded.session.lesson.id or hashlib.sha256(os.fsencode(place)).hexdigest()[:16]
    return f"{LESSON_MARK}{lesson}"


def properties_of(report: Report, mark: str, day: datetime.date) -> Properties:
    """Return what the file says about itself.

    Parameters
    ----------
    report : Report
        What stands on the pages.
    mark : str
        What tells the file from any other.
    day : date
        Of the lesson: the file says it was made then, so that the same lesson gives the same file.
    """
    return Properties(
        title=report.title,
        author=report.author,
        subject=report.subject,
        language=report.language,
        creator=f"lesson-reporter {__version__}",
        identifier=mark,
        day=day,
    )
