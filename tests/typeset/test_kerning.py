"""Kerning: the typeface's own numbers, the same in the page's boxes and in the drawn file."""

from functools import lru_cache

import pypdfium2
import pytest
from fontTools.ttLib import TTFont

from reporter.bundled import layouts_root
from reporter.draw import Properties, draw_pages
from reporter.typeset.boxes import Element, Page, Text
from reporter.typeset.faces import pairs_of, width_of

FILES = {"regular": "Regular", "bold": "Bold", "italic": "Italic", "bold-italic": "BoldItalic"}
PAIRS = ["To", "Av", "AV", "Te", "Yo", "P.", "r,", "we", "fa", "TA", "LT", "11", "7.", "Ko", "ße"]
SENTENCES = [
    "Keep your buttons behind the ball.",
    "Send the head at the right post.",
    "To the target: AVATAR, Tee, Yoke, P. T. W. 7.1",
    "office, flight, fjord",
    "Ταχύς γύρος",
    "Удар вправо",
]


@lru_cache(maxsize=4)
def face_file(face: str) -> TTFont:
    path = layouts_root() / "typefaces" / "FiraSans" / f"FiraSans-{FILES[face]}.ttf"
    return TTFont(str(path))


@lru_cache(maxsize=4)
def pair_lookups(face: str):
    """Return the lookups of the feature kern, read by fontTools (OpenType 1.9, GPOS)."""
    table = face_file(face)["GPOS"].table
    numbers = {
        index
        for record in table.FeatureList.FeatureRecord
        if record.FeatureTag == "kern"
        for index in record.Feature.LookupListIndex
    }
    lookups = []
    for index in sorted(numbers):
        subtables = table.LookupList.Lookup[index].SubTable
        inner = [sub.ExtSubTable if sub.LookupType == 9 else sub for sub in subtables]
        lookups.append([sub for sub in inner if sub.LookupType == 2])
    return lookups


def published_kern(one: str, other: str, face: str) -> int:
    """Return the kerning of two characters in units of the typeface.

    Every lookup is applied, of each the first subtable that speaks of the pair.
    """
    names = face_file(face).getBestCmap()
    first, second = names[ord(one)], names[ord(other)]
    return sum(_of_lookup(lookup, first, second) for lookup in pair_lookups(face))


def _of_lookup(subtables, first: str, second: str) -> int:
    for sub in subtables:
        if first not in sub.Coverage.glyphs:
            continue
        if sub.Format == 1:
            pairs = sub.PairSet[sub.Coverage.glyphs.index(first)].PairValueRecord
            record = next((r for r in pairs if r.SecondGlyph == second), None)
            if record is None:
                continue
        else:
            left = sub.ClassDef1.classDefs.get(first, 0)
            right = sub.ClassDef2.classDefs.get(second, 0)
            record = sub.Class1Record[left].Class2Record[right]
        return record.Value1.XAdvance if record.Value1 and record.Value1.XAdvance else 0
    return 0


def published_width(text: str, face: str, size: float) -> float:
    names, advances = face_file(face).getBestCmap(), face_file(face)["hmtx"]
    units = sum(advances[names[ord(character)]][0] for character in text)
    for one, other in zip(text, text[1:], strict=False):
        if " " not in one + other and "\u00a0" not in one + other:
            units += published_kern(one, other, face)
    return units / face_file(face)["head"].unitsPerEm * size * 25.4 / 72


@pytest.mark.parametrize("face", ["regular", "bold"])
def test_pairs_are_moved_as_the_typeface_says(face):
    moved = [pair for pair in PAIRS if published_kern(*pair, face)]
    assert len(moved) >= 6
    for pair in PAIRS:
        expected = published_kern(*pair, face) / 1000
        assert pairs_of(face).of(pair) == pytest.approx([expected], abs=1e-6), pair


@pytest.mark.parametrize("face", ["regular", "bold"])
@pytest.mark.parametrize("text", SENTENCES)
def test_a_run_is_as_wide_as_the_typeface_says(text, face):
    assert width_of(text, face, 30) == pytest.approx(published_width(text, face, 30), abs=0.005)


def test_beside_a_space_nothing_moves():
    assert width_of("To Ave", "bold", 10) == pytest.approx(
        width_of("To", "bold", 10) + width_of(" ", "bold", 10) + width_of("Ave", "bold", 10)
    )


@pytest.mark.parametrize("text", SENTENCES)
def test_drawn_letters_stand_where_the_box_says_and_read_as_plain_words(text):
    size, x = 36.0, 20.0
    width = width_of(text, "bold", size)
    box = Text(x, 60.0, text, "bold", size, "#1B1D1F", width)
    page = Page(400, 100, (Element("H1", (box,)),), "t", "today")
    data = draw_pages([page], Properties("t", "a", "s", "en", "c", "i"), lambda _: b"")
    read = pypdfium2.PdfDocument(data)[0].get_textpage()
    assert read.get_text_range().strip() == text
    # Where another program finds the ink of each letter: after the widths of what stands before,
    # and as far from its own origin as the typeface's outline begins.
    outlines, names = face_file("bold")["glyf"], face_file("bold").getBestCmap()
    for index, letter in enumerate(text):
        if letter == " ":
            continue
        left = read.get_charbox(index)[0] * 25.4 / 72
        inside = outlines[names[ord(letter)]].xMin / 1000 * size * 25.4 / 72
        before = width_of(text[: index + 1], "bold", size) - width_of(letter, "bold", size)
        assert left == pytest.approx(x + before + inside, abs=0.06), (index, letter)
