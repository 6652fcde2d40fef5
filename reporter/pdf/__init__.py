"""Look at a finished PDF again: whose handout it is."""

import logging
import re
from io import BytesIO
from pathlib import Path

from reporter.safe_open import read_given

LARGEST_FILE_BYTES = 1_000_000_000
"""No handout is larger: `build` cannot be asked for more."""

# A file that is no PDF is an answer here, not something to report on the error stream.
logging.getLogger("pypdf").setLevel(logging.CRITICAL)


def belongs_to(path: Path, mark: str) -> bool:
    """Whether an existing file is the handout of the lesson with this mark."""
    from pypdf import PdfReader

    try:
        document = read_given(path, LARGEST_FILE_BYTES, as_input=False)
        information = PdfReader(BytesIO(document)).metadata
    except Exception:  # any damage means: not known to be ours
        return False
    if information is None:
        return False
    return mark in re.split(r"[\s,;]+", information.get("/Keywords") or "")
