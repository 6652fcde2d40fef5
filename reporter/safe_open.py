"""Open a file that another file names: only a regular file inside one folder, never by a link."""

import difflib
import os
import re
import stat
import unicodedata
from collections.abc import Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from pathlib import Path
from typing import BinaryIO

from reporter.errors import InputRefusedError, Problem
from reporter.units import shown

_CLOSE_ON_EXEC = getattr(os, "O_CLOEXEC", 0)
_BINARY = getattr(os, "O_BINARY", 0)
_NO_LINKS = getattr(os, "O_NOFOLLOW", 0)
_NO_WAITING = getattr(os, "O_NONBLOCK", 0)  # a named pipe would hang the program for ever
_FOLDER = getattr(os, "O_DIRECTORY", 0)
_ON_WINDOWS = os.name == "nt"
_PIECE_BYTES = 1 << 20
_REPARSE_POINT = 0x400  # Windows: links, junctions and cloud placeholders
_HAS_FOLDER_HANDLES = os.open in os.supports_dir_fd and bool(_NO_LINKS)
_RESERVED_ON_WINDOWS = re.compile(r"(?:con|prn|aux|nul|com[0-9]|lpt[0-9])(?:\..*)?", re.IGNORECASE)


_noted: ContextVar[set[Path] | None] = ContextVar("noted", default=None)


@contextmanager
def noting_files() -> Iterator[set[Path]]:
    """Collect the path of every file that is opened inside the block, in this thread of work."""
    noted: set[Path] = set()
    token = _noted.set(noted)
    try:
        yield noted
    finally:
        _noted.reset(token)


def _note(path: Path) -> None:
    noted = _noted.get()
    if noted is not None:
        noted.add(path)


class ReferenceRefusedError(InputRefusedError):
    """A file name that leads outside the folder, to nothing, or to no regular file.

    Attributes
    ----------
    reason : str
        What is wrong and what to write, without a place; the caller knows the line.
    """

    def __init__(self, reference: str, reason: str) -> None:
        self.reason = reason
        super().__init__([Problem(reference or "(empty)", 0, 0, "", reason)])


def read_inside(folder: Path, relative: str, limit_bytes: int) -> bytes:
    """Read a file that lies inside a folder.

    Parameters
    ----------
    folder : Path
        The folder that must not be left.
    relative : str
        The name as written: parts joined by ``/``.
    limit_bytes : int
        Larger files are refused.

    Returns
    -------
    bytes
        The file's contents.

    Raises
    ------
    ReferenceRefusedError
        Naming the reason.
    """
    with open_inside(folder, relative, limit_bytes) as opened:
        data = _read(opened, limit_bytes)
    if len(data) > limit_bytes:
        raise ReferenceRefusedError(relative, _too_large(relative, len(data), limit_bytes))
    return data


def open_inside(folder: Path, relative: str, limit_bytes: int) -> BinaryIO:
    """Open a file that lies inside a folder, for reading; see `read_inside`."""
    parts = _parts(relative)
    walk = _walk_by_handles if _HAS_FOLDER_HANDLES else _walk_by_names
    try:
        handle = walk(folder, parts, relative)
    except OSError as error:
        raise ReferenceRefusedError(relative, _why(error, folder, parts, relative)) from None
    try:
        facts = os.fstat(handle)
        if not stat.S_ISREG(facts.st_mode):
            raise ReferenceRefusedError(relative, f"{shown(relative)} {_what_it_is(facts.st_mode)}")
        if facts.st_size > limit_bytes:
            reason = _too_large(relative, facts.st_size, limit_bytes)
            raise ReferenceRefusedError(relative, reason)
    except BaseException:
        os.close(handle)
        raise
    _note(folder.joinpath(*parts))
    return os.fdopen(handle, "rb")


def read_given(path: Path, limit_bytes: int, *, as_input: bool = True) -> bytes:
    """Read a file whose path the user typed; it may be a link, but must be a regular file.

    An earlier output that is looked into is not read `as_input`: `noting_files` passes it over.

    Raises `ReferenceRefusedError` as `read_inside` does.
    """
    with open_given(path, as_input=as_input) as opened:
        size = os.fstat(opened.fileno()).st_size
        data = _read(opened, limit_bytes)
    if len(data) > limit_bytes:
        reason = _too_large(path.name, max(len(data), size), limit_bytes)
        raise ReferenceRefusedError(str(path), reason)
    return data


