"""The tables on PostgreSQL, and how each format becomes the next; a format is never changed later.

All lie in a schema of their own. Text is compared byte by byte (collation "C"), as on every other
shelf, whatever language the server was set up for. ``place`` is explained in the SQLite tables.

The server gathers statistics of columns, samples of their values among them, in a catalogue that
only its superuser can clean; so no column that may tell of a person has any.
"""

SCHEMA = "lesson_reporter"
KIND = "lesson-reporter shelf"
"""Written into the facts, by which a shelf is told from any other table of that name."""
LOCK = 0x4C52_5331
"""Number of the advisory lock that whoever writes holds until the end of a transaction."""

_TEXT = 'text COLLATE "C" NOT NULL'

_FIRST = (
    f"CREATE SCHEMA {SCHEMA}",
    f"CREATE TABLE facts (name {_TEXT} PRIMARY KEY, value {_TEXT})",
    f"CREATE TABLE counters (name {_TEXT} PRIMARY KEY, highest bigint NOT NULL)",
    "INSERT INTO counters VALUES ('students', 0), ('lessons', 0), ('records', 0), ('log', 0)",
    f"""CREATE TABLE students (
        number bigint PRIMARY KEY,
        id {_TEXT} UNIQUE,
        name {_TEXT},
        folded_name {_TEXT})""",
    "CREATE INDEX students_by_name ON students (folded_name)",
    f"""CREATE TABLE lessons (
        number bigint PRIMARY KEY,
        mark {_TEXT} UNIQUE,
        student bigint REFERENCES students,
        current bigint)""",
    "CREATE INDEX lessons_by_student ON lessons (student)",
    f"""CREATE TABLE records (
        number bigint PRIMARY KEY,
        place bigint NOT NULL UNIQUE,
        lesson bigint NOT NULL REFERENCES lessons,
        version integer NOT NULL,
        digest {_TEXT} UNIQUE,
        size bigint NOT NULL,
        student bigint REFERENCES students,
        student_name {_TEXT},
        day {_TEXT},
        coach {_TEXT},
        kept_until {_TEXT},
        archive boolean NOT NULL,
        minor boolean NOT NULL,
        origin {_TEXT},
        level {_TEXT},
        age_band {_TEXT},
        details {_TEXT},
        checksum {_TEXT},
        added_at {_TEXT},
        added_by {_TEXT},
        given_at {_TEXT} DEFAULT '',
        handout {_TEXT} DEFAULT '',
        UNIQUE (lesson, version))""",
    "CREATE INDEX records_by_student ON records (student, place)",
    "CREATE INDEX records_by_handout ON records (handout) WHERE handout <> ''",
    "CREATE INDEX records_by_end ON records (kept_until) WHERE kept_until <> ''",
    f"""CREATE TABLE words (
        kind {_TEXT}, word {_TEXT}, place bigint NOT NULL, PRIMARY KEY (kind, word, place))""",
    "CREATE INDEX words_by_place ON words (place)",
    f"CREATE TABLE measure_names (number integer PRIMARY KEY, id {_TEXT} UNIQUE)",
    f"""CREATE TABLE series (
        number integer PRIMARY KEY,
        measure integer NOT NULL REFERENCES measure_names,
        view {_TEXT}, position {_TEXT}, moment {_TEXT},
        club {_TEXT}, camera {_TEXT}, unit {_TEXT}, trust {_TEXT},
        UNIQUE (measure, view, position, moment, club, camera, unit, trust))""",
    f"""CREATE TABLE measures (
        place bigint NOT NULL, ordinal integer NOT NULL,
        measure integer NOT NULL, series integer NOT NULL, frame {_TEXT},
        value double precision NOT NULL, plus_minus double precision NOT NULL,
        PRIMARY KEY (place, ordinal))""",
    "CREATE INDEX measures_by_value ON measures (measure, place, value)",
    f"""CREATE TABLE texts (
        place bigint PRIMARY KEY,
        title {_TEXT}, people {_TEXT}, thoughts {_TEXT}, notes {_TEXT},
        search tsvector NOT NULL)""",
    "CREATE INDEX search ON texts USING gin (search)",
    f"""CREATE TABLE log (
        number bigint PRIMARY KEY,
        at {_TEXT}, who {_TEXT}, what {_TEXT}, record bigint, count bigint NOT NULL DEFAULT 0)""",
    f"""CREATE TABLE erased (
        salt {_TEXT}, token {_TEXT}, erased_at {_TEXT}, records bigint NOT NULL,
        PRIMARY KEY (salt, token))""",
    "CREATE TABLE gone (record bigint PRIMARY KEY)",
    f"""CREATE TABLE leaving (
        number bigint GENERATED ALWAYS AS IDENTITY PRIMARY KEY, run bigint NOT NULL, what {_TEXT},
        student bigint, record bigint)""",
    *(
        f"ALTER TABLE {table} "
        + ", ".join(f"ALTER COLUMN {column} SET STATISTICS 0" for column in columns.split())
        for table, columns in {
            "facts": "value",
            "students": "id name folded_name",
            "lessons": "mark",
            "records": "digest student_name coach details checksum handout added_by level age_band",
            "words": "word",
            "series": "club camera",
            "measures": "frame",
            "texts": "title people thoughts notes search",
            "log": "who",
        }.items()
    ),
)

MIGRATIONS: tuple[tuple[str, ...], ...] = (_FIRST,)
"""Statements that lead from format n to n + 1; the first from an empty database."""

FORMAT = len(MIGRATIONS)

TABLES = (
    "facts", "counters", "students", "lessons", "records", "words", "measure_names", "series",
    "measures", "texts", "log", "erased", "gone", "leaving",
)  # fmt: skip
