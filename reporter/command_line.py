"""What a coach types: each command reads its options and calls one function.

Everything heavy is imported inside the commands, so that ``--help`` answers at once.
"""

import datetime
import os
import secrets
import sys
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any, NoReturn

import click

from reporter import __version__
from reporter.errors import CannotWriteError, ExitCode, InputRefusedError, ReporterError
from reporter.flight_options import EVERY_OPTION, read_flight_options
from reporter.flight_table import flight_lines, flight_rows, pattern_lines
from reporter.screen import (
    Screen,
    complain,
    product,
    product_json,
    show_error,
    show_fault,
    table,
)

JSON_VERSION = 1
DEFAULT_DEMO_FOLDER = "demo-lesson"
_PICTURE_ENDINGS = (".jpg", ".jpeg", ".png", ".heic", ".heif")
_ANY_PATH = click.Path(path_type=Path)
_PAPER = click.option(
    "--paper", type=click.Choice(["a4", "letter", "a5", "phone"]), default="a4", show_default=True,
    help="Sheet; each layout says which it is made for.",
)  # fmt: skip
_INK = click.option(
    "--ink", type=click.Choice(["colour", "grey", "saver"]), default="colour", show_default=True,
    help="In greys alone, or with as little ink as it can be read with.",
)  # fmt: skip

Command = Callable[..., ExitCode | None]


def _loudness(command: Command) -> Command:
    """Give a command the options -q and -v, and hand it a `Screen`."""

    def run(*, quiet: bool, verbose: bool, **others: Any) -> ExitCode | None:  # noqa: ANN401
        outer = click.get_current_context().find_root().params
        return command(
            Screen(quiet or outer.get("quiet", False), verbose or outer.get("verbose", False)),
            **others,
        )

    run.__name__, run.__doc__ = command.__name__, command.__doc__
    run.__dict__.update(command.__dict__)  # the options declared so far
    verbose = click.option("-v", "--verbose", is_flag=True, help="Say more.")
    return click.option("-q", "--quiet", is_flag=True, help="Say nothing but problems.")(
        verbose(run)
    )


@click.group(context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 100})
@click.version_option(__version__, prog_name="lesson-reporter")
@click.option("-q", "--quiet", is_flag=True, help="Say nothing but problems.")
@click.option("-v", "--verbose", is_flag=True, help="Say more.")
def cli(quiet: bool, verbose: bool) -> None:
    """Turn a golf lesson, written down with a few video frames, into a printed handout."""


@cli.command()
@click.argument("folder", type=_ANY_PATH)
@click.option(
    "--after", "last", type=_ANY_PATH, metavar="LAST",
    help="Carry student, consent, units, clubs and thoughts over from this lesson file.",
)  # fmt: skip
@_loudness
def new(screen: Screen, folder: Path, last: Path | None) -> None:
    """Write a commented session.yaml into FOLDER, from the pictures that lie in it."""
    from reporter.publish import publish
    from reporter.session.load import LESSON_FILE, load_session, load_text
    from reporter.session.scaffold import new_lesson

    target = folder / LESSON_FILE
    if os.path.lexists(target):
        message = f"{target} exists already; it is not overwritten"
        raise CannotWriteError(message)
    if not folder.is_dir():
        message = f"the folder {folder} is missing; make it and put the pictures into it"
        raise CannotWriteError(message)
    pictures = tuple(_pictures_in(folder))
    text = new_lesson(
        pictures,
        lesson_id=secrets.token_hex(8),
        student_id=secrets.token_hex(8),
        date=_today(),
        last=load_session(last) if last else None,
    ).encode("utf-8")
    load_text(text, target)  # a picture that cannot be used is told now, and nothing is written
    publish(target, text)
    screen.say(f"{target}: {len(pictures)} pictures; fill it in, then: lesson-reporter check")


def _pictures_in(folder: Path) -> Iterator[str]:
    """Yield the pictures of a folder and of its frames/, as a lesson names them."""
    for place in (folder, folder / "frames"):
        for file in sorted(place.iterdir()) if place.is_dir() else ():
            if file.suffix.lower() in _PICTURE_ENDINGS and not file.name.startswith("."):
                yield file.relative_to(folder).as_posix()


