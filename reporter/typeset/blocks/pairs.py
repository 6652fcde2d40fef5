"""Two stills of one position side by side with their measures: large, or with a table."""

from collections.abc import Sequence
from dataclasses import replace

from reporter.story.report import MeasureRow, Pair, Run, Still
from reporter.typeset.blocks.both_lines import inset_elements
from reporter.typeset.blocks.flowing import flowing
from reporter.typeset.blocks.marks import height_for_tags
from reporter.typeset.blocks.measure_table import findings, measure_table, measure_table_parts
from reporter.typeset.blocks.stills import BESIDE_SYMBOL, caption_height, stills_side_by_side
from reporter.typeset.boxes import Element, moved
from reporter.typeset.chunk import Chunk, Flexible, Piece
from reporter.typeset.crop import common_crop, widest_aspect
from reporter.typeset.faces import width_of
from reporter.typeset.forms import PictureForm
from reporter.typeset.style import Style
from reporter.typeset.text import paragraph

GAP_TO_TABLE = 4.0
GAP_TO_SENTENCE = 3.0
GAP_TO_STILLS = 5.0
MOST_ROWS_KEPT = 7
"""A longer table may part from its pictures and go on over the page."""
MOST_OF_A_PAGE = 0.88
"""A pair that needs more leaves its table, then its inset, to follow it."""
INSET_HEIGHT = 34.0
TIGHT, TIGHT_ON_LITTLE_PAGES = (30.0, 92.0), (26.0, 58.0)
BESIDE_INSET = 0.52
BETWEEN_STORIES = 2.0
SINGLE_GROWS = 1.6
LEAST_PITCH, STANDARD_CAPTION = 40.0, 9.5
AFTER_CAPTION, SPARE = 2.0, 0.2


def pair_pieces(block: Pair, width: float, style: Style) -> list[Piece]:
    """Return a pair as one piece whose pictures grow with the room on the page.

    A long sentence and a long table are pieces of their own after it, so that no pair is too
    high for a page.
    """
    form = style.pictures.first if block.large else style.pictures.others
    setting = _Setting(block, form, width, style)
    main = replace(
        setting.piece(form),
        tight=lambda: setting.in_parts(form),
        words_first=lambda: setting.words_first(form),
    )
    after = (*setting.sentence_below(), *setting.inset_piece(), *setting.rows_below())
    return [*setting.heading_above(), main, *after]


