"""Write a file whole or not at all, and never over somebody else's."""

import contextlib
import errno
import os
import re
import secrets
import stat
import time
from collections.abc import Callable
from pathlib import Path

from reporter.errors import CannotWriteError, DiskFullError, printable

_TEMPORARY = re.compile(r"\.lesson-reporter-(?P<process>[0-9]+)-[0-9a-f]{12}\.part")
_OLD_SECONDS = 3_600.0
_ON_WINDOWS = os.name == "nt"


def publish(
    path: Path, data: bytes, *, is_ours: Callable[[Path], bool] | None = None, force: bool = False
) -> None:
    """Write a file so that it is there whole, or the old one still is.

    Parameters
    ----------
    path : Path
        Where to. Its folder must exist.
    data : bytes
        The whole contents.
    is_ours : callable, optional
        Asked about a file that exists already: may it be replaced? Without it, nothing that
        exists is replaced.
    force : bool
        Replace an existing file without asking.

    Raises
    ------
    CannotWriteError
        With what stands in the way and what to do. No temporary file is left.

    Notes
    -----
    The order is: write beside the target, flush to the disk, rename, flush the folder.
    """
    folder = path.parent
    judge_target(path, is_ours, force=force)
    _remove_leftovers(folder)
    temporary = folder / f".lesson-reporter-{os.getpid()}-{secrets.token_hex(6)}.part"
    try:
        _write(temporary, data)
        _put_in_place(temporary, path, replace=force or path.exists())
        _flush_folder(folder)
    except OSError as error:
        full = error.errno in (errno.ENOSPC, errno.EDQUOT)
        raise (DiskFullError if full else CannotWriteError)(_why(error, path)) from None
    finally:
        # What cannot be removed now is removed as a left-over later.
        with contextlib.suppress(OSError):
            temporary.unlink(missing_ok=True)


def judge_target(path: Path, is_ours: Callable[[Path], bool] | None, *, force: bool) -> None:
    """Refuse a target that is no regular file, or not ours to replace; see `publish`.

    `publish` asks this itself; whoever writes several files asks it for all of them first.
    """
    named = printable(str(path))
    if not path.name:
        message = f"{named} is no file name"
        raise CannotWriteError(message)
    try:
        mode = path.lstat().st_mode
    except FileNotFoundError:
        if not path.parent.is_dir():
            message = f"cannot write {named}: the folder {printable(str(path.parent))} is missing"
            raise CannotWriteError(message) from None
        return
    except (OSError, ValueError) as error:
        raise CannotWriteError(_why(error, path)) from None
    if not stat.S_ISREG(mode):
        message = f"cannot write {named}: something that is no ordinary file has that name"
        raise CannotWriteError(message)
    if force:
        return
    try:
        ours = is_ours is not None and is_ours(path)
    except Exception:  # a foreign file may break whoever looks into it; it is not ours then
        ours = False
    if not ours:
        message = (
            f"{named} exists and does not belong to this lesson; choose another name, or replace"
            " it with --force"
        )
        raise CannotWriteError(message)


def holds(data: bytes) -> Callable[[Path], bool]:
    """Return a test whether a file holds exactly that, for `publish` to replace it with itself."""
    return lambda path: path.read_bytes() == data


def _write(temporary: Path, data: bytes) -> None:
    """Write and flush; closing reports what the disk could not take."""
    flags = os.O_WRONLY | os.O_CREAT | os.O_EXCL | getattr(os, "O_BINARY", 0)
    handle = os.open(temporary, flags, 0o666)  # the user's own mask decides who may read
    with os.fdopen(handle, "wb") as opened:
        opened.write(data)
        opened.flush()
        os.fsync(opened.fileno())


def _put_in_place(temporary: Path, path: Path, *, replace: bool) -> None:
    """Give the finished file its name."""
    if not replace:
        try:
            # A link fails where a rename would silently replace a file that has just appeared.
            os.link(temporary, path)
        except FileExistsError:
            raise
        except OSError:
            pass  # a disk without links, such as a memory stick
        else:
            return
    try:
        temporary.replace(path)
    except PermissionError:
        if not _ON_WINDOWS:
            raise
        _keep_beside(temporary, path)


def _keep_beside(temporary: Path, path: Path) -> None:
    """Keep the finished file under another name while a viewer holds the old one open."""
    beside = path.with_suffix(f".new{path.suffix}")
    temporary.replace(beside)
    message = (
        f"{printable(str(path))} is open in another program; the new file is"
        f" {printable(beside.name)}"
    )
    raise CannotWriteError(message)


def _flush_folder(folder: Path) -> None:
    """Make the new name last through a power cut, where the system lets a folder be flushed."""
    if _ON_WINDOWS:
        return
    handle = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(handle)
    except OSError as error:
        if error.errno not in (errno.EINVAL, errno.ENOTSUP):
            raise
    finally:
        os.close(handle)


def _remove_leftovers(folder: Path) -> None:
    """Remove unfinished files of ours that a killed run left an hour ago or longer."""
    try:
        with os.scandir(folder) as entries:
            for entry in entries:
                found = _TEMPORARY.fullmatch(entry.name)
                if not found or _is_running(int(found["process"])):
                    continue
                if time.time() - entry.stat(follow_symlinks=False).st_mtime > _OLD_SECONDS:
                    Path(entry.path).unlink(missing_ok=True)
    except OSError:
        return  # tidying must never stop the work


def _is_running(process: int) -> bool:
    if _ON_WINDOWS:
        return process == os.getpid()
    try:
        os.kill(process, 0)
    except ProcessLookupError:
        return False
    except (PermissionError, OverflowError):
        return True
    return True


_REASONS = {
    errno.ENOSPC: "the disk is full",
    errno.EDQUOT: "your share of the disk is used up",
    errno.EACCES: "permission denied",
    errno.EPERM: "permission denied",
    errno.EROFS: "the disk can only be read",
    errno.ENAMETOOLONG: "the name is too long",
    errno.ENOENT: "the folder is missing",
    errno.ENOTDIR: "a part of the path is a file, not a folder",
    errno.EEXIST: "a file of that name has just appeared",
    errno.EIO: "the disk reports a fault",
    errno.ELOOP: "the path is a circle of links",
    errno.EFBIG: "the file would be too large for the disk",
}


def _why(error: OSError | ValueError, path: Path) -> str:
    """Return the system's refusal in plain words."""
    number = error.errno if isinstance(error, OSError) else None
    reason = _REASONS.get(number or 0, str(error))
    return f"cannot write {printable(str(path))}: {printable(reason)}"
