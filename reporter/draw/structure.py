"""The tree of meaning in the file: what is a heading, a figure or furniture, in reading order.

References
----------
ISO 32000-1:2008, 14.7 (logical structure) and 14.8 (tagged PDF); ISO 14289-1:2014 (PDF/UA-1).
"""

from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, field
from typing import Any

from reportlab.pdfbase.pdfdoc import (
    PDFArray,
    PDFDictionary,
    PDFName,
    PDFObject,
    PDFString,
    ViewerPreferencesPDFDictionary,
)
from reportlab.pdfgen.canvas import Canvas

NO_TAG = "Artifact"


@dataclass(slots=True)
class _Annotation:
    """A link's sensitive area: its page, the reference to it, and its entry, completed at the end.

    ISO 32000-1:2008, 14.7.4.3: a structure element refers to it, and it back by a number.
    """

    page: int
    reference: Any
    entry: PDFDictionary


@dataclass(slots=True)
class _Node:
    tag: str
    alt: str = ""
    kids: "list[_Node | tuple[int, int] | _Annotation]" = field(default_factory=list)
    heads_row: bool = False


class StructureWriter:
    """Marks content while pages are drawn, then writes the tree."""

    def __init__(self, canvas: Canvas) -> None:
        self._canvas = canvas
        self._root = _Node("Document")
        self._open = [self._root]
        self._parents: list[list[_Node]] = [[]]
        self._pages: list[Any] = []
        self._joined: dict[str, _Node] = {}
        self._annotations: list[tuple[_Annotation, _Node]] = []

    @contextmanager
    def element(self, role: str, alt: str, joins: str = "") -> Iterator[None]:
        """Open a node for everything drawn inside, or the one it joins; furniture gets none."""
        if role == NO_TAG:
            yield
            return
        node = self._joined.get(joins) if joins else None
        if node is None:
            node = _Node(role, alt)
            parent = self._open[-1]
            # The one heading cell of a row that also has data cells belongs to the row.
            if role == "TD" and parent.kids and isinstance(parent.kids[0], _Node):
                parent.kids[0].heads_row = parent.kids[0].tag == "TH"
            parent.kids.append(node)
            if joins:
                self._joined[joins] = node
        self._open.append(node)
        try:
            yield
        finally:
            self._open.pop()

    @contextmanager
    def content(self, role: str) -> Iterator[None]:
        """Mark what is drawn inside as content of the open node, or as furniture."""
        code = self._canvas._code
        if role == NO_TAG:
            code.append("/Artifact BMC")
        else:
            node, page = self._open[-1], self._parents[-1]
            number = len(page)
            page.append(node)
            node.kids.append((len(self._parents) - 1, number))
            code.append(f"/{node.tag} <</MCID {number}>> BDC")
        yield
        code.append("EMC")

    def link(self, area: Sequence[float], address: str, description: str) -> None:
        """Make an area of the page, in points, open an address; it belongs to the open node."""
        canvas = self._canvas
        entry = PDFDictionary(
            {
                "Type": PDFName("Annot"),
                "Subtype": PDFName("Link"),
                "Rect": PDFArray(area),
                "Border": PDFArray([0, 0, 0]),
                "F": 4,  # printed, not hidden (ISO 19005-3, 6.3.2)
                "Contents": PDFString(description),
                "A": PDFDictionary(
                    {"Type": PDFName("Action"), "S": PDFName("URI"), "URI": PDFString(address)}
                ),
            }
        )
        canvas._addAnnotation(entry)
        reference = canvas._doc.refAnnotation(f"NUMBER{canvas._annotationCount}")
        annotation = _Annotation(len(self._parents) - 1, reference, entry)
        self._open[-1].kids.append(annotation)
        self._annotations.append((annotation, self._open[-1]))

    def end_page(self) -> None:
        """Finish the page."""
        self._canvas.showPage()
        page = self._canvas._doc.Pages.pages[-1]
        page.StructParents = len(self._parents) - 1
        page.Tabs = PDFName("S")
        self._pages.append(page)
        self._parents.append([])

    def finish(self) -> None:
        """Write the tree, the page labels' parents and the catalogue's entries."""
        document = self._canvas._doc
        references: dict[int, Any] = {}
        root = PDFDictionary({"Type": PDFName("StructTreeRoot")})
        root_reference = document.Reference(root)
        root["K"] = PDFArray([self._write(self._root, root_reference, references)])
        numbers: list[Any] = []
        for index, nodes in enumerate(self._parents[:-1]):
            row = PDFArray([references[id(node)] for node in nodes])
            numbers += [index, document.Reference(row)]
        for key, (annotation, owner) in enumerate(self._annotations, start=len(self._pages)):
            annotation.entry["StructParent"] = key
            numbers += [key, references[id(owner)]]
        root["ParentTree"] = document.Reference(PDFDictionary({"Nums": PDFArray(numbers)}))
        root["ParentTreeNextKey"] = len(self._pages) + len(self._annotations)
        catalog = document.Catalog
        catalog.StructTreeRoot = root_reference
        catalog.MarkInfo = PDFDictionary({"Marked": "true"})
        preferences = ViewerPreferencesPDFDictionary()
        preferences["DisplayDocTitle"] = "true"
        catalog.ViewerPreferences = preferences

    def _write(self, node: _Node, parent: Any, references: dict[int, Any]) -> Any:
        document = self._canvas._doc
        entry = _Entry(node.tag, parent)
        reference = references[id(node)] = document.Reference(entry)
        entry.alt = node.alt
        if node.tag == "TH":
            entry.scope = "Row" if node.heads_row else "Column"
        first_page = next((kid[0] for kid in node.kids if isinstance(kid, tuple)), None)
        if first_page is not None:
            entry.page = document.Reference(self._pages[first_page])
        for kid in node.kids:
            if isinstance(kid, _Node):
                entry.kids.append(("", self._write(kid, reference, references), 0))
            elif isinstance(kid, _Annotation):
                page = document.Reference(self._pages[kid.page])
                entry.kids.append(("OBJR", page, kid.reference))
            elif kid[0] == first_page:
                entry.kids.append(("", None, kid[1]))
            else:
                page = document.Reference(self._pages[kid[0]])
                entry.kids.append(("MCR", page, kid[1]))
        return reference


