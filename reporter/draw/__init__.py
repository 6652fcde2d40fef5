"""Put pages of boxes on paper: every box as it stands, in reading order; decide nothing."""

import datetime
from collections.abc import Sequence
from dataclasses import dataclass
from io import BytesIO

from reporter.draw.archival import declare_archival
from reporter.draw.attachments import Attachment, attach
from reporter.draw.canvas import PictureSource, Surface
from reporter.draw.structure import StructureWriter
from reporter.draw.writer import new_canvas
from reporter.typeset.boxes import Element, Page


@dataclass(frozen=True, slots=True)
class Properties:
    """What the file says about itself.

    ``identifier`` marks the file as made from one lesson; ``language`` is an RFC 5646 tag; `day`
    is the day it says it was made and changed.
    """

    title: str
    author: str
    subject: str
    language: str
    creator: str
    identifier: str
    day: datetime.date = datetime.date(2000, 1, 1)


def draw_pages(
    pages: Sequence[Page],
    properties: Properties,
    pictures: PictureSource,
    attachments: Sequence[Attachment] = (),
) -> bytes:
    """Return the PDF of finished pages.

    Parameters
    ----------
    pages : sequence of Page
        In their order.
    properties : Properties
        Title, author and the like.
    pictures : callable
        Gives the encoded JPEG of a picture box.
    attachments : sequence of Attachment
        Files that travel inside the PDF.
    """
    target = BytesIO()
    canvas = new_canvas(target, properties.language, properties.day)
    canvas.setTitle(properties.title)
    canvas.setAuthor(properties.author)
    canvas.setSubject(properties.subject)
    canvas.setCreator(properties.creator)
    canvas.setKeywords(properties.identifier)
    surface = Surface(canvas, pictures)
    structure = StructureWriter(canvas)
    for number, page in enumerate(pages):
        surface.begin(page.width, page.height)
        if not number or pages[number - 1].title != page.title:
            canvas.bookmarkPage(f"sheet{number}")
            canvas.addOutlineEntry(page.title, f"sheet{number}", 0)
        for element in page.elements:
            _draw(element, surface, structure)
        structure.end_page()
    structure.finish()
    surface.finish()
    canvas.addPageLabel(0, style="ARABIC", start=1)
    attach(canvas, attachments, properties.day)
    declare_archival(canvas, properties.language)
    canvas.save()
    return target.getvalue()


def _draw(element: Element, surface: Surface, structure: StructureWriter) -> None:
    # What a link's text says is read as it stands; `alt` describes where the link leads.
    alt = "" if element.link else element.alt
    with structure.element(element.role, alt, element.joins):
        if element.boxes:
            with structure.content(element.role):
                for box in element.boxes:
                    surface.box(box)
        for child in element.children:
            _draw(child, surface, structure)
        if element.link:
            structure.link(surface.bounds(element.boxes), element.link, element.alt)


__all__ = ["Attachment", "PictureSource", "Properties", "draw_pages"]
