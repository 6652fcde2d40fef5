"""Hold what an MP4 tells of its tables against the bytes it has for them.

Four bytes can tell of a thousand million pictures, and a decoder makes room for all of them before
it misses the first. Names and layouts are those of ISO/IEC 14496-12 and of the QuickTime file
format, from which it came.
"""

import io
import re
import zlib
from collections.abc import Iterator
from dataclasses import dataclass
from struct import iter_unpack, unpack
from typing import BinaryIO

MOST_BOXES = 500_000
MOST_TRACKS = 64
MOST_ROWS = 4_000_000
"""Of all tables together: 240,000 pictures, the most that are read, need six tables of as many."""
MOST_SAMPLES = 1_500_000
"""Pictures and pieces of sound a decoder lists, at some hundred bytes for each."""
MOST_UNPACKED_BYTES = 64 * 1024 * 1024
MOST_DESCRIBED_BYTES = 16 * 1024 * 1024
_DEEPEST = 12
_SOUND_PIECE = 1024  # so many sound samples, where each is one tick long, are listed as one

_HOLDERS = frozenset(
    (b"moov", b"trak", b"edts", b"mdia", b"minf", b"dinf", b"stbl", b"mvex", b"moof", b"traf")
    + (b"tref", b"udta", b"ilst", b"sinf", b"schi", b"iprp", b"ipco", b"wave")
)
"""Boxes that are made of boxes."""
_HANDLERS = (b"vide", b"soun", b"subp", b"clcp", b"m1a ")
_ROW_BYTES = {
    b"stts": 8, b"ctts": 8, b"stsc": 12, b"stco": 4, b"co64": 8, b"stss": 4, b"stps": 4,
    b"dref": 12, b"stsd": 8,
}  # fmt: skip
"""Tables whose count comes first and whose rows, of at least so many bytes, follow at once."""
_OTHER_TABLES = frozenset(
    (b"stsz", b"stz2", b"sdtp", b"sbgp", b"sgpd", b"elst", b"trun", b"saiz", b"saio", b"senc")
    + (b"sidx", b"iinf", b"iloc")
)
_TABLES = _OTHER_TABLES | _ROW_BYTES.keys()
_ANY_TABLE = re.compile(b"|".join(sorted(_TABLES)))


class TableError(Exception):
    """What is wrong with a table, as words that follow the file's name."""


