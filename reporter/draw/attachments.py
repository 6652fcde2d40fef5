"""Files that travel inside the PDF, associated with it as ISO 19005-3 asks.

References
----------
ISO 19005-3:2012 (PDF/A-3), 6.8 and annex E (associated files, ``AFRelationship``); ISO
32000-1:2008, 7.11.3 (file specifications) and 7.11.4 (embedded file streams).
"""

import datetime
import hashlib
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any, Literal

from reportlab.pdfbase.pdfdoc import PDFArray, PDFDictionary, PDFName, PDFStream, PDFString
from reportlab.pdfbase.pdfdoc import PDFZCompress as Deflate
from reportlab.pdfgen.canvas import Canvas

from reporter.draw.writer import pdf_date

Relationship = Literal["Source", "Data", "Supplement"]


@dataclass(frozen=True, slots=True)
class Attachment:
    """One file inside the PDF.

    Attributes
    ----------
    name : str
        Its name, a path with ``/`` at most; the same on every system.
    media_type : str
        Such as ``text/csv``.
    relationship : str
        ``Source``: the pages were made from it; ``Data``: the numbers behind what they show;
        ``Supplement``: anything else.
    description : str
        What it is, in one line.
    data : bytes
        Its contents.
    """

    name: str
    media_type: str
    relationship: Relationship
    description: str
    data: bytes


def attach(canvas: Canvas, attachments: Sequence[Attachment], day: datetime.date) -> None:
    """Put files into the PDF, in the order of their names; all carry the date `day`."""
    if not attachments:
        return
    document = canvas._doc
    ordered = sorted(attachments, key=lambda one: one.name.encode("utf-8"))
    references = [document.Reference(_specification(document, one, day)) for one in ordered]
    names: list[Any] = []
    for one, reference in zip(ordered, references, strict=True):
        names += [PDFString(one.name), reference]
    catalog = document.Catalog
    catalog.AF = PDFArray(references)
    catalog.Names = PDFDictionary({"EmbeddedFiles": PDFDictionary({"Names": PDFArray(names)})})


def _specification(document: Any, one: Attachment, day: datetime.date) -> PDFDictionary:  # noqa: ANN401
    # The signature behind the file's identifier covers what travels in it.
    document.updateSignature(one.data)
    checksum = hashlib.md5(one.data, usedforsecurity=False).digest()
    facts = {
        "Type": PDFName("EmbeddedFile"),
        # Written as it shall stand: the writer's own names do not escape the slash.
        "Subtype": "/" + one.media_type.replace("/", "#2F"),
        "Params": PDFDictionary(
            {
                "Size": len(one.data),
                "CreationDate": PDFString(pdf_date(day)),
                "ModDate": PDFString(pdf_date(day)),
                "CheckSum": f"<{checksum.hex()}>",
            }
        ),
    }
    stream = document.Reference(PDFStream(PDFDictionary(facts), one.data, filters=[Deflate]))
    return PDFDictionary(
        {
            "Type": PDFName("Filespec"),
            "F": PDFString(one.name),
            "UF": PDFString(one.name),
            "Desc": PDFString(one.description),
            "AFRelationship": PDFName(one.relationship),
            "EF": PDFDictionary({"F": stream, "UF": stream}),
        }
    )
