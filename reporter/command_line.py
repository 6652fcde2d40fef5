"""The program as typed: the list of its commands, and the exit code of whatever happens.

Everything heavy is imported inside the commands, so that ``--help`` answers at once.
"""

import gc
import sys
from typing import NoReturn

import click

from reporter import __version__
from reporter.commands.batch import batch
from reporter.commands.desk import desk
from reporter.commands.drills import drills
from reporter.commands.flight import flight
from reporter.commands.handout import build, demo, proof
from reporter.commands.lesson import check, measure, new, schema
from reporter.commands.propose import propose
from reporter.commands.screen import complain, finish_product, show_error, show_fault, silence
from reporter.commands.shelf import shelf
from reporter.commands.video import frames
from reporter.commands.watch import watch
from reporter.errors import ExitCode, ReporterError


@click.group(context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 100})
@click.version_option(__version__, prog_name="lesson-reporter")
@click.option("-q", "--quiet", is_flag=True, help="Say nothing but problems.")
@click.option("-v", "--verbose", is_flag=True, help="Say more.")
def cli(quiet: bool, verbose: bool) -> None:
    """Turn a golf lesson, written down with a few video frames, into a printed handout."""


for _command in (
    new, desk, frames, check, build, watch, batch, proof, demo, measure, propose, flight, drills,
    schema, shelf,
):  # fmt: skip
    cli.add_command(_command)


def run(arguments: list[str] | None = None) -> ExitCode:
    """Run a command and return its exit code; no exception leaves this function.

    Parameters
    ----------
    arguments : list of str, optional
        What was typed after the program's name; by default what was really typed.
    """
    try:
        code = cli.main(arguments, prog_name="lesson-reporter", standalone_mode=False)
        finish_product()
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
        silence(sys.stdout)
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
    # What is loaded and read lives to the end of a command: looking through it for garbage every
    # seven hundred objects, as is usual, costs a tenth of a short one.
    gc.set_threshold(100_000, 20, 20)
    sys.exit(int(run()))
