"""Look at a finished PDF again: how many pages it has, and whose handout it is."""

from io import BytesIO
from pathlib import Path


def count_pages(document: bytes) -> int:
    """Return the number of pages, read back from the finished bytes."""
    from pypdf import PdfReader

    return len(PdfReader(BytesIO(document)).pages)


def belongs_to(path: Path, mark: str) -> bool:
    """Whether an existing file is the handout of the lesson with this mark."""
    from pypdf import PdfReader

    try:
        information = PdfReader(path).metadata
    except Exception:  # any damage means: not known to be ours
        return False
    return information is not None and mark in (information.get("/Keywords") or "")
