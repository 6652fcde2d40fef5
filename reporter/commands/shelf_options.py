"""What the shelf's commands share: which shelf, who works at it, when, and shelving at build."""

import contextlib
import datetime
import functools
import getpass
import os
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from reporter.commands.options import ANY_PATH, LANGUAGE, PAPER, Command, today, with_loudness
from reporter.errors import ExitCode, InputRefusedError, Problem

if TYPE_CHECKING:
    from reporter.archive.place import Place
    from reporter.archive.shelf import Shelf
    from reporter.archive.store import RecordRow
    from reporter.session.schema import Session
    from reporter.story.student_progress import ProgressSource, StudentProgress

SHELF_VARIABLE = "LESSON_REPORTER_SHELF"
WHO_VARIABLE = "LESSON_REPORTER_WHO"
LONGEST_NAME = 100
FILES_VARIABLE = "LESSON_REPORTER_SHELF_FILES"
SHELF = click.option(
    "--shelf", "typed_shelf", metavar="SHELF", required=True, envvar=SHELF_VARIABLE,
    help="The shelf: a folder, or the address of a PostgreSQL database, postgresql://...; else the"
    f" one that {SHELF_VARIABLE} names.",
)  # fmt: skip
FILES = click.option(
    "--files", "typed_files", type=ANY_PATH, metavar="FOLDER", envvar=FILES_VARIABLE,
    help=f"With an address: the folder of the PDFs; else the one that {FILES_VARIABLE} names.",
)  # fmt: skip
SHELF_OF_BUILD = click.option(
    "--shelf", metavar="SHELF", envvar=SHELF_VARIABLE,
    help=f"With --shelve and --progress: the shelf; else the one that {SHELF_VARIABLE} names.",
)  # fmt: skip
FILES_OF_BUILD = click.option(
    "--shelf-files", type=ANY_PATH, metavar="FOLDER", envvar=FILES_VARIABLE,
    help="With --shelve on PostgreSQL: the folder of the PDFs; else the one that"
    f" {FILES_VARIABLE} names.",
)  # fmt: skip
BY = click.option(
    "--by", "who", metavar="NAME", envvar=WHO_VARIABLE,
    help=f"Who does it, for the log; else {WHO_VARIABLE}, else your name on this computer.",
)  # fmt: skip
AS_JSON = click.option(
    "--json", "as_json", is_flag=True, help="One JSON object on the output stream."
)
AS_CSV = click.option("--csv", "as_csv", is_flag=True, help="CSV on the output stream.")
YES = click.option("--yes", is_flag=True, help="Do it; without it only what would go is listed.")
STUDENT = click.argument("student")
PDF = click.option("--pdf", type=ANY_PATH, metavar="OUT", help="Write it as a PDF to print.")
BRAND = click.option("--brand", metavar="B", help="Of the PDF: a name or a folder.")
FORCE = click.option("--force", is_flag=True, help="Replace a file that is not this page.")


def page_options(command: Command) -> Command:
    """Add how a page from the shelf is made: brand, paper, language, whether to replace."""
    return BRAND(PAPER(LANGUAGE(FORCE(command))))


def shelf_command(name: str) -> Callable[[Command], click.Command]:
    """Make a command of the shelf: with -q and -v, ``--shelf``, ``--files`` and ``--by``.

    The command is given the place of the shelf as `folder`.
    """

    def make(command: Command) -> click.Command:
        loud = with_loudness(command)

        @functools.wraps(loud)
        def placed(
            *,
            typed_shelf: str,
            typed_files: Path | None,
            **given: Any,  # noqa: ANN401 - whatever the command takes
        ) -> ExitCode | None:
            from reporter.archive.place import place_typed

            return loud(folder=place_typed(typed_shelf, typed_files), **given)

        return click.command(name)(SHELF(FILES(BY(placed))))

    return make


def who_works(who: str | None) -> str:
    """Return who is written into the log: without control characters, and not long."""
    who = who or os.environ.get(WHO_VARIABLE)
    if who is None:
        try:
            who = getpass.getuser()
        except (OSError, KeyError, ImportError):
            who = "not known"
    return "".join(sign for sign in who if sign.isprintable())[:LONGEST_NAME].strip() or "not known"


def now() -> str:
    """Return the UTC time to the second, or the one a reproducible run asks for."""
    if os.environ.get("SOURCE_DATE_EPOCH"):
        return f"{today().isoformat()}T00:00:00Z"
    return datetime.datetime.now(datetime.UTC).strftime("%Y-%m-%dT%H:%M:%SZ")


