"""The PDF writer with the seams this program needs, all in one place and tied to one version.

Each seam is named with its reason; a new version of the writer is met by the tests of this file.
"""

import datetime
import hashlib
import zlib
from typing import Any, BinaryIO

from reportlab.lib.utils import TimeStamp
from reportlab.pdfbase import pdfdoc, ttfonts
from reportlab.pdfgen.canvas import Canvas

from reporter.typeset.faces import font

# Keys the writer does not know: structure parents and tab order of a page, and the catalogue's
# entries for archival files.
for _cls, _keys in (
    (pdfdoc.PDFPage, ("StructParents", "Tabs")),
    (pdfdoc.PDFCatalog, ("OutputIntents", "AF")),
):
    _cls.__NoDefault__ = [*_cls.__NoDefault__, *(k for k in _keys if k not in _cls.__NoDefault__)]

_plain_stream_format = pdfdoc.PDFStream.format


def _stream_format(self: Any, document: Any) -> bytes:
    """Write a line end before ``endstream``, which ISO 19005 asks for and the writer leaves out.

    Behind a stream whose last byte is a carriage return, a line feed alone would be read as the
    second half of a line end of two bytes, and the stream as one byte shorter than it says.
    """
    written: bytes = _plain_stream_format(self, document)
    body = written[: -len(b"endstream\n")]
    return body + (b"\r\n" if body.endswith(b"\r") else b"\n") + b"endstream\n"


pdfdoc.PDFStream.format = _stream_format


def _deflate(_: Any, text: str | bytes) -> bytes:
    """Compress a stream at a level that takes half the time of the usual one for 4 % more bytes.

    Pictures are most of a file and are compressed already.
    """
    return zlib.compress(text.encode() if isinstance(text, str) else text, 4)


pdfdoc.PDFStreamFilterZCompress.encode = _deflate


def _to_unicode(fontname: str, subset: list[int]) -> str:
    """Return a map from codes to characters without the zeros the writer adds for unused codes.

    ISO 19005-3 6.2.11.7.2 forbids U+0000; ISO 32000 limits a block to a hundred entries.
    """
    pairs = [(code, value) for code, value in enumerate(subset) if value]
    blocks = []
    for start in range(0, len(pairs), 100):
        part = pairs[start : start + 100]
        lines = "\n".join(
            f"<{code:02X}> <{chr(value).encode('utf-16-be').hex().upper()}>" for code, value in part
        )
        blocks.append(f"{len(part)} beginbfchar\n{lines}\nendbfchar")
    return "\n".join(
        [
            "/CIDInit /ProcSet findresource begin",
            "12 dict begin",
            "begincmap",
            "/CIDSystemInfo",
            "<< /Registry (Adobe) /Ordering (UCS) /Supplement 0 >> def",
            "/CMapName /Adobe-Identity-UCS def",
            "/CMapType 2 def",
            "1 begincodespacerange",
            "<00> <FF>",
            "endcodespacerange",
            *blocks,
            "endcmap",
            "CMapName currentdict /CMap defineresource pop",
            "end",
            "end",
        ]
    )


ttfonts.makeToUnicodeCMap = _to_unicode


NOON = datetime.time(12, tzinfo=datetime.UTC)
"""Time of day of every date in the file: so the day reads the same from 11 hours west of Greenwich
to 11 hours east."""


def pdf_date(day: datetime.date) -> str:
    """Return a day as a PDF date (ISO 32000-1:2008, 7.9.4)."""
    return f"D:{day:%Y%m%d}{NOON:%H%M%S}+00'00'"


class _Day(TimeStamp):  # type: ignore[misc]
    """The writer's moment of making, set to one day instead of the clock or the environment."""

    def __init__(self, day: datetime.date) -> None:
        moment = datetime.datetime.combine(day, NOON)
        self.t = int(moment.timestamp())
        self.lt = moment.utctimetuple()
        self.YMDhms = tuple(self.lt)[:6]
        self.dhh = self.dmm = 0
        self.tzname = "UTC"


def new_canvas(target: BinaryIO, language: str, day: datetime.date) -> Canvas:
    """Return an empty PDF 1.7 made on a day, whose bytes depend on nothing but what is drawn."""
    canvas = Canvas(
        target,
        pdfVersion=(1, 7),
        pageCompression=1,
        invariant=1,
        lang=language,
        # Named, so that the writer does not fall back on a typeface that is not embedded.
        initialFontName=font("regular").fontName,
    )
    document = canvas._doc
    document._timeStamp = _Day(day)
    document.signature = hashlib.md5(pdf_date(day).encode(), usedforsecurity=False)
    return canvas
