"""Turn what is looked for into questions to PostgreSQL, whose planner picks the way.

The server gathers and sorts all that fits before it gives the first row, and nothing tells it how
common a word is (`schema` says why). So the newest records are asked alone at first: what is common
is found among them, and what is not leaves little to gather in the whole.
"""

from typing import Any

from reporter.archive.plain_rows import NUMBER_BITS, as_row, first_place
from reporter.archive.postgresql.connection import Connection
from reporter.archive.postgresql.rows import JOINED, ROW, value_of
from reporter.archive.postgresql.words import question_of
from reporter.archive.store import RecordRow, Wanted

NEWEST = 2_000
"""So many records at least are asked at first; what stands in one of a hundred is found there."""
MOST_RANKED = 2_000
"""As on every shelf: ranking is done among the newest two thousand matches."""
_KINDS = ("club", "fault", "drill", "camera", "coach", "academy")
_RANK = "ts_rank('{1, 1, 1, 1}', t.search, %s::tsquery, 1)"


def find(connection: Connection, wanted: Wanted) -> list[RecordRow]:
    """Return the records that fit."""
    asked = question_of(wanted) if wanted.text else ""
    ranked = wanted.order == "best" and bool(asked)
    since = first_place(wanted.since) if wanted.since else None
    if not wanted.students:
        enough = MOST_RANKED if ranked else wanted.most
        newest = _first_of_newest(connection, wanted, max(NEWEST, 4 * enough))
        if newest is not None and (since is None or newest > since):
            found, matches = _found(connection, wanted, asked, ranked, newest, few=True)
            if matches >= enough:
                return found
    return _found(connection, wanted, asked, ranked, since)[0]


def _first_of_newest(connection: Connection, wanted: Wanted, count: int) -> int | None:
    """Return the place at which the newest records begin; None where there are no more."""
    before = _behind(wanted.until) if wanted.until else 1 << 62
    found: int | None = value_of(
        connection,
        "SELECT place FROM records WHERE place < %s ORDER BY place DESC OFFSET %s LIMIT 1",
        (before, count - 1),
    )
    return found


def _behind(day: str) -> int:
    """Return the first place behind all of a day's."""
    return first_place(day) + (1 << NUMBER_BITS)


def _found(
    connection: Connection,
    wanted: Wanted,
    asked: str,
    ranked: bool,
    since: int | None,
    *,
    few: bool = False,
) -> tuple[list[RecordRow], int]:
    """Return what fits from a place on, and how much fits, as far as it was counted.

    Where only few records lie behind that place, the words of each are looked at: by the operator
    the server might gather all that hold them, however many, from the index.
    """
    conditions: list[str] = []
    values: list[Any] = []

    def must(condition: str, *given: Any) -> None:  # noqa: ANN401 - as the columns are
        conditions.append(condition)
        values.extend(given)

    if asked:
        holds = "ts_match_vq(t.search, %s::tsquery)" if few else "t.search @@ %s::tsquery"
        must(holds, asked)
    if wanted.students:
        must("r.student = ANY(%s)", list(wanted.students))
    for kind in _KINDS:
        word = getattr(wanted, kind)
        if word:
            must(
                "EXISTS (SELECT 1 FROM words w WHERE w.kind = %s AND w.word = %s"
                " AND w.place = r.place)",
                kind,
                word,
            )
    for one in wanted.measures:
        inside, bounds = _between(one.low, one.high)
        must(
            "EXISTS (SELECT 1 FROM measures m WHERE m.measure ="
            f" (SELECT number FROM measure_names WHERE id = %s) AND m.place = r.place{inside})",
            one.measure,
            *bounds,
        )
    if since is not None:
        must("r.place >= %s", since)
    if wanted.until:
        must("r.place < %s", _behind(wanted.until))
    if wanted.origin is not None:
        must("r.origin = %s", wanted.origin)
    if not wanted.all_versions:
        must("l.current = r.number")
    where = f"WHERE {' AND '.join(conditions)}" if conditions else ""
    newest = "ORDER BY r.place DESC LIMIT %s"
    if ranked:
        # The rank is worked out only for the newest matches, then they are sorted by it.
        inner = f"{ROW}, r.place AS p, t.search FROM records r {JOINED} {where} {newest}"
        names = ", ".join(f"c{number}" for number in range(20))
        question = (
            f"SELECT {names}, count(*) OVER () FROM ({inner}) AS t ({names}, p, search)"
            f" ORDER BY {_RANK} DESC, p DESC LIMIT %s"
        )
        values += [MOST_RANKED, asked, wanted.most]
    else:
        question = f"{ROW}, 0 FROM records r {JOINED} {where} {newest}"
        values.append(wanted.most)
    rows = connection.execute(question, values).fetchall()
    matches = rows[0][-1] if ranked and rows else len(rows)
    return [as_row(row[:-1]) for row in rows], matches


def _between(low: float | None, high: float | None) -> tuple[str, list[float]]:
    text, bounds = "", []
    if low is not None:
        text += " AND m.value >= %s"
        bounds.append(float(low))
    if high is not None:
        text += " AND m.value <= %s"
        bounds.append(float(high))
    return text, bounds