class _Setting:
    """One pair with what stands around its stills."""

    def __init__(
        self,
        block: Pair,
        form: PictureForm,
        width: float,
        style: Style,
        *,
        apart: bool = False,
    ) -> None:
        self.block, self.width, self.style = block, width, style
        self.stills: tuple[Still, ...] = tuple(
            still for still in (block.before, block.after) if still is not None
        )
        self.single = len(self.stills) < 2
        narrow = style.breadth == "narrow"
        self.has_heading = not block.large and not narrow
        marks = max((len(still.marks) for still in self.stills), default=0)
        self.least_picture = height_for_tags(marks)
        third = (width - 2 * style.gutter) / 3
        self.aside_x = len(self.stills) * (third + style.gutter)
        body = style.step("body")
        room = width - self.aside_x
        sentence = "" if block.large else block.sentence
        beside = False
        if form.width == "third" and sentence:
            _, end = paragraph((Run(sentence),), 0, 0, room, body, style.ink)
            beside = end <= form.heights[0] + self._above(form)
        beside = beside and not apart
        self.beside = sentence if beside else ""
        inset = block.inset is not None and not block.large and (apart or form.width != "third")
        self.apart = apart
        # On a little page the stills fill it: what is said about them follows.
        self.rows: tuple[MeasureRow, ...] = () if narrow or apart else block.rows
        self.inset_below = inset and not narrow and not apart
        most = MOST_OF_A_PAGE * style.text_height
        if self.rows and (len(self.rows) > MOST_ROWS_KEPT or self._least(form) > most):
            self.rows = ()
        if self.inset_below and self._least(form) > most:
            self.inset_below = False
        self.split_rows = () if self.rows else block.rows
        self.inset_after = inset and not self.inset_below
        self.beside_inset = ""
        if self.inset_below and sentence:
            _, end = paragraph((Run(sentence),), 0, 0, width * BESIDE_INSET, body, style.ink)
            self.beside_inset = sentence if end <= self._inset_height else ""
        self.rows_beside: tuple[MeasureRow, ...] = ()
        if block.large and form.width == "third" and self.rows:
            _, high = findings(self.rows, room, style, single=self.single, columns=1)
            if high <= form.heights[0]:
                self.rows_beside, self.rows = self.rows, ()
        self.below = "" if beside or self.beside_inset else sentence

    def in_parts(self, form: PictureForm) -> list[Piece]:
        """Return small stills side by side, then one by one what stood around the larger ones."""
        small, other = self._small(form)
        sentence = other.sentence_below() if self.beside or self.beside_inset else ()
        inset = () if self.inset_after else other.inset_piece()
        rows = other.rows_below() if self.rows or self.rows_beside else ()
        return [other.piece(small), *sentence, *inset, *rows]

    def words_first(self, form: PictureForm) -> list[Piece]:
        """Return the whole pair in parts, heading, sentence and inset before the small stills.

        Many tags beside a still need a height that the foot of a page may not have.
        """
        small, other = self._small(form)
        heading: Sequence[Piece] = ()
        if other.has_heading:
            heading = self._flowing_heading(other.piece(small).space_before)
            other.has_heading = False
        stills = replace(other.piece(small), space_before=GAP_TO_STILLS, follows=True)
        words = (*heading, *other.sentence_below(), *other.inset_piece())
        return [*words, stills, *other.rows_below()]

    def _small(self, form: PictureForm) -> tuple[PictureForm, "_Setting"]:
        """Return the form of small stills, and the pair in it with nothing around them."""
        narrow = self.style.breadth == "narrow"
        least, most = TIGHT_ON_LITTLE_PAGES if narrow else TIGHT
        most = max(least, min(most, form.heights[1]))
        small = PictureForm(width="half" if narrow else "third", heights=(least, most))
        return small, _Setting(self.block, small, self.width, self.style, apart=True)

    def _fixed(self, form: PictureForm) -> float:
        """Return the height of all but the stills."""
        high = self._stories(form)
        _, top = self._heading()
        rows, rows_height = self._rows()
        fixed = top + high * self._above(form) + (high - 1) * BETWEEN_STORIES
        fixed += GAP_TO_TABLE + rows_height if rows else 0.0
        return fixed + (self._inset_height + GAP_TO_TABLE if self.inset_below else 0.0)

    def _least(self, form: PictureForm) -> float:
        return self._fixed(form) + self._stories(form) * max(form.heights[0], self.least_picture)

    def piece(self, form: PictureForm) -> Flexible:
        """Return heading, stills, what stands beside them, and the measures."""
        block, style = self.block, self.style
        before = 7.0 if block.large else 2.0 if style.breadth == "narrow" else 11.0
        heading, top = self._heading()
        rows, _ = self._rows()
        picture, high = self._picture_width(form), self._stories(form)
        fixed = self._fixed(form)
        above, room_of = self._above(form), self._caption_room(form)

        def make(room: float) -> Chunk:
            height = (room - fixed) / high
            # No wider than the frame allows without cutting off a head or a foot.
            shown = min(picture, height * widest_aspect(self.stills))
            if self.single and block.large:
                shown = min(shown, height * 0.9)
            crop = common_crop(self.stills, shown / height)
            # Narrow stills stand a little apart, so that their captions have room.
            gap = max(style.gutter, self._pitch(form) - shown)
            elements = list(heading)
            if high > 1:
                y = top
                for still in self.stills:
                    one = stills_side_by_side(
                        (still,), crop, shown, height, 0.0, style, above=above, caption_room=room_of
                    )
                    elements += [moved(part, 0, y) for part in one]
                    y += above + height + BETWEEN_STORIES
            else:
                row = stills_side_by_side(
                    self.stills, crop, shown, height, gap, style, above=above, caption_room=room_of
                )
                elements += [moved(one, 0, top) for one in row]
            y = top + high * (above + height) + (high - 1) * BETWEEN_STORIES
            if form.width == "third" and not self.apart:
                x = len(self.stills) * (shown + gap)
                elements += self._aside(x, top + above, height)
            elif self.inset_below:
                elements += self._inset_below(y + GAP_TO_TABLE)
                y += self._inset_height + GAP_TO_TABLE
            elements += [moved(one, 0, y + GAP_TO_TABLE) for one in rows]
            return Chunk(room, tuple(elements), before, name="pair", source=block.source)

        least, most = (max(height, self.least_picture) for height in form.heights)
        if self.single and form.width == "whole":
            most *= SINGLE_GROWS
        return Flexible(
            fixed + high * least, fixed + high * most, make, before, "pair", block.source
        )

    def _stories(self, form: PictureForm) -> int:
        return len(self.stills) if form.width == "whole" else 1

    @property
    def _inset_height(self) -> float:
        return INSET_HEIGHT * self.style.enlarged

    def _pitch(self, form: PictureForm) -> float:
        """Return how far apart two stills begin at least, in millimetres."""
        step = self.style.step("caption")
        least = LEAST_PITCH * step.size / STANDARD_CAPTION
        longest = max(width_of(still.caption, step.face, step.size) for still in self.stills)
        # A language with longer words gets more room, as far as the stills leave it.
        least = max(least, longest + BESIDE_SYMBOL + AFTER_CAPTION + SPARE)
        return min(self._picture_width(form) + self.style.gutter, least)

    def _caption_room(self, form: PictureForm) -> float:
        one = self.single or form.width == "whole"
        return self.width if one else self._pitch(form) - AFTER_CAPTION

    def _above(self, form: PictureForm) -> float:
        return caption_height(self.stills, self._caption_room(form), self.style)

    def _picture_width(self, form: PictureForm) -> float:
        gutter = self.style.gutter
        across = {"whole": 1, "half": 2, "third": 3}[form.width]
        return (self.width - (across - 1) * gutter) / across

    def heading_above(self) -> Sequence[Piece]:
        """Return the heading where it may part from its stills: on a little page."""
        if self.block.large or self.style.breadth != "narrow":
            return []
        return self._flowing_heading(8.0)

    def _flowing_heading(self, before: float) -> Sequence[Piece]:
        return flowing(
            (Run(self.block.heading),),
            self.width,
            self.style.step("heading"),
            self.style,
            before=before,
            role="H2",
            whole=True,
            keep_with_next=True,
            name="pair",
            source=self.block.source,
        )

    def _heading(self) -> tuple[list[Element], float]:
        if not self.has_heading:
            return [], 0.0
        step = self.style.step("heading")
        text, y = paragraph(
            (Run(self.block.heading),), 0, step.size_mm * 0.78, self.width, step, self.style.ink
        )
        return [Element("H2", text)], y - step.lead_mm + 3.2

    def _rows(self) -> tuple[list[Element], float]:
        if not self.rows:
            return [], 0.0
        width, style = self.width, self.style
        if self.block.large or style.breadth == "narrow":
            columns = 1 if style.breadth == "narrow" else min(len(self.rows), 3)
            foot, height = findings(self.rows, width, style, single=self.single, columns=columns)
            return [foot], height
        table, height = measure_table(self.rows, width, style, single=self.single)
        return [table], height

    def _aside(self, x: float, y: float, height: float) -> list[Element]:
        """Return the sentence and the inset, or the measures, beside the stills."""
        style = self.style
        if self.rows_beside:
            room = self.width - x
            foot, _ = findings(self.rows_beside, room, style, single=self.single, columns=1)
            return [moved(foot, x, y)]
        width = self.width - x
        elements: list[Element] = []
        body = style.step("body")
        base = y + 3.2 * style.enlarged
        if self.beside:
            text, base = paragraph(
                (Run(self.beside),), x, base, width, body, style.ink, hyphens=style.hyphens
            )
            elements.append(Element("P", text, source=self.block.source))
        if self.block.inset is not None and not self.block.large:
            # The inset stands at the foot of the picture, where the eye goes down to the table.
            room = y + height - base
            if room > 24.0:
                elements += inset_elements(
                    self.block.inset, x, base + 2.0, width, room - 2.0, style
                )
        return elements

    def _inset_below(self, y: float) -> list[Element]:
        """Return the sentence and beside it the inset; in a narrow column the inset alone."""
        if self.block.inset is None:
            return []
        style, elements = self.style, []
        x = 0.0
        if self.beside_inset:
            x = self.width * BESIDE_INSET + style.gutter
            body = style.step("body")
            text, _ = paragraph(
                (Run(self.beside_inset),),
                0.0,
                y + 3.2 * style.enlarged,
                self.width * BESIDE_INSET,
                body,
                style.ink,
            )
            elements.append(Element("P", text, source=self.block.source))
        room = self.width - x
        return elements + inset_elements(self.block.inset, x, y, room, self._inset_height, style)

    def sentence_below(self) -> Sequence[Piece]:
        """Return the coach's sentence where it does not stand beside the stills."""
        if not self.below:
            return []
        body = self.style.step("body")
        return flowing(
            (Run(self.below),),
            self.width,
            body,
            self.style,
            before=GAP_TO_SENTENCE,
            measure=min(self.width, 128.0 * self.style.enlarged),
            source=self.block.source,
            name="pair",
            follows=True,
            key=f"sentence {id(self.block)}",
        )

    def inset_piece(self) -> Sequence[Piece]:
        """Return the inset where it follows the stills as a piece of its own."""
        if not self.inset_after or self.block.inset is None:
            return []
        source, height = self.block.source, INSET_HEIGHT + 2.0
        drawn: list[Element] = []
        while not drawn:
            # Long captions in large type leave the drawing too little of a fixed height.
            drawn = inset_elements(self.block.inset, 0.0, 0.0, self.width, height, self.style)
            height += 3.0
        return [
            Chunk(
                height - 3.0, tuple(drawn), GAP_TO_TABLE, name="pair", source=source, follows=True
            )
        ]

    def rows_below(self) -> Sequence[Piece]:
        """Return a long table, row by row."""
        if not self.split_rows:
            return []
        width, style, source = self.width, self.style, self.block.source
        pieces = []
        if style.breadth == "narrow":
            for row in self.split_rows:
                cell, height = findings((row,), width, style, single=self.single, columns=1)
                pieces.append(
                    Chunk(height, (cell,), 3.4, name="measure", source=source, follows=True)
                )
            return pieces
        parts = measure_table_parts(self.split_rows, width, style, single=self.single)
        for number, (elements, height) in enumerate(parts):
            table = Element("Table", children=tuple(elements), joins=f"measures {id(self.block)}")
            pieces.append(
                Chunk(
                    height,
                    (table,),
                    0.0 if number else GAP_TO_TABLE,
                    keep_with_next=not number,
                    name="measures",
                    source=source,
                    follows=True,
                )
            )
        return pieces
