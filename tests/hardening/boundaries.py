"""Every place where bytes from outside come in: what reads them, where a search for faults starts.

A new parser at the boundary is one more line of `BOUNDARIES`; the fuzz tests, the
coverage-guided targets and the release run take it from there.
"""

import io
import json
from collections.abc import Callable
from dataclasses import dataclass
from functools import cache
from pathlib import Path

from PIL import Image

from reporter.errors import ReporterError
from tests.hardening import far_boundaries as far
from tests.session.conftest import LESSON

ROOT = Path(__file__).resolve().parents[2]
DEMO = ROOT / "demo_session"
LARGEST_WIDTH = 64
"""Of a fuzzed picture, in pixels: a decoder's paths do not depend on it, its time does."""


@dataclass(frozen=True)
class Boundary:
    """A reader of foreign bytes.

    `read` gets the bytes and a folder of its own, made once by `prepare`. It may return anything
    or raise one of `refusals`; everything else is a find.
    """

    name: str
    read: Callable[[bytes, Path], object]
    seeds: Callable[[], tuple[bytes, ...]]
    words: tuple[bytes, ...] = ()
    prepare: Callable[[Path], None] = lambda folder: None
    refusals: tuple[type[BaseException], ...] = (ReporterError,)
    is_text: bool = True
    share: float = 1.0
    """Of the usual number of tries: less where one try is slow."""
    seconds: float = 5.0
    """The time one try may take."""


YAML_WORDS = tuple(
    b"&a|*a|<<: |!!python/object:x |- |: |{|}|[|]|'|\"|#|\n|\n  |\t|\0|\xff|\xef\xbb\xbf|---|...|%|"
    b"|>|~|null|1e999|.nan|-0|0x1f|007|\xe2\x80\xae|\xed\xa0\x80|\\ud800|9999999999999999999999|../"
    .split(b"|")
)  # fmt: skip


PDF_WORDS = (
    b" 0 obj", b"endobj", b"stream", b"endstream", b"<<", b">>", b"[", b"]", b" R", b"/Kids",
    b"/Names", b"/EF", b"/Filter", b"/FlateDecode", b"/ASCIIHexDecode", b"/LZWDecode",
    b"/RunLengthDecode", b"/Prev 0", b"/Encrypt", b"xref", b"trailer", b"startxref", b"%%EOF",
    b"9999999999", b"-1", b"null", b"session.yaml", b"build.json", b"(", b")", b"\\", b"1 0 R",
)  # fmt: skip


def lesson_folder(folder: Path) -> None:
    """Lay two small pictures where the lesson names them."""
    (folder / "frames").mkdir(parents=True, exist_ok=True)
    for name in ("before", "after"):
        Image.new("RGB", (120, 160), "green").save(folder / "frames" / f"{name}.png")
    for picture in (DEMO / "frames").iterdir():
        (folder / "frames" / picture.name).write_bytes(picture.read_bytes())
    (folder / "shots.csv").write_bytes((DEMO / "shots.csv").read_bytes())


def read_lesson(data: bytes, folder: Path) -> object:
    """Load a lesson and check what it names; then write it out as an editor does."""
    from reporter.handout.refusals import check_references
    from reporter.session.load import load_text
    from reporter.session.text_edit import as_bytes
    from tests.conftest import TODAY

    loaded = load_text(data, folder / "session.yaml")
    check_references(loaded, TODAY)
    assert as_bytes(loaded.source) == data
    return loaded


def read_to_pages(data: bytes, folder: Path) -> object:
    """Load a lesson and set its pages: whatever loads must be refused, or be printed."""
    from reporter.draw import draw_pages
    from reporter.handout.build import lay_out, lesson_mark, properties_of
    from reporter.handout.find_drills import find_drills
    from reporter.handout.lesson_advice import advice_on
    from reporter.handout.print_pictures import print_pictures
    from tests.conftest import TODAY

    loaded = read_lesson(data, folder)
    with print_pictures(loaded) as pictures:
        laid = lay_out(
            loaded, pictures, brand="plain", layout="handout", paper="a4", ink="colour",
            today=TODAY,
        )  # fmt: skip
        properties = properties_of(laid.report, lesson_mark(loaded), TODAY)
        document = draw_pages(laid.pages, properties, pictures.jpeg, ())
    advice_on(loaded, laid.read, find_drills(folder), TODAY)
    assert document.startswith(b"%PDF-")
    return document


