"""What can go wrong, and how it is told: problems with a place, exceptions with an exit code."""

from dataclasses import dataclass
from enum import IntEnum


class ExitCode(IntEnum):
    """The numbers a command ends with; they are part of the interface."""

    OK = 0
    WARNINGS = 1
    USAGE = 2
    INPUT_REFUSED = 3
    BATCH_PARTLY_FAILED = 4
    CANNOT_WRITE = 5
    ARCHIVE_BUSY = 6
    ARCHIVE_DAMAGED = 7
    LIMIT = 8
    CONSENT = 9
    EXTRA_MISSING = 10
    INTERNAL = 70
    INTERRUPTED = 130


@dataclass(frozen=True, slots=True, order=True)
class Problem:
    """One mistake in a file somebody wrote.

    Attributes
    ----------
    file : str
        The file's name as the user knows it, or ``command line``.
    line, column : int
        Counted from 1; 0 where the whole file is meant.
    field : str
        Dotted path of the field, such as ``frames.2.points.lead_knee``; empty for the whole file.
    message : str
        What was found, what is allowed and what to do, in one line.
    """

    file: str
    line: int
    column: int
    field: str
    message: str

    def __str__(self) -> str:
        """Return ``file:line:column: field: message`` without control characters."""
        place = f"{self.file}:{self.line}:{self.column}" if self.line else self.file
        field = f" {self.field}:" if self.field else ""
        return printable(f"{place}:{field} {self.message}")


def printable(text: str) -> str:
    """Return `text` with control characters written as escapes, safe for a terminal."""
    return "".join(c if c.isprintable() else c.encode("unicode_escape").decode() for c in text)


class ReporterError(Exception):
    """A mistake the user can mend; carries the exit code of the command."""

    exit_code = ExitCode.INTERNAL


class InputRefusedError(ReporterError):
    """One or more problems in the files given; all of them are listed."""

    exit_code = ExitCode.INPUT_REFUSED

    def __init__(self, problems: list[Problem] | tuple[Problem, ...]) -> None:
        self.problems = tuple(sorted(problems))
        super().__init__("\n".join(str(problem) for problem in self.problems))


class CannotWriteError(ReporterError):
    """The asked-for file could not be written, or is not ours to replace."""

    exit_code = ExitCode.CANNOT_WRITE


class ShelfBusyError(ReporterError):
    """Somebody else is writing to the shelf and did not finish in time."""

    exit_code = ExitCode.ARCHIVE_BUSY


class ShelfDamagedError(ReporterError):
    """The shelf is damaged: its database cannot be read, or a check found something."""

    exit_code = ExitCode.ARCHIVE_DAMAGED


class DiskFullError(CannotWriteError):
    """No more can be written by anybody, so that going on with other files is pointless."""


class LimitError(ReporterError):
    """A limit of size, time or space on the page was reached."""

    exit_code = ExitCode.LIMIT


class ConsentError(ReporterError):
    """A consent or retention rule refuses."""

    exit_code = ExitCode.CONSENT


class ExtraMissingError(ReporterError):
    """An optional part of the program is not installed."""

    exit_code = ExitCode.EXTRA_MISSING

    def __init__(self, extra: str, purpose: str) -> None:
        super().__init__(
            f'{purpose} needs an optional part: pip install "lesson-reporter[{extra}]"'
        )
