"""The shelf command: begin one, add, find, compare, prove, and what waits to be done."""

from dataclasses import asdict
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from reporter.commands.options import ANY_PATH, JSON_VERSION, today
from reporter.commands.screen import (
    Screen,
    product,
    product_json,
    show_error,
    table,
)
from reporter.commands.shelf_booklet import booklet
from reporter.commands.shelf_keeping import KEEPING
from reporter.commands.shelf_options import (
    AS_CSV,
    AS_JSON,
    PDF,
    RECORD_HEADINGS,
    STUDENT,
    added_line,
    day_typed,
    now,
    opened,
    page_options,
    record_cells,
    shelf_command,
    wanted_page,
    who_works,
)
from reporter.commands.shelf_rights import RIGHTS
from reporter.errors import ExitCode, InputRefusedError, Problem, ReporterError

if TYPE_CHECKING:
    from reporter.archive.place import Place

CSV_FIELDS = (
    "number", "day", "student", "student_name", "coach", "lesson", "version", "current", "title",
    "kept_until", "origin", "given_at", "digest", "added_at", "added_by",
)  # fmt: skip


@click.group()
def shelf() -> None:
    """Keep an academy's lessons: find, compare and prove them, hand them over, erase them."""


@shelf_command("start")
def start(screen: Screen, folder: "Place", who: str | None) -> None:
    """Begin an empty shelf in a folder of its own."""
    from reporter.archive.shelf import start_shelf

    with start_shelf(folder, who=who_works(who), at=now()):
        screen.say(f"{folder}: an empty shelf")


@shelf_command("add")
@click.argument("files", nargs=-1, required=True, type=ANY_PATH)
@click.option("--again", is_flag=True, help="Take a student who was erased before.")
def add(
    screen: Screen, folder: "Place", who: str | None, files: tuple[Path, ...], again: bool
) -> ExitCode | None:
    """Put record PDFs on the shelf, each told as soon as it will last."""
    from reporter.archive.adding import Addition, add_record
    from reporter.archive.files import LARGEST_PDF_BYTES
    from reporter.safe_open import read_given

    failed = 0
    with opened(folder, who, write=True) as shelf:
        for file in files:
            try:
                document = read_given(file, LARGEST_PDF_BYTES)
                added = add_record(shelf, document, str(file), Addition(again))
            except ReporterError as error:
                if len(files) == 1:
                    raise
                show_error(error)
                failed += 1
                if error.exit_code in (ExitCode.CANNOT_WRITE, ExitCode.ARCHIVE_BUSY):
                    raise  # the next one would fare no better
            else:
                product(f"{file}: {added_line(added)}")
    if failed == len(files):
        return ExitCode.INPUT_REFUSED
    return ExitCode.BATCH_PARTLY_FAILED if failed else None


@shelf_command("find")
@click.argument("words", nargs=-1)
@click.option("--student", metavar="ID", help="A student's id or name.")
@click.option("--coach", metavar="NAME", default="", help="Who gave the lesson.")
@click.option("--academy", metavar="NAME", default="", help="Where, of several academies.")
@click.option("--club", metavar="CLUB", default="", help="A club of the lesson.")
@click.option("--fault", metavar="FAULT", default="", help="A fault its drills are listed for.")
@click.option("--drill", metavar="ID", default="", help="A drill that was given.")
@click.option("--camera", metavar="LABEL", default="", help="A camera it was filmed with.")
@click.option("--since", metavar="DAY", help="Lessons from this day on.")
@click.option("--until", metavar="DAY", help="Lessons up to this day.")
@click.option(
    "--measure", "measures", multiple=True, metavar="RANGE",
    help='A measure with a value in a range, such as "shaft-lean:5..12", "shaft-lean:5.." or'
    ' "shaft-lean:..12".',
)  # fmt: skip
@click.option("--best", is_flag=True, help="Best match first, among the newest 2000.")
@click.option("--all-versions", is_flag=True, help="Old versions of a lesson too.")
@click.option("--foreign", is_flag=True, help="Only PDFs from elsewhere.")
@click.option("--most", type=click.IntRange(1, 1_000_000), default=20, show_default=True,
              help="How many at most.")  # fmt: skip
