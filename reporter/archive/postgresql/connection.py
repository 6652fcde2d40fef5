"""Connect to PostgreSQL, hold its write lock, and tell its errors without a secret in them."""

import contextlib
import os
import socket
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any, TypeAlias

import psycopg
from psycopg import errors
from psycopg.conninfo import conninfo_to_dict

from reporter.archive.postgresql.schema import LOCK, SCHEMA
from reporter.errors import (
    CannotWriteError,
    InputRefusedError,
    LimitError,
    Problem,
    ReporterError,
    ShelfBusyError,
    ShelfDamagedError,
    printable,
)

Connection: TypeAlias = psycopg.Connection[tuple[Any, ...]]
CONNECT_SECONDS = 10
_PROGRAM = "lesson-reporter"
_HOLDERS = """
    SELECT DISTINCT a.application_name, a.pid FROM pg_locks k JOIN pg_stat_activity a USING (pid)
    WHERE k.locktype = 'advisory' AND k.granted AND k.classid = 0 AND k.objid = %s
    AND k.database = (SELECT oid FROM pg_database WHERE datname = current_database())
"""


@dataclass(frozen=True, slots=True)
class Address:
    """Of a database.

    Attributes
    ----------
    parameters : dict
        As libpq takes them, the password among them.
    named : str
        What people are told.
    """

    parameters: dict[str, Any]
    named: str

    def __repr__(self) -> str:
        """Return nothing that is secret."""
        return f"Address({self.named!r})"


def address_of(text: str) -> Address:
    """Take an address apart.

    Raises
    ------
    InputRefusedError
        If it cannot be read; it is not repeated, since a password may be in any part of it.
    """
    try:
        parts = conninfo_to_dict(text)
    except psycopg.Error:
        parts = {"port": "unreadable"}
    host = str(parts.get("host") or "")
    database = str(parts.get("dbname") or "")
    port = str(parts.get("port") or "")
    # A sign of the password that is not written as %XX moves its rest into another part.
    if (
        not all(one.isdigit() for one in port.split(",") if one)
        or "@" in host + database
        or any(sign in database for sign in "/:?#")
    ):
        message = (
            "the address of the shelf cannot be read; it is postgresql://USER@HOST/DATABASE, a"
            " password within it with %40 for @, %2F for /, %3A for : and %23 for #"
        )
        raise InputRefusedError([Problem("command line", 0, 0, "", message)])
    parts.setdefault("connect_timeout", CONNECT_SECONDS)
    named = f'the database "{database or "of your name"}" on {host or "this computer"}'
    return Address(parts, printable(named))


def connect(address: Address, *, write: bool, wait_seconds: float) -> Connection:
    """Connect, with what every use of the shelf relies on set for the whole connection.

    Raises
    ------
    CannotWriteError
        If the server cannot be reached or lets nobody in.
    """
    program = f"{_PROGRAM} {os.getpid()} on {socket.gethostname()}"[:63]
    settings = {"client_encoding": "utf8", "application_name": program}
    try:
        connection = psycopg.connect("", **{**address.parameters, **settings}, autocommit=True)
    except psycopg.Error as error:
        message = f"cannot connect to {address.named}: {_without_secret(str(error), address)}"
        raise CannotWriteError(message) from None
    try:
        with told(address):
            _prepare(connection, write=write, wait_seconds=wait_seconds)
    except BaseException:
        connection.close()
        raise
    return connection


def _without_secret(text: str, address: Address) -> str:
    for name in ("password", "sslpassword"):
        secret = str(address.parameters.get(name) or "") or os.environ.get(f"PG{name.upper()}", "")
        if secret:
            text = text.replace(secret, "***")
    return printable("; ".join(line.strip() for line in text.splitlines() if line.strip()))


def _prepare(connection: Connection, *, write: bool, wait_seconds: float) -> None:
    """Set what is not written in the database.

    Nothing of other schemas is ever called by a name of ours, and what is told as kept was
    flushed even where the server was told to be content with less.
    """
    for name, value in (
        ("search_path", f"{SCHEMA}, pg_temp"),
        ("lock_timeout", f"{max(1, round(wait_seconds * 1000))}ms"),
        ("default_transaction_read_only", "off" if write else "on"),
        ("default_transaction_isolation", "read committed"),
        ("idle_in_transaction_session_timeout", "10min"),
    ):
        connection.execute("SELECT set_config(%s, %s, false)", (name, value))
    connection.execute(
        "SELECT set_config('synchronous_commit', 'on', false)"
        " WHERE current_setting('synchronous_commit') IN ('off', 'local')"
    )


@contextlib.contextmanager
def writing(connection: Connection) -> Iterator[None]:
    """Hold the write lock of the shelf; commit at the end, or take everything back."""
    with connection.transaction():
        connection.execute("SELECT pg_advisory_xact_lock(%s)", (LOCK,))
        yield


@contextlib.contextmanager
def told(address: Address, connection: Connection | None = None) -> Iterator[None]:
    """Turn what PostgreSQL raises into the error that fits, with its exit code.

    Of its messages only the first line is repeated: the others may show values of rows.
    """
    try:
        yield
    except psycopg.Error as error:
        raise _as_ours(error, address, connection) from None


def _as_ours(
    error: psycopg.Error, address: Address, connection: Connection | None
) -> ReporterError:
    state = error.sqlstate or ""
    primary = error.diag.message_primary or str(error).split("\n")[0]
    said = _without_secret(primary, address)
    if isinstance(error, errors.LockNotAvailable | errors.DeadlockDetected):
        holders = _holders(connection) if connection is not None else ""
        return ShelfBusyError(
            f"{address.named} is being written by somebody else{holders}; nothing was changed,"
            " try again"
        )
    if state.startswith(("53", "58", "57")) or (not state and _is_lost(error)):
        return CannotWriteError(
            f"{address.named}: the server is full, reports a fault or went away ({said}); what was"
            " not told as kept may be added again"
        )
    if state in ("42501", "25006"):
        return CannotWriteError(f"cannot use {address.named} as asked: {said}")
    if state.startswith("54"):
        return LimitError(f"{address.named}: a value is too long to be kept ({said})")
    if state == "22021" or (not state and isinstance(error, psycopg.DataError)):
        return InputRefusedError(
            [Problem("shelf", 0, 0, "", f"a text holds a sign that cannot be kept ({said})")]
        )
    return ShelfDamagedError(
        f"{address.named} is damaged ({said}); its PDFs are still there: shelf rebuild makes a new"
        " shelf from them"
    )


def _is_lost(error: psycopg.Error) -> bool:
    return isinstance(error, psycopg.OperationalError | psycopg.InterfaceError)


def _holders(connection: Connection) -> str:
    """Name who holds the write lock, as far as the server tells."""
    try:
        found = connection.execute(_HOLDERS, (LOCK,)).fetchall()
    except psycopg.Error:
        return ""
    listed = [
        name.replace(_PROGRAM, "process", 1)
        if name.startswith(f"{_PROGRAM} ")
        else f"process {pid} of the server"
        for name, pid in found
    ]
    return f" ({printable(', '.join(listed))})" if listed else ""
