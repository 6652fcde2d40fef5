"""Turn what is looked for into one question to SQLite that can stop at the first rows it needs.

One filter leads, the one expected to leave least, in the order of places from the newest back;
the others are looked up for each of its rows. So nothing is sorted, and a word that stands in
nearly every lesson is as quick as a rare one.
"""

import re
import sqlite3
from typing import Any

from reporter.archive.plain_rows import as_row, first_place, student_key
from reporter.archive.sqlite.rows import JOINED, ROW
from reporter.archive.store import RecordRow, Wanted
from reporter.errors import InputRefusedError, Problem

MOST_RANKED = 2_000
"""Ranking reads every match; beyond the newest two thousand it would take too long."""
_PART = re.compile(r'"([^"]*)"|(\S+)')
_COLUMNS = "{title people thoughts notes}"
_KINDS = ("club", "fault", "drill", "camera", "coach", "academy")


def find(connection: sqlite3.Connection, wanted: Wanted) -> list[RecordRow]:
    """Return the records that fit."""
    words = [(kind, getattr(wanted, kind)) for kind in _KINDS if getattr(wanted, kind)]
    ranges = list(wanted.measures)
    conditions: list[str] = []
    values: list[Any] = []
    order, once = "p DESC", ""
    if wanted.text:
        asked = match_of(wanted)
        if wanted.order == "best":
            source = (
                "(SELECT rowid AS p, rank AS score FROM search WHERE search MATCH ?"
                f" ORDER BY rowid DESC LIMIT {MOST_RANKED})"
            )
            order = "score, p DESC"
        else:
            source = (
                "(SELECT rowid AS p FROM search WHERE search MATCH ?{days} ORDER BY rowid DESC)"
            )
        values.append(asked)
    elif wanted.students:
        marks = ", ".join("?" * len(wanted.students))
        source = (
            f"(SELECT place AS p FROM records WHERE student IN ({marks}){{days}}"
            " ORDER BY place DESC)"
        )
        values += wanted.students
    elif words:
        source = (
            "(SELECT place AS p FROM words WHERE kind = ? AND word = ?{days} ORDER BY place DESC)"
        )
        values += words.pop(0)
    elif ranges:
        first = ranges.pop(0)
        inside, bounds = _between(first.low, first.high)
        source = (
            "(SELECT place AS p FROM measures WHERE measure ="
            " (SELECT number FROM measure_names WHERE id = ?)"
            f"{inside}{{days}})"
        )
        once = "GROUP BY p"  # a record may hold several such values; the index has them together
        values += [first.measure, *bounds]
    else:
        source = "(SELECT place AS p FROM records WHERE place >= 0{days} ORDER BY place DESC)"
    limits, days = _days(wanted, "rowid" if wanted.text else "place")
    if "{days}" in source:
        source = source.replace("{days}", limits)
        values += days
    else:
        conditions.append(limits.replace("rowid", "p").removeprefix(" AND ") or "1")
        values += days
    if wanted.text and wanted.students:
        marks = ", ".join("?" * len(wanted.students))
        conditions.append(f"r.student IN ({marks})")
        values += wanted.students
    for kind, word in words:
        conditions.append(
            "EXISTS (SELECT 1 FROM words w WHERE w.kind = ? AND w.word = ? AND w.place = p)"
        )
        values += [kind, word]
    for one in ranges:
        inside, bounds = _between(one.low, one.high)
        conditions.append(
            "EXISTS (SELECT 1 FROM measures m WHERE m.measure ="
            f" (SELECT number FROM measure_names WHERE id = ?) AND m.place = p{inside})"
        )
        values += [one.measure, *bounds]
    if wanted.origin is not None:
        conditions.append("r.origin = ?")
        values.append(wanted.origin)
    if not wanted.all_versions:
        conditions.append("l.current = r.number")
    where = f"WHERE {' AND '.join(conditions)}" if conditions else ""
    question = (
        f"{ROW} FROM {source} CROSS JOIN records r ON r.place = p {JOINED}"
        f" {where} {once} ORDER BY {order} LIMIT ?"
    )
    return [as_row(row) for row in connection.execute(question, (*values, wanted.most))]


def _between(low: float | None, high: float | None) -> tuple[str, list[float]]:
    text, bounds = "", []
    if low is not None:
        text += " AND value >= ?"
        bounds.append(low)
    if high is not None:
        text += " AND value <= ?"
        bounds.append(high)
    return text, bounds


def _days(wanted: Wanted, column: str) -> tuple[str, list[int]]:
    text, bounds = "", []
    if wanted.since:
        text += f" AND {column} >= ?"
        bounds.append(first_place(wanted.since))
    if wanted.until:
        text += f" AND {column} < ?"
        bounds.append(first_place(wanted.until) + (1 << 32))
    return text, bounds


def match_of(wanted: Wanted) -> str:
    """Return typed words as a question to the search index; nothing typed is ever an operator.

    Raises
    ------
    InputRefusedError
        If no letter or digit was typed.
    """
    asked = []
    typed = "".join(sign if sign.isprintable() else " " for sign in wanted.text)
    for phrase, word in _PART.findall(typed):
        beginning = not phrase and word.endswith("*")
        text = (phrase or word).replace('"', " ").replace("*", " ").strip()
        if any(sign.isalnum() for sign in text):
            asked.append(f'"{text}"{"*" if beginning else ""}')
    if not asked:
        message = "no word to look for: a letter or a digit is needed"
        raise InputRefusedError([Problem("command line", 0, 0, "", message)])
    question = f"{_COLUMNS} : ({' AND '.join(asked)})"
    if wanted.students:
        keys = " OR ".join(f'"{student_key(number)}"' for number in wanted.students)
        question += f" AND keys : ({keys})"
    return question
