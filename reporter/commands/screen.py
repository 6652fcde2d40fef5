"""What a command shows: messages and progress on the error stream, the product on the other."""

import contextlib
import os
import sys
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from reporter.errors import (
    CannotWriteError,
    ExitCode,
    InputRefusedError,
    Problem,
    ReporterError,
    printable,
)

MOST_LINES = 20


@dataclass(frozen=True, slots=True)
class Screen:
    """How much a command says.

    Attributes
    ----------
    quiet : bool
        Say nothing but problems.
    verbose : bool
        Say more: each step, each warning in full.
    """

    quiet: bool = False
    verbose: bool = False

    def say(self, message: str) -> None:
        """Tell what was done, on the error stream; nothing if quiet."""
        if not self.quiet:
            _to(sys.stderr, message)

    def detail(self, message: str) -> None:
        """Tell a detail, on the error stream, if asked for."""
        if self.verbose and not self.quiet:
            _to(sys.stderr, message)

    @contextlib.contextmanager
    def working(self, what: str) -> Iterator[None]:
        """Show that something is under way, on a terminal only."""
        if self.quiet or not sys.stderr.isatty() or os.environ.get("TERM") == "dumb":
            yield
            return
        from rich.console import Console

        with Console(stderr=True).status(what):
            yield


def _to(stream: Any, text: str) -> None:  # noqa: ANN401 - any text stream
    """Write one line; a terminal that lacks a character gets an escape for it."""
    encoding = getattr(stream, "encoding", None) or "utf-8"
    with _that_may_be_full(stream):
        stream.write(text.encode(encoding, "backslashreplace").decode(encoding) + "\n")


def finish_product() -> None:
    """Hand on the last of the product, or say that it could not be written."""
    with _that_may_be_full(sys.stdout):
        sys.stdout.flush()


@contextlib.contextmanager
def _that_may_be_full(stream: Any) -> Iterator[None]:  # noqa: ANN401 - any text stream
    """Turn a fault of a stream into a letter; of the error stream nobody can be told."""
    try:
        yield
    except BrokenPipeError:
        raise
    except OSError as error:
        silence(stream)
        if stream is not sys.stderr:
            message = f"cannot write what was asked for: {error.strerror}"
            raise CannotWriteError(message) from None


def silence(stream: Any) -> None:  # noqa: ANN401 - any text stream
    """Let a stream that takes no more lead nowhere, so that closing it does not fail again."""
    with contextlib.suppress(OSError, ValueError):
        nowhere = os.open(os.devnull, os.O_WRONLY)
        os.dup2(nowhere, stream.fileno())
        os.close(nowhere)


def complain(message: str) -> None:
    """Show a problem on the error stream, whatever the screen's loudness."""
    _to(sys.stderr, message)


def product(text: str) -> None:
    """Write what the command was asked for to the output stream."""
    _to(sys.stdout, text)


def product_json(content: Mapping[str, Any]) -> None:
    """Write one JSON object to the output stream; not-a-number is refused, as JSON has none."""
    import json

    product(json.dumps(content, ensure_ascii=False, allow_nan=False, indent=2))


def show_problems(problems: Sequence[Problem]) -> None:
    """Show problems, the first twenty and how many more there are."""
    for problem in problems[:MOST_LINES]:
        complain(str(problem))
    rest = len(problems) - MOST_LINES
    if rest > 0:
        complain(f"... and {rest} more problem{'s' if rest > 1 else ''}")


def show_error(error: ReporterError) -> ExitCode:
    """Show a mistake the user can mend; return the exit code."""
    if isinstance(error, InputRefusedError):
        show_problems(error.problems)
    else:
        complain(printable(str(error)))
    return ExitCode(error.exit_code)


def show_fault(error: BaseException) -> ExitCode:
    """Show a fault of our own in one line; where it happened goes to a log in the temp folder.

    The log names code lines only: neither the message nor any value, which could be personal.
    """
    # Loaded here, as nearly every run ends without: a command's help answers the sooner.
    import hashlib
    import tempfile
    import traceback

    frames = traceback.extract_tb(error.__traceback__)
    steps = [f"{Path(step.filename).name}:{step.lineno} {step.name}" for step in frames]
    told = "\n".join([type(error).__name__, *steps])
    log_id = hashlib.sha256(told.encode()).hexdigest()[:8]
    log = Path(tempfile.gettempdir()) / f"lesson-reporter-{log_id}.log"
    where = f"; where it happened stands in {printable(str(log))}"
    try:
        with contextlib.suppress(FileExistsError):
            handle = os.open(log, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600)
            with os.fdopen(handle, "w", encoding="utf-8") as opened:
                opened.write(told + "\n")
    except OSError:
        where = ""
    complain(f"internal fault {log_id} ({type(error).__name__}), not your mistake{where}")
    return ExitCode.INTERNAL


def table(headings: Sequence[str], rows: Sequence[Sequence[str]]) -> str:
    """Return a plain table: columns aligned by spaces, no frame."""
    widths = [max(len(row[i]) for row in (headings, *rows)) for i in range(len(headings))]
    lines = [
        "  ".join(cell.ljust(width) for cell, width in zip(row, widths, strict=True)).rstrip()
        for row in (headings, *rows)
    ]
    return "\n".join(lines)