def lessons() -> tuple[bytes, ...]:
    """Return lessons that are read, the demo's among them."""
    released = ROOT / "tests" / "session" / "releases"
    whole = LESSON.replace("head-height", "head-shift")
    return (
        whole.encode(),
        (DEMO / "session.yaml").read_bytes(),
        b"thoughts: [x]\n",
        b"lesson: {id: 1, brand: plain}\nthoughts:\n- say: x\n  because: y\n"
        b"seen: {shots: shots.csv}\n",
        *(path.read_bytes() for path in sorted(released.glob("*.yaml"))),
    )


def read_house(data: bytes, folder: Path) -> object:
    """Load a lesson that has nothing of its own, under an academy's file."""
    from reporter.session.load import load_session

    (folder / "academy.yaml").write_bytes(data)
    (folder / "session.yaml").write_bytes(b"thoughts: [x]\n")
    return load_session(folder)


def houses() -> tuple[bytes, ...]:
    return (
        b"format: 1\nlesson: {coach: Ida, academy: North, place: Field, kind: full-swing}\n"
        b"student: {language: en, units: yards}\nplan: {visits_per_week: 3, minutes: 40}\n"
        b"silence:\n  - {id: many-drills, reason: asked for}\n",
        b"plan:\n  minutes: 20\n",
    )


def read_brand(data: bytes, folder: Path) -> object:
    from reporter.typeset.brand import read_brand as read

    return read(data, "brand.yaml")


def brands() -> tuple[bytes, ...]:
    found = sorted((ROOT / "layouts" / "brands").glob("*/brand.yaml"))
    return tuple(path.read_bytes() for path in found)


def read_drawn_logo(data: bytes, folder: Path) -> object:
    from reporter.typeset.svg_logo import read_logo

    return read_logo(data, "logo.svg")


def logos() -> tuple[bytes, ...]:
    start = b'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 100 50">'
    return (
        start + b'<path d="M 10 10 L 90 10 A 5 5 0 0 1 60 40 Z" fill="#1F4A5C"/></svg>',
        start + b'<g transform="translate(5 5) scale(.5)"><rect x="1" y="1" width="40" height="20"'
        b' style="fill:#000000"/><circle cx="20" cy="20" r="9"/></g></svg>',
        start + b'<path d="m1 1c2 3 4 5 6 7s1-2 3-4q1 2 3 4t5 6h3v4z"/></svg>',
    )


def read_typefaces(data: bytes, folder: Path) -> object:
    """Judge four typefaces of which one is foreign."""
    from reporter.typeset.own_faces import checked_faces

    place = ROOT / "layouts" / "typefaces" / "FiraSans"
    files = {
        key: (place / f"FiraSans-{name}.ttf").read_bytes()
        for key, name in (("bold", "Bold"), ("italic", "Italic"), ("bold_italic", "BoldItalic"))
    }
    return checked_faces({**files, "regular": data, "licence": b"Free to embed."})


@cache
def typefaces() -> tuple[bytes, ...]:
    place = ROOT / "layouts" / "typefaces" / "FiraSans"
    return ((place / "FiraSans-Regular.ttf").read_bytes(),)


def face_refusals() -> tuple[type[BaseException], ...]:
    from reporter.typeset.own_faces import FaceRefusedError

    return (ReporterError, FaceRefusedError)


def read_layout(data: bytes, folder: Path) -> object:
    from reporter.typeset.read_layout import read_page_layout

    return read_page_layout(data, "own.yaml")


def layouts() -> tuple[bytes, ...]:
    found = sorted((ROOT / "layouts" / "pages").glob("*.yaml"))
    return tuple(path.read_bytes() for path in found)


