"""Pieces of a block that never break across pages, set with their top left corner at (0, 0)."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from reporter.typeset.boxes import Element


@dataclass(frozen=True, slots=True)
class Chunk:
    """Elements of a known height in millimetres.

    Attributes
    ----------
    height : float
        Of the elements, without the space before.
    elements : tuple of Element
        Placed from (0, 0) down and to the right.
    space_before : float
        White above, dropped at the top of a page.
    keep_with_next : bool
        True for a heading: it never stands last on a page.
    begins : bool
        True for what may open a page of its own where the layout asks for that, such as a drill.
    opens : bool
        True for what does.
    follows : bool
        True for what goes on from the piece before: it never stands before that one.
    name, source : str
        What to call it, and its field in the lesson file, if it does not fit any page.
    """

    height: float
    elements: tuple[Element, ...]
    space_before: float = 0.0
    keep_with_next: bool = False
    name: str = ""
    source: str = ""
    follows: bool = False
    begins: bool = False
    opens: bool = False

    @property
    def least(self) -> float:
        """The height it needs."""
        return self.height

    def taking(self, extra: float) -> "Chunk":
        """Return itself: it has no use for more room."""
        return self


@dataclass(frozen=True, slots=True)
class Flexible:
    """A chunk that can be set at any height of a range, so that pages fill.

    ``make`` sets it for the room it is given, which lies between `least` and `most`. ``tight``
    sets the same in other pieces, for where it would otherwise leave a hole in the page before.
    ``words_first``, for where not even that has room, sets it and all that goes on from it with
    the words in front.
    """

    least: float
    most: float
    make: Callable[[float], Chunk]
    space_before: float = 0.0
    name: str = ""
    source: str = ""
    keep_with_next: bool = False
    tight: "Callable[[], Sequence[Piece]] | None" = None
    words_first: "Callable[[], Sequence[Piece]] | None" = None
    follows: bool = False
    begins: bool = False
    opens: bool = False

    def taking(self, extra: float) -> Chunk:
        """Return it set with more room than it needs."""
        return self.make(self.least + extra)


Piece = Chunk | Flexible
