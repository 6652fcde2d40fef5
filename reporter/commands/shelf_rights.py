"""Commands about a student's rights: export, erase, retire, totals, hand-over."""

import os
import secrets
import zipfile
from collections.abc import Iterator
from dataclasses import asdict
from pathlib import Path
from typing import TYPE_CHECKING, Any, cast

import click

from reporter.commands.options import ANY_PATH, JSON_VERSION, today
from reporter.commands.screen import Screen, product, product_json, table
from reporter.commands.shelf_options import (
    AS_JSON,
    PDF,
    RECORD_HEADINGS,
    STUDENT,
    YES,
    opened,
    page_options,
    record_cells,
    shelf_command,
    wanted_page,
)
from reporter.errors import CannotWriteError, ExitCode
from reporter.publish import publish

if TYPE_CHECKING:
    from reporter.archive.place import Place
    from reporter.archive.shelf import Shelf
    from reporter.archive.store import Grouping

Files = Iterator[tuple[str, bytes]]
GROUPINGS = ("coach", "fault", "drill", "club", "level", "age_band", "month")
RESUME = click.option("--resume", is_flag=True, help="End what an interrupted run began.")


@shelf_command("export")
@STUDENT
@click.argument("out", type=ANY_PATH)
def export(screen: Screen, folder: "Place", who: str | None, student: str, out: Path) -> None:
    """Write everything kept of a STUDENT into OUT: a new folder, or a file ending in .zip."""
    from reporter.archive.exporting import exported_files
    from reporter.archive.shelf import the_student

    if out.exists():
        message = f"{out} exists; an export is written to a new place"
        raise CannotWriteError(message)
    with opened(folder, who, write=True) as shelf:
        files = exported_files(shelf, the_student(shelf, student))
        try:
            count = _as_zip(files, out) if out.suffix.lower() == ".zip" else _as_folder(files, out)
        except OSError as error:
            message = f"cannot write {out}: {error.strerror}"
            raise CannotWriteError(message) from None
        shelf.store.note(shelf.who, "exported", shelf.at, count)
    screen.say(f"{out}: {count} files")


def _as_folder(files: Files, out: Path) -> int:
    count = 0
    for name, data in files:
        target = out / name
        target.parent.mkdir(parents=True, exist_ok=True)
        publish(target, data)
        count += 1
    return count


def _as_zip(files: Files, out: Path) -> int:
    """Write one file whole or not at all."""
    unfinished = out.with_name(f".lesson-reporter-{os.getpid()}-{secrets.token_hex(6)}.part")
    count = 0
    try:
        with unfinished.open("xb") as opened_file:
            with zipfile.ZipFile(opened_file, "w", zipfile.ZIP_DEFLATED) as packed:
                for name, data in files:
                    packed.writestr(zipfile.ZipInfo(name), data, zipfile.ZIP_DEFLATED)
                    count += 1
            opened_file.flush()
            os.fsync(opened_file.fileno())
        unfinished.replace(out)
    finally:
        unfinished.unlink(missing_ok=True)
    return count


@shelf_command("erase")
@click.argument("student", required=False)
@YES
@RESUME
def erase(
    screen: Screen, folder: "Place", who: str | None, student: str | None, yes: bool, resume: bool
) -> None:
    """Erase everything of a STUDENT for good; without --yes only what would go is listed."""
    from reporter.archive.leaving import erase_student
    from reporter.archive.shelf import the_student

    if resume == (student is not None):
        message = "name a student, or give --resume alone"
        raise click.UsageError(message)
    with opened(folder, who, write=yes or resume) as shelf:
        if student is None:
            _resume(screen, shelf)
            return
        one = the_student(shelf, student)
        rows = shelf.store.history(one.number, all_versions=True)
        if not yes:
            product(table(RECORD_HEADINGS, [record_cells(row) for row in rows]))
            screen.say(f"{len(rows)} records of student {one.id} would go for good; --yes does it")
            return
        gone = erase_student(shelf, one)
    screen.say(f"{gone.records} records and {gone.left_over} left-over files erased")
    for name in gone.same_name:
        screen.say(f"a PDF from elsewhere carries the same name and is put to nobody: {name}")


