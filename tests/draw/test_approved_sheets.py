"""Every page of both demo lessons, three brands and two papers, against its approved picture."""

import pytest
from PIL import Image, ImageDraw

from tests.approve_sheets import LESSONS, PAPERS, brands, difference, draw, grey, path_of

LARGEST_DIFFERENCE = 6.0
CASES = [(name, brand, paper) for name in LESSONS for brand in brands() for paper in PAPERS]


@pytest.mark.parametrize(("name", "brand", "paper"), CASES)
def test_pages_look_as_approved(name, brand, paper):
    picture = draw(LESSONS[name], brand, paper)
    for ink, drawn in (("colour", picture), ("grey", grey(picture))):
        approved = Image.open(path_of(name, brand, paper, ink))
        assert difference(approved, drawn) < LARGEST_DIFFERENCE, (
            "the page looks different; if that is meant, run python -m tests.approve_sheets"
        )


def test_a_lost_word_is_a_difference():
    page = Image.new("RGB", (248, 351), "white")
    ImageDraw.Draw(page).text((60, 160), "word", fill="black")
    assert difference(page, Image.new("RGB", (248, 351), "white")) > LARGEST_DIFFERENCE
