"""Lines of text: measured, broken at spaces, and set so that no word is left alone."""

import math
import re
from collections.abc import Sequence
from dataclasses import dataclass

from reporter.story.report import Run
from reporter.typeset.boxes import Face, Text
from reporter.typeset.faces import width_of
from reporter.typeset.hyphens import SOFT_HYPHEN, divisions
from reporter.typeset.style import TypeStep

LONGEST_WORD = 60
NO_BREAK_SPACE = "\u00a0"
NUMBER_AND_UNIT = re.compile(
    r"(?<=[0-9]) (?=(?:mm|cm|m|km|yd|ft|min|kg|mph|km/h|m/s|rpm|hPa|%|°C?)(?![\w/]))"
)
"""The space that never ends a line: between a number and its unit."""
HOLE = 1.2
"""A hole at the end of a line, in millimetres for a point of type, for which a word is divided."""


@dataclass(frozen=True, slots=True)
class Word:
    """A word in one or two faces, with its width in millimetres."""

    pieces: tuple[tuple[str, Face], ...]
    width: float
    ends_line: bool = False

    @property
    def letters(self) -> int:
        """How many characters it has."""
        return sum(len(text) for text, _ in self.pieces)


Line = tuple[Word, ...]


def bolder(face: Face) -> Face:
    """Return the bold companion of a face."""
    return "bold-italic" if face in ("italic", "bold-italic") else "bold"


def words_of(runs: Sequence[Run], face: Face, size: float, width: float) -> list[Word]:
    """Split runs into measured words; a word wider than the line is cut into parts that fit."""
    words: list[Word] = []
    pending: list[tuple[str, Face]] = []

    def finish(ends_line: bool = False) -> None:
        if pending or ends_line:
            total = 0.0
            for piece, its_face in pending:
                total += width_of(piece, its_face, size)
            words.append(Word(tuple(pending), total, ends_line))
            pending.clear()

    for run in runs:
        chosen = bolder(face) if run.bold else face
        text = NUMBER_AND_UNIT.sub(NO_BREAK_SPACE, run.text.replace("\r", ""))
        for number, text_line in enumerate(text.split("\n")):
            if number:
                finish(ends_line=True)
            for index, part in enumerate(text_line.replace("\t", " ").split(" ")):
                if index:
                    finish()
                for piece in _parts_that_fit(part, chosen, size, width):
                    if pending and (len(piece) < len(part)):
                        finish()
                    pending.append((piece, chosen))
    finish()
    return words


def _parts_that_fit(word: str, face: Face, size: float, width: float) -> list[str]:
    if not word:
        return []
    if width_of(word, face, size) <= width:
        return [word]
    parts, start = [], 0
    while start < len(word):
        low, high = start + 1, len(word)
        while low < high:
            middle = (low + high + 1) // 2
            if width_of(word[start:middle], face, size) <= width:
                low = middle
            else:
                high = middle - 1
        parts.append(word[start:low])
        start = low
    return parts


def break_lines(
    runs: Sequence[Run],
    step: TypeStep,
    width: float,
    *,
    face: Face | None = None,
    hyphens: str = "",
) -> list[Line]:
    """Return the lines of a paragraph of a given width in millimetres.

    ``hyphens`` is the language by whose patterns words are divided; empty divides none.

    The last line keeps at least two words and twelve characters: where it would not, the
    paragraph is set a little narrower, as long as that costs no line.
    """
    words = words_of(runs, face or step.face, step.size, width)
    space = width_of(" ", face or step.face, step.size)
    chosen = face or step.face

    def filled(room: float) -> list[Line]:
        if not hyphens:
            return _fill(words, room, space)
        return _fill(_divided(words, room, space, chosen, step.size, hyphens), room, space)

    lines = filled(width)
    if len(lines) > 1 and _is_orphan(lines[-1]):
        for share in (0.97, 0.94, 0.91, 0.88, 0.85, 0.82, 0.78):
            narrower = filled(width * share)
            if len(narrower) > len(lines):
                break
            if not _is_orphan(narrower[-1]):
                return narrower
    return lines


