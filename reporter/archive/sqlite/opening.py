"""Open the database: refuse what is not ours, too new, locked or damaged; bring old formats up."""

import contextlib
import os
import secrets
import socket
import sqlite3
import urllib.parse
from collections.abc import Iterator
from pathlib import Path

from reporter.archive.sqlite.schema import APPLICATION_ID, FORMAT, MIGRATIONS
from reporter.archive.sqlite.store import SqliteStore
from reporter.errors import (
    CannotWriteError,
    InputRefusedError,
    LimitError,
    Problem,
    ShelfBusyError,
    ShelfDamagedError,
)

WAIT_SECONDS = 30.0
LONGEST_VALUE_BYTES = 4_000_000
_NOT_READ = "; nothing was read, nothing was changed"


def open_database(
    path: Path, *, write: bool, wait_seconds: float = WAIT_SECONDS, check: bool = False
) -> SqliteStore:
    """Open a shelf's database.

    Parameters
    ----------
    path : Path
        The database file.
    write : bool
        To write; an older format is brought up to this one. Otherwise nothing is changed, and
        it may lie where nothing can be written.
    wait_seconds : float
        How long to wait for somebody else who writes [s].
    check : bool
        Let SQLite look through all pages first, as is wise for a file from elsewhere.

    Raises
    ------
    InputRefusedError
        If it is missing, somebody else's, of a newer format, or of an older one and not to be
        written.
    ShelfBusyError, ShelfDamagedError, CannotWriteError
        As they say.
    """
    if not path.is_file():
        message = 'there is no shelf here; begin one with "shelf start"'
        raise InputRefusedError([Problem(str(path.parent), 0, 0, "", message)])
    with told(path):
        connection = _connect(path, write=write, wait_seconds=wait_seconds)
        try:
            _judge(connection, path)
            if check:
                found = connection.execute("PRAGMA quick_check(1)").fetchone()[0]
                if found != "ok":
                    message = f"{path}: {found}"
                    raise ShelfDamagedError(message)
            _bring_up(connection, path, write=write)
        except BaseException:
            connection.close()
            raise
    return SqliteStore(connection, lambda: told(path))


def create_database(path: Path) -> SqliteStore:
    """Make an empty database that does not exist yet; see `open_database`."""
    if path.exists():
        message = f"{path} exists; a shelf is never begun over something else"
        raise CannotWriteError(message)
    with told(path):
        connection = sqlite3.connect(path, isolation_level=None, timeout=WAIT_SECONDS)
        try:
            connection.execute("PRAGMA journal_mode = WAL")
            _prepare(connection)
            connection.execute("BEGIN IMMEDIATE")
            _migrate(connection, 0)
            connection.execute("INSERT INTO facts VALUES ('identity', ?)", (secrets.token_hex(16),))
            connection.execute("INSERT INTO facts VALUES ('cleaning', '')")
            connection.execute(f"PRAGMA application_id = {APPLICATION_ID}")
            connection.execute("COMMIT")
        except BaseException:
            connection.close()
            raise
    return SqliteStore(connection, lambda: told(path))


def _connect(path: Path, *, write: bool, wait_seconds: float) -> sqlite3.Connection:
    """Connect; for reading also where no file can be written beside the database."""
    address = f"file:{urllib.parse.quote(str(path.resolve()))}"
    if not write:
        beside = path.with_name(f"{path.name}-wal")
        alone = not os.access(path.parent, os.W_OK) and not (
            beside.exists() and beside.stat().st_size
        )
        address += "?immutable=1" if alone else "?mode=ro"
    else:
        if not os.access(path, os.W_OK) or not os.access(path.parent, os.W_OK):
            message = f"cannot write {path}: permission denied"
            raise CannotWriteError(message)
        address += "?mode=rw"
    connection = sqlite3.connect(address, uri=True, isolation_level=None, timeout=wait_seconds)
    try:
        _prepare(connection)
        if not write:
            connection.execute("PRAGMA query_only = ON")
    except BaseException:
        connection.close()
        raise
    return connection


def _prepare(connection: sqlite3.Connection) -> None:
    """Set what is not written in the file.

    A file from elsewhere may hold a schema that does things on reading: it is not trusted, its
    cells are checked, and no value may be very long (sqlite.org/security.html).
    """
    connection.execute("PRAGMA trusted_schema = OFF")
    connection.execute("PRAGMA cell_size_check = ON")
    connection.execute("PRAGMA mmap_size = 0")
    connection.execute("PRAGMA foreign_keys = ON")
    connection.execute("PRAGMA secure_delete = ON")
    connection.execute("PRAGMA synchronous = FULL")
    connection.execute("PRAGMA cache_size = -16000")
    connection.setlimit(sqlite3.SQLITE_LIMIT_LENGTH, LONGEST_VALUE_BYTES)


