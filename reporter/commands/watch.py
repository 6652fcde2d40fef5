"""The command that builds a handout again whenever a file of its lesson changes."""

import time
from pathlib import Path

import click

from reporter.commands.options import ANY_PATH, PAPER, today, with_loudness
from reporter.commands.screen import Screen, show_error, show_fault
from reporter.errors import ReporterError

LOOK_SECONDS = 0.2
QUIET_SECONDS = 0.3  # a program that saves several files, or one in parts, has finished by then


@click.command()
@click.argument("file", type=ANY_PATH)
@click.option("-o", "--output", type=ANY_PATH, metavar="OUT", help="The handout's file name.")
@click.option("--brand", metavar="B", help="Colours, typefaces and mark: a name or a folder.")
@click.option("--layout", default="handout", show_default=True, metavar="L", help="Page layout.")
@PAPER
@click.option("--force", is_flag=True, help="Replace a file that is not this lesson's handout.")
@with_loudness
def watch(
    screen: Screen,
    file: Path,
    output: Path | None,
    brand: str | None,
    layout: str,
    paper: str,
    force: bool,
) -> None:
    """Build the handout of a lesson FILE again on every change; Ctrl-C ends."""
    from reporter.handout.watched_files import lesson_path, state_of, watched_files

    lesson = lesson_path(file)
    before: tuple[object, ...] | None = None
    while True:
        files = watched_files(lesson, brand)
        now = state_of(files)
        if now != before:
            settled = _settled(files, now) if before is not None else now
            _build(screen, file, output, brand, layout, paper, force)
            before = settled
            screen.say(f"watching {len(files)} files; Ctrl-C ends")
        time.sleep(LOOK_SECONDS)


def _settled(files: tuple[Path, ...], state: tuple[object, ...]) -> tuple[object, ...]:
    """Wait until nothing has changed for a moment; return how things stand then."""
    from reporter.handout.watched_files import state_of

    while True:
        time.sleep(QUIET_SECONDS)
        now = state_of(files)
        if now == state:
            return now
        state = now


def _build(
    screen: Screen,
    file: Path,
    output: Path | None,
    brand: str | None,
    layout: str,
    paper: str,
    force: bool,
) -> None:
    """Build once; a mistake is told and does not end the watching."""
    from reporter.handout.build import build_handout

    try:
        built = build_handout(
            file, output=output, brand=brand, layout=layout, paper=paper, today=today(),
            force=force,
        )  # fmt: skip
    except ReporterError as error:
        show_error(error)
    except Exception as error:  # what breaks one build must not end the watching
        show_fault(error)
    else:
        for line in (*built.warnings, *built.advice):
            screen.say(line)
        screen.say(f"{built.path}: {built.pages} page{'s' if built.pages != 1 else ''}")
