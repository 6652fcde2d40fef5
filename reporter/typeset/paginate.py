"""Fill pages with pieces from top to bottom; let flexible pieces take up what room is left."""

from collections.abc import Sequence
from dataclasses import dataclass

from reporter.errors import LimitError
from reporter.typeset.boxes import Element, moved
from reporter.typeset.chunk import Chunk, Flexible, Piece

TOLERANCE = 1e-6
TITLE_ALONE = 0.25
FULL_ENOUGH = 0.7
"""A page filled less than this is left only where nothing that follows can fill it."""


def split_into_pages(
    pieces: Sequence[Piece], room: float, first_room: float, *, as_they_are: bool = False
) -> list[list[Piece]]:
    """Return the pieces of each page, in order.

    Where the next pieces would leave a page with a hole, they are set in their other form; if
    that does not fit either, words that follow move up before them, of another block or, where
    none does, their own; `as_they_are` forbids all of it.

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
    least_room = min(room, first_room)
    waiting = _groups(pieces, least_room)
    while waiting:
        group = waiting.pop(0)
        limit = first_room if len(pages) == 1 else room
        height = _height(group.pieces, at_top=not pages[-1])
        # A page that holds a title alone is none to leave for what opens a page of its own.
        begun = used > TITLE_ALONE * limit or used + height > limit + TOLERANCE
        if group.pieces[0].opens and pages[-1] and begun:
            pages.append([])
            used, limit = 0.0, room
            height = _height(group.pieces, at_top=True)
        if pages[-1] and used + height > limit + TOLERANCE:
            if not as_they_are and _reach(pages[-1], used) < FULL_ENOUGH * limit:
                filling = _instead(group, least_room, limit - used, at_top=False)
                if not filling:
                    filling = _movers([group, *waiting], limit - used)
                    if filling:
                        waiting = [one for one in (group, *waiting) if one not in filling]
                if filling:
                    waiting = [*filling, *waiting]
                    continue
                words_first = _words_first([group, *waiting], least_room, limit - used)
                if words_first:
                    waiting = words_first
                    continue
            pages.append([])
            used, limit = 0.0, room
            height = _height(group.pieces, at_top=True)
        if height > limit + TOLERANCE:
            smaller = _instead(group, least_room, limit, at_top=True)
            if not smaller:
                raise LimitError(_too_high(group.pieces, height, limit))
            waiting = [*smaller, *waiting]
            continue
        pages[-1].extend(group.pieces)
        used += height
    return pages


@dataclass(eq=False, slots=True)
class _Group:
    """Pieces that share a page, and the group from which they go on, if any."""

    pieces: list[Piece]
    goes_on_from: "_Group | None" = None


def _too_high(group: Sequence[Piece], height: float, limit: float) -> str:
    worst = max(group, key=lambda piece: piece.least)
    where = f" ({worst.source} in the lesson file)" if worst.source else ""
    return (
        f"{worst.name or 'a block'}{where} needs {height:.0f} mm of height, "
        f"but a page has {limit:.0f} mm; shorten it or choose another layout"
    )


def _reach(page: Sequence[Piece], used: float) -> float:
    """Return how far down a page's pieces can reach."""
    return used + sum(piece.most - piece.least for piece in page if isinstance(piece, Flexible))


def _instead(group: _Group, least_room: float, room: float, *, at_top: bool) -> list[_Group]:
    """Return a group in its other form, if it has one that begins in the room."""
    pieces: list[Piece] = []
    for piece in group.pieces:
        pieces += piece.tight() if isinstance(piece, Flexible) and piece.tight else (piece,)
    if pieces == group.pieces:
        return []
    groups = _groups(pieces, least_room)
    groups[0].goes_on_from = group.goes_on_from
    fits = _height(groups[0].pieces, at_top=at_top) <= room + TOLERANCE
    return groups if fits else []


def _movers(waiting: Sequence[_Group], room: float) -> list[_Group]:
    """Return words that may stand before their turn: one whole block of them that fits the room.

    What goes on from something else never stands before it.
    """
    for number, group in enumerate(waiting[1:], start=1):
        if group.pieces[0].opens:
            # What comes after belongs to another part.
            break
        block = [group]
        for one in waiting[number + 1 :]:
            if one.goes_on_from is not block[-1]:
                break
            block.append(one)
        pieces = [piece for one in block for piece in one.pieces]
        words = all(isinstance(piece, Chunk) for piece in pieces)
        held = group.goes_on_from is not None and group.goes_on_from in waiting
        if words and not held and _height(pieces, at_top=False) <= room + TOLERANCE:
            return block
    return []


def _words_first(waiting: Sequence[_Group], least_room: float, room: float) -> list[_Group]:
    """Return what waits, the words of its first block before its pictures, if they have room."""
    group, *others = waiting
    *above, last = group.pieces
    if not isinstance(last, Flexible) or last.words_first is None:
        return []
    groups = _groups([*above, *last.words_first()], least_room)
    groups[0].goes_on_from = group.goes_on_from
    while others and others[0].goes_on_from is group:
        group = others.pop(0)
    begins = len(groups) > 1 and _height(groups[0].pieces, at_top=False) <= room + TOLERANCE
    return [*groups, *others] if begins else []


def _groups(pieces: Sequence[Piece], room: float) -> list[_Group]:
    """Return the pieces in groups that share a page, as long as a page can hold them."""
    groups: list[_Group] = []
    for piece in pieces:
        last = groups[-1] if groups else None
        if (
            last is not None
            and not piece.opens
            and last.pieces[-1].keep_with_next
            and _height([*last.pieces, piece], at_top=True) <= room
        ):
            last.pieces.append(piece)
        else:
            groups.append(_Group([piece], last if piece.follows else None))
    return groups


def _height(group: Sequence[Piece], *, at_top: bool) -> float:
    total = sum(piece.least + piece.space_before for piece in group)
    return total - (group[0].space_before if at_top and group else 0.0)


def height_of(pieces: Sequence[Piece]) -> float:
    """Return the least height of pieces below each other from the top of a page."""
    return _height(pieces, at_top=True)


def reach_of(pieces: Sequence[Piece]) -> float:
    """Return how far down a page these pieces can be made to reach."""
    return _reach(pieces, height_of(pieces))


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
