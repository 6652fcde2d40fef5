"""Turn what is looked for into one question to PostgreSQL, whose planner picks the way."""

from typing import Any

from reporter.archive.plain_rows import NUMBER_BITS, as_row, first_place
from reporter.archive.postgresql.connection import Connection
from reporter.archive.postgresql.rows import JOINED, ROW
from reporter.archive.postgresql.words import question_of
from reporter.archive.store import RecordRow, Wanted

MOST_RANKED = 2_000
"""As on every shelf: ranking is done among the newest two thousand matches."""
_KINDS = ("club", "fault", "drill", "camera", "coach", "academy")
_RANK = "ts_rank('{1, 1, 1, 1}', t.search, %s::tsquery, 1)"


def find(connection: Connection, wanted: Wanted) -> list[RecordRow]:
    """Return the records that fit."""
    conditions: list[str] = []
    values: list[Any] = []

    def must(condition: str, *given: Any) -> None:  # noqa: ANN401 - as the columns are
        conditions.append(condition)
        values.extend(given)

    asked = question_of(wanted) if wanted.text else ""
    if asked:
        must("t.search @@ %s::tsquery", asked)
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
    if wanted.since:
        must("r.place >= %s", first_place(wanted.since))
    if wanted.until:
        must("r.place < %s", first_place(wanted.until) + (1 << NUMBER_BITS))
    if wanted.origin is not None:
        must("r.origin = %s", wanted.origin)
    if not wanted.all_versions:
        must("l.current = r.number")
    where = f"WHERE {' AND '.join(conditions)}" if conditions else ""
    newest = "ORDER BY r.place DESC LIMIT %s"
    if wanted.order == "best" and asked:
        # The rank is worked out only for the newest matches, then they are sorted by it.
        inner = f"{ROW}, r.place AS p, t.search FROM records r {JOINED} {where} {newest}"
        names = ", ".join(f"c{number}" for number in range(20))
        question = (
            f"SELECT {names} FROM ({inner}) AS t ({names}, p, search)"
            f" ORDER BY {_RANK} DESC, p DESC LIMIT %s"
        )
        values += [MOST_RANKED, asked, wanted.most]
    else:
        question = f"{ROW} FROM records r {JOINED} {where} {newest}"
        values.append(wanted.most)
    return [as_row(row) for row in connection.execute(question, values)]


def _between(low: float | None, high: float | None) -> tuple[str, list[float]]:
    text, bounds = "", []
    if low is not None:
        text += " AND m.value >= %s"
        bounds.append(float(low))
    if high is not None:
        text += " AND m.value <= %s"
        bounds.append(float(high))
    return text, bounds
