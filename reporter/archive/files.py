"""The folder of PDFs beside the database: each named by its content hash, spread over 256 folders.

A file is written whole, flushed, given its name, and the folder is flushed; only then may a row
speak of it. A file under its name is never written again.
"""

import hashlib
import io
import os
import re
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import cast

from reporter.archive.entry import Origin, sha256
from reporter.errors import CannotWriteError, ShelfDamagedError
from reporter.publish import publish
from reporter.safe_open import ReferenceRefusedError, open_inside, read_inside

LARGEST_PDF_BYTES = 200 * 1024 * 1024
FOLDERS: dict[Origin, str] = {"own": "records", "foreign": "foreign"}
SHARDS = tuple(f"{number:02x}" for number in range(256))
_NAME = re.compile(r"(?P<digest>[0-9a-f]{64})\.pdf")
_UNFINISHED = re.compile(r"\.lesson-reporter-(?P<process>[0-9]+)-[0-9a-f]{12}\.part")


@dataclass(frozen=True, slots=True)
class FoundFile:
    """A file that lies in the folder; `digest` is empty where its name is none of ours."""

    name: str
    digest: str
    size: int


class PdfFolder:
    """The PDFs of one shelf.

    Attributes
    ----------
    folder : Path
        The shelf's folder.
    """

    def __init__(self, folder: Path) -> None:
        self.folder = folder

    def name_of(self, digest: str, origin: Origin) -> str:
        """Return where a file lies, from the shelf's folder on, joined by ``/``."""
        return f"{FOLDERS[origin]}/{digest[:2]}/{digest}.pdf"

    def put(self, document: bytes, origin: Origin, *, digest: str = "") -> str:
        """Write a PDF, unless it lies there already; return its content hash.

        Whoever has worked the hash out already gives it as `digest`.

        Raises
        ------
        CannotWriteError
            With what stands in the way; no unfinished file is left.
        """
        digest = digest or sha256(document)
        path = self.folder / self.name_of(digest, origin)
        if self._is_there(path, digest, len(document)):
            _flush(path.parent)
            return digest
        try:
            for place in (path.parent.parent, path.parent):
                if not place.is_dir():
                    place.mkdir(exist_ok=True)
                    _flush(place.parent)
        except OSError as error:
            message = f"cannot write into {self.folder}: {error.strerror}"
            raise CannotWriteError(message) from None
        # What has this name holds the same, from a coach adding it at this moment, or is damaged:
        # the whole one replaces either.
        publish(path, document, force=True)
        return digest

    def _is_there(self, path: Path, digest: str, size: int) -> bool:
        try:
            if path.stat(follow_symlinks=False).st_size != size:
                return False
        except OSError:
            return False
        return self.hash_of(path) == digest

    def holds(self, digest: str, size: int, origin: Origin) -> bool:
        """Whether a file of that name and size lies there; its contents are not read."""
        try:
            path = self.folder / self.name_of(digest, origin)
            return path.stat(follow_symlinks=False).st_size == size
        except OSError:
            return False

    def read(self, digest: str, origin: Origin) -> bytes:
        """Return a PDF, after holding it against its name.

        Raises
        ------
        ShelfDamagedError
            If it is missing or changed.
        """
        name = self.name_of(digest, origin)
        try:
            document = read_inside(self.folder, name, LARGEST_PDF_BYTES)
        except ReferenceRefusedError as error:
            raise ShelfDamagedError(error.reason) from None
        if sha256(document) != digest:
            message = f"{name} is damaged: its contents no longer give its name"
            raise ShelfDamagedError(message)
        return document

    def hash_of(self, path: Path) -> str:
        """Return SHA-256 of a file in the folder, read piece by piece; empty if it cannot be."""
        relative = path.relative_to(self.folder).as_posix()
        try:
            with open_inside(self.folder, relative, LARGEST_PDF_BYTES) as opened:
                return hashlib.file_digest(cast("io.BufferedReader", opened), "sha256").hexdigest()
        except (OSError, ReferenceRefusedError):
            return ""

    def remove(self, digest: str, origin: Origin) -> None:
        """Remove a PDF, if it is there, so that it stays removed after a power cut.

        Raises
        ------
        CannotWriteError
            If the system does not let go of it.
        """
        path = self.folder / self.name_of(digest, origin)
        try:
            path.unlink()
        except FileNotFoundError:
            return
        except OSError as error:
            message = f"cannot remove {path}: {error.strerror}"
            raise CannotWriteError(message) from None
        _flush(path.parent)

    def in_shard(self, shard: str, origin: Origin) -> Iterator[FoundFile]:
        """Yield everything in one of the 256 folders."""
        try:
            with os.scandir(self.folder / FOLDERS[origin] / shard) as entries:
                for entry in entries:
                    named = _NAME.fullmatch(entry.name)
                    ours = named is not None and named["digest"].startswith(shard)
                    regular = entry.is_file(follow_symlinks=False)
                    size = entry.stat(follow_symlinks=False).st_size if regular else -1
                    digest = named["digest"] if named is not None and ours and regular else ""
                    yield FoundFile(entry.name, digest, size)
        except FileNotFoundError:
            return

    def remove_unfinished(self) -> int:
        """Remove what killed runs left half written; return how many files that were."""
        count = 0
        for kind in FOLDERS.values():
            for shard in SHARDS:
                place = self.folder / kind / shard
                if not place.is_dir():
                    continue
                for path in sorted(place.iterdir()):
                    found = _UNFINISHED.fullmatch(path.name)
                    if found and not _is_running(int(found["process"])):
                        path.unlink(missing_ok=True)
                        count += 1
        return count


def is_unfinished(name: str) -> bool:
    """Whether a file name is that of a file that is being written, or was when a run died."""
    return _UNFINISHED.fullmatch(name) is not None


def _is_running(process: int) -> bool:
    if os.name == "nt":
        return process == os.getpid()
    try:
        os.kill(process, 0)
    except ProcessLookupError:
        return False
    except (PermissionError, OverflowError):
        return True
    return True


def _flush(folder: Path) -> None:
    """Make names in a folder last through a power cut, where the system allows it."""
    if os.name == "nt":
        return
    handle = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(handle)
    except OSError as error:
        message = f"cannot write into {folder}: {error.strerror}"
        raise CannotWriteError(message) from None
    finally:
        os.close(handle)
