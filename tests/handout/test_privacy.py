"""Nothing personal leaves by a side door: planted words are searched in every byte of the file."""

import base64
import getpass
import io
import platform
import shutil
import socket
import struct

import pikepdf
import pypdfium2
import pytest
from PIL import Image

from reporter.handout.build import build_handout
from reporter.handout.file_form import FileForm
from tests.conftest import DEMO, TODAY

# One word for each place; none can stand in a handout by chance.
IN_LESSON = {
    "private_notes": "Quorvexa41",
    "avoid": "Brindolk52",
    "guardian": "Haspelune63",
    "by": "Tarmigosk74",
    "silence": "Wendrilix85",
    "student id": "Zupranth96",
    "comment in the file": "Olkamester17",
    "folder of a frame": "Fenquarlo28",
    "name of a clip": "Gistravane39",
    "folder of the shots": "Plimborax40",
}
IN_PICTURE = {
    "maker": "Dobrelkin51",
    "serial number": "Kexwarnoth62",
    "comment of the user": "Lyvantrice73",
    "comment segment": "Morquandel84",
    "xmp": "Nastrovigh95",
    "thumbnail": "Ombrecktal06",
}
AROUND = {
    "absolute folder": "Pelvandrosk18",
    "user": "Ruskelward29",
    "host": "Sventomire30",
    "home": "Tolgravinek41",
}
POSITION = struct.pack(">6L", 47, 1, 13, 1, 391_733, 10_000)
"""Degrees, minutes and seconds of a place that nobody lives at."""


def exif() -> bytes:
    """Return EXIF with maker, serial number, comment, position and a thumbnail (EXIF 2.32)."""
    thumbnail = io.BytesIO()
    Image.new("RGB", (16, 12), (200, 30, 90)).save(
        thumbnail, "JPEG", comment=IN_PICTURE["thumbnail"].encode()
    )
    body = bytearray()
    start = 8

    def directory(entries: list[tuple[int, int, int, bytes]], following: int = 0) -> int:
        """Append one directory behind its long values; return where it begins."""
        written = bytearray(struct.pack(">H", len(entries)))
        for tag, kind, count, value in entries:
            if len(value) > 4:
                place = start + len(body)
                body.extend(value)
                value = struct.pack(">L", place)
            written += struct.pack(">HHL", tag, kind, count) + value.ljust(4, b"\0")
        written += struct.pack(">L", following)
        place = start + len(body)
        body.extend(written)
        return place

    def text(tag: int, value: str) -> tuple[int, int, int, bytes]:
        data = value.encode() + b"\0"
        return tag, 2, len(data), data

    picture = thumbnail.getvalue()
    place = start + len(body)
    body.extend(picture)
    small = directory(
        [
            (0x0201, 4, 1, struct.pack(">L", place)),
            (0x0202, 4, 1, struct.pack(">L", len(picture))),
        ]
    )
    note = b"ASCII\0\0\0" + IN_PICTURE["comment of the user"].encode()
    inner = directory([(0x9286, 7, len(note), note), text(0xA431, IN_PICTURE["serial number"])])
    position = directory([(1, 2, 2, b"N\0"), (2, 5, 3, POSITION)])
    first = directory(
        [
            text(0x010F, IN_PICTURE["maker"]),
            (0x8769, 4, 1, struct.pack(">L", inner)),
            (0x8825, 4, 1, struct.pack(">L", position)),
        ],
        small,
    )
    return b"Exif\0\0MM\0*" + struct.pack(">L", first) + bytes(body)


def with_traces(data: bytes) -> bytes:
    """Return a JPEG with EXIF, XMP and a comment segment put in front of its picture."""
    xmp = b"http://ns.adobe.com/xap/1.0/\0<x>" + IN_PICTURE["xmp"].encode() + b"</x>"
    segments = b"".join(
        bytes([0xFF, marker]) + struct.pack(">H", len(content) + 2) + content
        for marker, content in (
            (0xE1, exif()),
            (0xE1, xmp),
            (0xFE, IN_PICTURE["comment segment"].encode()),
        )
    )
    return data[:2] + segments + data[2:]