def open_given(path: Path, *, as_input: bool = True) -> BinaryIO:
    """Open a file whose path the user typed, for reading; see `read_given`."""
    try:
        handle = os.open(path, os.O_RDONLY | _BINARY | _NO_WAITING | _CLOSE_ON_EXEC)
    except FileNotFoundError:
        reason = f"there is no file {shown(path.name)}{_near_name(path.parent, [path.name])}"
        raise ReferenceRefusedError(str(path), reason) from None
    except (OSError, ValueError) as error:
        reason = f"cannot be opened ({getattr(error, 'strerror', None) or error})"
        raise ReferenceRefusedError(str(path), reason) from None
    facts = os.fstat(handle)
    if not stat.S_ISREG(facts.st_mode):
        os.close(handle)
        raise ReferenceRefusedError(str(path), _what_it_is(facts.st_mode))
    if as_input:
        _note(path)
    return os.fdopen(handle, "rb")


def _read(opened: BinaryIO, limit_bytes: int) -> bytes:
    """Return a file's bytes, and some more than the limit where it has more.

    In pieces: asked for all of the limit at once, the library would set so much memory aside.
    """
    pieces, size = [], 0
    while size <= limit_bytes and (piece := opened.read(_PIECE_BYTES)):
        pieces.append(piece)
        size += len(piece)
    return b"".join(pieces)


def is_folder(path: Path) -> bool:
    """Tell whether a folder has that name; a name that no disk can hold is none's."""
    return os.path.isdir(path)  # noqa: PTH112 - the other raises for such a name


def is_file(path: Path) -> bool:
    """Tell whether a regular file, or a link to one, has that name; see `is_folder`."""
    return os.path.isfile(path)  # noqa: PTH113 - as above


def _parts(relative: str) -> list[str]:
    """Return the parts of a written name, refusing every form that could lead elsewhere."""
    reason = _why_refused(relative)
    if reason:
        raise ReferenceRefusedError(relative, f"{shown(relative)} {reason}")
    return [part for part in relative.split("/") if part not in ("", ".")]


def _why_refused(relative: str) -> str:
    """Return what is wrong with the form of a name, or nothing."""
    inside = "write the name of a file inside the lesson's folder, such as frames/top.jpg"
    if not relative.strip():
        return f"names no file; {inside}"
    if any(unicodedata.category(c) in ("Cc", "Cs") for c in relative):
        return f"holds a control character; {inside}"
    if re.match(r"[A-Za-z]:", relative):
        return f"begins with a drive letter; {inside}"
    if relative.startswith(("\\\\", "//")):
        return f"names another computer; {inside}"
    if re.match(r"[A-Za-z][A-Za-z0-9+.-]+:", relative):
        return f"is an address, and nothing is fetched from the network; {inside}"
    if "\\" in relative:
        return 'holds a backslash; separate folders by "/"'
    if relative.startswith("/"):
        return f"begins at the root of the disk; {inside}"
    if relative.startswith("~"):
        return f"begins at a home folder; {inside}"
    parts = [part for part in relative.split("/") if part not in ("", ".")]
    if ".." in parts:
        return f'leads out of the folder by ".."; {inside}'
    if not parts or relative.endswith("/"):
        return f"is a folder; {inside}"
    if any(len(os.fsencode(part)) > 255 for part in parts) or len(relative) > 1_000:
        return f"is too long for a file name; {inside}"
    if _ON_WINDOWS:
        for part in parts:
            if _RESERVED_ON_WINDOWS.fullmatch(part) or part[-1] in " ." or ":" in part:
                return f"holds a name that Windows keeps for devices or changes; {inside}"
    return ""


