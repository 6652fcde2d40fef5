"""Pages made from the shelf: a student's progress, a hand-over, a booklet of lessons.

They are finished like a handout: tagged, archival, in the brand's dress. What they say comes in as
plain data; the shelf itself is not known here.
"""

import datetime
import hashlib
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from reporter import __version__
from reporter.draw import Properties, draw_pages
from reporter.errors import InputRefusedError, LimitError, Problem
from reporter.handout.build import Built, refuse_family_name
from reporter.handout.find_brand import brand_without_lesson
from reporter.handout.recap import one_page
from reporter.pdf import belongs_to
from reporter.pdf.booklet import Section, joined, page_sizes
from reporter.publish import judge_target, publish
from reporter.session.schema import Session
from reporter.speech import say, say_count, speaking
from reporter.story.handover_page import HandedOver, handover_report
from reporter.story.progress_sheet import progress_sheet
from reporter.story.report import Contents, Paragraph, Report, Run, Sheet
from reporter.story.student_progress import StudentProgress
from reporter.story.wording import club_and_hand, first_name, long_date, year_date
from reporter.typeset import load_page_layout, typeset
from reporter.typeset.boxes import Element, Page, Picture
from reporter.typeset.brand import Brand
from reporter.typeset.faces import typefaces_in_use
from reporter.typeset.own_faces import refuse_missing_letters
from reporter.typeset.page_layout import PageLayout, Part, SheetKind
from reporter.typeset.style import SECONDARY, TypeStep
from reporter.typeset.text import label

MOST_LESSONS = 100
NUMBER = TypeStep(9.0, 12.0, "bold")
NUMBER_FROM_EDGE = 5.0
"""From the right and from the lower edge of the paper [mm]: in the margin of every layout."""


@dataclass(frozen=True, slots=True)
class Wanted:
    """How a page from the shelf is to be made, as typed.

    Attributes
    ----------
    output : Path
        The file to write.
    brand : str or None
        A name or a folder; else that of the last lesson, if it comes with the program.
    paper : str
        A key of `reporter.typeset.PAPERS`.
    language : str or None
        Else the student's own.
    today : date
        Printed, and the day of the file.
    force : bool
        Replace any file.
    """

    output: Path
    brand: str | None
    paper: str
    language: str | None
    today: datetime.date
    force: bool


@dataclass(frozen=True, slots=True)
class PastHandout:
    """One lesson's finished pages: its ISO date (or nothing), title and PDF."""

    day: str
    title: str
    document: bytes


def build_progress(session: Session, progress: StudentProgress, wanted: Wanted) -> Built:
    """Write a student's progress as a PDF of its own; `session` is the last lesson.

    Raises
    ------
    InputRefusedError
        If nothing was seen in two lessons.
    ReporterError
        If it cannot be written, or the file's name tells a minor's family name.
    """
    session = _in(session, wanted.language)
    with speaking(session.student.language):
        sheet = progress_sheet(session, progress)
        if sheet is None:
            message = "nothing was measured or counted in two lessons, so there is no way to show"
            raise InputRefusedError([Problem("command line", 0, 0, "student", message)])
        report = _report(session, wanted, say("Over the lessons"), (sheet,))
        pages, brand = _typeset(report, session, wanted, ("progress",))
        document = _drawn(pages, report, brand, _mark("progress", session), wanted)
    return _published(document, len(pages), _mark("progress", session), session, wanted)


def build_handover(session: Session, handed: HandedOver, wanted: Wanted) -> Built:
    """Write a hand-over as one page; what does not fit is left out from its end, and said."""
    session = _in(session, wanted.language)
    brand = brand_without_lesson(wanted.brand, session.lesson.brand)
    with typefaces_in_use(brand.family), speaking(session.student.language):
        report = handover_report(session, handed, wanted.today)
        pages, left_out = one_page(report, brand, wanted.paper)
        refuse_missing_letters(pages, brand)
        document = _drawn(pages, report, brand, _mark("handover", session), wanted)
    told = (f"{left_out} parts of the hand-over had no room on the page",) if left_out else ()
    return _published(document, 1, _mark("handover", session), session, wanted, told)


def build_booklet(
    session: Session,
    lessons: Sequence[PastHandout],
    progress: StudentProgress,
    wanted: Wanted,
) -> Built:
    """Write the handouts of a student as one file: contents, progress, then the lessons.

    Parameters
    ----------
    session : Session
        The last lesson.
    lessons : sequence of PastHandout
        In order of days; nothing that travels inside their files goes into the booklet.

    Raises
    ------
    InputRefusedError
        Without a lesson.
    LimitError
        For more than a hundred.
    """
    if not lessons:
        message = "no lesson of these days is on the shelf"
        raise InputRefusedError([Problem("command line", 0, 0, "student", message)])
    if len(lessons) > MOST_LESSONS:
        message = f"{len(lessons)} lessons; a booklet holds at most {MOST_LESSONS}, see --since"
        raise LimitError(message)
    session = _in(session, wanted.language)
    mark = _mark("booklet", session)
    refuse_family_name(session, wanted.output)
    judge_target(wanted.output, lambda path: belongs_to(path, mark), force=wanted.force)
    sizes = [page_sizes(one.document) for one in lessons]
    with speaking(session.student.language):
        sheet = progress_sheet(session, progress)
        further = (sheet,) if sheet is not None else ()
        # How many pages come first is known once they are set; the second time with numbers.
        before, progress_on = 0, 0
        for _ in range(2):
            cover = _cover(session, lessons, sizes, sheet, (before, progress_on))
            report = _report(session, wanted, say("Booklet of the lessons"), (cover, *further))
            pages, brand = _typeset(report, session, wanted, ("recap", "progress"))
            before = len(pages)
            kinds = [page.kind for page in pages]
            progress_on = kinds.index("progress") if sheet is not None else 0
        front = _drawn(pages, report, brand, mark, wanted)
        papers = [(page.width, page.height) for page in pages]
        papers += [size for one in sizes for size in one]
        numbers = [_number(number, *size) for number, size in enumerate(papers, start=1)]
        with typefaces_in_use(brand.family):
            laid_over = _drawn(numbers, report, brand, mark, wanted)
        sections = [Section(_bookmark(one), one.document) for one in lessons]
    document = joined(front, sections, laid_over)
    return _published(document, len(papers), mark, session, wanted)


