"""The booklet of a student's lessons: their handouts in one file, with contents and numbers."""

from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from reporter.commands.options import ANY_PATH
from reporter.commands.screen import Screen
from reporter.commands.shelf_options import (
    STUDENT,
    day_typed,
    opened,
    page_options,
    shelf_command,
    wanted_page,
)

if TYPE_CHECKING:
    from reporter.archive.place import Place


@shelf_command("booklet")
@STUDENT
@click.option("-o", "--output", type=ANY_PATH, metavar="OUT", required=True, help="The file.")
@click.option("--since", metavar="DAY", help="Lessons from this day on.")
@click.option("--until", metavar="DAY", help="Lessons up to this day.")
@page_options
def booklet(
    screen: Screen,
    folder: "Place",
    who: str | None,
    student: str,
    output: Path,
    since: str | None,
    until: str | None,
    **look: Any,  # noqa: ANN401 - as typed, handed on
) -> None:
    """Join the handouts of a STUDENT into one PDF: contents, the way over them, each lesson."""
    from reporter.archive.handing_over import last_lesson
    from reporter.archive.progress_courses import student_progress
    from reporter.archive.shelf import the_student
    from reporter.handout.shelf_pages import PastHandout, build_booklet

    first, last = day_typed(since, "since"), day_typed(until, "until")
    with opened(folder, who, write=True) as shelf:
        one = the_student(shelf, student)
        _, lesson = last_lesson(shelf, one)
        rows = [
            row
            for row in shelf.store.history(one.number)
            if row.origin == "own"
            and (not first or row.day >= first)
            and (not last or bool(row.day) and row.day <= last)
        ]
        found = student_progress(shelf, one, before=last)
        handouts = [PastHandout(row.day, row.title, shelf.document(row)) for row in rows]
        built = build_booklet(lesson, handouts, found, wanted_page(output, **look))
        shelf.store.note(shelf.who, "booklet", shelf.at, len(rows))
    screen.say(f"{built.path}: {len(rows)} lessons, {built.pages} pages")
