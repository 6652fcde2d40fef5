"""Readers of what comes from far: handouts sent back, clips, requests to the worksheet, shelves.

Each takes bytes and a folder of its own, as `tests.hardening.boundaries` asks of a reader. The
program is imported where it is used: a guided search must see its modules being imported.
"""

import contextlib
import datetime
import io
import json
import shutil
import tempfile
from fractions import Fraction
from functools import cache
from pathlib import Path

HERE = Path(__file__).parent
AT = "2027-05-01T10:00:00Z"
DAY = datetime.date(2027, 4, 13)

# ---- handouts and records ------------------------------------------------------------------


def read_imported(data: bytes, folder: Path) -> object:
    """Read a PDF that somebody sent, with the reader that works apart, in this process."""
    from reporter.archive.importing import FOREIGN_MARK
    from reporter.archive.read_record import as_entry
    from reporter.archive.reader_apart import LARGEST_INSIDE_BYTES, MOST_PAGES, READ
    from reporter.pdf.carried import take_out

    carried = take_out(data, "a.pdf", READ, largest=LARGEST_INSIDE_BYTES, most_pages=MOST_PAGES)
    return as_entry(carried, "a.pdf", FOREIGN_MARK + "0" * 64, "foreign")


def read_own_record(data: bytes, folder: Path) -> object:
    """Read a record as it is put on the shelf, with everything it carries."""
    from reporter.archive.read_record import read_record

    return read_record(data, "a.pdf")


def _unpacked(document: bytes) -> bytes:
    """Return the same PDF written by another program, its files inside as they are.

    Damage then reaches the lesson in it and is not stopped by the unpacking.
    """
    from pypdf import PdfReader, PdfWriter

    reader, writer = PdfReader(io.BytesIO(document)), PdfWriter()
    writer.add_blank_page(200, 200)
    writer.add_metadata({key: str(value) for key, value in (reader.metadata or {}).items()})
    for name, contents in reader.attachments.items():
        writer.add_attachment(name, contents[0])
    held = io.BytesIO()
    writer.write(held)
    return held.getvalue()


@cache
def handouts() -> tuple[bytes, ...]:
    """Return handouts as they are sent back: packed, unpacked, with more pages."""
    from tests.archive.synthetic import record_pdf

    packed = record_pdf(kind="handout", notes="what we saw " * 20)
    return (packed, _unpacked(packed), record_pdf("lesson-2", None, kind="handout", archive=False))


@cache
def records() -> tuple[bytes, ...]:
    """Return records as they are put on the shelf."""
    from tests.archive.synthetic import record_pdf

    packed = record_pdf(tests=(("2027-03-09", 6, 10),), notes="x", private="y")
    return (packed, _unpacked(packed))


# ---- clips ---------------------------------------------------------------------------------


def read_clip(data: bytes, folder: Path) -> object:
    """Open a clip, show its first and last picture, and look through all of it."""
    from reporter.video import open_video_inside

    (folder / "clip.mp4").write_bytes(data)
    with open_video_inside(folder, "clip.mp4") as video:
        facts = video.facts
        assert facts.frame_count == len(facts.seconds) > 0
        assert list(facts.seconds) == sorted(set(facts.seconds))
        assert facts.index_at(facts.seconds[-1]) == facts.frame_count - 1
        seen = [one.index for one in video.grey_frames(64)]
        assert seen == sorted(set(seen))
        for index in (0, facts.frame_count - 1):
            picture = video.frame(index)
            assert picture.pixels.shape == (facts.height, facts.width, 3)
    return facts


