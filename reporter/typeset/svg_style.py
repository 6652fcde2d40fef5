"""How a part of an SVG drawing is painted: solid fills and strokes, inherited from its groups.

References
----------
W3C, Scalable Vector Graphics (SVG) 1.1, second edition, chapter 11 (painting) and 7.6
(``transform``).
"""

import math
import re
from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from fontTools.misc.transform import Transform

BRAND = "brand"
"""Stands for the brand's own ink: what ``currentColor`` is on a page."""
NUMBER = r"[-+]?(?:[0-9]+(?:\.[0-9]*)?|\.[0-9]+)(?:[eE][-+]?[0-9]+)?"
"""Matched in one way only, so that a long one that fails fails at once."""
LARGEST_NUMBER = 1e6
_COLOUR = re.compile(r"#[0-9A-Fa-f]{3}|#[0-9A-Fa-f]{6}|[A-Za-z]{3,20}|rgb\([0-9,% ]{5,30}\)")
_ONE_TRANSFORM = re.compile(r"\s*,?\s*([a-zA-Z]+)\s*\(([^()]*)\)")
_COUNTS = {
    "matrix": (6,),
    "translate": (1, 2),
    "scale": (1, 2),
    "rotate": (1, 3),
    "skewX": (1,),
    "skewY": (1,),
}
PAINTED_BY = frozenset(
    {
        "fill",
        "fill-rule",
        "fill-opacity",
        "stroke",
        "stroke-width",
        "stroke-linecap",
        "stroke-linejoin",
        "stroke-dasharray",
        "stroke-opacity",
        "opacity",
        "display",
        "visibility",
        "color",
    }
)
REFUSED_EFFECTS = ("clip-path", "mask", "filter", "mix-blend-mode", "marker", "marker-start",
                   "marker-mid", "marker-end")  # fmt: skip


class SvgRefusedError(ValueError):
    """Something in a drawing that is not drawn, in words."""


@dataclass(frozen=True, slots=True)
class Paint:
    """What a shape is painted with; inks are #RRGGBB, ``brand`` or None for none."""

    transform: "Transform"
    fill: str | None = "#000000"
    even_odd: bool = False
    stroke: str | None = None
    stroke_width: float = 1.0
    round_cap: bool = False
    round_join: bool = False
    hidden: bool = False

    def inside(self, attributes: Mapping[str, str]) -> "Paint":
        """Return the paint of a part with these attributes inside this one.

        Raises
        ------
        SvgRefusedError
            With the first thing that is not drawn.
        """
        said = _declarations(attributes)
        for name in REFUSED_EFFECTS:
            if said.get(name, "none") != "none":
                message = f"{name} is not drawn; turn the effect into outlines"
                raise SvgRefusedError(message)
        new = self
        if "transform" in attributes:
            new = replace(new, transform=self.transform.transform(_matrix(attributes["transform"])))
        new = replace(
            new, fill=_ink(said, "fill", self.fill), stroke=_ink(said, "stroke", self.stroke)
        )
        if number(said.get("opacity", "1"), "opacity") != 1:
            message = "opacity is drawn only as 1; give the paler colour itself"
            raise SvgRefusedError(message)
        if said.get("fill-rule", "inherit") != "inherit":
            new = replace(new, even_odd=said["fill-rule"] == "evenodd")
        if "stroke-width" in said:
            new = replace(new, stroke_width=abs(number(said["stroke-width"], "stroke-width")))
        if said.get("stroke-dasharray", "none") != "none":
            message = "a dashed stroke is not drawn; turn it into outlines"
            raise SvgRefusedError(message)
        if "stroke-linecap" in said:
            if said["stroke-linecap"] not in ("butt", "round"):
                message = (
                    f'stroke-linecap "{said["stroke-linecap"]}" is not drawn; butt or round is'
                )
                raise SvgRefusedError(message)
            new = replace(new, round_cap=said["stroke-linecap"] == "round")
        if "stroke-linejoin" in said:
            new = replace(new, round_join=said["stroke-linejoin"] == "round")
        if said.get("display") == "none" or said.get("visibility") in ("hidden", "collapse"):
            new = replace(new, hidden=True)
        return new

    @property
    def scale(self) -> float:
        """How much a stroke grows on the way to the page: the mean over all directions."""
        xx, xy, yx, yy = self.transform[:4]
        return math.sqrt(abs(xx * yy - xy * yx))


