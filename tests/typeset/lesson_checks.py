"""Whether pages say all that a report says, in order and uncut, and whether they are full."""

import re
from collections.abc import Iterator, Sequence

from reporter.story import report as story
from reporter.typeset.boxes import (
    Box,
    Clipped,
    Element,
    Page,
    Text,
    all_boxes,
    all_elements,
    boxes_of,
)
from tests.typeset.page_checks import extent, points_of

MOST_EMPTY = 1 / 3
SPACES = re.compile(r"[\s\u00a0\u00ad\u2010\ufffe\x02-]+")


def squeezed(text: str) -> str:
    """Return a text without spaces and hyphens: how lines were broken does not show in it."""
    return SPACES.sub("", text)


def said_by(block: story.Block) -> list[str]:
    """Return what a block must say, in the order in which it is read."""
    match block:
        case story.Paragraph():
            return ["".join(run.text for run in block.runs)]
        case story.Thoughts():
            return [text for item in block.items for text in item if text]
        case story.Pair():
            stills = [still.caption for still in (block.before, block.after) if still is not None]
            heading = [] if block.large else [block.heading]
            rows: list[str] = []
            for row in block.rows:
                if None in (block.before, block.after):
                    rows += [row.name, row.after]
                else:
                    both = [row.before, row.after] if row.before else []
                    rows += [row.name, *both, row.difference, row.verdict, row.note]
            return [*heading, *stills, *(text for text in rows if text)]
        case story.Facts():
            return [text for item in block.items for text in item]
        case story.Chain():
            return [text for link in block.links for text in (link.label, *link.lines, link.note)]
        case story.Drills():
            return [
                text
                for card in block.cards
                for text in (
                    card.name,
                    *(t for line in (*card.lines, *card.small_lines) for t in line),
                )
            ]
        case story.Visits():
            rows = [text for day, _ in block.rows for text in (day,)]
            return [block.heading, *([block.aside] if block.aside else []), *rows, block.note]
        case story.SideNotes():
            return ["".join(run.text for run in runs) for runs in block.items]
        case story.Labelled():
            return [block.label, block.text]
        case story.WritingLines():
            return [block.label]
        case story.RecordTable():
            return [text for row in block.rows for text in row]
        case story.DegreesTable():
            return [block.heading, *(text for row in block.rows for text in row)]
        case story.ShotPicture():
            charts = [
                text
                for chart in block.charts
                for text in (chart.heading, *(row.name for row in chart.rows))
            ]
            return [block.heading, *charts]
        case story.FlightPicture():
            return [block.shape_text] if block.shape_text else []
        case story.LinkCode():
            return [block.label, block.address]
        case story.Trend():
            rows = [text for r in block.rows for text in (r.day, r.counted, r.words, r.note)]
            return [block.heading, block.aside, *(text for text in rows if text)]
        case _:
            return []


def groups_of(block: story.Block) -> list[list[str]]:
    """Return what a block says in groups that may stand in any order."""
    groups = [said_by(block)]
    if isinstance(block, story.Pair) and block.sentence and not block.large:
        # The coach's sentence stands beside the stills or below all of it.
        groups.append([block.sentence])
    return groups


def reading(pages: Sequence[Page]) -> str:
    """Return all that is read aloud: what goes on over a page in one, furniture left out."""
    parts: list[list[str]] = []
    joined: dict[str, list[str]] = {}

    def visit(element: Element, into: list[str]) -> None:
        if element.role == "Artifact":
            return
        mine = into
        if element.joins:
            if element.joins not in joined:
                joined[element.joins] = []
                into.append(joined[element.joins])  # type: ignore[arg-type]
            mine = joined[element.joins]
        mine += [box.text for box in all_boxes(element.boxes) if isinstance(box, Text)]
        for child in element.children:
            visit(child, mine)

    for page in pages:
        for element in page.elements:
            part: list = []
            parts.append(part)
            visit(element, part)

    def flat(nested: object) -> Iterator[str]:
        if isinstance(nested, str):
            yield nested
        else:
            for one in nested:  # type: ignore[attr-defined]
                yield from flat(one)

    return squeezed(" ".join(flat(parts)))


def unsaid(blocks: Sequence[story.Block], text: str) -> list[str]:
    """Return what of the blocks a squeezed text does not say in their order.

    Every stretch of the text counts for one block only: what two blocks say must stand there
    twice.
    """
    used = bytearray(len(text))
    missing = []
    groups = [(type(block).__name__, group) for block in blocks for group in groups_of(block)]
    # Long texts first: a short one might be found inside them.
    for name, group in sorted(groups, key=lambda one: -max(map(len, one[1]), default=0)):
        wanted = [one for one in map(squeezed, group) if one]
        found = _places(wanted, text, used)
        if found is None:
            missing.append(f"{name}: {wanted[:3]}")
            continue
        for start, length in found:
            used[start : start + length] = b"\x01" * length
    return missing