@cli.command()
@click.argument("file", type=_ANY_PATH)
@click.option("--json", "as_json", is_flag=True, help="One JSON object on the output stream.")
@click.option("--explain", is_flag=True, help="Name the origin of every value.")
@click.option("--strict", is_flag=True, help="End with 1 if there is advice or a warning.")
@_loudness
def check(
    screen: Screen, file: Path, as_json: bool, explain: bool, strict: bool
) -> ExitCode | None:
    """Check a lesson FILE: problems must be mended, advice may be."""
    from reporter.check import check_lesson

    answer: dict[str, Any] = {"version": JSON_VERSION, "file": str(file)}
    try:
        checked = check_lesson(file, today=_today(), reading_ease=screen.verbose)
    except InputRefusedError as error:
        if not as_json:
            raise
        problems = [_problem_as_json(problem) for problem in error.problems]
        lists = ("warnings", "advice", "silenced", "plan_notes")
        product_json({**answer, "problems": problems, **{name: [] for name in lists}})
        return ExitCode.INPUT_REFUSED
    loaded, found = checked.loaded, checked.advice
    origins: tuple[Any, ...] = ()
    if explain:
        from reporter.session.explain import origins as origins_of

        origins = origins_of(loaded)
    if as_json:
        answer |= _checked_as_json(checked)
        if explain:
            answer["origins"] = [
                {"field": o.field, "value": o.value, "file": o.file or None, "line": o.line or None}
                for o in origins
            ]
        product_json(answer)
    else:
        for origin in origins:
            product(str(origin))
        for line in (*loaded.warnings, *found.lines(loaded)):
            screen.say(line)
        for line in (*found.silenced_lines(), *checked.ease_lines()):
            screen.detail(line)
        count = len(found.advice)
        advised = f", {count} piece{'s' if count != 1 else ''} of advice" if count else ""
        screen.say(f"{file}: no problems{advised}")
    return ExitCode.WARNINGS if strict and (found.advice or loaded.warnings) else None


def _checked_as_json(checked: Any) -> dict[str, Any]:  # noqa: ANN401 - a Checked
    """Return what a check found, but for problems, which end it."""
    loaded, found = checked.loaded, checked.advice
    answer: dict[str, Any] = {
        "problems": [],
        "warnings": list(loaded.warnings),
        "advice": [_advice_as_json(loaded, one) for one in found.advice],
        "silenced": [
            {**_advice_as_json(loaded, one), "silenced_because": reason}
            for one, reason in found.silenced
        ],
        "plan_notes": [{"id": one.id, "message": one.message} for one in found.plan_notes],
    }
    if checked.ease:
        answer["reading_ease"] = [
            {"sheet": one.sheet, "ease": one.ease, "reason": one.reason or None}
            for one in checked.ease
        ]
    return answer


def _problem_as_json(problem: Any) -> dict[str, Any]:  # noqa: ANN401 - a Problem
    return {name: getattr(problem, name) for name in ("file", "line", "column", "field", "message")}


def _advice_as_json(loaded: Any, advice: Any) -> dict[str, Any]:  # noqa: ANN401 - see build.py
    file, line, column = loaded.place_of(advice.field)
    return {
        "id": advice.id,
        "file": file,
        "line": line,
        "column": column,
        "field": advice.field,
        "kind": advice.kind,
        "message": advice.message,
        "offer": advice.offer or None,
        "reason": advice.reason,
    }