def read_drills(data: bytes, folder: Path) -> object:
    from reporter.handout.find_drills import drills_from

    path = folder / "drills.yaml"
    path.write_bytes(data)
    return drills_from(path)


@cache
def drills() -> tuple[bytes, ...]:
    """Return single drills of the bundled list under other names: a whole list is slow to read."""
    listed = (ROOT / "reporter" / "story" / "data" / "drills.yaml").read_text("utf-8")
    parts = listed.split("\ndrills:\n")[1].replace("- id: ", "- id: own-").split("  - id: ")[1:]
    return tuple(f"drills:\n  - id: {part}".encode() for part in parts[:4])


def read_shots(data: bytes, folder: Path) -> object:
    from reporter.session.shots import read_shots as read

    return read(data, "shots.csv")


def tables() -> tuple[bytes, ...]:
    return (
        (DEMO / "shots.csv").read_bytes()[:1_500],
        b"club,carry_m,offline (yd),ball_speed_mph,spin_rpm\n7-iron,140.5,-3,110,\n,,,,\n",
        b'\xef\xbb\xbfcarry_yd,start_deg\r\n150,2\r\n"160",-1.5\r\n',
    )


def read_frame(name: str) -> Callable[[bytes, Path], object]:
    """Return a reader of pictures that come under one name: header, whole, small and cleaned."""

    def read(data: bytes, folder: Path) -> object:
        from reporter.session.frames import clean_jpeg, open_frame, picture_header

        (folder / name).write_bytes(data)
        size, _ = picture_header(folder, name)
        picture = open_frame(folder, name)
        assert picture.size == size
        assert picture.image.mode == "RGB"
        assert not picture.image.info
        small = open_frame(folder, name, at_least_px=16, blur=[(1, 1, 9, 9)])
        assert small.size == size
        return clean_jpeg(small, 16, 16)

    return read


def _encoded(image: Image.Image, kind: str, **options: object) -> bytes:
    held = io.BytesIO()
    image.save(held, kind, **options)
    return held.getvalue()


def _noise() -> Image.Image:
    return Image.effect_noise((LARGEST_WIDTH, LARGEST_WIDTH), 60).convert("RGB")


@cache
def jpegs() -> tuple[bytes, ...]:
    from PIL import ImageCms

    exif = Image.Exif()
    exif[0x0112], exif[0x010F] = 6, "maker"
    exif.get_ifd(0x8825)[1] = "N"
    profile = ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes()
    noise = _noise()
    return (
        _encoded(noise, "JPEG", quality=60),
        _encoded(noise, "JPEG", quality=60, progressive=True, exif=exif, comment=b"x"),
        _encoded(noise.convert("L"), "JPEG", exif=exif),
        _encoded(noise.convert("CMYK"), "JPEG", icc_profile=profile),
    )


@cache
def pngs() -> tuple[bytes, ...]:
    from PIL import PngImagePlugin

    noted = PngImagePlugin.PngInfo()
    noted.add_text("Comment", "x")
    noted.add_itxt("XML:com.adobe.xmp", "<x/>", zip=True)
    noise = _noise()
    exif = Image.Exif()
    exif[0x0112] = 8
    return (
        _encoded(noise, "PNG", pnginfo=noted, exif=exif),
        _encoded(noise.convert("RGBA"), "PNG"),
        _encoded(noise.convert("P"), "PNG", transparency=3),
        _encoded(noise.convert("1"), "PNG"),
        _encoded(noise.convert("I;16"), "PNG") if "I;16" in Image.MODES else b"",
        _encoded(noise.convert("L"), "PNG", icc_profile=b"damaged"),
    )


@cache
def heics() -> tuple[bytes, ...]:
    return ((ROOT / "tests" / "session" / "pictures" / "turned.heic").read_bytes(),)


def read_reference(data: bytes, folder: Path) -> object:
    """Open what a text names: only the one picture inside may ever come back."""
    from reporter.safe_open import read_inside

    found = read_inside(folder / "lesson", data.decode("utf-8", "surrogateescape"), 1_000)
    assert found == b"picture"
    return found


