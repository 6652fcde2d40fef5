"""A past lesson becomes one page for the coach to read before the next one."""

import datetime
from dataclasses import replace
from pathlib import Path

from reporter.draw import draw_pages
from reporter.errors import LimitError
from reporter.handout.build import (
    Built,
    explain_flight,
    in_language,
    lesson_mark,
    properties_of,
    refuse_family_name,
)
from reporter.handout.find_brand import find_brand
from reporter.handout.find_drills import find_drills
from reporter.handout.flight_input import usable_shots
from reporter.handout.measured import measured
from reporter.handout.refusals import check_references
from reporter.pdf import belongs_to
from reporter.publish import publish
from reporter.session.load import LoadedSession, load_session
from reporter.speech import speaking
from reporter.story.recap import LEAST_BLOCKS, recap_report
from reporter.story.report import RecordTable, Report
from reporter.typeset import load_page_layout, typeset_report
from reporter.typeset.boxes import Page, Picture
from reporter.typeset.brand import Brand
from reporter.typeset.faces import typefaces_in_use
from reporter.typeset.own_faces import refuse_missing_letters

RECAP = "recap.pdf"
LAYOUT = "recap"


def build_recap(
    lesson_file: Path,
    *,
    output: Path | None,
    brand: str | None,
    paper: str,
    today: datetime.date,
    force: bool = False,
    language: str | None = None,
) -> Built:
    """Write the one-page recap of a past lesson; parameters as in `build_handout`.

    What does not fit the page is left out from its end, and said among the warnings.

    Raises
    ------
    ReporterError
        With the exit code that fits: input refused, content that does not fit, cannot write.
    """
    loaded = in_language(load_session(lesson_file), language)
    target = output or loaded.folder / RECAP
    refuse_family_name(loaded.session, target)
    drills = find_drills(loaded.folder)
    check_references(loaded, today, drills)
    with speaking(loaded.session.student.language):
        read = measured(loaded)
        report = recap_report(
            loaded.session,
            read.measurements,
            explain_flight(loaded),
            loaded.sizes,
            today=today,
            drills=drills,
            shots=usable_shots(loaded.session, loaded.shots),
            compared=read.compared,
        )
    house = find_brand(brand, loaded)
    properties = properties_of(report, recap_mark(loaded), loaded.session.lesson.date or today)
    with typefaces_in_use(house.family), speaking(loaded.session.student.language):
        pages, left_out = one_page(report, house, paper)
        refuse_missing_letters(pages, house, loaded.problem_of_letter)
        document = draw_pages(pages, properties, _no_picture)
    publish(
        target, document, is_ours=lambda path: belongs_to(path, recap_mark(loaded)), force=force
    )
    warnings = (f"{left_out} parts of the recap had no room on the page",) if left_out else ()
    return Built(target, len(pages), (*loaded.warnings, *warnings))


def one_page(report: Report, brand: Brand, paper: str) -> tuple[tuple[Page, ...], int]:
    """Return the recap as one page, and how many of its last rows and blocks had no room.

    Raises
    ------
    LimitError
        If not even what to test and the thoughts fit.
    """
    layout = load_page_layout(LAYOUT)
    left_out = 0
    while True:
        try:
            pages = typeset_report(report, layout, brand, paper)
        except LimitError:
            pages = ()
        if len(pages) == 1:
            return pages, left_out
        shorter = _shorter(report)
        if shorter is None:
            message = "the recap does not fit one page; shorten the thoughts or the cold test"
            raise LimitError(message)
        report, left_out = shorter, left_out + 1


def _shorter(report: Report) -> Report | None:
    """Return the recap without its last row, or its last block; None where nothing may go."""
    (sheet,) = report.sheets
    blocks = list(sheet.blocks)
    if len(blocks) <= LEAST_BLOCKS:
        return None
    last = blocks.pop()
    if isinstance(last, RecordTable) and len(last.rows) > 1:
        blocks.append(replace(last, rows=last.rows[:-1]))
    return replace(report, sheets=(replace(sheet, blocks=tuple(blocks)),))


def _no_picture(box: Picture) -> bytes:
    message = f"a recap holds no picture, but {box.frame} was asked for"
    raise LookupError(message)


def recap_mark(loaded: LoadedSession) -> str:
    """Return what tells this lesson's recap from its handout and from any other file."""
    return f"recap-{lesson_mark(loaded)}"