@pytest.fixture(scope="module")
def traced_lesson(tmp_path_factory):
    """Lay the demo lesson, with a word planted in every place, into a folder that tells one."""
    folder = tmp_path_factory.mktemp("home") / AROUND["absolute folder"]
    frames = folder / IN_LESSON["folder of a frame"]
    frames.mkdir(parents=True)
    for picture in (DEMO.parent / "frames").glob("*.jpg"):
        (frames / picture.name).write_bytes(with_traces(picture.read_bytes()))
    shots = folder / IN_LESSON["folder of the shots"]
    shots.mkdir()
    shutil.copy(DEMO.parent / "shots.csv", shots / "shots.csv")
    text = DEMO.read_text("utf-8")
    for old, new in (
        ("  id: S-0412\n", f"  id: {IN_LESSON['student id']}\n  avoid: [{IN_LESSON['avoid']}]\n"),
        ("  by: Runa\n", f"  by: {IN_LESSON['by']}\n  guardian: {IN_LESSON['guardian']}\n"),
        ("file: frames/", f"file: {IN_LESSON['folder of a frame']}/"),
        ("shots: shots.csv", f"shots: {IN_LESSON['folder of the shots']}/shots.csv"),
        ("camera: front tripod}", f"camera: front tripod, video: {IN_LESSON['name of a clip']}}}"),
        ("private_notes: ", f"private_notes: {IN_LESSON['private_notes']} "),
        (
            "\nnotes: ",
            f"\nsilence: [{{id: too-many-thoughts, reason: {IN_LESSON['silence']}}}]\n"
            f"# {IN_LESSON['comment in the file']}\nnotes: ",
        ),
    ):
        assert old in text, old
        text = text.replace(old, new)
    (folder / "session.yaml").write_text(text, "utf-8")
    return folder / "session.yaml"


@pytest.fixture(scope="module")
def built(traced_lesson, tmp_path_factory):
    """Build handout and record on a machine whose user, host and home tell something."""
    made = {}
    with pytest.MonkeyPatch.context() as patch:
        for name in ("USER", "LOGNAME", "USERNAME"):
            patch.setenv(name, AROUND["user"])
        patch.setenv("HOSTNAME", AROUND["host"])
        patch.setattr(getpass, "getuser", lambda: AROUND["user"])
        patch.setattr(socket, "gethostname", lambda: AROUND["host"])
        patch.setattr(platform, "node", lambda: AROUND["host"])
        patch.setenv("HOME", f"/home/{AROUND['home']}")
        for record in (False, True):
            target = tmp_path_factory.mktemp("out") / "file.pdf"
            build_handout(
                traced_lesson, output=target, brand="plain", layout="handout", paper="a4",
                today=TODAY, form=FileForm(record=record),
            )  # fmt: skip
            made[record] = target
    return made


def everything_in(path) -> bytes:
    """Return all bytes of a PDF: the file, every stream raw and decoded, every string, all text."""
    parts = [path.read_bytes()]
    with pikepdf.open(path) as document:
        for item in document.objects:
            if isinstance(item, pikepdf.Stream):
                parts.append(item.read_raw_bytes())
                if "/DCTDecode" not in str(item.get("/Filter")):
                    parts.append(item.read_bytes())
            parts.append(repr(item).encode())
    opened = pypdfium2.PdfDocument(path)
    for number in range(len(opened)):
        words = opened[number].get_textpage().get_text_range()
        parts += [words.encode(), "".join(words.split()).encode()]
    return b"\n".join(parts)


def written_ways(word: str) -> list[bytes]:
    """Return a word as text may lie in a file."""
    plain = word.encode()
    return [
        plain,
        word.encode("utf-16-be"),
        word.encode("utf-16-le"),
        plain.hex().encode(),
        plain.hex().upper().encode(),
        base64.b64encode(plain)[:12],
    ]


def found_in(path, words: dict[str, str]) -> set[str]:
    content = everything_in(path)
    return {
        place for place, word in words.items() if any(way in content for way in written_ways(word))
    }


def test_the_traces_are_in_the_pictures(traced_lesson):
    """The planted pictures hold what is searched for, as an independent reader sees it."""
    picture = next((traced_lesson.parent / IN_LESSON["folder of a frame"]).glob("*.jpg"))
    data = picture.read_bytes()
    assert all(word.encode() in data for word in IN_PICTURE.values())
    assert POSITION in data
    with Image.open(picture) as opened:
        read = opened.getexif()
        assert read[0x010F] == IN_PICTURE["maker"]
        assert read.get_ifd(0x8825)[2][0] == 47
        assert read.get_ifd(0x8769)[0xA431] == IN_PICTURE["serial number"]


def test_the_handout_tells_nothing_of_it(built):
    assert found_in(built[False], IN_LESSON | IN_PICTURE | AROUND) == set()
    assert POSITION not in everything_in(built[False])


def test_the_record_holds_the_lesson_whole_and_nothing_of_camera_or_machine(built):
    # What is found here shows as well that the search finds what is there.
    assert found_in(built[True], IN_LESSON) == set(IN_LESSON)
    assert found_in(built[True], IN_PICTURE | AROUND) == set()
    assert POSITION not in everything_in(built[True])


def test_only_pixels_lie_in_any_picture_of_either(built):
    seen = 0
    for path in built.values():
        with pikepdf.open(path) as document:
            for item in document.objects:
                if not isinstance(item, pikepdf.Stream):
                    continue
                data = item.read_raw_bytes()
                if item.get("/Subtype") != "/Image":
                    data = item.read_bytes()
                if data[:2] != b"\xff\xd8":
                    continue
                with Image.open(io.BytesIO(data)) as opened:
                    assert not opened.getexif()
                    assert set(opened.info) <= {"jfif", "jfif_version", "jfif_unit", "jfif_density"}
                seen += 1
    assert seen > 15
