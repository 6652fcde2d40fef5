"""Commands that make pages: build, proof, demo."""

from pathlib import Path
from typing import Any

import click

from reporter.commands.options import (
    ANY_PATH,
    INK,
    JSON_VERSION,
    LANGUAGE,
    PAPER,
    today,
    with_loudness,
)
from reporter.commands.screen import Screen, product, product_json, table
from reporter.commands.shelf_options import (
    FILES_OF_BUILD,
    SHELF_OF_BUILD,
    SHELF_VARIABLE,
    ShelvedBuild,
    lessons_before,
)
from reporter.errors import CannotWriteError, ExitCode

DEFAULT_DEMO_FOLDER = "demo-lesson"


@click.command()
@click.argument("file", type=ANY_PATH)
@click.option("-o", "--output", type=ANY_PATH, metavar="OUT", help="The handout's file name.")
@click.option("--brand", metavar="B", help="Colours, typefaces and mark: a name or a folder.")
@click.option(
    "--layout", metavar="L",
    help="Page layout, such as one-sheet or card-four, or your own file.  [default: handout]",
)  # fmt: skip
@PAPER
@click.option("--strict", is_flag=True, help="End with 1 if there is a warning.")
@click.option("--force", is_flag=True, help="Replace a file that is not this lesson's handout.")
@click.option("--calendar", is_flag=True, help="Also write the visits as a calendar file (.ics).")
@click.option("--recap", is_flag=True, help="Write the coach's one-page recap instead.")
@click.option("--record", is_flag=True, help="Write the coach's record, which carries everything.")
@click.option("--shelve", is_flag=True, help="Put the record on the academy's shelf as well.")
@click.option("--progress", is_flag=True, help="With a page over the lessons on the shelf.")
@SHELF_OF_BUILD
@FILES_OF_BUILD
@click.option("--again", is_flag=True, help="With --shelve: take a student who was erased before.")
@click.option("--no-attachments", is_flag=True, help="Let nothing travel inside the file.")
@click.option(
    "--for",
    "purpose",
    type=click.Choice(["print", "mail", "screen"]),
    default="print",
    show_default=True,
    help="How fine the pictures are: 300, 150 or 110 dots an inch.",
)
@click.option("--max-size", metavar="SIZE", help="Coarsen the pictures to fit, such as 5MB.")
@INK
@LANGUAGE
@with_loudness
def build(
    screen: Screen,
    file: Path,
    output: Path | None,
    brand: str | None,
    layout: str | None,
    paper: str,
    strict: bool,
    force: bool,
    calendar: bool,
    recap: bool,
    record: bool,
    shelve: bool,
    progress: bool,
    shelf: str | None,
    shelf_files: Path | None,
    again: bool,
    no_attachments: bool,
    purpose: Any,  # noqa: ANN401 - one of the choices, as is the ink
    max_size: str | None,
    ink: Any,  # noqa: ANN401
    language: str | None,
) -> ExitCode | None:
    """Build the handout of a lesson FILE."""
    from reporter.handout.file_form import FileForm
    from reporter.handout.picture_quality import parse_size

    if record and no_attachments:
        message = "--record is what carries everything; it does not go with --no-attachments"
        raise click.UsageError(message)
    largest = parse_size(max_size) if max_size is not None else None
    form = FileForm(record, not no_attachments, purpose, largest, ink)
    if shelve and (recap or shelf is None):
        message = (
            "--shelve does not go with --recap"
            if recap
            else f"--shelve needs --shelf SHELF, or {SHELF_VARIABLE} set to it"
        )
        raise click.UsageError(message)
    if progress and (recap or shelf is None):
        message = (
            "--progress does not go with --recap"
            if recap
            else f"--progress needs --shelf FOLDER, or {SHELF_VARIABLE} set to it"
        )
        raise click.UsageError(message)
    if recap:
        return _build_recap(
            screen, file, output, brand, paper, strict, force, language, alone=layout is None
            and not calendar and form == FileForm(),
        )  # fmt: skip
    from reporter.handout.build import build_handout

    with ShelvedBuild(shelf if shelve else None, shelf_files, again=again) as shelving:
        with screen.working("building the handout"):
            built = build_handout(
                file,
                output=output,
                brand=brand,
                layout=layout,
                paper=paper,
                today=today(),
                force=force,
                calendar=calendar,
                form=form,
                language=language,
                judge_record=shelving.judge,
                progress=lessons_before(shelf, shelf_files)
                if progress and shelf is not None
                else None,
            )
        code = _tell_built(screen, built, strict=strict)
        for line in shelving.put(built):
            screen.say(line)
    return code


@click.command()
@click.argument("file", type=ANY_PATH)
@click.option("--brand", metavar="B", help="As for build.")
@click.option("--layout", metavar="L", help="As for build.")
@PAPER
@INK
@LANGUAGE
@click.option("--json", "as_json", is_flag=True, help="One JSON object on the output stream.")
@click.option("--strict", is_flag=True, help="End with 1 if there is something to look at.")
@with_loudness
def proof(
    screen: Screen,
    file: Path,
    brand: str | None,
    layout: str | None,
    paper: str,
    ink: Any,  # noqa: ANN401 - one of the choices
    language: str | None,
    as_json: bool,
    strict: bool,
) -> ExitCode | None:
    """Tell what a lesson FILE's handout costs in ink, and what will print badly."""
    from reporter.handout.proof import (
        HEADINGS,
        proof_as_json,
        proof_lines,
        proof_rows,
        prove_handout,
    )

    with screen.working("painting the pages"):
        proofs = prove_handout(
            file,
            brand=brand,
            layout=layout,
            paper=paper,
            ink=ink,
            today=today(),
            language=language,
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
    language: str | None,
    *,
    alone: bool,
) -> ExitCode | None:
    """Write the recap; `alone` says that no option was given which it cannot go with."""
    if not alone:
        message = "--recap goes with -o, --brand, --paper, --language, --strict and --force alone"
        raise click.UsageError(message)
    from reporter.handout.recap import build_recap

    with screen.working("building the recap"):
        built = build_recap(
            file,
            output=output,
            brand=brand,
            paper=paper,
            today=today(),
            force=force,
            language=language,
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


@click.command()
@click.argument("folder", type=ANY_PATH, default=Path(DEFAULT_DEMO_FOLDER))
@with_loudness
def demo(screen: Screen, folder: Path) -> ExitCode | None:
    """Copy the demo lesson to FOLDER (demo-lesson if left out) and build handout.pdf in it."""
    from reporter.bundled import demo_files
    from reporter.handout.build import build_handout
    from reporter.publish import holds, publish

    try:
        for name, data in demo_files():
            target = folder / name
            target.parent.mkdir(parents=True, exist_ok=True)
            publish(target, data, is_ours=holds(data))
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
            today=today(),
            force=False,
        )
    return _tell_built(screen, built, strict=False)