@AS_JSON
@AS_CSV
def find(
    screen: Screen,
    folder: "Place",
    who: str | None,
    words: tuple[str, ...],
    student: str | None,
    since: str | None,
    until: str | None,
    measures: tuple[str, ...],
    best: bool,
    all_versions: bool,
    foreign: bool,
    most: int,
    as_json: bool,
    as_csv: bool,
    **filters: str,
) -> None:
    """List lessons that hold all WORDS and pass the filters, the newest first."""
    from reporter.archive.entry import folded
    from reporter.archive.shelf import the_student
    from reporter.archive.store import Wanted
    from reporter.handout.formula_safe import safe_csv

    if best and not words:
        message = "--best needs words to look for"
        raise click.UsageError(message)
    _judge_fault(filters["fault"])
    with opened(folder, who, write=False) as shelf:
        wanted = Wanted(
            text=" ".join(words),
            students=(the_student(shelf, student).number,) if student is not None else (),
            since=day_typed(since, "since"),
            until=day_typed(until, "until"),
            measures=tuple(_range_typed(text) for text in measures),
            origin="foreign" if foreign else None,
            all_versions=all_versions,
            order="best" if best else "newest",
            most=most + 1,
            **{name: folded(text) for name, text in filters.items()},
        )
        found = shelf.store.find(wanted)
    more, found = len(found) > most, found[:most]
    if as_json:
        product_json(
            {"version": JSON_VERSION, "records": [asdict(row) for row in found], "more": more}
        )
    elif as_csv:
        rows = [[getattr(row, field) for field in CSV_FIELDS] for row in found]
        product(safe_csv(CSV_FIELDS, rows).decode().rstrip("\r\n"))
    elif found:
        product(table(RECORD_HEADINGS, [record_cells(row) for row in found]))
    else:
        screen.say("nothing on the shelf fits all of this")
    if more:
        screen.say(f"there are more than {most}; ask for them with --most")


def _judge_fault(fault: str) -> None:
    """Refuse a fault that no drill is listed for, the nearest one beside it."""
    from reporter.complaints import nearest_name
    from reporter.story.drill_words import FAULTS

    if fault and fault.casefold() not in FAULTS:
        near = nearest_name(fault, list(FAULTS))
        hint = f'; did you mean "{near}"?' if near else f"; known are {', '.join(FAULTS)}"
        message = f'"{fault}" is not known{hint}'
        raise InputRefusedError([Problem("command line", 0, 0, "fault", message)])


def _range_typed(text: str) -> Any:  # noqa: ANN401 - a MeasureRange, imported late
    """Return a measure and its range as typed: ``id``, ``id:low..high``, either end left out."""
    from reporter.archive.store import MeasureRange
    from reporter.complaints import nearest_name
    from reporter.measure import BY_ID
    from reporter.units import parse_number

    def refused(reason: str) -> InputRefusedError:
        return InputRefusedError([Problem("command line", 0, 0, "measure", reason)])

    name, _, typed = text.partition(":")
    name = name.strip()
    if name not in BY_ID:
        near = nearest_name(name, list(BY_ID))
        hint = f'; did you mean "{near}"?' if near else ""
        reason = f'no measure is called "{name}"{hint}'
        raise refused(reason)
    if not typed.strip():
        return MeasureRange(name)
    low, dots, high = typed.partition("..")
    if not dots:
        reason = f'"{typed.strip()}" is no range; write 5..12, 5.. or ..12'
        raise refused(reason)
    try:
        ends = [parse_number(end.strip()) if end.strip() else None for end in (low, high)]
    except ValueError as error:
        raise refused(str(error)) from None
    return MeasureRange(name, *ends)


@shelf_command("progress")
@STUDENT
@click.option("--measure", "only", metavar="ID", help="One measure only.")
@AS_JSON
@AS_CSV
@PDF
@page_options
def progress(
    screen: Screen,
    folder: "Place",
    who: str | None,
    student: str,
    only: str | None,
    as_json: bool,
    as_csv: bool,
    pdf: Path | None,
    **look: Any,  # noqa: ANN401 - as typed, handed on
) -> None:
    """Tell a STUDENT's measures and cold tests over the lessons, so that noise is no progress."""
    from dataclasses import replace

    from reporter.archive import plain
    from reporter.archive.progress import progress_of
    from reporter.archive.shelf import the_student
    from reporter.handout.formula_safe import safe_csv

    if only is not None:
        _range_typed(only)
    if pdf is not None:
        if only is not None or as_json or as_csv:
            message = "--pdf does not go with --measure, --json or --csv"
            raise click.UsageError(message)
        _progress_page(screen, folder, who, student, wanted_page(pdf, **look))
        return
    with opened(folder, who, write=False) as shelf:
        found = progress_of(shelf, the_student(shelf, student))
    if only is not None:
        found = replace(found, series=tuple(o for o in found.series if o.measure == only))
    if as_json:
        product_json({"version": JSON_VERSION, **plain.progress_as_json(found)})
        return
    if as_csv:
        rows = safe_csv(plain.POINT_HEADINGS, plain.point_rows(found))
        product(rows.decode().rstrip("\r\n"))
        return
    lines = list(plain.series_rows(found))
    if lines:
        product(table(plain.SERIES_HEADINGS, lines))
    tests = list(plain.test_rows(found))
    if tests:
        product("")
        product(table(plain.TEST_HEADINGS, tests))
    for change in found.camera_changes:
        product(f"{change.day}: camera {change.view}: {change.earlier} then {change.later}")
    for reason in dict.fromkeys(one.reason for one in found.series):
        screen.say(reason)
    if not lines and not tests:
        screen.say("no measure and no cold test on the shelf")


