"""The desk command."""

import os
import secrets
import sys
from pathlib import Path

import click

from reporter.commands.options import ANY_PATH, today, with_loudness
from reporter.commands.screen import Screen, product
from reporter.errors import InputRefusedError, Problem


@click.command()
@click.argument("folder", type=ANY_PATH)
@click.option(
    "--port", type=click.IntRange(1, 65_535), metavar="N", help="A free one if left out.",
)  # fmt: skip
@click.option("--no-browser", is_flag=True, help="Print the address, open nothing.")
@with_loudness
def desk(screen: Screen, folder: Path, port: int | None, no_browser: bool) -> None:
    """Open the worksheet of a lesson FOLDER: from clips and pictures to the handout, in a browser.

    The page is served on this computer alone, and ends with Ctrl-C.
    """
    from reporter.desk.lesson_desk import LessonDesk
    from reporter.desk.server import DeskServer
    from reporter.desk.view import PLACES, files_in
    from reporter.session.scaffold import PICTURE_ENDINGS, new_lesson

    if not folder.is_dir():
        message = "there is no such folder; make it and put the clips or pictures into it"
        raise InputRefusedError([Problem(str(folder), 0, 0, "", message)])
    text = new_lesson(
        tuple(files_in(folder, PICTURE_ENDINGS, PLACES)),
        lesson_id=secrets.token_hex(8),
        student_id=secrets.token_hex(8),
        date=today(),
    )
    with DeskServer(LessonDesk(folder, text, today), port or 0) as server:
        product(server.address)
        sys.stdout.flush()
        screen.say("the worksheet is open on this computer alone; Ctrl-C ends it")
        if not no_browser and not _opened(server.address):
            screen.say("no browser was found: open the address above in one")
        server.serve_until_idle()
    screen.say("the worksheet ended")


def _opened(address: str) -> bool:
    """Open a browser, if there is one that shows a window."""
    import webbrowser

    on_screen = sys.platform in ("darwin", "win32") or any(
        os.environ.get(name) for name in ("DISPLAY", "WAYLAND_DISPLAY")
    )
    if not on_screen:
        return False
    try:
        return webbrowser.open(address)
    except webbrowser.Error:
        return False
