"""An address on paper: a code that a phone's camera reads, and the same address as text.

References
----------
ISO/IEC 18004:2015: the symbol, its quiet zone of four modules, error correction levels.
"""

from reportlab.graphics.barcode.qrencoder import QRCode, QRErrorCorrectLevel

from reporter.story.report import LinkCode, Run
from reporter.typeset.boxes import Box, Element, Path
from reporter.typeset.chunk import Chunk, Piece
from reporter.typeset.faces import width_of
from reporter.typeset.free_space import ASCENT, DESCENT
from reporter.typeset.style import Style
from reporter.typeset.text import paragraph

MODULE = 0.65
"""Side of one module [mm]: five dots of a 200 dpi scan, and a phone reads it at arm's length
(common practice, no source)."""
QUIET_MODULES = 4
OVERLAP = 0.01
"""How far each bar reaches into the next row [mm], so that no white hairline shows between."""


def link_code_pieces(block: LinkCode, width: float, style: Style) -> list[Piece]:
    """Return the code at the left and the address beside it, or below it in a narrow column."""
    matrix = modules_of(block.address)
    quiet = QUIET_MODULES * MODULE
    side = len(matrix) * MODULE + 2 * quiet
    caption, table = style.step("caption"), style.step("table")
    # The quiet zone is white of its own, so the code's ink lines up with the text's left edge.
    code = Element(
        "Figure", bars(matrix, 0.0, quiet, style.ink), alt=block.alt, source="lesson.video_link"
    )
    beside = side - quiet + 2.0
    name_width = width_of(block.label, caption.face, caption.size)
    if beside + name_width <= width:
        x, top, least = beside, quiet + 2.6, side
    else:
        # A column too narrow for both: the words stand below the code.
        x, top, least = 0.0, side - quiet + 2.0 + ASCENT * caption.size_mm, 0.0
    name, y = paragraph((Run(block.label),), x, top, width - x, caption, style.brand)
    lines, end = paragraph(
        (Run(block.address),),
        x,
        y - caption.lead_mm + table.lead_mm,
        width - x,
        table,
        style.ink,
    )
    height = max(least, end - table.lead_mm + DESCENT * table.size_mm)
    link = Element("Link", lines, alt=block.description, link=block.address)
    words = Element("P", name, (link,), source="lesson.video_link")
    return [Chunk(height, (code, words), 2.0, name="video link", source="lesson.video_link")]


def modules_of(address: str) -> list[list[bool]]:
    """Return the code's modules, row by row, True for dark; 15 of 100 code words may be lost."""
    code = QRCode(None, QRErrorCorrectLevel.M)
    code.addData(address)
    code.make()
    return [[bool(module) for module in row] for row in code.modules]


def bars(matrix: list[list[bool]], x: float, y: float, ink: str) -> tuple[Box, ...]:
    """Return the dark modules as bars, runs of a row joined and equal runs of rows below too."""
    open_runs: dict[tuple[int, int], int] = {}
    boxes: list[Box] = []

    def close(run: tuple[int, int], first: int, last: int) -> None:
        left, right = x + run[0] * MODULE, x + run[1] * MODULE
        top, bottom = y + first * MODULE, y + last * MODULE + OVERLAP
        corners = ((left, top), (right, top), (right, bottom), (left, bottom))
        boxes.append(Path(corners, 0.0, ink, closed=True, fill=ink))

    for number, row in enumerate([*matrix, []]):
        runs = set(_runs(row))
        for run in [run for run in open_runs if run not in runs]:
            close(run, open_runs.pop(run), number)
        for run in sorted(runs):
            open_runs.setdefault(run, number)
    return tuple(boxes)


def _runs(row: list[bool]) -> list[tuple[int, int]]:
    """Return first module and the one after the last of every dark stretch."""
    edges = [i for i in range(len(row) + 1) if _dark(row, i - 1) != _dark(row, i)]
    return list(zip(edges[::2], edges[1::2], strict=True))


def _dark(row: list[bool], index: int) -> bool:
    return 0 <= index < len(row) and row[index]