@cli.command()
@click.argument("file", type=_ANY_PATH)
@click.option("-o", "--output", type=_ANY_PATH, metavar="OUT", help="The handout's file name.")
@click.option("--brand", metavar="B", help="Colours, typefaces and mark: a name or a folder.")
@click.option(
    "--layout", default="handout", show_default=True, metavar="L",
    help="Page layout, such as one-sheet, large-print or card-four.",
)  # fmt: skip
@_PAPER
@click.option("--strict", is_flag=True, help="End with 1 if there is a warning.")
@click.option("--force", is_flag=True, help="Replace a file that is not this lesson's handout.")
@click.option("--calendar", is_flag=True, help="Also write the visits as a calendar file (.ics).")
@click.option("--recap", is_flag=True, help="Write the coach's one-page recap instead.")
@click.option("--record", is_flag=True, help="Write the coach's record, which carries everything.")
@click.option("--no-attachments", is_flag=True, help="Let nothing travel inside the file.")
@click.option(
    "--for", "purpose", type=click.Choice(["print", "mail", "screen"]), default="print",
    show_default=True, help="How fine the pictures are: 300, 150 or 110 dots an inch.",
)
@click.option("--max-size", metavar="SIZE", help="Coarsen the pictures to fit, such as 5MB.")
@_INK
@_loudness
def build(
    screen: Screen,
    file: Path,
    output: Path | None,
    brand: str | None,
    layout: str,
    paper: str,
    strict: bool,
    force: bool,
    calendar: bool,
    recap: bool,
    record: bool,
    no_attachments: bool,
    purpose: Any,  # noqa: ANN401 - one of the choices, as is the ink
    max_size: str | None,
    ink: Any,  # noqa: ANN401
) -> ExitCode | None:
    """Build the handout of a lesson FILE."""
    from reporter.file_form import FileForm
    from reporter.picture_quality import parse_size

    if record and no_attachments:
        message = "--record is what carries everything; it does not go with --no-attachments"
        raise click.UsageError(message)
    largest = parse_size(max_size) if max_size is not None else None
    form = FileForm(record, not no_attachments, purpose, largest, ink)
    if recap:
        return _build_recap(
            screen, file, output, brand, paper, strict, force, alone=layout == "handout"
            and not calendar and form == FileForm(),
        )  # fmt: skip
    from reporter.build import build_handout

    with screen.working("building the handout"):
        built = build_handout(
            file,
            output=output,
            brand=brand,
            layout=layout,
            paper=paper,
            today=_today(),
            force=force,
            calendar=calendar,
            form=form,
        )
    return _tell_built(screen, built, strict=strict)


@cli.command()
@click.argument("file", type=_ANY_PATH)
@click.option("--brand", metavar="B", help="As for build.")
@click.option("--layout", default="handout", show_default=True, metavar="L", help="Page layout.")
@_PAPER
@_INK
@click.option("--json", "as_json", is_flag=True, help="One JSON object on the output stream.")
@click.option("--strict", is_flag=True, help="End with 1 if there is something to look at.")
@_loudness
def proof(
    screen: Screen,
    file: Path,
    brand: str | None,
    layout: str,
    paper: str,
    ink: Any,  # noqa: ANN401 - one of the choices
    as_json: bool,
    strict: bool,
) -> ExitCode | None:
    """Tell what a lesson FILE's handout costs in ink, and what will print badly."""
    from reporter.proof import HEADINGS, proof_as_json, proof_lines, proof_rows, prove_handout

    with screen.working("painting the pages"):
        proofs = prove_handout(
            file, brand=brand, layout=layout, paper=paper, ink=ink, today=_today()
        )
    lines = list(proof_lines(proofs))
    if as_json:
        product_json({"version": JSON_VERSION, "file": str(file), **proof_as_json(proofs)})
    else:
        product(table(HEADINGS, proof_rows(proofs)))
        for line in lines:
            product(line)
        if not lines:
            screen.say("nothing to look at: sizes, contrast and pictures are as they should be")
    return ExitCode.WARNINGS if strict and lines else None


def _build_recap(
    screen: Screen,
    file: Path,
    output: Path | None,
    brand: str | None,
    paper: str,
    strict: bool,
    force: bool,
    *,
    alone: bool,
) -> ExitCode | None:
    """Write the recap; `alone` says that no option was given which it cannot go with."""
    if not alone:
        message = "--recap goes with -o, --brand, --paper, --strict and --force alone"
        raise click.UsageError(message)
    from reporter.recap import build_recap

    with screen.working("building the recap"):
        built = build_recap(
            file, output=output, brand=brand, paper=paper, today=_today(), force=force
        )
    return _tell_built(screen, built, strict=strict)


