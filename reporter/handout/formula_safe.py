"""A table as CSV that no spreadsheet takes for formulas.

References
----------
RFC 4180 (the format). A cell that begins with ``=``, ``+``, ``-``, ``@``, a tab or a line end can
be run as a formula by a spreadsheet (OWASP, "CSV Injection"); an apostrophe in front makes it text.
"""

import csv
import io
import re
from collections.abc import Iterable, Sequence

_STARTS_A_FORMULA = ("=", "+", "-", "@", "\t", "\r", "\n")
_PLAIN_NUMBER = re.compile(r"[+-]?[0-9]+(?:\.[0-9]+)?")


def safe_csv(headings: Sequence[str], rows: Iterable[Sequence[object]]) -> bytes:
    """Return a table as UTF-8 CSV, every cell in quotes, a missing value as an empty cell."""
    written = io.StringIO()
    writer = csv.writer(written, quoting=csv.QUOTE_ALL, lineterminator="\r\n")
    writer.writerow(headings)
    for row in rows:
        writer.writerow([safe_cell(value) for value in row])
    return written.getvalue().encode("utf-8")


def safe_cell(value: object) -> str:
    """Return a value as a cell; a number keeps its sign, any other text is made harmless."""
    text = "" if value is None else str(value)
    if text.startswith(_STARTS_A_FORMULA) and not _PLAIN_NUMBER.fullmatch(text):
        return "'" + text
    return text
