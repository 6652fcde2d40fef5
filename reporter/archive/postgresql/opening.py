"""Open the database: refuse what is not ours, too new or locked; bring old formats up."""

import secrets

from reporter.archive.postgresql.connection import (
    Address,
    Connection,
    address_of,
    connect,
    told,
    writing,
)
from reporter.archive.postgresql.rows import value_of
from reporter.archive.postgresql.schema import FORMAT, KIND, MIGRATIONS, SCHEMA
from reporter.archive.postgresql.store import PostgresqlStore
from reporter.errors import CannotWriteError, InputRefusedError, Problem

_NOT_READ = "; nothing was read, nothing was changed"
_ACTING = """
    SELECT (SELECT count(*) FROM pg_trigger t JOIN pg_class c ON c.oid = t.tgrelid
            WHERE c.relnamespace = n.oid AND NOT t.tgisinternal)
         + (SELECT count(*) FROM pg_class c WHERE c.relnamespace = n.oid
            AND c.relkind NOT IN ('r', 'i', 'S', 't'))
         + (SELECT count(*) FROM pg_rewrite w JOIN pg_class c ON c.oid = w.ev_class
            WHERE c.relnamespace = n.oid)
         + (SELECT count(*) FROM pg_policy p JOIN pg_class c ON c.oid = p.polrelid
            WHERE c.relnamespace = n.oid)
         + (SELECT count(*) FROM pg_proc p WHERE p.pronamespace = n.oid)
    FROM pg_namespace n WHERE n.nspname = %s
"""
_OTHERS_TABLES = """
    SELECT count(*) FROM pg_class c JOIN pg_namespace n ON n.oid = c.relnamespace
    WHERE n.nspname NOT LIKE 'pg\\_%' AND n.nspname <> 'information_schema'
    AND c.relkind IN ('r', 'p', 'v', 'm', 'f')
    AND NOT EXISTS (SELECT 1 FROM pg_depend d WHERE d.objid = c.oid AND d.deptype = 'e')
"""


def open_database(address_text: str, *, write: bool, wait_seconds: float) -> PostgresqlStore:
    """Open a shelf's database.

    Parameters
    ----------
    address_text : str
        Begins with ``postgresql://``.
    write : bool
        To write; an older format is brought up to this one. Otherwise nothing is changed.
    wait_seconds : float
        How long to wait for somebody else who writes [s].

    Raises
    ------
    InputRefusedError
        If it holds no shelf, one of a newer format, or of an older one and not to be written.
    CannotWriteError
        If the server cannot be reached, lets nobody in, or takes no changes.
    ShelfBusyError, ShelfDamagedError
        As they say.
    """
    address = address_of(address_text)
    connection = connect(address, write=write, wait_seconds=wait_seconds)
    try:
        with told(address, connection):
            if write and value_of(connection, "SELECT pg_is_in_recovery()"):
                message = f"{address.named} is a copy that follows another server: it only reads"
                raise CannotWriteError(message)
            _judge(connection, address)
            _bring_up(connection, address, write=write)
    except BaseException:
        connection.close()
        raise
    return PostgresqlStore(connection, address, wait_seconds)


def create_database(address_text: str, *, wait_seconds: float = 30.0) -> PostgresqlStore:
    """Begin an empty shelf in an empty database; see `open_database`."""
    address = address_of(address_text)
    connection = connect(address, write=True, wait_seconds=wait_seconds)
    try:
        with told(address, connection), writing(connection):
            encoding = value_of(connection, "SHOW server_encoding")
            if encoding != "UTF8":
                message = f"{address.named} keeps texts as {encoding}; a shelf needs UTF8"
                raise CannotWriteError(message)
            if value_of(connection, _OTHERS_TABLES):
                message = f"{address.named} is not empty; a shelf is begun in a database of its own"
                raise CannotWriteError(message)
            _migrate(connection, 0)
            for name, value in (
                ("kind", KIND),
                ("identity", secrets.token_hex(16)),
                ("cleaning", ""),
            ):
                connection.execute("INSERT INTO facts VALUES (%s, %s)", (name, value))
    except BaseException:
        connection.close()
        raise
    return PostgresqlStore(connection, address, wait_seconds)


def _judge(connection: Connection, address: Address) -> None:
    """Refuse a database that is no shelf's, or of a newer format, or does things by itself."""
    there = value_of(connection, "SELECT to_regclass(%s)", (f"{SCHEMA}.facts",))
    shape = (
        "SELECT array_agg(attname::text ORDER BY attnum) FROM pg_attribute"
        " WHERE attrelid = to_regclass(%s) AND attnum > 0 AND NOT attisdropped"
    )
    columns = value_of(connection, shape, (f"{SCHEMA}.facts",)) if there is not None else None
    if columns != ["name", "value"] or _fact(connection, "kind") != KIND:
        message = f"is a database, but no shelf{_NOT_READ}; begin one with shelf start"
        raise InputRefusedError([Problem(address.named, 0, 0, "", message)])
    written = _format(connection)
    if written > FORMAT or written < 1:
        message = (
            f"the shelf is of format {written}; this release knows formats 1 to {FORMAT}; a newer"
            f" release of lesson-reporter is needed{_NOT_READ}"
        )
        raise InputRefusedError([Problem(address.named, 0, 0, "", message)])
    if value_of(connection, _ACTING, (SCHEMA,)):
        message = f"holds triggers, rules, functions or views, which no shelf does{_NOT_READ}"
        raise InputRefusedError([Problem(address.named, 0, 0, "", message)])


def _fact(connection: Connection, name: str) -> str:
    return str(value_of(connection, "SELECT value FROM facts WHERE name = %s", (name,)) or "")


def _format(connection: Connection) -> int:
    written = _fact(connection, "format")
    return int(written) if written.isdecimal() else 0


def _bring_up(connection: Connection, address: Address, *, write: bool) -> None:
    """Bring an older format up to this one in one transaction, or refuse where that may not be."""
    written = _format(connection)
    if written == FORMAT:
        return
    if not write:
        message = (
            f"the shelf is of format {written}, this release writes format {FORMAT}; bring it up"
            ' with "shelf upgrade" first'
        )
        raise InputRefusedError([Problem(address.named, 0, 0, "", message)])
    with writing(connection):
        _migrate(connection, _format(connection))  # somebody else may have been quicker


def _migrate(connection: Connection, written: int) -> None:
    for number, statements in enumerate(MIGRATIONS[written:], start=written + 1):
        for statement in statements:
            connection.execute(statement)
        connection.execute(
            "INSERT INTO facts VALUES ('format', %s)"
            " ON CONFLICT (name) DO UPDATE SET value = excluded.value",
            (str(number),),
        )
