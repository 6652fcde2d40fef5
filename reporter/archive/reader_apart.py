"""The process that reads a PDF from elsewhere: bounds itself, tells the lesson as JSON.

The PDF comes on the input stream; see `reporter.archive.importing`.
"""

import base64
import json
import sys
from typing import Any

from reporter.archive.read_record import MEASURES
from reporter.errors import InputRefusedError, LimitError
from reporter.pdf.carried import take_out
from reporter.session.load import LESSON_FILE

MEMORY_BYTES = 1024 * 1024 * 1024
SECONDS = 20
LARGEST_INSIDE_BYTES = 1024 * 1024
MOST_PAGES = 120
READ = (LESSON_FILE, MEASURES)


def bound() -> None:
    """Take memory, time and the right to write files from this process, where that is possible."""
    try:
        import resource
    except ImportError:  # a system without such bounds; the parent's patience still ends
        return
    for kind, most in (
        (resource.RLIMIT_AS, MEMORY_BYTES),
        (resource.RLIMIT_CPU, SECONDS),
        (resource.RLIMIT_FSIZE, 0),
    ):
        resource.setrlimit(kind, (most, most))


def main() -> None:
    """Read, and tell what was found in one line."""
    bound()
    document = sys.stdin.buffer.read()
    told: dict[str, Any]
    try:
        carried = take_out(document, "", READ, largest=LARGEST_INSIDE_BYTES, most_pages=MOST_PAGES)
    except InputRefusedError as error:
        told = {"refused": error.problems[0].message}
    except LimitError as error:
        told = {"limit": str(error).removeprefix(": ")}
    except MemoryError:
        told = {"limit": "reading it takes more memory than a lesson ever needs"}
    else:
        told = {
            "keywords": carried.keywords,
            "title": carried.title,
            "pages": carried.pages,
            "names": carried.names,
            "files": {
                name: base64.b64encode(data).decode() for name, data in carried.files.items()
            },
        }
    sys.stdout.write(json.dumps(told))
