"""Commands that look after the shelf: verify, rebuild, tidy, upgrade, merge, import."""

import re
from dataclasses import asdict
from pathlib import Path
from typing import TYPE_CHECKING

import click

from reporter.commands.options import ANY_PATH, JSON_VERSION
from reporter.commands.screen import Screen, product, product_json, table
from reporter.commands.shelf_options import (
    AS_JSON,
    added_line,
    now,
    opened,
    shelf_command,
    who_works,
)
from reporter.errors import ExitCode

if TYPE_CHECKING:
    from reporter.archive.place import Place


@shelf_command("verify")
@click.option("--data", is_flag=True, help="Read every PDF and hold it against its name.")
@click.option(
    "--only", metavar="PART", help='A part of the PDFs, such as "3/12": the third of twelve.'
)
@click.option(
    "--state", type=ANY_PATH, metavar="FILE",
    help="Write how far it came into this file, and go on from there.",
)  # fmt: skip
@AS_JSON
def verify(
    screen: Screen,
    folder: "Place",
    who: str | None,
    data: bool,
    only: str | None,
    state: Path | None,
    as_json: bool,
) -> ExitCode | None:
    """Find and name every missing, changed or damaged file and row; nothing is repaired."""
    from reporter.archive.verify import Part
    from reporter.archive.verify import verify as check

    part = None
    if only is not None:
        typed = re.fullmatch(r"([0-9]{1,3})/([0-9]{1,3})", only)
        number, of = (int(typed[1]), int(typed[2])) if typed else (0, 0)
        if not 1 <= number <= of <= 256:
            message = f'--only: "{only}" is no part; write 3/12, with at most 256 parts'
            raise click.UsageError(message)
        part = Part(number, of)
    with screen.working("checking"), opened(folder, who, write=_may_write(folder)) as shelf:
        checked = check(shelf, data=data, part=part, state=state)
    if as_json:
        product_json({"version": JSON_VERSION, **asdict(checked)})
    elif checked.damages:
        cells = [(one.kind, one.name, one.told) for one in checked.damages]
        product(table(("what", "where", "found"), cells))
    screen.say(
        f"{checked.records} records and {checked.files} files looked at,"
        f" {checked.bytes_read} bytes read; {len(checked.damages)} faults"
    )
    if checked.left_over:
        screen.say(f"{checked.left_over} unfinished files of killed runs; shelf tidy removes them")
    return ExitCode.ARCHIVE_DAMAGED if checked.damages else None


def _may_write(folder: "Place") -> bool:
    import os

    return not folder.address and os.access(folder.folder, os.W_OK)


@shelf_command("rebuild")
@click.argument("out", type=ANY_PATH)
def rebuild(screen: Screen, folder: "Place", who: str | None, out: Path) -> ExitCode | None:
    """Make a new shelf in OUT from the PDFs of this one; its database may be lost."""
    from reporter.archive.place import is_address
    from reporter.archive.rebuild import rebuild as make
    from reporter.archive.shelf import start_shelf

    if is_address(str(out)):
        message = "OUT is a folder; from there shelf merge fills a new shelf on PostgreSQL"
        raise click.UsageError(message)
    with (
        screen.working("reading the records"),
        start_shelf(out, who=who_works(who), at=now()) as new,
    ):
        made = make(folder, new)
    for line in made.refused:
        product(line)
    if not made.by_database:
        screen.say(
            "the old database could not be read: versions are ordered by their files' times;"
            " notes of handouts given out, tombstones and the log are lost"
        )
    screen.say(f"{out}: {made.records} records; {len(made.refused)} files not taken over")
    return ExitCode.BATCH_PARTLY_FAILED if made.refused else None


@shelf_command("tidy")
@click.option("--yes", is_flag=True, help="Remove PDFs without a row too.")
def tidy(screen: Screen, folder: "Place", who: str | None, yes: bool) -> None:
    """Remove unfinished files of killed runs; with --yes also PDFs that no row speaks of."""
    from reporter.archive.leaving import left_overs
    from reporter.archive.leaving import tidy as clear

    with opened(folder, who, write=True) as shelf:
        without_row = list(left_overs(shelf))
        count = clear(shelf) if yes else shelf.files.remove_unfinished()
        if count:
            shelf.store.note(shelf.who, "tidied", shelf.at, count)
    screen.say(f"{count} files removed")
    if without_row and not yes:
        screen.say(f"{len(without_row)} PDFs have no row; look at them, or tidy with --yes")


@shelf_command("upgrade")
def upgrade(screen: Screen, folder: "Place", who: str | None) -> None:
    """Bring an older shelf up to this release's format, in one step or not at all."""
    with opened(folder, who, write=True):
        screen.say(f"{folder}: of this release's format")


@shelf_command("merge")
@click.argument("other")
@click.option("--other-files", type=ANY_PATH, metavar="FOLDER",
              help="With an address as OTHER: the folder of its PDFs.")  # fmt: skip
@click.option("--again", is_flag=True, help="Students who were erased here too.")
@AS_JSON
def merge(
    screen: Screen,
    folder: "Place",
    who: str | None,
    other: str,
    other_files: Path | None,
    again: bool,
    as_json: bool,
) -> ExitCode | None:
    """Take over every record of the shelf OTHER that is not here, by lesson and version."""
    from reporter.archive.merging import merge as join
    from reporter.archive.place import place_typed
    from reporter.archive.shelf import open_shelf

    theirs = place_typed(other, other_files, "--other-files")
    with (
        screen.working("joining"),
        opened(folder, who, write=True) as shelf,
        open_shelf(theirs, who=shelf.who, at=shelf.at, write=False, check=True) as there,
    ):
        merged = join(shelf, there, again=again)
    if as_json:
        product_json({"version": JSON_VERSION, **asdict(merged)})
    else:
        for line in merged.refused:
            product(f"not taken: {line}")
        for lesson in merged.apart:
            product(f"lesson {lesson}: the version here goes on counting; theirs is kept beside it")
        for student in merged.erased_there:
            product(f"student {student} was erased there and stands here; erase or ask")
    screen.say(f"{merged.added} records added, {merged.already} were here")
    return ExitCode.BATCH_PARTLY_FAILED if merged.refused else None


@shelf_command("import")
@click.argument("pdf", type=ANY_PATH)
@click.option("--student", metavar="ID", default="", help="Put it to this student of the shelf.")
@click.option("--again", is_flag=True, help="Take a student who was erased before.")
def take_in(
    screen: Screen, folder: "Place", who: str | None, pdf: Path, student: str, again: bool
) -> None:
    """Take in a PDF that somebody sent, as foreign: it never replaces a record."""
    from reporter.archive.importing import LARGEST_IMPORT_BYTES, import_pdf
    from reporter.archive.shelf import the_student
    from reporter.safe_open import read_given

    document = read_given(pdf, LARGEST_IMPORT_BYTES)
    with opened(folder, who, write=True) as shelf:
        known = the_student(shelf, student).id if student else ""
        added = import_pdf(shelf, document, str(pdf), student=known, again=again)
    product(f"{pdf}: {added_line(added)}")


KEEPING = (verify, rebuild, tidy, upgrade, merge, take_in)
