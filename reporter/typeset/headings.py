"""The first heading of a file is of the first level, whichever sheet a layout begins with."""

from collections.abc import Sequence
from dataclasses import replace

from reporter.typeset.boxes import Element, Page, all_elements


def with_first_level_first(pages: Sequence[Page]) -> tuple[Page, ...]:
    """Return the pages, their first heading raised to the first level if it is of the second.

    References
    ----------
    ISO 14289-1:2014, 7.4.2: no level of heading is skipped.
    """
    for number, page in enumerate(pages):
        first = next((one for one in all_elements(page.elements) if one.role in ("H1", "H2")), None)
        if first is None:
            continue
        if first.role == "H1":
            break
        elements = tuple(_raised(element, first) for element in page.elements)
        return (*pages[:number], replace(page, elements=elements), *pages[number + 1 :])
    return tuple(pages)


def _raised(element: Element, heading: Element) -> Element:
    if element is heading:
        return replace(element, role="H1")
    if not element.children:
        return element
    return replace(element, children=tuple(_raised(one, heading) for one in element.children))