def _progress_page(
    screen: Screen,
    folder: "Place",
    who: str | None,
    student: str,
    wanted: Any,  # noqa: ANN401
) -> None:
    from reporter.archive.handing_over import last_lesson
    from reporter.archive.progress_courses import student_progress
    from reporter.archive.shelf import the_student
    from reporter.handout.shelf_pages import build_progress

    with opened(folder, who, write=False) as shelf:
        one = the_student(shelf, student)
        _, lesson = last_lesson(shelf, one)
        found = student_progress(shelf, one)
    built = build_progress(lesson, found, wanted)
    screen.say(f"{built.path}: {built.pages} page{'s' if built.pages != 1 else ''}")


@shelf_command("due")
@AS_JSON
def due(screen: Screen, folder: "Place", who: str | None, as_json: bool) -> None:
    """List handouts not given out, consents that end, sheets not answered, records to let go."""
    from reporter.archive.due import due as what_is_due

    with opened(folder, who, write=False) as shelf:
        found = what_is_due(shelf, today())
    if as_json:
        product_json({"version": JSON_VERSION, "day": today().isoformat(), **asdict(found)})
        return
    for heading, rows in (
        ("Handouts not noted as given out, last 90 days", found.not_given),
        ("Consents that end within 30 days", found.ending),
        ("Practice sheets not answered, lessons 14 to 90 days ago", found.unanswered),
        ("Records past the day they may be kept to", found.past),
    ):
        if rows:
            product(f"{heading}: {len(rows)}")
            cells = [(*record_cells(row)[:6], row.kept_until) for row in rows]
            product(table((*RECORD_HEADINGS[:6], "kept until"), cells))
    if not any((found.not_given, found.ending, found.unanswered, found.past)):
        screen.say("nothing waits")


@shelf_command("given")
@click.argument("lesson")
@click.option("--on", "day", metavar="DAY", help="On this day; today if left out.")
def given(screen: Screen, folder: "Place", who: str | None, lesson: str, day: str | None) -> None:
    """Note that the handout of a LESSON (its id) was given out."""
    on = day_typed(day, "on") or today().isoformat()
    with opened(folder, who, write=True) as shelf:
        row = shelf.store.note_given(lesson, on, shelf.who, shelf.at)
    screen.say(f"lesson {row.lesson}, version {row.version}: handout given out on {row.given_at}")


@shelf_command("prove")
@click.argument("file", type=ANY_PATH)
@AS_JSON
def prove(
    screen: Screen, folder: "Place", who: str | None, file: Path, as_json: bool
) -> ExitCode | None:
    """Tell whether a FILE is, byte for byte, a record on the shelf or a handout built with one."""
    from reporter.archive.entry import sha256
    from reporter.archive.files import LARGEST_PDF_BYTES
    from reporter.safe_open import read_given

    digest = sha256(read_given(file, LARGEST_PDF_BYTES))
    with opened(folder, who, write=False) as shelf:
        row = shelf.store.by_digest(digest)
    kind = "unknown" if row is None else "record" if row.digest == digest else "handout"
    if as_json:
        record = asdict(row) if row is not None else None
        product_json({"version": JSON_VERSION, "sha256": digest, "kind": kind, "record": record})
    elif row is None:
        product(f"{file}: not known to the shelf, or changed since")
    else:
        product(f"{file}: {kind} of lesson {row.lesson}, version {row.version}, of {row.day}")
    return None if row is not None else ExitCode.INPUT_REFUSED


@shelf_command("log")
@click.option("--most", type=click.IntRange(1, 1_000_000), default=50, show_default=True,
              help="How many lines at most.")  # fmt: skip
@AS_JSON
def log(screen: Screen, folder: "Place", who: str | None, most: int, as_json: bool) -> None:
    """Tell who did what, the latest first; no student is named in it."""
    with opened(folder, who, write=False) as shelf:
        rows = shelf.store.log(most)
    if as_json:
        product_json({"version": JSON_VERSION, "log": [asdict(row) for row in rows]})
        return
    cells = [
        (
            row.at,
            row.who,
            row.what,
            f"record {row.record}" if row.record is not None else f"{row.count} records",
        )
        for row in rows
    ]
    product(table(("when", "who", "what", "of"), cells))


for _command in (start, add, find, progress, booklet, due, given, prove, log, *KEEPING, *RIGHTS):
    shelf.add_command(_command)
