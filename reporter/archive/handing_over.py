"""A hand-over as the plain data that a page is worded from, with the last lesson itself."""

from reporter.archive.handover import MOST_CHANGES, handover_of
from reporter.archive.progress import progress_of
from reporter.archive.progress_courses import student_progress
from reporter.archive.read_record import read_record
from reporter.archive.shelf import Shelf
from reporter.archive.store import StudentRow
from reporter.errors import InputRefusedError, Problem
from reporter.session.schema import Session
from reporter.story.handover_page import ChangeThen, HandedOver, PastLesson


def last_lesson(shelf: Shelf, student: StudentRow) -> tuple[str, Session]:
    """Return the id of a student's last lesson and the lesson.

    Raises
    ------
    InputRefusedError
        If no lesson of our own is on the shelf.
    ShelfDamagedError
        If its PDF is missing or damaged.
    """
    rows = [row for row in shelf.store.history(student.number) if row.origin == "own"]
    if not rows:
        message = f"student {student.id} has no lesson of our own on the shelf"
        raise InputRefusedError([Problem("command line", 0, 0, "student", message)])
    last = rows[-1]
    return last.lesson, read_record(shelf.document(last), f"record {last.number}").lesson


def handed_over(shelf: Shelf, student: StudentRow) -> HandedOver:
    """Return what is handed over of a student besides the last lesson; errors as `last_lesson`."""
    told = handover_of(shelf, student)
    lesson, _ = last_lesson(shelf, student)
    known = student_progress(shelf, student)
    last = [row.number for row in shelf.store.history(student.number) if row.lesson == lesson]
    return HandedOver(
        lessons=told.lessons,
        past=tuple(
            PastLesson(one.day, one.coach, one.clubs, one.drills, one.thoughts) for one in told.past
        ),
        changed=tuple(
            one for one in known.courses if one.verdict == "changed" and one.difference is not None
        )[:MOST_CHANGES],
        last_changes=tuple(
            ChangeThen(
                one.name, one.view, one.position, one.change, one.plus_minus, one.unit, one.verdict
            )
            for one in progress_of(shelf, student).changes
            if one.record in last and one.change is not None and one.plus_minus is not None
        )[:MOST_CHANGES],
        counts=known.counts,
        cameras=told.cameras,
        judged_together=known.judged_together,
    )