@dataclass(slots=True)
class _Track:
    """What the tables of one track have told so far."""

    samples: int = 0
    edits: int = 1
    chunks: int = 0
    most_in_chunk: int = 0
    is_sound: bool = False
    ticks_are_samples: bool = True

    def listed(self) -> int:
        """Return how many samples a decoder lists; each edit may show all of them anew."""
        if self.is_sound and self.ticks_are_samples:
            return self.chunks * -(-self.most_in_chunk // _SOUND_PIECE) * self.edits
        return self.samples * self.edits


class Tables:
    """The tables of one file, added up in the order in which they stand."""

    def __init__(self) -> None:
        self._boxes = self._rows = self._samples = self._fragments = self._tracks = 0
        self._unpacked = 0
        self._track = _Track()

    def add(self, opened: BinaryIO, box: bytes, begin: int, end: int, depth: int = 0) -> None:
        """Take in one box and all that lie in it.

        Parameters
        ----------
        opened : binary file
            Left anywhere.
        box : bytes
            The name of the box, of four bytes.
        begin, end : int
            Where in the file its contents lie.
        depth : int
            How many boxes lie around it.

        Raises
        ------
        TableError
            If a table tells of more than its box has room for, or of more than is read.
        """
        self._boxes += 1
        _at_most("boxes", self._boxes, MOST_BOXES)
        _at_most("boxes inside each other", depth, _DEEPEST)
        if box == b"trak":
            self._end_track()
            self._tracks += 1
        elif box == b"moof":
            self._fragments += 1
        if box in _HOLDERS or _is_moov_by_another_name(opened, box, begin):
            self._add_all(opened, begin, end, depth)
        elif box == b"meta":
            self._add_all(opened, _first_of_meta(opened, begin, end), end, depth)
        elif box == b"cmov":
            unpacked = _unpacked(opened, begin, end)
            self._unpacked += len(unpacked)  # one may lie in another
            _at_most("bytes of packed tables", self._unpacked, MOST_UNPACKED_BYTES)
            self._add_all(io.BytesIO(unpacked), 0, len(unpacked), depth)
        elif box == b"hdlr":
            handles = _bytes_at(opened, begin + 8, 4)
            if handles in _HANDLERS:
                self._track.is_sound = handles == b"soun"
        elif box in _TABLES:
            self._add_table(opened, box, begin, end)

    def end(self) -> None:
        """Judge the whole, once every box was added.

        Raises
        ------
        TableError
            If there are more tracks or samples than are read.
        """
        self._end_track()
        _at_most("tracks", self._tracks, MOST_TRACKS)
        _at_most("samples", self._samples + self._fragments * self._tracks, MOST_SAMPLES)

    def _end_track(self) -> None:
        self._samples += self._track.listed()
        self._track = _Track()

    def _add_all(self, opened: BinaryIO, begin: int, end: int, depth: int) -> None:
        for box, first, last in _boxes_between(opened, begin, end):
            self.add(opened, box, first, last, depth + 1)

    def _add_table(self, opened: BinaryIO, box: bytes, begin: int, end: int) -> None:
        head = _bytes_at(opened, begin, min(40, end - begin)).ljust(40, b"\0")
        rows, first, row_bits = _told(box, head, end - begin)
        room = end - begin - first
        if room < 0 or rows * row_bits > room * 8:
            has = max(room, 0) * 8 // row_bits if row_bits else 0
            message = f"{_told_name(box)} tells of {rows} rows and has room for {has}"
            raise TableError(message)
        if row_bits:
            self._rows += rows
            _at_most("rows", self._rows, MOST_ROWS)
        track = self._track
        if box in (b"stsz", b"stz2"):
            track.samples = max(track.samples, rows)
        elif box in (b"trun", b"saiz", b"senc"):
            self._samples += rows
        elif box == b"sidx":
            self._fragments += rows
        elif box == b"elst":
            track.edits = max(track.edits, rows)
        elif box in (b"stco", b"co64"):
            track.chunks = max(track.chunks, rows)
        elif box == b"stts":
            track.ticks_are_samples &= rows == 1 and _number(head, 12) == 1
        elif box == b"stsc":
            table = _bytes_at(opened, begin + first, rows * 12)
            counts = (count for _, count, _ in iter_unpack(">3I", table))
            track.most_in_chunk = max(track.most_in_chunk, max(counts, default=0))
        elif box == b"stsd":
            _check_description(opened, begin, end)


def _at_most(what: str, count: int, most: int) -> None:
    if count > most:
        message = f"it tells of {count} {what}; at most {most} are read"
        raise TableError(message)


def _told_name(box: bytes) -> str:
    return f"its table {box.decode('latin-1')}"


def _bytes_at(opened: BinaryIO, at: int, length: int) -> bytes:
    opened.seek(at)
    return opened.read(length)


def _number(head: bytes, at: int, length: int = 4) -> int:
    return int.from_bytes(head[at : at + length], "big")


def _boxes_between(opened: BinaryIO, begin: int, end: int) -> Iterator[tuple[bytes, int, int]]:
    """Yield name, start and end of the contents of each box; what is no box any more ends it."""
    at = begin
    while at + 8 <= end:
        length, box = unpack(">I4s", _bytes_at(opened, at, 8))
        first = at + 8
        if length == 1 and at + 16 <= end:
            (length,) = unpack(">Q", opened.read(8))
            first = at + 16
            length = length if length != 8 else 0  # so decoders take it
        if length == 0:
            length = end - at
        if length < first - at:
            return
        if at + length > end:
            if box in _HOLDERS | _TABLES:
                message = f"{_told_name(box)} reaches beyond the box it lies in"
                raise TableError(message)
            return
        yield box, first, at + length
        at += length


def _told(box: bytes, head: bytes, size: int) -> tuple[int, int, int]:
    """Return how many rows a table tells of, where they begin, and the bits each needs at least.

    Rows without bits are samples that are all alike. The first four bytes of `head` are the
    version and the flags.
    """
    version, flags = head[0], _number(head, 1, 3)
    behind_kind = 12 if flags & 1 else 4  # of auxiliary information, which may name its kind first
    match box:
        case b"stsz":
            return _number(head, 8), 12, 0 if _number(head, 4) else 32
        case b"stz2":
            return _number(head, 8), 12, head[7]
        case b"sdtp":
            return max(size - 4, 0), 4, 8
        case b"elst":
            bits = 160 if version == 1 else 96
            return max(size - 8, 0) * 8 // bits, 8, bits  # decoders go by the room
        case b"trun":
            first = 8 + 4 * (flags & 1) + (flags & 4)
            return _number(head, 4), first, 32 * (flags & 0xF00).bit_count()
        case b"sbgp":
            at = 12 if version == 1 else 8
            return _number(head, at), at + 4, 64
        case b"sgpd":
            at = 12 if version else 8
            return _number(head, at), at + 4, 8 * (_number(head, 8) or 4) if version == 1 else 8
        case b"saiz":
            alike = head[behind_kind]
            return _number(head, behind_kind + 1), behind_kind + 5, 0 if alike else 8
        case b"saio":
            return _number(head, behind_kind), behind_kind + 4, 64 if version else 32
        case b"senc":
            return _number(head, 4), 8, 0
        case b"sidx":
            at = 30 if version else 22
            return _number(head, at, 2), at + 2, 96
        case b"iinf":
            wide = 4 if version else 2
            return _number(head, 4, wide), 4 + wide, 64
        case b"iloc":
            wide = 4 if version > 1 else 2
            return _number(head, 6, wide), 6 + wide, 48
    return _number(head, 4), 8, 8 * _ROW_BYTES[box]


def _is_moov_by_another_name(opened: BinaryIO, box: bytes, begin: int) -> bool:
    """Tell whether a decoder takes a box nobody uses any more for the table of contents."""
    return box in (b"free", b"hoov") and _bytes_at(opened, begin + 4, 4) in (b"mvhd", b"cmov")


def _first_of_meta(opened: BinaryIO, begin: int, end: int) -> int:
    """Return where the boxes inside begin: ISO has version and flags before them, QuickTime not."""
    data = _bytes_at(opened, begin, min(end - begin, MOST_DESCRIBED_BYTES))
    for at in range(0, len(data) - 3, 4):
        if data[at : at + 4] == b"hdlr":
            return begin + at - 4
    _at_most("bytes of notes without a handler", end - begin, MOST_DESCRIBED_BYTES)
    return end


def _unpacked(opened: BinaryIO, begin: int, end: int) -> bytes:
    """Return what a compressed table of contents holds (QuickTime file format, ``cmov``)."""
    head = _bytes_at(opened, begin, 24)
    if head[4:12] != b"dcomzlib" or head[16:20] != b"cmvd":
        return b""  # no decoder reads it either
    _at_most("bytes of packed tables", max(end - begin, _number(head, 20)), MOST_UNPACKED_BYTES)
    unpacking = zlib.decompressobj()
    try:
        unpacked = unpacking.decompress(opened.read(end - begin - 24), MOST_UNPACKED_BYTES + 1)
    except zlib.error:
        message = "its packed tables cannot be unpacked"
        raise TableError(message) from None
    _at_most("bytes of packed tables", len(unpacked), MOST_UNPACKED_BYTES)
    return unpacked


def _check_description(opened: BinaryIO, begin: int, end: int) -> None:
    """Refuse a table inside the description of the samples, where a decoder would take it in."""
    _at_most("bytes of description", end - begin, MOST_DESCRIBED_BYTES)
    found = _ANY_TABLE.search(_bytes_at(opened, begin, end - begin))
    if found:
        message = f"{_told_name(found.group())} lies where no table may"
        raise TableError(message)