def _places(wanted: Sequence[str], text: str, used: bytearray) -> list[tuple[int, int]] | None:
    """Return where the texts stand one after the other, each in a stretch that is still free.

    The longest is looked for first, those before it backwards, those after it forwards.
    """
    if not wanted:
        return []
    longest = max(range(len(wanted)), key=lambda i: len(wanted[i]))
    anchor = _free(wanted[longest], text, used, 0, len(text))
    while anchor >= 0:
        places = {longest: anchor}
        end = anchor
        for index in reversed(range(longest)):
            end = _free(wanted[index], text, used, 0, end, backwards=True)
            places[index] = end
            if end < 0:
                break
        start = anchor + len(wanted[longest])
        for index in range(longest + 1, len(wanted)):
            at = _free(wanted[index], text, used, start, len(text))
            places[index] = at
            if at < 0:
                break
            start = at + len(wanted[index])
        if min(places.values()) >= 0:
            return [(places[i], len(wanted[i])) for i in range(len(wanted))]
        anchor = _free(wanted[longest], text, used, anchor + 1, len(text))
    return None


def _free(
    one: str, text: str, used: bytearray, start: int, end: int, *, backwards: bool = False
) -> int:
    """Return where a text stands in a stretch that no other block has taken, or -1."""
    find = text.rfind if backwards else text.find
    at = find(one, start, end)
    while at >= 0 and any(used[at : at + len(one)]):
        if backwards:
            end = at + len(one) - 1
        else:
            start = at + 1
        at = find(one, start, end)
    return at


def cut_texts(page: Page) -> list[str]:
    """Return texts of which a clipping rectangle cuts something off."""
    found = []

    def visit(boxes: Sequence[Box], clip: Clipped | None) -> None:
        for box in boxes:
            if isinstance(box, Clipped):
                visit(box.boxes, box)
            elif isinstance(box, Text) and clip is not None:
                left, top, right, bottom = extent(box)
                inside = (
                    clip.x - 0.1 <= left
                    and right <= clip.x + clip.width + 0.1
                    and clip.y - 0.1 <= top
                    and bottom <= clip.y + clip.height + 0.1
                )
                if not inside:
                    found.append(box.text)

    for element in all_elements(page.elements):
        visit(element.boxes, None)
    return found


def emptiness(page: Page, top: float, bottom: float) -> float:
    """Return the largest stretch without any ink as a share of the room between two heights."""
    spans = []
    for element in all_elements(page.elements[1:]):
        for box in all_boxes(element.boxes):
            heights = [y for _, y in points_of(box)]
            spans.append((min(heights), max(heights)))
    at, worst = top, 0.0
    for low, high in sorted(spans):
        worst = max(worst, low - at)
        at = max(at, high)
    return max(worst, bottom - at) / (bottom - top)


def empty_pages(pages: Sequence[Page], top: float, bottom: float) -> list[int]:
    """Return the numbers of pages with a hole, those aside that are the last of their part."""
    found = []
    for number, page in enumerate(pages, start=1):
        following = pages[number] if number < len(pages) else None
        goes_on = following is not None and (following.kind, following.title, following.part) == (
            page.kind,
            page.title,
            page.part,
        )
        if goes_on and page.kind != "card" and emptiness(page, top, bottom) > MOST_EMPTY:
            found.append(number)
    return found


def words_of(page: Page, *, all_of_it: bool) -> list[str]:
    """Return each element's text of a page, squeezed, in reading order."""
    said = []
    for element in all_elements(page.elements):
        if not all_of_it and element.role in ("Artifact", "Figure"):
            continue
        text = squeezed(" ".join(b.text for b in all_boxes(element.boxes) if isinstance(b, Text)))
        if text:
            said.append(text)
    return said


def unread(page: Page, text: str, *, all_of_it: bool) -> list[str]:
    """Return the elements of a page that a reader's text of it does not hold in their order.

    ``all_of_it`` asks for furniture and the words inside drawings too.
    """
    text, at = squeezed(text), 0
    missing = []
    for words in words_of(page, all_of_it=all_of_it):
        found = text.find(words, at)
        if found < 0:
            missing.append(words)
        else:
            at = found + len(words)
    return missing


__all__ = [
    "boxes_of",
    "cut_texts",
    "emptiness",
    "empty_pages",
    "reading",
    "said_by",
    "squeezed",
    "unread",
    "unsaid",
]
