"""The tables, and how each format of them becomes the next; a format is never changed later.

``place`` puts records in order of their lessons' days: the day's number (of the proleptic
Gregorian calendar) in the upper bits, the record's own number in the lower 32. The search index
and the lists of words are kept by it, so that the newest come first without sorting.
"""

APPLICATION_ID = 0x4C52_5331
"""Written into the file's header, by which it is told from any other SQLite database."""

_FIRST = (
    "CREATE TABLE facts (name TEXT PRIMARY KEY, value TEXT NOT NULL) WITHOUT ROWID",
    """CREATE TABLE students (
        number INTEGER PRIMARY KEY AUTOINCREMENT,
        id TEXT NOT NULL UNIQUE,
        name TEXT NOT NULL,
        folded_name TEXT NOT NULL)""",
    "CREATE INDEX students_by_name ON students (folded_name)",
    """CREATE TABLE lessons (
        number INTEGER PRIMARY KEY AUTOINCREMENT,
        mark TEXT NOT NULL UNIQUE,
        student INTEGER REFERENCES students,
        current INTEGER)""",
    """CREATE TABLE records (
        number INTEGER PRIMARY KEY AUTOINCREMENT,
        place INTEGER NOT NULL UNIQUE,
        lesson INTEGER NOT NULL REFERENCES lessons,
        version INTEGER NOT NULL,
        digest TEXT NOT NULL UNIQUE,
        size INTEGER NOT NULL,
        student INTEGER REFERENCES students,
        student_name TEXT NOT NULL,
        day TEXT NOT NULL,
        coach TEXT NOT NULL,
        kept_until TEXT NOT NULL,
        archive INTEGER NOT NULL,
        minor INTEGER NOT NULL,
        origin TEXT NOT NULL,
        level TEXT NOT NULL,
        age_band TEXT NOT NULL,
        details TEXT NOT NULL,
        checksum TEXT NOT NULL,
        added_at TEXT NOT NULL,
        added_by TEXT NOT NULL,
        UNIQUE (lesson, version))""",
    "CREATE INDEX records_by_student ON records (student, place)",
    """CREATE TABLE words (
        kind TEXT NOT NULL, word TEXT NOT NULL, place INTEGER NOT NULL,
        PRIMARY KEY (kind, word, place)) WITHOUT ROWID""",
    "CREATE TABLE measure_names (number INTEGER PRIMARY KEY, id TEXT NOT NULL UNIQUE)",
    """CREATE TABLE series (
        number INTEGER PRIMARY KEY,
        measure INTEGER NOT NULL REFERENCES measure_names,
        view TEXT NOT NULL, position TEXT NOT NULL, moment TEXT NOT NULL,
        club TEXT NOT NULL, camera TEXT NOT NULL, unit TEXT NOT NULL, trust TEXT NOT NULL,
        UNIQUE (measure, view, position, moment, club, camera, unit, trust))""",
    """CREATE TABLE measures (
        place INTEGER NOT NULL, ordinal INTEGER NOT NULL,
        measure INTEGER NOT NULL, series INTEGER NOT NULL, frame TEXT NOT NULL,
        value REAL NOT NULL, plus_minus REAL NOT NULL,
        PRIMARY KEY (place, ordinal)) WITHOUT ROWID""",
    "CREATE INDEX measures_by_value ON measures (measure, place, value)",
    """CREATE TABLE texts (
        place INTEGER PRIMARY KEY,
        title TEXT NOT NULL, people TEXT NOT NULL, thoughts TEXT NOT NULL, notes TEXT NOT NULL,
        keys TEXT NOT NULL)""",
    """CREATE VIRTUAL TABLE search USING fts5 (
        title, people, thoughts, notes, keys,
        content = 'texts', content_rowid = 'place', tokenize = 'unicode61 remove_diacritics 2')""",
    """CREATE TABLE log (
        number INTEGER PRIMARY KEY AUTOINCREMENT,
        at TEXT NOT NULL, who TEXT NOT NULL, what TEXT NOT NULL,
        record INTEGER, count INTEGER NOT NULL DEFAULT 0)""",
)

_SECOND = (
    "ALTER TABLE records ADD COLUMN given_at TEXT NOT NULL DEFAULT ''",
    "ALTER TABLE records ADD COLUMN handout TEXT NOT NULL DEFAULT ''",
    "CREATE INDEX records_by_handout ON records (handout) WHERE handout != ''",
    """CREATE TABLE erased (
        salt TEXT NOT NULL, token TEXT NOT NULL,
        erased_at TEXT NOT NULL, records INTEGER NOT NULL,
        PRIMARY KEY (salt, token)) WITHOUT ROWID""",
    "CREATE TABLE gone (record INTEGER PRIMARY KEY)",
    """CREATE TABLE leaving (
        number INTEGER PRIMARY KEY, run INTEGER NOT NULL, what TEXT NOT NULL,
        student INTEGER, record INTEGER)""",
)

MIGRATIONS: tuple[tuple[str, ...], ...] = (_FIRST, _SECOND)
"""Statements that lead from format n to n + 1; the first from an empty file."""

FORMAT = len(MIGRATIONS)

TABLES = frozenset(
    {
        "facts", "students", "lessons", "records", "words", "measure_names", "series",
        "measures", "texts", "search", "log", "erased", "gone", "leaving",
    }
)  # fmt: skip
