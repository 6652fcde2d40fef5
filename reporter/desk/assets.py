"""The page's own files, read once into a table: what is not in it cannot be asked for."""

from dataclasses import dataclass
from importlib.resources import files

from reporter.bundled import layouts_root

_KINDS = {
    ".html": "text/html; charset=utf-8",
    ".css": "text/css; charset=utf-8",
    ".js": "text/javascript; charset=utf-8",
    ".svg": "image/svg+xml",
    ".ttf": "font/ttf",
}
_FACES = ("Regular", "Bold", "Italic")


@dataclass(frozen=True, slots=True)
class Asset:
    """One file of the page.

    Attributes
    ----------
    kind : str
        Its media type.
    data : bytes
        Its contents.
    """

    kind: str
    data: bytes


def page_assets() -> dict[str, Asset]:
    """Return the page's files by their address."""
    table: dict[str, Asset] = {}
    for entry in (files("reporter") / "desk" / "page").iterdir():
        ending = entry.name[entry.name.rfind(".") :]
        if ending in _KINDS:
            table[f"/page/{entry.name}"] = Asset(_KINDS[ending], entry.read_bytes())
    table["/"] = table.pop("/page/index.html")
    faces = layouts_root() / "typefaces" / "FiraSans"
    for name in _FACES:
        data = (faces / f"FiraSans-{name}.ttf").read_bytes()
        table[f"/page/fira-sans-{name.lower()}.ttf"] = Asset(_KINDS[".ttf"], data)
    return table
