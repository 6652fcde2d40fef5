"""What the database finds wrong with itself: pages, references, lists of words, search index."""

import sqlite3
from collections.abc import Iterator

from reporter.archive.entry import folded
from reporter.archive.plain_rows import SINGLE_WORDS, WORD_KINDS
from reporter.archive.sqlite.schema import TABLES

MOST_TOLD = 20


def faults(connection: sqlite3.Connection, *, write: bool) -> Iterator[str]:
    """Yield every fault; the search index is held against the texts only where writing is."""
    found = [row[0] for row in connection.execute(f"PRAGMA integrity_check({MOST_TOLD})")]
    if found != ["ok"]:
        yield from (f"database page or index: {one}" for one in found)
        return
    names = {row[0] for row in connection.execute("SELECT name FROM sqlite_schema")}
    for table in sorted(TABLES - names):
        yield f"table {table} is missing"
    if TABLES - names:
        return
    for table, row, parent, _ in connection.execute("PRAGMA foreign_key_check"):
        yield f"row {row} of table {table} names nothing in {parent}"
    for table in ("texts", "measures", "words"):
        count = connection.execute(
            f"SELECT count(DISTINCT place) FROM {table}"
            " WHERE place NOT IN (SELECT place FROM records)"
        ).fetchone()[0]
        if count:
            yield f"table {table} speaks of {count} records that are not there"
    for number, mark in connection.execute(
        """SELECT l.number, l.mark FROM lessons l LEFT JOIN records r ON r.number = l.current
           WHERE r.number IS NULL OR r.lesson != l.number"""
    ):
        yield f"lesson {number} ({mark}): the version that counts is not there"
    yield from _word_faults(connection)
    if write:
        yield from _search_faults(connection)


def _word_faults(connection: sqlite3.Connection) -> Iterator[str]:
    """Compare the lists of words with the records they were made from."""
    expected = 0
    for field, kind in WORD_KINDS.items():
        total, missing = connection.execute(
            f"""SELECT count(*), coalesce(sum(NOT EXISTS (SELECT 1 FROM words w WHERE w.kind = ?
                AND w.word = j.value AND w.place = r.place)), 0)
                FROM records r, json_each(r.details, '$.{field}') j""",
            (kind,),
        ).fetchone()
        expected += total
        if missing:
            yield f"list of words: {missing} entries of kind {kind} are missing or changed"
    connection.create_function("folded", 1, folded, deterministic=True)
    for kind in SINGLE_WORDS:
        column = "r.coach" if kind == "coach" else f"json_extract(r.details, '$.{kind}')"
        total, missing = connection.execute(
            f"""SELECT count(*), coalesce(sum(NOT EXISTS (SELECT 1 FROM words w WHERE w.kind = ?
                AND w.word = folded({column}) AND w.place = r.place)), 0)
                FROM records r WHERE folded({column}) != ''""",
            (kind,),
        ).fetchone()
        expected += total
        if missing:
            yield f"list of words: {missing} entries of kind {kind} are missing or changed"
    stored = connection.execute("SELECT count(*) FROM words").fetchone()[0]
    if stored > expected:
        yield f"list of words: {stored - expected} entries too many"


def _search_faults(connection: sqlite3.Connection) -> Iterator[str]:
    """Let the index compare itself with the texts it was made from."""
    connection.execute("BEGIN IMMEDIATE")
    try:
        connection.execute("INSERT INTO search (search, rank) VALUES ('integrity-check', 1)")
    except sqlite3.DatabaseError as error:
        if (error.sqlite_errorcode & 0xFF) != sqlite3.SQLITE_CORRUPT:
            raise
        yield "the search index does not agree with the texts"
    finally:
        connection.execute("ROLLBACK")
