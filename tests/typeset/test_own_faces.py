"""An academy's own typefaces: used throughout, embedded, and refused where they must be."""

import page as validator
import pikepdf
import pytest

from reporter.errors import InputRefusedError
from reporter.handout.build import build_handout
from reporter.handout.find_brand import find_brand
from reporter.handout.proof import prove_handout
from reporter.session.load import load_session
from reporter.typeset.faces import BUNDLED, Family, typefaces_in_use, width_of
from reporter.typeset.own_faces import KEYS, NEEDED
from tests.conftest import DEMO, TODAY
from tests.typeset.own_typefaces import FILES, brand_folder, renamed, without

FIELDS = list(FILES)


def build(folder, target, lesson=DEMO):
    build_handout(
        lesson, output=target, brand=str(folder), layout="handout", paper="a4", today=TODAY,
        force=True,
    )  # fmt: skip
    return target


@pytest.fixture(scope="module")
def own_pdf(tmp_path_factory):
    root = tmp_path_factory.mktemp("own")
    return build(brand_folder(root), root / "own.pdf")


def test_all_text_is_set_and_embedded_in_the_brands_own_typefaces(own_pdf):
    with pikepdf.open(own_pdf) as document:
        names = {
            str(font.BaseFont).split("+")[-1]
            for page in document.pages
            for font in page.Resources.Font.values()
        }
        embedded = [
            "/FontFile2" in font.FontDescriptor
            for page in document.pages
            for font in page.Resources.Font.values()
        ]
    assert names
    assert all(name.startswith("Thornwick-") for name in names)
    assert all(embedded)


@pytest.mark.parametrize("profile", ["PDF_UA_1", "PDF_A_3A"])
def test_the_validator_finds_nothing_with_own_typefaces(own_pdf, profile):
    wanted = getattr(validator.ValidationProfile, profile)
    assert list(validator.validate_pdf(str(own_pdf), profile=wanted).failures) == []


def test_the_program_goes_back_to_its_own_typefaces(own_pdf, tmp_path):
    width = width_of("Keep your buttons behind the ball", "regular", 11)
    family = find_brand(str(brand_folder(tmp_path)), load_session(DEMO)).family
    with typefaces_in_use(family):
        assert width_of("Keep your buttons behind the ball", "regular", 11) != width
    assert width_of("Keep your buttons behind the ball", "regular", 11) == width
    assert family != BUNDLED
    assert family == Family(family.name, lambda face: b"")


def test_proof_paints_with_the_brands_own_typefaces(tmp_path):
    wanted = {"layout": "card", "paper": "a4", "ink": "colour", "today": TODAY}
    own = prove_handout(DEMO, brand=str(brand_folder(tmp_path)), **wanted)
    plain = prove_handout(DEMO, brand="quillmere", **wanted)
    assert own[0].black != plain[0].black


def refusal(tmp_path, spoiled) -> str:
    folder = brand_folder(tmp_path, spoiled)
    with pytest.raises(InputRefusedError) as refused:
        find_brand(str(folder), load_session(DEMO))
    return str(refused.value)


def line_of(key: str) -> int:
    return 6 + [*FILES, "licence"].index(key)


@pytest.mark.parametrize(
    ("bits", "refused"),
    [
        # OpenType 1.9, OS/2, fsType: 2 restricted licence, 4 preview and print, 8 editable, 0
        # installable, 0x100 no subsetting, 0x200 bitmap embedding only.
        (0x0002, True),
        (0x0100, True),
        (0x0200, True),
        (0x0104, True),
        (0x0000, False),
        (0x0004, False),
        (0x0008, False),
    ],
)
def test_a_typeface_that_forbids_embedding_is_refused_at_its_line(tmp_path, bits, refused):
    def forbid(face):
        face["OS/2"].fsType = bits

    spoiled = {"bold": renamed("bold", forbid)}
    if not refused:
        assert find_brand(str(brand_folder(tmp_path, spoiled)), load_session(DEMO))
        return
    told = refusal(tmp_path, spoiled)
    assert f"brand.yaml:{line_of('bold')}:" in told
    assert "its maker forbids embedding" in told


def test_a_typeface_without_needed_letters_is_refused_at_its_line(tmp_path):
    told = refusal(tmp_path, {"italic": renamed("italic", without("é±−"))})
    assert f"brand.yaml:{line_of('italic')}:" in told
    assert "lacks letters that a handout needs" in told
    assert "é (latin small letter e with acute)" in told
    assert "plus-minus sign" in told