def reference_folder(folder: Path) -> None:
    import os

    inside = folder / "lesson" / "frames"
    inside.mkdir(parents=True, exist_ok=True)
    (folder / "outside").write_bytes(b"secret")
    (inside / "top.jpg").write_bytes(b"picture")
    for name, target in (("link", folder / "outside"), ("around", folder)):
        if not os.path.lexists(inside / name):
            (inside / name).symlink_to(target)
    if hasattr(os, "mkfifo") and not os.path.lexists(inside / "pipe"):
        os.mkfifo(inside / "pipe")


def references() -> tuple[bytes, ...]:
    return (b"frames/top.jpg", b"./frames//top.jpg", b"frames/link", b"../outside",
            b"frames/around/outside", b"frames/pipe", b"/etc/passwd", b"https://x.example/a",
            b"\\\\x\\y", b"~root/x", b"c:/x", b"file:///x", "fr\u00e4me.jpg".encode())  # fmt: skip


def read_calendar(data: bytes, folder: Path) -> object:
    """Look at the calendar file that stands there, and write its next edition."""
    from reporter.handout.find_drills import find_drills
    from reporter.handout.practice_calendar import is_calendar_of, lesson_calendar
    from reporter.session.load import load_text
    from tests.conftest import TODAY

    path = folder / "handout.ics"
    path.write_bytes(data)
    is_calendar_of(path, "key")
    session = load_text(b"thoughts: [x]\n", folder / "session.yaml").session
    text = lesson_calendar(session, find_drills(folder), "key", today=TODAY, existing=data)
    assert text.startswith(b"BEGIN:VCALENDAR\r\n")
    return text


@cache
def calendars() -> tuple[bytes, ...]:
    from reporter.handout.practice_calendar import lesson_calendar
    from reporter.session.load import load_text
    from tests.conftest import TODAY

    session = load_text(b"thoughts: [x]\n", ROOT / "session.yaml").session
    return (lesson_calendar(session, (), "key", today=TODAY),)


def read_batch_list(data: bytes, folder: Path) -> object:
    """Resume a batch from the list that stands in its output folder."""
    from reporter.batch.find import Found
    from reporter.batch.manifest import MANIFEST, open_manifest
    from reporter.batch.run import _unchanged
    from reporter.batch.work import Style
    from tests.conftest import TODAY

    (folder / MANIFEST).write_bytes(data)
    lesson = Found("one", folder / "session.yaml", folder / "one.pdf")
    with open_manifest(folder, Style(None, "handout", "a4", TODAY), "0") as manifest:
        left, kept = _unchanged([lesson], manifest, again=False)
    assert len(left) + len(kept) == 1
    return kept


@cache
def batch_lists() -> tuple[bytes, ...]:
    from reporter.batch.manifest import FORMAT, _style_key
    from reporter.batch.work import Style
    from tests.conftest import TODAY

    line = {
        "name": "one", "result": "delivered", "code": 0, "reasons": [], "target": "/one.pdf",
        "sha256": "0" * 64, "pages": 2, "inputs": {"/session.yaml": "1" * 64}, "house": [],
        "style": _style_key(Style(None, "handout", "a4", TODAY), "0"),
    }  # fmt: skip
    first = json.dumps({"format": FORMAT})
    failed = json.dumps(line | {"result": "failed", "name": "two"})
    return (f"{first}\n{json.dumps(line)}\n{failed}\n".encode(), f"{first}\n{{".encode())


def read_typed_flight(data: bytes, folder: Path) -> object:
    """Read what stands behind the options of the flight command, one to a line."""
    from reporter.flight_command.options import EVERY_OPTION, read_flight_options

    given = {}
    for line in data.decode("utf-8", "replace").split("\n"):
        name, equals, text = line.partition("=")
        if equals and name in EVERY_OPTION:
            given[name] = text
    return read_flight_options(given)


def typed_flights() -> tuple[bytes, ...]:
    return (
        b"club=7-iron\nhead-speed=80 mph\nface=2 deg right\npath=1 deg left\nwind=3 m/s head",
        b"ball-speed=60 m/s\nlaunch-angle=12 deg\nspin=2800 rpm",
        b"shots=shots.csv",
        b"seen=starts 2 deg left, bends 12 m right\nclub=driver\nhead-speed=90 mph",
    )