def _judge(connection: sqlite3.Connection, path: Path) -> None:
    """Refuse a database that is not a shelf's, or of a newer format, or does things by itself."""
    application = connection.execute("PRAGMA application_id").fetchone()[0]
    if application != APPLICATION_ID:
        message = f"is a database, but no shelf{_NOT_READ}"
        raise InputRefusedError([Problem(str(path), 0, 0, "", message)])
    written = connection.execute("PRAGMA user_version").fetchone()[0]
    if written > FORMAT or written < 1:
        message = (
            f"the shelf is of format {written}; this release knows formats 1 to {FORMAT}; a newer"
            f" release of lesson-reporter is needed{_NOT_READ}"
        )
        raise InputRefusedError([Problem(str(path), 0, 0, "", message)])
    acting = connection.execute(
        "SELECT count(*) FROM sqlite_schema WHERE type IN ('trigger', 'view')"
    ).fetchone()[0]
    if acting:
        message = f"holds triggers or views, which no shelf does{_NOT_READ}"
        raise InputRefusedError([Problem(str(path), 0, 0, "", message)])


def _bring_up(connection: sqlite3.Connection, path: Path, *, write: bool) -> None:
    """Bring an older format up to this one in one transaction, or refuse where that may not be."""
    written = connection.execute("PRAGMA user_version").fetchone()[0]
    if written == FORMAT:
        return
    if not write:
        message = (
            f"the shelf is of format {written}, this release writes format {FORMAT}; bring it up"
            ' with "shelf upgrade" first'
        )
        raise InputRefusedError([Problem(str(path), 0, 0, "", message)])
    connection.execute("BEGIN IMMEDIATE")
    try:
        # Somebody else may have been quicker.
        _migrate(connection, connection.execute("PRAGMA user_version").fetchone()[0])
        connection.execute("COMMIT")
    except BaseException:
        if connection.in_transaction:
            connection.execute("ROLLBACK")
        raise


def _migrate(connection: sqlite3.Connection, written: int) -> None:
    for number, statements in enumerate(MIGRATIONS[written:], start=written + 1):
        for statement in statements:
            connection.execute(statement)
        connection.execute(f"PRAGMA user_version = {number:d}")


@contextlib.contextmanager
def told(path: Path) -> Iterator[None]:
    """Turn what SQLite raises into the error that fits, with its exit code."""
    try:
        yield
    except UnicodeDecodeError:
        # Python's own, where SQLite hands on a message about bytes that are no text.
        raise _damaged(path, "a text in it is none") from None
    except sqlite3.Error as error:
        code = getattr(error, "sqlite_errorcode", 0) & 0xFF
        if code in (sqlite3.SQLITE_BUSY, sqlite3.SQLITE_LOCKED):
            message = (
                f"{path} is being written by somebody else{_holders(path)}; nothing was changed,"
                " try again"
            )
            raise ShelfBusyError(message) from None
        if code == sqlite3.SQLITE_NOTADB:
            message = f"is no database, or its beginning is damaged{_NOT_READ}"
            raise InputRefusedError([Problem(str(path), 0, 0, "", message)]) from None
        if code == sqlite3.SQLITE_TOOBIG:
            message = f"{path}: a value is too long to be kept"
            raise LimitError(message) from None
        if code in (sqlite3.SQLITE_FULL, sqlite3.SQLITE_IOERR):
            message = f"cannot write {path}: the disk is full or reports a fault ({error})"
            raise CannotWriteError(message) from None
        if code in (sqlite3.SQLITE_READONLY, sqlite3.SQLITE_CANTOPEN, sqlite3.SQLITE_PERM):
            message = f"cannot open {path} as asked: {error}"
            raise CannotWriteError(message) from None
        raise _damaged(path, str(error)) from None


def _damaged(path: Path, reason: str) -> ShelfDamagedError:
    message = (
        f"{path} is damaged ({reason}); its PDFs are still there: shelf rebuild makes a new"
        " shelf from them"
    )
    return ShelfDamagedError(message)


def _holders(path: Path) -> str:
    """Name the processes that hold a lock on the database, where the system tells them.

    ``/proc/locks`` (proc(5)) lists every lock with its process and the file's inode; the lock of
    a database in write-ahead mode lies on the file ending in ``-shm``.
    """
    inodes = set()
    for name in (path.name, f"{path.name}-shm"):
        with contextlib.suppress(OSError):
            inodes.add(str(path.with_name(name).stat().st_ino))
    held = set()
    with contextlib.suppress(OSError, IndexError, ValueError):
        for line in Path("/proc/locks").read_text("ascii").splitlines():
            parts = line.split()
            if parts[3] == "WRITE" and parts[5].rsplit(":", 1)[1] in inodes:
                held.add(int(parts[4]))
    held.discard(os.getpid())
    if not held:
        return ""
    listed = ", ".join(str(process) for process in sorted(held))
    return f" (process {listed} on {socket.gethostname()})"
