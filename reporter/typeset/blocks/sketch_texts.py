"""The texts of a drill's sketch: dimensions, step numbers and labels, each in a free place."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

from reporter.speech import later, say
from reporter.story import sketch as data
from reporter.typeset.blocks.sketch_items import Pen
from reporter.typeset.blocks.sketch_lines import ends_of
from reporter.typeset.boxes import XY, Box, Text
from reporter.typeset.faces import width_of
from reporter.typeset.free_space import FreeSpace, Rectangle, rectangle_of, shifted
from reporter.typeset.strokes import HEAD_LENGTH, tag
from reporter.typeset.style import TypeStep

WHITE_AROUND_TEXT = 0.6
FARTHEST_SHIFT = 16.0
NEAR_ENOUGH = 4.0
"""A label may stand this far [mm] from where it was asked for without being to blame."""
LARGE_DIMENSION = TypeStep(24, 28, "bold")
STEP_RADIUS = 2.1
TARGET = later("target")
ORDER = (data.Step, data.Dimension, data.TargetArrow, data.Label)
"""What is hard to place elsewhere comes first."""


@dataclass(slots=True)
class Placer:
    """Puts texts into the free space of a drawing, one after the other.

    Attributes
    ----------
    pen : Pen
        With which the things are drawn.
    space : FreeSpace
        What they leave free; the texts placed are added.
    within : rectangle
        Which no text may leave.
    blame : float
        Grows with every text that stands on ink or far from its place.
    """

    pen: Pen
    space: FreeSpace
    within: Rectangle
    blame: float = 0.0

    def place(self, item: data.Item, *, first: bool) -> tuple[Box, ...]:
        """Return the text of an item, placed; `first` for the dimension that matters most."""
        match item:
            case data.Step():
                return self._step(item)
            case data.Dimension():
                return self._dimension(item, first=first)
            case data.TargetArrow():
                return self._target_word(item)
            case data.Label():
                return self._label(item)
            case _:
                return ()

    @property
    def _label_step(self) -> TypeStep:
        return self.pen.style.step("body" if self.pen.large else "note")

    def _dimension(self, item: data.Dimension, *, first: bool) -> tuple[Box, ...]:
        """Place a dimension's text beside the middle of its line, else where there is room."""
        step = self.pen.style.step("fact" if self.pen.large else "caption")
        if self.pen.large and first and any(c.isdigit() for c in item.text):
            step = LARGE_DIMENSION
        wide = width_of(item.text, step.face, step.size)
        rise = 0.36 * step.size_mm
        root, start, end = self.pen.line((item.start, *ends_of(item)))
        away = (start[0] - root[0], start[1] - root[1])
        x, y = (start[0] + end[0]) / 2, (start[1] + end[1]) / 2
        gap = 1.3
        if abs(end[1] - start[1]) > abs(end[0] - start[0]):
            places = [(x - gap - wide, y + rise), (x + gap, y + rise)]
            if away[0] > 0:
                places.reverse()
        else:
            above, below = (x - wide / 2, y - gap), (x - wide / 2, y + gap + 2 * rise)
            low, high = sorted((start[0], end[0]))
            # Where there is no room the heads point in from outside: stand beyond their tails.
            tail = 6.0 if high - low < 2 * HEAD_LENGTH + 1.2 else 1.9
            beside = [(high + tail, y + rise), (low - tail - wide, y + rise)]
            places = [below, above] if away[1] > 0 else [above, below]
            places = [*beside, *places] if wide > high - low else [*places, *beside]
        return self._put(item.text, places, self.pen.style.ink, step, free_within=9.0)

    def _target_word(self, item: data.TargetArrow) -> tuple[Box, ...]:
        """Place the word at the arrow that says where the target is."""
        step = self._label_step
        tail = self.pen.to_page(item.at)
        tip = self.pen.to_page((item.at[0] + item.length, item.at[1]))
        wide = width_of(say(TARGET), step.face, step.size)
        middle = (tail[0] + tip[0]) / 2 - wide / 2
        rise = 0.36 * step.size_mm
        left, right = sorted((tail[0], tip[0]))
        places = [
            (middle, tail[1] + 1.1 + 2 * rise),
            (middle, tail[1] - 1.3),
            (right + 1.4, tail[1] + rise),
            (left - 1.4 - wide, tail[1] + rise),
        ]
        return self._put(say(TARGET), places, self.pen.style.secondary, step)

    def _label(self, item: data.Label) -> tuple[Box, ...]:
        """Place a label where it is asked for, or as near as is free."""
        step = self._label_step
        wide = width_of(item.text, step.face, step.size)
        x, y = self.pen.to_page(item.at)
        align = item.align
        if self.pen.mirror < 0 and align != "middle":
            align = "end" if align == "start" else "start"
        x -= {"start": 0.0, "middle": wide / 2, "end": wide}[align]
        return self._put(item.text, [(x, y)], self.pen.style.secondary, step)

    def _step(self, item: data.Step) -> tuple[Box, ...]:
        """Place a numbered tag."""
        x, y = self.pen.to_page(item.at)
        radius = STEP_RADIUS * self.pen.weight
        area: Rectangle = (x - radius, y - radius, x + radius, y + radius)
        (dx, dy), free = self.space.place(area, self.within, 0.3, FARTHEST_SHIFT / 2)
        self._stand(shifted(area, (dx, dy)), free, math.hypot(dx, dy) - NEAR_ENOUGH)
        size = self._label_step.size
        return tag((x + dx, y + dy), item.number, self.pen.style.ink, radius=radius, size=size)

    def _put(
        self,
        words: str,
        places: Sequence[XY],
        ink: str,
        step: TypeStep,
        free_within: float = NEAR_ENOUGH,
    ) -> tuple[Box, ...]:
        """Put a text at the first free of some places, else as near to the first as can be."""
        wide = width_of(words, step.face, step.size)
        x, y = places[0]
        area = rectangle_of(Text(x, y, words, step.face, step.size, ink, wide))
        prefer = [(px - x, py - y) for px, py in places]
        (dx, dy), free = self.space.place(
            area, self.within, WHITE_AROUND_TEXT, FARTHEST_SHIFT, prefer
        )
        shift = min(math.hypot(dx - px, dy - py) for px, py in prefer)
        self._stand(shifted(area, (dx, dy)), free, shift - free_within)
        return (Text(x + dx, y + dy, words, step.face, step.size, ink, wide),)

    def _stand(self, area: Rectangle, free: bool, too_far: float) -> None:
        """Note that a text stands in a rectangle, so many millimetres too far from its place."""
        self.blame += max(0.0, too_far)
        if not free:
            self.blame += 10.0 * self.space.ink_in(area)
        self.space.taken.append(area)
