"""What several commands share: options, loudness, and the day."""

import datetime
import os
from collections.abc import Callable
from pathlib import Path
from typing import Any

import click

from reporter.commands.screen import Screen
from reporter.errors import ExitCode
from reporter.speech import LANGUAGES

JSON_VERSION = 1
ANY_PATH = click.Path(path_type=Path)
PAPER = click.option(
    "--paper", type=click.Choice(["a4", "letter", "a5", "phone"]), default="a4", show_default=True,
    help="Sheet; each layout says which it is made for.",
)  # fmt: skip
LANGUAGE = click.option(
    "--language", type=click.Choice(LANGUAGES),
    help="Of the student, instead of the lesson file's; the coach's own texts stay as written.",
)  # fmt: skip
INK = click.option(
    "--ink", type=click.Choice(["colour", "grey", "saver"]), default="colour", show_default=True,
    help="In greys alone, or with as little ink as it can be read with.",
)  # fmt: skip

Command = Callable[..., ExitCode | None]


def with_loudness(command: Command) -> Command:
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


def today() -> datetime.date:
    """Return the date, or the one a reproducible build asks for (reproducible-builds.org)."""
    asked = os.environ.get("SOURCE_DATE_EPOCH", "")
    if asked.isascii() and asked.isdigit() and len(asked) <= 11:
        return datetime.datetime.fromtimestamp(int(asked), tz=datetime.UTC).date()
    return datetime.date.today()