def number(text: str, name: str) -> float:
    """Return a length or number; ``px`` is the drawing's own unit.

    Raises
    ------
    SvgRefusedError
        If it is none, or too large.
    """
    found = re.fullmatch(rf"\s*({NUMBER})(?:px)?\s*", text)
    if not found or abs(float(found[1])) > LARGEST_NUMBER:
        message = f'{name} "{text[:40]}" is no number up to {LARGEST_NUMBER:g}'
        raise SvgRefusedError(message)
    return float(found[1])


def numbers(text: str, name: str) -> list[float]:
    """Return numbers between spaces and commas."""
    parts = [part for part in re.split(r"[\s,]+", text.strip()) if part]
    if parts and all(re.fullmatch(NUMBER, part) for part in parts):
        return [number(part, name) for part in parts]
    # Packed forms leave the separator out before a sign or a second point.
    if re.sub(NUMBER, "", text).strip(" \t\r\n,"):
        message = f'{name} "{text[:40]}" is no list of numbers'
        raise SvgRefusedError(message)
    return [number(part, name) for part in re.findall(NUMBER, text)]


def _declarations(attributes: Mapping[str, str]) -> dict[str, str]:
    """Return what is said about painting, a ``style`` attribute before single ones."""
    said = {name: text.strip() for name, text in attributes.items() if name != "style"}
    for one in attributes.get("style", "").split(";"):
        name, colon, text = one.partition(":")
        if colon and (name.strip() in PAINTED_BY or name.strip() in REFUSED_EFFECTS):
            said[name.strip()] = text.replace("!important", "").strip()
    return said


def _ink(said: Mapping[str, str], name: str, outside: str | None) -> str | None:
    """Return the ink of a fill or stroke, else that of the part around."""
    opacity = number(said.get(f"{name}-opacity", "1"), f"{name}-opacity")
    if opacity not in (0, 1):
        message = f"{name}-opacity is drawn only as 0 or 1; give the paler colour itself"
        raise SvgRefusedError(message)
    if opacity == 0:
        return None
    return outside if said.get(name, "inherit") == "inherit" else _colour(said[name], name)


def _colour(text: str, name: str) -> str | None:
    """Return #RRGGBB of a colour as SVG writes it, ``brand`` for ``currentColor``."""
    if text == "none" or text == "transparent":
        return None
    if text.lower() == "currentcolor":
        return BRAND
    if not _COLOUR.fullmatch(text):
        message = f'{name} "{text[:40]}" is no solid colour; write it like #14524A'
        raise SvgRefusedError(message)
    # Loaded here: most brands have no drawing.
    from PIL import ImageColor

    try:
        found = ImageColor.getrgb(text.replace(" ", ""))
    except ValueError:
        message = f'{name} "{text[:40]}" is no colour; write it like #14524A'
        raise SvgRefusedError(message) from None
    return "#" + "".join(f"{min(channel, 255):02X}" for channel in found[:3])


def _matrix(text: str) -> "Transform":
    """Return what a ``transform`` attribute does, the last step first done."""
    from fontTools.misc.transform import Transform

    found, at = Transform(), 0
    while at < len(text.rstrip()):
        one = _ONE_TRANSFORM.match(text, at)
        values = numbers(one[2], "transform") if one else []
        if not one or len(values) not in _COUNTS.get(one[1], ()):
            message = f'transform "{text[:60]}" is not understood'
            raise SvgRefusedError(message)
        at = one.end()
        match one[1]:
            case "matrix":
                found = found.transform(tuple(values))
            case "translate":
                found = found.translate(*values)
            case "scale":
                found = found.scale(*values)
            case "rotate":
                x, y = values[1:] or (0.0, 0.0)
                turned = found.translate(x, y).rotate(math.radians(values[0]))
                found = turned.translate(-x, -y)
            case "skewX":
                found = found.skew(math.radians(values[0]), 0)
            case "skewY":
                found = found.skew(0, math.radians(values[0]))
    return found
