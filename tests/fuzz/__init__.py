"""Coverage-guided searches at the boundaries, and the inputs they have found.

    python -m tests.fuzz lesson --seconds 600

Each input that once broke a promise lies below `finds/`, in a folder for its boundary, under the
first sixteen signs of its SHA-256; `tests/hardening/test_fuzz.py` reads them all again.
"""

from pathlib import Path

FINDS = Path(__file__).with_name("finds")


def kept_finds() -> list[Path]:
    """Return every kept input."""
    return sorted(path for path in FINDS.glob("*/*") if path.is_file())