BOUNDARIES = (
    Boundary("lesson", read_lesson, lessons, YAML_WORDS, lesson_folder),
    Boundary("house", read_house, houses, YAML_WORDS, lesson_folder, share=0.4),
    Boundary("brand", read_brand, brands, YAML_WORDS),
    Boundary("layout", read_layout, layouts, YAML_WORDS, share=0.4),
    Boundary("logo", read_drawn_logo, logos,
             (b"<!ENTITY", b"<!DOCTYPE x [", b"&x;", b"<use ", b"href=",
             b"1e999", b"style=", b"url(#x)", b"<g>", b"</g>", b"e", b"-", b"."), share=0.4),
    Boundary("typeface", read_typefaces, typefaces, (b"glyf", b"loca", b"cmap", b"head", b"OS/2"),
             refusals=face_refusals(), is_text=False, share=0.02, seconds=15.0),
    Boundary("drills", read_drills, drills, YAML_WORDS, share=0.4),
    Boundary("shots", read_shots, tables, (b",", b'"', b"\n", b"\r", b"\0", b"nan", b"1_0", b"-")),
    Boundary("jpeg", read_frame("a.jpg"), jpegs,
             (b"\xff\xd8", b"\xff\xe1", b"\xff\xda", b"\xff\xc2"), is_text=False),
    Boundary("png", read_frame("a.png"), pngs,
             (b"IHDR", b"IDAT", b"eXIf", b"iCCP", b"tRNS", b"acTL"), is_text=False),
    Boundary("heic", read_frame("a.heic"), heics, (b"ftyp", b"meta", b"iloc", b"iprp", b"irot"),
             is_text=False),
    Boundary("path", read_reference, references, (b"..", b"/", b"~", b"\\", b":", b"\0", b"frames",
             b"link", b"around", b"pipe", b"top.jpg", b"\xff"), reference_folder),
    Boundary("calendar", read_calendar, calendars, (b"SEQUENCE:", b"UID:", b"\r\n", b"DTSTAMP:"),
             share=0.4),
    Boundary("batch-list", read_batch_list, batch_lists,
             (b"null", b"[]", b"{", b'"', b"\n", b"1e999", b'"name"', b'"inputs"', b"/dev/zero",
              b"\0", b"["), lesson_folder),
    Boundary("typed-flight", read_typed_flight, typed_flights,
             (b"=", b"deg", b"mph", b"-", b"1e9")),
    Boundary("imported-pdf", far.read_imported, far.handouts, PDF_WORDS, share=0.4),
    Boundary("record-pdf", far.read_own_record, far.records, PDF_WORDS, share=0.2),
    Boundary("video", far.read_clip, far.clips,
             (b"moov", b"mdat", b"trak", b"stts", b"stsz", b"stco", b"elst", b"moof",
              b"\x1aE\xdf\xa3", b"RIFF", b"idx1", b"\0\0\0\1", b"\x47"),
             is_text=False, share=0.1, seconds=8.0),
    Boundary("request", far.ask, far.requests,
             (b"\r\n", b"\n", b" ", b"?", b"..", b"%2e", b"//", b"Host: ", b"Cookie: ",
              b"Transfer-Encoding: chunked\r\n", b"Content-Length: 5\r\n", b"HTTP/0.9", b"\0",
              b"null", b"[]", b"{}", b"1e999", b"NaN", b'"', b"/edit", b"/use", b"/snap",
              far.TOKEN.encode()), far.desk_folder, share=0.2),
    Boundary("database", far.read_shelf, far.shelves,
             (b"SQLite format 3\0", b"CREATE TABLE ", b"CREATE VIEW ", b"null", b"[", b"{"),
             is_text=False, share=0.06, seconds=8.0),
    Boundary("pages", read_to_pages, lessons, YAML_WORDS, lesson_folder, share=0.01, seconds=25.0),
)  # fmt: skip
BY_NAME = {boundary.name: boundary for boundary in BOUNDARIES}
