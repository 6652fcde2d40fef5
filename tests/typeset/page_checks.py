"""What must hold on every page, whatever the lesson: nothing outside, nothing over something."""

from itertools import combinations

from reporter.typeset.boxes import Clipped, Disc, Page, Path, Picture, Text, all_boxes, all_elements

MILLIMETRES_PER_POINT = 25.4 / 72
SMALLEST_POINTS = 8.5
ASCENT, DESCENT = 0.70, 0.20
"""Cap height and about the depth of a comma, in sizes: what ink two lines may not share."""

Rectangle = tuple[float, float, float, float]


def text_boxes(page: Page) -> list[Text]:
    """Return every run of text of a page that is upright."""
    return [
        box
        for element in all_elements(page.elements)
        for box in all_boxes(element.boxes)
        if isinstance(box, Text) and box.text.strip()
    ]


def extent(box: Text) -> Rectangle:
    """Return left, top, right, bottom of a text's ink in millimetres."""
    size = box.size * MILLIMETRES_PER_POINT
    if round(box.angle) % 180 == 90:
        up = 1 if round(box.angle) % 360 == 90 else -1
        ends = sorted((box.y, box.y - up * box.width))
        sides = sorted((box.x - up * ASCENT * size, box.x + up * DESCENT * size))
        return (sides[0], ends[0], sides[1], ends[1])
    return (box.x, box.y - ASCENT * size, box.x + box.width, box.y + DESCENT * size)


def points_of(box: object) -> list[tuple[float, float]]:
    """Return points that bound a box."""
    if isinstance(box, Text):
        left, top, right, bottom = extent(box)
        return [(left, top), (right, bottom)]
    if isinstance(box, Path):
        return list(box.points)
    if isinstance(box, Disc):
        return [
            (box.x - box.radius, box.y - box.radius),
            (box.x + box.radius, box.y + box.radius),
        ]
    assert isinstance(box, Picture | Clipped)
    return [(box.x, box.y), (box.x + box.width, box.y + box.height)]


def outside(page: Page, margin: float = 4.0) -> list[object]:
    """Return boxes that come nearer to the paper's edge than `margin` millimetres."""
    found = []
    for element in all_elements(page.elements):
        for box in element.boxes:
            for x, y in points_of(box):
                if not (margin <= x <= page.width - margin and margin <= y <= page.height - margin):
                    found.append(box)
                    break
    return found


def overlapping_texts(page: Page, allowed: float = 0.25) -> list[tuple[str, str]]:
    """Return pairs of texts whose ink shares more than `allowed` millimetres both ways."""
    boxes = [(extent(box), box.text) for box in text_boxes(page)]
    found = []
    for (one, first), (other, second) in combinations(boxes, 2):
        across = min(one[2], other[2]) - max(one[0], other[0])
        down = min(one[3], other[3]) - max(one[1], other[1])
        if across > allowed and down > allowed:
            found.append((first, second))
    return found


def too_small(page: Page) -> list[str]:
    """Return texts under the smallest size."""
    return [box.text for box in text_boxes(page) if box.size < SMALLEST_POINTS]