class _Entry(PDFObject):  # type: ignore[misc]
    """One structure element, written in one go: a handout has hundreds of them."""

    def __init__(self, tag: str, parent: Any) -> None:
        self.tag = tag
        self.parent = parent
        self.alt = ""
        self.scope = ""
        self.page: Any = None
        self.kids: list[tuple[str, Any, Any]] = []

    def format(self, document: Any) -> bytes:
        """Return the element's dictionary (ISO 32000-1:2008, table 323)."""

        def shown(reference: Any) -> str:
            return str(reference.format(document), "ascii")

        kids = []
        for kind, reference, number in self.kids:
            if kind == "MCR":
                kids.append(f"<< /Type /MCR /Pg {shown(reference)} /MCID {number} >>")
            elif kind == "OBJR":
                kids.append(f"<< /Type /OBJR /Pg {shown(reference)} /Obj {shown(number)} >>")
            else:
                kids.append(shown(reference) if reference is not None else str(number))
        parts = [f"/Type /StructElem /S /{self.tag} /P {shown(self.parent)}"]
        if self.page is not None:
            parts.append(f"/Pg {shown(self.page)}")
        if self.scope:
            parts.append(f"/A << /O /Table /Scope /{self.scope} >>")
        parts.append(f"/K [{' '.join(kids)}]")
        written = " ".join(parts).encode("ascii")
        alt = b" /Alt " + PDFString(self.alt).format(document) if self.alt else b""
        return b"<< " + written + alt + b" >>"