def _tell_built(screen: Screen, built: Any, *, strict: bool) -> ExitCode | None:  # noqa: ANN401
    """Tell what was built; return the exit code."""
    for line in (*built.warnings, *built.advice):
        screen.say(line)
    for line in built.silenced:
        screen.detail(line)
    screen.say(f"{built.path}: {built.pages} page{'s' if built.pages != 1 else ''}")
    if built.told:
        screen.say(built.told)
    if built.calendar is not None:
        screen.say(f"{built.calendar}: the practice visits, for a calendar")
    return ExitCode.WARNINGS if strict and built.warnings else None


@cli.command()
@click.argument("folder", type=_ANY_PATH, default=Path(DEFAULT_DEMO_FOLDER))
@_loudness
def demo(screen: Screen, folder: Path) -> ExitCode | None:
    """Copy the demo lesson to FOLDER (demo-lesson if left out) and build handout.pdf in it."""
    from reporter.build import build_handout
    from reporter.bundled import demo_files
    from reporter.publish import publish

    try:
        for name, data in demo_files():
            target = folder / name
            target.parent.mkdir(parents=True, exist_ok=True)
            publish(target, data, is_ours=_holds(data))
            screen.detail(f"{target}")
    except OSError as error:
        message = f"cannot write into {folder}: {error.strerror}"
        raise CannotWriteError(message) from None
    with screen.working("building the demo"):
        built = build_handout(
            folder / "session.yaml",
            output=folder / "handout.pdf",
            brand=None,
            layout="handout",
            paper="a4",
            today=_today(),
            force=False,
        )
    return _tell_built(screen, built, strict=False)


def _holds(data: bytes) -> Callable[[Path], bool]:
    """Return a test whether a file holds exactly that."""
    return lambda path: path.read_bytes() == data


@cli.command()
@click.argument("file", type=_ANY_PATH)
@click.option("--json", "as_json", is_flag=True, help="One JSON object on the output stream.")
@_loudness
def measure(screen: Screen, file: Path, as_json: bool) -> None:
    """List every measure of a lesson FILE with its plus-or-minus and class."""
    from reporter.measure_list import measure_lesson

    measures = measure_lesson(file)
    if as_json:
        product_json({"version": JSON_VERSION, "file": str(file), "measures": measures})
        return
    if not measures:
        screen.say(f"{file}: no measures; mark points on the frames first")
        return
    rows = [
        (
            str(one["frame"]),
            str(one["position"]),
            str(one["id"]),
            _rounded(one["value"], one["unit"]),
            "" if one["plus_minus"] is None else f"+/- {one['plus_minus']:.1f}",
            str(one["class"]),
            str(one["reason"] or ""),
        )
        for one in measures
    ]
    headings = ("frame", "position", "measure", "value", "95 %", "class", "why")
    product(table(headings, rows))


def _rounded(value: float | None, unit: str) -> str:
    return "-" if value is None else f"{value:.1f} {unit}"


@cli.command()
@click.option("--json", "as_json", is_flag=True, help="One JSON object on the output stream.")
@_loudness
def flight(screen: Screen, as_json: bool, **typed: str | None) -> None:
    """Compute a ball flight, or work one back; computed, not measured.

    Type a delivery (--club --head-speed --face --path), a launch (--ball-speed --launch-angle
    --spin), a flight that was --seen or is wanted (--want), or a table of --shots. Right of the
    target is positive for everybody. Give each number with its unit.
    """
    given = {name.replace("_", "-"): text for name, text in typed.items() if text is not None}
    request = read_flight_options(given)
    if request.kind == "shots":
        from reporter.typed_shots import pattern_typed

        result, lines = pattern_typed(request), pattern_lines
    else:
        from reporter.typed_flight import fly_typed

        result, lines = fly_typed(request), flight_lines
    if as_json:
        product_json({"version": JSON_VERSION, **result})
        return
    for heading, one in (("now", result), ("wanted", result.get("wanted", {}))):
        rows = list(flight_rows(one))
        if rows:
            product(table((heading, "nominal", "95 % band"), rows))
    for line in lines(result):
        product(line)


