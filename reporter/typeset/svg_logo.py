"""An academy's logo from an SVG drawing: solid shapes only, nothing that could run or be fetched.

The drawing is read as a stream of XML events. A document type, entities, scripts, links,
pictures, text and effects are refused at their line; nothing outside the file is ever opened.

References
----------
W3C, Scalable Vector Graphics (SVG) 1.1, second edition. The dangers: OWASP, XML External Entity
Prevention Cheat Sheet.
"""

import math
from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Any
from xml.parsers import expat

from reporter.errors import InputRefusedError, Problem, printable
from reporter.typeset.outline_pen import Ring, TooManyPointsError
from reporter.typeset.svg_shapes import SHAPES, rings_of
from reporter.typeset.svg_style import Paint, SvgRefusedError, number, numbers

LARGEST_FILE_BYTES = 256 * 1024
MOST_PARTS, DEEPEST, MOST_POINTS = 2_000, 32, 40_000
HEIGHT = 100.0
"""Of every drawing, in its own units."""
WIDEST, NARROWEST = 5.0, 0.25
"""Width over height."""
TOLERANCE = 0.05
"""A logo is printed 8 mm high: a line leaves its curve by four thousandths of a millimetre."""
SVG = "http://www.w3.org/2000/svg"
SILENT = frozenset({"title", "desc", "metadata"})
"""Parts that draw nothing; what stands in them is passed over."""
WHY = {
    "script": "a script is never run; delete it",
    "text": "text needs a typeface; turn it into outlines",
    "image": "a picture made of dots is not drawn; trace it into shapes",
    "use": "a copy of another part is not drawn; turn it into a shape of its own",
    "style": "a style sheet is not read; write fill and stroke at the shapes (presentation "
    "attributes)",
    "a": "a link has no place in a logo; keep the shapes alone",
    "foreignObject": "nothing foreign is drawn; keep the shapes alone",
}
MOST_PROBLEMS = 12


@dataclass(frozen=True, slots=True)
class Mark:
    """One painted shape; ``stroke_width`` in hundredths of the drawing's height."""

    rings: tuple[Ring, ...]
    fill: str | None
    even_odd: bool
    stroke: str | None
    stroke_width: float
    round_cap: bool
    round_join: bool


@dataclass(frozen=True, slots=True)
class Logo:
    """A drawing 100 high and `width` wide, y down; its marks in the order of painting."""

    width: float
    marks: tuple[Mark, ...]


def read_logo(data: bytes, name: str) -> Logo:
    """Return the logo drawn in an SVG file.

    Parameters
    ----------
    data : bytes
        The file.
    name : str
        The file's, as the user knows it.

    Raises
    ------
    InputRefusedError
        With what is not drawn, each at its line.
    """
    if len(data) > LARGEST_FILE_BYTES:
        message = f"has {len(data)} bytes; a logo has at most {LARGEST_FILE_BYTES}"
        raise InputRefusedError([Problem(name, 0, 0, "", message)])
    reading = _Reading(name)
    reading.run(data)
    if not reading.problems and not reading.marks:
        reading.problem(1, "draws nothing")
    if reading.problems:
        raise InputRefusedError(reading.problems)
    return Logo(reading.width, tuple(reading.marks))


class _StopReadingError(Exception):
    """Nothing that follows is worth reading."""