@cache
def clips() -> tuple[bytes, ...]:
    """Return clips of a few pictures in each container that is read, as small as is read."""
    from tests.video.clips import every, write_clip

    forms = (
        ("a.mp4", {"codec": "libx264", "keyframes": 3, "rotation": 90}),
        ("a.mp4", {"codec": "mpeg4", "sound": True, "tick": Fraction(1, 25),
                   "container_options": {"movflags": "frag_keyframe+empty_moov"}}),
        ("a.mkv", {"codec": "libx264", "keyframes": 4}),
        ("a.avi", {"codec": "mjpeg", "pixel_format": "yuvj420p"}),
        ("a.ts", {"codec": "libx264", "keyframes": 2}),
    )  # fmt: skip
    made = []
    with tempfile.TemporaryDirectory() as name:
        for number, (file, form) in enumerate(forms):
            path = Path(name) / f"{number}-{file}"
            ticks = list(range(6)) if "tick" in form else every(6, 25)
            write_clip(path, ticks, size=(64, 64), **form)
            made.append(path.read_bytes())
    return tuple(made)


# ---- requests to the worksheet -------------------------------------------------------------

PORT = 8_000
TOKEN = "t" * 43
_HEAD = (
    f"Host: 127.0.0.1:{PORT}\r\nCookie: desk-{PORT}={TOKEN}\r\n"
    f"Origin: http://127.0.0.1:{PORT}\r\nSec-Fetch-Site: same-origin\r\n"
)
SECRET = b"must never be sent"
STUDENT = b"Zenobia"
PICTURE = b"THE-KEY"
"""Stands for the key of the one picture, which changes with the file's time."""
_LESSON = b"""format: 1
student: {name: Zenobia}
takes:
  - {id: before, when: before, view: face-on}
frames:
  - {id: top, take: before, position: top, file: frames/top.jpg}
thoughts:
  - say: Turn first.
"""


class _Wire:
    """Stands for a connection: gives the request's bytes, keeps the answer's."""

    def __init__(self, data: bytes) -> None:
        self._given = io.BytesIO(data)
        self.answer = bytearray()

    def makefile(self, mode: str, size: int) -> io.BufferedReader:
        return io.BufferedReader(self._given)  # type: ignore[arg-type]

    def sendall(self, data: bytes) -> None:
        self.answer += data

    def recv(self, most: int) -> bytes:
        return b""

    def settimeout(self, seconds: float | None) -> None: ...

    def shutdown(self, how: int) -> None: ...


def ask(data: bytes, folder: Path) -> object:
    """Let the worksheet's own handler answer a request; only who has the token learns anything."""
    from reporter.desk.lesson_desk import LessonDesk
    from reporter.desk.server import DeskHandler, DeskServer

    class Handler(DeskHandler):
        disable_nagle_algorithm = False  # no real connection carries it

    class Server(DeskServer):
        def server_bind(self) -> None:
            self.server_address = ("127.0.0.1", PORT)

        def server_activate(self) -> None: ...

    lesson = folder / "lesson"
    (lesson / "session.yaml").write_bytes(_LESSON)
    shutil.rmtree(lesson / "frames", ignore_errors=True)
    shutil.copytree(folder / "pictures", lesson / "frames")
    desk = LessonDesk(lesson, "", lambda: DAY)
    # As the page begins: pictures and clips are known from here on, a picture by a key.
    shown = json.loads(desk.get("/lesson", {}).data)
    key = shown["frames"][0]["picture"].encode()
    wire = _Wire(data.replace(PICTURE, key))
    with Server(desk, PORT) as server:
        server.token = TOKEN
        Handler(wire, ("127.0.0.1", 1), server)  # type: ignore[arg-type]
    answer = bytes(wire.answer)
    assert b"internal fault" not in answer
    assert SECRET not in answer
    if TOKEN.encode() not in data:
        assert STUDENT not in answer
        assert (lesson / "session.yaml").read_bytes() == _LESSON
    assert sorted(path.name for path in folder.iterdir()) == ["lesson", "outside", "pictures"]
    return answer


def desk_folder(folder: Path) -> None:
    """Lay a lesson with one picture and one clip, and beside it what must stay there."""
    from PIL import Image

    (folder / "lesson" / "clips").mkdir(parents=True, exist_ok=True)
    (folder / "lesson" / "clips" / "a.mp4").write_bytes(clips()[0])
    (folder / "outside").write_bytes(SECRET)
    (folder / "pictures").mkdir(exist_ok=True)
    Image.new("RGB", (64, 64), "green").save(folder / "pictures" / "top.jpg")