for _name, _option in EVERY_OPTION.items():
    flight = click.option(f"--{_name}", metavar="TEXT", help=_option.help)(flight)


@cli.command()
@click.argument("words", nargs=-1)
@click.option("--fault", metavar="FAULT", help="What went wrong, such as slice.")
@click.option("--acts-on", metavar="THING", help="What it acts on, such as low-point.")
@click.option("--space", metavar="PLACE", help="Where there is room: home, range or green.")
@click.option(
    "--equipment", multiple=True, metavar="THINGS",
    help="What is at hand, commas between; none for nothing.",
)  # fmt: skip
@click.option("--avoid", multiple=True, metavar="THINGS", help="What to leave out, such as back.")
@click.option("--balls/--no-balls", default=None, help="With balls, or without.")
@click.option(
    "--drills", "file", type=_ANY_PATH, metavar="FILE",
    help="An academy's own drills; else drills.yaml here or up to three folders above.",
)  # fmt: skip
@click.option("--json", "as_json", is_flag=True, help="One JSON object on the output stream.")
@_loudness
def drills(
    screen: Screen, words: tuple[str, ...], file: Path | None, as_json: bool, **filters: Any
) -> None:
    """List the drills that hold all WORDS and pass the filters; one id shows that drill whole."""
    from reporter.drill_list import (
        ROW_HEADINGS,
        drill_as_json,
        drill_lines,
        drill_row,
        drills_asked,
    )

    found, is_one = drills_asked(words, file=file, folder=Path.cwd(), **filters)
    if as_json:
        listed = [drill_as_json(drill) for drill in found]
        product_json({"version": JSON_VERSION, "drills": listed})
    elif not found:
        screen.say("no drill passes all of these filters")
    elif is_one:
        width = max(len(label) for label, _ in drill_lines(found[0]))
        for label, text in drill_lines(found[0]):
            product(f"{label.ljust(width)}  {text}")
    else:
        product(table(ROW_HEADINGS, [drill_row(drill) for drill in found]))


@cli.command()
@_loudness
def schema(screen: Screen) -> None:
    """Print the JSON Schema of a lesson file, for editors."""
    from reporter.bundled import lesson_schema

    product(lesson_schema().decode("utf-8").rstrip("\n"))


def _today() -> datetime.date:
    """Return the date, or the one a reproducible build asks for (reproducible-builds.org)."""
    asked = os.environ.get("SOURCE_DATE_EPOCH", "")
    if asked.isascii() and asked.isdigit() and len(asked) <= 11:
        return datetime.datetime.fromtimestamp(int(asked), tz=datetime.UTC).date()
    return datetime.date.today()


def run(arguments: list[str] | None = None) -> ExitCode:
    """Run a command and return its exit code; no exception leaves this function.

    Parameters
    ----------
    arguments : list of str, optional
        What was typed after the program's name; by default what was really typed.
    """
    try:
        code = cli.main(arguments, prog_name="lesson-reporter", standalone_mode=False)
        sys.stdout.flush()
        return ExitCode(code) if code else ExitCode.OK
    except click.UsageError as error:
        error.show()
        return ExitCode.USAGE
    except click.ClickException as error:
        error.show()
        return ExitCode.USAGE
    except (click.Abort, KeyboardInterrupt):
        complain("interrupted")
        return ExitCode.INTERRUPTED
    except BrokenPipeError:
        # Whoever read the output has gone; closing it again at exit must not complain.
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return ExitCode.CANNOT_WRITE
    except ReporterError as error:
        return show_error(error)
    except MemoryError:
        complain("the memory does not suffice")
        return ExitCode.LIMIT
    except Exception as error:  # the last line of defence: one line, never a traceback
        return show_fault(error)


def main() -> NoReturn:
    """Run the program as typed and end with its exit code."""
    sys.exit(int(run()))