def _divided(
    words: Sequence[Word], width: float, space: float, face: Face, size: float, language: str
) -> list[Word]:
    """Return the words, those divided in two that would leave a hole at the end of a line.

    The last word is never divided, nor more than two lines after each other.
    """
    found: list[Word] = []
    used, in_a_row = 0.0, 0
    for index, word in enumerate(words):
        gap = space if used else 0.0
        if used and used + gap + word.width > width + 1e-6:
            room = width - used - gap
            parts = None
            if room > HOLE * size and in_a_row < 2 and index + 1 < len(words):
                parts = _two_parts(word, room, size, language)
            if parts is None:
                used, in_a_row, gap = 0.0, 0, 0.0
            else:
                found.append(parts[0])
                word = parts[1]
                used, in_a_row, gap = 0.0, in_a_row + 1, 0.0
        found.append(word)
        used = 0.0 if word.ends_line else used + gap + word.width
    return found


def _two_parts(word: Word, room: float, size: float, language: str) -> tuple[Word, Word] | None:
    if len(word.pieces) != 1:
        return None
    ((text, face),) = word.pieces
    for first, last in divisions(text, language):
        shown = first + SOFT_HYPHEN
        width = width_of(shown, face, size)
        if width <= room:
            rest = Word(((last, face),), width_of(last, face, size), word.ends_line)
            return Word(((shown, face),), width, ends_line=True), rest
    return None


def _is_orphan(last: Line) -> bool:
    return len(last) < 2 or sum(word.letters for word in last) + len(last) - 1 < 12


def _fill(words: Sequence[Word], width: float, space: float) -> list[Line]:
    lines: list[Line] = []
    current: list[Word] = []
    used = 0.0
    for word in words:
        extra = word.width + (space if current else 0.0)
        if current and used + extra > width + 1e-6:
            lines.append(tuple(current))
            current, used, extra = [], 0.0, word.width
        current.append(word)
        used += extra
        if word.ends_line:
            lines.append(tuple(current))
            current, used = [], 0.0
    if current:
        lines.append(tuple(current))
    return lines


def set_line(line: Line, x: float, y: float, step: TypeStep, ink: str) -> list[Text]:
    """Return the boxes of a line, its left end at `x`, its baseline at `y`; a box a face."""
    stretches: list[tuple[str, Face]] = []
    for index, word in enumerate(line):
        for number, (text, face) in enumerate(word.pieces):
            space = " " if index and not number else ""
            if not stretches:
                stretches.append((text, face))
            elif stretches[-1][1] == face:
                stretches[-1] = (stretches[-1][0] + space + text, face)
            else:
                before, its_face = stretches[-1]
                stretches[-1] = (before + space, its_face)
                stretches.append((text, face))
    boxes: list[Text] = []
    for text, face in stretches:
        width = width_of(text, face, step.size)
        boxes.append(Text(x, y, text, face, step.size, ink, width))
        x += width
    return boxes


def line_width(line: Line, step: TypeStep) -> float:
    """Return the width of a line in millimetres."""
    space = width_of(" ", step.face, step.size)
    return sum(word.width for word in line) + space * max(len(line) - 1, 0)


def paragraph(
    runs: Sequence[Run],
    x: float,
    y: float,
    width: float,
    step: TypeStep,
    ink: str,
    *,
    hyphens: str = "",
) -> tuple[tuple[Text, ...], float]:
    """Set a paragraph with its first baseline at `y`; return its boxes and the next baseline."""
    boxes: list[Text] = []
    for line in break_lines(runs, step, width, hyphens=hyphens):
        boxes += set_line(line, x, y, step, ink)
        y += step.lead_mm
    return tuple(boxes), y


def label(
    text: str,
    x: float,
    y: float,
    step: TypeStep,
    ink: str,
    *,
    face: Face | None = None,
    align: str = "left",
    tabular: bool = False,
    angle: float = 0.0,
) -> Text:
    """Return one line of text aligned left, right or centre on `x`."""
    chosen = face or step.face
    width = width_of(text, chosen, step.size, tabular=tabular)
    shift = {"left": 0.0, "right": width, "centre": width / 2}[align]
    if angle:
        x -= shift * math.cos(math.radians(angle))
        y += shift * math.sin(math.radians(angle))
    else:
        x -= shift
    return Text(x, y, text, chosen, step.size, ink, width, angle, tabular)
