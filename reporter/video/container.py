"""Judge a video file by its own bytes before any decoder sees it: kind, size, wholeness."""

import hashlib
import os
import re
import struct
from dataclasses import dataclass
from typing import BinaryIO

from reporter.errors import InputRefusedError, Problem
from reporter.units import shown
from reporter.video.tables import TableError, Tables

LARGEST_FILE_BYTES = 4 * 1024 * 1024 * 1024
_BLOCK_BYTES = 1 << 20
_BOX_NAMES = (b"ftyp", b"moov", b"mdat", b"free", b"skip", b"wide", b"pnot", b"uuid", b"moof")

# Only these are read, each by its own reader, named to the library: it is never left to guess,
# because some guesses (play lists, lists of files) open other files and addresses.
_KINDS: tuple[tuple[str, str, str], ...] = (
    (r"\x1aE\xdf\xa3", "matroska", "MKV or WebM"),
    (r"RIFF....AVI ", "avi", "AVI"),
    (r"\x47.{187}\x47.{187}\x47", "mpegts", "MPEG transport stream"),
)
_OTHER_KINDS: tuple[tuple[bytes, str], ...] = (
    (rb"\s*#EXTM3U|\s*\[playlist\]|ffconcat", "a play list, not a video"),
    (rb"\s*<(?:!|html|svg|smil|asx|\?xml|mpd)", "a web page or play list, not a video"),
    (rb"\xff\xd8\xff", "a JPEG picture"),
    (rb"\x89PNG", "a PNG picture"),
    (rb"GIF8", "a GIF picture"),
    (rb"%PDF", "a PDF"),
    (rb"PK\x03\x04", "a ZIP archive"),
    (rb"ID3|\xff[\xf2\xf3\xfb]|OggS|fLaC|RIFF....WAVE", "a sound recording"),
)
_PICTURE_BRANDS = (b"heic", b"heix", b"mif1", b"msf1", b"avif", b"avis")


class VideoRefusedError(InputRefusedError):
    """A file that is no usable video.

    Attributes
    ----------
    reason : str
        What is wrong and what to do, without a place.
    """

    def __init__(self, name: str, reason: str) -> None:
        self.reason = reason
        super().__init__([Problem(name, 0, 0, "", reason)])


@dataclass(frozen=True, slots=True)
class Judged:
    """What a file's bytes tell before decoding.

    Attributes
    ----------
    reader : str
        The one reader of the decoding library that fits.
    kind : str
        The container, in plain words.
    sha256 : str
        Of the whole file, in hexadecimal.
    size_bytes : int
        How large it is.
    """

    reader: str
    kind: str
    sha256: str
    size_bytes: int


def judge(opened: BinaryIO, name: str) -> Judged:
    """Read a file once, from its start to its end, and say which reader it is for.

    Parameters
    ----------
    opened : binary file
        Left at its start.
    name : str
        As the coach knows it, for the letter.

    Raises
    ------
    VideoRefusedError
        Empty, too large, no video, or cut off.
    """
    size = os.fstat(opened.fileno()).st_size
    if size == 0:
        raise VideoRefusedError(name, f"{shown(name)} is empty; copy it again")
    if size > LARGEST_FILE_BYTES:
        reason = (
            f"{shown(name)} has {size} bytes; at most {LARGEST_FILE_BYTES} are read;"
            " cut the clip to the swing"
        )
        raise VideoRefusedError(name, reason)
    start = opened.read(4096)
    reader, kind = _kind_of(start, name)
    if reader == "mov":
        try:
            _check_boxes(opened, size, name)
        except TableError as error:
            reason = f"{shown(name)} is damaged: {error}; copy it again"
            raise VideoRefusedError(name, reason) from None
    opened.seek(0)
    digest = hashlib.sha256()
    while block := opened.read(_BLOCK_BYTES):
        digest.update(block)
    opened.seek(0)
    return Judged(reader, kind, digest.hexdigest(), size)


def _kind_of(start: bytes, name: str) -> tuple[str, str]:
    """Return the reader and the plain name of the kind."""
    if start[4:8] in _BOX_NAMES:
        if start[4:8] == b"ftyp" and start[8:12] in _PICTURE_BRANDS:
            raise VideoRefusedError(name, f"{shown(name)} is a HEIC picture, not a video")
        return "mov", "MP4 or QuickTime"
    for pattern, reader, kind in _KINDS:
        if re.match(pattern.encode("latin-1"), start, re.DOTALL):
            return reader, kind
    for other, what in _OTHER_KINDS:
        if re.match(other, start, re.DOTALL | re.IGNORECASE):
            raise VideoRefusedError(name, f"{shown(name)} is {what}; {_READ}")
    raise VideoRefusedError(name, f"{shown(name)} is not a video; {_READ}")


_READ = "MP4, MOV, MKV, WebM, AVI and TS clips are read"


def _check_boxes(opened: BinaryIO, size: int, name: str) -> None:
    """Follow the outermost boxes of an MP4 to the file's end, and hold its tables to account.

    Notes
    -----
    ISO/IEC 14496-12, 4.2: each box begins with its length (32 bit, or 64 bit after a 1, or 0 for
    "to the end") and a name of four bytes. A box that reaches beyond the end tells of a file that
    was cut off, which a decoder alone may pass over in silence.
    """
    at = 0
    found: set[bytes] = set()
    tables = Tables()
    while at < size:
        opened.seek(at)
        header = opened.read(16)
        if len(header) < 8:
            break  # a few stray bytes behind the last box do no harm
        length, box = struct.unpack(">I4s", header[:8])
        first = at + 8
        if length == 1 and len(header) == 16:
            length = struct.unpack(">Q", header[8:])[0]
            first = at + 16
        elif length == 0:
            length = size - at  # so it is too where nothing but zeros follow
        if length < first - at:
            raise VideoRefusedError(name, f"{shown(name)} is damaged; copy it again")
        if at + length > size:
            reason = (
                f"{shown(name)} is cut off: it tells of {at + length} bytes and has {size};"
                " copy it again"
            )
            raise VideoRefusedError(name, reason)
        found.add(box)
        tables.add(opened, box, first, at + length)
        at += length
    if b"moov" not in found:
        reason = (
            f"{shown(name)} has no table of its pictures: the recording was not finished, or the"
            " file is cut off; copy it again"
        )
        raise VideoRefusedError(name, reason)
    tables.end()