def _resume(screen: Screen, shelf: "Shelf") -> None:
    from reporter.archive.leaving import resume

    gone = resume(shelf)
    screen.say(f"ended: {gone.records} records and {gone.left_over} left-over files removed")


@shelf_command("retire")
@click.option(
    "--years", type=click.IntRange(1, 200), metavar="N", help="Also lessons older than N years."
)
@YES
@RESUME
@AS_JSON
def retire(
    screen: Screen,
    folder: "Place",
    who: str | None,
    years: int | None,
    yes: bool,
    resume: bool,
    as_json: bool,
) -> None:
    """Let records go that may be kept no longer; without --yes only what would go is listed."""
    from reporter.archive.due import retirable
    from reporter.archive.leaving import retire_records

    with opened(folder, who, write=yes or resume) as shelf:
        if resume:
            _resume(screen, shelf)
            return
        found = retirable(shelf, today(), years)
        if yes:
            gone = retire_records(shelf, [row.number for row, _ in found])
    if as_json:
        records = [{**asdict(row), "reason": reason} for row, reason in found]
        product_json({"version": JSON_VERSION, "done": yes, "records": records})
    elif found:
        cells = [(*record_cells(row)[:6], reason) for row, reason in found]
        product(table((*RECORD_HEADINGS[:6], "why"), cells))
    if yes:
        screen.say(f"{gone.records} records let go")
    else:
        screen.say(f"{len(found)} records would go for good; --yes does it")


@shelf_command("totals")
@click.option(
    "--by-group", "by", type=click.Choice(GROUPINGS), default="coach", show_default=True,
    help="What to count by.",
)  # fmt: skip
@click.option("--year", type=click.IntRange(1900, 2200), metavar="YEAR", help="Of one year.")
@AS_JSON
def totals(
    screen: Screen, folder: "Place", who: str | None, by: str, year: int | None, as_json: bool
) -> None:
    """Count lessons and students without names; groups of fewer than five are not shown."""
    from reporter.archive.totals import totals as count

    with opened(folder, who, write=False) as shelf:
        found = count(shelf, cast("Grouping", by), year)
    if as_json:
        product_json({"version": JSON_VERSION, **asdict(found)})
        return
    cells = [(row.name, str(row.students), str(row.lessons)) for row in found.rows]
    if found.students is not None:
        cells.append(("all", str(found.students), str(found.lessons)))
    product(table((by, "students", "lessons"), cells))
    if found.hidden_groups:
        screen.say(f"{found.hidden_groups} groups are not shown, so that nobody can be read off")


@shelf_command("handover")
@STUDENT
@AS_JSON
@PDF
@page_options
def handover(
    screen: Screen,
    folder: "Place",
    who: str | None,
    student: str,
    as_json: bool,
    pdf: Path | None,
    **look: Any,  # noqa: ANN401 - as typed, handed on
) -> ExitCode | None:
    """Tell another coach what is needed to go on with a STUDENT, on one page."""
    from reporter.archive.handover import handover_lines, handover_of
    from reporter.archive.shelf import the_student

    if pdf is not None and as_json:
        message = "--pdf does not go with --json"
        raise click.UsageError(message)
    with opened(folder, who, write=True) as shelf:
        if pdf is not None:
            _handover_page(screen, shelf, student, wanted_page(pdf, **look))
        else:
            one = handover_of(shelf, the_student(shelf, student))
        shelf.store.note(shelf.who, "handed over", shelf.at)
    if pdf is not None:
        return None
    if as_json:
        product_json({"version": JSON_VERSION, **asdict(one)})
    else:
        for line in handover_lines(one):
            product(line)
    return None


def _handover_page(
    screen: Screen,
    shelf: "Shelf",
    student: str,
    wanted: Any,  # noqa: ANN401
) -> None:
    from reporter.archive.handing_over import handed_over, last_lesson
    from reporter.archive.shelf import the_student
    from reporter.handout.shelf_pages import build_handover

    one = the_student(shelf, student)
    _, lesson = last_lesson(shelf, one)
    built = build_handover(lesson, handed_over(shelf, one), wanted)
    for line in built.warnings:
        screen.say(line)
    screen.say(f"{built.path}: 1 page")


RIGHTS = (export, erase, retire, totals, handover)
