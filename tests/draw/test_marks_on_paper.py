"""The marks found again on the printed page by line detection that knows nothing of ours."""

import re

import cv2
import numpy as np
import pypdfium2
import pytest

DOTS_PER_INCH = 300
SCALE = DOTS_PER_INCH / 72
CORE_IS_DARKER_THAN = 75
PLUMB = 1.5
"""A stroke this near to plumb is taken for the drawn reference [degrees]."""
CASING_IS_LIGHTER_THAN = 228


def page_with(document, words):
    for number in range(len(document)):
        page = document[number]
        text = page.get_textpage().get_text_range()
        if words in text:
            return page, " ".join(text.split())
    pytest.fail(f"no page says {words}")


def pictures(page):
    """Return the grey rasters of the page's photographs with their marks, from top left on."""
    raster = np.asarray(page.render(scale=SCALE).to_pil().convert("L"))
    height = page.get_height()
    found = []
    for item in page.get_objects(filter=[pypdfium2.raw.FPDF_PAGEOBJ_IMAGE]):
        left, bottom, right, top = item.get_bounds()
        rows = slice(round((height - top) * SCALE), round((height - bottom) * SCALE))
        columns = slice(round(left * SCALE), round(right * SCALE))
        found.append((round(height - top), left, raster[rows, columns]))
    return [grey for _, _, grey in sorted(found, key=lambda one: one[:2])]


def cased_cores(grey):
    """Return the pixels of dark strokes that run between the two white edges of a casing."""
    dark = (grey < CORE_IS_DARKER_THAN).astype(np.uint8)
    white = (grey > CASING_IS_LIGHTER_THAN).astype(np.uint8)
    closed = cv2.morphologyEx(
        white, cv2.MORPH_CLOSE, cv2.getStructuringElement(cv2.MORPH_ELLIPSE, (11, 11))
    )
    return dark & closed


def longest_line(grey, directions, rows=(0.0, 1.0), gap=6):
    """Return the direction of the longest straight stroke, in degrees from level, 0 to 180."""
    cores = cased_cores(grey) * 255
    first, last = (round(share * cores.shape[0]) for share in rows)
    low, high = directions
    lines = cv2.HoughLinesP(
        cores[first:last], 1, np.pi / 720, threshold=60, minLineLength=70, maxLineGap=gap
    )
    assert lines is not None
    best, ends = 0.0, None
    for x0, y0, x1, y1 in lines.reshape(-1, 4).astype(float):
        angle = np.degrees(np.arctan2(y0 - y1, x1 - x0)) % 180
        length = np.hypot(x1 - x0, y1 - y0)
        if low <= angle <= high and abs(angle - 90) > PLUMB and length > best:
            best, ends = length, (x0, y0, x1, y1)
    assert ends is not None
    return refined(cores[first:last], ends)


def refined(cores, ends):
    """Return the direction of a straight line laid through the stroke's own pixels."""
    x0, y0, x1, y1 = ends
    across = np.array([y1 - y0, x0 - x1]) / np.hypot(x1 - x0, y1 - y0)
    along = np.array([x1 - x0, y1 - y0]) / np.hypot(x1 - x0, y1 - y0)
    rows, columns = np.nonzero(cores)
    offset = np.c_[columns - x0, rows - y0]
    reach = offset @ along
    inside = (np.abs(offset @ across) < 5) & (reach > 0) & (reach < np.hypot(x1 - x0, y1 - y0))
    dx, dy, _, _ = cv2.fitLine(
        np.c_[columns, rows][inside].astype(np.float32), cv2.DIST_HUBER, 0, 0.01, 0.01
    ).ravel()
    return np.degrees(np.arctan2(-dy, dx)) % 180


def test_the_shaft_line_has_the_printed_angle(demo_pdf):
    page, text = page_with(pypdfium2.PdfDocument(demo_pdf()), "Shaft from level")
    before, after = re.search(r"Shaft from level (\d+)° (\d+)°", text).groups()
    grey = pictures(page)
    assert len(grey) == 4
    # Half a degree of rounding; the printed number is freed of the camera's roll of 0.4 degrees.
    for raster, printed, gap in ((grey[2], before, 24), (grey[3], after, 6)):
        found = 180 - longest_line(raster, (100, 160), rows=(0.45, 1.0), gap=gap)
        assert found == pytest.approx(int(printed), abs=1.0)


def test_the_chest_lines_differ_by_the_printed_change(demo_pdf):
    page, text = page_with(pypdfium2.PdfDocument(demo_pdf()), "Keep your buttons")
    change = int(re.search(r"Chest tilt from plumb −\d+° \S+ −\d+° −(\d+)°", text).group(1))
    before, after = pictures(page)
    upper = (0.15, 0.55)
    first = longest_line(before, (75, 110), rows=upper, gap=24)
    second = longest_line(after, (75, 120), rows=upper)
    # Both lines share the camera's roll and heading: the rounding and the raster remain.
    assert abs(second - first) == pytest.approx(change, abs=1.2)