class _Reading:
    """Takes the events of the parser, one after the other."""

    def __init__(self, name: str) -> None:
        self._name = name
        self._parser = expat.ParserCreate(namespace_separator=" ")
        self._open: list[Paint | None] = []
        """The paint inside each open part; None inside a part that draws nothing."""
        self._parts = self._points = 0
        self.width = 0.0
        self.marks: list[Mark] = []
        self.problems: list[Problem] = []

    def run(self, data: bytes) -> None:
        parser: Any = self._parser
        parser.SetParamEntityParsing(expat.XML_PARAM_ENTITY_PARSING_NEVER)
        parser.StartElementHandler = self._start
        parser.EndElementHandler = self._end
        parser.StartDoctypeDeclHandler = self._document_type
        parser.EntityDeclHandler = self._entity
        parser.ExternalEntityRefHandler = self._external
        parser.ProcessingInstructionHandler = self._instruction
        try:
            parser.Parse(data, True)
        except _StopReadingError:
            pass
        except (expat.ExpatError, ValueError, LookupError) as error:
            line = getattr(error, "lineno", 1)
            self.problem(line, f"is no SVG drawing ({str(error).split(':')[0]})")

    def problem(self, line: int, message: str) -> None:
        self.problems.append(Problem(self._name, line, 1, "", message))
        if len(self.problems) >= MOST_PROBLEMS:
            raise _StopReadingError

    def _refuse(self, message: str) -> None:
        self.problem(self._parser.CurrentLineNumber, message)

    def _document_type(self, *_: object) -> None:
        self._refuse("a document type may fetch or blow up what is read; delete the line")
        raise _StopReadingError

    def _entity(self, *_: object) -> None:
        self._refuse("entities are not read")
        raise _StopReadingError

    def _external(self, *_: object) -> int:
        self._refuse("nothing outside the file is read")
        raise _StopReadingError

    def _instruction(self, target: str, _: str) -> None:
        self._refuse(f'the instruction "{printable(target[:40])}" is not followed; delete the line')

    def _start(self, full_name: str, attributes: dict[str, str]) -> None:
        self._parts += 1
        if self._parts > MOST_PARTS or len(self._open) >= DEEPEST:
            self._refuse(f"a logo has at most {MOST_PARTS} parts, {DEEPEST} in each other")
            raise _StopReadingError
        space, _, name = full_name.rpartition(" ")
        parent = self._open[-1] if self._open else None
        self._open.append(parent)
        if not self._harmless(name, attributes):
            self._open[-1] = None
            return
        own = {key: text for key, text in attributes.items() if " " not in key}
        try:
            if len(self._open) == 1:
                self._open[-1] = self._sheet(space, name, own)
            elif parent is not None:
                self._open[-1] = self._part(space, name, own, parent)
        except SvgRefusedError as error:
            self._refuse(f"{name}: {error}")
            self._open[-1] = None
        except TooManyPointsError as error:
            self._refuse(f"{name}: {error}")
            raise _StopReadingError from None

    def _end(self, _: str) -> None:
        self._open.pop()

    def _harmless(self, name: str, attributes: Mapping[str, str]) -> bool:
        """Refuse what could run or lead out of the file, also in parts that draw nothing."""
        before = len(self.problems)
        if name.lower() in ("script", "handler", "listener", "foreignobject", "iframe"):
            self._refuse(f"{name}: {WHY.get(name, 'nothing that could run is read; delete it')}")
        for key, text in attributes.items():
            short = key.rpartition(" ")[2].lower()
            if short in ("href", "src", "base"):
                self._refuse(
                    f'{name}: {short} leads to "{printable(text[:40])}"; nothing is fetched'
                )
            elif short.startswith("on"):
                self._refuse(f"{name}: {printable(short[:40])} would run a script; delete it")
            elif " " not in key and _leads_out(text):
                self._refuse(
                    f"{name}: {printable(short[:40])} refers to something; nothing is fetched"
                )
        return len(self.problems) == before

    def _sheet(self, space: str, name: str, own: Mapping[str, str]) -> Paint | None:
        """Take the outermost part: how large the drawing is."""
        if (space, name) != (SVG, "svg"):
            message = f'the outermost part must be svg with xmlns="{SVG}"'
            raise SvgRefusedError(message)
        from fontTools.misc.transform import Transform

        if "viewBox" in own:
            box = numbers(own["viewBox"], "viewBox")
        elif "width" in own and "height" in own:
            box = [0.0, 0.0, number(own["width"], "width"), number(own["height"], "height")]
        else:
            box = []
        if len(box) != 4 or box[2] <= 0 or box[3] <= 0:
            message = "viewBox must give left, top, width and height of the drawing"
            raise SvgRefusedError(message)
        left, top, width, height = box
        if not NARROWEST <= width / height <= WIDEST:
            message = (
                f"the drawing is {width / height:.2g} times as wide as high; "
                f"from {NARROWEST:g} to {WIDEST:g} is drawn"
            )
            raise SvgRefusedError(message)
        scale = HEIGHT / height
        self.width = width * scale
        base = Paint(Transform().scale(scale, scale).translate(-left, -top))
        return base.inside({key: text for key, text in own.items() if key != "transform"})

    def _part(self, space: str, name: str, own: Mapping[str, str], parent: Paint) -> Paint | None:
        """Take a part of the drawing; return the paint inside it, None where nothing is drawn."""
        if space != SVG or name in SILENT:
            # Notes of the drawing program.
            return None
        if name == "defs":
            # Often there and empty; what is kept there for later is never drawn.
            return replace(parent, hidden=True)
        if name not in SHAPES and name != "g":
            why = WHY.get(name, f"is not drawn; a logo is made of g, {', '.join(sorted(SHAPES))}")
            raise SvgRefusedError(why)
        paint = parent.inside(own)
        if name in SHAPES and not paint.hidden:
            self._shape(name, own, paint)
        return paint

    def _shape(self, name: str, own: Mapping[str, str], paint: Paint) -> None:
        rings = rings_of(name, own, lambda x, y: paint.transform.transformPoint((x, y)), TOLERANCE)
        self._points += sum(len(ring.points) for ring in rings)
        if self._points > MOST_POINTS:
            message = f"the drawing has more than {MOST_POINTS} points"
            raise TooManyPointsError(message)
        stroke = paint.stroke if paint.stroke_width * paint.scale > 0 else None
        fill = paint.fill if name != "line" else None
        if not rings or (fill is None and stroke is None):
            return
        for ring in rings:
            if any(math.hypot(*at) > 1e4 for at in ring.points):
                message = "lies far outside the viewBox"
                raise SvgRefusedError(message)
        self.marks.append(
            Mark(
                tuple(rings),
                fill,
                paint.even_odd,
                stroke,
                paint.stroke_width * paint.scale,
                paint.round_cap,
                paint.round_join,
            )
        )


def _leads_out(text: str) -> bool:
    """Whether a value refers to something else, such as ``url(...)``, or could run."""
    squeezed = "".join(text.split()).lower()
    return any(sign in squeezed for sign in ("url(", "@import", "javascript:", "expression("))