def test_a_greek_letter_is_asked_for_only_where_it_is_written(tmp_path):
    spoiled = {key: renamed(key, without("λ")) for key in FILES}
    folder = brand_folder(tmp_path, spoiled)
    build(folder, tmp_path / "fine.pdf")
    lesson = tmp_path / "lesson" / "session.yaml"
    lesson.parent.mkdir()
    lesson.write_text("thoughts:\n  - say: Turn by λ\n", encoding="utf-8")
    build("quillmere", tmp_path / "also-fine.pdf", lesson)
    with pytest.raises(InputRefusedError) as refused:
        build(folder, tmp_path / "not.pdf", lesson)
    told = str(refused.value)
    assert 'brand "Thornwick" has no greek small letter lamda (λ)' in told
    assert "Turn by λ" in told
    assert told.startswith("session.yaml:2:10: thoughts.0.say: ")


def test_a_missing_letter_is_named_wherever_it_was_written(tmp_path):
    """Places counted by hand in the text below; what the heading shows is found in its field."""
    folder = brand_folder(tmp_path, {key: renamed(key, without("λξ")) for key in FILES})
    lesson = tmp_path / "lesson" / "session.yaml"
    lesson.parent.mkdir()
    lesson.write_text(
        "thoughts:\n"
        "  - say: Turn by λ\n"
        "  - say: Turn back by λ\n"
        "    because: so that ξ and λ agree\n"
        "lesson:\n"
        "  academy: Thornwick ξ\n",
        encoding="utf-8",
    )
    with pytest.raises(InputRefusedError) as refused:
        build(folder, tmp_path / "not.pdf", lesson)
    found = {
        (problem.line, problem.column, problem.field, letter)
        for problem in refused.value.problems
        for letter in "λξ"
        if f"({letter})" in problem.message
    }
    assert found == {
        (2, 10, "thoughts.0.say", "λ"),
        (3, 10, "thoughts.1.say", "λ"),
        (4, 14, "thoughts.1.because", "λ"),
        (4, 14, "thoughts.1.because", "ξ"),
        (6, 12, "lesson.academy", "ξ"),
    }
    assert all(problem.file == "session.yaml" for problem in refused.value.problems)


def test_two_typefaces_of_one_name_are_refused_at_their_line(tmp_path):
    told = refusal(tmp_path, {"bold": renamed("regular")})
    assert f"brand.yaml:{line_of('bold')}:" in told
    assert "same PostScript name" in told


def variable(face):
    from fontTools.ttLib import newTable

    face["fvar"] = newTable("fvar")
    face["fvar"].axes, face["fvar"].instances = [], []


@pytest.mark.parametrize(
    ("data", "words"),
    [
        (lambda: b"OTTO" + b"\x00" * 60, "PostScript outlines"),
        (lambda: b"wOF2" + b"\x00" * 60, "no TrueType typeface"),
        (lambda: b"", "no TrueType typeface"),
        (lambda: renamed("regular")[:9_000], "cannot be"),
        (lambda: b"\x00\x01\x00\x00" + b"\xff" * 400, "cannot be"),
        (lambda: renamed("regular", variable), "variable typeface"),
        (lambda: b"\x00" * (4 * 1024 * 1024 + 1), "at most"),
    ],
)
def test_what_is_no_sound_typeface_is_refused_at_its_line(tmp_path, data, words):
    told = refusal(tmp_path, {"regular": data()})
    assert f"brand.yaml:{line_of('regular')}:" in told
    assert words in told


def test_typefaces_without_their_licence_are_refused_at_their_line(tmp_path):
    told = refusal(tmp_path, {"licence": b" \n"})
    assert f"brand.yaml:{line_of('licence')}:" in told
    (tmp_path / "thornwick" / "faces" / "LICENCE.txt").unlink()
    with pytest.raises(InputRefusedError) as refused:
        find_brand(str(tmp_path / "thornwick"), load_session(DEMO))
    assert f"brand.yaml:{line_of('licence')}:" in str(refused.value)
    brand = tmp_path / "thornwick" / "brand.yaml"
    text = brand.read_text("utf-8").replace("  licence: faces/LICENCE.txt\n", "")
    brand.write_text(text, "utf-8")
    with pytest.raises(InputRefusedError) as refused:
        find_brand(str(tmp_path / "thornwick"), load_session(DEMO))
    assert "licence" in str(refused.value)


def test_every_sign_that_pages_print_is_asked_for(demo_pages):
    from tests.conftest import JUNIOR
    from tests.typeset.page_checks import text_boxes

    printed = {
        letter
        for lesson in (DEMO, JUNIOR)
        for page in demo_pages(lesson)
        for box in text_boxes(page)
        for letter in box.text
    }
    assert sorted(printed - NEEDED) == []
    assert set(KEYS.values()) == set(FIELDS)
