"""Fill pages with pieces from top to bottom; let flexible pieces take up what room is left."""

from collections.abc import Sequence

from reporter.errors import LimitError
from reporter.typeset.boxes import Element, moved
from reporter.typeset.chunk import Flexible, Piece

TOLERANCE = 1e-6


def split_into_pages(pieces: Sequence[Piece], room: float, first_room: float) -> list[list[Piece]]:
    """Return the pieces of each page, in order.

    Parameters
    ----------
    pieces : sequence of Chunk or Flexible
        One sheet's content.
    room, first_room : float
        Height for pieces on a page, and on the first one, in millimetres.

    Raises
    ------
    LimitError
        If one piece is higher than a page, naming it, its field and both heights.
    """
    pages: list[list[Piece]] = [[]]
    used = 0.0
    for group in _kept_together(pieces, min(room, first_room)):
        limit = first_room if len(pages) == 1 else room
        height = _height(group, at_top=not pages[-1])
        if pages[-1] and used + height > limit + TOLERANCE:
            pages.append([])
            used, limit = 0.0, room
            height = _height(group, at_top=True)
        if height > limit + TOLERANCE:
            worst = max(group, key=lambda piece: piece.least)
            where = f" ({worst.source} in the lesson file)" if worst.source else ""
            message = (
                f"{worst.name or 'a block'}{where} needs {height:.0f} mm of height, "
                f"but a page has {limit:.0f} mm; shorten it or choose another layout"
            )
            raise LimitError(message)
        pages[-1].extend(group)
        used += height
    return pages


def _kept_together(pieces: Sequence[Piece], room: float) -> list[list[Piece]]:
    """Return the pieces in groups that share a page, as long as a page can hold them."""
    groups: list[list[Piece]] = []
    open_group = False
    for piece in pieces:
        if open_group and _height([*groups[-1], piece], at_top=True) <= room:
            groups[-1].append(piece)
        else:
            groups.append([piece])
        open_group = piece.keep_with_next
    return groups


def _height(group: Sequence[Piece], *, at_top: bool) -> float:
    total = sum(piece.least + piece.space_before for piece in group)
    return total - (group[0].space_before if at_top and group else 0.0)


def place(pieces: Sequence[Piece], x: float, y: float, room: float) -> tuple[Element, ...]:
    """Set the pieces of one page from (x, y) down; flexible ones share the room left over."""
    spare = room - _height(pieces, at_top=True)
    flexible = [piece for piece in pieces if isinstance(piece, Flexible)]
    grants = _share(spare, [piece.most - piece.least for piece in flexible])
    given = {id(piece): grant for piece, grant in zip(flexible, grants, strict=True)}
    elements: list[Element] = []
    for index, piece in enumerate(pieces):
        if index:
            y += piece.space_before
        chunk = piece.taking(given.get(id(piece), 0.0))
        elements += [moved(element, x, y) for element in chunk.elements]
        y += chunk.height
    return tuple(elements)


def _share(spare: float, limits: Sequence[float]) -> list[float]:
    """Return `spare` shared equally, none above its limit."""
    grants = [0.0] * len(limits)
    open_ones = [i for i, limit in enumerate(limits) if limit > 0]
    while spare > TOLERANCE and open_ones:
        each = spare / len(open_ones)
        for i in list(open_ones):
            grant = min(each, limits[i] - grants[i])
            grants[i] += grant
            spare -= grant
            if grants[i] >= limits[i] - TOLERANCE:
                open_ones.remove(i)
    return grants