def requests() -> tuple[bytes, ...]:
    """Return requests that are answered."""
    from reporter.desk.lesson_file import revision_of

    revision = revision_of(_LESSON)
    asked = ("/lesson", "/alive?in=de", "/words", "/stills/THE-KEY?small=", "/clips/0",
             "/clips/0/1", "/clips/0/proposals", "/pages/1", "/pages/all.pdf", "/")  # fmt: skip
    edits = [
        {"do": "put", "path": ["student", "name"], "value": "Nobody", "was": "Zenobia"},
        {"do": "insert", "path": ["thoughts"], "value": {"say": "x"}, "index": 1, "was": 1},
        {"do": "put", "path": ["frames", {"id": "top"}, "points"], "value": {"ball": ["1", "2"]}},
        {"do": "remove", "path": ["thoughts", 0]},
    ]
    frame = {"when": "before", "view": "face-on", "position": "impact"}
    done = (
        ("/edit", {"edits": edits, "revision": ""}),
        ("/edit", {"edits": edits, "revision": revision}),
        ("/edit", {"edits": edits[:1], "revision": revision}),
        ("/use", {**frame, "file": "frames/top.jpg"}),
        ("/pull", {**frame, "clip": 0, "index": 3}),
        ("/snap", {"frame": "top", "kind": "ball"}),
    )
    made = [f"GET {target} HTTP/1.1\r\n{_HEAD}\r\n".encode() for target in asked]
    made.append(f"GET /?token={TOKEN} HTTP/1.1\r\nHost: localhost:{PORT}\r\n\r\n".encode())
    for target, content in done:
        body = json.dumps(content)
        made.append(
            f"POST {target} HTTP/1.1\r\n{_HEAD}Content-Type: application/json\r\n"
            f"Content-Length: {len(body)}\r\n\r\n{body}".encode()
        )
    return tuple(made)


# ---- shelves -------------------------------------------------------------------------------


def read_shelf(data: bytes, folder: Path) -> object:
    """Open a shelf of these bytes, ask everything of it that a command asks, then write to it."""
    from reporter.archive.leaving import resume
    from reporter.archive.shelf import DATABASE, open_shelf
    from reporter.archive.store import Wanted
    from reporter.archive.verify import verify
    from reporter.errors import ReporterError

    for path in folder.glob(f"{DATABASE}*"):
        path.unlink()
    (folder / DATABASE).write_bytes(data)
    with (
        contextlib.suppress(ReporterError),
        open_shelf(folder, who="x", at=AT, write=False, check=True) as shelf,
    ):
        verify(shelf)
    assert (folder / DATABASE).read_bytes() == data, "looking changed the shelf"
    with open_shelf(folder, who="x", at=AT, write=True) as shelf:
        store = shelf.store
        for wanted in (Wanted(text="chest"), Wanted(order="best", text="ball", club="driver"),
                       Wanted(all_versions=True, since="2020-01-01")):  # fmt: skip
            for row in store.find(wanted):
                store.versions(row.lesson)
        for student in store.students(""):
            store.history(student.number)
        store.tombstones(), store.log(20), list(store.walk()), store.leaving()
        resume(shelf)
        store.note("x", "looked", AT)
        return verify(shelf)


@cache
def shelves() -> tuple[bytes, ...]:
    """Return the database of a shelf with a few lessons, and one of the first format."""
    from reporter.archive.adding import add_record
    from reporter.archive.shelf import DATABASE, start_shelf
    from tests.archive.synthetic import record_pdf

    with tempfile.TemporaryDirectory() as name:
        place = Path(name) / "shelf"
        with start_shelf(place, who="x", at=AT) as shelf:
            for number in range(3):
                document = record_pdf(
                    f"l-{number}", f"S-{number % 2}", tests=(("2027-03-09", 6, 9),)
                )
                add_record(shelf, document, "x")
            shelf.store.note_given("l-0", "2027-03-02", "x", AT)
        made = (place / DATABASE).read_bytes()
    return (made, (HERE.parent / "archive" / "format_1" / DATABASE).read_bytes())
