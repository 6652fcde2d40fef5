"""Put pages of boxes on paper: every box as it stands, in reading order; decide nothing."""

from collections.abc import Sequence
from dataclasses import dataclass
from io import BytesIO

from reporter.draw.archival import declare_archival
from reporter.draw.canvas import PictureSource, Surface
from reporter.draw.structure import StructureWriter
from reporter.draw.writer import new_canvas
from reporter.typeset.boxes import Element, Page


@dataclass(frozen=True, slots=True)
class Properties:
    """What the file says about itself.

    ``identifier`` marks the file as made from one lesson; ``language`` is an RFC 5646 tag.
    """

    title: str
    author: str
    subject: str
    language: str
    creator: str
    identifier: str


def draw_pages(pages: Sequence[Page], properties: Properties, pictures: PictureSource) -> bytes:
    """Return the PDF of finished pages.

    Parameters
    ----------
    pages : sequence of Page
        In their order.
    properties : Properties
        Title, author and the like.
    pictures : callable
        Gives the encoded JPEG of a picture box.
    """
    target = BytesIO()
    canvas = new_canvas(target, properties.title, properties.language)
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
    declare_archival(canvas, properties.language)
    canvas.save()
    return target.getvalue()


def _draw(element: Element, surface: Surface, structure: StructureWriter) -> None:
    with structure.element(element.role, element.alt, element.joins):
        if element.boxes:
            with structure.content(element.role):
                for box in element.boxes:
                    surface.box(box)
        for child in element.children:
            _draw(child, surface, structure)


__all__ = ["PictureSource", "Properties", "draw_pages"]