@contextlib.contextmanager
def opened(folder: "Place", who: str | None, *, write: bool) -> "Iterator[Shelf]":
    """Open the shelf a command was told."""
    from reporter.archive.shelf import open_shelf

    with open_shelf(folder, who=who_works(who), at=now(), write=write) as shelf:
        yield shelf


def day_typed(text: str | None, option: str) -> str:
    """Return a typed date as ISO text, empty if none was typed; refuse anything else."""
    if text is None:
        return ""
    try:
        if len(text) == len("2027-04-13"):
            return datetime.date.fromisoformat(text).isoformat()
    except ValueError:
        pass
    message = f'"{text}" is not a date; write year-month-day, for example 2027-04-13'
    raise InputRefusedError([Problem("command line", 0, 0, option, message)])


def record_cells(row: "RecordRow") -> tuple[str, ...]:
    """Return a record as a row of a table; see `RECORD_HEADINGS`."""
    version = f"{row.version}" if row.current else f"{row.version} (old)"
    if row.origin == "foreign":
        version = "from elsewhere"
    return (
        row.day, row.student, row.student_name, row.coach, row.lesson[:24], version, row.title,
    )  # fmt: skip


RECORD_HEADINGS = ("day", "student", "name", "coach", "lesson", "version", "title")


def wanted_page(
    output: Path, brand: str | None, paper: str, language: str | None, force: bool
) -> Any:  # noqa: ANN401 - of the pages, imported late
    """Return how a page from the shelf is to be made."""
    from reporter.handout.shelf_pages import Wanted

    return Wanted(output, brand, paper, language, today(), force)


def lessons_before(typed: str, files: Path | None) -> "ProgressSource":
    """Return what finds a student's earlier lessons on a shelf, for a page of the next handout."""
    from reporter.archive.place import place_typed

    place = place_typed(typed, files, "--shelf-files")

    def find(session: "Session", lesson: str) -> "StudentProgress | None":
        from reporter.archive.progress_courses import student_progress

        if session.student.id is None:
            return None
        day = session.lesson.date or today()
        with opened(place, None, write=False) as shelf:
            found = [one for one in shelf.store.students(session.student.id)
                     if one.id == session.student.id]  # fmt: skip
            if not found:
                return None
            return student_progress(shelf, found[0], before=day.isoformat(), but=lesson)

    return find


class ShelvedBuild:
    """A build that also shelves its record: judged before anything is written, put in after."""

    def __init__(self, shelf: str | None, files: Path | None, *, again: bool) -> None:
        self._typed = shelf
        self._files = files
        self._again = again
        self._stack = contextlib.ExitStack()
        self._shelf: Shelf | None = None

    def __enter__(self) -> "ShelvedBuild":
        if self._typed is not None:
            from reporter.archive.place import place_typed

            place = place_typed(self._typed, self._files, "--shelf-files")
            self._shelf = self._stack.enter_context(opened(place, None, write=True))
        return self

    def __exit__(self, *raised: object) -> None:
        self._stack.close()

    @property
    def judge(self) -> Callable[[bytes], None] | None:
        """What is asked about the record before the handout is written; None without a shelf."""
        return self._judge if self._shelf is not None else None

    def _judge(self, record: bytes) -> None:
        from reporter.archive.adding import judge_record

        assert self._shelf is not None
        judge_record(self._shelf, record, "the record", again=self._again)

    def put(self, built: Any) -> Iterator[str]:  # noqa: ANN401 - of the build, imported late
        """Put the record on the shelf; yield what to say of it."""
        if self._shelf is None:
            return
        from reporter.archive.adding import Addition, add_record

        handout = built.path.read_bytes()
        added = add_record(
            self._shelf,
            built.record,
            "the record",
            Addition(self._again, handout if handout != built.record else None),
        )
        yield added_line(added)


def added_line(added: Any) -> str:  # noqa: ANN401 - of the archive, imported late
    """Say what became of a record."""
    row = added.row
    where = f"lesson {row.lesson} of student {row.student or '(nobody)'}, version {row.version}"
    if not added.already:
        return f"shelved: {where}"
    newer = f"; the newest is {added.newest}" if added.newest > row.version else ""
    return f"already on the shelf: {where}{newer}"
