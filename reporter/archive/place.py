"""Where a shelf is: a folder of its own, or a PostgreSQL database with a folder for its PDFs."""

from dataclasses import dataclass, field
from pathlib import Path

from reporter.errors import InputRefusedError, Problem

SCHEMES = ("postgresql:", "postgres:")


@dataclass(frozen=True, slots=True)
class Place:
    """Where a shelf is.

    Attributes
    ----------
    folder : Path
        Where its PDFs lie; without an address its database too.
    address : str
        Of the PostgreSQL database; empty for a database inside the folder. It may hold a
        password: it is never part of a text for people.
    """

    folder: Path
    address: str = field(default="", repr=False)

    def __str__(self) -> str:
        """Return what is shown to people."""
        return f"PostgreSQL with {self.folder}" if self.address else str(self.folder)


def is_address(typed: str) -> bool:
    """Whether a typed shelf is the address of a database, not a folder."""
    return typed.strip().lower().startswith(SCHEMES)


def place_typed(typed: str, files: Path | None, option: str = "--files") -> Place:
    """Return the place of a shelf as typed.

    Parameters
    ----------
    typed : str
        A folder, or an address that begins with ``postgresql://``.
    files : Path or None
        The folder of the PDFs, which an address needs and a folder has itself.
    option : str
        How the command calls `files`, for the message.

    Raises
    ------
    InputRefusedError
        For an address without a folder.
    """
    if not is_address(typed):
        return Place(Path(typed))
    if files is None:
        message = f"a shelf on PostgreSQL needs the folder of its PDFs too: {option} FOLDER"
        raise InputRefusedError([Problem("command line", 0, 0, "", message)])
    return Place(files, typed.strip())