def _walk_by_handles(folder: Path, parts: list[str], relative: str) -> int:
    """Open part by part, each relative to the folder just opened, following no link."""
    here = os.open(folder, os.O_RDONLY | _FOLDER | _CLOSE_ON_EXEC)
    try:
        for part in parts[:-1]:
            flags = os.O_RDONLY | _FOLDER | _NO_LINKS | _CLOSE_ON_EXEC
            deeper = os.open(_as_stored(part, here), flags, dir_fd=here)
            os.close(here)
            here = deeper
        flags = os.O_RDONLY | _NO_LINKS | _NO_WAITING | _CLOSE_ON_EXEC
        return os.open(_as_stored(parts[-1], here), flags, dir_fd=here)
    finally:
        os.close(here)


def _as_stored(part: str, folder_handle: int) -> str:
    """Return a name in the Unicode form the disk has it in; an umlaut may be one sign or two."""
    if part.isascii():
        return part
    for form in (part, unicodedata.normalize("NFC", part), unicodedata.normalize("NFD", part)):
        try:
            os.stat(form, dir_fd=folder_handle, follow_symlinks=False)
        except OSError:
            continue
        return form
    return part


def _walk_by_names(folder: Path, parts: list[str], relative: str) -> int:
    """Check part by part by name, for systems that cannot open relative to an open folder."""
    root = folder.resolve(strict=True)
    here = root
    for part in parts:
        here = here / part
        facts = os.lstat(here)
        reparse = getattr(facts, "st_file_attributes", 0) & _REPARSE_POINT
        if stat.S_ISLNK(facts.st_mode) or reparse:
            raise ReferenceRefusedError(relative, f"{shown(relative)} {_LINK}")
    if not here.resolve(strict=True).is_relative_to(root):
        raise ReferenceRefusedError(relative, f"{shown(relative)} leads out of the folder")
    handle = os.open(here, os.O_RDONLY | _BINARY | _NO_WAITING | _NO_LINKS)
    opened = os.fstat(handle)
    if (opened.st_ino, opened.st_dev) != (facts.st_ino, facts.st_dev):
        os.close(handle)
        raise ReferenceRefusedError(relative, f"{shown(relative)} changed while it was opened")
    return handle


_LINK = "is a link or lies behind one; put the file itself into the lesson's folder"


def _what_it_is(mode: int) -> str:
    """Say what stands there instead of a regular file."""
    if stat.S_ISDIR(mode):
        return "is a folder; name a file in it"
    if stat.S_ISFIFO(mode):
        return "is a pipe, not a file"
    if stat.S_ISLNK(mode):
        return _LINK
    return "is a device or socket, not a file"


def _too_large(relative: str, size: int, limit: int) -> str:
    return f"{shown(relative)} has {size} bytes; at most {limit} are read"


def _why(error: OSError, folder: Path, parts: list[str], relative: str) -> str:
    """Turn the system's refusal into plain words."""
    here = folder
    for part in parts:
        here = here / part
        try:
            mode = os.lstat(here).st_mode
        except OSError:
            break
        if stat.S_ISLNK(mode):
            return f"{shown(relative)} {_LINK}"
        if not stat.S_ISREG(mode) and not stat.S_ISDIR(mode):
            return f"{shown(relative)} {_what_it_is(mode)}"
    if isinstance(error, FileNotFoundError):
        return f"there is no file {shown(relative)}{_near_name(folder, parts)}"
    if isinstance(error, NotADirectoryError):
        return f"there is no file {shown(relative)}: a part of the name is a file, not a folder"
    if isinstance(error, PermissionError):
        return f"{shown(relative)} may not be read (permission denied)"
    return f"{shown(relative)} cannot be opened ({error.strerror})"


def _near_name(folder: Path, parts: list[str]) -> str:
    """Return ``; did you mean "..."?`` when a file with nearly that name lies there."""
    parent = folder.joinpath(*parts[:-1])
    try:
        if parent.is_symlink():
            return ""
        with os.scandir(parent) as entries:
            names = [entry.name for _, entry in zip(range(2_000), entries, strict=False)]
    except OSError:
        return ""
    by_lower = {name.lower(): name for name in names}
    near = difflib.get_close_matches(parts[-1].lower(), by_lower, n=1, cutoff=0.75)
    if not near:
        return ""
    return f"; did you mean {shown('/'.join((*parts[:-1], by_lower[near[0]])))}?"