def _cover(
    session: Session,
    lessons: Sequence[PastHandout],
    sizes: Sequence[Sequence[object]],
    progress: Sheet | None,
    front: tuple[int, int],
) -> Sheet:
    """Return title, period and contents; `front` counts its pages and those before progress."""
    name = first_name(session)
    before, progress_on = front
    title = say("The lessons of {name}", name=name) if name else say("The lessons")
    rows = []
    if progress is not None:
        rows.append(("", progress.title, str(progress_on + 1)))
    page = before + 1
    for one, pages in zip(lessons, sizes, strict=True):
        rows.append((_day(one.day), one.title, str(page)))
        page += len(pages)
    days = [one.day for one in lessons if one.day]
    told = say_count("{number} lesson", "{number} lessons", len(lessons))
    if days:
        told = say(
            "{lessons}, from {first} to {last}.", lessons=told, first=_day(days[0]),
            last=_day(days[-1]),
        )  # fmt: skip
    blocks = (
        Paragraph((Run(f"{title}."),), "title"),
        Paragraph((Run(told),), "lead"),
        Contents(say("What stands where"), tuple(rows)),
    )
    return Sheet("recap", say("Contents"), blocks)


def _bookmark(one: PastHandout) -> str:
    return f"{_day(one.day)}: {one.title}" if one.day else one.title


def _day(text: str) -> str:
    return year_date(datetime.date.fromisoformat(text)) if text else ""


def _in(session: Session, language: str | None) -> Session:
    if language is None:
        return session
    student = session.student.model_copy(update={"language": language})
    return session.model_copy(update={"student": student})


def _mark(kind: str, session: Session) -> str:
    """Return what tells a student's page from any other file, without telling the id."""
    told = (session.student.id or "").encode()
    return f"{kind}-lesson-reporter:{hashlib.sha256(told).hexdigest()[:16]}"


def _report(session: Session, wanted: Wanted, what: str, sheets: tuple[Sheet, ...]) -> Report:
    name = first_name(session)
    date = long_date(wanted.today)
    parts = [what, *([name] if name else []), date]
    footer = [name, club_and_hand(session), date]
    return Report(
        title=", ".join(parts),
        author=session.lesson.coach or session.lesson.academy or "",
        language=session.student.language,
        subject=what,
        academy=session.lesson.academy or "",
        footer=tuple(cell for cell in footer if cell),
        sheet_of=say("sheet {number} of {count}"),
        sheets=sheets,
    )


def _typeset(
    report: Report, session: Session, wanted: Wanted, kinds: Sequence[SheetKind]
) -> tuple[tuple[Page, ...], Brand]:
    layout = _layout_of(kinds)
    brand = brand_without_lesson(wanted.brand, session.lesson.brand)
    with typefaces_in_use(brand.family):
        pages = typeset(report, layout, brand, wanted.paper).pages
        refuse_missing_letters(pages, brand)
    return pages, brand


def _layout_of(kinds: Sequence[SheetKind]) -> PageLayout:
    """Return the layout of handouts with these sheets alone, on every paper."""
    layout = load_page_layout("handout")
    sheets = tuple(Part(of=(kind,)) for kind in kinds)
    papers = {
        paper: form and form.model_copy(update={"sheets": None})
        for paper, form in layout.papers.items()
    }
    return layout.model_copy(update={"sheets": sheets, "papers": papers})


def _number(number: int, width: float, height: float) -> Page:
    text = label(
        str(number), width - NUMBER_FROM_EDGE, height - NUMBER_FROM_EDGE, NUMBER, SECONDARY,
        align="right",
    )  # fmt: skip
    return Page(width, height, (Element("Artifact", (text,)),), "", "recap")


def _drawn(pages: Sequence[Page], report: Report, brand: Brand, mark: str, wanted: Wanted) -> bytes:
    properties = Properties(
        title=report.title,
        author=report.author,
        subject=report.subject,
        language=report.language,
        creator=f"lesson-reporter {__version__}",
        identifier=mark,
        day=wanted.today,
    )
    with typefaces_in_use(brand.family):
        return draw_pages(pages, properties, _no_picture)


def _no_picture(box: Picture) -> bytes:
    message = f"a page from the shelf holds no picture, but {box.frame} was asked for"
    raise LookupError(message)


def _published(
    document: bytes,
    pages: int,
    mark: str,
    session: Session,
    wanted: Wanted,
    warnings: tuple[str, ...] = (),
) -> Built:
    refuse_family_name(session, wanted.output)
    publish(
        wanted.output, document, is_ours=lambda path: belongs_to(path, mark), force=wanted.force
    )
    return Built(wanted.output, pages, warnings, mark=mark)
