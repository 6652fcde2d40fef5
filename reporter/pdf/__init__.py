"""Look at a finished PDF again: whose handout it is."""

import logging
import re
from pathlib import Path

# A file that is no PDF is an answer here, not something to report on the error stream.
logging.getLogger("pypdf").setLevel(logging.CRITICAL)


def belongs_to(path: Path, mark: str) -> bool:
    """Whether an existing file is the handout of the lesson with this mark."""
    from pypdf import PdfReader

    try:
        information = PdfReader(path).metadata
    except Exception:  # any damage means: not known to be ours
        return False
    if information is None:
        return False
    return mark in re.split(r"[\s,;]+", information.get("/Keywords") or "")
