"""What is wrong with the rows on PostgreSQL: tables, references, lists of words, search index.

Pages of the server's files are not in reach; its own checksums and ``amcheck`` look at those.
"""

import json
from collections import Counter
from collections.abc import Iterator

from reporter.archive.plain_rows import WORD_KINDS, words_listed
from reporter.archive.postgresql.connection import Connection
from reporter.archive.postgresql.rows import value_of
from reporter.archive.postgresql.schema import SCHEMA, TABLES
from reporter.archive.postgresql.words import vector_of

_AT_ONCE = 1_000


def faults(connection: Connection) -> Iterator[str]:
    """Yield every fault."""
    names = {
        name
        for (name,) in connection.execute(
            "SELECT tablename::text FROM pg_tables WHERE schemaname = %s", (SCHEMA,)
        )
    }
    missing = sorted(set(TABLES) - names)
    yield from (f"table {table} is missing" for table in missing)
    if missing:
        return
    for name in ("fsync", "full_page_writes"):
        if value_of(connection, "SELECT current_setting(%s)", (name,)) == "off":
            yield f"the server runs with {name} = off: a power cut can damage the whole shelf"
    for (index,) in connection.execute(
        """SELECT c.relname::text FROM pg_index i JOIN pg_class c ON c.oid = i.indexrelid
           JOIN pg_namespace n ON n.oid = c.relnamespace
           WHERE n.nspname = %s AND NOT (i.indisvalid AND i.indisready)""",
        (SCHEMA,),
    ):
        yield f"index {index} is not valid"
    for table in ("texts", "measures", "words"):
        count = value_of(
            connection,
            f"SELECT count(DISTINCT place) FROM {table} x"
            " WHERE NOT EXISTS (SELECT 1 FROM records r WHERE r.place = x.place)",
        )
        if count:
            yield f"table {table} speaks of {count} records that are not there"
    for number, mark in connection.execute(
        """SELECT l.number, l.mark FROM lessons l LEFT JOIN records r ON r.number = l.current
           WHERE r.number IS NULL OR r.lesson <> l.number ORDER BY l.number"""
    ):
        yield f"lesson {number} ({mark}): the version that counts is not there"
    yield from _word_faults(connection)
    yield from _search_faults(connection)


def _word_faults(connection: Connection) -> Iterator[str]:
    """Compare the lists of words with the records they were made from."""
    missing: Counter[str] = Counter()
    surplus = 0
    after = -1
    while True:
        rows = connection.execute(
            "SELECT place, coach, details FROM records WHERE place > %s ORDER BY place LIMIT %s",
            (after, _AT_ONCE),
        ).fetchall()
        if not rows:
            break
        places = [place for place, _, _ in rows]
        stored = {
            tuple(row)
            for row in connection.execute(
                "SELECT kind, word, place FROM words WHERE place = ANY(%s)", (places,)
            )
        }
        expected = set()
        for place, coach, details in rows:
            expected |= {(kind, word, place) for kind, word in _words(coach, details)}
        missing.update(kind for kind, _, _ in expected - stored)
        surplus += len(stored - expected)
        after = places[-1]
    strangers = "SELECT count(*) FROM words w WHERE NOT EXISTS"
    surplus += value_of(
        connection, f"{strangers} (SELECT 1 FROM records r WHERE r.place = w.place)"
    )
    for kind, count in sorted(missing.items()):
        yield f"list of words: {count} entries of kind {kind} are missing or changed"
    if surplus:
        yield f"list of words: {surplus} entries too many"


def _words(coach: str, details: str) -> Iterator[tuple[str, str]]:
    """Yield what a record is listed under; nothing where its details are damaged."""
    try:
        kept = json.loads(details)
        listed = {field: kept[field] for field in (*WORD_KINDS, "academy")}
        yield from words_listed({"coach": coach, **listed})
    except (ValueError, TypeError, LookupError):
        return


def _search_faults(connection: Connection) -> Iterator[str]:
    """Make every search vector anew and let the server compare."""
    wrong = 0
    after = -1
    while True:
        rows = connection.execute(
            "SELECT place, title, people, thoughts, notes FROM texts WHERE place > %s"
            " ORDER BY place LIMIT %s",
            (after, _AT_ONCE),
        ).fetchall()
        if not rows:
            break
        wrong += value_of(
            connection,
            """SELECT count(*) FROM unnest(%s::bigint[], %s::text[]) AS a (place, made)
               JOIN texts t USING (place) WHERE t.search <> a.made::tsvector""",
            ([row[0] for row in rows], [vector_of(*row[1:]) for row in rows]),
        )
        after = rows[-1][0]
    if wrong:
        yield f"the search index does not agree with the texts of {wrong} records"
