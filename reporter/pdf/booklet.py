"""Join finished PDFs into one: pages, numbers, bookmarks, and the trees of meaning with them.

The first file gives the properties, the colour profile and the language. Whatever travels inside
the others (lesson files, pictures) stays behind: only their pages are taken.

References
----------
ISO 32000-1:2008, 12.3.3 (outline), 12.4.2 (page labels), 14.7 (logical structure: every structure
tree has one root, and one parent tree by which a page's marks find their elements).
"""

from collections.abc import Sequence
from dataclasses import dataclass
from io import BytesIO
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from pypdf import PageObject, PdfReader, PdfWriter


@dataclass(frozen=True, slots=True)
class Section:
    """A file to go in, with its bookmark."""

    title: str
    document: bytes


def page_sizes(document: bytes) -> tuple[tuple[float, float], ...]:
    """Return width and height of each page in millimetres."""
    from pypdf import PdfReader

    boxes = (page.mediabox for page in PdfReader(BytesIO(document)).pages)
    return tuple((float(box.width) * 25.4 / 72, float(box.height) * 25.4 / 72) for box in boxes)


def joined(front: bytes, sections: Sequence[Section], numbers: bytes) -> bytes:
    """Return one PDF of all pages.

    Parameters
    ----------
    front : bytes
        The pages that come first; their file gives the properties.
    sections : sequence of Section
        What follows, each with a bookmark and its own bookmarks below it.
    numbers : bytes
        As many pages as all others together, each laid over one of them: the page number.
    """
    from pypdf import PdfReader, PdfWriter

    writer = PdfWriter(clone_from=BytesIO(front))
    tree = _Tree(writer)
    for section in sections:
        reader = PdfReader(BytesIO(section.document))
        first = len(writer.pages)
        pages = [writer.add_page(page) for page in reader.pages]
        tree.take(reader, pages)
        parent = writer.add_outline_item(title=section.title, page_number=first)
        for title, number in _bookmarks(reader):
            writer.add_outline_item(title=title, page_number=first + number, parent=parent)
    tree.finish()
    laid_over = PdfReader(BytesIO(numbers)).pages
    for page, furniture in zip(writer.pages, laid_over, strict=True):
        _lay_over(writer, page, furniture)
    target = BytesIO()
    writer.write(target)
    return target.getvalue()


def _lay_over(writer: "PdfWriter", page: "PageObject", furniture: "PageObject") -> None:
    """Draw a page of marked furniture over another.

    The library's own way puts a clipping path outside all marks, which ISO 14289-1, 7.1, forbids.
    """
    from pypdf.generic import (
        ArrayObject,
        ContentStream,
        DictionaryObject,
        NameObject,
        StreamObject,
    )

    theirs: Any = furniture["/Resources"]
    ours: Any = page["/Resources"]
    if "/Font" not in ours:
        ours[NameObject("/Font")] = DictionaryObject()
    fonts = ours["/Font"].get_object()
    for name, font in theirs["/Font"].get_object().items():
        fonts[NameObject(_renamed(name))] = font.indirect_reference.clone(writer)
    drawn = ContentStream(furniture["/Contents"], furniture.pdf)
    for operands, operator in drawn.operations:
        if operator == b"Tf":
            operands[0] = NameObject(_renamed(operands[0]))

    def stream(data: bytes) -> Any:  # noqa: ANN401 - the library's reference
        made = StreamObject()
        made.set_data(data)
        return writer._add_object(made.flate_encode())

    before: Any = page.raw_get("/Contents")
    parts = before.get_object()
    drawn_before = [*parts] if isinstance(parts, ArrayObject) else [before]
    # The state that the page's own drawing leaves behind is put back first.
    page[NameObject("/Contents")] = ArrayObject(
        [stream(b"q\n"), *drawn_before, stream(b"\nQ\n"), stream(drawn.get_data())]
    )


def _renamed(font: str) -> str:
    return f"/Number-{font[1:]}"


def _bookmarks(reader: "PdfReader") -> list[tuple[str, int]]:
    """Return the titles of a file's own bookmarks of the first level with their pages."""
    found = []
    for one in reader.outline:
        if isinstance(one, list):
            continue
        number = reader.get_destination_page_number(one)
        if number is not None:
            found.append((str(one.title), number))
    return found


class _Tree:
    """The one tree of meaning of the joined file, grown by that of every file taken in."""

    def __init__(self, writer: "PdfWriter") -> None:
        from pypdf.generic import ArrayObject, DictionaryObject, NameObject

        self._writer = writer
        catalog: Any = writer.root_object
        self._root: Any = catalog["/StructTreeRoot"].get_object()
        kids = self._root["/K"]
        self._kids = kids if isinstance(kids, ArrayObject) else ArrayObject([kids])
        self._document: Any = self._kids[0].get_object()
        parents = self._root["/ParentTree"].get_object()
        self._numbers: Any = parents["/Nums"]
        self._next = int(self._root["/ParentTreeNextKey"])
        assert isinstance(self._document, DictionaryObject)
        self._part = NameObject("/Part")

    def take(self, reader: "PdfReader", pages: "Sequence[PageObject]") -> None:
        """Hang the tree of a file whose pages were just taken below the one document."""
        from pypdf.generic import NameObject, NumberObject

        theirs: Any = reader.trailer["/Root"]
        if "/StructTreeRoot" not in theirs:
            return
        # The pages are known to the writer already, so that the elements point to the copies.
        root: Any = theirs["/StructTreeRoot"].clone(self._writer).get_object()
        for kid in root["/K"]:
            element = kid.get_object()
            if element["/S"] == "/Document":
                element[NameObject("/S")] = self._part
            if "/Lang" in theirs:
                element[NameObject("/Lang")] = theirs["/Lang"]
            element[NameObject("/P")] = self._document.indirect_reference
            self._document["/K"].append(kid)
        theirs_by_key = root["/ParentTree"].get_object()["/Nums"]
        for key, owners in zip(theirs_by_key[::2], theirs_by_key[1::2], strict=True):
            self._numbers += [NumberObject(self._next + int(key)), owners]
        # The library leaves a page's key behind when it takes the page; it is set anew.
        for page, original in zip(pages, reader.pages, strict=True):
            notes: Any = page.get("/Annots", ()), original.get("/Annots", ())
            pairs = [(page, original), *zip(*notes, strict=True)]
            for one, before in ((a.get_object(), b.get_object()) for a, b in pairs):
                for name in ("/StructParents", "/StructParent"):
                    if name in before:
                        one[NameObject(name)] = NumberObject(self._next + int(before[name]))
        self._next += int(root["/ParentTreeNextKey"])

    def finish(self) -> None:
        """Write how far the keys have come."""
        from pypdf.generic import NameObject, NumberObject

        self._root[NameObject("/ParentTreeNextKey")] = NumberObject(self._next)
